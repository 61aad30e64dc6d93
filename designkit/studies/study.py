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
    """

    sheets: tuple[str, ...] = ()
    cards_on: frozenset[str] = frozenset()  # controls that change the small plans

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.note = desk.note
        self.values: dict[str, Any] = {}

    def draw(self, *, cards: bool = False) -> dict[str, Any]:
        """Everything that the page shows now."""
        raise NotImplementedError

    def choose(self, changed: str) -> None:
        """Take in a control that moved; `values` holds its new value."""

    def check_values(self) -> None:
        """Bring the values into line with a project that has changed."""

    def other(self, action: str, message: Mapping[str, Any]) -> bool:
        """Do a button of the study's own; False where it knows none."""
        return False

    def where(self) -> dict[str, str]:
        """What the exported sheets are about, beside the project."""
        return {}

    def show(self, values: Mapping[str, Any], changed: str | None) -> dict[str, Any]:
        """Answer a control that moved; None at the start."""
        if changed is None:
            return self.draw(cards=True)
        self.values.update(values)
        try:
            self.choose(changed)
        finally:
            self.check_values()
        return self.draw(cards=changed in self.cards_on)

    def act(self, action: str, message: Mapping[str, Any]) -> dict[str, Any] | None:
        """Answer a button, or the page's look for what others kept."""
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
        """The buttons under the page."""
        return [
            *more,
            {"id": "keep", "text": "Keep", "off": not self.desk.edits},
            {"id": "undo", "text": "Undo", "off": not self.desk.edits},
            {"id": "redo", "text": "Redo", "off": not self.desk.undone},
            {"id": "export", "text": "Export sheet"},
        ]
