"""Which page lies at each place of a taped sheet, and whether it is the right way up: told by what is drawn on it.

A place's part of the photo is laid flat and compared with every page in both orientations, first as a whole and
coarsely, then block by block where the likeliest pages differ: pages that are alike but for their names are told apart
by these, or not at all. No code is read; geometry comes first, who lies there second.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np

from calibrate.arrays import Array, Tone
from calibrate.run import Run
from calibrate.taped.marks import Look
from calibrate.taped.printed import PrintedPage, PrintedSheet

__all__ = ["Identity", "identified"]

_COARSE, _SEARCH = 1.5, 18.0
"""mm a sample, and how far a page may lie from where it should, for the first comparison: one that lies upside down has
its broad margins on the other sides."""
_RIM = 8.0
"""mm; a ground found roughly, and a page that slipped, may show other things there."""
_LIGHT = 15.0
"""mm; light that changes over more than this is taken off."""
_LIKELY = 0.06
"""Of correlation below the likeliest page's: how far behind it a page may be to be looked at closely."""
_MOST_LIKELY = 10
_BLOCK, _STRAY = 24.0, 3.0
"""mm: the side of a block, and how far it may have moved against its page: slips, turns, waves."""
_FINE = 0.5
"""mm a sample at most, of blocks."""
_BARE = 3.0
"""Tones of 255 by which a block varies; one of less is bare paper."""
_UNLIKE = 0.97
"""Correlation of two pages' blocks, below which they differ to the eye."""
_NOTHING = 0.35
"""Correlation of the likeliest page below which none lies there: table, or a hand."""
_OTHER_TONE = 0.2
"""Of the pages' usual light: what is so much darker or lighter is no paper."""
_MARGIN = 0.08
"""Mean correlation over the blocks in which two pages differ, by which one must be ahead to be told."""


@dataclass(frozen=True, slots=True)
class Identity:
    """What lies at a page's place.

    Attributes:
        place: the page that belongs there.
        found_as: the page that lies there; None where it can't be told.
        upside_down: whether it lies upside down.
        missing: whether no page lies there, or too little of it is seen.
    """

    place: str
    found_as: str | None
    upside_down: bool = False
    missing: bool = False

    @property
    def right(self) -> bool:
        """Whether it is the page that belongs there, the right way up, as far as that can be told."""
        return not self.missing and not self.upside_down and self.found_as in {None, self.place}


@dataclass(frozen=True, slots=True, eq=False)
class _Candidate:
    """A page as it may lie at a place, and how far from there it then lies, mm; ``alike`` is its correlation."""

    page: PrintedPage
    upside_down: bool
    alike: float
    off: Array


def identified(looks: Sequence[Look], sheet: PrintedSheet, run: Run = Run()) -> tuple[Identity, ...]:
    """Which page lies at each place that is wholly in view, from the photo that shows it best.

    Raises:
        Cancelled: by `run`, asked at every page.
    """
    flat = {page.name: _even(_whole(page), _COARSE) for page in sheet.pages}
    found: list[tuple[Identity, float]] = []
    for page in sheet.pages:
        run.check()
        within = [look for look in looks if look.ground.shows(page.corners).all()]
        if within:
            look = max(within, key=lambda one: one.ground.pixels_per_mm(page.middle))
            found.append((_identity(look, page, sheet, flat), _tone(look, page)))
    usual = max(float(np.median([tone for _, tone in found])), 1.0) if found else 1.0
    # Where hardly anything is drawn, white paper may be the page.
    return tuple(replace(one, missing=one.missing and abs(tone / usual - 1.0) > _OTHER_TONE) for one, tone in found)


