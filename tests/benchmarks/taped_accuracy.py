"""How well photos of a taped sheet are read: sheets taped and photographed by the simulator, a table of what came out.

    python -m tests.benchmarks.taped_accuracy [--sheets 200] [--only WORD] [--log FILE]

With a log, sheets that are in it are not taped again. Errors are of the slip at every end of every join, along and
across together, mm; "covered" is the share of them within two of their standard deviations. A slip of 1 mm and more is
missed where it is called true to 1 mm by more than 0.15 mm less than it is; one of 0.5 mm and less is claimed falsely
where it is called slipped.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import time
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from calibrate.taped.printed import PrintedSheet
    from tests.simulator.taping import Laid, Paper, Sitting
    from tiling.files.inputs import InputFile

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

SAMPLE = Path(__file__).resolve().parents[2] / "samples" / "potting-smock.svg"


@dataclass(frozen=True, slots=True)
class Kind:
    """One condition: how the sheet is taped and photographed; ``odd`` puts some pages where they don't belong."""

    what: str
    width: int = 4000
    photos: int = 2
    lift: float = 0.5
    lamp: bool = False
    paper: str = "a4"
    drawing: str = "smock"
    odd: bool = False


KINDS = (
    Kind("smock, A4, two photos, daylight"),
    Kind("smock, A4, two photos, lamp", lamp=True),
    Kind("smock, A4, two photos of 20 Mpx", width=5200),
    Kind("smock, A4, one photo, edges flat", photos=1, lift=0.0),
    Kind("smock, A4, one photo, edges stand up", photos=1),
    Kind("smock, letter, two photos", paper="letter"),
    Kind("smock, A3, two photos", paper="a3"),
    Kind("apron, A4, two photos", drawing="apron", width=2600),
    Kind("cape, A4, two photos", drawing="cape"),
    Kind("smock, A4, pages exchanged, upside down, missing", odd=True),
)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one sheet: errors and doubts of all ends, counts, and processor seconds a photo."""

    kind: str
    seed: int
    refused: str = ""
    px_per_mm: float = 0.0
    errors: tuple[float, ...] = ()
    doubts: tuple[float, ...] = ()
    large: int = 0
    missed: int = 0
    small: int = 0
    false: int = 0
    places: int = 0
    wrong: int = 0
    untold: int = 0
    seconds: float = 0.0


def run(task: tuple[int, int]) -> Outcome:
    """Tape, photograph and read one sheet; the task is (kind, seed)."""
    import cv2
    import numpy as np

    from calibrate.failures import NoMeasurementError
    from calibrate.photo import load_photo
    from calibrate.taped.reading import JoinVerdict, read_taped
    from tests.simulator.taping import Taping, laid_by, photo_of_sheet, taped

    cv2.setNumThreads(1)
    kind, seed = KINDS[task[0]], task[1]
    papers, sheet = pages_of(task[0])
    taping = Taping(lift=kind.lift)
    laid, truth = _spoilt(laid_by(papers, taping, seed), kind, seed)
    made = taped(papers, laid, taping, seed)
    shots = [photo_of_sheet(made, sitting_of(kind, seed, n), 10 * seed + n) for n in range(kind.photos)]
    photos = [load_photo(f"{n}.jpg", shot) for n, shot in enumerate(shots)]
    began = time.process_time()
    try:
        reading = read_taped(photos, sheet)
    except NoMeasurementError as refused:
        return Outcome(kind.what, seed, refused.refusal.reason.value)
    seconds = (time.process_time() - began) / len(photos)
    slips = [made.slip(end.first, end.second, end.at) for end in reading.ends]
    sizes = [float(np.hypot(*slip)) for slip in slips]
    errors = [part for end, slip in zip(reading.ends, slips, strict=True) for part in np.array(end.slip) - slip]
    told = [end.verdict for end in reading.ends]
    found = {one.place: one for one in reading.identities}
    untold = [name for name, one in found.items() if one.found_as is None and not one.missing]
    wrong = [
        name for name, one in found.items()
        if name not in untold and (one.found_as, one.upside_down, one.missing) != truth.get(name, (name, False, False))
    ]  # fmt: skip
    return Outcome(
        kind.what, seed, "", min(one.px_per_mm for one in reading.photos),
        tuple(float(error) for error in errors), tuple(end.doubt for end in reading.ends for _ in range(2)),
        sum(size >= 1.15 for size in sizes),
        sum(size >= 1.15 and verdict is JoinVerdict.TRUE for size, verdict in zip(sizes, told, strict=True)),
        sum(size <= 0.5 for size in sizes),
        sum(size <= 0.5 and verdict is JoinVerdict.SLIPPED for size, verdict in zip(sizes, told, strict=True)),
        len(found), len(wrong), len(untold), seconds,
    )  # fmt: skip


@lru_cache(maxsize=2)
def pages_of(number: int) -> tuple[tuple[Paper, ...], PrintedSheet]:
    """The pages of one of the conditions, as they come from the printer and as the reader knows them."""
    from tests.simulator.taping import papers_of
    from tiling.operations.printed_sheet import printed_sheet

    printed = printed_of(KINDS[number])
    return papers_of(printed.content), printed_sheet([printed])


def printed_of(kind: Kind) -> InputFile:
    """The pages of a condition's drawing on its paper."""
    import tiling
    from tests.operations.test_read_taped import APRON

    content = {"smock": SAMPLE.read_bytes(), "apron": APRON.encode(), "cape": CAPE.encode()}[kind.drawing]
    file, page = tiling.InputFile("drawing.svg", content), tiling.PageChoice(kind.paper)
    made = tiling.make_pages(tiling.MakePagesRequest((file,), page=page, name="pages.pdf")).pages
    assert made is not None
    return tiling.InputFile("pages.pdf", made.content)


