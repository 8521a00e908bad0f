"""Drawing a print job's PDF and proving it."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from typing import TYPE_CHECKING

from tiling.drawing.pdf import write_pages
from tiling.files.inputs import Artifact

if TYPE_CHECKING:
    from calibrate.run import Run
    from tiling.drawing.print_job import PrintJob
    from tiling.proof.expectation import Original

__all__ = ["Proof", "finished"]


class Proof(Enum):
    """Whether a written file is opened again and compared with the plan and the source."""

    COMPARED = "compared"
    SKIPPED = "skipped"


def finished(name: str, job: PrintJob, proof: Proof, originals: Sequence[Original], run: Run) -> Artifact:
    """The job's PDF.

    Args:
        name: what to call it.
        job: what goes on which page.
        proof: whether it is proved.
        originals: the source's own pages, where the drawing is a PDF's.
        run: told of every page drawn and compared.

    Raises:
        ProofFailed: it differs from the plan or the source.
        InputUnfit: the source's own content can't be printed.
        Cancelled: by `run`.
    """
    content = write_pages(job, run)
    if proof is Proof.COMPARED:
        from tiling.drawing.expected import expectation_of  # noqa: PLC0415 - the proof is heavy and can be skipped
        from tiling.proof.prove import prove  # noqa: PLC0415

        prove(content, expectation_of(job, originals), run)
    return Artifact(name, content)
