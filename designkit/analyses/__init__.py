"""Project → result: the same pure calls for commands, figures, studies and tests."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from designkit.analyses.of_brief import BriefLine, brief, brief_sentence
    from designkit.analyses.of_fits import Fits, fits, keep_edits
    from designkit.analyses.of_layout import LayoutResult, layout
    from designkit.analyses.of_light import light, photometry_of
    from designkit.analyses.of_proposals import Proposed, proposals
    from designkit.analyses.of_scheme import (
        Scheme,
        balance,
        lit_schemes,
        scheme,
        scheme_edges,
        scheme_picture,
        scheme_viewpoints,
    )
    from designkit.costs.budgeting import budget

__all__ = [
    "BriefLine",
    "Fits",
    "LayoutResult",
    "Proposed",
    "Scheme",
    "balance",
    "brief",
    "brief_sentence",
    "budget",
    "fits",
    "keep_edits",
    "layout",
    "light",
    "lit_schemes",
    "photometry_of",
    "proposals",
    "scheme",
    "scheme_edges",
    "scheme_picture",
    "scheme_viewpoints",
]

_HERE = "designkit.analyses."
_WHERE = {
    "BriefLine": _HERE + "of_brief",
    "Fits": _HERE + "of_fits",
    "fits": _HERE + "of_fits",
    "keep_edits": _HERE + "of_fits",
    "LayoutResult": _HERE + "of_layout",
    "Scheme": _HERE + "of_scheme",
    "balance": _HERE + "of_scheme",
    "brief": _HERE + "of_brief",
    "brief_sentence": _HERE + "of_brief",
    "budget": "designkit.costs.budgeting",
    "layout": _HERE + "of_layout",
    "light": _HERE + "of_light",
    "lit_schemes": _HERE + "of_scheme",
    "photometry_of": _HERE + "of_light",
    "Proposed": _HERE + "of_proposals",
    "proposals": _HERE + "of_proposals",
    "scheme": _HERE + "of_scheme",
    "scheme_edges": _HERE + "of_scheme",
    "scheme_picture": _HERE + "of_scheme",
    "scheme_viewpoints": _HERE + "of_scheme",
}


def __getattr__(name: str) -> object:
    from importlib import import_module

    if name not in _WHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_WHERE[name]), name)
