"""Options in plain words: what each gives and costs, and why nothing fits where nothing does."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from designkit.plan.layouts.ground import Ground, Pane
from designkit.plan.layouts.options import Option
from designkit.plan.layouts.poses import Sifted, off_ahead
from designkit.plan.layouts.shapes import Poses
from designkit.plan.layouts.terms import term_of
from designkit.plan.layouts.things import Thing

__all__ = ["called", "name_of", "no_place", "said_of", "stands"]


def called(thing: Thing) -> str:
    """A piece within a sentence.

    Parameters
    ----------
    thing : Thing
        The piece.

    Returns
    -------
    str
        "the sofa".
    """
    return f"the {thing.piece.name}"


def _looks_at(
    thing: Thing, place: Poses, things: Sequence[Thing], places: Sequence[Poses], ground: Ground
) -> str:
    """What a seat looks at: a view, a screen, a chimney breast; "" for nothing named."""

    def within(pane: Pane) -> float:
        away = float(np.hypot(place.x[0] - pane.centre[0], place.y[0] - pane.centre[1]))
        return 28.0 + 0.6 * math.degrees(math.atan(pane.width / 2 / max(0.5, away)))

    spots = [
        (pane.name, pane.centre, within(pane))
        for pane in sorted(ground.panes, key=lambda p: (not p.view, p.id))
    ]
    spots += [
        (t.piece.name, (float(q.x[0]), float(q.y[0])), 25.0)
        for t, q in zip(things, places)
        if t.role == "screen"
    ]
    for name, at, most in spots:
        off = off_ahead(place, np.array([at[0]]), np.array([at[1]]))[0, 0]
        if off <= most:
            return _the(name)
    return ""


def _by(place: Poses, ground: Ground) -> str:
    """What a table stands near: a window, a door, an outlet."""
    x, y = float(place.x[0]), float(place.y[0])
    best: tuple[float, str] = (2.2, "")
    for pane in ground.panes:
        away = float(np.hypot(pane.centre[0] - x, pane.centre[1] - y)) - pane.width / 4
        best = min(best, (round(away, 6), f"by the {pane.name}"))
    for way in ground.ways:
        away = float(np.hypot(way.centre[0] - x, way.centre[1] - y))
        best = min(best, (round(away, 6), f"by the {way.name}"))
    if len(ground.outlets):
        away = float(np.hypot(ground.outlets[:, 0] - x, ground.outlets[:, 1] - y).min())
        if away <= 0.4:
            return "under the ceiling outlet"
    return best[1]


def _at_wall(place: Poses, ground: Ground) -> str:
    """Which wall a piece stands at: by its window or door, by what is opposite, by its side."""
    face = ground.faces[int(place.wall[0])]
    openings = [(pane.name, pane.centre) for pane in ground.panes]
    openings += [(way.name, way.centre) for way in ground.ways]
    (sx, sy), (ux, uy), (nx, ny) = face.start, face.along, face.inward
    at = float(place.x[0] - sx) * ux + float(place.y[0] - sy) * uy
    here: list[tuple[float, str]] = []
    opposite: list[tuple[float, str]] = []
    for name, (x, y) in openings:
        along, off = (x - sx) * ux + (y - sy) * uy, (x - sx) * nx + (y - sy) * ny
        if abs(off) < 0.05 and 0.0 < along < face.length:
            here.append((round(abs(along - at), 6), name))
        elif off > 0.5 and any(
            abs((f.start[0] - x) * f.inward[0] + (f.start[1] - y) * f.inward[1]) < 0.05
            and f.inward[0] * nx + f.inward[1] * ny < -0.9
            for f in ground.faces
        ):
            opposite.append((round(abs(along - at), 6), name))
    if here:
        return f"at the wall with {_the(min(here)[1])}"
    if opposite:
        return f"at the wall opposite {_the(min(opposite)[1])}"
    if ground.entrance is not None:
        ix, iy = ground.entrance.inward
        if abs(ix * ny - iy * nx) > 0.9:
            side = "right" if ix * ny - iy * nx > 0 else "left"
            return f"at the wall on the {side} as one comes in"
    return "at the wall"


def _the(name: str) -> str:
    return name if name.startswith("the ") else f"the {name}"


def stands(things: Sequence[Thing], places: Sequence[Poses], ground: Ground) -> list[str]:
    """How the main pieces stand, a clause each.

    Parameters
    ----------
    things : sequence of Thing
        Pieces that stand.
    places : sequence of Poses
        One place each.
    ground : Ground
        The space.

    Returns
    -------
    list of str
        "the sofa stands free in the room and faces the harbour window".
    """
    out = []
    for thing, place in zip(things, places):
        if thing.role in ("sofa", "bed", "desk"):
            where = _at_wall(place, ground) if place.wall[0] >= 0 else "free in the room"
            look = _looks_at(thing, place, things, places, ground) if thing.role == "sofa" else ""
            out.append(f"{called(thing)} stands {where}" + (f" and faces {look}" if look else ""))
        elif thing.role == "dining":
            by = _by(place, ground)
            out.append(f"{called(thing)} stands {by}" if by else f"{called(thing)} stands apart")
    return out[:3]


def name_of(things: Sequence[Thing], places: Sequence[Poses], ground: Ground) -> str:
    """A short name of an option, by its main pieces.

    Parameters
    ----------
    things : sequence of Thing
        Pieces that stand.
    places : sequence of Poses
        One place each.
    ground : Ground
        The space.

    Returns
    -------
    str
        "sofa free in the room, facing the harbour window; table by the kitchen door".
    """
    parts = [
        clause.removeprefix("the ").replace(" stands ", " ").replace(" and faces ", ", facing ")
        for clause in stands(things, places, ground)[:2]
    ]
    return "; ".join(parts) or "as proposed"


def said_of(
    option: Option, others: Sequence[Option], clauses: Sequence[str], work: Sequence[str]
) -> str:
    """Two or three sentences: how it stands, what it gives, what it costs.

    Parameters
    ----------
    option : Option
        The option.
    others : sequence of Option
        All options, itself among them.
    clauses : sequence of str
        From `stands`.
    work : sequence of str
        Building work it asks for.

    Returns
    -------
    str
        Plain sentences.
    """
    gains: list[tuple[float, str]] = []
    faults: list[tuple[float, str]] = []
    for score in option.scores:
        mean = sum(o.score(score.term) for o in others) / len(others)
        over = score.points - mean if len(others) > 1 else score.points
        words = term_of(score.term)
        if score.points > 0.05 and over > -0.5:
            gains.append((-(over + 0.15 * score.points), words.gives))
        if score.points < -0.05:
            faults.append((score.points + min(over, 0.0), words.costs))
    gains.sort()
    faults.sort()
    text = ""
    if clauses:
        text = _sentence(_listed(list(clauses)))
    gives = [words for _, words in gains[:2]]
    if gives:
        text += _sentence("it gives: " + _listed(gives))
    costs = [words for _, words in faults[:2]]
    costs += list(work[:1])
    if option.left_out:
        costs.append(f"it does without {_listed(list(option.left_out))}")
    text += _sentence("it costs: " + _listed(costs) if costs else "nothing speaks against it")
    return text.strip()


def _listed(parts: Sequence[str]) -> str:
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])}, and {parts[-1]}"


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}. "


def no_place(thing: Thing, why: Sifted, ground: Ground) -> str:
    """Why a piece has no place by itself.

    Parameters
    ----------
    thing : Thing
        The piece.
    why : Sifted
        What turned its places down.
    ground : Ground
        The space.

    Returns
    -------
    str
        One sentence with the counts.
    """
    x0, y0, x1, y1 = ground.region.bounds
    w, d, _ = thing.size
    if min(w, d) > min(x1 - x0, y1 - y0) or max(w, d) > float(np.hypot(x1 - x0, y1 - y0)):
        return (
            f"The {thing.piece.name} is {w:.2f} × {d:.2f} m and the room {x1 - x0:.2f} × "
            f"{y1 - y0:.2f} m: it does not go in."
        )
    reasons = [
        (why.outside, "run into a wall or a column"),
        (why.door, "stand in a door's way"),
        (why.use, "leave too little floor to use it"),
        (why.safety, "bring a child up to a window over a drop"),
        (why.asked, "are not as asked"),
    ]
    told = [f"{count} {words}" for count, words in sorted(reasons, key=lambda r: -r[0]) if count]
    return (
        f"No place for the {thing.piece.name}: of {why.tried} places looked at, "
        f"{_listed(told) or 'none is free'}."
    )
