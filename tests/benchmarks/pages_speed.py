"""How fast and how large: `pageseam pages` on a sheet of 20,000 curved paths, as ratios to plain ways of doing it.

Run from the project's root with the project's Python:

    python tests/benchmarks/pages_speed.py

It makes the sheet (1,682 × 1,189 mm, half a million points), runs everything in one go and prints one table. Times are
processor time of the process measured, so that other work on the machine disturbs them little; the merge is timed on
ten tiles and scaled up to all of them. Exit code 1 when a figure misses its aim.
"""

from __future__ import annotations

import argparse
import io
import math
import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import pypdfium2 as pdfium
from pypdf import PdfReader, PdfWriter, Transformation
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject, NameObject, StreamObject
from reportlab.pdfgen.canvas import Canvas

WIDTH, HEIGHT = 1682.0, 1189.0
POINTS = 72 / 25.4
DPI = 72
BARE_CLICK = """
import click
@click.group()
def main(): "A bare program."
@main.command()
def one(): "First."
@main.command()
def two(): "Second."
main()
"""


@dataclass(frozen=True, slots=True)
class Run:
    """One child process: processor seconds, wall seconds, peak memory in MB."""

    seconds: float
    wall: float
    peak: float


def run(command: Sequence[str]) -> Run:
    """Run a command that must succeed."""
    before = time.perf_counter()
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    assert child.stderr is not None
    said = child.stderr.read()
    _, status, usage = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        raise SystemExit(f"{' '.join(command)} ended with {child.returncode}: {said.decode(errors='replace')}")
    peak = usage.ru_maxrss / (1024 * 1024 if sys.platform == "darwin" else 1024)
    return Run(usage.ru_utime + usage.ru_stime, time.perf_counter() - before, peak)


def timed(work: Callable[[], object]) -> float:
    """Processor seconds of some work in this process."""
    before = time.process_time()
    work()
    return time.process_time() - before


def timed_apart(function: str, *values: Path | int) -> float:
    """Processor seconds of one of this module's functions in a process of its own, imports included."""
    called = ", ".join(f"Path({str(value)!r})" if isinstance(value, Path) else str(value) for value in values)
    code = f"from pathlib import Path; import {Path(__file__).stem} as this; this.{function}({called})"
    before = f"import sys; sys.path.insert(0, {str(Path(__file__).parent)!r}); "
    return run([sys.executable, "-c", before + code]).seconds


def make_sheet(path: Path, count: int) -> None:
    """Wandering curves of eight cubic segments (25 points) each, all over the sheet and nothing beyond it."""
    chance = random.Random(20240501)
    width, height = WIDTH * POINTS, HEIGHT * POINTS
    canvas = Canvas(str(path), pagesize=(width, height), pageCompression=1, invariant=1)
    for _ in range(count):
        x, y, angle = chance.uniform(0, width), chance.uniform(0, height), chance.uniform(0, math.tau)
        canvas.setLineWidth(chance.choice((0.3, 0.5, 1.0)))
        canvas.setStrokeColorRGB(*(round(chance.random() * 0.6, 2) for _ in range(3)))
        line = canvas.beginPath()
        line.moveTo(x, y)
        for _ in range(8):
            corners = []
            for _ in range(3):
                angle += chance.uniform(-0.3, 0.3)
                x = min(max(x + 8 * math.cos(angle), 2), width - 2)
                y = min(max(y + 8 * math.sin(angle), 2), height - 2)
                corners += [x, y]
            line.curveTo(*corners)
        canvas.drawPath(line)
    canvas.save()


def merged(path: Path, tiles: int, columns: int) -> bytes:
    """The plain way: for every tile the whole page merged onto a new one."""
    page = PdfReader(path).pages[0]
    writer = PdfWriter()
    step = (190 * POINTS, 277 * POINTS)
    for tile in range(tiles):
        new = writer.add_blank_page(210 * POINTS, 297 * POINTS)
        row, column = divmod(tile, columns)
        new.merge_transformed_page(page, Transformation().translate(-column * step[0], -row * step[1]))
    stream = io.BytesIO()
    writer.write(stream)
    return stream.getvalue()


def shared(path: Path, target: Path, tiles: int, columns: int) -> None:
    """The quick way that prints badly and proves nothing: one form, shown through a clip on each page."""
    page = PdfReader(path).pages[0]
    writer = PdfWriter()
    contents = page.get_contents()
    assert contents is not None
    form = StreamObject()
    form.set_data(contents.get_data())
    form[NameObject("/Type")], form[NameObject("/Subtype")] = NameObject("/XObject"), NameObject("/Form")
    form[NameObject("/BBox")] = page.mediabox
    form[NameObject("/Resources")] = page["/Resources"].clone(writer)
    forms = DictionaryObject({NameObject("/Sheet"): writer._add_object(form.flate_encode())})
    width, height = 190 * POINTS, 277 * POINTS
    for tile in range(tiles):
        new = writer.add_blank_page(210 * POINTS, 297 * POINTS)
        row, column = divmod(tile, columns)
        content = StreamObject()
        shift = f"1 0 0 1 {-column * width:.4f} {-row * height:.4f} cm"
        content.set_data(f"q 28 28 {width:.4f} {height:.4f} re W n {shift} /Sheet Do Q".encode("ascii"))
        new[NameObject("/Contents")] = writer._add_object(content)
        new[NameObject("/Resources")] = DictionaryObject({NameObject("/XObject"): forms})
    writer.write(target)


def rewritten(path: Path) -> bytes:
    """Read and write the file unchanged."""
    stream = io.BytesIO()
    PdfWriter(clone_from=path).write(stream)
    return stream.getvalue()


