"""Colours and strokes of SVG as values of ours."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite

import tinycss2.color3
import tinycss2.color4
from lxml import etree

from calibrate.printable import printable
from tiling.pattern import FindingKind
from tiling.reading.findings import FindingLog
from tiling.reading.svg_cascade import Cascade, Computed
from tiling.reading.svg_guard import local_name
from tiling.reading.svg_units import Axis, Lengths, split_unit
from tiling.style import BLACK, Colour, Stroke, Style

__all__ = ["Paint", "Painter", "opacity_of", "reference", "takes_context"]

_REFERENCE = re.compile(r"""url\(\s*(["']?)([^"')]*)\1\s*\)\s*(.*)""", re.DOTALL)
_SHORTEST_DASH = 0.02
"""A dash pattern that repeats sooner than this (mm) looks whole, and would keep a printer busy for ever."""

_CAPS = {"butt": 0, "round": 1, "square": 2}
_JOINS = {"miter": 0, "round": 1, "bevel": 2, "miter-clip": 0, "arcs": 0}


def reference(text: str | None) -> str | None:
    """The id in ``url(#id)``, an empty text when the address lies outside the file, None when there is no url."""
    found = _REFERENCE.match(text.strip()) if text else None
    if found is None:
        return None
    target = found[2].strip()
    return target[1:] if target.startswith("#") else ""


def opacity_of(text: str | None) -> float:
    """An opacity from 0 to 1, as a number or per cent; 1 when missing or unreadable."""
    parsed = split_unit(text) if text else None
    if parsed is None or parsed[1] not in {"", "%"}:
        return 1.0
    return min(1.0, max(0.0, parsed[0] / 100 if parsed[1] else parsed[0]))


def takes_context(style: Computed) -> bool:
    """Whether a style's paints depend on what uses the element."""
    return any(style.get(name, "").strip().startswith("context-") for name in ("fill", "stroke"))


@dataclass(frozen=True, slots=True)
class Paint:
    """A colour with its own transparency."""

    colour: Colour
    opacity: float = 1.0


@dataclass(frozen=True, slots=True)
class PaintUser:
    """The line or ``use`` that shows a marker or copy: its style, and what works out its paints."""

    painter: Painter
    style: Computed


@dataclass(frozen=True, slots=True)
class Painter:
    """Works out styles for one file. `ids` are its elements by id; `user` is what uses a marker or copy."""

    ids: Mapping[str, etree._Element]
    cascade: Cascade
    log: FindingLog
    user: PaintUser | None = None

    def within(self, style: Computed) -> Painter:
        """The painter for the content of a marker or copy, whose ``context-fill`` and ``-stroke`` are its user's."""
        return Painter(self.ids, self.cascade, self.log, PaintUser(self, style))

    def ink(self, style: Computed, name: str) -> Paint | None:
        """The paint of ``fill`` or ``stroke``, None for none."""
        paint, opacity = self._source(style, name), opacity_of(style.get(f"{name}-opacity"))
        return Paint(paint.colour, paint.opacity * opacity) if paint else None

    def _source(self, style: Computed, name: str) -> Paint | None:
        """As `ink`, without ``fill-opacity`` or ``stroke-opacity``."""
        return self._paint(style.get(name, "black" if name == "fill" else "none").strip(), style)

    def _paint(self, text: str, style: Computed) -> Paint | None:
        if text == "none":
            return None
        if text in {"context-fill", "context-stroke"}:
            user = self.user
            return user.painter._source(user.style, text.removeprefix("context-")) if user else None
        found = _REFERENCE.match(text)
        if found is not None:
            return self._server(found[2].strip(), found[3].strip(), style)
        ink = colour_of(text, style)
        if ink is None:
            self.log.add(FindingKind.STYLE_NOT_READ, f"The colour '{text[:40]}' can't be read; black was taken.")
            ink = Paint(BLACK)
        return ink

    def _server(self, target: str, fallback: str, style: Computed) -> Paint | None:
        server = self.ids.get(target[1:]) if target.startswith("#") else None
        if server is not None and local_name(server) in {"linearGradient", "radialGradient"}:
            self.log.add(
                FindingKind.GRADIENT_FLATTENED, "A colour gradient is drawn as one even colour between its ends."
            )
            return self._mean(server)
        if server is not None and local_name(server) in {"pattern", "hatch"}:
            self.log.add(FindingKind.GRADIENT_FLATTENED, "A fill of repeated shapes is drawn as an even light grey.")
            return Paint(BLACK, 0.15)
        if server is None:
            shown = printable(target, "")[:40]
            self.log.add(FindingKind.REFERENCE_MISSING, f"The paint '{shown}' is not in the file.")
        return self._paint(fallback, style) if fallback else None

    def _mean(self, gradient: etree._Element) -> Paint | None:
        """The mean of a gradient's stops; stops may be taken from another gradient."""
        for _ in range(8):
            stops = [stop for stop in gradient if local_name(stop) == "stop"]
            if stops:
                return _mean_of([self._stop(stop) for stop in stops])
            link = gradient.get("href") or gradient.get("{http://www.w3.org/1999/xlink}href") or ""
            other = self.ids.get(link[1:]) if link.startswith("#") else None
            if other is None:
                return None
            gradient = other
        return None

    def _stop(self, stop: etree._Element) -> Paint:
        declared = self.cascade.declared(stop)
        ink = colour_of(declared.get("stop-color", "black"), declared) or Paint(BLACK)
        return Paint(ink.colour, ink.opacity * opacity_of(declared.get("stop-opacity")))

    def style(self, computed: Computed, lengths: Lengths, scale: float, opacity: float) -> Style:
        """The style of a shape.

        Args:
            computed: its inherited properties.
            lengths: the viewport its lengths refer to.
            scale: mm per user unit along its strokes.
            opacity: of the element and the groups around it.
        """
        fill, stroke = self.ink(computed, "fill"), self.ink(computed, "stroke")
        return Style(
            self._stroke(Paint(stroke.colour, stroke.opacity * opacity), computed, lengths, scale) if stroke else None,
            fill.colour if fill else None,
            fill.opacity * opacity if fill else 1.0,
            computed.get("fill-rule", "").strip() == "evenodd",
        )

    def _stroke(self, ink: Paint, computed: Computed, lengths: Lengths, scale: float) -> Stroke | None:
        font = float(computed.get("font-size", 16.0))
        width = lengths.length(computed.get("stroke-width"), Axis.DIAGONAL, 1.0, font)
        if width <= 0:
            return None
        dashes = tuple(d * scale for d in _dashes(computed.get("stroke-dasharray"), lengths, font))
        if sum(dashes) < _SHORTEST_DASH:
            dashes = ()
        limit = split_unit(computed.get("stroke-miterlimit", "4"))
        return Stroke(
            width * scale,
            ink.colour,
            dashes,
            lengths.length(computed.get("stroke-dashoffset"), Axis.DIAGONAL, 0.0, font) * scale,
            _CAPS.get(computed.get("stroke-linecap", "butt").strip(), 0),
            _JOINS.get(computed.get("stroke-linejoin", "miter").strip(), 0),
            limit[0] if limit and limit[0] >= 1 else 4.0,
            ink.opacity,
        )


def _dashes(text: str | None, lengths: Lengths, font: float) -> tuple[float, ...]:
    """The dash pattern in user units; an odd list is doubled, one without length is none (SVG 2, section 13.5.6)."""
    if not text or text.strip() == "none":
        return ()
    words = re.split(r"[\s,]+", text.strip().strip(","))[:1000]
    dashes = tuple(lengths.length(word, Axis.DIAGONAL, -1.0, font) for word in words)
    if min(dashes) < 0 or sum(dashes) <= 0:
        return ()
    return dashes * 2 if len(dashes) % 2 else dashes


def _mean_of(inks: list[Paint]) -> Paint:
    n = len(inks)
    red, green, blue = (sum(getattr(ink.colour, part) for ink in inks) / n for part in ("red", "green", "blue"))
    return Paint(Colour(red, green, blue), sum(ink.opacity for ink in inks) / n)


def colour_of(text: str, style: Mapping[str, str]) -> Paint | None:
    """A colour by name, #hex or function; None when it is none of these."""
    word = text.strip()
    if word.lower() == "currentcolor":
        word = style.get("color", "black").strip()
        if word.lower() == "currentcolor":
            word = "black"
    # An ICC colour may follow the sRGB one (SVG 1.1, section 11.2); only the latter is used.
    word = re.sub(r"\s*(?:icc-color|device-[a-z]+)\(.*", "", word)
    parsed = tinycss2.color3.parse_color(word) or _modern(word)
    if parsed is None or parsed == "currentColor":
        return None
    red, green, blue, alpha = (min(1.0, max(0.0, float(v))) if isfinite(v) else 0.0 for v in parsed)
    return Paint(Colour(red, green, blue), alpha)


def _modern(word: str) -> tuple[float, float, float, float] | None:
    """The notations of CSS Color Level 4, brought to sRGB."""
    parsed = tinycss2.color4.parse_color(word)
    if parsed is None or isinstance(parsed, str):
        return None
    if parsed.space == "srgb":
        return (*parsed.coordinates, parsed.alpha)
    return None
