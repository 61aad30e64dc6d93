"""Paint and textured ceilings: the areas as they stand, and what covers them.

Walls stand as they are seen from inside, ceilings as they lie in plan, all to
one scale, with what is left out hatched. Cans are drawn to the cube root of
what they hold. A ceiling behind its gate has no days.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.chart import Chart
from designkit.figures.cutting_parts import Order, Proof, rectangle, scale_for
from designkit.figures.cutting_walls import walls_row
from designkit.figures.drawing import Hatch, Polygon
from designkit.figures.sheet import Area
from designkit.takeoff.ceiling import CeilingWork
from designkit.takeoff.lines import System, area_text, volume_text
from designkit.takeoff.paint import Paint, cans
from designkit.takeoff.surfaces import WallFace
from designkit.units import NBSP

__all__ = ["Plate", "ceiling_proof", "paint_proof"]

_TOP = 1.2  # above the first row [mm]


@dataclass(frozen=True, kw_only=True)
class Plate:
    """One surface: a wall, the face of a column, or a ceiling in plan."""

    room: str  # name
    name: str  # "wall 2", "ceiling"
    net: float  # [m²]
    face: WallFace | None = None
    outline: tuple[tuple[float, float], ...] = ()  # of a ceiling, in plan [m]

    @property
    def size(self) -> tuple[float, float]:
        """Width and height. [m]"""
        if self.face is not None:
            return self.face.length, self.face.height
        xs, ys = [p[0] for p in self.outline], [p[1] for p in self.outline]
        return max(xs) - min(xs), max(ys) - min(ys)


def _rows(plates: Sequence[Plate], most: float, gap: float) -> list[list[Plate]]:
    """Plates in rows, a new row for each room. [m]"""
    rows: list[list[Plate]] = []
    wide = 0.0
    for plate in plates:
        long = plate.size[0]
        new = not rows or rows[-1][-1].room != plate.room or wide + gap + long > most + 1e-9
        if new:
            rows.append([])
            wide = 0.0
        rows[-1].append(plate)
        wide += long + (0.0 if new else gap)
    return rows


class _Plates:
    """Plates in rows to one scale."""

    def __init__(
        self,
        plates: Sequence[Plate],
        *,
        system: System,
        named: Callable[[str], str],
        page: bool,
        textured: bool = False,
        notes: Sequence[str] = (),
    ) -> None:
        self.plates, self.system, self.named = tuple(plates), system, named
        self.page, self.textured, self.notes = page, textured, tuple(notes)

    def _height(self, chart: Chart, width: float, scale: int) -> float:
        k, sizes = 1000 / scale, chart.sizes
        if any(p.size[0] * k > width for p in self.plates):
            return 1e9
        rows = _rows(self.plates, width / k, 3.0 / k)
        heads = len({p.room for p in self.plates}) * (sizes.name + 4.0)
        each = sum(max(p.size[1] for p in row) * k + sizes.small + 5.0 for row in rows)
        return heads + each + len(self.notes) * 1.5 * sizes.pitch(sizes.note)

    def draw(self, chart: Chart, area: Area, most: float) -> tuple[float, int | None]:
        width = area.width - 1.0
        scale = scale_for(
            self.page,
            self.system,
            lambda s: self._height(chart, width, s) <= most,
            least=40,
        )
        k, sizes = 1000 / scale, chart.sizes
        y = area.top - _TOP
        room = ""
        for row in _rows(self.plates, width / k, 3.0 / k):
            if row[0].room != room:
                room = row[0].room
                y -= sizes.name + (2.0 if y < area.top - 3 else 0.0)
                words = lettering.shorten(
                    room[:1].upper() + room[1:], size=sizes.name, width=width, weight="semibold"
                )
                chart.text(area.left, y, words, sizes.name, bold=True)
                y -= 2.0
            high = max(p.size[1] for p in row) * k
            x = area.left + 0.5
            for plate in row:
                wide = plate.size[0] * k
                # The name of the last in a row may run on to the right.
                room_for = area.left + width - x if plate is row[-1] else wide + 2.6
                self._plate(chart, plate, x, y - high, k, max(room_for, 9.0))
                x += wide + 3.0
            y -= high + sizes.small + 4.4
        for words in self.notes:
            for line in lettering.wrap(words, size=sizes.note, width=width):
                y -= sizes.pitch(sizes.note)
                chart.text(area.left, y, line, sizes.note, colour=ink.GREY_1)
        return y - 1.0, scale

    def _plate(
        self, chart: Chart, plate: Plate, x: float, low: float, k: float, room_for: float
    ) -> None:
        sizes = chart.sizes
        wide, high = plate.size[0] * k, plate.size[1] * k
        if plate.face is not None:
            walls_row(chart, [plate.face], x, low, k, named=self.named, wall_names=False)
        else:
            left = min(p[0] for p in plate.outline)
            bottom = min(p[1] for p in plate.outline)
            ring = tuple((x + (px - left) * k, low + (py - bottom) * k) for px, py in plate.outline)
            chart.items.append(Polygon(outline=ring, fill=ink.PAPER, weight=0.35))
            if self.textured:
                for angle in (20.0, 110.0):
                    chart.items.append(
                        Hatch(outline=ring, angle=angle, spacing=2.4, weight=0.09, ink=ink.GREY_3)
                    )
        words = area_text(plate.net, self.system)
        # The figure stands in the largest free stretch of the wall.
        middle, free = x + wide / 2, wide
        if plate.face is not None and plate.face.holes:
            edges = [0.0]
            for hole in sorted(plate.face.holes, key=lambda h: h.left):
                edges += [hole.left, hole.right]
            edges.append(plate.face.length)
            gaps = [(b - a, (a + b) / 2) for a, b in zip(edges[::2], edges[1::2], strict=True)]
            free, at = max(gaps)
            free, middle = free * k, x + at * k
        elif plate.outline:
            middle, at_y = _inside(plate.outline)
            left = min(p[0] for p in plate.outline)
            bottom = min(p[1] for p in plate.outline)
            middle = x + (middle - left) * k
            chart.text(
                middle,
                low + (at_y - bottom) * k - sizes.note / 2,
                words,
                sizes.note,
                bold=True,
                anchor="middle",
                halo=1.0,
            )
        if plate.face is not None:
            long = lettering.advance(words, size=sizes.note, weight="semibold")
            if long < free - 0.8:
                chart.text(
                    middle,
                    low + high / 2 - sizes.note / 2,
                    words,
                    sizes.note,
                    bold=True,
                    anchor="middle",
                    halo=0.6,
                )
                label = plate.name
            else:
                label = f"{plate.name}, {words}"
        else:
            label = plate.name
        label = lettering.shorten(label, size=sizes.small, width=room_for)
        chart.text(x, low - sizes.small - 1.3, label, sizes.small, colour=ink.GREY_1)


def _inside(outline: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """A point well inside an outline."""
    from shapely import maximum_inscribed_circle
    from shapely.geometry import Polygon as Shape

    line = maximum_inscribed_circle(Shape(outline), tolerance=0.02)
    x, y = line.coords[0]
    return float(x), float(y)


def _draw_cans(chart: Chart, made: Paint, x: float, y: float, width: float) -> float:
    """The cans, and a bar of what they hold: on the wall, tray and roller, left over."""
    sizes = chart.sizes
    cylinders = [(size, name) for n, size, name in made.cans.counts for _ in range(n)]
    largest = max((size for size, _ in cylinders), default=1.0)
    unit = 17.0 / largest ** (1 / 3)
    y -= 3.0
    rows: list[list[tuple[float, str]]] = [[]]
    at = 0.0
    for size, name in cylinders:
        wide = 0.8 * unit * size ** (1 / 3)
        if at + wide > width and rows[-1]:
            rows.append([])
            at = 0.0
        rows[-1].append((size, name))
        at += wide + 3.0
    for row in rows:
        tall = max((unit * size ** (1 / 3) for size, _ in row), default=0.0)
        y -= tall
        at = x
        for size, name in row:
            high = unit * size ** (1 / 3)
            wide = 0.8 * high
            rise = 0.12 * wide
            sides = _ellipse(at + wide / 2, y + high, wide / 2, rise)
            body = (
                (at, y + high),
                (at, y),
                *_arc(at + wide / 2, y, wide / 2, rise),
                (at + wide, y),
                (at + wide, y + high),
            )
            chart.items.append(Polygon(outline=body, fill=ink.PAPER, weight=0.3))
            chart.items.append(Polygon(outline=sides, fill=ink.GREY_5, weight=0.3))
            long = lettering.advance(name, size=sizes.small)
            if long < wide - 0.6:
                chart.text(
                    at + wide / 2,
                    y + high / 2 - sizes.small / 2,
                    name,
                    sizes.small,
                    anchor="middle",
                )
                at += wide + 3.0
            else:
                chart.text(at + wide + 0.8, y + 0.6, name, sizes.small)
                at += wide + 3.0 + long
        y -= 4.0
    if made.cans.volume > 0:
        scale = width / made.cans.volume
        high = 4.6
        y -= high
        end = x + made.net * scale
        chart.bar(x, end, y, high, fill=ink.INK)
        chart.bar(end, x + made.need * scale, y, high, weight=0.22, hatch=True)
        chart.items.append(
            Polygon(outline=rectangle(x + made.need * scale, y, x + width, y + high), weight=0.22)
        )
        y -= sizes.small + 1.6
        words = "Black: on the surface; hatched: in tray and roller; open: left over."
        for line in lettering.wrap(words, size=sizes.small, width=width):
            chart.text(x, y, line, sizes.small, colour=ink.GREY_1)
            y -= sizes.pitch(sizes.small)
    return y - 2.0


def _arc(x: float, y: float, a: float, b: float) -> tuple[tuple[float, float], ...]:
    from math import cos, pi, sin

    return tuple((x - a * cos(pi * i / 12), y - b * sin(pi * i / 12)) for i in range(1, 12))


def _ellipse(x: float, y: float, a: float, b: float) -> tuple[tuple[float, float], ...]:
    from math import cos, pi, sin

    return tuple((x + a * cos(pi * i / 18), y + b * sin(pi * i / 18)) for i in range(36))


def paint_proof(
    result: Paint,
    plates: Sequence[Plate],
    *,
    name: str,
    primer: Paint | None = None,
    cautions: Sequence[str] = (),
    system: System = "metric",
    named: Callable[[str], str] = str,
    page: bool = False,
) -> Proof:
    """The proof that so many cans are needed.

    Parameters
    ----------
    result : Paint
        From `designkit.takeoff.paint.paint`.
    plates : sequence of Plate
        The surfaces it covers.
    name : str
        The paint in words.
    primer : Paint, optional
        What goes under it.
    cautions : sequence of str, optional
        What has to be said before it is ordered.
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
    other: System = "metric" if system == "US" else "US"
    coats = f"{result.coats} {'coat' if result.coats == 1 else 'coats'}"
    sums = [
        (area_text(result.area, system), "net, openings out"),
        (volume_text(result.net, system), f"on the surface, in {coats}"),
        (
            volume_text(result.need, system),
            f"with {result.waste * 100:.0f}{NBSP}% in tray and roller",
        ),
    ]
    if primer is not None:
        sums.append((primer.cans.text, f"of primer, {primer.coats} coat under it"))
    sums.append((volume_text(result.cans.volume, system), f"in whole cans: {result.cans.text}"))
    answer = (
        f"{result.cans.text} for {area_text(result.area, system)} in {coats}; "
        f"{volume_text(result.cans.surplus, system)} stays over."
    )
    drawn = _Plates(
        plates,
        system=system,
        named=named,
        page=page,
        notes=("Hatched: not painted with this. Frames, doors, skirting and reveals not counted.",),
    )
    # The same litres in the cans of the other system.
    elsewhere = cans(result.need, system=other).text
    return Proof(
        question=f"How many cans of {name}?",
        answer=answer,
        text=f"{answer} {' '.join(w + '.' for w in result.why)}",
        order=Order(
            big=result.cans.text,
            also=f"{volume_text(result.need, other)}: {elsewhere}",
            sums=tuple(sums),
            cautions=tuple(cautions),
        ),
        draw=drawn.draw,
        beside=lambda chart, x, y, width: _draw_cans(chart, result, x, y, width),
        system=system,
    )


