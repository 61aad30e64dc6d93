"""Primitives moved, or drawn larger and smaller, as a whole."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable

from designkit.figures.drawing import (
    XY,
    Arc,
    Circle,
    Hatch,
    Line,
    Picture,
    Polygon,
    Primitive,
    Text,
)

__all__ = ["moved"]


def moved(
    items: Iterable[Primitive], *, dx: float = 0.0, dy: float = 0.0, k: float = 1.0
) -> list[Primitive]:
    """The same primitives elsewhere.

    Parameters
    ----------
    items : iterable of Primitive
        What is moved.
    dx, dy : float
        How far. [mm]
    k : float
        Factor on all lengths and weights, about (0, 0), before the move.

    Returns
    -------
    list of Primitive
        In the same order.

    Examples
    --------
    >>> moved([Line(points=((0, 0), (1, 2)), weight=0.2)], dx=10.0, dy=1.0, k=2)[0].points
    ((10.0, 1.0), (12.0, 5.0))
    """

    def at(p: XY) -> XY:
        return (p[0] * k + dx, p[1] * k + dy)

    def ring(points: Iterable[XY]) -> tuple[XY, ...]:
        return tuple(at(p) for p in points)

    out: list[Primitive] = []
    for item in items:
        if isinstance(item, Text):
            made: Primitive = dataclasses.replace(
                item, at=at(item.at), size=item.size * k, halo=item.halo * k
            )
        elif isinstance(item, Line):
            made = dataclasses.replace(
                item, points=ring(item.points), weight=item.weight * k, dash=_scaled(item.dash, k)
            )
        elif isinstance(item, Polygon):
            made = dataclasses.replace(
                item,
                outline=ring(item.outline),
                holes=tuple(ring(h) for h in item.holes),
                weight=item.weight * k,
                dash=_scaled(item.dash, k),
            )
        elif isinstance(item, Hatch):
            made = dataclasses.replace(
                item,
                outline=ring(item.outline),
                holes=tuple(ring(h) for h in item.holes),
                spacing=item.spacing * k,
                weight=item.weight * k,
            )
        elif isinstance(item, Circle | Arc):
            made = dataclasses.replace(
                item,
                centre=at(item.centre),
                radius=item.radius * k,
                weight=item.weight * k,
                dash=_scaled(item.dash, k),
            )
        else:
            assert isinstance(item, Picture)
            made = dataclasses.replace(
                item, at=at(item.at), size=(item.size[0] * k, item.size[1] * k)
            )
        out.append(made)
    return out


def _scaled(dash: tuple[float, ...], k: float) -> tuple[float, ...]:
    return tuple(v * k for v in dash)
