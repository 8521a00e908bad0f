"""Photos of a kitchen table where something is not as the reader expects: each with its own truth and its own reasons.

Nothing about the rest of the photo is special: it is an ordinary one, drawn from the seed. What is printed is put onto
its sheet beforehand, in the sheet's own mm, so that streaks, fog and rules can run to where a printer leaves them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum
from typing import TYPE_CHECKING

import numpy as np

from calibrate.failures import Reason
from calibrate.target import make_target
from tests.simulator.conditions import A4, LETTER, ONE_EURO, Condition, middle_of, ordinary, test_page
from tests.simulator.objects import Card, Face
from tests.simulator.photo import Shot
from tests.simulator.printing import Ink, Printing, Raster
from tests.simulator.printouts import Printout, Spot, printed
from tests.simulator.scene import Flat, Light, Table
from tests.simulator.sensor import Blending, Colour, File, Kind, Tone
from tests.simulator.sheet import Sheet
from tests.simulator.taking import scanner, taken

if TYPE_CHECKING:
    from tests.simulator.objects import Thing


class Mishap(Enum):
    """What happened; the value is the row's title in the table."""

    SECOND_SHEET = "a second sheet 2 to 6 mm off beneath"
    STREAK = "a toner streak 5 to 8 mm from an edge"
    FOG = "toner fog that ends at the printable border"
    RULED = "ruled paper"
    TWO_UP = "two pages on a sheet"
    TRIMMED_SIDE = "trimmed by 3 to 10 mm on one side"
    TRIMMED_FOOT = "trimmed by 5 to 14 mm at the bottom"
    TRIMMED_ROUND = "trimmed by 2 to 5 mm all round"
    STRETCHED = "page stretched to fill letter"
    ON_B5 = "page fitted on B5"
    ON_A5 = "page fitted on A5"
    CARD_OLD = "card of 83.9 x 51 mm, close up"
    CARD_US = "card of 88.9 x 57.2 mm, close up"
    CARD_EU = "card of 85 x 55 mm with round corners, close up"
    CARD_FRAMED = "card with a white frame of 0.5 to 0.7 mm"
    CARD_BOWED = "card bowed by 1 mm"
    CARD_THIN = "card 0.3 mm thick, close up"
    CARD_THICK = "card 1.2 mm thick, close up"
    CARD_WORN = "worn card"
    COIN_OTHER = "another coin than named"
    SCAN_CARD = "flatbed scan with a card"
    SCAN_SHEET = "flatbed scan"
    SCAN_BED = "flatbed scan, bed as large as the sheet"
    WIDE = "ultra-wide lens, not noted, with a card"
    TELE = "tele lens, not noted, with a card"
    CURVE = "a tone curve that is not sRGB"
    CODED = "blended in coded values, with a card"
    CODED_SHEET = "blended in coded values"
    MESSENGER = "messenger picture of 1600 x 1200"
    OVEREXPOSED = "overexposed, with a card"
    MIRRORED = "mirrored"
    STRIPED = "striped table"
    SHADE = "shadow across or along an edge"
    CARD_TURNED = "card turned by 90 degrees"
    CARD_HALF = "card half outside its outline"
    FAINT = "toner nearly empty"

    @property
    def reference(self) -> str | None:
        """What is asked for; None for the best that is seen."""
        if self is Mishap.COIN_OTHER:
            return "coin:1eur"
        if self.name.startswith("CARD"):
            return "card"
        return None

    @property
    def reasons(self) -> frozenset[Reason]:
        """The reasons that would be true ones."""
        return _REASONS.get(self, frozenset())


