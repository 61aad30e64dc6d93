r"""Direct light at a point: inverse square and cosine.

A luminaire is one point, or a few points along its length, with an intensity
that depends on direction. Without a photometric file the intensity is one of
three models. Each gives back exactly the lumens it was given:

*even*
    A glowing globe (bare, clear, prismatic, milky): the same intensity in each
    half space, :math:`I = (1-u)\Phi/2\pi` below and :math:`u\Phi/2\pi` above.
*lobes*
    A shade that is open above and below (white fabric, lined metal): two
    cosine lobes, :math:`I = (1-u)\Phi\cos\theta/\pi` below and
    :math:`u\Phi\cos\theta'/\pi` above.
*beam*
    A spot: :math:`I = \Phi\,(n+1)\cos^n\gamma / 2\pi` about its axis, with
    :math:`n = \ln\tfrac12 / \ln\cos(\beta/2)`, so that half of the intensity
    is left at half of the beam angle :math:`\beta`.

:math:`\Phi` are the lumens after the shade and u the share above the
horizontal. The models are our assumptions; a file replaces them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from designkit.errors import InputError
from designkit.lighting.distribution import Photometry, candela, zonal_lumens

__all__ = [
    "Pattern",
    "Source",
    "beam_exponent",
    "direct_illuminance",
    "intensity",
    "point_illuminance",
    "source_zones",
]

Array = npt.NDArray[np.float64]
Pattern = Literal["even", "lobes", "beam", "file"]
Vector = tuple[float, float, float]


@dataclass(frozen=True, kw_only=True, eq=False)
class Source:
    """A point that gives light.

    Parameters
    ----------
    at : tuple of float
        Its place in the home's frame. [m]
    lumens : float
        Flux that leaves the luminaire here. [lm]
    pattern : str
        Model of its intensity.
    up_share : float, optional
        Share above the horizontal (even, lobes). [1]
    exponent : float, optional
        Exponent of the cosine (beam). [1]
    aim : tuple of float, optional
        Direction of the axis (beam); any length above 0.
    photometry : Photometry, optional
        The file (file); `lumens` scales it.
    rotation : float, optional
        Turn of its 0° plane from x, counter-clockwise (file). [°]
    radius : float, optional
        Half of its size: nearer than this the light does not grow. [m]
    lamp : str, optional
        Id of the lamp that it belongs to.
    """

    at: Vector
    lumens: float
    pattern: Pattern
    up_share: float = 0.5
    exponent: float = 1.0
    aim: Vector = (0.0, 0.0, -1.0)
    photometry: Photometry | None = None
    rotation: float = 0.0
    radius: float = 0.0
    lamp: str = ""

    def __post_init__(self) -> None:
        if not math.isfinite(self.lumens) or self.lumens < 0:
            raise InputError("lumens", given=f"{self.lumens:g} lm", allowed="0 lm or more")
        if not 0 <= self.up_share <= 1:
            raise InputError("up share", given=self.up_share, allowed="0 to 1")
        if not (self.exponent >= 0 and math.isfinite(self.exponent)):
            raise InputError("beam exponent", given=self.exponent, allowed="0 or more")
        if not all(map(math.isfinite, (*self.at, *self.aim))) or not any(self.aim):
            raise InputError("place and aim", given=(self.at, self.aim), allowed="finite numbers")
        if self.pattern == "file" and self.photometry is None:
            raise InputError("pattern", given="file", allowed="a Photometry beside it")


def beam_exponent(beam: float) -> float:
    r"""Exponent of a cosine beam from its full beam angle.

    .. math:: n = \ln\tfrac12 / \ln\cos(\beta/2)

    Parameters
    ----------
    beam : float
        Full angle where half of the intensity is left. [°]

    Returns
    -------
    float
        Exponent; 1 at 120°. [1]

    Raises
    ------
    InputError
        The angle is not between 1° and 179°.

    Examples
    --------
    >>> round(beam_exponent(120), 12)
    1.0
    """
    if not 1 <= beam <= 179:
        raise InputError("beam angle", given=f"{beam:g}°", allowed="1° to 179°")
    return math.log(0.5) / math.log(math.cos(math.radians(beam / 2)))


def point_illuminance(candelas: float, *, distance: float, incidence: float = 0.0) -> float:
    r"""Illuminance from one point of light.

    .. math:: E = I \cos\theta / d^2

    Parameters
    ----------
    candelas : float
        Intensity towards the point. [cd]
    distance : float
        From the light to the point. [m]
    incidence : float, optional
        Angle between the light and the normal of the surface. [°]

    Returns
    -------
    float
        Illuminance; 0 from behind. [lx]

    Raises
    ------
    InputError
        The intensity is negative, the distance not above 0, the angle not 0 … 180°.

    Examples
    --------
    >>> point_illuminance(100, distance=2)
    25.0
    """
    if not (math.isfinite(candelas) and candelas >= 0):
        raise InputError("intensity", given=f"{candelas:g} cd", allowed="0 cd or more")
    if not (math.isfinite(distance) and distance > 0):
        raise InputError("distance", given=f"{distance:g} m", allowed="more than 0 m")
    if not 0 <= incidence <= 180:
        raise InputError("angle of incidence", given=f"{incidence:g}°", allowed="0° to 180°")
    if incidence >= 90:
        return 0.0
    return candelas * math.cos(math.radians(incidence)) / distance**2


def intensity(source: Source, *, directions: npt.ArrayLike) -> Array:
    """Intensity of a source in given directions.

    Parameters
    ----------
    source : Source
        The light.
    directions : array-like (…, 3)
        Unit vectors that point away from it.

    Returns
    -------
    array (…)
        Intensity. [cd]
    """
    d = np.asarray(directions, dtype=float)
    down = -d[..., 2]
    flux, up = source.lumens, source.up_share
    if source.pattern == "even":
        # A direction that is exactly level belongs to both halves.
        level = np.where(down > 0, 1 - up, np.where(down < 0, up, 0.5))
        return np.asarray(flux / (2 * math.pi) * level, dtype=float)
    if source.pattern == "lobes":
        share = np.where(down > 0, (1 - up) * down, -up * down)
        return np.asarray(flux / math.pi * share, dtype=float)
    if source.pattern == "beam":
        axis = np.asarray(source.aim, dtype=float)
        along = np.clip(d @ (axis / np.linalg.norm(axis)), 0.0, 1.0)
        n = source.exponent
        lit = flux * (n + 1) / (2 * math.pi) * along**n
        return np.asarray(np.where(along > 0, lit, 0.0), dtype=float)
    assert source.photometry is not None
    vertical = np.degrees(np.arccos(np.clip(down, -1.0, 1.0)))
    horizontal = np.degrees(np.arctan2(d[..., 1], d[..., 0])) - source.rotation
    own = _file_lumens(source.photometry)
    return candela(source.photometry, vertical=vertical, horizontal=horizontal) * (flux / own)


def _file_lumens(photometry: Photometry) -> float:
    # The same zones that the lumen method uses, so that both count one flux.
    return float(zonal_lumens(photometry).sum())


def direct_illuminance(
    sources: Sequence[Source], *, points: npt.ArrayLike, normal: npt.ArrayLike = (0.0, 0.0, 1.0)
) -> Array:
    r"""Direct illuminance of each source at each point.

    .. math:: E = I\,\cos\theta / \max(d, r)^2

    with r the radius of the source, so that a point beside a lamp shade is not
    lit without bounds. Nothing stands in the way of the light here.

    Parameters
    ----------
    sources : sequence of Source
        s lights.
    points : array-like (n, 3)
        Where the light is measured. [m]
    normal : array-like (3,) or (n, 3), optional
        Unit normals of the surface at the points; straight up where not given.

    Returns
    -------
    array (s, n)
        Illuminance. [lx]

    Raises
    ------
    InputError
        The points are not finite triples.
    """
    at = np.asarray(points, dtype=float)
    if at.ndim != 2 or at.shape[1] != 3 or not np.isfinite(at).all():
        raise InputError("points", given=str(at.shape), allowed="finite triples, (n, 3)")
    normals = np.asarray(normal, dtype=float)
    out = np.zeros((len(sources), len(at)))
    for k, source in enumerate(sources):
        ray = at - np.asarray(source.at)
        squared = np.einsum("ij,ij->i", ray, ray)
        distance = np.sqrt(squared)
        unit = ray / np.maximum(distance, 1e-9)[:, None]
        facing = -(unit @ normals) if normals.ndim == 1 else -np.einsum("ij,ij->i", unit, normals)
        seen = facing > 0
        if not seen.any():
            continue
        cd = intensity(source, directions=unit[seen])
        near = np.maximum(squared[seen], max(source.radius, 1e-3) ** 2)
        out[k, seen] = cd * facing[seen] / near
    return out


def source_zones(source: Source) -> Array:
    """Flux of a source in the eighteen zones of the lumen method.

    Parameters
    ----------
    source : Source
        The light.

    Returns
    -------
    array (18,)
        Flux in the zones 0–10° … 170–180°; the sum is the source's lumens. [lm]
    """
    edges = np.radians(np.arange(0.0, 181.0, 10.0))
    flux, up = source.lumens, source.up_share
    if source.pattern == "file":
        assert source.photometry is not None
        zones = zonal_lumens(source.photometry)
        return np.asarray(zones * (flux / zones.sum()), dtype=float)
    share = np.where(np.arange(18) < 9, 1 - up, up)
    if source.pattern == "even":
        return np.asarray(flux * share * -np.diff(np.cos(edges)), dtype=float)
    if source.pattern == "lobes":
        return np.asarray(flux * share * np.abs(np.diff(np.sin(edges) ** 2)), dtype=float)
    if source.aim[0] == source.aim[1] == 0 and source.aim[2] < 0:
        left = np.maximum(np.cos(edges), 0.0) ** (source.exponent + 1)
        return np.asarray(flux * -np.diff(left), dtype=float)
    return _aimed_zones(source)


def _aimed_zones(source: Source) -> Array:
    """Zones of a beam that is not aimed straight down: sampled about its own axis."""
    rings, around = 40, 48
    # Rings of equal flux: cos γ = (1 − q)^(1 / (n + 1)).
    q = (np.arange(rings) + 0.5) / rings
    cos_g = (1 - q) ** (1 / (source.exponent + 1))
    sin_g = np.sqrt(1 - cos_g**2)
    turn = (np.arange(around) + 0.5) * (2 * math.pi / around)
    axis = np.asarray(source.aim) / np.linalg.norm(source.aim)
    side = np.cross(axis, (0.0, 0.0, 1.0) if abs(axis[2]) < 0.9 else (1.0, 0.0, 0.0))
    side /= np.linalg.norm(side)
    # Height of each ray only: that is all that a vertical angle needs.
    other = np.cross(axis, side)
    z = (
        cos_g[:, None] * axis[2]
        + sin_g[:, None] * (np.cos(turn) * side[2] + np.sin(turn) * other[2])
    ).ravel()
    vertical = np.degrees(np.arccos(np.clip(-z, -1.0, 1.0)))
    zone = np.minimum((vertical / 10).astype(int), 17)
    return np.asarray(
        np.bincount(zone, minlength=18) * (source.lumens / (rings * around)), dtype=float
    )
