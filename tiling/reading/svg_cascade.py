"""Which style applies to which element: presentation attributes, style sheets and inline styles of an SVG.

Order of precedence: CSS Cascading and Inheritance Level 4, section 6 (presentation attributes count as rules of no
specificity before all others: SVG 2, section 6.6). Selectors are matched by cssselect2, sheets parsed by tinycss2.
"""

from __future__ import annotations

import re
from collections.abc import Container, Iterable, Iterator, Mapping
from functools import lru_cache
from itertools import product
from typing import Any

import cssselect2
import tinycss2
from lxml import etree

from tiling.pattern import FindingKind
from tiling.reading.findings import FindingLog
from tiling.reading.svg_guard import local_name
from tiling.reading.svg_units import Axis, Lengths

__all__ = ["INHERITED", "Cascade", "Computed", "font_size"]

Computed = Mapping[str, str]
"""Inherited properties by name, as written; `font-size` in user units."""

INHERITED = frozenset(
    {
        "fill",
        "fill-opacity",
        "fill-rule",
        "stroke",
        "stroke-width",
        "stroke-opacity",
        "stroke-linecap",
        "stroke-linejoin",
        "stroke-miterlimit",
        "stroke-dasharray",
        "stroke-dashoffset",
        "visibility",
        "color",
        "font-family",
        "font-size",
        "font-style",
        "font-weight",
        "text-anchor",
        "clip-rule",
        "marker-start",
        "marker-mid",
        "marker-end",
        "letter-spacing",
        "word-spacing",
        "white-space",
        "direction",
        "writing-mode",
        "dominant-baseline",
    }
)
_GEOMETRY = frozenset(["x", "y", "width", "height", "cx", "cy", "r", "rx", "ry", "transform"])
_OWN = _GEOMETRY | frozenset(
    {
        "display",
        "opacity",
        "clip-path",
        "mask",
        "filter",
        "overflow",
        "vector-effect",
        "baseline-shift",
        "stop-color",
        "stop-opacity",
        "transform-origin",
        "mix-blend-mode",
        "text-decoration",
        "text-decoration-line",
    }
)
_SHORTHANDS = frozenset({"font", "marker"})
_KNOWN = INHERITED | _OWN | _SHORTHANDS
_FONT_SIZES = {
    "xx-small": 9.0, "x-small": 10.0, "small": 13.0, "medium": 16.0, "large": 18.0, "x-large": 24.0, "xx-large": 32.0,
}  # fmt: skip
"""CSS Fonts Level 4, section 2.5, with medium = 16 px."""

_Declaration = tuple[str, str, bool]

_MOST_STEPS = 10_000_000
"""From element to element while rules are matched: many times what any drawing needs."""


_LONGEST_SHEETS = 1_000_000
"""Letters of rules that may matter: sheets of real drawings have a tenth of that."""
_SHORT_SHEET = 50_000
_ONE_CLASS = re.compile(r"(?<![^};])\s*\.([A-Za-z][\w-]*)\s*\{[^{}\"'\\/@]*\}")
"""A rule for one class, as drawing programs write them by the thousand."""


class _TooManySteps(Exception):
    """The rules look at too many ancestors and neighbours."""


def _counted_steps() -> Any:
    """A kind of element wrapper that stops selectors which try every ancestor of every ancestor."""
    left = _MOST_STEPS

    def along(one: Any, step: str) -> list[Any]:
        nonlocal left
        found = []
        while (one := getattr(one, step)) is not None:
            found.append(one)
        left -= len(found) + 1
        if left < 0:
            raise _TooManySteps
        return found[::-1]

    class Counted(cssselect2.ElementWrapper):  # type: ignore[misc]
        """Counts the steps to ancestors and earlier neighbours."""

        @property
        def ancestors(self) -> list[Any]:
            """As the library's own, from the outermost."""
            return along(self, "parent")

        @property
        def previous_siblings(self) -> list[Any]:
            """As the library's own, from the first."""
            return along(self, "previous")

    return Counted


