"""Laying outlines on a strip of fixed height as short as can be: the one place that calls the packing library.

Serves pieces on paper and lay plans on cloth. The solver is bounded by time, so another machine may end differently;
what it gives back is checked here before anyone relies on it: every copy once, only allowed turns, nothing beyond the
strip, nothing closer than the gap.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from math import ceil
from pathlib import Path
from time import monotonic
from typing import IO, Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from calibrate.run import Run
from tiling.failures import InputUnfit, PageseamError
from tiling.shapes import Affine, Point

__all__ = ["PackItem", "PackOptions", "Packed", "Packing", "pack", "packable"]

Outline = NDArray[np.float64]
_POLL = 0.1
"""Seconds between two looks at whether the search is to end."""

_EXPLORING = 0.5
"""Share of the time for finding a good order; the rest goes into closing up. The library's own share is 0.8; on the
textile instances half did as well, within the scatter of seeds, and a little better on shirts."""

_SLIP = 2e-4
"""The solver works in single precision: relative to the strip's height, what may be off."""


@dataclass(frozen=True, slots=True, eq=False)
class PackItem:
    """An outline to lay: (n, 2) corners of a simple polygon without holes, in mm.

    `turns` are the angles allowed, in degrees (clockwise on the page, y down); None allows any.
    """

    ident: str
    outline: Outline
    count: int = 1
    turns: tuple[float, ...] | None = (0.0,)

    @property
    def area(self) -> float:
        """Area of one copy, mm²."""
        return float(shapely.Polygon(self.outline).area)


@dataclass(frozen=True, slots=True)
class PackOptions:
    """How to lay: the strip's height, mm; the gap between outlines, mm; whole seconds; the seed of the search."""

    height: float
    gap: float = 0.0
    seconds: int = 20
    seed: int = 1


@dataclass(frozen=True, slots=True)
class Packed:
    """One copy of an item: turned about the origin by `turn` degrees, then shifted."""

    ident: str
    turn: float
    shift: Point

    @property
    def move(self) -> Affine:
        """From the item's outline to the strip."""
        return Affine.shift(self.shift.x, self.shift.y) @ Affine.turn(self.turn)


@dataclass(frozen=True, slots=True)
class Packing:
    """All copies on the strip from (0, 0) to (length, height), mm; `density` is their share of its area."""

    length: float
    density: float
    placed: tuple[Packed, ...] = field(default_factory=tuple)


def packable(shape: BaseGeometry, tolerance: float) -> Outline:
    """The outer outline of a shape as one simple polygon of few corners that holds it, at most 2 x `tolerance` off.

    Several parts become their convex hull; holes are filled.
    """
    around = shape.buffer(tolerance, join_style="mitre", mitre_limit=2.0) if tolerance else shape
    if around.geom_type != "Polygon":
        around = around.convex_hull
    outer = shapely.Polygon(around.exterior)
    plain = outer.simplify(tolerance) if tolerance else outer
    if not plain.is_valid or plain.geom_type != "Polygon" or not plain.buffer(1e-9).contains(shape):
        plain = outer
    return np.asarray(shapely.normalize(plain).exterior.coords)[:-1]


def pack(items: Sequence[PackItem], options: PackOptions, run: Run = Run()) -> Packing:
    """Lay all copies of all items on a strip of the given height, as short as the time allows.

    May be called from any thread; the search itself is in a process of its own.

    Raises:
        InputUnfit: an item is too high for the strip in every turn allowed; the message names it.
        PageseamError: the solver failed, or its answer failed the check (a fault of ours).
        Cancelled: by `run`, within a fraction of a second.
    """
    _check_heights(items, options)
    placed = _solve(items, options, run)
    length = _checked_length(items, options, placed)
    area = sum(item.area * item.count for item in items)
    return Packing(length, area / (length * options.height), tuple(placed))


def _check_heights(items: Sequence[PackItem], options: PackOptions) -> None:
    for item in items:
        if least_height(item) > options.height:
            raise InputUnfit(
                f"Piece '{item.ident}' is {least_height(item):.0f} mm across in its narrowest turn allowed, wider than "
                f"the {options.height:.0f} mm there are; allow more turns or use a wider strip."
            )


