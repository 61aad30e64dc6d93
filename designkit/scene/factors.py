r"""Form factors: how much of the light that leaves one patch lands on another.

Between rectangles that are parallel or at right angles there is a closed form,
used for every pair of patches of an empty box room. With furniture, or on any
other outline, rays that leave each patch by the cosine law are counted.

The counts are made symmetric, because A₁F₁₂ = A₂F₂₁ holds for any two patches,
and then balanced so that every row sums to 1: all light lands somewhere. How
far the rows were off before is kept.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from designkit.errors import InputError
from designkit.reference import value
from designkit.scene.hits import meet
from designkit.scene.patches import Patches

__all__ = [
    "Factors",
    "about",
    "box_factors",
    "cosine_rays",
    "form_factors",
    "parallel_rectangles",
    "perpendicular_rectangles",
    "ray_factors",
]

Array = NDArray[np.float64]
_GOLDEN = (1 + math.sqrt(5)) / 2


@dataclass(frozen=True, kw_only=True, eq=False)
class Factors:
    """Form factors of patches.

    `exchange[i, j]` is A_i F_ij; it is symmetric.
    """

    exchange: Array  # (p, p) [m²]
    area: Array  # (p,) [m²]
    balance: Array  # (p,), what row and column were multiplied by to sum to the area
    lost: float  # share of rays that met no patch
    how: str  # in words

    @property
    def matrix(self) -> Array:
        """F, each row summing to 1."""
        return np.asarray(self.exchange / self.area[:, None], dtype=np.float64)

    @property
    def raw_exchange(self) -> Array:
        """A_i F_ij before it was balanced. [m²]"""
        return np.asarray(self.exchange / np.outer(self.balance, self.balance), dtype=np.float64)


# --- closed form ------------------------------------------------------------------


def _parallel(u: Array, v: Array, distance: float) -> Array:
    """The corner function of parallel rectangles, for differences along u and v."""
    z = distance
    a, b = np.sqrt(u * u + z * z), np.sqrt(v * v + z * z)
    logarithm = z * z / 2 * np.log(u * u + v * v + z * z)
    return np.asarray(
        (v * a * np.arctan(v / a) + u * b * np.arctan(u / b) - logarithm) / (2 * math.pi)
    )


def _perpendicular(x: Array, xi: Array, y: Array) -> Array:
    """The corner function of rectangles at right angles; y along the common edge."""
    square = x * x + xi * xi
    root = np.sqrt(square)
    whole = square + y * y
    # On the common edge both terms go to 0.
    safe_root, safe_whole = np.where(root > 0, root, 1.0), np.where(whole > 0, whole, 1.0)
    angle = np.where(root > 0, y * root * np.arctan(y / safe_root), 0.0)
    logarithm = np.where(whole > 0, (square - y * y) * np.log(safe_whole) / 4, 0.0)
    return np.asarray((angle - logarithm) / (2 * math.pi))


def _differences(corners: Array) -> Array:
    """From values at grid lines along four axes to values of cells, sign freed."""
    for axis in range(4):
        corners = np.diff(corners, axis=axis)
    return np.abs(corners)


def _lines(sides: tuple[float, float], what: str) -> Array:
    low, high = sides
    if not (math.isfinite(low) and math.isfinite(high) and low < high):
        raise InputError(what, given=sides, allowed="two finite lengths, the smaller first")
    return np.array([low, high])


def parallel_rectangles(
    one: tuple[float, float, float, float],
    *,
    other: tuple[float, float, float, float],
    distance: float,
) -> float:
    r"""Form factor from one rectangle to another that is parallel to it.

    .. math:: F_{12} = \frac{1}{A_1}\sum_{i,j,k,l}(-1)^{i+j+k+l}\,G(x_i, y_j, \eta_k, \xi_l)  [1]_

    Parameters
    ----------
    one : tuple of float
        x from, y from, x to, y to. [m]
    other : tuple of float
        The same for the other, in the same axes. [m]
    distance : float
        Between their planes. [m]

    Returns
    -------
    float
        Share of the light leaving the first that lands on the other. [1]

    Raises
    ------
    InputError
        A side or the distance is not over 0.

    References
    ----------
    .. [1] J. R. Howell, "A Catalog of Radiation Heat Transfer Configuration
       Factors", C-13 (C-11 for equal, opposite rectangles).

    Examples
    --------
    >>> round(parallel_rectangles((0, 0, 1, 1), other=(0, 0, 1, 1), distance=1), 6)
    0.199825
    """
    if not (math.isfinite(distance) and distance > 0):
        raise InputError("distance", given=f"{distance:g} m", allowed="over 0 m")
    x, xi = _lines((one[0], one[2]), "x of one"), _lines((other[0], other[2]), "x of other")
    y, eta = _lines((one[1], one[3]), "y of one"), _lines((other[1], other[3]), "y of other")
    u = np.subtract.outer(x, xi)[:, None, :, None]
    v = np.subtract.outer(y, eta)[None, :, None, :]
    found = _differences(_parallel(u, v, distance)).sum()
    return float(found / ((x[1] - x[0]) * (y[1] - y[0])))


def perpendicular_rectangles(
    one: tuple[float, float, float, float],
    *,
    other: tuple[float, float, float, float],
) -> float:
    r"""Form factor from one rectangle to another at right angles to it.

    .. math:: F_{12} = \frac{1}{A_1}\sum_{i,j,k,l}(-1)^{i+j+k+l}\,G(x_i, y_j, \eta_k, \xi_l)  [1]_

    Parameters
    ----------
    one : tuple of float
        Distance from the line where the planes meet, and place along that line:
        away from, along from, away to, along to. [m]
    other : tuple of float
        The same for the other. [m]

    Returns
    -------
    float
        Share of the light leaving the first that lands on the other. [1]

    Raises
    ------
    InputError
        A side is not over 0, or a rectangle reaches past the line.

    References
    ----------
    .. [1] J. R. Howell, "A Catalog of Radiation Heat Transfer Configuration
       Factors", C-15 (C-14 for a common edge).

    Examples
    --------
    >>> round(perpendicular_rectangles((0, 0, 1, 1), other=(0, 0, 1, 1)), 6)
    0.200044
    """
    x, xi = _lines((one[0], one[2]), "one, away"), _lines((other[0], other[2]), "other, away")
    y, eta = _lines((one[1], one[3]), "one, along"), _lines((other[1], other[3]), "other, along")
    if min(x[0], xi[0]) < 0:
        raise InputError("away", given=min(x[0], xi[0]), allowed="0 m or more")
    corners = _perpendicular(
        x[:, None, None, None],
        xi[None, None, :, None],
        np.subtract.outer(y, eta)[None, :, None, :],
    )
    return float(_differences(corners).sum() / ((x[1] - x[0]) * (y[1] - y[0])))


def box_factors(patches: Patches) -> Factors:
    """Exact form factors between the patches of an empty box room.

    Parameters
    ----------
    patches : Patches
        Of a rectangular room with nothing in it.

    Returns
    -------
    Factors
        Rows sum to 1 without balancing.

    Raises
    ------
    InputError
        The room is not a box, or not empty.
    """
    if not patches.empty_box:
        raise InputError(
            "room",
            given="not an empty box",
            allowed="four walls at right angles and nothing in the room",
            mend="use ray_factors",
        )
    faces = patches.faces
    count = len(patches.area)
    found = np.zeros((count, count))

    def lines(face: int, axis: Array) -> tuple[Array, bool]:
        """Places of the grid lines that run across an axis, and whether they are those of u."""
        by_u = abs(float(faces.u[face] @ axis)) > 0.5
        way = faces.u[face] if by_u else faces.v[face]
        side = 0 if by_u else 1
        steps = np.linspace(0, faces.length[face, side], int(faces.cells[face, side]) + 1)
        return faces.origin[face] @ axis + steps * float(way @ axis), by_u

    for f in range(6):
        for g in range(f + 1, 6):
            same = float(faces.normal[f] @ faces.normal[g])
            if same < -0.5:
                a, b = faces.u[f], faces.v[f]
                (x, _), (xi, along) = lines(f, a), lines(g, a)
                (y, _), (eta, _) = lines(f, b), lines(g, b)
                apart = abs(float((faces.origin[g] - faces.origin[f]) @ faces.normal[f]))
                corners = _parallel(
                    np.subtract.outer(x, xi)[:, None, :, None],
                    np.subtract.outer(y, eta)[None, :, None, :],
                    apart,
                )
                of_f = True
            else:
                edge = np.cross(faces.normal[f], faces.normal[g])
                (x, of_f), (xi, along) = lines(f, faces.normal[g]), lines(g, faces.normal[f])
                x = np.abs(x - faces.origin[g] @ faces.normal[g])
                xi = np.abs(xi - faces.origin[f] @ faces.normal[f])
                (y, _), (eta, _) = lines(f, edge), lines(g, edge)
                corners = _perpendicular(
                    x[:, None, None, None],
                    xi[None, None, :, None],
                    np.subtract.outer(y, eta)[None, :, None, :],
                )
            cells = _differences(corners)
            if not of_f:
                cells = cells.transpose(1, 0, 2, 3)
            if not along:
                cells = cells.transpose(0, 1, 3, 2)
            rows = slice(int(faces.first[f]), int(faces.first[f] + faces.cells[f].prod()))
            columns = slice(int(faces.first[g]), int(faces.first[g] + faces.cells[g].prod()))
            block = cells.reshape(rows.stop - rows.start, columns.stop - columns.start)
            found[rows, columns], found[columns, rows] = block, block.T
    return Factors(
        exchange=found,
        area=patches.area,
        balance=np.ones(count),
        lost=0.0,
        how="closed form between rectangles",
    )


# --- rays -------------------------------------------------------------------------


def cosine_rays(count: int) -> Array:
    """Directions about +z that are spread by the cosine law.

    Parameters
    ----------
    count : int
        How many.

    Returns
    -------
    array (count, 3)
        Unit vectors; each stands for the same share of the light of a matt patch.

    Raises
    ------
    InputError
        The number is not over 0.

    Examples
    --------
    >>> round(float(cosine_rays(1000)[:, 2].mean()), 3)
    0.667
    """
    if count < 1:
        raise InputError("rays", given=count, allowed="1 or more")
    n = np.arange(count)
    square = (n + 0.5) / count  # of the distance from the middle of the unit disc
    turn = 2 * math.pi * n / _GOLDEN
    off = np.sqrt(square)
    return np.stack([off * np.cos(turn), off * np.sin(turn), np.sqrt(1 - square)], axis=1)


def about(normal: Array) -> tuple[Array, Array]:
    """Two unit vectors at right angles to each normal and to each other.

    Parameters
    ----------
    normal : array (n, 3)
        Unit vectors.

    Returns
    -------
    tuple of array (n, 3)
        The two.
    """
    upright = np.abs(normal[:, 2:3]) < 0.9
    helper = np.where(upright, np.array([[0.0, 0.0, 1.0]]), np.array([[1.0, 0.0, 0.0]]))
    one = np.cross(helper, normal)
    one /= np.linalg.norm(one, axis=1, keepdims=True)
    return one, np.cross(normal, one)


def ray_factors(patches: Patches, *, rays: int | None = None) -> Factors:
    """Form factors by rays, for any rooms and what stands in them.

    Parameters
    ----------
    patches : Patches
        From `patches_of`.
    rays : int, optional
        Rays a patch, shared by its free points.

    Returns
    -------
    Factors
        Made symmetric and balanced.

    Raises
    ------
    InputError
        The number of rays is not over 0, or a patch sees no other.
    """
    k = int(value("scene.factor.rays")) if rays is None else rays
    local = cosine_rays(k)
    count = len(patches.area)
    number = np.diff(patches.first_point)
    # Neighbouring directions start at different points of the patch.
    shuffled = np.argsort((np.arange(k) * _GOLDEN) % 1.0)
    start = patches.points[patches.first_point[:-1, None] + shuffled[None] % number[:, None]]
    one, two = about(patches.normal)
    # Each patch turns the pattern, so that patches of one face do not share its gaps.
    turn = 2 * math.pi * ((np.arange(count) * math.sqrt(2)) % 1.0)
    c, s = np.cos(turn)[:, None], np.sin(turn)[:, None]
    x, y = c * local[:, 0] - s * local[:, 1], s * local[:, 0] + c * local[:, 1]
    way = (
        x[..., None] * one[:, None]
        + y[..., None] * two[:, None]
        + local[None, :, 2:] * patches.normal[:, None]
    )
    met = meet(patches, start, way).patch.reshape(count, k)
    row = np.repeat(np.arange(count), k).reshape(count, k)
    # What starts on a patch cannot meet it: it is flat.
    good = (met >= 0) & (met != row)
    hits = np.bincount(row[good] * count + met[good], minlength=count * count)
    seen = good.sum(axis=1)
    if (seen == 0).any():
        raise InputError(
            "patches",
            given=f"{int((seen == 0).sum())} that see nothing",
            allowed="faces in the open",
            mend="move pieces apart that stand in each other",
        )
    # A count from patch i is coarse by its A_i, so that the smaller of two patches
    # tells more: both counts are weighed by one over their area.
    share = hits.reshape(count, count) / seen[:, None]
    area = patches.area
    both = (share + share.T) * (np.outer(area, area) / np.add.outer(area, area))
    exchange, balance = _balanced(both, area)
    return Factors(
        exchange=exchange,
        area=patches.area,
        balance=balance,
        lost=float(1 - good.mean()),
        how=f"{k} rays a patch",
    )


def _balanced(exchange: Array, area: Array) -> tuple[Array, Array]:
    """Scale rows and columns alike until every row sums to its area."""
    scale = np.ones(len(area))
    for _ in range(200):
        # einsum, because two hundred small products on BLAS threads wait for each other
        # longer than they work while another process is busy.
        sums = scale * np.einsum("ij,j->i", exchange, scale)
        if float(np.abs(sums / area - 1).max()) < 1e-9:
            break
        scale *= np.sqrt(area / sums)
    return exchange * np.outer(scale, scale), scale


def form_factors(patches: Patches, *, rays: int | None = None) -> Factors:
    """Form factors of patches, exact where a closed form exists.

    Parameters
    ----------
    patches : Patches
        From `patches_of`.
    rays : int, optional
        Rays a patch where there is none.

    Returns
    -------
    Factors
        For `designkit.scene.transport`.

    Raises
    ------
    InputError
        A patch sees no other.
    """
    return box_factors(patches) if patches.empty_box else ray_factors(patches, rays=rays)
