r"""Light that goes back and forth between patches until it is absorbed.

With E the illuminance of each patch, :math:`E_0` the part that comes straight
from lamps or windows, F the form factors and ρ the reflectances,

.. math:: E = E_0 + F\rho E, \qquad E = (I - F\rho)^{-1} E_0                [1]_

The inverse may be worked out once (`transport`), so that another lamp or another
place for it costs one product. Other finishes (`repainted`) keep the form
factors: with :math:`e = \sqrt{A}\,E`, :math:`y = \sqrt{\rho}\,e` and the
symmetric :math:`S = A^{1/2} F A^{-1/2}` the same balance is
:math:`(I - \sqrt\rho S \sqrt\rho)\,y = \sqrt\rho\,e_0`, which conjugate
gradients solve in about ten products, to 1e-7.

All surfaces are matt here; gloss and mirrors send light back evenly, which is
said where it matters.

References
----------
.. [1] C. Goral et al., "Modeling the interaction of light between diffuse
   surfaces", Computer Graphics 18(3), 1984 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from designkit.errors import InputError
from designkit.scene.factors import Factors

__all__ = ["Transport", "energy_residual", "repainted", "spread_light", "transport"]

Array = npt.NDArray[np.float64]
_BLACK = 1e-8  # reflectance that a black patch counts as in the inverse
_FEW = 0.25  # share of the patches up to which repainting goes by the inverse


@dataclass(frozen=True, kw_only=True, eq=False)
class Transport:
    """Patches ready to exchange light."""

    symmetric: Array  # (p, p), A^½ F A^-½
    area: Array  # (p,) [m²]
    reflectance: Array  # (p,)
    resolvent: Array | None  # (p, p), (I − Fρ)^-1; None after a change of finish
    base: Transport | None = None  # with an inverse, of which a few patches were repainted


def _checked(reflectance: npt.ArrayLike, count: int) -> Array:
    rho = np.asarray(reflectance, dtype=np.float64)
    if rho.shape != (count,):
        raise InputError(
            "reflectances", given=rho.shape, allowed=f"one for each of {count} patches"
        )
    if not np.isfinite(rho).all() or (rho < 0).any() or (rho >= 1).any():
        raise InputError(
            "reflectances",
            given=f"{rho.min():g} to {rho.max():g}",
            allowed="0 or more, under 1",
            mend="no finish sends back all light",
        )
    return rho


def transport(factors: Factors, *, reflectance: npt.ArrayLike, operator: bool = True) -> Transport:
    """Work out how light spreads between patches.

    Parameters
    ----------
    factors : Factors
        From `form_factors`.
    reflectance : array (p,)
        Of each patch. [1]
    operator : bool, optional
        Work out the inverse: worth it where many lamps or places are tried. For
        a few, iterating is as quick and needs no set-up.

    Returns
    -------
    Transport
        With the inverse, ready for any lamps.

    Raises
    ------
    InputError
        A reflectance is not from 0 to under 1.
    """
    rho = _checked(reflectance, len(factors.area))
    root = np.sqrt(factors.area)
    symmetric = factors.exchange / np.outer(root, root)
    if not operator:
        return Transport(symmetric=symmetric, area=factors.area, reflectance=rho, resolvent=None)
    from scipy.linalg.lapack import (  # type: ignore[import-untyped, unused-ignore]
        dpotrf,
        dpotri,
    )

    # With K = I − √ρ S √ρ, which is positive definite, √ρ S √ρ K⁻¹ = K⁻¹ − I gives the
    # inverse of I − Sρ without another product. A black patch counts as 1e-8.
    half = np.sqrt(np.maximum(rho, _BLACK))
    system = np.eye(len(rho)) - half[:, None] * symmetric * half
    factor, failed = dpotrf(np.asfortranarray(system), lower=1, overwrite_a=1)
    assert not failed, "I − √ρ S √ρ is positive definite for ρ < 1"
    inner, _ = dpotri(factor, lower=1, overwrite_c=1)
    inner = np.tril(inner) + np.tril(inner, -1).T
    inner[np.diag_indices(len(rho))] -= 1.0
    resolvent = inner * np.outer(1 / (half * root), half * root)
    resolvent[np.diag_indices(len(rho))] += 1.0
    return Transport(symmetric=symmetric, area=factors.area, reflectance=rho, resolvent=resolvent)


def repainted(before: Transport, *, reflectance: npt.ArrayLike) -> Transport:
    """The same patches with other finishes.

    Parameters
    ----------
    before : Transport
        From `transport`.
    reflectance : array (p,)
        Of each patch. [1]

    Returns
    -------
    Transport
        Without an inverse of its own. Where that of `before` is known and few patches
        changed, light is spread by it and a small system; else by iteration.

    Raises
    ------
    InputError
        A reflectance is not from 0 to under 1.
    """
    rho = _checked(reflectance, len(before.area))
    same = bool((rho == before.reflectance).all())
    return Transport(
        symmetric=before.symmetric,
        area=before.area,
        reflectance=rho,
        resolvent=before.resolvent if same else None,
        base=None if same and before.resolvent is not None else _base(before, rho),
    )


def _base(before: Transport, rho: Array) -> Transport | None:
    """A transport with an inverse from which few enough patches differ."""
    base = before if before.resolvent is not None else before.base
    if base is None:
        return None
    few = int((rho != base.reflectance).sum()) <= _FEW * len(rho)
    return base if few else None


def _by_few(base: Transport, reflectance: Array, first: Array) -> Array:
    r"""Light with a few patches repainted, from the inverse R that is known.

    With Δ the change of ρ, :math:`E = R E_0 + R F \Delta E` and
    :math:`R F = (R - I)/\rho`; only the changed patches stand in the system.
    """
    assert base.resolvent is not None
    rho = np.maximum(base.reflectance, _BLACK)  # as the inverse counts a black patch
    changed = np.flatnonzero(reflectance != base.reflectance)
    plain = first @ base.resolvent.T
    columns = base.resolvent[:, changed].copy()
    columns[changed, np.arange(len(changed))] -= 1.0
    columns *= (reflectance[changed] - rho[changed]) / rho[changed]
    system = np.eye(len(changed)) - columns[changed]
    here = np.linalg.solve(system, plain[:, changed].T)
    return np.asarray(plain + (columns @ here).T, dtype=np.float64)


def spread_light(
    through: Transport,
    *,
    direct: npt.ArrayLike,
    near: npt.ArrayLike | None = None,
    tolerance: float = 1e-7,
) -> Array:
    """Illuminance of patches with all that is sent back and forth.

    Parameters
    ----------
    through : Transport
        From `transport` or `repainted`.
    direct : array (k, p)
        Light that comes straight from k lamps. [lx]
    near : array (k, p), optional
        A first guess, such as the light before a change of finish. [lx]
    tolerance : float, optional
        Error left, as a share of the light.

    Returns
    -------
    array (k, p)
        Illuminance. [lx]

    Raises
    ------
    InputError
        The light is not a finite number of 0 or more for each patch.
    """
    first = np.atleast_2d(np.asarray(direct, dtype=np.float64))
    if first.shape[-1] != len(through.area) or not np.isfinite(first).all() or (first < 0).any():
        raise InputError(
            "direct light",
            given=first.shape,
            allowed=f"0 lx or more for each of {len(through.area)} patches",
        )
    if through.resolvent is not None:
        return np.asarray(first @ through.resolvent.T, dtype=np.float64)
    if through.base is not None:
        return _by_few(through.base, through.reflectance, first)
    root, half = np.sqrt(through.area), np.sqrt(through.reflectance)
    e_first = (first * root).T
    right = half[:, None] * e_first

    def sent(y: Array) -> Array:
        if y.shape[1] == 1:
            # One column without BLAS threads, which wait for each other longer than
            # they work while another process is busy.
            return np.asarray(np.einsum("ij,j->i", through.symmetric, y[:, 0])[:, None])
        return np.asarray(through.symmetric @ y)

    def system(y: Array) -> Array:
        return y - half[:, None] * sent(half[:, None] * y)

    if near is None:
        y = right.copy()
    else:
        y = half[:, None] * (np.atleast_2d(np.asarray(near, dtype=np.float64)) * root).T
    left = right - system(y)
    way = left.copy()
    square = np.einsum("ij,ij->j", left, left)
    goal = tolerance**2 * np.maximum(np.einsum("ij,ij->j", right, right), 1e-300)
    for _ in range(60):
        open_ = square > goal
        if not open_.any():
            break
        moved = system(way)
        along = np.einsum("ij,ij->j", way, moved)
        step = np.where(open_, square / np.where(along > 0, along, 1.0), 0.0)
        y += step * way
        left -= step * moved
        after = np.einsum("ij,ij->j", left, left)
        way = left + np.where(open_, after / np.maximum(square, 1e-300), 0.0) * way
        square = after
    found = e_first + sent(half[:, None] * y)
    return np.asarray((found / root[:, None]).T, dtype=np.float64)


def energy_residual(through: Transport, *, direct: npt.ArrayLike, light: npt.ArrayLike) -> Array:
    r"""How far the light that is absorbed is from the light that came in.

    .. math:: \left|\sum A(1-\rho)E - \sum A E_0\right| / \sum A E_0

    Parameters
    ----------
    through : Transport
        The patches.
    direct : array (k, p)
        Light straight from k lamps. [lx]
    light : array (k, p)
        With all that is sent back and forth. [lx]

    Returns
    -------
    array (k,)
        Residual; 0 for a lamp without light. [1]
    """
    came = np.atleast_2d(np.asarray(direct, dtype=np.float64)) @ through.area
    stays = np.atleast_2d(np.asarray(light, dtype=np.float64)) @ (
        through.area * (1 - through.reflectance)
    )
    return np.where(came > 0, np.abs(stays - came) / np.where(came > 0, came, 1.0), 0.0)
