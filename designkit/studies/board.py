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
        Answers what the page asks. The page sends all steps that have not
        been answered yet, so that none is lost or done out of order; a move
        that is followed by another of the same piece takes its place.
    """

    _esm = HERE / "board.js"
    _css = (HERE / "page.css").read_text(encoding="utf-8") + (HERE / "board.css").read_text(
        encoding="utf-8"
    )
    font_css = traitlets.Unicode("").tag(sync=True)
    asked = traitlets.Dict().tag(sync=True)  # n, steps
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
        self.observe(self._on_asked, names="asked")

    def _on_asked(self, change: Mapping[str, Any]) -> None:
        asked = change["new"]
        steps = asked.get("steps", [])
        control = str(steps[-1].get("do", "")) if steps else ""
        with self._lock:
            try:
                for shown in self._plan.answer(steps):
                    self._show({**shown, "answered": int(asked.get("n", 0))})
            except DesignkitError as error:
                self._fault(control, f"{error}.")
            except Exception as error:  # a fault of ours: say so and keep the page alive
                self.log.error("".join(traceback.format_exception(error)))
                text = f"This did not work, and it is our fault: {type(error).__name__}, {error}."
                self._fault(control, text)
            self.answered = int(asked.get("n", 0))

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
