"""The plan kept in the printed file: gives back plan and lines, and refuses anything else."""

from __future__ import annotations

import contextlib
import json
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibrate.printer_scale import PageCorrection
from tests.planning.drawings import numbered, pattern_of, rectangle, smock_like, stroke
from tiling.failures import InputUnfit
from tiling.pattern import Label, Line, Picture
from tiling.planning.papers import paper_named
from tiling.planning.plan import Placement
from tiling.planning.planner import PlanOptions, plan_pages
from tiling.planning.printed import STEP, look_of, recorded
from tiling.record.plan_record import read_record, record_bytes
from tiling.shapes import Affine, Box, Path, Size
from tiling.style import Stroke, Style

OPTIONS = PlanOptions(paper_named("a4"), correction=PageCorrection(1.01, 0.995, "den", 0.001))
SMOCK = smock_like()
PLAN = plan_pages(SMOCK, replace(OPTIONS, placements=(Placement("front", Affine.turn(180.0)),)))
PAGES = numbered(PLAN)
GOOD = record_bytes(PLAN, SMOCK, PAGES)


def test_plan_and_lines_come_back() -> None:
    """The plan exactly, the lines to 0.02 mm (half a step either way), each with what it is and how it looks."""
    clip = Path.rectangle(Box(0, 0, 50, 50))
    extra = [
        Line(Path.rectangle(Box(1.234, 5.678, 40, 30)), Style(Stroke(0.25)), clip=clip),
        Label("Überlänge 9", Affine.turn(30) @ Affine.shift(3, 4), 5.0, advance=20),
        Picture(b"\x89PNG", Affine(30, 0, 0, 20, 10, 10)),
        stroke([(-1e5, 7.77), (1e5, 8.88)]),
    ]
    pattern = replace(SMOCK, marks=(*SMOCK.marks, *extra))
    record = read_record(record_bytes(PLAN, pattern, PAGES))
    assert record.plan == PLAN and record.printing == 1
    assert dict(record.titles) == {"front": "Front", "back": "Back", "sleeve": "Sleeve"}
    for ours, kept in zip(recorded(pattern.marks), record.marks, strict=True):
        assert (ours.kind, ours.look, ours.content) == (kept.kind, kept.look, kept.content)
        assert replace(ours.tag, ident="") == kept.tag
        assert np.array_equal(ours.path.ops, kept.path.ops)
        assert np.abs(ours.path.points - kept.path.points).max() <= STEP / 2 + 1e-9
        assert (ours.clip is None) == (kept.clip is None)
    assert record.marks[-4].clip == clip


def test_the_same_plan_gives_the_same_bytes() -> None:
    """And another drawing gives others."""
    assert record_bytes(PLAN, smock_like(), PAGES) == GOOD
    assert record_bytes(PLAN, pattern_of([rectangle(Box(0, 0, 10, 10.1))]), PAGES) != record_bytes(
        PLAN, pattern_of([rectangle(Box(0, 0, 10, 10))]), PAGES
    )


def test_a_reprint_of_a_reprint_knows_the_whole_taped_sheet() -> None:
    """Tiles with page 0 keep the printing they came from; printed ones get the new one."""
    first = read_record(GOOD)
    names = [tile.name for tile in PLAN.tiles]
    second = read_record(record_bytes(PLAN, SMOCK, {names[0]: 2}, first))
    third = read_record(record_bytes(PLAN, SMOCK, {names[1]: 2}, second))
    assert third.printing == 3
    assert third.plan.kept == {*names} - {names[1]}
    assert [third.printings[name] for name in names] == [2, 3] + [1] * (len(names) - 2)


def test_looks_tell_what_prints_differently() -> None:
    """Width, colour, dashes, font size and opacity make another look; place doesn't."""
    line = stroke([(0, 0), (10, 0)], 0.3)
    others = [stroke([(0, 0), (10, 0)], 0.5), Line(line.path, Style(Stroke(0.3, dashes=(2.0, 1.0))))]
    assert len({look_of(mark) for mark in (line, *others)}) == 3
    assert look_of(line) == look_of(line.moved(Affine.shift(5, 5)))


def test_what_cannot_be_kept_is_refused() -> None:
    """A coordinate that is no number never gets into a file."""
    with pytest.raises(InputUnfit, match="finite"):
        record_bytes(PLAN, pattern_of([stroke([(0, 0), (float("nan"), 1)])]), PAGES)


def changed(**values: Any) -> bytes:
    """The good record with top-level values replaced."""
    return json.dumps({**json.loads(GOOD), **values}).encode()


@pytest.mark.parametrize("version", [1, 2, 700])
def test_the_version_of_the_join_marks_is_kept(version: int) -> None:
    """Also one that can't be drawn here, through a reprint of the record; a record that doesn't say is of the first."""
    plan = replace(PLAN, join_marks=version)
    again = record_bytes(read_record(record_bytes(plan, SMOCK, PAGES)).plan, SMOCK, PAGES, read_record(GOOD))
    assert read_record(again).plan.join_marks == version
    silent = json.loads(again)
    del silent["join_marks"]
    assert read_record(json.dumps(silent).encode()).plan.join_marks == 1


