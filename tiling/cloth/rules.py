"""Working out the rules of a pattern's notes: lengths and numbers from body measures and named lines.

`tiling.cloth.grammar` reads the text; here it is worked out and its dimensions are checked (a length plus a number is
an error, not a guess). Any text gives a `Quantity` or a `RuleUnclear` that names file and key.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from math import ceil, isfinite

from calibrate.spelling import closest_word
from tiling.cloth import grammar
from tiling.cloth.grammar import (
    Called,
    Change,
    Expression,
    FunctionName,
    GrammarBroken,
    LineLength,
    Name,
    Operation,
    RuleNumber,
)
from tiling.failures import Action, InputUnfit, Remedy
from tiling.lengths import plain_signs
from tiling.notes import RULE_WORDS

__all__ = ["Quantity", "RuleSource", "RuleUnclear", "Scope", "nearest", "round_up", "work_out"]

_DEEPEST = 80
"""Expressions and rules within each other, all told."""

_FUZZ = 1e-9
"""Part of a buying step that is not worth another step (rounding of floats)."""

_KIND = {0: "a number", 1: "a length", 2: "an area"}


class RuleUnclear(InputUnfit):
    """A rule can't be worked out; the message names the file, the key, the cause and the nearest right word."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A result: mm where `is_length`, else a plain number."""

    amount: float
    is_length: bool


@dataclass(frozen=True, slots=True)
class RuleSource:
    """The place of a rule: the notes' file and the key, such as ``notions 'Elastic' rule``, and all its text."""

    file: str
    key: str
    file_text: str = field(default="", repr=False)

    def describe(self, text: str) -> str:
        """File, line (where the text is found in the file) and key."""
        line = _line_of(text, self.file_text)
        parts = [self.file or "notes", *([f"line {line}"] if line else []), self.key]
        return ", ".join(parts)


@dataclass(frozen=True, slots=True)
class Scope:
    """The names that a rule may use.

    Attributes:
        measures: body measures in mm by name.
        rules: the texts of the other rules by name.
        lengths: lengths in mm by ``piece.line``; may work them out when asked.
    """

    measures: Mapping[str, float] = field(default_factory=dict)
    rules: Mapping[str, str] = field(default_factory=dict)
    lengths: Mapping[str, float] = field(default_factory=dict)


def _line_of(text: str, whole: str) -> int | None:
    """The line (from 1) on which the text stands in the whole, None where it doesn't."""
    wanted = text.strip().partition("\n")[0][:200]
    return next((n for n, line in enumerate(whole.splitlines(), 1) if wanted and wanted in line), None)


def nearest(word: str, known: Collection[str]) -> str:
    """``; did you mean 'waist'?`` for the closest known word; else the known words, if there are any."""
    close = closest_word(word, known)
    if close is not None:
        return f"; did you mean '{close}'?"
    if known:
        shown = sorted(known)
        more = f" and {len(shown) - 12} more" if len(shown) > 12 else ""
        return f"; there are {', '.join(shown[:12])}{more}."
    return "; there are none."


def round_up(amount: float, step: float) -> float:
    """The smallest multiple of `step` not below `amount` (float noise of 1e-9 steps forgiven)."""
    return ceil(amount / step - _FUZZ) * step


def work_out(text: str, scope: Scope, source: RuleSource) -> Quantity:
    """The value of a rule, its dimensions checked.

    Args:
        text: the rule as written.
        scope: the names it may use.
        source: where it is written, for the message.

    Raises:
        RuleUnclear: not in the grammar, an unknown name, a cycle, a division by zero, dimensions that don't fit.
    """
    try:
        value = _Working(scope).rule(text)
    except (GrammarBroken, _Unfit) as broken:
        shown = " ".join(text.split())
        shown = f"{shown[:60]}…" if len(shown) > 60 else shown
        column = f" (character {broken.at + 1})" if isinstance(broken, GrammarBroken) and broken.at else ""
        message = f"{source.describe(text)}: the rule '{shown}' {broken}{column}"
        remedy = broken.remedy if isinstance(broken, _Unfit) else None
        raise RuleUnclear(message if remedy or message[-1] in ".?" else f"{message}.", remedy) from broken
    return Quantity(value.amount, value.power == 1)


class _Unfit(ValueError):
    """The rule is well written and can't be worked out."""

    def __init__(self, message: str, remedy: Remedy | None = None) -> None:
        super().__init__(message)
        self.remedy = remedy


