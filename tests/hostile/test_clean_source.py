"""What is published carries the drawing and our plan, and nothing else of the source."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pypdfium2
import pytest
from lxml import etree
from PIL import Image
from pypdf import PdfReader, PdfWriter
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject, NameObject, PdfObject, StreamObject

from tests.content.pages import form, obj, pdf_of, stream
from tests.drawing.test_tiles_give_back import layered_pdf
from tests.hostile import test_hostile_pdf as hostile_pdf
from tests.hostile.test_strange_pages import BLOCK, CONTENTS, PAGES, resources
from tests.reading.test_pdf import in_object_streams, protected
from tiling.commands.main import run
from tiling.record.printed_file import RECORD_NAME

SECRET = b"SHED-KEY"
"""Stands in everything of the source that may not travel."""

SCRIPT = {"S": "/JavaScript", "JS": SECRET}
ACTION = {f"/{key}": value for key, value in SCRIPT.items()}
BANNED = {
    "/A", "/AA", "/AF", "/AcroForm", "/Alternates", "/Annots", "/Collection", "/Dests", "/JS", "/JavaScript",
    "/LastModified", "/Launch", "/MarkInfo", "/Metadata", "/OPI", "/OpenAction", "/PieceInfo", "/Ref",
    "/RichMedia", "/StructParent", "/StructParents", "/StructTreeRoot", "/Threads", "/Thumb", "/URI",
}  # fmt: skip


def laden_pdf(more: bytes = b"", mask: dict[str, object] | None = None) -> bytes:
    """A drawing in a file that holds one of everything that must stay behind, and draws `more`, `mask` at hand."""
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
                Group={"/S": "/Transparency"},
                Ref={"/F": SECRET},
                **bare,
            ),
        },
        "/ExtGState": {"/Faint": {"/ca": 0.5, **extras}, "/Mask": mask or {}},
        "/Font": {"/F": {"/Type": "/Font", "/Subtype": "/Type1", "/BaseFont": "/Helvetica", **extras}},
        "/Properties": {"/Tagged": {"/Private": SECRET}},
    }
    content = (
        b"/Tagged /Tagged BDC 10 10 m 290 190 l S EMC /Span <</ActualText (" + SECRET + b")>> BDC 5 5 9 9 re f EMC "
        b"q 1 0 0 1 20 100 cm /Inner Do Q q 30 0 0 30 200 20 cm /Picture Do Q "
        b"q /Faint gs 1 0 0 1 150 90 cm /Group Do Q BT /F 12 Tf 40 20 Td (seam) Tj ET " + more + b"% " + SECRET
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


PIECE = f"""<g class="piece" id="a" data-title="Mat" onclick="{SECRET.decode()}"><desc>{SECRET.decode()}</desc>
<path class="cutting-line {SECRET.decode()}" onclick="{SECRET.decode()}" style="--own:'{SECRET.decode()}'"
 d="M10 10H190V90H10z" fill="none" stroke="#000"/><path class="grading-line" d="M90 5V95" stroke="#000"/>
