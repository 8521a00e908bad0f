"""Why a target is not seen, or too little of it: each cause told apart, since each asks for something else."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import cv2
import numpy as np

from calibrate.edges import light_at
from calibrate.failures import Reason, Refusal
from calibrate.markers import RingPart, find_target, part_of_ring
from calibrate.run import Run
from calibrate.target import SADDLE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from calibrate.arrays import Array
    from calibrate.camera import Mapping
    from calibrate.saddles import Seen
    from calibrate.target import Target

_FEW_PER_MM = 4.0  # below this, marks that can't be made out are small rather than blurred
_GLARE = 250
_PALE = 180
_BURNT = 0.85
_BESIDE = 0.4  # what paper takes up around a marker
_WIDE_EDGE = 5.6  # pixels of a picture 2000 pixels long; sharp ones have 3 to 4, with noise and a little shake 5
_STEEP = 45.0
_LEAST_SHEET, _FILLED, _MARKED = 60.0, 0.8, 0.75  # pixels; share of a rectangle; light of marks over that of paper
_SHEET = 290.0  # mm, the longer side of A4 or letter, roughly
_FAINT = 0.55
"""The light of full ink over that of paper, from which a print is too pale (ink that is saved gives 0.3)."""


def seen_in(pixels: NDArray[np.uint8], run: Run) -> bool:
    """Whether a target is found in a picture made from the photo."""
    return not isinstance(find_target(pixels, run), Refusal)


def _evened(pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """The picture without its light's slow changes, the rest spread over all tones."""
    ground = cv2.GaussianBlur(pixels, (0, 0), 25.0).astype(np.float32)
    detail = cv2.GaussianBlur(pixels, (0, 0), 1.0).astype(np.float32) - ground
    # The paper is what is bright: a table's grain must not decide.
    size = max(float(np.percentile(np.abs(detail[ground >= np.percentile(ground, 60.0)]), 99.0)), 1.0)
    return np.asarray(np.clip(128.0 + detail * (110.0 / size), 0, 255).astype(np.uint8))


def _paleness(pixels: NDArray[np.uint8], mapping: Mapping, target: Target) -> float:
    """The light of the marks' black over that of the paper beside it, the median; 0 where none is in the picture."""
    places = np.array([[s.x, s.y] for s in target.saddles])
    leaning = np.array([[s.slope, 1.0] for s in target.saddles]) * SADDLE / 2
    aside = leaning * np.array([-1.0, 1.0])
    black, paper = (light_at(pixels, mapping.project(places + by)) for by in (leaning, aside))
    share = black / np.maximum(paper, 1e-3)
    share = share[np.isfinite(share)]
    return float(np.median(share)) if len(share) else 0.0


def _edge_width(small: NDArray[np.uint8]) -> float:
    """How many pixels wide the picture's clear edges are, the median: the light's range near by over its slope."""
    soft = cv2.GaussianBlur(small.astype(np.float32), (0, 0), 1.0)
    across, down = (cv2.Sobel(soft, cv2.CV_32F, *order, scale=1.0 / 8.0) for order in ((1, 0), (0, 1)))
    around = np.ones((25, 25), np.uint8)
    span = cv2.dilate(soft, around) - cv2.erode(soft, around)
    steepest = cv2.dilate(np.hypot(across, down), around)
    clear = span > max(30.0, 0.5 * float(np.percentile(span, 99.0)))
    return float(np.median(span[clear] / np.maximum(steepest[clear], 1e-3))) if clear.any() else 0.0