class _Working:
    """One working out: remembers the rules done, and which are under way (to find cycles)."""

    def __init__(self, scope: Scope) -> None:
        self._scope = scope
        # Names are compared as rules are read: with plain digits, letters and hyphens.
        self._measures = {plain_signs(name): mm for name, mm in scope.measures.items()}
        self._rules = {plain_signs(name): text for name, text in scope.rules.items()}
        self._done: dict[str, RuleNumber] = {}
        self._under_way: list[str] = []
        self._depth = 0

    def rule(self, text: str) -> RuleNumber:
        """The value of a whole rule, a number or a length.

        Raises:
            GrammarBroken: the text is no rule.
            _Unfit: it can't be worked out.
        """
        value = self._value(grammar.parse(text))
        if value.power not in (0, 1):
            raise _Unfit(f"gives {_kind(value)}; it must give a length or a number")
        return value

    def _value(self, tree: Expression) -> RuleNumber:
        self._depth += 1
        if self._depth > _DEEPEST:
            raise _Unfit(f"is more than {_DEEPEST} rules and brackets deep")
        # A long sum leans to the left: walk down that side in a loop, not by recursion.
        spine: list[Change] = []
        while isinstance(tree, Change):
            spine.append(tree)
            tree = tree.left
        value = self._leaf(tree)
        for change in reversed(spine):
            value = _joined(change.operation, value, self._value(change.right))
        self._depth -= 1
        return value

    def _leaf(self, tree: RuleNumber | Name | LineLength | Called) -> RuleNumber:
        match tree:
            case RuleNumber():
                return _checked(tree)
            case Name():
                return self._named(tree.name)
            case LineLength():
                return self._line(tree.line)
            case Called():
                return _called(tree.call, [self._value(argument) for argument in tree.arguments])

    def _named(self, name: str) -> RuleNumber:
        if name in self._measures:
            return _checked(RuleNumber(float(self._measures[name]), 1))
        if name in self._done:
            return self._done[name]
        if name not in self._rules:
            raise self._unknown(name)
        if name in self._under_way:
            circle = [*self._under_way[self._under_way.index(name) :], name]
            raise _Unfit(f"goes round in a circle: {' needs '.join(circle)}")
        self._under_way.append(name)
        try:
            value = self.rule(self._rules[name])
        except GrammarBroken as broken:
            raise _Unfit(f"uses the rule '{name}', which {broken}") from broken
        self._under_way.pop()
        self._done[name] = value
        return value

    def _unknown(self, name: str) -> _Unfit:
        known = {*self._measures, *self._rules}
        for left, right in _hyphens(name):
            if left in known and right in known:
                return _Unfit(f"names '{name}'; write '{left} - {right}' with spaces if that is a minus sign")
        if name in RULE_WORDS:
            return _Unfit(f"uses '{name}' without brackets; write {name}(…)")
        hint = nearest(name, known).removeprefix("; ")
        what = f"names '{name}', which is no body measure given or noted and no rule"
        return _Unfit(what, Remedy(Action.GIVE_MEASURE, (name, hint)))

    def _line(self, line: str) -> RuleNumber:
        if line not in self._scope.lengths:
            hint = nearest(line, list(self._scope.lengths))
            raise _Unfit(f"measures the line '{line}', which is not in the drawing{hint}")
        return _checked(RuleNumber(float(self._scope.lengths[line]), 1))


def _hyphens(name: str) -> Iterable[tuple[str, str]]:
    return ((name[:i], name[i + 1 :]) for i, character in enumerate(name) if character == "-")


def _kind(value: RuleNumber) -> str:
    return _KIND.get(value.power, f"mm to the power of {value.power}")


def _checked(value: RuleNumber) -> RuleNumber:
    if not isfinite(value.amount):
        raise _Unfit("gives a number too large to use")
    if abs(value.power) > 8:
        raise _Unfit("multiplies more lengths than can be meant")
    return value


def _joined(operation: Operation, left: RuleNumber, right: RuleNumber) -> RuleNumber:
    if operation is Operation.TIMES:
        return _checked(RuleNumber(left.amount * right.amount, left.power + right.power))
    if operation is Operation.OVER:
        if right.amount == 0:
            raise _Unfit("divides by nought")
        return _checked(RuleNumber(left.amount / right.amount, left.power - right.power))
    if left.power != right.power:
        verb = "adds" if operation is Operation.PLUS else "takes away"
        hint = "; does a number lack its unit, such as mm?" if {left.power, right.power} == {0, 1} else ""
        pair = f"{_kind(left)} and {_kind(right)}" if verb == "adds" else f"{_kind(right)} from {_kind(left)}"
        raise _Unfit(f"{verb} {pair}{hint}")
    amount = left.amount + right.amount if operation is Operation.PLUS else left.amount - right.amount
    return _checked(RuleNumber(amount, left.power))


def _called(call: FunctionName, arguments: list[RuleNumber]) -> RuleNumber:
    powers = {argument.power for argument in arguments}
    if len(powers) > 1:
        kinds = " and ".join(sorted({_kind(argument) for argument in arguments}))
        raise _Unfit(f"gives '{call.value}' both {kinds}; all must be lengths, or all numbers")
    amounts = [argument.amount for argument in arguments]
    power = powers.pop()
    if call is FunctionName.UP:
        if amounts[1] <= 0:
            raise _Unfit("rounds up to a step that is nought or less")
        if not isfinite(amounts[0] / amounts[1]):
            raise _Unfit("rounds up to a step too small to use")
        return _checked(RuleNumber(round_up(*amounts), power))
    return RuleNumber(min(amounts) if call is FunctionName.MIN else max(amounts), power)
