"""Closed rings that are no piece: frames, test squares, keys of lines, rulers."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import hypot

import numpy as np

from tiling.recognition.likeness import holds, likeness
from tiling.recognition.scene import Scene
from tiling.recognition.strands import Ring, Strand
from tiling.recognition.texts import TextSeen
from tiling.recognition.understanding import AsideKind, Guess
from tiling.words import Words

__all__ = ["aside"]


def aside(ring: Ring, rings: Sequence[Ring], scene: Scene) -> Guess[AsideKind] | None:
    """What an upright rectangle is, if it is no piece.

    Args:
        ring: any ring.
        rings: all rings large enough for a piece.
        scene: the drawing.
    """
    if not _rectangular(ring):
        return None
    square = _test_square(ring, scene)
    if square is not None:
        return square
    inside = [other for other in rings if other is not ring and holds(ring, other)]
    outer = [one for one in inside if not any(holds(other, one) for other in inside if other is not one)]
    if outer:
        frame = _frame(ring, outer, scene)
        if frame is not None or (len(outer) == 1 and likeness(ring, outer[0]) is not None):
            return frame
    lines = [s for s in scene.strands if not s.closed and ring.box.covers(s.box) and s.mark not in ring.marks]
    return _legend(scene.texts_in(ring), lines, scene.words) or (None if outer else _ruler(lines))


def _frame(ring: Ring, outer: Sequence[Ring], scene: Scene) -> Guess[AsideKind] | None:
    """Whether a rectangle frames the rings in it: it goes around all that is drawn, or around several pieces."""
    if len(outer) == 1 and likeness(ring, outer[0]) is not None:
        return None
    around_all = scene.ink is not None and ring.box.grown(2.0).covers(scene.ink)
    is_sheet = abs(ring.box.width - scene.size.width) < 2 and abs(ring.box.height - scene.size.height) < 2
    titled = [one for one in outer if any(_names_piece(text, scene.words) for text in scene.texts_in(one))]
    plain = [one for one in outer if not one.dashed]
    if len(titled) > 1 or ((around_all or is_sheet) and plain and (len(plain) > 1 or titled or is_sheet)):
        return Guess(AsideKind.FRAME, 0.95, "a rectangle around other outlines")
    if around_all and plain and plain[0].area > 0.25 * ring.area:
        return Guess(AsideKind.FRAME, 0.75, "a rectangle around an outline and all else")
    return None


def _names_piece(text: TextSeen, words: Words) -> bool:
    return bool(words.named(text.text, "piece")) or words.says(text.text, "cut")


def _rectangular(ring: Ring) -> bool:
    """Whether it is an upright rectangle."""
    return ring.box.width * ring.box.height < 1.003 * ring.area


def _test_square(ring: Ring, scene: Scene) -> Guess[AsideKind] | None:
    sides = (ring.box.width, ring.box.height)
    if min(sides) < 8 or max(sides) > 320:
        return None
    for text, lengths in scene.lengths_said:
        if not ring.box.grown(4.0 + text.size).meets(text.box):
            continue
        wordy = scene.words.says(text.text, "test")
        said = [length for length in lengths if any(abs(length - side) < 0.06 * side for side in sides)]
        if said and (wordy or len(lengths) > 1 or len(text.text) < 24):
            return Guess(AsideKind.TEST_SQUARE, 0.95 if wordy else 0.85, f"the text '{text.text}'")
    return None


def _legend(texts: Sequence[TextSeen], lines: Sequence[Strand], words: Words) -> Guess[AsideKind] | None:
    if any(words.says(text.text, "key") and len(text.text) < 30 for text in texts) and lines:
        return Guess(AsideKind.LEGEND, 0.95, "the word for a key of lines")
    swatches = [
        line
        for line in lines
        if line.straight
        and line.length < 120
        and any(
            0 < text.box.x0 - line.box.x1 < 25 and text.box.y0 - 4 < line.box.centre.y < text.box.y1 + 4
            for text in texts
        )
    ]
    if len({line.look for line in swatches}) > 1 and len(swatches) > 2:
        return Guess(AsideKind.LEGEND, 0.85, "short lines, each with a text beside it")
    return None


def _ruler(lines: Sequence[Strand]) -> Guess[AsideKind] | None:
    """Ticks at even distances along a line."""
    ticks = sorted((s.box.centre.x, s.box.centre.y) for s in lines if s.straight and s.length < 40)
    if len(ticks) < 8:
        return None
    steps = np.array([hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(ticks)])
    even = np.abs(steps - np.median(steps)) < 0.05 * np.median(steps)
    return Guess(AsideKind.RULER, 0.85, "ticks at even distances") if even.mean() > 0.8 else None
