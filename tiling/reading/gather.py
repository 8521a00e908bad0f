"""Reading what the person gives: one drawing or several, SVG or PDF, with the notes beside them, as one layout."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations
from pathlib import PurePath

from calibrate.run import Run
from tiling.failures import Action, InputUnfit, Remedy
from tiling.files.inputs import InputFile
from tiling.notes import Notes
from tiling.pattern import Finding, FindingKind, Mark, Pattern, SizeBasis, layers_by_name, pieces_of, unused_name
from tiling.reading.findings import rate_without_effect
from tiling.reading.notes import read_notes
from tiling.reading.notes_check import check_notes
from tiling.reading.options import LONGEST_TITLE, ReadOptions
from tiling.reading.roles import with_roles, with_seen
from tiling.reading.svg_guard import is_svg
from tiling.reading.true_size import at_true_size
from tiling.shapes import Affine, Point, Size

__all__ = ["GAP", "ReadOptions", "gather", "is_pdf", "read_drawing", "read_drawings"]

GAP = 20.0
"""Free space between drawings or pages laid below one another, mm."""

_CERTAINTY = (SizeBasis.PIXELS, SizeBasis.GIVEN, SizeBasis.STATED)


def read_drawing(drawing: InputFile, options: ReadOptions = ReadOptions(), run: Run = Run()) -> Pattern:
    """One drawing with its notes; a PDF's pages are laid below one another.

    Raises:
        InputUnfit: the file is neither SVG nor PDF, can't be read, or its notes don't fit it.
        Cancelled: the run is to end.
    """
    return read_drawings([drawing], options, run)


def read_drawings(drawings: Sequence[InputFile], options: ReadOptions = ReadOptions(), run: Run = Run()) -> Pattern:
    """Several drawings below one another as one layout, with their notes.

    Raises:
        InputUnfit: one of them can't be read, or the notes name what is in none of them.
        Cancelled: the run is to end.
    """
    pages: list[Pattern] = []
    first: dict[str, int] = {}
    for done, drawing in enumerate(drawings, 1):
        first[_stem(drawing.name)] = len(pages)
        pages += _pages_of(drawing, options, run)
        run.step("Reading, drawing", done, len(drawings))
    pattern = replace(gather(at_true_size(pages, options, GAP)), picked=options.layers)
    if options.notes:
        # A drawing's own notes lie beside it; others speak of the whole layout.
        corners = {stem: pattern.sheets[number].place.corner for stem, number in first.items()}
        each = [_laid(notes, pattern, corners.get(_stem(notes.file))) for notes in map(read_notes, options.notes)]
        drawn_in = [line for notes in each for line in notes.lines]
        pattern = with_seen(pattern, [line for notes in each for line in notes.pointed], drawn_in, run)
        pattern = _noted(pattern, _merged([check_notes(notes, pattern, drawn_in) for notes in each]))
    return with_roles(pattern, run)


def _stem(name: str) -> str:
    return str(PurePath(name).with_suffix(""))


def _laid(notes: Notes, pattern: Pattern, corner: Point | None) -> Notes:
    """The notes with their lines where their drawing lies on the layout; they were measured in it as it stands."""
    origin = corner or Point(0.0, 0.0)
    return replace(
        notes,
        lines=tuple(replace(line, origin=origin, scale=pattern.scale) for line in notes.lines),
        pointed=tuple(replace(line, origin=origin, scale=pattern.scale) for line in notes.pointed),
    )


def _pages_of(drawing: InputFile, options: ReadOptions, run: Run) -> list[Pattern]:
    """The file's pages by what it is, not by what it is called."""
    head = drawing.content[:4096]
    if is_pdf(drawing):
        from tiling.reading.pdf import read_pdf  # noqa: PLC0415 - an SVG needs none of the PDF libraries

        pages = read_pdf(drawing, pages=options.pages, layers=options.layers, run=run)
        if options.px_per_inch is not None:
            pages[0] = replace(pages[0], findings=(*pages[0].findings, rate_without_effect("A PDF")))
        return pages
    if is_svg(head):
        if options.pages and set(options.pages) != {1}:
            raise InputUnfit(f"{drawing.name}: an SVG has one page only", Remedy(Action.LEAVE_PAGES_OUT))
        from tiling.reading.svg import read_svg  # noqa: PLC0415 - a PDF needs none of the SVG libraries

        return [read_svg(drawing, options, run)]
    if not head:
        raise InputUnfit(f"{drawing.name}: the file is empty; save the drawing again.")
    raise InputUnfit(
        f"{drawing.name}: is neither an SVG nor a PDF drawing, whatever its name says; save the pattern as one of them."
    )


def is_pdf(drawing: InputFile) -> bool:
    """Whether a PDF's header stands in the first 1024 bytes (ISO 32000-1, Annex H, implementation note 13)."""
    return b"%PDF-" in drawing.content[:1024]


def _check_agreement(one: Notes, other: Notes) -> None:
    """Two files say nothing that could mean either's.

    Raises:
        InputUnfit: they do.
    """
    for ident in other.pieces:
        if ident in one.pieces:
            raise InputUnfit(
                f"{other.file}: speaks of the piece '{ident}', and so does {one.file}", Remedy(Action.ONE_NOTES)
            )
    for first, second in ((one, other), (other, one)):
        measures = {measure.casefold() for measure in second.drawn_for}
        for name in first.rules:
            if name.casefold() in measures:
                raise InputUnfit(
                    f"{first.file}: the rule '{name}' has the name of a body measure in {second.file}; give the rule "
                    "another name."
                )
    for name, rule in other.rules.items():
        if one.rules.get(name, rule) != rule:
            raise InputUnfit(
                f"{other.file}: the rule '{name}' says something else than in {one.file}; give one of them another "
                "name."
            )


