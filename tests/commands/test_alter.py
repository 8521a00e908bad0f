"""`pageseam alter` end to end: the drawing, its notes, the picture, the messages and the exit codes."""

from __future__ import annotations

import json
import os
import shutil
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.drawings import drawing_at
from tiling.altering.seams import named_length
from tiling.commands.main import run
from tiling.drawing import before_after
from tiling.drawing.picture import picture_of
from tiling.files.inputs import read_input
from tiling.notes import LineRef
from tiling.pattern import Label, Line, Role
from tiling.reading.options import ReadOptions
from tiling.reading.pdf_glyphs import as_drawing
from tiling.shapes import Affine

SAMPLES = Path(__file__).resolve().parents[2] / "samples"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of its own with copies of the samples, as the current one."""
    for name in ("potting-smock.svg", "potting-smock.toml", "potting-smock-two-sizes.pdf"):
        shutil.copy(SAMPLES / name, tmp_path / name)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_it_writes_the_drawing_and_its_notes(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """NAME-altered.svg with the notes beside it; both are fit for every command, the first among them this one."""
    source = (folder / "potting-smock.svg").read_bytes()
    assert run(["alter", "potting-smock.svg", "--around", "40mm", "--match"]) == 0
    said = capsys.readouterr()
    assert "10.0 mm at each of 4 grading lines" in said.out
    assert said.err == ""
    assert (folder / "potting-smock.svg").read_bytes() == source
    notes = (folder / "potting-smock.toml").read_text()
    for old, new in (("950", "990"), ("860", "900"), ("1020", "1060")):
        notes = notes.replace(f'"{old}mm"', f'"{new}mm"', 1)
    assert (folder / "potting-smock-altered.toml").read_text() == notes, "bust, waist and hip moved along"
    altered = drawing_at(folder / "potting-smock-altered.svg")
    assert named_length(altered, LineRef("front", "waist")) == pytest.approx(297.0, abs=0.01)
    assert altered.notes is not None
    assert run(["alter", "potting-smock-altered.svg", "--around", "-40mm", "--match", "-o", "back.svg"]) == 0
    back = drawing_at(folder / "back.svg")
    assert named_length(back, LineRef("front", "waist")) == pytest.approx(287.0, abs=0.05)
    assert sorted(p.name for p in folder.iterdir() if p.name.startswith(".")) == []


def test_a_piece_is_named_by_its_id_or_by_its_title(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Capitals aside; a name that is neither is refused with the nearest id."""
    longer = ["--longer", "9mm", "-q"]
    for number, name in enumerate(("sleeve", "Sleeve", "SLEEVE")):
        assert run(["alter", "potting-smock.svg", "--piece", name, *longer, "-o", f"s{number}.svg"]) == 0
    assert Path("s0.svg").read_bytes() == Path("s1.svg").read_bytes() == Path("s2.svg").read_bytes()
    assert run(["alter", "potting-smock.svg", "--piece", "Sleve", "--longer", "9mm", "-q"]) == 2
    assert "did you mean sleeve?" in capsys.readouterr().err


def test_the_same_alteration_gives_the_same_bytes(folder: Path) -> None:
    """Same in, same out."""
    for name in ("one.svg", "two.svg"):
        assert run(["alter", "potting-smock.svg", "--around=-2cm", "--taper", "30%", "-q", "-o", name, "--match"]) == 0
    assert (folder / "one.svg").read_bytes() == (folder / "two.svg").read_bytes()