def least_height(item: PackItem) -> float:
    """The item's extent in y in the turn where it is least, mm."""
    if item.turns is None:
        hull = np.asarray(shapely.convex_hull(shapely.Polygon(item.outline)).exterior.coords)
        edges = np.diff(hull, axis=0)
        angles = np.degrees(np.arctan2(edges[:, 1], edges[:, 0]))
    else:
        angles = -np.asarray(item.turns)
    heights = [np.ptp(Affine.turn(-float(angle)).points(item.outline)[:, 1]) for angle in angles]
    return float(min(heights))


def _solve(items: Sequence[PackItem], options: PackOptions, run: Run) -> list[Packed]:
    """The solver's answer, from a process of its own, which is ended with this call however that ends."""
    exploring = ceil(options.seconds * _EXPLORING)
    problem = {
        "path": sys.path,
        "height": options.height,
        "items": [{"outline": i.outline.tolist(), "count": i.count, "turns": i.turns} for i in items],
        "config": {
            "min_items_separation": options.gap or None,
            "exploration_time": exploring,
            "compression_time": options.seconds - exploring,
            "seed": options.seed,
        },
    }
    with tempfile.TemporaryFile() as out:
        _run_solver(json.dumps(problem), out, options.seconds, run)
        out.seek(0)
        said = out.read()
    answer: dict[str, Any] = json.loads(said or '{"fault": "the solver ended without an answer"}')
    if "fault" in answer:
        raise PageseamError(f"The packing of {len(items)} pieces failed: {answer['fault']}")
    return [
        Packed(items[number].ident, float(turn), Point(float(x), float(y))) for number, turn, (x, y) in answer["placed"]
    ]


def _run_solver(problem: str, out: IO[bytes], seconds: int, run: Run) -> None:
    """Let the solver write its answer to `out`, telling per cent of the time gone."""
    start, told = monotonic(), 0
    try:
        process = subprocess.Popen(
            [sys.executable, "-P", str(Path(__file__).with_name("strip_solver.py"))],
            stdin=subprocess.PIPE,
            stdout=out,
            stderr=subprocess.DEVNULL,
            # No window opens beside a program that has none.
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )
    except OSError as error:
        raise PageseamError(f"The packing could not be started: {error.strerror}") from error
    assert process.stdin is not None
    try:
        with suppress(BrokenPipeError):  # it ended early, and there will be no answer
            process.stdin.write(problem.encode() + b"\n")
            process.stdin.flush()
        while True:
            run.check()
            with suppress(subprocess.TimeoutExpired):
                process.wait(_POLL)
                return
            gone = min(int((monotonic() - start) / seconds * 100), 99)
            if gone > told:
                told = gone
                run.step("Packing", gone, 100)
    finally:
        process.kill()
        process.wait()
        with suppress(BrokenPipeError):
            process.stdin.close()


def _checked_length(items: Sequence[PackItem], options: PackOptions, placed: Sequence[Packed]) -> float:
    """The strip's used length, after checking the answer with other means than the solver's."""
    slip = _SLIP * options.height
    by_ident = {item.ident: item for item in items}
    if Counter(p.ident for p in placed) != Counter({item.ident: item.count for item in items}):
        raise PageseamError("The packing lost or doubled a piece; please report this with the drawing.")
    shapes = [shapely.Polygon(p.move.points(by_ident[p.ident].outline)) for p in placed]
    for copy in placed:
        turns = by_ident[copy.ident].turns
        if turns is not None and min(abs((copy.turn - turn + 180) % 360 - 180) for turn in turns) > 0.01:
            raise PageseamError(
                f"The packing turned piece '{copy.ident}' by {copy.turn:g} degrees, which isn't allowed."
            )
    bounds = shapely.bounds(shapes)
    if bounds[:, 1].min() < -slip or bounds[:, 3].max() > options.height + slip or bounds[:, 0].min() < -slip:
        raise PageseamError("The packing laid a piece beyond the strip; please report this with the drawing.")
    # Shrunk by the slip, no two may meet; with a gap, none may come closer than it.
    tree = shapely.STRtree(shapes)
    pairs = tree.query(shapes, predicate="dwithin", distance=max(options.gap - slip, 0.0))
    for first, second in pairs.T[pairs[0] < pairs[1]]:
        a, b = shapes[first], shapes[second]
        if options.gap > 0 or a.buffer(-slip).intersects(b.buffer(-slip)):
            raise PageseamError(
                f"The packing laid pieces '{placed[first].ident}' and '{placed[second].ident}' over each other; "
                "please report this with the drawing."
            )
    return float(bounds[:, 2].max())
