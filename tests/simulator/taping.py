"""A sheet taped from pages, as a person with scissors lays it, and photos of it, with the truth about every join.

Pages are cut along their left and upper join lines and laid over their neighbours, row by row. A laid page has slipped
and turned a little, its printer stretched it a little, its cut strays, and paper never lies quite flat: long waves run
through the whole sheet, and cut edges stand up. Lengths are mm on the layout; (x, y) to the right and down.
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, field, replace
from io import BytesIO

import cv2
import numpy as np
import pypdfium2
from numpy.typing import NDArray
from PIL import Image
from pypdf import PdfReader

from tests.simulator.camera import Array, Camera, Phone, Stance, held
from tests.simulator.scene import Table, table_top
from tests.simulator.sensor import File, Sensor, developed, stored
from tiling.drawing.joins import joins_of, kept_part
from tiling.files.inputs import InputFile
from tiling.record.printed_file import read_printed
from tiling.shapes import Point

__all__ = [
    "Laid",
    "Paper",
    "Sitting",
    "TapedSheet",
    "Taping",
    "camera_over",
    "laid_by",
    "littered",
    "papers_of",
    "photo_of_sheet",
    "taped",
]

TEXTURE = 5.0
"""Pixels to the mm of the sheet that is photographed."""
HEIGHTS = 0.5
"""The same of its heights."""
_BEYOND = 30.0  # mm of table around the sheet in texture and heights


@dataclass(frozen=True, slots=True)
class Paper:
    """One printed page before it is cut.

    ``raster`` is the page in grey, ``pitch`` mm a pixel; ``corner`` is where its left upper corner lies on the layout,
    ``seen`` what of it is seen on a true sheet, from the cut edges on: left, top, right, bottom.
    """

    name: str
    raster: NDArray[np.uint8]
    pitch: float
    corner: tuple[float, float]
    seen: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Laid:
    """How a page lies: slipped by (x, y), turned by degrees about the middle of what is seen of it, stretched.

    ``shows`` names the page that lies there instead, ``upside_down`` or not.
    """

    shift: tuple[float, float] = (0.0, 0.0)
    turn: float = 0.0
    scale: tuple[float, float] = (1.0, 1.0)
    lifts: tuple[float, float] = (0.0, 0.0)
    shows: str = ""
    upside_down: bool = False
    missing: bool = False

    def moved(self, points: Array, middle: Array) -> Array:
        """Where points (n, 2) of the layout lie on the sheet."""
        angle = np.radians(self.turn)
        spin = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
        return ((points - middle) * self.scale) @ spin + middle + self.shift


@dataclass(frozen=True, slots=True)
class Taping:
    """What a person's hands do: standard deviations, and the share of pages that slip by 1 to 3 mm."""

    slip: float = 0.3
    gross: float = 0.08
    turn: float = 0.12
    scale: float = 0.001
    stray: float = 0.25
    wave: float = 2.0
    lift: float = 0.0
    tape: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class TapedSheet:
    """The sheet as it is photographed: ``print`` in grey and ``heights`` in mm, both from ``corner`` on."""

    papers: tuple[Paper, ...]
    laid: Mapping[str, Laid]
    print: NDArray[np.uint8]
    heights: NDArray[np.float32]
    corner: tuple[float, float]
    size: tuple[float, float]

    def slip(self, first: str, second: str, at: tuple[float, float]) -> Array:
        """How far the second page lies from where it should relative to the first at a place of the layout, (2,)."""
        papers = {paper.name: paper for paper in self.papers}
        here = np.array([at])
        places = [self.laid[name].moved(here, _middle(papers[name]))[0] for name in (first, second)]
        return np.asarray(places[1] - places[0])


def papers_of(printed: bytes, pitch: float = 0.15) -> tuple[Paper, ...]:
    """The pages of a file printed without correction, as poppler draws them where it is at hand, else PDFium.

    Either way in other pixels than those of the reader of photos.
    """
    plan = read_printed(InputFile("pages.pdf", printed)).plan
    labels = PdfReader(BytesIO(printed)).page_labels
    found = []
    for tile in plan.to_print:
        raster = _drawn(printed, labels.index(tile.name), pitch)
        joins = joins_of(plan, tile)
        seen, sides = kept_part(tile, joins), {join.side.name for join in joins}
        corner = plan.to_page(tile).inverse().point(Point(0.0, 0.0))
        far = corner + Point(raster.shape[1] * pitch, raster.shape[0] * pitch)
        found.append(Paper(tile.name, raster, pitch, (corner.x, corner.y), (
            seen.x0 if "LEFT" in sides else corner.x, seen.y0 if "TOP" in sides else corner.y,
            seen.x1 if "RIGHT" in sides else far.x, seen.y1 if "BOTTOM" in sides else far.y,
        )))  # fmt: skip
    return tuple(found)


