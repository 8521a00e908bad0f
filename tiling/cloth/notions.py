"""The things to buy besides cloth: the notes' rules worked out for the wearer's measures and the drawn lines."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tiling.cloth.outlines import notes_name
from tiling.cloth.rules import Quantity, RuleSource, RuleUnclear, Scope, round_up, work_out
from tiling.cloth.seam_lines import LineLengths, SeamLines
from tiling.cloth.units import Units
from tiling.cloth.words import is_elastic
from tiling.lengths import in_cm
from tiling.notes import NotionNote

__all__ = ["Notion", "notion_rows"]

_SHORT = 0.5
"""mm by which a cord may fall short of its channel."""


@dataclass(frozen=True, slots=True)
class Notion:
    """One row: `each` is what the rule gives (mm, or a number), `buy` all of it rounded up to the buying step.

    `outside` is how much of a cord hangs out at each end of its channel, mm, where the notes give the channel.
    """

    name: str
    kind: str
    place: str
    rule: str
    count: int
    each: Quantity
    buy: Quantity
    comment: str = ""
    outside: float | None = None


def notion_rows(seam_lines: SeamLines, measures: Mapping[str, float], units: Units = Units.CM) -> tuple[Notion, ...]:
    """The notes' notions in their order, rounded up to buying steps that shops have in these units.

    Rules may use the wearer's measures (else those it was drawn for), the other rules and the drawn lines.

    Raises:
        RuleUnclear: a rule can't be worked out, or gives what can't be bought.
    """
    notes = seam_lines.pattern.notes
    if notes is None:
        return ()
    scope = Scope({**notes.drawn_for, **measures}, notes.rules, LineLengths(seam_lines))
    # A rule that no notion uses is still checked: a slip in it would come out at the worst time.
    for name, text in notes.rules.items():
        work_out(text, scope, _source(seam_lines, f"rules.{name}"))
    return tuple(_row(note, scope, seam_lines, units) for note in notes.notions)


def _source(seam_lines: SeamLines, key: str) -> RuleSource:
    notes = seam_lines.pattern.notes
    return RuleSource(notes_name(seam_lines.pattern), key, notes.text if notes else "")


def _row(note: NotionNote, scope: Scope, seam_lines: SeamLines, units: Units) -> Notion:
    source = _source(seam_lines, f"notions '{note.name}' rule")
    each = work_out(note.rule, scope, source)
    if each.amount < 0:
        raise RuleUnclear(
            f"{source.describe(note.rule)}: the rule '{note.rule}' gives less than nothing "
            f"({in_cm(each.amount) if each.is_length else f'{each.amount:g}'}); check it."
        )
    total = each.amount * note.count
    step = units.step(note.step) if each.is_length else 1.0
    bought = round_up(total, step) if step > 0 else total
    outside = None
    if note.channel:
        channel = work_out(note.channel, scope, _source(seam_lines, f"notions '{note.name}' channel"))
        if not channel.is_length or not each.is_length:
            raise RuleUnclear(f"{source.file}, notions '{note.name}': a cord and its channel must both be lengths.")
        outside = (each.amount - channel.amount) / 2
        if outside < -_SHORT and not is_elastic(f"{note.kind} {note.name}"):
            raise RuleUnclear(
                f"{source.describe(note.rule)}: the cord comes to {in_cm(each.amount)} and its channel to "
                f"{in_cm(channel.amount)}; it would slip in. Make the rule longer, or correct the channel."
            )
    return Notion(
        note.name,
        note.kind,
        note.place,
        note.rule,
        note.count,
        each,
        Quantity(bought, each.is_length),
        note.comment,
        outside,
    )
