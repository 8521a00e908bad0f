"""The pages of booklets, small and large, in four scripts: nothing runs off, steps lead to their pieces."""

from __future__ import annotations

import io
from dataclasses import replace

import pypdf
import pypdfium2
import pytest
from PIL import Image

from tests.cloth.drafts import NOTES
from tests.cloth.guides import A4, SCRIPTS, guide, matter
from tests.render import render
from tiling.cloth.booklet import booklet
from tiling.cloth.lay_picture import draw_lay
from tiling.cloth.lay_words import key
from tiling.cloth.sewing_report import SewingReport
from tiling.cloth.steps import Step
from tiling.cloth.typeset import points
from tiling.cloth.units import Units
from tiling.drawing.pen import RecordingPen
from tiling.drawing.print_job import PrintJob

FREE = 10.0
"""mm at every edge in which nothing is printed."""


def pages_of(content: bytes) -> list[str]:
    """The text of every page."""
    document = pypdfium2.PdfDocument(content)
    texts = [" ".join(page.get_textpage().get_text_bounded().split()) for page in document]
    document.close()
    return texts


def assert_nothing_runs_off(content: bytes) -> None:
    """No ink in the outer 10 mm of any page."""
    for number in range(len(pypdf.PdfReader(io.BytesIO(content)).pages)):
        dark = render(content, number, dpi=50.8) < 160
        edge = int(FREE * 2)
        dark[edge:-edge, edge:-edge] = False
        assert not dark.any(), f"page {number + 1}"


@pytest.fixture(scope="module")
def small() -> tuple[SewingReport, PrintJob]:
    """Two pieces with one notion, without a lay plan."""
    return matter(2, 1, lays=False)


@pytest.mark.parametrize(("pieces", "notions"), [(1, 0), (7, 24)])
@pytest.mark.parametrize("script", SCRIPTS)
def test_no_page_is_run_off_in_any_script(pieces: int, notions: int, script: str) -> None:
    """From one piece to many things to buy."""
    assert_nothing_runs_off(guide(pieces, notions, script, Units.INCH, lays=False).content)


@pytest.mark.parametrize(
    "letters",
    ["wordwithoutend" * 90, "many words " * 700, "縫い代をアイロンで割ります。" * 120, "תופרים את הצד " * 160],
)
def test_a_text_longer_than_a_page_goes_on_to_the_next(small: tuple[SewingReport, PrintJob], letters: str) -> None:
    """As a title, in a table's cell, as a summary and as a step."""
    report, job = small
    seam_lines = report.seam_lines
    notes = replace(seam_lines.pattern.notes or NOTES, summary=letters)
    seam_lines.pattern = replace(seam_lines.pattern, notes=notes)
    notions = tuple(replace(notion, name=letters, comment=letters) for notion in report.notions)
    step = Step(letters[:300], (letters,))
    long = replace(report, title=letters[:400], notions=notions, steps=(step,))
    assert_nothing_runs_off(booklet(long, job, Units.CM, A4).content)


def test_24_notions_are_counted_at_a_glance_and_listed_once() -> None:
    """The first page stays a page; all 24 are in their table."""
    report, job = matter(2, 24, lays=False)
    texts = pages_of(booklet(report, job, Units.CM, A4).content)
    assert "24 things to buy besides, listed under Notions" in texts[0]
    whole = " ".join(texts)
    assert all(f"{SCRIPTS['latin'][2]} {n}" in whole for n in range(1, 25))


def test_every_column_with_something_in_it_has_a_head() -> None:
    """In every table, also the last one."""
    from tiling.cloth import tables

    report, _ = matter(7, 7, lays=False)
    made = [
        tables.cutting_table(report),
        tables.notion_table(report, Units.CM),
        tables.seam_table(report.seams, Units.CM),
        tables.notch_table(report.seams, Units.CM),
        tables.size_table(report, Units.CM),
        tables.counted_table(report, Units.CM),
    ]
    for table in made:
        assert all(table.head), table.title


def test_seams_and_notches_are_told_by_titles_and_line_names(small: tuple[SewingReport, PrintJob]) -> None:
    """No ids, no dots."""
    report, job = small
    text = " ".join(pages_of(booklet(report, job, Units.CM, A4).content))
    assert "Vorderteil: right" in text
    assert "piece0" not in text.replace("grainline of piece0", "")


