"""Candidates for one place, side by side: what fits, what it costs, when it comes.

Nothing is ranked by a score: comfort and look are words, and a mark is the
client's own. What does not fit or comes too late is said, with by how much.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from designkit.costs.comfort import length_words
from designkit.costs.money import currency, money_text
from designkit.errors import InputError

__all__ = ["Candidate", "CandidateRow", "Comparison", "Place", "compare_candidates"]

FitVerdict = Literal["fits", "does not fit", "measure first"]


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where one of the candidates will stand. [m]"""

    name: str
    width: float  # the most it may take
    depth: float
    height: float | None = None  # None: as the room
    weeks: float | None = None  # until it must be there; None: no day
    cap: Decimal | None = None  # what is kept for it, with tax [currency]
    seat_height: float | None = None  # of what it stands beside, for seats


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """One thing that could stand there. [m]"""

    id: str
    name: str
    size: tuple[float, float, float]  # width, depth, height
    within: float = 0.0  # ± of its size
    all_in: Decimal  # with tax, transports and repair [currency]
    low: Decimal | None = None  # None: as all_in
    high: Decimal | None = None
    weeks: float | None = None  # until it can be there; None: ask
    old: bool = False
    seat_height: float | None = None
    comfort: tuple[str, ...] = ()
    look: tuple[str, ...] = ()
    mark: int | None = None  # 1 to 5, whose it is stands beside
    mark_by: str = ""


@dataclass(frozen=True, kw_only=True, eq=False)
class CandidateRow:
    """One candidate against the place."""

    candidate: Candidate
    fit: FitVerdict
    spare: tuple[float, float, float | None]  # place less size; negative: too large [m]
    weeks_left: float | None  # negative: too late
    under: Decimal | None  # cap less all-in; negative: over
    beaten_by: tuple[str, ...]  # ids that are no worse in fit, price and time, and better in one
    words: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class Comparison:
    """All candidates for a place, in the order given."""

    place: Place
    currency: str
    rows: tuple[CandidateRow, ...]
    answer: str


_FIT_ORDER = {"fits": 0, "measure first": 1, "does not fit": 2}


def _check(place: Place, candidates: Sequence[Candidate]) -> None:
    for name, number in (("width", place.width), ("depth", place.depth), ("height", place.height)):
        if number is not None and not (math.isfinite(number) and number > 0):
            raise InputError(
                f"place {place.name}, {name}", given=number, allowed="> 0 m", mend="measure it"
            )
    if not candidates:
        raise InputError("candidates", given="none", allowed="one or more", mend="name what is on")
    seen: set[str] = set()
    for one in candidates:
        what = f"candidate {one.id}"
        if one.id in seen:
            raise InputError(what, given=one.id, allowed="each id once", mend="rename one")
        seen.add(one.id)
        if not all(math.isfinite(x) and x > 0 for x in one.size):
            raise InputError(f"{what}, size", given=one.size, allowed="> 0 m", mend="measure it")
        if not (math.isfinite(one.within) and one.within >= 0):
            raise InputError(f"{what}, within", given=one.within, allowed=">= 0 m", mend="0.01")
        low = one.all_in if one.low is None else one.low
        high = one.all_in if one.high is None else one.high
        if not all(x.is_finite() for x in (low, one.all_in, high)):
            raise InputError(f"{what}, price", given=one.all_in, allowed="a number", mend="ask")
        if not 0 <= low <= one.all_in <= high:
            raise InputError(
                f"{what}, price",
                given=f"{low}, {one.all_in}, {high}",
                allowed="0 <= low <= all_in <= high",
                mend="put the three in order",
            )
        if one.mark is not None and one.mark not in range(1, 6):
            raise InputError(
                f"{what}, mark",
                given=one.mark,
                allowed="1 to 5, whole",
                mend="5 is what the client likes best",
            )
        if one.weeks is not None and not (math.isfinite(one.weeks) and one.weeks >= 0):
            raise InputError(f"{what}, weeks", given=one.weeks, allowed=">= 0", mend="ask")


def _fit(place: Place, one: Candidate) -> tuple[FitVerdict, tuple[float, float, float | None]]:
    height = None if place.height is None else place.height - one.size[2]
    spare = (place.width - one.size[0], place.depth - one.size[1], height)
    least = min(x for x in spare if x is not None)
    # A millionth of a metre is noise of the subtraction.
    if least >= one.within - 1e-6:
        return "fits", spare
    if least >= -one.within - 1e-6:
        return "measure first", spare
    return "does not fit", spare


