"""Drawings that say nothing of their lines are altered, cut out and printed as if they did."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path as File

import pytest
import shapely

import tiling
from tests.recognition.drawings import DRAWINGS
from tiling.failures import InputUnfit
from tiling.pattern import Line, Pattern, Role
from tiling.reading.gather import read_drawing
from tiling.reading.options import ReadOptions

SAMPLE = File(__file__).resolve().parents[2] / "samples" / "potting-smock.svg"


def bare_sample() -> tiling.InputFile:
    """The sample without classes, names and ids; its looks are kept as style attributes."""
    text = SAMPLE.read_text(encoding="utf-8")
    looks = dict(re.findall(r"\.([a-z-]+),\.key-[a-z-]+\{([^}]*)\}", text))
    text = re.sub(
        r'class="(?:key-)?([^"]*)"', lambda found: f'style="{looks[found[1]]}"' if found[1] in looks else "", text
    )
    text = re.sub(r' (?:data-[a-z]+|id)="[^"]*"', "", text)
    return tiling.InputFile("smock.svg", re.sub(r"<g ?>\s*<title>[^<]*</title>", "<g>", text).encode())


def altered(file: tiling.InputFile, alteration: tiling.Alteration, notes: bytes = b"") -> Pattern:
    reading = ReadOptions(notes=(tiling.InputFile(file.name.replace(".svg", ".toml"), notes),) if notes else ())
    made = tiling.alter(tiling.AlterRequest(file, alteration, reading))
    assert made.drawing is not None
    return read_drawing(tiling.InputFile("altered.svg", made.drawing.content))


def lines_of(pattern: Pattern) -> list[shapely.MultiLineString]:
    drawn = [mark.path for mark in pattern.marks if isinstance(mark, Line) and mark.style.leaves_ink]
    return [shapely.MultiLineString(path.flatten(0.001)) for path in drawn]


def most_apart(one: Pattern, other: Pattern) -> float:
    """The largest distance between lines in the same place of the order, mm."""
    pairs = zip(lines_of(one), lines_of(other), strict=True)
    return max(float(shapely.hausdorff_distance(a, b)) for a, b in pairs)


CONFIRMED = b"""
[[lines]]
piece = "sleeve"
role = "grading-line"
at = ["88.17cm", "45.48cm"]
[[lines]]
piece = "sleeve"
role = "grading-line"
at = ["117.12cm", "46.05cm"]
"""
"""What the sample's words leave open, and its drafter confirms: the two lines along the sleeve."""


@pytest.mark.parametrize(
    "alteration",
    [
        tiling.Alteration(longer=40.0),
        tiling.Alteration(longer=-25.0, pieces=("front", "back")),
        tiling.Alteration(around=40.0, pieces=("front", "back")),
    ],
    ids=["longer", "shorter", "wider"],
)
def test_the_bare_sample_is_altered_as_the_sample_with_its_classes(alteration: tiling.Alteration) -> None:
    """Every line that leaves ink lies where the other's does, to 0.01 mm."""
    with_classes = altered(tiling.InputFile("smock.svg", SAMPLE.read_bytes()), alteration)
    assert most_apart(with_classes, altered(bare_sample(), alteration, CONFIRMED)) < 0.01


def test_the_comparison_sees_another_amount() -> None:
    """A millimetre more is not the same drawing."""
    one, other = (altered(bare_sample(), tiling.Alteration(longer=amount)) for amount in (40.0, 41.0))
    assert most_apart(one, other) > 0.5


def plain_skirt(name: str = "skirt-pdf") -> tiling.InputFile:
    return next(drawing for drawing in DRAWINGS if drawing.name == name).file()


def test_a_skirt_from_a_pdf_gets_longer_with_no_line_added_by_hand() -> None:
    """Its lengthen line has words beside it; only the front has one."""
    before = read_drawing(plain_skirt())
    after = altered(plain_skirt(), tiling.Alteration(longer=30.0))
    for pattern in (before, after):
        assert [piece.ident for piece in pattern.pieces] == ["front", "back", "waistband"]
    tall = [p.lines(piece="front", role=Role.CUTTING)[0].path.bounds().height for p in (before, after)]
    assert tall[1] - tall[0] == pytest.approx(30.0, abs=0.01)


def test_a_skirt_from_a_pdf_gets_wider_with_two_lines_in_its_notes() -> None:
    """One grading line for each half, drawn in the notes; each piece is on the fold, so 4 layers share 40 mm."""
    notes = "".join(
        f'[[lines]]\npiece = "{piece}"\nrole = "grading-line"\npoints = [["{x}mm", "60mm"], ["{x}mm", "760mm"]]\n'
        for piece, x in (("front", 200), ("back", 530))
    )
    before = read_drawing(plain_skirt())
    file = replace(plain_skirt(), name="skirt.svg")
    after = altered(file, tiling.Alteration(around=40.0), notes.encode())
    for piece in ("front", "back"):
        wide = [p.lines(piece=piece, role=Role.CUTTING)[0].path.bounds().width for p in (before, after)]
        assert wide[1] - wide[0] == pytest.approx(10.0, abs=0.02)


