"""Rooms from a building model in IFC (ISO 16739), through ifcopenshell (extra ifc)."""

from __future__ import annotations

import importlib
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon

from designkit.errors import FileFormatError, InputError, LookupFailed, nearest
from designkit.model import Column, Known, Point, Room

__all__ = ["IfcRooms", "rooms_from_ifc"]

LARGEST = 500_000_000  # bytes
_FLAT = 0.002  # m; a ceiling that differs by more is not flat
_LEVEL = 0.999  # of a triangle's normal: it is level


@dataclass(frozen=True, kw_only=True, eq=False)
class IfcRooms:
    """Rooms of one storey of a model, and what was left out."""

    rooms: Mapping[str, Room]
    areas: Mapping[str, float]  # of the outlines [m²]
    stated: Mapping[str, float]  # net floor areas that the model states [m²]
    storeys: tuple[str, ...]
    left_out: tuple[str, ...]  # sentences


def _module(name: str) -> Any:
    try:
        return importlib.import_module(name)
    except ImportError:
        raise InputError(
            "building model",
            given="an IFC file",
            allowed="with the extra ifc installed",
            mend="install designkit with [ifc], or trace a plan",
        ) from None


def rooms_from_ifc(path: str | Path, *, storey: str = "") -> IfcRooms:
    """Read the spaces of a building model as rooms.

    Each IfcSpace becomes a room: its floor is what lies at its lowest level,
    its height goes up to its flat top. Holes in the floor become columns where
    they are rectangles square to the plan; a space that is not a prism under
    one flat ceiling is left out by name. All rooms lie in the model's own
    frame, moved so that it begins at (0, 0).

    Parameters
    ----------
    path : str or Path
        An .ifc file.
    storey : str, optional
        Name of a storey; "" the one with most spaces.

    Returns
    -------
    IfcRooms
        Rooms by an id made from the space's name, known from a plan.

    Raises
    ------
    FileFormatError
        No such file, too large, or no IFC.
    LookupFailed
        There is no such storey.
    InputError
        The extra is not installed.

    References
    ----------
    .. [1] ISO 16739-1:2024, Industry Foundation Classes (IFC) for data sharing,
       IfcSpace, IfcBuildingStorey, Qto_SpaceBaseQuantities (from memory).
    """
    place = Path(path)
    if not place.is_file():
        raise FileFormatError(
            place.name or "building model", given="no such file", allowed="an .ifc file",
            mend="look at its path",
        )  # fmt: skip
    if place.stat().st_size > LARGEST:
        raise FileFormatError(
            place.name,
            given=f"{place.stat().st_size / 1e6:.0f} MB",
            allowed=f"at most {LARGEST / 1e6:.0f} MB",
            mend="ask for the architecture of one flat or storey",
        )
    with place.open("rb") as file:
        head = file.read(200)
        file.seek(max(0, place.stat().st_size - 200))
        end = file.read()
    if b"ISO-10303-21" not in head:
        raise FileFormatError(
            place.name,
            given="no IFC in STEP form",
            allowed="a file that begins with ISO-10303-21",
            mend="ask for it as .ifc",
        )
    if b"END-ISO-10303-21" not in end:  # some of its rooms would be missing without a word
        raise FileFormatError(
            place.name,
            given="an IFC file that is cut off",
            allowed="a file that ends with END-ISO-10303-21",
            mend="copy it again from where it came",
        )
    ifc = _module("ifcopenshell")
    geom = _module("ifcopenshell.geom")
    element = _module("ifcopenshell.util.element")
    try:
        model = ifc.open(str(place))
        spaces = list(model.by_type("IfcSpace"))
    except (RuntimeError, OSError, ifc.Error) as error:
        raise FileFormatError(
            place.name,
            given=str(error).splitlines()[0][:120],
            allowed="a whole file in IFC2X3, IFC4 or IFC4X3",
            mend="ask for it again in one of these",
        ) from None
    if not any(
        getattr(unit, "UnitType", "") == "LENGTHUNIT"
        for assigned in model.by_type("IfcUnitAssignment")
        for unit in assigned.Units
    ):
        raise FileFormatError(
            place.name, given="no unit of length", allowed="lengths in millimetres, metres or feet",
            mend="ask for the model with its units",
        )  # fmt: skip
    by_storey: dict[str, list[Any]] = {}
    for space in spaces:
        parent = element.get_aggregate(space)
        name = str(getattr(parent, "Name", "") or "") if parent is not None else ""
        by_storey.setdefault(name, []).append(space)
    if not by_storey:
        raise FileFormatError(
            place.name, given="no space", allowed="one IfcSpace or more",
            mend="ask for the model with its rooms",
        )  # fmt: skip
    if storey and storey not in by_storey:
        near = nearest(storey, by_storey)
        raise LookupFailed(
            "storey",
            given=storey,
            allowed=", ".join(by_storey),
            mend=f"write {near!r}" if near else "use one of these",
        )
    chosen = storey or max(by_storey, key=lambda name: len(by_storey[name]))
    settings = geom.settings()
    settings.set("use-world-coords", True)
    found: dict[str, tuple[str, Polygon, float, float | None]] = {}
    left: list[str] = []
    for space in by_storey[chosen]:
        name = str(space.LongName or space.Name or "room")
        try:
            shape = geom.create_shape(settings, space)
        except RuntimeError:
            left.append(f"{name}: its body cannot be made.")
            continue
        made = _prism(shape.geometry)
        if isinstance(made, str):
            left.append(f"{name}: {made}")
            continue
        id = _id(f"{space.LongName or ''} {space.Name or ''}", found)
        found[id] = (name, made[0], made[1], _stated(element, space))
    if not found:
        raise FileFormatError(
            place.name,
            given=" ".join(left) or "no space",
            allowed="spaces that are prisms under a flat ceiling",
            mend="trace a plan, or walk the walls",
        )
    x0 = min(p.bounds[0] for _, p, _, _ in found.values())
    y0 = min(p.bounds[1] for _, p, _, _ in found.values())
    rooms, areas, stated = {}, {}, {}
    for id, (name, polygon, height, area) in found.items():
        moved = shapely.transform(polygon, lambda xy: xy - np.array((x0, y0)))
        room, notes = _room(name, moved, height)
        left += notes
        rooms[id] = room
        areas[id] = float(polygon.area)
        if area is not None:
            stated[id] = area
    return IfcRooms(
        rooms=rooms, areas=areas, stated=stated, storeys=tuple(by_storey), left_out=tuple(left)
    )


