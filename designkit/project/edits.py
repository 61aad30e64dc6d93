"""Changes of a project as a list: apply them, turn them round, find them.

A path is the keys joined by dots. "costs.<id>.<column>", "tasks.<id>.<column>"
and "quotes.<number>.<column>" lead into the CSV files; the rest into
project.toml. Two values are the same when they mean the same: "2.6 m" is
"260 cm", and a key that is not there is its default.
"""

from __future__ import annotations

import contextlib
import copy
import dataclasses
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from designkit import model
from designkit.errors import InputError, LookupFailed
from designkit.project import sheets
from designkit.project.filling import (
    Class,
    Walk,
    fields_of,
    fill,
    hint_at,
    rule_hint,
    shape_of,
    short,
    wish_hint,
)
from designkit.project.reading import Opened, assemble
from designkit.project.rewriting import toml_value
from designkit.project.tables import TABLES, Sheet
from designkit.units import file_text

__all__ = [
    "apply",
    "changes_between",
    "inverse",
    "same_value",
    "value_at",
    "with_value",
    "written",
]

Key = str | int
Keys = tuple[str, ...]


def split_path(path: str) -> tuple[str, Keys]:
    """Table of a path ("" for project.toml) and the keys in it."""
    head, _, rest = path.partition(".")
    if head == "rules" and rest:
        return "", (head, rest)  # the dots belong to the rule's id
    keys = tuple(path.split("."))
    if not all(keys):
        raise InputError(
            "path of a change", given=repr(path), allowed="keys joined by dots", mend="name the key"
        )
    if head in TABLES:
        if len(keys) not in (2, 3):
            raise InputError(
                "path of a change",
                given=repr(path),
                allowed=f"{head}.<row> or {head}.<row>.<column>",
            )
        return head, keys[1:]
    return "", keys


def _resolved(raw: Mapping[str, Any], keys: Keys) -> Keys:
    """Where a value stands in this file, whose shorthands shorten some paths."""
    if keys[0] == "rules" and len(keys) == 2:
        table = raw.get("rules", {})
        if keys[1] not in table:
            spread = tuple(keys[1].split("."))
            inner: Any = table
            for key in spread[:-1]:
                inner = inner.get(key) if isinstance(inner, Mapping) else None
            if isinstance(inner, Mapping) and len(spread) > 1:
                return ("rules", *spread)
    if keys[0] == "finishes" and len(keys) >= 5 and keys[2:4] == ("colours", "0"):
        finish = raw.get("finishes", {}).get(keys[1], {})
        if isinstance(finish, Mapping) and "colours" not in finish:
            return (*keys[:2], *keys[4:])
    return keys


def value_at(raw: Mapping[str, Any], keys: Keys) -> Any:
    """What the content of project.toml says at `keys`.

    Parameters
    ----------
    raw : mapping
        Content of project.toml.
    keys : tuple of str
        Names, and positions in lists.

    Returns
    -------
    object
        None where nothing is there.

    Examples
    --------
    >>> value_at({"rooms": {"a": {"outline": [[0, 1]]}}}, ("rooms", "a", "outline", "0", "1"))
    1
    """
    inner: Any = raw
    for key in _resolved(raw, keys):
        if isinstance(inner, Mapping):
            inner = inner.get(key)
        elif isinstance(inner, list) and key.isdigit() and int(key) < len(inner):
            inner = inner[int(key)]
        elif isinstance(inner, str) and key == "source":
            continue  # known = "seller"
        else:
            return None
    return inner


