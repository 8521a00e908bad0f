"""Laying outlines on a strip of fixed height as short as can be: the one place that calls the packing library.

Serves pieces on paper and lay plans on cloth. The solver is bounded by time, so another machine may end differently;
what it gives back is checked here before anyone relies on it: every copy once, only allowed turns, nothing beyond the
strip, nothing closer than the gap.
"""

from __future__ import annotations

import signal
import threading
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from math import ceil
from time import monotonic
from types import FrameType
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from tiling.failures import InputUnfit, PageseamError
from tiling.shapes import Affine, Point

__all__ = ["PackItem", "PackOptions", "PackProgress", "Packed", "Packing", "pack", "packable"]

Outline = NDArray[np.float64]
_POLL = 0.1
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
    workers: int | None = None


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


@dataclass(frozen=True, slots=True)
class PackProgress:
    """How far the search is: seconds gone of those allowed, and the shortest length found so far (None: none yet)."""

    gone: float
    allowed: float
    length: float | None


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


def pack(
    items: Sequence[PackItem], options: PackOptions, progress: Callable[[PackProgress], None] | None = None
) -> Packing:
    """Lay all copies of all items on a strip of the given height, as short as the time allows.

    `progress` is called from another thread.

    Raises:
        InputUnfit: an item is too high for the strip in every turn allowed; the message names it.
        PageseamError: the solver's answer failed the check (a fault of ours).
    """
    _check_heights(items, options)
    solution = _solve(items, options, progress)
    placed = tuple(
        Packed(items[int(item.id)].ident, float(item.rotation), Point(*map(float, item.translation)))
        for item in solution.placed_items
    )
    length = _checked_length(items, options, placed)
    area = sum(item.area * item.count for item in items)
    return Packing(length, area / (length * options.height), placed)


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


def _solve(items: Sequence[PackItem], options: PackOptions, progress: Callable[[PackProgress], None] | None) -> Any:
    """The solver's answer. It runs in this thread, where it heeds Ctrl-C; another one watches its progress."""
    import spyrrow  # noqa: PLC0415  (only who lays pieces loads it)

    laid = [
        spyrrow.Item(
            str(index),
            [(float(x), float(y)) for x, y in item.outline],
            item.count,
            None if item.turns is None else list(item.turns),
        )
        for index, item in enumerate(items)
    ]
    seconds = max(ceil(options.seconds), 1)
    exploring = ceil(seconds * _EXPLORING)
    config = spyrrow.StripPackingConfig(
        min_items_separation=options.gap or None,
        total_computation_time=None,
        exploration_time=exploring,
        compression_time=seconds - exploring,
        num_workers=options.workers,
        seed=options.seed,
    )
    queue = spyrrow.ProgressQueue()
    done = threading.Event()
    feasible = (spyrrow.ReportType.ExplFeas, spyrrow.ReportType.CmprFeas, spyrrow.ReportType.Final)

    def watch() -> None:
        start, shortest = monotonic(), None
        while not done.wait(_POLL):
            widths = [solution.width for kind, solution in queue.drain() if kind in feasible]
            shortest = min([*widths, *([shortest] if shortest is not None else [])], default=None)
            if progress is not None:
                progress(PackProgress(min(monotonic() - start, seconds), seconds, shortest))

    watcher = threading.Thread(target=watch, daemon=True)
    watcher.start()
    try:
        with _heeding_interrupt():
            return spyrrow.StripPackingInstance("strip", options.height, laid).solve(config, queue)
    except ValueError as error:
        raise PageseamError(f"The packing of {len(items)} pieces failed: {error}") from error
    finally:
        done.set()
        watcher.join()


@contextmanager
def _heeding_interrupt() -> Iterator[None]:
    """Raise KeyboardInterrupt after the solver, which ends at once on Ctrl-C but keeps the interrupt to itself."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    interrupted = False

    def note(_signal: int, _frame: FrameType | None) -> None:
        nonlocal interrupted
        interrupted = True
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGINT, note)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
    if interrupted:
        raise KeyboardInterrupt


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