def test_a_plain_pdf_has_a_cutting_list() -> None:
    """Titles, copies and folds from its texts, without any notes."""
    report = tiling.plan_cloth(tiling.PlanClothRequest((plain_skirt(),))).report
    rows = [(row.title, row.shares[0].copies, row.shares[0].cut.value) for row in report.cutting]
    assert rows == [("Front", 1, "fold"), ("Back", 1, "fold"), ("Waistband", 1, "single")]


def test_pages_reprinted_after_an_alteration_go_by_the_pieces_that_were_seen() -> None:
    """The first print of a bare drawing knows its pieces: only what changed is printed again."""
    first = tiling.make_pages(tiling.MakePagesRequest((bare_sample(),))).pages
    assert first is not None
    made = tiling.alter(tiling.AlterRequest(bare_sample(), tiling.Alteration(longer=20.0, pieces=("sleeve",))))
    assert made.drawing is not None
    new = tiling.InputFile("new.svg", made.drawing.content)
    changed = tiling.reprint(tiling.ReprintRequest((new,), tiling.InputFile(first.name, first.content)))
    assert set(changed.shifts) - {""} == {"front", "back", "sleeve", "pocket", "neck-facing"}
    assert 0 < len(changed.to_print) < 12


def test_no_closed_outline_is_refused_with_the_gap() -> None:
    body = b'<path d="M50 50H300V700" fill="none" stroke="#000"/><path d="M303.2 700H50V50" fill="none" stroke="#000"/>'
    svg = (
        b'<svg xmlns="http://www.w3.org/2000/svg" width="600mm" height="800mm" viewBox="0 0 600 800">'
        + body
        + b"</svg>"
    )
    with pytest.raises(InputUnfit, match=r"no piece is found.*0.3 cm apart at 30.2 cm from the left"):
        tiling.alter(tiling.AlterRequest(tiling.InputFile("gap.svg", svg), tiling.Alteration(longer=10.0)))


def test_a_line_across_a_named_place_lengthens_a_piece() -> None:
    """Thirty cm below the waist, across the grain; without any words, below the top. No line is drawn there."""
    place = tiling.NamedPlace("front", 300.0, "waist")
    mute = tiling.NamedPlace("Piece 1", 300.0, "top")
    after = altered(plain_skirt("skirt-mute"), tiling.Alteration(longer=30.0, places=(mute,)))
    before = read_drawing(plain_skirt("skirt-mute"))
    tall = [p.lines(piece="piece-1", role=Role.CUTTING)[0].path.bounds().height for p in (before, after)]
    assert tall[1] - tall[0] == pytest.approx(30.0, abs=0.01)
    other = altered(plain_skirt("skirt-plain"), tiling.Alteration(longer=30.0, places=(place,)))
    assert other.lines(piece="front", role=Role.LENGTHEN)


def test_a_line_along_the_grain_at_a_named_place_widens_a_piece() -> None:
    """Ten cm from the side, along the grain: the front is on the fold, so two layers share 20 mm."""
    place = tiling.NamedPlace("Front", 100.0, "side")
    before, after = read_drawing(plain_skirt("skirt-plain")), None
    after = altered(plain_skirt("skirt-plain"), tiling.Alteration(around=20.0, places=(place,)))
    wide = [p.lines(piece="front", role=Role.CUTTING)[0].path.bounds().width for p in (before, after)]
    assert wide[1] - wide[0] == pytest.approx(10.0, abs=0.02)


@pytest.mark.parametrize(
    ("place", "says"),
    [
        (("frnt", 300.0, "waist"), "no piece 'frnt'; the nearest is 'Front'"),
        (("front", 300.0, "wasit"), "no line called 'wasit'; the nearest is 'waist'"),
        (("front", 3000.0, "waist"), "300.0 cm|3000.0 mm from the waist lies outside"),
    ],
)
def test_a_place_that_is_none_is_refused(place: tuple[str, float, str], says: str) -> None:
    alteration = tiling.Alteration(longer=30.0, places=(tiling.NamedPlace(*place),))
    with pytest.raises(InputUnfit, match=says):
        tiling.alter(tiling.AlterRequest(plain_skirt("skirt-plain"), alteration))


