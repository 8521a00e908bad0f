"""The thirty drawings by which understanding is measured: which drafts, drawn in which way."""

from __future__ import annotations

from dataclasses import dataclass

from tests.recognition.conventions import Way, pdf_of, svg_of
from tests.recognition.drafts import (
    Draft,
    apron,
    bodice_back,
    bodice_front,
    gusset,
    pocket,
    skirt_back,
    skirt_front,
    sleeve,
    waistband,
)
from tiling.files.inputs import InputFile

SKIRT = (skirt_front, skirt_back, waistband)
SHIRT = (bodice_front, bodice_back, sleeve, pocket)
APRON = (apron, pocket, gusset)


@dataclass(frozen=True)
class Drawing:
    """One drawing: its name, its drafts where they lie, and how it is drawn."""

    name: str
    drafts: tuple[Draft, ...]
    way: Way
    width: float
    height: float

    def file(self) -> InputFile:
        """The drawing as a program saves it."""
        svg = svg_of(list(self.drafts), self.way, self.width, self.height)
        return InputFile(f"{self.name}.pdf", pdf_of(svg)) if self.way.pdf else InputFile(f"{self.name}.svg", svg)


def _laid(makers: tuple, top: float = 110.0) -> tuple[tuple[Draft, ...], float, float]:  # type: ignore[type-arg]
    placed, x, tall = [], 60.0, 0.0
    for make in makers:
        draft = make()
        ring = draft.ring()
        low, high = ring.min(axis=0), ring.max(axis=0)
        placed.append(draft.moved(x - low[0], top - low[1]))
        x += high[0] - low[0] + 70.0
        tall = max(tall, high[1] - low[1])
    return tuple(placed), x, top + tall + 60.0


def _drawing(name: str, makers: tuple, way: Way) -> Drawing:  # type: ignore[type-arg]
    drafts, width, height = _laid(makers)
    return Drawing(name, drafts, way, width, height)


DRAWINGS = tuple(
    _drawing(name, makers, way)
    for name, makers, way in (
        ("skirt-plain", SKIRT, Way()),
        ("skirt-seam-lines", SKIRT, Way(allowance=15)),
        ("skirt-like-lines", SKIRT, Way(allowance=10, stitching=False)),
        ("skirt-paths", SKIRT, Way(outline="path", grain="parts")),
        ("skirt-gaps", SKIRT, Way(outline="gaps", fold="words")),
        ("skirt-polygons", SKIRT, Way(outline="polygon", grain="filled", language="de")),
        ("skirt-polylines", SKIRT, Way(outline="polyline", fold="chain", language="fr")),
        ("skirt-layers", SKIRT, Way(layers="piece", texts=False)),
        ("skirt-groups", SKIRT, Way(layers="groups", units="px", grain="marker")),
        ("skirt-dashed-fold", SKIRT, Way(outline="path", fold="dashed", language="nl")),
        ("skirt-framed", SKIRT, Way(extras=("frame", "legend"), allowance=12)),
        ("skirt-sizes", SKIRT, Way(sizes=(12, 24), sizes_by="layer")),
        ("skirt-pdf", SKIRT, Way(pdf=True, allowance=15)),
        ("skirt-mute", SKIRT, Way(texts=False, fold="bracket")),
        ("shirt-plain", SHIRT, Way()),
        ("shirt-seam-lines", SHIRT, Way(allowance=15, outline="path", language="de")),
        ("shirt-triangles", SHIRT, Way(notch="triangle", language="es")),
        ("shirt-roles", SHIRT, Way(layers="role", language="it")),
        ("shirt-scaled", SHIRT, Way(units="scaled", grain="parts", language="pt")),
        ("shirt-colours", SHIRT, Way(sizes=(10, 20, 30), sizes_by="colour", language="sv")),
        ("shirt-dashes", SHIRT, Way(sizes=(14,), sizes_by="dash")),
        ("shirt-square", SHIRT, Way(extras=("square", "ruler"), language="pl")),
        ("shirt-pdf", SHIRT, Way(pdf=True, grain="filled", fold="chain")),
        ("shirt-pdf-paths", SHIRT, Way(pdf=True, outline="path", allowance=10)),
        ("shirt-words", SHIRT, Way(grain="words", fold="words")),
        ("apron-plain", APRON, Way()),
        ("apron-framed", APRON, Way(extras=("frame", "square", "legend"), language="fr")),
        ("apron-seam-lines", APRON, Way(allowance=10, outline="polyline", language="nl")),
        ("apron-px", APRON, Way(units="px", grain="filled", language="de")),
        ("apron-pdf", APRON, Way(pdf=True, allowance=15, stitching=False)),
    )
)
