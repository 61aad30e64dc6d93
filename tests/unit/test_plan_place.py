"""Pieces, chairs and lamps in the home's frame."""

from __future__ import annotations

import dataclasses
import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from plan_sample import sample

from designkit.errors import InputError, LookupFailed
from designkit.model import Chairs, Fixture, Home, Lamp, Layout, Piece, Placement, Room, Service
from designkit.plan.place import place, place_all, place_home, place_lamps

CHAIR = Piece(name="chair", kind="chair", size=(0.46, 0.5, 0.8), seat_height=0.45)


def table(**chairs: int) -> Piece:
    return Piece(
        name="table",
        kind="dining table",
        size=(1.8, 0.9, 0.74),
        chairs=Chairs(piece="chair", **chairs),
    )


def test_the_front_faces_down_and_turns_counter_clockwise() -> None:
    sofa = Piece(name="sofa", kind="sofa", size=(2.0, 1.0, 0.8))
    for rotation, facing, bounds in (
        (0.0, 270.0, (4.0, 1.5, 6.0, 2.5)),
        (90.0, 0.0, (4.5, 1.0, 5.5, 3.0)),
        (180.0, 90.0, (4.0, 1.5, 6.0, 2.5)),
        (-90.0, 180.0, (4.5, 1.0, 5.5, 3.0)),
    ):
        thing = place("sofa", sofa, Placement(at=(5.0, 2.0), rotation=rotation))
        assert thing.footprint.bounds == bounds  # quarter turns are exact
        assert {seat.facing for seat in thing.seats} == {facing}


@given(x=st.floats(-50, 50), y=st.floats(-50, 50), rotation=st.floats(-720, 720, allow_nan=False))
def test_placing_keeps_shape(x: float, y: float, rotation: float) -> None:
    chest = Piece(name="chest", kind="chest of drawers", size=(1.2, 0.5, 0.9))
    thing = place("chest", chest, Placement(at=(x, y), rotation=rotation))
    assert thing.footprint.area == pytest.approx(0.6, rel=1e-9)
    centre = thing.footprint.centroid
    assert (centre.x, centre.y) == pytest.approx((x, y), abs=1e-9)
    zone = thing.zones[0]
    assert math.hypot(zone.origin[0] - x, zone.origin[1] - y) == pytest.approx(0.25, abs=1e-9)
    assert zone.area.area == pytest.approx(1.2 * 0.9, rel=1e-9)
    assert zone.area.intersection(thing.footprint).area == pytest.approx(0.0, abs=1e-9)


def test_things_stand_on_the_top_below_them() -> None:
    pieces = {
        "board": Piece(name="sideboard", kind="sideboard", size=(1.8, 0.45, 0.76)),
        "sofa": Piece(name="sofa", kind="sofa", size=(2.0, 0.9, 0.8), seat_height=0.42),
        "tray": Piece(name="tray", kind="object", size=(0.3, 0.2, 0.05)),
        "lamp": Piece(name="lamp", kind="table lamp", size=(0.3, 0.3, 0.5)),
    }
    layout = Layout(
        name="A",
        pieces={
            "lamp": Placement(at=(0.1, 0.0), on="tray"),
            "tray": Placement(at=(0.0, 0.0), on="board"),
            "board": Placement(at=(0.0, 0.0)),
            "sofa": Placement(at=(4.0, 0.0)),
            "book": Placement(at=(4.0, -0.2), on="sofa", item="tray"),
        },
    )
    placed = place_all(pieces, layout)
    assert list(placed) == ["lamp", "tray", "board", "sofa", "book"]
    assert placed["tray"].base == pytest.approx(0.76)
    assert placed["lamp"].base == pytest.approx(0.81)
    assert placed["book"].base == pytest.approx(0.42)  # the seat, not the back
    assert placed["book"].item == "tray"


def test_things_on_each_other_in_a_circle_are_refused() -> None:
    pieces = {"a": Piece(name="a", kind="object", size=(0.2, 0.2, 0.2))}
    layout = Layout(
        name="A",
        pieces={
            "a": Placement(at=(0, 0), on="b"),
            "b": Placement(at=(0, 0), on="a", item="a"),
        },
    )
    with pytest.raises(InputError, match="a on b on a"):
        place_all(pieces, layout)


