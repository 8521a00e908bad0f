"""Lines as the parts into which cuts have parted them, kept in the altered drawing.

What truing smooths away at one cut would be lost to the next. So a line that was cut keeps its parts, untrued, beside
what is drawn (``data-parts``), and which of them lies on the moving side of which cut. A further cut along the same
line moves those parts again and trues them afresh: amounts add up, and taking back gives the line as it was. Where
somebody has changed the line in between, what is drawn counts, and the parts are forgotten.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from tiling.lengths import decimal_number
from tiling.pattern import Line, Mark
from tiling.shapes import Path, curves
from tiling.shapes.chains import Chain, chains_of, is_straight

__all__ = ["Part", "Strand", "moved_with", "strands_of", "with_moved", "with_strands"]

_PARTS, _MOVED = "parts", "moved"
_SAME = 0.02
"""mm by which a line's length and extent may differ from what was kept: nobody has changed it."""

_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_TOKEN = re.compile(r"[MLC]|-?\d+(?:\.\d+)?")


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """A stretch of a line between two cuts, where it lies now.

    Attributes:
        chain: its segments, as if nothing had been trued.
        moved: names of the cuts on whose moving side it lies.
        corner: whether the line had a corner at the cut where this part ends.
    """

    chain: Chain
    moved: frozenset[str] = frozenset()
    corner: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Strand:
    """One subpath of a line as its parts in order; the drawn chain is these, trued and joined."""

    parts: tuple[Part, ...]
    closed: bool
    drawn: Chain

    def knows(self, cut: str) -> bool:
        """Whether it was parted by that cut before."""
        return any(cut in part.moved for part in self.parts)

    @property
    def remembers(self) -> bool:
        """Whether what is drawn doesn't tell all: it has several parts, or lies where its cut's other side did."""
        return len(self.parts) > 1 or bool(self.parts[0].moved)

    def forgetting(self) -> Strand:
        """The strand as drawn, in one part."""
        return Strand((Part(self.drawn),), self.closed, self.drawn)


def strands_of(line: Line) -> list[Strand]:
    """The line's subpaths that have a length, in the parts that it keeps."""
    drawn = chains_of(line.path)
    kept = _read(line) if line.tag.said(_PARTS) else None
    if kept is None or len(kept) != len(drawn):
        return [Strand((Part(chain),), closed, chain) for chain, closed in drawn]
    return [Strand(parts or (Part(chain),), closed, chain) for parts, (chain, closed) in zip(kept, drawn, strict=True)]


def with_strands(line: Line, path: Path, strands: Sequence[Strand]) -> Line:
    """The line drawn as `path`, keeping the parts of its strands where that doesn't show them."""
    tag = line.tag
    extra = {key: value for key, value in tag.extra if key != _PARTS}
    if any(strand.remembers for strand in strands):
        extra[_PARTS] = _written(path, strands)
    return replace(line, path=path, clip=None, tag=replace(tag, extra=tuple(sorted(extra.items()))))


def moved_with(mark: Mark) -> frozenset[str]:
    """The cuts with whose moving side a mark that is never parted has gone, where its place doesn't show it."""
    return frozenset(mark.tag.said(_MOVED).split())


def with_moved(mark: Mark, cuts: frozenset[str]) -> Mark:
    """The mark, noting that it goes with the moving side of these cuts."""
    extra = {key: value for key, value in mark.tag.extra if key != _MOVED}
    if cuts:
        extra[_MOVED] = " ".join(sorted(cuts))
    return replace(mark, tag=replace(mark.tag, extra=tuple(sorted(extra.items()))))


def _extent(path: Path) -> list[float]:
    """Length, and how far it reaches from its first point to the left, up, right and down; mm."""
    hull, (x, y) = path.hull, path.points[0]
    return [path.length(), hull.x0 - x, hull.y0 - y, hull.x1 - x, hull.y1 - y]


def _written(path: Path, strands: Sequence[Strand]) -> str:
    """``extent/cuts:M …|cuts^:M …;…``: parts by ``|``, subpaths by ``;``, relative to the first point."""
    origin = path.points[0]
    whole = [
        "|".join(f"{','.join(sorted(p.moved))}{'^' if p.corner else ''}:{_data(p.chain, origin)}" for p in strand.parts)
        if strand.remembers
        else ""
        for strand in strands
    ]
    return " ".join(decimal_number(v, 4) for v in _extent(path)) + "/" + ";".join(whole)


def _data(chain: Chain, origin: np.ndarray) -> str:
    words = ["M", *_numbers(chain[0][:1] - origin)]
    for cubic in chain:
        words += ["L", *_numbers(cubic[3:] - origin)] if is_straight(cubic) else ["C", *_numbers(cubic[1:] - origin)]
    return " ".join(words)


def _numbers(points: np.ndarray) -> Iterator[str]:
    return (decimal_number(float(v), 5) for v in points.ravel())


def _read(line: Line) -> list[tuple[Part, ...]] | None:
    """The parts kept for each subpath; None where they can't be read or the line has been changed since."""
    extent, _, rest = line.tag.said(_PARTS).partition("/")
    kept = [float(word) for word in _NUMBER.findall(extent)]
    if len(kept) != 5 or max(abs(a - b) for a, b in zip(kept, _extent(line.path), strict=True)) > _SAME:
        return None
    origin = line.path.points[0]
    try:
        return [tuple(_part(word, origin) for word in strand.split("|") if word) for strand in rest.split(";")]
    except (ValueError, IndexError):
        return None


def _part(word: str, origin: np.ndarray) -> Part:
    head, _, data = word.partition(":")
    cuts = frozenset(name for name in head.rstrip("^").split(",") if name)
    return Part(tuple(_cubics(_TOKEN.findall(data), origin)), cuts, head.endswith("^"))


def _cubics(tokens: list[str], origin: np.ndarray) -> Iterator[np.ndarray]:
    if tokens[0] != "M":
        raise ValueError(tokens[0])
    here = np.array([float(tokens[1]), float(tokens[2])]) + origin
    at = 3
    while at < len(tokens):
        count = {"L": 2, "C": 6}.get(tokens[at], 0)
        if not count:
            raise ValueError(tokens[at])
        points = np.array([float(v) for v in tokens[at + 1 : at + 1 + count]]).reshape(-1, 2) + origin
        yield curves.line_as_cubic(here, points[-1]) if count == 2 else np.vstack([here, points])
        here, at = points[-1], at + 1 + count
    if at == 3:
        raise ValueError("no segment")
