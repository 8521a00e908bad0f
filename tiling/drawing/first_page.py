"""The first page: title, how to print, what was set, cautions, and the test square to measure."""

from __future__ import annotations

from tiling.drawing import styles
from tiling.drawing.flow import TextRole, Words, set_columns, set_words, words_fit
from tiling.drawing.pen import Pen
from tiling.drawing.print_facts import PrintFacts
from tiling.drawing.print_job import PrintJob
from tiling.drawing.square import FOUR_INCHES, box_of, draw_plain_square, target_for
from tiling.planning.page_space import about_centre
from tiling.shapes import Box, Point

__all__ = ["draw_first_page", "sheet_words"]

_GAP = 8.0
_LEAST_FOOT = 6.5
_MEASURE = "Lay a ruler on the square: it must measure 100 mm across and down (the dashed one 4 in)."


def draw_first_page(pen: Pen, job: PrintJob) -> None:
    """Draw the whole first page; `pen` takes mm on the page, y down. The square *prints* at its true size."""
    plan, facts = job.plan, job.facts
    page = pen.under(about_centre(plan.page_size, plan.correction))
    target = target_for(plan.page_size, plan.correction)
    if target is None:
        _draw_small(page, job)
        return
    page.target(target, Point(0.0, 0.0))
    title, settings, cautions = _title_words(facts), _fact_words(facts), _caution_words()
    band = box_of(target.title_band)
    if band.width > 145.0:
        end = set_words(page, title, Box(band.x0, band.y0, band.x1, band.y0 + 22.0))
        end += 1.5
        page.polyline([Point(band.x0, end), Point(band.x1, end)], styles.HAIR)
        split = band.x0 + (band.width - _GAP) * 0.56
        left, right = Box(band.x0, end + 2.5, split, band.y1), Box(split + _GAP, end + 2.5, band.x1, band.y1)
        set_columns(page, [(_print_words(), left), ([*settings, *_made_words()], right)])
        foot = box_of(target.foot_band)
        beside = Box(split + _GAP, band.y1 - 20.0, band.x1, band.y1)
        set_words(page, cautions, foot if foot.height > _LEAST_FOOT else beside)
    else:
        foot = box_of(target.foot_band)
        if foot.height > _LEAST_FOOT:
            set_words(page, cautions, foot)
            cautions = []
        full = [*title, *_print_words(), *settings, *_made_words(), *cautions]
        set_words(page, full if words_fit(full, band) else [*_short_words(facts), *cautions], band)


def sheet_words(facts: PrintFacts) -> list[Words]:
    """Title, how to print, what was set and cautions, for a sheet that carries title and square itself."""
    return [*_title_words(facts), *_sheet_words(), *_fact_words(facts)[1:], *_caution_words()]


def _draw_small(pen: Pen, job: PrintJob) -> None:
    """A page too small for the target: words, and the plain square where it fits."""
    plan, facts = job.plan, job.facts
    page = plan.page_size
    free = Box(plan.margins.left, plan.margins.top, page.width - plan.margins.right, page.height - plan.margins.bottom)
    fits = free.width >= FOUR_INCHES + 2 and free.height >= FOUR_INCHES + 40
    if fits:
        draw_plain_square(pen, Point(free.centre.x - 50.0, free.y1 - FOUR_INCHES - 1.0))
    bottom = free.y1 - FOUR_INCHES - 5.0 if fits else free.y1
    words = [*_title_words(facts), *_print_words(), *_fact_words(facts)]
    set_words(pen, words, Box(free.x0, free.y0, free.x1, bottom))


def _title_words(facts: PrintFacts) -> list[Words]:
    return [Words(TextRole.TITLE, facts.title), Words(TextRole.SMALL, facts.extent)]


def _print_words() -> list[Words]:
    return [
        Words(TextRole.HEADING, "Print"),
        Words(TextRole.STEP, 'Choose "Actual size" or "100 %" in the print window. Never "fit", "shrink" or "scale to '
              'page".', "1"),
        Words(TextRole.STEP, "One side of the paper only. Print this page first.", "2"),
        Words(TextRole.STEP, _MEASURE, "3"),
        Words(TextRole.STEP, "It doesn't? Find the setting that scales, or have a photo of the page checked. "
              "Print on only when it is true.", "4"),
        Words(TextRole.STEP, "Print the rest; cut along the dashed join lines and tape as the page map shows.", "5"),
    ]  # fmt: skip


def _sheet_words() -> list[Words]:
    """How to print where title and square lie on the sheet itself."""
    return [
        Words(TextRole.HEADING, "Print"),
        Words(TextRole.STEP, 'At "Actual size" or "100 %", one side only: say so at the copy shop. Never "fit".', "1"),
        Words(TextRole.STEP, _MEASURE + " It doesn't? Have it printed again at 100 %, before anything is cut.", "2"),
    ]  # fmt: skip


def _short_words(facts: PrintFacts) -> list[Words]:
    """All of it in small, for a page that the square nearly fills."""
    title, *rest = [*_title_words(facts), *_fact_words(facts)[1:]]
    how = 'Print at "Actual size" or "100 %", never "fit", on one side. ' + _MEASURE + " Tape as the page map shows."
    return [
        Words(TextRole.HEADING, title.text),
        *(Words(TextRole.SMALL, text) for text in (how, "; ".join(word.text.rstrip(".") for word in rest) + ".")),
    ]


def _fact_words(facts: PrintFacts) -> list[Words]:
    return [Words(TextRole.HEADING, "This print"), *(Words(TextRole.BODY, line) for line in facts.settings)]


def _made_words() -> list[Words]:
    """For who got nothing but the file."""
    return [
        Words(TextRole.SMALL, "pageseam is the program that made these pages; it can also measure a printer from a "
              "photo of this one (pageseam check), and the taped sheet, before you cut, from two (pageseam taped). "
              "You can do without it: a ruler tells as much."),
    ]  # fmt: skip


def _caution_words() -> list[Words]:
    return [
        Words(TextRole.BODY, "Check the square before you cut cloth. Scissors and rotary cutters cut, irons burn: keep "
              "blades closed and out of reach of children, unplug the iron, and follow the makers' and local rules."),
    ]  # fmt: skip
