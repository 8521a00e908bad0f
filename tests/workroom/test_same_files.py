"""What the page makes is what the commands make, byte for byte."""

from __future__ import annotations

import http.client
import os
import shutil
import subprocess
import sys
import threading
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest

from tests.workroom.room import ROOT, SAMPLE, Room, opened, put_sample
from tiling.workroom.folder import WorkFolder, notes_name


def command(folder: Path, *args: str) -> None:
    """One command of the terminal's, in a folder."""
    done = subprocess.run(
        [sys.executable, "-m", "tiling.commands.start", *args], cwd=folder, capture_output=True, text=True, timeout=120,
        check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PAGESEAM_HOME": str(folder)},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr


JOBS: list[tuple[list[str], dict[str, Any]]] = [
    (["pages", "potting-smock.svg", "--paper", "letter", "--overlap", "12mm"],
     {"job": "pages", "options": {"paper": "letter", "overlap_mm": 12}, "output": "potting-smock-pages.pdf"}),
    (["alter", "potting-smock.svg", "--around", "4cm", "--match"],
     {"job": "alter", "options": {"alteration": {"around_mm": 40, "match": True}},
      "output": "potting-smock-altered.svg"}),
    (["testpage", "--paper", "letter"], {"job": "testpage", "options": {"paper": "letter"}, "output": "testpage.pdf"}),
    (["guide", "potting-smock.svg"], {"job": "guide", "options": {}, "output": "potting-smock-guide.pdf"}),
]  # fmt: skip


def test_the_same_wishes_make_the_same_files(room: Room, tmp_path: Path) -> None:
    """Pages, an altered drawing with its notes, the test page, the booklet; then only the changed pages."""
    put_sample(tmp_path)
    for args, wanted in JOBS:
        command(tmp_path, *args)
        ended = room.job({"file": "" if wanted["job"] == "testpage" else "potting-smock.svg", **wanted})
        assert ended["state"] == "done", ended
        for name in ended["made"]:
            assert (room.folder / name).read_bytes() == (tmp_path / name).read_bytes(), name
    command(tmp_path, "reprint", "potting-smock-altered.svg", "--printed", "potting-smock-pages.pdf")
    ended = room.job({"job": "reprint", "file": "potting-smock-altered.svg", "printed": "potting-smock-pages.pdf",
                      "options": {}, "output": "potting-smock-altered-changed.pdf"})  # fmt: skip
    assert ended["state"] == "done", ended
    name = "potting-smock-altered-changed.pdf"
    assert (room.folder / name).read_bytes() == (tmp_path / name).read_bytes()
    told = {one["name"]: one["printed"] for one in room.ask("GET", "/api/folder").values["files"]}
    assert told["potting-smock-pages.pdf"]
    assert told[name]
    assert not told["potting-smock.svg"]


def test_a_file_that_is_there_is_replaced_only_when_asked(room: Room) -> None:
    """Refused before anything is done, with the remedy the page makes a button of."""
    (room.folder / "mine.pdf").write_bytes(b"mine")
    wanted = {"job": "pages", "file": "potting-smock.svg", "options": {}, "output": "mine.pdf"}
    refused = room.post("/api/jobs", wanted)
    assert refused.status == 409
    assert refused.values["error"]["remedy"]["action"] == "REPLACE_OR_RENAME"
    assert (room.folder / "mine.pdf").read_bytes() == b"mine"
    assert room.job({**wanted, "replace": True})["state"] == "done"
    assert (room.folder / "mine.pdf").read_bytes().startswith(b"%PDF")
    (room.folder / "mine.pdf").unlink()


@pytest.mark.parametrize("name", ["potting-smock.svg", "potting-smock.toml"])
def test_what_the_work_is_about_is_never_written_over(room: Room, name: str) -> None:
    """Also when asked to."""
    before = (room.folder / name).read_bytes()
    wanted = {
        "job": "alter",
        "file": "potting-smock.svg",
        "options": {"alteration": {"around_mm": 20}},
        "replace": True,
    }
    output = name if name.endswith(".svg") else "potting-smock.svg"
    assert room.post("/api/jobs", {**wanted, "output": output}).status == 400
    assert (room.folder / name).read_bytes() == before


def test_a_job_that_is_called_off_leaves_nothing(room: Room) -> None:
    """Cancelled while it runs: no file, and the next job goes on."""
    before = sorted(one.name for one in room.folder.iterdir())
    wanted = {
        "job": "pages",
        "file": "potting-smock.svg",
        "options": {"arrange": {"seconds": 60}},
        "output": "slow.pdf",
    }
    ident = room.post("/api/jobs", wanted).values["id"]
    assert room.ask("DELETE", f"/api/jobs/{ident}", b"").status == 202
    assert room.ended(ident)["state"] == "cancelled"
    assert sorted(one.name for one in room.folder.iterdir()) == before


def test_a_workroom_that_is_busy_ends_when_told_to(tmp_path: Path) -> None:
    """While it reads, lays pieces and has a phone invited: at once, with nothing left; `opened` asks for that."""
    shutil.copy(SAMPLE, tmp_path)
    with opened(tmp_path, tmp_path) as room:
        room.post("/api/phone", {})
        wanted = {"job": "pages", "file": "potting-smock.svg", "options": {"arrange": {"seconds": 60}}}
        room.post("/api/jobs", {**wanted, "output": "slow.pdf"})
        asking = [threading.Thread(target=_ask_in_vain, args=(room,), daemon=True) for _ in range(8)]
        for thread in asking:
            thread.start()
        time.sleep(1.0)
    for thread in asking:
        thread.join(20)
    assert not (tmp_path / "slow.pdf").exists()


def _ask_in_vain(room: Room) -> None:
    with suppress(OSError, http.client.HTTPException):
        room.ask("GET", "/api/seen?file=potting-smock.svg")


def test_notes_that_changed_meanwhile_are_not_written_over(room: Room) -> None:
    """Two pages open at once: the later one is told, and the notes stay as the first one made them."""
    drawing = room.folder / "skirt.svg"
    shutil.copy(SAMPLE, drawing)
    seen = room.ask("GET", "/api/seen?file=skirt.svg").values
    change = {"kind": "title", "text": "Skirt"}
    first = room.post("/api/notes", {"file": "skirt.svg", "base": seen["notes"]["base"], "changes": [change]})
    assert first.status == 200
    notes = drawing.with_suffix(".toml")
    kept = notes.read_bytes()
    second = room.post("/api/notes", {"file": "skirt.svg", "base": seen["notes"]["base"], "changes": [change]})
    assert (second.status, second.values["error"]["kind"]) == (409, "changed")
    assert notes.read_bytes() == kept
    undone = room.post(
        "/api/notes", {"file": "skirt.svg", "base": first.values["base"], "text": first.values["before"]}
    )
    assert undone.status == 200
    assert not notes.exists()
    wrong = room.post("/api/notes", {"file": "skirt.svg", "base": undone.values["base"], "text": "nonsense = ["})
    assert wrong.status == 422
    assert not notes.exists()
    drawing.unlink()


def test_a_folder_tells_its_drawings_and_no_more(tmp_path: Path) -> None:
    """SVG and PDF, with whether notes lie beside them; not what is hidden, linked or of another kind."""
    for name in ("b.svg", "a.PDF", "c.txt", ".d.svg"):
        (tmp_path / name).write_bytes(b"x")
    (tmp_path / notes_name("b.svg")).write_text("", encoding="utf-8")
    (tmp_path / "e.svg").symlink_to(tmp_path / "b.svg")
    found = WorkFolder(tmp_path).listed()
    assert [(one.name, one.notes, one.printed) for one in found] == [("a.PDF", False, False), ("b.svg", True, False)]
