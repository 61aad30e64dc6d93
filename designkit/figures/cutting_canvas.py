"""Stretched canvas: the cuts on the roll, the bars from behind, what is sawn from stock."""

from __future__ import annotations

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
    turned,
)
from designkit.figures.drawing import Line, Polygon
from designkit.figures.sheet import Area
from designkit.reference import value
from designkit.takeoff.canvas import Canvas
from designkit.takeoff.lines import System, area_text, length_text, mass_text, run_text
from designkit.units import NBSP

__all__ = ["canvas_proof"]

_LABEL = 11.0  # for a width at the left [mm]
_ROW = 6.4  # of one length of stock [mm]


def _pair(a: float, b: float, system: System) -> str:
    if system == "US":
        return f"{length_text(a, system)} × {length_text(b, system)}"
    return f"{a * 1000:.0f} × {b * 1000:.0f}{NBSP}mm"


class _Drawn:
    """Roll above; below it the back of one canvas and the stock of the bars."""

    def __init__(self, made: Canvas, *, system: System, page: bool) -> None:
        self.made, self.system, self.page = made, system, page
        groups: dict[tuple[float, ...], int] = {}
        for stick in made.sticks:
            key = tuple(round(x, 4) for x in stick)
            groups[key] = groups.get(key, 0) + 1
        self.sticks = list(groups.items())

    def _fits(self, chart: Chart, area: Area, most: float, scale: int) -> bool:
        made, k, sizes = self.made, 1000 / scale, chart.sizes
        wide = max(
            _LABEL + made.run * k,
            _LABEL + self._beside(chart, k) + made.stock * k + 9.0,
        )
        below = max(
            made.height * k + 3 * sizes.note + 4.0, len(self.sticks) * _ROW + sizes.name + 4.0
        )
        heads = 2 * (sizes.name + 4.0) + sizes.note + 12.0
        notes = 3 * sizes.pitch(sizes.note)
        return wide <= area.width and made.roll * k + below + heads + notes <= most

    def _beside(self, chart: Chart, k: float) -> float:
        """From the left of the back to the stock beside it; a small picture has wider words."""
        sides = (length_text(s, self.system) for s in (self.made.width, self.made.height))
        words = lettering.advance(" × ".join(sides), size=chart.sizes.note)
        return max(self.made.width * k, words) + 14.0

    def draw(self, chart: Chart, area: Area, most: float) -> tuple[float, int | None]:
        made, sizes = self.made, chart.sizes
        scale = scale_for(
            self.page, self.system, lambda s: self._fits(chart, area, most, s), least=5
        )
        k = 1000 / scale
        y = area.top - sizes.name
        chart.text(area.left, y, "On the roll", sizes.name, bold=True)
        y -= 4.2
        self._roll(chart, area.left + _LABEL, y, k)
        y -= made.roll * k + sizes.note + 10.0
        left = area.left + _LABEL
        y -= sizes.name
        chart.text(area.left, y, "From behind", sizes.name, bold=True)
        right = left + self._beside(chart, k)
        sawn = f"Sawn from {length_text(made.stock, self.system)}"
        chart.text(right, y, sawn, sizes.name, bold=True)
        top = y - 3.0
        end = min(self._back(chart, left, top, k), self._stock(chart, right, top, k))
        words = (
            "Dashes: the face. Hatched: left over. Grey: canvas turned behind the bars; it is "
            f"{thin(made.turn, self.system)} wide, after {thin(made.bar_depth, self.system)} "
            "round the edge."
        )
        y = end - 1.0
        for line in lettering.wrap(words, size=sizes.note, width=area.width):
            y -= sizes.pitch(sizes.note)
            chart.text(area.left, y, line, sizes.note, colour=ink.GREY_1)
        return y - 1.0, scale

    def _roll(self, chart: Chart, x: float, top: float, k: float) -> None:
        made, sizes = self.made, chart.sizes
        low = top - made.roll * k
        hatched(chart, rectangle(x, low, x + made.run * k, top), weight=0.4)
        rim = (made.bar_depth + made.turn) * k
        for laid in made.laid:
            across, along = laid.rectangle.width / 1000 * k, laid.rectangle.length / 1000 * k
            x0, y1 = x + laid.y / 1000 * k, top - laid.x / 1000 * k
            box = rectangle(x0, y1 - across, x0 + along, y1)
            chart.items.append(Polygon(outline=box, fill=ink.PAPER, weight=0.35))
            inner = rectangle(x0 + rim, y1 - across + rim, x0 + along - rim, y1 - rim)
            chart.items.append(Line(points=inner, closed=True, weight=0.18, dash=ink.DASH_ZONE))
            name = laid.rectangle.id if made.count > 1 else ""
            middle = (x0 + along / 2, y1 - across / 2)
            lines = [name] if name else []
            lines.append("cut " + _pair(*made.cut, self.system))
            lines.append("face " + _pair(made.width, made.height, self.system))
            room = along - 2 * rim - 1.0
            shown = [w for w in lines if lettering.advance(w, size=sizes.note) < room]
            if across - 2 * rim < len(shown) * sizes.pitch(sizes.note) + 1.0:
                shown = shown[:1]
            at = middle[1] + (len(shown) / 2) * sizes.pitch(sizes.note) - sizes.note - 0.3
            for words in shown:
                chart.text(
                    middle[0], at, words, sizes.note, anchor="middle", bold=words == name, halo=0.4
                )
                at -= sizes.pitch(sizes.note)
        measured(chart, (x - 5.0, low), (x - 5.0, top), length_text(made.roll, self.system))
        foot, end = low - 3.4, x + made.length * k
        words = f"{length_text(made.length, self.system)} cut"
        measured(chart, (x, foot), (end, foot), words, side=-1)

    def _back(self, chart: Chart, x: float, top: float, k: float) -> float:
        made, sizes = self.made, chart.sizes
        wide, high = made.width * k, made.height * k
        low = top - high
        bar = value("takeoff.canvas.bar_width") * k
        turn = made.turn * k
        outer = rectangle(x, low, x + wide, top)
        chart.items.append(Polygon(outline=outer, fill=ink.PAPER, weight=0.4))
        strip = rectangle(x + turn, low + turn, x + wide - turn, top - turn)
        chart.items.append(Polygon(outline=outer, holes=(strip,), fill=ink.GREY_5, weight=0.0))
        inner = rectangle(x + bar, low + bar, x + wide - bar, top - bar)
        chart.items.append(Line(points=outer, closed=True, weight=0.4))
        chart.items.append(Line(points=inner, closed=True, weight=0.25))
        for (ax, ay), (bx, by) in zip(outer, inner, strict=True):
            chart.line(ax, ay, bx, by, 0.18)
        upright, across = made.braces
        for n in range(1, upright + 1):
            mid = x + wide * n / (upright + 1)
            box = rectangle(mid - bar / 2, low + bar, mid + bar / 2, top - bar)
            chart.items.append(Polygon(outline=box, fill=ink.PAPER, weight=0.25))
        for n in range(1, across + 1):
            mid = low + high * n / (across + 1)
            box = rectangle(x + bar, mid - bar / 2, x + wide - bar, mid + bar / 2)
            chart.items.append(Polygon(outline=box, fill=ink.PAPER, weight=0.25))
        words, tall = (length_text(s, self.system) for s in (made.width, made.height))
        if lettering.advance(tall, size=sizes.note) < high - 1.0:
            chart.items.append(turned(tall, x - 2.0, (top + low) / 2, sizes.note))
        else:
            words = f"{words} × {tall}"
        chart.text(x, low - sizes.note - 1.4, words, sizes.note)
        return low - sizes.note - 2.4

    def _stock(self, chart: Chart, x: float, top: float, k: float) -> float:
        made, sizes = self.made, chart.sizes
        saw = value("takeoff.canvas.saw") * k
        high = 4.0  # a fraction stands clear of the lines
        y = top
        for stick, count in self.sticks:
            hatched(chart, rectangle(x, y - high, x + made.stock * k, y), weight=0.25, spacing=1.2)
            at = x
            for long in stick:
                box = rectangle(at, y - high, at + long * k, y)
                chart.items.append(Polygon(outline=box, fill=ink.PAPER, weight=0.25))
                words = length_text(long, self.system)
                if lettering.advance(words, size=sizes.small) < long * k - 1.0:
                    chart.text(
                        at + long * k / 2,
                        y - high / 2 - sizes.small / 2,
                        words,
                        sizes.small,
                        anchor="middle",
                    )
                at += long * k + saw
            if count > 1:
                chart.text(
                    x + made.stock * k + 1.6,
                    y - high / 2 - sizes.small / 2,
                    f"{count} ×",
                    sizes.small,
                    bold=True,
                )
            y -= _ROW
        return y


