"""Find the target's markers in a photo, whatever else lies on the table."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import cv2
import numpy as np

from calibrate.code import PLACES, RADIX, RING, Message, number_at, read_numbers
from calibrate.failures import Reason, Refusal
from calibrate.marker_cells import marker_dictionary
from calibrate.run import Run
from calibrate.target import Target, make_target, target_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from calibrate.arrays import Array

_SMALL = 2000
_LARGE = 4200
_LEAST_RING = 8
_LEAST_PART = 5


@dataclass(frozen=True, slots=True, eq=False)
class Sighting:
    """A target seen: what it says, and where its markers' corners lie.

    ``corners`` holds, by place, four pixels (4, 2) in the marker's own order.
    """

    target: Target
    corners: dict[int, Array]


@dataclass(frozen=True, slots=True, eq=False)
class _Candidate:
    number: int
    corners: Array

    @property
    def place(self) -> int:
        return self.number // RADIX

    @property
    def middle(self) -> Array:
        return np.asarray(self.corners.mean(axis=0))


def find_target(pixels: NDArray[np.uint8], run: Run = Run()) -> Sighting | Refusal:
    """Find the one target in a grey picture (h, w), uint8.

    Refused when there is none, when there are two, or when too little of one is seen to know what it says.

    Raises:
        Cancelled: the run is to end.
    """
    most = max(pixels.shape)
    refusal = Refusal(Reason.NO_TARGET)
    for size in (_SMALL, _LARGE):
        step = max(1.0, most / size)
        found = _assembled(_candidates(pixels, step, run))
        if not isinstance(found, Refusal) or found.reason is Reason.TWO_TARGETS:
            return found
        refusal = found
        if step == 1.0:
            break
    return refusal


def _candidates(pixels: NDArray[np.uint8], step: float, run: Run) -> list[_Candidate]:
    """Every marker of the target's kind in the picture, looked for on a copy ``step`` times smaller."""
    small = pixels
    if step > 1.0:
        size = (round(pixels.shape[1] / step), round(pixels.shape[0] / step))
        small = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
    options = cv2.aruco.DetectorParameters()
    options.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    options.adaptiveThreshWinSizeMin = 5
    options.adaptiveThreshWinSizeMax = 45
    options.adaptiveThreshWinSizeStep = 20
    options.minMarkerPerimeterRate = 0.012
    options.perspectiveRemovePixelPerCell = 6
    detector = cv2.aruco.ArucoDetector(marker_dictionary(), options)
    corners, numbers, _ = run.watched(lambda: detector.detectMarkers(small))
    if numbers is None:
        return []
    scale = np.array([pixels.shape[1] / small.shape[1], pixels.shape[0] / small.shape[0]])
    return [
        _Candidate(int(number), (quad[0].astype(float) + 0.5) * scale - 0.5)
        for quad, number in zip(corners, numbers.ravel(), strict=True)
        if int(number) // RADIX < PLACES
    ]


@lru_cache(maxsize=1)
def _ring_middles() -> Array:
    """Where the ring's markers lie relative to the middle of the ring, the same on every page; (24, 2) mm."""
    target = make_target(210.0, 297.0)
    x, y = target.square.x + target.square.width / 2, target.square.y + target.square.height / 2
    return np.array([[marker.x - x, marker.y - y] for marker in target.markers[:RING]])


@dataclass(frozen=True, slots=True, eq=False)
class RingPart:
    """A part of the ring of markers: ``missing`` (n, 2) are the pixels where those not seen must lie, ``whole`` all.

    ``slant`` is the angle in degrees between the line of sight and the page's normal, roughly; ``per_mm`` the pixels
    for a millimetre of the page.
    """

    missing: Array
    whole: Array
    slant: float
    per_mm: float


