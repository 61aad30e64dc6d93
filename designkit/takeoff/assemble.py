"""The take-off of a whole layout: every line to order, in one result."""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import Drape, Finish, Home, Project
from designkit.reference import value
from designkit.takeoff.built import built_lines
from designkit.takeoff.ceiling import ceiling_work
from designkit.takeoff.covers import cover_lines
from designkit.takeoff.drapery import Drapery, Way, drapery, finished_drop
from designkit.takeoff.floor import Laying, floor
from designkit.takeoff.lines import (
    Share,
    System,
    TakeoffLine,
    TakeoffResult,
    area_text,
    attempted,
    length_text,
    run_text,
    system_of,
)
from designkit.takeoff.paint import paint
from designkit.takeoff.surfaces import (
    WallFace,
    as_seen,
    column_faces,
    floor_area,
    room_with,
    wall_faces,
    wall_name,
)
from designkit.takeoff.tables import layout_of
from designkit.takeoff.wallcovering import ROLLS, Roll, Run, wallcovering

__all__ = [
    "ClothGoods",
    "FloorGoods",
    "Goods",
    "PaintGoods",
    "opening_name",
    "paper_runs",
    "takeoff",
]


@dataclass(frozen=True, kw_only=True)
class PaintGoods:
    """What the data sheet of a paint says."""

    spreading_rate: float | None = None  # [m²/L]
    coats: int | None = None
    waste: float | None = None  # [1]
    primer: bool = False
    sizes: tuple[tuple[float, str], ...] | None = None  # cans: [L], name
    prices: tuple[float, ...] | None = None


@dataclass(frozen=True, kw_only=True)
class FloorGoods:
    """How a floor is laid and sold."""

    laying: Laying = "straight"
    waste: float | None = None  # [1]
    pack: float | None = None  # [m²]
    spare_packs: int = 0


@dataclass(frozen=True, kw_only=True)
class ClothGoods:
    """What the label of a drapery cloth says."""

    width: float | None = None  # None: as the drape says [m]
    repeat: float | None = None  # [m]
    shrinkage: float | None = None
    mass_per_area: float | None = None  # [kg/m²]
    way: Way | None = None


Goods = PaintGoods | FloorGoods | ClothGoods | Roll
_T = TypeVar("_T")


def opening_name(home: Home, id: str) -> str:
    """What a person calls an opening.

    Parameters
    ----------
    home : Home
        The home.
    id : str
        Of the opening, or a stretch of wall behind a column.

    Returns
    -------
    str
        Its name, else its id in words.
    """
    opening = home.openings.get(id)
    return (opening.name if opening else "") or id.replace("_", " ")


def _goods(
    goods: Mapping[str, Goods],
    finish: str,
    kind: type[_T],
    assumed: list[str],
    otherwise: str,
    home: Home,
) -> _T | None:
    """What is known of a finish's goods, or None and a word about it."""
    if finish not in goods:
        if otherwise:
            assumed.append(f"{home.finishes[finish].name}: {otherwise}")
        return None
    given = goods[finish]
    if not isinstance(given, kind):
        raise InputError(
            f"goods of {finish}",
            given=type(given).__name__,
            allowed=kind.__name__,
            mend="give the goods that this finish is used as",
        )
    return given


def _finish(home: Home, id: str, where: str) -> Finish | None:
    if not id:
        return None
    if id not in home.finishes:
        raise LookupFailed(
            f"finish of {where}",
            given=id,
            allowed=", ".join(home.finishes),
            mend=f"did you mean {nearest(id, home.finishes) or 'one of these'}?",
        )
    return home.finishes[id]


