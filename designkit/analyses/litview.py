"""The share of black as it is seen once the lamps are on, or by day."""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from designkit.analyses.keep import Kept, places_of_finishes, shape_of
from designkit.balance import Balance, shares
from designkit.errors import InputError, LookupFailed, nearest
from designkit.lighting.distribution import Photometry
from designkit.lighting.full import Exchange, PatchLight, by_day, exchange, in_the_evening
from designkit.lighting.seen import (
    LitRays,
    SeenView,
    seen_view,
    view_rays,
)
from designkit.lighting.seen_picture import LitPicture, lit_picture, picture_rays
from designkit.model import Drape, Home, Layout
from designkit.palette.finishes import Limits, resolve_all
from designkit.scene.rays import RayScene
from designkit.scene.view import FIELDS, Field, Viewpoint, find_viewpoint, scene_of, viewpoints

__all__ = ["LitBalance", "drawn", "known_scene", "lit_balance", "lit_balances"]

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
    rays: LitRays
    rough: bool = False  # under the light that there was before a finish changed

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
        at = self.view.viewpoint
        size = (columns, rows, width_angle)
        rays = _known_rays(
            self.exchange,
            self.scene,
            (at, size),
            lambda: picture_rays(
                self.exchange,
                scene=self.scene,
                viewpoint=at,
                columns=columns,
                rows=rows,
                width_angle=width_angle,
            ),
        )
        return _PICTURES.get(
            (rays, self.state, self.view.white, size, self.exchange.home.finishes),
            lambda: lit_picture(
                self.exchange,
                scene=self.scene,
                viewpoint=at,
                state=self.state,
                columns=columns,
                rows=rows,
                width_angle=width_angle,
                white=self.view.white,
                rays=rays,
            ),
        )


# --- what is kept -----------------------------------------------------------------

# Patches are kept by geometry and compared by identity: rays, and the light of a
# day, rest on them and not on the finishes.
_RAYS: Kept[tuple[LitRays, tuple[int, ...]]] = Kept(24)  # with the scene's numbers of targets
_FINISHED_RAYS: Kept[LitRays] = Kept(24)
_BALANCES: Kept[Balance] = Kept(24)
_VIEWS: Kept[SeenView] = Kept(24)
_PICTURES: Kept[LitPicture] = Kept(12)
_STATES: Kept[PatchLight] = Kept(8)
_SETUPS: Kept[Exchange] = Kept(4)
_SCENES: Kept[RayScene] = Kept(4)  # with the places of finishes for finishes
_FINISHED: Kept[RayScene] = Kept(4)


def known_scene(
    home: Home,
    layout: Layout,
    *,
    rooms: Collection[str] | None = None,
) -> RayScene:
    """A layout ready to look at, once for all that look at it and for all finishes.

    Parameters
    ----------
    home : Home
        The home.
    layout : Layout
        One arrangement.
    rooms : collection of str, optional
        Only these rooms; all where missing.

    Returns
    -------
    RayScene
        See `designkit.scene.view.scene_of`. Its targets have the finishes of the home,
        its bodies the places of finishes.

    Raises
    ------
    LookupFailed
        A name is not in the project.
    InputError
        A size or place cannot be.
    """
    plain, held = places_of_finishes(home)
    scene = _SCENES.get(
        (rooms and tuple(rooms), tuple(held), *shape_of(home, layout)),
        lambda: scene_of(plain, layout, rooms=rooms),
    )
    return _FINISHED.get(
        (scene, tuple(held.values())),
        lambda: dataclasses.replace(
            scene,
            targets=tuple(
                dataclasses.replace(t, finish=held.get(t.finish, t.finish)) for t in scene.targets
            ),
        ),
    )


def _plain(of: Exchange) -> tuple[object, ...]:
    """What rays and direct light rest on: geometry and lamps, no finish."""
    fixtures = {id: dataclasses.replace(f, finish="") for id, f in of.home.fixtures.items()}
    return (of.patches, of.layout.lamps, fixtures, hash(of.direct.tobytes()))


