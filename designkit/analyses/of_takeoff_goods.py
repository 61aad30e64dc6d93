"""Rugs and tops, worked out from the project and what is tried."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from designkit.analyses.pick import known_id, layout_of
from designkit.model import Cutout, Project, Room
from designkit.plan.pieces import kind_of
from designkit.plan.place import Placed, place_home
from designkit.reference import value
from designkit.takeoff.assemble import opening_name
from designkit.takeoff.lines import System, system_of
from designkit.takeoff.rugs import RugSize, SewnRug, StockRug, Use, door_clears, rug_size, sewn_rugs
from designkit.takeoff.surfaces import room_at
from designkit.takeoff.tops import Material, Top, material_of, top_of

__all__ = ["RugView", "TopView", "rug_view", "top_view"]


@dataclass(frozen=True, kw_only=True, eq=False)
class RugView:
    """A rug under its group."""

    name: str
    size: tuple[float, float]
    at: tuple[float, float]
    rotation: float  # [°]
    room: Room
    group: tuple[Placed, ...]
    needs: RugSize | None
    sewn: SewnRug | None
    door: tuple[str, float, float, float, bool, float] | None
    # name, undercut, rug, pad, clears, air that is left
    system: System


@dataclass(frozen=True, kw_only=True, eq=False)
class TopView:
    """A glass or stone top on a piece."""

    name: str
    slab: tuple[float, float] | None
    system: System
    result: Top


def _on_rug(placed: Mapping[str, Placed], rug: Placed) -> list[Placed]:
    """What stands on the rug with at least a part of it, lamps and pictures aside."""
    grown = rug.footprint
    return [
        thing
        for thing in placed.values()
        if thing is not rug and thing.base < 0.3 and thing.footprint.intersection(grown).area > 1e-4
    ]


def rug_view(
    project: Project,
    *,
    rug: str,
    layout: str = "",
    use: Use = "sitting",
    width: float | None = None,
    depth: float | None = None,
    stock: Sequence[StockRug] = (),
    thickness: float | None = None,
    pad: float = 0.004,
    door: str = "",
    undercut: float = 0.010,
    system: System | None = None,
) -> RugView:
    """A rug where it lies in a layout, with its group and a door over it.

    Parameters
    ----------
    project : Project
        The project.
    rug : str
        Piece id of the rug.
    layout : str, optional
        Layout id; "": the current one.
    use : {"dining", "sitting"}, optional
        What the group needs of it.
    width, depth : float, optional
        In place of the rug's own. [m]
    stock : sequence of StockRug, optional
        Stock sizes that it is sewn from; none: one piece.
    thickness, pad : float, optional
        Of rug and pad. [m]
    door : str, optional
        Opening id of a door that swings over it; "": none.
    undercut : float, optional
        Of that door. [m]
    system : {"metric", "US"}, optional
        By default that of the project.

    Returns
    -------
    RugView
        Sizes that suit, seams, and whether the door clears.

    Raises
    ------
    InputError
        A number is outside what is allowed.
    LookupFailed
        There is no such layout, rug or door, or it does not lie in the layout.
    """
    home = project.home
    words = system or system_of(home.units)
    placed = place_home(home, layout_of(home, layout))
    lies = [thing for thing in placed.values() if thing.item == rug]
    if not lies:
        known_id("rug", rug, [t.item for t in placed.values() if kind_of(t.piece).form == "rug"])
    here = lies[0]
    own = here.piece.size
    size = (own[0] if width is None else width, own[1] if depth is None else depth)
    room = home.rooms[here.room or room_at(home, here.at)]
    group = _on_rug(placed, here)
    needs = None
    core = [
        thing
        for thing in group
        if (kind_of(thing.piece).form == "table" if use == "dining" else True) and not thing.host
    ]
    if core:
        needs = rug_size(
            _extent(core, here, use),
            room=_room_extent(room, here),
            use=use,
            system=words,
            overrides=home.rules,
        )
    sewn = None
    if stock:
        sewn = sewn_rugs(*size, stock=stock, system=words, overrides=home.rules)[0]
    over = None
    if door:
        known_id("door", door, [o for o, it in home.openings.items() if it.kind != "window"])
        thick = own[2] if thickness is None else thickness
        clears, left = door_clears(undercut, rug=thick, pad=pad)
        over = (opening_name(home, door), undercut, thick, pad, clears, left)
    return RugView(
        name=here.piece.name,
        size=size,
        at=here.at,
        rotation=here.rotation,
        room=room,
        group=tuple(group),
        needs=needs,
        sewn=sewn,
        door=over,
        system=words,
    )


def _extent(group: Sequence[Placed], rug: Placed, use: Use) -> tuple[float, float]:
    """The group in the rug's own directions: a table whole, of seats the front legs."""
    turn = math.radians(-rug.rotation)
    c, s = math.cos(turn), math.sin(turn)
    xs: list[float] = []
    ys: list[float] = []
    for thing in group:
        # A seat stands on the rug with its front legs, not with its back.
        seated = use == "sitting" and thing.seats
        points = _front(thing) if seated else _points(thing.footprint)
        for x, y in points:
            dx, dy = x - rug.at[0], y - rug.at[1]
            xs.append(c * dx - s * dy)
            ys.append(s * dx + c * dy)
    return round(max(xs) - min(xs), 6), round(max(ys) - min(ys), 6)


