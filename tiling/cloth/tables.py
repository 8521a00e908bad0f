"""The tables in words and in the person's units: one form for the terminal and for the booklet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from tiling.cloth.cloth_choice import ClothFold
from tiling.cloth.grammar import as_written
from tiling.cloth.naming import piece_title
from tiling.cloth.notions import Notion
from tiling.cloth.rules import Quantity
from tiling.cloth.seams import SeamRow
from tiling.cloth.sewing_report import SewingReport
from tiling.cloth.sizes import SizeRow
from tiling.cloth.units import Units
from tiling.lengths import in_percent

__all__ = [
    "Table",
    "amount",
    "as_text",
    "counted_table",
    "cutting_table",
    "filled",
    "lay_table",
    "notch_table",
    "notion_table",
    "piece_anchor",
    "seam_anchor",
    "seam_table",
    "size_table",
]

_DASH = "–"


@dataclass(frozen=True, slots=True)
class Table:
    """A title, column heads, rows of the same length, and remarks below.

    `numbers` are the columns set to the right; `anchors` name the rows, for steps to lead there.
    """

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: frozenset[int] = frozenset()
    remarks: tuple[str, ...] = ()
    anchors: tuple[str, ...] = ()


def filled(table: Table) -> Table:
    """The table without columns in which nothing stands but their heads."""
    kept = [i for i, column in enumerate(zip(*table.rows, strict=True)) if any(column)]
    head, *body = (tuple(row[i] for i in kept) for row in (table.head, *table.rows))
    numbers = frozenset(n for n, i in enumerate(kept) if i in table.numbers)
    return replace(table, head=head, rows=tuple(body), numbers=numbers)


def piece_anchor(piece: str) -> str:
    """What a piece's row is called inside the booklet."""
    return f"piece-{piece.encode().hex()}"


def seam_anchor(seam: str) -> str:
    """What a seam's row is called inside the booklet."""
    return f"seam-{seam.encode().hex()}"


def as_text(table: Table) -> str:
    """The table in plain characters."""
    table = filled(table)
    lines = [table.head, *table.rows]
    widths = [max(len(line[i]) for line in lines) for i in range(len(table.head))]
    text = [table.title]
    for line in lines:
        cells = [
            cell.rjust(width) if i in table.numbers else cell.ljust(width)
            for i, (cell, width) in enumerate(zip(line, widths, strict=True))
        ]
        text.append("  " + "  ".join(cells).rstrip())
    return "\n".join([*text, *(f"  {remark}" for remark in table.remarks)])


def cutting_table(report: SewingReport) -> Table:
    """The cutting list: each piece's copies by cloth."""
    shares = [(row, share) for row in report.cutting for share in row.shares]
    rows = tuple((row.title, share.cloth, share.words()) for row, share in shares)
    anchors = tuple(piece_anchor(row.piece) if share is row.shares[0] else "" for row, share in shares)
    unknown = [row.title for row in report.cutting if not row.counted]
    remarks = (f"Nothing says how many, taken once: {', '.join(unknown)}.",) if unknown else ()
    return Table("Cutting list", ("Piece", "Cloth", "Cut"), rows, remarks=remarks, anchors=anchors)


def seam_table(seams: Sequence[SeamRow], units: Units) -> Table:
    """Both sides of every seam, and its ease."""
    rows = tuple(_seam(row, units) for row in seams)
    anchors = tuple(seam_anchor(row.name) for row in seams)
    bases = dict.fromkeys(basis.value for row in seams for basis in row.bases)
    remarks = [f"Measured on: {'; '.join(bases)}."] if bases else []
    for row in seams:
        for side, closed in ((row.first_words, row.first_closed), (row.second_words, row.second_closed)):
            if closed:
                taken = ", ".join(f"{one.word} {units.length(one.width)}" for one in closed)
                remarks.append(f"{side}: measured with {taken} closed.")
    head = ("Seam", "First side", "Length", "Second side", "Length", "Ease asked", "Ease found", "Remark")
    return Table("Seams", head, rows, frozenset({2, 4, 5, 6}), tuple(dict.fromkeys(remarks)), anchors)


def _seam(row: SeamRow, units: Units) -> tuple[str, ...]:
    return (
        row.name,
        row.first_words,
        units.length(row.first_length),
        row.second_words,
        units.length(row.second_length),
        units.small(row.ease_asked, signed=True),
        units.small(row.ease_found, signed=True),
        "" if row.agrees else f"{units.small(abs(row.off))} too {'long' if row.off > 0 else 'short'}",
    )


