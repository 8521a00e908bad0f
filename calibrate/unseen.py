"""Why a target is not seen, or too little of it: each cause told apart, since each asks for something else."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np

from calibrate.edges import light_at
from calibrate.failures import Reason, Refusal
from calibrate.markers import find_target
from calibrate.run import Run
from calibrate.target import SADDLE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from calibrate.camera import Mapping
    from calibrate.saddles import Seen
    from calibrate.target import Target

_FEW_PER_MM = 4.0  # below this, marks that can't be made out are small rather than blurred
_GLARE = 250
_PALE = 180
_BURNT = 0.85
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


def why_unseen(pixels: NDArray[np.uint8], refusal: Refusal, run: Run = Run()) -> Refusal:
    """A better reason for a target not found: the photo may be mirrored, small, too bright, too pale or blurred.

    Raises:
        Cancelled: the run is to end.
    """
    if refusal.reason is not Reason.NO_TARGET:
        return refusal
    if max(pixels.shape) < 900:
        return Refusal(Reason.TOO_FEW_PIXELS, f"the photo is {pixels.shape[1]} x {pixels.shape[0]} pixels")
    step = max(1.0, max(pixels.shape) / 2000)
    small = cv2.resize(pixels, None, fx=1 / step, fy=1 / step, interpolation=cv2.INTER_AREA)
    fine = float(np.percentile(np.abs(cv2.Laplacian(cv2.GaussianBlur(small, (0, 0), 1.0), cv2.CV_32F)), 99.5))
    contrast = float(np.percentile(small, 98)) - float(np.percentile(small, 2))
    if seen_in(np.ascontiguousarray(small[:, ::-1]), run):
        return Refusal(Reason.MIRRORED)
    bright = float((small >= _GLARE).mean())
    if bright > 0.25:
        # In a glare the light falls off around the spot; in a picture that got too much of it all paper is white.
        burnt = bright > _BURNT * float((small >= _PALE).mean())
        return Refusal(Reason.OVEREXPOSED if burnt else Reason.GLARE, refusal.detail)
    if seen_in(_evened(small), run):
        return Refusal(Reason.FAINT)
    if contrast > 40 and fine < 0.12 * contrast:
        return Refusal(Reason.TOO_BLURRED, refusal.detail)
    return refusal


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
    bright = 0
    for x, y in at[~off].astype(int):
        patch = pixels[max(0, y - 8) : y + 9, max(0, x - 8) : x + 9]
        bright += int((patch >= _GLARE).mean() > 0.6)
    if bright > 0.4 * len(missing):
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
