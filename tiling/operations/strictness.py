"""Whether findings stop a job."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tiling.pattern import Finding

__all__ = ["Strictness", "refused"]


class Strictness(Enum):
    """What a job does about findings: it only tells them, or it makes no file because of them."""

    LENIENT = "lenient"
    STRICT = "strict"


def refused(findings: Sequence[Finding], strictness: Strictness) -> bool:
    """Whether these findings stop the job."""
    return strictness is Strictness.STRICT and bool(findings)
