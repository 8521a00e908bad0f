"""The drafts drawn as general drawing programs draw, and as people do: layers, paths, units, arrows, languages."""

from __future__ import annotations

from dataclasses import dataclass, field
from io import BytesIO

import numpy as np
import shapely
from reportlab.graphics import renderPDF
from reportlab.pdfgen.canvas import Canvas
from svglib.svglib import svg2rlg

from tests.recognition.drafts import Draft, Edge, Point

WORDS = {
    "en": {"front": "Front", "back": "Back", "sleeve": "Sleeve", "waistband": "Waistband", "pocket": "Pocket",
           "panel": "Panel", "gusset": "Gusset", "cut": "cut {n}", "pair": "cut {n}, a pair", "fold": "on the fold",
           "grain": "grainline", "lengthen": "lengthen or shorten here", "level": "bust", "grade": "widen here",
           "size": "Size"},
    "de": {"front": "Vorderteil", "back": "Rückenteil", "sleeve": "Ärmel", "waistband": "Bund", "pocket": "Tasche",
           "panel": "Latz", "gusset": "Zwickel", "cut": "{n} x zuschneiden", "pair": "{n} x gegengleich zuschneiden",
           "fold": "im Stoffbruch", "grain": "Fadenlauf", "lengthen": "hier verlängern oder kürzen", "level": "Brust",
           "grade": "hier erweitern", "size": "Größe"},
    "fr": {"front": "Devant", "back": "Dos", "sleeve": "Manche", "waistband": "Ceinture", "pocket": "Poche",
           "panel": "Empiècement", "gusset": "Soufflet", "cut": "couper {n} fois", "pair": "couper {n} fois, en miroir",
           "fold": "au pli", "grain": "droit fil", "lengthen": "rallonger ou raccourcir ici", "level": "poitrine",
           "grade": "élargir ici", "size": "Taille"},
    "es": {"front": "Delantero", "back": "Espalda", "sleeve": "Manga", "waistband": "Pretina", "pocket": "Bolsillo",
           "panel": "Canesú", "gusset": "Costado", "cut": "cortar {n}", "pair": "cortar {n}, en espejo",
           "fold": "al doblez", "grain": "hilo", "lengthen": "alargar o acortar aquí", "level": "busto",
           "grade": "ensanchar aquí", "size": "Talla"},
    "it": {"front": "Davanti", "back": "Dietro", "sleeve": "Manica", "waistband": "Cintura", "pocket": "Tasca",
           "panel": "Sprone", "gusset": "Fianco", "cut": "tagliare {n} volte", "pair": "tagliare {n} volte, speculare",
           "fold": "sulla piega", "grain": "drittofilo", "lengthen": "allungare o accorciare qui", "level": "busto",
           "grade": "allargare qui", "size": "Taglia"},
    "nl": {"front": "Voorpand", "back": "Achterpand", "sleeve": "Mouw", "waistband": "Tailleband", "pocket": "Zak",
           "panel": "Pas", "gusset": "Zijpand", "cut": "{n} keer knippen", "pair": "{n} keer gespiegeld knippen",
           "fold": "aan de stofvouw", "grain": "draadrichting", "lengthen": "hier verlengen of inkorten",
           "level": "buste", "grade": "hier verbreden", "size": "Maat"},
    "pt": {"front": "Frente", "back": "Costas", "sleeve": "Manga", "waistband": "Cós", "pocket": "Bolso",
           "panel": "Pala", "gusset": "Lateral", "cut": "cortar {n} vezes", "pair": "cortar {n} vezes, espelhado",
           "fold": "na dobra do tecido", "grain": "fio reto", "lengthen": "alongar ou encurtar aqui", "level": "busto",
           "grade": "alargar aqui", "size": "Tamanho"},
    "sv": {"front": "Framstycke", "back": "Bakstycke", "sleeve": "Ärm", "waistband": "Linning", "pocket": "Ficka",
           "panel": "Ok", "gusset": "Sidstycke", "cut": "klipp {n} st", "pair": "klipp {n} st, spegelvända",
           "fold": "mot vikning", "grain": "trådriktning", "lengthen": "förläng eller förkorta här", "level": "byst",
           "grade": "vidga här", "size": "Storlek"},
    "pl": {"front": "Przód", "back": "Tył", "sleeve": "Rękaw", "waistband": "Pasek", "pocket": "Kieszeń",
           "panel": "Karczek", "gusset": "Bok", "cut": "wyciąć {n} razy", "pair": "wyciąć {n} razy, lustrzane odbicie",
           "fold": "na złożeniu", "grain": "nitka prosta", "lengthen": "wydłużyć lub skrócić tutaj", "level": "biust",
           "grade": "poszerzyć tutaj", "size": "Rozmiar"},
}  # fmt: skip
"""What the drafts' texts say, by language; from memory."""


