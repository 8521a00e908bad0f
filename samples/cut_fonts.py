"""Cuts the fonts that the product carries out of the Liberation fonts: `python samples/cut_fonts.py FOLDER`.

FOLDER holds the Liberation fonts 2.1 (Debian: fonts-liberation2), which are as wide as Helvetica, Times and Courier and
under the SIL Open Font License 1.1. What is cut out is renamed, as the licence asks.
"""

from __future__ import annotations

import sys
from itertools import product
from pathlib import Path

from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont

FACES = ("Sans", "Serif", "Mono")
STYLES = ("Regular", "Bold", "Italic", "BoldItalic")
KEPT = (
    (0x20, 0x7E), (0xA0, 0x17F), (0x18F, 0x18F), (0x192, 0x192), (0x1A0, 0x1A1), (0x1AF, 0x1B0), (0x1CD, 0x1DC),
    (0x1E6, 0x1E7), (0x1FA, 0x1FF), (0x218, 0x21B), (0x259, 0x259), (0x2BB, 0x2BC), (0x2C6, 0x2DD), (0x37E, 0x45F),
    (0x462, 0x463), (0x472, 0x475), (0x490, 0x4F9), (0x5D0, 0x5EA), (0x5F0, 0x5F4), (0x1E80, 0x1E85),
    (0x1EA0, 0x1EF9), (0x2000, 0x206F), (0x2070, 0x209C), (0x20A0, 0x20BF), (0x2100, 0x2126), (0x212E, 0x212E),
    (0x2150, 0x215F), (0x2190, 0x21FF), (0x2200, 0x22FF), (0x2300, 0x2321), (0x25A0, 0x25FF), (0x2610, 0x26FF),
)  # fmt: skip
"""European scripts and Hebrew, with the signs of measuring."""


def cut(source: Path, target: Path, family: str, style: str) -> None:
    """One font with the glyphs of `KEPT`, without hints and layout tables."""
    font = TTFont(source)
    options = Options(hinting=False, layout_features=[], notdef_outline=True, recommended_glyphs=True)
    options.drop_tables += ["GSUB", "GPOS", "GDEF", "kern"]
    options.name_IDs = [0, 13, 14]
    subsetter = Subsetter(options)
    subsetter.populate(unicodes=[code for first, last in KEPT for code in range(first, last + 1)])
    subsetter.subset(font)
    for number, text in ((1, family), (2, style), (4, f"{family} {style}"), (6, f"{family.replace(' ', '')}-{style}")):
        font["name"].setName(text, number, 3, 1, 0x409)
    font["head"].created = font["head"].modified = 0
    font.recalcTimestamp = False
    font.save(target)


def main() -> None:
    """All of them, beside the licence that stands in the folder already."""
    folder = Path(__file__).resolve().parent.parent / "tiling" / "fonts"
    for face, style in product(FACES, STYLES):
        cut(Path(sys.argv[1]) / f"Liberation{face}-{style}.ttf", folder / f"{face}-{style}.ttf",
            f"Pageseam {face}", style)  # fmt: skip


if __name__ == "__main__":
    main()