def notch_table(seams: Sequence[SeamRow], units: Units) -> Table:
    """Positions along either side of notches that should meet."""

    def at(mm: float | None) -> str:
        return _DASH if mm is None else units.length(mm)

    rows = tuple(
        (
            *((row.name, row.first_words) if number == 0 else ("", "")),
            at(pair.first),
            row.second_words if number == 0 else "",
            at(pair.second),
            _DASH if pair.apart is None else units.small(pair.apart, signed=True),
            "no partner" if pair.apart is None else "do not meet" if pair in row.missed else "",
        )
        for row in seams
        for number, pair in enumerate(row.notches)
    )
    remarks = ("From the same end of either side; with ease in a seam its notches lie apart by their share of it.",)
    head = ("Seam", "First side", "At", "Second side", "At", "Apart", "Remark")
    return Table("Notches that meet", head, rows, frozenset({2, 4, 5}), remarks)


def notion_table(report: SewingReport, units: Units) -> Table:
    """The things to buy besides cloth, each with its rule."""
    rows = tuple(
        (notion.name, amount(notion.each, units), str(notion.count), bought(notion.buy, units), as_written(notion.rule))
        for notion in report.notions
    )
    remarks = tuple(f"{notion.name}: {told}" for notion in report.notions if (told := _told(notion, units)))
    return Table("Notions", ("Notion", "Each", "Number", "Buy", "Rule"), rows, frozenset({1, 2, 3}), remarks)


def _told(notion: Notion, units: Units) -> str:
    """The comment, and what hangs out of a channel."""
    hangs = notion.outside is not None and notion.outside > 0.5
    out = f"{units.length(notion.outside or 0.0)} hang out at each end of the channel." if hangs else ""
    return " ".join(filter(None, (notion.comment, out)))


def amount(quantity: Quantity, units: Units) -> str:
    """A length in the person's units, or a number."""
    return units.length(quantity.amount) if quantity.is_length else f"{quantity.amount:g}"


def bought(quantity: Quantity, units: Units) -> str:
    """As `amount`, never short."""
    return units.bought(quantity.amount) if quantity.is_length else f"{quantity.amount:g}"


def size_table(report: SewingReport, units: Units) -> Table:
    """Body, ease and finished measures, before an alteration too where that is known."""
    changed = any(row.before is not None for row in report.sizes)
    head = ("Measure", "Body", "Ease asked", *(("Finished before",) if changed else ()), "Finished", "Ease found")
    rows = tuple(tuple(_size(row, units, changed=changed)) for row in report.sizes)
    remarks = (
        "Finished measures run from seam to seam around the outer layer of the main cloth, drawn darts and pleats "
        "closed; gathers and pleats that are not drawn as such are not taken off.",
    )
    return Table("Sizes", head, rows, frozenset(range(1, len(head))), remarks)


def counted_table(report: SewingReport, units: Units) -> Table:
    """What each finished measure adds up, piece by piece."""
    pattern = report.seam_lines.pattern
    rows = tuple(
        (
            row.measure if number == 0 else "",
            piece_title(pattern, part.piece),
            units.length(part.width),
            f"× {part.layers}",
            units.length(part.total),
            ", ".join(f"{one.word} of {units.length(one.width)} closed" for one in part.closings),
        )
        for row in report.sizes
        for number, part in enumerate(row.counted)
    )
    left = dict.fromkeys(
        f"{row.measure} of {piece_title(pattern, one.piece)} ({one.why})"
        for row in report.sizes
        for one in row.left_out
    )
    remarks = (f"Not counted: {'; '.join(left)}.",) if left else ()
    head = ("Measure", "Piece", "Width", "Layers", "In all", "Taken off")
    return Table("What the finished sizes count", head, rows, frozenset({2, 3, 4}), remarks)


def _size(row: SizeRow, units: Units, *, changed: bool) -> Iterator[str]:
    values = [row.body, row.ease_noted, *([row.before] if changed else []), row.finished, row.ease_found]
    yield row.measure
    for value in values:
        yield _DASH if value is None else units.length(value)


def lay_table(report: SewingReport, units: Units) -> Table:
    """Cloth to buy, for each width asked."""
    rows = tuple(
        (
            plan.cloth,
            units.length(plan.choice.width),
            "folded" if plan.choice.fold is ClothFold.LENGTHWISE else "opened out",
            units.length(plan.length),
            in_percent(plan.use, 1),
            units.cloth(plan.buy),
        )
        for plan in report.lays
    )
    remarks = []
    if report.lays and (lost := report.lays[0].choice.shrinkage):
        remarks.append(f"To buy: what is needed / (1 - {lost:.3g}) for shrinkage in the wash, rounded up.")
    return Table(
        "Cloth", ("Cloth", "Width", "Laid", "Needed", "Used", "Buy"), rows, frozenset({1, 3, 4, 5}), tuple(remarks)
    )
