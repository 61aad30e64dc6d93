"""What was typed on the page "my room" and not kept yet, in a file of the project folder.

It is written at each change, whole or not at all, so that a reload, a crash
or a closed lid loses nothing.
"""

from __future__ import annotations

import contextlib
import dataclasses
import datetime
import json
import os
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from designkit.model import Edit
from designkit.project.store import HIDDEN

__all__ = ["FILE", "Draft", "drop_draft", "read_draft", "write_draft"]

FILE = "my-room.json"
SET_ASIDE = "my-room.unreadable"


@dataclasses.dataclass(frozen=True, kw_only=True)
class Draft:
    """Changes that were not kept, and what stood in the fields."""

    edits: tuple[Edit, ...]
    values: Mapping[str, Any]
    written: str = ""  # when, in words


def _path(folder: Path) -> Path:
    return folder / HIDDEN / FILE


def write_draft(folder: Path, *, edits: Sequence[Edit], values: Mapping[str, Any]) -> None:
    """Write the draft, whole or not at all.

    Parameters
    ----------
    folder : Path
        The project folder.
    edits : sequence of Edit
        Changes that were not kept.
    values : mapping of str to Any
        What stands in the fields.

    Raises
    ------
    OSError
        The folder cannot be written to.
    """
    place = _path(folder)
    place.parent.mkdir(exist_ok=True)
    rows = [{"path": e.path, "old": e.old, "new": e.new} for e in edits]
    text = json.dumps(
        {
            "written": datetime.datetime.now().strftime("%-d %b %Y, %H:%M"),
            "edits": rows,
            "values": dict(values),
        },
        ensure_ascii=False,
        default=str,
    )
    handle, name = tempfile.mkstemp(dir=place.parent, prefix=f"{FILE}.", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(text.encode("utf-8"))
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, place)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(name)
        raise


def read_draft(folder: Path) -> Draft | None:
    """The draft of a project; one that cannot be read is set aside and not lost.

    Parameters
    ----------
    folder : Path
        The project folder.

    Returns
    -------
    Draft or None
        None where there is none.
    """
    place = _path(folder)
    try:
        raw = json.loads(place.read_text("utf-8"))
        edits = tuple(
            Edit(path=str(row["path"]), old=row["old"], new=row["new"]) for row in raw["edits"]
        )
        return Draft(edits=edits, values=dict(raw["values"]), written=str(raw["written"]))
    except FileNotFoundError:
        return None
    except (OSError, ValueError, KeyError, TypeError):
        with contextlib.suppress(OSError):
            os.replace(place, place.with_name(SET_ASIDE))
        return None


def drop_draft(folder: Path) -> None:
    """Take the draft away, as it was kept.

    Parameters
    ----------
    folder : Path
        The project folder.
    """
    with contextlib.suppress(OSError):
        _path(folder).unlink()
