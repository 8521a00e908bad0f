"""The notes beside a drawing: what they may say, and how each mistake is answered."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tiling.failures import InputUnfit
from tiling.files.inputs import InputFile
from tiling.notes import CutAs, DrawnLine, LineRef, Notes, StepNote, Wearer
from tiling.pattern import Line, Pattern, Tag, pieces_of
from tiling.reading.notes import read_notes
from tiling.reading.notes_check import check_notes
from tiling.shapes import Path, Point, Size
from tiling.style import Stroke, Style

WHOLE = """\
title = "Potting smock"
summary = "Two pockets."
wearer = "child"
garment = "smock"

[drawn-for]
waist = "72cm"

[ease]
waist = "4in"

[pieces.front]
title = "Front"
copies = 1
cut = "fold"
interfacing = 1
seam-allowance = "3/8in"
allowances = { hem = "40mm" }
taper = "50%"
wide-end = "start"

[pieces.sleeve]
copies = 2
cut = "pair"
cloth = "lining"

[[seams]]
name = "side"
first = "front.side"
second = ["back.side", "back.vent"]
ease = "5mm"

[[seams]]
first = ["sleeve.cap"]
second = ["front.armhole"]

[[notions]]
name = "cuff elastic"
rule = "wrist + join"
count = 2
step = "10cm"
kind = "elastic"
place = "sleeve"

[rules]
join = "25mm"
turns = 2

[[lines]]
piece = "front"
role = "grading-line"
name = "side"
points = [["10cm", "20cm"], ["30cm", "-1in"]]
"""


def toml(text: str | bytes) -> InputFile:
    return InputFile("smock.toml", text if isinstance(text, bytes) else text.encode())


@pytest.fixture
def noted():
    """Reads notes from their text."""

    def read(text: str | bytes) -> Notes:
        return read_notes(toml(text))

    return read


def test_every_key_reaches_its_value(noted):
    """Lengths in mm, shares as numbers, words as enumerations."""
    notes = noted(WHOLE)
    assert (notes.title, notes.wearer, notes.garment) == ("Potting smock", Wearer.CHILD, "smock")
    assert notes.drawn_for == {"waist": 720.0}
    assert notes.ease["waist"] == pytest.approx(101.6)
    front, sleeve = notes.pieces["front"], notes.pieces["sleeve"]
    assert (front.cut, front.interfacing, front.taper) == (CutAs.FOLD, 1, 0.5)
    assert front.seam_allowance == pytest.approx(9.525)
    assert (front.allowances, front.wide_end) == ({"hem": 40.0}, "start")
    assert (sleeve.copies, sleeve.cut, sleeve.cloth, sleeve.taper) == (2, CutAs.PAIR, "lining", None)
    assert notes.seams[0].second == (LineRef("back", "side"), LineRef("back", "vent"))
    assert (notes.seams[0].ease, notes.seams[1].name) == (5.0, "sleeve.cap to front.armhole")
    assert (notes.notions[0].rule, notes.notions[0].count, notes.notions[0].step) == ("wrist + join", 2, 100.0)
    assert notes.rules == {"join": "25mm", "turns": "2"}
    assert notes.lines == (DrawnLine("front", "grading-line", "side", (Point(100, 200), Point(300, -25.4))),)


def test_the_old_name_of_a_key_is_read_and_noted(noted):
    """As files written before the rename have it: the value counts, and file, line and new name are kept."""
    notes = noted(WHOLE.replace("interfacing = 1", "interface = 1"))
    assert notes.pieces["front"].interfacing == 1
    ((where, key),) = notes.outdated
    assert re.search(r"smock.toml, line \d+: pieces.front.interface$", where)
    assert key == "interfacing"
    assert noted(WHOLE).outdated == ()


def test_a_key_under_both_names_is_refused(noted):
    """Which of them counts can't be told."""
    with pytest.raises(InputUnfit, match=r"pieces\.front\.interface: is what interfacing was called; keep only one"):
        noted(WHOLE.replace("interfacing = 1", "interface = 1\ninterfacing = 1"))


