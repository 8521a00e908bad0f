"""Patterns nobody would draw on purpose: each is worked out, or refused in one line."""

from __future__ import annotations

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.cloth.drafts import mark, pattern
from tiling.cloth.cloth_choice import ClothFold
from tiling.cloth.cutting_list import cutting_rows
from tiling.cloth.lay_pieces import lay_pieces
from tiling.cloth.seam_lines import SeamLines
from tiling.cloth.sewing_report import sewing_report
from tiling.failures import InputUnfit
from tiling.notes import LineRef, Notes, PieceNote, SeamNote
from tiling.pattern import Role

POINT = st.tuples(st.floats(0, 300), st.floats(0, 300))


@settings(max_examples=60, deadline=None)
@given(st.lists(POINT, min_size=2, max_size=8), st.floats(0.1, 40.0), st.booleans())
@example([(0.0, 0.0), (1.0, 1.0), (0.0, 1.1e-213), (0.0, 1.0)], 1.0, False)  # only a line is left of it
@example([(0.0, 0.0), (0.0, 1.0), (0.0, 5e-324), (0.0, 0.0), (0.0, 3.0), (4.0, 1.0)], 1.0, False)  # next to zero
@example([(0.0, 0.0), (0.0, 109.0), (0.0, 111.0)], 1.0, True)  # there and back on one line
def test_any_outline_is_worked_out_or_refused(corners: list[tuple[float, float]], allowance: float, fold: bool) -> None:
    """Random polygons, crossing or not, with a fold line along their first edge or none."""
    lines = [mark("p", Role.CUTTING, "edge", *corners, closed=True)]
    if fold:
        lines.append(mark("p", Role.FOLD, "", *corners[:2]))
    seam = SeamNote("s", (LineRef("p", "edge"),), (LineRef("p", "edge"),))
    notes = Notes(pieces={"p": PieceNote("p", seam_allowance=allowance)}, seams=(seam,))
    drawing = pattern(lines, notes)
    try:
        (row,) = sewing_report(drawing, {}).seams
    except InputUnfit as unfit:
        assert "\n" not in str(unfit)
    else:
        assert row.ease_found == 0.0
    for way in ClothFold:
        try:
            pieces = lay_pieces(SeamLines(drawing), cutting_rows(drawing), "main", way)
        except InputUnfit as unfit:
            assert "\n" not in str(unfit)
        else:
            assert all(len(piece.ring) >= 3 and piece.cloth_area > 0 for piece in pieces)


@pytest.mark.parametrize("scale", [1e-6, 1e6])
def test_sizes_beyond_reason_do_no_harm(scale: float) -> None:
    """A piece of a micrometre is refused; one of a kilometre is only large."""
    corners = [(0.0, 0.0), (scale, 0.0), (scale, scale), (0.0, scale)]
    drawing = pattern([mark("p", Role.CUTTING, "edge", *corners, closed=True)])
    if scale < 1:
        with pytest.raises(InputUnfit):
            lay_pieces(SeamLines(drawing), cutting_rows(drawing), "main", ClothFold.NONE)
    else:
        (piece,) = lay_pieces(SeamLines(drawing), cutting_rows(drawing), "main", ClothFold.NONE)
        assert piece.across == pytest.approx(scale)
