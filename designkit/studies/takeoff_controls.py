"""The controls of the study "take-off", kind by kind."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from designkit.errors import InputError
from designkit.model import Cutout, Home
from designkit.reference import value
from designkit.studies.words import length_control
from designkit.takeoff.lines import FOOT, GALLON, INCH, length_text, system_of
from designkit.takeoff.rugs import StockRug
from designkit.takeoff.surfaces import wall_name
from designkit.takeoff.wallcovering import ROLLS
from designkit.units import IMPERIAL, read

__all__ = ["controls_for", "cutouts_of", "cutouts_text", "faults_of", "start_values", "stock_of"]

Control = dict[str, Any]


def start_values(home: Home) -> dict[str, Any]:
    """What is tried when the study opens.

    Parameters
    ----------
    home : Home
        Its units choose the goods.

    Returns
    -------
    dict of str to Any
        By control id; those of drapery come from the project.
    """
    us = home.units in IMPERIAL
    roll = ROLLS["US" if us else "metric"]

    def thin(metres: float) -> float:
        return round(metres / INCH * 16) * INCH / 16 if us else metres

    return {
        "way": "best",
        "rounding": "best",
        "lining": "none",
        "shrinkage": value("takeoff.drapery.shrinkage", home.rules),
        "material": "cloth",
        "u_width": 54 * INCH,
        "u_along": 0.0,
        "u_across": 0.0,
        "u_way": "nap along the roll",
        "u_count": 1,
        "u_seats": 1,
        "faults": "",
        "hide": value("takeoff.leather.hide", home.rules),
        "usable": value("takeoff.leather.usable", home.rules),
        "hang": "rolls",
        "w_width": roll.width,
        "w_length": roll.length,
        "w_repeat": 0.0,
        "w_match": "free",
        "w_start": "0",
        "w_first": 0.0,
        "w_spare": int(value("takeoff.wallcovering.spare", home.rules)),
        "w_begin": "on the repeat",
        "m_panel": value("takeoff.mural.panel", home.rules),
        "m_bleed": value("takeoff.mural.bleed", home.rules),
        "m_wall": "all",
        "coats": int(value("takeoff.paint.coats", home.rules)),
        "rate": value("takeoff.paint.spread", home.rules),
        "primer": "no",
        "p_waste": value("takeoff.paint.waste", home.rules),
        "use": "sitting",
        "r_width": 2.0,
        "r_depth": 2.0,
        "made": "in one piece",
        "stock": "5' × 8', 6' × 9', 8' × 10'" if us else "1.7 m × 2.4 m, 2 m × 3 m",
        "r_thick": 0.012,
        "r_pad": thin(0.004),
        "r_door": "",
        "r_undercut": thin(0.010),
        "stuff": "glass",
        "t_thick": thin(value("takeoff.top.thickness.glass", home.rules)),
        "overhang": 0.0,
        "radius": 0.0,
        "t_count": 1,
        "cutouts": "",
        "c_depth": value("takeoff.canvas.bar_depth", home.rules),
        "c_turn": thin(value("takeoff.canvas.turn", home.rules)),
        "c_roll": value("takeoff.canvas.roll", home.rules),
        "c_count": 1,
        "b_seats": "no",
        "b_cord": value("takeoff.floor_box.cord", home.rules),
        "b_known": "not known",
        "b_depth": thin(value("takeoff.floor_box.depth", home.rules)),
        "lid": "as the floor",
        "workers": 2,
    }


def _words(id: str, label: str, choices: Sequence[str], *, more: bool = False) -> Control:
    return {
        "kind": "words",
        "id": id,
        "label": label,
        "choices": [[c, c] for c in choices],
        "more": more,
    }


def _count(id: str, label: str, low: int, high: int, *, more: bool = False) -> Control:
    return {
        "kind": "scale",
        "id": id,
        "label": label,
        "min": low,
        "max": high,
        "step": 1,
        "more": more,
    }


def _share(
    id: str, label: str, low: float, high: float, step: float, *, more: bool = False
) -> Control:
    return {
        "kind": "scale",
        "id": id,
        "label": label,
        "min": low,
        "max": high,
        "step": step,
        "unit": "%",
        "factor": 100,
        "more": more,
    }


def _thin(
    home: Home, id: str, label: str, high: float, *, least: float = 0.0, more: bool = False
) -> Control:
    """A thickness: a millimetre or a sixteenth of an inch a step."""
    us = home.units in IMPERIAL
    return {
        "kind": "scale",
        "id": id,
        "label": label,
        "min": round(least / INCH * 16) * INCH / 16 if us else least,
        "max": round(high / INCH * 16) * INCH / 16 if us else high,
        "step": INCH / 16 if us else 0.001,
        "unit": "in" if us else "mm",
        "factor": 1 / INCH if us else 1000,
        "digits": 2 if us else 0,
        "more": more,
    }


def _drapery(home: Home, values: Mapping[str, Any]) -> list[Control]:
    return [
        _words("heading", "Heading", ["wave", "pinch", "pencil", "eyelet", "tab", "sheer"]),
        {
            "kind": "scale",
            "id": "fullness",
            "label": "Fullness",
            "min": 1.0,
            "max": 3.2,
            "step": 0.05,
            "digits": 2,
        },
        length_control("d_width", "Width of the cloth", home=home, low=0.9, high=3.4),
        length_control("d_repeat", "Pattern repeat", home=home, low=0.0, high=1.3),
        _words("hem", "Hem", ["clear", "kissing", "break", "puddle"], more=True),
        _words("draw", "Drawn", ["pair", "left", "right"], more=True),
        _words("lining", "Lining", ["none", "lined", "lined and interlined"], more=True),
        _words("way", "Way of the cloth", ["best", "upright", "railroaded"], more=True),
        _words("rounding", "Rounding of the widths", ["best", "up", "down"], more=True),
        _share("shrinkage", "Shrinks in the wash", 0.0, 0.1, 0.01, more=True),
    ]


def _upholstery(home: Home, values: Mapping[str, Any]) -> list[Control]:
    found = [_words("material", "Covered in", ["cloth", "leather", "own cloth"])]
    if values["material"] == "leather":
        us = home.units in IMPERIAL
        area = FOOT**2 if us else 1.0
        found.append(
            {
                "kind": "scale",
                "id": "hide",
                "label": "One hide",
                "min": 2.0,
                "max": 7.0,
                "step": FOOT**2 if us else 0.1,
                "unit": "ft²" if us else "m²",
                "factor": 1 / area,
                "digits": 0 if us else 1,
            }
        )
        found.append(_share("usable", "Of a hide can be cut", 0.5, 0.95, 0.05))
    else:
        found += [
            length_control("u_width", "Width of the cloth", home=home, low=0.9, high=3.0),
            length_control("u_along", "Repeat along the roll", home=home, low=0.0, high=1.3),
            length_control("u_across", "Repeat across", home=home, low=0.0, high=1.3),
            _words("u_way", "Direction", ["nap along the roll", "railroaded"]),
        ]
    found.append(_count("u_count", "How many", 1, 12, more=True))
    if values.get("cushions"):
        found.append(_count("u_seats", "Seat cushions of each", 1, 5, more=True))
    if values["material"] != "leather":
        hint = '60" – 62"; 110" – 111"' if home.units in IMPERIAL else "1.2 m – 1.3 m"
        found.append(
            {
                "kind": "field",
                "id": "faults",
                "label": "Faults in the cloth, from – to",
                "hint": hint,
                "more": True,
            }
        )
    return found


def _wallcovering(home: Home, values: Mapping[str, Any]) -> list[Control]:
    found = [_words("hang", "Hangs as", ["rolls", "mural"])]
    walls = [[str(w), wall_name(w)] for w in values["walls"]]
    if values["hang"] == "mural":
        return [
            *found,
            {
                "kind": "choose",
                "id": "m_wall",
                "label": "On",
                "choices": [["all", "all of it"], *walls],
            },
            length_control("m_panel", "Width of a panel", home=home, low=0.3, high=1.5),
            length_control("m_bleed", "Printed beyond the wall", home=home, low=0.0, high=0.15),
        ]
    found += [
        length_control("w_width", "Width of the roll", home=home, low=0.4, high=1.4),
        length_control("w_length", "Length of the roll", home=home, low=4.0, high=50.0),
        length_control("w_repeat", "Pattern repeat", home=home, low=0.0, high=1.3),
        _words("w_match", "Match", ["free", "straight", "half-drop"]),
    ]
    if values["closed"]:
        found.append(
            {
                "kind": "choose",
                "id": "w_start",
                "label": "Start at the left of",
                "choices": walls,
                "more": True,
            }
        )
    high = min(float(values["w_width"]), 1.4)
    found += [
        length_control("w_first", "First strip cut to", home=home, low=0.0, high=high, more=True),
        _count("w_spare", "Spare rolls", 0, 6, more=True),
        _words("w_begin", "Each roll begins", ["on the repeat", "in mid-pattern"], more=True),
    ]
    return found


def _paint(home: Home, values: Mapping[str, Any]) -> list[Control]:
    us = home.units in IMPERIAL
    unit = FOOT**2 / GALLON if us else 1.0  # m²/L in one of the place's units
    return [
        _count("coats", "Coats", 1, 5),
        {
            "kind": "scale",
            "id": "rate",
            "label": "One coat covers",
            "min": (100 if us else 3) * unit,
            "max": (600 if us else 16) * unit,
            "step": (10 if us else 0.1) * unit,
            "unit": "ft²/gal" if us else "m²/L",
            "factor": 1 / unit,
            "digits": 0 if us else 1,
        },
        _words("primer", "Primer under it", ["no", "yes"]),
        _share("p_waste", "Stays in tray and roller", 0.0, 0.2, 0.01),
    ]


def _rugs(home: Home, values: Mapping[str, Any]) -> list[Control]:
    found = [
        _words("use", "Group", ["sitting", "dining"]),
        length_control("r_width", "Width", home=home, low=0.6, high=6.0),
        length_control("r_depth", "Depth", home=home, low=0.6, high=6.0),
        _words("made", "Made", ["in one piece", "sewn from stock"]),
        {
            "kind": "choose",
            "id": "r_door",
            "label": "Door over it",
            "choices": [["", "none"], *values["doors"]],
        },
    ]
    if values["made"] == "sewn from stock":
        found.append(
            {
                "kind": "field",
                "id": "stock",
                "label": "Stock sizes",
                "hint": "5' × 8'" if home.units in IMPERIAL else "1.7 m × 2.4 m",
                "more": True,
            }
        )
    if values["r_door"]:
        found += [
            _thin(home, "r_undercut", "Gap under the door", 0.03, more=True),
            _thin(home, "r_thick", "Thickness of the rug", 0.03, more=True),
            _thin(home, "r_pad", "Thickness of the pad", 0.012, more=True),
        ]
    return found


def _tops(home: Home, values: Mapping[str, Any]) -> list[Control]:
    return [
        # A top of the project is of its own material.
        *([] if values["own"] else [_words("stuff", "Material", ["glass", "stone"])]),
        _thin(home, "t_thick", "Thickness", 0.05),
        _thin(home, "overhang", "Overhang", 0.1),
        _thin(home, "radius", "Radius of the corners", 0.15),
        {
            "kind": "field",
            "id": "cutouts",
            "label": "Cut-outs",
            "hint": '2 1/2" at 8", 6"' if home.units in IMPERIAL else "60 mm at 0.2 m, 0.3 m",
            "more": True,
        },
        _count("t_count", "How many", 1, 12, more=True),
    ]


def _canvas(home: Home, values: Mapping[str, Any]) -> list[Control]:
    return [
        _thin(home, "c_depth", "Depth of the bars", 0.06, least=0.01),
        _thin(home, "c_turn", "Turned behind the bars", 0.1, least=0.02),
        length_control("c_roll", "Width of the roll", home=home, low=0.9, high=3.2),
        _count("c_count", "How many", 1, 12),
    ]


def _boxes(home: Home, values: Mapping[str, Any]) -> list[Control]:
    found = [
        _words("b_seats", "Seats too", ["no", "yes"]),
        length_control("b_cord", "Cord", home=home, low=0.6, high=4.0),
        _words("b_known", "Floor above the slab", ["not known", "measured"]),
    ]
    if values["b_known"] == "measured":
        found.append(_thin(home, "b_depth", "Depth", 0.2))
    lids = ["as the floor", *values["lids"]]
    found.append(
        {
            "kind": "choose",
            "id": "lid",
            "label": "Lid",
            "choices": [[name, name] for name in lids],
            "more": True,
        }
    )
    return found


def controls_for(kind: str, home: Home, values: Mapping[str, Any]) -> list[Control]:
    """The controls that change something for a kind of goods.

    Parameters
    ----------
    kind : str
        One of `designkit.analyses.of_takeoff.KINDS`.
    home : Home
        For its units and rules.
    values : mapping of str to Any
        What is chosen now, and the lists that choices come from.

    Returns
    -------
    list of dict
        For the page.
    """
    makers = {
        "drapery": _drapery,
        "upholstery": _upholstery,
        "wallcovering": _wallcovering,
        "paint": _paint,
        "rugs": _rugs,
        "glass and stone": _tops,
        "canvas": _canvas,
        "floor boxes": _boxes,
    }
    if kind not in makers:
        return [_count("workers", "Workers in the crew", 1, 8)]
    return makers[kind](home, values)


def faults_of(text: str, *, home: Home) -> tuple[tuple[float, float], ...]:
    """Typed stretches of cloth: "1.2 m – 1.3 m; 4 m – 4.1 m".

    Parameters
    ----------
    text : str
        As typed; "" for none.
    home : Home
        For its units.

    Returns
    -------
    tuple of (float, float)
        From and to. [m]

    Raises
    ------
    InputError
        A stretch cannot be read.
    """
    found = []
    for part in text.replace("—", "–").split(";"):
        if not part.strip():
            continue
        ends = [e for e in part.replace(" - ", "–").split("–") if e.strip()]
        if len(ends) != 2:
            raise InputError(
                "faults",
                given=part.strip(),
                allowed="from – to, several parted by ;",
                mend="write 1.2 m – 1.3 m",
            )
        low, high = sorted(read(e.strip(), units=home.units, what="fault") for e in ends)
        found.append((low, high))
    return tuple(found)


def cutouts_of(text: str, *, home: Home) -> tuple[Cutout, ...]:
    """Typed holes in a top: "60 mm at 0.2 m, 0.3 m; 0.5 m × 0.4 m at 1.2 m, 0.3 m".

    Parameters
    ----------
    text : str
        As typed; "" for none. A single size is a round hole.
    home : Home
        For its units.

    Returns
    -------
    tuple of Cutout
        Their middles from the left front corner.

    Raises
    ------
    InputError
        A hole cannot be read.
    """

    def one(word: str) -> float:
        return read(word.strip(), units=home.units, what="cut-out")

    found = []
    for part in text.split(";"):
        if not part.strip():
            continue
        size, _, place = part.partition(" at ")
        sides = [s for s in size.replace(" x ", "×").split("×") if s.strip()]
        ends = [e for e in place.split(",") if e.strip()]
        if len(ends) != 2 or len(sides) not in (1, 2):
            raise InputError(
                "cut-outs",
                given=part.strip(),
                allowed="a size, at, from the left and from the front; several parted by ;",
                mend="write 60 mm at 0.2 m, 0.3 m",
            )
        found.append(
            Cutout(
                at=(one(ends[0]), one(ends[1])),
                width=one(sides[0]),
                depth=one(sides[1]) if len(sides) == 2 else None,
            )
        )
    return tuple(found)


def cutouts_text(cutouts: Sequence[Cutout], *, home: Home) -> str:
    """Holes in a top as they are typed.

    Parameters
    ----------
    cutouts : sequence of Cutout
        Of a piece.
    home : Home
        For its units.

    Returns
    -------
    str
        What `cutouts_of` reads; "" for none.
    """
    system = system_of(home.units)

    def say(hole: Cutout) -> str:
        sides = [hole.width, *([hole.depth] if hole.depth is not None else [])]
        size = " × ".join(length_text(side, system) for side in sides)
        return f"{size} at {', '.join(length_text(p, system) for p in hole.at)}"

    return "; ".join(map(say, cutouts))


def stock_of(text: str, *, home: Home) -> list[StockRug]:
    """Typed stock sizes: "1.7 m × 2.4 m, 2 m × 3 m".

    Parameters
    ----------
    text : str
        As typed.
    home : Home
        For its units.

    Returns
    -------
    list of StockRug
        Named as they were typed.

    Raises
    ------
    InputError
        A size cannot be read, or there is none.
    """
    found = []
    for part in text.split(","):
        sides = [s for s in part.replace("x", "×").split("×") if s.strip()]
        if not part.strip():
            continue
        if len(sides) != 2:
            raise InputError(
                "stock sizes",
                given=part.strip(),
                allowed="width × length, several parted by commas",
                mend="write 1.7 m × 2.4 m",
            )
        width, length = (read(s.strip(), units=home.units, what="stock size") for s in sides)
        found.append(StockRug(name=part.strip(), width=width, length=length))
    if not found:
        raise InputError(
            "stock sizes", given="none", allowed="one or more", mend="write 1.7 m × 2.4 m"
        )
    return found