_EDGES = frozenset({Reason.TABLE_LIKE_PAPER, Reason.SHEET_DOUBTFUL, Reason.REFERENCES_DISAGREE})
_SIZE = frozenset({Reason.OTHER_SIZE, Reason.REFERENCES_DISAGREE})
_REASONS: dict[Mishap, frozenset[Reason]] = {
    **dict.fromkeys(
        (
            m
            for m in Mishap
            if m.name.startswith(("SECOND", "STREAK", "FOG", "RULED", "TWO", "TRIMMED", "STRET", "ON_"))
        ),
        _EDGES | {Reason.NO_REFERENCE},
    ),
    **dict.fromkeys((m for m in Mishap if m.name.startswith(("CARD", "COIN"))), _SIZE),
    # Close up nothing confirms which coin it is, and a coin in shadow is not seen round.
    Mishap.COIN_OTHER: _SIZE | {Reason.NO_REFERENCE},
    Mishap.CARD_TURNED: frozenset({Reason.CARD_OUT_OF_PLACE}),
    Mishap.CARD_HALF: frozenset({Reason.CARD_OUT_OF_PLACE}),
    Mishap.TWO_UP: frozenset({Reason.SHEET_LARGER, Reason.TOO_FEW_PIXELS}),
    Mishap.STRETCHED: _EDGES | {Reason.NO_REFERENCE, Reason.TOO_SLANTED},
    Mishap.STRIPED: _EDGES,
    Mishap.SHADE: _EDGES,
    Mishap.SCAN_BED: frozenset({Reason.TARGET_CUT_OFF}),
    Mishap.OVEREXPOSED: frozenset({Reason.OVEREXPOSED}),
    Mishap.MIRRORED: frozenset({Reason.MIRRORED}),
    Mishap.FAINT: frozenset({Reason.FAINT}),
}


@dataclass(frozen=True, slots=True)
class MishapCase:
    """One such photo, what is asked for, and the true scale across and down."""

    kind: Mishap
    seed: int
    shot: Shot
    reference: str | None
    truth: tuple[float, float]


def mishap(kind: Mishap, seed: int, width: int = 4000) -> MishapCase:
    """One photo of the kind; ``width`` in pixels sets the resolution, but for scans and messenger pictures."""
    place = list(Mishap).index(kind)
    rng = np.random.default_rng([seed, 511, place])
    if kind is Mishap.MESSENGER:
        width = 1600
    base = ordinary(Condition.SHEET, seed + 9000 + 200 * place, width).shot
    out = _printout(kind, base.scene.printing, rng)
    scene = replace(
        base.scene,
        page=printed(out, test_page(*A4), seed),
        printing=Printing(ink=Ink.LASER if kind in _TONER else base.scene.printing.ink),
        sheet=Sheet(*out.sheet),
        contact=rng.uniform(0.05, 0.4),
        table=base.scene.table,
    )
    shot = replace(base, scene=replace(scene, things=_things(kind, out, rng), flats=_beneath(kind, out, rng)))
    return MishapCase(kind, seed, _taken(kind, shot, width, rng), kind.reference, (out.across, out.down))


_TONER = {Mishap.STREAK, Mishap.FOG, Mishap.FAINT}


def _printout(kind: Mishap, usual: Printing, rng: np.random.Generator) -> Printout:
    """The page on its sheet."""
    out = Printout(usual, A4)
    if kind is Mishap.STREAK:
        side = rng.choice(["left", "right", "top", "bottom"])
        return replace(out, streak=(str(side), rng.uniform(5, 8), rng.uniform(0.3, 1.0), rng.uniform(0.3, 0.9)))
    if kind is Mishap.FOG:
        return replace(out, fog=rng.uniform(0.08, 0.25), printing=replace(usual, cut_off=(4.2, 4.2, 4.2, 4.2)))
    if kind is Mishap.RULED:
        return replace(out, ruled=(float(rng.choice([5.0, 7.1, 8.7])), bool(rng.integers(2))))
    if kind is Mishap.TWO_UP:
        small = replace(usual, across=0.70 * usual.across, down=0.70 * usual.down, shift_x=-74.0)
        return replace(out, printing=small, whole=(A4[1], A4[0]), gutter=True)
    if kind in _TRIMS:
        return replace(out, trimmed=_trim(kind, rng))
    if kind in _SHEETS:
        sheet, part = _SHEETS[kind], rng.uniform(0.95, 1.0)
        across, down = sheet[0] / A4[0], sheet[1] / A4[1]
        if kind is not Mishap.STRETCHED:
            across = down = min(across, down)
        return replace(out, printing=replace(usual, across=part * across, down=part * down), whole=sheet)
    if kind is Mishap.FAINT:
        return replace(out, faint=rng.uniform(0.75, 0.95))
    return out


