"""The comparison with other renderers, in short: our own small drawings, and that it sees what is left out or moved."""

from __future__ import annotations

import json

from tests.content.pages import form, pdf_of
from tests.hostile.compare_run import compare_drawing
from tiling.commands.main import run

NOTE = {"/Type": "/Annot", "/F": 4, "/Rect": [30, 30, 270, 170], "/BS": {"/W": 2}}
STAMP = form(b"0 0 40 20 re S", (-1, -1, 41, 21))
NOTES = [
    {**NOTE, "/Subtype": "/PolyLine", "/C": [0], "/Vertices": [40, 150, 90, 60, 140, 150, 190, 60]},
    {**NOTE, "/Subtype": "/Circle", "/Rect": [200, 30, 280, 80], "/C": [1, 0, 0]},
    {**NOTE, "/Subtype": "/Stamp", "/Rect": [150, 5, 199, 30], "/AP": {"/N": STAMP}},
]  # fmt: skip
LINES = b"[14 6] 9 d 1.5 w 10 10 m 290 10 l 290 190 l S [] 0 d 0 0.4 0.9 RG 3 w 20 180 m 120 20 180 20 280 180 c S"


def drawing(content=LINES, notes=NOTES):
    """One page, 900 by 300 units: two of A4's pages."""
    return pdf_of(b"3 0 0 1.5 0 0 cm " + content, {}, {"/MediaBox": [0, 0, 900, 300], "/Annots": notes})


def test_pages_show_what_other_renderers_show_of_the_source(tmp_path, capsys):
    """Dashes, curves, annotations with and without an appearance, by every renderer that is here; others differ."""
    (tmp_path / "drawing.pdf").write_bytes(drawing())
    out = tmp_path / "out.pdf"
    assert run(["pages", str(tmp_path / "drawing.pdf"), "-o", str(out), "--json", "-q"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert len(said["tiles"]) > 1
    found = compare_drawing(drawing(), out.read_bytes(), said)
    assert found
    assert not any(one.matters for one in found.values()), found
    for changed in (
        drawing(notes=NOTES[1:]),
        drawing(notes=[*NOTES, {**NOTES[1], "/Rect": [20, 90, 80, 150]}]),
        drawing(LINES.replace(b"9 d", b"-9 d")),
        drawing(LINES.replace(b"20 180 m", b"23 177 m")),
    ):
        found = compare_drawing(changed, out.read_bytes(), said)
        assert all(one.matters for one in found.values()), found
