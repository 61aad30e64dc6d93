"""What was done on a page and not kept yet, in a file of the project folder.

Each study has one file. It is written shortly after a change, when the picture
is on its way, whole or not at all, so that a reload, a crash or a closed lid
loses nothing. Bytes that were typed in (a chosen file, a photograph) stand in
a file of their own beside it, which is written once.
"""

from __future__ import annotations

import asyncio
import atexit
import contextlib
import dataclasses
import datetime
import hashlib
import json
import os
import re
import time
import weakref
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from designkit.days import moment_words
from designkit.errors import FileFormatError
from designkit.model import Edit
from designkit.project.store import HIDDEN
from designkit.whole import write_whole

__all__ = ["FOLDER", "Draft", "DraftFile"]

FOLDER = "drafts"
_SOON = 0.06  # s after a change: the picture has been sent and painted by then
_BURST = 0.3  # s between two writes
_OLDER = {"my-room": "my-room.json"}  # where the first version wrote
_OPEN: weakref.WeakSet[DraftFile]

Steps = Sequence[Sequence[Edit]]


@dataclasses.dataclass(frozen=True, kw_only=True)
class Draft:
    """Changes that were not kept, and what stood half typed in the fields."""

    steps: tuple[tuple[Edit, ...], ...] = ()
    values: Mapping[str, Any] = dataclasses.field(default_factory=dict)
    written: str = ""  # when, in words


