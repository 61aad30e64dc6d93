"""Walls with holes, wallcovering on them, and rolls."""

from __future__ import annotations

import dataclasses

import pytest

from designkit.errors import InputError, LookupFailed
from designkit.model import Column, Home, Opening, Room
from designkit.takeoff.rolls import Strip, cut_rolls
from designkit.takeoff.surfaces import (
    Hole,
    WallFace,
    column_faces,
    floor_area,
    room_at,
    room_outline,
    wall_faces,
)
from designkit.takeoff.wallcovering import ROLLS, Roll, Run, drops, wallcovering

LEFT = Room(name="left", outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.5, wall="white")
# Written the other way round, behind a wall of 0.2 m.
RIGHT = Room(name="right", outline=((4.2, 0), (4.2, 3), (7, 3), (7, 0)), height=2.5, wall="grey")
DOOR = Opening(room="left", wall=1, offset=0.5, width=0.9, head=2.1, kind="door", to="right")
WINDOW = Opening(
    room="left", wall=0, offset=1.0, width=2.0, sill=0.9, head=2.1, kind="window", to="outside"
)
HOME = Home(
    name="two rooms",
    rooms={"left": LEFT, "right": RIGHT},
    openings={"door": DOOR, "window": WINDOW},
)


def test_a_door_is_a_hole_on_both_sides() -> None:
    here = wall_faces(HOME, "left")
    there = wall_faces(HOME, "right")
    assert [h.id for h in here[1].holes] == ["door"]
    # Wall 0 of the other room runs up the same line, from (4.2, 0) to (4.2, 3).
    assert [h.id for h in there[0].holes] == ["door"]
    assert there[0].holes[0].left == pytest.approx(0.5)
    assert there[0].net == pytest.approx(3 * 2.5 - 0.9 * 2.1)
    assert all(not f.holes for f in there[1:])


def test_areas_add_up_by_hand() -> None:
    faces = wall_faces(HOME, "left")
    assert sum(f.gross for f in faces) == pytest.approx(14 * 2.5)
    assert sum(f.net for f in faces) == pytest.approx(14 * 2.5 - 0.9 * 2.1 - 2.0 * 1.2)


def test_overlapping_holes_are_counted_once() -> None:
    hole = Hole(id="a", kind="window", left=1.0, right=2.0, sill=1.0, head=2.0)
    other = dataclasses.replace(hole, id="b", left=1.5, right=2.5)
    face = WallFace(room="r", wall=0, length=4, height=2.5, finish="", holes=(hole, other))
    assert face.holes_area == pytest.approx(1.5)


def test_pier_hides_wall_and_shows_its_own_faces() -> None:
    pier = Column(at=(0.2, 1.5), size=(0.4, 0.6))
    home = dataclasses.replace(
        HOME, rooms={"left": dataclasses.replace(LEFT, columns=(pier,))}, openings={}
    )
    faces = wall_faces(home, "left")
    assert [h.kind for h in faces[3].holes] == ["column"]
    assert faces[3].net == pytest.approx((3 - 0.6) * 2.5, abs=1e-4)
    (shown,) = column_faces(home, "left")
    assert not shown.closed
    assert shown.length == pytest.approx(0.4 + 0.6 + 0.4, abs=1e-3)
    assert floor_area(home.rooms["left"]) == pytest.approx(12 - 0.24)


def test_free_column_is_round_all_the_way() -> None:
    post = Column(at=(2, 1.5), size=(0.4, 0.4), shape="circle", finish="stone")
    home = dataclasses.replace(
        HOME, rooms={"left": dataclasses.replace(LEFT, columns=(post,))}, openings={}
    )
    (shown,) = column_faces(home, "left")
    assert shown.closed
    assert shown.finish == "stone"
    assert shown.length == pytest.approx(3.14159 * 0.4, rel=1e-3)


def test_faults_of_the_shell_are_named() -> None:
    with pytest.raises(LookupFailed, match=r"room = lft; .*did you mean left"):
        wall_faces(HOME, "lft")
    off = dataclasses.replace(DOOR, offset=2.5)
    with pytest.raises(InputError, match=r"openings\.door"):
        wall_faces(dataclasses.replace(HOME, openings={"door": off}), "left")
    upside = dataclasses.replace(WINDOW, sill=2.2)
    with pytest.raises(InputError, match=r"openings\.window\.head"):
        wall_faces(dataclasses.replace(HOME, openings={"window": upside}), "left")
    lost = dataclasses.replace(DOOR, wall=7)
    with pytest.raises(InputError, match=r"openings\.door\.wall = 7"):
        wall_faces(dataclasses.replace(HOME, openings={"door": lost}), "left")
    crossed = Room(name="bow", outline=((0, 0), (2, 2), (2, 0), (0, 2)), height=2.5)
    with pytest.raises(InputError, match="cross themselves"):
        room_outline(crossed)
    with pytest.raises(InputError, match="three or more corners"):
        room_outline(dataclasses.replace(crossed, outline=((0, 0), (1, 1))))


