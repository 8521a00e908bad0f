"""What lies on the table, and how much light each pixel gets from it."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum
from functools import lru_cache
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import make_interp_spline

from tests.simulator.printing import Printing, Raster, inked
from tests.simulator.sheet import Sheet, outside_box

if TYPE_CHECKING:
    from tests.simulator.camera import Array, Camera
    from tests.simulator.objects import Thing

Picture = NDArray[np.float32]


class Table(Enum):
    """The table top: mean reflectance in linear light, and its pattern."""

    DARK = "dark"
    LIGHT = "light"
    WOOD = "wood"
    CHECKED = "checked"
    SPECKLED = "speckled"
    WHITE = "white"
    STRIPED = "striped"


@dataclass(frozen=True, slots=True)
class Light:
    """Where the light comes from and what stands in its way.

    ``towards_x``, ``towards_y``: mm a shadow is thrown per mm of height. ``gradient`` is the loss of light
    from one side of the frame to the other in direction ``gradient_towards``. A hard shadow of strength
    ``shadow`` (0 to 1) lies beyond a line ``shadow_at`` mm from the sheet's middle. ``glare`` is the
    strength of a spot of light reflected in the paper, 1 being as bright as the paper itself.
    """

    towards_x: float = 0.3
    towards_y: float = -0.4
    gradient: float = 0.0
    gradient_towards: float = 0.0
    shadow: float = 0.0
    shadow_at: float = 20.0
    shadow_towards: float = 30.0
    shadow_blur: float = 3.0
    glare: float = 0.0
    glare_x: float = 0.5
    glare_y: float = 0.5
    glare_size: float = 0.08


class Layer(Enum):
    """Whether a flat thing lies under the sheet or on it."""

    UNDER = "under"
    OVER = "over"


@dataclass(frozen=True, slots=True)
class Flat:
    """Something flat: another page, a board game, a cloth; its middle (x, y) mm from the sheet's middle."""

    raster: Raster
    x: float
    y: float
    turn: float = 0.0
    layer: Layer = Layer.UNDER


@dataclass(frozen=True, slots=True)
class Scene:
    """All that is photographed: the page printed on the sheet, the things on it, the table and the light."""

    page: Raster
    printing: Printing
    sheet: Sheet
    things: tuple[Thing, ...] = ()
    flats: tuple[Flat, ...] = ()
    table: Table = Table.DARK
    light: Light = field(default_factory=Light)
    paper: float = 0.82
    seed: int = 0
    contact: float = 0.0
    """How dark the seam is where the sheet's edge lies on what is under it, over half a millimetre."""


