"""What is seen of the floor, beside an independent library for sight polygons."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from shapely.geometry import Polygon

from designkit.plan.sight import isovist

DATA = Path(__file__).parent / "data"
ROOMS = json.loads((DATA / "sight_rooms.json").read_text(encoding="utf-8"))


def rows(room: str) -> list[dict[str, str]]:
    with (DATA / "sight_polygons.csv").open(encoding="utf-8", newline="") as file:
        return [row for row in csv.DictReader(file) if row["room"] == room]


@pytest.mark.reference("A37 by pysovist", of="plan")
@pytest.mark.parametrize("name", ROOMS)
def test_sight_polygons_are_those_of_an_independent_library(name: str) -> None:
    """pysovist 0.3.0, exact sight polygons from wall segments: area, perimeter, open edges.

    Once with the things in the room as holes of its floor, once as obstacles.
    """
    outline, holes = ROOMS[name]["outline"], ROOMS[name]["holes"]
    floor = Polygon(outline, holes)
    assert floor.is_valid
    told = rows(name)
    assert len(told) == 25
    for row in told:
        eye = (float(row["x"]), float(row["y"]))
        obstacles = [(f"thing {k}", Polygon(hole)) for k, hole in enumerate(holes)]
        for seen in (
            isovist(eye, room=floor),
            isovist(eye, room=Polygon(outline), obstacles=obstacles),
        ):
            assert seen.area == pytest.approx(float(row["area"]), rel=1e-9), eye
            assert seen.perimeter == pytest.approx(float(row["perimeter"]), rel=1e-7), eye
            assert seen.occluded == pytest.approx(float(row["occluded"]), abs=1e-6), eye
