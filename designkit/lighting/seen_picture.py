"""A lit view in perspective, in the tones that the eye sees."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from designkit.errors import InputError
from designkit.lighting.full import Exchange, PatchLight
from designkit.lighting.seen import (
    LitRays,
    RayLight,
    lit_rays,
    luminance_factors,
    nothing_lit,
    ray_light,
    white_light,
)
from designkit.lighting.tint import tint_of
from designkit.palette.colour import lightness_to_luminance, luminance_to_lightness
from designkit.palette.finishes import resolve_all
from designkit.reference import value
from designkit.scene.rays import RayScene, Target
from designkit.scene.view import Viewpoint

__all__ = ["LitPicture", "lit_picture", "picture_rays"]

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]


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
    width_angle: float  # [°]
    colour: Array | None = None  # rows × columns × 3: X, Y, Z of the light, Y = 1; None: neutral
    glass: tuple[str, ...] = ()  # what the windows in the view are glazed with, where said


def _seen_of(luminance_factor: Array, light: RayLight, white: float) -> Array:
    """L* as seen, 100 at most."""
    relative = (luminance_factor * light.lux + math.pi * light.shine) / white
    return np.minimum(luminance_to_lightness(relative), 100.0)


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
    factor = luminance_factors(rays, values, of)[rays.target]
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
