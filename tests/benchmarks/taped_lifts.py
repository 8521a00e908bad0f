"""Whether following the advice what to lift brings a taped sheet into order, in how many rounds and lifts.

    python -m tests.benchmarks.taped_lifts [--sheets 20] [--log FILE]

Each sheet is taped by the simulator with pages that slipped by 1 to 3 mm, photographed twice and read; every lift that
is advised is made as a hand would, off by 0.2 mm and 0.02 degrees (standard deviations), and the sheet photographed
again. It is in order when no end of a join is off by more than the tolerance of 1 mm, by the simulator's own knowledge.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from calibrate.taped.lifts import Lift
    from calibrate.taped.printed import PrintedSheet
    from tests.benchmarks.taped_accuracy import Kind
    from tests.simulator.taping import Laid, Paper, TapedSheet

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

TOLERANCE, ROUNDS = 1.0, 3
HAND, HAND_TURN = 0.2, 0.02


@dataclass(frozen=True, slots=True)
class Mended:
    """What became of one sheet: joins, how many were off before and after each round, and the joins lifted in each."""

    kind: str
    seed: int
    joins: int
    off: tuple[int, ...]
    lifted: tuple[int, ...]


def run(task: tuple[int, int]) -> Mended:
    """Tape, and mend by the advice; the task is (kind, seed)."""
    import cv2

    from tests.benchmarks.taped_accuracy import KINDS, pages_of
    from tests.simulator.taping import Taping, laid_by, taped

    cv2.setNumThreads(1)
    kind, seed = KINDS[task[0]], task[1]
    papers, sheet = pages_of(task[0])
    taping = Taping(lift=kind.lift)
    laid = laid_by(papers, taping, seed)
    off, lifted = [], []
    for number in range(ROUNDS + 1):
        made = taped(papers, laid, taping, seed)
        off.append(
            sum(
                any(
                    float((made.slip(join.first, join.second, tuple(at)) ** 2).sum() ** 0.5) > TOLERANCE
                    for at in join.ends
                )
                for join in sheet.joins
            )
        )
        if number == ROUNDS or not off[-1]:
            break
        lifts = _advice(made, sheet, kind, 100 * seed + 10 * number)
        if not lifts:
            break
        lifted.append(len({pair for lift in lifts for pair in lift.joins}))
        laid = _followed(laid, papers, lifts, seed + number)
    return Mended(kind.what, seed, len(sheet.joins), tuple(off), tuple(lifted))


def _advice(made: TapedSheet, sheet: PrintedSheet, kind: Kind, seed: int) -> Sequence[Lift]:
    """What two photos say is to be lifted; where they are refused, two others are taken."""
    from calibrate.failures import NoMeasurementError
    from calibrate.photo import load_photo
    from calibrate.taped.reading import read_taped
    from tests.benchmarks.taped_accuracy import sitting_of
    from tests.simulator.taping import photo_of_sheet

    for first in range(seed, seed + 10, 2):
        shots = [photo_of_sheet(made, sitting_of(kind, first + n, n), first + n) for n in (0, 1)]
        with suppress(NoMeasurementError):
            return read_taped([load_photo("photo", shot) for shot in shots], sheet, TOLERANCE).lifts
    raise AssertionError("no photo could be read")


def _followed(laid: Mapping[str, Laid], papers: Sequence[Paper], lifts: Sequence[Lift], seed: int) -> dict[str, Laid]:
    """The pages once the lifts are made, one after the other."""
    import numpy as np

    rng = np.random.default_rng(seed)
    middles = {paper.name: np.array([sum(paper.seen[::2]), sum(paper.seen[1::2])]) / 2 for paper in papers}
    found = dict(laid)
    for lift in lifts:
        about = np.mean([middles[name] for name in lift.pages], axis=0)
        turn = lift.turn + rng.normal(0.0, HAND_TURN)
        move = np.array(lift.move) + rng.normal(0.0, HAND / np.sqrt(2), 2)
        angle = np.radians(turn)
        spin = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        for name in lift.pages:
            page, middle = found[name], middles[name]
            shift = spin @ (middle + page.shift - about) + about + move - middle
            found[name] = replace(page, shift=(float(shift[0]), float(shift[1])), turn=page.turn + float(turn))
    return found


def main() -> None:
    """Run what the command line asks for and print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--sheets", type=int, default=20, help="in all, shared among three drawings")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--log", type=Path, help="one line a sheet, written as they come")
    given = parser.parse_args()
    from tests.benchmarks.taped_accuracy import KINDS

    lines = given.log.read_text().splitlines() if given.log and given.log.exists() else []
    known = [json.loads(line).items() for line in lines]
    done = [Mended(**{key: tuple(v) if isinstance(v, list) else v for key, v in items}) for items in known]
    kinds = [0, *(n for n, kind in enumerate(KINDS) if kind.drawing != "smock")]
    tasks = [(kind, seed) for kind in kinds for seed in range(-(-given.sheets // len(kinds)))]
    there = {(one.kind, one.seed) for one in done}
    left = [task for task in tasks if (KINDS[task[0]].what, task[1]) not in there]
    with multiprocessing.get_context("spawn").Pool(given.jobs) as pool:
        for one in pool.imap(run, left):
            done.append(one)
            if given.log:
                with given.log.open("a", encoding="utf-8") as stream:
                    stream.write(json.dumps(asdict(one)) + "\n")
    print("| sheets | joins | off at first | after one round | after two | joins lifted |\n|---|---|---|---|---|---|")
    for kind in KINDS:
        print(*_row(kind.what, [one for one in done if one.kind == kind.what]), sep="\n", end="")


def _row(name: str, sheets: Sequence[Mended]) -> list[Any]:
    if not sheets:
        return []
    off = [sum(one.off[min(n, len(one.off) - 1)] for one in sheets) for n in range(3)]
    joins, lifted = sum(one.joins for one in sheets), sum(sum(one.lifted) for one in sheets)
    return [f"| {name}: {len(sheets)} | {joins} | {off[0]} | {off[1]} | {off[2]} | {lifted} |\n"]


if __name__ == "__main__":
    main()
