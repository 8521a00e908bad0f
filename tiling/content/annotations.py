"""What lies over a page as annotations: which of them print, and the content that draws those (ISO 32000-2, 12.5)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import IntFlag

from pypdf.generic import ArrayObject, DictionaryObject, NameObject, PdfObject, StreamObject

from tiling.content.annotation_ink import rect_of
from tiling.content.annotation_shapes import SHAPES, frame_of_link
from tiling.content.annotation_text import FIELDS, inherited, text_of_box
from tiling.content.boxes import page_turn
from tiling.content.scene import Matrix, figure, moved_box, times
from tiling.content.streams import floats, resolved, word

__all__ = ["Overlay", "annotations_of", "appearance_of", "missing_appearance", "overlay_of", "stays_upright"]

_UNSEEN = {"/Popup"}
_MOST = 20_000
"""Annotations of one page."""


class _Flag(IntFlag):
    """Table 167."""

    HIDDEN = 2
    PRINT = 4
    NO_ROTATE = 16
    NO_VIEW = 32


@dataclass(frozen=True, slots=True, eq=False)
class Overlay:
    """The annotations of a page as content that is drawn after the page's own.

    Attributes:
        content, resources: a content stream in the page's user space, and what it names.
        screen_only: how many of each kind a viewer shows and the file keeps from being printed.
        undrawn: how many of each kind, or parts of them, print, but as each viewer likes: the file has no picture of
            them.
    """

    content: bytes = b""
    resources: DictionaryObject = field(default_factory=DictionaryObject)
    screen_only: Counter[str] = field(default_factory=Counter)
    undrawn: Counter[str] = field(default_factory=Counter)


def annotations_of(page: DictionaryObject) -> Iterator[DictionaryObject]:
    """The page's annotations that could be drawn at all, in their order."""
    listed = resolved(page.get("/Annots"))
    for raw in list(listed)[:_MOST] if isinstance(listed, ArrayObject) else []:
        note = resolved(raw)
        if not isinstance(note, DictionaryObject) or _flags(note) & _Flag.HIDDEN:
            continue
        if word(note.get("/Subtype")) not in _UNSEEN and floats(note.get("/Rect"), 4):
            yield note


