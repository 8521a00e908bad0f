"""What of a PDF is not printed, or could not be read as drawn."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np
from pypdf import PageObject
from pypdf.generic import ArrayObject, DictionaryObject

from calibrate.papers import PAPERS, Paper
from calibrate.printable import printable
from tiling.content import Artwork
from tiling.content.annotations import Overlay
from tiling.content.boxes import page_frame
from tiling.content.state import Param
from tiling.content.streams import resolved, word
from tiling.failures import Action, Remedy
from tiling.pattern import Finding, FindingKind
from tiling.shapes import Size

__all__ = ["PRINT_PLAN", "document_findings", "overlay_findings", "page_findings", "pages_already"]

PRINT_PLAN = "print-plan.json"
"""The name under which our own pages carry their plan as an attachment."""

_HOME_PAPERS = tuple(PAPERS[name] for name in ("a4", "letter", "legal", "a3", "tabloid", "a5"))
_ROUNDED = 1.0
"""mm; programs round pages to whole points, or more."""
_FEWEST = 4
"""Pages of one home paper that make a cut pattern rather than a few pieces with a page each."""


def document_findings(catalogue: DictionaryObject, repair: str, where: str) -> list[Finding]:
    """Repairs, scripts and attached files, which all stay behind."""
    found = [Finding(FindingKind.CONTENT_REPAIRED, repair, where)] if repair else []
    names = resolved(catalogue.get("/Names"))
    names = names if isinstance(names, DictionaryObject) else DictionaryObject()
    action = resolved(catalogue.get("/OpenAction"))
    runs = isinstance(action, DictionaryObject) and word(action.get("/S")) in ("/JavaScript", "/Launch")
    if "/JavaScript" in names or "/AA" in catalogue or runs:
        found.append(Finding(FindingKind.SCRIPT_DROPPED, "The file's scripts and actions are not carried over.", where))
    if "/EmbeddedFiles" in names:
        found.append(Finding(FindingKind.NOT_CARRIED, "Files attached to the PDF are not carried over.", where))
    return found


def pages_already(catalogue: DictionaryObject, sizes: Sequence[Size], where: str) -> list[Finding]:
    """A finding where the file is a drawing that was cut into pages before, by its plan or by its looks.

    Args:
        catalogue: of the PDF.
        sizes: of all its pages that are to be printed, mm.
        where: the file's name.
    """
    names = resolved(catalogue.get("/Names"))
    attached = resolved(names.get("/EmbeddedFiles")) if isinstance(names, DictionaryObject) else None
    listed = resolved(attached.get("/Names")) if isinstance(attached, DictionaryObject) else None
    below = ", laid one below the other here; print that file itself" if len(sizes) > 1 else "; print that file itself"
    if isinstance(listed, ArrayObject) and any(str(resolved(name)) == PRINT_PLAN for name in listed[::2]):
        text = f"These are pages that pageseam made already{below}"
    else:
        paper = next((paper for paper in _HOME_PAPERS if all(_is_on(size, paper) for size in sizes)), None)
        if len(sizes) < _FEWEST or paper is None:
            return []
        text = f"Its {len(sizes)} pages are all {paper.label}, and look like a drawing that is cut already{below}"
    return [Finding(FindingKind.PAGES_ALREADY, text, where, Remedy(Action.CHOOSE_PAGE_ALONE))]


def _is_on(size: Size, paper: Paper) -> bool:
    """Whether a page is a sheet of that paper, whichever way up."""
    sides = zip(sorted((size.width, size.height)), sorted((paper.width, paper.height)), strict=True)
    return all(abs(one - other) < _ROUNDED for one, other in sides)


def page_findings(page: PageObject, artwork: Artwork, where: str) -> list[Finding]:
    """Notes on one page."""
    found: list[Finding] = []
    note = page_frame(page).note
    if note:
        found.append(Finding(FindingKind.SIZE_ASSUMED, f"{note[0].upper()}{note[1:]}.", where))
    if artwork.repairs:
        text = f"The content is malformed ({', '.join(artwork.repairs)}); it was read as viewers read it."
        found.append(Finding(FindingKind.CONTENT_REPAIRED, text, where))
    if artwork.missing:
        listed = [*artwork.missing[:5], *(["more"] if len(artwork.missing) > 5 else [])]
        text = f"The page uses what the file doesn't hold: {', '.join(listed)}."
        found.append(Finding(FindingKind.REFERENCE_MISSING, text, where))
    if artwork.beyond:
        text = f"Objects wholly outside the page's visible box are not printed ({artwork.beyond})."
        found.append(Finding(FindingKind.NOTHING_BEYOND_PAGE, text, where))
    dots = _dots(artwork)
    if dots:
        text = (
            f"Lines without a length and without round ends ({dots}) are carried over as they are: some programs show a"
            " dot for each, others nothing."
        )
        found.append(Finding(FindingKind.DRAWN_DIFFERENTLY, text, where))
    return found


def _dots(artwork: Artwork) -> int:
    """How many stroked paths have no length and ends that are cut or square (ISO 32000-2, 8.5.3.2)."""
    x0, y0, x1, y1 = artwork.table.hulls.T
    dots = frozenset(np.flatnonzero((x0 == x1) & (y0 == y1)).tolist())
    found = (one for one in artwork.drawn if one.run in dots and one.paint not in (b"f", b"f*")) if dots else ()
    return sum(one.state[Param.CAP] != b"1 J" and len(artwork.table.path(one.run).ops) > 1 for one in found)


def overlay_findings(overlay: Overlay, where: str) -> list[Finding]:
    """Which annotations of a page stay behind, and why."""
    found: list[Finding] = []
    if overlay.screen_only:
        text = (
            "Notes, links and form fields that the file shows on the screen, but keeps from being printed, are not"
            f" printed: {_counted(overlay.screen_only)}."
        )
        found.append(Finding(FindingKind.ANNOTATION_DROPPED, text, where))
    if overlay.undrawn:
        text = (
            "Notes, stamps or form fields of which the file has no picture, so that each viewer draws its own, are not"
            f" printed: {_counted(overlay.undrawn)}; print the page to a new PDF from a viewer that shows them."
        )
        found.append(Finding(FindingKind.ANNOTATION_DROPPED, text, where))
    return found


def _counted(kinds: Counter[str]) -> str:
    return ", ".join(f"{count} × {printable(kind[:30])}" for kind, count in sorted(kinds.items()))
