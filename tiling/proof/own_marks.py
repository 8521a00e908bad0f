"""Our own marks on a page as PDFium sees it: the objects inside our marked content."""

from __future__ import annotations

from ctypes import c_ulong, c_ushort

import pypdfium2
import pypdfium2.raw as pdfium

from tiling.planning.page_space import MARKS_TAG

__all__ = ["drop_own_marks", "own_marks"]

_LONGEST = 32
"""Letters of a tag that are read; a longer one is none of ours."""


def own_marks(page: pypdfium2.PdfPage) -> list[pypdfium2.PdfObject]:
    """What shows our marks on a tile's page; nothing on a page that is wholly ours."""
    return [part for part in page.get_objects(max_depth=1) if _is_own(part)]


def drop_own_marks(page: pypdfium2.PdfPage) -> None:
    """Take our marks off a tile's page (in memory)."""
    for part in own_marks(page):
        page.remove_obj(part)
        # What is taken off its page is ours to close, before its document.
        part.close()


def _is_own(part: pypdfium2.PdfObject) -> bool:
    marks = (pdfium.FPDFPageObj_GetMark(part, index) for index in range(pdfium.FPDFPageObj_CountMarks(part)))
    return any(_name(mark) == MARKS_TAG[1:] for mark in marks)


def _name(mark: object) -> str:
    letters, length = (c_ushort * _LONGEST)(), c_ulong()
    pdfium.FPDFPageObjMark_GetName(mark, letters, 2 * _LONGEST, length)
    return "".join(map(chr, letters[: max(length.value // 2 - 1, 0)]))
