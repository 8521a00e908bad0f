"""What to lift, on sheets whose pages lie as is said, without photos."""

from __future__ import annotations

import numpy as np
import pytest

from calibrate.taped.lifts import Lift, least_lifts
from calibrate.taped.printed import PrintedJoin, PrintedPage, PrintedSheet
from calibrate.taped.solving import Solution

WIDTH, HEIGHT = 190.0, 277.0
BLANK = np.full((4, 4), 255, np.uint8)


def grid(rows: int, columns: int) -> PrintedSheet:
    """A sheet of A4 pages, named as they are printed."""
    names = [[f"{chr(ord('A') + row)}{column + 1}" for column in range(columns)] for row in range(rows)]
    pages, joins = [], []
    for row in range(rows):
        for column in range(columns):
            x, y = column * WIDTH, row * HEIGHT
            seen = (x, y, x + WIDTH, y + HEIGHT)
            pages.append(PrintedPage(names[row][column], BLANK, 50.0, (x, y), seen, np.zeros((0, 2))))
            if column:
                ends = np.array([[x, y + 12.0], [x, y + HEIGHT - 12.0]])
                joins.append(PrintedJoin(names[row][column - 1], names[row][column], ends))
            if row:
                ends = np.array([[x + 12.0, y], [x + WIDTH - 12.0, y]])
                joins.append(PrintedJoin(names[row - 1][column], names[row][column], ends))
    return PrintedSheet(tuple(pages), tuple(joins))


def lying(sheet: PrintedSheet, how: dict[str, tuple[float, float, float]]) -> Solution:
    """The sheet with some pages shifted, mm, and turned, degrees."""
    values = np.zeros((len(sheet.pages), 5))
    for number, page in enumerate(sheet.pages):
        x, y, turn = how.get(page.name, (0.0, 0.0, 0.0))
        values[number, :3] = x, y, np.radians(turn)
    return Solution(sheet, values.ravel(), np.zeros((values.size, values.size)))


def worst_after(solution: Solution, lifts: tuple[Lift, ...]) -> float:
    """The largest slip of any join's end once all lifts were made, mm."""
    sheet = solution.sheet
    middles = {page.name: page.middle for page in sheet.pages}
    places = {name: np.eye(3) for name in middles}
    for lift in lifts:
        about, turn = np.mean([middles[name] for name in lift.pages], axis=0), np.radians(lift.turn)
        cos, sin = np.cos(turn), np.sin(turn)
        spin = np.array([[cos, -sin], [sin, cos]])
        move = np.eye(3)
        move[:2, :2], move[:2, 2] = spin, about - spin @ about + lift.move
        for name in lift.pages:
            places[name] = move @ places[name]

    def lies(name: str, at: np.ndarray) -> np.ndarray:
        shift = solution.pose(name)[1]
        off = at + shift[:2] + shift[2] * np.array([-(at - middles[name])[1], (at - middles[name])[0]])
        return np.asarray((places[name] @ [*off, 1.0])[:2])

    return max(
        float(np.hypot(*(lies(join.second, at) - lies(join.first, at)))) for join in sheet.joins for at in join.ends
    )


@pytest.mark.parametrize(
    ("how", "lifted"),
    [
        ({}, []),
        ({"B2": (2.0, -1.0, 0.1)}, [("B2",)]),
        # Two neighbours that slipped differently: no place suits all of one's joins before the other is put right.
        ({"A1": (2.6, 0.2, 0.1), "B1": (1.8, 1.9, 0.0)}, [("A1",), ("B1",)]),
        # What hangs together is moved as one.
        ({"A3": (1.5, 0.0, 0.0), "B3": (1.5, 0.0, 0.0), "C3": (1.5, 0.0, 0.0)}, [("A3", "B3", "C3")]),
    ],
)
def test_the_fewest_pages_are_lifted(how: dict[str, tuple[float, float, float]], lifted: list[tuple[str, ...]]) -> None:
    """And then every join is true."""
    sheet = grid(3, 3)
    solution = lying(sheet, how)
    lifts = least_lifts(solution, sheet.joins, 1.0)
    assert sorted(lift.pages for lift in lifts) == lifted
    assert worst_after(solution, lifts) <= 1.0


@pytest.mark.parametrize("seed", range(20))
def test_whatever_slipped_is_brought_into_order(seed: int) -> None:
    """A sheet taped so badly that most joins are off: all are true once the advice is followed to its end."""
    rng = np.random.default_rng(seed)
    rows, columns = (int(number) for number in rng.integers(2, 6, 2))
    sheet = grid(rows, columns)
    how = {page.name: (*rng.normal(0.0, 0.9, 2), float(rng.normal(0.0, 0.15))) for page in sheet.pages}
    solution = lying(sheet, how)
    lifts = least_lifts(solution, sheet.joins, 1.0)
    assert worst_after(solution, lifts) <= 1.0
