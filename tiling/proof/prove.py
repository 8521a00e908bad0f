"""The proof: what was written is opened again and held against the plan before it is published.

Structure is read back with pypdf: boxes, viewer preferences, page labels, the attached plan, and on every tile's page
the clip and the matrix that place the drawing. The test square is measured, and the drawing compared, through
PDFium, an independent renderer: each page, without our own marks, is rendered onto its place on the layout and must
show there what the source shows, no less and no more. With our marks it is rendered too, and they must stand out.
"""

from __future__ import annotations

import re
from contextlib import closing
from io import BytesIO

import numpy as np
import pypdfium2
from pypdf import PageObject, PdfReader
from pypdf.generic import ArrayObject, DictionaryObject

from calibrate.run import Run
from tiling.content.scene import UNSURE
from tiling.failures import Action, InputUnfit, ProofFailed, Remedy
from tiling.lengths import MM_PER_POINT
from tiling.planning.page_space import (
    BLENDING,
    DRAWING_FORM,
    HALO_FORM,
    MARKS_FIRST,
    MARKS_FORM,
    MARKS_LAST,
    PAPER_FIRST,
    page_unit,
    to_units,
)
from tiling.planning.plan import Tile
from tiling.proof.expectation import Expectation
from tiling.proof.marks_seen import unseen_marks
from tiling.proof.original import SourcePictures
from tiling.proof.raster import Darkness, PixelGrid, difference, page_to_mm, render
from tiling.proof.square import square_drawn
from tiling.reading.pdf_open import FAULTS
from tiling.record.plan_record import read_record
from tiling.record.printed_file import attached_records
from tiling.shapes import Affine, Box, Size

__all__ = ["prove"]

_PITCH = 25.4 / 60
"""Of the picture compared, mm: 60 dpi shows a line moved by half a millimetre and a line left out."""
_CLOSE = 0.01  # mm
_LEAST_FOR_SQUARE = 145.0
_DARKER = 60
"""Of 255: more than anti-aliasing differs between renderings of the same line, less than any line of a pattern."""
_FEW = 4
"""Pixels that may differ on one page: the ends of dashes and line joins cut at a window's edge."""
_FINER, _FINE = 4, 2
"""Times as fine the pages are looked at again, and how many of those pixels a thing may lie aside: half as far as in
the coarse picture. PDFium lays the cells of a pattern on whole pixels, each page's as they fall."""
_SHARE = 0.05
"""Of the inked pixels: letters set a pixel aside."""
_FIRST, _PAPER, _LAST = MARKS_FIRST.encode(), PAPER_FIRST.encode(), MARKS_LAST.encode()
_DRAWING = DRAWING_FORM.encode()
_CLIP = re.compile(rb"\s*q\s+([-0-9. ]+) re W n\s+((?:q [-0-9. ]+ cm %b[0-9]+ Do Q\s+)*)Q\s*" % _DRAWING)
_PLACED = re.compile(rb"q ([-0-9. ]+) cm %b([0-9]+) Do Q" % _DRAWING)


def prove(data: bytes, expected: Expectation, run: Run = Run()) -> None:
    """Compare a written file with the plan and the source.

    Args:
        data: the PDF.
        expected: what must be in it.
        run: told of every page compared.

    Raises:
        ProofFailed: something differs or can't be read back; the message says what and where.
        InputUnfit: a page shows something else than the source, whose own content is damaged.
        Cancelled: the run was ended.
    """
    try:
        _check_structure(data, expected, run)
        _check_square(data, expected)
        _check_seen(data, expected, run)
    except (pypdfium2.PdfiumError, *FAULTS) as cause:
        raise _failed(f"it could not be read back ({cause})") from cause


def _failed(what: str) -> ProofFailed:
    said = f"The proof of the written pages failed: {what}. Nothing was published"
    return ProofFailed(said, Remedy(Action.REPORT_OR_SKIP_PROOF))


def _check_structure(data: bytes, expected: Expectation, run: Run) -> None:
    """Pages, boxes, viewer preferences, labels, the attached plan, and where each drawing was put."""
    reader = PdfReader(BytesIO(data))
    if len(reader.pages) != len(expected.labels):
        raise _failed(f"it has {len(reader.pages)} pages, not {len(expected.labels)}")
    if reader.page_labels != list(expected.labels):
        raise _failed("the page labels are not the tiles' names")
    preferences = reader.root_object.get("/ViewerPreferences", DictionaryObject()).get_object()
    assert isinstance(preferences, DictionaryObject)
    if preferences.get("/PrintScaling") != "/None" or preferences.get("/Enforce") != ArrayObject(["/PrintScaling"]):
        raise _failed("it does not tell the reader to print without scaling")
    for number, page in enumerate(reader.pages, start=1):
        _check_box(page, expected, number)
    for tile in expected.plan.to_print:
        run.check()
        _check_place(reader.pages[expected.pages[tile.name] - 1], expected, tile)
    _check_record(reader, expected)


