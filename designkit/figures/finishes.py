"""Finishes at their true value, with room for the real cuttings, and where they meet.

A sheet holds six finishes, light to dark. A swatch is filled with the computed
sRGB of its finish and nothing lies on it; a finish of several colours shows
each by its share of the area, in stripes. Below it stands a box for a cutting
of 60 × 60 mm. No photograph, no texture: those are what the cutting is for.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence

from designkit.errors import InputError
from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.chart import Chart, open_sheet, sizes_for, wrapped
from designkit.figures.drawing import Circle, Drawing, Line
from designkit.figures.pages import field, rim
from designkit.figures.sheet import Area, TitleBlock
from designkit.palette.contrast import Edge, EdgeLimits
from designkit.palette.finishes import NOT_SAID, FinishValue, find

__all__ = ["SHEET", "finishes_answer", "finishes_sheets", "light_to_dark"]

SHEET = 6  # finishes on a sheet
BOX = 60.0  # side of the box for a cutting [mm]
SWATCH = 34.0  # height of a swatch [mm]
PERIOD = 12.0  # of the stripes of a finish with several colours [mm]
PATCH = (7.0, 5.4)  # of one finish where two meet [mm]
ROW = 7.6  # of the table of meetings [mm]
CELL = 30.5  # width of a column of it [mm]
ROW_NAMES = 43.0
LADDER = 108.0  # width of the value ladder [mm]


def light_to_dark(finishes: Mapping[str, FinishValue]) -> tuple[str, ...]:
    """Ids of finishes from light to dark.

    Parameters
    ----------
    finishes : mapping of str to FinishValue
        From `designkit.palette.finishes.resolve_all`.

    Returns
    -------
    tuple of str
        By the lightness of the whole, seen from afar; then by id.
    """
    return tuple(sorted(finishes, key=lambda id: (-round(finishes[id].lightness, 6), id)))


def finishes_answer(edges: Sequence[Edge], *, finishes: Mapping[str, FinishValue]) -> str:
    """What the meetings of finishes say, in a sentence.

    Parameters
    ----------
    edges : sequence of Edge
        From `designkit.palette.contrast.edges`, strongest first.
    finishes : mapping of str to FinishValue
        All of them.

    Returns
    -------
    str
        The strongest edge and the quietest.
    """
    pairs = _pairs(edges)
    count = f"{len(finishes)} finishes, light to dark" if len(finishes) > 1 else "One finish"
    if not pairs:
        return f"{count}; nothing is known of where they meet. Lay the real cuttings in the boxes."
    found = list(pairs.values())
    strong = sum(e.called == "strong edge" for e in found)
    one = [e for e in found if e.called == "reads as one"]
    first = found[0]

    def names(edge: Edge) -> str:
        return (
            f"{finishes[edge.meeting.finish_a].name} against {finishes[edge.meeting.finish_b].name}"
        )

    text = (
        f"{count}; {len(found)} pairs meet, {strong} of them in a strong edge, most of all "
        f"{names(first)}."
    )
    if one:
        text += f" {len(one)} read as one, most of all {names(one[-1])}."
    return text + " Lay the real cuttings in the boxes."


def _pairs(edges: Sequence[Edge]) -> dict[tuple[str, str], Edge]:
    """Each pair of finishes once, with the longest of its edges, strongest first."""
    best: dict[tuple[str, str], Edge] = {}
    for edge in edges:
        a, b = edge.meeting.finish_a, edge.meeting.finish_b
        key = (a, b) if a <= b else (b, a)
        if a != b and (key not in best or edge.meeting.length > best[key].meeting.length):
            best[key] = edge
    return dict(sorted(best.items(), key=lambda row: (-round(row[1].contrast.farthest, 6), row[0])))


def finishes_sheets(
    finishes: Mapping[str, FinishValue],
    *,
    edges: Sequence[Edge] = (),
    block: TitleBlock,
    where: Mapping[str, str] | None = None,
    textures: Mapping[str, str] | None = None,
    daylight: Mapping[str, str] | None = None,
    ids: Sequence[str] = (),
    question: str = "Which finishes meet, and how far apart are they?",
    answer: str = "",
    limits: EdgeLimits | None = None,
    paper: str = "A3",
) -> tuple[Drawing, ...]:
    """Sheets of finishes, six on each.

    Parameters
    ----------
    finishes : mapping of str to FinishValue
        From `designkit.palette.finishes.resolve_all`.
    edges : sequence of Edge
        From `designkit.palette.contrast.edges`.
    block : TitleBlock
        What the foot says; sheets after the first count on from its number.
    where : mapping of str to str, optional
        By finish, what has it: "sofa, two cushions".
    textures : mapping of str to str, optional
        By finish, its texture in words.
    daylight : mapping of str to str, optional
        By finish, what tinted windows do to it; see `under_lamps.daylight_words`.
    ids : sequence of str
        Which to show, in order; all from light to dark without it.
    question, answer : str
        Heading and the sentence under it; `finishes_answer` where not given.
    limits : EdgeLimits, optional
        What is a strong edge and what reads as one.
    paper : str
        A key of `designkit.figures.sheet.PAPERS`, at least as large as A3.

    Returns
    -------
    tuple of Drawing
        The sheets; swatches and boxes are 1:1.

    Raises
    ------
    InputError
        There is no finish, or the paper is smaller than A3.
    LookupFailed
        A finish or a paper is not there.
    """
    order = tuple(ids) or light_to_dark(finishes)
    if not order:
        raise InputError("finishes", given="none", allowed="one or more", mend="give them values")
    shown = {id: find(finishes, id) for id in order}
    at = limits or EdgeLimits.of()
    pairs = _pairs(edges)
    answer = answer or finishes_answer(edges, finishes=shown)
    groups = [order[i : i + SHEET] for i in range(0, len(order), SHEET)]
    made = []
    for index, group in enumerate(groups):
        here = block
        if len(groups) > 1:
            here = dataclasses.replace(
                block,
                sheet=block.sheet + index,
                sheets=max(block.sheets, block.sheet + len(groups) - 1),
                title=f"{block.title}, {index + 1} of {len(groups)}",
            )
        sheet = open_sheet(
            here, question=question, answer=answer, paper=paper, scale="swatches and boxes 1:1"
        )
        if sheet.area.width < SHEET * BOX + 5 * 3.0:
            raise InputError(
                "paper", given=paper, allowed="A3 or larger", mend="the boxes are 60 × 60 mm"
            )
        page = _Sheet(
            finishes,
            sheet.area,
            where=where or {},
            textures=textures or {},
            daylight=daylight or {},
            limits=at,
        )
        page.swatches(group)
        page.meetings(group, pairs)
        page.ladder(group)
        made.append(
            sheet.drawing(
                page.chart.items,
                title=question,
                text=_alternative(group, finishes, pairs, answer, daylight or {}),
            )
        )
    return tuple(made)


def _alternative(
    group: Sequence[str],
    finishes: Mapping[str, FinishValue],
    pairs: Mapping[tuple[str, str], Edge],
    answer: str,
    daylight: Mapping[str, str],
) -> str:
    said = []
    for id in group:
        f = finishes[id]
        said.append(
            f"{f.name}: L* {_each(f, 'lightness')}, LRV {_each(f, 'lrv')}, {f.known}, "
            f"{f.sheen or 'sheen not said'}, counts as {f.counts_as}."
        )
        if daylight.get(id):
            said.append(f"By day: {daylight[id]}.")
    met = [
        f"{finishes[a].name} and {finishes[b].name}: ΔL* {_apart(edge)}, LRV "
        f"{edge.contrast.lrv:.0f} apart, {edge.called}."
        for (a, b), edge in pairs.items()
        if a in group or b in group
    ]
    return " ".join((answer, *said, *met))


def _number(value: float) -> str:
    """Dark values differ by tenths."""
    return f"{value:.1f}" if value < 9.95 else f"{value:.0f}"


def _each(finish: FinishValue, name: str) -> str:
    values = [float(getattr(c, name)) for c in finish.colours]
    if len(values) > 3:  # the lightest and the darkest say enough
        low, high = min(values), max(values)
        return f"{low:.0f} to {high:.0f}"
    return " / ".join(f"{v:.0f}" if name == "lightness" else _number(v) for v in values)


def _apart(edge: Edge) -> str:
    """ΔL*, of the nearest and the farthest pair of colours where these differ."""
    near, far = edge.contrast.nearest, edge.contrast.farthest
    return f"{far:.0f}" if round(near) == round(far) else f"{far:.0f} / {near:.0f}"


class _Sheet:
    """One sheet of finishes in the making."""

    def __init__(
        self,
        finishes: Mapping[str, FinishValue],
        area: Area,
        *,
        where: Mapping[str, str],
        textures: Mapping[str, str],
        daylight: Mapping[str, str],
        limits: EdgeLimits,
    ) -> None:
        self.finishes, self.area, self.limits = finishes, area, limits
        self.where, self.textures, self.daylight = where, textures, daylight
        self.sizes = sizes_for(width=420.0, page=False)
        self.chart = Chart(self.sizes)
        self.gap = (area.width - SHEET * BOX) / (SHEET - 1)
        self.below = area.top

    # --- swatches, boxes, numbers ---

    def swatches(self, group: Sequence[str]) -> None:
        s, chart, area = self.sizes, self.chart, self.area
        lows = []
        for n, id in enumerate(group):
            x = area.left + n * (BOX + self.gap)
            finish = self.finishes[id]
            y = area.top - s.name
            name = lettering.shorten(finish.name, size=s.name, width=BOX, weight="semibold")
            chart.text(x, y, name, s.name, bold=True, about=id)
            y -= s.pitch(s.note) + 0.3
            words = lettering.shorten(self.where.get(id, "") or finish.kind, size=s.note, width=BOX)
            chart.text(x, y, words, s.note, colour=ink.GREY_1)
            top = y - 2.2
            self.swatch(finish, x, top - SWATCH)
            low = top - SWATCH - 4.0 - BOX
            self.box(x, low)
            lows.append(self.numbers(finish, x, low - 3.0))
        self.below = min(lows)

    def swatch(self, finish: FinishValue, x: float, y: float) -> None:
        """The flat value; stripes by share, so that each colour keeps its part of the area."""
        if len(finish.colours) == 1:
            field(self.chart, x, y, BOX, SWATCH, fill=finish.hex, about=finish.id)
        else:
            count = round(BOX / PERIOD)
            wide = BOX / count
            for i in range(count):
                left = x + i * wide
                for colour in finish.colours:
                    part = wide * colour.share
                    field(self.chart, left, y, part, SWATCH, fill=colour.hex, about=finish.id)
                    left += part
        rim(self.chart, x, y, BOX, SWATCH)

    def box(self, x: float, y: float) -> None:
        s, items = self.sizes, self.chart.items
        far_x, far_y = x + BOX, y + BOX
        items.append(
            Line(
                points=((x, y), (far_x, y), (far_x, far_y), (x, far_y)),
                closed=True,
                weight=0.13,
                ink=ink.GREY_2,
                dash=(1.8, 1.2),
            )
        )
        arm = 6.0
        for cx, cy, dx, dy in (
            (x, y, 1, 1),
            (far_x, y, -1, 1),
            (far_x, far_y, -1, -1),
            (x, far_y, 1, -1),
        ):
            items.append(
                Line(points=((cx + dx * arm, cy), (cx, cy), (cx, cy + dy * arm)), weight=0.5)
            )
        middle = y + BOX / 2
        for i, words in enumerate(("real cutting", "60 × 60\u00a0mm")):
            self.chart.text(
                x + BOX / 2,
                middle + 1.0 - i * s.pitch(s.note),
                words,
                s.note,
                colour=ink.GREY_2,
                anchor="middle",
            )

    def numbers(self, finish: FinishValue, x: float, y: float) -> float:
        s, chart = self.sizes, self.chart
        big = lettering.from_points(20.0)
        several = len(finish.colours) > 1
        light = f"L* {_each(finish, 'lightness')}"
        lrv = f"LRV {_each(finish, 'lrv')}"
        worst = max(finish.colours, key=lambda c: c.within)
        most = max(c.lrv_within for c in finish.colours)
        within = f"± {worst.within:g}\u00a0L*, {_number(most)}\u00a0LRV"
        while big > s.name and (
            lettering.advance(light, size=big, weight="semibold")
            + lettering.advance(lrv, size=s.name)
            + (0.0 if several else lettering.advance(within, size=s.note) + 3.0)
            + 3.5
            > BOX
        ):
            big -= 0.2
        y -= lettering.from_points(20.0) + 0.8
        chart.text(x, y, light, big, bold=True, about=finish.id)
        if several:
            words = lettering.shorten(
                lrv,
                size=s.name,
                width=BOX - lettering.advance(light, size=big, weight="semibold") - 3,
            )
            chart.text(x + BOX, y, words, s.name, anchor="end")
        else:
            after = x + lettering.advance(light, size=big, weight="semibold") + 3.5
            chart.text(after, y, lrv, s.name)
            chart.text(x + BOX, y, within, s.note, colour=ink.GREY_1, anchor="end")
        y -= s.pitch(s.note) + 1.2
        label = 17.5
        rows = [("known", finish.known, 2), ("sheen", finish.sheen or NOT_SAID, 1)]
        if several:
            rows.append(("colours", "in stripes by share of area", 1))
            rows.append(("±", within.removeprefix("± "), 1))
        texture = self.textures.get(finish.id, "")
        if texture:
            rows.append(("texture", texture, 1))
        if self.daylight.get(finish.id):
            rows.append(("by day", self.daylight[finish.id], 2))
        rows.append(("counts as", finish.counts_as, 3 if several else 2))
        for name, words, most_lines in rows:
            chart.text(x, y, name, s.note, colour=ink.GREY_2)
            for line in wrapped(words, size=s.note, width=BOX - label, most=most_lines):
                chart.text(x + label, y, line, s.note)
                y -= s.pitch(s.note)
        return y

    # --- where two meet ---

    def meetings(self, group: Sequence[str], pairs: Mapping[tuple[str, str], Edge]) -> None:
        s, chart, area = self.sizes, self.chart, self.area
        here = {k: e for k, e in pairs.items() if k[0] in group or k[1] in group}
        width = area.width - LADDER - 16.0
        top = self.below - 4.0
        chart.text(area.left, top, "Where two finishes touch", s.name, bold=True)
        head = lettering.advance("Where two finishes touch", size=s.name, weight="semibold")
        most = int((width - ROW_NAMES) // CELL)
        columns, cells = _table(group, here, most)
        rows = list(cells)
        shown = sum(len(row) for row in cells.values())
        note = (
            f"ΔL*, then LRV apart. Underlined: {self.limits.strong:g} or more, a strong edge. "
            f"Dotted: {self.limits.one:g} or less, reads as one (assumption)."
        )
        if shown < len(here):
            note += f" {len(here) - shown} more pairs are not shown."
        if not here:
            note = "none of these touches another."
        words = lettering.shorten(note, size=s.note, width=width - head - 4.0)
        chart.text(area.left + head + 4.0, top, words, s.note, colour=ink.GREY_1)
        if not rows:
            return
        y = top - s.pitch(s.note) - 1.2
        room = y - area.bottom
        lines = 2 if room - ROW * len(rows) > 2 * s.pitch(s.note) else 1
        deep = 0
        for n, id in enumerate(columns):
            x = area.left + ROW_NAMES + n * CELL
            name = self.finishes[id].name
            made = wrapped(name, size=s.note, width=CELL - 2.5, bold=True, most=lines)
            deep = max(deep, len(made))
            for i, line in enumerate(made):
                chart.text(x, y - i * s.pitch(s.note), line, s.note, bold=True)
        y -= s.pitch(s.note) * (deep - 1) + 1.6
        pitch = min(ROW, (y - area.bottom) / len(rows))
        for id in rows:
            last = max(columns.index(c) for c in cells[id]) + 1
            chart.line(
                area.left, y, area.left + ROW_NAMES + last * CELL - 2.5, y, 0.13, colour=ink.GREY_4
            )
            middle = y - pitch / 2
            name = lettering.shorten(
                self.finishes[id].name, size=s.note, width=ROW_NAMES - 2.5, weight="semibold"
            )
            chart.text(area.left, middle - s.note / 2, name, s.note, bold=True)
            for other, edge in cells[id].items():
                x = area.left + ROW_NAMES + columns.index(other) * CELL
                self.meeting(x, middle, id, other, edge, high=min(PATCH[1], pitch - 1.4))
            y -= pitch

    def meeting(self, x: float, middle: float, a: str, b: str, edge: Edge, *, high: float) -> None:
        s, chart = self.sizes, self.chart
        wide = PATCH[0]
        low = middle - high / 2
        for k, id in enumerate((a, b)):
            left = x + k * wide
            for colour in self.finishes[id].colours:
                part = wide * colour.share
                field(chart, left, low, part, high, fill=colour.hex, about=id)
                left += part
        rim(chart, x, low, 2 * wide, high, weight=0.13)
        words = _apart(edge).split(" / ")[0]
        at = x + 2 * wide + 1.6
        base = middle - s.note / 2
        chart.text(at, base, words, s.note, bold=True)
        long = lettering.advance(words, size=s.note, weight="semibold")
        if edge.called == "strong edge":
            chart.line(at, base - 0.8, at + long, base - 0.8, 0.3)
        elif edge.called == "reads as one":
            chart.line(at, base - 0.8, at + long, base - 0.8, 0.3, dash=(0.6, 0.6))
        chart.text(at + long + 1.6, base, f"{edge.contrast.lrv:.0f}", s.note, colour=ink.GREY_1)

    # --- the value ladder ---

    def ladder(self, group: Sequence[str]) -> None:
        s, chart, area = self.sizes, self.chart, self.area
        x = area.right - LADDER
        top = self.below - 4.0
        chart.text(x, top, "On the value ladder", s.name, bold=True)
        head = lettering.advance("On the value ladder", size=s.name, weight="semibold")
        note = lettering.shorten("L* 0 black to 100 white", size=s.note, width=LADDER - head - 3.0)
        chart.text(x + head + 3.0, top, note, s.note, colour=ink.GREY_1)
        marks = sorted(
            (c.lightness, self.finishes[id].name, id)
            for id in group
            for c in self.finishes[id].colours
        )
        # What is nearly as light shares a stroke.
        merged: list[tuple[list[float], list[str]]] = []
        for at, name, _ in marks:
            if merged and at - merged[-1][0][-1] < 0.75:
                merged[-1][0].append(at)
                if name not in merged[-1][1]:
                    merged[-1][1].append(name)
            else:
                merged.append(([at], [name]))
        pitch = s.pitch(s.note)
        bar = area.bottom + 3 * pitch + 1.0
        levels = max(2, int((top - 3.0 - (bar + 5.0)) // pitch))
        count = 20
        step = LADDER / count
        for i in range(count):
            grey = ink.grey_of((i + 0.5) * 100 / count)
            field(chart, x + i * step, bar, step, 5.0, fill=grey, about="ladder")
        rim(chart, x, bar, LADDER, 5.0, weight=0.13)
        wishes = [(sum(at) / len(at), ", ".join(names)) for at, names in merged]
        self._strokes(x, bar + 5.0, wishes, levels, pitch, up=True)
        limits = self.finishes[group[0]].limits
        under = [
            (limits.black_lightness, f"black to {limits.black_lightness:g}"),
            (limits.dark, f"dark to {limits.dark:g}"),
            (limits.light, f"light from {limits.light:g}"),
        ]
        self._strokes(x, bar, under, 3, pitch, up=False)

    def _strokes(
        self,
        x: float,
        y: float,
        wishes: Sequence[tuple[float, str]],
        levels: int,
        pitch: float,
        *,
        up: bool,
    ) -> None:
        """Words at strokes on the ladder: none on another word, none on a stroke."""
        s, chart = self.sizes, self.chart
        # Three ways to let words lean; the one that finds room for most is taken.
        ways = (
            _placed(sorted(wishes, key=lambda w: (abs(w[0] - 50), w)), "middle", s.note, levels),
            _placed(sorted(wishes), "left", s.note, levels),
            _placed(sorted(wishes, reverse=True), "right", s.note, levels),
        )
        for at, level, low, text in max(ways, key=lambda way: sum(len(w[3]) for w in way)):
            place = x + at
            if up:
                chart.line(place, y, place, y + 1.6 + level * pitch + s.note, 0.25)
                base = y + 1.6 + level * pitch
                chart.items.append(Circle(centre=(place, y), radius=0.7, fill=ink.INK))
            else:
                chart.line(place, y, place, y - 1.6 - level * pitch - s.note, 0.25)
                base = y - 1.6 - level * pitch - s.note
            chart.text(x + low, base, text, s.note)


def _placed(
    wishes: Sequence[tuple[float, str]], lean: str, size: float, levels: int
) -> list[tuple[float, int, float, str]]:
    """Stroke, level, left end and words, each from the left end of the ladder. [mm]"""
    strokes: list[tuple[float, int]] = []  # where, and how many levels high
    spans: list[tuple[float, float, int]] = []  # of the words
    found: list[tuple[float, int, float, str]] = []
    for lightness, words in wishes:
        place = LADDER * lightness / 100
        right = lightness < 50 if lean == "middle" else lean == "right"
        room = LADDER - place - 1.2 if right else place - 1.2
        text = lettering.shorten(words, size=size, width=max(room, 6.0))
        wide = lettering.advance(text, size=size)
        low = place + 1.2 if right else place - 1.2 - wide
        for level in range(levels):
            free = not any(
                k == level and low - 1.0 < b and low + wide + 1.0 > a for a, b, k in spans
            )
            clear = not any(
                low - 0.6 < other < low + wide + 0.6 and k >= level for other, k in strokes
            )
            own = not any(a - 0.6 < place < b + 0.6 and k <= level for a, b, k in spans)
            if free and clear and own:
                strokes.append((place, level))
                spans.append((low, low + wide, level))
                found.append((place, level, low, text))
                break
    return found


def _table(
    group: Sequence[str], here: Mapping[tuple[str, str], Edge], most: int
) -> tuple[list[str], dict[str, dict[str, Edge]]]:
    """Columns by the length of their edges, at most so many, and the cells of each row.

    A pair of two finishes of this sheet stands once.
    """
    cells: dict[str, dict[str, Edge]] = {}
    seen: set[tuple[str, str]] = set()
    lengths: dict[str, float] = {}
    for id in group:
        for key, edge in here.items():
            if id in key and key not in seen:
                seen.add(key)
                other = key[1] if key[0] == id else key[0]
                cells.setdefault(id, {})[other] = edge
                lengths[other] = lengths.get(other, 0.0) + edge.meeting.length
    columns = sorted(lengths, key=lambda id: (-round(lengths[id], 6), id))[:most]
    kept = {
        id: {other: edge for other, edge in row.items() if other in columns}
        for id, row in cells.items()
    }
    return columns, {id: row for id, row in kept.items() if row}
