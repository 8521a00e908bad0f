"""The jobs as the page asks for them: each takes values and files, and gives what `--json` tells and what was made."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from tiling.failures import UsageWrong
from tiling.workroom import wishes
from tiling.workroom.wishes import Given

if TYPE_CHECKING:
    from calibrate.run import Run
    from tiling.files.inputs import Artifact
    from tiling.workroom.asked import Asked

__all__ = ["JOBS", "Job"]

Told = tuple[dict[str, Any], "tuple[Artifact, ...]"]
Job = Callable[["Asked", Given, "Run"], Told]


def _made(*artifacts: Artifact | None) -> tuple[Artifact, ...]:
    return tuple(one for one in artifacts if one is not None)


def _reading(said: Asked, given: Given) -> Any:
    with said.inner("reading") as inner:
        return wishes.reading(inner.rest(), given.all("notes"))


def pages(said: Asked, given: Given, run: Run) -> Told:
    """Pages for a home printer.

    Keys: ``reading``, those of the page choice and of arranging, ``grid``, ``empty``, ``share``, ``title``,
    ``date``, ``name``.
    """
    from tiling.operations.make_pages import MakePagesRequest, make_pages
    from tiling.operations.piece_layout import PaperUse
    from tiling.operations.result_values import pages_values
    from tiling.planning.plan import EmptyPages
    from tiling.planning.planner import GridMode

    made = make_pages(
        MakePagesRequest(
            given.drawings,
            _reading(said, given),
            wishes.page_choice(said),
            said.choice("grid", GridMode, GridMode.FEWEST),
            wishes.arranging(said, given.one("printed")),
            said.choice("empty", EmptyPages, EmptyPages.BRIDGE),
            PaperUse.SHARED if said.flag("share") else PaperUse.OWN,
            title=said.text("title"),
            date=said.text("date"),
            name=said.text("name", "pages.pdf"),
        ),
        run,
    )
    return pages_values(made), _made(made.pages)


def page_to_test(said: Asked, given: Given, run: Run) -> Told:  # noqa: ARG001 - a job like the others
    """Keys: ``paper``, ``printer``, ``name``."""
    from tiling.operations.make_test_page import MakeTestPageRequest, make_test_page
    from tiling.operations.result_values import finding_values

    record = wishes.printer_record(said.text("printer"))
    made = make_test_page(MakeTestPageRequest(said.text("paper", "a4"), record, said.text("name", "testpage.pdf")), run)
    return {"output": made.page.name, "findings": finding_values(made.findings)}, (made.page,)


def alter(said: Asked, given: Given, run: Run) -> Told:
    """Keys: ``reading``, ``alteration``, ``name``, ``picture``."""
    from tiling.operations.alter import AlterRequest, alter
    from tiling.operations.result_values import altered_values

    with said.inner("alteration") as inner:
        wanted = wishes.alteration(inner.rest())
    reading = _reading(said, given)
    request = AlterRequest(given.drawings[0], wanted, reading, said.text("name", "altered.svg"), said.text("picture"))
    made = alter(request, run)
    return altered_values(made, None), _made(made.drawing, made.notes, made.picture)


def reprint(said: Asked, given: Given, run: Run) -> Told:
    """Keys: ``reading``, ``printer``, ``whole``, ``name``."""
    from tiling.operations.reprint import Extent, ReprintRequest, reprint
    from tiling.operations.result_values import reprint_values

    printed = given.one("printed")
    if printed is None:
        raise UsageWrong("choose the pages that were printed.")
    made = reprint(
        ReprintRequest(
            given.drawings,
            printed,
            _reading(said, given),
            wishes.printer_record(said.text("printer")),
            extent=Extent.WHOLE if said.flag("whole") else Extent.CHANGED,
            name=said.text("name", "changed.pdf"),
        ),
        run,
    )
    return reprint_values(made), _made(made.pages)


def cloth(said: Asked, given: Given, run: Run) -> Told:
    """Keys: ``reading``, ``measures``, ``lays``, ``units``, ``name``."""
    from tiling.cloth.units import Units
    from tiling.operations.plan_cloth import PlanClothRequest, plan_cloth
    from tiling.operations.sewing_values import cloth_values

    with said.inner("lays") as inner:
        lays = wishes.lay_wishes(inner)
    made = plan_cloth(
        PlanClothRequest(
            given.drawings,
            _reading(said, given),
            _wearing(said, given),
            lays,
            said.choice("units", Units, Units.CM),
            said.text("name"),
        ),
        run,
    )
    return cloth_values(made), _made(made.drawing)


def guide(said: Asked, given: Given, run: Run) -> Told:
    """The sewing guide.

    Keys: ``reading``, ``measures``, ``lays``, ``units``, those of the page choice, ``name``; pages that were printed
    are the booklet's own.
    """
    from tiling.cloth.units import Units
    from tiling.operations.sewing_values import guide_values
    from tiling.operations.write_guide import WriteGuideRequest, write_guide

    with said.inner("lays") as inner:
        lays = wishes.lay_wishes(inner)
    choice = wishes.page_choice(said)
    made = write_guide(
        WriteGuideRequest(
            given.drawings,
            given.one("printed") or choice,
            _reading(said, given),
            _wearing(said, given),
            lays,
            said.choice("units", Units, Units.CM),
            name=said.text("name", "guide.pdf"),
        ),
        run,
    )
    return guide_values(made), _made(made.booklet)


def lines(said: Asked, given: Given, run: Run) -> Told:
    """Keys: ``reading``, ``notes``, ``picture``: names of the files to make, none for none."""
    from tiling.operations.lines_values import lines_values
    from tiling.operations.read_lines import ReadLinesRequest, read_lines

    request = ReadLinesRequest(given.drawings, _reading(said, given), said.text("notes"), said.text("picture"))
    found = read_lines(request, run)
    return lines_values(found), _made(found.notes, found.picture)


def check(said: Asked, given: Given, run: Run) -> Told:
    """The printer, measured.

    Keys: ``ruler`` (``across_mm``, ``down_mm``, ``corrected``), ``reference``, ``printer``, ``paper``, ``date``,
    ``picture``, ``photo`` (a name for the photo without what a camera writes beside it). With a printer ``keep`` tells
    what is to be kept of it.
    """
    from tiling.operations.measure_printer import KeepAs, MeasureRequest, measure_printer
    from tiling.operations.result_values import measurement_values

    printer, kept_as = said.text("printer"), said.text("photo")
    request = MeasureRequest(
        given.all("photos"),
        _ruler(said, printer),
        said.text("reference") or None,
        picture=said.text("picture"),
        keep=KeepAs(printer, said.text("paper"), said.text("date")) if printer else None,
    )
    found = measure_printer(request, run)
    kept = None
    if found.keep is not None:
        kept = asdict(found.keep)
    told = {**measurement_values(found.measurement), "keep": kept, "unsure": found.unsure}
    return told, _made(found.picture, _pixels_alone(given, kept_as) if kept_as else None)


def taped(said: Asked, given: Given, run: Run) -> Told:
    """The taped sheet, read from photos of it.

    Keys: ``printer``, ``picture``. Besides what `--json` tells, ``words`` says it. Pages of the sheet that the chosen
    file doesn't print come from those of the other files that printed them before.
    """
    from tiling.operations.printed_sheet import earlier_of_sheet
    from tiling.operations.read_taped import ReadTapedRequest, read_taped_sheet
    from tiling.operations.result_values import taped_values
    from tiling.operations.taped_words import taped_words

    printed = given.one("printed")
    if printed is None:
        raise UsageWrong("choose the pages that were taped.")
    record = wishes.printer_record(said.text("printer"))
    scale = record.latest.scale.on_other_pages() if record is not None else None
    more = earlier_of_sheet(printed, given.all("more_printed"))
    picture = said.text("picture")
    request = ReadTapedRequest(given.all("photos"), printed, printer=scale, picture=picture, more_printed=more)
    found = read_taped_sheet(request, run)
    return {**taped_values(found), "words": asdict(taped_words(found))}, _made(found.picture)


def _pixels_alone(given: Given, name: str) -> Artifact | None:
    """The photo, upright, without place, time or anything else a camera writes into it."""
    from io import BytesIO

    from PIL import Image

    from calibrate.photo import load_photo
    from tiling.files.inputs import Artifact

    photo = given.one("photos")
    if photo is None:
        return None
    taken = load_photo(photo.name, photo.content)
    stream = BytesIO()
    Image.fromarray(taken.pixels if taken.colour is None else taken.colour).save(stream, "JPEG", quality=95)
    return Artifact(name, stream.getvalue())


def _ruler(said: Asked, printer: str) -> Any:
    from calibrate.printer_scale import PrinterScale
    from tiling.operations.measure_printer import RulerFigures

    if "ruler" not in said:
        return None
    with said.inner("ruler") as ruler:
        across, down = ruler.number("across_mm", 1.0, 1000.0), ruler.number("down_mm", 1.0, 1000.0)
        corrected = ruler.flag("corrected")
    if across is None or down is None:
        raise UsageWrong("give both sides of the square as the ruler shows them.")
    record = wishes.printer_record(printer) if corrected else None
    return RulerFigures(across, down, record.stated() if record else PrinterScale())


def _wearing(said: Asked, given: Given) -> Any:
    from tiling.operations.plan_cloth import Wearing

    return Wearing(said.lengths("measures"), given.one("before"), given.all("before_notes"))


JOBS: dict[str, Job] = {
    "pages": pages,
    "testpage": page_to_test,
    "alter": alter,
    "reprint": reprint,
    "cloth": cloth,
    "guide": guide,
    "lines": lines,
    "check": check,
    "taped": taped,
}
