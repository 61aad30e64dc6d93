"""Furniture in the box: generic pieces by kind and size, and sizes read from text.

The pieces of reference/pieces.csv have no maker and no model: they are what is
usual, to furnish a room before the true piece is found. A size of one's own is
read from W × D × H, in whichever order it was written.
"""

from __future__ import annotations

import functools
import math
import re
import statistics
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import permutations
from types import MappingProxyType
from typing import Literal

from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import Known, Piece
from designkit.plan.pieces import kinds
from designkit.reference import table, value
from designkit.units import in_sentence, read

__all__ = [
    "BoxPiece",
    "SizeText",
    "box",
    "box_groups",
    "find_in_box",
    "piece_from_box",
    "piece_from_size",
    "read_size",
]

Size = tuple[float, float, float]
Axis = Literal["width", "depth", "height"]


@dataclass(frozen=True, kw_only=True)
class BoxPiece:
    """A generic piece, with what is usual for it."""

    id: str
    piece: Piece
    mass: tuple[float, float]  # from, to [kg]
    region: str  # where such a size is sold; "" anywhere
    source: str
    known: str
    note: str


@dataclass(frozen=True, kw_only=True)
class SizeText:
    """A size as it was read from text."""

    size: Size  # width, depth, height [m]
    circle: bool
    order: tuple[Axis, ...]  # in which the text gave them
    said: str  # how it was read, a sentence


@functools.cache
def box() -> Mapping[str, BoxPiece]:
    """The generic pieces of reference/pieces.csv.

    Returns
    -------
    mapping of str to BoxPiece
        In the order of the file: seats, tables, beds, storage, desks, the rest.

    Examples
    --------
    >>> box()["sofa_three"].piece.size
    (2.2, 0.95, 0.8)
    """

    def number(text: str) -> float | None:
        return float(text) if text else None

    found: dict[str, BoxPiece] = {}
    for row in table("pieces"):
        low, high = float(row["mass_low"]), float(row["mass_high"])
        packed = [number(row[f"packed_{axis}"]) for axis in ("width", "depth", "height")]
        w, d, h = packed
        found[row["id"]] = BoxPiece(
            id=row["id"],
            piece=Piece(
                name=row["name"],
                kind=row["kind"],
                shape="circle" if row["shape"] == "circle" else "rectangle",
                size=(float(row["width"]), float(row["depth"]), float(row["height"])),
                seat_height=number(row["seat_height"]),
                arm_height=number(row["arm_height"]),
                mass=(low + high) / 2,
                packed=None if w is None or d is None or h is None else (w, d, h),
                note=row["note"],
                known=Known(source="guess"),
            ),
            mass=(low, high),
            region=row["region"],
            source=row["source"],
            known=row["known"],
            note=row["note"],
        )
    return MappingProxyType(found)


# What a room for each use is furnished with, by kind, and single pieces by id.
_GROUPS: Mapping[str, tuple[str, ...]] = {
    "living": (
        "sofa", "daybed", "armchair", "ottoman", "low table", "side table", "low cabinet",
        "sideboard", "bookcase", "screen", "rug", "floor lamp", "table lamp", "plant", "divider",
        "upright piano",
    ),
    "dining": (
        "dining table", "chair", "bench", "counter", "high stool", "sideboard", "glass_cabinet",
        "rug",
    ),
    "sleeping": (
        "bed", "cot", "bedside table", "wardrobe", "chest of drawers", "table lamp", "mirror",
        "mirror_standing", "daybed", "rug",
    ),
    "working": (
        "desk", "desk chair", "secretary", "bookcase", "table lamp", "floor lamp", "armchair",
    ),
    "halls": (
        "console", "hall_bench", "shoe_cabinet", "coat_stand", "mirror", "mirror_standing",
        "wardrobe", "stool", "runner", "plant",
    ),
}  # fmt: skip


