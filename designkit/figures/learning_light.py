"""Small drawings that explain rules of light, colour, cloth and prices."""

from __future__ import annotations

import math

from scipy.integrate import quad
from scipy.optimize import brentq

from designkit.figures import ink
from designkit.figures.drawing import Circle, Drawing, Hatch, Line, Polygon
from designkit.figures.learning_parts import Stage
from designkit.lighting.lumen_method import cavity_ratio
from designkit.palette.colour import lrv_to_lightness
from designkit.reference import value
from designkit.units import IMPERIAL

__all__ = [
    "cavity_of_a_room",
    "cloth_fullness",
    "lightness_ladder",
    "pendant_over_table",
    "price_ranges",
    "reflectance_difference",
]

FOOT = 0.3048  # examples are in whole feet where the person measures in feet [m]


def pendant_over_table(units: str, rule: str) -> Drawing:
    """How high a pendant hangs over a table, and where the eyes are.

    Parameters
    ----------
    units : str
        Of the dimensions.
    rule : str
        Id of the rule that is asked about.

    Returns
    -------
    Drawing
        An elevation of a table, two chairs and a pendant.
    """
    stage = Stage(height=124.0, units=units, rule=rule, scale=25, origin=(100.0, 16.0))
    ceiling = value("light.pendant.ceiling")
    low, high = value("light.pendant.low"), value("light.pendant.high")
    seat, top = (1.5 * FOOT, 2.4375 * FOOT) if units in IMPERIAL else (0.45, 0.74)
    eye = seat + value("plan.height.eye_above_seat")
    half, reach = 0.8, 1.6
    stage.line((-reach, 0), (reach, 0), weight=0.7)
    stage.wall(-reach, ceiling, reach, ceiling + 0.04)
    # table and two chairs, seen from the side
    stage.box(-half, top - 0.04, half, top, fill=ink.PAPER)
    for side in (-1, 1):
        x = side * (half - 0.1)
        stage.line((x, 0), (x, top - 0.04), weight=0.3)
        near, back = side * (half - 0.05), side * (half + 0.4)
        stage.line((near, 0), (near, seat), (back, seat), (back, 0), weight=0.3)
        stage.line((back, seat), (back + side * 0.05, 0.82), weight=0.3)
        head = (side * (half + 0.2), eye)
        body = [
            (head[0] + dx, y)
            for dx, y in ((-0.11, seat), (-0.11, 1.06), (0.11, 1.06), (0.11, seat))
        ]
        stage.line(*body, weight=0.18, colour=ink.GREY_1)
        stage.items.append(
            Circle(
                centre=stage.at(*head),
                radius=0.1 * stage.k,
                weight=0.25,
                ink=ink.GREY_1,
                fill=ink.PAPER,
            )
        )
    stage.line((-half - 0.1, eye), (half + 0.1, eye), dash=ink.DASH_SIGHT)
    x, y = stage.at(0.0, eye)
    stage.words((x, y + 0.9), "from eye to eye", size=ink.NAME, halo=0.6)

    def shade(under: float, *, dash: tuple[float, ...]) -> None:
        wide, tall = 0.27, 0.24
        ring = (
            stage.at(-wide, top + under),
            stage.at(wide, top + under),
            stage.at(wide * 0.45, top + under + tall),
            stage.at(-wide * 0.45, top + under + tall),
        )
        fill = "" if dash else ink.PAPER
        stage.items.append(
            Polygon(outline=ring, weight=0.3 if not dash else 0.18, fill=fill, dash=dash)
        )

    stage.line((0, ceiling), (0, top + low + 0.24), weight=0.18)
    shade(low, dash=())
    shade(high, dash=ink.DASH_ZONE)
    for n, (id, up) in enumerate((("low", low), ("high", high))):
        x = 0.42 + 0.2 * n
        stage.dim((x, top), (x, top + up), rule=f"light.pendant.{id}")
        stage.line((0.2, top + up), (x + 0.05, top + up), weight=0.13)
    stage.dim((-0.55, 0), (-0.55, top))
    left = -half - 0.62
    stage.dim((left, 0), (left, seat))
    stage.dim((left, seat), (left, eye), rule="plan.height.eye_above_seat")
    stage.dim((reach - 0.12, 0), (reach - 0.12, ceiling), rule="light.pendant.ceiling")
    for y in (seat, eye):
        stage.line((left - 0.05, y), (-half - 0.32, y), weight=0.13)
    return stage.drawing(
        "How high does a pendant hang over the table?",
        f"Elevation: the underside of the pendant hangs {stage.say(low)} to {stage.say(high)} "
        f"above the table under a ceiling of {stage.say(ceiling)}, above the line from eye to eye.",
        notes=("Higher by the rule's rise where the ceiling is higher.",),
    )


