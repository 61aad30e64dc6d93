"""The exchange of light against published form factors, closed forms and a ray tracer."""

from __future__ import annotations

import csv
import itertools
import math
from pathlib import Path

import numpy as np
import pytest

from designkit.lighting.emitters import sky_illuminance
from designkit.lighting.full import exchange, illuminance_at
from designkit.lighting.point import Source, direct_illuminance
from designkit.model import (
    Colour,
    Finish,
    Fixture,
    Home,
    Lamp,
    Layout,
    Part,
    Piece,
    Placement,
    Room,
)
from designkit.scene.factors import (
    Factors,
    box_factors,
    parallel_rectangles,
    perpendicular_rectangles,
)
from designkit.scene.patches import Patches, patches_of
from designkit.scene.solids import shell, solids
from designkit.scene.transport import spread_light, transport

DATA = Path(__file__).parent / "data"
Point3 = tuple[float, float, float]

RHO = {"floor": 0.30, "ceiling": 0.85, "wall": 0.70, "black": 0.05, "mid": 0.20, "light": 0.60}
# Pieces: x, y, width, depth, base, top, rotation, finish.
SCENES: dict[str, dict[str, object]] = {
    "box": {
        "outline": ((0, 0), (6, 0), (6, 4.5), (0, 4.5)),
        "height": 2.7,
        "pieces": (),
        "lamps": (((2.2, 1.6, 2.2), 1000.0),),
    },
    "furnished": {
        "outline": ((0, 0), (6.4, 0), (6.4, 4.2), (3.4, 4.2), (3.4, 6.2), (0, 6.2)),
        "height": 2.6,
        "pieces": (
            (4.9, 3.45, 2.2, 0.7, 0.10, 0.43, 0, "black"),
            (4.9, 3.95, 2.2, 0.2, 0.10, 0.80, 0, "black"),
            (4.9, 2.2, 1.1, 0.6, 0.30, 0.38, 15, "mid"),
            (3.2, 1.8, 0.8, 0.8, 0.10, 0.75, 70, "black"),
            (0.20, 2.4, 0.36, 1.6, 0, 2.1, 0, "light"),
            (1.6, 0.25, 1.8, 0.44, 0.15, 0.80, 0, "mid"),
            (1.7, 4.7, 1.8, 0.9, 0.70, 0.75, 90, "light"),
            (0.80, 4.7, 1.4, 0.36, 0.20, 0.45, 90, "black"),
            (2.6, 4.7, 1.4, 0.36, 0.20, 0.45, 90, "black"),
            (5.95, 0.45, 0.80, 0.55, 0, 1.2, 0, "black"),
        ),
        "lamps": (((4.6, 1.9, 2.1), 1000.0), ((1.7, 4.7, 1.55), 600.0), ((6.1, 3.6, 1.3), 400.0)),
    },
}


def box_room(length: float, width: float, height: float, *, size: float = 0.45) -> Patches:
    room = Room(name="r", outline=((0, 0), (length, 0), (length, width), (0, width)), height=height)
    home = Home(name="h", rooms={"r": room})
    return patches_of(home, solids(home, Layout(name="A")), rooms=shell(home), size=size)


def between_faces(factors: Factors, patches: Patches) -> np.ndarray:
    """Form factors between whole faces: floor, ceiling, then walls."""
    found = np.zeros((6, 6))
    for i in range(6):
        for j in range(6):
            rows, columns = patches.face == i, patches.face == j
            found[i, j] = factors.exchange[np.ix_(rows, columns)].sum() / patches.area[rows].sum()
    return found


@pytest.mark.reference("C48", of="scene")
def test_parallel_unit_squares():
    """Howell C-11; Incropera, Table 13.2: 0.199825 at distance 1 (printed 0.1998)."""
    found = parallel_rectangles((0, 0, 1, 1), other=(0, 0, 1, 1), distance=1)
    assert found == pytest.approx(0.199825, abs=5e-7)


