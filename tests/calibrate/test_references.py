"""Reference sizes, against the standards and laws that set them."""

from __future__ import annotations

import math

import pytest

from calibrate.cardplace import CARD_RADIUS
from calibrate.failures import ReferenceUnknownError
from calibrate.papers import paper_of
from calibrate.references import CARD, coin, coins, measured_sheet, sheet_of


def test_card_is_id_1() -> None:
    """ISO/IEC 7810 ID-1: 85.60 x 53.98 mm, 0.76 mm thick, corners of 3.18 mm."""
    assert (CARD.width, CARD.height, CARD.thickness, CARD_RADIUS) == (85.60, 53.98, 0.76, 3.18)
    # 85.47 to 85.72 and 53.92 to 54.03 mm for an unused card (from memory); half widths over root three.
    # A used card may have lost a tenth of a millimetre (from memory), on top of that.
    assert CARD.spread_width == pytest.approx(math.hypot((85.72 - 85.47) / 2, 0.1) / math.sqrt(3))
    assert CARD.spread_height == pytest.approx(math.hypot((54.03 - 53.92) / 2, 0.1) / math.sqrt(3))


@pytest.mark.parametrize(
    ("name", "inches"),
    [("us-cent", 0.750), ("us-nickel", 0.835), ("us-dime", 0.705), ("us-quarter", 0.955), ("us-half", 1.205),
     ("us-dollar", 1.043)],
)  # fmt: skip
def test_us_coins_are_those_of_the_law(name: str, inches: float) -> None:
    """31 USC 5112(a) gives the diameters in inches; 25.4 mm to the inch, to the hundredth of a mm."""
    assert coin(name).width == pytest.approx(inches * 25.4, abs=0.0051)


@pytest.mark.parametrize(
    ("name", "diameter"),
    [("2eur", 25.75), ("1eur", 23.25), ("5c-eur", 21.25), ("2c-eur", 18.75), ("1c-eur", 16.25)],
)
def test_euro_coins_are_those_of_the_regulation(name: str, diameter: float) -> None:
    """Council Regulation (EU) 729/2014, Annex I, diameters in mm."""
    assert coin(name).width == diameter


def test_every_coin_has_a_source_and_is_as_high_as_wide() -> None:
    """No coin without a source; all are round, between 15 and 31 mm, so that they fit their place."""
    for key, reference in coins().items():
        assert reference.source, key
        assert reference.width == reference.height
        assert 15.0 < reference.width < 31.0
        assert 1.0 < reference.thickness < 3.0


@pytest.mark.parametrize("name", ["50c-eur", "20c-eur", "uk-50p"])
def test_coins_that_are_not_round_are_left_out(name: str) -> None:
    """A notched, scalloped or many-sided coin is named as such, with what to use instead."""
    with pytest.raises(ReferenceUnknownError, match="not round enough"):
        coin(name)


def test_a_misspelt_coin_brings_the_nearest_name() -> None:
    """The message offers what was probably meant."""
    with pytest.raises(ReferenceUnknownError, match="coin:1eur"):
        coin("1euro")


@pytest.mark.parametrize(("size", "limit"), [((148.0, 210.0), (1.5, 2.0)), ((210.0, 297.0), (2.0, 2.0))])
def test_sheet_tolerance_is_that_of_iso_216(size: tuple[float, float], limit: tuple[float, float]) -> None:
    """ISO 216: 1.5 mm up to 150 mm, 2 mm up to 600 mm; each as likely: limit over root three."""
    sheet = sheet_of(paper_of(*size))
    assert (sheet.spread_width, sheet.spread_height) == pytest.approx([v / math.sqrt(3) for v in limit])


def test_a_measured_sheet_is_known_better() -> None:
    """Half a millimetre of ruler beats two millimetres of standard."""
    assert measured_sheet(210.0, 297.0).spread_width < sheet_of(paper_of(210.0, 297.0)).spread_width / 3


def test_papers_are_known_either_way_round() -> None:
    """A4 lying down is A4; a size of one's own is named by its millimetres."""
    assert paper_of(297.0, 210.0).label == "A4"
    assert paper_of(215.9, 279.4).label == "letter"
    assert paper_of(200.0, 280.0).label == "200 x 280 mm"
