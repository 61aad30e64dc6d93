"""The cutting plan of a cloth: pieces on the roll with nap, repeats and off-cut.

The roll is drawn true to scale, in rows; a row ends where no piece is crossed
if there is such a place. The piece of furniture beside it carries the same
letters, and the order is the sum of what the drawing shows.
"""

from __future__ import annotations

from collections.abc import Callable

from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.chart import Chart, widest
from designkit.figures.cutting_parts import (
    Order,
    Proof,
    arrow,
    compose,
    hatched,
    measured,
    rectangle,
    scale_for,
    short,
    turned,
)
from designkit.figures.cutting_sketch import sketch
from designkit.figures.drawing import Drawing, Polygon
from designkit.figures.sheet import Area, TitleBlock
from designkit.model import Piece
from designkit.takeoff.lines import INCH, System, length_text, run_text, whole
from designkit.takeoff.upholstery import LaidPanel, Upholstery
from designkit.units import NBSP

__all__ = ["cutting_plan", "cutting_proof"]


def _rows(result: Upholstery, end: float, most: float) -> list[tuple[float, float]]:
    """Where the roll is broken for the paper: (from, to) of each row. [m]"""
    marks = sorted(
        {round(v, 6) for p in result.laid for v in (p.y, p.y + p.length)} | {round(end, 6)}
    )
    clean = [
        m for m in marks if not any(p.y + 1e-6 < m < p.y + p.length - 1e-6 for p in result.laid)
    ]
    rows, start = [], 0.0
    while start < end - 1e-6:
        reach = start + most
        if reach >= end - 1e-6:
            rows.append((start, end))
            break
        at = max((m for m in clean if start + 0.5 * most < m <= reach + 1e-9), default=reach)
        rows.append((start, at))
        start = at
    return rows


def _heights(chart: Chart, scale: int, width: float) -> tuple[float, float, float]:
    """Above the roll, the roll, below it. [mm]"""
    return chart.sizes.note + 4.4, width * 1000 / scale, chart.sizes.note + 4.4


