"""The draft of the potting smock: where every line of its five pieces lies, worked out from a few measures.

Coordinates are mm, x right, y down, one frame per piece: body pieces start at the shoulder's neck point with the
fold at x = 0, the sleeve at the top of its cap. The seams fit because the lengths are worked out, not drawn by eye:
both sleeve caps are widened until each is as long as its armhole and its share of the ease.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import cos, radians, sin, sqrt

import numpy as np
import smock_lines as pen
from scipy.optimize import brentq
from smock_lines import Drawn, Edge

from tiling.pattern import Role
from tiling.shapes import Affine, Box, Path, Point
from tiling.shapes.curves import Array, derivative, length, line_as_cubic

__all__ = ["CAP_EASE", "SIZES", "Draft", "Drawn", "Edge", "Measures", "Text", "draft"]

CAP_EASE = 14.0
"""How much longer both halves of the sleeve cap are than the armhole they are set into, mm."""

SEAM, HEM, BOUND = 15.0, 30.0, 6.0
"""Allowances: sewn seams, turned hems, the bound neckline."""


@dataclass(frozen=True, slots=True)
class Measures:
    """What differs from size to size, mm; body widths are a quarter of the finished garment."""

    name: str
    bust: float
    waist: float
    hip: float
    hem: float
    neck: float
    shoulder: float
    armhole_depth: float
    sleeve: float


SIZES = (
    Measures("size 1", 290, 287, 302, 314, 82, 132, 252, 560),
    Measures("size 2", 305, 302, 317, 329, 84, 136, 258, 565),
)
"""Size 1 is drawn for a bust of 950, a waist of 860 and a hip of 1020 mm; size 2 is 60 mm wider all round."""

WAIST, HIP, LENGTH, LENGTHEN = 420.0, 620.0, 800.0, 515.0
"""Heights below the shoulder's neck point: waist, hip, side end of the hem, lengthen line."""


@dataclass(frozen=True, slots=True)
class Text:
    """Words at a point (the start of the baseline), with the height of the letters in mm."""

    at: Point
    size: float
    words: str
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Draft:
    """One piece as drafted: its lines, its words and its box."""

    ident: str
    title: str
    lines: tuple[Drawn, ...]
    texts: tuple[Text, ...]
    edges: tuple[Edge, ...]

    def edge(self, name: str) -> Edge:
        """The edge of that name."""
        return next(e for e in self.edges if e.name == name)

    def box(self) -> Box:
        """Around all lines."""
        whole = Box.around(line.path.bounds() for line in self.lines)
        assert whole is not None
        return whole


@cache
def draft(size: Measures) -> tuple[Draft, ...]:
    """All pieces of one size: front, back, sleeve, pocket, facing."""
    front, back = _body("front", size), _body("back", size)
    return front, back, _sleeve(size, front, back), _pocket(), _facing(size)


def _stitching(edges: Sequence[Edge]) -> list[Drawn]:
    return [Drawn(Role.STITCHING, pen.path(e.cubics), e.name) for e in edges if e.name != "fold"]


def _cutting(edges: Sequence[Edge]) -> Drawn:
    return Drawn(Role.CUTTING, pen.path(pen.outside(edges), closed=True), "outline")


def _upper(ident: str, size: Measures) -> tuple[Edge, Edge, Edge]:
    """Neckline (from the fold), shoulder and armhole of a body piece, clockwise."""
    slope = radians(20)
    along, down = np.array([cos(slope), sin(slope)]), np.array([-sin(slope), cos(slope)])
    neck = np.array([size.neck, 0.0])
    tip = neck + size.shoulder * along
    under = np.array([size.bust, size.armhole_depth])
    front = ident == "front"
    depth, reach, rise = (size.neck + 16, 0.66, 62.0) if front else (26.0, 0.62, 9.0)
    neckline = np.array([[0, depth], [size.neck * reach, depth], neck + rise * down, neck])
    hollow = np.array([tip[0] - (9 if front else 3), size.armhole_depth * (0.64 if front else 0.60)])
    bend = np.array([0.0, 1.0])
    armhole = (
        np.array([tip, tip + (34 if front else 30) * down, hollow - 48 * bend, hollow]),
        np.array([hollow, hollow + (52 if front else 56) * bend, under - [(56 if front else 48), 0], under]),
    )
    return (
        Edge("neckline", BOUND, (neckline,)),
        Edge("shoulder", SEAM, (line_as_cubic(neck, tip),)),
        Edge("armhole", SEAM, armhole),
    )


