"""The source's own pages as what is compared: in the order of the layout, with the layers that are printed."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import pypdfium2.raw as pdfium
import pytest
from pypdf import PdfWriter
from pypdf.generic import NameObject

from tests.content.pages import form, obj, pdf_of
from tests.drawing.making import plan_of
from tests.drawing.test_tiles_give_back import layered_pdf
from tiling.drawing.expected import expectation_of
from tiling.drawing.pdf import write_pages
from tiling.drawing.print_job import PrintJob, build_print_job
from tiling.failures import ProofFailed
from tiling.files.inputs import InputFile
from tiling.proof.original import originals_of
from tiling.proof.prove import prove
from tiling.reading.gather import read_drawings
from tiling.reading.options import ReadOptions

STROKES = b"2 w 20 20 m 800 700 l S 400 20 m 30 560 l S"
SVG = b'<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="40mm"><path d="M5 5H80" stroke="#000"/></svg>'


def files(*contents: bytes) -> list[InputFile]:
    """Files that exist nowhere."""
    return [InputFile(f"drawing-{number}", content) for number, content in enumerate(contents)]


def job_for(drawings: list[InputFile], options: ReadOptions = ReadOptions()) -> PrintJob:
    """All that is printed of the drawings."""
    pattern = read_drawings(drawings, options)
    return build_print_job(plan_of(pattern), pattern)


def test_pages_come_in_the_order_of_the_layout() -> None:
    """Of each PDF those that were read; an SVG has none."""
    first, svg, second = drawings = files(pdf_of(STROKES), SVG, pdf_of(b"9 9 99 99 re S"))
    assert [(one.file, one.page) for one in originals_of(drawings)] == [(first, 1), (second, 1)]
    assert originals_of([svg]) == ()


def test_a_file_that_pdfium_refuses_leaves_none() -> None:
    """The pages that can be had could not be told from those that can't."""
    assert originals_of(files(pdf_of(STROKES), b"%PDF-1.7 and nothing else")) == ()


def test_sources_of_both_kinds_are_proved_from_their_bytes() -> None:
    """And another source in the place of one of them is noticed: what is compared is the file that was given."""
    drawings = files(pdf_of(STROKES), SVG, pdf_of(b"9 9 99 99 re S"))
    job = job_for(drawings)
    data, expected = write_pages(job), expectation_of(job, originals_of(drawings))
    prove(data, expected)
    other = originals_of(files(pdf_of(STROKES), SVG, pdf_of(b"9 9 120 99 re S")))
    with pytest.raises(ProofFailed, match="lacks some of the drawing"):
        prove(data, replace(expected, originals=other))


def test_the_layers_printed_are_the_ones_compared() -> None:
    """A layer that the file hides and a person picked; the file's own choice would be another picture."""
    drawings = files(layered_pdf())
    job = job_for(drawings, ReadOptions(layers=("size 2",)))
    data = write_pages(job)
    prove(data, expectation_of(job, originals_of(drawings, (), ("size 2",))))
    with pytest.raises(ProofFailed):
        prove(data, expectation_of(job, originals_of(drawings)))


@pytest.mark.parametrize("off", [True, False])
def test_what_a_layer_is_said_to_be_for_counts_only_where_it_is_asked_for(off: bool) -> None:
    """ISO 32000-2, 8.11.4.4: without /AS the configuration alone counts; PDFium heeds the usage all the same."""
    writer = PdfWriter(clone_from=BytesIO(layered_pdf()))
    properties = writer.root_object["/OCProperties"]
    usage = {"/View": {"/ViewState": "/ON" if off else "/OFF"}, "/Print": {"/PrintState": "/ON" if off else "/OFF"}}
    for group in properties["/OCGs"]:
        group.get_object()[NameObject("/Usage")] = obj(usage)
    if not off:
        properties["/D"].pop("/OFF")
    out = BytesIO()
    writer.write(out)
    drawings = files(out.getvalue())
    job = job_for(drawings)
    prove(write_pages(job), expectation_of(job, originals_of(drawings)))


FIELD = {
    "/Type": "/Annot", "/Subtype": "/Widget", "/FT": "/Tx", "/F": 4, "/Rect": [60, 60, 200, 90], "/V": b"linen",
    "/DA": b"/Helv 18 Tf 0 g",
}  # fmt: skip
OVER = {"/Type": "/Annot", "/Subtype": "/Polygon", "/F": 4, "/Rect": [0, 0, 300, 200], "/BS": {"/W": 3}}


def test_annotations_that_print_are_compared_too() -> None:
    """On every page of the file; with a corner of one elsewhere, or a field's value left out, it is another drawing."""

    def annotated(*corner: int, value: bytes = b"linen") -> bytes:
        notes = [{**OVER, "/Vertices": [20, 20, 280, 40, *corner]}, {**FIELD, "/V": value}]
        writer = PdfWriter()
        for _ in range(2):
            writer.append(BytesIO(pdf_of(STROKES, {}, {"/Annots": notes})))
        out = BytesIO()
        writer.write(out)
        return out.getvalue()

    drawings = files(annotated(150, 190))
    job = job_for(drawings)
    data, expected = write_pages(job), expectation_of(job, originals_of(drawings))
    prove(data, expected)
    for other in (annotated(190, 190), annotated(150, 190, value=b"")):
        with pytest.raises(ProofFailed, match=r"lacks some of the drawing|shows what the drawing has not"):
            prove(data, replace(expected, originals=originals_of(files(other))))


@pytest.mark.parametrize(("content", "turn", "flags"), [(b"q 2 0 0 2 0 0 cm", 0, 4), (b"", 90, 20)])
def test_annotations_are_where_they_belong_after_an_unclosed_q_and_on_a_turned_page(
    content: bytes, turn: int, flags: int
) -> None:
    """Where PDFium can't make them part of the page: after content that moves what follows, and upright (NoRotate)."""
    appearance = form(b"3 w 0 0 m 60 30 l S", (0, 0, 60, 30))
    notes = [{**FIELD, "/F": flags, "/AP": {"/N": appearance}}, {**FIELD, "/Rect": [20, 120, 160, 150]}]
    drawings = files(pdf_of(STROKES + b" " + content, {}, {"/Annots": notes, "/Rotate": turn}))
    job = job_for(drawings)
    prove(write_pages(job), expectation_of(job, originals_of(drawings)))


def test_what_pdfium_garbles_when_it_flattens_is_looked_at_unflattened(monkeypatch: pytest.MonkeyPatch) -> None:
    """It loses letters of some pages then; here it seems to have done what it hasn't."""
    notes = [{**OVER, "/Vertices": [20, 20, 280, 40, 150, 190]}, FIELD]
    drawings = files(pdf_of(STROKES, {}, {"/Annots": notes}))
    job = job_for(drawings)
    data, expected = write_pages(job), expectation_of(job, originals_of(drawings))
    monkeypatch.setattr(pdfium, "FPDFPage_Flatten", lambda *_: pdfium.FLATTEN_SUCCESS)
    prove(data, expected)
    other = originals_of(files(pdf_of(STROKES, {}, {"/Annots": notes[1:]})))
    with pytest.raises(ProofFailed, match="shows what the drawing has not"):
        prove(data, replace(expected, originals=other))
