"""Let runs of one command race for one target, and look whether what stands there is one run's, whole, as they said.

    python -m tests.hostile.race_run [--pairs 100] [--tens 20] [--only COMMAND ...]

Each command that writes runs twice at once, and ten times at once, each run with a drawing of its own and all with the
same outputs: half the trials where nothing was, without --force, and half over older files, with it. *Mixed*: the files
of a set come from two runs or from none. *False*: a run said that it wrote what does not stand there (without --force),
that nothing was changed though its bytes stand, or ended in another way than 0 and 4. *Left*: hidden files. `check`
races for the printers' file: every reading that ended well must be in it. Prints one line a command; exits 1 where one
of the three is not 0.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from tests.hostile.limited import Limits, Ran, helpers, run_limited

RUNS = 10
PAPERS = ("a5", "a4", "a3", "letter", "legal", "tabloid", "200x280mm", "210x280mm", "220x280mm", "230x280mm")
OLD = b"an older file"


@dataclass(frozen=True, slots=True)
class Racer:
    """A command: the arguments of its run number n, and the files it writes."""

    name: str
    arguments: Callable[[int], list[str]]
    outputs: tuple[str, ...]


RACERS = (
    Racer("pages", lambda n: ["pages", f"d{n}.svg", "-o", "out.pdf"], ("out.pdf",)),
    Racer(
        "alter",
        lambda n: ["alter", f"d{n}.svg", "--around", "10mm", "-o", "out.svg", "--picture", "out.png"],
        ("out.svg", "out.toml", "out.png"),
    ),
    Racer("reprint", lambda n: ["reprint", f"d{n}.svg", "--printed", "printed.pdf", "-o", "out.pdf"], ("out.pdf",)),
    Racer(
        "cloth", lambda n: ["cloth", f"d{n}.svg", "--width", "90cm", "--seconds", "1", "-o", "out.pdf"], ("out.pdf",)
    ),
    Racer("guide", lambda n: ["guide", f"d{n}.svg", "-o", "out.pdf"], ("out.pdf",)),
    Racer("look", lambda n: ["look", f"d{n}.svg", "--picture", "out.png"], ("out.png",)),
    Racer("lines", lambda n: ["lines", f"d{n}.svg", "-o", "out.toml", "--picture", "out.png"], ("out.toml", "out.png")),
    Racer("testpage", lambda n: ["testpage", "--paper", PAPERS[n], "-o", "out.pdf"], ("out.pdf",)),
)


def drawing(number: int) -> str:
    """A piece that can be altered, of a size of its own."""
    wide, high = 150 + number, 220 + number
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide + 20}mm" height="{high + 20}mm" '
        f'viewBox="0 0 {wide + 20} {high + 20}"><g class="piece" id="front">'
        f'<path class="cutting-line" fill="none" stroke="#000" d="M10 10H{wide}V{high}H10z"/>'
        f'<path class="grainline" stroke="#000" d="M40 30V{high - 20}"/>'
        f'<path class="grading-line" stroke="#000" d="M80 10V{high}"/></g></svg>'
    )


def notes(number: int) -> str:
    """Notes of its own, so that those of another run are told from them."""
    return f'title = "Number {number}"\n'


@dataclass(slots=True)
class Ground:
    """Where the runs race.

    Attributes:
        folder: drawings and outputs.
        heard: for each run, where what it says goes.
        pool: as many processes as there are runs.
    """

    folder: Path
    heard: Sequence[Path]
    pool: ProcessPoolExecutor

    def race(self, commands: Sequence[Sequence[str]]) -> list[Ran]:
        """All at once."""
        limits = Limits(60, 2 << 30, environment={"PAGESEAM_HOME": str(self.folder / "home")})
        started = [
            self.pool.submit(run_limited, list(command), self.folder, limits, self.heard[number])
            for number, command in enumerate(commands)
        ]
        return [one.result() for one in started]

    def standing(self, racer: Racer) -> Mapping[str, bytes]:
        """What stands in the place of the outputs."""
        return {name: (self.folder / name).read_bytes() for name in racer.outputs if (self.folder / name).exists()}

    def clear(self, racer: Racer) -> None:
        """No outputs."""
        for name in racer.outputs:
            (self.folder / name).unlink(missing_ok=True)


def trial(
    racer: Racer, ground: Ground, count: int, wanted: Sequence[Mapping[str, bytes]], *, force: bool
) -> Counter[str]:
    """One race; what was wrong with it."""
    ground.clear(racer)
    if force:
        for name in racer.outputs:
            (ground.folder / name).write_bytes(OLD)
    before = set(ground.folder.rglob("*"))
    ran = ground.race([[*racer.arguments(n), *(["--force"] if force else [])] for n in range(count)])
    standing = ground.standing(racer)
    whole = [n for n in range(count) if standing == wanted[n]]
    done = [n for n in range(count) if ran[n].code == 0]
    wrong: Counter[str] = Counter()
    wrong["mixed"] += len(whole) != 1
    for n, one in enumerate(ran):
        untrue = (one.code == 0) != (n in whole) if not force else one.code != 0 and n in whole
        wrong["false"] += untrue or one.code not in (0, 4) or (one.code == 4 and len(one.errors) != 1)
    wrong["false"] += not done
    added = {str(p.name) for p in set(ground.folder.rglob("*")) - before} - set(racer.outputs)
    wrong["left"] += bool(added)
    if wrong.total():
        said = " / ".join(line for one in ran for line in one.errors)
        print(f"  {racer.name}: {+wrong}, whole {whole}, done {done}, left {added}: {said[:500]}", flush=True)
    return wrong


def race_for_printers(ground: Ground, count: int) -> Counter[str]:
    """Readings of so many printers at once; every one that ended well must be kept."""
    kept = ground.folder / "home" / "printers.json"
    kept.unlink(missing_ok=True)
    ran = ground.race([["check", "--measured", "99mm", f"99.{n}mm", "--printer", f"p{n}"] for n in range(count)])
    known = json.loads(kept.read_bytes())["printers"]
    names = {f"p{n}" for n, one in enumerate(ran) if one.code == 0}
    wrong: Counter[str] = Counter(false=sum(one.code != 0 for one in ran), mixed=int(not names <= set(known)))
    wrong["left"] += bool({p.name for p in kept.parent.iterdir()} - {kept.name})
    if wrong.total():
        print(f"  check: {+wrong}: {sorted(known)} of {sorted(names)}", flush=True)
    return wrong


def main() -> int:
    """Race with every command."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--pairs", type=int, default=100, help="of runs, for each command")
    parser.add_argument("--tens", type=int, default=20, help="of ten runs at once, for each command")
    parser.add_argument("--only", nargs="*", metavar="COMMAND", help="these commands, not all")
    given = parser.parse_args()
    total: Counter[str] = Counter()
    with tempfile.TemporaryDirectory(prefix="race-") as name, helpers(RUNS) as pool:
        folder = Path(name) / "ground"
        heard = [Path(name) / f"run{n}" for n in range(RUNS)]
        for place in (folder, folder / "home", *heard):
            place.mkdir()
        for n in range(RUNS):
            (folder / f"d{n}.svg").write_text(drawing(n))
            (folder / f"d{n}.toml").write_text(notes(n))
        (folder / "first.svg").write_text(drawing(40))
        ground = Ground(folder, heard, pool)
        ground.race([["pages", "first.svg", "-o", "printed.pdf"]])
        counts = [2] * given.pairs + [RUNS] * given.tens
        for racer in (r for r in RACERS if not given.only or r.name in given.only):
            wanted = []
            for n in range(RUNS):
                ground.clear(racer)
                [ran] = ground.race([racer.arguments(n)])
                assert ran.code == 0, ran.err
                wanted.append(ground.standing(racer))
            assert len({tuple(sorted(one.items())) for one in wanted}) == RUNS, "runs must be told from one another"
            wrong: Counter[str] = Counter()
            for number, count in enumerate(counts):
                wrong += trial(racer, ground, count, wanted, force=bool(number % 2))
            ground.clear(racer)
            total += wrong
            print(f"{racer.name}: {given.pairs} pairs, {given.tens} tens: {_told(wrong)}", flush=True)
        if not given.only or "check" in given.only:
            wrong = Counter()
            for count in counts:
                wrong += race_for_printers(ground, count)
            total += wrong
            print(f"check: {given.pairs} pairs, {given.tens} tens: {_told(wrong)}", flush=True)
    return 1 if total.total() else 0


def _told(wrong: Counter[str]) -> str:
    return ", ".join(f"{wrong[kind]} {kind}" for kind in ("mixed", "false", "left"))


if __name__ == "__main__":
    sys.exit(main())