class _Roll:
    """The roll of one plan while its rows are drawn."""

    def __init__(self, result: Upholstery, *, system: System, repeats: tuple[float, float]) -> None:
        self.result, self.system = result, system
        self.along, self.across = repeats
        self.spare = result.order - result.repeats

    def draw(
        self, chart: Chart, area: Area, most: float, *, page: bool
    ) -> tuple[float, int | None]:
        result = self.result
        label = 12.0  # for the width at the left
        room = area.width - label
        end = result.repeats + (self.spare if self.spare > 0.02 else 0.0)
        notes = 3 * chart.sizes.pitch(chart.sizes.note)

        def fits(scale: int) -> bool:
            above, wide, below = _heights(chart, scale, result.cloth_width)
            rows = _rows(result, end, room * scale / 1000)
            return len(rows) * (above + wide + below) + notes <= most

        scale = scale_for(page, self.system, fits, least=8)
        k = 1000 / scale
        above, wide, below = _heights(chart, scale, result.cloth_width)
        y = area.top
        rows = _rows(result, end, room / k)
        for number, (low, high) in enumerate(rows):
            y -= above
            self._row(chart, area.left + label, y, low, high, k)
            if number == 0:
                self._width(chart, area.left + 4.0, y, wide)
            y -= wide + below
        for words in self._key():
            y -= chart.sizes.pitch(chart.sizes.note)
            chart.text(area.left, y, words, chart.sizes.note, colour=ink.GREY_1)
        return y - 1.0, scale

    def _width(self, chart: Chart, x: float, top: float, wide: float) -> None:
        words = length_text(self.result.cloth_width, self.system)
        measured(chart, (x, top - wide), (x, top), words)

    def _key(self) -> list[str]:
        result = self.result
        way = "across the roll" if result.railroaded else "along the roll"
        words = [f"Arrow: the nap strokes smooth {way}, towards the front or lower edge."]
        if self.along or self.across:
            said = []
            if self.along:
                said.append(
                    f"long dashes: the repeat, every {length_text(self.along, self.system)}"
                )
            if self.across:
                said.append("short dashes at the left: middle of the motif")
            words.append("; ".join(said).capitalize() + ".")
        words.append(
            "Hatched: off-cut."
            + (" Dashed at the end: bought and kept in hand." if self.spare > 0.02 else "")
        )
        return words

    def _row(self, chart: Chart, x: float, top: float, low: float, high: float, k: float) -> None:
        result, sizes = self.result, chart.sizes
        wide = result.cloth_width * k
        used = min(high, result.repeats)
        right, bottom = x + (used - low) * k, top - wide
        if used > low:
            hatched(chart, rectangle(x, bottom, right, top))
        if high > used + 1e-6:
            far = x + (high - low) * k
            chart.items.append(
                Polygon(
                    outline=rectangle(max(x, right), bottom, far, top),
                    weight=0.2,
                    dash=ink.DASH_ZONE,
                )
            )
            if far - max(x, right) > 5.0:
                words = "in hand" if wide > 14 else ""
                chart.items.append(
                    turned(
                        words,
                        (max(x, right) + far) / 2 + sizes.note / 2,
                        (top + bottom) / 2,
                        sizes.note,
                    )
                )
        labels = []
        for piece in result.laid:
            if piece.y < high - 1e-6 and piece.y + piece.length > low + 1e-6:
                labels.append(self._piece(chart, piece, x, top, low, high, k))
        self._repeats(chart, x, top, bottom, low, used, k)
        for draw in labels:
            draw()
        for at in (top, bottom):
            chart.line(x, at, right, at, 0.5)
        if low == 0:
            chart.line(x, top, x, bottom, 0.35)
        chart.line(right, top, right, bottom, 0.35)
        self._ticks(chart, x, bottom, low, high, k)

    def _repeats(
        self, chart: Chart, x: float, top: float, bottom: float, low: float, high: float, k: float
    ) -> None:
        size = chart.sizes.note
        if self.along:
            first = whole(low / self.along - 1e-6)
            each = 1
            while each * self.along * k < 8.0:
                each += 1
            at = first
            while at * self.along <= high + 1e-6:
                px = x + (at * self.along - low) * k
                chart.line(px, top + 1.6, px, bottom, 0.16, colour=ink.TIMBER, dash=ink.DASH_SIGHT)
                if at % each == 0:
                    chart.text(px, top + 2.6, str(at), size, anchor="middle", colour=ink.TIMBER)
                at += 1
        if self.across and low == 0:
            at_ = self.across / 2
            while at_ < self.result.cloth_width - 1e-6:
                py = top - at_ * k
                chart.line(x - 3.4, py, x - 0.6, py, 0.25, colour=ink.TIMBER, dash=(1.0, 0.6))
                at_ += self.across

    def _ticks(
        self, chart: Chart, x: float, bottom: float, low: float, high: float, k: float
    ) -> None:
        unit = 36 * INCH if self.system == "US" else 1.0
        word = "yd" if self.system == "US" else "m"
        at = whole(low / unit - 1e-6)
        while at * unit <= high + 1e-6:
            px = x + (at * unit - low) * k
            chart.line(px, bottom, px, bottom - 1.6, 0.25)
            chart.text(
                px,
                bottom - 2.4 - chart.sizes.note,
                f"{at}{NBSP}{word}",
                chart.sizes.note,
                anchor="middle" if px > x + 2 else "start",
                colour=ink.GREY_1,
            )
            at += 1

    def _piece(
        self,
        chart: Chart,
        piece: LaidPanel,
        x: float,
        top: float,
        low: float,
        high: float,
        k: float,
    ) -> Callable[[], None]:
        start, end = max(piece.y, low), min(piece.y + piece.length, high)
        x0, x1 = x + (start - low) * k, x + (end - low) * k
        y1, y0 = top - piece.x * k, top - (piece.x + piece.width) * k
        chart.items.append(
            Polygon(outline=rectangle(x0, y0, x1, y1), fill=ink.PAPER, weight=0.28, about=piece.id)
        )
        for cut, px in ((piece.y < low - 1e-6, x0), (piece.y + piece.length > high + 1e-6, x1)):
            if cut:  # it goes on in the next row
                chart.line(px, y0, px, y1, 0.5, colour=ink.PAPER)
                chart.line(px, y0, px, y1, 0.2, dash=(1.0, 0.8))
        whole_piece = end - start > 0.5 * piece.length

        def label() -> None:
            self._label(chart, piece, x0, y0, x1, y1, main=whole_piece)

        return label

    def _label(
        self,
        chart: Chart,
        piece: LaidPanel,
        x0: float,
        y0: float,
        x1: float,
        y1: float,
        *,
        main: bool,
    ) -> None:
        sizes = chart.sizes
        wide, high = x1 - x0, y1 - y0
        middle = (x0 + x1) / 2
        name = piece.id if main else f"({piece.id})"
        size = sizes.name
        if lettering.advance(name, size=size, weight="semibold") > wide - 1.0:
            size = sizes.small
        long = lettering.advance(name, size=size, weight="semibold")
        if long > wide - 0.4 or high < size + 0.8:
            if main and wide > size + 0.8 and high > long + 0.8:
                at = middle + size / 2
                chart.items.append(turned(name, at, (y0 + y1) / 2, size, bold=True))
            return
        figures = (
            f"{short(piece.panel.across, self.system)} × {short(piece.panel.along, self.system)}"
        )
        show = (
            main
            and lettering.advance(figures, size=sizes.small) < wide - 1.6
            and high > sizes.name + sizes.small + 5.4
        )
        # The arrow stands under the words where there is room, else beside them.
        down = self.result.railroaded
        block = size + (sizes.small + 1.8 if show else 0.0)
        roomy = high > block + (6.6 if down else 4.4) and wide > 5.0
        base = (y0 + y1) / 2 + block / 2 - size + (1.6 if roomy and not down else 0.0)
        if down and roomy:
            base += 2.4
        chart.text(middle, base, name, size, bold=True, anchor="middle", halo=0.5)
        low = base
        if show:
            low = base - sizes.small - 1.8
            chart.text(
                middle, low, figures, sizes.small, anchor="middle", colour=ink.GREY_1, halo=0.4
            )
        if not main:
            return
        if roomy:
            if down:
                arrow(chart, middle, low - 1.4, middle, max(y0 + 0.8, low - 5.4))
            else:
                half = min(4.0, wide / 2 - 1.2)
                arrow(chart, middle - half, low - 2.4, middle + half, low - 2.4)
            return
        half = lettering.advance(name, size=size, weight="semibold") / 2
        if not down and wide / 2 - half > 4.2:
            at = middle + half + 1.0
            arrow(chart, at, base + size / 2, min(x1 - 0.6, at + 4.0), base + size / 2)


