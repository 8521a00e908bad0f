"""Cautions that belong to the numbers: cords on children's garments, children's nightwear, tools that hurt.

They are notices. Nothing here says that a garment complies with a rule, and every one defers to local law.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from tiling.cloth.notions import Notion
from tiling.lengths import in_mm
from tiling.notes import Notes, Wearer

__all__ = ["DEFER", "Caution", "cautions_for"]

DEFER = "Follow the rules where you live; this is a notice, not a statement that the garment meets them."

WAIST_CORD_OUTSIDE = 75.0
"""16 CFR 1120 (ASTM F1816): 3 in, written there as 75 mm, outside the channel at full width."""

_CORDS = re.compile(r"\b(cord|drawcord|drawstring|draw-string|string|tie|lace|ribbon)s?\b", re.IGNORECASE)
_NECK = re.compile(r"\b(neck|neckline|hood|collar)\b", re.IGNORECASE)
_WAIST = re.compile(r"\b(waist|hem|bottom|hip)\b", re.IGNORECASE)
_NIGHT = re.compile(
    r"night|sleep|pyjama|pajama|\b(robe|robes|dressing gown|bathrobe|onesie|bed jacket)\b", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class Caution:
    """One notice: a short heading, the text, and the rules it names."""

    heading: str
    text: str
    rules: tuple[str, ...] = ()


def cautions_for(notes: Notes | None, notions: Sequence[Notion]) -> tuple[Caution, ...]:
    """All cautions that the garment calls for; the one about tools always comes last."""
    found: list[Caution] = []
    if notes is not None and notes.wearer is Wearer.CHILD:
        found += [_cord(notion) for notion in notions if _is_cord(notion)]
        if _NIGHT.search(f"{notes.garment} {notes.title}"):
            found.append(_NIGHTWEAR)
    return (*found, _TOOLS)


def _is_cord(notion: Notion) -> bool:
    return bool(_CORDS.search(f"{notion.kind.replace('-', ' ')} {notion.name.replace('-', ' ')}"))


def _cord(notion: Notion) -> Caution:
    where = notion.place or notion.name
    parts = []
    rules = []
    neck, waist = bool(_NECK.search(where)), bool(_WAIST.search(where))
    if neck or not waist:
        parts.append(_NECK_TEXT)
        rules += ["EN 14682", "16 CFR 1120", "ASTM F1816"]
    if waist or not neck:
        parts.append(_WAIST_TEXT)
        if notion.outside is not None:
            parts.append(_outside(notion.outside))
        rules += ["16 CFR 1120", "ASTM F1816"]
    heading = f"A cord on a child's garment: {notion.name}"
    return Caution(heading, " ".join([*parts, DEFER]), tuple(dict.fromkeys(rules)))


def _outside(outside: float) -> str:
    found = f"Here {in_mm(max(outside, 0.0), 0)} hang out at each end"
    if outside > WAIST_CORD_OUTSIDE:
        return f"{found}, more than that limit: shorten the cord, or put elastic in its place."
    return f"{found}, within that limit if it is measured with the garment at its full width."


_NECK_TEXT = (
    "Cords and drawstrings at the neck or hood can strangle. EN 14682 bans them altogether to 7 years (134 cm tall), "
    "and 16 CFR 1120 (ASTM F1816) forbids hood and neck drawstrings on upper outerwear in sizes 2T to 12. "
    "Use a button, a zip or elastic inside a casing."
)
_WAIST_TEXT = (
    "A drawstring at the waist or lower edge can catch in doors and slides. 16 CFR 1120 (ASTM F1816) limits it on "
    "upper outerwear in sizes 2T to 16 to 3 in (75 mm) outside the channel at full width, with no toggles or knots "
    "at the free ends, and bar-tacked in the middle if it is one continuous string. EN 14682 covers all children's "
    "clothing to 14 years."
)
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
