"""Opening an SVG file without trusting it: sizes are limited, nothing outside the file is fetched.

Entities: an SVG's own document type may declare short plain-text entities (several drawing programs write name
space addresses that way); anything that refers to other entities or to other files is refused before the content is
parsed. The guard reads the prolog with expat, which stops at the first element, so that no entity is ever expanded
before it has been judged.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from typing import NoReturn
from xml.parsers import expat

from lxml import etree

from calibrate.printable import printable
from tiling.failures import InputUnfit
from tiling.files.inputs import InputFile

__all__ = ["SVG_NAMESPACE", "SvgSource", "is_svg", "load_svg", "local_name", "where_of"]

SVG_NAMESPACE = "http://www.w3.org/2000/svg"
_GZIP = b"\x1f\x8b"
_LARGEST = 100 * 1024 * 1024
_MOST_ELEMENTS = 300_000
_MOST_ATTRIBUTES = 1000
"""Of one element; reading them all takes time with the square of their number."""
_LONGEST_ENTITY = 1000
_MOST_EXPANDED = 32 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class SvgSource:
    """A parsed file and its root element (lxml)."""

    file: InputFile
    root: etree._Element


def is_svg(head: bytes) -> bool:
    """Whether the first bytes of a file look like XML (or gzip, which may hold XML)."""
    text = head.replace(b"\0", b"").lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n")
    return head.startswith(_GZIP) or text.startswith(b"<")


def local_name(element: etree._Element) -> str:
    """The element's name when it belongs to SVG (or to no name space at all); otherwise an empty text."""
    tag = element.tag
    if not isinstance(tag, str):
        return ""
    if tag[0] != "{":
        return tag
    space, _, name = tag[1:].partition("}")
    return name if space == SVG_NAMESPACE else ""


def where_of(element: etree._Element) -> str:
    """The element for a message: its line, name and id."""
    tag = element.tag if isinstance(element.tag, str) else "?"
    name = tag.rpartition("}")[2]
    ident = _printable(element.get("id") or "")
    shown = f'<{name} id="{ident}">' if ident else f"<{name}>"
    return f"line {element.sourceline} {shown}" if element.sourceline else shown


def load_svg(file: InputFile) -> SvgSource:
    """Parse the file.

    Raises:
        InputUnfit: it is empty, too large, damaged, not SVG, or declares entities that are refused.
    """
    data = _unzipped(file) if file.content.startswith(_GZIP) else file.content
    if len(data) > _LARGEST:
        raise InputUnfit(f"{file.name}: is larger than {_LARGEST // 1024**2} MB; simplify the drawing or split it.")
    if not data.strip():
        raise InputUnfit(f"{file.name}: the file is empty; save the drawing again.")
    _judge_prolog(file, data)
    if data.count(b"<") > 3 * _MOST_ELEMENTS:
        _too_many(file)
    # The tree's own limits (10 MB for one attribute) are too small for a long outline; ours stand in their place.
    parser = etree.XMLParser(
        resolve_entities="internal",
        no_network=True,
        load_dtd=False,
        huge_tree=True,
        remove_comments=True,
        remove_pis=True,
    )
    try:
        root = etree.fromstring(data, parser)
    except etree.XMLSyntaxError as fault:
        raise InputUnfit(f"{file.name}: is damaged or not XML ({_reason(fault)}); save it again as SVG.") from None
    except ValueError as fault:
        raise InputUnfit(f"{file.name}: can't be read as XML ({fault}); save it again as SVG.") from None
    if local_name(root) != "svg":
        name = _printable(etree.QName(root).localname)
        raise InputUnfit(
            f"{file.name}: is XML but no drawing (its outer element is <{name}>, not <svg>); save it as SVG."
        )
    for number, element in enumerate(root.iter(), 1):
        if number > _MOST_ELEMENTS:
            _too_many(file)
        if len(element.attrib) > _MOST_ATTRIBUTES:
            raise InputUnfit(
                f"{file.name}: {where_of(element)}: has more than {_MOST_ATTRIBUTES:,} attributes; "
                "save it as plain SVG."
            )
    return SvgSource(file, root)


def _too_many(file: InputFile) -> NoReturn:
    raise InputUnfit(
        f"{file.name}: holds more than {_MOST_ELEMENTS:,} elements; split the drawing into several files"
        " (they can be given together)."
    )


def _unzipped(file: InputFile) -> bytes:
    """What the gzipped file holds, at most one byte more than may be."""
    unzip = zlib.decompressobj(wbits=31)
    try:
        plain = unzip.decompress(file.content, _LARGEST + 1)
    except zlib.error:
        raise InputUnfit(f"{file.name}: is compressed but damaged; save the drawing again.") from None
    if len(plain) <= _LARGEST and not unzip.eof:
        raise InputUnfit(f"{file.name}: is compressed and ends too early; copy or save it again.")
    return plain


class _PrologDone(Exception):
    """The first element was met; nothing after it is the guard's business."""


def _judge_prolog(file: InputFile, data: bytes) -> None:
    """Refuse dangerous entity declarations, reading no further than the first element."""
    longest = 0

    def declared(name: str, parameter: int, value: str | None, *_outside: str | None) -> None:
        nonlocal longest
        if value is None or parameter:
            raise InputUnfit(
                f"{file.name}: declares the entity '{_printable(name)}' from outside the file, which is never read;"
                " save it as plain SVG."
            )
        if len(value) > _LONGEST_ENTITY or "&" in value or "<" in value or "%" in value:
            raise InputUnfit(
                f"{file.name}: declares the entity '{_printable(name)}' that stands for other content, which is never"
                " expanded; save it as plain SVG."
            )
        longest = max(longest, len(value))

    def started(_name: str, _attributes: dict[str, str]) -> None:
        raise _PrologDone

    parser = expat.ParserCreate()
    parser.EntityDeclHandler = declared
    parser.StartElementHandler = started
    try:
        for start in range(0, len(data), 65536):
            parser.Parse(data[start : start + 65536], False)
    except _PrologDone:
        pass
    except (LookupError, ValueError):
        raise InputUnfit(
            f"{file.name}: is written in an encoding that can't be read; save it again as UTF-8."
        ) from None
    except expat.ExpatError as fault:
        words = expat.errors.messages.get(fault.code, "unreadable")
        raise InputUnfit(
            f"{file.name}: is not XML (line {fault.lineno}: {words}); a drawing must be an SVG or PDF file."
        ) from None
    if longest * data.count(b"&") > _MOST_EXPANDED:
        raise InputUnfit(
            f"{file.name}: uses its entities so often that it would grow without end; save it as plain SVG."
        )


def _reason(fault: etree.XMLSyntaxError) -> str:
    return _printable(str(fault.msg or fault).split("\n")[0])[:120]


def _printable(text: str) -> str:
    return printable(text[:80], "\ufffd")
