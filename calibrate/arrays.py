"""The kinds of arrays that pass between this room's modules."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
"""Numbers: points are (n, 2), x and y."""
Mask = NDArray[np.bool_]
"""Which of them."""
Index = NDArray[np.intp]
"""Which of them, by number."""
Grey = NDArray[np.uint8]
"""A picture (h, w) in grey."""
Tone = NDArray[np.float32]
"""The same, not in whole steps."""