def _surfaces(home: Home, least: float, system: System) -> list[tuple[str, Share, bool]]:
    """Finish, share and whether it is a ceiling, of every wall, column, ceiling and floor."""
    found: list[tuple[str, Share, bool]] = []
    for name, room in home.rooms.items():
        for face in wall_faces(home, name):
            kept = [h for h in face.holes if h.kind == "column" or h.area >= least]
            net = replace(face, holes=tuple(kept)).net
            why = f"{length_text(face.length, system)} × {length_text(face.height, system)}"
            if kept:
                cut = ", ".join(opening_name(home, h.id) for h in kept)
                why += f" − {area_text(face.gross - net, system)} ({cut})"
            found.append(
                (
                    face.finish,
                    Share(room=name, where=wall_name(face.wall), net=net, unit="m²", why=why),
                    False,
                )
            )
        for column in column_faces(home, name):
            found.append(
                (
                    column.finish,
                    Share(
                        room=name,
                        where=f"column {column.column + 1}",
                        net=column.length * column.height,
                        unit="m²",
                        why=f"{length_text(column.length, system)} of free face × "
                        f"{length_text(column.height, system)}",
                    ),
                    False,
                )
            )
        area = floor_area(room)
        for where, finish in (("ceiling", room.ceiling), ("floor", room.floor)):
            found.append(
                (
                    finish,
                    Share(room=name, where=where, net=area, unit="m²", why="net of columns"),
                    where == "ceiling",
                )
            )
    return found


def _by_finish(
    home: Home, surfaces: Sequence[tuple[str, Share, bool]], wanted: frozenset[str]
) -> dict[str, list[Share]]:
    """Shares of the finishes that are asked for, in the project's order."""
    sorted_out: dict[str, list[Share]] = {}
    for finish, share, _ in surfaces:
        if finish in wanted:
            sorted_out.setdefault(finish, []).append(share)
    return {f: sorted_out[f] for f in home.finishes if f in sorted_out}


def _rooms(shares: Sequence[Share]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(s.room for s in shares))


def _shares_why(home: Home, shares: Sequence[Share], system: System) -> tuple[str, ...]:
    return tuple(
        f"{home.rooms[s.room].name}, {s.where}: "
        f"{s.why + ' = ' if s.why else ''}{area_text(s.net, system)}"
        for s in shares
    )


def paper_runs(home: Home, finish: str) -> tuple[Run, ...]:
    """Walls of one finish that follow each other, and columns, as runs to hang.

    Parameters
    ----------
    home : Home
        The home.
    finish : str
        Finish id.

    Returns
    -------
    tuple of Run
        In the order of the rooms, each from left to right as it is seen from
        inside; a run that goes all round is closed.
    """
    runs: list[Run] = []
    for name, room in home.rooms.items():
        faces = as_seen(wall_faces(home, name), room=room)
        mine = [face.finish == finish for face in faces]
        if all(mine):
            runs.append(Run(name=room.name, faces=faces, closed=True))
        elif any(mine):
            # Begin behind a wall that is not papered, so that a run over the
            # first corner stays in one piece.
            start = mine.index(False)
            turned = [*range(start, len(faces)), *range(start)]
            group: list[WallFace] = []
            for index in [*turned, start]:
                if mine[index]:
                    group.append(faces[index])
                elif group:
                    walls = ", ".join(str(f.wall + 1) for f in group)
                    runs.append(Run(name=f"{room.name}, wall {walls}", faces=tuple(group)))
                    group = []
        for column in column_faces(home, name):
            if column.finish == finish and column.length > 0:
                face = WallFace(
                    room=name,
                    wall=-1,
                    length=column.length,
                    height=column.height,
                    finish=finish,
                    holes=(),
                )
                runs.append(
                    Run(
                        name=f"{room.name}, column {column.column + 1}",
                        faces=(face,),
                        closed=column.closed,
                    )
                )
    return tuple(runs)


