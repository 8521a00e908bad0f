"""Publishing: the destination is whole before and after, whatever happens in between."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from tiling.failures import OutputRefused
from tiling.files.publish import check_destination, publish


def leftovers(folder: Path) -> list[str]:
    """Names of hidden files in the folder."""
    return [p.name for p in folder.iterdir() if p.name.startswith(".")]


def test_a_new_file_appears_whole_with_the_usual_rights(tmp_path: Path) -> None:
    """The mode follows the umask, not the temporary's maker."""
    target = tmp_path / "out.pdf"
    before = os.umask(0o027)
    try:
        publish(target, b"content")
    finally:
        os.umask(before)
    assert target.read_bytes() == b"content"
    assert target.stat().st_mode & 0o777 == 0o640
    assert leftovers(tmp_path) == []


def test_a_failed_proof_leaves_the_old_file_and_nothing_else(tmp_path: Path) -> None:
    """What was there stays, byte for byte."""
    target = tmp_path / "out.pdf"
    target.write_bytes(b"old")

    def prove(_: Path) -> None:
        raise ValueError("not as planned")

    with pytest.raises(ValueError, match="not as planned"):
        publish(target, b"new", prove=prove)
    assert target.read_bytes() == b"old"
    assert leftovers(tmp_path) == []


@pytest.mark.parametrize("moment", ["fsync", "replace"])
def test_a_full_disk_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, moment: str) -> None:
    """ENOSPC while writing or while moving into place: one message, nothing changed, nothing left."""
    target = tmp_path / "out.pdf"
    target.write_bytes(b"old")

    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    if moment == "fsync":
        monkeypatch.setattr(os, "fsync", full)
    else:
        monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(OutputRefused, match="disk is full"):
        publish(target, b"new")
    assert target.read_bytes() == b"old"
    assert leftovers(tmp_path) == []


def test_a_temporary_left_by_a_killed_run_is_cleared_by_the_next(tmp_path: Path) -> None:
    """At most one named temporary stays behind, and the next run removes it."""
    target = tmp_path / "out.pdf"
    (tmp_path / ".out.pdf.pageseam-part").write_bytes(b"half")
    publish(target, b"new")
    assert target.read_bytes() == b"new"
    assert leftovers(tmp_path) == []


def test_a_link_as_output_keeps_the_link_and_replaces_its_target(tmp_path: Path) -> None:
    """The person linked the name on purpose."""
    real, link = tmp_path / "real.pdf", tmp_path / "link.pdf"
    real.write_bytes(b"old")
    link.symlink_to(real)
    publish(link, b"new")
    assert link.is_symlink()
    assert real.read_bytes() == b"new"


def test_a_link_laid_at_the_temporary_name_is_not_written_through(tmp_path: Path) -> None:
    """A prepared link can't make us overwrite another file."""
    victim = tmp_path / "victim"
    victim.write_bytes(b"precious")
    (tmp_path / ".out.pdf.pageseam-part").symlink_to(victim)
    publish(tmp_path / "out.pdf", b"new")
    assert victim.read_bytes() == b"precious"


def test_refusals_before_any_work(tmp_path: Path) -> None:
    """Missing folder, folder as file, input as output, existing file without --force: each says what to do."""
    source = tmp_path / "in.svg"
    source.write_text("x")
    with pytest.raises(OutputRefused, match="does not exist"):
        check_destination(tmp_path / "none" / "out.pdf", force=False)
    with pytest.raises(OutputRefused, match="is a folder"):
        check_destination(tmp_path, force=True)
    with pytest.raises(OutputRefused, match="input of this run"):
        check_destination(source, force=True, inputs=[source])
    with pytest.raises(OutputRefused, match="exists already"):
        check_destination(source, force=False)
    check_destination(source, force=True)
    check_destination(tmp_path / "new.pdf", force=False)


def test_a_name_that_ends_as_another_kind_of_file_is_refused(tmp_path: Path) -> None:
    """A PDF is not written under the name of a drawing or a picture; capitals and names without an ending will do."""
    with pytest.raises(OutputRefused, match=r"let the name end in \.pdf or \.png"):
        check_destination(tmp_path / "lay.svg", force=True, endings=[".pdf", ".png"])
    for name in ("lay.PDF", "lay.png", "lay"):
        check_destination(tmp_path / name, force=False, endings=[".pdf", ".png"])
