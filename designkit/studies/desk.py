"""An open project on the desk: what was changed, undone, kept.

Every study holds their project through a `Desk`. A change is a list of
edits; undo, keep and "somebody else kept something" are done on that list.
"""

from __future__ import annotations

import contextlib
import dataclasses
import datetime
import os
import tempfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

from designkit import project as files
from designkit.days import moment_words
from designkit.errors import DesignkitError, InputError
from designkit.model import Edit, Home, Project
from designkit.project.edits import applied, is_now
from designkit.studies.start_places import POINTER

__all__ = ["Desk", "find_project", "project_near"]

DEMO = "harbour-flat"


def project_near(given: str | os.PathLike[str] | None = None) -> Path | None:
    """The project that was named, or the one around the working directory.

    Parameters
    ----------
    given : path, optional
        A project folder. Else $DESIGNKIT_PROJECT, else a folder at or above
        the working directory with a project.toml or a file that names the
        project.

    Returns
    -------
    Path or None
        None where there is none.

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
        return folder
    here = Path.cwd()
    for folder in (here, *here.parents):
        if (folder / "project.toml").is_file():
            return folder
        if (folder / POINTER).is_file():  # copies on the desk of `designkit lab`
            return project_near((folder / POINTER).read_text(encoding="utf-8"))
    return None


def find_project(given: str | os.PathLike[str] | None = None) -> tuple[Path, str]:
    """The project a study opens, and a sentence where it was not named.

    Parameters
    ----------
    given : path, optional
        As `project_near`; where there is none, a copy of the demo is made in a
        fresh temporary folder.

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
    near = project_near(given)
    if near is not None:
        return near, ""
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
        self.left: list[tuple[Edit, ...]] = []  # steps that no longer fit, until the next keep
        self.kept_at = ""
        self.on_change: Callable[[], None] = lambda: None  # called when a step was done or undone

    @property
    def home(self) -> Home:
        """The home as it stands now, changes included."""
        return self.project.home

    def _all(self) -> list[Edit]:
        return [edit for step in self.edits for edit in step]

    @contextlib.contextmanager
    def _whole(self) -> Iterator[None]:
        """What is changed in here is done; where it is refused, the desk is as it was."""
        edits, undone = list(self.edits), list(self.undone)
        try:
            yield
            self.project = files.apply(self.opened, self._all())
        except BaseException:
            self.edits, self.undone = edits, undone
            raise
        self.on_change()

    def do(self, step: Sequence[Edit], *, merge: bool = False) -> None:
        """Change the project in memory.

        Parameters
        ----------
        step : sequence of Edit
            One step for undo.
        merge : bool
            Join it to the last step where that changed the same paths, so
            that a dragged slider is one step.

        Raises
        ------
        DesignkitError
            The changed project would have problems; the desk is as it was.
        """
        step = tuple(e for e in step if e.old != e.new)
        if not step:
            return
        with self._whole():
            if merge and self.edits and [e.path for e in self.edits[-1]] == [e.path for e in step]:
                before = self.edits.pop()
                both = (Edit(path=b.path, old=a.old, new=b.new) for a, b in zip(before, step))
                step = tuple(e for e in both if e.old != e.new)  # back where it was: no step
            if step:
                self.edits.append(step)
            self.undone.clear()

    def take(self, steps: Sequence[Sequence[Edit]]) -> None:
        """Do steps again that were not kept, as many as the project still takes.

        A step whose values the project's files say already is passed over; one
        that no longer fits is `left`.

        Parameters
        ----------
        steps : sequence of sequence of Edit
            In order.
        """
        stored = self.opened.stored
        last = {edit.path: edit.new for step in steps for edit in step}
        there = {path for path, new in last.items() if is_now(stored.raw, stored.sheets, path, new)}
        rest = [tuple(s) for s in steps if not {edit.path for edit in s} <= there]
        good = list(self.edits)
        opened = applied(self.opened, self._all())
        try:
            opened = applied(opened, [edit for step in rest for edit in step])
            good += rest
        except DesignkitError:
            for step in rest:
                try:
                    opened = applied(opened, step)
                    good.append(step)
                except DesignkitError:
                    self.left.append(step)
        self.edits, self.project = good, opened.project
        self.on_change()

    def give_way(self) -> None:
        """Leave those own steps that start from what is no longer there."""
        steps, self.edits = self.edits, []
        self.undone.clear()
        self.take(steps)

    def forget(self, path: str) -> None:
        """Drop the changes below a path that were not kept.

        Parameters
        ----------
        path : str
            As "layouts.a.pieces".
        """
        with self._whole():
            rest = (tuple(e for e in step if not e.path.startswith(path)) for step in self.edits)
            self.edits = [step for step in rest if step]
            self.undone.clear()

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
        more: dict[str, Any] = {table: {**getattr(self.home, table), id: value}}
        home = dataclasses.replace(self.home, **more)
        self.do(files.changes_between(self.project, dataclasses.replace(self.project, home=home)))

    def undo(self) -> bool:
        """Take the last step back; False where there is none."""
        if not self.edits:
            return False
        with self._whole():
            self.undone.append(self.edits.pop())
        return True

    def redo(self) -> bool:
        """Do the last step again that was taken back; False where there is none."""
        if not self.undone:
            return False
        with self._whole():
            self.edits.append(self.undone.pop())
        return True

    def keep(self) -> str:
        """Write the changes to the project's files; a sentence says what happened."""
        if not self.edits:
            gone, self.left = self.left, []
            self.on_change()
            if gone:
                return "What no longer fitted is let go; the project is as it was."
            return "Nothing has changed since it was last kept."
        self.opened = files.save(self.opened, self._all())
        self.edits, self.undone, self.left = [], [], []
        self.project = self.opened.project
        self.kept_at = moment_words(datetime.datetime.now())
        self.on_change()
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
        with self._whole():
            pass
        return True
