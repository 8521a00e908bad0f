"""PDFs made to exhaust or confuse: done or refused in bounded time and memory, by the whole command."""

from __future__ import annotations

import io
import re
import zlib
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import ArrayObject, DecodedStreamObject, NameObject, NumberObject

from tests.content.pages import form, obj, pdf_of, stream
from tests.hostile.conftest import Command

LINE = b"1 w 10 10 m 290 190 l S "


def packed(content: bytes, **keys: object) -> bytes:
    """A page whose content is compressed."""
    whole = pdf_of(b"%MARK%", **keys)
    data = zlib.compress(content, 1)
    # The reader finds objects whose places are lost: it has to search for them anyway in damaged files.
    body = b"<< /Filter /FlateDecode /Length %d >>\nstream\n" % len(data) + data + b"\nendstream"
    return re.sub(rb"<<\s*/Length \d+\s*>>\s*stream\s*%MARK%\s*endstream", lambda _: body, whole)


def bomb(size: int) -> bytes:
    """A stream that unpacks to so many spaces, packed in pieces."""
    engine = zlib.compressobj(9)
    piece = b" " * 1_000_000
    data = b"".join([*(engine.compress(piece) for _ in range(size // 1_000_000)), engine.flush()])
    whole = pdf_of(b"%MARK%")
    body = b"<< /Filter /FlateDecode /Length %d >>\nstream\n" % len(data) + data + b"\nendstream"
    return re.sub(rb"<<\s*/Length \d+\s*>>\s*stream\s*%MARK%\s*endstream", lambda _: body, whole)


def circle(first: bytes, second: bytes, **keys: object) -> bytes:
    """Two forms with these contents, each of which may draw itself and the other, as F and G."""
    resources = obj({"/XObject": {}})
    drawn = {"/F": form(LINE + first, **keys), "/G": form(LINE + second, **keys)}
    for name, one in drawn.items():
        resources["/XObject"][NameObject(name)] = one  # type: ignore[index]
        one[NameObject("/Resources")] = resources
    return pdf_of(LINE + b"/F Do", {"/XObject": drawn})


def doubling_forms(levels: int, content: bytes = LINE) -> bytes:
    """Ten copies of ten copies of … a form."""
    inner = form(content)
    for _ in range(levels):
        inner = form(b"/F Do " * 10, Resources={"/XObject": {"/F": inner}})
    return pdf_of(b"/F Do", {"/XObject": {"/F": inner}})


def looping_tree() -> bytes:
    """A page tree whose root is its own child."""
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(pdf_of(LINE))))
    root = writer.root_object["/Pages"].get_object()
    assert root.indirect_reference is not None
    root[NameObject("/Kids")] = ArrayObject([root.indirect_reference])
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def many_pages(count: int) -> bytes:
    """One page, counted often."""
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(pdf_of(LINE))))
    root = writer.root_object["/Pages"].get_object()
    root[NameObject("/Kids")] = ArrayObject([root["/Kids"][0].indirect_reference] * count)
    root[NameObject("/Count")] = NumberObject(count)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def deep_arrays(depth: int) -> bytes:
    """Arrays in arrays in the page's resources."""
    return pdf_of(LINE + b"%D%").replace(b"/Type /Page\n", b"/Type /Page\n/Own " + b"[" * depth + b"]" * depth + b"\n")


def picture(side: int) -> bytes:
    """An image of so many pixels squared, all of one colour."""
    engine = zlib.compressobj(1)
    row = bytes(side)
    image = DecodedStreamObject()
    image.set_data(b"")
    drawn = stream(
        b"", Type="/XObject", Subtype="/Image", Width=side, Height=side, ColorSpace="/DeviceGray", BitsPerComponent=8,
        Filter="/FlateDecode",
    )  # fmt: skip
    drawn._data = b"".join([*(engine.compress(row) for _ in range(side)), engine.flush()])
    return pdf_of(LINE + b"q 99 0 0 99 20 20 cm /I Do Q", {"/XObject": {"/I": drawn}})


