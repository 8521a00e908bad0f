"""The photos of one taped sheet: kept while its joins are mended, and read together whenever one comes.

They stay in memory alone, and only until pages were moved, another sheet is photographed, or the workroom ends.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from tiling.files.inputs import Artifact, InputFile
from tiling.workroom.jobs import PICTURE, Job, JobState, Order

__all__ = ["TapedPhotos", "taped_order"]

_MOST = 4
"""Photos that are read together; of more the oldest are forgotten."""


@dataclass(slots=True)
class TapedPhotos:
    """The photos as they stand.

    Attributes:
        printed: the file whose pages they show.
        photos: with the job that read each first, oldest first.
    """

    printed: str = ""
    photos: list[tuple[Job, InputFile]] = field(default_factory=list)

    def together(self, printed: str, photo: InputFile, *, moved: bool) -> list[InputFile]:
        """Those to be read now, `photo` last, by names that tell them apart.

        Args:
            printed: the file whose pages it shows.
            photo: that came.
            moved: whether pages were moved since the one before.
        """
        if moved or printed != self.printed:
            self.photos.clear()
        self.printed = printed
        # One that could not be read would spoil this one too.
        self.photos = [one for one in self.photos if one[0].state not in {JobState.FAILED, JobState.CANCELLED}]
        found = [*(kept for _, kept in self.photos), photo][-_MOST:]
        return [replace(one, name=f"photo {number}") for number, one in enumerate(found, start=1)]

    def keep(self, job: Job, photo: InputFile) -> None:
        """Keep one for those to come."""
        self.photos = [*self.photos, (job, photo)][-_MOST:]

    def forget(self) -> None:
        """Forget all of them."""
        self.photos.clear()


def taped_order(printed: Sequence[InputFile], photos: Sequence[InputFile], printer: str) -> Order:
    """The job of reading them.

    Args:
        printed: the file whose pages they show, and others that may print pages of the same sheet.
        photos: of one sheet, as it is now.
        printer: the one the pages came from; empty where that isn't known.
    """

    def done(_told: Mapping[str, Any], _made: Sequence[Artifact]) -> Sequence[str]:
        return []

    values = {"printer": printer or None, "picture": PICTURE}
    files = {"photos": list(photos), "printed": printed[:1], "more_printed": printed[1:]}
    return Order("taped", printed[0].name, values, files, done)
