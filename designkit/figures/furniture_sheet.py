"""The furniture plan sheet: a plan with its findings, pieces, key and limits.

It takes findings, routes and views from the plan layer. A figure in a sentence,
its dimension on the plan and its verdict come from the same value.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from designkit.errors import InputError
from designkit.figures import blocks, ink, marks
from designkit.figures import shell as shells
from designkit.figures import type as lettering
from designkit.figures.drawing import Drawing, Hatch, Line, Polygon, Primitive, Text
from designkit.figures.plan import USUAL, is_hatched, plan_items, size_words
from designkit.figures.sheet import Area, TitleBlock, drawing_sheet, fitting_scale, scale_text
from designkit.model import Finding, Home, Layout, Piece
from designkit.plan.pieces import kind_of
from designkit.plan.place import Placed, place_home
from designkit.reference import all_rows, value
from designkit.units import IMPERIAL, in_sentence, on_sheet

__all__ = ["finding_sentence", "furniture_plan_sheet", "plan_size"]


# --- words -------------------------------------------------------------------


def _quantity(number: float, unit: str, units: str) -> str:
    if unit == "m":
        return in_sentence(number, units=units)
    if unit in ("share", "1", ""):
        return f"{number * 100:.0f}\u00a0%"
    if unit == "°":
        return f"{number:.0f}°"
    text = f"{number:.0f}" if abs(number) >= 10 or number == round(number) else f"{number:.1f}"
    return f"{text}\u00a0{unit}" if unit else text


def finding_sentence(finding: Finding, *, units: str = "m") -> str:
    """A finding in one or two sentences: what, how much, what is wanted, what to do.

    Parameters
    ----------
    finding : Finding
        From any layer.
    units : str
        The project's unit of length.

    Returns
    -------
    str
        The sentence, numbers kept with their units.

    Examples
    --------
    >>> finding_sentence(Finding(what="Main route, hall to balcony", measured=0.865, required=0.9,
    ...     verdict="fails", severity="tight", rule="plan.route.main", why="",
    ...     mend="Move the armchair.")).replace(chr(160), " ")
    'Main route, hall to balcony: 865 mm; 900 mm wanted. Move the armchair.'
    """
    text = finding.what.rstrip(".")
    if finding.measured is not None and finding.unit != "year":
        text += f": {_quantity(finding.measured, finding.unit, units)}"
        if finding.within:
            text += f"\u00a0± {_quantity(finding.within, finding.unit, units)}"
        if finding.required:
            text += f"; {_quantity(finding.required, finding.unit, units)} wanted"
    text += "."
    mend = finding.mend[:1].upper() + finding.mend[1:]
    return f"{text} {mend}".strip()


# --- the furniture plan ------------------------------------------------------


def furniture_plan_sheet(
    home: Home,
    layout: Layout,
    *,
    block: TitleBlock,
    findings: Sequence[Finding] = (),
    routes: Sequence[object] = (),
    sight: Sequence[object] = (),
    limits: Sequence[str] = (),
    answer: str = "",
    show: Sequence[str] = USUAL,
    units: str = "",
    paper: str = "A3",
    scale: int | None = None,
    rooms: Sequence[str] = (),
    note: str = "",
) -> Drawing:
    """A furniture plan with its findings, pieces, key and limits.

    Parameters
    ----------
    home : Home
        Gives shell, pieces, north and the project's own rules.
    layout : Layout
        The arrangement.
    block : TitleBlock
        What the title block says.
    findings : sequence of Finding
        In the order of their numbers on the plan.
    routes : sequence of RouteLine or of points
        The first is the main one. [m]
    sight : sequence of View or of (eye, end)
        [m]
    limits : sequence of str
        Reference ids of the limits that were used; those of the findings are
        added.
    answer : str
        The plan's answer in one sentence, under its heading.
    show : sequence of str
        As for `designkit.figures.plan.plan_drawing`.
    units : str
        Unit of the dimensions; the home's own without it.
    paper : str
        A key of `designkit.figures.sheet.PAPERS`.
    scale : int, optional
        50 for 1:50; the largest that fits without it.
    rooms : sequence of str
        Ids of the rooms to draw; all without it.
    note : str
        What changed in this revision, at the end of the column.

    Returns
    -------
    Drawing
        The sheet.

    Raises
    ------
    InputError
        The plan does not fit the paper at this scale.
    LookupFailed
        There is no such paper.

    Examples
    --------
    >>> from designkit.model import Room
    >>> home = Home(name="Flat", rooms={"r": Room(
    ...     name="room", outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.6)})
    >>> block = TitleBlock(project="Flat", title="Furniture plan", number="L-201")
    >>> furniture_plan_sheet(home, Layout(name="A"), block=block).scale
    50
    """
    units = units or home.units
    imperial = units in IMPERIAL
    blank = drawing_sheet(block, paper=paper, scales=(), north=home.north, imperial=imperial)
    column = min(126.0, 0.37 * blank.area.width)
    gap = 14.0 if blank.area.width > 300 else 8.0
    room = Area(
        left=blank.area.left,
        bottom=blank.area.bottom,
        right=blank.area.right - column - gap,
        top=blank.area.top - (19.0 if answer else 12.0),
    )
    dims = "dimensions" in show
    around = (20.0, 22.0, 17.0, 19.0) if dims else (5.0, 5.0, 5.0, 5.0)
    wide, high = plan_size(home, rooms)
    inner = Area(
        left=room.left + around[0],
        bottom=room.bottom + around[1],
        right=room.right - around[2],
        top=room.top - around[3],
    )
    if scale is None:
        scale = fitting_scale(wide, high, into=inner, imperial=imperial, least=16)
    elif wide * 1000 / scale > inner.width + 0.01 or high * 1000 / scale > inner.height + 0.01:
        raise InputError(
            "scale",
            given=scale_text(scale, imperial=imperial),
            allowed=f"a plan of {wide:.2f} × {high:.2f} m within "
            f"{inner.width:.0f} × {inner.height:.0f} mm",
            mend="take a smaller scale or a larger paper",
        )
    sheet = drawing_sheet(block, paper=paper, scales=(scale,), north=home.north, imperial=imperial)
    base = shells.shell(
        home,
        scale=scale,
        rooms=tuple(rooms),
        paper=(sheet.width, sheet.height),
        middle=inner.middle,
        services="services" in show,
    )
    placed = place_home(home, layout)
    items: list[Primitive] = []
    items += _plan_heading(room, base, sheet.area, scale, answer, imperial=imperial)
    items += plan_items(
        home,
        layout,
        base=base,
        units=units,
        show=show,
        findings=findings,
        routes=routes,
        sight=sight,
        placed=placed,
    )
    x = sheet.area.right - column
    used = _limit_rows(home, findings, limits, units)
    items += _column(
        x,
        sheet.area,
        column,
        findings=findings if "findings" in show else (),
        pieces=_piece_rows(home, placed, units),
        keys=_key_entries(base, placed, findings, routes, sight, show, home),
        limits=used,
        note=note,
        units=units,
    )
    said = " ".join(
        f"{i}: {f.verdict}: {finding_sentence(f, units=units)}"
        for i, f in enumerate(findings, start=1)
    )
    text = " ".join(
        t
        for t in (
            f"Furniture plan of {home.name}, layout “{layout.name}”, at "
            f"{scale_text(scale, imperial=imperial)}.",
            answer,
            f"Findings: {said}" if said else "No findings are listed.",
        )
        if t
    )
    return sheet.drawing(items, title=f"{block.title}, {home.name}", text=text, scale=scale)


def plan_size(home: Home, rooms: Sequence[str]) -> tuple[float, float]:
    """Width and height of the plan with its walls. [m]

    Parameters
    ----------
    home : Home
        Its rooms and walls.
    rooms : sequence of str
        Those that are drawn.

    Returns
    -------
    (float, float)
        Across and up. [m]
    """
    base = shells.shell(home, scale=50, rooms=tuple(rooms), words=False)
    x0, y0, x1, y1 = base.bounds
    return (x1 - x0) * 50 / 1000, (y1 - y0) * 50 / 1000


def _plan_heading(
    room: Area,
    base: shells.Shell,
    area: Area,
    scale: int,
    answer: str,
    *,
    imperial: bool,
) -> list[Primitive]:
    y = area.top
    height = "about 4\u00a0ft" if imperial else f"{shells.CUT_HEIGHT:.2f}\u00a0m"
    words = f"Plan at {height} above finished floor"
    wide = lettering.advance(words, size=ink.HEADING, weight="semibold")
    scale_words = scale_text(scale, imperial=imperial)
    if wide + 30 > room.width:
        words, wide = "Plan", lettering.advance("Plan", size=ink.HEADING, weight="semibold")
    more = lettering.advance(scale_words, size=ink.HEADING)
    items: list[Primitive] = [
        Text(at=(room.left, y), text=words, size=ink.HEADING, weight="semibold"),
        Text(at=(room.left + wide + 4, y), text=scale_words, size=ink.HEADING),
        blocks.rule(room.left, y - 2.7, wide + 4 + more),
    ]
    if answer:
        lines, _ = blocks.sentence(room.left, y - 8.6, room.width, answer, most=2)
        items += lines
    return items


def _piece_rows(
    home: Home, placed: Mapping[str, Placed], units: str
) -> list[tuple[str, str, str, str]]:
    counts: dict[str, int] = {}
    for thing in placed.values():
        counts[thing.item] = counts.get(thing.item, 0) + 1
    rows = []
    for item, count in counts.items():
        piece = home.pieces[item]
        rows.append((str(count), piece.name, size_words(piece.size, _round(piece), units), item))
    return rows


def _round(piece: Piece) -> bool:
    w, d, _ = piece.size
    return abs(w - d) < 1e-9 and (
        piece.shape == "circle" or kind_of(piece).form in ("standing lamp", "plant", "shade")
    )


def _limit_rows(
    home: Home, findings: Sequence[Finding], limits: Sequence[str], units: str
) -> list[tuple[str, str, str]]:
    rows = []
    known = all_rows()
    seen: list[str] = []
    for id in (*limits, *(f.rule for f in findings)):
        if id in seen or id not in known:
            continue
        seen.append(id)
        row = known[id]
        number = value(id, home.rules)
        words = (
            on_sheet(number, units=units) if row.unit == "m" else _quantity(number, row.unit, units)
        )
        kind = "the project's own" if id in home.rules else row.kind
        rows.append((row.name, words, kind))
    return rows


Entry = tuple[str, str]  # what is drawn, its word


def _key_entries(
    base: shells.Shell,
    placed: Mapping[str, Placed],
    findings: Sequence[Finding],
    routes: Sequence[object],
    sight: Sequence[object],
    show: Sequence[str],
    home: Home,
) -> list[Entry]:
    entries: list[Entry] = []
    if "routes" in show and routes:
        entries.append(("route", "main route"))
    if "sight" in show and sight:
        entries.append(("sight", "sight line"))
    if ("zones" in show and any(t.zones for t in placed.values())) or any(
        s.kind == "panel" for s in home.services.values()
    ):
        entries.append(("zone", "use zone, or overhead"))
    if "findings" in show and any(is_hatched(f) for f in findings):
        entries.append(("finding", "what a finding is about"))
    entries.append(("cut", "wall or column, cut"))
    kinds = [s.kind for s in home.services.values()]
    if "panel" in kinds:
        entries.append(("panel", marks.SYMBOLS["panel"][0]))
    if "services" in show and base.scale < 80:
        for kind in kinds:
            entry = (kind, marks.SYMBOLS[kind][0]) if kind in marks.SYMBOLS else None
            if entry and entry not in entries:
                entries.append(entry)
    return entries


def _key_mark(what: str, x: float, y: float) -> list[Primitive]:
    """A sample of a line or a hatch, about 13 wide; y is the text's baseline."""
    middle = y + 1.1
    pens = ink.pens(50)
    ends = ((x, middle), (x + 13, middle))
    if what == "route":
        return [Line(points=ends, weight=pens.route, dash=pens.dash_route)]
    if what == "sight":
        return [Line(points=ends, weight=pens.sight, dash=pens.dash_sight)]
    if what == "zone":
        return [Line(points=ends, weight=pens.zone, dash=pens.dash_zone)]
    outline = ((x, y - 0.4), (x + 13, y - 0.4), (x + 13, y + 2.6), (x, y + 2.6))
    if what == "finding":
        style = ink.FINDING
        return [
            Hatch(
                outline=outline,
                angle=style.angle,
                spacing=style.spacing,
                weight=style.weight,
                ink=style.ink,
            ),
            Polygon(outline=outline, weight=style.weight, ink=style.ink),
        ]
    if what == "cut":
        return [Polygon(outline=outline, weight=pens.cut, fill=ink.CUT_FILL)]
    return marks.symbol(what, (x + 6.5, middle), angle=0.0)


