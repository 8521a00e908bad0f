"""One resource dictionary for a page and all forms drawn in it, free of everything that isn't content.

Fonts, images, colour spaces and the rest are copied key by key into a writer of our own, so that no action, link,
metadata, structure or optional content of the source travels.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from typing import Final, cast

from pypdf import PdfWriter
from pypdf.generic import (
    ArrayObject,
    DecodedStreamObject,
    DictionaryObject,
    IndirectObject,
    NameObject,
    NullObject,
    NumberObject,
    PdfObject,
    StreamObject,
)

from tiling.content.bare_pictures import bare_image
from tiling.content.inline_images import bare_inline_images
from tiling.content.streams import decoded, resolved, word

__all__ = ["Merger", "entry", "safe_name"]

_STREAM_KEYS: Final = {"/Filter", "/DecodeParms", "/F", "/FFilter", "/FDecodeParms", "/DL"} - {"/F", "/FFilter"}
_PLAIN: Final = _STREAM_KEYS | {"/Length"}
"""All that a glyph's stream has (ISO 32000-2, 9.6.4)."""
_KEPT: Final[dict[str, set[str]]] = {
    "form": {"/Type", "/Subtype", "/FormType", "/BBox", "/Matrix", "/Group", "/Resources"},
    "image": {
        "/Type", "/Subtype", "/Width", "/Height", "/ColorSpace", "/BitsPerComponent", "/Intent", "/ImageMask",
        "/Mask", "/Decode", "/Interpolate", "/SMask", "/SMaskInData", "/Matte",
    },
    "tiling": {
        "/Type", "/PatternType", "/PaintType", "/TilingType", "/BBox", "/XStep", "/YStep", "/Resources", "/Matrix",
    },
}  # fmt: skip
_DROPPED: Final = {
    "/OC", "/Metadata", "/PieceInfo", "/StructParent", "/StructParents", "/LastModified", "/OPI", "/Ref",
    "/Alternates", "/AF", "/AA", "/Annots", "/Parent", "/PtData", "/Measure", "/Properties",
}  # fmt: skip
_MAPS: Final = {
    "/CharProcs", "/Font", "/XObject", "/ExtGState", "/ColorSpace", "/Pattern", "/Shading", "/Colorants",
}  # fmt: skip
"""Dictionaries whose keys are names chosen by the file."""
_USED: Final = _MAPS - {"/CharProcs", "/Colorants"}
"""Those whose names content uses."""
_DEPTH = 60
_NAME_OR_STRING: Final = re.compile(rb"\((?:[^()\\]|\\[\s\S])*+\)|(/[^\x00\t\n\x0c\r ()<>\[\]{}/%]*+)")
_HASH: Final = re.compile(rb"#([0-9A-Fa-f]{2})")


def entry(resources: DictionaryObject, category: str, name: str) -> PdfObject | None:
    """The raw entry (a reference where it is one) of a resource category, or None."""
    group = resolved(resources.get(category))
    if not isinstance(group, DictionaryObject) or name not in group:
        return None
    return cast(PdfObject, group.raw_get(name))


def safe_name(raw: bytes) -> str:
    """A name token of a content stream as a dictionary key (ISO 32000-2, 7.3.5: #xx stands for a byte).

    Bytes that are no UTF-8 are taken for the letters for which the library takes them in dictionaries.
    """
    plain = _HASH.sub(lambda found: bytes((int(found[1], 16),)), raw)
    return _decoded(plain)


def _decoded(plain: bytes) -> str:
    for charset in NameObject.CHARSETS:
        try:
            return plain.decode(charset)
        except UnicodeDecodeError:
            continue
    return plain.decode("latin-1")


def _ascii(name: str) -> str:
    """A name for a resource's name: the library would write letters beyond ASCII in other bytes than the content."""
    return name if name.isascii() else "/u" + name[1:].encode("utf-8", "replace").hex()


def _with_ascii_names(content: bytes) -> bytes:
    """Content with the names in it as `_ascii` makes them; those in strings are no names."""

    def renamed(found: re.Match[bytes]) -> bytes:
        name = safe_name(found[1] or b"")
        return found[0] if name.isascii() else _ascii(name).encode()

    return _NAME_OR_STRING.sub(renamed, content)


def _kind(value: PdfObject) -> str:
    if not isinstance(value, DictionaryObject):
        return ""
    subtype = word(value.get("/Subtype"))
    if isinstance(value, StreamObject) and subtype in ("/Form", "/Image"):
        return "form" if subtype == "/Form" else "image"
    return "tiling" if isinstance(value, StreamObject) and "/PatternType" in value else ""


