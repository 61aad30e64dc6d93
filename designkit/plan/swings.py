"""Findings at openings: leaves that hit things, glass hidden, windows over a drop."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry import Polygon, box

from designkit.model import Finding
from designkit.plan.case import Case, frame, shortest
from designkit.plan.measure import combined, judge, separation
from designkit.plan.openings import Leaf, OpeningAt, leaf_moves
from designkit.plan.pieces import climb_height, is_climbable
from designkit.plan.space import Space
from designkit.plan.turning import Array

__all__ = ["glass", "has_children", "leaves", "leaves_meet", "windows_over_a_drop"]

SKIN = 0.001  # m; nearer than this is touching
YOUNG = ("child", "toddler", "baby", "infant", "grandchild")  # roles of children without an age


def _angle(leaf: Leaf, xy: Array) -> tuple[float, Array]:
    """The smallest angle at which the opening leaf meets one of some points [°]."""
    pivot = np.array(leaf.pivot)
    u = np.array(leaf.closed) - pivot
    v = np.array(leaf.opened) - pivot
    reach = float(np.hypot(*u))
    away = xy - pivot
    # Near the hinge the angle has no meaning.
    away, points = away[np.hypot(*away.T) > 5 * SKIN], xy[np.hypot(*away.T) > 5 * SKIN]
    if not len(away):
        return 90.0, pivot
    angles = np.degrees(np.arctan2(away @ v / reach, away @ u / reach))
    first = int(np.argmin(np.round(angles, 6)))
    return float(np.clip(angles[first], 0.0, 90.0)), points[first]


def leaves(case: Case) -> Iterator[Finding]:
    """How far each hung leaf opens before it meets something.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    Finding
        One a leaf that swings into a space; measured is the angle [°]. A
        window's leaf only meets what stands above its sill.
    """
    for space in case.spaces.values():
        for opening in space.openings:
            here = [leaf for leaf in opening.leaves if leaf.here]
            for number, leaf in enumerate(here, start=1):
                count = f", leaf {number}" if len(here) > 1 else ""
                yield _leaf(case, space, opening, leaf, count)


def _leaf(case: Case, space: Space, opening: OpeningAt, leaf: Leaf, count: str) -> Finding:
    need = case.value("plan.clear.door_angle")
    low = max(leaf.base, case.value("plan.clear.rug"))
    pivot = np.array(leaf.pivot)
    reach = math.dist(leaf.pivot, leaf.closed)
    # The skin is taken off so that a leaf may pass along a wall that it touches.
    swept = leaf.swing.buffer(-SKIN)
    best, owner, where, hit = 90.0, None, pivot, None
    for solid in case.near(leaf.swing, low=low, high=leaf.top):
        shared = swept.intersection(solid.shape)
        if shared.area < 1e-7:
            continue
        angle, point = _angle(leaf, shapely.get_coordinates(shared))
        if angle < best - 1e-6:
            best, owner, where, hit = angle, solid.owner, point, solid.shape
    if not space.polygon.covers(swept):
        beyond = swept.difference(space.polygon)
        if beyond.area > 1e-6:
            angle, point = _angle(leaf, shapely.get_coordinates(beyond))
            if angle < best - 1e-6:
                best, owner, where, hit = angle, "", point, None
    name = case.opening_name(opening)
    spread = 0.0
    mend = ""
    if owner is not None:
        across = (where - pivot) / max(float(np.hypot(*(where - pivot))), SKIN)
        side = (float(-across[1]), float(across[0]))
        spread = combined(
            case.spread(owner, side) if case.thing(owner) else case.room_spread(space),
            case.opening_spread(opening.opening, "width"),
        )
        arm = max(float(np.hypot(*(where - pivot))), 0.1)
        spread = math.degrees(math.atan(spread / arm))  # at the distance of what is met
        if hit is not None and case.thing(owner) is not None:
            depth, _ = separation(hit, leaf.swing)
            mend = f"Move {case.name(owner)} {case.amount(depth)} out of the swing."
        else:
            mend = "Hang the leaf on its other side, or let it open the other way."
    why = f"The leaf is {case.say(reach)} wide and opens {best:.0f}°"
    why += "." if owner is None else f", then meets {case.name(owner)}."
    # An angle is judged with its own ±; a leaf that meets nothing opens fully.
    verdict = "passes" if owner is None else judge(best, required=need, within=spread)
    return case.row(
        f"{name[:1].upper()}{name[1:]}{count} opens",
        measured=best,
        required=need,
        within=spread,
        verdict=verdict,
        rule="plan.clear.door_angle",
        severity="inconvenient" if opening.opening.kind == "window" else "tight",
        why=why,
        mend=mend,
        about=(opening.id, owner or ""),
        at=(float(where[0]), float(where[1])) if owner is not None else leaf.opened,
        area=leaf.swing,
        line=(
            (leaf.pivot, (float(where[0]), float(where[1])))
            if owner is not None
            else (leaf.pivot, leaf.opened)
        ),
        unit="°",
    )


def leaves_meet(case: Case) -> Iterator[Finding]:
    """Leaves of two openings that sweep the same floor at the same height.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    Finding
        Measured is the depth of floor that both sweep.
    """
    for space in case.spaces.values():
        swept = [(o, leaf) for o in space.openings for leaf in o.leaves if leaf.here]
        for (one, a), (two, b) in itertools.combinations(swept, 2):
            if one.id == two.id or min(a.top, b.top) <= max(a.base, b.base):
                continue
            shared = a.swing.intersection(b.swing)
            if shared.area < 1e-4 or not isinstance(shared, Polygon):
                continue
            depth, _ = separation(a.swing, b.swing)
            yield case.row(
                f"{case.opening_name(one)} and {case.opening_name(two)} meet".capitalize(),
                measured=depth,
                required=0.0,
                within=combined(
                    case.opening_spread(one.opening, "width"),
                    case.opening_spread(two.opening, "width"),
                ),
                at_most=True,
                rule="plan.clear.overlap",
                severity="inconvenient",
                why=f"Both leaves sweep {case.say(depth)} of the same floor.",
                mend="Hang one leaf on its other side, or let it open the other way.",
                about=(one.id, two.id),
                area=shared,
            )


def glass(case: Case) -> Iterator[Finding]:
    """Glass hidden above its sill by what stands before the window.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    Finding
        One a window before which something reaches above the sill; measured is
        the hidden share of the glass.
    """
    depth = case.value("plan.window.before")
    limit = case.value("plan.window.blocked")
    for space in case.spaces.values():
        for opening in space.openings:
            plain = opening.opening
            if plain.kind != "window" or opening.far:
                continue
            area = frame(opening.centre, opening.inward, plain.width, 0.0, depth)
            if area is None:
                continue
            start = np.array(opening.left)
            along = (np.array(opening.right) - start) / plain.width
            boxes, owners = [], []
            for solid in case.near(area, low=plain.sill + SKIN, high=plain.head, hanging=False):
                if solid.transmits or solid.group == "column":
                    continue
                part = area.intersection(solid.shape)
                if part.area < 1e-7:
                    continue
                t = (shapely.get_coordinates(part) - start) @ along
                boxes.append(
                    box(
                        float(t.min()),
                        max(solid.base, plain.sill),
                        float(t.max()),
                        min(solid.top, plain.head),
                    )
                )
                owners.append(solid.owner)
            if not boxes:
                continue
            hidden = shapely.union_all(boxes)
            share = hidden.area / (plain.width * (plain.head - plain.sill))
            names = list(dict.fromkeys(owners))
            tangent = (float(along[0]), float(along[1]))
            spread = combined(*(case.spread(o, tangent) for o in names)) / plain.width
            name = case.opening_name(opening)
            x0, _, x1, _ = hidden.bounds
            a, b = start + along * x0, start + along * x1
            yield case.row(
                f"Glass of the {name} hidden" if not plain.name else f"Glass of {name} hidden",
                measured=share,
                required=limit,
                within=spread,
                at_most=True,
                rule="plan.window.blocked",
                severity="inconvenient",
                why=(
                    f"{100 * share:.0f} % of the glass above the sill at "
                    f"{case.say(plain.sill)} is behind {case.name(names[0])}; "
                    f"{100 * limit:.0f} % at most."
                ),
                mend=(
                    f"Move {case.name(names[0])} beside the window, or take one that is "
                    f"lower than {case.say(plain.sill)}."
                ),
                about=(opening.id, *names),
                area=area,
                line=((float(a[0]), float(a[1])), (float(b[0]), float(b[1]))),
                unit="1",
            )


def has_children(case: Case) -> bool:
    """Whether the brief names a child, by age or else by role.

    Parameters
    ----------
    case : Case
        The layout.

    Returns
    -------
    bool
        True where a child lives there or comes to stay.
    """
    limit = case.value("plan.window.child_age")
    for person in case.home.brief.people:
        if person.age is not None:
            if person.age < limit and not person.role.lower().startswith(("cat", "dog")):
                return True
        elif any(word in person.role.lower() for word in YOUNG):
            return True
    return False


def windows_over_a_drop(case: Case) -> Iterator[Finding]:
    """Opening windows over a drop where the brief has children, and what stands near.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    Finding
        One a window with a low sill, and one a climbable piece within reach of
        a window, whatever its sill.

    Notes
    -----
    A drop that is not known is not taken for a small one: the row says
    "measure first". Local codes decide; a fall-prevention device is fitted by
    its maker's instructions.

    References
    ----------
    .. [1] International Residential Code 2021, R312.2; ASTM F2090. That no
       climbable furniture stands near a window is advice of the CPSC; the
       distance is our assumption.
    """
    if not has_children(case):
        return
    low_sill, high = case.value("plan.window.sill"), case.value("plan.window.drop")
    for space in case.spaces.values():
        for opening in space.openings:
            plain = opening.opening
            opens = leaf_moves(plain) != "none" or plain.leaf == "hung"
            if plain.kind != "window" or opening.far or not opens:
                continue
            if plain.to in case.home.rooms:
                continue
            drop = plain.drop_outside
            if drop is not None and drop <= high:
                continue
            fall = (
                "the drop outside is not known"
                if drop is None
                else f"it is {case.say(drop)} above the ground outside"
            )
            ask = "" if drop is not None else "Measure the drop outside. "
            name = case.opening_name(opening)
            within = case.opening_spread(plain, "sill")
            verdict = judge(plain.sill, required=low_sill, within=within)
            if verdict == "fails" and drop is None:
                verdict = "measure first"
            if verdict != "passes":
                yield case.row(
                    f"Low sill of the {name}" if not plain.name else f"Low sill of {name}",
                    measured=plain.sill,
                    required=low_sill,
                    within=within,
                    verdict=verdict,
                    rule="plan.window.sill",
                    severity="safety",
                    why=(
                        f"The sill is at {case.say(plain.sill)}, {fall}, and children live "
                        f"or stay here; {case.say(low_sill)} wanted."
                    ),
                    mend=ask
                    + (
                        f"Let it open {case.say(case.value('plan.window.opening'))} at most, or "
                        "fit a fall-prevention device; the local code decides."
                    ),
                    about=(opening.id,),
                    at=opening.centre,
                )
            yield from _climbable(case, space, opening, fall, drop is None)


def _climbable(
    case: Case, space: Space, opening: OpeningAt, fall: str, drop_unknown: bool
) -> Iterator[Finding]:
    reach = case.value("plan.window.reach")
    edge = frame(opening.centre, opening.inward, opening.opening.width, 0.0, 1e-4)
    if edge is None:
        return
    name = case.opening_name(opening)
    for id, thing in case.placed.items():
        # Chairs of a table are carried anywhere; they are judged where they stand.
        if not is_climbable(thing.piece) or thing.base >= opening.opening.head:
            continue
        if case.space_of[id] is not space:
            continue
        gap = float(edge.distance(thing.footprint))
        line = shortest(edge, thing.footprint)
        within = case.spread(id, opening.inward)
        verdict = judge(gap, required=reach, within=within)
        if verdict == "passes":
            continue
        if verdict == "fails" and drop_unknown:
            verdict = "measure first"
        left = opening.opening.sill - thing.base - climb_height(thing.piece)
        yield case.row(
            f"{case.title(id)} near the {name}",
            measured=gap,
            required=reach,
            within=within,
            verdict=verdict,
            rule="plan.window.reach",
            severity="safety",
            why=(
                f"A child climbs {case.name(id)}, {case.say(gap)} from the window; {fall}; "
                + (
                    f"the sill is then {case.say(left)} up."
                    if left > 0
                    else "the sill is then underfoot."
                )
            ),
            mend=("Measure the drop outside. " if drop_unknown else "")
            + (
                (f"Move {case.name(id)} {case.amount(reach - gap)} further from the window, or l")
                if gap < reach
                else "L"
            )
            + f"et the window open {case.say(case.value('plan.window.opening'))} at most.",
            about=(id, opening.id),
            at=thing.at,
            area=thing.footprint,
            line=line,
        )
