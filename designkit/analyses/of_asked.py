"""What the brief asks for in numbers, and where one reads, works and watches.

`of_brief` answers the wishes that are written out. Here the fields of the brief
itself are held against a layout: seats, places at the table, shelf, what is
kept, cap and day. Wishes that belong to an activity are made and found here too.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal

from designkit.analyses.of_brief import BriefLine, State, brief
from designkit.analyses.of_layout import LayoutResult
from designkit.balance import Balance
from designkit.costs.budgeting import Budget
from designkit.costs.money import money_text
from designkit.days import day_words
from designkit.lighting.quick import LightResult
from designkit.model import Brief, Home, Placement, Project, Wish
from designkit.plan.case import short_name
from designkit.plan.pieces import kind_of
from designkit.reference import value
from designkit.schedule.dates import OrderBy
from designkit.units import IMPERIAL, NBSP, in_sentence

__all__ = [
    "Watched",
    "activity_wishes",
    "asked",
    "cap_words",
    "shelf_of",
    "watched_places",
    "with_activities",
]

READING = ("sofa", "armchair", "daybed")  # kinds with a page at each seat
WORKING = ("desk", "dining table", "counter")  # kinds whose top is lit
_SEATS = ("sofa", "armchair", "daybed", "bed", "dining table")
Activity = Literal["reads", "works", "watches"]
_LUX = {"reads": "light.target.page.low", "works": "light.target.worktop.low"}


# --- where one reads, works and watches ---------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Watched:
    """A seat and what one watches from it."""

    seat: str  # placement id
    what: str  # id of an opening, or of a screen's placement
    words: str


def _kind(home: Home, id: str, spot: Placement) -> str:
    piece = home.pieces.get(spot.item or id)
    return piece.kind if piece is not None else ""


def _name(home: Home, layout: str, id: str) -> str:
    """What a placement is called; those of one name are numbered as they are written."""
    spots = home.layouts[layout].pieces if layout in home.layouts else {}
    item = spots[id].item or id if id in spots else id
    piece = home.pieces.get(item)
    if piece is None:
        return id.replace("_", " ")
    same = [other for other, spot in spots.items() if (spot.item or other) == item]
    name = short_name(piece.name)
    return f"{name} {same.index(id) + 1}" if len(same) > 1 and id in same else name


def places_for(home: Home, layout: str, activity: Activity) -> dict[str, str]:
    """Placements of a layout where one can read or work, with their names."""
    if layout not in home.layouts:
        return {}
    kinds = READING if activity == "reads" else WORKING
    return {
        id: _name(home, layout, id)
        for id, spot in home.layouts[layout].pieces.items()
        if _kind(home, id, spot) in kinds
    }


def watched_places(home: Home, *, layout: str) -> tuple[Watched, ...]:
    """Seats of a layout with each window or balcony door that has a view, and each screen.

    Parameters
    ----------
    home : Home
        Its openings say what one sees.
    layout : str
        Id of the layout.

    Returns
    -------
    tuple of Watched
        In the order of the layout.
    """
    if layout not in home.layouts:
        return ()
    spots = home.layouts[layout].pieces
    ends = {id: one.name or id.replace("_", " ") for id, one in home.openings.items() if one.view}
    screens = {
        id: _name(home, layout, id)
        for id, spot in spots.items()
        if _kind(home, id, spot) == "screen"
    }
    return tuple(
        Watched(seat=id, what=end, words=f"{name} from the {_name(home, layout, id)}")
        for id, spot in spots.items()
        for end, name in {
            **(ends if _kind(home, id, spot) in _SEATS else {}),
            **(screens if _kind(home, id, spot) in READING else {}),
        }.items()
    )


def activity_wishes(home: Home) -> dict[Activity, dict[str, str]]:
    """Wishes of the brief by what one does there: place, then the wish's id.

    Parameters
    ----------
    home : Home
        With its brief.

    Returns
    -------
    dict
        "reads" and "works" by placement, "watches" by "placement>opening".
    """
    found: dict[Activity, dict[str, str]] = {"reads": {}, "works": {}, "watches": {}}
    kinds: dict[str, str] = {id: piece.kind for id, piece in home.pieces.items()}
    for layout in home.layouts.values():
        for id, spot in layout.pieces.items():
            kinds.setdefault(id, _kind(home, id, spot))
    for id, wish in home.brief.wishes.items():
        if wish.kind in ("view", "screen"):
            found["watches"].setdefault(f"{wish.start}>{wish.end}", id)
        elif wish.kind == "light":
            kind = kinds.get(wish.end, "")
            if kind in READING:
                found["reads"].setdefault(wish.end, id)
            elif kind in WORKING:
                found["works"].setdefault(wish.end, id)
    return found


def with_activities(home: Home, *, layout: str, activity: Activity, places: Sequence[str]) -> Brief:
    """The brief after it was said where one reads, works or watches.

    Parameters
    ----------
    home : Home
        With its brief.
    layout : str
        Id of the layout, for the names.
    activity : str
        "reads", "works" or "watches".
    places : sequence of str
        Placements; "placement>opening" for "watches".

    Returns
    -------
    Brief
        With a wish for each place. Wishes that were there keep their numbers;
        those of places that this layout does not have are left alone.
    """
    there = activity_wishes(home)[activity]
    if activity == "watches":
        shown = {f"{one.seat}>{one.what}" for one in watched_places(home, layout=layout)}
    else:
        shown = set(places_for(home, layout, activity))
    wishes = {
        id: wish
        for id, wish in home.brief.wishes.items()
        if id not in there.values()
        or any(place in places or place not in shown for place, w in there.items() if w == id)
    }
    for place in places:
        if place in there:
            continue
        stem = f"{activity}_{place.replace('>', '_')}"
        id, number = stem, 2
        while id in wishes:
            id, number = f"{stem}_{number}", number + 1
        wishes[id] = _wish(home, layout, activity, place)
    return replace(home.brief, wishes=wishes)


def _wish(home: Home, layout: str, activity: Activity, place: str) -> Wish:
    rules = home.rules
    if activity == "watches":
        seat, _, end = place.partition(">")
        if end in home.layouts[layout].pieces:
            least = value("plan.screen.subtense", rules)
            names = (_name(home, layout, seat), _name(home, layout, end))
            return Wish(
                text=f"from the {names[0]} the {names[1]} is at least {least:g}° across",
                kind="screen",
                start=seat,
                end=end,
                at_least=least,
            )
        share = value("plan.view.wished", rules)
        name = home.openings[end].name or end.replace("_", " ")
        return Wish(
            text=f"the {_name(home, layout, seat)} sees at least {share * 100:.0f} % of the {name}",
            kind="view",
            start=seat,
            end=end,
            at_least=share,
        )
    lux = value(_LUX[activity], rules)
    where = _name(home, layout, place)
    words = "on the page at the" if activity == "reads" else "to work by on the"
    return Wish(text=f"{lux:g} lx {words} {where}", kind="light", end=place, at_least=lux)


# --- the fields of the brief ----------------------------------------------------------


def shelf_of(home: Home, *, layout: str) -> tuple[float, str]:
    """Running metres of shelf that a layout holds.

    Storage kinds count their width once for each shelf that their height holds
    (`plan.storage.shelf`), a shelf on the wall counts its width.

    Parameters
    ----------
    home : Home
        Gives the pieces.
    layout : str
        Id of the layout.

    Returns
    -------
    tuple of float and str
        Metres, and how they were counted. [m]

    Examples
    --------
    >>> from designkit.model import Layout, Piece
    >>> piece = Piece(name="bookcase", kind="bookcase", size=(1.0, 0.3, 2.0))
    >>> home = Home(name="flat", pieces={"b": piece},
    ...             layouts={"a": Layout(name="A", pieces={"b": Placement(at=(1, 1))})})
    >>> shelf_of(home, layout="a")[0]
    5.0
    """
    pitch = value("plan.storage.shelf", home.rules)
    total, parts = 0.0, []
    for id, spot in home.layouts[layout].pieces.items():
        piece = home.pieces.get(spot.item or id)
        if piece is None:
            continue
        wall = piece.kind == "wall shelf"
        if not (wall or kind_of(piece).storage):
            continue
        shelves = 1 if wall else max(1, int(piece.size[2] / pitch + 1e-9))
        total += piece.size[0] * shelves
        width = in_sentence(piece.size[0], units=home.units)
        parts.append(f"{short_name(piece.name)} {width} × {shelves}")
    high = in_sentence(pitch, units=home.units)
    how = f"width × shelves, one each {high} of height: " + (
        ", ".join(parts) or "no storage stands"
    )
    return total, how


def cap_words(home: Home) -> str:
    """What the cap holds: "43,000 € at most, with tax, without the fee".

    Parameters
    ----------
    home : Home
        Its brief has a budget.

    Returns
    -------
    str
        "" where there is none.
    """
    asked_for = home.brief
    if asked_for.budget is None:
        return ""
    tax = "with" if asked_for.budget_includes_tax else "without"
    fee = "with" if asked_for.budget_includes_fee else "without"
    amount = money_text(asked_for.budget, code=home.money.currency)
    return f"{amount} at most, {tax} tax, {fee} the studio's fee"


def _run(metres: float, units: str) -> str:
    """A running length: in metres, or feet and inches."""
    return in_sentence(metres, units=units) if units in IMPERIAL else f"{metres:.1f}{NBSP}m"


_NO_LAYOUT = "no layout is drawn yet"


def _count(id: str, kind: str, text: str, wanted: int, found: int | None, why: str) -> BriefLine:
    state: State = "measure first"
    if found is not None:
        state = "met" if found >= wanted else "not met"
    return BriefLine(
        id=id,
        kind=kind,
        text=text,
        state=state,
        measured="" if found is None else f"{found} {'place' if found == 1 else 'places'}",
        why=why if found is not None else _NO_LAYOUT,
    )


def _silent(id: str, kind: str, text: str) -> BriefLine:
    return BriefLine(id=id, kind=kind, text=text, state="not asked", measured="", why="")


def _people(home: Home, layout: LayoutResult | None) -> list[BriefLine]:
    given = home.brief
    seats = None if layout is None else layout.seats
    diners = None if layout is None else layout.diners
    guests = None if layout is None else layout.seats + layout.diners
    rows: tuple[tuple[str, str, str, int | None, int | None, str], ...] = (
        ("seats", "seats", "seats every day", given.seats, seats, "seats but the dining chairs"),
        (
            "seats_guests", "seats", "seats with guests", given.seats_guests, guests,
            f"{seats} seats, and {diners} chairs of the table to draw up",
        ),
        (
            "diners", "diners", "at the table every day", given.diners, diners,
            "chairs at the table",
        ),
        (
            "diners_guests", "diners", "at the table with guests", given.diners_guests, diners,
            "chairs at the table, as drawn",
        ),
    )  # fmt: skip
    same = {
        (wish.kind, wish.at_least) for wish in given.wishes.values() if wish.at_least is not None
    }
    lines = []
    for id, kind, words, wanted, found, why in rows:
        if wanted is None:
            lines.append(_silent(id, kind, words))
        elif (kind, float(wanted)) not in same:
            lines.append(_count(id, kind, f"{wanted} {words}", wanted, found, why))
    return lines


def _storage(home: Home, layout: LayoutResult | None) -> BriefLine:
    wanted = home.brief.storage
    if wanted is None:
        return _silent("storage", "storage", "running metres of shelf")
    text = f"{_run(wanted, home.units)} of shelf"
    if layout is None:
        return BriefLine(
            id="storage", kind="storage", text=text, state="measure first", measured="",
            why=_NO_LAYOUT,
        )  # fmt: skip
    found, how = shelf_of(home, layout=layout.id)
    return BriefLine(
        id="storage",
        kind="storage",
        text=text,
        state="met" if found >= wanted - 1e-9 else "not met",
        measured=_run(found, home.units),
        why=how,
    )


def _keeps(home: Home, layout: LayoutResult | None) -> BriefLine:
    keeps = home.brief.keeps
    if not keeps:
        return _silent("keeps", "keeps", "a piece that stays")
    names = {id: short_name(home.pieces[id].name) if id in home.pieces else id for id in keeps}
    text = "keeps the " + " and the ".join(names.values())
    if layout is None:
        return BriefLine(
            id="keeps", kind="keeps", text=text, state="measure first", measured="", why=_NO_LAYOUT
        )
    stand = {spot.item or id for id, spot in layout.layout.pieces.items()}
    lost = [name for id, name in names.items() if id not in stand]
    return BriefLine(
        id="keeps",
        kind="keeps",
        text=text,
        state="not met" if lost else "met",
        measured=f"no place for the {' and the '.join(lost)}" if lost else "all stand",
        why=f"{len(keeps) - len(lost)} of {len(keeps)} stand in the layout",
    )


def _cap(home: Home, budget: Budget | None, scenario: str) -> BriefLine:
    if home.brief.budget is None:
        return _silent("budget", "budget", "a cap")
    text = cap_words(home)
    if budget is None:
        return BriefLine(
            id="budget", kind="budget", text=text, state="measure first", measured="",
            why="no cost line is written yet",
        )  # fmt: skip
    column = budget.column(scenario) if scenario else budget.columns[0]
    under = column.cap_now is not None and column.cap_now >= Decimal(0)
    return BriefLine(
        id="budget",
        kind="budget",
        text=text,
        state="met" if under else "not met",
        measured=column.words,
        why=f"{column.name}: {money_text(column.now, code=home.money.currency)} this year",
    )


def _date(home: Home, orders: Sequence[OrderBy]) -> BriefLine:
    if not home.brief.date:
        return _silent("date", "date", "a day")
    text = f"ready on {day_words(home.brief.date)}"
    dated = [one for one in orders if one.day is not None]
    if not dated:
        return BriefLine(
            id="date", kind="date", text=text, state="measure first", measured="",
            why="no order has a lead time yet",
        )  # fmt: skip
    late = [one for one in dated if one.state == "late"]
    first = (late or dated)[0]
    assert first.day is not None
    measured = f"first order by {day_words(first.day)}"
    if late:
        measured = f"{len(late)} order{'' if len(late) == 1 else 's'} too late"
    return BriefLine(
        id="date",
        kind="date",
        text=text,
        state="not met" if late else "met",
        measured=measured,
        why=f"{first.item}: {', '.join(first.why)}",
    )


def asked(
    project: Project,
    *,
    layout: LayoutResult | None = None,
    balance: Balance | None = None,
    light: LightResult | None = None,
    budget: Budget | None = None,
    scenario: str = "",
    orders: Sequence[OrderBy] = (),
    kinds: Sequence[str] = ("route", "view", "light", "black", "turning"),
) -> tuple[BriefLine, ...]:
    """Everything that the brief asks for, and how a layout answers it.

    Parameters
    ----------
    project : Project
        Its home holds the brief.
    layout, balance, light, budget
        Results. A wish whose result is not there is "measure first".
    scenario : str, optional
        Whose total the cap is held against.
    orders : sequence of OrderBy, optional
        From `designkit.schedule.dates.latest_orders`.
    kinds : sequence of str, optional
        Topics of wishes to name as "not asked" where the brief is silent.

    Returns
    -------
    tuple of BriefLine
        People and pieces first, then the wishes, money and the day; what was
        not asked stands last.

    Examples
    --------
    >>> lines = asked(Project(home=Home(name="flat", brief=Brief(seats=4))))
    >>> lines[0].text, lines[0].state
    ('4 seats every day', 'measure first')
    """
    home = project.home
    wishes = brief(
        project, layout=layout, balance=balance, light=light, budget=budget, scenario=scenario,
        orders=orders, kinds=kinds,
    )  # fmt: skip
    told: Mapping[str, BriefLine] = {line.id: line for line in wishes if line.state != "not asked"}
    lines = [*_people(home, layout), _storage(home, layout), _keeps(home, layout)]
    for id, wish in home.brief.wishes.items():
        lines.append(
            told.get(id)
            or BriefLine(
                id=id,
                kind=wish.kind,
                text=wish.text,
                state="measure first",
                measured="",
                why=_open(wish, layout),
            )
        )
    kinds_asked = {wish.kind for wish in home.brief.wishes.values()}
    if "budget" not in kinds_asked:
        lines.append(_cap(home, budget, scenario))
    if "date" not in kinds_asked:
        lines.append(_date(home, orders))
    lines += [line for line in wishes if line.state == "not asked"]
    return tuple(sorted(lines, key=lambda line: line.state == "not asked"))


def _open(wish: Wish, layout: LayoutResult | None) -> str:
    """Why a wish cannot be answered yet."""
    if wish.kind in ("budget", "date"):
        return "no cost line is written yet"
    if layout is None:
        return _NO_LAYOUT
    if wish.kind == "light":
        return "this layout has no lamp, or no such place"
    if wish.kind == "black":
        return "no finishes are written yet"
    return "this layout has no such place"
