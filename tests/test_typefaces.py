"""The fonts that stand in for those a drawing asks for."""

from __future__ import annotations

from itertools import product

import pytest
from reportlab.pdfbase import pdfmetrics

from tiling.fonts.shaping import missing_glyphs, width_of
from tiling.typefaces import CARRIED, STANDARD, AskedFace, embedded, family_like, fits_winansi, standard_font


def test_the_standard_fonts_are_those_of_the_standard() -> None:
    """The 14 of ISO 32000-1, 9.6.2.2, as reportlab lists them."""
    assert set(pdfmetrics.standardFonts) == STANDARD
    families, weights = ("Helvetica", "Times", "Courier"), list(product((False, True), repeat=2))
    named = {standard_font(family, bold=b, slanted=s) for family in families for b, s in weights}
    assert named == STANDARD - {"Symbol", "ZapfDingbats"}


@pytest.mark.parametrize(
    ("asked", "family"),
    [
        ("Cambria", "Times"),
        ("Palatino Linotype", "Times"),
        ("Noto Sans", "Helvetica"),
        ("Noto Serif", "Times"),
        ("Sans Serif", "Helvetica"),
        ("DejaVu Sans Mono", "Courier"),
        ("Consolas", "Courier"),
        ("Verdana", "Helvetica"),
        ("", "Helvetica"),
    ],
)
def test_a_family_is_replaced_by_the_standard_one_most_like_it(asked: str, family: str) -> None:
    """By the words in its name; common practice, no source."""
    assert family_like(asked) == family


@pytest.mark.parametrize(("font", "thousandths"), [("Helvetica", 722), ("Times-Roman", 722), ("Courier", 600)])
def test_widths_are_those_of_the_published_metrics(font: str, thousandths: int) -> None:
    """The H of Adobe's AFM files (Helvetica and Times-Roman 722, Courier 600 for every letter; from memory)."""
    assert width_of("H", font, 10.0) == pytest.approx(thousandths / 100)


def test_what_no_font_can_write_is_named_once() -> None:
    """European scripts, Hebrew and the signs of measuring by what is carried along, Chinese by none at hand."""
    assert missing_glyphs("Größe 12 € Łód Фартук Ποδιά חלוקים ⅜″ ≥ ×") == ""
    assert missing_glyphs("布 Łód 布料") == "布料"


@pytest.mark.parametrize("name", sorted(CARRIED))
def test_the_fonts_carried_along_stand_in_for_the_standard_ones(name: str) -> None:
    """All of WinAnsi (ISO 32000-1, annex D.2), as wide as the published metrics to 2 thousandths of the em.

    Left out are five signs that the fonts they come from have otherwise, the worst by 0.22 em.
    """
    letters = bytes(code for code in range(0x20, 0x100) if code != 0x7F).decode("cp1252", "ignore")
    assert fits_winansi(letters)
    ours, standard = embedded(name), pdfmetrics.getFont(name)
    assert [c for c in letters if ord(c) not in ours.face.charToGlyph] == []
    for letter in set(letters) - set("¯±µ·÷"):
        apart = abs(ours.stringWidth(letter, 1000) - standard.stringWidth(letter, 1000))
        assert apart <= 2.0, letter


@pytest.mark.parametrize(
    ("name", "face"),
    [
        ("DejaVu Sans", AskedFace("DejaVu Sans")),
        ("DejaVu Sans-BoldItalic", AskedFace("DejaVu Sans", bold=True, slanted=True)),
        ("Half-Moon", AskedFace("Half-Moon")),
        ("Half-Moon-Italic", AskedFace("Half-Moon", slanted=True)),
        ("Times-Roman", AskedFace("Times")),
        ("ABCDEF+Arial,Bold", AskedFace("Arial", bold=True)),
    ],
)
def test_a_face_is_told_from_its_name(name: str, face: AskedFace) -> None:
    """Family, weight and slant; hyphens may belong to the family."""
    assert AskedFace.of(name) == face
    assert AskedFace.of(face.name) == face
