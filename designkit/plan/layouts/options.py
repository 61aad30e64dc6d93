"""What a search hands over: options with their scores, what is proven, what could not be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from designkit.model import Layout
from designkit.plan.layouts.ground import Ground
from designkit.plan.layouts.leaf import Whole
from designkit.plan.layouts.poses import off_ahead
from designkit.plan.layouts.scoring import (
    balance_of,
    place_terms,
    symmetry_of,
    weights_of,
)
from designkit.plan.layouts.scoring_pairs import pair_terms
from designkit.plan.layouts.shapes import Poses
from designkit.plan.layouts.tables import UNIT
from designkit.plan.layouts.terms import TERMS
from designkit.plan.layouts.things import SEATED, Thing
from designkit.plan.onplan import view_from
from designkit.plan.space import free_floor, largest_clear_circle

__all__ = ["Option", "Progress", "Proposals", "Score", "scores_of"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Score:
    """One term of an option's score."""

    term: str
    name: str
    value: float  # sum over places or pairs, 1 and -1 are one full measure
    weight: float
    in_proof: bool  # it is part of what the search proves

    @property
    def points(self) -> float:
        """Value times weight."""
        return self.value * self.weight


@dataclass(frozen=True, kw_only=True, eq=False)
class Option:
    """One layout that is proposed."""

    layout: Layout
    scores: tuple[Score, ...]
    pair_points: float  # what the search proves: places and pairs
    points: float  # with the terms of the whole layout
    widths: Mapping[str, float]  # exact width of each way [m]
    circle: float  # diameter of the largest clear circle [m]
    work: float  # [m] of cords and moved outlets that it asks for
    left_out: tuple[str, ...]  # optional pieces that it does without
    proven: bool
    gap: float  # what might be missed at most, as a share of the score; 0 where proven
    certificate: str
    says: str  # two or three sentences
    place: tuple[tuple[float, float, float] | None, ...] = ()  # in the search's frame

    def score(self, term: str) -> float:
        """Points of one term, 0 where it has nothing to say."""
        return sum(s.points for s in self.scores if s.term == term)


@dataclass(frozen=True, kw_only=True, eq=False)
class Proposals:
    """Options in the order in which they are shown, with what is known about them."""

    space: str
    options: tuple[Option, ...]
    shown: Mapping[str, int]  # "best", "boldest", "least building work" -> option
    certificate: str
    complete: bool  # every option is proven and there are no more that differ, or all are there
    why_none: str = ""  # where nothing fits
    changes: tuple[str, ...] = ()  # the smallest changes that would do
    said: tuple[str, ...] = ()  # limitations and repairs
    left_out: Mapping[str, str] = field(default_factory=dict)  # piece -> why it is not laid out
    seconds: Mapping[str, float] = field(default_factory=dict)  # where the time went
    nodes: int = 0

    def __len__(self) -> int:
        return len(self.options)


@dataclass(frozen=True, kw_only=True, eq=False)
class Progress:
    """How far a search is; `best` is the best option so far."""

    done: float  # 0 to 1
    text: str
    best: Layout | None


def scores_of(
    things: list[Thing], places: list[Poses], ground: Ground, whole: Whole
) -> tuple[tuple[Score, ...], float, float, float]:
    """Every term of a whole layout, with its sums.

    Parameters
    ----------
    things : list of Thing
        Pieces that stand.
    places : list of Poses
        One place each.
    ground : Ground
        The space.
    whole : Whole
        The same laid out exactly.

    Returns
    -------
    tuple
        Scores, points of places and pairs, points of all terms, and the
        diameter of the largest clear circle. [m]
    """
    sums: dict[str, float] = {}
    for thing, place in zip(things, places):
        for name, values in place_terms(thing, ground, place).items():
            sums[name] = sums.get(name, 0.0) + float(values[0])
    for i in range(len(things)):
        for j in range(i + 1, len(things)):
            pair = pair_terms(things[i], places[i], things[j], places[j], ground, things=things)
            for name, grid in pair.items():
                sums[name] = sums.get(name, 0.0) + float(grid[0, 0])
    more, circle = _whole_terms(things, places, ground, whole)
    weights = weights_of(ground)
    scores = []
    for term in TERMS:
        if term.id in sums or term.id in more:
            value = sums[term.id] if term.id in sums else more[term.id]
            scores.append(
                Score(
                    term=term.id,
                    name=term.name,
                    value=round(value, 6),
                    weight=weights[term.id],
                    in_proof=term.of != "whole",
                )
            )
    pair_points = sum(s.points for s in scores if s.in_proof)
    return tuple(scores), pair_points, sum(s.points for s in scores), circle


