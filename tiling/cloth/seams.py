"""The seam table: lines that are sewn to each other, their lengths where they are sewn, ease, and notches that meet.

Lines are measured as drawn on the paper piece. Where two cut layers of one line are sewn end to end, the notes name
the line twice.
"""

from __future__ import annotations

from dataclasses import dataclass

from tiling.cloth.naming import side_words
from tiling.cloth.notches import NotchPair, meeting_notches
from tiling.cloth.outlines import notes_name
from tiling.cloth.rules import nearest
from tiling.cloth.seam_lines import Basis, SeamLines, SewnLine
from tiling.cloth.stitching import Closed
from tiling.failures import InputUnfit
from tiling.notes import LineRef, SeamNote

__all__ = ["AGREE", "NotchPair", "SeamRow", "seam_rows"]

AGREE = 3.0
"""A seam whose ease is off by more than this (mm) is pointed out; common practice, no source."""


@dataclass(frozen=True, slots=True)
class SeamRow:
    """One seam: lengths in mm on the line named by each basis, and the notches in order along it.

    `first_words` and `second_words` name the sides by the pieces' titles. `first_closed` and `second_closed` are what
    darts and pleats take off either side; the lengths are without it.
    """

    name: str
    first: tuple[LineRef, ...]
    second: tuple[LineRef, ...]
    first_length: float
    second_length: float
    ease_asked: float
    bases: tuple[Basis, ...]
    notches: tuple[NotchPair, ...]
    first_words: str
    second_words: str
    first_closed: tuple[Closed, ...] = ()
    second_closed: tuple[Closed, ...] = ()

    @property
    def ease_found(self) -> float:
        """Length of the first side less that of the second, mm."""
        return self.first_length - self.second_length

    @property
    def off(self) -> float:
        """Ease found less ease asked, mm."""
        return self.ease_found - self.ease_asked

    @property
    def agrees(self) -> bool:
        """Whether the sides fit, to `AGREE`."""
        return abs(self.off) <= AGREE

    @property
    def missed(self) -> tuple[NotchPair, ...]:
        """The notches without a partner, and those apart by more than the seam's ease and `AGREE` explain."""
        low, high = min(0.0, self.ease_found) - AGREE, max(0.0, self.ease_found) + AGREE
        return tuple(pair for pair in self.notches if pair.apart is None or not low <= pair.apart <= high)


def seam_rows(seam_lines: SeamLines) -> tuple[SeamRow, ...]:
    """All seams of the notes, in their order; empty without notes.

    Raises:
        InputUnfit: a seam names a piece or a line that the drawing doesn't have.
    """
    return tuple(_row(seam_lines, seam) for seam in seam_lines.pattern.seams)


def _row(seam_lines: SeamLines, seam: SeamNote) -> SeamRow:
    first = [_line(seam_lines, seam, ref) for ref in seam.first]
    second = [_line(seam_lines, seam, ref) for ref in seam.second]
    bases = tuple(dict.fromkeys(line.basis for line in [*first, *second]))
    return SeamRow(
        name=seam.name,
        first=seam.first,
        second=seam.second,
        first_length=sum(line.length for line in first),
        second_length=sum(line.length for line in second),
        ease_asked=seam.ease,
        bases=bases,
        notches=meeting_notches(seam_lines, first, second),
        first_words=side_words(seam_lines.pattern, seam.first),
        second_words=side_words(seam_lines.pattern, seam.second),
        first_closed=tuple(closed for line in first for closed in line.closed),
        second_closed=tuple(closed for line in second for closed in line.closed),
    )


def _line(seam_lines: SeamLines, seam: SeamNote, ref: LineRef) -> SewnLine:
    pieces = [piece.ident for piece in seam_lines.pattern.pieces]
    if ref.piece not in pieces:
        raise InputUnfit(
            f"{notes_name(seam_lines.pattern)}, seams '{seam.name}': the piece '{ref.piece}' is not in the drawing"
            f"{nearest(ref.piece, pieces)}"
        )
    try:
        return seam_lines.line(ref)
    except InputUnfit as unfit:
        place = notes_name(seam_lines.pattern)
        raise InputUnfit(f"{place}, seams '{seam.name}': {str(unfit).removeprefix(f'{place}: ')}") from unfit
