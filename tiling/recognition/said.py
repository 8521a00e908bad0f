"""What a drawing says itself of its pieces and lines, put over what was seen: it is the stronger."""

from __future__ import annotations

from dataclasses import replace

from tiling.pattern import Pattern, Role
from tiling.recognition.understanding import EdgeSeen, Guess, LineSeen, PieceSeen, Understanding

__all__ = ["as_said"]

_WHY = "the drawing says so"


def as_said(pattern: Pattern, seen: Understanding) -> Understanding:
    """What was seen with the pieces' names, roles and line names that the drawing gives."""
    if not any(mark.tag.role is not Role.PLAIN and not mark.tag.was_found for mark in pattern.marks):
        return seen
    titles = {piece.ident: piece.title for piece in pattern.pieces}
    return replace(seen, pieces=tuple(_piece(pattern, piece, titles) for piece in seen.pieces))


def _piece(pattern: Pattern, piece: PieceSeen, titles: dict[str, str]) -> PieceSeen:
    said = {tag.piece for index in piece.outline.marks if not (tag := pattern.marks[index].tag).was_found} - {""}
    if len(said) == 1:
        ident = said.pop()
        piece = replace(piece, ident=ident, title=Guess(titles.get(ident, ident), 1.0, _WHY))
    tags = {index: pattern.marks[index].tag for index in piece.marks()}
    roles = {index: tag for index, tag in tags.items() if tag.role is not Role.PLAIN and not tag.was_found}
    kept = [line for line in piece.lines if not set(line.marks) & set(roles)]
    drawn = set(piece.outline.marks)
    told = [
        LineSeen((index,), Guess(tag.role, 1.0, _WHY), tag.name) for index, tag in roles.items() if index not in drawn
    ]
    outline = replace(piece.outline, role=Guess(Role.CUTTING, 1.0, _WHY)) if drawn & set(roles) else piece.outline
    edges = tuple(_edge(pattern, edge, drawn) for edge in piece.edges)
    renamed = {edge.name.value: new.name.value for edge, new in zip(piece.edges, edges, strict=True)}
    widths = tuple(replace(one, edge=renamed.get(one.edge, one.edge)) for one in piece.allowances)
    return replace(piece, outline=outline, lines=(*kept, *told), edges=edges, allowances=widths)


def _edge(pattern: Pattern, edge: EdgeSeen, outline: set[int]) -> EdgeSeen:
    """The edge by the name of the one line that it is, unless that line is the whole outline."""
    tags = [pattern.marks[mark].tag for mark in edge.marks if mark not in outline]
    names = {tag.name for tag in tags if not tag.was_found} - {""}
    return replace(edge, name=Guess(names.pop(), 1.0, _WHY)) if len(names) == 1 else edge
