"""The working plan as a page draws it: layers of SVG, and what the page needs to move a piece."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry import Polygon as Shape

from designkit.analyses.of_layout import LayoutResult
from designkit.errors import InputError
from designkit.figures.furnishing import HEAD_HEIGHT, rank
from designkit.figures.working import Layers, layers_of
from designkit.model import Home
from designkit.plan.around import Gap, gaps, own_group
from designkit.plan.case import Case, case_of
from designkit.plan.pieces import kind_of
from designkit.plan.place import Placed
from designkit.plan.sight import isovist
from designkit.plan.tape import fixed_ends
from designkit.plan.turning import axes_of
from designkit.studies.words import finding_rows
from designkit.studies.working_hand import Hand
from designkit.studies.working_words import label, piece_line
from designkit.units import IMPERIAL, file_text

__all__ = ["SHOWN", "Sheet"]

SHOWN = 9  # findings that get a number on the drawing
STEPS = {True: (0.0127, 0.1524), False: (0.01, 0.1)}  # m; an arrow key, with Shift
ROUND = {True: 0.0254 / 16, False: 0.001}  # m; a dragged place is rounded to it
FAR = 60.0  # m; longer than any sight in a home


class Sheet:
    """Draws what the hand holds; keeps what does not change.

    Parameters
    ----------
    hand : Hand
        The plan under the hand.
    """

    def __init__(self, hand: Hand) -> None:
        self.hand = hand
        self.offsets: Mapping[str, tuple[float, float]] = {}
        self._layers: tuple[Home, Layers] | None = None
        self._order: tuple[str, tuple[str, ...]] = ("", ())
        self._rows: dict[str, dict[str, Any]] = {}  # those of the last step, by all they say

    def _shows(self, word: str) -> bool:
        return word in self.hand.values["show"]

    def layers(self) -> Layers:
        """The paper, kept while the shell is the same."""
        home = self.hand.home
        if self._layers is None or any(
            getattr(self._layers[0], name) != getattr(home, name)
            for name in ("rooms", "openings", "services", "rules", "units", "north")
        ):
            self._layers = (home, layers_of(home))
        return self._layers[1]

    # --- what a moving piece does not change ----------------------------------

    def ground(self, case: Case) -> dict[str, Any]:
        """Shell, dimensions, walls and middles of openings to stand in line with.

        Parameters
        ----------
        case : Case
            The layout, laid out.

        Returns
        -------
        dict of str to Any
            For the page; lengths in metres, paper in millimetres.
        """
        layers, home = self.layers(), self.hand.home
        base, feet = layers.base, home.units in IMPERIAL
        step, far = STEPS[feet]
        return {
            "svg": layers.ground(chains=self._shows("dimensions")),
            "size": [base.width, base.height],
            "scale": 1000.0 / base.scale,
            "origin": list(base.origin),
            "walls": _faces(case),
            "middles": _middles(case),
            "ends": _ends(case),
            "step": step,
            "far": far,
            "round": ROUND[feet],
            "label": f"Plan of {home.name}. Each piece can be moved.",
            "keys": (
                "Drag a piece to move it, its round handle to turn it. "
                f"Arrow keys move the chosen piece {'½ in' if feet else '1 cm'}, with Shift "
                f"{'6 in' if feet else '10 cm'}; Alt and an arrow turn it 15°. Tab goes to the "
                "next piece. Ctrl and Z undoes, Ctrl and Y does it again; plus, minus and 0 zoom. "
                "M measures between two things. "
                "While dragging, Ctrl keeps from snapping and Escape goes back."
            ),
        }

    # --- things ---------------------------------------------------------------

    def drawn(self, case: Case) -> dict[str, Placed]:
        """Pieces, and lamps that stand on the floor or on a piece, in painting order.

        Parameters
        ----------
        case : Case
            The layout, laid out.

        Returns
        -------
        dict of str to Placed
            By id.
        """
        lamps = [
            thing
            for thing in case.lamps.values()
            if thing.on or (thing.base < HEAD_HEIGHT and kind_of(thing.piece).mount == "floor")
        ]
        things = [*case.placed.values(), *lamps]
        return {thing.id: thing for thing in sorted(things, key=rank)}

    def things(self, case: Case) -> list[dict[str, Any]]:
        """Every thing as the page moves it.

        Parameters
        ----------
        case : Case
            The layout, laid out.

        Returns
        -------
        list of dict of str to Any
            In painting order.
        """
        hand, layers = self.hand, self.layers()
        differ, movers = hand.differing(), hand.movers()
        groups = {m: own_group(case, m) for m in movers}
        found = []
        for id, thing in self.drawn(case).items():
            can = id in movers
            carriers = [m for m in movers if m != id and id in groups[m]]
            of = min(carriers, key=lambda m: len(groups[m])) if carriers else ""
            found.append(
                {
                    "id": id,
                    "can": can,
                    "of": of,
                    "pose": list(hand.pose(id) if can else hand.pose(of) if of else (0, 0, 0)),
                    "svg": layers.thing(thing, differs=id in differ or thing.host in differ),
                    "zone": layers.zones(thing) if self._shows("zones") else "",
                    "shape": _own_shape(thing) if can else [],
                    "front": thing.piece.size[1] / 2,
                    "name": hand.name(id) if can else "",
                    "label": label(hand, case, thing) if can else "",
                    "locked": hand.is_locked(id),
                    "flat": rank(thing)[0] == 0,
                }
            )
        return found

    def reading_order(self, case: Case) -> list[str]:
        """Pieces as one reads a plan: room by room, from the top left; kept while they move.

        Parameters
        ----------
        case : Case
            The layout, laid out.

        Returns
        -------
        list of str
            Ids of what can be moved.
        """
        hand = self.hand
        layout, movers = hand.values["layout"], hand.movers()
        if self._order[0] == layout and {*self._order[1]} == {*movers}:
            return list(self._order[1])
        rooms = list(hand.home.rooms)

        def key(id: str) -> tuple[int, float, float]:
            x, y, _ = hand.pose(id)
            space = case.space_of[id]
            at = ShapelyPoint(x, y)
            room = next((r for r, s in space.outlines.items() if s.covers(at)), space.rooms[0])
            return rooms.index(room), -round(y), x

        self._order = (layout, tuple(sorted(movers, key=key)))
        return list(self._order[1])

    # --- over the plan --------------------------------------------------------

    def gaps_of(self, case: Case) -> tuple[Gap, ...]:
        """Nearest things of the chosen piece.

        Parameters
        ----------
        case : Case
            The layout, laid out.

        Returns
        -------
        tuple of Gap
            Empty where no piece is chosen.
        """
        piece = self.hand.values["piece"]
        return gaps(case, piece) if case.thing(piece) is not None else ()

    def near(self, case: Case) -> dict[str, Any]:
        """Distances of the chosen piece, drawn and in words, and its fields.

        Parameters
        ----------
        case : Case
            The layout, laid out.

        Returns
        -------
        dict of str to Any
            "gaps", "line", "fields".
        """
        found = self.gaps_of(case)
        lines = (
            [(gap.line, gap.distance) for gap in found if gap.distance > 0]
            if self._shows("distances")
            else []
        )
        return {
            "gaps": self.layers().gaps(lines),
            "line": piece_line(self.hand, case, found),
            "fields": self.fields(),
        }

    def fields(self) -> dict[str, str]:
        """The typed place of the chosen piece."""
        id, units = self.hand.values["piece"], self.hand.home.units
        if not id:
            return {"along": "", "up": "", "turn": ""}
        x, y, turn = self.hand.pose(id)
        return {
            "along": file_text(round(x, 4), units=units),
            "up": file_text(round(y, 4), units=units),
            "turn": f"{round(turn, 3):g}",
        }

    def _cone(self, case: Case) -> Shape | None:
        """The floor that the chosen seat sees ahead, past what is as high as its eye."""
        thing = case.placed.get(self.hand.values["piece"])
        if thing is None or not thing.seats or not self._shows("cone"):
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
        half = case.value("plan.view.ahead")
        fan = [
            (
                seat.at[0] + FAR * math.cos(math.radians(seat.facing + a)),
                seat.at[1] + FAR * math.sin(math.radians(seat.facing + a)),
            )
            for a in np.linspace(-half, half, 13)
        ]
        cut = shapely.intersection(shapely.make_valid(seen.polygon), Shape([seat.at, *fan]))
        parts = [p for p in shapely.get_parts(cut) if isinstance(p, Shape) and p.area > 1e-6]
        return max(parts, key=lambda p: float(p.area)) if parts else None

    def _lines(self, result: LayoutResult) -> tuple[list[object], list[object]]:
        routes: list[object] = [r.line for r in result.routes if r.line and self._shows("routes")]
        sight: list[object] = [row.view for row in result.views if self._shows("sight")]
        return routes, sight

    def ways(self, result: LayoutResult, case: Case) -> str:
        """Lines of routes, views and the cone of the chosen seat.

        Parameters
        ----------
        result : LayoutResult
            With the lines of its routes.
        case : Case
            The layout, laid out.

        Returns
        -------
        str
            SVG elements.
        """
        routes, sight = self._lines(result)
        return self.layers().ways(routes, sight, self._cone(case))

    def findings(self, result: LayoutResult) -> list[dict[str, Any]]:
        """Findings as rows, the first of them with their numbers.

        Parameters
        ----------
        result : LayoutResult
            Of the layout under the hand.

        Returns
        -------
        list of dict of str to Any
            For the page.
        """
        failing = result.failing
        rows: dict[str, dict[str, Any]] = {}
        for n, f in enumerate(failing):
            key = f"{n} {self.hand.home.units} {f!r}"
            rows[key] = self._rows.get(key) or {
                **finding_rows([f], home=self.hand.home, numbered=[f])[0],
                "n": str(n + 1) if n < SHOWN else "",
            }
        self._rows = rows
        return list(rows.values())

    def marks(self, result: LayoutResult) -> str:
        """Numbers of findings while a piece moves: they keep off their places as they did.

        Parameters
        ----------
        result : LayoutResult
            Of the layout under the hand.

        Returns
        -------
        str
            SVG elements.
        """
        return self.layers().marks(result.failing[:SHOWN], self.offsets)

    def elsewhere(self, case: Case) -> str:
        """Where the pieces that differ stand in the compared option.

        Parameters
        ----------
        case : Case
            The layout under the hand, laid out.

        Returns
        -------
        str
            SVG elements.
        """
        hand, other = self.hand, self.hand.compared
        if other is None:
            return ""
        theirs = case_of(hand.home, other, rule_set=hand.values["rules"])
        differ = hand.differing()
        things = [
            t
            for t in theirs.placed.values()
            if t.id in differ or t.host in differ or (not t.host and t.id not in case.placed)
        ]
        return self.layers().elsewhere(things)

    def settled(self, result: LayoutResult, case: Case) -> dict[str, Any]:
        """The whole sheet, drawn with care: names and numbers find their best places.

        Parameters
        ----------
        result : LayoutResult
            With the lines of its routes.
        case : Case
            The layout, laid out.

        Returns
        -------
        dict of str to Any
            For the page.
        """
        routes, sight = self._lines(result)
        over = [w for w in ("routes", "sight", "zones", "dimensions") if self._shows(w)]
        marks, names, self.offsets = self.layers().settled(
            self.hand.layout,
            dict(case.placed),
            findings=result.failing[:SHOWN],
            routes=routes,
            sight=sight,
            show=over,
        )
        return {
            "things": self.things(case),
            "order": self.reading_order(case),
            "names": names,
            "marks": marks,
            "ways": self.ways(result, case),
            "elsewhere": self.elsewhere(case),
            "piece": self.hand.values["piece"],
            **self.near(case),
        }


def _own_shape(thing: Placed) -> list[list[float]]:
    """The outline of a thing about its own middle, not turned."""
    xy = shapely.get_coordinates(shapely.convex_hull(thing.footprint))[:-1]
    own = (xy - np.array(thing.at)) @ axes_of(thing.rotation)
    return [[round(float(a), 5), round(float(b), 5)] for a, b in own]


def _faces(case: Case) -> list[list[float]]:
    """Faces to stand against: both ends, and the unit vector into the room."""
    found = [
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
                    found.append([ax, ay, bx, by, (by - ay) / long, (ax - bx) / long])
    return found


def _ends(case: Case) -> list[list[Any]]:
    """Openings and walls that a tape can be held to: short form, name, both ends."""
    where = {
        **{f"opening:{o.id}": (o.left, o.right) for s in case.spaces.values() for o in s.openings},
        **{
            f"wall:{w.room}.{w.index}": (w.start, w.end)
            for s in case.spaces.values()
            for w in s.walls
        },
    }
    return [
        [f"{end.kind}:{end.id}", name, *(v for p in where[f"{end.kind}:{end.id}"] for v in p)]
        for end, name in fixed_ends(case).items()
    ]


def _middles(case: Case) -> list[list[Any]]:
    """Middles of openings, with the unit vector into the room and a name."""
    return [
        [
            (at.left[0] + at.right[0]) / 2,
            (at.left[1] + at.right[1]) / 2,
            *at.inward,
            case.opening_name(at),
        ]
        for space in case.spaces.values()
        for at in space.openings
    ]
