"""Rules, values and words with where each comes from.

The tables are the CSV files beside this one: one file a subject, one row a
fact. Every number that designkit judges by is a row here.
"""

from __future__ import annotations

import csv
import functools
import importlib.resources
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from designkit.errors import FileFormatError, LookupFailed, nearest

__all__ = ["Row", "all_rows", "lookup", "table", "value"]

COLUMNS = (
    "id",
    "name",
    "value",
    "unit",
    "kind",
    "source",
    "locator",
    "known",
    "licence",
    "note",
)
KINDS = ("standard", "handbook", "common practice", "assumption", "taught only")
KNOWN = ("seen", "second-hand", "memory", "computed", "assumption")
SUBJECTS = ("plan", "palette", "lighting", "costs", "takeoff", "schedule")


@dataclass(frozen=True, kw_only=True)
class Row:
    """One fact: its value, unit, kind, and where it comes from."""

    id: str
    name: str
    value: str
    unit: str
    kind: str
    source: str
    locator: str
    known: str
    licence: str
    note: str
    subject: str

    @property
    def number(self) -> float:
        """The value as a number."""
        return float(self.value)


def table(name: str) -> list[dict[str, str]]:
    """Read one CSV table that ships with designkit.

    Parameters
    ----------
    name : str
        File name without ending, as "kinds" or "glossary".

    Returns
    -------
    list of dict
        A row a line, keyed by the header.

    Raises
    ------
    LookupFailed
        There is no such table.
    """
    folder = importlib.resources.files(__package__)
    path = folder / f"{name}.csv"
    if not path.is_file():
        names = sorted(p.name[:-4] for p in folder.iterdir() if p.name.endswith(".csv"))
        raise LookupFailed(
            "reference table", given=name, allowed=", ".join(names), mend="use one of these"
        )
    return list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))


@functools.cache
def all_rows() -> Mapping[str, Row]:
    """Every fact of every subject, keyed by id.

    Returns
    -------
    mapping of str to Row
        In the order of the files.

    Raises
    ------
    FileFormatError
        A row is not complete, or an id is there twice.
    """
    rows: dict[str, Row] = {}
    for subject in SUBJECTS:
        for number, raw in enumerate(table(subject), start=2):
            where = f"reference/{subject}.csv line {number}"
            if tuple(raw) != COLUMNS or None in raw.values():
                raise FileFormatError(where, given=list(raw), allowed=", ".join(COLUMNS))
            if raw["kind"] not in KINDS:
                raise FileFormatError(f"{where}, kind", given=raw["kind"], allowed=", ".join(KINDS))
            if raw["known"] not in KNOWN:
                raise FileFormatError(
                    f"{where}, known", given=raw["known"], allowed=", ".join(KNOWN)
                )
            if raw["id"] in rows:
                raise FileFormatError(where, given=raw["id"], allowed="an id that is new")
            rows[raw["id"]] = Row(subject=subject, **raw)
    return MappingProxyType(rows)


def lookup(id: str) -> Row:
    """One fact by its id.

    Parameters
    ----------
    id : str
        For example "plan.route.main".

    Returns
    -------
    Row
        The fact with its source.

    Raises
    ------
    LookupFailed
        There is no such fact; the message names the nearest one.

    Examples
    --------
    >>> lookup("plan.route.main").unit
    'm'
    """
    rows = all_rows()
    if id not in rows:
        raise LookupFailed(
            "reference id",
            given=id,
            allowed=f"one of {len(rows)} ids, nearest: {nearest(id, rows) or 'none'}",
            mend="list them with `designkit rules`",
        )
    return rows[id]


def value(id: str, overrides: Mapping[str, float] | None = None) -> float:
    """The number of a fact, or the project's own number for it.

    Parameters
    ----------
    id : str
        For example "plan.route.main".
    overrides : mapping of str to float, optional
        The project's own values (`Home.rules`).

    Returns
    -------
    float
        In the unit of the row.

    Raises
    ------
    LookupFailed
        There is no such fact.
    """
    if overrides and id in overrides:
        return float(overrides[id])
    return lookup(id).number
