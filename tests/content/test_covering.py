"""What of a page may hide marks that are painted before it."""

from __future__ import annotations

import pytest

from tests.content.pages import artwork_of, pdf_of
from tiling.content.covering import covering

FONT = {"/Font": {"/F1": {"/Type": "/Font", "/Subtype": "/Type1", "/BaseFont": "/Helvetica"}}}


@pytest.mark.parametrize(
    ("content", "count"),
    [
        (b"1 w 0 0 m 500 500 l S", 0),
        (b"3 w 0 0 m 500 500 l S", 1),
        (b"0.1 0 0 0.1 0 0 cm 20 w 0 0 m 500 500 l S", 0),
        (b"1 g 0 0 500 500 re f", 1),
        (b"0 g 0 0 500 2 re f", 0),
        (b"0.2 w 0 0 500 500 re B", 1),
        (b"q 500 0 0 500 0 0 cm BI /W 1 /H 1 /BPC 8 /CS /G ID \xff EI Q", 1),
        (b"1 0 0 RG 1 w 0 0 m 500 500 l S 0 1 1 0 k 10 10 90 90 re f", 1),
    ],
    ids=["thin", "broad", "thin once scaled", "white area", "narrow strip", "filled outline", "picture", "both"],
)
def test_areas_pictures_and_broad_strokes_cover_and_thin_lines_do_not(content: bytes, count: int) -> None:
    """A millimetre (2.83 points) is the limit."""
    assert len(covering(artwork_of(pdf_of(content)))) == count


def test_of_a_page_shown_whole_all_counts() -> None:
    """Its objects are not looked at one by one."""
    artwork = artwork_of(pdf_of(b"1 w 0 0 m 500 500 l S"))
    artwork.reasons = ("soft masks",)
    assert covering(artwork).tolist() == [[0.0, 0.0, artwork.size.width, artwork.size.height]]


def test_only_the_marks_drawn_there_count() -> None:
    """Of two areas the one that is picked."""
    artwork = artwork_of(pdf_of(b"0 0 90 90 re f 200 100 90 90 re f"))
    assert len(covering(artwork, {1})) == 1
    assert covering(artwork, {1})[0, 0] == pytest.approx(200 * 25.4 / 72, abs=0.1)
