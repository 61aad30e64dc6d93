"""The survey sheets of a project: one room a sheet, as it was walked."""

from __future__ import annotations

from collections.abc import Callable

from designkit.analyses.of_walks import survey_of
from designkit.figures.drawing import Drawing
from designkit.figures.sheet import TitleBlock
from designkit.figures.survey_sheet import survey_sheets
from designkit.model import Home

__all__ = ["survey_set"]


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
