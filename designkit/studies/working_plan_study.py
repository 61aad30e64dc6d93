"""The study "working plan": push a piece, and see at once what that does.

The page moves a piece by itself and asks what follows. A question is a list
of steps, each with a number; what was answered once is not done again, so that
the page may ask again with more. While a piece moves, its place is held here;
once it rests, the move becomes an edit on the desk.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
import shapely
from shapely.geometry import LineString
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry import Polygon as Shape

from designkit.analyses.of_brief import brief, brief_sentence
from designkit.analyses.of_layout import LayoutResult
from designkit.analyses.of_layout import layout as analyse
from designkit.analyses.of_move import Moving, moving, with_lines
from designkit.errors import DesignkitError, InputError, LookupFailed, nearest
from designkit.figures.furnishing import HEAD_HEIGHT, rank
from designkit.figures.plan import size_words
from designkit.figures.working import Layers, layers_of
from designkit.model import Edit, Home, Lamp, Layout, Placement, Point
from designkit.plan.around import Gap, gaps, own_group
from designkit.plan.case import Case, case_of, short_name
from designkit.plan.pieces import kind_of
from designkit.plan.place import Placed
from designkit.plan.sight import isovist
from designkit.plan.space import Space
from designkit.plan.turning import axes_of
from designkit.studies.desk import Desk
from designkit.studies.study import Study
from designkit.studies.words import brief_items, finding_rows, length_of, source_of
from designkit.units import IMPERIAL, file_text, in_sentence

if TYPE_CHECKING:
    from designkit.studies.board import Board

__all__ = ["WorkingPlan", "working_plan"]

SHOWN = 9  # findings that get a number on the drawing
KINDS = ("route", "view", "seats", "diners", "turning")
SHOW = (
    ("routes", "ways through"),
    ("sight", "what the seat sees"),
    ("zones", "use zones"),
    ("dimensions", "dimensions"),
    ("distances", "distances"),
)
SIDES = {"left": "on the left", "right": "on the right", "below": "below", "above": "above"}
NEAR_WALL = 0.15  # m; a point that is pointed at so near to a wall means the wall
Pose = tuple[float, float, float]  # x, y [m], turn [°]
Table = Literal["pieces", "lamps"]


def _letters(ids: Sequence[str]) -> dict[str, str]:
    return {id: chr(ord("A") + i) if i < 26 else str(i + 1) for i, id in enumerate(ids)}


def _turned(x: float, y: float, degrees: float) -> Point:
    out = axes_of(degrees) @ np.array((x, y))
    return float(out[0]), float(out[1])


class WorkingPlan(Study):
    """One layout under the hand.

    Parameters
    ----------
    desk : Desk
        The project; its changes are those of this study.
    """

    sheets = ("furniture-plan",)

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        home = desk.home
        if not home.layouts:
            raise InputError(
                "layouts",
                given="none",
                allowed="one layout or more",
                mend="write one under [layouts] in project.toml",
            )
        id = home.layout or next(iter(home.layouts))
        self.values = {
            "layout": id,
            "compare": "",
            "piece": next(iter(home.layouts[id].pieces), ""),
            "show": ["routes", "sight", "zones", "dimensions", "distances"],
            "rules": home.rule_set,
        }
        self.held: dict[str, Pose] = {}
        self.done = 0  # number of the last step that was done
        self.said = ""  # for the live region: what the last rest changed
        self.measured: dict[str, Any] | None = None
        self._result: LayoutResult | None = None
        self._case: Case | None = None
        self._offsets: dict[str, tuple[float, float]] = {}
        self._layers: tuple[Home, Layers] | None = None
        self._before: dict[str, str] = {}
        self._others: dict[tuple[str, str], tuple[Home, LayoutResult]] = {}
        self._order: tuple[str, tuple[str, ...]] = ("", ())

    # --- what stands where ---------------------------------------------------

    @property
    def home(self) -> Home:
        """The home as the desk has it; what is held is not in it yet."""
        return self.desk.home

    @property
    def layout(self) -> Layout:
        """The layout as it stands under the hand."""
        layout = self.home.layouts[self.values["layout"]]
        for id, pose in self.held.items():
            layout = _moved(layout, id, pose)
        return layout

    def pose(self, id: str) -> Pose:
        """Where a thing stands now."""
        layout = self.layout
        if id in layout.pieces:
            placement = layout.pieces[id]
            return (*placement.at, placement.rotation % 360)
        lamp = layout.lamps.get(id)
        if lamp is not None and lamp.at is not None:
            return (*lamp.at, 0.0)
        known = [*layout.pieces, *layout.lamps]
        raise LookupFailed(
            "piece", given=id, allowed=", ".join(known) or "none", mend=nearest(id, known)
        )

    def _locked(self, id: str) -> bool:
        placement = self.layout.pieces.get(id)
        return placement is not None and placement.locked

    def _movable(self, id: str) -> None:
        self.pose(id)
        if self._locked(id):
            raise InputError(
                self._name(id),
                given="locked",
                allowed="pieces that are not locked",
                mend="press Unlock first",
            )

    def _name(self, id: str) -> str:
        layout = self.home.layouts[self.values["layout"]]
        if id in layout.lamps:
            return short_name(self.home.fixtures[layout.lamps[id].fixture].name)
        item = layout.pieces[id].item or id
        name = short_name(self.home.pieces[item].name)
        number = id.rsplit("_", 1)[-1] if id != item else ""
        return f"{name} {number}" if number.isdigit() else name

    def _hold(self, id: str, pose: Pose) -> None:
        if not all(math.isfinite(v) for v in pose):
            raise InputError("place", given=pose, allowed="finite numbers")
        self._movable(id)
        points = [p for room in self.home.rooms.values() for p in room.outline]
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        x = min(max(pose[0], min(xs)), max(xs))
        y = min(max(pose[1], min(ys)), max(ys))
        self.held[id] = (x, y, pose[2] % 360)

    def _rest(self) -> None:
        """What was held becomes one edit on the desk."""
        if not self.held:
            return
        new, old = self.layout, self.home.layouts[self.values["layout"]]
        units, path = self.home.units, f"layouts.{self.values['layout']}"
        step: list[Edit] = []
        for id, placement in new.pieces.items():
            was = old.pieces[id]
            if placement.at != was.at:
                step.append(_at(f"{path}.pieces.{id}.at", was.at, placement.at, units))
            if placement.rotation != was.rotation:
                step.append(
                    Edit(
                        path=f"{path}.pieces.{id}.rotation",
                        old=was.rotation,
                        new=round(placement.rotation, 3),
                    )
                )
        for id, lamp in new.lamps.items():
            before = old.lamps[id].at
            if lamp.at is not None and before is not None and lamp.at != before:
                step.append(_at(f"{path}.lamps.{id}.at", before, lamp.at, units))
        self.held.clear()
        self.desk.do(step)

    # --- results -------------------------------------------------------------

    def _fresh(self) -> tuple[LayoutResult, Case]:
        """The result from nothing, and the layout laid out."""
        layout, rules = self.layout, self.values["rules"]
        case = case_of(self.home, layout, rule_set=rules)
        known = self._result
        same = known is not None and {*known.placed} == {*case.placed}
        try:
            result = analyse(self.home, layout=layout, rule_set=rules, quick=True)
        except InputError:
            # A seat pushed into a wall has no view; what moved is judged without it.
            if known is None or not same:
                raise
            result = with_lines(moving(self.home, layout, before=known, rule_set=rules))
        self._result, self._case = result, case
        return result, case

    def _full(self, id: str) -> LayoutResult:
        """All numbers of an option, from memory where nothing of it has changed."""
        rules, home = self.values["rules"], self.home
        known = self._others.get((id, rules))
        if known is not None:
            old = known[0]
            if old.layouts.get(id) == home.layouts[id] and all(
                getattr(old, name) == getattr(home, name)
                for name in ("rooms", "openings", "services", "pieces", "fixtures", "rules")
            ):
                return known[1]
        result = analyse(home, layout=id, rule_set=rules)
        self._others[id, rules] = (home, result)
        return result

    def layers(self) -> Layers:
        """The sheet, kept while the shell is the same."""
        home = self.home
        if self._layers is None or any(
            getattr(self._layers[0], name) != getattr(home, name)
            for name in ("rooms", "openings", "services", "rules", "units", "north")
        ):
            self._layers = (home, layers_of(home))
        return self._layers[1]

    def _drawn(self, case: Case) -> dict[str, Placed]:
        """Pieces, and lamps that stand on the floor or on a piece, in painting order."""
        lamps = {
            id: thing
            for id, thing in case.lamps.items()
            if thing.on or (thing.base < HEAD_HEIGHT and kind_of(thing.piece).mount == "floor")
        }
        things = [*case.placed.values(), *lamps.values()]
        return {thing.id: thing for thing in sorted(things, key=rank)}

    # --- answers to the page -------------------------------------------------

    def answer(self, steps: Sequence[Mapping[str, Any]]) -> Iterator[dict[str, Any]]:
        """Do what was asked and say what to show, the most urgent first.

        Parameters
        ----------
        steps : sequence of mapping
            Each with its number "n" and what to "do". Done ones are passed over.

        Yields
        ------
        dict
            With any of "ground", "sheet", "live", "ways", "desk" and "said".
        """
        fresh = [step for step in steps if int(step["n"]) > self.done]
        if not fresh:
            return
        # A step that fails is not tried again: it is said beside its control.
        self.done = max(int(step["n"]) for step in fresh)
        moved: set[str] = set()
        whole = False
        for step in fresh:
            if step["do"] == "move":
                moved.add(str(step["id"]))
                before = dict(self.held)
                try:
                    self._hold(str(step["id"]), (step["x"], step["y"], step["turn"]))
                except DesignkitError:
                    self.held = before
                    yield self._back()
                    raise
            else:
                try:
                    whole = self._do(str(step["do"]), step) or whole
                except DesignkitError:
                    self.check_values()
                    yield self.settle()
                    raise
        if whole:
            self.check_values()
            yield self.settle()
        elif moved:
            yield from self._live(moved)

    def _back(self) -> dict[str, Any]:
        """Where things stand, for a page that moved what may not move."""
        things = {id: {"pose": self.pose(id)} for id in self._movers()}
        return {"live": {"n": self.done, "things": things}}

    def _movers(self) -> list[str]:
        layout = self.layout
        return [
            *layout.pieces,
            *(
                id
                for id, lamp in layout.lamps.items()
                if lamp.at is not None and not lamp.on and self._stands(lamp)
            ),
        ]

    def _stands(self, lamp: Lamp) -> bool:
        return self.home.fixtures[lamp.fixture].kind == "floor lamp"

    def _live(self, moved: set[str]) -> Iterator[dict[str, Any]]:
        """Findings first, then the lines of the routes."""
        if self._result is None:
            self._fresh()
        assert self._result is not None
        rules = self.values["rules"]
        try:
            now = moving(self.home, self.layout, before=self._result, rule_set=rules)
        except DesignkitError:
            # It cannot stand there: back to where it stood before it was held.
            self.held.clear()
            yield self._back()
            raise
        self._result, self._case = now.result, now.case
        yield {"live": self._live_dict(now, moved)}
        self._result = with_lines(now)
        yield {"ways": {"n": self.done, "svg": self._ways(self._result, now.case)}}

    def _live_dict(self, now: Moving, moved: set[str]) -> dict[str, Any]:
        layers, show = self.layers(), self.values["show"]
        drawn = self._drawn(now.case)
        things = {}
        for mover in moved:
            pose = self.pose(mover)
            for id in own_group(now.case, mover):
                if id not in drawn:
                    continue
                things[id] = {
                    "svg": layers.thing(drawn[id], differs=id in self._differing()),
                    "zone": layers.zones(drawn[id]) if "zones" in show else "",
                    "pose": self.pose(id) if id in self._movers() else pose,
                    "of": pose,
                }
        failing = now.result.failing
        return {
            "n": self.done,
            "things": things,
            "marks": layers.marks(failing[:SHOWN], self._offsets),
            "gaps": self._gaps(now.case),
            "line": self._line(now.case),
            "findings": finding_rows(failing, home=self.home, numbered=failing[:SHOWN]),
            "fields": self._fields(),
            **self._answer_words(now.result),
        }

    def _answer_words(self, result: LayoutResult) -> dict[str, Any]:
        lines = brief(self.desk.project, layout=result, kinds=KINDS)
        fails = sum(f.verdict == "fails" for f in result.findings)
        answer = f"{brief_sentence(lines)}."
        if fails:
            answer += f" {fails} {'thing fails' if fails == 1 else 'things fail'}."
        elif result.failing:
            answer += " Nothing fails; some of it is to be measured first."
        else:
            answer += " Nothing fails."
        return {"answer": answer, "brief": brief_items(lines)}

    # --- the words of the chosen piece ---------------------------------------

    def _length(self, length: float) -> str:
        return in_sentence(length, units=self.home.units)

    def _gaps_of(self, case: Case) -> tuple[Gap, ...]:
        piece = self.values["piece"]
        return gaps(case, piece) if case.thing(piece) is not None else ()

    def _gaps(self, case: Case) -> str:
        if "distances" not in self.values["show"]:
            return ""
        return self.layers().gaps([(g.line, g.distance) for g in self._gaps_of(case)])

    def _size(self, thing: Placed) -> str:
        w, d, _ = thing.piece.size
        round_ = thing.piece.shape == "circle" and abs(w - d) < 1e-9
        return size_words(thing.piece.size[:2], round_, self.home.units)

    def _line(self, case: Case) -> dict[str, str]:
        """The chosen piece in words: what it is, where, and what is nearest."""
        id = self.values["piece"]
        thing = case.thing(id)
        if thing is None:
            return {"name": "", "text": ""}
        x, y, turn = self.pose(id)
        said = [
            self._size(thing),
            f"its middle {self._length(x)} from the left, {self._length(y)} from below",
        ]
        if turn:
            said.append(f"turned {turn:g}°")
        if self._locked(id):
            said.append("locked")
        near = []
        for gap in self._gaps_of(case):
            what = "the wall" if not gap.owner else case.name(gap.owner)
            side = SIDES[gap.direction]
            if gap.distance < 0.0005:
                near.append(f"touches {what} {side}")
            else:
                near.append(f"{self._length(gap.distance)} to {what} {side}")
        text = ", ".join(said) + (f". {'; '.join(near)}" if near else "")
        return {"name": self._name(id), "text": f"{text}."}

    def _label(self, id: str, thing: Placed, space: Space) -> str:
        """What a screen reader says of a piece: kind, size, room, nearest wall."""
        name, (x, y, turn) = self._name(id), self.pose(id)
        room = next(
            (r for r, shape in space.outlines.items() if shape.covers(ShapelyPoint(x, y))),
            space.rooms[0],
        )
        parts = [name, self._size(thing), f"in the {self.home.rooms[room].name}"]
        walls = [w for w in space.walls if w.room == room and w.length > 0] or list(space.walls)
        lines = [LineString([w.start, w.end]) for w in walls]
        away = shapely.distance(thing.footprint, lines)
        nearest_wall = walls[int(away.argmin())]
        ix, iy = nearest_wall.inward
        side = ("left" if ix > 0 else "right") if abs(ix) >= abs(iy) else ""
        side = side or ("lower" if iy > 0 else "upper")
        distance = float(away.min())
        if distance < 0.0005:
            parts.append(f"at the {side} wall")
        else:
            parts.append(f"{self._length(distance)} from the {side} wall")
        if turn:
            parts.append(f"turned {turn:g}°")
        if self._locked(id):
            parts.append("locked")
        return ", ".join(parts)

    def _fields(self) -> dict[str, str]:
        id = self.values["piece"]
        if id not in self._movers():
            return {"along": "", "up": "", "turn": ""}
        x, y, turn = self.pose(id)
        units = self.home.units
        return {
            "along": file_text(round(x, 5), units=units),
            "up": file_text(round(y, 5), units=units),
            "turn": f"{turn:g}",
        }

    # --- lines over the plan -------------------------------------------------

    def _cone(self, case: Case) -> Shape | None:
        """The floor that the chosen seat sees ahead, past what is as high as its eye."""
        thing = case.placed.get(self.values["piece"])
        if thing is None or not thing.seats:
            return None
        seat = thing.seats[len(thing.seats) // 2]
        own = own_group(case, thing.id)
        solid = [
            (s.owner, s.shape)
            for s in case.solids
            if s.base < seat.eye < s.top and not s.transmits and s.owner not in own
        ]
        try:
            seen = isovist(seat.at, room=case.space_of[thing.id].polygon, obstacles=solid)
        except InputError:
            return None  # it was pushed into a wall or into something high
        far = 60.0
        half = case.value("plan.view.ahead")
        fan = [
            (
                seat.at[0] + far * math.cos(math.radians(seat.facing + a)),
                seat.at[1] + far * math.sin(math.radians(seat.facing + a)),
            )
            for a in np.linspace(-half, half, 13)
        ]
        cut = shapely.intersection(shapely.make_valid(seen.polygon), Shape([seat.at, *fan]))
        parts = [p for p in shapely.get_parts(cut) if isinstance(p, Shape) and p.area > 1e-6]
        return max(parts, key=lambda p: float(p.area)) if parts else None

    def _lines(self, result: LayoutResult) -> tuple[list[object], list[object]]:
        show = self.values["show"]
        routes: list[object] = [r.line for r in result.routes if r.line and "routes" in show]
        sight: list[object] = [row.view for row in result.views if "sight" in show]
        return routes, sight

    def _ways(self, result: LayoutResult, case: Case) -> str:
        routes, sight = self._lines(result)
        cone = self._cone(case) if "sight" in self.values["show"] else None
        return self.layers().ways(routes, sight, cone)

    def _differing(self) -> frozenset[str]:
        """Placements that stand elsewhere in the compared option, or not at all."""
        other = self.home.layouts.get(self.values["compare"])
        if other is None:
            return frozenset()
        layout = self.layout
        return frozenset(
            id
            for id, p in layout.pieces.items()
            if id not in other.pieces or not _stands_same(p, other.pieces[id])
        )

    # --- the whole page ------------------------------------------------------

    def ground(self) -> dict[str, Any]:
        """What a moving piece does not change: shell, dimensions, walls to stand against."""
        layers = self.layers()
        base, home = layers.base, self.home
        case = self._case or self._fresh()[1]
        walls = [
            [*wall.start, *wall.end, *wall.inward]
            for space in case.spaces.values()
            for wall in space.walls
            if wall.length > 0
        ]
        for space in case.spaces.values():
            for column in space.columns:
                xy = shapely.get_coordinates(shapely.orient_polygons(column.polygon).exterior)
                if len(xy) > 9:
                    continue  # a round one has no face to stand against
                for (ax, ay), (bx, by) in zip(xy[:-1].tolist(), xy[1:].tolist()):
                    long = math.hypot(bx - ax, by - ay)
                    if long > 0:
                        walls.append([ax, ay, bx, by, (by - ay) / long, (ax - bx) / long])
        imperial = home.units in IMPERIAL
        return {
            "svg": layers.ground(chains="dimensions" in self.values["show"]),
            "size": [base.width, base.height],
            "scale": 1000.0 / base.scale,
            "origin": list(base.origin),
            "walls": walls,
            "step": 0.0127 if imperial else 0.01,
            "far": 0.1016 if imperial else 0.1,
            "round": 0.0254 / 16 if imperial else 0.001,
            "title": f"Plan of {home.name}",
        }

    def settle(self) -> dict[str, Any]:
        """Everything, drawn with care: names and numbers find their best places."""
        result, case = self._fresh()
        layers, show = self.layers(), self.values["show"]
        drawn, differ = self._drawn(case), self._differing()
        routes, sight = self._lines(result)
        cone = self._cone(case) if "sight" in show else None
        failing = result.failing
        marks, names, self._offsets = layers.settled(
            self.layout,
            dict(case.placed),
            findings=failing[:SHOWN],
            routes=routes,
            sight=sight,
            show=[w for w in show if w in ("routes", "sight", "zones", "dimensions")],
        )
        movers = self._movers()
        things = []
        for id, thing in drawn.items():
            of = next((m for m in movers if id in own_group(case, m) and id != m), "")
            can = id in movers
            things.append(
                {
                    "id": id,
                    "can": can,
                    "of": "" if can else of,
                    "rides": thing.on if can and thing.on in movers else "",
                    "pose": self.pose(id) if can else self.pose(of) if of else [0, 0, 0],
                    "svg": layers.thing(thing, differs=id in differ or thing.host in differ),
                    "zone": layers.zones(thing) if "zones" in show else "",
                    "shape": _own_shape(thing) if can else [],
                    "front": thing.piece.size[1] / 2,
                    "name": self._name(id) if can else "",
                    "label": self._label(id, thing, case.space_of[id]) if can else "",
                    "locked": self._locked(id),
                }
            )
        self._said_now(result)
        sheet = {
            "n": self.done,
            "things": things,
            "order": self._reading_order(case),
            "names": names,
            "marks": marks,
            "ways": layers.ways(routes, sight, cone),
            "gaps": self._gaps(case),
            "line": self._line(case),
            "elsewhere": self._elsewhere(),
            "measured": self._measured_svg(),
            "layout": self.values["layout"],
        }
        return {
            "ground": self.ground(),
            "sheet": sheet,
            "desk": self._desk_words(),
            "said": self._said(result, case),
        }

    def _reading_order(self, case: Case) -> list[str]:
        """Pieces as one reads a plan: room by room, from the top left. Kept while they move."""
        layout, movers = self.values["layout"], self._movers()
        if self._order[0] == layout and {*self._order[1]} == {*movers}:
            return list(self._order[1])
        rooms = list(self.home.rooms)

        def key(id: str) -> tuple[int, float, float]:
            x, y, _ = self.pose(id)
            space = case.space_of[id]
            at = ShapelyPoint(x, y)
            room = next((r for r, s in space.outlines.items() if s.covers(at)), space.rooms[0])
            return rooms.index(room), -round(y), x

        self._order = (layout, tuple(sorted(movers, key=key)))
        return list(self._order[1])

    def _elsewhere(self) -> str:
        other = self.home.layouts.get(self.values["compare"])
        if other is None:
            return ""
        case = case_of(self.home, other, rule_set=self.values["rules"])
        differ = self._differing()
        there = [
            t
            for t in case.placed.values()
            if t.id in differ or t.host in differ or (not t.host and t.id not in self.layout.pieces)
        ]
        return self.layers().elsewhere(there)

    def _measured_svg(self) -> str:
        m = self.measured
        return "" if m is None else self.layers().measure(m["a"], m["b"], m["distance"])

    def _desk_words(self) -> dict[str, Any]:
        home, letters = self.home, _letters(list(self.home.layouts))
        desk = self.desk
        waiting = len(desk.edits)
        if waiting:
            kept = (
                f"{waiting} {'change is' if waiting == 1 else 'changes are'} not kept yet. "
                "They stay here while the notebook runs, also when the page is loaded again."
            )
        else:
            kept = f"last kept {desk.kept_at}" if desk.kept_at else "Nothing has changed yet."
        return {
            "values": {k: v for k, v in self.values.items()},
            "fields": self._fields(),
            "pieces": [[id, self._name(id)] for id in self._reading_order(self._case_now())],
            "layouts": [[id, letters[id]] for id in home.layouts],
            "names": {id: layout.name for id, layout in home.layouts.items()},
            "show": [list(choice) for choice in SHOW],
            "locked": self._locked(self.values["piece"]),
            "can": {
                "undo": bool(desk.edits),
                "redo": bool(desk.undone),
                "keep": bool(desk.edits),
            },
            "kept": kept,
        }

    def _case_now(self) -> Case:
        return self._case if self._case is not None else self._fresh()[1]

    def _said_now(self, result: LayoutResult) -> None:
        """Note verdicts, and say which of them changed since the last rest."""
        now = {}
        for row in result.routes:
            width = self._length(row.route.width) if row.route.open else "no way"
            now[row.name] = f"{row.name} {width}, {row.finding.verdict}"
        for f in result.findings:
            now.setdefault(f.what, f"{f.what}: {f.verdict}")
        if self._before:
            changed = [text for key, text in now.items() if self._before.get(key) != text]
            routes = {row.name for row in result.routes}
            plain = [
                text
                for key, text in now.items()
                if self._before.get(key) != text
                and (key in routes or not text.endswith("passes") or key in self._before)
            ]
            gone = [k for k, t in self._before.items() if k not in now and not t.endswith("passes")]
            self.changed = plain[:6] + [f"{k}: no longer said" for k in gone[:3]]
            if not changed and not gone:
                self.changed = []
        else:
            self.changed = []
        self._before = now

    changed: list[str] = []  # noqa: RUF012 - set anew at each rest

    def _said(self, result: LayoutResult, case: Case) -> dict[str, Any]:
        home = self.home
        failing = result.failing
        said = self.said
        if said and self.changed:
            said = f"{said} {'; '.join(self.changed)}."
        self.said = ""
        words = self._answer_words(result)
        return {
            "where": f"{home.name}, {self.layout.name}",
            "question": "What happens when a piece moves?",
            "answer": words["answer"],
            "brief": words["brief"],
            "said": said,
            "findings": {
                "title": "What the plan says",
                "rows": finding_rows(failing, home=home, numbered=failing[:SHOWN]),
                "none": "Nothing that fails, and nothing that has to be measured first.",
            },
            "tables": self._tables(result),
            "working": self._working(result),
            "measured": self.measured["text"] if self.measured else "",
            "note": self.note,
        }

    def _working(self, result: LayoutResult) -> list[list[str]]:
        return [
            [f.what, f.why, source_of(f.rule)]
            for f in result.findings
            if f.verdict != "passes" or f.rule.startswith(("plan.route", "plan.view"))
        ]

    def _tables(self, result: LayoutResult) -> list[dict[str, Any]]:
        """The compared option beside the one under the hand, in numbers."""
        id, home = self.values["compare"], self.home
        if id not in home.layouts:
            return []
        other, mine = self._full(id), result
        if not self.held:
            mine = self._full(self.values["layout"])
        letters = _letters(list(home.layouts))
        rows: list[list[str]] = []
        theirs = {row.id: row for row in other.routes}
        for row in mine.routes:
            cells = [row.name]
            for r in (row, theirs.get(row.id)):
                cells.append(
                    "–" if r is None else self._length(r.route.width) if r.route.open else "no way"
                )
            rows.append(cells)
        rows.append(
            ["largest circle clear of pieces", *(f"Ø {self._length(r.circle)}" for r in (mine, other))]
        )
        rows.append(["free floor", *(f"{r.free_share * 100:.0f} %" for r in (mine, other))])
        rows.append(
            [
                "findings",
                *(
                    f"{sum(f.verdict == 'fails' for f in r.findings)} fail, "
                    f"{sum(f.verdict == 'measure first' for f in r.findings)} to measure first"
                    for r in (mine, other)
                ),
            ]
        )
        there = home.layouts[id]
        for piece in sorted(self._differing(), key=self._name):
            here = self.layout.pieces[piece]
            rows.append(
                [
                    self._name(piece),
                    self._place_words(here),
                    self._place_words(there.pieces[piece]) if piece in there.pieces else "not there",
                ]
            )
        heads = [f"{letters[k]}  {home.layouts[k].name}" for k in (self.values["layout"], id)]
        return [
            {
                "title": "What differs",
                "note": "grey on the plan; dashed where it stands in the other",
                "head": ["", *heads],
                "rows": rows,
            }
        ]

    def _place_words(self, placement: Placement) -> str:
        x, y = placement.at
        turn = f", turned {placement.rotation % 360:g}°" if placement.rotation % 360 else ""
        return f"{self._length(x)} from the left, {self._length(y)} from below{turn}"

    # --- what can be done ----------------------------------------------------

    def check_values(self) -> None:
        """The option and the piece must be there."""
        layouts = self.home.layouts
        if self.values["layout"] not in layouts:
            self.values["layout"] = next(iter(layouts))
            self.held.clear()
        if self.values["compare"] not in layouts or self.values["compare"] == self.values["layout"]:
            self.values["compare"] = ""
        movers = self._movers()
        if self.values["piece"] not in movers:
            self.values["piece"] = movers[0] if movers else ""

    def _do(self, what: str, step: Mapping[str, Any]) -> bool:
        """One step; True where the whole page has to be shown anew."""
        deeds: dict[str, Callable[[Mapping[str, Any]], bool | None]] = {
            "rest": self._do_rest,
            "show all": lambda _: None,
            "piece": self._do_piece,
            "place": self._do_place,
            "turn": self._do_turn,
            "lock": self._do_lock,
            "swap": self._do_swap,
            "measure": self._do_measure,
            "set": self._do_set,
            "option": self._do_option,
            "look": self._do_look,
            "undo": self._do_undo,
            "redo": self._do_redo,
            "keep": self._do_keep,
            "export": self._do_export,
        }
        if what not in deeds:
            raise LookupFailed("step", given=what, allowed=", ".join(deeds))
        if what not in ("look",):
            self._rest()
        return deeds[what](step) is not False

    def _do_rest(self, step: Mapping[str, Any]) -> None:
        id = str(step.get("id", self.values["piece"]))
        x, y, turn = self.pose(id)
        turned = f", turned {turn:g}°" if turn else ""
        self.said = (
            f"{self._name(id)} stands {self._length(x)} from the left, "
            f"{self._length(y)} from below{turned}."
        )

    def _do_piece(self, step: Mapping[str, Any]) -> None:
        self.pose(str(step["id"]))
        self.values["piece"] = str(step["id"])

    def _do_place(self, step: Mapping[str, Any]) -> None:
        """A typed place or turn."""
        id, field, text = str(step["id"]), str(step["field"]), str(step["text"])
        x, y, turn = self.pose(id)
        if field == "along":
            x = length_of(text, home=self.home, what="middle, from the left")
        elif field == "up":
            y = length_of(text, home=self.home, what="middle, from below")
        else:
            try:
                turn = float(text.replace("°", "").replace(",", ".").strip())
            except ValueError:
                raise InputError(
                    "turn", given=repr(text), allowed="degrees", mend="write it as 15"
                ) from None
        self._hold(id, (x, y, turn))
        self._rest()
        self._do_rest({"id": id})

    def _do_turn(self, step: Mapping[str, Any]) -> None:
        id = str(step["id"])
        x, y, turn = self.pose(id)
        self._hold(id, (x, y, turn + float(step.get("by", 90.0))))
        self._rest()
        self._do_rest({"id": id})

    def _do_lock(self, step: Mapping[str, Any]) -> None:
        id = str(step["id"])
        placement = self.layout.pieces.get(id)
        if placement is None:
            raise InputError(self._name(id), given="a lamp", allowed="pieces can be locked")
        path = f"layouts.{self.values['layout']}.pieces.{id}.locked"
        self.desk.do([Edit(path=path, old=placement.locked, new=not placement.locked)])
        self.said = f"{self._name(id)} is {'free again' if placement.locked else 'locked'}."

    def _do_swap(self, step: Mapping[str, Any]) -> None:
        """Two pieces change places; what stood with its back to a wall does so again."""
        a, b = str(step["a"]), str(step["b"])
        if a == b:
            raise InputError(
                "swap", given=self._name(a), allowed="two pieces", mend="choose another"
            )
        self._movable(a)
        self._movable(b)
        backs = {id: self._back_of(id) for id in (a, b)}
        for id, other in ((a, b), (b, a)):
            (bx, by), turn = backs[other]
            dx, dy = _turned(0.0, -self._depth(id) / 2, turn)
            self._hold(id, (round(bx + dx, 6), round(by + dy, 6), turn))
        self._rest()
        self.said = f"{self._name(a)} and {self._name(b)} have changed places."

    def _depth(self, id: str) -> float:
        layout = self.layout
        if id in layout.pieces:
            return self.home.pieces[layout.pieces[id].item or id].size[1]
        return self.home.fixtures[layout.lamps[id].fixture].size[1]

    def _back_of(self, id: str) -> tuple[Point, float]:
        x, y, turn = self.pose(id)
        dx, dy = _turned(0.0, self._depth(id) / 2, turn)
        return (x + dx, y + dy), turn

    def _do_measure(self, step: Mapping[str, Any]) -> None:
        case = self._case_now()
        if not step.get("a"):
            self.measured = None
            return
        (first, first_name), (second, second_name) = (
            self._pointed(case, step[k]) for k in ("a", "b")
        )
        line = shapely.shortest_line(first, second)
        (ax, ay), (bx, by) = shapely.get_coordinates(line).tolist()
        distance = float(shapely.distance(first, second))
        text = f"From {first_name} to {second_name}: {self._length(distance)}."
        self.measured = {"a": (ax, ay), "b": (bx, by), "distance": distance, "text": text}
        self.said = text

    def _pointed(self, case: Case, what: Mapping[str, Any]) -> tuple[Any, str]:
        """What was pointed at: a piece, a wall, or a place on the floor."""
        if "id" in what:
            thing = case.thing(str(what["id"]))
            if thing is None:
                raise LookupFailed("piece", given=what["id"], allowed=", ".join(case.placed))
            return thing.footprint, case.name(thing.id)
        point = ShapelyPoint(float(what["x"]), float(what["y"]))
        walls = [
            LineString([w.start, w.end])
            for space in case.spaces.values()
            for w in space.walls
            if w.length > 0
        ]
        away = shapely.distance(point, walls)
        if float(away.min()) <= NEAR_WALL:
            return walls[int(away.argmin())], "the wall"
        return point, f"the place {self._length(point.x)} from the left"

    def _do_set(self, step: Mapping[str, Any]) -> None:
        """A choice of the page: option, compared option, what is shown, rule set."""
        key, value = str(step["key"]), step["value"]
        if key == "show":
            known = [id for id, _ in SHOW]
            self.values["show"] = [w for w in known if w in value]
        elif key in ("layout", "compare", "rules"):
            if key != "rules" and value and value not in self.home.layouts:
                raise LookupFailed("option", given=value, allowed=", ".join(self.home.layouts))
            self.values[key] = str(value)
            if key != "compare":
                self._result, self.measured, self._before = None, None, {}
        else:
            raise LookupFailed("choice", given=key, allowed="show, layout, compare, rules")

    def _do_option(self, _: Mapping[str, Any]) -> None:
        """What is drawn becomes an option of its own; the one it came from stays as kept."""
        desk, came_from = self.desk, self.values["layout"]
        drawn = desk.home.layouts[came_from]
        taken = set(desk.home.layouts)
        id = next(c for c in map(chr, range(ord("a"), ord("z") + 1)) if c not in taken)
        desk.forget(f"layouts.{came_from}.")
        desk.add("layouts", id, dataclasses.replace(drawn, name=f"{drawn.name}, changed", note=""))
        letter = _letters(list(desk.home.layouts))[id]
        self.note = f"Option {letter} is in the project. {desk.keep()}"
        self.values["layout"] = id
        self.said = f"Kept as option {letter}."

    def _do_look(self, _: Mapping[str, Any]) -> bool:
        if self.held or not self.desk.look():
            return False
        self.note = "Another study kept a change; it is shown here."
        self._result = None
        return True

    def _do_undo(self, _: Mapping[str, Any]) -> None:
        self.said = "The last change is taken back." if self.desk.undo() else "Nothing to undo."

    def _do_redo(self, _: Mapping[str, Any]) -> None:
        self.said = "Done again." if self.desk.redo() else "Nothing to do again."

    def _do_keep(self, _: Mapping[str, Any]) -> None:
        self.note = self.said = self.desk.keep()

    def _do_export(self, _: Mapping[str, Any]) -> None:
        from designkit.publish import export

        self.note = self.said = export(
            self.desk.project,
            folder=self.desk.folder,
            names=self.sheets,
            layout=self.values["layout"],
        )


def _at(path: str, old: Point, new: Point, units: str) -> Edit:
    return Edit(
        path=path,
        old=[file_text(v, units=units) for v in old],
        new=[file_text(round(v, 6), units=units) for v in new],
    )


def _stands_same(a: Placement, b: Placement) -> bool:
    near = math.dist(a.at, b.at) < 0.0005
    return near and abs((a.rotation - b.rotation + 180) % 360 - 180) < 0.05


def _moved(layout: Layout, id: str, pose: Pose) -> Layout:
    """A layout with one thing elsewhere, and what stands on it with it."""
    x, y, turn = pose
    if id not in layout.pieces:
        lamp = dataclasses.replace(layout.lamps[id], at=(x, y))
        return dataclasses.replace(layout, lamps={**layout.lamps, id: lamp})
    was = layout.pieces[id]
    by = turn - was.rotation
    pieces = dict(layout.pieces)
    lamps = dict(layout.lamps)
    pieces[id] = dataclasses.replace(was, at=(x, y), rotation=turn)

    def carried(at: Point) -> Point:
        dx, dy = _turned(at[0] - was.at[0], at[1] - was.at[1], by)
        return round(x + dx, 6), round(y + dy, 6)

    hosts = [id]
    for host in hosts:
        for other, placement in layout.pieces.items():
            if placement.on == host and other not in hosts:
                hosts.append(other)
                pieces[other] = dataclasses.replace(
                    placement,
                    at=carried(placement.at),
                    rotation=(placement.rotation + by) % 360,
                )
        for other, lamp in layout.lamps.items():
            if lamp.on == host and lamp.at is not None:
                lamps[other] = dataclasses.replace(lamp, at=carried(lamp.at))
    return dataclasses.replace(layout, pieces=pieces, lamps=lamps)


def _own_shape(thing: Placed) -> list[list[float]]:
    """The outline of a thing about its own middle, not turned."""
    xy = shapely.get_coordinates(shapely.convex_hull(thing.footprint))[:-1]
    own = (xy - np.array(thing.at)) @ axes_of(thing.rotation)
    return [[round(float(a), 5), round(float(b), 5)] for a, b in own]


def working_plan(project: str | None = None) -> Board:
    """The study "working plan" on a project.

    Parameters
    ----------
    project : path, optional
        A project folder; else the one that `designkit lab` opened, the one
        around the notebook, or a passing copy of the demo.

    Returns
    -------
    Board
        Shown by the notebook as the cell's value.
    """
    from designkit.studies.board import Board

    return Board(WorkingPlan(Desk(project)))
