"""All that a drawing shows, taken apart once: strands, rings, texts, and the words that are read in them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import shapely

from tiling.pattern import Pattern
from tiling.recognition.strands import Ring, Strand, rings_of, strands_of
from tiling.recognition.texts import TextSeen, lengths_in, texts_of
from tiling.shapes import Box, Size
from tiling.words import Words

__all__ = ["Scene"]


@dataclass(frozen=True, eq=False)
class Scene:
    """A drawing as its strands, the rings they make, its texts, and the words of its languages.

    `size` is the sheet's.
    """

    strands: tuple[Strand, ...]
    rings: tuple[Ring, ...]
    texts: tuple[TextSeen, ...]
    words: Words
    size: Size

    @classmethod
    def of(cls, pattern: Pattern) -> Scene:
        """The pattern taken apart."""
        strands = strands_of(pattern.marks)
        texts = texts_of(pattern.marks)
        words = Words.of([*(text.text for text in texts), *(layer.name for layer in pattern.layers)])
        return cls(tuple(strands), tuple(rings_of(strands)), tuple(texts), words, pattern.size)

    @cached_property
    def ink(self) -> Box | None:
        """The upright box around all strands."""
        return Box.around(strand.box for strand in self.strands)

    def texts_in(self, ring: Ring) -> list[TextSeen]:
        """The texts whose middle lies in a ring."""
        if not self.texts:
            return []
        return [self.texts[k] for k in sorted(self._middles.query(ring.polygon, predicate="contains").tolist())]

    @cached_property
    def lengths_said(self) -> list[tuple[TextSeen, list[float]]]:
        """The texts that say lengths, with those, mm."""
        return [(text, lengths) for text in self.texts if (lengths := lengths_in(text.text))]

    @cached_property
    def _middles(self) -> shapely.STRtree:
        return shapely.STRtree([shapely.Point(text.middle.x, text.middle.y) for text in self.texts])
