"""How well a drawing is understood: what was found against the truth, by kind of thing."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

import numpy as np
import shapely

from tests.recognition.conventions import WORDS, notch_place
from tests.recognition.drafts import Draft
from tests.recognition.drawings import Drawing
from tiling.notes import CutAs
from tiling.pattern import Line, Pattern, Role
from tiling.recognition.understanding import Guess, LineSeen, PieceSeen, Understanding
from tiling.shapes import Box, Path

KINDS = ("pieces", "folds", "copies", "titles", "grainlines", "notches", "darts", "allowances", "edges", "cut lines")
NEAR = 4.0
"""mm; a thing found so near to where it was drawn is that thing."""


@dataclass
class Score:
    """Of each kind how many there are, were found, and were found right; and what was taken wrongly."""

    there: Counter[str] = field(default_factory=Counter)
    found: Counter[str] = field(default_factory=Counter)
    right: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)

    def add(self, other: Score) -> None:
        """Both together."""
        self.there += other.there
        self.found += other.found
        self.right += other.right
        self.wrong += other.wrong

    def precision(self, kind: str) -> float:
        """The share of what was found that is right."""
        return self.right[kind] / self.found[kind] if self.found[kind] else 1.0

    def recall(self, kind: str) -> float:
        """The share of what is there that was found."""
        return self.right[kind] / self.there[kind] if self.there[kind] else 1.0


def score(drawing: Drawing, pattern: Pattern, seen: Understanding) -> Score:
    """One drawing's understanding, only what stands, against its drafts."""
    total = Score()
    pieces = [piece for piece in seen.pieces if piece.outline.role.stands]
    total.found["pieces"] = len(pieces)
    total.there["pieces"] = len(drawing.drafts)
    for draft in drawing.drafts:
        home = next((piece for piece in pieces if _fits(draft, piece, drawing)), None)
        if home is None:
            total.wrong.append(f"{drawing.name}: no piece for {draft.name}")
            no_line = LineSeen((), Guess(Role.PLAIN, 0.0, ""))
            home = PieceSeen("", Guess("", 0.0, ""), no_line, Box(0.0, 0.0, 0.0, 0.0), Path.joined([]))
        else:
            total.right["pieces"] += 1
        _piece(total, drawing, pattern, draft, home)
    return total


def _fits(draft: Draft, piece: PieceSeen, drawing: Drawing) -> bool:
    """Whether the piece's ring lies around the draft and not far beyond it."""
    own = shapely.Polygon(draft.ring())
    ring = shapely.Polygon(piece.ring.flatten(0.1)[0]).buffer(0)
    reach = drawing.way.allowance + max(drawing.way.sizes, default=0) + 2
    return bool(
        own.difference(ring.buffer(0.5)).area < 0.01 * own.area and ring.difference(own.buffer(3 * reach)).area < 1
    )


def _piece(total: Score, drawing: Drawing, pattern: Pattern, draft: Draft, piece: PieceSeen) -> None:
    way = drawing.way
    says_fold = bool(draft.fold)
    total.there["folds"] += says_fold
    on_fold = [edge for edge in piece.edges if edge.on_fold]
    if on_fold or (piece.cut is not None and piece.cut.stands and piece.cut.value is CutAs.FOLD):
        total.found["folds"] += 1
        right = says_fold and any(_apart(edge.middle, draft.edge(draft.fold).middle) < 40 for edge in on_fold)
        total.right["folds"] += right
        if not right:
            total.wrong.append(f"{drawing.name} {draft.name}: fold")
    if way.texts:
        total.there["copies"] += 1
        if piece.copies is not None and piece.copies.stands:
            total.found["copies"] += 1
            total.right["copies"] += piece.copies.value == draft.copies
        total.there["titles"] += 1
        if piece.title.stands:
            total.found["titles"] += 1
            good = piece.title.value == WORDS[way.language][draft.name]
            total.right["titles"] += good
            if not good:
                total.wrong.append(f"{drawing.name} {draft.name}: title '{piece.title.value}'")
    _points(total, drawing, "grainlines", pattern, piece, Role.GRAINLINE,
            [] if draft.grain is None else [tuple((np.array(draft.grain[0]) + draft.grain[1]) / 2)])  # fmt: skip
    _points(total, drawing, "notches", pattern, piece, Role.NOTCH,
            [tuple(notch_place(draft, notch, way.allowance)[0]) for notch in draft.notches], 6.0)  # fmt: skip
    darts = [tuple(np.array([first, tip, second]).mean(axis=0)) for first, tip, second in draft.darts]
    _points(total, drawing, "darts", pattern, piece, Role.DART, darts, 40.0)
    for role in (Role.LENGTHEN, Role.GRADING):
        places = [tuple((np.array(a) + b) / 2) for kind, a, b, words in draft.lines
                  if kind == role.value and (way.texts or words == "pair")]  # fmt: skip
        _points(total, drawing, "cut lines", pattern, piece, role, places, 8.0)
    _allowances(total, drawing, draft, piece)
    _edges(total, drawing, draft, piece)


