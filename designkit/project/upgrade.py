"""Read what earlier versions of designkit wrote.

A step is a list of renamed keys. `*` stands for any one name. The file itself
changes only when the project is next saved.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

__all__ = ["CURRENT", "RENAMED", "upgrade"]

CURRENT = 1

# schema it was renamed from -> (old path, new last key)
RENAMED: Mapping[int, tuple[tuple[tuple[str, ...], str], ...]] = {
    0: (
        (("furniture",), "pieces"),
        (("rooms", "*", "ceiling_height"), "height"),
        (("openings", "*", "leads_to"), "to"),
    ),
}


def _rename(raw: dict[str, Any], path: tuple[str, ...], new: str) -> int:
    head, *rest = path
    if not rest:
        if head not in raw or new in raw:
            return 0
        items = [(new if key == head else key, value) for key, value in raw.items()]
        raw.clear()
        raw.update(items)
        return 1
    inside = raw.values() if head == "*" else [raw[head]] if head in raw else []
    return sum(_rename(one, tuple(rest), new) for one in inside if isinstance(one, dict))


def upgrade(raw: Mapping[str, Any]) -> tuple[dict[str, Any], str]:
    """Bring the content of an older project.toml to the present form.

    Parameters
    ----------
    raw : mapping
        What the file says.

    Returns
    -------
    tuple
        The content in the present form, and a sentence that says what changed
        ("" where nothing did).

    Examples
    --------
    >>> raw, said = upgrade({"schema": 0, "name": "flat", "furniture": {}})
    >>> raw
    {'schema': 1, 'name': 'flat', 'pieces': {}}
    """
    given = raw.get("schema", CURRENT)
    if not isinstance(given, int) or isinstance(given, bool) or not 0 <= given < CURRENT:
        return dict(raw), ""
    new: dict[str, Any] = copy.deepcopy(dict(raw))
    said: list[str] = []
    for step in range(given, CURRENT):
        for path, name in RENAMED[step]:
            count = _rename(new, path, name)
            if count:
                times = "" if count == 1 else f" ({count} times)"
                said.append(f"{'.'.join(path)} is now {name}{times}")
    new["schema"] = CURRENT
    changes = "; ".join(said) or "no key had to change"
    return new, (
        f"This project was written for schema {given} and is read as schema {CURRENT}: {changes}. "
        "Its file changes when it is next saved; the old one is kept in .designkit."
    )