def part_of_ring(pixels: NDArray[np.uint8], run: Run = Run()) -> RingPart | None:
    """Where the rest of a ring lies of which some markers are seen; None where fewer than five agree.

    Raises:
        Cancelled: the run is to end.
    """
    inliers: list[_Candidate] = []
    for size in (_SMALL, _LARGE):
        candidates = _candidates(pixels, max(1.0, max(pixels.shape) / size), run)
        inliers = _agreeing([candidate for candidate in candidates if candidate.place < RING])
        if len(inliers) >= _LEAST_PART or max(pixels.shape) <= size:
            break
    if len(inliers) < _LEAST_PART:
        return None
    places = [candidate.place for candidate in inliers]
    middles = _ring_middles()
    flat, _ = cv2.findHomography(middles[places], np.array([candidate.middle for candidate in inliers]), 0)
    if flat is None:
        return None
    steps = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    seen = cv2.perspectiveTransform(np.concatenate([middles, steps])[:, None], flat)[:, 0]
    longer, shorter = np.linalg.svd((seen[-2:] - seen[-3]).T, compute_uv=False)
    slant = float(np.degrees(np.arccos(min(shorter / max(longer, 1e-9), 1.0))))
    return RingPart(np.delete(seen[:-3], places, axis=0), seen[:-3], slant, float(shorter))


def _assembled(candidates: list[_Candidate]) -> Sighting | Refusal:
    """The target that most candidates agree on."""
    ring = [candidate for candidate in candidates if candidate.place < RING]
    inliers = _agreeing(ring)
    if len(inliers) < _LEAST_RING:
        if len(ring) >= 4:
            return Refusal(Reason.NO_TARGET, f"only {len(ring)} of its {RING} markers can be read")
        return Refusal(Reason.NO_TARGET)
    others = [candidate for candidate in ring if all(candidate is not inlier for inlier in inliers)]
    if len(_agreeing(others)) >= 6:
        return Refusal(Reason.TWO_TARGETS)
    message = read_numbers(candidate.number for candidate in inliers)
    if message is None:
        return Refusal(Reason.TARGET_CUT_OFF, f"only {len(inliers)} of the {RING} markers around the square are seen")
    return _with_corners(message, inliers, candidates)


def _agreeing(ring: list[_Candidate]) -> list[_Candidate]:
    """The largest set of ring markers that one flat page explains; at most one for each place."""
    if len(ring) < 4:
        return []
    page = _ring_middles()[[candidate.place for candidate in ring]]
    seen = np.array([candidate.middle for candidate in ring])
    side = float(np.median([_side(candidate.corners) for candidate in ring]))
    cv2.setRNGSeed(0)
    found, mask = cv2.findHomography(page, seen, cv2.RANSAC, 0.4 * side, maxIters=4000)
    if found is None:
        return []
    kept: dict[int, _Candidate] = {}
    for candidate, agrees in zip(ring, mask.ravel(), strict=True):
        if agrees:
            kept.setdefault(candidate.place, candidate)
    return list(kept.values())


def _side(corners: Array) -> float:
    return float(np.linalg.norm(np.roll(corners, 1, axis=0) - corners, axis=1).mean())


def _with_corners(message: Message, inliers: list[_Candidate], candidates: list[_Candidate]) -> Sighting:
    """Add the page's corner markers where the ring, continued, says they are."""
    target = target_of(message)
    corners = {
        candidate.place: candidate.corners
        for candidate in inliers
        if candidate.number == target.markers[candidate.place].number
    }
    page = np.array([[target.markers[p].x, target.markers[p].y] for p in corners])
    seen = np.array([quad.mean(axis=0) for quad in corners.values()])
    flat, _ = cv2.findHomography(page, seen, 0)
    for candidate in candidates:
        place = candidate.place
        if place < RING or candidate.number != number_at(place, ()):
            continue
        marker = target.markers[place]
        there = cv2.perspectiveTransform(np.array([[[marker.x, marker.y]]]), flat)[0, 0]
        # The ring is continued by as much as its own size: lens and curl may shift the corner by a marker.
        if np.linalg.norm(there - candidate.middle) < 1.5 * _side(candidate.corners):
            corners[place] = candidate.corners
    return Sighting(target, corners)