def _column(
    x: float,
    area: Area,
    width: float,
    *,
    findings: Sequence[Finding],
    pieces: Sequence[tuple[str, str, str, str]],
    keys: Sequence[Entry],
    limits: Sequence[tuple[str, str, str]],
    note: str,
    units: str,
) -> list[Primitive]:
    """The words of the sheet: what does not fit is counted, never laid over another."""
    items: list[Primitive] = []
    y = area.top
    imperial = units in IMPERIAL
    two = width > 100
    key_rows = math.ceil(len(keys) / (2 if two else 1))
    pitch = 7.0 if two else 5.6
    key_need = 9.1 + key_rows * pitch + 4.0
    piece_rows = math.ceil(len(pieces) / (2 if two else 1))
    piece_need = 9.1 + piece_rows * 5.4 + 3.0
    limit_need = 9.1 + len(limits) * 5.4 + 2.0 if limits else 0.0
    end = area.bottom + (5.0 if note else 0.0)
    if findings:
        # The findings come first; pieces and key keep their room where they can.
        spare = y - end - key_need - min(piece_need, 60.0 if two else 26.0)
        made, y = _findings_block(x, y, width, findings, room=max(spare, 40.0), units=units)
        items += made
    if pieces and y - end > 9.1 + 5.4 * min(piece_rows, 3) + key_need:
        made, y = _pieces_block(
            x, y, width, pieces, two=two, room=y - end - key_need, imperial=imperial
        )
        items += made
    if keys and y - end > key_need - 4:
        made, y = blocks.heading(x, y, width, "Key")
        y += 0.6
        columns = 2 if two else 1
        for index, (what, words) in enumerate(keys):
            left = x + (index % columns) * (width / 2 + 3)
            top = y - (index // columns) * pitch
            made += _key_mark(what, left, top)
            room = width / columns - 22
            made.append(
                Text(
                    at=(left + 17, top),
                    text=lettering.shorten(words, size=ink.READING, width=room),
                    size=ink.READING,
                )
            )
        items += made
        y -= key_rows * pitch + 3.4
    if limits and y - end > min(limit_need, 9.1 + 5.4 * 2):
        made, y = blocks.heading(x, y, width, "Limits used", note="guidance, not law")
        items += made
        kind = 30.0 if two else 26.0
        for name, number, source in limits:
            names = width - kind - 22.0
            lines = lettering.wrap(name, size=ink.READING, width=names)[:2]
            if y - (len(lines) - 1) * 4.1 < end:
                break
            made, below = blocks.sentence(x, y, names, name, most=2)
            items += made
            end_of_number = x + width - kind - 4
            items.append(Text(at=(end_of_number, y), text=number, size=ink.READING, anchor="end"))
            words = lettering.shorten(source, size=ink.READING, width=kind)
            items.append(Text(at=(x + width - kind, y), text=words, size=ink.READING))
            low = below + ink.READING * 1.65
            items.append(blocks.rule(x, low - 1.55, width, weight=0.09, colour=ink.GREY_4))
            y = low - 5.4
    if note:
        words = lettering.shorten(note, size=ink.CAPTION, width=width)
        items.append(Text(at=(x, area.bottom), text=words, size=ink.CAPTION, ink=ink.GREY_2))
    return items


def _findings_block(
    x: float,
    y: float,
    width: float,
    findings: Sequence[Finding],
    *,
    room: float,
    units: str,
) -> tuple[list[Primitive], float]:
    items, y = blocks.heading(x, y, width, "Findings", note="chairs drawn in, zones drawn in use")
    floor = y - (room - 9.1)
    for index, finding in enumerate(findings):
        words = finding_sentence(finding, units=units)
        lines = len(lettering.wrap(words, size=ink.READING, width=width - 9))
        need = 4.1 * (min(lines, 3) + 1) + 3.2
        last = index == len(findings) - 1
        if y - need < floor - (0 if last else -5.0) and index:
            rest = len(findings) - index
            more = f"and {rest} more, in the list of findings"
            items.append(Text(at=(x + 9, y), text=more, size=ink.READING, italic=True))
            y -= 6.0
            break
        colour = ink.INK if finding.verdict == "passes" else ink.ACCENT
        about = f"finding {index + 1}"
        items += marks.keyed((x + 2.6, y + 0.6), index + 1, colour=colour, about=about)
        items.append(
            Text(
                at=(x + 9, y),
                text=finding.verdict,
                size=ink.READING,
                weight="semibold",
                about=about,
            )
        )
        if finding.severity in ("safety", "law here"):
            after = lettering.advance(finding.verdict, size=ink.READING, weight="semibold")
            items.append(
                Text(
                    at=(x + 9 + after + 2.4, y),
                    text=finding.severity,
                    size=ink.READING,
                    italic=True,
                    about=about,
                )
            )
        made, y = blocks.sentence(x + 9, y - 4.1, width - 9, words, most=3, about=about)
        items += made
        y -= 3.0
    return items, y - 3.4


def _pieces_block(
    x: float,
    y: float,
    width: float,
    pieces: Sequence[tuple[str, str, str, str]],
    *,
    two: bool,
    room: float,
    imperial: bool,
) -> tuple[list[Primitive], float]:
    note = "width × depth × height" + (", in" if imperial else ", mm")
    items, y = blocks.heading(x, y, width, "Pieces", note=note)
    columns = 2 if two else 1
    each = (width - 6 * (columns - 1)) / columns
    fit = max(1, int((room - 9.1) / 5.4))
    rows = min(math.ceil(len(pieces) / columns), fit)
    sizes = max((lettering.advance(p[2], size=ink.READING) for p in pieces), default=20.0)
    sizes = min(sizes + 0.5, each * 0.68)
    layout = [
        blocks.Column(width=3.4),
        blocks.Column(width=each - 3.4 - sizes - 3.6),
        blocks.Column(width=sizes, align="end"),
    ]
    shown = list(pieces)
    more = ""
    if len(shown) > rows * columns:
        more = f"and {len(shown) - (rows * columns - 1)} more kinds"
        shown = shown[: rows * columns - 1]
    below = y
    for index in range(columns):
        part = shown[index * rows : (index + 1) * rows]
        if part:
            made, bottom = blocks.table(
                x + index * (each + 6),
                y,
                layout,
                [p[:3] for p in part],
                gap=1.8,
                about=[p[3] for p in part],
            )
            items += made
            below = min(below, bottom)
            last = bottom
    if more:  # over the whole width of its row
        at = x + (columns - 1) * (each + 6) + layout[0].width + 1.8
        made, last = blocks.sentence(at, last, x + width - at, more, most=1)
        items += made
        below = min(below, last)
    return items, below - 3.2
