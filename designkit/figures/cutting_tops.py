"""Glass and stone tops: plan with edges, cut-outs and overhang, a section, the slabs."""

from __future__ import annotations

import math

from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.chart import Chart
from designkit.figures.cutting_parts import (
    Order,
    Proof,
    hatched,
    measured,
    rectangle,
    scale_for,
    thin,
)
from designkit.figures.drawing import Arc, Circle, Line, Polygon
from designkit.figures.sheet import Area
from designkit.model import Cutout
from designkit.reference import value
from designkit.takeoff.lines import System, area_text, length_text, mass_text
from designkit.takeoff.tops import Top
from designkit.units import NBSP

__all__ = ["top_proof"]

XY = tuple[float, float]

_LABEL = 9.0  # for a depth at the left [mm]


def _rounded(x: float, y: float, wide: float, high: float, r: float) -> tuple[XY, ...]:
    if r < 1e-6:
        return rectangle(x, y, x + wide, y + high)
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
    return tuple(points)


def _hole_words(hole: Cutout, system: System) -> str:
    if hole.depth is None:
        return f"cut-out Ø {thin(hole.width, system)}"
    return f"cut-out {length_text(hole.width, system)} × {length_text(hole.depth, system)}"


class _Drawn:
    """The top in plan, its edge in section, the slabs."""

    def __init__(self, made: Top, *, slab: XY | None, system: System, page: bool) -> None:
        self.made, self.slab, self.system, self.page = made, slab, system, page

    def _rows(self, width: float, k: float) -> tuple[int, int]:
        """Slabs beside each other, and rows of them."""
        if self.slab is None:
            return 0, 0
        beside = max(1, int((width - _LABEL + 4.0) / (self.slab[0] * k + 4.0)))
        return beside, -(-len(self._kinds()) // beside)

    def _kinds(self) -> list[tuple[int, int]]:
        """Slabs that are laid out alike: tops on one, how many such slabs."""
        made = self.made
        full, rest = divmod(made.count, made.across)
        return [(n, many) for n, many in ((made.across, full), (rest, 1)) if n and many]

    def _fits(self, chart: Chart, area: Area, most: float, scale: int) -> bool:
        made, k, sizes = self.made, 1000 / scale, chart.sizes
        wide = _LABEL + made.width * k + 2.0
        high = made.depth * k + sizes.note + 4.0 + 34.0 + sizes.name
        high += (3 + len(made.cutouts)) * sizes.pitch(sizes.note)
        if self.slab is not None:
            _, rows = self._rows(area.width, k)
            wide = max(wide, _LABEL + self.slab[0] * k)
            high += rows * (self.slab[1] * k + 3.0) + sizes.name + sizes.note + 8.0
        return wide <= area.width and high <= most

    def draw(self, chart: Chart, area: Area, most: float) -> tuple[float, int | None]:
        made, sizes = self.made, chart.sizes
        scale = scale_for(
            self.page, self.system, lambda s: self._fits(chart, area, most, s), least=8
        )
        k = 1000 / scale
        x, top = area.left + _LABEL, area.top - sizes.note - 4.0
        wide, deep = made.width * k, made.depth * k
        low = top - deep
        self._plan(chart, x, low, k)
        say = length_text
        measured(chart, (x, top + 2.0), (x + wide, top + 2.0), say(made.width, self.system))
        measured(chart, (x - 3.0, low), (x - 3.0, top), say(made.depth, self.system))
        for number, hole in enumerate(made.cutouts, start=1):
            self._hole(chart, hole, x, low, k, str(number))
        y = low - 6.0
        y = self._section(chart, x, y)
        if self.slab is not None:
            y -= sizes.name + 2.0
            word = "The slab" if made.slabs == 1 else f"{made.slabs} slabs"
            chart.text(area.left, y, f"{word}, tops laid out", sizes.name, bold=True)
            y = self._slabs(chart, area, y - 3.0, k)
        words = "Front at the bottom. Thick line: polished edge."
        if made.cutouts:
            words += " Crossed: cut out, edges polished."
        if abs(made.overhang) > 1e-6:
            words += " Dashes: the piece under it."
        if self.slab is not None:
            words += " Hatched: left over, or lost at the edge of the slab."
        for line in lettering.wrap(words, size=sizes.note, width=area.width):
            y -= sizes.pitch(sizes.note)
            chart.text(area.left, y, line, sizes.note, colour=ink.GREY_1)
        for number, hole in enumerate(made.cutouts, start=1):
            y -= sizes.pitch(sizes.note)
            left, front = (say(p, self.system) for p in hole.at)
            chart.text(area.left, y, str(number), sizes.note, bold=True)
            words = f"{_hole_words(hole, self.system)}, its middle {left} from the left and "
            words += f"{front} from the front"
            chart.text(area.left + 4.0, y, words, sizes.note)
        return y - 1.0, scale

    def _plan(self, chart: Chart, x: float, low: float, k: float) -> None:
        made = self.made
        wide, deep, over = made.width * k, made.depth * k, made.overhang * k
        if made.shape == "circle":
            centre = (x + wide / 2, low + deep / 2)
            chart.items.append(Circle(centre=centre, radius=wide / 2, weight=0.7, fill=ink.PAPER))
            if abs(over) > 1e-6:
                chart.items.append(
                    Arc(
                        centre=centre,
                        radius=wide / 2 - over,
                        start=0.0,
                        end=359.99,
                        weight=0.18,
                        dash=ink.DASH_ZONE,
                    )
                )
            return
        outline = _rounded(x, low, wide, deep, made.radius * k)
        chart.items.append(Polygon(outline=outline, fill=ink.PAPER, weight=0.7))
        if abs(over) > 1e-6:
            box = rectangle(x + over, low + over, x + wide - over, low + deep - over)
            chart.items.append(Line(points=box, closed=True, weight=0.18, dash=ink.DASH_ZONE))

    def _hole(self, chart: Chart, hole: Cutout, x: float, low: float, k: float, name: str) -> None:
        cx, cy = x + hole.at[0] * k, low + hole.at[1] * k
        size = chart.sizes.small
        if hole.depth is None:
            r = hole.width / 2 * k
            chart.items.append(Circle(centre=(cx, cy), radius=r, weight=0.5, fill=ink.PAPER))
            half = (r * 0.7, r * 0.7)
        else:
            half = (hole.width / 2 * k, hole.depth / 2 * k)
            box = rectangle(cx - half[0], cy - half[1], cx + half[0], cy + half[1])
            chart.items.append(Polygon(outline=box, fill=ink.PAPER, weight=0.5))
        for sign in (-1, 1):
            chart.line(cx - half[0], cy - sign * half[1], cx + half[0], cy + sign * half[1], 0.13)
        plate = size / 2 + 0.7
        if min(half) > plate:  # its number in the middle, on paper of its own
            box = rectangle(cx - plate, cy - plate, cx + plate, cy + plate)
            chart.items.append(Polygon(outline=box, fill=ink.PAPER))
            chart.text(cx, cy - size / 2, name, size, bold=True, anchor="middle")
        else:
            chart.text(cx, cy + half[1] + 1.2, name, size, bold=True, anchor="middle", halo=0.6)

    def _section(self, chart: Chart, x: float, top: float) -> float:
        """The edge cut across, with what carries it and how far it reaches beyond."""
        made, sizes = self.made, chart.sizes
        y = top - sizes.name
        scale = 2 if max(made.overhang, 0.0) <= 0.12 else 5
        title = f"The edge, 1:{scale}" if self.system == "metric" else "The edge, enlarged"
        chart.text(x - _LABEL, y, title, sizes.name, bold=True)
        k = 1000 / scale
        thick = made.thickness * k
        over = max(0.0, made.overhang) * k
        left = x + 2.0
        high = y - 4.0
        slab_low = high - thick
        body = max(4.0, min(9.0, 17.0 - thick))
        chart.items.append(
            Polygon(
                outline=rectangle(left + over, slab_low - body, left + over + 24.0, slab_low),
                fill=ink.GREY_5,
                weight=0.18,
            )
        )
        inner = 0.0 if made.overhang >= 0 else -made.overhang * k
        edge = rectangle(left + inner, slab_low, left + over + 30.0, high)
        hatched(chart, edge, weight=0.25, spacing=0.9)
        chart.line(left + inner, slab_low, left + inner, high, 0.7)
        words_at = left + over + 33.0
        chart.text(
            words_at,
            high - thick / 2 - sizes.note / 2,
            f"{thin(made.thickness, self.system)} {made.material}",
            sizes.note,
        )
        if over > 0.0:
            foot = slab_low - body - 1.6 - sizes.note / 2
            chart.line(left, foot, left + over, foot, 0.13)
            for at in (left, left + over):
                chart.line(at - 0.9, foot - 0.9, at + 0.9, foot + 0.9, 0.35)
            within = made.overhang <= made.most_overhang + 1e-9
            words = (
                f"{thin(made.overhang, self.system)} beyond what carries it, at most "
                f"{thin(made.most_overhang, self.system)}"
            )
            if not within:
                words += ": too much without brackets"
            chart.text(left + over + 2.0, foot - sizes.note / 2, words, sizes.note, bold=not within)
        return slab_low - body - (1.5 * sizes.note + 3.4 if over > 0 else 1.0)

    def _slabs(self, chart: Chart, area: Area, top: float, k: float) -> float:
        sizes = chart.sizes
        assert self.slab is not None
        long, broad = self.slab
        beside, rows = self._rows(area.width, k)
        x0 = area.left + _LABEL
        for n, (tops, many) in enumerate(self._kinds()):
            row, column = divmod(n, beside)
            x = x0 + column * (long * k + 4.0)
            y = top - row * (broad * k + 3.0)
            self._slab(chart, x, y, k, tops)
            if many > 1:
                chart.text(
                    x + long * k - 1.6,
                    y - broad * k + 1.6,
                    f"{many} ×",
                    sizes.name,
                    bold=True,
                    anchor="end",
                    halo=1.2,
                )
        words = length_text(broad, self.system)
        measured(chart, (x0 - 3.0, top - broad * k), (x0 - 3.0, top), words)
        y = top - rows * (broad * k + 3.0) + 3.0
        y -= sizes.note + 3.0
        measured(chart, (x0, y - 0.6), (x0 + long * k, y - 0.6), length_text(long, self.system))
        return y - 2.0

    def _slab(self, chart: Chart, x: float, top: float, k: float, tops: int) -> None:
        made = self.made
        assert self.slab is not None
        low = top - self.slab[1] * k
        hatched(chart, rectangle(x, low, x + self.slab[0] * k, top), weight=0.4)
        edge = value("takeoff.top.slab.edge")
        usable = (self.slab[0] - 2 * edge, self.slab[1] - 2 * edge)
        upright = int(usable[0] / made.width + 1e-9) * int(usable[1] / made.depth + 1e-9)
        turn = upright < made.across
        best = (made.depth, made.width) if turn else (made.width, made.depth)
        columns = int(usable[0] / best[0] + 1e-9)
        for n in range(tops):
            row, column = divmod(n, columns)
            left = x + (edge + column * best[0]) * k
            up = top - (edge + row * best[1]) * k
            box = rectangle(left, up - best[1] * k, left + best[0] * k, up)
            if made.shape == "circle":
                centre = (left + best[0] * k / 2, up - best[1] * k / 2)
                radius = best[0] * k / 2
                chart.items.append(Circle(centre=centre, radius=radius, weight=0.3, fill=ink.PAPER))
            else:
                chart.items.append(Polygon(outline=box, fill=ink.PAPER, weight=0.3))
            for hole in made.cutouts:
                a, b = hole.at
                px, py = (left + b * k, up - best[1] * k + a * k) if turn else (
                    left + a * k, up - best[1] * k + b * k)  # fmt: skip
                if hole.depth is None:
                    chart.items.append(
                        Circle(centre=(px, py), radius=hole.width / 2 * k, weight=0.2)
                    )
                    continue
                half = (hole.width / 2 * k, hole.depth / 2 * k)
                w, h = half[::-1] if turn else half
                chart.items.append(
                    Polygon(outline=rectangle(px - w, py - h, px + w, py + h), weight=0.2)
                )


def top_proof(
    result: Top,
    *,
    name: str,
    slab: XY | None = None,
    system: System = "metric",
    page: bool = False,
) -> Proof:
    """The proof of a glass or stone top: size, edges, cut-outs, mass, slabs.

    Parameters
    ----------
    result : Top
        From `designkit.takeoff.tops.top`.
    name : str
        What it lies on, or the top itself, in words.
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
    shown = (
        f"Ø {length_text(result.width, system)}"
        if result.shape == "circle"
        else f"{length_text(result.width, system)} × {length_text(result.depth, system)}"
    )
    people = "one person carries" if result.carriers == 1 else f"{result.carriers} people carry"
    answer = (
        f"A {result.material} top {shown}, {thin(result.thickness, system)} thick: "
        f"{mass_text(result.mass, system)}, {people} it."
    )
    if result.overhang > result.most_overhang + 1e-9:
        answer = answer[:-1] + "; it reaches too far beyond what carries it."
    each = result.edge / result.count
    holes = len(result.cutouts)
    sums = [
        (
            area_text(result.net, system),
            "net"
            + (f", {result.count} tops" if result.count > 1 else "")
            + (f", {holes} cut-out{'s' if holes > 1 else ''} taken off" if holes else ""),
        ),
        (
            length_text(result.edge, system),
            "of polished edge"
            + (f", {length_text(each, system)} each" if result.count > 1 else ""),
        ),
        (thin(result.radius, system), "radius of the corners"),
        (mass_text(result.mass, system), f"each; {people} it"),
        (thin(result.most_overhang, system), "at most beyond what carries it"),
        (
            f"{(1 - result.net / result.order) * 100:.0f}{NBSP}%",
            "of what is bought is left over",
        ),
    ]
    if not result.radius:
        del sums[2]
    if result.slabs:
        word = "slab" if result.slabs == 1 else "slabs"
        sums.append((f"{result.slabs}", f"{word}, {area_text(result.order, system)}"))
        big = f"{result.slabs} {word}"
    else:
        sums.append((area_text(result.order, system), "by the rectangle round it"))
        big = area_text(result.order, system)
    itself = "top" in name.lower()
    drawn = _Drawn(result, slab=slab, system=system, page=page)
    return Proof(
        question=f"What does the {name} take?"
        if itself
        else f"What does a {result.material} top on the {name} take?",
        answer=answer,
        text=f"{answer} {' '.join(w + '.' for w in result.why)}",
        order=Order(
            big=big,
            also=f"{mass_text(result.mass, other)}; {area_text(result.order, other)}",
            sums=tuple(sums),
            cautions=result.cautions,
        ),
        draw=drawn.draw,
        system=system,
    )
