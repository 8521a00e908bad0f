"""Drawings that say nothing of their lines, with the truth about them."""
