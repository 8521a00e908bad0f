"""The print plan in a PDF: put in as an attached file (ISO 32000-1, 7.11.4), and found there again."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from io import BytesIO

from pypdf import PdfReader, PdfWriter
from pypdf.errors import PyPdfError
from pypdf.generic import (
    ArrayObject,
    ByteStringObject,
    DictionaryObject,
    IndirectObject,
    NameObject,
    NumberObject,
    PdfObject,
    StreamObject,
    TextStringObject,
)

from tiling.failures import Action, InputUnfit, Remedy
from tiling.files.inputs import InputFile
from tiling.planning.printed import PrintedRecord
from tiling.reading.pdf_findings import PRINT_PLAN
from tiling.reading.pdf_open import quiet
from tiling.record.plan_record import LARGEST, read_record

__all__ = ["RECORD_NAME", "attach_record", "attached_records", "read_printed"]

RECORD_NAME = PRINT_PLAN
"""The attachment's name in the PDF."""

_DAMAGE = (PyPdfError, ValueError, KeyError, TypeError, IndexError, AttributeError, RecursionError, OverflowError)


def attach_record(writer: PdfWriter, record: bytes) -> None:
    """Attach a record to a PDF that has no attachments yet, without dates, so that the same record gives the same file.

    Args:
        writer: of the PDF.
        record: as `record_bytes` makes it.
    """
    stream = StreamObject()
    stream.set_data(record)
    stream = stream.flate_encode(level=1)
    stream[NameObject("/Type")] = NameObject("/EmbeddedFile")
    stream[NameObject("/Subtype")] = NameObject("/application#2Fjson")
    stream[NameObject("/Params")] = DictionaryObject(
        {
            NameObject("/Size"): NumberObject(len(record)),
            NameObject("/CheckSum"): ByteStringObject(hashlib.md5(record, usedforsecurity=False).digest()),
        }
    )
    reference = writer._add_object(stream)
    name = TextStringObject(RECORD_NAME)
    description = DictionaryObject(
        {
            NameObject("/Type"): NameObject("/Filespec"),
            NameObject("/F"): name,
            NameObject("/UF"): name,
            NameObject("/Desc"): TextStringObject("The print plan, from which single pages are printed again."),
            NameObject("/EF"): DictionaryObject({NameObject("/F"): reference, NameObject("/UF"): reference}),
        }
    )
    names = ArrayObject([name, writer._add_object(description)])
    files = DictionaryObject({NameObject("/EmbeddedFiles"): DictionaryObject({NameObject("/Names"): names})})
    writer.root_object[NameObject("/Names")] = files


def attached_records(reader: PdfReader) -> Iterator[bytes]:
    """The content of every attachment that has the record's name.

    Raises:
        ValueError: one is larger than any record. What else a damaged PDF can raise is pypdf's.
    """
    names = _child(reader.root_object, "/Names", "/EmbeddedFiles", "/Names")
    if not isinstance(names, ArrayObject):
        return
    for name, described in zip(names[::2], names[1::2], strict=False):
        if str(_resolved(name)) == RECORD_NAME:
            file = _child(_resolved(described), "/EF", "/F")
            if isinstance(file, StreamObject):
                yield _bounded(file)


def read_printed(file: InputFile) -> PrintedRecord:
    """The print plan attached to a PDF that this program wrote.

    Raises:
        InputUnfit: it is no PDF, carries no print plan (it comes from elsewhere, or a program that saved it again
            dropped the attachment), or its plan is damaged.
    """
    try:
        with quiet():
            record = next(attached_records(PdfReader(BytesIO(file.content))), None)
    except _DAMAGE as failure:
        raise InputUnfit(
            f"{file.name}: is no whole PDF, so its print plan can't be read; use the file as pageseam wrote it."
        ) from failure
    if record is None:
        raise InputUnfit(f"{file.name}: carries no print plan", Remedy(Action.NAME_PRINTED_UNCHANGED))
    try:
        return read_record(record)
    except InputUnfit as failure:
        raise InputUnfit(f"{file.name}: {failure.what}", failure.remedy) from failure


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
