"""On the spot: does a piece that somebody holds for a day fit, and what must be measured.

Four questions, one answer: where it can stand, which heights must agree,
whether it comes up the way from the street, and what it costs all-in against
what is planned on its line.
"""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal

from designkit.analyses.of_layout import LayoutResult
from designkit.analyses.of_layout import layout as whole_layout
from designkit.analyses.pick import home_of, layout_id
from designkit.costs.lines import price as price_lines
from designkit.costs.money import money_text
from designkit.costs.pieces import AllIn, all_in
from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import (
    CostLine,
    Edit,
    Finding,
    Home,
    Known,
    Layout,
    Piece,
    Placement,
    Point,
    Project,
)
from designkit.plan.box import SizeText, piece_from_size, read_size
from designkit.plan.case import Case, case_of, short_name
from designkit.plan.delivery import Delivery, deliver
from designkit.plan.findings import findings_of
from designkit.plan.pieces import kind_of
from designkit.plan.standing import free_poses, stands_at_wall
from designkit.units import file_text

__all__ = ["Fits", "FitsMoney", "Stand", "fits", "keep_edits"]

Answer = Literal["yes", "no", "measure first"]
CANDIDATE = "candidate"
_HARD = ("law here", "safety", "tight")
_TIPS = "plan.clear.anti_tip_height"  # to be done when it stands, no question of fitting
_LOOKED_AT = 3  # places judged with all routes and views, for the answer on the spot


@dataclass(frozen=True, kw_only=True, eq=False)
class Stand:
    """One place where the piece could stand."""

    where: str  # in words
    room: str
    at: Point
    rotation: float
    placement: str  # id of the placement in `layout`
    layout: Layout  # the whole arrangement with it
    verdict: Literal["passes", "fails", "measure first"]
    spoils: tuple[Finding, ...]  # what does not pass and did before, worst first
    heights: tuple[Finding, ...]  # heights that must agree with it
    tips: tuple[Finding, ...]  # whether it has to be held back from tipping


@dataclass(frozen=True, kw_only=True, eq=False)
class FitsMoney:
    """The all-in price against what is planned."""

    line: str  # cost line id
    planned: Decimal  # of that line, with tax
    price: Decimal  # of the candidate on that line, with tax
    left: Decimal  # on the line; below 0: over it
    all_in: AllIn
    sentence: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Fits:
    """The answer on the spot."""

    answer: Answer
    sentence: str  # the whole answer in one sentence
    sentences: tuple[str, ...]  # one a question
    measure: tuple[str, ...]  # what to measure before one pays
    piece: Piece
    read: SizeText
    layout: str  # id
    replaces: str  # placement that it stands in for; "" none
    stands: tuple[Stand, ...]  # best first; those that spoil something after
    delivery: Delivery | None  # None: no way up is written down
    money: FitsMoney | None  # None: no price, or no line


# --- what it stands in for ------------------------------------------------------


def _replaced(home: Home, layout: Layout, kind: str) -> str:
    """The placement of the same kind: the first that is not locked."""
    found = [
        id
        for id, one in layout.pieces.items()
        if (item := home.pieces.get(one.item or id)) is not None and item.kind == kind
    ]
    free = [id for id in found if not layout.pieces[id].locked]
    return (free or found or [""])[0]


def _hosted(home: Home, layout: Layout, kind: str) -> str:
    """Piece id of chairs that stand at a table, where the kind stands only so."""
    for id, one in layout.pieces.items():
        table = home.pieces.get(one.item or id)
        if table is not None and table.chairs is not None:
            chair = home.pieces.get(table.chairs.piece)
            if chair is not None and chair.kind == kind:
                return table.chairs.piece
    return ""


def _with(
    home: Home, layout: Layout, piece: Piece, id: str, spot: Placement
) -> tuple[Home, Layout]:
    pieces = {**home.pieces, CANDIDATE: piece}
    there = {**layout.pieces, id: spot}
    return replace(home, pieces=pieces), replace(layout, pieces=there)


def _same_back(piece: Piece, old: Piece, spot: Placement) -> Placement:
    """The new piece with its back where the old one's was."""
    if not stands_at_wall(piece):
        return replace(spot, item=CANDIDATE)
    turn = math.radians(spot.rotation)
    forward = (old.size[1] - piece.size[1]) / 2  # towards the back
    x = spot.at[0] - math.sin(turn) * forward
    y = spot.at[1] + math.cos(turn) * forward
    return replace(spot, item=CANDIDATE, at=(round(x, 4), round(y, 4)))


