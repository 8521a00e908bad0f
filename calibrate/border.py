"""Read the unprintable border: where the ticks that run into each edge of the sheet end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from calibrate.edges import light_at
from calibrate.target import TICKS, Target, TickSpine, tick_spines

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from calibrate.arrays import Array
    from calibrate.camera import Mapping
    from calibrate.edges import SeenEdge
    from calibrate.printer_scale import MeasuredScale


@dataclass(frozen=True, slots=True)
class BareBorder:
    """The border that stays unprinted at each side, mm on the paper; None where it can't be read."""

    left: float | None = None
    top: float | None = None
    right: float | None = None
    bottom: float | None = None


def read_border(
    pixels: NDArray[np.uint8], mapping: Mapping, target: Target, edges: dict[str, SeenEdge], scale: MeasuredScale
) -> BareBorder:
    """The border at each side whose sheet edge was found; ``scale`` takes page mm to true mm."""
    found: dict[str, float | None] = {}
    for side, spine in tick_spines(target.field).items():
        edge = edges.get(side)
        factor = scale.across if side in {"left", "right"} else scale.down
        found[side] = None if edge is None else _border(pixels, mapping, spine, edge)
        value = found[side]
        if value is not None:
            found[side] = max(0.0, value * factor)
    return BareBorder(found["left"], found["top"], found["right"], found["bottom"])


def _border(pixels: NDArray[np.uint8], mapping: Mapping, spine: TickSpine, edge: SeenEdge) -> float | None:
    """How far the ticks' spine ends from the sheet's edge, page mm."""
    at, inward = np.array(spine.outer_end), np.array(spine.inward)
    aside = np.array([-inward[1], inward[0]])
    _, level = np.polyfit((edge.points - at) @ aside, (edge.points - at) @ inward, 1)
    start = float(level)
    depth = np.arange(start + 0.15, TICKS - 1.0, 0.05)
    if len(depth) < 20:
        return None
    ink = _along(pixels, mapping, at + depth[:, None] * inward, aside * 0.25)
    paper = _along(pixels, mapping, at + depth[:, None] * inward, aside * 5.5)
    share = ink / np.maximum(paper, 1e-3)
    if not np.isfinite(share).all():
        return None
    dark = float(np.median(share[depth > TICKS - 4.0]))
    if dark > 0.75:
        return None
    bare = share > (1.0 + dark) / 2
    if not bare.any():
        return 0.0
    last = int(np.flatnonzero(bare)[-1])
    # Bare paper must reach from the edge to where the spine ends; anything else is dirt.
    if bare[: last + 1].mean() < 0.8:
        return None
    end = float(depth[last])
    # The page itself may end inside the sheet, printed small: then its ticks are all there and say nothing.
    if end < 0.4 and start < -1.0:
        return None
    return 0.0 if end - start < 0.5 else end - start


def _along(pixels: NDArray[np.uint8], mapping: Mapping, points: Array, aside: Array) -> Array:
    """Light along a line, averaged over both sides of it."""
    both = [light_at(pixels, mapping.project(points + sign * aside)) for sign in (-1.0, 1.0)]
    return np.asarray((both[0] + both[1]) / 2)
