"""What of known size can lie on the page or under it: the sheet itself, an ID-1 card, a round coin.

Each reference carries its size, how far a real one may be from it (as a standard uncertainty) and how thick it
is, for a thick thing's top lies nearer the camera and looks larger.
"""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache
from importlib import resources

from calibrate.budget import COVERAGE
from calibrate.cardplace import CARD_HEIGHT, CARD_WIDTH
from calibrate.failures import ReferenceUnknownError
from calibrate.papers import Paper
from calibrate.spelling import closest_word


class ReferenceKind(Enum):
    """The kinds of reference."""

    SHEET = "sheet"
    CARD = "card"
    COIN = "coin"
    SCANNER = "scanner"


@dataclass(frozen=True, slots=True)
class Reference:
    """A thing of known size, mm. A coin's ``width`` and ``height`` are its diameter.

    ``spread_width`` and ``spread_height`` are the standard uncertainties of a real thing's size,
    ``spread_thickness`` that of its thickness; ``rise_width`` and ``rise_height`` are those of how high the ends of its
    width and height lie where it is bowed. ``source`` says where the size comes from.
    """

    kind: ReferenceKind
    name: str
    label: str
    width: float
    height: float
    spread_width: float
    spread_height: float
    thickness: float = 0.0
    spread_thickness: float = 0.0
    rise_width: float = 0.0
    rise_height: float = 0.0
    source: str = ""


CARD = Reference(
    ReferenceKind.CARD,
    "card",
    "a card of bank-card size",
    CARD_WIDTH,
    CARD_HEIGHT,
    # Limits of an unused card, 85.47 to 85.72 x 53.92 to 54.03 mm, taken as evenly likely (GUM 4.3.7); a used one has
    # lost up to a tenth of a millimetre at its edges (from memory).
    math.hypot(0.125, 0.10) / math.sqrt(3),
    math.hypot(0.055, 0.10) / math.sqrt(3),
    0.76,
    # 0.68 to 0.84 mm by the standard; but what lies in purses is 0.3 to 1.2 mm thick (from memory), evenly likely.
    0.45 / math.sqrt(3),
    # Bowed along its length by up to a millimetre, up or down (ISO/IEC 7810 allows 1.5 mm, its thickness included): the
    # short ends lie up to 1 mm higher or not at all, the long ones by two thirds of the bow or one, on the mean. The
    # worst of it is to lie within k = 2.
    1.0 / COVERAGE,
    math.hypot(2.0 / 3.0, 1.0 / 3.0) / COVERAGE,
    source="ISO/IEC 7810, ID-1",
)
"""A bank, loyalty or library card."""


def sheet_of(paper: Paper) -> Reference:
    """A sheet as a reference, any size within its tolerance as likely as another (GUM 4.3.7).

    A guillotine set a millimetre off cuts a whole ream so: sizes near the limits are not rare.
    """
    spread_width, spread_height = (paper.tolerance.limit(side) / math.sqrt(3) for side in (paper.width, paper.height))
    return Reference(
        ReferenceKind.SHEET,
        "sheet",
        f"the sheet's own edges ({paper.label})",
        paper.width,
        paper.height,
        spread_width,
        spread_height,
        source=paper.tolerance.value,
    )


def measured_sheet(width: float, height: float, spread: float = 0.25) -> Reference:
    """A sheet whose sides someone measured with a ruler (half a millimetre at k=2)."""
    label = f"the sheet's own edges, measured as {width:g} x {height:g} mm"
    return Reference(ReferenceKind.SHEET, "sheet", label, width, height, spread, spread, source="measured")


_COIN_LIMIT = 0.05


@lru_cache(maxsize=1)
def coins() -> dict[str, Reference]:
    """Every known coin by its name."""
    text = resources.files("calibrate").joinpath("coins.toml").read_text("utf-8")
    found = {}
    for key, entry in tomllib.loads(text).items():
        limit = _COIN_LIMIT * (2.0 if entry["source"].startswith("secondary") else 1.0)
        found[key] = Reference(
            ReferenceKind.COIN,
            f"coin:{key}",
            f"a coin, {entry['name']}",
            float(entry["diameter"]),
            float(entry["diameter"]),
            limit / math.sqrt(3),
            limit / math.sqrt(3),
            float(entry["thickness"]),
            # A worn rim and a bevelled edge.
            0.1,
            source=entry["source"],
        )
    return found


_NOT_ROUND = {"10c-eur", "20c-eur", "50c-eur", "uk-20p", "uk-50p", "uk-1pound"}


def coin(name: str) -> Reference:
    """The coin of a name.

    Raises:
        ReferenceUnknownError: it is not known, or not round.
    """
    known = coins()
    if name in known:
        return known[name]
    if name in _NOT_ROUND:
        message = f"coin:{name} is not round enough to measure by: use a card, or one of {', '.join(known)}"
        raise ReferenceUnknownError(message)
    near = closest_word(name, known)
    hint = f"did you mean coin:{near}?" if near else f"known are {', '.join(known)}"
    message = f"no coin is called {name!r}: {hint}"
    raise ReferenceUnknownError(message)
