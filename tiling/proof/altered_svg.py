"""Proof of an altered drawing: read again, every line must lie where the pattern has it."""

from __future__ import annotations

from tiling.failures import InputUnfit, ProofFailed
from tiling.files.inputs import InputFile
from tiling.pattern import Line, Pattern
from tiling.reading.svg import read_svg
from tiling.shapes import Box

__all__ = ["prove_altered"]

_CLOSE = 0.01
"""The drawn position of every line is within this of the pattern's, mm."""


def prove_altered(data: bytes, expected: Pattern) -> None:
    """Read a written SVG and compare the sheet's size and every line's extent with the pattern.

    Args:
        data: the SVG, which holds its pictures itself.
        expected: the pattern it was written from.

    Raises:
        ProofFailed: it can't be read, or a line is missing, too many or lies elsewhere.
    """
    try:
        found = read_svg(InputFile("altered.svg", data))
    except InputUnfit as fault:
        raise ProofFailed(f"The altered drawing can't be read again ({fault.what}); nothing was written.") from fault
    size = abs(found.size.width - expected.size.width), abs(found.size.height - expected.size.height)
    if max(size) > _CLOSE:
        raise ProofFailed("The altered drawing came out at another size; nothing was written.")
    wanted, read = (_boxes(pattern) for pattern in (expected, found))
    if len(wanted) != len(read):
        raise ProofFailed(f"The altered drawing has {len(read)} lines instead of {len(wanted)}; nothing was written.")
    for one, other in zip(wanted, read, strict=True):
        if (off := one.apart(other)) > _CLOSE:
            raise ProofFailed(f"A line of the altered drawing lies {off:.2f} mm off; nothing was written.")


def _boxes(pattern: Pattern) -> list[Box]:
    """The box around the points of every line that leaves ink, control points included."""
    return [m.path.hull for m in pattern.marks if isinstance(m, Line) and m.style.leaves_ink and len(m.path)]
