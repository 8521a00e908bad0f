"""A drawing with what was understood of it: pieces and edges numbered, lines in the colours of their roles, a ruler."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from tiling.drawing.lettering import text_width
from tiling.drawing.picture import picture_of
from tiling.pattern import Label, Line, Mark, Pattern, Role
from tiling.recognition.told import role_words
from tiling.recognition.understanding import EdgeSeen, PieceSeen, Understanding
from tiling.shapes import Affine, Box, Path, Point, Size
from tiling.style import Colour, Stroke, Style

__all__ = ["numbered_picture"]

_LONGEST = 2600
_GREY = Colour(0.72, 0.72, 0.72)
_INK = Colour(0.1, 0.1, 0.1)
_WHITE = Colour(1.0, 1.0, 1.0)


@dataclass(frozen=True, slots=True)
class _Look:
    """How lines of a role are drawn: a colour that eyes without red, green or blue tell apart, and dashes for grey."""

    colour: Colour
    dashes: tuple[float, ...] = ()
    width: float = 1.0


def _colour(code: str) -> Colour:
    return Colour(*(int(code[k : k + 2], 16) / 255 for k in (0, 2, 4)))


# Colours: Okabe and Ito, Color Universal Design (2008), a published set for all kinds of colour vision.
_LOOKS = {
    Role.CUTTING: _Look(_INK, width=1.6),
    Role.STITCHING: _Look(_INK, (3.0, 1.5)),
    Role.FOLD: _Look(_colour("D55E00"), (8.0, 1.5, 1.5, 1.5), 2.0),
    Role.GRAINLINE: _Look(_colour("0072B2"), width=1.4),
    Role.NOTCH: _Look(_colour("CC79A7"), width=2.6),
    Role.GRADING: _Look(_colour("009E73"), (6.0, 2.0), 1.6),
    Role.LENGTHEN: _Look(_colour("009E73"), (1.2, 1.6), 1.6),
    Role.PLACEMENT: _Look(_colour("56B4E9"), (2.0, 1.5), 1.3),
    Role.DART: _Look(_colour("E69F00"), width=1.6),
}


def numbered_picture(pattern: Pattern, understanding: Understanding) -> bytes:
    """A PNG of the drawing in grey, with what was understood over it.

    A piece has its number and title in its middle, an edge its number within it; lines of one role have one look, told
    in a key below; lines that are asked about carry a question mark. Rulers in cm run along the top and the left, from
    the drawing's own corner, so that places can be read off for the notes.
    """
    unit = max(pattern.size.width, pattern.size.height) / 900
    letters = 8 * unit
    marks: list[Mark] = [_faint(mark, unit) for mark in pattern.marks]
    used: list[Role] = []
    for number, piece in enumerate(understanding.pieces, 1):
        marks += _of_piece(pattern, piece, number, unit, used)
    marks += _rulers(pattern.size, unit)
    key, height = _key(used, pattern.size, unit)
    room = 4.5 * letters
    size = Size(pattern.size.width + room + 2 * letters, pattern.size.height + room + height)
    moved = [mark.moved(Affine.shift(room, room)) for mark in [*marks, *key]]
    return picture_of(replace(pattern.with_marks(moved), size=size, sheets=()), _LONGEST)


def _faint(mark: Mark, unit: float) -> Mark:
    """The drawing's own marks, thin and grey."""
    if isinstance(mark, Line):
        if mark.style.stroke is not None:
            return replace(mark, style=Style(Stroke(0.6 * unit, _GREY)))
        return replace(mark, style=replace(mark.style, fill=_GREY)) if mark.style.fill is not None else mark
    return replace(mark, colour=_GREY) if isinstance(mark, Label) else mark


def _of_piece(pattern: Pattern, piece: PieceSeen, number: int, unit: float, used: list[Role]) -> Iterator[Mark]:
    for line in (piece.outline, *piece.lines):
        role = line.role.value
        if role is Role.PLAIN:
            continue
        if role not in used:
            used.append(role)
        drawn = [mark for index in line.marks if isinstance(mark := pattern.marks[index], Line)]
        for mark in drawn:
            yield Line(mark.path, Style(_stroke(_LOOKS[role], unit)))
        if not line.role.stands and drawn:
            box = max((mark.path.bounds() for mark in drawn), key=lambda box: max(box.width, box.height))
            yield from _words("?", box.centre, 11 * unit, _LOOKS[role].colour, unit)
    for k, edge in enumerate(piece.edges, 1):
        yield from _numbered_edge(edge, k, unit)
    title = f"{number}  {piece.title.value}"
    room = Size(text_width(title, 12 * unit) * 1.06, 13 * unit)
    yield from _words(title, _free_place(pattern, piece, room), 12 * unit, _INK, unit, bold=True)


