"""Paths as the operators of a page's content (ISO 32000-1, 8.5.2)."""

from __future__ import annotations

from tiling.shapes import Op, Path

__all__ = ["path_operators"]


def path_operators(path: Path) -> str:
    """The path's construction operators, coordinates to a ten-thousandth of a mm."""
    numbers = ["%.4f %.4f" % (x, y) for x, y in path.points.tolist()]  # noqa: UP031 - the quickest way by far
    parts: list[str] = []
    at = 0
    for op in path.ops.tolist():
        if op == Op.CURVE:
            parts.append(f"{numbers[at]} {numbers[at + 1]} {numbers[at + 2]} c")
            at += 3
        elif op == Op.CLOSE:
            parts.append("h")
        else:
            parts.append(f"{numbers[at]} {'m' if op == Op.MOVE else 'l'}")
            at += 1
    return "\n".join(parts)
