"""Open a project folder: read, check, and say everything that is wrong at once."""

from __future__ import annotations

import dataclasses
import hashlib
import os
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from designkit import model
from designkit.errors import FileFormatError, InputError
from designkit.project import checks, store
from designkit.project.building import Built, build
from designkit.project.lines import index, line_of
from designkit.project.problems import Problem, ProjectErrors
from designkit.project.rows import rows_of
from designkit.project.tables import TABLES, Sheet, decode, parse
from designkit.project.upgrade import CURRENT, upgrade

__all__ = ["Conflict", "Opened", "Source", "Stored", "assemble", "changed_since", "inside", "read"]

MAIN = "project.toml"
FILES = (MAIN, *(f"{name}.csv" for name in TABLES))


@dataclass(frozen=True, kw_only=True)
class Source:
    """A file as it was when it was read."""

    modified: int  # [ns]
    size: int  # [bytes]
    digest: str


@dataclass(frozen=True, kw_only=True)
class Conflict:
    """A change that was not saved because the file says something else by now."""

    path: str
    ours: object
    theirs: object


@dataclass(frozen=True, kw_only=True, eq=False)
class Read:
    """Rows as they were read from one sheet under one way to count money."""

    sheet: Sheet
    money: model.Money
    rows: tuple[Any, ...]
    failed: int
    problems: tuple[Problem, ...]
    remarks: tuple[Problem, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class Stored:
    """What the files say, before it is filled into the classes of `model`."""

    raw: Mapping[str, Any]  # project.toml in the present form
    sheets: Mapping[str, Sheet]
    built: Built
    rows: Mapping[str, Read] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True, eq=False)
class Opened:
    """An opened project folder.

    Parameters
    ----------
    project : Project
        What it says.
    folder : Path
        Where it is.
    problems : tuple of Problem
        Remarks: things to look at that do not stop the work.
    upgraded : str
        A sentence, where an older form was read; else "".
    read_only : str
        A sentence that says why nothing can be saved; else "".
    conflicts : tuple of Conflict
        Changes that the last save left out because the file had changed.
    sources : mapping of str to Source
        The files as they were read.
    """

    project: model.Project
    folder: Path
    problems: tuple[Problem, ...] = ()
    upgraded: str = ""
    read_only: str = ""
    conflicts: tuple[Conflict, ...] = ()
    sources: Mapping[str, Source] = field(default_factory=dict)
    stored: Stored = field(repr=False)


def read(folder: str | os.PathLike[str]) -> Opened:
    """Open a project folder.

    Parameters
    ----------
    folder : path
        The folder, or its project.toml.

    Returns
    -------
    Opened
        The project with what belongs to its files. Nothing in it is run.

    Raises
    ------
    ProjectErrors
        Something has to be mended; carries all problems at once.
    FileFormatError
        There is no project.toml, or it is no TOML (with line and column).
    """
    place = Path(folder)
    if place.name == MAIN:
        place = place.parent
    place = place.resolve()
    if not (place / MAIN).is_file():
        raise FileFormatError(
            "project folder",
            given=str(folder),
            allowed=f"a folder with a {MAIN}",
            mend="give the folder of a project, or make one with `designkit new`",
        )
    if store.pending(place):  # a save was cut off when all was ready
        with store.locked(place):
            store.finish(place)
    data, sources = load(place)
    raw, text = toml(data[MAIN])
    return assemble(raw, data, text=text, folder=place, sources=sources)


def load(folder: Path) -> tuple[dict[str, bytes], dict[str, Source]]:
    """The files of a project as bytes, and as they were."""
    data: dict[str, bytes] = {}
    sources: dict[str, Source] = {}
    for name in FILES:
        path = folder / name
        try:
            with path.open("rb") as file:
                state = os.fstat(file.fileno())
                data[name] = file.read()
        except FileNotFoundError:
            continue
        except OSError as error:
            raise FileFormatError(
                name,
                given=error.strerror or str(error),
                allowed="a file that can be read",
                mend="check its permissions",
            ) from None
        sources[name] = Source(
            modified=state.st_mtime_ns,
            size=state.st_size,
            digest=hashlib.sha256(data[name]).hexdigest(),
        )
    return data, sources


