"""Run the tool over a folder of drawings that nobody here made, and sort what happens.

    python -m tests.hostile.corpus_run FOLDER [--most N] [--part K/N] [--jobs 2] [--report FILE.json]

Each file is tried with `look` and with `pages --paper a4`, each in a process of its own (forked from one that has
only loaded the libraries) with 30 s of processor time, 1 GB of address space and a read-only copy of the input.
*Done* is exit 0 with a PDF that shows the drawing; *refused* is exit 3 with one line that names the file; anything
else (traceback, fault, hang, memory, a failed proof, an output without the drawing, a leftover file, a changed input)
is a fault and is listed. Exits 1 when there are faults.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import resource
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass
from multiprocessing import get_context
from pathlib import Path

SECONDS = 30
"""Of processor time; a wall clock would measure what else the machine does."""
PATIENCE = 10 * SECONDS
MEMORY = 1 << 30


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one command did with one file; `kind` is done, refused or fault, `seconds` processor time."""

    file: str
    command: str
    kind: str
    why: str
    seconds: float


@dataclass(frozen=True, slots=True)
class Ran:
    """One run: exit code (minus the signal that ended it, None where it never ended), what it said, seconds."""

    code: int | None
    out: str
    err: str
    seconds: float


def _load() -> None:
    """What every run needs, loaded once before forking."""
    import tiling.commands.look
    import tiling.commands.main
    import tiling.commands.pages
    import tiling.content
    import tiling.drawing.pdf
    import tiling.drawing.proof
    import tiling.planning.planner
    import tiling.reading.pdf
    import tiling.reading.svg  # noqa: F401


def _child(arguments: Sequence[str], folder: Path) -> None:
    """Become the command: never returns."""
    code = 70
    try:
        os.chdir(folder)
        for name, number in (("stdout", 1), ("stderr", 2)):
            handle = os.open(folder / f".{name}", os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
            os.dup2(handle, number)
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS + 1))
        from tiling.commands.main import run

        code = run(arguments)
        sys.stdout.flush()
        sys.stderr.flush()
    finally:
        os._exit(code)


def _run(arguments: Sequence[str], folder: Path) -> Ran:
    child = os.fork()
    if child == 0:
        _child(arguments, folder)
    end = time.monotonic() + PATIENCE
    while True:
        done, status, usage = os.wait4(child, os.WNOHANG)
        if done:
            break
        if time.monotonic() > end:
            os.kill(child, signal.SIGKILL)
            _, status, usage = os.wait4(child, 0)
            break
        time.sleep(0.02)
    said = []
    for name in ("stdout", "stderr"):
        said.append((folder / f".{name}").read_text("utf-8", "replace"))
        (folder / f".{name}").unlink()
    seconds = usage.ru_utime + usage.ru_stime
    return Ran(os.waitstatus_to_exitcode(status), said[0], said[1], seconds)


def _judge(ran: Ran, name: str) -> tuple[str, str]:
    if ran.code in {-signal.SIGXCPU, -signal.SIGKILL, None}:
        return "fault", f"no end within {SECONDS} s"
    if "Traceback" in ran.err + ran.out:
        return "fault", "traceback: " + ran.err.strip().splitlines()[-1]
    if ran.code == 0:
        return "done", ""
    errors = [line for line in ran.err.splitlines() if line.startswith("Error: ")]
    if ran.code == 3:
        if len(errors) == 1 and name in errors[0] and errors[0].isprintable() and len(errors[0]) < 600:
            return "refused", errors[0]
        return "fault", f"refused in other words than one line that names the file: {ran.err[-300:]!r}"
    return "fault", f"exit {ran.code}: " + " / ".join(ran.err.splitlines()[-2:])


def _shows_the_drawing(pages: Path, summary: dict[str, object]) -> str:
    """Empty when the tile pages carry ink, else what is wrong. An independent look by PDFium."""
    import pypdfium2

    tiles = summary["tiles"]
    assert isinstance(tiles, list)
    document = pypdfium2.PdfDocument(pages)
    try:
        if len(document) != summary["pages"]:
            return f"{len(document)} pages instead of {summary['pages']}"
        for tile in tiles[:3]:
            page = document[tile["page"] - 1]
            picture = page.render(scale=25.4 / 72).to_numpy()
            if picture.min() > 250:
                return f"page {tile['page']} is blank"
    finally:
        document.close()
    return ""


