"""What edges are sewn as, where shape and place make it plain: hem, side, waist, armhole, neckline, shoulder, cap."""

from __future__ import annotations

from collections.abc import Sequence

from tiling.recognition.edges import Edge
from tiling.recognition.understanding import Guess

__all__ = ["named_edges"]

_WHY = "its shape and its place in the piece"

_BODICE = {
    "half": ("neckline", "shoulder", "armhole", "side", "hem"),
    "whole": ("neckline", "shoulder", "armhole", "side", "hem", "side", "armhole", "shoulder"),
}


def named_edges(edges: Sequence[Edge], kind: str, fold: Edge | None) -> list[Guess[str]]:
    """A name for each edge; ``edge-1`` and so on where nothing makes it plain.

    Args:
        edges: clockwise on the page.
        kind: what the piece's title names: ``front``, ``back``, ``sleeve``, ``waistband`` …, or nothing.
        fold: the one that lies on the fold.
    """
    names = [Guess(f"edge-{k}", 1.0, "nothing names it") for k in range(1, len(edges) + 1)]
    sewn = [k for k, edge in enumerate(edges) if edge is not fold]
    if fold is not None:
        at = next(k for k, edge in enumerate(edges) if edge is fold)
        names[at] = Guess("fold", 0.9, "it lies on the fold")
        sewn = [(at + step) % len(edges) for step in range(1, len(edges))]
    found: dict[int, str] = {}
    if kind in {"front", "back"}:
        found = _skirt(edges, sewn, fold) or _bodice(edges, sewn, fold)
    elif kind == "sleeve":
        found = _sleeve(edges, sewn, 0.02)
    elif not kind:
        found = _bodice(edges, sewn, fold) or _sleeve(edges, sewn, 0.15)
    for k, name in found.items():
        names[k] = Guess(name, 0.85 if kind else 0.75, _WHY)
    return _numbered(names)


def _skirt(edges: Sequence[Edge], sewn: Sequence[int], fold: Edge | None) -> dict[int, str]:
    """Waist above, hem below, a side between them: three edges beside the fold, or four."""
    if len(sewn) != (3 if fold is not None else 4):
        return {}
    hem, waist = _lowest(edges, sewn), _highest(edges, sewn)
    if hem is None or waist is None or hem == waist:
        return {}
    return {hem: "hem", waist: "waist", **{k: "side" for k in sewn if k not in {hem, waist}}}


def _bodice(edges: Sequence[Edge], sewn: Sequence[int], fold: Edge | None) -> dict[int, str]:
    """Neckline, shoulder, armhole, side, hem in this order round, beside the fold; or both halves of them."""
    hem = _lowest(edges, sewn)
    if hem is None:
        return {}
    if fold is not None:
        if len(sewn) != 5:
            return {}
        order = list(sewn) if hem == sewn[-1] else list(reversed(sewn)) if hem == sewn[0] else []
        return _checked(edges, dict(zip(order, _BODICE["half"], strict=False)))
    if len(sewn) != 8:
        return {}
    at = sewn.index(hem)
    order = [sewn[(at + 4 + step) % 8] for step in range(8)]
    return _checked(edges, dict(zip(order, _BODICE["whole"], strict=True)))


def _checked(edges: Sequence[Edge], names: dict[int, str]) -> dict[int, str]:
    """The names if the shapes bear them: neckline and armholes hollow, shoulders nearly straight and short."""
    for k, name in names.items():
        edge = edges[k]
        if name in {"neckline", "armhole"} and edge.bulge > -0.04:
            return {}
        if name == "shoulder" and (abs(edge.bulge) > 0.08 or edge.length > 260.0):
            return {}
    return names


def _sleeve(edges: Sequence[Edge], sewn: Sequence[int], arched: float) -> dict[int, str]:
    """The cap above, arched; the hem below; an underarm edge on each side."""
    hem = _lowest(edges, sewn)
    if hem is None or len(sewn) not in {4, 5}:
        return {}
    at = sewn.index(hem)
    order = [sewn[(at + step) % len(sewn)] for step in range(len(sewn))]
    caps = order[2:-1]
    if not any(edges[k].bulge > arched for k in caps):
        return {}
    names = {order[0]: "hem", order[1]: "underarm", order[-1]: "underarm"}
    return names | ({caps[0]: "cap"} if len(caps) == 1 else {caps[0]: "cap-left", caps[1]: "cap-right"})


def _lowest(edges: Sequence[Edge], sewn: Sequence[int]) -> int | None:
    """The edge that lies lowest on the page, if it runs more across than down."""
    k = max(sewn, key=lambda k: float(edges[k].line[:, 1].mean()), default=None)
    return k if k is not None and _level(edges[k]) else None


def _highest(edges: Sequence[Edge], sewn: Sequence[int]) -> int | None:
    k = min(sewn, key=lambda k: float(edges[k].line[:, 1].mean()), default=None)
    return k if k is not None and _level(edges[k]) else None


def _level(edge: Edge) -> bool:
    step = edge.line[-1] - edge.line[0]
    return abs(float(step[1])) < 0.6 * abs(float(step[0]))


def _numbered(names: Sequence[Guess[str]]) -> list[Guess[str]]:
    """Names that stand more than once get numbers, in their order."""
    whole = [name.value for name in names]
    result = []
    for k, name in enumerate(names):
        count = whole.count(name.value)
        if count == 1:
            result.append(name)
        else:
            nth = whole[:k].count(name.value) + 1
            result.append(Guess(f"{name.value}-{nth}", name.sure, name.why))
    return result
