"""Photos of a taped sheet, from the printed file to what each join's ends have slipped by.

The photos are simulated (`tests/simulator/taping.py`): pages as poppler draws them, cut, laid, waving, photographed.
"""

from __future__ import annotations

import json
import re
from contextlib import closing
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from click.testing import CliRunner
from PIL import Image

import tiling
from calibrate.failures import NoMeasurementError, Reason
from calibrate.printer_scale import MeasuredScale
from calibrate.taped.identity import Identity
from calibrate.taped.printed import PrintedSpan
from calibrate.taped.reading import JoinEnd, JoinVerdict
from tests.simulator.camera import Phone, Stance
from tests.simulator.scene import Table
from tests.simulator.sensor import Sensor
from tests.simulator.taping import (
    Laid,
    Sitting,
    TapedSheet,
    Taping,
    camera_over,
    laid_by,
    littered,
    papers_of,
    photo_of_sheet,
    taped,
)
from tiling.commands.main import pageseam
from tiling.failures import InputUnfit
from tiling.operations.printed_sheet import earlier_of_sheet, printed_sheet
from tiling.operations.result_values import taped_values

APRON = """<svg xmlns="http://www.w3.org/2000/svg" width="340mm" height="500mm" viewBox="0 0 340 500">
<g class="piece" id="apron" fill="none" stroke="black" stroke-width=".6"><title>Apron</title>
<path class="stitching-line" data-name="side" d="M315 210V470"/>
<path d="M90 20H250C256 130 300 190 325 200V480H15V200C40 190 84 130 90 20Z"/>
<path d="M95 260H245V390C245 410 95 410 95 390Z"/><path d="M170 60V450" stroke-dasharray="6 3"/></g>
<text x="110" y="150" font-size="14">Apron</text><text x="120" y="330" font-size="10">pocket here</text></svg>"""
OTHER = """<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 300 300">
<path d="M20 20L280 90L200 280Z" fill="none" stroke="black"/></svg>"""
SLIPPED = Laid((2.0, -1.0), 0.1, lifts=(0.4, 0.3))
SIDES = tuple(
    Sitting(phone=Phone(1480, 1110), stance=Stance(tilt=14.0, tilt_towards=towards, turn=turn, margin=0.02))
    for towards, turn in ((0.0, 94.0), (180.0, 271.0))
)
"""From above both long sides, at about two pixels to the mm."""


def printed_of(drawing: str, paper: str = "a4") -> tiling.InputFile:
    """Its pages as they are printed."""
    file, choice = tiling.InputFile("apron.svg", drawing.encode()), tiling.PageChoice(paper)
    made = tiling.make_pages(tiling.MakePagesRequest((file,), page=choice, name="pages.pdf")).pages
    assert made is not None
    return tiling.InputFile("pages.pdf", made.content)


@pytest.fixture(scope="module")
def printed() -> tiling.InputFile:
    """An apron on four pages."""
    return printed_of(APRON)


@pytest.fixture(scope="module")
def sheet(printed: tiling.InputFile) -> TapedSheet:
    """Taped with care, but for one page; cut edges stand up."""
    papers = papers_of(printed.content)
    taping = Taping(slip=0.1, gross=0.0, lift=0.3)
    return taped(papers, laid_by(papers, taping, 5) | {"B2": SLIPPED}, taping, 5)


@pytest.fixture(scope="module")
def photos(sheet: TapedSheet) -> tuple[tiling.InputFile, ...]:
    """From both sides."""
    return tuple(tiling.InputFile(f"{n}.jpg", photo_of_sheet(sheet, one, n)) for n, one in enumerate(SIDES))


@pytest.fixture(scope="module")
def result(printed: tiling.InputFile, photos: tuple[tiling.InputFile, ...]) -> tiling.ReadTapedResult:
    """What both photos say."""
    return tiling.read_taped_sheet(tiling.ReadTapedRequest(photos, printed))


def ends_of(printed: tiling.InputFile, *photos: tiling.InputFile) -> tuple[JoinEnd, ...]:
    """What the photos say of all joins."""
    result = tiling.read_taped_sheet(tiling.ReadTapedRequest(photos, printed))
    assert not result.unseen
    return result.reading.ends