def test_inches_are_printed_with_fraction_signs(small: tuple[SewingReport, PrintJob]) -> None:
    """Nowhere a slash between the numbers of a length."""
    report, job = small
    text = " ".join(pages_of(booklet(report, job, Units.INCH, A4).content))
    import re

    assert not re.search(r'\d/\d+"', text)
    assert re.search(r"[½¼¾⅛⅜⅝⅞⁄]", text)


def test_the_booklet_repeats_the_key_of_its_lay_plans(monkeypatch: pytest.MonkeyPatch) -> None:
    """Which way arrows point, what grey means; and the picture's words are the plan's own."""
    report, job = matter(3, 0)
    pen = RecordingPen()
    monkeypatch.setattr("tiling.cloth.booklet.draw_lay", lambda _, plan, units, box: draw_lay(pen, plan, units, box))
    text = " ".join(pages_of(booklet(report, job, Units.CM, A4).content))
    for sentence in key(report.lays[0], Units.CM):
        assert sentence in text
    assert any(call.kind == "text" for call in pen.calls)


# -- steps -----------------------------------------------------------------------------------------------------------


def linked_from(content: bytes) -> set[tuple[int, float]]:
    """Where the booklet's links lead: the page, and how high on it."""
    reader = pypdf.PdfReader(io.BytesIO(content))
    numbers = {page.indirect_reference.idnum: n for n, page in enumerate(reader.pages) if page.indirect_reference}
    dests = [annotation.get_object()["/Dest"] for page in reader.pages for annotation in page.get("/Annots", [])]  # type: ignore[index]
    return {(numbers[dest[0].idnum], float(dest[3])) for dest in dests}


@pytest.mark.parametrize("script", SCRIPTS)
def test_pieces_and_seams_named_in_a_step_lead_to_their_rows(script: str) -> None:
    """By piece title and seam name, in text set in a font and in text drawn as outlines."""
    report, job = matter(2, 0, script, lays=False)
    one, other = (row.title for row in report.cutting)
    (seam,) = report.seams
    step = Step("", (f"{one} – {other}. {seam.name}",))
    content = booklet(replace(report, steps=(step,)), job, Units.CM, A4).content
    assert len(linked_from(content)) == 3


def test_a_name_inside_another_word_is_no_link(small: tuple[SewingReport, PrintJob]) -> None:
    """A front is not the frontier."""
    report, job = small
    title = report.cutting[0].title
    step = Step("", (f"{title}leiste und Ober{title.lower()}",))
    assert linked_from(booklet(replace(report, steps=(step,)), job, Units.CM, A4).content) == set()


def test_steps_come_in_order_with_their_numbers_and_pictures() -> None:
    """Seven of them, five with a picture."""
    report, job = matter(7, 0, lays=False)
    content = booklet(report, job, Units.CM, A4).content
    text = " ".join(pages_of(content))
    places = [text.index(f"{n}. {step.title} Nähen") for n, step in enumerate(report.steps, 1)]
    assert places == sorted(places)
    pictures = [image for page in pypdf.PdfReader(io.BytesIO(content)).pages for image in page.images]
    assert len(pictures) == sum(step.picture is not None for step in report.steps) == 5
    assert Image.open(io.BytesIO(pictures[0].data)).size == (900, 420)


@pytest.mark.parametrize("script", ["latin", "hebrew"])
def test_pictures_stand_where_the_lines_of_their_step_begin_or_end(script: str) -> None:
    """Below the text on the side where lines begin, beside it on the other: mirrored in a script from the right."""
    report, job = matter(7, 0, script, lays=False)
    document = pypdfium2.PdfDocument(booklet(report, job, Units.CM, A4).content)
    width = points(A4.width)
    ends = [
        (left, width - right)
        for page in document
        for image in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_IMAGE])
        for left, _, right, _ in [image.get_bounds()]
    ]
    near = [int(right < left) for left, right in ends]
    document.close()
    assert near == ([0, 1, 0, 1, 0] if script == "latin" else [1, 0, 1, 0, 1])


def test_nothing_is_told_in_centimetres_to_who_works_in_inches() -> None:
    """Buying steps of 1 and 10 cm included; the rules of children's clothing keep their own units."""
    report, job = matter(1, 3, lays=False, units=Units.INCH)
    text = " ".join(pages_of(booklet(report, job, Units.INCH, A4).content))
    assert "cm" not in text.replace("(30 cm)", "").replace("134 cm", "")
