"""Compare our pages with the drawings they were made from, as renderers see both that the tool doesn't use.

    python -m tests.hostile.compare_run FOLDER [--most N] [--part K/N] [--report FILE.json]

Each drawing's first page is cut into pages, our own marks are taken off, and the pages are laid at their places on one
sheet by what `--json` says. PDFs and their sheets are drawn by poppler (`pdftoppm`) and MuPDF (`mutool`), whichever are
there; SVGs by resvg (`resvg_py`) and their sheets by one of the two or PDFium. Ink that is missing or added is *named*
where a finding of the run says that something is drawn otherwise, and counts apart where one sees none of it, or
only letters a millimetre aside (they differ in fields and notes); else it is listed. Exits 1 when anything is listed.
"""

from __future__ import annotations

import argparse
import io
import json
import re
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
from lxml import etree
from numpy.typing import NDArray
from PIL import Image
from pypdf import PdfReader, PdfWriter
from pypdf.generic import DecodedStreamObject, DictionaryObject, FloatObject, NameObject, RectangleObject
from scipy.ndimage import maximum_filter

from tests.hostile.corpus_run import files_in
from tests.hostile.limited import Limits, helpers, run_limited
from tiling.typefaces import font_file

__all__ = ["RENDERERS", "Difference", "compare_drawing", "difference", "taped"]

Ink = NDArray[np.uint8]
"""(rows, columns): 0 is paper, 255 the fullest ink of any colour."""

DPI = 100
_POINT = 72 / 25.4
_INKED, _BLANK = 110, 40
_FEW = 12
"""Pixels that may differ: the ends of dashes, corners of joins, edges of pictures."""
_ASIDE = 5
"""Pixels, 1.3 mm: how far a field's letters lie from where another program writes them."""
_SHARE = 0.001
"""Of all that are inked: hairlines and edges of pictures, which renderers smooth each in its own way."""
_LIMITS = Limits(seconds=60, memory=2 << 30)
_OWN = re.compile(rb"/PsOwn BMC.*?EMC", re.DOTALL)
_FAMILIES = {"sans_serif": "Sans", "serif": "Serif", "monospace": "Mono"}
_NAMED = frozenset({2, 3, 4, 5, 6, 7, 8, 10, 11, 12, 13, 14, 15, 16, 22, 24, 31})
"""The findings that say what is drawn otherwise than in the source."""


@dataclass(frozen=True, slots=True)
class Difference:
    """How many pixels are inked in the source and blank in the pages, the other way round, and inked in either."""

    missing: int
    added: int
    inked: int

    @property
    def matters(self) -> bool:
        """Whether more differs than rounding."""
        return max(self.missing, self.added) > max(_FEW, _SHARE * self.inked)


def difference(source: Ink, pages: Ink, reach: int = 1) -> Difference:
    """Compare two pictures of a sheet; ink counts as found when there is any within `reach` pixels."""
    rows, columns = (min(pair) for pair in zip(source.shape, pages.shape, strict=True))
    one, other = source[:rows, :columns], pages[:rows, :columns]
    around = [maximum_filter(picture, 2 * reach + 1) for picture in (one, other)]
    missing, added = (one > _INKED) & (around[1] < _BLANK), (other > _INKED) & (around[0] < _BLANK)
    return Difference(int(missing.sum()), int(added.sum()), int(((one > _INKED) | (other > _INKED)).sum()))


