"""A PDF page's content as objects with known places, so that a page prints only what touches it."""

from tiling.content.artwork import Artwork

__all__ = ["Artwork"]
