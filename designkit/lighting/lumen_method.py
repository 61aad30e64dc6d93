r"""The lumen method: mean illuminance of a room by zonal cavities.

A room is cut into three cavities: above the luminaires (ceiling cavity),
between them and the plane that is lit (room cavity), and below that plane
(floor cavity). Each cavity is a number that grows with its height; the first
and the last become one surface with an effective reflectance. What is left is
a box of three surfaces whose inter-reflection is solved in closed form.

References
----------
.. [1] ANSI/IES LS-6-20, "Lighting science: calculation of light", zonal-cavity
   annex: form factors, direct ratio constants, coefficient of utilization
   (second-hand).
.. [2] IES Lighting Handbook, effective cavity reflectance (from memory, checked
   against sample cells of its table).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from designkit.errors import InputError
from designkit.lighting.distribution import Photometry, zonal_lumens

__all__ = [
    "Cavities",
    "FormFactors",
    "Reflectances",
    "Utilization",
    "cavities",
    "cavity_ratio",
    "cavity_ratio_of_outline",
    "coefficient_of_utilization",
    "direct_ratio",
    "effective_reflectance",
    "floor_correction",
    "form_factors",
    "lumens_needed",
    "mean_illuminance",
    "parallel_view_factor",
]

# Zones 0–10° … 80–90°: share of a zone's light that reaches the plane directly
# is exp(−A · RCR**B). ANSI/IES LS-6-20, Table A-2 (second-hand).
_DIRECT_A = (0.0, 0.041, 0.07, 0.1, 0.136, 0.19, 0.315, 0.64, 2.1)
_DIRECT_B = (0.0, 0.98, 1.05, 1.12, 1.16, 1.25, 1.25, 1.25, 0.8)
ROOM_SHAPE = 1.6  # length over width of the room that the published form factors belong to


@dataclass(frozen=True, kw_only=True)
class Reflectances:
    """Diffuse reflectances of a room's surfaces, 0 … 1."""

    ceiling: float
    wall: float
    floor: float

    def __post_init__(self) -> None:
        for name in ("ceiling", "wall", "floor"):
            _reflectance(f"{name} reflectance", getattr(self, name))


@dataclass(frozen=True, kw_only=True)
class FormFactors:
    """Shares of light that go from one surface of a cavity to another."""

    ceiling_floor: float
    ceiling_wall: float
    wall_ceiling: float
    wall_wall: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Utilization:
    """Share of the lamps' lumens that lands on the plane, and its direct part."""

    total: float
    direct: float  # without any reflection

    @property
    def indirect(self) -> float:
        """The part that comes by way of ceiling, walls and floor."""
        return self.total - self.direct


@dataclass(frozen=True, kw_only=True, eq=False)
class Cavities:
    """The three cavities of a room and what they make of its reflectances."""

    room: float  # cavity ratios
    ceiling: float
    floor: float
    ceiling_reflectance: float  # effective [1]
    wall_reflectance: float  # [1]
    floor_reflectance: float  # effective [1]


def _positive(what: str, number: float, unit: str, *, zero: bool = False) -> float:
    if not math.isfinite(number) or number < 0 or (number == 0 and not zero):
        raise InputError(
            what,
            given=f"{number:g} {unit}".strip(),
            allowed=("0 or more" if zero else "more than 0") + f" {unit}".rstrip(),
        )
    return float(number)


def _reflectance(what: str, number: float) -> float:
    if not math.isfinite(number) or not 0 <= number < 1:
        raise InputError(
            what,
            given=f"{number:g}",
            allowed="0 or more, less than 1",
            mend="give it as a share: 0.7, not 70",
        )
    return float(number)


def cavity_ratio(height: float, *, length: float, width: float) -> float:
    r"""Cavity ratio of a rectangular room.

    .. math:: CR = 5 h (L + W) / (L W)                          [1]_

    Parameters
    ----------
    height : float
        Height of the cavity. [m]
    length, width : float
        Sides of the room. [m]

    Returns
    -------
    float
        Cavity ratio. [1]

    Raises
    ------
    InputError
        A side is not above 0, or the height is below 0.

    References
    ----------
    .. [1] IES zonal-cavity method (second-hand).

    Examples
    --------
    >>> round(cavity_ratio(9.5, length=40, width=15), 3)  # any unit, the same for all three
    4.354
    """
    _positive("height", height, "m", zero=True)
    _positive("length", length, "m")
    _positive("width", width, "m")
    return 5 * height * (length + width) / (length * width)


