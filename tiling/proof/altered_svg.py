"""Proof of a written drawing: read again, every line must lie where the pattern has it."""

from __future__ import annotations

from pathlib import Path

from tiling.failures import InputUnfit, ProofFailed
from tiling.files.inputs import read_input
from tiling.pattern import Line, Pattern
from tiling.reading.svg import read_svg
from tiling.shapes import Box

__all__ = ["prove_same"]

CLOSE = 0.01
"""The drawn position of every line is within this of the pattern's, mm."""


def prove_same(written: Path, *, expected: Pattern) -> None:
    """Read the file and compare size and lines with the pattern.

    Raises:
        ProofFailed: it can't be read, or a line is missing or lies elsewhere.
    """
    try:
        found = read_svg(read_input(written))
    except InputUnfit as fault:
        raise ProofFailed(f"The altered drawing can't be read again ({fault}); nothing was written.") from fault
    size = abs(found.size.width - expected.size.width), abs(found.size.height - expected.size.height)
    if max(size) > CLOSE:
        raise ProofFailed("The altered drawing came out at another size; nothing was written.")
    wanted, read = (_boxes(pattern) for pattern in (expected, found))
    if len(wanted) != len(read):
        raise ProofFailed(f"The altered drawing has {len(read)} lines instead of {len(wanted)}; nothing was written.")
    for one, other in zip(wanted, read, strict=True):
        off = max(abs(one.x0 - other.x0), abs(one.y0 - other.y0), abs(one.x1 - other.x1), abs(one.y1 - other.y1))
        if off > CLOSE:
            raise ProofFailed(f"A line of the altered drawing lies {off:.2f} mm off; nothing was written.")


def _boxes(pattern: Pattern) -> list[Box]:
    return [m.path.hull for m in pattern.marks if isinstance(m, Line) and m.style.leaves_ink and len(m.path)]