def test_wrong_names_list_the_right_ones() -> None:
    with pytest.raises(LookupFailed, match=r"piece of placement soda = soda.*write 'sofa'"):
        place_all({"sofa": CHAIR}, Layout(name="A", pieces={"soda": Placement(at=(0, 0))}))
    with pytest.raises(LookupFailed, match="what sofa stands on = rug"):
        place_all(
            {"sofa": CHAIR}, Layout(name="A", pieces={"sofa": Placement(at=(0, 0), on="rug")})
        )
    with pytest.raises(LookupFailed, match="chairs of t = chair"):
        place_all({"t": table(front=1)}, Layout(name="A", pieces={"t": Placement(at=(0, 0))}))


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), "1.2"])
def test_places_that_are_no_numbers_are_refused(bad: object) -> None:
    with pytest.raises(InputError, match="place of chair"):
        place("chair", CHAIR, Placement(at=(bad, 0.0)))  # type: ignore[arg-type]
    with pytest.raises(InputError, match="place of chair"):
        place("chair", CHAIR, Placement(at=(0.0, 0.0), rotation=bad))  # type: ignore[arg-type]


def test_chairs_face_their_table_and_move_with_it() -> None:
    pieces = {"table": table(front=2, back=2, left=1, right=1), "chair": CHAIR}
    for at, rotation in (((0.0, 0.0), 0.0), ((3.0, 4.0), 30.0), ((-2.0, 1.0), 270.0)):
        placed = place_all(
            pieces, Layout(name="A", pieces={"table": Placement(at=at, rotation=rotation)})
        )
        chairs = {id: thing for id, thing in placed.items() if thing.host}
        assert sorted(chairs) == [
            "table.back1",
            "table.back2",
            "table.front1",
            "table.front2",
            "table.left1",
            "table.right1",
        ]
        for chair in chairs.values():
            assert chair.item == "chair"
            assert chair.host == "table"
            facing = math.radians(chair.seats[0].facing)
            ahead = (
                chair.at[0] + 0.5 * math.cos(facing),
                chair.at[1] + 0.5 * math.sin(facing),
            )
            # looking ahead one has the table, and the back stands clear of it
            assert placed["table"].footprint.distance(chair.footprint) == 0.0
            assert math.dist(ahead, at) < math.dist(chair.at, at)
            back = next(part for part in chair.parts if part.name == "back")
            assert back.footprint.distance(placed["table"].footprint) > 0.05


def test_chairs_pushed_in_from_both_sides_leave_room_for_each_other() -> None:
    narrow = Piece(
        name="t",
        kind="dining table",
        size=(1.2, 0.7, 0.74),
        chairs=Chairs(piece="chair", front=2, back=2),
    )
    layout = Layout(name="A", pieces={"t": Placement(at=(0, 0))})
    placed = place_all({"t": narrow, "chair": CHAIR}, layout)
    assert placed["t.front1"].footprint.distance(placed["t.back1"].footprint) > 0.05


def test_chairs_with_arms_higher_than_the_apron_stay_outside() -> None:
    high = Piece(name="c", kind="chair", size=(0.6, 0.55, 0.85), seat_height=0.45, arm_height=0.7)
    layout = Layout(name="A", pieces={"table": Placement(at=(0, 0))})
    placed = place_all({"table": table(front=1), "chair": high}, layout)
    assert placed["table.front1"].footprint.bounds[3] == pytest.approx(-0.45)


def test_chairs_round_a_circular_table_stand_evenly() -> None:
    top = Piece(
        name="t",
        kind="dining table",
        size=(1.2, 1.2, 0.74),
        shape="circle",
        chairs=Chairs(piece="chair", around=5),
    )
    layout = Layout(name="A", pieces={"t": Placement(at=(1.0, 1.0))})
    placed = place_all({"t": top, "chair": CHAIR}, layout)
    chairs = [thing for thing in placed.values() if thing.host]
    angles = sorted(math.degrees(math.atan2(c.at[1] - 1.0, c.at[0] - 1.0)) % 360 for c in chairs)
    assert [round(b - a, 6) for a, b in itertools.pairwise(angles)] == [72.0] * 4
    assert placed["t.around1"].at == pytest.approx((1.0, placed["t.around1"].at[1]))
    assert placed["t.around1"].at[1] < 1.0
    for chair in chairs:
        toward = math.degrees(math.atan2(1.0 - chair.at[1], 1.0 - chair.at[0])) % 360
        assert chair.seats[0].facing == pytest.approx(toward)


