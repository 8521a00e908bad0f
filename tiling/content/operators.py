"""What each graphics state operator does to the scene (ISO 32000-2, 8.4.4 and 8.6.8)."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from pypdf.generic import (
    ArrayObject,
    BooleanObject,
    DictionaryObject,
    FloatObject,
    NameObject,
    NumberObject,
    PdfObject,
    StreamObject,
)

from tiling.content.fonts import UNKNOWN_FONT, font_metrics
from tiling.content.lending import lend_resources
from tiling.content.lexer import number, numbers
from tiling.content.patterns import check_fineness
from tiling.content.resources import entry, safe_name
from tiling.content.scene import NO_FONT, ContentScene, figure, times
from tiling.content.state import Param
from tiling.content.streams import resolved, word

__all__ = [
    "DEFAULTS", "EXTENDED_PREFIX", "FONT_BY_STATE", "STATE_OPERATORS", "UNNAMED", "Handler", "extended_name",
    "set_font",
]  # fmt: skip

Handler = Callable[[ContentScene, list[bytes], bytes], None]

EXTENDED_PREFIX: Final = b"/Gs"

DEFAULTS: Final[dict[str, PdfObject]] = {
    "/CA": FloatObject(1),
    "/ca": FloatObject(1),
    "/BM": NameObject("/Normal"),
    "/AIS": BooleanObject(False),
    "/OP": BooleanObject(False),
    "/op": BooleanObject(False),
    "/SA": BooleanObject(False),
    "/TK": BooleanObject(True),
    "/TR2": NameObject("/Default"),
    "/BG2": NameObject("/Default"),
    "/UCR2": NameObject("/Default"),
    "/HT": NameObject("/Default"),
    "/OPM": NumberObject(0),
}
"""What undoes an extended graphics state entry (ISO 32000-2, table 57)."""
FONT_BY_STATE: Final = "fonts set by a graphics state"
"""A reason to draw a page whole, and one not to trust PDFium's picture of it: PDFium takes another font."""
UNNAMED: Final = "names without a letter"
"""Likewise: PDFium takes / for no name, which ISO 32000-2, 7.3.5, allows."""
_EXTENDED: Final = frozenset((*DEFAULTS, "/TR", "/BG", "/UCR", "/HTO", "/UseBlackPtComp"))
"""The entries that change how something is drawn and are no operators."""


def _operands(args: list[bytes], text: bytes) -> bytes:
    """On one line: a state's value is compared line by line with the one before."""
    return b" ".join(b" ".join((*args, text)).split())


def _plain(param: Param, operator: bytes) -> Handler:
    def handle(scene: ContentScene, args: list[bytes], text: bytes) -> None:
        operands = _operands(args, text)
        if operands:
            scene.set(param, operands + b" " + operator)

    return handle


def _dash(scene: ContentScene, args: list[bytes], text: bytes) -> None:
    operands = _operands(args, text)
    if operands:
        scene.set(Param.DASH, _from_zero(operands) + b" d")


def _from_zero(dash: bytes) -> bytes:
    """The operands of d with a phase that isn't negative: viewers differ in what they make of one that is.

    Twice the sum of all lengths is added to it until it is not (ISO 32000-2, 8.4.3.6).
    """
    pattern, bracket, after = dash.rpartition(b"]")
    words = after.split()
    round_ = 2 * sum(numbers(pattern))
    if not (words and number(words[-1]) < 0 < round_):
        return dash
    return pattern + bracket + b" " + figure(number(words[-1]) % round_)


def _device(param: Param, space: Param, operator: bytes, name: bytes) -> Handler:
    def handle(scene: ContentScene, args: list[bytes], text: bytes) -> None:
        operands = _operands(args, text)
        if operands:
            scene.set(param, operands + b" " + operator)
            scene.set(space, name)

    return handle


_OF_DEVICES: Final = (b" G", b" g", b" RG", b" rg", b" K", b" k")


def _space(param: Param, space: Param, operator: bytes) -> Handler:
    def handle(scene: ContentScene, args: list[bytes], _text: bytes) -> None:
        if not args:
            return
        name = args[-1]
        raw = entry(scene.resources, "/ColorSpace", safe_name(name))
        if raw is not None:
            name = scene.merger.name("/ColorSpace", raw, name)
        scene.set(space, name + b" " + operator)
        # That sets the space's first colour (ISO 32000-2, 8.6.8), but PDFium goes on in a device's colour given before.
        before = scene.state[param].partition(b"\n")[0]
        carried = before + b"\n" if raw is None and before.endswith(_OF_DEVICES) else b""
        scene.set(param, carried + name + b" " + operator)

    return handle


