"""Window glass against the published table, a second colour library and a handbook."""

from __future__ import annotations

import numpy as np
import pytest
from coloraide import Color
from coloraide.cat import CAT16, WHITES
from coloraide.spaces.cam16 import Environment

from designkit.palette.glazing import (
    adaptation_degree,
    adapted_in_part,
    glazing_of,
    glazings,
    light_through,
    straight_through,
)
from designkit.palette.lamps_on_finishes import shift
from designkit.palette.spectra import THROUGH, spectrum_of

GRID = np.arange(380.0, 781.0, 5.0)

# EnergyPlus data set of window constructions (datasets/WindowConstructs.idf), TVIS of
# the whole window at normal incidence, worked out there from the WINDOW library.
CONSTRUCTIONS = {
    "double-clear-3": 0.812,
    "double-clear-6": 0.781,
    "double-low-iron-3": 0.839,
    "double-low-iron-5": 0.834,
    "double-bronze-3": 0.618,
    "double-bronze-6": 0.473,
    "double-green-3": 0.743,
    "double-green-6": 0.664,
    "double-grey-3": 0.551,
    "double-grey-6": 0.381,
    "double-blue-6": 0.505,
}
# The same, single panes: TVIS there is that of the WINDOW library.
SINGLE = {
    "clear-3": 0.898,
    "clear-6": 0.881,
    "clear-12": 0.841,
    "low-iron-3": 0.913,
    "low-iron-5": 0.910,
    "bronze-3": 0.685,
    "bronze-6": 0.534,
    "bronze-10": 0.379,
    "grey-3": 0.611,
    "grey-6": 0.431,
    "grey-12": 0.187,
    "green-3": 0.822,
    "green-6": 0.749,
}


def _weights() -> tuple[np.ndarray, np.ndarray]:
    """D65 and the observer's ȳ, 5 nm, from colour-science."""
    import colour

    light = colour.SDS_ILLUMINANTS["D65"]
    eye = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    power = np.interp(GRID, light.wavelengths, light.values)
    return power, np.array([np.interp(GRID, eye.wavelengths, v) for v in eye.values.T])


@pytest.mark.reference("B24", of="palette")
def test_two_panes_against_the_window_data_set() -> None:
    """EnergyPlus data set, window constructions: TVIS of double glass."""
    for id, through in CONSTRUCTIONS.items():
        assert glazing_of(id).through == pytest.approx(through, abs=0.0006)


@pytest.mark.reference("B24", of="palette")
def test_the_spectra_give_the_light_of_the_table() -> None:
    """Rubin 1985 (index and absorption) against the WINDOW library (EnergyPlus data set).

    Two sources that know nothing of each other: other samples of the same glass.
    """
    power, eye = _weights()
    weight = power * eye[1] / (power @ eye[1])
    for id, through in SINGLE.items():
        found = straight_through(id, wavelengths=GRID)
        assert found is not None
        assert found @ weight == pytest.approx(through, abs=0.015)


@pytest.mark.reference("T09", of="palette")
def test_the_colour_of_daylight_behind_glass() -> None:
    """Rubin 1985 under D65 by colour-science; clear float is greenish, low-iron white (T09).

    The trade's words for tinted glass: bronze is warm, grey has no hue to speak of,
    green is green.
    """
    power, eye = _weights()
    lab = {}
    for id in glazings():
        spectrum = straight_through(id, wavelengths=GRID)
        white = glazing_of(id).white
        if spectrum is None:
            assert white is None
            continue
        x, y, z = eye @ (power * spectrum)
        assert white == pytest.approx((x / (x + y + z), y / (x + y + z)), abs=1e-5)
        xyz = light_through(id)
        assert xyz is not None
        lab[id] = Color("xyz-d65", (xyz * glazing_of(id).through).tolist()).convert("lab-d65")
    assert lab["clear-12"]["a"] < lab["clear-6"]["a"] < -1.5  # green, more with thickness
    assert abs(lab["low-iron-3"]["a"]) + abs(lab["low-iron-3"]["b"]) < 0.5
    assert lab["bronze-6"]["a"] > 1
    assert lab["bronze-6"]["b"] > 5
    assert lab["green-6"]["a"] < -5
    assert np.hypot(lab["grey-6"]["a"], lab["grey-6"]["b"]) < 3


@pytest.mark.reference("C42", of="lighting")
def test_light_of_the_sky_against_the_defaults_of_the_daylight_factor() -> None:
    """BRE / BS 8206-2, average daylight factor: single glass 0.8, double glass 0.7, diffuse."""
    assert glazing_of("clear-6").sky == pytest.approx(0.8, abs=0.03)
    assert glazing_of("clear-3").sky == pytest.approx(0.8, abs=0.03)
    assert glazing_of("double-clear-6").sky == pytest.approx(0.7, abs=0.03)
    assert glazing_of("double-clear-3").sky == pytest.approx(0.7, abs=0.03)


@pytest.mark.reference("B05", of="palette")
@pytest.mark.parametrize("glass", ["bronze-6", "green-6", "double-grey-6"])
def test_full_adaptation_against_another_library(glass: str) -> None:
    """CAT16 (Li et al. 2017) by coloraide, which our code does not call."""
    white = light_through(glass)
    assert white is not None
    x, y = glazing_of(glass).white or (0, 0)
    seen = [0.3, 0.25, 0.2]
    day = light_through("")
    assert day is not None
    to = (day[0] / day.sum(), day[1] / day.sum())
    other = CAT16().adapt((x, y), to, seen)
    assert adapted_in_part(seen, white=white, degree=1.0) == pytest.approx(other, abs=1e-6)
    assert adapted_in_part(seen, white=white, degree=0.0) == pytest.approx(seen)


@pytest.mark.reference("B05", of="palette")
@pytest.mark.parametrize("luminance", [0.0, 4.0, 63.66, 318.31])
def test_degree_of_adaptation(luminance: float) -> None:
    """CAM16 (Li et al. 2017): D for an average surround, by coloraide."""
    around = Environment(
        white=WHITES["2deg"]["D65"],
        adapting_luminance=luminance,
        background_luminance=20,
        surround="average",
        discounting=False,
    )
    assert adaptation_degree(luminance) == pytest.approx(around.d)


@pytest.mark.reference("B20", of="palette")
def test_a_flat_finish_does_not_shift_behind_glass() -> None:
    """Row B20: spectrally flat black, grey and white do not shift under full adaptation."""
    for share in (0.04, 0.4, 0.9):
        flat = spectrum_of(GRID, np.full(len(GRID), share))
        found = shift(flat, lamp=f"{THROUGH}double-bronze-6")
        assert found.difference == pytest.approx(0.0, abs=1e-6)
