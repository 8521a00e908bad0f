"""The grammar of the rules in a pattern's notes: text in, a small tree out. Nothing is ever run as code.

    sum     = product { ("+" | "-" | "−") product }
    product = signed { ("*" | "×" | "·" | "/" | "÷") signed }
    signed  = { "+" | "-" | "−" } item
    item    = number | length | name | call | "(" sum ")"
    call    = "length(" piece.line ")" | "min(" sum {"," sum} ")" | "max(" sum {"," sum} ")" | "up(" sum "," sum ")"

A length is a number followed by its unit (``25mm``, ``1 1/2in``, ``0.5 m``); a fraction written without spaces before
a unit is one number. Dashes, full-width signs and digits of other scripts are read as plain ones. A line of the pattern
is written as it is named, in quotes where its name holds a bracket, a comma
or a quote. A name is a word, or several joined with hyphens (``upper-arm``), so a minus sign between two
names needs spaces around it.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

from tiling.lengths import LengthUnclear, parse_length, plain_signs
from tiling.notes import RULE_NAME

__all__ = [
    "DEEPEST",
    "LONGEST",
    "Called",
    "Change",
    "Expression",
    "FunctionName",
    "GrammarBroken",
    "LineLength",
    "Name",
    "Operation",
    "RuleNumber",
    "as_written",
    "names_in",
    "parse",
]

LONGEST = 1000
"""Characters in one rule; real rules have under a hundred."""

DEEPEST = 40
"""Brackets and signs within each other in one rule."""


class GrammarBroken(ValueError):
    """The text is no rule; `at` is the character (from 0) where that shows."""

    def __init__(self, message: str, at: int = 0) -> None:
        super().__init__(message)
        self.at = at


class Operation(Enum):
    """The four sums, by the plain sign."""

    PLUS = "+"
    MINUS = "-"
    TIMES = "*"
    OVER = "/"


class FunctionName(Enum):
    """The functions a rule may call, besides `length`."""

    MIN = "min"
    MAX = "max"
    UP = "up"


@dataclass(frozen=True, slots=True)
class RuleNumber:
    """A number (`power` 0) or a length in mm (`power` 1)."""

    amount: float
    power: int


@dataclass(frozen=True, slots=True)
class Name:
    """A body measure or another rule."""

    name: str


@dataclass(frozen=True, slots=True)
class LineLength:
    """``length(piece.line)``."""

    line: str


@dataclass(frozen=True, slots=True)
class Change:
    """Two expressions joined by one of the four sums."""

    operation: Operation
    left: Expression
    right: Expression


@dataclass(frozen=True, slots=True)
class Called:
    """A call with its arguments."""

    call: FunctionName
    arguments: tuple[Expression, ...]


Expression = RuleNumber | Name | LineLength | Change | Called

_UNIT = r"""(?:(?:mm|cm|inches|inch|in|m|ft|yd|pt)(?![\w.])|["″”])"""
_PART = "[¼-¾⅐-⅞]"
_TOKENS = re.compile(
    rf"""(?P<space>\s+)
    | (?P<measured>length\s*\(\s*(?:'[^'\n]+'|"[^"\n]+"|[^()'",]*\.[^()'",]*)\s*\))
    | (?P<length>(?:(?:[0-9]+[ ])?[0-9]+/[0-9]+|[0-9]*[ ]?{_PART}|[0-9]+(?:\.[0-9]*)?|\.[0-9]+)\s?{_UNIT})
    | (?P<unclear>[0-9]+(?:,[0-9]+\s?{_UNIT}|·[0-9]+))
    | (?P<number>[0-9]*[ ]?{_PART}|[0-9]+(?:\.[0-9]*)?|\.[0-9]+)
    | (?P<line>[^\W\d][\w-]*(?:\.[^\W\d][\w-]*)+|'[^'\n]*'|"[^"\n]*")
    | (?P<name>{RULE_NAME.pattern})
    | (?P<sign>[-+*/×÷−·(),])""",
    re.VERBOSE,
)
_PLAIN = {"×": "*", "÷": "/", "−": "-", "·": "*"}
_READ_AS = {
    **dict.fromkeys("\u2012\u2013\u2014\u2015\u2212\ufe58\ufe63\uff0d", "−"),
    **dict.fromkeys("\u00b7\u0387\u2219\u22c5\u2022\u30fb\uff65", "·"),
    **dict.fromkeys("\u2217\u2715\u2716\u2a2f", "×"),
}
"""Dashes, dots and crosses that people write for a sign; a hyphen belongs to its name."""


@dataclass(frozen=True, slots=True)
class _Token:
    kind: str
    text: str
    at: int
    end: int


def parse(text: str) -> Expression:
    """The tree of a rule.

    Raises:
        GrammarBroken: empty, too long, too deep, or not in the grammar; says where and what was expected.
    """
    if len(text) > LONGEST:
        raise GrammarBroken(f"has {len(text)} characters; a rule may have {LONGEST}")
    if not text.strip():
        raise GrammarBroken("is empty; write a length or a sum, such as 'waist + 25mm'")
    return _Parser(_tokens(text)).whole()


def names_in(text: str) -> frozenset[str]:
    """The body measures and rules that a rule names; none where it can't be read."""
    try:
        tokens = _tokens(text)
    except GrammarBroken:
        return frozenset()
    return frozenset(token.text for token, after in pairwise(tokens) if token.kind == "name" and after.text != "(")


def as_written(text: str) -> str:
    """The rule as people write it: × and ÷ for the sums, fractions left as they are."""
    try:
        tokens = _tokens(text)
    except GrammarBroken:
        return text
    shown, signs = list(text), {"*": "×", "/": "÷"}
    for before, token, after in zip(tokens, tokens[1:], tokens[2:], strict=False):
        fraction = before.kind == "number" and after.kind in {"number", "length"}
        close = before.end == token.at and token.end == after.at
        if token.kind == "sign" and token.text in signs and not (token.text == "/" and fraction and close):
            shown[token.at] = signs[token.text]
    return "".join(shown)


def _tokens(text: str) -> list[_Token]:
    tokens = []
    plain = "".join(_READ_AS.get(character) or plain_signs(character) for character in text)
    at = 0
    while at < len(text):
        found = _TOKENS.match(plain, at)
        if found is None:
            raise GrammarBroken(f"has {text[at]!r} where a number, a name or a sign is expected{_meant(text[at])}", at)
        kind = str(found.lastgroup)
        if kind == "unclear":
            raise GrammarBroken(_unclear(found[0], text[at : found.end()]), at)
        if kind in {"measured", "line"}:  # Names of lines stay as they are in the drawing.
            open_ = found[0].find("(") + 1
            tokens.append(_Token(kind, found[0][:open_] + text[at + open_ : found.end()], at, found.end()))
        elif kind != "space":
            tokens.append(_Token(kind, _PLAIN.get(found[0], found[0]), at, found.end()))
        at = found.end()
    return [*tokens, _Token("end", "", len(text), len(text))]


def _unclear(plain: str, written: str) -> str:
    if "·" in plain:
        whole, part = plain.split("·")
        return f"has '{written}', which may be {whole}.{part} or {whole} × {part}; write the one that is meant"
    return (
        f"has '{written}' with a comma; write {plain.replace(',', '.')} with a point, or set a space after a comma "
        "that parts two values"
    )


def _meant(sign: str) -> str:
    return {"%": "; write 0.1 for 10 %", ":": "; write / or ÷", "^": "; write a × a"}.get(sign, "")


class _Parser:
    """Recursive descent over the tokens; `_depth` keeps it from descending too far."""

    def __init__(self, tokens: list[_Token]) -> None:
        self._tokens = tokens
        self._next = 0
        self._depth = 0

    def whole(self) -> Expression:
        """The tree of all tokens.

        Raises:
            GrammarBroken: there is more, or something else, than a sum.
        """
        tree = self._sum()
        if self._here.kind != "end":
            raise self._unexpected("a sign (+ - * /) or the end")
        return tree

    @property
    def _here(self) -> _Token:
        return self._tokens[self._next]

    def _take(self) -> _Token:
        token = self._here
        self._next += 1
        return token

    def _is(self, *signs: str) -> bool:
        return self._here.kind == "sign" and self._here.text in signs

    def _expect(self, sign: str) -> None:
        if not self._is(sign):
            raise self._unexpected(f"'{sign}'")
        self._take()

    def _unexpected(self, wanted: str) -> GrammarBroken:
        got = f"'{self._here.text[:30]}'" if self._here.text else "nothing more"
        hint = {",": "; use a point for decimals", "x": "; write × or * between numbers"}.get(self._here.text, "")
        return GrammarBroken(f"has {got} where {wanted} is expected{hint}", self._here.at)

    def _sum(self) -> Expression:
        self._depth += 1
        if self._depth > DEEPEST:
            raise GrammarBroken(f"has brackets more than {DEEPEST} deep", self._here.at)
        tree = self._product()
        while self._is("+", "-"):
            tree = Change(Operation(self._take().text), tree, self._product())
        self._depth -= 1
        return tree

    def _product(self) -> Expression:
        tree = self._signed()
        while self._is("*", "/"):
            tree = Change(Operation(self._take().text), tree, self._signed())
        return tree

    def _signed(self) -> Expression:
        negative = False
        while self._is("+", "-"):
            negative ^= self._take().text == "-"
        item = self._item()
        return Change(Operation.TIMES, RuleNumber(-1.0, 0), item) if negative else item

    def _item(self) -> Expression:
        token = self._here
        if token.kind == "length":
            return RuleNumber(_length(self._take()), 1)
        if token.kind == "number":
            return RuleNumber(_number(self._take().text), 0)
        if token.kind == "measured":
            return LineLength(self._take().text.partition("(")[2][:-1].strip().strip("'\""))
        if token.kind == "name":
            self._take()
            return self._call(token) if self._is("(") else Name(token.text)
        if token.kind == "line":
            name = token.text.strip("'\"")
            raise GrammarBroken(f"names the line {name}; write length({name})", token.at)
        if not self._is("("):
            raise self._unexpected("a number, a length or a name")
        self._take()
        inner = self._sum()
        self._expect(")")
        return inner

    def _call(self, name: _Token) -> Expression:
        self._take()
        if name.text == "length":
            # Whole ones were read as one token: the line's name may hold spaces, signs and numbers.
            if self._here.kind == "line":
                self._take()
                self._expect(")")
            raise self._unexpected("a line of the pattern, written piece.line,")
        try:
            call = FunctionName(name.text)
        except ValueError:
            raise GrammarBroken(f"calls '{name.text}'; there are length, min, max and up", name.at) from None
        arguments = [self._sum()]
        while self._is(","):
            self._take()
            arguments.append(self._sum())
        self._expect(")")
        if call is FunctionName.UP and len(arguments) != 2:
            raise GrammarBroken("calls 'up' without a step; write up(length, step), such as up(waist, 5cm)", name.at)
        return Called(call, tuple(arguments))


def _number(text: str) -> float:
    """A number, or a whole one and a fraction sign."""
    if text[-1].isascii():
        return float(text)
    return float(text[:-1].strip() or 0) + unicodedata.numeric(text[-1])


def _length(token: _Token) -> float:
    try:
        return parse_length(token.text)
    except LengthUnclear as unclear:
        raise GrammarBroken(f"has no fit length: {unclear}", token.at) from unclear