_WINDS = ("north", "north-west", "west", "south-west", "south", "south-east", "east", "north-east")


def _compass(rotation: float, north: float) -> str:
    """The side of the room that a piece has its back to."""
    back = rotation + 90.0 - north  # counter-clockwise from north
    return _WINDS[round(back / 45.0) % 8]


def _key(row: Finding) -> tuple[str, tuple[str, ...]]:
    return row.rule, row.about


def _fresh(rows: Sequence[Finding], before: Sequence[Finding]) -> tuple[Finding, ...]:
    """What does not pass now and stood better before."""
    rank = {"fails": 2, "measure first": 1, "passes": 0}
    was: dict[tuple[str, tuple[str, ...]], int] = {}
    for row in before:
        was[_key(row)] = max(was.get(_key(row), 0), rank[row.verdict])
    out = [row for row in rows if rank[row.verdict] > was.get(_key(row), 0)]
    order = ("law here", "safety", "tight", "inconvenient", "note")
    out.sort(key=lambda row: (row.verdict != "fails", order.index(row.severity)))
    return tuple(out)


def _stand(
    where: str, home: Home, layout: Layout, id: str, before: Sequence[Finding], case: Case,
    result: LayoutResult | None,
) -> Stand:  # fmt: skip
    rows = tuple(result.findings) if result is not None else findings_of(case)
    about = {id, *(key for key, thing in case.placed.items() if thing.item == CANDIDATE)}
    heights = tuple(
        row
        for row in rows
        if row.rule.startswith("plan.height.") and about & set(row.about)
        and row.rule != "plan.height.ceiling"
    )  # fmt: skip
    spoils = tuple(row for row in _fresh(rows, before) if row not in heights and row.rule != _TIPS)
    tips = tuple(row for row in rows if row.rule == _TIPS and about & set(row.about))
    hard = [row for row in spoils if row.severity in _HARD]
    verdict: Literal["passes", "fails", "measure first"] = "passes"
    if any(row.verdict == "fails" for row in hard):
        verdict = "fails"
    elif hard:
        verdict = "measure first"
    thing = case.placed.get(id)
    at = thing.at if thing is not None else (0.0, 0.0)
    space = case.space_of.get(id)
    return Stand(
        where=where,
        room=space.rooms[0] if space is not None else "",
        at=at,
        rotation=thing.rotation if thing is not None else 0.0,
        placement=id,
        layout=layout,
        verdict=verdict,
        spoils=spoils,
        heights=heights,
        tips=tips,
    )


_ORDER = {"passes": 0, "measure first": 1, "fails": 2}


def _score(stand: Stand) -> tuple[int, int, int]:
    hard = sum(row.severity in _HARD for row in stand.spoils if row.verdict == "fails")
    return _ORDER[stand.verdict], hard, len(stand.spoils)


def _stands(
    home: Home, layout: Layout, piece: Piece, before: LayoutResult
) -> tuple[str, list[Stand]]:
    """What it stands in for, and the places that were looked at, best first."""
    kind = piece.kind
    old_id = _replaced(home, layout, kind)
    hosted = "" if old_id else _hosted(home, layout, kind)
    if hosted:
        changed = replace(home, pieces={**home.pieces, hosted: piece})
        result = whole_layout(changed, layout=layout, quick=True)
        case = case_of(changed, layout)
        id = next(key for key, thing in case.placed.items() if thing.item == hosted)
        about = _stand(
            f"as the {short_name(home.pieces[hosted].name)} at its table",
            changed, layout, id, before.findings, case, result,
        )  # fmt: skip
        heights = tuple(
            row
            for row in result.findings
            if row.rule.startswith("plan.height.")
            and any(case.placed[k].item == hosted for k in row.about if k in case.placed)
        )
        return hosted, [replace(about, heights=heights)]
    tries: list[tuple[str, str, Placement]] = []
    start = case_of(home, layout)
    near: Point | None = None
    without: set[str] = set()
    id = CANDIDATE
    if old_id:
        spot = layout.pieces[old_id]
        old = home.pieces[spot.item or old_id]
        if old.chairs is not None and piece.chairs is None:
            piece = replace(piece, chairs=old.chairs)
        id, near, without = old_id, spot.at, {old_id}
        where = f"in place of the {short_name(old.name)}"
        tries.append((where, id, _same_back(piece, old, spot)))
    for pose in free_poses(start, piece, without=without, near=near, most=10):
        room = home.rooms[pose.room].name
        where = f"in the {room}"
        if pose.wall is not None:
            where = f"on the {_compass(pose.rotation, home.north)} wall of the {room}"
        tries.append((where, id, Placement(at=pose.at, rotation=pose.rotation, item=CANDIDATE)))
    quick = []
    for where, key, spot in tries:
        with_home, with_layout = _with(home, layout, piece, key, spot)
        case = case_of(with_home, with_layout)
        seen = _stand(where, with_home, with_layout, key, before.findings, case, None)
        quick.append((seen, with_home, case))
    quick.sort(key=lambda one: _score(one[0]))
    first = quick[:_LOOKED_AT]
    if old_id and not any(s.where.startswith("in place") for s, _, _ in first):
        first += [one for one in quick if one[0].where.startswith("in place")][:1]
    done = []
    for seen, with_home, case in first:
        result = whole_layout(with_home, layout=seen.layout, quick=True)
        done.append(
            _stand(
                seen.where, with_home, seen.layout, seen.placement, before.findings, case, result
            )
        )
    done.sort(key=_score)
    return old_id, done


