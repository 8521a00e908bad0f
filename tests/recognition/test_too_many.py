"""A chart of a thousand closed outlines is no pattern: none is taken for a piece, and that is said."""

from __future__ import annotations

from pathlib import Path

from tests.drawings import drawing_at
from tiling.recognition.told import in_one_line
from tiling.recognition.understand import understood


def squares(count: int) -> str:
    """So many squares of 9 cm side by side."""
    drawn = "".join(f'<path d="M{k % 40 * 100} {k // 40 * 100}h90v90h-90z"/>' for k in range(count))
    size = f'width="4000mm" height="{count // 40 * 100 + 100}mm" viewBox="0 0 4000 {count // 40 * 100 + 100}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}><g fill="none" stroke="black">{drawn}</g></svg>'


def test_a_thousand_outlines_are_no_pieces(tmp_path: Path) -> None:
    """Nor is each looked through as if it were one."""
    file = tmp_path / "chart.svg"
    file.write_text(squares(1000), encoding="utf-8")
    pattern = drawing_at(file)
    seen = understood(pattern)
    assert not seen.pieces
    assert not pattern.pieces
    assert in_one_line(seen) == "1000 closed outlines, more than a pattern has pieces, so none is taken for one"


def test_as_many_as_a_large_pattern_has_are(tmp_path: Path) -> None:
    """Two hundred are."""
    file = tmp_path / "many.svg"
    file.write_text(squares(200), encoding="utf-8")
    assert len(understood(drawing_at(file)).pieces) == 200
