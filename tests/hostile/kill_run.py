"""Kill the tool at random moments and look whether anything was damaged.

    python -m tests.hostile.kill_run [--kills 50] [--seed 1] [--only COMMAND ...]

`pages`, `alter`, `reprint` and `check` each replace earlier outputs (and `check` the printers' file) and are killed
with SIGKILL, half of them at a random moment of their run and half in the proof: at a random moment from its beginning
to the end of the run, or, for `check`, which has none, from when its part or lock shows itself. Runs that ended before
their kill don't count. After every kill each output must be whole, the earlier or the new one, and those of a set must
belong together when they are next read; of every output at most a part, the earlier file under a second name and a lock
may lie beside it, and the next run in that folder removes them. Prints one line per command and exits 1 when anything
was damaged.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from typing import Protocol

from tests.hostile.limited import Limits, become, helpers, run_limited
from tiling.files.sets import settle_dead_sets
from tiling.proof import altered_svg, prove

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
MOST_LEFT = 3
"""For each output: its part, the earlier file under a second name, and the lock; the journal of a set is less."""


class HasOutputs(Protocol):
    """A command that replaces files."""

    @property
    def outputs(self) -> tuple[str, ...]:
        """The files."""


class Moment(Enum):
    """When to kill: anywhere in the run, or from when the proof begins or a part shows itself."""

    ANY = 0
    LATE = 1


@dataclass(frozen=True, slots=True)
class Victim:
    """One command to kill.

    Attributes:
        arguments: of its runs, which alternate, so that old and new outputs are told apart.
        outputs: the files it replaces.
        whole: tells that the first of them is whole.
        proved: whether it has a proof.
    """

    name: str
    arguments: tuple[tuple[str, ...], tuple[str, ...]]
    outputs: tuple[str, ...]
    whole: Callable[[bytes], bool]
    proved: bool = True


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


def _both(*arguments: str, varied: tuple[str, str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    one, other = (tuple(word.replace("VARIED", value) for word in arguments) for value in varied)
    return one, other


VICTIMS = (
    Victim(
        "pages",
        _both("pages", "smock.svg", "--overlap", "VARIED", "-o", "out.pdf", "--force", "-q", varied=("10mm", "12mm")),
        ("out.pdf",),
        _pdf_whole,
    ),
    Victim(
        "alter",
        _both(
            "alter", "smock.svg", "--around", "VARIED", "-o", "new.svg", "--picture", "new.png", "--force", "-q",
            varied=("20mm", "30mm"),
        ),
        ("new.svg", "new.toml", "new.png"),
        _svg_whole,
    ),
    Victim(
        "reprint",
        _both("reprint", "VARIED", "--printed", "printed.pdf", "-o", "changed.pdf", "--force", "-q",
              varied=("altered.svg", "other.svg")),
        ("changed.pdf",),
        _pdf_whole,
    ),
    Victim(
        "check",
        _both("check", "--measured", "99mm", "VARIED", "--printer", "kitchen", "-q", varied=("99.5mm", "99.4mm")),
        ("home/printers.json",),
        _json_whole,
        proved=False,
    ),
)  # fmt: skip


def _run(pool: ProcessPoolExecutor, folder: Path, *arguments: str) -> float:
    began = time.monotonic()
    ran = pool.submit(run_limited, arguments, folder, limits(folder)).result()
    assert ran.code == 0, ran.err
    return time.monotonic() - began


def limits(folder: Path) -> Limits:
    return Limits(60, 2 << 30, environment={"PAGESEAM_HOME": str(folder / "home")})


def prepare(pool: ProcessPoolExecutor, folder: Path) -> None:
    (folder / "home").mkdir()
    for ending in ("svg", "toml"):
        shutil.copy(SAMPLES / f"potting-smock.{ending}", folder / f"smock.{ending}")
    _run(pool, folder, "pages", "smock.svg", "-o", "printed.pdf", "-q")
    _run(pool, folder, "alter", "smock.svg", "--around", "40mm", "-o", "altered.svg", "-q")
    _run(pool, folder, "alter", "smock.svg", "--around", "30mm", "-o", "other.svg", "-q")


def hidden_beside(folder: Path, known: set[Path]) -> list[str]:
    return sorted(str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file() and p not in known)


def contents(victim: HasOutputs, folder: Path) -> tuple[bytes, ...]:
    return tuple(file.read_bytes() if (file := folder / name).exists() else b"" for name in victim.outputs)


def _kill(arguments: Sequence[str], folder: Path, watched: Path | None, wait: float) -> tuple[bool, float]:
    """Run the command in a process forked from this one, and kill it.

    Args:
        arguments: of the command.
        folder: where it runs.
        watched: a folder; the waiting begins when a hidden file shows itself there. None: with the run, or its proof.
        wait: seconds; negative ones count from the beginning of the proof.

    Returns:
        Whether it was killed before it ended by itself, and the seconds from when the waiting began.
    """
    earlier = set(watched.glob(".*")) if watched else set()
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        _announce(writer)
        become(arguments, folder, limits(folder), folder.parent)
    os.close(writer)
    with os.fdopen(reader, "rb") as announced:
        if wait < 0:
            announced.read(1)
        while watched and set(watched.glob(".*")) <= earlier and not _ended(child):
            time.sleep(0.0005)
        began = time.monotonic()
        while not (over := _ended(child)) and time.monotonic() - began < abs(wait):
            time.sleep(0.0005)
        took = time.monotonic() - began
        if not over:
            os.kill(child, signal.SIGKILL)
    return os.WIFSIGNALED(os.waitpid(child, 0)[1]), took


def _ended(child: int) -> bool:
    return os.waitid(os.P_PID, child, os.WEXITED | os.WNOHANG | os.WNOWAIT) is not None


def _announce(pipe: int) -> None:
    """Let every proof write a byte to the pipe when it begins."""

    def announced(prove: Callable[..., None]) -> Callable[..., None]:
        return lambda *given, **named: (os.write(pipe, b"p"), prove(*given, **named))[1]

    # The jobs take them by name when they need them.
    prove.prove = announced(prove.prove)
    altered_svg.prove_altered = announced(altered_svg.prove_altered)


def attack(victim: Victim, pool: ProcessPoolExecutor, folder: Path, kills: int, chance: random.Random) -> list[str]:
    """Run one command until it was killed `kills` times before it ended; what was damaged, in words."""
    damage: list[str] = []
    wanted = []
    for arguments in victim.arguments:
        duration = _run(pool, folder, *arguments)
        wanted.append(contents(victim, folder))
    known = {p for p in folder.rglob("*") if p.is_file()}
    lasting = {Moment.ANY: duration, Moment.LATE: duration / 2 if victim.proved else 0.02}
    killed: Counter[Moment] = Counter()
    left = runs = most = 0
    kinds: Counter[str] = Counter()
    while killed.total() < kills:
        runs += 1
        moment = Moment.ANY if killed.total() % 2 else Moment.LATE
        wait = lasting[moment] * chance.uniform(0.01, 1.0)
        watched = (folder / victim.outputs[0]).parent if moment is Moment.LATE and not victim.proved else None
        wait = -wait if moment is Moment.LATE and victim.proved else wait
        was_killed, took = pool.submit(_kill, victim.arguments[runs % 2], folder, watched, wait).result()
        if was_killed:
            killed[moment] += 1
        else:
            lasting[moment] = (lasting[moment] + took) / 2
        settle_dead_sets(folder)  # as whoever reads there next does
        after = contents(victim, folder)
        if not victim.whole(after[0]):
            damage.append(f"{victim.name}: {victim.outputs[0]} is neither old nor whole after a kill")
        elif victim.proved and after not in wanted:
            damage.append(f"{victim.name}: its outputs don't belong together after a kill")
        strange = hidden_beside(folder, known)
        left += bool(strange) and was_killed
        kinds.update(Path(name).suffix for name in strange)
        most = max(most, len(strange))
        if len(strange) > MOST_LEFT * len(victim.outputs):
            damage.append(f"{victim.name}: left {strange}")
    time.sleep(2.0)  # for somebody to start the next run
    _run(pool, folder, *victim.arguments[0])
    if strange := hidden_beside(folder, known):
        damage.append(f"{victim.name}: the next run did not remove {strange}")
    print(
        f"{victim.name}: killed {killed.total()} times in {runs} runs ({killed[Moment.LATE]} in the proof or while "
        f"writing); {left} of these left something, at most {most} files {sorted(kinds)}; "
        f"{len(damage)} damaged",
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
        with tempfile.TemporaryDirectory(prefix="kill-") as name, helpers() as pool:
            folder = Path(name) / "ground"
            folder.mkdir()
            prepare(pool, folder)
            damage += attack(victim, pool, folder, given.kills, random.Random(given.seed))
    print(*damage, sep="\n")
    return 1 if damage else 0


if __name__ == "__main__":
    sys.exit(main())
