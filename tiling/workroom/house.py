"""One workroom: its folder, its desks and jobs, who listens, and the phone that is invited."""

from __future__ import annotations

import asyncio
import hashlib
from collections.abc import AsyncIterator, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from calibrate.run import Cancelled
from tiling.failures import PageseamError
from tiling.files.inputs import Artifact, InputFile, InputKind
from tiling.workroom.desks import Answer, Desk, DeskBounds
from tiling.workroom.errors import ChangedMeanwhile, Overtaken
from tiling.workroom.folder import WorkFolder, notes_name
from tiling.workroom.inviting import Invitations
from tiling.workroom.jobs import Job, Jobs
from tiling.workroom.measuring import check_order
from tiling.workroom.taped_photos import TapedPhotos, taped_order

__all__ = ["House", "digest"]

_LISTENERS = 32
_BEHIND = 200
"""Events that may wait for a listener; who is slower is sent away and comes back."""

_LOOK = 2.0
"""Seconds between two looks at the folder while somebody listens."""


class House:
    """Everything that the two sites of a workroom, the person's and the phone's, have in common."""

    def __init__(self, path: Path, bounds: DeskBounds = DeskBounds(), phone_address: str = "") -> None:
        self.folder = WorkFolder(path)
        self.jobs = Jobs(bounds, self._job_stands_otherwise)
        self.taped = TapedPhotos()
        self.invitations = Invitations(self.take_photo, self._invitation_stands_otherwise, phone_address)
        # One for what is shown, which may take a while, and one for what follows a slider.
        self._desks = {"scene": Desk(bounds), "seen": Desk(bounds), "live": Desk(bounds)}
        self._newest: dict[tuple[str, str], int] = {}
        self._turns = {name: asyncio.Lock() for name in self._desks}
        self._listeners: set[asyncio.Queue[Mapping[str, Any] | None]] = set()
        self._writing = asyncio.Lock()
        self._known: object = None

    async def start(self) -> None:
        """Start the desks ahead of the first question."""
        await asyncio.gather(*(desk.start() for desk in self._desks.values()))

    async def close(self) -> None:
        """End all that runs."""
        for listener in self._listeners:
            _put(listener, None)
        await self.invitations.end()
        await self.jobs.close()
        await asyncio.gather(*(desk.close() for desk in self._desks.values()))

    async def ask(self, desk: str, call: str, values: Mapping[str, Any], files: Mapping[str, Sequence[InputFile]],
                  of: str = "") -> Answer:  # fmt: skip
        """Have a question answered at once.

        Args:
            desk: ``scene``, ``seen`` or ``live``.
            call: see `tiling.workroom.answers`.
            values: what is asked.
            files: what it is about.
            of: who asks; of each one's questions of a kind only the newest waits. Empty: each is answered.

        Raises:
            Overtaken: a newer one came.
            PageseamError: as the desk says.
        """
        key = (of, call)
        number = self._newest[key] = self._newest.get(key, 0) + 1
        async with self._turns[desk]:
            if of and self._newest[key] != number:
                raise Overtaken("overtaken by a newer question.")
            try:
                return await self._desks[desk].ask(call, values, files)
            except Cancelled:
                raise Overtaken("called off.") from None

    async def files_of(self, drawing: str, **others: str) -> dict[str, Sequence[InputFile]]:
        """A drawing with its notes, and other files by what they are for, as a question takes them.

        Raises:
            InputUnfit: one is not there or can't be read.
        """

        def read() -> dict[str, Sequence[InputFile]]:
            found: dict[str, Sequence[InputFile]] = {"drawings": [self.folder.read(drawing)]}
            notes = self.folder.notes_of(drawing)
            found["notes"] = [] if notes is None else [notes]
            for use, name in others.items():
                if name:
                    kind = InputKind.PRINTED if use == "printed" else InputKind.DRAWING
                    found[use] = [self.folder.read(name, kind)]
            if others.get("before"):
                before = self.folder.notes_of(others["before"])
                found["before_notes"] = [] if before is None else [before]
            return found

        return await asyncio.to_thread(read)

    async def write_notes(self, drawing: str, base: str, text: str | None, changes: Sequence[Any],
                          reading: Any) -> dict[str, str]:  # fmt: skip
        """Change the notes beside a drawing.

        Args:
            drawing: its name.
            base: `digest` of the notes that the page knows.
            text: the notes as they are to be, or None for `changes` to be made.
            changes: see `tiling.workroom.noted`.
            reading: how the drawing is read.

        Returns:
            ``text``, ``base`` and ``before``, the text that was there.

        Raises:
            ChangedMeanwhile: they are not what the page knows.
            DeskRefused: they can't be read so.
        """
        async with self._writing:
            files = await self.files_of(drawing)
            before = b"".join(one.content for one in files["notes"])
            if digest(before) != base:
                raise ChangedMeanwhile("the notes were changed meanwhile, on another page or by hand; look again.")
            if text is not None:
                files["notes"] = [InputFile(notes_name(drawing), text.encode())] if text else []
            values = {"reading": reading, "name": notes_name(drawing), "changes": list(changes)}
            answer = await self.ask("seen", "note", values, files)
            made = str(answer.values["text"])
            await asyncio.to_thread(self._keep_notes, drawing, made)
        self.tell({"kind": "notes", "file": drawing, "base": digest(made.encode())})
        return {"text": made, "base": digest(made.encode()), "before": before.decode("utf-8-sig")}

    def _keep_notes(self, drawing: str, text: str) -> None:
        if text:
            self.folder.publish([Artifact(notes_name(drawing), text.encode())], replace=True)
        else:
            self.folder.remove_notes(drawing)

    def tell(self, event: Mapping[str, Any]) -> None:
        """Tell all pages."""
        for listener in list(self._listeners):
            if not _put(listener, event):
                self._listeners.discard(listener)

    async def events(self) -> AsyncIterator[Mapping[str, Any] | None]:
        """What happens from now on; None whenever nothing did for a while.

        Raises:
            PageseamError: too many listen.
        """
        if len(self._listeners) >= _LISTENERS:
            raise PageseamError("the workroom is open too many times; close some of its pages.")
        queue: asyncio.Queue[Mapping[str, Any] | None] = asyncio.Queue(_BEHIND)
        self._listeners.add(queue)
        try:
            # What is made before the first look would otherwise be taken for what was there.
            await self._look()
            yield None
            while queue in self._listeners:
                try:
                    async with asyncio.timeout(_LOOK):
                        event = await queue.get()
                except TimeoutError:
                    await self._look()
                    yield None
                    continue
                if event is None:
                    return
                yield event
        finally:
            self._listeners.discard(queue)

    async def _look(self) -> None:
        """Tell of a folder that changed, by our hand or another's."""
        with suppress(OSError):
            now = await asyncio.to_thread(self.folder.listed)
            if self._known is not None and now != self._known:
                self.tell({"kind": "folder", **await asyncio.to_thread(self.folder.values)})
            self._known = now

    def measure(self, photo: InputFile | None, wishes: Mapping[str, Any], *, keep_photo: bool = False) -> Job:
        """Have a printer measured, from a photo or from a ruler's figures among the wishes.

        With a printer's name among them, what is measured is kept under it.
        """
        return self.jobs.begin(check_order(self.folder, photo, wishes, self._printers_stand_otherwise, keep_photo))

    async def take_photo(
        self, photo: InputFile, wishes: Mapping[str, Any], *, keep_photo: bool = False, moved: bool = False
    ) -> Job:
        """Have a phone's photo read: of the taped sheet where its wishes name printed pages, else of the test page."""
        if wishes.get("printed"):
            return await self.look_at_taped(photo, wishes, moved=moved)
        return self.measure(photo, wishes, keep_photo=keep_photo)

    async def look_at_taped(self, photo: InputFile, wishes: Mapping[str, Any], *, moved: bool = False) -> Job:
        """Have a photo of the taped sheet read, together with those that came before.

        Args:
            photo: of the sheet.
            wishes: ``printed``, the file whose pages it shows, and ``printer``.
            moved: whether pages were moved since the photo before, which then tells nothing any more.

        Raises:
            InputUnfit: the file isn't there.
        """
        printed = await asyncio.to_thread(self.folder.printed_with_others, str(wishes["printed"]))
        photos = self.taped.together(printed[0].name, photo, moved=moved)
        job = self.jobs.begin(taped_order(printed, photos, str(wishes.get("printer") or "")))
        self.taped.keep(job, photo)
        return job

    def _printers_stand_otherwise(self) -> None:
        self.tell({"kind": "printers"})

    def _invitation_stands_otherwise(self) -> None:
        self.tell({"kind": "phone", "value": self.invitations.told()})

    def _job_stands_otherwise(self, job: Job) -> None:
        self.tell({"kind": "job", "value": job.told()})


def digest(content: bytes) -> str:
    """What tells one content from another."""
    return hashlib.sha256(content).hexdigest()


def _put(queue: asyncio.Queue[Mapping[str, Any] | None], event: Mapping[str, Any] | None) -> bool:
    try:
        queue.put_nowait(event)
    except asyncio.QueueFull:
        return False
    return True
