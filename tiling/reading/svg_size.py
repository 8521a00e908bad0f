"""The real size of an SVG drawing: from width, height and viewBox to millimetres.

Programs have written px at 72, 90 and 96 to the inch, so a size in px is never taken without saying so.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum
from math import hypot, isclose

from lxml import etree

from tiling.failures import Action, Remedy
from tiling.lengths import MM_PER_INCH, decimal_number
from tiling.pattern import Finding, FindingKind, SizeBasis
from tiling.reading.findings import rate_without_effect
from tiling.reading.svg_units import CSS_PX_PER_INCH, PER_INCH, ElementFault, numbers, split_unit
from tiling.shapes import Affine, Box, Size

__all__ = ["RealSize", "ViewFit", "fit_into", "real_size", "view_box"]

_OTHERS = (72.0, 90.0)
_UNIT_IS_MM = MM_PER_INCH
"""The rate at which a unit is a millimetre."""
_USUAL_RATES = (72.0, 72.27, 90.0, 96.0, 100.0, 300.0, 600.0, 1200.0)
"""Units to the inch that programs draw in, besides decimal parts of a millimetre and an inch (from memory)."""
_ROUNDED = 0.005
"""Share by which programs round a view box or a size off."""
_EXACT = 1e-6
"""Share of a view box's size that may be lost in reckoning with where it begins: 0.001 mm of a metre."""


class ViewFit(Enum):
    """How a view box is fitted into its viewport when their proportions differ."""

    MEET = "meet"
    SLICE = "slice"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class RealSize:
    """How the drawing's user units become mm.

    Attributes:
        sheet: the drawing's size in mm, or None when the file says nothing at all (the drawing's own extent is taken).
        to_sheet: from user units to mm on the sheet.
        view: width and height of the viewport in user units, for per cent lengths.
        px_per_inch: what was taken for a px in the file, None when nothing was assumed.
    """

    sheet: Size | None
    to_sheet: Affine
    view: Size
    basis: SizeBasis
    px_per_inch: float | None
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class _Side:
    """One of width and height as written: in mm, or in px, or neither."""

    mm: float | None = None
    px: float | None = None

    def millimetres(self, px_per_inch: float) -> float | None:
        return self.mm if self.px is None else self.px * MM_PER_INCH / px_per_inch


def view_box(element: etree._Element) -> Box | None:
    """The element's viewBox in user units, None when it has none or it is unreadable.

    Raises:
        ElementFault: it has no area, lies too far off, or has numbers that are not finite.
    """
    text = element.get("viewBox")
    if text is None:
        return None
    values = numbers(text)
    if len(values) != 4:
        return None
    x, y, width, height = values
    if width <= 0 or height <= 0:
        raise ElementFault(f"its viewBox is {width:g} by {height:g} and shows nothing")
    box = Box(x, y, x + width, y + height)
    if not (isclose(box.width, width, rel_tol=_EXACT) and isclose(box.height, height, rel_tol=_EXACT)):
        raise ElementFault(f"its viewBox begins at {x:g}, {y:g}, too far off for a size of {width:g} by {height:g}")
    return box


def fit_into(view: Box, port: Box, rule: str | None) -> Affine:
    """The move that fits `view` into `port` by a preserveAspectRatio value (SVG 2, section 8.6)."""
    words = (rule or "xMidYMid meet").replace("defer", " ").split()
    align = words[0] if words else "xMidYMid"
    fit = ViewFit.NONE if align == "none" else ViewFit.SLICE if "slice" in words else ViewFit.MEET
    sx, sy = port.width / view.width, port.height / view.height
    if fit is not ViewFit.NONE:
        sx = sy = min(sx, sy) if fit is ViewFit.MEET else max(sx, sy)
    share = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    x = port.x0 + (port.width - view.width * sx) * share.get(align[1:4], 0.5) if fit is not ViewFit.NONE else port.x0
    y = port.y0 + (port.height - view.height * sy) * share.get(align[5:8], 0.5) if fit is not ViewFit.NONE else port.y0
    return Affine.shift(x, y) @ Affine.scale(sx, sy) @ Affine.shift(-view.x0, -view.y0)


