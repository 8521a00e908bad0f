"""Draws the samples of this folder: the potting smock as an SVG, and in two sizes as a layered PDF.

Run it from anywhere: ``python samples/draw_smock.py``. The same draft gives the same bytes.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Sequence
from html import escape
from pathlib import Path as FilePath

from pypdf import PdfReader, PdfWriter
from pypdf.generic import ArrayObject, DictionaryObject, NameObject, TextStringObject
from reportlab.pdfgen.canvas import Canvas

HERE = FilePath(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent)]

from smock_draft import SIZES, Draft, Text, draft  # noqa: E402
from smock_lines import Drawn  # noqa: E402

from tiling.pattern import Role  # noqa: E402
from tiling.shapes import Affine, Op, Path, Point, Size  # noqa: E402

SHEET = Size(1300.0, 1050.0)
PLACES = {
    "front": Point(30, 112),
    "back": Point(400, 112),
    "sleeve": Point(1022, 112),
    "pocket": Point(800, 790),
    "facing": Point(1060, 738),
}
"""Where the origin of each piece's own frame lies on the sheet."""

STYLES = {
    Role.CUTTING: (0.7, ()),
    Role.STITCHING: (0.3, (5.0, 2.5)),
    Role.GRAINLINE: (0.4, ()),
    Role.FOLD: (0.6, (14.0, 2.0, 2.0, 2.0)),
    Role.NOTCH: (0.6, ()),
    Role.GRADING: (0.4, (9.0, 3.0)),
    Role.LENGTHEN: (0.4, (9.0, 3.0, 2.0, 3.0)),
    Role.PLACEMENT: (0.3, (2.0, 2.0)),
    Role.PLAIN: (0.4, ()),
}
"""Line width and dashes by role, mm."""

HEADING = (
    Text(Point(30, 44), 22, "Potting smock", bold=True),
    Text(Point(30, 60), 8, "Low Meadow allotment society, for everybody who pots, sows and waters"),
    Text(Point(30, 74), 7, "For a bust of 95 cm, a waist of 86 cm and a hip of 102 cm, with room for other clothes."),
)
KEY = (
    (Role.CUTTING, "cut here"),
    (Role.STITCHING, "stitch here"),
    (Role.FOLD, "lay on the fold of the cloth"),
    (Role.GRADING, "cut the paper here to widen or narrow"),
    (Role.LENGTHEN, "cut the paper here to lengthen or shorten"),
    (Role.PLACEMENT, "place, or measure, here"),
)


def to_micrometres(value: float) -> float:
    """A length rounded to 0.001 mm; half of that goes the same way whatever the last bits of the float say."""
    return round(round(float(value), 7), 3)


def number(value: float) -> str:
    """A length to 0.001 mm, without trailing noughts."""
    text = f"{to_micrometres(value):.3f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def path_data(path: Path) -> str:
    """The `d` attribute of a path."""
    letters = {Op.MOVE: "M", Op.LINE: "L", Op.CURVE: "C", Op.CLOSE: "Z"}
    words, at = [], 0
    for op in path.ops:
        count = (1, 1, 3, 0)[op]
        coordinates = path.points[at : at + count].ravel()
        words.append(letters[Op(op)] + " ".join(number(c) for c in coordinates))
        at += count
    return "".join(words)


def key_rows() -> list[tuple[Path, Role, Text]]:
    """The key to the kinds of line: a short sample of each, and its words."""
    rows = []
    for index, (role, words) in enumerate(KEY):
        x, y = 640.0 + 300.0 * (index // 3), 38.0 + 16.0 * (index % 3)
        rows.append((Path.polyline([Point(x, y), Point(x + 60, y)]), role, Text(Point(x + 68, y + 2), 6, words)))
    return rows


def style_rules() -> str:
    """The drawing's style sheet: one class for each role, and `key-…` for the samples in the key."""
    rules = []
    for role, (width, dashes) in STYLES.items():
        dash = f";stroke-dasharray:{' '.join(number(d) for d in dashes)}" if dashes else ""
        name = role.value or "drawn"
        rules.append(f".{name},.key-{name}{{fill:none;stroke:#000;stroke-width:{number(width)}{dash}}}")
    rules.append("text{font-family:Helvetica,Arial,sans-serif;fill:#000}")
    return "\n".join(f"    {rule}" for rule in rules)


def svg_line(drawn: Drawn, move: Affine) -> str:
    """One line of a piece."""
    name = f' data-name="{escape(drawn.name)}"' if drawn.name else ""
    extra = "".join(f' data-{key}="{escape(value)}"' for key, value in drawn.extra)
    return f'    <path class="{drawn.role.value or "drawn"}"{name}{extra} d="{path_data(drawn.path.moved(move))}"/>'


def svg_text(text: Text, move: Affine) -> str:
    """One run of words."""
    at = move.point(text.at)
    weight = ' font-weight="bold"' if text.bold else ""
    place = f'x="{number(at.x)}" y="{number(at.y)}" font-size="{number(text.size)}"'
    return f"    <text {place}{weight}>{escape(text.words)}</text>"


def as_svg(pieces: Sequence[Draft]) -> str:
    """The whole drawing, one user unit to the millimetre."""
    width, height = number(SHEET.width), number(SHEET.height)
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<svg xmlns="http://www.w3.org/2000/svg" '
        f'width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}">',
        "  <title>Potting smock</title>",
        "  <style>",
        style_rules(),
        "  </style>",
        '  <g id="heading">',
        *(svg_text(text, Affine()) for text in HEADING),
    ]
    for path, role, words in key_rows():
        parts += [f'    <path class="key-{role.value}" d="{path_data(path)}"/>', svg_text(words, Affine())]
    parts.append("  </g>")
    for piece in pieces:
        move = Affine.shift(PLACES[piece.ident].x, PLACES[piece.ident].y)
        parts.append(f'  <g class="piece" id="{piece.ident}">')
        parts.append(f"    <title>{escape(piece.title)}</title>")
        parts += [svg_line(drawn, move) for drawn in piece.lines]
        parts += [svg_text(text, move) for text in piece.texts]
        parts.append("  </g>")
    return "\n".join([*parts, "</svg>", ""])