def _colour(param: Param, space: Param, operator: bytes) -> Handler:
    def handle(scene: ContentScene, args: list[bytes], text: bytes) -> None:
        words = [*args, text.strip()] if text.strip() else list(args)
        if not words:
            return
        if words[-1].startswith(b"/"):
            raw = entry(scene.resources, "/Pattern", safe_name(words[-1]))
            if raw is None:
                scene.missing.add(f"pattern {safe_name(words[-1])[1:]}")
            else:
                scene.reasons.add("patterns")
                check_fineness(raw, scene.parent, scene.clip)
            words[-1] = scene.merger.name("/Pattern", raw, words[-1])
        scene.set(param, scene.state[space] + b"\n" + _operands(words, b"") + b" " + operator)

    return handle


def _concat(scene: ContentScene, args: list[bytes], text: bytes) -> None:
    values = numbers(b" ".join((*args, text)))
    if len(values) < 6:
        return
    a, b, c, d, e, f = values[-6:]
    if (a, b, c, d, e, f) == (1.0, 0.0, 0.0, 1.0, 0.0, 0.0):
        return
    scene.ctm = times(scene.ctm, (a, b, c, d, e, f))
    scene.frame.steps.append(b" ".join((*args, text.strip(), b"cm")))


def set_font(scene: ContentScene, name: bytes, raw: PdfObject | None, size: bytes) -> None:
    """Tf: remember the measures under the name that will be written."""
    found = resolved(raw)
    if isinstance(found, DictionaryObject) and word(found.get("/Type", NameObject("/Font"))) != "/Font":
        raw = None
        scene.repairs.add(NO_FONT)
    if raw is None:
        scene.missing.add(f"font {safe_name(name)[1:]}")
    label = scene.merger.name("/Font", raw, name)
    value = label + b" " + size + b" Tf"
    if value not in scene.fonts:
        if label not in scene.fonts:
            scene.fonts[label] = font_metrics(resolved(raw)) if raw is not None else UNKNOWN_FONT
            _lend_resources(scene, label, resolved(raw))
        scene.fonts[value] = scene.fonts[label]
    scene.set(Param.FONT, value)


def _lend_resources(scene: ContentScene, label: bytes, font: PdfObject | None) -> None:
    """A Type 3 font without resources uses those of the page (ISO 32000-2, table 110)."""
    if not isinstance(font, DictionaryObject) or word(font.get("/Subtype")) != "/Type3" or "/Resources" in font:
        return
    copied = resolved(entry(scene.merger.dictionary, "/Font", safe_name(label)))
    if isinstance(copied, DictionaryObject):
        copied[NameObject("/Resources")] = scene.merger.copy(scene.resources)


def _font(scene: ContentScene, args: list[bytes], text: bytes) -> None:
    if not args and text.strip():
        # Without a name viewers take a font of their own.
        scene.missing.add("font without a name")
        scene.set(Param.FONT, text.strip() + b" Tf")
    elif args and args[0].startswith(b"/"):
        size = (b" ".join((*args[1:], text))).split()
        set_font(scene, args[0], entry(scene.resources, "/Font", safe_name(args[0])), size[0] if size else b"0")


def _extended(scene: ContentScene, args: list[bytes], _text: bytes) -> None:
    if not args:
        return
    source = resolved(entry(scene.resources, "/ExtGState", safe_name(args[-1])))
    if not isinstance(source, DictionaryObject):
        scene.missing.add(f"graphics state {safe_name(args[-1])[1:]}")
        return
    if args[-1] == b"/":
        scene.reasons.add(UNNAMED)
    entries = dict(scene.extended.get(scene.state[Param.EXTENDED], {}))
    before = dict(entries)
    for key in source:
        raw, value = source.raw_get(key), resolved(source.raw_get(key))
        if key in _LIKE_OPERATORS and value is not None:
            param, operator = _LIKE_OPERATORS[key]
            scene.set(param, _operand(value) + b" " + operator)
        elif key == "/D" and isinstance(value, ArrayObject) and len(value) >= 2:
            scene.set(Param.DASH, _from_zero(_operand(value[0]) + b" " + _operand(value[1])) + b" d")
        elif key == "/Font" and isinstance(value, ArrayObject) and len(value) >= 2:
            set_font(scene, b"/F", value[0], _operand(value[1]))
            scene.reasons.add(FONT_BY_STATE)
        elif key == "/SMask":
            _mask(scene, raw, value)
        elif key in _EXTENDED and value is not None:
            entries[str(key)] = scene.merger.copy(raw)
    if entries != before:
        scene.set(Param.EXTENDED, extended_name(scene, entries))


