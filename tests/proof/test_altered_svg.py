"""The proof of an altered drawing: it passes what was written well, and stops what was not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.drawing.making import line, smock
from tiling.drawing.altered_svg import svg_bytes
from tiling.failures import ProofFailed
from tiling.pattern import Pattern
from tiling.proof.altered_svg import prove_altered
from tiling.shapes import Affine, Size

SMOCK = smock()
WRITTEN = svg_bytes(SMOCK)


def with_line_moved(by: float) -> Pattern:
    """The smock with its grainline a little to the right."""
    marks = [mark.moved(Affine.shift(by, 0.0)) if number == 3 else mark for number, mark in enumerate(SMOCK.marks)]
    return SMOCK.with_marks(marks)


def test_what_was_written_well_passes() -> None:
    """Within the hundredth of a millimetre that every line keeps to."""
    prove_altered(WRITTEN, SMOCK)
    prove_altered(WRITTEN, with_line_moved(0.008))


@pytest.mark.parametrize(
    ("data", "expected", "says"),
    [
        (WRITTEN, with_line_moved(0.02), r"A line of the altered drawing lies 0\.02 mm off"),
        (WRITTEN, SMOCK.with_marks(SMOCK.marks[1:]), "has 4 lines instead of 3"),
        (WRITTEN, SMOCK.with_marks([*SMOCK.marks, line((20.0, 20.0), (30.0, 30.0))]), "has 4 lines instead of 5"),
        (WRITTEN, replace(SMOCK, size=Size(400.0, 500.02)), "at another size"),
        (WRITTEN[: len(WRITTEN) // 2], SMOCK, r"can't be read again \(altered\.svg: "),
        (b"", SMOCK, "can't be read again"),
    ],
)
def test_what_was_not_is_stopped(data: bytes, expected: Pattern, says: str) -> None:
    """A line moved, missing or too many, another sheet, half a file: a failed proof, not unfit input."""
    with pytest.raises(ProofFailed, match=says):
        prove_altered(data, expected)
