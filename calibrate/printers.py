"""What is known of each printer, kept between runs in one JSON file that people can read.

The file lies in the user's configuration folder, or in the folder that PAGESEAM_HOME names. It is replaced in
one step, under a lock, so that two runs at once lose nothing; a damaged file is reported and never written over.
"""

from __future__ import annotations

import json
import os
import secrets
import unicodedata
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from calibrate.failures import Action, PrintersUnwritableError, PrinterUnknownError, Remedy
from calibrate.locking import held
from calibrate.printer_scale import MeasuredScale, PageCorrection, PrinterScale
from calibrate.regular_file import open_regular
from calibrate.spelling import closest_word

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["Border", "PrinterReading", "PrinterRecord", "Printers", "printers_file"]

_VERSION = 1
_KEPT = 50
_LONGEST_NAME = 80
_LARGEST = 10_000_000
"""Letters of the file: many times what a print shop's printers take."""


@dataclass(frozen=True, slots=True)
class PrinterReading:
    """One measurement of a printer.

    ``scale`` is what it does to an uncorrected page; ``paper`` the paper it was measured on; ``reference`` what it
    was measured against (``sheet``, ``card``, ``coin:1eur``, ``ruler``); ``date`` as given, ISO 8601, or empty.
    """

    paper: str
    scale: MeasuredScale
    reference: str
    date: str = ""

    def values(self) -> dict[str, Any]:
        """The reading as plain values, as it is kept and as ``--json`` has it."""
        return {"paper": self.paper, **asdict(self.scale), "reference": self.reference, "date": self.date}

    def replaces(self, other: PrinterReading) -> bool:
        """Whether it is to be used in the other's place: a ruler's rougher reading is not, in that of a photo's."""
        return self.reference != "ruler" or other.reference == "ruler" or self._doubt <= other._doubt

    def contradicts(self, other: PrinterReading) -> bool:
        """Whether they are further apart than both uncertainties together."""
        one, two = self.scale, other.scale
        return (
            abs(one.across - two.across) > one.uncertainty_across + two.uncertainty_across
            or abs(one.down - two.down) > one.uncertainty_down + two.uncertainty_down
        )

    @property
    def _doubt(self) -> float:
        return max(self.scale.uncertainty_across, self.scale.uncertainty_down)


@dataclass(frozen=True, slots=True)
class Border:
    """How far from each edge of the sheet the printer leaves off, mm."""

    left: float
    top: float
    right: float
    bottom: float

    @classmethod
    def even(cls, width: float) -> Border:
        """The same at all four edges."""
        return cls(width, width, width, width)


@dataclass(frozen=True, slots=True)
class PrinterRecord:
    """A printer as last measured, what was measured before (newest first), and its unprintable border."""

    name: str
    latest: PrinterReading
    history: tuple[PrinterReading, ...] = ()
    border: Border | None = None

    def stated(self) -> PrinterScale:
        """The printer's scale as a target states it, in steps of 0.0001.

        Raises:
            CorrectionError: it is outside 0.80 to 1.25.
        """
        return PrinterScale(self.latest.scale.across, self.latest.scale.down).rounded()

    def correction(self) -> PageCorrection:
        """What a page is scaled by for this printer: the inverse of its scale exactly as :meth:`stated` says it.

        It is for other pages than the one that was measured, and so less sure than the reading.

        Raises:
            CorrectionError: the scale is outside 0.80 to 1.25.
        """
        return self.stated().correction(self.name, self.latest.scale.on_other_pages().uncertainty)

    def values(self) -> dict[str, Any]:
        """Readings and border as plain values, as they are kept and as ``--json`` has them."""
        return {
            "latest": self.latest.values(),
            "border": asdict(self.border) if self.border else None,
            "history": [reading.values() for reading in self.history],
        }

    def caution(self, paper: str) -> str:
        """What to beware of when printing on ``paper``; empty when it was measured on the same."""
        if paper.casefold() == self.latest.paper.casefold():
            return ""
        return (
            f"printer {self.name!r} was last measured on {self.latest.paper}, not on {paper}; its correction is "
            f"used all the same. Print the test page on {paper} and check it to be sure."
        )


