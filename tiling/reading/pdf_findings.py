"""What of a PDF is not printed, or could not be read as drawn."""

from __future__ import annotations

from collections import Counter

from pypdf import PageObject
from pypdf.generic import DictionaryObject

from calibrate.printable import printable
from tiling.content import Artwork
from tiling.content.annotations import Overlay
from tiling.content.boxes import page_frame
from tiling.content.streams import resolved, word
from tiling.pattern import Finding, FindingKind

__all__ = ["document_findings", "overlay_findings", "page_findings"]


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
    return found


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
