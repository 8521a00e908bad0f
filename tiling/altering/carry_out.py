"""Carrying out planned cuts one after the other on a whole pattern."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from calibrate.run import Run
from tiling.altering.cut import Cut, Opening, cut_of, longer_move, refuse_past_fold, spread_move
from tiling.altering.piece_geometry import CutKind, PieceGeometry, piece_geometry
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
"""mm by which a kept cut line may be drawn out to reach the new edge."""


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
    source = next(line for line in body.cut_lines[planned.kind] if line.mark == planned.mark)
    return body, cut_of(body, source, planned.kind, waist_of(pattern, planned.piece))


def carry_out(
    pattern: Pattern, plans: Sequence[PlannedCut], fairing: float | None, run: Run = Run()
) -> tuple[Pattern, tuple[Finding, ...]]:
    """Make the cuts in order.

    Args:
        pattern: with every line to cut along.
        plans: the cuts.
        fairing: as in `Joiner`.
        run: told each cut; asked at every mark whether to go on.

    Raises:
        InputUnfit: a line is no cut through its piece.
        UsageWrong: an amount turns an edge inside out or passes a fold.
    """
    findings: list[Finding] = []
    for number, plan in enumerate(plans):
        run.step("Cut", number, len(plans))
        if plan.opening.largest < 1e-9:
            continue
        body, cut = cut_in(pattern, plan)
        if plan.opening.largest > MOST:
            findings.append(_much(plan))
        spread = plan.kind is CutKind.GRADING
        move = spread_move(cut, plan.opening) if spread else longer_move(cut, plan.opening.wide)
        refuse_past_fold(body, cut, move)
        before = is_simple(ring_of(body.outline, _FINE))
        titles = {piece.ident: piece.title for piece in pattern.pieces}
        done = Joiner(body, cut, move, fairing).carry(pattern.marks, titles, run)
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
    edges = cut.line
    if edges.start.distance(drawn.start) > edges.end.distance(drawn.start):
        edges = Straight(edges.end, edges.start)
    start, end = drawn.start, drawn.end
    found = _new_edges(outline, drawn, edges)
    if found is not None:
        start = min((start, found.start - along), key=lambda p: (p - drawn.start).dot(along))
        end = max((end, found.end + along), key=lambda p: (p - drawn.start).dot(along))
    beyond = f"{(edges.start - start).dot(along):.4f} {(end - edges.end).dot(along):.4f}"
    extra = {**dict(mark.tag.extra), "beyond": beyond, "cut": cut.name, "moving": cut.moving_hand}
    tag = replace(mark.tag, extra=tuple(sorted(extra.items())))
    path = mark.path if (start, end) == (drawn.start, drawn.end) else Path.polyline([start, end])
    line = replace(mark, path=path, tag=tag)
    return pattern.with_marks([*pattern.marks[:index], line, *pattern.marks[index + 1 :]])


def _new_edges(outline: Chain, drawn: Straight, old: Straight) -> Straight | None:
    """From edge to edge along the drawn line made longer: at the crossings nearest to the old ones, if it has two."""
    step = drawn.direction * REACH
    found = [c.point for c in crossings(outline, drawn.start - step, drawn.end + step, closed=True)]
    if len(found) < 2:
        return None
    new = Straight(min(found, key=old.start.distance), min(found, key=old.end.distance))
    return new if new.length > 1.0 else None
