"""Options that belong together, as one value: the drawings and how to read them, the paper, the output, the ending."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, fields
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from tiling.commands import options as shared
from tiling.commands.console import Console
from tiling.failures import UsageWrong
from tiling.files.destination import check_destination
from tiling.files.inputs import read_inputs, read_notes_for
from tiling.files.publish import publish

if TYPE_CHECKING:
    from tiling.files.inputs import Artifact, InputFile
    from tiling.operations.page_choice import PageChoice
    from tiling.planning.plan import Margins
    from tiling.reading.options import ReadOptions, TrueDistance

__all__ = ["GivenDrawings", "GivenOutput", "GivenPage", "as_one", "drawings", "ending", "output", "page"]

F = TypeVar("F", bound=Callable[..., Any])


@dataclass(frozen=True, slots=True)
class GivenDrawings:
    """The drawings' names, and how they are to be read."""

    drawings: tuple[Path, ...]
    layers: tuple[str, ...]
    page_numbers: tuple[int, ...]
    px_per_inch: float | None
    scale: float | None
    true: TrueDistance | None
    notes: Path | None

    @property
    def stem(self) -> str:
        """What outputs are named after."""
        return self.drawings[0].stem

    @property
    def named(self) -> tuple[Path, ...]:
        """All files that were named, none of which may be overwritten."""
        return (*self.drawings, *([self.notes] if self.notes else []))

    def files(self) -> tuple[InputFile, ...]:
        """The drawings' names and bytes."""
        return read_inputs(self.drawings)

    def reading(self) -> ReadOptions:
        """How they are to be read, with the notes named or those beside them.

        Raises:
            UsageWrong: the scale is said twice.
        """
        from tiling.reading.options import ReadOptions

        if self.scale is not None and self.true is not None:
            raise UsageWrong("--scale and --true both say how large the drawing is; give one of them.")
        notes = read_notes_for(self.drawings, self.notes)
        scale = self.scale if self.true is None else self.true
        return ReadOptions(self.layers, self.page_numbers, self.px_per_inch, notes, scale)


@dataclass(frozen=True, slots=True)
class GivenPage:
    """The paper, how it is turned, what stays free and what neighbours share."""

    paper: str
    orientation: str
    margins: Margins | None
    overlap: float | None

    def choice(self, printer: str | None) -> PageChoice:
        """The same for a printer by name.

        Raises:
            UsageWrong: there is no such paper.
            PrinterUnknownError: nothing is known of the printer.
        """
        from tiling.operations.page_choice import PageChoice
        from tiling.planning.papers import paper_named
        from tiling.planning.plan import Orientation

        paper_named(self.paper)

        record = shared.printer_record(printer)
        return PageChoice(self.paper, Orientation(self.orientation), self.margins, self.overlap, record)


@dataclass(frozen=True, slots=True)
class GivenOutput:
    """Where the result goes."""

    output: Path | None
    force: bool

    def checked(self, default: str, inputs: Iterable[Path], endings: Sequence[str]) -> Path:
        """The file's name, which may be written; see `check_destination`.

        Read the inputs before: a name mistyped is the more likely mistake than a result that is there already.
        """
        target = self.output or Path(default)
        check_destination(target, force=self.force, inputs=inputs, endings=endings)
        return target

    def publish(self, artifact: Artifact | None) -> Path | None:
        """Write what a job made, if it made it, and give the file's name."""
        if artifact is None:
            return None
        target = Path(artifact.name)
        publish(target, artifact.content, force=self.force)
        return target


def as_one(name: str, kind: type, *decorators: Callable[[F], F]) -> Callable[[F], F]:
    """Several options as one decorator, listed in help in the order given; the command takes them as one value.

    Args:
        name: of the command's parameter that takes the value.
        kind: its class, a dataclass whose fields are named like the options' parameters.
        decorators: click's.
    """
    names = [field.name for field in fields(kind)]

    def decorate(command: F) -> F:
        @wraps(command)
        def called(**values: Any) -> Any:
            own = {each: values.pop(each) for each in names}
            return command(**{name: kind(**own)}, **values)

        decorated: Any = called
        for decorator in reversed(decorators):
            decorated = decorator(decorated)
        result: F = decorated
        return result

    return decorate


drawings = as_one("given", GivenDrawings, shared.drawings_argument, shared.reading_options)
page = as_one("page", GivenPage, shared.paper_options)
output = as_one("output", GivenOutput, shared.output_options)
ending = as_one("console", Console, shared.strict_option, shared.json_option, shared.quiet_option)
