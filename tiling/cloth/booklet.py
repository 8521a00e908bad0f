"""The booklet for whoever sews the pattern: taping, cutting, cloth, notions, seams, sizes and cautions in one PDF."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from io import BytesIO

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, CondPageBreak, Flowable, Frame, KeepTogether, PageTemplate, Spacer

from calibrate.run import Run
from tiling.cloth import tables
from tiling.cloth.lay_picture import draw_lay, lay_size
from tiling.cloth.lay_plan import LayPlan
from tiling.cloth.lay_words import facts, heading, key
from tiling.cloth.sewing_report import SewingReport
from tiling.cloth.step_pages import step_blocks
from tiling.cloth.tables import Table
from tiling.cloth.typeset import GREY, HAIR, Drawing, Setter, points
from tiling.cloth.units import Units
from tiling.drawing.checklines import PER_JOIN
from tiling.drawing.lettering import Face, letter
from tiling.drawing.page_map import draw_map
from tiling.drawing.pen import Pen, RecordingPen
from tiling.drawing.print_job import PrintJob
from tiling.drawing.taping import COMBS_MEET, CUT_PAGES
from tiling.files.inputs import InputFile
from tiling.lengths import MM_PER_POINT
from tiling.notes import Wearer
from tiling.shapes import Box, Size
from tiling.typefaces import drawn_with

__all__ = ["Booklet", "booklet"]

_SIDE, _TOP, _BOTTOM = 18.0, 17.0, 18.0
_TALLEST_MAP, _LEAST_MAP = 120.0, 60.0
_BESIDE_MAP = 102.0  # the opening above the map, mm
_STEP_HEIGHT = 5.4
_ABOVE_MAP = 22.0  # heading above the map and space below it, mm
_MAP_ROW = 6.0  # a row of the map in which a page's name can be read, mm
_FEW = 6  # things to buy that are named at a glance
_FOOT = 7.6
_LONGEST_FOOT = 160
_NOTIONS = "notions"


@dataclass(frozen=True, slots=True)
class Booklet:
    """The finished file, and the characters that no font at hand could write."""

    content: bytes
    missing: str


@dataclass(frozen=True, slots=True, eq=False)
class _Matter:
    """All that the booklet is made from."""

    report: SewingReport
    job: PrintJob
    units: Units
    paper: Size
    setter: Setter

    @property
    def width(self) -> float:
        """The text's width, mm."""
        return self.paper.width - 2 * _SIDE

    @property
    def height(self) -> float:
        """The text's height, mm."""
        return self.paper.height - _TOP - _BOTTOM


def booklet(
    report: SewingReport, job: PrintJob, units: Units, paper: Size, font: InputFile | None = None, run: Run = Run()
) -> Booklet:
    """The booklet as a PDF; the same pattern and options give the same bytes.

    Args:
        report: the tables, with the lay plans if there are any.
        job: the pages the pattern is printed on, for map, taping order and check lines.
        units: the person's.
        paper: the booklet's sheet in mm, upright.
        font: a TrueType file for texts in scripts that the usual fonts lack.
        run: asked between the two ways through the text.

    Raises:
        InputUnfit: the font file can't be used.
        Cancelled: by `run`.
    """
    run.check()
    matter = _Matter(report, job, units, paper, Setter(font))
    _, count = _built(matter, 0)
    run.check()
    content, _ = _built(matter, count)
    return Booklet(content, matter.setter.missing)


class _Document(BaseDocTemplate):  # type: ignore[misc]  # reportlab has no types
    """A document whose headings become the PDF's outline."""

    def afterFlowable(self, flowable: Flowable) -> None:  # noqa: N802 - reportlab's name
        """Called by platypus for everything it has set."""
        text = getattr(flowable, "outline_text", "")
        if text:
            key = f"part{self.parts}"
            self.canv.bookmarkPage(key)
            self.canv.addOutlineEntry(text, key)
            self.parts += 1

    parts = 0


