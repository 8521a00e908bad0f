"""Desks: what is asked is answered as the command would, can be called off, and takes nothing else with it."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable, Coroutine
from pathlib import Path
from typing import Any

import pytest

from calibrate.run import Cancelled
from tiling import LookRequest, MakePagesRequest, ReadOptions, look, make_pages
from tiling.files.inputs import InputFile, read_input, read_notes_for
from tiling.operations.result_values import look_values
from tiling.workroom.desks import Answer, Desk, DeskBounds, DeskLost, DeskRefused
from tiling.workroom.wire import WireBroken, head_of, packed

SAMPLE = Path(__file__).resolve().parents[2] / "samples" / "potting-smock.svg"
FILES = {"drawings": [read_input(SAMPLE)], "notes": list(read_notes_for([SAMPLE]))}
Work = Callable[[Desk], Coroutine[Any, Any, Any]]


def at_a_desk(work: Work, bounds: DeskBounds | None = None) -> Any:
    """What the work at a desk of its own comes to."""

    async def done() -> Any:
        desk = Desk(bounds or DeskBounds())
        try:
            return await work(desk)
        finally:
            await desk.close()

    return asyncio.run(done())


def asked(call: str, values: dict[str, Any], files: Any = FILES) -> Answer:
    """One answer."""
    answer = at_a_desk(lambda desk: desk.ask(call, values, files))
    assert isinstance(answer, Answer)
    return answer


def test_pages_are_the_commands_own_byte_for_byte() -> None:
    """The same request gives the same file at a desk and here."""
    made = asked("pages", {"paper": "letter", "name": "smock.pdf"})
    here = make_pages(MakePagesRequest(tuple(FILES["drawings"]), ReadOptions(notes=tuple(FILES["notes"])),
                                       _letter(), name="smock.pdf")).pages  # fmt: skip
    assert here is not None
    assert [(one.name, one.content) for one in made.artifacts] == [(here.name, here.content)]


def _letter() -> Any:
    from tiling import PageChoice

    return PageChoice("letter")


def test_one_desk_answers_live_questions_from_what_it_read() -> None:
    """Scene, what was seen, a count and a preview; the count is that of the pages that would be made."""

    async def work(desk: Desk) -> tuple[Answer, Answer, Answer, Answer]:
        return (
            await desk.ask("scene", {}, FILES),
            await desk.ask("seen", {}, FILES),
            await desk.ask("count", {"paper": "a4"}, FILES),
            await desk.ask("preview", {"alteration": {"around_mm": 40}}, FILES),
        )

    scene, seen, count, preview = at_a_desk(work)
    drawn = json.loads(scene.artifacts[0].content)
    assert [piece["title"] for piece in drawn["pieces"]][:2] == ["Front", "Back"]
    assert seen.values["look"] == look_values(
        look(LookRequest(tuple(FILES["drawings"]), ReadOptions(notes=tuple(FILES["notes"]))))
    )
    assert count.values["pages"] == sum(tile["printed"] for tile in count.values["grid"]) == 28
    assert set(preview.values["altered"]) >= {"front", "back"}
    assert preview.values["reprint"] is None


def test_a_preview_with_printed_pages_names_those_to_print_again() -> None:
    """The same names as the reprint itself."""

    async def work(desk: Desk) -> tuple[Answer, Answer]:
        printed = (await desk.ask("pages", {"paper": "a4"}, FILES)).artifacts[0]
        files = {**FILES, "printed": [InputFile("smock.pdf", printed.content)]}
        preview = await desk.ask("preview", {"alteration": {"around_mm": 40}, "with_pages": True}, files)
        altered = await desk.ask("alter", {"alteration": {"around_mm": 40}, "name": "wider.svg"}, FILES)
        new, notes = (InputFile(one.name, one.content) for one in altered.artifacts)
        again = {"drawings": [new], "notes": [notes], "printed": files["printed"]}
        return preview, await desk.ask("reprint", {"name": "changed.pdf"}, again)

    preview, reprint = at_a_desk(work)
    for key in ("replace", "add", "remove"):
        assert preview.values["reprint"][key] == reprint.values[key]
    assert reprint.values["replace"]


def test_notes_are_changed_and_the_drawing_must_still_be_read_with_them() -> None:
    """A change that the drawing bears gives the new text; one that points at nothing is refused."""
    text = asked("note", {"changes": [{"kind": "piece", "id": "front", "copies": 2}]}).values["text"]
    assert "copies = 2" in text
    with pytest.raises(DeskRefused, match="no line passes"):
        asked("note", {"changes": [{"kind": "line", "piece": "front", "role": "dart", "at": [1.0, 1.0]}]})


@pytest.mark.parametrize(
    ("call", "values", "code"),
    [
        ("nothing", {}, 2),
        ("count", {"paper": "a99"}, 2),
        ("count", {"paper": "a4", "colour": "red"}, 2),
        ("count", {"overlap_mm": "10"}, 2),
        ("count", {"overlap_mm": 1e300}, 2),
        ("count", {"margins_mm": [1, 2, 3]}, 2),
        ("preview", {"alteration": {}}, 2),
        ("pages", {"printer": "nobody's"}, 3),
        ("reprint", {}, 2),
    ],
)
def test_what_cannot_be_understood_is_refused_in_the_same_words_and_codes(
    call: str, values: dict[str, Any], code: int
) -> None:
    """As the command would end."""
    with pytest.raises(DeskRefused) as refused:
        asked(call, values)
    assert refused.value.code == code
    assert str(refused.value)


def test_a_drawing_that_is_none_is_refused() -> None:
    """What is refused is told, and the desk goes on."""

    async def work(desk: Desk) -> Answer:
        with pytest.raises(DeskRefused) as refused:
            await desk.ask("scene", {}, {"drawings": [InputFile("x.svg", b"hello")]})
        assert refused.value.code == 3
        return await desk.ask("count", {"paper": "a4"}, FILES)

    assert at_a_desk(work).values["pages"] == 28


def test_work_is_called_off_and_the_next_question_answered() -> None:
    """Arranging would take half a minute."""

    async def work(desk: Desk) -> Answer:
        begun = asyncio.Event()
        task = asyncio.create_task(desk.ask("pages", {"arrange": {"seconds": 30}}, FILES, lambda *_: begun.set()))
        await begun.wait()
        desk.cancel()
        with pytest.raises(Cancelled):
            await task
        return await desk.ask("count", {"paper": "a4"}, FILES)

    assert at_a_desk(work).values["pages"] == 28


def test_a_desk_that_takes_too_long_is_lost_and_replaced() -> None:
    """Time is bounded, and the next question begins with a new process."""

    async def work(desk: Desk) -> None:
        with pytest.raises(DeskLost, match="too long"):
            await desk.ask("pages", {"arrange": {"seconds": 60}}, FILES)

    at_a_desk(work, DeskBounds(seconds=1.0))


def test_a_desk_that_dies_takes_nothing_with_it() -> None:
    """Killed from outside in the middle of its work; the next question is answered by another process."""

    async def work(desk: Desk) -> Answer:
        begun = asyncio.Event()
        task = asyncio.create_task(desk.ask("pages", {"arrange": {"seconds": 30}}, FILES, lambda *_: begun.set()))
        await begun.wait()
        assert desk._process is not None
        desk._process.kill()
        with pytest.raises(DeskLost):
            await task
        return await desk.ask("count", {"paper": "a4"}, FILES)

    assert at_a_desk(work).values["pages"] == 28


def test_a_file_in_the_folder_is_no_library(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A desk started in a folder with a ``json.py`` doesn't run it."""
    (tmp_path / "json.py").write_text("raise SystemExit('ran')")
    monkeypatch.chdir(tmp_path)
    assert asked("count", {"paper": "a4"}).values["pages"] == 28


@pytest.mark.parametrize("text", [b"", b"[]", b'{"values": 1, "blobs": []}', b'{"values": {}, "blobs": [-1]}'])
def test_what_is_no_message_breaks_the_wire(text: bytes) -> None:
    """Nothing else than values and lengths is believed."""
    with pytest.raises(WireBroken):
        head_of(text)


def test_a_message_reads_back() -> None:
    """Values and files, in order."""
    _, text, *blobs = packed({"a": [1, "ä"]}, [b"one", b""])
    assert head_of(text) == ({"a": [1, "ä"]}, [3, 0])
    assert blobs == [b"one", b""]
