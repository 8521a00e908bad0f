"""The booklet: everything in one PDF, in the person's units, the same each time."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pypdf
import pypdfium2
import pytest
import reportlab

from tests.cloth.drafts import NOTES, child, smock
from tests.conftest import forget
from tests.fonts.embedding import fonts_in
from tests.fonts.making import make_font
from tests.render import render
from tiling.cloth.booklet import Booklet, booklet
from tiling.cloth.cloth_choice import ClothChoice, ClothFold
from tiling.cloth.lay_picture import draw_lay
from tiling.cloth.lay_pieces import lay_pieces
from tiling.cloth.lay_plan import lay
from tiling.cloth.lay_search import Effort
from tiling.cloth.sewing_report import SewingReport, sewing_report
from tiling.cloth.tables import Table, as_text
from tiling.cloth.typeset import Setter, points
from tiling.cloth.units import Units
from tiling.drawing.pen import RecordingPen
from tiling.drawing.print_job import PrintJob, build_print_job
from tiling.failures import InputUnfit
from tiling.files.inputs import InputFile, InputKind, read_input
from tiling.notes import Notes
from tiling.planning.papers import paper_named
from tiling.planning.planner import PlanOptions, plan_pages
from tiling.shapes import Size

A4 = Size(210.0, 297.0)
VERA = Path(reportlab.__file__).parent / "fonts" / "Vera.ttf"


def matter(notes: Notes | None = NOTES) -> tuple[SewingReport, PrintJob]:
    """The smock with its pages."""
    drawing = smock(notes)
    return sewing_report(drawing, {}), build_print_job(plan_pages(drawing, PlanOptions(paper_named("a4"))), drawing)


def made(notes: Notes | None = NOTES, units: Units = Units.CM, font: InputFile | None = None) -> Booklet:
    """Its booklet."""
    report, job = matter(notes)
    return booklet(report, job, units, A4, font)


def words(content: bytes) -> str:
    """All its text, read back by PDFium."""
    document = pypdfium2.PdfDocument(content)
    text = "\n".join(page.get_textpage().get_text_bounded() for page in document)
    document.close()
    return " ".join(text.split())


def test_the_booklet_holds_every_section() -> None:
    """Map, order, check lines, cutting list, notions, seams, notches, sizes, cautions, page numbers."""
    text = words(made().content)
    for part in (
        "Test smock", "At a glance", "Taping", "Row A: A1", "Check line", "Cutting list", "2, as a mirrored pair",
        "Notions", "wrist + overlap", "Seams", "Sleeve: cap", "Notches that meet", "Sizes",
        "Cautions", "cut and burn", "page 1 of",
    ):  # fmt: skip
        assert part in text, part


def test_every_page_carries_its_number_of_all() -> None:
    """The count is the real one."""
    document = pypdfium2.PdfDocument(made().content)
    for number, page in enumerate(document, 1):
        assert f"page {number} of {len(document)}" in page.get_textpage().get_text_bounded()
    document.close()


def test_lay_plans_come_with_their_figures() -> None:
    """The cloth to buy stands in front, in the table and with the picture."""
    report, job = matter()
    choice = ClothChoice(1400.0, ClothFold.LENGTHWISE)
    pieces = lay_pieces(report.seam_lines, report.cutting, "main", choice.fold)
    with_lay = replace(report, lays=(lay("main", pieces, choice, Effort(1.0)),))
    text = words(booklet(with_lay, job, Units.CM, A4).content)
    assert text.lower().count("main cloth, 140.0 cm wide, folded lengthwise") == 2
    assert "fold of the cloth" in text


def test_a_lay_plan_is_as_large_as_the_page_allows(monkeypatch: pytest.MonkeyPatch) -> None:
    """The text's whole width, 174 mm on A4, or its height: it is laid by, not looked at."""
    report, job = matter()
    choice = ClothChoice(700.0, ClothFold.NONE)
    pieces = lay_pieces(report.seam_lines, report.cutting, "main", choice.fold)
    with_lay = replace(report, lays=(lay("main", pieces, choice, Effort(1.0)),))
    pen = RecordingPen()
    monkeypatch.setattr("tiling.cloth.booklet.draw_lay", lambda _, plan, units, box: draw_lay(pen, plan, units, box))
    booklet(with_lay, job, Units.CM, A4)
    ends = [(point.x, point.y) for call in pen.calls if call.kind == "polyline" for point in call.points]
    assert max(max(one) - min(one) for one in zip(*ends, strict=True)) > 150.0


def test_a_tables_remarks_stay_with_its_end() -> None:
    """Wherever a page ends, what follows has a row besides its head and the remark."""
    remark = "From the start of each side."
    table = Table("T", ("A", "B"), tuple((f"row {n}", "1 cm") for n in range(9)), frozenset({1}), (remark,))
    width = points(174.0)
    whole = Setter().table(table, width)[0]
    _, height = whole.wrap(width, 1e4)
    for less in range(1, 40, 3):
        parts = Setter().table(table, width)[0]
        parts.wrap(width, 1e4)
        split = parts.split(width, height - less)
        assert len(split) == 2
        assert len(split[1]._cellvalues) >= 3


