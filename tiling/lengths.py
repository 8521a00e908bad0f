"""Lengths and shares as people write and read them; inside, everything is mm as float.

A length always carries its unit. Units: mm, cm, m, in (also ``"``), ft, yd and pt (1/72 in). Numbers:
``10``, ``0.5``, ``3/8``, ``1 1/2``, ``1½``, each with a sign where one makes sense.
"""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction

from calibrate.printable import printable

__all__ = [
    "MM_PER_INCH",
    "MM_PER_POINT",
    "LengthUnclear",
    "decimal_number",
    "in_cm",
    "in_inches",
    "in_mm",
    "in_percent",
    "in_scale",
    "is_in_inches",
    "is_unit",
    "parse_length",
    "parse_percent",
    "plain_signs",
    "with_fraction_signs",
]

MM_PER_INCH = 25.4
"""Exact since the international inch of 1959."""

MM_PER_POINT = MM_PER_INCH / 72
"""The point of PostScript, PDF and CSS."""

_LONGEST = 1e6
_UNITS: dict[str, Fraction] = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(254, 10),
    "inch": Fraction(254, 10),
    "inches": Fraction(254, 10),
    '"': Fraction(254, 10),
    "″": Fraction(254, 10),
    "”": Fraction(254, 10),
    "ft": Fraction(3048, 10),
    "yd": Fraction(9144, 10),
    "pt": Fraction(254, 720),
}
_PLAIN = {
    **dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2015\u2212\ufe58\ufe63", "-"),
    **dict.fromkeys("\u00a0\u2009\u202f\u3000", " "),
    **dict.fromkeys("\u2044\u2215", "/"),
    "\u066b": ".",
}
_NUMBER = re.compile(
    r"""(?P<sign>[+-]?)\s*
    (?: (?:(?P<whole>[0-9]+)[ ]+)? (?P<over>[0-9]+)\s*/\s*(?P<under>[0-9]+)
      | (?P<decimal>[0-9]+(?:\.[0-9]*)?|\.[0-9]+) )""",
    re.VERBOSE,
)


_FRACTION = re.compile(r"""(?:(?P<whole>\d+)\ )?(?<![\d/])(?P<over>\d+)/(?P<under>\d+)(?=["″]|\ yd)""", re.VERBOSE)
_SIGNS = {"1/2": "½", "1/4": "¼", "3/4": "¾", "1/8": "⅛", "3/8": "⅜", "5/8": "⅝", "7/8": "⅞"}
_RAISED = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")
_LOWERED = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")


class LengthUnclear(ValueError):
    """The text is no length or share; the message says what was wrong and how to write it."""


def parse_length(text: str) -> float:
    """A length with its unit, in mm.

    Raises:
        LengthUnclear: no unit, an unknown unit, no number, or beyond 1 km.
    """
    number, rest = _number_of(text, "a length")
    unit = rest.strip()
    if not unit:
        bare = printable(text.strip(), "\ufffd")
        raise LengthUnclear(f"{_quoted(text)} has no unit; write {bare}mm, {bare}cm or {bare}in.")
    factor = _factor(unit)
    if factor is None:
        raise LengthUnclear(f"{_quoted(text)}: {_quoted(unit)} is no unit of length; use mm, cm, m, in, ft, yd or pt.")
    length = float(number * factor)
    if abs(length) > _LONGEST:
        raise LengthUnclear(f"{_quoted(text)} is longer than 1 km; check the unit.")
    return length


def is_in_inches(text: str) -> bool:
    """Whether a length is written in inches.

    Raises:
        LengthUnclear: there is no number.
    """
    unit = _number_of(text, "a length")[1].strip()
    return _factor(unit) == _UNITS["in"]


def is_unit(text: str) -> bool:
    """Whether this is how a unit of length is written."""
    return _factor(text) is not None


def _factor(unit: str) -> Fraction | None:
    return _UNITS.get(unit) or _UNITS.get(unit.lower())


def parse_percent(text: str) -> float:
    """A share written in per cent, as a number: ``50%`` is 0.5.

    Raises:
        LengthUnclear: no per cent sign, or no number.
    """
    number, rest = _number_of(text, "a share")
    if rest.strip() != "%":
        raise LengthUnclear(f"{_quoted(text)} is no share; write it with a per cent sign, such as 50%.")
    return float(number / 100)


def in_mm(length: float, places: int = 1, *, signed: bool = False) -> str:
    """The length in mm, such as ``9.5 mm``; `signed` shows the plus too."""
    return f"{_decimal(length, places, signed)} mm"