class Smooth:
    """Evaluates smooth functions of the pixel on a coarse net and interpolates them by cubic splines."""

    def __init__(self, camera: Camera, step: int = 80) -> None:
        self.columns = np.linspace(-1.0, camera.width, max(8, camera.width // step))
        self.rows = np.linspace(-1.0, camera.height, max(8, camera.height // step))
        # In single precision: a step is 3e-5 mm on a sheet, and twice as fast.
        self._across = make_interp_spline(self.columns, np.eye(len(self.columns), dtype=np.float64), k=3)
        self._down = make_interp_spline(self.rows, np.eye(len(self.rows), dtype=np.float64), k=3)
        x, y = np.meshgrid(self.columns, self.rows)
        self.rays = camera.rays(np.stack([x, y], axis=-1))
        self.place = np.broadcast_to(camera.place, self.rays.shape)

    def fill(self, coarse: Array, columns: Array, rows: Array) -> Picture:
        """Values (rows, columns, n) of a function known on the net (..., n), at the given pixel positions."""
        down, across = self._down(rows), self._across(columns).T.astype(np.float32)
        result = np.empty((coarse.shape[-1], len(rows), len(columns)), np.float32)
        for i in range(coarse.shape[-1]):
            np.matmul((down @ coarse[..., i]).astype(np.float32), across, out=result[i])
        return np.moveaxis(result, 0, -1)


@dataclass(frozen=True, slots=True)
class Frame:
    """A plane in the world: origin, two unit vectors in it, the one pointing up out of it."""

    origin: Array
    across: Array
    down: Array
    up: Array

    def met_by(self, start: Array, rays: Array, level: Array | float = 0.0) -> Array:
        """Coordinates (..., 2) in the frame where rays meet what lies ``level`` mm over this one."""
        offset = self.origin + np.asarray(level)[..., None] * self.up - start
        far = (offset @ self.up) / (rays @ self.up)
        found = start + far[..., None] * rays - self.origin
        return np.stack([found @ self.across, found @ self.down], axis=-1)


TABLE_TOP = Frame(np.zeros(3), np.array([1.0, 0, 0]), np.array([0, 1.0, 0]), np.array([0, 0, -1.0]))


def resting(thing: Thing, sheet: Sheet) -> Frame:
    """The plane under a stiff thing on the sheet: tangent under its middle, lifted clear of the paper."""
    middle = np.array([thing.x, thing.y])
    turn = np.radians(thing.turn)
    along = np.array([np.cos(turn), np.sin(turn)])
    beside = np.array([-np.sin(turn), np.cos(turn)])
    at, before, after, left, right = sheet.world(
        np.stack([middle, middle - 0.5 * along, middle + 0.5 * along, middle - 0.5 * beside, middle + 0.5 * beside])
    )
    across = (after - before) / np.linalg.norm(after - before)
    down = right - left
    down -= across * (down @ across)
    down /= np.linalg.norm(down)
    up = -np.cross(across, down)
    ring = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    under = middle + thing.reach * 0.9 * np.stack([np.cos(ring), np.sin(ring)], axis=-1)
    lift = max(0.0, float(((sheet.world(under) - at) @ up).max()))
    return Frame(at + lift * up, across, down, up)


@lru_cache(maxsize=8)
def table_top(table: Table, seed: int) -> Picture:
    """A patch of table, 720 mm wide, as RGB reflectance."""
    rng = np.random.default_rng(seed + 17)
    side = 2400
    tone = {
        Table.DARK: 0.06, Table.LIGHT: 0.42, Table.WOOD: 0.2, Table.CHECKED: 0.3, Table.SPECKLED: 0.25,
        Table.WHITE: 0.8, Table.STRIPED: 0.45,
    }[table]  # fmt: skip
    grain = rng.normal(0, 1, (side, side)).astype(np.float32)
    grain = cv2.GaussianBlur(grain, (0, 0), 2.0)
    grey = tone * (1.0 + 0.06 * grain / grain.std())
    if table is Table.WOOD:
        rough = rng.normal(0, 1, (side, 40)).astype(np.float32)
        streaks = cv2.GaussianBlur(cv2.resize(rough, (side, side), interpolation=cv2.INTER_CUBIC), (0, 0), 2.0)
        grey *= 1.0 + 0.30 * streaks / streaks.std()
        grey[:: side // 6] *= 0.4
    if table is Table.CHECKED:
        y, x = np.mgrid[0:side, 0:side]
        grey *= 1.0 + 0.35 * np.sign(np.sin(x / 28.0)) + 0.2 * np.sign(np.sin(y / 28.0))
    if table is Table.STRIPED:
        # A tea towel's stripes, 9 and 3 mm wide in turn.
        grey *= np.where(np.arange(side) * 0.3 % 12.0 < 9.0, 1.0, 0.3).astype(np.float32)[None, :]
    if table is Table.SPECKLED:
        spots = (rng.uniform(size=(side, side)) > 0.997).astype(np.float32)
        grey += 0.5 * np.clip(cv2.GaussianBlur(spots, (0, 0), 2.0) * 18.0, 0, 1)
    warm = {Table.WOOD: (1.15, 0.95, 0.7), Table.CHECKED: (1.1, 0.9, 0.9)}.get(table, (1.0, 1.0, 1.0))
    return np.clip(grey[..., None] * np.array(warm, np.float32), 0.01, 0.95)


def _remapped(image: NDArray[np.generic], x: Array, y: Array, border: int, value: float = 0.0) -> NDArray[np.generic]:
    found = cv2.remap(
        image,
        x.astype(np.float32),
        y.astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=border,
        borderValue=value,
    )
    return np.asarray(found)


class Exposure:
    """Works out, in linear light, what every pixel sees, a band of rows at a time to spare memory."""

    def __init__(self, scene: Scene, camera: Camera, fine: int = 2) -> None:
        self.scene, self.camera, self.fine = scene, camera, fine
        self.net = Smooth(camera)
        self.columns = np.arange(camera.width, dtype=float)
        corners = camera.project(scene.sheet.outline(2))
        self.per_mm = float(np.abs(np.diff(corners, axis=0)).sum(axis=1).max()) / max(
            scene.sheet.width, scene.sheet.height
        )
        pitch = round(1.0 / self.per_mm / fine, 2)
        self.print = inked(scene.page, scene.printing.ink, pitch, scene.seed)
        net = self.net
        self.on_sheet = scene.sheet.met_by(net.place, net.rays)
        self.on_table = TABLE_TOP.met_by(net.place, net.rays)
        page, sheet = scene.page, scene.sheet
        on_page = scene.printing.to_page(self.on_sheet, (page.width, page.height), (sheet.width, sheet.height))
        dots = np.array([self.print.shape[1] / page.width, self.print.shape[0] / page.height])
        self.on_print = on_page * dots - 0.5
        ground = np.concatenate([self.on_table, np.zeros((*self.on_table.shape[:-1], 1))], axis=-1)
        sun = np.array([scene.light.towards_x, scene.light.towards_y, -1.0])
        self.shaded = scene.sheet.met_by(ground, np.broadcast_to(sun, ground.shape))

    def picture(self) -> Picture:
        """The whole frame, (height, width, 3) float32, 1.0 being a white page in full light."""
        result = np.empty((self.camera.height, self.camera.width, 3), np.float32)
        for top in range(0, self.camera.height, 240):
            rows = np.arange(top, min(top + 240, self.camera.height), dtype=float)
            result[top : top + len(rows)] = self._band(rows)
        for thing in self.scene.things:
            self._lay(thing, result)
        for top in range(0, self.camera.height, 240):
            rows = np.arange(top, min(top + 240, self.camera.height), dtype=float)
            self._light(result[top : top + len(rows)], rows)
        return result

    def _band(self, rows: Array) -> Picture:
        scene = self.scene
        table = self.net.fill(self.on_table, self.columns, rows)
        seen = table_top(scene.table, scene.seed % 5)
        ground = _remapped(seen, table[..., 0] / 0.3 + 1200, table[..., 1] / 0.3 + 1200, cv2.BORDER_WRAP)
        ground = self._flats(ground.astype(np.float32), table, Layer.UNDER)
        if scene.sheet.curl.rise > 0:
            shaded = self.net.fill(self.shaded, self.columns, rows)
            away = outside_box(shaded, scene.sheet.width, scene.sheet.height)
            blur = 0.4 + 0.3 * scene.sheet.curl.rise
            ground *= (1.0 - 0.45 * np.clip(0.5 - away / blur / 2, 0.0, 1.0))[..., None]
        sheet = self.net.fill(self.on_sheet, self.columns, rows)
        if scene.contact > 0:
            away = outside_box(sheet, scene.sheet.width, scene.sheet.height)
            ground *= (1.0 - scene.contact * np.exp(-np.maximum(away, 0.0) / 0.25))[..., None].astype(np.float32)
        cover = np.clip(0.5 - outside_box(sheet, scene.sheet.width, scene.sheet.height) * self.per_mm, 0.0, 1.0)
        page = np.ones_like(cover, dtype=np.float32)
        inside = cover.any(axis=0).nonzero()[0]
        if len(inside):
            part = slice(inside[0], inside[-1] + 1)
            page[:, part] = self._printed(self.columns[part], rows)
        left, top, right, bottom = scene.printing.cut_off
        bare = outside_box(
            sheet - np.float32([left, top]), scene.sheet.width - left - right, scene.sheet.height - top - bottom
        )
        page = scene.paper * (page + (1.0 - page) * np.clip(0.5 + bare * self.per_mm, 0.0, 1.0))
        cover = cover[..., None].astype(np.float32)
        mixed = ground * (1.0 - cover) + cover * page[..., None] * np.array([1.0, 0.99, 0.96], np.float32)
        return self._flats(mixed.astype(np.float32), table, Layer.OVER)

    def _printed(self, columns: Array, rows: Array) -> Picture:
        """Reflectance of the printed sheet, averaged over ``fine`` x ``fine`` samples in each pixel."""
        scene, fine = self.scene, self.fine
        inner = (np.arange(fine) + 0.5) / fine - 0.5
        spread = (columns[:, None] + inner).ravel()
        dots = self.net.fill(self.on_print, spread, (rows[:, None] + inner).ravel())
        tone = _remapped(self.print, dots[..., 0], dots[..., 1], cv2.BORDER_CONSTANT, 255.0)
        size = (len(columns), len(rows))
        tone = cv2.resize(tone.astype(np.float32) / 255.0, size, interpolation=cv2.INTER_AREA)
        black = scene.printing.ink.black
        # The page's grey is a halftone: its reflectance is the share of bare paper.
        return black + (1.0 - black) * tone

    def _flats(self, ground: Picture, table: Array, layer: Layer) -> Picture:
        for flat in self.scene.flats:
            if flat.layer is not layer:
                continue
            turn = np.radians(flat.turn)
            x, y = table[..., 0] - flat.x, table[..., 1] - flat.y
            across = x * np.cos(turn) + y * np.sin(turn) + flat.raster.width / 2
            down = y * np.cos(turn) - x * np.sin(turn) + flat.raster.height / 2
            tall, wide = flat.raster.pixels.shape[:2]
            pixels = flat.raster.pixels if flat.raster.pixels.ndim == 3 else np.stack([flat.raster.pixels] * 3, -1)
            found = _remapped(
                pixels, across / flat.raster.width * wide - 0.5, down / flat.raster.height * tall - 0.5,
                cv2.BORDER_REPLICATE,
            )  # fmt: skip
            away = outside_box(np.stack([across, down], axis=-1), flat.raster.width, flat.raster.height)
            cover = np.clip(0.5 - away * self.per_mm, 0.0, 1.0)[..., None].astype(np.float32)
            ground = ground * (1 - cover) + cover * (0.04 + 0.76 * found.astype(np.float32) / 255.0)
        return ground

    def _lay(self, thing: Thing, result: Picture) -> None:
        """Paint a card or coin, its wall and its shadow, into the picture."""
        frame, light = resting(thing, self.scene.sheet), self.scene.light
        ring = np.linspace(0, 2 * np.pi, 33)
        reach = thing.reach * 1.1 + 3.0 * thing.thickness
        rim = frame.origin + reach * (np.cos(ring)[:, None] * frame.across + np.sin(ring)[:, None] * frame.down)
        seen = self.camera.project(rim)
        low = np.clip(np.floor(seen.min(axis=0)), 0, None).astype(int)
        high = np.ceil(seen.max(axis=0)).astype(int)
        columns = np.arange(low[0], min(high[0], self.camera.width), dtype=float)
        rows = np.arange(low[1], min(high[1], self.camera.height), dtype=float)
        if not len(columns) or not len(rows):
            return

        def at(level: float) -> Array:
            coarse = frame.met_by(self.net.place, self.net.rays, level)
            for _ in range(3 if thing.bow else 0):
                coarse = frame.met_by(self.net.place, self.net.rays, level + thing.lift(coarse))
            return self.net.fill(coarse, columns, rows)

        foot = at(0.0)
        sun = np.array([light.towards_x, light.towards_y, -1.0])
        lean = np.array([sun @ frame.across, sun @ frame.down])
        shadow = np.zeros(foot.shape[:2])
        levels = np.linspace(0.0, thing.thickness, max(4, int(thing.thickness * self.per_mm) + 2))
        wall = np.zeros(foot.shape[:2])
        for level in levels:
            soft = 0.15 + 0.35 * level
            shadow = np.maximum(shadow, np.clip(0.5 - thing.outside(foot + lean * level, level) / soft, 0, 1))
            wall = np.maximum(wall, np.clip(0.5 - thing.outside(at(level), level) * self.per_mm, 0, 1))
        crown = at(thing.thickness)
        top = np.minimum(wall, np.clip(0.5 - thing.outside(crown, thing.thickness) * self.per_mm, 0, 1))
        part = result[low[1] : low[1] + len(rows), low[0] : low[0] + len(columns)]
        facing = (foot @ lean) / max(thing.reach, 1.0) / max(float(np.hypot(*lean)), 0.1)
        side = thing.wall * (0.75 + 0.25 * facing)
        part *= (1.0 - 0.5 * shadow)[..., None].astype(np.float32)
        part *= (1.0 - wall)[..., None].astype(np.float32)
        part += ((wall - top) * side)[..., None].astype(np.float32)
        part += top[..., None].astype(np.float32) * thing.top(crown)

    def _light(self, band: Picture, rows: Array) -> None:
        """Multiply by the light that falls on each pixel, in place."""
        light, camera = self.scene.light, self.camera
        x = (self.columns - camera.centre_x) / camera.width
        y = (rows - camera.centre_y) / camera.width
        r2 = (camera.width / camera.focal) ** 2 * (x[None, :] ** 2 + y[:, None] ** 2)
        fall = (1.0 + r2) ** -1.2
        towards = np.radians(light.gradient_towards)
        fall *= 1.0 + light.gradient * (x[None, :] * np.cos(towards) + y[:, None] * np.sin(towards))
        if light.shadow > 0.0:
            table = self.net.fill(self.on_table, self.columns, rows)
            angle = np.radians(light.shadow_towards)
            beyond = table[..., 0] * np.cos(angle) + table[..., 1] * np.sin(angle) - light.shadow_at
            fall *= 1.0 - light.shadow * np.clip(0.5 + beyond / light.shadow_blur / 2, 0.0, 1.0)
        band *= np.maximum(fall, 0.02)[..., None].astype(np.float32)
        if light.glare > 0.0:
            across = (self.columns / camera.width - light.glare_x)[None, :]
            down = ((rows - light.glare_y * camera.height) / camera.width)[:, None]
            spot = light.glare * np.exp(-(across**2 + down**2) / (2 * light.glare_size**2))
            band += spot[..., None].astype(np.float32)
