"""A drawing at its true size, where the person knows it better than the file: scans, wrongly sized exports."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import isclose, isfinite

from tiling.failures import Action, InputUnfit, Remedy
from tiling.lengths import decimal_number, in_mm
from tiling.pattern import Finding, FindingKind, Pattern, Picture, SizeBasis
from tiling.reading.options import LARGEST_SCALE, SMALLEST_SCALE, ReadOptions, TrueDistance
from tiling.shapes import Affine, Box, Point

__all__ = ["at_true_size", "scale_stated"]

_SAME = 1e-6
_SLACK = 1.0
"""mm by which a point measured at a drawing's edge may lie beyond it."""


def at_true_size(pages: Sequence[Pattern], options: ReadOptions, gap: float) -> list[Pattern]:
    """The drawings, or pages of a PDF, scaled as asked; each says so where its size hangs on a picture.

    One that `alter` wrote lies at its true size already: the scale it was given then is not given to it again.

    Args:
        pages: as read, in the order in which they are laid below one another.
        options: the scale, or the distance that is known.
        gap: free space between them, mm.

    Raises:
        InputUnfit: the known distance doesn't lie on one of them, or one was given another scale before.
    """
    asked = options.scale
    if asked is None:
        return [_doubted(page) for page in pages]
    if isinstance(asked, TrueDistance):
        _check_on_one(asked, pages, gap)
        asked = asked.scale
    return [_scaled(page, asked, options) for page in pages]


def scale_stated(text: str | None) -> float:
    """What a drawing that was scaled before says of it; 1 where it says nothing that can be."""
    try:
        scale = float(text or "1")
    except ValueError:
        return 1.0
    return scale if isfinite(scale) and SMALLEST_SCALE <= scale <= LARGEST_SCALE else 1.0


def _scaled(page: Pattern, scale: float, options: ReadOptions) -> Pattern:
    if not isclose(page.scale, 1.0, rel_tol=0.0, abs_tol=_SAME):
        if any(isclose(scale, same, rel_tol=0.0, abs_tol=_SAME) for same in (1.0, page.scale)):
            return page
        raise InputUnfit(
            f"{page.source}: was scaled by {decimal_number(page.scale, 6)} already when it was altered, and "
            f"{decimal_number(scale, 6)} is another scale",
            Remedy(Action.LEAVE_SCALE_OUT),
        )
    size_known = {FindingKind.UNIT_UNUSUAL}
    if isinstance(options.scale, TrueDistance):
        size_known.add(FindingKind.SIZE_ASSUMED)
    move = Affine.scale(scale)
    return replace(
        page,
        size=move.box(Box(0.0, 0.0, page.size.width, page.size.height)).size,
        marks=tuple(mark.moved(move) for mark in page.marks),
        sheets=tuple(
            replace(sheet, place=move.box(sheet.place), to_layout=move @ sheet.to_layout) for sheet in page.sheets
        ),
        scale=scale,
        size_basis=SizeBasis.GIVEN,
        findings=tuple(finding for finding in page.findings if finding.kind not in size_known),
    )


def _check_on_one(distance: TrueDistance, pages: Sequence[Pattern], gap: float) -> None:
    """Refuse a distance from one drawing to another, or to beyond all: it would scale them by nothing they hold."""
    top = 0.0
    for page in pages:
        place = Box(0.0, top, page.size.width, top + page.size.height).grown(_SLACK)
        if place.holds(distance.start) and place.holds(distance.end):
            return
        top += page.size.height + gap
    size = Box.around(Box(0.0, 0.0, page.size.width, page.size.height) for page in pages)
    assert size is not None
    ends = " and ".join(_place(point) for point in (distance.start, distance.end))
    raise InputUnfit(
        f"{pages[0].source}: the points {ends} (from the left, from the top) do not lie on the same drawing or page; "
        f"as it stands it is {in_mm(size.width)} x {in_mm(top - gap)} large",
        Remedy(Action.MEASURE_ON_DRAWING),
    )


def _place(point: Point) -> str:
    return f"{in_mm(point.x)}, {in_mm(point.y)}"


def _doubted(page: Pattern) -> Pattern:
    """The page, with a finding where nothing but pictures is drawn: a scan is as large as its program thought."""
    pictures = any(isinstance(mark, Picture) for mark in page.marks)
    if not pictures or any(not isinstance(mark, Picture) and mark.reach().width > 0 for mark in page.marks):
        return page
    size = f"{in_mm(page.size.width)} x {in_mm(page.size.height)}"
    text = f"There is nothing but a picture; whether it is as large as the paper pattern was ({size}) must be checked"
    return replace(
        page, findings=(*page.findings, Finding(FindingKind.PICTURE_ONLY, text, remedy=Remedy(Action.GIVE_TRUE_LENGTH)))
    )
