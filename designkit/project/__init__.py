"""Project folders: read, check, change and save them. Files only.

>>> from designkit import project
>>> project.schema("units")[0].default
'm'
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from designkit.project.amounts import currencies
    from designkit.project.describing import KeyRow, schema
    from designkit.project.edits import apply, changes_between, inverse
    from designkit.project.problems import Problem, ProjectErrors
    from designkit.project.reading import Conflict, Opened, Source, changed_since, inside, read
    from designkit.project.saving import save, undo
    from designkit.project.starting import new

# pydantic and shapely are loaded by what needs them, not by `import designkit.project`
_WHERE = {
    "Conflict": "reading",
    "KeyRow": "describing",
    "Opened": "reading",
    "Problem": "problems",
    "ProjectErrors": "problems",
    "Source": "reading",
    "apply": "edits",
    "changed_since": "reading",
    "changes_between": "edits",
    "currencies": "amounts",
    "inside": "reading",
    "inverse": "edits",
    "new": "starting",
    "read": "reading",
    "save": "saving",
    "schema": "describing",
    "undo": "saving",
}

__all__ = [
    "Conflict",
    "KeyRow",
    "Opened",
    "Problem",
    "ProjectErrors",
    "Source",
    "apply",
    "changed_since",
    "changes_between",
    "currencies",
    "inside",
    "inverse",
    "new",
    "read",
    "save",
    "schema",
    "undo",
]


def __getattr__(name: str) -> object:
    if name not in _WHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    import importlib

    return getattr(importlib.import_module(f"{__name__}.{_WHERE[name]}"), name)