# --- money ------------------------------------------------------------------------


def _line_of(project: Project, item: str, line: str) -> CostLine | None:
    if line:
        found = next((one for one in project.costs if one.id == line), None)
        if found is None:
            names = [one.id for one in project.costs]
            near = nearest(line, names)
            raise LookupFailed(
                "cost line",
                given=line,
                allowed=f"the id of a line in costs.csv; nearest: {near or 'none'}",
                mend=f"write {near!r}" if near else "use one of these",
            )
        return found
    if not item:
        return None
    return next(
        (
            one
            for one in project.costs
            if one.piece == item and one.kind == "purchase" and not one.alternative_of
        ),
        None,
    )


def _money(project: Project, line: CostLine, price: Decimal) -> FitsMoney:
    home = project.home
    if not price.is_finite() or price < 0:
        raise InputError(
            "price", given=price, allowed="0 or more", mend="give what the ticket says"
        )
    old = tuple(id for id, piece in home.pieces.items() if piece.old)
    ours = replace(
        line, likely=price, low=None, high=None, trade_price=None, client_price=None,
        currency="", rate=None, rate_date="", status="quoted",
    )  # fmt: skip
    stays = [
        one
        for one in project.costs
        if one.piece == line.piece and one.piece and not one.alternative_of and one.id != line.id
    ]
    planned = price_lines([line], money=home.money, old=old, overrides=home.rules)[0].gross
    now = price_lines([ours, *stays], money=home.money, old=old, overrides=home.rules)
    cost = all_in(now, piece=line.piece, code=home.money.currency) if line.piece else None
    if cost is None:
        now = tuple(replace(x, line=replace(x.line, piece="x")) for x in now)
        cost = all_in(now, piece="x", code=home.money.currency)
    code = home.money.currency
    left = planned - now[0].gross
    many = f" for {line.quantity:g}" if line.quantity != 1 else ""
    word = "left on" if left >= 0 else "over"
    return FitsMoney(
        line=line.id,
        planned=planned,
        price=now[0].gross,
        left=left,
        all_in=cost,
        sentence=(
            f"All-in {money_text(cost.total, code=code)} with tax{many}: "
            f"{money_text(now[0].gross, code=code)} against {money_text(planned, code=code)} "
            f"planned, {money_text(abs(left), code=code)} {word} the line {line.id}."
        ),
    )


# --- the answer ---------------------------------------------------------------------


def _guessed_heights(piece: Piece, heights: Sequence[Finding]) -> list[str]:
    kind = kind_of(piece)
    asked = []
    if kind.seat_height is not None and piece.seat_height is None and kind.form != "stool":
        asked.append("the height of its seat" if kind.form != "bed" else "the top of its mattress")
    if kind.arm_height and piece.arm_height is None and any(
        row.rule == "plan.height.apron" for row in heights
    ):  # fmt: skip
        asked.append("the height of its arms")
    return asked


def _heights_sentence(stand: Stand) -> str:
    rows = stand.heights
    if not rows:
        return "No height beside it has to agree."
    bad = [row for row in rows if row.verdict == "fails"]
    open_ = [row for row in rows if row.verdict == "measure first"]
    if bad:
        return f"{bad[0].what}: {bad[0].why} {bad[0].mend}".strip()
    if open_:
        return f"Heights are close: {open_[0].what}. {open_[0].why}"
    return f"Heights agree: {'; '.join(row.what for row in rows[:3])}."


