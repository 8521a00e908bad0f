"""Measure the printer: photos of the printed test square in, a scale with its uncertainty or a refusal out."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from calibrate.border import BareBorder, read_border
from calibrate.budget import COVERAGE, Contribution, combined
from calibrate.failures import Reason, ReferenceUnknownError, Refusal
from calibrate.flatbed import is_scan
from calibrate.grounds import grounds, other_papers, paper_question, read_as
from calibrate.papers import PAPERS, paper_of
from calibrate.pooling import distinct, pooled
from calibrate.printer_scale import MeasuredScale, PrinterScale
from calibrate.readings import ScaleReading, read_card, read_coin, read_sheet
from calibrate.references import CARD, Reference, ReferenceKind, coin, coins
from calibrate.result import Measurement
from calibrate.run import Run
from calibrate.scans import read_scan
from calibrate.shape import WHOLE
from calibrate.survey import Survey, survey
from calibrate.verdict import consequence, judge, likely_cause, next_step

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calibrate.evidence import Evidence
    from calibrate.photo import Photo

TOLERANCE = 0.005
RULER = 0.5
"""What a ruler is read to on the test square, mm (expanded, k=2)."""
OTHERWISE = "what the sheet says otherwise"
"""The name of the doubt whether a card or coin is right where the sheet says another scale."""
_AGREE = 3.0  # standard uncertainties
_TRIMMED = 0.015  # standard uncertainty
_SAME_COIN = 2.0  # the same where another coin may be hardly larger
_PLAIN = PrinterScale()


class Stage(StrEnum):
    """What is done with each photo, in this order; the value tells of it."""

    TARGET = "finding the marks"
    SHEET = "reading the sheet's edges"
    THING = "reading the card or coin"


@dataclass(frozen=True, slots=True)
class Options:
    """How to measure: ``reference`` is ``sheet``, ``card``, ``coin:NAME`` or None for the best one that is seen.

    ``sheet`` is the sheet's true size where someone measured it; ``tolerance`` the largest error that still
    counts as true, as a part of the scale.
    """

    reference: str | None = None
    tolerance: float = TOLERANCE
    sheet: Reference | None = None


@dataclass(frozen=True, slots=True, eq=False)
class _Sight:
    """One photo's part in the answer."""

    survey: Survey
    reading: ScaleReading
    sheet: ScaleReading | Refusal


def measure(photos: Sequence[Photo], options: Options | None = None, run: Run = Run()) -> Measurement | Refusal:
    """Measure the printer from one or several photos of the same page.

    Args:
        photos: at least one, each of the whole page.
        options: what to measure against, and the tolerance.
        run: told of three stages for each photo, and asked all the while whether to go on.

    Raises:
        ReferenceUnknownError: ``options.reference`` is none that is known.
        ValueError: there are no photos.
        Cancelled: the run is to end.
    """
    if not photos:
        text = "no photo to measure"
        raise ValueError(text)
    options = options or Options()
    wanted = wanted_reference(options.reference)
    sights: list[_Sight] = []
    refusals: list[Refusal] = []
    told = distinct(photos)
    for number, photo in enumerate(told):
        found = _sight(photo, wanted, options, _for_one(run, number, len(told)))
        if isinstance(found, _Sight):
            sights.append(found)
        else:
            refusals.append(_named(found, photo, len(told)))
    if not sights:
        return refusals[0]
    return _together(sights, refusals, options)


def _for_one(run: Run, number: int, count: int) -> Run:
    """The run of one of `count` photos, the first being number 0: its stages are told as a part of all."""

    def tell(what: str, done: int, total: int) -> None:
        run.tell(what, number * total + done, count * total)

    return Run(tell, run.cancelled)


def wanted_reference(name: str | None) -> Reference | ReferenceKind | None:
    """The reference of a name: ``sheet``, ``card``, ``coin:NAME`` or a coin's name alone; None for the best one seen.

    Raises:
        ReferenceUnknownError: it is none that is known.
    """
    if name is None:
        return None
    if name == "sheet":
        return ReferenceKind.SHEET
    if name == "card":
        return CARD
    bare = name.removeprefix("coin:")
    if bare == name and name not in coins():
        message = f"no reference is called {name!r}: give sheet, card or a coin, such as coin:1eur"
        raise ReferenceUnknownError(message)
    return coin(bare)


