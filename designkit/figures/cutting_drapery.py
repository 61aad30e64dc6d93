"""Drapery: how it hangs, the widths with both roundings, and one cut.

Everything is drawn to one scale: the opening with the drapery open and closed,
the cloth flat above its track for each rounding of the widths, and the cut
with what goes into hem, heading, shrinkage and the repeat.
"""

from __future__ import annotations

from dataclasses import dataclass

from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.chart import Chart
from designkit.figures.cutting_parts import Order, Proof, hatched, rectangle, scale_for, turned
from designkit.figures.drawing import Hatch, Line, Polygon
from designkit.figures.sheet import Area
from designkit.model import Drape, Opening
from designkit.plan.drapery import Drapery as Hanging
from designkit.reference import value
from designkit.takeoff.drapery import Drapery, LayerQuantity, Widths
from designkit.takeoff.lines import System, length_text, mass_text, run_text, whole
from designkit.units import NBSP

__all__ = ["Hung", "drapery_proof"]


@dataclass(frozen=True, kw_only=True)
class Hung:
    """Where drapery hangs: all that the elevation needs."""

    drape: Drape
    opening: Opening
    ceiling: float  # [m]
    hanging: Hanging
    mirrored: bool  # the wall is written from right to left, as seen from inside


def _fine(metres: float, system: System) -> str:
    """A few millimetres, or a fraction of an inch."""
    if system == "US" or metres >= 0.1:
        return length_text(metres, system)
    return f"{metres * 1000:.1f}".removesuffix(".0") + f"{NBSP}mm"


def _hem_words(hung: Hung, system: System) -> str:
    hang = hung.hanging
    if hang.on_floor > 0:
        return f"{_fine(hang.on_floor, system)} on the floor"
    if hang.hem > 0:
        return f"{_fine(hang.hem, system)} clear of the floor"
    return "kissing the floor"


