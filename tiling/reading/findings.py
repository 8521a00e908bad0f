"""Collecting findings while a file is read: the same cause is told once, with how often it was met."""

from __future__ import annotations

from tiling.pattern import Finding, FindingKind

__all__ = ["FindingLog"]

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
