"""The controls of the study "share of black", and what those of place, glass and dimmers say."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from designkit.analyses.of_lamps import CHART
from designkit.analyses.of_scheme import FIELD_WORDS, standing_towards
from designkit.errors import LookupFailed
from designkit.model import Edit, Home, Layout, Project
from designkit.palette.finishes import Limits
from designkit.palette.glazing import glazing_of, glazings
from designkit.scene.view import Viewpoint
from designkit.studies.black_parts import SHOWN, lamp_controls, words_control
from designkit.studies.words import length_of
from designkit.units import file_text

__all__ = [
    "STANDING",
    "black_controls",
    "circuits_of",
    "dimmed",
    "glass_edits",
    "place_typed",
    "things_of",
    "windows_of",
]

STANDING = "standing"  # id of the place that is typed


def windows_of(home: Home) -> dict[str, str]:
    """Openings with glass, and their names.

    Parameters
    ----------
    home : Home
        As it is.

    Returns
    -------
    dict of str to str
        By id.
    """
    return {
        id: o.name or id.replace("_", " ")
        for id, o in home.openings.items()
        if o.kind in ("window", "balcony")
    }


def things_of(home: Home, layout: Layout) -> dict[str, str]:
    """What one can look at from any place: pieces and openings.

    Parameters
    ----------
    home : Home
        Gives the names.
    layout : Layout
        What stands there.

    Returns
    -------
    dict of str to str
        Names by id.
    """
    pieces = {id: home.pieces[p.item or id].name for id, p in layout.pieces.items()}
    openings = {id: o.name or id.replace("_", " ") for id, o in home.openings.items()}
    return {**openings, **pieces}


def circuits_of(home: Home, layout: Layout) -> dict[str, str]:
    """Circuits that lamps of a layout hang on, and their names.

    Parameters
    ----------
    home : Home
        Circuits and outlets.
    layout : Layout
        Its lamps.

    Returns
    -------
    dict of str to str
        By id, in the order of the project.
    """
    used = set()
    for lamp in layout.lamps.values():
        outlet = home.services.get(lamp.service)
        used.add(lamp.circuit or (outlet.circuit if outlet else ""))
    return {id: c.name for id, c in home.circuits.items() if id in used}


def dimmed(home: Home, layout: Layout, values: Mapping[str, Any]) -> dict[str, float]:
    """How far each circuit is dimmed on the page.

    Parameters
    ----------
    home : Home
        As it is.
    layout : Layout
        Its lamps.
    values : mapping of str to Any
        What is chosen.

    Returns
    -------
    dict of str to float
        Share of full light by circuit. [1]
    """
    return {id: float(values[f"dim.{id}"]) / 100 for id in circuits_of(home, layout)}


def place_typed(project: Project, values: Mapping[str, Any]) -> Viewpoint | None:
    """The place that is typed; None where nothing is.

    Parameters
    ----------
    project : Project
        As it is.
    values : mapping of str to Any
        What is chosen.

    Returns
    -------
    Viewpoint or None
        See `designkit.analyses.of_scheme.standing_towards`.
    """
    typed = [str(values[id]).strip() for id in ("stand_x", "stand_y")]
    if not all(typed):
        return None
    names = ("along, from the left", "up, from below")
    x, y = (length_of(t, home=project.home, what=n) for t, n in zip(typed, names, strict=True))
    return standing_towards(
        project, at=(x, y), towards=str(values["towards_thing"]), layout=values["layout"]
    )


def glass_edits(home: Home, values: Mapping[str, Any]) -> list[Edit]:
    """Another glass in a window; a share of light that was written beside it goes.

    Parameters
    ----------
    home : Home
        As it is.
    values : mapping of str to Any
        What is chosen.

    Returns
    -------
    list of Edit
        One step.

    Raises
    ------
    LookupFailed
        There is no such window or glass.
    """
    id, new = values["window"], values["pane"]
    if id not in windows_of(home):
        raise LookupFailed("window", given=id, allowed=", ".join(windows_of(home)))
    if new:
        glazing_of(new)
    opening = home.openings[id]
    edits = [Edit(path=f"openings.{id}.glass", old=opening.glass or None, new=new or None)]
    if new and opening.transmittance is not None:
        share = opening.transmittance
        edits.append(Edit(path=f"openings.{id}.transmittance", old=share, new=None))
    return edits


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
    controls += _place_controls(home, layout)
    if layout.lamps:
        controls.append(
            words_control(
                "lit",
                "Also as it is lit, from the same places",
                [("no", "no"), ("yes", "yes, a few seconds the first time")],
            )
            | {"more": True}
        )
    if values["when"] == "night" and (values["lit"] == "yes" or values["show"] == "swaps"):
        controls += _dimmers(home, layout)
    windows = windows_of(home)
    if windows:
        controls += [
            {
                "kind": "choose",
                "id": "window",
                "label": "Window",
                "choices": [list(row) for row in windows.items()],
                "more": True,
            },
            {
                "kind": "choose",
                "id": "pane",
                "label": "Its glass, seen as it is lit by day",
                "choices": [["", "not said"], *(list(row) for row in glazings().items())],
                "more": True,
            },
        ]
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


def _place_controls(home: Home, layout: Layout) -> list[dict[str, Any]]:
    """The field of view, and any place that one stands at."""
    typed = {"kind": "field", "hint": file_text(1.24, units=home.units), "more": True}
    return [
        words_control("field", "Field of view", [(k, FIELD_WORDS[k]) for k in ("60", "30", "band")])
        | {"more": True},
        {**typed, "id": "stand_x", "label": "Stand along, from the left"},
        {**typed, "id": "stand_y", "label": "Stand up, from below"},
        {
            "kind": "choose",
            "id": "towards_thing",
            "label": "and look at",
            "choices": [list(row) for row in things_of(home, layout).items()],
            "more": True,
        },
    ]


def _dimmers(home: Home, layout: Layout) -> list[dict[str, Any]]:
    """A dimmer a circuit, a switch where the circuit has none."""
    found: list[dict[str, Any]] = []
    for id, name in circuits_of(home, layout).items():
        if home.circuits[id].dimmer:
            scale = {"kind": "scale", "min": 0, "max": 100, "step": 5, "unit": "%"}
            found.append({**scale, "id": f"dim.{id}", "label": name, "more": True})
        else:
            choices = [["100", "on"], ["0", "off"]]
            found.append(
                {"kind": "words", "id": f"dim.{id}", "label": name, "choices": choices}
                | {"more": True}
            )
    return found
