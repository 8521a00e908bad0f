"""One function for each door that strange input comes through: it reads, or refuses in our own words; nothing else.

Shared by the hypothesis tests and by the coverage-guided fuzzer.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from tiling.cloth.rules import RuleSource, Scope, work_out
from tiling.failures import InputUnfit
from tiling.files.inputs import InputFile
from tiling.lengths import LengthUnclear, parse_length, parse_percent
from tiling.reading.notes import read_notes
from tiling.reading.svg import read_svg
from tiling.record.plan_record import read_record

__all__ = ["TRIALS", "seeds"]

SAMPLES = Path(__file__).resolve().parents[2] / "samples"


def _as_file(data: bytes, ending: str, read: Callable[[InputFile], object]) -> None:
    try:
        read(InputFile(f"input{ending}", data))
    except InputUnfit as refusal:
        _check_message(str(refusal))


def _check_message(text: str) -> None:
    assert text.strip(), "a refusal without words"
    assert "\n" not in text, f"a refusal of several lines: {text!r}"
    assert all(c.isprintable() for c in text), f"control characters in a message: {text!r}"


def svg(data: bytes) -> None:
    """The SVG reader."""
    _as_file(data, ".svg", read_svg)


def notes(data: bytes) -> None:
    """The TOML notes."""
    _as_file(data, ".toml", read_notes)


def record(data: bytes) -> None:
    """The plan attached to a printed PDF."""
    try:
        read_record(data)
    except InputUnfit as refusal:
        _check_message(str(refusal))


def length(data: bytes) -> None:
    """Lengths and percentages from the command line."""
    text = data.decode("utf-8", "replace")
    for parse in (parse_length, parse_percent):
        try:
            assert abs(parse(text)) < float("inf")
        except LengthUnclear as refusal:
            _check_message(str(refusal))


def rule(data: bytes) -> None:
    """The rules for notions."""
    scope = Scope({"waist": 860.0, "wrist": 155.0}, {"join": "25mm", "twice": "2 * join"}, {"front.hem": 312.5})
    try:
        work_out(data.decode("utf-8", "replace"), scope, RuleSource("notes.toml", "rule"))
    except InputUnfit as refusal:
        _check_message(str(refusal))


TRIALS: Mapping[str, Callable[[bytes], None]] = {
    "svg": svg,
    "notes": notes,
    "record": record,
    "length": length,
    "rule": rule,
}


def seeds(name: str) -> list[bytes]:
    """Whole, sensible inputs to start from."""
    if name == "svg":
        small = (
            b'<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80"><style>.a{'
            b'stroke:red;fill:none}</style><defs><path id="p" d="M0 0h9v9z"/></defs><g class="piece" id="a" transform='
            b'"rotate(3)"><path class="a cutting-line" d="M1 1C2 3 4 5 6 7S8 9 1 2A5 6 7 0 1 9 9Q1 1 2 2T3 3z" '
            b'stroke-dasharray="1 2"/><use href="#p" x="5"/><text x="3" y="4">A<tspan dx="1">b</tspan></text></g></svg>'
        )
        return [small]
    if name == "notes":
        return [(SAMPLES / "potting-smock.toml").read_bytes()]
    if name == "record":
        return [_record_seed()]
    if name == "length":
        return [b"10mm", b'1 1/2"', b"-3/8in", b"0.5 cm", b"50 %"]
    return [b"up(wrist + join, 1cm)", b"max(2 * twice, length(front.hem) / 3) - 1/2in"]


def _record_seed() -> bytes:
    from tiling.pattern import Line, Pattern, pieces_of
    from tiling.planning.papers import paper_named
    from tiling.planning.planner import PlanOptions, plan_pages
    from tiling.record.plan_record import record_bytes
    from tiling.shapes import Box, Path, Size
    from tiling.style import Stroke, Style

    marks = (Line(Path.rectangle(Box(5, 5, 295, 95)), Style(Stroke(0.3))),)
    pattern = Pattern("Seed", Size(300, 100), marks, pieces_of(marks))
    plan = plan_pages(pattern, PlanOptions(paper_named("a4")))
    return record_bytes(plan, pattern, {tile.name: page for page, tile in enumerate(plan.tiles, 3)})
