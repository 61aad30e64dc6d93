"""Files that are either old or new, whole, whatever happens in between."""

from __future__ import annotations

import contextlib
import json
import os
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path

__all__ = ["HIDDEN", "finish", "locked", "replace_all"]

HIDDEN = ".designkit"
_READY = "ready.json"  # names of new files that wait in _NEW
_NEW = "new"
_PREVIOUS = "previous"
# without O_BINARY one system would write its own line ends
_NEW_FILE = os.O_WRONLY | os.O_CREAT | os.O_TRUNC | getattr(os, "O_BINARY", 0)


@contextlib.contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Hold the project for one saver; the system lets go if it dies.

    Parameters
    ----------
    folder : Path
        The project folder.

    Yields
    ------
    None
        While nobody else saves.
    """
    (folder / HIDDEN).mkdir(exist_ok=True)
    handle = os.open(folder / HIDDEN / "lock", os.O_RDWR | os.O_CREAT, 0o666)
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_LOCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def _write(path: Path, data: bytes) -> None:
    """Write a file and force it to the disk."""
    handle = os.open(path, _NEW_FILE, 0o666)
    try:
        left = memoryview(data)
        while left:
            left = left[os.write(handle, left) :]
        os.fsync(handle)
    finally:
        os.close(handle)


def _settle(folder: Path) -> None:
    """Force the names in a folder to the disk, where the system can."""
    if sys.platform == "win32":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def replace_all(folder: Path, new: Mapping[str, bytes], *, old: Mapping[str, bytes]) -> None:
    """Replace files of a folder together.

    Parameters
    ----------
    folder : Path
        The project folder, held by `locked`.
    new : mapping of str to bytes
        The files to write.
    old : mapping of str to bytes
        What they were; kept as the previous version.
    """
    hidden = folder / HIDDEN
    for name in (_NEW, _PREVIOUS):
        (hidden / name).mkdir(parents=True, exist_ok=True)
    for name in new:
        if name in old:
            _write(hidden / _PREVIOUS / f"{name}.part", old[name])
            os.replace(hidden / _PREVIOUS / f"{name}.part", hidden / _PREVIOUS / name)
    for name, data in new.items():
        _write(hidden / _NEW / name, data)
        with contextlib.suppress(OSError):  # keep who may read it
            os.chmod(hidden / _NEW / name, (folder / name).stat().st_mode & 0o777)
    _settle(hidden / _NEW)
    _write(hidden / f"{_READY}.part", json.dumps(sorted(new)).encode())
    os.replace(hidden / f"{_READY}.part", hidden / _READY)  # from here on it will be new
    _settle(hidden)
    finish(folder)


def pending(folder: Path) -> bool:
    """Whether a save was cut off between its files."""
    return (folder / HIDDEN / _READY).exists()


def finish(folder: Path) -> None:
    """Finish a save that was cut off after all its files were ready.

    Parameters
    ----------
    folder : Path
        The project folder, held by `locked`.
    """
    ready = folder / HIDDEN / _READY
    try:
        names = json.loads(ready.read_text("utf-8"))
    except FileNotFoundError:
        return
    for name in names:
        with contextlib.suppress(FileNotFoundError):  # it took its place before the cut
            os.replace(folder / HIDDEN / _NEW / Path(name).name, folder / name)
    _settle(folder)
    os.unlink(ready)
