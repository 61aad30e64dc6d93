"""One's own room against published figures: corners, sofas, traverses, models, units.

Figures "from memory" were not looked up again; "second-hand" were read in
copies or lecture notes of the publication.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from designkit.analyses.of_fits import fits
from designkit.model import (
    Brief,
    DeliveryStep,
    Home,
    Known,
    Layout,
    Opening,
    Person,
    Piece,
    Room,
)
from designkit.plan.box import box, read_size
from designkit.plan.carrying import (
    SOFA_AREA,
    corner_clearance,
    longest_rod,
    longest_round_corner,
    through_opening,
)
from designkit.plan.delivery import deliver
from designkit.plan.dining import round_seats
from designkit.plan.measure import within_of
from designkit.plan.survey import survey
from designkit.plan.traverse import balance
from designkit.reference import lookup, value

INCH = 0.0254


@pytest.mark.reference("A39", of="plan")
@pytest.mark.parametrize(("a", "b", "rod"), [(0.9, 0.9, 2.5456), (0.9, 1.2, 2.9597)])
def test_longest_rod_round_a_corner(a: float, b: float, rod: float) -> None:
    """Classical problem of the calculus: (a^⅔ + b^⅔)^{3/2}; values computed by hand."""
    assert longest_rod(a, after=b) == pytest.approx(rod, abs=5e-5)
    assert longest_round_corner(0.0, before=a, after=b) == pytest.approx(rod, abs=5e-5)
    assert corner_clearance(rod - 0.001, depth=0.0, before=a, after=b)[0] > 0
    assert corner_clearance(rod + 0.001, depth=0.0, before=a, after=b)[0] < 0


@pytest.mark.reference("A40", of="plan")
@given(length=st.floats(0.01, 3.0), depth=st.floats(0.01, 1.2), wide=st.floats(0.3, 1.0))
def test_no_box_beats_the_sofa_constant(length: float, depth: float, wide: float) -> None:
    """Hammersley 2.2074 = π/2 + 2/π and Gerver 2.2195 for unit passages (from memory).

    A shape of a larger share of the square of the passage never passes.
    """
    assert math.pi / 2 + 2 / math.pi < SOFA_AREA
    gap, _ = corner_clearance(max(length, depth), depth=min(length, depth), before=wide, after=wide)
    if length * depth / wide**2 > SOFA_AREA:
        assert gap < 0


@pytest.mark.reference("A40-box", of="plan")
def test_the_largest_box_round_a_unit_corner_is_a_unit_of_area() -> None:
    """By hand: turned at 45° a box has t (2√2 - 2t), at most 1, at t = √½; slid at most 1 × 1."""
    areas = [
        longest_round_corner(depth, before=1.0, after=1.0) * depth
        for depth in np.linspace(0.05, 1.0, 40)
    ]
    assert max(areas) == pytest.approx(1.0, abs=1e-6)
    assert max(areas) < math.pi / 2 + 2 / math.pi


def carver(p: float, q: float, a: float, b: float) -> bool:
    """Whether p × q goes into a × b; p ≥ q, a ≥ b."""
    if p <= a and q <= b:
        return True
    if p <= a or q > b:
        return False
    need = (2 * p * q * a + (p * p - q * q) * math.sqrt(p * p + q * q - a * a)) / (p * p + q * q)
    return b >= need


@pytest.mark.reference("Carver 1957", of="plan")
@given(p=st.floats(0.1, 3.0), q=st.floats(0.1, 3.0), a=st.floats(0.1, 3.0), b=st.floats(0.1, 3.0))
def test_a_rectangle_in_a_rectangle(p: float, q: float, a: float, b: float) -> None:
    """W. B. Carver, American Mathematical Monthly 64 (1957) 114-116; from memory."""
    gap, _ = through_opening(p, second=q, width=a, height=b)
    if abs(gap) > 1e-9:
        assert (gap > 0) == carver(max(p, q), min(p, q), max(a, b), min(a, b))


# --- heights, tables, ±, windows ------------------------------------------------


@pytest.mark.reference("P05", of="plan")
def test_round_tables_of_the_box_seat_whom_they_name() -> None:
    """28 in of edge a place: Ø 36-42 in for four, 48 five, 54-60 six, 72 eight (trade)."""
    bands = {"four": (36, 42, 4), "five": (48, 48, 5), "six": (54, 60, 6), "eight": (72, 72.1, 8)}
    for word, (low, high, places) in bands.items():
        size = box()[f"round_{word}"].piece.size[0]
        assert low * INCH - 0.005 <= size <= high * INCH + 0.005
        assert round_seats(size) >= places


@pytest.mark.reference("P06", of="plan")
def test_heights_of_the_box_agree() -> None:
    """Table − seat 270-300 mm, counter − stool 250-300, low table seat − 50 … 0 (P06)."""
    pieces = {key: one.piece for key, one in box().items()}
    chair = pieces["dining_chair"].seat_height
    assert chair is not None
    for table in ("dining_four", "dining_six", "round_six"):
        assert 0.27 - 1e-9 <= pieces[table].size[2] - chair <= 0.30 + 1e-9
    assert 0.25 <= pieces["counter"].size[2] - pieces["counter_stool"].size[2] <= 0.30
    seat = pieces["sofa_three"].seat_height
    assert seat is not None
    for table in ("low_table", "low_table_square", "low_table_round", "low_table_long"):
        assert seat - 0.05 - 1e-9 <= pieces[table].size[2] <= seat
    bed = pieces["bed_eu_160"].seat_height
    assert bed is not None
    assert abs(pieces["bedside"].size[2] - bed) <= 0.05


@pytest.mark.reference("P07", of="plan")
@pytest.mark.parametrize(
    ("source", "metres"), [("measured", 0.003), ("plan", 0.02), ("seller", 0.03), ("guess", 0.05)]
)
def test_sources_have_their_plus_minus(source: str, metres: float) -> None:
    """P07 is the project's assumption; its verdict "measure first" where the margin is less."""
    known = Known(source=source)  # type: ignore[arg-type]
    assert within_of(known) == metres
    door = DeliveryStep(kind="door", width=1.0, height=3.0, known=Known(within=0.0))
    play = value("plan.delivery.play")
    for margin, verdict in ((metres + 0.001, "passes"), (0.0005, "measure first")):
        width = 1.0 - play - margin
        chest = Piece(name="chest", kind="chest of drawers", size=(width, width, 2.5), known=known)
        assert deliver(chest, steps=[door]).verdict == verdict
    wide = 1.0 - play + metres + 0.001
    chest = Piece(name="chest", kind="chest of drawers", size=(wide, wide, 2.9), known=known)
    assert deliver(chest, steps=[door]).verdict == "fails"


