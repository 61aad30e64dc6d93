"""The study "from a plan": rooms traced over a builder's plan, or read from a building model."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from designkit import project as files
from designkit.errors import InputError
from designkit.figures import ink
from designkit.figures.drawing import Drawing, Text
from designkit.figures.svg import to_svg
from designkit.figures.tracing_sheet import tracing_drawing
from designkit.model import Room
from designkit.plan.tracing import (
    AreaCheck,
    Scale,
    Traced,
    TracingSheet,
    room_from,
)
from designkit.project.ifc import IfcRooms
from designkit.studies.desk import Desk
from designkit.studies.issuing import FILE_MOST
from designkit.studies.page import Page
from designkit.studies.study import Study
from designkit.studies.tracing_base import TracingBase
from designkit.studies.tracing_keep import (
    free_id,
    free_place,
)
from designkit.studies.tracing_parts import (
    model_controls,
    model_shown,
    moved_room,
    points_text,
    sheet_controls,
    side_table,
    trust_rows,
)
from designkit.studies.words import source_of
from designkit.units import in_sentence
from designkit.whole import write_beside

__all__ = ["FromAPlan", "from_a_plan"]


class FromAPlan(TracingBase, Study):
    """Rooms kept from a plan or a model, and what the page says of them.

    Parameters
    ----------
    desk : Desk
        The project that the study works on.
    """

    def other(self, action: str, message: Mapping[str, Any]) -> bool:
        """Take a file, a click, a room of a model; keep what was traced."""
        if action == "file":
            name = re.sub(r"[^\w .-]+", "_", Path(str(message.get("name", ""))).name).strip(". ")
            self._open(name or "plan.png", message.get("data", b""))
            self.note = f"{name} is open. Nothing is kept yet."
        elif action == "point":
            self._point(float(message["x"]), float(message["y"]))
        elif action == "last":
            key = "corners" if self.values["clicks"] == "corners" else "scale_points"
            if self.values["clicks"] == "check":
                key = "check_points" if self.values["check_points"] else "corners"
            points = self._points(key)[:-1]
            self.values[key] = points_text(points, "\n" if key == "corners" else "; ")
            if key == "corners":
                self.values["clicks"] = "corners"
        elif action == "room":
            self._keep_room()
        elif action == "model":
            self._keep_model()
        else:
            return False
        return True

    # --- kept --------------------------------------------------------------------------

    def _add(self, rooms: Mapping[str, Room]) -> None:
        """Put rooms into the project and keep it; what it refuses is not left on the desk."""
        desk = self.desk
        home = replace(desk.home, rooms={**desk.home.rooms, **rooms})
        desk.do(files.changes_between(desk.project, replace(desk.project, home=home)))
        desk.keep()

    def _keep_room(self) -> None:
        traced, check = self._checked(self._outline(self._scale()))
        home = self.desk.home
        if traced is None:
            raise InputError(
                "room", given="no outline", allowed="a scale and three corners or more",
                mend="click a known dimension, then the corners",
            )  # fmt: skip
        if check is not None and not check.agrees and not self.values["holds"]:
            raise InputError(
                "area",
                given="two figures",
                allowed=" or ".join(check.answers),
                mend="say which holds",
            )
        name = str(self.values["name"]).strip() or f"room {len(home.rooms) + 1}"
        room = room_from(traced, name=name, height=self._height(), use=self.values["use"])
        assert self.file is not None
        self._add({free_id(name, home.rooms): room})
        where = write_beside(self.desk.folder / "plan", *self.file).name
        self.kept.append((name, traced))
        area = in_sentence(traced.area, kind="area", units=home.units)
        within = in_sentence(traced.within, units=home.units)
        self.values.update(
            corners="", stated="", holds="", name="", at="", check_points="", check_distance="",
            clicks="corners",
        )  # fmt: skip
        self.note = (
            f"The {name} is kept, {area}, each side ± {within} as from a plan; the plan is in "
            f"plan/{where}. Measure on site before anything is ordered to fit."
        )

    def _keep_model(self) -> None:
        assert self.model is not None
        assert self.file is not None
        home = self.desk.home
        at = str(self.values["at"]).strip()
        dx, dy = self._corner(at) if at else free_place(self.desk.home.rooms.values())
        rooms: dict[str, Room] = {}
        for id in self.values["rooms"]:
            room = self.model.rooms[id]
            rooms[free_id(id, {**home.rooms, **rooms})] = moved_room(room, dx, dy)
        if not rooms:
            raise InputError(
                "rooms", given="none", allowed="one or more", mend="choose rooms of the model"
            )
        self._add(rooms)
        self.done = True
        where = write_beside(self.desk.folder / "plan", *self.file).name
        self.note = (
            f"{len(rooms)} {'room is' if len(rooms) == 1 else 'rooms are'} kept as from a plan; "
            f"the model is in plan/{where}. It tells no doors or windows here: add them by hand."
        )

    # --- what it shows -------------------------------------------------------------------

    def controls(self) -> list[dict[str, Any]]:
        """The plan, then what has to be said about it."""
        given: list[dict[str, Any]] = [
            {
                "kind": "file",
                "id": "file",
                "label": "The builder's plan or model",
                "accept": ".png,.jpg,.jpeg,.webp,.tif,.tiff,.pdf,.ifc",
                "hint": "a picture, a PDF, or an IFC model",
                "most": FILE_MOST,
            }
        ]
        if self.model is not None:
            return given + model_controls(self.model)
        if self.sheet is None:
            return given
        _, check, _ = self._so_far(self._scale())
        return given + sheet_controls(self.sheet, check)

    def _so_far(self, scale: Scale | None) -> tuple[Traced | None, AreaCheck | None, str]:
        """The outline, or why it is none yet: corners in the middle of their round may cross."""
        try:
            traced = self._outline(scale)
        except InputError as error:
            if self.values["clicks"] != "corners":
                raise
            return None, None, f"No room so far: {error}."
        return *self._checked(traced), ""

    def _point_words(self, scale: Scale | None) -> str:
        """What the next click gives."""
        which = self.values["clicks"]
        if which == "corners":
            done = len(self._points("corners"))
            if scale is None:
                return "Give the scale first: click both ends of a dimension that is written."
            if done < 3:
                return "Click the corners of the room in order, inside its walls."
            return "Click the next corner; click the first one again to close."
        points = self._points(f"{which}_points")
        name = "a dimension" if which == "scale" else "another dimension"
        if not points:
            return f"Click one end of {name} that is written on the plan, the longest there is."
        if len(points) == 1:
            return "Click its other end."
        if str(self.values["distance" if which == "scale" else "check_distance"]).strip():
            return "Both ends stand; click again to take others."
        return "Write how long it is; or click its ends again."

    def draw(self, *, cards: bool = False) -> dict[str, Any]:
        """Everything that the page shows now."""
        if self.model is not None:
            return self._draw_model(self.model)
        if self.sheet is not None:
            return self._draw_sheet(self.sheet)
        words = "No plan is open yet."
        drawing = Drawing(
            width=250, height=14, text=words,
            items=(Text(at=(0.5, 6), text=words, size=2.6, ink=ink.GREY_2),),
        )  # fmt: skip
        answer = "Choose the builder's plan: a picture, a PDF, or an IFC model."
        return self._shown(drawing, answer=answer, rows=[], tables=[], working=[], point="")

    def _draw_model(self, model: IfcRooms) -> dict[str, Any]:
        taken = [id for id in self.values["rooms"] if id in model.rooms]
        drawing, answer, rows, tables = model_shown(model, taken, self.desk.home)
        return self._shown(
            drawing,
            answer=answer,
            rows=rows,
            tables=tables,
            working=[["rooms", "floors of the spaces of one storey, ISO 16739", "the model"]],
            point="",
            model=bool(taken),
        )

    def _draw_sheet(self, sheet: TracingSheet) -> dict[str, Any]:
        home = self.desk.home
        scale = self._scale()
        traced, check, why = self._so_far(scale)
        ends = self._points("check_points")
        rows = trust_rows(
            home,
            scale=scale,
            ends=ends,
            distance=str(self.values["check_distance"]).strip(),
            traced=traced,
            check=check,
            holds=str(self.values["holds"]),
        )
        if why:
            rows.append({"n": "", "state": "asked", "text": why, "source": "this study"})
        drawing = tracing_drawing(
            sheet,
            scale_points=self._points("scale_points"),
            scale_words=str(self.values["distance"]).strip(),
            check_points=ends,
            check_words=str(self.values["check_distance"]).strip(),
            corners=self._points("corners"),
            traced=traced,
            kept=[(name, one.clicked) for name, one in self.kept],
            units=home.units,
        )
        answer = "First the scale: two points of a dimension that is written."
        wide, high = sheet.size
        working = [
            ["picture", f"{wide} × {high} pixels, as the page shows it; x to the right, y down",
             "this study"]
        ]  # fmt: skip
        tables: list[dict[str, Any]] = []
        if scale is not None:
            answer = "Now the outline."
            pixel = f"a pixel is {scale.metres * 1000:.1f} mm"
            spread = f"± {scale.within * 100:.1f} %"
            working.append(["scale", f"{scale.said}; {pixel}, {spread}",
                            source_of("plan.tracing.click")])  # fmt: skip
        if traced is not None:
            area = in_sentence(traced.area, kind="area", units=home.units)
            spread = in_sentence(traced.area_within, kind="area", units=home.units)
            asked = check is not None and not check.agrees and not self.values["holds"]
            answer = f"{area} ± {spread}, {len(traced.outline)} corners"
            answer += "; say which area holds." if asked else "."
            tables = [side_table(home, traced)]
            working.append(
                ["outline", "sides nearly square to the whole are made square, by the mean of "
                 "their corners; slanting sides are left", source_of("plan.tracing.help")]
            )  # fmt: skip
        return self._shown(
            drawing,
            answer=answer,
            rows=rows,
            tables=tables,
            working=working,
            point=self._point_words(scale),
            room=traced is not None,
        )

    def _shown(
        self,
        drawing: Drawing,
        *,
        answer: str,
        rows: list[dict[str, Any]],
        tables: list[dict[str, Any]],
        working: list[list[str]],
        point: str,
        room: bool = False,
        model: bool = False,
    ) -> dict[str, Any]:
        if self.model is not None:
            actions = [{"id": "model", "text": "Keep these rooms", "main": model, "off": not model}]
        else:
            actions = [
                {"id": "room", "text": "Keep the room", "main": room, "off": not room},
                {
                    "id": "last",
                    "text": "Take the last point back",
                    "off": not (self.values["corners"] or self.values["scale_points"]),
                },
            ]
        return {
            "picture": to_svg(drawing),
            "controls": self.controls(),
            "values": dict(self.values),
            "said": {
                "where": self.desk.home.name,
                "question": "What is the room on the plan?",
                "answer": answer,
                "brief": [],
                "point": point,
                "zoom": self.sheet is not None,
                "findings": {
                    "title": "Whether the plan can be trusted",
                    "rows": rows,
                    "none": "Nothing has been checked yet.",
                },
                "tables": tables,
                "working": working,
                "actions": actions,
                "note": self.note,
            },
        }


def from_a_plan(project: str | None = None) -> Page:
    """The study "from a plan" on a project.

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
    study = FromAPlan(Desk(project))
    return Page(study.show, study.act)
