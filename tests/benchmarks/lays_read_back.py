"""Lays as a cutter would cut them: read back from the PDF by another path, over invented patterns, three orders each.

Run by hand: ``python -m tests.benchmarks.lays_read_back [--patterns 40] [--seconds 10]``. Each pattern is an SVG with
its notes, drawn in three orders. Of every lay plan's PDF the paths are read by pypdf and the letters by PDFium; shapely
cuts the cloth out and holds what comes of it against the pattern as invented: every piece as often as the notes say and
the right way round, its grain along the selvedge, its arrow with the nap, its half on the fold, grey where its paper
lies printed side down, nothing nearer than the gap or beyond the cloth. No lay may be longer than a simple bottom-left
one (`tests/cloth/simple_lay.py`), nor by more than 1 % longer than that of another order. Ends with 1 where one is.
"""

from __future__ import annotations

import argparse
import io
import re
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import cos, radians, sin

import numpy as np
import pypdf
import pypdfium2
from pypdf.generic import ContentStream
from shapely import Point, Polygon
from shapely.affinity import affine_transform, translate

from calibrate.run import Run
from tests.cloth.simple_lay import bottom_left
from tiling.cloth.cloth_choice import ClothChoice, ClothFold, Nap
from tiling.cloth.lay_pieces import lay_pieces
from tiling.cloth.lay_search import Effort
from tiling.cloth.wishes import ClothWidth, LayWishes
from tiling.files.inputs import InputFile
from tiling.operations.plan_cloth import PlanClothRequest, PlanClothResult, plan_cloth
from tiling.reading.options import ReadOptions

Ring = np.ndarray
SAME, EVEN = 0.3, 1.2
"""mm by which a piece read back may differ from the one invented, and its two sides to be taken for one."""

NEAR = 0.05
"""mm by which a gap or an edge may seem to be missed: the PDF has µm at a tenth of the size."""


@dataclass(frozen=True)
class Cut:
    """An invented piece: its outline (a half's, its fold on x = 0), its arrow up or down the piece or none, its copies.

    `turned` is by how many degrees it lies turned in the drawing.
    """

    ident: str
    ring: Ring
    cut: str
    copies: int
    head: int
    turned: float

    @property
    def whole(self) -> Polygon:
        """What is cut from cloth, its grain along y."""
        half = Polygon(self.ring)
        return half.union(affine_transform(half, [-1, 0, 0, 1, 0, 0])).buffer(0) if self.cut == "fold" else half


@dataclass(frozen=True)
class Invented:
    """A pattern and the cloth it is laid on."""

    cuts: tuple[Cut, ...]
    choice: ClothChoice


def invented(seed: int) -> Invented:
    """A garment of some six to nine pieces; the seed decides on all of it."""
    random = np.random.default_rng(seed)
    fold = ClothFold.LENGTHWISE if seed % 2 else ClothFold.NONE
    choice = ClothChoice(
        float(random.choice([1100, 1400, 1500])), fold, Nap.ONE_WAY if seed % 4 < 2 else Nap.NONE,
        gap=float(random.choice([0, 3, 20])), selvedge=float(random.choice([0, 10])),
    )  # fmt: skip
    cuts = []

    def add(ring: Sequence[tuple[float, float]], cut: str, copies: int) -> None:
        head = int(random.choice([-1, -1, 1]))
        turned = float(random.choice([0, 0, 90, 180, 17]))
        side = -1.0 if cut == "fold" and random.random() < 0.5 else 1.0
        cuts.append(Cut(f"p{len(cuts)}", np.array(ring) * (side, 1.0), cut, copies, head, turned))

    for _ in range(int(random.integers(1, 4))):  # bodices and skirts, half, with an armhole
        high, wide, neck = random.uniform(350, 750), random.uniform(180, 300), random.uniform(60, 100)
        arm = [(wide - 60 * cos(t), 200 - 160 * cos(t * 0.9)) for t in np.linspace(0.2, 1.57, 9)]
        foot = [(wide + random.uniform(-20, 60), high), (0, high + 15)]
        add([(0, 70), (neck, 0), (neck + 70, 30), *arm, *foot], "fold", 1)
    if random.random() < 0.5:  # a waistband
        long = random.uniform(500, 900)
        add([(0, 0), (40, 0), (40, long), (0, long)], "fold", 1)
    wide, high = random.uniform(300, 420), random.uniform(350, 600)  # a sleeve, its cap uneven
    cap = [(wide * t, 120 - 110 * sin(np.pi * t) ** (1.2 + t)) for t in np.linspace(0, 1, 15)]
    add([*cap, (wide * 0.9, high), (wide * 0.1, high)], "pair", 2)
    add([(0, 0), (random.uniform(90, 200), 0), (0, random.uniform(80, 260))], "single", int(random.integers(1, 3)))
    for _ in range(int(random.integers(1, 4))):  # panels, pockets, bands
        w, h, lean = random.uniform(50, 260), random.uniform(60, 500), random.uniform(-30, 30)
        cut, copies = str(random.choice(["single", "pair"])), int(random.integers(1, 4))
        add([(0, 0), (w, 0), (w + lean, h), (lean / 3, h)], cut, copies)
    if fold is ClothFold.LENGTHWISE and seed % 5 == 0:  # wider than folded cloth
        add([(0, 0), (choice.width * 0.7, 0), (choice.width * 0.66, 420), (20, 420)], "single", 1)
    return Invented(tuple(cuts), choice)


