"""One layout laid out for checking: things, spaces, what stands where, words for it."""

from __future__ import annotations

import functools
import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import LineString, Polygon

from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import Finding, Home, Layout, Opening, Point, Severity, Verdict
from designkit.plan.measure import combined, judge, plus_minus, round_up, separation, within_of
from designkit.plan.pieces import kind_of
from designkit.plan.place import Placed, place_home, place_lamps
from designkit.plan.space import OpeningAt, Space, space_at, spaces
from designkit.reference import lookup, value
from designkit.units import in_sentence

__all__ = [
    "Case",
    "Hit",
    "Solid",
    "case_of",
    "frame",
    "measure_line",
    "ring",
    "short_name",
    "shortest",
]

RuleSet = Literal["home", "step-free"]
SKIN = 0.001  # m; nearer than this is touching
SIDE = 0.01  # m; what reaches so little into a strip from its side is beside it


@dataclass(frozen=True, kw_only=True, eq=False)
class Solid:
    """A convex body in the way: a part of a piece or lamp, a column, a service."""

    owner: str
    group: Literal["piece", "lamp", "column", "service"]
    shape: Polygon
    base: float
    top: float
    transmits: bool
    hangs: bool = False  # from the ceiling: the lighting judges what passes under it


@dataclass(frozen=True, kw_only=True, eq=False)
class Hit:
    """What is met first in a direction: how far, what (""  for a wall), where."""

    distance: float  # [m]
    owner: str
    shape: Polygon | None
    at: Point
    within: float


def short_name(name: str) -> str:
    """A name up to its first comma: "sofa, grey wool" is called the sofa.

    Parameters
    ----------
    name : str
        The whole name.

    Returns
    -------
    str
        What it is called in a sentence.
    """
    return name.split(",")[0].strip() or name


@functools.lru_cache(maxsize=4096)
def _said(length: float, units: str) -> str:
    return in_sentence(length, units=units)


def ring(shape: Polygon) -> tuple[Point, ...]:
    """Corners of a polygon, for `Finding.area`.

    Parameters
    ----------
    shape : Polygon
        Any polygon.

    Returns
    -------
    tuple of Point
        Without the first one again. [m]
    """
    return tuple((float(x), float(y)) for x, y in shapely.get_coordinates(shape.exterior)[:-1])


