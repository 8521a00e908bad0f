"""`pageseam pages` with the pieces laid anew, sharing paper, or as an earlier file has them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tiling.commands.main import run


def piece(ident: str, x: float, y: float, width: float, height: float) -> str:
    """A rectangular piece with a grainline and a notch."""
    return (
        f'<g class="piece" id="{ident}" fill="none" stroke="#000" stroke-width=".5">'
        f'<path class="cutting-line" d="M{x} {y}h{width}v{height}h{-width}Z"/>'
        f'<path class="grainline" d="M{x + width / 2} {y + 20}v{height - 40}"/>'
        f'<path class="notch" d="M{x} {y + height / 2}h6"/></g>'
    )


# Two tall pieces with a wide gap between them: three columns where two would do.
SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="560mm" height="270mm" viewBox="0 0 560 270">'
    + piece("front", 10, 5, 150, 250)
    + piece("back", 390, 5, 150, 252)
    + "</svg>"
)


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder with one drawing."""
    monkeypatch.chdir(tmp_path)
    Path("smock.svg").write_text(SVG)


def values_of(capsys: pytest.CaptureFixture[str], *args: str) -> dict[str, Any]:
    """Run `pages` with --json and read what it says."""
    code = run(["pages", "smock.svg", "--paper", "tabloid", *args, "--json", "-q", "--force"])
    said = capsys.readouterr()
    assert code == 0, said.err
    values = json.loads(said.out)
    assert isinstance(values, dict)
    return values


def test_arranging_saves_pages_and_is_proved(capsys: pytest.CaptureFixture[str]) -> None:
    """Both pieces fit one tabloid sheet side by side; every piece has its place in the JSON."""
    as_drawn = values_of(capsys)
    arranged = values_of(capsys, "--arrange", "--seconds", "3")
    assert len(as_drawn["tiles"]) == 2
    assert len(arranged["tiles"]) == 1
    assert {place["piece"] for place in arranged["placements"]} == {"front", "back"}
    assert arranged["pages_as_drawn"] == 2


def test_a_printed_file_s_places_are_used_again(capsys: pytest.CaptureFixture[str]) -> None:
    """`--placed-as` gives the same bytes, without a search."""
    values_of(capsys, "--arrange", "--seconds", "2", "-o", "old.pdf")
    values_of(capsys, "--placed-as", "old.pdf", "-o", "new.pdf")
    assert Path("old.pdf").read_bytes() == Path("new.pdf").read_bytes()


def test_pieces_of_like_shape_share_paper_only_when_asked(capsys: pytest.CaptureFixture[str]) -> None:
    """The count with and without is told."""
    assert run(["pages", "smock.svg", "--paper", "tabloid", "--share", "-o", "x.pdf"]) == 0
    assert "One piece shares paper with another: 1 tiles instead of 2" in capsys.readouterr().out


def test_where_arranging_does_not_help_the_drawing_is_kept(capsys: pytest.CaptureFixture[str]) -> None:
    """Never worse than as drawn, and said so."""
    Path("one.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="180mm" height="260mm" viewBox="0 0 180 260">'
        + piece("front", 10, 5, 150, 250)
        + "</svg>"
    )
    assert run(["pages", "one.svg", "--arrange", "--seconds", "1", "-o", "x.pdf"]) == 0
    assert "was kept" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("args", "code", "says"),
    [
        (["--arrange", "--placed-as", "smock.svg"], 2, "give one of them"),
        (["--placed-as", "smock.svg"], 3, "smock.svg"),
        (["--placed-as", "missing.pdf"], 3, "missing.pdf"),
        (["--arrange", "--gap", "1mm"], 2, "too little to cut between"),
        (["--arrange", "--seconds", "0"], 2, "--seconds"),
        (["--turn", "upside"], 2, "upside"),
    ],
)
def test_wishes_that_cannot_be_met_are_refused(
    capsys: pytest.CaptureFixture[str], args: list[str], code: int, says: str
) -> None:
    """Before anything is written."""
    assert run(["pages", "smock.svg", *args, "-o", "x.pdf"]) == code
    assert says in capsys.readouterr().err
    assert not Path("x.pdf").exists()