def drawing(made: Invented, order: Sequence[int]) -> tuple[InputFile, InputFile]:
    """The SVG, its pieces in an order beside each other, and its notes."""
    groups, notes, x = [], [], 100.0
    for number in order:
        cut = made.cuts[number]
        c, s = cos(radians(cut.turned)), sin(radians(cut.turned))

        def placed(points: Ring, move: tuple[float, float] = (0.0, 0.0), c: float = c, s: float = s) -> Ring:
            return points @ np.array([[c, s], [-s, c]]) + move

        low = placed(cut.ring).min(axis=0)
        at = (x - float(low[0]), 100.0 - float(low[1]))
        x += float(np.ptp(placed(cut.ring)[:, 0])) + 60.0
        body = Polygon(cut.ring).representative_point()
        reach = float(np.ptp(cut.ring[:, 1])) * 0.1
        shaft = np.array([(body.x, body.y - reach), (body.x, body.y + reach)])
        tip = shaft[0] if cut.head < 0 else shaft[1]
        back = -min(10.0, 0.8 * reach) * cut.head
        barbs = tip + np.array([(-4.0, back), (0.0, 0.0), (4.0, back)])
        lines = [("grainline", placed(shaft, at), ""), ("grainline", placed(barbs, at), "")]
        ring = placed(cut.ring, at)
        if cut.cut == "fold":
            on = [n for n in range(len(ring)) if abs(cut.ring[n, 0]) < 1e-9]
            lines.append(("fold-line", ring[[on[-1], on[0]]], ""))
            ring = np.roll(ring, -on[0], axis=0)
            lines.append(("cutting-line", ring, ""))
        else:
            lines.append(("cutting-line", ring, "Z"))
        paths = "".join(
            f'<path class="{kind}" d="M{"L".join(f"{px:.6f} {py:.6f}" for px, py in points)}{end}"/>'
            for kind, points, end in lines
        )
        groups.append(f'<g class="piece" id="{cut.ident}" fill="none" stroke="#000">{paths}</g>')
        notes.append(f'[pieces.{cut.ident}]\ncopies = {cut.copies}\ncut = "{cut.cut}"\n')
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{x:.0f}mm" height="1500mm" viewBox="0 0 {x:.0f} 1500">'
        f"{''.join(groups)}</svg>"
    )
    return InputFile("invented.svg", svg.encode()), InputFile("invented.toml", "".join(notes).encode())


def planned(made: Invented, order: Sequence[int], seconds: float) -> PlanClothResult:
    """The product's lay plan as a PDF."""
    svg, notes = drawing(made, order)
    choice = made.choice
    widths, effort = (ClothWidth(choice.width),), Effort(seconds)
    wishes = LayWishes(widths, choice.fold, choice.nap, 0.0, choice.gap, choice.selvedge, effort)
    return plan_cloth(PlanClothRequest((svg,), ReadOptions(notes=(notes,)), lays=wishes, name="lay.pdf"), Run())


