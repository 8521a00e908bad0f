"""How well drawings that say nothing of their lines are understood: precision and recall on the tests' thirty drawings.

Run with ``python -m tests.benchmarks.understood_lines``; add ``--wrong`` to list every miss.
"""

from __future__ import annotations

import sys
import time

from tests.recognition.drawings import DRAWINGS
from tests.recognition.scores import KINDS, Score, score
from tiling.reading.gather import read_drawing
from tiling.recognition.understand import understood


def main() -> None:
    """Print the table."""
    total, spent = Score(), 0.0
    for drawing in DRAWINGS:
        pattern = read_drawing(drawing.file())
        start = time.process_time()
        seen = understood(pattern)
        spent += time.process_time() - start
        total.add(score(drawing, pattern, seen))
    print(f"{len(DRAWINGS)} drawings, {spent / len(DRAWINGS) * 1000:.0f} ms of processor time each")
    print(f"{'kind':12} {'there':>6} {'found':>6} {'right':>6} {'precision':>10} {'recall':>7}")
    for kind in KINDS:
        counts = f"{total.there[kind]:6} {total.found[kind]:6} {total.right[kind]:6}"
        print(f"{kind:12} {counts} {total.precision(kind):10.3f} {total.recall(kind):7.3f}")
    if "--wrong" in sys.argv:
        print("\n".join(total.wrong))


if __name__ == "__main__":
    main()
