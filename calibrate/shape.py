"""A print's proportion as the camera alone knows it, and so whether a sheet or card has the shape it is taken for.

A camera has square pixels, so a picture taken from above shows how much more a print is stretched across than down;
one taken at a slant shows it less well. No edge of a sheet is needed for that, and no size of anything.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, log, radians, tan
from typing import TYPE_CHECKING

import numpy as np

from calibrate.budget import COVERAGE, Contribution
from calibrate.camera import NAMES

if TYPE_CHECKING:
    from calibrate.fit import CameraFit
    from calibrate.papers import Paper
    from calibrate.rectangle import Stretch

WHOLE = "whole sheet"
"""The name of the doubt whether a sheet was trimmed."""
PRINTERS = 0.005
"""Standard deviation of a printer's scale across over its scale down; 1.5 % is seldom exceeded."""
_OFF_CENTRE = 0.01  # how far from the picture's middle a lens may point, radians: a photo may have been cut a little
_FLOOR = 0.001
_HIDDEN = 0.012
_SURE = 3.0
_MOST_SHARE = 5.0
_ALL_ROUND = 12.0  # mm that may be cut off width and height alike; with more the print would be cut


@dataclass(frozen=True, slots=True)
class PrintShape:
    """The logarithm of a print's scale across over that down, and its standard uncertainty.

    ``hidden`` is by how much more it may be where the lens is not known: a stretched page of a stretched shape then
    looks as a plain one does.
    """

    proportion: float = 0.0
    deviation: float = PRINTERS
    hidden: float = 0.0

    @property
    def shown(self) -> bool:
        """Whether the photo shows the print's proportion at all."""
        return self.hidden < _HIDDEN

    def misfit(self, stretch: Stretch) -> float:
        """The logarithm of how much narrower a thing is than taken for: over 0 where across reads too large."""
        return log(max(stretch.across, 1e-6) / max(stretch.down, 1e-6)) - self.proportion


UNSEEN = PrintShape()
"""What is known of a print's proportion without a camera."""


def print_shape(fit: CameraFit, slant: float) -> PrintShape:
    """What a fit says of the print's proportion, with what printers do to one where the two agree.

    Args:
        fit: the page's mapping.
        slant: of the line of sight from the sheet's normal, degrees.
    """
    which = int(np.flatnonzero(fit.free == NAMES.index("aspect"))[0])
    size = np.sqrt(np.maximum(np.diag(fit.information), 1e-300))
    inverse = np.linalg.pinv(fit.information / size[:, None] / size[None, :], rcond=1e-13)
    seen = float(fit.mapping.values[NAMES.index("aspect")])
    doubt = hypot(float(np.sqrt(max(inverse[which, which], 0.0))) / float(size[which]), _FLOOR)
    doubt = hypot(doubt, _OFF_CENTRE * tan(radians(min(slant, 60.0))))
    if abs(seen) > _SURE * hypot(doubt, PRINTERS):
        return PrintShape(seen, doubt, fit.hidden_stretch)
    # The weighted mean of what is seen and of 0, give or take what printers do.
    weight = 1.0 / doubt**2 / (1.0 / doubt**2 + 1.0 / PRINTERS**2)
    together = float(1.0 / np.sqrt(1.0 / doubt**2 + 1.0 / PRINTERS**2))
    return PrintShape(weight * seen, together, fit.hidden_stretch)


def trimmed_doubt(misfit: float, deviation: float, paper: Paper) -> Contribution:
    """What a sheet's shape leaves open of its being whole, as standard uncertainties.

    A sheet that is narrower than its paper may have lost as much all round, which takes a larger share of its shorter
    side; one that is too wide for its height has lost some of its height.
    """
    upright = paper.width <= paper.height
    shorter, longer = sorted((paper.width, paper.height))
    narrow = misfit if upright else -misfit  # more than 0: the shorter side is too short for the longer one
    most = min(longer / max(longer - shorter, 1.0), _MOST_SHARE)
    slim, squat = _at_most(narrow, deviation), _at_most(-narrow, deviation)
    short = min(slim * most, max(slim, _ALL_ROUND / shorter))
    long = max(min(slim * (most - 1.0), _ALL_ROUND / longer), squat)
    across, down = (short, long) if upright else (long, short)
    return Contribution(WHOLE, across / COVERAGE, down / COVERAGE)


def _at_most(seen: float, deviation: float) -> float:
    """How large what was seen may be: the more of it there is, the less is put down to chance; at most k-fold."""
    share = min(max(0.72 + 0.68 * seen / deviation, 0.5), COVERAGE)
    return max(seen + share * deviation, 0.0)
