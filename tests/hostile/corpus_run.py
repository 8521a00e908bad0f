"""Run the tool over a folder of drawings that nobody here made, and sort what happens.

    python -m tests.hostile.corpus_run FOLDER [--most N] [--part K/N] [--jobs 2] [--report FILE.json]

Each file is tried with `look` and with `pages --paper a4`, each in a process of its own (forked from one that has
only loaded the libraries) with 1 GB of address space and a read-only copy of the input. It may take 30 s of processor
time, half a second more for each tile that it printed, or 5 s where it is refused.
*Done* is exit 0 with a PDF that shows the drawing; *refused* is exit 3 with one line that names the file; anything
else (traceback, fault, too long, memory, a failed proof, no drawing in the output, a leftover file, a changed input)
is a fault and is listed, and so are the ten files that took longest. Exits 1 when there are faults. Rights mean nothing
to the superuser: run it as an ordinary user.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from tests.hostile.limited import Limits, Ran, helpers, run_limited

LIMITS = Limits(seconds=150, memory=1 << 30)
SECONDS, A_TILE, REFUSED = 30.0, 0.5, 5.0
"""Processor time a drawing may take, and each tile besides, and a refusal: in proportion to what is drawn."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one command did with one file; `kind` is done, refused or fault, `seconds` processor time."""

    file: str
    command: str
    kind: str
    why: str
    seconds: float


def _judge(ran: Ran, name: str) -> tuple[str, str]:
    if ran.ended_by_limit:
        return "fault", f"no end within {LIMITS.seconds} s"
    if "Traceback" in ran.err + ran.out:
        return "fault", "traceback: " + ran.err.strip().splitlines()[-1]
    if "Warning: " in ran.err:
        return "fault", "a library's warning: " + ran.err.strip().splitlines()[-1]
    if ran.code == 0:
        return "done", ""
    errors = ran.errors
    if ran.code == 3:
        if len(errors) == 1 and name in errors[0] and errors[0].isprintable() and len(errors[0]) < 600:
            return "refused", errors[0]
        return "fault", f"refused in other words than one line that names the file: {ran.err[-300:]!r}"
    return "fault", f"exit {ran.code}: " + " / ".join(ran.err.splitlines()[-2:])


def _shows_the_drawing(pages: Path, summary: dict[str, object]) -> str:
    """Empty when the tile pages carry ink, else what is wrong.

    Looked at in a process of its own: PDFium keeps fonts, and the next command must not be forked with them.
    """
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.write(writer, _seen(pages, summary).encode())
            os._exit(0)
        finally:
            os._exit(1)
    os.close(writer)
    with os.fdopen(reader) as answer:
        problem = answer.read()
    return problem if os.waitpid(child, 0)[1] == 0 else "its pages can't be looked at"


def _seen(pages: Path, summary: dict[str, object]) -> str:
    """An independent look by PDFium."""
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
            ran = run_limited([command, copy.name, *options], folder, LIMITS)
            kind, why = _judge(ran, copy.name)
            output = folder / "out.pdf"
            most = REFUSED if kind == "refused" else SECONDS
            if kind == "done" and command == "pages":
                summary = json.loads(ran.out)
                most += A_TILE * len(summary["tiles"])
                problem = _shows_the_drawing(output, summary)
                kind, why = ("fault", problem) if problem else (kind, why)
            if kind != "fault" and ran.seconds > most:
                kind, why = "fault", f"{kind} after {ran.seconds:.0f} s, more than {most:.0f}"
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


def files_in(folder: Path, most: int, part: str) -> list[Path]:
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
    slowest: dict[str, Outcome] = {}
    for one in sorted(outcomes, key=lambda o: -o.seconds):
        slowest.setdefault(one.file, one)
    for one in list(slowest.values())[:10]:
        print(f"slow: {one.file} ({one.command}, {one.seconds} s of processor time)")


def main() -> int:
    """Sort the folder's outcomes and print them."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--most", type=int, default=0, help="try only so many files, evenly picked")
    parser.add_argument("--part", default="1/1", metavar="K/N", help="try every N-th file, starting with the K-th")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--report", type=Path)
    given = parser.parse_args()
    files = files_in(given.folder, given.most, given.part)
    outcomes: list[Outcome] = []
    with helpers(given.jobs) as pool:
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
