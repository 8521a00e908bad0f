"""The fonts that stand in for those a drawing asks for."""

from __future__ import annotations

from itertools import product

import pytest
from reportlab.pdfbase import pdfmetrics

from tiling.typefaces import STANDARD, WIDE, WIDE_BOLD, family_like, missing_glyphs, standard_font, width_of


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
    """WinAnsi by the standard fonts, Polish by the embedded one, Chinese by none at hand."""
    assert missing_glyphs("Größe 12 €") == ""
    assert missing_glyphs("Łód") == ""
    assert missing_glyphs("布 Łód 布料") == "布料"
    assert width_of("Łód", WIDE_BOLD, 10.0) > width_of("Łód", WIDE, 10.0) > 0
