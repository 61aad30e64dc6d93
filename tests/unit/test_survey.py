"""Walking the walls: reading, closing, spreading, openings, rooms that join."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon

from designkit import project, shipped
from designkit.errors import InputError, LookupFailed
from designkit.model import Column, Home
from designkit.plan.space import spaces
from designkit.plan.survey import survey
from designkit.plan.survey_rooms import join_rooms, room_edits, room_of
from designkit.plan.traverse import balance

L_ROOM = "right 4.12, up 2.60, left 1.50, up 0.80, left 2.62, down 3.40"
LIVING = (
    "right 7.60 [balcony 1.05 at 0.60 head 2.30 to balcony]"
    " [window 4.00 at 2.80 sill 0.58 head 2.30], up 4.20,"
    " left 4.20 [passage 1.25 at 2.75 head 2.30 to hall thick 0.15], up 2.40, left 3.40,"
    " down 6.60"
)
HALL = (
    "right 4.05 [passage 1.25 at 0.05 to living], up 1.85"
    " [door 0.95 at 0.60 head 2.10 to stair hinge left thick 0.25], left 4.05, down 1.85"
)


def test_an_l_shaped_room_closes() -> None:
    room = survey(L_ROOM, height="2.62 m")
    assert room.outline == ((0, 0), (4.12, 0), (4.12, 2.6), (2.62, 2.6), (2.62, 3.4), (0, 3.4))
    assert room.area == pytest.approx(4.12 * 2.6 + 2.62 * 0.8)
    assert room.error_length == pytest.approx(0, abs=1e-12)
    assert room.sentence.startswith("It closes.")


def test_the_error_is_shown_and_right_angles_are_kept() -> None:
    room = survey("right 4.00, up 3.00, left 4.02, down 3.01")
    assert room.error == (pytest.approx(-0.02), pytest.approx(-0.01))
    assert room.error_length == pytest.approx(math.hypot(0.02, 0.01))
    assert room.perimeter == pytest.approx(14.03)
    assert room.relative == pytest.approx(math.hypot(0.02, 0.01) / 14.03)
    assert room.expected == pytest.approx(0.006)
    assert room.rule == "square"
    for (x, y), (x2, y2) in zip(room.outline, [*room.outline[1:], room.outline[0]]):
        assert x == x2 or y == y2
    assert "1 in 627" in room.sentence
    # each pair of walls takes half of its error
    assert room.walls[0].length == pytest.approx(4.01, abs=1e-4)
    assert room.walls[0].change == pytest.approx(-room.walls[2].change, abs=1e-4)


def test_a_pinned_wall_takes_the_error_along_itself() -> None:
    room = survey("right 4.00, up 3.00, left 4.02, down 3.00", pinned=2)
    assert [round(wall.length, 6) for wall in room.walls] == [4.0, 3.0, 4.0, 3.0]
    assert "put on wall 3, left 4.02" in room.sentence
    with pytest.raises(InputError, match="pinned wall = 9"):
        survey("right 4.00, up 3.00, left 4.02, down 3.00", pinned=9)


def test_the_compass_rule_turns_walls_by_their_length() -> None:
    room = survey("right 4.00, up 3.00, left 4.02, down 3.01", rule="compass")
    # each wall moves against the error by its share of the length
    for wall in room.walls:
        share = math.hypot(*wall.leg) / room.perimeter
        assert wall.drawn[0] - wall.leg[0] == pytest.approx(0.02 * share)
        assert wall.drawn[1] - wall.leg[1] == pytest.approx(0.01 * share)


@given(
    legs=st.lists(
        st.tuples(st.floats(-9, 9), st.floats(-9, 9)).filter(lambda p: math.hypot(*p) > 0.1),
        min_size=3,
        max_size=9,
    ),
    rule=st.sampled_from(["compass", "square"]),
    pin=st.one_of(st.none(), st.integers(0, 2)),
)
def test_balanced_legs_add_up_to_nothing(
    legs: list[tuple[float, float]], rule: str, pin: int | None
) -> None:
    legs = [*legs, (1.0, 0.0), (0.0, 1.0)]  # so that the error has a wall each way to go to
    spread = balance(legs, rule=rule, pinned=pin)  # type: ignore[arg-type]
    assert math.fsum(p[0] for p in spread) == pytest.approx(0, abs=1e-9)
    assert math.fsum(p[1] for p in spread) == pytest.approx(0, abs=1e-9)


@given(
    w=st.floats(1.5, 9), d=st.floats(1.5, 9), turn=st.sampled_from([0, 90, 180, 270]),
    slip=st.floats(0, 0.005),
)  # fmt: skip
def test_the_same_room_from_any_corner(w: float, d: float, turn: int, slip: float) -> None:
    words = ["right", "up", "left", "down"]
    sides = [w, d, w + slip, d]
    start = turn // 90
    text = ", ".join(f"{words[(k + start) % 4]} {sides[(k + start) % 4]:.6f}" for k in range(4))
    assert survey(text).area == pytest.approx((w + slip / 2) * d, rel=1e-3)


# --- what can be written ----------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "units"),
    [
        ("right 2; up ? ; left 2; down 2", "m"),
        ("right 2\nup 2\nleft …\ndown …", "m"),
        ("right 200, up 200, left 200, down 200", "cm"),
        ("right 2 m, up 200 cm, left 2000 mm, down 2", "m"),
        ("right 2,0, up 2,0, left 2,0, down 2,0", "m"),
        ("RIGHT 2, Up 2, left 2, down 2", "m"),
        ("right 2, turn 90, ahead 2, turn 90 left, ahead 2, turn 90, ahead 2", "m"),
        ("2 at 0, 2 at 90, 2 at 180°, 2 at 270", "m"),
        ("right 2 ±0.01 plan, up 2 guess, left 2, down 2 measured", "m"),
    ],
)
def test_ways_to_write_a_square(text: str, units: str) -> None:
    room = survey(text, units=units)
    assert room.area == pytest.approx(4.0)
    assert room.outline[2] == (2.0, 2.0)


def test_a_bay_by_two_legs_by_angle_and_by_turns() -> None:
    legs = survey("right 2, right 0.6 up 0.6, up 2, left 2.6, down 2.6")
    angle = survey("right 2, 0.848528 at 45, up 2, left 2.6, down 2.6")
    turns = survey("right 2, turn 45, ahead 0.848528, turn 45, ahead 2, left 2.6, down 2.6")
    for other in (angle, turns):
        for (x, y), (x2, y2) in zip(legs.outline, other.outline):
            assert (x, y) == (pytest.approx(x2, abs=1e-5), pytest.approx(y2, abs=1e-5))
    assert legs.area == pytest.approx(2.6 * 2.6 - 0.6 * 0.6 / 2)


def test_sources_and_plus_minus_of_single_walls() -> None:
    room = survey("right 4 ±0.01 plan, up 3 guess, left 4 ±5 mm, down 3", source="seller")
    assert [wall.known.source for wall in room.walls] == ["plan", "guess", "seller", "seller"]
    assert [wall.within for wall in room.walls] == [0.01, 0.05, 0.005, 0.03]
    assert "wall 2 (up 3 guess): known from guess" in room.to_measure


def test_a_length_left_open_follows_and_is_still_to_measure() -> None:
    room = survey("right 4.12, up 2.60, left 1.50, up 0.80, left ?, down ?")
    assert room.walls[4].length == pytest.approx(2.62)
    assert room.walls[5].length == pytest.approx(3.40)
    assert not room.walls[5].measured
    assert any(text.startswith("wall 5 (left ?)") for text in room.to_measure)
    with pytest.raises(InputError, match="two that are not parallel"):
        survey("right ?, up 3, left ?, down 3")
    with pytest.raises(InputError, match="a length above 0"):
        survey("right 4, up 3, right ?, down 3")


def test_what_is_still_to_measure() -> None:
    room = survey("right 4 [window 1.2 at 1], up 3 [door 0.9 at 0.2], left 4, down 3")
    assert room.to_measure == (
        "window in wall 1: sill and head above the floor",
        "door in wall 2: head above the floor",
        "door in wall 2: thickness of the wall",
        "door in wall 2: side of the hinges",
        "height from the floor to the ceiling",
        "a diagonal, to see whether the corners are square",
    )
    whole = survey(
        "right 4 [window 1.2 at 1 sill 0.9 head 2.2], up 3, left 4, down 3",
        height=2.6, diagonals=[(0, 2, 5.0)],
    )  # fmt: skip
    assert whole.to_measure == ()


# --- diagonals --------------------------------------------------------------------


def test_a_diagonal_checks_the_corners() -> None:
    good, bad = survey(
        "right 4, up 3, left 4, down 3", diagonals=[(0, 2, "5.005 m"), (1, 3, 5.06)]
    ).diagonals
    assert good.agrees
    assert good.computed == pytest.approx(5.0)
    # ± of 3 mm walls seen along a 3-4-5 diagonal: 3 mm · √(0.8² + 0.6²), and the tape
    assert good.within == pytest.approx(math.hypot(0.003, 0.003))
    assert not bad.agrees
    # law of cosines: (16 + 9 − 5.06²) / 24 → 91.4°
    angle = math.degrees(math.acos((16 + 9 - 5.06**2) / 24))
    assert f"{angle:.1f}° at corner C" in bad.why
    with pytest.raises(InputError, match="corners count from 0"):
        survey("right 4, up 3, left 4, down 3", diagonals=[(0, 7, 5.0)])


# --- what is wrong ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("right 4.12, up 2.60, left 4.12, down 2.10", "at most 2 %"),
        ("right 4, up 3, left 5, down 1, right 3, down 2, left 2", "wall 1 .* crosses wall 6"),
        ("right 4, up 3, left 4 [door 0.9 at 3.2], down 3", "100\xa0mm past the corner"),
        ("right 4, up 3, left 4 [door 0.9 from end 3.2], down 3", "past the corner"),
        ("right 4 [door 1 at 1] [window 1 at 1.5], up 3, left 4, down 3", "beside each other"),
        ("right 13' 6\", up 2.60, left 1.50", "one system of units"),
        ("right 412, up 300, left 412, down 300", "412 m"),
        ("right 4, up 3", "three or more"),
        ("", "three or more"),
        ("hop 3", "write each wall as right 4.12"),
        ("right 4 up, left 3", "one length, or two legs"),
        ("turn 30, right 4", "a wall before the first turn"),
        ("ahead 4, up 3", "a wall before ahead"),
        ("right 4, turn about, up 3", "degrees"),
        ("right 4 [door], up 3, left 4, down 3", "write it as"),
        ("right 4 [door 0.9 at 1, up 3, left 4, down 3", "close the bracket"),
        ("right four, up 3, left 4, down 3", "a length with its unit"),
        ("right -4, up 3, left 4, down 3", "more than 0"),
    ],
)
def test_what_a_walk_refuses(text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        survey(text)


def test_a_misread_wall_is_named() -> None:
    with pytest.raises(InputError, match=r"left 2.26 would close at 2\xa0620\xa0mm .two figures"):
        survey("right 4.12, up 2.60, left 1.50, up 0.80, left 2.26, down 3.40")
    with pytest.raises(InputError, match=r"down 4.40 would close at 3\xa0400\xa0mm .a round slip"):
        survey("right 4.12, up 2.60, left 1.50, up 0.80, left 2.62, down 4.40")
    small = survey("right 4.21, up 2.60, left 1.50, up 0.80, left 2.62, down 3.40")
    assert "Wall 1, right 4.21 would close at 4\xa0120\xa0mm" in small.sentence


def test_nothing_typed_is_lost_while_one_types() -> None:
    half = survey("right 4.12, up 2.60, left 1.50", strict=False)
    assert half.walked[-1] == pytest.approx((2.62, 2.6))
    assert half.area is None
    assert [problem.what for problem in half.problems] == ["closing error"]
    assert survey("right 4.12", strict=False).walked == ((0.0, 0.0), (4.12, 0.0))
    with pytest.raises(InputError, match="closing error"):
        room_of(half)


# --- rooms of a home ----------------------------------------------------------------


def test_a_room_with_columns_and_guessed_heights() -> None:
    pier = Column(at=(0.2, 1.5), size=(0.4, 0.6))
    walk = survey("right 4, up 3 [window 1.2 at 1], left 4, down 3", columns=[pier])
    room, openings = room_of(walk, id="study", name="study", use="working")
    assert room.columns == (pier,)
    assert room.known_of["height"].source == "guess"
    window = openings["study_window_1"]
    assert window.known_of["sill"].source == "guess"
    assert window.to == "outside"
    assert window.wall == 1


def test_the_harbour_flat_from_its_tape() -> None:
    """Two rooms walked apart lie as in the demo, whose plan was drawn by hand."""
    joined = join_rooms({"living": survey(LIVING, height=2.62), "hall": survey(HALL, height=2.62)})
    drawn = project.read(shipped.shipped("data/harbour-flat")).project.home
    for id in ("living", "hall"):
        ours, theirs = Polygon(joined.rooms[id].outline), Polygon(drawn.rooms[id].outline)
        assert ours.symmetric_difference(theirs).area < 1e-6
    assert list(joined.openings) == [
        "living_balcony_1", "living_window_1", "living_passage_1", "hall_door_1"
    ]  # fmt: skip
    passage = joined.openings["living_passage_1"]
    assert (passage.offset, passage.thickness, passage.to) == (2.75, 0.15, "hall")
    home = Home(name="mine", rooms=joined.rooms, openings=joined.openings)
    assert list(spaces(home)) == ["living+hall"]


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_a_room_walked_in_another_frame_is_turned(turn: int) -> None:
    words = ["right", "up", "left", "down"]
    k = turn // 90
    sides = [4.05, 1.85, 4.05, 1.85]
    text = ", ".join(
        f"{words[(n + k) % 4]} {sides[n]}" + (" [passage 1.25 at 0.05 to living]" if n == 0 else "")
        for n in range(4)
    )
    joined = join_rooms({"living": survey(LIVING), "hall": survey(text)})
    assert Polygon(joined.rooms["hall"].outline).bounds == pytest.approx((3.55, 4.35, 7.6, 6.2))


def test_rooms_that_do_not_join() -> None:
    alone = survey("right 2, up 2, left 2, down 2")
    with pytest.raises(LookupFailed, match="an opening in each of two rooms"):
        join_rooms({"living": survey(LIVING), "bath": alone})
    narrow = HALL.replace("passage 1.25", "passage 1.15")
    with pytest.raises(InputError, match="one width, measured from both rooms"):
        join_rooms({"living": survey(LIVING), "hall": survey(narrow)})
    a = survey("right 4, up 3 [door 0.9 at 1 to b thick 0.1], left 4, down 3 [door 0.9 at 1 to c]")
    b = survey("right 4, up 3, left 4, down 3 [door 0.9 at 1 to a], ")
    c = survey("right 9, up 3 [door 0.9 at 1 to a], left 9, down 3 [door 0.9 at 1 to d]")
    d = survey("right 2, up 3, left 2 [door 0.9 at 0.5 to c], down 3")
    assert list(join_rooms({"a": a, "b": b}).rooms) == ["a", "b"]
    assert list(join_rooms({"a": a, "b": b, "c": c, "d": d}).rooms) == ["a", "b", "c", "d"]


def test_the_changes_make_a_project(tmp_path: Path) -> None:
    folder = project.new(tmp_path / "mine")
    opened = project.read(folder)
    joined = join_rooms(
        {"living": survey(LIVING, height=2.62), "hall": survey(HALL, height=2.62)},
        names={"living": "living and dining room"},
    )
    saved = project.save(opened, room_edits(joined, raw=opened.stored.raw))
    home = project.read(saved.folder).project.home
    assert home.rooms["living"].name == "living and dining room"
    assert home.rooms["living"].outline == joined.rooms["living"].outline
    assert home.openings["hall_door_1"] == joined.openings["hall_door_1"]
    # walked again: the same edits change nothing, a shorter walk takes its opening out
    again = project.read(folder)
    less = join_rooms(
        {"living": survey(LIVING, height=2.7),
         "hall": survey(re.sub(r" .door 0.95[^]]*.", "", HALL))}
    )  # fmt: skip
    edits = room_edits(less, raw=again.stored.raw)
    assert any(e.path == "openings.hall_door_1" and e.new is None for e in edits)
    project.save(again, edits)
    after = project.read(folder).project.home
    assert "hall_door_1" not in after.openings
    assert after.rooms["living"].height == 2.7
