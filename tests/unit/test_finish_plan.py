"""The finish plan numbers each wall once, where it stands, and says its finish."""

from __future__ import annotations

import dataclasses
import datetime
from pathlib import Path

import pytest
from shapely.geometry import LineString, Point, Polygon

from designkit.errors import InputError
from designkit.figures.check import faults
from designkit.figures.drawing import Circle, Text
from designkit.figures.finish_plan import finish_plan_sheet, finish_rows, wall_numbers
from designkit.figures.sheet import TitleBlock
from designkit.figures.shell import shell
from designkit.model import Column, Home, Project, Room
from designkit.palette.glazing import glazings
from designkit.project import read
from designkit.publish import sheet_set
from designkit.takeoff.tables import finish_schedule

DATA = Path(__file__).parents[2] / "data"
BLOCK = TitleBlock(project="A flat", title="Finish plan", number="L-203")


@pytest.fixture(scope="module", params=("harbour-flat", "parlor-floor"))
def project(request: pytest.FixtureRequest) -> Project:
    return read(DATA / request.param).project


@pytest.mark.parametrize("paper", ["A3", "A2"])
def test_each_wall_has_its_number_inside_its_room(project: Project, paper: str) -> None:
    home = project.home
    drawing = finish_plan_sheet(home, block=BLOCK, paper=paper)
    assert [str(f) for f in faults(drawing)] == []
    assert drawing.scale is not None
    circles = {i.about: i.centre for i in drawing.items if isinstance(i, Circle) and i.about}
    numbers = {i.about: i.text for i in drawing.items if isinstance(i, Text) and i.about in circles}
    walls = [(id, n) for id, room in home.rooms.items() for n in range(len(room.outline))]
    assert set(numbers) == {f"{id}.{n}" for id, n in walls}
    assert all(numbers[f"{id}.{n}"] == str(n + 1) for id, n in walls)
    # The plan is one shift away from the paper: with the right one, every number lies in
    # its room and nearer to its own wall than to any other of that room.
    base = shell(
        home,
        scale=drawing.scale,
        paper=(drawing.width, drawing.height),
        middle=(0.0, 0.0),
    )
    words = {i.text: i.at for i in drawing.items if isinstance(i, Text) and i.italic}
    there = {i.text: i.at for i in base.words}
    name = next(iter(there))
    shift = (words[name][0] - there[name][0], words[name][1] - there[name][1])
    for id, room in home.rooms.items():
        ring = [base.paper(p) for p in room.outline]
        ring = [(x + shift[0], y + shift[1]) for x, y in ring]
        sides = [LineString([a, b]) for a, b in zip(ring, [*ring[1:], ring[0]], strict=True)]
        for n, side in enumerate(sides):
            spot = Point(circles[f"{id}.{n}"])
            assert Polygon(ring).contains(spot)
            assert side.distance(spot) < 10.0
            assert side.distance(spot) <= min(s.distance(spot) for s in sides) + 1e-6


def test_rows_agree_with_the_schedule(project: Project) -> None:
    """Two roads to one answer: the plan's rows by the outline, the schedule's by faces."""
    home = project.home
    table = finish_schedule(project, audience="client")
    said = {(str(r["room"]), str(r["surface"])): str(r["finish"]) for r in table.rows}
    for room in home.rooms.values():
        for words, finish in finish_rows(room):
            if words.startswith("wall"):
                kind, numbers = words.split(" ", 1)
                assert kind in ("wall", "walls")
                for part in numbers.split(", "):
                    first, _, last = part.partition("–")
                    for n in range(int(first), int(last or first) + 1):
                        surface = (room.name, f"wall {n}")
                        assert said.pop(surface, finish) in (finish, "not chosen")
            elif "column" not in words:
                assert said.pop((room.name, words)) == finish
    assert not [surface for _, surface in said if surface.startswith("wall")]


def test_numbers_of_walls() -> None:
    assert wall_numbers([]) == ""
    assert wall_numbers([3, 0, 1]) == "1, 2, 4"
    assert wall_numbers([0, 1, 2, 3]) == "1–4"


def test_columns_take_the_finish_of_the_walls() -> None:
    room = Room(
        name="r",
        outline=((0, 0), (4, 0), (4, 3), (0, 3)),
        height=2.6,
        wall="white",
        columns=(
            Column(at=(1.0, 1.0), size=(0.3, 0.3)),
            Column(at=(3.0, 1.0), size=(0.3, 0.3), finish="steel"),
        ),
    )
    assert finish_rows(room) == (
        ("floor", ""),
        ("walls 1–4", "white"),
        ("column", "white"),
        ("column", "steel"),
        ("ceiling", ""),
    )
    home = Home(name="h", rooms={"r": room})
    drawing = finish_plan_sheet(home, block=BLOCK, paper="A4")
    assert "not chosen" in drawing.text
    assert "2 surfaces are not chosen" in drawing.text
    with pytest.raises(InputError, match="rooms"):
        finish_plan_sheet(dataclasses.replace(home, rooms={}), block=BLOCK)


def test_it_is_in_the_set(project: Project) -> None:
    today = datetime.date(2026, 11, 25)
    plan, schedule = sheet_set(project, names=["finish-plan", "finish-schedule"], today=today)
    assert plan.drawings[0].title.startswith("Finish plan")
    assert "Walls are numbered on the finish plan" in schedule.drawings[0].text or any(
        "finish plan" in i.text for i in schedule.drawings[0].items if isinstance(i, Text)
    )


def test_glass_that_is_said_stands_in_the_table(project: Project) -> None:
    home = project.home
    windows = [id for id, o in home.openings.items() if o.kind in ("window", "balcony")]
    kinds = ("double-clear-6", "double-bronze-6")
    openings = dict(home.openings)
    for id, glass in zip(windows, kinds, strict=False):
        openings[id] = dataclasses.replace(openings[id], glass=glass)
    drawing = finish_plan_sheet(dataclasses.replace(home, openings=openings), block=BLOCK)
    assert [str(f) for f in faults(drawing)] == []
    said = [i.text for i in drawing.items if isinstance(i, Text)]
    for glass in kinds[: len(windows)]:
        assert any(words.endswith(glazings()[glass]) for words in said)
        assert glazings()[glass] in drawing.text


@pytest.mark.parametrize(
    "told", ["W" * 260, "very " * 50 + "long", "two lines\nof words", "hall 🛋️ مرحبا"]
)
def test_names_of_any_length_stay_in_their_place(project: Project, told: str) -> None:
    home = dataclasses.replace(
        project.home,
        rooms={k: dataclasses.replace(v, name=told) for k, v in project.home.rooms.items()},
        finishes={k: dataclasses.replace(v, name=told) for k, v in project.home.finishes.items()},
        openings={
            k: dataclasses.replace(v, name=told, glass="double-bronze-6")
            for k, v in project.home.openings.items()
        },
    )
    for paper in ("A3", "A2"):
        drawing = finish_plan_sheet(home, block=BLOCK, paper=paper)
        assert [str(f) for f in faults(drawing)] == []
        assert not any("\n" in i.text for i in drawing.items if isinstance(i, Text))
