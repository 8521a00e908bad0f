"""The first page: title, how to print, what was set, cautions, and the test square to measure."""

from __future__ import annotations

from calibrate.area import Area
from calibrate.printer_scale import PageCorrection
from calibrate.target import Target, make_target
from tiling.drawing import styles
from tiling.drawing.flow import TextRole, Words, set_columns, set_words, words_fit
from tiling.drawing.pen import Anchor, Ink, Pen, Type, rectangle
from tiling.drawing.print_job import PrintJob
from tiling.lengths import in_mm
from tiling.planning.plan import PrintPlan
from tiling.shapes import Affine, Box, Point, Size

__all__ = [
    "about_centre",
    "correction_in_words",
    "draw_first_page",
    "draw_plain_square",
    "paper_in_words",
    "sheet_words",
    "target_for",
]

_GAP = 8.0
_LEAST_FOOT = 6.5
_MEASURE = "Lay a ruler on the square: it must measure 100 mm across and down (the dashed one 4 in)."
_SQUARE, _FOUR_INCHES = 100.0, 101.6


def about_centre(page: Size, correction: PageCorrection) -> Affine:
    """From the page as it shall come out of the printer to the page as drawn: scaled about its middle."""
    x, y = page.width / 2, page.height / 2
    return Affine.shift(x, y) @ Affine.scale(correction.across, correction.down) @ Affine.shift(-x, -y)


def target_for(page: Size, correction: PageCorrection) -> Target | None:
    """The target of a page, stating the correction already applied; None where the page is too small for it."""
    try:
        return make_target(page.width, page.height, correction.printer_scale())
    except ValueError:
        return None


def draw_first_page(pen: Pen, job: PrintJob) -> None:
    """Draw the whole first page; `pen` takes mm on the page, y down. The square *prints* at its true size."""
    plan = job.plan
    page = pen.under(about_centre(plan.page_size, plan.correction))
    target = target_for(plan.page_size, plan.correction)
    if target is None:
        _draw_small(page, job)
        return
    page.target(target, Point(0.0, 0.0))
    title, facts, cautions = _title_words(job), _fact_words(job), _caution_words()
    band = _box(target.title_band)
    if band.width > 145.0:
        end = set_words(page, title, Box(band.x0, band.y0, band.x1, band.y0 + 22.0))
        end += 1.5
        page.polyline([Point(band.x0, end), Point(band.x1, end)], styles.HAIR)
        split = band.x0 + (band.width - _GAP) * 0.56
        left, right = Box(band.x0, end + 2.5, split, band.y1), Box(split + _GAP, end + 2.5, band.x1, band.y1)
        set_columns(page, [(_print_words(), left), (facts, right)])
        foot = _box(target.foot_band)
        beside = Box(split + _GAP, band.y1 - 20.0, band.x1, band.y1)
        set_words(page, cautions, foot if foot.height > _LEAST_FOOT else beside)
    else:
        foot = _box(target.foot_band)
        if foot.height > _LEAST_FOOT:
            set_words(page, cautions, foot)
            cautions = []
        full = [*title, *_print_words(), *facts, *cautions]
        set_words(page, full if words_fit(full, band) else [*_short_words(job), *cautions], band)


def sheet_words(job: PrintJob) -> list[Words]:
    """Title, how to print, what was set and cautions, for a sheet that carries title and square itself."""
    return [*_title_words(job), *_sheet_words(), *_fact_words(job)[1:], *_caution_words()]


def draw_plain_square(pen: Pen, corner: Point) -> None:
    """The test square with its 4 in brother, lines centred on the sides, without markers."""
    x, y = corner.x, corner.y
    brother = [
        Point(x + _SQUARE, y),
        Point(x + _FOUR_INCHES, y),
        Point(x + _FOUR_INCHES, y + _FOUR_INCHES),
        Point(x, y + _FOUR_INCHES),
        Point(x, y + _SQUARE),
    ]
    pen.polyline(brother, Ink(0.0, 0.15, (1.2, 0.8)))
    pen.polyline(rectangle(Box(x, y, x + _SQUARE, y + _SQUARE)), Ink(0.0, 0.25), closed=True)
    label = Type(3.2, anchor=Anchor.MIDDLE)
    pen.text(Point(x + 50.0, y + 7.0), "100 mm", label)
    pen.text(Point(x + 7.0, y + 50.0), "100 mm", Type(3.2, anchor=Anchor.MIDDLE, turn=-90.0))
    pen.text(Point(x + 50.0, y + 97.0), "dashed: 4 in", Type(2.6, anchor=Anchor.MIDDLE))


