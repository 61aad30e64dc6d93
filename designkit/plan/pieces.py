"""Parts, use zones and seats of a piece, made from its kind and size.

A project gives most pieces by kind and size. What an author writes out
(`Piece.parts`, `zones`, `seats`) is kept as it is; the rest is made here, in
the piece's own coordinates: x to the right, y to the back, the front at -y,
the centre of the footprint at (0, 0), heights above the piece's underside.
Left is -x and right is +x, as one sees them on a plan with the front below.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import get_args

from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import Part, Piece, Point, Seat, Severity, Side, Zone
from designkit.reference import table, value

__all__ = [
    "Kind",
    "ZoneRule",
    "climb_height",
    "is_climbable",
    "kind_of",
    "kinds",
    "parts_of",
    "seat_height_of",
    "seats_of",
    "zone_rules",
    "zones_of",
]

LARGEST = 20.0  # m; a piece longer than this was given in millimetres


@dataclass(frozen=True, kw_only=True)
class Kind:
    """A kind of furniture with what is usual for it [m]."""

    name: str
    form: str
    mount: str
    climbable: bool
    storage: bool
    size: tuple[float, float, float]
    seat_height: float | None
    arm_height: float | None
    meaning: str


@dataclass(frozen=True, kw_only=True)
class ZoneRule:
    """Floor that the use of a kind needs; `depth` is a reference id."""

    kind: str
    words: str
    side: Side
    depth: str
    severity: Severity
    not_counting: tuple[str, ...]


@functools.cache
def kinds() -> Mapping[str, Kind]:
    """The kinds of furniture of reference/kinds.csv.

    Returns
    -------
    mapping of str to Kind
        In the order of the file.

    Examples
    --------
    >>> kinds()["sofa"].climbable
    True
    """

    def number(text: str) -> float | None:
        return float(text) if text else None

    return MappingProxyType(
        {
            row["kind"]: Kind(
                name=row["kind"],
                form=row["form"],
                mount=row["mount"],
                climbable=row["climbable"] == "yes",
                storage=row["storage"] == "yes",
                size=(float(row["width"]), float(row["depth"]), float(row["height"])),
                seat_height=number(row["seat_height"]),
                arm_height=number(row["arm_height"]),
                meaning=row["meaning"],
            )
            for row in table("kinds")
        }
    )


@functools.cache
def zone_rules() -> Mapping[str, tuple[ZoneRule, ...]]:
    """The use zones of reference/zones.csv, by kind.

    Returns
    -------
    mapping of str to tuple of ZoneRule
        Kinds without a zone are not there.
    """
    rules: dict[str, tuple[ZoneRule, ...]] = {}
    for row in table("zones"):
        side = next(s for s in get_args(Side) if s == row["side"])
        severity = next(s for s in get_args(Severity) if s == row["severity"])
        rule = ZoneRule(
            kind=row["kind"],
            words=row["words"],
            side=side,
            depth=row["depth"],
            severity=severity,
            not_counting=tuple(row["not_counting"].split(";")) if row["not_counting"] else (),
        )
        rules[rule.kind] = (*rules.get(rule.kind, ()), rule)
    return MappingProxyType(rules)


def kind_of(piece: Piece) -> Kind:
    """The kind of a piece.

    Parameters
    ----------
    piece : Piece
        Any piece.

    Returns
    -------
    Kind
        What is usual for it.

    Raises
    ------
    LookupFailed
        There is no such kind; the message names the nearest one.

    Examples
    --------
    >>> kind_of(Piece(name="seat", kind="stool", size=(0.4, 0.4, 0.45))).form
    'stool'
    """
    known = kinds()
    if piece.kind not in known:
        near = nearest(piece.kind, known)
        raise LookupFailed(
            f"kind of {piece.name}",
            given=piece.kind,
            allowed=", ".join(known),
            mend=f"write {near!r}" if near else "use one of these, or write the parts of the piece",
        )
    return known[piece.kind]


def seat_height_of(piece: Piece) -> float | None:
    """Height of the seat, or of the top of the mattress.

    Parameters
    ----------
    piece : Piece
        Any piece.

    Returns
    -------
    float or None
        Above the underside of the piece; None where nobody sits. [m]

    Examples
    --------
    >>> seat_height_of(Piece(name="stool", kind="stool", size=(0.4, 0.4, 0.45)))
    0.45
    """
    kind = kind_of(piece)
    if piece.seats:
        return min(seat.height for seat in piece.seats)
    if piece.seat_height is not None:
        return min(piece.seat_height, piece.size[2])
    if kind.form == "stool" or kind.name == "ottoman":
        return piece.size[2]
    return None if kind.seat_height is None else min(kind.seat_height, piece.size[2])


def is_climbable(piece: Piece) -> bool:
    """Whether a child can climb on the piece.

    Parameters
    ----------
    piece : Piece
        Any piece; what it says itself comes before its kind.

    Returns
    -------
    bool
        True for what can be climbed.

    Examples
    --------
    >>> is_climbable(Piece(name="rug", kind="rug", size=(2, 3, 0.01)))
    False
    """
    return kind_of(piece).climbable if piece.climbable is None else piece.climbable


def climb_height(piece: Piece) -> float:
    """Height of the surface a child stands on after climbing the piece.

    Parameters
    ----------
    piece : Piece
        A piece that can be climbed.

    Returns
    -------
    float
        The seat or mattress where there is one, else the top. [m]

    Examples
    --------
    >>> climb_height(Piece(name="sofa", kind="sofa", size=(2.2, 0.95, 0.8), seat_height=0.43))
    0.43
    """
    height = seat_height_of(piece)
    return piece.size[2] if height is None else height


# --- bodies ------------------------------------------------------------------


def _box(name: str, x0: float, x1: float, y0: float, y1: float, base: float, top: float) -> Part:
    return Part(
        name=name,
        at=((x0 + x1) / 2, (y0 + y1) / 2),
        size=(x1 - x0, y1 - y0),
        base=base,
        top=top,
    )


def _disc(name: str, w: float, d: float, base: float, top: float) -> Part:
    return Part(name=name, shape="circle", size=(w, d), base=base, top=top)


def _legs(w: float, d: float, top: float, *, thick: float, inset: float) -> list[Part]:
    thick = min(thick, w / 4, d / 4)
    x, y = w / 2 - min(inset, w / 8) - thick / 2, d / 2 - min(inset, d / 8) - thick / 2
    return [
        Part(name="legs", at=(sx * x, sy * y), size=(thick, thick), top=top)
        for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]


def _arm_height(piece: Piece) -> float:
    kind = kind_of(piece)
    height = kind.arm_height if piece.arm_height is None else piece.arm_height
    return min(height or 0.0, piece.size[2])


def _sofa_frame(piece: Piece) -> tuple[float, float]:
    """Thickness of an arm and of the back."""
    w, d, _ = piece.size
    seat = seat_height_of(piece) or 0.0
    arm = min(0.2, 0.12 * w) if _arm_height(piece) > seat + 0.02 else 0.0
    return arm, min(0.25, 0.25 * d)


def _sofa(piece: Piece) -> list[Part]:
    w, d, h = piece.size
    seat = seat_height_of(piece) or h
    foot = min(0.1, seat / 3)
    arm, back = _sofa_frame(piece)
    x, y = w / 2, d / 2
    parts = [_box("seat", -x + arm, x - arm, -y, y - back, foot, seat)]
    if h > seat + 0.02:
        parts.append(_box("back", -x, x, y - back, y, foot, h))
    else:
        parts = [_box("seat", -x + arm, x - arm, -y, y, foot, h)]
        back = 0.0
    if arm:
        top = _arm_height(piece)
        parts.append(_box("arms", -x, -x + arm, -y, y - back, foot, top))
        parts.append(_box("arms", x - arm, x, -y, y - back, foot, top))
    return parts + _legs(w, d, foot, thick=0.06, inset=0.03)


def _chair(piece: Piece) -> list[Part]:
    w, d, h = piece.size
    seat = seat_height_of(piece) or h
    x, y = w / 2, d / 2
    pad = min(0.06, seat / 2)
    legs = _legs(w, d, seat - pad, thick=0.035, inset=0.02)
    back = min(0.05, d / 4)
    low = seat - pad
    if h <= seat + 0.02:
        return [_box("seat", -x, x, -y, y, low, h), *legs]
    parts = [
        _box("seat", -x, x, -y, y - back, low, seat),
        _box("back", -x, x, y - back, y, low, h),
    ]
    arm = _arm_height(piece)
    if arm > seat + 0.02:
        wide = min(0.05, w / 6)
        long = 0.7 * (d - back)
        for x0, x1 in ((-x, -x + wide), (x - wide, x)):
            parts.append(_box("arms", x0, x1, y - back - long, y - back, arm - 0.02, arm))
    return parts + legs


def _stool(piece: Piece) -> list[Part]:
    w, d, h = piece.size
    pad = min(0.06, h / 2)
    if piece.shape == "circle":
        r = 0.7
        return [
            _disc("seat", w, d, h - pad, h),
            *_legs(w * r, d * r, h - pad, thick=0.035, inset=0.0),
        ]
    seat = _box("seat", -w / 2, w / 2, -d / 2, d / 2, h - pad, h)
    return [seat, *_legs(w, d, h - pad, thick=0.04, inset=0.02)]


def _table(piece: Piece) -> list[Part]:
    w, d, h = piece.size
    thick = min(0.03, h / 4)
    under = h - thick
    if piece.shape == "circle":
        foot = min(0.03, under / 2)
        stem_w, stem_d = (min(max(0.08, 0.1 * side), 0.5 * side) for side in (w, d))
        return [
            _disc("top", w, d, under, h),
            _disc("legs", stem_w, stem_d, foot, under),
            _disc("legs", 0.5 * w, 0.5 * d, 0.0, foot),
        ]
    parts = [_box("top", -w / 2, w / 2, -d / 2, d / 2, under, h)]
    apron = value("plan.height.apron") - thick
    legs_to = under
    if kind_of(piece).name in ("dining table", "desk") and h > 0.55 and min(w, d) > 0.4:
        x, y = w / 2 - 0.06, d / 2 - 0.06
        parts.append(_box("frame", -x, x, -y, y, under - apron, under))
        legs_to = under - apron  # above it they stand in the frame
    return parts + _legs(w, d, legs_to, thick=0.06, inset=0.03)


def _block(piece: Piece) -> list[Part]:
    w, d, h = piece.size
    name = {"ottoman": "seat", "wall shelf": "top"}.get(piece.kind, "body")
    if piece.shape == "circle":
        return [_disc(name, w, d, 0.0, h)]
    return [_box(name, -w / 2, w / 2, -d / 2, d / 2, 0.0, h)]


def _cabinet(piece: Piece, *, legs: bool, front: bool) -> list[Part]:
    w, d, h = piece.size
    if piece.shape == "circle":
        return [_disc("frame", w, d, 0.0, h)]
    x, y = w / 2, d / 2
    foot = min(0.12, h / 4) if legs else 0.0
    top = h - min(0.02, h / 8)
    leaf = min(0.02, d / 4) if front else 0.0
    parts = [
        _box("frame", -x, x, -y + leaf, y, foot, top),
        _box("top", -x, x, -y, y, top, h),
    ]
    if front:
        parts.append(_box("front", -x, x, -y, -y + leaf, foot, top))
    if foot:
        parts.extend(_legs(w, d, foot, thick=0.04, inset=0.04))
    return parts


def _bed(piece: Piece) -> list[Part]:
    w, d, h = piece.size
    lie = seat_height_of(piece) or h
    x, y = w / 2, d / 2
    head = min(0.08, d / 10) if h > lie + 0.05 else 0.0
    lie = lie if head else h
    mattress = max(lie - 0.22, lie / 2)
    parts = [
        _box("frame", -x, x, -y, y - head, 0.0, mattress),
        _box("mattress", -x, x, -y, y - head, mattress, lie),
    ]
    if head:
        parts.append(_box("headboard", -x, x, y - head, y, 0.0, h))
    return parts


def _cot(piece: Piece) -> list[Part]:
    w, d, h = piece.size
    x, y, rail = w / 2, d / 2, min(0.03, w / 10, d / 10)
    lie = min(seat_height_of(piece) or h / 2, h)
    rails = [
        (-x, x, -y, -y + rail),
        (-x, x, y - rail, y),
        (-x, -x + rail, -y + rail, y - rail),
        (x - rail, x, -y + rail, y - rail),
    ]
    inside = (-x + rail, x - rail, -y + rail, y - rail)
    return [
        _box("mattress", *inside, max(lie - 0.1, 0.0), lie),
        *(_box("frame", *rail_at, 0.0, h) for rail_at in rails),
    ]


def _rug(piece: Piece) -> list[Part]:
    w, d, h = piece.size
    wide = min(0.12, w / 8, d / 8)
    bordered = "border" in piece.finishes
    if piece.shape == "circle":
        if not bordered:
            return [_disc("field", w, d, 0.0, h)]
        ring = Part(name="border", shape="ring", size=(w, w - 2 * wide), base=0.0, top=h)
        return [_disc("field", w - 2 * wide, d - 2 * wide, 0.0, h), ring]
    x, y = w / 2, d / 2
    if not bordered:
        return [_box("field", -x, x, -y, y, 0.0, h)]
    return [
        _box("field", -x + wide, x - wide, -y + wide, y - wide, 0.0, h),
        _box("border", -x, x, -y, -y + wide, 0.0, h),
        _box("border", -x, x, y - wide, y, 0.0, h),
        _box("border", -x, -x + wide, -y + wide, y - wide, 0.0, h),
        _box("border", x - wide, x, -y + wide, y - wide, 0.0, h),
    ]


def _plant(piece: Piece) -> list[Part]:
    w, d, h = piece.size
    pot = min(0.4, 0.3 * h)
    return [_disc("pot", 0.5 * w, 0.5 * d, 0.0, pot), _disc("leaves", w, d, pot, h)]


def _screen(piece: Piece) -> list[Part]:
    w, d, h = piece.size
    thin = min(d, 0.06)
    if d <= 0.1:
        return [_box("screen", -w / 2, w / 2, -d / 2, d / 2, 0.0, h)]
    foot = min(0.06, h / 8)
    return [
        _box("screen", -w / 2, w / 2, -thin / 2, thin / 2, foot, h),
        _box("stand", -w / 4, w / 4, -d / 2, d / 2, 0.0, foot),
    ]


def _framed(piece: Piece) -> list[Part]:
    w, d, h = piece.size
    bar = min(0.03, w / 8, h / 8)
    x, y = w / 2, d / 2
    inner = "glass" if piece.kind == "mirror" else "picture"
    if piece.shape == "circle":  # round on the wall: shown by the box that holds it
        return [_box(inner, -x, x, -y, y, 0.0, h)]
    return [
        _box(inner, -x + bar, x - bar, -y, y, bar, h - bar),
        _box("frame", -x, -x + bar, -y, y, 0.0, h),
        _box("frame", x - bar, x, -y, y, 0.0, h),
        _box("frame", -x + bar, x - bar, -y, y, 0.0, bar),
        _box("frame", -x + bar, x - bar, -y, y, h - bar, h),
    ]


def _standing_lamp(piece: Piece) -> list[Part]:
    w, d, h = piece.size
    shade = min(0.35, 0.4 * h)
    foot = min(0.03, 0.06 * h)
    return [
        _disc("shade", w, d, h - shade, h),
        _disc("frame", min(0.03, 0.65 * w), min(0.03, 0.65 * d), foot, h - shade),
        _disc("frame", min(0.3, 0.65 * w), min(0.3, 0.65 * d), 0.0, foot),
    ]


def _shade(piece: Piece) -> list[Part]:
    w, d, h = piece.size
    return [
        _disc("shade", w, d, 0.0, h)
        if piece.shape == "circle" or abs(w - d) < 1e-9
        else _box("shade", -w / 2, w / 2, -d / 2, d / 2, 0.0, h)
    ]


_FORMS: Mapping[str, Callable[[Piece], list[Part]]] = {
    "bed": _bed,
    "block": _block,
    "carcass": functools.partial(_cabinet, legs=False, front=True),
    "chair": _chair,
    "cot": _cot,
    "framed": _framed,
    "legged carcass": functools.partial(_cabinet, legs=True, front=True),
    "open carcass": functools.partial(_cabinet, legs=False, front=False),
    "plant": _plant,
    "rug": _rug,
    "screen": _screen,
    "shade": _shade,
    "sofa": _sofa,
    "standing lamp": _standing_lamp,
    "stool": _stool,
    "table": _table,
}


def _check(piece: Piece) -> None:
    if len(piece.size) != 3:
        raise InputError(
            f"size of {piece.name}", given=piece.size, allowed="width, depth, height [m]"
        )
    for word, number in zip(("width", "depth", "height"), piece.size):
        if (
            isinstance(number, bool)
            or not isinstance(number, int | float)
            or not math.isfinite(number)
            or not 0.0 < number <= LARGEST
        ):
            raise InputError(
                f"{word} of {piece.name}",
                given=number,
                allowed=f"a number of metres, more than 0 and at most {LARGEST:g}",
                mend='give it with its unit, as "2200 mm"',
            )
    for word, height in (("seat", piece.seat_height), ("arm", piece.arm_height)):
        if height is not None and not 0.0 <= height <= piece.size[2] + 1e-9:
            raise InputError(
                f"{word} height of {piece.name}",
                given=f"{height} m",
                allowed=f"0 to the height of the piece, {piece.size[2]} m",
                mend="the last of the three sizes is the height over all",
            )
    if piece.seat_count is not None and piece.seat_count < 0:
        raise InputError(f"seats of {piece.name}", given=piece.seat_count, allowed="0 or more")
    for part in piece.parts or ():
        numbers = (*part.at, *part.size, part.base, part.top)
        if not all(math.isfinite(n) for n in numbers) or part.top <= part.base:
            raise InputError(
                f"part {part.name or '(no name)'} of {piece.name}",
                given=f"base {part.base} m, top {part.top} m, size {part.size}",
                allowed="finite numbers, the top above the base",
            )
        if min(part.size) <= 0 or (part.shape == "ring" and part.size[1] >= part.size[0]):
            raise InputError(
                f"size of part {part.name or '(no name)'} of {piece.name}",
                given=part.size,
                allowed="more than 0; of a ring the outer diameter, then the smaller inner one",
            )


def parts_of(piece: Piece) -> tuple[Part, ...]:
    """The body of a piece: as written, or made from its kind and size.

    Parameters
    ----------
    piece : Piece
        Any piece.

    Returns
    -------
    tuple of Part
        Prisms in the piece's own coordinates, each with the finish it shows:
        the part's own, else `Piece.finishes` by the part's name, else the piece's.

    Raises
    ------
    InputError
        A size is not a finite number of metres, or heights do not fit.
    LookupFailed
        There is no such kind.

    Examples
    --------
    >>> sofa = Piece(name="sofa", kind="sofa", size=(2.2, 0.95, 0.8))
    >>> sorted({part.name for part in parts_of(sofa)})
    ['arms', 'back', 'legs', 'seat']
    """
    _check(piece)
    parts = piece.parts if piece.parts is not None else tuple(_FORMS[kind_of(piece).form](piece))
    return tuple(
        part
        if part.finish
        else Part(
            name=part.name,
            shape=part.shape,
            at=part.at,
            size=part.size,
            base=part.base,
            top=part.top,
            finish=piece.finishes.get(part.name, piece.finish),
            transmits=part.transmits,
        )
        for part in parts
    )


def zones_of(piece: Piece, *, overrides: Mapping[str, float] | None = None) -> tuple[Zone, ...]:
    """The use zones of a piece: as written, or by its kind.

    Parameters
    ----------
    piece : Piece
        Any piece.
    overrides : mapping of str to float, optional
        The project's own rule values.

    Returns
    -------
    tuple of Zone
        With the depth and the reference id of the rule.

    Examples
    --------
    >>> chest = Piece(name="chest", kind="chest of drawers", size=(1.0, 0.48, 0.85))
    >>> [(zone.side, zone.depth) for zone in zones_of(chest)]
    [('front', 0.9)]
    """
    if piece.zones is not None:
        return piece.zones
    return tuple(
        Zone(
            kind=rule.words,
            side=rule.side,
            depth=value(rule.depth, overrides),
            severity=rule.severity,
            rule=rule.depth,
        )
        for rule in zone_rules().get(kind_of(piece).name, ())
    )


def _row(count: int, length: float) -> list[float]:
    """Centres of `count` places evenly along a length about 0."""
    return [length * ((i + 0.5) / count - 0.5) for i in range(count)]


def seats_of(piece: Piece) -> tuple[Seat, ...]:
    """The seats of a piece: as written, or by its kind and length.

    Parameters
    ----------
    piece : Piece
        Any piece.

    Returns
    -------
    tuple of Seat
        In the piece's own coordinates, from left to right.

    Examples
    --------
    >>> sofa = Piece(name="sofa", kind="sofa", size=(2.2, 0.95, 0.8))
    >>> len(seats_of(sofa))
    3
    """
    if piece.seats is not None:
        return piece.seats
    kind = kind_of(piece)
    if kind.form not in ("sofa", "chair", "stool") and kind.name != "ottoman":
        return ()
    w, _, h = piece.size
    arm, back = _sofa_frame(piece) if kind.form == "sofa" else (0.0, 0.0)
    inner = w - 2 * arm
    if piece.seat_count is not None:
        count = piece.seat_count
    elif kind.name in ("sofa", "daybed", "bench"):
        count = max(1, math.floor(inner / value("plan.clear.sofa_person") + 1e-6))
    else:
        count = 1
    height = seat_height_of(piece) or h
    eye = height + value("plan.height.eye_above_seat")
    spots: list[Point] = [(x, -back / 2) for x in _row(count, inner)] if count else []
    return tuple(Seat(at=at, facing=-90.0, height=height, eye=eye) for at in spots)