@dataclass(frozen=True)
class Way:
    """How a drawing is drawn.

    Attributes:
        outline: ``closed`` path, one ``path`` an edge, ``polyline`` or ``polygon``, or ``gaps`` between edges.
        allowance: mm round the seam line, drawn outside it; 0 draws the one line only. The fold has none.
        stitching: whether the seam line is drawn dashed; else as the cutting line.
        grain: ``arrow`` in one path, ``parts`` (a line and heads), ``filled`` heads, ``marker`` or ``words`` alone.
        fold: ``bracket``, ``words``, ``chain`` (dash-dot over the edge) or ``dashed`` edge.
        notch: ``tick`` or ``triangle``.
        layers: ``none``, ``piece``, ``role`` or ``groups`` with a transform.
        units: ``mm``, ``px`` (96 to the inch), or ``scaled`` within a transform.
        texts: whether anything is written.
        extras: of ``frame``, ``legend``, ``ruler``, ``square``.
        sizes: further sizes nested, each this many mm larger; by ``layer``, ``colour`` or ``dash``.
        pdf: drawn as a PDF by a general library instead.
    """

    outline: str = "closed"
    allowance: float = 0.0
    stitching: bool = True
    grain: str = "arrow"
    fold: str = "bracket"
    notch: str = "tick"
    layers: str = "none"
    units: str = "mm"
    language: str = "en"
    texts: bool = True
    extras: tuple[str, ...] = ()
    sizes: tuple[float, ...] = ()
    sizes_by: str = "layer"
    pdf: bool = False


@dataclass
class _Sheet:
    """An SVG being written; `way` decides how."""

    way: Way
    parts: dict[str, list[str]] = field(default_factory=dict)
    layer: str = ""

    def add(self, markup: str, role: str = "") -> None:
        """Markup in the current layer, or in the role's."""
        key = role if self.way.layers == "role" else self.layer
        self.parts.setdefault(key, []).append(markup)

    def path(self, d: str, role: str, width: float = 0.5, dashes: str = "", colour: str = "#000") -> None:
        """A stroked path."""
        dash = f' stroke-dasharray="{dashes}"' if dashes else ""
        self.add(f'<path d="{d}" fill="none" stroke="{colour}" stroke-width="{width}"{dash}/>', role)

    def text(self, at: Point, words: str, size: float = 6.0, turn: float = 0.0) -> None:
        """A line of text, turned about its start."""
        turned = f' transform="rotate({turn} {at[0]:.2f} {at[1]:.2f})"' if turn else ""
        self.add(f'<text x="{at[0]:.2f}" y="{at[1]:.2f}" font-size="{size}" '
                 f'font-family="DejaVu Sans, Helvetica, sans-serif"{turned}>{words}</text>', "texts")  # fmt: skip


def svg_of(drafts: list[Draft], way: Way, width: float, height: float) -> bytes:
    """The drafts, already laid out, as an SVG."""
    sheet = _Sheet(way)
    for draft in drafts:
        sheet.layer = WORDS[way.language][draft.name] if way.layers == "piece" else ""
        _piece(sheet, draft)
    sheet.layer = ""
    _extras(sheet, width, height)
    return _document(sheet, width, height).encode()


def pdf_of(svg: bytes) -> bytes:
    """The same as a PDF, drawn by svglib and reportlab."""
    drawing = svg2rlg(BytesIO(svg))
    stream = BytesIO()
    canvas = Canvas(stream, pagesize=(drawing.width, drawing.height), invariant=1)
    renderPDF.draw(drawing, canvas, 0, 0)
    canvas.save()
    return stream.getvalue()


