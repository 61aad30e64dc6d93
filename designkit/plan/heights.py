"""Findings on heights that must agree, seats for persons, storage that may tip."""

from __future__ import annotations

from collections.abc import Iterator

from designkit.model import Finding, Verdict
from designkit.plan.case import Case, short_name, shortest
from designkit.plan.clearances import facing_tables
from designkit.plan.dining import chair_places_of
from designkit.plan.measure import combined, in_band
from designkit.plan.pieces import kind_of, parts_of, seat_height_of
from designkit.plan.place import Placed
from designkit.plan.swings import has_children

__all__ = ["agreeing", "sofa_seats", "tipping"]

BESIDE = 0.35  # m; a bedside table nearer than this belongs to its bed


def agreeing(case: Case) -> Iterator[Finding]:
    """Tables and seats, arms and aprons, low tables and sofas, beds and bedsides.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    Finding
        One a pair of kinds at one place: three equal chairs make one row.
    """
    yield from _tables_and_seats(case)
    yield from _low_tables(case)
    yield from _bedsides(case)


def _seat_spread(case: Case, thing: Placed) -> float:
    """± of the seat's height; a height taken from the kind is a guess."""
    written = (
        thing.piece.seat_height is not None
        or thing.piece.seats is not None
        or kind_of(thing.piece).form == "stool"
        or kind_of(thing.piece).name == "ottoman"
    )
    if not written:
        return case.value("plan.known.guess")
    key = "seat_height" if thing.piece.seat_height is not None else "height"
    return case.height_spread(thing.id, key)


def _seat_top(thing: Placed) -> float | None:
    height = seat_height_of(thing.piece)
    return None if height is None else thing.base + height


def _tables_and_seats(case: Case) -> Iterator[Finding]:
    pairs: dict[tuple[str, str], Placed] = {}
    for id, all_places in chair_places_of(case).items():
        for place in all_places:
            chair = case.placed[place.chair]
            pairs.setdefault((id, chair.item), chair)
    # A desk has no chairs of its own; the one that stands in it is its chair.
    for desk in case.placed.values():
        if kind_of(desk.piece).name != "desk" or desk.piece.chairs is not None:
            continue
        for chair in case.placed.values():
            near = chair.footprint.distance(desk.footprint) < 0.25
            if kind_of(chair.piece).form == "chair" and not chair.host and near:
                pairs.setdefault((desk.id, chair.item), chair)
    for (id, _), chair in pairs.items():
        table = case.placed[id]
        counter = kind_of(table.piece).name == "counter"
        word = "counter_stool" if counter else "table_seat"
        low, high = case.value(f"plan.height.{word}_min"), case.value(f"plan.height.{word}_max")
        seat = _seat_top(chair)
        if seat is None:
            continue
        above = table.top - seat
        within = combined(case.height_spread(id), _seat_spread(case, chair))
        verdict, end = in_band(above, low=low, high=high, within=within)
        small = above < low
        yield case.row(
            f"{case.title(id)} above its {short_name(chair.piece.name)}",
            measured=above,
            required=end,
            within=within,
            verdict=verdict,
            rule=f"plan.height.{word}_min" if end == low else f"plan.height.{word}_max",
            severity="inconvenient",
            why=(
                f"Top at {case.say(table.top)}, seat at {case.say(seat)}: {case.say(above)} "
                f"between them; {case.say(low)} to {case.say(high)} wanted."
            ),
            mend=(
                ""
                if low <= above <= high
                else f"Take a seat that is {case.say(abs(end - above))} "
                + ("lower." if small else "higher.")
            ),
            about=(id, chair.id),
            at=table.at,
        )
        yield from _arms(case, table, chair)


def _arms(case: Case, table: Placed, chair: Placed) -> Iterator[Finding]:
    arms = [part for part in chair.parts if part.name == "arms"]
    if not arms:
        return
    top = max(part.top for part in arms)
    under = min(
        (part.base for part in table.parts if part.base > table.base + 0.3), default=table.top
    )
    gap = under - top
    made = table.piece.parts is None
    spread = combined(
        case.value("plan.known.guess") if made else case.height_spread(table.id),
        case.height_spread(chair.id, "arm_height"),
    )
    yield case.row(
        f"Arms of the {short_name(chair.piece.name)} under {case.name(table.id)}",
        measured=gap,
        required=0.0,
        within=spread,
        rule="plan.height.apron",
        severity="inconvenient",
        why=(
            f"Arms at {case.say(top)}, underside of the table at {case.say(under)}"
            + (" (assumed from its top)." if made else ".")
        ),
        mend=(
            f"Take a chair whose arms are {case.amount(-gap)} lower, or one without arms."
            if gap < 0
            else ""
        ),
        about=(table.id, chair.id),
        at=table.at,
    )