def cavity_ratio_of_outline(height: float, *, perimeter: float, area: float) -> float:
    r"""Cavity ratio of a room of any outline.

    .. math:: CR = 2.5\, h\, P / A                              [1]_

    Parameters
    ----------
    height : float
        Height of the cavity. [m]
    perimeter : float
        Length of the walls. [m]
    area : float
        Floor area. [m²]

    Returns
    -------
    float
        Cavity ratio. [1]

    Raises
    ------
    InputError
        Perimeter or area is not above 0, or the height is below 0.

    References
    ----------
    .. [1] IES zonal-cavity method (second-hand).

    Examples
    --------
    >>> round(cavity_ratio_of_outline(9.5, perimeter=110, area=600), 3)
    4.354
    """
    _positive("height", height, "m", zero=True)
    _positive("perimeter", perimeter, "m")
    _positive("area", area, "m²")
    return 2.5 * height * perimeter / area


def parallel_view_factor(ratio: float, *, shape: float = ROOM_SHAPE) -> float:
    r"""View factor from ceiling to floor of an empty rectangular room.

    .. math::

        F = \frac{2}{\pi X Y} \Big[ \tfrac12 \ln\frac{(1+X^2)(1+Y^2)}{1+X^2+Y^2}
            + X\sqrt{1+Y^2}\,\arctan\frac{X}{\sqrt{1+Y^2}}
            + Y\sqrt{1+X^2}\,\arctan\frac{Y}{\sqrt{1+X^2}}
            - X\arctan X - Y\arctan Y \Big]                     [1]_

    with X and Y the sides over the height.

    Parameters
    ----------
    ratio : float
        Cavity ratio. [1]
    shape : float, optional
        Length of the room over its width; 1.6 reproduces the published table. [1]

    Returns
    -------
    float
        Share of the light leaving the ceiling that lands on the floor. [1]

    Raises
    ------
    InputError
        The ratio is below 0 or the shape is not above 0.

    References
    ----------
    .. [1] Howell, "A catalog of radiation heat transfer configuration factors",
       C-11 (second-hand).
    """
    _positive("cavity ratio", ratio, "", zero=True)
    _positive("room shape", shape, "")
    if ratio < 1e-9:
        return 1.0
    # From 5 h (L + W) / (L W) with L = shape · W.
    x = 5 * (shape + 1) / (shape * ratio)
    y = shape * x
    a, b = 1 + x * x, 1 + y * y
    bracket = (
        0.5 * math.log(a * b / (a + y * y))
        + x * math.sqrt(b) * math.atan(x / math.sqrt(b))
        + y * math.sqrt(a) * math.atan(y / math.sqrt(a))
        - x * math.atan(x)
        - y * math.atan(y)
    )
    return min(1.0, 2 / (math.pi * x * y) * bracket)


def form_factors(ratio: float, *, shape: float = ROOM_SHAPE) -> FormFactors:
    r"""All form factors of a cavity, from the one between ceiling and floor.

    Rows sum to one and areas reciprocate:
    :math:`f_{cw} = 1 - f`, :math:`f_{wc} = (1 - f)\,2.5 / RCR`,
    :math:`f_{ww} = 1 - 2 f_{wc}` [1]_.

    Parameters
    ----------
    ratio : float
        Cavity ratio. [1]
    shape : float, optional
        Length of the room over its width. [1]

    Returns
    -------
    FormFactors
        The four that differ.

    Raises
    ------
    InputError
        The ratio is below 0 or the shape is not above 0.

    References
    ----------
    .. [1] ANSI/IES LS-6-20, form factors for a zonal cavity system (second-hand).
    """
    f = parallel_view_factor(ratio, shape=shape)
    # Below 1e-5 the difference 1 − f is lost in rounding; its limit is known.
    wall_ceiling = 0.5 if ratio < 1e-5 else (1 - f) * 2.5 / ratio
    return FormFactors(
        ceiling_floor=f,
        ceiling_wall=1 - f,
        wall_ceiling=wall_ceiling,
        wall_wall=1 - 2 * wall_ceiling,
    )


