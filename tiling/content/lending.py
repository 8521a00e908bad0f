"""Forms without resources of their own, with those of the stream that draws them (ISO 32000-2, 7.8.3)."""

from __future__ import annotations

from pypdf.generic import DictionaryObject, NameObject, StreamObject

from tiling.content.scene import ContentScene
from tiling.content.streams import decoded, resolved, word

__all__ = ["lend_resources"]


def lend_resources(scene: ContentScene, form: StreamObject) -> StreamObject:
    """The form with those resources in force that its content names: what is written has it in another stream.

    The same one for the same form and resources.
    """
    key = id(form), id(scene.resources)
    if key in scene.lent:
        return scene.lent[key][-1]
    content = _content(form, scene.resources)
    lent = DictionaryObject()
    for category in scene.resources:
        group = resolved(scene.resources.get(category))
        if isinstance(group, DictionaryObject):
            used = [name for name in group if _written(name) in content]
            if used:
                lent[NameObject(category)] = DictionaryObject({NameObject(name): group.raw_get(name) for name in used})
    made = form.__class__()
    made._data = form._data
    for name in form:
        made[NameObject(name)] = form.raw_get(name)
    made[NameObject("/Resources")] = lent
    scene.lent[key] = form, scene.resources, made  # these too, so that no others get their ids
    return made


def _content(form: StreamObject, resources: DictionaryObject) -> bytes:
    """What the form draws, with what the forms without resources draw that it names, and so on."""
    parts: list[bytes] = []
    forms = resolved(resources.get("/XObject"))
    left = dict(forms) if isinstance(forms, DictionaryObject) else {}
    waiting = [form]
    while waiting:
        content, _ = decoded(waiting.pop())
        parts.append(content)
        for name in [name for name in left if _written(name) in content]:
            inner = resolved(left.pop(name))
            if isinstance(inner, StreamObject) and word(inner.get("/Subtype")) == "/Form" and "/Resources" not in inner:
                waiting.append(inner)
    return b"\n".join(parts)


def _written(name: str) -> bytes:
    return name.encode("latin-1", "replace")
