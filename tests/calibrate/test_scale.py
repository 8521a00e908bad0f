"""From photo to answer: accuracy, uncertainty, the closed loop, agreement of photos, and refusals.

The photos are simulated ones of the tool's own page (see ``tests/simulator``), with fixed seeds.
"""

from __future__ import annotations

import io
import json
from functools import lru_cache

import numpy as np
import pytest
from PIL import Image

from calibrate.failures import Action, Reason, ReferenceUnknownError, Refusal
from calibrate.photo import Photo
from calibrate.printer_scale import PrinterScale
from calibrate.result import Measurement
from calibrate.scale import Options, measure, wanted_reference
from calibrate.target import make_target
from calibrate.verdict import Verdict
from tests.simulator.camera import Lens, Phone, Stance
from tests.simulator.objects import Card
from tests.simulator.photo import Shot, photographed
from tests.simulator.printing import Printing, Raster, page_of
from tests.simulator.scene import Light, Scene, Table
from tests.simulator.sensor import Sensor
from tests.simulator.sheet import Bend, Curl, Sheet
from tiling.operations.result_values import measurement_values, refusal_values

A4 = (210.0, 297.0)
LETTER = (215.9, 279.4)
PHONE = Phone(2400, 1800, 26.0, 0.01, Lens(0.03, -0.02, 0.0003, -0.0002))
PRINTING = Printing(0.9683, 0.9721, turn=0.2, shear=0.1, cut_off=(3.4, 4.2, 3.0, 5.0))


@lru_cache(maxsize=4)
def page(correction: tuple[float, float] = (1.0, 1.0)) -> Raster:
    """An A4 test page that states a correction, scaled by it about its middle as a printed page would be."""
    from reportlab.pdfgen.canvas import Canvas

    from tiling.drawing.target import paint_target

    out = io.BytesIO()
    k = 72 / 25.4
    canvas = Canvas(out, pagesize=(A4[0] * k, A4[1] * k))
    canvas.translate(A4[0] * k / 2, A4[1] * k / 2)
    canvas.scale(1 / correction[0], 1 / correction[1])
    canvas.translate(-A4[0] * k / 2, -A4[1] * k / 2)
    paint_target(canvas, make_target(*A4, PrinterScale(*correction)), A4[1])
    canvas.save()
    return page_of(out.getvalue())


def shot(*, card: bool = False, seed: int = 1, **changes: object) -> Shot:
    """A photo as people take them; ``changes`` are the scene's."""
    printing = changes.get("printing", PRINTING)
    assert isinstance(printing, Printing)
    things: tuple[Card, ...] = ()
    if card:
        place = make_target(*A4).card
        x, y = printing.to_sheet(np.array([place.x + place.width / 2, place.y + place.height / 2]), A4, A4)
        things = (Card(float(x) + 0.5, float(y) - 0.4, turn=0.8),)
    usual = {
        "page": page(), "printing": PRINTING, "sheet": Sheet(*A4), "things": things, "table": Table.WOOD,
        "light": Light(0.2, -0.3, gradient=0.2),
    }  # fmt: skip
    scene = Scene(**(usual | changes))  # type: ignore[arg-type]
    return Shot(scene, PHONE, Stance(8.0, 70.0 * seed, 88.0), Sensor(0.7, noise=1.2), seed=seed)


def photo(of: Shot) -> Photo:
    """The shot's file, decoded."""
    picture = np.asarray(Image.open(io.BytesIO(photographed(of).file)).convert("RGB"))
    grey = np.asarray(Image.fromarray(picture).convert("L"))
    focal = 26.0 * float(np.hypot(*grey.shape)) / 43.2666
    return Photo(grey, picture, focal, f"photo {of.seed}")


@lru_cache(maxsize=1)
def plain() -> Photo:
    """The sheet alone."""
    return photo(shot())


@lru_cache(maxsize=1)
def carded() -> Photo:
    """With a card in its outline."""
    return photo(shot(card=True, seed=2))


def measured(*photos: Photo, **options: object) -> Measurement:
    """The measurement; a refusal fails the test with its reason."""
    found = measure(photos, Options(**options))  # type: ignore[arg-type]
    assert isinstance(found, Measurement), str(found)
    return found


def test_sheet_gives_the_scale_to_six_hundredths_of_a_per_cent() -> None:
    """Sheet alone: both directions within 0.06 %, skew within 0.02 degrees, and the reasons to doubt are listed."""
    found = measured(plain())
    assert found.scale.across == pytest.approx(PRINTING.across, rel=6e-4)
    assert found.scale.down == pytest.approx(PRINTING.down, rel=6e-4)
    assert found.skew_degrees == pytest.approx(-PRINTING.shear, abs=0.02)
    assert found.reference == "sheet"
    assert found.verdict is Verdict.RESCALED
    names = [c.name for c in found.budget]
    assert names == [
        "corner noise", "lens", "flatness", "edge finding", "tone curve", "shadow at the edges",
        "reference tolerance", "whole sheet",
    ]  # fmt: skip


def test_a_sheet_is_believed_no_more_than_iso_216_allows() -> None:
    """Two millimetres of tolerance, each size as likely, at k=2: 1.10 % of 210 mm across, and the verdict heeds it."""
    found = measured(plain(), tolerance=0.03)
    assert found.scale.uncertainty_across / found.scale.across == pytest.approx(2 * 2 / 3**0.5 / 210, rel=0.02)
    assert found.verdict is Verdict.NOT_SURE
    assert found.next_step.action is Action.LAY_CARD


