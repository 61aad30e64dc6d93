"""A door between two rooms is entered once, and stands in the walks of both."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon, box
from test_room_study import Sitter

from designkit import project as files
from designkit.errors import InputError
from designkit.plan.survey import Survey, survey
from designkit.plan.survey_mates import mate_of, other_side
from designkit.plan.survey_rooms import join_rooms

STUDY = "right 4, up 3, left 4, down 3"
HALL = "right 1.5, up 3, left 1.5, down 3"


def walk(text: str) -> Survey:
    return survey(text, height=2.6)


def plain(text: object) -> str:
    return str(text).replace("\u00a0", " ")


# --- where it is in the next room -----------------------------------------------------------


@settings(max_examples=40)
@given(
    offset=st.floats(0.0, 2.0).map(lambda n: round(n, 3)),
    wide=st.floats(0.6, 1.0).map(lambda n: round(n, 3)),
    turned=st.booleans(),
    thick=st.floats(0.08, 0.4).map(lambda n: round(n, 3)),
)
def test_both_sides_lie_on_one_another(
    offset: float, wide: float, turned: bool, thick: float
) -> None:
    """The rooms are joined by what was found: shapely says whether they lie side by side."""
    a = walk(f"right 4, up 3 [door {wide} at {offset} to hall thick {thick}], left 4, down 3")
    hall = HALL if not turned else "up 3, right 1.5, down 3, left 1.5"  # walked the other way
    mate = mate_of(a, walk(hall), a.openings[0])
    assert mate is not None
    assert mate.fits
    lines = hall.split(", ")
    lines[mate.wall] += f" [door {wide} at {mate.offset} to living]"
    joined = join_rooms({"living": a, "hall": walk(", ".join(lines))})
    one, two = (Polygon(joined.rooms[id].outline) for id in ("living", "hall"))
    assert two.bounds[0] == pytest.approx(4 + thick, abs=1e-6)
    assert two.bounds[1::2] == pytest.approx((0, 3), abs=1e-6)  # not shifted along the wall
    gap = box(4, 0, 4 + thick, 3)
    assert one.union(two).intersection(gap).area == pytest.approx(0, abs=1e-6)


def test_walls_that_do_not_match_say_by_how_much() -> None:
    a = walk("right 4, up 3 [door 0.9 at 0.5 to hall], left 4, down 3")
    mate = mate_of(a, walk("right 1.5, up 3.4, left 1.5, down 3.4"), a.openings[0])
    assert mate is not None
    assert not mate.fits
    assert mate.off == pytest.approx(0.4)
    assert mate.within == pytest.approx((0.003**2 * 2) ** 0.5, abs=1e-3)  # two tapes


def test_two_walls_that_are_as_long_need_a_second_measure() -> None:
    a = walk("right 4, up 1 [door 0.8 at 0.1 to hall], left 4, down 1")
    with pytest.raises(InputError, match="no closed outline"):
        mate_of(a, survey("right 3, up 1, right 1, up 1", strict=False), a.openings[0])
    room = walk("right 3, up 1, right 1, up 2, left 4, down 1, right 1, down 1, left 1, down 1")
    left = [w for w in room.walls if w.drawn[1] < 0]
    assert [round(w.length, 3) for w in left] == [1, 1, 1]
    assert mate_of(a, room, a.openings[0]) is None


def test_rooms_in_one_frame_are_told_by_where_they_lie() -> None:
    """The walls are of different length; the frame says where the door is."""
    a = walk("right 4, up 3 [door 0.9 at 0.5 to hall thick 0.12], left 4, down 3")
    b = walk("right 1.5, up 5, left 1.5, down 5")
    there = [(x + 4.12, y - 1.25) for x, y in b.outline]
    mate = mate_of(a, b, a.openings[0], frame=(a.outline, there))
    assert mate is not None
    assert mate.fits
    assert (mate.wall, mate.offset) == (3, pytest.approx(5 - (0.5 + 1.25) - 0.9))
    # farther away than the wall is thick
    apart = [(x + 4.25, y - 1.25) for x, y in b.outline]
    mate = mate_of(a, b, a.openings[0], frame=(a.outline, apart))
    assert mate is not None
    assert mate.off == pytest.approx(0.13)
    assert not mate.fits
    # past the corner of the hall
    past = [(x + 4.12, y + 0.8) for x, y in b.outline]
    mate = mate_of(a, b, a.openings[0], frame=(a.outline, past))
    assert mate is not None
    assert mate.off == pytest.approx(0.3)
    # nothing behind it
    away = [(x + 9, y) for x, y in b.outline]
    assert mate_of(a, b, a.openings[0], frame=(a.outline, away)) is None


def test_openings_are_paired_in_their_order() -> None:
    a = walk("right 4, up 3 [door 0.8 at 0.2 to h] [door 0.9 at 1.5 to h], left 4, down 3")
    b = walk("right 2, up 3, left 2, down 3 [window 1 at 0.1] [door 0.8 at 2 to a]")
    assert other_side((a, b), ("a", "h"), 0) == 1
    assert other_side((a, b), ("a", "h"), 1) is None
    assert other_side((b, a), ("h", "a"), 1) == 0


# --- on the page ---------------------------------------------------------------------------------


@pytest.fixture
def page(tmp_path: Path) -> Sitter:
    """A living room and a hall, walked each by itself; the hall is shown."""
    sitter = Sitter(files.new(tmp_path / "mine")).type(walk=STUDY, height="2.6")
    return sitter.type(room="+").type(name="Hall", walk=HALL, height="2.6")


def door(page: Sitter, **more: str) -> Sitter:
    fields = {"part": "openings", "wall": "1", "what": "door", "width": "0.90", "distance": "0.50"}
    return page.type(room="living").type(**{**fields, "to": "room", **more}).press("add")


def test_it_is_entered_once(page: Sitter) -> None:
    door(page, hinge="left", clear="0.82", thick="0.15")
    note = plain(page.said["note"])
    assert note == "It is in Hall as well: wall 4, 1 600 mm from D."
    walks = page.home.walks
    assert walks["living"].walls.splitlines()[1].startswith("up 3 [door 0.90 at 0.50 hinge left")
    assert walks["room"].walls.splitlines()[3] == (
        "down 3 [door 0.90 at 1.6 m hinge right swing out clear 0.82 thick 0.15 to living]"
    )
    assert page.said["findings"]["rows"] == []
    assert page.said["tables"][0]["rows"][0][-1].endswith("to Hall")
    hall = Polygon(page.home.rooms["room"].outline)
    assert hall.bounds == pytest.approx((4.15, 0, 5.65, 3), abs=1e-6)
    (one,) = page.home.openings.values()
    assert (one.room, one.to, one.hinge, one.swing) == ("living", "room", "left", "in")
    page.press("undo")  # one step
    assert page.home.openings == {}
    assert "[" not in page.home.walks["room"].walls
    page.press("redo").press("keep")
    kept = files.read(page.study.desk.folder).project.home
    assert "to living" in kept.walks["room"].walls


def test_an_opening_that_led_nowhere_yet_is_the_same_one(page: Sitter) -> None:
    """It was measured in the first room before the second was there."""
    page.type(room="living").type(walk="right 4, up 3 [door 0.88 at 0.52], left 4, down 3")
    page.type(room="room", part="openings", wall="3", what="door", width="0.90", distance="1.60")
    page.type(to="living").press("add")
    assert plain(page.said["note"]) == (
        "The door in wall 2 of Living room is the same one. "
        "There it was 0.88 wide, and is 0.90 now."
    )
    walls = page.home.walks["living"].walls.splitlines()
    assert walls[1] == "up 3 [door 0.90 at 0.52 to room]"


def test_it_is_the_same_seen_from_the_other_room(page: Sitter) -> None:
    """Entered in the hall, the one that is surveyed later; the living room holds it."""
    page.type(part="openings", wall="3", what="door", width="0.90", distance="1.60", to="living")
    page.type(hinge="right", swing="out").press("add")
    (one,) = page.home.openings.values()
    assert (one.room, one.wall, one.hinge, one.swing) == ("living", 1, "left", "in")
    assert one.offset == pytest.approx(0.5)


def test_it_is_changed_and_taken_out_in_both(page: Sitter) -> None:
    door(page)
    page.press("pick", table="openings", row="1.0")
    page.type(width="0.80", head="2.05").press("change")
    assert "1 700 mm from D" in plain(page.said["note"])
    assert "[door 0.80 at 1.7 m head 2.05 to living]" in page.home.walks["room"].walls
    # in the hall somebody measures it again; then only its height is changed
    page.type(room="room", part="openings").press("pick", table="openings", row="3.0")
    page.type(distance="1.68").press("change")
    assert plain(page.said["note"]) == "It is in Living room as well: wall 2, 520 mm from B."
    page.type(room="living", part="openings").press("pick", table="openings", row="1.0")
    assert page.study.values["distance"] == "0.52 m"
    page.type(head="2.10").press("change")
    assert page.said["note"] == "It is changed in Hall as well."
    assert "door 0.80 at 1.68 head 2.10" in page.home.walks["room"].walls
    page.press("pick", table="openings", row="1.0").press("out")
    assert page.said["note"] == "It is taken out of Hall as well."
    assert page.home.openings == {}
    assert not any("[" in w.walls for w in page.home.walks.values())


def test_it_leads_somewhere_else_now(page: Sitter) -> None:
    door(page)
    page.press("pick", table="openings", row="1.0").type(to="landing").press("change")
    assert "It is taken out of Hall as well." in page.said["note"]
    assert "[" not in page.home.walks["room"].walls


def test_walls_of_two_lengths_are_told_and_the_door_stays_in_its_room(page: Sitter) -> None:
    page.type(walk="right 1.5, up 3.4, left 1.5, down 3.4")
    door(page)
    note = plain(page.said["note"])
    assert re.fullmatch(
        r"Not in Hall yet: its wall 4 does not match by 400 mm, more than ± \d+ mm "
        r"\(lengths of the two walls\)\. Put it in there by its distance\.",
        note,
    )
    assert "to room" in page.home.walks["living"].walls
    assert "[" not in page.home.walks["room"].walls
    # the second door is told by where the rooms lie, once the first has joined them
    page.type(room="room", part="openings", wall="3", width="0.90", distance="1.90", to="living")
    page.type(what="passage").press("add")
    assert Polygon(page.home.rooms["room"].outline).bounds[0] > 4
    door(page, distance="1.80", width="0.70")
    assert plain(page.said["note"]).startswith("It is in Hall as well: wall 4, 800 mm from D")


def test_a_window_or_a_door_to_the_landing_is_in_one_room_only(page: Sitter) -> None:
    door(page, to="landing")
    door(page, what="window", wall="0", to="")
    assert "[" not in page.home.walks["room"].walls
    assert "as well" not in page.said["note"]
