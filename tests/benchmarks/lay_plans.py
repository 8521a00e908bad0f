"""How full the lay plans are: the textile instances of the ESICUP collection against the published records.

Run by hand: ``python tests/benchmarks/lay_plans.py [--seconds 60] [--seed 1]``; needs the instances in
``../shared/open-data/esicup`` or in the folder named by ``PAGESEAM_OPEN_DATA``.

Records: best lengths of arXiv 2509.13329 as densities; total area of the pieces over strip height times length. A lay
above a record would mean that areas or overlaps are counted wrongly.
"""

from __future__ import annotations

import argparse
import json
import os
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from shapely import Polygon, STRtree

from tiling.cloth.cloth_choice import ClothChoice
from tiling.cloth.lay_pieces import Layers, LayPiece
from tiling.cloth.lay_plan import LayPlan, lay
from tiling.cloth.lay_search import Effort

RECORDS = {"trousers": 92.615, "shirts": 90.920, "swim": 79.826, "albano": 89.821}
"""Per cent, computed from the record lengths of arXiv 2509.13329."""
WITHIN = 3.0
"""Points that a lay of a minute may stay below the record."""


@dataclass(frozen=True, slots=True)
class Instance:
    """One instance: its pieces (each copy), how many of each, and the strip's height."""

    name: str
    pieces: list[LayPiece]
    demand: dict[str, int]
    height: float


def folder() -> Path:
    """Where the instances lie."""
    root = os.environ.get("PAGESEAM_OPEN_DATA") or Path(__file__).resolve().parents[2].parent / "shared" / "open-data"
    return Path(root) / "esicup"


def load(name: str) -> Instance:
    """An instance scaled so that the strip is 1,400 mm wide, as cloth is."""
    data = json.loads((folder() / f"{name}.json").read_text(encoding="utf-8"))
    scale = 1400.0 / data["strip_height"]
    pieces, demand = [], {}
    for item in data["items"]:
        assert item["allowed_orientations"] == [0.0, 180.0]
        ring = np.array(item["shape"]["data"][:-1]) * scale
        demand[str(item["id"])] = item["demand"]
        pieces += [
            LayPiece(str(item["id"]), str(item["id"]), copy, item["demand"], False, Layers.SINGLE, ring)
            for copy in range(1, item["demand"] + 1)
        ]
    return Instance(name, pieces, demand, 1400.0)


def lay_out(instance: Instance, effort: Effort) -> LayPlan:
    """The lay, without gaps."""
    return lay(instance.name, instance.pieces, ClothChoice(instance.height, gap=0.0), effort)


def faults(instance: Instance, plan: LayPlan) -> list[str]:
    """What is wrong with a lay, by shapely: copies, shapes, overlaps, edges."""
    found = []
    counts = {ident: sum(laid.piece.piece == ident for laid in plan.laid) for ident in instance.demand}
    if counts != instance.demand:
        found.append(f"copies {counts} instead of {instance.demand}")
    shapes = [Polygon(laid.ring).buffer(0) for laid in plan.laid]
    for laid, shape in zip(plan.laid, shapes, strict=True):
        if abs(shape.area / Polygon(laid.piece.ring).area - 1) > 1e-9:
            found.append(f"piece {laid.piece.piece} has another area")
        x0, y0, x1, y1 = shape.bounds
        if min(x0, y0) < -0.05 or y1 > instance.height + 0.05 or x1 > plan.length + 0.05:
            found.append(f"piece {laid.piece.piece} lies outside")
    tree = STRtree(shapes)
    for one, other in tree.query(shapes).T:
        common = shapes[one].intersection(shapes[other]).area if one < other else 0.0
        if common > 1.0:  # mm², of pieces of tens of thousands: rounding of the packing's single precision
            found.append(f"pieces {plan.laid[one].piece.piece} and {plan.laid[other].piece.piece} share {common:.2f}")
    return found


def processor() -> float:
    """Seconds of processor time so far, those of the packer's processes that have ended too."""
    return sum(os.times()[:4])


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("instances", nargs="*", choices=[*RECORDS, []], help="all of them if none is named")
    options = parser.parse_args()
    print("| instance | pieces | record % | this lay % | below it | seconds | of processor | faults |")
    print("|---|---|---|---|---|---|---|---|")
    for name in options.instances or RECORDS:
        record = RECORDS[name]
        instance = load(name)
        start, busy = time.monotonic(), processor()
        plan = lay_out(instance, Effort(options.seconds, options.seed))
        busy = processor() - busy
        took, use = time.monotonic() - start, plan.use * 100
        wrong = "; ".join(faults(instance, plan)) or "none"
        verdict = "" if record - WITHIN <= use <= record else " (!)"
        print(
            f"| {name} | {len(instance.pieces)} | {record:.2f} | {use:.2f}{verdict} | {record - use:.2f} "
            f"| {took:.0f} | {busy:.0f} | {wrong} |",
            flush=True,
        )


if __name__ == "__main__":
    main()
