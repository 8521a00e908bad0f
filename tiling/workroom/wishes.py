"""From what the page asks to the requests of `tiling.operations`: the same as the commands make from their options."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from tiling.failures import UsageWrong
from tiling.workroom.asked import Asked, asked

if TYPE_CHECKING:
    from calibrate.printers import PrinterRecord
    from tiling.altering.alter import Alteration
    from tiling.cloth.wishes import LayWishes
    from tiling.files.inputs import InputFile
    from tiling.operations.page_choice import PageChoice
    from tiling.operations.piece_layout import AsPrinted
    from tiling.planning.arrange import ArrangeOptions
    from tiling.reading.options import ReadOptions

__all__ = ["Given", "alteration", "arranging", "lay_wishes", "page_choice", "printer_record", "reading"]


@dataclass(frozen=True, slots=True)
class Given:
    """The files that a question is about, by what each is for."""

    files: Mapping[str, tuple[InputFile, ...]]

    @property
    def drawings(self) -> tuple[InputFile, ...]:
        """The drawings, laid out as one.

        Raises:
            UsageWrong: there is none.
        """
        found = self.files.get("drawings", ())
        if not found:
            raise UsageWrong("choose a drawing first.")
        return found

    def all(self, use: str) -> tuple[InputFile, ...]:
        """All files for a use."""
        return self.files.get(use, ())

    def one(self, use: str) -> InputFile | None:
        """The file for a use, None where none is given."""
        return next(iter(self.files.get(use, ())), None)


def reading(values: Any, notes: Sequence[InputFile]) -> ReadOptions:
    """How the drawing is to be read.

    Keys: ``layers``, ``pages``, ``px_per_inch``, ``scale`` (a factor), ``true`` (``points`` [x, y, x, y] and
    ``length_mm``).
    """
    from tiling.reading.options import LARGEST_SCALE, SMALLEST_SCALE, ReadOptions, TrueDistance
    from tiling.shapes import Point

    with asked(values or {}, "reading") as said:
        layers = said.texts("layers")
        numbers = said.texts("pages")
        rate = said.number("px_per_inch", 1.0, 100_000.0)
        scale: float | TrueDistance | None = said.number("scale", SMALLEST_SCALE, LARGEST_SCALE)
        if "true" in said:
            with said.inner("true") as true:
                points, length = true.numbers("points", 4), true.number("length_mm", 0.1)
            if points is None or length is None:
                raise UsageWrong("true: give two points and how long that really is.")
            try:
                scale = TrueDistance(Point(*points[:2]), Point(*points[2:]), length)
            except ValueError as wrong:
                raise UsageWrong(str(wrong)) from None
    if not all(one.isdecimal() and len(one) < 7 and int(one) for one in numbers):
        raise UsageWrong("pages: must be numbers from 1.")
    return ReadOptions(layers, tuple(int(one) for one in numbers), rate, tuple(notes), scale)


def printer_record(name: str) -> PrinterRecord | None:
    """What is known of a printer; None without a name.

    Raises:
        PrinterUnknownError: nothing is.
    """
    from calibrate.printers import Printers

    return Printers().get(name) if name else None


def page_choice(said: Asked) -> PageChoice:
    """Keys: ``paper``, ``orientation``, ``margins_mm`` [left, top, right, bottom], ``overlap_mm``, ``printer``."""
    from tiling.operations.page_choice import PageChoice
    from tiling.planning.papers import paper_named
    from tiling.planning.plan import Margins, Orientation

    paper = said.text("paper", "a4")
    paper_named(paper)
    margins = said.numbers("margins_mm", 4)
    if margins is not None and not all(0 <= one <= 100 for one in margins):
        raise UsageWrong("margins_mm: must be from 0 to 100 mm.")
    return PageChoice(
        paper,
        said.choice("orientation", Orientation, Orientation.AUTO),
        None if margins is None else Margins(*margins),
        said.number("overlap_mm", 0.0, 100.0),
        printer_record(said.text("printer")),
    )


def arranging(said: Asked, printed: InputFile | None) -> ArrangeOptions | AsPrinted | None:
    """Key ``arrange`` with ``turn``, ``gap_mm``, ``seconds``; or the layout of a printed file; None: as drawn."""
    from tiling.operations.piece_layout import AsPrinted
    from tiling.planning.arrange import LEAST_GAP, ArrangeOptions, Turn

    if "arrange" not in said:
        return None if printed is None else AsPrinted(printed)
    usual = ArrangeOptions()
    with said.inner("arrange") as wanted:
        turn, gap = wanted.choice("turn", Turn, usual.turn), wanted.number("gap_mm", LEAST_GAP, 500.0)
        return ArrangeOptions(turn, _or(gap, usual.gap), wanted.whole("seconds", 1, 3600) or usual.seconds)


def alteration(values: Any) -> Alteration:
    """What to alter.

    Keys: ``around_mm``, ``longer_mm``, ``to`` (mm by measure), ``taper``, ``pieces``, ``match``, ``fairing_mm``,
    ``places`` (a list of ``piece``, ``distance_mm``, ``edge``).
    """
    from tiling.altering.alter import Alteration, Matching
    from tiling.altering.named_places import NamedPlace

    with asked(values or {}, "alteration") as said:
        places = []
        for one in said.objects("places"):
            with asked(one, "places") as place:
                distance = place.number("distance_mm", 0.0) or 0.0
                places.append(NamedPlace(place.text("piece"), distance, place.text("edge")))
        return Alteration(
            around=said.number("around_mm"),
            longer=said.number("longer_mm"),
            to=said.lengths("to"),
            taper=said.number("taper", 0.0, 1.0),
            pieces=said.texts("pieces"),
            fairing=said.number("fairing_mm", 0.0, 1000.0),
            matching=Matching.FOLLOW if said.flag("match") else Matching.LEAVE,
            places=tuple(places),
        )


def lay_wishes(said: Asked) -> LayWishes:
    """How lay plans are to be made.

    Keys: ``widths_mm`` (by cloth, ``""`` for all), ``fold``, ``nap``, ``shrinkage``, ``gap_mm``, ``selvedge_mm``,
    ``seconds``, ``seed``.
    """
    from tiling.cloth.cloth_choice import ClothFold, Nap
    from tiling.cloth.lay_search import Effort
    from tiling.cloth.wishes import ClothWidth, LayWishes

    usual = LayWishes()
    widths = tuple(ClothWidth(mm, cloth) for cloth, mm in said.lengths("widths_mm").items())
    if any(one.mm <= 0 for one in widths):
        raise UsageWrong("widths_mm: must be more than 0.")
    return LayWishes(
        widths,
        said.choice("fold", ClothFold, usual.fold),
        Nap.ONE_WAY if said.flag("nap") else Nap.NONE,
        said.number("shrinkage", 0.0, 0.5) or 0.0,
        _or(said.number("gap_mm", 0.0, 500.0), usual.gap),
        _or(said.number("selvedge_mm", 0.0, 500.0), usual.selvedge),
        Effort(said.whole("seconds", 1, 3600) or 10, _or(said.whole("seed", 0, 2**31 - 1), 1)),
    )


def _or(value: Any, usual: Any) -> Any:
    return usual if value is None else value
