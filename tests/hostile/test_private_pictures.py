"""Pictures lose what is written beside their pixels, and nothing of what is seen: Pillow is the independent reader."""

from __future__ import annotations

import base64
import io
import re
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageCms, ImageOps
from PIL.PngImagePlugin import PngInfo
from pypdf import PdfReader

from tests.content.pages import form, pdf_of, stream
from tests.hostile.conftest import Command
from tests.hostile.trials import SAMPLES
from tests.render import render
from tiling.content.bare_pictures import bare_jpeg, bare_jpeg2000, bare_png
from tiling.drawing.sheet import full_sheet
from tiling.files.inputs import InputFile
from tiling.reading.svg import read_svg

SECRET = b"taken behind the meadow shed"
PROFILE = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def photo(mode: str = "RGB") -> Image.Image:
    """Stripes that compress without harm, wider than high."""
    pixels = np.zeros((24, 40, 3), dtype=np.uint8)
    pixels[:12, :20] = (200, 30, 30)
    pixels[12:, 20:] = (30, 30, 200)
    return Image.fromarray(pixels).convert(mode)


def exif(orientation: int = 1) -> Image.Exif:
    """Author, place and how the camera was held."""
    made = Image.Exif()
    made[0x0112], made[0x013B] = orientation, SECRET.decode()
    made.get_ifd(0x8825)[29] = SECRET.decode()
    return made


def packed(kind: str, mode: str = "RGB", orientation: int = 1) -> bytes:
    """A picture that says in every way its format has where it was taken."""
    out = io.BytesIO()
    if kind == "PNG":
        words = PngInfo()
        words.add_text("Author", SECRET.decode())
        words.add_itxt("XML:com.adobe.xmp", SECRET.decode())
        photo(mode).save(out, kind, pnginfo=words, exif=exif(orientation), icc_profile=PROFILE)
    elif kind == "JPEG":
        said = {"comment": SECRET, "exif": exif(orientation), "xmp": SECRET, "icc_profile": PROFILE}
        photo(mode).save(out, kind, quality=95, progressive=mode == "L", **said)
        out.write(SECRET)
    elif kind == "JPEG2000":
        photo(mode).save(out, kind, comment=SECRET)
        out.write((len(SECRET) + 8).to_bytes(4, "big") + b"xml " + SECRET)
    else:
        photo(mode).save(out, kind, exif=exif(orientation))
    return out.getvalue()


@pytest.mark.parametrize("mode", ["RGB", "L", "CMYK"])
def test_a_jpeg_keeps_its_pixels_and_its_profile_alone(mode: str) -> None:
    """Baseline, progressive and four colours; Exif, XMP, comment and what follows the end are gone."""
    data = packed("JPEG", mode)
    bare = bare_jpeg(data)
    assert SECRET in data
    assert SECRET not in bare
    with Image.open(io.BytesIO(data)) as one, Image.open(io.BytesIO(bare)) as other:
        assert np.array_equal(np.asarray(one), np.asarray(other))
        assert other.info["icc_profile"] == PROFILE
        assert not other.getexif()


def test_a_preview_in_a_jpegs_first_segment_is_left_out() -> None:
    """JFIF 1.02 (from memory) may hold a small picture of its own."""
    data = packed("JPEG")
    assert data[2:4] == b"\xff\xe0"
    thumb = b"\x02\x01" + b"\x07" * 6
    said = data[:4] + (16 + 6).to_bytes(2, "big") + data[6:18] + thumb + data[20:]
    assert b"\x07" * 6 not in bare_jpeg(said)
    assert bare_jpeg(said) == bare_jpeg(data)


def test_a_png_keeps_its_pixels_and_its_profile_alone() -> None:
    """Texts and Exif are gone, the profile stays."""
    data = packed("PNG") + SECRET
    bare = bare_png(data)
    assert SECRET not in bare
    with Image.open(io.BytesIO(data)) as one, Image.open(io.BytesIO(bare)) as other:
        assert np.array_equal(np.asarray(one), np.asarray(other))
        assert other.info["icc_profile"] == PROFILE


def test_a_jpeg_2000_keeps_its_pixels_alone() -> None:
    """Boxes of words and the codestream's comment are gone."""
    data = packed("JPEG2000")
    bare = bare_jpeg2000(data)
    assert data.count(SECRET) == 2
    assert SECRET not in bare
    with Image.open(io.BytesIO(data)) as one, Image.open(io.BytesIO(bare)) as other:
        assert np.array_equal(np.asarray(one), np.asarray(other))


