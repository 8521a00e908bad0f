"""Jobs as the page orders them: which files they are about, what they make, and under which names it is published."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tiling.failures import UsageWrong
from tiling.files.inputs import Artifact
from tiling.workroom.asked import asked
from tiling.workroom.folder import notes_name
from tiling.workroom.house import House
from tiling.workroom.jobs import Order

__all__ = ["order_of"]


@dataclass(frozen=True, slots=True)
class _Kind:
    """What a job makes: the ending of its file, whether it may make none, and whether it is about a drawing."""

    ending: str
    may_make_none: bool = False
    of_drawing: bool = True


_KINDS = {
    "pages": _Kind(".pdf"),
    "testpage": _Kind(".pdf", of_drawing=False),
    "alter": _Kind(".svg"),
    "reprint": _Kind(".pdf"),
    "cloth": _Kind(".pdf", may_make_none=True),
    "guide": _Kind(".pdf"),
}


async def order_of(house: House, wanted: Any) -> Order:
    """The order that a page asks for.

    Args:
        house: where it is asked.
        wanted: ``job``; ``file``, the drawing; ``reading``; ``options``, as `tiling.workroom.jobs_asked` takes them;
            ``output``, the name of the file to make; ``printed`` and ``before``, other files of the folder;
            ``replace``.

    Raises:
        UsageWrong: it can't be understood.
        InputUnfit: a file isn't there.
        OutputRefused: what is to be made is there already, and may not be replaced.
    """
    with asked(wanted) as said:
        job, file, output = said.text("job"), said.text("file"), said.text("output")
        reading, options = said.plain("reading"), said.plain("options")
        others = {use: said.text(use) for use in ("printed", "before")}
        replace = said.flag("replace")
    kind = _KINDS.get(job)
    if kind is None:
        raise UsageWrong(f"there is no job '{job}'.")
    names = _names(job, kind, output)
    if clash := {file, notes_name(file) if file else "", *others.values()} & set(names):
        raise UsageWrong(f"{clash.pop()}: is what the work is about, and is not written over; choose another name.")
    values: dict[str, Any] = {**options, "name": output or None}
    files: Mapping[str, Any] = {}
    if kind.of_drawing:
        files = await house.files_of(file, **others)
        values["reading"] = reading
    if not replace:
        house.folder.refuse_if_there(names)

    def done(_told: Mapping[str, Any], made: Sequence[Artifact]) -> Sequence[str]:
        return house.folder.publish(made, replace=replace)

    return Order(job, file or output, values, files, done)


def _names(job: str, kind: _Kind, output: str) -> list[str]:
    """The files that are to be made."""
    if not output:
        if kind.may_make_none:
            return []
        raise UsageWrong("say what the file is to be called.")
    if not output.lower().endswith(kind.ending) or Path(output).name != output:
        raise UsageWrong(f"{output}: must be a plain name that ends in {kind.ending}.")
    return [output, notes_name(output)] if job == "alter" else [output]
