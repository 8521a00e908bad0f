"""Reading back what a printed file knows: its attached print plan."""

from __future__ import annotations

from pathlib import Path

from pypdf import PdfReader
from pypdf.errors import PyPdfError
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject, PdfObject, StreamObject

from tiling.failures import InputUnfit
from tiling.planning.printed import PrintedRecord
from tiling.reading.pdf_open import quiet
from tiling.record.plan_record import LARGEST, RECORD_NAME, read_record

__all__ = ["record_of"]

_DAMAGE = (PyPdfError, ValueError, KeyError, TypeError, IndexError, AttributeError, RecursionError, OverflowError)


def record_of(path: Path) -> PrintedRecord:
    """The print plan attached to a PDF that `pages` or `reprint` wrote.

    Raises:
        InputUnfit: the file can't be read, is not a PDF, carries no print plan (it comes from elsewhere, or a program
            that saved it again dropped the attachment), or its plan is damaged.
    """
    if path.exists() and not path.is_file():
        raise InputUnfit(f"{path}: is no file; name the PDF that pages or reprint wrote.")
    try:
        with quiet():
            data = _attachment(path)
    except OSError as failure:
        raise InputUnfit(f"{path}: can't be read ({failure.strerror or failure}).") from failure
    except _DAMAGE as failure:
        raise InputUnfit(
            f"{path}: is no whole PDF, so its print plan can't be read; use the file as pageseam wrote it."
        ) from failure
    if data is None:
        raise InputUnfit(
            f"{path}: carries no print plan. Name the PDF that pages or reprint wrote, as written: "
            "programs that save a PDF again may drop what is attached."
        )
    try:
        return read_record(data)
    except InputUnfit as failure:
        raise InputUnfit(f"{path}: {failure}") from failure


def _attachment(path: Path) -> bytes | None:
    with path.open("rb") as stream:
        names = _child(PdfReader(stream).root_object, "/Names", "/EmbeddedFiles", "/Names")
        if not isinstance(names, ArrayObject):
            return None
        for name, described in zip(names[::2], names[1::2], strict=False):
            if str(_resolved(name)) == RECORD_NAME:
                file = _child(_resolved(described), "/EF", "/F")
                if isinstance(file, StreamObject):
                    return _bounded(file)
    return None


def _bounded(file: StreamObject) -> bytes:
    data = file.get_data()
    if len(data) > LARGEST:
        raise ValueError("the attachment is too large")
    return data


def _child(start: PdfObject | None, *keys: str) -> PdfObject | None:
    for key in keys:
        if not isinstance(start, DictionaryObject) or key not in start:
            return None
        start = _resolved(start.raw_get(key))
    return start


def _resolved(value: PdfObject | None) -> PdfObject | None:
    return value.get_object() if isinstance(value, IndirectObject) else value
