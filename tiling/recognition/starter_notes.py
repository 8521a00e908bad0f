"""A notes file to begin with: what was understood, with what each key means, what was guessed, and what is asked."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from tiling.notes import CutAs
from tiling.pattern import Line, Pattern, Role
from tiling.recognition.told import in_one_line, role_words
from tiling.recognition.understanding import EdgeSeen, LineSeen, PieceSeen, SeamSeen, Understanding
from tiling.shapes import Path, Point

__all__ = ["edge_role", "place_of", "place_on", "starter_notes"]

_WRITTEN = (Role.LENGTHEN, Role.GRADING, Role.PLACEMENT, Role.DART)
"""Lines worth pointing at; folds, grainlines and notches are found again each time, and told in a comment."""


def starter_notes(pattern: Pattern, understanding: Understanding) -> str:
    """A complete TOML file of notes; what is not sure stands in comments, ready to be uncommented.

    Places are given as [from the left, from the top] of the drawing.
    """
    pieces = [piece for piece in understanding.pieces if piece.outline.role.stands]
    parts = [*_heading(pattern, understanding)]
    for piece in pieces:
        parts += _piece(piece)
    parts += ["", "# Lines, each pointed at by a place on it: [from the left, from the top] of the drawing.",
              "# role: cutting-line, stitching-line, fold-line, grainline, notch, grading-line, lengthen-line,",
              "# placement-line, dart; name is what seams, allowances and rules call the line."]  # fmt: skip
    for piece in pieces:
        parts += _lines(pattern, piece)
    for piece in understanding.pieces:
        if piece not in pieces:
            parts += ["", "# Perhaps a piece: remove the # below if it is one."]
            parts += [f"# {line}" for line in _pointer(piece.ident, Role.CUTTING, "", place_on(piece.ring), "")[1:]]
    parts += _seams(understanding.seams)
    return "\n".join(parts) + "\n"


def _heading(pattern: Pattern, understanding: Understanding) -> Iterator[str]:
    yield f"# Notes on {pattern.title}, begun from what its drawing shows: {in_one_line(understanding)}."
    yield "# Change what is wrong. A # makes the rest of its line a comment; remove it to make the line count."
    yield ""
    yield f"title = {_text(pattern.title)}"
    yield '#summary = "…"            # what it is, in a sentence, for the booklet'
    yield '#wearer = "adult"         # or child: decides which cautions are shown'
    yield ""
    yield "#[drawn-for]              # the body it was drawn for; then measures can be asked for"
    yield '#waist = "86cm"'
    yield '#hip = "102cm"'


def _piece(piece: PieceSeen) -> Iterator[str]:
    yield ""
    yield f"[pieces.{_key(piece.ident)}]"
    yield f"title = {_text(piece.title.value)}{_why(piece.title.why, piece.title.sure)}"
    if piece.copies is not None:
        yield f"copies = {piece.copies.value}{_why(piece.copies.why, piece.copies.sure)}"
    else:
        yield "copies = 1            # a guess: nothing says how many are cut"
    if piece.cut is not None and piece.cut.stands:
        yield f"cut = {_text(piece.cut.value.value)}{_why(piece.cut.why, piece.cut.sure)}"
    else:
        yield f'#cut = "{CutAs.FOLD.value}"          # or single, or pair (the second one mirrored)'
    if piece.cloth is not None:
        yield f"cloth = {_text(piece.cloth.value)}{_why(piece.cloth.why, piece.cloth.sure)}"
    widths = [allowance.width for allowance in piece.allowances]
    if widths:
        usual = max(set(widths), key=widths.count)
        yield f'seam-allowance = "{usual:g}mm"    # measured between the lines'
        others = [a for a in piece.allowances if a.width != usual]
        if others:
            yield "allowances = { " + ", ".join(f'{_key(a.edge)} = "{a.width:g}mm"' for a in others) + " }"
    else:
        yield '#seam-allowance = "10mm"  # how much of it the outline holds, if any; 0mm if it is the stitching line'


def _lines(pattern: Pattern, piece: PieceSeen) -> Iterator[str]:
    yield from _pointer(piece.ident, Role.CUTTING, "", place_on(piece.ring), piece.title.value)
    for edge in piece.edges:
        if not edge.on_fold:
            yield from _edge(piece, edge)
    for line in piece.lines:
        if line.role.value in _WRITTEN or not line.role.stands:
            place = place_of(pattern, line)
            if place is None:
                continue
            entry = list(_pointer(piece.ident, line.role.value, line.name, place, line.role.why))
            yield from entry if line.role.stands else [entry[0], *(f"#{one}" for one in entry[1:])]
    rest = [line.role.value for line in piece.lines if line.role.stands and line.role.value not in _WRITTEN]
    if rest:
        counts = ", ".join(f"{rest.count(role)} {role_words(role, rest.count(role))}" for role in dict.fromkeys(rest))
        yield f"# found in it besides: {counts}"


def _edge(piece: PieceSeen, edge: EdgeSeen) -> Iterator[str]:
    role = edge_role(piece, edge)
    why = edge.name.why if edge.name.value.startswith("edge-") else f"{edge.name.value}: {edge.name.why}"
    yield from _pointer(piece.ident, role, edge.name.value, place_on(edge.path), why)


def _pointer(piece: str, role: Role, name: str, place: Point, why: str) -> list[str]:
    named = [f"name = {_text(name)}"] if name else []
    return [
        "",
        f"[[lines]]{_comment(why)}",
        f"piece = {_text(piece)}",
        f"role = {_text(role.value or Role.PLACEMENT.value)}",
        *named,
        f'at = ["{place.x / 10:.2f}cm", "{place.y / 10:.2f}cm"]',
    ]


def _seams(seams: Sequence[SeamSeen]) -> Iterator[str]:
    yield ""
    yield "# What is sewn to what; a side of several lines is a list. ease is how much longer the first side may be."
    if not seams:
        yield '#[[seams]]\n#name = "side"\n#first = ["front.side"]\n#second = ["back.side"]'
    for seam in seams:
        sign = "" if seam.sure >= 0.7 else "#"
        yield ""
        yield f"{sign}[[seams]]{_comment(seam.why)}"
        yield f"{sign}first = [{_text('.'.join(seam.first))}]"
        yield f"{sign}second = [{_text('.'.join(seam.second))}]"


def place_on(path: Path) -> Point:
    """A place on a path that is far from its corners: the middle of its longest stretch, to 0.1 mm."""
    line = path.flatten(0.1)[0]
    along = shapely.LineString(line)
    middle = along.interpolate(0.5, normalized=True)
    if path.closed:
        steps = np.linalg.norm(np.diff(line, axis=0), axis=1)
        k = int(steps.argmax())
        middle = shapely.Point((line[k] + line[k + 1]) / 2)
    return Point(round(float(middle.x), 1), round(float(middle.y), 1))


def place_of(pattern: Pattern, line: LineSeen) -> Point | None:
    """A place on the longest run of a line; None where nothing of it is drawn."""
    drawn = [mark.path for index in line.marks if isinstance(mark := pattern.marks[index], Line)]
    runs = [sub for path in drawn for sub in path.subpaths() if len(sub) > 1]
    return place_on(max(runs, key=lambda sub: sub.length())) if runs else None


def edge_role(piece: PieceSeen, edge: EdgeSeen) -> Role:
    """An edge of the outline is cut, one of a line within it is stitched."""
    return Role.CUTTING if set(edge.marks) <= set(piece.outline.marks) else Role.STITCHING


def _why(why: str, sure: float) -> str:
    return _comment(why if sure >= 0.9 else f"a guess: {why}")


def _comment(words: str) -> str:
    return f"    # {' '.join(words.split())}" if words else ""


def _text(words: str) -> str:
    return json.dumps(" ".join(words.split()), ensure_ascii=False)


def _key(name: str) -> str:
    return name if name.replace("-", "").replace("_", "").isascii() and name.replace("-", "").isalnum() else _text(name)