@dataclass(frozen=True, kw_only=True, eq=False)
class Case:
    """Everything that the checks of one layout look at."""

    home: Home
    layout: Layout
    rule_set: RuleSet
    rules: Mapping[str, float]
    spaces: Mapping[str, Space]
    placed: Mapping[str, Placed]
    lamps: Mapping[str, Placed]
    space_of: Mapping[str, Space]  # of each thing
    solids: tuple[Solid, ...]
    shapes: npt.NDArray[np.object_]
    base: npt.NDArray[np.float64]
    top: npt.NDArray[np.float64]
    tree: shapely.STRtree

    # --- numbers and words ---------------------------------------------------

    def value(self, rule: str) -> float:
        """A rule's number, the project's own before the reference.

        Parameters
        ----------
        rule : str
            Its id.

        Returns
        -------
        float
            In SI units.
        """
        return value(rule, self.rules)

    def say(self, length: float) -> str:
        """A length in the project's units, for a sentence.

        Parameters
        ----------
        length : float
            Any. [m]

        Returns
        -------
        str
            With its unit.
        """
        return _said(round(length, 6), self.home.units)

    def amount(self, length: float) -> str:
        """A distance to move, rounded up, for a sentence.

        Parameters
        ----------
        length : float
            Any. [m]

        Returns
        -------
        str
            With its unit.
        """
        return self.say(round_up(length, units=self.home.units))

    def thing(self, id: str) -> Placed | None:
        """A piece or a lamp.

        Parameters
        ----------
        id : str
            Its id.

        Returns
        -------
        Placed or None
            None where there is no such thing.
        """
        return self.placed.get(id) or self.lamps.get(id)

    def name(self, id: str) -> str:
        """What a thing is called within a sentence.

        Parameters
        ----------
        id : str
            Of a piece, lamp, service, opening or column; "" for a wall.

        Returns
        -------
        str
            With its article.
        """
        if not id:
            return "the wall"
        thing = self.thing(id)
        if thing is not None:
            name = short_name(thing.piece.name)
            if thing.host:
                return f"a {name} at the {short_name(self.placed[thing.host].piece.name)}"
            return f"the {name}"
        if id in self.home.services:
            service = self.home.services[id]
            return f"the {service.name or service.kind}"
        if id in self.home.openings:
            opening = self.home.openings[id]
            return opening.name or f"the {opening.kind}"
        return "the column"

    def title(self, id: str) -> str:
        """What a thing is called at the head of a finding.

        Parameters
        ----------
        id : str
            As for `name`.

        Returns
        -------
        str
            Without its article.
        """
        name = self.name(id)
        for article in ("the ", "a "):
            name = name.removeprefix(article)
        return name[:1].upper() + name[1:]

    def opening_name(self, opening: OpeningAt) -> str:
        """A door or window by its name, or by where it leads.

        Parameters
        ----------
        opening : OpeningAt
            As it stands in its wall.

        Returns
        -------
        str
            For a sentence.
        """
        plain = opening.opening
        if plain.name:
            return plain.name
        kind = {"balcony": "balcony door"}.get(plain.kind, plain.kind)
        if opening.to in self.home.rooms:
            return f"{kind} to the {self.home.rooms[opening.to].name}"
        if opening.to and plain.kind == "door":
            return f"{kind} to the {opening.to}"
        return kind

    # --- ± -------------------------------------------------------------------

    def spread(self, id: str, direction: Point) -> float:
        """± of a thing's size along a direction, for walls and columns of their room. [m]

        Parameters
        ----------
        id : str
            Of a piece or a lamp.
        direction : Point
            Unit vector on the plan.

        Returns
        -------
        float
            0 for walls and columns. [m]
        """
        thing = self.thing(id)
        if thing is None:
            return 0.0
        if thing.kind_of_thing == "lamp":
            return self.value("plan.known.seller")
        turn = math.radians(-thing.rotation)
        x = direction[0] * math.cos(turn) - direction[1] * math.sin(turn)
        y = direction[0] * math.sin(turn) + direction[1] * math.cos(turn)
        w = plus_minus(thing.piece, "width", overrides=self.rules)
        d = plus_minus(thing.piece, "depth", overrides=self.rules)
        return combined(x * w, y * d)

    def height_spread(self, id: str, dimension: str = "height") -> float:
        """± of a height of a piece. [m]

        Parameters
        ----------
        id : str
            Of a piece or a lamp.
        dimension : str, optional
            Which height.

        Returns
        -------
        float
            [m]
        """
        thing = self.thing(id)
        if thing is None or thing.kind_of_thing == "lamp":
            return self.value("plan.known.seller")
        return plus_minus(thing.piece, dimension, overrides=self.rules)

    def room_spread(self, space: Space) -> float:
        """± of the outline of a space, the largest of its rooms. [m]

        Parameters
        ----------
        space : Space
            Of one room or several.

        Returns
        -------
        float
            [m]
        """
        return max(
            within_of(self.home.rooms[room].known, overrides=self.rules) for room in space.rooms
        )

    def opening_spread(self, opening: Opening, dimension: str) -> float:
        """± of a dimension of an opening. [m]

        Parameters
        ----------
        opening : Opening
            As written.
        dimension : str
            As "width" or "sill".

        Returns
        -------
        float
            [m]
        """
        return plus_minus(opening, dimension, overrides=self.rules)

    # --- looking -------------------------------------------------------------

    def near(
        self,
        shape: Polygon,
        *,
        low: float,
        high: float,
        ignore: Collection[str] = (),
        hanging: bool = True,
    ) -> list[Solid]:
        """Solids that share floor with a shape and reach into a range of heights.

        Parameters
        ----------
        shape : Polygon
            On the plan. [m]
        low, high : float
            The range above the floor. [m]
        ignore : collection of str, optional
            Owners that do not count.
        hanging : bool, optional
            Whether what hangs from the ceiling counts.

        Returns
        -------
        list of Solid
            In a fixed order.
        """
        found = self.tree.query(shape, predicate="intersects")
        return [
            self.solids[i]
            for i in sorted(found.tolist())
            if self.base[i] < high
            and self.top[i] > low
            and self.solids[i].owner not in ignore
            and (hanging or not self.solids[i].hangs)
        ]

    def reach(
        self,
        space: Space,
        *,
        origin: Point,
        outward: Point,
        width: float,
        search: float,
        low: float,
        high: float,
        ignore: Collection[str] = (),
    ) -> Hit | None:
        """What is met first from a line outwards over its width, and how far.

        Parameters
        ----------
        space : Space
            What is outside it is a wall.
        origin : Point
            Middle of the line. [m]
        outward : Point
            Unit vector across the line.
        width : float
            Length of the line. [m]
        search : float
            How far is looked. [m]
        low, high : float
            The range above the floor. [m]
        ignore : collection of str, optional
            Owners that do not count.

        Returns
        -------
        Hit or None
            None where nothing is met.
        """
        area = frame(origin, outward, width - 2 * SIDE, SKIN, search)
        if area is None:
            return None
        best: tuple[float, str, Polygon | None, Point] | None = None
        n = np.array(outward)
        start = np.array(origin)

        def closer(shape: shapely.Geometry, owner: str, whole: Polygon | None) -> None:
            nonlocal best
            xy = shapely.get_coordinates(shape)
            if not len(xy):
                return
            depth = (xy - start) @ n
            least = max(0.0, float(depth.min()))
            if best is None or least < best[0] - 1e-9:
                first = xy[np.abs(depth - depth.min()) < 1e-6].mean(axis=0)
                best = (least, owner, whole, (float(first[0]), float(first[1])))

        for solid in self.near(area, low=low, high=high, ignore=ignore, hanging=False):
            part = area.intersection(solid.shape)
            if part.area > 1e-9:
                closer(part, solid.owner, solid.shape)
        if not space.polygon.covers(area):
            closer(area.difference(space.polygon), "", None)
        if best is None:
            return None
        least, owner, whole, at = best
        # Within the skin of the line itself is touching it.
        least = 0.0 if least <= 1.5 * SKIN else least
        spread = self.spread(owner, outward) if self.thing(owner) else self.room_spread(space)
        return Hit(distance=least, owner=owner, shape=whole, at=at, within=spread)

    # --- rows ----------------------------------------------------------------

    def severity(self, rule: str, severity: Severity) -> Severity:
        """P02: "law here" only where the project names the code and the rule is a standard.

        Parameters
        ----------
        rule : str
            Its id.
        severity : Severity
            Where it is not law.

        Returns
        -------
        Severity
            As it is said.
        """
        if self.home.code and severity != "safety" and lookup(rule).kind == "standard":
            return "law here"
        return severity

    def row(
        self,
        what: str,
        *,
        measured: float | None,
        required: float | None,
        rule: str,
        severity: Severity,
        why: str,
        within: float = 0.0,
        at_most: bool = False,
        verdict: Verdict | None = None,
        mend: str = "",
        about: Iterable[str] = (),
        at: Point | None = None,
        area: Polygon | None = None,
        line: tuple[Point, ...] = (),
        unit: str = "m",
    ) -> Finding:
        """A finding; what passes needs no mending.

        Parameters
        ----------
        what : str
            The subject.
        measured, required : float or None
            In `unit`; None where there is no number.
        rule : str
            Its id; "" where none is named.
        severity : Severity
            How much it matters.
        why : str
            In a sentence.
        within : float, optional
            ± of what was measured, in `unit`.
        at_most : bool, optional
            Whether the requirement is an upper limit.
        verdict : Verdict, optional
            Where it does not follow from the numbers.
        mend : str, optional
            What to do about it.
        about : iterable of str, optional
            Ids of what it concerns.
        at : Point, optional
            Where it is; by default amid the area or the line. [m]
        area : Polygon, optional
            What is hatched. [m]
        line : tuple of Point, optional
            What is dimensioned. [m]
        unit : str, optional
            Of the numbers.

        Returns
        -------
        Finding
            With its verdict.

        Raises
        ------
        InputError
            Neither numbers nor a verdict.
        """
        if verdict is None:
            if measured is None or required is None:
                raise InputError(what, given="no number", allowed="a number, or a verdict")
            verdict = judge(measured, required=required, within=within, at_most=at_most)
        if verdict == "measure first":
            doubt = self._measure_first(measured, required, within, unit)
            if doubt and mend:
                mend = f"{doubt} If it is so: {mend[:1].lower()}{mend[1:]}"
            mend = mend or doubt
        if at is None and area is not None:
            centre = area.representative_point()
            at = (centre.x, centre.y)
        if at is None and line:
            at = (
                sum(p[0] for p in line) / len(line),
                sum(p[1] for p in line) / len(line),
            )
        return Finding(
            what=what,
            measured=measured,
            required=required,
            within=within,
            unit=unit,
            verdict=verdict,
            severity=self.severity(rule, severity) if rule else severity,
            rule=rule,
            why=why,
            mend="" if verdict == "passes" else mend,
            about=tuple(dict.fromkeys(id for id in about if id)),
            at=at,
            area=ring(area) if area is not None and verdict != "passes" else (),
            line=line,
        )

    def _measure_first(
        self, measured: float | None, required: float | None, within: float, unit: str
    ) -> str:
        if unit != "m" or measured is None or required is None:
            return "Measure first."
        margin = abs(measured - required)
        if margin >= within:
            return ""  # something else is not known, and the row says what
        return (
            f"Measure first: the margin of {self.say(margin)} is under the ± of {self.say(within)}."
        )

    def move_off(self, hit: Hit, zone: Polygon, owner: str, short: float, outward: Point) -> str:
        """How to free a zone: move what stands in it, or its owner from a wall.

        Parameters
        ----------
        hit : Hit
            What stands in the zone.
        zone : Polygon
            The floor that is needed. [m]
        owner : str
            Whose zone it is.
        short : float
            How much is missing. [m]
        outward : Point
            Unit vector from the owner into the zone.

        Returns
        -------
        str
            What to move, how far and which way.
        """
        if hit.shape is None or self.thing(hit.owner) is None:
            if self.thing(owner) is None:
                return f"Keep {self.amount(short)} more free before {self.name(owner)}."
            return f"Move {self.name(owner)} {self.amount(short)} away from {self.name(hit.owner)}."
        depth, direction = separation(hit.shape, zone)
        along = direction[0] * outward[0] + direction[1] * outward[1]
        way = f"away from {self.name(owner)}"
        if abs(along) < 0.7 and depth > 0:
            way = f"sideways, out of the space before {self.name(owner)}"
        else:
            depth = max(depth, short)
        return f"Move {self.name(hit.owner)} {self.amount(depth)} {way}."


