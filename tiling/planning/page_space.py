"""A page of the PDF: its user space, the printer's correction on it, and the names of the forms it shows."""

from __future__ import annotations

from math import ceil

from calibrate.printer_scale import PageCorrection
from tiling.lengths import MM_PER_POINT
from tiling.planning.plan import PrintPlan
from tiling.shapes import Affine, Size

__all__ = [
    "BLENDING",
    "DRAWING_FORM",
    "HALO_FORM",
    "MARKS_FIRST",
    "MARKS_FORM",
    "MARKS_LAST",
    "MARKS_TAG",
    "PAPER_FIRST",
    "about_centre",
    "page_unit",
    "to_units",
]

MARKS_FORM, HALO_FORM, DRAWING_FORM = "/PsMarks", "/PsHalo", "/PsDraw"
"""A page shows our own marks in the first, each part of the drawing in the last with the part's number after it."""

MARKS_TAG = "/PsOwn"
"""Around all of ours that a tile's page shows: `/PsOwn BMC … EMC` (ISO 32000-1, 14.6)."""

BLENDING = {"/PsLighter": "/Lighten", "/PsDarker": "/Multiply"}
"""Graphics states and their blend modes (ISO 32000-1, 11.3.5.2), for the halo of our marks and for the marks."""

_LONGEST_SIDE = 14_400
"""Units a page may be long (ISO 32000-1, annex C.2); a longer one gets a larger unit."""

MARKS_FIRST = f"{MARKS_TAG} BMC {MARKS_FORM} Do EMC"
"""How a page begins where the drawing can hide nothing: plain ink under plain ink, which every printer shows alike."""

PAPER_FIRST = f"{MARKS_TAG} BMC q 1 g 0 0 {_LONGEST_SIDE} {_LONGEST_SIDE} re f Q EMC"
"""How such a page begins: what is painted on bare paper blends with nothing, only with paint (11.4.7)."""

MARKS_LAST = f"{MARKS_TAG} BMC q /PsLighter gs {HALO_FORM} Do Q q /PsDarker gs {MARKS_FORM} Do Q EMC"
"""How a page ends where it could: ground that is dark is lightened around our marks, then they darken what is there."""


def page_unit(size: Size) -> float:
    """The UserUnit of a page of a size in mm: how many points its unit is, 1 unless a side passes 14,400."""
    longest = max(size.width, size.height) / MM_PER_POINT
    return float(ceil(longest / _LONGEST_SIDE - 1e-9)) if longest > _LONGEST_SIDE else 1.0


def about_centre(page: Size, correction: PageCorrection) -> Affine:
    """From a page as it shall come out of the printer to the page as drawn: scaled about its middle, mm."""
    x, y = page.width / 2, page.height / 2
    return Affine.shift(x, y) @ Affine.scale(correction.across, correction.down) @ Affine.shift(-x, -y)


def to_units(plan: PrintPlan) -> Affine:
    """From mm on a page, y down, to the page's user space."""
    scale = 1 / (MM_PER_POINT * page_unit(plan.page_size))
    return Affine(scale, 0.0, 0.0, -scale, 0.0, plan.page_size.height * scale)
