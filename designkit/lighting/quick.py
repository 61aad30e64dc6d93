"""Light the quick way: rows, lamps, circuits and cautions of one layout.

The mean light of a room is the lumen method's; the light on a table or a page
is inverse square and cosine plus what the room sends back, taken as even all
over it. Against inter-reflection in home rooms this is up to a fifth low: the
± stands beside each number, and a margin inside it reads "measure first".
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from designkit.errors import InputError, LookupFailed, nearest
from designkit.lighting.circuits import (
    CAUTIONS,
    CircuitRow,
    box_findings,
    circuit_findings,
    circuit_rows,
)
from designkit.lighting.daylight import CAVEAT, daylight_findings
from designkit.lighting.distribution import Photometry
from designkit.lighting.fixtures_rules import fixture_findings
from designkit.lighting.lamps import LitLamp
from designkit.lighting.layers import (
    LayerRow,
    accent_findings,
    layer_rows,
    lumens_short,
    verdict_of,
)
from designkit.lighting.lumen_method import Reflectances
from designkit.lighting.places import Place, Wanted, places
from designkit.lighting.room_light import LitHome, at_points, light_up, room_mean
from designkit.model import Finding, Home, Layout, Severity, Verdict
from designkit.reference import value
from designkit.units import short_length

__all__ = ["METHOD", "Grid", "LampRow", "LightResult", "LightRow", "grid", "light"]

Array = npt.NDArray[np.float64]

METHOD = (
    "Room means: lumen method with zonal cavities. Tables and pages: inverse square and cosine "
    "from each lamp, plus the light that the room sends back, taken as even all over it.",
    "Lamps without a photometric file are models: a globe that shines evenly above and below, "
    "a shade with two cosine lobes, or a cosine beam of the stated angle; each gives out its "
    "lamps' lumens times the shade factor.",
    "Walls and columns cast shadows, furniture and people do not. Light that comes back from a "
    "neighbouring room through a passage is left out.",
)


@dataclass(frozen=True, kw_only=True, eq=False)
class LightRow:
    """Light found at one place beside what it wants."""

    id: str
    name: str
    room: str
    kind: str
    plane: float  # [m]
    full: float  # all lamps at full power [lx]
    dimmed: float  # as set in the layout and the call [lx]
    direct: float | None  # part of `full` without reflection; None for a room's mean
    wanted: Wanted
    verdict: Verdict | None  # None: no target
    short: float  # lumens after the shade that are missing [lm]
    within: float  # ± of `full` [lx]
    why: str
    at: tuple[float, float]
    finding: Finding | None


@dataclass(frozen=True, kw_only=True, eq=False)
class LampRow:
    """One lamp of the layout, for the lamp table."""

    id: str
    name: str
    kind: str
    room: str
    layer: str
    lamps: int
    lumens: float | None  # after the shade [lm]
    shade: float | None  # factor; None with a photometric file
    watts: float  # [W]
    kelvin: float | None  # [K]
    cri: float | None
    base: float  # underside [m]
    dim: float
    circuit: str
    at: tuple[float, float]
    notes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class LightResult:
    """Everything that the quick way says about a layout."""

    rows: tuple[LightRow, ...]
    findings: tuple[Finding, ...]
    lamps: tuple[LampRow, ...]
    circuits: tuple[CircuitRow, ...]
    layers: tuple[LayerRow, ...]
    reflectances: Mapping[str, tuple[Reflectances, str]]  # by room, and from where
    method: tuple[str, ...]
    cautions: tuple[str, ...]

    def row(self, id: str) -> LightRow:
        """The row of a place.

        Parameters
        ----------
        id : str
            Room id, placement id, or "sofa page 1".

        Returns
        -------
        LightRow
            Its row.

        Raises
        ------
        LookupFailed
            There is no such place.
        """
        for row in self.rows:
            if row.id == id:
                return row
        ids = [row.id for row in self.rows]
        raise LookupFailed(
            "place", given=id, allowed=", ".join(ids), mend=f"nearest: {nearest(id, ids) or 'none'}"
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Grid:
    """Illuminance on a horizontal plane of one room, for isolux lines.

    `lux` is `direct` plus `indirect`. Points outside the room hold the value of
    the nearest point inside, so that lines do not bunch along the walls;
    `inside` tells them apart.
    """

    room: str
    plane: float  # [m]
    x: Array  # (nx,) [m]
    y: Array  # (ny,) [m]
    lux: Array  # (ny, nx)
    direct: Array  # (ny, nx), from the points of light
    indirect: float  # the same all over: lumen method less its direct part
    inside: npt.NDArray[np.bool_]  # (ny, nx)
    label: str


def light(
    home: Home,
    layout: Layout,
    *,
    dim: float | Mapping[str, float] = 1.0,
    age: float | None = None,
    reflectances: Reflectances | Mapping[str, Reflectances] | None = None,
    photometry: Mapping[str, Photometry] | None = None,
    sky_angle: float | None = None,
) -> LightResult:
    """Light of a layout the quick way.

    Parameters
    ----------
    home : Home
        The home with its fixtures, circuits, targets and brief.
    layout : Layout
        One arrangement with its lamps.
    dim : float or mapping of str to float, optional
        Share of full light in the dimmed state, for all or by circuit; times each
        lamp's own. [1]
    age : float, optional
        Age of the reader; the eldest of the brief where not given. [a]
    reflectances : Reflectances or mapping of str to Reflectances, optional
        For all rooms or by room; from the finishes where not given. [1]
    photometry : mapping of str to Photometry, optional
        Files by the name that the fixtures give.
    sky_angle : float, optional
        Vertical angle of sky seen from the windows. [°]

    Returns
    -------
    LightResult
        Rows of rooms and places, findings, lamps, circuits, layers, cautions.

    Raises
    ------
    InputError
        A value cannot be, or a lamp has no place.
    LookupFailed
        A thing is named that does not exist.
    """
    lit = light_up(home, layout, dim=dim, reflectances=reflectances, photometry=photometry)
    wants = places(lit, age=age)
    rows = tuple(_row(lit, place) for place in wants)
    circuits = circuit_rows(home, lamps=lit.lamps)
    planes = {p.room: p.plane for p in wants if p.points is None}
    findings = (
        *(row.finding for row in rows if row.finding is not None),
        *_unknown(lit),
        *_dimming(lit, wants),
        *_one_outlet(lit, wants),
        *accent_findings(lit),
        *fixture_findings(home, lamps=lit.lamps, placed=lit.placed, shells=lit.shells),
        *circuit_findings(home, rows=circuits),
        *box_findings(home, lamps=lit.lamps),
        *_colour(lit),
        *daylight_findings(home, shells=lit.shells, sky_angle=sky_angle),
    )
    daylight = any(f.rule.startswith("light.daylight.") for f in findings)
    return LightResult(
        rows=rows,
        findings=findings,
        lamps=tuple(_lamp_row(lamp) for lamp in lit.lamps.values()),
        circuits=circuits,
        layers=layer_rows(lit, planes=planes),
        reflectances={id: (s.reflectances, s.reflectances_from) for id, s in lit.shells.items()},
        method=METHOD,
        cautions=(*CAUTIONS, *_file_warnings(layout, home, photometry), *([CAVEAT] * daylight)),
    )


def grid(
    home: Home,
    layout: Layout,
    *,
    room: str,
    plane: float = 0.75,
    step: float = 0.1,
    dim: float | Mapping[str, float] | None = None,
    reflectances: Reflectances | Mapping[str, Reflectances] | None = None,
    photometry: Mapping[str, Photometry] | None = None,
    lit: LitHome | None = None,
) -> Grid:
    """Horizontal illuminance on a grid of one room, for isolux lines.

    Parameters
    ----------
    home : Home
        The home.
    layout : Layout
        One arrangement with its lamps.
    room : str
        Room id.
    plane : float, optional
        Height of the plane. [m]
    step : float, optional
        Distance between points. [m]
    dim : float or mapping of str to float, optional
        Share of full light, times each lamp's own; all lamps at full power where
        not given. [1]
    reflectances : Reflectances or mapping of str to Reflectances, optional
        For all rooms or by room. [1]
    photometry : mapping of str to Photometry, optional
        Files by the name that the fixtures give.
    lit : LitHome, optional
        The layout as `light_up` made it, to draw several grids of one layout;
        its own `dim` then counts.

    Returns
    -------
    Grid
        Light at points half a step off the room's bounds.

    Raises
    ------
    InputError
        The plane is outside the room's height, or the step is not above 0 or so
        small that there are over a million points.
    LookupFailed
        There is no such room.
    """
    if lit is None:
        lit = light_up(
            home,
            layout,
            dim=1.0 if dim is None else dim,
            reflectances=reflectances,
            photometry=photometry,
        )
    if room not in lit.shells:
        raise LookupFailed(
            "room",
            given=room,
            allowed=", ".join(lit.shells),
            mend=f"nearest: {nearest(room, lit.shells) or 'none'}",
        )
    shell = lit.shells[room]
    if not 0 <= plane < shell.room.height:
        raise InputError(
            "plane", given=f"{plane:g} m", allowed=f"0 m to under {shell.room.height:g} m"
        )
    if not (math.isfinite(step) and step > 0):
        raise InputError("step", given=f"{step:g} m", allowed="more than 0 m")
    x0, y0, x1, y1 = shell.outline.bounds
    nx, ny = max(2, math.ceil((x1 - x0) / step)), max(2, math.ceil((y1 - y0) / step))
    if nx * ny > 1_000_000:
        raise InputError("step", given=f"{step:g} m", allowed="at most a million points")
    x = x0 + (np.arange(nx) + 0.5) * (x1 - x0) / nx
    y = y0 + (np.arange(ny) + 0.5) * (y1 - y0) / ny
    xx, yy = np.meshgrid(x, y)
    inside = shapely.contains_xy(shell.outline, xx, yy)
    points = np.column_stack([xx[inside], yy[inside], np.full(int(inside.sum()), plane)])
    at = at_points(lit, room=room, points=points, plane=plane)
    full = dim is None
    share = np.array([1.0 if full else lit.lamps[id].dim for id in at.lamps])
    back = float(share @ at.indirect)
    direct = np.zeros((ny, nx))
    direct[inside] = share @ at.direct
    _fill(direct, inside)
    return Grid(
        room=room,
        plane=plane,
        x=x,
        y=y,
        lux=direct + back,
        direct=direct,
        indirect=back,
        inside=inside,
        label=f"lx, evening, {'all lamps at full power' if full else 'as dimmed'}, plane "
        f"{short_length(plane, units=home.units)} above the floor; direct light by points + "
        f"{back:.0f} lx from walls and ceiling, taken as even",
    )


def _fill(values: Array, inside: npt.NDArray[np.bool_]) -> None:
    """Give points outside the nearest value inside."""
    if inside.all() or not inside.any():
        return
    from scipy.ndimage import distance_transform_edt

    nearest_in = distance_transform_edt(~inside, return_distances=False, return_indices=True)
    values[:] = values[tuple(nearest_in)]


# --- rows --------------------------------------------------------------------


def _row(lit: LitHome, place: Place) -> LightRow:
    shares = {lamp.id: lamp.dim for lamp in lit.lamps.values()}
    direct: float | None
    best = 0.0
    if place.points is None:
        full = room_mean(lit, room=place.room, plane=place.plane)
        dimmed = room_mean(lit, room=place.room, plane=place.plane, shares=shares)
        direct = None
        shell = lit.shells[place.room]
        lumens = sum(lamp.lumens or 0.0 for lamp in lit.lamps.values() if lamp.room == place.room)
        use = full * shell.area / (lumens * lit.loss) if lumens else 0.0
        why = (
            f"lumens × utilization × {lit.loss:g} ÷ area = {lumens:.0f} lm × {use:.2f} × "
            f"{lit.loss:g} ÷ {shell.area:.1f} m² = {full:.0f} lx"
        )
    else:
        at = at_points(
            lit, room=place.room, points=place.points, normal=place.normal, plane=place.plane
        )
        full, dimmed = float(at.total().mean()), float(at.total(shares).mean())
        direct = float(at.direct.sum(axis=0).mean()) if at.lamps else 0.0
        by = {id: float(at.direct[k].mean() + at.indirect[k]) for k, id in enumerate(at.lamps)}
        for id, lux in by.items():
            best = max(best, lux / (lit.lamps[id].lumens or math.inf))
        most = sorted(by, key=lambda id: (-by[id], id))[:2]
        why = (
            f"{direct:.0f} lx straight from the lamps + {full - direct:.0f} lx from walls and "
            f"ceiling = {full:.0f} lx"
        )
        if most:
            why += ", most from " + " and ".join(
                f"{lit.lamps[id].fixture.name} ({by[id]:.0f})" for id in most
            )
    within = value("light.quick.within", lit.home.rules) * full
    joined = lit.shells[place.room].joined
    unknown = [lamp for lamp in lit.lamps.values() if lamp.lumens is None and lamp.room in joined]
    if unknown:
        why += "; without " + " and ".join(lamp.fixture.name for lamp in unknown)
    wanted = place.wanted
    verdict: Verdict | None = None
    finding, short = None, 0.0
    if wanted.low is not None:
        verdict = verdict_of(full, wanted=wanted, within=within, unknown=bool(unknown))
        short, mend = lumens_short(lit, place=place, found=full, best=best)
        finding = Finding(
            what=f"Light, {place.name}",
            measured=full,
            required=wanted.low,
            within=within,
            unit="lx",
            verdict=verdict,
            severity="inconvenient",
            rule=wanted.rule,
            why=f"{why}; {_range(wanted)} wanted, {wanted.source}",
            mend="" if verdict == "passes" else mend,
            about=place.about,
            at=place.at,
        )
    return LightRow(
        id=place.id,
        name=place.name,
        room=place.room,
        kind=place.kind,
        plane=place.plane,
        full=full,
        dimmed=dimmed,
        direct=direct,
        wanted=wanted,
        verdict=verdict,
        short=short,
        within=within,
        why=why,
        at=place.at,
        finding=finding,
    )


def _range(wanted: Wanted) -> str:
    if wanted.high is None:
        return f"{wanted.low:.0f} lx"
    return f"{wanted.low:.0f} to {wanted.high:.0f} lx"


def _lamp_row(lamp: LitLamp) -> LampRow:
    fixture = lamp.fixture
    return LampRow(
        id=lamp.id,
        name=fixture.name,
        kind=fixture.kind,
        room=lamp.room,
        layer=lamp.lamp.layer,
        lamps=fixture.lamps,
        lumens=lamp.lumens,
        shade=lamp.shade,
        watts=lamp.watts,
        kelvin=fixture.kelvin,
        cri=fixture.cri,
        base=lamp.base,
        dim=lamp.dim,
        circuit=lamp.circuit,
        at=lamp.at,
        notes=lamp.notes,
    )


# --- findings of the whole layout --------------------------------------------


def _unknown(lit: LitHome) -> list[Finding]:
    return [
        Finding(
            what=f"Lumens of {lamp.fixture.name}",
            measured=None,
            required=None,
            unit="lm",
            verdict="measure first",
            severity="note",
            rule=f"light.shade.{lamp.fixture.shade.replace(' ', '_')}",
            why="neither lumens nor a photometric file is given: its light is not counted",
            mend="Write down the lumens from the lamp's packing.",
            about=(lamp.id,),
            at=lamp.at,
        )
        for lamp in lit.lamps.values()
        if lamp.lumens is None
    ]


def _dimming(lit: LitHome, wants: tuple[Place, ...]) -> list[Finding]:
    """Whether the evening level can be reached by dimming or by switching off."""
    found = []
    lowest = value("light.dimmer.lowest", lit.home.rules)
    for place in wants:
        if place.points is not None or place.wanted.dimmed is None:
            continue
        here = [lamp for lamp in lit.lamps.values() if lamp.room == place.room and lamp.sources]
        if not here:
            continue
        reach = {}
        for lamp in here:
            circuit = lit.home.circuits.get(lamp.circuit)
            can = lamp.fixture.dimmable and circuit is not None and circuit.dimmer
            share = lowest if can else 1.0
            reach[lamp.id] = room_mean(
                lit, room=place.room, plane=place.plane, shares={lamp.id: share}
            )
        least = min(reach, key=lambda id: (reach[id], id))
        lux = reach[least]
        wanted = place.wanted.dimmed
        name = lit.lamps[least].fixture.name
        found.append(
            Finding(
                what=f"Evening light, {place.name}",
                measured=lux,
                required=wanted,
                within=value("light.quick.within", lit.home.rules) * lux,
                unit="lx",
                verdict="passes" if lux <= wanted else "fails",
                severity="note",
                rule=place.wanted.rule.replace(".low", ".dimmed"),
                why=f"the lowest light is {name} alone, at {lux:.0f} lx; {wanted:.0f} lx or less "
                "is liked in the evening",
                mend=""
                if lux <= wanted
                else "A dimmer on its circuit, or one small lamp that can stay on alone.",
                about=(place.room, least),
            )
        )
    for lamp in lit.lamps.values():
        for note in lamp.notes:
            if not note.startswith("asked for"):
                continue
            found.append(
                Finding(
                    what=f"Dimming {lamp.fixture.name}",
                    measured=None,
                    required=None,
                    unit="1",
                    verdict="fails",
                    severity="note",
                    rule="light.dimmer.lowest",
                    why=note + ": it is counted at full power",
                    mend="A dimmable lamp on a circuit with a dimmer that suits it.",
                    about=(lamp.id,),
                    at=lamp.at,
                )
            )
    return found


def _one_outlet(lit: LitHome, wants: tuple[Place, ...]) -> list[Finding]:
    """A large room with a single ceiling outlet: plug-in layers first."""
    found = []
    home = lit.home
    arms = value("light.one_outlet.arms", home.rules)
    for place in wants:
        shell = lit.shells[place.room]
        if (
            place.points is not None
            or place.wanted.low is None
            or shell.area < value("light.one_outlet.area", home.rules)
        ):
            continue
        outlets = [
            id
            for id, s in home.services.items()
            if s.room == place.room and s.kind == "ceiling outlet"
        ]
        if len(outlets) != 1:
            continue
        here = [lamp for lamp in lit.lamps.values() if lamp.room == place.room]
        at_it = [lamp for lamp in here if lamp.lamp.service == outlets[0]]
        others = {lamp.id: 1.0 for lamp in here if lamp not in at_it}
        lux = room_mean(lit, room=place.room, plane=place.plane, shares=others)
        most = max((lamp.fixture.lamps for lamp in at_it), default=0)
        verdict: Verdict
        if lux >= place.wanted.low or most >= arms:
            verdict, mend = "passes", ""
        else:
            verdict = "fails"
            mend = (
                "Floor and table lamps first; where the one point must carry the general light, "
                f"a fitting with {arms:.0f} or more lamps."
            )
        found.append(
            Finding(
                what=f"One ceiling outlet, {place.name}",
                measured=lux,
                required=place.wanted.low,
                within=value("light.quick.within", home.rules) * lux,
                unit="lx",
                verdict=verdict,
                severity="note",
                rule="light.one_outlet.arms",
                why=f"{_lamps(len(others))} besides the outlet: {lux:.0f} of "
                f"{place.wanted.low:.0f} lx; the fitting on the outlet has {_lamps(most)}",
                mend=mend,
                about=(place.room, outlets[0]),
                at=home.services[outlets[0]].at,
            )
        )
    return found


def _lamps(count: int) -> str:
    return "no lamp" if count == 0 else "1 lamp" if count == 1 else f"{count} lamps"


def _colour(lit: LitHome) -> list[Finding]:
    """Colour of light and colour rendering, one row a fixture that differs."""
    found = []
    seen = set()
    rules = lit.home.rules
    for lamp in lit.lamps.values():
        use = lit.shells[lamp.room].room.use
        kitchen = use in ("kitchen", "bath", "bathroom")
        rule = "light.colour.kitchen" if kitchen else "light.colour.living"
        if (lamp.lamp.fixture, rule) in seen:
            continue
        seen.add((lamp.lamp.fixture, rule))
        warm, cri = value(rule, rules), value("light.colour.rendering", rules)
        fixture = lamp.fixture
        severity: Severity = "note"
        if fixture.kelvin is not None and fixture.kelvin > warm + 1:
            found.append(
                Finding(
                    what=f"Colour of light, {fixture.name}",
                    measured=fixture.kelvin,
                    required=warm,
                    unit="K",
                    verdict="fails",
                    severity=severity,
                    rule=rule,
                    why=f"{fixture.kelvin:.0f} K; {warm:.0f} K is usual here",
                    mend=f"A lamp of {warm:.0f} K.",
                    about=(lamp.id,),
                    at=lamp.at,
                )
            )
        if fixture.cri is not None and fixture.cri < cri:
            found.append(
                Finding(
                    what=f"Colour rendering, {fixture.name}",
                    measured=fixture.cri,
                    required=cri,
                    unit="1",
                    verdict="fails",
                    severity=severity,
                    rule="light.colour.rendering",
                    why=f"{fixture.cri:.0f}; {cri:.0f} or more shows cloth and timber as they are",
                    mend=f"A lamp of {cri:.0f} or more.",
                    about=(lamp.id,),
                    at=lamp.at,
                )
            )
    return found


def _file_warnings(
    layout: Layout, home: Home, photometry: Mapping[str, Photometry] | None
) -> tuple[str, ...]:
    used = dict.fromkeys(
        home.fixtures[lamp.fixture].photometry
        for lamp in layout.lamps.values()
        if lamp.fixture in home.fixtures
    )
    return tuple(
        f"{name}: {warning}"
        for name in used
        if name and photometry and name in photometry
        for warning in photometry[name].warnings
    )
