"""Questions of a budget that need more than its lines: candidates for a place, fee models."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from designkit.costs.candidates import Candidate, Comparison, Place, compare_candidates
from designkit.costs.comfort import comfort
from designkit.costs.fees import FeeModel, FeePart, fee_of
from designkit.costs.lines import price
from designkit.costs.money import money_text
from designkit.costs.pieces import all_in
from designkit.costs.scenarios import choices, resolve
from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import CostLine, Home, Piece, Project
from designkit.plan.pieces import kind_of, seat_height_of, seats_of
from designkit.schedule.dates import latest_orders

__all__ = ["FeeWay", "candidates_for", "fee_ways", "lines_with_choices"]


def lines_with_choices(project: Project) -> tuple[CostLine, ...]:
    """Lines as drawn that have alternatives.

    Parameters
    ----------
    project : Project
        Its lines.

    Returns
    -------
    tuple of CostLine
        In their order.
    """
    offers = choices(project.costs)
    drawn = {line.id: line for line in project.costs}
    return tuple(drawn[slot] for slot, options in offers.items() if len(options) > 1)


def _weeks(line: CostLine) -> float | None:
    return None if line.lead_time is None else float(line.lead_time)


def _comfort(home: Home, piece: Piece | None) -> tuple[str, ...]:
    """The seat against the people of the brief; nothing for what is no seat."""
    if piece is None or not seats_of(piece):
        return ()
    height = seat_height_of(piece)
    form = kind_of(piece).form
    found = comfort(
        home.brief.people,
        seat_height=height,
        seat_depth=piece.seat_depth,
        back=piece.size[2] - height if height is not None and form != "stool" else None,
        easy=form == "sofa",
        units=home.units,
        overrides=home.rules,
    )
    words = list(found.words)
    if found.missing and form != "stool":
        words.append(f"not given: {', '.join(found.missing)}")
    return tuple(words)


def _look(
    project: Project, *, drawn: CostLine, option: CostLine, piece: Piece | None
) -> tuple[str, ...]:
    """Its finish against walls and floor of its room, and what it does to the shares."""
    home = project.home
    id = option.more.get("finish", "").strip() or (piece.finish if piece is not None else "")
    if id not in home.finishes:
        return ()
    # The scheme draws on scenes, which only this picture of the budget needs.
    from designkit.analyses.of_scheme import balance
    from designkit.palette.contrast import EdgeLimits, Meeting, edges
    from designkit.palette.finishes import resolve_all

    limits = EdgeLimits.of(home.rules)
    values = resolve_all(home.finishes, overrides=home.rules)
    mine = values[id]
    sheen = mine.sheen or "sheen not said"
    words = [f"{mine.name}: {mine.counts_as}, L* {mine.lightness:.0f}, {sheen}"]
    room = home.rooms.get(option.room or drawn.room)
    if room is not None:
        for what, other in (("wall", room.wall), ("floor", room.floor)):
            if other not in values:
                continue
            met = Meeting(a=option.id, b=what, finish_a=id, finish_b=other, how="in front")
            (edge,) = edges([met], finishes=values, limits=limits)
            way = "with" if edge.called == "reads as one" else "before"
            words.append(f"{edge.called} {way} the {what}, ΔL* {edge.contrast.farthest:.0f}")
    if home.layouts and drawn.piece in home.pieces:
        new = replace(piece or home.pieces[drawn.piece], finish=id)
        pieces = {**home.pieces, drawn.piece: new}
        before, after = balance(home), balance(replace(home, pieces=pieces))
        moved = [
            f"{name} {100 * after.shares[name]:.1f} % for {100 * before.shares[name]:.1f} %"
            for name in ("black", "dark", "light", "patterned")
            if abs(after.shares[name] - before.shares[name]) >= 0.0005
        ]
        if moved:
            words.append(f"by area {', '.join(moved)}")
    return tuple(words)


def _mark(option: CostLine) -> int | None:
    """The client's mark as it is written; 1 to 5 is checked with the rest."""
    text = option.more.get("mark", "").strip()
    if not text:
        return None
    if not text.isdigit():
        raise InputError(
            f"mark of {option.id}", given=text, allowed="1 to 5, whole", mend="5 is best"
        )
    return int(text)


