"""Cloth and leather of one thing, worked out from the project and what is tried."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from designkit.analyses.pick import known_id, layout_of
from designkit.errors import InputError
from designkit.model import Drape, Opening, Piece, Project
from designkit.plan.drapery import Drapery as Hanging
from designkit.plan.drapery import drapery as hang
from designkit.plan.place import place_home
from designkit.reference import value
from designkit.takeoff.assemble import opening_name
from designkit.takeoff.cloth import seat_notes, window_notes
from designkit.takeoff.covers import TRIES, chart_kind, cut_plan
from designkit.takeoff.drapery import Drapery, Way, drapery, finished_drop
from designkit.takeoff.leather import Leather, OwnMaterial, leather, own_material
from designkit.takeoff.lines import INCH, System, system_of
from designkit.takeoff.upholstery import CutPanel, Upholstery, cut_list

__all__ = [
    "DraperyView",
    "LeatherView",
    "UpholsteryView",
    "drapery_view",
    "leather_view",
    "upholstery_view",
]


@dataclass(frozen=True, kw_only=True, eq=False)
class DraperyView:
    """Drapery of one track."""

    name: str  # of the opening
    cloth: str
    drape: Drape
    opening: Opening
    ceiling: float  # [m]
    hanging: Hanging
    mirrored: bool
    repeat: float
    system: System
    result: Drapery
    notes: tuple[str, ...] = ()  # sun, washing, privacy


@dataclass(frozen=True, kw_only=True, eq=False)
class UpholsteryView:
    """Cloth for one or more pieces of a kind."""

    name: str
    cloth: str
    piece: Piece
    seats: int
    count: int
    repeats: tuple[float, float]
    system: System
    result: Upholstery
    own: OwnMaterial | None = None  # where the customer's own cloth is sent
    notes: tuple[str, ...] = ()  # what the label says of its wear


@dataclass(frozen=True, kw_only=True, eq=False)
class LeatherView:
    """Hides for one or more pieces of a kind."""

    name: str
    piece: Piece
    seats: int
    count: int
    system: System
    result: Leather


def drapery_view(
    project: Project,
    *,
    drape: str,
    layout: str = "",
    cloth_width: float | None = None,
    repeat: float | None = None,
    shrinkage: float | None = None,
    way: Way | None = None,
    rounding: Literal["up", "down"] | None = None,
    interlined: bool = False,
    system: System | None = None,
) -> DraperyView:
    """The drapery of one track.

    Parameters
    ----------
    project : Project
        The project.
    drape : str
        Drape id.
    layout : str, optional
        Layout id; "": the current one.
    cloth_width, repeat : float, optional
        In place of the drape's own. [m]
    shrinkage : float, optional
        Share of length lost in washing.
    way : {"upright", "railroaded"}, optional
        How the cloth hangs.
    rounding : {"up", "down"}, optional
        Which whole number of widths is ordered.
    interlined : bool, optional
        With an interlining.
    system : {"metric", "US"}, optional
        By default that of the project.

    Returns
    -------
    DraperyView
        Quantity and geometry.

    Raises
    ------
    InputError
        A number is outside what is allowed.
    LookupFailed
        There is no such layout, drape or opening.
    """
    home = project.home
    plan = layout_of(home, layout)
    known_id("drape", drape, list(plan.drapes))
    one = plan.drapes[drape]
    known_id(f"opening of drape {drape}", one.opening, list(home.openings))
    opening = home.openings[one.opening]
    room = home.rooms[opening.room]
    corners = room.outline
    start, end = corners[opening.wall], corners[(opening.wall + 1) % len(corners)]
    ccw = _counter_clockwise(corners)
    along = (end[0] - start[0], end[1] - start[1])
    inward = (-along[1], along[0]) if ccw else (along[1], -along[0])
    hanging = hang(
        one,
        opening=opening,
        wall=(start, end),
        inward=inward,
        ceiling=room.height,
        overrides=home.rules,
    )
    words = system or system_of(home.units)
    lies = one.repeat if repeat is None else repeat
    finish = home.finishes.get(one.finish)
    made = drapery(
        one.track,
        drop=finished_drop(
            room.height if one.top is None else one.top, hem=one.hem, overrides=home.rules
        ),
        cloth_width=one.cloth_width if cloth_width is None else cloth_width,
        heading=one.heading,
        fullness=one.fullness,
        draw=one.draw,
        repeat=lies,
        shrinkage=shrinkage,
        way=way,
        rounding=rounding,
        lined=one.lined or interlined,
        interlined=interlined,
        system=words,
        overrides=home.rules,
    )
    return DraperyView(
        name=opening_name(home, one.opening),
        cloth=finish.name if finish else "",
        drape=one,
        opening=opening,
        ceiling=room.height,
        hanging=hanging,
        mirrored=ccw,
        repeat=lies,
        system=words,
        result=made,
        notes=window_notes(
            finish,
            shrinkage=value("takeoff.drapery.shrinkage", home.rules)
            if shrinkage is None
            else shrinkage,
            rules=home.rules,
        )
        if finish
        else (),
    )


def _counter_clockwise(corners: Sequence[tuple[float, float]]) -> bool:
    pairs = zip(corners, (*corners[1:], corners[0]), strict=True)
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs) > 0


def _panels(
    project: Project, piece: str, layout: str, count: int | None, seats: int | None
) -> tuple[Piece, int, int, tuple[CutPanel, ...]]:
    home = project.home
    known_id("piece", piece, list(home.pieces))
    thing = home.pieces[piece]
    if count is None:
        placed = place_home(home, layout_of(home, layout))
        count = max(1, sum(one.item == piece for one in placed.values()))
    if count != int(count) or not 1 <= count <= 40:
        raise InputError("pieces", given=count, allowed="1 to 40", mend="count them")
    single = cut_list(thing, seats=seats, overrides=home.rules)
    cushions = next((p.count for p in single if p.name == "seat cushion, top"), 0)
    return thing, int(count), cushions, tuple(replace(p, count=p.count * count) for p in single)


def _several(name: str, count: int) -> str:
    return name if count == 1 else f"{name}, {count} of them"


def upholstery_view(
    project: Project,
    *,
    piece: str,
    layout: str = "",
    count: int | None = None,
    seats: int | None = None,
    cloth_width: float | None = None,
    repeats: tuple[float, float] = (0.0, 0.0),
    railroaded: bool = False,
    faults: Sequence[tuple[float, float]] = (),
    own: bool = False,
    tries: int = TRIES,
    system: System | None = None,
) -> UpholsteryView:
    """Cloth for a piece, as many as stand in the layout.

    Parameters
    ----------
    project : Project
        The project.
    piece : str
        Piece id.
    layout : str, optional
        Layout id; "": the current one.
    count : int, optional
        Pieces that are covered; by default those that stand in the layout.
    seats : int, optional
        Seat cushions.
    cloth_width : float, optional
        By default 54 in. [m]
    repeats : tuple of float, optional
        Along and across the roll. [m]
    railroaded : bool, optional
        Laid with its selvedges top and bottom.
    faults : sequence of (float, float), optional
        Stretches that no piece may touch. [m]
    own : bool, optional
        Also say what is sent to a maker as the customer's own cloth.
    tries : int, optional
        Of the search for a short plan, see `designkit.takeoff.packing.pack`.
    system : {"metric", "US"}, optional
        By default that of the project.

    Returns
    -------
    UpholsteryView
        Plan and order; what was asked before comes from memory.

    Raises
    ------
    InputError
        A number is outside what is allowed.
    LookupFailed
        There is no such layout or piece.
    """
    home = project.home
    thing, many, cushions, panels = _panels(project, piece, layout, count, seats)
    words = system or system_of(home.units)
    wide = 54 * INCH if cloth_width is None else cloth_width
    kind = chart_kind(thing.kind)
    made = cut_plan(
        panels,
        wide,
        repeats,
        railroaded,
        tuple(faults),
        kind if many == 1 else "",
        words,
        tuple(sorted(home.rules.items())),
        tries,
    )
    finish = home.finishes.get(thing.finish)
    sent = None
    if own:
        # The maker's figure for plain 54 in cloth is what a plan on it comes to.
        plain = cut_plan(
            panels,
            54 * INCH,
            (0.0, 0.0),
            False,
            (),
            "",
            words,
            tuple(sorted(home.rules.items())),
            tries,
        )
        sent = own_material(
            plain.order,
            cloth_width=wide,
            repeats=sum(repeats),
            system=words,
            overrides=home.rules,
        )
    return UpholsteryView(
        name=_several(thing.name, many),
        cloth=finish.name if finish and finish.kind == "cloth" else "",
        piece=thing,
        seats=cushions,
        count=many,
        repeats=repeats,
        system=words,
        result=made,
        own=sent,
        notes=seat_notes(finish) if finish and finish.kind == "cloth" else (),
    )


def leather_view(
    project: Project,
    *,
    piece: str,
    layout: str = "",
    count: int | None = None,
    seats: int | None = None,
    usable: float | None = None,
    hide: float | None = None,
    system: System | None = None,
) -> LeatherView:
    """Hides for a piece, as many as stand in the layout.

    Parameters
    ----------
    project : Project
        The project.
    piece : str
        Piece id.
    layout : str, optional
        Layout id; "": the current one.
    count : int, optional
        Pieces that are covered.
    seats : int, optional
        Seat cushions.
    usable : float, optional
        Share of a hide that is cut.
    hide : float, optional
        Area of one. [m²]
    system : {"metric", "US"}, optional
        By default that of the project.

    Returns
    -------
    LeatherView
        Whole hides.

    Raises
    ------
    InputError
        A number is outside what is allowed.
    LookupFailed
        There is no such layout or piece.
    """
    home = project.home
    thing, many, cushions, panels = _panels(project, piece, layout, count, seats)
    words = system or system_of(home.units)
    made = leather(panels, usable=usable, hide=hide, system=words, overrides=home.rules)
    return LeatherView(
        name=_several(thing.name, many),
        piece=thing,
        seats=cushions,
        count=many,
        system=words,
        result=made,
    )
