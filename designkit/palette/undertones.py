r"""Undertones: which way a near-neutral leans, and which two quarrel side by side.

A white, grey or black is seldom without hue. How far it leans is its chroma,
:math:`C^*_{ab} = \sqrt{a^{*2} + b^{*2}}`, and which way its hue angle,
:math:`h = \operatorname{atan2}(b^*, a^*)`, both for D65 and the 2° observer.
Hue is only as sure as a* and b* are: with ± u on each the angle is sure to
:math:`\pm\arcsin(u/C^*)`, and where u reaches C* it is not known at all.

The names follow the nearest unique hue. Their angles are those of CIE 159 for
CIECAM02 [1]_, borrowed for CIELAB; violet stands between blue and red.

What counts as a clash has no published limit. The trade says that a pink white
and a green white beside each other make one of them look dirty (common
practice, no source); the two numbers here are our own and may be changed. No
formula of colour harmony is used: tests do not support them.

References
----------
.. [1] CIE 159:2004, table of unique hues (from memory): red 20.14°, yellow
   90.00°, green 164.25°, blue 237.53°.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from designkit.errors import InputError
from designkit.model import Finding
from designkit.palette.contrast import Meeting
from designkit.palette.finishes import FinishValue, find
from designkit.reference import value

__all__ = ["Lean", "Undertone", "UndertoneLimits", "clash", "clashes", "undertone"]

Lean = Literal["pink", "yellow", "green", "blue", "violet", "none", "not known", "coloured"]
_UNIQUE: tuple[tuple[float, Lean], ...] = (
    (20.14, "pink"),
    (90.0, "yellow"),
    (164.25, "green"),
    (237.53, "blue"),
    ((237.53 + 380.14) / 2, "violet"),
)


@dataclass(frozen=True, kw_only=True)
class UndertoneLimits:
    """What is near-neutral, what leans at all, and what is a clash."""

    neutral: float  # C* up to which a finish is near-neutral
    leans: float  # C* from which it leans
    hue: float  # hues so far apart quarrel [°]
    apart: float  # and are so far apart in a*, b*
    light: float  # and within so much of each other in L*

    @classmethod
    def of(cls, overrides: Mapping[str, float] | None = None) -> UndertoneLimits:
        """The limits of a project.

        Parameters
        ----------
        overrides : mapping of str to float, optional
            The project's own values (`Home.rules`).

        Returns
        -------
        UndertoneLimits
            Reference values where the project has none.
        """
        return cls(
            neutral=value("palette.undertone.neutral", overrides),
            leans=value("palette.undertone.leans", overrides),
            hue=value("palette.undertone.hue", overrides),
            apart=value("palette.undertone.apart", overrides),
            light=value("palette.undertone.light", overrides),
        )

    @property
    def definitions(self) -> str:
        """What the words mean, to stand beside the table."""
        return (
            f"Near-neutral: C* {self.neutral:g} or less; leans from C* {self.leans:g} (D65, 2°). "
            f"Clash: two that lean, hues {self.hue:g}° apart or more, {self.apart:g} or more apart "
            f"in a*, b*, and within L* {self.light:g} of each other "
            "(author's judgement; common practice, no source)."
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Undertone:
    """Which way one colour leans."""

    finish: str
    lean: Lean
    chroma: float  # C*ab
    hue: float  # [°]; 0 where it is not known
    hue_within: float  # ± [°], 180 where it may be any
    within: float  # ± of a* and b*
    lightness: float
    a: float
    b: float
    sure: bool  # the word holds over the whole ±
    why: str


def _named(hue: float) -> Lean:
    def away(at: float) -> float:
        return abs((hue - at + 180) % 360 - 180)

    return min(_UNIQUE, key=lambda u: away(u[0]))[1]


def _within(way: str, source: str, overrides: Mapping[str, float] | None) -> float:
    by_way = value(f"palette.undertone.within.{way}", overrides)
    if source in ("measured", "seller"):
        return min(by_way, value(f"palette.undertone.within.{source}", overrides))
    return by_way


def undertone(
    finish: FinishValue,
    *,
    limits: UndertoneLimits | None = None,
    overrides: Mapping[str, float] | None = None,
) -> Undertone:
    """Which way a finish leans.

    Parameters
    ----------
    finish : FinishValue
        From `designkit.palette.finishes.resolve`; of several colours the one
        with the largest share counts.
    limits : UndertoneLimits, optional
        What is near-neutral and what leans.
    overrides : mapping of str to float, optional
        The project's own values (`Home.rules`).

    Returns
    -------
    Undertone
        "not known" where only a value is known (LRV, ladder, guess), "none"
        where it does not lean, "coloured" where it is no near-neutral.

    Examples
    --------
    >>> from designkit.model import Colour, Finish, Known
    >>> from designkit.palette.finishes import resolve
    >>> ivory = resolve(Finish(name="ivory", colours=(Colour(lab=(90, 0.2, 6)),),
    ...                        known=Known(source="measured")))
    >>> found = undertone(ivory)
    >>> found.lean, round(found.hue), found.sure
    ('yellow', 88, True)
    """
    at = limits or UndertoneLimits.of(overrides)
    main = max(finish.colours, key=lambda c: c.share)
    l_star, a, b = main.lab
    if not main.hue_known:
        return Undertone(
            finish=finish.id,
            lean="not known",
            chroma=0.0,
            hue=0.0,
            hue_within=180.0,
            within=0.0,
            lightness=l_star,
            a=0.0,
            b=0.0,
            sure=False,
            why="only its value is known: measure its colour, or ask for the maker's CIELAB",
        )
    u = _within(main.way, finish.source, overrides)
    hue = math.degrees(math.atan2(b, a)) % 360 if main.chroma > 0 else 0.0
    turn = math.degrees(math.asin(u / main.chroma)) if main.chroma > u else 180.0
    if main.chroma > at.neutral:
        lean: Lean = "coloured"
        sure = main.chroma - u > at.neutral
    elif main.chroma < at.leans:
        lean, sure = "none", main.chroma + u < at.leans
    else:
        lean = _named(hue)
        ends = {_named(hue - turn), lean, _named(hue + turn)}
        sure = turn < 180 and ends == {lean} and main.chroma - u >= at.leans
        sure = sure and main.chroma + u <= at.neutral
    angle = f"hue {hue:.0f}° ± {turn:.0f}°" if turn < 180 else "hue not sure"
    return Undertone(
        finish=finish.id,
        lean=lean,
        chroma=main.chroma,
        hue=hue,
        hue_within=turn,
        within=u,
        lightness=l_star,
        a=a,
        b=b,
        sure=sure,
        why=f"C* {main.chroma:.1f} ± {u:g}, {angle} (D65, 2°)",
    )


def clash(one: Undertone, two: Undertone, *, limits: UndertoneLimits | None = None) -> str:
    """Whether two near-neutrals quarrel.

    Parameters
    ----------
    one, two : Undertone
        From `undertone`.
    limits : UndertoneLimits, optional
        What is a clash.

    Returns
    -------
    str
        "clash", "no clash", "clash, within the ±", "no clash, within the ±",
        or "not known" where the hue of one is not known.

    Examples
    --------
    >>> from designkit.model import Colour, Finish, Known
    >>> from designkit.palette.finishes import resolve
    >>> def of(*lab):
    ...     return undertone(resolve(Finish(name="f", colours=(Colour(lab=lab),),
    ...                                     known=Known(source="measured"))))
    >>> clash(of(90, 4, 1), of(88, -4, 2)), clash(of(90, 4, 1), of(88, 4, 4))
    ('clash', 'no clash')
    """
    at = limits or UndertoneLimits.of()
    if "not known" in (one.lean, two.lean):
        return "not known"
    apart = math.dist((one.a, one.b), (two.a, two.b))
    turn = abs((one.hue - two.hue + 180) % 360 - 180)
    near = abs(one.lightness - two.lightness) <= at.light
    neutral = max(one.chroma, two.chroma) <= at.neutral
    weakest = min(one.chroma, two.chroma)
    reach = math.hypot(one.within, two.within)
    turns = math.hypot(one.hue_within, two.hue_within)
    now = near and neutral and weakest >= at.leans and turn >= at.hue and apart >= at.apart
    if now:
        sure = (
            all(u.chroma - u.within >= at.leans for u in (one, two))
            and all(u.chroma + u.within <= at.neutral for u in (one, two))
            and turn - turns >= at.hue
            and apart - reach >= at.apart
        )
        return "clash" if sure else "clash, within the ±"
    may = (
        near
        and all(u.chroma - u.within <= at.neutral for u in (one, two))
        and all(u.chroma + u.within >= at.leans for u in (one, two))
        and min(turn + turns, 180.0) >= at.hue
        and apart + reach >= at.apart
    )
    return "no clash, within the ±" if may else "no clash"


def clashes(
    meetings: Iterable[Meeting],
    *,
    finishes: Mapping[str, FinishValue],
    limits: UndertoneLimits | None = None,
    overrides: Mapping[str, float] | None = None,
) -> tuple[Finding, ...]:
    """Undertones that quarrel, or may, among what meets in a room.

    Parameters
    ----------
    meetings : iterable of Meeting
        What touches, and what is seen in front of what.
    finishes : mapping of str to FinishValue
        From `resolve_all`.
    limits : UndertoneLimits, optional
        What is a clash.
    overrides : mapping of str to float, optional
        The project's own values (`Home.rules`).

    Returns
    -------
    tuple of Finding
        Each pair of finishes once, those that are sure first; "measure first"
        where the ± decides. Pairs whose hue is not known are not among them:
        `undertone` says so for each finish.

    Raises
    ------
    LookupFailed
        A finish is not in the project.
    InputError
        An edge has a length that is not a number, or is negative.
    """
    at = limits or UndertoneLimits.of(overrides)
    lengths: dict[tuple[str, str], float] = {}
    for m in meetings:
        if not (math.isfinite(m.length) and m.length >= 0):
            raise InputError(
                f"edge of {m.a} and {m.b}", given=m.length, allowed="a length, 0 or more"
            )
        if m.finish_a != m.finish_b:
            one, two = sorted((m.finish_a, m.finish_b))
            lengths[one, two] = lengths.get((one, two), 0.0) + m.length
    leans = {
        id: undertone(find(finishes, id), limits=at, overrides=overrides)
        for id in {id for pair in lengths for id in pair}
    }
    rows = []
    for (one, two), length in lengths.items():
        a, b = leans[one], leans[two]
        said = clash(a, b, limits=at)
        if said in ("no clash", "not known"):
            continue
        turn = abs((a.hue - b.hue + 180) % 360 - 180)
        rows.append(
            (
                said != "clash",
                -round(turn, 6),
                Finding(
                    what=f"Undertones of {finishes[one].name} and {finishes[two].name}",
                    measured=turn,
                    required=None,
                    within=min(180.0, math.hypot(a.hue_within, b.hue_within)),
                    unit="°",
                    verdict="fails" if said == "clash" else "measure first",
                    severity="note",
                    rule="palette.undertone.hue",
                    why=(
                        f"{finishes[one].name} leans {_word(a)} ({a.why}), {finishes[two].name} "
                        f"{_word(b)} ({b.why}); {length:.1f} m of edge"
                    ),
                    mend="lay real cuttings side by side in the room's own light"
                    if said == "clash"
                    else "measure both, or lay cuttings side by side",
                    about=(one, two),
                ),
            )
        )
    rows.sort(key=lambda r: (r[0], r[1], r[2].about))
    return tuple(r[2] for r in rows)


def _word(of: Undertone) -> str:
    return of.lean if of.lean != "none" else "no way that is seen"
