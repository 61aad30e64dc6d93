"""Walks taken into a home, the words of a walk, and pieces put at a free place."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon

from designkit import project as files
from designkit import shipped
from designkit.analyses.of_putting import chairs_for, layout_to_furnish, put_in
from designkit.analyses.of_walks import survey_of, walked
from designkit.errors import InputError
from designkit.model import Home, Layout, Piece, Placement, Room, Walk
from designkit.plan.box import box, piece_from_box
from designkit.plan.place import place_home
from designkit.plan.space import spaces
from designkit.plan.survey import survey
from designkit.plan.survey_items import read_column, read_diagonals, read_service
from designkit.plan.survey_words import lines_of, walk_of, with_bracket, without_bracket

DEMOS = ["harbour-flat", "parlor-floor"]


def home_of(demo: str) -> Home:
    return files.read(shipped.shipped(f"data/{demo}")).project.home


def flat(points: tuple[tuple[float, float], ...]) -> list[float]:
    return [n for point in points for n in point]


def bare(walls: str, **more: object) -> Home:
    walk = Walk(name="Room", walls=walls, height="2.6")
    return walked(Home(name="h", walks={"room": walk}, **more)).home  # type: ignore[arg-type]


# --- a room in words ------------------------------------------------------------------


@pytest.mark.parametrize("demo", DEMOS)
def test_a_room_written_as_a_walk_reads_back_as_itself(demo: str) -> None:
    home = home_of(demo)
    again = walked(replace(home, walks={id: walk_of(home, id) for id in home.rooms}))
    assert again.problems == {}
    assert again.apart == ()
    for id, room in home.rooms.items():
        assert flat(again.home.rooms[id].outline) == pytest.approx(flat(room.outline), abs=1e-6)
        assert again.home.rooms[id].columns == room.columns
    assert again.home.openings == home.openings
    assert again.home.services == home.services
    assert again.home.layouts == home.layouts


@given(
    sides=st.lists(st.floats(0.4, 5.0), min_size=2, max_size=4),
    skew=st.floats(0.0, 0.8),
)
def test_any_outline_reads_back_as_itself(sides: list[float], skew: float) -> None:
    """A staircase of rooms with one slanting wall, in metres and in feet."""
    points = [(0.0, 0.0)]
    x = y = 0.0
    for side in sides:
        x += side
        points.append((round(x, 4), round(y, 4)))
        y += side / 2
        points.append((round(x + skew, 4), round(y, 4)))
        x += skew
    points.append((0.0, round(y, 4)))
    room = Room(name="a", outline=tuple(points), height=2.6)
    for units in ("m", "ft"):
        text = walk_of(Home(name="h", units=units, rooms={"a": room}), "a").walls  # type: ignore[arg-type]
        found = survey(text, units=units, height="2.6 m", strict=False)
        assert found.problems == ()
        # a length in feet is written to a sixteenth of an inch, 0.8 mm either way
        within = 2e-6 if units == "m" else 0.0008 * len(points)
        assert flat(found.outline) == pytest.approx(flat(room.outline), abs=within)


def test_a_room_from_the_plan_says_so_and_is_still_to_measure() -> None:
    home = home_of("harbour-flat")
    drawn = replace(home.rooms["hall"].known, source="plan", within=0.04)
    home = replace(home, rooms={"hall": replace(home.rooms["hall"], known=drawn)}, openings={},
                   services={})  # fmt: skip
    walk = walk_of(home, "hall")
    assert walk.walls.splitlines()[0] == "right 4.05 ± 0.04 plan"
    found, wrong = survey_of(walk, units="m")
    assert found is not None
    assert wrong == ()
    assert sum("known from plan" in text for text in found.to_measure) == 5


def test_brackets_are_put_in_and_taken_out() -> None:
    text = "right 4 [door 0.9 at 1]\n[socket at 3], turn 45, ahead 2, left 3"
    assert [(one.wall, len(one.brackets)) for one in lines_of(text)] == [
        (0, 2), (None, 0), (1, 0), (2, 0),
    ]  # fmt: skip
    more = with_bracket(text, wall=1, bracket="window 1 at 0.5")
    assert more.splitlines()[2] == "ahead 2 [window 1 at 0.5]"
    less = without_bracket(more, wall=0, at=1)
    assert less.splitlines()[0] == "right 4 [door 0.9 at 1]"
    assert without_bracket(less, wall=1, at=0).splitlines()[2] == "ahead 2"
    with pytest.raises(InputError, match="1 to 3"):
        with_bracket(text, wall=7, bracket="door 1 at 1")
    with pytest.raises(InputError, match="1 to 2"):
        without_bracket(text, wall=0, at=5)


# --- services, columns, diagonals -------------------------------------------------------


@pytest.mark.parametrize(
    ("read", "text", "says"),
    [
        (read_service, "socket height 0.3", "write it as"),
        (read_service, "socket at 5", "1\xa0000\xa0mm past the corner"),
        (read_service, "socket from end -1", "past the corner"),
        (read_service, "radiator 0 at 1", "more than 0"),
        (read_service, "radiator -1 at 1", "more than 0"),
        (read_service, "socket at 1 height -0.3", "0 or more"),
        (read_service, "socket at wall", "a length with its unit"),
        (read_column, "column at 1", "write it as"),
        (read_column, "column 0 at 1 out 0", "more than 0"),
        (read_column, "column 0.4 at 3.8 out 0", "200\xa0mm past the corner"),
    ],
)
def test_what_stands_at_a_wall_and_is_refused(read: object, text: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        read(text, wall=0, length=4.0, units="m")  # type: ignore[operator]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("A 5", "write it as A C 5.12"),
        ("A A 5", "two corners"),
        ("A Z 5", "A to D"),
        ("A C -5", "more than 0"),
        ("A C five", "a length with its unit"),
    ],
)
def test_diagonals_that_are_refused(text: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        read_diagonals(text, corners=4, units="m")


def test_a_column_outside_is_told() -> None:
    found, wrong = survey_of(
        Walk(walls="right 4 [column 0.4 deep 0.4 at 1 out 5], up 3, left 4, down 3"), units="m"
    )
    assert found is not None
    assert "outside" in str(wrong[0])


def test_a_column_at_a_slanting_wall_stands_as_the_wall_does() -> None:
    home = bare("right 3 up 3 [column 0.4 deep 0.2 at 1 out 0], left 3, down 3")
    (column,) = home.rooms["room"].columns
    assert column.rotation == pytest.approx(45.0)
    # its middle: 1.2 m along the wall and 0.1 m square to it
    half = math.sqrt(0.5)
    assert column.at == pytest.approx((1.2 * half - 0.1 * half, 1.2 * half + 0.1 * half))


# --- walks into a home -------------------------------------------------------------------


def test_a_walk_that_does_not_close_leaves_its_room() -> None:
    home = bare("right 4, up 3, left 4, down 3")
    half = replace(home, walks={"room": replace(home.walks["room"], walls="right 5, up 3")})
    taken = walked(half)
    assert taken.home.rooms == home.rooms
    assert "room" in taken.problems


def test_doors_by_the_name_of_the_room() -> None:
    home = Home(
        name="h",
        walks={
            "a": Walk(name="Living room", walls="right 4, up 3 [door 0.9 at 1 to Hall], left 4, "
                      "down 3"),
            "b": Walk(name="Hall", walls="right 1.2, up 3, left 1.2, down 3 [door 0.9 at 1 to "
                      "living room]"),
        },
    )  # fmt: skip
    taken = walked(home)
    assert taken.apart == ()
    assert taken.problems == {}
    assert [o.to for o in taken.home.openings.values()] == ["b"]
    assert len(spaces(taken.home)) == 2


def test_rooms_without_a_way_lie_beside_each_other_and_never_on_each_other() -> None:
    walks = {
        "a": Walk(name="A", walls="right 4, up 3, left 4, down 3"),
        "b": Walk(name="B", walls="right 2, up 2, left 2, down 2"),
    }
    first = walked(Home(name="h", walks=walks))
    assert first.apart == ("b",)
    larger = replace(
        first.home, walks={**walks, "a": Walk(name="A", walls="right 9, up 3, left 9, down 3")}
    )
    second = walked(larger)
    assert second.problems == {}
    one, two = (Polygon(room.outline) for room in second.home.rooms.values())
    assert one.intersection(two).area == 0


def test_a_door_into_a_room_that_nothing_joins_yet_leads_nowhere() -> None:
    """It would lead into another room's air, and the plan would be refused as a whole."""
    walks = {
        "a": Walk(name="A", walls="right 4, up 3 [door 0.9 at 1], left 4, down 3"),
        "b": Walk(name="B", walls="right 2, up 3, left 2, down 3 [door 0.9 at 1 to a]"),
        "c": Walk(name="C", walls="right 2 [door 0.8 at 1 to d], up 2, left 2, down 2"),
        "d": Walk(name="D", walls="right 2, up 2, left 2 [door 0.8 at 0.2 to c], down 2"),
    }
    taken = walked(Home(name="h", walks=walks))
    assert taken.apart == ("b", "c")
    assert {k: o.to for k, o in taken.home.openings.items()} == {
        "a_door_1": "", "b_door_1": "", "c_door_1": "d"
    }  # fmt: skip
    assert len(spaces(taken.home)) == 4
    both = walks | {"a": replace(walks["a"], walls=walks["a"].walls.replace("at 1]", "at 1 to b]"))}
    assert walked(Home(name="h", walks=both)).apart == ("c",)


