"""Photos of a taped sheet, read: how far every page lies from where it should at both ends of every join."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from math import floor, hypot

import cv2
import numpy as np

from calibrate.arrays import Array, Grey
from calibrate.failures import NoMeasurementError, Reason, Refusal
from calibrate.photo import Photo
from calibrate.run import Run
from calibrate.taped.ground import Ground, rough_ground
from calibrate.taped.identity import Identity, identified
from calibrate.taped.lifts import Lift, least_lifts
from calibrate.taped.marks import Look, Sighting, sighted
from calibrate.taped.printed import PrintedJoin, PrintedPage, PrintedSeam, PrintedSheet, PrintedSpan
from calibrate.taped.sharpness import blur_of
from calibrate.taped.solving import Solution, View, solved

__all__ = ["TOLERANCE", "JoinEnd", "JoinVerdict", "PhotoSeen", "SeamSeen", "SpanSeen", "TapedReading", "read_taped"]

TOLERANCE = 1.0
"""mm that a page may have slipped."""
_COARSEST = 1.3
"""px to the mm on the sheet; below this a checker's square is two pixels wide."""
_FINEST = 2.6
"""px to the mm; twice as many, or more, show a checker no better than paper lies."""
_SEARCH = 6.0
"""mm around where the ground shows a mark within which it is looked for: pages that slipped, paper that waves."""
_BLURS = (0.6, 0.9, 1.3, 1.9, 2.8)
"""px; standard deviations tried for what the lens, the hand and the phone did."""
_PROBES = 24
_LEAST_MARKS, _LEAST_ENDS = 2, 2
"""Of a page, and of all joins together, for anything to be told."""
_USUAL_FOCAL = 26.0 / 43.2666
"""Of a phone's main camera, as a part of the picture's diagonal, where the file notes none."""
_MOST_BLURRED = 0.9
"""mm, a standard deviation: nearly half a checker's square; beyond, its squares are one grey."""
_SHAKEN = 2.2
"""px; the blur in one direction from which a photo in which nothing is found is told to be blurred."""
_LESS_ALIKE = 0.05
"""Correlation below the usual one from which a mark may be half covered."""
_COVERED = (1.5, 2.5, 3.5, 4.5)
"""mm of a page that may be hidden under the next one."""
_SURELY, _FOUND = 0.85, 0.3
"""Correlation above which a mark is this print's for sure (marks of another are taken for it below 0.82); and of the
marks that should be in view, the share below which hardly any is, and things on the sheet can't be the reason."""
_COVERAGE = 2.0


class JoinVerdict(Enum):
    """What is said of a join's end."""

    TRUE = "true"
    SLIPPED = "slipped"
    UNSURE = "unsure"


@dataclass(frozen=True, slots=True, eq=False)
class JoinEnd:
    """One end of a join.

    Attributes:
        first, second: the pages; the second is laid over the first.
        where: which end of the join: ``upper``, ``lower``, ``left`` or ``right``; ``only`` where it has but one.
        at: the place on the layout, mm.
        slip: how far the second page lies from where it should relative to the first, x right and y down, mm.
        along, across: of that, along the join and across it; across, more than 0 is a gap.
        doubt: its standard deviation, mm, in the direction in which it is larger.
        verdict: against the tolerance.
    """

    first: str
    second: str
    where: str
    at: tuple[float, float]
    slip: tuple[float, float]
    along: float
    across: float
    doubt: float
    verdict: JoinVerdict


@dataclass(frozen=True, slots=True)
class SpanSeen:
    """A distance on the sheet: by how much it is longer than it should be, for pages of the right size, mm.

    ``doubt`` is the standard deviation of that.
    """

    span: PrintedSpan
    longer: float
    doubt: float


