"""Sheets to files at their true size."""

from __future__ import annotations

import contextlib
import datetime
import multiprocessing
import os
import sys
import threading
from collections.abc import Iterator, Sequence
from pathlib import Path

from designkit.errors import InputError
from designkit.figures.axes import save, save_pages
from designkit.figures.drawing import Drawing
from designkit.model import Project
from designkit.publish.sheet_set import NAMES, sheet_set
from designkit.whole import folder_for_files

__all__ = ["export", "publish"]

FORMATS = ("png", "svg", "pdf")
_MANY = 6  # drawings from which a second process is worth its start


def _write_all(work: Sequence[tuple[Drawing, Path]], dpi: float) -> None:
    for drawing, path in work:
        save(drawing, path, dpi=dpi)


def _write_quietly(work: Sequence[tuple[Drawing, Path]], dpi: float) -> None:
    """What the second process does; the first one says what went wrong."""
    try:
        _write_all(work, dpi)
    except BaseException:
        os._exit(1)


@contextlib.contextmanager
def _beside(work: Sequence[tuple[Drawing, Path]], dpi: float) -> Iterator[None]:
    """Write pictures while something else is written.

    A second process takes them where it can be split off safely: this one
    has no other thread and the machine has a second processor. Elsewhere, and
    where that process fails, they are written here, so that the error is the
    same. The files are the same either way.
    """
    alone = threading.active_count() == 1 and not multiprocessing.current_process().daemon
    if sys.platform != "linux" or not alone or len(work) < _MANY or _processors() < 2:
        _write_all(work, dpi)
        yield
        return
    helper = multiprocessing.get_context("fork").Process(
        target=_write_quietly, args=(work, dpi), daemon=True
    )
    helper.start()
    try:
        yield
        helper.join()
    finally:
        if helper.is_alive():
            helper.terminate()
            helper.join()
    if helper.exitcode:
        _write_all(work, dpi)


def _processors() -> int:
    """How many processors this process may use."""
    if sys.platform == "linux":
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


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
    FileFormatError
        A folder or a file cannot be written; what stood there is as it was.
    """
    for kind in formats:
        if kind not in FORMATS:
            raise InputError(
                "format", given=kind, allowed=", ".join(FORMATS), mend="use one of these"
            )
    day = today or datetime.date.today()
    target = folder_for_files(out)
    entries = sheet_set(project, names=names, layout=layout, folder=folder, today=day)
    files: list[Path] = []
    pictures: list[tuple[Drawing, Path]] = []
    others: list[tuple[Drawing, Path]] = []
    for entry in entries:
        for n, drawing in enumerate(entry.drawings, start=1):
            name = entry.name if len(entry.drawings) == 1 else f"{entry.name}-{n}"
            for kind in formats:
                if kind != "pdf":
                    files.append(target / f"{name}.{kind}")
                    (pictures if kind == "png" else others).append((drawing, files[-1]))
    with _beside(pictures, dpi):
        _write_all(others, dpi)
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
