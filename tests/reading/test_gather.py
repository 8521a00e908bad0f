"""Whatever is given becomes one layout: by content, with its notes, several drawings below one another."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.content.pages import pdf_of
from tests.drawings import drawing_at, drawings_at
from tiling.commands.remedies import in_options
from tiling.failures import InputUnfit
from tiling.pattern import Finding, FindingKind, Layer, Line, Pattern, Sheet, SizeBasis, Tag, pieces_of
from tiling.reading.findings import names_in_boxes
from tiling.reading.gather import GAP, ReadOptions, gather
from tiling.shapes import Affine, Box, Path, Point, Size
from tiling.style import Stroke, Style

PIECE = (
    '<svg xmlns="http://www.w3.org/2000/svg" {size}><g class="piece" id="front"><path class="cutting-line"'
    ' data-name="side" stroke="#000" d="M1 1L9 9"/></g></svg>'
)
STATED = 'width="10mm" height="20mm" viewBox="0 0 10 20"'


@pytest.fixture
def folder(tmp_path):
    """Writes files and gives their paths."""

    def write(**files):
        paths = []
        for name, content in files.items():
            path = tmp_path / name.replace("_", ".")
            path.write_bytes(content if isinstance(content, bytes) else content.encode())
            paths.append(path)
        return paths

    return write


def test_the_content_decides_not_the_name(folder):
    """An SVG called .pdf is read as SVG; text called .svg or .pdf is refused by name."""
    (path,) = folder(smock_pdf=PIECE.format(size=STATED))
    assert len(drawing_at(path).marks) == 1
    for content in ("hello there", b"\x89PNG\r\n", b"PK\x03\x04"):
        (path,) = folder(smock_svg=content)
        with pytest.raises(InputUnfit, match=r"smock\.svg: is neither an SVG nor a PDF"):
            drawing_at(path)


@pytest.mark.parametrize("name", ["empty", "missing", "folder"])
def test_no_file_no_drawing(folder, tmp_path, name):
    """Each with its own word."""
    path = tmp_path / "x.svg"
    if name == "folder":
        path.mkdir()
    elif name == "empty":
        path.touch()
    with pytest.raises(InputUnfit, match="is a folder" if name == "folder" else "empty|can't be opened"):
        drawing_at(path)


def test_an_old_key_of_the_notes_is_a_finding(folder):
    """It says where, and what the key is called now; the notes count as they stand."""
    drawing, _ = folder(smock_svg=PIECE.format(size=STATED), smock_toml="[pieces.front]\ninterface = 2")
    pattern = drawing_at(drawing)
    assert pattern.notes.pieces["front"].interfacing == 2
    (finding,) = pattern.findings
    assert finding.number == 21
    assert finding.where.endswith("smock.toml, line 2: pieces.front.interface")
    assert "is called interfacing now" in finding.text


def test_notes_beside_the_drawing_are_attached(folder):
    """smock.toml for smock.svg; its titles hold."""
    path, _ = folder(
        smock_svg=PIECE.format(size=STATED), smock_toml='title = "Smock"\n[pieces.front]\ntitle = "Front half"'
    )
    pattern = drawing_at(path)
    assert (pattern.title, pattern.pieces[0].title) == ("Smock", "Front half")
    assert pattern.notes is not None and pattern.note("front").copies == 1


def test_notes_can_be_named_and_must_fit(folder):
    """The named file takes the place of the one beside."""
    path, _, other = folder(
        smock_svg=PIECE.format(size=STATED), smock_toml="title = 1", other_toml='[pieces.back]\ntitle = "x"'
    )
    with pytest.raises(InputUnfit, match=r"other\.toml, line 1: pieces.back: the drawing has no piece 'back'"):
        drawing_at(path, notes=other)
    with pytest.raises(InputUnfit, match=r"smock\.toml, line 1: title: must be text"):
        drawing_at(path)


def test_a_page_number_means_nothing_to_an_svg(folder):
    """Page 1 is the drawing itself."""
    (path,) = folder(smock_svg=PIECE.format(size=STATED))
    assert len(drawing_at(path, ReadOptions(pages=(1,))).marks) == 1
    with pytest.raises(InputUnfit, match="one page only"):
        drawing_at(path, ReadOptions(pages=(2,)))


def test_px_mean_nothing_to_a_pdf_and_that_is_said(folder):
    """Somebody who asks for another size must not believe to have got it."""
    (path,) = folder(smock_pdf=pdf_of(b"1 w 10 10 m 200 150 l S"))
    plain, asked = (drawing_at(path, ReadOptions(px_per_inch=px)) for px in (None, 72.0))
    assert asked.size == plain.size
    (said,) = [finding for finding in asked.findings if finding not in plain.findings]
    assert said.kind is FindingKind.SIZE_ASSUMED
    assert in_options(said.text, said.remedy) == (
        "A PDF states its size in real units, so --px-per-inch did not change it."
    )


def test_several_drawings_lie_below_one_another(folder):
    """20 mm apart; a piece id used twice gets a number; the least certain size is told."""
    paths = folder(a_svg=PIECE.format(size=STATED), b_svg=PIECE.format(size='width="960" height="96"'))
    pattern = drawings_at(paths)
    assert (pattern.size.width, pattern.size.height) == pytest.approx((254.0, 20.0 + GAP + 25.4))
    assert [sheet.name for sheet in pattern.sheets] == ["a.svg", "b.svg"]
    assert (pattern.sheets[1].place.y0, pattern.sheets[1].first_mark) == (40.0, 1)
    assert pattern.marks[1].path.points[0] == pytest.approx([25.4 / 96, 40.0 + 25.4 / 96])
    assert [(piece.ident, piece.marks) for piece in pattern.pieces] == [("front", (0,)), ("front-2", (1,))]
    assert (pattern.size_basis, pattern.px_per_inch) == (SizeBasis.PIXELS, 96.0)
    assert pattern.findings[0].where == "b.svg"


def test_notes_of_several_drawings_are_joined_or_refused(folder):
    """Two files may not speak of one piece."""
    back = PIECE.replace("front", "back")
    paths = folder(a_svg=PIECE.format(size=STATED), b_svg=back.format(size=STATED))
    folder(
        a_toml='title = "A"\n[pieces.front]\ncopies = 2', b_toml='[pieces.back]\ncopies = 3\n[drawn-for]\nhip = "1m"'
    )
    notes = drawings_at(paths).notes
    assert notes is not None
    assert ({n: p.copies for n, p in notes.pieces.items()}, notes.drawn_for) == (
        {"front": 2, "back": 3},
        {"hip": 1000.0},
    )
    folder(b_toml="[pieces.front]\ncopies = 3")
    with pytest.raises(InputUnfit, match=r"b\.toml: speaks of the piece 'front', and so does .*a\.toml"):
        drawings_at(paths)
    folder(b_toml="\n[pieces.hood]\ncopies = 3")
    with pytest.raises(InputUnfit, match=r"b\.toml, line 2: pieces\.hood: the drawing has no piece 'hood'"):
        drawings_at(paths)


def page(number, height, piece):
    """One page of a document, its content turned by a quarter."""
    line = Line(Path.polyline([Point(0, 0), Point(5, height)]), Style(Stroke(1.0)), Tag(piece, layer="cut"))
    turned = Affine(0.0, 1.0, -1.0, 0.0, 5.0, 0.0)
    return Pattern(
        "smock", Size(5 + number, height), (line,), pieces_of([line]), (Layer("cut", number == 2),),
        (Sheet(f"page {number}", Box(0, 0, 5 + number, height), turned),),
        findings=(Finding(FindingKind.PICTURE_NOT_READ, "x", f"page {number}"),),
    )  # fmt: skip


def test_pages_keep_what_leads_back_to_their_own_content():
    """to_layout maps the page's own mm to the layout; item i of page k belongs to mark first_mark + i."""
    pattern = gather([page(1, 10.0, ""), page(2, 30.0, "a"), page(3, 50.0, "a")])
    assert pattern.size == Size(8, 130)
    assert [sheet.first_mark for sheet in pattern.sheets] == [0, 1, 2]
    moved = pattern.sheets[2].to_layout.point(Point(1, 2))
    assert (moved.x, moved.y) == (3.0, 81.0)
    assert pattern.sheets[2].place == Box(0, 80, 8, 130)
    assert [piece.ident for piece in pattern.pieces] == ["a", "a-2"]
    assert pattern.layers == (Layer("cut", True),)
    assert [finding.where for finding in pattern.findings] == ["page 1", "page 2", "page 3"]


