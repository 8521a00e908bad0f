"""Texts in a drawing: runs joined to what a person reads as one, and what they say of a piece."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import atan2, degrees, hypot

from tiling.lengths import LengthUnclear, parse_length
from tiling.pattern import Label, Line, Mark
from tiling.recognition.understanding import Guess
from tiling.shapes import Box, Point
from tiling.words import Words, folded

__all__ = ["TextSeen", "lengths_in", "size_in", "texts_of", "title_among"]

_LENGTH = re.compile(r"(\d+(?:[.,]\d+)?)\s*(mm|cm|in\b|inch|\"|″)")
_LENGTHS = re.compile(r"\d+(?:[.,]\d+)?(?:\s+\d/\d+|\s*[½¼¾])?\s*(?:mm|cm|m\b|inch(?:es)?|in\b|\"|″|”)?", re.IGNORECASE)
_SIZE_VALUE = re.compile(r"[:.\s]*([0-9]{1,3}(?:\s*[-–/]\s*[0-9]{1,3})?|[0-9]?x{0,3}[sml](?![a-z]))", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class TextSeen:
    """What is read as one line of text.

    Attributes:
        text: what it says.
        marks: its runs, as indices into `Pattern.marks`.
        box: the upright box around it, mm.
        start, end: its baseline, mm.
        size: the height of its letters' em, mm.
        layer: its layer in the drawing.
    """

    text: str
    marks: tuple[int, ...]
    box: Box
    start: Point
    end: Point
    size: float
    layer: str = ""

    @property
    def angle(self) -> float:
        """The direction of its baseline, degrees clockwise on the page."""
        return degrees(atan2(self.end.y - self.start.y, self.end.x - self.start.x))

    @property
    def middle(self) -> Point:
        """The middle of its box."""
        return self.box.centre


def texts_of(marks: Sequence[Mark]) -> list[TextSeen]:
    """All texts; runs that follow each other on one baseline at less than an em and a half are one."""
    runs = [run for i, mark in enumerate(marks) if (run := _run(i, mark)) is not None]
    joined: list[TextSeen] = []
    for run in runs:
        before = joined[-1] if joined else None
        if before is not None and _follows(before, run):
            gap = before.end.distance(run.start)
            text = before.text + (" " if gap > 0.12 * run.size else "") + run.text
            box = before.box.union(run.box)
            joined[-1] = replace(before, text=text, marks=before.marks + run.marks, box=box, end=run.end)
        else:
            joined.append(run)
    return joined


def _run(index: int, mark: Mark) -> TextSeen | None:
    """The text that a mark is: a label, or the outlines of one that keep what they say (``data-text``)."""
    layer = mark.tag.layer
    if isinstance(mark, Label) and mark.text.strip():
        return TextSeen(mark.text.strip(), (index,), mark.reach(), *_baseline(mark), mark.size * mark.at.stretch, layer)
    if isinstance(mark, Line) and (said := mark.tag.said("text").strip()):
        box = mark.path.bounds()
        start, end = Point(box.x0, box.y1), Point(box.x1, box.y1)
        return TextSeen(said, (index,), box, start, end, box.height, layer)
    return None


def _baseline(label: Label) -> tuple[Point, Point]:
    return label.at.point(Point(0.0, 0.0)), label.at.point(Point(label.advance, 0.0))


def _follows(before: TextSeen, run: TextSeen) -> bool:
    if before.layer != run.layer or abs(before.size - run.size) > 0.1 * run.size:
        return False
    step = run.start - before.end
    along = before.end - before.start
    norm = hypot(along.x, along.y)
    if norm < 1e-6:
        return False
    ahead = (step.x * along.x + step.y * along.y) / norm
    aside = abs(step.x * along.y - step.y * along.x) / norm
    return -0.2 * run.size < ahead < 1.5 * run.size and aside < 0.1 * run.size


def size_in(text: str, words: Words) -> Guess[str] | None:
    """The size that a text names."""
    plain = folded(text)
    for word in words.found(text, "size"):
        for match in re.finditer(rf"(?<!\w){re.escape(word)}", plain):
            value = _SIZE_VALUE.match(plain[match.end() :])
            if value and not _LENGTH.match(plain[match.end() :].strip(" :")):
                return Guess(value[1].upper().strip(), 0.9, f"the text '{text}'")
    return None


def title_among(texts: Sequence[TextSeen], words: Words) -> Guess[str] | None:
    """What the texts in a piece call it: one that names a common piece, else the largest that orders nothing.

    An order that follows the name in the same text ("Front, cut 1") is left off.
    """
    ranked: list[tuple[tuple[float, ...], TextSeen, float]] = []
    for order, text in enumerate(texts):
        head = _head(text.text, words)
        if not head or len(head) > 60:
            continue
        named = bool(words.named(head, "piece"))
        short = len(head.split()) <= 4
        instructs = any(words.says(head, subject) for subject in _ORDERS) and not named
        if instructs or not any(c.isalpha() for c in head):
            continue
        sure = (0.95 if short else 0.75) if named else (0.75 if short else 0.5)
        ranked.append(((named and short, round(text.size, 1), -order), text, sure))
    if not ranked:
        return None
    _, best, sure = max(ranked, key=lambda one: one[0])
    return Guess(_head(best.text, words), sure, f"the text '{best.text}'")


_ORDERS = (
    "cut",
    "fold",
    "grain",
    "lengthen",
    "grade",
    "dart",
    "placement",
    "size",
    "allowance",
    "test",
    "button",
    "level",
)


def _head(text: str, words: Words) -> str:
    """The text up to its first order or comma."""
    head = re.split(r"\s*[,;:(\n]\s*|\s+[-–—]\s+", text.strip(), maxsplit=1)[0]
    head = re.sub(r"^\s*(?:\d{1,2}[.)]?|[A-Z][.)])\s+(?=\w)", "", head)
    plain = folded(head)
    starts = [plain.find(word) for subject in ("cut", "fold", "size") for word in words.found(head, subject)]
    cut = min((start for start in starts if start > 0), default=None)
    return (head[:cut] if cut is not None else head).strip(" -–—.")


def lengths_in(text: str) -> list[float]:
    """The lengths that a text says, mm, the last first; one without a unit has that of the next: "5 x 5 cm"."""
    found = []
    unit = ""
    for match in reversed(_LENGTHS.findall(text)):
        parts = re.match(r"(.*?[\d½¼¾])\s*([a-z\"″”]*)$", match.strip(), re.IGNORECASE)
        if not parts:
            continue
        unit = parts[2] or unit
        if not unit:
            continue
        try:
            found.append(parse_length(f"{parts[1]}{unit}"))
        except LengthUnclear:
            continue
    return found
