"""Text of an SVG as labels: each run of characters that lie on one line in one style (SVG 2, chapter 11)."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from lxml import etree

from calibrate.printable import printable
from tiling.fonts.shaping import Direction, levels, missing_glyphs, visual_order, width_of
from tiling.pattern import FindingKind, Label
from tiling.reading.svg_file import SvgFile
from tiling.reading.svg_fonts import direction_of, font_of
from tiling.reading.svg_guard import local_name
from tiling.reading.svg_scene import SvgScene, tagged
from tiling.reading.svg_units import Axis, ElementFault, split_unit
from tiling.shapes import Affine

__all__ = ["holds_text", "labels_of"]

_MOST_CHARACTERS = 100_000
_SPACE = "{http://www.w3.org/XML/1998/namespace}space"
_BASELINES = {
    # Shares of the em below the baseline asked for; Helvetica's measures, from memory (x-height 0.52, capitals 0.72).
    "middle": 0.26, "central": 0.36, "mathematical": 0.36, "hanging": 0.72, "text-before-edge": 0.76,
    "text-top": 0.76, "text-after-edge": -0.24, "text-bottom": -0.24, "ideographic": -0.24,
}  # fmt: skip
_SHIFTS = {"sub": 0.2, "super": -0.33}
_JOINERS = "\u200c\u200d"
"""They have no ink, but say which letters of a cursive script join."""


@dataclass(slots=True)
class _Letter:
    """One character with what is asked of its place, and the scene it is written in."""

    text: str
    scene: SvgScene
    rise: float
    x: float | None = None
    y: float | None = None
    dx: float = 0.0
    dy: float = 0.0
    turn: float | None = None

    @property
    def free(self) -> bool:
        """Whether it just follows the letter before."""
        return self.x is None and self.y is None and self.dx == 0.0 and self.dy == 0.0 and not self.turn


@dataclass(slots=True)
class _Setting:
    """The letters of one text element as they are collected."""

    file: SvgFile
    letters: list[_Letter] = field(default_factory=list)
    after_space: bool = True
    moved: set[int] = field(default_factory=set)
    missing: dict[str, None] = field(default_factory=dict)


def holds_text(element: etree._Element) -> bool:
    """Whether the element is, or holds, text that is still text: a program that turns it into paths keeps its style."""
    return next(element.iter("{*}text", "{*}tspan"), None) is not None


def labels_of(file: SvgFile, element: etree._Element, scene: SvgScene) -> Iterator[Label]:
    """Every visible run of a ``<text>``.

    Raises:
        ElementFault: a position is not finite, or there is too much of it.
    """
    setting = _Setting(file)
    _collect(setting, element, scene, 0.0)
    letters = setting.letters
    while letters and letters[-1].text == " " and not _preserved(element, letters[-1].scene):
        letters.pop()
    if not letters:
        return
    pen = (0.0, 0.0)
    for chunk in _chunks(letters):
        placed, pen = _set(file, element, chunk, pen)
        for run, at in placed:
            label = _label(file, run, at)
            if label is not None:
                setting.missing.update(dict.fromkeys(missing_glyphs(label.text, label.font)))
                yield label
    if setting.missing:
        _tell_of_missing(file, "".join(letter.text for letter in letters), list(setting.missing), element)


def _tell_of_missing(file: SvgFile, text: str, missing: Sequence[str], element: etree._Element) -> None:
    """One finding for a whole text, with what to do."""
    names = ", ".join(f"U+{ord(c):04X} {unicodedata.name(c, '')}".strip() for c in missing[:3])
    more = f" and {len(missing) - 3} more" if len(missing) > 3 else ""
    shown = printable(text, "").strip()
    shown = shown if len(shown) <= 40 else f"{shown[:39]}…"
    words = (
        f"No font at hand can write '{shown}' (it lacks {names}{more}): boxes stand for what is missing. Turn the "
        "text into paths in the drawing program, or save the drawing as PDF."
    )
    file.note(FindingKind.GLYPH_MISSING, words, element)


def _preserved(element: etree._Element, scene: SvgScene) -> bool:
    space = scene.style.get("white-space", "")
    if space:
        return space.strip() in {"pre", "pre-wrap", "break-spaces"}
    kept = next((e.get(_SPACE) for e in (element, *element.iterancestors()) if e.get(_SPACE)), "default")
    return kept == "preserve"


def _collect(setting: _Setting, element: etree._Element, scene: SvgScene, rise: float) -> None:
    """The letters of an element and of those inside, in reading order."""
    start = len(setting.letters)
    _add(setting, element.text, element, scene, rise)
    for child in element:
        name = local_name(child)
        if name in {"tspan", "a", "textPath", "tref"}:
            _collect_child(setting, child, scene, rise)
        elif name == "textArea":
            setting.file.note(FindingKind.ELEMENT_UNKNOWN, "Text in an area is not drawn.", child)
        _add(setting, child.tail, element, scene, rise)
    _place(setting, element, scene, start)


def _collect_child(setting: _Setting, child: etree._Element, scene: SvgScene, rise: float) -> None:
    declared = setting.file.cascade.declared(child)
    if declared.get("display") == "none":
        return
    if scene.depth > 50:
        raise ElementFault("its text is nested without end")
    style = setting.file.cascade.computed(scene.style, declared, scene.lengths)
    inside = replace(scene, style=style, tag=tagged(child, scene.tag), depth=scene.depth + 1)
    if local_name(child) == "textPath":
        words = "Text along a line is written straight, from the line's start."
        setting.file.note(FindingKind.ELEMENT_UNKNOWN, words, child)
    _collect(setting, child, inside, rise + _rise(declared.get("baseline-shift"), inside))
    if local_name(child) == "textPath":
        _start_on_line(setting, child, inside)


def _rise(text: str | None, scene: SvgScene) -> float:
    """How far a baseline is shifted, in user units, downwards."""
    if not text or text.strip() in {"baseline", "inherit"}:
        return 0.0
    word = text.strip()
    if word in _SHIFTS:
        return _SHIFTS[word] * scene.font
    if word.endswith("%"):
        return -scene.lengths.length(word[:-1], Axis.Y) / 100 * scene.font
    return -scene.length(word, Axis.Y)


def _start_on_line(setting: _Setting, child: etree._Element, scene: SvgScene) -> None:
    target = setting.file.linked(child)
    outline = setting.file.outline(target, {}, scene) if target is not None and local_name(target) == "path" else None
    first = next((i for i, letter in enumerate(setting.letters) if letter.scene.style is scene.style), None)
    if outline is not None and first is not None and first not in setting.moved:
        setting.letters[first].x, setting.letters[first].y = map(float, outline.points[0])


def _add(setting: _Setting, text: str | None, element: etree._Element, scene: SvgScene, rise: float) -> None:
    if not text:
        return
    preserved = _preserved(element, scene)
    for character in text:
        plain = " " if character in "\t\r\n\f" else character
        if plain == " " and not preserved:
            if setting.after_space:
                continue
            setting.after_space = True
        else:
            setting.after_space = False
            # Marks that steer a terminal or turn text round have no ink.
            if plain not in _JOINERS and unicodedata.category(plain) in {"Cc", "Cf", "Cs"}:
                continue
        setting.letters.append(_Letter(plain, scene, rise))
        if len(setting.letters) > _MOST_CHARACTERS:
            raise ElementFault(f"holds more than {_MOST_CHARACTERS:,} characters in one text")


def _place(setting: _Setting, element: etree._Element, scene: SvgScene, start: int) -> None:
    """Give the letters from `start` on the places their element lists; inner elements have given theirs already."""
    letters = setting.letters[start:]
    if not letters:
        return
    for name, axis in (("x", Axis.X), ("y", Axis.Y), ("dx", Axis.X), ("dy", Axis.Y)):
        text = element.get(name)
        if not text:
            continue
        for offset, word in enumerate(text.replace(",", " ").split()[: len(letters)]):
            if split_unit(word) is None:
                continue
            value, letter = scene.length(word, axis), letters[offset]
            if getattr(letter, name) in {None, 0.0}:
                setattr(letter, name, value)
            setting.moved.add(start + offset)
    words = (element.get("rotate") or "").replace(",", " ").split()
    turns = [parsed[0] if (parsed := split_unit(word)) else 0.0 for word in words]
    for i, letter in enumerate(letters):
        if turns and letter.turn is None:
            letter.turn = turns[min(i, len(turns) - 1)]


def _chunks(letters: Sequence[_Letter]) -> Iterator[list[_Letter]]:
    """Letters from one absolute place to the next: they are aligned together."""
    chunk: list[_Letter] = []
    for letter in letters:
        if chunk and (letter.x is not None or letter.y is not None):
            yield chunk
            chunk = []
        chunk.append(letter)
    yield chunk


@dataclass(frozen=True, slots=True)
class _Run:
    """Letters that follow each other on a line in one style, and which way they run."""

    letters: Sequence[_Letter]
    direction: Direction

    @property
    def head(self) -> _Letter:
        """The first, whose place counts for all."""
        return self.letters[0]

    @property
    def scene(self) -> SvgScene:
        """What they are written in."""
        return self.head.scene

    @property
    def text(self) -> str:
        """What they say."""
        return "".join(letter.text for letter in self.letters)


_Placed = list[tuple[_Run, tuple[float, float, float]]]


def _set(
    file: SvgFile, element: etree._Element, chunk: list[_Letter], pen: tuple[float, float]
) -> tuple[_Placed, tuple[float, float]]:
    """Set a chunk: its runs with x, y and turn of each, and where the pen is afterwards."""
    first = chunk[0]
    x = pen[0] if first.x is None else first.x
    y = pen[1] if first.y is None else first.y
    begin = x
    placed: _Placed = []
    direction = direction_of(first.scene.style)
    for run in _ordered(chunk, direction):
        x, y = x + run.head.dx, y + run.head.dy
        placed.append((run, (x, y + run.head.rise + _baseline(run.scene), run.head.turn or 0.0)))
        x += _advance(file, run)
    stretch = _stretch(element, first.scene, x - begin)
    anchor = first.scene.style.get("text-anchor", "start").strip()
    shift = {"middle": -0.5, "end": -1.0}.get(anchor, 0.0)
    if direction is Direction.LEFTWARDS:
        shift = -1.0 - shift  # a line that runs to the left starts at its right
    offset = shift * (x - begin) * stretch
    moved = [(run, (begin + (at[0] - begin) * stretch + offset, at[1], at[2])) for run, at in placed]
    return moved, (begin + (x - begin) * stretch + offset, y)


def _ordered(chunk: list[_Letter], direction: Direction) -> list[_Run]:
    """A chunk's runs from left to right; of several, each runs one way only."""
    whole = [_Run(letters, direction) for letters in _runs(chunk, [0] * len(chunk))]
    level = levels("".join(letter.text for letter in chunk), direction)
    if len(whole) == 1 or not any(level):
        return whole
    parts = list(_runs(chunk, level))
    starts = [sum(map(len, parts[:k])) for k in range(len(parts))]
    ways = [Direction.LEFTWARDS if level[start] % 2 else Direction.RIGHTWARDS for start in starts]
    return [_Run(parts[k], ways[k]) for k in visual_order([level[start] for start in starts])]


