"""Propose layouts: several that truly differ, proven, scored and in plain words."""

from __future__ import annotations

import dataclasses
import time
from collections.abc import Callable, Mapping, Sequence

import numpy as np

from designkit.errors import InputError
from designkit.model import Home, Layout, Piece, Placement
from designkit.plan.layouts import explain, kernels
from designkit.plan.layouts.asked import Job
from designkit.plan.layouts.diverse import hubs_of, unlike
from designkit.plan.layouts.dressing import dressed
from designkit.plan.layouts.failing import Asked, other_changes, why_none
from designkit.plan.layouts.flow import Flow
from designkit.plan.layouts.ground import Ground, ground_of
from designkit.plan.layouts.leaf import Blame, Exact
from designkit.plan.layouts.options import (
    Option,
    Progress,
    Proposals,
    in_points,
    scores_of,
    work_of,
)
from designkit.plan.layouts.poses import MOST, Sifted, poses_of, seeds_of
from designkit.plan.layouts.refine import refined
from designkit.plan.layouts.scoring import place_terms, weights_of
from designkit.plan.layouts.search import Clock, Found, Sums, solve
from designkit.plan.layouts.shapes import Poses
from designkit.plan.layouts.tables import Tables, tables_of
from designkit.plan.layouts.terms import TERMS
from designkit.plan.layouts.things import HUBS, Relation, Thing, things_of

__all__ = ["poses_for", "propose"]

NODES = 20_000  # of the exact search, an option
BELONGS: Mapping[str, tuple[str, ...]] = {
    "low table": ("sofa", "armchair"),
    "armchair": ("sofa",),
    "sofa": ("sofa",),
    "side table": ("sofa", "armchair"),
    "lamp": ("sofa", "armchair", "bed"),
    "bedside table": ("bed",),
    "desk chair": ("desk",),
    "seat": ("desk", "piano", "bed"),
    "console": ("sofa",),
    "plant": ("screen",),
}


