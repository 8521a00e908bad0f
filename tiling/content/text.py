"""Text: where each run of glyphs comes to lie, and what draws it again (ISO 32000-2, 9.3 and 9.4)."""

from __future__ import annotations

from math import hypot
from typing import Final

from tiling.content.fonts import UNKNOWN_FONT, FontMetrics
from tiling.content.lexer import MASTER, Token, number, numbers, read_value, string_bytes
from tiling.content.scene import (
    IN_TEXT,
    Bounds,
    ContentScene,
    Drawn,
    ItemKind,
    Matrix,
    common,
    figure,
    moved_box,
    stretch,
    times,
)
from tiling.content.state import Param, State, TextClip, text_needs
from tiling.content.text_run import TextRun

__all__ = ["TextMachine", "numeric", "parameter"]

_IDENTITY: Final[Matrix] = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
_HUGE: Final[Bounds] = (-1e9, -1e9, 1e9, 1e9)
_NOTHING: Final[Bounds] = (1e9, 1e9, -1e9, -1e9)


def parameter(state: State, param: Param) -> float:
    """A numeric parameter's value."""
    return numeric(state[param])


def numeric(value: bytes) -> float:
    """The number that an operator with one operand sets."""
    found = _VALUES.get(value)
    if found is None:
        found = number(value.split()[0]) if value else 0.0
        if len(_VALUES) > 50_000:
            _VALUES.clear()
        _VALUES[value] = found
    return found


_VALUES: dict[bytes, float] = {}


class TextMachine:
    """Follows the text operators of one content stream."""

    def __init__(self) -> None:
        self.block = 0
        self.order = 0
        self.inside = False
        self._page: Matrix = _IDENTITY
        self._here: Matrix = _IDENTITY
        self._line: Matrix = _IDENTITY
        self._start = b""
        self._moves: list[bytes] | None = None
        self._run: TextRun | None = None
        self._drawn: Drawn | None = None
        self._clip: list[tuple[State, bytes]] = []
        self._clip_box = _NOTHING

    def begin(self, scene: ContentScene) -> None:
        """BT."""
        self.inside = True
        self._page = scene.ctm
        self.block += 1
        self.order = 0
        self._place(_IDENTITY, b"1 0 0 1 0 0 Tm", None)

    def end(self, scene: ContentScene) -> None:
        """ET: text shown in a clipping mode narrows the clip."""
        if self.inside and self._page != scene.ctm:
            scene.repairs.add(IN_TEXT)  # cm, q and Q have no place there (ISO 32000-2, 8.2, figure 9)
        self.inside = False
        self._run = None
        if self._clip:
            scene.frame.steps.append(TextClip(self._clip))
            scene.clip = common(scene.clip, self._clip_box)
            self._clip, self._clip_box = [], _NOTHING

    def set_matrix(self, matrix: Matrix, raw: bytes) -> None:
        """Tm."""
        self._place(matrix, raw, None)

    def move(self, dx: float, dy: float, raw: bytes) -> None:
        """Td and what is defined by it."""
        line = times(self._line, (1.0, 0.0, 0.0, 1.0, dx, dy))
        self._place(line, b"", raw)

    def _place(self, line: Matrix, start: bytes, move: bytes | None) -> None:
        self._line = self._here = line
        self._run = None
        self._start = start
        if move is None:
            self._moves = None
        elif self._moves is not None:
            self._moves.append(move)

    def show(self, scene: ContentScene, raw: bytes, strings: list[bytes | float]) -> None:
        """Tj and TJ; `strings` holds the decoded strings and the kerning numbers."""
        state = scene.state
        metrics = scene.fonts.get(state[Param.FONT], UNKNOWN_FONT)
        mode = int(parameter(state, Param.RENDER))
        origin = self._here
        low, high, advance = _walk(state, metrics, strings)
        size = _font_size(state)
        after = times(origin, (1.0, 0.0, 0.0, 1.0, *((0.0, advance) if metrics.vertical else (advance, 0.0))))
        box = _glyph_box(scene, metrics, state, (low, high), origin)
        if mode >= 4:
            scene.reasons.add("text used as a clip")
            place = b" ".join(map(figure, origin)) + b" Tm "
            self._clip.append((_with_mode(state, b"7 Tr"), place + raw))
            self._clip_box = _union(self._clip_box, box)
            mode -= 4
            state = _with_mode(state, b"%d Tr" % mode)
        if scene.hidden:
            self._here = after
            self._run, self._moves, self._start = None, None, b""
            return
        run, drawn = self._current(scene, mode)
        self._here = after
        run.parts.append((state, raw))
        drawn.needs = tuple(dict.fromkeys((*drawn.needs, *text_needs(mode))))
        _describe(run, metrics, size, advance, strings)
        run.odd |= low < 0 or size <= 0 or bool(parameter(state, Param.RISE)) or metrics.is_odd
        before = drawn.box
        drawn.box = box if before is None else _union(before, box)

    def _current(self, scene: ContentScene, mode: int) -> tuple[TextRun, Drawn]:
        drawn, frame = self._drawn, scene.frame
        if self._run is not None and drawn is not None:
            if drawn.frame is frame and drawn.steps == len(frame.steps):
                return self._run, drawn
            self._moves, self._start = None, b""
        move = b" ".join(self._moves) if self._moves else b""
        start = self._start or b" ".join(map(figure, self._here)) + b" Tm"
        run = TextRun(self.block, self.order, start, move, times(scene.ctm, self._here))
        drawn = Drawn(scene, ItemKind.TEXT, text_needs(mode), b"")
        drawn.text = run
        scene.add(drawn)
        self.order += 1
        # What follows is relative to the start of the line, which is where this run begins or isn't known in writing.
        self._moves = [] if self._here == self._line or self._start else None
        self._run, self._drawn = run, drawn
        return run, drawn


