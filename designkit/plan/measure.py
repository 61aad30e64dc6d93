"""± of dimensions, verdicts that heed them, and how far to move a thing.

A dimension is known as measured, from a plan, from a seller or as a guess,
each with its ± (rule P07, our assumption). A verdict is "measure first" where
the margin is smaller than the combined ±.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon

from designkit.errors import InputError
from designkit.model import Known, Opening, Piece, Point, Room, Verdict
from designkit.reference import value
from designkit.units import IMPERIAL

__all__ = [
    "NOISE",
    "combined",
    "in_band",
    "judge",
    "plus_minus",
    "round_up",
    "separation",
    "within_of",
]

NOISE = 5e-7  # m; rounding of the arithmetic, far under any ±


def within_of(known: Known, *, overrides: Mapping[str, float] | None = None) -> float:
    """± of a dimension by how it is known.

    Parameters
    ----------
    known : Known
        Its source, and its own ± where one is given.
    overrides : mapping of str to float, optional
        The project's own rule values.

    Returns
    -------
    float
        [m]

    Examples
    --------
    >>> within_of(Known(source="seller")), within_of(Known(source="seller", within=0.01))
    (0.03, 0.01)
    """
    if known.within is not None:
        return known.within
    return value(f"plan.known.{known.source}", overrides)


def plus_minus(
    thing: Piece | Opening | Room,
    dimension: str,
    *,
    overrides: Mapping[str, float] | None = None,
) -> float:
    """± of one dimension of a thing.

    Parameters
    ----------
    thing : Piece, Opening or Room
        It says how it is known, as a whole or for single dimensions.
    dimension : str
        For example "depth".
    overrides : mapping of str to float, optional
        The project's own rule values.

    Returns
    -------
    float
        [m]

    Examples
    --------
    >>> sofa = Piece(name="sofa", kind="sofa", size=(2.2, 0.95, 0.8),
    ...              known_of={"depth": Known(source="measured")})
    >>> plus_minus(sofa, "depth"), plus_minus(sofa, "width")
    (0.003, 0.03)
    """
    return within_of(thing.known_of.get(dimension, thing.known), overrides=overrides)


def combined(*parts: float) -> float:
    """± of a sum or difference: the root of the sum of the squares (rule P07).

    Parameters
    ----------
    *parts : float
        ± of each dimension involved. [m]

    Returns
    -------
    float
        [m]

    Examples
    --------
    >>> combined(0.03, 0.04)
    0.05
    """
    return math.hypot(*parts)


def judge(
    measured: float, *, required: float, within: float = 0.0, at_most: bool = False
) -> Verdict:
    """Whether a measured value meets a limit, heeding its ±.

    Parameters
    ----------
    measured : float
        The value.
    required : float
        The least, or with `at_most` the greatest that is allowed.
    within : float, optional
        ± of the measured value.
    at_most : bool, optional
        The limit is from above.

    Returns
    -------
    str
        "passes", "fails", or "measure first" where the margin is under the ±.

    Raises
    ------
    InputError
        A number is not finite.

    Examples
    --------
    >>> judge(0.865, required=0.9, within=0.03), judge(0.88, required=0.9, within=0.03)
    ('fails', 'measure first')
    """
    if not all(map(math.isfinite, (measured, required, within))):
        raise InputError(
            "measured value", given=(measured, required, within), allowed="finite numbers"
        )
    margin = required - measured if at_most else measured - required
    if abs(margin) < within - NOISE:
        return "measure first"
    return "passes" if margin >= -NOISE else "fails"


def in_band(
    measured: float, *, low: float, high: float, within: float = 0.0
) -> tuple[Verdict, float]:
    """Whether a value lies in a band, and the end of the band that is nearer.

    Parameters
    ----------
    measured : float
        The value.
    low, high : float
        Ends of the band; both belong to it.
    within : float, optional
        ± of the measured value.

    Returns
    -------
    tuple of str and float
        The verdict and the nearer end.

    Examples
    --------
    >>> in_band(0.32, low=0.35, high=0.45)
    ('fails', 0.35)
    """
    if measured - low <= high - measured:
        return judge(measured, required=low, within=within), low
    return judge(measured, required=high, within=within, at_most=True), high


def round_up(distance: float, *, units: str = "m") -> float:
    """A distance to move, rounded up so that moving by it is enough.

    Parameters
    ----------
    distance : float
        What is missing. [m]
    units : str, optional
        The project's unit of length.

    Returns
    -------
    float
        Up to the next 10 mm, or ½ in where the project is in feet or inches. [m]

    Examples
    --------
    >>> round_up(0.035)
    0.04
    """
    step = 0.0127 if units in IMPERIAL else 0.01
    return math.ceil(distance / step - 1e-6) * step


def separation(first: Polygon, second: Polygon) -> tuple[float, Point]:
    """The shortest move of the first of two convex shapes that parts them.

    Parameters
    ----------
    first, second : Polygon
        Convex shapes.

    Returns
    -------
    tuple of float and Point
        How far they run into each other, 0 where they do not, and the unit
        direction in which the first is moved. [m]

    Examples
    --------
    >>> from shapely import box
    >>> separation(box(0, 0, 2, 1), box(1.9, 0, 3, 1))[1]
    (-1.0, 0.0)
    """
    a: npt.NDArray[np.float64] = shapely.get_coordinates(first.exterior)
    b: npt.NDArray[np.float64] = shapely.get_coordinates(second.exterior)
    edges = np.concatenate((np.diff(a, axis=0), np.diff(b, axis=0)))
    length = np.hypot(edges[:, 0], edges[:, 1])
    edges = edges[length > 1e-9] / length[length > 1e-9, None]
    axes = np.column_stack((-edges[:, 1], edges[:, 0]))
    on_a, on_b = axes @ a.T, axes @ b.T
    # Along each axis the first can leave on either side.
    forward = on_b.max(axis=1) - on_a.min(axis=1)
    backward = on_a.max(axis=1) - on_b.min(axis=1)
    depth = np.minimum(forward, backward)
    best = int(np.argmin(np.round(depth, 9)))
    sign = 1.0 if forward[best] <= backward[best] else -1.0
    if depth[best] <= 0.0:
        return 0.0, (0.0, 0.0)
    x, y = axes[best] * sign
    return float(depth[best]), (float(x) + 0.0, float(y) + 0.0)
