"""The colour of daylight behind tinted glass, as an eye in the room sees it.

Light is followed by its amount; each kind of tinted glass is kept apart, so that at
every place the colour is the mean of what comes there, by amount. Surfaces are taken
to send it on in the colour that it came. The eye is used to the mean light of the
view as far as CAM16 says for its luminance: in a room with one kind of glass little
of the tint is left to see, beside a lamp or a clear window more.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from designkit.lighting.full import Exchange, PatchLight
from designkit.palette.glazing import (
    adaptation_degree,
    adapted_in_part,
    glazing_of,
    light_through,
)
from designkit.scene.rays import Target

__all__ = ["Tint", "tint_of"]

Array = npt.NDArray[np.float64]
_FIELD = 0.2  # luminance that the eye is used to, of that of a white (CAM16)


@dataclass(frozen=True, kw_only=True, eq=False)
class Tint:
    """What glass does to the daylight of a view."""

    colour: Array  # (n, 3), X, Y, Z as seen with Y = 1, of the light at what a ray meets
    outdoors: Array  # (n,), share that the pane a ray meets lets through [1]
    degree: float  # how far the eye is used to the mean light [1]
    names: tuple[str, ...]  # of the glass


def tint_of(
    of: Exchange,
    *,
    targets: Sequence[Target],
    target: npt.NDArray[np.int64],
    patch: npt.NDArray[np.int64],
    state: PatchLight,
    anchors: npt.NDArray[np.bool_],
    white: float,
) -> Tint | None:
    """The colour of the light that rays meet, by day behind glass that is named.

    Parameters
    ----------
    of : Exchange
        From `designkit.lighting.full.exchange`.
    targets : sequence of Target
        What rays can meet.
    target, patch : array (n,)
        What each ray meets, and the patch whose light it has.
    state : PatchLight
        From `designkit.lighting.full.by_day`.
    anchors : array (n,)
        Rays that the eye takes its white from.
    white : float
        Light of the white. [lx]

    Returns
    -------
    Tint or None
        None after dark, and where no glass is named.
    """
    panes = {
        n: of.home.openings[t.owner].glass
        for n, t in enumerate(targets)
        if t.kind == "glass" and t.owner in of.home.openings
    }
    panes = {n: glass for n, glass in panes.items() if glass}
    if state.when != "day" or not (panes or state.tinted):
        return None
    day = np.asarray(light_through(""))
    total = np.maximum(state.lux, 1e-9)
    light = np.tile(day, (len(total), 1))
    for glass, lux in state.tinted:
        known = light_through(glass)
        if known is not None:
            light += (lux / total)[:, None] * (known - day)
    colour = light[patch]
    outdoors = np.ones(len(target))
    for n, glass in panes.items():
        mine, pane = target == n, glazing_of(glass)
        outdoors[mine] = pane.through
        known = light_through(glass) if pane.tinted else None
        colour[mine] = day if known is None else known
    seen = np.flatnonzero(anchors)
    weight = state.lux[patch[seen]]
    mean = weight @ colour[seen] / weight.sum() if weight.sum() > 0 else day
    degree = adaptation_degree(_FIELD * white / math.pi)
    adapted = adapted_in_part(colour, white=mean, degree=degree)
    return Tint(
        colour=adapted / adapted[:, 1:2],
        outdoors=outdoors,
        degree=degree,
        names=tuple(glazing_of(g).name for g in dict.fromkeys([*panes.values()])),
    )