def _named(refusal: Refusal, photo: Photo, photos: int) -> Refusal:
    if photos == 1:
        return refusal
    return replace(refusal, detail=f"{photo.name}: {refusal.detail}" if refusal.detail else photo.name)


def _sight(photo: Photo, wanted: Reference | ReferenceKind | None, options: Options, run: Run) -> _Sight | Refusal:
    """Read one photo against the reference wanted, or against the best one."""
    run.step(Stage.TARGET, 0, len(Stage))
    found = survey(photo, run)
    if isinstance(found, Refusal):
        return found
    run.step(Stage.SHEET, 1, len(Stage))
    sheet = read_sheet(found, options.sheet, run)
    run.step(Stage.THING, 2, len(Stage))
    answer = _against(found, sheet, wanted, run)
    if isinstance(answer, Refusal) and answer.seen is None:
        return replace(answer, seen=_evidence(found, answer, sheet))
    return answer


def _against(
    found: Survey, sheet: ScaleReading | Refusal, wanted: Reference | ReferenceKind | None, run: Run
) -> _Sight | Refusal:
    """A mapped photo's answer by the reference wanted, or by the best one."""
    if wanted is ReferenceKind.SHEET:
        return _Sight(found, sheet, sheet) if isinstance(sheet, ScaleReading) else sheet
    if isinstance(wanted, Reference):
        if wanted.kind is ReferenceKind.COIN:
            reading = read_coin(found, wanted, sheet, run)
        else:
            reading = read_card(found, wanted, run)
    else:
        reading = read_card(found, CARD, run)
        if isinstance(reading, Refusal) and is_scan(found):
            reading = read_scan(found)
        if isinstance(reading, Refusal):
            return _by_sheet(found, sheet, reading)
    if isinstance(reading, Refusal):
        return reading
    apart = _unlike(reading, sheet)
    if apart is None:
        return _Sight(found, _between(reading, sheet), sheet)
    if isinstance(sheet, ScaleReading):
        for other in other_papers(sheet, sheet):
            lying = read_as(sheet, other)
            if _unlike(reading, lying) is None:
                return _Sight(found, _between(reading, lying), lying)
    return apart


def _by_sheet(found: Survey, sheet: ScaleReading | Refusal, thing: Refusal) -> _Sight | Refusal:
    """The sheet's own answer where no card could be used; a card that lies there is not passed over in silence."""
    if isinstance(sheet, Refusal):
        return sheet if thing.reason is Reason.NO_REFERENCE else thing
    if thing.reason is not Reason.NO_REFERENCE:
        note = f"the card was not used: {thing.detail}"
        sheet = replace(sheet, note=f"{sheet.note}; {note}" if sheet.note else note)
    return _Sight(found, sheet, sheet)


def _between(reading: ScaleReading, sheet: ScaleReading | Refusal) -> ScaleReading:
    """A card's or coin's reading with what the sheet says otherwise as a doubt of its own.

    The truth lies between what the two say, or as far on the other side, and the nearer to the card the likelier: a
    triangle (GUM 4.3.9).
    """
    across = down = 0.0
    if isinstance(sheet, ScaleReading):
        across, down = abs(reading.across / sheet.across - 1.0), abs(reading.down / sheet.down - 1.0)
    spread = math.sqrt(6.0)
    return replace(reading, own=(*reading.own, Contribution(OTHERWISE, across / spread, down / spread)))


