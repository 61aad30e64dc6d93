"""What every study does: hold a desk and its chosen values, answer the common buttons."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from designkit.studies.desk import Desk

__all__ = ["Study"]


class Study:
    """The part of a study that is the same in all of them.

    A study says what it shows (`draw`), what a control changes (`choose`) and
    which sheets its button exports (`sheets`).

    Parameters
    ----------
    desk : Desk
        The project that the study works on.
    """

    sheets: tuple[str, ...] = ()
    cards_on: frozenset[str] = frozenset()  # controls that change the small plans

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.note = desk.note
        self.values: dict[str, Any] = {}

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
        if changed is None:
            return self.draw(cards=True)
        self.values.update(values)
        try:
            self.choose(changed)
        finally:
            self.check_values()
        return self.draw(cards=changed in self.cards_on)

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
        desk = self.desk
        if action == "look":
            if not desk.look():
                return None
            self.note = "Another study kept a change; it is shown here."
        elif action == "undo":
            desk.undo()
        elif action == "redo":
            desk.redo()
        elif action == "keep":
            self.note = desk.keep()
        elif action == "export":
            from designkit.publish import export

            self.note = export(desk.project, folder=desk.folder, names=self.sheets, **self.where())
        elif not self.other(action, message):
            return None
        self.check_values()
        return self.draw(cards=True)

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
            {"id": "keep", "text": "Keep", "off": not self.desk.edits},
            {"id": "undo", "text": "Undo", "off": not self.desk.edits},
            {"id": "redo", "text": "Redo", "off": not self.desk.undone},
            {"id": "export", "text": "Export sheet"},
        ]
