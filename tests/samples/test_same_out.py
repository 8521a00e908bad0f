"""Same in, same out, on any machine: a drawing whose points differ in the last bits gives the same files.

Processors differ in the last bits of products, sines and square roots. 1e-12 mm is a few times as much as they do to a
coordinate of a metre.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path as FilePath

import numpy as np
import pytest

from tests.drawings import drawing_at
from tiling.altering.alter import Alteration, Matching, alter
from tiling.cloth.cloth_choice import ClothFold
from tiling.cloth.lay_pieces import lay_pieces
from tiling.cloth.sewing_report import sewing_report
from tiling.drawing.altered_svg import svg_bytes
from tiling.drawing.pdf import write_pages
from tiling.drawing.print_job import build_print_job
from tiling.notes import Notes
from tiling.pattern import Line, Pattern, Role
from tiling.planning.papers import paper_named
from tiling.planning.planner import PlanOptions, plan_pages
from tiling.record.plan_record import record_bytes
from tiling.shapes import Affine, Path

SMOCK = FilePath(__file__).resolve().parents[2] / "samples" / "potting-smock.svg"
HALVES = (0.0, 0.00005, 0.01)
"""Shifts, mm, after which numbers end in a half of the last decimal written, and of a step of the printed record."""


@pytest.fixture(scope="module")
def smock() -> Pattern:
    """The sample."""
    return drawing_at(SMOCK)


def with_points(pattern: Pattern, change: Callable[[np.ndarray], np.ndarray]) -> Pattern:
    """The pattern with other points in its lines."""
    marks = [
        replace(mark, path=Path(mark.path.ops.copy(), change(mark.path.points))) if isinstance(mark, Line) else mark
        for mark in pattern.marks
    ]
    return pattern.with_marks(marks)


def twice(pattern: Pattern, shift: float, seed: int) -> tuple[Pattern, Pattern]:
    """The pattern shifted, and the same with noise of up to 1e-12 mm in every coordinate."""
    chance = np.random.default_rng(seed)
    moved = with_points(pattern, lambda points: Affine.shift(shift, shift).points(points))
    return moved, with_points(moved, lambda points: points + chance.uniform(-1e-12, 1e-12, points.shape))


ALTERATIONS = {
    "wider": Alteration(around=60.0),
    "narrower at one end": Alteration(around=-40.0, taper=0.3, matching=Matching.FOLLOW),
    "longer": Alteration(longer=50.0),
}


@pytest.mark.parametrize("wish", ALTERATIONS)
@pytest.mark.parametrize("shift", HALVES)
def test_an_altered_drawing_is_the_same_to_the_byte(smock: Pattern, wish: str, shift: float) -> None:
    """Cut, spread, joined, faired, and written to 0.0001 mm."""
    written = {svg_bytes(alter(one, ALTERATIONS[wish]).pattern) for one in twice(smock, shift, 1)}
    assert len(written) == 1


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("shift", HALVES)
def test_the_plan_and_lines_kept_in_the_file_are_the_same_to_the_byte(smock: Pattern, shift: float, seed: int) -> None:
    """Tiles, placements and every point in steps of 0.02 mm."""
    a4 = PlanOptions(paper_named("a4"))
    assert len({record_bytes(plan_pages(one, a4), one, {}) for one in twice(smock, shift, seed)}) == 1


def test_the_printed_pages_are_the_same_to_the_byte(smock: Pattern) -> None:
    """First page, page map, tiles with their joins and check lines, and the file's identifier."""
    a4 = PlanOptions(paper_named("a4"))
    assert len({write_pages(build_print_job(plan_pages(one, a4), one)) for one in twice(smock, 0.0, 3)}) == 1


@pytest.mark.parametrize("seed", range(3))
def test_stitching_lines_and_what_is_laid_on_the_cloth_keep_their_shape(smock: Pattern, seed: int) -> None:
    """Without drawn stitching lines, 15 mm inside the cutting lines: the same corners, none moved by 1e-9 mm."""
    notes = smock.notes
    assert notes is not None
    pieces = {name: replace(note, seam_allowance=15.0, allowances={}) for name, note in notes.pieces.items()}
    cut_only = [mark for mark in smock.marks if mark.tag.role is not Role.STITCHING]
    bare = replace(smock.with_marks(cut_only), notes=Notes(pieces=pieces))
    shapes: list[list[np.ndarray]] = []
    for one in twice(bare, 0.0, seed):
        report = sewing_report(one, {})
        sewn = [path.points for piece in pieces for path in report.seam_lines.edges(piece)]
        on_cloth = [
            laid.ring
            for cloth in report.cloths
            for fold in ClothFold
            for laid in lay_pieces(report.seam_lines, report.cutting, cloth, fold)
        ]
        shapes.append([*sewn, *on_cloth])
    assert [len(points) for points in shapes[0]] == [len(points) for points in shapes[1]]
    assert max(np.abs(a - b).max() for a, b in zip(*shapes, strict=True)) < 1e-9
