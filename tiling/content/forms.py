"""Form XObjects: drawn object by object where that looks the same, else as one object (ISO 32000-2, 8.10, 11.6.6)."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

from pypdf.generic import (
    DecodedStreamObject,
    DictionaryObject,
    IndirectObject,
    NameObject,
    PdfObject,
    StreamObject,
)

from tiling.content.lending import lend_resources
from tiling.content.lexer import number
from tiling.content.patterns import check_fineness
from tiling.content.resources import entry, safe_name
from tiling.content.scene import (
    DAMAGED,
    OWN_FORM,
    ContentScene,
    Drawn,
    ItemKind,
    Marked,
    Matrix,
    common,
    figure,
    moved_box,
    times,
)
from tiling.content.state import ALL, Param
from tiling.content.streams import decoded, floats, resolved, word

__all__ = ["Whole", "close_marked", "draw_form", "keeps_whole", "open_layer"]

Whole = Callable[[ContentScene, StreamObject, Matrix], tuple[bytes, DictionaryObject]]
"""Writes a form's content and resources without its hidden layers."""

_DEEPEST = 24
_LOOKED = 400


def draw_form(
    scene: ContentScene, name: bytes, form: StreamObject, read: Callable[[ContentScene, bytes], None], whole: Whole
) -> None:
    """Do with a form. `read` interprets content in a scene; `whole` writes all of a scene's objects."""
    raw = entry(scene.resources, "/XObject", safe_name(name))
    identity = raw.idnum if isinstance(raw, IndirectObject) else id(form)
    if identity in scene.active:
        scene.repairs.add(OWN_FORM)
        return
    if not isinstance(resolved(form.get("/Resources")), DictionaryObject):
        form = raw = lend_resources(scene, form)
    matrix: Matrix = floats(form.get("/Matrix"), 6) or (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)  # type: ignore[assignment]
    box = floats(form.get("/BBox"), 4)
    if keeps_whole(scene, form) or len(scene.active) >= _DEEPEST:
        _draw_kept(scene, name, form, (raw, matrix, box), whole)
        return
    if identity not in scene.streams:
        scene.streams[identity], good = decoded(form)
        if not good:
            scene.repairs.add(DAMAGED)
    data = scene.streams[identity]
    scene.count(len(data) + 100)
    resources = resolved(form.get("/Resources"))
    scene.active.append(identity)
    _enter(scene, matrix, box)
    outer = (scene.resources, scene.parent, scene.path, scene.clip_rule, scene.floor, scene.marked_floor)
    scene.parent = scene.ctm
    if isinstance(resources, DictionaryObject):
        scene.resources = resources
    scene.path, scene.clip_rule, scene.floor, scene.marked_floor = [], b"", len(scene.saved), len(scene.marked)
    read(scene, data)
    scene.resources, scene.parent, scene.path, scene.clip_rule, scene.floor, scene.marked_floor = outer
    scene.pop()
    scene.active.pop()


def _enter(scene: ContentScene, matrix: Matrix, box: tuple[float, ...] | None) -> None:
    scene.push()
    steps = scene.frame.steps
    if matrix != (1.0, 0.0, 0.0, 1.0, 0.0, 0.0):
        scene.ctm = times(scene.ctm, matrix)
        steps.append(b" ".join(map(figure, matrix)) + b" cm")
    if box is None:
        return
    x0, x1 = sorted((box[0], box[2]))
    y0, y1 = sorted((box[1], box[3]))
    reach = moved_box(scene.ctm, (x0, y0, x1, y1))
    upright = scene.ctm[1] == scene.ctm[2] == 0.0 or scene.ctm[0] == scene.ctm[3] == 0.0
    if not (upright and scene.covers(reach)):
        steps.append(b" ".join(map(figure, (x0, y0, x1 - x0, y1 - y0))) + b" re W n")
    scene.narrow(reach)


def _draw_kept(
    scene: ContentScene,
    name: bytes,
    form: StreamObject,
    known: tuple[PdfObject | None, Matrix, tuple[float, ...] | None],
    whole: Whole,
) -> None:
    if scene.hidden:
        return
    raw, matrix, box = known
    drawn = Drawn(scene, ItemKind.OTHER, ALL, b"")
    placed = times(scene.ctm, matrix)
    drawn.box = moved_box(placed, box) if box else scene.clip  # type: ignore[arg-type]
    for resources in _all_resources(form):
        for pattern in _shown(resources, "/Pattern"):
            check_fineness(pattern, placed, common(scene.clip, drawn.box))
    if _uses_layers(form):
        label = scene.merger.name("/XObject", _without_layers(scene, form, placed, whole), name)
    else:
        label = scene.merger.name("/XObject", raw if raw is not None else form, name)
    drawn.paint = label + b" Do"
    scene.add(drawn)


