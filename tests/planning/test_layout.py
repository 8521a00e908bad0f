"""Pieces as things that can be laid anew: named or found, with everything on them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path as FilePath

import numpy as np
import pytest
import shapely

from tests.planning.drawings import needed_open_data, pattern_of, rectangle, smock_like, stroke
from tiling.failures import InputUnfit
from tiling.files.inputs import read_input
from tiling.marks import mark_shape
from tiling.pattern import Label, Line
from tiling.planning.layout import find_pieces, moves_of
from tiling.planning.placing import placed
from tiling.planning.plan import Placement
from tiling.reading.options import ReadOptions
from tiling.reading.svg import read_svg
from tiling.shapes import Affine, Box, Path
from tiling.style import Colour, Style


def test_named_pieces_take_along_what_lies_on_them() -> None:
    """A text without a piece goes with the piece it stands on; a heading far off is a loose group."""
    smock = smock_like()
    label = Label("Front", Affine.shift(60, 300), 8.0, advance=25.0)
    pieces = {piece.ident: piece for piece in find_pieces(replace(smock, marks=(*smock.marks, label)))}
    assert list(pieces) == ["front", "back", "sleeve", "loose-1"]
    assert len(smock.marks) in pieces["front"].marks
    assert pieces["loose-1"].marks == (len(smock.marks) - 1,)
    assert pieces["front"].title == "Front"


def test_every_mark_belongs_to_exactly_one() -> None:
    """Also marks that leave no ink."""
    smock = smock_like()
    marks = (*smock.marks, rectangle(Box(1, 1, 5, 5), Style()), rectangle(Box(700, 300, 710, 310), Style()))
    groups = [piece.marks for piece in find_pieces(replace(smock, marks=marks))]
    assert sorted(index for group in groups for index in group) == list(range(len(marks)))


def test_an_outline_holds_all_its_ink() -> None:
    """Strokes with their width, a notch that stands out, a label beside the piece."""
    smock = smock_like()
    label = Label("cut one", Affine.shift(905, 300), 8.0, advance=30.0, tag=smock.marks[-3].tag)
    pattern = replace(smock, marks=(*smock.marks, label)).with_marks([*smock.marks, label])
    for piece in find_pieces(pattern):
        for index in piece.marks:
            mark = pattern.marks[index]
            width = mark.style.stroke.width / 2 if isinstance(mark, Line) and mark.style.stroke else 0.0
            assert piece.outline.buffer(1e-6).covers(mark_shape(mark).buffer(width, quad_segs=2))


def test_pieces_are_found_without_roles() -> None:
    """Closed outlines that lie apart, nested ones as one, open lines that close together, small marks none."""
    marks = [
        rectangle(Box(300, 10, 400, 200)),
        rectangle(Box(10, 10, 110, 200)),
        rectangle(Box(20, 20, 100, 190)),  # a smaller size of the same piece
        stroke([(150, 10), (250, 10), (250, 200)]),
        stroke([(250, 200), (150, 200), (150, 10)]),
        rectangle(Box(50, 50, 55, 55)),
        rectangle(Box(500, 500, 505, 505)),  # a button mark of no piece
        Label("back", Affine.shift(170, 100), 9.0, advance=30.0),
    ]
    pieces = find_pieces(pattern_of(marks))
    assert [(piece.ident, piece.marks) for piece in pieces] == [
        ("piece-1", (1, 2, 5)),
        ("piece-2", (3, 4, 7)),
        ("piece-3", (0,)),
        ("loose-1", (6,)),
    ]


@pytest.mark.parametrize("name", ["lraglan.svg", "ltshirt.svg"])
def test_the_pieces_of_real_outlines_are_told_apart(name: str) -> None:
    """Garment outlines from elsewhere (delfem2 test inputs, MIT): four outlines each, without roles."""
    path: FilePath = needed_open_data() / "garment-svg" / name
    pattern = read_svg(read_input(path), ReadOptions(px_per_inch=25.4))
    pieces = find_pieces(pattern)
    assert len(pieces) == 4 and all(piece.body.area > 50_000 for piece in pieces)
    assert sorted(index for piece in pieces for index in piece.marks) == list(range(len(pattern.marks)))


def test_placing_moves_each_piece_as_one() -> None:
    """Lengths stay, marks keep their number, and the sheet grows to hold the ink."""
    smock = smock_like()
    move = Affine.shift(1200, 900) @ Affine.turn(180.0)
    moves = [Placement(p.ident, move if p.ident == "back" else Affine()) for p in find_pieces(smock)]
    laid = placed(smock, moves)
    assert len(laid.marks) == len(smock.marks)
    for index, (before, after) in enumerate(zip(smock.marks, laid.marks, strict=True)):
        assert isinstance(before, Line) and isinstance(after, Line)
        expected = move.points(before.path.points) if before.tag.piece == "back" else before.path.points
        assert np.allclose(after.path.points, expected, atol=1e-9)
        assert (index in moves_of(smock, moves)) and after.tag == before.tag
    assert laid.size.height >= 840 and laid.size.width >= 900
    assert placed(smock, []) is smock


def test_placements_of_another_drawing_are_refused() -> None:
    """The message names a piece that doesn't fit."""
    smock = smock_like()
    fitting = [Placement(p.ident, Affine()) for p in find_pieces(smock)]
    with pytest.raises(InputUnfit, match="no piece 'collar'"):
        placed(smock, [*fitting, Placement("collar", Affine())])
    with pytest.raises(InputUnfit, match="'front' has no place"):
        moves_of(smock, fitting[1:])


def test_a_filled_shape_is_a_piece_too() -> None:
    """A piece drawn as a grey shape with a hole: the hole is filled for laying out."""
    ring = Path.joined([Path.rectangle(Box(0, 0, 100, 100)), Path.rectangle(Box(30, 30, 70, 70))])
    (piece,) = find_pieces(pattern_of([Line(ring, Style(fill=Colour(0.5, 0.5, 0.5), even_odd=True))]))
    assert piece.body.area == pytest.approx(10_000)
    assert not shapely.get_num_interior_rings(piece.outline)


def test_a_drawing_of_very_many_lines_is_left_whole() -> None:
    """Six thousand hatching lines are one loose group, at once; with roles, only the loose marks are gathered."""
    hatching = [
        stroke([(x % 100 * 5.0, x // 100 * 5.0), (x % 100 * 5.0 + 30, x // 100 * 5.0 + 30)]) for x in range(6000)
    ]
    (whole,) = find_pieces(pattern_of(hatching))
    assert len(whole.marks) == 6000 and whole.body.is_empty
    smock = smock_like()
    far = [mark.moved(Affine.shift(2000, 2000)) for mark in hatching]
    pieces = find_pieces(replace(smock, marks=(*smock.marks, *far)))
    assert [piece.ident for piece in pieces] == ["front", "back", "sleeve", "loose-1"]
