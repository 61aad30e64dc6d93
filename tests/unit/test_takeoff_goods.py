"""Paint, floor, cloth and drapery: what is refused, and what the answers hold."""

from __future__ import annotations

import pytest

from designkit.errors import InputError
from designkit.model import Building
from designkit.takeoff.ceiling import ceiling_work
from designkit.takeoff.cloth import abrasion_use
from designkit.takeoff.drapery import cut_length, drapery, finished_drop, fullness_band
from designkit.takeoff.floor import floor
from designkit.takeoff.lines import positive, share_of, whole
from designkit.takeoff.paint import cans, paint, paint_volume

NAN = float("nan")


@pytest.mark.parametrize("coats", [0, -1, 1.5, NAN])
def test_coats_are_a_whole_number(coats: float) -> None:
    with pytest.raises(InputError, match="coats"):
        paint_volume(10.0, spreading_rate=8.0, coats=coats)  # type: ignore[arg-type]


@pytest.mark.parametrize("rate", [0.0, -8.0, NAN, float("inf")])
def test_spreading_rate_is_above_zero(rate: float) -> None:
    with pytest.raises(InputError, match=r"spreading rate = .*data sheet"):
        paint_volume(10.0, spreading_rate=rate, coats=2)


def test_paint_of_no_area_needs_no_can() -> None:
    made = paint(0.0)
    assert made.cans.counts == ()
    assert made.cans.text == "none"


def test_can_sizes_and_prices_are_checked() -> None:
    with pytest.raises(InputError, match="can sizes"):
        cans(1.0, sizes=())
    with pytest.raises(InputError, match="can size odd"):
        cans(1.0, sizes=((0.0, "odd"),))
    with pytest.raises(InputError, match="prices of cans = 1"):
        cans(1.0, sizes=((1.0, "1 L"), (5.0, "5 L")), prices=(9.0,))


def test_prices_decide_between_cans() -> None:
    sizes = ((5.0, "5 L"), (1.0, "1 L"))
    assert cans(3.0, sizes=sizes, prices=(40.0, 10.0)).text == "3 × 1 L"
    assert cans(3.0, sizes=sizes, prices=(25.0, 10.0)).text == "1 × 5 L"


def test_project_rules_replace_the_defaults() -> None:
    usual = paint(40.0)
    thin = paint(40.0, overrides={"takeoff.paint.spread": 5.0})
    assert thin.net == pytest.approx(usual.net * usual.spreading_rate / 5.0)


def test_primer_takes_its_own_rate_and_one_coat() -> None:
    first = paint(40.0, primer=True)
    assert first.coats == 1
    assert first.spreading_rate < paint(40.0).spreading_rate


def test_floor_packs_are_whole_and_cover_the_waste() -> None:
    made = floor(18.0, laying="herringbone", waste=0.15, pack=2.0, spare_packs=1)
    assert made.need == pytest.approx(20.7)
    assert made.packs == 12
    assert made.order == pytest.approx(24.0)


def test_floor_refuses_what_cannot_be() -> None:
    with pytest.raises(InputError, match="laying = basket"):
        floor(10.0, laying="basket")  # type: ignore[arg-type]
    with pytest.raises(InputError, match="floor not laid"):
        floor(10.0, less=10.0)
    with pytest.raises(InputError, match="pack"):
        floor(10.0, pack=0.0)
    with pytest.raises(InputError, match="floor waste"):
        floor(10.0, waste=5.0)
    with pytest.raises(InputError, match="spare packs"):
        floor(10.0, pack=1.0, spare_packs=-1)


def test_unknown_heading_lists_the_right_ones() -> None:
    with pytest.raises(InputError, match="heading = accordion; allowed: wave, pinch"):
        drapery(3.0, drop=2.5, cloth_width=1.4, heading="accordion")  # type: ignore[arg-type]


@pytest.mark.parametrize("width", [0.0, -1.4, NAN])
def test_cloth_without_width_is_refused(width: float) -> None:
    with pytest.raises(InputError, match="cloth width"):
        drapery(3.0, drop=2.5, cloth_width=width)


def test_repeat_longer_than_the_drop_is_asked_back() -> None:
    with pytest.raises(InputError, match=r"repeat = 3 m.*by the panel"):
        cut_length(2.0, allowance=0.4, repeat=3.0)
    assert cut_length(2.0, allowance=0.4, repeat=3.0, long_repeat=True) == 3.0


def test_panel_wider_than_the_cloth_without_a_join_is_refused() -> None:
    with pytest.raises(InputError, match="without a join"):
        drapery(4.0, drop=2.5, cloth_width=1.4, join=False, way="upright")
    narrow = drapery(1.0, drop=2.5, cloth_width=1.4, heading="tab", join=False, way="upright")
    assert narrow.face.cuts <= 2