CAPE = """<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="800mm" viewBox="0 0 900 800">
<g fill="none" stroke="black" stroke-width=".6"><path d="M450 20C480 20 500 50 510 90C700 130 860 420 885 780
C600 730 300 730 15 780C40 420 200 130 390 90C400 50 420 20 450 20Z"/>
<path d="M450 20V745M60 700C300 655 600 655 840 700"/>
<path d="M150 380L175 395M750 380L725 395"/><path d="M450 240V520M443 252L450 240L457 252"/></g>
<text x="500" y="330" font-size="22">Cape</text><text x="500" y="360" font-size="12">cut 1, lining alike</text>
<text x="220" y="500" font-size="12">left side</text><text x="640" y="500" font-size="12">right side</text></svg>"""


def sitting_of(kind: Kind, seed: int, number: int) -> Sitting:
    """From where and with what a photo is taken: from above one long side, then the other."""
    import numpy as np

    from tests.simulator.camera import Phone, Stance
    from tests.simulator.sensor import Sensor
    from tests.simulator.taping import Sitting

    rng = np.random.default_rng(1000 * seed + number)
    towards = 180.0 * number + rng.normal(0.0, 12.0)
    stance = Stance(
        tilt=float(rng.uniform(8.0, 22.0)), tilt_towards=towards, turn=180.0 * number + rng.normal(0.0, 4.0),
        margin=0.02,
    )  # fmt: skip
    phone = Phone(kind.width, kind.width * 3 // 4)
    if kind.lamp:
        return Sitting(phone=phone, stance=stance, sensor=Sensor(noise=4.0, blur=1.0, exposure=0.7), gradient=0.5)
    return Sitting(phone=phone, stance=stance)


def _spoilt(
    laid: dict[str, Laid], kind: Kind, seed: int
) -> tuple[dict[str, Laid], dict[str, tuple[str | None, bool, bool]]]:
    """Two pages exchanged, two upside down and one missing; what lies at those places."""
    import numpy as np

    if not kind.odd:
        return laid, {}
    picked = np.random.default_rng(seed).choice(list(laid), 5, replace=False)
    one, other, down, also, gone = (str(name) for name in picked)
    laid = laid | {one: replace(laid[one], shows=other), other: replace(laid[other], shows=one)}
    laid |= {name: replace(laid[name], upside_down=True) for name in (down, also)}
    laid |= {gone: replace(laid[gone], missing=True)}
    truth = {one: (other, False, False), other: (one, False, False), gone: (None, False, True)}
    return laid, truth | {name: (name, True, False) for name in (down, also)}


def _rows(outcomes: Iterable[Outcome]) -> Iterator[str]:
    import numpy as np

    yield (
        "| sheets | read | px/mm | 95 % mm | largest mm | covered | of 1 mm missed | of 0.5 mm claimed | "
        "places told wrong, not told | s a photo |"
    )
    yield "|---|---|---|---|---|---|---|---|---|---|"
    outcomes = list(outcomes)
    for kind in KINDS:
        mine = [one for one in outcomes if one.kind == kind.what]
        read = [one for one in mine if not one.refused]
        if not mine:
            continue
        if not read:
            yield f"| {kind.what}: {len(mine)} | 0 |" + " |" * 8
            continue
        errors, doubts = (np.abs([v for one in read for v in getattr(one, name)]) for name in ("errors", "doubts"))
        sums = {name: sum(getattr(one, name) for one in read) for name in
                ("large", "missed", "small", "false", "places", "wrong", "untold")}  # fmt: skip
        yield (
            f"| {kind.what}: {len(mine)} | {len(read)} | {min(one.px_per_mm for one in read):.1f} | "
            f"{np.percentile(errors, 95):.2f} | {errors.max():.2f} | {100 * np.mean(errors <= 2 * doubts):.1f} % | "
            f"{sums['missed']} of {sums['large']} | {sums['false']} of {sums['small']} | "
            f"{sums['wrong']}, {sums['untold']} of {sums['places']} | {np.mean([one.seconds for one in read]):.1f} |"
        )


def main() -> None:
    """Run what the command line asks for and print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--sheets", type=int, default=200, help="in all, shared among the conditions")
    parser.add_argument("--only", default="", metavar="WORD", help="conditions whose name holds it")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--log", type=Path, help="one line a sheet, written as they come")
    given = parser.parse_args()
    lines = given.log.read_text().splitlines() if given.log and given.log.exists() else []
    known = [json.loads(line).items() for line in lines]
    outcomes = [Outcome(**{k: tuple(v) if isinstance(v, list) else v for k, v in items}) for items in known]
    done = {(one.kind, one.seed) for one in outcomes}
    numbers = [n for n, kind in enumerate(KINDS) if given.only in kind.what]
    tasks = [(n, seed) for n in numbers for seed in range(-(-given.sheets // len(KINDS)))]
    left = [(n, seed) for n, seed in tasks if (KINDS[n].what, seed) not in done]
    with multiprocessing.get_context("spawn").Pool(given.jobs) as pool:
        for outcome in pool.imap(run, left):
            outcomes.append(outcome)
            if given.log:
                with given.log.open("a", encoding="utf-8") as stream:
                    stream.write(json.dumps(asdict(outcome)) + "\n")
    print("\n".join(_rows(outcomes)))


if __name__ == "__main__":
    main()
