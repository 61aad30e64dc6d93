"""Finishes as values: lightness, chroma, light reflectance, and how far each is known.

A finish is given in whatever way the designer has it: hex, CIELAB, LRV, Munsell
value, a step of the value ladder, or a guess in one word. Here all of them
become L*, with a ± that says how well it is known. Black, dark, mid and light
come from L* and C* by limits that are arguments; warm and patterned are stated
on the finish and never worked out from its colour.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import Colour, Finding, Finish
from designkit.palette import colour
from designkit.reference import value

__all__ = [
    "CLASSES",
    "NOT_SAID",
    "SHEENS",
    "ColourValue",
    "FinishValue",
    "Limits",
    "classify",
    "find",
    "resolve",
    "resolve_all",
    "resolve_colour",
]

CLASSES = ("black", "dark", "mid", "light", "warm", "patterned")
NOT_SAID = "not said"  # of a sheen, a texture
SHEENS = ("matt", "eggshell", "satin", "gloss", "mirror")  # from matt to mirror
_WAYS = ("hex", "lab", "lrv", "munsell_value", "ladder", "guess")
_SAID = {
    "hex": "as a screen colour",
    "lab": "as CIELAB",
    "lrv": "as LRV",
    "munsell_value": "as Munsell value",
    "ladder": "by eye, value ladder",
    "guess": "guessed",
}
_SOURCES = {
    "measured": "measured",
    "plan": "from the plan",
    "seller": "from the maker's sheet",
    "guess": "",
}


def _default(name: str) -> float:
    # Read when a Limits is made, so that the import reads no file.
    number: float = field(default_factory=functools.partial(value, f"palette.{name}"))
    return number


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What counts as black, dark and light; assumptions, to be shown beside each share."""

    black_lightness: float = field(
        default_factory=functools.partial(value, "palette.black.lightness")
    )
    black_chroma: float = field(default_factory=functools.partial(value, "palette.black.chroma"))
    dark: float = field(default_factory=functools.partial(value, "palette.dark.lightness"))
    light: float = field(default_factory=functools.partial(value, "palette.light.lightness"))

    def __post_init__(self) -> None:
        numbers = (self.black_lightness, self.dark, self.light, self.black_chroma)
        if not np.isfinite(numbers).all() or min(numbers) < 0:
            raise InputError("limits", given=numbers, allowed="finite numbers, 0 or more")
        if not self.black_lightness < self.dark < self.light <= 100:
            raise InputError(
                "limits",
                given=f"black {self.black_lightness:g}, dark {self.dark:g}, light {self.light:g}",
                allowed="black under dark, dark under light, light 100 at most",
                mend="put them in this order",
            )

    @classmethod
    def of(cls, overrides: Mapping[str, float] | None = None) -> Limits:
        """The limits of a project.

        Parameters
        ----------
        overrides : mapping of str to float, optional
            The project's own values (`Home.rules`).

        Returns
        -------
        Limits
            Reference values where the project has none.

        Raises
        ------
        InputError
            The values are not in order.
        """
        return cls(
            black_lightness=value("palette.black.lightness", overrides),
            black_chroma=value("palette.black.chroma", overrides),
            dark=value("palette.dark.lightness", overrides),
            light=value("palette.light.lightness", overrides),
        )

    @property
    def definitions(self) -> str:
        """What the words mean, to stand beside every share."""
        return (
            f"Black: L* {self.black_lightness:g} or less and C* {self.black_chroma:g} or less; "
            f"dark: L* under {self.dark:g}, black included; "
            f"light: L* over {self.light:g}; mid: between (our assumptions). "
            "Warm and patterned: as stated on the finish."
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class ColourValue:
    """One colour of a finish in numbers."""

    share: float  # of the finish's area [1]
    lightness: float  # L*
    within: float  # ± L*
    chroma: float  # C*ab; 0 where only the value is known
    hue_known: bool
    lab: tuple[float, float, float]
    lrv: float
    lrv_within: float  # the larger side of ± in LRV
    hex: str  # for display
    way: str  # how it was given

    @property
    def low(self) -> float:
        """The lowest L* it may have."""
        return max(0.0, self.lightness - self.within)

    @property
    def high(self) -> float:
        """The highest L* it may have."""
        return min(100.0, self.lightness + self.within)


@dataclass(frozen=True, kw_only=True, eq=False)
class FinishValue:
    """A finish in numbers, with what it counts as."""

    id: str
    name: str
    kind: str
    colours: tuple[ColourValue, ...]
    sheen: str  # "": not said
    warm: bool
    patterned: bool
    transmittance: float
    known: str  # in words
    limits: Limits
    shares: Mapping[str, float]  # class -> share of the finish's area
    counts_as: str
    findings: tuple[Finding, ...] = ()
    source: str = "guess"  # measured, plan, seller, guess
    texture: str = ""  # "": not said
    spectrum: str = ""  # file of wavelengths and reflectances

    @functools.cached_property
    def lightness(self) -> float:
        """L* of the mean luminance: what it looks like from afar. [L*]"""
        return float(colour.lrv_to_lightness(self.lrv))

    @functools.cached_property
    def lrv(self) -> float:
        """Light reflectance value of the whole, each colour by its share. [0–100]"""
        return sum(c.share * c.lrv for c in self.colours)

    @property
    def within(self) -> float:
        """The largest ± of its colours. [L*]"""
        return max(c.within for c in self.colours)

    @functools.cached_property
    def hex(self) -> str:
        """Its colours mixed by area, as seen from afar."""
        xyz = sum(c.share * colour.lab_to_xyz(c.lab) for c in self.colours)
        return colour.rgb_to_hex(colour.xyz_to_rgb(np.asarray(xyz)))


def classify(
    lightness: ArrayLike, chroma: ArrayLike, *, limits: Limits | None = None
) -> dict[str, NDArray[np.bool_]]:
    """Which values are black, dark, mid or light.

    Parameters
    ----------
    lightness : array_like
        L*.
    chroma : array_like
        C*ab, same shape.
    limits : Limits, optional
        What counts as what.

    Returns
    -------
    dict of str to ndarray
        "black", "dark", "mid", "light"; black is part of dark, and dark, mid
        and light make the whole.

    Raises
    ------
    InputError
        A value is not finite.

    Examples
    --------
    >>> marks = classify([20.0, 20.0, 50.0], [2.0, 30.0, 0.0])
    >>> marks["black"].tolist(), marks["dark"].tolist()
    ([True, False, False], [True, True, False])
    """
    at = limits or Limits()
    l_star = np.asarray(lightness, dtype=np.float64)
    c_star = np.asarray(chroma, dtype=np.float64)
    if not (np.isfinite(l_star).all() and np.isfinite(c_star).all()):
        raise InputError("L* and C*", allowed="finite numbers", mend="give the finish a value")
    dark, light = l_star < at.dark, l_star > at.light
    return {
        "black": (l_star <= at.black_lightness) & (c_star <= at.black_chroma),
        "dark": dark,
        "mid": ~dark & ~light,
        "light": light,
    }


def _way(given: Colour, what: str) -> str:
    ways = [w for w in _WAYS if getattr(given, w) is not None]
    if ways == ["hex", "lrv"] or ways == ["lab", "lrv"]:
        return ways[0]
    if len(ways) != 1:
        raise InputError(
            what,
            given=", ".join(ways) or "no value",
            allowed="exactly one of hex, lab, lrv, munsell_value, ladder, guess; "
            "an lrv may stand beside hex or lab",
            mend="keep the one that is known best" if ways else "give it one, a guess at least",
        )
    return ways[0]


def _within(
    given: Colour, way: str, source: str, overrides: Mapping[str, float] | None, what: str
) -> float:
    if given.within is not None:
        if not 0 <= given.within <= 100:
            raise InputError(f"{what}, within", given=given.within, allowed="0 to 100 L*")
        return float(given.within)
    if way == "guess":
        return value(f"palette.guess.{given.guess}.within", overrides)
    by_way = value(f"palette.within.{way.removesuffix('_value')}", overrides)
    # A colour picked by eye stays as uncertain as the eye, whoever measured the rest.
    if way != "ladder" and source in ("measured", "seller"):
        return min(by_way, value(f"palette.within.{source}", overrides))
    return by_way


def resolve_colour(
    given: Colour,
    *,
    source: str = "guess",
    what: str = "colour",
    overrides: Mapping[str, float] | None = None,
) -> ColourValue:
    """The numbers of one colour, however it was given.

    Parameters
    ----------
    given : Colour
        Exactly one way; an LRV may stand beside hex or CIELAB.
    source : str
        How the finish is known: measured, plan, seller, guess.
    what : str
        Its name, for messages.
    overrides : mapping of str to float, optional
        The project's own values (`Home.rules`).

    Returns
    -------
    ColourValue
        Where only a value is known the colour is taken as neutral, and
        `hue_known` is False.

    Raises
    ------
    InputError
        It is given in no way, in two ways, or off its scale.

    Examples
    --------
    >>> round(resolve_colour(Colour(lrv=83.0)).lightness, 1)
    93.0
    """
    way = _way(given, what)
    try:
        if way == "hex":
            lab = colour.hex_to_lab(str(given.hex))
        elif way == "lab":
            lab = np.asarray(given.lab, dtype=np.float64)
            if lab.shape != (3,) or not np.isfinite(lab).all() or not 0 <= lab[0] <= 100:
                raise InputError(
                    "lab", given=given.lab, allowed="three numbers, L* 0 to 100", mend="L*, a*, b*"
                )
        else:
            if way == "lrv":
                l_star = colour.lrv_to_lightness(given.lrv or 0.0)
            elif way == "guess":
                words = ("black", "dark", "mid", "light", "white")
                if given.guess not in words:
                    raise InputError("guess", given=given.guess, allowed=", ".join(words))
                l_star = np.asarray(value(f"palette.guess.{given.guess}", overrides))
            else:
                step = given.munsell_value if way == "munsell_value" else given.ladder
                l_star = colour.munsell_to_lightness(step or 0.0)
            lab = np.array([float(l_star), 0.0, 0.0])
        if given.lrv is not None:
            colour.lrv_to_lightness(given.lrv)
    except InputError as error:
        raise InputError(
            f"{what}, {error.what}", given=error.given, allowed=error.allowed, mend=error.mend
        ) from None
    lightness = min(100.0, max(0.0, float(lab[0])))
    within = _within(given, way, source, overrides, what)
    lrv = float(colour.lightness_to_lrv(lightness))
    ends = colour.lightness_to_lrv(np.clip([lightness - within, lightness + within], 0, 100))
    return ColourValue(
        share=given.share,
        lightness=lightness,
        within=within,
        chroma=float(colour.chroma(lab)),
        hue_known=way in ("hex", "lab"),
        lab=(lightness, float(lab[1]) + 0.0, float(lab[2]) + 0.0),
        lrv=lrv,
        lrv_within=float(np.max(np.abs(ends - lrv))),
        hex=colour.lab_to_hex(lab) if way != "hex" else _tidy(str(given.hex)),
        way=way,
    )


def _tidy(text: str) -> str:
    return colour.rgb_to_hex(colour.hex_to_rgb(text))


def _counts_as(shares: Mapping[str, float], warm: bool, patterned: bool) -> str:
    parts = {
        "black": shares["black"],
        "dark": shares["dark"] - shares["black"],
        "mid": shares["mid"],
        "light": shares["light"],
    }
    held = {word: share for word, share in parts.items() if share > 1e-9}
    if len(held) == 1:
        words = list(held)
    else:
        words = [f"{100 * share:.0f} % {word}" for word, share in held.items()]
    return ", ".join(words + ["warm"] * warm + ["patterned"] * patterned)


def _known(finish: Finish, ways: list[str], within: float) -> str:
    how = " and ".join(dict.fromkeys(_SAID[w] for w in ways))
    source = _SOURCES.get(finish.known.source, "")
    return f"{source + ', ' if source else ''}{how}, ± {within:g} L*"


def _lrv_findings(
    id: str, finish: Finish, values: list[ColourValue], overrides: Mapping[str, float] | None
) -> tuple[Finding, ...]:
    error = value("palette.lrv.error", overrides)
    warning = value("palette.lrv.warning", overrides)
    rows = []
    for given, got in zip(finish.colours, values, strict=True):
        if given.lrv is None or got.way == "lrv":
            continue
        apart = abs(given.lrv - got.lrv)
        if apart <= warning:
            continue
        bad = apart > error
        rows.append(
            Finding(
                what=f"{finish.name}: LRV and {'hex' if got.way == 'hex' else 'CIELAB'}",
                measured=apart,
                required=error if bad else warning,
                within=got.lrv_within,
                unit="LRV",
                verdict="fails" if bad else "measure first",
                severity="inconvenient" if bad else "note",
                rule="palette.lrv.error" if bad else "palette.lrv.warning",
                why=(
                    f"LRV given {given.lrv:.1f}, the colour given has {got.lrv:.1f}: "
                    f"{apart:.1f} apart, over {error if bad else warning:g}"
                ),
                mend="one of the two is for another finish: read the maker's sheet again"
                if bad
                else "look at a cutting beside the value ladder",
                about=(id,),
            )
        )
    return tuple(rows)


def resolve(
    finish: Finish,
    *,
    id: str = "",
    limits: Limits | None = None,
    overrides: Mapping[str, float] | None = None,
) -> FinishValue:
    """A finish in numbers.

    Parameters
    ----------
    finish : Finish
        As the project has it.
    id : str
        Its key in the project.
    limits : Limits, optional
        What counts as black, dark, light; the reference's where missing.
    overrides : mapping of str to float, optional
        The project's own values (`Home.rules`).

    Returns
    -------
    FinishValue
        With a finding for each LRV that does not agree with the colour beside
        it.

    Raises
    ------
    InputError
        A colour is not given in exactly one way, is off its scale, or the
        shares do not make 1.

    Examples
    --------
    >>> stripe = Finish(name="stripe", kind="cloth", patterned=True, colours=(
    ...     Colour(share=0.3, lab=(19.0, 0.0, 0.0)), Colour(share=0.7, lrv=72.0)))
    >>> resolve(stripe).counts_as
    '30 % black, 70 % light, patterned'
    """
    at = limits or Limits.of(overrides)
    own = tuple(sorted(overrides.items())) if overrides else ()
    try:
        return _kept(finish, id, at, own)
    except TypeError:  # a list where a tuple belongs: made anew each time
        return _resolved(finish, id, at, own)


def _resolved(
    finish: Finish, id: str, at: Limits, own: tuple[tuple[str, float], ...]
) -> FinishValue:
    overrides = dict(own)
    what = f"finish {id or finish.name}"
    if not finish.colours:
        raise InputError(what, given="no colour", allowed="one or more", mend="give it a guess")
    total = sum(c.share for c in finish.colours)
    if not all(np.isfinite(c.share) and c.share > 0 for c in finish.colours) or not (
        abs(total - 1) <= 0.005
    ):
        raise InputError(
            f"{what}, shares",
            given=" + ".join(f"{c.share:g}" for c in finish.colours),
            allowed="each over 0, together 1",
            mend="give each colour its share of the area",
        )
    if not 0 <= finish.transmittance <= 1:
        raise InputError(f"{what}, transmittance", given=finish.transmittance, allowed="0 to 1")
    values = [
        dataclasses.replace(
            resolve_colour(
                c,
                source=finish.known.source,
                what=f"{what}, colour {n}" if len(finish.colours) > 1 else what,
                overrides=overrides,
            ),
            share=c.share / total,
        )
        for n, c in enumerate(finish.colours, start=1)
    ]
    marks = classify([c.lightness for c in values], [c.chroma for c in values], limits=at)
    part = np.array([c.share for c in values])
    shares = {name: float(part @ mark) for name, mark in marks.items()}
    shares["warm"] = float(finish.warm)
    shares["patterned"] = float(finish.patterned)
    return FinishValue(
        id=id,
        name=finish.name,
        kind=finish.kind,
        colours=tuple(values),
        sheen=finish.sheen or "",
        warm=finish.warm,
        patterned=finish.patterned,
        transmittance=finish.transmittance,
        known=_known(finish, [c.way for c in values], max(c.within for c in values)),
        limits=at,
        shares=shares,
        counts_as=_counts_as(shares, finish.warm, finish.patterned),
        findings=_lrv_findings(id, finish, values, overrides),
        source=finish.known.source,
        texture=finish.texture.strip(),
        spectrum=finish.spectrum,
    )


_kept = functools.lru_cache(maxsize=512)(_resolved)


def resolve_all(
    finishes: Mapping[str, Finish],
    *,
    limits: Limits | None = None,
    overrides: Mapping[str, float] | None = None,
) -> dict[str, FinishValue]:
    """Every finish of a project in numbers.

    Parameters
    ----------
    finishes : mapping of str to Finish
        `Home.finishes`.
    limits : Limits, optional
        What counts as black, dark, light.
    overrides : mapping of str to float, optional
        The project's own values (`Home.rules`).

    Returns
    -------
    dict of str to FinishValue
        In the same order.

    Raises
    ------
    InputError
        One of them cannot be read; the message names it.
    """
    return {
        id: resolve(finish, id=id, limits=limits, overrides=overrides)
        for id, finish in finishes.items()
    }


def find(finishes: Mapping[str, FinishValue], id: str) -> FinishValue:
    """A finish by its id.

    Parameters
    ----------
    finishes : mapping of str to FinishValue
        From `resolve_all`.
    id : str
        Its key.

    Returns
    -------
    FinishValue
        The finish.

    Raises
    ------
    LookupFailed
        There is none; the message names the nearest.
    """
    if id not in finishes:
        raise LookupFailed(
            "finish",
            given=id,
            allowed=", ".join(sorted(finishes)) or "none is there yet",
            mend=f"did you mean {nearest(id, finishes)}?" if nearest(id, finishes) else "add it",
        )
    return finishes[id]
