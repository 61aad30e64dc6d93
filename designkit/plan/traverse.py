"""A closed walk whose end misses its beginning: the error shared out over its legs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal, get_args

from designkit.errors import InputError
from designkit.model import Point

__all__ = ["Rule", "balance"]

Rule = Literal["compass", "square"]


def balance(
    legs: Sequence[Point], *, rule: Rule = "compass", pinned: int | None = None
) -> tuple[Point, ...]:
    r"""Legs of a closed walk, corrected so that they close.

    By the compass rule each leg takes a share of the error by its length,
    which turns it a little. By the square rule (the transit rule of surveyors)
    each leg takes a share of the error along x by its own extent along x, and
    so for y: walls square to the plan stay square.

    .. math:: c_i = -e\,L_i/\sum L  \qquad  c_{x,i} = -e_x\,|x_i|/\sum|x|    [1]_

    Parameters
    ----------
    legs : sequence of Point
        Extents along x and y of each leg, in order. [m]
    rule : str, optional
        "compass" or "square".
    pinned : int, optional
        The leg that takes what it can take along its own direction; the rest
        is spread by the rule.

    Returns
    -------
    tuple of Point
        Legs that add up to nothing. [m]

    Raises
    ------
    InputError
        There are no legs, a number is not finite, or the error has no leg to
        go to.

    References
    ----------
    .. [1] C. D. Ghilani and P. R. Wolf, "Elementary Surveying", chapter 10,
       traverse computations (second-hand): compass (Bowditch) and transit rule.

    Examples
    --------
    >>> balance([(4.0, 0.0), (0.0, 3.0), (-4.02, 0.0), (0.0, -3.0)], rule="square")[0]
    (4.0099750623441395, 0.0)
    """
    if not legs or not all(math.isfinite(n) for leg in legs for n in leg):
        raise InputError(
            "legs of a walk", given=len(legs), allowed="finite lengths", mend="measure the walls"
        )
    if rule not in get_args(Rule):
        raise InputError("rule", given=rule, allowed="compass or square", mend="use one of these")
    made = [(float(x), float(y)) for x, y in legs]
    if pinned is not None:
        if not 0 <= pinned < len(made):
            raise InputError(
                "pinned wall", given=pinned, allowed=f"0 to {len(made) - 1}", mend="name a wall"
            )
        x, y = made[pinned]
        long = math.hypot(x, y)
        ex, ey = math.fsum(p[0] for p in made), math.fsum(p[1] for p in made)
        along = (ex * x + ey * y) / long
        made[pinned] = (x - along * x / long, y - along * y / long)
    ex, ey = math.fsum(p[0] for p in made), math.fsum(p[1] for p in made)
    if rule == "compass":
        weight = [(math.hypot(x, y), math.hypot(x, y)) for x, y in made]
    else:
        weight = [(abs(x), abs(y)) for x, y in made]
    if pinned is not None:
        # A pinned wall has had its share; it takes more only where no other can.
        others = [w if k != pinned else (0.0, 0.0) for k, w in enumerate(weight)]
        weight = [
            (
                o[0] if sum(p[0] for p in others) > 1e-9 else w[0],
                o[1] if sum(p[1] for p in others) > 1e-9 else w[1],
            )
            for o, w in zip(others, weight)
        ]
    whole = (math.fsum(w[0] for w in weight), math.fsum(w[1] for w in weight))
    out = []
    for (x, y), (wx, wy) in zip(made, weight):
        if (abs(ex) > 1e-12 and whole[0] < 1e-9) or (abs(ey) > 1e-12 and whole[1] < 1e-9):
            raise InputError(
                "closing error",
                given=f"{ex:.3f}, {ey:.3f} m",
                allowed="a walk with walls along that direction",
                mend="go round the room once",
            )
        cx = -ex * wx / whole[0] if whole[0] > 1e-9 else 0.0
        cy = -ey * wy / whole[1] if whole[1] > 1e-9 else 0.0
        out.append((x + cx, y + cy))
    return tuple(out)
