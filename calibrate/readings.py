"""One reference measured in one photo: the page's scale against it, and all that makes it doubtful."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from calibrate.budget import Contribution, ReferenceOutline, Spread, combined, mapping_doubt
from calibrate.cardedges import card_edges, card_top
from calibrate.cardlying import Lying, how_it_lies
from calibrate.coinrim import Expected, coin_rim, ellipse_of
from calibrate.edges import SeenEdge, tone_shift
from calibrate.failures import Reason, Refusal
from calibrate.flatbed import is_scan
from calibrate.papers import Paper, paper_of
from calibrate.rectangle import SIDES, Stretch, stretch_of
from calibrate.references import Reference, ReferenceKind, sheet_of
from calibrate.run import Run
from calibrate.shape import WHOLE, trimmed_doubt
from calibrate.sheetedges import goes_on, sheet_edges
from calibrate.sheetpaper import paper_under, rival_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from calibrate.arrays import Array
    from calibrate.camera import Chart, Mapping
    from calibrate.sheetsides import SheetSide
    from calibrate.survey import Survey

_CARD_ALIKE = 0.005
"""How far a card's shape may be off, beyond what the camera leaves open of it, before it is no ID-1 card."""
_COIN_ALIKE = 0.04
_CARD_SKEW = 0.6
_MOST_SQUARE = 1
_OUT_OF_PLACE = {
    Lying.NONE: Reason.NO_REFERENCE, Lying.TURNED: Reason.CARD_OUT_OF_PLACE, Lying.BESIDE: Reason.CARD_OUT_OF_PLACE
}  # fmt: skip
_ROUND = 0.015
_COIN_EDGE = 0.03  # mm: what shadow and shine may shift a whole rim by
_EDGE_FLOOR = 0.06  # pixels: what the lens and the phone's sharpening may shift an edge by
_SHADOW = 0.006  # mm: by how much a shadow along the sheet's edge, or a table's shine, may seem to move it


@dataclass(frozen=True, slots=True, eq=False)
class ScaleReading:
    """A page's scale as one reference in one photo gives it.

    ``own`` is doubt that belongs to the photo, ``shared`` doubt that every photo of the same reference has
    alike. ``outlines`` are the edges used, in pixels, ``passed`` the lines taken for no edge of the sheet; ``paper`` is
    the sheet, where its edges were read.
    """

    reference: Reference
    across: float
    down: float
    skew_degrees: float
    own: tuple[Contribution, ...]
    shared: tuple[Contribution, ...]
    outlines: dict[str, Array]
    edges: dict[str, SeenEdge]
    paper: Paper | None = None
    note: str = ""
    passed: tuple[Array, ...] = ()

    @property
    def budget(self) -> tuple[Contribution, ...]:
        """All contributions."""
        return (*self.own, *self.shared)

    @property
    def doubt(self) -> tuple[float, float]:
        """Combined standard uncertainty across and down, as parts of the scale."""
        return combined(self.budget)


def read_sheet(survey: Survey, paper: Reference | None, run: Run = Run()) -> ScaleReading | Refusal:
    """Measure against the sheet's own edges; ``paper`` names its size, else the target's code does.

    Raises:
        Cancelled: the run is to end.
    """
    if not survey.target.message.whole_sheet:
        return Refusal(Reason.SHEET_LARGER, "its edges lie too far from the square to measure by")
    sides = sheet_edges(survey.photo, survey.mapping, survey.target, survey.seen.which, run)
    passed = tuple(survey.mapping.project(line.ends) for found in sides.values() for line in found.passed)
    reading = _by_edges(survey, sides, paper, run)
    if isinstance(reading, ScaleReading):
        return replace(reading, passed=passed)
    outlines = {f"sheet {side}": survey.mapping.project(found.edge.ends) for side, found in sides.items()}
    return replace(reading, seen=survey.evidence(outlines, passed))


def _by_edges(survey: Survey, sides: dict[str, SheetSide], paper: Reference | None, run: Run) -> ScaleReading | Refusal:
    """The scale by the sides that were found; why there is none."""
    missing = [side for side in SIDES if side not in sides]
    if missing:
        return _no_edges(survey, missing)
    edges = {side: found.edge for side, found in sides.items()}
    drawn = paper_of(survey.target.message.width, survey.target.message.height)
    note, found, shape = "", drawn, survey.shape
    if paper is None:
        if not shape.shown:
            return Refusal(
                Reason.TOO_SLANTED,
                "the file doesn't note the lens, and from so far aside a stretched page looks the same",
            )
        chosen = paper_under(edges, drawn, shape)
        if isinstance(chosen, Refusal):
            return chosen
        found = chosen
        rival = rival_of(sides, found, shape)
        if rival is not None:
            return rival
        if found != drawn:
            meant = "A4 and letter alike" if drawn.shared else drawn.label
            note = f"the page was drawn for {meant}; the sheet is {found.label} by its shape"
        paper = sheet_of(found)
        whole = trimmed_doubt(shape.misfit(stretch_of(edges, found.width, found.height)), shape.deviation, found)
    else:
        whole = Contribution(WHOLE, 0.0, 0.0)
    reading = _of_rectangle(survey, paper, edges, lambda mapping: mapping, run)
    # It lies along opposite edges alike.
    shadow = Contribution("shadow at the edges", 2.0 * _SHADOW / paper.width, 2.0 * _SHADOW / paper.height)
    own, shared = (*reading.own, shadow), (*reading.shared, whole)
    return replace(reading, paper=found, note=note, own=own, shared=shared)