def _stretch(element: etree._Element, scene: SvgScene, natural: float) -> float:
    """How ``textLength`` spreads the letters' places."""
    wanted = scene.length(element.get("textLength"), Axis.X)
    return wanted / natural if wanted > 0 and natural > 0 else 1.0


def _runs(chunk: list[_Letter], level: Sequence[int]) -> Iterator[list[_Letter]]:
    run: list[_Letter] = []
    for at, letter in enumerate(chunk):
        joins = (
            run
            and level[at] == level[at - 1]
            and letter.free
            and not run[-1].turn
            and letter.rise == run[-1].rise
            and letter.scene.style is run[-1].scene.style
            and letter.scene.tag == run[-1].scene.tag
            and not _spacing(letter.scene)
        )
        if run and not joins:
            yield run
            run = []
        run.append(letter)
    yield run


def _spacing(scene: SvgScene) -> bool:
    spaced = (scene.style.get(name, "normal").strip() for name in ("letter-spacing", "word-spacing"))
    return any(word not in {"normal", "0", "0px"} for word in spaced)


def _advance(file: SvgFile, run: _Run) -> float:
    scene, text = run.scene, run.text
    width = width_of(text, font_of(scene.style, file.log), scene.font, run.direction)
    if not _spacing(scene):
        return width
    extra = scene.length(scene.style.get("letter-spacing"), Axis.X)
    words = scene.length(scene.style.get("word-spacing"), Axis.X)
    return width + extra * len(run.letters) + words * text.count(" ")


def _baseline(scene: SvgScene) -> float:
    return _BASELINES.get(scene.style.get("dominant-baseline", "auto").strip(), 0.0) * scene.font


def _label(file: SvgFile, run: _Run, at: tuple[float, float, float]) -> Label | None:
    scene, text = run.scene, run.text
    fill, stroke = scene.painter.ink(scene.style, "fill"), scene.painter.ink(scene.style, "stroke")
    ink = fill or stroke
    scale = scene.scale
    if ink is None or scene.font <= 0 or not text.strip() or not scene.visible:
        return None
    if stroke is not None and stroke != fill:
        file.log.add(FindingKind.STYLE_NOT_READ, "Letters with an outline are drawn filled, without it.")
    font = font_of(scene.style, file.log)
    place = scene.to_sheet @ Affine.shift(at[0], at[1]) @ Affine.turn(at[2]) @ Affine.scale(1 / scale)
    return Label(
        text,
        place,
        scene.font * scale,
        font,
        ink.colour,
        width_of(text, font, scene.font, run.direction) * scale,
        ink.opacity * scene.opacity,
        scene.tag,
        direction=run.direction,
    )
