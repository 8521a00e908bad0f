"""A finding's number means one thing, and the manual lists them all."""

from __future__ import annotations

import re

import pytest

import tiling
from tests.content.pages import pdf_of
from tiling.manual import chapter

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="400mm" viewBox="0 0 400 400">{}</svg>'
STYLE = 'fill="none" stroke="#000" stroke-width=".5"'
FRONT = (
    f'<g class="piece" id="front" {STYLE}><path class="cutting-line" d="M10 10H200V380H10Z"/>'
    '<path class="grading-line" d="M100 5V385"/><path class="grainline" d="M60 60V300"/>{}</g>'
)
SIDES = (
    f'<g class="piece" id="front" {STYLE}><path class="cutting-line" d="M10 10H190V300H10z"/>'
    '<path class="stitching-line" data-name="side" d="M20 20V280"/></g>'
    f'<g class="piece" id="back" {STYLE}><path class="cutting-line" d="M200 10H390V300H200z"/>'
    '<path class="stitching-line" data-name="side" d="M210 20V290"/></g>'
)
SEAM = b'[[seams]]\nname = "side"\nfirst = "front.side"\nsecond = "back.side"\n'
CLIPPED = (
    '<clipPath id="c"><path d="M0 0H150V400H0z"/></clipPath>'
    + FRONT.format('<path clip-path="url(#c)" d="M30 200H180"/>')
)  # fmt: skip


def drawing(body: str) -> tiling.InputFile:
    return tiling.InputFile("smock.svg", SVG.format(body).encode())


def looked(file: tiling.InputFile) -> tuple[tiling.Finding, ...]:
    return tiling.look(tiling.LookRequest((file,))).findings


def altered(file: tiling.InputFile) -> tuple[tiling.Finding, ...]:
    return tiling.alter(tiling.AlterRequest(file, tiling.Alteration(around=20.0))).findings


def test_what_lies_beyond_a_page_is_either_kept_or_left_out() -> None:
    """An SVG's sheet grows with it; a PDF's page has an edge."""
    assert [f.number for f in looked(drawing(f'<path {STYLE} d="M10 10H500"/>'))] == [22]
    beyond = looked(tiling.InputFile("smock.pdf", pdf_of(b"1 w 10 10 m 90 90 l S 1000 1000 m 1100 1100 l S")))
    assert [f.number for f in beyond] == [15]


def test_a_seam_is_either_changed_by_the_alteration_or_was_not_as_asked() -> None:
    """The one comes from `alter`, with a number that `tests.commands` asks for; the other from the notes."""
    reading = tiling.ReadOptions(notes=(tiling.InputFile("smock.toml", SEAM),))
    found = tiling.plan_cloth(tiling.PlanClothRequest((drawing(SIDES),), reading)).findings
    assert [f.number for f in found] == [23]


def test_what_an_alteration_cannot_carry_is_left_out_or_shown_whole() -> None:
    """A picture in a PDF goes; a line that a clip cut short comes back."""
    assert [f.number for f in altered(drawing(CLIPPED))] == [24]


@pytest.mark.parametrize("kind", tiling.FindingKind)
def test_the_manual_lists_every_number_once(kind: tiling.FindingKind) -> None:
    """In words of its own."""
    table = re.findall(r"([^|\n]+) \| (\d+) \|", chapter("drawings"))
    assert [number for _, number in table].count(str(kind.value)) == 1


def test_numbers_are_counted_on_without_a_gap() -> None:
    """A number once given is never given to another kind; new ones come at the end."""
    assert [kind.value for kind in tiling.FindingKind] == list(range(1, len(tiling.FindingKind) + 1))
