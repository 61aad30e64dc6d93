"""The scheme of one layout: shares by area and by view, edges, what would close a gap."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import numpy as np

from designkit.analyses.keep import Kept, places_of_finishes, rests_on, shape_of
from designkit.analyses.litview import LitBalance, known_scene, lit_balances
from designkit.analyses.of_light import photometry_of
from designkit.analyses.pick import home_of, layout_of
from designkit.analyses.swaps import swap_candidates
from designkit.balance import Balance, Gap, band_of, gap, judge, shares
from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import Finding, Home, Layout, Project
from designkit.palette.contrast import Edge, edges
from designkit.palette.finishes import FinishValue, Limits, resolve_all
from designkit.plan.place import place_home
from designkit.scene.neighbours import neighbours
from designkit.scene.solids import shell
from designkit.scene.surfaces import surfaces
from designkit.scene.view import (
    FIELDS,
    Picture,
    Viewpoint,
    find_viewpoint,
    look,
    picture,
    standing,
    viewpoints,
)
from designkit.scene.weights import Weight, area_weights, view_weights

__all__ = [
    "FIELD_WORDS",
    "LitScheme",
    "Scheme",
    "balance",
    "lit_schemes",
    "scheme",
    "scheme_edges",
    "scheme_picture",
    "scheme_viewpoints",
    "standing_towards",
]


FIELD_WORDS: Mapping[str, str] = {
    "60": "60° each way",
    "30": "30° each way",
    "band": "40° band",
    "sphere": "all round",
}


@dataclass(frozen=True, kw_only=True, eq=False)
class Scheme:
    """Shares in one way of looking, the band, and what would close the gap."""

    by: Literal["area", "view"]
    viewpoint: Viewpoint | None
    balance: Balance
    band: tuple[float, float]
    finding: Finding
    gap: Gap
    finishes: Mapping[str, FinishValue]
    findings: tuple[Finding, ...]  # finishes whose statements disagree
    weights: tuple[Weight, ...]


def scheme_viewpoints(
    project: Project | Home, *, layout: str | Layout = ""
) -> dict[str, Viewpoint]:
    """Where one can look from: the doors, the seats, the middle of the floor.

    Parameters
    ----------
    project : Project or Home
        The home.
    layout : str or Layout
        A layout's id or a layout itself; "" is the home's current one.

    Returns
    -------
    dict of str to Viewpoint
        By id, doors first.
    """
    home = home_of(project)
    return dict(_points(home, layout_of(home, layout)))


def _points(home: Home, layout: Layout) -> dict[str, Viewpoint]:
    return _POINTS.get(shape_of(home, layout), lambda: viewpoints(home, layout))


def _at(home: Home, layout: Layout, viewpoint: str | Viewpoint) -> Viewpoint:
    if isinstance(viewpoint, Viewpoint):
        return viewpoint
    return find_viewpoint(_points(home, layout), viewpoint)


def _named(at: Viewpoint, field: str) -> Viewpoint:
    """A viewpoint whose name tells the field of view, where it is not the usual one."""
    return at if field == "60" else replace(at, name=f"{at.name}, {FIELD_WORDS[field]}")


def standing_towards(
    project: Project | Home,
    *,
    at: tuple[float, float],
    towards: str,
    layout: str | Layout = "",
) -> Viewpoint:
    """Standing at any point of the plan, looking at a thing.

    Parameters
    ----------
    project : Project or Home
        The home.
    at : tuple of float
        x, y. [m]
    towards : str
        Id of a placed piece or of an opening.
    layout : str or Layout
        A layout's id or a layout itself; "" is the home's current one.

    Returns
    -------
    Viewpoint
        With a level line of sight.

    Raises
    ------
    LookupFailed
        There is no such layout or thing.
    InputError
        The point is not finite, is outside the rooms, inside a thing, or where
        the thing is.
    """
    home = home_of(project)
    plan = layout_of(home, layout)
    things = {id: thing.at for id, thing in place_home(home, plan).items()}
    for space in shell(home).spaces:
        for one in space.openings:
            middle = tuple((a + b) / 2 for a, b in zip(one.left, one.right, strict=True))
            things.setdefault(one.id, (middle[0], middle[1]))
    if towards not in things:
        raise LookupFailed(
            "thing to look at",
            given=towards,
            allowed=", ".join(things) or "none is there yet",
            mend=f"nearest: {nearest(towards, things) or 'none'}",
        )
    dx, dy = things[towards][0] - at[0], things[towards][1] - at[1]
    if math.hypot(dx, dy) < 0.01:
        raise InputError(
            "standing point",
            given="where the thing is that is looked at",
            allowed="a point beside it",
            mend="step back, or look at another thing",
        )
    found = standing(at, facing=math.degrees(math.atan2(dy, dx)), home=home)
    look(known_scene(home, plan), found, rays=1)  # refuses an eye in a piece or a wall
    return found


# The last weights, with what they rest on: a limit that moves changes none of them.
_WEIGHTS: Kept[tuple[tuple[Weight, ...], Viewpoint | None]] = Kept(24)
_PLAIN: Kept[tuple[tuple[Weight, ...], Viewpoint | None]] = Kept(24)
_BALANCES: Kept[Balance] = Kept(24)
_POINTS: Kept[dict[str, Viewpoint]] = Kept(4)
_SEEN: Kept[Picture] = Kept(12)
_PAINTED: Kept[Picture] = Kept(12)


def _weights(
    home: Home, layout: Layout, viewpoint: str | Viewpoint, field: str, night: bool, rays: int
) -> tuple[tuple[Weight, ...], Viewpoint | None]:
    """Weights by area or by view, remembered for the same home and layout."""
    return _WEIGHTS.get(
        ((viewpoint, field, night, rays), *rests_on(home, layout)),
        lambda: _weigh(home, layout, viewpoint, field, night, rays),
    )


def scheme_picture(
    project: Project | Home,
    *,
    viewpoint: str | Viewpoint,
    layout: str | Layout = "",
    columns: int = 320,
    rows: int = 200,
) -> Picture:
    """A view in perspective, remembered for the same home and layout.

    Parameters
    ----------
    project : Project or Home
        The home.
    viewpoint : str or Viewpoint
        The id of a viewpoint, or any place.
    layout : str or Layout
        A layout's id or a layout itself; "" is the home's current one.
    columns, rows : int
        Pixels across and down.

    Returns
    -------
    Picture
        What is met at each pixel; see `designkit.scene.view.picture`. Its targets are
        only those that are met.

    Raises
    ------
    LookupFailed
        There is no such layout or viewpoint.
    """
    home = home_of(project)
    plan = layout_of(home, layout)
    places, held = places_of_finishes(home)

    def make() -> Picture:
        at = _at(home, plan, viewpoint)
        whole = picture(known_scene(places, plan), at, columns=columns, rows=rows)
        met, index = np.unique(whole.index, return_inverse=True)
        return replace(
            whole,
            targets=tuple(whole.targets[n] for n in met.tolist()),
            index=index.reshape(whole.index.shape),
        )

    # The same pixels meet the same things, whatever finish these have.
    seen = _SEEN.get(((viewpoint, columns, rows), tuple(held), *shape_of(home, plan)), make)
    targets = tuple(replace(t, finish=held.get(t.finish, t.finish)) for t in seen.targets)
    return _PAINTED.get((seen, targets), lambda: replace(seen, targets=targets))


def _weigh(
    home: Home, layout: Layout, viewpoint: str | Viewpoint, field: str, night: bool, rays: int
) -> tuple[tuple[Weight, ...], Viewpoint | None]:
    """Weights of the places of finishes, then with the finishes that stand there."""
    plain, held = places_of_finishes(home)
    weights, at = _PLAIN.get(
        ((viewpoint, field, night, rays), tuple(held), *shape_of(home, layout)),
        lambda: _weigh_plain(plain, layout, viewpoint, field, night, rays),
    )
    return tuple(replace(w, finish=held.get(w.finish, w.finish)) for w in weights), at


def _weigh_plain(
    home: Home, layout: Layout, viewpoint: str | Viewpoint, field: str, night: bool, rays: int
) -> tuple[tuple[Weight, ...], Viewpoint | None]:
    if not viewpoint:
        return area_weights(surfaces(home, layout), night=night), None
    at = _at(home, layout, viewpoint)
    if field not in FIELDS:
        raise LookupFailed(
            "field of view", given=field, allowed=", ".join(FIELDS), mend=nearest(field, FIELDS)
        )
    seen = look(known_scene(home, layout), at, fields=[FIELDS[field]], rays=rays)[0]
    return view_weights(seen, night=night), at


def scheme(
    project: Project | Home,
    *,
    layout: str | Layout = "",
    viewpoint: str | Viewpoint = "",
    field: str = "60",
    night: bool = False,
    limits: Limits | None = None,
    rays: int = 4000,
    pairs: bool = True,
) -> Scheme:
    """Shares of black, dark, mid, light, warm and patterned of one layout.

    Parameters
    ----------
    project : Project or Home
        The home.
    layout : str or Layout
        A layout's id or a layout itself; "" is the home's current one.
    viewpoint : str or Viewpoint
        "" counts by area; else the id of a viewpoint or any place, and the view is
        counted.
    field : str
        Field of view, one of `designkit.scene.view.FIELDS`.
    night : bool
        Bare window glass counts as the black that it is after dark.
    limits : Limits, optional
        What counts as black, dark and light; else the project's rules.
    rays : int, optional
        Rays a field.
    pairs : bool
        Look for two changes of finish where one does not close the gap.

    Returns
    -------
    Scheme
        With the band, the verdict and the swaps that would move it.

    Raises
    ------
    LookupFailed
        There is no such layout, viewpoint, field or finish.
    """
    home = home_of(project)
    plan = layout_of(home, layout)
    limits = limits or Limits.of(home.rules)
    finishes = resolve_all(home.finishes, limits=limits, overrides=home.rules)
    weights, at = _weights(home, plan, viewpoint, field, night, rays)
    by: Literal["area", "view"] = "view" if at else "area"
    # A finish that is not seen from here changes nothing.
    found = _BALANCES.get(
        (weights, tuple(finishes.values()), limits, by),
        lambda: shares(weights, finishes=finishes, limits=limits, by=by),
    )
    known = band_of(by, overrides=home.rules)
    assert known is not None  # there is one for area and for view
    band, rule = known
    return Scheme(
        by=by,
        viewpoint=at and _named(at, field),
        balance=found,
        band=band,
        finding=judge(found, band=band, rule=rule),
        gap=gap(
            weights,
            finishes=finishes,
            band=band,
            limits=limits,
            keep=home.brief.keeps,
            candidates=swap_candidates(home),
            now=found,
            pairs=pairs,
            by=by,
        ),
        finishes=finishes,
        findings=tuple(f for value in finishes.values() for f in value.findings),
        weights=weights,
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class LitScheme:
    """Shares of a view as it is lit; no band is assumed for it."""

    lit: LitBalance
    balance: Balance
    viewpoint: Viewpoint  # its name says when
    band: None = None
    gap: None = None


WHEN: Mapping[Literal["evening", "day"], str] = {"evening": "in the evening", "day": "by day"}


def lit_schemes(
    project: Project | Home,
    *,
    viewpoints: Sequence[str | Viewpoint],
    layout: str | Layout = "",
    field: str = "60",
    dim: float | Mapping[str, float] | None = None,
    when: Sequence[Literal["evening", "day"]] = ("day", "evening"),
    limits: Limits | None = None,
    folder: Path | None = None,
    rays: int = 4000,
    rough: bool = False,
) -> list[LitScheme]:
    """What is seen dark once the lamps are on, or by day.

    Parameters
    ----------
    project : Project or Home
        The home.
    viewpoints : sequence of str or Viewpoint
        Ids of viewpoints, or any places.
    layout : str or Layout
        A layout's id or a layout itself; "" is the home's current one.
    field : str
        Field of view, one of `designkit.scene.view.FIELDS`.
    dim : float or mapping of str to float, optional
        Share of full light, for all or by circuit. [1]
    when : sequence of str
        "day", "evening" or both.
    limits : Limits, optional
        What counts as black, dark and light.
    folder : Path, optional
        The project folder, for photometric files.
    rays : int
        Rays a field.
    rough : bool
        While a control moves; see `designkit.analyses.litview.lit_balances`.

    Returns
    -------
    list of LitScheme
        For each viewpoint each time; see `designkit.analyses.litview`.

    Raises
    ------
    LookupFailed
        There is no such layout or viewpoint.
    InputError
        Nothing is lit, or a surface cannot be divided.
    """
    home = home_of(project)
    plan = layout_of(home, layout)
    found = []
    for time in when:
        balances = lit_balances(
            home,
            plan,
            points={
                v if isinstance(v, str) else f"place {n}": _at(home, plan, v)
                for n, v in enumerate(viewpoints)
            },
            fields=(field,),
            dim=dim,
            when=time,
            photometry=photometry_of(home, folder),
            rays=rays,
            limits=limits or Limits.of(home.rules),
            rough=rough,
        )
        for lit in balances.values():
            at = _named(lit.view.viewpoint, field)
            found.append(
                LitScheme(
                    lit=lit,
                    balance=lit.balance,
                    viewpoint=replace(at, name=f"{at.name}, {WHEN[time]}"),
                )
            )
    return found


def balance(project: Project | Home, *, layout: str | Layout = "") -> Balance:
    """Shares by area of one layout.

    Parameters
    ----------
    project : Project or Home
        The home.
    layout : str or Layout
        A layout's id or a layout itself; "" is the home's current one.

    Returns
    -------
    Balance
        See `designkit.balance.shares`.
    """
    home = home_of(project)
    limits = Limits.of(home.rules)
    return shares(
        area_weights(surfaces(home, layout_of(home, layout))),
        finishes=resolve_all(home.finishes, limits=limits, overrides=home.rules),
        limits=limits,
    )


def scheme_edges(project: Project | Home, *, layout: str | Layout = "") -> Sequence[Edge]:
    """Finishes that touch or stand in front of each other, strongest edge first.

    Parameters
    ----------
    project : Project or Home
        The home.
    layout : str or Layout
        A layout's id or a layout itself; "" is the home's current one.

    Returns
    -------
    sequence of Edge
        With ΔL*, ΔLRV and ΔE00.
    """
    home = home_of(project)
    finishes = resolve_all(home.finishes, limits=Limits.of(home.rules), overrides=home.rules)
    return edges(neighbours(home, layout_of(home, layout)), finishes=finishes)
