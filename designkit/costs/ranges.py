"""The range of a price, and the two usual distributions over a range.

A price is known as well as it is firm: a guess is worth less than a quote.
Where a line gives no low and high, they follow from its firmness by the rules
`costs.range.*`. Over low, likely and high stands a triangle or a beta
distribution (PERT).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, get_args

import numpy as np
import numpy.typing as npt

from designkit.errors import InputError
from designkit.model import CostLine, Firmness
from designkit.reference import value

__all__ = [
    "Range",
    "Shape",
    "chance_below",
    "firmness_range",
    "mean",
    "quantile",
    "short_deviation",
    "unit_prices",
    "variance",
]

Shape = Literal["triangular", "beta"]
SHAPES = get_args(Shape)
FIRMNESS = get_args(Firmness)
Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Range:
    """Lowest, likeliest and highest value of one uncertain sum."""

    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        """Refuse what is not a range."""
        if not all(math.isfinite(x) for x in (self.low, self.likely, self.high)):
            raise InputError(
                "range",
                given=(self.low, self.likely, self.high),
                allowed="finite numbers",
                mend="write low, likely and high",
            )
        if not self.low <= self.likely <= self.high:
            raise InputError(
                "range",
                given=f"low {self.low}, likely {self.likely}, high {self.high}",
                allowed="low <= likely <= high",
                mend="put the three in order",
            )

    @property
    def width(self) -> float:
        """High less low."""
        return self.high - self.low


def firmness_range(
    status: Firmness, *, overrides: Mapping[str, float] | None = None
) -> tuple[Decimal, Decimal]:
    """How far a price of a given firmness may move, down and up.

    Parameters
    ----------
    status : str
        "guess", "catalogue", "quoted", "ordered" or "paid".
    overrides : mapping of str to float, optional
        The project's own values for `costs.range.*`.

    Returns
    -------
    tuple of Decimal
        Fractions of the price: down (0 or below) and up (0 or above).

    Raises
    ------
    InputError
        The firmness is not one of the five, or the project's own range does
        not hold the price.

    Examples
    --------
    >>> firmness_range("catalogue")
    (Decimal('-0.05'), Decimal('0.15'))
    """
    if status not in FIRMNESS:
        raise InputError(
            "status", given=status, allowed=", ".join(FIRMNESS), mend="use one of these"
        )
    # Through text, so that the fraction is the one that is written.
    down = Decimal(repr(value(f"costs.range.{status}.low", overrides)))
    up = Decimal(repr(value(f"costs.range.{status}.high", overrides)))
    if not -1 <= down <= 0 <= up:
        raise InputError(
            f"costs.range.{status}",
            given=f"{down}, {up}",
            allowed="-1 <= low <= 0 <= high",
            mend="write the fractions of the price, down with a minus",
        )
    return down, up


def unit_prices(
    line: CostLine, *, overrides: Mapping[str, float] | None = None
) -> tuple[Decimal, Decimal, Decimal]:
    """Low, likely and high price of one unit of a cost line.

    What the line gives is taken; the rest follows from its firmness. A
    discount or credit is a negative amount: its low is the larger deduction.

    Parameters
    ----------
    line : CostLine
        The line.
    overrides : mapping of str to float, optional
        The project's own values for `costs.range.*`.

    Returns
    -------
    tuple of Decimal
        Low, likely, high, in the line's currency.

    Examples
    --------
    >>> from designkit.model import CostLine
    >>> sofa = CostLine(id="sofa", item="sofa", category="new", likely=Decimal(1000))
    >>> [str(x.normalize()) for x in unit_prices(sofa)]
    ['8E+2', '1E+3', '1.4E+3']
    """
    return prices_within(line, move=firmness_range(line.status, overrides=overrides))


def prices_within(
    line: CostLine, *, move: tuple[Decimal, Decimal]
) -> tuple[Decimal, Decimal, Decimal]:
    """Low, likely, high of a unit, where the movement of its firmness is at hand."""
    low, high = line.low, line.high
    if low is None or high is None:
        ends = (line.likely * (1 + move[0]), line.likely * (1 + move[1]))
        low = min(ends) if low is None else low
        high = max(ends) if high is None else high
    return low, line.likely, high


def _shape(shape: str) -> None:
    if shape not in SHAPES:
        raise InputError("shape", given=shape, allowed=", ".join(SHAPES), mend="use one of these")


def beta_parameters(over: Range) -> tuple[float, float]:
    """The two exponents of the beta distribution over a range."""
    return (
        1 + 4 * (over.likely - over.low) / over.width,
        1 + 4 * (over.high - over.likely) / over.width,
    )


def mean(over: Range, *, shape: Shape = "triangular") -> float:
    r"""Mean of a range in closed form.

    .. math:: \mu = (a + m + b) / 3 \quad\text{or}\quad (a + 4 m + b) / 6   [1]_

    Parameters
    ----------
    over : Range
        Low a, likely m, high b. [currency, days …]
    shape : str
        "triangular" or "beta".

    Returns
    -------
    float
        The mean. [as the range]

    Raises
    ------
    InputError
        The shape is not one of the two.

    References
    ----------
    .. [1] D. G. Malcolm, J. H. Roseboom, C. E. Clark, W. Fazar, "Application
       of a technique for research and development program evaluation",
       Operations Research 7 (1959) 646–669, for the beta distribution.

    Examples
    --------
    >>> mean(Range(low=80, likely=100, high=150))
    110.0
    """
    _shape(shape)
    if shape == "triangular":
        return (over.low + over.likely + over.high) / 3
    return (over.low + 4 * over.likely + over.high) / 6


def variance(over: Range, *, shape: Shape = "triangular") -> float:
    r"""Variance of a range in closed form.

    .. math:: (a² + m² + b² - a m - a b - m b) / 18
              \quad\text{or}\quad (\mu - a)(b - \mu) / 7

    The second is the variance of the beta distribution with the mean of
    :func:`mean`; it is not the rule of thumb of :func:`short_deviation`.

    Parameters
    ----------
    over : Range
        Low, likely, high. [currency, days …]
    shape : str
        "triangular" or "beta".

    Returns
    -------
    float
        The variance. [square of the range's unit]

    Raises
    ------
    InputError
        The shape is not one of the two.

    Examples
    --------
    >>> round(variance(Range(low=80, likely=100, high=150)), 3)
    216.667
    """
    _shape(shape)
    if shape == "triangular":
        # As differences: no cancellation when the range is narrow.
        down, up = over.likely - over.low, over.high - over.likely
        return (down * down + down * up + up * up) / 18
    middle = mean(over, shape="beta")
    return (middle - over.low) * (over.high - middle) / 7


def short_deviation(over: Range) -> float:
    r"""The rule-of-thumb deviation of a range.

    .. math:: \sigma = (b - a) / 6

    It is the classic short cut of schedules. It is smaller than the deviation
    of the beta distribution it is said to stand for, so the costs do not use it.

    Parameters
    ----------
    over : Range
        Low, likely, high. [currency, days …]

    Returns
    -------
    float
        A sixth of the width. [as the range]

    Examples
    --------
    >>> round(short_deviation(Range(low=80, likely=100, high=150)), 3)
    11.667
    """
    return over.width / 6


def triangular_values(over: Range, chances: Floats) -> Floats:
    """Quantiles of the triangle, by the inverse of its distribution."""
    down, up, width = over.likely - over.low, over.high - over.likely, over.width
    left = over.low + np.sqrt(chances * (width * down))
    right = over.high - np.sqrt((1 - chances) * (width * up))
    return np.where(chances * width < down, left, right)


def quantile(over: Range, *, chance: float, shape: Shape = "triangular") -> float:
    """The value that the sum stays below with a given chance.

    Parameters
    ----------
    over : Range
        Low, likely, high. [currency, days …]
    chance : float
        0 to 1.
    shape : str
        "triangular" or "beta".

    Returns
    -------
    float
        The value. [as the range]

    Raises
    ------
    InputError
        The chance is outside 0 to 1, or the shape is not one of the two.

    Examples
    --------
    >>> round(quantile(Range(low=80, likely=100, high=150), chance=0.8), 3)
    123.542
    """
    _shape(shape)
    if not 0 <= chance <= 1:
        raise InputError("chance", given=chance, allowed="0 to 1", mend="0.8 for 8 of 10")
    if over.width == 0:
        return over.likely
    if shape == "triangular":
        return float(triangular_values(over, np.array([chance]))[0])
    # Imported here: 0.2 s that a check of a project does not need.
    from scipy.special import betaincinv

    return over.low + over.width * float(betaincinv(*beta_parameters(over), chance))


def chance_below(over: Range, *, limit: float, shape: Shape = "triangular") -> float:
    """The chance that the sum stays at or below a limit.

    Parameters
    ----------
    over : Range
        Low, likely, high. [currency, days …]
    limit : float
        The limit. [as the range]
    shape : str
        "triangular" or "beta".

    Returns
    -------
    float
        0 to 1.

    Raises
    ------
    InputError
        The limit is not finite, or the shape is not one of the two.

    Examples
    --------
    >>> round(chance_below(Range(low=80, likely=100, high=150), limit=100), 4)
    0.2857
    """
    _shape(shape)
    if not math.isfinite(limit):
        raise InputError("limit", given=limit, allowed="a finite number", mend="write the limit")
    if limit >= over.high:
        return 1.0
    if limit < over.low:
        return 0.0
    if shape == "triangular":
        if limit <= over.likely:
            down = over.likely - over.low
            return (limit - over.low) ** 2 / (over.width * down) if down else 0.0
        return 1 - (over.high - limit) ** 2 / (over.width * (over.high - over.likely))
    from scipy.special import betainc

    return float(betainc(*beta_parameters(over), (limit - over.low) / over.width))