def _built(matter: _Matter, count: int) -> tuple[bytes, int]:
    """The PDF with ``page n of count`` at its feet, and how many pages it has."""
    stream = BytesIO()
    size = (points(matter.paper.width), points(matter.paper.height))
    title = f"{matter.report.title}: sewing guide"
    document = _Document(stream, pagesize=size, title=title, creator="pageseam", author="", invariant=1, lang="en",
        initialFontName=drawn_with("Helvetica"))  # fmt: skip
    frame = Frame(
        points(_SIDE), points(_BOTTOM), points(matter.width), points(matter.height),
        leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0,
    )  # fmt: skip
    document.addPageTemplates([PageTemplate("page", [frame], onPage=partial(_foot, matter=matter, count=count))])
    document.build(list(_story(matter)))
    return stream.getvalue(), document.page


def _foot(canvas: Canvas, document: BaseDocTemplate, matter: _Matter, count: int) -> None:
    y = points(_BOTTOM - 7.0)
    left, right = points(_SIDE), points(matter.paper.width - _SIDE)
    canvas.saveState()
    canvas.setStrokeColor(HAIR)
    canvas.setLineWidth(0.4)
    canvas.line(left, y + 10, right, y + 10)
    canvas.setFillColor(GREY)
    number = f"page {document.page} of {count}"
    title = _shortened(
        matter.setter, matter.report.title, right - left - points(8.0) - matter.setter.width(number, _FOOT, Face.PLAIN)
    )
    title_font = matter.setter.font(title)
    if title_font is None:
        canvas.translate(left, y)
        letter(canvas, title, _FOOT)
        canvas.translate(-left, -y)
    else:
        canvas.setFont(title_font, _FOOT)
        canvas.drawString(left, y, title)
    canvas.setFont(drawn_with("Helvetica"), _FOOT)
    canvas.drawRightString(right, y, number)
    canvas.restoreState()


