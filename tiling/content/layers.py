"""Optional content: which layers a file has and which are shown (ISO 32000-2, 8.11)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject, PdfObject

from calibrate.printable import printable
from tiling.content.streams import resolved, text_of, word

__all__ = ["LayerChoice", "LayerEntry", "layer_entries"]

_EXPRESSION_DEPTH = 20


def _key(raw: PdfObject | None) -> int | None:
    """A group's identity: its object number, since optional content groups are always indirect objects."""
    if isinstance(raw, IndirectObject):
        return raw.idnum
    reference = getattr(raw, "indirect_reference", None)
    return reference.idnum if isinstance(reference, IndirectObject) else None


@dataclass(frozen=True, slots=True)
class LayerEntry:
    """One optional content group: its object number, its name, and whether it is printed by default."""

    key: int
    name: str
    shown: bool


def _entries(holder: DictionaryObject, name: str) -> list[PdfObject]:
    value = resolved(holder.get(name))
    return list(value) if isinstance(value, ArrayObject) else []


def layer_entries(catalogue: DictionaryObject) -> tuple[LayerEntry, ...]:
    """All optional content groups in the catalogue's order, with the state that holds for printing.

    The default configuration counts: BaseState, ON, OFF, then the usage PrintState (PDF 32000-2, table 99: applied
    only where the configuration's AS array names the group for the Print event).
    """
    properties = resolved(catalogue.get("/OCProperties"))
    if not isinstance(properties, DictionaryObject):
        return ()
    groups: dict[int, DictionaryObject] = {}
    for raw in _entries(properties, "/OCGs"):
        key, group = _key(raw), resolved(raw)
        if key is not None and isinstance(group, DictionaryObject):
            groups[key] = group
    default = resolved(properties.get("/D"))
    config = default if isinstance(default, DictionaryObject) else DictionaryObject()
    shown = dict.fromkeys(groups, word(config.get("/BaseState")) != "/OFF")
    for name, state in (("/ON", True), ("/OFF", False)):
        shown.update({key: state for raw in _entries(config, name) if (key := _key(raw)) is not None and key in groups})
    for usage in _entries(config, "/AS"):
        application = resolved(usage)
        if not isinstance(application, DictionaryObject) or word(application.get("/Event")) != "/Print":
            continue
        for raw in _entries(application, "/OCGs"):
            number = _key(raw)
            printed = _print_state(groups[number]) if number is not None and number in groups else None
            if number is not None and printed is not None:
                shown[number] = printed
    return tuple(
        LayerEntry(key, printable(text_of(group.get("/Name")), " ").strip() or f"layer {index}", shown[key])
        for index, (key, group) in enumerate(groups.items(), 1)
    )


def _print_state(group: DictionaryObject) -> bool | None:
    usage = resolved(group.get("/Usage"))
    printing = resolved(usage.get("/Print")) if isinstance(usage, DictionaryObject) else None
    state = resolved(printing.get("/PrintState")) if isinstance(printing, DictionaryObject) else None
    return {"/ON": True, "/OFF": False}.get(str(state))


@dataclass(frozen=True, slots=True)
class LayerChoice:
    """Which optional content groups are drawn, by object number; groups not listed are shown."""

    shown: Mapping[int, bool] = field(default_factory=dict)
    names: Mapping[int, str] = field(default_factory=dict)

    @classmethod
    def everything(cls) -> LayerChoice:
        """No layer is hidden."""
        return cls()

    @classmethod
    def of(cls, entries: Sequence[LayerEntry], picked: Sequence[str] = ()) -> LayerChoice:
        """The file's own states, or, when names are picked, those layers and nothing of the others."""
        shown = {entry.key: entry.name in picked if picked else entry.shown for entry in entries}
        return cls(shown, {entry.key: entry.name for entry in entries})

    def shows(self, raw: PdfObject | None) -> bool:
        """Whether content marked with this group or membership dictionary is drawn."""
        owner = resolved(raw)
        if not isinstance(owner, DictionaryObject):
            return True
        if word(owner.get("/Type")) != "/OCMD":
            key = _key(raw)
            return True if key is None else self.shown.get(key, True)
        expression = resolved(owner.get("/VE"))
        if isinstance(expression, ArrayObject) and expression:
            return self._evaluate(expression, 0)
        members = self._members(owner)
        states = [self.shown.get(key, True) for key in members]
        if not states:
            return True
        policy = str(resolved(owner.get("/P")) or "/AnyOn")
        return {
            "/AllOn": all(states),
            "/AnyOff": not all(states),
            "/AllOff": not any(states),
        }.get(policy, any(states))

    def name(self, raw: PdfObject | None) -> str:
        """The group's name, or that of a membership dictionary's first group; empty when there is none."""
        key = _key(raw)
        if key is not None and key in self.names:
            return self.names[key]
        owner = resolved(raw)
        members = self._members(owner) if isinstance(owner, DictionaryObject) else []
        return next((self.names[key] for key in members if key in self.names), "")

    @staticmethod
    def _members(membership: DictionaryObject) -> list[int]:
        raw = membership.raw_get("/OCGs") if "/OCGs" in membership else None
        group = resolved(raw)
        listed = list(group) if isinstance(group, ArrayObject) else [raw]
        return [key for entry in listed if resolved(entry) is not None and (key := _key(entry)) is not None]

    def _evaluate(self, expression: ArrayObject, depth: int) -> bool:
        """A visibility expression: [/And …], [/Or …], [/Not x] over groups and further expressions."""
        if depth > _EXPRESSION_DEPTH or not expression:
            return True
        operator = str(resolved(expression[0]))
        values: list[bool] = []
        for raw in list(expression)[1:]:
            inner = resolved(raw)
            if isinstance(inner, ArrayObject):
                values.append(self._evaluate(inner, depth + 1))
            elif isinstance(inner, DictionaryObject):
                values.append(self.shows(raw))
        if operator == "/Not":
            return not values[0] if values else True
        return all(values) if operator == "/And" else any(values)