# -- the PDF ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Painted:
    """A path of the page: its corners in points, what it is painted with, its grey and its width."""

    ring: Ring
    how: str
    grey: float
    width: float


def painted(content: bytes) -> Iterator[Painted]:
    """Every path of the first page, by pypdf's reading of its operators."""
    reader = pypdf.PdfReader(io.BytesIO(content))
    move, saved, points = np.eye(3), [], []
    state = {"g": 0.0, "G": 0.0, "w": 1.0}
    for values, operator in ContentStream(reader.pages[0].get_contents(), reader).operations:
        name = operator.decode()
        if name == "q":
            saved.append((move, dict(state)))
        elif name == "Q":
            move, state = saved.pop()
        elif name == "cm":
            a, b, c, d, e, f = (float(v) for v in values)
            move = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ move
        elif name in state:
            state[name] = float(values[0])
        elif name in {"m", "l"}:
            points.append([*(float(v) for v in values), 1.0])
        elif name in {"f", "S", "s"}:
            ring = (np.array(points) @ move)[:, :2]
            scale = float(np.linalg.norm(move[0, :2]))
            yield Painted(ring, name, state["g" if name == "f" else "G"], state["w"] * scale)
            points = []


def lettered(content: bytes) -> list[tuple[str, float, float]]:
    """Every letter of the first page with the middle of its box, points, by PDFium."""
    document = pypdfium2.PdfDocument(content)
    text = document[0].get_textpage()
    letters = []
    for number in range(text.count_chars()):
        x0, y0, x1, y1 = text.get_charbox(number, loose=True)
        letters.append((text.get_text_range(number, 1), (x0 + x1) / 2, (y0 + y1) / 2))
    document.close()
    return letters


@dataclass(frozen=True)
class Found:
    """A piece read back: its area on the cloth in mm (y = 0 the fold or a selvedge), whether it is dark, its words."""

    shape: Polygon
    dark: bool
    words: str


def read_back(content: bytes, choice: ClothChoice) -> tuple[list[Found], float]:
    """The pieces as they lie, and where the cloth is opened out (infinite where it isn't)."""
    paths = list(painted(content))
    cloth = max((p for p in paths if p.how == "s"), key=lambda p: Polygon(p.ring).area).ring
    page = [p for p in paths if p.how == "f" and p.grey in {0.95, 0.84}]
    fold = max((p for p in paths if p.how == "S" and p.width > 1.5), key=lambda p: len(p.ring), default=None)
    opened = len({(round(x), round(y)) for x, y in cloth}) > 4
    whole = choice.width if opened or fold is None else choice.width / 2
    text = "".join(letter for letter, _, _ in lettered(content))
    needed = float(re.search(r"to buy ([\d.]+) m", text)[1]) * 1000  # type: ignore[index]
    extent = np.ptp(cloth, axis=0)
    turned = abs(extent[0] / extent[1] - whole / needed) < abs(extent[1] / extent[0] - whole / needed)
    scale = whole / extent[0 if turned else 1]
    low, high = cloth.min(axis=0), cloth.max(axis=0)

    def on_cloth(points: Ring) -> Ring:
        # Up the page is y in the PDF: the cloth runs to the right of it, or down it, its upper edge on the right then.
        x, y = points.T
        placed = np.stack([high[1] - y, high[0] - x] if turned else [x - low[0], high[1] - y], axis=1) * scale
        return np.asarray(placed - (0.0, choice.width / 2 if opened else 0.0))

    letters = lettered(content)
    found, used = [], set()
    for path in page:
        area = Polygon(path.ring)
        inside = [n for n, (_, x, y) in enumerate(letters) if area.contains(Point(x, y))]
        used.update(inside)
        words = " ".join("".join(letters[n][0] for n in inside).split())
        found.append((Polygon(on_cloth(path.ring)).buffer(0), path.grey < 0.9, words))
    rest = " ".join("".join(letter for n, (letter, _, _) in enumerate(letters) if n not in used).split())
    named = []
    for shape, dark, words in found:
        listed = re.search(rf"(?:^|[ ·]){words} (p\d[^·]*?\)?)(?= ·|$)", rest) if words.isdigit() else None
        named.append(Found(shape, dark, listed[1] if listed else words))
    corners = on_cloth(cloth)
    return named, float(np.sort(np.unique(np.round(corners[:, 0], 1)))[1]) if opened and fold is not None else (
        0.0 if opened else float("inf"))  # fmt: skip


