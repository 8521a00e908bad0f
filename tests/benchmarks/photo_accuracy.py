"""How well photos are read: simulated photos with fixed seeds, a table of what came out.

    python -m tests.benchmarks.photo_accuracy [--photos 26] [--mishaps 28] [--width 4000] [--only CARD,SHEET_CURL]
                                              [--log FILE]

With a log, photos that are in it are not taken again.

Errors are those of both directions together, of the scale; the sheet and the card of the simulated photos are
exactly of their nominal size, except in the two rows that say otherwise. "Unflagged" counts photos whose error is
above 0.3 % and above the uncertainty that was stated, also for every answer that was given beside it under a question
("is the sheet really A4?"). Spoilt photos must be refused, or be right all the same.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import time
from collections import Counter
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tests.simulator.judging import Outcome, Tally

# One thread a process: the processes are what runs in parallel.
for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

ASKED = {
    "SHEET": (0.0002, 0.0006),
    "CARD": (0.0003, 0.0010),
    "SHEET_CURL": (None, 0.0012),
    "CARD_CURL": (None, 0.0012),
}
"""What was asked for: median and 95th percentile of the error."""

EXACT = (
    "SHEET", "CARD", "SHEET_SLANT", "CARD_SLANT", "SHEET_CURL", "CARD_CURL", "SHEET_HARD", "SHEET_SAVING",
    "SHEET_LETTER", "CURVE", "CODED", "CODED_SHEET",
)  # fmt: skip
"""Conditions whose sheet or card is exactly of its size, and all of whose error is the method's."""

Task = tuple[str, str, int, int]


def run(task: Task) -> Outcome:
    """Take and read one photo; the task is (kind, name, seed, width)."""
    import cv2

    from tests.simulator.conditions import Condition, ordinary
    from tests.simulator.judging import judged
    from tests.simulator.mishaps import Mishap, mishap
    from tests.simulator.spoilt import Spoilt, spoilt

    cv2.setNumThreads(1)
    kind, name, seed, width = task
    if kind == "mishap":
        mis = mishap(Mishap[name], seed, width)
        return judged(name, seed, mis.shot, mis.reference, mis.truth)
    if kind == "ordinary":
        case = ordinary(Condition[name], seed, width)
        return judged(name, seed, case.shot, case.condition.reference)
    bad = spoilt(Spoilt[name], seed, width)
    return judged(name, seed, bad.shot, bad.reference)


def main() -> None:
    """Run what the command line asks for and print the tables."""
    options = _options()
    from tests.simulator.conditions import Condition
    from tests.simulator.mishaps import Mishap
    from tests.simulator.spoilt import Spoilt

    only = set(options.only.split(",")) if options.only else set()
    plain = [c.name for c in Condition if not only or c.name in only]
    bad = [s.name for s in Spoilt if not only or s.name in only]
    mis = [m.name for m in Mishap if not only or m.name in only]
    seeds = range(options.first, options.first + options.photos)
    tasks = [("ordinary", name, seed, options.width) for seed in seeds for name in plain]
    seeds = range(options.first, options.first + options.spoilt)
    tasks += [("spoilt", name, seed, options.width) for seed in seeds for name in bad]
    seeds = range(options.first, options.first + options.mishaps)
    tasks += [("mishap", name, seed, options.width) for seed in seeds for name in mis]
    start = time.time()
    outcomes = _all_of(tasks, options.jobs, options.log)
    titles = {c.name: c.value for c in Condition} | {s.name: s.value for s in Spoilt}
    lines = [
        *_ordinary_table(outcomes, plain, titles),
        "",
        *_coverage(outcomes),
        "",
        *_spoilt_table(outcomes, bad, titles),
    ]
    lines += ["", *_mishap_table([o for o in outcomes if o.row in mis])]
    lines += [
        "",
        f"{len(tasks)} photos of {options.width} x {options.width * 3 // 4} pixels, seeds from {options.first}",
    ]
    text = "\n".join(lines)
    print(text)
    print(f"{time.time() - start:.0f} s")
    if options.out:
        options.out.write_text(text + "\n", encoding="utf-8")


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--photos", type=int, default=26, help="photos for each condition")
    parser.add_argument("--spoilt", type=int, default=4, help="photos for each way of spoiling them")
    parser.add_argument("--mishaps", type=int, default=28, help="photos for each mishap")
    parser.add_argument("--first", type=int, default=1, help="first seed")
    parser.add_argument("--width", type=int, default=4000, help="pixels across the frame")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--only", default="", help="names of conditions, with commas")
    parser.add_argument("--log", type=Path, help="one line a photo, written as they come")
    parser.add_argument("--out", type=Path, help="write the tables here too")
    return parser.parse_args()


def _all_of(tasks: list[Task], jobs: int, log: Path | None) -> list[Outcome]:
    outcomes = _done_before(log)
    done = {(o.row, o.seed) for o in outcomes}
    asked = {(name, seed) for _, name, seed, _ in tasks}
    outcomes = [o for o in outcomes if (o.row, o.seed) in asked]
    left = [task for task in tasks if (task[1], task[2]) not in done]
    context = multiprocessing.get_context("spawn")
    with context.Pool(jobs, maxtasksperchild=60) as pool:
        for outcome in pool.imap(run, left):
            outcomes.append(outcome)
            if log is not None:
                with log.open("a", encoding="utf-8") as stream:
                    stream.write(json.dumps(asdict(outcome)) + "\n")
    return outcomes