_SHEETS = {Mishap.STRETCHED: LETTER, Mishap.ON_B5: (176.0, 250.0), Mishap.ON_A5: (148.0, 210.0)}
_TRIMS = {Mishap.TRIMMED_SIDE, Mishap.TRIMMED_FOOT, Mishap.TRIMMED_ROUND}


def _trim(kind: Mishap, rng: np.random.Generator) -> tuple[float, float, float, float]:
    if kind is Mishap.TRIMMED_SIDE:
        by = rng.uniform(3, 10)
        return (by, 0.0, 0.0, 0.0) if rng.integers(2) else (0.0, 0.0, by, 0.0)
    if kind is Mishap.TRIMMED_FOOT:
        return (0.0, 0.0, 0.0, rng.uniform(5, 14))
    by = rng.uniform(2, 5)
    return (by, by, by, by)


_CARDS = {
    Mishap.CARD_OLD: (83.9, 51.0, 3.0, 0.76), Mishap.CARD_US: (88.9, 57.2, 3.2, 0.6),
    Mishap.CARD_EU: (85.0, 55.0, 3.2, 0.76), Mishap.CARD_THIN: (85.60, 53.98, 3.18, 0.3),
    Mishap.CARD_THICK: (85.60, 53.98, 3.18, 1.2),
}  # fmt: skip


def _things(kind: Mishap, out: Printout, rng: np.random.Generator) -> tuple[Thing, ...]:
    target = make_target(*A4)
    if kind is Mishap.COIN_OTHER:
        x, y = out.to_sheet(*target.coin)
        size, thick = ((24.25, 2.38), (22.25, 2.14), (25.75, 2.2), (24.26, 1.75), (23.43, 2.8))[rng.integers(5)]
        return (replace(ONE_EURO, diameter=size, thickness=thick, x=x, y=y, two_metals=bool(rng.integers(2))),)
    with_card = {Mishap.SCAN_CARD, Mishap.WIDE, Mishap.TELE, Mishap.CODED, Mishap.OVEREXPOSED}
    if not kind.name.startswith("CARD") and kind not in with_card:
        return ()
    width, height, radius, thickness = _CARDS.get(kind, (85.60, 53.98, 3.18, 0.76))
    x, y = middle_of(target, out.to_sheet)
    card = Card(
        x + rng.normal(0, 0.6), y + rng.normal(0, 0.6), rng.normal(0, 1.0), width, height, radius, thickness,
        list(Face)[rng.integers(3)], int(rng.integers(1000)),
    )  # fmt: skip
    if kind is Mishap.CARD_FRAMED:
        return (replace(card, face=(Face.DARK, Face.PATTERNED)[rng.integers(2)], frame=rng.uniform(0.5, 0.7)),)
    if kind is Mishap.CARD_BOWED:
        return (replace(card, bow=float(rng.choice([-1.0, 1.0]))),)
    if kind is Mishap.CARD_WORN:
        worn = rng.uniform(0.05, 0.2, 2)
        return (replace(card, width=width - worn[0], height=height - worn[1], radius=radius + 0.3),)
    if kind is Mishap.CARD_TURNED:
        return (replace(card, turn=90.0 + rng.normal(0, 2)),)
    if kind is Mishap.CARD_HALF:
        return (replace(card, x=x + rng.uniform(15, 35)),)
    return (card,)


def _beneath(kind: Mishap, out: Printout, rng: np.random.Generator) -> tuple[Flat, ...]:
    if kind is not Mishap.SECOND_SHEET:
        return ()
    # A flat's reflectance is 0.04 + 0.76 of its code: paper from the same ream, a shade lighter or darker.
    plain = Raster(np.full((8, 8), int(rng.uniform(243, 255)), np.uint8), *out.sheet)
    x, y = rng.uniform(2, 6, 2) * rng.choice([-1, 1], 2)
    return (Flat(plain, x, y, rng.normal(0, 0.3)),)


