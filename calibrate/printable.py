"""Texts from files and people, made fit to be shown: nothing in them steers a terminal or turns the writing round."""

from __future__ import annotations

__all__ = ["one_line", "printable", "single_spaced"]


def printable(text: str, instead: str = "?", kept: str = "") -> str:
    """The text with `instead` for every character that can't be printed, but for those in `kept`."""
    return "".join(c if c.isprintable() or c in kept else instead for c in text)


def one_line(text: str) -> str:
    """The text on one line, with a question mark for every character that can't be printed."""
    return printable(text.replace("\n", " "))


def single_spaced(text: str) -> str:
    """The text on one line, its words one space apart, without characters that can't be printed."""
    return " ".join(printable(text, " ").split())
