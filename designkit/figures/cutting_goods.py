"""Rugs: the plan that proves the size, and a section.

A rug lies under its group with the bare floor to the walls; its seams are
drawn where stock rugs are sewn. The door stands beside it in section, full
size on paper. A top lies over its piece, and on its slab where it is stone.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.chart import Chart
from designkit.figures.cutting_parts import Order, Proof, hatched, rectangle, scale_for, thin
from designkit.figures.drawing import Hatch, Line, Polygon
from designkit.figures.furnishing import draw_piece, rank
from designkit.figures.sheet import Area
from designkit.plan.place import Placed
from designkit.takeoff.lines import System, area_text, length_text
from designkit.takeoff.rugs import RugSize, SewnRug
from designkit.units import NBSP

__all__ = ["Under", "rug_proof"]

XY = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class Under:
    """A door against a rug and its pad. [m]"""

    door: str  # name
    undercut: float
    rug: float
    pad: float
    left: float  # air that stays; negative: it rubs
    clears: bool


def _corners(at: XY, size: XY, rotation: float) -> tuple[XY, ...]:
    turn = math.radians(rotation)
    c, s = math.cos(turn), math.sin(turn)
    return tuple(
        (at[0] + c * x - s * y, at[1] + s * x + c * y)
        for x, y in rectangle(-size[0] / 2, -size[1] / 2, size[0] / 2, size[1] / 2)
    )


class _Rug:
    """The room with the rug under its group."""

    def __init__(
        self,
        size: XY,
        *,
        at: XY,
        rotation: float,
        outline: Sequence[XY],
        group: Sequence[Placed],
        needs: RugSize | None,
        sewn: SewnRug | None,
        under: Under | None,
        system: System,
        page: bool,
    ) -> None:
        self.size, self.at, self.rotation = size, at, rotation
        self.outline, self.group = tuple(outline), tuple(group)
        self.needs, self.sewn, self.under = needs, sewn, under
        self.system, self.page = system, page

    def draw(self, chart: Chart, area: Area, most: float) -> tuple[float, int | None]:
        xs, ys = [p[0] for p in self.outline], [p[1] for p in self.outline]
        wide, high = max(xs) - min(xs), max(ys) - min(ys)
        sizes = chart.sizes
        foot = 3 * sizes.pitch(sizes.note) + (28.0 if self.under else 0.0)
        scale = scale_for(
            self.page,
            self.system,
            lambda s: wide * 1000 / s <= area.width - 2.0 and high * 1000 / s + foot <= most,
            least=20,
        )
        k = 1000 / scale
        origin = (area.left + 1.0 - min(xs) * k, area.top - 1.0 - max(ys) * k)

        def on(point: XY) -> XY:
            return origin[0] + point[0] * k, origin[1] + point[1] * k

        chart.items.append(Polygon(outline=tuple(map(on, self.outline)), weight=0.7))
        rug = tuple(map(on, _corners(self.at, self.size, self.rotation)))
        chart.items.append(Polygon(outline=rug, fill=ink.PAPER, weight=0.35, about="rug"))
        chart.items.append(
            Hatch(outline=rug, angle=45.0, spacing=2.2, weight=0.09, ink=ink.GREY_3, about="rug")
        )
        for thing in sorted(self.group, key=rank):
            chart.items += draw_piece(thing, scale=scale, origin=origin)
        self._sizes(chart, on)
        self._seams(chart, on)
        self._bare(chart, on)
        y = origin[1] + min(ys) * k - 1.0
        words = ["Thin slanted lines: the rug."]
        if self.needs is not None:
            words[0] += " Dashes: the least that the group needs."
        if self.sewn is not None and self.sewn.seams:
            words.append("Timber line: a seam; the pile runs one way.")
        for line in words:
            y -= sizes.pitch(sizes.note)
            chart.text(area.left, y, line, sizes.note, colour=ink.GREY_1)
        if self.under is not None:
            y = self._section(chart, self.under, area.left, y - 4.0, area.width)
        return y - 1.0, scale

    def _sizes(self, chart: Chart, on: Callable[[XY], XY]) -> None:
        if self.needs is None:
            return
        ring = tuple(map(on, _corners(self.at, self.needs.least, self.rotation)))
        chart.items.append(Line(points=ring, closed=True, weight=0.25, dash=ink.DASH_ZONE))

    def _seams(self, chart: Chart, on: Callable[[XY], XY]) -> None:
        sewn = self.sewn
        if sewn is None or not sewn.seams:
            return
        # Seams stand across the longer way of the panels laid side by side.
        across = abs(sewn.width - self.size[0]) <= abs(sewn.width - self.size[1])
        total = self.size[0] if across else self.size[1]
        other = self.size[1] if across else self.size[0]
        turn = math.radians(self.rotation)
        c, s = math.cos(turn), math.sin(turn)
        for panel in sewn.panels[1:]:
            p = min(panel.x, total) - total / 2
            ends = (
                [(p, -other / 2), (p, other / 2)] if across else [(-other / 2, p), (other / 2, p)]
            )
            a, b = (on((self.at[0] + c * x - s * y, self.at[1] + s * x + c * y)) for x, y in ends)
            chart.line(a[0], a[1], b[0], b[1], 0.6, colour=ink.TIMBER)

    def _bare(self, chart: Chart, on: Callable[[XY], XY]) -> None:
        """Bare floor from the middle of each side of the rug to the wall."""
        from shapely.geometry import LineString
        from shapely.geometry import Polygon as Shape

        room = Shape(self.outline)
        corners = _corners(self.at, self.size, self.rotation)
        for (ax, ay), (bx, by) in zip(corners, (*corners[1:], corners[0]), strict=True):
            mx, my = (ax + bx) / 2, (ay + by) / 2
            long = math.dist((ax, ay), (bx, by))
            ox, oy = (by - ay) / long, -(bx - ax) / long
            if not room.covers(LineString([(mx, my), (mx + ox * 1e-4, my + oy * 1e-4)])):
                continue
            ray = LineString([(mx, my), (mx + ox * 50, my + oy * 50)]).intersection(room)
            part = min(
                getattr(ray, "geoms", [ray]),
                key=lambda g: g.distance(LineString([(mx, my), (mx + ox * 0.01, my + oy * 0.01)])),
            )
            gap = part.length
            a, b = on((mx, my)), on((mx + ox * gap, my + oy * gap))
            if math.dist(a, b) < 4.0:
                continue
            chart.line(a[0], a[1], b[0], b[1], 0.13)
            for x, y in (a, b):
                chart.line(x - 0.9, y - 0.9, x + 0.9, y + 0.9, 0.35)
            words = length_text(gap, self.system)
            size = chart.sizes.small
            half = lettering.advance(words, size=size) / 2
            middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
            if abs(ox) > 0.7:
                if abs(b[0] - a[0]) < 2 * half + 1.0:
                    continue
                chart.text(middle[0], middle[1] + 1.0, words, size, anchor="middle", halo=0.8)
            else:
                chart.text(middle[0] + 1.2, middle[1] - size / 2, words, size, halo=0.8)

    def _section(self, chart: Chart, under: Under, x: float, top: float, width: float) -> float:
        """Rug, pad and the foot of the door, full size."""
        sizes = chart.sizes
        y = top - sizes.name
        chart.text(x, y, f"The {under.door} over the rug, full size", sizes.name, bold=True)
        mm = 1000.0
        ground = y - 2.0 - max(20.0, under.undercut * mm + 4.0)
        stack = (under.rug + under.pad) * mm
        wide = 62.0
        chart.line(x, ground, x + wide, ground, 0.7)
        pad = under.pad * mm
        if pad > 0:
            chart.items.append(
                Polygon(
                    outline=rectangle(x, ground, x + 44.0, ground + pad),
                    fill=ink.GREY_4,
                    weight=0.13,
                )
            )
        rug = rectangle(x, ground + pad, x + 44.0, ground + stack)
        hatched(chart, rug, weight=0.2, spacing=1.0)
        low = ground + under.undercut * mm
        door = rectangle(x + 26.0, low, x + 26.0 + 12.0, max(ground + 20.0, low + 4.0))
        chart.items.append(Polygon(outline=door, fill=ink.PAPER, weight=0.35))
        if not under.clears:
            chart.items.append(
                Polygon(
                    outline=rectangle(
                        x + 26.0, min(low, ground + stack), x + 38.0, max(low, ground + stack)
                    ),
                    weight=0.25,
                    ink=ink.TIMBER,
                )
            )
        at = ground + 16.0
        left = x + wide + 4.0
        verdict = (
            f"clears by {thin(under.left, self.system)}"
            if under.clears
            else f"rubs: {thin(abs(under.left), self.system)} too little"
            if under.left < 0
            else f"too close: {thin(under.left, self.system)} of air"
        )
        for words, bold in (
            (f"The door {verdict}.", True),
            (f"undercut {thin(under.undercut, self.system)}", False),
            (
                f"rug {thin(under.rug, self.system)} + pad {thin(under.pad, self.system)} = "
                f"{thin(under.rug + under.pad, self.system)}",
                False,
            ),
        ):
            chart.text(left, at, words, sizes.note, bold=bold)
            at -= sizes.pitch(sizes.note)
        return ground - 2.0


def rug_proof(
    size: XY,
    *,
    at: XY,
    rotation: float,
    outline: Sequence[XY],
    group: Sequence[Placed],
    name: str,
    needs: RugSize | None = None,
    sewn: SewnRug | None = None,
    under: Under | None = None,
    system: System = "metric",
    page: bool = False,
) -> Proof:
    """The proof that a rug suits its group, and how it is made.

    Parameters
    ----------
    size : tuple of float
        Width and depth of the rug. [m]
    at : tuple of float
        Its middle in plan. [m]
    rotation : float
        Of the rug. [°]
    outline : sequence of (float, float)
        Of the room. [m]
    group : sequence of Placed
        What stands on it.
    name : str
        The rug in words.
    needs : RugSize, optional
        What the group needs and the room leaves.
    sewn : SewnRug, optional
        How it is sewn from stock sizes.
    under : Under, optional
        A door that swings over it.
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
    shown = f"{length_text(size[0], system)} × {length_text(size[1], system)}"
    net = size[0] * size[1]
    sums: list[tuple[str, str]] = [(area_text(net, system), "the rug")]
    said = []
    if needs is not None:
        least, most = needs.least, needs.most
        sums.append(
            (
                f"{length_text(least[0], system)} × {length_text(least[1], system)}",
                "least that the group needs",
            )
        )
        sums.append(
            (
                f"{length_text(most[0], system)} × {length_text(most[1], system)}",
                "most that the room leaves",
            )
        )
        small = size[0] < least[0] - 1e-9 or size[1] < least[1] - 1e-9
        large = size[0] > most[0] + 1e-9 or size[1] > most[1] + 1e-9
        if small:
            said.append("it is smaller than its group needs")
        if large:
            said.append("it leaves too little bare floor")
        if not small and not large:
            said.append("it suits its group and its room")
    big, order = shown, net
    cautions: list[str] = []
    if sewn is not None:
        order = sewn.area
        count = len(sewn.panels)
        names: dict[str, int] = {}
        for panel in sewn.panels:
            names[panel.rug.name] = names.get(panel.rug.name, 0) + 1
        big = " + ".join(f"{n} rugs {rug}" if n > 1 else rug for rug, n in names.items())
        sums.append(
            (length_text(sewn.seam_length, system), f"of seam, {sewn.seams} in {count} rugs")
            if sewn.seams
            else ("0", "seams: one stock rug is large enough")
        )
        sums.append((f"{sewn.waste * 100:.0f}{NBSP}%", "of what is bought is cut away"))
        cautions += sewn.cautions
        said.append(f"made from {big}")
    if under is not None:
        said.append(
            f"the {under.door} clears it" if under.clears else f"the {under.door} does not clear it"
        )
    sums.append((area_text(order, system), "to order"))
    cautions += [
        "A pad under it, cut a hand's breadth smaller all round, so that it does not slip."
    ]
    answer = f"{name[:1].upper()}{name[1:]}, {shown}: {'; '.join(said) or 'as drawn'}."
    drawn = _Rug(
        size,
        at=at,
        rotation=rotation,
        outline=outline,
        group=group,
        needs=needs,
        sewn=sewn,
        under=under,
        system=system,
        page=page,
    )
    return Proof(
        question="Which size of rug, and how is it made?",
        answer=answer,
        text=answer + " " + " ".join(f"{a} {w}." for a, w in sums),
        order=Order(
            big=big,
            also=f"{length_text(size[0], other)} × {length_text(size[1], other)}, "
            f"{area_text(order, other)}",
            sums=tuple(sums),
            cautions=tuple(cautions),
        ),
        draw=drawn.draw,
        system=system,
    )