def _front(thing: Placed) -> list[tuple[float, float]]:
    """The two front corners of a seat in plan."""
    turn = math.radians(thing.rotation)
    c, s = math.cos(turn), math.sin(turn)
    half, front = thing.piece.size[0] / 2, -thing.piece.size[1] / 2
    return [
        (thing.at[0] + c * x - s * front, thing.at[1] + s * x + c * front) for x in (-half, half)
    ]


def _points(shape: BaseGeometry) -> list[tuple[float, float]]:
    return [
        (float(x), float(y))
        for part in getattr(shape, "geoms", [shape])
        for x, y in part.exterior.coords
    ]


def _room_extent(room: Room, rug: Placed) -> tuple[float, float]:
    """Clear floor through the middle of the rug, in the rug's own directions."""
    shape = Polygon(room.outline)
    found = []
    for turn in (rug.rotation, rug.rotation + 90):
        ux, uy = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        line = LineString(
            [
                (rug.at[0] - 100 * ux, rug.at[1] - 100 * uy),
                (rug.at[0] + 100 * ux, rug.at[1] + 100 * uy),
            ]
        ).intersection(shape)
        parts = getattr(line, "geoms", [line])
        found.append(round(min(parts, key=lambda p: p.distance(Point(rug.at))).length, 6))
    return found[0], found[1]


def top_view(
    project: Project,
    *,
    piece: str,
    material: Material | None = None,
    thickness: float | None = None,
    overhang: float | None = None,
    radius: float | None = None,
    cutouts: Sequence[Cutout] | None = None,
    count: int | None = None,
    slab: tuple[float, float] | None = None,
    layout: str = "",
    system: System | None = None,
) -> TopView:
    """A glass or stone top on a piece, or a piece that is such a top.

    Parameters
    ----------
    project : Project
        The project.
    piece : str
        Piece id. A piece of kind "glass top" or "stone top" is the top itself,
        as large and as thick as it says; on another the top lies, larger by
        its overhang.
    material : {"glass", "stone"}, optional
        Of the top; by default as the piece's kind says, else glass.
    thickness : float, optional
        Of the top; by default the piece's own or `takeoff.top.thickness.<material>`. [m]
    overhang, radius : float, optional
        Beyond what carries it, of its corners; by default the piece's own. [m]
    cutouts : sequence of Cutout, optional
        Holes in it; by default the piece's own.
    count : int, optional
        Tops of this size; by default those that the layout places, at least one.
    slab : tuple of float, optional
        Length and width of a stone slab; by default by rule. [m]
    layout : str, optional
        Layout id; "": the current one.
    system : {"metric", "US"}, optional
        By default that of the project.

    Returns
    -------
    TopView
        Size, mass and slabs.

    Raises
    ------
    InputError
        A number is outside what is allowed.
    LookupFailed
        There is no such piece.
    """
    home = project.home
    known_id("piece", piece, list(home.pieces))
    thing = home.pieces[piece]
    words = system or system_of(home.units)
    own = material_of(thing)
    stuff = material or own or "glass"
    wide, deep, thick = thing.size
    over = thing.overhang if overhang is None else overhang
    if own is None:
        wide, deep = wide + 2 * over, deep + 2 * over
        thick = value(f"takeoff.top.thickness.{stuff}", home.rules)
    if slab is None:
        slab = (
            value("takeoff.top.slab.length", home.rules),
            value("takeoff.top.slab.width", home.rules),
        )
    if count is None:
        placed = layout_of(home, layout).pieces.items() if own and home.layouts else ()
        count = max(1, sum((p.item or id) == piece for id, p in placed))
    made = top_of(
        dataclasses.replace(
            thing,
            kind=f"{stuff} top",
            size=(wide, deep, thick if thickness is None else thickness),
            overhang=over,
            radius=thing.radius if radius is None else radius,
            cutouts=thing.cutouts if cutouts is None else tuple(cutouts),
        ),
        count=count,
        slab=slab,
        system=words,
        overrides=home.rules,
    )
    return TopView(
        name=thing.name,
        slab=slab if stuff == "stone" else None,
        system=words,
        result=made,
    )
