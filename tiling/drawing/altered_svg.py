"""A pattern as an SVG file in the conventions that the reader understands, at its true size in any editor.

One user unit is one millimetre. Pieces are ``<g class="piece">``, roles are class names, layers are groups with a
label. Béziers stay Béziers; the same pattern gives the same bytes.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Iterator
from xml.sax.saxutils import escape, quoteattr

from tiling.fonts.shaping import reads_leftwards
from tiling.lengths import decimal_number
from tiling.pattern import Label, Line, Mark, Pattern, Picture, Role, Tag, unused_name
from tiling.shapes import Affine, Op, Path
from tiling.shapes.paths import POINTS_OF
from tiling.style import Colour, Stroke, Style
from tiling.typefaces import AskedFace

__all__ = ["svg_bytes"]

_LAYERS = "http://www.inkscape.org/namespaces/inkscape"
"""The attribute name space in which vector editors mark a group as a layer and label it."""

_CAPS = ("butt", "round", "square")
_JOINS = ("miter", "round", "bevel")
_FAMILIES = {"Helvetica": "Helvetica, sans-serif", "Times": "Times, serif", "Courier": "Courier, monospace"}
_MOVE = int(Op.MOVE)
_LETTERS = {_MOVE: "M", int(Op.LINE): "L", int(Op.CURVE): "C", int(Op.CLOSE): "Z"}
_COUNTS = POINTS_OF.tolist()
_FINEST = 0.05
"""What a line of no width is drawn with, mm."""
_ID = re.compile(r"[^\W\d][\w.-]*")
_DATA_NAME = re.compile(r"[a-z][a-z0-9-]*")
# XML 1.0, section 2.2: what is no character; and marks that steer a terminal or turn the writing round.
_NO_TEXT = re.compile("[\x00-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff\u200e\u200f\u202a-\u202e\u2066-\u2069]")


def svg_bytes(pattern: Pattern) -> bytes:
    """The whole file, UTF-8."""
    return "".join(_Writer(pattern).parts()).encode("utf-8")


class _Writer:
    """Writes one pattern; keeps the ids given out and the clips defined."""

    def __init__(self, pattern: Pattern) -> None:
        self._pattern = pattern
        self._titles = {piece.ident: piece.title for piece in pattern.pieces}
        self._clips: dict[bytes, tuple[str, Path]] = {}
        self._begun: set[str] = set()
        # Pieces keep their ids whatever their lines are called.
        self._ids = {name for ident in self._titles if (name := _as_id(ident))}

    def parts(self) -> Iterator[str]:
        """The file's text, part by part."""
        width, height = _decimal(self._pattern.size.width), _decimal(self._pattern.size.height)
        yield '<?xml version="1.0" encoding="UTF-8"?>\n'
        yield '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
        yield f' xmlns:layer="{_LAYERS}" width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}"'
        # So that the scale its source was given is not given to it again.
        scale = self._pattern.scale
        yield f' data-scaled="{decimal_number(scale, 9)}">\n' if scale != 1.0 else ">\n"
        yield f"<title>{_text(self._pattern.title)}</title>\n"
        body = list(self._body())
        for name, path in self._clips.values():
            yield f'<clipPath id="{name}"><path d="{_path_data(path)}"/></clipPath>\n'
        yield from body
        yield "</svg>\n"

    def _body(self) -> Iterator[str]:
        """Marks in drawing order; neighbours of one layer and one piece share their groups."""
        layer = piece = ""
        for mark in self._pattern.marks:
            tag = mark.tag
            if tag.layer != layer:
                yield _end(piece) + _end(layer)
                layer, piece = tag.layer, ""
                if layer:
                    yield f'<g layer:groupmode="layer" layer:label={_quoted(layer)}>\n'
            if tag.piece != piece:
                yield _end(piece)
                piece = tag.piece
                if piece:
                    yield self._piece(piece)
            yield self._mark(mark)
        yield _end(piece) + _end(layer)

    def _piece(self, ident: str) -> str:
        """The start of a piece's group; one met again, or with an id that XML can't hold, is named in data-piece."""
        again = ident in self._begun
        self._begun.add(ident)
        name = _as_id(ident)
        own = f" id={_quoted(name)}" if name and not again else ""
        also = f" data-piece={_quoted(ident)}" if again or name != ident else ""
        title = self._titles.get(ident, ident)
        shown = f" data-title={_quoted(title)}" if not again and title != ident else ""
        return f'<g class="piece"{own}{also}{shown}>\n'

    def _mark(self, mark: Mark) -> str:
        if isinstance(mark, Line):
            clip = self._clip(mark.clip)
            return f'<path{self._tag(mark.tag)} d="{_path_data(mark.path)}"{_style(mark.style)}{clip}/>\n'
        inner = self._label(mark) if isinstance(mark, Label) else self._picture(mark)
        # The clip lies on the sheet, outside the mark's own transform.
        return f"<g{self._clip(mark.clip)}>{inner}</g>\n" if mark.clip is not None else f"{inner}\n"

    def _clip(self, clip: Path | None) -> str:
        if clip is None:
            return ""
        key = clip.ops.tobytes() + clip.points.tobytes()
        if key not in self._clips:
            self._clips[key] = (self._free_id(f"clip-{len(self._clips) + 1}"), clip)
        return f' clip-path="url(#{self._clips[key][0]})"'

    def _free_id(self, wanted: str) -> str:
        name = unused_name(wanted, self._ids)
        self._ids.add(name)
        return name

    def _tag(self, tag: Tag) -> str:
        """The attributes that say what a mark is. An id already given out is left away."""
        words = []
        name = _as_id(tag.ident)
        if name and name not in self._ids:
            self._ids.add(name)
            words.append(f" id={_quoted(name)}")
        if tag.role is not Role.PLAIN:
            words.append(f' class="{tag.role.value}"')
        if tag.name:
            words.append(f" data-name={_quoted(tag.name)}")
        words += [f" data-{key}={_quoted(value)}" for key, value in tag.extra if _DATA_NAME.fullmatch(key)]
        return "".join(words)

    def _label(self, label: Label) -> str:
        face = AskedFace.of(label.font)
        family = _FAMILIES.get(face.family, face.family)
        heavy = ' font-weight="bold"' if face.bold else ""
        slanted = ' font-style="italic"' if face.slanted else ""
        # In such a line the end is at the left.
        leftwards = reads_leftwards(label.text, label.direction)
        turned = ' direction="rtl" text-anchor="end"' if leftwards else ""
        kept = ' xml:space="preserve"' if label.text != " ".join(label.text.split()) else ""
        return (
            f"<text{self._tag(label.tag)}{_placed(label.at)} font-family={_quoted(family)}"
            f' font-size="{decimal_number(label.size, 6)}"{heavy}{slanted}{turned}'
            f"{_fill(label.colour, label.opacity)}{kept}>"
            f"{_text(label.text)}</text>"
        )

    def _picture(self, picture: Picture) -> str:
        kind = "image/png" if picture.data.startswith(b"\x89PNG") else "image/jpeg"
        data = base64.b64encode(picture.data).decode("ascii")
        faint = f' opacity="{_decimal(picture.opacity)}"' if picture.opacity < 1 else ""
        return (
            f'<image{self._tag(picture.tag)}{_placed(picture.at)} width="1" height="1"'
            f' preserveAspectRatio="none"{faint} xlink:href="data:{kind};base64,{data}"/>'
        )


