"""Pages that are not the size of their sheet, and pages that lie down."""

from __future__ import annotations

import io
import json
from typing import TYPE_CHECKING

import numpy as np
import pytest
from PIL import Image

from calibrate.edges import SeenEdge
from calibrate.failures import Reason, Refusal
from calibrate.papers import Paper, paper_of
from calibrate.photo import Photo
from calibrate.printers import Printers
from calibrate.result import Measurement
from calibrate.scale import Options, measure
from calibrate.sheetpaper import paper_under
from calibrate.target import make_target
from tests.simulator.camera import Phone, Stance
from tests.simulator.conditions import test_page as target_on
from tests.simulator.objects import Card
from tests.simulator.photo import Shot, photographed
from tests.simulator.printing import Printing
from tests.simulator.scene import Light, Scene, Table
from tests.simulator.sensor import Sensor
from tests.simulator.sheet import Sheet
from tiling.commands.main import run
from tiling.commands.remedies import refusal_in_options

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import ArrayLike

A4, LETTER, SHARED = (210.0, 297.0), (215.9, 279.4), (210.0, 279.4)
PHONE = Phone(2000, 1500)


def edges_of(sheet: tuple[float, float], across: float, down: float, at: tuple[float, float]) -> dict[str, SeenEdge]:
    """The edges of a sheet (mm) as a page printed at a scale, its corner ``at`` mm of the sheet, would show them."""
    left, top = -at[0] / across, -at[1] / down
    right, bottom = left + sheet[0] / across, top + sheet[1] / down
    t = np.linspace(0.1, 0.9, 9)
    xs, ys = left + t * (right - left), top + t * (bottom - top)

    def edge(x: ArrayLike, y: ArrayLike) -> SeenEdge:
        return SeenEdge(np.column_stack(np.broadcast_arrays(x, y)).astype(float), 0.01, 0.5, 1.0)

    return {"left": edge(left, ys), "top": edge(xs, top), "right": edge(right, ys), "bottom": edge(xs, bottom)}


@pytest.mark.parametrize("name", ["A4", "letter"])
@pytest.mark.parametrize("stretch", [(1.0, 1.0), (0.972, 0.966), (1.004, 1.009)])
@pytest.mark.parametrize("place", ["middle", "top left"])
def test_a_page_for_a4_and_letter_alike_shows_which_it_lies_on(
    name: str, stretch: tuple[float, float], place: str
) -> None:
    """210 x 279.4 mm is no sheet: the shape tells A4 (297/210, ISO 216) from letter (11/8.5), wherever it lies."""
    sheet = A4 if name == "A4" else LETTER
    size = (SHARED[0] * stretch[0], SHARED[1] * stretch[1])
    at = ((sheet[0] - size[0]) / 2, (sheet[1] - size[1]) / 2) if place == "middle" else (0.0, 0.0)
    found = paper_under(edges_of(sheet, *stretch, at), paper_of(*SHARED))
    assert isinstance(found, Paper)
    assert found.label == name


def test_a_page_for_a4_and_letter_on_another_sheet_is_refused() -> None:
    """Legal (8.5 x 14 in) is neither; nothing is guessed."""
    found = paper_under(edges_of((215.9, 355.6), 1.0, 1.0, (0.0, 0.0)), paper_of(*SHARED))
    assert isinstance(found, Refusal)
    assert "neither A4 nor letter" in found.detail


def test_a_shared_page_that_lies_down_lies_on_a_sheet_that_does() -> None:
    """The same turned by a quarter."""
    found = paper_under(edges_of((297.0, 210.0), 1.0, 1.0, (0.0, 0.0)), paper_of(279.4, 210.0))
    assert isinstance(found, Paper)
    assert (found.label, found.width) == ("A4", 297.0)


def test_of_papers_with_one_shape_the_one_that_needs_least_shrinking_is_meant() -> None:
    """A letter page on A4 is not taken for one on B5, though A4 and B5 (ISO 216) are alike in shape."""
    found = paper_under(edges_of(A4, 0.9727, 0.9690, (0.0, 0.0)), paper_of(*LETTER))
    assert isinstance(found, Paper)
    assert found.label == "A4"


