"""Photos as people take them, drawn at random from a seed: ordinary ones by condition, and spoilt ones by kind."""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from enum import Enum
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from calibrate.target import Target, make_target
from tests.simulator.camera import Lens, Phone, Stance
from tests.simulator.objects import Card, Coin, Face, Thing
from tests.simulator.photo import Shot
from tests.simulator.printing import Ink, Printing, Raster, page_of
from tests.simulator.scene import Light, Scene, Table
from tests.simulator.sensor import Colour, File, Sensor
from tests.simulator.sheet import Bend, Curl, Sheet

if TYPE_CHECKING:
    from collections.abc import Callable

    Printed = Callable[[float, float], tuple[float, float]]

A4 = (210.0, 297.0)
LETTER = (215.9, 279.4)
ONE_EURO = Coin(23.25, 2.33, two_metals=True)
"""Regulation (EU) 729/2014, Annex I."""


@lru_cache(maxsize=4)
def test_page(width: float = 210.0, height: float = 297.0) -> Raster:
    """The tool's own target, painted by the tool and rendered by PDFium."""
    from reportlab.pdfgen.canvas import Canvas

    from tiling.drawing.target import paint_target

    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(width / 25.4 * 72, height / 25.4 * 72))
    paint_target(canvas, make_target(width, height), height)
    canvas.save()
    return page_of(out.getvalue())


# pytest would take it for a test.
test_page.__test__ = False  # type: ignore[attr-defined]


class Condition(Enum):
    """What is special about a group of photos; the value is the row's title in the table."""

    SHEET = "flat sheet, tilt to 25"
    CARD = "card, flat sheet, tilt to 25"
    COIN = "coin, flat sheet, tilt to 25"
    SHEET_SLANT = "flat sheet, tilt 25 to 35"
    CARD_SLANT = "card, tilt 25 to 35"
    SHEET_CURL = "sheet curled to 4 mm"
    CARD_CURL = "card, sheet curled to 4 mm"
    SHEET_HARD = "sheet, hard light, noise, shake, JPEG 60"
    SHEET_SAVING = "sheet, ink saved, 6 mm cut off"
    SHEET_LETTER = "US letter sheet"
    SHEET_CUT = "sheet cut within ISO 216's 2 mm"
    CARD_MADE = "card made within ISO/IEC 7810's limits"

    @property
    def reference(self) -> str:
        """The reference to ask for."""
        return {"CARD": "card", "COIN": "coin:1eur"}.get(self.name.split("_")[0], "sheet")


@dataclass(frozen=True, slots=True)
class Case:
    """One photo to be judged: the shot and the target on the page."""

    condition: Condition
    seed: int
    shot: Shot
    target: Target

    @property
    def truth(self) -> Printing:
        """What the printer did."""
        return self.shot.scene.printing


_PLAIN_TABLES = (Table.DARK, Table.LIGHT, Table.WOOD, Table.CHECKED, Table.SPECKLED)


def ordinary(condition: Condition, seed: int, width: int = 4000) -> Case:
    """An ordinary photo under a condition; ``width`` in pixels sets the resolution (frames are 4 to 3)."""
    rng = np.random.default_rng([seed, list(Condition).index(condition)])
    paper = LETTER if condition is Condition.SHEET_LETTER else A4
    size = paper
    if condition is Condition.SHEET_CUT:
        size = (paper[0] + rng.uniform(-2, 2), paper[1] + rng.uniform(-2, 2))
    target = make_target(*paper)
    printing = _printing(rng, condition)
    sheet = Sheet(*size, _curl(rng, condition))

    def printed(x: float, y: float) -> tuple[float, float]:
        found = printing.to_sheet(np.array([x, y]), paper, size)
        return float(found[0]), float(found[1])

    scene = Scene(
        page=test_page(*paper),
        printing=printing,
        sheet=sheet,
        things=_things(rng, condition, target, printed),
        table=_PLAIN_TABLES[rng.integers(len(_PLAIN_TABLES))],
        light=_light(rng, condition),
        paper=rng.uniform(0.76, 0.88),
        seed=int(rng.integers(1000)),
    )
    phone, file = _phone(rng, condition, width)
    shot = Shot(scene, phone, _stance(rng, condition), _sensor(rng, condition, width), file, seed)
    return Case(condition, seed, shot, target)


def _printing(rng: np.random.Generator, condition: Condition) -> Printing:
    inks = (Ink.INKJET, Ink.LASER)
    # A driver scales both ways alike; rollers and belts stretch each way by some tenths of a per cent.
    scaled = rng.uniform(0.93, 1.02)
    printing = Printing(
        across=scaled * (1.0 + rng.normal(0, 0.004)),
        down=scaled * (1.0 + rng.normal(0, 0.004)),
        turn=rng.normal(0, 0.3),
        shear=rng.normal(0, 0.08),
        shift_x=rng.normal(0, 1.0),
        shift_y=rng.normal(0, 1.0),
        cut_off=tuple(rng.uniform(2.5, 5.0, 4)),
        ink=inks[rng.integers(2)],
    )
    if condition is Condition.SHEET_SAVING:
        return replace(printing, ink=Ink.SAVING, cut_off=(6.0, 6.0, 6.0, 6.0))
    return printing


