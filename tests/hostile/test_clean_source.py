"""What is published carries the drawing and our plan, and nothing else of the source."""

from __future__ import annotations

import io
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pypdfium2
import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject, NameObject, PdfObject, StreamObject

from tests.content.pages import form, obj, pdf_of, stream
from tiling.commands.main import run
from tiling.planning.record import RECORD_NAME

SECRET = b"SHED-KEY"
"""Stands in everything of the source that may not travel."""

SCRIPT = {"S": "/JavaScript", "JS": SECRET}
ACTION = {f"/{key}": value for key, value in SCRIPT.items()}
BANNED = {
    "/A", "/AA", "/AF", "/AcroForm", "/Alternates", "/Annots", "/Collection", "/Dests", "/JS", "/JavaScript",
    "/LastModified", "/Launch", "/MarkInfo", "/Metadata", "/OPI", "/OpenAction", "/PieceInfo", "/Ref",
    "/RichMedia", "/StructParent", "/StructParents", "/StructTreeRoot", "/Threads", "/Thumb", "/URI",
}  # fmt: skip


def laden_pdf() -> bytes:
    """A drawing in a file that holds one of everything that must stay behind."""
    extras = {
        "/Metadata": stream(SECRET, Type="/Metadata", Subtype="/XML"),
        "/PieceInfo": {"/Own": {"/Private": SECRET}},
        "/LastModified": SECRET,
        "/AF": [{"/Type": "/Filespec", "/F": SECRET}],
        "/StructParents": 1,
        "/StructParent": 2,
    }
    bare = {key[1:]: value for key, value in extras.items()}
    picture = stream(
        b"\x00", Type="/XObject", Subtype="/Image", Width=1, Height=1, ColorSpace="/DeviceGray", BitsPerComponent=8,
        OPI={"/F": SECRET}, Alternates=[{"/Image": stream(SECRET)}], **bare,
    )  # fmt: skip
    resources = {
        "/XObject": {
            "/Inner": form(b"0 0 m 90 60 l S", Ref={"/F": SECRET}, OPI={"/F": SECRET}, **bare),
            "/Picture": picture,
            # A see-through group is carried whole.
            "/Group": form(
                b"0.2 g 5 5 80 50 re f 0.8 g 20 20 80 50 re f",
                Group={"/S": "/Transparency"}, Ref={"/F": SECRET}, **bare,
            ),
        },
        "/ExtGState": {"/Faint": {"/ca": 0.5, **extras}},
        "/Font": {"/F": {"/Type": "/Font", "/Subtype": "/Type1", "/BaseFont": "/Helvetica", **extras}},
        "/Properties": {"/Tagged": {"/Private": SECRET}},
    }
    content = (
        b"/Tagged /Tagged BDC 10 10 m 290 190 l S EMC /Span <</ActualText (" + SECRET + b")>> BDC 5 5 9 9 re f EMC "
        b"q 1 0 0 1 20 100 cm /Inner Do Q q 30 0 0 30 200 20 cm /Picture Do Q "
        b"q /Faint gs 1 0 0 1 150 90 cm /Group Do Q BT /F 12 Tf 40 20 Td (seam) Tj ET % " + SECRET
    )
    link = {
        "/Type": "/Annot", "/Subtype": "/Link", "/Rect": [1, 1, 9, 9], "/A": {"/S": "/URI", "/URI": SECRET},
        "/AP": {"/N": form(b"0 0 5 5 re f")},
    }  # fmt: skip
    field = {
        "/Type": "/Annot", "/Subtype": "/Widget", "/FT": "/Tx", "/T": SECRET, "/V": SECRET, "/Rect": [9, 9, 30, 20],
        "/AA": {"/K": ACTION},
    }  # fmt: skip
    plain = pdf_of(
        content, resources, {"/Annots": [link, field], "/AA": {"/O": ACTION}, "/Thumb": stream(SECRET), **extras},
        {"/OpenAction": ACTION, "/AA": {"/WC": ACTION}, "/URI": {"/Base": SECRET}, "/MarkInfo": {"/Marked": True},
         "/Names": {"/JavaScript": {"/Names": [SECRET, ACTION]}},
         "/StructTreeRoot": {"/Type": "/StructTreeRoot", "/Own": SECRET},
         "/Collection": {"/D": SECRET}, **extras},
    )  # fmt: skip
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(plain)))
    writer.add_metadata({"/Author": SECRET.decode(), "/Keywords": SECRET.decode()})
    writer.add_attachment("secret.txt", SECRET)
    writer.add_outline_item(title=SECRET.decode(), page_number=0)
    writer.root_object[NameObject("/AcroForm")] = obj({"/Fields": [], "/XFA": SECRET})
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


