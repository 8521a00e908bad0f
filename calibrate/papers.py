"""The one table of papers: sizes, where each size comes from, and how far a cut sheet may be off.

Whoever offers, recognises or measures paper asks here. Nothing heavy is loaded, so that help texts can be made from it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import Enum

__all__ = [
    "BOOKLET_PAPERS",
    "LAY_PLAN_PAPERS",
    "MEASURED_PAPERS",
    "PAPERS",
    "PRINTED_PAPERS",
    "SHARED",
    "CutTolerance",
    "Paper",
    "PaperStandard",
    "paper_of",
]

_INCH = 25.4
_SAME = 0.3
"""mm within which two sizes are one paper."""


class CutTolerance(Enum):
    """Who says how far a cut sheet may be off; the value names the source."""

    ISO = "ISO 216"
    TRADE = "trade practice, from memory"

    def limit(self, side: float) -> float:
        """By how much a side of that length, mm, may be longer or shorter, mm."""
        if self is CutTolerance.TRADE:
            return 1.6  # about 1/16 inch
        if side <= 150.0:
            return 1.5
        return 2.0 if side <= 600.0 else 3.0


class PaperStandard(Enum):
    """Where a size is laid down."""

    ISO_216 = "ISO 216"
    ASME_Y14_1 = "ANSI/ASME Y14.1"
    PWG_5101_1 = "PWG 5101.1"
    NONE = "a size of one's own"

    @property
    def tolerance(self) -> CutTolerance:
        """How sheets of such sizes are cut: only ISO 216 says so, and a size of one's own is taken to be cut alike."""
        inches = {PaperStandard.ASME_Y14_1, PaperStandard.PWG_5101_1}
        return CutTolerance.TRADE if self in inches else CutTolerance.ISO


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet size by name, mm, in portrait unless `turned`.

    On a `roll` the width is the roll's and the height is as long as needed.
    """

    name: str
    width: float
    height: float
    roll: bool = field(default=False, kw_only=True)
    standard: PaperStandard = field(default=PaperStandard.NONE, kw_only=True, compare=False)

    @property
    def label(self) -> str:
        """The name as people write it: ``A4``, ``letter``, ``200 x 280 mm``, ``roll``."""
        if self.roll:
            return "roll"
        if self.name == SHARED:
            return "A4 or letter alike"
        if self.name not in PAPERS:
            return f"{self.width:g} x {self.height:g} mm"
        return self.name.upper() if self.standard is PaperStandard.ISO_216 else self.name

    @property
    def tolerance(self) -> CutTolerance:
        """Who says how far a sheet of it may be off."""
        return self.standard.tolerance

    @property
    def shared(self) -> bool:
        """Whether it is no paper but the part that A4 and letter share."""
        return self.name == SHARED

    def turned(self) -> Paper:
        """The sheet turned by a quarter."""
        return replace(self, width=self.height, height=self.width)


SHARED = "both"
"""The page as wide as A4 and as high as letter: printed at actual size it fits on either."""


def _table() -> dict[str, Paper]:
    iso = {
        "a0": (841.0, 1189.0),
        "a1": (594.0, 841.0),
        "a2": (420.0, 594.0),
        "a3": (297.0, 420.0),
        "a4": (210.0, 297.0),
        "a5": (148.0, 210.0),
        "b5": (176.0, 250.0),
    }
    asme_inches = {
        "letter": (8.5, 11.0),
        "tabloid": (11.0, 17.0),
        "ansi-a": (8.5, 11.0),
        "ansi-b": (11.0, 17.0),
        "ansi-c": (17.0, 22.0),
        "ansi-d": (22.0, 34.0),
        "ansi-e": (34.0, 44.0),
    }
    pwg_inches = {
        "legal": (8.5, 14.0),
        "executive": (7.25, 10.5),
        "arch-a": (9.0, 12.0),
        "arch-b": (12.0, 18.0),
        "arch-c": (18.0, 24.0),
        "arch-d": (24.0, 36.0),
        "arch-e": (36.0, 48.0),
    }
    rows = [
        *((name, sides, 1.0, PaperStandard.ISO_216) for name, sides in iso.items()),
        *((name, sides, _INCH, PaperStandard.ASME_Y14_1) for name, sides in asme_inches.items()),
        *((name, sides, _INCH, PaperStandard.PWG_5101_1) for name, sides in pwg_inches.items()),
        (SHARED, (iso["a4"][0], asme_inches["letter"][1] * _INCH), 1.0, PaperStandard.NONE),
    ]
    return {name: Paper(name, w * unit, h * unit, standard=standard) for name, (w, h), unit, standard in rows}


PAPERS = _table()
"""Every paper by its name, in portrait."""

PRINTED_PAPERS = (
    *("a0", "a1", "a2", "a3", "a4", "a5", "letter", "legal", "tabloid"),
    *("ansi-a", "ansi-b", "ansi-c", "ansi-d", "ansi-e", "arch-a", "arch-b", "arch-c", "arch-d", "arch-e", SHARED),
)
"""What a drawing can be printed on."""

MEASURED_PAPERS = ("a4", "letter", "legal", "a5", "b5", "executive")
"""Sheets that a page is recognised to have been printed on when its code names another."""

LAY_PLAN_PAPERS = ("a4", "a3", "letter", "tabloid")
"""What a lay plan can be drawn on; the first is the usual one."""

BOOKLET_PAPERS = ("a4", "letter")
"""What a booklet can be printed on; the first is the usual one."""


def paper_of(width: float, height: float) -> Paper:
    """The sheet of that size, mm, as it lies: one a printer may have been fed, or one of its own."""
    for name in (*MEASURED_PAPERS, SHARED):
        paper = PAPERS[name]
        for lying in (paper, paper.turned()):
            if abs(lying.width - width) < _SAME and abs(lying.height - height) < _SAME:
                return lying
    return Paper(f"{width:g}x{height:g}mm", width, height)
