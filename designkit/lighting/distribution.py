"""Intensity tables of luminaires and what follows from them.

References
----------
.. [1] ANSI/IES LS-1, definitions of beam and field angle (second-hand).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import numpy.typing as npt

from designkit.errors import InputError

__all__ = [
    "Photometry",
    "Symmetry",
    "beam_angle",
    "candela",
    "field_angle",
    "total_lumens",
    "zonal_constants",
    "zonal_lumens",
]

Array = npt.NDArray[np.float64]
Symmetry = Literal["axial", "quadrants", "halves", "halves about 90–270", "none"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Photometry:
    """The intensity table of one luminaire, all multipliers applied.

    Parameters
    ----------
    name : str
        Name of the file.
    version : str
        First line of the file, or "" where it states none.
    keywords : mapping of str to str
        What the header says, keyed by the word in square brackets.
    lamps : int
        Number of lamps in the luminaire; for information only.
    lamp_lumens : float or None
        Lumens of all its lamps together; None for absolute photometry. [lm]
    watts : float
        Input power of the luminaire. [W]
    opening : str
        Shape of the luminous opening.
    size : tuple of float
        Width, length and height of the luminous opening. [m]
    vertical : array (v,)
        Vertical angles, 0 straight down. [°]
    horizontal : array (h,)
        Horizontal angles as far as the symmetry needs them. [°]
    intensity : array (h, v)
        Luminous intensity. [cd]
    symmetry : str
        How the horizontal angles are continued round the luminaire.
    warnings : tuple of str
        What a person should know about the file.
    """

    name: str
    version: str
    keywords: Mapping[str, str] = field(default_factory=dict)
    lamps: int
    lamp_lumens: float | None
    watts: float
    opening: str
    size: tuple[float, float, float]
    vertical: Array
    horizontal: Array
    intensity: Array
    symmetry: Symmetry
    warnings: tuple[str, ...] = ()

    @property
    def absolute(self) -> bool:
        """Whether the file is absolute photometry (no lamp lumens)."""
        return self.lamp_lumens is None


def candela(
    photometry: Photometry, *, vertical: npt.ArrayLike, horizontal: npt.ArrayLike = 0.0
) -> Array:
    """Luminous intensity in given directions, linear between the angles of the file.

    Parameters
    ----------
    photometry : Photometry
        The luminaire.
    vertical : array-like
        Angles from straight down, 0 … 180. [°]
    horizontal : array-like, optional
        Angles round the luminaire, any number. [°]

    Returns
    -------
    array
        Intensity, 0 where the file gives none; the shape of both broadcast. [cd]

    Raises
    ------
    InputError
        A vertical angle is not from 0° to 180°, or an angle is not finite.
    """
    v, h = np.broadcast_arrays(
        np.asarray(vertical, dtype=float), np.asarray(horizontal, dtype=float)
    )
    if not (np.isfinite(v).all() and np.isfinite(h).all()):
        raise InputError("angle", given="not finite", allowed="finite angles")
    if v.size and (v.min() < -1e-9 or v.max() > 180 + 1e-9):
        raise InputError("vertical angle", given=f"{v.min():g} … {v.max():g}°", allowed="0 … 180°")
    angles = photometry.vertical
    if photometry.symmetry == "axial":
        found = np.interp(v, angles, photometry.intensity[0], left=0.0, right=0.0)
        return np.asarray(found, dtype=float)
    turned = _folded(h, photometry.symmetry)
    planes = photometry.horizontal
    i = np.clip(np.searchsorted(angles, v, side="right") - 1, 0, len(angles) - 2)
    j = np.clip(np.searchsorted(planes, turned, side="right") - 1, 0, len(planes) - 2)
    s = (v - angles[i]) / (angles[i + 1] - angles[i])
    t = (turned - planes[j]) / (planes[j + 1] - planes[j])
    table = photometry.intensity
    found = (1 - t) * ((1 - s) * table[j, i] + s * table[j, i + 1]) + t * (
        (1 - s) * table[j + 1, i] + s * table[j + 1, i + 1]
    )
    return np.asarray(np.where((v < angles[0]) | (v > angles[-1]), 0.0, found), dtype=float)


def _folded(horizontal: Array, symmetry: Symmetry) -> Array:
    turned = np.mod(horizontal, 360.0)
    if symmetry == "quadrants":
        half = np.mod(turned, 180.0)
        return np.asarray(np.minimum(half, 180.0 - half), dtype=float)
    if symmetry == "halves":
        return np.asarray(np.minimum(turned, 360.0 - turned), dtype=float)
    if symmetry == "halves about 90–270":
        late = np.where(turned > 270.0, 540.0 - turned, turned)
        return np.asarray(np.where(turned < 90.0, 180.0 - turned, late), dtype=float)
    return np.asarray(turned, dtype=float)


def _mean_curve(photometry: Photometry) -> Array:
    """Intensity averaged round the luminaire, at its vertical angles. [cd]"""
    if photometry.symmetry == "axial":
        return np.asarray(photometry.intensity[0], dtype=float)
    planes = photometry.horizontal
    step = np.diff(planes)
    between = (photometry.intensity[:-1] + photometry.intensity[1:]) / 2
    return np.asarray(step @ between / (planes[-1] - planes[0]), dtype=float)


def zonal_constants(edges: Sequence[float] | Array) -> Array:
    r"""Solid angles of the zones between vertical angles.

    .. math:: \omega = 2\pi(\cos\theta_1 - \cos\theta_2)

    Parameters
    ----------
    edges : sequence of float
        Rising vertical angles, n + 1 of them. [°]

    Returns
    -------
    array (n,)
        Solid angle of each zone. [sr]

    Raises
    ------
    InputError
        The edges do not rise from 0° to 180°.

    Examples
    --------
    >>> [round(float(x), 4) for x in zonal_constants([0, 10, 20])]
    [0.0955, 0.2835]
    """
    angles = np.asarray(edges, dtype=float)
    if (
        angles.ndim != 1
        or len(angles) < 2
        or not np.isfinite(angles).all()
        or (np.diff(angles) <= 0).any()
        or angles[0] < 0
        or angles[-1] > 180
    ):
        raise InputError(
            "zone edges", given=list(np.ravel(angles))[:6], allowed="rising angles from 0° to 180°"
        )
    return np.asarray(2 * math.pi * -np.diff(np.cos(np.radians(angles))), dtype=float)


def zonal_lumens(photometry: Photometry, *, edges: Sequence[float] | Array | None = None) -> Array:
    """Luminous flux in zones of vertical angle, by the trapezoid rule.

    Each step of the file gives the mean of its two intensities times its solid
    angle; an edge that falls between two angles of the file takes the
    intensity on the straight line between them.

    Parameters
    ----------
    photometry : Photometry
        The luminaire.
    edges : sequence of float, optional
        Zone edges; eighteen zones of 10° where none are given. [°]

    Returns
    -------
    array (n,)
        Flux in each zone. [lm]

    Raises
    ------
    InputError
        The edges do not rise from 0° to 180°.
    """
    wanted = np.arange(0.0, 181.0, 10.0) if edges is None else np.asarray(edges, dtype=float)
    zonal_constants(wanted)  # checks them
    angles = photometry.vertical
    curve = _mean_curve(photometry)
    low = np.maximum(wanted[:-1], angles[0])
    high = np.minimum(wanted[1:], angles[-1])
    steps = np.unique(np.concatenate([angles, np.clip(wanted, angles[0], angles[-1])]))
    at = np.interp(steps, angles, curve)
    flux = (at[:-1] + at[1:]) / 2 * zonal_constants(steps)
    middle = (steps[:-1] + steps[1:]) / 2
    inside = (middle > low[:, None]) & (middle < high[:, None])
    return np.asarray(inside @ flux, dtype=float)


def total_lumens(photometry: Photometry) -> float:
    """Luminous flux of the luminaire, by the trapezoid rule at the file's own step.

    Parameters
    ----------
    photometry : Photometry
        The luminaire.

    Returns
    -------
    float
        Flux. [lm]
    """
    curve = _mean_curve(photometry)
    zones = zonal_constants(photometry.vertical)
    return float(((curve[:-1] + curve[1:]) / 2) @ zones)


def beam_angle(photometry: Photometry, *, share: float = 0.5, horizontal: float = 0.0) -> float:
    """Full angle between the directions where the intensity falls to a share of its maximum.

    Parameters
    ----------
    photometry : Photometry
        The luminaire; its beam points straight down or straight up.
    share : float, optional
        0.5 for the beam angle, 0.1 for the field angle. [1]
    horizontal : float, optional
        Plane in which it is measured. [°]

    Returns
    -------
    float
        Full angle, taken as twice the angle on one side. [°]

    Raises
    ------
    InputError
        The share is not between 0 and 1, or the intensity does not fall that far.
    """
    if not 0 < share < 1:
        raise InputError("share of the maximum", given=share, allowed="more than 0, less than 1")
    angles = photometry.vertical
    curve = candela(photometry, vertical=angles, horizontal=horizontal)
    if curve.max() <= 0:
        raise InputError("intensity", given="0 cd in this plane", allowed="some light")
    if angles[int(np.argmax(curve))] > 90:
        angles, curve = 180.0 - angles[::-1], curve[::-1]
    top = int(np.argmax(curve))
    limit = share * curve[top]
    below = np.flatnonzero(curve[top:] <= limit)
    if not len(below):
        raise InputError(
            f"beam of {photometry.name}",
            given=f"{curve[-1] / curve[top]:.2f} of the maximum at the last angle",
            allowed=f"an intensity that falls to {share:g} of the maximum",
            mend="the luminaire lights all round: give no beam angle",
        )
    i = top + int(below[0])
    part = (curve[i - 1] - limit) / (curve[i - 1] - curve[i])
    return float(2 * (angles[i - 1] + part * (angles[i] - angles[i - 1])))


def field_angle(photometry: Photometry, *, horizontal: float = 0.0) -> float:
    """Full angle between the directions where the intensity falls to a tenth of its maximum.

    Parameters
    ----------
    photometry : Photometry
        The luminaire.
    horizontal : float, optional
        Plane in which it is measured. [°]

    Returns
    -------
    float
        Full angle. [°]

    Raises
    ------
    InputError
        The intensity does not fall that far.
    """
    return beam_angle(photometry, share=0.1, horizontal=horizontal)
