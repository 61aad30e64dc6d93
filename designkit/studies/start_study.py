"""The start page: a room of one's own, the demos, learning, recent projects."""

from __future__ import annotations

import datetime
import os
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from designkit import project as files
from designkit.errors import InputError
from designkit.figures.svg import to_svg
from designkit.shipped import demos, shipped
from designkit.studies import start_places as places
from designkit.studies import start_project as projects
from designkit.studies.page import Page
from designkit.studies.words import brief_items

__all__ = ["Start", "start"]

ROOM = ("my-room", "layout-options")  # the first that ships is where a new project opens
MOST_CARDS = 9


def _here() -> Path:
    """Where new projects are offered: where the command was typed, else at home."""
    here = Path(os.environ.get("DESIGNKIT_HERE") or Path.cwd())
    return here if os.access(here, os.W_OK) else Path.home()


def _free(name: str) -> Path:
    """The folder of that name, or of that name with the next number, that is not there yet."""
    base = _here()
    names = (name, *(f"{name}-{n}" for n in range(2, 10_000)))
    return next(base / n for n in names if not (base / n).exists())


def _place(typed: str) -> Path:
    """The folder that was typed, seen from where the command was typed."""
    text = typed.strip()
    if not text or "\0" in text:
        raise InputError(
            "folder of the new project",
            given=repr(typed),
            allowed="a name, or a path",
            mend=f"write a name, as {_free('my-room').name}",
        )
    return (_here() / Path(text).expanduser()).absolute()


def _day(when: datetime.datetime) -> str:
    return f"{when.day} {when:%b %Y, %H:%M}"