def printers_file() -> Path:
    """Where the printers are kept: in PAGESEAM_HOME, else in the user's configuration folder."""
    home = os.environ.get("PAGESEAM_HOME", "").strip()
    if home:
        return Path(home) / "printers.json"
    import platformdirs  # noqa: PLC0415 - only where no folder is named

    return Path(platformdirs.user_config_dir("pageseam", appauthor=False)) / "printers.json"


class Printers:
    """The printers kept in one file; the file need not exist."""

    def __init__(self, path: Path | None = None) -> None:
        self.path = path or printers_file()

    def all(self) -> tuple[PrinterRecord, ...]:
        """Every printer, by name.

        Raises:
            PrinterUnknownError: the file is damaged or can't be read.
        """
        kept = self._read()
        return tuple(kept[name] for name in sorted(kept, key=str.casefold))

    def get(self, name: str) -> PrinterRecord:
        """One printer.

        Raises:
            PrinterUnknownError: none is kept under that name, or as `all` does.
        """
        kept = self._read()
        plain = _plain_name(name)
        if plain not in kept:
            raise _unknown(plain, kept)
        return kept[plain]

    def keep(self, name: str, reading: PrinterReading, border: Border | None = None) -> PrinterRecord:
        """Write down a new reading; the one before joins the history, a border left out stays as it was.

        A reading that doesn't replace the one before (see there) joins the history itself.

        Raises:
            CorrectionError: the printer's scale is outside 0.80 to 1.25; nothing is written.
            PrinterUnknownError: the file is damaged, or the name can't be a printer's.
            PrintersUnwritableError: the file can't be written.
        """
        PrinterScale(reading.scale.across, reading.scale.down)
        plain = _plain_name(name)
        with self._locked():
            kept = self._read()
            before = kept.get(plain)
            if before is None:
                record = PrinterRecord(plain, reading, (), border)
            else:
                latest, other = before.latest, reading
                if reading.replaces(before.latest):
                    latest, other = reading, before.latest
                record = PrinterRecord(plain, latest, (other, *before.history)[:_KEPT], border or before.border)
            self._write({**kept, plain: record})
        return record

    def forget(self, name: str) -> None:
        """Remove a printer.

        Raises:
            PrinterUnknownError: none is kept under that name, or the file is damaged.
            PrintersUnwritableError: the file can't be written.
        """
        plain = _plain_name(name)
        with self._locked():
            kept = self._read()
            if plain not in kept:
                raise _unknown(plain, kept)
            self._write({key: record for key, record in kept.items() if key != plain})

    def _read(self) -> dict[str, PrinterRecord]:
        try:
            with open_regular(self.path) as stream:
                text = stream.read(_LARGEST + 1).decode("utf-8")
        except FileNotFoundError:
            return {}
        except (OSError, UnicodeDecodeError) as failure:
            why = getattr(failure, "strerror", None) or failure
            raise PrinterUnknownError(f"{self.path}: can't be read ({why}); nothing was changed.") from failure
        if len(text) > _LARGEST:
            raise self._damaged(f"more than {_LARGEST:,} letters")
        try:
            return _records_of(json.loads(text))
        except json.JSONDecodeError as failure:
            raise self._damaged(f"line {failure.lineno}: {failure.msg}") from failure
        except (KeyError, TypeError, ValueError, AttributeError, RecursionError) as failure:
            raise self._damaged(str(failure).splitlines()[0] if str(failure) else "wrong shape") from failure

    def _damaged(self, what: str) -> PrinterUnknownError:
        return PrinterUnknownError(
            f"{self.path}: what is kept of the printers is damaged ({what}); put it right or move it away, "
            "then run again. Nothing was changed."
        )

    def _write(self, kept: dict[str, PrinterRecord]) -> None:
        """Write a part of this run's own, then put it in place in one step."""
        part = self.path.with_name(f".{self.path.name}.{os.getpid()}-{secrets.token_hex(4)}.part")
        text = json.dumps(_values_of(kept), indent=2, ensure_ascii=False) + "\n"
        try:
            handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
            with os.fdopen(handle, "w", encoding="utf-8") as stream:
                stream.write(text)
                stream.flush()
                os.fsync(stream.fileno())
            part.replace(self.path.resolve())
        except OSError as failure:
            raise self._unwritable(failure.strerror or str(failure)) from failure
        finally:
            with suppress(OSError):
                part.unlink(missing_ok=True)

    def _unwritable(self, reason: str) -> PrintersUnwritableError:
        return PrintersUnwritableError(
            f"{self.path}: can't be written ({reason}); set PAGESEAM_HOME to a folder of your own. Nothing was changed."
        )

    @contextmanager
    def _locked(self) -> Iterator[None]:
        """Keep other runs out between reading and writing."""
        with ExitStack() as locks:
            try:
                self.path.parent.mkdir(parents=True, exist_ok=True)
                locks.enter_context(held(self.path.with_name(f".{self.path.name}.lock")))
            except TimeoutError:
                raise self._unwritable("another run keeps it locked") from None
            except OSError as failure:
                raise self._unwritable(failure.strerror or str(failure)) from failure
            self._clear_parts()
            yield

    def _clear_parts(self) -> None:
        """Remove what runs that were killed left behind; under the lock nobody else has a part."""
        for part in self.path.parent.glob(f".{self.path.name}.*.part"):
            with suppress(OSError):
                part.unlink()


