"""Kill the tool at random moments and look whether anything was damaged.

    python tests/hostile/kill_run.py [--kills 50] [--seed 1] [--only COMMAND ...]

`pages`, `alter`, `reprint` and `check` each replace an existing output (and `check` the printers' file) and are killed
with SIGKILL, half of them at a random moment of their run and half from the moment the temporary file shows itself;
runs that ended before their kill don't count. After every kill the earlier output and the printers' file must be whole:
either the old bytes or a complete new file; at most one named temporary may lie beside it, and the next run removes it.
Prints one line per command and exits 1 when anything was damaged.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from enum import Enum
from pathlib import Path

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
TOOL = [sys.executable, "-m", "tiling.commands.main"]


class Moment(Enum):
    """When to kill: anywhere in the run, or from when the temporary shows itself beside the output."""

    ANY = 0
    WRITING = 1


@dataclass(frozen=True, slots=True)
class Victim:
    """One command to kill: its arguments, the file it replaces, and how to tell that this file is whole."""

    name: str
    arguments: tuple[str, ...]
    output: str
    whole: Callable[[bytes], bool]


def _pdf_whole(content: bytes) -> bool:
    return content.startswith(b"%PDF") and content.rstrip().endswith(b"%%EOF")


def _svg_whole(content: bytes) -> bool:
    return content.rstrip().endswith(b"</svg>")


def _json_whole(content: bytes) -> bool:
    try:
        json.loads(content)
    except ValueError:
        return False
    return True


VICTIMS = (
    Victim("pages", ("pages", "smock.svg", "-o", "out.pdf", "--force", "-q"), "out.pdf", _pdf_whole),
    Victim(
        "alter", ("alter", "smock.svg", "--around", "20mm", "-o", "new.svg", "--force", "-q"), "new.svg", _svg_whole
    ),
    Victim(
        "reprint",
        ("reprint", "altered.svg", "--printed", "printed.pdf", "-o", "changed.pdf", "--force", "-q"),
        "changed.pdf",
        _pdf_whole,
    ),
    Victim(
        "check",
        ("check", "--measured", "99mm", "99.5mm", "--printer", "kitchen", "-q"),
        "home/printers.json",
        _json_whole,
    ),
)


def _environment(folder: Path) -> dict[str, str]:
    return {**os.environ, "PAGESEAM_HOME": str(folder / "home")}


def _run(folder: Path, *arguments: str) -> float:
    began = time.monotonic()
    subprocess.run([*TOOL, *arguments], cwd=folder, env=_environment(folder), check=True, capture_output=True)
    return time.monotonic() - began


def _prepare(folder: Path) -> None:
    (folder / "home").mkdir()
    for ending in ("svg", "toml"):
        shutil.copy(SAMPLES / f"potting-smock.{ending}", folder / f"smock.{ending}")
    _run(folder, "pages", "smock.svg", "-o", "printed.pdf", "-q")
    _run(folder, "alter", "smock.svg", "--around", "40mm", "-o", "altered.svg", "-q")


def _strange(folder: Path, known: set[str]) -> list[str]:
    return sorted(str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file() and str(p) not in known)


def _temporaries(place: Path) -> set[tuple[str, int]]:
    """Name and time of making, so that one from the run before can be told from a new one."""
    found = set()
    for file in place.glob("*.*part"):
        with suppress(FileNotFoundError):
            found.add((file.name, file.stat().st_ctime_ns))
    return found


def _kill(victim: Victim, folder: Path, moment: Moment, chance: random.Random, duration: float) -> float | None:
    """Run the command and kill it; None when it was killed, else the seconds it took until it ended by itself."""
    place = (folder / victim.output).parent
    earlier = _temporaries(place)
    began = time.monotonic()
    process = subprocess.Popen(
        [*TOOL, *victim.arguments],
        cwd=folder,
        env=_environment(folder),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    if moment is Moment.WRITING:
        while process.poll() is None and _temporaries(place) <= earlier:
            time.sleep(0.0005)
        # What comes then takes a moment for small files, and the whole proof for pages.
        wait = chance.choice((0.0, 0.001, 0.004, chance.uniform(0.0, 0.02), chance.uniform(0.0, 0.4 * duration)))
    else:
        wait = duration * chance.uniform(0.0, 1.0)
    try:
        process.wait(wait)
    except subprocess.TimeoutExpired:
        process.send_signal(signal.SIGKILL)
    return None if process.wait() == -signal.SIGKILL else time.monotonic() - began


def attack(victim: Victim, folder: Path, kills: int, chance: random.Random) -> list[str]:
    """Run one command until it was killed `kills` times before it ended; what was damaged, in words."""
    damage: list[str] = []
    duration = max(_run(folder, *victim.arguments), 0.05)
    output = folder / victim.output
    known = {str(p) for p in folder.rglob("*") if p.is_file()} | {str(output)}
    killed: Counter[Moment] = Counter()
    left = runs = 0
    while killed.total() < kills:
        runs += 1
        before = output.read_bytes()
        moment = Moment.ANY if killed.total() % 2 else Moment.WRITING
        took = _kill(victim, folder, moment, chance, duration)
        if took is None:
            killed[moment] += 1
        else:
            duration = (duration + took) / 2
        after = output.read_bytes() if output.exists() else b""
        if after != before and not victim.whole(after):
            damage.append(f"{victim.name}: {victim.output} is neither old nor whole after a kill")
        strange = _strange(folder, known)
        left += moment is Moment.WRITING and took is None and bool(strange)
        if len(strange) > 1:
            damage.append(f"{victim.name}: left {strange}")
    _run(folder, *victim.arguments)
    if strange := _strange(folder, known):
        damage.append(f"{victim.name}: the next run did not remove {strange}")
    print(
        f"{victim.name}: killed {killed.total()} times in {runs} runs ({killed[Moment.WRITING]} while writing); "
        f"{left} of these left their temporary; {len(damage)} damaged",
        flush=True,
    )
    return damage


def main() -> int:
    """Attack every command in a folder of its own."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--kills", type=int, default=50, help="for each command")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", nargs="*", metavar="COMMAND", help="these commands, not all")
    given = parser.parse_args()
    damage: list[str] = []
    for victim in (v for v in VICTIMS if not given.only or v.name in given.only):
        with tempfile.TemporaryDirectory(prefix="kill-") as name:
            folder = Path(name)
            _prepare(folder)
            damage += attack(victim, folder, given.kills, random.Random(given.seed))
    print(*damage, sep="\n")
    return 1 if damage else 0


if __name__ == "__main__":
    sys.exit(main())
