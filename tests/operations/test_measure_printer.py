"""Measuring a printer as a job: bytes or figures in, values out, nothing on the disk."""

from __future__ import annotations

import io
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

from calibrate.failures import Action, NoMeasurementError, PhotoUnreadableError, Reason
from calibrate.printer_scale import PrinterScale
from calibrate.printers import Border
from calibrate.run import Run
from calibrate.scale import Stage
from tests.simulator.conditions import Condition, ordinary
from tests.simulator.photo import photographed
from tiling.failures import InputUnfit, UsageWrong
from tiling.files.inputs import InputFile
from tiling.operations.measure_printer import (
    PHOTOS_READ,
    KeepAs,
    MeasureRequest,
    RulerFigures,
    measure_printer,
)


@pytest.fixture(scope="module")
def photo() -> InputFile:
    """A sheet without a card, as a phone sends it."""
    return InputFile("sheet.jpg", photographed(ordinary(Condition.SHEET, 1).shot).file)


def test_a_photo_gives_a_measurement_a_picture_and_what_to_keep(photo: InputFile) -> None:
    """All as values: the reading is the upright printer's, the border as seen, the picture a PNG of its own name."""
    told: list[str] = []
    request = MeasureRequest((photo,), reference="sheet", picture="read.png", keep=KeepAs("shed", date="2026-05-01"))
    result = measure_printer(request, Run(lambda what, *_: told.append(what)))
    assert told == [PHOTOS_READ, *Stage]
    assert result.picture is not None
    assert result.picture.name == "read.png"
    with Image.open(io.BytesIO(result.picture.content)) as drawn:
        assert drawn.format == "PNG"
    assert result.keep is not None
    assert result.keep.printer == "shed"
    assert result.keep.reading.scale == result.measurement.upright_printer
    assert (result.keep.reading.paper, result.keep.reading.date) == ("a4", "2026-05-01")
    assert (result.keep.border is None) == bool(result.keep.unread)
    # Paper is cut to a millimetre or two: half a per cent can't be told by it.
    assert result.unsure


def test_nothing_is_asked_for_and_nothing_made(photo: InputFile) -> None:
    """No picture, nothing to keep."""
    result = measure_printer(MeasureRequest((photo,), reference="sheet"))
    assert result.picture is None
    assert result.keep is None


def test_a_refusal_is_raised_with_its_reason() -> None:
    """A photo of a bare wall: the failure carries the refusal, whose words name no option."""
    wall = io.BytesIO()
    Image.new("L", (2000, 1500), 180).save(wall, "PNG")
    with pytest.raises(NoMeasurementError) as refused:
        measure_printer(MeasureRequest((InputFile("wall.png", wall.getvalue()),)))
    assert refused.value.refusal.reason is Reason.NO_TARGET
    assert "--" not in str(refused.value)
    with pytest.raises(PhotoUnreadableError, match="is no photo"):
        measure_printer(MeasureRequest((InputFile("note.txt", b"hello"),)))


def test_a_ruler_measures_on_a_page_corrected_before() -> None:
    """98 mm on a page drawn for a printer at 97 % is a printer at 95.06 %; the border typed is kept."""
    border = Border(4.0, 5.0, 4.0, 12.0)
    ruler = RulerFigures(98.0, 100.0, PrinterScale(0.97, 1.0))
    result = measure_printer(MeasureRequest(ruler=ruler, keep=KeepAs("shed", "letter", border=border)))
    assert result.measurement.printer.across == pytest.approx(0.9506)
    assert result.keep is not None
    assert (result.keep.reading.paper, result.keep.reading.reference) == ("letter", "ruler")
    assert result.keep.border == border
    assert measure_printer(MeasureRequest(ruler=ruler, keep=KeepAs("shed"))).keep.border is None  # type: ignore[union-attr]


def test_what_to_do_next_knows_whether_the_result_is_kept() -> None:
    """Kept, it is a matter of using it; the name goes with the advice."""
    ruler = RulerFigures(97.0, 97.0)
    step = measure_printer(MeasureRequest(ruler=ruler)).measurement.next_step
    assert step.action is Action.PRINT_AT_FULL_SIZE_OR_KEEP
    step = measure_printer(MeasureRequest(ruler=ruler, keep=KeepAs("shed"))).measurement.next_step
    assert step.action is Action.PRINT_AT_FULL_SIZE_OR_AS_KEPT
    assert step.values == ("shed",)


def test_photos_or_figures_and_plausible_ones() -> None:
    """Neither and both are wrong; 30 mm is no square of 100 mm."""
    for request in (MeasureRequest(), MeasureRequest((InputFile("a.jpg", b""),), RulerFigures(100.0, 100.0))):
        with pytest.raises(UsageWrong):
            measure_printer(request)
    with pytest.raises(InputUnfit, match="measure its sides in mm"):
        measure_printer(MeasureRequest(ruler=RulerFigures(30.0, 98.0)))


def test_the_job_needs_no_terminal_and_writes_nothing(tmp_path: Path, photo: InputFile) -> None:
    """In a process of its own, from bytes: click is not loaded and the folder stays empty."""
    code = (
        "import sys; from tiling.files.inputs import InputFile; from tiling.operations import measure_printer as m; "
        "p = InputFile('p.jpg', sys.stdin.buffer.read()); "
        "r = m.measure_printer(m.MeasureRequest((p,), reference='sheet', picture='p.png')); "
        "assert r.picture; assert 'click' not in sys.modules; print(r.measurement.verdict.value)"
    )
    root = Path(__file__).resolve().parents[2]
    done = subprocess.run(
        [sys.executable, "-c", code],
        input=photo.content, capture_output=True, check=False, cwd=tmp_path, env={"PYTHONPATH": str(root)},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr.decode()
    assert not list(tmp_path.iterdir())