def taped(pages: bytes, said: dict[str, Any]) -> bytes:
    """The tiles' pages without our marks, laid at their places on one sheet: a PDF of one page.

    Args:
        pages: the printed file.
        said: what `--json` says of it.
    """
    reader = PdfReader(io.BytesIO(pages))
    width, height = (side * _POINT for side in said["size_mm"])
    writer = PdfWriter()
    sheet = writer.add_blank_page(width, height)
    forms, content = DictionaryObject(), [b"q 1 g 0 0 %f %f re f Q" % (width, height)]
    for tile in said["tiles"]:
        page = reader.pages[tile["page"] - 1]
        form = DecodedStreamObject()
        form.set_data(_OWN.sub(b"", page.get_contents().get_data()))  # type: ignore[union-attr]
        form.update({NameObject("/Type"): NameObject("/XObject"), NameObject("/Subtype"): NameObject("/Form")})
        form[NameObject("/BBox")] = RectangleObject([FloatObject(side) for side in page.mediabox])
        form[NameObject("/Resources")] = page["/Resources"].clone(writer)
        forms[NameObject(f"/{tile['name']}")] = writer._add_object(form)
        x0, y0, x1, y1 = (side * _POINT for side in tile["window_mm"])
        left, top, right, bottom = (side * _POINT for side in tile["on_page_mm"])
        unit = float(page.get("/UserUnit", 1.0))
        across, down = (x1 - x0) / (right - left), (y1 - y0) / (bottom - top)
        low = float(page.mediabox.height) * unit - bottom
        move = (across * unit, down * unit, x0 - left * across, height - y1 - low * down)
        # What a page before it showed in the overlap is painted over, so that nothing see-through lies there twice.
        window = b"%f %f %f %f re" % (x0, height - y1, x1 - x0, y1 - y0)
        place = b"%f 0 0 %f %f %f cm" % move
        content.append(b"q %b W n q 1 g %b f Q %b /%b Do Q" % (window, window, place, tile["name"].encode()))
    stream = DecodedStreamObject()
    stream.set_data(b"\n".join(content))
    sheet[NameObject("/Resources")] = DictionaryObject({NameObject("/XObject"): forms})
    sheet[NameObject("/Contents")] = writer._add_object(stream)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def _ink(picture: Image.Image) -> Ink:
    """Ink of any colour on white paper."""
    flat = Image.new("RGB", picture.size, "white")
    flat.paste(picture, mask=picture.getchannel("A") if "A" in picture.getbands() else None)
    darkest: Ink = 255 - np.asarray(flat).min(axis=2)
    return darkest


def _by_poppler(pdf: bytes) -> Ink:
    return _by_program(
        pdf, lambda file, out: ["pdftoppm", "-r", str(DPI), "-cropbox", "-png", "-singlefile", file, out]
    )


def _by_mupdf(pdf: bytes) -> Ink:
    return _by_program(pdf, lambda file, out: ["mutool", "draw", "-q", "-r", str(DPI), "-o", out + ".png", file, "1"])


def _by_program(pdf: bytes, command: Callable[[str, str], list[str]]) -> Ink:
    with tempfile.TemporaryDirectory() as folder:
        file, out = Path(folder, "page.pdf"), Path(folder, "page")
        file.write_bytes(pdf)
        subprocess.run(command(str(file), str(out)), capture_output=True, check=False, timeout=60)
        return _ink(Image.open(out.with_suffix(".png")))


def _by_pdfium(pdf: bytes) -> Ink:
    document = pypdfium2.PdfDocument(pdf)
    try:
        return _ink(document[0].render(scale=DPI / 72, may_draw_forms=False).to_pil())
    finally:
        document.close()


_PROGRAMS: dict[str, tuple[str, Callable[[bytes], Ink]]] = {
    "poppler": ("pdftoppm", _by_poppler),
    "MuPDF": ("mutool", _by_mupdf),
}
RENDERERS = {name: draw for name, (program, draw) in _PROGRAMS.items() if shutil.which(program)}
RENDERERS = RENDERERS if RENDERERS else {"PDFium": _by_pdfium}
"""Those for PDFs that this machine has and the tool doesn't use; where there are none, the one it uses."""