def toml(data: bytes) -> tuple[dict[str, Any], str]:
    """Content and text of a project.toml; a syntax error comes alone."""
    text, _ = decode(data, file=MAIN)
    text = text.replace("\r\n", "\n")
    try:
        return tomllib.loads(text), text
    except tomllib.TOMLDecodeError as error:
        said = str(error)
        where = re.search(r"\(at line (\d+), column (\d+)\)", said)
        place = f" line {where[1]}, column {where[2]}" if where else ", end of file"
        what = re.sub(r"\s*\(at .*\)$", "", said)
        raise FileFormatError(
            f"{MAIN}{place}",
            given=what[:1].lower() + what[1:],
            allowed="TOML 1.0",
            mend="put text in quotes, close quotes and brackets, name each key once",
        ) from None


def assemble(
    raw: Mapping[str, Any],
    data: Mapping[str, bytes],
    *,
    text: str,
    folder: Path,
    sources: Mapping[str, Source],
    earlier: Stored | None = None,
    sheets: Mapping[str, Sheet] | None = None,
) -> Opened:
    """Build and check a project from what its files say.

    Parameters
    ----------
    raw : mapping
        Content of project.toml.
    data : mapping of str to bytes
        The files.
    text : str
        Text of project.toml, for line numbers.
    folder : Path
        Where the project is.
    sources : mapping of str to Source
        The files as they were read.
    earlier : Stored, optional
        An earlier reading, whose unchanged entries and rows are used again.
    sheets : mapping of str to Sheet, optional
        CSV files that are taken apart already.

    Returns
    -------
    Opened
        The project.

    Raises
    ------
    ProjectErrors
        Something has to be mended.
    """
    schema = raw.get("schema", CURRENT)
    newer = isinstance(schema, int) and not isinstance(schema, bool) and schema > CURRENT
    present, upgraded = upgrade(raw)
    if isinstance(schema, int) and schema < 0:
        present["schema"] = str(schema)  # refused below, with its line
    built = build(present, tolerant=newer, earlier=earlier.built if earlier else None)
    problems = list(built.problems)
    remarks = [
        Problem(
            path=path,
            given="a key of a newer schema",
            allowed="left as it is, not read",
        )
        for path in built.unread
    ]
    rows: dict[str, tuple[Any, ...]] = {}
    taken: dict[str, Sheet] = {}
    lost: dict[str, int] = {}
    done: dict[str, Read] = {}
    for name in TABLES:
        sheet = (sheets or {}).get(name)
        if sheet is None and f"{name}.csv" in data:
            sheet = parse(
                data[f"{name}.csv"],
                name=name,
                layout=built.home.csv,
                money=built.home.money,
                problems=problems,
            )
            if sheet is None:
                lost[name] = 1
        if sheet is not None:
            taken[name] = sheet
            old = earlier.rows.get(name) if earlier else None
            one = _rows(sheet, built.home.money, old)
            done[name], rows[name], lost[name] = one, one.rows, one.failed
            problems += one.problems
            remarks += one.remarks
    project = model.Project(home=built.home, **rows)
    found = checks.run(
        project,
        raw=present,
        sheets=taken,
        failed=built.failed,
        lost=lost,
        folder=folder,
        known=earlier.built.home if earlier else None,
    )
    problems += found.problems
    remarks += found.remarks
    if problems:
        problems = [_as_written(one, present) for one in problems]
        raise ProjectErrors(_with_lines(problems, text), waiting=found.waiting)
    return Opened(
        project=project,
        folder=folder,
        problems=tuple(_with_lines(remarks, text)),
        upgraded=upgraded,
        read_only=(
            f"This project is in schema {schema}, newer than schema {CURRENT} of this designkit: "
            "it can be read and shown, not changed."
            if newer
            else ""
        ),
        sources=dict(sources),
        stored=Stored(raw=present, sheets=taken, built=built, rows=done),
    )


