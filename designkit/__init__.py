"""designkit: design studies for furnishing, lighting and dressing a home.

Nothing is imported before it is asked for (PEP 562):

>>> import designkit
>>> designkit.units.read("260 cm")
2.6
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from designkit import errors, model, project, reference, units
    from designkit.errors import DesignkitError, FileFormatError, InputError, LookupFailed
    from designkit.project import read
    from designkit.shipped import shipped

_MODULES = (
    "analyses",
    "balance",
    "costs",
    "errors",
    "figures",
    "lighting",
    "model",
    "palette",
    "plan",
    "project",
    "publish",
    "reference",
    "scene",
    "schedule",
    "studies",
    "takeoff",
    "units",
)
_NAMES = {
    "DesignkitError": "errors",
    "FileFormatError": "errors",
    "InputError": "errors",
    "LookupFailed": "errors",
    "read": "project",
    "shipped": "shipped",
}

__all__ = [
    "DesignkitError",
    "FileFormatError",
    "InputError",
    "LookupFailed",
    "errors",
    "model",
    "project",
    "read",
    "reference",
    "shipped",
    "units",
]


def __getattr__(name: str) -> object:
    if name == "__version__":
        from importlib.metadata import version

        return version("designkit-studies")
    if name in _NAMES:
        return getattr(importlib.import_module(f"{__name__}.{_NAMES[name]}"), name)
    if name in _MODULES:
        try:
            return importlib.import_module(f"{__name__}.{name}")
        except ModuleNotFoundError as error:
            if error.name != f"{__name__}.{name}":
                raise
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *_MODULES, *_NAMES, "__version__"})