def _body(ident: str, size: Measures) -> Draft:
    neckline, shoulder, armhole = _upper(ident, size)
    top, under = float(neckline.cubics[0][0][1]), (size.bust, size.armhole_depth)
    side = Edge(
        "side",
        SEAM,
        pen.through(
            [under, (size.waist, WAIST), (size.hip, HIP), (size.hem, LENGTH)],
            [(-0.035, 1), (0.012, 1), (0.075, 1), (0.06, 1)],
        ),
    )
    middle = LENGTH + 8.0
    out = pen.unit(derivative(side.cubics[-1], 1.0))
    corner = np.array([size.hem, LENGTH])
    inward = np.array([-out[1], out[0]])
    hem = Edge("hem", HEM, (np.array([corner, corner + 110 * inward, [110, middle], [0, middle]]),))
    fold = Edge("fold", 0.0, (pen.straight((0, middle + HEM), (0, top - BOUND)),))
    edges = (neckline, shoulder, armhole, side, hem, fold)
    lines = [_cutting(edges), *_stitching(edges), *pen.fold(top - BOUND, middle + HEM)]
    levels = (("bust", size.armhole_depth), ("waist", WAIST), ("channel", WAIST + 20), ("hip", HIP))
    lines += [Drawn(Role.PLACEMENT, pen.line((0, y), (pen.at_height(side.cubics, y), y)), name) for name, y in levels]
    lines += _body_cuts(lines[0].path, size)
    mark = armhole.length() - 95.0
    lines += pen.notches(armhole, [mark], "armhole", pair=ident == "back")
    lines += pen.notches(side, [WAIST - size.armhole_depth], "side")
    lines.append(pen.grain(118, 300, 500))
    if ident == "front":
        lines += _pocket_place(52.0, 566.0)
    title = ident.capitalize()
    words = _words(Point(36, 130 if ident == "front" else 92), title, "cut 1 on the fold, main cloth", size)
    words += [Text(Point(22, 360), 6, "on the fold"), Text(Point(126, 390), 6, "grain")]
    words += [Text(Point(30, y - 3), 5, name) for name, y in (("waist, channel for the cord", WAIST), ("hip", HIP))]
    words.append(Text(Point(150, LENGTHEN - 3), 5, "lengthen or shorten here"))
    words.append(Text(Point(size.bust - 64, 780), 5, "widen here"))
    return Draft(ident, title, tuple(lines), tuple(words), edges)


def _body_cuts(outline: Path, size: Measures) -> list[Drawn]:
    """The grading line from the armhole to the hem, the lengthen line from the fold to the side."""
    cubics = list(outline.cubics())
    x = size.bust - 38
    heights = sorted(pen.crossing(c, 0, x)[1] for c in cubics if min(c[0][0], c[3][0]) <= x <= max(c[0][0], c[3][0]))
    side = max(
        pen.crossing(c, 1, LENGTHEN)[0] for c in cubics if min(c[0][1], c[3][1]) <= LENGTHEN <= max(c[0][1], c[3][1])
    )
    return [
        Drawn(Role.GRADING, pen.line((x, heights[-2] - 5), (x, heights[-1] + 5)), "width", (("wide", "start"),)),
        Drawn(Role.LENGTHEN, pen.line((0, LENGTHEN), (side + 5, LENGTHEN)), "length"),
    ]


def _words(at: Point, title: str, cut: str, size: Measures) -> list[Text]:
    return [
        Text(at, 13, title, bold=True),
        Text(at + Point(0, 14), 7, "Potting smock, Low Meadow allotment society"),
        Text(at + Point(0, 25), 7, cut),
        Text(at + Point(0, 36), 7, f"{size.name}; allowances included: 15 mm, hems 30 mm"),
    ]


