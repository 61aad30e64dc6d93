"""Findings on floor that is kept free: use zones, beds, services, doorways, low tables."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from designkit.model import Finding, Severity
from designkit.plan.case import Case, frame, measure_line, shortest
from designkit.plan.measure import combined, in_band
from designkit.plan.pieces import kind_of, zone_rules
from designkit.plan.place import Placed, PlacedZone
from designkit.plan.turning import Array

__all__ = ["bed_sides", "doorways", "facing_tables", "low_tables", "services", "use_zones"]

LOOK = 0.3  # m; how far past a limit one looks for what comes next


def _own(case: Case, thing: Placed) -> set[str]:
    """A piece, its chairs, and what stands on it."""
    found = {thing.id}
    for things in (case.placed, case.lamps):
        found |= {id for id, t in things.items() if thing.id in (t.host, t.on)}
    return found


def _not_counting(case: Case, thing: Placed, zone: PlacedZone) -> set[str]:
    """Things of the kinds that belong into a zone, and what stands on them."""
    kinds: set[str] = set()
    for rule in zone_rules().get(thing.piece.kind, ()):
        if rule.words == zone.kind and rule.side == zone.side:
            kinds |= set(rule.not_counting)
    found = {id for id, t in case.placed.items() if t.piece.kind in kinds}
    for things in (case.placed, case.lamps):
        found |= {id for id, t in things.items() if t.on in found}
    return found


def use_zones(case: Case) -> Iterator[Finding]:
    """Floor that drawers, doors and seats need, and what stands in it.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    Finding
        One a zone; measured is the free depth before the piece's side.
    """
    low, high = case.value("plan.clear.rug"), case.value("plan.clear.walk_under")
    for thing in case.placed.values():
        written = thing.piece.zones is not None
        if kind_of(thing.piece).form == "bed" and not written:
            continue  # its two sides are judged together
        own = _own(case, thing)
        for zone in thing.zones:
            if zone.rule == "plan.table.in_use":
                continue  # dining judges it
            yield _zone(case, thing, zone, own | _not_counting(case, thing, zone), low, high)


def _zone(
    case: Case,
    thing: Placed,
    zone: PlacedZone,
    ignore: set[str],
    low: float,
    high: float,
    *,
    required: float | None = None,
    severity: Severity | None = None,
    rule: str | None = None,
    what: str = "",
) -> Finding:
    id = thing.id
    need = zone.depth if required is None else required
    own = case.spread(id, zone.outward)
    hit = case.reach(
        case.space_of[id],
        origin=zone.origin,
        outward=zone.outward,
        width=zone.width,
        search=need + LOOK,
        low=low,
        high=high,
        ignore=ignore,
    )
    if not what:
        what = f"{case.title(id)}: {zone.kind}"
        if zone.side in ("left", "right"):
            what += f", {zone.side} side"
    area = frame(zone.origin, zone.outward, zone.width, 0.0, need)
    if hit is None:
        free, within, why = need + LOOK, own, f"{case.say(need + LOOK)} or more is free"
    else:
        free, within = hit.distance, combined(own, hit.within)
        why = f"{case.say(free)} is free as far as {case.name(hit.owner)}"
    mend = ""
    if hit is not None and area is not None and free < need:
        mend = case.move_off(hit, area, id, need - free, zone.outward)
    return case.row(
        what,
        measured=free,
        required=need,
        within=within,
        rule=zone.rule if rule is None else rule,
        severity=severity or zone.severity,
        why=f"{why}; {case.say(need)} wanted.",
        mend=mend,
        about=(id, hit.owner if hit is not None and free < need + within else ""),
        area=area,
        at=hit.at if hit is not None else None,
        line=measure_line(zone.origin, zone.outward, hit.at) if hit is not None else (),
    )


def bed_sides(case: Case) -> Iterator[Finding]:
    """Floor beside beds: both sides of a wide one, one good side of each.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    Finding
        One a side that is wanted, and one for the better side.
    """
    low, high = case.value("plan.clear.rug"), case.value("plan.clear.walk_under")
    rule = "plan.stepfree.bed_side" if case.rule_set == "step-free" else "plan.clear.bed_main_side"
    for id, thing in case.placed.items():
        if kind_of(thing.piece).form != "bed" or thing.piece.zones is not None:
            continue
        sides = [zone for zone in thing.zones if zone.rule == "plan.clear.bed_side"]
        if not sides:
            continue
        own = _own(case, thing)
        wide = thing.piece.size[0] >= case.value("plan.clear.bed_two")
        better: Finding | None = None
        for zone in sides:
            ignore = own | _not_counting(case, thing, zone)
            if wide:
                yield _zone(case, thing, zone, ignore, low, high)
            row = _zone(
                case,
                thing,
                zone,
                ignore,
                low,
                high,
                required=case.value(rule),
                rule=rule,
                what=f"{case.title(id)}: beside the better side",
            )
            if better is None or (row.measured or 0.0) > (better.measured or 0.0) + 1e-6:
                better = row
        if better is not None:
            yield better


def services(case: Case) -> Iterator[Finding]:
    """Floor kept clear before panels, radiators and vents.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    Finding
        One a service; a floor vent is also covered by a rug.
    """
    rug, high = case.value("plan.clear.rug"), case.value("plan.clear.walk_under")
    for space in case.spaces.values():
        for service in space.services:
            if service.clear is None:
                continue
            panel = service.service.kind == "panel"
            bottom, top = (rug, high) if panel else (service.base, max(service.top, rug))
            if not panel and service.base < rug:
                bottom = -1.0  # what lies flat covers it too
            hit = case.reach(
                space,
                origin=service.origin,
                outward=service.outward,
                width=service.width,
                search=service.depth + LOOK,
                low=bottom,
                high=top,
                ignore={service.id},
            )
            free = service.depth + LOOK if hit is None else hit.distance
            within = 0.0 if hit is None else hit.within
            mend = ""
            if hit is not None and free < service.depth:
                mend = case.move_off(
                    hit, service.clear, service.id, service.depth - free, service.outward
                )
            if hit is None:
                why = f"{case.say(free)} or more is free; {case.say(service.depth)} is kept clear."
            else:
                why = (
                    f"{case.say(free)} is free as far as {case.name(hit.owner)}; "
                    f"{case.say(service.depth)} is kept clear over {case.say(service.width)}."
                )
            if panel:
                why += " The local code and the electrician decide this space."
            yield case.row(
                f"{case.title(service.id)}: kept clear",
                measured=free,
                required=service.depth,
                within=within,
                rule=service.rule,
                severity="safety" if panel else "inconvenient",
                why=why,
                mend=mend,
                about=(service.id, hit.owner if hit and free < service.depth else ""),
                area=service.clear,
                at=hit.at if hit is not None else None,
                line=measure_line(service.origin, service.outward, hit.at) if hit else (),
            )


def doorways(case: Case) -> Iterator[Finding]:
    """Width left free in front of doors, balcony doors and passages.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    Finding
        One a side of an opening; measured is the widest gap within the depth
        kept before it, on its own clear width.
    """
    low, high = case.value("plan.clear.rug"), case.value("plan.clear.walk_under")
    depth = case.value("plan.clear.door_front_depth")
    for space in case.spaces.values():
        for opening in space.openings:
            if opening.opening.kind == "window":
                continue
            need = min(case.value("plan.clear.door_front_width"), opening.clear)
            area = frame(opening.centre, opening.inward, opening.clear, 0.001, depth)
            if area is None:
                continue
            start = np.array(opening.clear_left)
            along = (np.array(opening.clear_right) - start) / opening.clear
            blocked = [
                (area.intersection(solid.shape), solid.owner)
                for solid in case.near(area, low=low, high=high, hanging=False)
            ]
            if not space.polygon.covers(area):
                beyond = shapely.get_parts(area.difference(space.polygon))
                blocked.extend((piece, "") for piece in beyond)
            taken: list[tuple[float, float, str]] = []
            for shape, owner in blocked:
                if shape.area > 1e-9:
                    t = (shapely.get_coordinates(shape) - start) @ along
                    taken.append((float(t.min()), float(t.max()), owner))
            free, a, b = _widest(taken, opening.clear)
            blocks = [owner for _, _, owner in sorted(taken)]
            tangent = (float(along[0]), float(along[1]))
            within = combined(
                max((case.spread(o, tangent) for o in blocks), default=0.0),
                case.opening_spread(opening.opening, "width") if blocks else 0.0,
            )
            movable = [o for o in dict.fromkeys(blocks) if case.thing(o)]
            mend = ""
            if movable:
                mend = (
                    f"Move {case.name(movable[0])} {case.amount(need - free)} "
                    "to the side, out of the way."
                    if free < need
                    else ""
                )
            name = case.opening_name(opening)
            where = case.home.rooms[opening.room].name
            yield case.row(
                f"In front of {'' if opening.opening.name else 'the '}{name}, {where} side",
                measured=free,
                required=need,
                within=within,
                rule="plan.clear.door_front_width",
                severity="tight",
                why=(
                    f"{case.say(free)} of its {case.say(opening.clear)} is free over a depth of "
                    f"{case.say(depth)}; {case.say(need)} wanted."
                ),
                mend=mend,
                about=(opening.id, *dict.fromkeys(blocks)) if free < need else (opening.id,),
                area=area,
                at=opening.centre,
                line=(_on(start, along, a), _on(start, along, b)),
            )


def _on(start: Array, along: Array, t: float) -> tuple[float, float]:
    x, y = start + along * t
    return (float(x), float(y))


def _widest(taken: list[tuple[float, float, str]], width: float) -> tuple[float, float, float]:
    """Widest part of [0, width] that no interval takes."""
    best, at, reached = 0.0, 0.0, 0.0
    for low, high, _ in sorted(taken):
        if low - reached > best:
            best, at = low - reached, reached
        reached = max(reached, high)
    if width - reached > best:
        best, at = width - reached, reached
    return best, at, at + best


def low_tables(case: Case) -> Iterator[Finding]:
    """Distance from a sofa to the low table before it.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    Finding
        One a sofa and low table in front of it.
    """
    low, high = case.value("plan.clear.sofa_table_min"), case.value("plan.clear.sofa_table_max")
    for sofa, table in facing_tables(case):
        line = shortest(sofa.footprint, table.footprint)
        gap = float(sofa.footprint.distance(table.footprint))
        way = _direction(line)
        within = combined(case.spread(sofa.id, way), case.spread(table.id, way))
        verdict, end = in_band(gap, low=low, high=high, within=within)
        near = gap < (low + high) / 2
        yield case.row(
            f"{case.title(sofa.id)} to {case.name(table.id).removeprefix('the ')}",
            measured=gap,
            required=end,
            within=within,
            verdict=verdict,
            rule="plan.clear.sofa_table_min" if near else "plan.clear.sofa_table_max",
            severity="tight" if near else "inconvenient",
            why=f"{case.say(gap)} apart; {case.say(low)} to {case.say(high)} wanted.",
            mend=(
                ""
                if low <= gap <= high
                else f"Move {case.name(table.id)} {case.amount(abs(end - gap))} "
                + (f"away from {case.name(sofa.id)}." if near else f"towards {case.name(sofa.id)}.")
            ),
            about=(sofa.id, table.id),
            line=line,
            at=line[0] if len(line) == 2 and gap == 0 else None,
        )


def _direction(line: tuple[tuple[float, float], ...]) -> tuple[float, float]:
    if len(line) < 2:
        return (0.0, 1.0)
    dx, dy = line[1][0] - line[0][0], line[1][1] - line[0][1]
    length = float(np.hypot(dx, dy))
    return (dx / length, dy / length) if length > 1e-9 else (0.0, 1.0)


def facing_tables(case: Case) -> Iterator[tuple[Placed, Placed]]:
    """Sofas with each low table that stands before them.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    tuple of Placed
        The sofa and the low table.
    """
    tables = [t for t in case.placed.values() if t.piece.kind == "low table"]
    for sofa in case.placed.values():
        if kind_of(sofa.piece).name not in ("sofa", "daybed"):
            continue
        angle = np.radians(sofa.rotation - 90.0)
        outward = (float(np.cos(angle)), float(np.sin(angle)))
        d = sofa.piece.size[1] / 2
        origin = (sofa.at[0] + outward[0] * d, sofa.at[1] + outward[1] * d)
        area = frame(origin, outward, sofa.piece.size[0], 0.0, 1.0)
        for table in tables:
            if area is not None and area.intersects(table.footprint):
                yield sofa, table
