"""A drawing as one full-size PDF page, written from its marks: what an SVG or an altered pattern is printed from.

Each mark is wrapped in a marked-content sequence `/Mark17 BMC … EMC` (ISO 32000-1, 14.6) that names its number, so
that whoever reads the page back (`tiling.content`) knows which object belongs to which mark.
"""

from __future__ import annotations

from io import BytesIO

from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from calibrate.run import Run
from tiling.content.interpret import MARK_TAG
from tiling.content.path_operators import path_operators
from tiling.fonts.shaping import plain_font, shaped, width_of
from tiling.lengths import MM_PER_POINT
from tiling.pattern import Label, Line, Pattern, Picture
from tiling.shapes import Affine, Box, Point
from tiling.style import Colour, Stroke, Style
from tiling.typefaces import drawn_with

__all__ = ["full_sheet"]

_CHECK_EVERY = 200  # marks


def full_sheet(pattern: Pattern, numbers: range | None = None, box: Box | None = None, run: Run = Run()) -> bytes:
    """A PDF of one page, as large as the drawing, that shows marks in their order.

    Args:
        pattern: what to draw; its marks are numbered as there.
        numbers: those of the marks to draw; all where left out.
        box: what the page shows, mm; the pattern's own sheet where left out.
        run: asked now and then whether to go on.

    Returns:
        The whole file; the same marks give the same bytes.

    Raises:
        Cancelled: the run was ended.
    """
    shown = box or Box(0.0, 0.0, pattern.size.width, pattern.size.height)
    width, height = (max(side, 1.0) / MM_PER_POINT for side in (shown.width, shown.height))
    stream = BytesIO()
    canvas = Canvas(
        stream, pagesize=(width, height), pageCompression=0, invariant=1, initialFontName=drawn_with("Helvetica")
    )
    canvas.transform(1 / MM_PER_POINT, 0, 0, -1 / MM_PER_POINT, 0, height)
    if shown.corner != Point(0.0, 0.0):
        canvas.translate(-shown.x0, -shown.y0)
    tag = MARK_TAG.decode("ascii")
    for number in range(len(pattern.marks)) if numbers is None else numbers:
        mark = pattern.marks[number]
        if not number % _CHECK_EVERY:
            run.check()
        _write(canvas, f"{tag}{number} BMC q")
        if mark.clip is not None:
            _write(canvas, f"{path_operators(mark.clip)} W n")
        if isinstance(mark, Line):
            _draw_line(canvas, mark)
        elif isinstance(mark, Label):
            _draw_label(canvas, mark)
        else:
            _draw_picture(canvas, mark)
        _write(canvas, "Q EMC")
    canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _write(canvas: Canvas, operators: str) -> None:
    """Operators put into the page's content as they are; reportlab's own path calls cost ten times as much."""
    canvas.addLiteral(operators)


def _draw_line(canvas: Canvas, line: Line) -> None:
    style = line.style
    paint = _paint_operator(style)
    if paint is None or not len(line.path.ops):
        return
    fill_opacity, stroke_opacity = style.fill_opacity, style.stroke.opacity if style.stroke else 1.0
    see_through = min(fill_opacity, stroke_opacity) < 1.0
    if see_through:
        canvas.saveState()
        canvas.setFillAlpha(fill_opacity)
        canvas.setStrokeAlpha(stroke_opacity)
    state = []
    if style.fill is not None:
        state.append(f"{_rgb(style.fill)} rg")
    if style.stroke is not None:
        state.append(_stroke_operators(style.stroke))
    _write(canvas, f"{' '.join(state)}\n{path_operators(line.path)}\n{paint}")
    if see_through:
        canvas.restoreState()


def _paint_operator(style: Style) -> str | None:
    if style.fill is None:
        return "S" if style.stroke is not None else None
    paint = "B" if style.stroke is not None else "f"
    return paint + "*" if style.even_odd else paint


def _stroke_operators(stroke: Stroke) -> str:
    # Dashes that are all 0 would make the line invalid (ISO 32000-1, 8.4.3.6): draw it through.
    dashes = " ".join(f"{d:.4f}" for d in stroke.dashes) if sum(stroke.dashes) > 0 else ""
    return (
        f"{_rgb(stroke.colour)} RG {stroke.width:.4f} w {stroke.cap} J {stroke.join} j "
        f"{max(stroke.miter_limit, 1.0):.4f} M [{dashes}] {stroke.dash_offset if dashes else 0.0:.4f} d"
    )


def _rgb(colour: Colour) -> str:
    return f"{colour.red:.4f} {colour.green:.4f} {colour.blue:.4f}"


def _draw_label(canvas: Canvas, label: Label) -> None:
    font = plain_font(label.font, label.text)
    width = width_of(label.text, label.font, label.size, label.direction)
    stretch = label.advance / width if label.advance > 0 and width > 0 else 1.0
    if abs(stretch - 1.0) <= 1e-3:
        stretch = 1.0
    canvas.saveState()
    if label.opacity < 1.0:
        canvas.setFillAlpha(label.opacity)
    canvas.setFillColorRGB(label.colour.red, label.colour.green, label.colour.blue)
    if font is None:
        outline = shaped(label.text, label.font, label.direction).outline
        if len(outline.ops):
            place = label.at @ Affine.scale(label.size * stretch, label.size)
            _write(canvas, f"{path_operators(outline.moved(place))} f")
    else:
        _transform(canvas, label.at @ Affine.scale(1.0, -1.0))
        text = canvas.beginText()
        text.setTextOrigin(0.0, 0.0)
        text.setFont(font, label.size)
        if stretch != 1.0:
            text.setHorizScale(100.0 * stretch)
        text.textOut(label.text)
        canvas.drawText(text)
    canvas.restoreState()


def _draw_picture(canvas: Canvas, picture: Picture) -> None:
    canvas.saveState()
    if picture.opacity < 1.0:
        canvas.setFillAlpha(picture.opacity)
    _transform(canvas, picture.at @ Affine(1.0, 0.0, 0.0, -1.0, 0.0, 1.0))
    canvas.drawImage(ImageReader(BytesIO(picture.data)), 0, 0, 1, 1, mask="auto")
    canvas.restoreState()


def _transform(canvas: Canvas, move: Affine) -> None:
    canvas.transform(move.a, move.b, move.c, move.d, move.e, move.f)
