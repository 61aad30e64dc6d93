"""Share of black, by area and by view: columns on one scale with what makes them up.

Each column says its share in figures, where it lies against the band that the
studio assumes, who adds how much, and what would bring it back. The shares of
the other classes stand below as rows of bars, and what every word means at
the foot. A column may carry a small picture; by area it is a hundred squares.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Protocol

from designkit.balance import NIGHT, Balance, Gap
from designkit.errors import InputError, LookupFailed
from designkit.figures.balance_chart import (
    Remedy,
    Rest,
    ShareChart,
    ShareColumn,
    SharePart,
    percent,
    waffle,
)
from designkit.figures.chart import (
    PAGE_WIDTH,
    open_sheet,
    sizes_for,
    whole_area,
)
from designkit.figures.drawing import Drawing
from designkit.figures.item_words import item_words, swap_words
from designkit.figures.sheet import TitleBlock
from designkit.model import Home
from designkit.palette.finishes import CLASSES

__all__ = [
    "Remedy",
    "Rest",
    "ShareColumn",
    "SharePart",
    "balance_figure",
    "share_answer",
    "share_columns",
    "share_figure",
    "waffle",
]

LEAST = 0.009  # segments under this are summed as "other"
MOST = 7  # segments in a column
TITLES = {
    "area": ("By area", "share of all visible surfaces"),
    "view": ("By view", "share of what the eye sees, finishes only"),
    "lit view": ("By lit view", "share that looks dark in that light"),
}


class SchemeLike(Protocol):
    """What `designkit.analyses.scheme` gives: shares in one way of looking."""

    @property
    def balance(self) -> Balance: ...
    @property
    def band(self) -> tuple[float, float] | None: ...
    @property
    def gap(self) -> Gap | None: ...
    @property
    def viewpoint(self) -> object | None: ...


def _parts(balance: Balance, home: Home, of: str) -> tuple[SharePart, ...]:
    sums: dict[tuple[str, bool], float] = {}
    about: dict[tuple[str, bool], str] = {}
    for c in balance.contributions[of]:
        key = (item_words(home, c.item), c.finishes == (NIGHT,))
        if key[1]:
            key = ("bare glass at night", True)
        sums[key] = sums.get(key, 0.0) + c.share
        about.setdefault(key, c.owners[0] if c.owners else "")
    order = sorted(sums.items(), key=lambda row: (-row[1], row[0]))
    shown = [row for row in order if row[1] >= LEAST][:MOST]
    found = [
        SharePart(words=words, share=share, hatched=dark, about=about[words, dark])
        for (words, dark), share in shown
    ]
    rest = sum(share for _, share in order) - sum(share for _, share in shown)
    if rest > 1e-9:
        found.append(SharePart(words=f"other {of}", share=rest))
    return tuple(found)


def share_columns(
    schemes: Sequence[SchemeLike], *, home: Home, of: str = "black"
) -> tuple[ShareColumn, ...]:
    """Columns of the figure from the shares of a layout.

    Parameters
    ----------
    schemes : sequence of Scheme
        From `designkit.analyses.of_scheme.scheme`, or what has its fields.
    home : Home
        Gives things their names.
    of : str
        The class that the columns are about.

    Returns
    -------
    tuple of ShareColumn
        In the same order.

    Raises
    ------
    LookupFailed
        There is no such class.
    """
    if of not in CLASSES:
        raise LookupFailed("class", given=of, allowed=", ".join(CLASSES), mend="use one of these")
    found = []
    for scheme in schemes:
        balance = scheme.balance
        share, band = balance.shares[of], scheme.band
        title, caption = TITLES[balance.by]
        gap = scheme.gap
        remedies: tuple[Remedy, ...] = ()
        # Below the band nothing is wrong: nobody is told to paint a wall black.
        if gap is not None and gap.of == of and band is not None and share > band[1]:
            remedies = tuple(
                Remedy(words=f"with {swap_words(home, swap)}", share=swap.share)
                for swap in gap.swaps[:1]
            )
        found.append(
            ShareColumn(
                title=title,
                caption=caption,
                under=getattr(scheme.viewpoint, "name", "") or "each square is 1\u00a0%",
                share=share,
                low=balance.low[of],
                high=balance.high[of],
                parts=_parts(balance, home, of),
                classes={
                    name: (balance.shares[name], balance.low[name], balance.high[name])
                    for name in CLASSES
                    if name != of
                },
                band=band,
                verdict=_verdict(share, band),
                remedies=remedies,
                by_area=balance.by == "area",
            )
        )
    return tuple(found)


def _verdict(share: float, band: tuple[float, float] | None) -> str:
    if band is None:
        return "no band assumed"
    low, high = band
    if low - 1e-12 <= share <= high + 1e-12:
        return "inside the band"
    return "above the band" if share > high else "below the band"


def share_answer(columns: Sequence[ShareColumn], *, of: str = "black") -> str:
    """The shares in a sentence.

    Parameters
    ----------
    columns : sequence of ShareColumn
        From `share_columns`.
    of : str
        The class that they are about.

    Returns
    -------
    str
        Each share with where it lies.

    Examples
    --------
    >>> one = ShareColumn(
    ...     title="By area", share=0.11, low=0.11, high=0.12, verdict="inside the band")
    >>> share_answer([one]).replace(chr(160), " ")
    'By area 11.0 % is black, inside the band.'
    """
    parts = []
    for n, column in enumerate(columns):
        where = column.title if column.by_area or not column.under else column.under
        is_ = f" is {of}" if n == 0 else ""
        words = f"{where[:1].upper() if n == 0 else where[:1].lower()}{where[1:]}"
        parts.append(f"{words} {percent(column.share)}\u00a0%{is_}, {column.verdict}")
    return "; ".join(parts) + "." if parts else ""


def balance_figure(
    schemes: Sequence[SchemeLike],
    *,
    home: Home,
    of: str = "black",
    block: TitleBlock | None = None,
    page: bool = False,
    question: str = "",
    answer: str = "",
    paper: str = "A4",
    pictures: Sequence[Drawing | None] = (),
) -> Drawing:
    """Share of black of a layout, in each way of looking that is given.

    Parameters
    ----------
    schemes : sequence of Scheme
        From `designkit.analyses.of_scheme.scheme`: by area, by view.
    home : Home
        Gives things their names.
    of : str
        The class that the columns are about.
    block : TitleBlock, optional
        What the foot says; needed for a sheet.
    page : bool
        The chart alone, for a page.
    question, answer : str
        Heading and the sentence under it; made from the shares where not given.
    paper : str
        A key of `designkit.figures.sheet.PAPERS`.
    pictures : sequence of Drawing or None
        A small picture for each scheme.

    Returns
    -------
    Drawing
        Sheet or page.

    Raises
    ------
    InputError
        There is no scheme, or a sheet has no title block.
    LookupFailed
        There is no such class or paper.
    """

    columns = share_columns(schemes, home=home, of=of)
    if pictures:
        columns = tuple(
            dataclasses.replace(column, picture=picture)
            for column, picture in zip(columns, pictures, strict=True)
        )
    if not schemes:
        raise InputError("schemes", given="none", allowed="one or more", mend="give one by area")
    balance = schemes[0].balance
    return share_figure(
        columns,
        of=of,
        definitions=_definitions(schemes),
        rests_on=_rests_on(balance, home, of),
        meanings=_meanings(balance),
        block=block,
        page=page,
        question=question,
        answer=answer,
        paper=paper,
    )


def _definitions(schemes: Sequence[SchemeLike]) -> str:
    """What the words mean; each sentence of the other ways of looking once."""
    sentences = dict.fromkeys(
        sentence.strip().rstrip(".")
        for scheme in schemes
        for sentence in scheme.balance.definitions.split(". ")
    )
    return ". ".join(sentences) + "."


def _rests_on(balance: Balance, home: Home, of: str) -> tuple[Rest, ...]:
    """How far the share moves with the limit, and what it does not know."""
    rows: list[Rest] = []
    if of == "black":
        limit = balance.limits.black_lightness
        moved_to = [
            (row.at, row.share) for row in balance.sensitivity if row.of == of and "L*" in row.limit
        ]
        for at, share in sorted([*moved_to, (limit, balance.shares[of])]):
            rows.append(
                Rest(
                    words=f"counted up to L* {at:g}",
                    share=share,
                    kind="own" if at == limit else "moved",
                )
            )
    for finish, name, share in balance.undecided:
        if name == of:
            words = home.finishes[finish].name if finish in home.finishes else finish
            rows.append(Rest(words=f"± may make it {of}: {words}", share=share, kind="open"))
    if balance.unknown_share > 0:
        rows.append(Rest(words="no finish given", share=balance.unknown_share, kind="open"))
    shiny = sum(c.share for c in balance.reflecting)
    if shiny > 0:
        rows.append(Rest(words="depends on what it reflects", share=shiny, kind="open"))
    return tuple(rows)


def _meanings(balance: Balance) -> dict[str, str]:
    at = balance.limits
    return {
        "black": f"L* {at.black_lightness:g} or less and C* {at.black_chroma:g} or less",
        "dark": f"L* under {at.dark:g}, black included",
        "mid": "neither dark nor light",
        "light": f"L* over {at.light:g}",
        "warm": "as stated on the finish",
        "patterned": "as stated on the finish",
    }


def share_figure(
    columns: Sequence[ShareColumn],
    *,
    definitions: str,
    of: str = "black",
    rests_on: Sequence[Rest] = (),
    meanings: Mapping[str, str] | None = None,
    block: TitleBlock | None = None,
    page: bool = False,
    question: str = "",
    answer: str = "",
    paper: str = "A4",
) -> Drawing:
    """Columns of a share on one scale, as a sheet or for a page.

    Parameters
    ----------
    columns : sequence of ShareColumn
        One to eight; columns of one title stand together.
    definitions : str
        What counts as what, printed at the foot.
    of : str
        The class that the columns are about.
    rests_on : sequence of Rest
        Rows beside few columns: how far the share moves.
    meanings : mapping of str to str, optional
        What each class means, beside its row where there is room.
    block : TitleBlock, optional
        What the foot says; needed for a sheet.
    page : bool
        The chart alone, for a page.
    question, answer : str
        Heading and the sentence under it; made from the columns where not given.
    paper : str
        A key of `designkit.figures.sheet.PAPERS`.

    Returns
    -------
    Drawing
        Sheet or page.

    Raises
    ------
    InputError
        There is no column, or there are over eight, or a sheet has no title
        block.
    LookupFailed
        There is no such paper.
    """
    if not 1 <= len(columns) <= 8:
        raise InputError("columns", given=len(columns), allowed="1 to 8", mend="make two figures")
    question = question or ("Is black still an accent?" if of == "black" else f"How much is {of}?")
    answer = answer or share_answer(columns, of=of)
    text = _alternative(columns, answer, definitions, of)
    if page:
        made = ShareChart(
            columns,
            of=of,
            definitions=definitions,
            rests_on=rests_on,
            meanings=meanings or {},
            sizes=sizes_for(width=PAGE_WIDTH, page=True),
        )
        high = made.needed(PAGE_WIDTH - 1.0)
        area = whole_area(PAGE_WIDTH, high)
        made.draw(area)
        return Drawing(
            width=PAGE_WIDTH, height=high, items=tuple(made.chart.items), title=question, text=text
        )
    sheet = open_sheet(block, question=question, answer=answer, paper=paper, scale="per cent")
    made = ShareChart(
        columns,
        of=of,
        definitions=definitions,
        rests_on=rests_on,
        meanings=meanings or {},
        sizes=sizes_for(width=sheet.width, page=False),
    )
    made.draw(sheet.area)
    return sheet.drawing(made.chart.items, title=question, text=text)


def _alternative(columns: Sequence[ShareColumn], answer: str, definitions: str, of: str) -> str:
    said = []
    for column in columns:
        name = column.title if column.by_area else f"{column.title}, {column.under}"
        parts = ", ".join(f"{p.words} {percent(p.share)}" for p in column.parts)
        classes = ", ".join(f"{k} {percent(v[0])}" for k, v in column.classes.items())
        band = (
            f" Band {100 * column.band[0]:g} to {100 * column.band[1]:g} % (our assumption)."
            if column.band
            else ""
        )
        mend = "".join(f" {r.words}: {percent(r.share)} %." for r in column.remedies)
        said.append(
            f"{name}: {of} {percent(column.share)} % ({percent(column.low)} to "
            f"{percent(column.high)} %), {column.verdict}. Of it: {parts or 'nothing'}."
            f"{band}{mend} Other classes: {classes}."
        )
    return " ".join((answer, *said, definitions))
