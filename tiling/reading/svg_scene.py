"""What an SVG element takes over from those around it, where it is shown, and which layers and roles it belongs to."""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace

from lxml import etree

from calibrate.printable import single_spaced
from tiling.pattern import Layer, Role, Tag, layers_by_name
from tiling.reading.svg_cascade import Cascade, Computed
from tiling.reading.svg_clips import Clip
from tiling.reading.svg_guard import local_name
from tiling.reading.svg_paint import Painter
from tiling.reading.svg_units import Axis, Lengths
from tiling.shapes import Affine, Box

__all__ = [
    "PIECE_CLASS",
    "LayerBook",
    "SvgScene",
    "classes_of",
    "conditions_hold",
    "find_layers",
    "port_of",
    "tagged",
    "title_of",
]

PIECE_CLASS = "piece"
_OWN_DATA = frozenset({"data-name", "data-title", "data-piece"})
_ROLES = {role.value: role for role in Role if role.value}
# Open conventions of vector editors: a group's mode and its label, in an attribute name space.
_MODE = re.compile(r"\{[^}]*\}groupmode")
_LABEL = re.compile(r"\{[^}]*\}label")
_CODED = re.compile(r"_x([0-9A-Fa-f]{2,6})_")


@dataclass(frozen=True, slots=True)
class SvgScene:
    """The surroundings of an element.

    Attributes:
        to_sheet: from its user units to mm on the sheet.
        style: inherited properties.
        lengths: the viewport for per cent lengths.
        painter: gives colours (a marker's content has its own).
        opacity: of all groups around it, multiplied.
        tag: piece, role, name and layer so far.
        clip: what may be seen.
        muted: its layer isn't to be drawn, but one inside it may be.
        depth: how many elements it lies in.
        followed: ids of the ``use`` elements being followed.
    """

    to_sheet: Affine
    style: Computed
    lengths: Lengths
    painter: Painter
    opacity: float = 1.0
    tag: Tag = field(default_factory=Tag)
    clip: Clip | None = None
    muted: bool = False
    depth: int = 0
    followed: tuple[str, ...] = ()

    @property
    def font(self) -> float:
        """The font size in user units."""
        return float(self.style.get("font-size", 16.0))

    def length(self, text: str | None, axis: Axis, default: float = 0.0) -> float:
        """A length in user units, or the default when missing or unreadable."""
        return self.lengths.length(text, axis, default, self.font)

    @property
    def scale(self) -> float:
        """Mm per user unit: the root of the area factor."""
        return math.sqrt(abs(self.to_sheet.determinant))

    @property
    def visible(self) -> bool:
        """Whether the ``visibility`` property lets it be seen."""
        return self.style.get("visibility", "visible").strip() not in {"hidden", "collapse"}


def classes_of(element: etree._Element) -> list[str]:
    """The element's classes in the order written."""
    return (element.get("class") or "").split()


def title_of(element: etree._Element) -> str:
    """What the element's ``<title>`` says, on one line."""
    return single_spaced(next(("".join(child.itertext()) for child in element if local_name(child) == "title"), ""))


def tagged(element: etree._Element, tag: Tag) -> Tag:
    """The tag of an element inside something tagged `tag`; a nearer role or name replaces a farther one."""
    attributes = element.attrib
    ident = attributes.get("id", "")
    role = (
        next((_ROLES[c] for c in classes_of(element) if c in _ROLES), tag.role) if "class" in attributes else tag.role
    )
    name = attributes.get("data-name", tag.name)
    said = {
        key[5:]: value
        for key, value in attributes.items()
        if isinstance(key, str) and key.startswith("data-") and key not in _OWN_DATA
    }
    extra = tuple(sorted({**dict(tag.extra), **said}.items())) if said else tag.extra
    return Tag(tag.piece, role, name, tag.layer, ident, extra)


@dataclass(frozen=True, slots=True)
class LayerBook:
    """The layers of a file: which group is which layer, and which the file hides."""

    names: Mapping[etree._Element, str]
    hidden: Collection[etree._Element]

    @property
    def layers(self) -> tuple[Layer, ...]:
        """Each name once, in drawing order; shown when any of its groups is."""
        return layers_by_name(Layer(name, element not in self.hidden) for element, name in self.names.items())

    def entered(self, element: etree._Element, scene: SvgScene, picked: Collection[str]) -> SvgScene:
        """The scene inside a group: renamed when it is a layer, muted when that isn't drawn."""
        name = self.names.get(element)
        if name is None:
            return scene
        hidden = element in self.hidden
        style = scene.style
        if name in picked:
            muted = False
            style = {**style, "visibility": "visible"} if hidden else style
        elif picked:
            muted = (scene.muted or hidden) if scene.tag.layer else True
        else:
            muted = scene.muted or hidden
        return replace(scene, tag=replace(scene.tag, layer=name), muted=muted, style=style)


def find_layers(root: etree._Element, cascade: Cascade) -> LayerBook:
    """The layers: groups that say so wherever they are, and plain top-level groups with an id."""
    names: dict[etree._Element, str] = {}
    hidden = set()
    for group in root.iter("{*}g", "g"):
        if local_name(group) != "g":
            continue
        marked = any(isinstance(k, str) and _MODE.fullmatch(k) and v == "layer" for k, v in group.attrib.items())
        roles = {PIECE_CLASS, *_ROLES} & set(classes_of(group))
        if not marked and (group.getparent() is not root or roles):
            continue
        name = _layer_name(group)
        if not name:
            continue
        names[group] = name
        declared = cascade.declared(group)
        if declared.get("display") == "none" or declared.get("visibility") in {"hidden", "collapse"}:
            hidden.add(group)
    return LayerBook(names, hidden)


def _layer_name(group: etree._Element) -> str:
    label = next((v for k, v in group.attrib.items() if isinstance(k, str) and _LABEL.fullmatch(k)), "")
    # Some programs code what an id may not hold as _x20_.
    text = label or _CODED.sub(lambda m: _character(int(m[1], 16)), group.get("id") or "")
    return single_spaced(text)


def _character(code: int) -> str:
    return chr(code) if code < 0x110000 and not 0xD800 <= code < 0xE000 else "\ufffd"


def conditions_hold(element: etree._Element) -> bool:
    """Conditional processing (SVG 2, section 5.8): nothing beyond SVG itself is understood, and English is spoken."""
    if element.get("requiredExtensions") is not None:
        return False
    languages = element.get("systemLanguage")
    words = None if languages is None else [word.strip().lower().partition("-")[0] for word in languages.split(",")]
    return words is None or "en" in words


def port_of(element: etree._Element, declared: dict[str, str], scene: SvgScene, sizes: dict[str, str]) -> Box | None:
    """Where a nested drawing or picture is shown, in user units; None when it has no area. `sizes` come first."""

    def text(name: str) -> str | None:
        found = sizes.get(name) or declared.get(name) or element.get(name)
        return None if found == "auto" else found

    whole = local_name(element) != "image"
    x, y = scene.length(text("x"), Axis.X), scene.length(text("y"), Axis.Y)
    width = scene.length(text("width"), Axis.X, scene.lengths.width if whole else 0.0)
    height = scene.length(text("height"), Axis.Y, scene.lengths.height if whole else 0.0)
    if width < 0 or height < 0 or (whole and (width == 0 or height == 0)):
        return None
    return Box(x, y, x + width, y + height)
