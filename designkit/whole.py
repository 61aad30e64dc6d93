"""Files that come out whole or not at all, and say what the system refused."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from designkit.errors import FileFormatError

__all__ = ["folder_for_files", "write_beside", "write_whole"]


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


def write_whole(path: Path, data: bytes, *, forced: bool = False) -> Path:
    """Write a file beside the old one, then let it take its place in one step.

    A full disk or a stop half-way leaves the old file as it was.

    Parameters
    ----------
    path : Path
        The file.
    data : bytes
        All of it.
    forced : bool, optional
        Whether to wait until it is on the disk, for what cannot be made again.

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
            with part.open("wb") as file:
                file.write(data)
                if forced:
                    file.flush()
                    os.fsync(file.fileno())
            os.replace(part, path)
        finally:
            with contextlib.suppress(OSError):  # gone where it took its place
                part.unlink()
    except OSError as error:
        raise _refused(path, error) from None
    return path


def write_beside(folder: Path, name: str, data: bytes) -> Path:
    """Write a file into a folder of a project, never over another.

    Parameters
    ----------
    folder : Path
        Made where it is not there; the folder above it is there.
    name : str
        Of the file.
    data : bytes
        All of it.

    Returns
    -------
    Path
        The file. One of that name with other content is left alone, and a
        number is added; one with the same content is not written again.

    Raises
    ------
    FileFormatError
        The system refused.

    Examples
    --------
    >>> import tempfile
    >>> site = Path(tempfile.mkdtemp()) / "site"
    >>> [write_beside(site, "sofa.jpg", data).name for data in (b"a", b"b", b"a")]
    ['sofa.jpg', 'sofa 2.jpg', 'sofa.jpg']
    """
    wanted = Path(name)
    target, number = folder / name, 2
    try:
        folder.mkdir(exist_ok=True)
        while target.exists() and target.read_bytes() != data:
            target = folder / f"{wanted.stem} {number}{wanted.suffix}"
            number += 1
        there = target.exists()
    except OSError as error:
        raise _refused(target, error) from None
    return target if there else write_whole(target, data, forced=True)


def _refused(path: Path, error: OSError) -> FileFormatError:
    return FileFormatError(
        f"writing {path.name}",
        given=error.strerror or str(error),
        allowed="a folder that can be written to, with space for the file",
        mend="check space and permissions, or write elsewhere; what stood there is as it was",
    )
