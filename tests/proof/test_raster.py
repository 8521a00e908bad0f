"""Pictures compared: what may lie a little aside, and what may not."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from tiling.proof.raster import difference


@pytest.mark.parametrize("reach", [1, 2, 3])
def test_ink_counts_as_there_within_reach(reach: int) -> None:
    """As far aside as said, also aslant, and no farther."""
    there = np.zeros((20, 20), dtype=np.uint8)
    there[10, 10] = 200
    for aside in range(5):
        moved = np.zeros_like(there)
        moved[10 + aside, 10 - aside] = 200
        assert difference(moved, there, reach).max() == (0 if aside <= reach else 200)


def test_it_is_what_a_filter_by_the_largest_gives() -> None:
    """Against scipy's maximum filter, on noise."""
    one, other = np.random.default_rng(5).integers(0, 256, (2, 60, 80)).astype(np.uint8)
    around = ndimage.maximum_filter(other, size=5, mode="constant")
    assert np.array_equal(difference(one, other, 2), np.maximum(one, around) - around)
