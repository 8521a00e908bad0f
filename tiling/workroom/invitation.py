"""A phone's invitation: for a quarter of an hour, for the first one that comes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from tiling.workroom.jobs import Job
from tiling.workroom.keys import fits, fresh

__all__ = ["Invitation"]

_UNREAD = 3
"""Photos that may wait to be read."""


@dataclass(slots=True)
class Invitation:
    """One invitation.

    Attributes:
        wishes: what is asked of each photo; see `tiling.workroom.jobs_asked.check`. With ``printed``, the name of a
            file whose pages were taped, they are photos of the taped sheet.
        keep_photos: whether they are kept in the folder.
        until: when it ends.
        key: what its link carries.
        device: what the first phone that came is known by; empty before.
        jobs: the photos it sent, oldest first.
    """

    wishes: Mapping[str, Any]
    keep_photos: bool
    until: datetime
    key: str = field(default_factory=fresh)
    device: str = ""
    jobs: list[Job] = field(default_factory=list)

    @property
    def printed(self) -> str:
        """The file whose pages were taped, where the photos are of these; empty where they are of the test page."""
        return str(self.wishes.get("printed") or "")

    @property
    def over(self) -> bool:
        """Whether its time is up."""
        return datetime.now(UTC) >= self.until

    def welcome(self, device: str | None) -> str | None:
        """Let in the first phone, or the same one again: what it is known by, or None for another one."""
        if not self.device:
            self.device = fresh()
            return self.device
        return self.device if fits(device, self.device) else None

    def admits(self, device: str | None) -> bool:
        """Whether this is the phone that came first."""
        return bool(self.device) and fits(device, self.device)

    @property
    def busy(self) -> bool:
        """Whether so many photos wait that no other is taken."""
        return sum(not job.ended for job in self.jobs) >= _UNREAD