def canvas_proof(
    result: Canvas, *, name: str, system: System = "metric", page: bool = False
) -> Proof:
    """The proof of a stretched canvas: cloth from the roll, bars, weight.

    Parameters
    ----------
    result : Canvas
        From `designkit.takeoff.canvas.canvas`.
    name : str
        The picture in words.
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
    count = len(result.sticks)
    bars = f"{count} bar{'' if count == 1 else 's'} of {length_text(result.stock, system)}"
    run = run_text(result.run, system)
    many = f"{result.count} canvases" if result.count > 1 else "one canvas"
    answer = (
        f"{run} of canvas {length_text(result.roll, system)} wide and {bars} for {many} of "
        f"{_pair(result.width, result.height, system)}; {mass_text(result.mass, system)} each."
    )
    sums = [
        (area_text(result.net, system), "of face" + (f", {many}" if result.count > 1 else "")),
        (_pair(*result.cut, system), "each cut, with the wrap"),
        (
            f"{(1 - result.net / result.order) * 100:.0f}{NBSP}%",
            "of the canvas is wrap and left over",
        ),
        *((f"{bar.count} × {length_text(bar.length, system)}", bar.what) for bar in result.bars),
        (mass_text(result.mass, system), "each, without its fixings"),
        (mass_text(result.fixing, system), "what each of two fixings is rated for"),
        (bars, "to order"),
        (run, "of canvas to order"),
    ]
    drawn = _Drawn(result, system=system, page=page)
    return Proof(
        question=f"What does the {name} take?",
        answer=answer,
        text=f"{answer} {' '.join(w + '.' for w in result.why)}",
        order=Order(
            big=run,
            also=f"{run_text(result.run, other)}; {area_text(result.order, other)}; "
            f"{mass_text(result.mass, other)}",
            sums=tuple(sums),
            cautions=result.cautions,
        ),
        draw=drawn.draw,
        system=system,
    )