def effective_reflectance(base: float, *, wall: float, ratio: float) -> float:
    r"""Reflectance of a cavity's opening, seen from the room.

    .. math::

        \rho = \frac{\rho_b\rho_w f(2k(1-f)-f) + \rho_b f^2 + \rho_w k (1-f)^2}
                    {1 - \rho_b\rho_w k(1-f)^2 - \rho_w(1 - 2k(1-f))}     [1]_

    with :math:`k = 2.5 / CR` and f the parallel view factor of the cavity.

    Parameters
    ----------
    base : float
        Reflectance of its ceiling or floor, 0 … 1. [1]
    wall : float
        Reflectance of its walls, 0 … 1. [1]
    ratio : float
        Its cavity ratio. [1]

    Returns
    -------
    float
        Effective reflectance. [1]

    Raises
    ------
    InputError
        A reflectance is not from 0 to less than 1, or the ratio is below 0.

    References
    ----------
    .. [1] IES Lighting Handbook (from memory). It is within 2.1 points of the
       printed table, within 1 point for 336 of 357 cells.

    Examples
    --------
    >>> round(effective_reflectance(0.10, wall=0.50, ratio=1.146), 4)
    0.1175
    """
    _reflectance("base reflectance", base)
    _reflectance("wall reflectance", wall)
    _positive("cavity ratio", ratio, "", zero=True)
    if ratio < 1e-9:
        return base
    f = parallel_view_factor(ratio)
    to_base = form_factors(ratio).wall_ceiling  # k (1 − f)
    top = base * wall * f * (2 * to_base - f) + base * f * f + wall * to_base * (1 - f)
    bottom = 1 - base * wall * to_base * (1 - f) - wall * (1 - 2 * to_base)
    return top / bottom


def direct_ratio(zones: npt.ArrayLike, *, ratio: float) -> float:
    r"""Share of the downward light that reaches the plane without reflection.

    .. math:: D = \sum_n \phi_n e^{-A_n RCR^{B_n}} \Big/ \sum_n \phi_n   [1]_

    Parameters
    ----------
    zones : array-like (9,)
        Flux in the zones 0–10°, 10–20° … 80–90°. [lm]
    ratio : float
        Room cavity ratio. [1]

    Returns
    -------
    float
        Direct ratio; 0 for a luminaire that gives no light downwards. [1]

    Raises
    ------
    InputError
        There are not nine zones, a flux is negative, or the ratio is below 0.

    References
    ----------
    .. [1] ANSI/IES LS-6-20, Table A-2 (second-hand).
    """
    flux = np.asarray(zones, dtype=float)
    if flux.shape != (9,) or not np.isfinite(flux).all() or flux.min() < 0:
        raise InputError("zones", given=str(flux.shape), allowed="nine fluxes, 0 lm or more")
    _positive("room cavity ratio", ratio, "", zero=True)
    down = float(flux.sum())
    if down == 0:
        return 0.0
    share = [
        math.exp(-a * ratio**b) if a else 1.0 for a, b in zip(_DIRECT_A, _DIRECT_B, strict=True)
    ]
    return float(flux @ np.asarray(share)) / down


