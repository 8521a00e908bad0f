"""How full strips are packed: the textile instances against the published records.

Run by hand: ``python -m tests.benchmarks.packing [--seconds 60] [--seed 1] [--only trousers]``; needs the instances in
``../shared/open-data/esicup`` or below the folder named by ``PAGESEAM_OPEN_DATA``.

Records: best lengths of arXiv 2509.13329, as densities (total area of the pieces over strip height times length).
A density above a record would mean that areas or overlaps are counted wrongly. Ends with 1 when a density is above
its record or more than three points below it.
"""

from __future__ import annotations

import argparse
import sys
import time

from tests.planning.drawings import RECORDS, instance, open_data
from tiling.planning.packing import PackOptions, pack

WITHIN = 3.0


def main() -> int:
    """Pack each instance and print a table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--seconds", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", choices=sorted(RECORDS))
    chosen = parser.parse_args()
    folder = open_data()
    if folder is None:
        print("No open data found beside the project nor in PAGESEAM_OPEN_DATA.")
        return 1
    print(f"{'instance':<10} {'pieces':>6} {'length':>10} {'density':>8} {'record':>8} {'below':>6} {'seconds':>8}")
    good = True
    for name in [chosen.only] if chosen.only else RECORDS:
        given = instance(folder, name)
        start = time.perf_counter()
        packing = pack(given.items, PackOptions(given.height, seconds=chosen.seconds, seed=chosen.seed))
        took = time.perf_counter() - start
        density = 100 * packing.density
        below = RECORDS[name] - density
        good = good and 0 <= below <= WITHIN
        pieces = sum(item.count for item in given.items)
        print(
            f"{name:<10} {pieces:>6} {packing.length:>10.2f} {density:>7.2f}% {RECORDS[name]:>7.2f}% {below:>6.2f} "
            f"{took:>8.1f}"
        )
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
