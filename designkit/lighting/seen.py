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

import numpy as np
import numpy.typing as npt

from designkit.errors import InputError
from designkit.lighting.emitters import direct_at_points
from designkit.lighting.full import Exchange, PatchLight
from designkit.lighting.point import intensity
from designkit.lighting.tint import tint_of
from designkit.palette.colour import lightness_to_luminance, luminance_to_lightness
from designkit.palette.finishes import FinishValue, find, resolve_all
from designkit.reference import value
from designkit.scene.hits import meet
from designkit.scene.rays import RayScene, Target, cast
from designkit.scene.solids import solids
from designkit.scene.view import FIELDS, Field, Viewpoint, spread
from designkit.scene.weights import Weight

__all__ = [
    "RULE",
    "LitPicture",
    "LitRays",
    "RayLight",
    "SeenView",
    "WhiteRule",
    "lit_picture",
    "lit_rays",
    "nothing_lit",
    "picture_rays",
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


@dataclass(frozen=True, kw_only=True, eq=False)
class LitPicture:
    """A lit view in perspective."""

    targets: tuple[Target, ...]
    index: Ints  # rows × columns, into targets
    distance: Array  # rows × columns [m]
    lightness: Array  # rows × columns, as seen; of the outdoors: a white behind its pane [L*]
    luminance: Array  # rows × columns; of the outdoors by day: 0 [cd/m²]
    outdoors: Flags  # rows × columns: the window by day, a room beyond
    white: float  # [lx]
    viewpoint: Viewpoint
    width_angle: float
    colour: Array | None = None  # rows × columns × 3: X, Y, Z of the light, Y = 1; None: neutral
    glass: tuple[str, ...] = ()  # what the windows in the view are glazed with, where said


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


def _lrv(rays: LitRays, finishes: Mapping[str, FinishValue], of: Exchange) -> Array:
    """Luminance factor of each target; what has no finish takes what its patch was given."""
    found = np.zeros(len(rays.targets))
    for n, target in enumerate(rays.targets):
        if target.finish:
            found[n] = find(finishes, target.finish).lrv / 100
    unknown = [n for n, t in enumerate(rays.targets) if not t.finish]
    if unknown:
        by_item = {t.item: r for t, r in zip(of.labels, of.reflectance.tolist())}
        for n in unknown:
            found[n] = by_item.get(rays.targets[n].item, 0.0)
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


def _seen_of(luminance_factor: Array, light: RayLight, white: float) -> Array:
    """L* as seen, 100 at most."""
    relative = (luminance_factor * light.lux + math.pi * light.shine) / white
    return np.minimum(luminance_to_lightness(relative), 100.0)


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


def _weights(
    of: Exchange,
    rays: LitRays,
    light: RayLight,
    white: float,
    finishes: Mapping[str, FinishValue],
) -> tuple[Weight, ...]:
    """Rays of one thing that are seen alike, together."""
    found: list[Weight] = []
    count = len(rays.target)
    unknown = _lrv(rays, finishes, of)
    for n in np.unique(rays.target).tolist():
        target = rays.targets[n]
        mine = np.flatnonzero(rays.target == n)
        plain = Weight(
            owner=target.owner,
            part=target.part,
            finish=target.finish,
            weight=len(mine) / count,
            item=target.item,
            kind=target.kind,
        )
        if light.outside[mine[0]]:
            found.append(replace(plain, outside=True))
            continue
        if light.night[mine[0]]:
            found.append(replace(plain, night=True))
            continue
        part = RayLight(
            lux=light.lux[mine],
            shine=light.shine[mine],
            anchors=light.anchors[mine],
            outside=light.outside[mine],
            night=light.night[mine],
        )
        finish = finishes[target.finish] if target.finish else None
        colours = finish.colours if finish is not None else ()
        for c in range(max(1, len(colours))):
            factor = unknown[n] if not colours else colours[c].lrv / 100
            share = colours[c].share if colours else 1.0
            name = target.finish if len(colours) < 2 else f"{target.finish}, colour {c + 1}"
            seen = _seen_of(np.full(len(mine), factor), part, white)
            # Steps of one L*, so that limits that are whole numbers part them rightly.
            step = np.floor(seen - 1e-9).astype(np.int64) + 1
            number = np.bincount(step)
            whole = np.bincount(step, weights=seen)
            found += [
                Weight(
                    owner=plain.owner,
                    part=plain.part,
                    finish=name,
                    weight=share * int(number[at]) / count,
                    item=plain.item,
                    kind=plain.kind,
                    seen=float(whole[at] / number[at]),
                )
                for at in np.flatnonzero(number).tolist()
            ]
    return tuple(found)


def _dark_share(
    rays: LitRays,
    light: RayLight,
    white: float,
    finishes: Mapping[str, FinishValue],
    factors: Array,
    limits: tuple[float, float, float],
) -> tuple[float, float]:
    """Shares of the view that are seen dark, and seen black."""
    dark_under, black_to, grey = limits
    dark = black = 0.0
    colours: dict[int, list[tuple[float, float, float]]] = {}
    for n in np.unique(rays.target).tolist():
        id = rays.targets[n].finish
        colours[n] = [(1.0, float(factors[n]), 0.0)]
        if id:
            colours[n] = [(c.share, c.lrv / 100, c.chroma) for c in finishes[id].colours]
    for n, parts in colours.items():
        mine = np.flatnonzero((rays.target == n) & ~light.outside & ~light.night)
        if not len(mine) or not rays.targets[n].finish:
            continue
        for share, factor, chroma in parts:
            relative = (factor * light.lux[mine] + math.pi * light.shine[mine]) / white
            l_star = np.minimum(luminance_to_lightness(relative), 100.0)
            dark += share * float((l_star < dark_under).sum())
            black += share * float((l_star <= black_to).sum()) * (chroma <= grey)
    counted = ~np.array([not t.finish for t in rays.targets])[rays.target] | light.outside
    counted |= light.night
    total = max(1, int(counted.sum()))
    return (dark + float(light.night.sum())) / total, (black + float(light.night.sum())) / total


def _limits(of: Exchange) -> tuple[float, float, float]:
    rules = of.home.rules
    return (
        value("palette.dark.lightness", rules),
        value("palette.black.lightness", rules),
        value("palette.black.chroma", rules),
    )


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
    factors = _lrv(rays, values, of)
    limits = _limits(of)
    rules = [
        (f"white lit as the best lit {100 * other:g} % of the view", white_light(anchor, other))
        for other in (0.02, 0.05, 0.2)
    ]
    rules.append(("white lit as the view is on average", float(anchor.mean())))
    others = []
    for words, lux in rules if sensitivity else ():
        dark, black = _dark_share(rays, light, max(lux, 1e-9), values, factors, limits)
        others.append(WhiteRule(words=words, white=lux, dark=dark, black=black))
    dark, black = _dark_share(rays, light, white, values, factors, limits)
    return SeenView(
        viewpoint=viewpoint,
        field=field,
        when=state.when,
        weights=_weights(of, rays, light, white, values),
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


def _picture_ways(viewpoint: Viewpoint, *, columns: int, rows: int, width_angle: float) -> Array:
    """The directions of the pixels of a picture, row by row."""
    reach = math.tan(math.radians(width_angle / 2))
    right = reach * (2 * (np.arange(columns) + 0.5) / columns - 1)
    up = reach * rows / columns * (1 - 2 * (np.arange(rows) + 0.5) / rows)
    x, z = np.meshgrid(right, up)
    c, s = math.cos(math.radians(viewpoint.facing)), math.sin(math.radians(viewpoint.facing))
    return np.stack([c + x * s, s - x * c, z], axis=-1).reshape(-1, 3)


def picture_rays(
    of: Exchange,
    *,
    scene: RayScene,
    viewpoint: Viewpoint,
    columns: int = 240,
    rows: int = 150,
    width_angle: float = 90.0,
) -> LitRays:
    """Rays through the pixels of a picture, lit: good for any dimmers, day and finish.

    Parameters
    ----------
    of : Exchange
        From `exchange`.
    scene : RayScene
        From `scene_of`.
    viewpoint : Viewpoint
        The eye and its line of sight.
    columns, rows : int, optional
        Pixels across and down.
    width_angle : float, optional
        Angle that the picture takes across. [°]

    Returns
    -------
    LitRays
        For `lit_picture`.

    Raises
    ------
    InputError
        The size or angle cannot be, or the eye is outside the rooms or inside a
        thing.
    """
    if not (0 < columns <= 4000 and 0 < rows <= 4000):
        raise InputError("picture", given=f"{columns} × {rows}", allowed="1 to 4000 pixels a side")
    if not 0 < width_angle < 170:
        raise InputError("angle of the picture", given=f"{width_angle}°", allowed="over 0, to 170°")
    way = _picture_ways(viewpoint, columns=columns, rows=rows, width_angle=width_angle)
    eye = (viewpoint.at[0], viewpoint.at[1], viewpoint.eye)
    return lit_rays(of, scene=scene, eye=eye, ways=way)


def lit_picture(
    of: Exchange,
    *,
    scene: RayScene,
    viewpoint: Viewpoint,
    state: PatchLight,
    columns: int = 240,
    rows: int = 150,
    width_angle: float = 90.0,
    white: float | None = None,
    rays: LitRays | None = None,
) -> LitPicture:
    """A lit view in perspective, as tones.

    Parameters
    ----------
    of : Exchange
        From `exchange`.
    scene : RayScene
        From `scene_of`.
    viewpoint : Viewpoint
        The eye and its line of sight.
    state : PatchLight
        From `in_the_evening` or `by_day`.
    columns, rows : int, optional
        Pixels across and down.
    width_angle : float, optional
        Angle that the picture takes across. [°]
    white : float, optional
        Light of the white, from `SeenView.white`, so that pictures compare; from
        the picture itself where not given. [lx]
    rays : LitRays, optional
        From `picture_rays`, of the same eye and size, where they are known.

    Returns
    -------
    LitPicture
        Tones as seen, finite everywhere; row 0 at the top.

    Raises
    ------
    InputError
        The size or angle cannot be, nothing is lit, or the eye is outside the
        rooms or inside a thing.
    """
    if rays is None:
        rays = picture_rays(
            of,
            scene=scene,
            viewpoint=viewpoint,
            columns=columns,
            rows=rows,
            width_angle=width_angle,
        )
    if len(rays.target) != columns * rows:
        raise InputError(
            "rays", given=len(rays.target), allowed=f"one for each of {columns} × {rows} pixels"
        )
    light = ray_light(of, rays, state)
    values = resolve_all(of.home.finishes, overrides=of.home.rules)
    anchor = light.lux[light.anchors]
    if not len(anchor) or anchor.max() <= 0:
        raise nothing_lit(state.when)
    at = white_light(anchor, value("light.seen.white", of.home.rules)) if white is None else white
    if not (math.isfinite(at) and at >= 0):
        raise InputError("light of the white", given=f"{at:g} lx", allowed="over 0 lx")
    at = at if at > 0 else float(anchor.max())
    factor = _lrv(rays, values, of)[rays.target]
    lightness = _seen_of(factor, light, at)
    luminance = factor * light.lux / math.pi + light.shine
    night = value("palette.night.lightness", of.home.rules)
    tint = tint_of(
        of,
        targets=rays.targets,
        target=rays.target,
        patch=rays.patch,
        state=state,
        anchors=light.anchors,
        white=at,
    )
    sky = 100.0 if tint is None else luminance_to_lightness(tint.outdoors)
    lightness = np.where(light.night, night, np.where(light.outside, sky, lightness))
    dim = float(lightness_to_luminance(night)) * at / math.pi
    luminance = np.where(light.night, dim, np.where(light.outside, 0.0, luminance))
    shape = (rows, columns)
    return LitPicture(
        targets=rays.targets,
        index=rays.target.reshape(shape),
        distance=rays.distance.reshape(shape),
        lightness=lightness.reshape(shape),
        luminance=luminance.reshape(shape),
        outdoors=light.outside.reshape(shape),
        white=at,
        viewpoint=viewpoint,
        width_angle=width_angle,
        colour=None if tint is None else tint.colour.reshape((*shape, 3)),
        glass=() if tint is None else tint.names,
    )