def _free_place(pattern: Pattern, piece: PieceSeen, room: Size) -> Point:
    """Where lettering of that size lies in the piece clear of its lines and texts, nearest to its middle."""
    import shapely  # noqa: PLC0415 - heavy, and only for this picture

    region = shapely.Polygon(piece.ring.flatten(0.5)[0]).buffer(0)
    taken = shapely.union_all(
        [
            shapely.MultiLineString(mark.path.flatten(0.5)) if isinstance(mark, Line) else shapely.box(*_corners(mark))
            for mark in (pattern.marks[index] for index in piece.marks())
        ]
    )
    box, best = piece.place, (float("inf"), float("inf"), piece.place.centre)
    for k in range(1, 20):
        for n in range(1, 20):
            at = Point(box.x0 + box.width * k / 20, box.y0 + box.height * n / 20)
            spot = shapely.box(at.x - room.width / 2, at.y - room.height, at.x + room.width / 2, at.y + room.height)
            crowded = float(taken.intersection(spot).length) + 10 * float(spot.difference(region).length)
            best = min(best, (crowded, at.distance(box.centre), at), key=lambda one: one[:2])
    return best[2]


def _corners(mark: Mark) -> tuple[float, float, float, float]:
    reach = mark.reach()
    return reach.x0, reach.y0, reach.x1, reach.y1


def _numbered_edge(edge: EdgeSeen, number: int, unit: float) -> Iterator[Mark]:
    """A dot where the edge begins, and its number within the piece beside its middle."""
    run = edge.path.flatten(0.1)[0]
    middle = run[len(run) // 2] if len(run) > 2 else (run[0] + run[-1]) / 2
    step = run[-1] - run[0]
    norm = max(float((step @ step) ** 0.5), 1e-6)
    inward = Point(-float(step[1]) / norm, float(step[0]) / norm) * (7 * unit)
    yield from _dot(Point(*map(float, run[0])), 1.8 * unit)
    yield from _words(str(number), Point(*map(float, middle)) + inward, 7 * unit, _INK, unit)


def _stroke(look: _Look, unit: float) -> Stroke:
    return Stroke(look.width * unit, look.colour, tuple(dash * 2 * unit for dash in look.dashes))


def _dot(at: Point, radius: float) -> Iterator[Mark]:
    box = Box(at.x - radius, at.y - radius, at.x + radius, at.y + radius)
    yield Line(Path.rectangle(box), Style(fill=_INK))


def _words(text: str, centre: Point, size: float, colour: Colour, unit: float, *, bold: bool = False) -> Iterator[Mark]:
    """Lettering about a place, on a white ground that keeps it readable."""
    width = text_width(text, size) * (1.06 if bold else 1.0)
    ground = Box(centre.x - width / 2, centre.y - 0.55 * size, centre.x + width / 2, centre.y + 0.55 * size)
    yield Line(Path.rectangle(ground.grown(0.8 * unit)), Style(fill=_WHITE, fill_opacity=0.85))
    at = Affine.shift(centre.x - width / 2, centre.y + 0.36 * size)
    yield Label(text, at, size, "Helvetica-Bold" if bold else "Helvetica", colour, width)


def _rulers(size: Size, unit: float) -> Iterator[Mark]:
    """A tick for every cm, longer ones for five and ten, figures at each ten; 0 is the drawing's own corner."""
    letters = 7 * unit
    stroke = Style(Stroke(0.8 * unit, _INK))
    step = 10.0 if max(size.width, size.height) < 3000 else 50.0
    for length, across in ((size.width, True), (size.height, False)):
        ends = (Point(0.0, 0.0), Point(length, 0.0)) if across else (Point(0.0, 0.0), Point(0.0, length))
        yield Line(Path.polyline(ends), stroke)
        for k in range(int(length / step) + 1):
            place = k * step
            long = (10.0 if k % 10 == 0 else 6.5 if k % 5 == 0 else 3.5) * unit
            tip = Point(place, -long) if across else Point(-long, place)
            foot = Point(place, 0.0) if across else Point(0.0, place)
            yield Line(Path.polyline((foot, tip)), stroke)
            if k % 10 == 0:
                text = f"{place / 10:g}" + (" cm" if k == 0 and across else "")
                width = text_width(text, letters)
                at = (
                    Point(place - width / 2, -12 * unit)
                    if across
                    else Point(-12 * unit - width, place + 0.36 * letters)
                )
                yield Label(text, Affine.shift(at.x, at.y), letters, "Helvetica", _INK, width)


def _key(roles: Sequence[Role], size: Size, unit: float) -> tuple[list[Mark], float]:
    """The looks of the roles that occur, in rows below the drawing; and how high they are, mm."""
    letters = 9 * unit
    marks: list[Mark] = []
    x, y = 0.0, size.height + 2.2 * letters
    for role in roles:
        words = role_words(role)
        width = text_width(words, letters)
        if x + 4.6 * letters + width > size.width and x > 0:
            x, y = 0.0, y + 1.8 * letters
        run = Path.polyline([Point(x, y - 0.35 * letters), Point(x + 4 * letters, y - 0.35 * letters)])
        marks += [
            Line(run, Style(_stroke(_LOOKS[role], unit))),
            Label(words, Affine.shift(x + 4.6 * letters, y), letters, "Helvetica", _INK, width),
        ]
        x += 7 * letters + width
    return marks, y - size.height + letters
