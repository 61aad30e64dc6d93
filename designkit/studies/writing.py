"""A sheet of what is tried on a page, written into the project's issued folder."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from designkit.figures.drawing import Drawing
from designkit.figures.sheet import TitleBlock
from designkit.studies.desk import Desk

__all__ = ["block_for", "write_sheets"]


def block_for(desk: Desk, *, title: str, number: str) -> TitleBlock:
    """The title block of a sheet that a page writes.

    Parameters
    ----------
    desk : Desk
        The project.
    title, number : str
        Of the sheet.

    Returns
    -------
    TitleBlock
        With today's date.
    """
    home = desk.home
    return TitleBlock(
        project=home.name,
        title=title,
        number=number,
        date=datetime.date.today().isoformat(),
        client=home.brief.client,
    )


def write_sheets(desk: Desk, sheets: Sequence[Drawing], *, stem: str) -> str:
    """Write sheets as PNG, SVG and PDF, and say so.

    Parameters
    ----------
    desk : Desk
        The project.
    sheets : sequence of Drawing
        One or more.
    stem : str
        Name of the files.

    Returns
    -------
    str
        What was written and where.
    """
    from designkit.figures.axes import save, save_pages

    now = datetime.datetime.now()
    out = desk.folder / "issued" / now.strftime("%Y-%m-%d %H.%M.%S")
    out.mkdir(parents=True, exist_ok=True)
    for n, sheet in enumerate(sheets, start=1):
        name = stem if len(sheets) == 1 else f"{stem}-{n}"
        for ending in ("png", "svg"):
            save(sheet, out / f"{name}.{ending}")
    save_pages(list(sheets), out / f"{stem}.pdf")
    return f"Written to issued/{out.name} as PDF, PNG, SVG: {stem}."
