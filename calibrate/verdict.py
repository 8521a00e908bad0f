"""What a measured scale means for the person: true or not, why it may be so, and what to do next."""

from __future__ import annotations

from enum import Enum

from calibrate.failures import Action, Remedy
from calibrate.papers import PAPERS, Paper
from calibrate.printer_scale import LEAST_SCALE, MOST_SCALE, MeasuredScale, correctable

_HEM = 60.0  # cm
_MARGINS = (3.0, 4.23, 5.0, 6.35)
_LETTER, _A4 = ((PAPERS[name].width, PAPERS[name].height) for name in ("letter", "a4"))
_SAME = 0.5  # mm
_SHIFTED = 2.0  # mm by which printers shift a page
_TIGHT = 0.8  # mm: printers stretch a page by some tenths of a per cent on the way
_LEAST_FITTED = 0.93  # a printer's margins take no more of a page that is made to fit another paper
_FLOOR = 0.0015  # two ratios closer than this are not told apart


class Verdict(Enum):
    """Whether a print is true within the tolerance."""

    TRUE = "true"
    RESCALED = "rescaled"
    NOT_SURE = "not sure"


def judge(scale: MeasuredScale, tolerance: float) -> Verdict:
    """The verdict: not sure when the tolerance lies inside the uncertainty of either direction."""
    off = (abs(scale.across - 1.0), abs(scale.down - 1.0))
    doubt = (scale.uncertainty_across, scale.uncertainty_down)
    if any(o - d > tolerance for o, d in zip(off, doubt, strict=True)):
        return Verdict.RESCALED
    if all(o + d <= tolerance for o, d in zip(off, doubt, strict=True)):
        return Verdict.TRUE
    return Verdict.NOT_SURE


def consequence(scale: MeasuredScale) -> str:
    """The worse direction, in sewing terms."""
    worst, name, doubt = max(
        (scale.across, "across", scale.uncertainty_across),
        (scale.down, "down", scale.uncertainty_down),
        key=lambda one: abs(one[0] - 1.0),
    )
    spread = f" (give or take {_HEM * doubt * 10:.0f} mm)" if _HEM * doubt * 10 >= 0.5 else ""
    return f"a {_HEM:.0f} cm hem would come out {_HEM * worst:.1f} cm {name} the page{spread}"


def _fit(page: tuple[float, float], sheet: tuple[float, float]) -> float:
    """The scale at which a page just fits on a sheet."""
    return min(sheet[0] / page[0], sheet[1] / page[1])


def known_ratios(width: float, height: float) -> tuple[tuple[float, str], ...]:
    """Scales that printers' settings give for a page of a size, each with the words for it."""
    return tuple((ratio, words) for ratio, _, words in _known(width, height))


def _known(width: float, height: float) -> tuple[tuple[float, float, str], ...]:
    """The same with the least margin that is left at each edge then, mm."""
    page = (width, height)
    fits = (
        (_LETTER, _A4, "a letter page shrunk to fit A4"),
        (_A4, _LETTER, "an A4 page shrunk to fit letter"),
    )
    # A page of one paper can't have been shrunk as one of another.
    ratios = [
        (_fit(own, other), 0.0, words)
        for own, other, words in fits
        if all(abs(side - its) < _SAME for side, its in zip(sorted(page), sorted(own), strict=True))
    ]
    for margin in _MARGINS:
        sheet = (width - 2 * margin, height - 2 * margin)
        ratios.append((_fit(page, sheet), margin, f"fit to the printable area with margins of {margin:g} mm"))
    return tuple((ratio, margin, f"{words} makes {100 * ratio:.2f} mm of 100 mm") for ratio, margin, words in ratios)


def likely_cause(
    scale: MeasuredScale, drawn: Paper, printed: Paper | None, margins: tuple[float, ...] = ()
) -> str | None:
    """Why a page came out as it did, where the ratio is a known one; None when nothing known would give it.

    ``drawn`` is the page's own size, ``printed`` the sheet it was found on where that differs. ``margins`` are how far
    the page's left, top, right and bottom edge lie inside the sheet's, mm, where the sheet was seen: a page that was
    made to fit lies within it, and touches the margins on two sides.
    """
    doubt = max(scale.uncertainty_across, scale.uncertainty_down, _FLOOR)
    if abs(scale.across - scale.down) > 2.0 * doubt:
        return None
    mean = (scale.across + scale.down) / 2
    if abs(mean - 1.0) < max(doubt, 0.003):
        return None
    if printed is not None:
        fitted = _fit((drawn.width, drawn.height), (printed.width, printed.height))
        if not _LEAST_FITTED * fitted - doubt <= mean <= fitted + doubt or not _borne_out(margins, None):
            return None
        return (
            f"the page was drawn for {drawn.label} and printed on {printed.label}; shrinking it to fit "
            f"makes {100 * fitted:.2f} mm of 100 mm, and less by the printer's margins"
        )
    near = sorted(
        (abs(ratio - mean), words)
        for ratio, margin, words in _known(drawn.width, drawn.height)
        if abs(ratio - mean) <= doubt and _borne_out(margins, margin)
    )
    if not near:
        return None
    return "; or ".join(words for _, words in near[:2])


def _borne_out(margins: tuple[float, ...], expected: float | None) -> bool:
    """Whether a page lies on its sheet as one does that was made to fit within ``expected`` margins; any, for None."""
    if not margins:
        return True
    left, top, right, bottom = margins
    tight = min((left + right) / 2, (top + bottom) / 2)
    if expected is None:
        return min(margins) > -_SHIFTED
    return min(margins) > expected - _SHIFTED and abs(tight - expected) < _TIGHT


def next_step(verdict: Verdict, kind: str, printer: MeasuredScale) -> Remedy:
    """What to do now.

    Args:
        verdict: of the page that was measured.
        kind: what it was measured against: a `ReferenceKind`'s value or ``ruler``.
        printer: what the printer does to an uncorrected page.
    """
    if verdict is Verdict.TRUE:
        return Remedy(Action.PRINT_PATTERN)
    if verdict is Verdict.RESCALED:
        if correctable(printer.across, printer.down):
            return Remedy(Action.PRINT_AT_FULL_SIZE_OR_KEEP)
        return Remedy(Action.PRINT_AT_FULL_SIZE, (f"{LEAST_SCALE:.2f}", f"{MOST_SCALE:.2f}"))
    if kind == "ruler":
        return Remedy(Action.PHOTOGRAPH_INSTEAD)
    return Remedy(Action.LAY_CARD if kind in {"sheet", "scanner"} else Action.TAKE_MORE_PHOTOS)


def kept_under(step: Remedy, printer: str) -> Remedy:
    """The step where the result is kept under that name already, so that there is nothing to keep."""
    if step.action is Action.PRINT_AT_FULL_SIZE_OR_KEEP:
        return Remedy(Action.PRINT_AT_FULL_SIZE_OR_AS_KEPT, (printer,))
    return step