def _whole_terms(
    things: list[Thing], places: list[Poses], ground: Ground, whole: Whole
) -> tuple[dict[str, float], float]:
    """Terms that are not made of pairs: view past pieces, ways, balance, free floor."""
    out: dict[str, float] = {}
    seen = []
    panes = [p for p in ground.panes if p.view and p.window]
    for thing, place in zip(things, places):
        if thing.role not in SEATED or not thing.seats:
            continue
        for pane in panes:
            off = off_ahead(place, np.array([pane.centre[0]]), np.array([pane.centre[1]]))[0, 0]
            if off > ground.value("plan.view.ahead"):
                continue
            view = view_from(
                ground.space,
                whole.placed,
                piece=thing.id,
                opening=pane.id,
                seat=len(thing.seats) // 2,
                overrides=ground.rules,
            )
            seen.append(1.0 - min(1.0, 2.0 * sum(view.hidden_by.values())))
    if seen:
        out["seen"] = float(np.mean(seen))
    spare = []
    for need in ground.needs:
        if need.id not in whole.routes:
            continue
        route = whole.routes[need.id]
        spare.append(min(1.0, (route.width - need.width) / 0.3))
    if spare:
        out["route_width"] = 2 * float(np.min(spare)) - 1
    detours = _detours(ground, whole)
    if detours:
        out["route_length"] = float(np.clip(1.0 - 2.0 * (max(detours) - 1.05) / 0.5, -1.0, 1.0))
    out["balance"] = balance_of(things, places, ground)
    if any(t.role == "armchair" for t in things) and any(t.role == "sofa" for t in things):
        out["symmetry"] = symmetry_of(things, places)
    free = free_floor(ground.space, whole.placed, overrides=ground.rules)
    circle = 0.0
    if not free.is_empty:
        circle = 2 * largest_clear_circle(free)[1]
        out["free_floor"] = float(np.clip((circle - 1.2) / 0.8, -1.0, 1.0))
    return out, circle


def _detours(ground: Ground, whole: Whole) -> list[float]:
    """Length of each way by the length of the same way in the empty room, on the grid."""
    from designkit.plan.layouts.lengths import bare_length, lengths_on_grid

    asked, lengths = [], []
    for need in ground.needs:
        bare = bare_length(ground, need) if need.id in whole.routes else None
        if bare is not None and bare >= 0.5:
            asked.append(need)
            lengths.append(bare)
    if not asked:
        return []
    now = lengths_on_grid(ground, asked, whole.placed)
    return [max(1.0, length / bare) for length, bare in zip(now, lengths) if length is not None]


def work_of(things: list[Thing], places: list[Poses], ground: Ground) -> tuple[float, list[str]]:
    """Metres of cord, and outlets to move, that a layout asks for.

    Parameters
    ----------
    things : list of Thing
        Pieces that stand.
    places : list of Poses
        One place each.
    ground : Ground
        The space.

    Returns
    -------
    tuple of float and list of str
        The sum, and each in words. [m]
    """
    total, words = 0.0, []
    for thing, place in zip(things, places):
        x, y = float(place.x[0]), float(place.y[0])
        if thing.role == "dining" and len(ground.outlets):
            away = float(np.hypot(ground.outlets[:, 0] - x, ground.outlets[:, 1] - y).min())
            if away > 0.5:
                total += away
                words.append(f"the ceiling outlet is {away:.1f} m from the {thing.piece.name}")
        if thing.role in ("screen", "desk", "lamp") and len(ground.sockets):
            away = float(np.hypot(ground.sockets[:, 0] - x, ground.sockets[:, 1] - y).min())
            if away > 1.8:
                total += away - 1.8
                words.append(f"the next socket is {away:.1f} m from the {thing.piece.name}")
    return round(total, 3), words


def in_points(score: int) -> float:
    """A score of the tables in points."""
    return score / UNIT
