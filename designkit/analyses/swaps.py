"""Other finishes, ranked by how far they move a share in all three ways at once.

A swap that changes much by area may change nothing of what one sees, and what
one sees may be dark because it is not lit. Each swap here stands with its share
by area, by view and by lit view. The list is drawn up from estimates (a lit
finish under the light that is there now) and the swaps that are shown are then
worked out with the light that they make.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from designkit.analyses.litview import LitBalance
from designkit.balance import Change, Weight, area_weights, gap, shares, view_weights
from designkit.errors import InputError
from designkit.lighting.full import PatchLight, by_day, swapped
from designkit.lighting.seen import view_rays
from designkit.lighting.seen_shares import SeenShares
from designkit.model import Home, Layout
from designkit.palette.finishes import CLASSES, FinishValue, Limits, classify, resolve_all
from designkit.reference import value
from designkit.scene.rays import Target
from designkit.scene.surfaces import surfaces
from designkit.scene.transport import repainted, spread_light
from designkit.scene.view import look

__all__ = ["RANKED", "ThreeShares", "ThreeWaySwap", "swap_candidates", "swaps_three_ways"]

RANKED = (
    "Ranked by the mean of the three moves (our assumption); each stands beside its share by "
    "area, by view and by lit view."
)
WOVEN = ("cloth", "wool", "carpet", "rug")
_CLOSE = 1e-4  # error left in the light of a swap [1 of it]
_NEARLY = 0.8  # of the move of the whole piece
_PAIRED = 12  # the largest single swaps that are tried two at a time


@dataclass(frozen=True, kw_only=True)
class ThreeShares:
    """One share three ways."""

    area: float  # [1]
    view: float
    lit: float

    @property
    def mean(self) -> float:
        """Their plain mean."""
        return (self.area + self.view + self.lit) / 3


@dataclass(frozen=True, kw_only=True, eq=False)
class ThreeWaySwap:
    """One or two finishes changed, and the share that follows three ways."""

    changes: tuple[Change, ...]
    after: ThreeShares
    moved: ThreeShares  # after less now
    why: str


def _hits(change: Change, item: str, part: str, finish: str) -> bool:
    return change.item == item and change.old == finish and change.part in ("", part)


def _finish_after(changes: Iterable[Change], item: str, part: str, finish: str) -> str:
    for change in changes:
        if _hits(change, item, part, finish):
            return change.new
    return finish


class _Sums:
    """Weights by thing, part and finish: a change of finish moves a share by plain sums."""

    def __init__(
        self, weights: Sequence[Weight], finishes: Mapping[str, FinishValue], of: str, at: Limits
    ) -> None:
        every = shares(weights, finishes=finishes, limits=at)
        self.now, self.total = every.shares[of], every.total
        self.held: dict[str, float] = {}
        for id, finish in finishes.items():
            light = [c.lightness for c in finish.colours]
            marks = classify(light, [c.chroma for c in finish.colours], limits=at)
            if of in marks:
                parts = zip(finish.colours, marks[of].tolist(), strict=True)
                self.held[id] = sum(c.share for c, mark in parts if mark)
            else:
                self.held[id] = float(getattr(finish, of))
        self.groups: dict[tuple[str, str, str], float] = {}
        for w in weights:
            if w.finish and not w.night and not w.outside:
                key = (w.item or w.owner, w.part, w.finish)
                self.groups[key] = self.groups.get(key, 0.0) + w.weight

    def after(self, changes: Sequence[Change]) -> float:
        moved = sum(
            weight * (self.held[_finish_after(changes, *key)] - self.held[key[2]])
            for key, weight in self.groups.items()
        )
        return self.now + moved / self.total


def _candidates(
    by_area: Sequence[Weight],
    by_view: Sequence[Weight],
    *,
    finishes: Mapping[str, FinishValue],
    limits: Limits,
    of: str,
    less: bool,
    keep: Collection[str],
    most: int,
    fits: Mapping[str, Collection[str]],
) -> list[Change]:
    """Changes that move the share the wanted way, by area or by view."""
    edge = (0.0, 0.0) if less else (1.0, 1.0)
    found: dict[Change, None] = {}
    for weights in (by_area, by_view):
        tried = gap(
            weights,
            finishes=finishes,
            band=edge,
            of=of,
            limits=limits,
            keep=keep,
            candidates=fits,
            pairs=False,
            count=most,
        )
        found.update((swap.changes[0], None) for swap in tried.swaps)
    return list(found)


def swap_candidates(home: Home) -> dict[str, tuple[str, ...]]:
    """What may take the place of a finish where its kind alone does not tell.

    Parameters
    ----------
    home : Home
        Its pieces and finishes.

    Returns
    -------
    dict of str to tuple of str
        For each rug, cloth and carpet: nobody lays a rug of sofa leather.
    """
    woven = tuple(id for id, f in home.finishes.items() if f.kind in WOVEN)
    return {id: woven for id, piece in home.pieces.items() if piece.kind == "rug"}


def _relit(
    lit: LitBalance, changes: Sequence[Change], values: Mapping[str, FinishValue]
) -> PatchLight:
    """The light that changed finishes make, from the light that is there.

    What lamps and windows give directly does not change; it is what is left of the
    light once all that is sent back and forth is taken off. Cloth that glows before
    a window lets other light through when it changes: then all is worked out anew.
    """
    of, state = lit.exchange, lit.state

    def finish(target: Target) -> str:
        return _finish_after(changes, target.item, target.part, target.finish)

    labels = tuple(dataclasses.replace(t, finish=finish(t)) for t in of.labels)
    hung = any(a.kind == "drapery" and a.finish != b.finish for a, b in zip(of.labels, labels))
    if hung and state.when == "day":
        whole = by_day(swapped(of, swap=finish))
        lux = whole.lux
        if len(state.shares):
            lux = lux + (state.shares - whole.shares) @ of.light
        return dataclasses.replace(whole, lux=lux, shares=state.shares)
    most = value("light.reflectance.most", of.home.rules)
    changed = of.reflectance.copy()
    for n, (a, b) in enumerate(zip(of.labels, labels)):
        if a.finish != b.finish:
            changed[n] = min(values[b.finish].lrv / 100, most)
    before = of.transport
    root = np.sqrt(before.area)
    sent = np.einsum("ij,j->i", before.symmetric, before.reflectance * state.lux * root) / root
    through = repainted(before, reflectance=np.minimum(of.patches.mixed(changed), 0.999))
    direct = np.maximum(state.lux - sent, 0.0)
    lux = spread_light(through, direct=direct, near=state.lux, tolerance=_CLOSE)[0]
    return dataclasses.replace(state, lux=lux)


def _one_an_item(
    singles: Iterable[tuple[float, tuple[Change, ...]]], finishes: Mapping[str, FinishValue]
) -> list[tuple[float, tuple[Change, ...]]]:
    """For each thing the finish that moves most; of several alike the one nearest to its own."""

    def rank(single: tuple[float, tuple[Change, ...]]) -> tuple[float, float, tuple[Change, ...]]:
        move, (change, *_) = single
        apart = abs(finishes[change.new].lightness - finishes[change.old].lightness)
        return -round(move, 3), round(apart, 6), single[1]

    best: dict[tuple[str, str, str], tuple[float, tuple[Change, ...]]] = {}
    for single in sorted(singles, key=rank):
        change = single[1][0]
        best.setdefault((change.item, change.part, change.old), single)

    def adds(move: float, change: Change) -> bool:
        """A part that does nearly all that its whole does says nothing new."""
        whole = best.get((change.item, "", change.old))
        return not change.part or whole is None or move < _NEARLY * whole[0]

    return [single for single in best.values() if adds(single[0], single[1][0])]


def swaps_three_ways(
    home: Home,
    layout: Layout,
    *,
    lit: LitBalance,
    of: str = "black",
    less: bool = True,
    keep: Collection[str] = (),
    pairs: bool = True,
    count: int = 8,
    rays: int = 2000,
    limits: Limits | None = None,
    rough: bool = False,
) -> tuple[ThreeShares, tuple[ThreeWaySwap, ...]]:
    """Single and paired swaps of finishes, by how far they move all three shares.

    Parameters
    ----------
    home : Home
        The home.
    layout : Layout
        The layout that `lit` was made from, drapery as drawn there.
    lit : LitBalance
        From `lit_balance`: the place, the field and the light.
    of : str, optional
        The class whose share is to move.
    less : bool, optional
        Less of it, or more.
    keep : collection of str, optional
        Items that stay as they are.
    pairs : bool, optional
        Two changes at once as well.
    count : int, optional
        At most so many swaps; each is worked out with its own light.
    rays : int, optional
        Rays in the field of view.
    limits : Limits, optional
        What counts as black, dark and light.
    rough : bool, optional
        While a control moves: the lit shares under the light that is there now.

    Returns
    -------
    ThreeShares, tuple of ThreeWaySwap
        The share now, and the swaps, the largest mean move first.

    Raises
    ------
    InputError
        The class is unknown or the count not over 0.
    """
    if of not in CLASSES:
        raise InputError("class", given=of, allowed=", ".join(CLASSES), mend="use one of these")
    if count < 1:
        raise InputError("count", given=count, allowed="1 or more")
    at = limits or Limits.of(home.rules)
    values = resolve_all(home.finishes, limits=at, overrides=home.rules)
    night = lit.state.when == "evening"
    rooms = lit.exchange.patches.rooms.rooms
    placed = lit.exchange.placed
    by_area = area_weights(surfaces(home, layout, rooms=rooms, placed=placed), night=night)
    seen = look(lit.scene, lit.view.viewpoint, fields=(lit.view.field,), rays=rays)[0]
    by_view = view_weights(seen, night=night)
    of_rays = lit.rays
    if len(of_rays.target) != rays:
        of_rays = view_rays(
            lit.exchange,
            scene=lit.scene,
            viewpoint=lit.view.viewpoint,
            field=lit.view.field,
            rays=rays,
        )
    areas, views = _Sums(by_area, values, of, at), _Sums(by_view, values, of, at)

    def lit_shares(state: PatchLight) -> SeenShares:
        return SeenShares(lit.exchange, state=state, rays=of_rays, finishes=values, limits=at)

    def repaint(changes: Sequence[Change]) -> Callable[[Target], str]:
        return lambda t: _finish_after(changes, t.item, t.part, t.finish)

    there = lit_shares(lit.state)
    now = ThreeShares(area=areas.now, view=views.now, lit=there.share(of))
    sign = -1.0 if less else 1.0
    singles: list[tuple[float, tuple[Change, ...]]] = []
    for change in _candidates(
        by_area,
        by_view,
        finishes=values,
        limits=at,
        of=of,
        less=less,
        keep=keep,
        most=5 * count,
        fits=swap_candidates(home),
    ):
        three = (areas.after((change,)), views.after((change,)))
        guess = there.share(of, swap=repaint((change,)))
        move = sign * (three[0] - now.area + three[1] - now.view + guess - now.lit) / 3
        if move > 1e-9:
            singles.append((move, (change,)))
    singles = _one_an_item(singles, values)
    chosen = list(singles)
    if pairs:
        strong = singles[:_PAIRED]
        chosen += [
            (m + n, (a[0], b[0]))
            for i, (m, a) in enumerate(strong)
            for n, b in strong[i + 1 :]
            if a[0].item != b[0].item
        ]
    # Half of the list for single swaps: two at once always move more.
    paired = sorted((c for c in chosen if len(c[1]) == 2), key=lambda s: (-round(s[0], 9), s[1]))
    half = count if not paired else max(1, count - count // 2)
    shown = singles[:half] + paired[: count - min(half, len(singles))]
    found = []
    for _, changes in shown:
        a, v = areas.after(changes), views.after(changes)
        light = there if rough else lit_shares(_relit(lit, changes, values))
        after = ThreeShares(area=a, view=v, lit=light.share(of, swap=repaint(changes)))
        moved = ThreeShares(area=a - now.area, view=v - now.view, lit=after.lit - now.lit)
        words = "; ".join(str(change) for change in changes)
        found.append(
            ThreeWaySwap(
                changes=changes,
                after=after,
                moved=moved,
                why=(
                    f"{words}: {of} by area {100 * now.area:.1f} → {100 * a:.1f} %, by view "
                    f"{100 * now.view:.1f} → {100 * v:.1f} %, lit {100 * now.lit:.1f} → "
                    f"{100 * after.lit:.1f} %"
                ),
            )
        )
    found.sort(key=lambda s: (-round(sign * s.moved.mean, 9), s.changes))
    return now, tuple(found)