def test_the_two_sides_of_a_door_must_agree() -> None:
    walks = {
        "a": Walk(walls="right 4, up 3 [door 0.9 at 1 to b], left 4, down 3"),
        "b": Walk(walls="right 2, up 3, left 2, down 3 [door 1.2 at 1 to a]"),
    }
    taken = walked(Home(name="h", walks=walks))
    assert "one width, measured from both rooms" in str(taken.problems[""][0])
    assert taken.home.rooms == {}


def test_a_neighbour_that_was_not_walked_moves_with_what_stands_in_it() -> None:
    home = home_of("harbour-flat")
    walk = walk_of(home, "living")
    longer = walk.walls.replace("up 4.2", "up 4.3").replace("down 6.6", "down 6.7")
    assert longer != walk.walls
    taken = walked(replace(home, walks={"living": replace(walk, walls=longer)}))
    assert taken.problems == {}
    for (x, y), (x2, y2) in zip(
        home.rooms["hall"].outline, taken.home.rooms["hall"].outline, strict=True
    ):
        assert (x2 - x, y2 - y) == pytest.approx((0.0, 0.1))
    was, now = home.services["panel"].at, taken.home.services["panel"].at
    assert (now[0] - was[0], now[1] - was[1]) == pytest.approx((0.0, 0.1))
    assert len(spaces(taken.home)) == len(spaces(home))


