"""What all proofs of a quantity share: the order as a sum, cautions, the paper.

A proof stands at the left; the order at its right, as a sum that begins with
what the drawing shows and ends with what is bought. On a study page the page
says the cautions, so there the drawing comes without them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.budget_paper import LARGER
from designkit.figures.chart import (
    PAGE_WIDTH,
    Chart,
    fitted,
    open_sheet,
    sizes_for,
    whole_area,
    wrapped,
)
from designkit.figures.drawing import Drawing, Hatch, Polygon, Text
from designkit.figures.sheet import SCALES, Area, TitleBlock, scale_text
from designkit.takeoff.lines import System, length_text
from designkit.units import NBSP, inches

__all__ = [
    "Order",
    "Proof",
    "arrow",
    "compose",
    "hatched",
    "measured",
    "rectangle",
    "scale_for",
    "short",
    "thin",
    "turned",
]

_GAP = 8.0
_PAGE_SCALES = (5, 8, 10, 12, 16, 20, 25, 30, 40, 50, 64, 80, 100, 125, 160, 200, 250)


@dataclass(frozen=True, kw_only=True)
class Order:
    """What is bought, and how it comes about."""

    big: str  # "9.0 m"
    also: str = ""  # the same in the other system of units
    sums: tuple[tuple[str, str], ...] = ()  # amount, words; the last is the order
    cautions: tuple[str, ...] = ()
    head: str = "Order"


@dataclass(frozen=True, kw_only=True)
class Proof:
    """A question, its answer, and what draws the proof."""

    question: str
    answer: str
    text: str  # for who cannot see it
    order: Order
    draw: Callable[[Chart, Area, float], tuple[float, int | None]]
    # draw(chart, area, most): from the top of the area, at most so high; gives
    # where it ends and the scale, None where it is not to scale
    beside: Callable[[Chart, float, float, float], float] | None = None
    # beside(chart, x, y, width): under the order; gives where it ends
    system: System = "metric"


def short(metres: float, system: System) -> str:
    r"""A length in centimetres or inches, without its unit.

    Parameters
    ----------
    metres : float
        The length. [m]
    system : {"metric", "US"}
        Centimetres or inches.

    Returns
    -------
    str
        To the half centimetre or the quarter inch.

    Examples
    --------
    >>> short(0.66, "metric"), short(0.6604, "US")
    ('66', '26')
    """
    if system == "US":
        return inches(metres, denominator=4)
    return f"{round(metres * 200) / 2:g}"


def thin(metres: float, system: System) -> str:
    r"""A thickness or a gap with its unit.

    Parameters
    ----------
    metres : float
        The length. [m]
    system : {"metric", "US"}
        Millimetres or inches.

    Returns
    -------
    str
        To a tenth of a millimetre, or as a length in inches.

    Examples
    --------
    >>> thin(0.0125, "metric"), thin(0.0127, "US")
    ('12.5\xa0mm', '½ in')
    """
    if system == "US":
        return length_text(metres, system)
    return f"{metres * 1000:.1f}".removesuffix(".0") + f"{NBSP}mm"


def scale_for(page: bool, system: System, fits: Callable[[int], bool], *, least: int = 1) -> int:
    """The largest scale at which something fits, of those that suit the paper.

    Parameters
    ----------
    page : bool
        A study page takes any of a fine series.
    system : {"metric", "US"}
        Drafting scales of a sheet.
    fits : callable
        Whether it fits at a scale.
    least : int, optional
        Largest scale to take.

    Returns
    -------
    int
        50 for 1:50; the smallest there is where nothing fits.
    """
    scales: tuple[int, ...] = _PAGE_SCALES
    if not page:
        # 1:25 stands beside the series of the standard: cloth is cut at that size.
        scales = SCALES["imperial"] if system == "US" else tuple(sorted({*SCALES["metric"], 25}))
    usable = [s for s in scales if s >= least]
    return next((s for s in usable if fits(s)), usable[-1])


def turned(words: str, x: float, y: float, size: float, *, bold: bool = False) -> Text:
    """Words that are read from the right, about their middle.

    Parameters
    ----------
    words : str
        What they say.
    x, y : float
        Where their baseline runs, and its middle. [mm]
    size : float
        Cap height. [mm]
    bold : bool, optional
        How they are set.

    Returns
    -------
    Text
        With a halo of paper.
    """
    return Text(
        at=(x, y),
        text=words,
        size=size,
        weight="semibold" if bold else "regular",
        anchor="middle",
        rotation=90.0,
        halo=0.5,
    )


def rectangle(x0: float, y0: float, x1: float, y1: float) -> tuple[tuple[float, float], ...]:
    """The corners of a rectangle, counter-clockwise from the lower left.

    Parameters
    ----------
    x0, y0, x1, y1 : float
        Two opposite corners. [mm]

    Returns
    -------
    tuple of (float, float)
        Four points.
    """
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def hatched(
    chart: Chart,
    outline: tuple[tuple[float, float], ...],
    *,
    weight: float = 0.0,
    colour: str = ink.GREY_2,
    angle: float = 45.0,
    spacing: float = 1.6,
    about: str = "",
) -> None:
    """An area that is not used: slanted lines on paper.

    Parameters
    ----------
    chart : Chart
        What it is drawn on.
    outline : tuple of (float, float)
        Its corners. [mm]
    weight : float, optional
        Of its outline; 0 for none. [mm]
    colour : str, optional
        Ink of the lines.
    angle, spacing : float, optional
        Of the lines. [°, mm]
    about : str, optional
        What it shows.
    """
    chart.items.append(Polygon(outline=outline, fill=ink.PAPER, about=about))
    chart.items.append(
        Hatch(outline=outline, angle=angle, spacing=spacing, weight=0.13, ink=colour, about=about)
    )
    if weight:
        chart.items.append(Polygon(outline=outline, weight=weight, about=about))


def measured(
    chart: Chart, a: tuple[float, float], b: tuple[float, float], words: str, *, side: int = 1
) -> None:
    """A dimension line with oblique strokes, level or upright, and its words.

    Parameters
    ----------
    chart : Chart
        What it is drawn on.
    a, b : tuple of float
        Its ends. [mm]
    words : str
        What it measures.
    side : {1, -1}, optional
        1: the words stand above a level line, −1: below it.
    """
    size = chart.sizes.note
    chart.line(a[0], a[1], b[0], b[1], 0.13)
    for x, y in (a, b):
        chart.line(x - 0.9, y - 0.9, x + 0.9, y + 0.9, 0.35)
    x, y = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
    if a[0] == b[0]:
        chart.items.append(turned(words, x - 1.2, y, size))
    else:
        chart.text(x, y + 1.0 if side > 0 else y - size - 1.2, words, size, anchor="middle")


def arrow(chart: Chart, x0: float, y0: float, x1: float, y1: float, *, weight: float = 0.2) -> None:
    """A stroke with a filled head at its end.

    Parameters
    ----------
    chart : Chart
        What it is drawn on.
    x0, y0, x1, y1 : float
        From and to. [mm]
    weight : float, optional
        Of the stroke. [mm]
    """
    long = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
    if long < 1e-6:
        return
    ux, uy = (x1 - x0) / long, (y1 - y0) / long
    head = min(1.9, long)
    bx, by = x1 - ux * head, y1 - uy * head
    chart.line(x0, y0, bx, by, weight)
    chart.items.append(
        Polygon(
            outline=((x1, y1), (bx - uy * 0.55, by + ux * 0.55), (bx + uy * 0.55, by - ux * 0.55)),
            fill=ink.INK,
        )
    )


def _draw_order(
    chart: Chart, order: Order, x: float, top: float, width: float, *, cautions: bool
) -> float:
    sizes = chart.sizes
    y = top - sizes.head
    chart.text(x, y, order.head, sizes.head, bold=True)
    size = fitted([order.big], size=sizes.total * 1.5, width=width, floor=sizes.name, bold=True)
    for words in wrapped(order.big, size=size, width=width, bold=True, most=3):
        y -= size + 2.6
        chart.text(x, y, words, size, bold=True)
    if order.also:
        for words in wrapped(order.also, size=sizes.note, width=width, most=2):
            y -= sizes.pitch(sizes.note) + 0.3
            chart.text(x, y, words, sizes.note, colour=ink.GREY_1)
    y -= 2.4
    column = max(
        (lettering.advance(a, size=sizes.note, weight="semibold") for a, _ in order.sums),
        default=0.0,
    )
    column = min(column, width * 0.45)
    for i, (amount, words) in enumerate(order.sums):
        last = i == len(order.sums) - 1
        y -= sizes.pitch(sizes.note)
        chart.text(x + column, y, amount, sizes.note, bold=last, anchor="end")
        lines = wrapped(words, size=sizes.note, width=width - column - 2.4, most=4)
        for j, line in enumerate(lines):
            if j:
                y -= sizes.pitch(sizes.note)
            chart.text(
                x + column + 2.4, y, line, sizes.note, colour=ink.INK if last else ink.GREY_1
            )
    y -= 1.0
    if cautions and order.cautions:
        y -= 5.0 + sizes.name
        chart.text(x, y, "Before ordering", sizes.name, bold=True)
        y -= 1.0
        for caution in order.cautions:
            for i, line in enumerate(wrapped(caution, size=sizes.note, width=width - 3.0)):
                y -= sizes.pitch(sizes.note)
                chart.text(x, y, "–" if i == 0 else "", sizes.note)
                chart.text(x + 3.0, y, line, sizes.note)
            y -= 0.6
    return y - 1.0


def compose(
    proof: Proof,
    *,
    block: TitleBlock | None = None,
    paper: str = "A3",
    page: bool = False,
) -> Drawing:
    """A proof with its order, on a sheet or for a study page.

    Parameters
    ----------
    proof : Proof
        What is shown.
    block : TitleBlock, optional
        What the foot of the sheet says; needed unless `page`.
    paper : str
        A key of `sheet.PAPERS`; the next larger is taken where it does not fit.
    page : bool
        The drawing alone, for a study page.

    Returns
    -------
    Drawing
        Title, alternative text and scale set.

    Raises
    ------
    InputError
        There is no title block for a sheet.
    LookupFailed
        There is no such paper.
    """
    if page:
        sizes = sizes_for(width=PAGE_WIDTH, page=True)
        panel = 68.0
        height = 1000.0
        chart, scale = Chart(sizes), None
        for _ in range(2):  # once for its height, once where it belongs
            chart = Chart(sizes)
            area = whole_area(PAGE_WIDTH, height)
            end, scale = _lay(chart, proof, area, panel, most=165.0, page=True)
            height = area.top - end + 1.5
        return Drawing(
            width=PAGE_WIDTH,
            height=height,
            items=tuple(chart.items),
            title=proof.question,
            text=proof.text,
            scale=scale,
        )
    while True:
        imperial = proof.system == "US"
        trial = open_sheet(
            block, question=proof.question, answer=proof.answer, paper=paper, scale="–"
        )
        sizes = sizes_for(width=trial.width, page=False)
        panel = 100.0 if trial.width > 300 else 74.0
        for below in (False, True):
            chart = Chart(sizes)
            end, scale = _lay(
                chart,
                proof,
                trial.area,
                panel,
                most=trial.area.height,
                page=False,
                below=below,
            )
            if end >= trial.area.bottom - 0.5:
                break
        if end >= trial.area.bottom - 0.5 or paper not in LARGER:
            break
        paper = LARGER[paper]
    words = scale_text(scale, imperial=imperial) if scale else "not to scale"
    sheet = open_sheet(
        block,
        question=proof.question,
        answer=proof.answer,
        paper=paper,
        scale=f"{words} at {paper}" if scale else words,
    )
    return sheet.drawing(chart.items, title=proof.question, text=proof.text, scale=scale)


def _lay(
    chart: Chart,
    proof: Proof,
    area: Area,
    panel: float,
    *,
    most: float,
    page: bool,
    below: bool = False,
) -> tuple[float, int | None]:
    """Proof and order side by side; the cautions under the proof where `below` says so."""
    main = Area(left=area.left, bottom=area.bottom, right=area.right - panel - _GAP, top=area.top)
    lines: list[tuple[str, str]] = []
    if below:
        for caution in proof.order.cautions:
            for i, line in enumerate(
                wrapped(caution, size=chart.sizes.note, width=main.width - 3.0)
            ):
                lines.append(("–" if i == 0 else "", line))
    foot = len(lines) * chart.sizes.pitch(chart.sizes.note) + 8.0 if lines else 0.0
    end, scale = proof.draw(chart, main, most - foot)
    if lines:
        y = end - 3.0 - chart.sizes.name
        chart.text(main.left, y, "Before ordering", chart.sizes.name, bold=True)
        for mark, line in lines:
            y -= chart.sizes.pitch(chart.sizes.note)
            chart.text(main.left, y, mark, chart.sizes.note)
            chart.text(main.left + 3.0, y, line, chart.sizes.note)
        end = y - 1.0
    x = area.right - panel
    y = _draw_order(chart, proof.order, x, area.top, panel, cautions=not page and not below)
    if proof.beside is not None:
        y = proof.beside(chart, x, y - 3.0, panel)
    return min(end, y), scale