@pytest.mark.parametrize(("marks", "version"), [(1, 1), (2, 2)])
def test_only_editions_that_draw_its_marks_read_a_record(marks: int, version: int) -> None:
    """The first one reads records of version 1 alone; on others it would print its own marks beside those there."""
    written = json.loads(record_bytes(replace(PLAN, join_marks=marks), SMOCK, PAGES))
    assert written["version"] == version


def changed_in(key: str, **values: Any) -> bytes:
    """The good record with values of one table replaced."""
    top = json.loads(GOOD)
    top[key] = {**top[key], **values}
    return json.dumps(top).encode()


def changed_tile(**values: Any) -> bytes:
    """The good record with values of its second tile replaced."""
    top = json.loads(GOOD)
    top["tiles"][1] |= values
    return json.dumps(top).encode()


@pytest.mark.parametrize(
    ("data", "where"),
    [
        (b"", "not readable"),
        (b"[" * 100_000, "not readable"),
        (b"\xff\xfe", "not readable"),
        (b'{"format": NaN}', "not readable"),
        (b"1" * 5000, "not readable|no table"),
        (b"{}", "lacks 'format'"),
        (changed(format="other"), "format"),
        (changed(version=3), "later pageseam"),
        (changed(join_marks=0), "join_marks"),
        (changed(join_marks="new"), "join_marks"),
        (changed(tiles={}), "tiles"),
        (changed(tiles=json.loads(GOOD)["tiles"] * 2), "listed twice"),
        (changed(page_mm=[10, 10]), "larger than the page"),
        (changed(page_mm=[210.0, 9_990_000.0]), "page_mm"),
        (changed_tile(name=""), r"tiles\[1\].name"),
        (changed_tile(name="A1 (\u202e"), r"tiles\[1\].name"),
        (changed(page_mm=[1e999, 10]), "not readable|page_mm"),
        (changed(orientation="sideways"), "orientation"),
        (changed(placements=[["front", [2, 0, 0, 2, 0, 0]]]), "no turn and shift"),
        (changed_in("grid", window_mm=[0, 0]), "window_mm"),
        (changed_in("grid", origin_mm=[1, 1]), "not where the grid has it"),
        (changed_in("correction", across=40), "across"),
        (changed_in("drawing", marks=10**9), "marks"),
        (changed_in("drawing", marks=3), "has not as many|items"),
        (changed_in("drawing", points="AAAA"), "points"),
        (changed_in("drawing", points="not base 64!"), "points"),
        (changed_in("drawing", ops=json.loads(GOOD)["drawing"]["of"]), "ops"),
        (changed_in("drawing", kinds=[["line", "", "no-role", "", "", ""]]), "known|outside"),
        (changed_in("drawing", step_mm=1), "step_mm"),
    ],
)
def test_a_damaged_record_is_refused_with_the_place(data: bytes, where: str) -> None:
    """One message that names what is wrong and what to do."""
    with pytest.raises(InputUnfit, match=where) as refusal:
        read_record(data)
    assert "print the whole pattern again" in str(refusal.value)


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_no_bytes_do_harm(data: st.DataObject) -> None:
    """Any bytes, and any bytes changed in a good record, are read or refused, never anything else."""
    raw = bytearray(GOOD)
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(raw) - 1))
        raw[at : at + data.draw(st.integers(0, 3))] = data.draw(st.binary(max_size=4))
    for candidate in (bytes(raw), data.draw(st.binary(max_size=60))):
        with contextlib.suppress(InputUnfit):
            read_record(candidate)


values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=5,
)


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_no_values_do_harm(data: st.DataObject) -> None:
    """Any value in any place of a good record is read or refused."""
    top: Any = json.loads(GOOD)
    here, key = top, data.draw(st.sampled_from(sorted(top)))
    while isinstance(here[key], dict | list) and here[key] and data.draw(st.booleans()):
        here = here[key]
        key = data.draw(st.sampled_from(sorted(here)) if isinstance(here, dict) else st.integers(0, len(here) - 1))
    here[key] = data.draw(values)
    with contextlib.suppress(InputUnfit):
        read_record(json.dumps(top).encode())


def test_an_unpacked_bomb_stays_small() -> None:
    """Ten megabytes of nought packed into ten kilobytes aren't unpacked beyond what the record says there is."""
    import base64
    import zlib

    bomb = base64.b64encode(zlib.compress(bytes(10_000_000))).decode()
    with pytest.raises(InputUnfit, match="points"):
        read_record(changed_in("drawing", points=bomb))
    assert SMOCK.size == Size(960.0, 660.0)
