"""The facts of a print in words: settled once for a job, and only laid out by whoever shows them."""

from __future__ import annotations

from dataclasses import dataclass

from calibrate.printer_scale import PageCorrection
from tiling.lengths import in_mm
from tiling.planning.plan import PrintPlan

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
        overlap: of neighbouring pages.
        correction: what was done about the printer, as a sentence.
        date: as the person gave it; empty for none.
    """

    title: str
    extent: str
    arrangement: str
    paper_title: str
    paper: str
    overlap: str
    correction: str
    date: str = ""

    @property
    def settings(self) -> tuple[str, ...]:
        """What was set for this print, a line each."""
        lines = (f"Paper: {self.paper}", f"Overlap of neighbouring pages: {self.overlap}", self.correction)
        return (*lines, f"Date: {self.date}") if self.date else lines


def facts_of(plan: PrintPlan, sheets: int, date: str) -> PrintFacts:
    """The facts of a plan's print.

    Args:
        plan: what is printed where.
        sheets: how many the printer takes, pages before the tiles included.
        date: to be printed; empty for none.
    """
    tiles, layout, size = len(plan.to_print), plan.layout_size, plan.page_size
    pattern = "1 page of pattern" if tiles == 1 else f"{tiles} pages of pattern"
    title = plan.paper.label
    return PrintFacts(
        title=plan.title or "Pattern",
        extent=f"{_counted(sheets, 'sheet')}, {pattern}, laid out {in_mm(layout.width, 0)} x {in_mm(layout.height, 0)}",
        arrangement=_arrangement(plan),
        paper_title=title,
        paper=f"{title}, {in_mm(size.width)} x {in_mm(size.height)}, {plan.orientation.value}",
        overlap=in_mm(plan.grid.overlap),
        correction=correction_in_words(plan.correction),
        date=date,
    )


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
