"""Rugs and glass or stone tops: the plan that proves the size, and a section.

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
from designkit.figures.cutting_parts import Order, Proof, hatched, rectangle, scale_for
from designkit.figures.drawing import Arc, Circle, Hatch, Line, Polygon
from designkit.figures.furnishing import draw_piece, rank
from designkit.figures.sheet import Area
from designkit.plan.place import Placed
from designkit.takeoff.lines import System, area_text, length_text, mass_text
from designkit.takeoff.rugs import RugSize, SewnRug
from designkit.takeoff.tops import Top
from designkit.units import NBSP

__all__ = ["Under", "rug_proof", "top_proof"]

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


def _thin(metres: float, system: System) -> str:
    if system == "US":
        return length_text(metres, system)
    return f"{metres * 1000:.1f}".removesuffix(".0") + f"{NBSP}mm"


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
            f"clears by {_thin(under.left, self.system)}"
            if under.clears
            else f"rubs: {_thin(abs(under.left), self.system)} too little"
            if under.left < 0
            else f"too close: {_thin(under.left, self.system)} of air"
        )
        for words, bold in (
            (f"The door {verdict}.", True),
            (f"undercut {_thin(under.undercut, self.system)}", False),
            (
                f"rug {_thin(under.rug, self.system)} + pad {_thin(under.pad, self.system)} = "
                f"{_thin(under.rug + under.pad, self.system)}",
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


def _rounded(x: float, y: float, wide: float, high: float, r: float) -> list[XY]:
    if r < 1e-6:
        return list(rectangle(x, y, x + wide, y + high))
    points: list[XY] = []
    for cx, cy, start in (
        (x + wide - r, y + r, -90.0),
        (x + wide - r, y + high - r, 0.0),
        (x + r, y + high - r, 90.0),
        (x + r, y + r, 180.0),
    ):
        for i in range(9):
            turn = math.radians(start + i * 90.0 / 8)
            points.append((cx + r * math.cos(turn), cy + r * math.sin(turn)))
    return points


def top_proof(
    result: Top,
    *,
    name: str,
    slab: XY | None = None,
    system: System = "metric",
    page: bool = False,
) -> Proof:
    """The proof of a glass or stone top: size, mass, slab.

    Parameters
    ----------
    result : Top
        From `designkit.takeoff.tops.top`.
    name : str
        What it lies on, in words.
    slab : tuple of float, optional
        The stone slab it was laid on; drawn where it is given. [m]
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
    over = result.overhang

    def draw(chart: Chart, area: Area, most: float) -> tuple[float, int | None]:
        sizes = chart.sizes
        long = max(result.width, slab[0] if slab else 0.0)
        high = result.depth + (slab[1] if slab else 0.0)
        extra = 6 * sizes.note + (sizes.name + 8.0 if slab else 0.0) + 20.0
        scale = scale_for(
            page,
            system,
            lambda s: long * 1000 / s <= area.width - 16.0 and high * 1000 / s + extra <= most,
            least=10,
        )
        k = 1000 / scale
        x, top_ = area.left + 1.0, area.top - sizes.note - 4.0
        wide, deep = result.width * k, result.depth * k
        low = top_ - deep
        if result.shape == "circle":
            centre = (x + wide / 2, low + deep / 2)
            chart.items.append(Circle(centre=centre, radius=wide / 2, weight=0.4, fill=ink.PAPER))
            if abs(over) > 1e-6:
                inner = (result.width / 2 - over) * k
                chart.items.append(
                    Arc(
                        centre=centre,
                        radius=inner,
                        start=0.0,
                        end=359.99,
                        weight=0.18,
                        dash=ink.DASH_ZONE,
                    )
                )
        else:
            inner_box = rectangle(
                x + over * k, low + over * k, x + wide - over * k, low + deep - over * k
            )
            chart.items.append(
                Polygon(
                    outline=tuple(_rounded(x, low, wide, deep, result.radius * k)),
                    fill=ink.PAPER,
                    weight=0.4,
                )
            )
            if abs(over) > 1e-6:
                chart.items.append(
                    Line(points=inner_box, closed=True, weight=0.18, dash=ink.DASH_ZONE)
                )
        chart.text(
            x + wide / 2, top_ + 1.4, length_text(result.width, system), sizes.note, anchor="middle"
        )
        chart.text(
            x + wide + 1.6,
            low + deep / 2 - sizes.note / 2,
            length_text(result.depth, system),
            sizes.note,
        )
        y = low - 6.0
        thick = max(0.6, result.thickness * k)
        hatched(chart, rectangle(x, y - thick, x + wide, y), weight=0.25, spacing=0.9)
        chart.text(
            x + wide + 1.6,
            y - thick / 2 - sizes.note / 2,
            f"{_thin(result.thickness, system)} thick",
            sizes.note,
        )
        y -= thick + 3.0
        if slab is not None:
            y -= sizes.name + 2.0
            words = f"{'A slab gives' if result.across > 1 else 'From one slab'}"
            words += f" {result.across}" if result.across > 1 else ""
            chart.text(x, y, words, sizes.name, bold=True)
            y -= 2.0
            _slab(chart, result, slab, x, y, k)
            chart.text(
                x + slab[0] * k + 1.6, y - slab[1] * k / 2, length_text(slab[1], system), sizes.note
            )
            y -= slab[1] * k + sizes.note + 2.0
            chart.text(
                x + slab[0] * k / 2, y, length_text(slab[0], system), sizes.note, anchor="middle"
            )
        y -= sizes.pitch(sizes.note) + 1.0
        chart.text(
            area.left,
            y,
            ("Dashes: the piece under it. " if abs(over) > 1e-6 else "")
            + "Hatched: cut across"
            + ("; on the slab, left over." if slab else "."),
            sizes.note,
            colour=ink.GREY_1,
        )
        return y - 1.0, scale

    shown = (
        f"Ø {length_text(result.width, system)}"
        if result.shape == "circle"
        else f"{length_text(result.width, system)} × {length_text(result.depth, system)}"
    )
    people = "one person carries" if result.carriers == 1 else f"{result.carriers} people carry"
    answer = (
        f"A {result.material} top {shown}, {_thin(result.thickness, system)} thick: "
        f"{mass_text(result.mass, system)}, {people} it."
    )
    sums = [
        (
            area_text(result.net, system),
            "net" + (f", {result.count} tops" if result.count > 1 else ""),
        ),
        (length_text(result.edge, system), "of polished edge"),
        (mass_text(result.mass, system), f"each; {people} it"),
        (
            f"{(1 - result.net / result.order) * 100:.0f}{NBSP}%",
            "of what is bought is left over",
        ),
    ]
    if result.slabs:
        sums.append((f"{result.slabs}", "slab" if result.slabs == 1 else "slabs"))
        big = f"{result.slabs} {'slab' if result.slabs == 1 else 'slabs'}"
    else:
        sums.append((area_text(result.order, system), "by the rectangle round it"))
        big = area_text(result.order, system)
    both = f"{mass_text(result.mass, other)}; {area_text(result.order, other)}"
    return Proof(
        question=f"What does a {result.material} top on the {name} take?",
        answer=answer,
        text=f"{answer} {' '.join(w + '.' for w in result.why)}",
        order=Order(big=big, also=both, sums=tuple(sums), cautions=result.cautions),
        draw=draw,
        system=system,
    )