def test_json_tells_the_sums_and_the_seams(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One JSON object on stdout; findings on stderr."""
    assert run(["alter", "potting-smock.svg", "--longer", "1in", "--piece", "front", "--json", "-o", "n.svg"]) == 0
    said = capsys.readouterr()
    values = json.loads(said.out)
    assert values["output"] == "n.svg"
    assert values["notes"] == "n.toml"
    assert values["altered"] == ["front"]
    assert values["sums"] == ["front: 25.4 mm longer, 25.4 mm at its lengthen line."]
    side = next(seam for seam in values["seams"] if seam["name"] == "side")
    assert side["after_mm"][0] - side["before_mm"][0] == pytest.approx(side["grew_mm"])
    assert [f["number"] for f in values["findings"]] == [17]
    assert "Finding 17" in said.err


def test_strict_writes_nothing_when_there_are_findings(folder: Path) -> None:
    """--strict: exit 7, no file."""
    assert run(["alter", "potting-smock.svg", "--longer", "1in", "--piece", "front", "--strict", "-o", "n.svg"]) == 7
    assert not (folder / "n.svg").exists()
    assert not (folder / "n.toml").exists()


def test_to_updates_the_measures_in_the_notes(folder: Path) -> None:
    """The altered pattern's notes say for whom it is now; fitting the same person again changes nothing."""
    fit = ["--to", "waist=90cm,hip=104cm"]
    assert run(["alter", "potting-smock.svg", *fit, "-q", "-o", "fit.svg"]) == 0
    notes = drawing_at(folder / "fit.svg").notes
    assert notes is not None
    assert (notes.drawn_for["waist"], notes.drawn_for["hip"], notes.drawn_for["wrist"]) == (900.0, 1040.0, 155.0)
    assert notes.drawn_for["bust"] == pytest.approx(950.0 + 57.0, abs=3.0), "it lies above and moved along"
    assert run(["alter", "fit.svg", *fit, "-q", "-o", "again.svg"]) == 0
    once, twice = (drawing_at(folder / name) for name in ("fit.svg", "again.svg"))
    for ref in (LineRef("front", "waist"), LineRef("back", "hip")):
        assert named_length(twice, ref) == pytest.approx(named_length(once, ref), abs=1e-3)


def test_the_picture_shows_before_and_after(folder: Path) -> None:
    """Orange where lines were, black where they are now."""
    assert run(["alter", "potting-smock.svg", "--around", "8cm", "-q", "-o", "n.svg", "--picture", "p.png"]) == 0
    with Image.open(folder / "p.png") as picture:
        colours = {colour for _, colour in picture.convert("RGB").quantize(32).convert("RGB").getcolors(100_000)}
        assert picture.width >= 1600
    assert any(r > 180 and g < 190 and b < 120 for r, g, b in colours), "orange"
    assert any(max(c) < 60 for c in colours), "black"


def test_the_picture_says_which_lines_are_which() -> None:
    """Below the drawing stands a line of each kind with its word, and nothing of the drawing."""
    drawing = drawing_at(SAMPLES / "potting-smock.svg")
    key, height = before_after._key(drawing.size)
    assert [mark.text for mark in key if isinstance(mark, Label)] == ["before", "now", "unchanged"]
    assert all(drawing.size.height < m.reach().y0 < m.reach().y1 < drawing.size.height + height for m in key)
    with Image.open(BytesIO(before_after.before_and_after(drawing, drawing))) as picture:
        low = picture.height - round(height / (drawing.size.height + height) * picture.height)
        assert np.asarray(picture.convert("L"))[low:].min() < 128


def test_a_pdf_is_altered_along_a_line_given_by_hand(folder: Path) -> None:
    """A layer of the PDF, cut upright through its first piece, which is on the fold: two layers share the amount."""
    line = ["--cut-line", "28.2cm,30cm 28.2cm,96cm"]
    base = ["alter", "potting-smock-two-sizes.pdf", "--layer", "size 1", "-q"]
    assert run([*base, *line, "--around", "12mm", "-o", "n.svg"]) == 0
    before = drawing_at(folder / "potting-smock-two-sizes.pdf", ReadOptions(layers=("size 1",)))
    after = drawing_at(folder / "n.svg")
    cuts = [line for line in after.lines(role=Role.GRADING) if not line.tag.was_found]
    assert len(cuts) == 1
    widest, drawn = (
        max(
            (m for m in p.lines() if m.path.bounds().x1 < 390),
            key=lambda m: m.path.bounds().height * m.path.bounds().width,
        )
        for p in (after, before)
    )
    assert widest.path.bounds().width - drawn.path.bounds().width == pytest.approx(6.0, abs=0.02)
    words = [mark for mark in before.marks if isinstance(mark, Label)]
    assert words and not [mark for mark in after.marks if isinstance(mark, Label)], "text as outlines"
    drawn, now = (sum(line.style.leaves_ink for line in p.lines()) for p in (before, after))
    assert now == drawn + len(words) + len(cuts), "the line given is added, and nothing lost"


OUTLINE = Path(os.environ.get("PAGESEAM_OPEN_DATA", SAMPLES.parent / "../shared/open-data")) / "garment-svg/ltshirt.svg"


def test_a_real_outline_is_altered_tiled_and_reprinted(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Garment outlines drawn elsewhere: only the pages of the piece that was cut are printed again."""
    if not OUTLINE.is_file():
        pytest.skip(f"open data not found at {OUTLINE}; see PAGESEAM_OPEN_DATA")
    drawing = [str(OUTLINE), "--px-per-inch", "20", "-q"]
    assert run(["pages", *drawing, "-o", "old.pdf", "--no-proof"]) == 0
    assert run(["alter", *drawing, "--cut-line", "18cm,0cm 18cm,51cm", "--around", "20mm", "-o", "new.svg"]) == 0
    assert run(["pages", "new.svg", "-q", "-o", "new.pdf", "--no-proof"]) == 0
    capsys.readouterr()
    assert run(["reprint", "new.svg", "--printed", "old.pdf", "-q", "--json", "-o", "changed.pdf"]) == 0
    values = json.loads(capsys.readouterr().out)
    assert 0 < len(values["replace"]) < values["pages_total"] / 2
    assert not values["remove"]


def test_words_become_the_outlines_that_pdfium_draws(folder: Path) -> None:
    """Rendered by PDFium, outlined words and words as text look alike; moved by 1 mm they don't."""
    file = folder / "potting-smock-two-sizes.pdf"
    before = drawing_at(file, ReadOptions(layers=("size 1",)))
    drawing = as_drawing(before, read_input(file))
    assert not drawing.findings
    words = [mark for mark in drawing.marks if isinstance(mark, Line) and mark.style.fill is not None]
    moved = [mark.moved(Affine.shift(1.0, 0.0)) if mark in words else mark for mark in drawing.marks]
    shown = [pixels(picture_of(p, 2600)) for p in (before, drawing, drawing.with_marks(moved))]
    apart = [np.abs(other - shown[0]).mean() for other in shown[1:]]
    assert apart[0] < 0.35 * apart[1]


def pixels(png: bytes) -> np.ndarray:
    """A picture's grey values."""
    with Image.open(BytesIO(png)) as picture:
        return np.asarray(picture.convert("L"), dtype=float)


@pytest.mark.parametrize(
    ("options", "code", "message"),
    [
        ([], 2, "Error: Nothing is asked for; give --around, --longer or --to.\n"),
        (["--around", "40"], 2, "has no unit; write 40mm"),
        (["--around", "40mm", "--taper", "0.5"], 2, "per cent sign"),
        (["--around", "40mm", "--taper", "150%"], 2, "Error: --taper: 150% is not between 0 % and 100 %.\n"),
        (
            ["--around", "40mm", "--to", "waist=90cm"],
            2,
            "Error: --around and --to can't be given together; --to works the amount out itself.\n",
        ),
        (["--to", "waist"], 2, "write it as waist=90cm,hip=104cm"),
        (["--to", "waist=-3cm"], 2, "more than nought"),
        (["--to", "hop=90cm"], 2, "Error: --to: the pattern's notes hold no measure 'hop'; did you mean hip?\n"),
        (["--to", "x=90cm"], 2, "Error: --to: the pattern's notes hold no measure 'x'; there are "),
        (
            ["--around", "40mm", "--piece", "fornt"],
            2,
            "Error: --piece: there is no piece 'fornt'; did you mean front?\n",
        ),
        (["--around", "40mm", "--cut-line", "1cm,2cm"], 2, "write two points"),
        (
            ["--around", "4cm", "--longer", "4cm", "--cut-line", "1cm,2cm 1cm,3cm"],
            2,
            "Error: --cut-line serves --around or --longer; run once for each.\n",
        ),
        (
            ["--around", "4cm", "--cut-line", "1cm,2cm 1cm,2cm"],
            2,
            "Error: --cut-line: has no length; give two points, from edge to edge of the piece.\n",
        ),
        (["--around", "40mm", "--cut-line", "1cm,2cm 1cm,3cm"], 3, "misses the piece"),
        (
            ["--around", "40mm", "--piece", "pocket"],
            3,
            "Piece pocket has no grading line; draw one, or give it with --cut-line or --at.\n",
        ),
        (["--around=-150cm"], 2, "smaller amount"),
        (["--around", "40mm", "-o", "potting-smock.svg"], 4, "is an input"),
        (["--around", "40mm", "-o", "none/n.svg"], 4, "does not exist"),
        (["--around", "40mm", "-o", "there.svg"], 4, "exists already"),
    ],
)
def test_bad_use_gets_one_message_and_its_code(
    folder: Path, capsys: pytest.CaptureFixture[str], options: list[str], code: int, message: str
) -> None:
    """Nothing is written, and what was there stays."""
    (folder / "there.svg").write_text("kept")
    before = {path.name for path in folder.iterdir()}
    assert run(["alter", "potting-smock.svg", *options]) == code
    assert message in capsys.readouterr().err
    assert {path.name for path in folder.iterdir()} == before
    assert (folder / "there.svg").read_text() == "kept"


def test_force_replaces_the_output(folder: Path) -> None:
    """An existing drawing, and existing notes, only with --force."""
    for name in ("n.svg", "n.toml"):
        (folder / name).write_text("old")
    assert run(["alter", "potting-smock.svg", "--around", "4cm", "-q", "-o", "n.svg", "--force"]) == 0
    assert (folder / "n.svg").read_text().startswith("<?xml")
    assert "Potting smock" in (folder / "n.toml").read_text()


def test_notes_that_are_there_already_are_kept(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without --force the notes beside the new drawing stay as they are, and that is said."""
    (folder / "n.toml").write_text('title = "Mine"\n')
    assert run(["alter", "potting-smock.svg", "--around", "4cm", "-o", "n.svg"]) == 0
    assert "n.toml: was there already and is left as it is" in capsys.readouterr().err
    assert (folder / "n.toml").read_text() == 'title = "Mine"\n'
