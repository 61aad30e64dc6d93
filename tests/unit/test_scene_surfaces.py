"""Areas that can be seen, against rooms worked out by hand."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from designkit.errors import InputError, LookupFailed
from designkit.model import (
    Column,
    Drape,
    Fixture,
    Home,
    Lamp,
    Layout,
    Opening,
    Part,
    Piece,
    Placement,
    Room,
)
from designkit.scene.solids import solids
from designkit.scene.surfaces import Surface, surfaces

BOX = ((0.0, 0.0), (4.0, 0.0), (4.0, 5.0), (0.0, 5.0))
L_ROOM = ((0.0, 0.0), (6.0, 0.0), (6.0, 2.0), (3.0, 2.0), (3.0, 4.0), (0.0, 4.0))


def block(w: float, d: float, h: float, *, finish: str = "black", **more: object) -> Piece:
    part = Part(name="body", size=(w, d), top=h, **more)  # type: ignore[arg-type]
    return Piece(name="block", kind="ottoman", size=(w, d, h), finish=finish, parts=(part,))


def home(
    pieces: Mapping[str, Piece] | None = None,
    *,
    outline: tuple[tuple[float, float], ...] = BOX,
    height: float = 2.5,
    openings: Mapping[str, Opening] | None = None,
    columns: tuple[Column, ...] = (),
    rooms: Mapping[str, Room] | None = None,
    **more: object,
) -> Home:
    room = Room(
        name="Room",
        outline=outline,
        height=height,
        floor="oak",
        ceiling="white",
        wall="white",
        columns=columns,
    )
    return Home(
        name="home",
        rooms=rooms or {"r": room},
        pieces=pieces or {},
        openings=openings or {},
        **more,  # type: ignore[arg-type]
    )


def layout(**at: tuple[float, float]) -> Layout:
    return Layout(name="A", pieces={id: Placement(at=point) for id, point in at.items()})


def area(found: tuple[Surface, ...], **match: str) -> float:
    return sum(s.area for s in found if all(getattr(s, k) == v for k, v in match.items()))


def total(found: tuple[Surface, ...]) -> float:
    return sum(s.area for s in found)


def test_an_empty_box_room() -> None:
    found = surfaces(home(), layout())
    assert area(found, kind="floor") == pytest.approx(20, abs=1e-12)
    assert area(found, kind="ceiling") == pytest.approx(20, abs=1e-12)
    assert area(found, kind="wall") == pytest.approx(45, abs=1e-12)
    assert area(found, face="wall 1") == pytest.approx(12.5, abs=1e-12)
    assert {s.finish for s in found if s.kind == "wall"} == {"white"}


@pytest.mark.parametrize("turn", [0.0, 30.0, 90.0])
def test_one_box_in_the_middle(turn: float) -> None:
    plan = Layout(name="A", pieces={"b": Placement(at=(2.0, 2.5), rotation=turn)})
    found = surfaces(home({"b": block(1.0, 0.5, 0.8)}), plan)
    assert area(found, kind="floor") == pytest.approx(20 - 0.5, abs=1e-9)
    assert area(found, owner="b", face="top") == pytest.approx(0.5, abs=1e-9)
    assert area(found, owner="b", face="sides") == pytest.approx(3 * 0.8, abs=1e-9)
    assert area(found, owner="b", face="underside") == 0
    assert total(found) == pytest.approx(85 + 3 * 0.8, abs=1e-9)


@pytest.mark.parametrize(("off", "hidden"), [(0.0, True), (0.03, True), (0.07, False)])
def test_a_box_against_the_wall_hides_its_back_and_the_wall(off: float, hidden: bool) -> None:
    found = surfaces(home({"b": block(1.0, 0.5, 0.8)}), layout(b=(2.0, 0.25 + off)))
    back = 0.8 if hidden else 0.0
    assert area(found, owner="b", face="sides") == pytest.approx(2.4 - back, abs=1e-9)
    assert area(found, face="wall 0") == pytest.approx(10 - back, abs=1e-9)
    assert area(found, face="wall 1") == pytest.approx(12.5, abs=1e-9)


def test_a_box_in_the_corner_hides_two_faces() -> None:
    found = surfaces(home({"b": block(1.0, 0.5, 0.8)}), layout(b=(0.5, 0.25)))
    assert area(found, owner="b", face="sides") == pytest.approx(1.2, abs=1e-9)
    assert area(found, face="wall 0") == pytest.approx(10 - 0.8, abs=1e-9)
    assert area(found, face="wall 3") == pytest.approx(12.5 - 0.4, abs=1e-9)


def test_a_box_from_wall_to_wall_still_shows_its_front() -> None:
    found = surfaces(home({"b": block(4.0, 0.5, 0.8)}), layout(b=(2.0, 0.25)))
    assert area(found, owner="b", face="sides") == pytest.approx(3.2, abs=1e-9)
    assert area(found, face="wall 0") == pytest.approx(10 - 3.2, abs=1e-9)


def test_two_boxes_side_by_side_hide_what_touches() -> None:
    pieces = {"a": block(1.0, 0.5, 0.8), "b": block(1.0, 0.5, 0.6)}
    found = surfaces(home(pieces), layout(a=(1.5, 2.5), b=(2.5, 2.5)))
    touch = 0.5 * 0.6
    assert area(found, owner="a", face="sides") == pytest.approx(2.4 - touch, abs=1e-9)
    assert area(found, owner="b", face="sides") == pytest.approx(1.8 - touch, abs=1e-9)


def test_what_stands_on_something_hides_its_top() -> None:
    pieces = {"table": block(1.0, 1.0, 0.7), "lamp": block(0.2, 0.2, 0.3)}
    plan = Layout(
        name="A",
        pieces={"table": Placement(at=(2.0, 2.5)), "lamp": Placement(at=(2.0, 2.5), on="table")},
    )
    found = surfaces(home(pieces), plan)
    assert area(found, owner="table", face="top") == pytest.approx(1 - 0.04, abs=1e-9)
    assert area(found, owner="lamp", face="top") == pytest.approx(0.04, abs=1e-9)
    assert area(found, owner="lamp", face="sides") == pytest.approx(0.24, abs=1e-9)


def test_a_rug_covers_the_floor_and_a_leg_covers_the_rug() -> None:
    pieces = {"rug": block(2.0, 3.0, 0.01, finish="wool"), "post": block(0.1, 0.1, 1.0)}
    found = surfaces(home(pieces), layout(rug=(2.0, 2.5), post=(2.0, 2.5)))
    assert area(found, kind="floor") == pytest.approx(20 - 6, abs=1e-9)
    assert area(found, owner="rug", face="top") == pytest.approx(6 - 0.01, abs=1e-9)
    # The post's lowest centimetre stands in the rug.
    assert area(found, owner="post", face="sides") == pytest.approx(0.4 * 0.99, abs=1e-9)


def test_a_wardrobe_to_the_ceiling_takes_wall_floor_and_ceiling() -> None:
    found = surfaces(home({"w": block(2.0, 0.6, 2.5)}), layout(w=(2.0, 0.3)))
    assert area(found, face="wall 0") == pytest.approx(10 - 5, abs=1e-9)
    assert area(found, kind="floor") == pytest.approx(20 - 1.2, abs=1e-9)
    assert area(found, kind="ceiling") == pytest.approx(20 - 1.2, abs=1e-9)
    assert area(found, owner="w", face="top") == 0
    assert area(found, owner="w", face="sides") == pytest.approx(2.5 * (2.0 + 1.2), abs=1e-9)


@pytest.mark.parametrize(
    ("base", "top", "under"), [(0.2, 1.0, 0.0), (1.0, 0.0, 0.0), (1.3, 0.0, 1.0)]
)
def test_tops_above_and_undersides_below_the_eye_are_not_seen(
    base: float, top: float, under: float
) -> None:
    plan = Layout(name="A", pieces={"b": Placement(at=(2.0, 2.5), base=base)})
    found = surfaces(home({"b": block(1.0, 1.0, 0.6)}), plan)
    assert area(found, owner="b", face="top") == pytest.approx(top, abs=1e-9)
    assert area(found, owner="b", face="underside") == pytest.approx(under, abs=1e-9)
    assert area(found, kind="floor") == pytest.approx(20, abs=1e-9)
    all_eyes = surfaces(home({"b": block(1.0, 1.0, 0.6)}), plan, eyes=(0.01, 3.0))
    assert area(all_eyes, owner="b", face="top") == pytest.approx(1, abs=1e-9)
    assert area(all_eyes, owner="b", face="underside") == pytest.approx(1, abs=1e-9)


def test_glass_hides_nothing_and_is_marked() -> None:
    found = surfaces(home({"g": block(1.0, 0.5, 0.8, transmits=True)}), layout(g=(2.0, 0.25)))
    assert area(found, kind="floor") == pytest.approx(20, abs=1e-9)
    assert area(found, face="wall 0") == pytest.approx(10, abs=1e-9)
    assert all(s.transmits for s in found if s.owner == "g")


@pytest.mark.reference("A37", of="palette")
@pytest.mark.parametrize("turned_round", [False, True])
def test_an_l_room_in_either_order_of_corners(turned_round: bool) -> None:
    """The L-room of area 18 and perimeter 20 (geometry, computed)."""
    outline = L_ROOM[::-1] if turned_round else L_ROOM
    found = surfaces(home(outline=outline, height=2.7), layout())
    assert area(found, kind="floor") == pytest.approx(18, abs=1e-12)
    assert area(found, kind="wall") == pytest.approx(20 * 2.7, abs=1e-12)


def test_a_round_column_shows_its_skin_and_takes_its_disc() -> None:
    column = Column(at=(2.0, 2.5), size=(0.4, 0.4), shape="circle")
    found = surfaces(home(columns=(column,)), layout())
    assert area(found, kind="column") == pytest.approx(math.pi * 0.4 * 2.5, rel=1e-3)
    assert area(found, kind="floor") == pytest.approx(20 - math.pi * 0.04, rel=1e-4)
    assert {s.finish for s in found if s.kind == "column"} == {"white"}


def test_a_pier_in_the_wall_shows_three_faces() -> None:
    pier = Column(at=(2.0, 0.1), size=(0.5, 0.4), finish="brick")
    found = surfaces(home(columns=(pier,)), layout())
    # Half of it stands in the room: 0.3 m deep, 0.5 m wide.
    assert area(found, kind="column") == pytest.approx(2.5 * (0.5 + 0.3 + 0.3), abs=0.06)
    assert area(found, face="wall 0") == pytest.approx(2.5 * 3.5, abs=1e-9)
    assert area(found, kind="floor") == pytest.approx(20 - 0.15, abs=1e-9)


WINDOW = Opening(room="r", wall=0, offset=1.0, width=2.0, sill=0.9, head=2.1, kind="window")


def test_a_window_is_glass_and_frame_and_no_wall() -> None:
    found = surfaces(home(openings={"w": WINDOW}), layout())
    assert area(found, face="wall 0", kind="wall") == pytest.approx(10 - 2.4, abs=1e-9)
    glass = (2.0 - 0.12) * (1.2 - 0.12)
    assert area(found, kind="glass") == pytest.approx(glass, abs=1e-9)
    assert area(found, kind="frame") == pytest.approx(2.4 - glass, abs=1e-9)


@pytest.mark.parametrize("leaves", [1, 2, 3])
def test_leaves_of_a_window_stand_side_by_side(leaves: int) -> None:
    window = dataclasses.replace(WINDOW, leaves=leaves, frame="black")
    found = surfaces(home(openings={"w": window}), layout())
    clear = 2.0 - 0.12 - 0.12 * (leaves - 1)
    assert area(found, kind="glass") == pytest.approx(clear * 1.08, abs=1e-9)
    assert area(found, kind="glass") + area(found, kind="frame") == pytest.approx(2.4, abs=1e-9)
    assert {s.finish for s in found if s.kind == "frame"} == {"black"}


def test_a_sideboard_before_a_window_hides_glass_up_to_its_top() -> None:
    window = dataclasses.replace(WINDOW, sill=0.0)
    free = surfaces(home(openings={"w": window}), layout())
    found = surfaces(home({"b": block(2.0, 0.5, 0.8)}, openings={"w": window}), layout(b=(2, 0.25)))
    assert area(free, kind="glass") - area(found, kind="glass") == pytest.approx(
        1.88 * (0.8 - 0.06), abs=1e-9
    )


def test_drapery_counts_as_drawn() -> None:
    base = home(openings={"w": dataclasses.replace(WINDOW, sill=0.0, head=2.4)})
    shown = {}
    for state in ("open", "part", "closed"):
        drape = Drape(opening="w", finish="linen", track=2.4, state=state, hem="kissing")
        plan = Layout(name="A", drapes={"d": drape})
        found = surfaces(base, plan)
        shown[state] = (area(found, kind="glass"), area(found, kind="drapery"))
    # Open: two stacks, a third of the glass width together, 0.175 m off the wall in front;
    # closed: the whole track, 0.15 m off the wall, the two halves meeting.
    assert shown["open"][1] == pytest.approx(2 / 3 * 2.5 + 4 * 0.175 * 2.5, abs=1e-6)
    assert shown["closed"] == (0.0, pytest.approx(2.4 * 2.5 + 2 * 0.15 * 2.5, abs=1e-9))
    assert shown["open"][0] > shown["part"][0] > shown["closed"][0]
    assert shown["open"][1] < shown["part"][1] < shown["closed"][1]


def test_drapery_drawn_to_the_left_hangs_on_the_left_from_inside() -> None:
    # Facing wall 0, along y = 0, from inside, left is where x is larger.
    drape = Drape(opening="w", finish="linen", track=2.0, draw="left", hem="clear")
    cloth = solids(home(openings={"w": WINDOW}), Layout(name="A", drapes={"d": drape}))[0]
    assert cloth.footprint.bounds == pytest.approx((3 - 2 / 3, 0.0, 3.0, 0.175))
    assert (cloth.base, cloth.top, cloth.finish) == (0.0125, 2.5, "linen")


def test_rooms_joined_by_a_passage_both_lose_the_wall() -> None:
    a = Room(name="A", outline=BOX, height=2.5, floor="oak", ceiling="white", wall="white")
    beyond = tuple((x + 4.2, y) for x, y in BOX)
    b = dataclasses.replace(a, name="B", outline=beyond)
    passage = Opening(
        room="a", wall=1, offset=1.0, width=1.0, head=2.0, kind="passage", to="b", thickness=0.2
    )
    found = surfaces(home(rooms={"a": a, "b": b}, openings={"p": passage}), layout())
    assert area(found, owner="a", face="wall 1") == pytest.approx(12.5 - 2, abs=1e-9)
    assert area(found, owner="b", face="wall 3") == pytest.approx(12.5 - 2, abs=1e-9)
    door = dataclasses.replace(passage, kind="door", swing="in", hinge="left")
    with_door = surfaces(home(rooms={"a": a, "b": b}, openings={"p": door}), layout())
    assert area(with_door, kind="door leaf") == pytest.approx(2 * 0.88 * 1.94, abs=1e-9)
    only = surfaces(home(rooms={"a": a, "b": b}, openings={"p": door}), layout(), rooms=["b"])
    assert {s.room for s in only} == {"b"}
    assert area(only, kind="door leaf") == pytest.approx(0.88 * 1.94, abs=1e-9)


def test_a_lamp_has_a_body() -> None:
    fixture = Fixture(name="pendant", kind="pendant", size=(0.4, 0.4, 0.3), finish="black")
    plan = Layout(name="A", lamps={"l": Lamp(fixture="p", at=(2.0, 2.5), base=1.6)})
    found = surfaces(home(fixtures={"p": fixture}), plan)
    assert area(found, owner="l", face="sides") == pytest.approx(math.pi * 0.4 * 0.3, rel=1e-3)
    assert area(found, owner="l", face="underside") == pytest.approx(math.pi * 0.04, rel=1e-3)
    assert {s.finish for s in found if s.owner == "l"} == {"black"}


def test_what_stands_outside_the_rooms_is_not_seen() -> None:
    found = surfaces(home({"b": block(1.0, 1.0, 1.0)}), layout(b=(10.0, 10.0)))
    assert not [s for s in found if s.owner == "b"]


def test_parts_that_share_a_place_are_counted_once() -> None:
    twice = Piece(
        name="p",
        kind="ottoman",
        size=(1, 1, 1),
        finish="black",
        parts=(Part(name="a", size=(1.0, 1.0), top=1.0), Part(name="b", size=(0.5, 0.5), top=1.0)),
    )
    found = surfaces(home({"p": twice}), layout(p=(2.0, 2.5)), eyes=(1.2, 1.55))
    assert area(found, owner="p", face="top") == pytest.approx(1.0, abs=1e-9)
    assert area(found, owner="p", part="b", face="sides") == pytest.approx(0.0, abs=1e-9)


def test_flush_faces_of_parts_in_one_another_count_once() -> None:
    parts = (
        Part(name="a", size=(1.0, 1.0), top=1.0),
        Part(name="b", at=(0.25, 0.0), size=(0.5, 1.0), top=1.0),
    )
    piece = Piece(name="p", kind="ottoman", size=(1, 1, 1), finish="black", parts=parts)
    found = surfaces(home({"p": piece}), layout(p=(2.0, 2.5)))
    assert area(found, owner="p", face="sides") == pytest.approx(4.0, abs=1e-9)
    assert area(found, owner="p", face="top") == pytest.approx(1.0, abs=1e-9)


def test_other_finishes_read_the_same_areas() -> None:
    pieces = {"b": block(1.0, 0.5, 0.8)}
    first = surfaces(home(pieces), layout(b=(2.0, 2.5)))
    repainted = {"b": block(1.0, 0.5, 0.8, finish="oak")}
    second = surfaces(home(repainted), layout(b=(2.0, 2.5)))
    assert [s.area for s in first] == [s.area for s in second]
    assert {s.finish for s in second if s.owner == "b"} == {"oak"}
    moved = surfaces(home(repainted), layout(b=(2.0, 0.25)))
    assert total(moved) < total(second)


@pytest.mark.parametrize(
    ("outline", "words"),
    [
        (((0.0, 0.0), (4.0, 4.0), (4.0, 0.0), (0.0, 4.0)), "Self-intersection"),
        (((0.0, 0.0), (4.0, 0.0)), "2 different points; allowed: three"),
        (((0.0, 0.0), (4.0, math.nan), (0.0, 4.0)), "point 2 = .*two finite numbers"),
    ],
)
def test_an_outline_that_is_none(outline: tuple[tuple[float, float], ...], words: str) -> None:
    with pytest.raises(InputError, match=words):
        surfaces(home(outline=outline), layout())


def test_openings_and_rooms_that_do_not_fit() -> None:
    with pytest.raises(InputError, match=r"opening w = from 3 m, 2 m wide; allowed: within wall 0"):
        surfaces(home(openings={"w": dataclasses.replace(WINDOW, offset=3.0)}), layout())
    with pytest.raises(InputError, match="wall of w = 7; allowed: 0 to 3 of r"):
        surfaces(home(openings={"w": dataclasses.replace(WINDOW, wall=7)}), layout())
    with pytest.raises(LookupFailed, match="room = kitchen"):
        surfaces(home(), layout(), rooms=["kitchen"])
    lost = Layout(name="A", drapes={"d": Drape(opening="x", finish="f", track=1.0)})
    with pytest.raises(LookupFailed, match="opening of drape d = x"):
        surfaces(home(openings={"w": WINDOW}), lost)
    short = Layout(name="A", drapes={"d": Drape(opening="w", finish="f", track=0.0)})
    with pytest.raises(InputError, match=r"track = 0\.0 m; allowed: > 0 m"):
        surfaces(home(openings={"w": WINDOW}), short)
    with pytest.raises(InputError, match="against = 0"):
        surfaces(home(), layout(), against=0.0)


box = st.tuples(
    st.floats(0.0, 4.0),
    st.floats(0.0, 5.0),
    st.floats(0, 360),
    st.floats(0.2, 2.0),
    st.floats(0.1, 2.4),
)


@settings(max_examples=40)
@given(st.lists(box, min_size=1, max_size=6))
def test_no_face_shows_more_than_it_has(boxes: list[tuple[float, ...]]) -> None:
    pieces = {f"p{n}": block(w, 0.4, h) for n, (_, _, _, w, h) in enumerate(boxes)}
    plan = Layout(
        name="A",
        pieces={
            f"p{n}": Placement(at=(x, y), rotation=r) for n, (x, y, r, _, _) in enumerate(boxes)
        },
    )
    empty = surfaces(home(), layout())
    found = surfaces(home(pieces), plan)
    for s in found:
        assert -1e-12 <= s.area <= s.full + 1e-9
        assert math.isfinite(s.area)
    for kind in ("floor", "ceiling", "wall"):
        assert area(found, kind=kind) <= area(empty, kind=kind) + 1e-9
    assert total(found) <= sum(s.full for s in found) + 1e-9