def offset(draft: Draft, by: float) -> np.ndarray:
    """The cutting line round a draft: its seam line grown by an allowance, but not over the fold."""
    seam = shapely.Polygon(draft.ring())
    grown = seam.buffer(by, join_style="mitre", mitre_limit=5)
    if draft.fold:
        start, end = (np.array(p) for p in (draft.edge(draft.fold).points[0], draft.edge(draft.fold).points[-1]))
        along = (end - start) / np.hypot(*(end - start))
        outward = np.array([along[1], -along[0]])
        a, b = start - 3 * by * along, end + 3 * by * along
        grown = grown.difference(shapely.Polygon([a, b, b + 3 * by * outward, a + 3 * by * outward]))
    ring = np.array(shapely.get_coordinates(grown.exterior))
    return ring if shapely.LinearRing(ring).is_ccw is False else ring[::-1]


def _d(points: np.ndarray, *, closed: bool) -> str:
    ring = points[:-1] if closed else points
    return "M" + "L".join(f"{x:.3f} {y:.3f}" for x, y in ring) + ("Z" if closed else "")


def _edge_d(edge: Edge, *, first: bool) -> str:
    points = [f"{x:.3f} {y:.3f}" for x, y in edge.points]
    start = f"M{points[0]}" if first else ""
    return start + (f"L{points[1]}" if len(points) == 2 else f"C{' '.join(points[1:])}")


def _piece(sheet: _Sheet, draft: Draft) -> None:
    way = sheet.way
    for k, more in enumerate(way.sizes):
        _size(sheet, draft, more, k)
    home = sheet.layer
    if way.sizes and way.sizes_by == "layer":
        sheet.layer = f"{WORDS[way.language]['size']} 38"
    dashed_fold = draft.fold if way.fold == "dashed" else ""
    if way.allowance:
        ring = offset(draft, way.allowance)
        sheet.path(_d(ring, closed=True), "cutting", 0.7)
        _outline(sheet, draft, "stitching", 0.35, "4 2" if way.stitching else "", "")
    else:
        _outline(sheet, draft, "cutting", 0.7, "", dashed_fold)
    _fold(sheet, draft)
    _grain(sheet, draft)
    _ticks(sheet, draft)
    _inner(sheet, draft)
    _texts(sheet, draft)
    sheet.layer = home


def _size(sheet: _Sheet, draft: Draft, more: float, number: int) -> None:
    way, name = sheet.way, f"{WORDS[sheet.way.language]['size']} {40 + 2 * number}"
    home = sheet.layer
    if way.sizes_by == "layer":
        sheet.layer = name
    grown = np.array(draft.ring())
    low = grown.min(axis=0)
    factor = 1 + more / (grown.max(axis=0) - low)
    look = {
        "layer": ("", "#000"),
        "colour": ("", ("#c00", "#06c", "#080")[number % 3]),
        "dash": (f"{6 + 4 * number} 3", "#000"),
    }
    dashes, colour = look[way.sizes_by]
    sheet.path(_d(low + (grown - low) * factor, closed=True), "cutting", 0.5, dashes, colour)
    sheet.layer = home


def _outline(sheet: _Sheet, draft: Draft, role: str, width: float, dashes: str, dashed: str) -> None:
    how = sheet.way.outline
    if how == "closed" and not dashed:
        d = "".join(_edge_d(edge, first=k == 0) for k, edge in enumerate(draft.edges)) + "Z"
        sheet.path(d, role, width, dashes)
        return
    if how in {"polygon", "polyline"} and not dashed:
        ring = draft.ring()[:-1] if how == "polygon" else draft.ring()
        points = " ".join(f"{x:.3f},{y:.3f}" for x, y in ring)
        dash = f' stroke-dasharray="{dashes}"' if dashes else ""
        sheet.add(f'<{how} points="{points}" fill="none" stroke="#000" stroke-width="{width}"{dash}/>', role)
        return
    for edge in draft.edges:
        gap = (0.15, -0.15) if how == "gaps" else (0.0, 0.0)
        moved = Edge(
            edge.name, tuple((x + gap[0] * (k == 0), y + gap[1] * (k > 0)) for k, (x, y) in enumerate(edge.points))
        )
        own = "6 3" if edge.name == dashed else dashes
        sheet.path(_edge_d(moved, first=True), role, width, own)


