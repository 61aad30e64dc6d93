"""Turn what the files say into a `model.Project`, entry by entry."""

from __future__ import annotations

import dataclasses
import functools
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from designkit import model, reference, units
from designkit.errors import InputError, LookupFailed, nearest
from designkit.project.filling import (
    Class,
    Key,
    Walk,
    fields_of,
    fill,
    rule_hint,
    shape_of,
)
from designkit.project.problems import Problem
from designkit.units import read

__all__ = ["Built", "build"]

_ALONE: tuple[Any, ...] = (model.Money, model.CsvFormat, model.Building, model.Brief)


@functools.cache
def _entries(cls: Any) -> Mapping[str, Class]:
    """Fields of a class that hold named entries, each read by itself."""
    found = {}
    for name, (hint, _) in fields_of(cls).items():
        shape = shape_of(hint)
        if shape.form == "table":
            member = shape_of(shape.member)
            if member.cls is not None and member.cls is not model.Known:
                found[name] = member.cls
    return found


_ALONE_FIELDS = tuple(
    name for name, (hint, _) in fields_of(model.Home).items() if shape_of(hint).cls in _ALONE
)


@dataclass(kw_only=True)
class Built:
    """A home as far as it can be read, and what could not."""

    home: model.Home
    made: dict[tuple[Key, ...], tuple[object, Any]] = field(default_factory=dict)
    failed: dict[tuple[Key, ...], Class] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    unread: list[str] = field(default_factory=list)


def build(raw: Mapping[str, Any], *, tolerant: bool = False, earlier: Built | None = None) -> Built:
    """Read every entry of project.toml by itself.

    Parameters
    ----------
    raw : mapping
        The content of the file, in the present form.
    tolerant : bool, optional
        Whether unknown keys are left out (a newer file) and not refused.
    earlier : Built, optional
        Entries whose raw value is the very same object are taken from it.

    Returns
    -------
    Built
        The home with all entries that are right.
    """
    declared = raw.get("units", "m")
    known = (*units.METRIC, *units.IMPERIAL)
    walk = Walk(units=declared if declared in known else "m", tolerant=tolerant)
    built = Built(home=model.Home(name=str(raw.get("name", ""))), problems=walk.problems)
    # bare numbers mean something else under another unit
    same = earlier is not None and earlier.home.units == walk.units
    old = earlier.made if same and earlier is not None else {}
    ready = {**raw, "rules": _rules(raw["rules"], walk)} if "rules" in raw else raw
    home = _object(ready, model.Home, (), walk, built, old)
    if home is not None:
        built.home = home
    built.unread = walk.unread
    return built


def _object(
    raw: object,
    cls: Class,
    keys: tuple[Key, ...],
    walk: Walk,
    built: Built,
    old: Mapping[tuple[Key, ...], tuple[object, Any]],
) -> Any | None:
    """One entry: its own keys, then the entries inside it."""
    if keys in old and old[keys][0] is raw and not _entries(cls):
        built.made[keys] = old[keys]
        return old[keys][1]
    inside = _entries(cls)
    if not isinstance(raw, Mapping):
        fill(raw, cls, keys, walk)
        built.failed[keys] = cls
        return None
    parts: dict[str, Any] = {}
    for name, value in _apart(raw, cls, inside):
        at = (*keys, name)
        if name not in inside:
            alone = shape_of(fields_of(cls)[name][0]).cls
            one = _object(value, alone or object, at, walk, built, old)
            if one is not None:
                parts[name] = one
            continue
        if not isinstance(value, Mapping):
            walk.problem(at, value, "a table of named entries", f"write [{name}.<id>]")
            continue
        parts[name] = {}
        for id, entry in value.items():
            if not re.fullmatch(r"\w[\w-]*", id):
                walk.problem(
                    (*at, id), id, "an id of letters, digits, _ and -", "choose a plain id"
                )
            one = _object(entry, inside[name], (*at, id), walk, built, old)
            if one is not None:
                parts[name][id] = one
    shell = {key: value for key, value in raw.items() if key not in parts and key not in inside}
    if cls is model.Home:
        for name in _ALONE_FIELDS:
            shell.pop(name, None)
    made = fill(shell, cls, keys, walk)
    if made is None:
        built.failed[keys] = cls
        if cls is not model.Home:
            return None
        made = built.home  # the entries are checked all the same
    made = dataclasses.replace(made, **parts) if parts else made
    built.made[keys] = (raw, made)
    return made


def _apart(
    raw: Mapping[str, Any], cls: Class, inside: Mapping[str, Class]
) -> Iterator[tuple[str, Any]]:
    """Keys of an entry that are read by themselves."""
    for name, value in raw.items():
        if name in inside or (cls is model.Home and name in _ALONE_FIELDS):
            yield name, value


def _rules(raw: object, walk: Walk) -> dict[str, Any]:
    """The project's own values of rules; nested tables are dotted ids."""
    if not isinstance(raw, Mapping):
        walk.problem(("rules",), raw, "a table of rule ids", 'write "plan.route.main" = "950 mm"')
        return {}
    flat: dict[str, Any] = {}

    def spread(table: Mapping[str, Any], before: str) -> None:
        for key, value in table.items():
            if isinstance(value, Mapping):
                spread(value, f"{before}{key}.")
            else:
                flat[f"{before}{key}"] = value

    spread(raw, "")
    found: dict[str, Any] = {}
    for id, value in flat.items():
        keys = ("rules", id)
        try:
            shape = shape_of(rule_hint(id))
        except LookupFailed:
            near = nearest(id, reference.all_rows())
            walk.problem(
                keys,
                value,
                "a rule that `designkit rules` lists",
                f"write {near}" if near else "take it out",
            )
            continue
        try:
            found[id] = value
            if shape.form == "quantity":
                found[id] = read(value, kind=shape.kind, units=walk.units, what=id)
        except InputError as error:
            walk.problem(keys, value, error.allowed, error.mend)
    return found
