"""The drawing with what was understood of it: roles, pieces and names where it gave none, and lines for its edges."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from tiling.notes import CutAs
from tiling.pattern import Line, Mark, Pattern, Role, Tag, pieces_of
from tiling.recognition.understanding import TOLD, EdgeSeen, LineSeen, PieceSeen, Understanding
from tiling.style import Style

__all__ = ["tagged"]


_FOUND = (("found", "looks"),)


def tagged(pattern: Pattern, understanding: Understanding) -> Pattern:
    """The pattern with the pieces and roles that are sure enough; what it says itself stays.

    Every mark keeps its place in the order. The edges of outlines that are drawn in one go are added as lines that
    leave no ink, so that seams and allowances can name them; so is a fold that only words or brackets show.
    """
    marks = list(pattern.marks)
    titles = {piece.ident: piece.title for piece in pattern.pieces}
    for piece in understanding.pieces:
        if not piece.outline.role.stands:
            continue
        titles.setdefault(piece.ident, piece.title.value)
        for index in piece.marks():
            marks[index] = _given(marks[index], piece=piece.ident)
        for line in (piece.outline, *piece.lines):
            if line.role.stands:
                for index in line.marks:
                    mark = _unsaid(marks[index]) if line.role.why == TOLD else marks[index]
                    marks[index] = _given(mark, role=line.role.value, name=line.name, extra=_extra(line))
        marks += _edges(piece, marks)
    return replace(pattern, marks=tuple(marks), pieces=pieces_of(marks, titles))


def _unsaid(mark: Mark) -> Mark:
    """The mark without its role and name, which the notes put right."""
    return replace(mark, tag=replace(mark.tag, role=Role.PLAIN, name=""))


def _extra(line: LineSeen) -> tuple[tuple[str, str], ...]:
    """What is kept of how a line's role is known."""
    return () if line.role.why == TOLD else _FOUND


def _given(
    mark: Mark, piece: str = "", role: Role = Role.PLAIN, name: str = "", extra: tuple[tuple[str, str], ...] = ()
) -> Mark:
    """The mark with a piece, role or name where it has none of its own."""
    tag = mark.tag
    if tag.role is not Role.PLAIN:
        role, name, extra = tag.role, tag.name or (name if role is tag.role else ""), ()
    new = replace(
        tag, piece=tag.piece or piece, role=role, name=tag.name or name, extra=tuple(sorted({*tag.extra, *extra}))
    )
    return mark if new == tag else replace(mark, tag=new)


def _edges(piece: PieceSeen, marks: list[Mark]) -> Iterator[Mark]:
    """Lines for the edges that are no drawn line of their own; a drawn one takes the name."""
    layer = marks[piece.outline.marks[0]].tag.layer
    drawn = {mark: sum(mark in edge.marks for edge in piece.edges) for edge in piece.edges for mark in edge.marks}
    folds = [line for line in piece.lines if line.role.value is Role.FOLD and line.role.stands]
    for edge in piece.edges:
        if edge.on_fold:
            if not folds and piece.cut is not None and piece.cut.value is CutAs.FOLD:
                yield _unseen(edge, Tag(piece.ident, Role.FOLD, "fold", layer, extra=_FOUND))
            continue
        own = edge.marks[0] if len(edge.marks) == 1 and drawn[edge.marks[0]] == 1 else None
        if own is not None and own not in piece.outline.marks:
            marks[own] = _given(marks[own], role=Role.STITCHING, name=edge.name.value, extra=_FOUND)
            continue
        if edge.name.value.startswith("edge-"):
            continue  # a number of ours; nothing refers to it until somebody names the edge
        stitched = not set(edge.marks) <= set(piece.outline.marks)
        role = Role.STITCHING if stitched else Role.CUTTING
        yield _unseen(edge, Tag(piece.ident, role, edge.name.value, layer, extra=_FOUND))


def _unseen(edge: EdgeSeen, tag: Tag) -> Line:
    return Line(edge.path, Style(), tag)