def fits(
    project: Project | Home,
    *,
    size: str,
    kind: str,
    layout: str = "",
    price: Decimal | float | str | None = None,
    line: str = "",
    name: str = "",
    seat_height: float | None = None,
) -> Fits:
    """Whether a piece fits a layout, the way up and its cost line.

    Parameters
    ----------
    project : Project or Home
        The home; a project brings its cost lines too.
    size : str
        Width × depth × height as on the ticket; see `plan.box.read_size`.
    kind : str
        Kind of furniture.
    layout : str, optional
        A layout's id; "" the home's current one.
    price : Decimal, float or str, optional
        Price of one piece, in the project's currency and as its lines count
        tax.
    line : str, optional
        Cost line id that pays for it; "" that of the piece it stands in for.
    name : str, optional
        What it is called.
    seat_height : float, optional
        Of its seat, where it was measured. [m]

    Returns
    -------
    Fits
        Yes, no, or what to measure first, with a sentence a question.

    Raises
    ------
    InputError
        The size cannot be read or has two readings; the price is negative.
    LookupFailed
        There is no such kind, layout or cost line.

    Examples
    --------
    >>> from designkit.model import Room
    >>> room = Room(name="room", outline=((0, 0), (5, 0), (5, 4), (0, 4)), height=2.6)
    >>> home = Home(name="one room", rooms={"r": room}, layouts={"a": Layout(name="A")},
    ...             layout="a")
    >>> fits(home, size="220 × 95 × 80 cm", kind="sofa").stands[0].verdict
    'passes'
    """
    home = home_of(project)
    id = layout_id(home, layout)
    plan = home.layouts[id]
    read = read_size(size, kind=kind, units=home.units)
    piece = piece_from_size(size, kind=kind, units=home.units, name=name)
    if seat_height is not None:
        measured = {"seat_height": Known(source="measured")}
        piece = replace(piece, seat_height=seat_height, known_of=measured)
    before = whole_layout(home, layout=plan, quick=True)
    replaces, stands = _stands(home, plan, piece, before)
    delivery = deliver(piece, steps=home) if home.delivery else None
    money, cost_words = _priced(project, plan, replaces, price, line)
    measure: list[str] = []
    sentences = [read.said]
    best = stands[0] if stands else None
    if best is None:
        where = "It stands nowhere: no wall or floor of its size is free."
        if replaces:
            where += f" It was tried in place of the {home.pieces[_item(plan, replaces)].name}."
    elif best.verdict == "passes":
        others = [s.where for s in stands[1:] if s.verdict == "passes" and s.where != best.where]
        where = f"It stands {best.where}"
        where += f", or {others[0]}." if others else "."
        if best.spoils:
            row = best.spoils[0]
            where += f" {row.what}: {row.why}"
    elif best.verdict == "measure first":
        row = next(r for r in best.spoils if r.severity in _HARD)
        where = f"It may stand {best.where}, if the tape agrees: {row.what}. {row.why}"
        measure.append(row.what[:1].lower() + row.what[1:])
    else:
        row = next(r for r in best.spoils if r.severity in _HARD and r.verdict == "fails")
        where = f"Even the best place, {best.where}, spoils something: {row.what}. {row.why}"
    sentences.append(where)
    if best is not None:
        sentences.append(_heights_sentence(best))
        sentences += [f"{row.what}: {row.why} {row.mend}".strip() for row in best.tips]
        measure += _guessed_heights(piece, best.heights)
    if delivery is not None:
        sentences.append(delivery.sentence)
        if delivery.verdict == "measure first":
            measure.append(f"the {delivery.best.tightest.name}, and the piece as it is carried")
    else:
        sentences.append("Nothing says how it comes up: no way from the street is written down.")
        measure.append("the way from the street: doors, lift, corners, stairs")
    if cost_words:
        sentences.append(cost_words)
    answer: Answer = "yes"
    reasons = []
    if best is None or best.verdict == "fails":
        reasons.append("it has no place" if best is None else f"{best.spoils[0].what}")
    if delivery is not None and delivery.verdict == "fails":
        reasons.append("it does not come up")
    if money is not None and money.left < 0:
        over = money_text(-money.left, code=home.money.currency)
        reasons.append(f"it is {over} over its line")
    if reasons:
        answer = "no"
        sentence = f"No: {', and '.join(reasons)}."
    elif measure:
        answer = "measure first"
        sentence = f"Measure first: {'; '.join(measure)}."
    else:
        assert best is not None
        sentence = f"Yes: {best.where}."
    return Fits(
        answer=answer,
        sentence=sentence,
        sentences=tuple(sentences),
        measure=tuple(measure),
        piece=piece,
        read=read,
        layout=id,
        replaces=replaces,
        stands=tuple(stands),
        delivery=delivery,
        money=money,
    )


