"""Papers by name. Sizes: ISO 216, ANSI/ASME Y14.1 and the ARCH series as listed by PWG 5101.1; inches as 25.4 mm."""

from __future__ import annotations

from calibrate.spelling import closest_word
from tiling.failures import UsageWrong
from tiling.lengths import MM_PER_INCH, LengthUnclear, in_mm, parse_length
from tiling.planning.plan import Paper
from tiling.shapes import Size

__all__ = ["COMMON", "LARGEST_SIDE", "LONGEST_ROLL", "paper_named", "paper_names", "takes_first_page"]

SMALLEST_SIDE = 70.0
"""Below it no tile with margins and joins fits."""

LARGEST_SIDE = 5080.0
"""200 in, 14,400 PDF units: the largest side a page has without a UserUnit."""

LONGEST_ROLL = 45_000.0
"""The usual roll of a copy shop's plotter holds 45.7 m (150 ft); common practice, no source."""

_ISO = {
    "a0": (841.0, 1189.0),
    "a1": (594.0, 841.0),
    "a2": (420.0, 594.0),
    "a3": (297.0, 420.0),
    "a4": (210.0, 297.0),
    "a5": (148.0, 210.0),
}
_INCHES = {
    "letter": (8.5, 11.0),
    "legal": (8.5, 14.0),
    "tabloid": (11.0, 17.0),
    "ansi-a": (8.5, 11.0),
    "ansi-b": (11.0, 17.0),
    "ansi-c": (17.0, 22.0),
    "ansi-d": (22.0, 34.0),
    "ansi-e": (34.0, 44.0),
    "arch-a": (9.0, 12.0),
    "arch-b": (12.0, 18.0),
    "arch-c": (18.0, 24.0),
    "arch-d": (24.0, 36.0),
    "arch-e": (36.0, 48.0),
}
_BOTH = (210.0, 279.4)
"""As wide as A4 and as high as letter: printed at actual size it fits on either."""

_SIZES = _ISO | {name: (w * MM_PER_INCH, h * MM_PER_INCH) for name, (w, h) in _INCHES.items()} | {"both": _BOTH}
# Ledger is the same sheet as tabloid, named for its other turn; planning turns sheets itself.
_ALSO = {"ledger": "tabloid"}


def paper_names() -> tuple[str, ...]:
    """All names `paper_named` knows, besides custom sizes and rolls."""
    return (*_SIZES, *_ALSO)


def paper_named(text: str) -> Paper:
    """The paper of that name, in portrait.

    ``a4``, ``letter``, ``ansi-d``, ``both`` (210 x 279.4 mm: prints on A4 and letter alike), ``200x280mm``,
    ``8x10in``, ``8.5in x 11in``, or ``roll:914mm`` for paper as long as needed.

    Raises:
        UsageWrong: no such paper, or a size out of bounds; the message names what there is.
    """
    plain = " ".join(text.lower().replace("×", "x").split())
    key = plain.replace("ansi ", "ansi-").replace("arch ", "arch-").replace("_", "-")
    key = _ALSO.get(key, key)
    if key in _SIZES:
        return Paper(key, Size(*_SIZES[key]))
    if plain.startswith("roll"):
        return _roll(text, plain)
    if "x" in plain and any(c.isdigit() for c in plain):
        return _custom(text, plain)
    near = closest_word(key, paper_names())
    hint = f"did you mean {near}? Use" if near else "use"
    raise UsageWrong(
        f"'{text[:40]}' is no paper known here; {hint} {', '.join(paper_names())}, "
        "a size such as 200x280mm, or a roll such as roll:914mm."
    )


def takes_first_page(paper: Paper) -> bool:
    """Whether title, page map and test square get a page of their own; from A2 up, and on rolls, they don't."""
    a2 = _ISO["a2"]
    return not paper.roll and paper.size.width * paper.size.height < a2[0] * a2[1] * 0.99


def _roll(text: str, plain: str) -> Paper:
    width = _side(text, plain.removeprefix("roll").lstrip(" :"))
    return Paper(f"roll:{width:g}mm", Size(width, LONGEST_ROLL), roll=True)


def _custom(text: str, plain: str) -> Paper:
    first, _, second = plain.partition("x")
    first, second = first.strip(), second.strip()
    if first and first[-1].isdigit():
        # `200x280mm` states the unit once.
        first += second.lstrip("0123456789./ ")
    width, height = sorted((_side(text, first), _side(text, second)))
    return Paper(f"{width:g}x{height:g}mm", Size(width, height))


def _side(text: str, length: str) -> float:
    try:
        side = parse_length(length)
    except LengthUnclear as unclear:
        raise UsageWrong(f"Paper '{text[:40]}': {unclear}") from None
    if not SMALLEST_SIDE <= side <= LARGEST_SIDE:
        raise UsageWrong(
            f"Paper '{text[:40]}': a side of {in_mm(side)} is out of bounds; "
            f"sides from {SMALLEST_SIDE:g} mm to {LARGEST_SIDE:g} mm can be printed."
        )
    return side


COMMON: tuple[Paper, ...] = tuple(
    paper_named(name)
    for name in ("a4", "letter", "both", "legal", "tabloid", "a3", "a2", "a1", "a0", "arch-e", "roll:914mm")
)
"""What `look` counts pages for."""
