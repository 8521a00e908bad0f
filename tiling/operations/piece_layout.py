"""Where the pieces lie on the paper: as drawn, arranged anew, as an earlier file has them, sharing paper or not."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum
from typing import TYPE_CHECKING

from tiling.planning.arrange import ArrangeOptions, arrange
from tiling.planning.occupancy import Raster
from tiling.planning.placing import placed
from tiling.planning.planner import PageCounter, PlanOptions, plan_pages
from tiling.planning.share import Sharing, share, with_line_patterns
from tiling.record.printed_file import read_printed

if TYPE_CHECKING:
    from calibrate.run import Run
    from tiling.files.inputs import InputFile
    from tiling.pattern import Pattern
    from tiling.planning.plan import PrintPlan

__all__ = ["ArrangingGain", "AsPrinted", "LaidOut", "LayoutGain", "PaperUse", "SharingGain", "lay_out"]


class PaperUse(Enum):
    """Whether every piece has paper of its own, or pieces of like shape are printed over one another to be traced."""

    OWN = "own"
    SHARED = "shared"


@dataclass(frozen=True, slots=True)
class AsPrinted:
    """The pieces lie as a file has them that was printed before."""

    printed: InputFile


@dataclass(frozen=True, slots=True)
class SharingGain:
    """How many pieces share paper with another, and the tiles that takes instead of `apart`."""

    pieces: int
    tiles: int
    apart: int


@dataclass(frozen=True, slots=True)
class ArrangingGain:
    """The tiles of the new layout instead of `kept`; `reason` is one sentence where the layout was kept, else empty."""

    tiles: int
    kept: int
    reason: str = ""


@dataclass(frozen=True, slots=True)
class LayoutGain:
    """What was asked for beyond the layout as drawn, and what came of it; None where it wasn't asked for.

    Attributes:
        as_printed: whether the earlier file had pieces laid anew (else they lie as drawn).
    """

    sharing: SharingGain | None = None
    arranging: ArrangingGain | None = None
    as_printed: bool | None = None


@dataclass(frozen=True, slots=True)
class LaidOut:
    """A plan, the drawing as laid out where that is more than its pieces moved, and its ink where it was rastered."""

    plan: PrintPlan
    gain: LayoutGain
    laid: Pattern | None = None
    ink: Raster | None = None


def lay_out(
    pattern: Pattern, options: PlanOptions, how: ArrangeOptions | AsPrinted | None, use: PaperUse, run: Run
) -> LaidOut:
    """Plan the pages with the pieces where they are wanted.

    Args:
        pattern: as read.
        options: of the plan.
        how: to arrange them anew, as an earlier file has them, or (None) as drawn.
        use: whether pieces may share paper; as an earlier file has it in any case, where its layout is taken.
        run: asked whether to go on; told the seconds of a search.

    Raises:
        UsageWrong: a gap or a time too short, or no room on the paper.
        InputUnfit: pieces can't share paper, or the earlier file can't be read or is of another drawing.
        Cancelled: by `run`.
    """
    if isinstance(how, AsPrinted):
        return _as_printed(pattern, options, how, use, run)
    if how is not None:
        return _arranged(pattern, options, how, use, run)
    counter = PageCounter.of(pattern, run)
    plan = counter.plan(options, run)
    if use is PaperUse.OWN:
        return LaidOut(plan, LayoutGain(), ink=counter.ink)
    sharing = share(pattern)
    shared = plan_pages(sharing.pattern, replace(options, placements=sharing.placements), run=run)
    gain = _sharing_gain(sharing, len(shared.tiles), len(plan.tiles))
    return LaidOut(replace(shared, shared=True), LayoutGain(gain), sharing.pattern)


def _arranged(pattern: Pattern, options: PlanOptions, how: ArrangeOptions, use: PaperUse, run: Run) -> LaidOut:
    sharing = share(pattern) if use is PaperUse.SHARED else None
    found = arrange(pattern, options, how, sharing, run)
    arranging = ArrangingGain(len(found.plan.tiles), len(found.kept.tiles), found.reason)
    if sharing is None:
        return LaidOut(found.plan, LayoutGain(arranging=arranging))
    apart = len(plan_pages(pattern, options, run=run).tiles)
    gain = LayoutGain(_sharing_gain(sharing, arranging.kept, apart), arranging)
    return LaidOut(replace(found.plan, shared=True), gain, found.pattern)


def _as_printed(pattern: Pattern, options: PlanOptions, how: AsPrinted, use: PaperUse, run: Run) -> LaidOut:
    before = read_printed(how.printed).plan
    laid = placed(pattern, before.placements)
    shared = use is PaperUse.SHARED or before.shared
    if shared:
        laid = with_line_patterns(laid)
    plan = plan_pages(laid, replace(options, placements=before.placements), run=run)
    plan = replace(plan, pages_as_drawn=before.pages_as_drawn, layout_size=before.layout_size, shared=shared)
    return LaidOut(plan, LayoutGain(as_printed=bool(before.placements)), laid if shared else None)


def _sharing_gain(sharing: Sharing, tiles: int, apart: int) -> SharingGain:
    return SharingGain(len(sharing.pairs), tiles, apart)
