"""Doors of the page "my room": what stands in a form goes into the walks of both its rooms."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

from designkit.analyses.of_walks import survey_of, walked
from designkit.errors import DesignkitError, InputError
from designkit.model import Walk
from designkit.plan.survey import Survey
from designkit.plan.survey_items import corner
from designkit.plan.survey_mates import Mate, mate_of, other_side
from designkit.plan.survey_words import lines_of, with_bracket, without_bracket
from designkit.studies.room_base import RoomBase
from designkit.studies.room_forms import OPENINGS, form_of, words_of
from designkit.units import file_text, in_sentence

__all__ = ["RoomDoors"]

_OTHER = {"left": "right", "right": "left", "in": "out", "out": "in"}
_SHARED = ("what", "width", "head", "sill", "clear", "thick", "name", "within", "source_of")
Spot = tuple[str, int, int]  # room, wall, which of its brackets


def _openings(text: str) -> list[tuple[int, int]]:
    """Wall and bracket of each opening of a walk, in the order of its survey."""
    return [
        (line.wall, k)
        for line in lines_of(text)
        for k, bracket in enumerate(line.brackets)
        if line.wall is not None and form_of(bracket)["what"] in OPENINGS
    ]


def _bracket_at(walk: Walk, wall: int, at: int) -> str:
    return next(line.brackets[at] for line in lines_of(walk.walls) if line.wall == wall)


class RoomDoors(RoomBase):
    """What is put into a walk from the form, also seen from the next room.

    Parameters
    ----------
    desk : Desk
        The project that the study works on.
    """

    def _bracket(self) -> tuple[int, int, str] | None:
        """Wall, number and words of the opening that was chosen."""
        wall, _, number = str(self.values["item"]).partition(".")
        for line in self._lines():
            if str(line.wall) == wall and number.isdigit() and int(number) < len(line.brackets):
                return int(wall), int(number), line.brackets[int(number)]
        return None

    def _item(self, action: str) -> None:
        """Put the form into the walk, in place of what was chosen, or take that out."""
        values = self.values
        walk = self._walk(values["room"])
        text = walk.walls
        wall, at = int(values["wall"] or 0), None
        chosen = self._bracket()
        beyond: Spot | None = None
        if action != "add":
            if chosen is None:
                raise InputError(
                    "opening", given="none chosen", allowed="one of the table",
                    mend="choose it in the table first",
                )  # fmt: skip
            beyond = self._beyond(chosen[0], chosen[1])
            text = without_bracket(text, wall=chosen[0], at=chosen[1])
            at = chosen[1] if chosen[0] == wall else None
        others: dict[str, Walk] = {}
        said = ""
        if action == "out":
            new = dataclasses.replace(walk, walls=text)
        else:
            words = words_of({**values, "name": values["name_of"]})
            text = with_bracket(text, wall=wall, bracket=words, at=at)
            new = dataclasses.replace(walk, walls=text)
            self._check(walk, new)
            spot = next(k for w, k in reversed(_all(text)) if w == wall) if at is None else at
            before = form_of(chosen[2]) if chosen is not None else {}
            others, said = self._both(new, (wall, spot), beyond, before)
        if beyond is not None and beyond[0] not in others:
            others[beyond[0]] = self._without(beyond)
            said = f"{said} It is taken out of {self._called(beyond[0])} as well.".strip()
        if others and action != "out" and "" in walked(self._home_of(new, others)).problems:
            others, said = {}, (
                f"Not in {self._called(str(values['to']))} yet, as the rooms would not lie "
                "beside each other then: put it in there by its distance from a corner."
            )  # fmt: skip
        self._store(new, others=others)
        if said:
            self.note = f"{self.note} {said}".strip()
        values |= {"item": "", "distance": "", "name_of": "", "within": ""}
        self._form_filled()

    def _check(self, walk: Walk, new: Walk) -> None:
        """What the form makes wrong in the walk is told, and the form stays as it was typed."""
        units, rules = self.desk.home.units, self.desk.home.rules
        before = {str(p) for p in survey_of(walk, units=units, overrides=rules)[1]}
        fresh = [p for p in survey_of(new, units=units, overrides=rules)[1] if str(p) not in before]
        if fresh:
            raise fresh[0]

    def _home_of(self, walk: Walk, others: Mapping[str, Walk]) -> Any:
        home = self.desk.home
        walks = {**home.walks, self.values["room"]: walk, **others}
        return dataclasses.replace(home, walks=walks)

    def _called(self, room: str) -> str:
        return self._names().get(room, "") or room

    # --- the next room ---------------------------------------------------------

    def _beyond(self, wall: int, at: int) -> Spot | None:
        """Where the opening of these brackets stands in the walk of the next room."""
        room, surveys = self.values["room"], self._taken().surveys
        here = surveys.get(room)
        listed = _openings(self._walk(room).walls)
        if here is None or (wall, at) not in listed:
            return None
        index = listed.index((wall, at))
        if index >= len(here.openings):
            return None
        to = here.openings[index].to
        there = surveys.get(to)
        if there is None or to == room or to not in self.desk.home.walks:
            return None
        found = other_side((here, there), (room, to), index)
        rows = _openings(self.desk.home.walks[to].walls)
        return (to, *rows[found]) if found is not None and found < len(rows) else None

    def _without(self, spot: Spot) -> Walk:
        walk = self.desk.home.walks[spot[0]]
        return dataclasses.replace(
            walk, walls=without_bracket(walk.walls, wall=spot[1], at=spot[2])
        )

    def _both(
        self, new: Walk, spot: tuple[int, int], beyond: Spot | None, before: Mapping[str, str]
    ) -> tuple[dict[str, Walk], str]:
        """The walk of the next room with the same opening, and what to say about it."""
        values, home = self.values, self.desk.home
        to, room = str(values["to"]), str(values["room"])
        if values["what"] not in OPENINGS or to == room or to not in home.walks:
            return {}, ""
        name = self._called(to)
        seen = {**values, "name": values["name_of"]}
        form: dict[str, Any] = {key: seen.get(key, "") for key in _SHARED} | {"to": room}
        for key in ("hinge", "swing"):  # seen from the other side
            now = str(values[key])
            form[key] = _OTHER.get(now, now) if values["hinge"] else now
        kept = beyond is not None and beyond[0] == to
        walk = self._without(beyond) if kept and beyond is not None else home.walks[to]
        moved = not kept or any(
            str(values[key]).strip() != before.get(key, "") for key in ("distance", "width")
        ) or str(values["corner"]) != before.get("corner")  # fmt: skip
        mate = self._mate(new, walk, spot, to) if moved else None
        twin = self._twin(walk, mate, str(values["what"])) if not kept else None
        if twin is not None:  # it was put in there before, and leads nowhere yet
            old = form_of(_bracket_at(walk, *twin))
            walls = without_bracket(walk.walls, wall=twin[0], at=twin[1])
            seen_there = words_of(old | {"to": room, "width": values["width"]})
            walls = with_bracket(walls, wall=twin[0], bracket=seen_there, at=twin[1])
            said = f"The {values['what']} in wall {twin[0] + 1} of {name} is the same one."
            if old["width"] != values["width"]:
                said += f" There it was {old['width']} wide, and is {values['width']} now."
            return {to: dataclasses.replace(walk, walls=walls)}, said
        if mate is not None and mate.fits:
            distance = file_text(round(mate.offset, 4), units=home.units)
            words = words_of({**form, "corner": "at", "distance": distance})
            told = in_sentence(round(mate.offset, 4), units=home.units)
            said = (
                f"It is in {name} as well: wall {mate.wall + 1}, {told} from {corner(mate.wall)}."
            )
            walls = with_bracket(walk.walls, wall=mate.wall, bracket=words)
            return {to: dataclasses.replace(walk, walls=walls)}, said
        if beyond is not None and kept:
            old = form_of(_bracket_at(home.walks[to], beyond[1], beyond[2]))
            form |= {"corner": old["corner"], "distance": old["distance"]}
            walls = with_bracket(walk.walls, wall=beyond[1], bracket=words_of(form), at=beyond[2])
            said = f"It is changed in {name} as well."
            if moved:
                said += f" Where it stands there is as it was: {self._off(mate, name)}"
            return {to: dataclasses.replace(walk, walls=walls)}, said
        return {}, f"Not in {name} yet: {self._off(mate, name)} Put it in there by its distance."

    def _mate(self, new: Walk, walk: Walk, spot: tuple[int, int], to: str) -> Mate | None:
        """Where the next room has the opening; None where that cannot be told."""
        home, taken, room = self.desk.home, self._taken(), str(self.values["room"])
        here, wrong = survey_of(new, units=home.units, overrides=home.rules)
        there, also = survey_of(walk, units=home.units, overrides=home.rules)
        if here is None or there is None or wrong or also:
            return None
        frame = None
        if {room, to} <= {*taken.home.rooms} and not {room, to} & {*taken.apart}:
            frame = (taken.home.rooms[room].outline, taken.home.rooms[to].outline)
            if not _same_walls(here, frame[0]) or not _same_walls(there, frame[1]):
                frame = None
        rows = _openings(new.walls)
        try:
            return mate_of(here, there, here.openings[rows.index(spot)], frame=frame)
        except DesignkitError:  # one of them is not walked to its end
            return None

    def _twin(self, walk: Walk, mate: Mate | None, kind: str) -> tuple[int, int] | None:
        """Wall and bracket of an opening that lies where the next room would get this one."""
        found, _ = survey_of(walk, units=self.desk.home.units, overrides=self.desk.home.rules)
        if mate is None or found is None:
            return None
        for spot, one in zip(_openings(walk.walls), found.openings, strict=False):
            near = one.wall == mate.wall and abs(one.offset - mate.offset) < one.width / 2
            if near and one.kind == kind and not one.to:
                return spot
        return None

    def _off(self, mate: Mate | None, name: str) -> str:
        """Why an opening cannot be put into the next room by itself."""
        if mate is None:
            return f"no single wall of {name} is the other side of this one."
        units = self.desk.home.units
        off = in_sentence(round(mate.off, 4), units=units)
        within = in_sentence(round(mate.within, 4), units=units)
        return (
            f"its wall {mate.wall + 1} does not match by {off}, more than ± {within} ({mate.why})."
        )


def _all(text: str) -> list[tuple[int, int]]:
    """Wall and number of every bracket of a walk."""
    return [
        (line.wall, k)
        for line in lines_of(text)
        for k, _ in enumerate(line.brackets)
        if line.wall is not None
    ]


def _same_walls(survey: Survey, outline: Any) -> bool:
    return len(survey.outline) == len(outline)
