"""Where the pieces lie: the options that say so, and what came of them in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tiling.commands.given import as_one
from tiling.commands.kinds import FILE, LENGTH
from tiling.commands.options import refuse_idle
from tiling.failures import UsageWrong
from tiling.files.inputs import InputKind, read_input

if TYPE_CHECKING:
    from tiling.operations.piece_layout import AsPrinted, LayoutGain, PaperUse
    from tiling.planning.arrange import ArrangeOptions

__all__ = ["GivenPieces", "gain_in_words", "pieces"]


@dataclass(frozen=True, slots=True)
class GivenPieces:
    """What was said about where pieces lie. `gap` is mm, `placed_as` a printed file."""

    arrange: bool
    turn: str
    gap: float
    seconds: int
    share: bool
    placed_as: Path | None

    def check(self) -> None:
        """Refuse what contradicts itself or would change nothing.

        Raises:
            UsageWrong: as said.
        """
        if not self.arrange:
            why = "says how --arrange lays the pieces; add --arrange, or leave it out."
            refuse_idle(why, "turn", "gap", "seconds")
        elif self.placed_as is not None:
            raise UsageWrong("--arrange lays the pieces anew and --placed-as keeps an old layout; give one of them.")

    def layout(self) -> ArrangeOptions | AsPrinted | None:
        """How they are to be laid; None as drawn."""
        from tiling.operations.piece_layout import AsPrinted
        from tiling.planning.arrange import ArrangeOptions, Turn

        if self.placed_as is not None:
            return AsPrinted(read_input(self.placed_as, InputKind.PRINTED))
        return ArrangeOptions(Turn(self.turn), self.gap, self.seconds) if self.arrange else None

    def paper_use(self) -> PaperUse:
        """Whether they may share paper."""
        from tiling.operations.piece_layout import PaperUse

        return PaperUse.SHARED if self.share else PaperUse.OWN


pieces = as_one(
    "pieces", GivenPieces,
    click.option("--arrange", is_flag=True, help="Lay the pieces anew so that fewer pages are printed."),
    click.option(
        "--turn", type=click.Choice(["any", "half", "none"]), default="any", show_default=True,
        help="How --arrange may turn pieces on the paper.",
    ),
    click.option(
        "--gap", type=LENGTH, default="5mm", show_default=True, metavar="LENGTH",
        help="Between arranged pieces, at least 5mm.",
    ),
    click.option(
        "--seconds", type=click.IntRange(1, 3600), default=20, show_default=True, metavar="N",
        help="How long --arrange searches. Another machine may end differently; --placed-as repeats it.",
    ),
    click.option(
        "--share", is_flag=True,
        help="Print pieces of like shape over one another, each in its own line pattern, to be traced.",
    ),
    click.option(
        "--placed-as", type=FILE, metavar="OLD.pdf", help="Lay the pieces as this printed file has them.",
    ),
)  # fmt: skip


def gain_in_words(gain: LayoutGain) -> Iterator[str]:
    """What came of laying the pieces anew, a sentence each."""
    if (sharing := gain.sharing) is not None:
        count = "One piece shares" if sharing.pieces == 1 else f"{sharing.pieces} pieces share"
        yield f"{count} paper with another: {sharing.tiles} tiles instead of {sharing.apart}"
    if (arranging := gain.arranging) is not None:
        yield arranging.reason.rstrip(".") or (
            f"Arranged: {arranging.tiles} tiles instead of {arranging.kept}; the search is bounded by time, so lay the "
            "pieces the same way again with --placed-as and this file"
        )
    if gain.as_printed is not None:
        yield f"Pieces laid {'as there' if gain.as_printed else 'as drawn: that file was not arranged'}"
