"""Files that come out whole or not at all, and say what the system refused."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from designkit.errors import FileFormatError

__all__ = ["folder_for_files", "write_whole"]


def folder_for_files(path: str | os.PathLike[str]) -> Path:
    """Make the folder that files are written into.

    Parameters
    ----------
    path : path
        The folder; the folders above it are made too.

    Returns
    -------
    Path
        The folder.

    Raises
    ------
    FileFormatError
        It cannot be made, or a file has its name.

    Examples
    --------
    >>> import tempfile
    >>> folder_for_files(tempfile.mkdtemp() + "/issued/figures").name
    'figures'
    """
    folder = Path(path)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        taken = isinstance(error, (FileExistsError, NotADirectoryError))
        raise FileFormatError(
            "folder for the files",
            given=f"{path}: {'a file has this name' if taken else error.strerror or error}",
            allowed="a folder that can be written to",
            mend="name another folder" if taken else "name another folder, or check permissions",
        ) from None
    return folder


def write_whole(path: Path, data: bytes) -> Path:
    """Write a file beside the old one, then let it take its place in one step.

    A full disk or a stop half-way leaves the old file as it was.

    Parameters
    ----------
    path : Path
        The file.
    data : bytes
        All of it.

    Returns
    -------
    Path
        The same path.

    Raises
    ------
    FileFormatError
        The system refused; the old file is as it was.

    Examples
    --------
    >>> import tempfile
    >>> write_whole(Path(tempfile.mkdtemp()) / "a.csv", b"id").read_bytes()
    b'id'
    """
    # cut, as a name of the longest length has no room for an ending
    part = path.with_name(f".{path.name[:60]}.{os.getpid()}.part")
    try:
        try:
            part.write_bytes(data)
            os.replace(part, path)
        finally:
            with contextlib.suppress(OSError):  # gone where it took its place
                part.unlink()
    except OSError as error:
        raise FileFormatError(
            f"writing {path.name}",
            given=error.strerror or str(error),
            allowed="a folder that can be written to, with space for the file",
            mend="check space and permissions, or write elsewhere; what stood there is as it was",
        ) from None
    return path
