"""The clip-path property: which region of the sheet an element may be seen in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lxml import etree

from tiling.pattern import FindingKind
from tiling.reading.svg_clips import Clip, clip_from, common_clip
from tiling.reading.svg_file import DEEPEST, SvgFile, on_sheet
from tiling.reading.svg_guard import local_name
from tiling.reading.svg_paint import reference
from tiling.reading.svg_scene import SvgScene, conditions_hold
from tiling.reading.svg_shapes import SHAPES
from tiling.reading.svg_text import labels_of
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
    """The region of a clipPath: shapes, texts and copies of them in it, less what its own clip takes away."""
    own = file.cascade.declared(target)
    base = replace(scene, to_sheet=file.placed(target, own, scene.to_sheet))
    return _narrowed(file, own, base, clip_from([part for child in target for part in _parts(file, child, base)]))


def _narrowed(file: SvgFile, declared: dict[str, str], scene: SvgScene, clip: Clip) -> Clip:
    """What is left of a region within the clip that its own element has."""
    nested = reference(declared.get("clip-path"))
    inner = file.ids.get(nested) if nested else None
    if inner is None or local_name(inner) != "clipPath":
        return clip
    if scene.depth > DEEPEST:
        raise ElementFault("its clips are nested without end")
    return common_clip(clip, _region(file, inner, replace(scene, depth=scene.depth + 10)))


def _parts(file: SvgFile, child: etree._Element, base: SvgScene) -> Sequence[tuple[Path, bool]]:
    """What one child of a clip lets be seen, on the sheet: paths, and whether their rule is even-odd."""
    declared = file.cascade.declared(child)
    style = file.style_at(child)
    scene = replace(base, to_sheet=file.placed(child, declared, base.to_sheet), style=style)
    shape: etree._Element | None = child
    outer = scene
    if local_name(child) == "use":
        scene = replace(scene, to_sheet=scene.to_sheet @ Affine.shift(*(number(child.get(side), 0.0) for side in "xy")))
        shape = file.linked(child)
        if shape is not None:
            inner = file.cascade.declared(shape)
            style = file.cascade.computed(style, inner, scene.lengths)
            scene = replace(scene, to_sheet=file.placed(shape, inner, scene.to_sheet), style=style)
            declared = {**inner, **declared} if "clip-path" not in inner else {**declared, **inner}
    if shape is None or "none" in (declared.get("display"), file.cascade.declared(shape).get("display")):
        return ()
    if not (scene.visible and conditions_hold(child) and conditions_hold(shape)):
        return ()
    found = _outlines(file, shape, scene)
    if not found or not reference(declared.get("clip-path")):
        return found
    return [(_narrowed(file, declared, outer, clip_from(found)).path, False)]


def _outlines(file: SvgFile, shape: etree._Element, scene: SvgScene) -> Sequence[tuple[Path, bool]]:
    """A shape's path or a text's letters on the sheet; nothing else can be part of a clip (SVG 2, CSS Masking 6.3)."""
    name = local_name(shape)
    if name in SHAPES:
        path = file.outline(shape, file.cascade.declared(shape), scene)
        rule = scene.style.get("clip-rule", "nonzero").strip()
        return () if path is None else [(on_sheet(path, scene.to_sheet), rule == "evenodd")]
    if name == "text":
        letters = replace(scene, style={**scene.style, "fill": "black", "stroke": "none"})
        return [(on_sheet(label.outline(), Affine()), False) for label in labels_of(file, shape, letters)]
    if name in {"g", "image", "svg", "symbol", "switch", "a", "foreignObject"}:
        words = "A clip of anything but shapes and text shows nothing, in any program; ungroup what is in the clip."
        file.note(FindingKind.MASK_NOT_DRAWN, words, shape)
    return ()