def coefficient_of_utilization(
    zones: npt.ArrayLike | Photometry,
    *,
    lamp_lumens: float,
    ratio: float,
    ceiling: float,
    wall: float,
    floor: float,
) -> Utilization:
    r"""Share of the lamps' lumens that lands on the plane of a room.

    The closed solution of the three-surface box [1]_: with f the ceiling to
    floor form factor, :math:`\phi_d, \phi_u` the flux down and up over the
    lamps' lumens and D the direct ratio,

    .. math::

        C_1 &= \frac{(1-\rho_w)(1-f^2)RCR}{2.5\rho_w(1-f^2)+RCR\,f(1-\rho_w)},\quad
        C_{2,3} = \frac{(1-\rho_{cc,fc})(1+f)}{1+\rho_{cc,fc}f},\quad
        C_0 = C_1 + C_2 + C_3 \\
        CU &= \frac{2.5\rho_w C_1C_3(1-D)\phi_d}{RCR(1-\rho_w)(1-\rho_{fc})C_0}
            + \frac{\rho_{cc}C_2C_3\phi_u}{(1-\rho_{cc})(1-\rho_{fc})C_0}
            + \Big[1-\frac{\rho_{fc}C_3(C_1+C_2)}{(1-\rho_{fc})C_0}\Big]
              \frac{D\phi_d}{1-\rho_{fc}}

    Parameters
    ----------
    zones : array-like (18,) or Photometry
        Flux in the zones 0–10° … 170–180°, or the luminaire. [lm]
    lamp_lumens : float
        Lumens of the lamps; the flux itself for absolute photometry. [lm]
    ratio : float
        Room cavity ratio. [1]
    ceiling, floor : float
        Effective reflectances of the ceiling and floor cavity. [1]
    wall : float
        Reflectance of the walls. [1]

    Returns
    -------
    Utilization
        Coefficient of utilization and its direct part. [1]

    Raises
    ------
    InputError
        There are not eighteen zones, or a value is out of its range.

    References
    ----------
    .. [1] ANSI/IES LS-6-20, annex (second-hand).
    """
    flux = zonal_lumens(zones) if isinstance(zones, Photometry) else np.asarray(zones, dtype=float)
    if flux.shape != (18,) or not np.isfinite(flux).all() or flux.min() < 0:
        raise InputError("zones", given=str(flux.shape), allowed="eighteen fluxes, 0 lm or more")
    _positive("lamp lumens", lamp_lumens, "lm")
    _positive("room cavity ratio", ratio, "", zero=True)
    _reflectance("ceiling reflectance", ceiling)
    _reflectance("wall reflectance", wall)
    _reflectance("floor reflectance", floor)
    down = float(flux[:9].sum()) / lamp_lumens
    up = float(flux[9:].sum()) / lamp_lumens
    if ratio < 1e-6:
        return Utilization(total=(down + ceiling * up) / (1 - ceiling * floor), direct=down)
    f = parallel_view_factor(ratio)
    d = direct_ratio(flux[:9], ratio=ratio)
    c1 = (1 - wall) * (1 - f * f) * ratio / (2.5 * wall * (1 - f * f) + ratio * f * (1 - wall))
    c2 = (1 - ceiling) * (1 + f) / (1 + ceiling * f)
    c3 = (1 - floor) * (1 + f) / (1 + floor * f)
    c0 = c1 + c2 + c3
    total = (
        2.5 * wall * c1 * c3 * (1 - d) * down / (ratio * (1 - wall) * (1 - floor) * c0)
        + ceiling * c2 * c3 * up / ((1 - ceiling) * (1 - floor) * c0)
        + (1 - floor * c3 * (c1 + c2) / ((1 - floor) * c0)) * d * down / (1 - floor)
    )
    return Utilization(total=total, direct=d * down)


def floor_correction(floor: float, *, factors: Sequence[tuple[float, float]]) -> float:
    """Factor for a floor that is not at the 20 % of printed coefficient tables.

    Linear between the printed factors; 20 % itself has the factor 1.

    Parameters
    ----------
    floor : float
        Effective floor cavity reflectance. [1]
    factors : sequence of (float, float)
        Printed reflectances with their factors, without 20 %: ((0.10, 0.96), (0.30, 1.04)). [1]

    Returns
    -------
    float
        What the table's coefficient is multiplied by. [1]

    Raises
    ------
    InputError
        The floor lies outside the printed reflectances.

    Examples
    --------
    >>> round(floor_correction(0.1175, factors=((0.10, 0.9601), (0.30, 1.04255))), 4)
    0.9671
    """
    _reflectance("floor reflectance", floor)
    points = sorted([*factors, (0.2, 1.0)])
    at = [p for p, _ in points]
    if len(set(at)) != len(at):
        raise InputError("floor factors", given=at, allowed="each reflectance once, without 0.20")
    if not at[0] <= floor <= at[-1]:
        raise InputError(
            "floor reflectance",
            given=f"{floor:g}",
            allowed=f"{at[0]:g} to {at[-1]:g}, as printed",
            mend="use coefficient_of_utilization with the floor's own reflectance",
        )
    return float(np.interp(floor, at, [factor for _, factor in points]))


