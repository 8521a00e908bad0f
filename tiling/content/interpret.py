"""Reading a content stream into a scene: the loop over its operators."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final

from pypdf.generic import DictionaryObject, StreamObject

from tiling.content.forms import Whole, close_marked, draw_form, open_layer
from tiling.content.inline_images import bare_inline_image, inline_end
from tiling.content.lexer import MASTER, Token, numbers, plain_number, read_value, string_bytes
from tiling.content.operators import STATE_OPERATORS, Handler
from tiling.content.painting import draw_image, draw_inline_image, inline_image_size, paint, shade
from tiling.content.resources import entry, safe_name
from tiling.content.scene import NO_CONTENT, NO_END, NO_OPERATOR, NO_Q, ContentScene, Marked
from tiling.content.state import Param
from tiling.content.streams import resolved, word
from tiling.content.text import TextMachine, array_strings, parameter

__all__ = ["MARK_TAG", "Reader"]

MARK_TAG: Final = b"/Mark"
"""A sheet of our own wraps each mark in ``/Mark12 BMC … EMC``, where 12 is the mark's number."""

_PAINTING: Final = (b"S", b"s", b"f", b"F", b"f*", b"B", b"B*", b"b", b"b*", b"n")
_PATH: Final = frozenset((b"m", b"l", b"c", b"v", b"y", b"h", b"re"))
_IGNORED: Final = frozenset((b"BX", b"EX", b"MP", b"DP", b"d0", b"d1"))
_MOST_OPERANDS = 20_000
_TELL_EVERY = 100_000  # bytes