def _done_before(log: Path | None) -> list[Outcome]:
    """What an earlier run wrote into the log."""
    from tests.simulator.judging import Outcome

    if log is None or not log.exists():
        return []
    rows = [json.loads(line) for line in log.read_text(encoding="utf-8").splitlines()]
    return [
        Outcome(**{k: tuple(v) if isinstance(v, list) else v for k, v in row.items()} | {"asked": _pairs(row["asked"])})
        for row in rows
    ]


def _pairs(asked: list[list[float]]) -> tuple[tuple[float, float], ...]:
    return tuple((across, down) for across, down in asked)


def _ordinary_table(outcomes: list[Outcome], names: list[str], titles: dict[str, str]) -> Iterable[str]:
    from tests.simulator.judging import tally

    if not names:
        return
    yield (
        "| condition | photos | read | median % | 95 % within | largest % | covered | by the method's terms | "
        "unflagged | stated % | aim |"
    )
    yield "|---|---|---|---|---|---|---|---|---|---|---|"
    for name in names:
        row = tally(titles[name], [o for o in outcomes if o.row == name])
        yield _row_of(row, _asked(name, row))
    every = [o for o in outcomes if o.row in names]
    yield _row_of(tally("all", every), "98 % read, 95 % covered, none unflagged")


def _coverage(outcomes: list[Outcome]) -> Iterable[str]:
    """How often the method's own terms hold: where the reference is exact, with phones of either kind of tones."""
    exact = [o for o in outcomes if o.row in EXACT and o.read]
    if exact:
        from tests.simulator.judging import tally

        share = f"{100 * tally('', exact).method:.1f} % of {2 * len(exact)} errors"
        yield f"{share} lie within the method's own terms (k = 2): {', '.join(EXACT)}"


def _asked(name: str, row: Tally) -> str:
    if name not in ASKED:
        return ""
    median, within = ASKED[name]
    words, met = [], row.within_95 <= within
    if median is not None:
        words.append(f"{median * 100:.2f} median")
        met = met and row.median <= median
    return f"{', '.join([*words, f'{within * 100:.2f} within'])}: {'met' if met else 'MISSED'}"


def _row_of(row: Tally, asked: str) -> str:
    figures = [f"{value * 100:.3f}" for value in (row.median, row.within_95, row.largest)]
    shares = [f"{share * 100:.0f} %" for share in (row.covered, row.method)]
    cells = [row.row, f"{row.photos}", f"{row.read}", *figures, *shares, f"{row.unflagged}"]
    return "| " + " | ".join([*cells, f"{row.doubt * 100:.2f}", asked]) + " |"


def _spoilt_table(outcomes: list[Outcome], names: list[str], titles: dict[str, str]) -> Iterable[str]:
    if not names:
        return
    yield "| spoilt photos | photos | refused | right | wrong | reasons |"
    yield "|---|---|---|---|---|---|"
    for name in names:
        mine = [o for o in outcomes if o.row == name]
        refused = [o for o in mine if not o.read]
        right = sum(o.read and o.right for o in mine)
        reasons = Counter(o.refused.split(":")[0] for o in refused)
        told = "; ".join(f"{reason} ({count})" for reason, count in reasons.most_common())
        wrong = len(mine) - len(refused) - right
        yield f"| {titles[name]} | {len(mine)} | {len(refused)} | {right} | {wrong} | {told} |"


def _mishap_table(outcomes: list[Outcome]) -> Iterable[str]:
    """Doubt against error: the stated uncertainty (k=2) and the error, medians, of the photos read."""
    from tests.simulator.mishaps import Mishap

    rows = [(kind, [o for o in outcomes if o.row == kind.name]) for kind in Mishap]
    if not outcomes:
        return
    yield (
        "| mishap | photos | read | right under a question | refused, rightly | refused otherwise | wrong, unflagged | "
        "error % | stated % |"
    )
    yield "|---|---|---|---|---|---|---|---|---|"
    for kind, mine in rows:
        if mine:
            yield _mishap_row(kind.value, mine, {reason.value for reason in kind.reasons})
    every = [o for o in outcomes if o.read]
    asked = sum(not o.settled and not o.unflagged for o in every)
    yield f"| all | {len(outcomes)} | {len(every)} | {asked} | | | {sum(o.unflagged for o in every)} | | |"


def _mishap_row(title: str, mine: list[Outcome], reasons: set[str]) -> str:
    read = [o for o in mine if o.read]
    refused = [o.refused.split(":")[0] for o in mine if not o.read]
    right = sum(reason in reasons for reason in refused)
    others = Counter(reason for reason in refused if reason not in reasons)
    told = "; ".join(f"{reason} ({count})" for reason, count in others.most_common())
    errors = sorted(max(abs(e) for e in o.errors) for o in read)
    doubts = sorted(max(o.doubts) for o in read)
    figures = [f"{100 * values[len(values) // 2]:.2f}" if values else "" for values in (errors, doubts)]
    wrong = sum(o.unflagged for o in read)
    asked = sum(not o.settled and not o.unflagged for o in read)
    counts = " | ".join(f"{value}" for value in (len(mine), len(read), asked, right, told, wrong))
    return f"| {title} | {counts} | {figures[0]} | {figures[1]} |"


if __name__ == "__main__":
    main()
