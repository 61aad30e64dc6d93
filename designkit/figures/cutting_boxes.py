"""Floor boxes on the plan: where they stand, what they serve, how their cable runs."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.chart import Chart
from designkit.figures.cutting_parts import Order, Proof, rectangle, scale_for
from designkit.figures.drawing import Line, Polygon
from designkit.figures.furnishing import draw_piece, rank
from designkit.figures.marks import symbol
from designkit.figures.sheet import Area
from designkit.plan.place import Placed
from designkit.takeoff.floor_boxes import Box, FloorBoxes, Outlet
from designkit.takeoff.lines import System, cable_text, length_text
from designkit.units import NBSP

__all__ = ["boxes_proof"]

XY = tuple[float, float]
_SIDE = 3.6  # of a box on paper [mm]


def _inward(at: XY, outline: Sequence[XY]) -> float:
    """Direction from the nearest wall into the room. [°]"""
    from shapely.geometry import LineString, Point
    from shapely.geometry import Polygon as Shape

    edges = list(zip(outline, (*outline[1:], outline[0]), strict=True))
    a, b = min(edges, key=lambda e: LineString(e).distance(Point(at)))
    along = math.atan2(b[1] - a[1], b[0] - a[0])
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    turn = along + math.pi / 2
    inside = Point(middle[0] + 1e-3 * math.cos(turn), middle[1] + 1e-3 * math.sin(turn))
    return math.degrees(turn if Shape(outline).covers(inside) else turn + math.pi)


def _deep(made: FloorBoxes, system: System) -> str:
    """Whether the floor is deep enough for a box, in words."""
    if not made.build_up:
        return "deep under the finished floor: not known whether it has that"
    has = length_text(made.build_up, system)
    return f"deep; the floor has {has}: {'enough' if made.fits else 'too little'}"


class _Drawn:
    """The room with its furniture, boxes, cords and cables."""

    def __init__(
        self,
        made: FloorBoxes,
        *,
        outline: Sequence[XY],
        placed: Sequence[Placed],
        outlets: Sequence[Outlet],
        system: System,
        page: bool,
    ) -> None:
        self.made, self.outline, self.placed = made, tuple(outline), tuple(placed)
        self.outlets = tuple(outlets)
        self.system, self.page = system, page

    def draw(self, chart: Chart, area: Area, most: float) -> tuple[float, int | None]:
        xs, ys = [p[0] for p in self.outline], [p[1] for p in self.outline]
        wide, high = max(xs) - min(xs), max(ys) - min(ys)
        sizes = chart.sizes
        foot = (3 + len(self.made.boxes)) * sizes.pitch(sizes.note) + 6.0
        scale = scale_for(
            self.page,
            self.system,
            lambda s: wide * 1000 / s <= area.width - 12.0 and high * 1000 / s + foot <= most,
            least=20,
        )
        k = 1000 / scale
        origin = (area.left + 5.0 - min(xs) * k, area.top - 3.0 - max(ys) * k)

        def on(point: XY) -> XY:
            return origin[0] + point[0] * k, origin[1] + point[1] * k

        chart.items.append(Polygon(outline=tuple(map(on, self.outline)), weight=0.7))
        for thing in sorted(self.placed, key=rank):
            chart.items += draw_piece(thing, scale=scale, origin=origin)
        self._cords(chart, on)
        for number, box in enumerate(self.made.boxes, start=1):
            self._box(chart, on, box, str(number))
        for outlet in self.outlets:
            kind = "panel" if not outlet.plug else "socket"
            angle = _inward(outlet.at, self.outline)
            chart.items += symbol(kind, on(outlet.at), angle=angle, about=outlet.id)
        y = origin[1] + min(ys) * k - 2.0
        words = "Half circle at the wall: an outlet. Thin line: a cord."
        if self.made.boxes:
            words = f"Square with a cross: a floor box. Long dashes: its cable. {words}"
        for line in lettering.wrap(words, size=sizes.note, width=area.width):
            y -= sizes.pitch(sizes.note)
            chart.text(area.left, y, line, sizes.note, colour=ink.GREY_1)
        for number, box in enumerate(self.made.boxes, start=1):
            y -= sizes.pitch(sizes.note)
            chart.text(area.left, y, str(number), sizes.note, bold=True)
            away = self._from_walls(box)
            chart.text(
                area.left + 4.0,
                y,
                lettering.shorten(
                    f"under the {box.under}, {away}", size=sizes.note, width=area.width - 4.0
                ),
                sizes.note,
            )
        return y - 1.0, scale

    def _from_walls(self, box: Box) -> str:
        """Set out from the left and the lower side of the room's own extent."""
        left = min(p[0] for p in self.outline)
        low = min(p[1] for p in self.outline)
        x = length_text(box.at[0] - left, self.system)
        y = length_text(box.at[1] - low, self.system)
        return f"{x} from the left, {y} from below on this plan"

    def _cords(self, chart: Chart, on: Callable[[XY], XY]) -> None:
        needs = {n.id: n for n in self.made.needs}
        names = {o.name: o for o in self.outlets}
        for id, outlet, _ in self.made.by_wall:
            (ax, ay), (bx, by) = on(needs[id].at), on(names[outlet].at)
            chart.line(ax, ay, bx, by, 0.18, colour=ink.GREY_1)
        for box in self.made.boxes:
            for id in box.serves:
                (ax, ay), (bx, by) = on(needs[id].at), on(box.at)
                chart.line(ax, ay, bx, by, 0.18, colour=ink.GREY_1)
        for id in (*(i for i, _, _ in self.made.by_wall), *(i for b in self.made.boxes
                   for i in b.serves)):  # fmt: skip
            x, y = on(needs[id].at)
            dot = rectangle(x - 0.5, y - 0.5, x + 0.5, y + 0.5)
            chart.items.append(Polygon(outline=dot, fill=ink.INK))

    def _box(self, chart: Chart, on: Callable[[XY], XY], box: Box, name: str) -> None:
        if len(box.path) > 1:
            points = tuple(map(on, box.path))
            chart.items.append(Line(points=points, weight=0.5, dash=(4.0, 1.6)))
        x, y = on(box.at)
        half = _SIDE / 2
        outline = rectangle(x - half, y - half, x + half, y + half)
        chart.items.append(Polygon(outline=outline, fill=ink.PAPER, weight=0.5))
        chart.line(x - half, y - half, x + half, y + half, 0.25)
        chart.line(x - half, y + half, x + half, y - half, 0.25)
        chart.text(
            x + half + 1.0,
            y + half - 0.4,
            name,
            chart.sizes.name,
            bold=True,
            halo=0.8,
        )