def test_an_empty_file_is_notes_that_say_nothing(noted):
    """All defaults."""
    notes = noted("")
    assert replace(notes, file="") == Notes()


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('garment = "smock"', 'garmnet = "smock"', "line 4: garmnet: unknown key 'garmnet'; the nearest is 'garment'"),
        ("[pieces.front]", "[piece.front]", "line 12: piece: unknown key 'piece'; the nearest is 'pieces'"),
        ("copies = 1", "copys = 1", "line 14: pieces.front.copys: unknown key 'copys'; the nearest is 'copies'"),
        ("copies = 1", "copies = 0", "line 14: pieces.front.copies: must be a whole number from 1"),
        ("copies = 1", "copies = true", "line 14: pieces.front.copies: must be a whole number"),
        ("copies = 1", "copies = 1.5", "line 14: pieces.front.copies: must be a whole number"),
        ('cut = "fold"', 'cut = "folded"', "line 15: pieces.front.cut: 'folded' is not one of .*nearest is 'fold'"),
        ('"3/8in"', "10", "line 17: pieces.front.seam-allowance: needs its unit and quotes"),
        ('"3/8in"', '"10"', "line 17: pieces.front.seam-allowance: '10' has no unit; write 10mm"),
        ('"3/8in"', '"-1mm"', "line 17: pieces.front.seam-allowance: must not be negative"),
        ('"40mm"', "40", "line 18: pieces.front.allowances.hem: needs its unit"),
        ('"50%"', '"50"', "line 19: pieces.front.taper: .*per cent"),
        ('"50%"', '"150%"', "line 19: pieces.front.taper: must lie between"),
        ('"start"', '"top"', "line 20: pieces.front.wide-end: 'top' is not one of start, end"),
        ('"72cm"', '"-72cm"', "line 7: drawn-for.waist: must not be negative"),
        ('[drawn-for]\nwaist = "72cm"', 'drawn-for = "72cm"', "line 6: drawn-for: must be a table"),
        ('first = "front.side"', 'first = "side"', "line 29: seams.first: 'side' must be written as piece.line"),
        ('first = "front.side"', "first = 3", "line 29: seams.first: must name a line"),
        ('first = ["sleeve.cap"]', "first = []", "line 34: seams.first: must name a line"),
        ('second = ["front.armhole"]', "", "line 33: seams.second: must name a line"),
        ("[[seams]]\nname", "[seams]\nname", "line 3[0-9]"),
        ('rule = "wrist + join"', "", "line 37: notions.rule: is missing"),
        ('role = "grading-line"', 'role = "grading"', "line 51: lines.role: 'grading' is not one of .*'grading-line'"),
        ('"-1in"', '"1px"', "line 53: lines.points: 'px' is no unit|line 53: lines.points: '1px': 'px' is no unit"),
        ('[["10cm", "20cm"], ["30cm", "-1in"]]', '[["10cm", "20cm"]]', "line 53: lines.points: must list at least two"),
        ('[["10cm", "20cm"], ["30cm", "-1in"]]', '[["10cm"], ["30cm", "-1in"]]', "line 53: .*two lengths"),
        ('title = "Potting smock"', "title = Potting", "line 1: is not valid TOML"),
        ('join = "25mm"', 'join = "25mm"\njoin = "1mm"', "line 4[67]: is not valid TOML"),
        ('join = "25mm"', 'waist = "25mm"', "rules.waist: is the name of a body measure in .drawn-for. too"),
        ('join = "25mm"', 'max = "25mm"', "rules.max: 'max' has a meaning of its own in rules"),
        ('join = "25mm"', 'Waist = "25mm"', "rules.Waist: is the name of a body measure in .drawn-for. too"),
        ('join = "25mm"', 'cm = "25mm"', "rules.cm: 'cm' has a meaning of its own in rules"),
        ('join = "25mm"', 'In = "25mm"', "rules.In: 'In' has a meaning of its own in rules"),
        ('join = "25mm"', '"cord end" = "25mm"', "no rule can use the name 'cord end'; write it as words joined"),
        ('join = "25mm"', '2nd = "25mm"', "no rule can use the name '2nd'"),
        ('join = "25mm"', 'join = "25mm"\n[[steps]]\npicture = 3', "steps.picture: must be text in quotes"),
        ("[rules]", "[[steps]]\n[rules]", "steps.title: is missing; a step has at least a title"),
        (
            'join = "25mm"',
            'join = "25mm"\n[[steps]]\npicure = "a.png"',
            "unknown key 'picure'; the nearest is 'picture'",
        ),
        ("copies = 2", "copies = 2\ncopies = 3", "line 2[45]: is not valid TOML"),
    ],
)
def test_each_mistake_names_line_key_and_the_right_word(noted, old, new, words):
    """The file's name stands first."""
    assert old in WHOLE
    with pytest.raises(InputUnfit, match=words) as refused:
        noted(WHOLE.replace(old, new, 1))
    assert "smock.toml, line" in str(refused.value)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"x" * 50_000_000, "larger than 1 MB"),
        (b'title = "\xff"', "line 1: is not written in UTF-8"),
        (b"a = " + b"[" * 100_000, "valid TOML|nested too deeply"),
        (b"\x00", "not valid TOML"),
    ],
)
def test_files_that_are_no_notes_are_refused(noted, content, words):
    """Quickly, whatever their size."""
    with pytest.raises(InputUnfit, match=words):
        noted(content)


