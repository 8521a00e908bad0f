"""Seam lengths: how long the lines are that are sewn to each other, and how that changed."""

from __future__ import annotations

from dataclasses import dataclass

from calibrate.spelling import closest_word
from tiling.failures import InputUnfit
from tiling.notes import LineRef, SeamNote
from tiling.pattern import Line, Pattern, Role

__all__ = ["TOLERANCE", "SeamChange", "SeamLengths", "named_length", "named_lines", "seam_changes"]

TOLERANCE = 3.0
"""mm by which two sides of a seam may fit worse after an alteration before it is worth a finding."""


@dataclass(frozen=True, slots=True)
class SeamLengths:
    """One seam, lengths in mm as drawn on the paper pieces (a piece on the fold counts its half).

    Attributes:
        first: the first side in words, such as ``sleeve.cap-front + sleeve.cap-back``; `second` likewise.
        ease: how much longer the first side is meant to be.
    """

    name: str
    first: str
    second: str
    first_length: float
    second_length: float
    ease: float

    @property
    def difference(self) -> float:
        """First less second, mm: the ease as drawn."""
        return self.first_length - self.second_length

    @property
    def off(self) -> float:
        """By how much the ease as drawn exceeds the ease asked for, mm."""
        return self.difference - self.ease


@dataclass(frozen=True, slots=True)
class SeamChange:
    """One seam before and after an alteration."""

    note: SeamNote
    before: SeamLengths
    after: SeamLengths

    @property
    def grew(self) -> float:
        """By how much the first side grew more than the second, mm."""
        return self.after.difference - self.before.difference

    @property
    def first_led(self) -> bool:
        """Whether the first side changed more than the second."""
        changes = (
            self.after.first_length - self.before.first_length,
            self.after.second_length - self.before.second_length,
        )
        return abs(changes[0]) >= abs(changes[1])

    @property
    def worse(self) -> bool:
        """Whether the sides fit noticeably worse than before, or no better where they didn't fit as noted before.

        Sides that were drawn with another ease than the notes ask for lose that unseen when only one of them changes.
        """
        if abs(self.after.off) - abs(self.before.off) > TOLERANCE:
            return True
        return abs(self.before.off) > TOLERANCE < abs(self.grew) and abs(self.after.off) > TOLERANCE


def named_lines(pattern: Pattern, ref: LineRef) -> list[Line]:
    """The lines of that name in that piece: its stitching lines, or where there are none, all of that name."""
    lines = pattern.lines(piece=ref.piece, name=ref.name)
    return [line for line in lines if line.tag.role is Role.STITCHING] or lines


def named_length(pattern: Pattern, ref: LineRef) -> float:
    """Arc length in mm; lines that share a name within a piece are added.

    Raises:
        InputUnfit: there is no such line; the message gives the nearest name.
    """
    lines = named_lines(pattern, ref)
    if not lines:
        known = sorted({f"{m.tag.piece}.{m.tag.name}" for m in pattern.marks if m.tag.piece and m.tag.name})
        near = closest_word(str(ref), known)
        hint = f"; did you mean {near}?" if near else "; name it with data-name in the drawing."
        file = f"{pattern.notes.file}: " if pattern.notes is not None and pattern.notes.file else ""
        raise InputUnfit(f"{file}the seams name the line {ref}, which is not in the drawing{hint}")
    return sum(line.path.length() for line in lines)


def seam_changes(before: Pattern, after: Pattern) -> tuple[SeamChange, ...]:
    """The seams of both patterns side by side (the notes of `after` are used for both).

    Raises:
        InputUnfit: a seam names a line that is not drawn.
    """
    return tuple(SeamChange(seam, _row(before, seam), _row(after, seam)) for seam in after.seams)


def _row(pattern: Pattern, seam: SeamNote) -> SeamLengths:
    lengths = [sum(named_length(pattern, ref) for ref in side) for side in (seam.first, seam.second)]
    words = [" + ".join(str(ref) for ref in side) for side in (seam.first, seam.second)]
    return SeamLengths(seam.name, words[0], words[1], lengths[0], lengths[1], seam.ease)
