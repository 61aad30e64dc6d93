"""Photographs that are kept with a project, in its folder site/."""

from __future__ import annotations

import io
import re
from pathlib import Path

from designkit.plan.pictures import read_picture
from designkit.whole import write_beside

__all__ = ["keep_photograph", "read_photograph"]

LONGEST = 2400  # pixels of the longer side of what is kept


def read_photograph(data: bytes, *, name: str = "photograph", longest: int = LONGEST) -> bytes:
    """A photograph made fit to keep: upright, not too large, without what it knows of its place.

    Parameters
    ----------
    data : bytes
        A picture file.
    name : str, optional
        Of the file, for the sentences.
    longest : int, optional
        Most pixels of the longer side.

    Returns
    -------
    bytes
        JPEG. Where it was taken, and with what, is left out.

    Raises
    ------
    FileFormatError
        It is no picture, is cut off, or has too many pixels.
    """
    image, _, _ = read_picture(data, name=name, longest=longest)
    if max(image.size) > longest:
        image.thumbnail((longest, longest))
    out = io.BytesIO()
    image.save(out, "JPEG", quality=85)
    return out.getvalue()


def keep_photograph(folder: Path, data: bytes, *, name: str) -> str:
    """Put a photograph into the project's folder site/.

    Parameters
    ----------
    folder : Path
        The project folder.
    data : bytes
        From `read_photograph`.
    name : str
        What it shows; its file name is made from it.

    Returns
    -------
    str
        Its path in the project, as "site/grey sofa.jpg". A file of that name
        with other content is left alone, and a number is added.

    Raises
    ------
    FileFormatError
        It cannot be written.
    """
    stem = re.sub(r"[^\w -]+", "_", Path(name).stem).strip(" _.") or "photograph"
    target = write_beside(folder / "site", f"{stem}.jpg", data)
    return f"site/{target.name}"