# --- pieces at a free place -----------------------------------------------------------------


def test_every_piece_of_the_box_finds_a_place_and_the_file_takes_it(tmp_path: Path) -> None:
    folder = files.new(tmp_path / "mine")
    opened = files.read(folder)
    home = bare("right 6, up 5, left 6, down 5", units="m")
    cabinet = put_in(home, piece=piece_from_box("low_cabinet"), id="low_cabinet")[0].home
    pieces = {}
    for one in box().values():
        with_host = one.piece.kind in ("screen", "table lamp")
        start = cabinet if with_host else home
        best = put_in(start, piece=one.piece, id=one.id)[0]
        thing = place_home(best.home, best.home.layouts["a"])[best.placement]
        assert Polygon(home.rooms["room"].outline).buffer(0.01).covers(thing.footprint), one.id
        if not with_host:
            assert best.fails == 0, one.id
        pieces[one.id] = one.piece
    new = replace(opened.project, home=replace(opened.project.home, pieces=pieces, layouts={},
                                               layout=""))  # fmt: skip
    kept = files.save(opened, files.changes_between(opened.project, new))
    assert len(kept.project.home.pieces) == len(box())


def test_chairs_come_with_a_table_and_an_equal_piece_is_used_again() -> None:
    home = bare("right 6, up 5, left 6, down 5")
    table = piece_from_box("dining_six")
    table = replace(table, chairs=chairs_for(table, chair="dining_chair", ends=True))
    put = put_in(home, piece=table, id="dining_six")[0]
    placed = place_home(put.home, put.home.layouts["a"])
    assert sum(thing.host == "dining_six" for thing in placed.values()) == 8
    one = put_in(put.home, piece=piece_from_box("armchair"), id="armchair")[0]
    two = put_in(one.home, piece=piece_from_box("armchair"), id="armchair")[0]
    assert (two.placement, two.spot.item) == ("armchair_2", "armchair")
    other = replace(piece_from_box("armchair"), size=(0.9, 0.9, 0.8))
    three = put_in(two.home, piece=other, id="armchair")[0]
    assert three.home.pieces["armchair_2"].size == (0.9, 0.9, 0.8)


