"""Everything the cloth room knows of one pattern, worked out in one go for a person's measures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from calibrate.run import Run
from tiling.cloth.cautions import Caution, cautions_for
from tiling.cloth.cutting_list import CuttingRow, cutting_rows
from tiling.cloth.lay_plan import LayPlan
from tiling.cloth.notions import Notion, notion_rows
from tiling.cloth.seam_lines import SeamLines
from tiling.cloth.seams import SeamRow, seam_rows
from tiling.cloth.sizes import SizeRow, size_rows
from tiling.cloth.steps import Step
from tiling.cloth.units import Units
from tiling.pattern import Finding, FindingKind, Pattern

__all__ = ["SewingReport", "sewing_report"]


@dataclass(frozen=True, slots=True, eq=False)
class SewingReport:
    """The tables before they are words.

    `lays` is empty until a width of cloth is known, and `steps` until their pictures are looked for.
    """

    seam_lines: SeamLines
    title: str
    cutting: tuple[CuttingRow, ...]
    seams: tuple[SeamRow, ...]
    sizes: tuple[SizeRow, ...]
    notions: tuple[Notion, ...]
    cautions: tuple[Caution, ...]
    lays: tuple[LayPlan, ...] = ()
    steps: tuple[Step, ...] = ()

    @property
    def cloths(self) -> tuple[str, ...]:
        """The cloths the pieces are cut from, in the order they come up."""
        return tuple(dict.fromkeys(share.cloth for row in self.cutting for share in row.shares))

    @property
    def scale(self) -> float:
        """By what the drawing was scaled, as asked."""
        return self.seam_lines.pattern.scale

    def findings(self) -> tuple[Finding, ...]:
        """Seams whose sides do not fit as the notes ask, notches that don't meet, rules that give nothing to buy."""
        return (
            *(_off(row) for row in self.seams if not row.agrees),
            *(_notches_apart(row) for row in self.seams if row.missed),
            *(_nothing(notion) for notion in self.notions if notion.buy.amount == 0.0),
        )


def _off(row: SeamRow) -> Finding:
    return Finding(
        FindingKind.SEAM_SIDES_DISAGREE,
        f"{row.first_words} is {abs(row.off):.1f} mm too {'long' if row.off > 0 else 'short'}: it has "
        f"{row.ease_found:+.1f} mm against {row.second_words}, and {row.ease_asked:+.1f} mm is asked.",
        f"seam '{row.name}'",
    )


def _notches_apart(row: SeamRow) -> Finding:
    first, second = row.first_words, row.second_words
    kind, where = FindingKind.NOTCHES_APART, f"seam '{row.name}'"
    for side, other, bare in (
        (first, second, all(pair.second is None for pair in row.notches)),
        (second, first, all(pair.first is None for pair in row.notches)),
    ):
        if bare:
            count = "a notch" if len(row.notches) == 1 else f"{len(row.notches)} notches"
            return Finding(kind, f"{side} has {count}, {other} has none; draw them on both, or on neither.", where)
    told = []
    for pair in row.missed:
        if pair.first is not None and pair.second is not None:
            told.append(f"{pair.first:.1f} mm along {first} and {pair.second:.1f} mm along {second} miss each other")
        else:
            side, at = (first, pair.first) if pair.first is not None else (second, pair.second)
            told.append(f"{at:.1f} mm along {side} has no partner")
    return Finding(kind, f"notches don't meet: {'; '.join(told)}.", where)


def _nothing(notion: Notion) -> Finding:
    return Finding(
        FindingKind.RULE_GIVES_NOTHING,
        f"the rule '{notion.rule}' comes to 0, so there is nothing to buy; check it.",
        f"notion '{notion.name}'",
    )


def sewing_report(
    pattern: Pattern,
    measures: Mapping[str, float],
    before: Pattern | None = None,
    units: Units = Units.CM,
    run: Run = Run(),
) -> SewingReport:
    """All tables but the lay plans.

    Args:
        pattern: the drawing, with its notes.
        measures: the person's body measures in mm, in place of those the pattern was drawn for.
        before: the drawing before an alteration; its finished measures are set beside the new ones.
        units: of the shop; buying steps follow them.
        run: asked with every piece and line whether to go on.

    Raises:
        InputUnfit: notes and drawing don't fit each other, or a rule can't be worked out.
        Cancelled: by `run`.
    """
    seam_lines = SeamLines(pattern, run)
    notes = pattern.notes
    cutting = cutting_rows(pattern)
    notions = notion_rows(seam_lines, measures, units)
    return SewingReport(
        seam_lines=seam_lines,
        title=(notes.title if notes else "") or pattern.title,
        cutting=cutting,
        seams=seam_rows(seam_lines),
        sizes=size_rows(seam_lines, measures, SeamLines(before, run) if before else None),
        notions=notions,
        cautions=cautions_for(notes, notions, measures),
    )
