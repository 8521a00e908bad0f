"""Inviting a phone: the listener on the network at home that exists only as long as the invitation."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from typing import Any, Protocol

from tiling.failures import ExitCode, PageseamError
from tiling.files.inputs import InputFile
from tiling.workroom.gate import Gate, GateRules
from tiling.workroom.invitation import Invitation
from tiling.workroom.jobs import Job
from tiling.workroom.listening import Listening, listen_on, own_address
from tiling.workroom.phone import phone_site

__all__ = ["Invitations", "NoNetwork", "TakePhoto"]

LASTS = timedelta(minutes=15)
_AT_ONCE = 24
"""Connections: one phone's, and some that are refused."""


class TakePhoto(Protocol):
    """Has a photo read."""

    async def __call__(
        self, photo: InputFile, wishes: Mapping[str, Any], *, keep_photo: bool = False, moved: bool = False
    ) -> Job:
        """The job that was begun; see `tiling.workroom.house.House.take_photo`."""
        ...


class NoNetwork(PageseamError):
    """There is no network on which a phone could come."""

    exit_code = ExitCode.USAGE


class Invitations:
    """At most one invitation at a time, and the listener on the network that exists only with it."""

    def __init__(self, take_photo: TakePhoto, tell: Callable[[], None], address: str = "") -> None:
        self._take_photo, self._tell, self._address = take_photo, tell, address
        self._now: Invitation | None = None
        self._listening: Listening | None = None
        self._ending: asyncio.Task[None] | None = None

    async def invite(self, wishes: Mapping[str, Any], *, keep_photos: bool, lasts: timedelta = LASTS) -> str:
        """Invite a phone; the one before is invited no more.

        Returns:
            The link that it opens.

        Raises:
            NoNetwork: this machine is on none.
        """
        await self.end()
        address = self._address or own_address()
        if address in {"0.0.0.0", "::"}:
            raise NoNetwork(f"{address}: is every address at once; give the one that the phone reaches.")
        if not address:
            raise NoNetwork(
                "this computer is on no network that a phone could reach; join the same wireless network as the phone, "
                "or copy the photo to this computer and choose it here."
            )
        invitation = Invitation(wishes, keep_photos, datetime.now(UTC) + lasts)
        try:
            sock = listen_on(address)
        except OSError as fault:
            raise NoNetwork(f"{address}: is no address of this computer that can be had ({fault.strerror}).") from None
        host = f"{address}:{sock.getsockname()[1]}"
        rules = GateRules(frozenset({host}), lambda _method, _path, _cookies: True)
        site = phone_site(invitation, self._photo_came, self._tell)
        self._now, self._listening = invitation, Listening(Gate(site, rules), sock, _AT_ONCE)
        await self._listening.start()
        self._ending = asyncio.get_running_loop().create_task(self._end_after(lasts))
        self._tell()
        return f"http://{host}/{invitation.key}/"

    async def end(self) -> None:
        """Invite nobody any more, and listen no longer."""
        if self._ending is not None and self._ending is not asyncio.current_task():
            self._ending.cancel()
        listening, self._listening, self._ending = self._listening, None, None
        if listening is not None:
            await listening.close()
            if self._now is not None:
                self._now.until = datetime.now(UTC)
            self._tell()

    def told(self) -> dict[str, Any]:
        """The invitation as the page is told of it."""
        now = self._now
        if now is None:
            return {"invited": False, "until": None, "came": False, "jobs": [], "printed": ""}
        return {
            "invited": self._listening is not None and not now.over,
            "until": now.until.isoformat(),
            "came": bool(now.device),
            "jobs": [job.ident for job in now.jobs],
            "printed": now.printed,
        }

    async def _end_after(self, lasts: timedelta) -> None:
        await asyncio.sleep(lasts.total_seconds())
        await self.end()

    async def _photo_came(self, invitation: Invitation, photo: InputFile, moved: bool) -> Job:
        job = await self._take_photo(photo, invitation.wishes, keep_photo=invitation.keep_photos, moved=moved)
        invitation.jobs.append(job)
        self._tell()
        return job