@pytest.mark.reference("C49", of="scene")
def test_unit_squares_that_share_an_edge():
    """Howell C-14: 0.200044 (printed 0.2000)."""
    found = perpendicular_rectangles((0, 0, 1, 1), other=(0, 0, 1, 1))
    assert found == pytest.approx(0.200044, abs=5e-7)


@pytest.mark.reference("C50", of="scene")
def test_parallel_rectangles_by_formula_not_by_chart():
    """2 × 2 and 0.5 × 0.5 at 1, 1.5 × 3 at 3; one heat-transfer textbook reads 0.11 off a graph.

    The formula gives 0.116654: the chart reading is 6 % low and must not be met.
    """
    for a, b, distance, expected in (
        (2, 2, 1, 0.415253),
        (0.5, 0.5, 1, 0.068590),
        (1.5, 3, 3, 0.116654),
    ):
        found = parallel_rectangles((0, 0, a, b), other=(0, 0, a, b), distance=distance)
        assert found == pytest.approx(expected, abs=5e-7)
    assert abs(found - 0.11) > 0.006


def howell_c11(wide: float, deep: float, apart: float) -> float:
    """Howell, Catalog of configuration factors, C-11, as printed."""
    x, y = wide / apart, deep / apart
    u, v = 1 + x * x, 1 + y * y
    root = math.log(math.sqrt(u * v / (u + y * y)))
    sides = x * math.sqrt(v) * math.atan(x / math.sqrt(v))
    sides += y * math.sqrt(u) * math.atan(y / math.sqrt(u))
    return 2 / (math.pi * x * y) * (root + sides - x * math.atan(x) - y * math.atan(y))


def howell_c14(side: float, deep: float, high: float) -> float:
    """Howell, Catalog of configuration factors, C-14, as printed; `side` is the shared edge."""
    h, w = high / side, deep / side
    a = h * h + w * w
    logs = math.log((1 + w * w) * (1 + h * h) / (1 + a))
    logs += w * w * math.log(w * w * (1 + a) / ((1 + w * w) * a))
    logs += h * h * math.log(h * h * (1 + a) / ((1 + h * h) * a))
    found = w * math.atan(1 / w) + h * math.atan(1 / h)
    found += logs / 4 - math.sqrt(a) * math.atan(1 / math.sqrt(a))
    return found / (math.pi * w)


@pytest.mark.reference("C48", of="scene")
@pytest.mark.parametrize(
    ("a", "b", "c"), [(1, 1, 1), (4, 3, 2.5), (0.3, 5, 2.7), (6, 4.5, 0.4), (1.5, 3, 3)]
)
def test_view_factors_to_ten_figures(a: float, b: float, c: float):
    """Howell C-11 and C-14 typed as printed, to 1e-10."""
    found = parallel_rectangles((0, 0, a, b), other=(0, 0, a, b), distance=c)
    assert found == pytest.approx(howell_c11(a, b, c), abs=1e-10)
    upright = perpendicular_rectangles((0, 0, b, a), other=(0, 0, c, a))
    assert upright == pytest.approx(howell_c14(a, b, c), abs=1e-10)


@pytest.mark.reference("C51", of="scene")
def test_a_home_room_of_5_by_4_by_2_5():
    """Howell C-11 and C-14: floor to ceiling 0.376013, to the walls 0.174570 and 0.137424."""
    patches = box_room(5, 4, 2.5)
    found = between_faces(box_factors(patches), patches)
    assert found[0] == pytest.approx(
        [0, 0.376013, 0.174570, 0.137424, 0.174570, 0.137424], abs=6e-7
    )
    assert found.sum(axis=1) == pytest.approx(1.0, abs=1e-10)


