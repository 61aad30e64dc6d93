"""Write changes to a project folder so that nothing is ever lost.

Each file is written whole beside the old one, forced to the disk, and takes
its place in one step. Where several files change, a list of what is ready is
left in `.designkit` first; whoever opens the folder next finishes the list.
The version before each save is kept in `.designkit/previous`.
"""

from __future__ import annotations

import contextlib
import dataclasses
import hashlib
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from designkit import model
from designkit.errors import FileFormatError, InputError
from designkit.project import sheets
from designkit.project.edits import holds, inverse, is_now, now_at, put
from designkit.project.reading import MAIN, Conflict, Opened, Source, assemble, load, toml
from designkit.project.rewriting import rename_keys, rewrite
from designkit.project.store import HIDDEN, finish, locked, replace_all
from designkit.project.tables import TABLES, decode, parse
from designkit.project.upgrade import CURRENT, upgrade

__all__ = ["save", "undo"]


def save(opened: Opened, edits: Sequence[model.Edit]) -> Opened:
    """Write changes to the files of a project.

    Where a file has changed since it was read, changes whose `old` still
    holds are made on the new file; the others come back as `conflicts`.

    Parameters
    ----------
    opened : Opened
        The project as it was read.
    edits : sequence of Edit
        The changes, in order.

    Returns
    -------
    Opened
        The project as the files now say.

    Raises
    ------
    InputError
        The project can only be read.
    ProjectErrors
        The changed project would have problems; nothing is written.
    FileFormatError
        A file cannot be read or written; nothing is lost.
    """
    if opened.read_only:
        raise InputError(
            "project", given=str(opened.folder), allowed="a project to read", mend=opened.read_only
        )
    folder = opened.folder
    with _told(folder), locked(folder):
        finish(folder)
        data, sources = load(folder)
        if MAIN not in data:
            raise FileFormatError(
                MAIN, given="no such file", allowed="the file that was opened", mend="put it back"
            )
        file_raw, text = toml(data[MAIN])
        now, upgraded = upgrade(file_raw)
        raw: Mapping[str, Any] = now
        tables = dict(opened.stored.sheets)
        for name in TABLES:
            file = f"{name}.csv"
            if file not in data:
                tables.pop(name, None)
            elif sources[file] != opened.sources.get(file):
                tables.pop(name, None)
                fresh = _fresh(opened, data, file)
                if fresh is not None:
                    tables[name] = fresh
        before = dict(tables)
        conflicts: dict[str, Conflict] = {}
        for edit in edits:
            lost = edit.path in conflicts
            if not lost and holds(raw, tables, edit):
                raw, made = put(raw, tables, edit)
                tables = dict(made)
            elif lost or not is_now(raw, tables, edit.path, edit.new):
                conflicts[edit.path] = Conflict(
                    path=edit.path, ours=edit.new, theirs=now_at(raw, tables, edit.path)
                )
        if upgraded:
            text = rename_keys(text, schema=int(file_raw.get("schema", CURRENT)))
        fresh = dict(data)
        if raw is not now or upgraded:
            fresh[MAIN] = _encoded(rewrite(text, raw), data[MAIN])
        for name, sheet in tables.items():
            if sheet is not before.get(name):
                fresh[f"{name}.csv"] = sheets.to_bytes(sheet)
        # what would be written is read and checked before any of it is
        new_raw, new_text = toml(fresh[MAIN])
        done = assemble(new_raw, fresh, text=new_text, folder=folder, sources=sources)
        new = {name: one for name, one in fresh.items() if one != data.get(name)}
        if new:
            replace_all(folder, new, old=data)
            done = dataclasses.replace(done, sources=_sources(folder, fresh))
    return dataclasses.replace(done, conflicts=tuple(conflicts.values()))


def _sources(folder: Path, written: Mapping[str, bytes]) -> dict[str, Source]:
    """The files as they were written, also where somebody wrote since."""
    _, sources = load(folder)
    for name, data in written.items():
        digest = hashlib.sha256(data).hexdigest()
        if name not in sources or sources[name].digest != digest:
            sources[name] = Source(modified=-1, size=-1, digest=digest)
    return sources


def undo(opened: Opened, edits: Sequence[model.Edit]) -> Opened:
    """Take saved changes back, where nobody has changed them since.

    Parameters
    ----------
    opened : Opened
        The project.
    edits : sequence of Edit
        The changes as they were saved.

    Returns
    -------
    Opened
        As `save` gives it.

    Raises
    ------
    InputError, ProjectErrors, FileFormatError
        As `save`.
    """
    return save(opened, inverse(edits))


def _fresh(opened: Opened, data: Mapping[str, bytes], file: str) -> Any:
    """A CSV file that changed, taken apart; its problems are told by `assemble`."""
    home = opened.project.home
    return parse(
        data[file], name=file.removesuffix(".csv"), layout=home.csv, money=home.money, problems=[]
    )


def _encoded(text: str, old: bytes) -> bytes:
    """Text in the encoding and with the line endings of the old file."""
    before, encoding = decode(old, file=MAIN)
    if "\r\n" in before:
        text = text.replace("\n", "\r\n")
    return text.encode(encoding)


@contextlib.contextmanager
def _told(folder: Path) -> Iterator[None]:
    """Say what the system refused in the words of the error family."""
    try:
        yield
    except OSError as error:
        raise FileFormatError(
            f"saving in {folder.name}",
            given=error.strerror or str(error),
            allowed="a folder that can be written to",
            mend=f"check space and permissions; the files are as they were (see {HIDDEN})",
        ) from None
