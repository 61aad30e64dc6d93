"""Walls and ceilings to cover, worked out from the project and what is tried."""

from __future__ import annotations

from dataclasses import dataclass, replace

from designkit.analyses.pick import known_id
from designkit.errors import InputError, LookupFailed
from designkit.model import Home, Project, Room
from designkit.takeoff.assemble import paper_runs
from designkit.takeoff.ceiling import CeilingWork, ceiling_work
from designkit.takeoff.lines import System, system_of
from designkit.takeoff.murals import Mural, mural
from designkit.takeoff.paint import Paint, paint
from designkit.takeoff.rolls import Match
from designkit.takeoff.surfaces import (
    WallFace,
    as_seen,
    column_faces,
    floor_area,
    wall_faces,
    wall_name,
)
from designkit.takeoff.wallcovering import ROLLS, Roll, Run, Wallcovering, wallcovering

__all__ = [
    "CeilingView",
    "MuralView",
    "PaintView",
    "Surface",
    "WallcoveringView",
    "ceiling_view",
    "is_textured",
    "mural_view",
    "paint_view",
    "painted_surfaces",
    "wallcovering_view",
]


@dataclass(frozen=True, kw_only=True, eq=False)
class WallcoveringView:
    """Wallcovering of one kind."""

    name: str
    roll: Roll
    system: System
    home: Home
    result: Wallcovering


@dataclass(frozen=True, kw_only=True, eq=False)
class MuralView:
    """A mural over walls that follow each other."""

    name: str
    faces: tuple[WallFace, ...]
    system: System
    home: Home
    result: Mural


@dataclass(frozen=True, kw_only=True)
class Surface:
    """A painted surface: the wall or column as it stands, or the ceiling in plan."""

    room: str  # name
    name: str
    net: float  # [m²]
    face: WallFace | None = None
    outline: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, kw_only=True, eq=False)
class PaintView:
    """Paint of one finish on all its surfaces."""

    name: str
    surfaces: tuple[Surface, ...]
    primer: Paint | None
    cautions: tuple[str, ...]
    system: System
    home: Home
    result: Paint


@dataclass(frozen=True, kw_only=True, eq=False)
class CeilingView:
    """All textured ceilings of the home."""

    works: tuple[tuple[Surface, CeilingWork], ...]
    year: int | None
    sampled: str
    system: System


def is_textured(home: Home, room: Room) -> bool:
    """Whether a room's ceiling has a textured coat.

    Parameters
    ----------
    home : Home
        Its building and finishes.
    room : Room
        The room.

    Returns
    -------
    bool
        True where building.ceiling or the finish's texture says so.
    """
    texture = home.finishes[room.ceiling].texture if room.ceiling in home.finishes else ""
    return "textured" in f"{home.building.ceiling} {texture}".lower()


def _runs(home: Home, what: str, start: int, first: float) -> tuple[tuple[Run, ...], str]:
    """Runs of a paper, or all walls of a room, from the wall that is chosen."""
    if what.startswith("room "):
        id = what.removeprefix("room ")
        known_id("room", id, list(home.rooms))
        room = home.rooms[id]
        faces = as_seen(wall_faces(home, id), room=room)
        runs: tuple[Run, ...] = (Run(name=room.name, faces=faces, closed=True),)
        name = f"wallcovering, all walls of the {room.name}"
    else:
        known_id("wallcovering", what, [f for f, it in home.finishes.items() if it.kind == "paper"])
        runs = paper_runs(home, what)
        name = home.finishes[what].name
    turned = []
    for run in runs:
        walls = [face.wall for face in run.faces]
        if run.closed and start in walls:
            i = walls.index(start)
            run = replace(run, faces=(*run.faces[i:], *run.faces[:i]))
        turned.append(replace(run, first=first))
    return tuple(turned), name


def wallcovering_view(
    project: Project,
    *,
    what: str,
    width: float | None = None,
    length: float | None = None,
    repeat: float = 0.0,
    match: Match = "free",
    start: int = 0,
    first: float = 0.0,
    spare: int | None = None,
    cautious: bool = False,
    system: System | None = None,
) -> WallcoveringView:
    """Wallcovering strip by strip.

    Parameters
    ----------
    project : Project
        The project.
    what : str
        Finish id of a paper, or "room " and a room id for all its walls.
    width, length : float, optional
        Of the roll; by default as sold in the place. [m]
    repeat : float, optional
        Pattern repeat. [m]
    match : {"free", "straight", "half-drop"}, optional
        How neighbours meet.
    start : int, optional
        Wall at whose left end a run that goes all round begins.
    first : float, optional
        Width of the first strip where it is cut. [m]
    spare : int, optional
        Rolls kept.
    cautious : bool, optional
        Order as if every further roll began in mid-pattern.
    system : {"metric", "US"}, optional
        By default that of the project.

    Returns
    -------
    WallcoveringView
        Strips on the walls and on the rolls.

    Raises
    ------
    InputError
        A number is outside what is allowed.
    LookupFailed
        There is no such finish or room.
    """
    home = project.home
    words = system or system_of(home.units)
    usual = ROLLS[words]
    roll = replace(
        usual,
        width=usual.width if width is None else width,
        length=usual.length if length is None else length,
        repeat=repeat,
        match=match,
        singles=usual.singles if length is None or length >= 0.9 * usual.length else 1,
    )
    runs, name = _runs(home, what, start, first)
    made = wallcovering(
        runs, roll=roll, spare=spare, cautious=cautious, system=words, overrides=home.rules
    )
    return WallcoveringView(name=name, roll=roll, system=words, home=home, result=made)


