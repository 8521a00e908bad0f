"""A printer measured from the workroom: what is asked of the desk, and what is kept of its answer."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from calibrate.printer_scale import MeasuredScale
from calibrate.printers import Border, PrinterReading, Printers
from tiling.files.inputs import Artifact, InputFile
from tiling.workroom.folder import WorkFolder
from tiling.workroom.jobs import PICTURE, Order

__all__ = ["check_order"]

_PHOTO = "test-page-photo"


def check_order(
    folder: WorkFolder,
    photo: InputFile | None,
    wishes: Mapping[str, Any],
    printers_changed: Callable[[], None],
    keep_photo: bool = False,
) -> Order:
    """The job of measuring.

    Args:
        folder: where a photo is kept that is to be kept.
        photo: of the printed test page; None with a ruler's figures.
        wishes: ``printer``, ``paper``, ``reference``, ``ruler``; see `tiling.workroom.jobs_asked.check`.
        printers_changed: called when something was kept.
        keep_photo: whether the photo is kept in the folder, its pixels alone.
    """
    values = {**wishes, "picture": PICTURE if photo else None}
    if values.get("printer"):
        values["date"] = dt.datetime.now().astimezone().date().isoformat()
    if photo is not None and keep_photo:
        values["photo"] = _free_name(folder)

    def done(told: Mapping[str, Any], made: Sequence[Artifact]) -> Sequence[str]:
        if told.get("keep"):
            _keep(told["keep"])
            printers_changed()
        return folder.publish(made, replace=False) if made else []

    return Order("check", str(wishes.get("printer") or ""), values, {"photos": [photo] if photo else []}, done)


def _keep(told: Mapping[str, Any]) -> None:
    reading, border = told["reading"], told["border"]
    scale = MeasuredScale(**reading["scale"])
    Printers().keep(
        told["printer"],
        PrinterReading(reading["paper"], scale, reading["reference"], reading["date"]),
        Border(**border) if border else None,
    )


def _free_name(folder: WorkFolder) -> str:
    number = 1
    while (folder.path / f"{_PHOTO}-{number}.jpg").exists():
        number += 1
    return f"{_PHOTO}-{number}.jpg"
