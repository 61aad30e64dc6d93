"""Where nothing fits: the piece or the bottleneck, and the smallest changes that would do."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from designkit.model import Home, Piece, Placement
from designkit.plan.layouts.flow import Flow
from designkit.plan.layouts.ground import Ground, floor_for, levels_of, shut_cells
from designkit.plan.layouts.leaf import Exact
from designkit.plan.layouts.search import Clock, Found, solve
from designkit.plan.layouts.tables import NEVER, Tables
from designkit.plan.layouts.things import Relation
from designkit.plan.place import Placed
from designkit.plan.routes import widest

__all__ = ["Asked", "other_changes", "why_none"]

TRIES = 20  # nodes a trial once it has a layout; twenty times as many without one

TRIALS = 24  # changes that are tried where the tables are of no use

Again = Callable[[str, Piece], bool]


def _less(tables: Tables, without: Sequence[int]) -> Tables:
    keep = [i for i in range(len(tables.things)) if i not in without]
    number = {i: k for k, i in enumerate(keep)}
    return dataclasses.replace(
        tables,
        things=tuple(tables.things[i] for i in keep),
        poses=tuple(tables.poses[i] for i in keep),
        own=tuple(tables.own[i] for i in keep),
        pair={
            (number[i], number[j]): t
            for (i, j), t in tables.pair.items()
            if i in number and j in number
        },
        parts=tuple(tables.parts[i] for i in keep),
    )


def _fits(tables: Tables, ground: Ground, exact: Exact, clock: Clock, *, fast: bool) -> bool:
    flow = Flow(tables, ground, fast=fast)
    found = solve(
        tables,
        flow,
        lambda places: exact.whole(tables, places).ok,
        nodes=TRIES,
        clock=clock,
        width=12,
        fast=fast,
    )
    return found.places is not None


def _bare(tables: Tables, clock: Clock, flow: Flow) -> Found:
    """The best layout with no way looked at; none where the pieces themselves do not fit."""

    class Open(Flow):
        def __init__(self) -> None:
            self.start = flow.start[:, :1] * 0
            self.floods = 0

        def child(self, blocked, chosen, i, p):  # type: ignore[no-untyped-def]
            return blocked

    return solve(tables, Open(), lambda _: True, nodes=100, clock=clock, width=12)


def why_none(
    tables: Tables,
    flow: Flow,
    exact: Exact,
    ground: Ground,
    *,
    clock: Clock,
    again: Again,
    fast: bool,
) -> tuple[str, tuple[str, ...]]:
    """Why there is no layout, and what would help.

    Parameters
    ----------
    tables : Tables
        What places and pairs are worth.
    flow : Flow
        Floods.
    exact : Exact
        Decides whole layouts.
    ground : Ground
        The space.
    clock : Clock
        Its signal to stop is heeded.
    again : callable
        Says whether all go in with one piece in another size.
    fast : bool
        Use compiled loops.

    Returns
    -------
    tuple of str and tuple of str
        One or two sentences, and changes with which a layout was found.
    """
    loose = [i for i, t in enumerate(tables.things) if t.locked is None and not t.optional]
    words = _clash(tables, loose)
    bare = _bare(tables, clock, flow)
    if not words and bare.places is not None:
        words = _bottleneck(tables, bare.places, exact, ground)
    if not words:
        words = "The pieces do not all go in: wherever some stand, another has no place."
    changes: list[str] = []
    sizes = sorted(loose, key=lambda i: (tables.things[i].size[0] * tables.things[i].size[1], i))
    # Of equal pieces one is enough.
    kinds = [i for k, i in enumerate(sizes) if _alike(tables, i) not in
             [_alike(tables, j) for j in sizes[:k]]]  # fmt: skip
    spare = [
        i
        for i in kinds
        if len(loose) > 1
        and not clock.over()
        and _fits(_less(tables, [i]), ground, exact, clock, fast=fast)
    ]
    for i in spare[:2]:
        smaller = _smaller(tables, i, ground, again, clock)
        if smaller:
            changes.append(smaller)
    changes += [f"Leave out the {tables.things[i].piece.name}." for i in spare[:3]]
    narrower = _narrower(tables, ground, clock, fast=fast)
    if narrower:
        changes.append(narrower)
    if not changes:
        changes += _several(tables, sizes, ground, exact, clock, fast=fast)
    return words, tuple(changes)


def _alike(tables: Tables, i: int) -> int:
    """A number that equal pieces share."""
    alike = tables.things[i].alike
    return alike if alike >= 0 else -1 - i


def _several(
    tables: Tables,
    sizes: Sequence[int],
    ground: Ground,
    exact: Exact,
    clock: Clock,
    *,
    fast: bool,
) -> list[str]:
    """The fewest of the smallest pieces without which the others go in."""
    for count in range(2, len(sizes)):
        if clock.over():
            break
        if _fits(_less(tables, sizes[:count]), ground, exact, clock, fast=fast):
            names = [tables.things[i].piece.name for i in sizes[:count]]
            told = [
                f"the {name}" if names.count(name) == 1 else f"{names.count(name)} of the {name}s"
                for name in dict.fromkeys(names)
            ]
            listed = told[0] if len(told) == 1 else f"{', '.join(told[:-1])} and {told[-1]}"
            return [f"Leave out {listed}."]
    return []


def _clash(tables: Tables, loose: Sequence[int]) -> str:
    """Two pieces of which no pair of places can be."""
    for i, j in itertools.combinations(loose, 2):
        if (tables.pair[i, j] <= NEVER // 2).all():
            one, two = tables.things[i].piece.name, tables.things[j].piece.name
            return (
                f"The {one} and the {two} do not go in together: in each of their "
                f"{tables.pair[i, j].size} pairs of places one stands in the other's way."
            )
    return ""


def _bottleneck(tables: Tables, places: Sequence[int], exact: Exact, ground: Ground) -> str:
    """The narrowest place of the best layout in which ways are not looked at."""
    whole = exact.whole(tables, places)
    placed = exact.placed(whole)
    floor = floor_for(ground, placed)
    worst: tuple[float, str] | None = None
    for need in ground.needs:
        if need.width <= 1e-6 or (need.piece and need.piece not in placed):
            continue
        route = widest(floor, start=need.start, end=need.end, overrides=ground.rules)
        short = need.width - route.width
        if short > 1e-6 and (worst is None or short > worst[0]):
            names = [_called(ground, placed, id) for id in (route.between or route.closed_by)]
            pair = " and ".join(dict.fromkeys(names)) or "the pieces"
            worst = (
                short,
                f"All pieces go in, but the way {need.name} stays too narrow: in the best "
                f"arrangement without it {pair} leave {route.width:.2f} m of the "
                f"{need.width:.2f} m that are wanted.",
            )
    if worst is not None:
        return worst[1]
    fails = [thing.piece.name for thing in tables.things if thing.id in whole.fails]
    if fails:
        return (
            f"All pieces go in, but no way of {ground.minor:.2f} m leads to the floor from which "
            f"the {fails[0]} is used."
        )
    return ""


def _called(ground: Ground, placed: Mapping[str, Placed], id: str) -> str:
    home = ground.home
    if " wall " in id:
        return "the wall"
    if id in home.openings:
        plain = home.openings[id]
        return f"the {plain.name or f'{plain.kind} to the {plain.to}'}"
    if id in home.pieces:
        return f"the {home.pieces[id].name}"
    if id in placed:
        return f"the {placed[id].piece.name}"
    if id in {c.id for c in ground.space.columns}:
        return "the column"
    return id


def _narrower(tables: Tables, ground: Ground, clock: Clock, *, fast: bool) -> str:
    """Whether ways as narrow as a single narrow place may be would do."""
    pinch = ground.value("plan.route.pinch")
    if ground.home.rule_set == "step-free" or not any(n.width > pinch for n in ground.needs):
        return ""
    needs = tuple(dataclasses.replace(n, width=min(n.width, pinch)) for n in ground.needs)
    levels = levels_of(needs, ground.minor)
    shut = shut_cells(ground.floor, ground.solid, ground.ways, ground.grid, levels)
    other = dataclasses.replace(ground, needs=needs, levels=levels, shut=shut, kept={})
    if _fits(tables, other, Exact(other), clock, fast=fast):
        return f"Allow ways of {pinch:.2f} m."
    return ""


def _smaller(tables: Tables, i: int, ground: Ground, again: Again, clock: Clock) -> str:
    """The least by which one piece is taken smaller so that all go in."""
    thing = tables.things[i]
    w, d, h = thing.size
    for share in (0.1, 0.2, 0.3):
        if clock.over():
            break
        size = (round(w * (1 - share), 2), d, h)
        if thing.piece.shape == "circle":
            size = (size[0], size[0], h)
        piece = dataclasses.replace(thing.piece, size=size)
        if thing.piece.parts is None and again(thing.item, piece):
            return f"Take a {thing.piece.name} of {size[0]:.2f} m, {w - size[0]:.2f} m less."
    return ""


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What a search is asked for, as far as a change of it may help."""

    home: Home
    pieces: Mapping[str, str]  # that are placed: placement -> piece
    locked: Mapping[str, Placement]
    relations: tuple[Relation, ...]