def _known_rays(
    of: Exchange, scene: RayScene, way: tuple[object, ...], make: Callable[[], LitRays]
) -> LitRays:
    """Lit rays that know only what they meet; the same ones while its finishes are the same."""

    def met_only() -> tuple[LitRays, tuple[int, ...]]:
        rays = make()
        met, target = np.unique(rays.target, return_inverse=True)
        numbers = tuple(met.tolist())
        targets = tuple(rays.targets[n] for n in numbers)
        return dataclasses.replace(rays, targets=targets, target=target.reshape(-1)), numbers

    names = tuple((t.owner, t.part, t.kind) for t in scene.targets)
    rays, met = _RAYS.get((way, names, *_plain(of)), met_only)
    targets = tuple(scene.targets[n] for n in met)
    return _FINISHED_RAYS.get((rays, targets), lambda: dataclasses.replace(rays, targets=targets))


def _files(photometry: Mapping[str, Photometry] | None) -> tuple[tuple[object, ...], ...]:
    """Photometric files by what stands in them: each is read anew."""
    return tuple(
        (name, file.symmetry, *(hash(a.tobytes()) for a in (file.vertical, file.intensity)))
        for name, file in sorted((photometry or {}).items(), key=lambda row: row[0])
    )


def _light_of(of: Exchange, when: When, dim: float | Mapping[str, float] | None) -> PatchLight:
    """The light of an evening or a day, kept while it stays the same."""
    share = dim if dim is not None else 0.0 if when == "day" else 1.0
    shares = share if isinstance(share, float | int) else tuple(sorted(share.items()))
    cloth = tuple(
        of.home.finishes[t.finish].transmittance if t.finish else 0.0
        for t in of.labels
        if t.kind == "drapery"
    )
    glass = tuple((id, o.glass, o.transmittance) for id, o in of.home.openings.items())
    key = (when, shares, cloth, glass, of.home.rules, hash(of.light.tobytes()), *_plain(of))
    paint = hash(of.transport.reflectance.tobytes())
    make = functools.partial(in_the_evening if when == "evening" else by_day, of, dim=share)
    return _STATES.get((paint, *key), make)


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
    rough: bool = False,
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
    rough : bool, optional
        While a control moves: a finish that changed is seen under the light that
        there was before, where that is known; `LitBalance.rough` says so.

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
    setup = (rooms and tuple(rooms), _files(photometry), when, *shape_of(home, layout))
    make = functools.partial(exchange, home, layout, rooms=rooms, photometry=photometry)
    of = _SETUPS.get(setup, make) if rough else make()
    _SETUPS.put(setup, of)
    old = of.home.finishes != home.finishes or (
        of.home.pieces != home.pieces or of.home.rooms != home.rooms
    )
    scene = known_scene(home, layout, rooms=rooms)
    if not isinstance(points, Mapping):
        known = viewpoints(home, layout, rooms=rooms, placed=of.placed)
        points = {id: find_viewpoint(known, id) for id in points}
    state = _light_of(of, when, dim)
    at = limits or Limits.of(home.rules)
    # The view is kept for any limits of the shares: they come in below.
    values = resolve_all(home.finishes, limits=Limits.of(home.rules), overrides=home.rules)
    found = {}
    for id, viewpoint in points.items():
        for name in fields:
            field = _field(name)
            lit = _known_rays(
                of,
                scene,
                (viewpoint, field, rays),
                functools.partial(
                    view_rays, of, scene=scene, viewpoint=viewpoint, field=field, rays=rays
                ),
            )
            view = _VIEWS.get(
                (lit, state, rough and old, tuple(values.values()), home.rules),
                functools.partial(
                    seen_view,
                    of,
                    state=state,
                    rays=lit,
                    viewpoint=viewpoint,
                    field=field,
                    finishes=values,
                    sensitivity=not (rough and old),
                ),
            )
            balance = _BALANCES.get(
                (view, at),
                functools.partial(
                    shares, view.weights, finishes=view.finishes, limits=at, by="lit view"
                ),
            )
            balance = dataclasses.replace(balance, definitions=f"{balance.definitions} {view.rule}")
            key = (id, name if isinstance(name, str) else name.name)
            found[key] = LitBalance(
                balance=balance,
                view=view,
                exchange=of,
                state=state,
                scene=scene,
                rays=lit,
                rough=old,
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
