"""One reading of roles: what the drawing shows, what it says, what its notes say, alike for every operation."""

from __future__ import annotations

from dataclasses import replace

import pytest

import tiling
from tests.content.pages import pdf_of
from tiling.failures import InputUnfit
from tiling.notes import CutAs
from tiling.pattern import FindingKind, Pattern, Role
from tiling.reading.gather import read_drawings
from tiling.reading.options import ReadOptions
from tiling.reading.roles import with_roles

MM = 72 / 25.4
SHEET = '<svg xmlns="http://www.w3.org/2000/svg" width="500mm" height="600mm" viewBox="0 0 500 600">{}</svg>'
LINES = """
[drawn-for]
waist = "60cm"
[pieces.front]
title = "Front"
copies = 2
cut = "pair"
[[lines]]
piece = "front"
role = "grading-line"
name = "width"
points = [["100mm", "40mm"], ["100mm", "410mm"]]
[[lines]]
piece = "front"
role = "grainline"
points = [["70mm", "100mm"], ["70mm", "300mm"]]
[[lines]]
piece = "front"
role = "placement-line"
name = "waist"
points = [["50mm", "150mm"], ["200mm", "150mm"]]
"""


def file(text: str, name: str = "smock.svg") -> tiling.InputFile:
    return tiling.InputFile(name, text.encode())


def read(body: str, notes: str = "") -> Pattern:
    given = (file(notes, "smock.toml"),) if notes else ()
    return read_drawings([file(SHEET.format(body))], ReadOptions(notes=given))


def plain_pdf() -> tiling.InputFile:
    """A PDF without roles: one outline, 150 by 350 mm, upright on a page of 210 by 450 mm."""
    height = 450
    corners = [(50, 50), (200, 50), (200, 400), (50, 400)]
    points = [f"{x * MM:.4f} {(height - y) * MM:.4f}" for x, y in corners]
    content = f"1 w {points[0]} m {points[1]} l {points[2]} l {points[3]} l h S"
    return tiling.InputFile("smock.pdf", pdf_of(content.encode(), page={"/MediaBox": [0, 0, 210 * MM, height * MM]}))


def test_every_operation_knows_the_lines_of_the_notes() -> None:
    """A PDF without roles: its notes give it a piece, lines and a level; all jobs go by them, and pages still print."""
    drawing, reading = plain_pdf(), ReadOptions(notes=(file(LINES, "smock.toml"),))
    seen = tiling.look(tiling.LookRequest((drawing,), reading))
    assert [piece.title for piece in seen.pieces] == ["Front"]
    assert seen.roles == {Role.CUTTING: 1, Role.GRADING: 1, Role.GRAINLINE: 1, Role.PLACEMENT: 1}
    cloth = tiling.plan_cloth(tiling.PlanClothRequest((drawing,), reading)).report
    assert [(row.title, row.shares[0].copies) for row in cloth.cutting] == [("Front", 2)]
    (waist,) = [row for row in cloth.sizes if row.measure == "waist"]
    assert waist.finished == pytest.approx(300.0, abs=0.01)
    assert tiling.write_guide(tiling.WriteGuideRequest((drawing,), reading=reading)).booklet is not None
    printed = tiling.make_pages(tiling.MakePagesRequest((drawing,), reading)).pages
    assert printed is not None
    altered = tiling.alter(tiling.AlterRequest(drawing, tiling.Alteration(around=20.0), reading, "wider.svg"))
    assert altered.drawing is not None and altered.notes is not None
    again = ReadOptions(notes=(tiling.InputFile("wider.toml", altered.notes.content),))
    wider = tiling.InputFile("wider.svg", altered.drawing.content)
    changed = tiling.reprint(
        tiling.ReprintRequest((wider,), tiling.InputFile("smock-pages.pdf", printed.content), again)
    )
    assert changed.to_print and set(changed.shifts) == {"front"}


def test_an_altered_drawing_has_the_lines_of_its_notes_once() -> None:
    """They moved with their piece; the notes' copy beside it does not put them back where they were."""
    reading = ReadOptions(notes=(file(LINES, "smock.toml"),))
    first = tiling.alter(tiling.AlterRequest(plain_pdf(), tiling.Alteration(around=20.0), reading, "wider.svg"))
    assert first.drawing is not None and first.notes is not None
    again = ReadOptions(notes=(tiling.InputFile("wider.toml", first.notes.content),))
    pattern = read_drawings([tiling.InputFile("wider.svg", first.drawing.content)], again)
    assert len(pattern.lines(role=Role.GRADING)) == len(pattern.lines(role=Role.GRAINLINE)) == 1
    assert pattern.lines(name="waist")[0].path.length() == pytest.approx(160.0, abs=0.01)
    assert with_roles(pattern) is not None and len(with_roles(pattern).marks) == len(pattern.marks)


def test_lines_lie_on_their_own_drawing_where_several_are_one_layout() -> None:
    """The points in ``back.toml`` are measured on ``back.svg``, wherever that lies."""
    body = '<path d="M50 50H200V400H50Z" fill="none" stroke="#000"/>'
    front, back = (file(SHEET.format(body), name) for name in ("front.svg", "back.svg"))
    notes = (file(LINES, "front.toml"), file(LINES.replace("front", "back"), "back.toml"))
    pattern = read_drawings([front, back], ReadOptions(notes=notes))
    assert [piece.ident for piece in pattern.pieces] == ["front", "back"]
    tops = [pattern.lines(piece=ident, name="width")[0].path.hull.y0 for ident in ("front", "back")]
    assert tops == pytest.approx([40.0, 40.0 + 600.0 + 20.0])


