"""Orders and documents to files: CSV, XLSX and sheets, for one audience.

The command `documents` stands here and not beside the tables: sheets are
drawn, and drawing lies above the documents.
"""

from __future__ import annotations

import argparse
import datetime
import os
from collections.abc import Sequence
from pathlib import Path

from designkit.documents import to_csv, to_xlsx
from designkit.documents.sets import Paper, papers_for
from designkit.errors import InputError
from designkit.figures.axes import save_pages
from designkit.figures.documents_sheet import document_sheets
from designkit.figures.drawing import Drawing
from designkit.figures.sheet import TitleBlock
from designkit.model import Project
from designkit.project import read
from designkit.project.dates import command_day
from designkit.takeoff.tables import Audience
from designkit.units import IMPERIAL
from designkit.whole import folder_for_files, write_whole

__all__ = ["documents", "paper_sheets", "write_documents"]

FORMATS = ("csv", "xlsx", "pdf")


def paper_sheets(
    project: Project, papers: Sequence[Paper], *, today: datetime.date
) -> list[tuple[Paper, tuple[Drawing, ...]]]:
    """Each paper with its sheets.

    Parameters
    ----------
    project : Project
        For title block, units and names of rooms.
    papers : sequence of Paper
        From `designkit.documents.sets.papers_for`.
    today : date
        Printed on the sheets.

    Returns
    -------
    list of (Paper, tuple of Drawing)
        In their order.
    """
    home = project.home
    size = "Letter" if home.units in IMPERIAL else "A4"
    found = []
    for number, paper in enumerate(papers, start=1):
        block = TitleBlock(
            project=home.name,
            title=paper.title,
            number=paper.number,
            date=today.isoformat(),
            status="for approval" if paper.name == "approval-sheet" else "study",
            sheet=number,
            sheets=len(papers),
            client=home.brief.client,
        )
        sheets = document_sheets(
            paper,
            block=block,
            size=size,
            units=home.units,
            names={id: room.name for id, room in home.rooms.items()},
        )
        found.append((paper, sheets))
    return found


def write_documents(
    project: Project,
    *,
    audience: Audience,
    out: str | os.PathLike[str],
    names: Sequence[str] = (),
    formats: Sequence[str] = FORMATS,
    layout: str = "",
    today: datetime.date | None = None,
) -> list[Path]:
    """Write the papers of a project for one audience.

    Parameters
    ----------
    project : Project
        From `designkit.project.read`.
    audience : {"client", "trade", "studio"}
        Who reads them.
    out : path
        Folder for the files; a folder of the audience's name is made in it, and
        for the trade one for each supplier's order.
    names : sequence of str, optional
        Some of `designkit.documents.sets.PAPERS`.
    formats : sequence of str, optional
        Of "csv", "xlsx", "pdf". CSV is one file a table, XLSX one workbook a
        paper, PDF one file a paper.
    layout : str, optional
        Layout id; "": the current one.
    today : date, optional
        Printed on the sheets; the machine's day without it.

    Returns
    -------
    list of Path
        The files, paper by paper.

    Raises
    ------
    InputError
        Unknown audience or format, or a line that is wrong.
    LookupFailed
        There is no such paper for this audience.
    FileFormatError
        A folder or a file cannot be written; what stood there is as it was.
    """
    for kind in formats:
        if kind not in FORMATS:
            raise InputError(
                "format", given=kind, allowed=", ".join(FORMATS), mend="use one of these"
            )
    papers = [
        paper
        for paper in papers_for(project, audience=audience, names=names, layout=layout)
        if paper.tables  # a project of one bare room has none for some
    ]
    # One folder a reader: what is sent to one cannot hold another's paper.
    target = folder_for_files(Path(out) / audience)
    day = today or datetime.date.today()
    drawn = paper_sheets(project, papers, today=day) if "pdf" in formats else []
    sheets = {paper.name: pages for paper, pages in drawn}
    files = []
    for paper in papers:
        here = target
        if paper.name.startswith("purchase-order-") and audience == "trade":
            # One supplier must not find another's prices in the folder it gets.
            here = target / paper.name.removeprefix("purchase-order-")
            folder_for_files(here)
        if "csv" in formats:
            for table in paper.tables:
                tail = "" if len(paper.tables) == 1 else f"-{table.name.replace(' ', '-')}"
                path = here / f"{paper.name}{tail}.csv"
                files.append(write_whole(path, to_csv(table)))
        if "xlsx" in formats:
            path = here / f"{paper.name}.xlsx"
            files.append(write_whole(path, to_xlsx(*paper.tables)))
        if "pdf" in formats:
            files.append(save_pages(list(sheets[paper.name]), here / f"{paper.name}.pdf"))
    return files


def documents(given: argparse.Namespace) -> int:
    """Write schedules, orders and lists of a project for one audience.

    Parameters
    ----------
    given : Namespace
        folder, audience, out, layout, only, formats, date.

    Returns
    -------
    int
        0.

    Raises
    ------
    InputError
        The date cannot be read, or there is no such audience.
    """
    day = command_day(given.date)
    opened = read(given.folder)
    out = Path(given.out) if given.out else Path(given.folder) / "issued" / "documents"
    files = write_documents(
        opened.project,
        audience=given.audience,
        out=out,
        names=given.only or (),
        formats=given.formats or FORMATS,
        layout=given.layout,
        today=day,
    )
    for path in files:
        print(path)
    if not files:
        print(f"The project has no paper for the {given.audience} yet.")
    return 0