def _rows(sheet: Sheet, money: model.Money, old: Read | None) -> Read:
    """The rows of a sheet, read again only where something about them changed."""
    if old is not None and old.sheet is sheet and old.money == money:
        return old
    problems: list[Problem] = []
    remarks: list[Problem] = []
    ready: dict[int, Any] = {}
    if (
        old is not None
        and not old.failed
        and (old.money, old.sheet.header)
        == (
            money,
            sheet.header,
        )
    ):
        records = (record for record in old.sheet.records if any(record.cells))
        ready = {id(record): row for record, row in zip(records, old.rows, strict=True)}
    rows, failed = rows_of(sheet, money=money, problems=problems, remarks=remarks, ready=ready)
    return Read(
        sheet=sheet,
        money=money,
        rows=rows,
        failed=failed,
        problems=tuple(problems),
        remarks=tuple(remarks),
    )


def _as_written(one: Problem, raw: Mapping[str, Any]) -> Problem:
    """A problem by the path of the file, which may write a single colour short."""
    keys = one.path.split(".")
    if keys[0] == "finishes" and keys[2:4] == ["colours", "0"]:
        finish = raw.get("finishes", {}).get(keys[1])
        if isinstance(finish, Mapping) and "colours" not in finish:
            return dataclasses.replace(one, path=".".join(keys[:2] + keys[4:]))
    return one


def _with_lines(problems: list[Problem], text: str) -> list[Problem]:
    """Problems of project.toml with their lines, in the order of the files."""
    if not problems:
        return []
    spans = index(text)
    found = []
    for one in problems:
        if one.file == MAIN and one.line is None:
            keys: list[str | int] = [int(k) if k.isdigit() else k for k in one.path.split(".")]
            line = line_of(spans, tuple(keys)) or line_of(spans, tuple(map(str, keys)))
            one = dataclasses.replace(one, line=line)
        found.append(one)
    order = {name: number for number, name in enumerate(FILES)}
    return sorted(found, key=lambda p: (order.get(p.file, 9), p.line or 0))


def changed_since(opened: Opened) -> tuple[str, ...]:
    """Name the files of a project that are not as they were read.

    Cheap enough to be asked twice a second: a file is read only where its
    time or size is another.

    Parameters
    ----------
    opened : Opened
        The project as it was read.

    Returns
    -------
    tuple of str
        Names of the files; empty where nothing changed.
    """
    changed = []
    for name in FILES:
        before = opened.sources.get(name)
        try:
            state = (opened.folder / name).stat()
        except OSError:
            if before is not None:
                changed.append(name)
            continue
        if before is None:
            changed.append(name)
        elif (state.st_mtime_ns, state.st_size) != (before.modified, before.size):
            now = hashlib.sha256((opened.folder / name).read_bytes()).hexdigest()
            if now != before.digest:
                changed.append(name)
    return tuple(changed)


def inside(folder: Path, name: str, *, under: str = "") -> Path:
    """The file of a project that is called `name`, never one outside its folder.

    Parameters
    ----------
    folder : Path
        The project folder.
    name : str
        A path relative to it, with forward slashes.
    under : str, optional
        Folder in the project where a bare file name is looked for.

    Returns
    -------
    Path
        The file, which may not exist.

    Raises
    ------
    InputError
        The path is absolute or leads out of the folder.
    """
    bare = "/" not in name and "\\" not in name
    path = (folder / under / name) if under and bare else folder / name
    if "\\" in name or "\0" in name or not path.resolve().is_relative_to(folder.resolve()):
        raise InputError(
            "file of the project",
            given=repr(name),
            allowed="a path inside the project folder, with forward slashes",
            mend="copy the file into the project folder and name it from there",
        )
    return path
