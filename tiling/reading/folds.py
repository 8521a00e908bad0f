"""Folds that a drawing shows without giving them a role: an edge named so, or the edge that the words lie along."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from math import cos, radians

from tiling.cutting_words import cutting_words
from tiling.notes import CutAs
from tiling.outlines import RingOpen, grain_of, piece_outline
from tiling.pattern import Label, Line, Mark, Pattern, Role, Tag
from tiling.shapes import Path, Point
from tiling.shapes.chains import as_point, chains_of, is_straight, merged_straights
from tiling.shapes.curves import Array
from tiling.shapes.straights import Straight
from tiling.style import Style

__all__ = ["with_folds"]

_NAMED = re.compile(r"(?:^|[-_. ])(?:fold|stoffbruch|pliure|doblez)(?:$|[-_. ])")
_NEAR = 40.0
"""mm from an edge within which words say something of it."""
_CLEARLY = 2.0
"""How much farther the next edge must be than the one that is meant."""
_STRAY = 0.05
"""mm by which a piece may lie beyond its fold."""
_ALIKE = cos(radians(3.0))
_LEAST_SHARE = 0.3
"""Of the piece's length along the grain: a shorter edge is not taken for its fold without words beside it."""


def with_folds(pattern: Pattern) -> Pattern:
    """The pattern with a fold line in every piece that shows where it lies on the fold, and has none.

    It is an edge that is named so (it gets the role), or the straight edge beside which, or in whose piece, words say
    that it lies on the fold (a line that isn't drawn is added over it). Where the notes say that the piece is cut
    otherwise, nothing is looked for.
    """
    marks: list[Mark] = list(pattern.marks)
    for piece in pattern.pieces:
        own = [marks[number] for number in piece.marks]
        if pattern.noted(piece.ident).cut not in {None, CutAs.FOLD} or any(m.tag.role is Role.FOLD for m in own):
            continue
        labels = [mark for mark in own if isinstance(mark, Label)]
        named = [number for number in piece.marks if _is_named(marks[number])]
        if named:
            for number in named:
                marks[number] = replace(marks[number], tag=replace(marks[number].tag, role=Role.FOLD))
            continue
        words = [label for label in labels if cutting_words([label.text]).cut is CutAs.FOLD]
        edge = _edge_meant(pattern, piece.ident, words) if words else None
        if edge is not None:
            tag = Tag(piece.ident, Role.FOLD, layer=words[0].tag.layer, extra=(("found", "words"),))
            marks.append(Line(Path.polyline([edge.start, edge.end]), Style(), tag))
    if len(marks) == len(pattern.marks) and all(one is two for one, two in zip(marks, pattern.marks, strict=True)):
        return pattern
    return replace(pattern.with_marks(marks), sheets=pattern.sheets)


def _is_named(mark: Mark) -> bool:
    """Whether it is a straight edge of the piece by the name of its fold."""
    if not isinstance(mark, Line) or mark.tag.role not in {Role.PLAIN, Role.CUTTING}:
        return False
    if not _NAMED.search(mark.tag.name.casefold()):
        return False
    chains = chains_of(mark.path)
    return len(chains) == 1 and all(len(merged_straights(chain, closed=closed)) == 1 for chain, closed in chains)


def _edge_meant(pattern: Pattern, piece: str, words: Sequence[Label]) -> Straight | None:
    """The straight edge with all of the piece on one side, along the grain, that the words mean; None if unclear."""
    try:
        outline = piece_outline(pattern, piece, (Role.CUTTING, Role.STITCHING, Role.PLAIN))
    except RingOpen:
        return None
    if outline is None:
        return None
    ring = outline.ring()
    lines = pattern.lines(piece=piece)
    grain = grain_of(lines)
    edges = [
        edge
        for cubic in merged_straights(outline.chain(), closed=True)
        if is_straight(cubic)
        and (edge := Straight(as_point(cubic[0]), as_point(cubic[3]))).length > 1.0
        and (grain is None or abs(edge.direction.dot(grain.direction)) > _ALIKE)
        and _is_outermost(edge, ring)
    ]
    for label in words:
        beside = _beside(label, edges)
        if beside is not None:
            return beside
    if grain is None:
        return None
    along = [as_point(corner).dot(grain.direction) for corner in ring]
    long = [edge for edge in edges if edge.length >= _LEAST_SHARE * (max(along) - min(along))]
    return long[0] if len(long) == 1 else None


def _off(edge: Straight, point: Point) -> float:
    """How far the point lies off the edge's line, with a sign for its side."""
    return (point - edge.start).dot(Point(-edge.direction.y, edge.direction.x))


def _is_outermost(edge: Straight, ring: Array) -> bool:
    """Whether all of the ring lies on one side of the edge."""
    sides = [_off(edge, as_point(corner)) for corner in ring]
    return min(sides) > -_STRAY or max(sides) < _STRAY


def _beside(label: Label, edges: Sequence[Straight]) -> Straight | None:
    """The edge that runs as the label does, near it, with no other one nearly as near."""
    baseline = label.at.point(Point(1.0, 0.0)) - label.at.point(Point(0.0, 0.0))
    if baseline.norm < 1e-9:
        return None
    way, centre = baseline.unit(), label.reach().centre
    ranked = sorted(
        (
            (abs(_off(edge, centre)), edge)
            for edge in edges
            if abs(edge.direction.dot(way)) > _ALIKE and 0.0 <= (centre - edge.start).dot(edge.direction) <= edge.length
        ),
        key=lambda one: one[0],
    )
    if not ranked or ranked[0][0] > _NEAR or (len(ranked) > 1 and ranked[1][0] < _CLEARLY * ranked[0][0]):
        return None
    return ranked[0][1]
