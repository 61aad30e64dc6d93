"""The share of black as it is seen once the lamps are on, or by day."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Literal

from designkit.balance import Balance, shares
from designkit.errors import InputError, LookupFailed, nearest
from designkit.lighting.distribution import Photometry
from designkit.lighting.full import Exchange, PatchLight, by_day, exchange, in_the_evening
from designkit.lighting.seen import LitPicture, SeenView, lit_picture, seen_view, view_rays
from designkit.model import Drape, Home, Layout
from designkit.palette.finishes import Limits, resolve_all
from designkit.scene.rays import RayScene
from designkit.scene.view import FIELDS, Field, Viewpoint, find_viewpoint, scene_of, viewpoints

__all__ = ["LitBalance", "drawn", "lit_balance", "lit_balances"]

When = Literal["evening", "day"]
Drawn = Literal["open", "part", "closed"]


@dataclass(frozen=True, kw_only=True, eq=False)
class LitBalance:
    """A balance by lit view, and what it rests on."""

    balance: Balance
    view: SeenView
    exchange: Exchange
    state: PatchLight
    scene: RayScene

    def picture(
        self, *, columns: int = 240, rows: int = 150, width_angle: float = 90.0
    ) -> LitPicture:
        """The view in perspective, against the same white.

        Parameters
        ----------
        columns, rows : int, optional
            Pixels across and down.
        width_angle : float, optional
            Angle that the picture takes across. [°]

        Returns
        -------
        LitPicture
            Tones as seen.

        Raises
        ------
        InputError
            The size or the angle cannot be.
        """
        return lit_picture(
            self.exchange,
            scene=self.scene,
            viewpoint=self.view.viewpoint,
            state=self.state,
            columns=columns,
            rows=rows,
            width_angle=width_angle,
            white=self.view.white,
        )


def drawn(layout: Layout, drapes: Drawn | Mapping[str, Drawn]) -> Layout:
    """A layout with its drapery drawn.

    Parameters
    ----------
    layout : Layout
        One arrangement.
    drapes : str or mapping of str to str
        "open", "part" or "closed", for all drapery or by its id.

    Returns
    -------
    Layout
        The same otherwise.

    Raises
    ------
    InputError
        A state is not one of the three.
    LookupFailed
        There is no such drapery.
    """
    states = drapes if isinstance(drapes, Mapping) else dict.fromkeys(layout.drapes, drapes)
    found: dict[str, Drape] = dict(layout.drapes)
    for id, state in states.items():
        if id not in found:
            raise LookupFailed(
                "drapery",
                given=id,
                allowed=", ".join(found) or "none is in the layout",
                mend=f"nearest: {nearest(id, found) or 'none'}",
            )
        if state not in ("open", "part", "closed"):
            raise InputError(f"drapery {id}", given=state, allowed="open, part, closed")
        found[id] = dataclasses.replace(found[id], state=state)
    if not isinstance(drapes, Mapping) and drapes not in ("open", "part", "closed"):
        raise InputError("drapes", given=drapes, allowed="open, part, closed")
    return dataclasses.replace(layout, drapes=found)


def _field(field: str | Field) -> Field:
    if isinstance(field, Field):
        return field
    if field not in FIELDS:
        raise LookupFailed(
            "field of view", given=field, allowed=", ".join(FIELDS), mend="use one of these"
        )
    return FIELDS[field]


def lit_balances(
    home: Home,
    layout: Layout,
    *,
    points: Mapping[str, Viewpoint] | Collection[str],
    fields: Collection[str | Field] = ("60",),
    when: When = "evening",
    dim: float | Mapping[str, float] | None = None,
    drapes: Drawn | Mapping[str, Drawn] | None = None,
    rooms: Collection[str] | None = None,
    photometry: Mapping[str, Photometry] | None = None,
    rays: int = 4000,
    limits: Limits | None = None,
) -> dict[tuple[str, str], LitBalance]:
    """Balances by lit view from several places and in several fields of view.

    Parameters
    ----------
    home : Home
        The home.
    layout : Layout
        One arrangement with its lamps and drapery.
    points : mapping of str to Viewpoint, or collection of str
        Where one looks from; ids as in `designkit.scene.view.viewpoints`.
    fields : collection of str or Field, optional
        Fields of view: "60", "30", "band", "sphere" or a `Field`.
    when : str, optional
        "evening" or "day".
    dim : float or mapping of str to float, optional
        Share of full light, for all or by circuit; full in the evening and off by
        day where not given. [1]
    drapes : str or mapping of str to str, optional
        "open", "part" or "closed"; as in the layout where not given.
    rooms : collection of str, optional
        Only these rooms; all where missing.
    photometry : mapping of str to Photometry, optional
        Files by the name that the fixtures give.
    rays : int, optional
        Rays a field.
    limits : Limits, optional
        What counts as black, dark and light; the project's own where not given.

    Returns
    -------
    dict of (str, str) to LitBalance
        By viewpoint and field.

    Raises
    ------
    InputError
        Nothing is lit, or a value cannot be.
    LookupFailed
        A thing is named that does not exist.
    """
    if when not in ("evening", "day"):
        raise InputError("when", given=when, allowed="evening, day")
    if drapes is not None:
        layout = drawn(layout, drapes)
    of = exchange(home, layout, rooms=rooms, photometry=photometry)
    scene = scene_of(home, layout, rooms=rooms, placed=of.placed)
    if not isinstance(points, Mapping):
        known = viewpoints(home, layout, rooms=rooms, placed=of.placed)
        points = {id: find_viewpoint(known, id) for id in points}
    if when == "day":
        state = by_day(of, dim=0.0 if dim is None else dim)
    else:
        state = in_the_evening(of, dim=1.0 if dim is None else dim)
    at = limits or Limits.of(home.rules)
    values = resolve_all(home.finishes, limits=at, overrides=home.rules)
    found = {}
    for id, viewpoint in points.items():
        for name in fields:
            field = _field(name)
            lit = view_rays(of, scene=scene, viewpoint=viewpoint, field=field, rays=rays)
            view = seen_view(
                of, state=state, rays=lit, viewpoint=viewpoint, field=field, finishes=values
            )
            balance = shares(view.weights, finishes=view.finishes, limits=at, by="lit view")
            balance = dataclasses.replace(balance, definitions=f"{balance.definitions} {view.rule}")
            key = (id, name if isinstance(name, str) else name.name)
            found[key] = LitBalance(
                balance=balance, view=view, exchange=of, state=state, scene=scene
            )
    return found


def lit_balance(
    home: Home,
    layout: Layout,
    *,
    viewpoint: str | Viewpoint,
    field: str | Field = "60",
    when: When = "evening",
    dim: float | Mapping[str, float] | None = None,
    drapes: Drawn | Mapping[str, Drawn] | None = None,
    rooms: Collection[str] | None = None,
    photometry: Mapping[str, Photometry] | None = None,
    rays: int = 4000,
    limits: Limits | None = None,
) -> LitBalance:
    """The share of black, dark, mid and light as one place sees it once it is lit.

    Parameters
    ----------
    home : Home
        The home.
    layout : Layout
        One arrangement with its lamps and drapery.
    viewpoint : str or Viewpoint
        Where one looks from; an id as in `designkit.scene.view.viewpoints`.
    field : str or Field, optional
        "60", "30", "band", "sphere" or a `Field`.
    when : str, optional
        "evening" or "day".
    dim : float or mapping of str to float, optional
        Share of full light, for all or by circuit; full in the evening and off by
        day where not given. [1]
    drapes : str or mapping of str to str, optional
        "open", "part" or "closed"; as in the layout where not given.
    rooms : collection of str, optional
        Only these rooms; all where missing.
    photometry : mapping of str to Photometry, optional
        Files by the name that the fixtures give.
    rays : int, optional
        Rays in the field.
    limits : Limits, optional
        What counts as black, dark and light.

    Returns
    -------
    LitBalance
        The balance, the view with its sensitivity, and the light itself.

    Raises
    ------
    InputError
        Nothing is lit, or a value cannot be.
    LookupFailed
        A thing is named that does not exist.
    """
    points: Mapping[str, Viewpoint] | Collection[str]
    points = (viewpoint,) if isinstance(viewpoint, str) else {viewpoint.name: viewpoint}
    every = lit_balances(
        home,
        layout,
        points=points,
        fields=(field,),
        when=when,
        dim=dim,
        drapes=drapes,
        rooms=rooms,
        photometry=photometry,
        rays=rays,
        limits=limits,
    )
    return next(iter(every.values()))