def cavities(
    reflectances: Reflectances,
    *,
    perimeter: float,
    area: float,
    ceiling_height: float,
    luminaire_height: float,
    plane_height: float,
) -> Cavities:
    """The three cavities of a room.

    Parameters
    ----------
    reflectances : Reflectances
        Of the bare surfaces.
    perimeter : float
        Length of the walls. [m]
    area : float
        Floor area. [m²]
    ceiling_height, luminaire_height, plane_height : float
        Heights above the finished floor. [m]

    Returns
    -------
    Cavities
        Cavity ratios and effective reflectances.

    Raises
    ------
    InputError
        The heights are not in the order plane, luminaire, ceiling.
    """
    _positive("plane height", plane_height, "m", zero=True)
    if not plane_height <= luminaire_height <= ceiling_height + 1e-9:
        raise InputError(
            "luminaire height",
            given=f"{luminaire_height:g} m",
            allowed=f"from the plane at {plane_height:g} m to the ceiling at {ceiling_height:g} m",
        )
    above = max(0.0, ceiling_height - luminaire_height)

    def ratio(height: float) -> float:
        return cavity_ratio_of_outline(height, perimeter=perimeter, area=area)

    ceiling, floor = ratio(above), ratio(plane_height)
    return Cavities(
        room=ratio(luminaire_height - plane_height),
        ceiling=ceiling,
        floor=floor,
        ceiling_reflectance=effective_reflectance(
            reflectances.ceiling, wall=reflectances.wall, ratio=ceiling
        ),
        wall_reflectance=reflectances.wall,
        floor_reflectance=effective_reflectance(
            reflectances.floor, wall=reflectances.wall, ratio=floor
        ),
    )


def mean_illuminance(
    lumens: float, *, utilization: float, loss_factor: float, area: float
) -> float:
    r"""Mean illuminance on the plane of a room.

    .. math:: E = \Phi\; CU\; LLF / A                           [1]_

    Parameters
    ----------
    lumens : float
        Lumens of all lamps. [lm]
    utilization : float
        Coefficient of utilization. [1]
    loss_factor : float
        Light left after ageing and dirt, 0 … 1. [1]
    area : float
        Area of the plane. [m²]

    Returns
    -------
    float
        Illuminance. [lx]

    Raises
    ------
    InputError
        A value is out of its range.

    References
    ----------
    .. [1] IES lumen method; worked in Chakrabarti et al., "Power System
       Engineering", 2nd edition, example 4.8.

    Examples
    --------
    >>> round(mean_illuminance(150_000, utilization=0.5, loss_factor=0.7, area=36.6 * 15.25), 2)
    94.06
    """
    _positive("lumens", lumens, "lm", zero=True)
    _positive("utilization", utilization, "", zero=True)
    _loss(loss_factor)
    _positive("area", area, "m²")
    return lumens * utilization * loss_factor / area


def lumens_needed(
    illuminance: float, *, utilization: float, loss_factor: float, area: float
) -> float:
    """Lumens of the lamps that give a mean illuminance.

    Parameters
    ----------
    illuminance : float
        Wanted mean illuminance. [lx]
    utilization : float
        Coefficient of utilization. [1]
    loss_factor : float
        Light left after ageing and dirt, 0 … 1. [1]
    area : float
        Area of the plane. [m²]

    Returns
    -------
    float
        Lumens. [lm]

    Raises
    ------
    InputError
        A value is out of its range.

    Examples
    --------
    >>> round(lumens_needed(100, utilization=0.5, loss_factor=0.8, area=20))
    5000
    """
    _positive("illuminance", illuminance, "lx", zero=True)
    _positive("utilization", utilization, "")
    _loss(loss_factor)
    _positive("area", area, "m²")
    return illuminance * area / (utilization * loss_factor)


def _loss(number: float) -> None:
    if not math.isfinite(number) or not 0 < number <= 1:
        raise InputError("loss factor", given=f"{number:g}", allowed="more than 0, at most 1")