def _curl(rng: np.random.Generator, condition: Condition) -> Curl:
    if not condition.name.endswith("CURL"):
        return Curl()
    bends = list(Bend)
    directions = (0.0, 90.0, rng.uniform(0, 180))
    return Curl(rng.uniform(0.5, 4.0), bends[rng.integers(3)], directions[rng.integers(3)])


def _things(rng: np.random.Generator, condition: Condition, target: Target, printed: Printed) -> tuple[Thing, ...]:
    """The card or coin, laid by hand where its outline was ``printed``."""
    if condition.name.startswith("CARD"):
        width, height = 85.60, 53.98
        if condition is Condition.CARD_MADE:
            width, height = rng.uniform(85.47, 85.72), rng.uniform(53.92, 54.03)
        x, y = middle_of(target, printed)
        return (
            Card(
                x=x + rng.normal(0, 0.6),
                y=y + rng.normal(0, 0.6),
                turn=rng.normal(0, 1.0) + 180 * rng.integers(2),
                width=width,
                height=height,
                face=list(Face)[rng.integers(3)],
                seed=int(rng.integers(1000)),
            ),
        )
    if condition is Condition.COIN:
        x, y = printed(*target.coin)
        x, y = x + rng.normal(0, 0.8), y + rng.normal(0, 0.8)
        return (replace(ONE_EURO, x=x, y=y, turn=rng.uniform(0, 360), seed=int(rng.integers(99))),)
    return ()


def middle_of(target: Target, printed: Printed) -> tuple[float, float]:
    """Where the middle of the card's outline was printed."""
    return printed(target.card.x + target.card.width / 2, target.card.y + target.card.height / 2)


def _light(rng: np.random.Generator, condition: Condition) -> Light:
    hard = condition is Condition.SHEET_HARD
    turn, lean = rng.uniform(0, 2 * np.pi), rng.uniform(0.1, 0.9)
    return Light(
        towards_x=lean * np.cos(turn),
        towards_y=lean * np.sin(turn),
        gradient=rng.uniform(0.3, 0.7) if hard else rng.uniform(0, 0.4),
        gradient_towards=rng.uniform(0, 360),
        shadow=rng.uniform(0.4, 0.65) if hard else rng.choice([0.0, 0.0, rng.uniform(0.2, 0.5)]),
        shadow_at=rng.uniform(-70, 70),
        shadow_towards=rng.uniform(0, 360),
        shadow_blur=rng.uniform(1.5, 10),
        glare=rng.choice([0.0, rng.uniform(0, 0.25)]),
        glare_x=rng.uniform(0.2, 0.8),
        glare_y=rng.uniform(0.2, 0.8),
        glare_size=rng.uniform(0.05, 0.12),
    )


def _phone(rng: np.random.Generator, condition: Condition, width: int) -> tuple[Phone, File]:
    hard = condition is Condition.SHEET_HARD
    k1 = rng.uniform(-0.06, 0.06)
    lens = Lens(k1, -k1 * rng.uniform(0, 1.0) + rng.normal(0, 0.01), rng.normal(0, 4e-4), rng.normal(0, 4e-4))
    phone = Phone(
        width=width,
        height=width * 3 // 4,
        focal_35mm=float(rng.integers(24, 29)),
        focal_error=rng.normal(0, 0.015),
        lens=lens,
        off_x=rng.normal(0, 0.002) * width,
        off_y=rng.normal(0, 0.002) * width,
    )
    file = File(
        quality=int(rng.integers(60, 75)) if hard else int(rng.integers(75, 96)),
        colour=Colour.GREY if rng.random() < 0.1 else Colour.COLOUR,
        turn_tag=int(rng.choice([1, 1, 6, 8, 3])),
        focal_35mm=0.0 if rng.random() < 0.15 else phone.focal_35mm,
    )
    return phone, file


def _stance(rng: np.random.Generator, condition: Condition) -> Stance:
    slanted = condition.name.endswith("SLANT")
    # Most people turn the phone so that the sheet fills its frame; some don't, and some don't care.
    turn = rng.choice([90, 270, 90, 270, 0, 180]) + rng.normal(0, 6)
    if rng.random() < 0.15:
        turn = rng.uniform(0, 360)
    return Stance(
        tilt=rng.uniform(25, 35) if slanted else rng.uniform(0, 25),
        tilt_towards=rng.uniform(0, 360),
        turn=float(turn),
        margin=rng.uniform(0.03, 0.09),
        aside_x=rng.normal(0, 5),
        aside_y=rng.normal(0, 5),
    )


def _sensor(rng: np.random.Generator, condition: Condition, width: int) -> Sensor:
    hard = condition is Condition.SHEET_HARD
    warm = rng.normal(0, 0.05)
    return Sensor(
        blur=rng.uniform(0.6, 1.3) if width > 2500 else rng.uniform(0.5, 0.9),
        motion=rng.uniform(1.0, 3.0) * width / 4000 if hard else rng.choice([0.0, rng.uniform(0, 1.5)]),
        motion_towards=rng.uniform(0, 180),
        noise=rng.uniform(3, 6) if hard else rng.uniform(0.8, 3.0),
        exposure=rng.uniform(0.62, 0.95),
        sharpen=rng.uniform(0.0, 0.6),
        tint=(1 + warm, 1.0, 1 - warm),
    )
