"""The first page: what it says, and the square that prints true."""

from __future__ import annotations

from dataclasses import replace

import pytest

from calibrate.printer_scale import PageCorrection
from tests.drawing.making import job_of, line, pattern_of, plan_of, smock
from tiling.drawing.first_page import draw_first_page
from tiling.drawing.pen import PenCall, RecordingPen
from tiling.drawing.print_facts import correction_in_words, facts_of
from tiling.drawing.print_job import PrintJob
from tiling.drawing.square import target_for
from tiling.drawing.tile_page import draw_tile_page
from tiling.planning.plan import Margins, Orientation
from tiling.shapes import Size


def calls_of(job: PrintJob) -> list[PenCall]:
    """The calls that draw the first page, in mm on the page."""
    pen = RecordingPen()
    draw_first_page(pen, job)
    return pen.calls


def text_of(job: PrintJob) -> str:
    """All its words in one line."""
    return " ".join(call.text for call in calls_of(job) if call.kind == "text")


@pytest.mark.parametrize("paper", ["a4", "letter", "both", "legal", "tabloid", "a3", "a5"])
@pytest.mark.parametrize("orientation", [Orientation.PORTRAIT, Orientation.LANDSCAPE])
def test_it_says_how_to_print_and_what_was_set(paper: str, orientation: Orientation) -> None:
    """On every paper and either way up: title, actual size, paper, overlap, cautions, and a square."""
    job = job_of(paper=paper, orientation=orientation)
    text = text_of(job)
    for words in ("Potting smock", "Actual size", '"100 %"', "Overlap", "10.0 mm", "Scissors and rotary", "iron"):
        assert words in text, words
    assert any(call.kind == "target" for call in calls_of(job))


@pytest.mark.parametrize("orientation", [Orientation.PORTRAIT, Orientation.LANDSCAPE])
def test_words_keep_clear_of_the_square_and_on_the_page(orientation: Orientation) -> None:
    """Nothing is written into the ring of markers or off the sheet."""
    for paper in ("a4", "letter", "both", "a5"):
        job = job_of(paper=paper, orientation=orientation, date="1 March")
        target = target_for(job.plan.page_size, job.plan.correction)
        assert target is not None
        ring = target.square.grown(14.0)
        for call in calls_of(job):
            if call.kind == "text":
                at = call.points[0]
                assert not ring.holds(at.x, at.y), call.text
                assert 15.0 < at.x < job.plan.page_size.width - 15.0
                assert 15.0 < at.y < job.plan.page_size.height - 15.0


@pytest.mark.parametrize(("across", "down"), [(1.0, 1.0), (1.0309, 0.9709)])
def test_the_square_is_drawn_so_that_it_prints_100_mm(across: float, down: float) -> None:
    """The printer that shrinks by 3 % gets a square larger by as much, about the page's middle."""
    job = job_of(correction=PageCorrection(across, down, "shed printer"))
    corners = next(call.points for call in calls_of(job) if call.kind == "target")
    assert corners[1].x - corners[0].x == pytest.approx(100.0 * across)
    assert corners[2].y - corners[1].y == pytest.approx(100.0 * down)
    middle = (corners[0].x + corners[2].x) / 2
    assert middle == pytest.approx(job.plan.page_size.width / 2)


def test_the_target_states_the_printer_scale_it_was_corrected_for() -> None:
    """A photo of a corrected page composes with the correction: the target states 1 / the factor."""
    target = target_for(plan_of(smock()).page_size, PageCorrection(1 / 0.97, 1 / 1.02))
    assert target is not None
    assert target.message.correction.across == pytest.approx(0.97, abs=5e-5)
    assert target.message.correction.down == pytest.approx(1.02, abs=5e-5)


def test_a_correction_is_said_in_words() -> None:
    """Whose, by how much each way, and that it is for that printer alone."""
    words = correction_in_words(PageCorrection(1.0309, 0.99, "shed printer"))
    assert "shed printer" in words
    assert "3.09 % larger across" in words
    assert "1.00 % smaller down" in words
    assert "no correction" in correction_in_words(PageCorrection())
    assert words in " ".join(text_of(job_of(correction=PageCorrection(1.0309, 0.99, "shed printer"))).split())


def test_what_was_set_is_said_in_full() -> None:
    """Margins in any case, uneven ones side by side; the overlap only where pages meet."""
    assert "Margins: 10.0 mm" in text_of(job_of())
    uneven = replace(plan_of(smock()), margins=Margins(4.0, 5.0, 6.0, 12.5))
    said = " ".join(facts_of(uneven, 9, "").settings)
    assert "Margins: left 4.0 mm, top 5.0 mm, right 6.0 mm, bottom 12.5 mm" in said
    alone = text_of(job_of(pattern_of(line((20.0, 20.0), (90.0, 150.0)), size=Size(100.0, 160.0))))
    assert "Margins" in alone
    assert "Overlap" not in alone


def test_the_layers_that_were_picked_are_named() -> None:
    """Of nested sizes only one is printed: the paper says which, on the first page and on every tile."""
    job = job_of(replace(smock(), picked=("base", "size 40")))
    assert "Layers: base, size 40" in text_of(job)
    for tile in job.plan.to_print:
        pen = RecordingPen()
        draw_tile_page(pen, job, tile)
        assert "base, size 40" in [call.text for call in pen.calls]
    assert "Layers" not in text_of(job_of())


@pytest.mark.parametrize("paper", ["a4", "letter", "a3", "both"])
def test_who_has_only_the_file_learns_what_pageseam_is_and_how_to_do_without(paper: str) -> None:
    """A friend got the PDF: a line says what made it, and that a ruler is enough."""
    text = " ".join(text_of(job_of(paper=paper)).split())
    assert "pageseam is the program that made these pages" in text
    assert "do without it: a ruler" in text


def test_a_date_is_printed_only_when_given() -> None:
    """The tool asks no clock."""
    assert "Date" not in text_of(job_of())
    assert "Date: 1 March" in text_of(job_of(date="1 March"))
