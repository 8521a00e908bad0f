"""A run of text: what is shown in one go, and where its baseline starts."""

from __future__ import annotations

from dataclasses import dataclass, field

from tiling.content.state import State

__all__ = ["TextRun"]


@dataclass(slots=True)
class TextRun:
    """Strings shown one after the other from one start, as in the source.

    Attributes:
        block: number of the BT … ET it lies in.
        order: its number in that block.
        start: operator that puts the pen there from anywhere (Tm).
        move: operators that put the pen there from the run before it; empty when there are none.
        parts: the state and the operator of each show.
        matrix: from text space to mm on the sheet, at the start.
        size, advance: of the whole run, mm along and across its baseline.
        font, text: for labels.
        odd: it isn't plain text on a line from left to right: only its reach says where it is.
    """

    block: int
    order: int
    start: bytes
    move: bytes
    matrix: tuple[float, float, float, float, float, float]
    parts: list[tuple[State, bytes]] = field(default_factory=list)
    size: float = 0.0
    advance: float = 0.0
    font: str = ""
    text: str = ""
    odd: bool = False