def with_value(raw: Mapping[str, Any], keys: Keys, new: Any) -> dict[str, Any]:
    """A copy of the content with another value at `keys`; the rest is shared.

    Parameters
    ----------
    raw : mapping
        Content of project.toml.
    keys : tuple of str
        Names, and positions in lists.
    new : object
        The value; None takes the entry out.

    Returns
    -------
    dict
        The changed content.

    Raises
    ------
    InputError
        The keys lead into something that holds no others.

    Examples
    --------
    >>> with_value({"brief": {"seats": 4}}, ("brief", "seats"), 6)
    {'brief': {'seats': 6}}
    """
    resolved = _resolved(raw, keys)
    value = None if new is None else toml_value(new)

    def put(inner: Any, left: Keys) -> Any:
        key, rest = left[0], left[1:]
        if isinstance(inner, str) and key in ("source", "within"):
            inner = {"source": inner}
        if inner is None:
            inner = {}
        if isinstance(inner, Mapping):
            table = dict(inner)
            if rest:
                table[key] = put(table.get(key), rest)
            elif value is None:
                table.pop(key, None)
            else:
                table[key] = value
            return table
        if isinstance(inner, list) and key.isdigit() and int(key) <= len(inner):
            row, place = list(inner), int(key)
            if rest:
                row[place : place + 1] = [put(row[place] if place < len(row) else None, rest)]
            elif value is None:
                del row[place : place + 1]
            else:
                row[place : place + 1] = [value]
            return row
        raise InputError(
            "path of a change",
            given=".".join(keys),
            allowed="a path that the project has, or one more key in a table of it",
            mend=f"{key} leads into {short(inner)}",
        )

    changed: dict[str, Any] = put(raw, resolved)
    return changed


def same_value(one: Any, two: Any, keys: Keys, *, declared: str) -> bool:
    """Whether two values mean the same at a path of project.toml.

    Parameters
    ----------
    one, two : object
        Values as a file writes them; None for a key that is not there.
    keys : tuple of str
        Where they stand.
    declared : str
        The project's unit of length.

    Returns
    -------
    bool
        Whether they mean the same.

    Examples
    --------
    >>> same_value("2.6 m", "260 cm", ("rooms", "a", "height"), declared="mm")
    True
    """
    one, two = toml_value(one), toml_value(two)
    if one == two and type(one) is type(two):
        return True
    hint = _hint(keys, one, two)
    if hint is None:
        return bool(one == two) and isinstance(one, bool) == isinstance(two, bool)
    if one is None or two is None:
        default = _default(keys)
        if default is None:
            return one is None and two is None
        one, two = (default[0] if v is None else v for v in (one, two))
    shape = shape_of(hint)
    walk = Walk(units=declared)
    at = ("value", *keys[-1:])
    if shape.form == "object" and shape.cls is not None:
        made = [fill(v, shape.cls, at, walk) for v in (one, two)]
        if not walk.problems:
            return bool(made[0] == made[1])
        return bool(one == two)
    plain = [walk.plain(v, hint, at) for v in (one, two)]
    if walk.problems:
        return bool(one == two)
    if shape.form == "decimal":
        return Decimal(str(plain[0])) == Decimal(str(plain[1]))
    return _close(plain[0], plain[1])


def _hint(keys: Keys, *values: Any) -> Any:
    """The type at a path; of a rule or a wish it hangs on more than the path."""
    if keys[0] == "rules" and len(keys) == 2:
        with contextlib.suppress(LookupFailed):
            return rule_hint(keys[1])
    if keys[:2] == ("brief", "wishes") and keys[-1] in ("at_least", "at_most"):
        return wish_hint("route" if any(isinstance(v, str) for v in values) else "")
    return hint_at(model.Home, keys)


def _close(one: Any, two: Any) -> bool:
    """Equal, numbers to a thousandth of a millimetre."""
    if isinstance(one, bool) or isinstance(two, bool):
        return one is two
    if isinstance(one, (int, float)) and isinstance(two, (int, float)):
        return abs(one - two) <= 1e-6
    if isinstance(one, list) and isinstance(two, list):
        return len(one) == len(two) and all(map(_close, one, two))
    if isinstance(one, dict) and isinstance(two, dict):
        return one.keys() == two.keys() and all(_close(one[key], two[key]) for key in one)
    return bool(one == two)


