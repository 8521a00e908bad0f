"""Papers as a person names them, from the ground floor's table; sizes of one's own, and rolls."""

from __future__ import annotations

from calibrate.papers import PAPERS, PRINTED_PAPERS, Paper
from calibrate.spelling import closest_word
from tiling.failures import UsageWrong
from tiling.lengths import LengthUnclear, in_mm, parse_length

__all__ = ["COMMON", "LARGEST_SIDE", "LONGEST_ROLL", "paper_named", "paper_names", "takes_first_page"]

SMALLEST_SIDE = 70.0
"""Below it no tile with margins and joins fits."""

LARGEST_SIDE = 5080.0
"""200 in, 14,400 PDF units: the largest side a page has without a UserUnit."""

LONGEST_ROLL = 45_000.0
"""The usual roll of a copy shop's plotter holds 45.7 m (150 ft); common practice, no source."""

# Ledger is the same sheet as tabloid, named for its other turn; planning turns sheets itself.
_ALSO = {"ledger": "tabloid"}


def paper_names() -> tuple[str, ...]:
    """All names `paper_named` knows, besides custom sizes and rolls."""
    return (*PRINTED_PAPERS, *_ALSO)


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
    if key in PRINTED_PAPERS:
        return PAPERS[key]
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
    a2 = PAPERS["a2"]
    return not paper.roll and paper.width * paper.height < a2.width * a2.height * 0.99


def _roll(text: str, plain: str) -> Paper:
    width = _side(text, plain.removeprefix("roll").lstrip(" :"))
    return Paper(f"roll:{width:g}mm", width, LONGEST_ROLL, roll=True)


def _custom(text: str, plain: str) -> Paper:
    first, _, second = plain.partition("x")
    first, second = first.strip(), second.strip()
    if first and first[-1].isdigit():
        # `200x280mm` states the unit once.
        first += second.lstrip("0123456789./ ")
    width, height = sorted((_side(text, first), _side(text, second)))
    return Paper(f"{width:g}x{height:g}mm", width, height)


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
