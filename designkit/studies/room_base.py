"""What the page "my room" holds: its rooms as they were typed, the draft of what is not kept."""

from __future__ import annotations

import contextlib
import dataclasses
import re
from collections.abc import Mapping, Sequence
from typing import Any

from designkit import project as files
from designkit.analyses.of_layout import LayoutResult
from designkit.analyses.of_putting import Put
from designkit.analyses.of_walks import Walked, survey_of, walked
from designkit.errors import DesignkitError
from designkit.model import Edit, Home, Walk
from designkit.plan.box import box_groups
from designkit.plan.survey import Survey
from designkit.plan.survey_words import lines_of, walk_of
from designkit.studies.desk import Desk
from designkit.studies.draft import Draft
from designkit.studies.room_controls import papers_of, size_text
from designkit.studies.room_forms import FIELDS
from designkit.studies.study import Study

__all__ = ["FORM", "RoomBase"]

FORM = {**dict.fromkeys((*FIELDS, "name_of"), ""), "what": "door", "corner": "at",
        "source_of": "measured", "swing": "in", "leaf": "fixed", "leaves": "1"}  # fmt: skip


class RoomBase(Study):
    """Rooms, walks and the draft of the page "my room".

    Parameters
    ----------
    desk : Desk
        The project that the study works on.
    """

    draft = "my-room"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._puts: tuple[Put, ...] = ()  # places of the piece that was put in last
        self._at = 0
        self._refused: dict[str, Walk] = {}  # typed, and not taken by the project
        self._trouble: DesignkitError | None = None
        self._thumbs: dict[tuple[str, int], tuple[bytes, tuple[int, int]]] = {}
        self._walked: tuple[Home, Walked] | None = None
        self._said_of: tuple[Home, tuple[Home, LayoutResult]] | None = None
        first = next(iter(box_groups()["living"]))
        self.values = {
            "part": "walls",
            "paper": papers_of(desk.home)[0],
            "room": self._rooms()[0][0],
            "wall": "0",
            "item": "",  # "wall.number" of the opening in the form
            "note": "",
            "own": "box",
            "group": "living",
            "box": first.id,
            "kind_of": first.piece.kind,
            "called": "",
            "size": size_text(first, desk.home),
            "chairs": "sides",
            "picked": "",
            **FORM,
        }
        self._load_room()
        self._form: dict[str, Any] = {}
        self._form_filled()

    def _form_filled(self) -> None:
        """What stands in the form is in the walk already, and not half typed."""
        self._form = {id: self.values[id] for id in FORM}

    # --- the rooms -----------------------------------------------------------

    def _rooms(self) -> list[tuple[str, str]]:
        """Ids and names of the rooms that are there or are being walked."""
        home = self.desk.home
        names = {id: room.name for id, room in home.rooms.items()}
        for id, walk in {**home.walks, **self._refused}.items():
            names[id] = walk.name or names.get(id, "") or id.replace("_", " ")
        return list(names.items()) or [("room", "")]

    def _names(self) -> dict[str, str]:
        return dict(self._rooms())

    def _walk(self, room: str) -> Walk:
        """The walk of a room as it was typed, else in the words of what is known of it."""
        home = self.desk.home
        if room in self._refused:
            return self._refused[room]
        if room in home.walks:
            return home.walks[room]
        if room in home.rooms:
            known = home.rooms[room]
            if known.known.source == "guess":  # the sample that a new project begins with
                return Walk(name=known.name, use=known.use)
            return walk_of(home, room)
        return Walk(name=self._names().get(room, ""))

    def _taken(self) -> Walked:
        """The home with its walks taken in, remembered while it is the same."""
        home = self.desk.home
        if self._walked is None or self._walked[0] is not home:
            self._walked = (home, walked(home))
        return self._walked[1]

    def _survey(self) -> tuple[Survey | None, tuple[DesignkitError, ...]]:
        """The walk of the room that is shown, and what is wrong with it."""
        walk = self._walk(self.values["room"])
        if not walk.walls.strip():
            return None, ()
        found, wrong = survey_of(walk, units=self.desk.home.units, overrides=self.desk.home.rules)
        if self._trouble is not None:
            wrong = (*wrong, self._trouble)
        return found, wrong

    def _differs(self) -> bool:
        """Whether the room is drawn otherwise than its walk, which is whole, has it."""
        id, home = self.values["room"], self.desk.home
        taken = self._taken()
        if self._trouble is not None or id in taken.problems or id not in home.walks:
            return False
        one, two = home.rooms.get(id), taken.home.rooms.get(id)
        if one is None or two is None:
            return one is not two
        ends = [*zip(one.outline, two.outline, strict=False)]
        off = max((abs(a - b) for p, q in ends for a, b in zip(p, q, strict=True)), default=0.0)
        return len(one.outline) != len(two.outline) or max(off, abs(one.height - two.height)) > 1e-4

    def _load_room(self) -> None:
        """The fields show the walk of the room."""
        walk = self._walk(self.values["room"])
        survey, _ = self._survey()
        rule = survey.rule if survey is not None else "square"
        self.values |= {
            "name": walk.name,
            "use": walk.use,
            "walk": walk.walls,
            "height": walk.height,
            "diagonals": walk.diagonals,
            "spread": walk.spread or rule,
            "pinned": str(walk.pinned),
            "source": walk.source,
        }

    def _lines(self) -> Sequence[Any]:
        try:
            return lines_of(self._walk(self.values["room"]).walls)
        except DesignkitError:
            return ()

    def _typed(self) -> Walk:
        """The walk that stands in the fields."""
        values, before = self.values, self._walk(self.values["room"])
        pinned = str(values["pinned"])
        spread = values["spread"]
        survey, _ = self._survey()
        if not before.spread and survey is not None and spread == survey.rule:
            spread = ""  # nobody chose it
        return Walk(
            name=" ".join(str(values["name"]).split()),
            use=values["use"],
            walls=str(values["walk"]),
            height=str(values["height"]),
            diagonals=str(values["diagonals"]),
            spread=spread,
            pinned=int(pinned) if pinned.isdigit() else 0,
            source=values["source"],
        )

    def _store(
        self, walk: Walk, *, merge: bool = False, others: Mapping[str, Walk] | None = None
    ) -> None:
        """Take a walk into the project; one that it does not take is kept as typed."""
        room = self.values["room"]
        walks = {**self.desk.home.walks, room: walk, **(others or {})}
        home = dataclasses.replace(self.desk.home, walks=walks)
        self._refused.pop(room, None)
        self._trouble = None
        taken = walked(home)
        try:
            self._put_home(taken.home, merge=merge)
        except DesignkitError as problem:
            self._trouble = problem
            try:
                self._put_home(home, merge=merge)  # the words are kept, the room stays as it was
            except DesignkitError:
                self._refused[room] = walk
        if taken.left_out:
            names = " and ".join(taken.left_out)
            self.note = f"Taken out of the layout, as this is another room: {names}."
        self._puts = ()

    def _put_home(self, home: Home, *, merge: bool = False) -> None:
        """Make the home of the project what it should be, as one step; or leave it whole."""
        desk = self.desk
        new = dataclasses.replace(desk.project, home=home)
        desk.do(files.changes_between(desk.project, new), merge=merge)

    # --- the draft -----------------------------------------------------------

    def typed(self) -> dict[str, Any]:
        """All fields, where anything was not kept or half a form is typed."""
        own = ("called", "size") if self.values["own"] == "own" else ()
        half = any(
            str(self.values[id]).strip() not in ("", self._form.get(id))
            for id in (*FORM.keys() - {"what", "name"}, "note", *own)
        )
        if not (self.desk.edits or self.desk.left or self._refused or half):
            return {}
        refused = {id: dataclasses.asdict(walk) for id, walk in self._refused.items()}
        return {**self.values, "refused": refused}

    def retype(self, values: Mapping[str, Any]) -> None:
        """The fields as they were; a walk that the project does not take stays as typed."""
        for id, value in values.items():
            if id in self.values and isinstance(value, type(self.values[id])):
                self.values[id] = value
        for id, walk in dict(values.get("refused", {})).items():
            with contextlib.suppress(TypeError):  # written by another version
                self._refused[id] = Walk(**walk)
        room = str(self.values["room"])
        if self.desk.left and str(values.get("walk", "")).strip():
            self._refused.setdefault(room, self._typed())
        if room not in self._names():
            self.values["room"] = self._rooms()[0][0]
        self._load_room()

    def brought_back(self, draft: Draft) -> str:
        """The walks, pieces and photographs that came back."""
        edits = [edit for step in self.desk.edits for edit in step]
        return _brought_back(edits, self.desk.home, draft) if edits or draft.values else ""


def _brought_back(edits: Sequence[Edit], home: Home, draft: Draft) -> str:
    """What a draft brought back, in a sentence."""
    paths = [str(edit.path) for edit in edits]
    rooms = {path.split(".")[1] for path in paths if path.startswith("walks.")}
    names = [home.walks[id].name or id for id in rooms if id in home.walks]
    parts = [f"the walk of {' and of '.join(sorted(names))}"] if names else []
    spots = {
        edit.path.split(".")[3]
        for edit in edits
        if re.match(r"layouts\.[^.]+\.pieces\.", edit.path) and edit.new is not None
    }
    whole = any(re.fullmatch(r"layouts\.[^.]+(\.pieces)?", path) for path in paths)
    count = len(spots) or (sum(len(one.pieces) for one in home.layouts.values()) if whole else 0)
    if count:
        parts.append(f"{count} {'piece' if count == 1 else 'pieces'} in the room")
    photos = sum(path.startswith("photos.") for path in paths)
    if photos:
        parts.append(f"{photos} {'photograph' if photos == 1 else 'photographs'}")
    what = ", ".join(parts) or "what stood in the fields"
    undo = " Undo takes it away step by step." if edits else ""
    return f"Brought back from {draft.written}: {what}, not kept.{undo}"
