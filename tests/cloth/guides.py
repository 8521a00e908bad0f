"""Booklets of invented patterns with any number of pieces and notions, in four scripts."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from io import BytesIO

from PIL import Image, ImageDraw

from tests.cloth.drafts import mark, pattern, rectangle
from tiling.cloth.booklet import Booklet, booklet
from tiling.cloth.cloth_choice import ClothFold, Nap
from tiling.cloth.lay_search import Effort
from tiling.cloth.sewing_report import SewingReport, sewing_report
from tiling.cloth.steps import Pixels, Step
from tiling.cloth.units import Units
from tiling.cloth.wishes import ClothWidth, LayWishes, with_lays
from tiling.drawing.print_job import PrintJob, build_print_job
from tiling.notes import CutAs, LineRef, Notes, NotionNote, PieceNote, SeamNote, Wearer
from tiling.pattern import Role, pieces_of
from tiling.planning.papers import paper_named
from tiling.planning.planner import PlanOptions, plan_pages
from tiling.shapes import Size

__all__ = ["A4", "SCRIPTS", "guide", "matter"]

A4 = Size(210.0, 297.0)

SCRIPTS = {
    "latin": (
        "Gärtnerschürze mit Überwurftasche",
        "Vorderteil Rücken Ärmel Schulterpasse Seitenstreifen Bündchen Kragen",
        "Gummiband, 15 mm breit, für die Ärmelbündchen",
        "Nähen Sie {} rechts auf rechts zusammen und bügeln Sie die Naht aus.",
    ),
    "cyrillic": (
        "Рабочий халат садовода",
        "Полочка Спинка Рукав Кокетка Бочок Манжета Воротник",
        "Резинка шириной 15 мм для манжет",
        "Сложите {} лицевыми сторонами внутрь, стачайте и разутюжьте шов.",
    ),
    "hebrew": (
        "חלוק גינון לאגודה",
        "קדמי אחורי שרוול כתפייה צד חפת צווארון",
        "גומי ברוחב 15 מ״מ לחפתים",
        "תופרים את {} צד ימין על צד ימין ומגהצים את התפר.",
    ),
    "east asian": (
        "園芸スモック(共同農園用)",
        "前身頃 後身頃 袖 ヨーク 脇布 カフス 衿",
        "カフス用ゴムテープ、幅15mm",
        "{}を中表に合わせて縫い、縫い代をアイロンで割ります。",
    ),
}
"""By script: a title, piece titles, a notion and a step's text."""


def matter(
    pieces: int, notions: int, script: str = "latin", units: Units = Units.CM, *, lays: bool = True
) -> tuple[SewingReport, PrintJob]:
    """The tables with lay plans and steps, and the pages."""
    title, words, notion, step = SCRIPTS[script]
    names = words.split()
    idents = [f"piece{n}" for n in range(pieces)]
    titles = [names[n % 7] + (f" {n // 7 + 1}" if n >= 7 else "") for n in range(pieces)]
    marks = []
    for n, ident in enumerate(idents):
        wide, tall = 180.0 + 37 * (n % 5), 260.0 + 61 * (n % 7)
        x, y = 30.0 + (n % 6) * 400.0, 30.0 + (n // 6) * 720.0
        marks += rectangle(ident, wide, tall, x, y)
        marks.append(mark(ident, Role.PLACEMENT, "hip", (x + 20, y + 150), (x + 90, y + 150)))
        marks += [mark(ident, Role.NOTCH, "", (x + side - 4, y + 90), (x + side + 4, y + 90)) for side in (0.0, wide)]
        if n % 3 == 0:
            marks.append(mark(ident, Role.STITCHING, "dart", (x + 60, y), (x + 72, y + 200), (x + 84, y)))
    seams = [
        SeamNote(f"{titles[n]} / {titles[n + 1]}", (LineRef(idents[n], "right"),), (LineRef(idents[n + 1], "left"),))
        for n in range(pieces - 1)
    ]
    bought = [
        NotionNote(
            name=f"{notion} {n + 1}",
            rule="hip / 4 + 3/8in" if n % 3 else "up(hip / 90mm, 1)",
            count=1 + n % 3,
            step=(0.0, 10.0, 100.0)[n % 3],
            kind=("cord", "", "elastic")[n % 3],
            place=("waist", "hood", "sleeve")[n % 3],
            comment=step.format(titles[0]) if n % 2 else "",
        )
        for n in range(notions)
    ]
    notes = Notes(
        title=title,
        summary=step.format(", ".join(titles[:3])) * 2,
        wearer=Wearer.CHILD,
        garment="smock",
        drawn_for={"hip": 640.0, "height": 1220.0},
        ease={"hip": 80.0},
        pieces={i: PieceNote(i, t, 1 + n % 2, CutAs.PAIR if n % 2 else CutAs.SINGLE, interfacing=int(n % 4 == 3))
                for n, (i, t) in enumerate(zip(idents, titles, strict=True))},
        seams=tuple(seams),
        notions=tuple(bought),
        file="notes.toml",
    )  # fmt: skip
    drawing = replace(pattern(marks, notes, title), pieces=pieces_of(marks, dict(zip(idents, titles, strict=True))))
    report = sewing_report(drawing, {}, units=units)
    widths = (ClothWidth(1400.0),) if lays else ()
    wishes = LayWishes(widths, ClothFold.NONE, Nap.NONE, effort=Effort(1))
    steps = tuple(
        Step(t, (step.format(t),) * (1 + n % 3), _sketch(("wide", "tall", "")[n % 3])) for n, t in enumerate(titles[:7])
    )
    report = replace(with_lays(report, wishes, units), steps=steps)
    return report, build_print_job(plan_pages(drawing, PlanOptions(paper_named("a4"))), drawing)


def guide(pieces: int, notions: int, script: str = "latin", units: Units = Units.CM, *, lays: bool = True) -> Booklet:
    """The booklet."""
    report, job = matter(pieces, notions, script, units, lays=lays)
    return booklet(report, job, units, A4)


@cache
def _sketch(shape: str) -> Pixels | None:
    """A drawing of two pieces of cloth, wide or tall."""
    if not shape:
        return None
    size = (900, 420) if shape == "wide" else (480, 640)
    image = Image.new("RGB", size, (250, 248, 240))
    pen = ImageDraw.Draw(image)
    w, h = size
    pen.polygon(
        [(w * 0.1, h * 0.1), (w * 0.6, h * 0.15), (w * 0.65, h * 0.9), (w * 0.05, h * 0.85)],
        (200, 215, 190),
        (40, 40, 40),
        4,
    )
    pen.polygon(
        [(w * 0.5, h * 0.12), (w * 0.92, h * 0.1), (w * 0.95, h * 0.9), (w * 0.5, h * 0.88)],
        (225, 215, 190),
        (40, 40, 40),
        4,
    )
    pen.line([(w * 0.56, h * 0.14), (w * 0.57, h * 0.88)], (180, 40, 40), 5)
    out = BytesIO()
    image.save(out, "PNG")
    return Pixels(out.getvalue(), *size)