def _id(text: str, taken: Mapping[str, object]) -> str:
    stem = re.sub(r"[^a-z0-9]+", "_", text.lower()).strip("_") or "room"
    id, number = stem, 2
    while id in taken:
        id, number = f"{stem}_{number}", number + 1
    return id


def _stated(element: Any, space: Any) -> float | None:
    for quantities in element.get_psets(space, qtos_only=True).values():
        for key in ("NetFloorArea", "GrossFloorArea"):
            if isinstance(quantities.get(key), int | float) and quantities[key] > 0:
                return float(quantities[key])
    return None


def _prism(geometry: Any) -> tuple[Polygon, float] | str:
    """Floor and height of a body, or a sentence that says why it is no room here."""
    points = np.array(geometry.verts, dtype=float).reshape(-1, 3)
    faces = np.array(geometry.faces, dtype=int).reshape(-1, 3)
    if not len(faces):
        return "it has no body."
    corners = points[faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normal, axis=1)
    keep = size > 1e-9
    corners, normal = corners[keep], normal[keep] / size[keep, None]
    level = np.abs(normal[:, 2]) > _LEVEL
    upright = np.abs(normal[:, 2]) < 1 - _LEVEL
    low, high = float(points[:, 2].min()), float(points[:, 2].max())
    heights = corners[level][:, :, 2].mean(axis=1)
    at_floor, at_top = np.abs(heights - low) < _FLAT, np.abs(heights - high) < _FLAT
    if not (level | upright).all() or not (at_floor | at_top).all():
        return "its ceiling or floor is not one flat level; measure it and draw it in parts."
    floor = shapely.union_all(shapely.polygons(corners[level][at_floor][:, :, :2]))
    top = shapely.union_all(shapely.polygons(corners[level][at_top][:, :, :2]))
    if not isinstance(floor, Polygon) or floor.is_empty:
        return "its floor is not one piece."
    if floor.symmetric_difference(top).area > 0.01 * floor.area:
        return "its ceiling is not over its whole floor."
    return floor, high - low


def _room(name: str, polygon: Polygon, height: float) -> tuple[Room, list[str]]:
    notes = []
    columns = []
    for ring in polygon.interiors:
        hole = Polygon(ring)
        x0, y0, x1, y1 = hole.bounds
        if math.isclose(hole.area, (x1 - x0) * (y1 - y0), rel_tol=1e-3):
            columns.append(Column(at=((x0 + x1) / 2, (y0 + y1) / 2), size=(x1 - x0, y1 - y0)))
        else:
            notes.append(f"{name}: an opening in its floor of {hole.area:.2f} m² is not drawn.")
    outline = polygon.exterior.simplify(0.0005)
    points: tuple[Point, ...] = tuple(
        (round(float(x), 4) + 0.0, round(float(y), 4) + 0.0)
        for x, y in shapely.get_coordinates(outline)[:-1]
    )
    room = Room(
        name=name,
        outline=points,
        height=round(height, 4),
        columns=tuple(columns),
        known=Known(source="plan"),
    )
    return room, notes
