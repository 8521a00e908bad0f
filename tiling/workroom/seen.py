"""What was recognised, as the page shows it: which marks each guess is about, and a place to point at each by."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from tiling.operations.result_values import finding_values
from tiling.pattern import Pattern
from tiling.recognition.starter_notes import edge_role, place_of, place_on
from tiling.recognition.told import questions_on
from tiling.workroom.errors import remedy_values
from tiling.workroom.scene import box_values, path_data

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tiling.pattern import Finding
    from tiling.recognition.understanding import Guess, LineSeen, PieceSeen, Understanding
    from tiling.shapes import Path

__all__ = ["findings_to_mend", "seen_values"]


def seen_values(pattern: Pattern, understanding: Understanding) -> dict[str, Any]:
    """Pieces with their edges and lines, seams as they look, what is no piece, and what the drawing leaves open.

    A guess is ``{value, sure, why, stands}``; ``at`` is the place in mm by which notes point at a line.
    """
    return {
        "pieces": [_piece(pattern, piece) for piece in understanding.pieces],
        "seams": [
            {"first": ".".join(seam.first), "second": ".".join(seam.second), "sure": seam.sure, "why": seam.why}
            for seam in understanding.seams
        ],
        "asides": [
            {"kind": _guess(one.kind), "marks": list(one.marks), "place": box_values(one.place)}
            for one in understanding.asides
        ],
        "open_ends": [{"at": [end.at.x, end.at.y], "gap": end.gap} for end in understanding.open_ends],
        "questions": [
            {"piece": asked.piece, "text": asked.text, "marks": list(asked.marks)}
            for asked in questions_on(understanding)
        ],
    }


def findings_to_mend(findings: Sequence[Finding]) -> list[dict[str, Any]]:
    """The findings as `--json` has them, each with its remedy, of which the page makes a button."""
    told = finding_values(findings)
    for values, finding in zip(told, findings, strict=True):
        values["remedy"] = remedy_values(finding.remedy)
    return told


def _piece(pattern: Pattern, piece: PieceSeen) -> dict[str, Any]:
    return {
        "id": piece.ident,
        "title": _guess(piece.title),
        "outline": {**_line(pattern, piece.outline), "d": path_data(piece.ring), "at": _place(piece.ring)},
        "place": box_values(piece.place),
        **{key: _guess(getattr(piece, key)) for key in ("copies", "cut", "cloth", "size")},
        "sizes": [{"name": name, "marks": list(marks)} for name, marks in piece.sizes],
        "allowances": {one.edge: one.width for one in piece.allowances},
        "edges": [
            {
                "name": _guess(edge.name),
                "role": edge_role(piece, edge).value,
                "on_fold": edge.on_fold,
                "length": edge.path.length(),
                "d": path_data(edge.path),
                "at": _place(edge.path),
                "marks": list(edge.marks),
            }
            for edge in piece.edges
        ],
        "lines": [_line(pattern, line) for line in piece.lines],
        "marks": list(piece.marks()),
    }


def _line(pattern: Pattern, line: LineSeen) -> dict[str, Any]:
    place = place_of(pattern, line)
    return {
        "role": _guess(line.role),
        "name": line.name,
        "marks": list(line.marks),
        "at": None if place is None else [place.x, place.y],
    }


def _place(path: Path) -> list[float]:
    place = place_on(path)
    return [place.x, place.y]


def _guess(guess: Guess[Any] | None) -> dict[str, Any] | None:
    if guess is None:
        return None
    value = guess.value
    plain = str(value) if isinstance(value, str) else value.item() if isinstance(value, np.generic) else value
    return {"value": plain, "sure": guess.sure, "why": guess.why, "stands": guess.stands}
