"""The written file, key by key. Tables are those of ISO 32000-1:2008 and ISO 32000-2:2020."""

from __future__ import annotations

import re
import subprocess
import sys
from io import BytesIO

import pytest
from pypdf import PageObject, PdfReader
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject, StreamObject

from calibrate.run import Cancelled, Run
from tests.drawing.making import job_of, line, pattern_of, smock
from tiling.drawing.pdf import write_pages
from tiling.drawing.print_job import PrintJob
from tiling.drawing.sheet import full_sheet
from tiling.pattern import Label, Line
from tiling.planning.page_space import page_unit
from tiling.planning.plan import Orientation
from tiling.record.plan_record import read_record
from tiling.shapes import Affine, Box, Path, Size
from tiling.style import Colour, Style

MM = 72 / 25.4


@pytest.fixture(name="job", scope="module")
def job_fixture() -> PrintJob:
    """Six tiles on A4."""
    return job_of()


@pytest.fixture(name="data", scope="module")
def data_fixture(job: PrintJob) -> bytes:
    """Its file."""
    return write_pages(job)


@pytest.fixture(name="root", scope="module")
def root_fixture(data: bytes) -> DictionaryObject:
    """Its catalogue."""
    return PdfReader(BytesIO(data)).root_object


def test_viewer_preferences_ask_for_actual_size(root: DictionaryObject) -> None:
    """ISO 32000-1 table 150: PrintScaling, Duplex, PickTrayByPDFSize; Enforce: ISO 32000-2 table 147.

    The deprecated print and view areas are not written.
    """
    preferences = root["/ViewerPreferences"]
    assert isinstance(preferences, DictionaryObject)
    assert preferences["/PrintScaling"] == "/None"
    assert preferences["/Enforce"] == ["/PrintScaling"]
    assert preferences["/Duplex"] == "/Simplex"
    assert preferences["/PickTrayByPDFSize"]
    assert not {"/PrintArea", "/PrintClip", "/ViewArea", "/ViewClip"} & set(preferences)


def test_the_version_allows_enforce(data: bytes, root: DictionaryObject) -> None:
    """Enforce came with PDF 2.0, and with extension level 3 of PDF 1.7 (ISO 32000-2, 7.12 for the dictionary)."""
    assert data.startswith(b"%PDF-1.7")
    assert root["/Extensions"]["/ADBE"] == {"/BaseVersion": "/1.7", "/ExtensionLevel": 3}  # type: ignore[index]


def test_pages_are_labelled_with_the_tiles_names(data: bytes) -> None:
    """ISO 32000-1 table 159: a prefix for every page, no number style."""
    labels = PdfReader(BytesIO(data)).page_labels
    assert labels == ["Read first", "Map", "A1", "A2", "A3", "B1", "B2", "B3"]


def test_the_outline_leads_to_every_page(data: bytes) -> None:
    """First page, map, and the rows with their pages."""
    reader = PdfReader(BytesIO(data))
    found: list[tuple[str, int | None]] = []

    def walk(items: list[object]) -> None:
        for item in items:
            if isinstance(item, list):
                walk(item)
            else:
                found.append((item.title, reader.get_destination_page_number(item)))  # type: ignore[attr-defined]

    walk(reader.outline)  # type: ignore[arg-type]
    assert ("Page map", 1) in found
    assert ("Row B", 5) in found
    assert ("B3", 7) in found


@pytest.mark.parametrize("paper", ["a4", "letter", "both", "tabloid"])
@pytest.mark.parametrize("orientation", [Orientation.PORTRAIT, Orientation.LANDSCAPE])
def test_every_page_is_the_sheet_itself(paper: str, orientation: Orientation) -> None:
    """MediaBox (ISO 32000-1 table 30) as the paper lies, no rotation, no unit."""
    job = job_of(paper=paper, orientation=orientation)
    for page in PdfReader(BytesIO(write_pages(job))).pages:
        size = job.plan.page_size
        assert [float(v) for v in page.mediabox] == pytest.approx([0, 0, size.width * MM, size.height * MM], abs=1e-3)
        assert "/Rotate" not in page
        assert "/UserUnit" not in page