def _points(
    total: Score,
    drawing: Drawing,
    kind: str,
    pattern: Pattern,
    piece: PieceSeen,
    role: Role,
    places: list,
    near: float = NEAR,
) -> None:
    """Things that lie at places: each found one is right if it is the nearest to a place not yet taken."""
    left = list(places)
    total.there[kind] += len(places)
    for line in piece.lines:
        if line.role.value is not role or not line.role.stands:
            continue
        total.found[kind] += 1
        at = _middle(pattern, line)
        best = min(left, key=lambda place: _apart(place, at), default=None)
        if best is not None and _apart(best, at) < near:
            left.remove(best)
            total.right[kind] += 1
        else:
            total.wrong.append(f"{drawing.name} {piece.ident}: {kind} at {at[0]:.0f}, {at[1]:.0f} ({line.role.why})")
    total.wrong += [f"{drawing.name} {piece.ident}: {kind} missed at {p[0]:.0f}, {p[1]:.0f}" for p in left]


def _middle(pattern: Pattern, line: LineSeen) -> tuple[float, float]:
    drawn = [mark.path for index in line.marks if isinstance(mark := pattern.marks[index], Line)]
    if line.role.value is Role.LENGTHEN and len(drawn) == 2:
        drawn = drawn[:1]
    longest = max((sub for path in drawn for sub in path.subpaths()), key=lambda sub: sub.length())
    if line.role.value is Role.NOTCH and longest.closed:
        points = longest.points
        return float(points[:, 0].mean()), float(points[:, 1].mean())
    if line.role.value is Role.DART:
        points = np.vstack([path.points for path in drawn])
        return float(points[:, 0].mean()), float(points[:, 1].mean())
    at = shapely.LineString(longest.flatten(0.1)[0]).interpolate(0.5, normalized=True)
    return at.x, at.y


def _allowances(total: Score, drawing: Drawing, draft: Draft, piece: PieceSeen) -> None:
    width = drawing.way.allowance
    if width:
        names = [edge.name for edge in draft.edges if edge.name != draft.fold]
        total.there["allowances"] += len(names) - (names.count("cap") > 1)
    total.found["allowances"] += len(piece.allowances)
    good = sum(abs(one.width - width) < 0.5 for one in piece.allowances)
    total.right["allowances"] += good
    if good < len(piece.allowances):
        total.wrong.append(f"{drawing.name} {draft.name}: allowances {[(a.edge, a.width) for a in piece.allowances]}")


def _edges(total: Score, drawing: Drawing, draft: Draft, piece: PieceSeen) -> None:
    """Names that edges are given (not numbers) where their drafts have plain ones."""
    if not draft.plain_names or drawing.way.sizes:
        return
    truth = {}
    for edge in draft.edges:
        if edge.name in draft.plain_names:
            truth.setdefault(edge.name, []).append(edge)
    total.there["edges"] += sum(1 if name == "cap" else len(edges) for name, edges in truth.items())
    for edge in piece.edges:
        name = edge.name.value.rstrip("-0123456789")
        if edge.on_fold or name in {"edge", "fold"} or not edge.name.stands:
            continue
        total.found["edges"] += 1
        middle = edge.middle
        near = min(
            (float(shapely.LineString(one.line()).distance(shapely.Point(middle.x, middle.y))), own)
            for own, es in truth.items()
            for one in es
        )
        good = near[1] == name and near[0] < drawing.way.allowance + 3
        total.right["edges"] += good
        if not good:
            total.wrong.append(f"{drawing.name} {draft.name}: edge {edge.name.value} is {near[1]}")


def _apart(one: object, other: object) -> float:
    a, b = ((p.x, p.y) if hasattr(p, "x") else p for p in (one, other))
    return float(np.hypot(a[0] - b[0], a[1] - b[1]))