def boxes_proof(
    result: FloorBoxes,
    *,
    name: str,
    outline: Sequence[XY],
    placed: Sequence[Placed],
    outlets: Sequence[Outlet],
    system: System = "metric",
    page: bool = False,
) -> Proof:
    """The proof that so many floor boxes are needed, and their cable.

    Parameters
    ----------
    result : FloorBoxes
        From `designkit.takeoff.floor_boxes.floor_boxes`.
    name : str
        The room in words.
    outline : sequence of (float, float)
        Of the room. [m]
    placed : sequence of Placed
        Its furniture and standing lamps.
    outlets : sequence of Outlet
        What is in its walls.
    system : {"metric", "US"}, optional
        Of the words.
    page : bool, optional
        For a study page.

    Returns
    -------
    Proof
        For `compose`.
    """
    other: System = "metric" if system == "US" else "US"
    boxes = result.boxes
    count = len(boxes)
    word = "floor box" if count == 1 else "floor boxes"
    served = sum(len(b.serves) for b in boxes)
    names = {n.id: n.name for n in result.needs}
    if boxes:
        answer = (
            f"{count} {word} for {served} of {len(result.needs)} "
            f"{'thing that is' if len(result.needs) == 1 else 'things that are'} plugged in; "
            f"{cable_text(result.order, system)} of cable."
        )
    elif result.left:
        answer = f"No box reaches {', '.join(names[i] for i in result.left)}."
    else:
        answer = "None: everything that is plugged in is served from the walls."
    sums: list[tuple[str, str]] = [
        (str(len(result.by_wall)), "served from the walls"),
    ]
    for number, box in enumerate(boxes, start=1):
        sums.append(
            (
                cable_text(box.run, system),
                f"box {number} to {box.source}" if box.source else f"box {number}: no outlet",
            )
        )
    if boxes:
        spare = (1 - result.net / result.order) * 100 if result.order else 0.0
        sums += [
            (cable_text(result.net, system), "along the floor"),
            (f"{spare:.0f}{NBSP}%", "of the cable is rise, tails and allowance"),
            (str(sum(b.outlets for b in boxes)), f"outlets in {count} {word}"),
            (
                " and ".join(dict.fromkeys(length_text(b.side, system) for b in boxes)),
                f"side of a box; lid {result.lid}",
            ),
            (length_text(result.depth, system), _deep(result, system)),
            (cable_text(result.order, system), "of cable to order"),
        ]
    drawn = _Drawn(
        result,
        outline=outline,
        placed=placed,
        outlets=outlets,
        system=system,
        page=page,
    )
    return Proof(
        question=f"Which outlets does the floor need, {name}?",
        answer=answer,
        text=f"{answer} {' '.join(w + '.' for w in result.why)}",
        order=Order(
            big=f"{count} {word}" if boxes else "no box",
            also=f"{cable_text(result.order, other)} of cable" if boxes else "",
            sums=tuple(sums),
            cautions=result.cautions,
        ),
        draw=drawn.draw,
        system=system,
    )