def test_two_photos_tell_the_page_that_slipped_and_by_how_much(
    sheet: TapedSheet, result: tiling.ReadTapedResult
) -> None:
    """Every slip to 0.15 mm, as far as a page of two joins shows its own; the joins of one page alone are named."""
    ends = result.reading.ends
    assert not result.unseen
    off = np.array([np.array(end.slip) - sheet.slip(end.first, end.second, end.at) for end in ends])
    assert np.abs(off).max() < 0.15
    assert all((np.abs(miss) < 3 * end.doubt).all() for miss, end in zip(off, ends, strict=True))
    told = {(end.first, end.second): end.verdict for end in ends}
    pairs = [("A1", "A2"), ("A1", "B1"), ("A2", "B2"), ("B1", "B2")]
    assert told == {pair: JoinVerdict.SLIPPED if "B2" in pair else JoinVerdict.TRUE for pair in pairs}
    onto = next(end for end in ends if end.second == "B2")
    assert onto.slip == pytest.approx((2.0, -1.0), abs=0.7)


def test_the_command_says_what_to_lift_and_where_to_move_it(
    printed: tiling.InputFile, photos: tuple[tiling.InputFile, ...], tmp_path: Path
) -> None:
    """In words, the worst end first; where one photo alone leaves doubt, it says that another would tell more."""
    for file in (printed, photos[0]):
        (tmp_path / file.name).write_bytes(file.content)
    command = ["taped", str(tmp_path / photos[0].name), "--printed", str(tmp_path / printed.name)]
    said = CliRunner().invoke(pageseam, command)
    assert said.exit_code == 0, said.output
    assert re.match(r"\d of 8 join ends are true to 1\.0 mm, 4 slipped, \d can't be told", said.stdout)
    assert re.search(r"Lift B2 from A2 and B1, move it left by [12]\.\d mm and down by \d\.\d mm", said.stdout)
    assert "How large the sheet is no photo tells" in said.stdout
    doubtful = CliRunner().invoke(pageseam, [*command, "--tolerance", "2.4mm"])
    assert "A second photo, from above the opposite long side, tells more" in doubtful.stdout


def test_values_for_programs_are_an_entry_for_each_end(sheet: TapedSheet, result: tiling.ReadTapedResult) -> None:
    """The worst first, and how each page is turned."""
    values = taped_values(result)
    assert set(values) == {
        "tolerance_mm",
        "joins",
        "unseen",
        "pages",
        "seams",
        "diagonals_mm",
        "check_lines",
        "lifts",
        "photos",
    }
    sizes = [np.hypot(*join["slip_mm"]) for join in values["joins"]]
    assert sizes == sorted(sizes, reverse=True)
    turns = {page["name"]: page["turn_deg"] for page in values["pages"]}
    assert set(turns) == {"A1", "A2", "B1", "B2"}
    wanted = sheet.laid["B2"].turn - sheet.laid["B1"].turn
    assert turns["B2"] - turns["B1"] == pytest.approx(wanted, abs=0.05)
    assert json.loads(json.dumps(values)) == values


def test_a_seam_is_as_much_longer_as_the_joins_that_it_crosses(
    sheet: TapedSheet, result: tiling.ReadTapedResult
) -> None:
    """The side runs down from A2 to B2: what B2 lies too high makes it shorter."""
    (seam,) = result.reading.seams
    assert (seam.seam.piece, seam.seam.name, seam.between) == ("Apron", "side", ("A2", "B2"))
    assert seam.longer == pytest.approx(sheet.slip("A2", "B2", (315.0, 240.0))[1], abs=0.15)


