"""What an answer rests on, in one line: what was taken for granted, and what confirmed it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log
from typing import TYPE_CHECKING

from calibrate.failures import Refusal
from calibrate.papers import MEASURED_PAPERS, PAPERS, Paper
from calibrate.readings import ScaleReading
from calibrate.references import ReferenceKind, sheet_of

if TYPE_CHECKING:
    from calibrate.printer_scale import MeasuredScale
    from calibrate.references import Reference

_ONE_SHAPE = 0.01
"""Papers whose proportions differ by less can't be told apart by shape, each being cut within 2 mm."""


@dataclass(frozen=True, slots=True)
class OtherPaper:
    """A paper that the sheet may be as well, since its shape is the same, and the print's scale if it is."""

    paper: Paper
    across: float
    down: float


def other_papers(reading: ScaleReading, scale: MeasuredScale | ScaleReading) -> tuple[OtherPaper, ...]:
    """The papers that no photo tells from the sheet that ``scale`` was measured against, nearest in size first.

    None where it was measured against something else or somebody gave the sheet's size.
    """
    paper = reading.paper
    if paper is None or reading.reference.kind is not ReferenceKind.SHEET or reading.reference.source == "measured":
        return ()
    lying = paper.width > paper.height
    sizes = sorted(_alike(paper), key=lambda other: abs(log(other.height / max(paper.width, paper.height))))
    return tuple(
        OtherPaper(other, scale.across * other.width / paper.width, scale.down * other.height / paper.height)
        for other in (size.turned() if lying else size for size in sizes)
    )


def read_as(reading: ScaleReading, other: OtherPaper) -> ScaleReading:
    """The sheet's reading if the sheet is the other paper."""
    return replace(
        reading, reference=sheet_of(other.paper), across=other.across, down=other.down, paper=other.paper, note=""
    )


def paper_question(paper: Paper, others: tuple[OtherPaper, ...]) -> str:
    """What to ask where a sheet may be one of several papers, with what the print's scale would be on each."""
    if not others:
        return ""
    ifs = [
        f"on {_article(other.paper)} ({other.paper.width:g} x {other.paper.height:g} mm) the page would have come out "
        f"at {100 * other.across:.1f} % across and {100 * other.down:.1f} % down"
        for other in others
    ]
    return (
        f"is the sheet really {paper.label}, {paper.width:g} x {paper.height:g} mm? No photo tells it from papers of "
        f"the same shape; {', '.join(ifs)}. Measure one side, or lay a card in the outline"
    )


def grounds(reading: ScaleReading, sheet: ScaleReading | Refusal) -> str:
    """What the reading taken rests on; ``sheet`` is what the sheet's own edges said in the same photo."""
    if reading.reference.kind is ReferenceKind.SHEET:
        return _of_sheet(reading)
    said = _of_thing(reading.reference)
    if isinstance(sheet, ScaleReading) and sheet.paper is not None:
        return f"{said}; the sheet's edges agree, if it is {_article(sheet.paper)}"
    return f"{said}; the sheet's edges could not be read, so nothing confirmed it"


def _of_sheet(reading: ScaleReading) -> str:
    paper = reading.paper
    if paper is None or reading.reference.source == "measured":
        return f"the sheet's sides are as they were measured ({reading.reference.label})"
    return f"the sheet is {_article(paper)}, whole and untrimmed"


def _of_thing(reference: Reference) -> str:
    if reference.kind is ReferenceKind.CARD:
        return f"the card is of bank-card size ({reference.width:.2f} x {reference.height:.2f} mm)"
    if reference.kind is ReferenceKind.SCANNER:
        return f"the scale is right by {reference.label}, to half a per cent"
    return f"the coin is the one named ({reference.label}, {reference.width:.2f} mm)"


def _alike(paper: Paper) -> list[Paper]:
    """Other papers of the same shape, upright."""
    shorter, longer = sorted((paper.width, paper.height))
    others = (PAPERS[name] for name in MEASURED_PAPERS)
    return [
        other
        for other in others
        if abs(other.height - longer) > 1.0 and abs(other.height / other.width / (longer / shorter) - 1.0) < _ONE_SHAPE
    ]


def _article(paper: Paper) -> str:
    return f"{'an' if paper.label[0] == 'A' else 'a'} {paper.label} sheet"