def _no_worse(one: tuple[int, Decimal, float], other: tuple[int, Decimal, float]) -> bool:
    return one[0] <= other[0] and one[1] <= other[1] and one[2] <= other[2]


def compare_candidates(
    place: Place, *, candidates: Sequence[Candidate], code: str = "EUR", units: str = "m"
) -> Comparison:
    """Candidates for one place beside each other, none of them ruled out in silence.

    Parameters
    ----------
    place : Place
        What the plan leaves for it.
    candidates : sequence of Candidate
        Old and new alike, each with its all-in price.
    code : str
        Currency, ISO 4217.
    units : str
        The project's unit of length, for the words.

    Returns
    -------
    Comparison
        In the order given. A candidate is beaten by another that is no worse
        in fit, price and time and better in one; comfort and look are yours.

    Raises
    ------
    InputError
        No candidate, an id twice, or a number that is none.
    LookupFailed
        The currency is unknown.
    """
    currency(code)
    _check(place, candidates)
    fits = {one.id: _fit(place, one) for one in candidates}

    def key(one: Candidate) -> tuple[int, Decimal, float]:
        weeks = math.inf if one.weeks is None else one.weeks
        if place.weeks is not None and weeks <= place.weeks:
            weeks = 0.0  # early enough is early enough
        return _FIT_ORDER[fits[one.id][0]], one.all_in, weeks

    rows = []
    for one in candidates:
        mine = key(one)
        beaten = tuple(
            other.id
            for other in candidates
            if other is not one and _no_worse(key(other), mine) and key(other) != mine
        )
        fit, spare = fits[one.id]
        left = None if place.weeks is None or one.weeks is None else place.weeks - one.weeks
        under = None if place.cap is None else place.cap - one.all_in
        rows.append(
            CandidateRow(
                candidate=one,
                fit=fit,
                spare=spare,
                weeks_left=left,
                under=under,
                beaten_by=beaten,
                words=_words(place, one, fit, spare, left, under, code, units),
            )
        )
    good = [
        r
        for r in rows
        if r.fit == "fits"
        and (r.under is None or r.under >= 0)
        and (place.weeks is None or (r.weeks_left is not None and r.weeks_left >= 0))
    ]
    # Only what was asked is said to be met.
    many = [f"fit {place.name}"]
    one_ = [f"fits {place.name}"]
    if place.weeks is not None:
        many.append("come in time")
        one_.append("comes in time")
    if place.cap is not None:
        many.append("stay in the sum")
        one_.append("stays in the sum")
    if not good:
        answer = f"None of {len(rows)} {_and(one_)}."
    else:
        cheapest = min(good, key=lambda r: r.candidate.all_in).candidate
        answer = (
            f"{len(good)} of {len(rows)} {_and(many if len(good) > 1 else one_)}; the cheapest is "
            f"{cheapest.name}, {money_text(cheapest.all_in, code=code)} all-in."
        )
        marks = [r.candidate.mark for r in rows if r.candidate.mark is not None]
        if marks:
            best = [r.candidate for r in rows if r.candidate.mark == max(marks)]
            liked = _and([one.name for one in best])
            answer += f" Liked best, {max(marks)} of 5: {liked}."
    return Comparison(place=place, currency=code, rows=tuple(rows), answer=answer)


def _and(parts: Sequence[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def _words(
    place: Place,
    one: Candidate,
    fit: FitVerdict,
    spare: tuple[float, float, float | None],
    left: float | None,
    under: Decimal | None,
    code: str,
    units: str,
) -> tuple[str, ...]:
    def length(metres: float) -> str:
        return length_words(metres, units=units)

    said = []
    for name, room in zip(("width", "depth", "height"), spare, strict=True):
        if room is None or (fit == "fits" and room >= one.within - 1e-6):
            continue
        if room < -one.within - 1e-6:
            said.append(f"{length(abs(room))} too much in {name}")
        elif room < one.within - 1e-6:
            said.append(f"measure first: {name} within {length(one.within)} of the place")
    if one.weeks is None:
        said.append("ask when it can be there")
    elif left is not None and left < 0:
        said.append(f"{-left:g} weeks too late")
    if under is not None and under < 0:
        said.append(f"{money_text(-under, code=code)} over what is kept for it")
    if one.high is not None and place.cap is not None and one.all_in <= place.cap < one.high:
        said.append(f"could come to {money_text(one.high, code=code)}")
    if place.seat_height is not None and one.seat_height is not None:
        step = one.seat_height - place.seat_height
        if round(step * 1000):
            side = "higher" if step > 0 else "lower"
            said.append(f"seat {length(abs(step))} {side} than what it stands beside")
    return tuple(said)