def cavity_of_a_room(units: str, rule: str) -> Drawing:
    """Why the same lamp gives less light in a small high room.

    Parameters
    ----------
    units : str
        Of the dimensions.
    rule : str
        Id of the rule that is asked about.

    Returns
    -------
    Drawing
        Sections of a living room and a hall with their room cavities.
    """
    stage = Stage(height=92.0, units=units, rule=rule, scale=50, origin=(16.0, 26.0))
    plane = value("light.plane.general")
    feet = units in IMPERIAL
    height, drop = (8.5 * FOOT, 1.5 * FOOT) if feet else (2.6, 0.45)
    large, small = ((16 * FOOT, 13 * FOOT), (6 * FOOT, 5 * FOOT)) if feet else ((5, 4), (1.9, 1.6))
    rooms = ((*large, 0.0), (*small, 6.1))
    ratios = []
    for long, wide, x0 in rooms:
        x1, lamp = x0 + long, height - drop
        cavity = lamp - plane
        ratio = cavity_ratio(cavity, length=long, width=wide)
        ratios.append(ratio)
        outer = [(x0 - 0.1, -0.12), (x1 + 0.1, -0.12), (x1 + 0.1, height + 0.12)]
        outer.append((x0 - 0.1, height + 0.12))
        inner = [(x0, 0.0), (x1, 0.0), (x1, height), (x0, height)]
        stage.items.append(
            Polygon(
                outline=tuple(stage.at(*p) for p in outer),
                holes=(tuple(stage.at(*p) for p in inner),),
                fill=ink.CUT_FILL,
                weight=0.5,
            )
        )
        for side, x in ((1, x0), (-1, x1)):
            strip = tuple(
                stage.at(x + side * dx, y)
                for dx, y in ((0, plane), (0.14, plane), (0.14, lamp), (0, lamp))
            )
            stage.items.append(
                Hatch(outline=strip, angle=45, spacing=1.0, weight=0.13, ink=ink.GREY_1)
            )
        stage.line((x0, lamp), (x1, lamp), dash=ink.DASH_ZONE)
        stage.line((x0, plane), (x1, plane), dash=ink.DASH_ZONE)
        middle = (x0 + x1) / 2
        stage.line((middle, height), (middle, lamp), weight=0.18)
        stage.items.append(
            Circle(centre=stage.at(middle, lamp), radius=1.7, weight=0.3, fill=ink.PAPER)
        )
        stage.dim((x0 + 0.36, plane), (x0 + 0.36, lamp), length=cavity)
        stage.dim((x0 + 0.36, 0), (x0 + 0.36, plane), rule="light.plane.general")
        px, py = stage.at(middle, 0)
        size = f"{stage.say(long)} × {stage.say(wide)}"
        stage.words((px, py - 7.4), f"{size}: room cavity ratio {ratio:.1f}")
    px, py = stage.at(2.75, (plane + height - drop) / 2)
    stage.words((px, py), "room cavity", size=ink.NAME, halo=0.6)
    px, py = stage.at(3.3, height - drop / 2 - 0.05)
    stage.words((px, py), "ceiling cavity", size=ink.NAME)
    px, py = stage.at(2.75, plane / 2)
    stage.words((px, py), "floor cavity", size=ink.NAME)
    return stage.drawing(
        "Why does a small room need more lumens a square metre?",
        f"Two rooms of one height in section. Their room cavity ratios are {ratios[0]:.1f} and "
        f"{ratios[1]:.1f}: in the small one more of the light falls on the walls.",
        notes=(
            "Hatched: wall that takes light before it reaches the plane. "
            "Ratio: 5 h (L + W) / (L W).",
        ),
    )


def _waves(ratio: float, *, length: float, folds: int) -> float:
    """Depth of sine folds whose cloth is `ratio` times as long as what they cover."""
    period = length / folds

    def cloth(depth: float) -> float:
        slope = 2 * math.pi * depth / period
        part, _ = quad(lambda t: math.hypot(1.0, slope * math.cos(t)), 0.0, math.tau)
        return part / math.tau - ratio

    return float(brentq(cloth, 0.0, ratio * period))