def test_a_page_beyond_14400_units_gets_a_larger_unit() -> None:
    """ISO 32000-1 annex C.2 (14,400 units a side) and table 30 (UserUnit); the smallest whole unit is used."""
    assert page_unit(Size(5080.0, 914.0)) == 1.0
    assert page_unit(Size(5080.1, 914.0)) == 2.0
    assert page_unit(Size(914.0, 11_000.0)) == 3.0
    long = pattern_of(line((10.0, 10.0), (500.0, 6000.0)), size=Size(600.0, 6100.0))
    job = job_of(long, "roll:914mm")
    page = PdfReader(BytesIO(write_pages(job))).pages[0]
    assert float(page["/UserUnit"]) == 2.0
    assert float(page.mediabox.height) * 2 == pytest.approx(job.plan.page_size.height * MM, abs=1e-2)
    assert float(page.mediabox.height) < 14_400


def test_the_same_drawing_gives_the_same_bytes(data: bytes) -> None:
    """Also the file's identifier; another drawing has another."""
    assert write_pages(job_of()) == data
    other = write_pages(job_of(pattern_of(*smock().marks[:-1])))
    one, two = (PdfReader(BytesIO(d)).trailer["/ID"] for d in (data, other))
    assert one[0] == one[1]
    assert one != two


def test_it_says_its_title_and_nothing_about_when_or_who(data: bytes) -> None:
    """The document information has title and producer alone."""
    information = PdfReader(BytesIO(data)).metadata
    assert information is not None
    assert dict(information) == {"/Title": "Potting smock", "/Producer": "pageseam"}
    assert b"ModDate" not in data
    assert b"CreationDate" not in data


def test_control_characters_stay_out_of_the_title() -> None:
    """A title is one line of readable text."""
    from tiling.drawing.catalogue import plain_title

    assert plain_title("Potting\x00\n smock\x1b[31m") == "Potting smock [31m"
    assert plain_title(" \t") == "Pattern"
    assert len(plain_title("smock " * 200)) <= 200


def test_the_plan_is_attached(job: PrintJob, data: bytes) -> None:
    """ISO 32000-1, 7.11.4: an embedded file; read back it has every window."""
    attached = PdfReader(BytesIO(data)).attachments["print-plan.json"]
    record = read_record(bytes(attached[0]))
    assert record.plan.tiles == job.plan.tiles
    assert record.plan.grid == job.plan.grid


def contents_of(data: bytes) -> list[tuple[bytes, PageObject]]:
    """The own content of every tile's page."""
    found = []
    for page in PdfReader(BytesIO(data)).pages[2:]:
        contents = page.get_contents()
        assert contents is not None
        found.append((contents.get_data(), page))
    return found


def test_a_page_shows_our_marks_first_then_the_drawing(data: bytes) -> None:
    """What is painted later lies on top: marks never hide a line; no printer has to blend anything."""
    for content, page in contents_of(data):
        order = rb"/PsOwn BMC /PsMarks Do EMC\s+q\s+[-\d. ]+ re W n\s+q [-\d. ]+ cm /PsDraw0 Do Q\s+Q\s*$"
        assert re.match(order, content)
        assert "/Group" not in page
        assert "/ExtGState" not in page["/Resources"]  # type: ignore[operator]


def test_where_the_drawing_could_hide_them_our_marks_come_last_and_only_darken() -> None:
    """ISO 32000-1, 11.3.5.2 (blend modes) and 11.4.7 (page group): each is one group, blended with painted paper."""
    ground = Line(Path.rectangle(Box(0.0, 0.0, 400.0, 500.0)), Style(fill=Colour(1.0, 1.0, 1.0)))
    for content, page in contents_of(write_pages(job_of(pattern_of(ground, *smock().marks)))):
        assert re.match(
            rb"/PsOwn BMC q 1 g 0 0 14400 14400 re f Q EMC\s+q\s[^q]+ W n\s+q [-\d. ]+ cm /PsDraw0", content
        )
        assert content.endswith(b"/PsOwn BMC q /PsLighter gs /PsHalo Do Q q /PsDarker gs /PsMarks Do Q EMC")
        resources = page["/Resources"]
        assert isinstance(resources, DictionaryObject)
        assert {name: state["/BM"] for name, state in resources["/ExtGState"].items()} == {
            "/PsLighter": "/Lighten",
            "/PsDarker": "/Multiply",
        }
        groups = [resources["/XObject"][form]["/Group"] for form in ("/PsHalo", "/PsMarks")]
        assert all(group["/S"] == "/Transparency" and group["/I"] for group in groups)


