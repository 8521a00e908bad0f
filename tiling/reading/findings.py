"""What every reader has to say: findings, each cause told once with how often it was met, and why nothing is drawn."""

from __future__ import annotations

from collections.abc import Sequence

from tiling.failures import Action, InputUnfit, Remedy
from tiling.files.inputs import InputFile
from tiling.fonts.shaping import missing_glyphs
from tiling.pattern import Finding, FindingKind, Layer, Pattern

__all__ = ["FindingLog", "names_in_boxes", "nothing_drawn", "rate_without_effect"]

_MOST_OF_A_KIND = 25


class FindingLog:
    """Findings in the order first met; later ones with the same kind and text only count."""

    def __init__(self) -> None:
        self._met: dict[tuple[FindingKind, str], list[str]] = {}
        self._counts: dict[tuple[FindingKind, str], int] = {}

    def add(self, kind: FindingKind, text: str, where: str = "") -> None:
        """Note one finding; `text` is one sentence, `where` names the element."""
        key = (kind, text)
        if key not in self._met and sum(k is kind for k, _ in self._met) >= _MOST_OF_A_KIND:
            key = (kind, "There is more of the same kind.")
        places = self._met.setdefault(key, [])
        if where and where not in places and len(places) < 3:
            places.append(where)
        self._counts[key] = self._counts.get(key, 0) + 1

    def findings(self) -> tuple[Finding, ...]:
        """All that was noted."""
        found = []
        for (kind, text), places in self._met.items():
            more = self._counts[kind, text] - len(places)
            where = ", ".join(places) + (f" and {more} more" if places and more > 0 else "")
            found.append(Finding(kind, text, where))
        return tuple(found)


def nothing_drawn(
    file: InputFile, layers: Sequence[Layer], picked: Sequence[str], left_out: Sequence[Finding] = ()
) -> InputUnfit:
    """The refusal of a file that shows nothing: its `layers`, the names that were `picked`, what isn't printed."""
    if picked:
        return InputUnfit(f"{file.name}: nothing is drawn in the layers asked for", Remedy(Action.CHOOSE_OTHER_LAYERS))
    hidden = [layer.name for layer in layers if not layer.shown]
    if hidden:
        return InputUnfit(
            f"{file.name}: nothing is drawn outside its hidden layers", Remedy(Action.SHOW_LAYER, (hidden[0],))
        )
    if left_out:
        return InputUnfit(f"{file.name}: nothing that prints is drawn in it. {left_out[0].text}")
    return InputUnfit(f"{file.name}: there is nothing drawn in it; save the drawing with its lines.")


def rate_without_effect(what: str) -> Finding:
    """Says that the px to the inch given changed nothing, because `what` states its size itself."""
    return Finding(
        FindingKind.SIZE_ASSUMED, f"{what} states its size in real units", remedy=Remedy(Action.LEAVE_RATE_OUT)
    )


def names_in_boxes(pattern: Pattern, title: str = "", date: str = "") -> tuple[Finding, ...]:
    """One for each name on our own pages that no font at hand can write.

    Args:
        pattern: its title, pieces and picked layers are named there.
        title: in place of its own, if any.
        date: printed beside them.
    """
    named = [("title", title or pattern.title), ("date", date), *(("layer", name) for name in pattern.picked)]
    named += [(f"piece {piece.ident}", piece.title) for piece in pattern.pieces]
    return tuple(
        Finding(
            FindingKind.GLYPH_MISSING,
            f"No font at hand can write the name '{name[:60]}', so boxes stand for it on our pages; give another, or "
            "install a font that has its letters.",
            where,
        )
        for where, name in named
        if missing_glyphs(name)
    )
