r"""How light or dark things are seen once they are lit.

The luminance of what a ray meets is its finish times the light on it. It is
seen against a white, and

.. math:: L^*_{seen} = L^*(Y\,E / E_w), \qquad Y = \mathrm{LRV}/100

with E the light on it and :math:`E_w` *the light of the white*: that which a
tenth of the view has or exceeds. So the best lit tenth of the view anchors the
eye, and under even light every finish is seen as it is. Windows, lit lamps and
cloth that glows before a window take no part in it: they would make everything
else dark.

What the literature says: the region of highest luminance is seen as white, and
a larger area carries more [1]_ [2]_. That it is the light, and not the
luminance, and a tenth of the view, is our assumption: `SeenView.sensitivity`
shows the shares under other rules. The light is that on the surface without the
eye's own slow adaptation; nobody has tied these shares to what people report.

Bare glass after dark is black (rule palette.night.lightness). By day the
outdoors belongs to the view and to no class. A lit lamp counts by its own
brightness. Gloss and mirrors show what they reflect; here they are matt, and
the balance names them.

References
----------
.. [1] A. Gilchrist et al., "An anchoring theory of lightness perception",
   Psychological Review 106(4), 1999, 795–834.
.. [2] A. Gilchrist and A. Radonjić, "Anchoring of lightness values by relative
   luminance and relative area", Journal of Vision 9(9):13, 2009 (abstract seen).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from designkit.errors import InputError
from designkit.lighting.emitters import direct_at_points
from designkit.lighting.full import Exchange, PatchLight
from designkit.lighting.point import intensity
from designkit.palette.colour import luminance_to_lightness
from designkit.palette.finishes import FinishValue, find, resolve_all
from designkit.reference import value
from designkit.scene.hits import meet
from designkit.scene.rays import RayScene, Target, cast
from designkit.scene.solids import solids
from designkit.scene.view import FIELDS, Field, Viewpoint, spread
from designkit.scene.weights import Weight

__all__ = [
    "RULE",
    "LitRays",
    "RayLight",
    "SeenView",
    "WhiteRule",
    "lit_rays",
    "luminance_factors",
    "nothing_lit",
    "ray_light",
    "seen_view",
    "split_colours",
    "view_rays",
    "white_light",
]

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]
_NEAR = 0.25  # a bounding part so near to what the eye meets stands for it [m]
_OFF = 1e-3

RULE = (
    "Seen lightness: a finish under the light that falls on it, against a white lit as the best "
    "lit tenth of the view is (our assumption); windows, lit lamps and glowing cloth set no white."
)


@dataclass(frozen=True, kw_only=True, eq=False)
class LitRays:
    """Rays of one eye, with the light on what they meet."""

    targets: tuple[Target, ...]
    target: Ints  # (n,), into targets
    patch: Ints  # (n,), of the light
    face: Ints  # (n,), −1 where the light is the whole patch's
    point: Array  # (n, 3), on the bounding part
    distance: Array  # (n,), to what is met [m]
    direct: Array  # (lamps, n), at full power [lx]
    lamp_light: Array  # (lamps, n), luminance of a lit lamp at full power [cd/m²]


@dataclass(frozen=True, kw_only=True, eq=False)
class WhiteRule:
    """A share under another rule for the white."""

    words: str
    white: float  # light of the white [lx]
    dark: float  # share of the view seen dark
    black: float


@dataclass(frozen=True, kw_only=True, eq=False)
class SeenView:
    """What one field of view shows once it is lit, as weights."""

    viewpoint: Viewpoint
    field: Field
    when: str
    weights: tuple[Weight, ...]  # together 1
    finishes: Mapping[str, FinishValue]  # for the weights: each colour of a finish by itself
    white: float  # light of the white [lx]
    dark: float  # share of the view seen dark, bare glass after dark among it
    black: float
    sensitivity: tuple[WhiteRule, ...]
    rule: str
    notes: tuple[str, ...]


# --- light on what rays meet ------------------------------------------------------


def lit_rays(
    of: Exchange, *, scene: RayScene, eye: tuple[float, float, float], ways: npt.ArrayLike
) -> LitRays:
    """What rays meet, and the light of each lamp there at full power.

    The eye sees every part; the light is that on the bounding part that stands
    for it, or on the nearest patch that faces the eye.

    Parameters
    ----------
    of : Exchange
        From `exchange`.
    scene : RayScene
        From `designkit.scene.view.scene_of`, of the same home and layout.
    eye : tuple of float
        x, y and height. [m]
    ways : array-like (n, 3)
        Directions.

    Returns
    -------
    LitRays
        Good for any dimmers and any day.

    Raises
    ------
    InputError
        The eye is outside the rooms or inside a thing.
    """
    way = np.asarray(ways, dtype=np.float64)
    hits = cast(scene, eye, way)
    way = way / np.linalg.norm(way, axis=1, keepdims=True)
    patches = of.patches
    at = np.asarray(eye, dtype=np.float64)
    without = patches.boxes.inside(at[None])[:, 0]
    met = meet(patches, at[None, None, :], way[None], without=without[None])
    with np.errstate(invalid="ignore"):
        apart = np.abs(met.distance - hits.distance)
    exact = (met.patch >= 0) & np.isfinite(apart) & (apart < _NEAR)
    far = np.where(np.isfinite(hits.distance), hits.distance, 0.0)
    point = at + np.where(exact, np.where(exact, met.distance, 0.0), far)[:, None] * way
    patch = np.where(exact, met.patch, -1)
    _nearest(of, scene.targets, hits.target, point, way, patch)
    normal = patches.normal[patch]
    on = point + _OFF * normal
    direct = np.zeros((len(of.lamps), len(way)))
    some = np.flatnonzero(exact)
    loss = value("light.loss", of.home.rules)
    for n, lamp in enumerate(of.lamps):
        lit = [replace(s, lumens=s.lumens * loss) for s in lamp.sources]
        direct[n] = of.direct[n, patch]
        direct[n, some] = direct_at_points(
            patches, sources=lit, points=on[some], normal=normal[some]
        )
    return LitRays(
        targets=scene.targets,
        target=hits.target,
        patch=patch,
        face=np.where(exact, met.face, -1),
        point=point,
        distance=hits.distance,
        direct=direct,
        lamp_light=_lamp_light(of, scene.targets, hits.target, way, loss),
    )


def _nearest(
    of: Exchange, targets: Sequence[Target], target: Ints, point: Array, way: Array, patch: Ints
) -> None:
    """Give rays without a patch the nearest of the same thing, or of any, that faces the eye."""
    from scipy.spatial import cKDTree  # type: ignore[import-untyped, unused-ignore]

    lost = np.flatnonzero(patch < 0)
    if not len(lost):
        return
    patches = of.patches
    main = np.zeros(len(patches.area), dtype=np.int64)
    order = np.argsort(patches.mix_share, kind="stable")
    main[patches.mix_patch[order]] = patches.mix_label[order]
    owner = np.array([label.owner for label in of.labels])[main]
    whole = cKDTree(patches.centre)
    for name in dict.fromkeys(targets[n].owner for n in target[lost].tolist()):
        rays = lost[[targets[n].owner == name for n in target[lost].tolist()]]
        mine = np.flatnonzero(owner == name)
        tree, back = (cKDTree(patches.centre[mine]), mine) if len(mine) else (whole, None)
        count = min(12, tree.n)
        _, found = tree.query(point[rays], k=count)
        found = np.asarray(found).reshape(len(rays), count)
        if back is not None:
            found = back[found]
        faces = np.einsum("nki,ni->nk", patches.normal[found], way[rays]) < 0
        first = np.where(faces.any(axis=1), np.argmax(faces, axis=1), 0)
        patch[rays] = found[np.arange(len(rays)), first]


def _lamp_light(
    of: Exchange, targets: Sequence[Target], target: Ints, way: Array, loss: float
) -> Array:
    """Luminance of each lamp's shade where a ray meets it, lamp on at full power.

    Intensity towards the eye over the projected area; the mean projected area of
    a convex body is a quarter of its surface (Cauchy).
    """
    found = np.zeros((len(of.lamps), len(way)))
    if not of.lamps:
        return found
    bodies = [b for b in solids(of.home, of.layout, placed=of.placed) if b.kind == "lamp"]
    for n, lamp in enumerate(of.lamps):
        mine = [b for b in bodies if b.owner == lamp.id]
        shade = {b.part for b in mine if b.part == "shade"} or {b.part for b in mine}
        surface = sum(
            2 * float(b.footprint.area) + float(b.footprint.length) * (b.top - b.base)
            for b in mine
            if b.part in shade
        )
        hit = [k for k, t in enumerate(targets) if t.owner == lamp.id and t.part in shade]
        rays = np.flatnonzero(np.isin(target, hit))
        if not len(rays) or surface <= 0:
            continue
        towards = -way[rays]
        cd = sum(intensity(s, directions=towards) for s in lamp.sources)
        found[n, rays] = np.asarray(cd) * loss / (surface / 4)
    return found


@dataclass(frozen=True, kw_only=True, eq=False)
class RayLight:
    """The light of one state on rays."""

    lux: Array
    shine: Array  # what a ray's target gives off itself [cd/m²]
    anchors: Flags  # takes part in the white
    outside: Flags
    night: Flags


def ray_light(of: Exchange, rays: LitRays, state: PatchLight) -> RayLight:
    """The light of one state on rays.

    Parameters
    ----------
    of : Exchange
        From `exchange`.
    rays : LitRays
        From `lit_rays`.
    state : PatchLight
        From `in_the_evening` or `by_day`.

    Returns
    -------
    RayLight
        Light on what each meets, and what that gives off itself.
    """
    for point, known, found in _LIT:
        # Another finish on what they meet leaves the light of a state as it is.
        if point is rays.point and known is state:
            return found
    made = _ray_light(of, rays, state)
    _LIT.append((rays.point, state, made))
    del _LIT[:-_MOST_LIT]
    return made


_LIT: list[tuple[Array, PatchLight, RayLight]] = []
_MOST_LIT = 12


def _ray_light(of: Exchange, rays: LitRays, state: PatchLight) -> RayLight:
    shares = state.shares
    exact = rays.face >= 0
    some = np.flatnonzero(exact)
    # What is not direct changes slowly from patch to patch.
    slow = state.lux - (shares @ of.direct if len(shares) else 0.0)
    lux = slow[rays.patch]
    lux[some] = of.patches.faces.between(rays.face[some], rays.point[some], slow[None])[0]
    if len(shares):
        lux = lux + shares @ rays.direct
    kinds = np.array([t.kind for t in rays.targets])[rays.target]
    glows = (kinds == "drapery") & (state.glow[rays.patch] > 0)
    shine = np.where(glows, state.glow[rays.patch], 0.0) / math.pi
    if len(shares):
        shine = shine + shares @ rays.lamp_light
    glass = kinds == "glass"
    outside = (kinds == "beyond") | (glass & (state.when == "day"))
    return RayLight(
        lux=np.maximum(lux, 0.0),
        shine=shine,
        anchors=~glass & (kinds != "beyond") & (shine <= 0),
        outside=outside,
        night=glass & (state.when != "day"),
    )


def white_light(lux: Array, share: float) -> float:
    """The light that a share of the view has or exceeds.

    Parameters
    ----------
    lux : array (n,)
        On each ray that takes part. [lx]
    share : float
        Of the rays. [1]

    Returns
    -------
    float
        [lx]
    """
    order = np.sort(lux)[::-1]
    return float(order[min(len(order) - 1, max(0, math.ceil(share * len(order)) - 1))])


def luminance_factors(rays: LitRays, finishes: Mapping[str, FinishValue], of: Exchange) -> Array:
    """Luminance factor of each target; what has no finish takes what its patch was given.

    Parameters
    ----------
    rays : LitRays
        From `lit_rays`.
    finishes : mapping of str to FinishValue
        From `resolve_all`.
    of : Exchange
        From `exchange`.

    Returns
    -------
    array (targets,)
        [1]

    Raises
    ------
    LookupFailed
        A finish is not among those that were given.
    """
    found = np.zeros(len(rays.targets))
    for n, target in enumerate(rays.targets):
        if target.finish:
            found[n] = find(finishes, target.finish).lrv / 100
    unknown = {t.item for t in rays.targets if not t.finish}
    if unknown:
        by_item = {
            t.item: r for t, r in zip(of.labels, of.reflectance.tolist()) if t.item in unknown
        }
        for n, target in enumerate(rays.targets):
            if not target.finish:
                found[n] = by_item.get(target.item, 0.0)
    return found


def nothing_lit(when: str) -> InputError:
    """The error that says that nothing in a view is lit.

    Parameters
    ----------
    when : str
        "evening" or "day".

    Returns
    -------
    InputError
        To be raised.
    """
    day = when == "day"
    return InputError(
        "light of the view",
        given="nothing lit",
        allowed="a lamp that is on" if not day else "a window with glass, or a lamp that is on",
        mend="turn a lamp up, or give its lumens" if not day else "open the drapery",
    )


# --- the view as weights ----------------------------------------------------------


def split_colours(finishes: Mapping[str, FinishValue]) -> dict[str, FinishValue]:
    """Finishes with each colour of a many-coloured one by itself too.

    A stripe under one light has one colour darker than the other: each is seen
    by itself, under "stripe, colour 1" and so on.

    Parameters
    ----------
    finishes : mapping of str to FinishValue
        From `resolve_all`.

    Returns
    -------
    dict of str to FinishValue
        The same, and the single colours after each.
    """
    found: dict[str, FinishValue] = {}
    for id, finish in finishes.items():
        found[id] = finish
        if len(finish.colours) > 1:
            for n, colour in enumerate(finish.colours, start=1):
                name = f"{id}, colour {n}"
                found[name] = replace(finish, id=name, colours=(replace(colour, share=1.0),))
    return found


@dataclass(frozen=True, kw_only=True, eq=False)
class _Tones:
    """Every colour that is seen: one row a target and colour, and one a ray and row."""

    target: Ints  # of each row
    colour: Ints  # of each row; 0 where a thing has no finish
    share: Array  # of the finish, of each row [1]
    chroma: Array  # of each row
    lightness: Array  # as seen, of each entry [L*]
    row: Ints  # of each entry


def _tones(
    rays: LitRays,
    light: RayLight,
    white: float,
    finishes: Mapping[str, FinishValue],
    unknown: Array,
) -> _Tones:
    """What is seen of each colour; a striped cloth has an entry for each, glass has none."""
    rows: list[tuple[int, int, float, float, float]] = []
    first, count = np.zeros(len(rays.targets) + 1, dtype=np.int64), []
    for n, target in enumerate(rays.targets):
        colours = finishes[target.finish].colours if target.finish else ()
        if colours:
            rows += [(n, k, c.share, c.lrv / 100, c.chroma) for k, c in enumerate(colours)]
        else:
            rows.append((n, 0, 1.0, float(unknown[n]), 0.0))
        count.append(max(1, len(colours)))
        first[n + 1] = first[n] + count[-1]
    table = np.array(rows)
    ray = np.flatnonzero(~light.outside & ~light.night)
    many = np.array(count)[rays.target[ray]]
    entry = np.repeat(ray, many)
    step = np.arange(len(entry)) - np.repeat(np.cumsum(many) - many, many)
    row = first[rays.target[entry]] + step
    relative = (table[row, 3] * light.lux[entry] + math.pi * light.shine[entry]) / white
    return _Tones(
        target=table[:, 0].astype(np.int64),
        colour=table[:, 1].astype(np.int64),
        share=table[:, 2],
        chroma=table[:, 4],
        lightness=np.minimum(luminance_to_lightness(relative), 100.0),
        row=row,
    )


def _weights(
    rays: LitRays, light: RayLight, tones: _Tones, finishes: Mapping[str, FinishValue]
) -> tuple[Weight, ...]:
    """Rays of one thing that are seen alike, together."""
    found: list[tuple[int, Weight]] = []
    count = len(rays.target)
    many = np.bincount(rays.target, minlength=len(rays.targets))

    def plain(n: int, finish: str, rays_alike: float, **more: Any) -> tuple[int, Weight]:
        target = rays.targets[n]
        return n, Weight(
            owner=target.owner,
            part=target.part,
            finish=finish,
            weight=rays_alike / count,
            item=target.item,
            kind=target.kind,
            **more,
        )

    for name, which in (("outside", light.outside), ("night", light.night & ~light.outside)):
        for n in np.unique(rays.target[which]).tolist():
            found.append(plain(n, rays.targets[n].finish, int(many[n]), **{name: True}))
    # Steps of one L*, so that limits that are whole numbers part them rightly.
    steps = 128
    alike = tones.row * steps + np.floor(tones.lightness - 1e-9).astype(np.int64) + 1
    number, whole = np.bincount(alike), np.bincount(alike, weights=tones.lightness)
    for at in np.flatnonzero(number).tolist():
        row = at // steps
        n, share = int(tones.target[row]), float(tones.share[row])
        id = rays.targets[n].finish
        if id and len(finishes[id].colours) > 1:
            id = f"{id}, colour {tones.colour[row] + 1}"
        found.append(plain(n, id, share * int(number[at]), seen=float(whole[at] / number[at])))
    return tuple(weight for _, weight in sorted(found, key=lambda one: one[0]))


def _dark_share(
    rays: LitRays, light: RayLight, tones: _Tones, limits: tuple[float, float, float]
) -> tuple[float, float]:
    """Shares of the view that are seen dark, and seen black."""
    dark_under, black_to, grey = limits
    known = np.array([bool(t.finish) for t in rays.targets])
    part = np.where(known[tones.target], tones.share, 0.0)[tones.row]
    dark = float(part @ (tones.lightness < dark_under))
    neutral = (tones.chroma <= grey)[tones.row]
    black = float(part @ ((tones.lightness <= black_to) & neutral))
    counted = known[rays.target] | light.outside | light.night
    total, night = max(1, int(counted.sum())), float(light.night.sum())
    return (dark + night) / total, (black + night) / total


def _limits(of: Exchange) -> tuple[float, float, float]:
    rules = of.home.rules
    return (
        value("palette.dark.lightness", rules),
        value("palette.black.lightness", rules),
        value("palette.black.chroma", rules),
    )


def _other_whites(anchor: Array) -> list[tuple[str, float]]:
    """What else the light of the white could be taken as. [lx]"""
    best = [
        (f"white lit as the best lit {100 * part:g} % of the view", white_light(anchor, part))
        for part in (0.02, 0.05, 0.2)
    ]
    return [*best, ("white lit as the view is on average", float(anchor.mean()))]


def seen_view(
    of: Exchange,
    *,
    state: PatchLight,
    rays: LitRays,
    viewpoint: Viewpoint,
    field: Field = FIELDS["60"],
    finishes: Mapping[str, FinishValue] | None = None,
    white_share: float | None = None,
    sensitivity: bool = True,
) -> SeenView:
    """What a field of view shows under one state of light.

    Parameters
    ----------
    of : Exchange
        From `exchange`.
    state : PatchLight
        From `in_the_evening` or `by_day`.
    rays : LitRays
        From `lit_rays`, spread over the field.
    viewpoint : Viewpoint
        The eye.
    field : Field, optional
        The field of view, for the words.
    finishes : mapping of str to FinishValue, optional
        From `resolve_all`.
    white_share : float, optional
        Share of the view whose light the white has at least. [1]
    sensitivity : bool, optional
        The shares under other rules too.

    Returns
    -------
    SeenView
        Weights for `designkit.balance.shares`, with the finishes that they name.

    Raises
    ------
    InputError
        Nothing in the view is lit, or the share is not over 0 to 1.
    """
    share = value("light.seen.white", of.home.rules) if white_share is None else white_share
    if not 0 < share <= 1:
        raise InputError("share of the view for the white", given=share, allowed="over 0, to 1")
    values = (
        resolve_all(of.home.finishes, overrides=of.home.rules) if finishes is None else finishes
    )
    light = ray_light(of, rays, state)
    anchor = light.lux[light.anchors]
    if not len(anchor) or anchor.max() <= 0:
        raise nothing_lit(state.when)
    white = white_light(anchor, share)
    if white <= 0:
        white = float(anchor.max())
    factors = luminance_factors(rays, values, of)
    limits = _limits(of)
    others = []
    for words, lux in _other_whites(anchor) if sensitivity else ():
        other = _tones(rays, light, max(lux, 1e-9), values, factors)
        dark, black = _dark_share(rays, light, other, limits)
        others.append(WhiteRule(words=words, white=lux, dark=dark, black=black))
    tones = _tones(rays, light, white, values, factors)
    dark, black = _dark_share(rays, light, tones, limits)
    return SeenView(
        viewpoint=viewpoint,
        field=field,
        when=state.when,
        weights=_weights(rays, light, tones, values),
        finishes=split_colours(values),
        white=white,
        dark=dark,
        black=black,
        sensitivity=tuple(others),
        rule=RULE,
        notes=state.notes,
    )


def view_rays(
    of: Exchange, *, scene: RayScene, viewpoint: Viewpoint, field: Field, rays: int = 4000
) -> LitRays:
    """Rays spread evenly over a field of view, lit.

    Parameters
    ----------
    of : Exchange
        From `exchange`.
    scene : RayScene
        From `scene_of`.
    viewpoint : Viewpoint
        The eye and its line of sight.
    field : Field
        The field of view.
    rays : int, optional
        How many.

    Returns
    -------
    LitRays
        For `seen_view`.

    Raises
    ------
    InputError
        The eye is outside the rooms or inside a thing.
    """
    eye = (viewpoint.at[0], viewpoint.at[1], viewpoint.eye)
    return lit_rays(
        of, scene=scene, eye=eye, ways=spread(field, facing=viewpoint.facing, rays=rays)
    )
