"""What was read of a drawing's lines as plain values: each guess as its value, how sure it is, and why."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tiling.failures import advised
from tiling.operations.result_values import Words, artifact_name, finding_values

if TYPE_CHECKING:
    from tiling.operations.read_lines import ReadLinesResult
    from tiling.recognition.understanding import Guess, PieceSeen
    from tiling.shapes import Box

__all__ = ["lines_values"]


def lines_values(found: ReadLinesResult, words: Words = advised) -> dict[str, Any]:
    """What a drawing's lines are; of every guess how sure it is and why."""
    understood = found.understanding
    return {
        "title": found.title,
        "summary": found.summary,
        "pieces": [_piece_seen(piece) for piece in understood.pieces],
        "asides": [{"kind": _guess(one.kind), "place_mm": _box(one.place)} for one in understood.asides],
        "seams": [
            {"first": ".".join(seam.first), "second": ".".join(seam.second), "sure": seam.sure, "why": seam.why}
            for seam in understood.seams
        ],
        "open_ends": [{"at_mm": [end.at.x, end.at.y], "gap_mm": end.gap} for end in understood.open_ends],
        "questions": [{"piece": asked.piece, "text": asked.text} for asked in found.questions],
        "findings": finding_values(found.findings, words),
        "notes": artifact_name(found.notes),
        "picture": artifact_name(found.picture),
    }


def _piece_seen(piece: PieceSeen) -> dict[str, Any]:
    return {
        "id": piece.ident,
        "title": _guess(piece.title),
        "outline": _guess(piece.outline.role),
        "place_mm": _box(piece.place),
        **{key: _guess(getattr(piece, key)) for key in ("copies", "cut", "cloth", "size")},
        "sizes": [name for name, _ in piece.sizes],
        "allowances_mm": {one.edge: one.width for one in piece.allowances},
        "edges": [
            {"name": _guess(edge.name), "length_mm": edge.path.length(), "on_fold": edge.on_fold}
            for edge in piece.edges
        ],
        "lines": [{"role": _guess(line.role), "name": line.name} for line in piece.lines],
    }


def _guess(guess: Guess[Any] | None) -> dict[str, Any] | None:
    if guess is None:
        return None
    value = guess.value
    return {"value": str(value) if isinstance(value, str) else value, "sure": guess.sure, "why": guess.why}


def _box(box: Box) -> list[float]:
    return [box.x0, box.y0, box.x1, box.y1]
