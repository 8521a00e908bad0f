"""What was understood of a drawing that doesn't say what its lines are: guesses, each with how sure it is and why.

Nothing here changes the drawing. What is sure enough is taken (`tagged.py`); the rest is asked about.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from tiling.guesses import SURE, Guess
from tiling.notes import CutAs
from tiling.pattern import Role
from tiling.shapes import Box, Path, Point

__all__ = [
    "SURE",
    "TOLD",
    "Allowance",
    "Aside",
    "AsideKind",
    "EdgeSeen",
    "Guess",
    "LineSeen",
    "OpenEnd",
    "PieceSeen",
    "SeamSeen",
    "Understanding",
]


TOLD = "the notes say so"
"""Why a guess is none: it stands against what the drawing says."""


class AsideKind(StrEnum):
    """A closed outline, or a group of marks, that is no piece."""

    FRAME = "frame"
    LEGEND = "key of lines"
    RULER = "ruler"
    TEST_SQUARE = "test square"
    SMALL = "small mark"


@dataclass(frozen=True, slots=True, eq=False)
class Aside:
    """Marks (indices into `Pattern.marks`) that are no piece's, and what they are."""

    kind: Guess[AsideKind]
    marks: tuple[int, ...]
    place: Box


@dataclass(frozen=True, slots=True)
class LineSeen:
    """What marks of a piece are, taken together: a shaft with its arrowheads, the two legs of a dart, one line.

    Attributes:
        role: a loose mark (button, drill hole) has `Role.PLAIN`.
        name: what texts beside it say (``waist``), or what it is called without any; of a notch, its edge.
        part: which subpath of the (only) mark; None for all of it.
    """

    marks: tuple[int, ...]
    role: Guess[Role]
    name: str = ""
    part: int | None = None


@dataclass(frozen=True, slots=True, eq=False)
class EdgeSeen:
    """The part of an outline between two corners.

    Attributes:
        name: what it is sewn as (``hem``, ``side``), or ``edge-1`` and so on, clockwise on the page from the top left.
        path: one open subpath, mm, clockwise on the page.
        on_fold: whether it is laid on the fold of the cloth.
        marks: the lines (indices into `Pattern.marks`) that it is part of.
    """

    name: Guess[str]
    path: Path
    on_fold: bool
    marks: tuple[int, ...]

    @property
    def middle(self) -> Point:
        """The point halfway along it."""
        line = self.path.flatten(0.1)[0]
        along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
        return Point(*(float(np.interp(along[-1] / 2, along, line[:, k])) for k in (0, 1)))


@dataclass(frozen=True, slots=True)
class Allowance:
    """The distance from cutting line to stitching line along one edge, mm."""

    edge: str
    width: float


@dataclass(frozen=True, slots=True, eq=False)
class PieceSeen:
    """One piece of the pattern.

    Attributes:
        ident: a name for notes: its title in small letters with hyphens.
        title: what texts in it call it.
        outline: the marks of its outermost line, and whether that is where it is cut or where it is stitched.
        copies, cut, cloth, size: as far as texts or lines say; None where nothing does.
        sizes: the outlines' marks of each of several sizes nested in one another, by name, from the smallest.
        edges: of the stitching line where there is one, else of the outline.
        within: all marks that lie in it, or beside it and nearer than to any other.
    """

    ident: str
    title: Guess[str]
    outline: LineSeen
    place: Box
    ring: Path
    copies: Guess[int] | None = None
    cut: Guess[CutAs] | None = None
    cloth: Guess[str] | None = None
    size: Guess[str] | None = None
    sizes: tuple[tuple[str, tuple[int, ...]], ...] = ()
    allowances: tuple[Allowance, ...] = ()
    edges: tuple[EdgeSeen, ...] = ()
    lines: tuple[LineSeen, ...] = ()
    within: frozenset[int] = frozenset()

    def marks(self) -> tuple[int, ...]:
        """All marks that belong to it, in drawing order."""
        return tuple(sorted({*self.outline.marks, *self.within}))


@dataclass(frozen=True, slots=True)
class SeamSeen:
    """Two edges, as (piece, edge), that look as if they were sewn to each other."""

    first: tuple[str, str]
    second: tuple[str, str]
    sure: float
    why: str


@dataclass(frozen=True, slots=True)
class OpenEnd:
    """Where an outline isn't closed: two ends that lie `gap` mm apart."""

    at: Point
    gap: float


@dataclass(frozen=True, slots=True, eq=False)
class Understanding:
    """All that was understood of a drawing.

    `open_ends` are the gaps in its outlines, once they were looked for (`with_gaps`); `lines_drawn` says whether it
    holds lines at all: a scan holds none; `outlines` is how many closed ones it has where those are too many to be
    pieces.
    """

    pieces: tuple[PieceSeen, ...] = ()
    asides: tuple[Aside, ...] = ()
    seams: tuple[SeamSeen, ...] = ()
    open_ends: tuple[OpenEnd, ...] = ()
    lines_drawn: bool = True
    outlines: int = 0
