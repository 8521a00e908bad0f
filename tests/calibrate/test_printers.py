"""What is kept of each printer: readable, safe, never lost and never believed when damaged."""

from __future__ import annotations

import errno
import json
import multiprocessing
import os
import threading
import time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibrate.failures import CorrectionError, PrintersUnwritableError, PrinterUnknownError
from calibrate.printer_scale import MeasuredScale, PrinterScale
from calibrate.printers import Border, PrinterReading, Printers, printers_file

READING = PrinterReading("a4", MeasuredScale(0.9735, 0.9741, 0.0012, 0.0011), "card", "2026-05-01")
LATER = PrinterReading("a4", MeasuredScale(1.0002, 0.9998, 0.0012, 0.0011), "sheet")


def shop(folder: Path) -> Printers:
    """An empty book of printers in a folder that does not exist yet."""
    return Printers(folder / "deep" / "printers.json")


def test_what_was_kept_comes_back_whole(tmp_path: Path) -> None:
    """Another run reads the same figures, to the last digit."""
    shop(tmp_path).keep("shed", READING, Border(3.0, 3.5, 4.0, 12.7))
    record = shop(tmp_path).get("shed")
    assert record.latest == READING
    assert record.border == Border(3.0, 3.5, 4.0, 12.7)
    assert record.history == ()


def test_a_new_reading_keeps_the_old_one_and_the_border(tmp_path: Path) -> None:
    """The newest counts; older ones are the history, newest first; the border stays until measured anew."""
    printers = shop(tmp_path)
    printers.keep("shed", READING, Border(3, 3, 3, 3))
    printers.keep("shed", LATER)
    record = printers.keep("shed", READING)
    assert record.latest == READING
    assert record.history == (LATER, READING)
    assert record.border == Border(3, 3, 3, 3)
    assert printers.keep("shed", LATER, Border(5, 5, 5, 5)).border == Border(5, 5, 5, 5)


def test_a_rougher_ruler_does_not_replace_a_photo(tmp_path: Path) -> None:
    """It joins the history; one that is as sure, or a later ruler after a ruler, is the latest."""
    printers = shop(tmp_path)
    ruler = PrinterReading("a4", MeasuredScale(0.97, 0.975, 0.005, 0.005), "ruler")
    later = PrinterReading("a4", MeasuredScale(0.98, 0.975, 0.005, 0.005), "ruler")
    printers.keep("shed", READING)
    record = printers.keep("shed", ruler, Border(3, 3, 3, 3))
    assert (record.latest, record.history, record.border) == (READING, (ruler,), Border(3, 3, 3, 3))
    assert not ruler.replaces(READING)
    assert READING.replaces(ruler)
    sheet = PrinterReading("a4", MeasuredScale(0.97, 0.97, 0.0105, 0.0075), "sheet")
    printers.keep("barn", sheet)
    assert printers.keep("barn", ruler).latest == ruler
    assert printers.keep("barn", later).latest == later


def test_the_file_can_be_read_by_people(tmp_path: Path) -> None:
    """Indented JSON with names, plain figures and words."""
    printers = shop(tmp_path)
    printers.keep("Drucker im Büro", READING)
    text = printers.path.read_text(encoding="utf-8")
    assert '"Drucker im Büro": {\n' in text
    assert json.loads(text)["printers"]["Drucker im Büro"]["latest"]["across"] == 0.9735


@settings(max_examples=25, deadline=None)
@given(name=st.text(st.characters(categories=["L", "N", "P", "S"]), min_size=1, max_size=40))
def test_odd_names_are_names(tmp_path_factory: pytest.TempPathFactory, name: str) -> None:
    """Slashes, quotes, dots, emoji: a name is a key and never a path."""
    folder = tmp_path_factory.mktemp("odd")
    shop(folder).keep(name, READING)
    assert shop(folder).get(name).latest == READING
    assert [p.name for p in (folder / "deep").iterdir()] == ["printers.json"]