@pytest.mark.parametrize("make", [bare_jpeg, bare_png, bare_jpeg2000])
def test_damaged_pictures_end_too(make: Callable[[bytes], bytes]) -> None:
    """Cut off anywhere, nothing is raised and nothing of the words is kept."""
    kind = {bare_jpeg: "JPEG", bare_png: "PNG", bare_jpeg2000: "JPEG2000"}[make]
    data = packed(kind)
    for size in range(len(data)):
        assert SECRET not in make(data[:size])


def drawing(data: bytes, kind: str) -> str:
    """An SVG of 100 mm that shows the picture 40 mm wide."""
    link = f"data:image/{kind};base64,{base64.b64encode(data).decode()}"
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
        f'<!-- {SECRET.decode()} --><metadata>{SECRET.decode()}</metadata><image width="40" height="40" href="{link}"/>'
        '<g class="piece" id="a"><path class="cutting-line" d="M50 50H95V95H50z" fill="none" stroke="#000"/>'
        '<path class="grainline" d="M60 55V90" stroke="#000"/>'
        '<path class="grading-line" d="M70 50V95" stroke="#000"/></g></svg>'
    )


def _from_base85(data: bytes) -> bytes:
    return base64.a85decode(data.partition(b"~>")[0])


def unpacked(file: bytes) -> bytes:
    """All of a PDF's streams, as they are and unpacked."""
    reader = PdfReader(io.BytesIO(file))
    found = [file]
    for number in range(1, len(reader.xref_objStm) + max(reader.xref[0], default=0) + 1):
        one = reader.get_object(number)
        if hasattr(one, "_data"):
            found.append(one._data)
            outer = str(one.get("/Filter", ""))
            if one.get("/Subtype") != "/Image":
                found.append(one.get_data())
            elif outer.startswith("[") and ("DCT" in outer or "JPX" in outer):
                found.append(zlib.decompress(one._data) if "Flate" in outer else _from_base85(one._data))
    return b"".join(found)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF"])
def test_pages_and_altered_drawings_tell_nothing_of_a_pictures_maker(
    tmp_path: Path, command: Command, kind: str
) -> None:
    """Of a drawing with such a picture; nor do its own comments travel."""
    (tmp_path / "d.svg").write_text(drawing(packed(kind), kind.lower()))
    assert command(["pages", "d.svg", "-o", "d.pdf"]).code == 0
    assert SECRET not in unpacked((tmp_path / "d.pdf").read_bytes())
    ran = command(["alter", "d.svg", "--around", "10mm", "-o", "new.svg"])
    assert ran.code == 0, ran.err
    new = (tmp_path / "new.svg").read_bytes()
    held = [base64.b64decode(one) for one in re.findall(rb"base64,([^\"]+)", new)]
    assert len(held) == 1
    assert SECRET not in new + held[0]


@pytest.mark.parametrize("kind", ["JPEG", "JPEG2000"])
@pytest.mark.parametrize("outer", ["", "/ASCII85Decode", "/FlateDecode"])
def test_pages_of_a_pdf_tell_nothing_of_its_pictures_makers(
    tmp_path: Path, command: Command, kind: str, outer: str
) -> None:
    """Of images in a PDF, also behind a second filter."""
    data = packed(kind)
    if outer:
        data = base64.a85encode(data) + b"~>" if "85" in outer else zlib.compress(data)
    name = "/DCTDecode" if kind == "JPEG" else "/JPXDecode"
    image = stream(
        b"", Type="/XObject", Subtype="/Image", Width=40, Height=24, ColorSpace="/DeviceRGB", BitsPerComponent=8,
        Filter=[outer, name] if outer else name, Metadata=stream(SECRET),
    )  # fmt: skip
    image._data = data
    (tmp_path / "d.pdf").write_bytes(
        pdf_of(b"1 w 9 9 m 99 99 l S q 99 0 0 99 9 9 cm /I Do Q", {"/XObject": {"/I": image}})
    )
    ran = command(["pages", "d.pdf", "-o", "out.pdf"])
    assert ran.code == 0, ran.err
    assert SECRET not in unpacked((tmp_path / "out.pdf").read_bytes())


def test_an_inline_jpeg_tells_nothing_of_its_maker(tmp_path: Path, command: Command) -> None:
    """Its data are part of the page's content."""
    data = base64.a85encode(packed("JPEG")) + b"~>"
    head = b"q 99 0 0 99 9 9 cm BI /W 40 /H 24 /BPC 8 /CS /RGB /F [/A85 /DCT] ID "
    (tmp_path / "d.pdf").write_bytes(pdf_of(b"1 w 9 9 m 99 99 l S " + head + data + b"\nEI Q"))
    ran = command(["pages", "d.pdf", "-o", "out.pdf"])
    assert ran.code == 0, ran.err
    found = re.search(rb"/DCT\W+ID (.*?)EI\b", unpacked((tmp_path / "out.pdf").read_bytes()), re.DOTALL)
    assert found
    assert SECRET not in (_from_base85(found[1]) if b"~>" in found[1] else found[1])