def in_cm(length: float, places: int = 1, *, signed: bool = False) -> str:
    """The length in cm, such as ``72.0 cm``."""
    return f"{_decimal(length / 10, places, signed)} cm"


def in_inches(length: float, parts: int = 16, *, signed: bool = False) -> str:
    """The length in inches to the nearest 1/`parts`, such as ``1 1/2"``."""
    steps = round(Fraction(length) * parts / Fraction(254, 10))
    sign = "-" if steps < 0 else "+" if signed and steps > 0 else ""
    whole, rest = divmod(abs(steps), parts)
    fraction = Fraction(rest, parts)
    words = [str(whole)] if whole or not rest else []
    if rest:
        words.append(f"{fraction.numerator}/{fraction.denominator}")
    return f'{sign}{" ".join(words)}"'


def in_percent(share: float, places: int = 0) -> str:
    """A share as per cent, such as ``50 %``."""
    return f"{_decimal(share * 100, places, signed=False)} %"


def in_scale(scale: float) -> str:
    """What scaling a drawing did, as a sentence."""
    return (
        f"Drawing scaled by {decimal_number(scale, 6)}, as asked: 100 mm in the file are {in_mm(100 * scale, 2)} here."
    )


def _decimal(value: float, places: int, signed: bool) -> str:
    text = f"{value:+.{places}f}" if signed else f"{value:.{places}f}"
    # No sign on what prints as zero.
    return text.lstrip("+-") if not text.strip("+-0.") else text


def with_fraction_signs(text: str) -> str:
    """The text with ``1 1/2"`` and ``3/16 yd`` as printed fractions: ``1½"``, ``³⁄₁₆ yd``; others stay as they are."""
    return _FRACTION.sub(_as_sign, text)


def _as_sign(found: re.Match[str]) -> str:
    over, under = found["over"], found["under"]
    sign = _SIGNS.get(f"{over}/{under}") or f"{over.translate(_RAISED)}\u2044{under.translate(_LOWERED)}"
    return f"{found['whole'] or ''}{sign}"


def decimal_number(value: float, places: int) -> str:
    """A number with at most that many decimals, without an exponent and without idle zeros, as files hold them.

    Half of the last decimal, such as thirty-seconds of an inch end with, goes the same way whatever the float's last
    bits.
    """
    text = f"{round(value, places + 4):.{places}f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def _number_of(text: str, what: str) -> tuple[Fraction, str]:
    """The leading number, exactly, and what follows it."""
    if len(text) > 60:
        raise LengthUnclear(f"{_quoted(text)} is too long for {what}.")
    plain = _plain(text)
    found = _NUMBER.match(plain)
    if found is None:
        raise LengthUnclear(
            f"{_quoted(text)} is not {what}; write a number with its unit, such as 10mm, 1.5cm or 3/8in."
        )
    rest = plain[found.end() :]
    if re.match(r"\s*[0-9.,/·]", rest):
        comma = rest.lstrip()[0] in ",·"
        hint = "use a point for decimals, such as 1.5cm" if comma else "write one number"
        raise LengthUnclear(f"{_quoted(text)} is not {what}; {hint}.")
    if found["decimal"]:
        number = Fraction(found["decimal"])
    else:
        if not int(found["under"]):
            raise LengthUnclear(f"{_quoted(text)} divides by nought; write a fraction such as 3/8in.")
        number = int(found["whole"] or 0) + Fraction(int(found["over"]), int(found["under"]))
    return (-number if found["sign"] == "-" else number), rest


def plain_signs(text: str) -> str:
    """The text with plain digits, letters, dashes and spaces for full-width ones and those of other scripts.

    Every character stays where it is; what has no plain form stays as it is.
    """
    return "".join(_plain_sign(character) for character in text)


def _plain_sign(character: str) -> str:
    if character.isdecimal():
        return str(unicodedata.decimal(character))
    if "\uff01" <= character <= "\uff5e":
        return chr(ord(character) - 0xFEE0)
    return _PLAIN.get(character, character)


def _plain(text: str) -> str:
    """As `plain_signs`, with fraction signs as fractions."""
    parts = []
    for character in text.strip():
        if unicodedata.decomposition(character).startswith("<fraction>"):
            parts.append(" " + unicodedata.normalize("NFKD", character).replace("⁄", "/"))
        else:
            parts.append(_plain_sign(character))
    return "".join(parts).strip()


def _quoted(text: str) -> str:
    shown = printable(text.strip(), "\ufffd")
    return f"'{shown[:40]}…'" if len(shown) > 40 else f"'{shown}'"