def _check_box(page: PageObject, expected: Expectation, number: int) -> None:
    unit = float(page.get("/UserUnit", 1.0))
    box = page.mediabox
    width, height = (float(side) * unit * MM_PER_POINT for side in (box.width, box.height))
    wanted = expected.plan.page_size
    if max(abs(width - wanted.width), abs(height - wanted.height)) > _CLOSE or page.get("/Rotate", 0):
        raise _failed(f"page {number} is {width:.2f} x {height:.2f} mm, not {wanted.width:.2f} x {wanted.height:.2f}")
    if unit != page_unit(wanted):
        raise _failed(f"page {number} has the unit {unit:g}")


def _check_place(page: PageObject, expected: Expectation, tile: Tile) -> None:
    """The page shows our marks, and before or after them each drawing by its own matrix in its window's clip."""
    number = expected.pages[tile.name]
    contents = page.get_contents()
    content = contents.get_data() if contents is not None else b""
    first, last = content.startswith(_FIRST), content.startswith(_PAPER) and content.endswith(_LAST)
    if first is last or not _holds_marks(page, last=last):
        raise _failed(f"page {number} ({tile.name}) lacks its marks")
    begin, end = (len(_FIRST), len(content)) if first else (len(_PAPER), len(content) - len(_LAST))
    found = _CLIP.fullmatch(content, begin, end)
    if found is None:
        raise _failed(f"page {number} ({tile.name}) shows no drawing in a window")
    x, y, width, height = (float(part) for part in found[1].split())
    back = expected.plan.to_page(tile).inverse() @ to_units(expected.plan).inverse()
    window = back.box(Box(x, y, x + width, y + height))
    if window.apart(tile.window) > _CLOSE:
        raise _failed(f"page {number} ({tile.name}) shows another part of the drawing than planned")
    for numbers, index in _PLACED.findall(found[2]):
        cut = expected.parts[int(index)]
        sheet = Box(0.0, 0.0, cut.source.artwork.size.width, cut.source.artwork.size.height)
        shown = back @ Affine(*(float(part) for part in numbers.split())) @ cut.source.artwork.to_mm.inverse()
        if shown.box(sheet).apart(cut.to_layout.box(sheet)) > _CLOSE:
            raise _failed(f"page {number} ({tile.name}) shows the drawing in another place than planned")


def _holds_marks(page: PageObject, *, last: bool) -> bool:
    """Whether the page has the forms of our marks, and the states by which the later ones leave the drawing seen."""
    resources = page["/Resources"].get_object()
    assert isinstance(resources, DictionaryObject)
    forms, states = (resources.get(key, DictionaryObject()).get_object() for key in ("/XObject", "/ExtGState"))
    assert isinstance(forms, DictionaryObject)
    assert isinstance(states, DictionaryObject)
    if not last:
        return MARKS_FORM in forms
    blended = all(states.get(name, {}).get("/BM") == mode for name, mode in BLENDING.items())
    return blended and MARKS_FORM in forms and HALO_FORM in forms


def _check_square(data: bytes, expected: Expectation) -> None:
    """The test square, measured on the page and undone by the correction, has sides of 100 mm."""
    number = expected.square_page
    if not number:
        return  # a reprint: the square came with the first print
    correction = expected.plan.correction
    meant = Size(100.0 * correction.across, 100.0 * correction.down)
    sides = square_drawn(data, number, page_unit(expected.plan.page_size), meant)
    if sides is None:
        if min(expected.plan.page_size.width, expected.plan.page_size.height) < _LEAST_FOR_SQUARE:
            return  # too small a page for a square; it carries words only
        raise _failed(f"page {number} has no test square")
    width, height = sides.width / correction.across, sides.height / correction.down
    if max(abs(width - 100.0), abs(height - 100.0)) > _CLOSE:
        raise _failed(f"the test square on page {number} would print {width:.3f} x {height:.3f} mm")


