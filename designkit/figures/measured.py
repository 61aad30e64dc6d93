"""Measures between chosen things: on the working plan, and on a sheet of their own.

A measure is drawn as a dimension with its oblique strokes; it says the length
in the project's units and, in brackets, in the other ones.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from shapely.geometry import LineString

from designkit.errors import InputError
from designkit.figures import blocks, ink
from designkit.figures import shell as shells
from designkit.figures.drawing import XY, Circle, Drawing, Line, Primitive, Text
from designkit.figures.furniture_sheet import plan_size
from designkit.figures.plan import plan_items
from designkit.figures.planmarks import bounds_of, dimension_clear_of, words_of
from designkit.figures.sheet import Area, TitleBlock, drawing_sheet, fitting_scale, scale_text
from designkit.model import Home, Layout, Point
from designkit.units import IMPERIAL

__all__ = ["Measured", "both_units", "measure_items", "measured_plan_sheet"]

SHORT = 0.8  # mm on paper; what is shorter has no room for strokes
COLUMN = 96.0  # mm for the list beside the plan


@dataclass(frozen=True, kw_only=True)
class Measured:
    """One measure as it is drawn and listed."""

    between: str  # as "sofa to bookcase"
    line: tuple[Point, Point]  # where it lies on the plan [m]
    distance: float  # [m]
    note: str = ""  # what is across it
    clear: bool = True  # False where a wall is between: no tape can be laid there


def both_units(length: float, *, units: str) -> str:
    """A length as on a drawing, in the project's units and in the other ones.

    Parameters
    ----------
    length : float
        [m]
    units : str
        Of the project.

    Returns
    -------
    str
        Feet and inches go to a sixteenth of an inch.

    Examples
    --------
    >>> both_units(1.2446, units="m")
    '1245 (4\\'-1")'
    >>> both_units(1.2446, units="ft")
    '4\\'-1" (1245)'
    """
    own, other = ("ft", "m") if units in IMPERIAL else ("m", "ft")
    return f"{words_of(length, units=own)} ({words_of(length, units=other)})"


def measure_items(
    measures: Sequence[Measured],
    *,
    paper: Callable[[Point], XY],
    pens: ink.Pens,
    units: str,
    keep_off: Sequence[Text] = (),
) -> list[Primitive]:
    """Measures as dimensions.

    Parameters
    ----------
    measures : sequence of Measured
        In any order.
    paper : callable
        From the plan [m] to paper [mm].
    pens : Pens
        Line weights.
    units : str
        Of the project.
    keep_off : sequence of Text
        Words that are there already.

    Returns
    -------
    list of Primitive
        Each text stands where it is nearest the middle and on no other one. A measure
        with a wall across it is dashed; one of no length is a dot.
    """
    items: list[Primitive] = []

    taken = [bounds_of(text) for text in keep_off]
    for measure in measures:
        p, q = (paper(point) for point in measure.line)
        if LineString([p, q]).length < SHORT:
            items.append(Circle(centre=p, radius=0.7, fill=ink.INK, about="measured"))
            continue
        words = both_units(measure.distance, units=units)
        drawn = dimension_clear_of(taken, p, q, words, pens=pens, about="measured")
        if not measure.clear:
            dashed = Line(points=(p, q), weight=pens.dimension, dash=(1.6, 1.0), about="measured")
            drawn = [dashed, *drawn[1:]]
        items += drawn
    return items


def measured_plan_sheet(
    home: Home,
    layout: Layout,
    *,
    measures: Sequence[Measured],
    block: TitleBlock,
    paper: str = "A3",
    units: str = "",
) -> Drawing:
    """A furniture plan with measures between chosen things, and their list.

    Parameters
    ----------
    home : Home
        Gives the shell and the pieces.
    layout : Layout
        Where they stand.
    measures : sequence of Measured
        What was measured, in the order of the list.
    block : TitleBlock
        What the title block says.
    paper : str
        A key of `designkit.figures.sheet.PAPERS`.
    units : str
        Unit that is said first; the home's own without it.

    Returns
    -------
    Drawing
        The sheet.

    Raises
    ------
    InputError
        There is nothing to draw, or the plan does not fit the paper.

    Examples
    --------
    >>> from designkit.model import Room
    >>> home = Home(name="Flat", rooms={"r": Room(
    ...     name="room", outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.6)})
    >>> block = TitleBlock(project="Flat", title="Measured plan", number="L-211")
    >>> wide = Measured(between="left wall to right wall", line=((0, 1), (4, 1)), distance=4.0)
    >>> measured_plan_sheet(home, Layout(name="A"), measures=[wide], block=block).scale
    20
    """
    if not measures:
        raise InputError(
            "measures", given="none", allowed="one or more", mend="measure something first"
        )
    units = units or home.units
    imperial = units in IMPERIAL
    blank = drawing_sheet(block, paper=paper, scales=(), north=home.north, imperial=imperial)
    area = blank.area
    inner = Area(
        left=area.left + 20.0,
        bottom=area.bottom + 22.0,
        right=area.right - COLUMN - 31.0,
        top=area.top - 31.0,
    )
    wide, high = plan_size(home, ())
    scale = fitting_scale(wide, high, into=inner, imperial=imperial, least=16)
    sheet = drawing_sheet(block, paper=paper, scales=(scale,), north=home.north, imperial=imperial)
    base = shells.shell(home, scale=scale, paper=(sheet.width, sheet.height), middle=inner.middle)
    scale_words = scale_text(scale, imperial=imperial)
    items, _ = blocks.heading(
        area.left, area.top, inner.right + 17.0 - area.left, "Plan with measures", note=scale_words
    )
    items += plan_items(home, layout, base=base, units=units, show=("dimensions", "names"))
    items += measure_items(
        measures,
        paper=base.paper,
        pens=ink.pens(scale),
        units=units,
        keep_off=[item for item in items if isinstance(item, Text)],
    )
    x = area.right - COLUMN
    head, y = blocks.heading(x, area.top, COLUMN, "Measures", note=f"{len(measures)} on the plan")
    items += head
    for measure in measures:
        text = f"{measure.between}{f' ({measure.note})' if measure.note else ''}"
        items += blocks.sentence(
            x, y, COLUMN, both_units(measure.distance, units=units), weight="semibold"
        )[0]
        lines, y = blocks.sentence(x, y - 4.6, COLUMN, text)
        items += lines
        y -= 2.6
    y -= 1.5
    said = (
        "Measured on the drawing, from outline to outline on the floor. "
        "Check dimensions on site before anything is ordered or made."
    )
    items += blocks.sentence(x, y, COLUMN, said, colour=ink.GREY_2)[0]
    listed = "; ".join(f"{m.between}: {both_units(m.distance, units=units)}" for m in measures)
    return sheet.drawing(
        items,
        title=f"{block.title}, {home.name}",
        text=f"Plan of {home.name}, layout “{layout.name}”, at {scale_words}, with measures: "
        f"{listed}.",
        scale=scale,
    )
