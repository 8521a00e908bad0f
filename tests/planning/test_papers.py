"""Papers by name, against the standards."""

from __future__ import annotations

import papersize
import pytest

from tiling.failures import UsageWrong
from tiling.planning.papers import COMMON, paper_named, paper_names, takes_first_page

MM = 25.4


@pytest.mark.parametrize(
    ("name", "width", "height"),
    [("a0", 841, 1189), ("a1", 594, 841), ("a2", 420, 594), ("a3", 297, 420), ("a4", 210, 297), ("a5", 148, 210)],
)
def test_a_sizes_are_those_of_iso_216(name: str, width: int, height: int) -> None:
    """ISO 216:2007, A series, trimmed sizes in mm."""
    size = paper_named(name)
    assert (size.width, size.height) == (width, height)


@pytest.mark.parametrize(
    ("name", "width", "height"),
    [
        ("letter", 8.5, 11), ("legal", 8.5, 14), ("tabloid", 11, 17), ("ledger", 11, 17),
        ("ansi-a", 8.5, 11), ("ansi-b", 11, 17), ("ansi-c", 17, 22), ("ansi-d", 22, 34), ("ansi-e", 34, 44),
        ("arch-a", 9, 12), ("arch-b", 12, 18), ("arch-c", 18, 24), ("arch-d", 24, 36), ("arch-e", 36, 48),
    ],
)  # fmt: skip
def test_american_sizes_are_those_of_asme_y14_1_and_pwg_5101_1(name: str, width: float, height: float) -> None:
    """ASME Y14.1 (A to E) and the ARCH series as CUPS lists it (pwg-media.c, PWG 5101.1), in inches."""
    size = paper_named(name)
    assert (size.width, size.height) == pytest.approx((width * MM, height * MM), abs=1e-9)


@pytest.mark.parametrize("name", [n for n in paper_names() if n in papersize.SIZES])
def test_an_independent_list_agrees(name: str) -> None:
    """The papersize package (wrong in ISO B4 and Executive, which aren't offered) has the same sizes, either way up."""
    theirs = sorted(float(side) for side in papersize.parse_papersize(name, "mm"))
    size = paper_named(name)
    assert [size.width, size.height] == pytest.approx(theirs, abs=0.01)


def test_both_fits_on_a4_and_on_letter() -> None:
    """A page of 'both' lies within an A4 and within a letter sheet."""
    both = paper_named("both")
    for name in ("a4", "letter"):
        sheet = paper_named(name)
        assert both.width <= sheet.width + 1e-9 and both.height <= sheet.height + 1e-9


@pytest.mark.parametrize(
    ("text", "width", "height"),
    [("200x280mm", 200, 280), ("280 x 200 mm", 200, 280), ("8x10in", 203.2, 254), ("8.5in x 11in", 215.9, 279.4),
     ("20cm×280mm", 200, 280)],
)  # fmt: skip
def test_custom_sizes_are_read_in_portrait(text: str, width: float, height: float) -> None:
    """A size with one unit or two, either way round."""
    size = paper_named(text)
    assert (size.width, size.height) == pytest.approx((width, height))


def test_a_roll_has_a_width_and_no_end_to_speak_of() -> None:
    """`roll:914mm` is as long as a copy shop's roll."""
    roll = paper_named("roll:914mm")
    assert roll.roll and roll.width == 914 and roll.height > 40_000


@pytest.mark.parametrize(
    ("text", "hint"),
    [("lettr", "letter"), ("a9", "a4"), ("10x10", "unit"), ("roll:9", "unit"), ("8x1000in", "out of bounds"),
     ("5x5mm", "out of bounds"), ("", "letter"), ("roll", "length"), ("x", "known"), ("-200x280mm", "out of bounds")],
)  # fmt: skip
def test_an_unknown_paper_is_refused_with_what_there_is(text: str, hint: str) -> None:
    """The message names the nearest paper, the missing unit, or the bounds."""
    with pytest.raises(UsageWrong, match=hint):
        paper_named(text)


def test_large_sheets_carry_their_own_title() -> None:
    """From A2 up, and on rolls, there is no page for title and test square."""
    assert takes_first_page(paper_named("a4")) and takes_first_page(paper_named("a3"))
    assert not any(takes_first_page(paper_named(name)) for name in ("a2", "a0", "ansi-d", "roll:914mm"))


def test_the_common_papers_are_distinct() -> None:
    """`look` lists each once."""
    assert len({paper.name for paper in COMMON}) == len(COMMON)
