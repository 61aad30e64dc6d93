"""Distance to the nearest things: how far a piece slides before it touches."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box

from designkit.errors import LookupFailed
from designkit.model import Home, Layout, Piece, Placement, Room
from designkit.plan.around import gaps, own_group, slide
from designkit.plan.case import case_of

PIECES = {
    "chest": Piece(name="chest", kind="chest of drawers", size=(1.0, 0.5, 0.8)),
    "rug": Piece(name="rug", kind="rug", size=(3.0, 2.0, 0.01)),
    "vase": Piece(name="vase", kind="plant", size=(0.3, 0.3, 0.4)),
}


def room(**placements: Placement) -> tuple[Home, Layout]:
    outline = ((0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0))
    home = Home(
        name="h",
        rooms={"r": Room(name="r", outline=outline, height=2.6)},
        pieces=PIECES,
    )
    return home, Layout(name="a", pieces=placements)


def distances(home: Home, layout: Layout, id: str) -> dict[str, tuple[float, str]]:
    found = gaps(case_of(home, layout), id)
    return {gap.direction: (round(gap.distance, 9), gap.owner) for gap in found}


def test_walls_and_pieces_in_four_directions() -> None:
    home, layout = room(
        one=Placement(at=(1.0, 1.0), item="chest"), two=Placement(at=(3.0, 1.1), item="chest")
    )
    assert distances(home, layout, "one") == {
        "left": (0.5, ""),
        "right": (1.0, "two"),
        "below": (0.75, ""),
        "above": (1.75, ""),
    }


def test_a_rug_is_not_in_the_way_and_a_rider_is_not_met() -> None:
    home, layout = room(
        chest=Placement(at=(1.0, 1.0)),
        rug=Placement(at=(2.0, 1.5)),
        vase=Placement(at=(1.0, 1.0), on="chest"),
    )
    case = case_of(home, layout)
    assert own_group(case, "chest") == {"chest", "vase"}
    assert distances(home, layout, "chest")["right"] == (2.5, "")


def test_a_side_in_a_wall_says_how_deep() -> None:
    home, layout = room(chest=Placement(at=(3.55, 1.0)))
    found = distances(home, layout, "chest")
    assert found["right"] == (-0.05, "")
    assert found["left"] == (3.05, "")
    assert found["below"] == (0.75, "")


def test_turned_and_half_in_a_wall_the_other_sides_are_those_in_the_room() -> None:
    home, layout = room(chest=Placement(at=(3.9, 1.0), rotation=30.0))
    found = distances(home, layout, "chest")
    half = 0.5 * math.cos(math.radians(30)) + 0.25 * math.sin(math.radians(30))
    assert found["left"][0] == pytest.approx(3.9 - half, abs=0.011)
    assert found["right"][0] == pytest.approx(-(0.5 * math.cos(math.radians(30)) + 0.125 - 0.1))


def test_what_it_stands_in_is_not_beside_it() -> None:
    home, layout = room(
        one=Placement(at=(1.0, 1.0), item="chest"), two=Placement(at=(1.6, 1.0), item="chest")
    )
    assert distances(home, layout, "one")["right"] == (2.5, "")


def test_no_such_piece() -> None:
    home, layout = room(chest=Placement(at=(1.0, 1.0)))
    with pytest.raises(LookupFailed, match="chest"):
        gaps(case_of(home, layout), "sofa")


def test_a_middle_of_a_side_is_measured_not_a_corner() -> None:
    home, layout = room(chest=Placement(at=(1.0, 1.0)))
    right = next(g for g in gaps(case_of(home, layout), "chest") if g.direction == "right")
    assert np.array(right.line) == pytest.approx(np.array([(1.5, 1.0), (4.0, 1.0)]))


@given(
    turn=st.floats(0, 360),
    other=st.floats(0, 360),
    away=st.floats(1.5, 4),
    aside=st.floats(-0.6, 0.6),
)
def test_slide_is_where_shapely_says_that_it_touches(
    turn: float, other: float, away: float, aside: float
) -> None:
    body = affinity.rotate(box(-0.5, -0.3, 0.5, 0.3), turn)
    obstacle = affinity.translate(affinity.rotate(box(-0.4, -0.4, 0.4, 0.4), other), away, aside)
    xy = shapely.get_coordinates(obstacle)
    edges = np.hstack([xy[:-1], xy[1:]])
    met = slide(shapely.get_coordinates(body)[:-1], edges, (1.0, 0.0))
    strip = body.union(affinity.translate(body, 10, 0)).convex_hull
    if met is None:
        # It passes: no more than the skin at its sides would touch.
        assert strip.intersection(obstacle).area < 0.02
        return
    distance, _, a, b = met
    there = affinity.translate(body, distance, 0)
    # Against it, but for the skin of 10 mm at the sides of the strip.
    assert there.intersection(obstacle).area < 0.01
    beyond = affinity.translate(body, distance + 0.02, 0)
    assert beyond.distance(obstacle) < 1e-9
    assert math.dist(a, b) == pytest.approx(distance, abs=1e-9)
    assert a[1] == pytest.approx(b[1], abs=1e-9)
    assert Point(b).distance(LineString(obstacle.exterior.coords)) < 1e-6
    assert isinstance(there, Polygon)