TO_POINTS = 72 / 25.4


def pdf_line(canvas: Canvas, path: Path, role: Role, thicker: float = 1.0) -> None:
    """One line; the canvas already counts in mm with y down."""
    width, dashes = STYLES[role]
    canvas.setLineWidth(width * thicker)
    canvas.setDash(list(dashes))
    drawn, at = canvas.beginPath(), 0
    for op in path.ops:
        count = (1, 1, 3, 0)[op]
        coordinates = [to_micrometres(c) for c in path.points[at : at + count].ravel()]
        (drawn.moveTo, drawn.lineTo, drawn.curveTo, drawn.close)[op](*coordinates)
        at += count
    canvas.drawPath(drawn)


def pdf_text(canvas: Canvas, text: Text, move: Affine) -> None:
    """One run of words, set upright again."""
    at = move.point(text.at)
    canvas.saveState()
    canvas.transform(1, 0, 0, -1, to_micrometres(at.x), to_micrometres(at.y))
    canvas.setFont("Helvetica-Bold" if text.bold else "Helvetica", text.size)
    canvas.drawString(0, 0, text.words)
    canvas.restoreState()


def as_pdf(sizes: Sequence[tuple[str, Sequence[Draft]]]) -> bytes:
    """Every size on a layer of its own over the common heading; the first size's words are on its layer."""
    raw = io.BytesIO()
    page = (SHEET.width * TO_POINTS, SHEET.height * TO_POINTS)
    canvas = Canvas(raw, pagesize=page, invariant=1, pageCompression=1)
    canvas.setTitle("Potting smock, two sizes")
    canvas.transform(TO_POINTS, 0, 0, -TO_POINTS, 0, page[1])
    for text in HEADING[:2]:
        pdf_text(canvas, text, Affine())
    for path, role, words in key_rows():
        pdf_line(canvas, path, role)
        pdf_text(canvas, words, Affine())
    for index, (_, pieces) in enumerate(sizes):
        # reportlab knows no optional content; the operators are written as they are in ISO 32000-1, 8.11.3.2.
        canvas._code.append(f"/OC /size{index + 1} BDC")
        for piece in pieces:
            move = Affine.shift(PLACES[piece.ident].x, PLACES[piece.ident].y)
            for drawn in piece.lines:
                pdf_line(canvas, drawn.path.moved(move), drawn.role, 1.0 + 0.5 * index)
            for text in piece.texts if index == 0 else ():
                pdf_text(canvas, text, move)
        canvas._code.append("EMC")
    canvas.showPage()
    canvas.save()
    return with_layers(raw.getvalue(), [name for name, _ in sizes])


def with_layers(content: bytes, names: Sequence[str]) -> bytes:
    """Name the marked content `/size1`, `/size2`, … as layers (ISO 32000-1, 8.11), all of them shown."""
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(content)))
    groups = [
        writer._add_object(
            DictionaryObject({NameObject("/Type"): NameObject("/OCG"), NameObject("/Name"): TextStringObject(name)})
        )
        for name in names
    ]
    properties = DictionaryObject({NameObject(f"/size{i + 1}"): group for i, group in enumerate(groups)})
    writer.pages[0]["/Resources"][NameObject("/Properties")] = properties
    shown = DictionaryObject({NameObject("/Order"): ArrayObject(groups), NameObject("/ON"): ArrayObject(groups)})
    writer.root_object[NameObject("/OCProperties")] = DictionaryObject(
        {NameObject("/OCGs"): ArrayObject(groups), NameObject("/D"): shown}
    )
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def main(folder: FilePath = HERE) -> None:
    """Write both samples into the folder."""
    (folder / "potting-smock.svg").write_text(as_svg(draft(SIZES[0])), encoding="utf-8")
    (folder / "potting-smock-two-sizes.pdf").write_bytes(as_pdf([(size.name, draft(size)) for size in SIZES]))


if __name__ == "__main__":
    main()