def test_a_line_in_no_outline_is_left_out_and_said() -> None:
    """The drawing is still printed."""
    pattern = read('<path d="M50 50H200V400" fill="none" stroke="#000"/>', LINES)
    assert [finding.kind for finding in pattern.findings] == [FindingKind.NOTED_LINE_LEFT_OUT] * 3
    assert not pattern.pieces


PIECE = '<g class="piece" id="{0}"><path class="cutting-line" data-name="side" d="M10 10H200V300H10Z"/>{1}</g>'


def test_the_notes_of_a_deleted_piece_are_left_out_and_said() -> None:
    """A misspelt name is still refused, and so are notes that are another drawing's."""
    notes = """
[pieces.front]
copies = 2
[pieces.belt]
copies = 1
[[seams]]
first = "belt.edge"
second = "front.side"
[[seams]]
first = "front.side"
second = "front.side"
"""
    pattern = read(PIECE.format("front", ""), notes)
    (left_out,) = pattern.findings
    assert left_out.kind is FindingKind.NOTES_WITHOUT_PIECE and "'belt'" in left_out.text
    assert left_out.where == "smock.toml, line 4: pieces.belt"
    assert pattern.notes is not None and list(pattern.notes.pieces) == ["front"] and len(pattern.seams) == 1
    both = PIECE.format("front", "") + PIECE.format("belts", "")
    with pytest.raises(InputUnfit, match="no piece 'belt'; the nearest is 'belts'"):
        read(both, notes)
    with pytest.raises(InputUnfit, match="no piece 'front'"):
        read(PIECE.format("hood", ""), notes)


def test_only_what_is_sewn_makes_a_seam() -> None:
    """A grading line is no side of a seam; the nearest line that is one is named."""
    grading = '<path class="grading-line" data-name="siding" d="M100 5V305"/>'
    notes = '[[seams]]\nfirst = "front.siding"\nsecond = "front.side"\n'
    with pytest.raises(InputUnfit, match=r"line 2: seams.first: 'front.siding' is a grading line.*nearest is 'side'"):
        read(PIECE.format("front", grading), notes)


def test_an_allowance_is_for_a_line_that_there_is() -> None:
    """Whether or not it would be used."""
    sewn = '<path class="stitching-line" data-name="hem" d="M20 290H190"/>'
    notes = '[pieces.front]\nallowances = {{ {0} = "3cm" }}\n'
    assert not read(PIECE.format("front", sewn), notes.format("hem")).findings
    with pytest.raises(InputUnfit, match=r"line 2: pieces.front.allowances.hemm: .*no line named 'hemm'.*'hem'"):
        read(PIECE.format("front", sewn), notes.format("hemm"))


GRAIN = '<path class="grainline" d="M60 60V250"/>'
WORDS = '<text transform="translate({0} {1}) rotate({2})" font-size="5">{3}</text>'


@pytest.mark.parametrize(
    ("body", "x"),
    [
        ('<path class="cutting-line" data-name="fold" d="M10 10V300"/>', 10.0),
        (GRAIN + WORDS.format(16, 180, -90, "place on fold"), 10.0),
        (GRAIN + WORDS.format(196, 180, -90, "cut 1 on the fold"), 200.0),
        (WORDS.format(196, 180, -90, "im Stoffbruch"), 200.0),
        (GRAIN + WORDS.format(80, 150, 0, "cut 1 on the fold"), None),
        (GRAIN + WORDS.format(80, 18, 0, "fold up here"), None),
        (GRAIN, None),
    ],
)
def test_a_fold_is_known_by_its_name_or_by_the_words_beside_it(body: str, x: float | None) -> None:
    """Not by words amid a piece with two like edges, nor by words about something else."""
    folds = read(PIECE.format("front", body)).lines(role=Role.FOLD)
    assert [line.path.hull.centre.x for line in folds] == ([] if x is None else [x])


def test_the_only_edge_along_the_grain_is_the_fold_that_the_words_mean() -> None:
    """A skirt with a slanting side: its title says that it is cut on the fold."""
    skirt = '<g class="piece" id="skirt"><path class="cutting-line" d="M10 10H120L180 400H10Z"/>{}</g>'
    words = GRAIN + WORDS.format(70, 150, 0, "cut 1 on fold")
    pattern = read(skirt.format(words))
    assert [line.path.hull.centre.x for line in pattern.lines(role=Role.FOLD)] == [10.0]
    assert pattern.note("skirt").cut is CutAs.FOLD
    single = read(skirt.format(words), '[pieces.skirt]\ncut = "single"\n')
    assert not single.lines(role=Role.FOLD) and single.note("skirt").cut is CutAs.SINGLE


def test_notes_that_leave_the_cut_open_leave_it_to_the_drawing() -> None:
    """A title in the notes does not take a piece off its fold."""
    fold = '<path class="fold-line" d="M10 10V300"/>'
    pattern = read(PIECE.format("front", fold), '[pieces.front]\ntitle = "Front"\n')
    assert (pattern.note("front").cut, pattern.note("front").copies) == (CutAs.FOLD, 1)
    assert replace(pattern, notes=None).note("front").cut is CutAs.FOLD
