"""Making a test page as a job: a paper and a printer in, a proved page out."""

from __future__ import annotations

import pytest

from calibrate.printer_scale import MeasuredScale, PageCorrection
from calibrate.printers import Border, PrinterReading, PrinterRecord
from calibrate.run import Cancelled, Run
from tiling.failures import UsageWrong
from tiling.operations.make_test_page import MakeTestPageRequest, make_test_page
from tiling.operations.printer_setting import PrinterSetting, printer_setting
from tiling.planning.plan import Margins, Orientation
from tiling.proof.testpage import prove_test_page
from tiling.shapes import Size

SHED = PrinterRecord(
    "shed", PrinterReading("a4", MeasuredScale(0.97, 0.98, 0.001, 0.002), "card"), border=Border(4.0, 5.0, 4.0, 12.0)
)


def test_a_page_is_proved_and_named() -> None:
    """It comes out at its size on a perfect printer; the same request gives the same bytes."""
    made = make_test_page(MakeTestPageRequest("a4", name="square.pdf"))
    assert made.page.name == "square.pdf"
    assert made.page.content.startswith(b"%PDF")
    assert made.findings == ()
    assert made == make_test_page(MakeTestPageRequest("a4", name="square.pdf"))
    prove_test_page(made.page.content, Size(210.0, 297.0), PageCorrection())


def test_a_measured_printer_is_corrected_for_and_another_paper_is_said() -> None:
    """The inverse of its scale, with its name and doubt; the finding names both papers."""
    made = make_test_page(MakeTestPageRequest("letter", SHED))
    assert (made.correction.across, made.correction.down) == pytest.approx((1 / 0.97, 1 / 0.98))
    assert made.correction.printer == "shed"
    assert 0.002 < made.correction.uncertainty == SHED.latest.scale.on_other_pages().uncertainty < 0.004
    assert [finding.where for finding in made.findings] == ["shed"]
    assert "a4, not on letter" in made.findings[0].text


@pytest.mark.parametrize(("paper", "said"), [("roll:914mm", "cut sheet"), ("70x100mm", "148 x"), ("a9", "no paper")])
def test_a_paper_that_does_not_hold_the_square_is_refused(paper: str, said: str) -> None:
    """And said so."""
    with pytest.raises(UsageWrong, match=said):
        make_test_page(MakeTestPageRequest(paper))


def test_a_page_called_off_is_not_made() -> None:
    """The run is asked."""
    with pytest.raises(Cancelled):
        make_test_page(MakeTestPageRequest(), Run(cancelled=lambda: True))


def test_a_printer_s_border_becomes_the_margin() -> None:
    """Side by side upright, the widest at all four where nobody knows which way the page is turned."""
    upright = printer_setting(SHED, "a4", Orientation.PORTRAIT)
    assert upright.margins == Margins(4.0, 5.0, 4.0, 12.0)
    for turned in (Orientation.LANDSCAPE, Orientation.AUTO):
        assert printer_setting(SHED, "a4", turned).margins == Margins.even(12.0)
    assert printer_setting(None, "a4", Orientation.PORTRAIT) == PrinterSetting()
    assert upright.choices(Margins.even(9.0), 11.0) == {
        "margins": Margins.even(9.0), "overlap": 11.0, "correction": upright.correction,
    }  # fmt: skip
    assert PrinterSetting().choices(None, None) == {}
