"""The study "from a plan": rooms traced over a builder's plan, or read from a building model."""

from __future__ import annotations

import math
import re
import tempfile
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from designkit import project as files
from designkit.errors import DesignkitError, InputError
from designkit.figures import ink
from designkit.figures.drawing import Drawing, Text
from designkit.figures.svg import to_svg
from designkit.figures.tracing_sheet import as_shown, paper_of_sheet, tracing_drawing
from designkit.model import Point, Room
from designkit.plan.tracing import (
    AreaCheck,
    Scale,
    Traced,
    TracingSheet,
    check_area,
    open_sheet,
    room_from,
    scale_between,
    scale_of_print,
    settle_area,
    trace,
)
from designkit.plan.tracing_frame import beside, shifted
from designkit.project.ifc import IfcRooms, rooms_from_ifc
from designkit.studies.desk import Desk
from designkit.studies.issuing import FILE_MOST
from designkit.studies.page import Page
from designkit.studies.study import Study
from designkit.studies.tracing_keep import (
    free_id,
    free_place,
    keep_plan,
    rooms_held,
    rooms_of,
)
from designkit.studies.tracing_parts import (
    model_controls,
    model_shown,
    moved_room,
    points_of,
    points_text,
    sheet_controls,
    side_table,
    trust_rows,
)
from designkit.studies.words import length_of, source_of
from designkit.units import file_text, in_sentence, read_number

__all__ = ["FromAPlan", "from_a_plan"]

_CLICKED = ("clicks", "scale_points", "check_points", "corners")
_NEAR = 3.0  # mm on the drawing: a click so near the first corner closes the outline


