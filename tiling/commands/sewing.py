"""Options about the wearer and the cloth, as one value, for the cutting list and the guide."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tiling.commands.given import as_one
from tiling.commands.kinds import CLOTH_WIDTH, FILE, LENGTH, MEASURE, SHRINKAGE
from tiling.commands.options import refuse_idle
from tiling.files.inputs import read_input, read_notes_for

if TYPE_CHECKING:
    from tiling.cloth.wishes import LayWishes
    from tiling.operations.plan_cloth import Wearing

__all__ = ["GivenSewing", "sewing"]


@dataclass(frozen=True, slots=True)
class GivenSewing:
    """What was said about the wearer and the cloth; lengths in mm, shrinkage as a share."""

    measures: tuple[tuple[str, float], ...]
    before: Path | None
    widths: tuple[tuple[str, float], ...]
    fold: str
    nap: bool
    shrinkage: float
    gap: float
    selvedge: float
    seconds: int
    seed: int
    units: str

    def check(self) -> None:
        """Refuse options about lay plans where there is no width to make one for.

        Raises:
            UsageWrong: one of them was given.
        """
        if not self.widths:
            why = "says how the lay plan is made, which needs the cloth's width; add --width 140cm, for example."
            refuse_idle(why, "fold", "nap", "shrinkage", "gap", "selvedge", "seconds", "seed")

    def wearing(self, notes: Path | None = None) -> Wearing:
        """The measures, the last one given for a name, and the drawing before it was altered with its notes."""
        from tiling.operations.plan_cloth import Wearing

        if self.before is None:
            return Wearing(dict(self.measures))
        return Wearing(dict(self.measures), read_input(self.before), read_notes_for([self.before], notes))

    def lays(self) -> LayWishes:
        """How lay plans are to be made."""
        from tiling.cloth.cloth_choice import ClothFold, Nap
        from tiling.cloth.lay_search import Effort
        from tiling.cloth.wishes import ClothWidth, LayWishes

        widths = tuple(ClothWidth(mm, cloth) for cloth, mm in self.widths)
        nap = Nap.ONE_WAY if self.nap else Nap.NONE
        effort = Effort(self.seconds, self.seed)
        return LayWishes(widths, ClothFold(self.fold), nap, self.shrinkage, self.gap, self.selvedge, effort)


sewing = as_one(
    "sewing", GivenSewing,
    click.option(
        "--measure", "measures", multiple=True, type=MEASURE, metavar="NAME=LENGTH",
        help="A body measure of the wearer, such as waist=78cm (repeatable). Default: as the pattern was drawn for.",
    ),
    click.option(
        "--before", type=FILE, metavar="DRAWING",
        help="The drawing before it was altered; its finished measures are shown beside the new ones.",
    ),
    click.option(
        "--width", "widths", multiple=True, type=CLOTH_WIDTH, metavar="[CLOTH=]LENGTH",
        help="Width, selvedge to selvedge (repeatable; lining=110cm for one cloth only).",
    ),
    click.option(
        "--fold", type=click.Choice(["lengthwise", "none"]), default="none", show_default=True,
        help="Lay the cloth double, selvedge on selvedge, or opened out.",
    ),
    click.option("--nap", is_flag=True, help="One-way pile or print: no piece upside down."),
    click.option(
        "--shrinkage", type=SHRINKAGE, default="0%", show_default=True, metavar="PERCENT",
        help="What the cloth loses in the wash along its length.",
    ),
    click.option(
        "--gap", type=LENGTH, default="3mm", show_default=True, metavar="LENGTH", help="Kept free between pieces.",
    ),
    click.option(
        "--selvedge", type=LENGTH, default="10mm", show_default=True, metavar="LENGTH",
        help="Kept free along each selvedge.",
    ),
    click.option(
        "--seconds", type=click.IntRange(1, 3600), default=10, show_default=True, metavar="N",
        help="How long to look for each lay plan.",
    ),
    click.option(
        "--seed", type=click.IntRange(0, 2**31 - 1), default=1, show_default=True, metavar="N",
        help="Another number may find another lay plan.",
    ),
    click.option(
        "--units", type=click.Choice(["cm", "in"]), default="cm", show_default=True,
        help="Centimetres and metres, or inches and yards.",
    ),
)  # fmt: skip
