"""Path data and transforms of SVG.

Grammar: SVG 2, section 9.3 (numbers may touch, arc flags are single digits); an error ends the path where it stands
(section 9.5.4).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from itertools import islice
from math import radians, tan

from tiling.reading.svg_pen import PathPen
from tiling.reading.svg_units import ElementFault, numbers
from tiling.shapes import Affine, Path

__all__ = ["MOST_POINTS", "parse_path", "parse_transform"]

_COMMAND = re.compile(r"([MmZzLlHhVvCcSsQqTtAa])([^MmZzLlHhVvCcSsQqTtAa]*)")
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_RUN = re.compile(r"(?:[\s,]*+[+-]?(?:\d++\.?\d*+|\.\d++)(?:[eE][+-]?\d++)?)*+[\s,]*+")
_ARC = re.compile(
    r"[\s,]*" + r"[\s,]*".join([rf"({_NUMBER.pattern})"] * 3 + ["([01])", "([01])"] + [rf"({_NUMBER.pattern})"] * 2)
)
_PER = {"M": 2, "L": 2, "T": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "A": 7}
MOST_POINTS = 2_000_000
"""In one path and in one drawing: several times the largest pattern known, and what a gigabyte of memory can hold."""
_AT_ONCE = 12_000
"""Numbers taken in one go (a multiple of every command's count), so that a huge path needs little room."""


def parse_path(data: str, scale: float = 1.0) -> tuple[Path, str]:
    """The path in user units, and what was wrong with it ('' when nothing was).

    Args:
        data: the ``d`` attribute.
        scale: the largest number of mm a user unit becomes.

    Raises:
        ElementFault: it holds NaN or an infinite number, or more than `MOST_POINTS`.
    """
    if re.search(r"nan|inf", data, re.IGNORECASE):
        raise ElementFault("its path data holds a number that is not finite")
    pen = PathPen(scale)
    at = len(data) - len(data.lstrip())
    for command in _COMMAND.finditer(data):
        letter, args = command[1], command[2]
        if command.start() != at or (at == len(data) - len(data.lstrip()) and letter not in "Mm"):
            return pen.path(), f"is unreadable from character {at + 1} on"
        used = _run(pen, letter, args)
        _bound(pen)
        at = command.end()
        if used < len(args):
            return pen.path(), f"is unreadable from character {command.start() + 2 + used} on"
    wrong = "" if at == len(data) else f"is unreadable from character {at + 1} on"
    return pen.path(), wrong


_STEPS: dict[str, Callable[[PathPen, list[float], bool], None]] = {
    "M": PathPen.moves,
    "L": PathPen.lines,
    "C": PathPen.curves,
    "S": PathPen.smooth,
    "Q": PathPen.quadratics,
    "T": PathPen.smooth_quadratics,
    "H": lambda pen, values, relative: pen.levels(values, relative, horizontal=True),
    "V": lambda pen, values, relative: pen.levels(values, relative, horizontal=False),
}


def _run(pen: PathPen, letter: str, args: str) -> int:
    """Draw one command with all its numbers; how many characters of them could be used."""
    kind = letter.upper()
    relative = letter != kind
    if kind == "Z":
        pen.end()
        return len(args) if not args.strip() else 0
    if kind == "A":
        return _arcs(pen, args, relative)
    readable = _RUN.match(args)
    end = readable.end() if readable else 0
    draw = _STEPS[kind]
    whole = True
    count = 0
    for values in _chunks(args if end == len(args) else args[:end]):
        odd = len(values) % _PER[kind]
        if odd:
            values = values[:-odd]  # noqa: PLW2901 - the rest is the error that is reported
            whole = False
        if values:
            draw(pen, values, relative)
            _bound(pen)
            count += len(values)
            if kind == "M":
                draw = PathPen.lines
    if end < len(args):
        return end
    return len(args) if whole and count else 0


def _bound(pen: PathPen) -> None:
    if pen.size > MOST_POINTS:
        raise ElementFault(f"its path has more than {MOST_POINTS:,} points; simplify it")


def _chunks(args: str) -> Iterator[list[float]]:
    if len(args) < _AT_ONCE:
        yield [float(word) for word in _NUMBER.findall(args)]
        return
    words = _NUMBER.finditer(args)
    while values := [float(word[0]) for word in islice(words, _AT_ONCE)]:
        yield values


def _arcs(pen: PathPen, args: str, relative: bool) -> int:
    at = 0
    rows = []
    while found := _ARC.match(args, at):
        rows.append(tuple(map(float, found.groups())))
        at = found.end()
    pen.arcs(rows, relative)
    return len(args) if rows and not args[at:].strip(" \t\r\n\f,") else at


_STEP = re.compile(r"[\s,]*([A-Za-z]+)\s*\(([^()]*)\)[\s,;]*")


def parse_transform(text: str) -> Affine | None:
    """A transform attribute as one affine move; None when it is unreadable (and then the element isn't moved).

    Raises:
        ElementFault: a number in it is not finite.
    """
    move = Affine()
    at, end = 0, len(text.rstrip())
    while at < end:
        found = _STEP.match(text, at)
        step = _step(found[1], _angled(found[2])) if found else None
        if found is None or step is None:
            return None
        move = move @ step
        at = found.end()
    return move


def _angled(args: str) -> list[float]:
    """The numbers; CSS writes px and deg behind them, which change nothing."""
    return numbers(re.sub(r"(?<=[\d.])(?:px|deg)", " ", args))


def _step(name: str, v: list[float]) -> Affine | None:
    n = len(v)
    if name == "matrix" and n == 6:
        return Affine(*v)
    if name == "translate" and n in {1, 2}:
        return Affine.shift(v[0], v[1] if n == 2 else 0.0)
    if name == "scale" and n in {1, 2}:
        return Affine.scale(v[0], v[1] if n == 2 else v[0])
    if name == "rotate" and n in {1, 3}:
        spin = Affine.turn(v[0])
        return spin if n == 1 else Affine.shift(v[1], v[2]) @ spin @ Affine.shift(-v[1], -v[2])
    if name == "skewX" and n == 1:
        return Affine(c=tan(radians(v[0])))
    if name == "skewY" and n == 1:
        return Affine(b=tan(radians(v[0])))
    return _css_step(name, v)


def _css_step(name: str, v: list[float]) -> Affine | None:
    if len(v) != 1:
        return None
    return {
        "translateX": Affine.shift(v[0], 0.0),
        "translateY": Affine.shift(0.0, v[0]),
        "scaleX": Affine.scale(v[0], 1.0),
        "scaleY": Affine.scale(1.0, v[0]),
    }.get(name)
