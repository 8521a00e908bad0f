"""Drawings that say nothing of their lines are understood."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path as File

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.planning.drawings import needed_open_data
from tests.recognition.drawings import DRAWINGS, Drawing
from tests.recognition.scores import KINDS, Score, score
from tiling.files.inputs import InputFile
from tiling.notes import CutAs
from tiling.pattern import Line, Pattern, Picture, Role
from tiling.reading.gather import read_drawing
from tiling.recognition.strands import strands_of
from tiling.recognition.told import in_one_line, questions_on
from tiling.recognition.understand import understood, with_gaps
from tiling.recognition.understanding import AsideKind
from tiling.shapes import Affine, Size

LEAST = {"pieces": 0.95, "folds": 0.95}
"""Precision and recall that are aimed at; 0.9 for all other kinds."""


def svg(body: str, size: str = 'width="600mm" height="900mm" viewBox="0 0 600 900"') -> InputFile:
    """A drawing of thin black lines."""
    words = f'<svg xmlns="http://www.w3.org/2000/svg" {size}><g fill="none" stroke="#000">{body}</g></svg>'
    return InputFile("drawing.svg", words.encode())


SAMPLE = File(__file__).resolve().parents[2] / "samples" / "potting-smock.svg"


@pytest.fixture(scope="module")
def scores() -> dict[str, Score]:
    """Every drawing's score."""
    found = {}
    for drawing in DRAWINGS:
        pattern = read_drawing(drawing.file())
        found[drawing.name] = score(drawing, pattern, understood(pattern))
    return found


@pytest.mark.parametrize("kind", KINDS)
def test_thirty_drawings_are_understood_as_they_were_drafted(scores: dict[str, Score], kind: str) -> None:
    """Truth: the drafts the drawings were made from, drawn in thirty ways of general programs."""
    total = Score()
    for one in scores.values():
        total.add(one)
    least = LEAST.get(kind, 0.9)
    assert total.there[kind] > 10
    assert total.precision(kind) >= least, total.wrong
    assert total.recall(kind) >= least, total.wrong


def test_the_score_tells_a_wrong_understanding() -> None:
    """Of another drawing of the same sheet nothing is right."""
    one, other = DRAWINGS[0], next(drawing for drawing in DRAWINGS if drawing.name == "shirt-plain")
    pattern = read_drawing(other.file())
    wrong = score(one, pattern, understood(pattern))
    assert wrong.right["pieces"] < 2
    assert wrong.wrong


@pytest.fixture(scope="module")
def bare() -> Pattern:
    """The sample with all classes, names and ids taken away; its looks are kept as style attributes."""
    text = SAMPLE.read_text(encoding="utf-8")
    looks = dict(re.findall(r"\.([a-z-]+),\.key-[a-z-]+\{([^}]*)\}", text))

    def styled(match: re.Match[str]) -> str:
        look = looks.get(match[1].removeprefix("key-"))
        return f'style="{look}"' if look else ""

    text = re.sub(r'class="([^"]*)"', styled, text)
    text = re.sub(r' (?:data-[a-z]+|id)="[^"]*"', "", text)
    text = re.sub(r"<g ?>\s*<title>[^<]*</title>", "<g>", text)
    assert "class=" not in text
    return read_drawing(InputFile("smock.svg", text.encode()))


def test_the_sample_without_classes_shows_its_pieces(bare: Pattern) -> None:
    seen = understood(bare)
    told = {p.title.value: (p.copies and p.copies.value, p.cut and p.cut.value) for p in seen.pieces}
    assert told == {
        "Front": (1, CutAs.FOLD),
        "Back": (1, CutAs.FOLD),
        "Sleeve": (2, CutAs.PAIR),
        "Pocket": (2, None),
        "Neck facing": (1, CutAs.FOLD),
    }
    notches = {p.title.value: sum(line.role.value is Role.NOTCH for line in p.lines) for p in seen.pieces}
    assert notches == {"Front": 2, "Back": 3, "Sleeve": 4, "Pocket": 0, "Neck facing": 0}


def test_no_line_of_the_sample_is_taken_for_what_it_is_not(bare: Pattern) -> None:
    """Truth: the classes that were taken away. What stands must agree; the rest may be asked about."""
    drawn = read_drawing(InputFile("smock.svg", SAMPLE.read_bytes()))
    seen = understood(bare)
    roles = {
        i: line.role.value for piece in seen.pieces for line in piece.lines if line.role.stands for i in line.marks
    }
    for index, role in roles.items():
        mark = drawn.marks[index]
        assert isinstance(mark, Line)
        assert mark.tag.role is role, (index, mark.tag)


