"""A document is written whole or not at all, and nothing that was there before is lost."""

from __future__ import annotations

import errno
import io
import os
import stat
import sys
from pathlib import Path

import pytest

from analyzer.errors import OutputError
from analyzer.export.writing import write_document


def test_a_new_file_holds_the_text_in_utf_8_and_leaves_nothing_beside_it(tmp_path: Path) -> None:
    write_document(tmp_path / "a.json", "höhe\n")
    assert (tmp_path / "a.json").read_bytes() == "höhe\n".encode()
    assert [entry.name for entry in tmp_path.iterdir()] == ["a.json"]


def test_bytes_are_written_as_they_are(tmp_path: Path) -> None:
    write_document(tmp_path / "log.csv", b"\xff\x00\r\n")
    assert (tmp_path / "log.csv").read_bytes() == b"\xff\x00\r\n"


def test_a_replaced_file_keeps_its_permissions(tmp_path: Path) -> None:
    target = tmp_path / "a.json"
    target.write_text("old")
    target.chmod(0o640)
    write_document(target, "new")
    assert target.read_text() == "new"
    assert stat.S_IMODE(target.stat().st_mode) == 0o640


def test_a_file_that_is_protected_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Moving another file into its place would ask the folder only."""
    (tmp_path / "a.json").write_text("old")
    monkeypatch.setattr(os, "access", lambda path, mode: not (str(path).endswith("a.json") and mode == os.W_OK))
    with pytest.raises(OutputError, match="is read-only"):
        write_document(tmp_path / "a.json", "new")
    assert (tmp_path / "a.json").read_text() == "old"


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "real.json").write_text("old")
    (tmp_path / "link.json").symlink_to("real.json")
    write_document(tmp_path / "link.json", "new")
    assert (tmp_path / "link.json").is_symlink()
    assert (tmp_path / "real.json").read_text() == "new"


def test_a_full_disk_leaves_the_old_file_and_no_rubbish(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "a.json"
    target.write_text("old")

    def full(_handle: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match="No space left on device"):
        write_document(target, "new")
    assert target.read_text() == "old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["a.json"]


def test_an_interruption_while_writing_leaves_no_rubbish(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(_handle: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_document(tmp_path / "a.json", "new")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("name", "problem"),
    [
        ("", "is a folder"),
        ("missing/a.json", "its folder does not exist"),
        ("x" * 300, "cannot be written"),
        ("a\0b", "cannot be written"),
    ],
)
def test_a_place_that_cannot_be_written_to_is_named(tmp_path: Path, name: str, problem: str) -> None:
    with pytest.raises(OutputError, match=problem) as caught:
        write_document(f"{tmp_path}/{name}", "text")
    assert caught.value.remedy
    assert str(caught.value).isprintable()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_device_is_written_to_directly() -> None:
    write_document("/dev/null", "text")
    with pytest.raises(OutputError, match="No space left"):
        write_document("/dev/full", "text")


def test_a_dash_is_standard_output_in_utf_8_whatever_the_terminal_speaks(monkeypatch: pytest.MonkeyPatch) -> None:
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding="ascii"))
    write_document("-", "höhe\n")
    assert raw.getvalue() == "höhe\n".encode()