def overlay_of(page: DictionaryObject, catalogue: DictionaryObject) -> Overlay:
    """What prints of a page's annotations.

    Only those whose Print flag is set do (12.5.3). Their own appearance is drawn, for the state they are in, or one
    made from what they say of themselves.

    Args:
        page: the page.
        catalogue: the document's, for what its form's fields have in common.
    """
    forms, layers = DictionaryObject(), DictionaryObject()
    found = Overlay(b"", DictionaryObject({NameObject("/XObject"): forms, NameObject("/Properties"): layers}))
    parts: list[bytes] = []
    for number, note in enumerate(annotations_of(page)):
        own = appearance_of(note, catalogue)
        kind = word(note.get("/Subtype"))[1:] or "unnamed"
        if not _flags(note) & _Flag.PRINT:
            found.screen_only[kind] += not _flags(note) & _Flag.NO_VIEW and _shows(note, catalogue)
            continue
        raw = own if own is not None else missing_appearance(note, catalogue)
        form = resolved(raw)
        if not isinstance(form, StreamObject):
            found.undrawn[kind] += own is None and _has_sign(note)
            continue
        if own is None:
            found.undrawn.update(_left_undrawn(note))
        place = _placed(form, note) if own is not None else (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
        if place is None or raw is None:
            continue
        if stays_upright(note, page):
            place = times(_upright_turn(note, page), place)
        forms[NameObject(f"/Note{number}")] = raw if word(form.get("/Subtype")) == "/Form" else _as_form(form)
        drawn = b"q " + b" ".join(map(figure, place)) + b" cm /Note%d Do Q" % number
        if "/OC" in note:
            layers[NameObject(f"/Layer{number}")] = note.raw_get("/OC")
            drawn = b"/OC /Layer%d BDC %b EMC" % (number, drawn)
        parts.append(drawn)
    return Overlay(b"\n".join(parts), found.resources, +found.screen_only, +found.undrawn)


def appearance_of(note: DictionaryObject, catalogue: DictionaryObject) -> PdfObject | None:
    """The form of an annotation's normal appearance in the state it is in (12.5.5); None where the file has none.

    Nor has it one for text and choice fields if it asks viewers to make them anew (NeedAppearances, table 224). A state
    without a form is one that shows nothing: another object than a stream.
    """
    form = resolved(catalogue.get("/AcroForm"))
    anew = isinstance(form, DictionaryObject) and word(form.get("/NeedAppearances")).lower() == "true"
    if anew and word(inherited(note, "/FT")) in ("/Tx", "/Ch") and missing_appearance(note, catalogue) is not None:
        return None
    states = resolved(note.get("/AP"))
    normal = states.raw_get("/N") if isinstance(states, DictionaryObject) and "/N" in states else None
    known = resolved(normal)
    if isinstance(known, StreamObject) or not isinstance(known, DictionaryObject):
        return normal if isinstance(known, StreamObject) else None
    state = word(note.get("/AS")) or "/" + word(inherited(note, "/V")).lstrip("/")
    found: PdfObject = known.raw_get(state) if state in known else known.get("/Off", NameObject("/Off"))
    return found


def missing_appearance(note: DictionaryObject, catalogue: DictionaryObject) -> StreamObject | None:
    """An appearance, in the page's user space, for an annotation without one; None where nothing says how it looks."""
    kind = word(note.get("/Subtype"))
    if kind == "/Widget":
        field_kind = word(inherited(note, "/FT"))
        return FIELDS[field_kind](note, catalogue) if field_kind in FIELDS else None
    if kind == "/FreeText":
        return text_of_box(note, catalogue)
    return SHAPES[kind](note) if kind in SHAPES else frame_of_link(note) if kind == "/Link" else None


def _left_undrawn(note: DictionaryObject) -> Iterator[str]:
    """What an annotation without an appearance says of its looks that the one made for it doesn't show."""
    if word(note.get("/Subtype")) == "/Line" and word(note.get("/Cap")).lower() == "true" and note.get("/Contents"):
        yield "caption of a Line"
    effect = resolved(note.get("/BE"))
    if isinstance(effect, DictionaryObject) and word(effect.get("/S")) == "/C":
        yield "cloudy border"


def stays_upright(note: DictionaryObject, page: DictionaryObject) -> bool:
    """Whether an annotation is shown upright though its page is turned."""
    return bool(_flags(note) & _Flag.NO_ROTATE and page_turn(page))


def _flags(note: DictionaryObject) -> int:
    text = word(note.get("/F"))
    return int(text) if text.isdigit() else 0


def _shows(note: DictionaryObject, catalogue: DictionaryObject) -> bool:
    """Whether a viewer shows anything of an annotation."""
    own = appearance_of(note, catalogue)
    if own is not None:
        return isinstance(resolved(own), StreamObject)
    return _has_sign(note) or missing_appearance(note, catalogue) is not None


def _has_sign(note: DictionaryObject) -> bool:
    """Whether viewers have a picture of their own for an annotation without an appearance: an icon, a tick."""
    kind = word(note.get("/Subtype"))
    if kind == "/Widget":
        return word(inherited(note, "/FT")) == "/Btn" and word(note.get("/AS")) not in ("", "/Off")
    return kind in {"/Text", "/Stamp", "/Caret", "/FileAttachment", "/Sound", "/Movie", "/Redact"}


def _as_form(stream: StreamObject) -> StreamObject:
    """An appearance that doesn't say it is a form, as one."""
    made: StreamObject = stream.__class__()
    made._data = stream._data
    made.update({key: stream.raw_get(key) for key in stream})
    made[NameObject("/Subtype")] = NameObject("/Form")
    return made


def _upright_turn(note: DictionaryObject, page: DictionaryObject) -> Matrix:
    """The turn about its upper left corner that keeps an annotation upright on a turned page."""
    left, _, _, top = rect_of(note)
    c, s = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[page_turn(page)]
    return c, s, -s, c, left - c * left + s * top, top - s * left - c * top


def _placed(form: StreamObject, note: DictionaryObject) -> Matrix | None:
    """The matrix that puts an appearance's box on the annotation's rectangle (12.5.5, algorithm 8)."""
    box = floats(form.get("/BBox"), 4)
    if box is None:
        return None
    a, b, c, d, e, f = floats(form.get("/Matrix"), 6) or (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    x0, y0, x1, y1 = moved_box((a, b, c, d, e, f), (box[0], box[1], box[2], box[3]))
    left, low, right, high = rect_of(note)
    if not (x1 > x0 and y1 > y0 and right > left and high > low):
        return None
    across, up = (right - left) / (x1 - x0), (high - low) / (y1 - y0)
    return across, 0.0, 0.0, up, left - across * x0, low - up * y0
