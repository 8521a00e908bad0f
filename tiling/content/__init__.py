"""A PDF page's content as objects with known places, so that a page prints only what touches it."""

from tiling.content.artwork import Artwork, Item, Numbering
from tiling.content.layers import LayerChoice
from tiling.content.scene import ItemKind

__all__ = ["Artwork", "Item", "ItemKind", "LayerChoice", "Numbering"]
