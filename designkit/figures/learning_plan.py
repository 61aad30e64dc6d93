"""Small drawings that explain rules of the plan: routes, chairs, talk, screens."""

from __future__ import annotations

import math

from designkit.figures import ink, marks
from designkit.figures.drawing import Arc, Circle, Drawing
from designkit.figures.learning_parts import HEAD, Stage
from designkit.plan.seating import line_distance, width_distance
from designkit.reference import value
from designkit.units import IMPERIAL

__all__ = ["chair_pulled_out", "route_widths", "screen_distance", "talk_distance"]

PERSON = "People are drawn for scale, 460 mm across the shoulders (from memory)."
PERSON_FEET = "People are drawn for scale, 18 in across the shoulders (from memory)."


def _person_note(stage: Stage) -> str:
    return PERSON_FEET if stage.units in IMPERIAL else PERSON


def route_widths(units: str, rule: str) -> Drawing:
    """How wide a way is: the main one, one narrow place in it, a minor one.

    Parameters
    ----------
    units : str
        Of the dimensions.
    rule : str
        Id of the rule that is asked about.

    Returns
    -------
    Drawing
        Three ways from above.
    """
    stage = Stage(height=97.0, units=units, rule=rule, scale=25, origin=(14.0, 22.0))
    main, pinch, minor = (value(f"plan.route.{n}") for n in ("main", "pinch", "minor"))
    long, thick = 1.7, 0.1
    step = 68.0 / stage.k
    ways = (
        ("main", "main route", main),
        ("pinch", "one narrow place in it", main),
        ("minor", "minor route", minor),
    )
    for n, (id, words, wide) in enumerate(ways):
        x0 = n * step + (main - wide) / 2
        x1 = x0 + wide
        middle = (x0 + x1) / 2
        stage.wall(x0 - thick, 0, x0, long)
        stage.wall(x1, 0, x1 + thick, long)
        if id == "pinch":
            jut = (main - pinch) / 2
            stage.wall(x0, 1.0, x0 + jut, 1.2)
            stage.wall(x1 - jut, 1.0, x1, 1.2)
            stage.dim((x0 + jut, 1.32), (x1 - jut, 1.32), rule="plan.route.pinch")
        else:
            stage.dim((x0, 1.3), (x1, 1.3), rule=f"plan.route.{id}")
        stage.person(middle, 0.62, facing=90)
        stage.line((middle, 0.12), (middle, 0.42), weight=0.25, dash=ink.DASH_ROUTE)
        stage.items.append(marks.arrow(stage.at(middle, 1.02), 90))
        stage.line((middle, 0.8), (middle, 0.98), weight=0.25)
        x, y = stage.at(middle, 0)
        stage.words((x, y - 5.4), words, rule=f"plan.route.{id}")
    return stage.drawing(
        "How wide is a way through a home?",
        f"Three ways seen from above: a main route {stage.say(main)} wide, one narrow place "
        f"of {stage.say(pinch)} in it, and a minor route {stage.say(minor)} wide.",
        notes=(_person_note(stage),),
    )


def chair_pulled_out(units: str, rule: str) -> Drawing:
    """From the table's edge to the wall: to rise, to let somebody past, to serve.

    Parameters
    ----------
    units : str
        Of the dimensions.
    rule : str
        Id of the rule that is asked about.

    Returns
    -------
    Drawing
        Three chairs in use from above.
    """
    stage = Stage(height=98.0, units=units, rule=rule, scale=25, origin=(8.0, 24.0))
    used = value("plan.table.in_use")
    edge = 0.32  # of the table that is drawn
    step, wide = 62.0 / stage.k, 1.42
    cases = (
        ("sit", "one sits and rises"),
        ("pass", "someone edges past"),
        ("serve", "someone serves"),
    )
    for n, (id, words) in enumerate(cases):
        far = value(f"plan.table.{id}")
        x0 = n * step
        x = x0 + 0.86
        stage.box(x0, 0, x0 + wide, edge, fill=ink.PAPER)
        stage.items.append(
            marks.break_line(stage.at(x0 - 0.05, 0.0), stage.at(x0 + wide + 0.05, 0.0))
        )
        stage.wall(x0, edge + far, x0 + wide, edge + far + 0.1)
        chair = (0.46, 0.52, 0.82)
        stage.piece("chair", chair, x, edge + used - chair[1] / 2)
        stage.person(x, edge + used - 0.34, facing=270)
        behind = edge + (used + far) / 2
        if id == "pass":
            stage.person(x + 0.12, behind, facing=270)
        elif id == "serve":
            stage.person(x + 0.12, behind, facing=180)
            stage.items.append(
                Circle(
                    centre=stage.at(x - 0.2, behind),
                    radius=0.17 * stage.k,
                    weight=0.25,
                    fill=ink.PAPER,
                    ink=ink.GREY_1,
                )
            )
        stage.dim((x0 + 0.3, edge), (x0 + 0.3, edge + far), rule=f"plan.table.{id}")
        if id == "sit":
            stage.dim((x0 + 1.3, edge), (x0 + 1.3, edge + used), rule="plan.table.in_use")
        px, py = stage.at(x0 + wide / 2, 0)
        stage.words((px, py - 6.4), words, rule=f"plan.table.{id}")
    return stage.drawing(
        "How far is it from the table to the wall?",
        "Chairs in use seen from above, from the table's edge to the wall: "
        + ", ".join(f"{w} {stage.say(value(f'plan.table.{id}'))}" for id, w in cases)
        + ".",
        notes=(_person_note(stage),),
    )


