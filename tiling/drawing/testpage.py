"""The test page: the target alone on a sheet, with how to print it and how to read it."""

from __future__ import annotations

from io import BytesIO

from pypdf import PdfWriter
from pypdf.generic import NameObject
from reportlab.pdfgen.canvas import Canvas

from calibrate.papers import Paper
from calibrate.printer_scale import PageCorrection
from tiling.drawing.catalogue import viewer_preferences
from tiling.drawing.flow import TextRole, Words, set_words
from tiling.drawing.pen import PdfPen, RecordingPen
from tiling.drawing.print_facts import correction_in_words
from tiling.drawing.square import box_of, target_for
from tiling.failures import Action, Remedy, UsageWrong
from tiling.lengths import MM_PER_POINT, in_mm
from tiling.planning.page_space import about_centre
from tiling.planning.plan import sheet_size
from tiling.shapes import Box, Point
from tiling.typefaces import drawn_with

__all__ = ["test_page"]


def test_page(paper: Paper, correction: PageCorrection) -> bytes:
    """A PDF of one page that carries the target and nothing of any pattern.

    Args:
        paper: the sheet.
        correction: by what the content is scaled about the page's middle; the target states it.

    Returns:
        The whole file; the same arguments give the same bytes.

    Raises:
        UsageWrong: the sheet is too small for the test square.
    """
    page = sheet_size(paper)
    target = target_for(page, correction)
    if target is None:
        raise UsageWrong(
            f"{paper.name}: the test page needs a sheet of at least 148 x 200 mm", Remedy(Action.CHOOSE_PAPER)
        )
    stream = BytesIO()
    points = (page.width / MM_PER_POINT, page.height / MM_PER_POINT)
    canvas = Canvas(stream, pagesize=points, invariant=1, initialFontName=drawn_with("Helvetica"))
    pen = PdfPen(canvas, page).under(about_centre(page, correction))
    pen.target(target, Point(0.0, 0.0))
    _set_fitting(pen, _words(paper, correction), box_of(target.title_band))
    if target.foot_band.height > 8.0:
        set_words(pen, _cautions(), box_of(target.foot_band))
    canvas.showPage()
    canvas.save()
    return _with_print_settings(stream)


def _with_print_settings(stream: BytesIO) -> bytes:
    writer = PdfWriter(clone_from=stream)
    writer.pdf_header = "%PDF-1.7"
    writer.root_object[NameObject("/ViewerPreferences")] = viewer_preferences()
    writer.metadata = {"/Title": "Test page", "/Producer": "pageseam"}
    out = BytesIO()
    writer.write(out)
    return out.getvalue()


def _set_fitting(pen: PdfPen, words: list[Words], box: Box) -> None:
    """As many of the paragraphs as fit the box, the last ones left out first: words must not cover a marker."""
    for count in range(len(words), 0, -1):
        if set_words(RecordingPen(), words[:count], box) <= box.y1:
            set_words(pen, words[:count], box)
            return


def _words(paper: Paper, correction: PageCorrection) -> list[Words]:
    return [
        Words(TextRole.TITLE, "Test page"),
        Words(TextRole.SMALL, f"For {paper.label} paper, {in_mm(paper.width)} x {in_mm(paper.height)}."),
        Words(TextRole.BODY, correction_in_words(correction)),
        Words(TextRole.STEP, 'Print at "actual size" or "100 %", never "fit" or "shrink". Let the ink dry.', "1"),
        Words(TextRole.STEP, "Lay it flat on a table of another tone. A card in its outline measures best: an expired, "
              "loyalty or library card, blank side up. Or a round coin in the circle, or nothing at all.", "2"),
        Words(TextRole.STEP, "Photograph it from straight above, so near that it fills the picture, with all four "
              "edges in view and no shine on it.", "3"),
        Words(TextRole.STEP, "Let pageseam check the photo. Say what lies there, card or coin, and name the printer: "
              "the result is then kept for the next print.", "4"),
        Words(TextRole.STEP, "No camera? Lay a ruler on the square and let pageseam check what it shows, across and "
              "down, such as 97.5 mm and 98 mm.", "5"),
    ]  # fmt: skip


def _cautions() -> list[Words]:
    return [
        Words(TextRole.SMALL, "Never photograph a bank card face up: the picture shows its number. The ticks at the "
              "edges show where the printer leaves off; the first one to be seen is the border in millimetres."),
    ]  # fmt: skip
