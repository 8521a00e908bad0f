"""Run the tool over a folder of drawings that nobody here made, and sort what happens.

    python tests/hostile/corpus_run.py FOLDER [--most N] [--jobs 2] [--report FILE.json]

Each file is tried with `look` and with `pages --paper a4` in a fresh process with 30 s, 1 GB of address space and a
read-only copy of the input. *Done* is exit 0 with a PDF that shows the drawing; *refused* is exit 3 with one line;
anything else (traceback, fault, hang, memory, an output without the drawing, a leftover file, a changed input) is a
fault and is listed. Exits 1 when there are faults.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass
from pathlib import Path

SECONDS = 30
MEMORY = 1 << 30


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one command did with one file; `kind` is done, refused or fault."""

    file: str
    command: str
    kind: str
    why: str
    seconds: float


def _limit() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))


def _run(arguments: Sequence[str], folder: Path) -> tuple[int | None, str, str, float]:
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "PYTHONWARNINGS": "ignore"}
    began = time.monotonic()
    try:
        done = subprocess.run(
            [sys.executable, "-m", "tiling.commands.main", *arguments],
            cwd=folder,
            env=environment,
            capture_output=True,
            timeout=SECONDS,
            preexec_fn=_limit,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return None, "", "", time.monotonic() - began
    return (
        done.returncode,
        done.stdout.decode("utf-8", "replace"),
        done.stderr.decode("utf-8", "replace"),
        time.monotonic() - began,
    )


def _judge(code: int | None, out: str, err: str) -> tuple[str, str]:
    if code is None:
        return "fault", f"no end within {SECONDS} s"
    if "Traceback" in err or "Traceback" in out:
        return "fault", "traceback: " + err.strip().splitlines()[-1]
    if code == 0:
        return "done", ""
    lines = [line for line in err.splitlines() if line.strip()]
    if code in {2, 3}:
        return ("refused", lines[-1]) if len(lines) >= 1 else ("fault", f"exit {code} without a reason")
    return "fault", f"exit {code}: " + " / ".join(lines[-2:])


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
            code, out, err, seconds = _run([command, copy.name, *options], folder)
            kind, why = _judge(code, out, err)
            output = folder / "out.pdf"
            if kind == "done" and command == "pages":
                problem = _shows_the_drawing(output, json.loads(out))
                kind, why = ("fault", problem) if problem else (kind, why)
            if kind != "done" and output.exists():
                kind, why = "fault", f"{why}; left an output behind"
            strange = {p.name for p in folder.iterdir()} - {copy.name, "out.pdf"}
            if strange and kind != "fault":
                kind, why = "fault", f"left {sorted(strange)} behind"
            if hashlib.sha256(copy.read_bytes()).hexdigest() != digest:
                kind, why = "fault", "changed its input"
            results.append(Outcome(source.name, command, kind, why, round(seconds, 2)))
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    return results


def main() -> int:
    """Sort the folder's outcomes and print them."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--most", type=int, default=0, help="try only so many files, evenly picked")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--report", type=Path)
    given = parser.parse_args()
    files = sorted(p for p in given.folder.rglob("*") if p.suffix.lower() in {".pdf", ".svg", ".svgz"})
    if given.most and len(files) > given.most:
        files = [files[i * len(files) // given.most] for i in range(given.most)]
    outcomes: list[Outcome] = []
    with ThreadPoolExecutor(given.jobs) as pool:
        for number, results in enumerate(pool.map(try_file, files), 1):
            outcomes += results
            for outcome in results:
                if outcome.kind == "fault":
                    print(f"FAULT {outcome.command} {outcome.file}: {outcome.why}", flush=True)
            if number % 100 == 0:
                print(f"{number} of {len(files)} tried", file=sys.stderr, flush=True)
    for command in ("look", "pages"):
        counts = Counter(o.kind for o in outcomes if o.command == command)
        print(f"{command}: " + ", ".join(f"{counts[k]} {k}" for k in ("done", "refused", "fault")))
    slowest = max(outcomes, key=lambda o: o.seconds, default=None)
    if slowest:
        print(f"slowest: {slowest.file} ({slowest.command}, {slowest.seconds} s)")
    if given.report:
        given.report.write_text(json.dumps([asdict(o) for o in outcomes], indent=1))
    return 1 if any(o.kind == "fault" for o in outcomes) else 0


if __name__ == "__main__":
    sys.exit(main())