def candidates_for(
    project: Project, *, line: str, today: str | datetime.date, cap: Decimal | None = None
) -> Comparison:
    """The ways to have a line, compared for the place where its piece stands.

    Parameters
    ----------
    project : Project
        The project.
    line : str
        A line as drawn that has alternatives.
    today : str or date
        The day to count weeks from.
    cap : Decimal, optional
        What is kept for it, with tax. [currency]

    Returns
    -------
    Comparison
        As drawn first. The place is as large as the piece that is drawn; the
        all-in price holds transports, repair and all other lines of the piece.

    Raises
    ------
    LookupFailed
        The line is not there, or it has no alternative.
    InputError
        A line has what is not allowed.
    """
    home = project.home
    offers = {x.id: x for x in lines_with_choices(project)}
    if line not in offers:
        near = nearest(line, offers)
        raise LookupFailed(
            "line",
            given=line,
            allowed=", ".join(offers) or "no line has an alternative",
            mend=f"did you mean {near}?" if near else "write a line with alternative_of",
        )
    drawn = offers[line]
    code = home.money.currency
    old = tuple(id for id, piece in home.pieces.items() if piece.old)
    thing = home.pieces.get(drawn.piece) or home.fixtures.get(drawn.piece)
    size = thing.size if thing is not None else (1.0, 1.0, 1.0)
    left: float | None = None
    if home.brief.date:
        day = datetime.date.fromisoformat(home.brief.date)
        now = datetime.date.fromisoformat(today) if isinstance(today, str) else today
        left = (day - now).days / 7
    making = {o.line: o for o in latest_orders(project, today=today)} if home.brief.date else {}
    found = []
    counted = resolve(project.costs, scenario="", scenarios=home.scenarios, code=code).counted
    for option in choices(project.costs)[line]:
        lines = [
            replace(x, line=option) if x.slot == line else x
            for x in counted
            if x.slot == line or (drawn.piece and x.line.piece == drawn.piece)
        ]
        priced = price(lines, money=home.money, old=old, overrides=home.rules)
        if drawn.piece:
            total = all_in(priced, piece=drawn.piece, code=code).total
        else:
            total = sum((x.gross for x in priced), Decimal(0))
        own = home.pieces.get(option.piece) or thing
        piece = own if isinstance(own, Piece) else None
        weeks = _weeks(option)
        order = making.get(option.id) or making.get(line)
        if weeks is not None and order is not None:
            weeks += order.transit
        spread = {x.slot: x for x in priced}.get(line)
        high = total
        if spread is not None:
            high = total + max(Decimal(0), Decimal(spread.high) - Decimal(spread.likely))
        found.append(
            Candidate(
                id=option.id,
                name=option.item,
                size=own.size if own is not None else size,
                all_in=total,
                high=high,
                weeks=weeks,
                old=option.piece in old,
                seat_height=None if piece is None else seat_height_of(piece),
                comfort=_comfort(home, piece),
                look=_look(project, drawn=drawn, option=option, piece=piece),
                mark=_mark(option),
                mark_by=option.more.get("mark_by", "").strip(),
            )
        )
    place = Place(
        name=f"the place of the {thing.name}" if thing is not None else drawn.item,
        width=size[0],
        depth=size[1],
        height=size[2],
        weeks=left,
        cap=cap,
    )
    return compare_candidates(place, candidates=found, code=code, units=home.units)


@dataclass(frozen=True, kw_only=True, eq=False)
class FeeWay:
    """One way to agree on the studio's fee."""

    name: str
    part: FeePart
    words: str


def fee_ways(
    project: Project,
    *,
    scenario: str = "",
    models: Sequence[tuple[str, FeeModel]],
) -> tuple[FeeWay, ...]:
    """Fee models beside each other on the same lines.

    Parameters
    ----------
    project : Project
        The project.
    scenario : str, optional
        Whose lines; "" for the lines as drawn.
    models : sequence of (str, FeeModel)
        A name and a model for each way.

    Returns
    -------
    tuple of FeeWay
        In the order given.

    Raises
    ------
    InputError
        A model or a line has what is not allowed.
    LookupFailed
        There is no such scenario.
    """
    home = project.home
    code = home.money.currency
    old = tuple(id for id, piece in home.pieces.items() if piece.old)
    counted = resolve(project.costs, scenario=scenario, scenarios=home.scenarios, code=code).counted
    priced = price(counted, money=home.money, old=old, overrides=home.rules)
    ways = []
    for name, model in models:
        (part,) = fee_of(priced, models=[model], tax=home.money.tax, code=code)
        ways.append(
            FeeWay(
                name=name,
                part=part,
                words=f"{part.why}; {money_text(part.gross, code=code)} with tax",
            )
        )
    return tuple(ways)
