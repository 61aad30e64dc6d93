"""What every study does: hold a desk and its chosen values, answer the common buttons.

A study that names its `draft` loses nothing that was not kept: its changes of
the project are remembered by themselves, and what stands half typed in its
fields by `typed` and `retype` (see `studies/draft.py`).
"""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from typing import Any

from designkit import project as files
from designkit.errors import DesignkitError
from designkit.model import Home
from designkit.project.edits import now_at, split_path
from designkit.studies.desk import Desk
from designkit.studies.draft import Draft, DraftFile

__all__ = ["Study"]


class Study:
    """The part of a study that is the same in all of them.

    A study says what it shows (`draw`), what a control changes (`choose`) and
    which sheets its button exports (`sheets`). Where it has a `draft`, it also
    says what is half typed (`typed`) and takes that back (`retype`).

    Parameters
    ----------
    desk : Desk
        The project that the study works on.
    """

    sheets: tuple[str, ...] = ()
    cards_on: frozenset[str] = frozenset()  # controls that change the small plans
    draft: str = ""  # name of the file that remembers what was not kept; none without it

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.note = desk.note
        self.values: dict[str, Any] = {}
        self._file = DraftFile(desk.folder, self.draft) if self.draft else None
        self._draft: Draft | None = None
        self._blank: dict[str, Any] | None = None  # the values when nothing was typed
        self._troubled = ""
        self._restore_steps()
        desk.on_change = self.remember

    # --- nothing that was typed is lost ------------------------------------------

    def typed(self) -> dict[str, Any]:
        """What stands half typed and is worth remembering; nothing, unless a study says so.

        Returns
        -------
        dict of str to Any
            What JSON holds, and bytes of a chosen file; {} where nothing is typed.
        """
        return {}

    def retype(self, values: Mapping[str, Any]) -> None:
        """Take back what `typed` gave, before the first picture.

        What cannot be read any more is left in its field and said, not raised.

        Parameters
        ----------
        values : mapping of str to Any
            As from `typed`, read from the file: tuples are lists.
        """

    def typed_in(self, *ids: str) -> dict[str, Any]:
        r"""Those values that are not as the page began, or as they were last kept.

        Parameters
        ----------
        \*ids : str
            Of controls.

        Returns
        -------
        dict of str to Any
            For `typed`.
        """
        blank = self._blank or {}
        return {id: self.values[id] for id in ids if self.values[id] != blank.get(id)}

    def settled(self) -> None:
        """What stands in the fields has been kept: it is not half typed any more."""
        self._blank = copy.deepcopy(self.values)

    def begin(self) -> None:
        """Take back what was half typed, once; called before the first picture."""
        if self._blank is not None:
            return
        self.settled()
        if self._draft is not None and self._draft.values:
            self.retype(self._draft.values)
            self.check_values()

    def remember(self) -> None:
        """Put what was not kept into the draft; costs nothing where nothing has changed."""
        if self._file is None:
            return
        values: Mapping[str, Any] = self._draft.values if self._draft is not None else {}
        if self._blank is not None:
            values = self.typed()
        self._file.put([*self.desk.left, *self.desk.edits], values)

    def brought_back(self, draft: Draft) -> str:
        """What a draft gave back, in a sentence.

        Parameters
        ----------
        draft : Draft
            As it was read; the desk has taken its steps, but for those that it has `left`.

        Returns
        -------
        str
            As "Brought back from 25 Nov 2026, 16:02: 2 changes that were not kept."
        """
        count = len(self.desk.edits)
        parts = []
        if count:
            parts.append(
                f"{count} {'change that was' if count == 1 else 'changes that were'} not kept"
            )
        if draft.values:
            parts.append("what was typed in the fields")
        return f"Brought back from {draft.written}: {' and '.join(parts)}." if parts else ""

    def _restore_steps(self) -> None:
        """Do the changes of the draft again; those that no longer fit are told in words."""
        if self._file is None:
            return
        self._draft = draft = self._file.read()
        if draft is None:
            return
        self.desk.take(draft.steps)
        said = [self.note, self.brought_back(draft)]
        if self.desk.left:
            rows = "; ".join(f"{what}: {typed}" for what, typed, _ in self._left_rows())
            said.append(
                f"Not brought back, as the project no longer takes it: {rows}. "
                "It is remembered until you press Keep."
            )
        self.note = " ".join(one for one in said if one)

    def _left_rows(self) -> list[list[str]]:
        """What was typed and no longer fits, one row a value, beside what the project has."""
        stored = self.desk.opened.stored
        return [
            [
                path_words(edit.path, self.desk.home),
                value_words(edit.new),
                value_words(now_at(stored.raw, stored.sheets, edit.path)),
            ]
            for step in self.desk.left
            for edit in step
        ]

    def _with_left(self, shown: dict[str, Any]) -> dict[str, Any]:
        """The page with what could not be brought back, and what keeps the draft from the disk."""
        trouble = ""
        if self._file is not None:
            trouble = self._file.trouble
            shown = {**shown, "draft": (f"{self.desk.folder} {self.draft}", self._file.flush)}
        self._troubled = trouble
        if not (trouble or self.desk.left) or "said" not in shown:
            return shown
        said = shown["said"]

        def more() -> dict[str, Any]:
            words = dict(said() if callable(said) else said)
            words["note"] = f"{words.get('note', '')} {trouble}".strip()
            if self.desk.left:
                table = {
                    "title": "Typed and not brought back",
                    "note": "the project has changed there",
                    "head": ["what", "typed", "in the project"],
                    "align": ["", "", ""],
                    "rows": self._left_rows(),
                }
                words["tables"] = [table, *words.get("tables", [])]
            return words

        return {**shown, "said": more if callable(said) else more()}

    def draw(self, *, cards: bool = False) -> dict[str, Any]:
        """Everything that the page shows now.

        Parameters
        ----------
        cards : bool, optional
            Whether the small plans are drawn again.

        Returns
        -------
        dict of str to Any
            For the page.

        Raises
        ------
        NotImplementedError
            The study does not say what it shows.
        """
        raise NotImplementedError

    def choose(self, changed: str) -> None:
        """Take in a control that moved; `values` holds its new value.

        Parameters
        ----------
        changed : str
            Its id.
        """

    def check_values(self) -> None:
        """Bring the values into line with a project that has changed."""

    def other(self, action: str, message: Mapping[str, Any]) -> bool:
        """Do a button of the study's own; False where it knows none.

        Parameters
        ----------
        action : str
            Id of the button.
        message : mapping of str to Any
            What the page sent with it.

        Returns
        -------
        bool
            Whether it was one of them.
        """
        return False

    def where(self) -> dict[str, str]:
        """What the exported sheets are about, beside the project."""
        return {}

    def export(self) -> str:
        """Write the study's sheets into the project folder.

        Returns
        -------
        str
            What was written and where, in a sentence.
        """
        from designkit.publish import export

        desk = self.desk
        return export(desk.project, folder=desk.folder, names=self.sheets, **self.where())

    def show(self, values: Mapping[str, Any], changed: str | None) -> dict[str, Any]:
        """Answer a control that moved; None at the start.

        Parameters
        ----------
        values : mapping of str to Any
            Of all controls.
        changed : str or None
            Id of the control.

        Returns
        -------
        dict of str to Any
            For the page.
        """
        self.begin()
        if changed is None:
            return self._with_left(self.draw(cards=True))
        self.values.update(values)
        try:
            try:
                self.choose(changed)
            finally:
                self.check_values()
            shown = self.draw(cards=changed in self.cards_on)
        finally:
            self.remember()
        return self._with_left(shown)

    def act(self, action: str, message: Mapping[str, Any]) -> dict[str, Any] | None:
        """Answer a button, or the page's look for what others kept.

        Parameters
        ----------
        action : str
            Id of the button, or "look".
        message : mapping of str to Any
            What the page sent with it.

        Returns
        -------
        dict of str to Any or None
            For the page; None where nothing has changed.
        """
        self.begin()
        if action == "look":
            if not self._look():
                return None
        else:
            try:
                if not self._done(action, message):
                    return None
            finally:
                self.remember()
        self.check_values()
        shown = self.draw(cards=True)
        self.remember()
        return self._with_left(shown)

    def _look(self) -> bool:
        """Take in what others kept; True where the page has something new to say."""
        desk = self.desk
        try:
            changed = desk.look()
        except DesignkitError:
            if files.changed_since(desk.opened):
                raise
            # Read, but our own changes start from what is no longer there.
            desk.give_way()
            self.note = (
                "Another study kept changes of the same things; those are shown here, "
                "and what does not fit them stands in the table."
            )
            return True
        if changed:
            self.note = "Another study kept a change; it is shown here."
        return changed or (self._file is not None and self._file.trouble != self._troubled)

    def _done(self, action: str, message: Mapping[str, Any]) -> bool:
        """Do a button; False where nobody knows it."""
        desk = self.desk
        if action == "undo":
            desk.undo()
        elif action == "redo":
            desk.redo()
        elif action == "keep":
            self.note = desk.keep()
            self.settled()
        elif action == "export":
            self.note = self.export()
        else:
            return self.other(action, message)
        return True

    def actions(self, *more: dict[str, Any]) -> list[dict[str, Any]]:
        r"""The buttons under the page.

        Parameters
        ----------
        \*more : dict
            Buttons of the study's own, which come first.

        Returns
        -------
        list of dict of str to Any
            Id, text, and whether it is off.
        """
        return [
            *more,
            {"id": "keep", "text": "Keep", "off": not (self.desk.edits or self.desk.left)},
            {"id": "undo", "text": "Undo", "off": not self.desk.edits},
            {"id": "redo", "text": "Redo", "off": not self.desk.undone},
            {"id": "export", "text": "Export sheet"},
        ]


def path_words(path: str, home: Home) -> str:
    """Where a change of the project is, with the names of things for their ids.

    Parameters
    ----------
    path : str
        As "layouts.a.pieces.sofa.at".
    home : Home
        Gives the names.

    Returns
    -------
    str
        As "layouts, Two groups, pieces, sofa, at".
    """
    table, keys = split_path(path)
    words, thing = [table] if table else [], None if table else home
    for key in keys:
        inner: Any = thing.get(key) if isinstance(thing, Mapping) else getattr(thing, key, None)
        name = getattr(inner, "name", "") if isinstance(thing, Mapping) else ""
        words.append(str(name or key.replace("_", " ")))
        thing = inner
    return ", ".join(words)


def value_words(value: object) -> str:
    """A value of a change as a person reads it.

    Parameters
    ----------
    value : object
        As the file writes it.

    Returns
    -------
    str
        "nothing" for what is not there.
    """
    if value is None:
        return "nothing"
    if isinstance(value, Mapping):
        return ", ".join(f"{key.replace('_', ' ')} {value_words(v)}" for key, v in value.items())
    if isinstance(value, Sequence) and not isinstance(value, str):
        return ", ".join(value_words(v) for v in value)
    return str(value)
