"""Photos that should not be believed: each must be refused, or still be right."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum

import numpy as np

from calibrate.target import make_target
from tests.simulator.conditions import A4, Condition, ordinary, test_page
from tests.simulator.objects import Card, Coin
from tests.simulator.photo import Shot
from tests.simulator.printing import Raster
from tests.simulator.scene import Flat, Layer, Scene, Table
from tests.simulator.sheet import Bend, Curl, Sheet


class Spoilt(Enum):
    """What is wrong with a photo; the value is the row's title in the table."""

    NO_CARD = "card asked for, none there"
    HALF_COVERED = "half the page covered by a cloth"
    BLURRED = "strong blur"
    SHAKEN = "strong shake"
    GLARE = "strong glare"
    TWO_PAGES = "two test pages"
    CROPPED = "square cut off by the frame"
    CHESS_BESIDE = "a chessboard beside the page"
    CHESS_ALONE = "a chessboard and no page"
    WHITE_TABLE = "white table"
    FAR = "page small in the frame"
    STEEP = "slanted by 50 to 60 degrees"
    ROLLED = "sheet rolled up by 12 to 20 mm"
    WRONG_CARD = "a 85 x 55 mm card for an ID-1 card"
    WRONG_COIN = "a 50 cent coin for a 1 euro coin"


@dataclass(frozen=True, slots=True)
class SpoiltCase:
    """One spoilt photo, and the reference that is asked for."""

    kind: Spoilt
    seed: int
    shot: Shot
    reference: str


def chessboard(across: int = 8, cell: float = 30.0) -> Raster:
    """A board game with squares of ``cell`` mm and a pale border."""
    dots = 120
    side = across * dots
    y, x = np.mgrid[0:side, 0:side]
    board = np.where((x // dots + y // dots) % 2, 25, 225).astype(np.uint8)
    board = np.pad(board, dots // 2, constant_values=170)
    return Raster(board, (across + 1) * cell, (across + 1) * cell)


def cloth(width: float, height: float, seed: int) -> Raster:
    """A piece of patterned cloth."""
    rng = np.random.default_rng(seed)
    coarse = rng.integers(30, 220, (12, 12, 3)).astype(np.uint8)
    return Raster(np.repeat(np.repeat(coarse, 25, axis=0), 25, axis=1), width, height)


def spoilt(kind: Spoilt, seed: int, width: int = 4000) -> SpoiltCase:
    """A spoilt photo; everything else about it is ordinary."""
    rng = np.random.default_rng([seed, 77, list(Spoilt).index(kind)])
    carded = {Spoilt.NO_CARD, Spoilt.WRONG_CARD}
    condition = Condition.COIN if kind is Spoilt.WRONG_COIN else Condition.SHEET
    base = ordinary(condition, seed + 5000 + 100 * list(Spoilt).index(kind), width)
    reference = "card" if kind in carded else condition.reference
    return SpoiltCase(kind, seed, _changed(kind, base.shot, rng), reference)


def _changed(kind: Spoilt, shot: Shot, rng: np.random.Generator) -> Shot:
    if kind in {Spoilt.BLURRED, Spoilt.SHAKEN, Spoilt.GLARE, Spoilt.CROPPED, Spoilt.FAR, Spoilt.STEEP}:
        return _badly_taken(kind, shot, rng)
    return replace(shot, scene=_badly_laid(kind, shot, rng))


def _badly_taken(kind: Spoilt, shot: Shot, rng: np.random.Generator) -> Shot:
    size = shot.phone.width / 4000
    if kind is Spoilt.BLURRED:
        return replace(shot, sensor=replace(shot.sensor, blur=rng.uniform(9, 16) * size))
    if kind is Spoilt.SHAKEN:
        return replace(shot, sensor=replace(shot.sensor, motion=rng.uniform(30, 70) * size))
    if kind is Spoilt.GLARE:
        spot = {"glare_x": rng.uniform(0.4, 0.6), "glare_y": rng.uniform(0.4, 0.6)}
        light = replace(shot.scene.light, glare=rng.uniform(1.5, 6), glare_size=rng.uniform(0.08, 0.2), **spot)
        return replace(shot, scene=replace(shot.scene, light=light))
    if kind is Spoilt.CROPPED:
        return replace(shot, stance=replace(shot.stance, margin=rng.uniform(-0.6, -0.25), turn=90.0, tilt=5.0))
    if kind is Spoilt.FAR:
        return replace(shot, stance=replace(shot.stance, margin=rng.uniform(0.36, 0.43)))
    return replace(shot, stance=replace(shot.stance, tilt=rng.uniform(50, 60)))


def _badly_laid(kind: Spoilt, shot: Shot, rng: np.random.Generator) -> Scene:
    scene = shot.scene
    if kind in _FLATS:
        return replace(scene, flats=(_flat(kind, shot.seed, rng),))
    if kind is Spoilt.WHITE_TABLE:
        return replace(scene, table=Table.WHITE)
    if kind is Spoilt.ROLLED:
        direction = float(rng.choice([0.0, 90.0]))
        return replace(scene, sheet=Sheet(*A4, Curl(rng.uniform(12, 20), Bend.BOWL, direction)))
    if kind is Spoilt.WRONG_CARD:
        area = make_target(*A4).card
        middle = np.array([area.x + area.width / 2, area.y + area.height / 2])
        x, y = scene.printing.to_sheet(middle, A4, (scene.sheet.width, scene.sheet.height))
        card = Card(float(x), float(y), width=85.0, height=55.0, radius=3.0)
        return replace(scene, things=(card,))
    if kind is Spoilt.WRONG_COIN:
        (coin,) = scene.things
        assert isinstance(coin, Coin)
        return replace(scene, things=(replace(coin, diameter=24.25, thickness=2.38, two_metals=False),))
    return scene


_FLATS = {Spoilt.HALF_COVERED, Spoilt.TWO_PAGES, Spoilt.CHESS_BESIDE, Spoilt.CHESS_ALONE}


def _flat(kind: Spoilt, seed: int, rng: np.random.Generator) -> Flat:
    if kind is Spoilt.HALF_COVERED:
        return Flat(cloth(230, 320, seed), rng.uniform(90, 120), rng.uniform(-40, 40), 5.0, Layer.OVER)
    if kind is Spoilt.TWO_PAGES:
        return Flat(test_page(*A4), rng.uniform(220, 240), rng.uniform(-60, 60), rng.uniform(-20, 20))
    if kind is Spoilt.CHESS_BESIDE:
        return Flat(chessboard(), rng.uniform(250, 270), rng.uniform(-80, 80), rng.uniform(0, 90))
    return Flat(chessboard(), 0.0, 0.0, rng.uniform(0, 90), Layer.OVER)