# -- what a cutter gets ----------------------------------------------------------------------------------------------


def _laid_as(cut: Cut, half: bool) -> Iterator[tuple[Polygon, int, bool]]:
    """The piece with its grain along x: each way its arrow may point, and each side of its paper up."""
    shape = Polygon(cut.ring) if half else cut.whole
    for way in (1, -1):
        # From (across, along) to the cloth: the arrow, which points along `head`, to x * way.
        sign = way * cut.head
        upright = affine_transform(shape, [0, sign, -sign, 0, 0, 0])
        yield upright, way, False
        yield affine_transform(upright, [1, 0, 0, -1, 0, 0]), way, True


def _alike(one: Polygon, other: Polygon, within: float) -> bool:
    there = translate(other, one.bounds[0] - other.bounds[0], one.bounds[1] - other.bounds[1])
    return bool(one.exterior.hausdorff_distance(there.exterior) < within)


def faults(made: Invented, content: bytes) -> list[str]:
    """All that is wrong with a lay as drawn."""
    choice = made.choice
    found, opened_at = read_back(content, choice)
    wrong: list[str] = []
    cuts = {cut.ident: cut for cut in made.cuts}
    got: dict[str, Counter[str]] = {ident: Counter() for ident in cuts}
    ways: list[set[int]] = []
    for one in found:
        name = re.match(r"p\d+", one.words)
        if name is None:
            wrong.append(f"a piece says '{one.words}'")
            continue
        cut, on_fold = cuts[name[0]], "on the fold" in one.words
        ways_of = list(_laid_as(cut, on_fold))
        fits = [(way, over) for shape, way, over in ways_of if _alike(shape, one.shape, EVEN)]
        if not any(_alike(shape, one.shape, SAME) for shape, _, _ in ways_of):
            wrong.append(f"{cut.ident} has another shape or lies askew to its grain")
            continue
        ways.append({way for way, _ in fits})
        overs = {over for _, over in fits}
        if one.dark not in overs or ("printed side down" in one.words) != one.dark:
            wrong.append(f"{cut.ident} lies with its other side up than is said")
        _cut_out(one, cut, choice, overs, got[cut.ident], opened_at, wrong)
    if choice.nap is Nap.ONE_WAY and not set.intersection(*ways):
        wrong.append("arrows point both ways on cloth with a nap")
    for ident, cut in cuts.items():
        wrong += _miscounted(cut, got[ident])
    opened = [_is_opened(one, choice, opened_at) for one in found]
    return wrong + _misplaced([one.shape for one in found], opened, choice, opened_at)


def _is_opened(one: Found, choice: ClothChoice, opened_at: float) -> bool:
    return choice.fold is ClothFold.LENGTHWISE and one.shape.bounds[0] > opened_at - NEAR


def _cut_out(one: Found, cut: Cut, choice: ClothChoice, overs: set[bool], got: Counter[str], opened_at: float,
             wrong: list[str]) -> None:  # fmt: skip
    """Count what the scissors give: seen on the right side, as drawn, mirrored, or either where that is the same."""
    single = choice.fold is ClothFold.NONE or _is_opened(one, choice, opened_at)
    if "on the fold" in one.words:
        got["whole"] += 1
        if single or abs(one.shape.bounds[1]) > NEAR:
            wrong.append(f"{cut.ident} lies off the fold")
        return
    sides = {False: "drawn", True: "mirrored"}
    even = len(overs) == 2
    over = one.dark  # the paper's printed side
    if single:
        got["even" if even else sides[over]] += 1
    elif "upper layer" in one.words:
        got["even" if even else sides[not over]] += 1  # the wrong side is up
    elif "both layers" in one.words:
        got.update({"even": 2} if even else {"drawn": 1, "mirrored": 1})
    else:
        wrong.append(f"{cut.ident} says '{one.words}', and not through which layers it is cut")


