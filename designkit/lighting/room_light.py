r"""Light of a layout's lamps in its rooms: what the quick way is made of.

Two parts are added at every point. The *direct* part is inverse square and
cosine from each lamp, where no wall or column stands between (furniture casts
no shadow here). The *indirect* part is the same everywhere in a room: what the
lumen method gives on that plane less its own direct part,

.. math:: E_{ind} = \sum \Phi\, LLF\, (CU - D\phi_d) / A

so that the light that walls and ceiling send back is counted once. A lamp
sends indirect light only into its own room.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from designkit.lighting.distribution import Photometry
from designkit.lighting.lamps import LitLamp, lit_lamps
from designkit.lighting.lumen_method import (
    Reflectances,
    Utilization,
    cavities,
    cavity_ratio_of_outline,
    coefficient_of_utilization,
    effective_reflectance,
)
from designkit.lighting.point import direct_illuminance, source_zones
from designkit.lighting.shell import Shell, sees, shells
from designkit.model import Home, Layout
from designkit.plan.place import Placed, place_home
from designkit.reference import value

__all__ = [
    "AtPoints",
    "LitHome",
    "at_points",
    "direct_at",
    "indirect",
    "light_up",
    "room_mean",
    "utilization_of",
]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class LitHome:
    """A layout with its rooms, pieces and lamps in place."""

    home: Home
    layout: Layout
    shells: dict[str, Shell]
    placed: dict[str, Placed]
    lamps: dict[str, LitLamp]
    loss: float  # light left after ageing and dirt
    used: dict[tuple[str, float], Utilization] = field(default_factory=dict, repr=False)


@dataclass(frozen=True, kw_only=True, eq=False)
class AtPoints:
    """Light at points of one room, direct by lamp."""

    lamps: tuple[str, ...]
    direct: Array  # (lamps, points), at full power [lx]
    indirect: Array  # (lamps,), at full power [lx]

    def total(self, shares: Mapping[str, float] | None = None) -> Array:
        """Light with each lamp at a share of its full power. [lx]

        Parameters
        ----------
        shares : mapping of str to float, optional
            Share of full power by lamp; a lamp that is not named is off. None: all at
            full power. [1]

        Returns
        -------
        Array
            One value for each point. [lx]
        """
        by = np.array([1.0 if shares is None else shares.get(id, 0.0) for id in self.lamps])
        return np.asarray(by @ self.direct + by @ self.indirect, dtype=float)


def light_up(
    home: Home,
    layout: Layout,
    *,
    dim: float | Mapping[str, float] = 1.0,
    reflectances: Reflectances | Mapping[str, Reflectances] | None = None,
    photometry: Mapping[str, Photometry] | None = None,
) -> LitHome:
    """Put rooms, pieces and lamps of a layout in place.

    Parameters
    ----------
    home : Home
        The home.
    layout : Layout
        One arrangement.
    dim : float or mapping of str to float, optional
        Share of full light, for all or by circuit. [1]
    reflectances : Reflectances or mapping of str to Reflectances, optional
        For all rooms or by room; from the finishes where not given. [1]
    photometry : mapping of str to Photometry, optional
        Files by the name that the fixtures give.

    Returns
    -------
    LitHome
        Everything that the quick way needs.

    Raises
    ------
    InputError
        A value cannot be.
    LookupFailed
        A thing is named that does not exist.
    """
    rooms = shells(home, layout, reflectances=reflectances)
    placed = place_home(home, layout)
    lamps = lit_lamps(home, layout, shells=rooms, placed=placed, dim=dim, photometry=photometry)
    return LitHome(
        home=home,
        layout=layout,
        shells=rooms,
        placed=placed,
        lamps=lamps,
        loss=value("light.loss", home.rules),
    )


def utilization_of(lit: LitHome, *, lamp: LitLamp, plane: float) -> Utilization:
    """Share of a lamp's light that lands on a plane of its room.

    Parameters
    ----------
    lit : LitHome
        The layout.
    lamp : LitLamp
        One of its lamps, with lumens.
    plane : float
        Height of the plane. [m]

    Returns
    -------
    Utilization
        Over the lumens after the shade. [1]
    """
    if lit.lamps.get(lamp.id) is not lamp:
        return _utilization(lit, lamp=lamp, plane=plane)
    key = (lamp.id, plane)
    if key not in lit.used:
        lit.used[key] = _utilization(lit, lamp=lamp, plane=plane)
    return lit.used[key]


def _utilization(lit: LitHome, *, lamp: LitLamp, plane: float) -> Utilization:
    shell = lit.shells[lamp.room]
    zones = np.sum([source_zones(s) for s in lamp.sources], axis=0)
    flux = float(zones.sum())
    r, height = shell.reflectances, shell.room.height
    if lamp.centre < plane:
        # A lamp under the plane: its upward light and what the floor returns
        # come back from the ceiling cavity, with no room cavity between.
        ratio = cavity_ratio_of_outline(height - plane, perimeter=shell.perimeter, area=shell.area)
        below = cavity_ratio_of_outline(plane, perimeter=shell.perimeter, area=shell.area)
        above = effective_reflectance(r.ceiling, wall=r.wall, ratio=ratio)
        under = effective_reflectance(r.floor, wall=r.wall, ratio=below)
        down, up = zones[:9].sum() / flux, zones[9:].sum() / flux
        total = above * (up + under * down) / (1 - above * under)
        return Utilization(total=float(total), direct=0.0)
    found = cavities(
        r,
        perimeter=shell.perimeter,
        area=shell.area,
        ceiling_height=height,
        luminaire_height=lamp.centre,
        plane_height=plane,
    )
    return coefficient_of_utilization(
        zones,
        lamp_lumens=flux,
        ratio=found.room,
        ceiling=found.ceiling_reflectance,
        wall=found.wall_reflectance,
        floor=found.floor_reflectance,
    )


def room_mean(
    lit: LitHome,
    *,
    room: str,
    plane: float,
    shares: Mapping[str, float] | None = None,
) -> float:
    """Mean light on a plane of a room by the lumen method.

    Parameters
    ----------
    lit : LitHome
        The layout.
    room : str
        Room id.
    plane : float
        Height of the plane. [m]
    shares : mapping of str to float, optional
        Share of full light by lamp; all at full where not given, 0 where missing. [1]

    Returns
    -------
    float
        Illuminance. [lx]
    """
    found = 0.0
    for lamp in lit.lamps.values():
        share = 1.0 if shares is None else shares.get(lamp.id, 0.0)
        if lamp.room != room or not lamp.sources or not share:
            continue
        assert lamp.lumens is not None
        use = utilization_of(lit, lamp=lamp, plane=plane).total
        found += share * lamp.lumens * use * lit.loss / lit.shells[room].area
    return found


def indirect(lit: LitHome, *, lamp: LitLamp, plane: float) -> float:
    """Light that reaches a plane of the lamp's room by reflection only, at full power.

    Parameters
    ----------
    lit : LitHome
        The layout.
    lamp : LitLamp
        One of its lamps.
    plane : float
        Height of the plane. [m]

    Returns
    -------
    float
        Illuminance, the same all over the room. [lx]
    """
    if not lamp.sources or lamp.lumens is None:
        return 0.0
    use = utilization_of(lit, lamp=lamp, plane=plane)
    return lamp.lumens * lit.loss * use.indirect / lit.shells[lamp.room].area


def direct_at(
    lit: LitHome,
    *,
    lamp: LitLamp,
    points: npt.ArrayLike,
    normal: npt.ArrayLike = (0.0, 0.0, 1.0),
) -> Array:
    """Direct light of a lamp at points of its space, walls and columns in the way.

    Parameters
    ----------
    lit : LitHome
        The layout.
    lamp : LitLamp
        One of its lamps.
    points : array-like (n, 3)
        Where it is measured. [m]
    normal : array-like, optional
        Unit normals of the surface.

    Returns
    -------
    array (n,)
        Illuminance at full power. [lx]
    """
    at = np.asarray(points, dtype=float)
    if not lamp.sources:
        return np.zeros(len(at))
    light = direct_illuminance(lamp.sources, points=at, normal=normal).sum(axis=0)
    shell = lit.shells[lamp.room]
    # A convex room without columns hides nothing from itself.
    free = sees(shell, start=lamp.sources[len(lamp.sources) // 2].at[:2], ends=at[:, :2])
    return np.asarray(light * free * lit.loss, dtype=float)


def at_points(
    lit: LitHome,
    *,
    room: str,
    points: npt.ArrayLike,
    normal: npt.ArrayLike = (0.0, 0.0, 1.0),
    plane: float,
) -> AtPoints:
    """Light at points of one room, lamp by lamp.

    Parameters
    ----------
    lit : LitHome
        The layout.
    room : str
        Room of the points.
    points : array-like (n, 3)
        Where it is measured. [m]
    normal : array-like, optional
        Unit normals of the surface; the indirect part takes no notice of them.
    plane : float
        Height for the indirect part. [m]

    Returns
    -------
    AtPoints
        Direct light of the lamps of the space, indirect of those of the room.
    """
    at = np.asarray(points, dtype=float)
    joined = lit.shells[room].joined
    lamps = [lamp for lamp in lit.lamps.values() if lamp.room in joined and lamp.sources]
    direct = np.zeros((len(lamps), len(at)))
    for k, lamp in enumerate(lamps):
        direct[k] = direct_at(lit, lamp=lamp, points=at, normal=normal)
    return AtPoints(
        lamps=tuple(lamp.id for lamp in lamps),
        direct=direct,
        indirect=np.array(
            [indirect(lit, lamp=lamp, plane=plane) if lamp.room == room else 0.0 for lamp in lamps]
        ),
    )
