"""The study page: what a person sees and the few things they can choose.

A page holds no formula. A study gives it a function that turns the chosen
values into what to show; the page calls it, keeps order between threads, and
turns an error into a sentence beside the control that caused it.
"""

from __future__ import annotations

import threading
import traceback
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from designkit.errors import DesignkitError
from designkit.figures.type import font_css

__all__ = ["Page"]

HERE = Path(__file__).parent
Show = Callable[[Mapping[str, Any], "str | None"], Mapping[str, Any]]
Act = Callable[[str, Mapping[str, Any]], "Mapping[str, Any] | None"]


class Page(anywidget.AnyWidget):
    """One column: question, drawing, controls, findings, working, options.

    Parameters
    ----------
    show : callable
        ``show(values, changed) -> dict`` with any of "picture" (SVG text),
        "said" (parts to show, or a function that gives them and is called once
        the picture is on its way), "options", "controls" and "values". `changed` is the id of
        the control that moved, None at the start.
    act : callable
        ``act(action, message) -> dict or None`` for buttons and for "look",
        which the page sends once a second while it can be seen. "file" comes
        with the control's id, the file's name and its bytes as "data"; "point"
        with x and y in the drawing's millimetres; "pick" with a table's id and
        a row's.
    """

    _esm = HERE / "page.js"
    _css = HERE / "page.css"
    font_css = traitlets.Unicode("").tag(sync=True)
    controls = traitlets.List().tag(sync=True)
    values = traitlets.Dict().tag(sync=True, echo_update=False)
    said = traitlets.Dict().tag(sync=True)
    options = traitlets.Dict().tag(sync=True)
    picture = traitlets.Unicode("").tag(sync=True)
    asked = traitlets.Int(0).tag(sync=True, echo_update=False)
    answered = traitlets.Int(0).tag(sync=True)

    def __init__(self, show: Show, act: Act) -> None:
        super().__init__(font_css=font_css())
        self._show = show
        self._act = act
        self._lock = threading.RLock()
        self._last: dict[str, Any] = {}
        self._update(lambda: show(dict(self.values), None), control=None)
        self._last = dict(self.values)
        self.observe(self._on_asked, names="asked")
        self.on_msg(self._on_message)

    def _on_asked(self, change: Mapping[str, Any]) -> None:
        with self._lock:
            now = dict(self.values)
            changed = next((k for k in now if now[k] != self._last.get(k)), None)
            self._update(lambda: self._show(now, changed), control=changed)
            self._last = dict(self.values)
            self.answered = change["new"]

    def _on_message(self, _: Any, message: Any, buffers: Any) -> None:
        if not isinstance(message, dict) or "action" not in message:
            return
        if buffers:
            message = {**message, "data": bytes(buffers[0])}
        with self._lock:
            action = str(message["action"])
            self._update(lambda: self._act(action, message), control=action)
            self._last = dict(self.values)

    def _update(self, work: Callable[[], Mapping[str, Any] | None], control: str | None) -> None:
        """Do the work and show it; an error becomes a sentence, never silence."""
        try:
            self._present(work())
        except DesignkitError as error:
            self.said = {**self.said, "error": {"control": control, "text": f"{error}."}}
        except Exception as error:  # a fault of ours: say so and keep the page alive
            self.log.error("".join(traceback.format_exception(error)))
            text = f"This did not work, and it is our fault: {type(error).__name__}, {error}."
            self.said = {**self.said, "error": {"control": control, "text": text}}

    def _present(self, shown: Mapping[str, Any] | None) -> None:
        if shown is None:
            return
        # The picture goes first: it is drawn while the words are put together.
        with self.hold_sync():
            if "values" in shown:
                self.values = {**self.values, **shown["values"]}
            if "picture" in shown and shown["picture"] != self.picture:
                self.picture = shown["picture"]
        words = shown.get("said", {})
        with self.hold_sync():
            if "controls" in shown and shown["controls"] != self.controls:
                self.controls = shown["controls"]
            said = {**self.said, "error": None, **(words() if callable(words) else words)}
            if said != self.said:
                self.said = said
            if "options" in shown and shown["options"] != self.options:
                self.options = shown["options"]