def _drape_lines(
    home: Home,
    name: str,
    drape: Drape,
    goods: Mapping[str, Goods],
    system: System,
    assumed: list[str],
) -> TakeoffLine:
    if drape.opening not in home.openings:
        raise LookupFailed(
            f"opening of drapery {name}",
            given=drape.opening,
            allowed=", ".join(home.openings),
            mend=f"did you mean {nearest(drape.opening, home.openings) or 'one of these'}?",
        )
    room = home.openings[drape.opening].room
    finish = _finish(home, drape.finish, f"drapery {name}")
    cloth = _goods(goods, drape.finish, ClothGoods, assumed, "", home) or ClothGoods()
    height = drape.top if drape.top is not None else room_with(home, room).height
    drop = finished_drop(height, hem=drape.hem, overrides=home.rules)
    made: Drapery = drapery(
        drape.track,
        drop=drop,
        cloth_width=drape.cloth_width if cloth.width is None else cloth.width,
        heading=drape.heading,
        fullness=drape.fullness,
        draw=drape.draw,
        repeat=drape.repeat if cloth.repeat is None else cloth.repeat,
        shrinkage=cloth.shrinkage,
        mass_per_area=cloth.mass_per_area,
        way=cloth.way,
        lined=drape.lined,
        system=system,
        overrides=home.rules,
    )
    text = f"{run_text(made.face.order, system)} of cloth"
    if made.lining:
        text += f" + {run_text(made.lining.order, system)} of lining"
    return TakeoffLine(
        id=f"drapery.{name}",
        kind="drapery",
        what=f"Drapery at the {opening_name(home, drape.opening)}, "
        f"{finish.name if finish else drape.finish}, {drape.heading} heading",
        finish=drape.finish,
        rooms=(room,),
        net=made.face.net,
        order=made.face.order,
        unit="m",
        text=text,
        why=made.why,
        rules=(*made.rules, f"takeoff.drapery.hem.{drape.hem}"),
        cautions=made.cautions,
        shares=(Share(room=room, where=drape.opening, net=made.face.net, unit="m"),),
        detail=made,
    )


