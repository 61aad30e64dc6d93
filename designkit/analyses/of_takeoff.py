"""What a layout gives to take off, and a view of each with all that its drawing needs.

What is given to a view as an argument is tried; what is not comes from the
project, else from the reference tables.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from designkit.analyses.of_takeoff_built import (
    BoxView,
    CanvasView,
    box_view,
    canvas_view,
)
from designkit.analyses.of_takeoff_cloth import (
    DraperyView,
    LeatherView,
    UpholsteryView,
    drapery_view,
    leather_view,
    upholstery_view,
)
from designkit.analyses.of_takeoff_goods import (
    RugView,
    TopView,
    rug_view,
    top_view,
)
from designkit.analyses.of_takeoff_walls import (
    CeilingView,
    MuralView,
    PaintView,
    WallcoveringView,
    ceiling_view,
    is_textured,
    paint_view,
    painted_surfaces,
    wallcovering_view,
)
from designkit.analyses.pick import layout_of
from designkit.model import Project
from designkit.plan.pieces import kind_of
from designkit.plan.place import place_home
from designkit.reference import value
from designkit.takeoff.assemble import opening_name, paper_runs
from designkit.takeoff.built import is_picture, needs_by_room, room_boxes
from designkit.takeoff.covers import COVERED
from designkit.takeoff.lines import (
    System,
    area_text,
    cable_text,
    length_text,
    run_text,
    volume_text,
    whole,
)
from designkit.takeoff.paint import cans
from designkit.takeoff.tops import material_of

__all__ = ["KINDS", "Amounts", "Kind", "Subject", "View", "amounts", "drawn_view", "subjects"]

Kind = Literal[
    "drapery",
    "upholstery",
    "wallcovering",
    "paint",
    "rugs",
    "glass and stone",
    "canvas",
    "floor boxes",
    "ceilings",
]
KINDS: tuple[Kind, ...] = get_args(Kind)


@dataclass(frozen=True, kw_only=True)
class Subject:
    """One thing that can be taken off."""

    kind: Kind
    id: str
    name: str
    drawn: bool = True  # False: tried, the project does not show it so


View = (
    DraperyView
    | UpholsteryView
    | LeatherView
    | WallcoveringView
    | MuralView
    | PaintView
    | RugView
    | TopView
    | CanvasView
    | BoxView
    | CeilingView
)


def subjects(project: Project, *, layout: str = "") -> tuple[Subject, ...]:
    """What can be taken off for a layout.

    Parameters
    ----------
    project : Project
        The project.
    layout : str, optional
        Layout id; "": the current one.

    Returns
    -------
    tuple of Subject
        In the order of `KINDS`; wallcovering also lists each room's walls, to
        be tried where they are not papered.

    Raises
    ------
    LookupFailed
        There is no such layout.
    """
    home = project.home
    plan = layout_of(home, layout)
    found: list[Subject] = []

    def add(kind: Kind, id: str, name: str, drawn: bool = True) -> None:
        found.append(Subject(kind=kind, id=id, name=name, drawn=drawn))

    for id, drape in plan.drapes.items():
        add("drapery", id, f"drapery at the {opening_name(home, drape.opening)}")
    placed = place_home(home, plan)
    items = list(dict.fromkeys(thing.item for thing in placed.values()))
    for id in items:
        piece = home.pieces[id]
        finish = home.finishes.get(piece.finish)
        covered = finish is not None and finish.kind in ("cloth", "leather")
        bought = any(c.piece == id and c.kind == "fabric" for c in project.costs)
        if piece.kind.lower() in COVERED and (covered or bought):
            add("upholstery", id, piece.name)
    for id, finish in home.finishes.items():
        if finish.kind == "paper" and paper_runs(home, id):
            add("wallcovering", id, finish.name)
    for id, room in home.rooms.items():
        add("wallcovering", f"room {id}", f"all walls, {room.name}", drawn=False)
    for id, finish in home.finishes.items():
        if finish.kind == "paint" and painted_surfaces(home, id):
            add("paint", id, finish.name)
    for id in items:
        if kind_of(home.pieces[id]).form == "rug":
            add("rugs", id, home.pieces[id].name)
    # A top or a picture that is asked for counts before it has a place on the plan.
    for id, piece in home.pieces.items():
        if material_of(piece) is not None:
            add("glass and stone", id, piece.name)
        elif is_picture(piece.kind):
            add("canvas", id, piece.name, drawn=piece.kind.lower() == "canvas")
    for id in items:
        piece = home.pieces[id]
        form = kind_of(piece).form
        if form == "table" or any(w in piece.kind for w in ("sideboard", "cabinet", "desk")):
            add("glass and stone", id, piece.name, drawn=False)
    for id, needs in needs_by_room(home, plan).items():
        powered = any(need.kind != "seat" for need in needs)
        drawn = powered and bool(room_boxes(home, plan, room=id).result.boxes)
        add("floor boxes", id, f"floor of the {home.rooms[id].name}", drawn=drawn)
    if any(is_textured(home, room) for room in home.rooms.values()):
        add("ceilings", "all", "all textured ceilings")
    order = {kind: i for i, kind in enumerate(KINDS)}
    return tuple(sorted(found, key=lambda s: order[s.kind]))


@dataclass(frozen=True, kw_only=True)
class Amounts:
    """Need, waste and order, as they are said and bought in both systems of units."""

    need: tuple[str, str]  # metric, US
    order: tuple[str, str]
    waste: float  # share of the order that does not end up in the place [1]


def _bolt(length: float, rules: Mapping[str, float]) -> tuple[str, str]:
    """Cloth as it is cut from the bolt in each system."""
    found = []
    for system, id in (("metric", "takeoff.drapery.step"), ("US", "takeoff.drapery.step.US")):
        step = value(id, rules)
        found.append(run_text(whole(length / step) * step, system))  # type: ignore[arg-type]
    return found[0], found[1]


def _both(said: Callable[[float, System], str], amount: float) -> tuple[str, str]:
    return said(amount, "metric"), said(amount, "US")


def amounts(view: View, *, rules: Mapping[str, float] | None = None) -> Amounts:
    """What is needed and what is bought, in metric and in US units.

    Parameters
    ----------
    view : View
        Of one thing.
    rules : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    Amounts
        Cloth is rounded up to what is sold in each system, paint to its cans.

    Examples
    --------
    >>> from designkit.project import read
    >>> from designkit.shipped import shipped
    >>> from designkit.analyses.of_takeoff_cloth import drapery_view
    >>> project = read(shipped("data") / "harbour-flat").project
    >>> amounts(drapery_view(project, drape="harbour")).order
    ('21.80 m', '24.00 yd')
    """
    known = rules or {}
    if isinstance(view, DraperyView):
        face = view.result.face
        return Amounts(
            need=_both(run_text, face.net),
            order=_bolt(face.cut * face.cuts, known),
            waste=1 - face.net / face.order,
        )
    if isinstance(view, UpholsteryView):
        made = view.result
        net = sum(p.across * p.along * p.count for p in made.panels) / made.cloth_width
        return Amounts(
            need=_both(run_text, net),
            order=_bolt(made.faults, known),
            waste=1 - net / made.order,
        )
    if isinstance(view, LeatherView):
        hides = view.result
        return Amounts(
            need=_both(area_text, hides.net),
            order=_both(area_text, hides.order),
            waste=1 - hides.net / hides.order,
        )
    if isinstance(view, WallcoveringView):
        hung = view.result
        bought = hung.rolls * view.roll.width * view.roll.length
        rolls = f"{hung.rolls} {'roll' if hung.rolls == 1 else 'rolls'}"
        metric, us = _both(area_text, bought)
        return Amounts(
            need=_both(area_text, hung.area),
            order=(f"{rolls}, {metric}", f"{rolls}, {us}"),
            waste=1 - hung.area / bought,
        )
    if isinstance(view, MuralView):
        return Amounts(
            need=_both(area_text, view.result.net),
            order=_both(area_text, view.result.order),
            waste=1 - view.result.net / view.result.order,
        )
    if isinstance(view, PaintView):
        made_ = view.result
        power = value("takeoff.paint.can_exponent", known)
        return Amounts(
            need=_both(volume_text, made_.net),
            order=(
                cans(made_.need, system="metric", exponent=power).text,
                cans(made_.need, system="US", exponent=power).text,
            ),
            waste=1 - made_.net / made_.cans.volume,
        )
    if isinstance(view, RugView):
        net = view.size[0] * view.size[1]
        order = view.sewn.area if view.sewn else net
        return Amounts(
            need=_both(area_text, net), order=_both(area_text, order), waste=1 - net / order
        )
    if isinstance(view, TopView):
        return Amounts(
            need=_both(area_text, view.result.net),
            order=_both(area_text, view.result.order),
            waste=1 - view.result.net / view.result.order,
        )
    if isinstance(view, CanvasView):
        made_of = view.result
        wide = _both(length_text, made_of.roll)
        lengths = _bolt(made_of.length, known)
        return Amounts(
            need=_both(area_text, made_of.net),
            order=(f"{lengths[0]}, {wide[0]} wide", f"{lengths[1]}, {wide[1]} wide"),
            waste=1 - made_of.net / made_of.order,
        )
    if isinstance(view, BoxView):
        net_, order_ = view.result.net, view.result.order
        return Amounts(
            need=_both(cable_text, net_),
            order=_both(cable_text, order_),
            waste=1 - net_ / order_ if order_ else 0.0,
        )
    area = sum(work.area for _, work in view.works)
    return Amounts(need=_both(area_text, area), order=_both(area_text, area), waste=0.0)


def drawn_view(project: Project, subject: Subject, *, layout: str = "") -> View:
    """The view of a thing as the project draws it, with nothing tried on it.

    Parameters
    ----------
    project : Project
        The project.
    subject : Subject
        From `subjects`.
    layout : str, optional
        Layout id; "": the current one.

    Returns
    -------
    View
        Leather for a piece that is covered in leather, a rug for its group.

    Raises
    ------
    InputError
        A number of the project is outside what is allowed.
    LookupFailed
        The thing is not there.
    """
    id, home = subject.id, project.home
    if subject.kind == "drapery":
        return drapery_view(project, drape=id, layout=layout)
    if subject.kind == "upholstery":
        finish = home.finishes.get(home.pieces[id].finish) if id in home.pieces else None
        if finish is not None and finish.kind == "leather":
            return leather_view(project, piece=id, layout=layout)
        return upholstery_view(project, piece=id, layout=layout)
    if subject.kind == "wallcovering":
        return wallcovering_view(project, what=id)
    if subject.kind == "paint":
        return paint_view(project, finish=id)
    if subject.kind == "rugs":
        return rug_view(project, rug=id, layout=layout)
    if subject.kind == "glass and stone":
        return top_view(project, piece=id, layout=layout)
    if subject.kind == "canvas":
        return canvas_view(project, piece=id, layout=layout)
    if subject.kind == "floor boxes":
        return box_view(project, room=id, layout=layout)
    return ceiling_view(project)