def _shortened(set_: Setter, text: str, room: float) -> str:
    """As much of the text as fits, ended by an ellipsis where it is not all."""
    if len(text) <= _LONGEST_FOOT and set_.width(text, _FOOT, Face.PLAIN) <= room:
        return text
    kept = text[:_LONGEST_FOOT]
    while kept and set_.width(f"{kept}…", _FOOT, Face.PLAIN) > room:
        kept = kept[: -max(len(kept) // 20, 1)].rstrip()
    return f"{kept}…"


def _story(matter: _Matter) -> Iterator[Flowable]:
    report, units = matter.report, matter.units
    yield from _opening(matter)
    yield from _taping(matter)
    yield from _section(matter, "Cutting list", tables.cutting_table(report))
    yield from _section(matter, "Cloth", tables.lay_table(report, units))
    yield from _section(matter, "Notions", tables.notion_table(report, units), _NOTIONS)
    yield from _lay_plans(matter)
    yield from _section(matter, "Sizes", tables.size_table(report, units))
    yield from _sewing(matter)
    yield from _section(matter, "Seams", tables.seam_table(report.seams, units))
    yield from _section(matter, "Notches that meet", tables.notch_table(report.seams, units))
    yield from _section(matter, "What the finished sizes count", tables.counted_table(report, units))
    yield from _cautions(matter)


def _opening(matter: _Matter) -> Iterator[Flowable]:
    notes = matter.report.seam_lines.pattern.notes
    set_ = matter.setter
    yield set_.words(matter.report.title, size=22, face=Face.BOLD)
    yield set_.words("Sewing guide", size=11, grey=True)
    yield Spacer(0, 6)
    if notes is not None and notes.summary:
        yield set_.words(notes.summary, size=10.5)
    yield Spacer(0, 4)
    yield from set_.table(Table("", ("At a glance", "This pattern"), tuple(_glance(matter))), points(matter.width))
    yield Spacer(0, 4)
    yield set_.words(
        'Print the pattern\'s pages at 100 % ("Actual size"). This booklet may be printed at any size.', grey=True
    )


def _glance(matter: _Matter) -> Iterator[tuple[str, str]]:
    report, plan = matter.report, matter.job.plan
    notes = report.seam_lines.pattern.notes
    if notes is not None:
        worn = {Wearer.ADULT: "an adult", Wearer.CHILD: "a child"}[notes.wearer]
        yield "Garment", f"{notes.garment or 'garment'} for {worn}"
        if notes.drawn_for:
            measures = ", ".join(f"{name} {matter.units.length(mm)}" for name, mm in notes.drawn_for.items())
            yield "Drawn for", measures
    sheets, rows = len(plan.tiles), plan.grid.rows
    taped = f", taped in {rows} {'row' if rows == 1 else 'rows'}" if sheets > 1 else ""
    yield "Pages", f"{sheets} {'sheet' if sheets == 1 else 'sheets'} of {matter.job.facts.paper_title}{taped}"
    if matter.job.facts.scale:
        yield "Size", matter.job.facts.scale
    pieces, copies = len(report.cutting), sum(share.copies for row in report.cutting for share in row.shares)
    if pieces:
        cut = f"cut {copies} times in all" if copies > 1 else "cut once"
        yield "Pieces", f"{pieces} pattern {'piece' if pieces == 1 else 'pieces'}, {cut}"
    for lay in report.lays:
        yield "Cloth", f"{matter.units.cloth(lay.buy)} of {heading(lay, matter.units)}"
    if len(report.notions) > _FEW:
        yield "Notions", f"{len(report.notions)} things to buy besides, listed under Notions"
    elif report.notions:
        bought = (f"{notion.name}: {tables.bought(notion.buy, matter.units)}" for notion in report.notions)
        yield "Notions", "; ".join(bought)
    if warned := [caution.heading.partition(":")[0] for caution in report.cautions if caution.rules]:
        yield "Read first", f"Cautions, at the end: {'; '.join(dict.fromkeys(warned))}"


def _taping(matter: _Matter) -> Iterator[Flowable]:
    set_, job = matter.setter, matter.job
    plan = job.plan
    if len(plan.tiles) < 2:
        return
    extent, steps = plan.layout_size, list(_steps(matter))
    # The steps stand on the map's page, unless its names would then be too small to read.
    whole = matter.width * extent.height / max(extent.width, 1.0) + 6.0
    least = min(max(_LEAST_MAP, _MAP_ROW * plan.grid.rows), matter.height - _ABOVE_MAP, whole)
    height = min(_TALLEST_MAP, matter.height - _BESIDE_MAP - _STEP_HEIGHT * len(steps), whole)
    if height < least:
        height = min(whole, matter.height - _ABOVE_MAP)
        yield CondPageBreak(points(height + _ABOVE_MAP - 2.0))
    yield set_.heading("Taping")
    yield Drawing(Size(matter.width, height), lambda pen, box: draw_map(pen, job, box.grown(-0.5)))
    yield Spacer(0, 8)
    for number, step in enumerate(steps, 1):
        yield set_.item(step, f"{number}.")
    if job.check_lines:
        yield from _section(matter, "Check lines", _check_table(matter))


def _steps(matter: _Matter) -> Iterator[str]:
    """The order to tape in, in the words of the printed page map; of a reprint, what to do with its pages."""
    plan = matter.job.plan
    fresh = [tile.name for tile in plan.to_print]
    yield from _steps_of_reprint(fresh) if plan.kept else _steps_from_nothing(matter)
    yield COMBS_MEET
    if matter.job.check_lines:
        yield "Measure the check lines. Where one is off by more than it may be, find the join that slipped."


def _steps_of_reprint(fresh: Sequence[str]) -> Iterator[str]:
    yield "Print the changed pages at 100 %, with the printer and settings of the first print."
    if fresh:
        yield f"Cut the old pages out along their joins: {', '.join(fresh)}."
        yield "Lay each new page over its gap, so that its lines run on in its neighbours'."


def _steps_from_nothing(matter: _Matter) -> Iterator[str]:
    taping = matter.job.taping
    yield "Measure the test square on the first page before the rest is printed."
    yield CUT_PAGES
    for strip in taping.strips:
        over = ", each page laid over the one before, its edge on the full line" if len(strip.tiles) > 1 else ""
        yield f"Row {strip.row}: {strip.in_words}{over}."
    yield from filter(None, (taping.gaps_in_words, taping.joined_in_words, taping.parts_in_words))


def _check_table(matter: _Matter) -> Table:
    rows = tuple(
        (
            line.what,
            f"{line.start.number} on {line.from_tile}",
            f"{line.end.number} on {line.to_tile}",
            matter.units.exact(line.length),
            matter.units.small(line.allowance),
        )
        for line in matter.job.check_lines
    )
    remarks = (
        f"Careful taping is off by at most {matter.units.small(PER_JOIN)} at each join"
        + (", and the printer by what is known of it." if matter.job.plan.correction.uncertainty else "."),
    )
    head = ("Check line", "From cross", "To cross", "Length", "May be off")
    return Table("Check lines", head, rows, frozenset({3, 4}), remarks)


def _section(matter: _Matter, title: str, table: Table, anchor: str = "") -> Iterator[Flowable]:
    if not table.rows:
        return
    # On one page where it fits; a longer table begins where there is room for some of it, with its heading.
    whole = [matter.setter.heading(title, anchor), *matter.setter.table(table, points(matter.width))]
    needed = sum(part.wrap(points(matter.width), points(matter.height))[1] for part in whole) + points(8.0)
    yield CondPageBreak(min(needed, points(matter.height)) if needed <= points(matter.height) else points(38.0))
    yield from whole


def _lay_plans(matter: _Matter) -> Iterator[Flowable]:
    """Each plan with its figures and its key, as large as a page allows."""
    units, set_ = matter.units, matter.setter
    for number, plan in enumerate(matter.report.lays):
        above: list[Flowable] = [
            set_.heading("Lay plans") if number == 0 else Spacer(0, 10),
            set_.words(_capital(heading(plan, units)), face=Face.BOLD),
            set_.words("\u00a0· ".join(facts(plan, units)), size=7.6, grey=True),
            set_.words(" ".join(key(plan, units)), size=7.6, grey=True),
        ]
        taken = sum(part.wrap(points(matter.width), 1e6)[1] + part.getSpaceAfter() for part in above) + 24.0
        room = Size(matter.width, matter.height - taken * MM_PER_POINT)
        room = lay_size(plan, room)
        pen = RecordingPen()
        lowest = draw_lay(pen, plan, units, Box(0.0, 0.0, room.width, room.height))
        size = Size(room.width, min(lowest + 1.0, room.height))
        yield KeepTogether([*above, Drawing(size, partial(_lay_in_box, plan, units, room))])


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _lay_in_box(plan: LayPlan, units: Units, room: Size, pen: Pen, box: Box) -> None:
    draw_lay(pen, plan, units, Box(box.x0, box.y0, box.x0 + room.width, box.y0 + room.height))


def _sewing(matter: _Matter) -> Iterator[Flowable]:
    if matter.report.steps:
        yield CondPageBreak(points(60.0))
        yield matter.setter.heading("Sewing")
        yield from step_blocks(matter.report, matter.setter, Size(matter.width, matter.height))


def _cautions(matter: _Matter) -> Iterator[Flowable]:
    set_ = matter.setter
    for number, caution in enumerate(matter.report.cautions):
        rules = f" ({', '.join(caution.rules)})" if caution.rules else ""
        block: Sequence[Flowable] = [
            set_.words(caution.heading + rules, face=Face.BOLD),
            set_.words(caution.text),
            Spacer(0, 4),
        ]
        yield KeepTogether([*([set_.heading("Cautions")] if number == 0 else []), *block])