class Reader:
    """Interprets content streams into a scene. `whole` writes a form without its hidden layers."""

    def __init__(self, whole: Whole) -> None:
        self._whole = whole

    def read(self, scene: ContentScene, data: bytes) -> None:
        """Interpret one stream; what it leaves open is closed.

        Raises:
            InputUnfit: there is too much of it.
        """
        base, marked = len(scene.saved), len(scene.marked)
        text = TextMachine()
        args: list[bytes] = []
        match, at, size = MASTER.match, 0, len(data)
        direct, told = _DIRECT, _TELL_EVERY
        scene.run.check()
        while at < size:
            if at > told:
                told += _TELL_EVERY
                scene.run.step("Reading, kB", at // 1000, size // 1000)
            found = match(data, at)
            if found is None:
                break
            group, at = found.lastindex, found.end()
            if group == Token.PATH:
                if args:
                    scene.path.append(b" ".join(args))
                    args = []
                scene.path.append(found[1])
            elif group == Token.OPERATOR:
                operator = found[3]
                if (handler := direct.get(operator)) is not None:
                    handler(scene, args, found[2])
                elif operator == b"BI":
                    at = self._inline_image(scene, data, found.start(3), at)
                else:
                    self._other(scene, text, operator, args, found[2])
                if args:
                    args = []
            elif group is not None:
                at = self._operand(scene, args, data, found)
        _close(scene, text, base, marked)

    def _operand(self, scene: ContentScene, args: list[bytes], data: bytes, found: re.Match[bytes]) -> int:
        group = found.lastindex or Token.OTHER
        if group != Token.OTHER:
            word = found[group]
            args.append(word.rstrip() if group == Token.PLAIN_NUMBERS else word)
        else:
            word = found[Token.OTHER]
            if word in (b"(", b"[", b"<<"):
                value = read_value(data, found.start(Token.OTHER))
                args.append(value.raw)
                return value.end
            if not word.startswith(b"%") and word.strip(b"\x00\t\n\x0c\r "):
                scene.repairs.add(NO_CONTENT)
        if len(args) > _MOST_OPERANDS:
            del args[:-100]
        return found.end()

    def _other(
        self, scene: ContentScene, text: TextMachine, operator: bytes, args: list[bytes], number_text: bytes
    ) -> None:
        if operator in _TEXT:
            _TEXT[operator](scene, text, args, number_text)
        elif operator in (b"W", b"W*"):
            scene.clip_rule = operator
        elif operator == b"Do":
            if args:
                self._do(scene, args[-1])
        elif operator == b"sh":
            if args:
                shade(scene, args[-1])
        elif operator in (b"BDC", b"BMC"):
            _begin_marked(scene, args)
        elif operator == b"EMC":
            close_marked(scene)
        elif operator in _PATH:
            scene.path.append(b" ".join((*args, number_text.strip(), operator)))
        elif operator not in _IGNORED:
            scene.repairs.add(NO_OPERATOR)

    def _do(self, scene: ContentScene, name: bytes) -> None:
        raw = entry(scene.resources, "/XObject", safe_name(name))
        target = resolved(raw)
        if not isinstance(target, StreamObject):
            scene.missing.add(f"object {safe_name(name)[1:]}")
            return
        open_layer(scene, target.raw_get("/OC") if "/OC" in target else None)
        kind = word(target.get("/Subtype"))
        if kind == "/Image":
            draw_image(scene, name, target)
        elif kind == "/Form" and not scene.hidden:
            draw_form(scene, name, target, self.read, self._whole)
        elif kind != "/Form":
            scene.missing.add(f"object {safe_name(name)[1:]}, which is no picture and no form")
        close_marked(scene)

    def _inline_image(self, scene: ContentScene, data: bytes, start: int, at: int) -> int:
        begin = re.compile(rb"[\x00\t\n\x0c\r ]ID[\x00\t\n\x0c\r ]").search(data, at - 1)
        if begin is None:
            scene.repairs.add("inline image without data")
            return at
        header = data[start : begin.start()]
        end = inline_end(data, begin.end(), inline_image_size(header))
        if end is None:
            scene.repairs.add(NO_END)
            return len(data)
        if not end.marked:
            scene.repairs.add(NO_END)
        draw_inline_image(scene, bare_inline_image(_renamed(scene, header), data[begin.end() : end.data]) + b"\nEI")
        return end.after


def _renamed(scene: ContentScene, header: bytes) -> bytes:
    """An inline image's dictionary with a named colour space under the name it has in what is written."""
    found = re.search(rb"/(?:CS|ColorSpace)\s*(/[^\s()<>\[\]{}/%]+)", header)
    raw = entry(scene.resources, "/ColorSpace", safe_name(found[1])) if found else None
    if found is None or raw is None:
        return header
    return header[: found.start(1)] + scene.merger.name("/ColorSpace", raw, found[1]) + header[found.end(1) :]


def _close(scene: ContentScene, text: TextMachine, saved: int, marked: int) -> None:
    """End what a stream left open."""
    if text.inside:
        text.end(scene)
        scene.repairs.add("BT without ET")
    if len(scene.saved) > saved:
        scene.repairs.add(NO_Q)
    while len(scene.saved) > saved:
        scene.pop()
    while len(scene.marked) > marked:
        close_marked(scene)


def _painting(operator: bytes) -> Handler:
    def handle(scene: ContentScene, _args: list[bytes], _text: bytes) -> None:
        paint(scene, operator)

    return handle


_DIRECT: Final[dict[bytes, Handler]] = {
    **STATE_OPERATORS,
    b"q": lambda scene, _args, _text: scene.push(),
    b"Q": lambda scene, _args, _text: scene.pop(),
    **{operator: _painting(operator) for operator in _PAINTING},
}


def _begin_marked(scene: ContentScene, args: list[bytes]) -> None:
    tag = args[0] if args else b""
    if tag == b"/OC" and len(args) > 1 and args[1].startswith(b"/"):
        open_layer(scene, entry(scene.resources, "/Properties", safe_name(args[1])))
        return
    scene.marked.append(Marked(scene.layer, scene.mark, hides=False))
    if scene.tagged and tag.startswith(MARK_TAG) and tag[len(MARK_TAG) :].isdigit():
        scene.mark = int(tag[len(MARK_TAG) :])


def _show(scene: ContentScene, text: TextMachine, args: list[bytes], _numbers: bytes) -> None:
    if args:
        text.show(scene, args[-1] + b" Tj", [string_bytes(args[-1])])


def _show_array(scene: ContentScene, text: TextMachine, args: list[bytes], _numbers: bytes) -> None:
    if args and args[-1].startswith(b"["):
        text.show(scene, args[-1] + b" TJ", array_strings(args[-1]))


def _next_line(scene: ContentScene, text: TextMachine, _args: list[bytes], _numbers: bytes) -> None:
    leading = scene.state[Param.LEADING].split()[0]
    raw = leading[1:] if leading.startswith(b"-") else b"-" + leading
    text.move(0.0, -parameter(scene.state, Param.LEADING), b"0 " + raw + b" Td")


def _show_next(scene: ContentScene, text: TextMachine, args: list[bytes], number_text: bytes) -> None:
    _next_line(scene, text, args, number_text)
    _show(scene, text, args, number_text)


def _show_spaced(scene: ContentScene, text: TextMachine, args: list[bytes], number_text: bytes) -> None:
    words = b" ".join(args[:-1]).split()
    if len(words) >= 2:
        scene.set(Param.WORD_SPACE, words[-2] + b" Tw")
        scene.set(Param.CHAR_SPACE, words[-1] + b" Tc")
    _show_next(scene, text, args, number_text)


def _move(_scene: ContentScene, text: TextMachine, args: list[bytes], number_text: bytes) -> None:
    words = b" ".join((*args, number_text)).split()[-2:]
    if len(words) == 2:
        x, y = numbers(b" ".join(words))
        text.move(x, y, b" ".join(words) + b" Td")


def _move_leading(scene: ContentScene, text: TextMachine, args: list[bytes], number_text: bytes) -> None:
    words = b" ".join((*args, number_text)).split()[-2:]
    if len(words) == 2:
        leading = words[1][1:] if words[1].startswith(b"-") else b"-" + words[1].lstrip(b"+")
        scene.set(Param.LEADING, leading + b" TL")
    _move(scene, text, args, number_text)


def _matrix(_scene: ContentScene, text: TextMachine, args: list[bytes], number_text: bytes) -> None:
    words = b" ".join((*args, number_text)).split()[-6:]
    if len(words) == 6 and all(map(plain_number, words)):
        a, b, c, d, e, f = numbers(b" ".join(words))
        text.set_matrix((a, b, c, d, e, f), b" ".join(words) + b" Tm")


_TEXT: Final[dict[bytes, Callable[[ContentScene, TextMachine, list[bytes], bytes], None]]] = {
    b"BT": lambda scene, text, _args, _numbers: text.begin(scene),
    b"ET": lambda scene, text, _args, _numbers: text.end(scene),
    b"Tj": _show,
    b"TJ": _show_array,
    b"'": _show_next,
    b'"': _show_spaced,
    b"Td": _move,
    b"TD": _move_leading,
    b"T*": _next_line,
    b"Tm": _matrix,
}


def page_resources(page: DictionaryObject) -> DictionaryObject:
    """The page's resources, empty when there are none."""
    found = resolved(page.get("/Resources"))
    return found if isinstance(found, DictionaryObject) else DictionaryObject()