def propose(
    home: Home,
    *,
    pieces: Sequence[str] | Mapping[str, str],
    space: str,
    count: int = 5,
    seconds: float | None = None,
    locked: Sequence[str] | Mapping[str, Placement] = (),
    relations: Sequence[Relation] = (),
    optional: Sequence[str] = (),
    progress: Callable[[Progress], None] | None = None,
    stop: Callable[[], bool] | None = None,
    fast: bool | None = None,
    nodes: int = NODES,
    most: int = MOST,
) -> Proposals:
    """Propose layouts of pieces in a space.

    Parameters
    ----------
    home : Home
        The home; its brief, rules and current layout are heeded.
    pieces : sequence of str or mapping of str to str
        Piece ids (one may be named several times), ids of placements of the
        current layout, or placement id to piece id. Rugs are laid under what
        is placed, a screen on its cabinet; what hangs is left out and said.
    space : str
        A room, or rooms joined by "+".
    count : int, optional
        How many options at most.
    seconds : float or None, optional
        After which the search stops with the best so far; None: no limit. A
        search that ends by itself gives the same answer on any machine; one
        that the clock stops says so in its certificate. [s]
    locked : sequence of str or mapping of str to Placement, optional
        What stays where it is: ids of the current layout, or placements.
    relations : sequence of Relation, optional
        What pieces have to keep to.
    optional : sequence of str, optional
        Placement ids that may be left out.
    progress : callable, optional
        Called now and then; its errors are not swallowed.
    stop : callable, optional
        Asked now and then; true stops with the best so far.
    fast : bool, optional
        Use compiled loops; None: where numba is installed. The layouts are the same.
    nodes : int, optional
        How many nodes the exact search may look at for each option.
    most : int, optional
        About how many places a piece.

    Returns
    -------
    Proposals
        Options in the order of their score; where nothing fits, why and what
        would help.

    Raises
    ------
    LookupFailed
        A piece, a space or a relation names what is not there.
    InputError
        There is nothing to place, there are too many pieces, or the shell
        cannot be taken as written.

    Examples
    --------
    >>> from designkit.model import Opening, Piece, Room
    >>> room = Room(name="room", outline=((0, 0), (4, 0), (4, 4), (0, 4)), height=2.6)
    >>> door = Opening(room="r", wall=0, offset=0.3, width=0.9, head=2.1, kind="passage",
    ...                to="hall")
    >>> bed = Piece(name="bed", kind="bed", size=(1.6, 2.05, 1.0))
    >>> home = Home(name="h", rooms={"r": room}, openings={"d": door}, pieces={"bed": bed})
    >>> found = propose(home, pieces=["bed"], space="r", count=2, fast=False)
    >>> [option.proven for option in found.options]
    [True, True]
    """
    began = time.perf_counter()
    if count < 1:
        raise InputError("count", given=count, allowed="1 or more")
    if fast and not kernels.available():
        raise InputError(
            "fast", given=True, allowed="numba installed", mend="install the extra fast"
        )
    use_fast = kernels.available() if fast is None else fast
    job = Job(home, pieces, space, locked, relations, optional)
    clock = Clock(seconds, stop)
    report = _Reporter(progress, clock)
    report(0.0, "Making the room ready.")
    ground = ground_of(home, space=space, fixed=job.fixed, free=list(job.pieces))
    things = things_of(
        home,
        pieces=job.pieces,
        locked=job.locked,
        optional=optional,
        relations=relations,
        rules=ground.rules,
    )
    ready = time.perf_counter()
    if ground.said:
        report(0.05, " ".join(ground.said))
    poses, sifted = poses_for(things, ground, most=most)
    report(0.1, "Looking at places.")
    blocked = [
        thing for thing, found in zip(things, poses) if not len(found) and not thing.optional
    ]
    said = [*ground.said, *job.said]
    wanted = Asked(home=home, pieces=job.pieces, locked=job.locked, relations=tuple(relations))
    mine = [id for id in locked if id in job.locked]

    def fits(changed: Asked) -> bool:
        return _one_fits(changed, space, optional, clock, most, fast=use_fast)

    if blocked:
        words = " ".join(explain.no_place(t, sifted[t.id], ground) for t in blocked)
        changes = other_changes(wanted, first=[t.id for t in blocked], mine=mine, fits=fits)
        changes = changes or tuple(_smaller(t) for t in blocked)
        return Proposals(
            space=ground.space.id,
            options=(),
            shown={},
            certificate="No layout of this set of places is possible: a piece has no place.",
            complete=True,
            why_none=words,
            changes=changes,
            said=tuple(said),
            left_out=job.left_out,
            seconds={"all": time.perf_counter() - began},
        )
    placed_at = time.perf_counter()
    tables = tables_of(things, poses, ground, fast=use_fast)
    filled = time.perf_counter()
    report(0.2, "Weighing pairs.")
    flow = Flow(tables, ground, fast=use_fast)
    exact = Exact(ground)
    rounds, ended = _rounds(
        tables, flow, exact, ground, count=count, nodes=nodes, clock=clock, report=report,
        fast=use_fast,
    )  # fmt: skip
    searched = time.perf_counter()
    if not rounds:

        def again(item: str, piece: Piece) -> bool:
            other = dataclasses.replace(home, pieces={**home.pieces, item: piece})
            return fits(dataclasses.replace(wanted, home=other))

        why, changes = why_none(
            tables, flow, exact, ground, clock=clock, again=again, fast=use_fast
        )
        if not changes or mine or relations:
            first = () if changes else tuple(t.id for t in things if t.locked is None)
            changes += other_changes(wanted, first=first, mine=mine, fits=fits)
        if not changes:
            changes = ("No single change was found that does: leave out more than one piece.",)
        proof = (
            "No layout of this set of places is possible; this is proven."
            if ended == "no more"
            else "No layout was found in the nodes and the time that were given; "
            "that there is none is not proven."
        )
        return Proposals(
            space=ground.space.id,
            options=(),
            shown={},
            certificate=proof,
            complete=ended == "no more",
            why_none=why,
            changes=changes,
            said=tuple(said),
            left_out=job.left_out,
            seconds={"all": time.perf_counter() - began},
            nodes=flow.floods,
        )
    options = _options(job, tables, rounds, exact, ground, clock, fast=use_fast)
    done = time.perf_counter()
    report(1.0, "Done.", options[0].layout)
    return Proposals(
        space=ground.space.id,
        options=tuple(options),
        shown=_shown(options, tables),
        certificate=_certificate(options, ended, count, clock),
        complete=all(o.proven for o in options) and ended in ("no more", "count"),
        said=tuple(said),
        left_out=job.left_out,
        seconds={
            "ground": ready - began,
            "places": placed_at - ready,
            "tables": filled - placed_at,
            "search": searched - filled,
            "closer look": done - searched,
            "all": done - began,
        },
        nodes=flow.floods,
    )