def real_size(root: etree._Element, px_per_inch: float | None) -> RealSize:
    """The drawing's size in mm.

    Args:
        root: the outer ``<svg>``.
        px_per_inch: what the person says a px is worth; None takes CSS's 96 and reports it.

    Raises:
        ElementFault: the size is zero or negative.
    """
    ppi = px_per_inch or CSS_PX_PER_INCH
    width, height = _side(root.get("width"), "width"), _side(root.get("height"), "height")
    view = view_box(root)
    w, h = width.millimetres(ppi), height.millimetres(ppi)
    if view is not None:
        unit = MM_PER_INCH / ppi
        if w is None and h is None:
            w, h = view.width * unit, view.height * unit
        elif h is None and w is not None:
            h = w * view.height / view.width
        elif w is None and h is not None:
            w = h * view.width / view.height
    stated = (width.mm is not None or height.mm is not None) and width.px is None and height.px is None
    sheet = Size(w, h) if w is not None and h is not None else None
    if view is None:
        # Without a viewBox a user unit is a px whatever unit the size is written in.
        to_sheet = Affine.scale(MM_PER_INCH / ppi)
        port = Size(sheet.width * ppi / MM_PER_INCH, sheet.height * ppi / MM_PER_INCH) if sheet else Size(300.0, 150.0)
        in_px = not stated or _draws_in_px(root)
    else:
        assert sheet is not None
        to_sheet = fit_into(view, Box(0.0, 0.0, sheet.width, sheet.height), root.get("preserveAspectRatio"))
        port = view.size
        in_px = not stated
    size = RealSize(sheet, to_sheet, port, SizeBasis.STATED, None)
    if not in_px:
        odd = _unusual_unit(view, sheet, to_sheet) if view is not None and sheet is not None else ()
        idle = () if px_per_inch is None else (rate_without_effect("The drawing"),)
        return replace(size, findings=(*odd, *idle))
    if px_per_inch is not None:
        return replace(size, basis=SizeBasis.GIVEN, px_per_inch=px_per_inch)
    return replace(size, basis=SizeBasis.PIXELS, px_per_inch=ppi, findings=(_assumed(sheet, width, stated),))


def _side(text: str | None, name: str) -> _Side:
    parsed = split_unit(text) if text and text.strip() != "auto" else None
    if parsed is None:
        return _Side()
    value, unit = parsed
    if unit == "%":
        return _Side()
    if value <= 0:
        raise ElementFault(f"its {name} is {value:g}{unit}, so there is nothing to print; set its real size")
    if unit in PER_INCH:
        return _Side(mm=value * (MM_PER_INCH / PER_INCH[unit]))
    return _Side(px=value * {"em": 16.0, "rem": 16.0, "ex": 8.0}.get(unit, 1.0))


def _draws_in_px(root: etree._Element) -> bool:
    """Whether anything inside is placed by plain numbers, so that its size hangs on what a px is."""
    places = ("x", "y", "x1", "y1", "x2", "y2", "cx", "cy", "r", "rx", "width", "height")
    for element in root.iterdescendants():
        if element.get("d") or element.get("points") or element.get("transform"):
            return True
        for name in places:
            parsed = split_unit(element.get(name) or "")
            if parsed and parsed[0] and parsed[1] in {"", "px"}:
                return True
    return False


def _unusual_unit(view: Box, sheet: Size, to_sheet: Affine) -> tuple[Finding, ...]:
    """A finding where a unit is no length that programs draw in: then the size was set by hand, or to fit a page."""
    unit = hypot(to_sheet.a, to_sheet.b)
    decimal = [base * 10.0**power for base in (1.0, MM_PER_INCH) for power in range(-6, 3)]
    usual = [*decimal, *(MM_PER_INCH / rate for rate in _USUAL_RATES)]
    if any(isclose(unit, one, rel_tol=_ROUNDED) for one in usual):
        return ()
    text = (
        f"The drawing's size of {sheet.width:.1f} × {sheet.height:.1f} mm lies over {view.width:g} × {view.height:g} "
        f"of its units, so that one is {unit:.4g} mm. Drawn with 1 unit = 1 mm, it would be {view.width:.1f} × "
        f"{view.height:.1f} mm"
    )
    return (Finding(FindingKind.UNIT_UNUSUAL, text, remedy=Remedy(Action.SCALE_IF, (decimal_number(1 / unit, 6),))),)


def _assumed(sheet: Size | None, width: _Side, stated: bool) -> Finding:
    """What was taken for a px, and what the size would be otherwise."""
    ppi = CSS_PX_PER_INCH
    taken = f"{ppi:g} px were taken as 1 inch (the rule for the web)"
    if sheet is None:
        rates = tuple(f"{other:g}" for other in (*_OTHERS, _UNIT_IS_MM))
        text = f"The drawing states no size; {taken}"
        return Finding(FindingKind.SIZE_ASSUMED, text, remedy=Remedy(Action.TRY_RATES, rates))
    if stated:
        others = " and ".join(f"{ppi / other:.3f} times as large at {other:g}" for other in _OTHERS)
        text = (
            f"The sheet is stated in real units but its lines are drawn in px and there is no viewBox; {taken}."
            f" They would be {others}"
        )
        return Finding(FindingKind.SIZE_ASSUMED, text, remedy=Remedy(Action.GIVE_RATE, ("if so",)))
    sizes = [
        f"{sheet.width * ppi / other:.1f} × {sheet.height * ppi / other:.1f} mm at {other:g}"
        for other in (*_OTHERS, _UNIT_IS_MM)
    ]
    said = "The drawing states no size, only a viewBox" if width.px is None else "The drawing's size is in px"
    text = (
        f"{said}; {taken}, which makes it {sheet.width:.1f} × {sheet.height:.1f} mm."
        f" It would be {', '.join(sizes[:-1])}, and {sizes[-1]}, where 1 unit = 1 mm"
    )
    return Finding(FindingKind.SIZE_ASSUMED, text, remedy=Remedy(Action.GIVE_RATE, ("if that is right",)))
