"""The sample pattern: its seams fit, its wearer is a real size, and the kept files are what the script draws."""

from __future__ import annotations

import importlib.util
import random
import re
import sys
import tomllib
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import numpy as np
import pypdf
import pytest
from PIL import Image
from scipy.integrate import quad

from tiling.cloth.steps import steps_of
from tiling.files.inputs import read_input
from tiling.notes import Notes, StepNote

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def script() -> ModuleType:
    """The script that draws the samples, imported from its file."""
    sys.path.insert(0, str(SAMPLES))
    try:
        spec = importlib.util.spec_from_file_location("draw_smock", SAMPLES / "draw_smock.py")
        assert spec is not None and spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        return module
    finally:
        sys.path.remove(str(SAMPLES))


def length_of(data: str) -> float:
    """Arc length of a path of absolute M, L and C steps, by scipy's adaptive quadrature (not by our own curves)."""
    total, here = 0.0, (0.0, 0.0)
    for letter, numbers in re.findall(r"([MLCZ])([^MLCZ]*)", data):
        values = [float(n) for n in numbers.split()]
        points = [here, *zip(values[::2], values[1::2], strict=True)]
        if letter == "L":
            (x0, y0), (x1, y1) = points
            total += ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
        elif letter == "C":
            total += quad(speed, 0.0, 1.0, args=(points,), epsabs=1e-9)[0]
        here = points[-1]
    return total


def speed(t: float, p: list[tuple[float, float]]) -> float:
    """The length of a cubic's derivative."""
    parts = [
        3 * ((1 - t) ** 2 * (p[1][i] - p[0][i]) + 2 * (1 - t) * t * (p[2][i] - p[1][i]) + t**2 * (p[3][i] - p[2][i]))
        for i in (0, 1)
    ]
    return float((parts[0] ** 2 + parts[1] ** 2) ** 0.5)


@pytest.fixture(scope="module")
def lengths() -> dict[str, float]:
    """Lengths in mm by ``piece.line``, of the stitching and placement lines in the kept SVG."""
    root = ET.parse(SAMPLES / "potting-smock.svg").getroot()
    found: dict[str, float] = {}
    for piece in root.iter(f"{SVG}g"):
        if piece.get("class") != "piece":
            continue
        for path in piece.iter(f"{SVG}path"):
            if path.get("class") in {"stitching-line", "placement-line"}:
                key = f"{piece.get('id')}.{path.get('data-name')}"
                found[key] = found.get(key, 0.0) + length_of(path.get("d", ""))
    return found


@pytest.fixture(scope="module")
def notes() -> dict[str, object]:
    """The notes beside the drawing, as plain TOML."""
    return tomllib.loads((SAMPLES / "potting-smock.toml").read_text(encoding="utf-8"))


