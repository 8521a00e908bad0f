"""The proof of a test page: one page of the sheet's size, whose square prints at 100 mm."""

from __future__ import annotations

from io import BytesIO

import pypdfium2
from pypdf import PdfReader

from calibrate.printer_scale import PageCorrection
from calibrate.target import SQUARE
from tiling.failures import ProofFailed
from tiling.lengths import MM_PER_POINT
from tiling.proof.square import square_drawn
from tiling.reading.pdf_open import FAULTS
from tiling.shapes import Size

__all__ = ["prove_test_page"]

_CLOSE = 0.01  # mm


def prove_test_page(data: bytes, page: Size, correction: PageCorrection) -> None:
    """Compare a written test page with the sheet it was made for.

    Args:
        data: the PDF.
        page: the sheet, mm.
        correction: by what the square was drawn larger than it is to print.

    Raises:
        ProofFailed: a size differs by more than 0.01 mm, there is no square, or the file can't be read back.
    """
    try:
        pages = PdfReader(BytesIO(data)).pages
        box = pages[0].mediabox
        size = Size(float(box.width) * MM_PER_POINT, float(box.height) * MM_PER_POINT)
        sides = square_drawn(data, 1, 1.0, Size(SQUARE * correction.across, SQUARE * correction.down))
    except (pypdfium2.PdfiumError, *FAULTS) as cause:
        raise ProofFailed(f"test page: it could not be read back ({cause}); nothing was written.") from cause
    if sides is None:
        raise ProofFailed("test page: the written page shows no test square; nothing was written.")
    printed = Size(sides.width / correction.across, sides.height / correction.down)
    for found, meant, what in (
        (float(len(pages)), 1.0, "pages"),
        (size.width, page.width, "width of the page"),
        (size.height, page.height, "height of the page"),
        (printed.width, SQUARE, "width of the square"),
        (printed.height, SQUARE, "height of the square"),
    ):
        if abs(found - meant) > _CLOSE:
            raise ProofFailed(f"test page: the {what} is {found:.3f} and not {meant:.3f}; nothing was written.")