@pytest.mark.reference("P08", of="plan")
def test_no_seat_for_a_child_at_an_open_window() -> None:
    """IRC R312.2: sill under 24 in, drop over 72 in; nothing climbable near (CPSC advice)."""
    assert lookup("plan.window.sill").number == pytest.approx(24 * INCH)
    assert lookup("plan.window.drop").number == pytest.approx(72 * INCH)
    room = Room(name="room", outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.6)
    window = Opening(
        room="r", wall=0, offset=0.5, width=3.0, sill=0.55, head=2.2, kind="window",
        to="outside", leaf="inward", drop_outside=6.0,
    )  # fmt: skip
    home = Home(
        name="h",
        rooms={"r": room},
        openings={"w": window},
        layouts={"a": Layout(name="A")},
        layout="a",
        brief=Brief(people=(Person(role="child", age=4),)),
    )
    found = fits(home, size="W 120 × D 40 × H 45 cm", kind="bench")
    good = [stand for stand in found.stands if stand.verdict == "passes"]
    assert good, "along the other walls there is room"
    for stand in good:
        assert stand.at[1] - 0.2 > value("plan.window.reach") - 1e-6


# --- the walk --------------------------------------------------------------------

# Lecture sheet "Sample traverse computations", tables 1 and 2 (seen): length,
# latitude, departure, printed corrections of both by the compass rule.
SHEET = [
    (495.85, 493.5672, 47.5251, -1.6677, -1.7923),
    (850.62, 590.5342, 612.2285, -2.8609, -3.0747),
    (855.45, -325.5265, 791.0924, -2.8772, -3.0922),
    (1020.87, -996.9916, 219.5069, -3.4335, -3.6901),
    (1117.26, -121.9557, -1110.5840, -3.7577, -4.0385),
    (660.08, 377.1895, -541.6952, -2.2201, -2.3860),
]