class _Reporter:
    """Hands progress on; what the callback raises is not swallowed."""

    def __init__(self, progress: Callable[[Progress], None] | None, clock: Clock) -> None:
        self.progress = progress
        self.last = 0.0
        self.state = (0.0, "")
        self.best: Layout | None = None
        if progress is not None:
            clock.tick = self.tick

    def __call__(self, done: float, text: str, best: Layout | None = None) -> None:
        self.state = (done, text)
        self.best = best or self.best
        if self.progress is not None:
            self.last = time.perf_counter()
            self.progress(Progress(done=done, text=text, best=self.best))

    def tick(self) -> None:
        """Said again, at most five times a second."""
        if time.perf_counter() - self.last > 0.2:
            self(*self.state)


# --- places ---------------------------------------------------------------------


def poses_for(
    things: Sequence[Thing], ground: Ground, *, most: int = MOST
) -> tuple[list[Poses], dict[str, Sifted]]:
    """Candidate places of all pieces, hubs before what belongs to them.

    Parameters
    ----------
    things : sequence of Thing
        In the order of the search.
    ground : Ground
        The space.
    most : int, optional
        About how many places a piece.

    Returns
    -------
    tuple of list of Poses and dict of str to Sifted
        Places, and for each piece why others were turned down.
    """
    weights = weights_of(ground)
    out: list[Poses] = []
    sifted: dict[str, Sifted] = {}
    done: dict[int, Poses] = {}
    for thing in things:
        why = sifted[thing.id] = Sifted()
        if thing.alike in done and thing.alike >= 0:
            out.append(done[thing.alike])
            continue
        hosts: list[tuple[Thing, Poses]] = []
        for number, other in enumerate(things[: len(out)]):
            if other.role not in BELONGS.get(thing.role, ()) or other.alike == thing.alike >= 0:
                continue
            if any(other.alike == known.alike >= 0 for known, _ in hosts):
                continue
            places = out[number]
            wanted = {"low table": 260, "bedside table": 130, "side table": 70, "desk chair": 300}
            share = wanted.get(thing.role, 40)
            if len(places) > share:
                worth = np.zeros(len(places))
                for term, values in place_terms(other, ground, places).items():
                    worth += weights[term] * values
                places = places.take(seeds_of(places, worth, most=share))
            hosts.append((other, places))
        found = poses_of(thing, ground, hosts=hosts, things=things, most=most, why=why)
        out.append(found)
        if thing.alike >= 0:
            done[thing.alike] = found
    return out, sifted


