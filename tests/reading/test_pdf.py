"""PDF drawings: real size, pages, layers, protection and damage, and what is told about them."""

from __future__ import annotations

import io
import zlib
from pathlib import Path as FilePath

import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.errors import DependencyError
from pypdf.generic import NameObject

from tests.content.pages import form, obj, pdf_of, stream
from tiling.failures import InputUnfit
from tiling.files.inputs import read_input
from tiling.pattern import FindingKind, Label, Line, Picture
from tiling.reading import pdf_open
from tiling.reading.pdf import read_pdf

MM = 25.4 / 72
LINE = b"1 w 10 10 m 200 150 l S"
FONTS = {"/Font": {"/F1": {"/Type": "/Font", "/Subtype": "/Type1", "/BaseFont": "/Helvetica-Bold"}}}


def saved(folder: FilePath, data: bytes, name: str = "smock.pdf") -> FilePath:
    path = folder / name
    path.write_bytes(data)
    return path


def many(*pages: bytes) -> PdfWriter:
    writer = PdfWriter()
    for page in pages:
        writer.append(io.BytesIO(page))
    return writer


def written(writer: PdfWriter) -> bytes:
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def test_each_object_is_a_mark_at_its_real_place(tmp_path):
    content = LINE + b" BT /F1 20 Tf 30 40 Td (Front) Tj ET q 50 0 0 40 100 100 cm /Im Do Q"
    image = stream(b"\x80", Type="/XObject", Subtype="/Image", Width=1, Height=1, BitsPerComponent=8,
                   ColorSpace="/DeviceGray")  # fmt: skip
    (pattern,) = read_pdf(read_input(saved(tmp_path, pdf_of(content, {**FONTS, "/XObject": {"/Im": image}}))))
    line, label, picture = pattern.marks
    assert (pattern.size.width, pattern.size.height) == pytest.approx((300 * MM, 200 * MM))
    assert isinstance(line, Line)
    assert line.path.points.tolist() == [pytest.approx([10 * MM, 190 * MM]), pytest.approx([200 * MM, 50 * MM])]
    assert isinstance(label, Label)
    assert (label.text, label.font, label.size) == ("Front", "Helvetica-Bold", pytest.approx(20 * MM))
    assert (label.at.e, label.at.f) == pytest.approx((30 * MM, 160 * MM))
    assert isinstance(picture, Picture)
    assert picture.reach().x0 == pytest.approx(100 * MM, abs=0.01)
    assert pattern.findings == ()
    (sheet,) = pattern.sheets
    assert sheet.artwork is not None
    assert len(sheet.artwork.items) == len(pattern.marks)


def test_a_mark_is_clipped_where_its_object_is(tmp_path):
    (pattern,) = read_pdf(read_input(saved(tmp_path, pdf_of(b"q 50 50 20 20 re W n 0 0 300 200 re f Q 5 5 9 9 re f"))))
    clipped, free = pattern.marks
    assert clipped.clip is not None
    assert clipped.reach().width == pytest.approx(20 * MM, abs=0.25)
    assert free.clip is None


def test_marks_reach_as_far_as_their_objects(tmp_path):
    content = b"9 w 10 10 m 40 10 l 10 12 l S BT /F1 20 Tf 0.7 0.7 -0.7 0.7 90 40 Tm (Wide) Tj 9 Ts (up) Tj ET"
    (pattern,) = read_pdf(read_input(saved(tmp_path, pdf_of(content, FONTS))))
    artwork = pattern.sheets[0].artwork
    assert artwork is not None
    path, text = pattern.marks
    assert path.reach().grown(0.2).x0 <= artwork.items[0].reach.x0
    assert isinstance(text, Picture), "text off its line is known by its reach only"
    assert text.reach() == artwork.items[1].reach


def test_pages_are_read_in_order_or_picked(tmp_path):
    path = saved(tmp_path, written(many(*(pdf_of(LINE, page={"/MediaBox": [0, 0, n * 100, 200]}) for n in (1, 2, 3)))))
    assert [round(p.size.width / MM) for p in read_pdf(read_input(path))] == [100, 200, 300]
    assert [round(p.size.width / MM) for p in read_pdf(read_input(path), pages=[3, 1])] == [300, 100]
    assert read_pdf(read_input(path))[1].sheets[0].name == "smock.pdf, page 2"
    with pytest.raises(InputUnfit, match=r"has no page 4, but pages 1 to 3"):
        read_pdf(read_input(path), pages=[4])


