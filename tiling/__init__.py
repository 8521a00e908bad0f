"""Full-size pattern drawings as overlapping pages for a home printer.

Every job is a function from a request to a result, of values alone: `look`, `read_lines`, `make_pages`,
`make_test_page`, `measure_printer`, `alter`, `reprint`, `plan_cloth`, `write_guide`. They and the values they take and
give are loaded when they are first asked for. One job runs at a time in a process; see `tiling.operations`.

A file is read into a `tiling.pattern.Pattern`, perhaps altered, planned as tiles, drawn as pages and proved. Each room
imports only rooms below it; see DEVELOPERS.md for the map.
"""

from __future__ import annotations

# What `typing` loads takes longer than all that stands between the start of a run and its first line.
TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from calibrate.run import Cancelled, Run
    from tiling.altering.alter import Alteration, Matching
    from tiling.altering.named_places import NamedPlace
    from tiling.cloth.cloth_choice import ClothFold, Nap
    from tiling.cloth.lay_search import Effort
    from tiling.cloth.units import Units
    from tiling.cloth.wishes import ClothWidth, LayWishes
    from tiling.failures import InputUnfit, OutputRefused, PageseamError, ProofFailed, UsageWrong
    from tiling.files.inputs import Artifact, InputFile, read_input, read_notes_for
    from tiling.files.publish import publish
    from tiling.operations.alter import AlterRequest, AlterResult, alter
    from tiling.operations.finished_file import Proof
    from tiling.operations.look import LookRequest, LookResult, look
    from tiling.operations.make_pages import MakePagesRequest, MakePagesResult, make_pages
    from tiling.operations.make_test_page import MakeTestPageRequest, MakeTestPageResult, make_test_page
    from tiling.operations.measure_printer import KeepAs, MeasureRequest, MeasureResult, RulerFigures, measure_printer
    from tiling.operations.page_choice import PageChoice
    from tiling.operations.piece_layout import AsPrinted, PaperUse
    from tiling.operations.plan_cloth import PlanClothRequest, PlanClothResult, Wearing, plan_cloth
    from tiling.operations.read_lines import ReadLinesRequest, ReadLinesResult, read_lines
    from tiling.operations.read_taped import ReadTapedRequest, ReadTapedResult, read_taped_sheet
    from tiling.operations.reprint import Extent, ReprintRequest, ReprintResult, reprint
    from tiling.operations.strictness import Strictness
    from tiling.operations.write_guide import WriteGuideRequest, WriteGuideResult, write_guide
    from tiling.pattern import Finding, FindingKind
    from tiling.planning.arrange import ArrangeOptions, Turn
    from tiling.planning.plan import Margins, Orientation
    from tiling.planning.planner import GridMode
    from tiling.planning.reprint import Depth
    from tiling.reading.options import ReadOptions, TrueDistance

_HOMES = {
    "calibrate.run": ("Cancelled", "Run"),
    "tiling.altering.alter": ("Alteration", "Matching"),
    "tiling.altering.named_places": ("NamedPlace",),
    "tiling.cloth.cloth_choice": ("ClothFold", "Nap"),
    "tiling.cloth.lay_search": ("Effort",),
    "tiling.cloth.units": ("Units",),
    "tiling.cloth.wishes": ("ClothWidth", "LayWishes"),
    "tiling.failures": ("InputUnfit", "OutputRefused", "PageseamError", "ProofFailed", "UsageWrong"),
    "tiling.files.inputs": ("Artifact", "InputFile", "read_input", "read_lines", "read_notes_for"),
    "tiling.files.publish": ("publish",),
    "tiling.operations.alter": ("AlterRequest", "AlterResult", "alter"),
    "tiling.operations.finished_file": ("Proof",),
    "tiling.operations.look": ("LookRequest", "LookResult", "look"),
    "tiling.operations.make_pages": ("MakePagesRequest", "MakePagesResult", "make_pages"),
    "tiling.operations.make_test_page": ("MakeTestPageRequest", "MakeTestPageResult", "make_test_page"),
    "tiling.operations.measure_printer": (
        "KeepAs", "MeasureRequest", "MeasureResult", "RulerFigures", "measure_printer",
    ),
    "tiling.operations.page_choice": ("PageChoice",),
    "tiling.operations.piece_layout": ("AsPrinted", "PaperUse"),
    "tiling.operations.plan_cloth": ("PlanClothRequest", "PlanClothResult", "Wearing", "plan_cloth"),
    "tiling.operations.read_lines": ("ReadLinesRequest", "ReadLinesResult", "read_lines"),
    "tiling.operations.read_taped": ("ReadTapedRequest", "ReadTapedResult", "read_taped_sheet"),
    "tiling.operations.reprint": ("Extent", "ReprintRequest", "ReprintResult", "reprint"),
    "tiling.operations.strictness": ("Strictness",),
    "tiling.operations.write_guide": ("WriteGuideRequest", "WriteGuideResult", "write_guide"),
    "tiling.pattern": ("Finding", "FindingKind"),
    "tiling.planning.arrange": ("ArrangeOptions", "Turn"),
    "tiling.planning.plan": ("Margins", "Orientation"),
    "tiling.planning.planner": ("GridMode",),
    "tiling.planning.reprint": ("Depth",),
    "tiling.reading.options": ("ReadOptions", "TrueDistance"),
}  # fmt: skip
_HOME_OF = {name: home for home, names in _HOMES.items() for name in names}

__all__ = [
    "AlterRequest", "AlterResult", "Alteration", "ArrangeOptions", "Artifact", "AsPrinted", "Cancelled", "ClothFold",
    "ClothWidth", "Depth", "Effort", "Extent", "Finding", "FindingKind", "GridMode", "InputFile", "InputUnfit",
    "KeepAs", "LayWishes", "LookRequest", "LookResult", "MakePagesRequest", "MakePagesResult", "MakeTestPageRequest",
    "MakeTestPageResult", "Margins", "Matching", "MeasureRequest", "MeasureResult", "NamedPlace", "Nap", "Orientation",
    "OutputRefused", "PageChoice", "PageseamError", "PaperUse", "PlanClothRequest", "PlanClothResult", "Proof",
    "ProofFailed", "ReadLinesRequest", "ReadLinesResult", "ReadOptions", "ReadTapedRequest", "ReadTapedResult",
    "ReprintRequest", "ReprintResult", "RulerFigures", "Run", "Strictness", "TrueDistance", "Turn", "Units",
    "UsageWrong", "Wearing", "WriteGuideRequest", "WriteGuideResult", "alter", "look", "make_pages", "make_test_page",
    "measure_printer", "plan_cloth", "publish", "read_input", "read_lines", "read_notes_for", "read_taped_sheet",
    "reprint", "write_guide",
]  # fmt: skip


def __getattr__(name: str) -> Any:
    """The public name, loaded from the room that has it.

    Raises:
        AttributeError: there is no such name.
    """
    home = _HOME_OF.get(name)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module  # noqa: PLC0415 - as `typing`

    value = globals()[name] = getattr(import_module(home), name)
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