@pytest.mark.reference("compass rule", of="plan")
def test_compass_rule_against_a_printed_sheet() -> None:
    """Printed corrections of six courses, to four decimals."""
    legs = [(departure, latitude) for _, latitude, departure, _, _ in SHEET]
    spread = balance(legs, rule="compass")
    for (x, y), (dx, dy), row in zip(legs, spread, SHEET):
        assert math.hypot(x, y) == pytest.approx(row[0], abs=0.01)
        assert dy - y == pytest.approx(row[3], abs=2e-4)
        assert dx - x == pytest.approx(row[4], abs=2e-4)
    assert math.fsum(p[0] for p in spread) == pytest.approx(0, abs=1e-9)


# Ghilani and Wolf, "Elementary Surveying", chapter 10, example of five courses:
# length and azimuth, rounded departure and latitude (second-hand, lecture notes).
COURSES = [
    (647.25, (126, 55, 17), 517.45, -388.82),
    (203.03, (178, 18, 58), 5.97, -202.94),
    (720.35, (15, 31, 54), 192.89, 694.05),
    (610.24, (284, 35, 20), -590.57, 153.70),
    (285.13, (206, 9, 42), -125.72, -255.92),
]


@pytest.mark.reference("traverse", of="plan")
def test_a_textbook_traverse_closes_as_printed() -> None:
    """Departures and latitudes of the text, and its closing error of 0.02 and 0.07."""
    words, legs = [], []
    for length, (d, m, s), departure, latitude in COURSES:
        azimuth = d + m / 60 + s / 3600  # clockwise from north
        words.append(f"{length / 100:.4f} at {(90 - azimuth + 180) % 360 - 180:.8f}")
        legs.append((departure, latitude))
    walk = survey(", ".join(words), rule="compass")
    for wall, (x, y) in zip(walk.walls, legs):
        assert wall.leg[0] * 100 == pytest.approx(x, abs=0.0101)
        assert wall.leg[1] * 100 == pytest.approx(y, abs=0.0101)
    assert walk.error[0] * 100 == pytest.approx(0.02, abs=0.01)
    assert walk.error[1] * 100 == pytest.approx(0.07, abs=0.01)


@pytest.mark.reference("transit rule", of="plan")
def test_transit_rule_against_the_same_example() -> None:
    """Corrections printed to three decimals: C × |latitude| / Σ|latitude| (second-hand)."""
    legs = [(departure, latitude) for _, _, departure, latitude in COURSES]
    spread = balance(legs, rule="square")
    change = [round(dy - y, 3) for (_, y), (_, dy) in zip(legs, spread)]
    assert change == [-0.016, -0.008, -0.029, -0.006, -0.011]


# --- other programs ----------------------------------------------------------------


@pytest.mark.reference("Pint", of="plan")
def test_sizes_and_walks_against_pint() -> None:
    """Unit conversions of Pint beside ours."""
    registry = pint.UnitRegistry()

    def metres(number: float, unit: str) -> float:
        return float((number * registry(unit)).to("metre").magnitude)

    found = read_size("86 1/2 in × 37 in × 31 in", kind="sofa")
    for got, inches in zip(found.size, (86.5, 37, 31)):
        assert got == pytest.approx(metres(inches, "inch"), rel=1e-12)
    found = read_size("W 7' 2\" × D 3' 1\" × H 2' 7\"", kind="sofa", units="ft")
    for got, feet in zip(found.size, (7 + 2 / 12, 3 + 1 / 12, 2 + 7 / 12)):
        assert got == pytest.approx(metres(feet, "foot"), rel=1e-12)
    walk = survey("right 13'6\", up 9'2 1/2\", left 13'6\", down 9'2 1/2\"", units="ft")
    assert walk.area == pytest.approx(metres(13.5, "foot") * metres(9 + 2.5 / 12, "foot"), rel=1e-9)


