"""What a desk can be asked, each call by its name: from plain values and files to plain values and what was made.

Runs in the desk's own process. The live calls work on a drawing that stays open; the others are the jobs themselves,
so that what the page makes is what the commands make, byte for byte.
"""

from __future__ import annotations

import hashlib
import json
from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tiling.failures import UsageWrong
from tiling.files.inputs import Artifact, Folder, InputFile
from tiling.workroom import jobs_asked, wishes
from tiling.workroom.asked import asked
from tiling.workroom.wishes import Given

if TYPE_CHECKING:
    from calibrate.run import Run
    from tiling.operations.open_drawing import OpenDrawing
    from tiling.planning.printed import PrintedRecord
    from tiling.workroom.wire import Message

__all__ = ["AtDesk", "Made"]

_OPEN = 3
"""Drawings that stay open, each with its notes and reading."""


@dataclass(frozen=True, slots=True)
class Made:
    """What is answered."""

    values: dict[str, Any]
    artifacts: tuple[Artifact, ...] = ()


class AtDesk:
    """One desk's memory, and its calls."""

    def __init__(self) -> None:
        self._open: OrderedDict[str, OpenDrawing] = OrderedDict()
        self._records: OrderedDict[str, PrintedRecord] = OrderedDict()
        self._calls: dict[str, Callable[[Mapping[str, Any], Given, Run], Made]] = {
            "scene": self._scene,
            "seen": self._seen,
            "count": self._count,
            "preview": self._preview,
            "note": self._note,
            "sheet": self._sheet,
            **{name: _as_job(job) for name, job in jobs_asked.JOBS.items()},
        }

    def answer(self, message: Message, run: Run) -> Made:
        """Do what a message asks for.

        Raises:
            PageseamError: as the operation it asks for.
            UsageWrong: there is no such call, or what it asks can't be understood.
        """
        call = self._calls.get(str(message.values.get("call")))
        if call is None:
            raise UsageWrong(f"there is no call '{message.values.get('call')}'.")
        return call(message.values.get("values") or {}, _given(message), run)

    def _scene(self, values: Mapping[str, Any], given: Given, run: Run) -> Made:
        """The drawing's geometry, as a file of JSON that goes to the page as it is."""
        from tiling.workroom.scene import picture_values, scene_values

        drawing = self._opened(values, given, run)
        scene = scene_values(drawing.shown)
        if drawing.under:
            scene["pictures"].insert(0, picture_values(drawing.under, drawing.pattern.size))
        return Made({}, (Artifact("scene.json", json.dumps(scene, separators=(",", ":")).encode()),))

    def _seen(self, values: Mapping[str, Any], given: Given, run: Run) -> Made:
        """What is in the drawing, and what its lines are."""
        from tiling.operations.result_values import look_values
        from tiling.workroom.seen import findings_to_mend, seen_values
        from tiling.workroom.suggestions import suggestions

        drawing = self._opened(values, given, run)
        found = drawing.look
        look = {**look_values(found), "findings": findings_to_mend(found.findings)}
        lines, notes = seen_values(drawing.pattern, drawing.understanding), drawing.pattern.notes
        lines["suggestions"] = suggestions(drawing.pattern, drawing.understanding)
        return Made({"look": look, "lines": lines, "measures": dict(notes.drawn_for) if notes else {}})

    def _count(self, values: Mapping[str, Any], given: Given, run: Run) -> Made:
        """Where the pages of some paper lie on the drawing."""
        from tiling.workroom.scene import box_values

        values = dict(values)
        drawing = self._opened(values, given, run)
        values.pop("reading", None)
        with asked(values) as said:
            choice = wishes.page_choice(said)
        plan = drawing.pages(choice, run=run)
        printed = {tile.name for tile in plan.to_print}
        grid = [
            {"name": tile.name, "window_mm": box_values(tile.window), "printed": tile.name in printed}
            for tile in (*plan.tiles,)
        ]
        return Made({
            "rows": plan.grid.rows, "columns": plan.grid.columns, "pages": len(printed), "grid": grid,
            "orientation": plan.orientation.value, "overlap_mm": plan.grid.overlap, "bridges": sorted(plan.bridges),
            "pages_as_drawn": plan.pages_as_drawn, "paper_mm": [plan.page_size.width, plan.page_size.height],
        })  # fmt: skip

    def _preview(self, values: Mapping[str, Any], given: Given, run: Run) -> Made:
        """What an alteration would make of the drawing, and which pages of a printed file it would change."""
        from tiling.operations.result_values import explanation_in_words, seam_change_values
        from tiling.planning.placing import placed
        from tiling.workroom.scene import box_values, scene_values
        from tiling.workroom.seen import findings_to_mend

        drawing = self._opened(values, given, run)
        alteration = wishes.alteration(values.get("alteration"))
        done = drawing.altered(alteration, run)
        seams = (side for change in done.seams for side in (change.note.first, change.note.second))
        changed = {*done.altered, *(ref.piece for side in seams for ref in side)}
        after, before, reprint = done.pattern, None, None
        if (printed := given.one("printed")) is not None and values.get("with_pages"):
            record = self._record(printed)
            pages = drawing.changed_pages(record, done.pattern)
            # Both as they lie on the taped sheet, whose pages are shown over them.
            after = placed(after, pages.plan.placements)
            if record.plan.placements:
                before = scene_values(placed(drawing.shown, record.plan.placements), pictures=False)
            reprint = {
                "replace": list(pages.replace),
                "add": list(pages.add),
                "remove": list(pages.remove),
                "keep": list(pages.keep),
                "grid": [{"name": tile.name, "window_mm": box_values(tile.window)} for tile in pages.plan.tiles],
                "every_page_because": pages.every_page_because or None,
            }
        return Made({
            # What stays as it was the page has already.
            "scene": scene_values(after, pictures=False, only=changed),
            "before": before,
            "altered": list(done.altered),
            "sums": explanation_in_words(done),
            "seams": [seam_change_values(change) for change in done.seams],
            "findings": findings_to_mend(done.findings),
            "reprint": reprint,
        })  # fmt: skip

    def _note(self, values: Mapping[str, Any], given: Given, run: Run) -> Made:
        """The notes with changes made; refused where the drawing can't be read with them."""
        from tiling.workroom.noted import edited

        notes = given.one("notes")
        with asked({key: value for key, value in values.items() if key != "reading"}) as said:
            name, changes = said.text("name", "notes.toml"), said.objects("changes")
        text = edited("" if notes is None else notes.content.decode("utf-8-sig"), changes)
        fresh = InputFile(name if notes is None else notes.name, text.encode())
        self._opened(values, Given({**given.files, "notes": (fresh,)}), run)
        return Made({"text": text})

    def _sheet(self, _values: Mapping[str, Any], given: Given, _run: Run) -> Made:
        """The sheet that a printed file's pages make, as a file of JSON that goes to the page as it is."""
        from tiling.workroom.sheet import sheet_values

        printed = given.one("printed")
        if printed is None:
            raise UsageWrong("choose the pages that were taped.")
        told = sheet_values(self._record(printed))
        return Made({}, (Artifact("sheet.json", json.dumps(told, separators=(",", ":")).encode()),))

    def _opened(self, values: Mapping[str, Any], given: Given, run: Run) -> OpenDrawing:
        """The drawing as it was read before, or read now."""
        from tiling.operations.open_drawing import OpenRequest, open_drawing

        said = values.get("reading")
        key = _digest(json.dumps(said, sort_keys=True).encode(), *_contents(given, "drawings", "notes"))
        if (kept := self._open.get(key)) is not None:
            self._open.move_to_end(key)
            return kept
        request = OpenRequest(given.drawings, wishes.reading(said, given.all("notes")))
        self._open[key] = found = open_drawing(request, run)
        while len(self._open) > _OPEN:
            self._open.popitem(last=False)
        return found

    def _record(self, printed: InputFile) -> PrintedRecord:
        from tiling.record.printed_file import read_printed

        key = _digest(printed.content)
        if key not in self._records:
            self._records[key] = read_printed(printed)
            while len(self._records) > _OPEN:
                self._records.popitem(last=False)
        return self._records[key]


def _as_job(job: jobs_asked.Job) -> Callable[[Mapping[str, Any], Given, Run], Made]:
    def call(values: Mapping[str, Any], given: Given, run: Run) -> Made:
        with asked(values) as said:
            told, artifacts = job(said, given, run)
        return Made(told, artifacts)

    return call


def _given(message: Message) -> Given:
    files: dict[str, list[InputFile]] = {}
    for told, content in zip(message.values.get("files", ()), message.blobs, strict=True):
        folder = told.get("folder")
        file = InputFile(told["name"], content) if folder is None else InputFile(
            told["name"], content, Folder(Path(folder)))  # fmt: skip
        files.setdefault(told["for"], []).append(file)
    return Given({use: tuple(group) for use, group in files.items()})


def _contents(given: Given, *uses: str) -> list[bytes]:
    parts = []
    for use in uses:
        for file in given.all(use):
            parts += [f"{use} {file.name}".encode(errors="surrogateescape"), file.content]
    return parts


def _digest(*parts: bytes) -> str:
    found = hashlib.sha256()
    for part in parts:
        found.update(len(part).to_bytes(8, "big") + part)
    return found.hexdigest()