def _miscounted(cut: Cut, got: Counter[str]) -> list[str]:
    total = sum(got.values())
    mirrored = cut.copies // 2 if cut.cut == "pair" else 0
    if total != cut.copies:
        return [f"{cut.ident} is cut {total} times, not {cut.copies}"]
    if cut.cut != "fold" and got["drawn"] + got["mirrored"] == total and got["mirrored"] != mirrored:
        return [f"{cut.ident} comes out mirrored {got['mirrored']} times, not {mirrored}"]
    return []


def _misplaced(shapes: list[Polygon], opened: list[bool], choice: ClothChoice, opened_at: float) -> list[str]:
    wrong = []
    for one in range(len(shapes)):
        band = choice.opened_band if opened[one] else choice.band
        low, high = shapes[one].bounds[1], shapes[one].bounds[3]
        if low < band.low - NEAR or high > band.high + NEAR or shapes[one].bounds[0] < -NEAR:
            wrong.append(f"a piece lies from {low:.1f} to {high:.1f} across, off {band.low:.1f} to {band.high:.1f}")
        if not opened[one] and shapes[one].bounds[2] > opened_at + NEAR:
            wrong.append("a piece lies across the place where the cloth is opened out")
        for other in range(one):
            apart = shapes[one].distance(shapes[other])
            if apart < choice.gap - NEAR or shapes[one].intersection(shapes[other]).area > 1.0 + 30.0 * NEAR:
                wrong.append(f"two pieces lie {apart:.2f} mm from each other")
    return wrong


def orders(count: int, seed: int) -> list[list[int]]:
    """As invented, backwards, and shuffled."""
    plain = list(range(count))
    return [plain, plain[::-1], [int(n) for n in np.random.default_rng(seed).permutation(count)]]


def simple_length(made: Invented, result: PlanClothResult) -> float:
    """The simple lay's length, mm, of the pieces as they first come to lie."""
    report, choice = result.report, made.choice
    pieces = lay_pieces(report.seam_lines, report.cutting, "main", choice.fold, choice.band.width)
    return bottom_left(pieces, choice)


def main() -> int:
    """Print a row for each pattern."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--patterns", type=int, default=40)
    parser.add_argument("--first", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=10.0)
    chosen = parser.parse_args()
    print("| pattern | pieces | cloth | lays, cm | spread % | simple, cm | saved % | faults |")
    print("|---|---|---|---|---|---|---|---|")
    good, saved = True, []
    for seed in range(chosen.first, chosen.first + chosen.patterns):
        made = invented(seed)
        results = [planned(made, order, chosen.seconds) for order in orders(len(made.cuts), seed)]
        lengths = [result.report.lays[0].length for result in results]
        simple = simple_length(made, results[0])
        wrong = [fault for result in results if result.drawing for fault in faults(made, result.drawing.content)]
        spread = (max(lengths) / min(lengths) - 1) * 100
        if spread > 1.0 or max(lengths) > simple + NEAR or wrong:
            good = False
            wrong.append("(!)")
        saved.append((1 - max(lengths) / simple) * 100)
        choice = made.choice
        cloth = f"{choice.width / 10:.0f}, {choice.fold.value}, nap {choice.nap.value}, gap {choice.gap:.0f}"
        lays = ", ".join(f"{length / 10:.1f}" for length in lengths)
        said = "; ".join(dict.fromkeys(wrong)) or "none"
        row = (seed, len(made.cuts), cloth, lays, f"{spread:.2f}", f"{simple / 10:.1f}", f"{saved[-1]:.1f}", said)
        print(f"| {' | '.join(str(cell) for cell in row)} |", flush=True)
    print(f"saved against the simple lay: median {np.median(saved):.1f} %, least {min(saved):.1f} %")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