def test_distances_are_true_but_for_the_size_of_the_pages(sheet: TapedSheet, result: tiling.ReadTapedResult) -> None:
    """The difference of both diagonals is what the pages' places make it; how long they are only a printer tells."""
    one, other = result.diagonals
    papers = {paper.name: paper for paper in sheet.papers}

    def longer(span: PrintedSpan) -> float:
        """The truth, with the pages' own sizes in it."""
        places = [
            sheet.laid[name].moved(at[None], np.mean(np.reshape(papers[name].seen, (2, 2)), axis=0))[0]
            for name, at in zip(span.pages, span.ends, strict=True)
        ]
        return float(np.linalg.norm(places[1] - places[0])) - span.length

    assert one.longer - other.longer == pytest.approx(longer(one.span) - longer(other.span), abs=0.5)
    assert all(result.length(seen) is None for seen in result.reading.spans)
    known = replace(result, size=MeasuredScale(0.99, 0.99, 0.001, 0.001))
    assert known.length(one) == pytest.approx(0.99 * (one.span.length + one.longer))


def test_what_is_lifted_as_advised_is_true(
    printed: tiling.InputFile, sheet: TapedSheet, result: tiling.ReadTapedResult
) -> None:
    """The one page that slipped is moved and turned as it says, give or take what hands do; then nothing is left."""
    (lift,) = result.reading.lifts
    assert lift.pages == ("B2",)
    assert set(lift.joins) == {("A2", "B2"), ("B1", "B2")}
    was = sheet.laid["B2"]
    mended = replace(
        was, shift=(was.shift[0] + lift.move[0] + 0.1, was.shift[1] + lift.move[1] - 0.1), turn=was.turn + lift.turn
    )
    again = taped(sheet.papers, dict(sheet.laid) | {"B2": mended}, Taping(slip=0.1, gross=0.0, lift=0.3), 5)
    photos = [tiling.InputFile(f"{n}.jpg", photo_of_sheet(again, one, n)) for n, one in enumerate(SIDES)]
    after = tiling.read_taped_sheet(tiling.ReadTapedRequest(tuple(photos), printed)).reading
    assert not after.lifts
    assert all(end.verdict is JoinVerdict.TRUE for end in after.ends)


@pytest.mark.parametrize(
    ("how", "found"),
    [
        (Laid(upside_down=True), Identity("B2", "B2", upside_down=True)),
        (Laid(shows="B1"), Identity("B2", "B1")),
        (Laid(missing=True), Identity("B2", None, missing=True)),
    ],
    ids=["upside down", "another page", "none"],
)
def test_a_page_that_lies_wrong_is_named(printed: tiling.InputFile, how: Laid, found: Identity) -> None:
    """And the joins around it are not told from it."""
    papers = papers_of(printed.content)
    laid = laid_by(papers, Taping(slip=0.1, gross=0.0), 6) | {"B2": how}
    photo = tiling.InputFile("1.jpg", photo_of_sheet(taped(papers, laid, Taping(), 6), SIDES[0], 6))
    result = tiling.read_taped_sheet(tiling.ReadTapedRequest((photo,), printed))
    wrong = [one for one in result.reading.identities if not one.right]
    assert wrong == [found]
    assert set(result.unseen) == {("A2", "B2"), ("B1", "B2")}


def test_the_picture_shows_the_joins_in_their_colours(
    printed: tiling.InputFile, photos: tuple[tiling.InputFile, ...], sheet: TapedSheet
) -> None:
    """On the first photo: red where the page slipped, green elsewhere."""
    made = tiling.read_taped_sheet(tiling.ReadTapedRequest(photos, printed, picture="seen.png"))
    assert made.picture is not None
    seen = np.asarray(Image.open(BytesIO(made.picture.content)).convert("RGB")).astype(int)
    for tint, least in (((215, 30, 40), 500), ((0, 150, 70), 200)):
        assert (np.abs(seen - tint).max(axis=2) < 12).sum() > least


def test_one_photo_is_less_sure(
    printed: tiling.InputFile, photos: tuple[tiling.InputFile, ...], result: tiling.ReadTapedResult
) -> None:
    """Since what stands up looks like what slipped."""
    one, two = (np.median([end.doubt for end in ends]) for ends in (ends_of(printed, photos[0]), result.reading.ends))
    assert one > 2 * two