def test_room_of_a_point() -> None:
    assert room_at(HOME, (1, 1)) == "left"
    assert room_at(HOME, (6, 1)) == "right"
    assert room_at(HOME, (4.1, 1)) == ""


def test_strips_over_a_door_are_short_and_over_a_window_are_two() -> None:
    door = Hole(id="d", kind="door", left=0.53, right=1.59, sill=0, head=2.0)
    window = Hole(id="w", kind="window", left=2.12, right=2.65, sill=0.9, head=2.0)
    hung = drops([door, window], run=3.18, height=2.5, width=0.53)
    assert [(d.id, round(d.length, 3)) for d in hung] == [
        ("1a", 2.5),
        ("2a", 0.5),
        ("3a", 0.5),
        ("4a", 2.5),
        ("5a", 0.9),
        ("5b", 0.5),
        ("6a", 2.5),
    ]


def test_strip_that_crosses_an_edge_of_an_opening_is_whole() -> None:
    door = Hole(id="d", kind="door", left=0.3, right=1.3, sill=0, head=2.5)
    hung = drops([door], run=1.59, height=2.5, width=0.53)
    # The second strip lies wholly in the opening, which goes to the ceiling: nothing hangs.
    assert [d.number for d in hung] == [0, 2]


def test_hung_area_covers_the_wall() -> None:
    faces = wall_faces(HOME, "left")
    made = wallcovering(
        [Run(name="left", faces=faces, closed=True)], roll=ROLLS["metric"], lap=0.0, spare=0
    )
    hung = sum((d.right - d.left) * d.length for d in made.drops)
    assert hung >= made.area - 1e-9
    assert made.length == pytest.approx(14.0)
    assert made.strips == 27  # 14 / 0.53 = 26.4
    bought = made.rolls * 10.05 * 0.53
    assert bought >= hung


def test_walls_of_two_runs_share_off_cuts() -> None:
    one = WallFace(room="r", wall=0, length=0.5, height=2.5, finish="p", holes=())
    runs = [Run(name=str(i), faces=(one,)) for i in range(3)]
    assert wallcovering(runs, roll=ROLLS["metric"], spare=0).rolls == 1
    assert sum(wallcovering([r], roll=ROLLS["metric"], spare=0).rolls for r in runs) == 3


def test_cautious_order_counts_the_heads_of_rolls() -> None:
    wall = WallFace(room="r", wall=0, length=4.0, height=2.5, finish="p", holes=())
    roll = Roll(width=0.53, length=10.05, repeat=0.64, match="straight")
    usual = wallcovering([Run(name="r", faces=(wall,))], roll=roll, spare=0)
    safe = wallcovering([Run(name="r", faces=(wall,))], roll=roll, spare=0, cautious=True)
    assert safe.rolls >= usual.rolls
    assert safe.cautious.count == safe.rolls


def test_double_rolls_are_priced_in_singles() -> None:
    wall = WallFace(room="r", wall=0, length=4.0, height=2.4, finish="p", holes=())
    made = wallcovering([Run(name="r", faces=(wall,))], roll=ROLLS["US"], spare=0, system="US")
    assert made.order == 2 * made.rolls


def test_wallcovering_refuses_what_cannot_be_hung() -> None:
    wall = WallFace(room="r", wall=0, length=4.0, height=2.5, finish="p", holes=())
    run = Run(name="r", faces=(wall,))
    with pytest.raises(InputError, match="strip r 1a"):
        wallcovering([run], roll=Roll(width=0.53, length=2.0))
    with pytest.raises(InputError, match="roll width"):
        wallcovering([run], roll=Roll(width=0.0, length=10.0))
    with pytest.raises(InputError, match="repeat = 0 m"):
        wallcovering([run], roll=Roll(width=0.53, length=10.0, match="half-drop"))
    with pytest.raises(InputError, match="walls = 0"):
        wallcovering([Run(name="r", faces=())], roll=ROLLS["metric"])
    with pytest.raises(InputError, match="nothing to cover"):
        wallcovering([], roll=ROLLS["metric"])
    low = dataclasses.replace(wall, height=2.0)
    with pytest.raises(InputError, match="height of the walls, r"):
        wallcovering([Run(name="r", faces=(wall, low))], roll=ROLLS["metric"])
    with pytest.raises(InputError, match="spare rolls"):
        wallcovering([run], roll=ROLLS["metric"], spare=-1)


def test_no_strips_need_no_roll() -> None:
    assert cut_rolls([], roll_length=10.0).count == 0


def test_unknown_match_is_named() -> None:
    with pytest.raises(InputError, match="match = quarter"):
        cut_rolls([Strip(id="1", length=1.0)], roll_length=10.0, match="quarter")  # type: ignore[arg-type]
