"""Walking an SVG's elements in drawing order and collecting marks in mm.

svglib, on whose parsing libraries (lxml, tinycss2, cssselect2) this stands, draws circles and arcs with one cubic per
quarter (0.14 mm off at a radius of 500 mm), shifts points of closed outlines that end where they began, and drops ids
and classes; so the conversion of shapes is our own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from lxml import etree

from calibrate.printable import printable, single_spaced
from calibrate.run import Run
from tiling.failures import InputUnfit
from tiling.pattern import FindingKind, Line, Mark, Role, Tag, unused_name
from tiling.reading.options import ReadOptions
from tiling.reading.svg_cascade import Computed
from tiling.reading.svg_clipping import clipped
from tiling.reading.svg_clips import clip_from, common_clip
from tiling.reading.svg_dots import with_dots
from tiling.reading.svg_file import DEEPEST, LIMIT, SvgFile, on_sheet, open_svg
from tiling.reading.svg_guard import SvgSource, local_name, where_of
from tiling.reading.svg_marker import MARKED, markers_of
from tiling.reading.svg_paint import Painter, opacity_of, takes_context
from tiling.reading.svg_path import MOST_POINTS
from tiling.reading.svg_picture import picture_of
from tiling.reading.svg_scene import PIECE_CLASS, SvgScene, classes_of, conditions_hold, port_of, tagged, title_of
from tiling.reading.svg_shapes import SHAPES
from tiling.reading.svg_size import RealSize, fit_into, view_box
from tiling.reading.svg_text import holds_text, labels_of
from tiling.reading.svg_units import Axis, ElementFault, Lengths
from tiling.shapes import Affine, Box, Path
from tiling.style import Style

__all__ = ["Walker"]

_MOST_COPIED = 50_000

_SILENT = frozenset(
    {
        "defs",
        "title",
        "desc",
        "metadata",
        "style",
        "linearGradient",
        "radialGradient",
        "pattern",
        "hatch",
        "clipPath",
        "mask",
        "filter",
        "marker",
        "symbol",
        "view",
        "cursor",
        "color-profile",
        "font",
        "font-face",
        "solidcolor",
        "tspan",
        "stop",
    }
)
_NOT_DRAWN = {
    "script": (FindingKind.SCRIPT_DROPPED, "A script in the drawing is not run."),
    "foreignObject": (FindingKind.ELEMENT_UNKNOWN, "Content of another kind (foreignObject) is not drawn."),
    **dict.fromkeys(
        ("animate", "animateTransform", "animateMotion", "animateColor", "set", "mpath", "discard"),
        (FindingKind.SCRIPT_DROPPED, "An animation is not played; it is drawn as without it."),
    ),
}

_NOT_APPLIED = {
    "mask": (FindingKind.MASK_NOT_DRAWN, "A mask is not applied; what it hides is drawn."),
    "filter": (FindingKind.FILTER_NOT_DRAWN, "A filter effect is not drawn; its lines are drawn without it."),
    "transform-origin": (
        FindingKind.STYLE_NOT_READ,
        "A transform-origin is not applied; the transform turns about 0, 0.",
    ),
    "mix-blend-mode": (FindingKind.STYLE_NOT_READ, "Blending of colours is not applied; the colour is drawn as it is."),
    "text-decoration": (FindingKind.STYLE_NOT_READ, "A line under, over or through text is not drawn."),
    "text-decoration-line": (FindingKind.STYLE_NOT_READ, "A line under, over or through text is not drawn."),
    "writing-mode": (FindingKind.STYLE_NOT_READ, "Vertical text is written from left to right."),
}
"""Properties that change what is seen and are not read."""

_OF_TEXT = ("text-decoration", "text-decoration-line", "writing-mode")

_HARMLESS = frozenset({"", "none", "normal", "initial", "unset", "inherit", "0", "0 0", "0px 0px", "lr", "lr-tb",
                       "horizontal-tb"})  # fmt: skip


_Draw = Callable[[etree._Element, dict[str, str], SvgScene], None]

_TELL_EVERY = 2_000  # elements


class Walker:
    """One pass over one file; `marks`, `titles` (by piece) and the file's log hold what was found."""

    def __init__(self, source: SvgSource, size: RealSize, options: ReadOptions, run: Run) -> None:
        self.svg: SvgFile = open_svg(source)
        self.marks: list[Mark] = []
        self.titles: dict[str, str] = {}
        self._options = options
        self._run = run
        self._size = size
        self._elements = sum(1 for _ in self.svg.root.iter())
        self._told = 0
        self._copied = 0
        self._points = 0
        self._styles: dict[tuple[int, float, float, float], tuple[Computed, Style]] = {}
        self._kinds: dict[str, _Draw] = {
            **dict.fromkeys(("g", "a"), self._group),
            **dict.fromkeys(SHAPES, self._shape),
            "svg": self._nested,
            "use": self._use,
            "switch": self._switch,
            "text": self._text,
            "image": self._image,
        }

    def run(self) -> None:
        """Read the whole drawing.

        Raises:
            InputUnfit: an element is unfit (named), nesting or `use` go on without end.
            Cancelled: the run is to end.
        """
        size, root = self._size, self.svg.root
        lengths = Lengths(size.view.width, size.view.height, size.px_per_inch or 96.0)
        painter = Painter(self.svg.ids, self.svg.cascade, self.svg.log)
        scene = SvgScene(size.to_sheet, {}, lengths, painter)
        declared = self.svg.cascade.declared(root)
        style = self.svg.cascade.computed({}, declared, lengths)
        lengths = replace(lengths, root_font=float(style.get("font-size", 16.0)))
        scene = replace(scene, style=style, lengths=lengths, opacity=opacity_of(declared.get("opacity")))
        if declared.get("display") == "none":
            return
        text = declared.get("clip-path", "none")
        inside = scene if text == "none" else clipped(self.svg, root, text, scene)
        if inside is not None:
            self._children(root, inside)

    def _children(self, element: etree._Element, scene: SvgScene) -> None:
        inside = _deeper(scene)
        for child in element:
            self.walk(child, inside)

    def walk(self, element: etree._Element, scene: SvgScene) -> None:
        """Draw one element and all in it."""
        self._told += 1
        if self._told % _TELL_EVERY:
            self._run.check()
        else:
            self._run.step("Reading, element", min(self._told, self._elements), self._elements)
        name = local_name(element)
        if not name:
            return
        if scene.followed:
            self._count_copy()
        draw = self._kinds.get(name)
        if draw is None:
            self._not_drawn(element, name)
            return
        try:
            self._draw(element, scene, draw)
        except ElementFault as fault:
            raise InputUnfit(f"{self.svg.file.name}: {where_of(element)}: {fault}.") from None
        except (OverflowError, ZeroDivisionError):
            words = "its numbers are too large or too small to draw"
            raise InputUnfit(f"{self.svg.file.name}: {where_of(element)}: {words}.") from None

    def _count_copy(self) -> None:
        """Copies of copies grow without end; what is drawn once is limited by the file itself."""
        self._copied += 1
        if self._copied > _MOST_COPIED:
            raise InputUnfit(
                f"{self.svg.file.name}: its copied elements and line ends repeat one another to more than"
                f" {_MOST_COPIED:,} elements; draw them without copies."
            )

    def _draw(self, element: etree._Element, scene: SvgScene, draw: _Draw) -> None:
        declared = self.svg.cascade.declared(element)
        layer = element in self.svg.book.names
        if declared.get("display") == "none" and not layer:
            return
        if not conditions_hold(element):
            self._note_condition(element)
            return
        inside = self._entered(element, declared, scene)
        if inside is not None:
            draw(element, declared, inside)

    def _entered(self, element: etree._Element, declared: dict[str, str], scene: SvgScene) -> SvgScene | None:
        """The scene of the element itself; None when nothing of it can be seen."""
        style = self.svg.cascade.computed(scene.style, declared, scene.lengths) if declared else scene.style
        to_sheet = self.svg.placed(element, declared, scene.to_sheet)
        if abs(to_sheet.determinant) < 1e-18:
            return None
        tag = tagged(element, scene.tag) if element.attrib else scene.tag
        if PIECE_CLASS in classes_of(element):
            tag = self._piece(element, tag)
        opacity = scene.opacity
        if "opacity" in declared:
            opacity *= opacity_of(declared["opacity"])
            if opacity != scene.opacity and len(element) > 1:
                words = "A group's transparency is given to each line in it, so overlaps show through."
                self.svg.note(FindingKind.GROUP_OPACITY_SPREAD, words, element)
        inside = SvgScene(
            to_sheet,
            style,
            scene.lengths,
            scene.painter,
            opacity,
            tag,
            scene.clip,
            scene.muted,
            scene.depth,
            scene.followed,
        )
        inside = self.svg.book.entered(element, inside, self._options.layers)
        self._note_not_applied(element, declared)
        text = declared.get("clip-path", "none")
        return inside if text == "none" else clipped(self.svg, element, text, inside)

    def _note_condition(self, element: etree._Element) -> None:
        words = "What is meant for readers of another language than English, or for another program, is not drawn."
        self.svg.note(FindingKind.ELEMENT_UNKNOWN, words, element)

    def _note_not_applied(self, element: etree._Element, declared: dict[str, str]) -> None:
        for name, told in _NOT_APPLIED.items():
            if declared.get(name, "").strip() not in _HARMLESS and (name not in _OF_TEXT or holds_text(element)):
                self.svg.note(*told, element)

    def _piece(self, element: etree._Element, tag: Tag) -> Tag:
        joined = element.get("data-piece")
        if joined and joined in self.titles:
            return replace(tag, piece=joined)
        ident = joined or element.get("id") or f"piece-{len(self.titles) + 1}"
        unique = unused_name(ident, self.titles)
        self.titles[unique] = single_spaced(element.get("data-title") or "") or title_of(element) or unique
        return replace(tag, piece=unique)

    def _not_drawn(self, element: etree._Element, name: str) -> None:
        if not name or name in _SILENT:
            return
        kind, text = _NOT_DRAWN.get(
            name, (FindingKind.ELEMENT_UNKNOWN, f"The element <{name[:30]}> is not known and not drawn.")
        )
        self.svg.note(kind, text, element)

    # Containers

    def _group(self, element: etree._Element, _declared: dict[str, str], scene: SvgScene) -> None:
        self._children(element, scene)

    def _switch(self, element: etree._Element, _declared: dict[str, str], scene: SvgScene) -> None:
        for child in element:
            if local_name(child) and local_name(child) not in _SILENT and conditions_hold(child):
                self.walk(child, replace(scene, depth=scene.depth + 1))
                return
        self._note_condition(element)

    def _nested(self, element: etree._Element, declared: dict[str, str], scene: SvgScene) -> None:
        self._viewport(element, declared, scene, {})

    def _viewport(
        self, element: etree._Element, declared: dict[str, str], scene: SvgScene, sizes: dict[str, str]
    ) -> None:
        """The content of an element with a view box of its own; `sizes` of its copy come before its own."""
        port = port_of(element, declared, scene, sizes)
        if port is None:
            return
        view = view_box(element) or Box(0.0, 0.0, port.width, port.height)
        inner = scene.to_sheet @ fit_into(view, port, element.get("preserveAspectRatio"))
        clip = scene.clip
        if declared.get("overflow", "hidden") not in {"visible", "auto"}:
            window = on_sheet(Path.rectangle(port), scene.to_sheet)
            clip = common_clip(clip, clip_from([(window, False)]))
        lengths = replace(scene.lengths, width=view.width, height=view.height)
        self._children(element, replace(scene, to_sheet=inner, clip=clip, lengths=lengths))

    def _use(self, element: etree._Element, declared: dict[str, str], scene: SvgScene) -> None:
        link, target = self.svg.link(element), self.svg.linked(element)
        if target is None:
            shown = printable(link, "")[:60]
            text = (
                f"A copy of '{shown}' is asked for, which is not in the file."
                if link.startswith("#")
                else "A copy of something in another file is asked for; other files are never read."
            )
            self.svg.note(FindingKind.REFERENCE_MISSING, text, element)
            return
        if link in scene.followed or target in element.iterancestors():
            self.svg.note(FindingKind.REFERENCE_MISSING, "A copy that would hold itself is not drawn.", element)
            return
        scene = _deeper(scene)
        x = scene.length(declared.get("x") or element.get("x"), Axis.X)
        y = scene.length(declared.get("y") or element.get("y"), Axis.Y)
        painter, place = scene.painter.within(scene.style), scene.to_sheet @ Affine.shift(x, y)
        scene = replace(scene, to_sheet=place, painter=painter, followed=(*scene.followed, link))
        if local_name(target) in {"symbol", "svg"}:
            self._symbol(element, target, scene)
        else:
            self.walk(target, scene)

    def _symbol(self, element: etree._Element, target: etree._Element, scene: SvgScene) -> None:
        declared = self.svg.cascade.declared(target)
        inside = self._entered(target, declared, scene)
        if inside is not None:
            sizes = {name: size for name in ("width", "height") if (size := element.get(name))}
            self._viewport(target, declared, inside, sizes)

    # What is drawn

    def _shape(self, element: etree._Element, declared: dict[str, str], scene: SvgScene) -> None:
        for child in element:
            self._not_drawn(child, local_name(child))
        outline = self.svg.outline(element, declared, scene)
        if outline is None or scene.muted:
            return
        path = on_sheet(outline, scene.to_sheet)
        if scene.visible:
            scale = scene.scale
            if declared.get("vector-effect") == "non-scaling-stroke":
                scale = 25.4 / (self._size.px_per_inch or 96.0)
            style = self._style(scene, scale)
            path = with_dots(path, style.stroke, scene.to_sheet)
            if style.stroke is not None and _is_uneven(scene.to_sheet):
                words = "A line's width is stretched unevenly by a transform; it is drawn with the mean width."
                self.svg.note(FindingKind.STYLE_NOT_READ, words, element)
            drawn = style.stroke is not None or style.fill is not None or scene.tag.role is not Role.PLAIN
            if drawn and len(path.ops):
                self.emit(Line(path, style, scene.tag), scene)
        if local_name(element) in MARKED:
            for marker, inside in markers_of(self.svg, outline, element, scene):
                self._children(marker, inside)

    def _style(self, scene: SvgScene, scale: float) -> Style:
        """The shape's style; equal surroundings share one value."""
        key = (id(scene.style), scale, scene.opacity, scene.lengths.width + scene.lengths.height)
        known = self._styles.get(key)
        if known is None or takes_context(scene.style):
            style = scene.painter.style(scene.style, scene.lengths, scale, scene.opacity)
            known = self._styles[key] = (scene.style, style)
        return known[1]

    def _text(self, element: etree._Element, _declared: dict[str, str], scene: SvgScene) -> None:
        if scene.muted:
            return
        for label in labels_of(self.svg, element, scene):
            self.emit(label, scene)

    def _image(self, element: etree._Element, declared: dict[str, str], scene: SvgScene) -> None:
        if scene.muted or not scene.visible:
            return
        port = port_of(element, declared, scene, {})
        picture = picture_of(self.svg, element, port, scene)
        if picture is not None:
            self.emit(picture, scene)

    def emit(self, mark: Mark, scene: SvgScene) -> None:
        """Keep a mark, cut to the clip around it where that cuts anything."""
        clip = scene.clip
        if clip is not None or not isinstance(mark, Line):
            reach = mark.reach()
            if not max(map(abs, (reach.x0, reach.y0, reach.x1, reach.y1))) <= LIMIT:
                raise ElementFault(f"lies farther out than {LIMIT / 1000:g} m or is not finite")
        if clip is not None:
            if not clip.reaches(reach):
                return
            if not clip.holds_all(reach):
                mark = replace(mark, clip=clip.path)
        if isinstance(mark, Line):
            if mark.style.stroke is not None and not mark.style.stroke.width <= LIMIT:
                raise ElementFault(f"has a line wider than {LIMIT / 1000:g} m")
            self._points += len(mark.path.points)
            if self._points > MOST_POINTS:
                raise ElementFault(f"is where the drawing passes {MOST_POINTS:,} points; simplify it or split it")
        self.marks.append(mark)


def _deeper(scene: SvgScene) -> SvgScene:
    """The scene inside one more element."""
    if scene.depth > DEEPEST:
        raise ElementFault(f"is nested more than {DEEPEST} levels deep; ungroup it and save again")
    return replace(scene, depth=scene.depth + 1)


def _is_uneven(move: Affine) -> bool:
    """Whether lengths across and along grow by factors more than a tenth apart."""
    most = move.stretch
    return most * most > 1.1 * abs(move.determinant)