def _by_resvg(svg: bytes, size: Sequence[float]) -> Ink:
    """An SVG of a known size in mm, nested in one whose sides are whole pixels: resvg rounds them."""
    root = etree.fromstring(svg, etree.XMLParser(resolve_entities="internal", huge_tree=True))
    across, down = (side / 25.4 * 96 for side in size)
    root.set("width", f"{across}")
    root.set("height", f"{down}")
    wide, tall = (round(np.ceil(side / 25.4 * DPI)) for side in size)
    frame = f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{tall}"><g/></svg>'
    outer = etree.fromstring(frame)
    outer[0].set("transform", f"scale({DPI / 96})")
    outer[0].append(root)
    fonts = {"font_dirs": [str(font_file("Helvetica").parent)], "font_family": "Pageseam Sans", "languages": ["en"]}
    families = {f"{kind}_family": f"Pageseam {name}" for kind, name in _FAMILIES.items()}
    picture = import_module("resvg_py").svg_to_bytes(svg_string=etree.tostring(outer).decode(), **fonts, **families)
    return _ink(Image.open(io.BytesIO(bytes(picture))))


def compare_drawing(drawing: bytes, pages: bytes, said: dict[str, Any], reach: int = 1) -> dict[str, Difference]:
    """The differences that each renderer shows, by its name; `reach` as for `difference`."""
    sheet = taped(pages, said)
    if b"%PDF-" in drawing[:1024]:
        found = {}
        for name, draw in RENDERERS.items():
            try:
                found[name] = difference(draw(drawing), draw(sheet), reach)
            except (OSError, subprocess.TimeoutExpired, ValueError):
                continue  # it can't draw the source
        return found
    draw = next(iter(RENDERERS.values()))
    return {"resvg": difference(_by_resvg(drawing, said["size_mm"]), draw(sheet), reach + 1)}


def _compared(source: Path) -> dict[str, Any]:
    """One file: what was found, or why nothing could be."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shutil.copy(source, folder)
        pdf = source.suffix.lower() == ".pdf"
        choice = ["--page", "1"] if pdf else []
        ran = run_limited(["pages", source.name, *choice, "--json", "-o", "out.pdf"], folder, _LIMITS)
        if ran.code:
            return {"file": source.name, "state": f"exit {ran.code}", "why": ran.err.strip()[-200:]}
        said = json.loads(ran.out)
        named = sorted({one["number"] for one in said["findings"]} & _NAMED)
        try:
            files = source.read_bytes(), (folder / "out.pdf").read_bytes()
            found = compare_drawing(*files, said)
            differing = all(one.matters for one in found.values())
            far = compare_drawing(*files, said, _ASIDE) if differing else {}
        except Exception as cause:  # noqa: BLE001 - whatever the other renderer or its library stumbles over
            return {"file": source.name, "state": "not compared", "why": repr(cause)[:200]}
    differs = {name: (one.missing, one.added) for name, one in found.items() if one.matters}
    unnamed = "LISTED" if differing and all(one.matters for one in far.values()) else "seen otherwise by one"
    state = "not compared" if not found else "alike" if not differs else "named" if named else unnamed
    return {"file": source.name, "state": state, "differs": differs, "findings": named}


def main() -> int:
    """Compare the folder's files and print what differs unnamed."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--most", type=int, default=0, help="compare only so many files, evenly picked")
    parser.add_argument("--part", default="1/1", metavar="K/N", help="compare every N-th file, starting with the K-th")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--report", type=Path)
    given = parser.parse_args()
    if not RENDERERS and find_spec("resvg_py") is None:
        print("Neither pdftoppm, mutool nor resvg_py is here.", file=sys.stderr)
        return 2
    results = []
    with helpers(given.jobs) as pool:
        for result in pool.map(_compared, files_in(given.folder, given.most, given.part)):
            results.append(result)
            if result["state"] == "LISTED" or result["state"] == "exit 6":
                print(json.dumps(result), flush=True)
            if given.report:
                given.report.write_text(json.dumps(results, indent=1))
    counts = Counter(result["state"] for result in results)
    print(f"{len(results)} files: " + ", ".join(f"{count} {state}" for state, count in sorted(counts.items())))
    return 1 if counts["LISTED"] else 0


if __name__ == "__main__":
    sys.exit(main())