def _draw_small(pen: Pen, job: PrintJob) -> None:
    """A page too small for the target: words, and the plain square where it fits."""
    plan = job.plan
    page = plan.page_size
    free = Box(plan.margins.left, plan.margins.top, page.width - plan.margins.right, page.height - plan.margins.bottom)
    fits = free.width >= _FOUR_INCHES + 2 and free.height >= _FOUR_INCHES + 40
    if fits:
        draw_plain_square(pen, Point(free.centre.x - 50.0, free.y1 - _FOUR_INCHES - 1.0))
    bottom = free.y1 - _FOUR_INCHES - 5.0 if fits else free.y1
    words = [*_title_words(job), *_print_words(), *_fact_words(job)]
    set_words(pen, words, Box(free.x0, free.y0, free.x1, bottom))


def _box(area: Area) -> Box:
    return Box(area.x, area.y, area.right, area.bottom)


def _title_words(job: PrintJob) -> list[Words]:
    plan, sheets, tiles = job.plan, job.sheets, len(job.pages)
    pattern = "1 page of pattern" if tiles == 1 else f"{tiles} pages of pattern"
    many = f"{sheets} sheet{'s' if sheets > 1 else ''}, {pattern}"
    return [
        Words(TextRole.TITLE, plan.title or "Pattern"),
        Words(
            TextRole.SMALL, f"{many}, laid out {in_mm(plan.layout_size.width, 0)} x {in_mm(plan.layout_size.height, 0)}"
        ),
    ]


def _print_words() -> list[Words]:
    return [
        Words(TextRole.HEADING, "Print"),
        Words(TextRole.STEP, 'Choose "Actual size" or "100 %" in the print window. Never "fit", "shrink" or "scale to '
              'page".', "1"),
        Words(TextRole.STEP, "One side of the paper only. Print this page first.", "2"),
        Words(TextRole.STEP, _MEASURE, "3"),
        Words(TextRole.STEP, "It doesn't? Photograph the page, flat, and let pageseam check it, or find the setting "
              "that scales. Print on only when it is true.", "4"),
        Words(TextRole.STEP, "Print the rest; cut along the dashed join lines and tape as the page map shows.", "5"),
    ]  # fmt: skip


def _sheet_words() -> list[Words]:
    """How to print where title and square lie on the sheet itself."""
    return [
        Words(TextRole.HEADING, "Print"),
        Words(TextRole.STEP, 'At "Actual size" or "100 %", one side only: say so at the copy shop. Never "fit".', "1"),
        Words(TextRole.STEP, _MEASURE + " It doesn't? Have it printed again at 100 %, before anything is cut.", "2"),
    ]  # fmt: skip


def _short_words(job: PrintJob) -> list[Words]:
    """All of it in small, for a page that the square nearly fills."""
    title, *rest = [*_title_words(job), *_fact_words(job)[1:]]
    how = 'Print at "Actual size" or "100 %", never "fit", on one side. ' + _MEASURE + " Tape as the page map shows."
    return [
        Words(TextRole.HEADING, title.text),
        *(Words(TextRole.SMALL, text) for text in (how, "; ".join(word.text.rstrip(".") for word in rest) + ".")),
    ]


def _fact_words(job: PrintJob) -> list[Words]:
    plan, date = job.plan, job.details.date
    facts = [
        Words(TextRole.HEADING, "This print"),
        Words(TextRole.BODY, f"Paper: {paper_in_words(plan)}"),
        Words(TextRole.BODY, f"Overlap of neighbouring pages: {in_mm(plan.grid.overlap)}"),
        Words(TextRole.BODY, correction_in_words(plan.correction)),
    ]
    if date:
        facts.append(Words(TextRole.BODY, f"Date: {date}"))
    return facts


def _caution_words() -> list[Words]:
    return [
        Words(TextRole.BODY, "Check the square before you cut cloth. Scissors and rotary cutters cut, irons burn: keep "
              "blades closed and out of reach of children, unplug the iron, and follow the makers' and local rules."),
    ]  # fmt: skip


def paper_in_words(plan: PrintPlan) -> str:
    """The paper by name, its size and its turn."""
    shown = paper_title(plan.paper.name)
    return f"{shown}, {in_mm(plan.page_size.width)} x {in_mm(plan.page_size.height)}, {plan.orientation.value}"


def paper_title(name: str) -> str:
    """A paper's name as people write it: ``A4``, ``letter``, ``roll``."""
    if name.startswith("roll:"):
        return "roll"
    return "A4 or letter alike" if name == "both" else name.upper() if len(name) <= 2 else name


def correction_in_words(correction: PageCorrection) -> str:
    """What was done about the printer, as a sentence."""
    if correction.is_none:
        return "Printer: drawn at true size, no correction."
    whose = f" for the printer {correction.printer}" if correction.printer else ""
    across, down = (
        f"{abs(factor - 1) * 100:.2f} % {'larger' if factor > 1 else 'smaller'}" if factor != 1 else "as it is"
        for factor in (correction.across, correction.down)
    )
    return f"Corrected{whose}: drawn {across} across and {down} down, so that it comes out true. Use no other printer."