@pytest.mark.parametrize("name", ["", "   ", "a\nb", "a\x00b", "x" * 81])
def test_names_nobody_could_see_are_refused(tmp_path: Path, name: str) -> None:
    """Empty, control characters, endless."""
    with pytest.raises(PrinterUnknownError, match="can't be the name"):
        shop(tmp_path).keep(name, READING)


@given(across=st.floats(0.80, 1.25), down=st.floats(0.80, 1.25))
def test_the_correction_undoes_the_printer(across: float, down: float) -> None:
    """Content scaled by the factors, printed by this printer, is true to half a step of the stated correction."""
    from calibrate.printers import PrinterRecord

    record = PrinterRecord("shed", PrinterReading("a4", MeasuredScale(across, down, 0.001, 0.001), "card"))
    factors, stated = record.correction(), record.stated()
    assert factors.across * across == pytest.approx(1.0, abs=0.7e-4)
    assert factors.down * down == pytest.approx(1.0, abs=0.7e-4)
    assert factors.across == 1 / stated.across
    assert stated == stated.rounded()


@pytest.mark.parametrize("scale", [0.7999, 1.2501, 0.0, float("nan")])
def test_a_correction_out_of_range_is_refused_and_not_kept(tmp_path: Path, scale: float) -> None:
    """0.80 to 1.25 is believed; beyond it the photo or the print is wrong."""
    printers = shop(tmp_path)
    with pytest.raises(CorrectionError):
        printers.keep("shed", PrinterReading("a4", MeasuredScale(scale, 1.0, 0.001, 0.001), "card"))
    assert printers.all() == ()


def test_another_paper_is_warned_of(tmp_path: Path) -> None:
    """The correction is used, with words to beware; the same paper needs none."""
    record = shop(tmp_path).keep("shed", READING)
    assert record.caution("A4") == ""
    assert "a4, not on letter" in record.caution("letter")


def test_an_unknown_printer_is_named_with_the_nearest_known(tmp_path: Path) -> None:
    """A slip of the finger is met with the right name; an empty book with how to fill it."""
    printers = shop(tmp_path)
    with pytest.raises(PrinterUnknownError, match="none is known yet"):
        printers.get("shed")
    printers.keep("kitchen", READING)
    with pytest.raises(PrinterUnknownError, match="did you mean 'kitchen'"):
        printers.get("kichen")
    with pytest.raises(PrinterUnknownError, match="no printer 'attic'"):
        printers.forget("attic")
    printers.forget("kitchen")
    assert printers.all() == ()


@pytest.mark.parametrize(
    "damage",
    [
        "",
        "{",
        "[]",
        "null",
        '{"pageseam_printers": 2, "printers": {}}',
        '{"pageseam_printers": 1}',
        '{"pageseam_printers": 1, "printers": {"a": {}}}',
        '{"pageseam_printers": 1, "printers": {"a": {"latest": {"paper": "a4", "across": "1"}}}}',
        '{"pageseam_printers": 1, "printers": {"a": {"latest": {"paper": "a4", "across": NaN}}}}',
        "[" * 100000,
        "\udcff",
    ],
)
def test_a_damaged_file_is_reported_and_left_alone(tmp_path: Path, damage: str) -> None:
    """Nothing is read from it and nothing written over it."""
    printers = Printers(tmp_path / "printers.json")
    content = damage.encode("utf-8", "surrogateescape")
    printers.path.write_bytes(content)
    for attempt in (printers.all, lambda: printers.keep("shed", READING), lambda: printers.forget("shed")):
        with pytest.raises(PrinterUnknownError, match=r"printers\.json"):
            attempt()
    assert printers.path.read_bytes() == content
    assert [p.name for p in tmp_path.iterdir()] == ["printers.json"]


def test_a_folder_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    """Where the configuration folder is a file, the message names it; exit code 4."""
    (tmp_path / "blocked").write_text("in the way")
    with pytest.raises(PrintersUnwritableError, match="PAGESEAM_HOME") as refused:
        Printers(tmp_path / "blocked" / "printers.json").keep("shed", READING)
    assert refused.value.exit_code == 4


