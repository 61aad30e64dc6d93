"""Tops and leather against figures from outside designkit."""

from __future__ import annotations

import itertools

import networkx as nx
import pytest
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union

from designkit.takeoff.floor_boxes import Covered, Need, cable_run, floor_boxes
from designkit.takeoff.leather import leather, own_material
from designkit.takeoff.tops import top
from designkit.takeoff.upholstery import CutPanel

YARD, FOOT, INCH = 0.9144, 0.3048, 0.0254


@pytest.mark.reference("glass density", of="takeoff")
def test_glass_weighs_two_and_a_half_kilograms_a_square_metre_and_millimetre() -> None:
    """EN 572-1 (from memory): density of soda-lime glass 2500 kg/m³, so that a square metre of
    10 mm weighs 25 kg; the trade's rule is 2.5 kg for each m² and mm."""
    for millimetres in (4, 6, 10, 12):
        made = top((1.0, 1.0), material="glass", thickness=millimetres / 1000)
        assert made.mass == pytest.approx(2.5 * millimetres)


@pytest.mark.reference("leather by the yard", of="takeoff")
def test_a_yard_of_54_in_cloth_is_18_square_feet_of_leather() -> None:
    """Common practice, no source (from memory): 18 ft² of leather for each yard of 54 in cloth;
    ten yards are 180 ft², four hides of 50 ft²."""
    yard = CutPanel(letter="a", name="a yard of cloth", across=54 * INCH, along=YARD, count=10)
    made = leather([yard])
    assert made.need / FOOT**2 == pytest.approx(180)
    assert made.hides == 4


@pytest.mark.reference("D09", of="takeoff")
def test_own_cloth_of_8_yards_with_27_in_of_repeats_is_9_6() -> None:
    """Worked example (values D09): repeats 10 + 17 = 27 in, 20 %, 8 yd becomes 9.6 yd."""
    made = own_material(8 * YARD, repeats=27 * INCH, system="US")
    assert made.need / YARD == pytest.approx(9.6)


@pytest.mark.reference("stone overhang", of="takeoff")
def test_stone_reaches_6_in_at_2_cm_and_10_in_at_3_cm() -> None:
    """Dimension Stone Design Manual, countertops (from memory): without brackets at most 6 in for
    2 cm and 10 in for 3 cm, and never more than one third of the depth."""
    for millimetres, inches in ((20, 6), (30, 10)):
        made = top((2.0, 1.2), material="stone", thickness=millimetres / 1000)
        assert made.most_overhang / INCH == pytest.approx(inches)
    assert top((2.0, 0.36), material="stone", thickness=0.03).most_overhang == pytest.approx(
        0.12, abs=1e-4
    )


@pytest.mark.reference("networkx shortest path", of="takeoff")
def test_a_cable_is_as_short_as_on_a_fine_grid() -> None:
    """networkx, Dijkstra on a grid of 100 mm: every wall and pier of the room lies on the grid,
    so its shortest way is the shortest rectilinear one."""
    room = Polygon(
        [(0, 0), (6, 0), (6, 2), (4, 2), (4, 5), (0, 5)],
        [box(1, 1, 1.5, 4).exterior.coords, box(2.5, 0.5, 3, 3.5).exterior.coords],
    )
    grid = nx.grid_2d_graph(61, 51)
    inside = room.buffer(1e-6)
    for a, b in list(grid.edges):
        line = LineString([(a[0] / 10, a[1] / 10), (b[0] / 10, b[1] / 10)])
        if not inside.covers(line):
            grid.remove_edge(a, b)
    ends = [((5, 1), (38, 45)), ((20, 20), (55, 10)), ((0, 25), (58, 15)), ((35, 20), (20, 1))]
    for start, end in ends:
        expected = nx.shortest_path_length(grid, start, end) / 10
        found, path = cable_run(
            (start[0] / 10, start[1] / 10), (end[0] / 10, end[1] / 10), inside=room
        )
        assert found == pytest.approx(expected), (start, end)
        assert inside.covers(LineString(path))


@pytest.mark.reference("floor boxes by counting", of="takeoff")
def test_as_few_boxes_as_by_trying_all() -> None:
    """By counting: every set of places is tried, smallest first (itertools), on rooms with tables
    that networkx's random geometric graphs place; no smaller set reaches all needs."""
    for seed in range(4):
        points = nx.get_node_attributes(nx.random_geometric_graph(5, 0.1, seed=seed), "pos")
        needs = [
            Need(id=str(i), name=f"lamp {i}", kind="lamp", at=(1 + 6 * x, 1 + 4 * y))
            for i, (x, y) in points.items()
        ]
        room = box(0, 0, 8, 6)
        tables = [
            Covered(name=f"table {n.id}", shape=Point(n.at).buffer(0.6), box=True) for n in needs
        ]
        made = floor_boxes(needs, room=room, outlets=[], furniture=tables, cord=2.2)
        assert made.left == ()
        floor = unary_union([t.shape for t in tables])
        places = [(round(x / 5, 2), round(y / 5, 2)) for x in range(41) for y in range(31)]
        places = [p for p in places if floor.covers(Point(p))]
        reach = []
        for p in places:
            mine = frozenset(
                n.id
                for n in needs
                if (line := LineString([n.at, p])).length <= 2.2
                and line.difference(floor).length <= 0.3
            )
            reach.append(mine)
        kinds = {r for r in reach if not any(r < other for other in reach)}
        wanted = {n.id for n in needs}
        fewest = next(
            k
            for k in range(1, 6)
            if any(set().union(*some) >= wanted for some in itertools.combinations(kinds, k))
        )
        # Our places are fewer than the whole floor: never better than it, and here as good.
        assert len(made.boxes) == fewest, seed