@pytest.mark.reference("radiosity-sum", of="scene")
def test_any_cut_of_a_face_gives_the_whole_face():
    """Law: form factors to parts add up to that to the whole, to 1e-10."""
    cuts = [0, 0.31, 0.9, 2.0]
    for x0, x1 in itertools.pairwise(cuts):
        one = (x0, 0.2, x1, 1.7)
        flat = sum(
            parallel_rectangles(one, other=(a, c, b, d), distance=0.7)
            for a, b in itertools.pairwise(cuts)
            for c, d in ((-1, 0.4), (0.4, 3))
        )
        assert flat == pytest.approx(
            parallel_rectangles(one, other=(0, -1, 2, 3), distance=0.7), abs=1e-10
        )
        upright = sum(
            perpendicular_rectangles(one, other=(a, c, b, d))
            for a, b in itertools.pairwise(cuts)
            for c, d in ((-1, 0.4), (0.4, 3))
        )
        assert upright == pytest.approx(
            perpendicular_rectangles(one, other=(0, -1, 2, 3)), abs=1e-10
        )


@pytest.mark.reference("C52", of="scene")
def test_three_surfaces_give_the_published_coefficients():
    """IES table of an axial luminaire (C08): 180 cells by a room of three surfaces.

    Direct ratios as published beside it (C11); form factors of a 1.6 : 1 room.
    Cells are printed in per cent of the luminaire's lumens, floor cavity 20 %.
    """
    ratios = (0.879, 0.762, 0.664, 0.583, 0.515, 0.459, 0.412, 0.373, 0.339, 0.310)
    with (DATA / "cu_table_ies7.csv").open(encoding="utf-8", newline="") as file:
        table = [r for r in csv.DictReader(file) if r["which"] == "SEEN_published_table"]
    cells = off = 0
    for row in table:
        rcr = int(float(row["RCR"]))
        if rcr == 0:
            continue
        base, walls = 1.6, 1.6 * rcr / 2.5  # areas of floor and walls
        height = rcr * 1.6 / (5 * 2.6)
        across = base * parallel_rectangles((0, 0, 1.6, 1), other=(0, 0, 1.6, 1), distance=height)
        side = base - across
        exchanged = np.array([[0, side, across], [side, walls - 2 * side, side], [across, side, 0]])
        area = np.array([base, walls, base])  # ceiling, walls, floor
        factors = Factors(
            exchange=exchanged, area=area, balance=np.ones(3), lost=0.0, how="closed form"
        )
        direct = np.array([0, 1 - ratios[rcr - 1], ratios[rcr - 1]]) / area
        for column, printed in row.items():
            if not column.startswith("cc"):
                continue
            ceiling, wall = (float(n) / 100 for n in column.removeprefix("cc").split("_w"))
            through = transport(factors, reflectance=[ceiling, wall, 0.2])
            found = spread_light(through, direct=direct)[0]
            apart = abs(round(100 * found[2] * base) - int(printed))
            assert apart <= 1, (rcr, column)
            cells, off = cells + 1, off + apart
    assert cells == 180
    assert off <= 8  # the ratios are printed to three figures


@pytest.mark.reference("integrating-cavity", of="scene")
def test_a_cube_sends_back_what_the_closed_form_says():
    """Law of the closed cavity: mean inter-reflected light Φρ/(S(1 − ρ)), to 1e-6."""
    patches = box_room(4, 4, 4, size=0.5)
    factors = box_factors(patches)
    lamp = Source(at=(1.3, 2.4, 2.9), lumens=100 * 4 * math.pi, pattern="even")
    normals = np.repeat(patches.normal, np.diff(patches.first_point), axis=0)
    lux = direct_illuminance([lamp], points=patches.points, normal=normals)[0]
    direct = np.add.reduceat(lux, patches.first_point[:-1]) / np.diff(patches.first_point)
    direct *= lamp.lumens / float(direct @ patches.area)
    for rho in (0.2, 0.5, 0.85):
        through = transport(factors, reflectance=np.full(len(direct), rho))
        light = spread_light(through, direct=direct)[0]
        sent = float((light - direct) @ patches.area) / 96
        assert sent == pytest.approx(lamp.lumens * rho / (96 * (1 - rho)), rel=1e-6)