def test_columns_of_words_keep_off_numbers() -> None:
    """A word after a number set to the right begins at least 3 mm from it, and empty columns are left out."""
    table = Table("T", ("A", "B", "C", ""), (("a", "12.0 cm", "word", ""),), frozenset({1}))
    ruled = Setter().table(table, points(174.0))[0]
    assert len(ruled._cellvalues[0]) == 4  # and what is left of the width
    number, word = ruled._cellStyles[1][1], ruled._cellStyles[1][2]
    assert number.rightPadding + word.leftPadding >= points(3.0)


def test_a_reprint_is_taped_otherwise() -> None:
    """Where most pages hang on the wall already, only the new ones are told of."""
    report, job = matter()
    kept = frozenset(tile.name for tile in job.plan.tiles) - {"B2"}
    again = replace(job, plan=replace(job.plan, kept=kept), pages={"B2": 2})
    text = words(booklet(report, again, Units.CM, A4).content)
    assert "Cut the old pages out along their joins: B2." in text
    assert "Measure the test square on the first page" not in text


def test_lengths_are_in_the_persons_units() -> None:
    """The front's side seam in inches."""
    assert "cm" not in words(made(units=Units.INCH).content).replace("(30 cm)", "").replace("cm)", "")
    assert '"' not in words(made().content).replace('("Actual size")', "")


def test_the_same_pattern_gives_the_same_bytes() -> None:
    """No date, no random names."""
    assert made().content == made().content


def test_the_outline_of_the_pdf_names_the_sections() -> None:
    """For reading on a screen."""
    import io

    titles = [str(item["/Title"]) for item in pypdf.PdfReader(io.BytesIO(made().content)).outline]
    assert titles[0] == "Taping"
    assert titles[-1] == "Cautions"


def test_a_childs_cord_is_cautioned_with_its_rules() -> None:
    """In the booklet as on the terminal."""
    text = words(made(child(place="neck")).content)
    assert "EN 14682, 16 CFR 1120, ASTM F1816" in text
    assert "Follow the rules where you live" in text


def test_a_plain_drawing_without_notes_still_makes_a_booklet() -> None:
    """Taping and cutting list only."""
    text = words(made(None).content)
    assert "Cutting list" in text
    assert "Notions" not in text


def test_characters_that_no_font_has_are_named() -> None:
    """Japanese has no font here."""
    missing = made(replace(NOTES, title="園芸スモック", summary="ok")).missing
    assert set("園芸スモック") == set(missing)
    assert made().missing == ""


def test_every_font_of_the_booklet_is_embedded() -> None:
    """Also those of empty cells and of the marks before list items."""
    fonts = fonts_in(made(replace(NOTES, title="Рабочий халат")).content)
    assert fonts and all(fonts.values()), fonts


def test_titles_in_scripts_without_spaces_are_set_in_the_machine_s_font(font_folder: Path) -> None:
    """Broken into lines wherever one is full, as outlines; nothing is missing."""
    before = made(replace(NOTES, summary="布料" * 60))
    make_font(font_folder / "east.ttf", "Meadow East", {"布": (1000, 500), "料": (1000, 400)})
    forget()
    after = made(replace(NOTES, summary="布料" * 60))
    assert (set(before.missing), after.missing) == ({"布", "料"}, "")
    ink = (render(after.content, dpi=72.0)[:, -40:] < 128).sum()
    assert ink == 0, "no line runs over the edge"


def test_a_persons_own_font_is_used_and_its_gaps_are_named() -> None:
    """Vera stands in for a person's font; it lacks the same characters."""
    content = made(replace(NOTES, title="Smock łž 園"), font=InputFile(str(VERA), VERA.read_bytes()))
    assert content.missing == "園"
    import io

    fonts = {
        str(font["/BaseFont"])
        for page in pypdf.PdfReader(io.BytesIO(content.content)).pages
        for font in (f.get_object() for f in page["/Resources"]["/Font"].values())  # type: ignore[index]
    }
    assert any("Vera" in name for name in fonts)


def test_a_file_that_is_no_font_is_refused(tmp_path: Path) -> None:
    """By name, with what to give instead."""
    with pytest.raises(InputUnfit, match=r"font.ttf: can't be used as a font"):
        Setter(InputFile("font.ttf", b"not a font"))
    with pytest.raises(InputUnfit, match=r"nowhere.ttf: can't be used as a font"):
        read_input(tmp_path / "nowhere.ttf", InputKind.FONT)


def test_markup_in_a_patterns_texts_is_text() -> None:
    """An ampersand and angle brackets are written, not obeyed."""
    assert "Smock <b>& apron" in words(made(replace(NOTES, title="Smock <b>& apron")).content)


def test_tables_fit_the_page_however_long_their_words() -> None:
    """Columns give way until the table is as wide as the text."""
    table = Table("T", ("A", "B", "C"), (("word " * 60, "12.0 cm", "unbroken" * 20),), frozenset({1}))
    ruled = Setter().table(table, points(174.0))[0]
    assert sum(ruled._colWidths) <= points(174.0) + 1e-6


def test_a_table_on_the_terminal_is_aligned() -> None:
    """Words to the left, numbers to the right."""
    table = Table("T", ("Name", "mm"), (("a", "1"), ("bcdef", "100")), frozenset({1}), ("note",))
    assert as_text(table).splitlines() == ["T", "  Name    mm", "  a        1", "  bcdef  100", "  note"]
