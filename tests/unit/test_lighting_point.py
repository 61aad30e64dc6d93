"""Points of light: each model gives back the lumens that it was given."""

from __future__ import annotations

import math

import numpy as np
import pytest

from designkit.errors import InputError
from designkit.lighting.photometry import parse_photometry
from designkit.lighting.point import (
    Source,
    beam_exponent,
    direct_illuminance,
    intensity,
    point_illuminance,
    source_zones,
)


def sphere(count: int) -> np.ndarray:
    """Directions spread evenly over the sphere (spiral)."""
    i = np.arange(count) + 0.5
    z = 1 - 2 * i / count
    turn = math.pi * (1 + 5**0.5) * i
    r = np.sqrt(1 - z**2)
    return np.column_stack([r * np.cos(turn), r * np.sin(turn), z])


FILE = parse_photometry(
    b"IESNA91\nTILT=NONE\n1 -1 1 4 3 1 2 0 0 0\n1 1 9\n0 30 60 90\n0 45 90\n"
    b"400 300 100 0\n400 350 150 0\n400 360 200 0\n"
)
SOURCES = {
    "even": Source(at=(0, 0, 2), lumens=800, pattern="even", up_share=0.3),
    "lobes": Source(at=(0, 0, 2), lumens=800, pattern="lobes", up_share=0.35),
    "all down": Source(at=(0, 0, 2), lumens=800, pattern="lobes", up_share=0.0),
    "beam": Source(at=(0, 0, 2), lumens=800, pattern="beam", exponent=beam_exponent(36)),
    "aimed": Source(
        at=(0, 0, 2), lumens=800, pattern="beam", exponent=beam_exponent(60), aim=(1, 1, -0.5)
    ),
    "uplight": Source(at=(0, 0, 2), lumens=800, pattern="beam", exponent=1, aim=(0, 0, 1)),
}


@pytest.mark.parametrize("name", SOURCES)
def test_intensity_adds_up_to_the_lumens(name: str):
    source = SOURCES[name]
    directions = sphere(200_000)
    flux = 4 * math.pi * intensity(source, directions=directions).mean()
    assert flux == pytest.approx(800, rel=2e-3)
    up = intensity(source, directions=directions)[directions[:, 2] > 0].sum() / len(directions)
    assert source_zones(source)[9:].sum() == pytest.approx(4 * math.pi * up, abs=4)
    assert source_zones(source).sum() == pytest.approx(800, rel=1e-9)


def test_a_file_is_scaled_to_its_lumens():
    source = Source(at=(0, 0, 2), lumens=800, pattern="file", photometry=FILE)
    flux = 4 * math.pi * intensity(source, directions=sphere(200_000)).mean()
    # The file's flux is by the trapezoid rule at 30°, which is coarse.
    assert flux == pytest.approx(800, rel=0.03)
    assert source_zones(source).sum() == pytest.approx(800, rel=1e-9)


def test_a_file_turns_with_its_luminaire():
    level = np.array([[math.sin(math.pi / 4), 0, -math.cos(math.pi / 4)]])
    across = np.array([[0, math.sin(math.pi / 4), -math.cos(math.pi / 4)]])
    plain = Source(at=(0, 0, 2), lumens=800, pattern="file", photometry=FILE)
    turned = Source(at=(0, 0, 2), lumens=800, pattern="file", photometry=FILE, rotation=90)
    assert intensity(turned, directions=across) == pytest.approx(intensity(plain, directions=level))
    assert intensity(turned, directions=level) == pytest.approx(intensity(plain, directions=across))


@pytest.mark.parametrize("beam", [15, 36, 60, 110])
def test_half_of_the_intensity_is_left_at_half_of_the_beam(beam: float):
    source = Source(at=(0, 0, 0), lumens=500, pattern="beam", exponent=beam_exponent(beam))
    half = math.radians(beam / 2)
    edge = intensity(source, directions=[[math.sin(half), 0, -math.cos(half)]])
    assert edge[0] == pytest.approx(intensity(source, directions=[[0, 0, -1.0]])[0] / 2)


def test_light_from_behind_and_beside_a_shade():
    lamp = Source(at=(0, 0, 1), lumens=400 * math.pi, pattern="even", radius=0.2)
    under = direct_illuminance([lamp], points=[[0, 0, 0.0]])
    assert under[0, 0] == pytest.approx(point_illuminance(100, distance=1))
    assert direct_illuminance([lamp], points=[[0, 0, 2.0]])[0, 0] == 0
    near = direct_illuminance([lamp], points=[[0, 0, 0.999]])[0, 0]
    assert near == pytest.approx(100 / 0.2**2)  # no nearer than its radius


def test_a_tilted_page_takes_the_light_from_its_own_side():
    lamp = Source(at=(-1, 0, 1), lumens=400 * math.pi, pattern="even")
    tilt = 1 / math.sqrt(2)
    facing = direct_illuminance([lamp], points=[[0, 0, 0.0]], normal=(-tilt, 0, tilt))
    away = direct_illuminance([lamp], points=[[0, 0, 0.0]], normal=(tilt, 0, tilt))
    assert facing[0, 0] == pytest.approx(50)
    assert away[0, 0] == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize(
    "changes",
    [
        {"lumens": -1.0},
        {"lumens": math.nan},
        {"up_share": 1.5},
        {"exponent": -1.0},
        {"aim": (0, 0, 0)},
        {"at": (math.inf, 0, 0)},
        {"pattern": "file"},
    ],
)
def test_what_cannot_be(changes: dict[str, object]):
    values = {"at": (0, 0, 2), "lumens": 100.0, "pattern": "even", **changes}
    with pytest.raises(InputError, match="allowed"):
        Source(**values)  # type: ignore[arg-type]


def test_bad_numbers_are_refused():
    with pytest.raises(InputError, match="beam angle"):
        beam_exponent(180)
    with pytest.raises(InputError, match="distance"):
        point_illuminance(100, distance=0)
    with pytest.raises(InputError, match="incidence"):
        point_illuminance(100, distance=1, incidence=-5)
    with pytest.raises(InputError, match="points"):
        direct_illuminance([], points=[[0, 0]])
