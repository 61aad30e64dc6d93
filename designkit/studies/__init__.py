"""The studies: one function a notebook, each returns a page."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from designkit.studies.black_study import share_of_black
    from designkit.studies.budget_study import budget_scenarios
    from designkit.studies.layouts_study import layout_options
    from designkit.studies.light_study import light

__all__ = ["budget_scenarios", "layout_options", "light", "share_of_black"]

_WHERE = {
    "budget_scenarios": "budget_study",
    "layout_options": "layouts_study",
    "light": "light_study",
    "share_of_black": "black_study",
}


def __getattr__(name: str) -> object:
    from importlib import import_module

    if name not in _WHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_WHERE[name]}"), name)