def _taken(kind: Mishap, shot: Shot, width: int, rng: np.random.Generator) -> Shot:
    """The shot with what is special about where it is taken from and with what."""
    if kind.name.startswith("SCAN"):
        return _scanned(kind, shot, rng)
    if kind in _CARDS or kind is Mishap.COIN_OTHER:
        tilt = min(shot.stance.tilt, 15.0)
        close = replace(shot.stance, tilt=tilt, turn=90.0 + rng.normal(0, 4), aside_x=0, aside_y=0)
        # So close that the sheet's edges are out of the picture and the ring is in it.
        return taken(replace(shot, stance=close), _ring_alone() if rng.random() < 0.7 else None)
    if kind in {Mishap.WIDE, Mishap.TELE}:
        # A phone straightens what its ultra-wide lens bends: little is left, over a field so wide.
        lens = shot.phone.lens
        left = replace(lens, k1=0.05 * lens.k1, k2=0.0) if kind is Mishap.WIDE else lens
        focal = 13.0 if kind is Mishap.WIDE else float(rng.choice([52.0, 77.0]))
        phone = replace(shot.phone, focal_35mm=focal, lens=left)
        return replace(shot, phone=phone, file=replace(shot.file, focal_35mm=0.0))
    if kind is Mishap.STRIPED:
        return replace(shot, scene=replace(shot.scene, table=Table.STRIPED))
    if kind is Mishap.SHADE:
        return replace(shot, scene=replace(shot.scene, light=_shade(shot.scene.light, rng)))
    return _kept(kind, replace(shot, phone=replace(shot.phone, width=width)), rng)


def _kept(kind: Mishap, shot: Shot, rng: np.random.Generator) -> Shot:
    """The shot with what is special about how the picture is made of the light, and kept."""
    if kind is Mishap.CURVE:
        tone = (Tone.PLAIN, Tone.HARD, Tone.BRIGHT, Tone.DEEP)[rng.integers(4)]
        return replace(shot, sensor=replace(shot.sensor, tone=tone))
    if kind in {Mishap.CODED, Mishap.CODED_SHEET}:
        return replace(shot, sensor=replace(shot.sensor, blending=Blending.CODED))
    if kind is Mishap.MESSENGER:
        return replace(shot, file=replace(shot.file, quality=int(rng.integers(55, 75)), focal_35mm=0.0, turn_tag=1))
    if kind is Mishap.OVEREXPOSED:
        small = replace(shot.file, quality=70, focal_35mm=0.0)
        return replace(shot, sensor=replace(shot.sensor, exposure=rng.uniform(1.05, 1.8)), file=small)
    if kind is Mishap.MIRRORED:
        return replace(shot, file=replace(shot.file, mirrored=True, turn_tag=1))
    return shot


def _ring_alone() -> Spot:
    """The part of the sheet that holds the ring and little more."""
    square = make_target(*A4).square
    return Spot(square.x + 50.0 - A4[0] / 2, square.y + 50.0 - A4[1] / 2, 136.0, 136.0)


def _shade(light: Light, rng: np.random.Generator) -> Light:
    """The edge of a hard shadow, along an edge of the sheet a few mm inside it, or across it."""
    towards = float(rng.choice([0.0, 90.0, 180.0, 270.0])) + (rng.normal(0, 0.7) if rng.random() < 0.5 else 20.0)
    half = A4[0] / 2 if towards % 180 < 45 or towards % 180 > 135 else A4[1] / 2
    return replace(
        light, shadow=rng.uniform(0.3, 0.6), shadow_at=half - rng.uniform(2, 9), shadow_towards=towards,
        shadow_blur=rng.uniform(0.5, 2.0),
    )  # fmt: skip


def _scanned(kind: Mishap, shot: Shot, rng: np.random.Generator) -> Shot:
    """The scan of a bed that is a little larger than the sheet, or just as large; the lid is white or grey."""
    dpi = int(rng.choice([200, 300]))
    room = 0.0 if kind is Mishap.SCAN_BED else 12.0
    camera = scanner(dpi, (A4[0] + room, A4[1] + room), turn=rng.normal(0, 0.3), off=rng.normal(0, 0.001))
    file = File(quality=90, kind=(Kind.JPEG, Kind.PNG)[rng.integers(2)], colour=Colour.COLOUR, focal_35mm=0.0, dpi=dpi)
    lid = Table.LIGHT if rng.integers(2) else Table.DARK
    scene = replace(shot.scene, table=lid, light=Light(0.0, 0.0))
    sensor = replace(shot.sensor, blur=0.6, motion=0.0, noise=1.0, exposure=0.85)
    return replace(shot, scene=scene, scanner=camera, file=file, sensor=sensor)