class Cascade:
    """The style rules of one file."""

    def __init__(self, root: etree._Element, log: FindingLog) -> None:
        self._log = log
        self._matcher = cssselect2.Matcher()
        self._ruled: dict[etree._Element, list[_Declaration]] = {}
        self._computed: dict[tuple[int, tuple[tuple[str, str], ...]], tuple[Computed, Computed]] = {}
        for sheet in self._sheets(root):
            self._add_sheet(sheet)
        if self._matcher.order:
            self._match_all(root)

    def _sheets(self, root: etree._Element) -> Iterator[str]:
        """The style sheets in the file, of long ones what can matter, in all no more than is read in a few seconds."""
        left = _LONGEST_SHEETS
        for element in root.iter("{*}style"):
            if local_name(element) != "style" or element.get("type", "text/css").strip().lower() not in {
                "",
                "text/css",
            }:
                continue
            sheet = "".join(element.itertext())
            if len(sheet) > _SHORT_SHEET:
                used = {name for one in root.iter() for name in (one.get("class") or "").split()}
                sheet = "".join(_used_rules(sheet, used))
            left -= len(sheet)
            if left < 0:
                self._note(f"The style sheets are longer than {_LONGEST_SHEETS:,} letters; the rest was left out.")
                return
            yield sheet

    def _note(self, text: str) -> None:
        self._log.add(FindingKind.STYLE_NOT_READ, text)

    def _add_sheet(self, text: str) -> None:
        try:
            self._add_rules(tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True))
        except RecursionError:
            self._note("A style sheet is nested too deeply to be read.")

    def _add_rules(self, rules: Iterable[Any]) -> None:
        for rule in rules:
            if rule.type == "at-rule":
                self._at_rule(rule)
            elif rule.type == "qualified-rule":
                declarations = _declarations(rule.content)
                try:
                    selectors = cssselect2.compile_selector_list(rule.prelude)
                except cssselect2.SelectorError:
                    text = tinycss2.serialize(rule.prelude).strip()[:60]
                    self._note(f"The style rule '{text}' can't be read and was left out.")
                    continue
                for selector in selectors:
                    self._matcher.add_selector(selector, declarations)
            elif rule.type == "error":
                self._note("Part of a style sheet can't be read and was left out.")

    def _at_rule(self, rule: Any) -> None:
        name = rule.lower_at_keyword
        if name == "media" and rule.content is not None:
            media = tinycss2.serialize(rule.prelude).lower()
            if "print" in media or "all" in media or not media.strip():
                content = tinycss2.parse_rule_list(rule.content, skip_comments=True, skip_whitespace=True)
                self._add_rules(content)
        elif name == "import":
            self._note("A style sheet outside the file is imported; it is never read.")
        elif name == "font-face":
            self._note("A font outside the file is named; it is never read.")
        elif name not in {"charset", "namespace", "page", "media", "keyframes", "-webkit-keyframes"}:
            self._note(f"The style sheet's @{name[:30]} was left out.")

    def _match_all(self, root: etree._Element) -> None:
        try:
            for wrapped in _counted_steps().from_xml_root(root).iter_subtree():
                matches = self._matcher.match(wrapped)
                if matches:
                    found = [d for _, _, pseudo, payload in matches if pseudo is None for d in payload]
                    self._ruled[wrapped.etree_element] = found
        except (_TooManySteps, RecursionError):
            self._note("A style rule looks at too many neighbours at once; some rules were left out.")

    def declared(self, element: etree._Element) -> dict[str, str]:
        """The element's own declarations, the winner of each property."""
        found = {name: value for name, value in element.attrib.items() if name in _KNOWN and name not in _GEOMETRY}
        rules = self._ruled.get(element, ())
        style = element.get("style")
        inline = self._inline(style) if style else ()
        if not rules and not inline:
            return found
        for wanted, said in product((False, True), (rules, inline)):
            found.update((name, value) for name, value, important in said if important is wanted)
        return _spread_shorthands(found)

    def _inline(self, style: str) -> tuple[_Declaration, ...]:
        try:
            return _inline(style)
        except RecursionError:
            self._note("A style is nested too deeply to be read.")
            return ()

    def computed(self, parent: Computed, declared: Mapping[str, str], lengths: Lengths) -> Computed:
        """The inherited properties of an element, given its parent's; equal ones are one and the same value."""
        changed = {
            name: value for name, value in declared.items() if name in INHERITED and value not in {"inherit", "unset"}
        }
        if not changed:
            return parent
        key = (id(parent), tuple(changed.items()))
        known = self._computed.get(key)
        if known is None:
            if len(self._computed) > 50_000:
                self._computed.clear()
            # The parent is kept too, so that its id can't come to mean another.
            known = self._computed[key] = (parent, _merged(parent, changed, lengths))
        return known[1]


