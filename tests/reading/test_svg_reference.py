"""The same lines as another SVG reader sees: svglib draws the source and what was read, PDFium renders both."""

from __future__ import annotations

import os
import re
import warnings
from pathlib import Path

import pytest
from reportlab.graphics import renderPDF
from svglib.svglib import svg2rlg

from tests.render import ALIKE, compare, render
from tiling.drawing.altered_svg import svg_bytes
from tiling.files.inputs import read_input
from tiling.reading.svg import read_svg

ROOT = Path(__file__).resolve().parents[2]
OPEN_DATA = Path(os.environ.get("PAGESEAM_OPEN_DATA", ROOT.parent / "shared" / "open-data"))

ZOO = """<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="160mm" height="120mm"
 viewBox="0 0 160 120"><style>.thin{fill:none;stroke:#000;stroke-width:.5} .bold{stroke-width:1.5}</style>
<g transform="translate(10 10)" class="thin"><rect width="30" height="20" rx="4"/>
<g transform="rotate(30) skewX(10)"><path d="M40 0c10-20 20 20 30 0s10 30-10 30H45V20z"/></g>
<path class="bold" d="M0 40a20 10 30 0 1 20 10 20 10 30 1 0 20 10q10-30 20 0t20 0"/>
<polygon points="70,50 90,50 95,70 75,80"/><circle cx="120" cy="30" r="22"/><ellipse cx="120" cy="80" rx="22" ry="10"/>
<path transform="matrix(.8 .3 -.3 .8 10 60)" d="M0 0 L20 0 20 20 M5 5h10v10h-10z" stroke-dasharray="3 1"/></g>
<defs><path id="notch" fill="none" stroke="#000"
 stroke-width=".5" d="M0 0L3 6L6 0"/></defs><use xlink:href="#notch" x="60" y="100"/>
<use xlink:href="#notch" transform="translate(80 100) scale(1.5)"/><path d="M100 100h20v10h-20z" fill="#000"/></svg>
"""


# Left out of the picture, because svglib draws it otherwise than SVG 2 says: corners with two radii (it makes them
# round), style rules on what is copied from <defs> (it forgets them).


def picture(svg: Path):
    """The file as svglib and PDFium see it."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return render(renderPDF.drawToString(svg2rlg(str(svg))), dpi=200)


def garment(name: str) -> Path:
    """A real garment outline from the open data."""
    path = OPEN_DATA / "garment-svg" / name
    if not path.exists():
        pytest.skip(f"open data absent: {path} (set PAGESEAM_OPEN_DATA)")
    return path


def rewritten(source: Path, folder: Path) -> Path:
    """The source read and written again, in mm."""
    path = folder / "again.svg"
    path.write_bytes(svg_bytes(read_svg(read_input(source))))
    return path


def test_shapes_transforms_and_copies_lie_where_another_reader_draws_them(tmp_path):
    """Arcs, curves, skews, matrices, dashes, copies, round corners."""
    source = tmp_path / "zoo.svg"
    source.write_text(ZOO)
    assert compare(picture(source), picture(rewritten(source, tmp_path))) < ALIKE


@pytest.mark.parametrize(
    ("old", "new"), [("translate(10 10)", "translate(10.5 10)"), ('r="22"', 'r="22.5"'), ("H45V20z", "z")]
)
def test_the_comparison_sees_half_a_millimetre_and_a_missing_line(tmp_path, old, new):
    """It can fail."""
    source, other = tmp_path / "zoo.svg", tmp_path / "moved.svg"
    source.write_text(ZOO)
    assert old in ZOO
    other.write_text(ZOO.replace(old, new, 1))
    assert compare(picture(source), picture(rewritten(other, tmp_path))) > ALIKE


def test_a_real_garment_is_the_same_in_both(tmp_path):
    """A T-shirt's four pieces from the open data, px as the file has them."""
    source = garment("ltshirt.svg")
    sized = tmp_path / "sized.svg"
    # svglib takes a px for a point; say the size in points so that both draw one size.
    text = source.read_text(encoding="utf-8").replace('x="0px" y="0px"', 'width="1238pt" height="399.8pt"')
    sized.write_text(text, encoding="utf-8")
    assert compare(picture(sized), picture(rewritten(sized, tmp_path))) < ALIKE


def test_a_real_garment_that_passes_its_page_is_kept_whole():
    """The hems of the raglan's front and back lie 30 mm below its view box; they are on the sheet all the same."""
    pattern = read_svg(read_input(garment("lraglan.svg")))
    assert len(pattern.marks) == 4
    page = 399.8 * 25.4 / 96
    assert pattern.size.height == pytest.approx(max(mark.path.bounds().y1 for mark in pattern.marks))
    assert pattern.size.height > page + 25
    assert any("beyond its page" in finding.text for finding in pattern.findings)


def test_a_real_outline_has_the_length_of_its_own_numbers():
    """A sleeve's outline summed by small chords straight from the file's numbers, independent of any path code here."""
    source = garment("ltshirt.svg")
    data = re.findall(r' d="([^"]+)"', source.read_text(encoding="utf-8"))[2]
    assert data.replace("\n", "") == (
        "M695.4,347l-43.6-236.5c53.1-8.2,49.2-74,136-68c73.5,4.2,91.9,54.9,132,69.3L868.7,347L695.4,347z"
    )
    length = abs(complex(43.6, 236.5))
    here = complex(695.4 - 43.6, 347 - 236.5)
    for a, b, c in [(53.1 - 8.2j, 49.2 - 74j, 136 - 68j), (73.5 + 4.2j, 91.9 + 54.9j, 132 + 69.3j)]:
        last = 0j
        for i in range(1, 20_001):
            t = i / 20_000
            point = 3 * (1 - t) ** 2 * t * a + 3 * (1 - t) * t**2 * b + t**3 * c
            length += abs(point - last)
            last = point
        here += last
    length += abs(complex(868.7, 347) - here) + (868.7 - 695.4)
    pattern = read_svg(read_input(source))
    assert pattern.marks[2].path.length() == pytest.approx(length * 25.4 / 96, abs=0.001)