def test_one_page_is_left_as_it_is_and_none_is_refused():
    """No copy without need."""
    only = replace(page(1, 10.0, ""), title="only")
    assert gather([only]) is only
    with pytest.raises(InputUnfit, match="no page"):
        gather([])


def test_a_name_that_no_font_can_write_is_told_once(folder):
    """Titles and pieces' names stand on our own pages: Cyrillic is written, cuneiform isn't."""
    notes = 'title = "Рабочий халат"\n[pieces.front]\ntitle = "\U00012000\U00012001"\n'
    (drawing, _) = folder(a_svg=PIECE.format(size=STATED), a_toml=notes)
    (finding,) = names_in_boxes(drawing_at(drawing))
    assert finding.kind is FindingKind.GLYPH_MISSING
    assert finding.where == "piece front"
    assert "boxes" in finding.text


def test_a_rule_of_one_file_with_the_name_of_anothers_measure_is_refused(folder):
    """Which of the two a third rule means could not be told."""
    back = PIECE.replace("front", "back")
    paths = folder(a_svg=PIECE.format(size=STATED), b_svg=back.format(size=STATED))
    folder(a_toml='[rules]\nhip = "10cm"\n', b_toml='[drawn-for]\nhip = "100cm"\n')
    with pytest.raises(InputUnfit, match=r"a\.toml: the rule 'hip' has the name of a body measure in .*b\.toml"):
        drawings_at(paths)


def test_a_rule_of_the_first_file_with_the_name_of_the_thirds_measure_is_refused(folder):
    """Not only of neighbours."""
    pieces = {f"{name}_svg": PIECE.replace("front", name).format(size=STATED) for name in ("a", "b", "c")}
    paths = folder(**pieces)
    folder(a_toml='[rules]\nhip = "10cm"\n', b_toml='title = "b"\n', c_toml='[drawn-for]\nhip = "100cm"\n')
    with pytest.raises(InputUnfit, match=r"a\.toml: the rule 'hip' has the name of a body measure in .*c\.toml"):
        drawings_at(paths)


def test_two_rules_of_one_name_that_say_different_things_are_refused(folder):
    """The second file's notions would be worked out by the first one's rule."""
    paths = folder(a_svg=PIECE.format(size=STATED), b_svg=PIECE.replace("front", "back").format(size=STATED))
    folder(a_toml='[rules]\njoin = "25mm"\n', b_toml='[rules]\njoin = "20mm"\n')
    with pytest.raises(InputUnfit, match=r"b\.toml: the rule 'join' says something else than in .*a\.toml"):
        drawings_at(paths)
    folder(b_toml='[rules]\njoin = "25mm"\n')
    assert drawings_at(paths).notes.rules == {"join": "25mm"}