def _used_rules(sheet: str, used: Container[str]) -> Iterator[str]:
    """A style sheet without those of its rules for one class that nothing has."""
    at = 0
    for rule in _ONE_CLASS.finditer(sheet):
        if rule[1] not in used:
            yield sheet[at : rule.start()]
            at = rule.end()
    yield sheet[at:]


def _merged(parent: Computed, changed: dict[str, str], lengths: Lengths) -> Computed:
    if "font-size" in changed:
        size = font_size(changed["font-size"], float(parent.get("font-size", 16.0)), lengths)
        changed = {**changed, "font-size": repr(size)}
    merged = {**parent, **changed}
    for name, value in changed.items():
        if value in {"initial", "revert"}:
            merged.pop(name)
    return merged


def font_size(text: str, parent: float, lengths: Lengths) -> float:
    """A font size in user units; `parent` is what em, per cent, larger and smaller start from."""
    word = text.strip().lower()
    if word in _FONT_SIZES:
        return _FONT_SIZES[word]
    if word in {"larger", "smaller"}:
        return parent * 1.2 if word == "larger" else parent / 1.2
    if word.endswith("%"):
        return lengths.length(word[:-1], Axis.X, 100.0) / 100 * parent
    return max(0.0, lengths.length(word, Axis.X, parent, parent))


@lru_cache(maxsize=4096)
def _inline(text: str) -> tuple[_Declaration, ...]:
    return tuple(_declarations(text))


def _declarations(content: Any) -> list[_Declaration]:
    parsed = tinycss2.parse_blocks_contents(content, skip_comments=True, skip_whitespace=True)
    found = []
    for item in parsed:
        if item.type == "declaration" and item.lower_name in _KNOWN:
            found.append((item.lower_name, tinycss2.serialize(item.value).strip(), bool(item.important)))
    return found


def _spread_shorthands(found: dict[str, str]) -> dict[str, str]:
    marker = found.pop("marker", None)
    if marker is not None:
        for end in ("marker-start", "marker-mid", "marker-end"):
            found.setdefault(end, marker)
    font = found.pop("font", None)
    if font is not None:
        for name, value in _font_parts(font).items():
            found.setdefault(name, value)
    return found


def _font_parts(text: str) -> dict[str, str]:
    """The parts of a ``font`` shorthand that are used here."""
    parts: dict[str, str] = {}
    words = text.split()
    for i, word in enumerate(words):
        plain = word.lower()
        if plain in {"italic", "oblique"}:
            parts["font-style"] = plain
        elif plain in {"bold", "bolder", "lighter"} or (plain.isdigit() and len(plain) == 3):
            parts["font-weight"] = plain
        elif plain[0].isdigit() or plain[0] == "." or plain in _FONT_SIZES or plain in {"larger", "smaller"}:
            parts["font-size"] = word.split("/")[0]
            parts["font-family"] = " ".join(words[i + 1 :])
            break
    return parts