def test_turned_cloth_must_be_wide_enough() -> None:
    with pytest.raises(InputError, match=r"railroaded = 1\.4 m"):
        drapery(4.0, drop=2.5, cloth_width=1.4, way="railroaded")


def test_wide_cloth_is_turned_and_meets_the_fullness_exactly() -> None:
    made = drapery(4.0, drop=2.5, cloth_width=3.2, shrinkage=0.0, heading="wave")
    assert made.face.way == "railroaded"
    assert made.face.up is None
    assert made.face.fullness == 2.0
    # Along the roll: the flat width, rounded up to the step, and nothing else.
    assert 0 <= made.face.order - made.face.flat_width < 0.1 + 1e-9


def test_rounding_stays_in_the_band_unless_told() -> None:
    facts = {"drop": 2.6, "cloth_width": 1.4, "heading": "wave"}
    usual = drapery(4.6, **facts)  # type: ignore[arg-type]
    assert usual.face.up is not None
    assert usual.face.down is not None
    assert not usual.face.up.within
    assert usual.face.down.within
    assert usual.face.cuts == usual.face.down.widths
    more = drapery(4.6, rounding="up", **facts)  # type: ignore[arg-type]
    assert more.face.cuts == usual.face.up.widths


def test_down_that_does_not_cover_the_track_is_refused() -> None:
    with pytest.raises(InputError, match="rounding = down"):
        drapery(1.2, drop=2.5, cloth_width=1.4, fullness=1.3, heading="tab", rounding="down")


def test_odd_widths_of_a_pair_cost_a_seam_more() -> None:
    made = drapery(4.6, drop=2.6, cloth_width=1.4, heading="wave")
    assert made.face.cuts == 7
    assert made.face.down is not None
    assert made.face.down.seams == 6  # 3½ widths a panel are four pieces: 3 seams, twice


def test_lining_and_interlining_add_weight() -> None:
    plain = drapery(3.0, drop=2.5, cloth_width=1.4)
    full = drapery(3.0, drop=2.5, cloth_width=1.4, lined=True, interlined=True)
    assert plain.lining is None
    assert full.lining is not None
    assert full.interlining is not None
    assert full.mass > plain.mass
    assert full.lining.cut < full.face.cut
    assert full.mass_per_metre == pytest.approx(full.mass / 3.0)


def test_shrinkage_and_fullness_are_checked() -> None:
    with pytest.raises(InputError, match="shrinkage"):
        drapery(3.0, drop=2.5, cloth_width=1.4, shrinkage=3.0)
    with pytest.raises(InputError, match=r"fullness = 0\.8"):
        drapery(3.0, drop=2.5, cloth_width=1.4, fullness=0.8)
    with pytest.raises(InputError, match="seam allowance"):
        drapery(3.0, drop=2.5, cloth_width=1.4, seam=1.5)
    with pytest.raises(InputError, match="draw = both"):
        drapery(3.0, drop=2.5, cloth_width=1.4, draw="both")  # type: ignore[arg-type]


def test_finished_drop_by_hem() -> None:
    assert finished_drop(2.6, hem="clear") < finished_drop(2.6, hem="kissing") == 2.6
    assert finished_drop(2.6, hem="break") < finished_drop(2.6, hem="puddle")
    with pytest.raises(InputError, match="hem = floating"):
        finished_drop(2.6, hem="floating")  # type: ignore[arg-type]
    with pytest.raises(InputError, match="finished drop"):
        finished_drop(0.3, top_allowance=0.5)


def test_a_project_may_have_its_own_band() -> None:
    assert fullness_band("tab", overrides={"takeoff.drapery.fullness.tab.high": 1.8}) == (1.25, 1.8)


def test_ceiling_and_cloth_refuse_what_is_not_there() -> None:
    with pytest.raises(InputError, match="workers = 0"):
        ceiling_work(10.0, building=Building(year=2015), workers=0)
    with pytest.raises(InputError, match="ceiling"):
        ceiling_work(0.0, building=Building(year=2015))
    with pytest.raises(InputError, match="abrasion test = Taber"):
        abrasion_use(1000, test="Taber")  # type: ignore[arg-type]


def test_helpers_name_what_is_wrong() -> None:
    assert whole(3.0000000001) == 3
    assert whole(3.001) == 4
    with pytest.raises(InputError, match="drop = -1 m; allowed: > 0 m"):
        positive("drop", -1)
    with pytest.raises(InputError, match="as a fraction"):
        share_of("waste", 10)
