"""What the written file says about itself: how to print it, page labels, outline, title, and the attached plan.

Keys follow ISO 32000-1 (PDF 1.7) and ISO 32000-2 (PDF 2.0); tables are named where they are used.
"""

from __future__ import annotations

from pypdf import PdfWriter
from pypdf.generic import (
    ArrayObject,
    BooleanObject,
    DictionaryObject,
    NameObject,
    NumberObject,
    TextStringObject,
)

from calibrate.printable import single_spaced
from tiling.drawing.print_job import FrontPage, PrintJob
from tiling.planning.plan import row_letters
from tiling.record.printed_file import attach_record

__all__ = ["complete", "plain_title", "viewer_preferences"]

_FRONT_LABEL = {FrontPage.SQUARE: "Read first", FrontPage.MAP: "Map"}
_FRONT_TITLE = {FrontPage.SQUARE: "Print and measure this first", FrontPage.MAP: "Page map"}
_LONGEST_TITLE = 200


def complete(writer: PdfWriter, job: PrintJob, record: bytes) -> None:
    """Fill in the catalogue and the document information.

    Args:
        writer: holds all pages.
        job: their names.
        record: the plan, to be attached.
    """
    root = writer.root_object
    # Enforce belongs to PDF 2.0, and to 1.7 by extension level 3 (32000-2, table 148): readers in printers know 1.7.
    writer.pdf_header = "%PDF-1.7"
    root[NameObject("/Extensions")] = DictionaryObject(
        {
            NameObject("/ADBE"): DictionaryObject(
                {
                    NameObject("/BaseVersion"): NameObject("/1.7"),
                    NameObject("/ExtensionLevel"): NumberObject(3),
                }
            )
        }
    )
    root[NameObject("/ViewerPreferences")] = viewer_preferences()
    root[NameObject("/PageLabels")] = _page_labels(job)
    writer.page_mode = "/UseOutlines"
    _outline(writer, job)
    attach_record(writer, record)
    writer.metadata = {"/Title": plain_title(job.plan.title), "/Producer": "pageseam"}


def plain_title(title: str) -> str:
    """The title on one line, without control characters, of bearable length."""
    text = single_spaced(title)
    return text[:_LONGEST_TITLE] or "Pattern"


def page_names(job: PrintJob) -> list[str]:
    """The label of every page, in order."""
    return [*(_FRONT_LABEL[front] for front in job.front), *job.pages]


def viewer_preferences() -> DictionaryObject:
    """Print at true size, one side, on paper of the page's size (ISO 32000-1, table 150; Enforce: 32000-2, 147)."""
    return DictionaryObject(
        {
            NameObject("/PrintScaling"): NameObject("/None"),
            NameObject("/Enforce"): ArrayObject([NameObject("/PrintScaling")]),
            NameObject("/Duplex"): NameObject("/Simplex"),
            NameObject("/PickTrayByPDFSize"): BooleanObject(True),
            NameObject("/DisplayDocTitle"): BooleanObject(True),
        }
    )


def _page_labels(job: PrintJob) -> DictionaryObject:
    """Every page labelled by its own name: a prefix without a number (ISO 32000-1, table 159)."""
    numbers = ArrayObject()
    for index, name in enumerate(page_names(job)):
        numbers.append(NumberObject(index))
        numbers.append(DictionaryObject({NameObject("/P"): TextStringObject(name)}))
    return DictionaryObject({NameObject("/Nums"): numbers})


def _outline(writer: PdfWriter, job: PrintJob) -> None:
    """First page, map, and each row with its pages."""
    marks = [
        writer.add_outline_item(title=_FRONT_TITLE[front], page_number=index) for index, front in enumerate(job.front)
    ]
    row, parent = -1, None
    for tile in job.plan.to_print:
        index = job.pages[tile.name] - 1
        if tile.row != row or parent is None:
            row = tile.row
            parent = writer.add_outline_item(title=f"Row {row_letters(row)}", page_number=index)
            marks.append(parent)
        marks.append(writer.add_outline_item(title=tile.name, page_number=index, parent=parent))
    for mark in marks:
        # The library writes an action that goes there; what is printed holds no actions, only places.
        entry = mark.get_object()
        assert isinstance(entry, DictionaryObject)
        entry[NameObject("/Dest")] = entry.pop("/A").get_object()["/D"]