def _slab(chart: Chart, result: Top, slab: XY, x: float, top: float, k: float) -> None:
    from designkit.reference import value

    low = top - slab[1] * k
    hatched(chart, rectangle(x, low, x + slab[0] * k, top), weight=0.4)
    edge = value("takeoff.top.slab.edge")
    usable = (slab[0] - 2 * edge, slab[1] - 2 * edge)
    best = max(
        ((result.width, result.depth), (result.depth, result.width)),
        key=lambda s: int(usable[0] / s[0] + 1e-9) * int(usable[1] / s[1] + 1e-9),
    )
    columns = int(usable[0] / best[0] + 1e-9)
    wanted = min(result.count, result.across)
    for n in range(wanted):
        row, column = divmod(n, columns)
        left = x + (edge + column * best[0]) * k
        up = top - (edge + row * best[1]) * k
        if result.shape == "circle":
            chart.items.append(
                Circle(
                    centre=(left + best[0] * k / 2, up - best[1] * k / 2),
                    radius=best[0] * k / 2,
                    weight=0.3,
                    fill=ink.PAPER,
                )
            )
        else:
            chart.items.append(
                Polygon(
                    outline=rectangle(left, up - best[1] * k, left + best[0] * k, up),
                    fill=ink.PAPER,
                    weight=0.3,
                )
            )
