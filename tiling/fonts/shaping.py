"""Text of any script as outlines: fonts that have the glyphs, runs of one direction, and shaping (HarfBuzz).

A text's own font comes first, then the one carried along, then whichever of the machine's has most of what is left.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import cache, lru_cache
from typing import TYPE_CHECKING

import numpy as np

from tiling.fonts.as_text import text_font
from tiling.fonts.machine import MachineFont, installed, plain_family
from tiling.shapes import Affine, Path
from tiling.shapes.paths import PathBuilder
from tiling.typefaces import (
    CARRIED,
    RIGHT_TO_LEFT,
    STANDARD,
    AskedFace,
    drawn_with,
    fits_winansi,
    font_file,
    writes_plainly,
)

if TYPE_CHECKING:
    import uharfbuzz

__all__ = [
    "Direction",
    "Shaped",
    "amid",
    "available",
    "in_reading_order",
    "levels",
    "missing_glyphs",
    "plain_font",
    "reads_leftwards",
    "shaped",
    "visual_order",
    "width_of",
]

_MOST_FALLBACKS = 4
_FROM_RIGHT = RIGHT_TO_LEFT | {"RLE", "RLO", "RLI"}


class Direction(Enum):
    """Which way a line of text as a whole runs; by its text, as its first letter of a script does."""

    RIGHTWARDS = "rightwards"
    LEFTWARDS = "leftwards"
    BY_TEXT = "by text"


@dataclass(frozen=True, slots=True, eq=False)
class Shaped:
    """A line of text as it is drawn, for a size of 1.

    Attributes:
        outline: filled, x to the right from the pen's start, y down from the baseline.
        width: how far the pen goes.
        missing: the characters that no font has, each once; the outline has a box for each.
    """

    outline: Path
    width: float
    missing: str


@dataclass(frozen=True, slots=True, eq=False)
class _Face:
    """A font opened for shaping."""

    font: uharfbuzz.Font
    codes: uharfbuzz.Set
    em: int


@lru_cache(maxsize=256)
def available(family: str) -> bool:
    """Whether the machine has fonts of a family."""
    plain = plain_family(family)
    return any(plain in face.families for face in installed())


def plain_font(asked: str, text: str) -> str | None:
    """The embedded font, as reportlab calls it, that writes the text glyph by glyph; None where it must be shaped."""
    standard = asked
    if asked not in STANDARD:
        face = AskedFace.of(asked)
        if available(face.family):
            return text_font(_of_family(face)[0], text)
        standard = face.standard
    return drawn_with(standard) if writes_plainly(text, standard) else None


def width_of(text: str, asked: str, size: float, direction: Direction = Direction.BY_TEXT) -> float:
    """The width of one line, in the unit of `size`; `asked` is a standard font or a family's face."""
    from reportlab.pdfbase import pdfmetrics  # noqa: PLC0415 - heavy, and rarely needed

    font = plain_font(asked, text)
    if font is None:
        return shaped(text, asked, direction).width * size
    if fits_winansi(text) and (asked in STANDARD or not available(AskedFace.of(asked).family)):
        font = asked if asked in STANDARD else AskedFace.of(asked).standard
    return float(pdfmetrics.stringWidth(text, font, size))


def missing_glyphs(text: str, asked: str = "Helvetica") -> str:
    """The characters that no font at hand can write, each once."""
    return "" if plain_font(asked, text) else _faces_for(unicodedata.normalize("NFC", text), asked)[1]


@lru_cache(maxsize=2048)
def shaped(text: str, asked: str, direction: Direction = Direction.BY_TEXT) -> Shaped:
    """One line of text in the face asked for and, where it lacks glyphs, in others."""
    text = unicodedata.normalize("NFC", text)
    faces, missing = _faces_for(text, asked)
    parts: list[Path] = []
    pen = 0.0
    runs = list(_runs(text, faces, levels(text, direction)))
    for start, end, face, level in (runs[k] for k in visual_order([run[3] for run in runs])):
        outlines, pen = _shape(face, (text, start, end), level, pen)
        parts += outlines
    return Shaped(Path.joined(parts) if parts else PathBuilder().path(), pen, missing)


def levels(text: str, direction: Direction = Direction.BY_TEXT) -> list[int]:
    """Each character's embedding level (Unicode Standard Annex 9); odd ones run to the left."""
    if direction is not Direction.LEFTWARDS and not any(unicodedata.bidirectional(c) in _FROM_RIGHT for c in text):
        return [0] * len(text)
    from bidi import algorithm  # noqa: PLC0415 - only for what is written from the right

    base = int(reads_leftwards(text, direction))
    storage = {**algorithm.get_empty_storage(), "base_level": base, "base_dir": "LR"[base]}
    algorithm.get_embedding_levels(text, storage)
    algorithm.explicit_embed_and_overrides(storage)
    algorithm.resolve_weak_types(storage)
    algorithm.resolve_neutral_types(storage, False)
    algorithm.resolve_implicit_levels(storage, False)
    kept = iter(storage["chars"])
    found, ahead = [], next(kept, None)
    for character in text:
        # The algorithm drops joiners; they stay with what they follow.
        if ahead is not None and ahead["ch"] == character:
            found.append(int(ahead["level"]))
            ahead = next(kept, None)
        else:
            found.append(found[-1] if found else base)
    for at in range(len(text) - 1, -1, -1):
        if not text[at].isspace():
            break
        found[at] = base  # rule L1
    return found