def _default(keys: Keys) -> tuple[Any] | None:
    """What a missing key of a class stands for, as a file writes it."""
    holder = hint_at(model.Home, keys[:-1]) if len(keys) > 1 else model.Home
    shape = shape_of(holder) if holder is not None else None
    if shape is None or shape.form != "object" or shape.cls is None:
        return None
    for f in dataclasses.fields(shape.cls):
        if f.name == keys[-1]:
            if f.default is not dataclasses.MISSING:
                value = f.default
            elif f.default_factory is not dataclasses.MISSING:
                value = f.default_factory()
            else:
                return None
            return (written(value, fields_of(shape.cls)[f.name][0], declared="m"),)
    return None


def written(value: Any, hint: Any, *, declared: str) -> Any:
    """A value of `model` as a project file writes it.

    Parameters
    ----------
    value : object
        The value.
    hint : type
        Its type hint.
    declared : str
        The project's unit of length.

    Returns
    -------
    object
        Text, numbers, lists and tables; without the keys that are at their default.

    Examples
    --------
    >>> written(model.Person(role="adult", height=1.7), model.Person, declared="m")
    {'role': 'adult', 'height': '1.7 m'}
    """
    if value is None:
        return None
    shape = shape_of(hint)
    if shape.form == "quantity":
        return file_text(value, kind=shape.kind, units=declared)
    if shape.form == "decimal":
        return toml_value(value)
    if shape.form == "list":
        return [written(one, shape.member, declared=declared) for one in value]
    if shape.form == "row":
        pairs = zip(value, shape.inner, strict=True)
        return [written(one, inner, declared=declared) for one, inner in pairs]
    if shape.form == "table":
        return {key: written(one, shape.member, declared=declared) for key, one in value.items()}
    if shape.form == "object" and shape.cls is not None:
        if shape.cls is model.Known and value.within is None:
            return value.source
        found = {}
        for f in dataclasses.fields(shape.cls):
            one = getattr(value, f.name)
            needed = fields_of(shape.cls)[f.name][1]
            plain = f.default is not dataclasses.MISSING and one == f.default
            empty = f.default_factory is not dataclasses.MISSING and one == f.default_factory()
            if needed or not (plain or empty):
                inner = _field_hint(value, f.name)
                found[f.name] = written(one, inner, declared=declared)
        return found
    return value


def _field_hint(thing: Any, name: str) -> Any:
    """The type of a field of an object."""
    if isinstance(thing, model.Wish) and name in ("at_least", "at_most"):
        return wish_hint(thing.kind)
    cls: Class = type(thing)
    return fields_of(cls)[name][0]


def holds(opened_raw: Mapping[str, Any], tables: Mapping[str, Sheet], edit: model.Edit) -> bool:
    """Whether the value that a change starts from is still there."""
    table, keys = split_path(edit.path)
    if not table and len(keys) > 1 and value_at(opened_raw, keys[:-1]) is None:
        holder = hint_at(model.Home, keys[:-1])
        cls = shape_of(holder).cls if holder is not None else None
        if cls is not None and any(needed for _, needed in fields_of(cls).values()):
            return False  # one key would not make the entry that holds it
    return is_now(opened_raw, tables, edit.path, edit.old)


def is_now(raw: Mapping[str, Any], tables: Mapping[str, Sheet], path: str, value: Any) -> bool:
    """Whether the files say `value` at `path`."""
    table, keys = split_path(path)
    if table:
        return sheets.same_cell(tables.get(table), table, keys, value)
    now = value_at(raw, keys)
    return same_value(now, value, keys, declared=str(raw.get("units", "m")))


def now_at(raw: Mapping[str, Any], tables: Mapping[str, Sheet], path: str) -> Any:
    """What the files say at a path."""
    table, keys = split_path(path)
    if table:
        return sheets.cell(tables.get(table), keys)
    return value_at(raw, keys)


def put(
    raw: Mapping[str, Any], tables: Mapping[str, Sheet], edit: model.Edit
) -> tuple[Mapping[str, Any], Mapping[str, Sheet]]:
    """The files' content after one change."""
    table, keys = split_path(edit.path)
    if table:
        return raw, {**tables, table: sheets.put(tables.get(table), table, keys, edit.new)}
    return with_value(raw, keys, edit.new), tables


