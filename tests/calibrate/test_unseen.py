"""Why a page is not seen: each cause has its own reason, since each asks for something else."""

from __future__ import annotations

import pytest

from calibrate.failures import Reason, Refusal
from tests.simulator.judging import answer_to
from tests.simulator.spoilt import Spoilt, spoilt

WIDTH = 2000


@pytest.mark.parametrize(
    ("kind", "seed", "reason"),
    [
        (Spoilt.FAR, 1, Reason.TOO_FEW_PIXELS),
        (Spoilt.GLARE, 2, Reason.GLARE),
        (Spoilt.STEEP, 2, Reason.TOO_SLANTED),
        (Spoilt.CHESS_ALONE, 1, Reason.NO_TARGET),
        (Spoilt.SHAKEN, 2, Reason.TOO_BLURRED),
        (Spoilt.WRONG_COIN, 1, Reason.OTHER_SIZE),
    ],
    ids=lambda one: getattr(one, "name", str(one)),
)
def test_each_cause_is_told_by_its_own_reason(kind: Spoilt, seed: int, reason: Reason) -> None:
    """Come closer where the sheet is small, move the lamp where it shines, hold level where it is steep."""
    case = spoilt(kind, seed, WIDTH)
    refused = answer_to([case.shot], case.reference)
    assert isinstance(refused, Refusal)
    assert refused.reason is reason, refused