def _model(path: Path) -> tuple[float, float]:
    """An IFC with an L-shaped and a rectangular space, and ifcopenshell's own floor areas."""
    ifc = pytest.importorskip("ifcopenshell", reason="the extra ifc is not installed")
    api = pytest.importorskip("ifcopenshell.api")
    geom = pytest.importorskip("ifcopenshell.geom")
    shapes = pytest.importorskip("ifcopenshell.util.shape")
    import ifcopenshell.api.aggregate
    import ifcopenshell.api.context
    import ifcopenshell.api.geometry
    import ifcopenshell.api.project
    import ifcopenshell.api.root
    import ifcopenshell.api.unit  # noqa: F401

    model = api.project.create_file()
    project = api.root.create_entity(model, ifc_class="IfcProject", name="flat")
    api.unit.assign_unit(model)  # millimetres
    context = api.context.add_context(model, context_type="Model")
    body = api.context.add_context(
        model, context_type="Model", context_identifier="Body", target_view="MODEL_VIEW",
        parent=context,
    )  # fmt: skip
    building = api.root.create_entity(model, ifc_class="IfcBuilding", name="house")
    storey = api.root.create_entity(model, ifc_class="IfcBuildingStorey", name="third floor")
    api.aggregate.assign_object(model, products=[building], relating_object=project)
    api.aggregate.assign_object(model, products=[storey], relating_object=building)
    outlines = {
        "living": [(0, 0), (7600, 0), (7600, 4200), (3400, 4200), (3400, 6600), (0, 6600)],
        "hall": [(3550, 4350), (7600, 4350), (7600, 6200), (3550, 6200)],
    }
    areas = []
    for name, points in outlines.items():
        space = api.root.create_entity(model, ifc_class="IfcSpace", name=name)
        space.LongName = name
        api.aggregate.assign_object(model, products=[space], relating_object=storey)
        line = model.createIfcPolyline(
            [model.createIfcCartesianPoint(tuple(map(float, p))) for p in [*points, points[0]]]
        )
        profile = model.createIfcArbitraryClosedProfileDef("AREA", None, line)
        solid = model.createIfcExtrudedAreaSolid(
            profile, None, model.createIfcDirection((0.0, 0.0, 1.0)), 2620.0
        )
        shape = model.createIfcShapeRepresentation(body, "Body", "SweptSolid", [solid])
        api.geometry.assign_representation(model, product=space, representation=shape)
        made = geom.create_shape(geom.settings(), space)
        areas.append(float(shapes.get_footprint_area(made.geometry)))
    model.write(str(path))
    assert ifc.version
    return areas[0], areas[1]


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
@pytest.mark.reference("IFC", of="plan")
def test_rooms_of_a_building_model(tmp_path: Path) -> None:
    """Areas as ifcopenshell's own get_footprint_area gives them; made in millimetres."""
    path = tmp_path / "flat.ifc"
    living, hall = _model(path)
    from designkit.project.ifc import rooms_from_ifc

    found = rooms_from_ifc(path)
    assert found.storeys == ("third floor",)
    assert found.left_out == ()
    assert found.areas["living_living"] == pytest.approx(living, abs=1e-6)
    assert found.areas["hall_hall"] == pytest.approx(hall, abs=1e-6)
    room = found.rooms["living_living"]
    assert room.height == pytest.approx(2.62)
    assert len(room.outline) == 6
    assert {round(x, 3) for x, _ in room.outline} == {0.0, 3.4, 7.6}