def _with_mode(state: State, mode: bytes) -> State:
    return (*state[: Param.RENDER], mode, *state[Param.RENDER + 1 :])


def _font_size(state: State) -> float:
    words = state[Param.FONT].split()
    return number(words[-2]) if len(words) > 1 else 0.0


def _walk(state: State, metrics: FontMetrics, strings: list[bytes | float]) -> tuple[float, float, float]:
    """Least, greatest and last place of the pen along the line, from 0, in text space units."""
    size, scale = _font_size(state), parameter(state, Param.SCALE) / 100
    if metrics.vertical:
        scale = 1.0
    gap, word = parameter(state, Param.CHAR_SPACE), parameter(state, Param.WORD_SPACE)
    pen = low = high = 0.0
    widths, usual, single = metrics.widths, metrics.usual, metrics.code_bytes == 1
    for entry in strings:
        if isinstance(entry, float):
            pen -= entry / 1000 * size * scale
        else:
            for code in metrics.codes(entry):
                width = -1.0 if metrics.vertical else widths.get(code, usual)
                pen += (width * size + gap + (word if single and code == 32 else 0.0)) * scale
                low, high = min(low, pen), max(high, pen)
        low, high = min(low, pen), max(high, pen)
    return low, high, pen


def _glyph_box(
    scene: ContentScene, metrics: FontMetrics, state: State, span: tuple[float, float], origin: Matrix
) -> Bounds:
    """Box in mm around glyphs whose pen goes over `span`, stroke width and overhang included."""
    if metrics.boundless:
        return _HUGE
    size, rise = abs(_font_size(state)), parameter(state, Param.RISE)
    wide = size * max(abs(parameter(state, Param.SCALE)) / 100, 0.01)
    pen = parameter(state, Param.WIDTH) if int(parameter(state, Param.RENDER)) % 4 in (1, 2) else 0.0
    upper = max(abs(metrics.low), metrics.high)
    low, high = (metrics.low, metrics.high) if _font_size(state) >= 0 else (-upper, upper)
    if metrics.vertical:
        box = (-wide, span[0] - 1.5 * size, wide, span[1] + 1.5 * size)
    else:
        box = (span[0] - metrics.before * wide, low * size + rise, span[1] + metrics.after * wide, high * size + rise)
    x0, y0, x1, y1 = moved_box(times(scene.ctm, origin), box)
    spare = 1.5 * pen * stretch(scene.ctm) + 0.1
    return x0 - spare, y0 - spare, x1 + spare, y1 + spare


def _union(one: Bounds, other: Bounds) -> Bounds:
    return min(one[0], other[0]), min(one[1], other[1]), max(one[2], other[2]), max(one[3], other[3])


def _describe(run: TextRun, metrics: FontMetrics, size: float, advance: float, strings: list[bytes | float]) -> None:
    tall = hypot(run.matrix[2], run.matrix[3])
    run.size = max(run.size, abs(size) * tall)
    run.advance += advance * tall
    run.font = run.font or metrics.name
    run.text += "".join(metrics.text(metrics.codes(entry)) for entry in strings if isinstance(entry, bytes))


def array_strings(raw: bytes) -> list[bytes | float]:
    """The strings and numbers of a TJ array."""
    result: list[bytes | float] = []
    at, end = 1, len(raw) - 1
    while at < end:
        found = MASTER.match(raw, at)
        if found is None:
            break
        group, at = found.lastindex, found.end()
        if group in (Token.STRING, Token.HEX):
            result.append(string_bytes(found[group]))
        elif group == Token.PLAIN_NUMBERS:
            result.extend(numbers(found[0]))
        elif group == Token.OTHER and found[group] in (b"(", b"<"):
            value = read_value(raw, found.start(group))
            result.append(string_bytes(value.raw))
            at = value.end
    return result
