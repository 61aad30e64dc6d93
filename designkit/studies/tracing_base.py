"""What the study "from a plan" holds: the open plan, its points, scale and outline, its draft."""

from __future__ import annotations

import math
import re
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from designkit.errors import DesignkitError, InputError
from designkit.figures.tracing_sheet import as_shown, paper_of_sheet
from designkit.model import Point
from designkit.plan.tracing import (
    AreaCheck,
    Scale,
    Traced,
    TracingSheet,
    check_area,
    open_sheet,
    scale_between,
    scale_of_print,
    settle_area,
    trace,
)
from designkit.plan.tracing_frame import beside, shifted
from designkit.project.ifc import IfcRooms, rooms_from_ifc
from designkit.studies.desk import Desk
from designkit.studies.study import Study
from designkit.studies.tracing_keep import (
    free_place,
    rooms_held,
    rooms_of,
)
from designkit.studies.tracing_parts import (
    points_of,
    points_text,
)
from designkit.studies.words import length_of
from designkit.units import file_text, read_number

__all__ = ["TracingBase"]

_CLICKED = ("clicks", "scale_points", "check_points", "corners")
_NEAR = 3.0  # mm on the drawing: a click so near the first corner closes the outline


class TracingBase(Study):
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