def _one_fits(
    asked: Asked, space: str, optional: Sequence[str], clock: Clock, most: int, *, fast: bool
) -> bool:
    """Whether there is a layout at all, in a short search."""
    home = asked.home
    job = Job(home, asked.pieces, space, asked.locked, asked.relations, optional)
    ground = ground_of(home, space=space, fixed=job.fixed, free=list(job.pieces))
    things = things_of(
        home,
        pieces=job.pieces,
        locked=job.locked,
        optional=optional,
        relations=asked.relations,
        rules=ground.rules,
    )
    poses, _ = poses_for(things, ground, most=most)
    if any(not len(found) and not thing.optional for thing, found in zip(things, poses)):
        return False
    tables = tables_of(things, poses, ground, fast=fast)
    exact = Exact(ground)
    found = solve(
        tables,
        Flow(tables, ground, fast=fast),
        lambda places: exact.whole(tables, places).ok,
        nodes=20,
        clock=clock,
        width=12,
        fast=fast,
    )
    return found.places is not None


# --- rounds ---------------------------------------------------------------------


def _spots(tables: Tables, places: Sequence[int]) -> list[tuple[float, float, float] | None]:
    out: list[tuple[float, float, float] | None] = []
    for i, p in enumerate(places):
        if tables.absent(i, p):
            out.append(None)
        else:
            q = tables.poses[i]
            out.append((float(q.x[p]), float(q.y[p]), float(q.turn[p])))
    return out


def _rounds(
    tables: Tables,
    flow: Flow,
    exact: Exact,
    ground: Ground,
    *,
    count: int,
    nodes: int,
    clock: Clock,
    report: _Reporter,
    fast: bool,
) -> tuple[list[Found], str]:
    """Option after option; why it ended: no more, count, nodes, time or stopped."""

    def leaf(places: tuple[int, ...]) -> bool:
        return exact.whole(tables, places).ok

    def why(places: tuple[int, ...]) -> Blame:
        return exact.blame(tables, places)

    rounds: list[Found] = []
    apart = ground.value("plan.score.differ")
    current, sums = tables, Sums(tables, fast=fast)
    while len(rounds) < count:
        found = solve(
            current, flow, leaf, nodes=nodes, clock=clock, why=why, sums=sums, fast=fast,
            likely=lambda places: exact.likely(tables, places),
        )  # fmt: skip
        if found.places is None:
            if found.proven:
                return rounds, "no more"
            return rounds, clock.why or "nodes"
        if rounds:  # what an earlier option was proven to be best of held this one too
            found.bound = max(found.score, min(found.bound, rounds[-1].bound))
        rounds.append(found)
        report(
            0.2 + 0.6 * len(rounds) / count,
            f"{len(rounds)} of {count} found.",
            exact.whole(tables, rounds[0].places or ()).layout,
        )
        if clock.over():
            return rounds, clock.why
        current = unlike(current, [_spots(tables, found.places)], apart=apart)
        sums.bar(current, *hubs_of(current))
    return rounds, "count"


# --- options --------------------------------------------------------------------


def _options(
    job: Job,
    tables: Tables,
    rounds: Sequence[Found],
    exact: Exact,
    ground: Ground,
    clock: Clock,
    *,
    fast: bool,
) -> list[Option]:
    raw: list[tuple[Option, list[Thing], list[Poses], list[str]]] = []
    for found in rounds:
        assert found.places is not None
        used, places = tables, found.places
        if not clock.over():
            closer = refined(tables, places, ground, exact, clock=clock, fast=fast)
            if closer is not None and closer[1].places is not None:
                used, places = closer[0], closer[1].places
        here = [i for i, p in enumerate(places) if not used.absent(i, p)]
        things = [used.things[i] for i in here]
        spots = [used.poses[i].take(np.array([places[i]])) for i in here]
        whole = exact.whole(used, places)
        scores, pair_points, points, circle = scores_of(things, spots, ground, whole)
        metres, work = work_of(things, spots, ground)
        standing = {t.id for t in things}
        missing = tuple(t.piece.name for t in tables.things if t.id not in standing)
        layout = dressed(job, ground, things, spots, whole.layout)
        option = Option(
            layout=dataclasses.replace(layout, name=explain.name_of(things, spots, ground)),
            scores=scores,
            pair_points=pair_points,
            points=points,
            widths={id: route.width for id, route in whole.routes.items()},
            circle=circle,
            work=metres,
            left_out=missing,
            proven=found.proven,
            gap=found.gap,
            certificate=_proof(found, pair_points),
            says="",
            place=tuple(_spots(used, places))
            if used is not tables
            else tuple(_spots(tables, places)),
        )
        raw.append((option, things, spots, work))
    order = sorted(range(len(raw)), key=lambda k: (-round(raw[k][0].points, 6), k))
    every = [raw[k][0] for k in order]
    out = []
    for k in order:
        option, things, spots, work = raw[k]
        says = explain.said_of(option, every, explain.stands(things, spots, ground), work)
        out.append(
            dataclasses.replace(
                option, says=says, layout=dataclasses.replace(option.layout, note=says)
            )
        )
    return out


