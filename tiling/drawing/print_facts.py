"""The facts of a print in words: settled once for a job, and only laid out by whoever shows them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from calibrate.printer_scale import PageCorrection
from tiling.fonts.shaping import amid
from tiling.lengths import in_mm, in_scale
from tiling.planning.plan import Margins, Orientation, PrintPlan

__all__ = ["PrintFacts", "correction_in_words", "facts_of"]


@dataclass(frozen=True, slots=True)
class PrintFacts:
    """The facts of a print, each in the words that all places share.

    Attributes:
        title: the pattern's.
        extent: sheets, pages of pattern and the layout's size.
        arrangement: pages of the whole taped sheet, in how many rows and columns, and how many are left out.
        paper_title: the paper's name as people write it.
        paper: that name, the page's size and which way up it is.
        margins: what stays free along the edges.
        overlap: of neighbouring pages; empty where there is one page only.
        layers: those that were picked, by name; empty for all that the drawing shows.
        scale: by what the drawing was scaled, as a sentence; empty where it wasn't.
        correction: what was done about the printer, as a sentence.
        date: as the person gave it; empty for none.
    """

    title: str
    extent: str
    arrangement: str
    paper_title: str
    paper: str
    margins: str
    overlap: str
    scale: str
    correction: str
    layers: str = ""
    date: str = ""

    @property
    def heading(self) -> str:
        """The title, and the layers that were picked, as part of a sentence."""
        return f"{amid(self.title)}, {amid(self.layers)}" if self.layers else amid(self.title)

    @property
    def settings(self) -> tuple[str, ...]:
        """What was set for this print, a line each."""
        named = (
            ("Layers", self.layers),
            ("Paper", self.paper),
            ("Margins", self.margins),
            ("Overlap of neighbouring pages", self.overlap),
        )
        lines = (*filter(None, [self.scale]), *(f"{name}: {value}" for name, value in named if value), self.correction)
        return (*lines, f"Date: {self.date}") if self.date else lines


def facts_of(plan: PrintPlan, sheets: int, date: str, layers: Sequence[str] = ()) -> PrintFacts:
    """The facts of a plan's print.

    Args:
        plan: what is printed where.
        sheets: how many the printer takes, pages before the tiles included.
        date: to be printed; empty for none.
        layers: the names of those that were picked, if any.
    """
    tiles, layout = len(plan.to_print), plan.layout_size
    pattern = "1 page of pattern" if tiles == 1 else f"{tiles} pages of pattern"
    title = plan.paper.label
    return PrintFacts(
        title=plan.title or "Pattern",
        extent=f"{_counted(sheets, 'sheet')}, {pattern}, laid out {in_mm(layout.width, 0)} x {in_mm(layout.height, 0)}",
        arrangement=_arrangement(plan),
        paper_title=title,
        paper=_paper(plan),
        margins=_margins(plan.margins),
        overlap=in_mm(plan.grid.overlap) if len(plan.tiles) > 1 else "",
        scale=in_scale(plan.scale) if plan.scale != 1.0 else "",
        correction=correction_in_words(plan.correction),
        layers=", ".join(layers),
        date=date,
    )


def _paper(plan: PrintPlan) -> str:
    size = plan.page_size
    if plan.paper.roll:
        along = size.width if plan.orientation is Orientation.LANDSCAPE else size.height
        return f"{in_mm(along)} of a roll {in_mm(plan.paper.width)} wide"
    return f"{plan.paper.label}, {in_mm(size.width)} x {in_mm(size.height)}, {plan.orientation.value}"


def _margins(margins: Margins) -> str:
    sides = {"left": margins.left, "top": margins.top, "right": margins.right, "bottom": margins.bottom}
    if len({in_mm(side) for side in sides.values()}) == 1:
        return in_mm(margins.left)
    return ", ".join(f"{name} {in_mm(side)}" for name, side in sides.items())


def _arrangement(plan: PrintPlan) -> str:
    text = f"{_counted(len(plan.tiles), 'page')} in {_counted(plan.grid.rows, 'row')} of {plan.grid.columns}"
    return f"{text}, {len(plan.skipped)} empty and left out" if plan.skipped else text


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def correction_in_words(correction: PageCorrection) -> str:
    """How the page was scaled for the printer, as a sentence."""
    if correction.is_none:
        return "Printer: drawn at true size, no correction."
    whose = f" for the printer {correction.printer}" if correction.printer else ""
    across, down = (
        f"{abs(factor - 1) * 100:.2f} % {'larger' if factor > 1 else 'smaller'}" if factor != 1 else "as it is"
        for factor in (correction.across, correction.down)
    )
    return f"Corrected{whose}: drawn {across} across and {down} down, so that it comes out true. Use no other printer."