def test_the_same_photo_twice_tells_no_more_than_once(
    printed: tiling.InputFile, photos: tuple[tiling.InputFile, ...]
) -> None:
    """Its errors are the same in both, so that its doubt may not shrink."""
    again = tiling.InputFile("again.jpg", photos[0].content)
    once, twice = (tiling.read_taped_sheet(tiling.ReadTapedRequest(given, printed)).reading
                   for given in (photos[:1], (photos[0], again)))  # fmt: skip
    assert len(twice.photos) == 1
    assert [end.doubt for end in twice.ends] == [end.doubt for end in once.ends]


def test_the_photo_of_another_sheet_is_refused(photos: tuple[tiling.InputFile, ...]) -> None:
    """The file has something else."""
    with pytest.raises(NoMeasurementError) as refused:
        ends_of(printed_of(OTHER), photos[0])
    assert refused.value.refusal.reason is Reason.NO_TAPED_SHEET


def test_a_page_that_slipped_far_under_the_next_one_is_measured_by_what_is_left_of_its_marks(
    printed: tiling.InputFile,
) -> None:
    """Half a checker fits best where its other half is: two millimetres off, in both photos alike."""
    papers = papers_of(printed.content)
    taping = Taping(slip=0.1, gross=0.0)
    slipped = taped(papers, laid_by(papers, taping, 7) | {"A1": Laid((2.4, 2.4))}, taping, 7)
    files = [tiling.InputFile(f"{n}.jpg", photo_of_sheet(slipped, one, 30 + n)) for n, one in enumerate(SIDES)]
    for end in ends_of(printed, *files):
        miss = np.array(end.slip) - slipped.slip(end.first, end.second, end.at)
        assert np.abs(miss).max() < max(0.2, 2 * end.doubt)
        assert np.abs(miss).max() < 0.5


def test_what_lies_on_the_sheet_and_under_it_does_no_harm(printed: tiling.InputFile) -> None:
    """A hand, scissors, tins as weights and tape on it, a checked cloth below: what is hidden is doubted, no more."""
    papers = papers_of(printed.content)
    taping = Taping(slip=0.1, gross=0.0, lift=0.3)
    made = littered(taped(papers, laid_by(papers, taping, 8) | {"B2": SLIPPED}, taping, 8), 4)
    sittings = [replace(one, table=Table.CHECKED) for one in SIDES]
    files = [tiling.InputFile(f"{n}.jpg", photo_of_sheet(made, one, 40 + n)) for n, one in enumerate(sittings)]
    ends = ends_of(printed, *files)
    assert len(ends) >= 6
    for end in ends:
        miss = np.abs(np.array(end.slip) - made.slip(end.first, end.second, end.at)).max()
        assert miss < max(0.15, 2.5 * end.doubt)


def test_a_sheet_with_pages_printed_again_is_read_with_all_its_files(printed: tiling.InputFile) -> None:
    """Each page as it was printed last; with the new file alone only its own pages are known."""
    drawing = tiling.InputFile("apron.svg", APRON.replace("M95 260H245V390", "M95 250H235V380").encode())
    again = tiling.reprint(tiling.ReprintRequest((drawing,), printed, name="changed.pdf")).pages
    assert again is not None
    changed = tiling.InputFile("changed.pdf", again.content)
    whole, new = printed_sheet([printed, changed]), printed_sheet([changed])
    fresh = {page.name for page in new.pages}
    assert fresh < {"A1", "A2", "B1", "B2"} == {page.name for page in whole.pages}
    assert len(whole.joins) == 4 > len(new.joins)
    before, after = ({page.name: page.picture for page in printed_sheet([one]).pages} for one in (printed, changed))
    for page in whole.pages:
        source = after if page.name in fresh else before
        assert np.array_equal(page.picture, source[page.name])
    assert earlier_of_sheet(changed, [printed, printed_of(OTHER)]) == (printed,)
    assert earlier_of_sheet(printed, [changed]) == ()
    with pytest.raises(InputUnfit, match="belong to another sheet"):
        printed_sheet([printed, printed_of(APRON, "letter")])


def test_another_print_of_the_same_drawing_is_refused(photos: tuple[tiling.InputFile, ...]) -> None:
    """The drawing is there, at its places; the joins are not."""
    with pytest.raises(NoMeasurementError, match="joins that are not those of this file") as refused:
        ends_of(printed_of(APRON, "letter"), photos[0])
    assert refused.value.refusal.reason is Reason.OTHER_PRINT


