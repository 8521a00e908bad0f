"""One photo, read as far as the page goes: the target found, the page mapped, the photo fit for measuring."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from calibrate.evidence import Evidence
from calibrate.failures import Reason, Refusal
from calibrate.fit import CameraFit, Points, fit_mapping, lens_of
from calibrate.markers import Sighting, find_target
from calibrate.run import Run
from calibrate.saddles import Seen, find_saddles
from calibrate.shape import PrintShape, print_shape
from calibrate.unseen import why_few, why_unseen

if TYPE_CHECKING:
    from collections.abc import Mapping as Named

    from calibrate.arrays import Array
    from calibrate.camera import Mapping
    from calibrate.photo import Photo
    from calibrate.target import Target

_LEAST_PER_MM = 2.5
_MOST_SLANT = 42.0
_LEAST_RING = 14
_MOST_NOISE = 0.10  # mm
_MOST_RISE = 10.0  # mm


@dataclass(frozen=True, slots=True, eq=False)
class Survey:
    """What one photo says of the page: the target, the saddles seen and the fit through them."""

    photo: Photo
    target: Target
    seen: Seen
    fit: CameraFit

    @property
    def mapping(self) -> Mapping:
        """Page to picture."""
        return self.fit.mapping

    @property
    def shape(self) -> PrintShape:
        """The print's proportion, as the camera alone knows it."""
        square = self.target.square
        return print_shape(self.fit, self.mapping.slant(square.x + square.width / 2, square.y + square.height / 2))

    def evidence(self, outlines: Named[str, Array], passed: tuple[Array, ...] = ()) -> Evidence:
        """What a picture shows of it, with edges that were found."""
        square, field = self.target.square, self.target.field
        right, bottom = square.right, square.bottom
        corners = np.array([[square.x, square.y], [right, square.y], [right, bottom], [square.x, bottom]])
        t = np.linspace(0.0, 1.0, 25)[:, None]
        sides = tuple(self.mapping.project(corners[n] + t * (corners[(n + 1) % 4] - corners[n])) for n in range(4))
        lying = field.width > field.height
        return Evidence(self.photo.name, lying, self.seen.points.pixels, outlines, sides, passed)

    @property
    def per_mm(self) -> float:
        """Pixels for a millimetre at the middle of the test square."""
        square = self.target.square
        return self.mapping.pixels_per_mm(square.x + square.width / 2, square.y + square.height / 2)


def survey(photo: Photo, run: Run = Run()) -> Survey | Refusal:
    """Map the page in a photo, or say why that can't be done.

    Raises:
        Cancelled: the run is to end.
    """
    pixels = photo.pixels
    sighting = find_target(pixels, run)
    if isinstance(sighting, Refusal):
        return why_unseen(pixels, sighting, run)
    height, width = pixels.shape
    frame = (width, height)
    lens = lens_of(photo.focal_px, frame)
    rough = fit_mapping(_marker_points(sighting), lens, frame, may_bend=False, run=run)
    if rough is None:
        return Refusal(Reason.NO_TARGET)
    seen = find_saddles(pixels, rough.mapping, sighting.target.saddles, run=run)
    fit = fit_mapping(seen.points, lens, frame, run=run) if len(seen.which) >= _LEAST_RING else None
    if fit is not None and len(seen.which) < len(sighting.target.saddles):
        # Far marks may lie off where the markers alone put them: look again with the better map.
        more = find_saddles(pixels, fit.mapping, sighting.target.saddles, run=run)
        if len(more.which) > len(seen.which):
            seen, fit = more, fit_mapping(more.points, lens, frame, run=run) or fit
    if fit is None:
        return why_few(pixels, rough.mapping, sighting.target, seen)
    found = Survey(photo, sighting.target, seen, fit)
    unfit = _unfit(found)  # a refusal is false: it must be told from None by name
    return found if unfit is None else unfit


def _marker_points(sighting: Sighting) -> Points:
    markers = sighting.target.markers
    page = np.array([corner for place in sighting.corners for corner in markers[place].corners])
    return Points(page, np.concatenate(list(sighting.corners.values())))


def _unfit(found: Survey) -> Refusal | None:
    """Why a mapped photo is not fit for measuring, if it is not."""
    square = found.target.square
    x, y = square.x + square.width / 2, square.y + square.height / 2
    slant, per_mm = found.mapping.slant(x, y), found.per_mm
    if slant > _MOST_SLANT:
        return Refusal(Reason.TOO_SLANTED, f"the camera leans by {slant:.0f} degrees")
    if per_mm < _LEAST_PER_MM:
        return Refusal(Reason.TOO_FEW_PIXELS, f"a millimetre of the page is {per_mm:.1f} pixels wide")
    ring = [i for i in found.seen.which if found.target.saddles[i].name.startswith("r")]
    used = set(np.asarray(found.seen.which)[found.fit.used].tolist())
    if len(used.intersection(ring)) < _LEAST_RING:
        return why_few(found.photo.pixels, found.mapping, found.target, found.seen)
    noise = found.fit.noise / per_mm
    if noise > _MOST_NOISE:
        return Refusal(Reason.NOT_FLAT, f"its marks lie up to {2 * noise:.2f} mm off a smooth sheet")
    reach = max(found.target.field.width, found.target.field.height) / 2
    rise = found.mapping.bend.sagitta(reach)
    if rise > _MOST_RISE:
        return Refusal(Reason.NOT_FLAT, f"it rises by {rise:.0f} mm")
    return None