def _fold(sheet: _Sheet, draft: Draft) -> None:
    if not draft.fold:
        return
    way, edge = sheet.way, draft.edge(draft.fold)
    start, end = np.array(edge.points[0]), np.array(edge.points[-1])
    if way.fold == "bracket":
        along = (end - start) / np.hypot(*(end - start))
        inward = np.array([-along[1], along[0]])
        a, b = start + 0.25 * (end - start), start + 0.7 * (end - start)
        points = [a + 2 * inward, a + 16 * inward, b + 16 * inward, b + 2 * inward]
        d = _d(np.array(points), closed=False)
        for tip in (points[0], points[3]):
            d += _d(np.array([tip + 6 * inward + 3 * along, tip, tip + 6 * inward - 3 * along]), closed=False)
        sheet.path(d, "marks", 0.4)
    elif way.fold == "chain":
        sheet.path(_d(np.array([start, end]), closed=False), "marks", 0.6, "12 2 2 2")
    if way.texts and way.fold != "chain":
        at = start + 0.5 * (end - start)
        sheet.text((float(at[0]) + 9, float(at[1]) + 12), WORDS[way.language]["fold"], 6, -90)


def _grain(sheet: _Sheet, draft: Draft) -> None:
    if draft.grain is None:
        return
    way = sheet.way
    a, b = (np.array(point) for point in draft.grain)
    along = (b - a) / np.hypot(*(b - a))
    side = np.array([-along[1], along[0]])
    heads = [
        [tip - sign * (8 * along) + 3 * side, tip, tip - sign * (8 * along) - 3 * side]
        for tip, sign in ((a, -1), (b, 1))
    ]
    shaft = _d(np.array([a, b]), closed=False)
    if way.grain == "arrow":
        sheet.path(shaft + "".join(_d(np.array(head), closed=False) for head in heads), "marks", 0.4)
    elif way.grain == "parts":
        sheet.path(shaft, "marks", 0.4)
        for head in heads:
            sheet.path(_d(np.array(head), closed=False), "marks", 0.4)
    elif way.grain == "filled":
        sheet.path(shaft, "marks", 0.4)
        for head in heads:
            sheet.add(f'<path d="{_d(np.array([*head, head[0]]), closed=True)}" fill="#000"/>', "marks")
    elif way.grain == "marker":
        sheet.add(f'<path d="{shaft}" fill="none" stroke="#000" stroke-width="0.5" marker-end="url(#head)" '
                  'marker-start="url(#head)"/>', "marks")  # fmt: skip
    else:
        sheet.path(shaft, "marks", 0.4)
    if way.texts:
        middle = (a + b) / 2
        sheet.text((float(middle[0]) + 4, float(middle[1])), WORDS[way.language]["grain"], 5)


def notch_place(draft: Draft, notch: tuple[str, float], allowance: float) -> tuple[np.ndarray, np.ndarray]:
    """Where a notch stands on the seam line, and the direction outwards."""
    edge = next(e for e in draft.edges if e.name == notch[0])
    line = shapely.LineString(edge.line())
    at = line.interpolate(notch[1], normalized=True)
    ahead = line.interpolate(min(notch[1] + 0.01, 1.0), normalized=True)
    step = np.array([ahead.x - at.x, ahead.y - at.y])
    step /= np.hypot(*step)
    return np.array([at.x, at.y]), np.array([step[1], -step[0]])


def _ticks(sheet: _Sheet, draft: Draft) -> None:
    way = sheet.way
    for notch in draft.notches:
        at, out = notch_place(draft, notch, way.allowance)
        if way.notch == "triangle":
            along = np.array([-out[1], out[0]])
            triangle = [at - 3 * along, at - 6 * out, at + 3 * along, at - 3 * along]
            sheet.path(_d(np.array(triangle), closed=True), "marks", 0.4)
        else:
            sheet.path(_d(np.array([at - 4 * out, at + 4 * out]), closed=False), "marks", 0.5)
    for first, tip, second in draft.darts:
        sheet.path(_d(np.array([first, tip, second]), closed=False), "marks", 0.4)


