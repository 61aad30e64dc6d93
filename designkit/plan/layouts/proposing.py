"""Propose layouts: several that truly differ, proven, scored and in plain words."""

from __future__ import annotations

import dataclasses
import time
from collections.abc import Callable, Mapping, Sequence

import numpy as np
import shapely

from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import Home, Layout, Placement
from designkit.plan.layouts import explain, kernels
from designkit.plan.layouts.diverse import hubs_of, unlike
from designkit.plan.layouts.failing import why_none
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
from designkit.plan.layouts.things import HUBS, Relation, Thing, role_of, things_of
from designkit.plan.pieces import kind_of
from designkit.plan.place import place
from designkit.plan.space import space_at, spaces

__all__ = ["poses_for", "propose"]

MOST_PIECES = 14
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
    job = _Job(home, pieces, space, locked, relations, optional)
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
    poses, sifted = poses_for(things, ground, most=most)
    report(0.1, "Looking at places.")
    blocked = [
        thing for thing, found in zip(things, poses) if not len(found) and not thing.optional
    ]
    said = [*ground.said, *job.said]
    if blocked:
        words = " ".join(explain.no_place(t, sifted[t.id], ground) for t in blocked)
        changes = tuple(_smaller(t) for t in blocked)
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
        why, changes = why_none(
            home, tables, flow, exact, ground, clock=clock, proven=ended == "no more", fast=use_fast
        )
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


# --- what is asked --------------------------------------------------------------


class _Job:
    """The pieces of a call: which are placed, which stay, which are left out and why."""

    def __init__(
        self,
        home: Home,
        pieces: Sequence[str] | Mapping[str, str],
        space: str,
        locked: Sequence[str] | Mapping[str, Placement],
        relations: Sequence[Relation],
        optional: Sequence[str],
    ) -> None:
        self.home = home
        self.said: list[str] = []
        self.left_out: dict[str, str] = {}
        self.current = home.layouts.get(home.layout)
        if self.current is None and home.layouts:
            self.current = next(iter(home.layouts.values()))
        self.locked = self._locked(locked)
        named = self._named(pieces)
        self._elsewhere(space, named)
        self.pieces: dict[str, str] = {}
        self.rugs: dict[str, str] = {}
        self.on: dict[str, str] = {}
        chairs = {
            home.pieces[item].chairs.piece  # type: ignore[union-attr]
            for item in named.values()
            if home.pieces[item].chairs is not None
        }
        for id, item in named.items():
            if id in self.locked:
                continue
            self._sort(id, item, chairs)
        if not self.pieces:
            raise InputError(
                "pieces",
                given=", ".join(named) or "none",
                allowed="one piece or more that stands on the floor",
                mend="name a sofa, a bed, a table …",
            )
        if len(self.pieces) > MOST_PIECES:
            raise InputError(
                "pieces",
                given=len(self.pieces),
                allowed=f"at most {MOST_PIECES} that are placed at once",
                mend="lock what has its place already, or lay out room by room",
            )
        self.fixed = {
            id: place(id, home.pieces[p.item or id], p, overrides=home.rules)
            for id, p in self.locked.items()
        }

    def _item(self, id: str, what: str) -> str:
        home = self.home
        if id in home.pieces:
            return id
        if self.current is not None and id in self.current.pieces:
            item = self.current.pieces[id].item or id
            if item in home.pieces:
                return item
        known = [*home.pieces, *(self.current.pieces if self.current else ())]
        near = nearest(id, known)
        raise LookupFailed(
            what,
            given=id,
            allowed=", ".join(dict.fromkeys(known)) or "none",
            mend=f"write {near!r}" if near else "use one of these",
        )

    def _named(self, pieces: Sequence[str] | Mapping[str, str]) -> dict[str, str]:
        if isinstance(pieces, str):
            raise InputError("pieces", given=pieces, allowed="a list of ids", mend=f"[{pieces!r}]")
        if isinstance(pieces, Mapping):
            return {id: self._item(item, f"piece of {id}") for id, item in pieces.items()}
        out: dict[str, str] = {}
        wanted = list(pieces)
        for name in wanted:
            item = self._item(name, "piece")
            if wanted.count(name) > 1:
                number = 1
                while f"{name}_{number}" in out or f"{name}_{number}" in self.locked:
                    number += 1
                out[f"{name}_{number}"] = item
            else:
                out[name] = item
        return out

    def _locked(self, locked: Sequence[str] | Mapping[str, Placement]) -> dict[str, Placement]:
        if isinstance(locked, Mapping):
            for id, placement in locked.items():
                self._item(placement.item or id, f"piece of {id}")
            return {
                id: dataclasses.replace(p, item=self._item(p.item or id, id))
                for id, p in locked.items()
            }
        out: dict[str, Placement] = {}
        for id in locked:
            if self.current is None or id not in self.current.pieces:
                known = list(self.current.pieces) if self.current else []
                near = nearest(id, known)
                raise LookupFailed(
                    "locked piece",
                    given=id,
                    allowed=", ".join(known) or "none stands in a layout",
                    mend=f"write {near!r}" if near else "give its placement",
                )
            p = self.current.pieces[id]
            out[id] = dataclasses.replace(p, item=p.item or id)
        return out

    def _elsewhere(self, space: str, named: Mapping[str, str]) -> None:
        """Pieces of the current layout in other rooms of the same space stay."""
        if self.current is None or space not in self.home.rooms:
            return
        every = spaces(self.home, overrides=self.home.rules)
        whole = space_at(every, (0.0, 0.0), room=space)
        for id, p in self.current.pieces.items():
            if id in named or id in self.locked or (p.item or id) not in self.home.pieces:
                continue
            room = p.room or next(
                (r for r, o in whole.outlines.items() if o.contains(_point(p.at))), ""
            )
            if room and room != space and room in whole.rooms and not p.on:
                self.locked[id] = dataclasses.replace(p, item=p.item or id)

    def _sort(self, id: str, item: str, chairs: set[str]) -> None:
        piece = self.home.pieces[item]
        kind = kind_of(piece)
        if kind.form == "rug":
            self.rugs[id] = item
        elif piece.mount == "on" or kind.mount == "on":
            self.on[id] = item
        elif kind.mount != "floor" or piece.mount in ("wall", "ceiling"):
            self.left_out[id] = "it hangs; only what stands on the floor is laid out"
        elif role_of(piece) is None:
            self.left_out[id] = f"a {piece.kind} is not laid out by the search"
        elif item in chairs and kind.form in ("chair", "stool"):
            self.left_out[id] = "it stands at its table"
        else:
            self.pieces[id] = item


