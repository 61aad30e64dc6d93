"""The scheme of one layout: shares by area and by view, edges, what would close a gap."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from designkit.analyses.keep import Kept, rests_on, shape_of
from designkit.analyses.litview import LitBalance, known_scene, lit_balances
from designkit.analyses.of_light import photometry_of
from designkit.analyses.pick import home_of, layout_of
from designkit.analyses.swaps import swap_candidates
from designkit.balance import Balance, Gap, band_of, gap, judge, shares
from designkit.errors import LookupFailed, nearest
from designkit.model import Finding, Home, Layout, Project
from designkit.palette.contrast import Edge, edges
from designkit.palette.finishes import FinishValue, Limits, resolve_all
from designkit.scene.neighbours import neighbours
from designkit.scene.rays import Target
from designkit.scene.surfaces import surfaces
from designkit.scene.view import (
    FIELDS,
    Picture,
    Seen,
    Viewpoint,
    find_viewpoint,
    look,
    picture,
    viewpoints,
)
from designkit.scene.weights import Weight, area_weights, view_weights

__all__ = [
    "LitScheme",
    "Scheme",
    "balance",
    "lit_schemes",
    "scheme",
    "scheme_edges",
    "scheme_picture",
    "scheme_viewpoints",
]


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


# The last weights, with what they rest on: a limit that moves changes none of them.
_WEIGHTS: Kept[tuple[tuple[Weight, ...], Viewpoint | None]] = Kept(24)
_POINTS: Kept[dict[str, Viewpoint]] = Kept(4)
_SEEN: Kept[Picture] = Kept(12)
_PAINTED: Kept[Picture] = Kept(12)
_LOOKED: Kept[tuple[tuple[Target, ...], Seen]] = Kept(24)


def _weights(
    home: Home, layout: Layout, viewpoint: str, field: str, night: bool, rays: int
) -> tuple[tuple[Weight, ...], Viewpoint | None]:
    """Weights by area or by view, remembered for the same home and layout."""
    return _WEIGHTS.get(
        ((viewpoint, field, night, rays), *rests_on(home, layout)),
        lambda: _weigh(home, layout, viewpoint, field, night, rays),
    )


def scheme_picture(
    project: Project | Home,
    *,
    viewpoint: str,
    layout: str | Layout = "",
    columns: int = 320,
    rows: int = 200,
) -> Picture:
    """A view in perspective, remembered for the same home and layout.

    Parameters
    ----------
    project : Project or Home
        The home.
    viewpoint : str
        The id of a viewpoint.
    layout : str or Layout
        A layout's id or a layout itself; "" is the home's current one.
    columns, rows : int
        Pixels across and down.

    Returns
    -------
    Picture
        What is met at each pixel; see `designkit.scene.view.picture`.

    Raises
    ------
    LookupFailed
        There is no such layout or viewpoint.
    """
    home = home_of(project)
    plan = layout_of(home, layout)

    scene = known_scene(home, plan)
    names = tuple((t.owner, t.part, t.kind) for t in scene.targets)

    def make() -> Picture:
        at = find_viewpoint(_points(home, plan), viewpoint)
        return picture(scene, at, columns=columns, rows=rows)

    # The same pixels meet the same things, whatever finish these have.
    seen = _SEEN.get(((viewpoint, columns, rows, names), *shape_of(home, plan)), make)
    if seen.targets == scene.targets:
        return seen
    return _PAINTED.get((seen, scene.targets), lambda: replace(seen, targets=scene.targets))


def _weigh(
    home: Home, layout: Layout, viewpoint: str, field: str, night: bool, rays: int
) -> tuple[tuple[Weight, ...], Viewpoint | None]:
    if not viewpoint:
        return area_weights(surfaces(home, layout), night=night), None
    at = find_viewpoint(_points(home, layout), viewpoint)
    if field not in FIELDS:
        raise LookupFailed(
            "field of view", given=field, allowed=", ".join(FIELDS), mend=nearest(field, FIELDS)
        )
    scene = known_scene(home, layout)
    names = tuple((t.owner, t.part, t.kind) for t in scene.targets)
    # The same rays meet the same things, whatever finish these have.
    targets, seen = _LOOKED.get(
        ((viewpoint, field, rays, names), *shape_of(home, layout)),
        lambda: (scene.targets, look(scene, at, fields=[FIELDS[field]], rays=rays)[0]),
    )
    if targets != scene.targets:
        now = dict(zip(targets, scene.targets, strict=True))
        seen = replace(seen, shares=tuple((now[t], share) for t, share in seen.shares))
    return view_weights(seen, night=night), at


def scheme(
    project: Project | Home,
    *,
    layout: str | Layout = "",
    viewpoint: str = "",
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
    viewpoint : str
        "" counts by area; else the id of a viewpoint, and the view is counted.
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
    found = shares(weights, finishes=finishes, limits=limits, by=by)
    known = band_of(by, overrides=home.rules)
    assert known is not None  # there is one for area and for view
    band, rule = known
    return Scheme(
        by=by,
        viewpoint=at,
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
    viewpoints: Sequence[str],
    layout: str | Layout = "",
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
    viewpoints : sequence of str
        Ids of viewpoints.
    layout : str or Layout
        A layout's id or a layout itself; "" is the home's current one.
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
            points=list(viewpoints),
            when=time,
            photometry=photometry_of(home, folder),
            rays=rays,
            limits=limits or Limits.of(home.rules),
            rough=rough,
        )
        for lit in balances.values():
            at = lit.view.viewpoint
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
