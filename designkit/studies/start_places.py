"""Where things lie: the user's own data folder, the desk, the recent projects.

One JupyterLab serves projects that lie anywhere. Its root is the *desk*, a
small folder in the user's data folder. The desk holds the start page and, for
each project that was opened, a link to the project's own `studies` folder. The
notebooks stay in the project, and a study finds its project by looking upwards
from where it runs. Where no link can be made (a project that cannot be written
to, a system without links) the desk holds copies and a small file that names
the project.
"""

from __future__ import annotations

import contextlib
import datetime
import json
import os
import re
import shutil
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from designkit.errors import FileFormatError
from designkit.shipped import shipped

__all__ = [
    "POINTER",
    "Recent",
    "StudyBook",
    "data_folder",
    "desk_folder",
    "drop",
    "is_project",
    "link_of",
    "on_desk",
    "recent",
    "remember",
    "studies_of",
]

LEARN = "learn"  # beside a project it begins with the project's own values
DOORS = ("start", LEARN)  # pages that need no project
# The order in which a home is worked on.
ORDER = (
    "my-room",
    "from-a-plan",
    "brief",
    "working-plan",
    "layout-options",
    "on-the-spot",
    "light",
    "swatches",
    "photograph-values",
    "share-of-black",
    "take-off",
    "price-list",
    "budget-scenarios",
)
POINTER = "project.path"  # names the project where the desk holds copies
MOST = 24  # projects that are remembered


@dataclass(frozen=True, kw_only=True)
class Recent:
    """A project that was opened: where it lies, its name, and when."""

    folder: Path
    name: str
    opened: datetime.datetime

    @property
    def there(self) -> bool:
        """Whether it still is where it was."""
        return is_project(self.folder)


@dataclass(frozen=True, kw_only=True)
class StudyBook:
    """A notebook that ships: its file name, its title and its question."""

    name: str
    title: str
    question: str


def is_project(folder: Path) -> bool:
    """Whether a folder holds a project.

    Parameters
    ----------
    folder : Path
        Any folder, also one that is not there.

    Returns
    -------
    bool
        False as well where one may not look.
    """
    try:
        return (folder / "project.toml").is_file()
    except OSError:
        return False


def data_folder() -> Path:
    """The folder of designkit among the user's own data; made where it is not there.

    Returns
    -------
    Path
        Under $XDG_DATA_HOME where that is an absolute path, else where the
        system keeps such data.

    Raises
    ------
    FileFormatError
        It cannot be made.
    """
    named = os.environ.get("XDG_DATA_HOME", "")
    if os.path.isabs(named):
        base = Path(named)
    elif sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Application Support"
    else:
        base = Path.home() / ".local" / "share"
    place = base / "designkit"
    try:
        place.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileFormatError(
            "data folder",
            given=f"{place}: {error.strerror or error}",
            allowed="a folder that can be written to",
            mend="name another one in the variable XDG_DATA_HOME",
        ) from None
    return place


def desk_folder() -> Path:
    """The root of the server, with the pages that belong to no project.

    Returns
    -------
    Path
        A folder under `data_folder`.

    Raises
    ------
    FileFormatError
        It cannot be made or written to.
    """
    place = data_folder() / "desk"
    try:
        place.mkdir(exist_ok=True)
        for name in DOORS:
            book = shipped(f"notebooks/{name}.ipynb")
            mine = place / book.name
            # ours, not the person's: always as it ships
            if not mine.is_file() or mine.read_bytes() != book.read_bytes():
                shutil.copyfile(book, mine)
        for link in place.iterdir():
            if link.is_symlink() and not link.exists():  # its project has gone
                link.unlink()
    except OSError as error:
        raise FileFormatError(
            "data folder",
            given=f"{error.filename or place}: {error.strerror or error}",
            allowed="a folder that can be written to",
            mend="mend its permissions, or name another one in the variable XDG_DATA_HOME",
        ) from None
    return place


def _turn(path: Path) -> tuple[int, str]:
    place = ORDER.index(path.stem) if path.stem in ORDER else len(ORDER)
    return (place, path.stem)


def studies_of() -> tuple[StudyBook, ...]:
    """The studies that ship, with their questions.

    Returns
    -------
    tuple of StudyBook
        In the order of the work, others after them by name.
    """
    found = []
    for path in sorted(shipped("notebooks").glob("*.ipynb"), key=_turn):
        if path.stem in DOORS:
            continue
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        words = next(("".join(c["source"]) for c in cells if c["cell_type"] == "markdown"), "")
        title = re.search(r"^#+\s*(.+)$", words, re.MULTILINE)
        rest = re.sub(r"^#.*$", "", words, flags=re.MULTILINE)
        question = re.search(r"[^.?!\n]*\?", rest) or re.search(r"[^.?!\n]+[.!]", rest)
        found.append(
            StudyBook(
                name=path.stem,
                title=title[1].strip() if title else path.stem.replace("-", " "),
                question=question[0].strip() if question else "",
            )
        )
    return tuple(found)


