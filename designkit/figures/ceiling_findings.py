"""Numbers of findings on a ceiling plan: on free floor, with a leader to their place."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from designkit.figures import ink, marks
from designkit.figures.ceiling_parts import Parts
from designkit.figures.drawing import XY, Hatch, Polygon, Primitive
from designkit.model import Finding

__all__ = ["finding_marks"]


def finding_marks(
    findings: Sequence[Finding], parts: Parts
) -> tuple[list[Primitive], list[BaseGeometry]]:
    """Numbers of findings on the plan, each with a leader to its place.

    Parameters
    ----------
    findings : sequence of Finding
        Numbered in this order; those without a place get no mark.
    parts : Parts
        The plan.

    Returns
    -------
    (list of Primitive, list of geometry)
        The marks, and the room that they take. [mm]
    """
    key = tuple((f.at, f.about, f.verdict, f.unit, f.what) for f in findings)
    if key not in parts.numbered:
        if len(parts.numbered) > 8:
            parts.numbered.clear()
        parts.numbered[key] = _finding_marks(findings, parts)
    return parts.numbered[key]


def _finding_marks(
    findings: Sequence[Finding], parts: Parts
) -> tuple[list[Primitive], list[BaseGeometry]]:
    base = parts.base
    items: list[Primitive] = []
    room: list[BaseGeometry] = []
    half = marks.KEYED / 2 + 0.6
    floor = base.floor
    shapely.prepare(floor)
    taken = np.array(parts.taken or [(0.0, 0.0, 0.0, 0.0)])
    for number, finding in enumerate(findings, start=1):
        about = f"finding {number}"
        colour = ink.INK if finding.verdict == "passes" else ink.ACCENT
        of_room = finding.about[0] if len(finding.about) == 1 else ""
        if of_room in parts.beside:
            # It is about the whole room: beside its name, with no leader.
            spot = parts.beside[of_room]
            items += marks.keyed(spot, number, colour=colour, about=about)
        elif finding.at is not None:
            at = base.paper(finding.at)
            if finding.unit == "lx" and " page" in f" {finding.what}":
                items += _seat_hatch(at, about)
                room.append(shapely.Point(at).buffer(2.8))
            spot = _number_spot(at, taken, floor, half)
            room.append(LineString([spot, at]).buffer(0.9))
            items += marks.keyed(spot, number, to=at, colour=colour, about=about)
        else:
            continue
        box = (spot[0] - half, spot[1] - half, spot[0] + half, spot[1] + half)
        room.append(shapely.box(*box))
        taken = np.vstack([taken, box])
    return items, room


_ANGLES = np.radians(np.arange(0, 360, 22.5))
_WAYS = np.array([7.0, 10.0, 13.5, 18.0, 24.0])
_RING = np.stack(
    [np.outer(_WAYS, np.cos(_ANGLES)).ravel(), np.outer(_WAYS, np.sin(_ANGLES)).ravel()], 1
)
_FAR = np.repeat(_WAYS, len(_ANGLES))


def _number_spot(
    at: XY,
    taken: np.ndarray[tuple[int, int], np.dtype[np.float64]],
    floor: BaseGeometry,
    half: float,
) -> XY:
    """Free floor near a place, its leader clear of words and symbols."""
    spots = _RING + np.asarray(at)
    x, y = spots[:, :1], spots[:, 1:]
    low_x, low_y, high_x, high_y = taken.T
    on = (x - half < high_x) & (x + half > low_x) & (y - half < high_y) & (y + half > low_y)
    cost = _FAR + 60.0 * on.sum(axis=1)
    boxes = shapely.box(x[:, 0] - half, y[:, 0] - half, x[:, 0] + half, y[:, 0] + half)
    cost += np.where(shapely.contains(floor, boxes), 0.0, 80.0)
    own = (low_x <= at[0]) & (at[0] <= high_x) & (low_y <= at[1]) & (at[1] <= high_y)
    crossed = np.zeros_like(on)
    for t in (0.3, 0.45, 0.6, 0.75, 0.9):
        px, py = at[0] + (x - at[0]) * t, at[1] + (y - at[1]) * t
        crossed |= (
            (px > low_x - 0.3) & (px < high_x + 0.3) & (py > low_y - 0.3) & (py < high_y + 0.3)
        )
    cost += 25.0 * (crossed & ~own).sum(axis=1)
    best = int(np.argmin(cost))
    return float(spots[best, 0]), float(spots[best, 1])


def _seat_hatch(at: XY, about: str) -> list[Primitive]:
    """The place on the drawing that a page takes: a hatched disc of 5 mm."""
    ring = tuple(
        (at[0] + 2.5 * math.cos(math.radians(a)), at[1] + 2.5 * math.sin(math.radians(a)))
        for a in range(0, 360, 15)
    )
    style = ink.FINDING
    return [
        Hatch(
            outline=ring,
            angle=style.angle,
            spacing=style.spacing,
            weight=style.weight,
            ink=style.ink,
            about=about,
        ),
        Polygon(outline=ring, weight=style.weight, ink=style.ink, about=about),
    ]
