"""`pageseam cloth` from the command line: what it says, what it writes, and how bad notes are refused."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest

from tiling.commands.main import run

SAMPLES = Path(__file__).resolve().parents[2] / "samples"


@pytest.fixture
def smock(tmp_path: Path) -> Path:
    """The sample with its notes, in a folder of its own."""
    for name in ("potting-smock.svg", "potting-smock.toml"):
        shutil.copy(SAMPLES / name, tmp_path / name)
    return tmp_path / "potting-smock.svg"


def change(smock: Path, old: str, new: str) -> int:
    """Change the sample's notes; returns the line of the change."""
    notes = smock.with_suffix(".toml")
    text = notes.read_text(encoding="utf-8")
    assert text.count(old) == 1, f"{old!r} must be in the notes once"
    notes.write_text(text.replace(old, new), encoding="utf-8")
    return text[: text.index(old)].count("\n") + 1


def test_the_tables_come_without_a_width(smock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Cutting list, notions, seams, notches, sizes, cautions on stdout."""
    assert run(["cloth", str(smock)]) == 0
    said = capsys.readouterr().out
    for part in ("Cutting list", "2, as a mirrored pair", "Notions", "Seams", "Notches", "Sizes", "cut and burn"):
        assert part in said
    assert "Cloth  " not in said.splitlines()[0]


def test_a_width_gives_a_lay_plan_and_a_length_to_buy(smock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """As JSON: every piece at its place, the length to buy a whole number of 5 cm, nothing wider than the cloth."""
    out = smock.with_name("lay.pdf")
    args = ["cloth", str(smock), "--width", "140cm", "--width", "interfacing=90cm", "--fold", "lengthwise"]
    assert run([*args, "--shrinkage", "3%", "--seconds", "2", "--json", "-q", "-o", str(out)]) == 0
    captured = capsys.readouterr()
    values = json.loads(captured.out)
    assert captured.err == ""
    main, interfacing = values["lay_plans"]
    assert (main["cloth"], main["width_mm"], interfacing["width_mm"]) == ("main", 1400.0, 900.0)
    assert main["buy_mm"] >= main["length_mm"] / 0.97
    assert main["buy_mm"] % 50 == pytest.approx(0.0)
    assert {piece["piece"] for piece in main["pieces"]} == {"front", "back", "sleeve", "pocket", "facing"}
    for piece in main["pieces"]:
        x0, y0, x1, y1 = piece["box_mm"]
        assert -0.1 <= x0 < x1 <= main["length_mm"] + 0.1
        # Cloth that is opened out reaches as far beyond the fold.
        assert (-700.1 if piece["layers"] == "opened" else -0.1) <= y0 < y1 <= 700.1
        # Each of these may lie on the fold, or whole on cloth that is opened out for it, whichever is shorter.
        assert piece["layers"] != "on-fold" or piece["piece"] in {"front", "back", "facing"}
    assert any(piece["layers"] == "on-fold" for piece in main["pieces"])
    assert out.read_bytes().startswith(b"%PDF-")
    assert values["output"] == str(out)


def test_a_picture_is_written_as_png_where_the_name_says_so(smock: Path) -> None:
    """The same lay as a picture."""
    out = smock.with_name("lay.png")
    assert run(["cloth", str(smock), "--width", "interfacing=90cm", "-q", "-o", str(out)]) == 0
    assert out.read_bytes().startswith(b"\x89PNG")


def test_the_wearers_measures_change_the_notions(smock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Elastic for two wrists of 18 cm with 25 mm to join each: 41 cm."""
    assert run(["cloth", str(smock), "--measure", "wrist=18cm", "--json"]) == 0
    elastic = json.loads(capsys.readouterr().out)["notions"][0]
    assert (elastic["each_mm"], elastic["buy_mm"]) == (205.0, 410.0)


def test_finished_measures_before_an_alteration_stand_beside_the_new_ones(
    smock: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The drawing against itself: the same twice."""
    assert run(["cloth", str(smock), "--before", str(smock), "--json"]) == 0
    bust = json.loads(capsys.readouterr().out)["sizes"][0]
    assert bust["measure"] == "bust"
    assert bust["finished_before_mm"] == bust["finished_mm"] == pytest.approx(1160.0, abs=0.5)


def test_a_drawing_without_notes_gets_a_cutting_list(smock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """As is written in its pieces; where nothing is, every piece once, and that is said."""
    smock.with_suffix(".toml").unlink()
    assert run(["cloth", str(smock)]) == 0
    said = capsys.readouterr().out
    assert "2, as a mirrored pair" in said
    assert "taken once" not in said
    smock.write_text(re.sub(r"cut \d", "piece", smock.read_text(encoding="utf-8")), encoding="utf-8")
    assert run(["cloth", str(smock)]) == 0
    assert "Nothing says how many, taken once: Front, Back, Sleeve" in capsys.readouterr().out


def test_a_seam_that_does_not_fit_is_a_finding_and_strict_refuses_it(
    smock: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """14 mm of ease found, 40 asked: 26 too short; with --strict no file is written and the code is 7."""
    change(smock, 'ease = "14mm"', 'ease = "40mm"')
    out = smock.with_name("lay.pdf")
    args = ["cloth", str(smock), "--width", "150cm", "--seconds", "1", "-o", str(out)]
    assert run([*args, "--strict"]) == 7
    assert "seam 'armhole'" in capsys.readouterr().err
    assert not out.exists()
    assert run(args) == 0
    assert out.exists()


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["-o", "lay.pdf"], "--width 140cm"),
        (["--width", "linning=140cm"], "no piece is cut from 'linning'"),
        (["--width", "140"], "has no unit"),
        (["--width", "=140cm"], "no name"),
        (["--measure", "78cm"], "names no measure"),
        (["--measure", "waist=0cm"], "more than nought"),
        (["--shrinkage", "3"], "per cent"),
        (["--shrinkage", "60%"], "under 50%"),
    ],
)
def test_a_wrong_command_line_ends_with_2(
    smock: Path, args: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """And says what to write instead."""
    assert run(["cloth", str(smock), *args]) == 2
    assert words in " ".join(capsys.readouterr().err.split())


def test_a_piece_wider_than_the_cloth_is_refused_by_name(smock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No guess at joining cloth."""
    assert run(["cloth", str(smock), "--width", "60cm", "--fold", "lengthwise"]) == 3
    assert "potting-smock.svg: piece 'front' is" in capsys.readouterr().err


def test_a_drawing_without_pieces_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """There is nothing to cut; the message says how pieces are marked."""
    plain = tmp_path / "plain.svg"
    plain.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="150mm" height="100mm" viewBox="0 0 150 100">'
        '<path d="M10 10L140 90" stroke="#000"/></svg>',
        encoding="utf-8",
    )
    assert run(["cloth", str(plain)]) == 3
    assert "plain.svg: no piece is marked" in capsys.readouterr().err


def test_an_existing_file_is_kept_unless_forced(smock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 4 before any work."""
    out = smock.with_name("lay.pdf")
    out.write_bytes(b"mine")
    assert run(["cloth", str(smock), "--width", "140cm", "-o", str(out)]) == 4
    assert "--force" in capsys.readouterr().err
    assert out.read_bytes() == b"mine"


LONG = "waist + " * 1250 + "waist"


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('rule = "wrist + join"', 'rule = "wrsit + join"', ["notions", "'wrsit'", "did you mean 'wrist'"]),
        ('rule = "wrist + join"', 'rule = "wrist / (join - join)"', ["notions", "divides by nought"]),
        (
            'rule = "wrist + join"',
            'rule = "chest + join"',
            [
                "notions",
                "no rule; there are ",
                "A measure is given with --measure chest=… or under drawn-for in the notes.",
            ],
        ),
        ('rule = "wrist + join"', f'rule = "{LONG}"', ["notions", "10005 characters"]),
        ('rule = "wrist + join"', 'rule = "wrist + 25"', ["notions", "a length and a number"]),
        ('rule = "wrist + join"', 'rule = "wrist * wrist"', ["notions", "an area"]),
        ('rule = "wrist + join"', 'rule = "length(front.neckine)"', ["'front.neckine'", "'front.neckline'"]),
        ('slit = "130mm"', 'slit = "neckline + slit"', ["goes round in a circle: slit needs slit"]),
        ('slit = "130mm"', 'slit = "130 mm mm"', ["slit", "'mm' where"]),
        ('first = ["front.side"]', 'first = ["front.sied"]', ["'front' has no line named 'sied'", "'side'"]),
        ('first = ["front.side"]', 'first = ["fornt.side"]', ["fornt", "front"]),
        ("[pieces.pocket]", "[pieces.pokcet]", ["pokcet", "pocket"]),
        ("interfacing = 1", "interfacng = 1", ["interfacng", "interfacing"]),
        ('cut = "pair"', 'cut = "pairs"', ["pairs", "pair"]),
    ],
)
def test_bad_notes_are_refused_with_file_line_key_and_the_nearest_right_word(
    smock: Path, old: str, new: str, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    """One message of one line, exit 3, and the line is the one that was changed."""
    line = change(smock, old, new)
    assert run(["cloth", str(smock)]) == 3
    message = capsys.readouterr().err.strip()
    assert "\n" not in message
    assert "potting-smock.toml" in message
    assert f"line {line}" in message
    for word in words:
        assert word in message, message


def test_look_shows_the_seams_as_cloth_does(smock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The same rows as JSON."""
    assert run(["look", str(smock), "--json"]) == 0
    looked = json.loads(capsys.readouterr().out)["seams"]
    assert run(["cloth", str(smock), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["seams"] == looked
    assert [row["name"] for row in looked] == ["side", "shoulder", "armhole", "underarm", "neck facing", "pocket"]


def test_an_alteration_shows_in_the_finished_measures(smock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """40 mm more around: every finished girth is 40 mm larger, worked out from the altered drawing."""
    wide = smock.with_name("wide.svg")
    assert run(["alter", str(smock), "--around", "+40mm", "-o", str(wide), "-q"]) == 0
    capsys.readouterr()
    assert run(["cloth", str(wide), "--before", str(smock), "--json", "-q"]) == 0
    sizes = {row["measure"]: row for row in json.loads(capsys.readouterr().out)["sizes"]}
    for girth in ("bust", "waist", "hip"):
        assert sizes[girth]["finished_mm"] - sizes[girth]["finished_before_mm"] == pytest.approx(40.0, abs=0.2)


@pytest.mark.parametrize("name", ["a", "ist", "length", "join"])
def test_a_measure_that_no_rule_names_is_refused(name: str, smock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Also where the name is a part of what the rules say, a word of their grammar, or another rule."""
    assert run(["cloth", str(smock), "--measure", f"{name}=3cm"]) == 2
    assert f"--measure {name}=…: the pattern's notes have no such measure" in capsys.readouterr().err
