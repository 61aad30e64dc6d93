"""The amounts of a document drawn to one scale, so that a misread one stands out."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from designkit.costs.money import currency as currency_of
from designkit.costs.money import sum_text
from designkit.figures import ink
from designkit.figures.chart import PAGE_WIDTH, Chart, sizes_for, wrapped
from designkit.figures.drawing import Drawing
from designkit.project.import_lines import ProposedLine
from designkit.project.importing import Proposal

__all__ = ["amount_of", "found_amounts"]

_MOST = 14  # lines that are drawn by themselves
_PITCH = 6.4


def amount_of(line: ProposedLine) -> Decimal:
    """What a line comes to: its amount, or its price times its quantity.

    Parameters
    ----------
    line : ProposedLine
        From `designkit.project.importing.propose_import`.

    Returns
    -------
    Decimal
        0 where it has neither.
    """
    if line.amount is not None:
        return line.amount
    return (line.unit_price or Decimal(0)) * (1 if line.quantity is None else line.quantity)


def _rows(found: Proposal, chosen: Sequence[int] | None) -> list[tuple[str, Decimal, str]]:
    """Words, amount and how the bar is drawn: the largest lines, then sums and totals."""
    goods = [line for line in found.goods if not line.doubt]
    large = sorted(goods, key=lambda line: -abs(amount_of(line)))[:_MOST]
    rows = []
    for line in goods:
        if line in large:
            how = "filled" if chosen is None or line.number in chosen else "left out"
            rows.append((f"{line.item} ({line.place})", amount_of(line), how))
    rest = [line for line in goods if line not in large]
    if rest:
        total = sum((amount_of(line) for line in rest), Decimal(0))
        rows.append((f"{len(rest)} smaller lines", total, "filled"))
    booked = [line for line in goods if chosen is None or line.number in chosen]
    total = sum((amount_of(line) for line in booked), Decimal(0))
    rows.append((f"to book, {len(booked)} {'line' if len(booked) == 1 else 'lines'}", total, "sum"))
    for line in found.lines:
        if line.role in ("total", "tax") and line.amount is not None:
            words = line.item or ("tax" if line.role == "tax" else "total")
            rows.append((f"{words} ({line.place})", line.amount, line.role))
    return rows


def found_amounts(
    found: Proposal | None, *, code: str = "EUR", chosen: Sequence[int] | None = None
) -> Drawing:
    """A bar an amount, the sum of what would be booked, and the totals as written.

    Parameters
    ----------
    found : Proposal or None
        None where nothing has been read yet.
    code : str, optional
        Currency of the figures, ISO 4217.
    chosen : sequence of int, optional
        Numbers of the lines to book; all without it.

    Returns
    -------
    Drawing
        For a study page.

    Examples
    --------
    >>> found_amounts(None).text
    'No document is read yet.'
    """
    sizes = sizes_for(width=PAGE_WIDTH, page=True)
    chart = Chart(sizes)
    title = "What the document says"
    if found is None:
        chart.text(0.5, 6.0, "No document is read yet.", sizes.name, colour=ink.GREY_2)
        return Drawing(
            width=PAGE_WIDTH, height=14.0, items=tuple(chart.items), title=title,
            text="No document is read yet.",
        )  # fmt: skip
    rows = _rows(found, chosen)
    words_width, number_width = 92.0, 30.0
    start = words_width + number_width + 5.0
    room = PAGE_WIDTH - start - 2.0
    largest = max((abs(amount) for _, amount, _ in rows), default=Decimal(1)) or Decimal(1)
    height = _PITCH * len(rows) + 11.6
    y = height - 6.0
    sign = currency_of(code).sign
    chart.text(words_width + number_width, y, sign, sizes.note, colour=ink.GREY_2, anchor="end")
    y -= _PITCH
    line_drawn = False
    told = []
    for words, amount, how in rows:
        if how in ("sum", "total", "tax") and not line_drawn:
            y -= 1.6
            at = y + _PITCH * 0.78
            chart.line(0.5, at, PAGE_WIDTH - 0.5, at, 0.25)
            line_drawn = True
        bold = how in ("sum", "total")
        grey = ink.GREY_2 if how == "left out" else ink.INK
        (first,) = wrapped(words, size=sizes.name, width=words_width, bold=bold, most=1)[:1] or (
            "",
        )
        chart.text(0.5, y, first, sizes.name, bold=bold, colour=grey)
        shown = sum_text(amount, code=code)
        chart.text(
            words_width + number_width, y, shown, sizes.name, bold=bold, colour=grey, anchor="end"
        )
        long = float(abs(amount) / largest) * room
        fill = {"filled": ink.GREY_3, "sum": ink.INK}.get(how, "")
        chart.bar(
            start,
            start + max(long, 0.3),
            y - 0.6,
            3.6,
            fill=fill,
            weight=0.0 if fill else 0.25,
            hatch=amount < 0 or how == "tax",
        )
        told.append(f"{words}: {shown}")
        y -= _PITCH
    return Drawing(
        width=PAGE_WIDTH,
        height=height,
        items=tuple(chart.items),
        title=title,
        text=f"Amounts in {sign}. " + "; ".join(told) + ".",
    )
