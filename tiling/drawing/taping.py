"""How the pages of a sheet are taped: in which strips, which rows meet, and the sentences that say so."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from tiling.drawing.joins import STEP
from tiling.planning.plan import PrintPlan, parts_of_cells, row_letters

__all__ = [
    "COMBS_MEET",
    "COMB_STEPS",
    "CUT_PAGES",
    "PHOTOGRAPH",
    "ROWS_FIRST",
    "Strip",
    "Taping",
    "sheet_parts",
    "taping_of",
]

CUT_PAGES = "Cut each page along its dashed lines (left, top). Leave full lines and hatched strips."
ROWS_FIRST = "Rows first, left to right, each page laid over the one before, edge on its full line:"
COMBS_MEET = "Before the tape sticks, look at the combs: their long teeth meet in one line."
COMB_STEPS = (
    f"Where the teeth next to them do instead, the page is off by {STEP:g} mm; "
    f"the second pair means {2 * STEP:g} mm, and so on."
)

PHOTOGRAPH = (
    "Or by two photos of the whole sheet, one from above each long side, before you cut: "
    "pageseam taped tells which join slipped."
)


@dataclass(frozen=True, slots=True)
class Strip:
    """Tiles of one row that meet, from left to right: the row's letter, the tiles' names."""

    row: str
    tiles: tuple[str, ...]

    @property
    def in_words(self) -> str:
        """From the first to the last."""
        return " \u2013 ".join(self.tiles)


@dataclass(frozen=True, slots=True)
class Taping:
    """How a sheet is taped.

    Attributes:
        strips: in the order they are taped; a row with empty tiles left out of its middle is several.
        joined: the letters of rows that are taped to each other, upper and lower, from the top.
        parts: how many parts the tiles make that nothing holds together.
        bridges: the names of pages on which nothing is drawn, which hold others.
    """

    strips: tuple[Strip, ...]
    joined: tuple[tuple[str, str], ...]
    parts: int
    bridges: tuple[str, ...] = ()

    @property
    def rows_in_words(self) -> list[str]:
        """The strips, a row each; where pages are left out of a row, its strips with the gaps between them."""
        rows = [[strip.in_words for strip in strips] for _, strips in groupby(self.strips, key=lambda one: one.row)]
        single = len(self.strips) == 1
        return [", gap, ".join(row) for row in rows if single or len(row) > 1 or "\u2013" in row[0]]

    @property
    def gaps_in_words(self) -> str:
        """What to do about the gaps, and what pages without a line are for; empty where there are none of either."""
        rows = [strip.row for strip in self.strips]
        gaps = len(rows) > len(set(rows))
        left = (
            "Where a gap is left nothing is drawn: the strips beside it hang on the rows above and below."
            if gaps
            else ""
        )
        named = ", ".join(self.bridges)
        held = (
            f"{named} {'is' if len(self.bridges) == 1 else 'are'} empty and there to hold the others." if named else ""
        )
        return f"{left} {held}".strip()

    @property
    def joined_in_words(self) -> str:
        """Which row lies over which; empty for a single row."""
        pairs = ", ".join(f"row {lower} over row {upper}" for upper, lower in self.joined)
        return f"Then row to row from the top: {pairs}." if pairs else ""

    @property
    def parts_in_words(self) -> str:
        """That the tiles don't all hang together; empty where they do."""
        many = self.parts > 1
        return f"The pages make {self.parts} parts that do not touch: tape and check each by itself." if many else ""


def taping_of(plan: PrintPlan) -> Taping:
    """How the plan's tiles are taped, those of an earlier print included."""
    tiles = sorted(plan.tiles, key=lambda tile: (tile.row, tile.column))
    # Along a strip, column and place in the list grow alike.
    strips = groupby(enumerate(tiles), key=lambda one: (one[1].row, one[1].column - one[0]))
    held = {(tile.row, tile.column) for tile in tiles}
    upper = sorted({row for row, column in held if (row + 1, column) in held})
    return Taping(
        tuple(Strip(row_letters(row), tuple(tile.name for _, tile in own)) for (row, _), own in strips),
        tuple((row_letters(row), row_letters(row + 1)) for row in upper),
        len(sheet_parts(plan)),
        tuple(tile.name for tile in tiles if tile.name in plan.bridges),
    )


def sheet_parts(plan: PrintPlan) -> list[frozenset[str]]:
    """The names of tiles that hang together once taped, side to side; one part unless empty tiles lie between."""
    names = {(tile.row, tile.column): tile.name for tile in plan.tiles}
    return [frozenset(names[cell] for cell in part) for part in parts_of_cells(names)]
