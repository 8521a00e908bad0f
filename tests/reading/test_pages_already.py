"""A PDF that is cut into pages already is noticed: it would be laid page below page, metres long."""

from __future__ import annotations

import io

import pytest
from reportlab.pdfgen.canvas import Canvas

import tiling
from tiling.commands.remedies import in_options
from tiling.pattern import FindingKind

MM = 72 / 25.4
SVG = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="150mm" height="100mm" viewBox="0 0 150 100">'
    b'<path d="M10 10L140 90" stroke="#000" stroke-width=".5"/></svg>'
)


def pdf(sizes: list[tuple[float, float]]) -> tiling.InputFile:
    """Pages of these sizes in mm, with a line on each."""
    stream = io.BytesIO()
    canvas = Canvas(stream, invariant=1)
    for width, height in sizes:
        canvas.setPageSize((width * MM, height * MM))
        canvas.line(30, 30, 200, 200)
        canvas.showPage()
    canvas.save()
    return tiling.InputFile("bought.pdf", stream.getvalue())


def found(file: tiling.InputFile, *pages: int) -> list[tiling.Finding]:
    findings = tiling.look(tiling.LookRequest((file,), tiling.ReadOptions(pages=pages))).findings
    return [finding for finding in findings if finding.kind is FindingKind.PAGES_ALREADY]


@pytest.mark.parametrize("size", [(210.0, 297.0), (297.0, 210.0), (215.9, 279.4), (297.0, 420.0)])
def test_pages_of_one_home_paper_look_like_pages(size: tuple[float, float]) -> None:
    """Four or more of A4, letter or A3, upright or not; what can be done is named, and doing it silences it."""
    (finding,) = found(pdf([size] * 7))
    words = in_options(finding.text, finding.remedy)
    assert "7 pages" in words
    assert "--page" in words
    assert found(pdf([size] * 7), 3) == []


@pytest.mark.parametrize(
    "sizes", [[(210.0, 297.0)] * 3, [(210.0, 297.0)] * 3 + [(900.0, 1200.0)], [(850.0, 1200.0)] * 5]
)
def test_pieces_on_pages_of_their_own_are_a_drawing(sizes: list[tuple[float, float]]) -> None:
    """A few pages, large ones, or some of another size."""
    assert found(pdf(sizes)) == []


def test_our_own_pages_are_known() -> None:
    """By the print plan that they carry, however few they are."""
    made = tiling.make_pages(tiling.MakePagesRequest((tiling.InputFile("smock.svg", SVG),)))
    assert made.pages is not None
    (finding,) = found(tiling.InputFile("smock-pages.pdf", made.pages.content))
    assert "that pageseam made" in finding.text
