r"""The glass of a window: how much daylight it lets in, and of what colour.

One pane by itself lets through τ and gives back ρ. Two panes send light back and
forth between them:

.. math:: \tau = \frac{\tau_1\tau_2}{1 - \rho_1\rho_2}

The table has both for light that comes straight. An overcast sky comes from all
sides: its share is worked out with Fresnel's formulas for each polarisation and
Beer's law along the longer way through the pane, and set to the table straight on.

The colour of float glass follows from its index and absorption [1]_. Of a coat and of
blue glass the spectrum is not in the tables: their tint is a word.

References
----------
.. [1] M. Rubin, "Optical properties of soda lime silica glasses", Solar Energy
   Materials 12, 1985, 275–288 (the data base refractiveindex.info, CC0).
.. [2] C. Li et al., "Comprehensive color solutions: CAM16, CAT16, and CAM16-UCS",
   Color Research and Application 42(6), 2017.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import Opening
from designkit.reference import table, value

__all__ = [
    "Glazing",
    "adaptation_degree",
    "adapted_in_part",
    "back_of",
    "glazing_of",
    "glazings",
    "light_through",
    "sky_through",
    "straight_through",
]

Array = NDArray[np.float64]
_D65 = (0.31272, 0.32903)  # CIE 15, 2°
_STEPS = 90  # of the angle under which the sky is seen
_TINTED = ("bronze", "grey", "green", "blue")  # in the mass, as the trade says
# CAT16, Li et al. 2017.
_CAT16 = np.array(
    [
        [0.401288, 0.650173, -0.051461],
        [-0.250268, 1.204414, 0.045854],
        [-0.002079, 0.048952, 0.953127],
    ]
)


@dataclass(frozen=True, kw_only=True)
class Glazing:
    """The glass of a window by kind."""

    id: str
    name: str
    panes: tuple[str, ...]  # from outside to inside
    through: float  # visible, straight on [1]
    sky: float  # visible, of light from all sides [1]
    back: float  # visible reflectance towards the room [1]
    tint: str  # in words
    tinted: bool  # in the mass
    white: tuple[float, float] | None  # x, y of daylight D65 through it; None: not known


@functools.cache
def _rows() -> Mapping[str, Mapping[str, str]]:
    return MappingProxyType({row["id"]: row for row in table("glass")})


def glazings() -> Mapping[str, str]:
    """Names of all kinds of window glass by id.

    Returns
    -------
    mapping of str to str
        Single panes first.

    Examples
    --------
    >>> glazings()["double-clear-6"]
    'double, clear float, 6 mm'
    """
    return MappingProxyType({id: row["name"] for id, row in _rows().items()})


def _pane(id: str) -> tuple[float, float, float]:
    """Share through, back outside and back inside of one pane."""
    through, back = (value(f"palette.glass.{id}.{way}") for way in ("through", "back"))
    front = value(f"palette.glass.{id}.front") if id.startswith("low-e") else back
    return through, front, back


@functools.cache
def glazing_of(id: str) -> Glazing:
    """A kind of window glass by its id.

    Parameters
    ----------
    id : str
        A key of `glazings`, as "double-clear-6".

    Returns
    -------
    Glazing
        With its share of light and, where it is known, the colour of daylight
        through it.

    Raises
    ------
    LookupFailed
        There is no such glass.

    Examples
    --------
    >>> round(glazing_of("double-clear-6").through, 3)
    0.781
    """
    rows = _rows()
    if id not in rows:
        raise LookupFailed(
            "glass",
            given=id,
            allowed=", ".join(rows),
            mend=f"did you mean {nearest(id, rows) or 'double-clear-6'}?",
        )
    row = rows[id]
    panes = tuple(p for p in (row["outer"], row["inner"]) if p)
    through, _, back = _pane(panes[0])
    for pane in panes[1:]:
        next_through, next_front, next_back = _pane(pane)
        among = 1 - back * next_front
        back = next_back + next_through**2 * back / among
        through = through * next_through / among
    return Glazing(
        id=id,
        name=row["name"],
        panes=panes,
        through=through,
        sky=through * _sky_share(panes),
        back=back,
        tint=row["tint"],
        tinted=panes[0].rpartition("-")[0] in _TINTED,
        white=(float(row["x"]), float(row["y"])) if row["x"] else None,
    )


def _index(wavelengths: Array) -> Array:
    """Refractive index of soda lime glass."""
    micron = wavelengths / 1000
    constant, slope, rise = (
        value(f"palette.glass.index.{name}") for name in ("constant", "slope", "rise")
    )
    return constant + slope * micron**2 + rise / micron**2


def _sky_share(panes: tuple[str, ...]) -> float:
    """Light from all sides over light that comes straight on, through the same panes."""
    index = float(_index(np.array([550.0]))[0])
    angle = (np.arange(_STEPS) + 0.5) * math.pi / 2 / _STEPS
    every = np.concatenate([[0.0], angle])
    cos_in = np.cos(every)
    cos_out = np.sqrt(1 - (np.sin(every) / index) ** 2)
    upright = ((cos_in - index * cos_out) / (cos_in + index * cos_out)) ** 2
    level = ((index * cos_in - cos_out) / (index * cos_in + cos_out)) ** 2
    straight = ((index - 1) / (index + 1)) ** 2
    whole = np.zeros(len(every))
    for face in (upright, level):
        through, back = np.ones(len(every)), np.zeros(len(every))
        for pane in panes:
            seen = _pane(pane)[0]
            # What the pane itself lets through straight on: the share that the table says.
            root = math.sqrt((1 - straight) ** 4 + 4 * seen**2 * straight**2)
            inside = (root - (1 - straight) ** 2) / (2 * seen * straight**2)
            left = inside ** (1 / cos_out)
            one = (1 - face) ** 2 * left / (1 - (face * left) ** 2)
            sent = face * (1 + left * one)
            among = 1 - back * sent
            through, back = through * one / among, sent + one**2 * back / among
        whole += through / 2
    weight = np.sin(angle) * np.cos(angle)
    return float((whole[1:] @ weight) / weight.sum() / whole[0])


def straight_through(id: str, *, wavelengths: ArrayLike) -> Array | None:
    """Spectral transmittance of a kind of window glass, straight on.

    Parameters
    ----------
    id : str
        A key of `glazings`.
    wavelengths : array_like
        380 to 780. [nm]

    Returns
    -------
    ndarray or None
        None where the spectrum of a pane is not known: a coat, blue glass. [1]

    Raises
    ------
    LookupFailed
        There is no such glass.
    """
    at = np.asarray(wavelengths, dtype=np.float64)
    known = table("glass-spectra")
    grid = np.array([float(row["wavelength"]) for row in known])
    index = _index(at)
    face = ((index - 1) / (index + 1)) ** 2
    through, back = np.ones(len(at)), np.zeros(len(at))
    for pane in glazing_of(id).panes:
        kind, _, thick = pane.rpartition("-")
        if kind not in known[0]:
            return None
        decay = np.interp(at, grid, [float(row[kind]) for row in known])
        # Beer's law: 4 π k / λ, with both lengths in nm.
        left = np.exp(-4 * math.pi * decay * float(thick) * 1e6 / at)
        one = (1 - face) ** 2 * left / (1 - (face * left) ** 2)
        sent = face * (1 + left * one)
        among = 1 - back * sent
        through, back = through * one / among, sent + one**2 * back / among
    return np.asarray(through, dtype=np.float64)


# --- the glass of an opening -------------------------------------------------------


def sky_through(opening: Opening, *, overrides: Mapping[str, float] | None = None) -> float:
    """Share of the sky's light that an opening's glass lets in.

    Parameters
    ----------
    opening : Opening
        A window or balcony door.
    overrides : mapping of str to float, optional
        The project's own values (`Home.rules`).

    Returns
    -------
    float
        What is written on the opening; else that of its glass; else what is taken
        where nothing is said. [1]

    Raises
    ------
    LookupFailed
        There is no such glass.
    InputError
        What is written is not 0 to 1.

    Examples
    --------
    >>> window = Opening(room="r", wall=0, offset=1.0, width=1.0, head=2.0, kind="window")
    >>> sky_through(window)
    0.8
    """
    said = opening.transmittance
    if said is not None:
        if not 0 <= said <= 1:
            raise InputError("transmittance", given=said, allowed="0 to 1")
        return float(said)
    if opening.glass:
        return glazing_of(opening.glass).sky
    return value("palette.glass.not-said", overrides)


def back_of(opening: Opening, *, overrides: Mapping[str, float] | None = None) -> float:
    """Share of a room's light that an opening's bare glass gives back.

    Parameters
    ----------
    opening : Opening
        A window or balcony door.
    overrides : mapping of str to float, optional
        The project's own values (`Home.rules`).

    Returns
    -------
    float
        Visible reflectance. [1]

    Raises
    ------
    LookupFailed
        There is no such glass.
    """
    if opening.glass:
        return glazing_of(opening.glass).back
    return value("light.reflectance.glass", overrides)


# --- the colour of daylight behind it ----------------------------------------------


def light_through(id: str) -> Array | None:
    """Tristimulus values of daylight D65 behind a kind of window glass, Y = 1.

    Parameters
    ----------
    id : str
        A key of `glazings`, or "" for no glass at all.

    Returns
    -------
    ndarray or None
        X, Y, Z; None where the spectrum is not known.

    Raises
    ------
    LookupFailed
        There is no such glass.
    """
    white = glazing_of(id).white if id else _D65
    if white is None:
        return None
    x, y = white
    return np.array([x / y, 1.0, (1 - x - y) / y])


def adaptation_degree(luminance: float) -> float:
    r"""How far the eye has got used to the colour of a light, by CAM16 [2]_.

    .. math:: D = F\left(1 - \frac{1}{3.6} e^{-(L_A + 42)/92}\right), \quad F = 1

    Parameters
    ----------
    luminance : float
        Of the field that the eye has got used to: a fifth of that of a white. [cd/m²]

    Returns
    -------
    float
        0 to 1. [1]

    Raises
    ------
    InputError
        The luminance is negative or not finite.

    Examples
    --------
    >>> round(adaptation_degree(318.31), 3)
    0.994
    """
    if not (math.isfinite(luminance) and luminance >= 0):
        raise InputError("luminance", given=f"{luminance:g} cd/m²", allowed="0 or more")
    return min(1.0, max(0.0, 1 - math.exp(-(luminance + 42) / 92) / 3.6))


def adapted_in_part(xyz: ArrayLike, *, white: ArrayLike, degree: float) -> Array:
    """Colours as an eye sees them that has half got used to another white than D65.

    Parameters
    ----------
    xyz : array_like
        X, Y, Z, shape (…, 3).
    white : array_like
        X, Y, Z of the light that the eye has got used to, Y = 1.
    degree : float
        From `adaptation_degree`. [1]

    Returns
    -------
    ndarray
        X, Y, Z for an eye that is used to D65, by CAT16.

    Raises
    ------
    InputError
        The degree is not 0 to 1, or the white gives a cone nothing.
    """
    if not 0 <= degree <= 1:
        raise InputError("degree of adaptation", given=degree, allowed="0 to 1")
    there = _CAT16 @ np.asarray(white, dtype=np.float64)
    if not (np.isfinite(there).all() and (there > 0).all()):
        raise InputError("white", given=str(white), allowed="a white that all cones see")
    day = light_through("")
    gain = degree * (_CAT16 @ np.asarray(day)) / there + 1 - degree
    matrix = np.linalg.inv(_CAT16) @ np.diag(gain) @ _CAT16
    return np.asarray(np.asarray(xyz, dtype=np.float64) @ matrix.T, dtype=np.float64)