def fine_pattern(step: float, inside: bool = False) -> bytes:
    """A page filled with cells of so many units; or the same in a form drawn at a hundredth of its size."""
    cell = stream(
        b"0 g 0 0 1 1 re f", Type="/Pattern", PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 1, 1], XStep=step,
        YStep=step, Resources={},
    )  # fmt: skip
    content, resources = LINE + b"/Pattern cs /P scn %d 0 30000 20000 re f", {"/Pattern": {"/P": cell}}
    if not inside:
        return pdf_of(content % 0, resources)
    drawn = form(content % 0, [0, 0, 30000, 20000], Matrix=[0.01, 0, 0, 0.01, 0, 0], Resources=resources)
    return pdf_of(LINE + b"/F Do", {"/XObject": {"/F": drawn}})


def filtered(data: bytes, filters: str, parameters: str = "") -> bytes:
    """A page whose content is behind these filters."""
    body = f"<< /Filter {filters} /DecodeParms {parameters or 'null'} /Length {len(data)} >>\nstream\n".encode()
    whole = pdf_of(b"%MARK%")
    return re.sub(
        rb"<<\s*/Length \d+\s*>>\s*stream\s*%MARK%\s*endstream", lambda _: body + data + b"\nendstream", whole
    )


REFUSED: dict[str, tuple[Callable[[], bytes], str]] = {
    "a flate bomb of a gigabyte": (lambda: bomb(1_000_000_000), "million bytes"),
    "ten million points": (lambda: packed(b"0 0 m " + b"9 9 l 0 0 l " * 5_000_000 + b"S"), "million bytes|points"),
    "a million objects": (lambda: packed(b"0 0 9 9 re f " * 1_000_000), "300,000 objects"),
    "forms of forms": (lambda: doubling_forms(6), "100,000 drawn forms"),
    "forms of forms that draw nothing": (lambda: doubling_forms(6, b""), "100,000 drawn forms"),
    "two forms that draw each other": (lambda: circle(b"/F Do /G Do", b"/F Do /G Do"), "in a circle"),
    "a form that draws itself twice": (lambda: circle(b"/F Do /F Do", b""), "in a circle"),
    "groups that draw each other": (
        lambda: circle(b"/G Do /G Do", b"/F Do", Group={"/S": "/Transparency", "/K": True}), "in a circle",
    ),
    "content in a filter for pictures": (lambda: filtered(b"abc", "/JBIG2Decode"), "nothing drawn"),
    "a pattern too fine to be seen": (lambda: fine_pattern(0.001), "a pattern .* too finely to be seen"),
    "the same pattern in a form": (lambda: fine_pattern(0.1, inside=True), "a pattern .* too finely to be seen"),
    "a flate bomb in a flate bomb": (
        lambda: filtered(zlib.compress(zlib.compress(b" " * 300_000_000, 9), 9), "[/FlateDecode /FlateDecode]"),
        "million bytes",
    ),
    "runs of one byte": (lambda: filtered(b"\x81 " * 1_000_000 + b"\x80", "/RunLengthDecode"), "million bytes"),
    "a row of two billion pixels": (
        lambda: filtered(zlib.compress(bytes(1000)), "/FlateDecode", "<< /Predictor 15 /Columns 2000000000 >>"),
        "million bytes",
    ),
    "a page of a million kilometres": (
        lambda: pdf_of(LINE, page={"/MediaBox": [0, 0, 1e12, 1e12]}), "ten kilometres",
    ),
    "a page tree that leads to itself": (looping_tree, "no pages|damaged"),
    "more pages than any pattern": (lambda: many_pages(6000), "5000 pages"),
    "nothing but a header": (lambda: b"%PDF-1.7\n" + b"x" * 100, "damaged"),
}  # fmt: skip


