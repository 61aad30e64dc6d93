"""What a reading of a swatch decides, and what it leaves open within its ±."""

from __future__ import annotations

from dataclasses import dataclass, replace

from designkit.analyses.of_scheme import scheme
from designkit.analyses.pick import home_of, layout_of
from designkit.balance import band_of, shares
from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import Colour, Finish, Home, Layout, Project
from designkit.palette.colour import lightness_to_lrv
from designkit.palette.contrast import EdgeLimits, edges
from designkit.palette.finishes import FinishValue, Limits, resolve, resolve_all
from designkit.scene.neighbours import neighbours

__all__ = ["Flip", "flips", "with_colour"]


@dataclass(frozen=True, kw_only=True)
class Flip:
    """One verdict at the lower end, at the reading and at the upper end of its ±."""

    what: str
    low: str
    now: str
    high: str

    @property
    def flips(self) -> bool:
        """Whether it is another one somewhere within the ±."""
        return len({self.low, self.now, self.high}) > 1

    @property
    def sentence(self) -> str:
        """What is decided, or what is not."""
        if not self.flips:
            return f"{self.what}: {self.now}, over the whole ±"
        return f"{self.what}: {self.now}; within the ± {self.low} to {self.high}"


def with_colour(project: Project | Home, *, finish: str, colour: Colour, part: int = 0) -> Finish:
    """A finish of a home with a newly read colour.

    Parameters
    ----------
    project : Project or Home
        The home.
    finish : str
        Its id.
    colour : Colour
        The reading.
    part : int, optional
        Which of its colours was read, from 0.

    Returns
    -------
    Finish
        All else as it is, other colours and shares too.

    Raises
    ------
    LookupFailed
        There is no such finish.
    InputError
        The finish has no such colour.
    """
    home = home_of(project)
    if finish not in home.finishes:
        raise LookupFailed(
            "finish",
            given=finish,
            allowed=", ".join(home.finishes) or "none is there yet",
            mend=f"nearest: {nearest(finish, home.finishes) or 'none'}",
        )
    colours = home.finishes[finish].colours
    if not 0 <= part < len(colours):
        raise InputError(
            f"colour of finish {finish}", given=part + 1, allowed=f"1 to {len(colours)}"
        )
    read = replace(colour, share=colours[part].share)
    return replace(home.finishes[finish], colours=(*colours[:part], read, *colours[part + 1 :]))


def _verdict(share: float, band: tuple[float, float]) -> str:
    low, high = band
    if low - 1e-12 <= share <= high + 1e-12:
        return "inside the band"
    return "above the band" if share > high else "below the band"


def flips(
    project: Project | Home,
    *,
    finish: str,
    colour: Colour,
    part: int = 0,
    layout: str | Layout = "",
) -> tuple[Flip, ...]:
    """Verdicts that a reading decides, or that flip within its ±.

    Parameters
    ----------
    project : Project or Home
        The home.
    finish : str
        The finish that was read.
    colour : Colour
        The reading, with its ±.
    part : int, optional
        Which of its colours was read, from 0.
    layout : str or Layout
        A layout's id or a layout itself; "" is the home's current one.

    Returns
    -------
    tuple of Flip
        What it counts as, the share of black by area against its band, and the
        edge with each finish that it touches.

    Raises
    ------
    LookupFailed
        There is no such finish or layout.
    InputError
        The colour is not given in exactly one way, or the finish has no such colour.
    """
    home = home_of(project)
    plan = layout_of(home, layout)
    limits = Limits.of(home.rules)
    read = resolve(
        with_colour(home, finish=finish, colour=colour, part=part),
        id=finish,
        limits=limits,
        overrides=home.rules,
    )
    own = read.colours[part]

    def at(lightness: float) -> FinishValue:
        if own.hue_known:
            given = Colour(lab=(lightness, *own.lab[1:]), within=0.0)
        else:
            given = Colour(lrv=float(lightness_to_lrv(lightness)), within=0.0)
        return resolve(
            with_colour(home, finish=finish, colour=given, part=part),
            id=finish,
            limits=limits,
            overrides=home.rules,
        )

    three = [at(own.low), at(own.lightness), at(own.high)]
    values = resolve_all(home.finishes, limits=limits, overrides=home.rules)
    found = [Flip(what="counts as", **_three([v.counts_as for v in three]))]
    weights = scheme(home, layout=plan, pairs=False).weights
    known = band_of("area", overrides=home.rules)
    if known is not None and any(w.finish == finish for w in weights):
        words = []
        for value in three:
            share = shares(weights, finishes={**values, finish: value}, limits=limits)
            black = share.shares["black"]
            words.append(f"{100 * black:.1f} %, {_verdict(black, known[0])}")
        verdicts = {w.partition(", ")[2] for w in words}
        if len(verdicts) == 1:  # the figure moves, the verdict does not
            words = [words[1]] * 3
        found.append(Flip(what="share of black by area", **_three(words)))
    met = [
        m
        for m in neighbours(home, plan)
        if finish in (m.finish_a, m.finish_b) and m.finish_a != m.finish_b
    ]
    called: dict[str, list[str]] = {}
    for value in three:
        strongest: dict[str, str] = {}
        for edge in edges(
            met, finishes={**values, finish: value}, limits=EdgeLimits.of(home.rules)
        ):
            pair = edge.meeting
            other = pair.finish_b if pair.finish_a == finish else pair.finish_a
            strongest.setdefault(other, edge.called)
        for other, word in strongest.items():
            called.setdefault(other, []).append(word)
    found += [
        Flip(what=f"against {home.finishes[other].name}", **_three(words))
        for other, words in sorted(called.items())
    ]
    return tuple(found)


def _three(words: list[str]) -> dict[str, str]:
    return {"low": words[0], "now": words[1], "high": words[2]}
