r"""Light that comes straight from lamps and windows onto patches.

A patch takes the mean of its free points, each lit by inverse square and cosine
where nothing stands between. A patch so near to a lamp that a few points cannot
tell takes what rays carry that leave the lamp all round. The flux that lands is
then scaled to the flux that left, and how far it was off before is kept.

By day a window shines with the light of an overcast sky,
:math:`L_\gamma = L_z (1 + 2\sin\gamma)/3`, above the horizon, and of lit ground
below it; drawn cloth before it shines evenly with what passes through. Glass is
taken to pass the same share at every angle, and nothing stands outside: both
are stated with the result.

References
----------
.. [1] CIE S 011/E:2003 (ISO 15469:2004), Spatial distribution of daylight: CIE
   standard general sky, the traditional overcast sky (second-hand).
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from designkit.errors import InputError
from designkit.lighting.point import Source, direct_illuminance, intensity
from designkit.model import Finish, Opening
from designkit.palette.glazing import glazing_of, sky_through
from designkit.scene.hits import meet
from designkit.scene.openings import Hole
from designkit.scene.patches import Patches
from designkit.scene.rays import Target

__all__ = [
    "Direct",
    "Window",
    "direct_at_points",
    "lamp_direct",
    "sky_illuminance",
    "window_direct",
    "windows",
]

Array = npt.NDArray[np.float64]
_GOLDEN = (1 + math.sqrt(5)) / 2
_NEAR_ANGLE = 0.06  # a patch that fills more than this is lit by rays [sr]
_SLACK = 1e-4


@dataclass(frozen=True, kw_only=True, eq=False)
class Direct:
    """Light straight from one lamp or window on all patches."""

    lux: Array  # (p,), scaled so that all of it lands [lx]
    flux: float  # that left [lm]
    residual: float  # how far the flux that landed was off before scaling [1]


@dataclass(frozen=True, kw_only=True, eq=False)
class Window:
    """A part of a window that gives light: bare glass, or cloth before it."""

    opening: str
    at: Array  # (n, 3), points that shine [m]
    inward: Array  # (3,)
    area: float  # that each point stands for [m²]
    through: float  # transmittance of the glass, and of the cloth
    cloth: bool  # shines evenly
    face: int  # of the cloth, −1 for bare glass
    glass: str = ""  # kind of glass that colours its light; "": not said, or not known


# --- lamps ------------------------------------------------------------------------


def _sphere(count: int) -> Array:
    n = np.arange(count)
    z = 1 - (2 * n + 1) / count
    turn = 2 * math.pi * n / _GOLDEN
    flat = np.sqrt(1 - z * z)
    return np.stack([flat * np.cos(turn), flat * np.sin(turn), z], axis=1)


_ALL_ROUND = _sphere(8192)


def _inside(patches: Patches, source: Source) -> Source:
    """The same light a hair off the floor or ceiling that it is set in, without a size."""
    tall = max(patches.rooms.heights.values())
    room = patches.rooms.room_at((source.at[0], source.at[1]))
    tall = patches.rooms.heights.get(room, tall)
    z = min(max(source.at[2], 2e-3), tall - 2e-3)
    return dataclasses.replace(source, at=(source.at[0], source.at[1], z), radius=0.0)


def _reached(
    patches: Patches, at: Array, points: Array, without: npt.NDArray[np.bool_]
) -> npt.NDArray[np.bool_]:
    """Which points a light reaches with nothing between; points lie a hair before faces."""
    away = points - at
    distance = np.linalg.norm(away, axis=1)
    way = away / np.maximum(distance, 1e-9)[:, None]
    met = meet(patches, at[None, None, :], way[None], without=without[None])
    return np.asarray(met.distance >= distance - _SLACK, dtype=np.bool_)


def direct_at_points(
    patches: Patches, *, sources: Sequence[Source], points: Array, normal: Array
) -> Array:
    """Direct illuminance of lights at points, with the shadows of what stands there.

    Parameters
    ----------
    patches : Patches
        The furnished rooms.
    sources : sequence of Source
        The lights, their sum is found.
    points : array (n, 3)
        A hair before the surface that is lit. [m]
    normal : array (n, 3)
        Unit normals.

    Returns
    -------
    array (n,)
        Illuminance. [lx]
    """
    found = np.zeros(len(points))
    for source in sources:
        bare = _inside(patches, source)
        at = np.asarray(bare.at, dtype=np.float64)
        lux = direct_illuminance([bare], points=points, normal=normal)[0]
        # Nearer than its own size the light does not grow.
        square = np.einsum("ij,ij->i", points - at, points - at)
        lux *= np.minimum(1.0, square / max(source.radius, 1e-3) ** 2)
        lit = np.flatnonzero(lux > 0)
        without = patches.boxes.inside(at[None])[:, 0]
        seen = _reached(patches, at, points[lit], without)
        found[lit[seen]] += lux[lit[seen]]
    return found


def _one_lamp(patches: Patches, source: Source) -> Array:
    """Illuminance of patches by one point of light, not scaled."""
    bare = _inside(patches, source)
    at = np.asarray(bare.at, dtype=np.float64)
    without = patches.boxes.inside(at[None])[:, 0]
    number = np.diff(patches.first_point)
    of_point = np.repeat(np.arange(len(number)), number)
    away = patches.points - at
    square = np.einsum("ij,ij->i", away, away)
    distance = np.sqrt(square)
    facing = -np.einsum("ij,ij->i", away, patches.normal[of_point]) / distance
    lit = np.flatnonzero(facing > 1e-9)
    cd = intensity(bare, directions=away[lit] / distance[lit, None])
    bright = cd > 0
    lit, cd = lit[bright], cd[bright]
    angle = np.zeros(len(patches.points))
    angle[lit] = facing[lit] / square[lit]
    fills = np.add.reduceat(angle, patches.first_point[:-1]) / number * patches.area
    near = fills > _NEAR_ANGLE
    # Points of near patches are not tried: rays tell those.
    tried = ~near[of_point[lit]]
    lit, cd = lit[tried], cd[tried]
    lux = np.zeros(len(patches.points))
    seen = _reached(patches, at, patches.points[lit], without)
    lux[lit[seen]] = (cd * facing[lit] / square[lit])[seen]
    found = np.add.reduceat(lux, patches.first_point[:-1]) / number
    if near.any():
        way = _ALL_ROUND
        if bare.pattern == "beam" and bare.exponent > 3:
            way = _beam_rays(bare)
            flux = np.full(len(way), bare.lumens / len(way))
        else:
            flux = intensity(bare, directions=way) * (4 * math.pi / len(way))
        met = meet(patches, at[None, None, :], way[None], without=without[None]).patch
        landed = np.bincount(met[met >= 0], weights=flux[met >= 0], minlength=len(number))
        found[near] = landed[near] / patches.area[near]
    return np.asarray(found, dtype=np.float64)


def _beam_rays(source: Source) -> Array:
    """Rays of equal flux of a cosine beam about its axis."""
    count = len(_ALL_ROUND)
    n = np.arange(count)
    ahead = (1 - (n + 0.5) / count) ** (1 / (source.exponent + 1))
    off, turn = np.sqrt(1 - ahead**2), 2 * math.pi * n / _GOLDEN
    axis = np.asarray(source.aim, dtype=np.float64)
    axis /= np.linalg.norm(axis)
    helper = np.array([0.0, 0.0, 1.0] if abs(axis[2]) < 0.9 else [1.0, 0.0, 0.0])
    one = np.cross(helper, axis)
    one /= np.linalg.norm(one)
    two = np.cross(axis, one)
    return np.asarray(
        ahead[:, None] * axis
        + (off * np.cos(turn))[:, None] * one
        + (off * np.sin(turn))[:, None] * two
    )


def _scaled(lux: Array, area: Array, flux: float) -> Direct:
    landed = float(lux @ area)
    if flux <= 0 or landed <= 0:
        return Direct(lux=np.zeros(len(area)), flux=max(flux, 0.0), residual=float(flux > 0))
    return Direct(lux=lux * (flux / landed), flux=flux, residual=abs(landed / flux - 1))


def lamp_direct(patches: Patches, *, sources: Sequence[Source]) -> Direct:
    """Direct light of one lamp on all patches.

    Parameters
    ----------
    patches : Patches
        The furnished rooms.
    sources : sequence of Source
        The lamp's points of light.

    Returns
    -------
    Direct
        All of its flux lands; a lamp shut in a piece lights nothing and has the
        residual 1.
    """
    lux = np.zeros(len(patches.area))
    for source in sources:
        if source.lumens > 0:
            lux += _one_lamp(patches, source)
    return _scaled(lux, patches.area, sum(s.lumens for s in sources))


# --- windows ----------------------------------------------------------------------


def sky_illuminance(horizontal: float, *, ground: float) -> tuple[float, float]:
    r"""Light of an overcast day on upright glass, from the sky and from the ground.

    .. math:: E_v = L_z\left(\frac{\pi}{6} + \frac{4}{9}\right), \quad
              E_h = \frac{7\pi}{9} L_z, \quad E_g = \rho_g E_h / 2

    Parameters
    ----------
    horizontal : float
        Light outdoors on level ground. [lx]
    ground : float
        Reflectance of the ground. [1]

    Returns
    -------
    tuple of float
        From the sky and from the ground. [lx]

    Raises
    ------
    InputError
        A value is out of its range.

    Examples
    --------
    >>> round(sky_illuminance(10_000.0, ground=0.2)[0])
    3962
    """
    if not (math.isfinite(horizontal) and horizontal > 0):
        raise InputError("light outdoors", given=f"{horizontal:g} lx", allowed="over 0 lx")
    if not 0 <= ground < 1:
        raise InputError("reflectance of the ground", given=ground, allowed="0 to under 1")
    zenith = 9 * horizontal / (7 * math.pi)
    return zenith * (math.pi / 6 + 4 / 9), ground * horizontal / 2


def windows(
    patches: Patches,
    *,
    labels: Sequence[Target],
    finishes: Mapping[str, Finish],
    step: float = 0.3,
    openings: Mapping[str, Opening] | None = None,
    overrides: Mapping[str, float] | None = None,
) -> tuple[tuple[Window, ...], tuple[str, ...]]:
    """What shines by day: bare glass, and cloth that is drawn before it.

    Parameters
    ----------
    patches : Patches
        The furnished rooms.
    labels : sequence of Target
        From `labels_of`, to tell drapery from pieces.
    finishes : mapping of str to Finish
        Give the transmittance of cloth.
    step : float, optional
        Distance between the points that shine. [m]
    openings : mapping of str to Opening, optional
        With their glass as it is now: patches are kept from before it changed.
    overrides : mapping of str to float, optional
        The project's own values (`Home.rules`).

    Returns
    -------
    tuple of Window, tuple of str
        And notes, such as glass that a piece hides.

    Raises
    ------
    LookupFailed
        A window names a glass that there is not.
    InputError
        What a window lets through is not 0 to 1.
    """
    found: list[Window] = []
    notes: list[str] = []
    seen: set[tuple[str, tuple[float, float, float, float]]] = set()
    for hole, _, rect, face in patches.glass:
        to_room = (
            hole.opening.to in patches.rooms.rooms and hole.opening.room in patches.rooms.rooms
        )
        if to_room or (hole.id, rect) in seen:
            continue  # an inner window: no sky behind it
        seen.add((hole.id, rect))
        hole = dataclasses.replace(hole, opening=(openings or {}).get(hole.id, hole.opening))
        made, hidden = _panes(patches, hole, rect, face, labels, finishes, step, overrides)
        found += made
        if hidden > 0.01:
            notes.append(f"{hole.id}: {hidden:.1f} m² of glass behind pieces gives no light")
    return tuple(found), tuple(notes)


def _panes(
    patches: Patches,
    hole: Hole,
    rect: tuple[float, float, float, float],
    face: int,
    labels: Sequence[Target],
    finishes: Mapping[str, Finish],
    step: float,
    overrides: Mapping[str, float] | None,
) -> tuple[list[Window], float]:
    a, low, b, high = rect
    nu, nv = max(1, math.ceil((b - a) / step)), max(1, math.ceil((high - low) / step))
    u = a + (np.arange(nu) + 0.5) * (b - a) / nu
    v = low + (np.arange(nv) + 0.5) * (high - low) / nv
    i, j = np.meshgrid(u, v, indexing="ij")
    faces, boxes = patches.faces, patches.boxes
    inward = faces.normal[face]
    at = (
        faces.origin[face]
        + np.multiply.outer(i.ravel(), faces.u[face])
        + np.multiply.outer(j.ravel(), faces.v[face])
        + 2e-3 * inward
    )
    area = (b - a) * (high - low) / (nu * nv)
    glass = sky_through(hole.opening, overrides=overrides)
    # Cloth hangs off the wall: a little into the room one is in its prism.
    over = boxes.inside(at + 0.02 * inward) | boxes.inside(at)
    covered = over.any(axis=0)
    tint = hole.opening.glass
    tint = tint if tint and glazing_of(tint).tinted and glazing_of(tint).white else ""
    made = []
    if not covered.all():
        made.append(
            Window(
                opening=hole.id,
                at=at[~covered],
                inward=inward,
                area=area,
                through=glass,
                cloth=False,
                face=-1,
                glass=tint,
            )
        )
    hidden = 0.0
    for box in np.flatnonzero(over.any(axis=1)).tolist():
        mine = over[box] & (np.argmax(over, axis=0) == box)
        label = labels[int(boxes.label[box])]
        through = 0.0
        if label.kind == "drapery" and label.finish in finishes:
            through = finishes[label.finish].transmittance
        if label.kind != "drapery" or through <= 0:
            hidden += area * int(mine.sum()) * (label.kind != "drapery")
            continue
        c, s = boxes.turn[box]
        local = np.array([c * inward[0] + s * inward[1], c * inward[1] - s * inward[0]])
        axis = int(np.argmax(np.abs(local)))
        depth = (boxes.middle[box] - at[mine]) @ inward + boxes.half[box, axis]
        side = 2 * axis + int(local[axis] > 0)
        made.append(
            Window(
                opening=hole.id,
                at=at[mine] + np.maximum(depth + 2e-3, 0.0)[:, None] * inward,
                inward=inward,
                area=area,
                through=glass * through,
                cloth=True,
                face=int(boxes.first_face[box]) + side,
                glass=tint,
            )
        )
    return made, hidden


def _glow(window: Window, way: Array, horizontal: float, ground: float) -> Array:
    """Luminance of a window towards the room, for directions into it. [cd/m²]"""
    sky, earth = sky_illuminance(horizontal, ground=ground)
    if window.cloth:
        return np.full(way.shape[:-1], window.through * (sky + earth) / math.pi)
    up = -way[..., 2]  # sine of the elevation where the light comes from
    zenith = 9 * horizontal / (7 * math.pi)
    return window.through * np.where(
        up > 0, zenith * (1 + 2 * up) / 3, ground * horizontal / math.pi
    )


def window_direct(
    patches: Patches,
    *,
    parts: Sequence[Window],
    horizontal: float,
    ground: float,
) -> tuple[Direct, Array]:
    """Direct light of all windows on all patches.

    Parameters
    ----------
    patches : Patches
        The furnished rooms.
    parts : sequence of Window
        From `windows`.
    horizontal : float
        Light outdoors on level ground. [lx]
    ground : float
        Reflectance of the ground. [1]

    Returns
    -------
    Direct, array (p,)
        And the light per area that cloth itself gives off towards the room. [lm/m²]
    """
    lux = np.zeros(len(patches.area))
    glow = np.zeros(len(patches.area))
    sky, earth = sky_illuminance(horizontal, ground=ground)
    total, missed = 0.0, 0.0
    number = np.diff(patches.first_point)
    points, normals = _one_point(patches, number), patches.normal
    for part in parts:
        flux = part.through * (sky + earth) * part.area * len(part.at)
        if flux <= 0:
            continue
        own = np.zeros(len(lux))
        away = points[None] - part.at[:, None]
        square = np.einsum("gki,gki->gk", away, away)
        way = away / np.sqrt(np.maximum(square, 1e-9))[..., None]
        leaves = way @ part.inward
        lands = -np.einsum("gki,ki->gk", way, normals)
        some = np.flatnonzero(((leaves > 1e-6) & (lands > 1e-6)).any(axis=0))
        way, square = way[:, some], square[:, some]
        factor = np.maximum(leaves[:, some], 0) * np.maximum(lands[:, some], 0)
        met = meet(patches, part.at[:, None, :], way)
        free = met.distance.reshape(square.shape) >= np.sqrt(square) - _SLACK
        light = _glow(part, way, horizontal, ground) * factor * part.area
        # No nearer than its own size: a point stands for a small pane.
        own[some] = (free * light / np.maximum(square, part.area)).sum(axis=0)
        scaled = _scaled(own, patches.area, flux)
        lux += scaled.lux
        total += flux
        missed += scaled.residual * flux
        if part.cloth:
            on = patches.faces.at(np.full(len(part.at), part.face), part.at)
            on = on[on >= 0]
            glow += np.bincount(on, minlength=len(glow)) * (flux / len(part.at)) / patches.area
    return Direct(lux=lux, flux=total, residual=missed / total if total else 0.0), glow


def _one_point(patches: Patches, number: npt.NDArray[np.int64]) -> Array:
    """The free point of each patch that is nearest to its middle."""
    of_point = np.repeat(np.arange(len(number)), number)
    off = np.linalg.norm(patches.points - patches.centre[of_point], axis=1)
    order = np.lexsort((off, of_point))
    return np.asarray(patches.points[order[patches.first_point[:-1]]], dtype=np.float64)
