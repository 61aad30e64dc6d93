"""What the working plan says: a piece in words, what a move changed, two options in numbers."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import shapely
from shapely.geometry import LineString
from shapely.geometry import Point as ShapelyPoint

from designkit.analyses.of_brief import brief, brief_sentence
from designkit.analyses.of_layout import LayoutResult
from designkit.figures.plan import size_words
from designkit.model import Home, Placement, Project
from designkit.plan.around import Gap
from designkit.plan.case import Case
from designkit.plan.place import Placed
from designkit.studies.words import brief_items, source_of
from designkit.studies.working_hand import Hand
from designkit.units import in_sentence

__all__ = ["answer", "differences", "label", "news", "piece_line", "verdicts", "working"]

KINDS = ("route", "view", "seats", "diners", "turning")
SIDES = {"left": "on the left", "right": "on the right", "below": "below", "above": "above"}
TOUCHES = 0.0005  # m; nearer than this is said as touching
MOST = 6  # changes that are spoken after one move


def _size(thing: Placed, home: Home) -> str:
    w, d, _ = thing.piece.size
    round_ = thing.piece.shape == "circle" and abs(w - d) < 1e-9
    return size_words(thing.piece.size[:2], round_, home.units)


def piece_line(hand: Hand, case: Case, gaps: Sequence[Gap]) -> dict[str, str]:
    """The chosen piece in words: what it is, where, and what is nearest.

    Parameters
    ----------
    hand : Hand
        The plan.
    case : Case
        Its layout, laid out.
    gaps : sequence of Gap
        Of the chosen piece.

    Returns
    -------
    dict of str to str
        "name" and "text".
    """
    id, units = hand.values["piece"], hand.home.units
    thing = case.thing(id)
    if thing is None:
        return {"name": "", "text": ""}
    x, y, turn = hand.pose(id)
    said = [
        _size(thing, hand.home),
        f"its middle {in_sentence(x, units=units)} from the left, "
        f"{in_sentence(y, units=units)} from below",
    ]
    if turn:
        said.append(f"turned {turn:g}°")
    if hand.is_locked(id):
        said.append("locked")
    near = []
    for gap in gaps:
        what = "the wall" if not gap.owner else case.name(gap.owner)
        side = SIDES[gap.direction]
        if gap.distance < -TOUCHES:
            deep = in_sentence(-gap.distance, units=units)
            near.append(f"stands {deep} in {what} {side}")
        elif gap.distance < TOUCHES:
            near.append(f"touches {what} {side}")
        else:
            near.append(f"{in_sentence(gap.distance, units=units)} to {what} {side}")
    text = ", ".join(said) + (f". {'; '.join(near)}" if near else "")
    return {"name": hand.name(id), "text": f"{text}."}


def label(hand: Hand, case: Case, thing: Placed) -> str:
    """What a screen reader says of a piece: name, size, room, nearest wall.

    Parameters
    ----------
    hand : Hand
        The plan.
    case : Case
        Its layout, laid out.
    thing : Placed
        The piece.

    Returns
    -------
    str
        As "sofa, 2200 × 950, in the living room, at the left wall".
    """
    id, home, space = thing.id, hand.home, case.space_of[thing.id]
    x, y, turn = hand.pose(id)
    at = ShapelyPoint(x, y)
    room = next((r for r, s in space.outlines.items() if s.covers(at)), space.rooms[0])
    parts = [hand.name(id), _size(thing, home), f"in the {home.rooms[room].name}"]
    walls = [w for w in space.walls if w.room == room and w.length > 0]
    walls = walls or [w for w in space.walls if w.length > 0]
    away = shapely.distance(thing.footprint, [LineString([w.start, w.end]) for w in walls])
    ix, iy = walls[int(away.argmin())].inward
    side = ("left" if ix > 0 else "right") if abs(ix) >= abs(iy) else ""
    side = side or ("lower" if iy > 0 else "upper")
    distance = float(away.min())
    if distance < TOUCHES:
        parts.append(f"at the {side} wall")
    else:
        parts.append(f"{in_sentence(distance, units=home.units)} from the {side} wall")
    if turn:
        parts.append(f"turned {turn:g}°")
    if hand.is_locked(id):
        parts.append("locked")
    return ", ".join(parts)


def answer(project: Project, result: LayoutResult) -> dict[str, Any]:
    """The brief in one line and in squares.

    Parameters
    ----------
    project : Project
        Its brief is answered.
    result : LayoutResult
        Of the layout under the hand.

    Returns
    -------
    dict of str to Any
        "answer" and "brief".
    """
    lines = brief(project, layout=result, kinds=KINDS)
    fails = sum(f.verdict == "fails" for f in result.findings)
    text = f"{brief_sentence(lines)}."
    if fails:
        text += f" {fails} {'thing fails' if fails == 1 else 'things fail'}."
    elif result.failing:
        text += " Nothing fails; some of it is to be measured first."
    else:
        text += " Nothing fails."
    return {"answer": text, "brief": brief_items(lines)}


def verdicts(result: LayoutResult, *, home: Home) -> dict[str, str]:
    """Each subject with its verdict, so that two results can be told apart.

    Parameters
    ----------
    result : LayoutResult
        Of the layout under the hand.
    home : Home
        For its units.

    Returns
    -------
    dict of str to str
        A short sentence by subject; routes with their width.
    """
    found = {}
    for row in result.routes:
        width = in_sentence(row.route.width, units=home.units) if row.route.open else "no way"
        found[row.name] = f"{row.name} {width}, {row.finding.verdict}"
    routes = {row.finding.what for row in result.routes}
    for f in result.findings:
        if f.what not in routes:
            found.setdefault(f.what, f"{f.what}: {f.verdict}")
    return found


def news(before: Mapping[str, str], now: Mapping[str, str]) -> list[str]:
    """What a move has changed, worth saying aloud.

    Parameters
    ----------
    before, now : mapping of str to str
        From `verdicts`.

    Returns
    -------
    list of str
        A few short sentences; what is new and passes is not one.

    Examples
    --------
    >>> news({"Way": "Way 890 mm, fails"}, {"Way": "Way 910 mm, passes"})
    ['Way 910 mm, passes']
    >>> news({}, {"Chest": "Chest: passes"})
    []
    """
    changed = [
        text
        for key, text in now.items()
        if before.get(key) != text and (key in before or not text.endswith("passes"))
    ]
    gone = [k for k, t in before.items() if k not in now and not t.endswith("passes")]
    return changed[:MOST] + [f"{k}: no longer a matter" for k in gone[: MOST // 2]]


def working(result: LayoutResult) -> list[list[str]]:
    """How what is said was worked out.

    Parameters
    ----------
    result : LayoutResult
        Of the layout under the hand.

    Returns
    -------
    list of list of str
        Subject, reason and source of each.
    """
    return [
        [f.what, f.why, source_of(f.rule)]
        for f in result.findings
        if f.verdict != "passes" or f.rule.startswith(("plan.route", "plan.view"))
    ]


def _place_words(placement: Placement, units: str) -> str:
    x, y = placement.at
    turn = f", turned {placement.rotation % 360:g}°" if placement.rotation % 360 else ""
    left, below = in_sentence(x, units=units), in_sentence(y, units=units)
    return f"{left} from the left, {below} from below{turn}"


def _step_words(a: Placement, b: Placement, units: str) -> str:
    """How far it is from where a piece stands in one option to where it stands in the other."""
    far = math.dist(a.at, b.at)
    by = (b.rotation - a.rotation + 180) % 360 - 180
    parts = [in_sentence(far, units=units)] if far >= TOUCHES else []
    if abs(by) >= 0.05:
        parts.append(f"{abs(by):g}°")
    return " and ".join(parts)


def differences(
    hand: Hand, mine: LayoutResult, other: LayoutResult, *, heads: tuple[str, str]
) -> dict[str, Any]:
    """Two options side by side: what each gives, and which pieces stand elsewhere.

    Parameters
    ----------
    hand : Hand
        The plan, with an option that it is held against.
    mine, other : LayoutResult
        Of the layout under the hand and of the compared one.
    heads : tuple of (str, str)
        What the two are called.

    Returns
    -------
    dict of str to Any
        A table for the page.
    """
    units = hand.home.units
    rows: list[list[str]] = []
    theirs = {row.id: row for row in other.routes}
    for row in mine.routes:
        widths = [
            "–"
            if r is None
            else in_sentence(r.route.width, units=units)
            if r.route.open
            else "no way"
            for r in (row, theirs.get(row.id))
        ]
        rows.append([row.name, *widths, ""])
    circles = [f"Ø {in_sentence(r.circle, units=units)}" for r in (mine, other)]
    rows.append(["largest circle clear of pieces", *circles, ""])
    shares = [f"{r.free_share * 100:.0f} %" for r in (mine, other)]
    rows.append(["free floor", *shares, ""])
    counts = [
        f"{sum(f.verdict == 'fails' for f in r.findings)} fail, "
        f"{sum(f.verdict == 'measure first' for f in r.findings)} to measure first"
        for r in (mine, other)
    ]
    rows.append(["findings", *counts, ""])
    here, there = mine.layout.pieces, other.layout.pieces
    for id in sorted(hand.differing(), key=hand.name):
        if id in there:
            cells = [_place_words(p[id], units) for p in (here, there)]
            rows.append([hand.name(id), *cells, _step_words(there[id], here[id], units)])
        else:
            rows.append([hand.name(id), _place_words(here[id], units), "not there", ""])
    for id in there:
        if id not in here:
            rows.append([id.replace("_", " "), "not there", _place_words(there[id], units), ""])
    return {
        "title": "What differs",
        "note": "grey where it stands now, dashed where it stands in the other",
        "head": ["", *heads, "moved by"],
        "rows": rows,
    }
