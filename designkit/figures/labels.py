"""Where names and keyed numbers stand, so that each can be read.

A label tries its places in order and takes the first that is free; a label
that finds none is left out (it still stands in the table). Boxes are paper
millimetres and lie square to the paper.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from shapely import STRtree
from shapely.geometry.base import BaseGeometry

__all__ = ["Label", "Spot", "Wish", "place_labels"]

Box = tuple[float, float, float, float]
FIRST = 8  # places that are tried for all labels at once


class Spot(NamedTuple):
    """One place for a label: its middle, upright or not, inside its own thing or not."""

    x: float
    y: float
    upright: bool = False
    inside: bool = False
    lines: int = 0  # which of the label's wordings


@dataclass(frozen=True, kw_only=True)
class Wish:
    """A label that wants a place.

    `sizes` are width and height of each wording [mm]; `own` is the thing it
    names, which it may cover when a spot is inside.
    """

    id: str
    sizes: tuple[tuple[float, float], ...]
    spots: tuple[Spot, ...]
    own: BaseGeometry | None = None
    above: int = 0  # things with an index under this one lie below its own thing
    within: BaseGeometry | None = None  # its room: spots outside its thing stay in it


@dataclass(frozen=True, kw_only=True)
class Label:
    """Where a label stands."""

    id: str
    spot: Spot
    box: Box


@dataclass(kw_only=True)
class Taken:
    """Boxes that are in use."""

    boxes: list[Box] = field(default_factory=list)

    def free(self, box: Box, gap: float = 0.4) -> bool:
        x0, y0, x1, y1 = box
        return not any(
            x0 < b[2] + gap and x1 > b[0] - gap and y0 < b[3] + gap and y1 > b[1] - gap
            for b in self.boxes
        )


@functools.lru_cache(maxsize=512)
def _boxes(
    sizes: tuple[tuple[float, float], ...], spots: tuple[Spot, ...]
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.bool_]]:
    """Box of each spot, and whether it is inside its thing; kept while nothing moves."""
    boxes = np.empty((len(spots), 4))
    for index, (x, y, upright, _, lines) in enumerate(spots):
        w, h = sizes[lines]
        if upright:
            w, h = h, w
        boxes[index] = x - w / 2, y - h / 2, x + w / 2, y + h / 2
    return boxes, np.array([spot.inside for spot in spots], dtype=bool)


@functools.lru_cache(maxsize=512)
def _still(
    sizes: tuple[tuple[float, float], ...],
    spots: tuple[Spot, ...],
    own: BaseGeometry | None,
    within: BaseGeometry | None,
    walls: BaseGeometry,
    paper: Box,
) -> npt.NDArray[np.bool_]:
    """Places that paper, walls, its own thing and its room allow; kept while nothing moves."""
    corners, inside = _boxes(sizes, spots)
    shapes: Any = shapely.box(*corners.T)
    shapely.prepare(walls)
    good = (
        (corners[:, 0] >= paper[0])
        & (corners[:, 1] >= paper[1])
        & (corners[:, 2] <= paper[2])
        & (corners[:, 3] <= paper[3])
    )
    good &= ~shapely.intersects(walls, shapes)
    for flag, holder in ((True, own), (False, within)):
        if holder is not None:
            shapely.prepare(holder)
            asked = np.flatnonzero((inside == flag) & good)
            good[asked] = shapely.covers(holder, shapes[asked])
    found: npt.NDArray[np.bool_] = good
    return found


def place_labels(
    wishes: Sequence[Wish],
    *,
    things: Sequence[BaseGeometry],
    walls: BaseGeometry,
    lines: Sequence[BaseGeometry],
    soft: Sequence[BaseGeometry] = (),
    taken: Sequence[Box] = (),
    paper: Box,
) -> list[Label]:
    """Give each label the first of its places that is free.

    Parameters
    ----------
    wishes : sequence of Wish
        In order of importance.
    things : sequence of geometry
        Footprints in painting order: a label inside its own thing must not
        lie on a thing that is painted over it, a label outside on none.
    walls : geometry
        No label lies on them.
    lines : sequence of geometry
        Lines that a label inside its thing rather does not cross; one outside
        never does.
    soft : sequence of geometry
        Lines that any label rather does not cross.
    taken : sequence of boxes
        Words that are already there.
    paper : box
        No label leaves it.

    Returns
    -------
    list of Label
        Those that found a place.

    Examples
    --------
    >>> sofa = shapely.box(0, 0, 40, 20)
    >>> wish = Wish(id="sofa", sizes=((10, 3),), spots=(Spot(20, 10, inside=True),), own=sofa,
    ...             above=1)
    >>> place_labels([wish], things=[sofa], walls=shapely.box(50, 0, 60, 20), lines=[],
    ...              paper=(0, 0, 60, 20))[0].box  # above = 1: only later things hide it
    (15.0, 8.5, 25.0, 11.5)
    """
    if not any(wish.spots for wish in wishes):
        return []
    trial = _Trial(wishes, things=things, walls=walls, lines=lines, soft=soft, paper=paper)
    # Most labels take one of their first places: only the others have the rest tried.
    trial.judge(range(len(wishes)), first=0, last=FIRST)
    used = Taken(boxes=list(taken))
    found: list[Label] = []
    for number, wish in enumerate(wishes):
        best = _first(trial, number, used, last=FIRST, cross=False)
        if best is None:
            trial.judge([number], first=FIRST, last=len(wish.spots))
            for cross in (False, True):
                best = _first(trial, number, used, last=len(wish.spots), cross=cross)
                if best is not None:
                    break
        if best is not None:
            box = trial.box(number, best)
            used.boxes.append(box)
            found.append(Label(id=wish.id, spot=wish.spots[best], box=box))
    return found


def _first(trial: _Trial, number: int, used: Taken, *, last: int, cross: bool) -> int | None:
    good, crossed = trial.good[number], trial.crossed[number]
    for index in range(min(last, len(good))):
        if good[index] and (cross or not crossed[index]) and used.free(trial.box(number, index)):
            return index
    return None


class _Trial:
    """Judges the places of labels in blocks: free of what is drawn, crossing no line."""

    def __init__(
        self,
        wishes: Sequence[Wish],
        *,
        things: Sequence[BaseGeometry],
        walls: BaseGeometry,
        lines: Sequence[BaseGeometry],
        soft: Sequence[BaseGeometry],
        paper: Box,
    ) -> None:
        self.wishes = wishes
        self.made = [_boxes(wish.sizes, wish.spots) for wish in wishes]
        self.still = [
            _still(wish.sizes, wish.spots, wish.own, wish.within, walls, paper) for wish in wishes
        ]
        self.good: list[list[bool]] = [[] for _ in wishes]
        self.crossed: list[list[bool]] = [[] for _ in wishes]
        self.things = STRtree(list(things)) if things else None
        self.lines = STRtree(list(lines)) if lines else None
        self.soft = STRtree(list(soft)) if soft else None

    def box(self, number: int, index: int) -> Box:
        a, b, c, d = self.made[number][0][index]
        return float(a), float(b), float(c), float(d)

    def judge(self, numbers: Iterable[int], *, first: int, last: int) -> None:
        """Fill in `good` and `crossed` for a block of places of some wishes."""
        numbers = [n for n in numbers if len(self.made[n][0]) > first]
        if not numbers:
            return
        parts = [self.made[n][0][first:last] for n in numbers]
        corners = np.concatenate(parts)
        inside = np.concatenate([self.made[n][1][first:last] for n in numbers])
        sizes = [len(part) for part in parts]
        owner = np.repeat(np.asarray(numbers), sizes)
        good = np.concatenate([self.still[n][first:last] for n in numbers])
        left = np.flatnonzero(good)  # the others need no look
        shapes: Any = np.empty(len(corners), dtype=object)
        shapes[left] = shapely.box(*corners[left].T)
        if self.things is not None:
            hit, thing = self.things.query(shapes, predicate="intersects")
            # Inside its own thing only what is painted later is in the way.
            over = np.array([wish.above for wish in self.wishes])
            good[hit[~inside[hit] | (thing >= over[owner[hit]])]] = False
        crossed = np.zeros(len(corners), dtype=bool)
        if self.lines is not None:
            hit, _ = self.lines.query(shapes, predicate="intersects")
            crossed[hit] = True
            good &= inside | ~crossed
        if self.soft is not None:
            hit, _ = self.soft.query(shapes, predicate="intersects")
            crossed[hit] = True
        start = 0
        for number, size in zip(numbers, sizes):
            self.good[number] += good[start : start + size].tolist()
            self.crossed[number] += crossed[start : start + size].tolist()
            start += size
