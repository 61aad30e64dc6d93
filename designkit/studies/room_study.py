"""The study "my room": walk the walls, put in doors and windows, furnish it, see what it says."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from designkit.analyses.of_layout import LayoutResult
from designkit.analyses.of_layout import layout as analyse
from designkit.analyses.of_putting import free_id, layout_to_furnish
from designkit.analyses.of_walks import survey_of
from designkit.errors import DesignkitError
from designkit.figures.drawing import Drawing
from designkit.figures.furniture_sheet import finding_sentence
from designkit.figures.plan import plan_drawing
from designkit.figures.room_drawing import walk_drawing
from designkit.figures.svg import to_svg
from designkit.model import Home, Walk
from designkit.plan.box import box, box_groups
from designkit.plan.survey import Survey
from designkit.studies import room_said as said
from designkit.studies.desk import Desk
from designkit.studies.page import Page
from designkit.studies.room_base import FORM
from designkit.studies.room_controls import (
    ANOTHER,
    EXAMPLE,
    PARTS,
    furniture_controls,
    opening_controls,
    paper_control,
    papers_of,
    photo_controls,
    size_text,
    thing_controls,
    wall_controls,
)
from designkit.studies.room_doors import RoomDoors
from designkit.studies.room_forms import OPENINGS, THINGS, form_of
from designkit.studies.room_furnish import RoomFurnish
from designkit.studies.study import Study
from designkit.studies.words import finding_rows, layout_brief
from designkit.units import IMPERIAL

__all__ = ["MyRoom", "RoomPage", "my_room"]

HERE = Path(__file__).parent
SHOWN = 9  # findings that get a number on the drawing
WALK = ("name", "use", "walk", "height", "diagonals", "spread", "pinned", "source")


class MyRoom(RoomDoors, RoomFurnish, Study):
    """One's own room: its walls, openings, services, photographs and first furniture.

    Parameters
    ----------
    desk : Desk
        The project that the study works on.
    """

    sheets = ("survey", "furniture-plan")

    def export(self) -> str:
        """The survey of each room on the paper that was chosen, and the furniture plan."""
        from designkit.publish.survey_set import issue_rooms

        desk = self.desk
        return issue_rooms(desk.project, folder=desk.folder, paper=self.values["paper"])

    # --- the page ------------------------------------------------------------

    def draw(self, *, cards: bool = False) -> dict[str, Any]:
        """Everything that the page shows now."""
        survey, wrong = self._survey()
        part = self.values["part"]
        shown: dict[str, Any] = {
            "picture": to_svg(self._picture(survey, part)),
            "said": lambda: self._said(survey, wrong, part),
            "controls": self._controls(survey, part),
            "values": dict(self.values),
        }
        if cards or part == "photos":
            shown["options"] = self._cards() if part == "photos" else {}
        return shown

    def _result(self) -> tuple[Home, LayoutResult]:
        """What the current layout says, remembered while the home is the same."""
        home = self.desk.home
        if self._said_of is None or self._said_of[0] is not home:
            furnished, id = layout_to_furnish(home)
            found = analyse(furnished, layout=id, quick=True)
            self._said_of = (home, (furnished, found))
        return self._said_of[1]

    def _picture(self, survey: Survey | None, part: str) -> Drawing:
        home = self.desk.home
        if part == "furniture" and home.rooms:
            furnished, result = self._result()
            return plan_drawing(
                furnished,
                result.layout,
                scale=48 if home.units in IMPERIAL else 50,
                show=("zones", "routes", "findings", "dimensions", "names", "services"),
                findings=result.failing[:SHOWN],
                routes=[row.line for row in result.routes if row.line],
                placed=dict(result.placed),
            )
        name = self._names().get(self.values["room"], "") or "room"
        if survey is None or not survey.walls:
            imperial = home.units in IMPERIAL
            example = Walk(walls=EXAMPLE[imperial], height="8'-6\"" if imperial else "2.62")
            found, _ = survey_of(example, units="ft" if imperial else "m")
            assert found is not None
            return walk_drawing(found, name="an example", typed=True, caption="an example")
        return walk_drawing(survey, name=name, openings=part in ("openings", "things"))

    def _controls(self, survey: Survey | None, part: str) -> list[dict[str, Any]]:
        home, values = self.desk.home, self.values
        rooms = [[id, name or "room"] for id, name in self._rooms()]
        found: list[dict[str, Any]] = [
            {"kind": "words", "id": "part", "label": "Now", "choices": [list(p) for p in PARTS]}
        ]
        if part == "walls":
            found += wall_controls(home=home, rooms=rooms, survey=survey, values=values)
        elif part == "openings":
            others = [row for row in rooms if row[0] != values["room"]]
            found += opening_controls(home=home, rooms=others, survey=survey, values=values)
        elif part == "things":
            found += thing_controls(home=home, survey=survey, values=values)
        elif part == "photos":
            found += photo_controls(survey=survey)
        else:
            chosen = box().get(values["box"]) if values["own"] == "box" else None
            found += furniture_controls(home=home, chosen=chosen, values=values)
            return found
        return [*found, paper_control(home)]

    def _said(
        self, survey: Survey | None, wrong: Sequence[DesignkitError], part: str
    ) -> dict[str, Any]:
        home, values = self.desk.home, self.values
        text = self._walk(values["room"]).walls
        words: dict[str, Any] = {
            "where": home.name,
            "question": "How large is the room, and what stands in it?",
            "brief": [],
            "answer": said.answer_of(survey, wrong, text),
            "findings": self._findings(part),
            "tables": [table for table in self._tables(survey, part) if table["rows"]],
            "links": [],
            "working": said.working_rows(survey, self._guessed()),
            "actions": self.actions(*self._buttons(survey, part)),
            "note": self.note,
        }
        if part == "furniture":
            words["answer"] = self._furnished()
            if home.rooms:
                furnished, result = self._result()
                project = dataclasses.replace(self.desk.project, home=furnished)
                words["brief"] = layout_brief(project, result)
            if self.desk.home.layouts:
                words["links"] = [
                    {
                        "text": "Layout options",
                        "href": "layout-options.ipynb",
                        "note": "to move pieces and to compare layouts; keep first",
                    }
                ]
        return words

    def _guessed(self) -> list[tuple[str, str]]:
        return [(what, "common practice") for what in self._taken().guessed]

    def _findings(self, part: str) -> dict[str, Any]:
        home = self.desk.home
        rows = said.problem_rows(self._taken(), self._names())
        if self._trouble is not None:
            rows.append(said.problem_row(self._trouble))
        if self._differs():
            rows.append({"n": "", "state": "to mend", "text": said.CHANGED, "source": ""})
        if part == "furniture" and home.rooms:
            failing = self._result()[1].failing
            rows += finding_rows(failing, home=home, numbered=failing[:SHOWN])
        return {
            "title": "What the plan says" if part == "furniture" else "What the walk says",
            "rows": rows,
            "none": "Nothing that fails, and nothing that has to be measured first."
            if part == "furniture"
            else "Nothing that has to be mended.",
        }

    def _furnished(self) -> str:
        home = self.desk.home
        if not home.rooms:
            return "No room yet: walk its walls first, and put furniture in then."
        result = self._result()[1]
        pieces = result.layout.pieces
        if not pieces:
            return f"An empty room. Choose a piece and put it in. {said.SCOPE}"
        findings = result.failing
        fails = [f for f in findings if f.verdict == "fails"]
        count = f"{len(pieces)} {'piece' if len(pieces) == 1 else 'pieces'}"
        if fails:
            worst = finding_sentence(fails[0], units=home.units)
            things = "one thing fails" if len(fails) == 1 else f"{len(fails)} things fail"
            return f"{count}: {things}. {worst}"
        if findings:
            return f"{count}, and nothing fails; some of it is to be measured first."
        return f"{count}, and nothing fails."

    def _tables(self, survey: Survey | None, part: str) -> list[dict[str, Any]]:
        home, values = self.desk.home, self.values
        text = self._walk(values["room"]).walls
        wall = int(values["wall"]) if str(values["wall"]).isdigit() else 0
        if part == "walls":
            if survey is None or not survey.walls:
                return []
            return [said.wall_table(survey, wall), said.left_table(survey)]
        if part in ("openings", "things"):
            found = [
                said.item_table(
                    text,
                    openings=part == "openings",
                    picked=values["item"],
                    survey=survey,
                    names=self._names(),
                )
            ]
            return [*found, said.left_table(survey)] if survey is not None else found
        if part == "photos":
            gone = [
                id for id, one in home.photos.items() if not (self.desk.folder / one.file).is_file()
            ]
            return [said.photo_table(home.photos, values["room"], gone)]
        furnished, id = layout_to_furnish(home)
        tables = [said.pieces_table(furnished, furnished.layouts[id], values["picked"])]
        if values["own"] == "box" and values["box"] in box():
            tables.insert(0, said.box_table(box()[values["box"]], home))
        return tables

    def _buttons(self, survey: Survey | None, part: str) -> list[dict[str, Any]]:
        whole = survey is not None and bool(survey.walls)
        if part in ("openings", "things"):
            picked = bool(self.values["item"])
            word = "Add the opening" if part == "openings" else "Add it"
            return [
                {"id": "add", "text": word, "main": True, "off": not whole},
                {"id": "change", "text": "Change it", "off": not picked},
                {"id": "out", "text": "Take it out", "off": not picked},
            ]
        if part == "furniture":
            picked = bool(self.values["picked"])
            many = len(self._puts) > 1
            return [
                {"id": "put", "text": "Put it in the room", "main": True,
                 "off": not self.desk.home.rooms},
                {"id": "another", "text": "Another place", "off": not many},
                {"id": "away", "text": "Take it away", "off": not picked},
            ]  # fmt: skip
        return []

    # --- what a control or a button does ----------------------------------------

    def show(self, values: Mapping[str, Any], changed: str | None) -> dict[str, Any]:
        """Answer a control that moved; what was said before is said no more."""
        if changed is not None:
            self.note = ""
        return super().show(values, changed)

    def act(self, action: str, message: Mapping[str, Any]) -> dict[str, Any] | None:
        """Answer a button; what was said before is said no more."""
        if action != "look":
            self.note = ""
        return super().act(action, message)

    def choose(self, changed: str) -> None:
        """Take in what was typed or chosen."""
        values = self.values
        if changed == "room":
            if values["room"] == ANOTHER:
                self._another_room()
            self._load_room()
            values |= {"wall": "0", "item": "", **FORM}
            self._form_filled()
        elif changed in WALK:
            self._store(self._typed(), merge=True)
        elif changed == "part":
            self._fit_form()
        elif changed == "what":
            values |= {"hinge": "", "swing": "in"} if values["what"] == "passage" else {}
        elif changed in ("group", "own", "box"):
            self._fit_box(changed)

    def _fit_form(self) -> None:
        """A form is about openings or about services, whichever part is shown."""
        kinds = {"openings": OPENINGS, "things": THINGS}.get(self.values["part"])
        if kinds and self.values["what"] not in kinds:
            self.values |= {**FORM, "item": "", "what": "socket" if kinds is THINGS else "door"}
            self._form_filled()

    def _fit_box(self, changed: str) -> None:
        values = self.values
        if changed == "group":
            values["box"] = box_groups()[values["group"]][0].id
        if values["own"] == "box":
            values["size"] = size_text(box()[values["box"]], self.desk.home)
        elif changed == "own":
            values["size"] = ""

    def _another_room(self) -> None:
        home = self.desk.home
        id = free_id("room", {**home.rooms, **home.walks})
        self.values["room"] = id
        count = len(self._names()) + 1
        self._put_home(
            dataclasses.replace(home, walks={**home.walks, id: Walk(name=f"Room {count}")})
        )

    def check_values(self) -> None:
        """The room, the wall and the pieces must be there; the fields show them."""
        papers = papers_of(self.desk.home)
        if self.values["paper"] not in papers:
            self.values["paper"] = papers[0]
        if self.values["room"] not in self._names():
            self.values["room"] = self._rooms()[0][0]
        self._load_room()
        count = sum(line.wall is not None for line in self._lines())
        wall = self.values["wall"]
        if wall != "" and not (str(wall).isdigit() and int(wall) < max(1, count)):
            self.values["wall"] = "0"
        if wall == "" and self.values["part"] in ("openings", "things"):
            self.values["wall"] = "0"
        if self.values["item"] and self._bracket() is None:
            self.values["item"] = ""
        furnished, id = layout_to_furnish(self.desk.home)
        if self.values["picked"] not in furnished.layouts[id].pieces:
            self.values["picked"] = ""

    def other(self, action: str, message: Mapping[str, Any]) -> bool:
        """Do a button of this study."""
        if action in ("add", "change", "out"):
            self._item(action)
        elif action == "pick":
            self._pick(str(message.get("table")), str(message.get("row")))
        elif action == "put":
            self._put()
        elif action == "another":
            self._another_place()
        elif action == "away":
            self._away()
        elif action == "file":
            self._photo(str(message.get("name", "photograph")), bytes(message["data"]))
        elif action == "open":
            photo = self.desk.home.photos.get(str(message.get("option")))
            if photo is not None:
                self.values["wall"] = "" if photo.wall is None else str(photo.wall)
        else:
            return False
        return True

    def _pick(self, table: str, row: str) -> None:
        values = self.values
        if table == "walls":
            values["wall"] = row
        elif table in ("openings", "things"):
            values["item"] = row
            chosen = self._bracket()
            if chosen is not None:
                form = form_of(chosen[2])
                values |= {**FORM, **form, "name": values["name"], "name_of": form["name"]}
                values["wall"] = str(chosen[0])
                self._form_filled()
        elif table == "pieces":
            values["picked"] = row
            self._puts = ()
        elif table == "photos" and row in self.desk.home.photos:
            wall = self.desk.home.photos[row].wall
            values["wall"] = "" if wall is None else str(wall)


class RoomPage(Page):
    """The page with its buttons always in sight."""

    _css = "\n".join(  # type: ignore[assignment]
        (HERE / name).read_text(encoding="utf-8") for name in ("page.css", "room.css")
    )


def my_room(project: str | None = None) -> Page:
    """The study "my room" on a project.

    Parameters
    ----------
    project : path, optional
        A project folder; else the one that `designkit lab` opened, the one
        around the notebook, or a passing copy of the demo.

    Returns
    -------
    Page
        Shown by the notebook as the cell's value.
    """
    study = MyRoom(Desk(project))
    return RoomPage(study.show, study.act)
