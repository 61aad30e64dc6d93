"""The study page: what a person sees and the few things they can choose.

A page holds no formula. A study gives it a function that turns the chosen
values into what to show; the page calls it, keeps order between threads, and
turns an error into a sentence beside the control that caused it.
"""

from __future__ import annotations

import asyncio
import contextlib
import threading
import traceback
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import anywidget
import traitlets
from IPython import get_ipython

from designkit.errors import DesignkitError, InputError
from designkit.figures.type import font_css
from designkit.studies.incoming import check_value, whole_message

__all__ = ["Page"]

HERE = Path(__file__).parent
PAINTED = 0.03  # s in which the browser has painted a picture; until then its cores are left to it
Show = Callable[[Mapping[str, Any], "str | None"], Mapping[str, Any]]
Act = Callable[[str, Mapping[str, Any]], "Mapping[str, Any] | None"]


class Page(anywidget.AnyWidget):
    """One column: question, drawing, controls, findings, working, options.

    Parameters
    ----------
    show : callable
        ``show(values, changed) -> dict`` with any of "picture" (SVG text),
        "said" (parts to show, or a function that gives all of them and is called
        when a new picture has been painted, if by then it is not yet out of date),
        "options", "controls" and "values". `changed` is the id of the control that
        moved, None at the start. With "draft", a name and a function that writes
        what is not written yet and says whether all of it is on the disk, the
        browser holds what is typed until then.
    act : callable
        ``act(action, message) -> dict or None`` for buttons and for "look",
        which the page sends once a second while it can be seen. "file" comes
        with the control's id, the file's name and its bytes as "data"; "point"
        with x and y in the drawing's millimetres (`said["zoom"]` lets a person come
        closer); "pick" with a table's id and a row's.
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
    draft = traitlets.Unicode("").tag(sync=True)
    safe = traitlets.Int(0).tag(sync=True)  # the last question that is on the disk as well

    def __init__(self, show: Show, act: Act) -> None:
        super().__init__(font_css=font_css())
        self._show = show
        self._act = act
        self._lock = threading.RLock()
        self._last: dict[str, Any] = {}
        self._written: Callable[[], bool] = lambda: False
        self._parts: list[bytes] = []
        self._answering: int | None = 0  # which question they answer
        self._waiting: Callable[[], None] | None = None  # words of a picture on its way
        self._update(lambda: show(dict(self.values), None), control=None)
        self._last = dict(self.values)
        self.observe(self._on_asked, names="asked")
        self.on_msg(self._on_message)

    def _on_asked(self, change: Mapping[str, Any]) -> None:
        with self._lock:
            now = dict(self.values)
            changed = next((k for k in now if now[k] != self._last.get(k)), None)
            self._update(
                lambda: self._show(self._checked(now), changed),
                control=changed,
                asked=change["new"],
            )
            self._last = dict(self.values)

    def _checked(self, now: dict[str, Any]) -> dict[str, Any]:
        """The values, where each that is new is one that its control can give."""
        for control in self.controls:
            id = control["id"]
            if id in now and now[id] != self._last.get(id):
                try:
                    check_value(control, now[id])
                except InputError:
                    self.values = {**now, id: self._last.get(id)}
                    raise
        return now

    def _on_message(self, _: Any, message: Any, buffers: Any) -> None:
        if not isinstance(message, dict) or "action" not in message:
            return
        with self._lock:
            if buffers:
                data = self._whole(message, bytes(buffers[0]))
                if data is None:
                    return
                message = {**message, "data": data}
            if not whole_message(message):
                return
            action = str(message["action"])
            self._update(lambda: self._act(action, message), control=action)
            self._last = dict(self.values)
            if action == "look" and self._written():
                self.safe = self.answered

    def _whole(self, message: Mapping[str, Any], data: bytes) -> bytes | None:
        """The bytes of a file that comes in parts; None until the last one is here."""
        if message.get("part", 0) == 0:
            self._parts = []
        self._parts.append(data)
        if len(self._parts) < message.get("parts", 1):
            return None
        whole, self._parts = b"".join(self._parts), []
        return whole

    def _update(
        self,
        work: Callable[[], Mapping[str, Any] | None],
        control: str | None,
        asked: int | None = None,
    ) -> None:
        """Do the work and show it; an error becomes a sentence, never silence."""
        later = False
        with self._says(control):
            shown = work()
            if shown is not None:
                later = self._present(shown, control, asked)
        if asked is not None and not later:
            self.answered = asked

    @contextlib.contextmanager
    def _says(self, control: str | None) -> Iterator[None]:
        """An error in here becomes a sentence beside its control."""
        try:
            yield
        except DesignkitError as error:
            self._say_waiting()
            self.said = {**self.said, "error": {"control": control, "text": f"{error}."}}
        except Exception as error:  # a fault of ours: say so and keep the page alive
            self._say_waiting()
            self.log.error("".join(traceback.format_exception(error)))
            text = f"This did not work, and it is our fault: {type(error).__name__}, {error}."
            self.said = {**self.said, "error": {"control": control, "text": text}}

    def _present(self, shown: Mapping[str, Any], control: str | None, asked: int | None) -> bool:
        """Show the picture, then the words; True where these wait until it is painted."""
        if not callable(shown.get("said")):
            self._say_waiting()  # these are not all of the words
        if "draft" in shown:
            self.draft, self._written = shown["draft"]
        drawn = "picture" in shown and shown["picture"] != self.picture
        with self.hold_sync():
            if "values" in shown:
                self.values = {**self.values, **shown["values"]}
            if drawn:
                self.picture = shown["picture"]
        loop = _kernel_loop() if drawn and asked is not None else None
        if loop is None or not callable(shown.get("said")):
            waited, self._waiting = self._waiting is not None, None
            self._present_words(shown)
            if waited:  # these words are its answer too
                self.answered = self._answering
            return False

        def words() -> None:
            with self._says(control):
                self._present_words(shown)
            self.answered = asked

        self._waiting, self._answering = words, asked
        loop.call_later(PAINTED, self._say_waiting, words)
        return True

    def _say_waiting(self, only: Callable[[], None] | None = None) -> None:
        """Send the words that wait; with `only`, no others than these."""
        with self._lock:
            words = self._waiting
            if words is None or (only is not None and words is not only):
                return
            self._waiting = None
            words()

    def _present_words(self, shown: Mapping[str, Any]) -> None:
        words = shown.get("said", {})
        with self.hold_sync():
            if "controls" in shown and shown["controls"] != self.controls:
                self.controls = shown["controls"]
            said = {**self.said, "error": None, **(words() if callable(words) else words)}
            if said != self.said:
                self.said = said
            if "options" in shown and shown["options"] != self.options:
                self.options = shown["options"]


def _kernel_loop() -> asyncio.AbstractEventLoop | None:
    """The event loop of the notebook's kernel; None outside of one."""
    if getattr(get_ipython(), "kernel", None) is None:
        return None
    try:
        return asyncio.get_running_loop()
    except RuntimeError:
        return None
