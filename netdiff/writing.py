"""Files that are written whole or not at all."""

from __future__ import annotations

import errno
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path


class Changed(Exception):
    """Somebody else wrote the file since it was read."""


def write(path: Path, content: str | bytes) -> None:
    """Puts ``content`` (text as UTF-8) under ``path``; raises OSError and leaves what was there.

    The content goes to a temporary file in the same folder, to the disk, and only then takes the
    name: a crash, a full disk or a pulled plug leaves the old file or the new one, never a half.
    A file that was there keeps its permissions; a link keeps pointing where it pointed. What is no
    regular file (a pipe, a terminal) is written to as it is.
    """
    target = Path(os.path.realpath(path))
    data = content.encode("utf-8") if isinstance(content, str) else content
    if target.exists() and not target.is_file():
        path.write_bytes(data)
        return
    with _ready(path, target, data) as temporary:
        os.replace(temporary, target)


def swap(path: Path, was: bytes | None, content: bytes) -> None:
    """As `write`, but only if the file still holds ``was`` (None: if it is not there).

    It is compared under a lock that all who call this share. Raises Changed, FileExistsError, or another OSError, also
    for a file that is marked read-only.
    """
    target = Path(os.path.realpath(path))
    if was is not None and not target.stat().st_mode & 0o222:
        raise PermissionError(errno.EACCES, "the file is marked read-only; nothing was written", str(path))
    with _ready(path, target, content) as temporary, _alone(target.parent):
        if was is not None:
            if target.read_bytes() != was:
                raise Changed
            os.replace(temporary, target)
            return
        try:
            os.link(temporary, target)  # fails if somebody made the file meanwhile
        except FileExistsError:
            raise FileExistsError(errno.EEXIST, "the file is there already", str(path)) from None
        os.unlink(temporary)


@contextmanager
def _ready(path: Path, target: Path, data: bytes) -> Iterator[str]:
    """The data on the disk beside the target under another name, which is gone if what follows fails."""
    try:
        handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name[:40]}.", suffix=".part")
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(path)) from None
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(temporary, _permissions(target))
        yield temporary
    except BaseException:
        with suppress(OSError):
            os.unlink(temporary)
        raise
    _settle(target.parent)


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Nobody else swaps in the folder meanwhile; the lock goes with the process that holds it."""
    try:
        import fcntl
    except ImportError:  # no such locks on this system: comparing must do
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def _permissions(target: Path) -> int:
    """Those of the file that was there, else what any program's new file gets."""
    try:
        return target.stat().st_mode & 0o777
    except FileNotFoundError:
        mask = os.umask(0)
        os.umask(mask)
        return 0o666 & ~mask


def _settle(folder: Path) -> None:
    """The new name is on the disk only when the folder is; not every system lets a folder be synced."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
