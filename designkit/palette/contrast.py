"""How far apart two finishes are where they meet.

Three numbers stand side by side, because each misses something: the LRV
difference is what the standard for people with low vision asks for, ΔL* is
what the eye sees (black against mid grey is LRV 16 apart but ΔL* 28), and
ΔE00 also sees hue. Ratios made for text on a screen are no measure of rooms
and are not used.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from designkit.errors import InputError
from designkit.palette import colour
from designkit.palette.finishes import FinishValue, find
from designkit.reference import value

__all__ = ["Contrast", "Edge", "EdgeLimits", "Meeting", "contrast", "edges"]

_BIT = 1e-9  # 70 less 40 is 30, also by way of L*
How = Literal["touch", "in front"]
Name = Literal["strong edge", "reads as one", "soft edge"]


@dataclass(frozen=True, kw_only=True)
class Meeting:
    """Two things that touch, or of which one is seen in front of the other."""

    a: str  # owner ids
    b: str
    finish_a: str
    finish_b: str
    how: How = "touch"
    length: float = 1.0  # of the edge between them [m]


@dataclass(frozen=True, kw_only=True)
class EdgeLimits:
    """What is a strong edge, what reads as one, what is adequate contrast."""

    strong: float
    one: float
    adequate: float
    adequate_lit: float  # may do for large areas, or where light is over 200 lx

    @classmethod
    def of(cls, overrides: Mapping[str, float] | None = None) -> EdgeLimits:
        """The limits of a project.

        Parameters
        ----------
        overrides : mapping of str to float, optional
            The project's own values (`Home.rules`).

        Returns
        -------
        EdgeLimits
            Reference values where the project has none.
        """
        return cls(
            strong=value("palette.edge.strong", overrides),
            one=value("palette.edge.one", overrides),
            adequate=value("palette.contrast.lrv", overrides),
            adequate_lit=value("palette.contrast.lrv.lit", overrides),
        )

    @property
    def definitions(self) -> str:
        """What the words mean, to stand beside the table."""
        return (
            f"Strong edge: ΔL* {self.strong:g} or more; reads as one: ΔL* {self.one:g} or less "
            f"(our assumptions). Adequate: LRV {self.adequate:g} apart or more "
            f"(BS 8300-2 Annex B, for what people must find); {self.adequate_lit:g} may do for "
            "large areas or over 200 lx."
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Contrast:
    """The distance between two finishes, for each pair of their colours."""

    finish_a: str
    finish_b: str
    lrv: float  # of the wholes
    lightness: tuple[float, ...]  # ΔL*, colour by colour of the two
    differences: tuple[float, ...] | None  # ΔE00, likewise; None: a hue is not known
    within: float  # ± of ΔL*

    @property
    def nearest(self) -> float:
        """The smallest ΔL* between a colour of one and a colour of the other."""
        return min(self.lightness)

    @property
    def farthest(self) -> float:
        """The largest ΔL* between a colour of one and a colour of the other."""
        return max(self.lightness)

    @property
    def difference(self) -> float | None:
        """ΔE00 of the pair that is farthest apart in L*."""
        if self.differences is None:
            return None
        return self.differences[self.lightness.index(self.farthest)]


@dataclass(frozen=True, kw_only=True, eq=False)
class Edge:
    """A meeting of two finishes with its contrast and what it is called."""

    meeting: Meeting
    contrast: Contrast
    called: Name
    sure: bool  # the name holds over the whole ±
    adequate: bool
    adequate_lit: bool
    why: str


def contrast(a: FinishValue, b: FinishValue) -> Contrast:
    """How far apart two finishes are.

    Parameters
    ----------
    a, b : FinishValue
        From `resolve`.

    Returns
    -------
    Contrast
        LRV difference of the wholes; ΔL* and ΔE00 for each pair of colours.

    Examples
    --------
    >>> from designkit.model import Colour, Finish
    >>> from designkit.palette.finishes import resolve
    >>> grey = resolve(Finish(name="grey", colours=(Colour(lab=(46, 0, 0)),)))
    >>> black = resolve(Finish(name="black", colours=(Colour(lab=(18, 0, 0)),)))
    >>> found = contrast(black, grey)
    >>> round(found.nearest), round(found.lrv)
    (28, 13)
    """
    apart = [abs(x.lightness - y.lightness) for x in a.colours for y in b.colours]
    hues = all(c.hue_known for c in (*a.colours, *b.colours))
    delta: tuple[float, ...] | None = None
    if hues:
        one = np.array([c.lab for c in a.colours])[:, None, :]
        two = np.array([c.lab for c in b.colours])[None, :, :]
        delta = tuple(float(d) for d in colour.difference(one, two).ravel())
    return Contrast(
        finish_a=a.id,
        finish_b=b.id,
        lrv=abs(a.lrv - b.lrv),
        lightness=tuple(apart),
        differences=delta,
        within=float(np.hypot(a.within, b.within)),
    )


def _called(apart: float, limits: EdgeLimits) -> Name:
    if apart >= limits.strong - _BIT:
        return "strong edge"
    return "reads as one" if apart <= limits.one + _BIT else "soft edge"


def _edge(meeting: Meeting, found: Contrast, limits: EdgeLimits) -> Edge:
    # A stripe beside a plain cloth makes an edge with its farther colour: that
    # is what the eye catches, so the farthest pair names the edge.
    apart = found.farthest
    name = _called(apart, limits)
    ends = {_called(max(0.0, apart + step), limits) for step in (-found.within, found.within)}
    same = meeting.finish_a == meeting.finish_b and len(found.lightness) == 1
    delta = "ΔE00 unknown" if found.difference is None else f"ΔE00 {found.difference:.1f}"
    return Edge(
        meeting=meeting,
        contrast=found,
        called=name,
        sure=same or ends == {name},
        adequate=found.lrv >= limits.adequate - _BIT,
        adequate_lit=found.lrv >= limits.adequate_lit - _BIT,
        why=f"ΔL* {apart:.0f} ± {found.within:.0f}, LRV {found.lrv:.0f} apart, {delta}",
    )


def edges(
    meetings: Iterable[Meeting],
    *,
    finishes: Mapping[str, FinishValue],
    limits: EdgeLimits | None = None,
) -> tuple[Edge, ...]:
    """The edges of a furnished room, strongest first.

    Parameters
    ----------
    meetings : iterable of Meeting
        What touches, and what stands in front of what.
    finishes : mapping of str to FinishValue
        From `resolve_all`.
    limits : EdgeLimits, optional
        What is strong and what reads as one.

    Returns
    -------
    tuple of Edge
        Sorted by ΔL*, then by the length of the edge.

    Raises
    ------
    LookupFailed
        A finish is not in the project.
    InputError
        An edge has a length that is not a number, or is negative.
    """
    at = limits or EdgeLimits.of()
    known: dict[tuple[str, str], Contrast] = {}
    rows: list[Edge] = []
    for meeting in meetings:
        if not (np.isfinite(meeting.length) and meeting.length >= 0):
            raise InputError(
                f"edge of {meeting.a} and {meeting.b}",
                given=meeting.length,
                allowed="a length, 0 or more",
            )
        pair = (meeting.finish_a, meeting.finish_b)
        if pair not in known:
            known[pair] = contrast(find(finishes, pair[0]), find(finishes, pair[1]))
        rows.append(_edge(meeting, known[pair], at))
    return _ranked(rows)


def _ranked(rows: Sequence[Edge]) -> tuple[Edge, ...]:
    return tuple(
        sorted(
            rows,
            key=lambda e: (
                -round(e.contrast.farthest, 6),
                -round(e.meeting.length, 6),
                e.meeting.a,
                e.meeting.b,
            ),
        )
    )
