"""Interrupt the tool at random moments, as a terminal or a system that shuts down does, and look what it leaves.

    python -m tests.hostile.signal_run [--each 20] [--seed 1] [--only COMMAND ...]

Every command that writes runs over its earlier outputs, in an interpreter of its own, and gets SIGINT, SIGTERM or
SIGHUP at a random moment from 30 ms on: half of them alone, half with all the processes it started, as a terminal does
it. It must end with 130 (143 for SIGTERM is as good), or well because it was done; say no more than one line
about it and never a traceback; leave each output the earlier or the new one, those of a set alike, and nothing beside
them. An interpreter that was ended before a line of ours ran ends by the signal itself. Prints one line a command;
exits 1 where anything was otherwise.
"""

from __future__ import annotations

import argparse
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from tests.hostile.kill_run import contents, hidden_beside, prepare
from tests.hostile.limited import helpers

ROOT = Path(__file__).resolve().parents[2]
SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)
START = "from tiling.commands.start import main; main()"
EARLIEST = 0.03
"""s; an interpreter that still begins handles signals in its own ways."""


@dataclass(frozen=True, slots=True)
class Interrupted:
    """A command to interrupt: its words, of which VARIED is one of two, and what it writes."""

    words: str
    varied: tuple[str, str]
    outputs: tuple[str, ...]

    def arguments(self, turn: int) -> list[str]:
        """Of one of two runs that alternate, so that old and new outputs are told apart."""
        return self.words.replace("VARIED", self.varied[turn % 2]).split()


COMMANDS = (
    Interrupted("pages smock.svg --overlap VARIED -o out.pdf --force", ("10mm", "12mm"), ("out.pdf",)),
    Interrupted(
        "alter smock.svg --around VARIED -o new.svg --picture new.png --force",
        ("20mm", "30mm"),
        ("new.svg", "new.toml", "new.png"),
    ),
    Interrupted("reprint VARIED --printed printed.pdf -o out.pdf --force", ("altered.svg", "other.svg"), ("out.pdf",)),
    Interrupted("cloth smock.svg --width VARIED --seconds 2 -o out.pdf --force", ("140cm", "150cm"), ("out.pdf",)),
    Interrupted("guide smock.svg --paper VARIED -o out.pdf --force", ("a4", "a5"), ("out.pdf",)),
    Interrupted("look smock.svg --picture VARIED.png --force", ("out", "out"), ("out.png",)),
    Interrupted("lines smock.svg -o out.toml --picture VARIED.png --force", ("out", "out"), ("out.toml", "out.png")),
    Interrupted("testpage --paper VARIED -o out.pdf --force", ("a4", "a5"), ("out.pdf",)),
    Interrupted("check --measured 99mm VARIED --printer kitchen", ("99.5mm", "99.4mm"), ("home/printers.json",)),
)


def begin(command: Interrupted, turn: int, folder: Path) -> subprocess.Popen[str]:
    """Start a run in a session of its own."""
    return subprocess.Popen(
        [sys.executable, "-c", START, *command.arguments(turn)], cwd=folder, stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE, text=True, start_new_session=True,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PAGESEAM_HOME": str(folder / "home")},
    )  # fmt: skip


def faults(code: int, err: str, number: signal.Signals) -> list[str]:
    """What is wrong with how a run ended, in words."""
    found = []
    if "Traceback" in err:
        found.append("a traceback: " + err.strip().splitlines()[-1])
    if code not in (0, 130, 128 + number, -number):
        found.append(f"ended with {code}: {err.strip().splitlines()[-1:]}")
    if code == -number and err.strip():
        found.append("was ended by the signal itself after it had begun")
    if sum("nterrupted" in line for line in err.splitlines()) > 1:
        found.append("said more than once that it was interrupted")
    return found


def attack(command: Interrupted, folder: Path, each: int, chance: random.Random) -> list[str]:
    """Interrupt one command; what was wrong, in words."""
    name = command.words.split()[0]
    wanted, lasting = [], 60.0
    for turn in range(2):
        began = time.monotonic()
        run = begin(command, turn, folder)
        _, err = run.communicate()
        assert run.returncode == 0, err
        lasting = min(lasting, time.monotonic() - began)
        wanted.append(contents(command, folder))
    known = {p for p in folder.rglob("*") if p.is_file()}
    wrong: list[str] = []
    ended: Counter[str] = Counter()
    for count in range(each * len(SIGNALS)):
        number = SIGNALS[count % len(SIGNALS)]
        run = begin(command, count, folder)
        time.sleep(chance.uniform(EARLIEST, lasting))
        if run.poll() is None:
            os.kill(run.pid, number) if count % 2 else os.killpg(run.pid, number)
        _, err = run.communicate()
        early = run.returncode == -number
        ended["done" if run.returncode == 0 else "before its first line" if early else "interrupted"] += 1
        found = faults(run.returncode, err, number)
        if name != "check" and contents(command, folder) not in wanted:
            found.append("its outputs are neither the earlier nor the new ones")
        if left := hidden_beside(folder, known):
            found.append(f"left {left}")
            for file in left:
                (folder / file).unlink()
        wrong += [f"{name}, {number.name}: {one}" for one in found]
    said = ", ".join(f"{how} {times}" for how, times in sorted(ended.items()))
    print(f"{name}: {each * len(SIGNALS)} signals ({said}); {len(wrong)} faults", flush=True)
    return wrong


def main() -> int:
    """Attack every command in a folder of its own."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--each", type=int, default=20, help="for each command and signal")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", nargs="*", metavar="COMMAND", help="these commands, not all")
    given = parser.parse_args()
    wrong: list[str] = []
    for command in (c for c in COMMANDS if not given.only or c.words.split()[0] in given.only):
        with tempfile.TemporaryDirectory(prefix="signal-") as name:
            folder = Path(name) / "ground"
            folder.mkdir()
            with helpers() as pool:
                prepare(pool, folder)
            wrong += attack(command, folder, given.each, random.Random(given.seed))
    print(*wrong, sep="\n")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
