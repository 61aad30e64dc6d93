"""The tape between two things, beside distances that are known from geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from designkit.errors import InputError, LookupFailed
from designkit.model import Home, Layout, Opening, Piece, Placement, Point, Room
from designkit.plan.case import Case, case_of
from designkit.plan.tape import TapeEnd, end_name, fixed_ends, tape, tape_end

PIECES = {
    "chest": Piece(name="chest of drawers, oak", kind="chest of drawers", size=(1.0, 0.5, 0.8)),
    "table": Piece(name="side table", kind="side table", size=(0.5, 0.5, 0.5), shape="circle"),
    "rug": Piece(name="rug", kind="rug", size=(2.0, 1.4, 0.01)),
}
DOOR = {"width": 0.9, "head": 2.1, "kind": "door"}


def laid(layout: dict[str, Placement]) -> Case:
    """Two rooms side by side with a door between: x 0 to 4 and 4.2 to 8, y 0 to 3."""
    home = Home(
        name="h",
        rooms={
            "a": Room(name="study", outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.6),
            "b": Room(name="hall", outline=((4.2, 0), (8, 0), (8, 3), (4.2, 3)), height=2.6),
        },
        openings={
            "d": Opening(room="a", wall=1, offset=1.0, to="b", name="hall door", **DOOR),  # type: ignore[arg-type]
        },
        pieces=PIECES,
    )
    return case_of(home, Layout(name="a", pieces=layout))


def of(kind: str, id: str) -> TapeEnd:
    return tape_end(f"{kind}:{id}")


def test_from_side_to_side_and_from_corner_to_corner() -> None:
    case = laid(
        {
            "chest": Placement(at=(1.0, 0.25)),  # x 0.5 to 1.5, y 0 to 0.5
            "c2": Placement(item="chest", at=(1.4, 2.0)),  # x 0.9 to 1.9, y 1.75 to 2.25
            "c3": Placement(item="chest", at=(3.3, 1.15)),  # x 2.8 to 3.8, y 0.9 to 1.4
        }
    )
    facing = tape(case, start=of("piece", "chest"), end=of("piece", "c2"))
    assert facing.distance == pytest.approx(1.25, abs=1e-9)
    # In the middle of where they face each other, x 0.9 to 1.5.
    assert facing.line[0] == pytest.approx((1.2, 0.5), abs=2e-3)
    assert facing.line[1] == pytest.approx((1.2, 1.75), abs=2e-3)
    corner = tape(case, start=of("piece", "chest"), end=of("piece", "c3"))
    assert corner.distance == pytest.approx(math.hypot(1.3, 0.4), abs=1e-9)
    assert corner.line == (pytest.approx((1.5, 0.5)), pytest.approx((2.8, 0.9)))
    assert (corner.overlap, corner.through_wall, corner.across) == (False, False, ())


def test_a_turned_piece_is_measured_from_its_corner() -> None:
    case = laid({"chest": Placement(at=(2.0, 1.5), rotation=45.0)})
    wall = tape(case, start=of("wall", "a.0"), end=of("piece", "chest"))
    # Half the sum of its sides, seen at 45°, reaches down from its middle.
    assert wall.distance == pytest.approx(1.5 - 0.75 / math.sqrt(2), abs=1e-9)
    assert wall.line[0][1] == 0.0


def test_opening_point_and_a_round_table() -> None:
    case = laid({"table": Placement(at=(1.0, 1.5))})
    point = TapeEnd(kind="point", at=(1.0, 2.5))
    assert tape(case, start=of("piece", "table"), end=point).distance == pytest.approx(
        0.75, abs=2e-4
    )
    door = tape(case, start=of("piece", "table"), end=of("opening", "d"))
    assert door.distance == pytest.approx(2.75, abs=2e-4)
    assert door.line[1] == pytest.approx((4.0, 1.5), abs=0.02)
    apart = tape(case, start=point, end=TapeEnd(kind="point", at=(4.0, 2.5)))
    assert apart.distance == 3.0


def test_what_is_across_and_what_is_not() -> None:
    case = laid(
        {
            "chest": Placement(at=(0.5, 1.5), rotation=90.0),
            "table": Placement(at=(2.0, 1.5)),
            "rug": Placement(at=(2.0, 1.5)),
            "c2": Placement(item="chest", at=(7.0, 2.0)),
        }
    )
    wall = tape(case, start=of("piece", "chest"), end=of("wall", "a.1"))
    assert wall.across == ("table",)  # not the rug
    through = tape(case, start=of("wall", "a.3"), end=of("piece", "c2"))
    assert through.through_wall
    open_door = tape(
        case,
        start=TapeEnd(kind="point", at=(3.0, 1.2)),
        end=TapeEnd(kind="point", at=(5.0, 1.2)),
    )
    assert not open_door.through_wall


def test_touching_and_overlapping() -> None:
    case = laid(
        {
            "chest": Placement(at=(1.0, 0.25)),
            "c2": Placement(item="chest", at=(2.0, 0.25)),
            "c3": Placement(item="chest", at=(2.3, 0.5)),
        }
    )
    touching = tape(case, start=of("piece", "chest"), end=of("piece", "c2"))
    assert (touching.distance, touching.overlap) == (0.0, False)
    wall = tape(case, start=of("piece", "chest"), end=of("wall", "a.0"))
    assert (wall.distance, wall.overlap) == (0.0, False)
    into = tape(case, start=of("piece", "c2"), end=of("piece", "c3"))
    assert (into.distance, into.overlap) == (0.0, True)


def test_names_and_what_cannot_be_measured() -> None:
    case = laid({"chest": Placement(at=(1.0, 0.25)), "chest_2": Placement(item="chest", at=(3, 2))})
    names = list(fixed_ends(case).values())
    assert names[0] == "hall door"
    assert "the lower wall of the study" in names
    assert len(names) == len({*names}) == 9
    assert end_name(case, of("piece", "chest_2")) == "the chest of drawers 2"
    assert end_name(case, of("opening", "d")) == "the hall door"
    with pytest.raises(InputError, match="two things"):
        tape(case, start=of("piece", "chest"), end=of("piece", "chest"))
    with pytest.raises(LookupFailed, match="chest"):
        tape(case, start=of("piece", "chist"), end=of("wall", "a.0"))
    with pytest.raises(LookupFailed, match=r"a\.0"):
        end_name(case, of("wall", "a.9"))
    for wrong in ("", "piece:", "point:1", "point:nan,2", "room:a"):
        with pytest.raises(InputError, match="end of the tape"):
            tape_end(wrong)
    with pytest.raises(InputError, match="finite"):
        end_name(case, TapeEnd(kind="point", at=(math.inf, 0.0)))


@settings(max_examples=60, derandomize=True, deadline=None)
@given(
    a=st.tuples(st.floats(0.8, 3.2), st.floats(0.8, 2.2), st.floats(0, 360)),
    b=st.tuples(st.floats(0.8, 3.2), st.floats(0.8, 2.2), st.floats(0, 360)),
)
def test_beside_a_search_over_both_outlines(
    a: tuple[float, float, float], b: tuple[float, float, float]
) -> None:
    """The least distance of two convex outlines is from a corner of one to a side of the other."""
    case = laid(
        {
            "chest": Placement(at=a[:2], rotation=a[2]),
            "c2": Placement(item="chest", at=b[:2], rotation=b[2]),
        }
    )
    found = tape(case, start=of("piece", "chest"), end=of("piece", "c2"))
    again = tape(case, start=of("piece", "c2"), end=of("piece", "chest"))
    assert again.distance == pytest.approx(found.distance, abs=1e-9)
    if found.distance == 0.0:
        return
    assert math.dist(*found.line) == pytest.approx(found.distance, abs=2e-6)
    one, two = corners(a), corners(b)
    least = min(
        to_side(p, q, r)
        for p_, s_ in ((one, two), (two, one))
        for p in p_
        for q, r in zip(s_, s_[1:] + s_[:1])
    )
    assert found.distance == pytest.approx(least, abs=1e-9)


def corners(pose: tuple[float, float, float]) -> list[Point]:
    x, y, turn = pose
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    return [
        (x + u * c - v * s, y + u * s + v * c)
        for u, v in ((0.5, 0.25), (-0.5, 0.25), (-0.5, -0.25), (0.5, -0.25))
    ]


def to_side(p: Point, a: Point, b: Point) -> float:
    """From a point to a side, by projection."""
    side, off = np.subtract(b, a), np.subtract(p, a)
    t = float(np.clip(off @ side / (side @ side), 0.0, 1.0))
    return float(np.linalg.norm(off - t * side))
