"""Text as outlines: fonts chosen by name and by glyphs, shaping, and the order of scripts that run to the left."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import forget
from tests.fonts.making import make_font
from tiling.fonts.machine import FOLDERS_VARIABLE, installed
from tiling.fonts.shaping import (
    Direction,
    in_reading_order,
    levels,
    missing_glyphs,
    plain_font,
    shaped,
    visual_order,
    width_of,
)

HEIGHTS = {"א": 100, "ב": 200, "ג": 300}
"""Letters told apart by the height of their boxes."""


def boxes(text: str, font: str = "Helvetica", direction: Direction = Direction.BY_TEXT) -> list[tuple[int, int]]:
    """Left edge and height of every glyph's box, from left to right, in thousandths of the em."""
    found = [sub.hull for sub in shaped(text, font, direction).outline.subpaths()]
    return sorted((round(box.x0 * 1000), round(-box.y0 * 1000)) for box in found)


def test_latin_in_known_fonts_needs_no_shaping() -> None:
    """It is written as text, in the font carried along, and no folder is looked into."""
    assert plain_font("Helvetica-Bold", "Front 2 × Łód Ж ⅜″") == "PageseamSans-Bold"
    assert plain_font("Times-Roman", "é") == "PageseamSerif-Regular"
    assert plain_font("Helvetica", "布") is None


@pytest.mark.parametrize("curves", ["glyf", "CFF"])
def test_a_font_of_the_machine_writes_what_ours_lack(font_folder: Path, curves: str) -> None:
    """Quadratic and cubic outlines alike: the box is 600 wide and 500 high, as it was made."""
    make_font(font_folder / "east.otf", "Meadow East", {"布": (600, 500), "料": (800, 400)}, curves=curves)
    assert missing_glyphs("布料") == ""
    assert boxes("布料") == [(0, 500), (600, 400)]
    assert width_of("布料", "Helvetica", 10.0) == pytest.approx(14.0)


def test_what_no_font_has_gets_a_box_and_is_named(font_folder: Path) -> None:
    """One box for each; the rest is drawn."""
    make_font(font_folder / "east.ttf", "Meadow East", {"布": (600, 500)})
    assert missing_glyphs("布子布丘") == "子丘"
    assert len(shaped("子", "Helvetica").outline.ops) > 0
    assert missing_glyphs("\ue000") == "\ue000"


def test_private_characters_are_not_taken_from_just_any_font(font_folder: Path) -> None:
    """What they mean only the font knows that the drawing names."""
    make_font(font_folder / "signs.ttf", "Meadow Signs", {"\ue000": (600, 500)})
    assert missing_glyphs("\ue000") == "\ue000"
    assert missing_glyphs("\ue000", "Meadow Signs") == ""


def test_the_family_named_comes_first_in_its_weight_and_slant(font_folder: Path) -> None:
    """Also for Latin letters that ours have."""
    for number, (weight, italic) in enumerate([(400, False), (700, False), (400, True), (700, True)]):
        file = font_folder / f"{number}.ttf"
        make_font(file, "Meadow Sans", {"a": (500, 100 * (number + 1))}, weight=weight, italic=italic)
    faces = ["Meadow Sans", "meadow sans-Bold", "Meadow Sans-Italic", "Meadow Sans-BoldItalic"]
    assert [boxes("a", face)[0][1] for face in faces] == [100, 200, 300, 400]
    assert plain_font("Meadow Other", "a") == "PageseamSans-Regular"


@pytest.mark.parametrize(
    ("text", "curves", "plain"),
    [
        ("abЖ布", "glyf", True),
        ("ab", "CFF", False),
        ("aש", "glyf", False),
        ("aन", "glyf", False),
        ("ax", "glyf", False),
    ],
)
def test_text_side_by_side_is_embedded_as_text(font_folder: Path, text: str, curves: str, plain: bool) -> None:
    """In a TrueType font that has it all; what is shaped, runs to the left or lacks a letter is drawn as outlines."""
    letters = dict.fromkeys("abЖ布שन", (500, 300))
    family = f"Meadow {curves} {text.encode().hex()}"
    make_font(font_folder / "m.ttf", family, letters, curves=curves)
    assert (plain_font(family, text) is not None) == plain
    assert width_of("ab", family, 10.0) == pytest.approx(10.0)


def test_two_fonts_that_say_the_same_name_are_not_mixed_up(font_folder: Path) -> None:
    """As reportlab would: the second is drawn as outlines, in its own widths."""
    make_font(font_folder / "one.ttf", "Meadow Twin", {"a": (500, 300)})
    assert width_of("a", "Meadow Twin", 10.0) == pytest.approx(5.0)
    (font_folder / "one.ttf").unlink()
    make_font(font_folder / "two.ttf", "Meadow Twin", {"a": (900, 300)})
    forget()
    assert width_of("a", "Meadow Twin", 10.0) == pytest.approx(9.0)