@dataclass(frozen=True, slots=True)
class SeamSeen:
    """A seam: by how much the slips of all joins that it crosses lengthen it, and the standard deviation, mm."""

    seam: PrintedSeam
    longer: float
    doubt: float

    @property
    def between(self) -> tuple[str, str]:
        """The first page and the last one that it runs over."""
        return self.seam.crossings[0].first, self.seam.crossings[-1].second


@dataclass(frozen=True, slots=True, eq=False)
class PhotoSeen:
    """A photo's name, how many pixels a mm of the sheet takes up in it where fewest, and how many marks it shows.

    ``ground`` is where the sheet lies in it.
    """

    name: str
    px_per_mm: float
    marks: int
    ground: Ground


@dataclass(frozen=True, slots=True, eq=False)
class TapedReading:
    """What the photos say.

    Attributes:
        ends: of every join that can be told, worst first.
        turns: by how many degrees each page is turned.
        identities: which page lies at each place.
        spans, seams: what they have become; the seam that is off most first.
        lifts: what to lift and move to make every join true.
        photos: what each of them shows.
    """

    ends: tuple[JoinEnd, ...]
    turns: dict[str, float]
    identities: tuple[Identity, ...]
    spans: tuple[SpanSeen, ...]
    seams: tuple[SeamSeen, ...]
    lifts: tuple[Lift, ...]
    photos: tuple[PhotoSeen, ...]


