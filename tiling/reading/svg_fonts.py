"""Which of the fonts at hand writes a text, by its CSS font properties, and the finding where none is right."""

from __future__ import annotations

from calibrate.printable import printable
from tiling.fonts.shaping import Direction, available
from tiling.pattern import FindingKind
from tiling.reading.findings import FindingLog
from tiling.reading.svg_cascade import Computed
from tiling.typefaces import AskedFace, family_like

__all__ = ["direction_of", "font_of"]

_SAME = {
    "helvetica": "Helvetica", "sans-serif": "Helvetica", "sans": "Helvetica", "system-ui": "Helvetica",
    "ui-sans-serif": "Helvetica", "times": "Times", "times-roman": "Times", "serif": "Times", "ui-serif": "Times",
    "courier": "Courier", "monospace": "Courier", "mono": "Courier", "ui-monospace": "Courier",
}  # fmt: skip


def font_of(style: Computed, log: FindingLog) -> str:
    """The face for a text's style, carried along or the machine's; a family that had to be replaced is noted once."""
    bold = style.get("font-weight", "normal").strip().lower()
    heavy = bold in {"bold", "bolder"} or (bold.isdigit() and int(bold) >= 600)
    slanted = style.get("font-style", "normal").strip().lower().split(" ")[0] in {"italic", "oblique"}
    family = _family(style.get("font-family", "sans-serif"), log)
    face = AskedFace(family, heavy, slanted)
    return face.standard if family in _SAME.values() else face.name


def direction_of(style: Computed) -> Direction:
    """Which way a text's lines run."""
    return Direction.LEFTWARDS if style.get("direction", "ltr").strip() == "rtl" else Direction.RIGHTWARDS


def _family(text: str, log: FindingLog) -> str:
    names = [name.strip().strip("'\"").strip() for name in text.split(",")]
    first = next((name for name in names if name), "sans-serif")
    found = next((name for name in names if name.lower() in _SAME or (name and available(name))), "")
    used = _SAME.get(found.lower(), found) or family_like(first)
    if found != first:
        shown = printable(first, "")[:40]
        log.add(FindingKind.TEXT_FONT_REPLACED, f"The font '{shown}' is not at hand; its text is written in {used}.")
    return used