def _point(at: tuple[float, float]) -> shapely.Point:
    return shapely.Point(at)


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
        hosts = []
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
        found = solve(current, flow, leaf, nodes=nodes, clock=clock, why=why, sums=sums, fast=fast)
        if found.places is None:
            if found.proven:
                return rounds, "no more"
            return rounds, clock.why or "nodes"
        rounds.append(found)
        report(
            0.2 + 0.6 * len(rounds) / count,
            f"{len(rounds)} of {count} found.",
            exact.whole(tables, rounds[0].places or ()).layout,
        )
        if clock.over():
            return rounds, clock.why
        current = unlike(current, [_spots(tables, found.places)], apart=apart)
        sums = sums.barred(current, *hubs_of(current))
    return rounds, "count"


# --- options --------------------------------------------------------------------


def _options(
    job: _Job,
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
        layout = _dressed(job, ground, things, spots, whole.layout)
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
    if found.proven:
        return (
            "Best score of places and pairs on this set of places"
            + f" ({in_points(found.score):.2f} points), then moved within 20 cm to "
            f"{pair_points:.2f}; the shown order adds {whole} terms that are not in the proof."
        )
    return (
        f"Not proven best: {in_points(found.score):.2f} points, and no layout of this set of "
        f"places has more than {in_points(found.bound):.2f} (gap {100 * found.gap:.1f} %); moved "
        f"within 20 cm to {pair_points:.2f}; the shown order adds {whole} terms that are not in "
        "the proof."
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
            "pose set; the others state their gap"
        )
    text += f"; the shown order adds {whole} terms that are not in the proof."
    if ended == "no more":
        text += " No other layout of this set differs: this is proven."
    elif ended == "nodes":
        text += " More may be there: the search ended at its number of nodes."
    elif ended in ("time", "stopped"):
        text += f" More may be there: the search was ended by {'the clock' if ended == 'time' else 'the reader'}."
    return text


def _shown(options: Sequence[Option], tables: Tables) -> dict[str, int]:
    """The best, the boldest and the least building work; three different ones where there are."""
    if not options:
        return {}
    shown = {"best": 0}

    def bold(k: int) -> float:
        moved = 0.0
        by_id = dict(zip([t.id for t in tables.things], options[k].place))
        first = dict(zip([t.id for t in tables.things], options[0].place))
        for thing in tables.things:
            a, b = first.get(thing.id), by_id.get(thing.id)
            if thing.role not in HUBS or a is None or b is None:
                continue
            moved += float(np.hypot(a[0] - b[0], a[1] - b[1]))
            moved += abs((a[2] - b[2] + 180.0) % 360.0 - 180.0) / 90.0
        return moved

    rest = list(range(1, len(options)))
    if rest:
        work = min(rest, key=lambda k: (round(options[k].work, 3), k))
        if options[0].work <= options[work].work + 1e-9 and len(rest) < 2:
            work = 0
        shown["least building work"] = work
        left = [k for k in rest if k != work]
        if left:
            shown["boldest"] = max(left, key=lambda k: (round(bold(k), 6), -k))
    return shown


def _smaller(thing: Thing) -> str:
    w, d, _ = thing.size
    return (
        f"Leave out the {thing.piece.name}, or take one that is smaller than {w:.2f} × {d:.2f} m."
    )


def _dressed(
    job: _Job, ground: Ground, things: Sequence[Thing], spots: Sequence[Poses], layout: Layout
) -> Layout:
    """Rugs under what is placed, screens on their cabinets, lamps and drapery as they were."""
    pieces = {id: p for id, p in layout.pieces.items()}
    for id, item in job.rugs.items():
        rug = _rug(job.home, ground, things, spots, item, id)
        if rug is not None:
            pieces[id] = rug
    for id, item in job.on.items():
        host = next((t for t in things if t.role == "screen"), None)
        if job.home.pieces[item].kind == "screen" and host is not None:
            p = pieces[host.id]
            pieces[id] = Placement(at=p.at, rotation=p.rotation, item=item if item != id else "",
                                   on=host.id)  # fmt: skip
        else:
            job.left_out.setdefault(id, "nothing that it stands on is laid out")
    lamps = {}
    drapes = {}
    if job.current is not None:
        drapes = dict(job.current.drapes)
        for id, lamp in job.current.lamps.items():
            if lamp.on in pieces or (lamp.service and not lamp.on):
                over = lamp.over if lamp.over in pieces else ""
                base = lamp.base if over == lamp.over else None
                lamps[id] = dataclasses.replace(lamp, over=over, base=base)
    return Layout(name=layout.name, pieces=pieces, lamps=lamps, drapes=drapes)


def _rug(
    home: Home,
    ground: Ground,
    things: Sequence[Thing],
    spots: Sequence[Poses],
    item: str,
    id: str,
) -> Placement | None:
    """A rug lies before the sofa under the low table, else under the bed or the table."""
    ranked = sorted(
        range(len(things)),
        key=lambda k: (
            ("sofa", "bed", "dining", "desk").index(things[k].role)
            if things[k].role in ("sofa", "bed", "dining", "desk")
            else 9,
            k,
        ),
    )
    k = ranked[0]
    thing, spot = things[k], spots[k]
    c, s = float(spot.cos[0]), float(spot.sin[0])
    x, y = float(spot.x[0]), float(spot.y[0])
    w, d, _ = home.pieces[item].size
    turn = float(spot.turn[0])
    if thing.role == "sofa":
        # Its near edge lies a little under the sofa.
        off = thing.size[1] / 2 + d / 2 - 0.25
        x, y = x + s * off, y - c * off
    elif thing.role == "bed":
        off = thing.size[1] * 0.2
        x, y = x + s * off, y - c * off
    spot_of = _on_floor(ground, x, y, c, s, w, d)
    if spot_of is None:
        return None
    ((hx, hy),) = ground.frame.outward(np.array([spot_of]))
    return Placement(
        at=(round(float(hx), 4), round(float(hy), 4)),
        rotation=round((turn + ground.frame.angle) % 360.0, 4) % 360.0,
        item="" if item == id else item,
    )


def _on_floor(
    ground: Ground, x: float, y: float, c: float, s: float, w: float, d: float
) -> tuple[float, float] | None:
    """The nearest place to which a rug is moved so that it lies on the floor as a whole."""
    floor = ground.open_floor
    steps = sorted(
        ((0.1 * a, 0.1 * b) for a in range(-12, 13) for b in range(-12, 13)),
        key=lambda step: (round(step[0] ** 2 + step[1] ** 2, 6), step),
    )
    half = np.array([(-w / 2, -d / 2), (w / 2, -d / 2), (w / 2, d / 2), (-w / 2, d / 2)])
    turn = np.array([(c, -s), (s, c)])
    for a, b in steps:
        at = np.array([x, y]) + turn @ np.array([a, b])
        if floor.covers(shapely.Polygon(half @ turn.T + at)):
            return (float(at[0]), float(at[1]))
    return None
