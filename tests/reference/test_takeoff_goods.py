"""Tops and leather against figures from outside designkit."""

from __future__ import annotations

import pytest

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
