"""The expectation that the file written for a job is proved against."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from tiling.drawing.catalogue import page_names
from tiling.drawing.forms import layout_page
from tiling.drawing.print_job import PrintJob
from tiling.proof.expectation import Expectation, Original

__all__ = ["expectation_of"]


def expectation_of(job: PrintJob, originals: Sequence[Original] = ()) -> Expectation:
    """The plan, the names of the pages and the source, as `tiling.proof.prove` takes them.

    Args:
        job: what was to be printed.
        originals: the source's own pages, where the drawing is a PDF's.
    """
    return Expectation(
        drawing=job.pattern.source,
        plan=job.plan,
        labels=tuple(page_names(job)),
        pages=job.pages,
        square_page=job.square_page,
        parts=job.parts,
        on_one_page=partial(layout_page, job.parts),
        originals=tuple(originals),
    )
