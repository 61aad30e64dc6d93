"""Shares of a lit view with other finishes under the same light, quickly.

The light on what each ray meets is worked out once. A finish then costs only the rays
that meet it, and is remembered: a list of swaps is ranked in milliseconds.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

import numpy as np

from designkit.lighting.full import Exchange, PatchLight
from designkit.lighting.seen import LitRays, nothing_lit, ray_light, white_light
from designkit.palette.colour import luminance_to_lightness
from designkit.palette.finishes import FinishValue, Limits, classify, find
from designkit.reference import value
from designkit.scene.rays import Target

__all__ = ["SeenShares"]


class SeenShares:
    """Shares of a view under one state of light, for trying other finishes quickly.

    Parameters
    ----------
    of : Exchange
        From `exchange`; its finishes are not looked at.
    state : PatchLight
        From `in_the_evening` or `by_day`.
    rays : LitRays
        From `view_rays`.
    finishes : mapping of str to FinishValue
        From `resolve_all`.
    limits : Limits
        What counts as black, dark and light.

    Raises
    ------
    InputError
        Nothing in the view is lit.
    """

    def __init__(
        self,
        of: Exchange,
        *,
        state: PatchLight,
        rays: LitRays,
        finishes: Mapping[str, FinishValue],
        limits: Limits,
    ) -> None:
        light = ray_light(of, rays, state)
        anchor = light.lux[light.anchors]
        if not len(anchor) or anchor.max() <= 0:
            raise nothing_lit(state.when)
        white = white_light(anchor, value("light.seen.white", of.home.rules))
        self.white = white if white > 0 else float(anchor.max())
        self._light, self._rays = light, rays
        self._finishes, self._limits = finishes, limits
        order = np.argsort(rays.target, kind="stable")
        ends = np.searchsorted(rays.target[order], np.arange(len(rays.targets) + 1))
        self._mine = [order[ends[n] : ends[n + 1]] for n in range(len(rays.targets))]
        self._met = [n for n, mine in enumerate(self._mine) if len(mine)]
        night = [n for n in self._met if light.night[self._mine[n][0]]]
        away = [n for n in self._met if light.outside[self._mine[n][0]]]
        self._black = sum(len(self._mine[n]) for n in night)
        apart = {*night, *away}
        self._counted = [n for n in self._met if n not in apart and rays.targets[n].finish]
        self._total = sum(len(self._mine[n]) for n in (*self._counted, *apart))
        self._known: dict[tuple[int, str, str], float] = {}

    def _part(self, n: int, id: str, of: str) -> float:
        key = (n, id, of)
        if key not in self._known:
            mine, finish, at = self._mine[n], find(self._finishes, id), self._limits
            found = 0.0
            for colour in finish.colours:
                if of in ("warm", "patterned"):
                    found += colour.share * len(mine) * bool(getattr(finish, of))
                    continue
                relative = colour.lrv / 100 * self._light.lux[mine]
                relative = (relative + math.pi * self._light.shine[mine]) / self.white
                seen = np.minimum(luminance_to_lightness(relative), 100.0)
                mark = classify(seen, np.full(len(mine), colour.chroma), limits=at)[of]
                found += colour.share * float(mark.sum())
            self._known[key] = found
        return self._known[key]

    def share(self, of: str, *, swap: Callable[[Target], str] | None = None) -> float:
        """The share of a class, with other finishes under the same light.

        Parameters
        ----------
        of : str
            One of `designkit.palette.finishes.CLASSES`.
        swap : callable, optional
            Gives the finish of a thing; its own without it.

        Returns
        -------
        float
            [0–1]

        Raises
        ------
        LookupFailed
            A finish is not among those that were given.
        """
        targets = self._rays.targets
        found = float(self._black) if of in ("black", "dark") else 0.0
        for n in self._counted:
            found += self._part(n, swap(targets[n]) if swap else targets[n].finish, of)
        return found / max(1, self._total)