def read_taped(
    photos: Sequence[Photo], sheet: PrintedSheet, tolerance: float = TOLERANCE, run: Run = Run()
) -> TapedReading:
    """Tell from photos of one taped sheet how its pages lie.

    Args:
        photos: of the whole sheet or parts of it; two from opposite sides tell a slip from a cut edge that stands up.
        sheet: what was printed.
        tolerance: mm that a page may have slipped.
        run: told of every photo; asked at every page whether to go on.

    Raises:
        NoMeasurementError: a photo doesn't show the sheet, or too coarsely, or no join.
        Cancelled: by `run`.
    """
    taken = []
    for number, photo in enumerate(photos):
        run.step("Reading the taped sheet, photo", number, len(photos))
        taken.append(_taken(photo, sheet, run))
    run.step("Reading the taped sheet, photo", len(photos), len(photos))
    identities = identified([one.look for one in taken], sheet, run)
    _refuse_what_is_hardly_there(identities)
    # What lies at another's place shows nothing of how that place's page lies.
    sheet = sheet.without(frozenset(one.place for one in identities if not one.right))
    views = [one.view(sheet) for one in taken]
    marks = Counter(sighting.page for view in views for sighting in view.sightings)
    joins = [join for join in sheet.joins if min(marks[join.first], marks[join.second]) >= _LEAST_MARKS]
    if sum(len(join.ends) for join in joins) < _LEAST_ENDS:
        raise NoMeasurementError(Refusal(Reason.NO_TAPED_SHEET, "no join of two of its pages can be seen"))
    solution = solved(views, sheet)
    ends = [_end(solution, join, place, tolerance) for join in joins for place in join.ends]
    told = [page.name for page in sheet.pages if marks[page.name] >= _LEAST_MARKS]
    spans = [SpanSeen(span, *solution.longer(span)) for span in sheet.spans if set(span.pages) <= set(told)]
    seams = [SeamSeen(seam, *solution.gained(seam)) for seam in sheet.seams
             if all({one.first, one.second} <= set(told) for one in seam.crossings)]  # fmt: skip
    return TapedReading(
        tuple(sorted(ends, key=lambda end: -hypot(*end.slip))),
        {name: solution.turn(name) for name in told},
        identities,
        tuple(spans),
        tuple(sorted(seams, key=lambda seam: -abs(seam.longer))),
        least_lifts(solution, joins, tolerance),
        tuple(one.seen for one in taken),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Taken:
    """One photo: how it is looked at, the marks found in it, and where the camera stood."""

    look: Look
    sightings: tuple[Sighting, ...]
    standpoint: Array
    blur: float
    seen: PhotoSeen

    def view(self, sheet: PrintedSheet) -> View:
        """What it shows of the pages of a sheet."""
        names = {page.name for page in sheet.pages}
        return View(tuple(one for one in self.sightings if one.page in names), self.standpoint, self.blur)


def _refuse_what_is_hardly_there(identities: Sequence[Identity]) -> None:
    """Refuse a sheet of which most pages that should be in view are not."""
    missing = sum(one.missing for one in identities)
    if missing > len(identities) / 2:
        there = len(identities) - missing
        detail = f"of {len(identities)} pages that should be in view {there} are: is it folded, or not taped yet?"
        raise NoMeasurementError(Refusal(Reason.NO_TAPED_SHEET, detail))


def _taken(photo: Photo, sheet: PrintedSheet, run: Run) -> _Taken:
    """One photo's marks.

    Raises:
        NoMeasurementError: there is no sheet in it, it is too coarse or too blurred, or other pages are in it.
        Cancelled: by `run`.
    """
    ground = run.watched(lambda: rough_ground(photo.pixels, sheet))
    if ground is None:
        raise NoMeasurementError(_why_not(photo, sheet, run))
    pages = [page for page in sheet.pages if ground.shows(page.marks).any()]
    shown = [at for page in pages for at in page.marks[ground.shows(page.marks)]]
    if not shown:
        raise NoMeasurementError(Refusal(Reason.NO_TAPED_SHEET, f"{photo.name}: none of the pages' marks are in view"))
    coarsest = min(ground.pixels_per_mm(at) for at in shown)
    focal = photo.focal_px or _USUAL_FOCAL * hypot(*photo.pixels.shape)
    standpoint = ground.standpoint(focal)
    if coarsest < _COARSEST:
        raise NoMeasurementError(_too_coarse(photo, coarsest, standpoint[2]))
    look = _sharpest(*_no_finer(photo.pixels, ground, coarsest), pages)
    sightings = []
    for page in pages:
        run.check()
        within = page.marks[ground.shows(page.marks)]
        sightings += [one for at in within if (one := sighted(look, page, at, _SEARCH)) is not None]
    sightings = _uncovered(look, pages, sightings)
    blur = look.blur / float(np.median([look.ground.pixels_per_mm(at) for at in shown]))
    if blur > _MOST_BLURRED:
        detail = f"{photo.name}: blurred over {2 * blur:.1f} mm of the sheet, by a shake or out of focus"
        raise NoMeasurementError(Refusal(Reason.TOO_BLURRED, detail))
    if sum(one.alike > _SURELY for one in sightings) < _FOUND * len(shown):
        _refuse_other_pages(photo, sheet, look, run)
    seen = PhotoSeen(photo.name, coarsest, len(sightings), ground)
    return _Taken(look, tuple(sightings), standpoint, blur, seen)


def _too_coarse(photo: Photo, coarsest: float, height: float) -> Refusal:
    """That there are too few pixels, and from how near there are enough; ``height`` is the camera's, mm."""
    fine = f"{floor(100 * coarsest) / 100:g} pixels to the millimetre of the sheet, where {_COARSEST} are needed"
    near = floor(height * coarsest / _COARSEST / 10)
    how = f"take it from about {near} cm away, in parts that share pages if need be"
    return Refusal(Reason.TOO_FEW_PIXELS, f"{photo.name}: {fine}; {how}")


def _no_finer(photo: Grey, ground: Ground, coarsest: float) -> tuple[Grey, Ground]:
    """The photo and its ground in larger pixels, where there are more than tell anything."""
    share = int(coarsest / _FINEST)
    if share < 2:
        return photo, ground
    smaller = cv2.resize(photo, None, fx=1 / share, fy=1 / share, interpolation=cv2.INTER_AREA)
    return np.asarray(smaller, np.uint8), ground.in_larger(share)


def _uncovered(look: Look, pages: Sequence[PrintedPage], sightings: Sequence[Sighting]) -> list[Sighting]:
    """The marks, those that look as if they lay half under the next page looked for again by what is left of them.

    A checker that is half covered fits best where its other half is, a square farther on.
    """
    by_name = {page.name: page for page in pages}
    usual = float(np.median([one.alike for one in sightings])) if sightings else 0.0
    found = []
    for one in sightings:
        best = one
        for covered in _COVERED if one.alike < usual - _LESS_ALIKE else ():
            again = sighted(look, by_name[one.page], one.at, _SEARCH, covered)
            if again is not None and again.alike > best.alike + _LESS_ALIKE / 2:
                best = again
        found.append(best)
    return found


def _why_not(photo: Photo, sheet: PrintedSheet, run: Run) -> Refusal:
    """Why a photo shows no sheet at all."""
    detail = _what_else(photo, sheet, run)
    if detail == photo.name and blur_of(photo.pixels) > _SHAKEN:
        return Refusal(Reason.TOO_BLURRED, f"{photo.name}: shaken, or out of focus")
    return Refusal(Reason.NO_TAPED_SHEET, detail)


def _refuse_other_pages(photo: Photo, sheet: PrintedSheet, look: Look, run: Run) -> None:
    """Refuse what shows the drawing without these pages' marks, unless pages merely lie in each other's places."""
    identities = identified([look], sheet, run)
    right = sum(one.right for one in identities)
    if right >= len(identities) / 2 and len(identities) > 1:
        detail = f"{photo.name}: it shows the drawing, but joins that are not those of this file"
        raise NoMeasurementError(Refusal(Reason.OTHER_PRINT, detail))
    detail = _what_else(photo, sheet, run)
    if detail != photo.name:
        raise NoMeasurementError(Refusal(Reason.NO_TAPED_SHEET, detail))


def _what_else(photo: Photo, sheet: PrintedSheet, run: Run) -> str:
    """The photo's name, and which of the file's other pages it shows, if one."""
    for page in sheet.aside:
        run.check()
        if rough_ground(photo.pixels, PrintedSheet((page,), ())) is not None:
            return f"{photo.name}: it shows the page '{page.name}' of the file"
    return photo.name


def _sharpest(photo: Grey, ground: Ground, pages: Sequence[PrintedPage]) -> Look:
    """The photo with the blur at which pages look most like it, tried on some marks from all over what is in view."""
    marks = [(page, at) for page in pages for at in page.marks[ground.shows(page.marks)]]
    some = marks[:: max(len(marks) // _PROBES, 1)]

    def likeness(look: Look) -> float:
        found = [sighted(look, page, at, _SEARCH) for page, at in some]
        return float(np.median([one.alike if one else 0.0 for one in found]))

    return max((Look(photo, ground, blur) for blur in _BLURS), key=likeness)


def _end(solution: Solution, join: PrintedJoin, place: Array, tolerance: float) -> JoinEnd:
    slip, covariance = solution.slip(join.first, join.second, place)
    doubt = float(np.sqrt(np.linalg.eigvalsh(covariance)[-1]))
    size = float(np.hypot(*slip))
    verdict = JoinVerdict.UNSURE
    if size + _COVERAGE * doubt <= tolerance:
        verdict = JoinVerdict.TRUE
    elif size - _COVERAGE * doubt > tolerance:
        verdict = JoinVerdict.SLIPPED
    across, along = (float(part) for part in (slip if join.upright else slip[::-1]))
    at, off = (float(place[0]), float(place[1])), (float(slip[0]), float(slip[1]))
    return JoinEnd(join.first, join.second, _where(join, place), at, off, along, across, doubt, verdict)


def _where(join: PrintedJoin, place: Array) -> str:
    if len(join.ends) < 2:
        return "only"
    before = place.sum() < join.ends.mean(axis=0).sum()
    return ("upper" if before else "lower") if join.upright else ("left" if before else "right")
