"""Pieces drafted for the tests, with the truth about them: outlines as named edges, folds, grain, notches, darts.

Everything is invented for the Low Meadow allotment society. Lengths in mm, x to the right and y down.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import shapely

Point = tuple[float, float]


@dataclass(frozen=True)
class Edge:
    """A named edge: its start, then a straight end or three points of a cubic."""

    name: str
    points: tuple[Point, ...]

    def line(self) -> np.ndarray:
        """Points along it, 40 chords to a curve."""
        p = [np.array(point) for point in self.points]
        if len(p) == 2:
            return np.array(p)
        t = np.linspace(0, 1, 41)[:, None]
        return (1 - t) ** 3 * p[0] + 3 * (1 - t) ** 2 * t * p[1] + 3 * (1 - t) * t**2 * p[2] + t**3 * p[3]

    @property
    def middle(self) -> Point:
        """The point halfway along it."""
        at = shapely.LineString(self.line()).interpolate(0.5, normalized=True)
        return at.x, at.y


@dataclass(frozen=True)
class Draft:
    """A piece: its edges clockwise on the page, and what is drawn and written in it.

    `lines` are (role, start, end, words); `darts` are (first, tip, second); `notches` are (edge, share along it).
    """

    name: str
    edges: tuple[Edge, ...]
    fold: str = ""
    copies: int = 1
    pair: bool = False
    grain: tuple[Point, Point] | None = None
    notches: tuple[tuple[str, float], ...] = ()
    darts: tuple[tuple[Point, Point, Point], ...] = ()
    lines: tuple[tuple[str, Point, Point, str], ...] = ()
    placements: tuple[tuple[Point, ...], ...] = ()
    buttons: tuple[Point, ...] = ()
    plain_names: frozenset[str] = field(default_factory=frozenset)

    def ring(self) -> np.ndarray:
        """Its outline as a polyline that repeats its start."""
        return np.vstack([*(edge.line()[:-1] for edge in self.edges), self.edges[0].points[:1]])

    def edge(self, name: str) -> Edge:
        """The edge of that name."""
        return next(edge for edge in self.edges if edge.name == name)

    def moved(self, dx: float, dy: float, stretch: float = 1.0) -> Draft:
        """The draft elsewhere, and stretched about its own origin."""

        def at(point: Point) -> Point:
            return point[0] * stretch + dx, point[1] * stretch + dy

        return Draft(
            self.name,
            tuple(Edge(edge.name, tuple(map(at, edge.points))) for edge in self.edges),
            self.fold,
            self.copies,
            self.pair,
            None if self.grain is None else (at(self.grain[0]), at(self.grain[1])),
            self.notches,
            tuple(tuple(map(at, dart)) for dart in self.darts),  # type: ignore[arg-type]
            tuple((role, at(a), at(b), words) for role, a, b, words in self.lines),
            tuple(tuple(map(at, shape)) for shape in self.placements),
            tuple(map(at, self.buttons)),
            self.plain_names,
        )

    def middle(self) -> Point:
        """A point inside."""
        at = shapely.Polygon(self.ring()).representative_point()
        return at.x, at.y


def _edges(*parts: tuple[str, tuple[Point, ...]]) -> tuple[Edge, ...]:
    """Edges that follow each other: each is given without its start, the last one ends where the first begins."""
    start = parts[-1][1][-1]
    made = []
    for name, points in parts:
        made.append(Edge(name, (start, *points)))
        start = points[-1]
    return tuple(made)


def skirt_front() -> Draft:
    """Half a skirt front on the fold, with a dart in the waist."""
    return Draft(
        "front",
        _edges(
            ("waist", ((80, -2), (130, -8), (185, -12))),
            ("side", ((215, 90), (235, 160), (240, 600))),
            ("hem", ((160, 608), (80, 610), (0, 610))),
            ("fold", ((0, 0),)),
        ),
        fold="fold",
        grain=((90, 250), (90, 450)),
        notches=(("side", 0.35),),
        lines=(("lengthen-line", (0, 380), (236, 380), "lengthen"),),
        plain_names=frozenset({"waist", "side", "hem"}),
    )


def skirt_back() -> Draft:
    """Half a skirt back on the fold, with a dart."""
    return Draft(
        "back",
        _edges(
            ("waist", ((80, 8), (130, 0), (195, -6))),
            ("side", ((222, 95), (245, 165), (250, 600))),
            ("hem", ((160, 608), (80, 610), (0, 610))),
            ("fold", ((0, 10),)),
        ),
        fold="fold",
        grain=((120, 280), (120, 470)),
        notches=(("side", 0.3), ("side", 0.33)),
        darts=(((92, 5), (102, 130), (112, 3)),),
        plain_names=frozenset({"waist", "side", "hem"}),
    )


def waistband() -> Draft:
    """A straight band."""
    return Draft(
        "waistband",
        _edges(
            ("a", ((760, 0),)),
            ("b", ((760, 80),)),
            ("c", ((0, 80),)),
            ("d", ((0, 0),)),
        ),
        grain=((200, 55), (400, 55)),
        notches=(("a", 0.5), ("c", 0.5)),
    )


def bodice_front() -> Draft:
    """Half a bodice front on the fold."""
    return Draft(
        "front",
        _edges(
            ("neckline", ((40, 75), (62, 50), (70, 0))),
            ("shoulder", ((185, 38),)),
            ("armhole", ((160, 100), (165, 190), (235, 215))),
            ("side", ((240, 480),)),
            ("hem", ((150, 490), (60, 490), (0, 490))),
            ("fold", ((0, 80),)),
        ),
        fold="fold",
        grain=((70, 250), (70, 420)),
        notches=(("armhole", 0.5), ("side", 0.5)),
        lines=(("placement-line", (0, 215), (235, 215), "level"), ("grading-line", (130, 20), (130, 488), "grade")),
        buttons=((30, 150), (30, 230), (30, 310)),
        plain_names=frozenset({"neckline", "shoulder", "armhole", "side", "hem"}),
    )


def bodice_back() -> Draft:
    """Half a bodice back on the fold."""
    return Draft(
        "back",
        _edges(
            ("neckline", ((40, 28), (65, 20), (72, 0))),
            ("shoulder", ((187, 36),)),
            ("armhole", ((165, 95), (172, 190), (235, 215))),
            ("side", ((240, 480),)),
            ("hem", ((150, 490), (60, 490), (0, 490))),
            ("fold", ((0, 30),)),
        ),
        fold="fold",
        grain=((80, 240), (80, 420)),
        notches=(("armhole", 0.5), ("armhole", 0.54), ("side", 0.5)),
        plain_names=frozenset({"neckline", "shoulder", "armhole", "side", "hem"}),
    )


def sleeve() -> Draft:
    """A set-in sleeve, cut as a pair."""
    return Draft(
        "sleeve",
        _edges(
            ("cap", ((60, 80), (110, 0), (180, 0))),
            ("cap", ((250, 0), (300, 80), (360, 120))),
            ("underarm", ((325, 520),)),
            ("hem", ((35, 520),)),
            ("underarm", ((0, 120),)),
        ),
        copies=2,
        pair=True,
        grain=((180, 180), (180, 420)),
        notches=(("hem", 0.5),),
        lines=(("lengthen-line", (18, 320), (342, 320), "pair"),),
        plain_names=frozenset({"cap", "underarm", "hem"}),
    )


def pocket() -> Draft:
    """A patch pocket."""
    return Draft(
        "pocket",
        _edges(
            ("mouth", ((150, 0),)),
            ("right", ((150, 170),)),
            ("point", ((75, 190),)),
            ("left-point", ((0, 170),)),
            ("left", ((0, 0),)),
        ),
        copies=2,
        grain=((40, 40), (40, 140)),
    )


def apron() -> Draft:
    """A whole apron panel with a pocket placed on it."""
    return Draft(
        "panel",
        _edges(
            ("top", ((220, 0),)),
            ("slope", ((240, 110), (300, 200), (380, 220))),
            ("right", ((380, 700),)),
            ("bottom", ((-160, 700),)),
            ("left", ((-160, 220),)),
            ("slope-left", ((-80, 200), (-20, 110), (0, 0))),
        ),
        grain=((110, 60), (110, 240)),
        placements=(((10, 380), (210, 380), (210, 560), (10, 560), (10, 380)),),
    )


def gusset() -> Draft:
    """A small piece."""
    return Draft("gusset", _edges(("a", ((60, 0),)), ("b", ((60, 60),)), ("c", ((0, 60),)), ("d", ((0, 0),))), copies=2)