class DraftFile:
    """The draft of one study of one project.

    Parameters
    ----------
    folder : Path
        The project folder.
    study : str
        Name of the study, as "price-list".

    Attributes
    ----------
    trouble : str
        A sentence where the last draft could not be written or read; else "".
    writes : int
        How often the draft was written or taken away.
    """

    def __init__(self, folder: Path, study: str) -> None:
        self.folder, self.study = folder, study
        self.trouble = ""
        self.writes = 0
        self._place = folder / HIDDEN / FOLDER / f"{study}.json"
        self._now: tuple[tuple[tuple[Edit, ...], ...], str] = ((), "{}")
        self._bytes: dict[str, tuple[bytes, str]] = {}  # as typed, name of its file
        self._there = False  # whether a draft of ours stands on the disk
        self._timer: asyncio.TimerHandle | None = None
        self._waits = False
        self._last = -_BURST
        _OPEN.add(self)

    # --- reading -----------------------------------------------------------------

    def read(self) -> Draft | None:
        """The draft of the project; one that cannot be read is set aside and not lost.

        Returns
        -------
        Draft or None
            None where there is none.
        """
        for other in list(_OPEN):  # the cell was run again: the page before may have one waiting
            if other is not self and other._place == self._place:
                other.flush()
        for place in self._places():
            try:
                raw = json.loads(place.read_text("utf-8"))
                draft = self._draft(raw)
            except FileNotFoundError:
                continue
            except (OSError, ValueError, KeyError, TypeError, AttributeError) as error:
                aside = place.with_suffix(".unreadable")
                with contextlib.suppress(OSError):
                    os.replace(place, aside)
                why = error.strerror if isinstance(error, OSError) else "it is damaged"
                self.trouble = (
                    f"What was typed here before cannot be read ({why}); "
                    f"it is set aside as {aside.relative_to(self.folder).as_posix()}."
                )
                continue
            self._there = True
            self._now = draft.steps, self._text(draft.values)
            return draft
        return None

    def _places(self) -> Iterator[Path]:
        yield self._place
        if self.study in _OLDER:
            yield self.folder / HIDDEN / _OLDER[self.study]

    def _draft(self, raw: Mapping[str, Any]) -> Draft:
        rows = raw["steps"] if "steps" in raw else [raw["edits"]]  # the first version had one step
        steps = tuple(
            tuple(Edit(path=str(e["path"]), old=e["old"], new=e["new"]) for e in step)
            for step in rows
            if step
        )
        values = dict(raw["values"])
        for key, name in dict(raw.get("files", {})).items():
            with contextlib.suppress(FileNotFoundError):
                data = self._place.with_name(Path(name).name).read_bytes()
                values[key] = data
                self._bytes[key] = (data, name)
        written = str(raw["written"])
        with contextlib.suppress(ValueError):  # the first version wrote words
            written = moment_words(datetime.datetime.fromisoformat(written))
        return Draft(steps=steps, values=values, written=written)

    # --- writing -----------------------------------------------------------------

    def put(self, steps: Steps, values: Mapping[str, Any]) -> None:
        """Remember what was not kept; what has not changed costs no write.

        Where a notebook runs, the file is written a moment later and at most
        once in 0.3 s; elsewhere at once.

        Parameters
        ----------
        steps : sequence of sequence of Edit
            Changes of the project that were not kept, a step for each undo.
        values : mapping of str to Any
            What stands half typed in the fields: what JSON holds, or bytes.
        """
        now = tuple(tuple(step) for step in steps), self._text(values)
        if now == self._now:
            return
        self._now = now
        self._waits = True
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            self.flush()
            return
        if self._timer is None:
            wait = max(_SOON, self._last + _BURST - time.monotonic())
            self._timer = loop.call_later(wait, self.flush)

    def _text(self, values: Mapping[str, Any]) -> str:
        """Values as JSON; bytes by the name of their file."""
        plain, held = dict(values), {}
        for key, value in values.items():
            if isinstance(value, bytes):
                known = self._bytes.get(key)
                if known is None or known[0] != value:
                    ending = hashlib.sha256(value).hexdigest()[:16]
                    known = (value, f"{self.study}.{key}.{ending}")
                held[key] = known
                plain[key] = {"file": known[1]}
        self._bytes = held
        return json.dumps(plain, ensure_ascii=False, default=str)

    def flush(self) -> bool:
        """Write what waits to be written; a folder that takes nothing is told in `trouble`.

        Returns
        -------
        bool
            Whether all of it is on the disk.
        """
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None
        if not self._waits:
            return not self.trouble
        self._waits = False
        self._last = time.monotonic()
        steps, text = self._now
        try:
            if steps or text != "{}":
                self._write(steps, text)
                self._there = True
            elif self._there:
                self._drop()
                self._there = False
        except (OSError, FileFormatError) as error:
            self._now = (), ""  # the next change is written again, whatever it is
            why = error.strerror if isinstance(error, OSError) else error.given
            self.trouble = (
                f"What is typed cannot be written to the project folder ({why}): "
                "look at its space and permissions before you go on."
            )
        else:
            self.trouble = ""
        return not self.trouble

    def _write(self, steps: Steps, text: str) -> None:
        place = self._place
        place.parent.parent.mkdir(exist_ok=True)  # no parents: a project that is gone stays gone
        place.parent.mkdir(exist_ok=True)
        for data, name in self._bytes.values():
            if not place.with_name(name).exists():
                write_whole(place.with_name(name), data, forced=True)
        plain = {k: v for k, v in json.loads(text).items() if k not in self._bytes}
        whole = {
            "written": datetime.datetime.now().isoformat(timespec="seconds"),
            "steps": [[{"path": e.path, "old": e.old, "new": e.new} for e in s] for s in steps],
            "values": plain,
            "files": {key: name for key, (_, name) in self._bytes.items()},
        }
        text = json.dumps(whole, ensure_ascii=False, default=str)
        write_whole(place, text.encode("utf-8"), forced=True)
        self.writes += 1
        self._clear({name for _, name in self._bytes.values()})

    def _clear(self, used: set[str]) -> None:
        """Take away files of bytes that are used no more, and what the first version wrote."""
        held = re.compile(rf"{re.escape(self.study)}\..+\.[0-9a-f]{{16}}")
        for one in self._place.parent.iterdir():
            if held.fullmatch(one.name) and one.name not in used:
                one.unlink(missing_ok=True)
        for older in list(self._places())[1:]:
            older.unlink(missing_ok=True)

    def _drop(self) -> None:
        self._place.unlink(missing_ok=True)
        self.writes += 1
        if self._place.parent.is_dir():
            self._clear(set())
        for older in list(self._places())[1:]:
            older.unlink(missing_ok=True)


_OPEN = weakref.WeakSet()


@atexit.register
def _flush_all() -> None:
    """A kernel that is shut down in order writes what waits."""
    for one in list(_OPEN):
        one.flush()
