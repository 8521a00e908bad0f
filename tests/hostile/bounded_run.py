"""What drawings made to take long take, as multiples of what the sample takes on the same machine.

    python -m tests.hostile.bounded_run [--only WORD ...]

Each is given to `pages` in a fresh process with two minutes of processor time and 4 GB of address space. Prints
for each the exit code, processor time and peak memory against the sample's, and when its first line of progress
came as a share of the whole; exits 1 when one is refused later than ten times the sample's whole run, ends by a limit
or with a fault.
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from tests.hostile.test_hostile_pdf import circle, deep_arrays, doubling_forms, many_pages, packed, picture
from tests.hostile.test_hostile_svg import MARKS, copies_in_a_piece, nested_copies, path, svg

SAMPLE = Path(__file__).resolve().parents[2] / "samples" / "potting-smock.svg"
SECONDS, MEMORY = 120, 4 << 30
LATEST_REFUSAL = 10.0
"""Multiples of the sample's own run, which takes about half a second on a quiet machine."""


def many_elements(count: int) -> str:
    """So many short lines."""
    lines = (f'<path d="M{i % 500} {i // 500}h.6v.6" stroke="#000" fill="none"/>' for i in range(count))
    return svg("".join(lines), 'width="500mm" height="400mm" viewBox="0 0 500 400"')


def long_style_sheet(size: int) -> str:
    """So many bytes of rules, hardly any of which apply."""
    rule = ".a{i}{{fill:none;stroke:#123456;stroke-width:{i}}}"
    rules, i, have = [], 0, 0
    while have < size:
        rules.append(rule.format(i=i))
        have += len(rules[-1])
        i += 1
    return svg(f'<style>{"".join(rules)}</style><path class="a7" d="M5 5L95 95"/>')


HARD: dict[str, Callable[[], bytes | str]] = {
    "two forms that draw each other.pdf": lambda: circle(b"/F Do /G Do", b"/F Do /G Do"),
    "forms of forms.pdf": lambda: doubling_forms(6),
    "forms of forms below the limit.pdf": lambda: doubling_forms(4),
    "copies of copies.svg": lambda: nested_copies(12, 20),
    "copies of copies below the limit.svg": lambda: nested_copies(4, 20),
    "200,000 elements.svg": lambda: many_elements(200_000),
    "20,000 elements.svg": lambda: many_elements(20_000),
    "10 MB of style sheet.svg": lambda: long_style_sheet(10_000_000),
    "1 MB of style sheet.svg": lambda: long_style_sheet(1_000_000),
    "100,000 pages.pdf": lambda: many_pages(100_000),
    "4,000 pages.pdf": lambda: many_pages(4_000),
    "a million objects.pdf": lambda: packed(b"0 0 9 9 re f " * 1_000_000),
    "250,000 objects.pdf": lambda: packed(
        b"".join(b"%d %d .6 .6 re f " % (i % 300, i // 300 % 200) for i in range(250_000))
    ),
    "ten million points.svg": lambda: path("M0 0" + "l1 1-1-1" * 5_000_000),
    "a picture of 400 million pixels.pdf": lambda: picture(20_000),
    "arrays in arrays.pdf": lambda: deep_arrays(5000),
    **{f"copies of {mark} in a piece.svg": partial(copies_in_a_piece, mark, 20) for mark in MARKS},
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Took:
    """Exit code, processor seconds, peak bytes, wall seconds and those until the first line of progress."""

    code: int
    seconds: float
    memory: int
    wall: float
    first: float
    last_words: str


def run(drawing: Path, folder: Path) -> Took:
    """`pages` on one drawing."""
    began = time.monotonic()
    process = subprocess.Popen(
        [sys.executable, "-m", "tiling.commands.main", "pages", str(drawing), "-o", "out.pdf", "--force"],
        cwd=folder, stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True,
        env={**os.environ, "PAGESEAM_HOME": str(folder / "home")},
    )  # fmt: skip
    resource.prlimit(process.pid, resource.RLIMIT_CPU, (SECONDS, SECONDS))
    resource.prlimit(process.pid, resource.RLIMIT_AS, (MEMORY, MEMORY))
    assert process.stderr is not None
    first, said = 0.0, ""
    for line in process.stderr:
        first = first or time.monotonic() - began
        said = line.strip() or said
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    return Took(
        process.returncode,
        usage.ru_utime + usage.ru_stime,
        usage.ru_maxrss * 1024,
        time.monotonic() - began,
        first,
        said,
    )


def main() -> int:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--only", nargs="*", metavar="WORD", help="those whose name holds one of these")
    given = parser.parse_args()
    failed = 0
    with tempfile.TemporaryDirectory(prefix="bounded-") as name:
        folder = Path(name)
        unit = min((run(SAMPLE, folder) for _ in range(3)), key=lambda took: took.seconds)
        print(f"the sample: {unit.seconds:.2f} s of processor time, {unit.memory / 1e6:.0f} MB")
        for what, build in HARD.items():
            if given.only and not any(word in what for word in given.only):
                continue
            drawing = folder / what
            content = build()
            drawing.write_bytes(content if isinstance(content, bytes) else content.encode())
            took = run(drawing, folder)
            times, size = took.seconds / unit.seconds, took.memory / unit.memory
            bad = took.code not in (0, 3) or (took.code == 3 and times > LATEST_REFUSAL)
            failed += bad
            print(
                f"{'FAULT ' if bad else ''}{what}: exit {took.code}, {times:.1f} times the sample's processor time, "
                f"{size:.1f} times its memory, first word after {took.first / took.wall:.0%}; {took.last_words[:90]}",
                flush=True,
            )
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
