"""Drawings made to exhaust, to read other files or to confuse: done or refused in bounded time and memory.

Every file is read by the whole command in a process of its own, with 1 GB of address space and two minutes of processor
time.
"""

from __future__ import annotations

import base64
import struct
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.hostile.conftest import Command
from tiling.failures import InputUnfit
from tiling.files.inputs import read_input
from tiling.reading.svg import read_svg

LINE = '<path d="M5 5L95 95" stroke="#000" fill="none"/>'
SECRET = "the-neighbours-letters"


def svg(body: str, head: str = 'width="100mm" height="100mm" viewBox="0 0 100 100"', before: str = "") -> str:
    """A whole file."""
    spaces = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
    return f"{before}<svg {spaces} {head}>{body}</svg>"


def path(data: str, more: str = "") -> str:
    """One stroked path."""
    return svg(f'<path fill="none" stroke="#000" {more} d="{data}"/>')


def picture_bomb(side: int) -> str:
    """A PNG (ISO/IEC 15948) of so many pixels squared, all of one colour, as a data URI."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    engine = zlib.compressobj(1)
    row = bytes(1 + 3 * side)
    data = b"".join([*(engine.compress(row) for _ in range(side)), engine.flush()])
    header = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    whole = b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", data) + chunk(b"IEND", b"")
    return f"data:image/png;base64,{base64.b64encode(whole).decode()}"


def nested_clips(levels: int) -> str:
    """Clips of clips of …"""
    clips = (
        f'<clipPath id="c{i}" clip-path="url(#c{i - 1})">' + f'<path clip-path="url(#c{i - 1})" d="M0 0H9V9H0z"/>' * 10
        + "</clipPath>"
        for i in range(1, levels)
    )  # fmt: skip
    first = '<clipPath id="c0"><rect width="9" height="9"/></clipPath>'
    return svg(f'<defs>{first}{"".join(clips)}</defs><g clip-path="url(#c{levels - 1})">{LINE}</g>')


def crossing_clip(count: int) -> str:
    """An even-odd clip of bars that cross in count × count places."""
    across = "".join(f"M{i * 0.1:.1f} 0h.05v100h-.05z" for i in range(count))
    down = "".join(f"M0 {i * 0.1:.1f}v.05h100v-.05z" for i in range(count))
    clip = f'<clipPath id="c"><path clip-rule="evenodd" d="{across}{down}"/></clipPath>'
    return svg(f'{clip}<g clip-path="url(#c)">{LINE}</g>')


def many_attributes(count: int) -> str:
    """One line with so many attributes."""
    attributes = " ".join(f"a{i}='1'" for i in range(count))
    return svg(f'<path {attributes} d="M0 0L9 9"/>{LINE}')


def long_line(count: int) -> str:
    """So many metres to and fro along both sides of a square metre, as one line."""
    head = 'width="1000mm" height="1000mm" viewBox="0 0 1000 1000"'
    return svg(f'<path fill="none" stroke="#000" d="M0 0{"L1000 1000L0 0" * (count // 2)}"/>', head)


def nested_copies(levels: int, times: int) -> str:
    """Copies of copies of …"""
    groups = (f'<g id="n{i}">' + f'<use href="#n{i - 1}"/>' * times + "</g>" for i in range(1, levels))
    return svg(f'<defs><g id="n0">{LINE}</g>{"".join(groups)}</defs><use href="#n{levels - 1}"/>')


MARKS = {
    "lines": '<path d="M20 20L60 70"/>',
    "lines across": '<path d="M5 60h180"/>',
    "an outline in parts": '<path d="M15 15h160"/><path d="M175 15v160"/><path d="M175 175H15"/><path d="M15 175V15"/>',
    "arrows": '<path d="M60 60v60"/><path d="M58 66l2-6l2 6"/><path d="M58 114l2 6l2-6"/>',
    "legs of darts": '<path d="M5 60l60 10"/><path d="M5 80l60-10"/>',
    "buttons": '<circle cx="60" cy="60" r="3"/><path d="M58 60h4"/><path d="M60 58v4"/>',
}
"""What a piece may hold, drawn again and again in one place."""


def copies_in_a_piece(mark: str, times: int) -> str:
    """A square piece with so many copies, to the third power, of one of `MARKS`."""
    groups = (f'<g id="n{i}">' + f'<use href="#n{i - 1}"/>' * times + "</g>" for i in range(1, 4))
    copies = f'<defs><g id="n0">{MARKS[mark]}</g>{"".join(groups)}</defs><use href="#n3"/>'
    piece = '<path d="M5 5h180v180h-180z"/>'
    size = 'width="200mm" height="200mm" viewBox="0 0 200 200"'
    return svg(f'<g fill="none" stroke="#000">{piece}{copies}</g>', size)


def nested_entities(levels: int, times: int) -> str:
    """Entities of entities of …"""
    declared = (f'<!ENTITY a{i} "{f"&a{i - 1};" * times}">' for i in range(1, levels))
    return svg(f"<text>&a{levels - 1};</text>", before=f'<!DOCTYPE svg [<!ENTITY a0 "ha">{"".join(declared)}]>')


REFUSED: dict[str, tuple[Callable[[], str], str]] = {
    "ten million points": (lambda: path("M0 0" + "l1 1-1-1" * 5_000_000), "more than 2,000,000 points"),
    "not a number": (lambda: path("MNaN 0L1 1"), "not finite"),
    "1e300": (lambda: path("M1e300 0L1 1"), "100 m"),
    "1e300 wide": (lambda: path("M0 0L1 1", 'stroke-width="1e300"'), "wider than 100 m"),
    "ten metres wide": (lambda: path("M0 0L1 1", 'stroke-width="2e4"'), "more than 50 m"),
    "letters of 1e300": (lambda: svg('<text font-size="1e300" y="9">A</text>'), "100 m"),
    "a sheet of 1e305 m": (lambda: svg(LINE, 'width="1e308mm" height="1mm"'), "1e+305"),
    "a million letters": (lambda: svg(f'<text y="9">{"word " * 200_000}</text>'), "100,000 characters"),
    "a clip of itself": (
        lambda: nested_clips(1).replace('id="c0"', 'id="c0" clip-path="url(#c0)"'), "nested without end",
    ),
    "clips of clips": (lambda: nested_clips(12), "nested without end"),
    "a clip that crosses itself": (lambda: crossing_clip(1000), "50,000 corners"),
    "200,000 groups in one another": (lambda: svg("<g>" * 200_000 + LINE + "</g>" * 200_000), "depth"),
    "101 groups in one another": (lambda: svg("<g>" * 101 + LINE + "</g>" * 101), "100"),
    "a million elements": (lambda: svg("<g/>" * 1_000_000), "300,000 elements"),
    "an element of 100,000 attributes": (lambda: many_attributes(100_000), "more than 1,000 attributes"),
    "120 km of line": (lambda: long_line(60_000), "km of lines, more than 100"),
    "120 km of edge": (lambda: long_line(60_000).replace('fill="none"', ""), "km of lines, more than 100"),
    "copies of copies of copies": (lambda: nested_copies(12, 20), "50,000 elements"),
    "entities of entities of entities": (lambda: nested_entities(12, 10), "entity 'a1'"),
    "a long entity used very often": (
        lambda: svg(f"<text>{'&a;' * 1_000_000}</text>", before=f'<!DOCTYPE svg [<!ENTITY a "{"x" * 900}">]>'),
        "grow without end",
    ),
    "an external entity": (
        lambda: svg("<text>&x;</text>", before='<!DOCTYPE svg [<!ENTITY x SYSTEM "file:secret.txt">]>'), "never read",
    ),
    "control characters as references": (lambda: svg(f"<title>&#7;</title>{LINE}"), "damaged"),
}  # fmt: skip


@pytest.mark.parametrize("what", REFUSED)
def test_what_can_not_be_drawn_is_refused_in_one_line(tmp_path: Path, command: Command, what: str) -> None:
    """Exit 3, the file's name, the reason; nothing is written."""
    build, words = REFUSED[what]
    (tmp_path / "bad.svg").write_text(build())
    ran = command(["pages", "bad.svg", "-o", "out.pdf"])
    assert ran.code == 3, (ran.code, ran.err[-300:])
    assert len(ran.errors) == 1
    assert ran.errors[0].startswith("Error: bad.svg: ")
    assert words in ran.errors[0]
    assert len(ran.errors[0]) < 400
    assert [p.name for p in tmp_path.iterdir()] == ["bad.svg"]