def _inner(sheet: _Sheet, draft: Draft) -> None:
    way = sheet.way
    for _role, a, b, words in draft.lines:
        sheet.path(_d(np.array([a, b]), closed=False), "marks", 0.4, "8 3")
        if words == "pair":
            up = (np.array(a)[0], np.array(a)[1] + 6), (np.array(b)[0], np.array(b)[1] + 6)
            sheet.path(_d(np.array(up), closed=False), "marks", 0.4, "8 3")
        elif way.texts:
            middle = 0.35 * np.array(a) + 0.65 * np.array(b)
            level = abs(a[1] - b[1]) < abs(a[0] - b[0])
            at = (middle[0] - 20, middle[1] - 2) if level else (middle[0] + 2, middle[1])
            sheet.text((float(at[0]), float(at[1])), WORDS[way.language][words], 5)
    for shape in draft.placements:
        sheet.path(_d(np.array(shape), closed=True), "marks", 0.4, "3 2")
    for x, y in draft.buttons:
        sheet.add(f'<circle cx="{x:.3f}" cy="{y:.3f}" r="5" fill="none" stroke="#000" stroke-width="0.4"/>', "marks")


def _texts(sheet: _Sheet, draft: Draft) -> None:
    way = sheet.way
    if not way.texts:
        return
    words = WORDS[way.language]
    x, y = draft.middle()
    x0 = min(point[0] for edge in draft.edges for point in edge.points)
    x = max(x - 30, x0 + 22)
    size = 5 if draft.name == "gusset" else 12
    sheet.text((x, y), words[draft.name], size)
    order = words["pair" if draft.pair else "cut"].format(n=draft.copies)
    sheet.text((x, y + 1.2 * size), order, min(7, size))


def _extras(sheet: _Sheet, width: float, height: float) -> None:
    extras = sheet.way.extras
    if "frame" in extras:
        sheet.add(f'<rect x="4" y="4" width="{width - 8}" height="{height - 8}" fill="none" stroke="#000"/>', "frame")
    if "legend" in extras:
        sheet.add('<rect x="20" y="14" width="190" height="56" fill="none" stroke="#000" stroke-width="0.4"/>', "key")
        for k, (dashes, words) in enumerate((("", "cut"), ("4 2", "grain"), ("8 3", "lengthen"))):
            sheet.path(f"M28 {26 + 14 * k}H78", "key", 0.5, dashes)
            sheet.text((84, 28 + 14 * k), WORDS[sheet.way.language][words].format(n=1), 5)
    if "square" in extras:
        sheet.add('<rect x="230" y="14" width="50" height="50" fill="none" stroke="#000" stroke-width="0.4"/>', "key")
        sheet.text((236, 40), "5 x 5 cm", 6)
    if "ruler" in extras:
        sheet.path("M300 20H520", "key", 0.4)
        for k in range(23):
            sheet.path(f"M{300 + 10 * k} 20V{30 if k % 5 else 34}", "key", 0.3)
            if k % 5 == 0:
                sheet.text((299 + 10 * k, 42), str(k), 5)


def _document(sheet: _Sheet, width: float, height: float) -> str:
    way = sheet.way
    rate = 96 / 25.4 if way.units == "px" else 1.0
    body = ""
    for k, (layer, parts) in enumerate(sheet.parts.items()):
        content = "\n".join(parts)
        if way.layers in {"piece", "role"} or way.sizes_by == "layer":
            name = layer or "Layer 1"
            content = f'<g inkscape:groupmode="layer" id="layer{k}" inkscape:label="{name}">{content}</g>'
        elif way.layers == "groups":
            content = f'<g transform="translate(-7 3)"><g transform="translate(7 -3)">{content}</g></g>'
        body += content
    if rate != 1.0:
        body = f'<g transform="scale({rate:.9f})">{body}</g>'
    if way.units == "scaled":
        body = f'<g transform="matrix(0.1 0 0 0.1 0 0)"><g transform="scale(10)">{body}</g></g>'
    unit = "px" if way.units == "px" else "mm"
    across, down = f"{width * rate:.6f}", f"{height * rate:.6f}"
    size = f'width="{across}{unit}" height="{down}{unit}" viewBox="0 0 {across} {down}"'
    marker = ('<defs><marker id="head" viewBox="0 0 10 10" refX="9" refY="5" markerWidth="14" markerHeight="12" '
              'orient="auto-start-reverse"><path d="M0 0L10 5L0 10Z" fill="#000"/></marker></defs>')  # fmt: skip
    return ('<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
            f'{size}>{marker if way.grain == "marker" else ""}{body}</svg>')  # fmt: skip