def test_a_failed_write_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk fills up while writing: what was known stays, and no part file is left."""
    printers = shop(tmp_path)
    printers.keep("shed", READING)
    before = printers.path.read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(PrintersUnwritableError, match="No space left"):
        printers.keep("kitchen", LATER)
    assert printers.path.read_bytes() == before
    assert [p.name for p in printers.path.parent.iterdir()] == ["printers.json"]


def _keep_some(path: str, mark: str) -> None:
    for number in range(12):
        Printers(Path(path)).keep(f"{mark}{number}", READING)


def test_two_runs_at_once_lose_nothing(tmp_path: Path) -> None:
    """Two processes write twelve printers each into one file: all twenty-four are there."""
    path = tmp_path / "printers.json"
    context = multiprocessing.get_context("spawn")
    runs = [context.Process(target=_keep_some, args=(str(path), mark)) for mark in "ab"]
    for run in runs:
        run.start()
    for run in runs:
        run.join()
    assert len(Printers(path).all()) == 24


def test_two_threads_of_one_process_lose_nothing(tmp_path: Path) -> None:
    """Nor do two threads, each with the printers of its own."""
    path = tmp_path / "printers.json"
    threads = [threading.Thread(target=_keep_some, args=(str(path), mark)) for mark in "ab"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(Printers(path).all()) == 24


def test_a_folder_that_can_not_be_locked_serves(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """On a network disk no handle of a folder, or none at all, can be locked: files alone keep runs apart."""
    fcntl = pytest.importorskip("fcntl")

    def refused(*_: object) -> None:
        raise OSError(errno.ENOLCK, "No locks available")

    for way in ("flock", "lockf", "fcntl"):
        monkeypatch.setattr(fcntl, way, refused)
    printers = Printers(tmp_path / "printers.json")
    printers.keep("shed", READING)
    assert printers.get("shed").latest == READING
    assert [p.name for p in tmp_path.iterdir()] == ["printers.json"]


def _held_until_killed(path: str, ready: str) -> None:
    with Printers(Path(path))._locked():
        Path(path).with_name(".printers.json.1-0badcafe.part").write_text("half")
        Path(ready).write_text("held")
        time.sleep(600)


def test_what_a_killed_run_leaves_is_in_nobody_s_way(tmp_path: Path) -> None:
    """Killed while it held the lock and wrote: the next run takes the lock over, keeps its reading and clears up."""
    path, ready = tmp_path / "deep" / "printers.json", tmp_path / "ready"
    run = multiprocessing.get_context("spawn").Process(target=_held_until_killed, args=(str(path), str(ready)))
    run.start()
    while not ready.exists():
        assert run.is_alive()
        time.sleep(0.05)
    run.kill()
    run.join()
    Printers(path).keep("shed", READING)
    assert [p.name for p in path.parent.iterdir()] == ["printers.json"]


def test_a_run_that_keeps_the_lock_is_waited_for_and_then_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing is written past a lock; what was known stays."""
    monkeypatch.setattr("calibrate.locking.PATIENCE", 0.2)
    printers = shop(tmp_path)
    printers.keep("shed", READING)
    other: list[Exception] = []

    def keep() -> None:
        try:
            Printers(printers.path).keep("kitchen", LATER)
        except PrintersUnwritableError as refused:
            other.append(refused)

    with printers._locked():
        thread = threading.Thread(target=keep)
        thread.start()
        thread.join()
    assert "another run keeps it locked" in str(other[0])
    assert [record.name for record in printers.all()] == ["shed"]


def test_the_home_can_be_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """PAGESEAM_HOME decides; without it the user's configuration folder does."""
    monkeypatch.setenv("PAGESEAM_HOME", str(tmp_path))
    assert printers_file() == tmp_path / "printers.json"
    monkeypatch.delenv("PAGESEAM_HOME")
    assert printers_file().parent.name == "pageseam"


def test_a_perfect_printer_needs_no_correction() -> None:
    """Scale 1 across and down: factors of exactly 1."""
    from calibrate.printers import PrinterRecord

    record = PrinterRecord("shed", PrinterReading("a4", MeasuredScale(1.00004, 0.99996, 0.001, 0.001), "card"))
    assert record.stated() == PrinterScale()
    assert record.correction().across == 1.0