def test_a_page_holds_only_what_touches_its_window() -> None:
    """A line of another tile is not in the page's content, and a long one only where it runs."""
    far = [line((300.0, 400.0 + n), (380.0, 400.0 + n)) for n in range(80)]
    job = job_of(pattern_of(line((10.0, 10.0), (390.0, 480.0)), *far))
    reader = PdfReader(BytesIO(write_pages(job)))
    lengths = {}
    for tile in job.plan.tiles:
        form = reader.pages[job.pages[tile.name] - 1]["/Resources"]["/XObject"]["/PsDraw0"]  # type: ignore[index]
        lengths[tile.name] = len(form.get_object().get_data())
    assert lengths["A1"] < 400
    assert lengths["B2"] + lengths["B3"] > 20 * lengths["A1"]


def test_the_file_holds_no_stream_that_nothing_leads_to(data: bytes) -> None:
    """Every stream can be reached from the trailer (ISO 32000-2, 7.5.5): once two thirds of a file could not."""
    reader = PdfReader(BytesIO(data))
    reached: set[int] = set()
    ahead: list[object] = [reader.trailer.raw_get(key) for key in reader.trailer]
    while ahead:
        value = ahead.pop()
        if isinstance(value, IndirectObject):
            if value.idnum in reached:
                continue
            reached.add(value.idnum)
            value = value.get_object()
        if isinstance(value, DictionaryObject):
            ahead += [value.raw_get(key) for key in value]
        elif isinstance(value, ArrayObject):
            ahead += list(value)
    size = reader.trailer["/Size"]
    assert isinstance(size, int)
    streams = {number for number in range(1, size) if isinstance(reader.get_object(number), StreamObject)}
    assert streams
    assert streams <= reached


def test_fonts_of_the_drawing_are_shared_by_all_pages() -> None:
    """One object, however many pages name it; text beyond WinAnsi gets an embedded font."""
    labels = [Label("Größe Łódź", Affine.shift(30.0 + 180 * n, 60.0), 8.0) for n in range(2)]
    job = job_of(pattern_of(line((10.0, 10.0), (390.0, 480.0)), *labels))
    reader = PdfReader(BytesIO(write_pages(job)))
    resources = set()
    for tile in job.plan.tiles:
        form = reader.pages[job.pages[tile.name] - 1]["/Resources"]["/XObject"]["/PsDraw0"]  # type: ignore[index]
        resources.add(form.get_object().raw_get("/Resources").idnum)
    assert len(resources) == 1
    assert b"FontFile2" in write_pages(job)


def test_a_run_is_told_of_every_page_from_the_start() -> None:
    """The first word comes before anything is drawn; page numbers are those of the file."""
    told: list[tuple[str, int, int]] = []
    job = job_of(pattern_of(line((10.0, 10.0), (390.0, 480.0))))
    write_pages(job, Run(tell=lambda *step: told.append(step)))
    assert told == [("Page", number, job.sheets) for number in (0, *job.pages.values())]


@pytest.mark.parametrize("asked", [1, 2, 5, 9])
def test_a_run_may_end_while_pages_are_written(asked: int) -> None:
    """However often it was asked before: nothing comes back."""
    job = job_of()
    answers = iter([False] * asked)
    with pytest.raises(Cancelled):
        write_pages(job, Run(cancelled=lambda: next(answers, True)))


def test_a_run_may_end_while_a_drawing_is_written_from_its_marks() -> None:
    """Long before a sheet of many lines is whole."""
    many = pattern_of(*(line((10.0, 10.0 + n / 10), (390.0, 10.0 + n / 10)) for n in range(1000)))
    answers = iter([False] * 3)
    with pytest.raises(Cancelled):
        full_sheet(many, run=Run(cancelled=lambda: next(answers, True)))


def test_pages_are_made_without_what_plans_reprints() -> None:
    """Its libraries take longer to load than a page takes to write."""
    loaded = "import sys, tiling.drawing.pdf; print(*({'scipy', 'shapely', 'cv2', 'pypdfium2'} & set(sys.modules)))"
    said = subprocess.run([sys.executable, "-c", loaded], capture_output=True, text=True, check=True)
    assert said.stdout.split() == []