def _order(result: Upholstery, *, system: System, repeat: float) -> Order:
    sums = [(run_text(result.cut, system), "cut, as drawn")]
    if repeat:
        count = whole(result.repeats / repeat - 1e-6)
        sums.append(
            (
                run_text(result.repeats, system),
                f"{count} whole repeats of {length_text(repeat, system)}",
            )
        )
        sums.append((run_text(result.faults, system), "with what is kept for a fault"))
    sums.append((run_text(result.order, system), "rounded up to what is sold"))
    off = f"{result.off_cut * 100:.0f}{NBSP}%"
    sums.insert(-1, (off, "of the cut length is off-cut, hatched"))
    other: System = "metric" if system == "US" else "US"
    return Order(
        big=run_text(result.order, system),
        also=f"{run_text(result.order, other)}, on cloth {length_text(result.cloth_width, other)} "
        "wide",
        sums=tuple(sums),
        cautions=result.cautions,
    )


def _table(
    chart: Chart, result: Upholstery, system: System, x: float, y: float, width: float
) -> float:
    """The cut list: letter, name, size, count, where it lies."""
    sizes = chart.sizes
    count = sum(p.count for p in result.panels)
    unit = "in" if system == "US" else "cm"
    y -= sizes.name
    chart.text(x, y, f"{count} pieces, {unit}, seams included", sizes.name, bold=True)
    y -= 1.6
    row = sizes.pitch(sizes.note) * 1.08
    size_x, count_x = x + width - 8.0, x + width
    figures = [f"{short(p.across, system)} × {short(p.along, system)}" for p in result.panels]
    name_room = size_x - x - 8.0 - widest(figures, size=sizes.note)
    for panel, size in zip(result.panels, figures, strict=True):
        chart.line(x, y, x + width, y, 0.13, colour=ink.GREY_4)
        y -= row
        chart.text(x, y + 1.0, panel.letter, sizes.note, bold=True)
        name = lettering.shorten(panel.name, size=sizes.note, width=name_room)
        chart.text(x + 5.0, y + 1.0, name, sizes.note)
        chart.text(size_x, y + 1.0, size, sizes.note, anchor="end")
        chart.text(count_x, y + 1.0, f"{panel.count}", sizes.note, anchor="end")
    chart.line(x, y, x + width, y, 0.13, colour=ink.GREY_4)
    y -= sizes.pitch(sizes.note)
    on = [p.letter for p in result.panels if p.on_repeat]
    behind = [f"{p.letter} continues {p.behind}" for p in result.panels if p.behind]
    said = []
    if on:
        said.append(f"{', '.join(on)}: on the repeat where the cloth has one")
    said += behind
    for words in (
        lettering.wrap("; ".join(said) + ".", size=sizes.note, width=width) if said else ()
    ):
        chart.text(x, y, words, sizes.note, colour=ink.GREY_1)
        y -= sizes.pitch(sizes.note)
    return y


