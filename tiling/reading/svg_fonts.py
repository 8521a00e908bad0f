"""Which of the fonts at hand stands in for a text's CSS font properties, and the findings where none is right."""

from __future__ import annotations

import unicodedata

from calibrate.printable import printable
from tiling.pattern import FindingKind
from tiling.reading.findings import FindingLog
from tiling.reading.svg_cascade import Computed
from tiling.typefaces import WIDE, family_like, fits_winansi, missing_glyphs, standard_font

__all__ = ["drawable", "font_of"]

_SAME = {
    "helvetica": "Helvetica", "sans-serif": "Helvetica", "sans": "Helvetica", "system-ui": "Helvetica",
    "ui-sans-serif": "Helvetica", "times": "Times", "times-roman": "Times", "serif": "Times", "ui-serif": "Times",
    "courier": "Courier", "monospace": "Courier", "mono": "Courier", "ui-monospace": "Courier", "vera": WIDE,
}  # fmt: skip


def font_of(style: Computed, log: FindingLog) -> str:
    """The base font for a text's style; a family that had to be replaced is noted once."""
    bold = style.get("font-weight", "normal").strip().lower()
    heavy = bold in {"bold", "bolder"} or (bold.isdigit() and int(bold) >= 600)
    slanted = style.get("font-style", "normal").strip().lower().split(" ")[0] in {"italic", "oblique"}
    family = _family(style.get("font-family", "sans-serif"), log)
    if family == WIDE:
        return WIDE
    return standard_font(family, bold=heavy, slanted=slanted)


def _family(text: str, log: FindingLog) -> str:
    names = [name.strip().strip("'\"").strip() for name in text.split(",")]
    first = next((name for name in names if name), "sans-serif")
    near = next((_SAME[name.lower()] for name in names if name.lower() in _SAME), None) or family_like(first)
    if first.lower() in _SAME:
        return near
    shown = printable(first, "")[:40]
    log.add(FindingKind.TEXT_FONT_REPLACED, f"The font '{shown}' is not at hand; its text is written in {near}.")
    return near


def drawable(text: str, font: str, log: FindingLog) -> str:
    """The font that shows all of the text: the one asked for, or the wide one; what neither has is noted."""
    if fits_winansi(text):
        return font
    missing = sorted(c for c in missing_glyphs(text) if not c.isspace())
    if missing:
        names = ", ".join(f"U+{ord(c):04X} {unicodedata.name(c, '')}".strip() for c in missing[:5])
        more = f" and {len(missing) - 5} more" if len(missing) > 5 else ""
        log.add(
            FindingKind.GLYPH_MISSING, f"No font at hand has the characters {names}{more}; a box is drawn for them."
        )
    return WIDE
