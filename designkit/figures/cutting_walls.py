"""Wallcovering and murals: strips round the developed walls, and their rolls.

The walls are unfolded from the starting line, in the order in which they are
hung; what is not covered is hatched. Under them lie the rolls with the same
strips where they are cut. Walls and rolls are drawn to one scale.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.chart import Chart
from designkit.figures.cutting_parts import (
    Order,
    Proof,
    arrow,
    hatched,
    rectangle,
    scale_for,
    turned,
)
from designkit.figures.drawing import Polygon
from designkit.figures.sheet import Area
from designkit.takeoff.lines import System, area_text, length_text, run_text, whole
from designkit.takeoff.murals import Mural
from designkit.takeoff.surfaces import WallFace, wall_name
from designkit.takeoff.wallcovering import Drop, Roll, Run, Wallcovering
from designkit.units import NBSP

__all__ = ["mural_proof", "wallcovering_proof", "walls_row"]

Named = Callable[[str], str]


@dataclass(frozen=True, kw_only=True)
class _Stretch:
    """A part of a run that stands in one row. [m] along the run"""

    run: Run
    faces: tuple[WallFace, ...]
    low: float
    high: float
    first: bool
    last: bool


def _unfolded(run: Run) -> list[tuple[WallFace, float]]:
    """Each face of a run with where it begins; the laps of corners are not drawn."""
    found, at = [], 0.0
    for face in run.faces:
        found.append((face, at))
        at += face.length
    return found


def _stretches(runs: Sequence[Run], most: float) -> list[_Stretch]:
    """Runs broken at corners so that each part fits a row."""
    found = []
    for run in runs:
        groups: list[list[tuple[WallFace, float]]] = [[]]
        for face, at in _unfolded(run):
            group = groups[-1]
            if group and at + face.length - group[0][1] > most + 1e-9:
                groups.append([])
            groups[-1].append((face, at))
        for i, group in enumerate(groups):
            last = group[-1]
            found.append(
                _Stretch(
                    run=run,
                    faces=tuple(face for face, _ in group),
                    low=group[0][1],
                    high=last[1] + last[0].length,
                    first=i == 0,
                    last=i == len(groups) - 1,
                )
            )
    return found


def walls_row(
    chart: Chart,
    faces: Sequence[WallFace],
    x: float,
    floor: float,
    k: float,
    *,
    named: Named,
    wall_names: bool = True,
) -> float:
    """Walls side by side as they stand, with their openings hatched.

    Parameters
    ----------
    chart : Chart
        What they are drawn on.
    faces : sequence of WallFace
        From left to right.
    x, floor : float
        Lower left corner. [mm]
    k : float
        Paper millimetres a metre.
    named : callable
        An opening's id to its name.
    wall_names : bool, optional
        Whether each wall's number stands under it.

    Returns
    -------
    float
        Where the row ends. [mm]
    """
    sizes = chart.sizes
    for face in faces:
        wide, high = face.length * k, face.height * k
        chart.items.append(
            Polygon(
                outline=rectangle(x, floor, x + wide, floor + high), fill=ink.PAPER, weight=0.25
            )
        )
        for hole in face.holes:
            box = rectangle(
                x + hole.left * k, floor + hole.sill * k, x + hole.right * k, floor + hole.head * k
            )
            hatched(chart, box, weight=0.18, about=hole.id)
            words = named(hole.id)
            room = (hole.right - hole.left) * k
            if lettering.advance(words, size=sizes.small) < room - 1.5 and (
                (hole.head - hole.sill) * k > sizes.small + 1.0
            ):
                chart.text(
                    (box[0][0] + box[1][0]) / 2,
                    (box[0][1] + box[2][1]) / 2 - sizes.small / 2,
                    words,
                    sizes.small,
                    anchor="middle",
                    halo=0.8,
                )
        if wall_names and face.wall >= 0:
            words = wall_name(face.wall)
            if lettering.advance(words, size=sizes.small) < wide - 1.0:
                chart.text(
                    x + wide / 2,
                    floor - sizes.small - 1.4,
                    words,
                    sizes.small,
                    anchor="middle",
                    colour=ink.GREY_1,
                )
        x += wide
    chart.line(x - sum(f.length for f in faces) * k, floor, x, floor, 0.5)
    return x


class _Strips:
    """Walls with their strips, and the rolls that these are cut from."""

    def __init__(
        self, result: Wallcovering, *, roll: Roll, system: System, named: Named, page: bool
    ) -> None:
        self.result, self.roll, self.system, self.named = result, roll, system, named
        self.page = page
        self.short = {f"{d.run} {d.id}": d.id for d in result.drops}

    def _rolls_across(self, room: float, k: float) -> int:
        return max(1, int((room + 6.0) / (self.roll.length * k + 6.0)))

    def _height(self, chart: Chart, room: float, scale: int) -> float:
        k, sizes = 1000 / scale, chart.sizes
        if self.roll.length * k > room:
            return 1e9
        high = 0.0
        for part in _stretches(self.result.runs, room / k):
            high += part.faces[0].height * k + 2 * sizes.note + 8.0
        rolls = self.result.cutting.count + self.result.spare
        lines = -(-rolls // self._rolls_across(room, k))
        each = self.roll.width * k + sizes.small + 3.2
        return high + sizes.name + 4.0 + lines * each + 3 * sizes.pitch(sizes.note)

    def draw(self, chart: Chart, area: Area, most: float) -> tuple[float, int | None]:
        scale = scale_for(
            self.page,
            self.system,
            lambda s: self._height(chart, area.width - 1.0, s) <= most,
            least=20,
        )
        k, sizes = 1000 / scale, chart.sizes
        y = area.top
        for part in _stretches(self.result.runs, (area.width - 1.0) / k):
            y = self._stretch(chart, part, area.left, y, k)
        y -= sizes.name + 2.0
        rolls = self.result.cutting.rolls
        spare = self.result.spare
        head = f"From {len(rolls)} {'roll' if len(rolls) == 1 else 'rolls'}"
        chart.text(
            area.left, y, head + (f", and {spare} spare" if spare else ""), sizes.name, bold=True
        )
        y -= 2.0
        across = self._rolls_across(area.width, k)
        each = self.roll.width * k + sizes.small + 3.2
        for i in range(len(rolls) + spare):
            row, column = divmod(i, across)
            x = area.left + column * (self.roll.length * k + 6.0)
            self._roll(chart, i, x, y - row * each, k)
        y -= -(-(len(rolls) + spare) // across) * each
        for words in self._key():
            y -= sizes.pitch(sizes.note)
            chart.text(area.left, y, words, sizes.note, colour=ink.GREY_1)
        return y - 1.0, scale

    def _key(self) -> list[str]:
        closed = any(run.closed for run in self.result.runs)
        words = "Strips are counted from the starting line. Hatched: not covered; on a roll, waste."
        said = [words]
        said.append(
            "The pattern does not meet at the kill point, where the last strip reaches the first."
            if closed
            else "A run ends where its last wall does: there no pattern has to meet."
        )
        if self.roll.match != "free" and self.roll.repeat:
            said.append(
                f"Short strokes on a roll: the repeat, {length_text(self.roll.repeat, self.system)}"
                f", {self.roll.match} match."
            )
        return said

    def _stretch(self, chart: Chart, part: _Stretch, x: float, top: float, k: float) -> float:
        sizes = chart.sizes
        high = part.faces[0].height * k
        floor = top - sizes.note - 3.4 - high
        walls_row(chart, part.faces, x, floor, k, named=self.named)
        drops = [d for d in self.result.drops if d.run == part.run.name]
        edges: dict[int, list[Drop]] = {}
        for drop in drops:
            edges.setdefault(drop.number, []).append(drop)
        last_text = -1e9
        for number, group in edges.items():
            left, right = group[0].left, group[0].right
            if left >= part.low - 1e-6 and left < part.high - 1e-6 and left > 1e-6:
                at = x + (left - part.low) * k
                for low, upper in self._free(part, left, group):
                    chart.line(
                        at,
                        floor + low * k,
                        at,
                        floor + upper * k,
                        0.18,
                        colour=ink.GREY_1,
                        dash=(1.2, 0.7),
                    )
            low_, high_ = max(left, part.low), min(right, part.high)
            if high_ - low_ > 0.5 * (right - left) and high_ > low_:
                middle = x + ((low_ + high_) / 2 - part.low) * k
                words = str(number + 1)
                half = lettering.advance(words, size=sizes.small) / 2
                far = x + (part.high - part.low) * k
                clear = middle - half > max(last_text + 0.6, x + 0.8)
                if clear and middle + half < far - 0.6:
                    chart.text(middle, top - sizes.note - 1.6, words, sizes.small, anchor="middle")
                    last_text = middle + half
        start = x if part.first else None
        if start is not None:
            chart.line(start, floor - 1.2, start, floor + high + 2.4, 0.7, colour=ink.TIMBER)
            arrow(chart, start, floor - sizes.note - 3.2, start + 6.0, floor - sizes.note - 3.2)
            words = f"start, {part.run.name}"
            room = (part.high - part.low) * k - 24.0
            if lettering.advance(words, size=sizes.note) > room:
                words = "start"
            chart.text(
                start + 7.0, floor - 3.2 - 1.5 * sizes.note, words, sizes.note, colour=ink.TIMBER
            )
        if part.last:
            far = x + (part.high - part.low) * k
            chart.line(
                far, floor - 1.2, far, floor + high + 2.4, 0.7, colour=ink.TIMBER, dash=(1.6, 1.0)
            )
            chart.text(
                far,
                floor - 3.2 - 1.5 * sizes.note,
                "kill point" if part.run.closed else "end",
                sizes.note,
                anchor="end",
                colour=ink.TIMBER,
            )
        return floor - 2 * sizes.note - 4.6

    def _free(self, part: _Stretch, at: float, group: Sequence[Drop]) -> list[tuple[float, float]]:
        """Where the edge of a strip lies on the wall, and not in an opening. [m]"""
        spans = sorted((d.bottom, d.top) for d in group)
        start = part.low
        for face in part.faces:
            for hole in face.holes:
                if start + hole.left - 1e-6 <= at <= start + hole.right + 1e-6:
                    cut = []
                    for low, high in spans:
                        if hole.sill > low + 1e-6:
                            cut.append((low, min(high, hole.sill)))
                        if hole.head < high - 1e-6:
                            cut.append((max(low, hole.head), high))
                    spans = cut
            start += face.length
        return [(low, high) for low, high in spans if high - low > 1e-6]

    def _roll(self, chart: Chart, index: int, x: float, top: float, k: float) -> None:
        rolls = self.result.cutting.rolls
        sizes, roll = chart.sizes, self.roll
        low, long = top - roll.width * k, roll.length * k
        if index >= len(rolls):
            chart.items.append(
                Polygon(outline=rectangle(x, low, x + long, top), weight=0.2, dash=ink.DASH_ZONE)
            )
            chart.text(
                x, low - sizes.small - 1.2, "spare, same dye lot", sizes.small, colour=ink.GREY_1
            )
            return
        hatched(chart, rectangle(x, low, x + long, top), weight=0.3)
        for cut in rolls[index]:
            x0, x1 = x + cut.start * k, x + cut.end * k
            chart.items.append(
                Polygon(outline=rectangle(x0, low, x1, top), fill=ink.PAPER, weight=0.22)
            )
            words = self.short.get(cut.strip.id, cut.strip.id)
            if words.endswith("a") and f"{words[:-1]}b" not in self.short.values():
                words = words[:-1]
            long_ = lettering.advance(words, size=sizes.small, weight="semibold")
            middle = (x0 + x1) / 2
            if long_ < x1 - x0 - 0.4 and top - low > sizes.small + 0.6:
                at = (low + top - sizes.small) / 2
                chart.text(middle, at, words, sizes.small, anchor="middle", bold=True)
            elif long_ < top - low - 0.4 and x1 - x0 > sizes.small + 0.6:
                at = middle + sizes.small / 2
                chart.items.append(turned(words, at, (low + top) / 2, sizes.small, bold=True))
        if roll.repeat and roll.match != "free":
            first = rolls[index][0]
            origin = first.start - first.strip.phase
            at = whole((0 - origin) / roll.repeat - 1e-9)
            while origin + at * roll.repeat <= roll.length + 1e-9:
                px = x + (origin + at * roll.repeat) * k
                chart.line(px, top, px, top + 1.0, 0.2, colour=ink.TIMBER)
                at += 1
        used = sum(c.end - c.start for c in rolls[index])
        words = f"roll {index + 1}, {(1 - used / roll.length) * 100:.0f}{NBSP}% waste"
        chart.text(x, low - sizes.small - 1.2, words, sizes.small, colour=ink.GREY_1)


def wallcovering_proof(
    result: Wallcovering,
    *,
    name: str,
    roll: Roll,
    system: System = "metric",
    named: Named = str,
    page: bool = False,
) -> Proof:
    """The proof that so many rolls are needed.

    Parameters
    ----------
    result : Wallcovering
        From `designkit.takeoff.wallcovering.wallcovering`.
    name : str
        What hangs, in words.
    roll : Roll
        What it was cut from.
    system : {"metric", "US"}, optional
        Of the words.
    named : callable, optional
        An opening's id to its name.
    page : bool, optional
        For a study page.

    Returns
    -------
    Proof
        For `compose`.
    """
    cut = result.cutting
    word = "single rolls" if roll.singles > 1 else "rolls" if result.order != 1 else "roll"
    sums = [
        (area_text(result.area, system), "net, openings out"),
        (f"{result.strips}", f"strips, {len(result.drops)} lengths to cut"),
        (f"{cut.count}", "rolls, as cut below"),
    ]
    if result.rolls - result.spare != cut.count:
        sums.append((f"{result.rolls - result.spare}", "rolls, if each begins in mid-pattern"))
    elif result.cautious.count != cut.count:
        sums.append((f"{result.cautious.count}", "rolls, if each began in mid-pattern"))
    if result.spare:
        sums.append((f"+ {result.spare}", "spare, of the same dye lot"))
    bought = result.rolls * roll.width * roll.length
    sums.append((f"{(1 - result.area / bought) * 100:.0f}{NBSP}%", "of it is waste or spare"))
    if roll.singles > 1:
        sums.append((f"{result.order}", f"{roll.singles} single rolls in each, as priced"))
    else:
        sums.append((f"{result.order}", "to order"))
    other: System = "metric" if system == "US" else "US"
    sure = "no cutting needs fewer" if cut.proven else f"at least {cut.bound} are needed in any way"
    answer = (
        f"{result.order} {word} of {length_text(roll.width, system)} × "
        f"{length_text(roll.length, system)}: {result.strips} strips; {sure}"
        + (f", and {result.spare} spare" if result.spare else "")
        + "."
    )
    strips = _Strips(result, roll=roll, system=system, named=named, page=page)
    return Proof(
        question=f"How many rolls of {name}?",
        answer=answer,
        text=f"{answer} {' '.join(w + '.' for w in result.why)}",
        order=Order(
            big=f"{result.order} {word}",
            also=f"{area_text(bought, system)} in all, {area_text(bought, other)}; a roll is "
            f"{length_text(roll.width, other)} × {run_text(roll.length, other)}",
            sums=tuple(sums),
            cautions=result.cautions,
        ),
        draw=strips.draw,
        system=system,
    )


def mural_proof(
    result: Mural,
    faces: Sequence[WallFace],
    *,
    name: str,
    system: System = "metric",
    named: Named = str,
    page: bool = False,
) -> Proof:
    """The proof of a mural's print: panels over the wall, with what is trimmed.

    Parameters
    ----------
    result : Mural
        From `designkit.takeoff.murals.mural`.
    faces : sequence of WallFace
        That it covers.
    name : str
        Which wall, in words.
    system : {"metric", "US"}, optional
        Of the words.
    named : callable, optional
        An opening's id to its name.
    page : bool, optional
        For a study page.

    Returns
    -------
    Proof
        For `compose`.
    """

    def draw(chart: Chart, area: Area, most: float) -> tuple[float, int | None]:
        sizes = chart.sizes
        extra = 3 * sizes.note + 12.0 + 2 * sizes.pitch(sizes.note)
        scale = scale_for(
            page,
            system,
            lambda s: (
                result.width * 1000 / s <= area.width - 2.0
                and result.height * 1000 / s + extra <= most
            ),
            least=20,
        )
        k = 1000 / scale
        top = area.top - sizes.note - 2.4
        low = top - result.height * k
        left = area.left + 1.0
        inset = result.bleed * k
        walls_row(chart, faces, left + inset, low + inset, k, named=named, wall_names=False)
        chart.items.append(
            Polygon(
                outline=rectangle(left, low, left + result.width * k, top),
                weight=0.3,
                dash=ink.DASH_ZONE,
            )
        )
        for i, (a, b) in enumerate(result.panels):
            if i:
                chart.line(left + a * k, low - 1.0, left + a * k, top + 1.0, 0.3)
            chart.text(
                left + (a + b) / 2 * k,
                top + 1.4,
                str(i + 1),
                sizes.note,
                bold=True,
                anchor="middle",
            )
        y = low - sizes.note - 3.0
        for words in (
            "Dashed: the print, trimmed on the wall. Panels are counted from the left.",
            "Hatched: cut out of the picture on the wall.",
        ):
            y -= sizes.pitch(sizes.note)
            chart.text(area.left, y, words, sizes.note, colour=ink.GREY_1)
        return y - 1.0, scale

    other: System = "metric" if system == "US" else "US"
    size = f"{length_text(result.width, system)} × {length_text(result.height, system)}"
    count = len(result.panels)
    answer = f"One print of {size} in {count} panels, {area_text(result.order, system)}."
    return Proof(
        question=f"How large is the mural for {name}?",
        answer=answer,
        text=f"{answer} {' '.join(w + '.' for w in result.why)}",
        order=Order(
            big=f"{count} panels",
            also=f"{size}; {length_text(result.width, other)} × "
            f"{length_text(result.height, other)}",
            sums=(
                (area_text(result.net, system), "stays on the wall"),
                (
                    f"{(1 - result.net / result.order) * 100:.0f}{NBSP}%",
                    "is trimmed or cut out at openings",
                ),
                (area_text(result.order, system), "printed, in one printing"),
            ),
            cautions=result.cautions,
        ),
        draw=draw,
        system=system,
    )
