"""An open project on the desk: what was changed, undone, kept.

All four studies hold their project through a `Desk`. A change is a list of
edits; undo, keep and "somebody else kept something" are done on that list.
"""

from __future__ import annotations

import dataclasses
import datetime
import os
import tempfile
from collections.abc import Sequence
from pathlib import Path

from designkit import project as files
from designkit.errors import InputError
from designkit.model import Edit, Home, Project
from designkit.studies.start_places import POINTER

__all__ = ["Desk", "find_project"]

DEMO = "harbour-flat"


def find_project(given: str | os.PathLike[str] | None = None) -> tuple[Path, str]:
    """The project a study opens, and a sentence where it was not named.

    Parameters
    ----------
    given : path, optional
        A project folder. Else $DESIGNKIT_PROJECT, else a folder at or above
        the working directory with a project.toml or a file that names the
        project, else a copy of the demo in a fresh temporary folder.

    Returns
    -------
    folder : Path
    note : str
        What to tell the person, "" where there is nothing to tell.

    Raises
    ------
    InputError
        The named folder holds no project.toml.
    """
    named = given or os.environ.get("DESIGNKIT_PROJECT")
    if named:
        folder = Path(named).expanduser()
        if not (folder / "project.toml").is_file():
            raise InputError(
                "project folder",
                given=str(named),
                allowed="a folder that holds project.toml",
                mend="make one with `designkit new FOLDER`",
            )
        return folder, ""
    here = Path.cwd()
    for folder in (here, *here.parents):
        if (folder / "project.toml").is_file():
            return folder, ""
        if (folder / POINTER).is_file():  # copies on the desk of `designkit lab`
            return find_project((folder / POINTER).read_text(encoding="utf-8"))
    folder = Path(tempfile.mkdtemp(prefix="designkit-")) / DEMO
    files.new(folder, demo=DEMO)
    return folder, (
        "This is a passing copy of the demo. `designkit new FOLDER` makes one that stays yours."
    )


class Desk:
    """The project that a study works on.

    Parameters
    ----------
    given : path, optional
        See `find_project`.
    """

    def __init__(self, given: str | os.PathLike[str] | None = None) -> None:
        self.folder, self.note = find_project(given)
        self.opened = files.read(self.folder)
        self.edits: list[tuple[Edit, ...]] = []
        self.undone: list[tuple[Edit, ...]] = []
        self.project: Project = self.opened.project
        self.kept_at = ""

    @property
    def home(self) -> Home:
        """The home as it stands now, changes included."""
        return self.project.home

    def _all(self) -> list[Edit]:
        return [edit for step in self.edits for edit in step]

    def _apply(self) -> None:
        self.project = files.apply(self.opened, self._all())

    def do(self, step: Sequence[Edit], *, merge: bool = False) -> None:
        """Change the project in memory.

        Parameters
        ----------
        step : sequence of Edit
            One step for undo.
        merge : bool
            Join it to the last step where that changed the same paths, so
            that a dragged slider is one step.
        """
        step = tuple(e for e in step if e.old != e.new)
        if not step:
            return
        if merge and self.edits and [e.path for e in self.edits[-1]] == [e.path for e in step]:
            step = tuple(
                Edit(path=b.path, old=a.old, new=b.new) for a, b in zip(self.edits[-1], step)
            )
            self.edits.pop()
        self.edits.append(step)
        self.undone.clear()
        self._apply()

    def forget(self, path: str) -> None:
        """Drop the changes below a path that were not kept.

        Parameters
        ----------
        path : str
            As "layouts.a.pieces".
        """
        rest = (tuple(e for e in step if not e.path.startswith(path)) for step in self.edits)
        self.edits = [step for step in rest if step]
        self.undone.clear()
        self._apply()

    def free_id(self, table: str) -> str:
        """A short id that no entry of a table has: a, b, c …, then a1, b1 and so on.

        Parameters
        ----------
        table : str
            As "layouts".

        Returns
        -------
        str
            The first that is free.
        """
        taken = getattr(self.home, table)
        letters = [chr(c) for c in range(ord("a"), ord("z") + 1)]
        numbers = ["", *(str(n) for n in range(1, 1000))]
        return next(c + n for n in numbers for c in letters if c + n not in taken)

    def add(self, table: str, id: str, value: object) -> None:
        """Put a new entry into a table of the home, as one step.

        Parameters
        ----------
        table : str
            As "layouts".
        id : str
            Of the new entry.
        value : object
            A dataclass of the model.
        """
        entries = {**getattr(self.home, table), id: value}
        new = dataclasses.replace(
            self.project, home=dataclasses.replace(self.home, **{table: entries})
        )
        self.do(files.changes_between(self.project, new))

    def undo(self) -> bool:
        """Take the last step back; False where there is none."""
        if not self.edits:
            return False
        self.undone.append(self.edits.pop())
        self._apply()
        return True

    def redo(self) -> bool:
        """Do the last step again that was taken back; False where there is none."""
        if not self.undone:
            return False
        self.edits.append(self.undone.pop())
        self._apply()
        return True

    def keep(self) -> str:
        """Write the changes to the project's files; a sentence says what happened."""
        if not self.edits:
            return "Nothing has changed since it was last kept."
        self.opened = files.save(self.opened, self._all())
        self.edits, self.undone = [], []
        self.project = self.opened.project
        self.kept_at = datetime.datetime.now().strftime("%-d %b %Y, %H:%M")
        if self.opened.conflicts:
            held = "; ".join(
                f"{c.path}: here {c.ours}, there {c.theirs}" for c in self.opened.conflicts
            )
            return f"Kept, but somebody else changed the same things. Not overwritten: {held}."
        return f"last kept {self.kept_at}"

    def look(self) -> bool:
        """Take in what another study kept; True where something changed."""
        if not files.changed_since(self.opened):
            return False
        self.opened = files.read(self.folder)
        self._apply()
        return True
