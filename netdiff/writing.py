"""Files that are written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from pathlib import Path


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
        os.replace(temporary, target)
    except BaseException:
        with suppress(OSError):
            os.unlink(temporary)
        raise
    _settle(target.parent)


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
