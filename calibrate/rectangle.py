"""Measure the printed page against a rectangle of known size that lies on it or under it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from calibrate.arrays import Array
    from calibrate.edges import SeenEdge

SIDES = ("left", "top", "right", "bottom")


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """How page millimetres become true ones: ``across`` and ``down``, and the angle ``skew_degrees``.

    ``skew_degrees`` is how far the page's down leans from square to its across: positive where a printed
    vertical line leans clockwise. ``matrix`` (2, 2) and ``shift`` (2,) take page mm to the rectangle's own mm.
    ``noise_across`` and ``noise_down`` come from the scatter of the edges.
    """

    across: float
    down: float
    skew_degrees: float
    matrix: Array
    shift: Array
    noise_across: float
    noise_down: float


def stretch_of(edges: dict[str, SeenEdge], width: float, height: float) -> Stretch:
    """The linear map under which four edges become a rectangle of ``width`` x ``height`` mm.

    Each row of the map is found by least squares: left edge to 0, right edge to ``width``; top and bottom alike.
    """
    row_x = _row(edges["left"], edges["right"], width)
    row_y = _row(edges["top"], edges["bottom"], height)
    matrix = np.array([row_x[:2], row_y[:2]])
    a, d = matrix[:, 0], matrix[:, 1]
    across, down = float(np.linalg.norm(a)), float(np.linalg.norm(d))
    # x to the right and y down: a positive cosine means that the two directions lean towards each other.
    skew = float(np.degrees(np.arcsin(np.clip(-(a @ d) / across / down, -1.0, 1.0))))
    return Stretch(
        across,
        down,
        skew,
        matrix,
        np.array([row_x[2], row_y[2]]),
        float(np.hypot(edges["left"].noise, edges["right"].noise)) / width,
        float(np.hypot(edges["top"].noise, edges["bottom"].noise)) / height,
    )


def _row(near: SeenEdge, far: SeenEdge, length: float) -> Array:
    points = np.concatenate([near.points, far.points])
    middle = points.mean(axis=0)
    weights = np.concatenate([np.full(len(edge.points), 1.0 / np.sqrt(len(edge.points))) for edge in (near, far)])
    system = np.column_stack([points - middle, np.ones(len(points))]) * weights[:, None]
    values = np.concatenate([np.zeros(len(near.points)), np.full(len(far.points), length)]) * weights
    (x, y, level), *_ = np.linalg.lstsq(system, values, rcond=None)
    return np.array([x, y, level - x * middle[0] - y * middle[1]])
