"""Colour, finishes and areas against published values and independent libraries.

Rows of the table of check values that have no test, and why: B08 (contrast of text) and B11
(signs) are no rules for rooms; B12 and B13 (grey scales of textile fastness) grade a change
that nothing here measures; B18 (colour rendering) is taken from the lamp's packet and never
worked out; B21 and B22 (CIECAM02, CAM16) are whole appearance models, of which only the
degree of adaptation and CAT16 are used (test_glazing.py holds both against coloraide); B25
(60-30-10) is taught only; B26 (area effect) has no number. There is no B23.
"""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from designkit.model import Colour, Finish
from designkit.palette import colour
from designkit.palette.contrast import EdgeLimits, Meeting, contrast, edges
from designkit.palette.finishes import resolve, resolve_all

DATA = Path(__file__).parent / "data"

# ASTM D1535 (Munsell value -> Y in per cent), whole values.
ASTM_D1535 = (0, 1.180, 3.048, 6.391, 11.701, 19.272, 29.301, 41.985, 57.620, 76.696, 100)
# Newhall, Nickerson & Judd 1943, referred to magnesium oxide, values 1 to 10.
NEWHALL_1943 = (1.210, 3.126, 6.555, 12.001, 19.766, 30.053, 43.063, 59.099, 78.665, 102.568)


@pytest.mark.reference("B01", of="palette")
def test_colour_difference_reproduces_the_published_pairs() -> None:
    """Sharma, Wu & Dalal 2005, Table 1; all pairs but 14, which has its own test."""
    with (DATA / "ciede2000_pairs.csv").open(encoding="utf-8") as file:
        rows = [r for r in csv.DictReader(file) if r["pair"] != "14"]
    assert len(rows) == 33
    one = [[float(r[k]) for k in ("L1", "a1", "b1")] for r in rows]
    two = [[float(r[k]) for k in ("L2", "a2", "b2")] for r in rows]
    printed = [float(r["dE00"]) for r in rows]
    np.testing.assert_allclose(colour.difference(one, two), printed, rtol=0, atol=1e-4)
    np.testing.assert_allclose(colour.difference(two, one), printed, rtol=0, atol=1e-4)


@pytest.mark.reference("B02", of="palette")
def test_pair_14_lies_on_one_side_of_its_jump() -> None:
    """Sharma's pair 14, hue difference exactly 180°: 4.8045, or 4.7461 by rounding."""
    found = float(colour.difference([50.0, -0.0010, 2.4900], [50.0, 0.0010, -2.4900]))
    assert min(abs(found - 4.8045), abs(found - 4.7461)) <= 1e-4


@pytest.mark.reference("B03", of="palette")
def test_the_copy_of_the_table_that_went_round_is_not_ours() -> None:
    """Sharma, Wu & Dalal 2005, pair 4: b* −84.2814 and 1.0000; a corrupt copy has 0.9968."""
    blue = [50.0, 0.0, -82.7485]
    assert round(float(colour.difference([50.0, -1.3802, -84.2814], blue)), 4) == 1.0
    assert round(float(colour.difference([50.0, -1.3802, -84.2645], blue)), 4) == 0.9968
    with (DATA / "ciede2000_pairs.csv").open(encoding="utf-8") as file:
        pair = next(r for r in csv.DictReader(file) if r["pair"] == "4")
    assert (pair["b1"], pair["dE00"]) == ("-84.2814", "1.0000")


@pytest.mark.reference("B04", of="palette")
def test_screen_colours_agree_with_an_independent_library() -> None:
    """coloraide (its own sRGB and CIELAB of IEC 61966-2-1 and CIE 15) beside ours."""
    from coloraide import Color

    texts = [
        f"#{r:02x}{g:02x}{b:02x}"
        for r in (0, 9, 10, 11, 128, 255)
        for g in (3, 99)
        for b in (0, 77, 255)
    ]
    for text in texts:
        theirs = Color(text).convert("lab-d65").coords()
        np.testing.assert_allclose(colour.hex_to_lab(text), theirs, rtol=0, atol=1e-6)
    assert float(colour.rgb_to_xyz([0, 1, 0])[1]) == pytest.approx(0.7152, abs=5e-5)
    assert float(colour.rgb_to_xyz([1, 0, 0])[1]) == pytest.approx(0.2126, abs=5e-5)
    assert float(colour.rgb_to_xyz([0, 0, 1])[1]) == pytest.approx(0.0722, abs=5e-5)


@pytest.mark.reference("scikit-image", of="palette")
def test_lab_and_difference_agree_with_scikit_image() -> None:
    """scikit-image: rgb2lab (its white is rounded to five digits) and deltaE_ciede2000."""
    from skimage.color import deltaE_ciede2000, rgb2lab

    rng = np.random.default_rng(7)
    rgb = rng.uniform(size=(200, 3))
    ours = colour.xyz_to_lab(colour.rgb_to_xyz(rgb))
    np.testing.assert_allclose(ours, rgb2lab(rgb[None])[0], rtol=0, atol=0.02)
    np.testing.assert_allclose(
        colour.difference(ours[:100], ours[100:]),
        deltaE_ciede2000(ours[:100], ours[100:]),
        rtol=0,
        atol=1e-9,
    )