def _length_of_sheet(small: NDArray[np.uint8]) -> float:
    """How long the largest bright rectangle with something dark on it is, pixels; infinite where there is none."""
    _, bright = cv2.threshold(cv2.GaussianBlur(small, (0, 0), 3.0), 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    outlines, _ = cv2.findContours(bright, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
    if not outlines:
        return math.inf
    largest = max(outlines, key=cv2.contourArea)
    sides = cv2.minAreaRect(largest)[1]
    if min(sides) < _LEAST_SHEET or cv2.contourArea(largest) < _FILLED * sides[0] * sides[1]:
        return math.inf
    inside = cv2.drawContours(np.zeros_like(small), [largest], -1, 255, cv2.FILLED) > 0
    dark, middle = np.percentile(small[inside], [0.5, 50.0])
    return max(sides) if dark < _MARKED * middle else math.inf


def why_unseen(pixels: NDArray[np.uint8], refusal: Refusal, run: Run = Run()) -> Refusal:
    """A better reason for a target not found: the photo may be mirrored, small, too bright, too pale or blurred.

    Raises:
        Cancelled: the run is to end.
    """
    if refusal.reason is Reason.TWO_TARGETS:
        return refusal
    if max(pixels.shape) < 900:
        return Refusal(Reason.TOO_FEW_PIXELS, f"the photo is {pixels.shape[1]} x {pixels.shape[0]} pixels")
    if (part := part_of_ring(pixels, run)) is not None:
        return _why_partly(pixels, part, refusal)
    step = max(1.0, max(pixels.shape) / 2000)
    small = cv2.resize(pixels, None, fx=1 / step, fy=1 / step, interpolation=cv2.INTER_AREA)
    if seen_in(np.ascontiguousarray(small[:, ::-1]), run):
        return Refusal(Reason.MIRRORED)
    bright = float((small >= _GLARE).mean())
    if bright > 0.25:
        # In a glare the light falls off around the spot; in a picture that got too much of it all paper is white.
        burnt = bright > _BURNT * float((small >= _PALE).mean())
        return Refusal(Reason.OVEREXPOSED if burnt else Reason.GLARE, refusal.detail)
    if _edge_width(small) > _WIDE_EDGE:
        return Refusal(Reason.FAINT if seen_in(_evened(small), run) else Reason.TOO_BLURRED, refusal.detail)
    long = _length_of_sheet(small) * step
    if long < _FEW_PER_MM * _SHEET:
        return Refusal(Reason.TOO_FEW_PIXELS, f"what looks like the sheet is only {long:.0f} pixels long")
    return Refusal(Reason.FAINT) if seen_in(_evened(small), run) else refusal


def _why_partly(pixels: NDArray[np.uint8], part: RingPart, refusal: Refusal) -> Refusal:
    """Why some markers of the ring are seen and others not."""
    if part.slant > _STEEP:
        return Refusal(Reason.TOO_SLANTED, f"the camera leans by about {part.slant:.0f} degrees")
    height, width = pixels.shape
    off = (part.missing < 0).any(axis=1) | (part.missing > [width - 1, height - 1]).any(axis=1)
    if off.mean() > 0.3:
        return Refusal(Reason.TARGET_CUT_OFF, "part of the ring around the square is outside the picture")
    reach = round(5.0 * part.per_mm)
    if _burnt(pixels, part.whole, reach, _BESIDE) == len(part.whole):
        return Refusal(Reason.OVEREXPOSED, refusal.detail)
    if _burnt(pixels, part.missing[~off], reach, _BESIDE) > 0.4 * len(part.missing):
        return Refusal(Reason.GLARE)
    if part.per_mm < _FEW_PER_MM:
        return Refusal(Reason.TOO_FEW_PIXELS, f"a millimetre of the page is {part.per_mm:.1f} pixels wide")
    return Refusal(refusal.reason, refusal.detail or "part of the ring around the square is covered")


def _burnt(pixels: NDArray[np.uint8], places: Array, reach: int, share: float = 0.6) -> int:
    """Around how many places (n, 2) that share of the picture is white, within so many pixels."""
    count = 0
    for x, y in places.astype(int):
        patch = pixels[max(0, y - reach) : y + reach + 1, max(0, x - reach) : x + reach + 1]
        count += int((patch >= _GLARE).mean() > share)
    return count


def why_few(pixels: NDArray[np.uint8], mapping: Mapping, target: Target, seen: Seen) -> Refusal:
    """Why most measuring points are missing: off the picture, in a glare, or blurred."""
    missing = [s for i, s in enumerate(target.saddles) if i not in seen.which and s.name.startswith("r")]
    if not missing:
        return Refusal(Reason.NOT_FLAT, "its marks don't lie on a smooth sheet")
    at = mapping.project(np.array([[s.x, s.y] for s in missing]))
    height, width = pixels.shape
    off = (at < 8).any(axis=1) | (at > [width - 9, height - 9]).any(axis=1)
    if off.mean() > 0.3:
        return Refusal(Reason.TARGET_CUT_OFF)
    if _burnt(pixels, at[~off], 8) > 0.4 * len(missing):
        return Refusal(Reason.GLARE)
    if (paleness := _paleness(pixels, mapping, target)) > _FAINT:
        return Refusal(Reason.FAINT, f"its black is {100 * paleness:.0f} % as bright as the paper")
    square = target.square
    per_mm = mapping.pixels_per_mm(square.x + square.width / 2, square.y + square.height / 2)
    if per_mm < _FEW_PER_MM:
        return Refusal(Reason.TOO_FEW_PIXELS, f"a millimetre of the page is {per_mm:.1f} pixels wide")
    sharp = len(seen.which) > 0.3 * len(target.saddles)
    if sharp:
        return Refusal(Reason.TARGET_CUT_OFF, "part of the ring around the square is covered")
    return Refusal(Reason.TOO_BLURRED)