def test_a_low_table_goes_before_the_sofa() -> None:
    home = bare("right 5, up 4, left 5, down 4")
    sofa = put_in(home, piece=piece_from_box("sofa_three"), id="sofa_three")[0]
    low = put_in(sofa.home, piece=piece_from_box("low_table"), id="low_table")[0]
    placed = place_home(low.home, low.home.layouts["a"])
    gap = placed["sofa_three"].footprint.distance(placed["low_table"].footprint)
    assert 0.3 <= gap <= 0.5
    screen = piece_from_box("screen_43")
    with pytest.raises(InputError, match="put a low cabinet into the room first"):
        put_in(low.home, piece=screen, id="screen_43")
    cabinet = put_in(low.home, piece=piece_from_box("low_cabinet"), id="low_cabinet")[0]
    on = put_in(cabinet.home, piece=screen, id="screen_43")[0]
    assert on.spot.on == "low_cabinet"


def test_places_are_ranked_by_what_they_spoil() -> None:
    home = bare("right 5 [door 0.9 at 2 hinge left], up 4, left 5, down 4")
    puts = put_in(home, piece=piece_from_box("bookcase"), id="bookcase")
    assert len(puts) > 3
    assert puts[0].fails == min(put.fails for put in puts)
    empty, id = layout_to_furnish(home)
    assert (id, empty.layouts[id].pieces) == ("a", {})


def test_what_cannot_be_put_in() -> None:
    sofa = piece_from_box("sofa_three")
    with pytest.raises(InputError, match="walk its walls first"):
        put_in(Home(name="h"), piece=sofa, id="sofa")
    small = bare("right 1.5, up 1.5, left 1.5, down 1.5")
    with pytest.raises(InputError, match="take a smaller one"):
        put_in(small, piece=sofa, id="sofa")
    with pytest.raises(InputError, match="none yet"):
        put_in(small, piece=sofa, id="sofa", layout="b")
    lamp = Piece(name="pendant", kind="pendant", size=(0.4, 0.4, 0.3))
    with pytest.raises(InputError, match="study of light"):
        put_in(small, piece=lamp, id="lamp")


def test_the_layout_that_is_furnished_is_the_current_one() -> None:
    spot = Placement(at=(1.0, 1.0))
    layouts = {"a": Layout(name="A"), "b": Layout(name="B", pieces={"x": spot})}
    home = replace(bare("right 4, up 3, left 4, down 3"), layouts=layouts, layout="b")
    assert layout_to_furnish(home)[1] == "b"
