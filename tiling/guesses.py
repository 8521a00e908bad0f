"""A guess: a value, how sure it is, and why. Nothing is taken silently."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, TypeVar

__all__ = ["SURE", "Guess"]

SURE = 0.7
"""Guesses at least so sure are taken; the others are asked about."""

T_co = TypeVar("T_co", covariant=True)


@dataclass(frozen=True, slots=True)
class Guess(Generic[T_co]):
    """A value, how sure it is (0 to 1: the share of such guesses that would be right), and why, in a few words."""

    value: T_co
    sure: float
    why: str

    @property
    def stands(self) -> bool:
        """Whether it is taken without asking."""
        return self.sure >= SURE