class Start:
    """What the start page shows, and what its buttons do."""

    def __init__(self) -> None:
        self.note = ""
        self.shown: projects.Shown | None = None
        self.gone: places.Recent | None = None
        self.follow = ""  # a study that opens by itself, once
        self.values: dict[str, Any] = {"folder": _free("my-room").name, "units": "m"}
        named = os.environ.get("DESIGNKIT_SHOWN", "")
        rows = places.recent()
        if named:
            self._choose(Path(named), remember=False)
        elif rows:
            self._choose(rows[0].folder, remember=False)
        if self.shown is not None and self.shown.home is not None:
            self.values["units"] = "ft" if self.shown.home.units in ("ft", "in") else "m"

    # --- what is chosen ------------------------------------------------------

    def _choose(self, folder: Path, *, remember: bool = True) -> None:
        """Show a project; say so where it has gone."""
        known = next((r for r in places.recent() if r.folder == folder), None)
        self.follow = ""
        if not places.is_project(folder):
            self.shown = None
            self.gone = known or places.Recent(
                folder=folder, name=folder.name, opened=datetime.datetime.now()
            )
            return
        self.gone = None
        self.shown = projects.look_at(folder, name=known.name if known else "")
        if remember:
            places.remember(folder, self.shown.name)

    def _make(self) -> None:
        """My room: make the project that was named, or open it where it is one already."""
        folder = _place(str(self.values["folder"]))
        if places.is_project(folder):
            self.note = f"{folder} is a project already; it was opened as it is."
        else:
            projects.start_project(folder, feet=self.values["units"] == "ft")
            self.note = f"Made {folder}."
        self._choose(folder)
        self.follow = next(n for n in ROOM if any(b.name == n for b in places.studies_of()))
        self.values["folder"] = _free("my-room").name

    def _demo(self, name: str) -> None:
        folder = files.new(_free(name), demo=name)
        self.note = f"A copy of the demo is in {folder}. It is yours: change what you like."
        self._choose(folder)

    # --- what is shown -------------------------------------------------------

    def _links(self) -> list[dict[str, str]]:
        """The studies of the project, one click each, and the page to learn from."""
        if not os.environ.get("DESIGNKIT_DESK"):
            self.note = self.note or "Start it with `designkit lab`: the studies open from here."
            return []
        learn = {
            "text": "Learn",
            "href": "learn.ipynb",
            "note": "where does this number come from?",
        }
        if self.shown is None or self.shown.home is None:
            return [learn]
        desk = places.on_desk(self.shown.folder)
        if not desk.is_symlink():
            self.note = (
                "The project cannot be written to. Its studies open as copies, and what is kept "
                "in them does not last."
                if not os.access(self.shown.folder, os.W_OK)
                else self.note
            )
        found = []
        for book in places.studies_of():
            href = places.link_of(desk, book.name)
            if book.name == self.follow:
                href += f"#open-{time.time_ns()}"  # see share/lab/designkit-start
            found.append({"text": book.title, "href": href, "note": book.question})
        ours = {book.name for book in places.studies_of()} | set(places.DOORS)
        for path in sorted(desk.glob("*.ipynb")):
            if path.stem not in ours:
                found.append(
                    {
                        "text": path.stem,
                        "href": places.link_of(desk, path.stem),
                        "note": "a notebook of your own",
                    }
                )
        self.follow = ""
        return [*found, {**learn, "href": places.link_of(desk, places.LEARN)}]

    def _cards(self) -> list[dict[str, Any]]:
        """Recent projects, then the demos, each with a small plan."""
        now = self.gone.folder if self.gone else self.shown.folder if self.shown else None
        cards: list[dict[str, Any]] = [
            {
                "id": "room",
                "letter": "",
                "name": "My room",
                "svg": to_svg(projects.room_card(), ids=False),
                "current": False,
                "lines": ["a new project", f"in {_here()}"],
            }
        ]
        for row in places.recent()[:MOST_CARDS]:
            if self.shown is not None and row.folder == self.shown.folder:
                shown: projects.Shown | None = self.shown
            else:
                shown = projects.look_at(row.folder, name=row.name) if row.there else None
            words = "The folder is not there any more." if shown is None else "Has to be mended."
            picture = projects.card_picture(shown, words=words)
            state = [] if shown is not None and shown.home is not None else [words]
            cards.append(
                {
                    "id": f"project:{row.folder}",
                    "letter": "",
                    "name": shown.name if shown is not None else row.name,
                    "svg": to_svg(picture, ids=False),
                    "current": row.folder == now,
                    "lines": [*state, f"opened {_day(row.opened)}", str(row.folder)],
                }
            )
        for name in demos():
            demo = projects.look_at(shipped(f"data/{name}"))
            cards.append(
                {
                    "id": f"demo:{name}",
                    "letter": "",
                    "name": demo.name,
                    "svg": to_svg(projects.card_picture(demo), ids=False),
                    "current": False,
                    "lines": [
                        f"Demo {name.replace('-', ' ')}",
                        "opens as a copy that stays yours",
                    ],
                }
            )
        return cards

    def controls(self) -> list[dict[str, Any]]:
        """The folder of a new project, and how it is measured."""
        return [
            {
                "kind": "field",
                "id": "folder",
                "label": "Folder of the new project",
                "hint": "a name or a path",
            },
            {
                "kind": "words",
                "id": "units",
                "label": "Measured in",
                "choices": [["m", "metric"], ["ft", "feet and inches"]],
            },
        ]

    def _answer(self) -> tuple[str, list[dict[str, str]], str]:
        """The sentence, the brief, and the budget line."""
        if self.gone is not None:
            return (
                f"{self.gone.name} is not in {self.gone.folder} any more. Bring the folder back, "
                "or drop it from the list.",
                [],
                "",
            )
        if self.shown is None:
            return ("Start with your own room, or look round in a demo.", [], "")
        if self.shown.home is None:
            return (
                f"{self.shown.name} cannot be opened yet: something in its files has to be mended.",
                [],
                "",
            )
        answer, lines, money = projects.words_of(self.shown)
        return (f"{answer} {money}".strip(), brief_items(lines), money)

    def _said(self) -> dict[str, Any]:
        answer, brief, _ = self._answer()
        shown = self.shown
        broken = shown is not None and shown.home is None
        actions = []
        if self.gone is not None:
            actions = [{"id": "drop", "text": "Drop from the list", "main": True}]
        where = f"designkit · {shown.name} · {shown.folder}" if shown else "designkit"
        links = self._links()
        return {
            "where": where,
            "question": "Which home are we working on?",
            "answer": answer,
            "brief": brief,
            "links": links,
            "findings": {
                "title": "To mend",
                "rows": [
                    {"state": "to mend", "text": text, "source": shown.folder.name}
                    for text in shown.problems
                ],
                "none": "",
            }
            if broken and shown is not None
            else None,
            "actions": actions,
            "note": self.note,
        }

    def draw(self) -> dict[str, Any]:
        """Everything that the page shows now."""
        picture = ""
        if self.shown is not None and self.shown.home is not None:
            picture = to_svg(projects.plan_of(self.shown.home))
        return {
            "picture": picture,
            "controls": self.controls(),
            "values": dict(self.values),
            "said": self._said,
            "options": {"title": "My room, recent projects, demos", "rows": self._cards()},
        }

    def show(self, values: Mapping[str, Any], changed: str | None) -> dict[str, Any]:
        """Answer a control; None at the start.

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
            return self.draw()
        self.values.update(values)
        if changed == "folder":
            _place(str(self.values["folder"]))  # says at once what is wrong with it
        return {"values": dict(self.values), "said": {"note": self.note}}

    def act(self, action: str, message: Mapping[str, Any]) -> dict[str, Any] | None:
        """Answer a button, a card, or the page's look for what has changed.

        Parameters
        ----------
        action : str
            "drop", "open" or "look".
        message : mapping of str to Any
            What the page sent with it.

        Returns
        -------
        dict of str to Any or None
            For the page; None where nothing has changed.
        """
        if action == "look":
            if self.gone is not None and places.is_project(self.gone.folder):
                self._choose(self.gone.folder)
            elif self.shown is not None and projects.changed(self.shown):
                self._choose(self.shown.folder, remember=False)
            else:
                return None
            return self.draw()
        self.note = ""
        if action == "drop" and self.gone is not None:
            places.drop(self.gone.folder)
            self.note = f"{self.gone.name} was dropped from the list."
            self.gone = None
        elif action == "open":
            kind, _, name = str(message.get("option", "")).partition(":")
            if kind == "room":
                self._make()
            elif kind == "demo" and name in demos():
                self._demo(name)
            elif kind == "project" and any(str(r.folder) == name for r in places.recent()):
                self._choose(Path(name))
            else:
                return None
        else:
            return None
        return self.draw()


def start() -> Page:
    """The start page.

    Returns
    -------
    Page
        Shown by the notebook as the cell's value.
    """
    page = Start()
    return Page(page.show, page.act)
