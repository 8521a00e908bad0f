"""What was understood, in words: one line for `look`, and what is still to be asked."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from tiling.lengths import in_cm
from tiling.notes import CutAs
from tiling.pattern import Role
from tiling.recognition.understanding import LineSeen, PieceSeen, Understanding

__all__ = ["Question", "in_one_line", "questions_on", "role_words"]

_COUNTED = (Role.LENGTHEN, Role.GRADING, Role.DART)
_MOST = 12


@dataclass(frozen=True, slots=True)
class Question:
    """Something that the drawing leaves open, of one piece (its ident) and perhaps some of its marks."""

    piece: str
    text: str
    marks: tuple[int, ...] = ()


def role_words(role: Role, count: int = 1) -> str:
    """The role as people write it: "2 lengthen lines"."""
    words = role.value.replace("-", " ") or "loose mark"
    return words if count == 1 else f"{words}es" if words.endswith("ch") else f"{words}s"


def in_one_line(understanding: Understanding, noted: Collection[str] = ()) -> str:
    """The pieces with how they are cut, the lines that can be altered at, and what nothing says.

    Args:
        understanding: of the drawing.
        noted: the pieces of which notes say how many are cut.

    "3 pieces: Front (on the fold), Back (on the fold), Waistband; 1 lengthen line; nothing says how many to cut of
    Waistband".
    """
    pieces = [piece for piece in understanding.pieces if piece.outline.role.stands]
    if not pieces:
        return _no_pieces(understanding)
    named = [_with_cut(piece) for piece in pieces]
    more = f" and {len(named) - _MOST} more" if len(named) > _MOST else ""
    parts = [f"{len(pieces)} piece{'s' * (len(pieces) > 1)}: {', '.join(named[:_MOST])}{more}"]
    roles = Counter(line.role.value for piece in pieces for line in piece.lines if line.role.stands)
    parts += [f"{roles[role]} {role_words(role, roles[role])}" for role in _COUNTED if roles[role]]
    parts += [f"{len(p.sizes)} sizes of {p.title.value}" for p in pieces if p.sizes][:1]
    unsaid = [piece.title.value for piece in pieces if piece.copies is None and piece.ident not in noted]
    if unsaid:
        parts.append(f"nothing says how many to cut of {_listed(unsaid)}")
    return "; ".join(parts)


def _with_cut(piece: PieceSeen) -> str:
    if piece.cut is None or not piece.cut.stands:
        return piece.title.value
    words = {CutAs.FOLD: " (on the fold)", CutAs.PAIR: " (a pair)", CutAs.SINGLE: ""}
    return piece.title.value + words[piece.cut.value]


def _no_pieces(understanding: Understanding) -> str:
    if not understanding.lines_drawn:
        return "no lines are drawn in it: a picture or a scan can be printed, but its pieces can't be told"
    if understanding.outlines:
        return f"{understanding.outlines} closed outlines, more than a pattern has pieces, so none is taken for one"
    if understanding.open_ends:
        gaps = [
            f"{in_cm(end.gap)} apart at {in_cm(end.at.x)} from the left and {in_cm(end.at.y)} from the top"
            for end in understanding.open_ends[:4]
        ]
        return f"no outline is closed; ends that should meet lie {'; '.join(gaps)}"
    return "no closed outline, so no piece can be told"


def questions_on(understanding: Understanding) -> tuple[Question, ...]:
    """What the drawing leaves open: what may be no piece, titles, copies, lines that may be one thing or another."""
    asked: list[Question] = []
    for piece in understanding.pieces:
        if not piece.outline.role.stands:
            asked.append(Question(piece.ident, "is this small outline a piece?", piece.outline.marks))
            continue
        if not piece.title.stands:
            asked.append(Question(piece.ident, f"what is {piece.title.value} called?", piece.outline.marks))
        if piece.copies is None:
            asked.append(Question(piece.ident, f"how many are cut of {piece.title.value}?"))
        if piece.cut is not None and not piece.cut.stands:
            asked.append(Question(piece.ident, f"is {piece.title.value} cut on the fold?"))
        asked += [_about(piece, line) for line in piece.lines if not line.role.stands]
    return tuple(asked)


def _about(piece: PieceSeen, line: LineSeen) -> Question:
    text = f"is this line in {piece.title.value} a {role_words(line.role.value)}? ({line.role.why})"
    return Question(piece.ident, text, line.marks)


def _listed(names: Sequence[str]) -> str:
    more = f" and {len(names) - _MOST} more" if len(names) > _MOST else ""
    return ", ".join(names[:_MOST]) + more