class Merger:
    """Gives every resource that is used a name of its own, and holds its clean copy.

    A resource keeps the name it has in the source unless another one has it already.
    """

    def __init__(self, host: PdfWriter | None = None) -> None:
        self.host = host or PdfWriter()
        self.dictionary = DictionaryObject()
        self._names: dict[tuple[str, object], bytes] = {}
        self._taken: dict[str, set[bytes]] = {}
        self._copies: dict[object, PdfObject] = {}
        self._alive: list[object] = []

    def _identity(self, raw: PdfObject) -> object:
        if isinstance(raw, IndirectObject):
            return (id(raw.pdf), raw.idnum, raw.generation)
        self._alive.append(raw)
        return id(raw)

    def name(self, category: str, raw: PdfObject | None, preferred: bytes) -> bytes:
        """The name (with its slash) under which the resource is used in what is written.

        A resource that is missing in the source gets a name that stays undefined, so that viewers treat it alike.
        """
        key = (category, self._identity(raw) if raw is not None else (preferred, "missing"))
        known = self._names.get(key)
        if known is None:
            known = self._free(category, preferred)
            self._names[key] = known
            if raw is not None:
                self._add(category, known, self.copy(raw))
        return known

    def keep(self, category: str, value: PdfObject, preferred: bytes) -> bytes:
        """The name of a resource made here (already clean)."""
        name = self._free(category, preferred)
        self._add(category, name, value)
        return name

    def always(self, category: str, name: str, raw: PdfObject) -> None:
        """Carry a resource that works by its mere name (DefaultRGB and its like)."""
        self._add(category, name.encode("latin-1"), self.copy(raw))

    def _free(self, category: str, preferred: bytes) -> bytes:
        taken = self._taken.setdefault(category, set())
        preferred = _with_ascii_names(preferred)
        name, count = preferred, len(taken)
        while name in taken:
            count += 1
            name = preferred + b"x%d" % count
        taken.add(name)
        return name

    def _add(self, category: str, name: bytes, value: PdfObject) -> None:
        group = self.dictionary.setdefault(NameObject(category), DictionaryObject())
        group[NameObject(safe_name(name))] = value

    def copy(self, raw: PdfObject, depth: int = 0) -> PdfObject:
        """A clean deep copy; indirect objects stay indirect, in our own writer, and are copied once."""
        if depth > _DEPTH:
            return NullObject()
        value = resolved(raw)
        if value is None:
            return NullObject()
        shared = isinstance(raw, IndirectObject) or isinstance(value, StreamObject)
        if not shared:
            return self._rebuilt(value, depth)
        key = self._identity(raw)
        if key not in self._copies:
            blank: PdfObject
            if isinstance(value, StreamObject):
                value = bare_image(value) if _kind(value) == "image" else value
                blank = value.__class__()
                blank._data = value._data
                if (content := _rewritten(value)) is not None:
                    blank = DecodedStreamObject()
                    blank.set_data(content)
            elif isinstance(value, DictionaryObject):
                blank = DictionaryObject()
            elif isinstance(value, ArrayObject):
                blank = ArrayObject()
            else:
                return self._rebuilt(value, depth)
            self._copies[key] = self.host._add_object(blank)
            self._fill(blank, value, depth)
            if isinstance(blank, DecodedStreamObject):
                for filtering in _STREAM_KEYS:
                    blank.pop(filtering, None)
        return self._copies[key]

    def _rebuilt(self, value: PdfObject, depth: int) -> PdfObject:
        if isinstance(value, DictionaryObject):
            fresh = DictionaryObject()
            self._fill(fresh, value, depth)
            return fresh
        if isinstance(value, ArrayObject):
            listed = ArrayObject()
            self._fill(listed, value, depth)
            return listed
        return value

    def _fill(self, target: PdfObject, source: PdfObject, depth: int, within: str = "") -> None:
        """Copy all that is carried; `within` is one of `_MAPS` where its keys are names chosen by the file."""
        if isinstance(source, ArrayObject) and isinstance(target, ArrayObject):
            for item in list(source):
                if isinstance(item, NameObject) and "\x00" in item:
                    # NUL is white space (ISO 32000-2, 7.2.3), which the library overlooks in names.
                    name, _, rest = item.partition("\x00")
                    target.append(NameObject(name))
                    target.extend(NumberObject(int(word)) for word in rest.split("\x00") if word.isdigit())
                else:
                    target.append(self.copy(item, depth + 1))
            return
        if not isinstance(source, DictionaryObject) or not isinstance(target, DictionaryObject):
            return
        kept = _KEPT.get(_kind(source))
        for key in source:
            if not within and not _carried(str(key), kept):
                continue
            raw = source.raw_get(key)
            inner = resolved(raw)
            if not within and str(key) in _MAPS and _is_map(inner):
                fresh = DictionaryObject()
                self._fill(fresh, cast(DictionaryObject, inner), depth + 1, str(key))
                target[NameObject(key)] = fresh
            else:
                target[NameObject(_ascii(key) if within in _USED else key)] = self.copy(raw, depth + 1)


def _rewritten(value: StreamObject) -> bytes | None:
    """What is carried for the content of a form, a cell or a glyph; None where it can stay as it is."""
    if _kind(value) not in ("form", "tiling") and not set(value) <= _PLAIN:
        return None
    content, good = decoded(value)
    carried = bare_inline_images(content) if good else content
    if _has_foreign_names(value):
        carried = _with_ascii_names(carried)
    return carried if carried is not content else None


def _has_foreign_names(form: StreamObject) -> bool:
    """Whether any of its resources has a name with letters beyond ASCII."""
    resources = resolved(form.get("/Resources"))
    groups = [resolved(resources.get(one)) for one in _USED] if isinstance(resources, DictionaryObject) else []
    return any(isinstance(group, DictionaryObject) and any(not key.isascii() for key in group) for group in groups)


def _is_map(value: PdfObject | None) -> bool:
    """Whether it can be a dictionary of the file's own names, and not a stream or a pattern's shading."""
    plain = isinstance(value, DictionaryObject) and not isinstance(value, StreamObject)
    return plain and "/ShadingType" not in cast(DictionaryObject, value)


def _carried(key: str, kept: Collection[str] | None) -> bool:
    if key == "/Length":
        return False
    return key in kept or key in _STREAM_KEYS if kept is not None else key not in _DROPPED