def takeoff(
    project: Project,
    layout: str = "",
    *,
    goods: Mapping[str, Goods] | None = None,
) -> TakeoffResult:
    """Every line to order for a layout: paint, wallcovering, floor, drapery, covers, ceilings.

    Parameters
    ----------
    project : Project
        The project; its `units` choose metric or US goods, its `rules` replace
        the values of the reference tables.
    layout : str
        Layout id; "": the current one.
    goods : mapping of str to PaintGoods, FloorGoods, ClothGoods or Roll, optional
        By finish id: what labels and data sheets say. What is not given is
        taken from the reference tables and listed under `assumed`.

    Returns
    -------
    TakeoffResult
        One line a paint, paper, floor finish, drapery and kind of seat that the
        budget buys cloth for. A finish used in several rooms is ordered once.

    Raises
    ------
    InputError
        A number of the project or the goods is outside what is allowed.
    LookupFailed
        An unknown layout, finish or opening.
    """
    name, plan = layout_of(project, layout)
    home = project.home
    rules = home.rules
    system = system_of(home.units)
    known = dict(goods or {})
    for id in known:
        if id not in home.finishes:
            raise LookupFailed(
                "goods",
                given=id,
                allowed=", ".join(home.finishes),
                mend=f"did you mean {nearest(id, home.finishes) or 'one of these'}?",
            )
    lines: list[TakeoffLine] = []
    assumed: list[str] = []
    missing: list[str] = []
    least = value("takeoff.paint.least_opening", rules)
    surfaces = _surfaces(home, least, system)
    for finish, share, _ in surfaces:
        _finish(home, finish, f"{share.room}, {share.where}")

    painted = frozenset(f for f, it in home.finishes.items() if it.kind == "paint")
    for finish, shares in _by_finish(home, surfaces, painted).items():
        it = home.finishes[finish]
        tin = _goods(
            known, finish, PaintGoods, assumed, "spreading rate and coats by the usual rule", home
        )
        tin = tin or PaintGoods()
        area = sum(s.net for s in shares)
        if area <= 0:
            continue
        for primed in (True, False) if tin.primer else (False,):
            made = paint(
                area,
                coats=None if primed else tin.coats,
                spreading_rate=None if primed else tin.spreading_rate,
                waste=tin.waste,
                sizes=None if primed else tin.sizes,
                prices=None if primed else tin.prices,
                primer=primed,
                system=system,
                overrides=rules,
            )
            lines.append(
                TakeoffLine(
                    id=f"{'primer' if primed else 'paint'}.{finish}",
                    kind="paint",
                    what=f"{'Primer under ' if primed else ''}{it.name}, "
                    f"{it.sheen or 'sheen not said'}",
                    finish=finish,
                    rooms=_rooms(shares),
                    net=made.net,
                    order=made.cans.volume,
                    unit="L",
                    text=made.cans.text,
                    why=(*_shares_why(home, shares, system), *made.why),
                    rules=made.rules,
                    cautions=(
                        "Sanding or scraping old paint in a home that is old or of unknown year "
                        "waits for a sample and its written result.",
                        "Frames, doors, skirting and reveals are not counted.",
                    ),
                    shares=tuple(shares),
                    detail=made,
                )
            )

    for finish, it in home.finishes.items():
        if it.kind != "paper":
            continue
        runs = paper_runs(home, finish)
        if not runs:
            continue
        usual = ROLLS[system]
        roll = _goods(known, finish, Roll, assumed, f"{usual.name}, free match", home) or usual
        hung = wallcovering(runs, roll=roll, system=system, overrides=rules)
        word = "single rolls" if roll.singles > 1 else "rolls"
        lines.append(
            TakeoffLine(
                id=f"wallcovering.{finish}",
                kind="wallcovering",
                what=it.name,
                finish=finish,
                rooms=tuple(dict.fromkeys(f.room for run in runs for f in run.faces)),
                net=hung.area,
                order=hung.rolls * roll.width * roll.length,
                unit="m²",
                text=f"{hung.order} {word}",
                why=hung.why,
                rules=hung.rules,
                cautions=hung.cautions,
                shares=tuple(
                    Share(
                        room=run.faces[0].room,
                        where=run.name,
                        net=sum(f.net for f in run.faces),
                        unit="m²",
                    )
                    for run in runs
                ),
                detail=hung,
            )
        )

    laid = frozenset(
        room.floor
        for room in home.rooms.values()
        if room.floor and home.finishes[room.floor].kind != "paint"
    )
    floors = [s for s in surfaces if s[1].where == "floor"]
    for finish, shares in _by_finish(home, floors, laid).items():
        it = home.finishes[finish]
        sheet = FloorGoods(laying="sheet" if it.kind in ("cloth", "carpet") else "straight")
        pack = _goods(
            known, finish, FloorGoods, assumed, f"{sheet.laying} laying, sold by area", home
        )
        pack = pack or sheet
        flat = floor(
            sum(s.net for s in shares),
            laying=pack.laying,
            waste=pack.waste,
            pack=pack.pack,
            spare_packs=pack.spare_packs,
            system=system,
            overrides=rules,
        )
        text = area_text(flat.order, system)
        if flat.packs is not None:
            text = f"{flat.packs} packs = {text}"
        lines.append(
            TakeoffLine(
                id=f"floor.{finish}",
                kind="floor",
                what=it.name,
                finish=finish,
                rooms=_rooms(shares),
                net=flat.net,
                order=flat.order,
                unit="m²",
                text=text,
                why=(*_shares_why(home, shares, system), *flat.why),
                rules=flat.rules,
                cautions=(
                    "Where the floor stays, this is the area to clean, oil or cover.",
                    "Sanding or lifting an old floor waits for a sample and its written result.",
                ),
                shares=tuple(shares),
                detail=flat,
            )
        )

    for name_, drape in plan.drapes.items():
        made_up = functools.partial(_drape_lines, home, name_, drape, known, system, assumed)
        words = f"Drapery at the {opening_name(home, drape.opening)}"
        lines += attempted(words, made_up, missing)
    lines += cover_lines(project, plan, system=system, missing=missing)
    lines += built_lines(home, plan, system=system, missing=missing)

    for finish, share, overhead in surfaces:
        texture = home.finishes[finish].texture if finish else ""
        if not overhead or "textured" not in f"{home.building.ceiling} {texture}".lower():
            continue
        work = ceiling_work(share.net, building=home.building, system=system, overrides=rules)
        if work.days is None:
            text = "not before a sample and its written result"
        else:
            text = f"{work.days[0]:.1f} to {work.days[1]:.1f} days of {work.workers} workers"
        lines.append(
            TakeoffLine(
                id=f"work.ceiling.{share.room}",
                kind="work",
                what=f"Textured ceiling, {home.rooms[share.room].name}",
                finish=finish,
                rooms=(share.room,),
                net=share.net,
                order=share.net,
                unit="m²",
                text=text,
                why=work.why,
                rules=work.rules,
                cautions=work.cautions,
                shares=(share,),
                detail=work,
            )
        )
    return TakeoffResult(
        layout=name,
        system=system,
        lines=tuple(lines),
        assumed=tuple(dict.fromkeys(assumed)),
        missing=tuple(missing),
    )
