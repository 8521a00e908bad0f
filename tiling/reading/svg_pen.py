"""A pen that collects the steps of a path as SVG gives them: relative runs, smooth curves and elliptical arcs.

Arcs: the conversion of SVG 2, appendix B.2, then cubics as close as asked.
"""

from __future__ import annotations

from array import array
from itertools import accumulate
from math import atan2, ceil, cos, pi, radians, sin, sqrt, tan

import numpy as np

from tiling.shapes import Affine, Op, Path
from tiling.shapes.paths import POINTS_OF

__all__ = ["ARC_TOLERANCE", "PathPen", "arc_pieces"]

ARC_TOLERANCE = 0.0005
"""How far an arc's cubics may lie from the arc, mm."""

_MOVE, _LINE, _CURVE, _CLOSE = (int(op) for op in (Op.MOVE, Op.LINE, Op.CURVE, Op.CLOSE))


class PathPen:
    """Collects steps compactly; coordinates in user units.

    Args:
        scale: the largest number of mm one user unit may become, so that arcs are close enough on paper.
    """

    __slots__ = ("_control", "_coords", "_ops", "_start", "scale", "x", "y")

    def __init__(self, scale: float = 1.0) -> None:
        self._ops = bytearray()
        self._coords = array("d")
        self._start = (0.0, 0.0)
        self._control: tuple[str, float, float] | None = None
        self.scale = scale
        self.x = self.y = 0.0

    @property
    def size(self) -> int:
        """How many points there are so far."""
        return len(self._coords) // 2

    def path(self) -> Path:
        """What was collected, without moves that nothing is drawn from (they would make it look larger)."""
        ops = np.frombuffer(bytes(self._ops), dtype=np.uint8)
        points = np.array(self._coords, dtype=np.float64).reshape(-1, 2)
        if b"\0\0" in self._ops or self._ops.endswith(b"\0"):
            idle = (ops == _MOVE) & np.append(ops[1:] == _MOVE, True)
            points = points[~np.repeat(idle, POINTS_OF[ops])]
            ops = ops[~idle]
        return Path(ops, points)

    def move(self, x: float, y: float) -> None:
        """Begin a subpath."""
        self._ops.append(_MOVE)
        self._coords.extend((x, y))
        self.x, self.y = self._start = x, y

    def _begin(self) -> None:
        """After a close, drawing goes on from the subpath's start as a new subpath."""
        if not self._ops or self._ops[-1] == _CLOSE:
            self.move(self.x, self.y)

    def line(self, x: float, y: float) -> None:
        """A straight segment."""
        self._begin()
        self._ops.append(_LINE)
        self._coords.extend((x, y))
        self.x, self.y = x, y

    def curve(self, x1: float, y1: float, x2: float, y2: float, x: float, y: float) -> None:
        """A cubic segment."""
        self._begin()
        self._ops.append(_CURVE)
        self._coords.extend((x1, y1, x2, y2, x, y))
        self.x, self.y = x, y

    def close(self) -> None:
        """Close the subpath."""
        if self._ops and self._ops[-1] != _CLOSE:
            self._ops.append(_CLOSE)
            self.x, self.y = self._start

    def arc(self, radii: tuple[float, float], turn: float, flags: tuple[bool, bool], end: tuple[float, float]) -> None:
        """An elliptical arc to `end`; `turn` in degrees, `flags` are large-arc and sweep (SVG 2, appendix B.2)."""
        rx, ry = abs(radii[0]), abs(radii[1])
        x, y = end
        if (x, y) == (self.x, self.y):
            return
        if rx == 0 or ry == 0:
            self.line(x, y)
            return
        spin = radians(turn % 360.0)
        c, s = cos(spin), sin(spin)
        hx, hy = (self.x - x) / 2, (self.y - y) / 2
        px, py = c * hx + s * hy, -s * hx + c * hy
        grow = (px / rx) ** 2 + (py / ry) ** 2
        if grow > 1:
            rx, ry = rx * sqrt(grow), ry * sqrt(grow)
        # (rx² ry² − rx² py² − ry² px²) / (rx² py² + ry² px²), with both radii divided out
        root = sqrt(max(0.0, 1.0 / max(grow, 1e-300) - 1.0)) if grow < 1 else 0.0
        if flags[0] == flags[1]:
            root = -root
        qx, qy = root * rx * py / ry, -root * ry * px / rx
        cx, cy = c * qx - s * qy + (self.x + x) / 2, s * qx + c * qy + (self.y + y) / 2
        start = atan2((py - qy) / ry, (px - qx) / rx)
        sweep = atan2((-py - qy) / ry, (-px - qx) / rx) - start
        if flags[1] and sweep < 0:
            sweep += 2 * pi
        elif not flags[1] and sweep > 0:
            sweep -= 2 * pi
        frame = Affine(c * rx, s * rx, -s * ry, c * ry, cx, cy)
        self._turn_arc(frame, start, sweep, max(rx, ry))
        # The end is the source's own number, not one that went through sines.
        self._coords[-2:] = array("d", (x, y))
        self.x, self.y = x, y

    def _turn_arc(self, frame: Affine, start: float, sweep: float, radius: float) -> None:
        """Cubics along the unit circle of `frame`."""
        pieces = arc_pieces(abs(sweep), radius * self.scale)
        step = sweep / pieces
        k = 4 / 3 * tan(step / 4)
        a, b, c, d, e, f = frame.a, frame.b, frame.c, frame.d, frame.e, frame.f
        for i in range(pieces):
            c0, s0 = cos(start + i * step), sin(start + i * step)
            c1, s1 = cos(start + (i + 1) * step), sin(start + (i + 1) * step)
            u1, v1, u2, v2 = c0 - k * s0, s0 + k * c0, c1 + k * s1, s1 - k * c1
            self.curve(
                a * u1 + c * v1 + e, b * u1 + d * v1 + f, a * u2 + c * v2 + e, b * u2 + d * v2 + f,
                a * c1 + c * s1 + e, b * c1 + d * s1 + f,
            )  # fmt: skip

    def ellipse(self, cx: float, cy: float, rx: float, ry: float) -> None:
        """A whole ellipse, clockwise on the page from its rightmost point (SVG 2, section 10.3)."""
        self.move(cx + rx, cy)
        self._turn_arc(Affine(rx, 0.0, 0.0, ry, cx, cy), 0.0, 2 * pi, max(rx, ry))
        self._coords[-2:] = array("d", (cx + rx, cy))
        self.close()

    # Runs of one command, as the path data gives them.

    def lines(self, values: list[float], relative: bool) -> None:
        """Straight segments through all points."""
        if relative:
            values = _summed(values, self.x, self.y)
        self._begin()
        self._ops.extend(bytes([_LINE]) * (len(values) // 2))
        self._coords.extend(values)
        self.x, self.y = values[-2], values[-1]
        self._control = None

    def moves(self, values: list[float], relative: bool) -> None:
        """A new subpath, and straight segments through what follows the first point."""
        first = [values[0] + self.x, values[1] + self.y] if relative else values[:2]
        self.move(*first)
        if len(values) > 2:
            self.lines(values[2:], relative)
        self._control = None

    def curves(self, values: list[float], relative: bool) -> None:
        """Cubic segments."""
        if relative:
            out = [0.0] * len(values)
            for axis, here in ((0, self.x), (1, self.y)):
                ends = list(accumulate(values[4 + axis :: 6], initial=here))
                for k in (0, 2, 4):
                    out[k + axis :: 6] = map(float.__add__, values[k + axis :: 6], ends[:-1])
            values = out
        self._begin()
        self._ops.extend(bytes([_CURVE]) * (len(values) // 6))
        self._coords.extend(values)
        self.x, self.y = values[-2], values[-1]
        self._control = ("C", values[-4], values[-3])

    def levels(self, values: list[float], relative: bool, *, horizontal: bool) -> None:
        """Horizontal or vertical segments."""
        for value in values:
            if horizontal:
                self.line(value + self.x if relative else value, self.y)
            else:
                self.line(self.x, value + self.y if relative else value)
        self._control = None

    def smooth(self, values: list[float], relative: bool) -> None:
        """Cubics whose first control point mirrors the last one's second."""
        for i in range(0, len(values), 4):
            dx, dy = (self.x, self.y) if relative else (0.0, 0.0)
            x1, y1 = self._mirrored("C")
            x2, y2, x, y = values[i] + dx, values[i + 1] + dy, values[i + 2] + dx, values[i + 3] + dy
            self.curve(x1, y1, x2, y2, x, y)
            self._control = ("C", x2, y2)

    def quadratics(self, values: list[float], relative: bool) -> None:
        """Quadratic segments, raised to cubics exactly."""
        for i in range(0, len(values), 4):
            dx, dy = (self.x, self.y) if relative else (0.0, 0.0)
            self._quadratic(values[i] + dx, values[i + 1] + dy, values[i + 2] + dx, values[i + 3] + dy)

    def smooth_quadratics(self, values: list[float], relative: bool) -> None:
        """Quadratics whose control point mirrors the last one."""
        for i in range(0, len(values), 2):
            dx, dy = (self.x, self.y) if relative else (0.0, 0.0)
            qx, qy = self._mirrored("Q")
            self._quadratic(qx, qy, values[i] + dx, values[i + 1] + dy)

    def arcs(self, rows: list[tuple[float, ...]], relative: bool) -> None:
        """Elliptical arcs: rx, ry, turn, large, sweep, x, y each."""
        for rx, ry, turn, large, sweep, x, y in rows:
            end = (x + self.x, y + self.y) if relative else (x, y)
            self._begin()
            self.arc((rx, ry), turn, (large != 0, sweep != 0), end)
        self._control = None

    def end(self) -> None:
        """The command ``z``."""
        self.close()
        self._control = None

    def _mirrored(self, kind: str) -> tuple[float, float]:
        if self._control is None or self._control[0] != kind:
            return self.x, self.y
        return 2 * self.x - self._control[1], 2 * self.y - self._control[2]

    def _quadratic(self, qx: float, qy: float, x: float, y: float) -> None:
        x0, y0 = self.x, self.y
        self.curve(x0 + (qx - x0) * 2 / 3, y0 + (qy - y0) * 2 / 3, x + (qx - x) * 2 / 3, y + (qy - y) * 2 / 3, x, y)
        self._control = ("Q", qx, qy)


def arc_pieces(sweep: float, radius: float) -> int:
    """Into how many cubics an arc of `radius` mm is cut so that each lies within `ARC_TOLERANCE`.

    One cubic over an angle a is off by r · 2/27 · sin⁶(a/4) / cos²(a/4) at most (Goldapp, "Approximation of circular
    arcs by cubic polynomials", CAGD 8, 1991).
    """
    pieces = max(1, ceil(sweep / (pi / 2) - 1e-9))
    while pieces < 1000:
        quarter = sweep / pieces / 4
        if radius * 2 / 27 * sin(quarter) ** 6 / cos(quarter) ** 2 <= ARC_TOLERANCE:
            break
        pieces += max(1, pieces // 4)
    return pieces


def _summed(values: list[float], x: float, y: float) -> list[float]:
    out = [0.0] * len(values)
    out[0::2] = list(accumulate(values[0::2], initial=x))[1:]
    out[1::2] = list(accumulate(values[1::2], initial=y))[1:]
    return out