def cutting_proof(
    result: Upholstery,
    *,
    name: str,
    cloth: str = "",
    piece: Piece | None = None,
    seats: int = 0,
    repeats: tuple[float, float] = (0.0, 0.0),
    system: System = "metric",
    page: bool = False,
) -> Proof:
    """The proof that so much cloth is needed for a piece.

    Parameters
    ----------
    result : Upholstery
        From `designkit.takeoff.upholstery.upholstery`.
    name : str
        What is covered, in words.
    cloth : str, optional
        Its cloth in words.
    piece : Piece, optional
        Drawn beside the plan with the letters of its panels.
    seats : int, optional
        Seat cushions of the drawing.
    repeats : tuple of float, optional
        Repeat along and across the roll. [m]
    system : {"metric", "US"}, optional
        Of the words.
    page : bool, optional
        For a study page.

    Returns
    -------
    Proof
        For `compose`.
    """
    count = sum(p.count for p in result.panels)
    along = "railroaded" if result.railroaded else "all with the nap along the roll"
    answer = (
        f"{run_text(result.order, system)} of the {length_text(result.cloth_width, system)} cloth"
        + (f", {cloth}" if cloth else "")
        + f": {count} pieces, {along}"
        + (", the motif matched where it is seen" if repeats[0] or repeats[1] else "")
        + "."
    )
    roll = _Roll(result, system=system, repeats=repeats)

    def draw(chart: Chart, area: Area, most: float) -> tuple[float, int | None]:
        return roll.draw(chart, area, most, page=page)

    def beside(chart: Chart, x: float, y: float, width: float) -> float:
        if piece is not None:
            y = sketch(chart, piece, result.panels, x, y, width, seats=seats)
        return _table(chart, result, system, x, y - 2.0, width)

    listed = "; ".join(
        f"{p.letter} {p.name} {short(p.across, system)} × {short(p.along, system)}, {p.count}"
        for p in result.panels
    )
    return Proof(
        question=f"How much cloth for the {name}?",
        answer=answer,
        text=f"{answer} Cut list: {listed}. {' '.join(w + '.' for w in result.why)}",
        order=_order(result, system=system, repeat=repeats[0]),
        draw=draw,
        beside=beside,
        system=system,
    )


def cutting_plan(
    result: Upholstery,
    *,
    name: str,
    cloth: str = "",
    piece: Piece | None = None,
    seats: int = 0,
    repeats: tuple[float, float] = (0.0, 0.0),
    system: System = "metric",
    block: TitleBlock | None = None,
    paper: str = "A3",
    page: bool = False,
) -> Drawing:
    """The cutting plan on the roll, with the order as a sum.

    Parameters
    ----------
    result : Upholstery
        From `designkit.takeoff.upholstery.upholstery`.
    name : str
        What is covered, in words.
    cloth : str, optional
        Its cloth in words.
    piece : Piece, optional
        Drawn beside the plan with the letters of its panels.
    seats : int, optional
        Seat cushions of the drawing.
    repeats : tuple of float, optional
        Repeat along and across the roll. [m]
    system : {"metric", "US"}, optional
        Of the words.
    block : TitleBlock, optional
        What the foot of the sheet says; needed unless `page`.
    paper : str, optional
        A key of `sheet.PAPERS`.
    page : bool, optional
        The drawing alone, for a study page.

    Returns
    -------
    Drawing
        The sheet, or the drawing alone.

    Raises
    ------
    InputError
        There is no title block for a sheet.
    LookupFailed
        There is no such paper.
    """
    proof = cutting_proof(
        result,
        name=name,
        cloth=cloth,
        piece=piece,
        seats=seats,
        repeats=repeats,
        system=system,
        page=page,
    )
    return compose(proof, block=block, paper=paper, page=page)