def test_boxes_and_resources_come_from_the_page_tree(tmp_path):
    """MediaBox, CropBox, Rotate and Resources are inheritable (ISO 32000-1, table 30); UserUnit is not."""
    writer = many(pdf_of(b"BT /F1 20 Tf 30 40 Td (Front) Tj ET"))
    tree = writer.root_object["/Pages"]
    page = tree["/Kids"][0].get_object()
    for key in ("/MediaBox", "/Resources"):
        if key in page:
            del page[key]
    tree[NameObject("/MediaBox")] = obj([0, 0, 400, 300])
    tree[NameObject("/Rotate")] = obj(-270)
    tree[NameObject("/UserUnit")] = obj(3)
    tree[NameObject("/Resources")] = obj(FONTS)
    (pattern,) = read_pdf(read_input(saved(tmp_path, written(writer))))
    assert (pattern.size.width, pattern.size.height) == pytest.approx((300 * MM, 400 * MM))
    assert pattern.findings == ()


def in_object_streams() -> bytes:
    """A PDF 1.5 whose catalogue, page tree and page lie in an object stream, found through a cross-reference stream
    (ISO 32000-1, 7.5.7 and 7.5.8).
    """
    objects = [b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
               b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 300 200]/Contents 5 0 R/Resources<<>>>>"]  # fmt: skip
    offsets = [sum(len(o) + 1 for o in objects[:i]) for i in range(3)]
    head = b" ".join(b"%d %d" % (i + 1, offset) for i, offset in enumerate(offsets)) + b" "
    packed = zlib.compress(head + b"\n".join(objects))
    data = bytearray(b"%PDF-1.5\n")
    places = {}
    for number, body, keys in (
        (4, packed, b"/Type/ObjStm/N 3/First %d/Filter/FlateDecode" % len(head)),
        (5, LINE, b""),
    ):
        places[number] = len(data)
        data += b"%d 0 obj\n<<%s/Length %d>>\nstream\n%s\nendstream\nendobj\n" % (number, keys, len(body), body)
    rows = [(0, 0, 255), (2, 4, 0), (2, 4, 1), (2, 4, 2), (1, places[4], 0), (1, places[5], 0), (1, len(data), 0)]
    table = b"".join(bytes((kind,)) + field.to_bytes(3, "big") + bytes((last,)) for kind, field, last in rows)
    start = len(data)
    data += b"6 0 obj\n<</Type/XRef/Size 7/W[1 3 1]/Root 1 0 R/Length %d>>\nstream\n" % len(table)
    data += table + b"\nendstream\nendobj\nstartxref\n%d\n%%%%EOF\n" % start
    return bytes(data)


def test_object_streams_are_read(tmp_path):
    (pattern,) = read_pdf(read_input(saved(tmp_path, in_object_streams())))
    assert len(pattern.marks) == 1
    assert pattern.findings == ()


GROUPS = [{"/Type": "/OCG", "/Name": name} for name in (b"size 8", b"size 10", b"help")]


def layered() -> bytes:
    groups = [obj(dict(group)) for group in GROUPS]
    names = {f"/L{index}": group for index, group in enumerate(groups)}
    content = LINE + b" ".join(b"/OC /L%d BDC 0 %d m 99 %d l S EMC" % (i, 20 * i, 20 * i) for i in range(3))
    catalogue = {"/OCProperties": {"/OCGs": groups, "/D": {"/OFF": [groups[2]]}}}
    return pdf_of(content, {"/Properties": names}, catalogue=catalogue)


def test_layers_are_listed_and_the_files_own_state_holds(tmp_path):
    (pattern,) = read_pdf(read_input(saved(tmp_path, layered())))
    shown = {layer.name: layer.shown for layer in pattern.layers}
    assert list(shown.items()) == [("size 8", True), ("size 10", True), ("help", False)]
    assert [mark.tag.layer for mark in pattern.marks] == ["", "size 8", "size 10"]
    (finding,) = pattern.findings
    assert finding.kind is FindingKind.LAYER_HIDDEN
    assert "'help'" in finding.text


@pytest.mark.parametrize(("kept", "shown"), [(b"(size 8\\000)", "size 8"), (b"<9F6E38>", "焠8")])
def test_a_layer_can_be_picked_whatever_its_name_ends_in_or_is_written_in(tmp_path, kept, shown):
    """Nobody can type a NUL; bytes that are no text string of PDF's (ISO 32000-2, 7.9.2.2) may be GBK (GB 18030)."""
    data = layered().replace(b"(size 8)", kept)
    assert data != layered()
    (pattern,) = read_pdf(read_input(saved(tmp_path, data)), layers=[shown])
    assert shown in {layer.name for layer in pattern.layers}
    assert [mark.tag.layer for mark in pattern.marks] == ["", shown]


