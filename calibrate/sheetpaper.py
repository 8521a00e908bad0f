"""Which paper a sheet is, by the shape of its four edges in the page's own millimetres."""

from __future__ import annotations

from math import log
from typing import TYPE_CHECKING

from calibrate.failures import Action, Reason, Refusal, Remedy
from calibrate.papers import MEASURED_PAPERS, PAPERS, Paper
from calibrate.rectangle import stretch_of

if TYPE_CHECKING:
    from calibrate.edges import SeenEdge

_ALIKE = 0.05
"""How far the two scales may differ on the paper a page was drawn for: printers stretch each way on their own."""
_OTHER_ALIKE = 0.012
"""The same before a sheet is taken for another paper."""
_RIVAL_ALIKE = 0.025
_SCALES = (0.78, 1.30)
_SHRUNK = 0.1  # papers of one series have one shape: of those the one that asks for the least shrinking is meant


def paper_under(edges: dict[str, SeenEdge], drawn: Paper) -> Paper | Refusal:
    """The paper whose shape the sheet has: the one the page was drawn for, or another known one.

    A page that A4 and letter share (210 x 279.4 mm) is the size of no sheet: there the shape alone decides, since
    nothing says where on the sheet the page lies. A page of a size of its own on a sheet that could as well be a
    known paper is refused.
    """
    upright = [PAPERS[name] for name in MEASURED_PAPERS]
    known = [paper.turned() for paper in upright] if drawn.width > drawn.height else upright
    if drawn.shared:
        return _nearest(edges, [paper for paper in known if paper.name in {"a4", "letter"}], drawn, _RIVAL_ALIKE)
    if _unlike(edges, drawn) > _ALIKE:
        return _nearest(edges, [*upright, *(paper.turned() for paper in upright)], drawn, _OTHER_ALIKE)
    if drawn.name in MEASURED_PAPERS:
        return drawn
    rivals = [paper.label for paper in known if _unlike(edges, paper) <= _RIVAL_ALIKE]
    if rivals:
        return Refusal(
            Reason.NO_REFERENCE,
            f"by its shape the sheet may be {drawn.label} or {' or '.join(rivals)}",
            Remedy(Action.CARD_OR_SIDES),
        )
    return drawn


def _unlike(edges: dict[str, SeenEdge], paper: Paper) -> float:
    """By how much the two scales would differ on a paper; 1 where the print would be too small or too large."""
    stretch = stretch_of(edges, paper.width, paper.height)
    if not _SCALES[0] < stretch.across < _SCALES[1]:
        return 1.0
    return abs(stretch.across / stretch.down - 1.0)


def _nearest(edges: dict[str, SeenEdge], papers: list[Paper], drawn: Paper, alike: float) -> Paper | Refusal:
    def merit(paper: Paper) -> float:
        scale = stretch_of(edges, paper.width, paper.height).across
        return _unlike(edges, paper) + _SHRUNK * abs(log(max(scale, 1e-3)))

    fitting = [paper for paper in papers if _unlike(edges, paper) <= alike]
    if fitting:
        return min(fitting, key=merit)
    stretch = stretch_of(edges, 100.0, 100.0)
    shape = stretch.across / stretch.down
    names = "neither A4 nor letter" if drawn.shared else f"neither {drawn.label} nor any other known paper"
    return Refusal(Reason.NO_REFERENCE, f"the sheet's sides are as 1 to {max(shape, 1 / shape):.3f}, which is {names}")
