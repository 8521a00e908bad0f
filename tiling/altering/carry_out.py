"""Carrying out planned cuts one after the other on a whole pattern."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from tiling.altering.cut import Cut, CutKind, Opening, cut_of, longer_move, refuse_past_fold, spread_move
from tiling.altering.piece_geometry import CutLine, PieceGeometry, piece_geometry
from tiling.altering.rejoin import Joiner
from tiling.failures import UsageWrong
from tiling.pattern import Finding, FindingKind, Line, Pattern
from tiling.shapes import Path, Point
from tiling.shapes.chains import Chain, crossings
from tiling.shapes.regions import is_simple, ring_of
from tiling.shapes.straights import Straight

__all__ = ["MOST", "PlannedCut", "carry_out", "cut_in", "waist_of"]

MOST = 50.0
"""More than this at one line (mm, about two sizes) changes what should be the garment's shape, not only its size."""

_FINE = 0.05
"""mm; how finely outlines are flattened to see whether they cross themselves."""

REACH = 80.0
"""How far a kept cut line may be drawn out to reach the new edge, mm."""


@dataclass(frozen=True, slots=True)
class PlannedCut:
    """One cut to be made: the line's index in the pattern's marks, and what it opens by."""

    piece: str
    mark: int
    kind: CutKind
    opening: Opening


def waist_of(pattern: Pattern, piece: str) -> Point | None:
    """The middle of the piece's line named ``waist``, where it has one."""
    lines = pattern.lines(piece=piece, name="waist")
    return lines[0].path.hull.centre if lines else None


def cut_in(pattern: Pattern, planned: PlannedCut) -> tuple[PieceGeometry, Cut]:
    """The checked cut in the pattern as it is now."""
    body = piece_geometry(pattern, planned.piece)
    own: Sequence[CutLine] = body.grading if planned.kind is CutKind.GRADING else body.lengthen
    source = next(line for line in own if line.mark == planned.mark)
    return body, cut_of(body, source, planned.kind, waist_of(pattern, planned.piece))


def carry_out(
    pattern: Pattern, plans: Sequence[PlannedCut], fairing: float | None
) -> tuple[Pattern, tuple[Finding, ...]]:
    """Make the cuts in order.

    Raises:
        InputUnfit: a line is no cut through its piece.
        UsageWrong: an amount turns an edge inside out or passes a fold.
    """
    findings: list[Finding] = []
    for plan in plans:
        if plan.opening.largest < 1e-9:
            continue
        body, cut = cut_in(pattern, plan)
        if plan.opening.largest > MOST:
            findings.append(_much(plan))
        spread = plan.kind is CutKind.GRADING
        move = spread_move(cut, plan.opening) if spread else longer_move(cut, plan.opening.wide)
        refuse_past_fold(body, cut, move)
        before = is_simple(ring_of(body.outline, _FINE))
        done = Joiner(cut, move, fairing).carry(pattern.marks)
        findings += done.findings
        pattern = pattern.with_marks(done.marks)
        outline = piece_geometry(pattern, plan.piece).outline
        if before and not is_simple(ring_of(outline, _FINE)):
            raise UsageWrong(
                f"Piece {plan.piece}: by that amount its outline would turn inside out at the {plan.kind.value}; "
                "choose a smaller amount."
            )
        if plan.opening.largest > 3 * MOST:
            raise UsageWrong(
                f"Piece {plan.piece}: {plan.opening.largest:.0f} mm at one line is no alteration any more but another "
                "shape; draw the piece anew, or choose a smaller amount."
            )
        pattern = _refitted(pattern, plan.mark, cut, outline)
    return pattern, tuple(findings)


def _much(plan: PlannedCut) -> Finding:
    text = (
        f"{plan.opening.largest:.1f} mm at one {plan.kind.value} is more than {MOST:.0f} mm, about two sizes: "
        "not only the size but the shape should change; start from a pattern nearer to the size wanted"
    )
    return Finding(FindingKind.SPREAD_LARGE, text, f"piece {plan.piece}")


def _refitted(pattern: Pattern, index: int, cut: Cut, outline: Chain) -> Pattern:
    """The cut's own line, kept for the next time.

    It stays as drawn where it still reaches from edge to edge, else it is drawn out to the new edge; it is noted how
    far its ends stand beyond the edges of the first cut (``data-beyond``).
    """
    mark = pattern.marks[index]
    assert isinstance(mark, Line)
    drawn = cut.source.line
    along = drawn.direction
    ends = (cut.line.start, cut.line.end)
    if ends[0].distance(drawn.start) > ends[1].distance(drawn.start):
        ends = (ends[1], ends[0])
    start, end = drawn.start, drawn.end
    found = _edges(outline, drawn, ends)
    if len(found) == 2:
        start = min((start, found[0] - along), key=lambda p: (p - drawn.start).dot(along))
        end = max((end, found[1] + along), key=lambda p: (p - drawn.start).dot(along))
    beyond = f"{(ends[0] - start).dot(along):.4f} {(end - ends[1]).dot(along):.4f}"
    extra = {**dict(mark.tag.extra), "beyond": beyond}
    tag = replace(mark.tag, extra=tuple(sorted(extra.items())))
    path = mark.path if (start, end) == (drawn.start, drawn.end) else Path.polyline([start, end])
    line = replace(mark, path=path, tag=tag)
    return pattern.with_marks([*pattern.marks[:index], line, *pattern.marks[index + 1 :]])


def _edges(outline: Chain, drawn: Straight, ends: tuple[Point, Point]) -> list[Point]:
    """Where the drawn line, made longer, passes the new edge: the places nearest to where it did."""
    step = drawn.direction * REACH
    long = Straight(drawn.start - step, drawn.end + step)
    found = [c.point for c in crossings(outline, long.start, long.end, closed=True)]
    if len(found) < 2:
        return []
    near = [min(found, key=end.distance) for end in ends]
    return near if near[0].distance(near[1]) > 1.0 else []