def _unlike(reading: ScaleReading, sheet: ScaleReading | Refusal) -> Refusal | None:
    """That a card or coin and the sheet disagree by more than both allow: one is not what it is taken for."""
    if isinstance(sheet, Refusal):
        return None
    a, b = np.array([reading.across, reading.down]), np.array([sheet.across, sheet.down])
    # The sheet's own doubt ends at its tolerance, root three of its standard uncertainties away.
    coin_named = reading.reference.kind is ReferenceKind.COIN
    agree = _SAME_COIN if coin_named else _AGREE
    # Only a whole sheet tells coins apart that differ by 4 %.
    sizes = [c for c in sheet.shared if not (coin_named and c.name == WHOLE)]
    bounds = np.sqrt(3.0) * np.array(combined(tuple(sizes)))
    allowed = agree * np.hypot(reading.doubt, combined(sheet.own)) + bounds
    if (np.abs(a - b) / b <= allowed).all():
        return None
    if coin_named:
        wide = reading.reference.width * float((b / a).mean())
        return Refusal(
            Reason.OTHER_SIZE,
            f"by the sheet's edges the coin is about {wide:.1f} mm wide, not {reading.reference.width:.2f} as "
            f"{reading.reference.label} is",
        )
    return Refusal(
        Reason.REFERENCES_DISAGREE,
        f"by {reading.reference.label} the square is {100 * a[0]:.2f} mm across and {100 * a[1]:.2f} mm down, "
        f"by {sheet.reference.label} {100 * b[0]:.2f} mm and {100 * b[1]:.2f} mm",
    )


def _together(sights: list[_Sight], refusals: list[Refusal], options: Options) -> Measurement | Refusal:
    """Combine the photos: their own doubts average out, the reference's stays."""
    apart = _apart(sights)
    if apart is not None:
        return apart
    best = min(sights, key=lambda s: sum(s.reading.doubt)).reading.reference.kind
    used = [s for s in sights if s.reading.reference.kind is best]
    readings = [s.reading for s in used]
    mean = pooled(readings)
    u_across, u_down = combined(mean.budget)
    across, down, budget, weights = mean.across, mean.down, mean.budget, mean.weights
    skew = float(np.average([r.skew_degrees for r in readings], weights=weights.mean(axis=1)))
    notes = [s.reading.note for s in sights if s.reading.note]
    combined_scale = MeasuredScale(across, down, COVERAGE * u_across * across, COVERAGE * u_down * down)
    return _answer(
        _Combined(combined_scale, skew, used, budget, tuple(dict.fromkeys(notes)), tuple(refusals)), options.tolerance
    )


def _apart(sights: list[_Sight]) -> Refusal | None:
    """Photos of different pages, or whose readings contradict each other."""
    first = sights[0]
    for other in sights[1:]:
        if other.survey.target.message != first.survey.target.message:
            return Refusal(Reason.PHOTOS_DISAGREE, "they show different test pages")
        a, b = first.reading, other.reading
        same = a.reference.kind is b.reference.kind
        doubt = [combined(r.own if same else r.budget) for r in (a, b)]
        allowed = _AGREE * np.hypot(doubt[0], doubt[1]) + 2e-4
        apart = np.abs(np.array([a.across - b.across, a.down - b.down]))
        if (apart > allowed).any():
            return Refusal(
                Reason.PHOTOS_DISAGREE,
                f"in {first.survey.photo.name} the square is {100 * a.across:.2f} mm across and {100 * a.down:.2f} mm "
                f"down, in {other.survey.photo.name} {100 * b.across:.2f} mm and {100 * b.down:.2f} mm",
            )
    return None


@dataclass(frozen=True, slots=True, eq=False)
class _Combined:
    """What the photos used give together; the rest are left out."""

    scale: MeasuredScale
    skew: float
    used: list[_Sight]
    budget: tuple[Contribution, ...]
    notes: tuple[str, ...]
    left_out: tuple[Refusal, ...]


