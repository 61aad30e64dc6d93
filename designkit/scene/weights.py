"""Surfaces and views as weights: so much of a finish, and whose it is.

Shares are counted from weights, whatever they are: square metres of surface,
or parts of a field of view.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from designkit.scene.surfaces import Surface
from designkit.scene.view import Seen

__all__ = ["Weight", "area_weights", "view_weights"]


@dataclass(frozen=True, kw_only=True)
class Weight:
    """So much of a finish, and whose it is."""

    owner: str
    part: str
    finish: str  # "": not known
    weight: float
    item: str = ""  # what is chosen as one; "": the owner
    kind: str = "piece"
    seen: float | None = None  # L* as lit; None: that of the finish
    night: bool = False  # bare glass after dark: black to the eye
    outside: bool = False  # part of the whole and of no class: the outdoors, a room beyond


def area_weights(surfaces: Iterable[Surface], *, night: bool = False) -> tuple[Weight, ...]:
    """Surfaces as weights by area.

    Parameters
    ----------
    surfaces : iterable of Surface
        From `designkit.scene.surfaces`.
    night : bool
        Count bare window glass, as the black that it is after dark. By day it
        shows the outdoors, which is no finish, and is not counted.

    Returns
    -------
    tuple of Weight
        Only what can be seen; things that are seen through are left out.
    """
    return tuple(
        Weight(
            owner=s.owner,
            part=s.part,
            finish=s.finish,
            weight=s.area,
            item=s.item,
            kind=s.kind,
            night=s.kind == "glass",
        )
        for s in surfaces
        if s.area > 0 and not s.transmits and (night or s.kind != "glass")
    )


def view_weights(seen: Seen, *, night: bool = False) -> tuple[Weight, ...]:
    """What fills a field of view as weights that together make 1.

    Parameters
    ----------
    seen : Seen
        From `designkit.scene.view.look`.
    night : bool
        Bare window glass is black after dark; by day the outdoors is part of
        the view and of no class.

    Returns
    -------
    tuple of Weight
        Largest first.
    """
    return tuple(
        Weight(
            owner=target.owner,
            part=target.part,
            finish=target.finish,
            weight=share,
            item=target.item,
            kind=target.kind,
            night=night and target.kind == "glass",
            outside=target.kind == "beyond" or (target.kind == "glass" and not night),
        )
        for target, share in seen.shares
    )
