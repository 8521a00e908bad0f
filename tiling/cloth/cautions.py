"""Cautions that belong to the numbers: cords on children's garments, children's nightwear, tools that hurt.

They are notices. Nothing here says that a garment complies with a rule, and every one defers to local law.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tiling.cloth.cords import EN, Age, CordRule, Place, places_in, rules_for
from tiling.cloth.notions import Notion
from tiling.cloth.words import is_elastic, is_height, is_nightwear, runs_as_cord
from tiling.lengths import in_mm
from tiling.notes import Notes, Wearer

__all__ = ["DEFER", "Caution", "cautions_for"]

DEFER = "Follow the rules where you live; this is a notice, not a statement that the garment meets them."

_YOUNG_TO = 1340.0
"""mm of body height up to which EN 14682 counts a child as young."""

_SCOPE = "EN 14682 covers all children's clothing to 14 years."
_NECK_OPENING = "Cords and drawstrings at the neck or hood can strangle."
_NECK_INSTEAD = "Use a button, a zip or elastic inside a casing."


@dataclass(frozen=True, slots=True)
class Caution:
    """One notice: a short heading, the text, and the rules it names."""

    heading: str
    text: str
    rules: tuple[str, ...] = ()


def cautions_for(
    notes: Notes | None, notions: Sequence[Notion], measures: Mapping[str, float] | None = None
) -> tuple[Caution, ...]:
    """All cautions that the garment calls for; the one about tools always comes last.

    Args:
        notes: the pattern's.
        notions: what is to be bought.
        measures: the wearer's, mm, in place of those the pattern was drawn for; a height tells a young child.
    """
    found: list[Caution] = []
    if notes is not None and notes.wearer is Wearer.CHILD:
        ages = _ages({**notes.drawn_for, **(measures or {})})
        found += _together([_cord(notion, ages) for notion in notions if _is_cord(notion)])
        if is_nightwear(f"{notes.garment} {notes.title}"):
            found.append(_NIGHTWEAR)
    return (*found, _TOOLS)


def _together(cords: Sequence[tuple[str, Caution]]) -> list[Caution]:
    """One notice for all cords of which the same is to be said."""
    alike: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for name, caution in cords:
        alike.setdefault((caution.text, caution.rules), []).append(name)
    return [
        Caution(f"{'A cord' if len(names) == 1 else 'Cords'} on a child's garment: {'; '.join(names)}", text, rules)
        for (text, rules), names in alike.items()
    ]


def _ages(measures: Mapping[str, float]) -> tuple[Age, ...]:
    """Those that the wearer's height leaves open."""
    height = next((mm for name, mm in measures.items() if is_height(name)), None)
    if height is None:
        return (Age.YOUNG, Age.OLDER)
    return (Age.YOUNG,) if height <= _YOUNG_TO else (Age.OLDER,)


def _is_cord(notion: Notion) -> bool:
    return runs_as_cord(f"{notion.kind}; {notion.name}") or (
        notion.outside is not None and not is_elastic(f"{notion.kind} {notion.name}")
    )


def _cord(notion: Notion, ages: tuple[Age, ...]) -> tuple[str, Caution]:
    """What it is called, and what is to be said of it."""
    places = places_in(f"{notion.place} {notion.kind} {notion.name}") or (Place.NECK, Place.WAIST)
    rules = tuple(dict.fromkeys(rule for place in places for rule in rules_for(place, ages)))
    neck = bool({Place.NECK, Place.HALTER} & set(places))
    parts = [
        *([_NECK_OPENING] if neck else []),
        *(rule.text for rule in rules),
        *([_NECK_INSTEAD] if neck else []),
        *([_SCOPE] if not neck else []),
        *([_outside(notion.outside, rules)] if notion.outside is not None else []),
        DEFER,
    ]
    named = dict.fromkeys((EN, *(name for rule in rules for name in rule.rules)))
    return notion.name, Caution("", " ".join(parts), tuple(named))


def _outside(outside: float, rules: Sequence[CordRule]) -> str:
    """What hangs out, against the tightest limit."""
    found = f"Here {in_mm(max(outside, 0.0), 0)} hang out at each end"
    limits = [rule.limit for rule in rules if rule.limit is not None]
    if limits and outside > min(limits):
        return f"{found}, more than {_at_most(min(limits))}: shorten the cord, or put elastic in its place."
    return f"{found}, within these limits if it is measured with the garment at its full width."


def _at_most(limit: float) -> str:
    return f"the {in_mm(limit, 0)} above" if limit else "may be seen there"


_NIGHTWEAR = Caution(
    "Children's nightwear",
    "Nightwear, robes included, burns easily. In the United States children's sleepwear in sizes 0 to 14 must pass the "
    "flammability tests of 16 CFR 1615 and 1616, or be an infant's garment or a tight-fitting one by the measures "
    "listed there; other countries have rules of their own. Ask for cloth that is sold for the purpose. " + DEFER,
    ("16 CFR 1615", "16 CFR 1616"),
)
_TOOLS = Caution(
    "Tools",
    "Scissors, rotary cutters and irons cut and burn: keep fingers and children clear of them, and keep pins out of "
    "mouths. Measure the printed test square before any cloth is cut.",
)
