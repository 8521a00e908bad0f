"""Kill the tool at random moments and look whether anything was damaged.

    python tests/hostile/kill_run.py [--times 200] [--seed 1]

`pages`, `alter`, `reprint` and `check` each replace an existing output (and `check` the printers' file) and are killed
with SIGKILL at a random moment of their run. After every kill the earlier output and the printers' file must be whole:
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
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
TOOL = [sys.executable, "-m", "tiling.commands.main"]


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


def attack(victim: Victim, folder: Path, times: int, chance: random.Random) -> list[str]:
    """Kill one command `times` times; what was damaged, in words."""
    damage: list[str] = []
    duration = max(_run(folder, *victim.arguments), 0.05)
    output = folder / victim.output
    known = {str(p) for p in folder.rglob("*") if p.is_file()} | {str(output)}
    killed = 0
    for _ in range(times):
        before = output.read_bytes()
        process = subprocess.Popen(
            [*TOOL, *victim.arguments],
            cwd=folder,
            env=_environment(folder),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        # Writing happens near the end: half of the kills are aimed there.
        began = time.monotonic()
        moment = chance.uniform(0.0, 1.1) if chance.random() < 0.5 else chance.uniform(0.85, 1.1)
        try:
            process.wait(duration * moment)
            # It was done before: the machine has become faster, so aim earlier.
            duration = min(duration, time.monotonic() - began)
        except subprocess.TimeoutExpired:
            process.send_signal(signal.SIGKILL)
            killed += 1
        process.wait()
        after = output.read_bytes() if output.exists() else b""
        if after != before and not victim.whole(after):
            damage.append(f"{victim.name}: {victim.output} is neither old nor whole after a kill at {moment:.2f}")
        if len(_strange(folder, known)) > 1:
            damage.append(f"{victim.name}: left {_strange(folder, known)}")
    _run(folder, *victim.arguments)
    if left := _strange(folder, known):
        damage.append(f"{victim.name}: the next run did not remove {left}")
    print(f"{victim.name}: killed {killed} of {times} runs, {len(damage)} damaged", flush=True)
    return damage


def main() -> int:
    """Attack every command in a folder of its own."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--times", type=int, default=200, help="kills for each command")
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    damage: list[str] = []
    for victim in VICTIMS:
        with tempfile.TemporaryDirectory(prefix="kill-") as name:
            folder = Path(name)
            _prepare(folder)
            damage += attack(victim, folder, given.times, random.Random(given.seed))
    print(*damage, sep="\n")
    return 1 if damage else 0


if __name__ == "__main__":
    sys.exit(main())
