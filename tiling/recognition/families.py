"""Which closed rings are pieces, and which of them are other sizes, stitching lines or shapes of the same piece."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from tiling.recognition.asides import aside
from tiling.recognition.likeness import holds, likeness, same
from tiling.recognition.scene import Scene
from tiling.recognition.strands import Ring
from tiling.recognition.understanding import AsideKind, Guess

__all__ = ["Family", "Sorted", "sorted_rings"]

LEAST_PIECE = 400.0
"""mm²; a smaller closed outline is no piece: a button mark, a letter."""


@dataclass(eq=False, slots=True)
class Family:
    """Rings that are one piece: its outline, its stitching line, its other sizes, and what lies in it.

    Attributes:
        outline: the outermost ring.
        sure, why: that it is a piece.
        stitching: the ring that is stitched, None where there is none drawn or it isn't closed.
        sizes: rings of other sizes, from the largest.
        inner: other rings that lie in it.
        again: rings that repeat the outline (a fill and a stroke drawn apart).
    """

    outline: Ring
    sure: float = 0.9
    why: str = "a closed outline"
    stitching: Ring | None = None
    sizes: list[Ring] = field(default_factory=list)
    inner: list[Ring] = field(default_factory=list)
    again: list[Ring] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Sorted:
    """The rings of a drawing: pieces, and what is none."""

    families: list[Family]
    asides: list[tuple[Ring, Guess[AsideKind]]]


def sorted_rings(scene: Scene) -> Sorted:
    """Every ring as part of a piece or as something beside the pieces."""
    large = sorted((ring for ring in scene.rings if ring.area >= LEAST_PIECE), key=lambda ring: -ring.area)
    large, again = _without_repeats(large)
    kinds = [(ring, aside(ring, large, scene)) for ring in large]
    asides = [(ring, kind) for ring, kind in kinds if kind is not None]
    closed_off = [ring for ring, kind in asides if kind.value is not AsideKind.FRAME]
    kept = [ring for ring, kind in kinds if kind is None and not any(holds(other, ring) for other in closed_off)]
    families = _families(kept)
    for family in families:
        family.again = [copy for copy, first in again if first is family.outline]
    return Sorted(families, asides)


def _without_repeats(rings: Sequence[Ring]) -> tuple[list[Ring], list[tuple[Ring, Ring]]]:
    """The rings each once, and (copy, first) of those that repeat one: their fill, or a second size drawn alike."""
    kept: list[Ring] = []
    copies = []
    for ring in rings:
        first = next((one for one in reversed(kept) if same(one, ring)), None)
        if first is None:
            kept.append(ring)
        else:
            copies.append((ring, first))
    return kept, copies


def _families(rings: Sequence[Ring]) -> list[Family]:
    """Rings grouped into pieces, from the largest ring on."""
    families: list[Family] = []
    for ring in rings:
        home = next((family for family in families if _relative(family, ring)), None)
        if home is not None:
            home.sizes.append(ring)
            continue
        host = min((f for f in families if holds(f.outline, ring)), key=lambda f: f.outline.area, default=None)
        if host is not None:
            host.inner.append(ring)
        else:
            families.append(Family(ring))
    for family in families:
        _settle(family)
    return families


def _relative(family: Family, ring: Ring) -> bool:
    """Whether a ring is another size, or the stitching line, of the family."""
    outline = family.outline
    if not outline.box.meets(ring.box):
        return False
    if holds(outline, ring):
        return likeness(outline, ring) is not None
    common = outline.polygon.intersection(ring.polygon).area
    return bool(common > 0.75 * max(outline.area, ring.area))


def _settle(family: Family) -> None:
    """Part what resembles the outline into its stitching line and other sizes."""
    members = [family.outline, *family.sizes]
    stitched = _stitching_of(family.outline, members[1:], len(members))
    family.stitching = stitched
    sizes = [ring for ring in members[1:] if ring is not stitched]
    # A stitching line of each size lies in its own cutting line, and is no size.
    family.sizes = [ring for ring in sizes if not (ring.dashed and not family.outline.dashed)]


def _stitching_of(outline: Ring, others: Sequence[Ring], count: int) -> Ring | None:
    """The ring that is stitched: drawn another way, or the only other one, at a width kept all along."""
    ranked = []
    for ring in others:
        if not holds(outline, ring):
            continue
        like = likeness(outline, ring)
        if like is None or not any(level > 2.0 for level in like.levels):
            continue
        if outline.dashed and not ring.dashed:
            continue
        other_look = ring.dashed and not outline.dashed
        if not other_look and ring.look[0] != outline.look[0]:
            continue  # drawn alike on a layer of its own: another size
        if (other_look and like.share > 0.6) or (count == 2 and like.share > 0.75):
            ranked.append((other_look, like.share, ring))
    return max(ranked, key=lambda one: one[:2])[2] if ranked else None
