"""Lays read back from the PDF by pypdf, PDFium and shapely: the short form of `tests/benchmarks/lays_read_back.py`."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.benchmarks.lays_read_back import NEAR, Invented, faults, invented, orders, planned, simple_length
from tiling.cloth.cloth_choice import ClothFold, Nap


@pytest.mark.parametrize("seed", [4, 5])
def test_what_a_cutter_gets_is_the_pattern(seed: int) -> None:
    """Opened out with a wide gap; folded with a nap and a piece that the cloth is opened out for."""
    made = invented(seed)
    result = planned(made, orders(len(made.cuts), seed)[2], 1.0)
    assert result.drawing is not None
    assert faults(made, result.drawing.content) == []
    assert result.report.lays[0].length <= simple_length(made, result) + NEAR


def test_the_reading_back_finds_what_is_wrong() -> None:
    """The same lay held against other patterns and other cloth."""
    made = invented(1)
    result = planned(made, range(len(made.cuts)), 1.0)
    assert result.drawing is not None
    content, first = result.drawing.content, made.cuts[0]

    def said(other: Invented) -> str:
        return "; ".join(faults(other, content))

    lone = next(cut for cut in made.cuts if cut.cut == "single")
    uneven = next(cut for cut in made.cuts if cut.cut == "pair")
    for changed, words in (
        (replace(lone, copies=lone.copies + 1), "is cut"),
        (replace(lone, ring=lone.ring * (-1.0, 1.0)), "comes out mirrored|other side up"),
        (replace(uneven, cut="single"), "comes out mirrored"),
        (replace(first, head=-first.head), "arrows point both ways"),
        (replace(first, ring=first.ring * 1.01), "another shape"),
        (replace(lone, ring=lone.ring @ np.array([(0.98, 0.2), (-0.2, 0.98)])), "another shape or lies askew"),
    ):
        cuts = tuple(changed if cut.ident == changed.ident else cut for cut in made.cuts)
        assert any(part in said(replace(made, cuts=cuts)) for part in words.split("|")), words
    assert "from each other" in said(replace(made, choice=replace(made.choice, gap=made.choice.gap + 1.0)))
    assert "across, off" in said(replace(made, choice=replace(made.choice, selvedge=made.choice.selvedge + 200.0)))
    assert made.choice.fold is ClothFold.LENGTHWISE and made.choice.nap is Nap.ONE_WAY
