"""Notes that point at drawn lines: at a place, on a layer, in a colour."""

from __future__ import annotations

import pytest

from tiling.failures import InputUnfit
from tiling.files.inputs import InputFile
from tiling.notes import CutAs
from tiling.pattern import Line, Pattern, Role
from tiling.reading.gather import read_drawing
from tiling.reading.options import ReadOptions

BODY = (
    '<path d="M50 50H350V650H50Z"/>'
    '<path d="M50 200H350"/>'
    '<path d="M50 203H200" stroke="#c00"/>'
    '<path d="M200 60V640" stroke="#c00"/>'
    '<path d="M450 50H550V350H450Z"/>'
)
LAYERS = (
    '<g layer:groupmode="layer" layer:label="Front"><path d="M50 50H350V650H50Z"/><path d="M100 100H150"/></g>'
    '<g layer:groupmode="layer" layer:label="Where the pocket goes"><path d="M100 300H200V400H100Z"/></g>'
)


def read(notes: str, body: str = BODY) -> Pattern:
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:layer="http://www.inkscape.org/namespaces/inkscape" '
        'width="600mm" height="700mm" viewBox="0 0 600 700">'
        f'<g fill="none" stroke="#000" stroke-width="0.5">{body}</g></svg>'
    )
    options = ReadOptions(notes=(InputFile("drawing.toml", notes.encode()),))
    return read_drawing(InputFile("drawing.svg", svg.encode()), options)


def pointed(role: str, at: tuple[str, str], piece: str = "", name: str = "") -> str:
    more = f'piece = "{piece}"\n' * bool(piece) + f'name = "{name}"\n' * bool(name)
    return f'[[lines]]\n{more}role = "{role}"\nat = ["{at[0]}", "{at[1]}"]\n'


def test_a_place_on_an_outline_names_its_piece() -> None:
    """And what the notes say of that piece then fits it."""
    notes = '[pieces.front]\ncopies = 2\ncut = "pair"\n' + pointed("cutting-line", ("5cm", "30cm"), "front")
    pattern = read(notes)
    assert [piece.ident for piece in pattern.pieces] == ["front", "piece-2"]
    assert pattern.note("front").copies == 2


def test_a_place_on_a_line_gives_it_its_role() -> None:
    """The nearest line within 2 mm; here one stands 1.5 mm off and the next one far."""
    (line,) = read(pointed("grading-line", ("20.15cm", "50cm"))).lines(role=Role.GRADING)
    assert line.path.bounds().x0 == pytest.approx(200.0)
    assert not line.tag.was_found


def test_a_place_on_an_edge_between_two_corners_names_that_edge() -> None:
    """The outline stays one line; its edge can be sewn."""
    notes = pointed("cutting-line", ("35cm", "40cm"), name="side") + pointed(
        "cutting-line", ("45cm", "20cm"), name="edge"
    )
    seam = '[[seams]]\nfirst = "piece-1.side"\nsecond = "piece-2.edge"\n'
    pattern = read(notes + seam)
    (side,) = pattern.lines(name="side")
    assert side.path.length() == pytest.approx(600.0)
    assert not side.style.leaves_ink
    assert len(pattern.lines(piece="piece-1", role=Role.CUTTING)) == 2


def test_an_edge_pointed_at_as_the_fold_is_laid_on_the_fold() -> None:
    pattern = read(pointed("fold-line", ("5cm", "30cm")))
    (fold,) = pattern.lines(role=Role.FOLD)
    assert fold.path.bounds().x0 == fold.path.bounds().x1 == pytest.approx(50.0)
    assert pattern.note("piece-1").cut is CutAs.FOLD


def test_a_colour_gives_its_role_to_all_lines_of_it() -> None:
    notes = '[[lines]]\nrole = "placement-line"\ncolour = "#c00"\n'
    assert len(read(notes).lines(role=Role.PLACEMENT)) == 2


def test_a_layer_gives_its_role_to_all_lines_on_it_and_its_name_to_a_piece() -> None:
    notes = '[[lines]]\npiece = "vorne"\nlayer = "Front"\n'
    notes += '[[lines]]\nrole = "placement-line"\nlayer = "Where the pocket goes"\n'
    pattern = read(notes, LAYERS)
    assert [piece.ident for piece in pattern.pieces] == ["vorne"]
    assert len(pattern.lines(piece="vorne", role=Role.PLACEMENT)) == 1


@pytest.mark.parametrize(
    ("notes", "says"),
    [
        (
            pointed("grading-line", ("25cm", "50cm")),
            r"line 3: lines.at: no line passes 25.0 cm.*is 50 mm off",
        ),
        (pointed("placement-line", ("10cm", "20.15cm")), r"more than one line passes 10.0 cm.*point where only one is"),
        ('[[lines]]\nrole = "notch"\nlayer = "Frnt"\n', "nothing is drawn on the layer 'Frnt'"),
        ('[[lines]]\nrole = "notch"\ncolour = "#0c0"\n', "nothing is drawn on the colour #00cc00"),
        ('[[lines]]\nrole = "notch"\ncolour = "reddish"\n', 'must be a colour such as "#cc0000"'),
        ('[[lines]]\nrole = "notch"\nat = ["1cm"]\n', "a place is two lengths"),
        ('[[lines]]\nrole = "notch"\nat = ["1cm", "2cm"]\nlayer = "a"\n', "leave one of them out"),
        ('[[lines]]\npiece = "front"\nat = ["5cm", "30cm"]\n', "role, is missing|role: is missing"),
        ('[[lines]]\nlayer = "Front"\n', "so is the piece"),
    ],
)
def test_what_hits_nothing_or_too_much_is_refused_with_the_line_of_the_notes(notes: str, says: str) -> None:
    with pytest.raises(InputUnfit, match=says):
        read(notes)


def test_the_notes_are_stronger_than_what_the_drawing_says() -> None:
    """A class that is wrong is put right without touching the drawing."""
    body = (
        '<g class="piece" id="front"><path class="cutting-line" d="M50 50H350V650H50Z"/>'
        '<path class="grainline" d="M200 60V640"/></g>'
    )
    pattern = read(pointed("grading-line", ("20cm", "50cm"), "front"), body)
    (line,) = pattern.lines(role=Role.GRADING)
    assert isinstance(line, Line) and not pattern.lines(role=Role.GRAINLINE)