def frame(origin: Point, outward: Point, width: float, start: float, end: float) -> Polygon | None:
    """A rectangle before a line.

    Parameters
    ----------
    origin : Point
        Middle of the line. [m]
    outward : Point
        Unit vector across the line.
    width : float
        Length of the line. [m]
    start, end : float
        Where the rectangle begins and ends, outwards. [m]

    Returns
    -------
    Polygon or None
        None where nothing is left of it.

    Examples
    --------
    >>> frame((0.0, 0.0), (0.0, 1.0), 2.0, 0.0, 0.5).bounds
    (-1.0, 0.0, 1.0, 0.5)
    """
    if width <= 0 or end <= start:
        return None
    nx, ny = outward
    tx, ty = -ny * width / 2, nx * width / 2
    ax, ay = origin[0] + nx * start, origin[1] + ny * start
    bx, by = origin[0] + nx * end, origin[1] + ny * end
    return Polygon([(ax - tx, ay - ty), (ax + tx, ay + ty), (bx + tx, by + ty), (bx - tx, by - ty)])


def measure_line(origin: Point, outward: Point, at: Point) -> tuple[Point, ...]:
    """The distance from a line outwards to a point, as a line through that point.

    Parameters
    ----------
    origin : Point
        Middle of the line. [m]
    outward : Point
        Unit vector across the line.
    at : Point
        The point. [m]

    Returns
    -------
    tuple of Point
        From the line to the point. [m]

    Examples
    --------
    >>> measure_line((0.0, 0.0), (0.0, 1.0), (2.0, 0.5))
    ((2.0, 0.0), (2.0, 0.5))
    """
    depth = (at[0] - origin[0]) * outward[0] + (at[1] - origin[1]) * outward[1]
    return ((at[0] - outward[0] * depth, at[1] - outward[1] * depth), at)