def test_chairs_round_a_square_table_are_refused() -> None:
    with pytest.raises(InputError, match=r"chairs of table = around = 4"):
        place_all(
            {"table": table(around=4), "chair": CHAIR},
            Layout(name="A", pieces={"table": Placement(at=(0, 0))}),
        )


def test_mounted_things_have_their_usual_height() -> None:
    picture = Piece(name="picture", kind="picture", size=(0.7, 0.03, 0.5))
    thing = place("p", picture, Placement(at=(0, 0)))
    assert (thing.base + thing.top) / 2 == pytest.approx(1.5)  # centre, rule picture_centre
    shade = Piece(name="shade", kind="pendant", size=(0.4, 0.4, 0.3))
    with pytest.raises(InputError, match="base of s"):
        place("s", shade, Placement(at=(0, 0)))
    room = Room(name="r", outline=((0, 0), (3, 0), (3, 3), (0, 3)), height=2.5)
    layout = Layout(name="A", pieces={"s": Placement(at=(1, 1))})
    assert place_all({"s": shade}, layout, rooms={"r": room})["s"].top == pytest.approx(2.5)
    vase = Piece(name="vase", kind="object", size=(0.2, 0.2, 0.3), mount="on")
    with pytest.raises(InputError, match="base of v"):
        place("v", vase, Placement(at=(0, 0)))


def test_lamps_hang_and_stand() -> None:
    home = sample()
    layout = home.layouts["a"]
    lamps = place_lamps(home, layout, place_home(home, layout))
    assert lamps["pendant"].base == pytest.approx(0.74 + 0.75)
    assert lamps["reading"].base == 0.0
    assert lamps["reading"].kind_of_thing == "lamp"


def lamp_home(**lamp: object) -> tuple[Home, Layout]:
    layout = Layout(
        name="A",
        pieces={"board": Placement(at=(1.0, 1.0))},
        lamps={"l": Lamp(**{"fixture": "f", **lamp})},  # type: ignore[arg-type]
    )
    home = Home(
        name="h",
        rooms={"r": Room(name="r", outline=((0, 0), (3, 0), (3, 3), (0, 3)), height=2.5)},
        services={"o": Service(room="r", kind="ceiling outlet", at=(2.0, 1.5), height=2.5)},
        pieces={"board": Piece(name="board", kind="sideboard", size=(1.8, 0.45, 0.76))},
        fixtures={"f": Fixture(name="pendant", kind="pendant", size=(0.4, 0.4, 0.3))},
    )
    return home, layout


@pytest.mark.parametrize(
    ("lamp", "at", "base"),
    [
        ({"service": "o"}, (2.0, 1.5), 2.1),
        ({"service": "o", "base": 1.9}, (2.0, 1.5), 1.9),
        ({"service": "o", "at": (1.0, 1.0), "over": "board"}, (1.0, 1.0), 1.51),
        ({"on": "board"}, (1.0, 1.0), 0.76),
    ],
)
def test_a_lamp_takes_its_place_from_what_it_is_at(
    lamp: dict[str, object], at: tuple[float, float], base: float
) -> None:
    home, layout = lamp_home(**lamp)
    thing = place_lamps(home, layout, place_home(home, layout))["l"]
    assert thing.at == at
    assert thing.base == pytest.approx(base)


def test_a_wall_light_stands_off_its_wall() -> None:
    home, layout = lamp_home(at=(3.0, 1.0))
    wall = Fixture(name="wall light", kind="wall light", size=(0.2, 0.1, 0.3))
    home = dataclasses.replace(home, fixtures={"f": wall})
    thing = place_lamps(home, layout, place_home(home, layout))["l"]
    assert thing.footprint.bounds == pytest.approx((2.9, 0.9, 3.0, 1.1))
    assert thing.rotation == pytest.approx(270.0)
    assert (thing.base + thing.top) / 2 == pytest.approx(1.6)


def test_a_lamp_without_a_place_is_refused() -> None:
    home, layout = lamp_home()
    with pytest.raises(InputError, match="place of lamp l"):
        place_lamps(home, layout, place_home(home, layout))
    home, layout = lamp_home(service="p")
    with pytest.raises(LookupFailed, match="service of lamp l = p"):
        place_lamps(home, layout, place_home(home, layout))
