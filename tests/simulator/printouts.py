"""What a printer leaves on a sheet, put together in the sheet's own mm: the page, and what should not be there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from tests.simulator.printing import Raster

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tests.simulator.printing import Printing

_DOTS = 20  # a millimetre
_A4 = (210.0, 297.0)


@dataclass(frozen=True, slots=True)
class Spot:
    """A part of the sheet: its middle from the sheet's middle and its size, mm."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Printout:
    """An A4 page printed on a sheet of ``whole`` mm, which is then ``trimmed`` (left, top, right, bottom).

    ``streak`` is a line of toner (side, mm from that edge, mm wide, darkness); ``fog`` the toner that lies wherever the
    printer can print; ``ruled`` rules that many mm apart, crossed by others or not; ``gutter`` a second page beside the
    first, with a line between them; ``faint`` the share of the ink that is missing.
    """

    printing: Printing
    whole: tuple[float, float]
    trimmed: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    streak: tuple[str, float, float, float] | None = None
    fog: float = 0.0
    ruled: tuple[float, bool] | None = None
    gutter: bool = False
    faint: float = 0.0

    @property
    def across(self) -> float:
        """The true scale across."""
        return self.printing.across

    @property
    def down(self) -> float:
        """The true scale down."""
        return self.printing.down

    @property
    def sheet(self) -> tuple[float, float]:
        """What is left of the sheet."""
        left, top, right, bottom = self.trimmed
        return self.whole[0] - left - right, self.whole[1] - top - bottom

    def to_sheet(self, x: float, y: float) -> tuple[float, float]:
        """Where a point of the page lies on what is left of the sheet, mm."""
        found = self.printing.to_sheet(np.array([x, y]), _A4, self.whole)
        return float(found[0]) - self.trimmed[0], float(found[1]) - self.trimmed[1]


def printed(out: Printout, page: Raster, seed: int) -> Raster:
    """The sheet as it comes out, as a page that fills the sheet."""
    wide, tall = (round(side * _DOTS) for side in out.whole)
    dots = page.pixels.shape[1] / page.width
    matrix = out.printing.matrix * (_DOTS / dots)
    origin = out.printing.to_sheet(np.array([0.0, 0.0]), _A4, out.whole) * _DOTS
    # Pixel centres lie at whole numbers in both rasters, half a dot from the corner.
    shift = origin - 0.5 + matrix @ np.array([0.5, 0.5])
    sheet = cv2.warpAffine(
        page.pixels, np.column_stack([matrix, shift]), (wide, tall), flags=cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_CONSTANT, borderValue=255,
    )  # fmt: skip
    ink = 1.0 - sheet.astype(np.float32) / 255.0
    ink *= 1.0 - out.faint
    if out.gutter:
        _second_page(ink, seed)
    if out.fog > 0:
        grain = np.random.default_rng(seed).normal(1.0, 0.3, (tall // 8 + 1, wide // 8 + 1)).astype(np.float32)
        ink += out.fog * np.clip(cv2.resize(grain, (wide, tall)), 0.0, 2.0)
    left, top, right, bottom = (round(side * _DOTS) for side in out.printing.cut_off)
    bare = np.ones_like(ink)
    bare[top : tall - bottom, left : wide - right] = 0.0
    ink *= 1.0 - bare
    if out.streak is not None:
        _streak(ink, out.streak)
    if out.ruled is not None:
        _rules(ink, *out.ruled)
    ends = [round(side * _DOTS) for side in out.trimmed]
    kept = ink[ends[1] : tall - ends[3], ends[0] : wide - ends[2]]
    pixels = np.clip(255.0 * (1.0 - kept) + 0.5, 0, 255).astype(np.uint8)
    return Raster(pixels, pixels.shape[1] / _DOTS, pixels.shape[0] / _DOTS)


def _second_page(ink: NDArray[np.float32], seed: int) -> None:
    """Words and a frame on the right half, and a line to cut along."""
    tall, wide = ink.shape
    rng = np.random.default_rng(seed + 3)
    half = wide // 2
    ink[10 * _DOTS : tall - 10 * _DOTS, half - 3 : half + 3] = 0.8
    for row in range(25 * _DOTS, tall - 25 * _DOTS, 6 * _DOTS):
        end = half + 15 * _DOTS
        while end < wide - 25 * _DOTS:
            long = int(rng.uniform(3, 12) * _DOTS)
            ink[row : row + 2 * _DOTS, end : end + long] = rng.uniform(0.3, 0.9)
            end += long + 2 * _DOTS
    ink[12 * _DOTS : tall - 12 * _DOTS, half + 8 * _DOTS : half + 8 * _DOTS + 12] = 1.0


def _streak(ink: NDArray[np.float32], streak: tuple[str, float, float, float]) -> None:
    side, at, width, dark = streak
    start, end = round(at * _DOTS), round((at + width) * _DOTS)
    part = {
        "left": np.s_[:, start:end],
        "right": np.s_[:, ink.shape[1] - end : ink.shape[1] - start],
        "top": np.s_[start:end],
        "bottom": np.s_[ink.shape[0] - end : ink.shape[0] - start],
    }[side]
    ink[part] = np.maximum(ink[part], dark)


def _rules(ink: NDArray[np.float32], pitch: float, crossed: bool) -> None:
    """Pale rules a quarter of a millimetre wide, as on exercise paper."""
    for at in np.arange(0.6 * pitch, ink.shape[0] / _DOTS, pitch):
        ink[round(at * _DOTS) : round((at + 0.25) * _DOTS)] += 0.35
    if crossed:
        for at in np.arange(0.6 * pitch, ink.shape[1] / _DOTS, pitch):
            ink[:, round(at * _DOTS) : round((at + 0.25) * _DOTS)] += 0.35