def _no_edges(survey: Survey, missing: list[str]) -> Refusal:
    """Why the sheet's edges are not found: off the picture, or too like the table."""
    field = survey.target.field
    corners = np.array([[0, 0], [field.width, 0], [field.width, field.height], [0, field.height]], float)
    ends = {"left": (0, 3), "top": (0, 1), "right": (1, 2), "bottom": (3, 2)}
    seen = survey.mapping.project(corners)
    height, width = survey.photo.pixels.shape
    for side in missing:
        at = seen[list(ends[side])]
        if ((at < 2).any(axis=1) | (at > [width - 3, height - 3]).any(axis=1)).any():
            return Refusal(Reason.TARGET_CUT_OFF, f"the sheet's {side} edge is outside the picture")
    if len(missing) < len(SIDES) and any(
        goes_on(survey.photo, survey.mapping, survey.target, side) for side in missing
    ):
        where = " and ".join(missing)
        return Refusal(Reason.SHEET_LARGER, f"the paper goes on beyond the page's {where} edge: several pages on it?")
    return Refusal(Reason.TABLE_LIKE_PAPER, f"the sheet's {' and '.join(missing)} edge can't be made out")


def read_card(survey: Survey, card: Reference, run: Run = Run()) -> ScaleReading | Refusal:
    """Measure against a card that lies in its outline.

    Raises:
        Cancelled: the run is to end.
    """
    if is_scan(survey):
        # It lies on the glass as the sheet does: nothing is seen from the side.
        card = replace(card, thickness=0.0, spread_thickness=0.0, rise_width=0.0, rise_height=0.0)
    lies = how_it_lies(survey.photo.pixels, survey.mapping, survey.target.card)
    if lies in _OUT_OF_PLACE:
        return Refusal(_OUT_OF_PLACE[lies], lies.value)
    laid = card_edges(survey.photo, survey.mapping, survey.target.card, card, run)
    if len(laid.edges) < len(SIDES):
        missing = [side for side in SIDES if side not in laid.edges]
        return Refusal(Reason.NO_REFERENCE, f"the card's {' and '.join(missing)} edge can't be made out")
    if laid.square_corners > _MOST_SQUARE:
        return Refusal(
            Reason.OTHER_SIZE, "what lies in the card's outline has square corners: no card of bank-card size"
        )

    def top(mapping: Mapping) -> Chart:
        return card_top(mapping, survey.target.card, card)

    reading = _of_rectangle(survey, card, laid.edges, top, run)
    shape = survey.shape
    misfit = abs(shape.misfit(stretch_of(laid.edges, card.width, card.height)))
    if misfit > _CARD_ALIKE + 2.0 * shape.deviation or abs(reading.skew_degrees) > _CARD_SKEW:
        return Refusal(Reason.OTHER_SIZE, "what lies in the card's outline is not shaped like a bank card")
    unlike = max(misfit - 2.0 * shape.deviation, 0.0)
    return replace(reading, own=(*reading.own, Contribution("card's shape", unlike, unlike)))


def _of_rectangle(
    survey: Survey, reference: Reference, edges: dict[str, SeenEdge], chart: Callable[[Mapping], Chart], run: Run
) -> ScaleReading:
    """The reading of a rectangular reference whose four edges were found in the plane of ``chart``."""
    stretch = stretch_of(edges, reference.width, reference.height)
    points = np.concatenate([_three(edges[side]) for side in SIDES])

    def scales(moved: Array) -> Array:
        parts = {side: replace(edges[side], points=moved[3 * n : 3 * n + 3]) for n, side in enumerate(SIDES)}
        found = stretch_of(parts, reference.width, reference.height)
        return np.array([found.across, found.down])

    outline = ReferenceOutline(points, chart, scales)
    own = (*mapping_doubt(survey.fit, outline, run), *_edge_doubt(survey, edges, stretch))
    project = chart(survey.mapping).project
    outlines = {f"{reference.kind.value} {side}": project(edges[side].ends) for side in SIDES}
    return ScaleReading(
        reference,
        stretch.across,
        stretch.down,
        stretch.skew_degrees,
        own,
        _shared(survey, reference),
        outlines,
        edges,
    )


