"""Which paper a sheet is, by the shape of its four edges in the page's own millimetres."""

from __future__ import annotations

from itertools import product
from math import exp, log
from typing import TYPE_CHECKING

from calibrate.failures import Action, Reason, Refusal, Remedy
from calibrate.papers import MEASURED_PAPERS, PAPERS, Paper
from calibrate.rectangle import stretch_of
from calibrate.shape import UNSEEN, PrintShape

if TYPE_CHECKING:
    from calibrate.edges import SeenEdge
    from calibrate.sheetsides import SheetSide

_OTHER_ALIKE = 0.012
"""By how much a sheet's shape may differ from that of a paper the page was not drawn for, before it is taken for it."""
_RIVAL_ALIKE = 0.025
_SCALES = (0.78, 1.30)
_SHRUNK = 0.1  # papers of one series have one shape: of those the one that asks for the least shrinking is meant
_SAME_SCALE = 0.001
_TRIMMED = 15.0
"""What a sheet may have lost to scissors, mm, before it is rather another paper."""


def paper_under(edges: dict[str, SeenEdge], drawn: Paper, shape: PrintShape = UNSEEN) -> Paper | Refusal:
    """The paper whose shape the sheet has: the one the page was drawn for, or another known one.

    A page that A4 and letter share (210 x 279.4 mm) is the size of no sheet: there the shape alone decides, since
    nothing says where on the sheet the page lies. A page of a size of its own on a sheet that could as well be a
    known paper is refused, and so is a sheet that is no known paper, or may be one or another one trimmed.
    """
    upright = [PAPERS[name] for name in MEASURED_PAPERS]
    known = [paper.turned() for paper in upright] if drawn.width > drawn.height else upright
    if drawn.shared:
        both = [paper for paper in known if paper.name in {"a4", "letter"}]
        return _nearest(edges, both, drawn, shape, _RIVAL_ALIKE)
    if not fits(edges, drawn, shape):
        return _other(edges, [*upright, *(paper.turned() for paper in upright)], drawn, shape)
    if drawn.name in MEASURED_PAPERS:
        return drawn
    rivals = [paper.label for paper in known if _unlike(edges, paper, shape) <= _RIVAL_ALIKE]
    if rivals:
        return Refusal(
            Reason.NO_REFERENCE,
            f"by its shape the sheet may be {drawn.label} or {' or '.join(rivals)}",
            Remedy(Action.CARD_OR_SIDES),
        )
    return drawn


def fits(edges: dict[str, SeenEdge], paper: Paper, shape: PrintShape) -> bool:
    """Whether a sheet of the paper, cut as papers are, can have the four edges."""
    cut = sum(paper.tolerance.limit(side) / side for side in (paper.width, paper.height))
    return _unlike(edges, paper, shape) <= cut + 2.0 * shape.deviation


def rival_of(sides: dict[str, SheetSide], paper: Paper, shape: PrintShape) -> Refusal | None:
    """That other lines on the sheet close to a rectangle of the paper too, and to another scale.

    Where it is brighter beyond all four, a printer's fog ends there.
    """
    if all(found.brighter for found in sides.values()):
        return None
    taken = {side: found.edge for side, found in sides.items()}
    first = stretch_of(taken, paper.width, paper.height)
    for others in product(*((found.edge, *found.rivals) for found in sides.values())):
        edges = dict(zip(sides, others, strict=True))
        moved = [side for side in sides if edges[side] is not taken[side]]
        if not moved or not fits(edges, paper, shape):
            continue
        stretch = stretch_of(edges, paper.width, paper.height)
        if max(abs(stretch.across / first.across - 1.0), abs(stretch.down / first.down - 1.0)) > _SAME_SCALE:
            return Refusal(
                Reason.SHEET_DOUBTFUL,
                f"within its {' and '.join(moved)} edge runs a line that may be its edge as well: another sheet under "
                "it, or a streak on it",
            )
    return None


def _unlike(edges: dict[str, SeenEdge], paper: Paper, shape: PrintShape) -> float:
    """By how much the sheet's shape differs from a paper's; 1 where the print would be too small or too large."""
    stretch = stretch_of(edges, paper.width, paper.height)
    if not _SCALES[0] < stretch.across < _SCALES[1]:
        return 1.0
    return abs(shape.misfit(stretch))


def _other(edges: dict[str, SeenEdge], papers: list[Paper], drawn: Paper, shape: PrintShape) -> Paper | Refusal:
    """A paper the page was not drawn for, unless a trimmed sheet of the one it was drawn for has that shape too."""
    stretch = stretch_of(edges, 1.0, 1.0)
    wide = exp(shape.proportion) * stretch.down / stretch.across  # the sheet's width over its height
    lost = max(drawn.width - wide * drawn.height, drawn.height - drawn.width / wide)
    if lost < _TRIMMED:
        return Refusal(
            Reason.SHEET_DOUBTFUL,
            f"by its shape it is no whole {drawn.label} sheet but one that lost {lost:.0f} mm: is it trimmed, or of "
            "another paper?",
        )
    return _nearest(edges, papers, drawn, shape, _OTHER_ALIKE)


def _nearest(
    edges: dict[str, SeenEdge], papers: list[Paper], drawn: Paper, shape: PrintShape, alike: float
) -> Paper | Refusal:
    def merit(paper: Paper) -> float:
        scale = stretch_of(edges, paper.width, paper.height).across
        return _unlike(edges, paper, shape) + _SHRUNK * abs(log(max(scale, 1e-3)))

    fitting = [paper for paper in papers if _unlike(edges, paper, shape) <= alike + shape.deviation]
    if fitting:
        return min(fitting, key=merit)
    stretch = stretch_of(edges, 100.0, 100.0)
    wide = exp(shape.proportion) * stretch.down / stretch.across
    names = "neither A4 nor letter" if drawn.shared else f"neither {drawn.label} nor any other known paper"
    return Refusal(Reason.NO_REFERENCE, f"the sheet's sides are as 1 to {max(wide, 1 / wide):.3f}, which is {names}")