def try_file(source: Path) -> list[Outcome]:
    """Both commands on one file."""
    folder = Path(tempfile.mkdtemp(prefix="corpus-"))
    try:
        copy = folder / source.name
        shutil.copy(source, copy)
        copy.chmod(0o444)
        digest = hashlib.sha256(copy.read_bytes()).hexdigest()
        results = []
        for command, options in (("look", []), ("pages", ["--paper", "a4", "--json", "-o", "out.pdf"])):
            ran = _run([command, copy.name, *options], folder)
            kind, why = _judge(ran, copy.name)
            output = folder / "out.pdf"
            if kind == "done" and command == "pages":
                problem = _shows_the_drawing(output, json.loads(ran.out))
                kind, why = ("fault", problem) if problem else (kind, why)
            if kind != "done" and output.exists():
                kind, why = "fault", f"{why}; left an output behind"
            strange = {p.name for p in folder.iterdir()} - {copy.name, "out.pdf"}
            if strange and kind != "fault":
                kind, why = "fault", f"left {sorted(strange)} behind"
            if hashlib.sha256(copy.read_bytes()).hexdigest() != digest:
                kind, why = "fault", "changed its input"
            results.append(Outcome(source.name, command, kind, why, round(ran.seconds, 2)))
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    return results


def _files(folder: Path, most: int, part: str) -> list[Path]:
    """The drawings in the folder, each content once, evenly picked."""
    known: set[str] = set()
    files = []
    for path in sorted(p for p in folder.rglob("*") if p.suffix.lower() in {".pdf", ".svg", ".svgz"}):
        digest = hashlib.sha256(path.read_bytes()).hexdigest()
        if digest not in known:
            known.add(digest)
            files.append(path)
    number, _, parts = part.partition("/")
    files = files[int(number) - 1 :: int(parts)]
    return [files[i * len(files) // most] for i in range(most)] if 0 < most < len(files) else files


def _tell(outcomes: Sequence[Outcome], files: int, report: Path | None) -> None:
    if report:
        report.write_text(json.dumps([asdict(o) for o in outcomes], indent=1))
    print(f"{files} files tried")
    for command in ("look", "pages"):
        counts = Counter(o.kind for o in outcomes if o.command == command)
        print(f"{command}: " + ", ".join(f"{counts[k]} {k}" for k in ("done", "refused", "fault")))
    slowest = max(outcomes, key=lambda o: o.seconds, default=None)
    if slowest:
        print(f"slowest: {slowest.file} ({slowest.command}, {slowest.seconds} s of processor time)")


def main() -> int:
    """Sort the folder's outcomes and print them."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--most", type=int, default=0, help="try only so many files, evenly picked")
    parser.add_argument("--part", default="1/1", metavar="K/N", help="try every N-th file, starting with the K-th")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--report", type=Path)
    given = parser.parse_args()
    # One thread each: what forks must not have threads.
    os.environ |= {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    files = _files(given.folder, given.most, given.part)
    outcomes: list[Outcome] = []
    with ProcessPoolExecutor(given.jobs, get_context("spawn"), _load) as pool:
        for number, results in enumerate(pool.map(try_file, files), 1):
            outcomes += results
            for outcome in results:
                if outcome.kind == "fault":
                    print(f"FAULT {outcome.command} {outcome.file}: {outcome.why}", flush=True)
            if number % 50 == 0:
                print(f"{number} of {len(files)} tried", file=sys.stderr, flush=True)
                if given.report:
                    given.report.write_text(json.dumps([asdict(o) for o in outcomes], indent=1))
    _tell(outcomes, len(files), given.report)
    return 1 if any(o.kind == "fault" for o in outcomes) else 0


if __name__ == "__main__":
    sys.exit(main())
