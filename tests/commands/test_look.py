"""`pageseam look`."""

from __future__ import annotations

import json
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from tiling.commands.main import run

SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="500mm" viewBox="0 0 400 500">
<title>Potting smock</title>
<g class="piece" id="front" fill="none" stroke="#000" stroke-width=".5">
<path class="cutting-line" d="M10 10H200V480H10Z"/>
<path class="grainline" d="M100 60V400"/>
<path class="notch" d="M10 100H15"/><path class="notch" d="M10 200H15"/>
</g>
<g class="piece" id="pocket" fill="none" stroke="#c00" stroke-width=".5">
<path class="cutting-line" d="M240 10H380V180H240Z"/>
</g></svg>"""


@pytest.fixture(name="folder", autouse=True)
def folder_fixture(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a drawing."""
    monkeypatch.chdir(tmp_path)
    Path("smock.svg").write_text(SVG)
    return tmp_path


def test_it_tells_size_pieces_roles_and_pages(capsys: pytest.CaptureFixture[str]) -> None:
    """In mm, cm and inches; the pages of every common paper."""
    assert run(["look", "smock.svg"]) == 0
    text = capsys.readouterr().out
    assert "Potting smock" in text
    assert '400.0 mm x 500.0 mm (40.0 cm x 50.0 cm, 15 3/4" x 19 11/16")' in text
    assert "Pieces  2: front, pocket" in text
    assert "2 cutting lines" in text
    assert "2 notches" in text
    assert "1 grainline" in text
    assert "Shows   2 pieces: " in text and "nothing says how many to cut of" in text
    assert text.rstrip().split("\n")[-1].startswith("Next: pageseam pages smock.svg, or pageseam lines smock.svg")
    assert "a4 " in text
    assert "letter " in text


def test_json_says_the_same_to_programs(capsys: pytest.CaptureFixture[str]) -> None:
    """Every key of the README."""
    assert run(["look", "smock.svg", "--json", "-q"]) == 0
    values = json.loads(capsys.readouterr().out)
    assert set(values) == {
        "title", "size_mm", "size_basis", "px_per_inch", "scale", "sheets", "shown", "pieces", "layers", "roles",
        "marks", "pages_needed", "findings", "picture", "seams",
    }  # fmt: skip
    assert values["size_mm"] == [400.0, 500.0]
    assert values["size_basis"] == "stated in the drawing"
    assert values["roles"] == {"cutting-line": 2, "grainline": 1, "notch": 2}
    assert [piece["id"] for piece in values["pieces"]] == ["front", "pocket"]
    a4 = next(count for count in values["pages_needed"] if count["paper"] == "a4")
    assert 4 <= a4["pages"] <= a4["pages_as_drawn"] <= 6


def test_the_picture_shows_the_drawing_in_its_proportions(capsys: pytest.CaptureFixture[str]) -> None:
    """A PNG in colour, longest side 1600; the same each time; never over an existing file unasked."""
    assert run(["look", "smock.svg", "--picture", "look.png", "-q"]) == 0
    first = Path("look.png").read_bytes()
    image = Image.open(BytesIO(first))
    assert image.format == "PNG"
    assert image.size == pytest.approx((1280, 1600), abs=1)
    pixels = image.convert("RGB")
    scale = 1600 / 500
    assert min(pixels.getpixel((round(10 * scale) + dx, 800))[0] for dx in (-1, 0, 1)) < 120  # type: ignore[index]
    red = [pixels.getpixel((round(240 * scale) + dx, round(90 * scale))) for dx in (-1, 0, 1)]
    assert any(p[0] > 180 and p[1] < 150 for p in red)  # type: ignore[index]
    assert pixels.getpixel((900, 1200)) == (255, 255, 255)
    assert run(["look", "smock.svg", "--picture", "look.png", "-q"]) == 4
    assert run(["look", "smock.svg", "--picture", "look.png", "-q", "--force"]) == 0
    assert Path("look.png").read_bytes() == first


def test_findings_are_listed_with_their_numbers(capsys: pytest.CaptureFixture[str]) -> None:
    """On stderr; all of them in --json."""
    Path("px.svg").write_text(SVG.replace('width="400mm" height="500mm"', 'width="720" height="900"'))
    assert run(["look", "px.svg", "--json"]) == 0
    said = capsys.readouterr()
    assert "Finding 1:" in said.err
    found = json.loads(said.out)["findings"]
    assert [(f["number"], f["kind"]) for f in found] == [(1, "size-assumed")]
    assert json.loads(said.out)["px_per_inch"] == 96.0


def test_an_unknown_layer_is_refused_with_the_names_there_are(capsys: pytest.CaptureFixture[str]) -> None:
    """A misspelt name must not print an empty sheet."""
    layered = SVG.replace("<title>", '<g id="lining" inkscape:groupmode="layer" inkscape:label="lining" '
                          'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape">'
                          '<path d="M5 5H9" stroke="#000"/></g><title>')  # fmt: skip
    Path("layered.svg").write_text(layered)
    assert run(["look", "layered.svg", "--layer", "linning"]) == 3
    assert "lining" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("notes", "why"),
    [
        ('[[notions]]\nname = "cord"\nrule = "12cm *"\n', "line 3"),
        ('[rules]\na = "b"\nb = "a"\n', "goes round in a circle"),
        ('[[notions]]\nname = "cord"\nrule = "length(front.side)"\n', "not in the drawing"),
    ],
)
def test_rules_that_can_not_be_worked_out_are_refused(notes: str, why: str, capsys: pytest.CaptureFixture[str]) -> None:
    """As `cloth` refuses them, with the line in the notes; not only when the cloth is planned."""
    Path("smock.toml").write_text(notes)
    assert run(["look", "smock.svg"]) == 3
    said = capsys.readouterr().err
    assert "smock.toml" in said
    assert why in said


def test_a_rule_that_needs_a_measure_is_a_finding(capsys: pytest.CaptureFixture[str]) -> None:
    """The measure may be the wearer's, given with `cloth --measure`; a slip of the pen reads the same."""
    notes = '[[notions]]\nname = "cord"\nrule = "waist + 10cm"\n'
    Path("smock.toml").write_text(notes)
    assert run(["look", "smock.svg", "--json", "-q"]) == 0
    (finding,) = json.loads(capsys.readouterr().out)["findings"]
    assert finding["kind"] == "measure-missing"
    assert "waist" in finding["text"]
    assert "--measure" in finding["text"]
    Path("smock.toml").write_text(f'{notes}\n[drawn-for]\nwaist = "86cm"\n')
    assert run(["look", "smock.svg", "--json", "-q"]) == 0
    assert json.loads(capsys.readouterr().out)["findings"] == []
