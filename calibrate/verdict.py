"""What a measured scale means for the person: true or not, why it may be so, and what to do next."""

from __future__ import annotations

from enum import Enum

from calibrate.papers import PAPERS, Paper
from calibrate.printer_scale import LEAST_SCALE, MOST_SCALE, MeasuredScale, correctable

KEEP_IT = "keep this result with --printer NAME and print with the same --printer"
"""What to do about a printer that can't be set right, where the result isn't kept yet."""

_HEM = 60.0  # cm
_MARGINS = (3.0, 4.23, 5.0, 6.35)
_LETTER, _A4 = ((PAPERS[name].width, PAPERS[name].height) for name in ("letter", "a4"))
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
    page = (width, height)
    ratios = [
        (_fit(_LETTER, _A4), "a letter page shrunk to fit A4 gives"),
        (_fit(_A4, _LETTER), "an A4 page shrunk to fit letter gives"),
    ]
    for margin in _MARGINS:
        sheet = (width - 2 * margin, height - 2 * margin)
        ratios.append((_fit(page, sheet), f"fit to the printable area with margins of {margin:g} mm gives"))
    return tuple((ratio, f"{words} {ratio:.4f}") for ratio, words in ratios)


def likely_cause(scale: MeasuredScale, drawn: Paper, printed: Paper | None) -> str | None:
    """Why a page came out as it did, where the ratio is a known one; None when nothing known would give it.

    ``drawn`` is the page's own size, ``printed`` the sheet it was found on where that differs.
    """
    doubt = max(scale.uncertainty_across, scale.uncertainty_down, _FLOOR)
    if abs(scale.across - scale.down) > 2.0 * doubt:
        return None
    mean = (scale.across + scale.down) / 2
    if abs(mean - 1.0) < max(doubt, 0.003):
        return None
    if printed is not None:
        fitted = _fit((drawn.width, drawn.height), (printed.width, printed.height))
        return (
            f"the page was drawn for {drawn.label} and printed on {printed.label}; shrunk to fit that gives "
            f"{fitted:.4f} less the printer's margins"
        )
    near = sorted(
        (abs(ratio - mean), words)
        for ratio, words in known_ratios(drawn.width, drawn.height)
        if abs(ratio - mean) <= doubt
    )
    if not near:
        return None
    return "; or ".join(words for _, words in near[:2])


def next_step(verdict: Verdict, kind: str, printer: MeasuredScale) -> str:
    """What to do now; ``printer`` is what it does to an uncorrected page."""
    if verdict is Verdict.TRUE:
        return "print the pattern with the same printer settings"
    if verdict is Verdict.RESCALED and not correctable(printer.across, printer.down):
        return (
            "set the print dialogue to 100 % (actual size) and print the test page again; what comes out so far "
            f"from true can't be corrected (only {LEAST_SCALE:.2f} to {MOST_SCALE:.2f} can)"
        )
    if verdict is Verdict.RESCALED:
        return (
            "set the print dialogue to 100 % (actual size) and print the test page again; if that is set "
            f"already, {KEEP_IT}"
        )
    if kind == "sheet":
        return "lay an expired, loyalty or library card in the outline, blank side up, and take the photo again"
    return "take two or three more photos, from right above, and check them together"
