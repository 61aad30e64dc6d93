"""Say what a project folder may hold, from the classes that it is read into."""

from __future__ import annotations

import csv
import dataclasses
import functools
import importlib.resources
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from designkit import model
from designkit.errors import LookupFailed, nearest
from designkit.project.filling import Class, fields_of, shape_of, words_for
from designkit.project.tables import TABLES, columns_of

__all__ = ["KeyRow", "meanings", "schema"]

_NAMES = {
    "wishes": "<wish>",
    "rooms": "<room>",
    "walls": "<wall>",
    "known_of": "<dimension>",
    "finishes": "<finish>",
    "openings": "<opening>",
    "services": "<service>",
    "circuits": "<circuit>",
    "fixtures": "<fixture>",
    "layouts": "<layout>",
    "pieces": "<piece>",
    "lamps": "<lamp>",
    "drapes": "<drape>",
    "targets": "<target>",
    "scopes": "<scope>",
    "lines": "<line>",
    "scenarios": "<scenario>",
    "contingency": "<work>",
    "rules": "<rule>",
}


@dataclass(frozen=True, kw_only=True)
class KeyRow:
    """One key of a project file.

    Parameters
    ----------
    key : str
        Its path; names in angle brackets are chosen by the project.
    allowed : str
        What it may hold.
    default : str
        What holds where it is not there; "required" where it must be.
    meaning : str
        What it is for.
    file : str
        The file it stands in.
    """

    key: str
    allowed: str
    default: str
    meaning: str
    file: str = "project.toml"


@functools.cache
def meanings() -> Mapping[tuple[str, str], str]:
    """What each key means, by class and key.

    Returns
    -------
    mapping of tuple to str
        One sentence each.
    """
    path = importlib.resources.files("designkit.project") / "keys.csv"
    rows = csv.DictReader(path.read_text("utf-8").splitlines())
    return {(row["class"], row["key"]): row["meaning"] for row in rows}


def schema(key: str = "") -> tuple[KeyRow, ...]:
    """Describe the files of a project folder.

    Parameters
    ----------
    key : str, optional
        Only this key and what is inside it, as "rooms" or "costs".

    Returns
    -------
    tuple of KeyRow
        In the order of the files.

    Raises
    ------
    LookupFailed
        There is no such key; the message names the nearest.

    Examples
    --------
    >>> schema("rooms.<room>.height")[0].meaning
    'floor to the flat ceiling'
    """
    rows = [*_rows(model.Home, "")]
    for name, cls in TABLES.items():
        for column in columns_of(name):
            rows.append(_row(cls, column, f"{name}.{column}", file=f"{name}.csv"))
    if not key:
        return tuple(rows)
    wanted = key.strip(".")
    found = [r for r in rows if r.key == wanted or r.key.startswith(f"{wanted}.")]
    if not found:  # "height" alone: every key of that name
        found = [r for r in rows if r.key.rpartition(".")[2] == wanted]
    if not found:
        ends = {r.key.rpartition(".")[2] for r in rows} | {r.key for r in rows}
        raise LookupFailed(
            "key of a project file",
            given=key,
            allowed=f"one of {len(rows)} keys, nearest: {nearest(wanted, ends) or 'none'}",
            mend="list them with `designkit schema`",
        )
    return tuple(found)


def _row(cls: Class, name: str, path: str, *, file: str = "project.toml") -> KeyRow:
    hint, needed = fields_of(cls)[name]
    return KeyRow(
        key=path,
        allowed=_allowed(hint),
        default="required" if needed else _default(cls, name),
        meaning=meanings().get((cls.__name__, name), ""),
        file=file,
    )


def _allowed(hint: Any) -> str:
    shape = shape_of(hint)
    if shape.form == "table" and shape_of(shape.member).form == "object":
        return "a table of named entries"
    if shape.form == "list" and shape_of(shape.member).form == "object":
        return "a list of tables"
    return words_for(hint)


def _default(cls: Class, name: str) -> str:
    f = next(f for f in dataclasses.fields(cls) if f.name == name)
    if f.default is dataclasses.MISSING:
        return "none"
    if f.default is None or f.default == () or f.default == "":
        return "none"
    if isinstance(f.default, bool):
        return str(f.default).lower()
    if isinstance(f.default, model.Known):
        return f.default.source
    if dataclasses.is_dataclass(f.default):
        return "none"
    if isinstance(f.default, tuple):
        return ", ".join(f"{one:g}" for one in f.default)
    unit = {"length": " m", "area": " m²", "mass": " kg"}.get(
        shape_of(fields_of(cls)[name][0]).kind
    )
    return f"{f.default}{unit or ''}"


def _rows(cls: Class, before: str) -> Iterator[KeyRow]:
    for name, (hint, _) in fields_of(cls).items():
        path = f"{before}{name}"
        yield _row(cls, name, path)
        shape = shape_of(hint)
        inner = shape.cls if shape.form == "object" else None
        down = f"{path}."
        if shape.form in ("table", "list"):
            inner = shape_of(shape.member).cls
            down = f"{path}.{_NAMES.get(name, '<n>')}."
        if inner is not None and (inner is not model.Known or name == "known"):
            yield from _rows(inner, down)
