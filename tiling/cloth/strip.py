"""Temporary: pack outlines on a strip with spyrrow, until tiling.planning.packing is there."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from tiling.shapes import Affine
from tiling.shapes.curves import Array


@dataclass(frozen=True, slots=True, eq=False)
class Parcel:
    """One outline to pack once, in one of the turns (degrees) allowed."""

    ident: str
    ring: Array
    turns: tuple[float, ...]


def pack(
    parcels: Sequence[Parcel], height: float, seconds: float, seed: int, progress: Callable[[float], None] | None = None
) -> dict[str, Affine]:
    """Moves by ident."""
    import spyrrow  # noqa: PLC0415

    items = [spyrrow.Item(p.ident, [(float(x), float(y)) for x, y in p.ring], 1, list(p.turns)) for p in parcels]
    config = spyrrow.StripPackingConfig(total_computation_time=max(1, round(seconds)), seed=seed, num_workers=2)
    solution = spyrrow.StripPackingInstance("", height, items).solve(config)
    return {
        placed.id: Affine.shift(*placed.translation) @ Affine.turn(placed.rotation) for placed in solution.placed_items
    }
