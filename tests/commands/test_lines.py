"""`pageseam lines`."""

from __future__ import annotations

import json
import tomllib
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from tests.recognition.drawings import DRAWINGS
from tiling.commands.main import run


@pytest.fixture
def skirt(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A skirt that says nothing of its lines, in the current folder."""
    monkeypatch.chdir(tmp_path)
    drawing = next(one for one in DRAWINGS if one.name == "skirt-seam-lines")
    path = tmp_path / "skirt.svg"
    path.write_bytes(drawing.file().content)
    return path


def test_lines_tells_what_was_understood(skirt: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["lines", "skirt.svg"]) == 0
    told = capsys.readouterr().out
    assert "3 pieces: Front (on the fold), Back (on the fold), Waistband" in told
    assert "1 lengthen line" in told
    assert "edges: 1 waist, 2 side, 3 hem, 4 fold" in told


def test_the_notes_are_toml_that_every_command_reads(skirt: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With nothing unknown in them, so that `look` with them beside the drawing ends well."""
    assert run(["lines", "skirt.svg", "-o", "skirt.toml", "-q"]) == 0
    notes = tomllib.loads(Path("skirt.toml").read_text(encoding="utf-8"))
    assert notes["pieces"]["front"] == {
        "title": "Front", "copies": 1, "cut": "fold", "seam-allowance": "15mm",
    }  # fmt: skip
    assert {line["role"] for line in notes["lines"]} >= {"cutting-line", "stitching-line", "lengthen-line", "dart"}
    assert all(len(line["at"]) == 2 for line in notes["lines"])


def test_the_picture_is_a_png_with_room_for_rulers(skirt: Path) -> None:
    assert run(["lines", "skirt.svg", "--picture", "numbered.png", "-q"]) == 0
    first = Path("numbered.png").read_bytes()
    image = Image.open(BytesIO(first))
    assert max(image.size) == pytest.approx(2600, abs=1)
    assert run(["lines", "skirt.svg", "--picture", "numbered.png", "-q", "--force"]) == 0
    assert Path("numbered.png").read_bytes() == first


def test_json_has_every_guess_with_its_reason(skirt: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["lines", "skirt.svg", "--json", "-q"]) == 0
    told = json.loads(capsys.readouterr().out)
    front = told["pieces"][0]
    assert front["copies"] == {"value": 1, "sure": 0.95, "why": "the text 'cut 1'"}
    assert front["cut"]["value"] == "fold"
    assert {line["role"]["value"] for line in front["lines"]} >= {"grainline", "notch", "lengthen-line"}
    assert {"first": "front.side", "second": "back.side"}.items() <= told["seams"][0].items()


def test_files_that_are_there_stay(skirt: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Path("skirt.toml").write_text('title = "mine"\n', encoding="utf-8")
    assert run(["lines", "skirt.svg", "-o", "skirt.toml", "-q"]) == 4
    assert Path("skirt.toml").read_text(encoding="utf-8") == 'title = "mine"\n'
    assert run(["lines", "skirt.svg", "-o", "notes.txt", "-q"]) == 4