def reads_leftwards(text: str, direction: Direction = Direction.BY_TEXT) -> bool:
    """Whether a line begins at its right."""
    if direction is not Direction.BY_TEXT:
        return direction is Direction.LEFTWARDS
    strong = (unicodedata.bidirectional(c) for c in text)
    return next((way for way in strong if way in {"L", "R", "AL"}), "L") != "L"


def amid(name: str) -> str:
    """A name as it is put into one of our sentences: one that runs to the left turns nothing round that follows it."""
    mark = "\N{LEFT-TO-RIGHT MARK}"
    return f"{mark}{name}{mark}" if any(unicodedata.bidirectional(c) in _FROM_RIGHT for c in name) else name


def in_reading_order(shown: str) -> str:
    """A line's characters as they are read, from those it shows left to right, as a PDF has them."""
    return "".join(shown[k] for k in visual_order(levels(shown, Direction.RIGHTWARDS)))


def visual_order(levels_: Sequence[int]) -> list[int]:
    """The indices of characters or runs from left to right, by their levels (Unicode Standard Annex 9, rule L2)."""
    order = list(range(len(levels_)))
    for level in range(max(levels_, default=0), 0, -1):
        at = 0
        while at < len(order):
            end = at
            while end < len(order) and levels_[order[end]] >= level:
                end += 1
            order[at:end] = order[at:end][::-1]
            at = max(end, at + 1)
    return order


# -- fonts for characters ------------------------------------------------------------------------------------------


def _faces_for(text: str, name: str) -> tuple[list[_Face], str]:
    """A face for every character, and the characters that none has, each once."""
    asked = AskedFace.of(name)
    family = [] if name in STANDARD else _of_family(asked)
    chain = [_opened(face, asked.bold) for face in family if _codes_of(face)][:1]
    chain.append(_carried(name if name in CARRIED else asked.standard))
    wanted = dict.fromkeys(ord(c) for c in text if not _without_ink(c))
    left = [code for code in wanted if not any(code in face.codes for face in chain)]
    while len(chain) < _MOST_FALLBACKS + 2:
        # What private characters mean only their own font knows.
        best = _best_for(frozenset(code for code in left if unicodedata.category(chr(code)) != "Co"), asked)
        if best is None:
            break
        chain.append(_opened(best, asked.bold))
        left = [code for code in left if code not in chain[-1].codes]
    faces: list[_Face] = []
    for character in text:
        found = next((face for face in chain if ord(character) in face.codes), None)
        follows = _without_ink(character) or unicodedata.category(character).startswith("M")
        # Spaces and marks stay in the font of what they stand beside.
        if faces and follows and (found is None or character.isspace() or ord(character) in faces[-1].codes):
            found = faces[-1]
        faces.append(found or chain[-1 if not left and follows else 0])
    return faces, "".join(map(chr, left))


def _without_ink(character: str) -> bool:
    return character.isspace() or unicodedata.category(character) in {"Cf", "Cc", "Zs"}


@lru_cache(maxsize=256)
def _of_family(asked: AskedFace) -> list[MachineFont]:
    plain = plain_family(asked.family)
    faces = [face for face in installed() if plain in face.families]
    return sorted(faces, key=lambda face: face.distance(bold=asked.bold, slanted=asked.slanted))


@lru_cache(maxsize=256)
def _best_for(codes: frozenset[int], asked: AskedFace) -> MachineFont | None:
    """The machine's face with most of the characters; the nearest in style, then the first by name, of several."""
    serif = "serif" if asked.standard.startswith("Times") else "sans"
    having = [(face, sum(code in _codes_of(face) for code in codes)) for face in installed()] if codes else []

    def rank(one: tuple[MachineFont, int]) -> tuple[int, bool, int, str, int]:
        face, count = one
        unlike = not any(serif in family.split() for family in face.families)
        return -count, unlike, face.distance(bold=asked.bold, slanted=asked.slanted), face.file.name, face.index

    best, count = min(having, key=rank, default=(None, 0))
    return best if count else None


