"""Tiny fonts made on the spot, so that no test needs one of the machine's."""

from __future__ import annotations

from pathlib import Path

from fontTools.feaLib.builder import addOpenTypeFeaturesFromString
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.pens.ttGlyphPen import TTGlyphPen

EM = 1000


def make_font(
    file: Path,
    family: str,
    letters: dict[str, tuple[int, int]],
    *,
    weight: int = 400,
    italic: bool = False,
    features: str = "",
    curves: str = "glyf",
    more: dict[str, tuple[int, int]] | None = None,
) -> Path:
    """A font whose glyph for each letter is a box standing on the baseline, as (advance, height) in a thousand units.

    Args:
        file: where it is written.
        family: its name.
        letters: by character; its glyph is called ``u`` and its code point in hexadecimal.
        weight: as OpenType counts it, 400 to 700.
        italic: whether it says that it is slanted.
        features: rules for shaping in Adobe's feature language.
        curves: "glyf" for quadratic outlines, "CFF" for cubic ones.
        more: glyphs without a character, by name.
    """
    sizes = {".notdef": (500, 700), "space": (250, 0)}
    sizes |= {f"u{ord(c):04X}": size for c, size in letters.items()} | (more or {})
    builder = FontBuilder(EM, isTTF=curves == "glyf")
    builder.font.cfg["fontTools.ttLib.tables.otBase:USE_HARFBUZZ_REPACKER"] = False  # older ones call it by old names
    builder.setupGlyphOrder(list(sizes))
    builder.setupCharacterMap({32: "space", **{ord(c): f"u{ord(c):04X}" for c in letters}})
    drawn = {}
    for name, (advance, height) in sizes.items():
        pen = TTGlyphPen(None) if curves == "glyf" else T2CharStringPen(advance, None)
        if height:
            pen.moveTo((0, 0))
            for corner in ((0, height), (advance, height), (advance, 0)):
                pen.lineTo(corner)
            pen.closePath()
        drawn[name] = pen.glyph() if curves == "glyf" else pen.getCharString()
    if curves == "glyf":
        builder.setupGlyf(drawn)
    else:
        builder.setupCFF(family.replace(" ", ""), {}, drawn, {})
    builder.setupHorizontalMetrics({name: (advance, 0) for name, (advance, _) in sizes.items()})
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": family, "styleName": "Regular"})
    builder.setupOS2(usWeightClass=weight, usWidthClass=5, fsSelection=0x01 if italic else 0x40)
    builder.setupPost()
    if features:
        addOpenTypeFeaturesFromString(builder.font, features)
    file.parent.mkdir(parents=True, exist_ok=True)
    builder.save(file)
    return file