def _end(name: str) -> str:
    return "</g>\n" if name else ""


def _decimal(value: float) -> str:
    return decimal_number(value, 4)


def _path_data(path: Path) -> str:
    words = []
    at = 0
    points = [f"{_decimal(x)} {_decimal(y)}" for x, y in path.points.tolist()]
    last = -1
    for op in path.ops.tolist():
        count = _COUNTS[op]
        # A letter is needed only where the step changes; after M, plain points would mean lines.
        letter = "" if op == last and op != _MOVE else _LETTERS[op]
        words.append(letter + " ".join(points[at : at + count]))
        at += count
        last = op
    return " ".join(words)


def _style(style: Style) -> str:
    fill = _fill(style.fill, style.fill_opacity) if style.fill is not None else ' fill="none"'
    rule = ' fill-rule="evenodd"' if style.even_odd and style.fill is not None else ""
    return fill + rule + (_stroke(style.stroke) if style.stroke is not None else "")


def _fill(colour: Colour, opacity: float) -> str:
    faint = f' fill-opacity="{_decimal(opacity)}"' if opacity < 1 else ""
    return f' fill="{_colour(colour)}"{faint}'


def _stroke(stroke: Stroke) -> str:
    # A width of 0 means the finest line in PDF, but none at all in SVG.
    words = [f' stroke="{_colour(stroke.colour)}" stroke-width="{_decimal(max(stroke.width, _FINEST))}"']
    if stroke.dashes:
        words.append(f' stroke-dasharray="{" ".join(_decimal(dash) for dash in stroke.dashes)}"')
        if stroke.dash_offset:
            words.append(f' stroke-dashoffset="{_decimal(stroke.dash_offset)}"')
    if stroke.cap:
        words.append(f' stroke-linecap="{_CAPS[stroke.cap]}"')
    if stroke.join:
        words.append(f' stroke-linejoin="{_JOINS[stroke.join]}"')
    elif stroke.miter_limit != 4.0:
        words.append(f' stroke-miterlimit="{_decimal(stroke.miter_limit)}"')
    if stroke.opacity < 1:
        words.append(f' stroke-opacity="{_decimal(stroke.opacity)}"')
    return "".join(words)


def _colour(colour: Colour) -> str:
    parts = [round(255 * min(1.0, max(0.0, part))) for part in (colour.red, colour.green, colour.blue)]
    return "#" + "".join(f"{part:02x}" for part in parts)


def _placed(at: Affine) -> str:
    if (at.a, at.b, at.c, at.d) == (1.0, 0.0, 0.0, 1.0):
        return f' transform="translate({_decimal(at.e)} {_decimal(at.f)})"'
    turn = " ".join(decimal_number(v, 9) for v in (at.a, at.b, at.c, at.d))
    return f' transform="matrix({turn} {_decimal(at.e)} {_decimal(at.f)})"'


def _as_id(text: str) -> str:
    """The text as an XML id: itself where it can be one, an empty text for none."""
    if not text or _ID.fullmatch(text):
        return text
    plain = re.sub(r"[^\w.-]+", "-", text).strip("-.")
    return plain if _ID.fullmatch(plain) else f"id-{plain}" if plain else ""


def _text(text: str) -> str:
    return escape(_NO_TEXT.sub("", text))


def _quoted(text: str) -> str:
    return quoteattr(_NO_TEXT.sub("", text))