def other_changes(
    asked: Asked, *, first: Sequence[str], mine: Sequence[str], fits: Callable[[Asked], bool]
) -> tuple[str, ...]:
    """Changes that need the room and the places to be made ready again.

    Parameters
    ----------
    asked : Asked
        What was asked for.
    first : sequence of str
        Placements to leave out or to take smaller; the others are left as they are.
    mine : sequence of str
        Locked placements that may be turned or let go.
    fits : callable
        Says in a short search whether there is a layout.

    Returns
    -------
    tuple of str
        Each did in such a search: leave out, turn, let go, ask for less, smaller.
    """
    home, tried, out = asked.home, 0, []

    def does(**change: object) -> bool:
        nonlocal tried
        tried += 1
        return tried <= TRIALS and fits(dataclasses.replace(asked, **change))  # type: ignore[arg-type]

    for id in first:
        rest = {k: item for k, item in asked.pieces.items() if k != id}
        left = tuple(r for r in asked.relations if id not in (r.piece, r.other))
        if not rest or does(pieces=rest, relations=left):
            out.append(f"Leave out the {home.pieces[asked.pieces[id]].name}.")
    for id in mine:
        stands = asked.locked[id]
        name = home.pieces[stands.item or id].name
        for turn, words in ((90, "90° counter-clockwise"), (270, "90° clockwise"), (180, "180°")):
            other = dataclasses.replace(stands, rotation=(stands.rotation + turn) % 360.0)
            if does(locked={**asked.locked, id: other}):
                out.append(f"Turn the {name} by {words}.")
                break
        free = {k: p for k, p in asked.locked.items() if k != id}
        if does(locked=free, pieces={**asked.pieces, id: stands.item or id}):
            out.append(f"Let the {name} be moved.")
    for relation in asked.relations:
        less = tuple(r for r in asked.relations if r is not relation)
        if does(relations=less):
            out.append(f"Do not ask that {_asked_words(relation, asked)}.")
    for item in dict.fromkeys(asked.pieces[id] for id in first):
        piece = home.pieces[item]
        w, d, h = piece.size
        sizes = [(round(w * share, 2), d, h) for share in (0.9, 0.8, 0.7, 0.6)]
        if piece.shape == "circle":
            sizes = [(wide, wide, h) for wide, _, _ in sizes]
        elif piece.kind != "bed":  # a bed is as long as who lies in it
            sizes += [(round(w * s, 2), round(d * s, 2), h) for s in (0.9, 0.8, 0.7, 0.6)]
        for size in sizes if piece.parts is None else ():
            smaller = {**home.pieces, item: dataclasses.replace(piece, size=size)}
            if does(home=dataclasses.replace(home, pieces=smaller)):
                out.append(f"Take a {piece.name} of {size[0]:.2f} × {size[1]:.2f} m.")
                break
    return tuple(out)


def _asked_words(relation: Relation, asked: Asked) -> str:
    """A relation within a sentence."""
    home = asked.home

    def name(id: str) -> str:
        if id in home.openings:
            plain = home.openings[id]
            return f"the {plain.name or f'{plain.kind} to the {plain.to}'}"
        item = asked.pieces.get(id, id)
        return f"the {home.pieces[item].name}" if item in home.pieces else id

    verb = {
        "faces": "faces",
        "against": "stands against",
        "keep out of": "keeps out of",
        "with": "stands with",
    }[relation.kind]
    other = "a wall" if relation.other == "wall" else name(relation.other)
    return f"{name(relation.piece)} {verb} {other}"