def _tone(look: Look, page: PrintedPage) -> float:
    """How light the middle half of a page's place is."""
    x, y = _samples(page, _COARSE)
    rows, columns = (slice(side // 4, side - side // 4) for side in x.shape)
    return float(np.median(look.sampled(x[rows, columns], y[rows, columns])))


def _identity(look: Look, place: PrintedPage, sheet: PrintedSheet, flat: dict[str, Tone]) -> Identity:
    candidates = _candidates(look, place, sheet, flat)
    best = candidates[0]
    if best.alike < _NOTHING:
        return Identity(place.name, None, missing=True)
    others = [one for one in candidates[1:] if one.alike > best.alike - _LIKELY][: _MOST_LIKELY - 1]
    own = next(one for one in candidates if one.page is place and not one.upside_down)
    rivals = [best, *others, *([] if own in (best, *others) else [own])]
    blocks = list(_blocks(look, place, rivals))
    scores = [_lead(blocks, number, len(rivals)) for number in range(len(rivals))]
    first = max(range(len(rivals)), key=lambda number: scores[number])
    won = rivals[first]
    told = scores[first] >= _MARGIN
    if not told and won.page is not place:
        # As far as can be told it may be the right one.
        return Identity(place.name, None)
    return Identity(place.name, won.page.name if told else None, won.upside_down and told)


def _candidates(look: Look, place: PrintedPage, sheet: PrintedSheet, flat: dict[str, Tone]) -> list[_Candidate]:
    """All pages in both orientations, the likeliest first."""
    x, y = _samples(place, _COARSE)
    shown = _even(cv2.GaussianBlur(_shown(look, x, y, _COARSE), (0, 0), 0.7), _COARSE)
    more = round(_SEARCH / _COARSE)
    # Where the template's first sample lies on the page's own picture, in samples.
    start = (np.array([x[0, 0], y[0, 0]]) - place.corner) / _COARSE - 0.5
    found = []
    for page in sheet.pages:
        for turned in (False, True):
            picture = flat[page.name]
            picture = picture[::-1, ::-1] if turned else picture
            wide = cv2.copyMakeBorder(picture, more, more, more, more, cv2.BORDER_CONSTANT, value=0.0)
            row, column = round(start[1]), round(start[0])
            part = wide[row : row + shown.shape[0] + 2 * more, column : column + shown.shape[1] + 2 * more]
            if any(have < want for have, want in zip(part.shape, shown.shape, strict=True)):
                continue
            fits = cv2.matchTemplate(np.ascontiguousarray(part), shown, cv2.TM_CCOEFF_NORMED)
            at = np.unravel_index(int(fits.argmax()), fits.shape)
            off = np.array([more - at[1] + column - start[0], more - at[0] + row - start[1]]) * _COARSE
            found.append(_Candidate(page, turned, float(fits.max()), off))
    return sorted(found, key=lambda one: -one.alike)


def _blocks(look: Look, place: PrintedPage, rivals: Sequence[_Candidate]) -> Iterator[Array]:
    """How alike each rival is to the photo in every block in which two of them differ, (rivals,)."""
    step = min(_FINE, 1.0 / look.ground.pixels_per_mm(place.middle))
    x0, y0, x1, y1 = place.seen
    for left in np.arange(x0 + 1.0, x1 - _BLOCK, _BLOCK):
        for top in np.arange(y0 + 1.0, y1 - _BLOCK, _BLOCK):
            sides = (np.arange(low, low + _BLOCK, step) + step / 2 for low in (left, top))
            x, y = np.meshgrid(*sides)
            pictures = [_drawn(one, place, x, y, look) for one in rivals]
            if not _differ(pictures):
                continue
            wide = np.arange(-_STRAY, _BLOCK + _STRAY, step) + step / 2
            around_x, around_y = np.meshgrid(left + wide, top + wide)
            shown = _shown(look, around_x, around_y, step)
            yield np.array([_alike(shown, picture) for picture in pictures])


def _lead(blocks: Sequence[Array], number: int, count: int) -> float:
    """By how much a rival is ahead of the next best one, on the mean of the blocks."""
    ahead = [
        float(np.mean([block[number] - block[other] for block in blocks])) if blocks else 0.0
        for other in range(count) if other != number
    ]  # fmt: skip
    return min(ahead, default=1.0)


def _differ(pictures: Sequence[Tone]) -> bool:
    first = pictures[0]
    return any(_same(first, other) < _UNLIKE for other in pictures[1:])


def _same(one: Tone, other: Tone) -> float:
    bare = [float(picture.std()) < _BARE for picture in (one, other)]
    if any(bare):
        return float(all(bare))
    return float(np.corrcoef(one.ravel(), other.ravel())[0, 1])


def _alike(shown: Tone, picture: Tone) -> float:
    """The best correlation of a picture within what is shown around it; bare paper is like what shows nothing."""
    if float(picture.std()) < _BARE:
        return 1.0 - min(float(shown.std()) / (4.0 * _BARE), 1.0)
    return float(cv2.matchTemplate(shown, picture, cv2.TM_CCOEFF_NORMED).max())


def _drawn(one: _Candidate, place: PrintedPage, x: Array, y: Array, look: Look) -> Tone:
    """A rival's picture at places of the layout, as it lies there, as blurred as the photo."""
    scale = look.ground.pixels_per_mm(place.middle)
    across, down = x - one.off[0] - place.corner[0], y - one.off[1] - place.corner[1]
    if one.upside_down:
        height, width = one.page.picture.shape
        across, down = width * one.page.pitch - across, height * one.page.pitch - down
    return one.page.sampled(across + one.page.corner[0], down + one.page.corner[1], look.blur / scale)


def _shown(look: Look, x: Array, y: Array, step: float) -> Tone:
    """The photo at places of the layout ``step`` mm apart, without what is finer than that."""
    more = max(round(step * look.ground.pixels_per_mm(np.array([x.mean(), y.mean()]))), 1)
    if more == 1:
        return look.sampled(x, y)
    parts = (np.arange(more) + 0.5) / more - 0.5
    total = np.zeros(x.shape, np.float32)
    for dx in parts:
        for dy in parts:
            total += look.sampled(x + dx * step, y + dy * step)
    return np.asarray(total / more**2, np.float32)


def _whole(page: PrintedPage) -> Tone:
    """A page's own picture in coarse samples."""
    share = page.pitch / _COARSE
    small = cv2.resize(page.picture, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
    return np.asarray(cv2.GaussianBlur(small.astype(np.float32), (0, 0), 0.7), np.float32)


def _even(picture: Tone, step: float) -> Tone:
    """Without the light's slow changes."""
    return np.asarray(picture - cv2.GaussianBlur(picture, (0, 0), _LIGHT / step), np.float32)


def _samples(page: PrintedPage, step: float) -> tuple[Array, Array]:
    """Places all over what is seen of a page, but for its rim, where table or the next page may lie."""
    x0, y0, x1, y1 = page.seen
    rim = min(_RIM, (x1 - x0) / 4, (y1 - y0) / 4)
    x, y = np.meshgrid(np.arange(x0 + rim, x1 - rim, step), np.arange(y0 + rim, y1 - rim, step))
    return x, y
