"""Narrow stretches of a route, and the step-free rules for width, turning and passing.

Guidance from one published standard: the local code decides. Limits are its
exact inches, since the millimetres printed beside them are rounded.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import LineString, Polygon

from designkit.errors import InputError, LookupFailed
from designkit.model import Point
from designkit.plan.floors import Floor
from designkit.reference import value

__all__ = [
    "NarrowStretch",
    "Narrowing",
    "Turn",
    "low_over",
    "needs_passing_place",
    "step_free",
    "stretches",
    "turn_round",
]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class NarrowStretch:
    """A part of a route that is narrower than a limit, measured square to the line."""

    start: float  # [m] along the line
    end: float
    length: float  # [m]
    width: float  # [m] at its narrowest
    at: Point


@dataclass(frozen=True, kw_only=True, eq=False)
class Narrowing:
    """Whether a route keeps a step-free width with the local narrowing allowed."""

    passes: bool
    width: float  # [m]
    stretches: tuple[NarrowStretch, ...]
    why: str
    rule: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Turn:
    """A turn back round the end of something thin."""

    passes: bool
    needed: bool  # false where the thing is wide enough for two plain turns
    thickness: float  # [m]
    approach: float  # [m]
    at_turn: float  # [m]
    leaving: float  # [m]
    why: str
    rule: str


# --- narrow stretches -----------------------------------------------------------


def stretches(
    floor: Floor, *, line: Sequence[Point], required: float, step: float = 0.01
) -> tuple[NarrowStretch, ...]:
    """Parts of a line where the way, measured square to it, is under a limit.

    Parameters
    ----------
    floor : Floor
        The floor that the line lies on.
    line : sequence of Point
        From `route_line` or `shortest`. [m]
    required : float
        The limit. [m]
    step : float, optional
        Spacing of the first look; the ends are then found to 0.01 mm. [m]

    Returns
    -------
    tuple of NarrowStretch
        In the order of the line.

    Raises
    ------
    InputError
        The line has under two points, or the limit is not positive.
    """
    if len(line) < 2:
        raise InputError("line of a route", given=f"{len(line)} points", allowed="2 or more")
    if not math.isfinite(required) or required <= 0 or not step > 0:
        raise InputError("required width", given=f"{required} m", allowed="> 0 m")
    path = LineString(line)
    total = path.length
    segment = floor.edge[~np.isin(floor.edge_site, list(floor.pocket))]

    def across(at: Array) -> Array:
        return _chords(path, total, segment, at)

    at = np.linspace(0.0, total, max(3, math.ceil(total / step) + 1))
    # Where the line passes a corner square on, the width jumps: look on both sides.
    at = np.unique(np.clip(np.concatenate([at, _abeam(path, segment)]), 0.0, total))
    wide = across(at)
    narrow = wide < required - 1e-9
    found: list[NarrowStretch] = []
    k = 0
    while k < len(at):
        if not narrow[k]:
            k += 1
            continue
        j = k
        while j + 1 < len(at) and narrow[j + 1]:
            j += 1
        low = float(at[k]) if k == 0 else _edge_of(across, float(at[k - 1]), float(at[k]), required)
        high = (
            float(at[j])
            if j + 1 == len(at)
            else _edge_of(across, float(at[j + 1]), float(at[j]), required)
        )
        worst = k + int(wide[k : j + 1].argmin())
        x, y = shapely.get_coordinates(path.interpolate(float(at[worst])))[0]
        found.append(
            NarrowStretch(
                start=low,
                end=high,
                length=high - low,
                width=float(wide[worst]),
                at=(float(x), float(y)),
            )
        )
        k = j + 1
    return tuple(found)


def _edge_of(across: object, wide_at: float, narrow_at: float, required: float) -> float:
    assert callable(across)
    while abs(narrow_at - wide_at) > 1e-5:
        middle = (wide_at + narrow_at) / 2
        if across(np.array([middle]))[0] < required - 1e-9:
            narrow_at = middle
        else:
            wide_at = middle
    return narrow_at


def _abeam(path: LineString, segment: Array) -> Array:
    corner = shapely.points(segment.reshape(-1, 2))
    at = np.asarray(shapely.line_locate_point(path, corner), dtype=float)
    return np.concatenate([at - 1e-5, at, at + 1e-5])


def _chords(path: LineString, total: float, segment: Array, at: Array) -> Array:
    """Free width on the line square to the path at each place along it."""
    h = 1e-4
    here = shapely.get_coordinates(shapely.line_interpolate_point(path, at))
    a = shapely.get_coordinates(shapely.line_interpolate_point(path, np.maximum(at - h, 0.0)))
    b = shapely.get_coordinates(shapely.line_interpolate_point(path, np.minimum(at + h, total)))
    way = (b - a) / np.hypot(*(b - a).T)[:, None]
    square = np.stack([-way[:, 1], way[:, 0]], axis=1)
    p, d = segment[:, 0], segment[:, 1] - segment[:, 0]
    rel = p[None] - here[:, None]
    bend = square[:, :1] * d[None, :, 1] - square[:, 1:] * d[None, :, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (rel[..., 0] * d[:, 1] - rel[..., 1] * d[:, 0]) / bend
        u = (rel[..., 0] * square[:, 1:] - rel[..., 1] * square[:, :1]) / bend
    hit = (np.abs(bend) > 1e-12) & (u >= 0) & (u <= 1)
    left = np.where(hit & (t > 0), t, np.inf).min(axis=1)
    right = np.where(hit & (t < 0), -t, np.inf).min(axis=1)
    return np.asarray(left + right)


def step_free(
    *,
    width: float,
    narrow: Sequence[NarrowStretch] = (),
    overrides: Mapping[str, float] | None = None,
) -> Narrowing:
    """Judge a route as a step-free walking surface.

    Parameters
    ----------
    width : float
        Of the widest route. [m]
    narrow : sequence of NarrowStretch, optional
        From `stretches` at the full width.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    Narrowing
        Passes at the full width, or with narrowings that are wide enough,
        short enough and far enough apart.

    Raises
    ------
    InputError
        The width is negative or not finite.

    Notes
    -----
    The limits are the exact inches; the millimetres printed in the standard are
    rounded [1]_. Guidance: the local code decides.

    References
    ----------
    .. [1] 2010 ADA Standards for Accessible Design, 403.5.1 and its exception.

    Examples
    --------
    >>> step_free(width=0.92).passes
    True
    """
    if not math.isfinite(width) or width < 0:
        raise InputError("width of a route", given=width, allowed="0 m or more")
    full = value("plan.route.step_free", overrides)
    least = value("plan.route.narrow_width", overrides)
    most = value("plan.route.narrow_length", overrides)
    apart = value("plan.route.narrow_apart", overrides)
    rule = "plan.route.step_free"
    near = 1e-6
    why = f"{width * 1000:.1f} mm ≥ {full * 1000:.1f} mm"
    passes = True
    if width < full - near:
        rule = "plan.route.narrow_width"
        parts = [f"{width * 1000:.1f} mm < {full * 1000:.1f} mm"]
        if width < least - near:
            passes = False
            parts.append(f"and < {least * 1000:.1f} mm")
        elif not narrow:
            passes = False
            parts.append("and its narrow stretches are not given")
        for part in narrow:
            if part.length > most + near:
                passes = False
                rule = "plan.route.narrow_length"
            sign = ">" if part.length > most + near else "≤"
            parts.append(f"narrow for {part.length * 1000:.0f} mm {sign} {most * 1000:.1f} mm")
        for one, two in itertools.pairwise(narrow):
            if two.start - one.end < apart - near:
                passes = False
                rule = "plan.route.narrow_apart"
                parts.append(f"{(two.start - one.end) * 1000:.0f} mm apart < {apart * 1000:.1f} mm")
        why = ", ".join(parts)
    return Narrowing(passes=passes, width=width, stretches=tuple(narrow), why=why, rule=rule)


# --- turning and passing --------------------------------------------------------


def turn_round(floor: Floor, *, about: str, overrides: Mapping[str, float] | None = None) -> Turn:
    """Judge the turn back round the end of a thin obstacle.

    The widths are those beside its two long sides and, of its two ends, off the
    roomier one.

    Parameters
    ----------
    floor : Floor
        From `designkit.plan.routes.prepare`.
    about : str
        Id of the obstacle: an island, the back of a sofa.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    Turn
        `needed` is false where the obstacle is wide enough not to ask for it.

    Raises
    ------
    LookupFailed
        There is no such obstacle.

    References
    ----------
    .. [1] 2010 ADA Standards for Accessible Design, 403.5.2.
    """
    shapes = [shape for id, shape in floor.obstacles if id == about]
    if not shapes:
        raise LookupFailed(
            "obstacle",
            given=about,
            allowed=", ".join(sorted({id for id, _ in floor.obstacles})) or "none",
        )
    body = shapely.minimum_rotated_rectangle(shapely.union_all(shapes))
    # A counter-clockwise ring has the outside on the right of each edge.
    ring = shapely.get_coordinates(shapely.orient_polygons(body))
    side = np.hypot(*(ring[1:] - ring[:-1]).T)
    barred = {i for i, name in enumerate(floor.names) if name == about} | set(floor.pocket)
    others = np.array([s for i, s in enumerate(floor.sites) if i not in barred], dtype=object)
    room = [_room_beside(ring[k], ring[k + 1], others) for k in range(4)]
    long = 0 if side[0] >= side[1] else 1
    thick = float(min(side[0], side[1]))
    approach, leaving = room[long], room[long + 2]
    at_turn = max(room[(long + 1) % 4], room[(long + 3) % 4])
    limit = value("plan.route.turn_element", overrides)
    lead = value("plan.route.turn_approach", overrides)
    wide = value("plan.route.turn_width", overrides)
    exempt = value("plan.route.turn_exempt", overrides)
    near = 1e-6
    needed = thick < limit - near
    short = [
        f"{what} {size * 1000:.0f} mm < {least * 1000:.0f} mm"
        for what, size, least in (
            ("approach", approach, lead),
            ("turn", at_turn, wide),
            ("leaving", leaving, lead),
        )
        if size < least - near
    ]
    if not needed:
        why = f"{about} is {thick * 1000:.0f} mm ≥ {limit * 1000:.0f} mm thick: no turn back"
    elif at_turn >= exempt - near:
        why = f"turn {at_turn * 1000:.0f} mm ≥ {exempt * 1000:.0f} mm"
        short = []
    else:
        why = ", ".join(short) or (
            f"approach {approach * 1000:.0f}, turn {at_turn * 1000:.0f}, "
            f"leaving {leaving * 1000:.0f} mm are wide enough"
        )
    return Turn(
        passes=not needed or not short,
        needed=needed,
        thickness=thick,
        approach=approach,
        at_turn=at_turn,
        leaving=leaving,
        why=why,
        rule="plan.route.turn_width",
    )


def _room_beside(a: Array, b: Array, others: npt.NDArray[np.object_]) -> float:
    """Free depth off the right of a–b, over its whole length."""
    along = b - a
    out = np.array([along[1], -along[0]]) / float(np.hypot(*along))
    reach = 50.0
    # A hair is trimmed at both ends: what stands flush with a side is not before it.
    trim = 1e-6 * along / float(np.hypot(*along))
    strip = Polygon([a + trim, b - trim, b - trim + reach * out, a + trim + reach * out])
    near = shapely.intersection(others, strip)
    near = near[~shapely.is_empty(near)]
    if not len(near):
        return reach
    return float(shapely.distance(near, LineString([a, b])).min())


def needs_passing_place(
    *, width: float, length: float, overrides: Mapping[str, float] | None = None
) -> bool:
    """Whether a narrow step-free route is so long that it needs a passing place.

    Parameters
    ----------
    width, length : float
        Of the route. [m]
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    bool
        True where it is narrower than a passing place and longer than the
        distance allowed between two.

    Raises
    ------
    InputError
        A number is negative or not finite.

    References
    ----------
    .. [1] 2010 ADA Standards for Accessible Design, 403.5.3.

    Examples
    --------
    >>> needs_passing_place(width=1.2, length=12.0)
    False
    """
    for what, number in (("width of a route", width), ("length of a route", length)):
        if not math.isfinite(number) or number < 0:
            raise InputError(what, given=number, allowed="0 m or more")
    narrow = width < value("plan.route.passing", overrides) - 1e-6
    return narrow and length > value("plan.route.passing_every", overrides) + 1e-6


def low_over(
    line: Sequence[Point],
    *,
    width: float,
    overhead: Sequence[tuple[str, Polygon, float]],
    overrides: Mapping[str, float] | None = None,
) -> tuple[tuple[str, float], ...]:
    """What hangs lower over a route than its headroom.

    Parameters
    ----------
    line : sequence of Point
        Centre line of the route. [m]
    width : float
        Of the strip that is walked on. [m]
    overhead : sequence of (str, Polygon, float)
        Id, outline and underside of what hangs. [m]
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    tuple of (str, float)
        Id and underside of each that is too low, lowest first. [m]

    Raises
    ------
    InputError
        The line has under two points, or the width is not positive.

    References
    ----------
    .. [1] 2010 ADA Standards for Accessible Design, 307.4.

    Examples
    --------
    >>> from shapely.geometry import box
    >>> low_over([(0, 0), (4, 0)], width=0.9, overhead=[("pendant", box(1, 0, 2, 1), 1.9)])
    (('pendant', 1.9),)
    """
    if len(line) < 2:
        raise InputError("line of a route", given=f"{len(line)} points", allowed="2 or more")
    if not math.isfinite(width) or width <= 0:
        raise InputError("width of a route", given=f"{width} m", allowed="> 0 m")
    strip = shapely.buffer(LineString(line), width / 2, cap_style="flat")
    limit = value("plan.route.headroom", overrides)
    found = [
        (id, base)
        for id, shape, base in overhead
        if base < limit - 1e-6 and shapely.area(shapely.intersection(strip, shape)) > 1e-9
    ]
    return tuple(sorted(found, key=lambda item: (item[1], item[0])))
