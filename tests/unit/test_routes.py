"""Routes: exact widths, what pinches them, lines that keep clear, narrow stretches."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box

from designkit.errors import InputError, LookupFailed
from designkit.plan.narrowing import (
    low_over,
    needs_passing_place,
    step_free,
    stretches,
    turn_round,
)
from designkit.plan.routelines import route_line, shortest
from designkit.plan.routes import prepare, widest

HALL = ("hall", ((0.0, 1.0), (0.0, 1.95)))
BALCONY = ("balcony", ((8.0, 3.0), (8.0, 4.2)))
HOME = Polygon([(0, 0), (8, 0), (8, 5.5), (4.5, 5.5), (4.5, 7), (0, 7)])


def furnished(seed: int, count: int) -> list[tuple[str, Polygon]]:
    """Rectangles at any angle and circles, some over others."""
    rng = np.random.default_rng(seed)
    pieces = []
    for k in range(count):
        (x, y), (w, d) = rng.uniform([0.3, 0.3], [7.7, 6.7]), rng.uniform(0.3, 1.4, 2)
        if k % 4 == 0:
            shape = Point(x, y).buffer(w / 2, 16)
        else:
            shape = affinity.rotate(
                box(x - w / 2, y - d / 2, x + w / 2, y + d / 2), rng.uniform(0, 360)
            )
        pieces.append((f"piece {k}", shape))
    return pieces


def eroded_width(pieces: list[tuple[str, Polygon]]) -> float:
    """The same width by erosion and halving, with corridors built at both doors."""
    solid = shapely.union_all([shape for _, shape in pieces])
    floor = HOME.difference(solid).union(box(-1.5, 1, 0, 1.95)).union(box(8, 3, 9.6, 4.2))
    ends = Point(-0.9, 1.475), Point(8.9, 3.6)
    low, high = 0.0, 1.0
    for _ in range(36):
        middle = (low + high) / 2
        parts = shapely.get_parts(floor.buffer(-middle / 2, quad_segs=500))
        if any(part.distance(ends[0]) == 0 == part.distance(ends[1]) for part in parts):
            low = middle
        else:
            high = middle
    return low


def touching_width(pieces: list[tuple[str, Polygon]], one: str, other: str) -> float:
    solid = shapely.union_all([shape for _, shape in pieces])
    a, b = (next(s for id, s in pieces if id == name) for name in (one, other))
    low, high = 0.0, 8.0
    for _ in range(36):
        middle = (low + high) / 2
        reach = middle / 2 + 2e-8
        parts = shapely.get_parts(HOME.difference(solid).buffer(-middle / 2, quad_segs=300))
        if any(not p.is_empty and max(p.distance(a), p.distance(b)) <= reach for p in parts):
            low = middle
        else:
            high = middle
    return low


@pytest.mark.parametrize("seed", [2, 3, 4, 5, 8, 10, 11, 17, 20, 23, 28, 33, 35])
def test_door_to_door_agrees_with_erosion(seed: int) -> None:
    pieces = furnished(seed, 6 + seed % 12)
    floor = prepare(HOME, obstacles=pieces, doors=[HALL, BALCONY])
    found = widest(floor, start="hall", end="balcony")
    # Chords of the eroded arcs lie inside them: erosion reads up to r(1 − cos 0.09°) wide.
    assert found.width == pytest.approx(eroded_width(pieces), abs=1e-6)
    assert found.points is not None
    assert math.dist(*found.points) == pytest.approx(found.width, abs=1e-9)


@pytest.mark.parametrize("seed", [25, 37, 48, 53, 55, 57, 59])
def test_piece_to_piece_agrees_with_erosion(seed: int) -> None:
    count = 4 + seed % 14
    pieces = furnished(seed, count)
    one, other = f"piece {seed % count}", f"piece {(seed * 7 + 1) % count}"
    found = widest(prepare(HOME, obstacles=pieces), start=one, end=other)
    # The same chords at radii up to 2 m.
    assert found.width == pytest.approx(touching_width(pieces, one, other), abs=2e-5)


@settings(max_examples=25)
@given(
    left=st.floats(0.2, 1.3), right=st.floats(0.2, 1.3), turn=st.floats(0, 360), at=st.floats(2, 3)
)
def test_gap_between_two_pieces_in_any_direction(
    left: float, right: float, turn: float, at: float
) -> None:
    room = box(0, 0, 5, 3)
    pieces = [("low", box(at, 0, at + 0.5, left)), ("high", box(at, 3 - right, at + 0.5, 3))]
    doors = [("in", ((0, 0.0), (0, 3.0))), ("out", ((5, 0.0), (5, 3.0)))]

    def turned(shape: Polygon) -> Polygon:
        return affinity.rotate(shape, turn, origin=(0, 0))

    moved = []
    for id, jambs in doors:
        a, b = shapely.get_coordinates(turned(LineString(jambs)))
        moved.append((id, (tuple(a), tuple(b))))
    floor = prepare(turned(room), obstacles=[(i, turned(s)) for i, s in pieces], doors=moved)
    found = widest(floor, start="in", end="out")
    assert found.width == pytest.approx(3 - left - right, abs=1e-9)
    assert set(found.between) == {"low", "high"}


def test_a_piece_never_makes_a_route_wider() -> None:
    pieces = furnished(20, 8)
    widths = []
    for count in range(9):
        floor = prepare(HOME, obstacles=pieces[:count], doors=[HALL, BALCONY])
        widths.append(widest(floor, start="hall", end="balcony").width)
    assert widths == sorted(widths, reverse=True)
    assert widths[0] == pytest.approx(0.95)


def test_a_route_is_as_wide_back_as_forth() -> None:
    floor = prepare(HOME, obstacles=furnished(5, 11), doors=[HALL, BALCONY])
    there = widest(floor, start="hall", end="piece 3")
    back = widest(floor, start="piece 3", end="hall")
    assert there.width == pytest.approx(back.width, abs=1e-12)


def test_a_door_counts_as_its_clear_width() -> None:
    floor = prepare(
        box(0, 0, 5, 3), doors=[("hall", ((0, 1), (0, 1.8))), ("out", ((5, 1), (5, 2)))]
    )
    found = widest(floor, start="hall", end="out")
    assert found.width == pytest.approx(0.8, abs=1e-12)
    assert found.between == ("hall", "hall")
    assert "clear width of hall" in found.why


def test_a_piece_before_a_door_leaves_the_rest_of_it() -> None:
    doors = [("hall", ((0, 1), (0, 1.9))), ("out", ((5, 1), (5, 2)))]
    half = prepare(box(0, 0, 5, 3), obstacles=[("sofa", box(0, 1.5, 1, 3))], doors=doors)
    assert widest(half, start="hall", end="out").width == pytest.approx(0.5, abs=1e-9)
    shut = prepare(box(0, 0, 5, 3), obstacles=[("sofa", box(0, 1.0, 1, 1.9))], doors=doors)
    found = widest(shut, start="hall", end="out")
    assert not found.open
    assert found.closed_by == ("sofa",)
    inside = prepare(box(0, 0, 5, 3), obstacles=[("sofa", box(-0.1, 0.9, 1, 2))], doors=doors)
    assert not widest(inside, start="hall", end="out").open


def test_a_thin_post_before_a_door_is_passed_on_its_wider_side() -> None:
    post = box(0.2, 1.75, 0.21, 1.76)
    floor = prepare(
        box(0, 0, 6, 4),
        obstacles=[("post", post)],
        doors=[("hall", ((0, 1), (0, 1.95))), ("out", ((6, 1), (6, 2)))],
    )
    found = widest(floor, start="hall", end="out")
    assert found.width == pytest.approx(math.hypot(0.2, 0.75), abs=1e-9)


def test_a_piece_right_behind_a_door_is_reached_at_once_unless_another_is_before_it() -> None:
    doors = [("hall", ((0, 1), (0, 1.9)))]
    table = ("table", box(0.3, 1.2, 0.5, 1.6))
    alone = prepare(box(0, 0, 5, 3), obstacles=[table], doors=doors)
    found = widest(alone, start="hall", end="table")
    assert found.width == pytest.approx(0.9)
    line = route_line(alone, route=found, start="hall", end="table")
    assert line.line[0] == pytest.approx((0.0, 1.45))
    assert line.line[-1] == pytest.approx((0.3, 1.45))
    bench = ("bench", box(0.2, 0.0, 0.25, 3.0))
    behind = prepare(box(0, 0, 5, 3), obstacles=[table, bench], doors=doors)
    assert not widest(behind, start="hall", end="table").open


def test_two_rooms_in_a_space_and_a_door_between() -> None:
    rooms = box(0, 0, 4, 3).union(box(4.1, 0, 8, 3)).union(box(4, 1, 4.1, 1.9))
    floor = prepare(rooms, doors=[("inner", ((4.05, 1.0), (4.05, 1.9)))])
    found = widest(floor, start=(1, 1.5), end="inner")
    assert found.width == pytest.approx(0.9, abs=1e-9)
    across = widest(floor, start=(1, 1.5), end=(7, 1.5))
    assert across.width == pytest.approx(0.9, abs=1e-9)
    assert all(name.startswith("wall") for name in across.between)


def test_no_way_at_any_width_is_a_named_result() -> None:
    shut = [("shelves", box(2, 0, 2.4, 1.5)), ("wardrobe", box(2, 1.5, 2.6, 3))]
    floor = prepare(box(0, 0, 5, 3), obstacles=shut)
    found = widest(floor, start=(1, 1), end=(4, 1))
    assert not found.open
    assert found.width == 0.0
    assert found.closed_by == ("shelves", "wardrobe")
    assert found.why.startswith("no way at any width")
    line = route_line(floor, route=found, start=(1, 1), end=(4, 1))
    assert not line.open
    assert line.line == ()


def test_two_rooms_without_a_passage_are_closed_by_walls() -> None:
    apart = MultiPolygon([box(0, 0, 2, 2), box(3, 0, 5, 2)])
    found = widest(prepare(apart), start=(1, 1), end=(4, 1))
    assert not found.open
    assert all(name.startswith("wall") for name in found.closed_by)


def test_walls_take_the_names_given() -> None:
    south = ("living wall 0", LineString([(0, 0), (5, 0)]))
    floor = prepare(box(0, 0, 5, 3), obstacles=[("sofa", box(2, 0.7, 3, 3))], walls=[south])
    found = widest(floor, start=(1, 1.5), end=(4, 1.5))
    assert found.between == ("sofa", "living wall 0")


def test_a_corner_sofa_and_a_ring_are_solid() -> None:
    corner = Polygon([(2, 0), (4, 0), (4, 2), (3, 2), (3, 1), (2, 1)])
    floor = prepare(box(0, 0, 5, 3), obstacles=[("corner sofa", corner)])
    found = widest(floor, start=(0.6, 0.5), end=(4.5, 2.4))
    assert found.width == pytest.approx(1.0, abs=1e-9)
    assert found.between[0] == "corner sofa"


@pytest.mark.parametrize("seed", range(0, 40, 3))
def test_the_line_keeps_clear_and_passes_the_narrowest_place(seed: int) -> None:
    pieces = furnished(seed, 6 + seed % 12)
    floor = prepare(HOME, obstacles=pieces, doors=[HALL, BALCONY])
    found = widest(floor, start="hall", end="balcony")
    if not found.open:
        pytest.skip("closed")
    line = route_line(floor, route=found, start="hall", end="balcony")
    path = LineString(line.line)
    points = shapely.line_interpolate_point(path, np.linspace(0, path.length, 3000))
    solid = shapely.union_all([shape for _, shape in pieces])
    assert 2 * shapely.distance(points, solid).min() >= found.width - 4e-4
    assert path.distance(Point(found.at)) < 1e-3
    assert line.length == pytest.approx(path.length)


def test_shortest_line_round_a_corner_is_two_tangents_and_an_arc() -> None:
    # From (1, 1) round the corner (3, 2) at radius 0.4, worked out by hand.
    floor = prepare(Polygon([(0, 0), (6, 0), (6, 6), (3, 6), (3, 2), (0, 2)]))
    start, end, r = (1.0, 1.0), (3.6, 5.0), 0.4
    found = shortest(floor, start=Point(start).buffer(0.0001), end=end, width=2 * r)
    legs, turn = 0.0, 0.0
    for x, y in (start, end):
        away = math.hypot(x - 3, y - 2)
        legs += math.sqrt(away**2 - r**2)
        turn += math.acos(r / away)
    between = math.acos(
        ((1 - 3) * (3.6 - 3) + (1 - 2) * (5 - 2)) / (math.hypot(2, 1) * math.hypot(0.6, 3))
    )
    # The arc lies on the room's side of the corner.
    whole = legs + r * (2 * math.pi - between - turn)
    assert found.open
    assert found.length == pytest.approx(whole, abs=0.01)


def test_no_line_wider_than_the_widest() -> None:
    floor = prepare(HOME, obstacles=furnished(3, 9), doors=[HALL, BALCONY])
    width = widest(floor, start="hall", end="balcony").width
    assert shortest(floor, start="hall", end="balcony", width=width - 0.002).open
    assert not shortest(floor, start="hall", end="balcony", width=width + 0.002).open
    narrow = shortest(floor, start="hall", end="balcony", width=0.3)
    assert narrow.length < shortest(floor, start="hall", end="balcony", width=width - 0.01).length


def test_a_narrow_stretch_is_as_long_as_its_sides() -> None:
    pieces = [("low", box(2, 0, 2.7, 1.05)), ("high", box(2.2, 1.95, 2.9, 3))]
    floor = prepare(
        box(0, 0, 5, 3),
        obstacles=pieces,
        doors=[("in", ((0, 1), (0, 2))), ("out", ((5, 1), (5, 2)))],
    )
    found = widest(floor, start="in", end="out")
    line = route_line(floor, route=found, start="in", end="out")
    narrow = stretches(floor, line=line.line, required=0.95)
    assert len(narrow) == 1
    assert narrow[0].length == pytest.approx(0.5, abs=2e-3)
    assert narrow[0].width == pytest.approx(0.9, abs=1e-3)


def test_two_narrowings_too_near_to_each_other() -> None:
    pieces = []
    for k, x in enumerate((2.0, 3.4)):
        pieces += [(f"low {k}", box(x, 0, x + 0.3, 1.08)), (f"high {k}", box(x, 1.92, x + 0.3, 3))]
    doors = [("in", ((0, 1), (0, 2))), ("out", ((7, 1), (7, 2)))]
    floor = prepare(box(0, 0, 7, 3), obstacles=pieces, doors=doors)
    found = widest(floor, start="in", end="out")
    line = route_line(floor, route=found, start="in", end="out")
    judged = step_free(width=found.width, narrow=stretches(floor, line=line.line, required=0.9144))
    assert len(judged.stretches) == 2
    assert not judged.passes
    assert judged.rule == "plan.route.narrow_apart"
    assert not step_free(width=0.85).passes
    assert not step_free(width=0.80, narrow=judged.stretches[:1]).passes


def test_turn_back_reads_the_room_round_an_island() -> None:
    floor = prepare(box(0, 0, 6, 5), obstacles=[("island", box(2, 2, 4.2, 2.9))])
    turn = turn_round(floor, about="island")
    assert turn.thickness == pytest.approx(0.9)
    assert {round(turn.approach, 6), round(turn.leaving, 6)} == {2.0, 2.1}
    assert turn.at_turn == pytest.approx(2.0)
    assert turn.needed
    assert turn.passes


@pytest.mark.parametrize(
    ("call", "error", "match"),
    [
        (lambda f: widest(f, start="sofa", end="sofa"), InputError, "two different places"),
        (lambda f: widest(f, start="sofaa", end=(4, 1)), LookupFailed, "use sofa"),
        (lambda f: widest(f, start=(2.5, 0.5), end=(4, 1)), InputError, "name the piece: sofa"),
        (lambda f: widest(f, start=(9, 9), end=(4, 1)), InputError, "a point on the floor"),
        (lambda f: widest(f, start=(math.nan, 1), end=(4, 1)), InputError, "finite"),
        (lambda f: shortest(f, start=(1, 1), end=(4, 1), width=0), InputError, "> 0.0002"),
        (lambda f: shortest(f, start=(1, 1), end=(4, 1), width=math.nan), InputError, "width"),
        (lambda f: stretches(f, line=[(0, 0)], required=0.9), InputError, "2 or more"),
        (lambda f: turn_round(f, about="island"), LookupFailed, "sofa"),
        (lambda f: step_free(width=-1), InputError, "0 m or more"),
        (lambda f: low_over([(0, 0)], width=1, overhead=[]), InputError, "2 or more"),
        (lambda f: needs_passing_place(width=1, length=math.inf), InputError, "length"),
    ],
)
def test_bad_places_say_how_to_mend(call: object, error: type[Exception], match: str) -> None:
    floor = prepare(box(0, 0, 5, 3), obstacles=[("sofa", box(2, 0, 3, 1))])
    assert callable(call)
    with pytest.raises(error, match=match):
        call(floor)


@pytest.mark.parametrize(
    ("what", "match"),
    [
        ({"free": Polygon()}, "free floor"),
        ({"free": Polygon([(0, 0), (2, 2), (2, 0), (0, 2)])}, "does not cross itself"),
        ({"obstacles": [("sofa", Polygon([(0, 0), (1, math.inf), (1, 1)]))]}, "obstacle sofa"),
        ({"doors": [("hall", ((0, 1), (0, 1)))]}, "clear width"),
        ({"doors": [("hall", ((9, 1), (9, 2)))]}, "in a wall"),
    ],
)
def test_a_floor_that_cannot_be_is_refused(what: dict[str, object], match: str) -> None:
    given_ = {"free": box(0, 0, 5, 3), **what}
    free = given_.pop("free")
    with pytest.raises(InputError, match=match):
        prepare(free, **given_)
