"""Cloth and leather for the seats that a project has covered: lines of the take-off.

A seat is covered where the budget buys cloth for it (a line of kind "fabric").
What the budget holds stands beside what the cutting plan needs.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable, Mapping
from dataclasses import replace

from designkit.model import CostLine, Home, Layout, Project
from designkit.plan.place import Placed, place_home
from designkit.takeoff.leather import leather
from designkit.takeoff.lines import INCH, Share, System, TakeoffLine, area_text, attempted, run_text
from designkit.takeoff.upholstery import CutPanel, Upholstery, cut_list, upholstery
from designkit.units import convert

__all__ = ["COVERED", "TRIES", "chart_kind", "cover_lines", "cut_plan"]

# Kinds of pieces whose cut list can be worked out.
COVERED = (
    "sofa",
    "loveseat",
    "armchair",
    "lounge chair",
    "ottoman",
    "pouf",
    "bench",
    "chair",
    "dining chair",
)
TRIES = 4000  # orders tried for a plan in lists and on sheets
_WIDTH = 54 * INCH  # the cloth that charts are made for


def chart_kind(kind: str) -> str:
    """The kind of a piece as the charts of upholsterers name it.

    Parameters
    ----------
    kind : str
        Of the piece.

    Returns
    -------
    str
        For `usual_range`.

    Examples
    --------
    >>> chart_kind("dining chair")
    'dining seat'
    """
    kind = kind.lower()
    said = {"lounge chair": "armchair", "chair": "dining seat", "dining chair": "dining seat"}
    return said.get(kind, kind)


@functools.lru_cache(maxsize=64)
def cut_plan(
    panels: tuple[CutPanel, ...],
    cloth_width: float,
    repeats: tuple[float, float],
    railroaded: bool,
    faults: tuple[tuple[float, float], ...],
    kind: str,
    system: System,
    rules: tuple[tuple[str, float], ...],
    tries: int = TRIES,
) -> Upholstery:
    """A cutting plan, remembered: page, list and sheet say one number.

    Parameters
    ----------
    panels : tuple of CutPanel
        The cut list.
    cloth_width : float
        Usable width between the selvedges. [m]
    repeats : tuple of float
        Along and across the roll. [m]
    railroaded : bool
        Laid with its selvedges top and bottom.
    faults : tuple of (float, float)
        Stretches that no piece may touch. [m]
    kind : str
        For the usual range; "" for several pieces.
    system : {"metric", "US"}
        For the words.
    rules : tuple of (str, float)
        The project's own values, sorted.
    tries : int, optional
        Of the search.

    Returns
    -------
    Upholstery
        As `designkit.takeoff.upholstery.upholstery`.

    Raises
    ------
    InputError
        A number is outside what is allowed.
    """
    return upholstery(
        panels,
        cloth_width=cloth_width,
        repeat_along=repeats[0],
        repeat_across=repeats[1],
        railroaded=railroaded,
        faults=faults,
        kind=kind,
        tries=tries,
        system=system,
        overrides=dict(rules),
    )


def _held(lines: Iterable[CostLine], need: float, system: System) -> str:
    """What the budget holds, against what is needed."""
    held = 0.0
    for line in lines:
        if line.unit not in ("m", "yd"):
            return ""
        amount = float(line.quantity)
        held += amount if line.unit == "m" else amount / convert(1.0, to="yd")
    words = f"the budget holds {run_text(held, system)}"
    if held < need - 1e-6:
        return f"{words}: {run_text(need - held, system)} too little by this plan"
    return f"{words}, {run_text(held - need, system)} more than this plan"


def cover_lines(
    project: Project, plan: Layout, *, system: System, missing: list[str]
) -> list[TakeoffLine]:
    """Lines for the seats of a layout that the budget buys cloth for.

    Parameters
    ----------
    project : Project
        Its cost lines say which seats are covered.
    plan : Layout
        How many of each stand in it.
    system : {"metric", "US"}
        For the words.
    missing : list of str
        Gets what could not be worked out.

    Returns
    -------
    list of TakeoffLine
        One a kind of piece, in the order of the layout.
    """
    home = project.home
    bought: dict[str, list[CostLine]] = {}
    for line in project.costs:
        if line.kind == "fabric" and not line.alternative_of and line.piece in home.pieces:
            bought.setdefault(line.piece, []).append(line)
    if not bought:
        return []
    placed = place_home(home, plan)
    found = []
    for id in dict.fromkeys(thing.item for thing in placed.values()):
        piece = home.pieces[id]
        if id in bought and piece.kind.lower() in COVERED:
            make = functools.partial(_cover_line, home, placed, id, bought[id], system)
            found += attempted(f"Cover of the {piece.name}", make, missing)
    return found


def _cover_line(
    home: Home, placed: Mapping[str, Placed], id: str, bought: list[CostLine], system: System
) -> TakeoffLine:
    piece = home.pieces[id]
    count = sum(thing.item == id for thing in placed.values())
    single = cut_list(piece, overrides=home.rules)
    panels = [replace(p, count=p.count * count) for p in single]
    rooms = tuple(
        dict.fromkeys(t.room for t in placed.values() if t.item == id and t.room in home.rooms)
    ) or tuple(dict.fromkeys(c.room for c in bought if c.room in home.rooms))
    finish = home.finishes.get(piece.finish)
    name = piece.name if count == 1 else f"{piece.name}, {count} of them"
    if finish is not None and finish.kind == "leather":
        hides = leather(panels, system=system, overrides=home.rules)
        net, order, unit, detail = hides.net, hides.order, "m²", hides
        word = "hide" if hides.hides == 1 else "hides"
        text = f"{hides.hides} {word}, {area_text(hides.order, system)}"
        why, rules, cautions = hides.why, hides.rules, hides.cautions
    else:
        made = cut_plan(
            tuple(panels),
            _WIDTH,
            (0.0, 0.0),
            False,
            (),
            chart_kind(piece.kind) if count == 1 else "",
            system,
            tuple(sorted(home.rules.items())),
            TRIES,
        )
        net = sum(p.across * p.along * p.count for p in panels) / _WIDTH
        order, unit, detail = made.order, "m", made  # type: ignore[assignment]
        text = f"{run_text(made.order, system)} of cloth"
        said = _held(bought, made.order, system)
        why = (*made.why, "plain cloth, nap along the roll; a pattern takes more")
        if said:
            why = (*why, said)
        rules, cautions = made.rules, made.cautions
    return TakeoffLine(
        id=f"upholstery.{id}",
        kind="upholstery",
        what=f"Cover of the {name}",
        finish=piece.finish if finish is not None and finish.kind in ("cloth", "leather") else "",
        rooms=rooms,
        net=net,
        order=order,
        unit=unit,
        text=text,
        why=tuple(why),
        rules=rules,
        cautions=cautions,
        shares=tuple(Share(room=r, where=piece.name, net=net, unit=unit) for r in rooms[:1]),
        detail=detail,
    )
