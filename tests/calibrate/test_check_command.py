"""`pageseam check`, `testpage` and `printers` from end to end, on simulated photos of the tool's own page."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from PIL import Image

from calibrate.printer_scale import MeasuredScale
from calibrate.printers import PrinterReading, Printers
from calibrate.target import make_target
from tests.simulator.camera import Lens, Phone, Stance
from tests.simulator.objects import Card
from tests.simulator.photo import Shot, photographed
from tests.simulator.printing import Printing, page_of
from tests.simulator.scene import Light, Scene, Table
from tests.simulator.sensor import Sensor
from tests.simulator.sheet import Sheet
from tiling.commands.main import run

if TYPE_CHECKING:
    from pathlib import Path

A4 = (210.0, 297.0)
LIAR = Printing(0.962, 0.971, turn=0.2, cut_off=(5.0, 6.2, 4.6, 7.0))
PHONE = Phone(2000, 1500, 26.0, 0.01, Lens(0.03, -0.02, 0.0003, -0.0002))


@pytest.fixture(autouse=True)
def _home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Printers are kept in the test's own folder."""
    monkeypatch.setenv("PAGESEAM_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)


def shot_of(pdf: Path, printing: Printing = LIAR, *, card: bool = True, seed: int = 1) -> Shot:
    """The first page of a PDF, printed and photographed on a wooden table."""
    area = make_target(*A4).card
    middle = printing.to_sheet(np.array([area.x + area.width / 2, area.y + area.height / 2]), A4, A4)
    things = (Card(float(middle[0]), float(middle[1]), turn=0.8),) if card else ()
    scene = Scene(page_of(pdf), printing, Sheet(*A4), things, table=Table.WOOD, light=Light(0.2, -0.3, gradient=0.2))
    return Shot(scene, PHONE, Stance(9.0, 60.0 + 40 * seed, 88.0), Sensor(0.7, noise=1.2), seed=seed)


def photo_of(pdf: Path, name: str, printing: Printing = LIAR, *, card: bool = True, seed: int = 1) -> Path:
    """The photo as a file beside the PDF."""
    path = pdf.with_name(name)
    path.write_bytes(photographed(shot_of(pdf, printing, card=card, seed=seed)).file)
    return path


@pytest.fixture(scope="module")
def sheets(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with photos of the sheet alone: one.jpg and two.jpg from one printer, other.jpg from another."""
    folder = tmp_path_factory.mktemp("sheets")
    pdf = folder / "page.pdf"
    assert run(["testpage", "-q", "-o", str(pdf)]) == 0
    photo_of(pdf, "one.jpg", card=False)
    photo_of(pdf, "two.jpg", card=False, seed=3)
    photo_of(pdf, "other.jpg", replace(LIAR, across=0.99), card=False)
    return folder


def answer(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, Any, str]:
    """Exit code, JSON and messages of one run."""
    capsys.readouterr()
    code = run([*args, "--json"])
    out, err = capsys.readouterr()
    return code, json.loads(out) if out.strip() else None, err


def test_the_loop_closes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Print with an error, photograph, correct, print again with the same error, photograph: it reads 1.000."""
    assert run(["testpage", "-o", "first.pdf"]) == 0
    first = photo_of(tmp_path / "first.pdf", "first.jpg")
    code, values, _ = answer(capsys, "check", str(first), "--reference", "card", "--printer", "shed")
    assert code == 0
    assert values["verdict"] == "rescaled"
    assert values["corrected_for"] == {"across": 1.0, "down": 1.0}
    assert abs(values["across"] - LIAR.across) <= values["uncertainty_across"]
    assert abs(values["down"] - LIAR.down) <= values["uncertainty_down"]

    assert run(["testpage", "-o", "second.pdf", "--printer", "shed"]) == 0
    second = photo_of(tmp_path / "second.pdf", "second.jpg", seed=2)
    code, values, _ = answer(capsys, "check", str(second), "--reference", "card", "--printer", "shed")
    assert code == 0
    assert abs(values["across"] - 1.0) <= values["uncertainty_across"]
    assert abs(values["down"] - 1.0) <= values["uncertainty_down"]
    assert values["corrected_for"]["across"] == pytest.approx(LIAR.across, abs=0.003)
    # The photo of a corrected page still speaks of the printer itself: the correction composes.
    assert values["printer_scale"]["across"] == pytest.approx(LIAR.across, abs=values["uncertainty_across"])
    record = Printers().get("shed")
    assert record.latest.scale.across == values["printer_scale"]["across"]
    assert len(record.history) == 1
    assert record.latest.paper == "a4"


def test_a_wrong_correction_is_noticed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The loop above fails where the second print comes from another printer."""
    run(["check", "--measured", "96.2mm", "97.1mm", "--printer", "shed"])
    assert run(["testpage", "-o", "page.pdf", "--printer", "shed"]) == 0
    photo = photo_of(tmp_path / "page.pdf", "page.jpg", replace(LIAR, across=0.98, down=0.98))
    _, values, _ = answer(capsys, "check", str(photo), "--reference", "card")
    assert abs(values["across"] - 1.0) > values["uncertainty_across"]
    assert values["verdict"] == "rescaled"


def test_the_sheet_alone_gives_an_honest_answer_a_border_and_a_picture(
    sheets: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without a card: the paper's own tolerance is stated, the ticks give the border, the picture is written."""
    photo = sheets / "one.jpg"
    before = photo.read_bytes()
    code, values, err = answer(
        capsys, "check", str(photo), "--printer", "shed", "--picture", "read.png", "--date", "2026-05-01"
    )
    assert code == 0
    assert values["reference"] == "sheet"
    # ISO 216 lets a side of 150 to 600 mm be off by 2 mm: of that the answer must own up to the most part.
    assert 0.75 * 2 / 210 < values["uncertainty_across"] < 1.25 * 2 / 210
    assert "less sure than the tolerance" in err
    record = Printers().get("shed")
    assert record.latest.date == "2026-05-01"
    assert record.border is not None
    seen = (record.border.left, record.border.top, record.border.right, record.border.bottom)
    assert seen == pytest.approx(LIAR.cut_off, abs=0.25)
    with Image.open("read.png") as drawn:
        assert drawn.size[0] > 1500
    assert photo.read_bytes() == before
    code = run(["check", str(photo), "--picture", "read.png"])
    assert code == 4
    assert run(["check", str(photo), "--picture", str(photo), "--force"]) == 4
    assert photo.read_bytes() == before


def test_several_photos_are_combined_and_must_agree(sheets: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two photos of one page are one answer, no less sure than one photo; photos of two printers are refused."""
    one, two, other = (str(sheets / name) for name in ("one.jpg", "two.jpg", "other.jpg"))
    _, single, _ = answer(capsys, "check", one)
    code, both, _ = answer(capsys, "check", one, two)
    assert code == 0
    assert abs(both["across"] - LIAR.across) < 0.001
    assert both["uncertainty_across"] <= single["uncertainty_across"] * 1.001
    code, values, err = answer(capsys, "check", one, other)
    assert code == 5
    assert values["refusal"]["reason"] == "photos disagree"
    assert values["across"] is None
    assert "other.jpg" in err


def test_no_target_ends_with_5_and_says_what_to_do(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A photo of anything else: one reason, one piece of advice, the photo's name, a picture that says so."""
    picture = np.random.default_rng(1).integers(0, 255, (1500, 2000), dtype=np.uint8)
    Image.fromarray(picture).save(tmp_path / "wall.png")
    code, values, err = answer(capsys, "check", "wall.png", "--printer", "shed", "--picture", "read.png")
    assert code == 5
    assert values["refusal"]["reason"] == "no target found"
    assert "wall.png" in err
    assert Printers().all() == ()
    with Image.open(tmp_path / "read.png") as drawn:
        assert drawn.width == 2000
        assert drawn.height > 1500


@pytest.mark.parametrize(
    ("sides", "verdict"),
    [
        (("100mm", "100mm"), "true"),
        (("100.2mm", "100mm"), "not sure"),
        (("97mm", "98mm"), "rescaled"),
        (("9.95cm", "10 cm"), "not sure"),
        (("4in", "4in"), "true or not sure"),
    ],
)
def test_the_ruler_gives_the_same_verdicts(
    capsys: pytest.CaptureFixture[str], sides: tuple[str, str], verdict: str
) -> None:
    """Half a millimetre is a ruler's own uncertainty: 0.5 % is as little as it can tell."""
    code, values, _ = answer(capsys, "check", "--measured", *sides)
    assert code == 0
    assert values["verdict"] in verdict
    assert values["uncertainty_across"] == pytest.approx(0.005)
    assert values["reference"] == "ruler"


@pytest.mark.parametrize(
    ("sides", "across", "down"),
    [(("4in", "4in"), 1.0, 1.0), (('3 7/8"', "4in"), 0.96875, 1.0), (("100mm", "3.9 in"), 1.0, 0.975)],
)
def test_inches_are_those_of_the_dashed_square(
    sides: tuple[str, str], across: float, down: float, capsys: pytest.CaptureFixture[str]
) -> None:
    """The page has a square of 100 mm, and a dashed one of 4 in for who has a ruler in inches."""
    _, values, said = answer(capsys, "check", "--measured", *sides)
    assert values["across"] == pytest.approx(across)
    assert values["down"] == pytest.approx(down)
    assert "dashed square" in said
    assert "inches" not in answer(capsys, "check", "--measured", "100mm", "100mm")[2]


def test_a_rougher_ruler_leaves_the_photo_s_reading(capsys: pytest.CaptureFixture[str]) -> None:
    """What is kept is said, and how to have it otherwise; where the two contradict each other, that too."""
    Printers().keep("shed", PrinterReading("a4", MeasuredScale(0.971, 0.971, 0.003, 0.003), "card"))
    run(["check", "--measured", "97mm", "97mm", "--printer", "shed"])
    said = capsys.readouterr().err
    assert "stays" in said
    assert "a ruler's is rougher" in said
    assert "may print otherwise now" not in said
    assert Printers().get("shed").latest.reference == "card"
    run(["check", "--measured", "100mm", "100mm", "--printer", "shed"])
    assert "may print otherwise now" in capsys.readouterr().err
    assert Printers().get("shed").latest.reference == "card"


def test_a_kept_result_is_not_asked_to_be_kept(capsys: pytest.CaptureFixture[str]) -> None:
    """Without a printer's name the advice is to keep it; with one, to print with it."""
    run(["check", "--measured", "97mm", "97mm"])
    assert "keep this result with --printer NAME" in capsys.readouterr().out
    run(["check", "--measured", "97mm", "97mm", "--printer", "shed"])
    out = capsys.readouterr().out
    assert "print with --printer shed, under which this result is kept" in out
    assert "NAME" not in out


def test_a_ruler_can_tell_a_wider_tolerance(capsys: pytest.CaptureFixture[str]) -> None:
    """With a tolerance of 2 % a ruler's 101 mm is true."""
    _, values, _ = answer(capsys, "check", "--measured", "101mm", "100mm", "--tolerance", "2%")
    assert values["verdict"] == "true"


def test_a_ruler_on_a_corrected_page_composes(capsys: pytest.CaptureFixture[str]) -> None:
    """Told that the page was corrected, the printer's own scale is measured times the correction."""
    run(["check", "--measured", "97mm", "98mm", "--printer", "shed"])
    run(["check", "--measured", "100mm", "100mm", "--printer", "shed", "--corrected", "--border", *["5mm"] * 4])
    record = Printers().get("shed")
    assert record.latest.scale.across == pytest.approx(0.97)
    assert record.border is not None
    assert record.border.right == 5.0
    code = run(["printers"])
    out, _ = capsys.readouterr()
    assert code == 0
    assert "shed: prints at 97.00 % across" in out
    assert run(["printers", "show", "shed"]) == 0
    assert "Earlier:" in capsys.readouterr().out
    assert run(["printers", "forget", "shed"]) == 0
    assert run(["printers", "show", "shed"]) == 3


@pytest.mark.parametrize(
    ("args", "code", "said"),
    [
        (["check"], 2, "name the photo"),
        (["check", "a.jpg", "--measured", "97mm", "98mm"], 2, "--measured is what a ruler shows"),
        (["check", "a.jpg", "--measured", "97mm", "98mm", "--reference", "spoon"], 2, "--measured is what a ruler"),
        (["check", "missing.jpg", "--reference", "spoon"], 2, "no reference is called 'spoon': give sheet, card"),
        (["check", "--measured", "97mm", "98mm", "--paper", "letter"], 2, "name it with --printer"),
        (["check", "--measured", "97", "98mm"], 2, "has no unit"),
        (["check", "--measured", "97mm"], 2, ""),
        (["check", "--measured", "30mm", "98mm"], 3, "measure its sides"),
        (["check", "--measured", "97mm", "98mm", "--reference", "card"], 2, "--reference needs a photo"),
        (["check", "--measured", "97mm", "98mm", "--date", "2026-05-01"], 2, "name it with --printer"),
        (["check", "--measured", "97mm", "98mm", "--tolerance", "0.5"], 2, "per cent"),
        (["check", "--measured", "97mm", "98mm", "--tolerance", "40%"], 2, "between 0 % and 5 %"),
        (["check", "--measured", "97mm", "98mm", "--printer", "x", "--date", "May"], 2, "2026-05-01"),
        (["check", "--measured", "70mm", "98mm", "--printer", "x"], 3, "0.80"),
        (["check", "--measured", "97mm", "98mm", "--printer", " "], 3, "can't be the name"),
        (["check", "missing.jpg"], 3, "no such file"),
        (["check", "missing.jpg", "--reference", "coin:1 euro"], 2, "coin"),
        (["check", "missing.jpg", "--reference", "coin:50c-eur"], 2, "not round"),
        (["check", "missing.jpg", "--picture", "no/such/place.png"], 4, "does not exist"),
        (["testpage", "--paper", "a9"], 2, "no paper"),
        (["testpage", "--paper", "70x100mm"], 2, "148 x 200"),
        (["testpage", "--paper", "roll:914mm"], 2, "cut sheet"),
        (["testpage", "--printer", "attic"], 3, "attic"),
        (["testpage", "-o", "no/such/place.pdf"], 4, "does not exist"),
        (["printers", "forget", "attic"], 3, "attic"),
    ],
)
def test_what_is_wrong_is_said_in_one_line(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, args: list[str], code: int, said: str
) -> None:
    """Each fault has its exit code and its words, and leaves nothing behind."""
    assert run(args) == code
    err = capsys.readouterr().err
    assert said in err
    assert "Traceback" not in err
    assert [p.name for p in tmp_path.iterdir() if p.name != "home"] == []
    assert not (tmp_path / "home" / "printers.json").exists()


def test_an_existing_test_page_is_replaced_only_with_force(tmp_path: Path) -> None:
    """The file stays as it was without --force, and is a page with it; quiet says nothing."""
    path = tmp_path / "page.pdf"
    path.write_bytes(b"mine")
    assert run(["testpage", "-o", "page.pdf"]) == 4
    assert path.read_bytes() == b"mine"
    assert run(["testpage", "-o", "page.pdf", "--force", "-q"]) == 0
    assert path.read_bytes().startswith(b"%PDF")


def test_a_test_page_on_another_paper_is_warned_of(capsys: pytest.CaptureFixture[str]) -> None:
    """The correction measured on A4 is used on letter, with a word of caution."""
    run(["check", "--measured", "97mm", "98mm", "--printer", "shed"])
    capsys.readouterr()
    assert run(["testpage", "--paper", "letter", "--printer", "shed", "-o", "page.pdf"]) == 0
    assert "a4, not on letter" in capsys.readouterr().err
