"""Project → result: the same pure calls for commands, figures, studies and tests."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from designkit.analyses.brief import BriefLine, brief, brief_sentence
    from designkit.analyses.layout import LayoutResult, layout
    from designkit.analyses.light import light, photometry_of

_WHERE = {
    "BriefLine": "brief",
    "LayoutResult": "layout",
    "brief": "brief",
    "brief_sentence": "brief",
    "layout": "layout",
    "light": "light",
    "photometry_of": "light",
}

__all__ = sorted(_WHERE)


def __getattr__(name: str) -> object:
    from importlib import import_module

    if name not in _WHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_WHERE[name]}"), name)
