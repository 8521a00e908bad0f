"""Each mark of each page found again in a photo: its surroundings as printed, registered by robust least squares.

A patch is compared as it is printed, drawing and all (Lucas and Kanade, "An iterative image registration technique",
IJCAI 1981; weights by Huber, then by Tukey), so that lines which cross a checker do no harm. It lies on the page's own
side of the join.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from calibrate.arrays import Array, Grey, Tone
from calibrate.taped.ground import Ground
from calibrate.taped.printed import PrintedPage

__all__ = ["Look", "Sighting", "sighted"]

_REACH = 9.0
"""mm from a mark's middle that its patch reaches, where the page is seen so far."""
_EDGE = 0.6
"""mm: a cut may stray so far; what lies nearer to the page's edge is left out."""
_STEP = 0.7
"""Pixels of the photo from one sample of a patch to the next."""
_STEPS = 15
_STILL, _RESTLESS = 1e-3, 0.05
"""mm: a step smaller than the one ends the search, one larger than the other at its end says that nothing was found."""
_FAINTEST = 0.15
"""Of the page's contrast."""
_SMALLEST, _BARE = 8, 4.0
"""Samples along a side, and tones of 255 by which a patch varies; one of less says nothing."""
_ALIKE = 0.6
"""Correlation that a patch must reach to be this page's."""
_HUBER, _TUKEY = 1.345, 4.685
"""Both weights' usual constants: 95 % as efficient as plain least squares on plain noise."""
_BY_HUBER = 4  # steps


@dataclass(frozen=True, slots=True, eq=False)
class Sighting:
    """One mark as a photo shows it.

    Attributes:
        page: its page.
        at: (2,), where it is on the layout.
        off: (2,), how far from there the photo's ground shows it, mm.
        doubt: (2, 2), the covariance of that, mm².
        alike: correlation of both patches, to 1.
    """

    page: str
    at: Array
    off: Array
    doubt: Array
    alike: float


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """A photo in grey, where the sheet lies in it, and its blur: a standard deviation, px."""

    photo: Grey
    ground: Ground
    blur: float

    def sampled(self, x: Array, y: Array) -> Tone:
        """What the photo shows at places of the layout, both (h, w)."""
        pixels = self.ground.seen(np.stack([x, y], axis=-1)).astype(np.float32)
        found = cv2.remap(self.photo, pixels[..., 0], pixels[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        return np.asarray(found, np.float32)


def sighted(look: Look, page: PrintedPage, at: Array, search: float, covered: float = 0.0) -> Sighting | None:
    """A mark of a page in a photo; None where it isn't seen.

    Args:
        look: the photo.
        page: that carries the mark.
        at: (2,), the mark's middle on the layout.
        search: mm around that within which it is looked for.
        covered: mm of the page's right and lower side that its neighbours may lie over too far.
    """
    scale = look.ground.pixels_per_mm(at)
    x, y = _grid(page, at, scale, covered)
    if min(x.shape) < _SMALLEST:
        return None
    printed = page.sampled(x, y, look.blur / scale)
    if float(printed.std()) < _BARE:
        return None
    off = _looked_for(look, printed, (x, y), search)
    found = _registered(look, printed, (x, y), off)
    return None if found is None else Sighting(page.name, np.array(at), *found)


def _grid(page: PrintedPage, at: Array, scale: float, covered: float) -> tuple[Array, Array]:
    x0, y0, x1, y1 = page.seen
    x1, y1 = x1 - covered, y1 - covered
    step = _STEP / scale
    left, top = max(at[0] - _REACH, x0 + _EDGE), max(at[1] - _REACH, y0 + _EDGE)
    right, bottom = min(at[0] + _REACH, x1 - _EDGE), min(at[1] + _REACH, y1 - _EDGE)
    x, y = np.meshgrid(np.arange(left, right, step), np.arange(top, bottom, step))
    return x, y


def _looked_for(look: Look, printed: Tone, grid: tuple[Array, Array], search: float) -> Array:
    """Where the patch fits best, to a step of the grid."""
    x, y = grid
    step = float(x[0, 1] - x[0, 0])
    more = int(np.ceil(search / step))
    wide = np.arange(-more, x.shape[1] + more) * step + x[0, 0]
    tall = np.arange(-more, x.shape[0] + more) * step + y[0, 0]
    fits = cv2.matchTemplate(look.sampled(*np.meshgrid(wide, tall)), printed, cv2.TM_CCOEFF_NORMED)
    row, column = np.unravel_index(int(fits.argmax()), fits.shape)
    return np.array([column - more, row - more], dtype=np.float64) * step


def _registered(look: Look, printed: Tone, grid: tuple[Array, Array], off: Array) -> tuple[Array, Array, float] | None:
    """How far off the patch lies, the covariance of that, and how alike both are."""
    x, y = grid
    columns = _columns(printed, float(x[0, 1] - x[0, 0]))
    gain = np.zeros(2)
    for number in range(_STEPS):
        shown = np.asarray(look.sampled(x + off[0], y + off[1])[1:-1, 1:-1].ravel(), np.float64)
        if number == 0:
            gain = np.asarray(np.linalg.lstsq(columns[:, 2:], shown, rcond=None)[0], np.float64)
        if gain[0] < _FAINTEST:
            return None
        # Sampled too far along by a little, the photo shows the tone that the page has so much farther on.
        model = np.column_stack([columns[:, :2] * gain[0], columns[:, 2:]])
        rest = shown - columns[:, 2:] @ gain
        weight = _weights(rest, closely=number > _BY_HUBER)
        normal = model.T @ (model * weight[:, None]) + 1e-9 * np.eye(4)
        change = np.linalg.solve(normal, model.T @ (weight * rest))
        off = off - np.clip(change[:2], -1.0, 1.0)
        gain = gain + change[2:]
        if np.abs(change[:2]).max() < _STILL and number > _BY_HUBER:
            break
    alike = float(np.corrcoef(shown, columns[:, 2])[0, 1])
    if alike < _ALIKE or np.abs(change[:2]).max() > _RESTLESS:
        return None
    noise = float((weight * rest**2).sum() / max(weight.sum() - 4.0, 1.0))
    # Neighbouring samples share pixels: there are fewer independent ones than samples.
    return off, np.asarray(np.linalg.inv(normal)[:2, :2] * noise / _STEP**2, np.float64), alike


def _columns(printed: Tone, step: float) -> Array:
    """Of each inner pixel of a patch its slopes across and down (a mm), its tone, and 1: (n, 4)."""
    across, down = (np.gradient(printed.astype(np.float64), step, axis=axis)[1:-1, 1:-1] for axis in (1, 0))
    inner = printed[1:-1, 1:-1].astype(np.float64)
    return np.column_stack([across.ravel(), down.ravel(), inner.ravel(), np.ones(inner.size)])


def _weights(rest: Array, *, closely: bool) -> Array:
    """Of residuals, by Huber, or by Tukey's biweight, which leaves out what is far off."""
    spread = 1.4826 * float(np.median(np.abs(rest))) + 0.5
    if closely:
        return np.asarray(np.maximum(1.0 - (rest / (_TUKEY * spread)) ** 2, 0.0) ** 2)
    return np.asarray(1.0 / np.maximum(1.0, np.abs(rest) / (_HUBER * spread)))
