"""The proof: it passes what was written well, and stops what was not."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import replace
from io import BytesIO

import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import DictionaryObject, FloatObject, NameObject, NullObject, RectangleObject, StreamObject

from calibrate.printer_scale import PageCorrection
from calibrate.run import Cancelled, Run
from tests.drawing.making import job_of, line, pattern_of, smock
from tiling.drawing.expected import expectation_of
from tiling.drawing.pdf import write_pages
from tiling.drawing.print_job import PrintJob, build_print_job
from tiling.failures import ExitCode, ProofFailed
from tiling.planning.page_space import DRAWING_FORM
from tiling.planning.plan import Orientation
from tiling.proof.prove import prove
from tiling.record.printed_file import attach_record, attached_records
from tiling.shapes import Size

Change = Callable[[PdfWriter], None]


@pytest.fixture(name="job", scope="module")
def job_fixture() -> PrintJob:
    """Six tiles on A4."""
    return job_of()


@pytest.fixture(name="data", scope="module")
def data_fixture(job: PrintJob) -> bytes:
    """Its file."""
    return write_pages(job)


def changed(data: bytes, change: Change) -> bytes:
    """A written file with something changed."""
    writer = PdfWriter(clone_from=PdfReader(BytesIO(data)))
    change(writer)
    stream = BytesIO()
    writer.write(stream)
    return stream.getvalue()


@pytest.mark.parametrize("paper", ["a4", "letter", "both", "tabloid", "a1", "roll:914mm", "a5"])
@pytest.mark.parametrize("orientation", [Orientation.PORTRAIT, Orientation.LANDSCAPE])
def test_good_pages_pass(paper: str, orientation: Orientation) -> None:
    """On every kind of paper."""
    job = job_of(paper=paper, orientation=orientation)
    prove(write_pages(job), expectation_of(job))


def test_corrected_pages_pass() -> None:
    """The correction is undone before comparing."""
    job = job_of(correction=PageCorrection(1.034, 0.962, "shed printer"))
    prove(write_pages(job), expectation_of(job))


def test_a_page_beyond_14400_units_passes() -> None:
    """Its larger unit is taken into account."""
    long = pattern_of(line((10.0, 10.0), (500.0, 6000.0)), size=Size(600.0, 6100.0))
    job = job_of(long, "roll:914mm")
    prove(write_pages(job), expectation_of(job))


def edit_contents(page: DictionaryObject, pattern: bytes, by: Callable[[re.Match[bytes]], bytes]) -> None:
    """Rewrite a page's own content."""
    contents = page["/Contents"].get_object()
    assert isinstance(contents, StreamObject)
    new, count = re.subn(pattern, by, contents.get_data(), count=1)
    assert count == 1
    contents.set_data(new)


def moved_drawing(writer: PdfWriter) -> None:
    """The drawing on one page half a millimetre to the right, its window as planned."""

    def by(found: re.Match[bytes]) -> bytes:
        numbers = [float(part) for part in found[1].split()]
        numbers[4] += 0.5 * 72 / 25.4
        return b"q " + b" ".join(b"%.6f" % n for n in numbers) + b" cm /PsDraw0"

    edit_contents(writer.pages[3], rb"q ([-\d. ]+) cm /PsDraw0", by)


def moved_content(writer: PdfWriter) -> None:
    """The drawing on one page half a millimetre down, from within its own content."""
    form = writer.pages[3]["/Resources"]["/XObject"][f"{DRAWING_FORM}0"]  # type: ignore[index]
    stream = form.get_object()
    stream.set_data(b"1 0 0 1 0 -1.417 cm\n" + stream.get_data())


def moved_window(writer: PdfWriter) -> None:
    """The window on one page half a millimetre lower."""

    def by(found: re.Match[bytes]) -> bytes:
        x, y, width, height = (float(part) for part in found[1].split())
        return b"%.6f %.6f %.6f %.6f re W n" % (x, y - 0.5 * 72 / 25.4, width, height)

    edit_contents(writer.pages[3], rb"([-\d. ]+) re W n", by)


def dropped_line(writer: PdfWriter) -> None:
    """One page's drawing without one of its strokes."""
    form = writer.pages[5]["/Resources"]["/XObject"][f"{DRAWING_FORM}0"]  # type: ignore[index]
    stream = form.get_object()
    data = stream.get_data()
    at = data.rindex(b"\nS")
    stream.set_data(data[:at] + b"\nn" + data[at + 2 :])


def added_line(writer: PdfWriter) -> None:
    """One page's drawing with a stroke too many."""
    form = writer.pages[5]["/Resources"]["/XObject"][f"{DRAWING_FORM}0"]  # type: ignore[index]
    stream = form.get_object()
    stream.set_data(stream.get_data() + b"\n1 0 0 1 0 0 cm 300 300 m 900 900 l S")


def scaled_page(writer: PdfWriter) -> None:
    """A sheet of another size."""
    writer.pages[2][NameObject("/MediaBox")] = RectangleObject((0, 0, 595.0, 842.5))


def scaled_square(writer: PdfWriter) -> None:
    """The first page shrunk by half a per cent."""
    contents = writer.pages[0]["/Contents"].get_object()
    assert isinstance(contents, StreamObject)
    contents.set_data(b"q 0.995 0 0 0.995 0 0 cm\n" + contents.get_data() + b"\nQ")