def test_points_are_counted_over_the_whole_drawing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Many lines that are short enough one by one (the limit is lowered, to be quick)."""
    monkeypatch.setattr("tiling.reading.svg_walk.MOST_POINTS", 1000)
    file = tmp_path / "bad.svg"
    file.write_text(svg(f'<path stroke="#000" d="M0 0{"l1 1-1-1" * 200}"/>' * 3))
    with pytest.raises(InputUnfit, match=r"bad.svg: line 1 <path>: is where the drawing passes 1,000 points"):
        read_svg(read_input(file))


DONE: dict[str, Callable[[], str]] = {
    "a wide line that crosses itself a million times": lambda: path(
        "M0 0" + "".join(f"L{i * 37 % 97} {i * 53 % 89}" for i in range(2000)), 'stroke-width="3"'
    ),
    "a vector drawing inside a picture": lambda: svg(
        f'<image href="data:image/svg+xml;base64,{base64.b64encode(svg(LINE).encode()).decode()}" width="9"/>{LINE}'
    ),
    "style sheets in style sheets": lambda: svg(
        f'<style>@import "data:text/css,path{{stroke:red}}";@import url(data:text/css;base64,cGF0aA==);</style>{LINE}'
    ),
    "a font from a file": lambda: svg(
        "<style>@font-face{font-family:x;src:url(file:///etc/passwd)}</style>"
        f"<text font-family='x' y='9'>A</text>{LINE}"
    ),
    "dashes of no length": lambda: path("M5 5H95", 'stroke-dasharray="0 0.00001"'),
    "a million dashes": lambda: path("M5 5H95", f'stroke-dasharray="{"0.1 " * 1_000_000}"'),
    "200,000 moves": lambda: path("M5 5L9 9", f'transform="{"rotate(1) " * 200_000}"'),
    "moves that flatten": lambda: svg(
        f'<g transform="matrix(0 0 0 0 5 5)">{LINE}</g><g transform="scale(1,0)">{LINE}</g>{LINE}'
    ),
    "copies of themselves": lambda: svg(
        f'<g id="a"><use xlink:href="#b"/></g><g id="b"><use xlink:href="#a"/></g>{LINE}'
    ),
    "paints that refer to themselves": lambda: svg(
        '<linearGradient id="g" href="#h"/><linearGradient id="h" href="#g"/>'
        f'<rect fill="url(#g)" width="9" height="9"/>{LINE}'
    ),
    "a rule that tries all ancestors": lambda: svg(
        f'<style>{"g " * 60}path{{stroke:red}}</style>{"<g>" * 80}{LINE * 200}{"</g>" * 80}'
    ),
    "5,000 rules": lambda: svg(
        "<style>" + "".join(f".a{i} .b{i}>.c{i}{{stroke:red}}" for i in range(5_000)) + f"</style>{LINE}"
    ),
    "10 MB of rules for classes that nothing has": lambda: svg(
        f'<style>{"".join(f".a{i}{{fill:none;stroke:#123456}}" for i in range(300_000))}</style>{LINE}'
    ),
    "10 MB of other rules": lambda: svg(
        f'<style>{"".join(f"g>.a{i}{{fill:red}}" for i in range(500_000))}</style>{LINE}'
    ),
    "a selector in a selector": lambda: svg(f'<style>{":not(" * 3000}a{")" * 3000}{{stroke:red}}</style>{LINE}'),
    "brackets in a style": lambda: svg(f'<path style="stroke:{"(" * 100_000}" d="M0 0L9 9"/>{LINE}'),
    "a picture bomb": lambda: svg(f'<image width="90" height="90" href="{picture_bomb(12_000)}"/>{LINE}'),
    "a script that never ends": lambda: svg(f"<script>while(1){{}}</script>{LINE}"),
    "a pattern too fine to draw": lambda: svg(
        f'<pattern id="p" width="1e-9" height="1e-9"/><rect fill="url(#p)" width="9" height="9"/>{LINE}'
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", DONE)
def test_what_can_be_drawn_is_drawn(tmp_path: Path, command: Command, what: str) -> None:
    """Exit 0 and proved pages."""
    (tmp_path / "odd.svg").write_text(DONE[what]())
    ran = command(["pages", "odd.svg", "-o", "out.pdf"])
    assert ran.code == 0, (ran.code, ran.err[-300:])
    assert ran.errors == []
    assert sorted(p.name for p in tmp_path.iterdir()) == ["odd.svg", "out.pdf"]


def test_nothing_outside_the_drawing_is_read(tmp_path: Path, command: Command) -> None:
    """Files, the network, style sheets and XInclude are asked for in every way; the letter's words appear nowhere."""
    inner = tmp_path / "drawings"
    inner.mkdir()
    letter = tmp_path / "secret.svg"
    letter.write_text(svg(f"<text y='9' id='t'>{SECRET}</text>"))
    (inner / "link.svg").symlink_to(letter)
    wanted = [letter.as_uri(), str(letter), "../secret.svg", "link.svg", "http://127.0.0.1:9/secret.svg"]
    body = "".join(f'<image href="{one}" width="9" height="9"/><use href="{one}#t"/>' for one in wanted)
    body += "".join(f'<style>@import "{one}";path{{fill:url({one}#t)}}</style>' for one in wanted)
    body += f'<xi:include xmlns:xi="http://www.w3.org/2001/XInclude" href="{letter.as_uri()}" parse="text"/>'
    (inner / "odd.svg").write_text(svg(body + LINE, before=f'<?xml-stylesheet href="{letter.as_uri()}"?>'))
    ran = command(["pages", "drawings/odd.svg", "-o", "out.pdf"])
    assert ran.code == 0, ran.err
    assert "Finding 6" in ran.err
    assert "Finding 8" in ran.err
    import pypdfium2

    document = pypdfium2.PdfDocument(tmp_path / "out.pdf")
    words = "".join(page.get_textpage().get_text_bounded() for page in document)
    document.close()
    assert SECRET not in words
    assert SECRET not in ran.err + ran.out
