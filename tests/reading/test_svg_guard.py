"""Files that are damaged, hostile or no drawings at all: one clear line each, in bounded time and room."""

from __future__ import annotations

import gzip

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tiling.failures import InputUnfit
from tiling.files.inputs import read_input
from tiling.reading.svg import read_svg

GOOD = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9">'
    b'<path stroke="#000" d="M1 1L2 2"/></svg>'
)
BARE = b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm">'


def bomb(depth=10):
    """The entity bomb as every XML handbook shows it."""
    lines = ['<!DOCTYPE svg [<!ENTITY a0 "ha">']
    lines += [f'<!ENTITY a{i} "{f"&a{i - 1};" * 10}">' for i in range(1, depth)]
    return ("".join(lines) + f']><svg xmlns="http://www.w3.org/2000/svg"><text>&a{depth - 1};</text></svg>').encode()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (b"   \n", "empty"),
        (b"hello", "not XML"),
        (b"\x00\x01\x02", "not XML"),
        (b"<svg", "damaged|not XML"),
        (GOOD[:-12], "damaged"),
        (b"<html><body/></html>", "not <svg>"),
        (b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"/>', "nothing drawn"),
        (BARE + b'<g/><defs><path d="M0 0L9 9"/></defs></svg>',
         "nothing drawn"),
        (BARE + b'<g id="a" display="none"><path stroke="red" d="M0 0L9 9"/></g></svg>',
         "hidden layers; show them by choosing the layer .a."),
        (bomb(), "entity 'a1'"),
        (bomb().decode().encode("utf-16"), "entity 'a1'"),
        (b'<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]><svg><text>&x;</text></svg>', "from outside"),
        (b'<!DOCTYPE svg [<!ENTITY % p SYSTEM "http://x.invalid/a"> %p;]><svg/>', "from outside"),
        (b'<!DOCTYPE svg [<!ENTITY % p "q">]><svg/>', "from outside"),
        (b'<!DOCTYPE svg [<!ENTITY x "' + b"y" * 900 + b'">]><svg><text>' + b"&x;" * 100_000 + b"</text></svg>",
         "grow without end"),
        (b'<!DOCTYPE svg [<!ENTITY x "' + b"y" * 9000 + b'">]><svg/>', "other content"),
        (b'<?xml version="1.0" encoding="klingon"?><svg/>', "encoding"),
        (gzip.compress(GOOD)[:-9], "too early"),
        (b"\x1f\x8bjunk", "compressed but damaged"),
        (gzip.compress(b" " * 120_000_000), "larger than 100 MB"),
        (b"<svg>" + b"<g/>" * 1_300_000 + b"</svg>", "more than 300,000 elements"),
    ],
)  # fmt: skip
def test_each_gets_one_clear_line(tmp_path, content, words):
    """With the file's name, on one line, and it is the named refusal."""
    file = tmp_path / "drawing.svg"
    file.write_bytes(content)
    with pytest.raises(InputUnfit, match=words) as refused:
        read_svg(read_input(file))
    assert str(file) in str(refused.value)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    "content",
    [
        gzip.compress(GOOD),
        GOOD.decode().encode("utf-16"),
        b"\xef\xbb\xbf" + GOOD,
        b'<?xml version="1.0" encoding="iso-8859-1"?><!-- \xe9 -->' + GOOD,
        GOOD.replace(b' xmlns="http://www.w3.org/2000/svg"', b""),
        b'<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">' + GOOD,
        b'<!DOCTYPE svg [<!ENTITY ns "http://www.w3.org/2000/svg">]>'
        + GOOD.replace(b"http://www.w3.org/2000/svg", b"&ns;"),
    ],
    ids=["gzip", "utf-16", "bom", "latin-1", "no name space", "public DTD", "harmless entity"],
)
def test_ordinary_kinds_of_file_are_read(tmp_path, content):
    """Compressed, in other encodings, with the old document type, with entities for name spaces."""
    file = tmp_path / "drawing.svgz"
    file.write_bytes(content)
    pattern = read_svg(read_input(file))
    assert (pattern.size.width, len(pattern.marks)) == (9.0, 1)


def test_many_neighbours_and_a_sibling_rule_end(tmp_path):
    """A rule that looks at all earlier siblings of thousands of lines must not exhaust the stack."""
    file = tmp_path / "drawing.svg"
    file.write_bytes(GOOD.replace(b"<path", b"<style>rect~path{stroke-width:3}</style>" + b"<g/>" * 3000 + b"<path"))
    assert len(read_svg(read_input(file)).marks) == 1


@settings(deadline=None, max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_a_damaged_file_is_read_or_refused(tmp_path, data):
    """Any bytes in any place: no other exception ever leaves the reader."""
    base = bytearray(
        b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" viewBox="0 0 9 9"><style>.a{stroke:red}</style><g id="k"'
        b' transform="rotate(3)" clip-path="url(#c)"><path class="a" marker-end="url(#m)"'
        b' d="M1 1c1 2 3 4 5 6a1 1 0 0 1 2 2z"/>'
        b'<use href="#k"/><text x="1 2" font-size="2em">hi</text></g>'
        b'<clipPath id="c"><rect width="3" height="4"/></clipPath>'
        b'<marker id="m" viewBox="0 0 1 1"><circle r="1"/></marker></svg>'
    )
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(base) - 1))
        base[at : at + data.draw(st.integers(0, 6))] = data.draw(
            st.one_of(
                st.binary(max_size=4), st.sampled_from([b"1e400", b"nan", b'"', b"-", b"e9", b"%", b"url(#k)", b"0"])
            )
        )
    file = tmp_path / "drawing.svg"
    file.write_bytes(bytes(base))
    try:
        read_svg(read_input(file))
    except InputUnfit as refused:
        assert "\n" not in str(refused)