def content_bytes(path: Path) -> list[int]:
    """For each page: bytes of its own content and of every form it pulls in, decoded."""
    sizes = []
    for page in PdfReader(path).pages:
        contents = page["/Contents"].get_object()
        streams = [one.get_object() for one in contents] if isinstance(contents, ArrayObject) else [contents]
        sizes.append(sum(len(one.get_data()) for one in streams) + _pulled_in(page.get("/Resources"), set()))
    return sizes


def _pulled_in(resources: object, seen: set[int]) -> int:
    if isinstance(resources, IndirectObject):
        resources = resources.get_object()
    forms = resources.get("/XObject") if isinstance(resources, DictionaryObject) else None
    if forms is None:
        return 0
    size = 0
    for raw in forms.get_object().values():
        form = raw.get_object()
        if isinstance(form, StreamObject) and form.get("/Subtype") == "/Form" and id(form) not in seen:
            seen.add(id(form))
            size += len(form.get_data()) + _pulled_in(form.get("/Resources"), seen)
    return size


def draw_all(path: Path) -> None:
    """Render every page by PDFium."""
    document = pdfium.PdfDocument(path)
    for page in document:
        page.render(scale=DPI / 72)
    document.close()


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table; `aim` is what the figure may be at most, or at least where `at_least`."""

    what: str
    figure: float
    aim: float
    note: str
    at_least: bool = False

    @property
    def good(self) -> bool:
        """Whether the aim is reached."""
        return self.figure >= self.aim if self.at_least else self.figure <= self.aim

    def __str__(self) -> str:
        aim = f"{'at least' if self.at_least else 'at most'} {self.aim:g}"
        return f"| {self.what} | {self.figure:.2f} | {aim} | {self.note} | {'yes' if self.good else 'NO'} |"


def command(source: Path, target: Path, *more: str) -> list[str]:
    """The whole command as a child process."""
    return [sys.executable, "-m", "tiling.commands.main", "pages", str(source), "-o", str(target), "-q", *more]


def measure(folder: Path, count: int, merge_tiles: int) -> list[Row]:
    """All rows of the table."""
    source, target = folder / "sheet.pdf", folder / "pages.pdf"
    make_sheet(source, count)
    whole = min((run([*command(source, target), "--force"]) for _ in range(2)), key=lambda one: one.seconds)
    pages = len(PdfReader(target).pages)
    tiles = pages - 2
    merge = timed(lambda: merged(source, merge_tiles, 9)) / merge_tiles * tiles
    copy = timed(lambda: rewritten(source))
    form = min(timed_apart("shared", source, folder / "shared.pdf", tiles, 9) for _ in range(2))
    own, theirs = sum(content_bytes(target)), sum(content_bytes(source))
    drawn, once = timed(lambda: draw_all(target)), timed(lambda: draw_all(source))
    return [
        Row("merging the page per tile : the command", merge / whole.seconds, 100,
            f"{merge:.0f} s : {whole.seconds:.2f} s ({pages} pages)", at_least=True),
        Row("the command : one shared form with a clip on each page", whole.seconds / form, 2.5,
            f"{whole.seconds:.2f} s : {form:.2f} s"),
        Row("the command : reading and writing unchanged", whole.seconds / copy, math.inf,
            f"{whole.seconds:.2f} s : {copy:.2f} s"),
        Row("content of all pages : the source's", own / theirs, 1.5, f"{own / 1e6:.1f} MB : {theirs / 1e6:.1f} MB"),
        Row("drawing all pages : the source once", drawn / once, 1.6, f"{drawn:.2f} s : {once:.2f} s at {DPI} dpi"),
        Row("peak memory, MB", whole.peak, 600, f"{whole.wall:.1f} s by the clock"),
        *_growth(folder, count, whole.seconds),
        _start_up(folder),
    ]  # fmt: skip


def _growth(folder: Path, count: int, seconds: float) -> list[Row]:
    """Against half the objects, and against larger paper."""
    half, target = folder / "half.pdf", folder / "half-pages.pdf"
    make_sheet(half, count // 2)
    fewer = run([*command(half, target), "--force"]).seconds
    source, many = folder / "sheet.pdf", folder / "a3-pages.pdf"
    large = run([*command(source, many), "--paper", "a3", "--force"]).seconds
    pages = len(PdfReader(many).pages)
    all_pages = len(PdfReader(folder / "pages.pdf").pages)
    return [
        Row("twice the objects : time grows by", seconds / fewer, 2.0, f"{seconds:.2f} s : {fewer:.2f} s"),
        Row(f"{all_pages / pages:.1f} times the pages : time grows by", seconds / large, all_pages / pages,
            f"A4 {seconds:.2f} s : A3 {large:.2f} s"),
    ]  # fmt: skip


def _start_up(folder: Path) -> Row:
    bare = folder / "bare.py"
    bare.write_text(BARE_CLICK)
    ours = sorted(run([sys.executable, "-m", "tiling.commands.main", "--help"]).seconds for _ in range(15))[7]
    plain = sorted(run([sys.executable, str(bare), "--help"]).seconds for _ in range(15))[7]
    return Row("--help : a bare click program's", ours / plain, 1.6, f"{ours * 1000:.0f} ms : {plain * 1000:.0f} ms")


def main() -> int:
    """Measure and print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--paths", type=int, default=20_000, help="how many curved paths the sheet has")
    parser.add_argument("--merge-tiles", type=int, default=10, help="how many tiles the merge is timed on")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        rows = measure(Path(folder), given.paths, given.merge_tiles)
    print(f"{given.paths} paths, {given.paths * 25} points, {WIDTH:g} x {HEIGHT:g} mm; Python {sys.version.split()[0]}")
    print("| what | measured | aim | figures | reached |")
    print("|---|---|---|---|---|")
    for row in rows:
        print(row)
    return 0 if all(row.good for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
