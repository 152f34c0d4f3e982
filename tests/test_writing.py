"""Files are written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from netdiff.writing import Changed, swap, write


def test_writes_and_replaces(tmp_path: Path) -> None:
    target = tmp_path / "out.txt"
    write(target, "22 kΩ\n")
    assert target.read_bytes() == "22 kΩ\n".encode()
    write(target, b"\x00\x01")
    assert target.read_bytes() == b"\x00\x01"
    assert os.listdir(tmp_path) == ["out.txt"]


def test_a_failure_leaves_what_was_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "out.txt"
    write(target, "before")

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        write(target, "after")
    assert target.read_text() == "before"
    assert os.listdir(tmp_path) == ["out.txt"]


def test_keeps_permissions_and_links(tmp_path: Path) -> None:
    target, link = tmp_path / "out.txt", tmp_path / "link.txt"
    write(target, "before")
    target.chmod(0o640)
    link.symlink_to(target)
    write(link, "after")
    assert link.is_symlink()
    assert target.read_text() == "after"
    assert target.stat().st_mode & 0o777 == 0o640


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(OSError, match="directory"):
        write(tmp_path, "text")
    with pytest.raises(OSError, match="No such file"):
        write(tmp_path / "nowhere" / "out.txt", "text")


def test_swaps_only_what_was_read(tmp_path: Path) -> None:
    target = tmp_path / "out.txt"
    swap(target, None, b"one")
    with pytest.raises(FileExistsError, match="there already"):
        swap(target, None, b"two")
    with pytest.raises(Changed):
        swap(target, b"other", b"two")
    assert target.read_bytes() == b"one"
    target.chmod(0o640)
    swap(target, b"one", b"two")
    assert target.read_bytes() == b"two"
    assert target.stat().st_mode & 0o777 == 0o640
    target.chmod(0o440)
    with pytest.raises(PermissionError, match="read-only"):
        swap(target, b"two", b"three")
    with pytest.raises(FileNotFoundError):
        swap(tmp_path / "gone.txt", b"was here", b"again")
    assert os.listdir(tmp_path) == ["out.txt"]
