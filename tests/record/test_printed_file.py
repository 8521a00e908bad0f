"""The plan in a printed PDF: found again in what is written now and in what earlier editions wrote."""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader, PdfWriter

from tests.drawings import drawing_at
from tests.planning.drawings import numbered, smock_like
from tiling.failures import InputUnfit
from tiling.files.inputs import InputFile, read_input
from tiling.planning.papers import paper_named
from tiling.planning.planner import PlanOptions, plan_pages
from tiling.planning.reprint import ReprintOptions, plan_reprint
from tiling.record.plan_record import record_bytes
from tiling.record.printed_file import RECORD_NAME, attach_record, attached_records, read_printed
from tiling.shapes import Affine

EARLIER = Path(__file__).parent / "earlier"
"""`pages pot-holder.svg --paper a5 --orientation portrait --margin 8mm --grid as-drawn`, as edition 0.1.0 wrote it."""

SMOCK = smock_like()
PLAN = plan_pages(SMOCK, PlanOptions(paper_named("a4")))
RECORD = record_bytes(PLAN, SMOCK, numbered(PLAN))


def pdf(*attach: Callable[[PdfWriter], None]) -> InputFile:
    """A PDF of one empty page with attachments."""
    writer = PdfWriter()
    writer.add_blank_page(595, 842)
    for put in attach:
        put(writer)
    stream = BytesIO()
    writer.write(stream)
    return InputFile("shed/smock.pdf", stream.getvalue())


def with_record(writer: PdfWriter) -> None:
    """The plan, as it is attached to what is printed."""
    attach_record(writer, RECORD)


def test_a_plan_attached_is_found_again_byte_for_byte() -> None:
    """Once, also by pypdf's own reading of attachments."""
    file = pdf(with_record)
    reader = PdfReader(BytesIO(file.content))
    assert list(attached_records(reader)) == [RECORD] == list(reader.attachments[RECORD_NAME])
    assert read_printed(file).plan == PLAN


def test_a_plan_saved_again_by_another_program_is_found() -> None:
    """What is attached under the same name in other words of the same standard (pypdf's) counts as well."""
    again = pdf(lambda w: w.add_attachment("notes.txt", b"-"), lambda w: w.add_attachment(RECORD_NAME, RECORD))
    assert read_printed(again).plan == PLAN


@pytest.mark.parametrize(
    ("file", "says"),
    [
        (InputFile("shed/smock.pdf", b""), "is no whole PDF"),
        (InputFile("shed/smock.pdf", b"<svg/>"), "is no whole PDF"),
        (InputFile("shed/smock.pdf", pdf(with_record).content[:300]), "is no whole PDF"),
        (pdf(), "carries no print plan"),
        (pdf(lambda writer: writer.add_attachment("notes.txt", RECORD)), "carries no print plan"),
        (pdf(lambda writer: attach_record(writer, b"{}")), "lacks 'format'.*print the whole pattern again"),
    ],
)
def test_what_carries_no_plan_is_refused_by_name(file: InputFile, says: str) -> None:
    """The message begins with the file's name as it was given, and says what to do."""
    with pytest.raises(InputUnfit, match=f"^shed/smock.pdf: .*{says}"):
        read_printed(file)


def test_a_file_printed_by_an_earlier_edition_is_read_and_nothing_has_to_be_printed() -> None:
    """Its plan, its lines and, since it doesn't say, the first version of the join marks."""
    record = read_printed(read_input(EARLIER / "pot-holder.pdf"))
    assert [tile.name for tile in record.plan.tiles] == ["A1", "A2", "B1", "B2"]
    assert (record.printing, record.plan.title, record.plan.join_marks) == (1, "Pot holder", 1)
    assert b"join_marks" not in next(attached_records(PdfReader(EARLIER / "pot-holder.pdf")))
    reprint = plan_reprint(record, drawing_at(EARLIER / "pot-holder.svg"), ReprintOptions())
    assert reprint.nothing_to_print
    assert reprint.keep == ("A1", "A2", "B1", "B2")


def test_a_change_after_it_names_the_page_it_lies_on() -> None:
    """The loop, a tenth longer, lies on the second page of the first row as before; the others stay."""
    record = read_printed(read_input(EARLIER / "pot-holder.pdf"))
    pattern = drawing_at(EARLIER / "pot-holder.svg")
    longer = Affine.scale(1.0, 1.1)
    marks = [mark.moved(longer) if mark.tag.piece == "loop" else mark for mark in pattern.marks]
    reprint = plan_reprint(record, pattern.with_marks(marks), ReprintOptions())
    assert reprint.replace == ("A2",)
    assert reprint.plan.join_marks == 1