def _plain_name(name: str) -> str:
    """The name as it is kept.

    Raises:
        PrinterUnknownError: it is empty, longer than 80 characters or holds control characters.
    """
    plain = unicodedata.normalize("NFC", name).strip()
    if not plain or len(plain) > _LONGEST_NAME or not plain.isprintable():
        message = f"{plain[:20]!r} can't be the name of a printer; use 1 to {_LONGEST_NAME} visible characters"
        raise PrinterUnknownError(message)
    return plain


def _unknown(name: str, kept: dict[str, PrinterRecord]) -> PrinterUnknownError:
    unknown = f"no printer {name!r} is known"
    if not kept:
        return PrinterUnknownError(unknown, Remedy(Action.MEASURE_PRINTER, (repr(name),)))
    if near := closest_word(name, kept):
        return PrinterUnknownError(f"{unknown}; did you mean {near!r}?")
    return PrinterUnknownError(unknown, Remedy(Action.LIST_PRINTERS))


def _values_of(kept: dict[str, PrinterRecord]) -> dict[str, Any]:
    printers = {name: kept[name].values() for name in sorted(kept, key=str.casefold)}
    return {"pageseam_printers": _VERSION, "printers": printers}


def _records_of(values: Any) -> dict[str, PrinterRecord]:
    """Check every value on the way in: a wrong figure here would spoil a whole print."""
    if values["pageseam_printers"] != _VERSION:
        message = f"format {values['pageseam_printers']!r} is not known to this version"
        raise ValueError(message)
    return {name: _record_of(name, kept) for name, kept in values["printers"].items()}


def _record_of(name: str, kept: dict[str, Any]) -> PrinterRecord:
    border = kept.get("border")
    return PrinterRecord(
        name=name,
        latest=_reading_of(name, kept["latest"]),
        history=tuple(_reading_of(name, reading) for reading in kept.get("history", ())),
        border=Border(**{side: _number(name, border, side, 0.0, 100.0) for side in Border.__slots__})
        if border
        else None,
    )


def _reading_of(name: str, kept: dict[str, Any]) -> PrinterReading:
    return PrinterReading(
        paper=str(kept["paper"]),
        scale=MeasuredScale(
            _number(name, kept, "across", 0.5, 2.0),
            _number(name, kept, "down", 0.5, 2.0),
            _number(name, kept, "uncertainty_across", 0.0, 1.0),
            _number(name, kept, "uncertainty_down", 0.0, 1.0),
        ),
        reference=str(kept["reference"]),
        date=str(kept.get("date", "")),
    )


def _number(name: str, kept: dict[str, Any], key: str, least: float, most: float) -> float:
    value = kept[key]
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not least <= value <= most:
        message = f"printer {name!r}: {key} is {value!r}, not a number from {least:g} to {most:g}"
        raise ValueError(message)
    return float(value)
