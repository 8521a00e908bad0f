"""The clip-path property: which region of the sheet an element may be seen in."""

from __future__ import annotations

from dataclasses import replace

from lxml import etree

from tiling.pattern import FindingKind
from tiling.reading.svg_clips import Clip, clip_from, common_clip
from tiling.reading.svg_file import DEEPEST, SvgFile, on_sheet
from tiling.reading.svg_guard import local_name
from tiling.reading.svg_paint import reference
from tiling.reading.svg_scene import SvgScene
from tiling.reading.svg_shapes import SHAPES
from tiling.reading.svg_units import ElementFault, number
from tiling.shapes import Affine, Path

__all__ = ["clipped"]


def clipped(file: SvgFile, element: etree._Element, text: str, scene: SvgScene) -> SvgScene | None:
    """The element's scene with its ``clip-path`` applied; None when nothing of it can be seen.

    Raises:
        ElementFault: clips are nested without end, or hold unfit numbers.
    """
    ident = reference(text)
    target = file.ids.get(ident) if ident else None
    if target is None or local_name(target) != "clipPath":
        kind = FindingKind.MASK_NOT_DRAWN if ident is None else FindingKind.REFERENCE_MISSING
        file.note(kind, "A clip is not in the file or not an outline; nothing was cut off.", element)
        return scene
    to_sheet = scene.to_sheet
    if target.get("clipPathUnits") == "objectBoundingBox":
        outline = file.outline(element, {}, scene) if local_name(element) in SHAPES else None
        if outline is None:
            words = "A clip sized by a group's extent is not applied; nothing was cut off."
            file.note(FindingKind.MASK_NOT_DRAWN, words, element)
            return scene
        box = outline.bounds()
        to_sheet = to_sheet @ Affine(box.width, 0.0, 0.0, box.height, box.x0, box.y0)
    clip = common_clip(scene.clip, _region(file, target, replace(scene, to_sheet=to_sheet)))
    return None if clip.is_empty else replace(scene, clip=clip)


def _region(file: SvgFile, target: etree._Element, scene: SvgScene) -> Clip:
    """The region of a clipPath: shapes and copies of shapes in it, and its own clip."""
    if scene.depth > DEEPEST:
        raise ElementFault("its clips are nested without end")
    own = file.cascade.declared(target)
    base = replace(scene, to_sheet=file.placed(target, own, scene.to_sheet), depth=scene.depth + 10)
    parts = [part for child in target if (part := _part(file, child, own, base)) is not None]
    clip = clip_from(parts)
    nested = reference(own.get("clip-path"))
    inner = file.ids.get(nested) if nested else None
    if inner is not None and local_name(inner) == "clipPath":
        return common_clip(clip, _region(file, inner, base))
    return clip


def _part(file: SvgFile, child: etree._Element, own: dict[str, str], base: SvgScene) -> tuple[Path, bool] | None:
    """One shape of a clip on the sheet, and whether its rule is even-odd."""
    declared = file.cascade.declared(child)
    to_sheet = file.placed(child, declared, base.to_sheet)
    shape: etree._Element | None = child
    if local_name(child) == "use":
        to_sheet = to_sheet @ Affine.shift(number(child.get("x"), 0.0), number(child.get("y"), 0.0))
        shape = file.linked(child)
        if shape is not None:
            to_sheet = file.placed(shape, {}, to_sheet)
    if shape is None or declared.get("display") == "none":
        return None
    if local_name(shape) not in SHAPES:
        if local_name(shape) in {"text", "g"}:
            file.note(FindingKind.MASK_NOT_DRAWN, "Text or a group used as a clip is not applied.", child)
        return None
    path = file.outline(shape, declared, replace(base, to_sheet=to_sheet))
    rule = {**own, **file.cascade.declared(shape), **declared}.get("clip-rule", "nonzero")
    return None if path is None else (on_sheet(path, to_sheet), rule.strip() == "evenodd")