def _low_tables(case: Case) -> Iterator[Finding]:
    limit = case.value("plan.height.low_table")
    for sofa, table in facing_tables(case):
        seat = _seat_top(sofa)
        if seat is None:
            continue
        over = table.top - seat
        within = combined(case.height_spread(table.id), _seat_spread(case, sofa))
        verdict, end = in_band(over, low=-limit, high=0.0, within=within)
        yield case.row(
            f"{case.title(table.id)} beside the seat of {case.name(sofa.id)}",
            measured=over,
            required=end,
            within=within,
            verdict=verdict,
            rule="plan.height.low_table",
            severity="note",
            why=(
                f"Top at {case.say(table.top)}, seat at {case.say(seat)}; level with the seat "
                f"or up to {case.say(limit)} under it wanted."
            ),
            mend=(
                ""
                if -limit <= over <= 0
                else f"Take a table that is {case.say(abs(over - end))} "
                + ("lower." if over > 0 else "higher.")
            ),
            about=(sofa.id, table.id),
            at=table.at,
        )


def _bedsides(case: Case) -> Iterator[Finding]:
    limit = case.value("plan.height.bedside")
    for bed in case.placed.values():
        if kind_of(bed.piece).name != "bed":
            continue
        mattress = _seat_top(bed)
        if mattress is None:
            continue
        for table in case.placed.values():
            if (
                kind_of(table.piece).name != "bedside table"
                or table.footprint.distance(bed.footprint) > BESIDE
            ):
                continue
            over = table.top - mattress
            within = combined(case.height_spread(table.id), _seat_spread(case, bed))
            verdict, end = in_band(over, low=-limit, high=limit, within=within)
            yield case.row(
                f"{case.title(table.id)} beside the mattress",
                measured=over,
                required=end,
                within=within,
                verdict=verdict,
                rule="plan.height.bedside",
                severity="note",
                why=(
                    f"Top at {case.say(table.top)}, mattress at {case.say(mattress)}; within "
                    f"{case.say(limit)} of each other wanted."
                ),
                mend=(
                    ""
                    if -limit <= over <= limit
                    else f"Take one that is {case.say(abs(over - end))} "
                    + ("lower." if over > 0 else "higher.")
                ),
                about=(bed.id, table.id),
                at=table.at,
                line=shortest(bed.footprint, table.footprint),
            )


def sofa_seats(case: Case) -> Iterator[Finding]:
    """Length of a sofa's seat a person, where a number of persons is written.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    Finding
        One a sofa.
    """
    need = case.value("plan.clear.sofa_person")
    for id, thing in case.placed.items():
        count = thing.piece.seat_count
        if not count or kind_of(thing.piece).name not in ("sofa", "daybed", "bench"):
            continue
        arms = [part.size[0] for part in parts_of(thing.piece) if part.name == "arms"]
        inner = thing.piece.size[0] - sum(arms)
        each = inner / count
        made = thing.piece.parts is None and bool(arms)
        spread = combined(
            case.height_spread(id, "width"), case.value("plan.known.guess") if made else 0.0
        )
        yield case.row(
            f"{case.title(id)}: seat a person",
            measured=each,
            required=need,
            within=spread / count,
            rule="plan.clear.sofa_person",
            severity="inconvenient",
            why=(
                f"{case.say(inner)} of seat for {count}: {case.say(each)} each; "
                f"{case.say(need)} wanted" + (" (arms assumed)." if made else ".")
            ),
            mend=(
                f"Count it for {max(1, int(inner / need + 1e-9))}, or take one that is "
                f"{case.amount(need * count - inner)} longer."
                if each < need
                else ""
            ),
            about=(id,),
            at=thing.at,
        )


def tipping(case: Case) -> Iterator[Finding]:
    """Tall storage that must be held back from tipping over.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    Finding
        One a piece as high as the rule says that stands on the floor; whether
        it is fixed decides. A mass or volume known to be under the rule's
        takes the piece out of it.

    References
    ----------
    .. [1] 16 CFR 1261 and ASTM F2057-23, clothing storage units: free-standing,
       27 in or higher, 30 lb or more, 3.2 ft³ or more enclosed. We ask the
       same of bookcases, sideboards and other storage, which the standard
       does not cover.
    """
    tall = case.value("plan.clear.anti_tip_height")
    heavy = case.value("plan.clear.anti_tip_mass")
    large = case.value("plan.clear.anti_tip_volume")
    children = has_children(case)
    for id, thing in case.placed.items():
        piece = thing.piece
        if not kind_of(piece).storage or piece.mount != "floor" or thing.base > 0.01:
            continue
        w, d, h = piece.size
        if h < tall or w * d * h < large or (piece.mass is not None and piece.mass < heavy):
            continue
        verdict: Verdict = "passes" if piece.anchored else "fails"
        if piece.anchored is None:
            verdict = "measure first"
        answer = {
            "passes": "it is fixed to the wall",
            "measure first": "nothing says whether it is fixed to the wall",
            "fails": "it is not fixed to the wall",
        }[verdict]
        yield case.row(
            f"{case.title(id)} held back from tipping",
            measured=h,
            required=tall,
            within=case.height_spread(id),
            verdict=verdict,
            rule="plan.clear.anti_tip_height",
            severity="safety" if children else "note",
            why=(
                f"It is {case.say(h)} high ({case.say(tall)} or more tips), and {answer}"
                + (", with children in the brief." if children else ".")
            ),
            mend=(
                ("Look whether it is fixed; if not, fix" if piece.anchored is None else "Fix")
                + " it to the wall with the restraint and the fixings that its maker and the "
                "wall ask for."
            ),
            about=(id,),
            at=thing.at,
            area=thing.footprint,
        )
