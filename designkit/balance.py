"""Value balance: how much of a furnished space is black, dark, mid, light, warm, patterned.

One function counts shares, whatever the weights are: areas of surfaces, rays
of a view, or rays with the lightness that they are seen with. Every share
carries the definition that it was counted by, how far it moves when each
finish moves within its ±, and who makes it up.

The shares of a room by these classes are our own measure. No published limit
exists for the share of black; bands are a studio's judgement and say so.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from designkit.errors import InputError
from designkit.model import Finding, Verdict
from designkit.palette.finishes import (
    CLASSES,
    NOT_SAID,
    FinishValue,
    Limits,
    classify,
    find,
)
from designkit.reference import value
from designkit.scene.weights import Weight, area_weights, view_weights

__all__ = [
    "Balance",
    "Change",
    "Contribution",
    "Gap",
    "Sensitivity",
    "Swap",
    "Weight",
    "area_weights",
    "band_of",
    "gap",
    "judge",
    "shares",
    "view_weights",
]

Array = NDArray[np.float64]
How = Literal["area", "view", "lit view"]
NIGHT = "bare glass at night"
_UNIT = {"area": "m²", "view": "of the view", "lit view": "of the view"}

# What may take the place of what, so that nobody is told to paint a sofa.
_SOFT = ("cloth", "leather", "wool", "linen", "velvet", "sheer", "carpet", "rug", "fur", "cane")
_STIFF = ("leather", "fur", "cane", "carpet", "rug")  # does not hang as drapery
_BOARD = ("timber", "veneer", "lacquer", "laminate", "paint")
_HARD = {
    **dict.fromkeys(_BOARD, _BOARD),
    "metal": ("metal", "lacquer", "paint"),
    **dict.fromkeys(("stone", "tile", "concrete"), ("stone", "tile", "concrete", "laminate")),
}
_SHELL = ("paint", "paper", "plaster", "timber", "lacquer", "concrete", "tile", "stone")


@dataclass(frozen=True, kw_only=True, eq=False)
class Contribution:
    """What one item adds to a share: all six chairs of a kind together."""

    item: str
    owners: tuple[str, ...]
    share: float  # of everything that was counted [1]
    weight: float
    finishes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class Sensitivity:
    """A share with one limit moved."""

    limit: str  # in words
    at: float
    share: float  # [1]
    of: str  # class


@dataclass(frozen=True, kw_only=True, eq=False)
class Balance:
    """Shares of a space, with what they rest on."""

    by: How
    total: float  # weight that was counted
    outside: float  # share of it that belongs to no class: the outdoors by day
    shares: Mapping[str, float]  # class -> 0…1
    low: Mapping[str, float]  # with every finish at the end of its ± that lowers it
    high: Mapping[str, float]
    contributions: Mapping[str, tuple[Contribution, ...]]  # class -> largest first
    unknown: tuple[Contribution, ...]  # weight whose finish is not given
    unknown_share: float  # of counted and unknown together [1]
    left_out: tuple[tuple[str, float], ...]  # what was not counted, and why
    reflecting: tuple[Contribution, ...]  # gloss and mirror: depends on what they reflect
    sheens: Mapping[str, float]  # sheen -> share; "not said" where none is
    materials: Mapping[str, float]  # kind of finish -> share
    textures: Mapping[str, float]  # texture in words -> share; "not said" where none is
    undecided: tuple[tuple[str, str, float], ...]  # finish, class, share that flips in its ±
    sensitivity: tuple[Sensitivity, ...]
    limits: Limits
    definitions: str

    @property
    def why(self) -> str:
        """The share of black with its numbers."""
        black = self.shares["black"]
        if self.by != "area":
            return (
                f"black {100 * black:.1f} % of the view ({100 * self.low['black']:.1f} to "
                f"{100 * self.high['black']:.1f} % within the ± of the finishes)"
            )
        return (
            f"black {black * self.total:.2f} of {self.total:.2f} {_UNIT[self.by]} "
            f"= {100 * black:.1f} % ({100 * self.low['black']:.1f} to "
            f"{100 * self.high['black']:.1f} % within the ± of the finishes)"
        )


@dataclass(frozen=True, kw_only=True, order=True)
class Change:
    """Another finish for an item, or for one part of it."""

    item: str
    part: str  # "": every part that has this finish
    old: str
    new: str

    def __str__(self) -> str:
        name = f"{self.item}, {self.part}" if self.part else self.item
        return f"{name}: {self.old} → {self.new}"


@dataclass(frozen=True, kw_only=True, eq=False)
class Swap:
    """One or two finishes changed, and the share that follows."""

    changes: tuple[Change, ...]
    share: float  # [1]
    weight: float  # that changes its finish
    inside: bool  # the band is met
    why: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Gap:
    """How far a share is from a band, and what would close the distance."""

    of: str
    share: float  # [1]
    band: tuple[float, float]
    weight: float  # that has to come into the class (+) or leave it (−)
    swaps: tuple[Swap, ...]
    why: str


@dataclass(frozen=True, eq=False)
class _Table:
    """Weights as arrays, one row for each colour of each weight."""

    weight: Array
    lightness: Array
    chroma: Array
    low: Array
    high: Array
    warm: NDArray[np.bool_]
    patterned: NDArray[np.bool_]
    item: NDArray[np.int64]
    finish: NDArray[np.int64]


def _table(
    known: Sequence[Weight], finishes: Mapping[str, FinishValue], night: float
) -> tuple[_Table, list[str], list[str]]:
    items = {name: n for n, name in enumerate(dict.fromkeys(w.item or w.owner for w in known))}
    used = {id: n for n, id in enumerate(dict.fromkeys(w.finish for w in known if not w.night))}
    colours = {
        id: tuple(
            (c.share, c.lightness, c.chroma, c.low, c.high) for c in find(finishes, id).colours
        )
        for id in used
    }
    flags = {id: (finishes[id].warm, finishes[id].patterned) for id in used}
    rows: list[tuple[float, float, float, float, float]] = []
    marks: list[tuple[bool, bool]] = []
    whose: list[tuple[int, int]] = []
    for w in known:
        n = items[w.item or w.owner]
        if w.night:
            rows.append((w.weight, night, 0.0, night, night))
            marks.append((False, False))
            whose.append((n, -1))
            continue
        f = used[w.finish]
        for share, l_star, c_star, low, high in colours[w.finish]:
            if w.seen is not None:
                # The seen lightness is that of the whole patch; its finishes'
                # ± is kept about it.
                low, high = max(0.0, w.seen - (l_star - low)), w.seen + (high - l_star)
                l_star = w.seen
            rows.append((w.weight * share, l_star, c_star, low, high))
            marks.append(flags[w.finish])
            whose.append((n, f))
    numbers = np.array(rows).reshape(-1, 5)
    flag = np.array(marks, dtype=bool).reshape(-1, 2)
    ids = np.array(whose, dtype=np.int64).reshape(-1, 2)
    made = _Table(
        weight=numbers[:, 0],
        lightness=numbers[:, 1],
        chroma=numbers[:, 2],
        low=numbers[:, 3],
        high=numbers[:, 4],
        warm=flag[:, 0],
        patterned=flag[:, 1],
        item=ids[:, 0],
        finish=ids[:, 1],
    )
    return made, list(items), list(used)


def _marks(table: _Table, limits: Limits, lightness: Array) -> dict[str, NDArray[np.bool_]]:
    dark, light = lightness < limits.dark, lightness > limits.light
    return {
        "black": (lightness <= limits.black_lightness) & (table.chroma <= limits.black_chroma),
        "dark": dark,
        "mid": ~dark & ~light,
        "light": light,
        "warm": table.warm,
        "patterned": table.patterned,
    }


def _can_be(table: _Table, limits: Limits) -> dict[str, tuple[NDArray[np.bool_], ...]]:
    """For each class, what is always in it and what may be, over each ±."""
    grey = table.chroma <= limits.black_chroma
    return {
        "black": (
            grey & (table.high <= limits.black_lightness),
            grey & (table.low <= limits.black_lightness),
        ),
        "dark": (table.high < limits.dark, table.low < limits.dark),
        "mid": (
            (table.low >= limits.dark) & (table.high <= limits.light),
            (table.high >= limits.dark) & (table.low <= limits.light),
        ),
        "light": (table.low > limits.light, table.high > limits.light),
        "warm": (table.warm, table.warm),
        "patterned": (table.patterned, table.patterned),
    }


def _by_item(
    weight: Array,
    item: NDArray[np.int64],
    names: Sequence[str],
    total: float,
    owners: Mapping[str, Collection[str]],
    finishes: Mapping[int, Collection[str]],
) -> tuple[Contribution, ...]:
    sums = np.bincount(item, weights=weight, minlength=len(names))
    order = sorted(np.flatnonzero(sums > 0).tolist(), key=lambda n: (-sums[n], names[n]))
    return tuple(
        Contribution(
            item=names[n],
            owners=tuple(owners[names[n]]),
            share=float(sums[n] / total),
            weight=float(sums[n]),
            finishes=tuple(sorted(finishes[n])),
        )
        for n in order
    )


def _finishes_by_item(
    item: NDArray[np.int64], finish: NDArray[np.int64], names: Sequence[str]
) -> dict[int, set[str]]:
    found: dict[int, set[str]] = {}
    for i, f in dict.fromkeys(zip(item.tolist(), finish.tolist(), strict=True)):
        found.setdefault(i, set()).add(names[f] if f >= 0 else NIGHT)
    return found


def _owners(weights: Iterable[Weight]) -> dict[str, dict[str, None]]:
    found: dict[str, dict[str, None]] = {}
    for w in weights:
        found.setdefault(w.item or w.owner, {})[w.owner] = None
    return found


def _plain(weights: Sequence[Weight], total: float) -> tuple[Contribution, ...]:
    """What each item of a list adds, whatever its class."""
    if not weights:
        return ()
    owners = _owners(weights)
    number = {name: n for n, name in enumerate(owners)}
    item = np.array([number[w.item or w.owner] for w in weights])
    finishes: dict[int, set[str]] = {}
    for n, w in zip(item.tolist(), weights, strict=True):
        finishes.setdefault(n, set()).add(w.finish)
    sums = np.array([w.weight for w in weights])
    return _by_item(sums, item, list(owners), total, owners, finishes)


def _sensitivity(table: _Table, limits: Limits, total: float) -> tuple[Sensitivity, ...]:
    rows: list[Sensitivity] = []
    moved = (
        ("black: L* up to", "black_lightness", "black", (-5.0, -2.0, 2.0, 5.0)),
        ("black: C* up to", "black_chroma", "black", (-2.0, 2.0, 4.0)),
        ("dark: L* under", "dark", "dark", (-5.0, 5.0)),
        ("light: L* over", "light", "light", (-5.0, 5.0)),
    )
    for words, name, of, steps in moved:
        for step in steps:
            at = getattr(limits, name) + step
            if at < 0:
                continue
            if of == "black":
                l_star = at if name == "black_lightness" else limits.black_lightness
                c_star = at if name == "black_chroma" else limits.black_chroma
                mark = (table.lightness <= l_star) & (table.chroma <= c_star)
            else:
                mark = table.lightness < at if of == "dark" else table.lightness > at
            share = float(table.weight @ mark / total)
            rows.append(Sensitivity(limit=words, at=at, share=share, of=of))
    return tuple(rows)


def _check(weights: Sequence[Weight]) -> None:
    for w in weights:
        if not (np.isfinite(w.weight) and w.weight >= 0):
            raise InputError(
                f"weight of {w.owner}, {w.part}",
                given=w.weight,
                allowed="a finite number, 0 or more",
                mend="look at its size",
            )
        if w.seen is not None and not (np.isfinite(w.seen) and w.seen >= 0):
            raise InputError(
                f"lightness seen of {w.owner}, {w.part}", given=w.seen, allowed="L*, 0 or more"
            )


def shares(
    weights: Iterable[Weight],
    *,
    finishes: Mapping[str, FinishValue],
    limits: Limits | None = None,
    by: How = "area",
    night_lightness: float | None = None,
    left_out: Iterable[tuple[str, float]] = (),
) -> Balance:
    """Shares of black, dark, mid, light, warm and patterned.

    Parameters
    ----------
    weights : iterable of Weight
        Areas, or rays of a view; with the lightness seen for a lit view.
    finishes : mapping of str to FinishValue
        From `resolve_all`.
    limits : Limits, optional
        What counts as what.
    by : str
        "area", "view" or "lit view": what the weights are.
    night_lightness : float, optional
        L* of bare glass after dark. [L*]
    left_out : iterable of (str, float)
        What the weights do not hold, and how much of it, to be named.

    Returns
    -------
    Balance
        Shares of all weight with a known finish. A striped cloth counts each
        colour by its share. `low` and `high` move every finish within its ±
        at once.

    Raises
    ------
    InputError
        A weight or a seen lightness is not a number of 0 or more, or nothing
        has a known finish.
    LookupFailed
        A finish is not in the project.

    Examples
    --------
    >>> from designkit.model import Colour, Finish
    >>> from designkit.palette.finishes import resolve_all
    >>> values = resolve_all({
    ...     "white": Finish(name="white", colours=(Colour(lrv=83.0),)),
    ...     "black": Finish(name="black", colours=(Colour(lab=(17.0, 0.0, 0.0)),))})
    >>> found = shares([Weight(owner="wall", part="", finish="white", weight=9.0),
    ...                 Weight(owner="sofa", part="", finish="black", weight=1.0)],
    ...                finishes=values)
    >>> found.shares["black"], found.shares["light"]
    (0.1, 0.9)
    """
    at = limits or Limits()
    night = value("palette.night.lightness") if night_lightness is None else night_lightness
    every = list(weights)
    _check(every)
    away = sum(w.weight for w in every if w.outside)
    inside = [w for w in every if w.weight > 0 and not w.outside]
    known = [w for w in inside if w.finish or w.night]
    lost = [w for w in inside if not w.finish and not w.night]
    table, items, used = _table(known, finishes, night)
    total = float(table.weight.sum()) + away
    if not known:
        raise InputError(
            "weights",
            given="nothing with a known finish",
            allowed="one surface or more",
            mend="give the walls, the floor and the pieces a finish",
        )
    marks = _marks(table, at, table.lightness)
    ends = _can_be(table, at)
    owners = _owners(known)
    contributions = {}
    for name, mark in marks.items():
        rows = np.flatnonzero(mark)
        parts = _finishes_by_item(table.item[rows], table.finish[rows], used)
        contributions[name] = _by_item(
            table.weight[rows], table.item[rows], items, total, owners, parts
        )
    undecided = [
        (used[f], name, float(table.weight[rows].sum() / total))
        for name in ("black", "dark", "mid", "light")
        for f in range(len(used))
        if len(rows := np.flatnonzero(ends[name][1] & ~ends[name][0] & (table.finish == f)))
    ]
    gone = sum(w.weight for w in lost)
    shiny = [w for w in known if w.finish and finishes[w.finish].sheen in ("gloss", "mirror")]
    night_words = ""
    if any(w.night for w in known):
        night_words = f" Bare glass after dark counts as L* {night:g} (our assumption)."
    elif by == "area":
        night_words = " Window glass by day and things seen through are not counted."
    elif away:
        night_words = " What a window shows by day belongs to the view and to no class."
    return Balance(
        by=by,
        total=total,
        outside=away / total,
        shares={name: float(table.weight @ mark / total) for name, mark in marks.items()},
        low={name: float(table.weight @ ends[name][0] / total) for name in CLASSES},
        high={name: float(table.weight @ ends[name][1] / total) for name in CLASSES},
        contributions=contributions,
        unknown=_plain(lost, total + gone),
        unknown_share=gone / (total + gone),
        left_out=tuple(left_out),
        reflecting=_plain(shiny, total),
        sheens=_split(known, total, {id: finishes[id].sheen or NOT_SAID for id in used}),
        materials=_split(known, total, {id: finishes[id].kind for id in used}),
        textures=_split(known, total, {id: finishes[id].texture or NOT_SAID for id in used}),
        undecided=tuple(sorted(undecided, key=lambda u: (-u[2], u[0], u[1]))),
        sensitivity=_sensitivity(table, at, total),
        limits=at,
        definitions=at.definitions + night_words,
    )


def _split(weights: Sequence[Weight], total: float, words: Mapping[str, str]) -> dict[str, float]:
    sums: dict[str, float] = {}
    for w in weights:
        word = NIGHT if w.night else words[w.finish]
        sums[word] = sums.get(word, 0.0) + w.weight
    return {word: s / total for word, s in sorted(sums.items(), key=lambda x: (-x[1], x[0]))}


def band_of(
    by: How, *, overrides: Mapping[str, float] | None = None
) -> tuple[tuple[float, float], str] | None:
    """The band for black that is shown, a studio's judgement, and its rule.

    Parameters
    ----------
    by : str
        "area", "view" (cone of 60°) or "lit view".
    overrides : mapping of str to float, optional
        The project's own values (`Home.rules`).

    Returns
    -------
    tuple or None
        From and to [0–1], and the reference id of the upper edge; None where
        no band is assumed.

    Examples
    --------
    >>> band_of("area")
    ((0.05, 0.15), 'palette.band.area.high')
    """
    if by == "lit view":
        return None
    low, high = f"palette.band.{by}.low", f"palette.band.{by}.high"
    return (value(low, overrides), value(high, overrides)), high


def _band(band: tuple[float, float]) -> tuple[float, float]:
    low, high = band
    if not (np.isfinite(low) and np.isfinite(high) and 0 <= low <= high <= 1):
        raise InputError(
            "band", given=band, allowed="two shares, 0 to 1, the lower first", mend="low, high"
        )
    return float(low), float(high)


def judge(
    balance: Balance,
    *,
    band: tuple[float, float],
    of: str = "black",
    rule: str = "palette.band.area.high",
) -> Finding:
    """A share against a band, as a finding.

    Parameters
    ----------
    balance : Balance
        From `shares`.
    band : tuple of float
        From and to. [0–1]
    of : str
        The class.
    rule : str
        Reference id of the band.

    Returns
    -------
    Finding
        "measure first" where the ± of the finishes, or weight without a
        finish, could carry the share over an edge of the band.

    Raises
    ------
    InputError
        The band is not two shares in order, or the class is unknown.
    """
    low, high = _band(band)
    if of not in CLASSES:
        raise InputError("class", given=of, allowed=", ".join(CLASSES), mend="use one of these")
    share = balance.shares[of]
    # Weight without a finish may be all of the class, or none of it.
    gone = balance.unknown_share
    least, most = balance.low[of] * (1 - gone), balance.high[of] * (1 - gone) + gone
    inside = low - 1e-12 <= share <= high + 1e-12
    verdict: Verdict = "passes" if inside else "fails"
    if inside and (least < low - 1e-12 or most > high + 1e-12):
        verdict = "measure first"
    if (share > high and least <= high) or (share < low and most >= low):
        verdict = "measure first"
    above = "above the band" if share > high else "below the band"
    where = "inside the band" if inside else above
    largest = balance.contributions[of][:1]
    mend = ""
    if verdict == "measure first":
        flips = [f for f, name, _ in balance.undecided if name == of]
        lost = [c.item for c in balance.unknown]
        about = flips[:2] + (lost[:2] if gone > 0 else [])
        mend = f"measure {' and '.join(about)} first" if about else ""
    elif not inside and share > high and largest:
        mend = f"most of it is {largest[0].item}"
    return Finding(
        what=f"Share of {of} by {balance.by}",
        measured=share,
        required=high if share > high else low,
        within=max(share - least, most - share),
        unit="",
        verdict=verdict,
        severity="note",
        rule=rule,
        why=(
            f"{100 * share:.1f} % ({100 * least:.1f} to {100 * most:.1f} %), {where} of "
            f"{100 * low:g} to {100 * high:g} % (a studio's judgement). {balance.definitions}"
        ),
        mend=mend,
        about=tuple(o for c in balance.contributions[of][:3] for o in c.owners),
    )


# --- what would close the gap -----------------------------------------------


def _family(kind: str, weight_kind: str) -> tuple[str, ...]:
    if weight_kind in ("wall", "ceiling", "column"):
        return _SHELL
    if weight_kind == "drapery":
        return tuple(k for k in _SOFT if k not in _STIFF)
    return _SOFT if kind in _SOFT else _HARD.get(kind, (kind,))


def gap(
    weights: Iterable[Weight],
    *,
    finishes: Mapping[str, FinishValue],
    band: tuple[float, float],
    of: str = "black",
    limits: Limits | None = None,
    candidates: Mapping[str, Collection[str]] | None = None,
    keep: Collection[str] = (),
    pairs: bool = True,
    count: int = 10,
    by: How = "area",
    night_lightness: float | None = None,
    now: Balance | None = None,
) -> Gap:
    """What would bring a share into a band: how much, and which changes of finish.

    Parameters
    ----------
    weights : iterable of Weight
        As for `shares`.
    finishes : mapping of str to FinishValue
        From `resolve_all`; also what may be used instead.
    band : tuple of float
        From and to. [0–1]
    of : str
        The class whose share is wanted in the band.
    limits : Limits, optional
        What counts as what.
    candidates : mapping of str to collection of str, optional
        For an item, the finishes that may replace its own. Where missing:
        cloth for cloth, hard finishes for hard ones, paint, paper, plaster or
        timber on walls.
    keep : collection of str
        Items that stay as they are.
    pairs : bool
        Try two changes at once where no single one is enough.
    count : int
        At most so many swaps.
    by : str
        What the weights are, for the words.
    night_lightness : float, optional
        L* of bare glass after dark.
    now : Balance, optional
        The shares of these weights, where they are known already.

    Returns
    -------
    Gap
        Swaps that meet the band first, the least changed weight first; then
        those that come nearest. None where the share is inside already.

    Raises
    ------
    InputError
        The band or the class is not one.
    LookupFailed
        A finish is not in the project.
    """
    low, high = _band(band)
    if of not in CLASSES:
        raise InputError("class", given=of, allowed=", ".join(CLASSES), mend="use one of these")
    at = limits or Limits()
    every = list(weights)
    if now is None:
        now = shares(every, finishes=finishes, limits=at, by=by, night_lightness=night_lightness)
    share = now.shares[of]
    missing = (low - share if share < low else min(0.0, high - share)) * now.total
    swaps: tuple[Swap, ...] = ()
    if missing:
        options = _options(every, finishes, at, of, now.total, missing, candidates or {}, keep)
        swaps = _ranked(options, share=share, band=(low, high), count=count, pairs=pairs, of=of)
    if not missing:
        words = "inside the band already"
    elif by == "area":
        words = f"{abs(missing):.1f} m² {'more' if missing > 0 else 'less'} would meet it"
    else:
        words = f"{abs(100 * missing / now.total):.1f} % of the view would meet it"
    return Gap(
        of=of,
        share=share,
        band=(low, high),
        weight=missing,
        swaps=swaps,
        why=f"{of} {100 * share:.1f} %, band {100 * low:g} to {100 * high:g} %: {words}",
    )


_Option = tuple[Change, float, float]  # step of the share, weight that changes


def _options(
    weights: Sequence[Weight],
    finishes: Mapping[str, FinishValue],
    limits: Limits,
    of: str,
    total: float,
    missing: float,
    candidates: Mapping[str, Collection[str]],
    keep: Collection[str],
) -> list[_Option]:
    held = {id: _held(finish, limits)[of] for id, finish in finishes.items()}
    groups: dict[tuple[str, str, str], float] = {}
    kinds: dict[str, str] = {}
    for w in weights:
        item = w.item or w.owner
        # A lit lightness is not the finish's: its change cannot be told here.
        if not w.finish or w.night or w.seen is not None or item in keep:
            continue
        kinds[item] = w.kind
        for part in {"", w.part if w.kind == "piece" else ""}:
            key = (item, part, w.finish)
            groups[key] = groups.get(key, 0.0) + w.weight
    found: list[_Option] = []
    for (item, part, old), weight in groups.items():
        # One part that is all of it says no more than the item does.
        if part and weight >= groups[item, "", old] - 1e-12:
            continue
        family = _family(finishes[old].kind, kinds[item])
        for new in sorted(finishes):
            fits = new in candidates[item] if item in candidates else finishes[new].kind in family
            step = weight * (held[new] - held[old]) / total
            if new != old and fits and step * missing > 0 and abs(step) > 1e-9:
                found.append((Change(item=item, part=part, old=old, new=new), step, weight))
    return found


def _held(finish: FinishValue, limits: Limits) -> Mapping[str, float]:
    if finish.limits == limits:
        return finish.shares
    part = np.array([c.share for c in finish.colours])
    marks = classify(
        [c.lightness for c in finish.colours], [c.chroma for c in finish.colours], limits=limits
    )
    found = {name: float(part @ mark) for name, mark in marks.items()}
    return {**found, "warm": float(finish.warm), "patterned": float(finish.patterned)}


def _ranked(
    options: Sequence[_Option],
    *,
    share: float,
    band: tuple[float, float],
    count: int,
    pairs: bool,
    of: str,
) -> tuple[Swap, ...]:
    low, high = band

    def after(chosen: tuple[_Option, ...]) -> float:
        return share + sum(step for _, step, _ in chosen)

    def inside(at: float) -> bool:
        return low - 1e-12 <= at <= high + 1e-12

    def rank(chosen: tuple[_Option, ...]) -> tuple[object, ...]:
        at = after(chosen)
        away = round(max(low - at, at - high, 0.0), 9)
        size = round(sum(weight for _, _, weight in chosen), 9)
        return (not inside(at), away, len(chosen), size, tuple(change for change, _, _ in chosen))

    found: list[tuple[_Option, ...]] = [(option,) for option in options]
    if pairs and not any(inside(after(chosen)) for chosen in found):
        # The sixty largest steps hold every pair that reaches farthest.
        strong = sorted(options, key=lambda o: (-abs(o[1]), o[0]))[:60]
        found += [
            (a, b) for n, a in enumerate(strong) for b in strong[n + 1 :] if a[0].item != b[0].item
        ]
    return tuple(
        Swap(
            changes=tuple(change for change, _, _ in chosen),
            share=after(chosen),
            weight=sum(weight for _, _, weight in chosen),
            inside=inside(after(chosen)),
            why=f"{'; '.join(str(change) for change, _, _ in chosen)}: "
            f"{of} {100 * share:.1f} → {100 * after(chosen):.1f} %",
        )
        for chosen in sorted(found, key=rank)[:count]
    )
