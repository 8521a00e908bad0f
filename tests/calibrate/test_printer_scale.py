"""What a printer does to a length and what is done about it undo each other."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibrate.failures import CorrectionError
from calibrate.printer_scale import MeasuredScale, PageCorrection, PrinterScale

scales = st.floats(0.801, 1.249)


@given(across=scales, down=scales)
def test_a_corrected_page_comes_out_true(across: float, down: float) -> None:
    """Printer times correction is 1 each way, and the correction's inverse is the printer again."""
    printer = PrinterScale(across, down)
    correction = printer.correction("shed", 0.002)
    assert correction.across * across == pytest.approx(1.0, abs=1e-15)
    assert correction.down * down == pytest.approx(1.0, abs=1e-15)
    back = correction.printer_scale()
    assert (back.across, back.down) == pytest.approx((across, down), abs=1e-15)
    assert (correction.printer, correction.uncertainty) == ("shed", 0.002)


def test_no_correction_is_a_perfect_printer_s() -> None:
    """The defaults are each other's inverse, to the last bit."""
    assert PrinterScale().correction() == PageCorrection()
    assert PageCorrection().printer_scale() == PrinterScale()
    assert PageCorrection().is_none
    assert not PrinterScale(0.99, 1.0).correction().is_none


def test_a_correction_that_no_printer_needs_has_no_inverse() -> None:
    """A printer is believed from 0.80 to 1.25."""
    with pytest.raises(CorrectionError, match="outside 0"):
        PageCorrection(1.3, 1.0).printer_scale()


def test_what_is_measured_on_a_corrected_page_is_the_printer_times_the_correction() -> None:
    """97 % printed on a page drawn for 98 % is a printer at 95.06 %; its doubt grows alike; a turn swaps the two."""
    found = MeasuredScale(0.97, 1.0, 0.002, 0.001).without(PrinterScale(0.98, 0.96))
    assert (found.across, found.down) == pytest.approx((0.9506, 0.96), abs=1e-12)
    assert (found.uncertainty_across, found.uncertainty_down) == pytest.approx((0.00196, 0.00096), abs=1e-12)
    assert found.uncertainty == found.uncertainty_across
    assert found.turned() == MeasuredScale(found.down, found.across, found.uncertainty_down, found.uncertainty_across)


def test_other_pages_are_less_sure_than_the_one_that_was_measured() -> None:
    """The terms add in quadrature (GUM, JCGM 100:2008, 5.1.2), down the feed more than across; the scale stays."""
    found = MeasuredScale(0.98, 0.98, 0.003, 0.003)
    others = found.on_other_pages()
    assert (others.across, others.down) == (found.across, found.down)
    assert 0.003 < others.uncertainty_across < others.uncertainty_down < 0.005
    sure = MeasuredScale(1.0, 1.0, 0.0, 0.0).on_other_pages()
    assert others.uncertainty_down**2 == pytest.approx(0.003**2 + (0.98 * sure.uncertainty_down) ** 2)
