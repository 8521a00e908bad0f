"""What an answer rests on, in one line: what was taken for granted, and what confirmed it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calibrate.failures import Refusal
from calibrate.papers import MEASURED_PAPERS, PAPERS, Paper
from calibrate.readings import ScaleReading
from calibrate.references import ReferenceKind

if TYPE_CHECKING:
    from calibrate.references import Reference

_ONE_SHAPE = 0.01
"""Papers whose proportions differ by less can't be told apart by shape, each being cut within 2 mm."""


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
    alike = _alike(paper)
    more = (
        f"; {' and '.join(alike)} have the same shape, and a page shrunk onto one would read far too large"
        if alike
        else ""
    )
    return f"the sheet is {_article(paper)}, whole and untrimmed{more}"


def _of_thing(reference: Reference) -> str:
    if reference.kind is ReferenceKind.CARD:
        return f"the card is of bank-card size ({reference.width:.2f} x {reference.height:.2f} mm)"
    if reference.kind is ReferenceKind.SCANNER:
        return f"the scale is right by {reference.label}, to half a per cent"
    return f"the coin is the one named ({reference.label}, {reference.width:.2f} mm)"


def _alike(paper: Paper) -> list[str]:
    """Smaller papers of the same shape."""
    shape = max(paper.width, paper.height) / min(paper.width, paper.height)
    others = (PAPERS[name] for name in MEASURED_PAPERS)
    return [
        other.label
        for other in others
        if other.height < max(paper.width, paper.height) - 1.0
        and abs(other.height / other.width / shape - 1.0) < _ONE_SHAPE
    ]


def _article(paper: Paper) -> str:
    return f"{'an' if paper.label[0] == 'A' else 'a'} {paper.label} sheet"