def test_a_size_of_ones_own_near_a_known_paper_is_not_guessed() -> None:
    """A page of 200 x 280 mm may lie on a sheet of that size or on A4: 5 % apart, so neither is believed."""
    found = paper_under(edges_of(A4, 1.0, 1.0, (5.0, 8.5)), paper_of(200.0, 280.0))
    assert isinstance(found, Refusal)
    assert "A4" in found.detail
    assert "--sheet ACROSS DOWN" in refusal_in_options(found).detail
    assert "--" not in str(found)
    apart = paper_under(edges_of((200.0, 200.5), 1.0, 1.0, (0.0, 0.0)), paper_of(200.0, 200.5))
    assert isinstance(apart, Paper)


def photo_of(page: tuple[float, float], sheet: tuple[float, float], printing: Printing, *, card: bool = False) -> bytes:
    """A photo of a page with the target, printed on a sheet."""
    place = make_target(*page).card
    middle = np.array([place.x + place.width / 2, place.y + place.height / 2])
    x, y = printing.to_sheet(middle, page, sheet)
    things = (Card(float(x), float(y), turn=0.8),) if card else ()
    scene = Scene(
        target_on(*page), printing, Sheet(*sheet), things, table=Table.WOOD, light=Light(0.2, -0.3, gradient=0.2)
    )
    turn = 0.0 if page[0] > page[1] else 88.0
    return photographed(Shot(scene, PHONE, Stance(8.0, 70.0, turn), Sensor(0.7, noise=1.2), seed=3)).file


def read(photo: bytes) -> Measurement | Refusal:
    """Measured with whatever is seen."""
    picture = np.asarray(Image.open(io.BytesIO(photo)).convert("RGB"))
    grey = np.asarray(Image.fromarray(picture).convert("L"))
    return measure([Photo(grey, picture, None, "photo")], Options())


def test_a_shared_page_is_measured_by_the_sheet_it_lies_on() -> None:
    """Printed from the top left corner of an A4 sheet: right to 0.1 %, and the sheet is named."""
    printing = Printing(1.003, 0.998, shift_y=-8.8)
    found = read(photo_of(SHARED, A4, printing))
    assert isinstance(found, Measurement), str(found)
    assert (found.scale.across, found.scale.down) == pytest.approx((1.003, 0.998), rel=1e-3)
    assert found.paper is not None
    assert found.paper.label == "A4"
    assert found.cause is None
    assert any("alike" in note for note in found.notes)


def test_a_sheet_larger_than_the_test_page_asks_for_a_card() -> None:
    """On A3 (ISO 216: 297 x 420 mm) the target takes up the top left: the sheet's edges are no reference."""
    refused = read(photo_of((297.0, 420.0), (297.0, 420.0), Printing()))
    assert isinstance(refused, Refusal)
    assert refused.reason is Reason.SHEET_LARGER
    assert "card" in refused.advice


def test_a_page_that_lies_down_corrects_the_right_directions(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The paper goes through the printer the same way: what is across on a page lying down is down on one upright.

    Kept from a photo of a page lying down, the printer corrects pages lying down with the directions as seen, and
    upright ones with the two exchanged. A border is kept at its widest for all sides.
    """
    monkeypatch.setenv("PAGESEAM_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    seen = Printing(0.962, 0.978, cut_off=(3.0, 4.0, 5.0, 6.0))
    (tmp_path / "photo.jpg").write_bytes(photo_of((297.0, 210.0), (297.0, 210.0), seen, card=True))
    (tmp_path / "bib.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="250mm" height="150mm" viewBox="0 0 250 150">'
        '<path d="M 20 20 H 230 V 130 H 20 Z" fill="none" stroke="black"/></svg>'
    )
    border = ["--border", "3mm", "4mm", "5mm", "6mm"]
    assert run(["check", "photo.jpg", "--reference", "card", "--printer", "shed", *border]) == 0
    record = Printers().get("shed")
    assert (record.latest.scale.across, record.latest.scale.down) == pytest.approx((0.978, 0.962), abs=2e-3)
    assert record.border is not None
    assert {record.border.left, record.border.top, record.border.right, record.border.bottom} == {6.0}
    for orientation, across, down in (("landscape", 0.962, 0.978), ("portrait", 0.978, 0.962)):
        capsys.readouterr()
        target = f"{orientation}.pdf"
        chosen = ["--printer", "shed", "--paper", "a4", "--orientation", orientation]
        assert run(["pages", "bib.svg", "-o", target, *chosen, "--json"]) == 0
        correction = json.loads(capsys.readouterr().out)["correction"]
        assert correction["across"] == pytest.approx(1 / across, rel=2e-3)
        assert correction["down"] == pytest.approx(1 / down, rel=2e-3)