def box_groups() -> Mapping[str, tuple[BoxPiece, ...]]:
    """The generic pieces by what a room is used for; fitted kitchens and bathrooms have none.

    Returns
    -------
    mapping of str to tuple of BoxPiece
        living, dining, sleeping, working, halls. A piece may stand in several.

    Examples
    --------
    >>> list(box_groups())
    ['living', 'dining', 'sleeping', 'working', 'halls']
    """
    found = {}
    for use, names in _GROUPS.items():
        rows: dict[str, BoxPiece] = {}
        for name in names:
            rows |= {id: one for id, one in box().items() if name in (one.piece.kind, id)}
        found[use] = tuple(rows.values())
    return MappingProxyType(found)


def find_in_box(*, kind: str = "", region: str = "") -> tuple[BoxPiece, ...]:
    """Generic pieces of a kind, as sold in a region.

    Parameters
    ----------
    kind : str, optional
        Kind of furniture; "" all.
    region : str, optional
        Pieces sold everywhere and those of this region; "" all.

    Returns
    -------
    tuple of BoxPiece
        In the order of the file.

    Raises
    ------
    LookupFailed
        There is no such kind or region in the box.

    Examples
    --------
    >>> [one.id for one in find_in_box(kind="desk")]
    ['desk', 'desk_small', 'desk_large']
    """
    regions = {one.region for one in box().values() if one.region}
    names = {one.piece.kind for one in box().values()}
    for what, given, known in (("region", region, regions), ("kind", kind, names)):
        if given and given not in known:
            near = nearest(given, known)
            raise LookupFailed(
                f"{what} of the box",
                given=given,
                allowed=", ".join(sorted(known)),
                mend=f"write {near!r}" if near else "use one of these",
            )
    return tuple(
        one
        for one in box().values()
        if (not kind or one.piece.kind == kind)
        and (not region or not one.region or one.region == region)
    )


def piece_from_box(name: str, *, finish: str = "") -> Piece:
    """A generic piece, to place in a layout.

    Parameters
    ----------
    name : str
        Its id in the box, or its name.
    finish : str, optional
        Finish id.

    Returns
    -------
    Piece
        Its dimensions count as guessed until the true piece is known.

    Raises
    ------
    LookupFailed
        There is no such piece; the message names the nearest.

    Examples
    --------
    >>> piece_from_box("sofa for three").size[0]
    2.2
    """
    known = box()
    found = known.get(name)
    if found is None:
        named = [one for one in known.values() if one.piece.name == name]
        if len(named) != 1:
            ids = [*known, *(one.piece.name for one in known.values())]
            near = nearest(name, ids)
            raise LookupFailed(
                "piece in the box",
                given=name,
                allowed=f"one of {len(known)} pieces: {', '.join(known)}",
                mend=f"write {near!r}" if near else "use one of these, or give its size",
            )
        found = named[0]
    return replace(found.piece, finish=finish)


# --- a size as people write it ------------------------------------------------

_UNIT = r"(?:mm|cm|m|in\.?|inch(?:es)?|ft\.?|feet|foot|metres?|meters?)"
_LETTER = {
    **dict.fromkeys(("w", "width", "wide", "l", "length", "long"), "width"),
    **dict.fromkeys(("d", "depth", "deep"), "depth"),
    **dict.fromkeys(("h", "height", "high", "tall"), "height"),
}
_WORD = "|".join(sorted(_LETTER, key=len, reverse=True))
_ROUND = re.compile(r"[øØ⌀]|\b(?:diam(?:eter)?|dia\.?|round)\b", re.IGNORECASE)
_AXES: tuple[Axis, ...] = ("width", "depth", "height")
_FAR = 12.0  # squared spreads between two orders, from which the likelier is asked for
# Orders that people write sizes in, and how usual each is; our assumption, as
# no source counts them. Catalogues of furniture give width, depth, height most.
_ORDERS: Mapping[tuple[Axis, ...], str] = {
    ("width", "depth", "height"): "plan.box.order_wdh",
    ("width", "height", "depth"): "plan.box.order_whd",
    ("depth", "width", "height"): "plan.box.order_dwh",
    ("height", "width", "depth"): "plan.box.order_hwd",
}


@dataclass(frozen=True)
class _Term:
    text: str  # with its unit, if any
    axis: Axis | None
    unit: str  # as written


