"""Right size on strange pages: what stands at a known place in the source is printed there, or a finding says why not.

The truth is each page's own definition in ISO 32000-2 (7.7.3.3 page boxes, 8.3.2.3 user space): a cross is drawn at
known millimetres of the visible page, and its place is read from the printed tile by PDFium.
"""

from __future__ import annotations

import io
import json
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import ArrayObject, DictionaryObject, NameObject

from tests.content.pages import form, obj, pdf_of, stream
from tests.hostile.conftest import Command
from tiling.proof.own_marks import drop_own_marks

MM = 72 / 25.4
"""Points in a millimetre."""
CLOSE = 0.15
"""mm: a pixel at 300 dpi is 0.085 mm."""


def ink(pdf: Path, page: int, dpi: float = 300.0) -> np.ndarray:
    """Dark pixels of a page, without the page's own marks."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        shown = document[page - 1]
        drop_own_marks(shown)
        picture = shown.render(scale=dpi / 72, grayscale=True).to_numpy()
        return np.asarray(picture.reshape(picture.shape[:2]) < 160)
    finally:
        document.close()


def extent(pdf: Path, summary: dict) -> tuple[float, float, float, float]:
    """The box around the ink of a one-tile print, in mm on the layout."""
    (tile,) = summary["tiles"]
    rows, columns = np.nonzero(ink(pdf, tile["page"]))
    per = 300 / 25.4
    left, top = tile["window_mm"][0] - tile["on_page_mm"][0], tile["window_mm"][1] - tile["on_page_mm"][1]
    return (
        columns.min() / per + left, rows.min() / per + top, (columns.max() + 1) / per + left,
        (rows.max() + 1) / per + top,
    )  # fmt: skip


def printed(tmp_path: Path, command: Command, pdf: bytes) -> dict:
    """The JSON of the pages made of it."""
    (tmp_path / "odd.pdf").write_bytes(pdf)
    ran = command(["pages", "odd.pdf", "--json", "--paper", "a3", "-o", "out.pdf"])
    assert ran.code == 0, ran.err
    summary = json.loads(ran.out)
    assert isinstance(summary, dict)
    return summary


# A filled rectangle of 30 x 20 user units at (40, 60) on a page of 200 x 100 units, where nothing else is said.
BLOCK = b"40 60 30 20 re f"
PAGES = {
    "plain": ({"/MediaBox": [0, 0, 200, 100]}, (40, 20, 70, 40), 1.0),
    "turned": ({"/MediaBox": [0, 0, 200, 100], "/Rotate": 90}, (60, 40, 80, 70), 1.0),
    "turned and in other units": (
        {"/MediaBox": [0, 0, 200, 100], "/Rotate": 270, "/UserUnit": 2.5}, (20, 130, 40, 160), 2.5,
    ),
    "upside down by minus 180": ({"/MediaBox": [0, 0, 200, 100], "/Rotate": -180}, (130, 60, 160, 80), 1.0),
    "a box that begins elsewhere": ({"/MediaBox": [20, 30, 220, 130]}, (20, 50, 50, 70), 1.0),
    "a box below nought": ({"/MediaBox": [-50, -40, 150, 90]}, (90, 10, 120, 30), 1.0),
    "corners the wrong way round": ({"/MediaBox": [200, 100, 0, 0]}, (40, 20, 70, 40), 1.0),
    "a crop box partly outside": (
        {"/MediaBox": [0, 0, 200, 100], "/CropBox": [30, 50, 400, 400]}, (10, 20, 40, 40), 1.0,
    ),
    "a crop box wholly outside": (
        {"/MediaBox": [0, 0, 200, 100], "/CropBox": [500, 500, 600, 600]}, (40, 20, 70, 40), 1.0,
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", PAGES)
def test_a_block_is_printed_where_the_page_has_it(tmp_path: Path, command: Command, what: str) -> None:
    """To a seventh of a millimetre, whatever the boxes, the turn and the unit."""
    page, (x0, y0, x1, y1), unit = PAGES[what]
    summary = printed(tmp_path, command, pdf_of(BLOCK, page=page))
    expected = [value * unit / MM for value in (x0, y0, x1, y1)]
    assert extent(tmp_path / "out.pdf", summary) == pytest.approx(expected, abs=CLOSE)


def test_the_measuring_would_see_half_a_millimetre(tmp_path: Path, command: Command) -> None:
    """The same page with its block moved by 0.5 mm is not taken for it."""
    moved = b"%.3f 60 30 20 re f" % (40 + 0.5 * MM)
    summary = printed(tmp_path, command, pdf_of(moved, page={"/MediaBox": [0, 0, 200, 100]}))
    assert abs(extent(tmp_path / "out.pdf", summary)[0] - 40 / MM) > CLOSE


CONTENTS = {
    "split between operands and operator": [b"40 60 30 20", b"re", b"f"],
    "frames that never end": [b"q q q 2 0 0 2 0 0 cm Q " + BLOCK],
    "ends without frames": [b"Q Q " + BLOCK + b" Q"],
    "a Type 3 font": [b"BT /T 20 Tf 40 60 Td (a) Tj ET"],
    "a pattern": [b"/Pattern cs /P scn " + BLOCK],
    "a shading": [b"q 40 60 30 20 re W n /S sh Q"],
    "a transparency group": [b"/G gs /X Do"],
    "a soft mask": [b"/M gs " + BLOCK],
    "an inline image": [b"q 30 0 0 20 40 60 cm BI /W 1 /H 1 /BPC 8 /CS /G ID \x00 EI Q"],
}


def resources() -> dict:
    """What the contents above use; each paints the same block."""
    glyph = stream(b"1.5 0 0 0 1.5 1 d1 0 0 1.5 1 re f")
    return {
        "/Font": {
            "/T": {
                "/Type": "/Font", "/Subtype": "/Type3", "/FontBBox": [0, 0, 2, 2], "/FontMatrix": [1, 0, 0, 1, 0, 0],
                "/CharProcs": {"/a": glyph}, "/Encoding": {"/Type": "/Encoding", "/Differences": [97, "/a"]},
                "/FirstChar": 97, "/LastChar": 97, "/Widths": [1.5], "/Resources": {},
            }
        },
        "/Pattern": {
            "/P": stream(
                b"0 g 0 0 9 9 re f", Type="/Pattern", PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 9, 9],
                XStep=9, YStep=9, Resources={},
            )
        },
        "/Shading": {
            "/S": {
                "/ShadingType": 2, "/ColorSpace": "/DeviceGray", "/Coords": [0, 0, 200, 0], "/Extend": [True, True],
                "/Function": {"/FunctionType": 2, "/Domain": [0, 1], "/C0": [0], "/C1": [0.2], "/N": 1},
            }
        },
        "/XObject": {"/X": form(BLOCK, Group={"/S": "/Transparency"})},
        "/ExtGState": {
            "/G": {"/ca": 0.9},
            "/M": {
                "/SMask": {
                    "/Type": "/Mask", "/S": "/Luminosity",
                    "/G": form(b"1 g 0 0 200 100 re f", Group={"/S": "/Transparency", "/CS": "/DeviceGray"}),
                }
            },
        },
    }  # fmt: skip


@pytest.mark.parametrize("what", CONTENTS)
def test_content_of_every_kind_is_printed_in_its_place(tmp_path: Path, command: Command, what: str) -> None:
    """Vector, text, pattern, mask or picture: the same block at the same millimetres, or a finding."""
    (tmp_path / "odd.pdf").write_bytes(pdf_of(CONTENTS[what], resources(), {"/MediaBox": [0, 0, 200, 100]}))
    ran = command(["pages", "odd.pdf", "--json", "--paper", "a3", "-o", "out.pdf"])
    assert ran.code == 0, ran.err
    summary = json.loads(ran.out)
    expected = [value / MM for value in (40, 20, 70, 40)]
    assert extent(tmp_path / "out.pdf", summary) == pytest.approx(expected, abs=CLOSE), summary["findings"]


def inherited() -> bytes:
    """MediaBox, Rotate and Resources stand two nodes above the page (ISO 32000-2, table 31)."""
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(pdf_of(b"/X Do", resources()))))
    page, root = writer.pages[0], writer.root_object["/Pages"]
    node = obj({"/Type": "/Pages", "/Count": 1})
    assert isinstance(node, DictionaryObject)
    node[NameObject("/Parent")] = root.indirect_reference
    node[NameObject("/Kids")] = root["/Kids"]
    for key, value in (("/MediaBox", [0, 0, 100, 200]), ("/Rotate", 270)):
        node[NameObject(key)] = obj(value)
        page.pop(key, None)
    root[NameObject("/Resources")] = page.pop("/Resources")
    page[NameObject("/Parent")] = writer._add_object(node)
    root[NameObject("/Kids")] = ArrayObject([page[NameObject("/Parent")].indirect_reference])
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def test_what_a_page_inherits_holds_on_it(tmp_path: Path, command: Command) -> None:
    """The block at (40, 60) of a page of 100 x 200, turned by a quarter to the left."""
    summary = printed(tmp_path, command, inherited())
    assert summary["size_mm"] == pytest.approx([200 / MM, 100 / MM], abs=0.01)
    expected = [value / MM for value in (200 - 80, 100 - 70, 200 - 60, 100 - 40)]
    assert extent(tmp_path / "out.pdf", summary) == pytest.approx(expected, abs=CLOSE), summary


@pytest.mark.parametrize(
    "parts",
    [
        pytest.param([b"40 60 30 20 re f 90 90 9 9 r", b"e f"], id="an operator"),
        pytest.param([BLOCK + b" 90 90 9 9 re /N", b"o gs n"], id="a name"),
    ],
)
def test_content_split_where_it_may_not_be_prints_what_viewers_show(
    tmp_path: Path, command: Command, parts: list[bytes]
) -> None:
    """A stream ends a word (ISO 32000-2, 7.8.2): PDFium shows the first block alone, and a finding says the rest."""
    source = pdf_of(parts, resources(), {"/MediaBox": [0, 0, 200, 100]})
    (tmp_path / "odd.pdf").write_bytes(source)
    ran = command(["pages", "odd.pdf", "--json", "--paper", "a3", "-o", "out.pdf"])
    assert ran.code == 0, ran.err
    summary = json.loads(ran.out)
    assert extent(tmp_path / "out.pdf", summary) == pytest.approx([v / MM for v in (40, 20, 70, 40)], abs=CLOSE)
    assert {finding["kind"] for finding in summary["findings"]} <= {"content-repaired", "reference-missing"}
    assert summary["findings"]


@pytest.mark.parametrize(
    ("side", "unit", "tiles"),
    [
        pytest.param(3.0, 1.0, 1, id="three units"),
        pytest.param(5000 * MM, 1.0, 0, id="five metres in more than 14,400 units"),
        pytest.param(500 * MM, 10.0, 0, id="five metres in large units"),
    ],
)
def test_sheets_of_a_millimetre_and_of_five_metres(
    tmp_path: Path, command: Command, side: float, unit: float, tiles: int
) -> None:
    """Their size is told to 0.01 mm, and every printed tile holds what lies there."""
    line = b"%f w 0 0 m %f %f l S" % (side / 500, side, side)
    (tmp_path / "odd.pdf").write_bytes(pdf_of(line, page={"/MediaBox": [0, 0, side, side], "/UserUnit": unit}))
    ran = command(["pages", "odd.pdf", "--json", "--paper", "a0", "-o", "out.pdf"])
    assert ran.code == 0, ran.err
    summary = json.loads(ran.out)
    assert summary["size_mm"] == pytest.approx([side * unit / MM] * 2, abs=0.01)
    assert len(summary["tiles"]) == tiles or (not tiles and len(summary["tiles"]) >= 7)
    for tile in summary["tiles"]:
        assert ink(tmp_path / "out.pdf", tile["page"], 36.0).any()
