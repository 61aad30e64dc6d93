"""What studies that take things in have in common: changes, files, sheets of their own."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path

from designkit.figures.drawing import Drawing
from designkit.figures.sheet import TitleBlock
from designkit.model import Home
from designkit.units import IMPERIAL

__all__ = ["FILE_MOST", "issue", "paper_of", "title_block"]

FILE_MOST = 60  # MB of one file; the page sends it in parts


def paper_of(home: Home) -> str:
    """The paper of a project's small sheets.

    Parameters
    ----------
    home : Home
        For its units.

    Returns
    -------
    str
        "A4", or "Letter" where the project counts in feet.
    """
    return "Letter" if home.units in IMPERIAL else "A4"


def title_block(home: Home, *, title: str, number: str) -> TitleBlock:
    """The foot of a sheet, with today's date.

    Parameters
    ----------
    home : Home
        Gives its name and its client.
    title : str
        What the sheet shows.
    number : str
        Drawing number.

    Returns
    -------
    TitleBlock
        Of one sheet of one.
    """
    return TitleBlock(
        project=home.name,
        title=title,
        number=number,
        date=datetime.date.today().isoformat(),
        client=home.brief.client,
    )


def issue(drawings: Sequence[Drawing], *, name: str, folder: Path) -> str:
    """Write sheets into the project's issued folder, and say so in a sentence.

    Parameters
    ----------
    drawings : sequence of Drawing
        One a sheet.
    name : str
        Of the files.
    folder : Path
        The project folder.

    Returns
    -------
    str
        What was written and where.
    """
    from designkit.figures.axes import save, save_pages

    out = folder / "issued" / datetime.datetime.now().strftime("%Y-%m-%d %H.%M.%S")
    out.mkdir(parents=True, exist_ok=True)
    for number, drawing in enumerate(drawings, start=1):
        stem = name if len(drawings) == 1 else f"{name}-{number}"
        save(drawing, out / f"{stem}.png", dpi=150)
    save_pages(drawings, out / f"{name}.pdf")
    return f"Written to issued/{out.name} as PDF, PNG: {name}."
