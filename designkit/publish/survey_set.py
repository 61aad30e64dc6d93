"""The survey sheets of a project: one room a sheet, as it was walked."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path

from designkit.analyses.of_walks import survey_of
from designkit.figures.drawing import Drawing
from designkit.figures.sheet import TitleBlock
from designkit.figures.survey_sheet import survey_sheets
from designkit.model import Home, Project

__all__ = ["issue_rooms", "survey_set"]


def survey_set(
    home: Home, *, block: Callable[[str], TitleBlock], paper: str = "A3"
) -> list[Drawing]:
    """The survey sheets of all rooms that were walked.

    Parameters
    ----------
    home : Home
        With its walks and photographs.
    block : callable
        ``block(title) -> TitleBlock``.
    paper : str, optional
        A key of `designkit.figures.sheet.PAPERS`.

    Returns
    -------
    list of Drawing
        In the order of the rooms; a walk of which not one wall can be read is
        left out.
    """
    found: list[Drawing] = []
    for id in dict.fromkeys([*(r for r in home.rooms if r in home.walks), *home.walks]):
        walk = home.walks[id]
        survey, _ = survey_of(walk, units=home.units, overrides=home.rules)
        if survey is None or not survey.walls:
            continue
        name = walk.name or (home.rooms[id].name if id in home.rooms else id.replace("_", " "))
        photos = [one for one in home.photos.values() if one.room == id]
        found += survey_sheets(
            survey, name=name, block=block(f"Survey, {name}"), paper=paper, photos=photos
        )
    return found


def issue_rooms(project: Project, *, folder: Path, paper: str = "A3") -> str:
    """Write the survey of each walked room and the furniture plan into the project folder.

    Parameters
    ----------
    project : Project
        As it stands on the desk.
    folder : Path
        The project folder.
    paper : str, optional
        Of the survey sheets, which go to the site; the furniture plan has its own.

    Returns
    -------
    str
        What was written and where, in a sentence.

    Raises
    ------
    LookupFailed
        There is no such paper.
    """
    from designkit.figures.axes import save, save_pages
    from designkit.publish.sheet_set import sheet_set

    home, now = project.home, datetime.datetime.now()

    def block(title: str) -> TitleBlock:
        return TitleBlock(
            project=home.name, title=title, number="L-101", date=now.date().isoformat(),
            client=home.brief.client,
        )  # fmt: skip

    surveys = survey_set(home, block=block, paper=paper)
    entries = sheet_set(project, names=("furniture-plan",), folder=folder, today=now.date())
    sets = [("survey", surveys), *((one.name, list(one.drawings)) for one in entries)]
    if not any(drawings for _, drawings in sets):
        return "There is nothing to write yet: walk the walls of a room first."
    out = folder / "issued" / now.strftime("%Y-%m-%d %H.%M.%S")
    out.mkdir(parents=True, exist_ok=True)
    for name, drawings in sets:
        for n, drawing in enumerate(drawings, start=1):
            stem = name if len(drawings) == 1 else f"{name}-{n}"
            for ending in ("png", "svg"):
                save(drawing, out / f"{stem}.{ending}", dpi=150)
        if drawings:
            save_pages(drawings, out / f"{name}.pdf")
    what = ", ".join(name for name, drawings in sets if drawings)
    size = f", the survey on {paper}" if surveys else ""
    return f"Written to issued/{out.name} as PDF, PNG, SVG: {what}{size}."