def _item(layout: Layout, placement: str) -> str:
    spot = layout.pieces.get(placement)
    return placement if spot is None else spot.item or placement


def _priced(
    project: Project | Home,
    layout: Layout,
    replaces: str,
    price: Decimal | float | str | None,
    line: str,
) -> tuple[FitsMoney | None, str]:
    if price is None:
        return None, ""
    try:
        amount = Decimal(str(price))
    except ArithmeticError:
        raise InputError(
            "price", given=price, allowed="a number", mend="write it without its sign"
        ) from None
    if not isinstance(project, Project):
        return None, "No cost lines were given: the price is not held against any."
    found = _line_of(project, _item(layout, replaces) if replaces else "", line)
    if found is None:
        return None, (
            "No cost line is planned for it: name the one that pays for it to see what is left."
        )
    money = _money(project, found, amount)
    return money, money.sentence


# --- kept as a candidate --------------------------------------------------------------


def keep_edits(
    project: Project,
    result: Fits,
    *,
    name: str,
    held_until: str = "",
    seller: str = "",
    photo: str = "",
    price: Decimal | float | str | None = None,
) -> tuple[Edit, ...]:
    """The changes that keep a piece as a candidate in the project.

    Parameters
    ----------
    project : Project
        Gets the piece, and with a price a cost line that is an alternative.
    result : Fits
        The answer that it is kept from.
    name : str
        What it is called; its id is made from it.
    held_until : str, optional
        Day until which it is held, year-month-day.
    seller : str, optional
        Who holds it, by role.
    photo : str, optional
        A file in the project folder.
    price : Decimal, float or str, optional
        Price of one; without it no cost line is made.

    Returns
    -------
    tuple of Edit
        For `designkit.project.apply` and `save`. The line stands beside the
        one it could replace, so no total changes.

    Raises
    ------
    InputError
        The name makes no id, or the day is none.
    """
    stem = re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_")
    if not stem:
        raise InputError(
            "name of a candidate", given=repr(name), allowed="letters and digits",
            mend="call it by kind and size",
        )  # fmt: skip
    if held_until:
        try:
            datetime.date.fromisoformat(held_until)
        except ValueError:
            raise InputError(
                "held until", given=held_until, allowed="a date as 2026-09-01",
                mend="write year-month-day",
            ) from None  # fmt: skip
    home = project.home
    id, number = stem, 2
    while id in home.pieces or id in home.fixtures:
        id, number = f"{stem}_{number}", number + 1
    piece = result.piece
    entry: dict[str, object] = {
        "name": name,
        "kind": piece.kind,
        "size": [file_text(n, units=home.units) for n in piece.size],
    }
    if piece.shape == "circle":
        entry["shape"] = "circle"
    if piece.seat_height is not None:
        entry["seat_height"] = file_text(piece.seat_height, units=home.units)
    entry["note"] = f"candidate for {result.replaces}" if result.replaces else "candidate"
    for key, text in (("photo", photo), ("seller", seller), ("held_until", held_until)):
        if text:
            entry[key] = text
    entry["known"] = "seller"
    edits = [Edit(path=f"pieces.{id}", old=None, new=entry)]
    if price is not None and result.money is not None:
        old = next(one for one in project.costs if one.id == result.money.line)
        line, number = f"{id}_buy", 2
        taken = {one.id for one in project.costs}
        while line in taken:
            line, number = f"{id}_buy_{number}", number + 1
        row: dict[str, object] = {
            "piece": id,
            "item": name,
            "room": old.room,
            "category": old.category,
            "kind": "purchase",
            "supplier": seller,
            "quantity": str(old.quantity),
            "unit": old.unit,
            "likely": str(price),
            "alternative_of": old.id,
            "status": "quoted",
            "note": f"held until {held_until}" if held_until else "",
        }
        filled = {key: text for key, text in row.items() if text}
        edits.append(Edit(path=f"costs.{line}", old=None, new=filled))
    return tuple(edits)
