"""Whether a piece comes up the way from the street: doors, lifts, corners, stairs.

A piece is carried as a box, packed if its packed size is known; a rug is rolled.
The way between two places is taken to have room to change how it is carried.
What is counted at one place is in `carrying`: "fails" means that nothing counted
there passes. Lifting is work for people who know how; a stair with a heavy
piece on it is a danger to whoever stands below.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from designkit.errors import InputError
from designkit.model import DeliveryStep, Home, Piece, Verdict
from designkit.plan.carrying import Carry, best_carry, check_step
from designkit.plan.measure import combined, judge, plus_minus, within_of
from designkit.plan.pieces import parts_of
from designkit.reference import value
from designkit.units import in_sentence

__all__ = [
    "Delivery",
    "DeliveryPlace",
    "DeliveryWay",
    "TakenOff",
    "carried_size",
    "deliver",
]

Size = tuple[float, float, float]


@dataclass(frozen=True, kw_only=True, eq=False)
class DeliveryPlace:
    """One place on the way with the best way to carry the piece there."""

    index: int  # in the list of steps
    step: DeliveryStep
    name: str
    carry: Carry
    clearance: float  # [m]; less than 0: so much is missing
    required: float
    within: float  # ± of the clearance
    verdict: Verdict
    why: str


@dataclass(frozen=True, kw_only=True, eq=False)
class TakenOff:
    """What would have to come off, and what it gains at the tightest place."""

    what: str
    verdict: Verdict
    clearance: float  # of the then tightest place [m]
    at: str  # name of that place


@dataclass(frozen=True, kw_only=True, eq=False)
class DeliveryWay:
    """One of several ways up, as by lift or by stair."""

    name: str  # "" where there is only one
    places: tuple[DeliveryPlace, ...]
    tightest: DeliveryPlace
    verdict: Verdict


@dataclass(frozen=True, kw_only=True, eq=False)
class Delivery:
    """Whether a piece gets to the flat."""

    size: Size  # as carried: packed, or as it stands
    packed: bool
    ways: tuple[DeliveryWay, ...]
    best: DeliveryWay
    verdict: Verdict
    sentence: str
    off: tuple[TakenOff, ...]


# --- the whole way --------------------------------------------------------------


def _ways(steps: Sequence[DeliveryStep]) -> dict[str, list[int]]:
    names = list(dict.fromkeys(step.way for step in steps if step.way)) or [""]
    return {name: [k for k, step in enumerate(steps) if step.way in ("", name)] for name in names}


def _place(
    index: int, step: DeliveryStep, size: Size, spread: float, rules: Mapping[str, float] | None,
    units: str,
) -> DeliveryPlace:  # fmt: skip
    play = value("plan.delivery.play", rules)
    within = combined(within_of(step.known, overrides=rules), spread)
    carry = best_carry(size, step=step, enough=play + within)
    verdict = judge(carry.clearance, required=play, within=within)
    name = step.name or step.kind

    def say(n: float) -> str:
        return in_sentence(round(abs(n), 6), units=units)

    left = (
        f"{say(carry.clearance)} left"
        if carry.clearance >= 0
        else f"{say(carry.clearance)} is missing"
    )
    return DeliveryPlace(
        index=index,
        step=step,
        name=name,
        carry=carry,
        clearance=carry.clearance,
        required=play,
        within=within,
        verdict=verdict,
        why=f"{name[:1].upper()}{name[1:]}: carried {carry.words}, {left}; "
        f"{say(play)} wanted for hands and blankets (± {say(within)}).",
    )


_RANK: Mapping[Verdict, int] = {"passes": 2, "measure first": 1, "fails": 0}


def _walk(
    steps: Sequence[DeliveryStep], size: Size, spread: float, rules: Mapping[str, float] | None,
    units: str,
) -> list[DeliveryWay]:  # fmt: skip
    done = [_place(k, step, size, spread, rules, units) for k, step in enumerate(steps)]
    ways = []
    for name, indices in _ways(steps).items():
        places = tuple(done[k] for k in indices)
        tightest = min(places, key=lambda p: (_RANK[p.verdict], p.clearance - p.within))
        ways.append(
            DeliveryWay(name=name, places=places, tightest=tightest, verdict=tightest.verdict)
        )
    return ways


def _best(ways: Sequence[DeliveryWay]) -> DeliveryWay:
    for way in ways:  # the first that passes, as they are written
        if way.verdict == "passes":
            return way
    return max(ways, key=lambda way: (_RANK[way.verdict], way.tightest.clearance))


def carried_size(piece: Piece) -> Size:
    """What is carried: a piece in its packing if known, a rug as a roll, else as it stands.

    Parameters
    ----------
    piece : Piece
        Any piece.

    Returns
    -------
    tuple of float
        Width, depth, height. [m]

    Examples
    --------
    >>> rug = Piece(name="rug", kind="rug", size=(3.0, 2.0, 0.012))
    >>> [round(n, 2) for n in carried_size(rug)]
    [2.0, 0.21, 0.21]
    """
    if piece.packed is not None:
        return piece.packed
    w, d, h = piece.size
    if piece.kind == "rug":
        # cross-section of the roll: the area of the edge, closely wound
        round_ = math.sqrt(4 / math.pi * max(w, d) * h)
        return (min(w, d), round_, round_)
    return piece.size


def _feet(piece: Piece) -> float:
    """Height that is gone with the feet or legs off."""
    bodies = [part.base for part in parts_of(piece) if part.name not in ("legs", "stand")]
    return max(0.0, min(bodies, default=0.0))


def _without(
    piece: Piece, steps: Sequence[DeliveryStep], rules: Mapping[str, float] | None
) -> list[tuple[str, Size, tuple[DeliveryStep, ...]]]:
    """What can come off: words, the size then, the steps then; one thing, then two."""
    carried = carried_size(piece)
    w, d, h = piece.size
    feet = _feet(piece)
    leaf = value("plan.delivery.leaf", rules)
    bare = tuple(
        replace(step, width=step.width + leaf) if step.kind == "door" else step for step in steps
    )
    plain = tuple(steps)
    singles: list[tuple[str, Size, tuple[DeliveryStep, ...]]] = []
    if piece.packed is not None:
        singles.append(("the packing", (w, d, h), plain))
    if feet > 0.005 and piece.kind != "rug":
        words = "the feet" if piece.packed is None else "the packing and the feet"
        singles.append((words, (w, d, h - feet), plain))
    if any(step.kind == "door" for step in steps):
        leaf_words = "the leaf of the door"
        more = [(f"{words} and {leaf_words}", size, bare) for words, size, _ in singles]
        singles += [(leaf_words, carried, bare), *more]
    return singles


def deliver(
    piece: Piece,
    *,
    steps: Sequence[DeliveryStep] | Home,
    overrides: Mapping[str, float] | None = None,
    units: str = "m",
) -> Delivery:
    """Whether a piece comes from the street to the flat, and where it is tight.

    Parameters
    ----------
    piece : Piece
        Carried in its packing where `packed` is known.
    steps : sequence of DeliveryStep, or Home
        The places in order; those with a `way` are on that way only. A home
        brings its own, its rules and its units.
    overrides : mapping of str to float, optional
        Rule values that go before those of the home.
    units : str, optional
        Unit of length of the sentences.

    Returns
    -------
    Delivery
        The ways with their places, the best of them, and what would have to
        come off where it does not pass.

    Raises
    ------
    InputError
        There is no step, or a size is missing.

    Examples
    --------
    >>> sofa = Piece(name="sofa", kind="sofa", size=(2.2, 0.95, 0.75))
    >>> deliver(sofa, steps=[DeliveryStep(kind="door", width=0.86, height=2.1)]).verdict
    'passes'
    """
    rules = overrides
    if isinstance(steps, Home):
        rules = {**steps.rules, **(overrides or {})}
        units = steps.units
        steps = steps.delivery
    if not steps:
        raise InputError(
            "delivery route",
            given="no step",
            allowed="the doors, lifts, corners and stairs from the street",
            mend="walk the way with a tape and write them under [[delivery]]",
        )
    for step in steps:
        check_step(step)
    spread = max(plus_minus(piece, axis, overrides=rules) for axis in ("width", "depth", "height"))
    size = carried_size(piece)
    ways = _walk(steps, size, spread, rules, units)
    best = _best(ways)
    off: list[TakenOff] = []
    if best.verdict != "passes":
        for words, smaller, bare in _without(piece, steps, rules):
            then = _best(_walk(bare, smaller, spread, rules, units))
            better = then.tightest.clearance > best.tightest.clearance + 1e-6
            if better and _RANK[then.verdict] > _RANK[best.verdict]:
                off.append(
                    TakenOff(
                        what=words,
                        verdict=then.verdict,
                        clearance=then.tightest.clearance,
                        at=then.tightest.name,
                    )
                )
        off.sort(key=lambda one: (-_RANK[one.verdict], one.what.count(" and ")))
    return Delivery(
        size=size,
        packed=piece.packed is not None,
        ways=tuple(ways),
        best=best,
        verdict=best.verdict,
        sentence=_sentence(piece, best, ways, off, units),
        off=tuple(off),
    )


def _sentence(
    piece: Piece,
    best: DeliveryWay,
    ways: Sequence[DeliveryWay],
    off: Sequence[TakenOff],
    units: str,
) -> str:
    at = best.tightest
    name = f"The {piece.name.split(',')[0].strip()}"
    by = f" by {best.name}" if best.name else ""
    room = in_sentence(round(abs(at.clearance), 6), units=units)
    others = [f"not by {way.name} ({way.tightest.name})" for way in ways if way.verdict == "fails"]
    if best.verdict == "passes":
        text = f"{name} comes up{by}; tightest at the {at.name}, {room} left, {at.carry.words}"
        return f"{text}; {', '.join(others)}." if others else f"{text}."
    if best.verdict == "measure first":
        text = (
            f"Measure the {at.name} and the piece first: {room} "
            f"{'left' if at.clearance >= 0 else 'missing'}{by}, {at.carry.words}"
        )
    else:
        text = f"{name} does not come up{by}: {room} missing at the {at.name}, {at.carry.words}"
        if at.clearance >= 0:
            text = f"{name} does not come up{by}: only {room} left at the {at.name}"
    if off:
        text += f"; it would with {off[0].what} off"
        if off[0].verdict == "measure first":
            text += ", if the tape agrees"
    return f"{text}."