def _copy_books(into: Path) -> None:
    for name in [*(book.name for book in studies_of()), LEARN]:
        if not (into / f"{name}.ipynb").exists():
            shutil.copyfile(shipped(f"notebooks/{name}.ipynb"), into / f"{name}.ipynb")


def _beside(folder: Path) -> Path | None:
    """The project's own notebooks, made where they are missing; None where none can be."""
    books = folder / "studies"
    try:
        books.mkdir(exist_ok=True)
        _copy_books(books)
    except OSError:
        return None
    return books


def _names(folder: Path) -> list[str]:
    base = folder.name.strip(". ") or "project"
    return [base, *(f"{base}-{n}" for n in range(2, 1000))]


def on_desk(folder: Path) -> Path:
    """Lay the studies of a project on the desk.

    Notebooks are copied into the project's `studies` folder where they are not
    there yet, so that what a person changes in them stays with the project.

    Parameters
    ----------
    folder : Path
        The project.

    Returns
    -------
    Path
        Their folder on the desk.

    Raises
    ------
    FileFormatError
        The desk cannot be written to.
    """
    desk = desk_folder()
    folder = folder.resolve()
    books = _beside(folder)
    for name in _names(folder):
        place = desk / name
        if place.is_symlink():
            if books is not None and place.resolve() == books.resolve():
                return place
        elif (place / POINTER).is_file():
            if (place / POINTER).read_text(encoding="utf-8") == str(folder):
                _copy_books(place)
                return place
        elif not place.exists():
            return _lay(place, folder=folder, books=books)
    raise FileFormatError(
        "desk", given=str(desk), allowed="fewer projects of one name", mend="empty the folder"
    )


def _lay(place: Path, *, folder: Path, books: Path | None) -> Path:
    """Link the studies to a free name on the desk; copies where that cannot be."""
    if books is not None:
        try:
            place.symlink_to(books, target_is_directory=True)
            return place
        except OSError:
            pass  # a system that has no links, or asks for a privilege
    try:
        place.mkdir()
        (place / POINTER).write_text(str(folder), encoding="utf-8")
        _copy_books(place)
    except OSError as error:
        raise FileFormatError(
            "desk",
            given=f"{place}: {error.strerror or error}",
            allowed="a folder that can be written to",
            mend="mend its permissions, or name another one in the variable XDG_DATA_HOME",
        ) from None
    return place


def link_of(place: Path, name: str) -> str:
    """Where a notebook on the desk is opened, seen from the start page.

    Parameters
    ----------
    place : Path
        From `on_desk`.
    name : str
        Of the notebook, without its ending.

    Returns
    -------
    str
        A link in relation to the start page, which stands at the root.

    Examples
    --------
    >>> link_of(Path("desk") / "Anna's flat", "light")
    'Anna%27s%20flat/light.ipynb'
    """
    return f"{quote(place.name)}/{quote(name)}.ipynb"


# --- recent projects ---------------------------------------------------------


def _store() -> Path:
    return data_folder() / "recent.json"


def recent() -> tuple[Recent, ...]:
    """The projects that were opened, the last one first.

    Returns
    -------
    tuple of Recent
        Empty where none was, or where the list cannot be read.
    """
    try:
        rows = json.loads(_store().read_text(encoding="utf-8"))
        found = [
            Recent(
                folder=Path(row["folder"]),
                name=str(row["name"]),
                opened=datetime.datetime.fromisoformat(row["opened"]),
            )
            for row in rows
        ]
    except (OSError, ValueError, TypeError, KeyError, FileFormatError):
        return ()  # a list of conveniences: never a reason not to open
    return tuple(sorted(found, key=lambda r: r.opened, reverse=True))


def _write(rows: Sequence[Recent]) -> None:
    text = json.dumps(
        [
            {"folder": str(r.folder), "name": r.name, "opened": r.opened.isoformat()}
            for r in rows[:MOST]
        ],
        indent=1,
        ensure_ascii=False,
    )
    place = _store()
    handle, scratch = tempfile.mkstemp(dir=place.parent, prefix=".recent-")
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text + "\n")
        os.replace(scratch, place)  # old or new, never half
    except OSError:
        with contextlib.suppress(OSError):
            os.unlink(scratch)
        raise


def remember(folder: Path, name: str, *, when: datetime.datetime | None = None) -> None:
    """Note that a project was opened.

    Parameters
    ----------
    folder : Path
        The project.
    name : str
        What it is called.
    when : datetime, optional
        Now without it.

    Raises
    ------
    FileFormatError
        The data folder cannot be made.
    """
    folder = folder.resolve()
    rest = [r for r in recent() if r.folder != folder]
    now = when or datetime.datetime.now().replace(microsecond=0)
    _write(
        sorted(
            [Recent(folder=folder, name=name, opened=now), *rest],
            key=lambda r: r.opened,
            reverse=True,
        )
    )


def drop(folder: Path) -> None:
    """Take a project off the list; its files stay as they are.

    Parameters
    ----------
    folder : Path
        As it stands in the list.

    Raises
    ------
    FileFormatError
        The data folder cannot be made.
    """
    _write([r for r in recent() if r.folder != folder])