def _without_layers(scene: ContentScene, form: StreamObject, placed: Matrix, whole: Whole) -> PdfObject:
    """The form with its hidden layers taken out: read as a page of its own and written anew."""
    fresh = DecodedStreamObject()
    for key in ("/Type", "/Subtype", "/BBox", "/Matrix", "/Group"):
        if key in form:
            fresh[NameObject(key)] = scene.merger.copy(form.raw_get(key))
    content, resources = whole(scene, form, placed)
    fresh.set_data(content)
    fresh[NameObject("/Resources")] = resources
    return scene.merger.host._add_object(fresh)


def keeps_whole(scene: ContentScene, form: StreamObject) -> bool:
    """Whether drawing the form's objects one by one could look different from drawing it as one.

    A group that is painted opaquely, and in which nothing is blended or masked, looks like its objects (over is
    associative). A pattern lies relative to the form it is used in.
    """
    group = resolved(form.get("/Group"))
    transparent = isinstance(group, DictionaryObject) and word(group.get("/S")) == "/Transparency"
    if transparent:
        now = scene.extended.get(scene.state[Param.EXTENDED], {})
        if scene.masked or any(not _harmless(key, value) for key, value in now.items()):
            return True
        if isinstance(group, DictionaryObject) and str(resolved(group.get("/K"))).lower() == "true":
            return True
    for resources in _all_resources(form):
        if resources.get("/Pattern") is not None and _shown(resources, "/Pattern"):
            return True
        if _other_defaults(scene, resources):
            return True
        for state in _shown(resources, "/ExtGState"):
            if isinstance(resolved(state.get("/SMask")), DictionaryObject):
                return True
            blended = word(state.get("/BM")) not in ("", "/Normal", "/Compatible")
            if transparent and blended:
                return True
            if transparent and isinstance(group, DictionaryObject) and _odd_space(group) and _see_through(state):
                return True
    return False


def _see_through(state: DictionaryObject) -> bool:
    return any(number(str(resolved(state.get(key)) or 1).encode()) < 1 for key in ("/CA", "/ca"))


def _odd_space(group: DictionaryObject) -> bool:
    return word(group.get("/CS")) not in ("", "/DeviceRGB", "/DeviceGray")


def _harmless(key: str, value: PdfObject) -> bool:
    if key in ("/CA", "/ca"):
        return number(str(resolved(value)).encode()) >= 1
    return key != "/BM" or word(value) in ("/Normal", "/Compatible")


_DEFAULT_SPACES: Final = ("/DefaultGray", "/DefaultRGB", "/DefaultCMYK")


def _other_defaults(scene: ContentScene, resources: DictionaryObject) -> bool:
    spaces = resolved(resources.get("/ColorSpace"))
    if not isinstance(spaces, DictionaryObject):
        return False
    page = scene.merger.dictionary.get("/ColorSpace", {})
    return any(name in spaces and name not in page for name in _DEFAULT_SPACES)


def _shown(resources: DictionaryObject, category: str) -> Iterator[DictionaryObject]:
    group = resolved(resources.get(category))
    if isinstance(group, DictionaryObject):
        for key in group:
            value = resolved(group.raw_get(key))
            if isinstance(value, DictionaryObject):
                yield value


def _all_resources(form: StreamObject) -> Iterator[DictionaryObject]:
    """The resources of a form; those of forms inside are looked at when they are drawn."""
    resources = resolved(form.get("/Resources"))
    if isinstance(resources, DictionaryObject):
        yield resources


def _uses_layers(form: StreamObject) -> bool:
    """Whether anything inside belongs to an optional content group."""
    waiting: list[DictionaryObject] = [form]
    seen: set[int] = set()
    while waiting and len(seen) < _LOOKED:
        current = waiting.pop()
        resources = resolved(current.get("/Resources"))
        if not isinstance(resources, DictionaryObject):
            continue
        if any(word(p.get("/Type")) in ("/OCG", "/OCMD") for p in _shown(resources, "/Properties")):
            return True
        for inner in _shown(resources, "/XObject"):
            if "/OC" in inner:
                return True
            if id(inner) not in seen:
                seen.add(id(inner))
                waiting.append(inner)
    return len(seen) >= _LOOKED


def open_layer(scene: ContentScene, owner: PdfObject | None) -> None:
    """Content that follows belongs to an optional content group (or to none)."""
    hides = owner is not None and not scene.choice.shows(owner)
    scene.marked.append(Marked(scene.layer, scene.mark, hides))
    scene.hidden += hides
    if owner is not None:
        scene.layer = scene.choice.name(owner) or scene.layer


def close_marked(scene: ContentScene) -> None:
    """EMC; one without its beginning is passed over."""
    if len(scene.marked) <= scene.marked_floor:
        scene.repairs.add("EMC without its beginning")
        return
    last = scene.marked.pop()
    scene.layer, scene.mark = last.layer, last.mark
    scene.hidden -= last.hides
