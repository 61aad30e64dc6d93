"""A chart of money on its sheet, or alone for a study page."""

from __future__ import annotations

from collections.abc import Callable

from designkit.costs.money import currency
from designkit.figures.chart import PAGE_WIDTH, Chart, open_sheet, sizes_for, whole_area
from designkit.figures.drawing import Drawing
from designkit.figures.sheet import Area, TitleBlock

__all__ = ["LARGER", "on_paper"]

# The next larger paper of the same family.
LARGER = {"A4": "A3", "Letter": "Tabloid"}


def on_paper(
    draw: Callable[[Chart, Area], float],
    *,
    question: str,
    answer: str,
    text: str,
    code: str,
    block: TitleBlock | None = None,
    paper: str = "A4",
    page: bool = False,
) -> Drawing:
    """Draw a chart from the top of its area downwards.

    Parameters
    ----------
    draw : callable
        ``draw(chart, area)`` gives where the chart ends. [mm]
    question, answer : str
        Heading of the sheet and the sentence under it.
    text : str
        For who cannot see it.
    code : str
        Currency, ISO 4217.
    block : TitleBlock, optional
        What the foot of the sheet says; needed unless `page`.
    paper : str
        A key of `sheet.PAPERS`; the next larger is taken where it does not fit.
    page : bool
        The drawing alone, as high as it needs.

    Returns
    -------
    Drawing
        The sheet, or the drawing alone.

    Raises
    ------
    InputError
        There is no title block for a sheet.
    LookupFailed
        There is no such paper or currency.
    """
    if page:
        height = 1000.0
        chart = Chart(sizes_for(width=PAGE_WIDTH, page=True))
        for _ in range(2):  # once for its height, once where it belongs
            chart = Chart(sizes_for(width=PAGE_WIDTH, page=True))
            area = whole_area(PAGE_WIDTH, height)
            height = area.top - draw(chart, area) + 1.5
        return Drawing(
            width=PAGE_WIDTH, height=height, items=tuple(chart.items), title=question, text=text
        )
    while True:
        sheet = open_sheet(
            block,
            question=question,
            answer=answer,
            paper=paper,
            scale=f"amounts in {currency(code).sign}",
        )
        chart = Chart(sizes_for(width=sheet.width, page=False))
        end = draw(chart, sheet.area)
        if end >= sheet.area.bottom - 0.5 or paper not in LARGER:
            return sheet.drawing(chart.items, title=question, text=text)
        paper = LARGER[paper]
