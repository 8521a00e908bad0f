"""Notes compared with the drawing they belong to: what is misspelt is refused, what was deleted is left out."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import NoReturn

from calibrate.spelling import closest_word
from tiling.notes import DrawnLine, LineRef, Notes, SeamNote
from tiling.pattern import Pattern, Role
from tiling.reading.notes_tables import NotesBook, nearest_words
from tiling.reading.toml_lines import KeyPath, TomlLines

__all__ = ["check_notes"]

_NOT_SEWN = {
    Role.GRADING: "a grading line",
    Role.LENGTHEN: "a lengthen line",
    Role.GRAINLINE: "a grainline",
    Role.NOTCH: "a notch",
    Role.FOLD: "a fold line",
}


@dataclass(frozen=True, slots=True)
class _Drawn:
    """What there is: the pieces, and each named line with its roles."""

    pieces: tuple[str, ...]
    lines: dict[LineRef, frozenset[Role]]
    noted: frozenset[str]

    def is_deleted(self, piece: str) -> bool:
        """Whether the notes' piece was deleted from the drawing, rather than misspelt: it is like none still free.

        Notes of which not one piece is drawn are another drawing's.
        """
        free = [ident for ident in self.pieces if ident not in self.noted]
        belong = not self.noted.isdisjoint(self.pieces)
        return belong and piece not in self.pieces and closest_word(piece, free) is None

    def names(self, piece: str) -> list[str]:
        """The names of a piece's lines that may be sewn."""
        return sorted({ref.name for ref, roles in self.lines.items() if ref.piece == piece and roles - set(_NOT_SEWN)})


def check_notes(notes: Notes, pattern: Pattern, drawn_in: Sequence[DrawnLine]) -> Notes:
    """Compare what the notes name with what the drawing holds.

    Args:
        notes: as read from one file.
        pattern: all that was drawn.
        drawn_in: the lines that the notes of all drawings add to it.

    Returns:
        The notes without what they say of pieces that were deleted (`Notes.left_out` tells where), and with every
        ``piece.line`` parted as the drawing has it, where either name holds dots.

    Raises:
        InputUnfit: a piece or a line is named that is not there, or a line that can't be sewn as part of a seam; the
            message says where and what comes nearest.
    """
    book = NotesBook(notes.file, TomlLines(notes.text))
    drawn = _drawn(notes, pattern, drawn_in)
    deleted = {piece: path for piece, path in _pieces_named(notes, pattern).items() if drawn.is_deleted(piece)}
    if drawn.pieces:
        for ident in notes.pieces:
            if ident not in drawn.pieces and ident not in deleted:
                words = f"the drawing has no piece '{ident}'{nearest_words(ident, drawn.pieces)}"
                book.refuse(("pieces", ident), f"{words} There are: {', '.join(drawn.pieces)}.")
            if ident not in deleted:
                _check_allowances(book, ident, notes.pieces[ident].allowances, drawn)
    seams = [
        _checked(book, i, seam, drawn)
        for i, seam in enumerate(notes.seams)
        if not any(ref.piece in deleted for ref in (*seam.first, *seam.second))
    ]
    return replace(
        notes,
        pieces={ident: note for ident, note in notes.pieces.items() if ident not in deleted},
        seams=tuple(seams),
        lines=tuple(line for line in notes.lines if line.piece not in deleted),
        left_out=tuple((book.place(path), piece) for piece, path in deleted.items()),
    )


def _drawn(notes: Notes, pattern: Pattern, drawn_in: Sequence[DrawnLine]) -> _Drawn:
    found: dict[LineRef, frozenset[Role]] = {}
    named = [(mark.tag.piece, mark.tag.name, mark.tag.role) for mark in pattern.lines()]
    own = {piece.ident for piece in pattern.pieces}
    named += [(line.piece, line.name, Role(line.role)) for line in drawn_in if not own or line.piece in own]
    for piece, name, role in named:
        ref = LineRef(piece, name)
        found[ref] = found.get(ref, frozenset()) | {role}
    pieces = dict.fromkeys([*(p.ident for p in pattern.pieces), *(ref.piece for ref in found if ref.piece)])
    return _Drawn(tuple(pieces), found, frozenset(notes.pieces))


def _pieces_named(notes: Notes, pattern: Pattern) -> dict[str, KeyPath]:
    """The pieces of which the notes speak, each with where they first do so."""
    found: dict[str, KeyPath] = {ident: ("pieces", ident) for ident in notes.pieces}
    if pattern.pieces:
        for i, line in enumerate(notes.lines):
            found.setdefault(line.piece, ("lines", i, "piece"))
    return found


def _check_allowances(book: NotesBook, piece: str, allowances: Collection[str], drawn: _Drawn) -> None:
    known = [name for name in drawn.names(piece) if name]
    for name in allowances:
        if name not in known:
            words = f"the piece '{piece}' has no line named '{name}' to be sewn{nearest_words(name, known)}"
            book.refuse(("pieces", piece, "allowances", name), words)


def _checked(book: NotesBook, number: int, seam: SeamNote, drawn: _Drawn) -> SeamNote:
    """The seam with its lines as the drawing names them."""
    known = {str(ref): ref for ref in reversed(drawn.lines)}
    for key, refs in (("first", seam.first), ("second", seam.second)):
        path = ("seams", number, key)
        for ref in refs:
            if str(ref) not in known:
                _refuse_ref(book, path, ref, drawn)
            roles = drawn.lines[known[str(ref)]]
            if roles <= set(_NOT_SEWN):
                what = _NOT_SEWN[min(roles)]
                names = [name for name in drawn.names(known[str(ref)].piece) if name]
                book.refuse(path, f"'{ref}' is {what}, along which nothing is sewn{nearest_words(ref.name, names)}")
    first, second = (tuple(known[str(ref)] for ref in side) for side in (seam.first, seam.second))
    return replace(seam, first=first, second=second)


def _refuse_ref(book: NotesBook, path: KeyPath, ref: LineRef, drawn: _Drawn) -> NoReturn:
    pieces = sorted({one.piece for one in drawn.lines if one.piece})
    if ref.piece not in pieces:
        book.refuse(path, f"the drawing has no piece '{ref.piece}'{nearest_words(ref.piece, pieces)}")
    names = sorted({one.name for one in drawn.lines if one.piece == ref.piece and one.name})
    book.refuse(path, f"the piece '{ref.piece}' has no line named '{ref.name}'{nearest_words(ref.name, names)}")