LADEN_SVG = f"""<?xml version="1.0"?><?xml-stylesheet href="{SECRET.decode()}"?>
<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="250mm" height="100mm"
 viewBox="0 0 250 100" onload="alert('{SECRET.decode()}')"><!-- {SECRET.decode()} -->
<metadata>{SECRET.decode()}</metadata><desc>{SECRET.decode()}</desc><script>{SECRET.decode()}</script>
<a xlink:href="http://x.invalid/{SECRET.decode()}"><path d="M5 5L240 90" stroke="#000"/></a>
<foreignObject width="9" height="9"><p>{SECRET.decode()}</p></foreignObject></svg>"""


def objects_of(reader: PdfReader) -> Iterator[PdfObject]:
    """Every object that can be reached from the trailer, each once."""
    known: set[tuple[int, int]] = set()
    left: list[PdfObject] = [reader.trailer]
    while left:
        one = left.pop()
        if isinstance(one, IndirectObject):
            if (one.idnum, one.generation) in known:
                continue
            known.add((one.idnum, one.generation))
            found = one.get_object()
            assert found is not None
            one = found
        yield one
        if isinstance(one, DictionaryObject):
            left += [one.raw_get(key) for key in one]
        elif isinstance(one, ArrayObject):
            left += list(one)


def carried(pdf: bytes) -> list[str]:
    """What in the file is not ours: banned keys, and where the secret stands."""
    reader = PdfReader(io.BytesIO(pdf))
    wrong = ["the secret in the file's own bytes"] if SECRET in pdf else []
    for one in objects_of(reader):
        if isinstance(one, DictionaryObject):
            wrong += [f"{key} in {one!r:.120}" for key in BANNED & set(one)]
            if one.get("/Type") == "/Filespec" and one.get("/UF", one.get("/F")) != RECORD_NAME:
                wrong.append(f"an attachment: {one!r:.120}")
        if isinstance(one, StreamObject) and one.get("/Subtype") != "/Image" and SECRET in one.get_data():
            wrong.append(f"the secret in a stream: {one!r:.120}")
        if SECRET in repr(one).encode():
            wrong.append(f"the secret in {one!r:.120}")
    return wrong


@pytest.fixture(params=["pdf", "svg"])
def published(request: pytest.FixtureRequest, tmp_path: Path) -> bytes:
    """The pages made of either source."""
    source = tmp_path / f"laden.{request.param}"
    source.write_bytes(laden_pdf() if request.param == "pdf" else LADEN_SVG.encode())
    assert run(["pages", str(source), "-o", str(tmp_path / "pages.pdf"), "-q"]) == 0
    return (tmp_path / "pages.pdf").read_bytes()


def test_no_script_action_link_field_attachment_or_metadata_travels(published: bytes) -> None:
    """Every object of the published file is looked at; the only attachment is our plan."""
    found = [line for line in carried(published) if not line.startswith("/AF in")]
    assert found == []
    reader = PdfReader(io.BytesIO(published))
    assert list(reader.attachments) == [RECORD_NAME]
    assert set(reader.metadata or {}) <= {"/Title", "/Creator", "/Producer", "/CreationDate", "/ModDate"}
    assert reader.xmp_metadata is None


def test_the_search_would_find_it() -> None:
    """The source itself is full of what is searched for."""
    found = "\n".join(carried(laden_pdf()))
    for key in ("/AA", "/AcroForm", "/Annots", "/JS", "/Metadata", "/PieceInfo", "/URI", "an attachment"):
        assert key in found, key
    assert "the secret in a stream" in found


def test_an_independent_reader_opens_every_page(published: bytes) -> None:
    """PDFium finds pages, no form, no attachment but ours, and an outline of our pages."""
    document = pypdfium2.PdfDocument(published)
    try:
        assert document.get_formtype() == 0
        assert document.count_attachments() == 1
        names = [mark.get_title() for mark in document.get_toc()]
        assert names[0] == "Print and measure this first"
        assert SECRET.decode() not in names
        for page in document:
            assert page.render(scale=0.2).to_numpy().min() < 255
    finally:
        document.close()


@pytest.mark.skipif(shutil.which("qpdf") is None, reason="qpdf (Debian package qpdf) is not installed")
def test_the_syntax_is_without_fault(published: bytes, tmp_path: Path) -> None:
    """`qpdf --check` (Debian package qpdf, 11 and later) reports nothing."""
    done = subprocess.run(["qpdf", "--check", str(tmp_path / "pages.pdf")], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "WARNING" not in done.stdout + done.stderr
