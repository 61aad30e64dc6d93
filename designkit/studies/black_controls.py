"""The controls of the study "share of black"."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from designkit.analyses.of_lamps import CHART
from designkit.model import Home
from designkit.palette.finishes import Limits
from designkit.studies.black_parts import SHOWN, lamp_controls, words_control

__all__ = ["black_controls"]


def black_controls(
    home: Home, *, values: Mapping[str, Any], viewpoints: Mapping[str, Any]
) -> list[dict[str, Any]]:
    """What to show, and what it is about.

    Parameters
    ----------
    home : Home
        As it is.
    values : mapping of str to Any
        What is chosen.
    viewpoints : mapping of str to Viewpoint
        Where one can look from.

    Returns
    -------
    list of dict of str to Any
        For the page.
    """
    layout = home.layouts[values["layout"]]
    items = list(dict.fromkeys(p.item or k for k, p in layout.pieces.items()))
    finishes = [[k, f.name] for k, f in home.finishes.items()]
    lamps = values["show"] == "lamps"
    two = values["show"] == "samples" or lamps
    if lamps:
        finishes += [[k, k] for k in CHART]
    controls: list[dict[str, Any]] = [
        words_control("show", "Show", SHOWN),
        words_control("layout", "Option", [(k, chr(65 + i)) for i, k in enumerate(home.layouts)]),
        {
            "kind": "checks",
            "id": "views",
            "label": "Look from",
            "choices": [[k, v.name] for k, v in viewpoints.items()],
        },
    ]
    if two:
        controls += [
            {"kind": "choose", "id": "one", "label": "One finish", "choices": finishes},
            {"kind": "choose", "id": "two", "label": "Beside it", "choices": finishes},
        ]
    else:
        pieces = [[k, home.pieces[k].name] for k in items]
        controls += [
            {"kind": "choose", "id": "piece", "label": "Piece", "choices": pieces},
            {"kind": "choose", "id": "finish", "label": "In the finish", "choices": finishes},
        ]
    if lamps:
        controls += lamp_controls()
    if values["show"] == "swaps":
        controls.append(
            words_control("towards", "Towards", [("less", "less black"), ("more", "more black")])
        )
    controls.append(
        words_control(
            "when", "When", [("day", "by day"), ("night", "after dark, bare glass is black")]
        )
    )
    if layout.drapes:
        states = [(word, word) for word in ("open", "part", "closed")]
        controls.append(words_control("drapes", "Drapery", states))
    if layout.lamps:
        controls.append(
            words_control(
                "lit",
                "Also as it is lit, from the same places",
                [("no", "no"), ("yes", "yes, a few seconds the first time")],
            )
            | {"more": True}
        )
    controls.append(
        {
            "kind": "scale",
            "id": "black",
            "label": "Black is L* up to (chroma 6 or less)",
            "min": 15,
            "max": min(35.0, Limits.of(home.rules).dark - 1),  # black is darker than dark
            "step": 1,
            "more": True,
        }
    )
    return controls
