"""The scale of a flatbed scan by the scanner's own resolution."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from calibrate.budget import Contribution, Spread
from calibrate.flatbed import INCH
from calibrate.readings import ScaleReading
from calibrate.references import Reference, ReferenceKind

if TYPE_CHECKING:
    from calibrate.survey import Survey

_FEED = 0.005 / math.sqrt(3)
"""How well a home scanner keeps its resolution, evenly likely within half a per cent (from memory)."""


def read_scan(survey: Survey) -> ScaleReading:
    """The scale by the scanner's own resolution, of a picture that is a scan."""
    dpi = survey.photo.dpi or 1.0
    square = survey.target.square
    x, y = square.x + square.width / 2, square.y + square.height / 2
    ends = np.array([[square.x, y], [square.right, y], [x, square.y], [x, square.bottom]])
    seen = survey.mapping.project(ends) * INCH / dpi
    wide, tall = seen[1] - seen[0], seen[3] - seen[2]
    lengths = np.hypot(*wide), np.hypot(*tall)
    skew = math.degrees(math.asin(-float(wide @ tall) / float(lengths[0] * lengths[1])))
    scanner_keeps = Contribution("scanner's resolution", _FEED, _FEED, Spread.RECTANGULAR)
    noise = survey.fit.noise * INCH / dpi / math.sqrt(max(len(survey.seen.which), 1)) / square.width
    scanner = Reference(
        ReferenceKind.SCANNER,
        "scanner",
        f"the scanner's own {dpi:.0f} dots an inch",
        square.width,
        square.height,
        0.0,
        0.0,
    )
    return ScaleReading(
        scanner, float(lengths[0]) / square.width, float(lengths[1]) / square.height, skew,
        (Contribution("corner noise", noise, noise),), (scanner_keeps,), {}, {},
    )  # fmt: skip
