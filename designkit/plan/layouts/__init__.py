"""Layouts proposed by an exact search: places, tables, proofs, and words for them."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from designkit.plan.layouts.options import Option, Progress, Proposals, Score
    from designkit.plan.layouts.proposing import propose
    from designkit.plan.layouts.rating import Rating, rate, refusals
    from designkit.plan.layouts.terms import TERMS, Term
    from designkit.plan.layouts.things import Relation

_WHERE = {
    "Option": "options",
    "Progress": "options",
    "Proposals": "options",
    "Rating": "rating",
    "Relation": "things",
    "Score": "options",
    "TERMS": "terms",
    "Term": "terms",
    "propose": "proposing",
    "rate": "rating",
    "refusals": "rating",
}

__all__ = [
    "TERMS",
    "Option",
    "Progress",
    "Proposals",
    "Rating",
    "Relation",
    "Score",
    "Term",
    "propose",
    "rate",
    "refusals",
]


def __getattr__(name: str) -> object:
    from importlib import import_module

    if name not in _WHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_WHERE[name]}"), name)