_LIKE_OPERATORS: Final = {
    "/LW": (Param.WIDTH, b"w"),
    "/LC": (Param.CAP, b"J"),
    "/LJ": (Param.JOIN, b"j"),
    "/ML": (Param.MITER, b"M"),
    "/RI": (Param.INTENT, b"ri"),
    "/FL": (Param.FLATNESS, b"i"),
}


def _operand(value: PdfObject) -> bytes:
    value = resolved(value) or value
    if isinstance(value, ArrayObject):
        return b"[" + b" ".join(_operand(item) for item in value) + b"]"
    if isinstance(value, NameObject):
        return str(value).encode("latin-1", "replace")
    try:
        return figure(float(value))  # type: ignore[arg-type]
    except (TypeError, ValueError):
        return b"0"


def _mask(scene: ContentScene, raw: PdfObject, value: PdfObject | None) -> None:
    """A soft mask lies where the CTM puts it now: it is a step of its frame and not a parameter."""
    if isinstance(value, DictionaryObject):
        scene.masked = True
        scene.reasons.add("soft masks")
        group = resolved(value.get("/G"))
        if isinstance(group, StreamObject) and not isinstance(resolved(group.get("/Resources")), DictionaryObject):
            raw = DictionaryObject({NameObject(key): value.raw_get(key) for key in value})
            raw[NameObject("/G")] = lend_resources(scene, group)
    elif not scene.masked:
        return
    state = DictionaryObject({NameObject("/SMask"): scene.merger.copy(raw)})
    scene.frame.steps.append(scene.merger.keep("/ExtGState", state, b"/Sm") + b" gs")


def extended_name(scene: ContentScene, entries: dict[str, PdfObject]) -> bytes:
    """The gs operator for these entries together; the same entries get the same name."""
    for value, known in scene.extended.items():
        if known == entries:
            return value
    state = DictionaryObject({NameObject(key): value for key, value in sorted(entries.items())})
    value = scene.merger.keep("/ExtGState", state, EXTENDED_PREFIX) + b" gs"
    scene.extended[value] = entries
    return value


STATE_OPERATORS: Final[dict[bytes, Handler]] = {
    b"w": _plain(Param.WIDTH, b"w"),
    b"J": _plain(Param.CAP, b"J"),
    b"j": _plain(Param.JOIN, b"j"),
    b"M": _plain(Param.MITER, b"M"),
    b"d": _dash,
    b"i": _plain(Param.FLATNESS, b"i"),
    b"ri": _plain(Param.INTENT, b"ri"),
    b"Tc": _plain(Param.CHAR_SPACE, b"Tc"),
    b"Tw": _plain(Param.WORD_SPACE, b"Tw"),
    b"Tz": _plain(Param.SCALE, b"Tz"),
    b"TL": _plain(Param.LEADING, b"TL"),
    b"Tr": _plain(Param.RENDER, b"Tr"),
    b"Ts": _plain(Param.RISE, b"Ts"),
    b"Tf": _font,
    b"gs": _extended,
    b"cm": _concat,
    b"G": _device(Param.STROKE, Param.STROKE_SPACE, b"G", b"/DeviceGray CS"),
    b"RG": _device(Param.STROKE, Param.STROKE_SPACE, b"RG", b"/DeviceRGB CS"),
    b"K": _device(Param.STROKE, Param.STROKE_SPACE, b"K", b"/DeviceCMYK CS"),
    b"g": _device(Param.FILL, Param.FILL_SPACE, b"g", b"/DeviceGray cs"),
    b"rg": _device(Param.FILL, Param.FILL_SPACE, b"rg", b"/DeviceRGB cs"),
    b"k": _device(Param.FILL, Param.FILL_SPACE, b"k", b"/DeviceCMYK cs"),
    b"CS": _space(Param.STROKE, Param.STROKE_SPACE, b"CS"),
    b"cs": _space(Param.FILL, Param.FILL_SPACE, b"cs"),
    b"SC": _colour(Param.STROKE, Param.STROKE_SPACE, b"SC"),
    b"SCN": _colour(Param.STROKE, Param.STROKE_SPACE, b"SCN"),
    b"sc": _colour(Param.FILL, Param.FILL_SPACE, b"sc"),
    b"scn": _colour(Param.FILL, Param.FILL_SPACE, b"scn"),
}
