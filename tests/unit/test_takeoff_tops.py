"""Glass and stone tops, leather, own material, murals: bad input and band edges."""

from __future__ import annotations

import math

import pytest

from designkit.errors import InputError
from designkit.model import Room
from designkit.takeoff.leather import leather, own_material
from designkit.takeoff.murals import mural
from designkit.takeoff.surfaces import Hole, WallFace, as_seen
from designkit.takeoff.tops import top
from designkit.takeoff.upholstery import CutPanel

INCH = 0.0254
WALL = WallFace(room="r", wall=0, length=3.6, height=2.5, finish="m", holes=())


def test_a_round_top_has_the_area_of_its_circle_and_is_sold_by_its_square() -> None:
    made = top((0.9, 0.9), material="glass", shape="circle", thickness=0.01)
    assert made.net == pytest.approx(math.pi * 0.45**2)
    assert made.order == pytest.approx(0.81)
    assert made.edge == pytest.approx(math.pi * 0.9)


def test_rounded_corners_lose_what_a_square_has_over_its_circle() -> None:
    made = top((1.0, 0.6), material="glass", radius=0.1)
    assert made.net == pytest.approx(0.6 - (0.04 - math.pi * 0.01))
    assert made.edge == pytest.approx(3.2 - 0.8 + 2 * math.pi * 0.1)


def test_slabs_are_whole_and_tops_may_be_turned() -> None:
    three = top((1.4, 0.9), material="stone", count=3, slab=(3.0, 1.6))
    assert (three.across, three.slabs) == (3, 1)
    four = top((1.4, 0.9), material="stone", count=4, slab=(3.0, 1.6))
    assert four.slabs == 2
    with pytest.raises(InputError, match="size of the top"):
        top((3.2, 1.0), material="stone", slab=(3.0, 1.6))


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"material": "wood"}, "material"),
        ({"material": "glass", "shape": "oval"}, "shape"),
        ({"material": "glass", "thickness": 0.0}, "thickness"),
        ({"material": "glass", "overhang": -0.4}, "width of the top"),
        ({"material": "glass", "overhang": math.nan}, "overhang"),
        ({"material": "glass", "radius": 0.4}, "radius"),
        ({"material": "glass", "count": 0}, "tops"),
        ({"material": "stone", "slab": (0.1, 0.1)}, "slab"),
    ],
)
def test_a_wrong_top_is_named(given: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        top((0.8, 0.6), **given)  # type: ignore[arg-type]


def test_a_panel_that_no_hide_holds_is_named() -> None:
    panels = [
        CutPanel(letter="a", name="seat", across=0.6, along=0.6, count=3),
        CutPanel(letter="d", name="back", across=2.0, along=0.8),
    ]
    made = leather(panels)
    assert made.too_large == ("d",)
    assert any("seam" in w for w in made.why)
    assert made.need == pytest.approx((3 * 0.36 + 1.6) / 0.75)
    for wrong, words in (({"usable": 0.0}, "usable"), ({"hide": -1}, "hide"), ({"count": 0}, "pi")):
        with pytest.raises(InputError, match=words):
            leather(panels, **wrong)
    with pytest.raises(InputError, match="cut list"):
        leather([])


def test_own_material_follows_the_chart_and_ends_with_terms() -> None:
    made = own_material(5.0, repeats=0.0, cloth_width=51 * INCH)
    assert made.surcharge == pytest.approx(0.10)
    assert made.order >= made.need + made.approval - 1e-9
    assert len(made.terms) >= 5
    with pytest.raises(InputError, match="cloth width"):
        own_material(5.0, cloth_width=40 * INCH)


def test_a_mural_covers_the_wall_and_its_bleed() -> None:
    made = mural([WALL], panel_width=0.9, bleed=0.05)
    assert made.width == pytest.approx(3.7)
    assert made.panels[-1][1] == pytest.approx(3.7)
    assert len(made.panels) == 5
    taller = WallFace(room="r", wall=1, length=1.0, height=2.6, finish="m", holes=())
    with pytest.raises(InputError, match="height"):
        mural([WALL, taller])
    with pytest.raises(InputError, match="walls"):
        mural([])


def test_a_clockwise_outline_is_seen_as_it_is_written() -> None:
    square = ((0.0, 0.0), (0.0, 3.0), (4.0, 3.0), (4.0, 0.0))
    hole = Hole(id="d", kind="door", left=0.2, right=1.0, sill=0.0, head=2.0)
    face = WallFace(room="r", wall=0, length=3.0, height=2.5, finish="", holes=(hole,))
    same = as_seen([face], room=Room(name="r", outline=square, height=2.5))
    assert same[0].holes[0].left == 0.2
    turned = as_seen([face], room=Room(name="r", outline=square[::-1], height=2.5))
    assert turned[0].holes[0].left == pytest.approx(2.0)
