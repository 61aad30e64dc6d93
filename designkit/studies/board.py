"""The working plan as a page: it carries questions and answers, and holds no formula."""

from __future__ import annotations

import threading
import traceback
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Protocol

import anywidget
import traitlets

from designkit.errors import DesignkitError
from designkit.figures.type import font_css

__all__ = ["Board"]

HERE = Path(__file__).parent
SHOWN = ("ground", "desk", "sheet", "live", "ways")


class _Plan(Protocol):
    def settle(self) -> dict[str, Any]: ...

    def answer(self, steps: Sequence[Mapping[str, Any]]) -> Iterator[dict[str, Any]]: ...


class Board(anywidget.AnyWidget):
    """A plan that is moved by hand.

    Parameters
    ----------
    plan : WorkingPlan
        Answers what the page asks: one question at a time, each with all steps
        since the one before. A move that is followed by another of the same
        piece gives way to it.
    """

    _esm = HERE / "board.js"
    _css = (HERE / "page.css").read_text(encoding="utf-8") + (HERE / "board.css").read_text(
        encoding="utf-8"
    )
    font_css = traitlets.Unicode("").tag(sync=True)
    answered = traitlets.Int(0).tag(sync=True)
    ground = traitlets.Dict().tag(sync=True)
    sheet = traitlets.Dict().tag(sync=True)
    live = traitlets.Dict().tag(sync=True)
    ways = traitlets.Dict().tag(sync=True)
    desk = traitlets.Dict().tag(sync=True)
    said = traitlets.Dict().tag(sync=True)

    def __init__(self, plan: _Plan) -> None:
        super().__init__(font_css=font_css())
        self._plan = plan
        self._lock = threading.RLock()
        self._show(plan.settle())
        self.on_msg(self._on_message)

    def _on_message(self, _: Any, message: Any, buffers: Any) -> None:
        if not isinstance(message, dict) or "steps" not in message:
            return
        steps, n = message["steps"], int(message["n"])
        control = _control(steps[-1]) if steps else ""
        with self._lock:
            try:
                for shown in self._plan.answer(steps):
                    # What comes last says that the answer is whole: the page may ask again.
                    last = "ways" in shown or "sheet" in shown
                    self._show({**shown, "answered": n} if last else shown)
            except DesignkitError as error:
                self._fault(control, f"{error}.")
            except Exception as error:  # a fault of ours: say so and keep the page alive
                self.log.error("".join(traceback.format_exception(error)))
                text = f"This did not work, and it is our fault: {type(error).__name__}, {error}."
                self._fault(control, text)
            else:
                if control == "look" and self._error == "look":
                    self.said = {**self.said, "error": None}  # what could not be read can be now
            self.answered = max(n, self.answered)  # also where something failed

    @property
    def _error(self) -> str:
        """The control whose error is shown."""
        return str((self.said.get("error") or {}).get("control", ""))

    def _fault(self, control: str, text: str) -> None:
        self.said = {**self.said, "error": {"control": control, "text": text}}

    def _show(self, shown: Mapping[str, Any]) -> None:
        with self.hold_sync():
            for name in SHOWN:
                if name in shown and shown[name] != getattr(self, name):
                    setattr(self, name, shown[name])
            said = {**self.said, **shown.get("said", {}), "error": None}
            if said != self.said:
                self.said = said
            if "answered" in shown:
                self.answered = shown["answered"]


def _control(step: Mapping[str, Any]) -> str:
    """The control that a step came from, so that its error stands beside it."""
    return str(step.get("field") or step.get("key") or step.get("do", ""))