def _check_seen(data: bytes, expected: Expectation, run: Run) -> None:
    """As `_check_pictures`; where the source's content is no proper content, programs differ in what they show."""
    source = SourcePictures(expected)
    try:
        try:
            _check_pictures(data, expected, source, run)
        except ProofFailed:
            if not source.any_flattened:
                raise
            # What PDFium makes of a page when it puts annotations into it may be garbled, or they lie over it in
            # slightly other pixels: either way it is an independent picture of the source.
            _check_pictures(data, expected, SourcePictures(expected, flattens=False), run)
    except ProofFailed as failed:
        if any(UNSURE & set(part.source.artwork.repairs) for part in expected.parts):
            raise InputUnfit(
                f"{expected.drawing}: part of its content is damaged, and programs differ in what they show of it; "
                "get the file again, or open it in a viewer and print it to a new PDF. Nothing was published."
            ) from failed
        raise


def _check_pictures(data: bytes, expected: Expectation, source: SourcePictures, run: Run) -> None:
    """Every printed page shows in its window what the source shows there."""
    plan = expected.plan
    whole = Box.around(tile.window for tile in plan.tiles)
    assert whole is not None
    grid = PixelGrid.over(whole, _PITCH)
    wanted = source.on(grid)
    covered = np.zeros(grid.shape, dtype=np.bool_)
    with closing(pypdfium2.PdfDocument(data)) as document:
        printed = plan.to_print
        for done, tile in enumerate(printed, start=1):
            number = expected.pages[tile.name]
            page = document[number - 1]
            move = plan.to_page(tile).inverse() @ page_to_mm(page, plan.page_size.width, plan.page_size.height)
            part, rows, columns = grid.sub(tile.window)
            unseen = unseen_marks(expected.marks[tile.name], page, move)
            shown = render(page, move, part)
            inside = part.part(tile.window)
            if not _alike(wanted[rows, columns][inside], shown[inside]):
                # A box may have snapped to another pixel, or a picture been sampled at other places: at a quarter of
                # the pitch, with 16 times as many points, that no longer matters.
                fine = PixelGrid.over(tile.window.grown(-grid.pitch), grid.pitch / _FINER)
                closer = render(page, move, fine)
                _compare(source.on(fine), closer, f"page {number} ({tile.name})")
            page.close()
            if unseen and (
                unseen := unseen_marks([[mark] for mark in unseen], document[number - 1], move, closely=True)
            ):
                raise _failed(f"{unseen[0].what} can't be seen on page {number} ({tile.name})")
            run.step("Proof", done, len(printed))
    for tile in plan.tiles:
        covered[grid.part(tile.window.grown(grid.pitch))] = True
    if int((wanted[~covered] > _DARKER).sum()) > _FEW:
        raise _failed("some of the drawing lies on no page")


def _alike(expected: Darkness, shown: Darkness) -> bool:
    """Whether nothing is missing or added, and no more of the ink lies a pixel aside than rounding of letters moves."""
    aside = int(np.count_nonzero(np.maximum(expected, shown) - np.minimum(expected, shown) > _DARKER))
    if aside <= _FEW:  # every point that is missing or added is one of them
        return True
    rounded = aside <= _FEW + _SHARE * int((expected > _DARKER).sum())
    return rounded and max(_missing(expected, shown), _missing(shown, expected)) <= _FEW


def _missing(wanted: Darkness, there: Darkness, reach: int = 1) -> int:
    """The number of points inked in the one picture but neither there nor so many pixels beside it in the other."""
    return int((difference(wanted, there, reach) > _DARKER).sum())


def _compare(expected: Darkness, shown: Darkness, where: str) -> None:
    missing, added = _missing(expected, shown, _FINE), _missing(shown, expected, _FINE)
    if missing > _FEW:
        raise _failed(f"{where} lacks some of the drawing ({missing} of its points are blank)")
    if added > _FEW:
        raise _failed(f"{where} shows what the drawing has not ({added} points)")


def _check_record(reader: PdfReader, expected: Expectation) -> None:
    """The attached plan gives back every window."""
    attached = list(attached_records(reader))
    if len(attached) != 1:
        raise _failed("the plan is not attached")
    try:
        record = read_record(attached[0])
    except InputUnfit as cause:
        raise _failed(f"the attached plan can't be read back ({cause.what})") from cause
    windows = {tile.name: tile.window for tile in record.plan.tiles}
    for tile in expected.plan.tiles:
        if tile.name not in windows or windows[tile.name].apart(tile.window) > _CLOSE:
            raise _failed(f"the attached plan says another window for {tile.name}")