def _proof(found: Found, pair_points: float) -> str:
    whole = sum(term.of == "whole" for term in TERMS)
    moved = ""
    if abs(pair_points - in_points(found.score)) > 0.005:
        moved = f", then moved within 20 cm to {pair_points:.2f}"
    rest = f"{moved}; the shown order adds {whole} terms that are not in the proof."
    if found.proven:
        return (
            "Best score of places and pairs on this set of places "
            f"({in_points(found.score):.2f} points){rest}"
        )
    return (
        f"Not proven best: {in_points(found.score):.2f} points, and no layout of this set of "
        f"places has more than {in_points(found.bound):.2f} (gap {100 * found.gap:.1f} %){rest}"
    )


def _certificate(options: Sequence[Option], ended: str, count: int, clock: Clock) -> str:
    whole = sum(term.of == "whole" for term in TERMS)
    proven = sum(option.proven for option in options)
    if proven == len(options):
        text = (
            f"Each of the {len(options)} options is proven to have the best pair score on this "
            f"pose set among those that differ from the ones before"
        )
    else:
        text = (
            f"{proven} of {len(options)} options are proven to have the best pair score on this "
            f"pose set; for the others the gap to it is {100 * max(o.gap for o in options):.1f} % "
            "at most"
        )
    text += f"; the shown order adds {whole} terms that are not in the proof."
    if ended == "no more":
        text += " No other layout of this set differs: this is proven."
    elif ended == "nodes":
        text += " More may be there: the search ended at its number of nodes."
    elif ended in ("time", "stopped"):
        by = "the clock" if ended == "time" else "the reader"
        text += f" More may be there: the search was ended by {by}."
    return text


def _shown(options: Sequence[Option], tables: Tables) -> dict[str, int]:
    """The best, the boldest and the one with the least building work.

    They are three where no other option asks for less work than the best does.
    """
    if not options:
        return {}
    by_id = [dict(zip([t.id for t in tables.things], option.place)) for option in options]

    def bold(k: int) -> float:
        moved = 0.0
        for thing in tables.things:
            a, b = by_id[0].get(thing.id), by_id[k].get(thing.id)
            if thing.role not in HUBS or a is None or b is None:
                continue
            moved += float(np.hypot(a[0] - b[0], a[1] - b[1]))
            moved += abs((a[2] - b[2] + 180.0) % 360.0 - 180.0) / 90.0
        return moved

    work = min(range(len(options)), key=lambda k: (round(options[k].work, 3), k == 0, k))
    shown = {"best": 0}
    rest = [k for k in range(1, len(options)) if k != work]
    if rest:
        shown["boldest"] = max(rest, key=lambda k: (round(bold(k), 6), -k))
    return {**shown, "least building work": work}


def _smaller(thing: Thing) -> str:
    w, d, _ = thing.size
    return (
        f"Leave out the {thing.piece.name}, or take one that is smaller than {w:.2f} × {d:.2f} m."
    )