def test_layers_are_picked_by_name_and_an_unknown_one_is_refused_with_the_names(tmp_path):
    path = saved(tmp_path, layered())
    (pattern,) = read_pdf(read_input(path), layers=["help", "size 8"])
    assert [mark.tag.layer for mark in pattern.marks] == ["", "size 8", "help"]
    with pytest.raises(InputUnfit, match=r"no layer 'size 12'; its layers are 'size 8', 'size 10', 'help'"):
        read_pdf(read_input(path), layers=["size 12"])
    with pytest.raises(InputUnfit, match="it has no layers"):
        read_pdf(read_input(saved(tmp_path, pdf_of(LINE), "plain.pdf")), layers=["size 12"])


def protected(user: str) -> bytes:
    writer = many(pdf_of(LINE))
    writer.encrypt(user, "owner's", algorithm="RC4-128")
    return written(writer)


def test_a_file_that_only_its_owner_may_change_is_read(tmp_path):
    (pattern,) = read_pdf(read_input(saved(tmp_path, protected(""))))
    assert len(pattern.marks) == 1


def test_a_cipher_the_library_lacks_is_undone_by_pdfium(tmp_path, monkeypatch):
    def lacking(self, password):
        raise DependencyError("no such cipher")

    path = saved(tmp_path, protected(""))
    monkeypatch.setattr(PdfReader, "decrypt", lacking)
    (pattern,) = read_pdf(read_input(path))
    assert len(pattern.marks) == 1
    assert pattern.findings == ()


def test_a_file_that_wants_a_password_is_refused(tmp_path):
    with pytest.raises(InputUnfit, match=r"smock\.pdf: is protected by a password; open it"):
        read_pdf(read_input(saved(tmp_path, protected("secret"))))


def no_pages() -> bytes:
    return written(PdfWriter())


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"", "empty"),
        (b"Dear sewing friends, " * 99, "is no PDF"),
        (b"%PDF-1.4\n" + b"x" * 5000, "is damaged"),
        (b"%PDF-1.7", "is no PDF"),
        (pdf_of(LINE)[:200], "is damaged"),
        (no_pages(), "has no pages"),
        (pdf_of(b""), "nothing drawn"),
        (pdf_of(b"1 g 0 0 99 99 re f"), "nothing drawn"),
        (pdf_of(LINE, page={"/UserUnit": -3}), "UserUnit"),
    ],
)
def test_what_is_no_drawing_is_refused_with_the_reason(tmp_path, data, reason):
    with pytest.raises(InputUnfit, match=reason) as refusal:
        read_pdf(read_input(saved(tmp_path, data)))
    assert "smock.pdf" in str(refusal.value)
    assert "\n" not in str(refusal.value)


def test_a_lost_cross_reference_table_is_made_up_for(tmp_path):
    data = pdf_of(LINE)
    broken = data[: data.rindex(b"startxref")] + b"startxref\n99999999\n%%EOF\n"
    (pattern,) = read_pdf(read_input(saved(tmp_path, broken)))
    assert len(pattern.marks) == 1


def test_a_file_only_pdfium_can_follow_is_read_and_told(tmp_path, monkeypatch):
    real = pdf_open.PdfReader
    calls = []

    def once(*args, **keys):
        calls.append(1)
        if len(calls) == 1:
            raise ValueError("lost")
        return real(*args, **keys)

    monkeypatch.setattr(pdf_open, "PdfReader", once)
    (pattern,) = read_pdf(read_input(saved(tmp_path, pdf_of(LINE))))
    assert [finding.kind for finding in pattern.findings] == [FindingKind.CONTENT_REPAIRED]


def test_what_does_not_travel_is_told(tmp_path):
    notes = [
        {"/Type": "/Annot", "/Subtype": "/Link", "/Rect": [0, 0, 9, 9], "/AP": {"/N": form(b"")}},
        {"/Type": "/Annot", "/Subtype": "/FreeText", "/Rect": [0, 0, 9, 9], "/AP": {"/N": form(b"")}},
        {"/Type": "/Annot", "/Subtype": "/Stamp", "/F": 2, "/Rect": [0, 0, 9, 9], "/AP": {"/N": form(b"")}},
        {"/Type": "/Annot", "/Subtype": "/Widget", "/Rect": [0, 0, 9, 9], "/AP": {"/N": form(b"")}},
    ]
    catalogue = {
        "/OpenAction": {"/S": "/JavaScript", "/JS": b"app.alert(1)"},
        "/Names": {"/EmbeddedFiles": {"/Names": []}},
    }
    content = LINE + b" Q 500 500 m 600 600 l S /F9 9 Tf"
    (pattern,) = read_pdf(read_input(saved(tmp_path, pdf_of(content, {}, {"/Annots": notes}, catalogue))))
    assert [finding.kind for finding in pattern.findings] == [
        FindingKind.SCRIPT_DROPPED, FindingKind.NOT_CARRIED, FindingKind.CONTENT_REPAIRED,
        FindingKind.REFERENCE_MISSING, FindingKind.NOTHING_BEYOND_PAGE, FindingKind.ANNOTATION_DROPPED,
    ]  # fmt: skip
    assert "screen, but keeps from being printed" in pattern.findings[-1].text
    assert "1 × FreeText, 1 × Link, 1 × Widget" in pattern.findings[-1].text


