"""Lamps on finishes and glass, against the CIE's tables and a second colour library."""

from __future__ import annotations

import io
import math

import numpy as np
import pytest
from coloraide import Color, cat, cmfs
from numpy.typing import NDArray

from designkit.model import Colour, Finish, Known
from designkit.palette import colour as own
from designkit.palette.finishes import resolve
from designkit.palette.glass import behind_glass, glass_of
from designkit.palette.lamps_on_finishes import parting, seen_under, shift
from designkit.palette.photo_values import photo_values
from designkit.palette.spectra import LAMPS, Spectrum, lamp_light, spectrum_of, tristimulus
from designkit.palette.swatches import read_photo
from designkit.palette.undertones import undertone

Array = NDArray[np.float64]
GRID = np.arange(380.0, 781.0, 5.0)
# CIE 15:2018 as row B17 of the check values has them, 2° observer.
WHITES = {
    "A": (0.44758, 0.40745),
    "D50": (0.34570, 0.35850),
    "D65": (0.31270, 0.32900),
    "FL2": (0.3721, 0.3751),
    "FL11": (0.3805, 0.3769),
    "LED-B1": (0.4560, 0.4078),
    "LED-B2": (0.4357, 0.4012),
    "LED-B3": (0.3756, 0.3723),
    "LED-B4": (0.3422, 0.3502),
    "LED-B5": (0.3118, 0.3236),
    "LED-BH1": (0.4474, 0.4066),
    "LED-RGB1": (0.4557, 0.4211),
    "LED-V1": (0.4548, 0.4044),
    "LED-V2": (0.3781, 0.3775),
}


def observer() -> Array:
    """The 2° observer as the second library has it, 5 nm."""
    return np.array([cmfs.CIE_1931_2DEG[int(n)] for n in GRID]).T


def planck_a() -> Array:
    """Illuminant A by its formula, CIE 15:2018, 4.1.1."""
    c2 = 1.435e7
    return np.asarray(
        100
        * (560 / GRID) ** 5
        * (math.exp(c2 / (2848 * 560)) - 1)
        / (np.exp(c2 / (2848 * GRID)) - 1)
    )


def patch(name: str) -> Spectrum:
    """A patch of the chart of ISO 17321-1, from the dataset of colour-science."""
    import colour

    found = colour.SDS_COLOURCHECKERS["ISO 17321-1"][name]
    return spectrum_of(found.wavelengths, found.values, name=name)


@pytest.mark.reference("B17", of="palette")
@pytest.mark.parametrize("lamp", list(WHITES))
def test_white_of_each_lamp(lamp: str) -> None:
    """CIE 15:2018, chromaticities of the illuminants, as its tables print them."""
    x, y, z = lamp_light(lamp).tolist()
    assert y == pytest.approx(1.0)
    assert x / (x + y + z) == pytest.approx(WHITES[lamp][0], abs=4e-4)
    assert y / (x + y + z) == pytest.approx(WHITES[lamp][1], abs=4e-4)
    assert lamp in LAMPS


@pytest.mark.reference("B20", of="palette")
@pytest.mark.parametrize("name", ["dark skin", "orange", "neutral 5 (.70 D)", "blue sky"])
def test_a_patch_under_incandescent_light(name: str) -> None:
    """ISO 17321-1 patches under A: formula of CIE 15 and observer of coloraide."""
    found = patch(name)
    each = observer() * planck_a()
    expected = each @ np.interp(GRID, found.wavelengths, found.reflectance) / each[1].sum()
    assert tristimulus(found, lamp="A") == pytest.approx(expected, abs=1e-3)


@pytest.mark.reference("B20", of="palette")
@pytest.mark.parametrize("lamp", ["A", "LED-B1", "LED-B3", "FL11"])
@pytest.mark.parametrize("name", ["dark skin", "orange", "neutral 5 (.70 D)"])
def test_as_seen_after_adaptation(name: str, lamp: str) -> None:
    """CAT16 and CIELAB of coloraide on the same tristimulus values."""
    found = patch(name)
    xyz = tristimulus(found, lamp=lamp)
    white = lamp_light(lamp)
    day = lamp_light("D65")
    xy = tuple((white / white.sum())[:2])
    to = tuple((day / day.sum())[:2])
    adapted = cat.CAT16().adapt(xy, to, xyz.tolist())  # type: ignore[arg-type]
    expected = own.xyz_to_lab(np.asarray(adapted), white=to)
    assert seen_under(found, lamp=lamp) == pytest.approx(expected, abs=0.02)
    second = Color("lab-d65", seen_under(found, lamp="D65").tolist())
    apart = second.delta_e(Color("lab-d65", seen_under(found, lamp=lamp).tolist()), method="2000")
    assert shift(found, lamp=lamp).difference == pytest.approx(apart, abs=1e-6)


# Row B20: X, Y, Z of the neutral 5 (.70 D) patch, worked out there at 1 nm with ASTM E308.
NEUTRAL_5 = {
    "A": (0.22275, 0.20305, 0.07238),
    "FL11": (0.20547, 0.2033, 0.13113),
    "LED-B1": (0.22727, 0.20332, 0.06816),
    "LED-B3": (0.20526, 0.20326, 0.13828),
    "LED-B5": (0.1962, 0.20326, 0.23011),
}


@pytest.mark.reference("B20", of="palette")
@pytest.mark.parametrize("lamp", list(NEUTRAL_5))
def test_the_chart_neutral_hardly_shifts(lamp: str) -> None:
    """ISO 17321-1 reflectances, neutral 5: tristimulus values, and near-neutral in every source."""
    assert tristimulus(patch("neutral 5 (.70 D)"), lamp=lamp) == pytest.approx(
        NEUTRAL_5[lamp], abs=2e-5
    )
    lab = own.xyz_to_lab(tristimulus(patch("neutral 5 (.70 D)"), lamp=lamp), white=lamp)
    assert np.abs(lab[1:]).max() <= 0.2


