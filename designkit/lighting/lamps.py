"""Lamps of a layout where they are: place, lumens after the shade, points of light."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.ops import nearest_points

from designkit.errors import InputError, LookupFailed, nearest
from designkit.lighting.distribution import Photometry, total_lumens
from designkit.lighting.point import Pattern, Source, beam_exponent
from designkit.lighting.shell import Shell, room_at
from designkit.model import Fixture, Home, Lamp, Layout
from designkit.plan.place import Placed
from designkit.plan.place import place_lamps as place_bodies
from designkit.reference import value
from designkit.units import short_length

__all__ = ["LitLamp", "emitted_lumens", "lit_lamps", "shade_factor"]

PLUGGED = ("floor lamp", "table lamp")
HANGING = ("pendant", "chandelier")
DOWN_ONLY = ("recessed light", "track spot")
OPEN_SHADES = ("white fabric", "lined metal")


@dataclass(frozen=True, kw_only=True, eq=False)
class LitLamp:
    """A lamp of a layout with its light at full power."""

    id: str
    lamp: Lamp
    fixture: Fixture
    room: str
    body: Placed  # where it hangs or stands
    centre: float  # height of its light [m]
    lumens: float | None  # after the shade; None where the lumens are not known [lm]
    shade: float | None  # factor; None with a photometric file
    watts: float  # [W]
    circuit: str
    dim: float  # share of full light in the dimmed state, 0 … 1
    sources: tuple[Source, ...]
    notes: tuple[str, ...] = ()

    @property
    def at(self) -> tuple[float, float]:
        """Its place on the plan. [m]"""
        return self.body.at

    @property
    def base(self) -> float:
        """Underside of the luminaire above the floor. [m]"""
        return self.body.base

    @property
    def plugged(self) -> bool:
        """Whether it needs no outlet in ceiling or wall, only a socket."""
        return self.fixture.kind in PLUGGED

    @property
    def hangs(self) -> bool:
        """Whether it hangs from the ceiling into the room."""
        return self.fixture.kind in HANGING


def shade_factor(shade: str, *, overrides: Mapping[str, float] | None = None) -> float:
    """Share of the lamp's lumens that leaves a shade.

    Parameters
    ----------
    shade : str
        Kind of shade, as in `Fixture.shade`.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    float
        Factor. [1]

    Raises
    ------
    LookupFailed
        There is no such shade.

    Examples
    --------
    >>> shade_factor("milky")
    0.5
    """
    kinds = ("bare", "clear", "prismatic", "milky", "white fabric", "lined metal")
    if shade not in kinds:
        raise LookupFailed("shade", given=shade, allowed=", ".join(kinds))
    return value(f"light.shade.{shade.replace(' ', '_')}", overrides)


def emitted_lumens(
    fixture: Fixture,
    *,
    photometry: Photometry | None = None,
    overrides: Mapping[str, float] | None = None,
) -> float | None:
    """Lumens that leave a luminaire at full power.

    With a photometric file these are the file's own; where the project gives
    lamps and lumens for a file that rests on lamp lumens, it is scaled to them.
    Without a file: lamps × lumens × shade factor.

    Parameters
    ----------
    fixture : Fixture
        The luminaire.
    photometry : Photometry, optional
        Its file.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    float or None
        Flux; None where neither a file nor lumens are given. [lm]

    Raises
    ------
    InputError
        The number of lamps or the lumens cannot be.
    """
    if fixture.lamps < 1:
        raise InputError(f"lamps of {fixture.name}", given=fixture.lamps, allowed="1 or more")
    if fixture.lumens is not None and not (math.isfinite(fixture.lumens) and fixture.lumens >= 0):
        raise InputError(f"lumens of {fixture.name}", given=fixture.lumens, allowed="0 lm or more")
    if photometry is not None:
        flux = total_lumens(photometry)
        if photometry.lamp_lumens is not None and fixture.lumens is not None:
            flux *= fixture.lamps * fixture.lumens / photometry.lamp_lumens
        return flux
    if fixture.lumens is None:
        return None
    return fixture.lamps * fixture.lumens * shade_factor(fixture.shade, overrides=overrides)


def lit_lamps(
    home: Home,
    layout: Layout,
    *,
    shells: Mapping[str, Shell],
    placed: Mapping[str, Placed],
    dim: float | Mapping[str, float] = 1.0,
    photometry: Mapping[str, Photometry] | None = None,
) -> dict[str, LitLamp]:
    """The lamps of a layout where they are.

    Parameters
    ----------
    home : Home
        The home.
    layout : Layout
        Its lamps.
    shells : mapping of str to Shell
        The rooms.
    placed : mapping of str to Placed
        The pieces of the layout.
    dim : float or mapping of str to float, optional
        Share of full light, for all or by circuit; times each lamp's own. [1]
    photometry : mapping of str to Photometry, optional
        Files by the name that the fixtures give.

    Returns
    -------
    dict of str to LitLamp
        In the order of the layout.

    Raises
    ------
    InputError
        A lamp has no place, a place outside the rooms, or a value that cannot be.
    LookupFailed
        A fixture, service, piece, circuit or file is named that does not exist.
    """
    if isinstance(dim, Mapping):
        for id in dim:
            _known("circuit to dim", id, {**home.circuits, "": None})
    bodies = place_bodies(home, layout, placed)
    found = {}
    for id, lamp in layout.lamps.items():
        what = f"lamps.{id}"
        fixture = _known(f"{what}.fixture", lamp.fixture, home.fixtures)
        assert isinstance(fixture, Fixture)
        if min(fixture.size) <= 0 or not all(map(math.isfinite, fixture.size)):
            raise InputError(
                f"fixtures.{lamp.fixture}.size", given=fixture.size, allowed="more than 0 m"
            )
        file = None
        if fixture.photometry:
            file = (photometry or {}).get(fixture.photometry)
            if file is None:
                raise LookupFailed(
                    f"fixtures.{lamp.fixture}.photometry",
                    given=fixture.photometry,
                    allowed=", ".join(photometry or ()) or "no file was read",
                    mend="read it with read_photometry and give it as photometry",
                )
        body = bodies[id]
        at = body.at
        room = (
            home.services[lamp.service].room
            if lamp.service and lamp.at is None
            else room_at(shells, at=at, what=f"{what}.at")
        )
        _known(f"room of {what}", room, shells)
        shell = shells[room]
        if not 0 <= body.base <= shell.room.height:
            raise InputError(
                f"{what}.base",
                given=f"{body.base:g} m",
                allowed=f"0 m to the ceiling at {shell.room.height:g} m",
            )
        said = _assumed(lamp, fixture, body.base, home.units)
        notes = [said] if said else []
        centre = _centre(body.base, fixture, shell, home)
        lumens = emitted_lumens(fixture, photometry=file, overrides=home.rules)
        circuit = lamp.circuit or (
            home.services[lamp.service].circuit if lamp.service in home.services else ""
        )
        if circuit:
            _known(f"{what}.circuit", circuit, home.circuits)
        share, said = _dim(what, lamp, fixture, home, circuit, dim)
        if said:
            notes.append(said)
        found[id] = LitLamp(
            id=id,
            lamp=lamp,
            fixture=fixture,
            room=room,
            body=body,
            centre=centre,
            lumens=lumens,
            shade=None if file else shade_factor(fixture.shade, overrides=home.rules),
            watts=fixture.lamps * fixture.watts or (file.watts if file else 0.0),
            circuit=circuit,
            dim=share,
            sources=_sources(id, lamp, fixture, shell, at, centre, lumens, file, placed, home),
            notes=tuple(notes),
        )
    return found


def _known(what: str, id: str, things: Mapping[str, object]) -> object:
    if id not in things:
        raise LookupFailed(
            what,
            given=id,
            allowed=", ".join(things) or "none is there",
            mend=f"nearest: {nearest(id, things) or 'none'}",
        )
    return things[id]


def _assumed(lamp: Lamp, fixture: Fixture, base: float, units: str) -> str:
    """What was taken for a height that is not given, in words."""
    if lamp.base is not None or lamp.on or fixture.kind in DOWN_ONLY or fixture.kind in PLUGGED:
        return ""
    return f"height not given: underside at {short_length(base, units=units)} taken"


def _centre(base: float, fixture: Fixture, shell: Shell, home: Home) -> float:
    tall, ceiling = fixture.size[2], shell.room.height
    if fixture.kind == "recessed light":
        height = base
    elif fixture.kind in PLUGGED:
        under = value("light.lamp.centre_below_top", home.rules)
        height = base + max(tall - under, tall / 2)
    else:
        height = base + tall / 2
    return min(height, ceiling)


def _dim(
    what: str,
    lamp: Lamp,
    fixture: Fixture,
    home: Home,
    circuit: str,
    dim: float | Mapping[str, float],
) -> tuple[float, str]:
    by = dim.get(circuit, 1.0) if isinstance(dim, Mapping) else dim
    for name, number in ((f"{what}.dim", lamp.dim), ("dim", by)):
        if not (math.isfinite(number) and 0 <= number <= 1):
            raise InputError(name, given=number, allowed="0 (off) to 1 (full)")
    share = float(lamp.dim * by)
    if share in (0.0, 1.0):
        return share, ""
    if not fixture.dimmable:
        return 1.0, f"asked for at {share:.0%}, but this luminaire cannot be dimmed"
    if circuit and not home.circuits[circuit].dimmer:
        return 1.0, f"asked for at {share:.0%}, but its circuit has no dimmer"
    return share, ""


def _inside(shell: Shell, at: tuple[float, float]) -> tuple[float, float]:
    """The point itself, or the nearest one 2 cm off the walls.

    A wall light stands on the wall line, where its light would count as
    standing in the wall.
    """
    inner = shell.outline.buffer(-0.02)
    point = shapely.Point(at)
    if inner.is_empty or inner.contains(point):
        return at
    near = nearest_points(inner, point)[0]
    return float(near.x), float(near.y)


def _sources(
    id: str,
    lamp: Lamp,
    fixture: Fixture,
    shell: Shell,
    at: tuple[float, float],
    centre: float,
    lumens: float | None,
    file: Photometry | None,
    placed: Mapping[str, Placed],
    home: Home,
) -> tuple[Source, ...]:
    if not lumens:
        return ()
    pattern: Pattern
    turn = placed[lamp.over].rotation if lamp.over else 0.0
    aim, exponent = (0.0, 0.0, -1.0), 1.0
    if file is not None:
        pattern = "file"
    elif fixture.beam is not None or fixture.kind in DOWN_ONLY:
        pattern = "beam"
        beam = fixture.beam
        exponent = beam_exponent(value("light.lamp.beam", home.rules) if beam is None else beam)
        aim = _aim(lamp, fixture, at, centre, placed)
    else:
        pattern = "lobes" if fixture.shade in OPEN_SHADES else "even"
    wide, deep = fixture.size[0], fixture.size[1]
    long, short = max(wide, deep), min(wide, deep)
    split = value("light.lamp.split", home.rules)
    count = math.ceil(long / split) if long >= 2 * short and long > split else 1
    angle = math.radians(turn + (0 if wide >= deep else 90))
    steps = ((np.arange(count) + 0.5) / count - 0.5) * (long if count > 1 else 0.0)
    return tuple(
        Source(
            at=(
                *_inside(shell, (at[0] + s * math.cos(angle), at[1] + s * math.sin(angle))),
                centre,
            ),
            lumens=lumens / count,
            pattern=pattern,
            up_share=fixture.up_share,
            exponent=exponent,
            aim=aim,
            photometry=file,
            rotation=turn,
            radius=(long if count == 1 else max(short, long / count)) / 2,
            lamp=id,
        )
        for s in steps.tolist()
    )


def _aim(
    lamp: Lamp,
    fixture: Fixture,
    at: tuple[float, float],
    centre: float,
    placed: Mapping[str, Placed],
) -> tuple[float, float, float]:
    """Where a beam points: at what it lights, up for an uplight, else straight down."""
    if lamp.over and fixture.kind == "track spot":
        thing = placed[lamp.over]
        middle = (thing.base + thing.top) / 2
        aim = (thing.at[0] - at[0], thing.at[1] - at[1], middle - centre)
        if any(aim):
            return aim
    if fixture.kind not in DOWN_ONLY and fixture.up_share == 1:
        return (0.0, 0.0, 1.0)
    return (0.0, 0.0, -1.0)
