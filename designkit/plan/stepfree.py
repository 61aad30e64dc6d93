"""Findings for step-free living: turning circle, doors, heights within reach.

The widths of routes are judged with the routes. Guidance by the figures of the
2010 ADA Standards; law only where the project names the code.
"""

from __future__ import annotations

from collections.abc import Iterator

from designkit.model import Finding
from designkit.plan.case import Case, frame, measure_line
from designkit.plan.measure import combined, in_band, judge
from designkit.plan.pieces import kind_of
from designkit.plan.space import free_floor, largest_clear_circle
from designkit.plan.turning import disc

__all__ = ["doors", "heights", "turning"]

EXACT = 4e-4  # m; the circle that is found is at most this much too small across


def turning(case: Case) -> Iterator[Finding]:
    """The largest circle clear of everything, in each space.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    Finding
        One a space; asked for by the rule set "step-free" or a wish of the brief.

    References
    ----------
    .. [1] 2010 ADA Standards for Accessible Design, 304.3.1: 60 in. The
       standard prints 1525 mm; the exact 1524 mm is used, so that a plan drawn
       in inches is not failed by the rounding.
    """
    rule = "plan.stepfree.turning"
    asked = [w.at_least for w in case.home.brief.wishes.values() if w.kind == "turning"]
    if case.rule_set != "step-free" and not asked:
        return
    need = max([case.value(rule), *(a for a in asked if a is not None)])
    if case.rule_set != "step-free":
        need = max((a for a in asked if a is not None), default=case.value(rule))
    for space in case.spaces.values():
        free = free_floor(space, case.placed, overrides=case.rules)
        names = " and ".join(case.home.rooms[room].name for room in space.rooms)
        if free.is_empty:
            continue
        centre, radius = largest_clear_circle(free)
        within = case.room_spread(space)
        yield case.row(
            f"Turning circle, {names}",
            measured=2 * radius,
            required=need,
            within=within,
            verdict=judge(2 * radius + EXACT, required=need, within=within),
            rule=rule,
            severity="tight",
            why=(
                f"The largest circle clear of walls and pieces has {case.say(2 * radius)}; "
                f"{case.say(need)} turns a wheelchair."
            ),
            mend=(
                f"Free a circle that is {case.amount(need - 2 * radius)} larger."
                if 2 * radius < need
                else ""
            ),
            about=space.rooms,
            at=centre,
            area=disc(centre, diameter=2 * radius),
            line=((centre[0] - radius, centre[1]), (centre[0] + radius, centre[1])),
        )


def doors(case: Case) -> Iterator[Finding]:
    """Clear width of doors and the floor before them on the pull side.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    Finding
        Two a door at most.

    References
    ----------
    .. [1] 2010 ADA Standards for Accessible Design, 404.2.3 (32 in) and Table
       404.2.4.1, front approach, pull side (60 in). The space beside the latch
       that the table also asks for is not judged.
    """
    if case.rule_set != "step-free":
        return
    need, deep = case.value("plan.stepfree.door"), case.value("plan.stepfree.door_pull")
    low, high = case.value("plan.clear.rug"), case.value("plan.clear.walk_under")
    for space in case.spaces.values():
        for opening in space.openings:
            plain = opening.opening
            if plain.kind == "window":
                continue
            name = case.opening_name(opening)
            title = name[:1].upper() + name[1:]
            if not opening.far:
                known = "width" if plain.clear_width is None else "clear_width"
                assumed = plain.clear_width is None and plain.kind != "passage"
                yield case.row(
                    f"{title}: clear width",
                    measured=opening.clear,
                    required=need,
                    within=combined(
                        case.opening_spread(plain, known),
                        case.value("plan.known.guess") if assumed else 0.0,
                    ),
                    rule="plan.stepfree.door",
                    severity="tight",
                    why=(
                        f"{case.say(opening.clear)} clear"
                        + (f", taken from an opening of {case.say(plain.width)}" if assumed else "")
                        + f"; {case.say(need)} wanted."
                    ),
                    mend=(
                        f"Widen the door by {case.amount(need - opening.clear)}."
                        if opening.clear < need
                        else ""
                    ),
                    about=(opening.id,),
                    at=opening.centre,
                    line=(opening.clear_left, opening.clear_right),
                )
            if not any(leaf.here for leaf in opening.leaves):
                continue
            hit = case.reach(
                space,
                origin=opening.centre,
                outward=opening.inward,
                width=opening.clear,
                search=deep + 0.3,
                low=low,
                high=high,
            )
            free = deep + 0.3 if hit is None else hit.distance
            owner = hit.owner if hit is not None else ""
            area = frame(opening.centre, opening.inward, opening.clear, 0.0, deep)
            mend = ""
            if hit is not None and area is not None and free < deep:
                mend = (
                    case.move_off(hit, area, opening.id, deep - free, opening.inward)
                    if case.thing(owner)
                    else "Let the leaf open the other way."
                )
            yield case.row(
                f"{title}: floor on the pull side",
                measured=free,
                required=deep,
                within=hit.within if hit is not None else 0.0,
                rule="plan.stepfree.door_pull",
                severity="tight",
                why=(
                    f"{case.say(free)} is free"
                    + (f" as far as {case.name(owner)}" if hit is not None else " or more")
                    + f"; {case.say(deep)} wanted where the door is pulled."
                ),
                mend=mend,
                about=(opening.id, owner if free < deep else ""),
                at=hit.at if hit is not None else opening.centre,
                area=area,
                line=(
                    measure_line(opening.centre, opening.inward, hit.at) if hit is not None else ()
                ),
            )


def heights(case: Case) -> Iterator[Finding]:
    """Tables and switches at heights that a seated person uses.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    Finding
        One a table or desk, and one a switch.

    References
    ----------
    .. [1] 2010 ADA Standards for Accessible Design, 902.3 (28 to 34 in) and
       308.2.1 (48 in).
    """
    if case.rule_set != "step-free":
        return
    low, high = case.value("plan.stepfree.table_min"), case.value("plan.stepfree.table_max")
    for id, thing in case.placed.items():
        if kind_of(thing.piece).name not in ("dining table", "desk"):
            continue
        within = case.height_spread(id)
        verdict, end = in_band(thing.top, low=low, high=high, within=within)
        yield case.row(
            f"{case.title(id)}: height of the top",
            measured=thing.top,
            required=end,
            within=within,
            verdict=verdict,
            rule="plan.stepfree.table_min" if end == low else "plan.stepfree.table_max",
            severity="tight",
            why=f"Top at {case.say(thing.top)}; {case.say(low)} to {case.say(high)} wanted.",
            mend=(
                ""
                if low <= thing.top <= high
                else f"Take one that is {case.say(abs(thing.top - end))} "
                + ("higher." if thing.top < low else "lower.")
            ),
            about=(id,),
            at=thing.at,
        )
    reach = case.value("plan.stepfree.reach")
    for id, service in case.home.services.items():
        if service.kind != "switch":
            continue
        yield case.row(
            f"{case.title(id)}: height",
            measured=service.height,
            required=reach,
            within=case.value("plan.known.plan"),
            at_most=True,
            rule="plan.stepfree.reach",
            severity="tight",
            why=f"Its centre is at {case.say(service.height)}; {case.say(reach)} at most.",
            mend=(
                f"Set it {case.amount(service.height - reach)} lower."
                if service.height > reach
                else ""
            ),
            about=(id,),
            at=service.at,
        )