def test_a_photo_of_the_page_map_is_told_as_that(printed: tiling.InputFile) -> None:
    """It shows all of the drawing too, small."""
    with closing(pypdfium2.PdfDocument(printed.content)) as document:
        labels = [document.get_page_label(number) for number in range(len(document))]
        drawn = document[labels.index("Map")].render(scale=3.0).to_pil().convert("RGB")
    file, photo = BytesIO(), Image.new("RGB", (drawn.width + 300, drawn.height + 300), (90, 80, 70))
    photo.paste(drawn, (150, 150))
    photo.save(file, "JPEG", quality=90)
    with pytest.raises(NoMeasurementError, match="it shows the page 'Map' of the file"):
        ends_of(printed, tiling.InputFile("map.jpg", file.getvalue()))


def test_a_shaken_photo_is_refused(printed: tiling.InputFile, sheet: TapedSheet) -> None:
    """By as much as a checker's square, which is grey then: what it seems to show would be wrong, and sure of it."""
    shaken = replace(SIDES[0], sensor=Sensor(motion=9.0, motion_towards=30.0))
    with pytest.raises(NoMeasurementError) as refused:
        ends_of(printed, tiling.InputFile("1.jpg", photo_of_sheet(sheet, shaken, 1)))
    assert refused.value.refusal.reason is Reason.TOO_BLURRED


def test_a_sheet_seen_in_parts_is_read_from_all_of_them(printed: tiling.InputFile, sheet: TapedSheet) -> None:
    """Each photo shows half of it, and marks about its middle that the other shows too."""
    halves = [part_of(photo_of_sheet(sheet, SIDES[0], 3), side) for side in (0, 1)]
    files = tuple(tiling.InputFile(f"{n}.jpg", half) for n, half in enumerate(halves))
    both = tiling.read_taped_sheet(tiling.ReadTapedRequest(files, printed))
    assert not both.unseen
    for end in both.reading.ends:
        miss = np.array(end.slip) - sheet.slip(end.first, end.second, end.at)
        assert (np.abs(miss) < 3 * end.doubt).all()


def part_of(photo: bytes, side: int) -> bytes:
    """Six tenths of a photo, from its left or right end."""
    whole, file = Image.open(BytesIO(photo)), BytesIO()
    start = 0 if side == 0 else round(0.4 * whole.width)
    whole.crop((start, 0, start + round(0.6 * whole.width), whole.height)).save(file, "JPEG", quality=92)
    return file.getvalue()


def test_too_coarse_a_photo_is_refused_with_its_figure(
    printed: tiling.InputFile, photos: tuple[tiling.InputFile, ...], sheet: TapedSheet
) -> None:
    """As from so far away that a millimetre is about a pixel; and it says from how near there are enough."""
    small, coarse = BytesIO(), Image.open(BytesIO(photos[0].content)).resize((1000, 750), Image.Resampling.BOX)
    coarse.save(small, "JPEG", quality=92)
    with pytest.raises(NoMeasurementError, match="pixels to the millimetre") as refused:
        ends_of(printed, tiling.InputFile("far.jpg", small.getvalue()))
    assert refused.value.refusal.reason is Reason.TOO_FEW_PIXELS
    told = re.search(r"([0-9.]+) pixels to the millimetre.* take it from about ([0-9]+) cm", str(refused.value))
    assert told
    fine, near = map(float, told.groups())
    assert near == pytest.approx(-camera_over(sheet, SIDES[0]).place[2] / 10 * fine / 1.3, rel=0.2)


def test_a_file_with_nothing_to_tape_is_refused(photos: tuple[tiling.InputFile, ...]) -> None:
    """One page alone has no join, however large; its photos have nothing to tell."""
    with pytest.raises(tiling.InputUnfit, match="no two pages that are taped"):
        ends_of(printed_of(APRON, "a0"), photos[0])


def test_no_photo_is_wrong_use(printed: tiling.InputFile) -> None:
    """Nothing can be told from none."""
    with pytest.raises(tiling.UsageWrong):
        ends_of(printed)