@cache
def _codes_of(face: MachineFont) -> uharfbuzz.Set:
    """The characters it has; none where the file went or is no font."""
    import uharfbuzz as hb  # noqa: PLC0415 - only where text must be shaped

    try:
        return hb.Face(hb.Blob.from_file_path(str(face.file)), face.index).unicodes
    except hb.HarfBuzzError:
        return hb.Set()


@cache
def _carried(standard: str) -> _Face:
    import uharfbuzz as hb  # noqa: PLC0415 - only where text must be shaped

    face = hb.Face(hb.Blob.from_file_path(str(font_file(standard))))
    return _Face(hb.Font(face), face.unicodes, face.upem)


@cache
def _opened(of: MachineFont, bold: bool) -> _Face:
    import uharfbuzz as hb  # noqa: PLC0415 - only where text must be shaped

    face = hb.Face(hb.Blob.from_file_path(str(of.file)), of.index)
    font = hb.Font(face)
    if of.varies:
        font.set_variations({"wght": 700 if bold else 400})
    return _Face(font, _codes_of(of), face.upem)


# -- runs and glyphs -----------------------------------------------------------------------------------------------

_Run = tuple[int, int, _Face, int]
_AROUND = 16


def _runs(text: str, faces: Sequence[_Face], level: Sequence[int]) -> Iterator[_Run]:
    """Stretches of one font, level and script as (start, end, face, level), in reading order."""
    start, script = 0, ""
    for at, character in enumerate(text):
        own = _script(character)
        if at and (faces[at] is not faces[start] or level[at] != level[start] or (own and script and own != script)):
            yield start, at, faces[start], level[start]
            start, script = at, ""
        script = own or script
    if text:
        yield start, len(text), faces[start], level[start]


@cache
def _script(character: str) -> str:
    """The first word of a letter's name, which tells scripts apart; empty for what goes with any script."""
    return unicodedata.name(character, "").split(" ")[0] if unicodedata.category(character).startswith("L") else ""


def _shape(face: _Face, stretch: tuple[str, int, int], level: int, pen: float) -> tuple[list[Path], float]:
    """The outlines of a stretch of a text (with what stands around it) from the pen on, and where the pen is then."""
    import uharfbuzz as hb  # noqa: PLC0415 - only where text must be shaped

    whole, start, end = stretch
    # What stands farther off changes no letter, and a long text has many stretches.
    text, start, end = (
        whole[max(start - _AROUND, 0) : end + _AROUND],
        min(start, _AROUND),
        min(start, _AROUND) + end - start,
    )
    buffer = hb.Buffer()
    buffer.add_codepoints([ord(c) for c in text], start, end - start)
    buffer.guess_segment_properties()
    buffer.direction = "rtl" if level % 2 else "ltr"
    hb.shape(face.font, buffer)
    parts = []
    for info, place in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        glyph = _outline(face, info.codepoint)
        if len(glyph.ops):
            parts.append(glyph.moved(Affine.shift(pen + place.x_offset / face.em, -place.y_offset / face.em)))
        pen += place.x_advance / face.em
    return parts, pen


@lru_cache(maxsize=8192)
def _outline(face: _Face, glyph: int) -> Path:
    pen = _OutlinePen(1 / face.em)
    face.font.draw_glyph_with_pen(glyph, pen)
    return pen.builder.path()


class _OutlinePen:
    """Takes a glyph's outline in font units, y up; the names are those that fonts are drawn with."""

    def __init__(self, scale: float) -> None:
        self.builder = PathBuilder()
        self._scale = scale
        self._at = np.zeros(2)

    def _to(self, point: tuple[float, float]) -> tuple[float, float]:
        return point[0] * self._scale, -point[1] * self._scale

    def moveTo(self, point: tuple[float, float]) -> None:  # noqa: N802
        """A contour's start."""
        self._at = np.array(self._to(point))
        self.builder.move(*self._at.tolist())

    def lineTo(self, point: tuple[float, float]) -> None:  # noqa: N802
        """A straight line."""
        self._at = np.array(self._to(point))
        self.builder.line(*self._at.tolist())

    def curveTo(self, *points: tuple[float, float]) -> None:  # noqa: N802
        """A cubic."""
        places = [self._to(point) for point in points]
        self._at = np.array(places[-1])
        self.builder.curve(*(value for place in places for value in place))

    def qCurveTo(self, *points: tuple[float, float]) -> None:  # noqa: N802
        """A quadratic, as the cubic that is the same curve."""
        middle, end = (np.array(self._to(point)) for point in points)
        first, second = self._at + (middle - self._at) * 2 / 3, end + (middle - end) * 2 / 3
        self._at = end
        self.builder.curve(*first.tolist(), *second.tolist(), *end.tolist())

    def closePath(self) -> None:  # noqa: N802
        """Back to the contour's start."""
        self.builder.close()

    def endPath(self) -> None:  # noqa: N802
        """A contour that stays open has no ink."""