def test_of_fallbacks_the_one_with_most_of_the_text_is_taken(font_folder: Path) -> None:
    """So that one word is not written in two hands; of equals the bolder for bold text."""
    make_font(font_folder / "a.ttf", "A Few", {"布": (600, 100)})
    make_font(font_folder / "b.ttf", "B All", {"布": (600, 200), "料": (600, 200)})
    make_font(font_folder / "c.ttf", "C All", {"布": (600, 300), "料": (600, 300)}, weight=700)
    assert boxes("布料") == [(0, 200), (600, 200)]
    assert boxes("布料", "Helvetica-Bold") == [(0, 300), (600, 300)]


def test_hebrew_runs_to_the_left_and_its_numbers_to_the_right(font_folder: Path) -> None:
    """Unicode Standard Annex 9: letters from the right, digits in their own order."""
    digits = {"1": (500, 610), "2": (500, 620)}
    make_font(font_folder / "h.ttf", "Meadow", {c: (500, high) for c, high in HEIGHTS.items()} | digits)
    assert [high for _, high in boxes("אבג", "Meadow")] == [300, 200, 100]
    assert [high for _, high in boxes("אב 12", "Meadow")] == [610, 620, 200, 100]
    assert [high for _, high in boxes("אב 12", "Meadow", Direction.RIGHTWARDS)] == [610, 620, 200, 100]


def test_ligatures_and_marks_are_set_by_the_font_s_rules(font_folder: Path) -> None:
    """GSUB and GPOS through the shaper: a ligature of two letters, a mark moved over its letter."""
    rules = """
        feature liga { sub u0061 u0062 by ab; } liga;
        feature kern { pos u0063 u0064 -200; } kern;
    """
    letters = {"a": (500, 100), "b": (500, 200), "c": (500, 300), "d": (500, 400)}
    make_font(font_folder / "l.ttf", "Meadow", letters, features=rules, more={"ab": (900, 777)})
    assert boxes("ab", "Meadow") == [(0, 777)]
    assert boxes("cd", "Meadow") == [(0, 300), (300, 400)]


def test_joined_scripts_take_the_shapes_of_their_place(font_folder: Path) -> None:
    """Arabic letters have initial and final forms (OpenType, Arabic script development specification)."""
    rules = """
        languagesystem arab dflt;
        feature init { sub u0628 by b.init; } init;
        feature fina { sub u0628 by b.fina; } fina;
    """
    more = {"b.init": (400, 111), "b.fina": (400, 222)}
    make_font(font_folder / "a.ttf", "Meadow", {"ب": (500, 500)}, features=rules, more=more)
    assert boxes("بب", "Meadow") == [(0, 222), (400, 111)]
    assert boxes("ب\u200cب", "Meadow") == [(0, 500), (500, 500)], "what is not to join doesn't"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Hem 2", "Hem 2"),
        ("אבג", "גבא"),
        ("cut אב 12 ג", "cut ג 12 בא"),
        ("אב (x) ג", "ג (x) בא"),
        ("א 1.5-2", "1.5-2 א"),
    ],
)
def test_lines_of_two_directions_are_ordered_as_the_standard_says(text: str, shown: str) -> None:
    """Unicode Standard Annex 9, rule L2; worked out by hand. Mirrored brackets keep their characters here."""
    order = visual_order(levels(text))
    assert "".join(text[k] for k in order).replace(")", "(").replace("(", "|") == shown.replace(")", "(").replace(
        "(", "|"
    )


@pytest.mark.parametrize("text", ["Hem 2", "אבג", "cut אב 12 ג", "אב ג"])
def test_what_is_shown_gives_back_what_is_read(text: str) -> None:
    """A PDF has the letters of a line from left to right; lines that begin with Latin letters or run one way."""
    shown = "".join(text[k] for k in visual_order(levels(text, Direction.RIGHTWARDS)))
    assert in_reading_order(shown) == text


def installed_family(name: str) -> bool:
    """Whether this machine's own folders have the family."""
    return any(name in face.families for face in installed())


@pytest.fixture
def own_fonts(font_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The fonts that the machine really has."""
    monkeypatch.delenv(FOLDERS_VARIABLE)


@pytest.mark.parametrize(
    ("family", "text"),
    [
        ("noto sans cjk jp", "前片 後ろ身頃 앞판"),
        ("noto sans devanagari", "सामने का हिस्सा"),
        ("noto sans thai", "ชิ้นหน้า"),
        ("noto sans arabic", "القطعة الأمامية"),
        ("dejavu sans", "✂ Ж ع"),
    ],
)
def test_real_fonts_have_their_scripts(own_fonts: None, family: str, text: str) -> None:
    """Only where the family is installed (Debian: fonts-noto-core, fonts-noto-cjk, fonts-dejavu-core)."""
    if not installed_family(family):
        pytest.skip(f"the font {family} is not installed here")
    drawn = shaped(text, family)
    assert drawn.missing == ""
    assert drawn.width > 0.2 * len(text.replace(" ", ""))
    assert drawn.outline.hull.width <= drawn.width * 1.2
