"""How long reading a 12-megapixel photo takes, against decoding it and finding its markers with bare OpenCV.

    python -m tests.benchmarks.photo_speed [--repeats 7] [--many 1]

Both are timed in turns in one run, on one thread, in seconds of processor time, which other programs on the machine
do not lengthen; the figures are medians. The memory is the peak of a process of its own that loads and measures the
photo, libraries and all. Then every ordinary condition and every mishap is read, so many photos of each, for the median
and the worst.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

RATIO, MEGABYTES, MEDIAN, WORST = 3.0, 700.0, 1.5, 4.0
"""What was asked for: at most this many times bare OpenCV, at most this much memory; seconds of many photos."""


def bare(path: Path) -> int:
    """Decode the photo and find the markers; how many there are."""
    import cv2

    grey = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_1000)
    corners, _, _ = cv2.aruco.ArucoDetector(dictionary).detectMarkers(grey)
    return len(corners)


def whole(path: Path, reference: str) -> bool:
    """Load and measure as `pageseam check` does; whether there is a measurement."""
    from calibrate.photo import load_photo
    from calibrate.result import Measurement
    from calibrate.scale import Options, measure

    return isinstance(measure([load_photo(str(path), path.read_bytes())], Options(reference)), Measurement)


def many(each: int) -> str:
    """How long photos of every kind take, in seconds of processor time."""
    from calibrate.photo import load_photo
    from calibrate.scale import Options, measure
    from tests.simulator.conditions import Condition, ordinary
    from tests.simulator.mishaps import Mishap, mishap
    from tests.simulator.photo import photographed

    seconds = {}
    for seed in range(1, each + 1):
        shots = [(kind.name, ordinary(kind, seed).shot, kind.reference) for kind in Condition]
        shots += [(kind.name, case.shot, case.reference) for kind in Mishap for case in (mishap(kind, seed, 4000),)]
        for name, shot, reference in shots:
            content = photographed(shot).file
            start = time.process_time()
            measure([load_photo(name, content)], Options(reference))
            seconds[f"{name} {seed}"] = time.process_time() - start
    median, (slowest, worst) = statistics.median(seconds.values()), max(seconds.items(), key=lambda one: one[1])
    met = ["met" if ok else "MISSED" for ok in (median <= MEDIAN, worst <= WORST)]
    return (
        f"{len(seconds)} photos: median {median:.2f} s (asked {MEDIAN:g}: {met[0]}), worst {worst:.2f} s, {slowest} "
        f"(asked {WORST:g}: {met[1]})"
    )


def _peak_megabytes() -> float:
    """The most memory this process held at once; Linux's own figure, since getrusage counts the parent's too."""
    status = Path("/proc/self/status")
    if status.exists():
        line = next(line for line in status.read_text().splitlines() if line.startswith("VmHWM"))
        return float(line.split()[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> None:
    """Take one photo with a card and one without, and time both ways of reading them."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--repeats", type=int, default=7)
    parser.add_argument("--many", type=int, default=1, help="photos of each kind")
    parser.add_argument("--peak", nargs=2, metavar=("PHOTO", "REFERENCE"), help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.peak:
        path, reference = options.peak
        assert whole(Path(path), reference)
        print(_peak_megabytes())
        return
    import cv2

    from tests.simulator.conditions import Condition, ordinary
    from tests.simulator.photo import photographed

    cv2.setNumThreads(1)
    print("| photo | bare OpenCV s | pageseam s | ratio | asked | peak MB | asked |")
    print("|---|---|---|---|---|---|---|")
    with tempfile.TemporaryDirectory() as folder:
        for condition in (Condition.SHEET, Condition.CARD):
            path = Path(folder) / f"{condition.name}.jpg"
            path.write_bytes(photographed(ordinary(condition, 2).shot).file)
            print(_row(condition.name.lower(), path, condition.reference, options.repeats))
    print("\n" + many(options.many))


def _row(name: str, path: Path, reference: str, repeats: int) -> str:
    times: dict[str, list[float]] = {"bare": [], "whole": []}
    markers, read = bare(path), whole(path, reference)
    for _ in range(repeats):
        start = time.process_time()
        bare(path)
        middle = time.process_time()
        whole(path, reference)
        times["bare"].append(middle - start)
        times["whole"].append(time.process_time() - middle)
    one, other = (statistics.median(times[way]) for way in ("bare", "whole"))
    command = [sys.executable, "-m", "tests.benchmarks.photo_speed", "--peak", str(path), reference]
    peak = float(subprocess.run(command, capture_output=True, text=True, check=True).stdout)
    ratio = other / one
    told = "read" if read else "refused"
    met = ["met" if ok else "MISSED" for ok in (ratio <= RATIO, peak <= MEGABYTES)]
    return (
        f"| {name}, {markers} markers, {told} | {one:.2f} | {other:.2f} | {ratio:.2f} | {RATIO:g}: {met[0]} | "
        f"{peak:.0f} | {MEGABYTES:g}: {met[1]} |"
    )


if __name__ == "__main__":
    main()
