"""Outlines, walls, openings, services and free floor."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from plan_sample import sample
from shapely.geometry import Point, Polygon

from designkit.errors import InputError, LookupFailed
from designkit.model import Home, Opening, Piece, Placement, Room, Service
from designkit.plan.place import place
from designkit.plan.space import (
    Space,
    clear_width,
    free_floor,
    glazing_share,
    largest_clear_circle,
    obstacles,
    room_polygon,
    room_repairs,
    space_at,
    spaces,
    wall_runs,
    walls_of,
)

SQUARE = ((0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0))


def room(outline: object = SQUARE, height: float = 2.6) -> Room:
    return Room(name="room", outline=outline, height=height)  # type: ignore[arg-type]


def one(*openings: Opening, services: dict[str, Service] | None = None) -> Space:
    home = Home(
        name="h",
        rooms={"room": room()},
        openings={f"o{i}": o for i, o in enumerate(openings)},
        services=services or {},
    )
    return spaces(home)["room"]


def door(**changes: object) -> Opening:
    given = {
        "room": "room", "wall": 0, "offset": 1.0, "width": 1.0, "head": 2.1, "kind": "door",
        "hinge": "left", "swing": "in", "clear_width": 0.8,
    }  # fmt: skip
    return Opening(**{**given, **changes})  # type: ignore[arg-type]


# --- outlines ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("outline", "message"),
    [
        (((0, 0), (4, 3), (4, 0), (0, 3)), "Self-intersection"),  # a bow-tie
        (((0, 0), (4, 0), (4, 3), (0, 3), (0, 1), (2, 1), (0, 1)), "outline of r"),  # a spike
        (((0, 0), (4, 0), (float("nan"), 3), (0, 3)), "point 3 = .*finite"),
        (((0, 0), (4, 0), (float("inf"), 3), (0, 3)), "point 3"),
        (((0, 0), ("4", 0), (4, 3), (0, 3)), "point 2"),
        (((0, 0), (4, 0, 1), (4, 3), (0, 3)), "point 2"),
        (((0, 0), (4, 0)), "2 different points"),
        (((0, 0), (4, 0), (4, 0), (0, 0)), "2 different points"),
        (((0, 0), (4000, 0), (4000, 3000), (0, 3000)), "millimetres"),
        (((0, 0), (0.2, 0), (0.2, 0.2), (0, 0.2)), r"0.040 m²"),
        (((0, 0), (2, 0), (4, 0)), "outline of r"),  # no area
    ],
)
def test_outlines_that_are_not_one_room_are_refused(outline: object, message: str) -> None:
    with pytest.raises(InputError, match=message):
        room_polygon("r", room(outline))


@pytest.mark.parametrize("height", [0.0, -1.0, float("nan"), float("inf"), 2600.0, "2.6"])
def test_heights_that_are_no_heights_are_refused(height: object) -> None:
    with pytest.raises(InputError, match="height of r"):
        room_polygon("r", room(height=height))  # type: ignore[arg-type]


def test_either_vertex_order_is_the_same_room_with_walls_as_written() -> None:
    forward, backward = walls_of("r", room()), walls_of("r", room(SQUARE[::-1]))
    assert [w.inward for w in forward] == [(0, 1), (-1, 0), (0, -1), (1, 0)]
    for wall in backward:
        middle = (
            (wall.start[0] + wall.end[0]) / 2 + 0.1 * wall.inward[0],
            (wall.start[1] + wall.end[1]) / 2 + 0.1 * wall.inward[1],
        )
        assert room_polygon("r", room()).contains(Point(middle))
    assert backward[0].start == (0.0, 3.0)
    assert backward[0].end == (4.0, 3.0)


def test_points_written_twice_are_said_and_number_no_wall_anew() -> None:
    doubled = room(((0, 0), (4, 0), (4, 0), (4, 3), (0, 3), (0, 0)))
    assert room_polygon("r", doubled).area == 12.0
    assert room_repairs("r", doubled) == ("outline of r: 2 points written twice taken as one",)
    walls = walls_of("r", doubled)
    assert [w.length for w in walls] == [4.0, 0.0, 3.0, 4.0, 3.0, 0.0]
    assert walls[1].inward == (0.0, 0.0)
    assert walls[2].inward == (-1.0, 0.0)
    assert room_repairs("r", room()) == ()
    home = Home(
        name="h",
        rooms={"r": doubled},
        openings={"o": door(room="r", wall=1, offset=0.0)},
    )
    with pytest.raises(InputError, match=r"within wall 1 of r, 0.000 m long"):
        spaces(home)


def test_an_outline_of_ten_thousand_corners_is_said_and_kept_within_a_millimetre() -> None:
    side = np.linspace(0.0, 1.0, 2500, endpoint=False)
    wave = 0.0002 * np.sin(np.arange(2500))
    fine = np.concatenate(
        [
            np.column_stack((4 * side, wave)),
            np.column_stack((4 + wave, 3 * side)),
            np.column_stack((4 - 4 * side, 3 + wave)),
            np.column_stack((wave, 3 - 3 * side)),
        ]
    )
    rough = room(tuple(map(tuple, fine.tolist())))
    plain = room_polygon("r", rough)
    assert shapely.hausdorff_distance(plain, Polygon(fine)) <= 0.001
    assert len(plain.exterior.coords) < 100
    assert room_repairs("r", rough)[0].startswith("outline of r: 10000 corners drawn within 1 mm")
    runs = wall_runs("r", rough)
    assert len(runs) == 4
    assert sorted(i for run in runs for i in run.walls) == list(range(10000))
    assert [round(run.length, 2) for run in runs] == [4.0, 3.0, 4.0, 3.0]


def test_the_grain_of_a_scan_is_said_and_a_saw_is_refused() -> None:
    """Four walls of 2500 points each: 4 mm of grain goes; teeth of 0.3 m are no room."""

    def outline(depth: float) -> tuple[tuple[float, float], ...]:
        tooth = [depth * (i % 2) for i in range(2500)]
        return tuple(
            [(4 * i / 2500, t) for i, t in enumerate(tooth)]
            + [(4.0, 3 * i / 2500) for i in range(2500)]
            + [(4 - 4 * i / 2500, 3.0) for i in range(2500)]
            + [(0.0, 3 - 3 * i / 2500) for i in range(2500)]
        )

    grain = room(outline(0.004))
    assert room_repairs("r", grain)[0].startswith("outline of r: 10000 corners drawn within 10 mm")
    assert shapely.hausdorff_distance(room_polygon("r", grain), Polygon(grain.outline)) <= 0.01
    with pytest.raises(InputError, match=r"10000 corners, 24\d\d when drawn within 10 mm"):
        room_polygon("r", room(outline(0.3)))


@given(turn=st.floats(0, 360), first=st.integers(0, 4), back=st.booleans())
def test_wall_runs_join_walls_in_line(turn: float, first: int, back: bool) -> None:
    points = [(0, 0), (2, 0), (4, 0.002), (4, 3), (0, 3)]
    points = points[first:] + points[:first]
    points = points[::-1] if back else points
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    outline = tuple((c * x - s * y, s * x + c * y) for x, y in points)
    runs = wall_runs("r", room(outline))
    assert sorted(len(run.walls) for run in runs) == [1, 1, 1, 2]
    polygon = room_polygon("r", room(outline))
    for run in runs:
        inside = (
            (run.start[0] + run.end[0]) / 2 + 0.1 * run.inward[0],
            (run.start[1] + run.end[1]) / 2 + 0.1 * run.inward[1],
        )
        assert polygon.contains(Point(inside))


# --- openings ---------------------------------------------------------------


def test_left_and_right_are_seen_from_inside() -> None:
    space = one(door(), door(wall=1, offset=0.5), door(wall=2), door(wall=3, offset=0.5))
    lefts = [(o.left, o.right) for o in space.openings]
    assert lefts == [
        ((2.0, 0.0), (1.0, 0.0)),
        ((4.0, 1.5), (4.0, 0.5)),
        ((2.0, 3.0), (3.0, 3.0)),
        ((0.0, 1.5), (0.0, 2.5)),
    ]
    assert [o.inward for o in space.openings] == [(0, 1), (-1, 0), (0, -1), (1, 0)]


def test_a_door_leaf_sweeps_a_quarter_disc_from_its_hinge() -> None:
    (opening,) = one(door()).openings
    (leaf,) = opening.leaves
    frame = 0.0254
    assert leaf.pivot == pytest.approx((2.0 - frame, 0.0))
    assert leaf.closed == pytest.approx((1.0 + frame, 0.0))
    assert leaf.opened == pytest.approx((2.0 - frame, 1.0 - 2 * frame))
    length = 1.0 - 2 * frame
    assert leaf.swing.area == pytest.approx(math.pi * length**2 / 4, rel=1e-3)
    assert leaf.body.area == pytest.approx(0.04 * length)
    # the clear width is on the latch side and the open leaf stands beside it
    assert math.dist(opening.clear_left, opening.clear_right) == pytest.approx(0.8)
    assert opening.clear_right == pytest.approx((1.0 + frame, 0.0))
    front = Polygon([(1.03, 0.01), (1.82, 0.01), (1.82, 0.9), (1.03, 0.9)])
    assert leaf.body.distance(front) > 0.0


def test_hinges_swings_and_pairs() -> None:
    right = one(door(hinge="right")).openings[0].leaves[0]
    assert right.pivot == pytest.approx((1.0254, 0.0))
    out = one(door(swing="out", thickness=0.3)).openings[0].leaves[0]
    assert out.opened[1] == pytest.approx(-0.3 - (1.0 - 0.0508))
    assert not out.here
    pair = one(door(leaves=2, hinge=None, width=1.6)).openings[0].leaves
    assert [leaf.pivot[0] for leaf in pair] == pytest.approx([2.6 - 0.0254, 1.0 + 0.0254])
    assert one(door(swing="slide", hinge=None)).openings[0].leaves == ()
    assert one(door(swing="none", hinge=None)).openings[0].leaves == ()
    with pytest.raises(InputError, match="hinge of o0"):
        one(door(hinge=None))


@pytest.mark.parametrize(
    ("leaf", "count", "here"),
    [
        ("fixed", 0, True),
        ("sliding", 0, True),
        ("hung", 0, True),
        ("inward", 1, True),
        ("tilt-turn", 1, True),
        ("outward", 1, False),
    ],
)
def test_windows_sweep_by_their_kind(leaf: str, count: int, here: bool) -> None:
    window = door(kind="window", leaf=leaf, sill=0.9, swing="none", clear_width=None)
    leaves = one(window).openings[0].leaves
    assert len(leaves) == count
    assert all(one_leaf.here is here for one_leaf in leaves)
    assert all((one_leaf.base, one_leaf.top) == (0.9, 2.1) for one_leaf in leaves)


@pytest.mark.parametrize(
    ("changes", "width"),
    [
        ({"clear_width": 0.77}, 0.77),
        ({"clear_width": None}, 1.0 - 0.0508 - 0.1016),
        ({"clear_width": None, "leaves": 2, "hinge": None}, 1.0 - 0.0508 - 0.2032),
        ({"clear_width": None, "swing": "slide", "hinge": None}, 1.0 - 0.0508),
        ({"clear_width": None, "swing": "slide", "leaves": 2, "hinge": None}, 0.4746),
        ({"clear_width": None, "swing": "none", "hinge": None}, 1.0 - 0.0508),
        ({"clear_width": None, "kind": "passage"}, 1.0),
        ({"clear_width": None, "kind": "balcony", "swing": "none", "leaf": "sliding"}, 0.9492),
    ],
)
def test_clear_widths(changes: dict[str, object], width: float) -> None:
    assert clear_width(door(**changes)) == pytest.approx(width)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"offset": 3.2}, "opening o0 = from 3.2 m, 1 m wide; allowed: within wall 0 of room, 4"),
        ({"wall": 4}, "wall of o0 = 4; allowed: 0 to 3"),
        ({"offset": -0.1}, "offset of o0"),
        ({"width": float("nan")}, "width of o0"),
        ({"head": 2.8}, "head of o0"),
        ({"sill": 2.2}, "head of o0"),
        ({"clear_width": 1.2}, "clear width = 1.2"),
        ({"width": 0.12, "clear_width": None}, "structural width"),
        ({"leaves": 0}, "leaves of o0"),
    ],
)
def test_doors_that_are_not_in_their_wall_are_refused(
    changes: dict[str, object], message: str
) -> None:
    with pytest.raises(InputError, match=message):
        one(door(**changes))


def test_an_opening_in_a_room_that_is_not_there_is_refused() -> None:
    with pytest.raises(LookupFailed, match=r"room of opening o0 = rooom.*write 'room'"):
        one(door(room="rooom"))


# --- spaces -----------------------------------------------------------------


def test_rooms_joined_by_a_passage_are_one_space_with_the_walls_thickness() -> None:
    home = sample()
    all_spaces = spaces(home)
    assert list(all_spaces) == ["living+hall", "bedroom"]
    joined = all_spaces["living+hall"]
    areas = [room_polygon(r, home.rooms[r]).area for r in ("living", "hall")]
    assert joined.polygon.area == pytest.approx(sum(areas) + 1.1 * 0.15)
    assert joined.height == 2.7
    # a door does not join: it is seen from both its rooms
    views = [(o.room, o.to, o.far) for s in all_spaces.values() for o in s.openings
             if o.id == "bed door"]  # fmt: skip
    assert views == [("hall", "bedroom", False), ("bedroom", "hall", True)]
    far = next(o for o in all_spaces["bedroom"].openings if o.id == "bed door")
    assert far.left == pytest.approx((5.6, 4.6))
    assert far.inward == (1.0, 0.0)
    assert [leaf.here for leaf in far.leaves] == [True]  # it opens out of the hall


def test_a_passage_that_does_not_meet_its_room_says_the_thickness() -> None:
    home = sample()
    way = dataclasses.replace(home.openings["way"], thickness=0.35)
    with pytest.raises(InputError, match=r"opening way.*write thickness = 0\.150 m"):
        spaces(dataclasses.replace(home, openings={**home.openings, "way": way}))


def test_a_passage_bridges_some_millimetres() -> None:
    home = sample()
    way = dataclasses.replace(home.openings["way"], thickness=0.14)
    joined = spaces(dataclasses.replace(home, openings={**home.openings, "way": way}))
    assert joined["living+hall"].polygon.area == pytest.approx(38.65, abs=1e-6)


def test_the_space_of_a_point() -> None:
    all_spaces = spaces(sample())
    assert space_at(all_spaces, (4.0, 5.0)).id == "living+hall"
    assert space_at(all_spaces, (9.0, 7.0)).id == "bedroom"
    assert space_at(all_spaces, (20.0, 7.0)).id == "bedroom"  # the nearest
    assert space_at(all_spaces, (0.0, 0.0), room="bedroom").id == "bedroom"
    with pytest.raises(LookupFailed, match=r"room = bedrom.*write 'bedroom'"):
        space_at(all_spaces, (0.0, 0.0), room="bedrom")
    with pytest.raises(InputError, match="rooms = 0"):
        space_at({}, (0.0, 0.0))


def test_services_stand_at_their_wall_and_look_into_the_room() -> None:
    radiator = Service(
        room="room", kind="radiator", at=(4.0, 1.5), height=0.1, size=(1.0, 0.1, 0.6)
    )
    panel = Service(room="room", kind="panel", at=(0.0, 1.0), height=1.5, size=(0.4, 0.1, 0.6))
    space = one(services={"rad": radiator, "panel": panel})
    rad, board = space.services
    assert rad.body is not None
    assert rad.body.bounds == pytest.approx((3.9, 1.0, 4.0, 2.0))
    assert rad.outward == pytest.approx((-1.0, 0.0))
    assert (rad.base, rad.top) == pytest.approx((0.1, 0.7))
    assert board.clear is not None
    assert board.clear.bounds == pytest.approx((0.1, 0.619, 0.1 + 0.9144, 1.381))
    assert board.rule == "plan.clear.panel_depth"


def test_a_vent_in_the_middle_of_the_floor_keeps_its_turn() -> None:
    vent = Service(
        room="room", kind="vent", at=(2.0, 1.5), size=(0.3, 0.1, 0.0), clear=(0.3, 0.2), rotation=90
    )
    (found,) = one(services={"v": vent}).services
    assert found.outward == pytest.approx((1.0, 0.0))
    with pytest.raises(InputError, match="service v"):
        one(services={"v": dataclasses.replace(vent, at=(float("nan"), 0.0))})


# --- free floor --------------------------------------------------------------


def test_free_floor_leaves_out_what_stands_on_it_and_keeps_rugs_and_what_hangs() -> None:
    space = one(door())
    box = Piece(name="box", kind="ottoman", size=(1.0, 0.5, 0.4))
    rug = Piece(name="rug", kind="rug", size=(2.0, 2.0, 0.012))
    shelf = Piece(name="shelf", kind="wall shelf", size=(1.0, 0.3, 0.04))
    placed = {
        "box": place("box", box, Placement(at=(3.0, 2.0))),
        "rug": place("rug", rug, Placement(at=(2.0, 1.5))),
        "high": place("high", shelf, Placement(at=(2.0, 2.85), base=2.1)),
        "low": place("low", shelf, Placement(at=(0.8, 2.85), base=1.0)),
        "gone": place("gone", box, Placement(at=(9.0, 9.0))),
    }
    leaf = 0.04 * (1.0 - 0.0508)
    assert free_floor(space, placed).area == pytest.approx(12.0 - 0.5 - 0.3 - leaf)
    assert [id for id, _ in obstacles(space, placed)] == ["o0", "box", "low"]
    everything = free_floor(space, placed, height_range=(-1.0, 3.0))
    assert everything.area < 12.0 - 4.0


def test_a_chair_takes_its_whole_seat_and_a_table_its_whole_top() -> None:
    space = one()
    table = Piece(name="t", kind="dining table", size=(1.8, 0.9, 0.74))
    placed = {"t": place("t", table, Placement(at=(2.0, 1.5)))}
    assert free_floor(space, placed).area == pytest.approx(12.0 - 1.62)
    assert len(obstacles(space, placed)) == 1


@given(st.floats(1.0, 6.0), st.floats(1.0, 6.0))
def test_the_largest_circle_of_a_rectangle(width: float, depth: float) -> None:
    (x, y), radius = largest_clear_circle(shapely.box(0, 0, width, depth))
    assert radius == pytest.approx(min(width, depth) / 2, abs=3e-4)
    assert shapely.box(0, 0, width, depth).buffer(1e-9).contains(Point(x, y).buffer(radius))


def test_the_largest_circle_needs_a_floor() -> None:
    with pytest.raises(InputError, match="free floor"):
        largest_clear_circle(Polygon())
    two = shapely.MultiPolygon([shapely.box(0, 0, 1, 1), shapely.box(5, 0, 8, 2)])
    assert largest_clear_circle(two)[1] == pytest.approx(1.0, abs=3e-4)


def test_glazing_needs_a_room() -> None:
    with pytest.raises(LookupFailed, match="room = attic"):
        glazing_share(sample(), "attic")