def talk_distance(units: str, rule: str) -> Drawing:
    """From which distance talk is easy, and how far one turns to it.

    Parameters
    ----------
    units : str
        Of the dimensions.
    rule : str
        Id of the rule that is asked about.

    Returns
    -------
    Drawing
        Two pairs of armchairs from above.
    """
    stage = Stage(height=112.0, units=units, rule=rule, scale=40, origin=(30.0, 14.0))
    turn = value("plan.conversation.turn")
    size = (0.8, 0.82, 0.78)
    rows = (
        ("near", 2.55, "talk is easy up to here"),
        ("far", 0.75, "talk holds up to here"),
    )
    for id, y, words in rows:
        apart = value(f"plan.conversation.{id}")
        left, right = 0.45, 0.45 + apart
        stage.piece("armchair", size, left, y, turn=90)
        stage.piece("armchair", size, right, y, turn=270)
        for x, facing in ((left, 0), (right, 180)):
            stage.person(x, y, facing=facing)
        rule_id = f"plan.conversation.{id}"
        stage.dim((left, y + 0.52), (right, y + 0.52), rule=rule_id)
        for x in (left, right):
            stage.line((x, y + HEAD), (x, y + 0.6), weight=0.13)
        px, py = stage.at(right + 0.6, y)
        stage.words((px, py - 1.0), words, rule=rule_id, anchor="start")
    y, reach = rows[0][1], 1.25
    tip = (0.45, y)
    for side in (-1, 1):
        a = math.radians(turn) * side
        end = (tip[0] + reach * math.cos(a), tip[1] + reach * math.sin(a))
        stage.line(tip, end, weight=0.18, dash=ink.DASH_SIGHT)
    stage.items.append(
        Arc(centre=stage.at(*tip), radius=reach * 0.8 * stage.k, start=-turn, end=turn, weight=0.13)
    )
    a = math.radians(-turn / 2)
    x, py = stage.at(tip[0] + reach * 0.9 * math.cos(a), tip[1] + reach * 0.9 * math.sin(a))
    stage.words(
        (x + 1.0, py - 1.0),
        f"{turn:.0f}° to either side",
        rule="plan.conversation.turn",
        anchor="start",
        size=ink.NAME,
        halo=0.8,
    )
    near, far = (stage.say(value(f"plan.conversation.{id}")) for id in ("near", "far"))
    return stage.drawing(
        "How far apart do people talk with ease?",
        f"Two pairs of armchairs that face each other: talk is easy up to {near} and holds up to "
        f"{far}, measured from seat to seat, within {turn:.0f}° of where one faces.",
        notes=(_person_note(stage),),
    )


def screen_distance(units: str, rule: str) -> Drawing:
    """How near and how far one sits from a screen.

    Parameters
    ----------
    units : str
        Of the dimensions.
    rule : str
        Id of the rule that is asked about.

    Returns
    -------
    Drawing
        A screen of 16 to 9 and two seats from above.
    """
    stage = Stage(height=108.0, units=units, rule=rule, scale=25, origin=(40.0, 60.0))
    wide = 1.2192 if units in IMPERIAL else 1.22
    high = wide * 9 / 16
    lines, angle = value("plan.screen.lines"), value("plan.screen.subtense")
    off = value("plan.screen.off_axis")
    near, far = line_distance(high, lines=lines), width_distance(wide, angle=angle)
    stage.wall(-0.16, -0.95, -0.06, 0.95)
    stage.box(-0.05, -wide / 2, 0.0, wide / 2, fill=ink.GREY_1)
    stage.dim((-0.24, -wide / 2), (-0.24, wide / 2))
    for side in (-1, 1):
        stage.line((far, 0.0), (0.0, side * wide / 2), weight=0.18, dash=ink.DASH_SIGHT)
        a = math.radians(off) * side
        stage.line(
            (0.0, 0.0), (1.05 * math.cos(a), 1.05 * math.sin(a)), weight=0.13, dash=ink.DASH_ZONE
        )
    half = angle / 2
    stage.items.append(
        Arc(
            centre=stage.at(far, 0.0),
            radius=0.55 * stage.k,
            start=180 - half,
            end=180 + half,
            weight=0.13,
        )
    )
    for x in (near, far):
        stage.person(x, 0.0, facing=180)
    x, y = stage.at(far - 0.66, 0)
    stage.words((x, y - 1.0), f"{angle:.0f}°", rule="plan.screen.subtense", anchor="end", halo=0.8)
    a = math.radians(off)
    x, y = stage.at(1.08 * math.cos(a), 1.08 * math.sin(a))
    stage.words(
        (x + 1, y),
        f"{off:.0f}° off straight ahead",
        rule="plan.screen.off_axis",
        anchor="start",
        size=ink.NAME,
    )
    for n, (x_m, words, id) in enumerate(
        (
            (near, f"nearer, its {lines:.0f} lines can be told apart", "plan.screen.line_angle"),
            (far, f"farther, it fills less than {angle:.0f}°", "plan.screen.subtense"),
        )
    ):
        y_m = -0.86 + 0.24 * n
        stage.dim((0.0, y_m), (x_m, y_m), length=x_m, shift=12.0 * n)
        stage.line((x_m, -0.2), (x_m, y_m - 0.04), weight=0.13)
        x, y = stage.at(x_m, y_m)
        stage.words((x + 2.2, y - 0.9), words, rule=id, anchor="start", size=ink.NAME)
    return stage.drawing(
        "How far is the seat from the screen?",
        f"A screen {stage.say(wide)} wide from above. From {stage.say(near)} on its lines run "
        f"together; from {stage.say(far)} it fills {angle:.0f}° of the view.",
        notes=("The screen is an example of 16 to 9; both distances grow with it.",),
    )
