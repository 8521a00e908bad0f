"""Read simulated photos as the tool does, and hold the answers against the truth."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from calibrate.budget import COVERAGE, combined
from calibrate.failures import Refusal
from calibrate.photo import load_photo
from calibrate.scale import OTHERWISE, Options, measure
from tests.simulator.photo import photographed
from tests.simulator.sensor import Blending, Tone

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calibrate.result import Measurement
    from tests.simulator.photo import Shot

FLAG = 0.003
"""An error above this must lie within the uncertainty that was stated."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one photo: a refusal's reason, or errors and expanded uncertainties (across, down)."""

    row: str
    seed: int
    refused: str = ""
    errors: tuple[float, float] = (0.0, 0.0)
    doubts: tuple[float, float] = (0.0, 0.0)
    skew_error: float = 0.0
    rests_on: str = ""
    asked: tuple[tuple[float, float], ...] = ()
    """The errors of the answers that are given beside it, each under a question: "if the sheet is A5, then ..."."""
    method: tuple[float, float] = (0.0, 0.0)
    """The expanded uncertainty without the terms of the reference (its size, wholeness, thickness and bow), and without
    the term of the tone curve where the phone's is the usual one: what isn't there shows not how well it is covered."""

    @property
    def read(self) -> bool:
        """Whether there is a measurement."""
        return not self.refused

    @property
    def covered(self) -> tuple[bool, bool]:
        """Whether each error lies within its uncertainty."""
        return (abs(self.errors[0]) <= self.doubts[0], abs(self.errors[1]) <= self.doubts[1])

    @property
    def unflagged(self) -> bool:
        """Wrong by more than 0.3 % without having said that it might be, nor what it is then."""
        return not any(self._near(errors) for errors in (self.errors, *self.asked))

    @property
    def settled(self) -> bool:
        """Whether the answer itself, not one given beside it, is within 0.3 % or its own uncertainty."""
        return self._near(self.errors)

    def _near(self, errors: tuple[float, float]) -> bool:
        return all(abs(e) <= max(FLAG, d) for e, d in zip(errors, self.doubts, strict=True))

    @property
    def right(self) -> bool:
        """Refused, or within 0.3 % or its own uncertainty."""
        return not self.read or not self.unflagged


def answer_to(shots: Sequence[Shot], reference: str | None) -> Measurement | Refusal:
    """Take the photos, load their files and measure them."""
    photos = [load_photo(f"photo{number}.jpg", photographed(shot).file) for number, shot in enumerate(shots)]
    return measure(photos, Options(reference))


def judged(row: str, seed: int, shot: Shot, reference: str | None, truth: tuple[float, float] | None = None) -> Outcome:
    """The outcome of one photo; the ``truth`` is what the printing did, unless it is given."""
    answer = answer_to([shot], reference)
    if isinstance(answer, Refusal):
        return Outcome(row, seed, f"{answer.reason.value}: {answer.detail}")
    printing, scale = shot.scene.printing, answer.scale
    across, down = truth or (printing.across, printing.down)
    return Outcome(
        row,
        seed,
        errors=(scale.across / across - 1.0, scale.down / down - 1.0),
        doubts=(scale.uncertainty_across / scale.across, scale.uncertainty_down / scale.down),
        skew_error=(answer.skew_degrees or 0.0) + printing.shear,
        rests_on=answer.rests_on,
        method=_method(answer, usual=(shot.sensor.tone, shot.sensor.blending) == (Tone.USUAL, Blending.LIGHT)),
        asked=tuple((other.across / across - 1.0, other.down / down - 1.0) for other in answer.otherwise),
    )


_OF_THE_REFERENCE = {"reference tolerance", "whole sheet", "thickness", "bow", "scanner's resolution", OTHERWISE}


def _method(answer: Measurement, *, usual: bool) -> tuple[float, float]:
    left_out = _OF_THE_REFERENCE | ({"tone curve"} if usual else set())
    across, down = combined(tuple(c for c in answer.budget if c.name not in left_out))
    return COVERAGE * across, COVERAGE * down


@dataclass(frozen=True, slots=True)
class Tally:
    """A row of the table: how many photos, how many read, and the errors of both directions together.

    ``covered`` is the share of errors within the stated uncertainty, ``method`` that within the method's part of it.
    """

    row: str
    photos: int
    read: int
    median: float
    within_95: float
    largest: float
    covered: float
    unflagged: int
    doubt: float
    method: float


def tally(row: str, outcomes: Sequence[Outcome]) -> Tally:
    """Count the outcomes of one condition; errors as shares, NaN where nothing was read."""
    read = [o for o in outcomes if o.read]
    errors = np.abs([e for o in read for e in o.errors]) if read else np.array([np.nan])
    covered = [c for o in read for c in o.covered]
    method = [abs(e) <= u for o in read for e, u in zip(o.errors, o.method, strict=True)]
    return Tally(
        row,
        len(outcomes),
        len(read),
        float(np.median(errors)),
        float(np.percentile(errors, 95)) if read else float("nan"),
        float(errors.max()),
        float(np.mean(covered)) if covered else float("nan"),
        sum(o.unflagged for o in read),
        float(np.median([d for o in read for d in o.doubts])) if read else float("nan"),
        float(np.mean(method)) if method else float("nan"),
    )