def _answer(found: _Combined, tolerance: float) -> Measurement:
    scale, first = found.scale, found.used[0]
    reading, message = first.reading, first.survey.target.message
    corrected = message.correction
    printer = scale.without(corrected)
    verdict = judge(scale, tolerance)
    drawn = paper_of(message.width, message.height)
    sheet = first.sheet
    lying = sheet.paper if isinstance(sheet, ScaleReading) else None
    others = other_papers(reading, scale)
    asked = (paper_question(reading.paper, others),) if others and reading.paper is not None else ()
    return Measurement(
        scale=scale,
        printer=printer,
        skew_degrees=found.skew,
        verdict=verdict,
        tolerance=tolerance,
        cause=likely_cause(printer, drawn, None if drawn.shared or lying == drawn else lying, _margins(first, scale)),
        consequence=consequence(scale),
        next_step=next_step(verdict, reading.reference.kind.value, printer),
        reference=reading.reference.name,
        reference_label=reading.reference.label,
        corrected_for=corrected,
        residual_px=float(np.mean([s.survey.fit.residual for s in found.used])),
        budget=found.budget,
        paper=lying or (drawn if message.whole_sheet and not drawn.shared else None),
        border=_border(found.used, scale),
        notes=(*found.notes, *asked),
        rests_on=grounds(reading, sheet),
        otherwise=others,
        left_out=found.left_out,
        evidence=tuple(_evidence(s.survey, s.reading, s.sheet) for s in found.used),
    )


def _margins(sight: _Sight, scale: MeasuredScale) -> tuple[float, ...]:
    """How far the page's edges lie inside the sheet's, mm (less than 0: outside); none where the sheet was not read."""
    if isinstance(sight.sheet, Refusal):
        return ()
    field, edges = sight.survey.target.field, sight.sheet.edges
    middle = {side: edge.points.mean(axis=0) for side, edge in edges.items()}
    return (
        -float(middle["left"][0]) * scale.across,
        -float(middle["top"][1]) * scale.down,
        (float(middle["right"][0]) - field.width) * scale.across,
        (float(middle["bottom"][1]) - field.height) * scale.down,
    )


def _border(sights: list[_Sight], scale: MeasuredScale) -> BareBorder:
    for sight in sights:
        if isinstance(sight.sheet, ScaleReading) and not _may_be_trimmed(sight.sheet):
            target, mapping = sight.survey.target, sight.survey.mapping
            return read_border(sight.survey.photo.pixels, mapping, target, sight.sheet.edges, scale)
    return BareBorder()


def _may_be_trimmed(sheet: ScaleReading) -> bool:
    """Whether so much may be cut off the sheet that its edges are none that the printer left a border at."""
    return any(c.name == WHOLE and max(c.across, c.down) > _TRIMMED for c in sheet.shared)


def _evidence(survey: Survey, reading: ScaleReading | Refusal, sheet: ScaleReading | Refusal) -> Evidence:
    """What a picture shows of a photo: the edges measured by, the sheet's, and what was passed over."""
    read = [one for one in (reading, sheet) if isinstance(one, ScaleReading)]
    outlines = {name: line for one in read for name, line in one.outlines.items()}
    return survey.evidence(outlines, sheet.passed if isinstance(sheet, ScaleReading) else ())


def measured_by_ruler(
    across_mm: float, down_mm: float, tolerance: float = TOLERANCE, corrected: PrinterScale = _PLAIN
) -> Measurement:
    """The same answer from a ruler laid on the test square's sides, mm; the ruler's own uncertainty included.

    ``corrected`` is the correction that the page was printed with.

    Raises:
        ValueError: no printer makes such sides of 100 mm (under 50 or over 200).
    """
    if not all(50.0 <= side <= 200.0 for side in (across_mm, down_mm)):
        text = f"{across_mm:g} x {down_mm:g} mm is not what a 100 mm square prints as"
        raise ValueError(text)
    doubt = RULER / 100.0
    scale = MeasuredScale(across_mm / 100.0, down_mm / 100.0, doubt, doubt)
    printer = scale.without(corrected)
    verdict = judge(scale, tolerance)
    return Measurement(
        scale=scale,
        printer=printer,
        skew_degrees=None,
        verdict=verdict,
        tolerance=tolerance,
        cause=likely_cause(printer, PAPERS["a4"], None),
        consequence=consequence(scale),
        next_step=next_step(verdict, "ruler", printer),
        reference="ruler",
        reference_label="a ruler",
        corrected_for=corrected,
        residual_px=None,
        budget=(Contribution("ruler", doubt / COVERAGE, doubt / COVERAGE),),
        rests_on="the ruler, read to half a millimetre",
    )