def test_card_beats_the_sheet() -> None:
    """With a card there, it is used unasked: within 0.1 %, and its uncertainty is less than half as large."""
    found = measured(carded())
    assert found.reference == "card"
    assert found.scale.across == pytest.approx(PRINTING.across, rel=1e-3)
    assert found.scale.down == pytest.approx(PRINTING.down, rel=1.5e-3)
    assert found.scale.uncertainty_across < measured(plain()).scale.uncertainty_across / 2
    assert {"thickness", "reference tolerance"} <= {c.name for c in found.budget}


def test_border_is_read_from_the_ticks() -> None:
    """A printer that leaves off 6 mm is read to a quarter of a mm at each side."""
    cut = Printing(1.0, 1.0, cut_off=(6.0, 4.5, 5.0, 7.0))
    border = measured(photo(shot(printing=cut, seed=3))).border
    assert (border.left, border.top, border.right, border.bottom) == pytest.approx((6.0, 4.5, 5.0, 7.0), abs=0.25)


def test_curled_sheet_is_measured_as_if_flat() -> None:
    """Ends that rise 3 mm cost at most 0.12 %; flatness stands in the budget."""
    curled = shot(sheet=Sheet(*A4, Curl(3.0, Bend.BOWL, 90.0)), seed=4)
    found = measured(photo(curled), reference="sheet")
    assert found.scale.across == pytest.approx(PRINTING.across, rel=1.2e-3)
    assert found.scale.down == pytest.approx(PRINTING.down, rel=1.2e-3)


def test_the_loop_closes() -> None:
    """Printed, measured, corrected, printed by the same printer and measured again: 1.000 within the uncertainty."""
    first = measured(carded())
    stated = PrinterScale(first.printer.across, first.printer.down).rounded()
    again = photo(shot(card=True, page=page((stated.across, stated.down)), seed=5))
    second = measured(again)
    assert second.corrected_for == stated
    assert second.scale.across == pytest.approx(1.0, abs=second.scale.uncertainty_across)
    assert second.scale.down == pytest.approx(1.0, abs=second.scale.uncertainty_down)
    assert second.printer.across == pytest.approx(PRINTING.across, abs=second.printer.uncertainty_across)
    assert second.verdict is Verdict.TRUE


def test_an_a4_page_on_letter_paper_is_recognised() -> None:
    """Shrunk to fit letter (0.9407) by the printer: scale, paper and cause are named."""
    shrunk = Printing(0.9407, 0.9407)
    found = measured(photo(shot(printing=shrunk, sheet=Sheet(*LETTER), seed=6)))
    assert found.scale.across == pytest.approx(0.9407, rel=1e-3)
    assert found.paper is not None
    assert found.paper.label == "letter"
    assert found.cause is not None
    assert "94.07 mm" in found.cause
    assert any("letter" in note for note in found.notes)


def test_photos_that_agree_are_combined_and_others_refused() -> None:
    """Two photos of one page halve nothing of the card's own doubt but less of the rest; two printers disagree."""
    pair = measured(carded(), photo(shot(card=True, seed=7)))
    one = measured(carded())
    edge = [next(c.across for c in m.budget if c.name == "edge finding") for m in (pair, one)]
    assert edge[0] < edge[1]
    other = photo(shot(printing=Printing(0.99, 0.99), seed=8))
    refused = measure([plain(), other])
    assert isinstance(refused, Refusal)
    assert refused.reason is Reason.PHOTOS_DISAGREE


def test_a_thing_that_is_no_id_1_card_is_refused() -> None:
    """A card of 85 x 55 mm has not the shape of ID-1 (ISO/IEC 7810: 85.60 x 53.98 mm): the sheet is what is left."""
    place = make_target(*A4).card
    x, y = PRINTING.to_sheet(np.array([place.x + place.width / 2, place.y + place.height / 2]), A4, A4)
    wrong = shot(things=(Card(float(x), float(y), width=85.0, height=55.0),), seed=9)
    refused = measure([photo(wrong)], Options("card"))
    assert isinstance(refused, Refusal)
    left = measure([photo(wrong)])
    assert isinstance(left, Measurement)
    assert left.reference == "sheet"
    assert left.scale.across == pytest.approx(PRINTING.across, rel=1e-3)
    assert refused.reason is Reason.OTHER_SIZE


def test_no_reference_is_no_measurement() -> None:
    """A white sheet on a white table gives no scale; asking for a card that is not there neither."""
    white = measure([photo(shot(table=Table.WHITE, light=Light(), seed=10))])
    assert isinstance(white, Refusal)
    missing = measure([plain()], Options(reference="card"))
    assert isinstance(missing, Refusal)
    assert missing.reason is Reason.NO_REFERENCE


def test_json_has_the_same_keys_for_answer_and_refusal() -> None:
    """The contract's keys are there, filled or null, and survive json.dumps."""
    keys = {
        "across", "down", "uncertainty_across", "uncertainty_down", "skew_degrees", "verdict", "cause", "reference",
        "corrected_for", "printer_scale", "residual_px", "budget", "refusal",
    }  # fmt: skip
    answer = json.loads(json.dumps(measurement_values(measured(plain()))))
    refusal = json.loads(json.dumps(refusal_values(Refusal(Reason.GLARE))))
    assert keys <= set(answer)
    assert set(answer) == set(refusal)
    assert answer["refusal"] is None
    assert refusal["across"] is None
    assert refusal["refusal"]["reason"] == "glare"


def test_unknown_references_are_named() -> None:
    """A reference that is none brings the names that are."""
    with pytest.raises(ReferenceUnknownError):
        wanted_reference("coin:doubloon")
    with pytest.raises(ReferenceUnknownError):
        wanted_reference("ruler")