def scene(name: str) -> tuple[Home, Layout]:
    given = SCENES[name]
    finishes = {k: Finish(name=k, colours=(Colour(lrv=100 * v),)) for k, v in RHO.items()}
    pieces, places, fixtures, lamps = {}, {}, {}, {}
    for n, (x, y, w, d, base, top, turn, finish) in enumerate(given["pieces"]):  # type: ignore[misc, arg-type, attr-defined]
        part = Part(name="body", size=(w, d), base=base, top=top)
        pieces[f"p{n}"] = Piece(
            name="p", kind="ottoman", size=(w, d, top), finish=finish, parts=(part,)
        )
        places[f"p{n}"] = Placement(at=(x, y), rotation=turn, base=0.0)
    for n, (at, lumens) in enumerate(given["lamps"]):  # type: ignore[misc, arg-type, attr-defined]
        fixtures[f"f{n}"] = Fixture(
            name="f", kind="pendant", size=(0.02, 0.02, 0.02), lumens=lumens, shade="bare"
        )
        lamps[f"l{n}"] = Lamp(fixture=f"f{n}", at=at[:2], base=at[2] - 0.01)
    home = Home(
        name="h",
        rooms={
            "r": Room(
                name="r",
                outline=given["outline"],  # type: ignore[arg-type]
                height=given["height"],  # type: ignore[arg-type]
                floor="floor",
                ceiling="ceiling",
                wall="wall",
            )
        },
        finishes=finishes,
        pieces=pieces,
        fixtures=fixtures,
        rules={"light.loss": 1.0, "light.shade.bare": 1.0},
    )
    return home, Layout(name="A", pieces=places, lamps=lamps)


@pytest.mark.reference("ray tracer", of="lighting")
@pytest.mark.parametrize("name", ["box", "furnished"])
def test_light_at_points_against_a_ray_tracer(name: str):
    """mitsuba 3.9.1, path tracing (data/transport_mitsuba.source.txt).

    Mean within 1 %, every point within 4 %; what the room sends back within 5 %.
    """
    home, layout = scene(name)
    with (DATA / "transport_mitsuba.csv").open(encoding="utf-8", newline="") as file:
        rows = [r for r in csv.DictReader(file) if r["scene"] == name]
    assert len(rows) == (15 if name == "box" else 18)

    def columns(*names: str) -> np.ndarray:
        return np.array([[float(r[k]) for k in names] for r in rows])

    of = exchange(home, layout)
    direct, sent = illuminance_at(
        of, points=columns("x", "y", "z"), normal=columns("nx", "ny", "nz")
    )
    direct_told, sent_told = columns("direct", "indirect").T
    assert direct == pytest.approx(direct_told, rel=1e-3)
    assert sent == pytest.approx(sent_told, rel=0.05)
    assert direct + sent == pytest.approx(direct_told + sent_told, rel=0.04)
    assert (direct + sent).mean() == pytest.approx((direct_told + sent_told).mean(), rel=0.01)


@pytest.mark.reference("overcast sky", of="lighting")
def test_upright_glass_under_an_overcast_sky():
    """CIE traditional overcast sky, L = Lz (1 + 2 sin γ)/3: E_v/E_h by numbers, 0.396."""
    steps = 400
    up = (np.arange(steps) + 0.5) * (math.pi / 2 / steps)
    luminance = (1 + 2 * np.sin(up)) / 3
    width = math.pi / 2 / steps
    level = float((2 * math.pi * luminance * np.sin(up) * np.cos(up)).sum() * width)
    upright = float((2 * luminance * np.cos(up) ** 2).sum() * width)
    sky, ground = sky_illuminance(1000.0, ground=0.2)
    assert sky / 1000 == pytest.approx(upright / level, rel=1e-5)
    assert sky / 1000 == pytest.approx(0.396, abs=5e-4)
    assert ground == 100.0