def _three(edge: SeenEdge) -> Array:
    """Three points that stand for an edge's line: its ends and its middle."""
    start, end = edge.ends
    return np.array([start, (start + end) / 2, end])


def _edge_doubt(survey: Survey, edges: dict[str, SeenEdge], stretch: Stretch) -> tuple[Contribution, ...]:
    """How far the edges may be off: each by itself, and opposite ones alike by sharpening and tone."""
    floor = _EDGE_FLOOR / survey.per_mm
    middles = {side: edges[side].points.mean(axis=0) for side in SIDES}
    wide = float(np.linalg.norm(middles["right"] - middles["left"]))
    tall = float(np.linalg.norm(middles["bottom"] - middles["top"]))

    def doubt(near: str, far: str, length: float, noise: float) -> float:
        bias = float(np.hypot(np.hypot(edges[near].bias, edges[far].bias), 2.0 * floor)) / length
        return float(np.hypot(noise, bias))

    def tone(near: str, far: str, length: float) -> float:
        shift = sum(tone_shift(edges[side]) for side in (near, far)) / survey.per_mm
        return shift / math.sqrt(3.0) / length

    return (
        Contribution(
            "edge finding",
            doubt("left", "right", wide, stretch.noise_across),
            doubt("top", "bottom", tall, stretch.noise_down),
        ),
        Contribution("tone curve", tone("left", "right", wide), tone("top", "bottom", tall), Spread.RECTANGULAR),
    )


def _shared(survey: Survey, reference: Reference) -> tuple[Contribution, ...]:
    size = Contribution(
        "reference tolerance",
        reference.spread_width / reference.width,
        reference.spread_height / reference.height,
        Spread.NORMAL if reference.source == "measured" else Spread.RECTANGULAR,
    )
    if reference.kind is ReferenceKind.SHEET:
        return (size,)
    distance = float(survey.mapping.values[5])
    thickness = reference.spread_thickness / distance
    bow = Contribution("bow", reference.rise_width / distance, reference.rise_height / distance)
    return (size, Contribution("thickness", thickness, thickness, Spread.RECTANGULAR), bow)


def read_coin(
    survey: Survey, coin: Reference, sheet: ScaleReading | Refusal, run: Run = Run()
) -> ScaleReading | Refusal:
    """Measure against a round coin that lies in its place; the sheet tells roughly how large it is.

    Raises:
        Cancelled: the run is to end.
    """
    if not isinstance(sheet, ScaleReading):
        return Refusal(Reason.NO_REFERENCE, f"nothing confirms which coin it is: {sheet.detail or sheet.reason.value}")
    mean, doubt = (sheet.across + sheet.down) / 2, 3.0 * max(sheet.doubt) + 0.01
    expected = Expected(mean * (1.0 - doubt), mean * (1.0 + doubt))
    rim = coin_rim(survey.photo.pixels, survey.mapping, survey.target, coin, expected, run)
    if rim is None:
        return Refusal(Reason.NO_REFERENCE, "no coin's round rim can be made out in the coin's place")
    matrix, misses = ellipse_of(rim, rim.points)
    if rim.out_of_round > _ROUND:
        return Refusal(
            Reason.NO_REFERENCE,
            f"the coin's rim comes out {100 * rim.out_of_round:.1f} % out of round: give it even light, "
            "without a hard shadow",
        )
    radius = coin.width / 2

    def scales(points: Array) -> Array:
        matrix, _ = ellipse_of(rim, points)
        return radius * np.sqrt(np.diag(matrix))

    across, down = (float(v) for v in scales(rim.points))
    skew = float(np.degrees(np.arcsin(np.clip(-matrix[0, 1] / np.sqrt(matrix[0, 0] * matrix[1, 1]), -1, 1))))
    if abs(skew) > _CARD_SKEW or abs(across / down - 1.0) > _COIN_ALIKE:
        return Refusal(Reason.NO_REFERENCE, "what lies in the coin's place is no circle")
    x, y = survey.target.coin
    ring = rim.points - rim.points.mean(axis=0)

    def top(mapping: Mapping) -> Chart:
        return mapping.lying_on(x, y, np.array([x, y]) + 0.9 * ring, coin.thickness).lowered(0.1)

    scatter = float(np.median(np.abs(misses))) * 1.4826
    edge = float(np.hypot(np.hypot(scatter, _COIN_EDGE), _EDGE_FLOOR / survey.per_mm)) / radius
    own = (
        *mapping_doubt(survey.fit, ReferenceOutline(rim.points, top, scales), run),
        Contribution("edge finding", edge, edge),
    )
    seen = rim.top.project(np.vstack([rim.points, rim.points[:1]]))
    return ScaleReading(coin, across, down, skew, own, _shared(survey, coin), {"coin": seen}, {})
