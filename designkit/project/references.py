"""Whether every name in a project leads somewhere."""

from __future__ import annotations

import dataclasses
import difflib
from collections.abc import Collection, Iterable, Mapping
from typing import Any

from designkit import model, reference
from designkit.errors import InputError, LookupFailed, nearest
from designkit.project.filling import Class
from designkit.project.problems import Notes
from designkit.project.tables import Sheet
from designkit.takeoff.lines import system_of

__all__ = ["NAMES", "PLACES", "Ids", "check_names", "cycle"]

# Where a door may lead besides a room of the project; the trade's plain words.
PLACES = (
    "outside",
    "balcony",
    "stair",
    "landing",
    "lobby",
    "corridor",
    "lift",
    "terrace",
    "loggia",
    "garden",
    "courtyard",
    "street",
    "garage",
    "neighbour",
    "shaft",
    "store",
)

# Names that each kind of entry uses: what waits where the entry cannot be read.
NAMES: Mapping[Class, tuple[str, ...]] = {
    model.Room: ("floor", "ceiling", "wall", "walls", "outline"),
    model.Opening: ("room", "wall", "to", "frame"),
    model.Service: ("room", "circuit", "switched_with"),
    model.Photo: ("room", "wall"),
    model.Brief: ("keeps", "priorities", "may_leave_out"),
    model.Wish: ("start", "end"),
    model.Finish: ("colours",),
    model.Piece: ("kind", "finish", "finishes", "parts", "chairs"),
    model.Fixture: ("finish", "photometry"),
    model.Placement: ("item", "on", "room"),
    model.Lamp: ("fixture", "service", "on", "over", "circuit"),
    model.Drape: ("opening", "finish"),
    model.Target: ("place",),
    model.Scenario: ("start", "changes"),
    model.Home: ("layout",),
    model.CostLine: ("piece", "room", "alternative_of"),
    model.QuoteLine: ("scope",),
    model.Task: ("after",),
}


@dataclasses.dataclass(frozen=True, kw_only=True)
class Ids:
    """Every id that the files name, also of entries that cannot be read."""

    home: Mapping[str, frozenset[str]]
    rows: Mapping[str, frozenset[str] | None]  # None: the file could not be read

    @classmethod
    def of(cls, raw: Mapping[str, Any], sheets: Mapping[str, Sheet], lost: Collection[str]) -> Ids:
        """Collect the ids of a project's tables and sheets.

        Parameters
        ----------
        raw : mapping of str to Any
            project.toml as read.
        sheets : mapping of str to Sheet
            The CSV files that could be read.
        lost : collection of str
            Those that could not: any id of theirs may be right.

        Returns
        -------
        Ids
            By table and by sheet.
        """
        home = {
            name: frozenset(map(str, value))
            for name, value in raw.items()
            if isinstance(value, Mapping)
        }
        rows: dict[str, frozenset[str] | None] = {}
        for name in ("costs", "quotes", "tasks"):
            if name in sheets:
                rows[name] = frozenset(sheets[name].by_id)
            else:
                rows[name] = None if name in lost else frozenset()
        return cls(home=home, rows=rows)

    def __getitem__(self, section: str) -> frozenset[str]:
        return self.home.get(section, frozenset())


def cycle(after: Mapping[str, Iterable[str]]) -> list[str]:
    """The first cycle of a graph, in a stable order.

    Parameters
    ----------
    after : mapping of str to iterable of str
        What each name leads to.

    Returns
    -------
    list of str
        The names of the cycle with the first again at the end; empty without one.

    Examples
    --------
    >>> cycle({"a": ["b"], "b": ["c"], "c": ["b"]})
    ['b', 'c', 'b']
    """
    done: set[str] = set()
    for first in after:
        path: list[str] = []
        ways = [iter([first])]
        while ways:
            name = next(ways[-1], None)
            if name is None:
                ways.pop()
                if path:
                    done.add(path.pop())
            elif name in path:
                return [*path[path.index(name) :], name]
            elif name not in done and name in after:
                path.append(name)
                ways.append(iter(after[name]))
    return []