class _Drawn:
    """One drapery while its proof is drawn."""

    def __init__(
        self, result: Drapery, hung: Hung, *, repeat: float, system: System, page: bool
    ) -> None:
        self.result, self.hung, self.repeat = result, hung, repeat
        self.system, self.page = system, page
        self.face = result.face

    def _options(self) -> list[tuple[Widths, bool]]:
        face = self.face
        if face.up is None or face.down is None:
            return []
        found = [(face.up, face.up.widths == face.cuts)]
        if face.down.widths != face.up.widths:
            found.append((face.down, face.down.widths == face.cuts))
        return found

    def _longest(self) -> float:
        face = self.face
        wide = [w.widths * face.cloth_width for w, _ in self._options()]
        along = face.order if face.way == "railroaded" else face.cut
        return (
            max(self.result.track + 1.6, along, *wide)
            if wide
            else max(self.result.track + 1.6, along)
        )

    def _height(self, chart: Chart, scale: int) -> float:
        k, sizes = 1000 / scale, chart.sizes
        high = self.hung.ceiling * k + 2 * sizes.note + 12.0
        rows = len(self._options())
        high += rows * (2 * sizes.note + 16.0) + sizes.head + 4.0
        high += self.face.cloth_width * k + 3 * sizes.note + 12.0
        return high

    def draw(self, chart: Chart, area: Area, most: float) -> tuple[float, int | None]:
        scale = scale_for(
            self.page,
            self.system,
            lambda s: (
                self._longest() * 1000 / s <= area.width - 2.0 and self._height(chart, s) <= most
            ),
            least=20,
        )
        k = 1000 / scale
        y = self._elevation(chart, area.left, area.top, area.width, k)
        if self.face.way == "railroaded":
            y = self._railroaded(chart, area.left, y, k)
        else:
            y = self._widths(chart, area.left, y, k)
            y = self._cut(chart, area.left, y, k)
        return y, scale

    def _elevation(self, chart: Chart, x: float, top: float, width: float, k: float) -> float:
        hung, sizes = self.hung, chart.sizes
        hang, opening = hung.hanging, hung.opening
        low = min(hang.track_start, opening.offset) - 0.3
        high = max(hang.track_end, opening.offset + opening.width) + 0.3
        left = x + 12.0

        def at(s: float) -> float:
            return left + ((high - s) if hung.mirrored else (s - low)) * k

        ceiling = top - sizes.note - 4.6
        floor = ceiling - hung.ceiling * k
        ends = sorted((at(low), at(high)))
        chart.line(ends[0], ceiling, ends[1], ceiling, 0.35)
        chart.line(ends[0], floor, ends[1], floor, 0.7)
        glass = sorted((at(opening.offset), at(opening.offset + opening.width)))
        chart.items.append(
            Polygon(
                outline=rectangle(
                    glass[0], floor + opening.sill * k, glass[1], floor + opening.head * k
                ),
                fill=ink.PAPER,
                weight=0.25,
                about=hung.drape.opening,
            )
        )
        for state, style in (("closed", False), ("open", True)):
            for one in hang.states[state]:
                sides = sorted((at(one.start), at(one.end)))
                box = rectangle(sides[0], floor + one.base * k, sides[1], floor + one.top * k)
                if style:
                    chart.items.append(Polygon(outline=box, fill=ink.GREY_5, weight=0.25))
                    chart.items.append(
                        Hatch(outline=box, angle=90.0, spacing=0.9, weight=0.13, ink=ink.GREY_1)
                    )
                else:
                    chart.items.append(Polygon(outline=box, weight=0.18, dash=ink.DASH_ZONE))
        track = sorted((at(hang.track_start), at(hang.track_end)))
        up = floor + hang.states["open"][0].top * k
        chart.line(track[0], up, track[1], up, 0.6)
        self._dimension(
            chart,
            track[0],
            track[1],
            ceiling + 2.0,
            f"track {length_text(self.result.track, self.system)}",
        )
        side = ends[0] - 4.0
        bottom = floor + hang.hem * k
        chart.line(side, up, side, bottom, 0.13)
        for mark in (up, bottom):
            chart.line(side - 0.9, mark - 0.9, side + 0.9, mark + 0.9, 0.35)
        chart.items.append(
            turned(
                f"drop {length_text(self.result.drop, self.system)}",
                side - 1.3,
                (up + bottom) / 2,
                sizes.note,
            )
        )
        room = width + x - ends[1]
        if room > 26.0:
            self._section(chart, ends[1] + 14.0, floor, ceiling, k)
        y = floor - sizes.note - 2.0
        for words in (
            f"Open, it hides {length_text(hang.hidden_open, self.system)} of the glass, "
            f"{hang.share_hidden_open * 100:.0f}{NBSP}%; the stack is "
            f"{length_text(hang.stack, self.system)} in all.",
            f"The hem is {_hem_words(hung, self.system)}.",
        ):
            for line in lettering.wrap(words, size=sizes.note, width=width):
                chart.text(x, y, line, sizes.note, colour=ink.GREY_1)
                y -= sizes.pitch(sizes.note)
        return y - 1.0

    def _section(self, chart: Chart, x: float, floor: float, ceiling: float, k: float) -> None:
        """Wall, window, track and cloth, cut across."""
        hung = self.hung
        opening, hang = hung.opening, hung.hanging
        thick = max(1.6, opening.thickness * k)
        for low, high in ((0.0, opening.sill), (opening.head, hung.ceiling)):
            if high - low > 1e-6:
                box = rectangle(x, floor + low * k, x + thick, floor + high * k)
                chart.items.append(Polygon(outline=box, fill=ink.CUT_FILL, weight=0.35))
        glass = x + thick * 0.4
        chart.line(glass, floor + opening.sill * k, glass, floor + opening.head * k, 0.25)
        depth = max(0.7, value("plan.drapery.depth_closed") * k / 2)
        cloth = x + thick + max(1.6, value("plan.drapery.track_offset") * k)
        chart.line(x, ceiling, cloth + depth + 8.0, ceiling, 0.35)
        chart.line(x, floor, cloth + depth + 8.0, floor, 0.7)
        up, down = floor + hang.states["open"][0].top * k, floor + hang.hem * k
        chart.items.append(
            Polygon(
                outline=rectangle(cloth - 0.8, up - 0.9, cloth + 0.8, up), fill=ink.INK, weight=0.0
            )
        )
        folds = 9
        points = [(cloth, up - 0.9)]
        for i in range(1, folds):
            side = depth * 0.35 * (1 if i % 2 else -1)
            points.append((cloth + side, up - 0.9 + (down - up + 0.9) * i / folds))
        points.append((cloth, down))
        if hang.on_floor > 0:
            points.append((cloth + max(1.2, hang.on_floor * k), floor + 0.3))
        chart.items.append(Line(points=tuple(points), weight=0.3))
        chart.text(
            x + thick / 2,
            ceiling + 1.6,
            "section",
            chart.sizes.small,
            anchor="middle",
            colour=ink.GREY_1,
        )

    def _dimension(self, chart: Chart, x0: float, x1: float, y: float, words: str) -> None:
        chart.line(x0, y, x1, y, 0.13)
        for x in (x0, x1):
            chart.line(x - 0.9, y - 0.9, x + 0.9, y + 0.9, 0.35)
        chart.text((x0 + x1) / 2, y + 1.2, words, chart.sizes.note, anchor="middle", halo=0.5)

    def _widths(self, chart: Chart, x: float, y: float, k: float) -> float:
        sizes = chart.sizes
        options = self._options()
        y -= sizes.name + 1.0
        head = "Both roundings of the widths" if len(options) > 1 else "The widths come out even"
        chart.text(x, y, head, sizes.name, bold=True)
        panels = self.result.panels
        for option, chosen in sorted(options, key=lambda o: -o[0].widths):
            y -= sizes.note + 3.0
            usual = "usual" if option.within else "outside what is usual"
            words = (
                f"{option.widths} widths: fullness {option.fullness:.2f}, {usual} for "
                f"{self.result.heading}" + ("; taken" if chosen else "")
            )
            chart.text(x, y, words, sizes.note, bold=chosen)
            high = 6.0
            y -= 1.4 + high
            self._flat(chart, x, y, high, option.widths, panels, k, chosen)
            y -= 2.2
            chart.line(x, y, x + self.result.track * k, y, 0.6)
            chart.text(
                x + self.result.track * k + 1.6,
                y - sizes.note / 2,
                "track",
                sizes.small,
                colour=ink.GREY_1,
            )
            y -= 1.6
        return y - 1.0

    def _flat(
        self,
        chart: Chart,
        x: float,
        y: float,
        high: float,
        count: int,
        panels: int,
        k: float,
        chosen: bool,
    ) -> None:
        """Widths side by side; an odd one of a pair is halved, the half outside."""
        wide = self.face.cloth_width * k
        parts: list[list[float]]
        if panels == 2:
            half = [0.5] if count % 2 else []
            each = [1.0] * (count // 2)
            parts = [[*half, *each], [*each, *half]]
        else:
            parts = [[1.0] * count]
        at = x
        for number, part in enumerate(parts):
            start = at
            for i, share in enumerate(part):
                end = at + share * wide
                chart.items.append(
                    Polygon(
                        outline=rectangle(at, y, end, y + high),
                        fill=ink.GREY_5 if chosen else ink.PAPER,
                    )
                )
                if i:
                    chart.line(at, y, at, y + high, 0.2, dash=(0.9, 0.6))
                words = "½" if share < 1 else ""
                if words and end - at > 3.0:
                    chart.text(
                        (at + end) / 2,
                        y + high / 2 - chart.sizes.small / 2,
                        words,
                        chart.sizes.small,
                        anchor="middle",
                    )
                at = end
            chart.items.append(
                Polygon(outline=rectangle(start, y, at, y + high), weight=0.35 if chosen else 0.2)
            )
            if number == 0 and len(parts) > 1:
                at += 1.2

    def _raw(self) -> float:
        """One cut before it is rounded up to the repeat. [m]"""
        return self.face.area / (self.face.cuts * self.face.cloth_width)

    def _cut(self, chart: Chart, x: float, y: float, k: float) -> float:
        sizes, face = chart.sizes, self.face
        y -= sizes.name + 2.4
        chart.text(x, y, f"One cut of {face.cuts}, along the roll", sizes.name, bold=True)
        wide = face.cloth_width * k
        top = y - 1.8 - (sizes.note + 2.0 if self.repeat else 0.0)
        low = top - wide
        raw = self._raw()
        drop = self.result.drop
        chart.items.append(
            Polygon(outline=rectangle(x, low, x + drop * k, top), fill=ink.PAPER, weight=0.25)
        )
        box = rectangle(x + drop * k, low, x + raw * k, top)
        chart.items.append(Polygon(outline=box, fill=ink.GREY_5, weight=0.25))
        if face.cut > raw + 1e-6:
            hatched(chart, rectangle(x + raw * k, low, x + face.cut * k, top), weight=0.25)
        if self.repeat:
            for i in range(whole(face.cut / self.repeat - 1e-9) + 1):
                px = x + i * self.repeat * k
                chart.line(px, low, px, top + 1.4, 0.16, colour=ink.TIMBER, dash=ink.DASH_SIGHT)
                chart.text(
                    px,
                    top + 2.2,
                    str(i),
                    sizes.note,
                    anchor="middle" if i else "start",
                    colour=ink.TIMBER,
                )
        chart.text(
            x + drop * k / 2,
            (low + top) / 2 - sizes.note / 2,
            f"drop {length_text(drop, self.system)}",
            sizes.note,
            anchor="middle",
            halo=0.6,
        )
        side = x + face.cut * k + 3.0
        at = top - sizes.note
        lines = [
            f"{length_text(face.cut, self.system)} a cut, cloth "
            f"{length_text(face.cloth_width, self.system)} wide",
            f"grey: {length_text(raw - drop, self.system)} for hem, heading and shrinkage",
        ]
        if face.cut > raw + 1e-6:
            lines.append(f"hatched: {length_text(face.cut - raw, self.system)} to the next repeat")
        for words in lines:
            chart.text(side, at, words, sizes.note, colour=ink.GREY_1)
            at -= sizes.pitch(sizes.note)
        return min(low, at) - 3.0

    def _railroaded(self, chart: Chart, x: float, y: float, k: float) -> float:
        sizes, face = chart.sizes, self.face
        y -= sizes.name + 1.4
        chart.text(x, y, "Turned: the cloth runs along the track, no seam", sizes.name, bold=True)
        top = y - 2.0
        low = top - face.cloth_width * k
        drop = face.area / (face.cuts * face.cut)  # with hem and heading
        hatched(chart, rectangle(x, low, x + face.order * k, top), weight=0.25)
        for i in range(face.cuts):
            box = rectangle(x + i * face.cut * k, top - drop * k, x + (i + 1) * face.cut * k, top)
            chart.items.append(Polygon(outline=box, fill=ink.PAPER, weight=0.3))
            chart.text(
                (box[0][0] + box[1][0]) / 2,
                (box[0][1] + box[2][1]) / 2 - sizes.note / 2,
                f"panel {i + 1}, {length_text(face.cut, self.system)}",
                sizes.note,
                anchor="middle",
                halo=0.5,
            )
        y = low - sizes.note - 2.0
        words = (
            f"Cloth {length_text(face.cloth_width, self.system)} wide holds the cut drop of "
            f"{length_text(drop, self.system)}; hatched: left over."
        )
        chart.text(x, y, words, sizes.note, colour=ink.GREY_1)
        return y - 3.0


def _layer_sum(layer: LayerQuantity, system: System) -> tuple[str, str]:
    return run_text(layer.order, system), f"of {layer.name}, {layer.cuts} cuts"


def drapery_proof(
    result: Drapery,
    hung: Hung,
    *,
    name: str,
    cloth: str = "",
    repeat: float = 0.0,
    system: System = "metric",
    page: bool = False,
) -> Proof:
    """The proof that so much cloth is needed for drapery.

    Parameters
    ----------
    result : Drapery
        From `designkit.takeoff.drapery.drapery`.
    hung : Hung
        Where it hangs.
    name : str
        Where, in words.
    cloth : str, optional
        Its cloth in words.
    repeat : float, optional
        Pattern repeat along the roll. [m]
    system : {"metric", "US"}, optional
        Of the words.
    page : bool, optional
        For a study page.

    Returns
    -------
    Proof
        For `compose`.
    """
    face = result.face
    other: System = "metric" if system == "US" else "US"
    sums = [(length_text(face.flat_width, system), "flat, before it is gathered")]
    if face.way == "railroaded":
        sums.append((length_text(face.cut, system), f"a panel, {face.cuts} along the roll"))
    else:
        sums.append((f"{face.cuts}", f"widths of {length_text(face.cloth_width, system)}"))
        sums.append((length_text(face.cut, system), "a cut"))
    sums.append((run_text(face.cut * face.cuts, system), "all cuts"))
    sums.append((mass_text(result.mass, system), "hang on the track, about"))
    for layer in (result.lining, result.interlining):
        if layer is not None:
            sums.append(_layer_sum(layer, system))
    waste = (1 - face.net / face.order) * 100 if face.order else 0.0
    sums.append((f"{waste:.0f}{NBSP}%", "of it is hems, joins and rounding"))
    sums.append((run_text(face.order, system), "rounded up to what is sold"))
    way = "turned, no seam" if face.way == "railroaded" else f"{face.cuts} widths"
    answer = (
        f"{run_text(face.order, system)} of the {length_text(face.cloth_width, system)} cloth"
        + (f", {cloth}" if cloth else "")
        + f": {way}, fullness {face.fullness:.2f}."
    )
    if result.lining is not None:
        answer = answer[:-1] + f"; and {run_text(result.lining.order, system)} of lining."
    drawn = _Drawn(result, hung, repeat=repeat, system=system, page=page)
    return Proof(
        question=f"How much cloth does the drapery at the {name} need?",
        answer=answer,
        text=f"{answer} {' '.join(w + '.' for w in result.why)}",
        order=Order(
            big=run_text(face.order, system),
            also=f"{run_text(face.order, other)}, on cloth "
            f"{length_text(face.cloth_width, other)} wide",
            sums=tuple(sums),
            cautions=result.cautions,
        ),
        draw=drawn.draw,
        system=system,
    )