@pytest.mark.reference("B05", of="palette")
@pytest.mark.parametrize(
    ("xyz", "white", "lab"),
    [
        (
            (0.20654008, 0.12197225, 0.05136952),
            (0.44757, 0.40745),
            (41.52787529, 38.48089305, -5.73295122),
        ),
        (
            (0.20654008, 0.12197225, 0.05136952),
            (0.34570, 0.35850),
            (41.52787529, 51.19354174, 19.91843098),
        ),
        ((0.14222010, 0.23042768, 0.10495772), "D65", (55.11636304, -41.08791787, 30.91825778)),
        ((0.07818780, 0.06157201, 0.28099326), "D65", (29.80565520, 20.01830466, -48.34913874)),
    ],
)
def test_lab_of_tristimulus_values(
    xyz: tuple[float, ...], white: object, lab: tuple[float, ...]
) -> None:
    """CIE 15, values of the colour-science test suite (colour/models/tests/test_cie_lab.py)."""
    np.testing.assert_allclose(colour.xyz_to_lab(xyz, white=white), lab, rtol=0, atol=1e-7)
    np.testing.assert_allclose(colour.lab_to_xyz(lab, white=white), xyz, rtol=0, atol=1e-9)


@pytest.mark.reference("B06", of="palette")
def test_lightness_of_luminance() -> None:
    """CIE 15, 8.2.1: worked out from the printed formula."""
    np.testing.assert_allclose(
        colour.luminance_to_lightness([0.18447, 0.21586, 0.0331]),
        [50.03, 53.585, 21.25],
        atol=0.006,
    )
    # Both branches meet at (6/29)^3, where L* is 8.
    assert float(colour.luminance_to_lightness(216 / 24389)) == pytest.approx(8.0, abs=1e-12)


@pytest.mark.reference("B07", of="palette")
@pytest.mark.parametrize(
    ("text", "ratio"),
    [
        ("#000000", 21),
        ("#767676", 4.542),
        ("#777777", 4.478),
        ("#808080", 3.949),
        ("#FF0000", 3.998),
        ("#333333", 12.63),
    ],
)
def test_luminance_gives_the_known_ratios_on_white(text: str, ratio: float) -> None:
    """WCAG 2.x SC 1.4.3, (L1 + 0.05) / (L2 + 0.05): a check of Y, no measure of rooms."""
    y = float(colour.rgb_to_xyz(colour.hex_to_rgb(text))[1])
    assert 1.05 / (y + 0.05) == pytest.approx(ratio, abs=0.005 if ratio > 10 else 6e-4)


@pytest.mark.reference("B09", of="palette")
def test_reflectance_value_is_a_hundred_y() -> None:
    """BS 8493:2008+A1:2010 (second-hand): LRV = 100 Y; a bright white is about 85."""
    white = resolve(Finish(name="white", colours=(Colour(lrv=85.0),)))
    assert white.lrv == pytest.approx(85.0, abs=1e-9)
    y = float(colour.lightness_to_luminance(white.colours[0].lightness))
    assert 100 * y == pytest.approx(85.0, abs=1e-9)
    assert white.counts_as == "light"


@pytest.mark.reference("B10", of="palette")
def test_thirty_points_of_lrv_are_adequate() -> None:
    """BS 8300-2:2018 Annex B (second-hand): 30 points of LRV or more."""
    values = resolve_all(
        {
            name: Finish(name=name, colours=(Colour(lrv=lrv),))
            for name, lrv in {"wall": 70.0, "door": 40.0, "frame": 40.1}.items()
        }
    )
    door, frame = (
        edges([Meeting(a="wall", b=b, finish_a="wall", finish_b=b)], finishes=values)[0]
        for b in ("door", "frame")
    )
    assert EdgeLimits.of().adequate == 30
    assert door.adequate
    assert frame.adequate_lit  # 20 points may do for large areas or over 200 lx
    assert not frame.adequate


@pytest.mark.reference("B14", of="palette")
def test_munsell_value_both_ways() -> None:
    """ASTM D1535, Y of V for whole values, as printed to three decimals."""
    np.testing.assert_allclose(
        100 * colour.munsell_to_luminance(np.arange(11)), ASTM_D1535, rtol=0, atol=6e-4
    )
    np.testing.assert_allclose(
        colour.luminance_to_munsell(np.array(ASTM_D1535) / 100), np.arange(11), rtol=0, atol=5e-4
    )


@pytest.mark.reference("B15", of="palette")
def test_the_older_munsell_scale_is_not_ours() -> None:
    """Newhall, Nickerson & Judd 1943 refers to MgO: 2.5 % higher; and V² is not the LRV."""
    ours = 100 * colour.munsell_to_luminance(np.arange(1, 11))
    np.testing.assert_allclose(np.array(NEWHALL_1943) / ours, 1.0257, rtol=0, atol=3e-4)
    assert abs(ours[4] - 25) > 5