def _rule_set(given: str) -> RuleSet:
    if given == "home":
        return "home"
    if given == "step-free":
        return "step-free"
    raise LookupFailed("rule set", given=given, allowed="home, step-free", mend="use one of these")


def case_of(
    home: Home,
    layout: str | Layout,
    *,
    rule_set: str | None = None,
    overrides: Mapping[str, float] | None = None,
) -> Case:
    """Lay a layout out for checking.

    Parameters
    ----------
    home : Home
        The home.
    layout : str or Layout
        A layout's id, or a layout itself.
    rule_set : str, optional
        "home" or "step-free"; None: as the home says.
    overrides : mapping of str to float, optional
        Rule values that go before those of the home.

    Returns
    -------
    Case
        With the bodies of all things in one tree.

    Raises
    ------
    LookupFailed
        There is no such layout or rule set, or a placement names nothing.
    InputError
        The shell or a piece cannot be taken as written.
    """
    if isinstance(layout, str):
        if layout not in home.layouts:
            near = nearest(layout, home.layouts)
            raise LookupFailed(
                "layout",
                given=layout,
                allowed=", ".join(home.layouts) or "no layout is there",
                mend=f"write {near!r}" if near else "use one of these",
            )
        layout = home.layouts[layout]
    rules = {**home.rules, **(overrides or {})}
    all_spaces = spaces(home, overrides=rules)
    placed = place_home(home, layout, overrides=rules)
    lamps = place_lamps(home, layout, placed, overrides=rules)
    solids: list[Solid] = []
    for group, things in (("piece", placed), ("lamp", lamps)):
        for id, thing in things.items():
            for part in thing.parts:
                solids.append(
                    Solid(
                        owner=id,
                        group="piece" if group == "piece" else "lamp",
                        shape=part.footprint,
                        base=part.base,
                        top=part.top,
                        transmits=part.transmits,
                        hangs=group == "lamp" and kind_of(thing.piece).mount == "ceiling",
                    )
                )
    for space in all_spaces.values():
        for column in space.columns:
            top = space.heights[column.room]
            solids.append(
                Solid(
                    owner=column.id,
                    group="column",
                    shape=column.polygon,
                    base=0.0,
                    top=top,
                    transmits=False,
                )
            )
        for service in space.services:
            if service.body is not None and service.top > service.base:
                solids.append(
                    Solid(
                        owner=service.id,
                        group="service",
                        shape=service.body,
                        base=service.base,
                        top=service.top,
                        transmits=False,
                    )
                )
    shapes = np.array([s.shape for s in solids], dtype=object)
    return Case(
        home=home,
        layout=layout,
        rule_set=_rule_set(home.rule_set if rule_set is None else rule_set),
        rules=rules,
        spaces=all_spaces,
        placed=placed,
        lamps=lamps,
        space_of={
            id: space_at(all_spaces, thing.at, room=thing.room)
            for things in (placed, lamps)
            for id, thing in things.items()
        },
        solids=tuple(solids),
        shapes=shapes,
        base=np.array([s.base for s in solids]),
        top=np.array([s.top for s in solids]),
        tree=shapely.STRtree(shapes),
    )


def shortest(first: Polygon, second: Polygon) -> tuple[Point, ...]:
    """The shortest line between two shapes, for `Finding.line`.

    Parameters
    ----------
    first, second : Polygon
        The shapes.

    Returns
    -------
    tuple of Point
        From the first to the second; empty where a shape is empty. [m]
    """
    line = shapely.shortest_line(first, second)
    if not isinstance(line, LineString) or line.is_empty:
        return ()
    (ax, ay), (bx, by) = line.coords
    return ((float(ax), float(ay)), (float(bx), float(by)))
