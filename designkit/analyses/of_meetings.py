"""Finishes where they meet: what touches, what is seen in front of what, undertones."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from designkit.analyses.keep import Kept, rests_on
from designkit.analyses.of_scheme import scheme_picture
from designkit.analyses.pick import home_of, layout_of
from designkit.balance import Balance
from designkit.model import Finding, Home, Layout, Project
from designkit.palette.contrast import Contrast, Edge, EdgeLimits, Meeting, contrast, edges
from designkit.palette.finishes import SHEENS, FinishValue, Limits, find, resolve_all
from designkit.palette.undertones import Undertone, UndertoneLimits, clash, clashes, undertone
from designkit.scene.neighbours import neighbours
from designkit.scene.view import Viewpoint, seen_in_front

__all__ = [
    "Beside",
    "Meetings",
    "PairToLay",
    "Touch",
    "beside",
    "pair_to_lay",
    "scheme_meetings",
    "touch_rows",
]

_PIXELS = (240, 150)


@dataclass(frozen=True, kw_only=True, eq=False)
class Meetings:
    """Where the finishes of a layout meet."""

    edges: tuple[Edge, ...]  # strongest first
    undertones: Mapping[str, Undertone]  # of the finishes that meet
    clashes: tuple[Finding, ...]
    quarrel: Mapping[frozenset[str], str]  # pair of finishes -> what `clash` says
    limits: EdgeLimits
    undertone_limits: UndertoneLimits
    finishes: Mapping[str, FinishValue]

    @property
    def definitions(self) -> str:
        """What the words mean."""
        return f"{self.limits.definitions} {self.undertone_limits.definitions}"


@dataclass(frozen=True, kw_only=True, eq=False)
class Beside:
    """Two finishes side by side."""

    one: FinishValue
    two: FinishValue
    contrast: Contrast
    edge: Edge
    undertones: tuple[Undertone, Undertone]
    quarrel: str


@dataclass(frozen=True, kw_only=True, eq=False)
class PairToLay:
    """Two finishes whose cuttings should be laid side by side before others."""

    one: str  # ids
    two: str
    why: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Touch:
    """How much has one sheen, texture or material, in each way of looking."""

    of: str  # "sheen", "texture", "material"
    word: str
    shares: tuple[float, ...]  # one for each balance [1]


_MET: Kept[tuple[Meeting, ...]] = Kept(6)


def _met(home: Home, plan: Layout, views: Sequence[str | Viewpoint]) -> tuple[Meeting, ...]:
    found = list(neighbours(home, plan))
    touching = {frozenset((m.a, m.b)) for m in found}
    longest: dict[tuple[str, str, str, str], Meeting] = {}
    for view in views:
        columns, rows = _PIXELS
        seen = scheme_picture(home, layout=plan, viewpoint=view, columns=columns, rows=rows)
        for m in seen_in_front(seen):
            key = (m.a, m.b, m.finish_a, m.finish_b)
            if frozenset((m.a, m.b)) in touching:
                continue  # said once, with the length that is sure
            if key not in longest or longest[key].length < m.length:
                longest[key] = m
    return (*found, *longest.values())


def scheme_meetings(
    project: Project | Home,
    *,
    layout: str | Layout = "",
    viewpoints: Sequence[str | Viewpoint] = (),
    limits: Limits | None = None,
) -> Meetings:
    """Finishes that touch or are seen in front of each other, and their undertones.

    Parameters
    ----------
    project : Project or Home
        The home.
    layout : str or Layout
        A layout's id or a layout itself; "" is the home's current one.
    viewpoints : sequence of str or Viewpoint
        Ids of viewpoints, or any places, that one looks from; without them only what touches.
    limits : Limits, optional
        What counts as black, dark and light.

    Returns
    -------
    Meetings
        With ΔL*, LRV difference, ΔE00 and what the undertones say.

    Raises
    ------
    LookupFailed
        There is no such layout, viewpoint or finish.
    """
    home = home_of(project)
    plan = layout_of(home, layout)
    values = resolve_all(
        home.finishes, limits=limits or Limits.of(home.rules), overrides=home.rules
    )
    key = (tuple(viewpoints), *rests_on(home, plan))
    met = _MET.get(key, lambda: _met(home, plan, viewpoints))
    at = EdgeLimits.of(home.rules)
    tones = UndertoneLimits.of(home.rules)
    used = list(dict.fromkeys(f for m in met for f in (m.finish_a, m.finish_b)))
    leans = {id: undertone(find(values, id), limits=tones, overrides=home.rules) for id in used}
    pairs = {frozenset((m.finish_a, m.finish_b)) for m in met if m.finish_a != m.finish_b}
    return Meetings(
        edges=edges(met, finishes=values, limits=at),
        undertones=leans,
        clashes=clashes(met, finishes=values, limits=tones, overrides=home.rules),
        quarrel={pair: clash(*(leans[id] for id in sorted(pair)), limits=tones) for pair in pairs},
        limits=at,
        undertone_limits=tones,
        finishes=values,
    )


def beside(project: Project | Home, *, one: str, two: str) -> Beside:
    """Two finishes of a home side by side, wherever they are used.

    Parameters
    ----------
    project : Project or Home
        The home.
    one, two : str
        Ids of finishes.

    Returns
    -------
    Beside
        Each with its numbers, and what lies between them.

    Raises
    ------
    LookupFailed
        There is no such finish.
    """
    home = home_of(project)
    values = resolve_all(home.finishes, limits=Limits.of(home.rules), overrides=home.rules)
    a, b = find(values, one), find(values, two)
    tones = UndertoneLimits.of(home.rules)
    leans = (
        undertone(a, limits=tones, overrides=home.rules),
        undertone(b, limits=tones, overrides=home.rules),
    )
    meeting = Meeting(a=one, b=two, finish_a=one, finish_b=two)
    (edge,) = edges([meeting], finishes=values, limits=EdgeLimits.of(home.rules))
    return Beside(
        one=a,
        two=b,
        contrast=contrast(a, b),
        edge=edge,
        undertones=leans,
        quarrel=clash(*leans, limits=tones),
    )


def pair_to_lay(met: Meetings) -> PairToLay | None:
    """The pair that meets whose cuttings tell most: what numbers cannot settle goes first.

    Parameters
    ----------
    met : Meetings
        From `scheme_meetings`.

    Returns
    -------
    PairToLay or None
        Undertones that clash, then those that may; then an edge that may be called
        otherwise within its ±, what reads as one, and the longest edge of all. Of
        several the longest edge. None where no two finishes meet.
    """
    reasons = (
        (lambda e, said: said == "clash", "their undertones clash"),
        (lambda e, said: said.startswith("clash"), "their undertones may clash"),
        (lambda e, said: not e.sure, "within the ± their edge may be called otherwise"),
        (lambda e, said: e.called == "reads as one", "they read as one"),
        (lambda e, said: True, "they share the longest edge"),
    )
    pairs = [
        (e, met.quarrel.get(frozenset((e.meeting.finish_a, e.meeting.finish_b)), ""))
        for e in met.edges
        if e.meeting.finish_a != e.meeting.finish_b
    ]
    for fits, why in reasons:
        found = [e.meeting for e, said in pairs if fits(e, said)]
        if found:
            first = max(found, key=lambda m: (round(m.length, 6), m.finish_a, m.finish_b))
            return PairToLay(one=first.finish_a, two=first.finish_b, why=why)
    return None


def touch_rows(balances: Iterable[Balance], *, least: float = 0.005) -> tuple[Touch, ...]:
    """Shares of sheens, textures and materials, in each way of looking.

    Parameters
    ----------
    balances : iterable of Balance
        By area, by view.
    least : float, optional
        What is less everywhere is summed as "other". [1]

    Returns
    -------
    tuple of Touch
        Sheens from matt to mirror, then textures and materials, the largest
        first; "not said" where a finish says nothing.
    """
    every = list(balances)
    found: list[Touch] = []
    for of, name in (("sheen", "sheens"), ("texture", "textures"), ("material", "materials")):
        tables: list[Mapping[str, float]] = [getattr(b, name) for b in every]
        words = {w for table in tables for w in table}
        rows = [Touch(of=of, word=w, shares=tuple(t.get(w, 0.0) for t in tables)) for w in words]
        kept = [r for r in rows if max(r.shares) >= least]
        rest = [r for r in rows if max(r.shares) < least]
        if of == "sheen":
            kept.sort(key=lambda r: (SHEENS.index(r.word) if r.word in SHEENS else 9, r.word))
        else:
            kept.sort(key=lambda r: (-round(max(r.shares), 9), r.word))
        if rest:
            sums = tuple(sum(r.shares[n] for r in rest) for n in range(len(every)))
            kept.append(Touch(of=of, word=f"other {of}s", shares=sums))
        found += kept
    return tuple(found)
