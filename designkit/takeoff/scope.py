"""The scope-of-work sheet of a trade, made from the project.

Every contractor is sent the same sheet: what to protect, prepare, do and take
away, room by room with areas; how long it usually takes; what to price apart;
what to ask. Whatever would disturb an old surface stands behind its gate and
is neither quantified in hours nor quoted before a sample and its written
result.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, get_args

from designkit.errors import InputError
from designkit.model import Home, Layout, Project, Scope, ScopeLine
from designkit.reference import value
from designkit.reference.buildings import counts_as_old
from designkit.takeoff.assemble import Goods, takeoff
from designkit.takeoff.ceiling import CeilingWork
from designkit.takeoff.drapery import Drapery
from designkit.takeoff.lines import System, TakeoffLine, TakeoffResult, system_of
from designkit.takeoff.paint import Paint
from designkit.takeoff.surfaces import floor_area, wall_faces
from designkit.takeoff.tables import Audience, Table, layout_of
from designkit.units import convert

__all__ = [
    "ScopeRow",
    "ScopeSheet",
    "Section",
    "Trade",
    "as_scope",
    "as_table",
    "scope_sheet",
    "scope_sheets",
]

Trade = Literal[
    "painter", "plasterer", "paper hanger", "floor layer", "electrician", "drapery workroom"
]
Section = Literal[
    "gate", "protection", "preparation", "work", "waste", "hours", "price apart", "ask"
]
GATE = "sample taken + written result"
COLUMNS = ("section", "what", "room", "quantity", "unit", "note")


@dataclass(frozen=True, kw_only=True, eq=False)
class ScopeRow:
    """One line of the sheet."""

    id: str  # a key for [scopes.….lines]
    section: Section
    text: str
    room: str = ""  # room id
    quantity: float | None = None  # in `unit`; hours: the middle
    low: float | None = None  # hours only
    high: float | None = None
    unit: str = ""
    why: str = ""
    rules: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True, eq=False)
class ScopeSheet:
    """One written scope of work for one trade."""

    trade: Trade
    name: str
    layout: str
    system: System
    rows: tuple[ScopeRow, ...]  # in the order of the sections
    hours: tuple[float, float] | None  # None: behind a closed gate, or for the trade to say
    gate: bool  # True: part of the work waits for a sample and its written result
    unit: str  # what the whole is compared by
    quantity: float | None
    cautions: tuple[str, ...]
    assumed: tuple[str, ...]

    def of(self, section: Section) -> tuple[ScopeRow, ...]:
        """The rows of one section.

        Parameters
        ----------
        section : Section
            One of the sections of a scope.

        Returns
        -------
        tuple of ScopeRow
            In the order of the sheet.
        """
        return tuple(row for row in self.rows if row.section == section)


class _Sheet:
    """Rows as they are gathered."""

    def __init__(
        self, project: Project, name: str, plan: Layout, result: TakeoffResult, trade: Trade
    ) -> None:
        self.home: Home = project.home
        self.rules = project.home.rules
        self.name = name
        self.plan = plan
        self.result = result
        self.trade = trade
        self.system = system_of(project.home.units)
        self.square = "ft²" if self.system == "US" else "m²"
        self.run = "ft" if self.system == "US" else "m"
        self.rows: list[ScopeRow] = []
        self.hours: list[float] = [0.0, 0.0]
        self.timed = False
        self.untimed = False
        self.ids: set[str] = set()
        home = project.home
        self.closed = (
            counts_as_old(home.building, overrides=home.rules) and home.building.sampled != "yes"
        )

    def area(self, square_metres: float) -> float:
        if self.system == "US":
            square_metres = convert(square_metres, kind="area", to="ft²")
        return round(square_metres, 1)

    def length(self, metres: float) -> float:
        return round(convert(metres, to="ft") if self.system == "US" else metres, 1)

    def mass(self, kilograms: float) -> str:
        if self.system == "US":
            return f"{convert(kilograms, kind='mass', to='lb'):.4g} lb"
        return f"{kilograms:g} kg"

    def add(
        self,
        section: Section,
        text: str,
        *,
        room: str = "",
        quantity: float | None = None,
        unit: str = "",
        why: str = "",
        rules: tuple[str, ...] = (),
    ) -> None:
        base = f"{section}_{room}".replace(" ", "_").strip("_")
        id, number = base, 1
        while id in self.ids:
            number += 1
            id = f"{base}_{number}"
        self.ids.add(id)
        self.rows.append(
            ScopeRow(
                id=id,
                section=section,
                text=text,
                room=room,
                quantity=quantity,
                unit=unit,
                why=why,
                rules=rules,
            )
        )

    def time(self, rule: str, *, times: float) -> None:
        """Add the usual hours of one kind of work."""
        for i, end in enumerate(("low", "high")):
            self.hours[i] += times * value(f"costs.scope.{rule}.hours.{end}", self.rules)
        self.timed = True

    def gate(self, text: str) -> None:
        if not self.closed:
            return
        year = self.home.building.year
        built = "of unknown year" if year is None else f"of {year}"
        self.add(
            "gate",
            f"{text}: not before {GATE}; not priced until then",
            why=f"the building is {built}, sampled: {self.home.building.sampled}; where asbestos "
            "or lead is found, licensed removal; local rules decide",
            rules=("schedule.old_before",),
        )

    def protect(self, rooms: Sequence[str]) -> None:
        for room in rooms:
            self.add(
                "protection",
                "floor covered, built-in parts and openings masked, dust kept in the room",
                room=room,
                quantity=self.area(floor_area(self.home.rooms[room])),
                unit=self.square,
            )

    def finish(
        self, name: str, quantity: float | None, unit: str, cautions: Sequence[str]
    ) -> ScopeSheet:
        self.add("waste", "waste bagged and taken away, papers handed over", quantity=1, unit="lot")
        self.add("waste", "rooms left clean", quantity=1, unit="lot")
        hours = None
        if self.timed and not self.untimed:
            hours = (round(self.hours[0], 1), round(self.hours[1], 1))
            self.rows.append(
                ScopeRow(
                    id="hours",
                    section="hours",
                    text="usual hours of one person, for the programme: name your own",
                    quantity=round(sum(hours) / 2, 1),
                    low=hours[0],
                    high=hours[1],
                    unit="h",
                    why="drying is not counted",
                )
            )
        else:
            self.add("hours", "name the hours of one person", unit="h")
        for text in (
            "valid until which day, with or without tax",
            "how many people, which days, when it could begin",
            "what in this list is not included",
        ):
            self.add("ask", text)
        order = get_args(Section)
        self.rows.sort(key=lambda row: order.index(row.section))
        return ScopeSheet(
            trade=self.trade,
            name=name,
            layout=self.name,
            system=self.system,
            rows=tuple(self.rows),
            hours=hours,
            gate=any(row.section == "gate" for row in self.rows),
            unit=unit,
            quantity=quantity,
            cautions=tuple(dict.fromkeys(cautions)),
            assumed=(*self.result.missing, *self.result.assumed),
        )


def _by_room(line: TakeoffLine) -> dict[str, dict[str, float]]:
    """Net areas by room and by what they are: walls, columns, ceiling, floor."""
    found: dict[str, dict[str, float]] = {}
    for share in line.shares:
        kind = share.where.split()[0]
        kind = "walls" if kind in ("wall", "column") else kind
        inside = found.setdefault(share.room, {})
        inside[kind] = inside.get(kind, 0.0) + share.net
    return found


def _rooms(home: Home, names: Sequence[str]) -> list[str]:
    return [room for room in home.rooms if room in set(names)]


def _painter(sheet: _Sheet) -> ScopeSheet | None:
    lines = [line for line in sheet.result.of("paint") if isinstance(line.detail, Paint)]
    if not lines:
        return None
    rooms = _rooms(sheet.home, [room for line in lines for room in line.rooms])
    sheet.protect(rooms)
    sheet.gate("sanding, scraping or stripping of old paint")
    total = 0.0
    cautions: list[str] = []
    areas: dict[str, float] = {}
    for line in lines:
        made = line.detail
        assert isinstance(made, Paint)
        primed = line.id.startswith("primer.")
        for room, kinds in _by_room(line).items():
            for kind, area in kinds.items():
                if area <= 0:
                    continue
                coats = f"{made.coats} coat{'s' if made.coats > 1 else ''}"
                sheet.add(
                    "work",
                    f"{kind}: {line.what}, {coats}",
                    room=room,
                    quantity=sheet.area(area),
                    unit=sheet.square,
                    why="net of openings",
                    rules=line.rules,
                )
                sheet.time("paint", times=area * made.coats)
                if not primed:
                    areas[room] = areas.get(room, 0.0) + area
                    total += area
        cautions += line.cautions
    for room in rooms:
        if room in areas:
            sheet.add(
                "preparation",
                "cleaned, holes filled, joints caulked, without sanding or scraping"
                if sheet.closed
                else "cleaned, holes filled and sanded, joints caulked",
                room=room,
                quantity=sheet.area(areas[room]),
                unit=sheet.square,
            )
            sheet.time("preparation", times=areas[room])
    home = sheet.home
    for room in rooms:
        doors = [
            o
            for o in home.openings.values()
            if o.kind in ("door", "balcony") and room in (o.room, o.to)
        ]
        if doors:
            sheet.add(
                "price apart", "doors and frames", room=room, quantity=len(doors), unit="piece"
            )
        run = sum(
            face.length - sum(h.right - h.left for h in face.holes if h.sill <= 0)
            for face in wall_faces(home, room)
        )
        sheet.add("price apart", "skirting", room=room, quantity=sheet.length(run), unit=sheet.run)
        heaters = [s for s in home.services.values() if s.kind == "radiator" and s.room == room]
        if heaters:
            sheet.add("price apart", "radiators", room=room, quantity=len(heaters), unit="piece")
    return sheet.finish("Painting", sheet.area(total), sheet.square, cautions)


def _plasterer(sheet: _Sheet) -> ScopeSheet | None:
    lines = [line for line in sheet.result.of("work") if isinstance(line.detail, CeilingWork)]
    if not lines:
        return None
    rooms = _rooms(sheet.home, [room for line in lines for room in line.rooms])
    sheet.protect(rooms)
    sheet.gate("scraping and smoothing of the textured ceiling")
    total = 0.0
    cautions: list[str] = []
    for line in lines:
        made = line.detail
        assert isinstance(made, CeilingWork)
        total += made.area
        sheet.add(
            "work",
            "textured ceiling scraped wet and made flat, skim coat in two passes",
            room=line.rooms[0],
            quantity=sheet.area(made.area),
            unit=sheet.square,
            why=line.text,
            rules=made.rules,
        )
        if made.days is None:
            sheet.untimed = True
        else:
            # A day of the crew counts eight hours of each worker.
            for i, days in enumerate(made.days):
                sheet.hours[i] += days * 8 * made.workers
            sheet.timed = True
        cautions += made.cautions
    points = sum(
        1
        for s in sheet.home.services.values()
        if s.room in rooms and s.kind in ("ceiling outlet", "detector", "sprinkler")
    )
    if points:
        sheet.add(
            "price apart",
            "outlets and detectors masked; taken off and refitted by a licensed electrician",
            quantity=points,
            unit="piece",
        )
    sheet.add("price apart", "air test after the work", quantity=1, unit="lot")
    return sheet.finish("Textured ceiling made flat", sheet.area(total), sheet.square, cautions)


def _paper_hanger(sheet: _Sheet) -> ScopeSheet | None:
    lines = sheet.result.of("wallcovering")
    if not lines:
        return None
    rooms = _rooms(sheet.home, [room for line in lines for room in line.rooms])
    sheet.protect(rooms)
    sheet.gate("stripping or sanding of what is on the wall")
    total = 0.0
    cautions: list[str] = []
    for line in lines:
        for share in line.shares:
            sheet.add(
                "preparation",
                f"{share.where}: checked dry and flat, lining paper or size as the paper asks",
                room=share.room,
                quantity=sheet.area(share.net),
                unit=sheet.square,
            )
            sheet.add(
                "work",
                f"{share.where}: {line.what} hung, {line.text} supplied by the studio",
                room=share.room,
                quantity=sheet.area(share.net),
                unit=sheet.square,
                rules=line.rules,
            )
            sheet.time("wallcovering", times=share.net)
            total += share.net
        cautions += line.cautions
    sheet.add("price apart", "old wallcovering taken off", unit=sheet.square)
    sheet.add("ask", "starting line and kill point as drawn; spare rolls of one batch are kept")
    return sheet.finish("Wallcovering hung", sheet.area(total), sheet.square, cautions)


def _floor_layer(sheet: _Sheet) -> ScopeSheet | None:
    lines = sheet.result.of("floor")
    if not lines:
        return None
    rooms = _rooms(sheet.home, [room for line in lines for room in line.rooms])
    sheet.gate("sanding or lifting of the old floor")
    total = 0.0
    cautions: list[str] = []
    for line in lines:
        for share in line.shares:
            sheet.add(
                "work",
                f"{line.what}: cleaned and oiled where it stays; laid where it is new (say which)",
                room=share.room,
                quantity=sheet.area(share.net),
                unit=sheet.square,
                why=f"to order where it is new: {line.text}",
                rules=line.rules,
            )
            sheet.time("floor", times=share.net)
            total += share.net
        cautions += line.cautions
    for room in rooms:
        sheet.add(
            "protection", "doors, skirting and walls kept clean", room=room, quantity=1, unit="lot"
        )
        sheet.add(
            "preparation",
            "vacuumed, loose boards fixed, moisture measured",
            room=room,
            quantity=sheet.area(floor_area(sheet.home.rooms[room])),
            unit=sheet.square,
        )
    sheet.add("price apart", "doors taken off, undercut and hung again", unit="piece")
    return sheet.finish("Floor", sheet.area(total), sheet.square, cautions)


def _electrician(sheet: _Sheet) -> ScopeSheet | None:
    home, plan = sheet.home, sheet.plan
    hung = {name: lamp for name, lamp in plan.lamps.items() if lamp.service in home.services}
    plugged = [name for name, lamp in plan.lamps.items() if name not in hung]
    if not plan.lamps:
        return None
    rooms = _rooms(home, [home.services[lamp.service].room for lamp in hung.values()])
    sheet.protect(rooms)
    sheet.gate("drilling, chasing or cutting into ceilings and old walls")
    sheet.add(
        "preparation",
        "circuits tested dead and named; boxes looked at for the weight they may carry",
        quantity=len(hung),
        unit="piece",
    )
    for lamp in hung.values():
        service = home.services[lamp.service]
        fixture = home.fixtures.get(lamp.fixture)
        what = fixture.name if fixture else lamp.fixture
        mass = "" if fixture is None or fixture.mass is None else f", {sheet.mass(fixture.mass)}"
        marked = service.weight_limit
        limit = "" if marked is None else f"; box marked {sheet.mass(marked)}"
        sheet.add(
            "work",
            f"{what} hung and connected at the {service.kind}",
            room=service.room,
            quantity=1,
            unit="piece",
            why=f"{what}{mass}{limit}",
        )
        sheet.time("luminaire", times=1)
    dimmed = [c.name for c in home.circuits.values() if c.dimmer]
    if dimmed:
        sheet.add(
            "price apart",
            f"dimmers: {', '.join(dimmed)}; matched to the lamps",
            quantity=len(dimmed),
            unit="piece",
        )
    sheet.add("price apart", "outlets and sockets moved or added", unit="piece")
    if plugged:
        sheet.add(
            "ask",
            f"{len(plugged)} plug-in lamps are set by the studio: are sockets and circuits enough",
        )
    return sheet.finish(
        "Electrical work",
        float(len(hung)),
        "piece",
        (
            "By a licensed electrician; local codes decide.",
            "No fitting is hung from a box that is not known to carry it.",
        ),
    )


def _drapery(sheet: _Sheet) -> ScopeSheet | None:
    lines = [line for line in sheet.result.of("drapery") if isinstance(line.detail, Drapery)]
    if not lines:
        return None
    sheet.gate("drilling for the track")
    sheet.add(
        "preparation",
        "final measure left, centre and right, after floor and track",
        quantity=len(lines),
        unit="opening",
    )
    widths = 0
    cautions: list[str] = []
    for line in lines:
        made = line.detail
        assert isinstance(made, Drapery)
        count = made.face.cuts
        widths += count
        sheet.add(
            "work",
            f"{line.what} made up, {count} widths; cloth supplied: {line.text}",
            room=line.rooms[0],
            quantity=count,
            unit="width",
            rules=line.rules,
        )
        sheet.add(
            "work",
            f"track fixed, drapery hung and dressed, {sheet.mass(round(made.mass, 1))} in all",
            room=line.rooms[0],
            quantity=sheet.length(made.track),
            unit=sheet.run,
        )
        sheet.time("drapery", times=count)
        sheet.time("track", times=1)
        cautions += line.cautions
    sheet.protect(_rooms(sheet.home, [room for line in lines for room in line.rooms]))
    sheet.add("ask", "is the cloth of one dye lot, and does it meet the place's fire rules")
    return sheet.finish("Drapery made and hung", float(widths), "width", cautions)


_MADE_BY: Mapping[Trade, Callable[[_Sheet], ScopeSheet | None]] = {
    "painter": _painter,
    "plasterer": _plasterer,
    "paper hanger": _paper_hanger,
    "floor layer": _floor_layer,
    "electrician": _electrician,
    "drapery workroom": _drapery,
}


def scope_sheets(
    project: Project, *, layout: str = "", goods: Mapping[str, Goods] | None = None
) -> dict[Trade, ScopeSheet]:
    """The scope-of-work sheets of all trades that a layout has work for.

    Parameters
    ----------
    project : Project
        The project.
    layout : str, optional
        Layout id; "": the current one.
    goods : mapping, optional
        As for :func:`designkit.takeoff.assemble.takeoff`.

    Returns
    -------
    dict of str to ScopeSheet
        By trade, in the order of the work.

    Raises
    ------
    InputError
        A number of the project is outside what is allowed.
    LookupFailed
        An unknown layout, finish or opening.
    """
    result = takeoff(project, layout, goods=goods)
    name, plan = layout_of(project, layout)
    made = {
        trade: make(_Sheet(project, name, plan, result, trade)) for trade, make in _MADE_BY.items()
    }
    return {trade: sheet for trade, sheet in made.items() if sheet is not None}


def scope_sheet(
    project: Project,
    *,
    trade: Trade,
    layout: str = "",
    goods: Mapping[str, Goods] | None = None,
) -> ScopeSheet:
    """The scope-of-work sheet of one trade, to be sent the same to each.

    Parameters
    ----------
    project : Project
        The project.
    trade : str
        "painter", "plasterer", "paper hanger", "floor layer", "electrician" or
        "drapery workroom".
    layout : str, optional
        Layout id; "": the current one.
    goods : mapping, optional
        As for :func:`designkit.takeoff.assemble.takeoff`.

    Returns
    -------
    ScopeSheet
        Rows by section: gate, protection, preparation, work, waste, hours,
        what to price apart, what to ask.

    Raises
    ------
    InputError
        Another trade, or the layout has no work for it.
    LookupFailed
        An unknown layout, finish or opening.
    """
    if trade not in get_args(Trade):
        raise InputError(
            "trade", given=trade, allowed=", ".join(get_args(Trade)), mend="use one of these"
        )
    sheets = scope_sheets(project, layout=layout, goods=goods)
    if trade not in sheets:
        raise InputError(
            "trade",
            given=trade,
            allowed=", ".join(sheets) or "none has work in this layout",
            mend="give its finishes, lamps or drapery first",
        )
    return sheets[trade]


def as_scope(sheet: ScopeSheet) -> Scope:
    """The sheet as a scope of the project, to level quotes against.

    Parameters
    ----------
    sheet : ScopeSheet
        From :func:`scope_sheet`.

    Returns
    -------
    Scope
        What is asked for and priced apart; hours, questions and what waits
        behind the gate are not lines of a quote.
    """
    lines = {
        row.id: ScopeLine(
            text=f"{row.room}: {row.text}" if row.room else row.text,
            quantity=None if row.quantity is None else Decimal(repr(float(row.quantity))),
            unit=row.unit,
        )
        for row in sheet.rows
        if row.section in ("protection", "preparation", "work", "waste", "price apart")
    }
    return Scope(
        name=sheet.name,
        trade=sheet.trade,
        unit=sheet.unit,
        quantity=None if sheet.quantity is None else Decimal(repr(float(sheet.quantity))),
        disturbs_old_surface=sheet.trade == "plasterer",
        lines=lines,
    )


def as_table(sheet: ScopeSheet, *, home: Home, audience: Audience = "trade") -> Table:
    """The sheet as rows of a table; it holds no price and no supplier.

    Parameters
    ----------
    sheet : ScopeSheet
        From :func:`scope_sheet`.
    home : Home
        For the names of the rooms.
    audience : {"client", "trade", "studio"}
        Who reads it; all read the same.

    Returns
    -------
    Table
        A row a line; hours as "low to high".

    Raises
    ------
    InputError
        Unknown audience.
    """
    if audience not in get_args(Audience):
        raise InputError(
            "audience",
            given=audience,
            allowed=", ".join(get_args(Audience)),
            mend="name who will read it",
        )
    return Table(
        name=f"scope of work, {sheet.trade}",
        audience=audience,
        columns=COLUMNS,
        rows=tuple(
            {
                "section": row.section,
                "what": row.text,
                "room": home.rooms[row.room].name if row.room in home.rooms else "",
                "quantity": row.quantity
                if row.low is None or row.high is None
                else f"{row.low:g} to {row.high:g}",
                "unit": row.unit,
                "note": row.why,
            }
            for row in sheet.rows
        ),
    )