@pytest.mark.reference("B16", of="palette")
def test_lightness_is_about_ten_times_the_munsell_value() -> None:
    """Rule of thumb, no source: largest gap 1.05, at V 6; V 5 51.0, V 9 90.2, V 1 10.4."""
    found = colour.munsell_to_lightness(np.arange(11))
    gaps = np.abs(found - 10 * np.arange(11))
    assert int(gaps.argmax()) == 6
    assert float(gaps.max()) == pytest.approx(1.05, abs=0.006)
    np.testing.assert_allclose(found[[5, 9, 1]], [51.0, 90.2, 10.4], rtol=0, atol=0.05)


@pytest.mark.reference("B17", of="palette")
def test_white_points_agree_with_an_independent_library() -> None:
    """CIE 15:2018 chromaticities, as coloraide keeps them for the 2° observer."""
    from coloraide.cat import WHITES

    for name in ("A", "C", "D50", "D65", "E"):
        np.testing.assert_allclose(colour.WHITES[name], WHITES["2deg"][name], rtol=0, atol=1.1e-5)


@pytest.mark.reference("B19", of="palette")
@pytest.mark.parametrize(
    ("xy_y", "lab", "rgb"),
    [
        ((0.43748, 0.37852, 0.09832), (37.54, 14.37, 14.92), (116, 79, 65)),
        ((0.20913, 0.30266, 0.18061), (49.57, -29.71, -28.32), None),  # outside sRGB
        ((0.34891, 0.36421, 0.88069), (95.19, -1.03, 2.93), (241, 242, 236)),
        ((0.34558, 0.35988, 0.58997), (81.29, -0.57, 0.44), (201, 202, 201)),
        ((0.34415, 0.35919, 0.36487), (66.89, -0.75, -0.06), (161, 163, 163)),
        ((0.34577, 0.35909, 0.19062), (50.76, -0.13, 0.14), (121, 121, 121)),
        ((0.34265, 0.35758, 0.08817), (35.63, -0.46, -0.48), (83, 84, 85)),
        ((0.34377, 0.35606, 0.03151), (20.64, 0.07, -0.46), (50, 50, 50)),
    ],
)
def test_chart_patches(
    xy_y: tuple[float, float, float], lab: tuple[float, ...], rgb: tuple[int, ...] | None
) -> None:
    """24-patch chart after November 2014 (dataset of colour-science).

    Its D50 is the one of profiles, X 0.9642, Z 0.8249 (ISO 15076-1, from memory); the
    chromaticity of CIE's D50, rounded to four digits, moves b* by 0.014 at the white patch.
    """
    icc = (0.9642 / 2.7891, 1 / 2.7891)
    x, y, big_y = xy_y
    xyz = np.array([x * big_y / y, big_y, (1 - x - y) * big_y / y])
    np.testing.assert_allclose(colour.xyz_to_lab(xyz, white=icc), lab, rtol=0, atol=0.006)
    if rgb is not None:
        for transform in ("CAT16", "Bradford"):
            seen = colour.xyz_to_rgb(colour.adapt(xyz, white="D50", transform=transform))
            np.testing.assert_allclose(255 * seen, rgb, rtol=0, atol=1.0)


@pytest.mark.reference("B20", of="palette")
def test_a_neutral_stays_neutral_under_the_lamp() -> None:
    """ISO 17321-1 reflectances, neutral 5 under A, FL11, LED-B1: a*, b* within 0.2.

    X, Y, Z computed by colour-science from the chart's spectra; CAT16 to D65.
    """
    patch = {
        "A": (0.22275, 0.20305, 0.07238),
        "FL11": (0.20547, 0.20330, 0.13113),
        "LED-B1": (0.22727, 0.20332, 0.06816),
        "LED-B5": (0.19620, 0.20326, 0.23011),
    }
    for white, xyz in patch.items():
        seen = colour.xyz_to_lab(colour.adapt(xyz, white=white))
        assert np.abs(seen[1:]).max() < 0.25
        assert float(seen[0]) == pytest.approx(52.2, abs=0.05)


@pytest.mark.reference("G11", of="palette")
def test_the_whole_scale_of_munsell_value_is_ten() -> None:
    """Trap G11: a library's `luminance(V)` takes V on 0–100; ours refuses V = 50."""
    assert float(colour.munsell_to_luminance(10)) == pytest.approx(1.0)
    with pytest.raises(colour.InputError, match="Munsell value = 50; allowed: 0 to 10"):
        colour.munsell_to_luminance(50)


def test_black_on_mid_grey_is_far_in_lightness_and_near_in_lrv() -> None:
    """Common practice, no source: why both numbers are shown."""
    black = resolve(Finish(name="black", colours=(Colour(lrv=2.3),)))
    mid = resolve(Finish(name="mid", colours=(Colour(lrv=16.0),)))
    found = contrast(black, mid)
    assert found.lrv == pytest.approx(13.7, abs=1e-6)
    by_hand = 116 * (0.16 ** (1 / 3) - 0.023 ** (1 / 3))
    assert math.isclose(found.farthest, by_hand, abs_tol=1e-9)
