"""Make a new project folder, empty or from a demo."""

from __future__ import annotations

import importlib.resources
import os
import shutil
import tempfile
from pathlib import Path

from designkit.errors import FileFormatError, InputError, LookupFailed, nearest
from designkit.project.store import HIDDEN
from designkit.shipped import demos, shipped

__all__ = ["new"]

_FOLDERS = ("site", "inspiration", "art", "samples", "quotes", "plan", "photometry", "issued")


def new(folder: str | os.PathLike[str], *, demo: str = "") -> Path:
    """Make a project folder.

    Parameters
    ----------
    folder : path
        A folder that does not exist yet, or is empty.
    demo : str, optional
        Name of a demo that ships with designkit; without it a project with
        one room to measure over.

    Returns
    -------
    Path
        The folder.

    Raises
    ------
    InputError
        There is something in the folder.
    LookupFailed
        There is no such demo; the message lists them.
    FileFormatError
        The folder cannot be made.
    """
    place = Path(folder).resolve()
    if place.exists() and (not place.is_dir() or any(place.iterdir())):
        raise InputError(
            "folder",
            given=str(folder),
            allowed="a folder that is new or empty",
            mend="choose another name",
        )
    if demo and demo not in demos():
        near = nearest(demo, demos())
        raise LookupFailed(
            "demo",
            given=demo,
            allowed=", ".join(demos()) or "none ships with this designkit",
            mend=f"use {near}" if near else "use one of these",
        )
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        # made beside it and moved as a whole, so that no half project is left
        with tempfile.TemporaryDirectory(dir=place.parent, prefix=".new-") as scratch:
            made = Path(scratch) / place.name
            if demo:
                skip = shutil.ignore_patterns(HIDDEN, ".*", "__pycache__")
                shutil.copytree(shipped(f"data/{demo}"), made, ignore=skip)
            else:
                made.mkdir()
                text = importlib.resources.files("designkit.project") / "starter.toml"
                (made / "project.toml").write_bytes(text.read_bytes())
                for name in _FOLDERS:
                    (made / name).mkdir()
            if place.exists():
                place.rmdir()
            os.replace(made, place)
    except OSError as error:
        raise FileFormatError(
            "folder",
            given=f"{folder}: {error.strerror or error}",
            allowed="a place where a folder can be made",
            mend="check its name and permissions",
        ) from None
    return place