def _split(text: str) -> list[str]:
    clean = text.replace("\u00a0", " ").replace("*", "×")
    clean = re.sub(r"(?<=[\d\s'\"”″a-z])\s*[xX×]\s*(?=[\d\sWwDdHhLlØø⌀])", " × ", clean)
    clean = re.sub(r"\s+by\s+", " × ", clean)
    return [part.strip(" ,;") for part in clean.split("×")]


def _term(part: str, text: str) -> _Term:
    axis: Axis | None = None
    found = re.match(rf"^(?:({_WORD})\b[\s.:=]*|({_WORD})[.:=]?\s*(?=\d))", part, re.IGNORECASE)
    body = part
    word = ""
    if found:
        word, body = (found[1] or found[2]).lower(), part[found.end() :]
    else:
        behind = rf"(?:\s|(?<=[\d'\"”″]))({_WORD})\.?(\s+{_UNIT})?$"  # 95 d, 95 d cm
        found = re.search(behind, part, re.IGNORECASE)
        if found:
            word, body = found[1].lower(), part[: found.start(1)].strip() + (found[2] or "")
    if word:
        axis = _LETTER[word]  # type: ignore[assignment]
    unit = re.search(rf"({_UNIT}|['\"”″′])\s*$", body, re.IGNORECASE)
    if not re.search(r"\d", body):
        raise _refused(text)
    return _Term(text=body.strip(), axis=axis, unit=unit[1].lower() if unit else "")


def _refused(text: str) -> InputError:
    return InputError(
        "size",
        given=repr(text),
        allowed="width × depth × height with a unit, as 220 × 95 × 80 cm or W220 D95 H80 cm; "
        "of a round piece Ø 90 × 40 cm",
        mend="write the three sizes and the unit",
    )


def _system(unit: str) -> str:
    if not unit:
        return ""
    return "imperial" if unit[0] in "'\"”″′" or unit[:2] in ("in", "ft", "fe", "fo") else "metric"


def _lengths(terms: list[_Term], text: str, units: str) -> list[float]:
    """Each length in metres; a unit behind the last counts for the bare ones."""
    written = {term.unit for term in terms if term.unit}
    systems = {_system(unit) for unit in written}
    if len(systems) > 1:
        raise InputError(
            "size",
            given=repr(text),
            allowed="one system of units in one size: metric or feet and inches",
            mend="write all three in one unit, as 220 × 95 × 80 cm",
        )
    bare = [term for term in terms if not term.unit]
    last = terms[-1].unit
    one = {re.sub(r"[.]|es$", "", unit) for unit in written}
    if bare and written and (len(one) > 1 or not last):
        raise InputError(
            "size",
            given=repr(text),
            allowed="a unit on each of the three, or one unit behind the last",
            mend="write the unit on each, as 2.2 m × 95 cm × 80 cm",
        )
    lengths = []
    for term in terms:
        whole = term.text if term.unit or not last else f"{term.text} {last}"
        lengths.append(read(whole, units=units, what=f"size {text!r}"))
    return lengths


def _check_unit(lengths: list[float], *, kind: str, text: str, units: str, bare: bool) -> None:
    """Ask back where the bare numbers are meant in another unit."""
    usual = kinds()[kind].size
    small, large = min(lengths), max(lengths)
    if not small > 0:
        raise InputError("size", given=repr(text), allowed="more than 0", mend="measure it again")
    fits = max(usual) / 8 <= large <= max(usual) * 4
    if fits:
        return
    others = []
    if bare:
        scale = {"m": 1.0, "cm": 0.01, "mm": 0.001, "in": 0.0254, "ft": 0.3048}
        for other, factor in scale.items():
            if (
                other != units
                and max(usual) / 3 <= large / scale[units] * factor <= max(usual) * 2.5
            ):
                others.append(other)
    if others:
        raise InputError(
            "size",
            given=f"{text!r}, taken in {units}",
            allowed=f"a {kind} of a usual size; in {' or '.join(others)} it would be one",
            mend=f"write the unit: {text.strip()} {others[0]}",
        )
    raise InputError(
        "size",
        given=f"{text!r}: {large:.3g} m at its longest",
        allowed=f"a {kind} of {max(usual) / 8:.2g} to {max(usual) * 4:.2g} m at its longest",
        mend="look at the unit and the kind",
    )