def no_preferences(writer: PdfWriter) -> None:
    """Nothing said about scaling."""
    del writer.root_object["/ViewerPreferences"]


def no_plan(writer: PdfWriter) -> None:
    """The attachment gone."""
    del writer.root_object["/Names"]


def damaged_plan(writer: PdfWriter) -> None:
    """A plan attached that can't be read."""
    attach_record(writer, b"{}")


def another_plan(writer: PdfWriter) -> None:
    """A plan attached whose tiles lie elsewhere."""
    stream = BytesIO()
    writer.write(stream)
    plan = json.loads(next(attached_records(PdfReader(stream))))
    for tile in plan["tiles"]:
        tile["window_mm"] = [side + 1.0 for side in tile["window_mm"]]
    plan["grid"]["origin_mm"] = [side + 1.0 for side in plan["grid"]["origin_mm"]]
    attach_record(writer, json.dumps(plan).encode())


def no_pages(writer: PdfWriter) -> None:
    """A page tree that is none."""
    writer.root_object[NameObject("/Pages")] = NullObject()


def no_marks(writer: PdfWriter) -> None:
    """A tile's page that doesn't show our own marks."""
    edit_contents(writer.pages[3], rb"/PsMarks Do", lambda _: b"")


def no_content(writer: PdfWriter) -> None:
    """A tile's page that shows nothing."""
    edit_contents(writer.pages[3], rb"(?s).+", lambda _: b"")


def more_content(writer: PdfWriter) -> None:
    """Something else on the page, after the drawing."""
    edit_contents(writer.pages[3], rb"Q\s*$", lambda _: b"Q\n9 9 9 9 re f")


def another_unit(writer: PdfWriter) -> None:
    """A unit that makes the page twice as large."""
    writer.pages[4][NameObject("/UserUnit")] = FloatObject(2.0)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (moved_drawing, r"page 4 \(A2\) shows the drawing in another place"),
        (no_marks, r"page 4 \(A2\) lacks its marks"),
        (no_content, r"page 4 \(A2\) lacks its marks"),
        (more_content, r"page 4 \(A2\) shows no drawing in a window"),
        (moved_content, r"page 4 \(A2\) (lacks|shows)"),
        (moved_window, r"page 4 \(A2\) shows another part"),
        (dropped_line, r"page 6 \(B1\) lacks some of the drawing"),
        (added_line, r"page 6 \(B1\) shows what the drawing has not"),
        (scaled_page, "page 3 is"),
        (scaled_square, "the test square on page 1 would print 99.500 x 99.500 mm"),
        (no_preferences, "without scaling"),
        (no_plan, "the plan is not attached"),
        (damaged_plan, r"the attached plan can't be read back \(.*lacks 'format'\)"),
        (another_plan, "the attached plan says another window for A1"),
        (no_pages, "it could not be read back"),
        (another_unit, "page 5 is"),
    ],
)
def test_bad_pages_are_stopped(job: PrintJob, data: bytes, change: Change, says: str) -> None:
    """A tile moved by half a millimetre, a line dropped, a box, a key or the square wrong: each is named."""
    with pytest.raises(ProofFailed, match=says) as stopped:
        prove(changed(data, change), expectation_of(job))
    assert stopped.value.exit_code is ExitCode.PROOF
    assert "Nothing was published" in str(stopped.value)


def test_a_plan_that_leaves_out_some_of_the_drawing_is_stopped() -> None:
    """Ink on a tile that was wrongly taken for empty."""
    whole = job_of()
    tiles = tuple(tile for tile in whole.plan.tiles if tile.name != "A2")
    job = build_print_job(replace(whole.plan, tiles=tiles, skipped=("A2",)), whole.pattern)
    with pytest.raises(ProofFailed, match="lies on no page"):
        prove(write_pages(job), expectation_of(job))


def test_a_thin_grey_line_left_out_is_noticed() -> None:
    """A hairline of 0.1 mm is enough ink to be missed."""
    thin = line((30.0, 40.0), (170.0, 43.0), width=0.1)
    with_it, without = job_of(pattern_of(*smock().marks, thin)), job_of(pattern_of(*smock().marks))
    with pytest.raises(ProofFailed, match="lacks some"):
        prove(write_pages(without), expectation_of(with_it))


def test_every_page_compared_is_told(job: PrintJob, data: bytes) -> None:
    """Out of the pages that show the drawing."""
    steps: list[tuple[str, int, int]] = []
    prove(data, expectation_of(job), Run(tell=lambda what, done, total: steps.append((what, done, total))))
    assert steps == [("Proof", number, 6) for number in range(1, 7)]


@pytest.mark.parametrize("asked", [1, 8])
def test_a_proof_ends_when_the_run_is_called_off(job: PrintJob, data: bytes, asked: int) -> None:
    """While the structure is read as while pages are compared."""
    answers = iter([*[False] * (asked - 1), True])
    with pytest.raises(Cancelled):
        prove(data, expectation_of(job), Run(cancelled=lambda: next(answers)))
    assert next(answers, None) is None
