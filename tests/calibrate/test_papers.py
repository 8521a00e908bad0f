"""The one table of papers: every list draws on it, and sizes and tolerances have a source."""

from __future__ import annotations

import papersize
import pytest

from calibrate.papers import (
    BOOKLET_PAPERS,
    LAY_PLAN_PAPERS,
    MEASURED_PAPERS,
    PAPERS,
    PRINTED_PAPERS,
    SHARED,
    CutTolerance,
    PaperStandard,
    paper_of,
)


@pytest.mark.parametrize("names", [PRINTED_PAPERS, MEASURED_PAPERS, LAY_PLAN_PAPERS, BOOKLET_PAPERS])
def test_every_list_names_papers_of_the_table(names: tuple[str, ...]) -> None:
    """No size is written twice: whoever offers or recognises paper takes its size from here."""
    assert set(names) <= set(PAPERS) and len(set(names)) == len(names)


def test_every_paper_is_upright_and_used() -> None:
    """Wide side down, and on some list."""
    assert set(PAPERS) == {*PRINTED_PAPERS, *MEASURED_PAPERS, *LAY_PLAN_PAPERS, *BOOKLET_PAPERS}
    assert all(paper.name == name and paper.width < paper.height for name, paper in PAPERS.items())


@pytest.mark.parametrize("name", [n for n in PAPERS if n in papersize.SIZES and n != "executive"])
def test_an_independent_list_agrees(name: str) -> None:
    """The papersize package has the same sizes (but for Executive, where it is wrong), either way up."""
    theirs = sorted(float(side) for side in papersize.parse_papersize(name, "mm"))
    assert [PAPERS[name].width, PAPERS[name].height] == pytest.approx(theirs, abs=0.01)


def test_executive_is_that_of_pwg_5101_1() -> None:
    """na_executive_7.25x10.5in."""
    assert (PAPERS["executive"].width, PAPERS["executive"].height) == pytest.approx((7.25 * 25.4, 10.5 * 25.4))


@pytest.mark.parametrize(("side", "limit"), [(148.0, 1.5), (150.0, 1.5), (210.0, 2.0), (600.0, 2.0), (841.0, 3.0)])
def test_iso_sheets_are_cut_as_iso_216_says(side: float, limit: float) -> None:
    """ISO 216: 1.5 mm up to 150 mm, 2 mm up to 600 mm, 3 mm above."""
    assert PaperStandard.ISO_216.tolerance.limit(side) == limit


def test_sheets_in_inches_are_cut_by_trade_practice() -> None:
    """ASME Y14.1 and PWG 5101.1 state no tolerance; 1/16 inch is trade practice, from memory."""
    assert PAPERS["letter"].tolerance is PAPERS["legal"].tolerance is CutTolerance.TRADE
    assert CutTolerance.TRADE.limit(215.9) == pytest.approx(25.4 / 16, abs=0.02)


def test_a_size_is_found_as_it_lies() -> None:
    """Turned, shared by A4 and letter, or one's own."""
    assert paper_of(297.0, 210.0) == PAPERS["a4"].turned()
    assert paper_of(279.4, 210.0).shared and not paper_of(215.9, 279.4).shared
    own = paper_of(280.0, 200.0)
    assert (own.name, own.label, own.tolerance) == ("280x200mm", "280 x 200 mm", CutTolerance.ISO)


def test_labels_are_what_people_write() -> None:
    """ISO sizes in capitals, others as they are."""
    assert [PAPERS[name].label for name in ("a4", "letter", "ansi-d", SHARED)] == [
        "A4", "letter", "ansi-d", "A4 or letter alike",
    ]  # fmt: skip