@pytest.mark.parametrize(
    ("content", "told"),
    [(b"2 J 9 9 m 9 9 l S", True), (b"9 9 m 9 9 l S", True), (b"2 J 9 9 m h S", True), (b"1 J 9 9 m 9 9 l S", False),
     (b"2 J 9 9 m 9 9 l f", False), (b"2 J 9 9 m 9 9 l 10 9 l S", False), (b"2 J 9 9 m S", False)],
)  # fmt: skip
def test_lines_without_a_length_are_told_where_viewers_differ(tmp_path, content, told):
    """They show nothing without round ends (ISO 32000-2, 8.5.3.2), but PDFium draws a square where poppler doesn't."""
    (pattern,) = read_pdf(read_input(saved(tmp_path, pdf_of(LINE + b" " + content))))
    assert [one.kind for one in pattern.findings] == ([FindingKind.DRAWN_DIFFERENTLY] if told else [])


LINE_OVER_PAGE = {
    "/Type": "/Annot", "/Subtype": "/Line", "/Rect": [9, 9, 250, 150], "/L": [10, 10, 200, 150], "/F": 4,
}  # fmt: skip


def test_a_line_drawn_over_the_page_is_a_mark_of_it(tmp_path):
    (pattern,) = read_pdf(read_input(saved(tmp_path, pdf_of(b"", {}, {"/Annots": [LINE_OVER_PAGE]}))))
    (line,) = pattern.marks
    assert isinstance(line, Line)
    assert line.path.points.tolist() == [pytest.approx([10 * MM, 190 * MM]), pytest.approx([200 * MM, 50 * MM])]
    assert pattern.findings == ()


@pytest.mark.parametrize(
    ("note", "why"),
    [({**LINE_OVER_PAGE, "/F": 0}, "keeps from being printed.* 1 × Line"),
     ({**LINE_OVER_PAGE, "/Subtype": "/Stamp"}, "the file has no picture.* 1 × Stamp; print the page to a new PDF")],
)  # fmt: skip
def test_a_page_of_nothing_but_what_does_not_print_is_refused_with_its_names(tmp_path, note, why):
    with pytest.raises(InputUnfit, match=f"smock.pdf: nothing that prints is drawn in it.*{why}"):
        read_pdf(read_input(saved(tmp_path, pdf_of(b"", {}, {"/Annots": [note]}))))


def test_a_page_without_a_media_box_is_taken_for_letter_and_told(tmp_path):
    writer = many(pdf_of(LINE))
    del writer.root_object["/Pages"]["/Kids"][0].get_object()["/MediaBox"]
    (pattern,) = read_pdf(read_input(saved(tmp_path, written(writer))))
    assert (pattern.size.width, pattern.size.height) == pytest.approx((215.9, 279.4))
    assert [finding.kind for finding in pattern.findings] == [FindingKind.SIZE_ASSUMED]


@pytest.mark.parametrize(
    ("title", "expected"),
    [("Potting smock", "Potting smock"), ("a\nb\x07c\u202ed", "a b c d"), ("  ", "smock"), ("untitled", "smock")],
)
def test_the_title_is_the_files_own_without_control_characters(tmp_path, title, expected):
    writer = many(pdf_of(LINE))
    writer.add_metadata({"/Title": title})
    assert read_pdf(read_input(saved(tmp_path, written(writer))))[0].title == expected


def test_a_picture_the_library_overlooks_is_found_in_the_repaired_file(tmp_path):
    """A comment may stand wherever white space may (ISO 32000-1, 7.2.4), also before the keyword `stream`."""
    image = stream(b"\x80" * 4, Type="/XObject", Subtype="/Image", Width=2, Height=2, BitsPerComponent=8,
                   ColorSpace="/DeviceGray", Note=b"x" * 30)  # fmt: skip
    good = pdf_of(LINE + b" q 50 0 0 40 100 100 cm /Im Do Q", {"/XObject": {"/Im": image}})
    note, end = b"/Note (" + b"x" * 30 + b")", good.index(b">>", good.index(b"/Note"))
    comment = b">>\n%" + b"x" * (len(note) - 3) + b"\n"
    bad = (good[:end] + comment + good[end + 2 :].lstrip(b"\n")).replace(note, b"")
    assert read_pdf(read_input(saved(tmp_path, good)))[0].marks[1:]
    (pattern,) = read_pdf(read_input(saved(tmp_path, bad)))
    assert isinstance(pattern.marks[1], Picture)
    assert FindingKind.CONTENT_REPAIRED in {finding.kind for finding in pattern.findings}
