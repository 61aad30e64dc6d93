"""Setting out: dimensions to the middle of luminaires and to the ends of drapery tracks."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence

import shapely
from shapely.geometry import Polygon as Shape

from designkit.figures import dimensions, ink
from designkit.figures import shell as shells
from designkit.figures import type as lettering
from designkit.figures.drawing import XY, Primitive
from designkit.units import on_sheet

__all__ = ["Track", "setting_out"]

Track = tuple[XY, XY, XY]  # both ends, and the way out of the room
LANE = 8.0  # from one chain to the next [mm]
NEAR = 0.02  # stops nearer than this are one [m]


def setting_out(
    rooms: Mapping[str, Sequence[XY]],
    *,
    points: Sequence[tuple[str, XY]],
    tracks: Sequence[Track] = (),
    base: shells.Shell,
    units: str,
    first: float,
) -> list[Primitive]:
    """Chains of dimensions round a ceiling plan.

    A room that reaches the bottom (the left) of the plan is set out there, any
    other at the top (the right). Tracks come first, nearest to the walls.

    Parameters
    ----------
    rooms : mapping of str to sequence of points
        Outlines of the rooms. [m]
    points : sequence of (str, point)
        Room, and middle of what is fixed to its ceiling. [m]
    tracks : sequence of Track
        Drapery tracks; only those square to the paper are set out. [m]
    base : Shell
        Scale and place on the paper.
    units : str
        Unit of the dimensions.
    first : float
        First chain from the outer face of the walls. [mm]

    Returns
    -------
    list of Primitive
        In painting order.
    """
    if not rooms:
        return []
    shapes = {id: Shape(outline).bounds for id, outline in rooms.items()}
    whole = shapely.union_all([shapely.box(*b) for b in shapes.values()]).bounds
    stops: dict[str, set[float]] = {}
    for id, inside in shapes.items():
        here = [at for room, at in points if room == id]
        sides = (
            "bottom" if inside[1] - whole[1] < 0.5 else "top",
            "left" if inside[0] - whole[0] < 0.5 else "right",
        )
        for axis, side in enumerate(sides):
            if here:
                stops.setdefault(side, set()).update((inside[axis], inside[axis + 2]))
                stops[side].update(round(at[axis], 4) for at in here)
    items: list[Primitive] = []
    lanes: dict[str, int] = {}
    for side, spans in _track_spans(tracks).items():
        axis = 0 if side in ("bottom", "top") else 1
        ends = [v for span in spans for v in span]
        line = sorted({whole[axis], *ends, whole[axis + 2]})
        items += _chain(side, line, lanes, first, base, units, named=spans)
    for side, found in stops.items():
        items += _chain(side, sorted(found), lanes, first, base, units)
    return items


def _track_spans(tracks: Sequence[Track]) -> dict[str, list[tuple[float, float]]]:
    """Where tracks begin and end, by the side that they hang at."""
    found: dict[str, list[tuple[float, float]]] = {}
    for a, b, out in sorted(tracks):
        axis = 0 if abs(out[1]) > abs(out[0]) else 1
        if max(map(abs, out)) < 0.98:
            continue
        side = (("bottom", "top"), ("left", "right"))[axis][out[1 - axis] > 0]
        span = (min(a[axis], b[axis]), max(a[axis], b[axis]))
        line = found.setdefault(side, [])
        # Tracks that overlap cannot be set out in one chain.
        if all(span[1] <= low + 1e-9 or span[0] >= high - 1e-9 for low, high in line):
            line.append(span)
    return found


def _chain(
    side: str,
    found: Sequence[float],
    lanes: dict[str, int],
    first: float,
    base: shells.Shell,
    units: str,
    *,
    named: Sequence[tuple[float, float]] = (),
) -> list[Primitive]:
    line = [v for i, v in enumerate(found) if i == 0 or v - found[i - 1] > NEAR]
    if len(line) < 2:
        return []
    x0, y0, x1, y1 = base.bounds
    away = first + LANE * lanes.get(side, 0)
    lanes[side] = lanes.get(side, 0) + 1
    upright = side in ("left", "right")
    at = {"bottom": y0 - away, "top": y1 + away, "left": x0 - away, "right": x1 + away}[side]
    shift, k = base.origin[1 if upright else 0], 1000 / base.scale
    texts = []
    for a, b in itertools.pairwise(line):
        middle = (a + b) / 2
        words = on_sheet(round(b - a, 5), units=units)
        long = "track " + words
        if any(low < middle < high for low, high in named) and (
            lettering.advance(long, size=ink.NAME) + 1.6 <= (b - a) * k
        ):
            words = long
        texts.append(words)
    return dimensions.chain(
        [shift + v * k for v in line],
        texts,
        at=at,
        axis="y" if upright else "x",
        towards=1.0 if side in ("bottom", "left") else -1.0,
        pens=ink.pens(base.scale),
        about="dimensions",
    )