def ceiling_proof(
    works: Sequence[tuple[Plate, CeilingWork]],
    *,
    year: int | None,
    sampled: str,
    system: System = "metric",
    page: bool = False,
) -> Proof:
    """What has to come before work on textured ceilings, and how long it takes.

    Parameters
    ----------
    works : sequence of (Plate, CeilingWork)
        Each ceiling and its work.
    year : int or None
        When the building was built.
    sampled : str
        Whether a sample was taken, as the project says.
    system : {"metric", "US"}, optional
        Of the words.
    page : bool, optional
        For a study page.

    Returns
    -------
    Proof
        For `compose`; no days stand in it behind a closed gate.
    """
    area = sum(work.area for _, work in works)
    first = works[0][1]
    shut = any(work.days is None for _, work in works)
    built = "of unknown year" if year is None else f"from {year}"
    sums = [(area_text(work.area, system), plate.room) for plate, work in works]
    if shut:
        sums.append((area_text(area, system), "to sample first"))
        answer = (
            f"Nothing yet: the building is {built}, sampled: {sampled}. A sample and its written "
            "result come before any scraping, sanding or drilling."
        )
        big = "no days yet"
    else:
        low = sum(work.days[0] for _, work in works if work.days)
        high = sum(work.days[1] for _, work in works if work.days)
        sums.append((area_text(area, system), f"to scrape and smooth, {first.workers} workers"))
        answer = (
            f"{low:.1f} to {high:.1f} days of {first.workers} workers for "
            f"{area_text(area, system)}, drying not counted."
        )
        big = f"{low:.1f} to {high:.1f} days"
    drawn = _Plates(
        [plate for plate, _ in works],
        system=system,
        named=str,
        page=page,
        textured=True,
        notes=("Crossed lines: a textured coat.",),
    )

    def draw(chart: Chart, area_: Area, most: float) -> tuple[float, int | None]:
        top = area_.top
        if shut:
            top = _gate(chart, area_, first)
        below = Area(left=area_.left, bottom=area_.bottom, right=area_.right, top=top)
        return drawn.draw(chart, below, most - (area_.top - top))

    other: System = "metric" if system == "US" else "US"
    return Proof(
        question="How much work are the textured ceilings?",
        answer=answer,
        text=f"{answer} {' '.join(w + '.' for _, work in works for w in work.why)}",
        order=Order(
            big=big,
            also=area_text(area, other),
            sums=tuple(sums),
            cautions=first.cautions,
            head="Before any work" if shut else "Crew days",
        ),
        draw=draw,
        system=system,
    )


def _gate(chart: Chart, area: Area, work: CeilingWork) -> float:
    """The gate as an upright stroke with its rule; gives where it ends."""
    sizes = chart.sizes
    y = area.top
    heads = lettering.wrap(
        "Gate: a sample and its written result first.",
        size=sizes.name,
        width=area.width - 6.0,
        weight="semibold",
    )
    for words in heads:
        y -= sizes.pitch(sizes.name)
        chart.text(area.left + 5.0, y, words, sizes.name, bold=True, colour=ink.TIMBER)
    for words in lettering.wrap(
        work.why[0][:1].upper() + work.why[0][1:] + ".", size=sizes.note, width=area.width - 6.0
    ):
        y -= sizes.pitch(sizes.note)
        chart.text(area.left + 5.0, y, words, sizes.note)
    foot = y - 1.2
    for at in (area.top - 0.6, foot):
        chart.line(area.left, at, area.left + 2.6, at, 0.5, colour=ink.TIMBER)
    chart.line(area.left + 1.3, area.top - 0.6, area.left + 1.3, foot, 1.0, colour=ink.TIMBER)
    return foot - 4.0