def _drawn(printed: bytes, number: int, pitch: float) -> NDArray[np.uint8]:
    """A page in grey, drawn twice as fine and averaged: programs lay areas on whole pixels."""
    fine = 25.4 / pitch * 2
    if shutil.which("pdftoppm"):
        page = ["-f", str(number + 1), "-l", str(number + 1)]
        made = subprocess.run(
            ["pdftoppm", "-r", f"{fine:.6f}", "-gray", *page, "-singlefile", "-"], input=printed, capture_output=True,
            check=True,
        )  # fmt: skip
        picture = np.asarray(Image.open(BytesIO(made.stdout)))
    else:
        with closing(pypdfium2.PdfDocument(printed)) as document:
            picture = document[number].render(scale=fine / 72.0, grayscale=True).to_numpy().squeeze()
    rows, columns = (side // 2 for side in picture.shape)
    halves = picture[: 2 * rows, : 2 * columns].reshape(rows, 2, columns, 2)
    return np.asarray(np.round(halves.mean(axis=(1, 3))), np.uint8)


def _middle(paper: Paper) -> Array:
    x0, y0, x1, y1 = paper.seen
    return np.array([(x0 + x1) / 2, (y0 + y1) / 2])


def laid_by(papers: Sequence[Paper], taping: Taping, seed: int) -> dict[str, Laid]:
    """How each page lies, at random."""
    rng = np.random.default_rng(seed)
    found = {}
    for paper in papers:
        shift = rng.normal(0.0, taping.slip / np.sqrt(2), 2)
        if rng.uniform() < taping.gross:
            way = rng.uniform(0, 2 * np.pi)
            shift += rng.uniform(1.0, 3.0) * np.array([np.cos(way), np.sin(way)])
        lifts = np.abs(rng.normal(0.0, taping.lift, 2)) if taping.lift else (0.0, 0.0)
        found[paper.name] = Laid(
            (float(shift[0]), float(shift[1])), float(rng.normal(0.0, taping.turn)),
            (1.0 + float(rng.normal(0.0, taping.scale)), 1.0 + float(rng.normal(0.0, taping.scale))),
            (float(lifts[0]), float(lifts[1])),
        )  # fmt: skip
    return found


def taped(papers: Sequence[Paper], laid: Mapping[str, Laid], taping: Taping = Taping(), seed: int = 0) -> TapedSheet:
    """The sheet, page upon page in the order given: each is laid over those to its left and above it."""
    rng = np.random.default_rng(seed + 1)
    low = np.min([paper.seen[:2] for paper in papers], axis=0) - _BEYOND
    high = np.max([paper.seen[2:] for paper in papers], axis=0) + _BEYOND
    size = high - low
    shown = np.full((round(size[1] * TEXTURE), round(size[0] * TEXTURE)), 0, np.uint8)
    heights = _waves((round(size[1] * HEIGHTS), round(size[0] * HEIGHTS)), taping.wave, rng)
    whole = np.zeros_like(heights)
    names = {paper.name: paper for paper in papers}
    for paper in papers:
        how = laid[paper.name]
        if not how.missing:
            _lay(paper, names[how.shows or paper.name], how, shown, low, taping, rng)
            _lift(paper, how, heights, whole, low)
    return TapedSheet(tuple(papers), dict(laid), shown, heights * (whole > 0), (low[0], low[1]), (size[0], size[1]))


def littered(sheet: TapedSheet, seed: int = 0) -> TapedSheet:
    """The sheet with what lies on it at a kitchen table: a hand, scissors, four tins as weights, strips of tape."""
    rng = np.random.default_rng(seed)
    shown = sheet.print.copy()
    size = np.array(sheet.size)

    def spot() -> Array:
        return np.asarray(rng.uniform(0.12, 0.88, 2) * size)

    def at(middle: Array, away: float = 0.0, way: float = 0.0) -> tuple[int, int]:
        x, y = (middle + away * np.array([np.cos(way), np.sin(way)])) * TEXTURE
        return round(float(x)), round(float(y))

    def wide(mm: float) -> int:
        return round(mm * TEXTURE)

    for _ in range(12):
        column, row = at(spot())
        strip = shown[row : row + wide(19), column : column + wide(60)]
        strip[:] = (strip * 0.93 + 6).astype(np.uint8)  # matt tape: paler ink, darker paper
    for corner in ((0.1, 0.1), (0.9, 0.12), (0.12, 0.9), (0.88, 0.88)):
        cv2.circle(shown, at(corner * size), wide(37), 70, -1, cv2.LINE_AA)
        cv2.circle(shown, at(corner * size), wide(33), 190, wide(2), cv2.LINE_AA)
    palm = spot()
    cv2.ellipse(shown, at(palm), (wide(42), wide(52)), 20.0, 0, 360, 150, -1, cv2.LINE_AA)
    for way in np.radians(-130 + 22 * np.arange(5)):
        cv2.line(shown, at(palm), at(palm, 105.0, way), 150, wide(17), cv2.LINE_AA)
    screw = spot()
    for way in (0.5, 0.75):
        cv2.line(shown, at(screw), at(screw, 110.0, way), 120, wide(9), cv2.LINE_AA)
        cv2.circle(shown, at(screw, -30.0, 2 * way), wide(16), 40, wide(5), cv2.LINE_AA)
    return replace(sheet, print=shown)


def _waves(shape: tuple[int, int], size: float, rng: np.random.Generator) -> NDArray[np.float32]:
    """Long waves of paper that never lies flat, from 0 on."""
    rough = rng.normal(0.0, 1.0, (max(shape[0] // 60, 3), max(shape[1] // 60, 3)))
    smooth = cv2.resize(rough.astype(np.float32), shape[::-1], interpolation=cv2.INTER_CUBIC)
    return np.asarray((smooth - smooth.min()) / max(float(np.ptp(smooth)), 1e-6) * 2 * size, np.float32)


def _placing(paper: Paper, shown: Paper, how: Laid) -> NDArray[np.float64]:
    """The affine move (2, 3) from pixels of the page that is shown to mm on the sheet."""
    height, width = shown.raster.shape
    corners = np.array([[-0.5, -0.5], [width - 0.5, -0.5], [-0.5, height - 0.5]])
    on_layout = (corners + 0.5) * shown.pitch + paper.corner
    if how.upside_down:
        on_layout = 2 * _middle(paper) - on_layout
    moved = how.moved(on_layout, _middle(paper))
    return np.asarray(cv2.getAffineTransform(corners.astype(np.float32), moved.astype(np.float32)))


def _lay(
    paper: Paper, shown: Paper, how: Laid, sheet: NDArray[np.uint8], low: Array, taping: Taping,
    rng: np.random.Generator,
) -> None:  # fmt: skip
    outline = (how.moved(_cut(paper, taping.stray, rng), _middle(paper)) - low) * TEXTURE - 0.5
    first = np.maximum(np.floor(outline.min(axis=0)).astype(int) - 4, 0)
    last = np.minimum(np.ceil(outline.max(axis=0)).astype(int) + 4, sheet.shape[::-1])
    part = sheet[first[1] : last[1], first[0] : last[0]]
    size = part.shape[::-1]
    to_sheet = _placing(paper, shown, how)
    to_part = np.column_stack([to_sheet[:, :2], to_sheet[:, 2] - low]) * TEXTURE
    to_part[:, 2] -= 0.5 + first
    there = cv2.warpAffine(shown.raster, to_part, size, flags=cv2.INTER_LINEAR, borderValue=255)
    mask = np.zeros_like(part)
    cv2.fillPoly(mask, [np.round((outline - first) * 16).astype(np.int32)], 255, cv2.LINE_AA, 4)
    # Paper has a thickness: beside a cut edge lies a thin shadow. Ink is never quite black, the table is 0.
    cover = mask.astype(np.float32) / 255
    shade = np.clip(cv2.GaussianBlur(cover, (0, 0), 0.15 * TEXTURE) - cover, 0.0, 1.0)
    under = part * (1.0 - 0.25 * shade)
    part[:] = np.clip(under * (1.0 - cover) + np.maximum(there, 1) * cover, 0, 255).astype(np.uint8)


def _cut(paper: Paper, stray: float, rng: np.random.Generator) -> Array:
    """The outline of the page once it is cut: scissors stray on the left and above, other sides are as they came."""
    x0, y0, _, _ = paper.seen
    height, width = paper.raster.shape
    x1, y1 = paper.corner[0] + width * paper.pitch, paper.corner[1] + height * paper.pitch
    steps = np.linspace(0.0, 1.0, 12)
    left_cut, top_cut = x0 > paper.corner[0] + 0.5, y0 > paper.corner[1] + 0.5
    off = rng.normal(0.0, stray, (2, len(steps)))
    left = np.column_stack([x0 + off[0] * left_cut, y0 + (y1 - y0) * steps])
    top = np.column_stack([x0 + (x1 - x0) * steps, y0 + off[1] * top_cut])
    return np.vstack([top, [[x1, y1]], left[::-1][:-1]])


def _lift(paper: Paper, how: Laid, heights: NDArray[np.float32], whole: NDArray[np.float32], low: Array) -> None:
    """Raise the page's cut edges, on this page alone."""
    x0, y0, x1, y1 = ((side - edge) * HEIGHTS for side, edge in zip(paper.seen, (*low, *low), strict=True))
    rows, columns = slice(round(y0), round(y1)), slice(round(x0), round(x1))
    whole[rows, columns] = 1.0
    down, across = np.mgrid[rows, columns] / HEIGHTS
    left, top = how.lifts
    heights[rows, columns] += left * np.exp(-(across - x0 / HEIGHTS) / 12.0) + top * np.exp(
        -(down - y0 / HEIGHTS) / 12.0
    )


@dataclass(frozen=True, slots=True)
class Sitting:
    """How a photo of a sheet is taken."""

    phone: Phone = field(default_factory=Phone)
    stance: Stance = field(default_factory=Stance)
    sensor: Sensor = field(default_factory=Sensor)
    file: File = field(default_factory=File)
    table: Table = Table.WOOD
    gradient: float = 0.2


def camera_over(sheet: TapedSheet, sitting: Sitting) -> Camera:
    """The camera that sees all of the sheet."""
    (x, y), (width, height) = sheet.corner, sheet.size
    edges = [(x + _BEYOND * 0.5, y + _BEYOND * 0.5), (x + width - _BEYOND * 0.5, y + height - _BEYOND * 0.5)]
    corners = np.array([[a, b, 0.0] for a in (edges[0][0], edges[1][0]) for b in (edges[0][1], edges[1][1])])
    return held(sitting.phone, sitting.stance, corners)


def photo_of_sheet(sheet: TapedSheet, sitting: Sitting = Sitting(), seed: int = 0) -> bytes:
    """The photo as a file."""
    camera = camera_over(sheet, sitting)
    light = np.empty((camera.height, camera.width, 3), np.float32)
    table = table_top(sitting.table, seed % 5)
    for top in range(0, camera.height, 200):
        rows = np.arange(top, min(top + 200, camera.height))
        light[rows[0] : rows[-1] + 1] = _band(sheet, camera, table, rows, sitting.gradient)
    return stored(developed(light, sitting.sensor, seed), sitting.file)


def _band(
    sheet: TapedSheet, camera: Camera, table: NDArray[np.float32], rows: NDArray[np.intp], gradient: float
) -> NDArray[np.float32]:
    """What some rows of pixels see, averaged over four samples each."""
    total = np.zeros((len(rows), camera.width, 3), np.float32)
    for dx, dy in ((-0.25, -0.25), (0.25, -0.25), (-0.25, 0.25), (0.25, 0.25)):
        pixels = np.stack(np.meshgrid(np.arange(camera.width) + dx, rows + dy), axis=-1)
        rays = camera.rays(pixels.astype(np.float64))
        rise, at = np.zeros(rays.shape[:2], np.float32), np.empty(0)
        for _ in range(3):
            far = (-rise - camera.place[2]) / rays[..., 2]
            at = camera.place[:2] + far[..., None] * rays[..., :2] - sheet.corner
            rise = cv2.remap(
                sheet.heights, (at[..., 0] * HEIGHTS - 0.5).astype(np.float32),
                (at[..., 1] * HEIGHTS - 0.5).astype(np.float32), cv2.INTER_LINEAR, borderValue=0,
            )  # fmt: skip
        x, y = ((at[..., axis] * TEXTURE - 0.5).astype(np.float32) for axis in (0, 1))
        ink = cv2.remap(sheet.print, x, y, cv2.INTER_LINEAR, borderValue=0).astype(np.float32)
        paper = (0.04 + 0.78 * ink / 255.0)[..., None] * np.array([1.0, 0.99, 0.96], np.float32)
        x, y = ((at[..., axis] / 0.3 + 1200).astype(np.float32) for axis in (0, 1))
        ground = cv2.remap(table, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_WRAP)
        total += np.where((ink > 0)[..., None], paper, ground)
    across = (np.arange(camera.width) / camera.width - 0.5).astype(np.float32)
    return total / 4 * (1.0 + gradient * across)[None, :, None]