@pytest.mark.parametrize("what", REFUSED)
def test_what_can_not_be_drawn_is_refused_in_one_line(tmp_path: Path, command: Command, what: str) -> None:
    """Exit 3, the file's name, the reason; nothing is written."""
    build, words = REFUSED[what]
    (tmp_path / "bad.pdf").write_bytes(build())
    ran = command(["pages", "bad.pdf", "-o", "out.pdf"])
    assert ran.code == 3, (ran.code, ran.err[-300:])
    assert len(ran.errors) == 1
    assert "bad.pdf" in ran.errors[0]
    assert re.search(words, ran.errors[0]), ran.errors[0]
    assert [p.name for p in tmp_path.iterdir()] == ["bad.pdf"]


def _itself() -> bytes:
    own = form(LINE + b"/F Do")
    own[NameObject("/Resources")] = _own_resources(own)
    return pdf_of(LINE + b"/F Do", {"/XObject": {"/F": own}})


def _own_resources(own: DecodedStreamObject) -> object:
    """Resources in which a form finds itself."""
    from tests.content.pages import obj

    made = obj({"/XObject": {}})
    made["/XObject"][NameObject("/F")] = own  # type: ignore[index]
    return made


def _foreign(where: str) -> bytes:
    """A drawing with a stream in a filter for pictures (which needs a program of its own) where there can be none."""
    hard = {"Filter": "/JBIG2Decode"}
    box = {"Type": "/XObject", "Subtype": "/Form", "BBox": [0, 0, 99, 99]}
    font: dict[str, object] = {
        "/Type": "/Font", "/Subtype": "/Type3", "/FontBBox": [0, 0, 9, 9], "/FontMatrix": [1, 0, 0, 1, 0, 0],
        "/FirstChar": 97, "/LastChar": 97, "/Widths": [9], "/Encoding": {"/Differences": [97, "/a"]},
    }  # fmt: skip
    use: bytes
    resources: dict[str, object]
    page: dict[str, object] = {}
    use, resources = {
        "a form": (b"/F Do", {"/XObject": {"/F": stream(b"abc", **box, **hard)}}),
        "a cell": (b"/Pattern cs /P scn 0 0 99 99 re f", {"/Pattern": {"/P": stream(
            b"abc", PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 9, 9], XStep=9, YStep=9, **hard)}}),
        "a mask": (b"/S gs 0 0 9 9 re f", {"/ExtGState": {"/S": {"/SMask": {
            "/S": "/Luminosity", "/G": stream(b"abc", **box, **hard)}}}}),
        "a glyph": (b"BT /A 9 Tf (a) Tj ET", {"/Font": {"/A": {**font, "/CharProcs": {"/a": stream(b"abc", **hard)}}}}),
        "a font's letters": (b"BT /A 9 Tf (a) Tj ET", {"/Font": {"/A": {
            **font, "/CharProcs": {"/a": stream(b"9 0 d0 0 0 9 9 re f")}, "/ToUnicode": stream(b"abc", **hard)}}}),
        "a colour's function": (b"/C cs 0.5 scn 0 0 99 99 re f", {"/ColorSpace": {"/C": ["/Separation", "/Ink",
            "/DeviceGray", stream(b"abc", FunctionType=4, Domain=[0, 1], Range=[0, 1], **hard)]}}),
        "a field's words": (b"", {}),
    }[where]  # fmt: skip
    if where == "a field's words":
        page = {"/Annots": [{"/Type": "/Annot", "/Subtype": "/Widget", "/FT": "/Tx", "/Rect": [9, 9, 99, 99], "/F": 4,
                             "/T": b"a", "/V": stream(b"abc", **hard)}]}  # fmt: skip
    return pdf_of(LINE + use, resources, page)


FOREIGN = ("a form", "a cell", "a mask", "a glyph", "a font's letters", "a colour's function", "a field's words")

