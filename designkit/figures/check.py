"""Does every word on a drawing stand where it can be read?

Each renderer shows what it is given; this looks for text on text, text off
the paper or across the frame, text too small to read, text on lines, text on
dark ground and text under something drawn later. Looking still finds more.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely
from shapely import STRtree
from shapely.geometry import LineString, MultiPolygon
from shapely.geometry import Point as Dot
from shapely.geometry import Polygon as Shape
from shapely.geometry.base import BaseGeometry

from designkit.figures import hatching, ink
from designkit.figures import type as lettering
from designkit.figures.drawing import (
    Arc,
    Circle,
    Drawing,
    Hatch,
    Line,
    Picture,
    Polygon,
    Primitive,
    Text,
)

__all__ = ["Fault", "faults"]


@dataclass(frozen=True, kw_only=True)
class Fault:
    """One word that cannot be read as it stands."""

    kind: str  # "text on text", "off the sheet", "too small", "on a line", …
    text: str
    at: tuple[float, float]
    other: str = ""

    def __str__(self) -> str:
        x, y = self.at
        rest = f" / {self.other}" if self.other else ""
        return f"{self.kind}: “{self.text}” at {x:.1f}, {y:.1f}{rest}"


def _strokes(item: Primitive) -> BaseGeometry | None:
    """The inked line of a primitive, without its width."""
    if isinstance(item, Line):
        points = [*item.points, item.points[0]] if item.closed else list(item.points)
        return LineString(points) if len(set(points)) > 1 else None
    if isinstance(item, Polygon) and item.weight > 0:
        rings = [LineString([*ring, ring[0]]) for ring in (item.outline, *item.holes)]
        return shapely.union_all(rings) if len(rings) > 1 else rings[0]
    if isinstance(item, Circle) and item.weight > 0:
        return Dot(item.centre).buffer(item.radius, quad_segs=12).exterior
    if isinstance(item, Arc):
        span = item.end - item.start
        span = 360.0 if span >= 360 else span % 360
        steps = max(4, int(span / 6))
        return LineString(
            [
                (
                    item.centre[0]
                    + item.radius * math.cos(math.radians(item.start + span * i / steps)),
                    item.centre[1]
                    + item.radius * math.sin(math.radians(item.start + span * i / steps)),
                )
                for i in range(steps + 1)
            ]
        )
    if isinstance(item, Hatch):
        lines = [LineString([(a, b), (c, d)]) for a, b, c, d in hatching.strokes(item)]
        return shapely.union_all(lines) if lines else None
    return None


def _ground(item: Primitive) -> BaseGeometry | None:
    """The filled area of a primitive."""
    if isinstance(item, Polygon) and item.fill and len(item.outline) > 2:
        shape = Shape(item.outline, item.holes)
        return shape if shape.is_valid else shape.buffer(0)
    if isinstance(item, Circle) and item.fill:
        return Dot(item.centre).buffer(item.radius, quad_segs=12)
    if isinstance(item, Picture):
        (x, y), (w, h) = item.at, item.size
        return shapely.box(x, y, x + w, y + h)
    return None


def _fill(item: Primitive) -> str:
    return item.fill if isinstance(item, Polygon | Circle) else ink.GREY_3


def _inset(box: Shape, by: float) -> BaseGeometry:
    small = box.buffer(-by, join_style="mitre")
    return box if small.is_empty or isinstance(small, MultiPolygon) else small


def faults(
    drawing: Drawing,
    *,
    smallest: float = ink.SMALLEST,
    line_weight: float = 0.17,
    margin: float = 0.0,
    contrast: float = 3.0,
) -> list[Fault]:
    """Words of a drawing that cannot be read as they stand.

    Parameters
    ----------
    drawing : Drawing
        What is looked at.
    smallest : float
        Smallest cap height. [mm]
    line_weight : float
        Lines from this weight on must not run through a word without a halo.
        [mm]
    margin : float
        Room that words keep to the edge of the paper. [mm]
    contrast : float
        Least contrast of a word against the ground it stands on.

    Returns
    -------
    list of Fault
        In painting order; empty where all is well.

    Examples
    --------
    >>> two = Drawing(width=50, height=20, items=(
    ...     Text(at=(5, 5), text="sofa", size=2.0), Text(at=(6, 5), text="table", size=2.0)))
    >>> [fault.kind for fault in faults(two)]
    ['text on text']
    """
    texts = [
        (index, item)
        for index, item in enumerate(drawing.items)
        if isinstance(item, Text) and item.text.strip()
    ]
    boxes = [Shape(lettering.box(item)) for _, item in texts]
    found = list(_alone(drawing, texts, boxes, smallest=smallest, margin=margin))
    found += _on_text(texts, boxes)
    found += _on_ink(drawing, texts, boxes, line_weight=line_weight, contrast=contrast)
    return found


def _alone(
    drawing: Drawing,
    texts: Sequence[tuple[int, Text]],
    boxes: Sequence[Shape],
    *,
    smallest: float,
    margin: float,
) -> Iterator[Fault]:
    paper = shapely.box(margin, margin, drawing.width - margin, drawing.height - margin)
    for (_, item), box in zip(texts, boxes):
        if item.size < smallest - 1e-9:
            yield Fault(kind="too small", text=item.text, at=item.at, other=f"{item.size:g} mm")
        if not paper.buffer(1e-6).contains(box):
            yield Fault(kind="off the sheet", text=item.text, at=item.at)


def _on_text(texts: Sequence[tuple[int, Text]], boxes: Sequence[Shape]) -> Iterator[Fault]:
    if not boxes:
        return
    tree = STRtree(boxes)
    for i, j in zip(*tree.query(boxes, predicate="intersects").tolist()):
        if i >= j:
            continue
        common = boxes[i].intersection(boxes[j])
        # A hair of two boxes may meet where no letters do.
        if common.area > 0.3 * 0.6:
            yield Fault(
                kind="text on text",
                text=texts[i][1].text,
                at=texts[i][1].at,
                other=texts[j][1].text,
            )


def _on_ink(
    drawing: Drawing,
    texts: Sequence[tuple[int, Text]],
    boxes: Sequence[Shape],
    *,
    line_weight: float,
    contrast: float,
) -> Iterator[Fault]:
    lines: list[tuple[int, BaseGeometry]] = []
    grounds: list[tuple[int, BaseGeometry]] = []
    for index, item in enumerate(drawing.items):
        if isinstance(item, Text):
            continue
        if getattr(item, "weight", 0.0) >= line_weight and (stroke := _strokes(item)) is not None:
            lines.append((index, stroke))
        if (ground := _ground(item)) is not None and not ground.is_empty:
            grounds.append((index, ground))
    line_tree = STRtree([g for _, g in lines])
    ground_tree = STRtree([g for _, g in grounds])
    for (order, item), box in zip(texts, boxes):
        inner = _inset(box, 0.15)
        under = [
            grounds[k] for k in sorted(ground_tree.query(inner, predicate="intersects").tolist())
        ]
        for index, ground in under:
            if index > order and ground.intersection(inner).area > 0.05 * inner.area:
                yield Fault(kind="under something", text=item.text, at=item.at)
                break
        covers = [(i, g) for i, g in under if i < order]
        if covers:
            letters = ink.luminance(item.ink)
            left = inner
            for index, ground in reversed(covers):
                part = left.intersection(ground)
                if part.area > 0.05 * inner.area and not (
                    item.halo > 0 and ink.luminance(item.ink) < 0.2
                ):
                    paper = ink.luminance(_fill(drawing.items[index]))
                    high, low = max(letters, paper), min(letters, paper)
                    if (high + 0.05) / (low + 0.05) < contrast:
                        yield Fault(kind="on a like ground", text=item.text, at=item.at)
                        break
                left = left.difference(ground)
                if left.is_empty:
                    break
        for k in line_tree.query(inner, predicate="intersects").tolist():
            index, stroke = lines[k]
            seen = stroke.intersection(inner)
            if index < order:
                if item.halo > 0:
                    continue
                for later, ground in covers:
                    if later > index:  # what was painted over is no longer a line
                        seen = seen.difference(ground)
            if seen.length > 0.25:
                yield Fault(
                    kind="on a line",
                    text=item.text,
                    at=item.at,
                    other=f"{type(drawing.items[index]).__name__} {index}",
                )
                break
