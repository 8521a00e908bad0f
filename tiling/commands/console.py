"""How a command ended: what was found on the way, and the exit code that follows from it."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from time import monotonic
from typing import TYPE_CHECKING

import click

from calibrate.printable import printable
from calibrate.run import Run
from tiling.commands.remedies import in_options
from tiling.failures import ExitCode
from tiling.operations.strictness import Strictness, refused

if TYPE_CHECKING:
    from tiling.pattern import Finding

__all__ = ["Console", "Outcome", "tell"]

_SILENT = 0.5
"""Seconds without a word, besides those that loading took."""


def tell(text: str, end: str = "\n") -> None:
    """Print a message on stderr, if anybody listens there.

    Names from files may stand in it: what would steer a terminal or turn the writing is replaced.
    """
    with suppress(OSError):
        click.echo(printable(text, kept="\n\r") + end, err=True, nl=False)


def _as_json(values: object) -> str:
    """JSON in which every character is printable; others are escaped, so that nothing of a name is lost."""
    text = json.dumps(values, indent=2, ensure_ascii=False)
    return "".join(c if c.isprintable() or c == "\n" else json.dumps(c)[1:-1] for c in text)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What `tiling.commands.main` turns into the exit code."""

    findings: tuple[Finding, ...] = ()
    strictness: Strictness = Strictness.LENIENT

    @property
    def refused(self) -> bool:
        """Whether the findings stop the run."""
        return refused(self.findings, self.strictness)

    @property
    def exit_code(self) -> ExitCode:
        """0, or 7 where findings were to be taken strictly."""
        return ExitCode.FINDINGS if self.refused else ExitCode.DONE


@dataclass(frozen=True, slots=True)
class Console:
    """Says things to the person: messages on stderr unless quiet, results on stdout."""

    quiet: bool = False
    as_json: bool = False
    strict: bool = False

    @property
    def strictness(self) -> Strictness:
        """Whether findings stop a job."""
        return Strictness.STRICT if self.strict else Strictness.LENIENT

    def conclude(self, findings: Sequence[Finding], values: Callable[[], object], words: str | None) -> Outcome:
        """Tell what was found, and the result as JSON or in words; the outcome is the command's.

        Args:
            findings: of the job.
            values: makes what ``--json`` prints.
            words: the summary; None for none.
        """
        outcome = Outcome(tuple(findings), self.strictness)
        self.findings(findings)
        if outcome.refused:
            self.refuse(findings)
        if self.as_json:
            self.values(values())
        elif words is not None:
            self.answer(words)
        return outcome

    def note(self, text: str) -> None:
        """A message about the run, on stderr; silent with `-q`."""
        if not self.quiet:
            tell(text)

    def findings(self, findings: Sequence[Finding], most: int = 20) -> None:
        """The findings, numbered by kind, on stderr; at most `most` lines and a count of the rest."""
        for finding in findings[:most]:
            where = f"{finding.where}: " if finding.where else ""
            self.note(f"Finding {finding.number}: {where}{in_options(finding.text, finding.remedy)}")
        if len(findings) > most:
            self.note(f"… and {len(findings) - most} more findings; --json lists them all.")

    def refuse(self, findings: Sequence[Finding]) -> None:
        """Say that findings stopped the run; never silent."""
        count = f"{len(findings)} finding{'' if len(findings) == 1 else 's'}"
        tell(f"Error: {count} and --strict was given; nothing was written.")

    def answer(self, text: str) -> None:
        """The summary, on stdout; silent with `-q`."""
        if not self.quiet:
            click.echo(printable(text, kept="\n"))

    def values(self, values: object) -> None:
        """The result of `--json`, on stdout, also with `-q`: it was asked for."""
        click.echo(_as_json(values))

    def run(self) -> Run:
        """A run that tells of its progress: one line rewritten on a terminal, plain lines when piped."""
        return Run(tell=_Progress(self.quiet).tell)


@dataclass(slots=True)
class _Progress:
    """Where long work stands. Piped, a line at every quarter, and one as soon as the work has taken a second.

    Attributes:
        quiet: nothing is told.
        began: when, in seconds of a clock that only goes forward.
        last: what was told last, and how many quarters of it were done.
    """

    quiet: bool
    began: float = field(default_factory=monotonic)
    last: tuple[str, int] | None = None

    def tell(self, what: str, done: int, total: int) -> None:
        """As `Run.tell`."""
        if self.quiet or total < 2:
            return
        if sys.stderr.isatty():
            tell(f"\r{what}: {done} of {total}", end="\n" if done == total else "")
            return
        quarter = done * 4 // total
        before = self.last[1] if self.last is not None and self.last[0] == what else 0
        late = self.last is None and monotonic() - self.began > _SILENT
        if quarter > before or late:
            self.last = what, quarter
            tell(f"{what}: {done} of {total}")