CAP = 138.0
"""Height of the sleeve cap."""


def _half_cap(width: float, *, front: bool) -> tuple[Array, Array]:
    """From the top of the cap to the underarm at x = `width`; the front is hollowed more."""
    knee = np.array([width * (0.50 if front else 0.55), CAP * (0.50 if front else 0.46)])
    along = pen.unit(np.array([1.0, 0.92 if front else 0.80]))
    return (
        np.array([[0, 0], [width * 0.22, 0], knee - 0.17 * width * along, knee]),
        np.array([knee, knee + 0.20 * width * along, [width * (0.78 if front else 0.80), CAP], [width, CAP]]),
    )


def _underarm(width: float, inset: float, foot: float) -> Array:
    """From the underarm point down to the cuff, on the right."""
    return np.array([[width, CAP], [width - 30, 260], [width - inset + 8, 420], [width - inset, foot]])


def _cap_width(wanted: float, *, front: bool) -> float:
    def off(width: float) -> float:
        return sum(length(c) for c in _half_cap(width, front=front)) - wanted

    return float(brentq(off, 80.0, 500.0, xtol=1e-12))


def _sleeve(size: Measures, front: Draft, back: Draft) -> Draft:
    wanted = [piece.edge("armhole").length() + CAP_EASE / 2 for piece in (back, front)]
    wide_back, wide_front = _cap_width(wanted[0], front=False), _cap_width(wanted[1], front=True)
    mirror = np.array([-1.0, 1.0])
    half = _half_cap(wide_back, front=False)
    cap_back = Edge("cap-back", SEAM, tuple((c * mirror)[::-1].copy() for c in reversed(half)))
    cap_front = Edge("cap-front", SEAM, _half_cap(wide_front, front=True))
    foot, inset = size.sleeve, 66.0
    right, left = _underarm(wide_front, inset, foot), _underarm(wide_back, inset, foot) * mirror
    cuff = pen.straight((wide_front - inset, foot), (inset - wide_back, foot))
    edges = (
        cap_back,
        cap_front,
        Edge("underarm-front", SEAM, (right,)),
        Edge("cuff", HEM, (cuff,)),
        Edge("underarm-back", SEAM, (left[::-1].copy(),)),
    )
    lines = [_cutting(edges), *_stitching(edges)]
    lines.append(Drawn(Role.PLACEMENT, pen.line((-wide_back, CAP), (wide_front, CAP)), "upper-arm"))
    lines += _sleeve_cuts(lines[0].path, (wide_back, wide_front), inset, foot)
    lines += pen.notches(cap_front, [cap_front.length() - 95.0], "cap")
    lines += pen.notches(cap_back, [95.0], "cap", pair=True)
    lines += pen.notches(cap_front, [0.0], "shoulder")
    lines.append(pen.grain(40, 175, 470))
    words = _words(Point(-132, 215), "Sleeve", "cut 2 (a pair), main cloth", size)
    words += [Text(Point(48, 300), 6, "grain"), Text(Point(58, 357), 5, "lengthen or shorten here")]
    words += [Text(Point(-wide_back + 84, 128), 5, "back"), Text(Point(wide_front - 96, 128), 5, "front")]
    words += [Text(Point(-40, foot - 4), 5, "fold up here: channel for the elastic")]
    return Draft("sleeve", "Sleeve", tuple(lines), tuple(words), edges)


