"""Keys: what opens the workroom, and what a phone is invited with."""

from __future__ import annotations

import secrets

__all__ = ["fits", "fresh"]

_BYTES = 32


def fresh() -> str:
    """A key that nobody guesses, in letters that stand in a link."""
    return secrets.token_urlsafe(_BYTES)


def fits(given: str | None, key: str) -> bool:
    """Whether a key that was given is the right one; the time it takes tells nothing."""
    return given is not None and secrets.compare_digest(given.encode(), key.encode())
