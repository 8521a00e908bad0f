"""What of a PDF is not printed, or could not be read as drawn."""

from __future__ import annotations

from collections import Counter

from pypdf import PageObject
from pypdf.generic import ArrayObject, DictionaryObject

from tiling.content import Artwork
from tiling.content.boxes import page_frame
from tiling.content.streams import resolved, word
from tiling.pattern import Finding, FindingKind

__all__ = ["document_findings", "page_findings"]

_UNSEEN = {"/Link", "/Popup"}
_HIDDEN_OR_NOVIEW = 2 | 32


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
    dropped = _annotations(page)
    if dropped:
        listed_kinds = ", ".join(f"{count} × {kind}" for kind, count in sorted(dropped.items()))
        text = f"Notes, stamps and form fields laid over the page are not printed: {listed_kinds}."
        found.append(Finding(FindingKind.ANNOTATION_DROPPED, text, where))
    return found


def _annotations(page: PageObject) -> Counter[str]:
    """Annotations that a viewer shows, by subtype."""
    kinds: Counter[str] = Counter()
    listed = resolved(page.get("/Annots"))
    for raw in listed if isinstance(listed, ArrayObject) else []:
        note = resolved(raw)
        if not isinstance(note, DictionaryObject):
            continue
        kind = word(note.get("/Subtype"))
        flags = word(note.get("/F"))
        hidden = flags.isdigit() and int(flags) & _HIDDEN_OR_NOVIEW
        if kind not in _UNSEEN and not hidden and "/AP" in note:
            kinds[kind.lstrip("/") or "unnamed"] += 1
    return kinds
