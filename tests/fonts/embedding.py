"""Which fonts a PDF names, and whether their programs are in it."""

from __future__ import annotations

from io import BytesIO

from pypdf import PdfReader
from pypdf.generic import DictionaryObject

FILES = {"/FontFile", "/FontFile2", "/FontFile3"}


def fonts_in(data: bytes) -> dict[str, bool]:
    """Every font dictionary of a file by name, and whether its program is in the file (ISO 32000-1, 9.9)."""
    found = {}
    reader = PdfReader(BytesIO(data))
    for number in range(1, int(reader.trailer["/Size"])):
        thing = reader.get_object(number)
        if isinstance(thing, DictionaryObject) and thing.get("/Type") == "/Font":
            descriptor = thing.get("/FontDescriptor")
            inside = descriptor is not None and bool(FILES & set(descriptor.get_object()))
            found[str(thing["/BaseFont"])] = inside
    return found
