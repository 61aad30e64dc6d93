"""Tables on sheets: furniture, finishes, quantities with their why, orders.

Columns are as wide as what stands in them asks for; cells are wrapped, never
cut. A table that is longer than the paper goes on further sheets with its
heads repeated; a row that is longer than a sheet goes on, too.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from designkit.costs.money import currency as currency_of
from designkit.costs.money import sum_text
from designkit.errors import InputError
from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.chart import (
    PAGE_WIDTH,
    Chart,
    Sizes,
    days_text,
    number_text,
    open_sheet,
    sizes_for,
    whole_area,
    wrapped,
)
from designkit.figures.drawing import Drawing
from designkit.figures.schedule import schedule_answer
from designkit.figures.sheet import Area, Sheet, TitleBlock
from designkit.schedule.programme import Programme
from designkit.takeoff.lines import TakeoffLine, TakeoffResult, area_text, run_text, volume_text
from designkit.takeoff.tables import Cell, Table
from designkit.units import IMPERIAL, NBSP, convert, inches

__all__ = ["Head", "Row", "Sheeted", "table_pages", "table_sheets"]

_SAID = 4  # quantities in the answer; all of them stand in the table
_INCH_PAPERS = ("Letter", "Tabloid", "Arch C", "Arch D")
_GAP = 4.0  # between columns [mm]
_PAD = 1.9  # above and below the words of a row, together [mm]


@dataclass(frozen=True, kw_only=True)
class Head:
    """A column.

    Parameters
    ----------
    words : str
        Its heading, with the unit of what stands in it.
    align : {"start", "end"}
        Words at the left, numbers at the right.
    bold : bool
        Semibold: what the table is about.
    quiet : bool
        Smaller and grey: where something comes from.
    """

    words: str
    align: Literal["start", "end"] = "start"
    bold: bool = False
    quiet: bool = False


@dataclass(frozen=True, kw_only=True)
class Row:
    """A row: a text a column, a line break in a text is kept."""

    cells: tuple[str, ...]
    group: str = ""  # heading under which it stands, with others of the same
    note: str = ""  # what is said once under that heading
    about: str = ""


@dataclass(frozen=True, kw_only=True)
class Sheeted:
    """A table with what its sheet asks and answers."""

    question: str
    answer: str
    scale: str
    heads: tuple[Head, ...]
    rows: tuple[Row, ...]
    notes: tuple[str, ...] = ()  # under the last row


# --- laying out ---------------------------------------------------------------


def _size(head: Head, sizes: Sizes) -> float:
    return sizes.note if head.quiet else sizes.name


def _widths(table: Sheeted, sizes: Sizes, width: float) -> list[float]:
    """Every column gets its longest word, and a share of the rest by its longest line."""
    count = len(table.heads)
    room = width - _GAP * (count - 1)
    least, most = [], []
    for index, head in enumerate(table.heads):
        size = _size(head, sizes)
        weight = "semibold" if head.bold else "regular"
        lines = [line for row in table.rows for line in row.cells[index].split("\n")]
        words = [word for line in lines for word in lettering.tie(line).split(" ")]
        heading = [
            lettering.advance(w, size=sizes.note) for w in lettering.tie(head.words).split(" ")
        ]
        heading.append(0.62 * lettering.advance(head.words, size=sizes.note))  # in two lines
        narrow = max((lettering.advance(w, size=size, weight=weight) for w in words), default=0.0)
        wide = max((lettering.advance(s, size=size, weight=weight) for s in lines), default=0.0)
        # One long word does not take the sheet: it is broken.
        least.append(min(max(narrow, *heading, 6.0), 0.3 * room) + 0.3)
        most.append(max(wide + 0.3, least[-1]))
    if sum(most) <= room:
        spare = min((room - sum(most)) / count, 6.0)
        return [w + spare for w in most]
    if sum(least) >= room:
        return [w * room / sum(least) for w in least]
    rest = (room - sum(least)) / sum(m - n for m, n in zip(most, least))
    return [n + (m - n) * rest for m, n in zip(most, least)]


@dataclass(frozen=True, kw_only=True)
class _Laid:
    """A row or a group heading with its lines."""

    cells: tuple[tuple[str, ...], ...]
    height: float
    group: str = ""
    heading: bool = False
    about: str = ""


class _Setter:
    """Sets the rows of one table in a width."""

    def __init__(self, table: Sheeted, sizes: Sizes, width: float) -> None:
        self.table, self.sizes, self.width = table, sizes, width
        self.widths = _widths(table, sizes, width)
        self.rule = min(width, sum(self.widths) + _GAP * (len(self.widths) - 1))
        self.heads = [
            wrapped(head.words, size=sizes.note, width=w)
            for head, w in zip(table.heads, self.widths)
        ]
        self.head_height = max(map(len, self.heads)) * sizes.pitch(sizes.note) + 2.2
        self.laid = list(self._lay())

    def _lay(self) -> Iterable[_Laid]:
        group = ""
        for row in self.table.rows:
            if len(row.cells) != len(self.table.heads):
                raise InputError(
                    "row",
                    given=f"{len(row.cells)} cells",
                    allowed=f"{len(self.table.heads)}, one a column",
                    mend="give every column a text, which may be empty",
                )
            if row.group and row.group != group:
                yield self._heading(row.group, row.note)
            group = row.group
            cells = tuple(
                tuple(
                    wrapped(text, size=_size(head, self.sizes), width=width, bold=head.bold)
                    if text
                    else ()
                )
                for text, head, width in zip(row.cells, self.table.heads, self.widths)
            )
            yield _Laid(cells=cells, height=self._height(cells), group=group, about=row.about)

    def _heading(self, group: str, note: str = "") -> _Laid:
        sizes = self.sizes
        heads = wrapped(group, size=sizes.name * 1.12, width=self.width, bold=True)
        notes = wrapped(note, size=sizes.note, width=self.width)
        high = len(heads) * sizes.pitch(sizes.name * 1.12) + len(notes) * sizes.pitch(sizes.note)
        return _Laid(cells=(heads, notes), height=high + 4.4, group=group, heading=True)

    def _height(self, cells: tuple[tuple[str, ...], ...]) -> float:
        pitches = [self.sizes.pitch(_size(head, self.sizes)) for head in self.table.heads]
        return max(len(lines) * pitch for lines, pitch in zip(cells, pitches)) + _PAD

    def split(self, row: _Laid, room: float) -> tuple[_Laid | None, _Laid]:
        """The part of a row that fits, and the rest."""
        first, rest = [], []
        for lines, head in zip(row.cells, self.table.heads):
            fit = max(0, int((room - _PAD) / self.sizes.pitch(_size(head, self.sizes))))
            first.append(lines[:fit])
            rest.append(lines[fit:])
        if not any(first) or not any(rest):
            return None, row
        return (
            dataclasses.replace(row, cells=tuple(first), height=self._height(tuple(first))),
            dataclasses.replace(row, cells=tuple(rest), height=self._height(tuple(rest))),
        )

    def pages(self, room: float) -> list[list[_Laid]]:
        """The rows of each sheet."""
        room -= self.head_height
        pages: list[list[_Laid]] = [[]]
        left = room
        queue = list(self.laid)
        while queue:
            row = queue.pop(0)
            follows = queue[0].height if row.heading and queue else 0.0
            wanted = row.height + min(follows, 0.5 * room)
            if wanted <= left or (not pages[-1] and row.heading):
                pages[-1].append(row)
                left -= row.height
                continue
            # What is more than half a sheet high is split rather than moved.
            if not row.heading and (row.height > 0.5 * room or not pages[-1]):
                part, rest = self.split(row, left)
                if part is not None:
                    pages[-1].append(part)
                    queue.insert(0, rest)
                elif not pages[-1]:
                    pages[-1].append(row)  # not even one line fits: the paper is too small
                    left -= row.height
                    continue
                else:
                    queue.insert(0, row)
            else:
                queue.insert(0, row)
            pages.append([])
            left = room
            if queue and queue[0].group and not queue[0].heading:
                again = self._heading(f"{queue[0].group}, continued")
                pages[-1].append(again)
                left -= again.height
        return [page for page in pages if page] or [[]]

    def draw(self, chart: Chart, left: float, top: float, page: Sequence[_Laid]) -> float:
        """Heads and rows; gives where they end."""
        sizes = self.sizes
        lefts, x = [], left
        for width in self.widths:
            lefts.append(x)
            x += width + _GAP
        right = left + self.rule
        for head, lines, x, width in zip(self.table.heads, self.heads, lefts, self.widths):
            for i, words in enumerate(lines):
                chart.text(
                    x + (width if head.align == "end" else 0.0),
                    top - sizes.note - i * sizes.pitch(sizes.note),
                    words,
                    sizes.note,
                    colour=ink.GREY_1,
                    anchor=head.align,
                )
        y = top - self.head_height
        chart.line(left, y, right, y, 0.5)
        for index, row in enumerate(page):
            if row.heading:
                y = self._draw_heading(chart, left, y, row)
                chart.line(left, y, right, y, 0.18)
                continue
            for head, lines, x, width in zip(self.table.heads, row.cells, lefts, self.widths):
                size = _size(head, sizes)
                for i, words in enumerate(lines):
                    chart.text(
                        x + (width if head.align == "end" else 0.0),
                        y - _PAD / 2 - sizes.name * 1.14 - i * sizes.pitch(size),
                        words,
                        size,
                        bold=head.bold,
                        colour=ink.GREY_1 if head.quiet else ink.INK,
                        anchor=head.align,
                        about=row.about,
                    )
            y -= row.height
            if index + 1 < len(page) and not page[index + 1].heading:
                chart.line(left, y, right, y, 0.13, colour=ink.GREY_4)
        chart.line(left, y, right, y, 0.25)
        return y

    def _draw_heading(self, chart: Chart, left: float, y: float, row: _Laid) -> float:
        sizes = self.sizes
        heads, notes = row.cells
        at = y - 2.6 - sizes.name * 1.12
        for words in heads:
            chart.text(left, at, words, sizes.name * 1.12, bold=True)
            at -= sizes.pitch(sizes.name * 1.12)
        at += sizes.pitch(sizes.name * 1.12) - sizes.pitch(sizes.note)
        for words in notes:
            chart.text(left, at, words, sizes.note, colour=ink.GREY_1)
            at -= sizes.pitch(sizes.note)
        return y - row.height


def _spoken(table: Sheeted, rows: Sequence[_Laid]) -> str:
    """The rows of one sheet in words."""
    said = [table.answer]
    for row in rows:
        if row.heading:
            said.append(f"{' '.join(row.cells[0])}.")
            continue
        parts = [
            f"{head.words}: {' '.join(lines)}"
            for head, lines in zip(table.heads, row.cells)
            if lines
        ]
        said.append("; ".join(parts) + ".")
    return " ".join(said)


def table_pages(
    table: Sheeted,
    *,
    block: TitleBlock | None = None,
    paper: str = "A4",
    page: bool = False,
    note: str = "",
) -> tuple[Drawing, ...]:
    """A table on as many sheets as it needs.

    Parameters
    ----------
    table : Sheeted
        Question, answer, columns and rows.
    block : TitleBlock, optional
        What the foot of the sheets says; needed unless `page`.
    paper : str
        A key of `sheet.PAPERS`.
    page : bool
        The table alone in one drawing, for a study page.
    note : str
        A few italic words at the top right of the sheets.

    Returns
    -------
    tuple of Drawing
        One a sheet; the foot says which page of how many.

    Raises
    ------
    InputError
        There is no title block for a sheet, no column, or a row with another
        number of cells than columns.
    LookupFailed
        There is no such paper.
    """
    if not table.heads:
        raise InputError("heads", given="none", allowed="one or more", mend="name the columns")
    if page:
        return (_one(table),)

    def sheet(words: str, number: TitleBlock | None) -> Sheet:
        return open_sheet(
            number,
            question=table.question,
            answer=words,
            paper=paper,
            scale=table.scale,
            note=note,
        )

    first = sheet(table.answer, block)
    assert block is not None  # or open_sheet has said so
    sizes = sizes_for(width=first.width, page=False)
    setter = _Setter(table, sizes, first.area.width)
    notes = _notes(table, sizes, first.area.width)
    pages = setter.pages(first.area.height)
    high = setter.head_height + sum(row.height for row in pages[-1])
    if notes and high + _notes_height(notes, sizes) > first.area.height:
        pages.append([])  # the notes go on a sheet of their own
    found = []
    for number, rows in enumerate(pages, 1):
        title = block.title
        if len(pages) > 1:
            title += f", page {number} of {len(pages)}"
        here = sheet(table.answer, dataclasses.replace(block, title=title))
        chart = Chart(sizes)
        end = here.area.top
        if rows or len(pages) == 1:
            end = setter.draw(chart, here.area.left, here.area.top, rows)
        if number == len(pages):
            _draw_notes(chart, notes, here.area.left, end)
        found.append(here.drawing(chart.items, title=table.question, text=_spoken(table, rows)))
    return tuple(found)


def _notes(table: Sheeted, sizes: Sizes, width: float) -> list[tuple[str, ...]]:
    return [wrapped(words, size=sizes.note, width=width) for words in table.notes if words]


def _notes_height(notes: Sequence[tuple[str, ...]], sizes: Sizes) -> float:
    return 3.0 + sum(map(len, notes)) * sizes.pitch(sizes.note)


def _draw_notes(chart: Chart, notes: Sequence[tuple[str, ...]], left: float, end: float) -> None:
    sizes = chart.sizes
    y = end - 2.0
    for lines in notes:
        for words in lines:
            y -= sizes.pitch(sizes.note)
            chart.text(left, y + 0.6, words, sizes.note, colour=ink.GREY_1)


def _one(table: Sheeted) -> Drawing:
    sizes = sizes_for(width=PAGE_WIDTH, page=True)
    setter = _Setter(table, sizes, PAGE_WIDTH - 1.0)
    notes = _notes(table, sizes, PAGE_WIDTH - 1.0)
    height = setter.head_height + sum(row.height for row in setter.laid) + 2.0
    height += _notes_height(notes, sizes) if notes else 0.0
    area: Area = whole_area(PAGE_WIDTH, height)
    chart = Chart(sizes)
    end = setter.draw(chart, area.left, area.top, setter.laid)
    _draw_notes(chart, notes, area.left, end)
    return Drawing(
        width=PAGE_WIDTH,
        height=height,
        items=tuple(chart.items),
        title=table.question,
        text=_spoken(table, setter.laid),
    )


# --- what the tables hold -----------------------------------------------------


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _text(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, Decimal):
        return f"{cell.normalize():f}"
    return f"{cell:g}" if isinstance(cell, float) else str(cell)


def _dimensions(row: Mapping[str, Cell], imperial: bool) -> str:
    """Width, depth and height as far as they are known."""
    known = [row.get(name) for name in ("width", "depth", "height")]
    texts = [
        inches(value, denominator=4) if imperial else f"{value * 1000:.0f}"
        for value in known
        if isinstance(value, float | int)
    ]
    if len(texts) == 1:
        return f"{texts[0]} wide"
    return f"{NBSP}×{NBSP}".join(texts)


def _money(cell: Cell, code: str) -> str:
    if not isinstance(cell, Decimal):
        return _text(cell)
    if not code:
        return f"{cell:,f}"
    return sum_text(cell, code=code)


def _furniture(table: Table, *, imperial: bool, code: str) -> Sheeted:
    unit = "in" if imperial else "mm"
    priced = f", {currency_of(code).sign}" if code else ""
    columns: list[tuple[str, Head]] = [
        ("what", Head(words="piece", bold=True)),
        ("size", Head(words=f"width × depth × height, {unit}")),
        ("finish", Head(words="finish")),
        ("quantity", Head(words="number", align="end")),
        ("supplier", Head(words="supplier")),
        ("status", Head(words="status")),
        ("lead weeks", Head(words="lead time, weeks", align="end")),
        ("trade price", Head(words=f"trade price{priced}", align="end")),
        ("client price", Head(words=f"client price{priced}", align="end")),
        ("note", Head(words="note", quiet=True)),
    ]
    held = [(key, head) for key, head in columns if key == "size" or key in table.columns]

    def cell(row: Mapping[str, Cell], key: str) -> str:
        if key == "size":
            return _dimensions(row, imperial)
        if key == "what":
            return _capital(_text(row[key]))
        if key in ("trade price", "client price"):
            return _money(row[key], code)
        if key == "supplier" and len(_text(row[key])) < 20:
            return _text(row[key]).replace(" ", NBSP)  # a firm by role keeps its number
        return _text(row[key])

    rooms = list(dict.fromkeys(_text(row.get("room")) for row in table.rows))
    rows = tuple(
        Row(
            cells=tuple(cell(row, key) for key, _ in held),
            group=_capital(room) or "Without a room",
            about=_text(row.get("item")),
        )
        for room in rooms
        for row in table.rows
        if _text(row.get("room")) == room
    )
    count = sum(int(row["quantity"] or 0) for row in table.rows)
    status: dict[str, int] = {}
    for row in table.rows:
        status[_text(row["status"])] = status.get(_text(row["status"]), 0) + int(
            row["quantity"] or 0
        )
    said = ", ".join(f"{number} {word}" for word, number in status.items())
    return Sheeted(
        question="Which pieces stand in which room?",
        answer=f"{count} in all, {len(table.rows)} kinds: {said}." if rows else "None yet.",
        scale=f"sizes in {unit}",
        heads=tuple(head for _, head in held),
        rows=rows,
    )


def _finishes(table: Table, *, imperial: bool) -> Sheeted:
    unit = "ft²" if imperial else "m²"

    def area(metres: float) -> str:
        if imperial:
            return number_text(convert(metres, kind="area", to="ft²"))
        return number_text(metres, decimals=1)

    columns: list[tuple[str, Head]] = [
        ("surface", Head(words="surface")),
        ("what", Head(words="finish", bold=True)),
        ("kind", Head(words="kind")),
        ("sheen", Head(words="sheen")),
        ("LRV", Head(words="LRV, as given", align="end")),
        ("known", Head(words="where it is known from")),
        ("area", Head(words=f"area without openings, {unit}", align="end")),
    ]
    held = [(key, head) for key, head in columns if key in table.columns]

    def cell(row: Mapping[str, Cell], key: str) -> str:
        value = row[key]
        if key == "area" and isinstance(value, float | int):
            return area(value)
        if key == "LRV":
            return number_text(value) if isinstance(value, float | int) else ""
        if key == "what":
            return _capital(_text(value)) or "not chosen"
        return _text(value)

    rows = tuple(
        Row(cells=tuple(cell(row, key) for key, _ in held), group=_capital(_text(row["room"])))
        for row in table.rows
    )
    open_ = sum(not _text(row["what"]) for row in table.rows)
    kinds = len({_text(row["what"]) for row in table.rows} - {""})
    said = f"{len(rows)} surfaces in {kinds} finishes"
    said += f"; {open_} not chosen yet." if open_ else "; all are chosen."
    return Sheeted(
        question="Which finish is on which surface?",
        answer=said if rows else "None yet.",
        scale=f"areas in {unit}",
        heads=tuple(head for _, head in held),
        rows=rows,
        notes=(
            "LRV: light reflectance value, where the maker gives one. Walls are numbered on the "
            "finish plan.",
        ),
    )


def _need(line: TakeoffLine, result: TakeoffResult) -> str:
    said = {"L": volume_text, "m²": area_text, "m": run_text}
    if line.unit in said:
        return said[line.unit](line.net, result.system)
    return f"{line.net:g}{NBSP}{line.unit}".strip()


def _takeoff(result: TakeoffResult, *, names: Mapping[str, str]) -> Sheeted:
    heads = (
        Head(words="what"),
        Head(words="needed", align="end"),
        Head(words="to order", bold=True),
        Head(words="waste, of the order", align="end"),
        Head(words="why", quiet=True),
    )
    rows = []
    for line in result.lines:
        rooms = ", ".join(names.get(room, room) for room in line.rooms)
        same = [other for other in result.lines if other.kind == line.kind]
        cautions = list(dict.fromkeys(c for other in same for c in other.cautions))
        rows.append(
            Row(
                cells=(
                    _capital(line.what) + (f"\n({rooms})" if rooms else ""),
                    _need(line, result),
                    line.text,
                    "" if line.kind == "work" else f"{line.waste * 100:.0f}{NBSP}%",
                    "\n".join(line.why),
                ),
                group=_capital(line.kind),
                note=" ".join(cautions),
                about=line.id,
            )
        )
    first = [f"{line.what[:1].lower()}{line.what[1:]}: {line.text}" for line in result.lines]
    if len(first) > _SAID + 1:
        first[_SAID:] = [f"and {len(first) - _SAID} more"]
    said = "; ".join(first)
    assumed = "; ".join(result.assumed)
    notes = [f"Not worked out: {words}." for words in result.missing]
    if assumed:
        notes.append(f"The project does not say; taken by the usual rule: {assumed}.")
    answer = _capital(said) + "." if said else "Nothing yet."
    if result.missing:
        words = "thing is" if len(result.missing) == 1 else "things are"
        answer = f"{len(result.missing)} {words} not worked out, see the end of it. {answer}"
    return Sheeted(
        question="How much has to be ordered?",
        answer=answer,
        scale="feet, yards, gallons" if result.system == "US" else "metres, litres",
        heads=heads,
        rows=tuple(rows),
        notes=tuple(notes),
    )


def _orders(result: Programme, *, names: Mapping[str, str]) -> Sheeted:
    heads = (
        Head(words="order by", bold=True),
        Head(words="what"),
        Head(words="room"),
        Head(words="takes, weeks", align="end"),
        Head(words="state"),
        Head(words="why", quiet=True),
    )
    rows = []
    for order in result.orders:
        takes = None if order.lead is None else order.lead + order.making + order.transit
        rows.append(
            Row(
                cells=(
                    "" if order.day is None else days_text(order.day, year=True),
                    _capital(order.item),
                    names.get(order.room, order.room),
                    "" if takes is None else f"{takes:g}",
                    order.state,
                    "\n".join(order.why),
                ),
                about=order.line,
            )
        )
    return Sheeted(
        question="What must be ordered by when?",
        answer=schedule_answer(result),
        scale="calendar weeks",
        heads=heads,
        rows=tuple(rows),
    )


def table_sheets(
    rows: Table | TakeoffResult | Programme,
    *,
    block: TitleBlock | None = None,
    paper: str = "A4",
    page: bool = False,
    note: str = "",
    units: str = "",
    names: Mapping[str, str] | None = None,
    currency: str = "",
) -> tuple[Drawing, ...]:
    """A schedule, a take-off or the list of orders on as many sheets as it needs.

    Parameters
    ----------
    rows : Table, TakeoffResult or Programme
        Furniture or finish schedule, quantities with why, or all orders.
    block : TitleBlock, optional
        What the foot of the sheets says; needed unless `page`.
    paper : str
        A key of `sheet.PAPERS`.
    page : bool
        The table alone in one drawing, for a study page.
    note : str
        A few italic words at the top right of the sheets.
    units : str
        The project's unit of length; by default inches on inch papers, else
        millimetres. A take-off brings its own.
    names : mapping of str to str, optional
        Names of rooms by their id, where the rows hold ids.
    currency : str
        ISO 4217, for the prices of a studio's furniture schedule.

    Returns
    -------
    tuple of Drawing
        One a sheet. Only the columns of the table's audience are in them.

    Raises
    ------
    InputError
        There is no title block for a sheet.
    LookupFailed
        There is no such paper or currency.
    """
    named = names or {}
    if isinstance(rows, TakeoffResult):
        table = _takeoff(rows, names=named)
    elif isinstance(rows, Programme):
        table = _orders(rows, names=named)
    else:
        imperial = units in IMPERIAL if units else paper in _INCH_PAPERS
        if "surface" in rows.columns:
            table = _finishes(rows, imperial=imperial)
        else:
            table = _furniture(rows, imperial=imperial, code=currency)
    return table_pages(table, block=block, paper=paper, page=page, note=note)
