"""What was worked out lately from values that never change, kept for the next time the very same ones are asked about.

While a slider moves, one drawing is altered again and again: only what an amount decides needs to be worked out anew.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Sequence
from typing import Generic, TypeVar

__all__ = ["Recent"]

Made = TypeVar("Made")


class Recent(Generic[Made]):
    """The last `most` results, each found by the identity of the frozen values it was made from."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._kept: OrderedDict[Hashable, tuple[Sequence[object], Made]] = OrderedDict()

    def get(self, values: Sequence[object], more: Hashable, make: Callable[[], Made]) -> Made:
        """What `make` gives, or gave for the same objects and an equal `more`; what it raises is not kept."""
        key = (tuple(map(id, values)), more)
        if (kept := self._kept.get(key)) is not None:
            self._kept.move_to_end(key)
            return kept[1]
        made = make()
        # The values are kept with it: as long as they live, no other has their identity.
        self._kept[key] = (values, made)
        if len(self._kept) > self._most:
            self._kept.popitem(last=False)
        return made