def _spread(kind: str) -> tuple[Size, Size]:
    """Middle and spread, both as logarithms, of a kind's sizes in the box."""
    sizes = [one.piece.size for one in box().values() if one.piece.kind == kind]
    sizes = sizes or [kinds()[kind].size]
    logs = [[math.log(size[axis]) for size in sizes] for axis in range(3)]
    middle = tuple(statistics.fmean(one) for one in logs)
    least = value("plan.box.spread")
    spread = tuple(max(least, statistics.pstdev(one)) for one in logs)
    return (middle[0], middle[1], middle[2]), (spread[0], spread[1], spread[2])


def _off(lengths: Sequence[float], order: tuple[Axis, ...], *, kind: str) -> float:
    """How far from usual sizes of the kind an order would be, in squared spreads."""
    middle, spread = _spread(kind)
    off = 0.0
    for length, axis in zip(lengths, order, strict=True):
        k = _AXES.index(axis)
        off += ((math.log(length) - middle[k]) / spread[k]) ** 2
    return off


def _odds(lengths: Sequence[float], *, kind: str) -> dict[tuple[Axis, ...], float]:
    """How likely each order is, from how usual it is and how usual the size would be."""
    weight = {
        order: math.log(value(rule)) - _off(lengths, order, kind=kind) / 2
        for order, rule in _ORDERS.items()
    }
    top = max(weight.values())
    shares = {order: math.exp(w - top) for order, w in weight.items()}
    whole = sum(shares.values())
    return {order: share / whole for order, share in shares.items()}


def _ordered(lengths: list[float], order: tuple[Axis, ...]) -> Size:
    by = dict(zip(order, lengths, strict=True))
    return (by["width"], by["depth"], by["height"])


def _say(size: Size, units: str) -> str:
    said = [in_sentence(round(n, 6), units=units) for n in size]
    return f"{said[0]} wide, {said[1]} deep, {said[2]} high"