def cloth_fullness(units: str, rule: str) -> Drawing:
    """What fullness means: flat cloth over the width that it covers.

    Parameters
    ----------
    units : str
        Of the dimensions.
    rule : str
        Id of the rule that is asked about.

    Returns
    -------
    Drawing
        Folds from above, and the flat cloth under each, at one scale.
    """
    stage = Stage(height=108.0, units=units, rule=rule, scale=20, origin=(12.0, 16.0))
    covers = 3 * FOOT if units in IMPERIAL else 1.0
    rows = (
        ("tab.low", "tab heading, least"),
        ("wave.high", "wave heading, most"),
        ("sheer.high", "sheer cloth, most"),
    )
    pitch = 28.0 / stage.k
    for n, (id, words) in enumerate(rows):
        full = value(f"plan.drapery.fullness.{id}")
        y = (len(rows) - 1 - n) * pitch + 0.36
        depth = _waves(full, length=covers, folds=8)
        steps = 8 * 24
        wave = [
            (covers * i / steps, y + depth * math.sin(math.tau * 8 * i / steps))
            for i in range(steps + 1)
        ]
        stage.line(*wave, weight=0.5)
        flat = y - 0.2
        stage.box(0.0, flat - 0.03, covers * full, flat, fill=ink.GREY_5, weight=0.25)
        stage.line((covers, y + 0.08), (covers, flat - 0.06), weight=0.13, dash=ink.DASH_ZONE)
        asked = f"plan.drapery.fullness.{id}"
        if rule == f"takeoff.drapery.fullness.{id}":
            asked = rule
        px, py = stage.at(covers, y)
        stage.words((px + 4, py - 0.8), f"{words}: {full:g}", rule=asked, anchor="start")
        px, py = stage.at(0.0, flat - 0.03)
        stage.words(
            (px, py - 3.4),
            f"{stage.say(covers * full)} of cloth for {stage.say(covers)} covered",
            anchor="start",
            size=ink.NAME,
            grey=True,
        )
    return stage.drawing(
        "What is fullness?",
        "Three headings seen from above, with the flat cloth that each takes: "
        + ", ".join(f"{w} {value(f'plan.drapery.fullness.{id}'):g}" for id, w in rows)
        + " times the width covered.",
        notes=("The folds are drawn as sine waves of the true length of cloth.",),
    )


def reflectance_difference(units: str, rule: str) -> Drawing:
    """What a difference of light reflectance value looks like.

    Parameters
    ----------
    units : str
        Not used: nothing here is a length.
    rule : str
        Id of the rule that is asked about.

    Returns
    -------
    Drawing
        Pairs of greys in their true values.
    """
    stage = Stage(height=74.0, units=units, rule=rule)
    strong, one = value("palette.edge.strong"), value("palette.edge.one")
    adequate, lit = value("palette.contrast.lrv"), value("palette.contrast.lrv.lit")
    pairs = (
        (10.0, 10.0 + adequate, "adequate contrast", "palette.contrast.lrv"),
        (10.0, 10.0 + lit, "may do if large or well lit", "palette.contrast.lrv.lit"),
        (55.0, 55.0 + adequate, "the same, between light tones", "palette.contrast.lrv"),
        (10.0, 14.0, "", "palette.edge.one"),
    )
    wide, tall, step, left = 21.0, 30.0, 48.0, 6.0
    for n, (dark, light, words, id) in enumerate(pairs):
        x = left + n * step
        tones = [float(lrv_to_lightness(v)) for v in (dark, light)]
        apart = tones[1] - tones[0]
        for side, (lrv, tone) in enumerate(zip((dark, light), tones)):
            x0 = x + side * wide
            ring = ((x0, 32.0), (x0 + wide, 32.0), (x0 + wide, 32.0 + tall), (x0, 32.0 + tall))
            stage.items.append(Polygon(outline=ring, fill=ink.grey_of(tone)))
            stage.words((x0 + wide / 2, 32.0 + tall + 2.4), f"LRV {lrv:g}", size=ink.NAME)
        if not words:
            words = "reads as one" if apart <= one else "an edge"
        stage.words((x, 26.0), f"ΔLRV {light - dark:g}", rule=id, anchor="start")
        edge = "strong" if apart >= strong else "reads as one" if apart <= one else "clear"
        stage.words((x, 21.4), f"ΔL* {apart:.0f}, edge: {edge}", anchor="start", size=ink.NAME)
        if words != edge:
            stage.words((x, 17.2), words, anchor="start", size=ink.NAME, grey=True)
    return stage.drawing(
        "How far apart must two tones be?",
        f"Four pairs of greys. A difference of {adequate:g} LRV is adequate contrast; the same "
        "difference is a weaker edge between light tones than between dark ones.",
        notes=(
            "LRV counts light, L* counts what the eye makes of it: the same ΔLRV is a weaker edge "
            "between light tones.",
        ),
    )


