"""What is known of the rules about cords on children's clothing, by place on the garment and by age.

16 CFR 1120 (ASTM F1816) as published in 76 FR 42502. Of EN 14682:2014 the scope, the ban at hood and neck to 7 years,
that nothing is tied behind the neck and that there are no free ends at the neck to 14 years are from public summaries;
what is marked "from memory" is recalled and was not compared with the standard.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import Enum

from tiling.cloth.words import plain_words

__all__ = ["EN", "US", "WAIST_CORD_OUTSIDE", "Age", "CordRule", "Place", "places_in", "rules_for"]

EN, US = "EN 14682", ("16 CFR 1120", "ASTM F1816")

WAIST_CORD_OUTSIDE = 75.0
"""16 CFR 1120 (ASTM F1816): 3 in, written there as 75 mm, outside the channel at full width."""


class Age(Enum):
    """The two ages of EN 14682."""

    YOUNG = "to 7 years"
    OLDER = "7 to 14 years"


class Place(Enum):
    """Where a cord sits."""

    NECK = "hood and neck"
    HALTER = "halter"
    SHOULDER = "shoulder"
    WAIST = "waist"
    SASH = "sash"
    BACK = "back"
    HEM_ABOVE = "hem above the crotch"
    HEM_BELOW = "hem below the crotch"
    SLEEVE_LONG = "sleeve below the elbow"
    SLEEVE_SHORT = "sleeve above the elbow"


@dataclass(frozen=True, slots=True)
class CordRule:
    """One sentence; `limit` is what may hang out at each end by it, mm, None where it gives no length."""

    text: str
    rules: tuple[str, ...]
    limit: float | None = None


_BOTH = (Age.YOUNG, Age.OLDER)
_MEMORY = " (from memory)"
_US_NECK = CordRule(
    "16 CFR 1120 (ASTM F1816) forbids hood and neck drawstrings on upper outerwear in sizes 2T to 12.", US
)
_US_WAIST = CordRule(
    "A drawstring at the waist or lower edge can catch in doors and slides. 16 CFR 1120 (ASTM F1816) limits it on "
    "upper outerwear in sizes 2T to 16 to 3 in (75 mm) outside the channel at full width, with no toggles or knots "
    "at the free ends, and bar-tacked in the middle if it is one continuous string.",
    US,
    WAIST_CORD_OUTSIDE,
)


def _en(text: str, limit: float | None = None, *, recalled: bool = True) -> CordRule:
    return CordRule(f"{text}{_MEMORY if recalled else ''}.", (EN,), limit)


_EN: dict[Place, tuple[tuple[tuple[Age, ...], CordRule], ...]] = {
    Place.NECK: (
        ((Age.YOUNG,), _en("EN 14682 bans them altogether to 7 years (134 cm tall)", 0.0, recalled=False)),
        ((Age.OLDER,), _en("From 7 to 14 years EN 14682 allows no free ends there", 0.0, recalled=False)),
    ),
    Place.HALTER: (
        (_BOTH, _en("EN 14682 lets nothing be tied behind the neck to 14 years", 0.0, recalled=False)),
    ),
    Place.SHOULDER: ((_BOTH, _en("EN 14682: free ends of ties on the shoulder at most 140 mm", 140.0)),),
    Place.WAIST: (
        (_BOTH, _en("EN 14682: free ends at most 140 mm each, the garment laid open at its full width", 140.0)),
        ((Age.YOUNG,), _en("To 7 years no toggles at free ends")),
    ),
    Place.SASH: (
        (_BOTH, _en("EN 14682: the ends of a tied belt or sash at most 360 mm untied, and not below the hem", 360.0)),
    ),
    Place.BACK: ((_BOTH, _en("EN 14682: nothing comes out of the back or is tied there, but for a tied sash", 0.0)),),
    Place.HEM_ABOVE: ((_BOTH, _en("EN 14682: at a hem above the crotch free ends at most 140 mm", 140.0)),),
    Place.HEM_BELOW: (
        (_BOTH, _en("EN 14682: at a hem below the crotch no cord hangs below the hem", 0.0)),
        (_BOTH, _en("At the ankle it lies wholly inside", 0.0)),
    ),
    Place.SLEEVE_LONG: (
        (_BOTH, _en("EN 14682: at the hem of a long sleeve cords lie wholly inside once fastened", 0.0)),
    ),
    Place.SLEEVE_SHORT: (
        ((Age.YOUNG,), _en("EN 14682, to 7 years: above the elbow at most 75 mm", 75.0)),
        ((Age.OLDER,), _en("EN 14682, 7 to 14 years: above the elbow at most 140 mm", 140.0)),
    ),
}  # fmt: skip
_US = {
    Place.NECK: _US_NECK,
    Place.WAIST: _US_WAIST,
    Place.HEM_ABOVE: _US_WAIST,
    Place.HEM_BELOW: _US_WAIST,
}

_WORDS: tuple[tuple[Place, tuple[str, ...]], ...] = (
    (Place.HALTER, (r"halter", r"nackentrager", r"tied? behind the neck", r"dos nu")),
    (Place.NECK, (
        r"\b(neck|neckline|hood|collar)", r"kapuze", r"\bhals", r"kragen", r"capuche", r"\bcou\b", r"encolure",
        r"\bcol\b", r"capucha", r"cuello", r"escote", r"cappuccio", r"\bcollo\b", r"scollo", r"capuchon", r"kraag",
        r"capuz", r"pescoco", r"\bgola\b", r"decote", r"\bhuva", r"krage", r"kaptur", r"szyj", r"kolnierz",
        r"dekolt",
    )),
    (Place.SHOULDER, (
        r"shoulder", r"schulter", r"\btrager", r"epaule", r"bretelle", r"hombro", r"tirante", r"spalla",
        r"schouder", r"ombro", r"\balca", r"\baxel", r"ramie", r"ramion",
    )),
    (Place.SASH, (
        r"\bsash", r"tie ?belt", r"bindegurtel", r"scharpe", r"ceinture a nouer", r"fajin", r"fusciacc", r"sjerp",
        r"faixa", r"skarp\b", r"szarf",
    )),
    (Place.WAIST, (
        r"waist", r"\bhips?\b", r"taille", r"\bbund\b", r"cintura", r"\bvita\b", r"midja", r"tali[ai]", r"chest",
        r"brust",
    )),
    (Place.BACK, (
        r"\bback\b", r"rucken", r"\bdos\b", r"espalda", r"schiena", r"\brug\b", r"costas", r"\brygg", r"\bplec",
    )),
    (Place.SLEEVE_SHORT, (
        r"short sleeve", r"upper arm", r"above the elbow", r"kurzarm", r"kurzer armel", r"manche courte",
        r"manga corta", r"manica corta",
    )),
    (Place.SLEEVE_LONG, (
        r"long sleeve", r"wrist", r"\bcuffs?\b", r"below the elbow", r"handgelenk", r"poignet", r"\bpuno\b", r"polso",
        r"\bpols\b", r"punho", r"handled", r"nadgarst",
    )),
    (Place.HEM_BELOW, (
        r"below the crotch", r"\blegs?\b", r"ankle", r"trouser", r"\bhosen?bein", r"cheville", r"tobillo",
        r"caviglia", r"enkel", r"tornozelo", r"kostk",
    )),
    (Place.HEM_ABOVE, (r"above the crotch",)),
)  # fmt: skip
_SLEEVE = re.compile(r"sleeve|armel|\bmanches?\b|\bmangas?\b|manic[ah]|\bmouw|\barm\b|rekaw")
_HEM = re.compile(
    r"\bhem|lower edge|bottom|saum\b|ourlet|dobladillo|\borlo\b|\bzoom\b|bainha|\bfall\b|nederkant|\bdol\b|podwinie"
)
_TOLD = tuple((place, re.compile("|".join(words))) for place, words in _WORDS)


def places_in(text: str) -> tuple[Place, ...]:
    """The places that a notion's place and name speak of; empty where they name none.

    A sleeve or a hem of which no more is said counts as both kinds.
    """
    words = plain_words(text)
    found = [place for place, pattern in _TOLD if pattern.search(words)]
    if _SLEEVE.search(words) and not {Place.SLEEVE_LONG, Place.SLEEVE_SHORT} & set(found):
        found += [Place.SLEEVE_LONG, Place.SLEEVE_SHORT]
    if _HEM.search(words) and not {Place.HEM_ABOVE, Place.HEM_BELOW, Place.SLEEVE_LONG, Place.SLEEVE_SHORT} & set(
        found
    ):
        found += [Place.HEM_ABOVE, Place.HEM_BELOW]
    return tuple(found)


def rules_for(place: Place, ages: tuple[Age, ...]) -> tuple[CordRule, ...]:
    """What is known of a cord at a place for children of these ages."""
    found = [rule for own, rule in _EN[place] if set(own) & set(ages)]
    return (*found, *([_US[place]] if place in _US else []))
