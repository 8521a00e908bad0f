"""Where the pieces lie: as drawn, arranged anew, sharing paper, or as an earlier file has them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from tiling.commands.options import FILE, LENGTH
from tiling.failures import UsageWrong

if TYPE_CHECKING:
    from tiling.commands.console import Console
    from tiling.pattern import Pattern
    from tiling.planning.occupancy import Raster
    from tiling.planning.plan import PrintPlan
    from tiling.planning.planner import PlanOptions

__all__ = ["HOW_TO_ARRANGE", "LaidOut", "Wish", "arrange_options", "lay_out"]

F = TypeVar("F", bound=Callable[..., Any])

HOW_TO_ARRANGE = ("turn", "gap", "seconds")
"""Options that mean nothing without --arrange, by their parameters' names."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What the person asked for. `gap` is mm, `placed_as` a printed file."""

    arrange: bool = False
    turn: str = "any"
    gap: float = 5.0
    seconds: int = 20
    share: bool = False
    placed_as: Path | None = None


@dataclass(frozen=True, slots=True)
class LaidOut:
    """A plan, and the drawing as laid out where it is more than the pieces moved.

    `notes` tell what was gained; `ink` is the layout's occupancy where it was reckoned on the way.
    """

    plan: PrintPlan
    laid: Pattern | None = None
    notes: tuple[str, ...] = ()
    ink: Raster | None = None


def arrange_options(command: F) -> F:
    """The options that make a `Wish`, as one decorator: arrange, turn, gap, seconds, share, placed_as."""
    for option in reversed(
        (
            click.option("--arrange", is_flag=True, help="Lay the pieces anew so that fewer pages are printed."),
            click.option(
                "--turn",
                type=click.Choice(["any", "half", "none"]),
                default="any",
                show_default=True,
                help="How --arrange may turn pieces on the paper.",
            ),
            click.option(
                "--gap",
                type=LENGTH,
                default="5mm",
                show_default=True,
                metavar="LENGTH",
                help="Between arranged pieces, at least 5mm.",
            ),
            click.option(
                "--seconds",
                type=click.IntRange(1, 3600),
                default=20,
                show_default=True,
                metavar="N",
                help="How long --arrange searches. Another machine may end differently; --placed-as repeats it.",
            ),
            click.option(
                "--share",
                is_flag=True,
                help="Print pieces of like shape over one another, each in its own line pattern, to be traced.",
            ),
            click.option(
                "--placed-as",
                type=FILE,
                metavar="OLD.pdf",
                help="Lay the pieces as this printed file has them.",
            ),
        )
    ):
        command = option(command)
    return command


def lay_out(pattern: Pattern, chosen: PlanOptions, wish: Wish, voice: Console) -> LaidOut:
    """Plan the pages with the pieces where the person wants them.

    Raises:
        UsageWrong: the wishes contradict each other.
        InputUnfit: pieces can't share paper, or the printed file is of another drawing.
    """
    if wish.placed_as is not None:
        if wish.arrange:
            raise UsageWrong("--arrange lays the pieces anew and --placed-as keeps an old layout; give one of them.")
        return _as_before(pattern, chosen, wish)
    if wish.arrange:
        return _arranged(pattern, chosen, wish, voice)
    from tiling.planning.occupancy import occupancy
    from tiling.planning.planner import plan_pages

    ink = occupancy(pattern)
    plan = plan_pages(pattern, chosen, ink)
    if not wish.share:
        return LaidOut(plan, ink=ink)
    from tiling.planning.share import share

    sharing = share(pattern)
    shared = plan_pages(sharing.pattern, replace(chosen, placements=sharing.placements))
    note = _sharing_note(len(sharing.pairs), len(plan.tiles), len(shared.tiles))
    return LaidOut(replace(shared, shared=True), sharing.pattern, (note,))


def _arranged(pattern: Pattern, chosen: PlanOptions, wish: Wish, voice: Console) -> LaidOut:
    from tiling.planning.arrange import ArrangeOptions, Turn, arrange
    from tiling.planning.planner import plan_pages
    from tiling.planning.share import share

    sharing = share(pattern) if wish.share else None
    options = ArrangeOptions(Turn(wish.turn), wish.gap, wish.seconds)
    found = arrange(pattern, chosen, options, sharing, voice.run())
    notes = []
    if sharing is not None:
        apart = len(plan_pages(pattern, chosen).tiles)
        notes.append(_sharing_note(len(sharing.pairs), apart, len(found.kept.tiles)))
    if found.helped:
        notes.append(
            f"arranged: {len(found.plan.tiles)} tiles instead of {len(found.kept.tiles)}; the search is bounded by "
            "time, so lay the pieces the same way again with --placed-as and this file"
        )
    else:
        notes.append(found.reason.rstrip("."))
    plan = replace(found.plan, shared=sharing is not None)
    return LaidOut(plan, found.pattern if sharing is not None else None, tuple(notes))


def _as_before(pattern: Pattern, chosen: PlanOptions, wish: Wish) -> LaidOut:
    from tiling.files.inputs import InputKind, read_input
    from tiling.planning.placing import placed
    from tiling.planning.planner import plan_pages
    from tiling.planning.share import with_line_patterns
    from tiling.record.printed_file import read_printed

    assert wish.placed_as is not None
    before = read_printed(read_input(wish.placed_as, InputKind.PRINTED)).plan
    placements = before.placements
    laid = placed(pattern, placements)
    shared = wish.share or before.shared
    if shared:
        laid = with_line_patterns(laid)
    plan = plan_pages(laid, replace(chosen, placements=placements))
    plan = replace(plan, pages_as_drawn=before.pages_as_drawn, layout_size=before.layout_size, shared=shared)
    kept = "as there" if placements else "as drawn: that file was not arranged"
    return LaidOut(plan, laid if shared else None, (f"pieces laid {kept}",))


def _sharing_note(pairs: int, without: int, shared: int) -> str:
    count = "one piece shares" if pairs == 1 else f"{pairs} pieces share"
    return f"{count} paper with another: {shared} tiles instead of {without}"