<path class="grainline" d="M20 20V80" stroke="#000"/></g></svg>"""

COMMANDS = {
    "pages of a PDF": "pages laden.pdf -o",
    "pages of a PDF shown whole": "pages whole.pdf -o",
    "reprint of a PDF": "reprint more.pdf --printed pages-of-a-pdf.pdf -o",
    "pages of an SVG": "pages laden.svg -o",
    "reprint of an SVG": "reprint altered.svg --printed pages-of-an-svg.pdf -o",
    "all pages of a changed SVG": "reprint altered.svg --printed pages-of-an-svg.pdf --list -o",
    "lay plan": "cloth laden.svg --width 140cm --seconds 1 -o",
    "guide": "guide laden.svg --width 140cm --seconds 1 -o",
    "test page": "testpage -o",
}
"""Every command that writes a PDF, each after those it needs."""
WITH_PLAN = [name for name in COMMANDS if "pages" in name or "reprint" in name]


def file_of(name: str) -> str:
    """Where a command's PDF lies."""
    return f"{name.lower().replace(' ', '-')}.pdf"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with what every command publishes from the laden sources."""
    folder = tmp_path_factory.mktemp("laden")
    (folder / "laden.pdf").write_bytes(laden_pdf())
    (folder / "more.pdf").write_bytes(laden_pdf(b" 5 w 20 20 m 90 20 l S "))
    mask = {"/SMask": {"/S": "/Luminosity", "/G": form(b"1 g 0 0 300 200 re f", Group={"/S": "/Transparency"})}}
    (folder / "whole.pdf").write_bytes(laden_pdf(b" q /Mask gs 9 9 90 90 re f Q ", mask))
    (folder / "laden.svg").write_text(LADEN_SVG.replace("</svg>", PIECE))
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        patch.setenv("PAGESEAM_HOME", str(folder))
        alter = "alter laden.svg --around 20mm -q -o altered.svg --picture altered.png"
        assert run(alter.split()) == 0
        assert run(["look", "laden.svg", "-q", "--picture", "look.png"]) == 0
        for name, words in COMMANDS.items():
            assert run([*words.split(), file_of(name), "-q"]) == 0, name
    return folder


@pytest.fixture(params=COMMANDS)
def published(request: pytest.FixtureRequest, made: Path) -> tuple[str, bytes]:
    """What one command published, by its name."""
    return request.param, (made / file_of(request.param)).read_bytes()


def test_no_script_action_link_field_attachment_or_metadata_travels(published: tuple[str, bytes]) -> None:
    """Every object of the published file is looked at; the only attachment is our plan."""
    name, content = published
    found = [line for line in carried(content) if not line.startswith("/AF in")]
    assert found == []
    reader = PdfReader(io.BytesIO(content))
    assert list(reader.attachments) == ([RECORD_NAME] if name in WITH_PLAN else [])
    told = {str(key): str(value) for key, value in (reader.metadata or {}).items()}
    told = {key: value for key, value in told.items() if value not in {"", "anonymous", "unspecified", "(unspecified)"}}
    assert set(told) <= {"/Title", "/Creator", "/Producer", "/CreationDate", "/ModDate", "/Trapped"}
    assert reader.xmp_metadata is None


def test_an_altered_drawing_carries_lines_alone(made: Path) -> None:
    """Paths, words and pictures with our own roles: no script, event, link, style sheet, comment or foreign part."""
    text = (made / "altered.svg").read_text(encoding="utf-8")
    assert SECRET.decode() in (made / "laden.svg").read_text()
    assert SECRET.decode() not in text
    assert "<!--" not in text
    root = etree.fromstring(text.encode())
    assert {etree.QName(one).localname for one in root.iter()} <= {"svg", "title", "g", "path", "text"}
    names = {str(name) for one in root.iter() for name in one.attrib}
    assert not [name for name in names if name.startswith("on") or "href" in name or name == "style"]


def test_a_picture_carries_pixels_alone(made: Path) -> None:
    """No text chunk (ISO/IEC 15948, 11.3.4) and no profile."""
    for name in ("altered.png", "look.png"):
        with Image.open(made / name) as picture:
            picture.load()
            assert set(picture.info) <= {"dpi"}
        assert SECRET not in (made / name).read_bytes()


def test_the_search_would_find_it() -> None:
    """The source itself is full of what is searched for."""
    found = "\n".join(carried(laden_pdf()))
    for key in ("/AA", "/AcroForm", "/Annots", "/JS", "/Metadata", "/PieceInfo", "/URI", "an attachment"):
        assert key in found, key
    assert "the secret in a stream" in found


def test_an_independent_reader_opens_every_page(published: tuple[str, bytes]) -> None:
    """PDFium finds pages, no form, no attachment but ours, and an outline of our pages."""
    command, content = published
    document = pypdfium2.PdfDocument(content)
    try:
        assert document.get_formtype() == 0
        assert document.count_attachments() == (1 if command in WITH_PLAN else 0)
        names = [mark.get_title() for mark in document.get_toc()]
        if command in WITH_PLAN:
            assert names[0] in {"Print and measure this first", "Page map"}
        assert SECRET.decode() not in names
        for page in document:
            assert page.render(scale=0.2).to_numpy().min() < 255
    finally:
        document.close()


needs_qpdf = pytest.mark.skipif(
    shutil.which("qpdf") is None, reason="qpdf (Debian package qpdf, 11 or later) is not installed"
)


def complaints(pdf: Path) -> str:
    """What `qpdf --check` reports; empty for a file without fault."""
    done = subprocess.run(["qpdf", "--check", str(pdf)], capture_output=True, text=True, check=False)
    said = done.stdout + done.stderr
    return said if done.returncode or "WARNING" in said else ""


@needs_qpdf
def test_the_syntax_is_without_fault(published: tuple[str, bytes], made: Path) -> None:
    """Of what every command writes."""
    assert complaints(made / file_of(published[0])) == ""


@needs_qpdf
def test_the_check_of_the_syntax_sees_a_fault(made: Path, tmp_path: Path) -> None:
    """A stream whose length is wrong."""
    content = (made / file_of("guide")).read_bytes()
    (tmp_path / "bad.pdf").write_bytes(re.sub(rb"/Length \d+", b"/Length 7", content, count=1))
    assert complaints(tmp_path / "bad.pdf") != ""


def sources() -> dict[str, bytes]:
    """Drawings of many kinds: odd boxes, every kind of content, damage, layers, protection, compressed structure."""
    kinds = {name: pdf_of(BLOCK, page=page) for name, (page, _, _) in PAGES.items()}
    kinds |= {name: pdf_of(content, resources(), {"/MediaBox": [0, 0, 200, 100]}) for name, content in CONTENTS.items()}
    small = [name for name in hostile_pdf.DONE if "million" not in name]
    kinds |= {name: hostile_pdf.DONE[name]() for name in small}
    kinds |= {"layers": layered_pdf(), "object streams": in_object_streams(), "protected": protected("")}
    return kinds


@needs_qpdf
@pytest.mark.parametrize(("name", "source"), sources().items(), ids=sources())
def test_no_source_spoils_the_syntax(tmp_path: Path, name: str, source: bytes) -> None:
    """Whatever was wrong in the drawing's own file is not passed on (what it shows is proved elsewhere)."""
    (tmp_path / "odd.pdf").write_bytes(source)
    out = tmp_path / "out.pdf"
    assert run(["pages", str(tmp_path / "odd.pdf"), "--paper", "a5", "-q", "--no-proof", "-o", str(out)]) == 0
    assert complaints(out) == ""