def read_size(text: str, *, kind: str, units: str = "m") -> SizeText:
    """Read width × depth × height in whichever order they are written.

    Letters decide (W220 D95 H80). Without them the four orders that people
    use are weighed by how usual each is and by the sizes that pieces of this
    kind have; where two stay likely it is asked back which is the depth.

    Parameters
    ----------
    text : str
        For example "220 × 95 × 80 cm", '86" x 37" x 31"', "Ø 90 × 40 cm".
    kind : str
        Kind of furniture.
    units : str, optional
        Unit of bare numbers: m, cm, mm, ft or in.

    Returns
    -------
    SizeText
        With a sentence that says how it was read.

    Raises
    ------
    InputError
        It is no size, mixes units, or can be read in two ways.
    LookupFailed
        There is no such kind.

    Examples
    --------
    >>> read_size("95 × 220 × 80 cm", kind="sofa").size
    (2.2, 0.95, 0.8)
    """
    if kind not in kinds():
        near = nearest(kind, kinds())
        raise LookupFailed(
            "kind of furniture",
            given=kind,
            allowed=", ".join(kinds()),
            mend=f"write {near!r}" if near else "use one of these",
        )
    if not isinstance(text, str) or not text.strip():
        raise _refused(str(text))
    circle = bool(_ROUND.search(text))
    plain = _ROUND.sub(" ", text).strip()
    parts = _split(plain)
    lettered = rf"\b({_WORD})[\s.:=]*(?=\d)"
    if len(parts) == 1 and len(re.findall(lettered, plain, re.IGNORECASE)) > 1:
        marks = [m.start() for m in re.finditer(lettered, plain, re.IGNORECASE)]
        parts = [plain[a:b].strip(" ,;/") for a, b in zip(marks, [*marks[1:], len(plain)])]
    if circle and len(parts) == 2:
        parts = [parts[0], parts[0], parts[1]]
        unit = re.search(rf"({_UNIT}|['\"”″])\s*$", parts[2], re.IGNORECASE)
        if unit and not re.search(rf"({_UNIT}|['\"”″])\s*$", parts[0], re.IGNORECASE):
            parts[0] = parts[1] = f"{parts[0]} {unit[1]}"
    if len(parts) != 3:
        raise _refused(text)
    terms = [_term(part, text) for part in parts]
    lengths = _lengths(terms, text, units)
    bare = not any(term.unit for term in terms)
    _check_unit(lengths, kind=kind, text=text, units=units, bare=bare)
    axes = [term.axis for term in terms if term.axis]
    if len(set(axes)) < len(axes):
        raise InputError(
            "size", given=repr(text), allowed="each of W, D and H once", mend="write W, D and H"
        )
    if circle:
        size = (lengths[0], lengths[1], lengths[2])
        said = f"Ø {in_sentence(size[0], units=units)}, {in_sentence(size[2], units=units)} high"
        return SizeText(size=size, circle=True, order=_AXES, said=f"Read as {said}.")
    if axes:
        orders = [
            order
            for order in permutations(_AXES)
            if all(t.axis in (None, a) for t, a in zip(terms, order, strict=True))
        ]
        if len(orders) == 1:
            size = _ordered(lengths, orders[0])
            return SizeText(
                size=size, circle=False, order=orders[0], said=f"Read as {_say(size, units)}."
            )
        allowed = {o: p for o, p in _odds(lengths, kind=kind).items() if o in orders}
        whole = sum(allowed.values())
        odds = {o: p / whole for o, p in allowed.items()} if whole else {}
        if not odds:
            raise _refused(text)
    else:
        odds = _odds(lengths, kind=kind)
    # two orders that give the same size are one reading
    readings: dict[Size, tuple[float, tuple[Axis, ...]]] = {}
    for order, share in odds.items():
        size = _ordered(lengths, order)
        before = readings.get(size)
        first = order if before is None else before[1]
        readings[size] = (share + (before[0] if before else 0.0), first)
    best = max(readings, key=lambda size: readings[size][0])
    share, order = readings[best]
    likelier = min(permutations(_AXES), key=lambda one: _off(lengths, one, kind=kind))
    if not axes and _off(lengths, order, kind=kind) > _off(lengths, likelier, kind=kind) + _FAR:
        # no order that people use makes such a piece, another one would
        share, readings = 0.0, {_ordered(lengths, likelier): (0.0, likelier), **readings}
    if share < value("plan.box.sure"):
        ranked = sorted(readings, key=lambda size: -readings[size][0])[:2]
        raise InputError(
            f"size of a {kind}",
            given=repr(text),
            allowed=f"a size with one reading; this is {_say(ranked[0], units)}, "
            f"or {_say(ranked[1], units)}",
            mend="say which is the depth, with letters: "
            + " × ".join(f"{a[0].upper()}{t.text}" for a, t in zip(readings[ranked[0]][1], terms)),
        )
    usual = order == _AXES
    return SizeText(
        size=best,
        circle=False,
        order=order,
        said=f"Read as {_say(best, units)}"
        + ("." if usual else f", written as {', '.join(order)}."),
    )


def piece_from_size(
    text: str, *, kind: str, units: str = "m", name: str = "", finish: str = ""
) -> Piece:
    """A piece of one's own from its size as it is written on the ticket.

    Parameters
    ----------
    text : str
        Width × depth × height, in either order; see `read_size`.
    kind : str
        Kind of furniture.
    units : str, optional
        Unit of bare numbers.
    name : str, optional
        What it is called; the kind without it.
    finish : str, optional
        Finish id.

    Returns
    -------
    Piece
        Its parts, zones and seats are made from its kind. The size counts as
        given by the seller; heights of seat and arms as usual for the kind.

    Raises
    ------
    InputError, LookupFailed
        As `read_size`.

    Examples
    --------
    >>> piece_from_size("W 220, D 95, H 80 cm", kind="sofa").size
    (2.2, 0.95, 0.8)
    """
    read = read_size(text, kind=kind, units=units)
    return Piece(
        name=name or kind,
        kind=kind,
        size=read.size,
        shape="circle" if read.circle else "rectangle",
        finish=finish,
        known=Known(source="seller"),
    )
