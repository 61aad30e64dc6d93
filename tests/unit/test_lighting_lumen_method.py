"""The lumen method: laws that hold whatever the numbers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from designkit.errors import InputError
from designkit.lighting.lumen_method import (
    Reflectances,
    cavities,
    cavity_ratio,
    coefficient_of_utilization,
    direct_ratio,
    effective_reflectance,
    floor_correction,
    form_factors,
    lumens_needed,
    mean_illuminance,
    parallel_view_factor,
)

SHARE = st.floats(0, 0.95)
RATIO = st.floats(0, 30)


@given(RATIO)
def test_form_factors_are_shares_and_sum_to_one(ratio: float):
    f = form_factors(ratio)
    assert f.ceiling_floor + f.ceiling_wall == pytest.approx(1)
    assert 2 * f.wall_ceiling + f.wall_wall == pytest.approx(1)
    assert min(f.ceiling_floor, f.ceiling_wall, f.wall_ceiling, f.wall_wall) >= -1e-6


@given(SHARE, SHARE, RATIO)
def test_a_cavity_reflects_a_share(base: float, wall: float, ratio: float):
    found = effective_reflectance(base, wall=wall, ratio=ratio)
    assert -1e-12 <= found <= max(base, wall) + 1e-9


def test_a_cavity_without_depth_is_its_base():
    assert effective_reflectance(0.7, wall=0.3, ratio=0) == 0.7
    assert effective_reflectance(0.7, wall=0.3, ratio=1e-6) == pytest.approx(0.7, abs=1e-5)
    assert parallel_view_factor(1e-6) == pytest.approx(1, abs=1e-5)


@given(SHARE, SHARE, SHARE, RATIO)
def test_energy_a_room_keeps_no_more_than_it_gets(c: float, w: float, f: float, ratio: float):
    """What the floor absorbs is at most what the lamps give."""
    zones = np.concatenate([np.full(9, 60.0), np.full(9, 40.0)])
    use = coefficient_of_utilization(
        zones, lamp_lumens=900, ratio=ratio, ceiling=c, wall=w, floor=f
    )
    assert 0 <= use.direct <= use.total + 1e-12
    assert use.total * (1 - f) <= 1 + 1e-9


def test_a_shallow_room_joins_the_room_without_depth():
    zones = np.concatenate([np.full(9, 60.0), np.full(9, 40.0)])
    values = {"lamp_lumens": 900.0, "ceiling": 0.7, "wall": 0.5, "floor": 0.2}
    flat = coefficient_of_utilization(zones, ratio=0, **values)
    low = coefficient_of_utilization(zones, ratio=1e-4, **values)
    assert low.total == pytest.approx(flat.total, abs=1e-3)


def test_black_surfaces_leave_the_direct_part_only():
    zones = np.concatenate([np.full(9, 100.0), np.zeros(9)])
    use = coefficient_of_utilization(zones, lamp_lumens=900, ratio=3, ceiling=0, wall=0, floor=0)
    assert use.total == pytest.approx(direct_ratio(zones[:9], ratio=3), rel=1e-12)
    assert use.indirect == pytest.approx(0, abs=1e-12)


def test_lumens_and_lux_are_inverse():
    need = lumens_needed(120, utilization=0.45, loss_factor=0.9, area=22)
    assert mean_illuminance(need, utilization=0.45, loss_factor=0.9, area=22) == pytest.approx(120)


def test_cavities_of_a_room():
    found = cavities(
        Reflectances(ceiling=0.8, wall=0.5, floor=0.2),
        perimeter=20,
        area=24,
        ceiling_height=2.7,
        luminaire_height=2.2,
        plane_height=0.75,
    )
    assert found.room == pytest.approx(cavity_ratio(1.45, length=6, width=4))
    assert found.ceiling == pytest.approx(cavity_ratio(0.5, length=6, width=4))
    assert found.ceiling_reflectance < 0.8
    with pytest.raises(InputError, match="luminaire height"):
        cavities(
            Reflectances(ceiling=0.8, wall=0.5, floor=0.2),
            perimeter=20,
            area=24,
            ceiling_height=2.7,
            luminaire_height=0.5,
            plane_height=0.75,
        )


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: cavity_ratio(-1, length=4, width=4), "height"),
        (lambda: cavity_ratio(1, length=0, width=4), "length"),
        (lambda: cavity_ratio(1, length=4, width=math.nan), "width"),
        (lambda: effective_reflectance(70, wall=0.5, ratio=1), "as a share: 0.7, not 70"),
        (lambda: Reflectances(ceiling=0.7, wall=1.0, floor=0.2), "wall reflectance"),
        (lambda: mean_illuminance(1, utilization=1, loss_factor=0, area=1), "loss factor"),
        (lambda: lumens_needed(1, utilization=0, loss_factor=1, area=1), "utilization"),
        (lambda: direct_ratio([1, 2], ratio=1), "nine fluxes"),
        (lambda: floor_correction(0.5, factors=((0.1, 0.96), (0.3, 1.04))), "as printed"),
        (lambda: floor_correction(0.2, factors=((0.2, 1.0),)), "once"),
        (
            lambda: coefficient_of_utilization(
                [1.0] * 9, lamp_lumens=1, ratio=1, ceiling=0.5, wall=0.5, floor=0.2
            ),
            "eighteen",
        ),
    ],
)
def test_what_cannot_be(call, match: str):
    with pytest.raises(InputError, match=match):
        call()