def _merged(notes: Sequence[Notes]) -> Notes:
    """The notes of several drawings as one; the first one's title and wearer hold.

    Raises:
        InputUnfit: two of them speak of the same piece, or a name means one thing here and another there.
    """
    whole = notes[0]
    for one, other in combinations(notes, 2):
        _check_agreement(one, other)
    for other in notes[1:]:
        whole = replace(
            whole,
            drawn_for={**other.drawn_for, **whole.drawn_for},
            ease={**other.ease, **whole.ease},
            gained={**other.gained, **whole.gained},
            pieces={**whole.pieces, **other.pieces},
            seams=(*whole.seams, *other.seams),
            notions=(*whole.notions, *other.notions),
            steps=(*whole.steps, *other.steps),
            lines=(*whole.lines, *other.lines),
            pointed=(*whole.pointed, *other.pointed),
            rules={**other.rules, **whole.rules},
            outdated=(*whole.outdated, *other.outdated),
            left_out=(*whole.left_out, *other.left_out),
        )
    return whole


def _noted(pattern: Pattern, notes: Notes) -> Pattern:
    renamed = [
        Finding(FindingKind.NOTES_KEY_RENAMED, f"is called {key} now; change the key's name.", where)
        for where, key in notes.outdated
    ]
    deleted = [
        Finding(
            FindingKind.NOTES_WITHOUT_PIECE,
            f"the drawing has no piece '{piece}', so what the notes say of it is left out; delete that if it is gone.",
            where,
        )
        for where, piece in notes.left_out
    ]
    titles = {note.ident: note.title for note in notes.pieces.values() if note.title}
    pieces = tuple(replace(piece, title=titles.get(piece.ident, piece.title)) for piece in pattern.pieces)
    title = notes.title[:LONGEST_TITLE] or pattern.title
    return replace(pattern, notes=notes, title=title, pieces=pieces, findings=(*pattern.findings, *renamed, *deleted))


def gather(patterns: Sequence[Pattern]) -> Pattern:
    """Several patterns as one, each `GAP` below the one before; a piece id used twice gets a number.

    Raises:
        InputUnfit: there are none.
    """
    if not patterns:
        raise InputUnfit("There is no page to read", Remedy(Action.CHOOSE_OTHER_PAGES))
    if len(patterns) == 1:
        return patterns[0]
    placed = []
    top = 0.0
    first_mark = 0
    used: set[str] = set()
    for pattern in patterns:
        placed.append(_placed(pattern, top, first_mark, used))
        used.update(piece.ident for piece in placed[-1].pieces)
        top += pattern.size.height + GAP
        first_mark += len(pattern.marks)
    return _joined(placed, Size(max(p.size.width for p in patterns), top - GAP))


def _placed(pattern: Pattern, top: float, first_mark: int, used: set[str]) -> Pattern:
    """The pattern moved down to `top`, with piece ids that nobody has used."""
    move = Affine.shift(0.0, top)
    names = {piece.ident: unused_name(piece.ident, used) for piece in pattern.pieces}
    marks = tuple(_renamed(mark.moved(move) if top else mark, names) for mark in pattern.marks)
    sheets = tuple(
        replace(
            sheet,
            place=sheet.place.moved(0.0, top),
            to_layout=move @ sheet.to_layout,
            first_mark=sheet.first_mark + first_mark,
        )
        for sheet in pattern.sheets
    )
    pieces = tuple(replace(piece, ident=names[piece.ident]) for piece in pattern.pieces)
    return replace(pattern, marks=marks, sheets=sheets, pieces=pieces)


def _renamed(mark: Mark, names: dict[str, str]) -> Mark:
    piece = mark.tag.piece
    new = names.get(piece, piece)
    return mark if new == piece else replace(mark, tag=replace(mark.tag, piece=new))


def _joined(patterns: Sequence[Pattern], size: Size) -> Pattern:
    marks = tuple(mark for pattern in patterns for mark in pattern.marks)
    titles = {piece.ident: piece.title for pattern in patterns for piece in pattern.pieces}
    least = min(patterns, key=lambda pattern: _CERTAINTY.index(pattern.size_basis))
    return replace(
        patterns[0],
        size=size,
        marks=marks,
        pieces=pieces_of(marks, titles),
        layers=layers_by_name(layer for pattern in patterns for layer in pattern.layers),
        sheets=tuple(sheet for pattern in patterns for sheet in pattern.sheets),
        size_basis=least.size_basis,
        px_per_inch=least.px_per_inch,
        findings=tuple(_located(finding, pattern) for pattern in patterns for finding in pattern.findings),
    )


def _located(finding: Finding, pattern: Pattern) -> Finding:
    """The finding with its sheet's name, so that it can be told from the others'."""
    name = pattern.sheets[0].name if pattern.sheets else pattern.title
    if name in finding.where:
        return finding
    return replace(finding, where=f"{name}: {finding.where}" if finding.where else name)
