"""Opening PDF files of any age and state of repair, and saying clearly why one can't be read."""

from __future__ import annotations

import io
import logging
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace

from pypdf import PageObject, PdfReader
from pypdf.errors import DependencyError, DeprecationError, FileNotDecryptedError, PyPdfError

from tiling.failures import InputUnfit
from tiling.files.inputs import InputFile

__all__ = ["FAULTS", "OpenedPdf", "as_copied", "open_pdf", "quiet", "reopened"]

FAULTS = (
    PyPdfError, DeprecationError, ValueError, KeyError, TypeError, AttributeError, IndexError, RecursionError,
    OSError, zlib.error, AssertionError, NotImplementedError, OverflowError, ZeroDivisionError,
    DependencyError,
)  # fmt: skip
"""What a damaged file can raise inside the library."""
_SMALLEST = 30
_PAGES = 5_000
_REPAIRED = "The file is damaged; it was read as a viewer repairs it."


@dataclass(frozen=True, slots=True)
class OpenedPdf:
    """A file that can be read.

    Attributes:
        file: as given.
        reader: gives its objects.
        pages: all pages in order.
        repair: what had to be done to read it, one sentence; empty when nothing.
    """

    file: InputFile
    reader: PdfReader
    pages: tuple[PageObject, ...]
    repair: str = ""


class _WarningCounter(logging.Handler):
    """Hears whether the library complained."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.complaints = 0

    def emit(self, record: logging.LogRecord) -> None:
        self.complaints += record.levelno >= logging.WARNING


@contextmanager
def quiet() -> Iterator[_WarningCounter]:
    """Keep the library's own warnings about malformed files to itself; what matters becomes a finding."""
    log = logging.getLogger("pypdf")
    ear, before = _WarningCounter(), log.propagate
    log.addHandler(ear)
    log.propagate = False
    try:
        yield ear
    finally:
        log.removeHandler(ear)
        log.propagate = before


def open_pdf(file: InputFile) -> OpenedPdf:
    """Open a PDF; one that the library can't follow, or complains about, is read as PDFium repairs and saves it.

    Raises:
        InputUnfit: it is no PDF, is protected by a password, damaged beyond repair, or has no pages.
    """
    data = file.content
    if not data:
        raise InputUnfit(f"{file.name}: the file is empty; save the drawing again.")
    if b"%PDF-" not in data[:1024] or len(data) < _SMALLEST:
        raise InputUnfit(f"{file.name}: is no PDF, whatever its name says; export the drawing as PDF.")
    with quiet() as ear:
        first = _tried(file, data, "")
        if isinstance(first, OpenedPdf) and not ear.complaints:
            return first
        copy = None if isinstance(first, _Refused) and first.final else as_copied(data)
        note = _REPAIRED if isinstance(first, OpenedPdf) else first.note
        second = _tried(file, copy, note) if copy else first
        if isinstance(second, OpenedPdf):
            return second
        if isinstance(first, OpenedPdf):
            return replace(first, repair=_REPAIRED)
        if first.locked:
            raise InputUnfit(
                f"{file.name}: is protected by a password; open it with the password, print it to a new PDF and use "
                "that."
            )
        raise InputUnfit(f"{file.name}: {first.reason}")


@dataclass(frozen=True, slots=True)
class _Refused:
    reason: str
    note: str = ""
    locked: bool = False
    final: bool = False


def _tried(file: InputFile, data: bytes, repair: str) -> OpenedPdf | _Refused:
    damaged = _Refused(
        "is damaged and can't be read; get the file again, or open it in a viewer and print it to a new PDF.",
        _REPAIRED,
    )
    try:
        reader = PdfReader(io.BytesIO(data), strict=False)
        if reader.is_encrypted and not reader.decrypt(""):
            return _Refused("is protected by a password", locked=True)
        if len(reader.pages) > _PAGES:
            return _Refused(f"has more than {_PAGES} pages; that is no pattern.", final=True)
        pages = tuple(reader.pages)
    except (DependencyError, FileNotDecryptedError):
        # Strong encryption without a user password: PDFium undoes it.
        return _Refused("is protected by a password", locked=True)
    except FAULTS:
        return damaged
    if not pages:
        return _Refused("has no pages; export the drawing again.", damaged.note)
    return OpenedPdf(file, reader, pages, repair)


def reopened(opened: OpenedPdf) -> OpenedPdf | None:
    """The file as PDFium repairs it, for damage that shows only when a page is read; None when it can't."""
    copy = None if opened.repair else as_copied(opened.file.content)
    second = _tried(opened.file, copy, _REPAIRED) if copy else None
    return second if isinstance(second, OpenedPdf) and len(second.pages) == len(opened.pages) else None


def as_copied(data: bytes) -> bytes | None:
    """The file as PDFium reads and saves it, without protection; None when it can't (or needs a password)."""
    import pypdfium2  # noqa: PLC0415 - heavy, and needed for few files
    from pypdfium2 import raw  # noqa: PLC0415

    try:
        document = pypdfium2.PdfDocument(data)
    except pypdfium2.PdfiumError:
        return None
    try:
        stream = io.BytesIO()
        document.save(stream, flags=raw.FPDF_REMOVE_SECURITY)
        return stream.getvalue()
    except pypdfium2.PdfiumError:
        return None
    finally:
        document.close()
