"""How the shares of the study "share of black" are worked out: fields, glass, rules."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from designkit.analyses.of_scheme import FIELD_WORDS, LitScheme, Scheme, scheme
from designkit.model import Home, Project
from designkit.palette.finishes import Limits
from designkit.palette.glazing import back_of, glazing_of, sky_through
from designkit.scene.view import Viewpoint
from designkit.studies.black_controls import windows_of
from designkit.studies.black_parts import FINE, RAYS
from designkit.studies.words import source_of

__all__ = ["field_rows", "glass_rows", "share_working"]

TINT = (
    "Daylight behind tinted glass keeps that tint wherever it goes in the room; surfaces are "
    "taken to add no colour of their own to it, and the picture is grey but for the tint."
)


def share_working(
    project: Project,
    schemes: Sequence[Scheme],
    lit: Sequence[LitScheme],
    *,
    names: Sequence[str],
    views: Sequence[str | Viewpoint],
    layout: str,
    night: bool,
    limits: Limits,
) -> list[list[Any]]:
    """How the shares are worked out.

    Parameters
    ----------
    project : Project
        As it is.
    schemes : sequence of Scheme
        By area, then by view.
    lit : sequence of LitScheme
        As lit.
    names : sequence of str
        Of the schemes.
    views : sequence of str or Viewpoint
        Where one looks from; none while a control moves, when words must be quick.
    layout : str
        Id of the layout.
    night : bool
        After dark.
    limits : Limits
        What counts as black.

    Returns
    -------
    list of list
        What, how, and the source.
    """
    area = schemes[0]
    rows: list[list[Any]] = [
        [name, s.balance.why, source_of(s.finding.rule)]
        for name, s in zip(names, schemes, strict=True)
    ]
    rows.append(["definitions", area.balance.definitions, "our assumptions, editable"])
    rows.append(["rays", RAYS, "measured"])
    rows += [
        [f"{s.limit} {s.at:g}", f"black would be {s.share * 100:.1f} %", "sensitivity"]
        for s in area.balance.sensitivity
        if s.of == "black"
    ]
    rows += field_rows(
        project,
        layout=layout,
        views=dict(zip(names[1:], views)),
        night=night,
        limits=limits,
    )
    rows += glass_rows(project.home, lit)
    for way in lit[:1]:
        rows += [["lamps", n, "the project"] for n in way.lit.state.notes if "dim" in n]
        rows += [["seen lightness", way.lit.view.rule, source_of("light.seen.white")]]
        rows += [
            [rule.words, f"seen black {rule.black * 100:.1f} %", "sensitivity"]
            for rule in way.lit.view.sensitivity
        ]
    return rows


def field_rows(
    project: Project,
    *,
    layout: str,
    views: Mapping[str, str | Viewpoint],
    night: bool,
    limits: Limits,
) -> list[list[Any]]:
    """Black in every field of view from each place, for "How is this worked out?".

    Parameters
    ----------
    project : Project
        As it is.
    layout : str
        Id of the layout.
    views : mapping of str to str or Viewpoint
        Names, and ids or places.
    night : bool
        After dark.
    limits : Limits
        What counts as black.

    Returns
    -------
    list of list
        What, how, and the source.
    """
    rows: list[list[Any]] = []
    for name, view in views.items():
        found = [
            f"{words} {100 * one.balance.shares['black']:.1f} %"
            for field, words in FIELD_WORDS.items()
            for one in [
                scheme(
                    project,
                    layout=layout,
                    viewpoint=view,
                    field=field,
                    night=night,
                    limits=limits,
                    pairs=False,
                    rays=FINE,
                )
            ]
        ]
        rows.append([f"fields of view, {name}", f"black: {'; '.join(found)}", "this study"])
    if rows:
        rows.append(
            ["all round", "ruled by what stands beside the eye: not to be used alone", "measured"]
        )
    return rows


def glass_rows(home: Home, lit: Sequence[LitScheme]) -> list[list[Any]]:
    """What the windows' glass does to the light, where it is lit by day.

    Parameters
    ----------
    home : Home
        Its openings.
    lit : sequence of LitScheme
        What is shown.

    Returns
    -------
    list of list
        What, how, and the source.
    """
    if not any(way.lit.state.when == "day" for way in lit):
        return []
    rows: list[list[Any]] = []
    tinted = False
    for id, name in windows_of(home).items():
        opening = home.openings[id]
        glass = glazing_of(opening.glass) if opening.glass else None
        tinted |= bool(glass and glass.tinted)
        said = f"tint: {glass.tint}" if glass else "glass not said, tint not known"
        if glass and glass.tinted and glass.white is None:
            said += ", of what colour its light is is not known"
        rows.append(
            [
                f"glass, {name}",
                f"{glass.name if glass else 'as taken'}: lets "
                f"{100 * sky_through(opening, overrides=home.rules):.0f} % of the sky's light in, "
                f"gives {100 * back_of(opening, overrides=home.rules):.0f} % of the room's back; "
                f"{said}",
                "B24, T09" if glass else "our assumption",
            ]
        )
    return [*rows, ["tint", TINT, "limit of this study"]] if tinted else rows