@pytest.mark.parametrize("name", ["lraglan.svg", "ltshirt.svg"])
def test_outlines_from_open_data_get_no_wrong_role(name: str) -> None:
    """Four outlines each, nothing in them: four pieces and no line that stands for anything."""
    pattern = read_drawing(InputFile(name, (needed_open_data() / "garment-svg" / name).read_bytes()))
    seen = understood(pattern)
    assert len(seen.pieces) == 4
    assert all(piece.outline.role.stands and not piece.lines and piece.cut is None for piece in seen.pieces)
    assert not seen.asides


def test_a_gap_in_an_outline_is_told_with_its_place() -> None:
    pattern = read_drawing(svg('<path d="M50 50H300V700"/><path d="M303.2 700H50V50"/>'))
    seen = with_gaps(pattern, understood(pattern))
    assert seen.pieces == ()
    (gap,) = seen.open_ends
    assert gap.gap == pytest.approx(3.2, abs=1e-6)
    assert (gap.at.x, gap.at.y) == pytest.approx((301.6, 700.0), abs=1e-6)
    assert "0.3 cm apart at 30.2 cm from the left and 70.0 cm from the top" in in_one_line(seen)


def test_a_scan_holds_no_lines() -> None:
    picture = Picture(b"", Affine.scale(200.0, 300.0))
    seen = understood(Pattern("scan", Size(200.0, 300.0), (picture,)))
    assert not seen.lines_drawn
    assert "no lines are drawn" in in_one_line(seen)


def test_what_nothing_says_is_asked() -> None:
    """A small bare outline, a nameless one, and a line that may be one thing or another."""
    body = '<path d="M50 50H350V650H50Z"/><path d="M50 300H350"/><rect x="450" y="50" width="30" height="30"/>'
    seen = understood(read_drawing(svg(body)))
    texts = [question.text for question in questions_on(seen)]
    assert any("called" in text for text in texts)
    assert any("how many are cut" in text for text in texts)
    assert any("is this line in" in text for text in texts)
    assert any("small outline" in text for text in texts)


def test_letters_of_unknown_scripts_are_titles() -> None:
    body = '<path d="M50 50H350V650H50Z"/><text x="150" y="300" font-size="14" fill="#000" stroke="none">Полочка</text>'
    (piece,) = understood(read_drawing(svg(body))).pieces
    assert piece.title.value == "Полочка"


def test_a_frame_a_key_a_square_and_a_ruler_are_no_pieces() -> None:
    drawing = next(one for one in DRAWINGS if one.name == "apron-framed")
    seen = understood(read_drawing(drawing.file()))
    assert {aside.kind.value for aside in seen.asides} == {AsideKind.FRAME, AsideKind.TEST_SQUARE, AsideKind.LEGEND}


def test_the_order_of_drawing_changes_nothing_that_is_understood() -> None:
    drawing: Drawing = next(one for one in DRAWINGS if one.name == "shirt-seam-lines")
    pattern = read_drawing(drawing.file())
    turned = replace(pattern, marks=tuple(reversed(pattern.marks)))
    told = [{(p.title.value, len(p.edges), len(p.lines)) for p in understood(one).pieces} for one in (pattern, turned)]
    assert told[0] == told[1]


def test_a_label_drawn_as_outlines_makes_no_strand_of_a_dot() -> None:
    """What leaves no ink, or is a single point, is no line."""
    pattern = read_drawing(svg('<path d="M50 50H350V650H50Z"/><path d="M60 60Z" /><path d="M1 1H9" stroke="#fff"/>'))
    assert len(strands_of(pattern.marks)) == 1


place = st.tuples(*[st.integers(0, 7).map(lambda n: 20.0 * n + 60.0)] * 2)
SHAPE = st.tuples(st.lists(place, min_size=1, max_size=5), st.booleans(), st.sampled_from(["none", "#000"])).map(
    lambda drawn: (
        f'<path d="M{" L".join(f"{x} {y}" for x, y in drawn[0])}{"Z" if drawn[1] else ""}" fill="{drawn[2]}"/>'
    )
)


@settings(max_examples=150, deadline=None)
@given(st.lists(SHAPE, min_size=1, max_size=12))
def test_whatever_lies_in_a_piece_is_understood(shapes: list[str]) -> None:
    """Lines of no length, outlines of no area, lines that lie on one another: on a coarse grid most happens."""
    outline = '<path d="M50 50H500V800H50Z"/><path d="M60 60H490V790H60Z"/>'
    seen = understood(read_drawing(svg(outline + "".join(shapes))))
    assert seen.pieces


def test_a_rectangle_of_no_width_is_no_diamond() -> None:
    """Programs draw such for bars that show nothing; there is no rectangle around its corners."""
    flat = '<path d="M50 50H500V800H50Z"/><path d="M100 100L100 100L100 300L100 300Z"/>'
    (piece,) = understood(read_drawing(svg(flat))).pieces
    assert Role.PLACEMENT not in {line.role for line in piece.lines}
