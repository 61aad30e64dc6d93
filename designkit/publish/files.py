"""Sheets to files at their true size."""

from __future__ import annotations

import datetime
import os
from collections.abc import Sequence
from pathlib import Path

from designkit.errors import InputError
from designkit.figures.axes import save, save_pages
from designkit.model import Project
from designkit.publish.sheet_set import NAMES, sheet_set

__all__ = ["export", "publish"]

FORMATS = ("png", "svg", "pdf")


def publish(
    project: Project,
    *,
    out: str | os.PathLike[str],
    folder: Path | None = None,
    names: Sequence[str] = NAMES,
    layout: str = "",
    formats: Sequence[str] = FORMATS,
    dpi: float = 150,
    today: datetime.date | None = None,
) -> list[Path]:
    """Write the sheets of a project.

    Parameters
    ----------
    project : Project
        From `designkit.project.read`.
    out : path
        Folder for the files; made where it is not there.
    folder : Path, optional
        The project folder, for photometric files.
    names : sequence of str
        Some of `designkit.publish.NAMES`.
    layout : str
        The layout that the sheets show; "" is the current one.
    formats : sequence of str
        Of "png", "svg", "pdf". The PDF is one file with all sheets.
    dpi : float
        Of the PNG pictures. [1/in]
    today : date, optional
        Printed on the sheets; the machine's day without it.

    Returns
    -------
    list of Path
        The files, in the order of the set.

    Raises
    ------
    InputError
        A format is not known.
    LookupFailed
        A name is not in the set.
    """
    for kind in formats:
        if kind not in FORMATS:
            raise InputError(
                "format", given=kind, allowed=", ".join(FORMATS), mend="use one of these"
            )
    day = today or datetime.date.today()
    target = Path(out)
    target.mkdir(parents=True, exist_ok=True)
    entries = sheet_set(project, names=names, layout=layout, folder=folder, today=day)
    files: list[Path] = []
    for entry in entries:
        for n, drawing in enumerate(entry.drawings, start=1):
            name = entry.name if len(entry.drawings) == 1 else f"{entry.name}-{n}"
            for kind in formats:
                if kind != "pdf":
                    files.append(save(drawing, target / f"{name}.{kind}", dpi=dpi))
    if "pdf" in formats and entries:
        pages = [drawing for entry in entries for drawing in entry.drawings]
        name = entries[0].name if len(entries) == 1 else "sheets"
        files.append(save_pages(pages, target / f"{name}.pdf"))
    return files


def export(
    project: Project,
    *,
    folder: Path,
    names: Sequence[str],
    layout: str = "",
) -> str:
    """Write sheets into the project's issued folder, and say so in a sentence.

    Parameters
    ----------
    project : Project
        As it stands on the desk.
    folder : Path
        The project folder.
    names : sequence of str
        Some of `designkit.publish.NAMES`.
    layout : str
        The layout that the sheets show.

    Returns
    -------
    str
        What was written and where.
    """
    now = datetime.datetime.now()
    out = folder / "issued" / now.strftime("%Y-%m-%d %H.%M.%S")
    files = publish(project, out=out, folder=folder, names=names, layout=layout)
    kinds = ", ".join(sorted({f.suffix[1:].upper() for f in files}))
    what = ", ".join(dict.fromkeys(f.stem for f in files))
    return f"Written to issued/{out.name} as {kinds}: {what}."
