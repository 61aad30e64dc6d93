"""The drawing of a share: columns on one scale, rows of bars below, words at the foot."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.chart import Chart, Sizes, whole_area, wrapped
from designkit.figures.drawing import Drawing, Hatch, Line, Polygon, Primitive
from designkit.figures.moving import moved
from designkit.figures.sheet import Area

__all__ = ["Remedy", "Rest", "ShareChart", "ShareColumn", "SharePart", "percent", "waffle"]

BAR = 11.0  # width of a column [mm]
SIDE_NUMBER = 42.0  # from this width the number stands beside its picture [mm]
BAND_ROOM = 19.0  # words on the band, at the right of its panel [mm]
PICTURE, SQUARES = 27.0, 19.0  # height of a picture, of a hundred squares [mm]
LABELS = 20.0  # room for the names of the rows of bars [mm]


@dataclass(frozen=True, kw_only=True)
class SharePart:
    """What one item, or several alike, add to a share."""

    words: str
    share: float  # [1]
    hatched: bool = False  # dark by its light, not by its finish
    about: str = ""


@dataclass(frozen=True, kw_only=True)
class Remedy:
    """What the share would be with another finish."""

    words: str
    share: float  # [1]


@dataclass(frozen=True, kw_only=True, eq=False)
class ShareColumn:
    """One column of the figure.

    Parameters
    ----------
    title, caption : str
        Of its panel; columns with the same title stand in one.
    under : str
        Words under its picture: where one looks from.
    share, low, high : float
        The share, and its ends within the ± of the finishes. [0–1]
    parts : tuple of SharePart
        Largest first; together the share.
    classes : mapping of str to (float, float, float)
        The other classes: share, low, high. [0–1]
    band : (float, float), optional
        From and to; None where none is assumed. [0–1]
    verdict : str
        In words: "inside the band".
    remedies : tuple of Remedy
        Strokes on the column.
    picture : Drawing, optional
        A small picture; a hundred squares where there is none.
    by_area : bool
        The sentence names it by its title, not by the words under it.
    """

    title: str
    caption: str = ""
    under: str = ""
    share: float
    low: float
    high: float
    parts: tuple[SharePart, ...] = ()
    classes: Mapping[str, tuple[float, float, float]] = field(default_factory=dict)
    band: tuple[float, float] | None = None
    verdict: str = ""
    remedies: tuple[Remedy, ...] = ()
    picture: Drawing | None = None
    by_area: bool = False


@dataclass(frozen=True, kw_only=True)
class Rest:
    """How far a share moves: one row beside the columns."""

    words: str
    share: float  # [1]
    kind: Literal["own", "moved", "open"]  # the limit as it is, moved; what is not decided


def percent(share: float) -> str:
    """A share in per cent, with one place.

    Parameters
    ----------
    share : float
        [0–1]

    Returns
    -------
    str
        The figures, without the sign.

    Examples
    --------
    >>> percent(0.0981)
    '9.8'
    """
    return f"{100 * share:.1f}"


def waffle(share: float, *, x: float, y: float, side: float, of: str = "black") -> list[Primitive]:
    """A hundred squares, filled from the lower left; the last one in part.

    Parameters
    ----------
    share : float
        [0–1]
    x, y : float
        Lower left corner. [mm]
    side : float
        [mm]
    of : str
        What is filled, for a page to find it.

    Returns
    -------
    list of Primitive
        Fill, then the grid.

    Examples
    --------
    >>> waffle(0.115, x=0, y=0, side=20)[0].outline[-3:]  # one row and a half square of the next
    ((3.0, 2.0), (3.0, 4.0), (0, 4.0))
    """
    cell = side / 10
    filled = max(0.0, min(100.0, 100 * share))
    rows, rest = divmod(filled, 10)
    items: list[Primitive] = []
    # One outline for all that is filled: no seams between squares.
    top = y + rows * cell
    ring = [(x, y), (x + side, y), (x + side, top)]
    if rest > 1e-9:
        ring += [(x + rest * cell, top), (x + rest * cell, top + cell), (x, top + cell)]
    else:
        ring += [(x, top)]
    if filled > 1e-9:
        items.append(Polygon(outline=tuple(ring), fill=ink.INK, about=of))
    for i in range(1, 10):
        for a, b in (
            ((x + i * cell, y), (x + i * cell, y + side)),
            ((x, y + i * cell), (x + side, y + i * cell)),
        ):
            items.append(Line(points=(a, b), weight=0.13, ink=ink.GREY_3))
    items.append(
        Polygon(outline=((x, y), (x + side, y), (x + side, y + side), (x, y + side)), weight=0.3)
    )
    return items


class ShareChart:
    """The columns, the rows of bars and the foot, in an area of the paper.

    Parameters
    ----------
    columns : sequence of ShareColumn
        In order from the left.
    of : str
        The class whose share is drawn, as "black".
    definitions : str
        What the class means, for the foot.
    rests_on : sequence of Rest
        How far the share moves.
    meanings : mapping of str to str
        What each class means, for the rows of bars.
    sizes : Sizes
        Cap heights of the text.
    """

    def __init__(
        self,
        columns: Sequence[ShareColumn],
        *,
        of: str,
        definitions: str,
        rests_on: Sequence[Rest],
        meanings: Mapping[str, str],
        sizes: Sizes,
    ) -> None:
        self.meanings = meanings
        self.boxes: list[tuple[float, float, float, float]] = []  # words beside the bars
        self.columns, self.of, self.rests_on = tuple(columns), of, tuple(rests_on)
        self.definitions = f"{definitions} “Other {of}” sums the smaller items."
        self.sizes, self.chart = sizes, Chart(sizes)
        self.number = lettering.from_points(22.0)
        self.groups = [
            (title, list(of_group))
            for title, of_group in itertools.groupby(
                range(len(columns)), key=lambda n: columns[n].title
            )
        ]
        self.names = list(columns[0].classes)

    # --- sizes ---

    @property
    def row(self) -> float:
        """Height of a row of bars. [mm]"""
        return self.sizes.name + 2.5

    def head_height(self) -> float:
        """From the top of a panel to the words of its band. [mm]"""
        s = self.sizes
        high = 2.2 + s.head + s.pitch(s.note) * 2 + 2.6 + self.picture
        high += s.pitch(s.name) * self.under_lines + 3.0
        if not self.beside:
            high += self.number * 1.6 + s.pitch(s.name) + s.pitch(s.note)
        return high

    def foot_lines(self, width: float) -> tuple[str, ...]:
        """The definitions, wrapped for the foot.

        Parameters
        ----------
        width : float
            Of the drawing. [mm]

        Returns
        -------
        tuple of str
            One for each line.
        """
        return wrapped(self.definitions, size=self.sizes.note, width=width, most=4)

    def foot_height(self, width: float) -> float:
        """Height of the rows of bars and of the words under them.

        Parameters
        ----------
        width : float
            Of the drawing. [mm]

        Returns
        -------
        float
            [mm]
        """
        rows = self.row * len(self.names) + 6.0 if self.names else 0.0
        return rows + self.sizes.pitch(self.sizes.note) * len(self.foot_lines(width)) + 5.0

    def needed(self, width: float) -> float:
        """Least height of the drawing.

        Parameters
        ----------
        width : float
            Of the drawing. [mm]

        Returns
        -------
        float
            [mm]
        """
        self.slots(whole_area(width, 100.0))
        return self.head_height() + 62.0 + self.foot_height(width) + 2.0

    # --- places ---

    def slots(self, area: Area) -> None:
        """Find the place of each column.

        Parameters
        ----------
        area : Area
            What there is of the paper.
        """
        n, g = len(self.columns), len(self.groups)
        self.gap = 3.0
        # The words on a band stand right of its panel; a panel without one needs no room.
        after = [BAND_ROOM if self.columns[m[0]].band else 0.0 for _, m in self.groups]
        group_gap = 6.0 if n > 5 else 3.0
        room = area.width - LABELS - sum(after) - group_gap * (g - 1) - self.gap * (n - g)
        self.slot = min(60.0 if n < 3 else 50.0, room / n)
        pictures = any(c.picture is not None for c in self.columns)
        self.bar = min(BAR, (0.18 if n > 5 else 0.26) * self.slot)
        self.beside = self.slot >= SIDE_NUMBER and not pictures
        self.picture = PICTURE if pictures else min(SQUARES, self.slot)
        self.under_lines = max(
            len(wrapped(c.under, size=self.sizes.name, width=self.slot, most=2))
            for c in self.columns
        )
        self.left: list[float] = []
        x = area.left + LABELS
        for k, (_, members) in enumerate(self.groups):
            for m in members:
                self.left.append(x)
                x += self.slot + (self.gap if m != members[-1] else 0.0)
            x += after[k] + (group_gap if k < g - 1 else 0.0)
        self.end = x

    def draw(self, area: Area) -> None:
        """Draw all of it.

        Parameters
        ----------
        area : Area
            What there is of the paper.
        """
        self.slots(area)
        s, chart = self.sizes, self.chart
        foot = self.foot_height(area.width)
        base = area.bottom + foot
        top = area.top - self.head_height()
        reach = max(
            [c.share for c in self.columns]
            + [c.band[1] for c in self.columns if c.band]
            + [r.share for c in self.columns for r in c.remedies]
            + [0.01]
        )
        # Room over the tallest for the words on the band; 2.6 mm for 1 % at most.
        self.k = min(260.0, max(10.0, top - base - 6.0) / reach)
        self.base, self.ceiling = base, top
        for title, members in self.groups:
            self.panel(title, members, area.top)
        for _, members in self.groups:
            self.band(members)
        for n in range(len(self.columns)):
            self.column(n)
        for _, members in self.groups:
            self.edges(members)
        self.rows(area, base)
        y = area.bottom + 1.0 + s.pitch(s.note) * (len(self.foot_lines(area.width)) - 1)
        for line in self.foot_lines(area.width):
            chart.text(area.left, y, line, s.note, colour=ink.GREY_2)
            y -= s.pitch(s.note)
        free = area.right - self.end - 12.0
        if self.rests_on and free >= 85.0:
            self.rests(self.end + 12.0, area.top, free)

    # --- the head of a column ---

    def panel(self, title: str, members: Sequence[int], top: float) -> None:
        """Draw the heading of a panel, and the head of each of its columns.

        Parameters
        ----------
        title : str
            Of the panel.
        members : sequence of int
            Numbers of its columns.
        top : float
            Its upper edge. [mm]
        """
        s, chart = self.sizes, self.chart
        x0, x1 = self.left[members[0]], self.left[members[-1]] + self.slot
        chart.line(x0, top, x1, top, 0.5)
        number = 1 + [t for t, _ in self.groups].index(title)
        words = f"{number}\u00a0\u00a0{title}" if len(self.groups) > 1 else title
        y = top - s.head - 2.2
        chart.text(
            x0,
            y,
            lettering.shorten(words, size=s.head, width=x1 - x0, weight="semibold"),
            s.head,
            bold=True,
        )
        y -= s.pitch(s.note) + 0.6
        caption = self.columns[members[0]].caption
        for line in wrapped(caption, size=s.note, width=x1 - x0, most=2):
            chart.text(x0, y, line, s.note, colour=ink.GREY_2)
            y -= s.pitch(s.note)
        low = top - 2.2 - s.head - s.pitch(s.note) * 2 - 2.6 - self.picture
        for n in members:
            self.head(n, low)

    def head(self, n: int, low: float) -> None:
        """Draw the picture of a column and its number in words.

        Parameters
        ----------
        n : int
            Number of the column.
        low : float
            Lower edge of the picture. [mm]
        """
        s, chart, column, x = self.sizes, self.chart, self.columns[n], self.left[n]
        if column.picture is not None:
            k = min(self.slot / column.picture.width, self.picture / column.picture.height)
            chart.items += moved(column.picture.items, dx=x, dy=low, k=k)
        else:
            side = min(self.picture, self.slot)
            chart.items += waffle(column.share, x=x, y=low, side=side, of=self.of)
        y = low - s.pitch(s.name) + 0.2
        for line in wrapped(column.under, size=s.name, width=self.slot, most=2):
            chart.text(x, y, line, s.name)
            y -= s.pitch(s.name)
        if self.beside:
            x += self.picture + 2.6
            y = low + self.picture - self.number
        else:
            y = low - s.pitch(s.name) * self.under_lines - self.number * 1.45
        room = self.left[n] + self.slot - x
        said = f"{percent(column.share)}\u00a0%"
        wide = lettering.advance(said, size=self.number, weight="semibold")
        number = min(self.number, self.number * (room - 0.5) / wide)
        chart.text(x, y, said, number, bold=True)
        y -= s.pitch(s.name) + 0.4
        out = column.verdict.startswith("above")
        colour = ink.GREY_2 if column.band is None else ink.INK
        weight = "semibold" if out else "regular"
        words = column.verdict
        if lettering.advance(words, size=s.name, weight=weight) > room:
            words = {"no": "no band"}.get(words.split(" ")[0], words.split(" ")[0])
        words = lettering.shorten(words, size=s.name, width=room, weight=weight)
        chart.text(x, y, words, s.name, bold=out, colour=colour)
        y -= s.pitch(s.note)
        if column.high - column.low > 0.0005:
            words = f"{percent(column.low)}–{percent(column.high)} within ±"
            if lettering.advance(words, size=s.note) > room:
                words = words.replace("within ", "")
            words = lettering.shorten(words, size=s.note, width=room)
            chart.text(x, y, words, s.note, colour=ink.GREY_2)

    # --- the bars ---

    def band(self, members: Sequence[int]) -> None:
        """The ground of the band; its edges are drawn when the words have their place.

        Parameters
        ----------
        members : sequence of int
            Numbers of the panel's columns.
        """
        x0, x1 = self.left[members[0]], self.left[members[-1]] + self.slot
        band = self.columns[members[0]].band
        if band is not None:
            low, high = (self.base + v * self.k for v in band)
            ring = ((x0, low), (x1, low), (x1, high), (x0, high))
            self.chart.items.append(Polygon(outline=ring, fill=ink.GREY_5, about="band"))

    def edges(self, members: Sequence[int]) -> None:
        """Draw the edges of the band, and what it is.

        Parameters
        ----------
        members : sequence of int
            Numbers of the panel's columns.
        """
        s, chart = self.sizes, self.chart
        for n in members:
            chart.line(self.left[n], self.base, self.left[n] + self.slot, self.base, 0.3)
        band = self.columns[members[0]].band
        if band is None:
            return
        x0, x1 = self.left[members[0]], self.left[members[-1]] + self.slot
        low, high = (self.base + v * self.k for v in band)
        for y in (low, high) if band[0] > 0 else (high,):
            # A dashed edge stops where a label or a column stands in it.
            stops = sorted(
                (a - 0.6, b + 0.6)
                for a, b, bottom, top in self.boxes
                if bottom < y < top and x0 - 1 < a < x1
            )
            x = x0
            for a, b in [*stops, (x1, x1)]:
                if a - x > 2.5:
                    chart.line(x, y, min(a, x1), y, 0.3, colour=ink.TIMBER, dash=(1.8, 1.0))
                x = max(x, b)
        x1 += 1.5
        pitch = s.pitch(s.note)

        def say(y: float, words: str, bold: bool = False) -> None:
            chart.text(x1, y, words, s.note, bold=bold, colour=ink.TIMBER)

        say(high - s.note / 2, f"{100 * band[1]:g}\u00a0%", True)
        if band[0] > 0 and high - low > pitch:
            say(low - s.note / 2, f"{100 * band[0]:g}\u00a0%", True)
        inside = high - low > 3 * pitch + 1.0
        y = high - s.note / 2 + (-pitch if inside else 2 * pitch)
        say(y, "band: our")
        say(y - pitch, "assumption")

    def column(self, n: int) -> None:
        """Draw a column with its parts and their labels.

        Parameters
        ----------
        n : int
            Number of the column.
        """
        chart, column, x = self.chart, self.columns[n], self.left[n]
        y = self.base
        wants: list[_Want] = []
        for part in column.parts:
            high = part.share * self.k
            ring = ((x, y), (x + self.bar, y), (x + self.bar, y + high), (x, y + high))
            if part.hatched:
                chart.items.append(Polygon(outline=ring, fill=ink.PAPER, weight=0.3))
                chart.items.append(
                    Hatch(
                        outline=ring,
                        angle=ink.NEXT.angle,
                        spacing=ink.NEXT.spacing,
                        weight=ink.NEXT.weight,
                        ink=ink.INK,
                        about=part.about,
                    )
                )
            else:
                chart.items.append(Polygon(outline=ring, fill=ink.INK, about=part.about))
            if y > self.base:
                chart.line(x, y, x + self.bar, y, 0.3, colour=ink.PAPER)
            wants.append(self.want(y + high / 2, part.words, part.share))
            y += high
        self.boxes.append((x, x + self.bar, self.base, y))
        for remedy in column.remedies:
            at = self.base + remedy.share * self.k
            # White beside the stroke where it lies on the black of its own column.
            for off in (-0.55, 0.55):
                chart.line(x, at + off, x + self.bar, at + off, 0.35, colour=ink.PAPER)
            chart.line(x - 1.6, at, x + self.bar + 1.6, at, 0.7)
            wants.append(self.want(at, f"{remedy.words}:\u00a0", remedy.share, bold=True))
        self.labels(x, wants)

    def want(self, at: float, words: str, share: float, *, bold: bool = False) -> _Want:
        """A label that wants to stand at a height, in its lines.

        Parameters
        ----------
        at : float
            The height. [mm]
        words : str
            What it says.
        share : float
            The number behind the words. [1]
        bold : bool, optional
            For a remedy or a whole.

        Returns
        -------
        _Want
            Not placed yet.
        """
        size, room = self.sizes.note, self.slot - self.bar - 4.2
        number = percent(share)
        if bold:
            lines = wrapped(words + number, size=size, width=room, bold=True, most=4)
        else:
            wide = lettering.advance(f" {number}", size=size)
            short = lettering.shorten(words, size=size, width=room - wide)
            lines = (f"{short} {number}",)
            plain = words.split(",")[0]
            if short != words:  # without its finish, and over two lines rather than cut
                lines = wrapped(f"{plain} {number}", size=size, width=room, most=3)
            if not lines[-1].endswith(number):
                lines = (f"{short} {number}",)
        return _Want(at=at, lines=tuple(lines), share=share, bold=bold)

    def labels(self, x: float, wants: Sequence[_Want]) -> None:
        """Draw the labels of a column, none over another.

        Parameters
        ----------
        x : float
            Left edge of the column. [mm]
        wants : sequence of _Want
            Where each wants to stand.
        """
        size, chart = self.sizes.note, self.chart
        pitch = self.sizes.pitch(size)
        floor = self.base + 0.4

        def tall(want: _Want) -> float:
            return pitch * (len(want.lines) - 1) + size + 1.4

        # What there is no room for is said in the alternative text only, the least first.
        kept = sorted(wants, key=lambda w: (not w.bold, -w.share))
        while len(kept) > 1 and sum(map(tall, kept)) > self.ceiling - floor:
            kept.pop()
        order = sorted(kept, key=lambda w: (w.at, w.bold))
        highs = [tall(w) for w in order]
        lows = _stacked([w.at for w in order], highs, floor=floor, ceiling=self.ceiling)
        for want, low, high in zip(order, lows, highs, strict=True):
            centre = low + high / 2
            start = x + self.bar + (1.6 if want.bold else 0.3)
            chart.line(start, want.at, x + self.bar + 3.0, centre, 0.18)
            left = x + self.bar + 3.6
            wide = 0.0
            for i, line in enumerate(want.lines):
                y = low + 0.7 + pitch * (len(want.lines) - 1 - i)
                chart.text(left, y, line, size, bold=want.bold)
                weight = "semibold" if want.bold else "regular"
                wide = max(wide, lettering.advance(line, size=size, weight=weight))
            self.boxes.append((left - 0.4, left + wide, low, low + high))

    # --- the other classes ---

    def rows(self, area: Area, base: float) -> None:
        """Draw the rows of bars: the other classes.

        Parameters
        ----------
        area : Area
            What there is of the paper.
        base : float
            Foot of the columns. [mm]
        """
        s, chart = self.sizes, self.chart
        y = base - 6.0 - s.name / 2
        room = area.right - self.end - 2.0
        for name in self.names:
            chart.text(area.left, y - s.name / 2 + 0.2, name, s.name)
            for n, column in enumerate(self.columns):
                share = column.classes.get(name, (0.0, 0.0, 0.0))[0]
                x, full = self.left[n], self.slot - 13.5
                chart.bar(x, x + full, y - 1.3, 2.6, fill=ink.GREY_5)
                if share > 0:
                    chart.bar(x, x + share * full, y - 1.3, 2.6, fill=ink.GREY_1, about=name)
                chart.text(
                    x + self.slot,
                    y - s.name / 2 + 0.2,
                    f"{percent(share)}\u00a0%",
                    s.name,
                    anchor="end",
                )
            meaning = self.meanings.get(name, "")
            if meaning and room >= 45.0:
                words = lettering.shorten(meaning, size=s.note, width=room)
                chart.text(self.end + 2.0, y - s.name / 2 + 0.2, words, s.note, colour=ink.GREY_2)
            y -= self.row

    # --- how firm it is ---

    def rests(self, x: float, top: float, width: float) -> None:
        """Draw how far the share moves.

        Parameters
        ----------
        x, top : float
            Upper left corner. [mm]
        width : float
            What there is beside the columns. [mm]
        """
        s, chart = self.sizes, self.chart
        width = min(width, 125.0)
        chart.line(x, top, x + width, top, 0.5)
        y = top - s.head - 2.2
        chart.text(x, y, "How firm is it?", s.head, bold=True)
        y -= s.pitch(s.note) + 0.6
        words = f"share of {self.of} by area with the limit moved, and what the ± leaves open"
        for line in wrapped(words, size=s.note, width=width, most=2):
            chart.text(x, y, line, s.note, colour=ink.GREY_2)
            y -= s.pitch(s.note)
        y -= 3.0
        label = min(
            0.55 * width,
            max(lettering.advance(r.words, size=s.name) for r in self.rests_on) + 3.5,
        )
        most = max(r.share for r in self.rests_on) or 1.0
        k = (width - label - 15.0) / most
        pitch = self.row + 0.8
        for row in self.rests_on[: max(1, int((y - self.base) // pitch))]:
            own = row.kind == "own"
            weight = "semibold" if own else "regular"
            words = lettering.shorten(row.words, size=s.name, width=label - 2.0, weight=weight)
            low = y - s.name / 2 + 0.2
            chart.text(x + label - 2.0, low, words, s.name, bold=own, anchor="end")
            chart.bar(
                x + label,
                x + label + row.share * k,
                y - 1.5,
                3.0,
                fill="" if row.kind == "open" else ink.INK if own else ink.GREY_3,
                weight=0.25 if row.kind == "open" else 0.0,
                hatch=row.kind == "open",
            )
            said = f"{percent(row.share)}\u00a0%"
            chart.text(x + label + row.share * k + 1.6, low, said, s.name, bold=own)
            y -= pitch


@dataclass(frozen=True, kw_only=True)
class _Want:
    """A label with the height it wants to stand at."""

    at: float
    lines: tuple[str, ...]
    share: float
    bold: bool = False


def _stacked(
    wants: Sequence[float], highs: Sequence[float], *, floor: float, ceiling: float
) -> list[float]:
    """Lower edges of labels in order, none on another, each as near its place as can be."""
    # Runs of labels that touch move as one: the mean of what they want.
    runs: list[list[float]] = []  # sum of wanted lower edges of the run's first, count, height
    for want, high in zip(wants, highs, strict=True):
        runs.append([want - high / 2, 1.0, high])
        while len(runs) > 1 and _low(runs[-2], floor) + runs[-2][2] > _low(runs[-1], floor):
            sum_, count, tall = runs.pop()
            runs[-1][0] += sum_ - count * runs[-1][2]
            runs[-1][1] += count
            runs[-1][2] += tall
    lows: list[float] = []
    index = 0
    for run in runs:
        low = _low(run, floor)
        for _ in range(int(run[1])):
            lows.append(low)
            low += highs[index]
            index += 1
    for n in reversed(range(len(lows))):
        lows[n] = min(lows[n], ceiling - highs[n])
        ceiling = lows[n]
    return lows


def _low(run: Sequence[float], floor: float) -> float:
    return max(floor, run[0] / run[1])
