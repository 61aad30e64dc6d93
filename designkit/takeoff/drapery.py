"""Drapery: from a track to widths, cuts, metres of cloth and weight.

Widths are counted across the drapery, cuts down it. Both roundings of the
number of widths are shown with the fullness that each gives, because the maker
and the client decide between them, not the calculator.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from designkit.errors import InputError
from designkit.reference import value
from designkit.takeoff.lines import (
    FOOT,
    System,
    length_text,
    mass_text,
    positive,
    run_text,
    share_of,
    whole,
)

__all__ = [
    "Drapery",
    "Heading",
    "LayerQuantity",
    "Widths",
    "cut_length",
    "drapery",
    "finished_drop",
    "fullness_band",
    "widths_needed",
]

Heading = Literal["wave", "pinch", "pencil", "eyelet", "tab", "sheer"]
HemStyle = Literal["clear", "kissing", "break", "puddle"]
Way = Literal["upright", "railroaded"]


@dataclass(frozen=True, kw_only=True)
class Widths:
    """One whole number of widths and the fullness that it gives."""

    widths: int
    fullness: float  # [1]
    within: bool  # the heading's band, rule P10
    seams: int


@dataclass(frozen=True, kw_only=True, eq=False)
class LayerQuantity:
    """Cloth for one layer: face, lining or interlining."""

    name: str
    way: Way
    cloth_width: float  # [m]
    flat_width: float  # all panels before gathering, hems in [m]
    cut: float  # one cut, whole repeats [m]
    cuts: int
    order: float  # [m] of the roll, rounded to the step
    net: float  # [m] of the roll that hangs, hems and rounding not counted
    area: float  # of cloth that hangs, hems in [m²]
    mass: float  # [kg]
    up: Widths | None  # None: railroaded, the fullness is met exactly
    down: Widths | None
    fullness: float  # [1]
    why: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class Drapery:
    """Everything to order for the drapery of one track."""

    track: float  # [m]
    heading: Heading
    drop: float  # finished [m]
    panels: int
    face: LayerQuantity
    lining: LayerQuantity | None
    interlining: LayerQuantity | None
    mass: float  # [kg] of all layers
    mass_per_metre: float  # of track [kg/m]
    why: tuple[str, ...]
    rules: tuple[str, ...]
    cautions: tuple[str, ...]


def _choice(what: str, given: str, allowed: tuple[str, ...]) -> None:
    if given not in allowed:
        raise InputError(what, given=given, allowed=", ".join(allowed), mend="use one of these")


def _per_length(mass: float, system: System) -> str:
    """What hangs on a metre or a foot of track."""
    if system == "US":
        return f"{mass_text(mass * FOOT, system)} a foot"
    return f"{mass_text(mass, system)} a metre"


def fullness_band(
    heading: Heading, *, overrides: Mapping[str, float] | None = None
) -> tuple[float, float]:
    """Least and greatest usual fullness of a heading.

    Parameters
    ----------
    heading : {"wave", "pinch", "pencil", "eyelet", "tab", "sheer"}
        How the top is made.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    tuple of float
        Flat width over track length.

    Raises
    ------
    InputError
        Unknown heading.

    Examples
    --------
    >>> fullness_band("wave")
    (1.8, 2.2)
    """
    _choice("heading", heading, get_args(Heading))
    base = f"takeoff.drapery.fullness.{heading}"
    return value(f"{base}.low", overrides), value(f"{base}.high", overrides)


def finished_drop(
    height: float,
    *,
    hem: HemStyle = "clear",
    top_allowance: float = 0.0,
    overrides: Mapping[str, float] | None = None,
) -> float:
    """Finished length from the track or rod to the hem.

    Parameters
    ----------
    height : float
        Track or rod above the finished floor. [m]
    hem : {"clear", "kissing", "break", "puddle"}, optional
        How it meets the floor.
    top_allowance : float, optional
        From the measuring line down to the top of the cloth. [m]
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    float
        Finished drop. [m]

    Raises
    ------
    InputError
        Unknown hem, or nothing is left of the drop.

    Examples
    --------
    >>> round(finished_drop(2.6, hem="puddle"), 3)
    2.75
    """
    _choice("hem", hem, get_args(HemStyle))
    below = value(f"takeoff.drapery.hem.{hem}", overrides)
    drop = positive("height of the track", height) - top_allowance + below
    return positive("finished drop", drop, mend="check the height of the track")


def cut_length(
    finished: float,
    *,
    allowance: float,
    shrinkage: float = 0.0,
    repeat: float = 0.0,
    long_repeat: bool = False,
) -> float:
    r"""Length of one cut: hems and heading, shrinkage, then whole repeats.

    .. math:: c = R \lceil \frac{(d + a) / (1 - s)}{R} \rceil

    Parameters
    ----------
    finished : float
        Finished drop d. [m]
    allowance : float
        Hem and heading a. [m]
    shrinkage : float, optional
        Share s of its length that the cloth loses when it is washed.
    repeat : float, optional
        Pattern repeat R along the roll; 0: none. [m]
    long_repeat : bool, optional
        True: a repeat longer than the drop is meant (a printed panel).

    Returns
    -------
    float
        Cut length. [m]

    Raises
    ------
    InputError
        A length is not above zero, the shrinkage is not a share, or the repeat
        is longer than the drop and that is not meant.

    Examples
    --------
    >>> round(cut_length(100, allowance=16, repeat=25))
    125
    """
    positive("finished drop", finished)
    positive("hem and heading", allowance, zero=True)
    positive("repeat", repeat, zero=True)
    length = (finished + allowance) / (1.0 - share_of("shrinkage", shrinkage, below=0.5))
    if repeat == 0:
        return length
    if repeat > length and not long_repeat:
        raise InputError(
            "repeat",
            given=f"{repeat:g} m",
            allowed=f"at most the cut drop, {length:.3f} m",
            mend="check the unit of the repeat; a printed panel is ordered by the panel",
        )
    return whole(length / repeat) * repeat


def widths_needed(flat: float, *, cloth_width: float, panels: int = 1, seam: float = 0.0) -> float:
    """Widths of cloth, not rounded, that joined give a flat width.

    Parameters
    ----------
    flat : float
        All panels side by side before gathering. [m]
    cloth_width : float
        Usable width of the cloth. [m]
    panels : int, optional
        Panels that are not joined to each other.
    seam : float, optional
        Cloth that one seam takes. [m]

    Returns
    -------
    float
        From n·w = flat + (n − panels)·seam.

    Raises
    ------
    InputError
        The cloth is not wider than a seam.

    Examples
    --------
    >>> round(widths_needed(225, cloth_width=54), 2)
    4.17
    """
    positive("flat width", flat)
    positive("cloth width", cloth_width, mend="take the usable width from the cloth's label")
    positive("seam allowance", seam, zero=True)
    if seam >= cloth_width:
        raise InputError(
            "seam allowance",
            given=f"{seam:g} m",
            allowed=f"less than the cloth, {cloth_width:g} m",
            mend="check the unit",
        )
    if flat <= panels * cloth_width:
        return flat / cloth_width
    return (flat - panels * seam) / (cloth_width - seam)


def _flat_of(count: int, *, cloth_width: float, panels: int, seam: float) -> tuple[float, int]:
    """Flat width that a number of widths gives, and its seams."""
    # An odd width in a pair is split: each half is sewn on, one piece more.
    pieces = count + (1 if panels == 2 and count % 2 and count > panels else 0)
    seams = max(0, pieces - panels)
    return count * cloth_width - seams * seam, seams


def _widths(
    count: int,
    *,
    cloth_width: float,
    panels: int,
    seam: float,
    fixed: float,
    gathered: float,
    band: tuple[float, float],
) -> Widths:
    flat, seams = _flat_of(count, cloth_width=cloth_width, panels=panels, seam=seam)
    fullness = (flat - fixed) / gathered
    low, high = band
    return Widths(
        widths=count,
        fullness=fullness,
        within=low - 1e-9 <= fullness <= high + 1e-9,
        seams=seams,
    )


def _layer(
    name: str,
    *,
    flat: float,
    fixed: float,
    gathered: float,
    fullness: float,
    panels: int,
    finished: float,
    allowance: float,
    cloth_width: float,
    seam: float,
    repeat: float,
    shrinkage: float,
    long_repeat: bool,
    way: Way | None,
    join: bool,
    rounding: Literal["up", "down"] | None,
    band: tuple[float, float],
    mass_per_area: float,
    step: float,
    system: System,
) -> LayerQuantity:
    """Cloth of one layer; `fixed` is not gathered, `gathered` is."""
    positive(
        f"{name} width",
        cloth_width,
        mend="take the usable width between the selvedges from the cloth's label",
    )
    drop = (finished + allowance) / (1.0 - share_of("shrinkage", shrinkage, below=0.5))

    def say(x: float) -> str:
        return length_text(x, system)

    why: list[str] = []
    shrunk = f" / (1 − {shrinkage:.0%} shrinkage)" if shrinkage else ""
    cut_words = f"cut: {say(finished)} + {say(allowance)} hem and heading{shrunk} = {say(drop)}"
    if way is None:
        # Cloth woven wide enough for the drop is sold to be turned; a pattern
        # would then lie on its side, so a repeat keeps it upright.
        way = "railroaded" if cloth_width >= drop - 1e-9 and repeat == 0 else "upright"
    if way == "railroaded":
        if cloth_width < drop - 1e-9:
            raise InputError(
                f"{name} width, railroaded",
                given=f"{cloth_width:g} m",
                allowed=f"the cut drop or more, {drop:.3f} m",
                mend="hang it upright, or take a wider cloth: a turned cloth has no join",
            )
        per_panel = flat / panels / (1.0 - shrinkage)
        if repeat:
            per_panel = whole(per_panel / repeat) * repeat
        total = per_panel * panels
        order = whole(total / step) * step
        why += [
            cut_words + f", lies across the {say(cloth_width)} cloth, no seams",
            f"{panels} × {say(per_panel)} along the roll = {run_text(total, system)}"
            + (f", whole repeats of {say(repeat)}" if repeat else ""),
            f"order {run_text(order, system)}",
        ]
        return LayerQuantity(
            name=name,
            way=way,
            cloth_width=cloth_width,
            flat_width=flat,
            cut=per_panel,
            cuts=panels,
            order=order,
            net=gathered * fullness,
            area=total * drop,
            mass=total * drop * mass_per_area,
            up=None,
            down=None,
            fullness=fullness,
            why=tuple(why),
        )

    count = widths_needed(flat, cloth_width=cloth_width, panels=panels, seam=seam)
    upper = max(1, whole(count))
    if not join and count > panels + 1e-9:
        raise InputError(
            f"{name} width",
            given=f"{cloth_width:g} m",
            allowed=f"{flat / panels:.3f} m or more for a panel without a join",
            mend="allow joined widths, turn a wide cloth, or lower the fullness",
        )
    facts = {
        "cloth_width": cloth_width,
        "panels": panels,
        "seam": seam,
        "fixed": fixed,
        "gathered": gathered,
    }
    while _flat_of(upper, cloth_width=cloth_width, panels=panels, seam=seam)[0] < flat - 1e-9:
        upper += 1
    exact = _flat_of(upper, cloth_width=cloth_width, panels=panels, seam=seam)[0] <= flat + 1e-9
    lower = max(1, upper if exact else upper - 1)
    up = _widths(upper, band=band, **facts)  # type: ignore[arg-type]
    down = _widths(lower, band=band, **facts)  # type: ignore[arg-type]
    if rounding is None:
        rounding = "down" if down.within and not up.within else "up"
    chosen = up if rounding == "up" else down
    if chosen.fullness < 1.0:
        raise InputError(
            "rounding",
            given=rounding,
            allowed="up",
            mend=f"{chosen.widths} widths do not even cover the track flat",
        )
    cut = cut_length(
        finished,
        allowance=allowance,
        shrinkage=shrinkage,
        repeat=repeat,
        long_repeat=long_repeat,
    )
    total = chosen.widths * cut
    order = whole(total / step) * step
    seams = f", {chosen.seams} seams of {say(seam)}" if chosen.seams and seam else ""
    why.append(
        f"widths: {say(flat)} flat on {say(cloth_width)} cloth{seams} = {count:.2f}; "
        f"{up.widths} widths give fullness {up.fullness:.2f}, "
        f"{down.widths} give {down.fullness:.2f}; {chosen.widths} taken, "
        f"{band[0]:g} to {band[1]:g} is usual"
    )
    if panels == 2 and chosen.widths % 2:
        why.append(f"each panel of the pair has {chosen.widths / 2:g} widths, the half outside")
    why.append(cut_words)
    if repeat:
        why.append(
            f"{say(drop)} / {say(repeat)} repeat = {drop / repeat:.2f}: "
            f"{whole(drop / repeat)} repeats = {say(cut)}, {say(cut - drop)} lost a cut"
        )
    why.append(
        f"{chosen.widths} × {say(cut)} = {run_text(total, system)}; order {run_text(order, system)}"
    )
    area = chosen.widths * cloth_width * drop
    return LayerQuantity(
        name=name,
        way=way,
        cloth_width=cloth_width,
        flat_width=flat,
        cut=cut,
        cuts=chosen.widths,
        order=order,
        # The finished flat panel, as metres of this cloth.
        net=gathered * chosen.fullness * finished / cloth_width,
        area=area,
        mass=area * mass_per_area,
        up=up,
        down=down,
        fullness=chosen.fullness,
        why=tuple(why),
    )


def drapery(
    track: float,
    *,
    drop: float,
    cloth_width: float,
    heading: Heading = "wave",
    fullness: float | None = None,
    draw: Literal["pair", "left", "right"] = "pair",
    returns: float | None = None,
    overlap: float | None = None,
    gathered_returns: bool = False,
    side_hem: float | None = None,
    hem: float | None = None,
    header: float | None = None,
    seam: float | None = None,
    repeat: float = 0.0,
    long_repeat: bool = False,
    shrinkage: float | None = None,
    way: Way | None = None,
    join: bool = True,
    rounding: Literal["up", "down"] | None = None,
    lined: bool = False,
    lining_width: float | None = None,
    interlined: bool = False,
    mass_per_area: float | None = None,
    step: float | None = None,
    system: System = "metric",
    overrides: Mapping[str, float] | None = None,
) -> Drapery:
    """Drapery to order for one track or rod.

    Parameters
    ----------
    track : float
        Length of the track or rod. [m]
    drop : float
        Finished drop (`finished_drop`). [m]
    cloth_width : float
        Usable width between the selvedges. [m]
    heading : {"wave", "pinch", "pencil", "eyelet", "tab", "sheer"}, optional
        How the top is made.
    fullness : float, optional
        Flat width over track; by default the middle of the heading's band. [1]
    draw : {"pair", "left", "right"}, optional
        Two panels, or one that is drawn to one side.
    returns : float, optional
        Both returns together; by default twice `takeoff.drapery.return`. [m]
    overlap : float, optional
        Where a pair meets; by default `takeoff.drapery.overlap`, none for one
        panel. [m]
    gathered_returns : bool, optional
        True: returns and overlap are gathered as the rest.
    side_hem : float, optional
        One side hem; by default `takeoff.drapery.side_hem`. [m]
    hem, header : float, optional
        Cloth for the lower hem and the heading; by default
        `takeoff.drapery.hem_allowance` (`…_sheer`) and
        `takeoff.drapery.header_allowance`. [m]
    seam : float, optional
        Cloth that a seam takes; by default `takeoff.drapery.seam`. [m]
    repeat : float, optional
        Pattern repeat along the roll. [m]
    long_repeat : bool, optional
        True: a repeat longer than the drop is meant.
    shrinkage : float, optional
        Share of length lost in washing; by default `takeoff.drapery.shrinkage`.
    way : {"upright", "railroaded"}, optional
        By default a plain cloth that is wide enough for the drop is turned.
    join : bool, optional
        False: no panel may have a seam.
    rounding : {"up", "down"}, optional
        Which whole number of widths is ordered; by default up, unless only
        down lies in the heading's band.
    lined : bool, optional
        True: with a lining, shorter by `takeoff.drapery.lining_short`.
    lining_width : float, optional
        By default `takeoff.drapery.lining_width`. [m]
    interlined : bool, optional
        True: with an interlining of the lining's width.
    mass_per_area : float, optional
        Of the face cloth; by default `takeoff.drapery.mass.face`. [kg/m²]
    step : float, optional
        Cloth is sold in steps of this; by default 0.1 m
        (`takeoff.drapery.step`) or a quarter yard. [m]
    system : {"metric", "US"}, optional
        For the words of the reasons and the step.
    overrides : mapping of str to float, optional
        The project's own values (`Home.rules`).

    Returns
    -------
    Drapery
        Face, lining, interlining, weight, reasons and cautions.

    Raises
    ------
    InputError
        A word or number is outside what is allowed; a turned cloth is too
        narrow; a panel needs a join that is not allowed.

    Examples
    --------
    >>> d = drapery(3.0, drop=2.5, cloth_width=1.4)
    >>> d.face.up.widths, d.face.down.widths
    (5, 4)
    """
    positive("track", track)
    positive("drop", drop)
    low, high = fullness_band(heading, overrides=overrides)
    _choice("draw", draw, ("pair", "left", "right"))
    if rounding is not None:
        _choice("rounding", rounding, ("up", "down"))
    if way is not None:
        _choice("way of the cloth", way, get_args(Way))
    full = (low + high) / 2 if fullness is None else positive("fullness", fullness, unit="")
    if full < 1.0:
        raise InputError(
            "fullness",
            given=full,
            allowed=f"1 or more; {low:g} to {high:g} is usual for this heading",
            mend="fullness is flat width over track length",
        )

    def rule(id: str, given: float | None) -> float:
        number = value(f"takeoff.drapery.{id}", overrides) if given is None else given
        return positive(id.replace("_", " "), number, zero=True)

    panels = 2 if draw == "pair" else 1
    back = 2 * rule("return", None) if returns is None else positive("returns", returns, zero=True)
    lap = rule("overlap", overlap) if panels == 2 else (overlap or 0.0)
    side = rule("side_hem", side_hem)
    hem_id = "hem_allowance_sheer" if heading == "sheer" else "hem_allowance"
    ends = rule(hem_id, hem) + rule("header_allowance", header)
    joined = rule("seam", seam)
    shrink = value("takeoff.drapery.shrinkage", overrides) if shrinkage is None else shrinkage
    sold = step
    if sold is None:
        sold = value(
            "takeoff.drapery.step.US" if system == "US" else "takeoff.drapery.step", overrides
        )
    positive("step", sold)

    gathered = track + (back + lap if gathered_returns else 0.0)
    fixed = 2 * panels * side + (0.0 if gathered_returns else back + lap)
    flat = gathered * full + fixed

    def say(x: float) -> str:
        return length_text(x, system)

    gathered_words = (
        f"({say(track)} track + {say(back)} returns + {say(lap)} overlap)"
        if gathered_returns
        else f"{say(track)} track"
    )
    fixed_words = "" if gathered_returns else f" + {say(back)} returns + {say(lap)} overlap"
    why = [
        f"flat: {gathered_words} × {full:g} fullness{fixed_words}"
        f" + {2 * panels} side hems of {say(side)} = {say(flat)}"
    ]
    common = {
        "flat": flat,
        "fixed": fixed,
        "gathered": gathered,
        "fullness": full,
        "panels": panels,
        "seam": joined,
        "join": join,
        "rounding": rounding,
        "band": (low, high),
        "step": sold,
        "system": system,
    }
    face = _layer(
        "cloth",
        finished=drop,
        allowance=ends,
        cloth_width=cloth_width,
        repeat=repeat,
        shrinkage=shrink,
        long_repeat=long_repeat,
        way=way,
        mass_per_area=rule("mass.face", mass_per_area),
        **common,  # type: ignore[arg-type]
    )
    second: dict[str, LayerQuantity] = {}
    for name, wanted in (("lining", lined), ("interlining", interlined)):
        if wanted:
            second[name] = _layer(
                name,
                finished=drop - rule("lining_short", None),
                # The interlining is laid in flat: it has no hem of its own.
                allowance=rule("lining_hem", None) if name == "lining" else 0.0,
                cloth_width=rule("lining_width", lining_width),
                repeat=0.0,
                shrinkage=shrink,
                long_repeat=False,
                way=None,
                mass_per_area=rule(f"mass.{name}", None),
                **common,  # type: ignore[arg-type]
            )
    mass = face.mass + sum(layer.mass for layer in second.values())
    for layer in (face, *second.values()):
        why += [f"{layer.name}, {line}" for line in layer.why]
    why.append(
        f"weight about {mass_text(mass, system)}, {_per_length(mass / track, system)} of track, "
        "runners and track not counted"
    )
    if face.up and face.down and not face.up.within and not face.down.within:
        why.append(f"neither rounding lies in the usual band {low:g} to {high:g}")
    cautions = [
        "Order after the final measure: left, centre and right, floor and track in place.",
        "Cords out of reach of children; the place's fire rules for drapery; "
        "keep sprinkler heads and detectors clear.",
        f"Fixings for {mass_text(mass, system)} and a pull: a licensed fixer chooses them for "
        "slab, board or steel studs.",
    ]
    if repeat:
        cautions.append("One dye lot; have the repeat measured on the delivered roll.")
    return Drapery(
        track=track,
        heading=heading,
        drop=drop,
        panels=panels,
        face=face,
        lining=second.get("lining"),
        interlining=second.get("interlining"),
        mass=mass,
        mass_per_metre=mass / track,
        why=tuple(why),
        rules=(
            f"takeoff.drapery.fullness.{heading}.low",
            f"takeoff.drapery.fullness.{heading}.high",
            "takeoff.drapery.return",
            "takeoff.drapery.overlap",
            "takeoff.drapery.side_hem",
            f"takeoff.drapery.{hem_id}",
            "takeoff.drapery.header_allowance",
            "takeoff.drapery.seam",
            "takeoff.drapery.shrinkage",
            "takeoff.drapery.mass.face",
        ),
        cautions=tuple(cautions),
    )
