"""Other finishes, ranked by how far they move a share in all three ways at once.

A swap that changes much by area may change nothing of what one sees, and what
one sees may be dark because it is not lit. Each swap here stands with its share
by area, by view and by lit view. The list is drawn up from estimates (a lit
finish under the light that is there now) and the swaps that are shown are then
worked out with the light that they make.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from designkit.analyses.litview import LitBalance
from designkit.balance import Change, Weight, area_weights, gap, shares, view_weights
from designkit.errors import InputError
from designkit.lighting.full import by_day, in_the_evening, swapped
from designkit.lighting.seen import LitRays, seen_view, split_colours, view_rays
from designkit.model import Home, Layout
from designkit.palette.colour import lightness_to_luminance, luminance_to_lightness
from designkit.palette.finishes import CLASSES, FinishValue, Limits, resolve_all
from designkit.scene.rays import Target
from designkit.scene.surfaces import surfaces
from designkit.scene.view import look

__all__ = ["RANKED", "ThreeShares", "ThreeWaySwap", "swaps_three_ways"]

RANKED = (
    "Ranked by the mean of the three moves (our assumption); each stands beside its share by "
    "area, by view and by lit view."
)
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


def _swap_weights(weights: Sequence[Weight], changes: Sequence[Change]) -> list[Weight]:
    return [
        dataclasses.replace(w, finish=_finish_after(changes, w.item or w.owner, w.part, w.finish))
        if w.finish and not w.night
        else w
        for w in weights
    ]


def _lit_estimate(
    weights: Sequence[Weight], change: Change, finishes: Mapping[str, FinishValue]
) -> list[Weight]:
    """Lit weights after a change, under the light that is there now."""
    found = []
    new = finishes[change.new]
    for w in weights:
        old = w.finish.split(", colour ")[0]
        if w.seen is None or not _hits(change, w.item or w.owner, w.part, old):
            found.append(w)
            continue
        lrv = finishes[w.finish].lrv
        light = float(lightness_to_luminance(w.seen)) / max(lrv / 100, 1e-4)
        seen = min(100.0, float(luminance_to_lightness(light * new.lrv / 100)))
        found.append(dataclasses.replace(w, finish=change.new, seen=seen))
    return found


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
            pairs=False,
            count=most,
        )
        found.update((swap.changes[0], None) for swap in tried.swaps)
    return list(found)


def _lit_share(
    lit: LitBalance,
    rays: LitRays,
    changes: Sequence[Change],
    *,
    finishes: Mapping[str, FinishValue],
    limits: Limits,
    of: str,
) -> float:
    """The share by lit view with the light that the changed finishes make."""

    def finish(target: Target) -> str:
        return _finish_after(changes, target.item, target.part, target.finish)

    exchange = swapped(lit.exchange, swap=finish)
    state = by_day(exchange) if lit.state.when == "day" else in_the_evening(exchange)
    if len(lit.state.shares):
        # As dimmed: lamps by their own share, whatever their circuits are called.
        lux = state.lux + (lit.state.shares - state.shares) @ exchange.light
        state = dataclasses.replace(state, lux=lux, shares=lit.state.shares)
    painted = dataclasses.replace(
        rays, targets=tuple(dataclasses.replace(t, finish=finish(t)) for t in rays.targets)
    )
    view = seen_view(
        exchange,
        state=state,
        rays=painted,
        viewpoint=lit.view.viewpoint,
        field=lit.view.field,
        finishes=finishes,
    )
    found = shares(view.weights, finishes=view.finishes, limits=limits, by="lit view")
    return found.shares[of]


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
    return list(best.values())


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
    of_rays = view_rays(
        lit.exchange,
        scene=lit.scene,
        viewpoint=lit.view.viewpoint,
        field=lit.view.field,
        rays=rays,
    )
    apart = split_colours(values)

    def area_view(changes: Sequence[Change]) -> tuple[float, float]:
        return (
            shares(_swap_weights(by_area, changes), finishes=values, limits=at).shares[of],
            shares(_swap_weights(by_view, changes), finishes=values, limits=at, by="view").shares[
                of
            ],
        )

    area, view = area_view(())
    now = ThreeShares(
        area=area,
        view=view,
        lit=_lit_share(lit, of_rays, (), finishes=values, limits=at, of=of),
    )
    lit_now = shares(lit.view.weights, finishes=apart, limits=at, by="lit view").shares[of]
    sign = -1.0 if less else 1.0
    singles: list[tuple[float, tuple[Change, ...]]] = []
    for change in _candidates(
        by_area, by_view, finishes=values, limits=at, of=of, less=less, keep=keep, most=5 * count
    ):
        a, v = area_view((change,))
        guess = _lit_estimate(lit.view.weights, change, apart)
        l_ = shares(guess, finishes=apart, limits=at, by="lit view").shares[of]
        move = sign * ((a - area) + (v - view) + (l_ - lit_now)) / 3
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
        a, v = area_view(changes)
        after = ThreeShares(
            area=a,
            view=v,
            lit=_lit_share(lit, of_rays, changes, finishes=values, limits=at, of=of),
        )
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