DONE: dict[str, Callable[[], bytes]] = {
    **{f"pictures' data for {where}": partial(_foreign, where) for where in FOREIGN},
    "a pattern of a point's step": lambda: fine_pattern(1.0),
    "a million dashes": lambda: pdf_of(b"[" + b"0.1 " * 1_000_000 + b"] 0 d " + LINE),
    "coordinates of 1e300 and NaN": lambda: pdf_of(LINE + b"1e300 0 m 9 9 l S NaN 0 m 9 9 l S"),
    "moves that grow beyond all bounds": lambda: pdf_of(
        LINE + b"q " + b"1000000 0 0 1000000 0 0 cm " * 60 + LINE + b"Q q " + b".000001 0 0 .000001 0 0 cm " * 60 + LINE
    ),
    "moves that flatten": lambda: pdf_of(LINE + b"q 0 0 0 0 0 0 cm " + LINE + b"Q q 1 0 0 0 0 0 cm " + LINE),
    "100,000 clips": lambda: pdf_of(b"q " + b"0 0 200 200 re W n " * 100_000 + LINE),
    "dashes of no length": lambda: pdf_of(b"[0 0.00001] 0 d " + LINE),
    "a thousand open frames": lambda: pdf_of(b"q " * 1000 + LINE),
    "a form that draws itself": _itself,
    "two forms that draw each other once": lambda: circle(b"/G Do", b"/F Do"),
    "forms that name but don't draw each other": lambda: circle(b"/G Do /G Do", b""),
    "a list of no filters": lambda: filtered(LINE, "[]"),
    "a sheet of nothing": lambda: pdf_of(LINE, page={"/MediaBox": [0, 0, 0, 0]}),
    "numbers of 400 digits": lambda: pdf_of(LINE + b"1" + b"0" * 400 + b" 0 m 9 9 l S"),
    "arrays in arrays": lambda: deep_arrays(5000),
    "a picture of 400 million pixels": lambda: picture(20_000),
    "an inline image without white space before its end": lambda: pdf_of(
        LINE + b"q 40 0 0 40 50 50 cm BI /W 8 /H 2 /BPC 1 /IM true ID \xaa\x55EI Q 0 0 9 9 re f"
    ),
    "hexadecimal content with other characters": lambda: pdf_of(b"%MARK%").replace(
        b"%MARK%", LINE.hex().encode().replace(b"20", b"2x0") + b">"
    ).replace(b"/Length", b"/Filter /ASCIIHexDecode /Length"),
    "a font set by a graphics state": lambda: pdf_of(
        LINE + b"BT /G gs 40 90 Td (seam) Tj ET",
        {"/ExtGState": {"/G": {"/Font": [{"/Type": "/Font", "/Subtype": "/Type1", "/BaseFont": "/Courier"}, 30]}}},
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", DONE)
def test_what_can_be_drawn_is_drawn(tmp_path: Path, command: Command, what: str) -> None:
    """Exit 0 and proved pages."""
    (tmp_path / "odd.pdf").write_bytes(DONE[what]())
    ran = command(["pages", "odd.pdf", "-o", "out.pdf"])
    assert ran.code == 0, (ran.code, ran.err[-300:])
    assert sorted(p.name for p in tmp_path.iterdir()) == ["odd.pdf", "out.pdf"]


def test_content_that_programs_read_differently_is_refused(tmp_path: Path, command: Command) -> None:
    """No guess is printed: the proof sees that PDFium shows something else after a picture that never ends."""
    content = b"q 40 0 0 40 50 50 cm BI /W 8 /H 2 /BPC 1 /IM true ID \xaa\x55 Q 200 20 50 50 re f"
    (tmp_path / "odd.pdf").write_bytes(pdf_of(LINE + content))
    ran = command(["pages", "odd.pdf", "-o", "out.pdf"])
    assert ran.code == 3, ran.err
    assert "programs differ" in ran.errors[0]
    assert not (tmp_path / "out.pdf").exists()