def test_lines_are_found_past_long_texts_and_comments(noted):
    """What looks like a key inside a text of several lines is none."""
    text = 'summary = """\ncopies = 3\n[x]\n"""\n# copies = 9\n[pieces.front] # the front\n  "copies" = -1\n'
    with pytest.raises(InputUnfit, match=r"line 7: pieces.front.copies"):
        noted(text)


def test_texts_lose_what_steers_terminals(noted):
    """Control characters and direction marks."""
    notes = noted('title = "a\\u202eb\\u001b[2Jc\\n  d"')
    assert notes.title == "ab [2Jc d"


def drawing():
    """A drawing that fits the notes."""
    style = Style(Stroke(0.5))
    path = Path.polyline([Point(0, 0), Point(9, 9)])
    names = [
        ("front", "side"),
        ("front", "hem"),
        ("front", "armhole"),
        ("back", "side"),
        ("back", "vent"),
        ("sleeve", "cap"),
    ]
    marks = tuple(Line(path, style, Tag(piece, name=name)) for piece, name in names)
    return Pattern("smock", Size(10, 10), marks, pieces_of(marks))


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (
            "[pieces.sleeve]",
            "[pieces.sleve]",
            "line 22: pieces.sleve: the drawing has no piece 'sleve'; the nearest is 'sleeve'",
        ),
        (
            '"front.side"',
            '"fornt.side"',
            "line 29: seams.first: the drawing has no piece 'fornt'; the nearest is 'front'",
        ),
        (
            '"back.vent"',
            '"back.went"',
            "line 30: seams.second: the piece 'back' has no line named 'went'; the nearest is 'vent'",
        ),
        ('"sleeve.cap"', '"sleeve.top"', "line 34: seams.first: the piece 'sleeve' has no line named 'top'"),
    ],
)
def test_what_the_drawing_lacks_is_named_with_the_nearest(noted, old, new, words):
    """A piece or a line that isn't there."""
    check_notes(noted(WHOLE), drawing(), noted(WHOLE).lines)
    wrong = WHOLE.replace(old, new, 1)
    with pytest.raises(InputUnfit, match=words):
        check_notes(noted(wrong), drawing(), noted(wrong).lines)


@pytest.mark.parametrize(("piece", "name"), [("front.v2", "side"), ("front", "side.left"), ("a b", "c d"), ("1", "2")])
def test_a_seam_names_its_lines_as_the_drawing_does(noted, piece, name):
    """Where dots in either name leave it open which part is the piece."""
    style, path = Style(Stroke(0.5)), Path.polyline([Point(0, 0), Point(9, 9)])
    marks = tuple(Line(path, style, Tag(ident, name=line)) for ident, line in ((piece, name), ("back", "side")))
    notes = noted(f'[[seams]]\nfirst = "{piece}.{name}"\nsecond = "back.side"\n')
    checked = check_notes(notes, Pattern("smock", Size(10, 10), marks, pieces_of(marks)), ())
    assert (checked.seams[0].first, checked.seams[0].second) == ((LineRef(piece, name),), (LineRef("back", "side"),))


@settings(deadline=None, max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_damaged_notes_are_read_or_refused(noted, data):
    """Any change of the text: the named refusal or a value, nothing else."""
    text = WHOLE
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(text)))
        text = text[:at] + data.draw(st.text(max_size=5)) + text[at + data.draw(st.integers(0, 12)) :]
    try:
        noted(text.encode("utf-8", "surrogatepass"))
    except InputUnfit as refused:
        assert "smock.toml" in str(refused)


def test_steps_are_read_in_order_with_their_paragraphs(noted):
    """An empty line parts two; other line ends are spaces."""
    steps = """
[[steps]]
title = "Shoulders"
text = '''Sew them
right sides together.

Press.'''
picture = "steps/shoulder.png"
[[steps]]
text = "Hem."
"""
    notes = noted(f"{WHOLE}{steps}")
    assert notes.steps == (
        StepNote("Shoulders", "Sew them right sides together.\nPress.", "steps/shoulder.png"),
        StepNote("", "Hem.", ""),
    )