def lightness_ladder(units: str, rule: str) -> Drawing:
    """Where black, dark and light begin on the scale of lightness.

    Parameters
    ----------
    units : str
        Not used: nothing here is a length.
    rule : str
        Id of the rule that is asked about.

    Returns
    -------
    Drawing
        The scale of lightness in its true greys.
    """
    stage = Stage(height=70.0, units=units, rule=rule)
    x0, wide, y0, tall = 10.0, 180.0, 24.0, 26.0

    def x_of(lightness: float) -> float:
        return x0 + wide * lightness / 100

    for step in range(50):
        low, high = 2.0 * step, 2.0 * (step + 1)
        right = x_of(100)  # each lies over the one before it, so that no gap shows
        ring = ((x_of(low), y0), (right, y0), (right, y0 + tall), (x_of(low), y0 + tall))
        stage.items.append(Polygon(outline=ring, fill=ink.grey_of((low + high) / 2)))
    for tick in range(0, 101, 10):
        stage.words((x_of(tick), y0 - 4.4), str(tick), size=ink.NAME)
        stage.items.append(Line(points=((x_of(tick), y0), (x_of(tick), y0 - 1.4)), weight=0.25))
    black, dark, light = (value(f"palette.{id}.lightness") for id in ("black", "dark", "light"))
    marks = (
        ("black", black, f"black: L* up to {black:g}", "end", 12.0),
        ("dark", dark, f"dark: L* under {dark:g}", "start", 5.0),
        ("light", light, f"light: L* over {light:g}", "start", 5.0),
    )
    for id, at, words, anchor, up in marks:
        x, y = x_of(at), y0 + tall
        stage.items.append(Line(points=((x, y0), (x, y + up + 3.0)), weight=0.5, ink=ink.TIMBER))
        shift = -1.6 if anchor == "end" else 1.6
        stage.words((x + shift, y + up), words, rule=f"palette.{id}.lightness", anchor=anchor)
    chroma = value("palette.black.chroma")
    return stage.drawing(
        "Where does black begin?",
        f"The scale of lightness L* from 0 to 100: black up to {black:g}, dark under {dark:g}, "
        f"light over {light:g}.",
        notes=(
            f"Black also wants hardly any colour: C* up to {chroma:g}. All of these are our "
            "judgement.",
        ),
    )


def price_ranges(units: str, rule: str) -> Drawing:
    """How sure a price is, from a guess to a bill.

    Parameters
    ----------
    units : str
        Not used: nothing here is a length.
    rule : str
        Id of the rule that is asked about.

    Returns
    -------
    Drawing
        Bars from the lowest to the highest price round the one that is written.
    """
    stage = Stage(height=74.0, units=units, rule=rule)
    rows = ("guess", "catalogue", "quoted", "ordered", "paid")
    bounds = {id: (value(f"costs.range.{id}.low"), value(f"costs.range.{id}.high")) for id in rows}
    x0, x1 = 44.0, 176.0
    least = min(low for low, _ in bounds.values())
    most = max(high for _, high in bounds.values())

    def x_of(share: float) -> float:
        return x0 + (x1 - x0) * (share - least) / (most - least)

    def percent(share: float) -> str:
        return f"{'−' if share < 0 else '+'}{abs(share) * 100:.0f} %"

    top = 66.0
    stage.items.append(
        Line(points=((x_of(0), 12.0), (x_of(0), top)), weight=0.25, dash=ink.DASH_ZONE)
    )
    stage.words((x_of(0), top + 2.0), "the price as it is written", size=ink.NAME)
    for n, id in enumerate(rows):
        y = 57.0 - 10.4 * n
        low, high = bounds[id]
        stage.words((6.0, y - 1.2), id, rule=f"costs.range.{id}.high", anchor="start")
        if high > low:
            ring = tuple(
                (x_of(v), y + dy) for v, dy in ((low, -2), (high, -2), (high, 2), (low, 2))
            )
            stage.items.append(Polygon(outline=ring, fill=ink.GREY_5, weight=0.3))
        stage.items.append(Line(points=((x_of(0), y - 2.6), (x_of(0), y + 2.6)), weight=0.8))
        for share, side in ((low, "end"), (high, "start")):
            if share:
                shift = -1.6 if side == "end" else 1.6
                stage.words(
                    (x_of(share) + shift, y - 1.0),
                    percent(share),
                    rule=f"costs.range.{id}.{'low' if share == low else 'high'}",
                    anchor=side,
                    size=ink.NAME,
                )
    return stage.drawing(
        "How sure is a price?",
        "Bars round the price that is written: "
        + "; ".join(f"{id} {percent(a)} to {percent(b)}" for id, (a, b) in bounds.items() if a != b)
        + "; paid, as it is.",
        notes=("A chance of staying under the cap is worked out from these.",),
    )