@pytest.mark.parametrize("kind", ["form", "cell", "glyph", "mask"])
def test_an_inline_jpeg_in_what_is_carried_whole_tells_nothing_either(
    kind: str, tmp_path: Path, command: Command
) -> None:
    """A transparent group, a pattern's cell, a glyph that is a picture and a soft mask keep their content streams."""
    head = b"q 40 0 0 24 0 0 cm BI /W 40 /H 24 /BPC 8 /CS /RGB /F /DCT ID "
    content = b"% BI of a kind\n" + head + packed("JPEG") + b"\nEI Q 1 0 0 rg 0 0 9 9 re f"
    grouped = form(content, (0, 0, 60, 60), Group={"/S": "/Transparency", "/CS": "/DeviceRGB"})
    use, resources = {
        "form": (b"/Fm Do", {"/XObject": {"/Fm": grouped}}),
        "cell": (
            b"/Pattern cs /P scn 9 9 99 99 re f",
            {"/Pattern": {"/P": stream(content, Type="/Pattern", PatternType=1, PaintType=1, TilingType=1,
                                       BBox=[0, 0, 60, 60], XStep=60, YStep=60, Resources={})}},
        ),
        "glyph": (
            b"BT /F1 1 Tf 9 9 Td (a) Tj ET",
            {"/Font": {"/F1": {"/Type": "/Font", "/Subtype": "/Type3", "/FontBBox": [0, 0, 60, 60],
                               "/FontMatrix": [1, 0, 0, 1, 0, 0], "/FirstChar": 97, "/LastChar": 97, "/Widths": [60],
                               "/Encoding": {"/Differences": [97, "/a"]}, "/Resources": {},
                               "/CharProcs": {"/a": stream(b"60 0 d0 " + content)}}}},
        ),
        "mask": (
            b"/Soft gs 0 0 99 99 re f",
            {"/ExtGState": {"/Soft": {"/SMask": {"/S": "/Luminosity", "/G": grouped}}}},
        ),
    }[kind]  # fmt: skip
    data = pdf_of(b"1 w 9 9 m 99 99 l S " + use, resources)
    assert SECRET in unpacked(data)
    (tmp_path / "d.pdf").write_bytes(data)
    ran = command(["pages", "d.pdf", "-o", "out.pdf"])
    assert ran.code == 0, ran.err
    carried = unpacked((tmp_path / "out.pdf").read_bytes())
    assert b"/DCT ID \xff\xd8" in carried
    assert re.search(rb"\nEI\s+Q\s+1 0 0 rg\s", carried), "read on behind it"
    assert SECRET not in carried


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_photo_is_shown_as_it_was_held(orientation: int) -> None:
    """As Pillow's own `exif_transpose` turns it."""
    out = io.BytesIO()
    with Image.open(io.BytesIO(packed("PNG", "RGB", orientation))) as held:
        ImageOps.exif_transpose(held).save(out, "PNG")
    one, other, stored = (render(full_sheet(read_svg(InputFile("d.svg", drawing(data, "png").encode())))) for data in (
        packed("PNG", "RGB", orientation), out.getvalue(), packed("PNG")
    ))  # fmt: skip
    assert _differing(one, other) < 0.005, "but for the pixels along edges"
    assert orientation == 1 or _differing(stored, other) > 0.02


def _differing(one: NDArray[np.float64], other: NDArray[np.float64]) -> float:
    return float(np.mean(np.abs(one - other) > 20))


def test_comments_of_notes_stay_in_notes(tmp_path: Path, command: Command) -> None:
    """They are copied where the notes are, and are nowhere in what is printed or drawn."""
    for ending in ("svg", "toml"):
        (tmp_path / f"smock.{ending}").write_bytes((SAMPLES / f"potting-smock.{ending}").read_bytes())
    with (tmp_path / "smock.toml").open("ab") as notes:
        notes.write(b"\n# " + SECRET + b"\n")
    for arguments in (
        ["pages", "smock.svg", "-o", "printed.pdf"],
        ["guide", "smock.svg", "-o", "booklet.pdf"],
        ["alter", "smock.svg", "--around", "40mm", "-o", "wider.svg"],
        ["reprint", "wider.svg", "--printed", "printed.pdf", "-o", "changed.pdf"],
    ):
        ran = command(arguments)
        assert ran.code == 0, ran.err
    holding = {path.name for path in tmp_path.iterdir() if path.is_file() and SECRET in _all_of(path)}
    assert holding == {"smock.toml", "wider.toml"}


def _all_of(path: Path) -> bytes:
    data = path.read_bytes()
    return unpacked(data) if path.suffix == ".pdf" else data