SKIRT = tiling.InputFile(
    "skirt.svg",
    b'<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="700mm" viewBox="0 0 400 700">'
    b'<g fill="none" stroke="#000"><path d="M50 60C100 40 200 40 300 50C320 300 330 500 300 650H50Z"/>'
    b'<path d="M60 300H290"/><path d="M150 100V600"/><path d="M60 500L290 470" stroke="#c00"/></g></svg>',
)
POINTED = b"""
[[lines]]  # its outline
piece = "front"
role = "cutting-line"
at = ["5cm", "60cm"]
[[lines]]
piece = "front"
role = "cutting-line"
name = "foot"
at = ["20cm", "65cm"]
[[lines]]
piece = "front"
role = "cutting-line"
name = "curve"
at = ["31.7cm", "50.15cm"]
[[lines]]
piece = "front"
role = "lengthen-line"
at = ["12cm", "30cm"]
[[lines]]
piece = "front"
role = "grainline"
at = ["15cm", "50cm"]
[[lines]]
piece = "front"
role = "placement-line"
name = "pocket"
at = ["200mm", "48.17cm"]  # on the crossing with the line below
[[lines]]
piece = "front"
role = "grading-line"
points = [["20cm", "4cm"], ["20cm", "65.5cm"]]
"""


@pytest.mark.parametrize(
    "alteration",
    [
        tiling.Alteration(longer=40.0),
        tiling.Alteration(longer=-30.0),
        tiling.Alteration(around=60.0),
        tiling.Alteration(around=60.0, taper=0.0),
    ],
    ids=["longer", "shorter", "wider", "wider at one end"],
)
def test_places_in_notes_move_with_their_lines(alteration: tiling.Alteration) -> None:
    """Altered twice, every place of the notes' copy still means the line that the notes said it is, and no other."""
    drawing, notes = SKIRT, tiling.InputFile("skirt.toml", POINTED)
    for _ in range(2):
        made = tiling.alter(tiling.AlterRequest(drawing, alteration, ReadOptions(notes=(notes,)), "skirt.svg"))
        assert made.drawing is not None
        assert made.notes is not None
        drawing, notes = (tiling.InputFile(one.name, one.content) for one in (made.drawing, made.notes))
        read = read_drawing(drawing, ReadOptions(notes=(notes,)))
        assert read.notes is not None
        assert len(read.notes.pointed) == 6
        for line in read.notes.pointed:
            place = line.laid
            assert place is not None
            meant = [
                mark for mark in read.lines(piece="front")
                if mark.tag.role == line.role and line.name in {"", mark.tag.name}
            ]  # fmt: skip
            here = shapely.Point(place.x, place.y)
            near = [shapely.MultiLineString(mark.path.flatten(0.001)).distance(here) for mark in meant]
            assert min(near) < 0.1, (line, near)
    assert notes.content.count(b"# on the crossing with the line below") == 1


def office_skirt(folder: File) -> tiling.InputFile:
    """A skirt as an office program's PDF has it: two outlines in one stroke each, and words; no roles, no notes."""
    from reportlab.pdfgen.canvas import Canvas

    mm = 72 / 25.4
    canvas = Canvas(str(folder / "skirt.pdf"), pagesize=(600 * mm, 760 * mm))
    for x, words in ((30, "FRONT skirt"), (330, "BACK skirt")):
        path = canvas.beginPath()
        path.moveTo(x * mm, 60 * mm)
        path.lineTo(x * mm, 720 * mm)
        path.lineTo((x + 190) * mm, 720 * mm)
        path.curveTo((x + 210) * mm, 640 * mm, (x + 232) * mm, 560 * mm, (x + 240) * mm, 500 * mm)
        path.lineTo((x + 250) * mm, 60 * mm)
        path.close()
        canvas.drawPath(path)
        canvas.drawString((x + 60) * mm, 560 * mm, words)
        canvas.drawString((x + 60) * mm, 545 * mm, "cut 1 on the fold")
    canvas.save()
    return tiling.InputFile("skirt.pdf", (folder / "skirt.pdf").read_bytes())


def test_a_skirt_from_an_office_program_is_made_longer_and_cut_out_without_a_line_drawn(tmp_path: File) -> None:
    """Its fold is the edge that is square at both ends; its waist is named by its shape, in a PDF as in an SVG."""
    file = office_skirt(tmp_path)
    places = tuple(tiling.NamedPlace(f"{piece}-skirt", 300.0, "waist") for piece in ("front", "back"))
    pattern = altered(file, tiling.Alteration(longer=30.0, places=places))
    heights = [piece_box.height for piece_box in (_reach(pattern, piece.ident) for piece in pattern.pieces)]
    assert heights == pytest.approx([690.0, 690.0], abs=0.1)
    report = tiling.plan_cloth(tiling.PlanClothRequest((file,))).report
    assert [[(share.copies, share.cut.value) for share in row.shares] for row in report.cutting] == [[(1, "fold")]] * 2
    assert all(row.counted for row in report.cutting)


def _reach(pattern: Pattern, piece: str) -> tiling.shapes.Box:
    from tiling.shapes import Box

    box = Box.around(line.path.bounds() for line in pattern.lines(piece=piece) if line.tag.role is Role.CUTTING)
    assert box is not None
    return box