def metamer(flat: float, size: float) -> tuple[Spectrum, Spectrum]:
    """A flat grey, and one that matches it in daylight only, by the second library's observer."""
    import colour

    light = colour.SDS_ILLUMINANTS["D65"]
    weights = observer() * np.interp(GRID, light.wavelengths, light.values)
    wave = np.sin(2 * np.pi * (GRID - 380) / 130.0)
    hidden = wave - weights.T @ np.linalg.solve(weights @ weights.T, weights @ wave)
    grey = np.full(len(GRID), flat)
    return (
        spectrum_of(GRID, grey, name="flat"),
        spectrum_of(GRID, grey + size * hidden / np.abs(hidden).max(), name="metamer"),
    )


@pytest.mark.reference("B20", of="palette")
def test_metamerism_index_of_the_cie() -> None:
    """CIE 15:2018 9.2.2, worked out with coloraide's observer and CIELAB under A by formula."""
    one, two = metamer(0.2, 0.15)
    found = parting(one, two, lamp="A")
    assert found.match
    assert found.daylight == pytest.approx(0.0, abs=0.05)
    each = observer() * planck_a()
    white = each.sum(axis=1) / each[1].sum()

    def lab(spectrum: Spectrum) -> Array:
        ratio = each @ spectrum.at(GRID) / each[1].sum() / white
        f = np.cbrt(ratio)  # all over the linear part
        return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])

    expected = float(np.linalg.norm(lab(one) - lab(two)))
    assert expected > 3
    assert found.index == pytest.approx(expected, rel=0.02)
    assert found.called in ("part", "part widely")
    assert parting(one, two, lamp="D65").index == pytest.approx(0.0, abs=1e-9)


def test_flat_finishes_hold_under_every_lamp() -> None:
    """A flat reflectance is the lamp's own white, dimmed: closed form, no source needed."""
    for lamp in LAMPS:
        for value in (0.03, 0.2, 0.9):
            flat = spectrum_of(GRID, np.full(len(GRID), value), name="flat")
            found = shift(flat, lamp=lamp)
            assert found.difference == pytest.approx(0.0, abs=1e-9)
            assert found.called == "holds its colour"


@pytest.mark.reference("B24", of="palette")
def test_glass_of_the_table() -> None:
    """EnergyPlus dataset, WINDOW library averages: transmittance and reflectance."""
    table: dict[str, tuple[float, float]] = {
        "clear-3": (0.898, 0.081),
        "clear-6": (0.881, 0.080),
        "clear-12": (0.841, 0.077),
        "low-iron-3": (0.913, 0.082),
        "bronze-3": (0.685, 0.065),
        "bronze-6": (0.534, 0.057),
        "bronze-10": (0.379, 0.050),
        "grey-3": (0.611, 0.061),
        "grey-6": (0.431, 0.052),
        "grey-12": (0.187, 0.045),
        "green-3": (0.822, 0.075),
        "green-6": (0.749, 0.070),
    }
    for id, (through, back) in table.items():
        pane = glass_of(id)
        assert (pane.through, pane.back) == (through, back)
    white = resolve(Finish(name="w", colours=(Colour(lrv=80.0),)))
    found = behind_glass(white, glass="clear-3")
    assert found.seen[0] == pytest.approx(0.898**2 * 80)
    assert found.seen[1] == pytest.approx(0.898**2 * 80 + 0.081 * 85)
    assert found.once == pytest.approx(0.898 * 80)


@pytest.mark.reference("T09", of="palette")
def test_clear_float_is_greenish_and_low_iron_is_not() -> None:
    """Row T09: clear float looks greenish, low-iron white."""
    assert "green" in glass_of("clear-6").tint
    assert "none" in glass_of("low-iron-3").tint


@pytest.mark.reference("B05", of="palette")
@pytest.mark.parametrize("lab", [(90, 5, 1), (60, -4, 6), (30, -3, -5), (85, 2, -4)])
def test_hue_and_chroma_of_an_undertone(lab: tuple[float, float, float]) -> None:
    """CIE 15 hue angle and chroma, by the LCh of coloraide."""
    known = Known(source="measured")
    found = undertone(resolve(Finish(name="f", colours=(Colour(lab=lab),), known=known)))
    _, chroma, hue = Color("lab-d65", list(lab)).convert("lch-d65").coords()
    assert found.chroma == pytest.approx(chroma)
    assert found.hue == pytest.approx(hue)


@pytest.mark.reference("B04", of="palette")
def test_bars_of_value_against_every_pixel() -> None:
    """L* of scikit-image on the whole picture: the small one is within 2.1 points."""
    from PIL import Image
    from skimage.color import rgb2lab

    random = np.random.default_rng(5)
    high, wide = 900, 1400
    picture = np.full((high, wide, 3), 200.0)
    for _ in range(60):  # things of many sizes, with grain
        x, y = random.integers(0, wide - 40), random.integers(0, high - 40)
        w, h = random.integers(10, 300, 2)
        picture[y : y + h, x : x + w] = random.integers(10, 250) * random.uniform(0.8, 1, 3)
    picture += random.normal(0, 6, picture.shape)
    pixels = np.clip(picture, 0, 255).astype(np.uint8)
    file = io.BytesIO()
    Image.fromarray(pixels).save(file, "PNG")
    found = photo_values(read_photo(file.getvalue()))
    light = rgb2lab(pixels)[..., 0]
    assert found.shares["dark"] == pytest.approx(float((light < 35).mean()), abs=0.021)
    assert found.shares["light"] == pytest.approx(float((light > 70).mean()), abs=0.021)