def _sleeve_cuts(outline: Path, widths: tuple[float, float], inset: float, foot: float) -> list[Drawn]:
    """A grading line beside each underarm seam, slanting as it does, and the lengthen line."""
    lines = []
    for side, width in ((-1.0, widths[0]), (1.0, widths[1])):
        low, high = np.array([side * (width - inset - 36), foot + HEM + 5]), np.array([side * (width - 50), CAP])
        slant = (high - low) / (low[1] - high[1])
        cap = next(y for y in np.arange(CAP, -40, -0.5) if not pen.inside(outline, Point(*(high + slant * (CAP - y)))))
        top = high + slant * (CAP - float(cap) + 5)
        lines.append(Drawn(Role.GRADING, pen.line((top[0], top[1]), (low[0], low[1])), "width", (("wide", "start"),)))
    cubics = list(outline.cubics())
    y = 360.0
    ends = [pen.crossing(c, 1, y)[0] for c in cubics if min(c[0][1], c[3][1]) <= y <= max(c[0][1], c[3][1])]
    lines.append(Drawn(Role.LENGTHEN, pen.line((min(ends) - 5, y), (max(ends) + 5, y)), "length"))
    return lines


POCKET_WIDE, POCKET_HIGH, POCKET_ROUND = 165.0, 185.0, 26.0


def _pocket_edge(x: float, y: float) -> tuple[Array, ...]:
    """The sewn edge of the pocket: down the right side, round, along the foot, up the left side."""
    w, h, r = POCKET_WIDE, POCKET_HIGH, POCKET_ROUND
    k = r * 4 * (sqrt(2) - 1) / 3
    at = Affine.shift(x, y)
    cubics = (
        pen.straight((w, 0), (w, h - r)),
        pen.curve((w, h - r), (w, h - r + k), (w - r + k, h), (w - r, h)),
        pen.straight((w - r, h), (r, h)),
        pen.curve((r, h), (r - k, h), (0, h - r + k), (0, h - r)),
        pen.straight((0, h - r), (0, 0)),
    )
    return tuple(at.points(c) for c in cubics)


def _pocket_place(x: float, y: float) -> list[Drawn]:
    return [Drawn(Role.PLACEMENT, pen.path(_pocket_edge(x, y)), "pocket")]


def _pocket() -> Draft:
    edges = (
        Edge("mouth", HEM, (pen.straight((0, 0), (POCKET_WIDE, 0)),)),
        Edge("edge", SEAM, _pocket_edge(0, 0)),
    )
    lines = [_cutting(edges), *_stitching(edges), pen.grain(POCKET_WIDE / 2 + 50, 20, 160)]
    words = [
        Text(Point(16, 62), 13, "Pocket", bold=True),
        Text(Point(16, 76), 7, "cut 2, main cloth"),
        Text(Point(16, 87), 7, "Potting smock"),
        Text(Point(12, -4), 5, "fold down here: hem of the pocket"),
    ]
    return Draft("pocket", "Pocket", tuple(lines), tuple(words), edges)


def _facing(size: Measures) -> Draft:
    neckline, _, _ = _upper("front", size)
    wide = 62.0
    end = np.array(neckline.cubics[0][3]) + wide * pen.unit(np.array([cos(radians(20)), sin(radians(20))]))
    part = line_as_cubic(np.array(neckline.cubics[0][3]), end)
    depth = float(neckline.cubics[0][0][1])
    down = np.array([-sin(radians(20)), cos(radians(20))])
    foot = depth + 190.0
    outer = (
        np.array([end, end + 48 * down, [86, depth + 18], [64, depth + 72]]),
        np.array([[64, depth + 72], [42, depth + 126], [48, foot], [0, foot]]),
    )
    fold = Edge("fold", 0.0, (pen.straight((0, foot + 8), (0, depth - BOUND)),))
    edges = (neckline, Edge("shoulder", SEAM, (part,)), Edge("outer", 8.0, outer), fold)
    lines = [_cutting(edges), *_stitching(edges), *pen.fold(depth - BOUND, foot + 8)]
    lines += [
        Drawn(Role.PLACEMENT, pen.line((0, depth + 130), (9, depth + 130)), "slit-end"),
        pen.grain(36, depth + 25, depth + 120),
    ]
    words = [
        Text(Point(80, 38), 7, "Neck facing", bold=True),
        Text(Point(80, 47), 5, "cut 1 on the fold"),
        Text(Point(80, 55), 5, "and interface"),
        Text(Point(12, depth + 133), 5, "slit ends here"),
    ]
    return Draft("facing", "Neck facing", tuple(lines), tuple(words), edges)