class FromAPlan(Study):
    """A sheet, its scale, an outline; or the rooms of a model.

    Parameters
    ----------
    desk : Desk
        The project that the study works on.
    """

    draft = "from-a-plan"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.values = {
            "page": "1",
            "clicks": "scale",
            "distance": "",
            "ratio": "",
            "scale_points": "",
            "check_points": "",
            "check_distance": "",
            "corners": "",
            "square": ["square"],
            "stated": "",
            "holds": "",
            "name": "",
            "height": "2.50 m" if desk.home.units == "m" else file_text(2.5, units=desk.home.units),
            "use": "",
            "at": "",
            "storey": "",
            "rooms": [],
        }
        self.file: tuple[str, bytes] | None = None
        self.sheet: TracingSheet | None = None
        self.model: IfcRooms | None = None
        self.done = False  # the rooms of the model are kept
        self.refused: dict[str, Any] = {}  # what a field held that could not be read
        self.kept: list[tuple[str, Traced]] = []  # rooms of this sheet, as they stand in the home

    def show(self, values: Mapping[str, Any], changed: str | None) -> dict[str, Any]:
        """Answer a control; a field that cannot be read is as it was for what follows."""
        self.begin()
        if changed is None:
            return self._with_left(self.draw(cards=True))
        before = dict(self.values)
        # Two fields may have been left before the first answer came back. What clicks set
        # is newer here than on the page, and what was refused is not asked again.
        late = [
            key
            for key in values
            if key not in _CLICKED and values[key] != self.values.get(key, values[key])
            if values[key] != self.refused.get(key)
        ]
        try:
            for key in dict.fromkeys([*late, changed]):
                changed = key
                self.values[key] = values[key]
                self.choose(key)
            shown = self.draw()
        except DesignkitError:
            self.refused[changed] = values[changed]
            self.values = before
            raise
        finally:
            self.remember()
        self.refused = {k: v for k, v in self.refused.items() if values.get(k) == v}
        return self._with_left(shown)

    def act(self, action: str, message: Mapping[str, Any]) -> dict[str, Any] | None:
        """Answer a button, a click or a file; what is refused changes nothing."""
        before = dict(self.values)
        try:
            return super().act(action, message)
        except DesignkitError:
            self.values = before
            raise

    # --- nothing typed is lost --------------------------------------------------------

    def typed(self) -> dict[str, Any]:
        """The plan and what was clicked and written, until all of it is kept."""
        if self.file is None or (self.kept and not self.values["corners"]) or self.done:
            return {}
        name, data = self.file
        return {"name": name, "file": data, "kept": rooms_held(self.kept), "values": self.values}

    def retype(self, values: Mapping[str, Any]) -> None:
        """Open the plan again, with its points and answers."""
        data, held = values.get("file"), dict(values.get("values", {}))
        if not isinstance(data, bytes):
            return
        page = str(held.get("page", "1"))
        try:
            self._open(
                str(values["name"]),
                data,
                page=int(page) - 1 if page.isdigit() else 0,
                storey=str(held.get("storey", "")),
            )
            self.kept = rooms_of(values.get("kept", ()))
        except (DesignkitError, KeyError, TypeError, ValueError) as problem:
            self.note = f"{self.note} {problem}.".strip()
            return
        fresh = dict(self.values)
        self.values |= {k: v for k, v in held.items() if isinstance(v, type(fresh.get(k)))}
        try:
            self.draw()
        except DesignkitError as problem:
            self.values = fresh
            self.note = f"{self.note} {problem}.".strip()

    # --- the sheet -------------------------------------------------------------------

    def _open(self, name: str, data: bytes, *, page: int = 0, storey: str = "") -> None:
        """Open a plan or a model; the last one stays where the new one cannot be read."""
        with tempfile.TemporaryDirectory(prefix="designkit-") as place:
            path = Path(place) / name
            path.write_bytes(data)
            if path.suffix.lower() == ".ifc":
                self.model, self.sheet = rooms_from_ifc(path, storey=storey), None
            else:
                self.sheet, self.model = as_shown(open_sheet(path, page=page)), None
        self.file, self.kept, self.done = (name, data), [], False
        self.values.update(
            clicks="scale", distance="", ratio="", scale_points="", check_points="",
            check_distance="", corners="", stated="", holds="", name="", storey=storey, at="",
        )  # fmt: skip
        if self.model is not None:
            self.values["storey"] = storey or max(self.model.storeys, key=lambda s: s == storey)
            self.values["rooms"] = list(self.model.rooms)

    def _points(self, key: str) -> list[Point]:
        what = {"scale_points": "known dimension", "check_points": "second dimension"}
        most = 200 if key == "corners" else 2
        found = points_of(str(self.values[key]), what=what.get(key, "corners"), most=most)
        if self.sheet is not None:
            wide, high = self.sheet.size
            for x, y in found:
                if not (0 <= x <= wide and 0 <= y <= high):
                    raise InputError(
                        what.get(key, "corners"),
                        given=f"{x:.0f}, {y:.0f}",
                        allowed=f"0, 0 to {wide}, {high}, the size of the picture",
                        mend="click on the picture",
                    )
        return found

    def _scale(self) -> Scale | None:
        home = self.desk.home
        if self.sheet is None:
            return None
        points, distance = self._points("scale_points"), str(self.values["distance"]).strip()
        if len(points) == 2 and distance:
            return scale_between(points[0], points[1], distance=distance, units=home.units)
        ratio = str(self.values["ratio"]).strip().removeprefix("1:").strip()
        if ratio:
            return scale_of_print(self.sheet, ratio=float(read_number(ratio, what="ratio")))
        return None

    def _outline(self, scale: Scale | None) -> Traced | None:
        """What the corners make; None while there are too few."""
        corners = self._points("corners")
        if scale is None or len(corners) < 3:
            return None
        return trace(corners, scale=scale, square="square" in self.values["square"])

    def _checked(self, traced: Traced | None) -> tuple[Traced | None, AreaCheck | None]:
        """The outline where it stands, and the stated area against it; settled where said."""
        if traced is None:
            return None, None
        stated = str(self.values["stated"]).strip()
        check = check_area(traced, stated=stated, units=self.desk.home.units) if stated else None
        if check is not None and not check.agrees and self.values["holds"] in check.answers:
            traced = settle_area(traced, check=check, winner=self.values["holds"])
        return self._placed(traced), check

    def _placed(self, traced: Traced) -> Traced:
        """Where the room lies in the home: as said, beside the last one, or free of the others."""
        at = str(self.values["at"]).strip()
        if at:
            return shifted(traced, by=self._corner(at))
        if self.kept:
            return beside(traced, first=self.kept[0][1])
        return shifted(traced, by=free_place(self.desk.home.rooms.values()))

    def _corner(self, text: str) -> Point:
        parts = [part for part in re.split(r"[;,]\s+|;", text) if part.strip()]
        if len(parts) != 2:
            raise InputError(
                "lower left corner", given=text, allowed="along, up", mend="write as 4.12 m, 0 m"
            )
        home = self.desk.home
        x, y = (length_of(part, home=home, what="lower left corner") for part in parts)
        return x, y

    # --- what is pointed at --------------------------------------------------------------

    def _point(self, x: float, y: float) -> None:
        sheet = self.sheet
        if sheet is None:
            raise InputError(
                "point", given="no plan", allowed="a plan to click on", mend="choose a file"
            )
        on = paper_of_sheet(sheet)
        px, py = on.pixel(x, y)
        wide, high = sheet.size
        if not (0 <= px <= wide and 0 <= py <= high):
            raise InputError(
                "point", given="beside the plan", allowed="on the picture", mend="click on it"
            )
        here = (round(px, 1), round(py, 1))
        which = self.values["clicks"]
        if which == "corners":
            self._add_corner(here, _NEAR / on.k)
            return
        key = f"{which}_points"
        points = self._points(key)
        points = [here] if len(points) >= 2 else [*points, here]
        self.values[key] = points_text(points, "; ")

    def _add_corner(self, here: Point, near: float) -> None:
        corners = self._points("corners")
        if corners and math.dist(corners[-1], here) <= near / 4:
            return  # the second click of a double one
        if len(corners) >= 3 and math.dist(corners[0], here) <= near:
            self.values["clicks"] = "check"  # closed
            self.note = "The outline is closed. Check it with a second dimension."
            return
        new = [*corners, here]
        self.values["corners"] = points_text(new)

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

    def choose(self, changed: str) -> None:
        """A field that was typed; what follows from it is next."""
        if changed == "page" and self.file is not None and self.sheet is not None:
            text = str(self.values["page"]).strip()
            if not text.isdigit() or not 1 <= int(text) <= self.sheet.pages:
                raise InputError(
                    "page", given=text, allowed=f"1 to {self.sheet.pages}", mend="write its number"
                )
            self._open(*self.file, page=int(text) - 1)
        elif changed == "storey" and self.file is not None:
            self._open(*self.file, storey=str(self.values["storey"]))
        elif changed in ("distance", "scale_points", "ratio"):
            if self._scale() is not None and self.values["clicks"] == "scale":
                self.values["clicks"] = "corners"
        elif changed == "stated":
            self.values["holds"] = ""
        elif changed in ("corners", "check_points"):
            self._points(changed)
        elif changed == "at" and str(self.values["at"]).strip():
            self._corner(str(self.values["at"]))
        elif changed == "height":
            self._height()

    # --- kept --------------------------------------------------------------------------

    def _height(self) -> float:
        height = length_of(str(self.values["height"]), home=self.desk.home, what="ceiling height")
        if not 1.5 <= height <= 12:
            raise InputError(
                "ceiling height",
                given=str(self.values["height"]),
                allowed="1.5 to 12 m",
                mend="write the unit, as 2.50 m",
            )
        return height

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
        where = keep_plan(self.desk.folder, name=self.file[0], data=self.file[1])
        self.kept.append((name, traced))
        area = in_sentence(traced.area, kind="area", units=home.units)
        within = in_sentence(traced.within, units=home.units)
        self.values.update(
            corners="", stated="", holds="", name="", at="", check_points="", check_distance="",
            clicks="corners",
        )  # fmt: skip
        self.note = (
            f"The {name} is kept, {area}, each side ± {within} as from a plan; the plan is in "
            f"{where}. Measure on site before anything is ordered to fit."
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
        where = keep_plan(self.desk.folder, name=self.file[0], data=self.file[1])
        self.note = (
            f"{len(rooms)} {'room is' if len(rooms) == 1 else 'rooms are'} kept as from a plan; "
            f"the model is in {where}. It tells no doors or windows here: add them by hand."
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