class _Names:
    """The second pass: one method a subject, one line a rule."""

    def __init__(self, project: model.Project, ids: Ids, raw: Mapping[str, Any], notes: Notes):
        self.home = project.home
        self.project = project
        self.ids = ids
        self.raw = raw
        self.notes = notes

    def named(
        self,
        path: str,
        value: str,
        known: Collection[str] | None,
        what: str,
        *,
        file: str = "project.toml",
        line: int | None = None,
    ) -> None:
        """An empty name, or one of those known."""
        if known is None:
            self.notes.waiting += 1
            return
        if not value or value in known:
            return
        near = nearest(value, known)
        listed = ", ".join(sorted(known)[:12]) + (" …" if len(known) > 12 else "")
        self.notes.bad(
            path,
            repr(value),
            f"the id of {what}: {listed}" if known else f"the id of {what}; there is none yet",
            f"write {near}"
            if near
            else "use one of these, or add it"
            if known
            else "add it, or take this out",
            file=file,
            line=line,
        )

    def rooms(self) -> None:
        """Finishes of rooms, columns and openings; where openings lead."""
        finishes = self.ids["finishes"]
        for id, room in self.home.rooms.items():
            for name in ("floor", "ceiling", "wall"):
                self.named(f"rooms.{id}.{name}", getattr(room, name), finishes, "a finish")
            for wall, finish in room.walls.items():
                self.named(f"rooms.{id}.walls.{wall}", finish, finishes, "a finish")
            for number, column in enumerate(room.columns):
                path = f"rooms.{id}.columns.{number}.finish"
                self.named(path, column.finish, finishes, "a finish")
        for id, opening in self.home.openings.items():
            path = f"openings.{id}"
            self.named(f"{path}.room", opening.room or "nothing", self.ids["rooms"], "a room")
            self.named(f"{path}.frame", opening.frame, finishes, "a finish")
            self.leads(f"{path}.to", opening)
            self.dimensions(path, opening)

    def leads(self, path: str, opening: model.Opening) -> None:
        """Where an opening leads: a room, a plain place, or one that is not drawn."""
        to, rooms = opening.to, self.ids["rooms"]
        if to in rooms and to == opening.room:
            self.notes.bad(path, repr(to), "another room or place", "a door leads out of its room")
        elif to and to not in rooms and to not in PLACES:
            close = difflib.get_close_matches(to, sorted({*rooms, *PLACES}), n=1, cutoff=0.8)
            if close:
                self.notes.bad(
                    path,
                    repr(to),
                    f"the id of a room ({', '.join(sorted(rooms))}) or {', '.join(PLACES)}",
                    f"write {close[0]}",
                )
            else:
                self.notes.remark(
                    path, repr(to), "a room that is drawn; this one is taken as a place beyond"
                )

    def dimensions(self, path: str, thing: Any) -> None:
        """`known_of` names lengths that the thing has."""
        if isinstance(thing, model.Piece):
            allowed = ["width", "depth", "height", "mass", "seat_height", "arm_height"]
        else:
            allowed = ["offset", "width", "head", "sill", "clear_width", "thickness"]
            allowed.append("drop_outside")
        for name in thing.known_of:
            self.named(f"{path}.known_of.{name}", name, allowed, "a dimension")

    def services(self) -> None:
        """Rooms, circuits and switches of what the building brings."""
        for id, service in self.home.services.items():
            path = f"services.{id}"
            self.named(f"{path}.room", service.room or "nothing", self.ids["rooms"], "a room")
            self.named(f"{path}.circuit", service.circuit, self.ids["circuits"], "a circuit")
            switch = f"{path}.switched_with"
            self.named(switch, service.switched_with, self.ids["services"], "a switch")
            other = self.home.services.get(service.switched_with)
            if other is not None and other.kind != "switch":
                self.notes.bad(
                    switch,
                    repr(service.switched_with),
                    "a service of kind switch",
                    f"{service.switched_with} is a {other.kind}",
                )

    def walks(self) -> None:
        """Rooms and walls of photographs, and the wall that takes a closing error."""
        rooms = self.ids["rooms"] | self.ids["walks"]  # a walk that does not close has no room yet
        for id, photo in self.home.photos.items():
            path = f"photos.{id}"
            self.named(f"{path}.room", photo.room, rooms, "a room")
            if photo.wall is None:
                continue
            if not photo.room:
                self.notes.bad(
                    f"{path}.wall", photo.wall, "a wall of a room that is named", "add room"
                )
            elif photo.room in rooms:
                self.wall(f"{path}.wall", photo.wall, photo.room)
        for id, walk in self.home.walks.items():
            if walk.spread == "pinned":
                self.wall(f"walks.{id}.pinned", walk.pinned, id)

    def wall(self, path: str, wall: int, room: str) -> None:
        """A wall of a room by its number from 0; a room that is being walked may still get it."""
        drawn, walk = self.home.rooms.get(room), self.home.walks.get(room)
        if drawn is None and walk is None:
            return  # the room could not be read, which is told there
        count = 0 if drawn is None else len(drawn.outline)
        if 0 <= wall < count:
            return
        if walk is not None:
            from designkit.plan.survey_words import lines_of

            try:
                count = max(count, sum(one.wall is not None for one in lines_of(walk.walls)))
            except InputError:
                return  # a bracket left open: how many walls there are is not known yet
        if not 0 <= wall < count:
            tell = self.notes.bad if walk is None or wall < 0 else self.notes.remark
            words = f"0 to {count - 1}, the walls of {room}"
            words = words if count else f"a wall; {room} has none"
            tell(path, wall, words, "count its walls from 0, or take the key out")

    def pieces(self) -> None:
        """Kinds, finishes, chairs."""
        finishes = self.ids["finishes"]
        try:
            kinds = [row["kind"] for row in reference.table("kinds")]
        except LookupFailed:
            kinds = None
        for id, piece in self.home.pieces.items():
            path = f"pieces.{id}"
            if kinds is not None:
                self.named(f"{path}.kind", piece.kind or "nothing", kinds, "a kind of piece")
            self.named(f"{path}.finish", piece.finish, finishes, "a finish")
            for part, finish in piece.finishes.items():
                self.named(f"{path}.finishes.{part}", finish, finishes, "a finish")
            for number, one in enumerate(piece.parts or ()):
                self.named(f"{path}.parts.{number}.finish", one.finish, finishes, "a finish")
            if piece.chairs is not None:
                at = f"{path}.chairs.piece"
                self.named(at, piece.chairs.piece or "nothing", self.ids["pieces"], "a piece")
            self.dimensions(path, piece)
            self.made_top(path, piece)
            self.looked_at(path, piece)
        for id, fixture in self.home.fixtures.items():
            self.named(f"fixtures.{id}.finish", fixture.finish, finishes, "a finish")
        for id in sorted(self.ids["pieces"] & self.ids["fixtures"]):
            self.notes.bad(
                f"fixtures.{id}",
                "the id of a piece as well",
                "an id of its own, as cost lines name both",
                "rename one of them",
            )

    def looked_at(self, path: str, piece: model.Piece) -> None:
        """What was looked at on an old piece is on its checklist."""
        if not piece.condition:
            return
        from designkit.costs.condition import checklist, form_of
        from designkit.plan.pieces import kind_of

        try:
            form = form_of(kind_of(piece).form)
        except LookupFailed:
            return  # told as its kind
        points = [point.id for point in checklist(form)] if form else []
        for id in piece.condition:
            self.named(f"{path}.condition.{id}", id, points, "a check point of its kind")

    def made_top(self, path: str, piece: model.Piece) -> None:
        """Overhang, corners and cut-outs are those of a top that can be made so."""
        given = [name for name in ("overhang", "radius", "cutouts") if getattr(piece, name)]
        if not given:
            return
        from designkit.takeoff.tops import material_of, top_of

        if material_of(piece) is None:
            for name in given:
                self.notes.bad(
                    f"{path}.{name}",
                    f"on a {piece.kind}",
                    "on a glass top or a stone top",
                    "take it out, or give the top an entry of its own",
                )
            return
        sizes = (piece.size[0], piece.size[1], *(c.width for c in piece.cutouts))
        if min(sizes) <= 0 or piece.radius < 0:
            return  # told as a limit
        try:
            top_of(piece, system=system_of(self.home.units), overrides=self.home.rules)
        except InputError as error:
            at = next((n for n in given if n.rstrip("s") in error.what.replace("-", "")), "size")
            # A top that no slab gives can still be drawn and asked for.
            tell = self.notes.remark if at == "size" else self.notes.bad
            tell(f"{path}.{at}", f"{error.what}: {error.given}", error.allowed, error.mend)

    def layouts(self) -> None:
        """What stands, hangs and lights in each layout."""
        self.named("layout", self.home.layout, self.ids["layouts"], "a layout")
        for id, layout in self.home.layouts.items():
            raw = self.raw.get("layouts", {}).get(id, {})
            placed = frozenset(map(str, raw.get("pieces", {}))) if isinstance(raw, Mapping) else ()
            for name, at in layout.pieces.items():
                path = f"layouts.{id}.pieces.{name}"
                item = f"{path}.item" if at.item else path
                self.named(item, at.item or name, self.ids["pieces"], "a piece")
                self.named(f"{path}.on", at.on, placed, "a placement in this layout")
                self.named(f"{path}.room", at.room, self.ids["rooms"], "a room")
            round_ = cycle({name: [at.on] for name, at in layout.pieces.items() if at.on})
            if round_:
                self.notes.bad(
                    f"layouts.{id}.pieces.{round_[0]}.on",
                    " on ".join(round_),
                    "pieces that stand on one another without a circle",
                    "take out one of these",
                )
            self.lamps(id, layout, placed)
            for name, drape in layout.drapes.items():
                path = f"layouts.{id}.drapes.{name}"
                opening = drape.opening or "nothing"
                self.named(f"{path}.opening", opening, self.ids["openings"], "an opening")
                finish = drape.finish or "nothing"
                self.named(f"{path}.finish", finish, self.ids["finishes"], "a finish")

    def lamps(self, id: str, layout: model.Layout, placed: Collection[str]) -> None:
        """Fixtures, outlets and circuits of the lamps of one layout."""
        for name, lamp in layout.lamps.items():
            path = f"layouts.{id}.lamps.{name}"
            fixture = lamp.fixture or "nothing"
            self.named(f"{path}.fixture", fixture, self.ids["fixtures"], "a fixture")
            self.named(f"{path}.service", lamp.service, self.ids["services"], "a service")
            self.named(f"{path}.on", lamp.on, placed, "a placement in this layout")
            self.named(f"{path}.over", lamp.over, placed, "a placement in this layout")
            self.named(f"{path}.circuit", lamp.circuit, self.ids["circuits"], "a circuit")
            if lamp.at is None and not lamp.service and not lamp.on:
                self.notes.bad(
                    f"{path}.at",
                    "nothing",
                    "a place: at, a service, or the piece it stands on",
                    "add at, service or on",
                )

    def brief(self) -> None:
        """Kept pieces, the ends of wishes, targets."""
        for number, id in enumerate(self.home.brief.keeps):
            self.named(f"brief.keeps.{number}", id or "nothing", self.ids["pieces"], "a piece")
        self.weighed()
        placed = {
            name
            for layout in self.raw.get("layouts", {}).values()
            if isinstance(layout, Mapping)
            for name in layout.get("pieces", {})
        }
        things = {*self.ids["pieces"], *placed}
        places = {*things, *self.ids["rooms"], *self.ids["openings"], *self.ids["services"]}
        ends = {
            "route": (places, places, "a room, opening or piece"),
            "view": (things, self.ids["openings"], "a piece (start) or opening (end)"),
            "screen": (things, things, "a piece"),
        }
        for id, wish in self.home.brief.wishes.items():
            starts, stops, what = ends.get(wish.kind, (places, places, "a room, opening or piece"))
            path = f"brief.wishes.{id}"
            needed = "nothing" if wish.kind in ends else ""
            self.named(f"{path}.start", wish.start or needed, starts, what)
            if wish.kind != "light":  # a light wish may name a place of the lighting rules
                self.named(f"{path}.end", wish.end or needed, stops, what)
        for id, target in self.home.targets.items():
            close = difflib.get_close_matches(target.place, sorted(places), n=1, cutoff=0.8)
            if target.place not in places and close:
                self.notes.remark(
                    f"targets.{id}.place",
                    repr(target.place),
                    "the id of a piece or room, or a place of the lighting rules",
                    f"write {close[0]}, if it is meant",
                )

    def weighed(self) -> None:
        """Lines that the brief weighs; one that is gone weighs nothing and does no harm."""
        costs = self.ids.rows["costs"]
        brief = self.home.brief
        if costs is None:
            self.notes.waiting += len(brief.priorities) + len(brief.may_leave_out)
            return
        other = {c.id: c.alternative_of for c in self.project.costs if c.alternative_of}
        named = [(f"brief.priorities.{id}", id) for id in brief.priorities]
        named += [(f"brief.may_leave_out.{n}", id) for n, id in enumerate(brief.may_leave_out)]
        for path, id in named:
            if id in costs and id not in other:
                continue
            near = other.get(id) or nearest(id, costs - other.keys())
            self.notes.remark(
                path,
                repr(id),
                "the id of a line as drawn in costs.csv; this one counts for nothing",
                f"write {near}, if it is meant" if near else "take it out",
            )

    def scenarios(self) -> None:
        """What scenarios start from, and the cost lines that they change."""
        costs = self.ids.rows["costs"]
        for id, scenario in self.home.scenarios.items():
            known = self.ids["scenarios"]
            self.named(f"scenarios.{id}.start", scenario.start, known, "a scenario")
            for number, change in enumerate(scenario.changes):
                path = f"scenarios.{id}.changes.{number}"
                self.named(f"{path}.line", change.line or "nothing", costs, "a line of costs.csv")
                self.named(f"{path}.to", change.to, costs, "a line of costs.csv")
        round_ = cycle({id: [s.start] for id, s in self.home.scenarios.items() if s.start})
        if round_:
            self.notes.bad(
                f"scenarios.{round_[0]}.start",
                " starts from ".join(round_),
                "scenarios that start from one another without a circle",
                "let one of these start from the lines as drawn (leave start out)",
            )

    def rows(self) -> None:
        """Names in the CSV files."""
        pieces = self.ids["pieces"] | self.ids["fixtures"]
        costs, tasks = self.ids.rows["costs"], self.ids.rows["tasks"]
        for line in self.project.costs:
            at = {"file": "costs.csv", "line": line.row}
            self._row(f"{line.id}.piece", line.piece, pieces, "a piece or fixture", at)
            self._row(f"{line.id}.room", line.room, self.ids["rooms"], "a room", at)
            self._row(f"{line.id}.alternative_of", line.alternative_of, costs, "another line", at)
        self._circle(
            {line.id: [line.alternative_of] for line in self.project.costs if line.alternative_of},
            {line.id: line.row for line in self.project.costs},
            "costs.csv",
            "alternative_of",
        )
        self.quotes()
        for task in self.project.tasks:
            at = {"file": "tasks.csv", "line": task.row}
            for id in task.after:
                self._row(f"{task.id}.after", id, tasks, "another task", at)
        self._circle(
            {task.id: task.after for task in self.project.tasks if task.id not in task.after},
            {task.id: task.row for task in self.project.tasks},
            "tasks.csv",
            "after",
        )

    def quotes(self) -> None:
        """Scopes, contractors and lines of the quotes."""
        seen: dict[tuple[str, str, str], int] = {}
        for quote in self.project.quotes:
            at = {"file": "quotes.csv", "line": quote.row}
            self._row("scope", quote.scope or "nothing", self.ids["scopes"], "a scope", at)
            key = (quote.scope, quote.contractor, quote.line)
            if key in seen:
                self.notes.bad(
                    "line",
                    repr(quote.line),
                    "each line of a quote once",
                    f"line {seen[key]} of the file has it already",
                    file="quotes.csv",
                    line=quote.row,
                )
            seen.setdefault(key, quote.row)
            scope = self.home.scopes.get(quote.scope)
            if scope is None:
                continue
            if quote.line not in scope.lines:
                close = difflib.get_close_matches(quote.line, sorted(scope.lines), 1, 0.8)
                if close:
                    self.notes.remark(
                        "line",
                        repr(quote.line),
                        "a line of the scope, or new words for something outside it",
                        f"write {close[0]}, if it is meant",
                        file="quotes.csv",
                        line=quote.row,
                    )
            elif quote.amount is not None and quote.amount < 0:
                self.notes.bad(
                    "amount",
                    quote.amount,
                    "0 or more on a line of the scope",
                    "write a rebate as a line of its own, in words",
                    file="quotes.csv",
                    line=quote.row,
                )

    def _row(
        self,
        path: str,
        value: str,
        known: Collection[str] | None,
        what: str,
        at: Mapping[str, Any],
    ) -> None:
        self.named(path, value, known, what, **at)

    def _circle(
        self, after: Mapping[str, Iterable[str]], rows: Mapping[str, int], file: str, column: str
    ) -> None:
        round_ = cycle(after)
        if round_ and len(round_) > 2:  # a row that names itself is told by its row
            self.notes.bad(
                f"{round_[0]}.{column}",
                " after ".join(round_) if column == "after" else " for ".join(round_),
                "rows without a circle",
                "take out one of these",
                file=file,
                line=rows[round_[0]],
            )


def check_names(project: model.Project, ids: Ids, raw: Mapping[str, Any], notes: Notes) -> None:
    """Check that every id named in a project is there.

    Parameters
    ----------
    project : Project
        As far as it could be read.
    ids : Ids
        Every id that its files have.
    raw : mapping
        Content of project.toml.
    notes : Notes
        Gets the problems.
    """
    names = _Names(project, ids, raw, notes)
    for check in (
        names.rooms,
        names.services,
        names.walks,
        names.pieces,
        names.layouts,
        names.brief,
        names.scenarios,
        names.rows,
    ):
        check()
