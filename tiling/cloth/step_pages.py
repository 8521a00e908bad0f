"""The sewing steps as set in the booklet: number and title, text, and the picture beside it or below."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from io import BytesIO

from reportlab.platypus import Flowable, Image, KeepTogether, Spacer
from reportlab.platypus import Table as Grid

from tiling.cloth.sewing_report import SewingReport
from tiling.cloth.steps import Pixels, Step
from tiling.cloth.tables import piece_anchor, seam_anchor
from tiling.cloth.typeset import Linked, Setter, points
from tiling.drawing.lettering import Face
from tiling.fonts.shaping import reads_leftwards
from tiling.shapes import Size
from tiling.typefaces import drawn_with

__all__ = ["step_blocks"]

_BESIDE = Size(72.0, 80.0)
"""mm; the room for a picture beside its text."""

_BELOW = Size(150.0, 105.0)
_WIDE = 1.7
"""Pictures that are so much wider than tall stand below their text."""

_GUTTER = 6.0
_INDENT = 14.0


def step_blocks(report: SewingReport, set_: Setter, room: Size) -> Iterator[Flowable]:
    """The steps in order; pieces and seams that they name lead to the tables that tell of them.

    Args:
        report: with the steps.
        set_: sets the texts.
        room: of a page's text, mm.
    """
    linked = Linked(_places(report))
    for number, step in enumerate(report.steps, 1):
        yield from _block(number, step, linked, set_, room)


def _places(report: SewingReport) -> tuple[tuple[str, str], ...]:
    """Names that lead somewhere: seams with the word seam behind them, pieces by title, seams by name alone."""
    seams = [(row.name, seam_anchor(row.name)) for row in report.seams if row.name]
    pieces = [(row.title, piece_anchor(row.piece)) for row in report.cutting]
    titled = {title.casefold() for title, _ in pieces}
    return (
        *((f"{name} {word}", to) for name, to in seams for word in ("seam", "seams")),
        *pieces,
        *((name, to) for name, to in seams if name.casefold() not in titled),
    )


def _block(number: int, step: Step, linked: Linked, set_: Setter, room: Size) -> Iterator[Flowable]:
    paragraphs = list(step.paragraphs)
    first = step.title or (paragraphs.pop(0) if paragraphs else "")
    title = set_.item(
        first, f"{number}.", face=Face.BOLD if step.title else Face.PLAIN, linked=None if step.title else linked
    )
    title.keepWithNext = 1
    text = [set_.item(paragraph, "", linked=linked) for paragraph in paragraphs]
    block = [title, *text]
    if step.picture is not None:
        beside = step.picture.width < _WIDE * step.picture.height and bool(text)
        mirrored = reads_leftwards(first)
        block = [title, *(_beside if beside else _below)(text, step.picture, room, mirrored=mirrored)]
    block.append(Spacer(0, points(3.5)))
    height = sum(part.wrap(points(room.width), points(room.height))[1] + part.getSpaceAfter() for part in block)
    yield from [KeepTogether(block)] if height < points(room.height) else block


def _beside(text: Sequence[Flowable], picture: Pixels, room: Size, *, mirrored: bool) -> list[Flowable]:
    """The picture where the text's lines end; below where there is much text. `mirrored` for scripts from the right."""
    image = _image(picture, _BESIDE)
    left = points(room.width - _GUTTER) - image.drawWidth
    grid = _grid([list(text), "", image], [left, points(_GUTTER), image.drawWidth], mirrored=mirrored)
    if sum(part.wrap(left, 1e6)[1] + part.getSpaceAfter() for part in text) > points(room.height) / 2:
        return [*text, Spacer(0, points(2.0)), _grid(["", image], [_INDENT, image.drawWidth], mirrored=mirrored)]
    return [grid]


def _below(text: Sequence[Flowable], picture: Pixels, room: Size, *, mirrored: bool) -> list[Flowable]:
    """The picture where the text's lines begin."""
    image = _image(picture, Size(min(_BELOW.width, room.width - 10.0), _BELOW.height))
    return [*text, Spacer(0, points(2.0)), _grid(["", image], [_INDENT, image.drawWidth], mirrored=mirrored)]


def _grid(row: list[object], widths: list[float], *, mirrored: bool) -> Grid:
    """Side by side, without lines and space around; the first on the right where it is mirrored."""
    if mirrored:
        row, widths = row[::-1], widths[::-1]
    grid = Grid([row], colWidths=widths, hAlign="RIGHT" if mirrored else "LEFT")
    around = [(f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("LEFT", "RIGHT", "TOP", "BOTTOM")]
    grid.setStyle(
        [("VALIGN", (0, 0), (-1, -1), "TOP"), ("FONTNAME", (0, 0), (-1, -1), drawn_with("Helvetica")), *around]
    )
    return grid


def _image(picture: Pixels, room: Size) -> Image:
    """As large as the room allows, but no pixel larger than 1/100 in."""
    scale = min(room.width / picture.width, room.height / picture.height, 0.254)
    width, height = points(picture.width * scale), points(picture.height * scale)
    return Image(BytesIO(picture.content), width, height, hAlign="LEFT")
