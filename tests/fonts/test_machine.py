"""The machine's fonts: where they are looked for, and what is known of each."""

from __future__ import annotations

import os
from pathlib import Path

from fontTools.ttLib import TTCollection, TTFont

from tests.fonts.making import make_font
from tiling.fonts.machine import FOLDERS_VARIABLE, font_folders, installed


def test_each_system_has_its_folders() -> None:
    """XDG Base Directory Specification for Linux; the systems' own documentation for the others, from memory."""
    home = Path("/home/meadow")
    assert font_folders("linux", {}, home) == [
        home / ".local/share/fonts", home / ".fonts", Path("/usr/local/share/fonts"), Path("/usr/share/fonts"),
    ]  # fmt: skip
    assert font_folders("linux", {"XDG_DATA_HOME": "/d", "XDG_DATA_DIRS": "/x:/y"}, home) == [
        Path("/d/fonts"), home / ".fonts", Path("/x/fonts"), Path("/y/fonts"),
    ]  # fmt: skip
    assert Path("/System/Library/Fonts") in font_folders("darwin", {}, home)
    windows = font_folders("win32", {"LOCALAPPDATA": "L", "WINDIR": "W"}, home)
    assert windows == [Path("L/Microsoft/Windows/Fonts"), Path("W/Fonts")]
    assert font_folders("win32", {FOLDERS_VARIABLE: f"a{os.pathsep}b"}, home) == [Path("a"), Path("b")]
    assert font_folders("linux", {FOLDERS_VARIABLE: ""}, home) == []


def test_family_weight_and_slant_are_read(font_folder: Path) -> None:
    """From the name and OS/2 tables (OpenType), without opening glyphs; in the order of the files' names."""
    make_font(font_folder / "b" / "two.otf", "Meadow  Serif", {"a": (600, 500)}, weight=700, curves="CFF")
    make_font(font_folder / "a.ttf", "Meadow Sans", {"a": (500, 500)}, italic=True)
    one, two = installed()
    assert (one.families, one.weight, one.slanted) == ({"meadow sans"}, 400, True)
    assert (two.families, two.weight, two.slanted, two.file.name) == ({"meadow serif"}, 700, False, "two.otf")


def test_a_collection_has_several_faces(font_folder: Path) -> None:
    """Each with its place in the file."""
    parts = [make_font(font_folder / f"{name}.ttf", f"Meadow {name}", {"a": (500, 500)}) for name in ("one", "two")]
    whole = TTCollection()
    whole.fonts = [TTFont(part) for part in parts]
    whole.save(font_folder / "all.ttc")
    faces = [face for face in installed() if face.file.name == "all.ttc"]
    assert [(face.index, face.families) for face in faces] == [(0, {"meadow one"}), (1, {"meadow two"})]


def test_what_is_no_font_of_letters_is_passed_over(font_folder: Path) -> None:
    """Damaged files, others called so, fonts without outlines, and those that have a box for everything."""
    whole = make_font(font_folder / "whole.ttf", "Meadow Sans", {"a": (500, 500)}).read_bytes()
    for size in range(0, len(whole), 37):
        (font_folder / f"cut-{size}.ttf").write_bytes(whole[:size])
    (font_folder / "words.otf").write_bytes(b"a text, not a font" * 50)
    (font_folder / "many.ttc").write_bytes(b"ttcf\x00\x01\x00\x00\xff\xff\xff\xff")
    make_font(font_folder / "last.ttf", "Last Resort", {"a": (500, 500)})
    empty = TTFont(font_folder / "whole.ttf")
    del empty["glyf"], empty["loca"]
    empty.save(font_folder / "pictures.ttf")
    files = [face.file.name for face in installed()]
    assert "whole.ttf" in files
    assert not {"words.otf", "many.ttc", "last.ttf", "pictures.ttf", "cut-0.ttf", "cut-37.ttf"} & set(files)