def mural_view(
    project: Project,
    *,
    what: str,
    wall: int | None = None,
    panel_width: float | None = None,
    bleed: float | None = None,
    system: System | None = None,
) -> MuralView:
    """A mural on a papered run, or on one wall of a room.

    Parameters
    ----------
    project : Project
        The project.
    what : str
        Finish id of a paper, or "room " and a room id.
    wall : int, optional
        One wall of the room; by default all of the first run.
    panel_width, bleed : float, optional
        Of the print. [m]
    system : {"metric", "US"}, optional
        By default that of the project.

    Returns
    -------
    MuralView
        The print and its panels.

    Raises
    ------
    InputError
        A number is outside what is allowed.
    LookupFailed
        There is no such finish, room or wall.
    """
    home = project.home
    words = system or system_of(home.units)
    runs, _ = _runs(home, what, 0, 0.0)
    faces = runs[0].faces
    if wall is not None:
        faces = tuple(face for face in faces if face.wall == wall)
        if not faces:
            raise LookupFailed(
                "wall",
                given=wall,
                allowed=", ".join(str(f.wall) for f in runs[0].faces),
                mend="use one of these",
            )
    room = home.rooms[faces[0].room]
    walls = ", ".join(str(face.wall + 1) for face in faces)
    made = mural(faces, panel_width=panel_width, bleed=bleed, system=words, overrides=home.rules)
    return MuralView(
        name=f"wall {walls} of the {room.name}",
        faces=faces,
        system=words,
        home=home,
        result=made,
    )


def painted_surfaces(home: Home, finish: str) -> tuple[Surface, ...]:
    """Walls, columns and ceilings of one paint, as they stand.

    Parameters
    ----------
    home : Home
        The home.
    finish : str
        Finish id.

    Returns
    -------
    tuple of Surface
        In the order of the rooms; empty where it is on none.
    """
    found: list[Surface] = []
    for id, room in home.rooms.items():
        for face in as_seen(wall_faces(home, id), room=room):
            if face.finish == finish:
                found.append(
                    Surface(room=room.name, name=wall_name(face.wall), net=face.net, face=face)
                )
        for column in column_faces(home, id):
            if column.finish == finish and column.length > 0:
                face = WallFace(
                    room=id,
                    wall=-1,
                    length=column.length,
                    height=column.height,
                    finish=finish,
                    holes=(),
                )
                name = f"column {column.column + 1}"
                found.append(Surface(room=room.name, name=name, net=face.net, face=face))
        if room.ceiling == finish:
            found.append(
                Surface(room=room.name, name="ceiling", net=floor_area(room), outline=room.outline)
            )
    return tuple(found)


def paint_view(
    project: Project,
    *,
    finish: str,
    coats: int | None = None,
    spreading_rate: float | None = None,
    waste: float | None = None,
    primer: bool = False,
    system: System | None = None,
) -> PaintView:
    """Paint of one finish on all its walls, columns and ceilings.

    Parameters
    ----------
    project : Project
        The project.
    finish : str
        Finish id.
    coats : int, optional
        Of the paint.
    spreading_rate : float, optional
        From its data sheet. [m²/L]
    waste : float, optional
        Share in tray and roller. [1]
    primer : bool, optional
        With one coat of primer under it.
    system : {"metric", "US"}, optional
        By default that of the project.

    Returns
    -------
    PaintView
        Whole cans after the coats.

    Raises
    ------
    InputError
        A number is outside what is allowed.
    LookupFailed
        The paint is on no surface.
    """
    home = project.home
    surfaces = painted_surfaces(home, finish)
    if not surfaces:
        used = [
            f for f, it in home.finishes.items() if it.kind == "paint" and painted_surfaces(home, f)
        ]
        known_id("paint", finish, [f for f in used if f != finish])
    words = system or system_of(home.units)
    area = sum(s.net for s in surfaces)
    under = (
        paint(area, primer=True, waste=waste, system=words, overrides=home.rules)
        if primer
        else None
    )
    made = paint(
        area,
        coats=coats,
        spreading_rate=spreading_rate,
        waste=waste,
        system=words,
        overrides=home.rules,
    )
    it = home.finishes[finish]
    return PaintView(
        name=it.name,
        surfaces=surfaces,
        primer=under,
        cautions=(
            "Sanding or scraping old paint in a home that is old or of unknown year waits for a "
            "sample and its written result.",
            "All cans of one batch; keep the number with the code of the colour.",
        ),
        system=words,
        home=home,
        result=made,
    )


def ceiling_view(
    project: Project, *, workers: int = 2, system: System | None = None
) -> CeilingView:
    """All textured ceilings, behind their gate.

    Parameters
    ----------
    project : Project
        Its building says the year and whether a sample was taken.
    workers : int, optional
        In the crew.
    system : {"metric", "US"}, optional
        By default that of the project.

    Returns
    -------
    CeilingView
        Days only where the gate is open.

    Raises
    ------
    InputError
        There is no textured ceiling, or no crew.
    """
    home = project.home
    words = system or system_of(home.units)
    works = []
    for room in home.rooms.values():
        if not is_textured(home, room):
            continue
        area = floor_area(room)
        surface = Surface(room=room.name, name="ceiling", net=area, outline=room.outline)
        works.append(
            (
                surface,
                ceiling_work(
                    area,
                    building=home.building,
                    workers=workers,
                    system=words,
                    overrides=home.rules,
                ),
            )
        )
    if not works:
        raise InputError(
            "textured ceilings",
            given="none",
            allowed="one or more",
            mend="write textured into building.ceiling, or into the texture of the finish",
        )
    return CeilingView(
        works=tuple(works),
        year=home.building.year,
        sampled=home.building.sampled,
        system=words,
    )
