"""What was found in a photo, for a picture of it: of an answer, and of what kept one from being given."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from calibrate.arrays import Array


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """What was found in one photo, in its pixels.

    ``saddles`` (n, 2) are the measuring points; ``outlines`` the edges of sheet, card or coin by name, each a
    line of pixels (m, 2); ``square`` the test square's sides (4 lines of pixels, top right bottom left); ``passed`` the
    lines on the paper that were taken for no edge of it. A page that is ``lying`` is wider than high.
    """

    photo: str
    lying: bool
    saddles: Array
    outlines: Mapping[str, Array]
    square: tuple[Array, ...]
    passed: tuple[Array, ...] = ()