def test_the_pictures_of_the_steps_are_shown_and_drawn_from_the_draft(
    notes: dict, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each that is named lies beside the drawing, and looks as the script draws it."""
    drawing = read_input(SAMPLES / "potting-smock.svg")
    kept = tuple(StepNote(step["title"], step["text"], step.get("picture", "")) for step in notes["steps"])
    steps, findings = steps_of(Notes(steps=kept), [drawing])
    assert findings == ()
    named = [step.picture for step in kept if step.picture]
    assert sum(step.picture is not None for step in steps) == len(named) == 3
    monkeypatch.syspath_prepend(str(SAMPLES))
    drawn = importlib.import_module("draw_steps")
    monkeypatch.setattr(drawn, "HERE", tmp_path)
    drawn.main()
    for name in named:
        one, other = (np.asarray(Image.open(f / name).convert("L"), dtype=float) for f in (SAMPLES, tmp_path))
        assert one.shape == other.shape and np.abs(one - other).mean() < 0.5


def test_each_seam_joins_lines_of_fitting_length(lengths: dict[str, float], notes: dict) -> None:
    """First = second + ease to 0.5 mm for every seam in the notes: the sleeve cap fits its armhole."""
    for seam in notes["seams"]:
        first = sum(lengths[ref] for ref in seam["first"])
        second = sum(lengths[ref] for ref in seam["second"])
        ease = float(seam.get("ease", "0mm").removesuffix("mm"))
        assert first - second == pytest.approx(ease, abs=0.5), seam["name"]


def test_the_ease_of_the_notes_is_that_of_the_drawing(lengths: dict[str, float], notes: dict) -> None:
    """Body measure + ease = finished measure: front and back are on the fold, so four times a level line."""
    for measure, ease in notes["ease"].items():
        finished = 2 * lengths[f"front.{measure}"] + 2 * lengths[f"back.{measure}"]
        asked = float(ease.removesuffix("mm")) + float(notes["drawn-for"][measure].removesuffix("mm"))
        assert finished == pytest.approx(asked, abs=1.0), measure


@pytest.mark.parametrize(
    ("measure", "least", "most"),
    [
        ("waist", 710, 1040),  # ANSUR II (2012), women, waistcircumference, 5th to 95th percentile
        ("hip", 901, 1156),  # the same, buttockcircumference
        ("wrist", 140, 170),  # from memory: ANSUR II, women, wristcircumference
        ("bust", 824, 1090),  # from memory: ANSUR II, women, chestcircumference
    ],
)
def test_the_smock_is_drawn_for_a_common_size(notes: dict, measure: str, least: int, most: int) -> None:
    """Body measures lie within the 5th to 95th percentile of a survey."""
    assert least <= float(notes["drawn-for"][measure].removesuffix("mm")) <= most


NUMBER = re.compile(r"-?\d*\.?\d+")


def differences(one: str, other: str) -> list[float]:
    """By how much the numbers of two texts differ that are the same but for their numbers."""
    assert NUMBER.sub("#", one) == NUMBER.sub("#", other)
    pairs = zip(NUMBER.findall(one), NUMBER.findall(other), strict=True)
    return [abs(float(a) - float(b)) for a, b in pairs]


def pdf_content(folder: Path) -> str:
    """The page content of the PDF sample in a folder, its mediabox first; compression differs by zlib."""
    page = pypdf.PdfReader(folder / "potting-smock-two-sizes.pdf").pages[0]
    return f"{page.mediabox} " + page.get_contents().get_data().decode("latin-1")


def test_the_kept_files_are_what_the_script_draws(script: ModuleType, tmp_path: Path) -> None:
    """Same draft, same drawing: every word, and every number to the last digit written, 0.001 mm.

    Processors differ in the last bits of sines and square roots, so a length may lie just on the other side of half
    of that digit.
    """
    script.main(tmp_path)
    svg = "potting-smock.svg"
    assert max(differences((tmp_path / svg).read_text("utf-8"), (SAMPLES / svg).read_text("utf-8"))) < 0.0011
    assert max(differences(pdf_content(tmp_path), pdf_content(SAMPLES))) < 0.0011


def test_the_comparison_fails_for_a_line_drawn_elsewhere(tmp_path: Path) -> None:
    """Two thousandths of a millimetre are seen, and so is a line that is missing."""
    kept = (SAMPLES / "potting-smock.svg").read_text("utf-8")
    assert max(differences(kept, kept.replace("M30 204C", "M30.002 204C"))) > 0.0011
    with pytest.raises(AssertionError):
        differences(kept, kept.replace("M30 204C", "M30 204L30 205C"))


@pytest.mark.parametrize("seed", range(3))
def test_noise_in_the_last_bits_of_the_measures_gives_the_same_files(script: ModuleType, seed: int) -> None:
    """Measures that differ by a part in 10^12, more than any processor's rounding: the same drawing to the byte."""
    chance = random.Random(seed)

    def shaken(size: object) -> object:
        values = {name: getattr(size, name) for name in size.__slots__}  # type: ignore[attr-defined]
        noisy = {n: v * (1 + chance.uniform(-1e-12, 1e-12)) for n, v in values.items() if isinstance(v, int | float)}
        return replace(size, **noisy)  # type: ignore[type-var]

    drafts = [[script.draft(size) for size in sizes] for sizes in (script.SIZES, [shaken(s) for s in script.SIZES])]
    assert script.as_svg(drafts[0][0]) == script.as_svg(drafts[1][0])
    names = [size.name for size in script.SIZES]
    one, other = (script.as_pdf(list(zip(names, sizes, strict=True))) for sizes in drafts)
    assert one == other


def test_the_two_sizes_are_layers_by_name() -> None:
    """The PDF's optional content groups (ISO 32000-1, 8.11) are called size 1 and size 2, and both are marked."""
    reader = pypdf.PdfReader(SAMPLES / "potting-smock-two-sizes.pdf")
    groups = reader.root_object["/OCProperties"]["/OCGs"]
    assert [group.get_object()["/Name"] for group in groups] == ["size 1", "size 2"]
    content = reader.pages[0].get_contents().get_data()
    assert content.count(b"/OC /size1 BDC") == content.count(b"/OC /size2 BDC") == 1
    width, height = (float(n) * 25.4 / 72 for n in reader.pages[0].mediabox[2:])
    assert (width, height) == pytest.approx((1300, 1050), abs=0.01)


def test_size_2_is_larger_all_round(script: ModuleType) -> None:
    """60 mm more at the bust, and its own seams fit as well."""
    small, large = (script.draft(size) for size in script.SIZES)
    assert 4 * (script.SIZES[1].bust - script.SIZES[0].bust) == 60
    for front, back, sleeve, *_ in (small, large):
        armholes = front.edge("armhole").length() + back.edge("armhole").length()
        caps = sleeve.edge("cap-front").length() + sleeve.edge("cap-back").length()
        assert caps - armholes == pytest.approx(14.0, abs=0.01)
        assert front.edge("side").length() == pytest.approx(back.edge("side").length(), abs=0.01)


def test_allowances_lie_outside_the_stitching_at_their_width(script: ModuleType) -> None:
    """The cutting line runs 15 mm outside the curved armhole to 0.03 mm (shapely measures)."""
    import numpy as np
    from shapely import LineString, Point

    front = script.draft(script.SIZES[0])[0]
    cutting = LineString(front.lines[0].path.flatten(0.001)[0])
    armhole = np.vstack([script.Path.from_cubics(list(front.edge("armhole").cubics)).flatten(0.01)[0]])
    apart = [cutting.distance(Point(*p)) for p in armhole]
    assert max(abs(a - 15.0) for a in apart[1:-1]) < 0.03
