"""Deciding: papers, the layout of pieces, the grid of tiles, fewest pages, and which tiles changed."""
