"""A request for every job, from bytes alone, for a small pattern of two pieces.

Also run by itself, in a process that has no click and may write no file: see `test_every_operation`.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable, Sequence
from typing import Any

import tiling

__all__ = ["JOBS", "Job", "do", "made_by"]

Job = tuple[str, Callable[[], Any]]

_TEMPORARY = tempfile.gettempdir()

DRAWING = b"""<svg xmlns="http://www.w3.org/2000/svg" width="380mm" height="400mm" viewBox="0 0 380 400">
<title>Potting smock</title><g fill="none" stroke="#000" stroke-width=".5">
<g class="piece" id="front"><path class="cutting-line" data-name="side" d="M10 10H200V380H10Z"/>
<path class="grading-line" d="M100 5V385"/><path class="grainline" d="M60 60V300"/></g>
<g class="piece" id="back"><path class="cutting-line" data-name="side" d="M215 10H370V380H215Z"/>
<path class="grainline" d="M300 60V300"/></g></g></svg>"""
WIDER = DRAWING.replace(b"H200V380", b"H206V380")
NOTES = b"""title = "Potting smock"
[drawn-for]
waist = "72cm"
[pieces.front]
copies = 1
[pieces.back]
copies = 1
[[seams]]
name = "side"
first = "front.side"
second = "back.side"
[[notions]]
name = "tape"
kind = "tape"
rule = "waist + 10cm"
"""


def _read() -> dict[str, Any]:
    reading = tiling.ReadOptions(notes=(tiling.InputFile("smock.toml", NOTES),))
    return {"drawings": (tiling.InputFile("smock.svg", DRAWING),), "reading": reading}


def _look() -> Any:
    return tiling.LookRequest(**_read(), picture="smock.png")


def _read_lines() -> Any:
    return tiling.ReadLinesRequest(**_read(), notes="lines.toml", picture="lines.png")


def _make_pages() -> Any:
    return tiling.MakePagesRequest(**_read(), name="smock-pages.pdf")


def _arrange() -> Any:
    return tiling.MakePagesRequest(**_read(), pieces=tiling.ArrangeOptions(seconds=1))


def _make_test_page() -> Any:
    return tiling.MakeTestPageRequest()


def _measure_printer() -> Any:
    return tiling.MeasureRequest(ruler=tiling.RulerFigures(97.5, 98.0), keep=tiling.KeepAs("shed"))


def _alter() -> Any:
    notes = tiling.ReadOptions(notes=(tiling.InputFile("smock.toml", NOTES),))
    asked = tiling.Alteration(around=20.0, pieces=("front",))
    return tiling.AlterRequest(tiling.InputFile("smock.svg", DRAWING), asked, notes, picture="change.png")


def _reprint() -> Any:
    printed = tiling.make_pages(_make_pages()).pages
    assert printed is not None
    wider = (tiling.InputFile("smock.svg", WIDER),)
    return tiling.ReprintRequest(wider, tiling.InputFile(printed.name, printed.content))


def _plan_cloth() -> Any:
    lays = tiling.LayWishes((tiling.ClothWidth(1400.0),), effort=tiling.Effort(1))
    return tiling.PlanClothRequest(**_read(), lays=lays, name="lay.pdf")


def _write_guide() -> Any:
    lays = tiling.LayWishes((tiling.ClothWidth(1400.0),), effort=tiling.Effort(1))
    return tiling.WriteGuideRequest(**_read(), printed_on=tiling.PageChoice(), lays=lays)


JOBS: dict[str, Job] = {
    "look": ("look", _look),
    "read lines": ("read_lines", _read_lines),
    "make pages": ("make_pages", _make_pages),
    "arrange": ("make_pages", _arrange),
    "make test page": ("make_test_page", _make_test_page),
    "measure printer": ("measure_printer", _measure_printer),
    "alter": ("alter", _alter),
    "reprint": ("reprint", _reprint),
    "plan cloth": ("plan_cloth", _plan_cloth),
    "write guide": ("write_guide", _write_guide),
}
"""The name of the operation, and what makes its request."""


def made_by(result: Any) -> list[tiling.Artifact]:
    """The files that a job made."""
    values = (getattr(result, name) for name in type(result).__dataclass_fields__)
    return [value for value in values if isinstance(value, tiling.Artifact)]


def do(name: str, run: tiling.Run | None = None) -> Any:
    """The result of one of the jobs."""
    operation, request = JOBS[name]
    return getattr(tiling, operation)(request(), run or tiling.Run())


def _refuse_to_write(event: str, arguments: Sequence[Any]) -> None:
    """Let whoever opens a file to write it, or changes a folder, fail.

    A folder opened to be written holds a file without a name (the packer's answer); the null device is no file.
    """
    if event == "open":
        path, _, flags = arguments
        writes = flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT) and not isinstance(path, int)
        if writes and path not in {os.devnull, _TEMPORARY}:
            raise PermissionError(f"{path} was opened to be written")
    elif event in {"os.mkdir", "os.rename", "os.remove", "os.link", "os.symlink", "os.truncate"}:
        raise PermissionError(f"{event} {arguments[0]}")


def main() -> None:
    """Do every job, and print how many files each made."""
    sys.modules["click"] = None  # type: ignore[assignment]
    sys.addaudithook(_refuse_to_write)
    for name in JOBS:
        print(name, *(file.name for file in made_by(do(name))), sep=": ")


if __name__ == "__main__":
    main()
