"""The proof of a test page: it passes the right page and stops any other."""

from __future__ import annotations

import pytest

from calibrate.papers import PAPERS
from calibrate.printer_scale import PageCorrection
from tiling.drawing.testpage import test_page as made_page
from tiling.failures import ProofFailed
from tiling.proof.testpage import prove_test_page
from tiling.shapes import Size

A4 = Size(210.0, 297.0)
CORRECTION = PageCorrection(1.001, 1.0)


def test_the_right_page_passes_and_a_wrong_one_is_noticed() -> None:
    """A page made for another correction or another paper does not pass."""
    page = made_page(PAPERS["a4"], CORRECTION)
    prove_test_page(page, A4, CORRECTION)
    with pytest.raises(ProofFailed, match="width of the square"):
        prove_test_page(page, A4, PageCorrection())
    with pytest.raises(ProofFailed, match="height of the page"):
        prove_test_page(page, Size(210.0, 279.4), CORRECTION)


@pytest.mark.parametrize("part", [0, 40, -200])
def test_a_page_that_cannot_be_read_back_fails_the_proof(part: int) -> None:
    """Half a file is no page: a failed proof, not a fault of the program."""
    with pytest.raises(ProofFailed, match=r"could not be read back|shows no test square"):
        prove_test_page(made_page(PAPERS["a4"], CORRECTION)[:part], A4, CORRECTION)
