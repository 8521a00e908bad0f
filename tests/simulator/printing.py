"""A printer that tells small lies: it scales, turns, shears, shifts and cuts off what it is given."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from functools import lru_cache
from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from tests.simulator.camera import Array


class Ink(Enum):
    """How the page comes out: reflectance (0 to 1, linear light) of full ink and spread of an edge in mm."""

    INKJET = (0.035, 0.02)
    LASER = (0.055, 0.01)
    SAVING = (0.24, 0.0)

    @property
    def black(self) -> float:
        """Reflectance of full ink."""
        return self.value[0]

    @property
    def spread(self) -> float:
        """How far ink creeps over an edge, mm."""
        return self.value[1]


@dataclass(frozen=True, slots=True, eq=False)
class Raster:
    """A page as an image: grey (h, w) or RGB (h, w, 3) uint8, and the page's true size in mm."""

    pixels: NDArray[np.uint8]
    width: float
    height: float


_DOTS = 20  # a millimetre
_TURN = 3e-5


def page_of(pdf: bytes | Path, number: int = 0) -> Raster:
    """A page of a PDF through PDFium, in grey, at 20 dots a millimetre.

    PDFium puts the edges of upright rectangles on whole pixels, which moves a saddle by up to half of one. A
    turn of 0.002 degrees stops it from taking them for upright, and it renders them as they lie.
    """
    import pypdfium2
    import pypdfium2.raw as pdfium

    document = pypdfium2.PdfDocument(pdf)
    try:
        page = document[number]
        width, height = page.get_size()
        wide, tall = (round(side * 25.4 / 72.0 * _DOTS) for side in (width, height))
        bitmap = pypdfium2.PdfBitmap.new_native(wide, tall, pdfium.FPDFBitmap_Gray)
        bitmap.fill_rect((255, 255, 255, 255), 0, 0, wide, tall)
        across, down = wide / width, tall / height
        matrix = pdfium.FS_MATRIX(across, _TURN * down, -_TURN * across, down, 0.0, 0.0)
        whole = pdfium.FS_RECTF(0.0, 0.0, float(wide), float(tall))
        pdfium.FPDF_RenderPageBitmapWithMatrix(bitmap, page, matrix, whole, pdfium.FPDF_GRAYSCALE)
        pixels = bitmap.to_numpy()
        pixels = pixels[..., 0] if pixels.ndim == 3 else pixels
        return Raster(pixels.copy(), width * 25.4 / 72.0, height * 25.4 / 72.0)
    finally:
        document.close()


@dataclass(frozen=True, slots=True)
class Printing:
    """What this printer does to a page on its way to the sheet.

    ``across`` and ``down`` scale about the page's middle; ``turn`` and ``shear`` in degrees; ``shift`` in mm;
    ``cut_off`` is the border in mm (left, top, right, bottom) where nothing is printed.
    """

    across: float = 1.0
    down: float = 1.0
    turn: float = 0.0
    shear: float = 0.0
    shift_x: float = 0.0
    shift_y: float = 0.0
    cut_off: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    ink: Ink = Ink.INKJET

    @property
    def matrix(self) -> Array:
        """The 2 x 2 part of the map from page mm to sheet mm."""
        turn, shear = np.radians(self.turn), np.radians(self.shear)
        slant = np.array([[1.0, np.tan(shear)], [0.0, 1.0]])
        rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        return rotation @ slant @ np.diag([self.across, self.down])

    def to_sheet(self, points: Array, page: tuple[float, float], sheet: tuple[float, float]) -> Array:
        """Page points (..., 2) in mm to sheet points, both from the top left corner."""
        offset = points - np.array(page) / 2
        return offset @ self.matrix.T + np.array(sheet) / 2 + [self.shift_x, self.shift_y]

    def to_page(self, points: Array, page: tuple[float, float], sheet: tuple[float, float]) -> Array:
        """Undo :meth:`to_sheet`."""
        offset = points - np.array(sheet) / 2 - [self.shift_x, self.shift_y]
        return offset @ np.linalg.inv(self.matrix).T + np.array(page) / 2


@lru_cache(maxsize=4)
def inked(raster: Raster, ink: Ink, pitch: float, seed: int) -> NDArray[np.uint8]:
    """The page as it comes out of the printer, 0 full ink to 255 bare paper, pixels about ``pitch`` mm."""
    pixels = raster.pixels if raster.pixels.ndim == 2 else cv2.cvtColor(raster.pixels, cv2.COLOR_RGB2GRAY)
    dot = raster.width / pixels.shape[1]
    creep = ink.spread / dot
    if creep > 0.2:
        wider = cv2.erode(pixels, np.ones((3, 3), np.uint8))
        pixels = cv2.addWeighted(pixels, 1.0 - min(1.0, creep), wider, min(1.0, creep), 0.0)
    shrink = int(pitch / dot + 0.25)
    if shrink > 1:
        size = (round(pixels.shape[1] / shrink), round(pixels.shape[0] / shrink))
        pixels = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
    # Softened by half a sample, so that samples `pitch` apart can't miss where an edge lies.
    pixels = cv2.GaussianBlur(pixels, (0, 0), max(0.3, 0.55 * pitch / (raster.width / pixels.shape[1])))
    if ink is not Ink.SAVING:
        return pixels
    # Saving ink leaves bands across the feed and a mottle of bare paper.
    rng = np.random.default_rng(seed)
    rows = cv2.GaussianBlur(rng.normal(0, 1, (pixels.shape[0], 1)).astype(np.float32), (1, 0), 0.1, sigmaY=3.0)
    mottle = rng.normal(0, 14, pixels.shape).astype(np.float32) + 25.0 * rows
    spoilt = pixels + (255.0 - pixels) / 255.0 * np.clip(mottle, 0.0, 90.0)
    return np.clip(spoilt, 0, 255).astype(np.uint8)