def apply(opened: Opened, edits: Sequence[model.Edit]) -> model.Project:
    """The project after some changes, in memory only.

    Parameters
    ----------
    opened : Opened
        The project.
    edits : sequence of Edit
        The changes, in order.

    Returns
    -------
    Project
        The changed project; entries that no change touches are the same objects.

    Raises
    ------
    InputError
        The project does not say what a change starts from.
    ProjectErrors
        The changed project would have problems.
    """
    return applied(opened, edits).project


def applied(opened: Opened, edits: Sequence[model.Edit]) -> Opened:
    """As `apply`, with what belongs to the files."""
    raw, tables = opened.stored.raw, opened.stored.sheets
    for edit in edits:
        if not holds(raw, tables, edit):
            raise InputError(
                edit.path,
                given=short(edit.old),
                allowed=f"what the project says now: {short(now_at(raw, tables, edit.path))}",
                mend="start the change from that value",
            )
        raw, tables = put(raw, tables, edit)
    return assemble(
        raw,
        {},
        text="",
        folder=opened.folder,
        sources=opened.sources,
        earlier=opened.stored,
        sheets=tables,
    )


def inverse(edits: Sequence[model.Edit]) -> tuple[model.Edit, ...]:
    """The changes that take `edits` back.

    Parameters
    ----------
    edits : sequence of Edit
        Changes, in order.

    Returns
    -------
    tuple of Edit
        Their opposites, in the opposite order.

    Examples
    --------
    >>> inverse([model.Edit(path="name", old="a", new="b")])
    (Edit(path='name', old='b', new='a'),)
    """
    return tuple(model.Edit(path=e.path, old=e.new, new=e.old) for e in reversed(edits))


def changes_between(old: model.Project, new: model.Project) -> tuple[model.Edit, ...]:
    """The changes that make one project the other.

    Parameters
    ----------
    old, new : Project
        Two states of one project, in the same units.

    Returns
    -------
    tuple of Edit
        One for each value that differs.

    Raises
    ------
    InputError
        The two declare different units.

    Examples
    --------
    >>> from dataclasses import replace
    >>> one = model.Project(home=model.Home(name="flat"))
    >>> two = replace(one, home=replace(one.home, place="by the park"))
    >>> changes_between(one, two)
    (Edit(path='place', old=None, new='by the park'),)
    """
    if old.home.units != new.home.units:
        raise InputError(
            "units",
            given=f"{old.home.units} and {new.home.units}",
            allowed="one declared unit",
            mend="change units by itself: bare numbers in the file would mean something else",
        )
    found = list(_changes(old.home, new.home, model.Home, (), declared=old.home.units))
    for name in TABLES:
        found += sheets.changes(name, getattr(old, name), getattr(new, name))
    return tuple(found)


def _changes(old: Any, new: Any, hint: Any, keys: Keys, *, declared: str) -> Iterator[model.Edit]:
    if old == new:
        return
    shape = shape_of(hint)
    path = ".".join(keys)
    there = old is not None and new is not None
    if there and shape.cls is not None and shape.cls is not model.Known:
        for name in fields_of(shape.cls):
            one, two, inner = getattr(old, name), getattr(new, name), _field_hint(new, name)
            yield from _changes(one, two, inner, (*keys, name), declared=declared)
        return
    if shape.form == "table":
        for key in [*old, *(key for key in new if key not in old)]:
            inner = rule_hint(key) if keys == ("rules",) else shape.member
            yield from _changes(old.get(key), new.get(key), inner, (*keys, key), declared=declared)
        return
    objects = shape.form == "list" and shape_of(shape.member).form == "object"
    if objects and old is not None and new is not None and len(old) == len(new):
        for number, (one, two) in enumerate(zip(old, new, strict=True)):
            yield from _changes(one, two, shape.member, (*keys, str(number)), declared=declared)
        return
    default = _default(keys)
    before = written(old, hint, declared=declared)
    if default is not None and before == default[0]:
        before = None
    yield model.Edit(path=path, old=before, new=copy.copy(written(new, hint, declared=declared)))
