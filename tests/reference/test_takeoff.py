"""Take-off against figures that were not worked out by designkit."""

from __future__ import annotations

import itertools
import math

import pint
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from designkit.errors import InputError
from designkit.model import Building, Colour, Finish
from designkit.reference import lookup, value
from designkit.takeoff.ceiling import ceiling_work
from designkit.takeoff.cloth import abrasion_use, meets_abrasion, seat_notes, window_notes
from designkit.takeoff.drapery import cut_length, drapery, fullness_band, widths_needed
from designkit.takeoff.lines import run_text, volume_text
from designkit.takeoff.paint import cans, paint, paint_volume, spreading_rate
from designkit.takeoff.rolls import Strip, cut_rolls, pitch, strips_per_roll
from designkit.takeoff.wallcovering import Roll, rolls_by_area, rolls_by_drops, usable_area

unit = pint.UnitRegistry()
INCH = 0.0254
FOOT = 0.3048
GALLON = 3.785411784


# --- drapery -----------------------------------------------------------------


@pytest.mark.reference("D01", of="takeoff")
def test_rod_of_84_inches_takes_five_widths_and_twelve_yards() -> None:
    """Common practice, no named source (values D01): 84 in × 2.5 = 210, + 15 = 225,
    / 54 = 4.17, 5 widths; cut 78 + 10 = 88; 440 in = 12.22 yd."""
    made = drapery(
        84 * INCH,
        drop=78 * INCH,
        cloth_width=54 * INCH,
        heading="pinch",
        fullness=2.5,
        draw="pair",
        returns=7 * INCH,
        overlap=0.0,
        side_hem=2 * INCH,
        hem=10 * INCH,
        header=0.0,
        seam=0.0,
        shrinkage=0.0,
        rounding="up",
        step=INCH,
        system="US",
    )
    assert made.face.flat_width / INCH == pytest.approx(225)
    assert widths_needed(225 * INCH, cloth_width=54 * INCH) == pytest.approx(4.17, abs=0.005)
    assert made.face.cuts == 5
    assert made.face.cut / INCH == pytest.approx(88)
    assert made.face.order / INCH == pytest.approx(440)
    assert run_text(made.face.order, "US") == "12.22 yd"


@pytest.mark.reference("D03", of="takeoff")
def test_pair_with_a_24_inch_repeat() -> None:
    """Common practice, no named source (values D03): overall 141, × 2.5 = 352.5, / 48 = 7.34,
    8 widths; cut 106 / 24 = 4.41, 5 repeats, 120; 960 in = 26.67 yd."""
    made = drapery(
        125 * INCH,
        drop=90 * INCH,
        cloth_width=48 * INCH,
        heading="pinch",
        fullness=2.5,
        draw="pair",
        returns=12 * INCH,
        overlap=4 * INCH,
        gathered_returns=True,
        side_hem=0.0,
        hem=16 * INCH,
        header=0.0,
        seam=0.0,
        repeat=24 * INCH,
        shrinkage=0.0,
        rounding="up",
        step=INCH,
        system="US",
    )
    assert made.face.flat_width / INCH == pytest.approx(352.5)
    assert widths_needed(352.5, cloth_width=48) == pytest.approx(7.34, abs=0.005)
    assert made.face.cuts == 8
    assert made.face.cut / INCH == pytest.approx(120)
    assert made.face.order / INCH == pytest.approx(960)
    assert (made.face.order * unit.metre).to("yard").magnitude == pytest.approx(26.67, abs=0.005)


@pytest.mark.reference("D05", of="takeoff")
def test_cut_is_rounded_up_to_whole_repeats() -> None:
    """Common practice, no named source (values D05): 100 + 16 on a repeat of 25 is 125,
    9 in lost a cut."""
    cut = cut_length(100 * INCH, allowance=16 * INCH, repeat=25 * INCH)
    assert cut / INCH == pytest.approx(125)
    assert (cut - 116 * INCH) / INCH == pytest.approx(9)
    # A drop of exactly four repeats stays four, whatever the float says.
    assert cut_length(2.54 - 0.1, allowance=0.1, repeat=0.635) == pytest.approx(2.54)


@pytest.mark.reference("D07", of="takeoff")
@pytest.mark.parametrize(
    ("id", "low", "high"),
    [
        ("takeoff.drapery.hem_allowance", 8, 8),  # double 4 in
        ("takeoff.drapery.hem_allowance_sheer", 10, 12),  # double 5 to 6 in
        ("takeoff.drapery.header_allowance", 8, 8),
        ("takeoff.drapery.seam", 1, 1),
    ],
)
def test_hem_header_and_seam_allowances(id: str, low: float, high: float) -> None:
    """Common practice, no named source (values D07), inches."""
    assert low - 0.05 <= value(id) / INCH <= high + 0.05


@pytest.mark.reference("P10", of="takeoff")
@pytest.mark.parametrize(
    ("heading", "low", "high"),
    [
        ("wave", 1.8, 2.2),
        ("pinch", 2.0, 2.5),
        ("pencil", 2.0, 2.5),
        ("eyelet", 1.5, 2.0),
        ("tab", 1.25, 1.5),
        ("sheer", 2.5, 3.0),
    ],
)
def test_fullness_by_heading_shows_both_roundings(heading: str, low: float, high: float) -> None:
    """Common practice, no source (values P10; tab seen in public pages, the rest from memory)."""
    assert fullness_band(heading) == (low, high)  # type: ignore[arg-type]
    made = drapery(3.7, drop=2.5, cloth_width=1.4, heading=heading, seam=0.0)  # type: ignore[arg-type]
    up, down = made.face.up, made.face.down
    assert up is not None
    assert down is not None
    assert up.widths == down.widths + 1
    middle = (low + high) / 2
    assert down.fullness <= middle <= up.fullness
    # Both are told in the reasons, whichever is ordered.
    assert f"{up.fullness:.2f}" in " ".join(made.why)
    assert f"{down.fullness:.2f}" in " ".join(made.why)


@given(
    track=st.floats(0.8, 8.0),
    drop=st.floats(1.0, 3.4),
    width=st.floats(1.1, 1.6),
    full=st.floats(1.3, 3.0),
    seam=st.sampled_from([0.0, 0.025]),
    draw=st.sampled_from(["pair", "left"]),
)
@settings(max_examples=150)
def test_widths_cover_what_is_asked_and_one_less_does_not(
    track: float, drop: float, width: float, full: float, seam: float, draw: str
) -> None:
    """A law of the work: the ordered widths give at least the fullness that was asked for."""
    made = drapery(
        track,
        drop=drop,
        cloth_width=width,
        fullness=full,
        draw=draw,  # type: ignore[arg-type]
        seam=seam,
        way="upright",
    )
    up, down = made.face.up, made.face.down
    assert up is not None
    assert down is not None
    assert up.fullness >= full - 1e-9
    assert down.widths == up.widths or down.fullness < full or up.widths == 1


# --- wallcovering ------------------------------------------------------------


@pytest.mark.reference("D14", of="takeoff")
def test_perimeter_of_18_900_takes_36_drops_and_12_rolls() -> None:
    """Common practice, no named source (values D14): 18 900 / 535 = 35.3, 36 drops of
    2760 + 150, three from a roll of about 10 m: 12 rolls, and one spare."""
    roll = Roll(width=0.535, length=10.0)
    assert round(18.9 / 0.535, 1) == 35.3
    assert rolls_by_drops(18.9, height=2.76, trim=0.15, roll=roll) == (36, 3, 12)
    assert rolls_by_drops(18.9, height=2.76, trim=0.15, roll=roll, spare=1)[2] == 13


@pytest.mark.reference("D15", "G8", of="takeoff")
def test_area_method_352_square_feet_is_twelve_rolls() -> None:
    """Common practice, no named source (values D15, trap G8): 352 / 30 is 11.73, which a page
    prints as 11.4; 456 / 36 is 12.67, not 12.6. Both round up to the next roll."""
    area = 2 * (10 + 12) * 8 * FOOT**2
    assert area / FOOT**2 == pytest.approx(352)
    assert round(352 / 30, 2) == 11.73
    assert rolls_by_area(area, usable=30 * FOOT**2) == 12
    assert rolls_by_area(456 * FOOT**2, usable=36 * FOOT**2) == 13
    assert rolls_by_area(352, usable=30) + 2 == 14  # two more for the repeat


@pytest.mark.reference("D17", of="takeoff")
@pytest.mark.parametrize(
    ("repeat", "square_feet"),
    [(0, 25), (6, 25), (7, 22), (12, 22), (13, 20), (18, 20), (19, 18), (23, 18)],
)
def test_usable_yield_by_repeat(repeat: float, square_feet: float) -> None:
    """Wallcoverings Association text, usable yield of a metric single roll (values D17)."""
    assert usable_area(repeat * INCH) / FOOT**2 == pytest.approx(square_feet, abs=0.01)


@pytest.mark.reference("D17", of="takeoff")
def test_usable_yield_is_refused_outside_its_table() -> None:
    """The same text: not valid for walls under 3 ft or over 9 ft (values D17)."""
    assert usable_area(0.0, height=9 * FOOT) > 0
    for height in (2.9 * FOOT, 9.1 * FOOT):
        with pytest.raises(InputError, match="height of the wall"):
            usable_area(0.0, height=height)
    with pytest.raises(InputError, match="repeat"):
        usable_area(24 * INCH)


@pytest.mark.reference("D18", of="takeoff")
def test_four_walls_of_12_by_8_feet() -> None:
    """Wallcoverings Association text (values D18): 4 × 96 = 384 ft², / 25 = 15.4, 16 rolls."""
    assert rolls_by_area(4 * 12 * 8 * FOOT**2, usable=usable_area(0.0)) == 16


@pytest.mark.reference("D20", of="takeoff")
def test_european_roll_gives_three_drops_of_2_5_metres() -> None:
    """EN 233 roll, from memory (values D20): 10.05 × 0.53 m is 5.3265 m²; 2.5 m + 0.1 m
    trim gives 3 drops."""
    assert strips_per_roll(2.5 + 0.1, roll_length=10.05) == 3
    assert value("takeoff.wallcovering.roll_area") == pytest.approx(10.05 * 0.53)


def _next_start(end: int, phase: int, repeat: int) -> int:
    """First whole place at or after end in the wanted phase, by trying each."""
    place = end
    while place % repeat != phase % repeat:
        place += 1
    return place


@pytest.mark.reference("D19", "G10", of="takeoff")
@given(length=st.integers(1, 240), half=st.integers(1, 40))
def test_pitch_is_what_trying_every_place_finds(length: int, half: int) -> None:
    """Geometry (values D19, trap G10), beside a search of every place on the roll."""
    repeat = 2 * half
    same = _next_start(length, 0, repeat)
    turned = _next_start(length, half, repeat)
    assert pitch(length, repeat=repeat) == same
    assert pitch(length, repeat=repeat, match="half-drop", mixed=True) == turned
    assert pitch(length, repeat=repeat, match="half-drop") == min(same, turned)


@pytest.mark.reference("D19", of="takeoff")
@given(repeats=st.integers(1, 9), fraction=st.sampled_from([0.0, 0.01, 0.49, 0.5, 0.51, 0.99]))
def test_pitch_by_the_bands_of_the_fraction(repeats: int, fraction: float) -> None:
    """Geometry (values D19): H = (n + f) R. Straight: nR where f = 0, else (n + 1) R; alternate
    strips: (n + ½) R where f ≤ ½, else (n + 1½) R."""
    repeat = 0.64
    height = (repeats + fraction) * repeat
    straight = repeats if fraction == 0 else repeats + 1
    turned = repeats + 0.5 if fraction <= 0.5 else repeats + 1.5
    assert pitch(height, repeat=repeat) == pytest.approx(straight * repeat)
    assert pitch(height, repeat=repeat, match="half-drop", mixed=True) == pytest.approx(
        turned * repeat
    )


@pytest.mark.reference("D19", "G10", of="takeoff")
def test_half_drop_of_four_whole_repeats_takes_100_not_125() -> None:
    """Values D19: height 100 on a repeat of 25 takes 100, not 125."""
    assert pitch(100, repeat=25, match="half-drop") == 100


def _fewest_rolls(strips: list[tuple[int, int]], roll: int, repeat: int) -> int:
    """Fewest rolls by trying every order; each roll begins where its first strip suits."""
    best = len(strips)
    for order in itertools.permutations(strips):
        count, end, origin = 0, roll + 1, 0
        for length, phase in order:
            start = _next_start(end - origin, phase, repeat) + origin if count else roll
            if not count or start + length > roll:
                count, start, origin = count + 1, 0, -phase
            end = start + length
        best = min(best, count)
    return best


@pytest.mark.reference("D19", of="takeoff")
@given(
    odd=st.integers(0, 3),
    even=st.integers(0, 3),
    length=st.integers(5, 14),
    half=st.integers(1, 6),
    roll=st.integers(14, 40),
)
@settings(max_examples=120)
def test_equal_strips_use_the_fewest_rolls(
    odd: int, even: int, length: int, half: int, roll: int
) -> None:
    """Geometry, beside a search of every order of the strips on the rolls."""
    repeat = 2 * half
    strips = [(length, 0)] * odd + [(length, half)] * even
    found = cut_rolls(
        [Strip(id=str(i), length=n, phase=p) for i, (n, p) in enumerate(strips)],
        roll_length=roll,
        repeat=repeat,
        match="half-drop",
    )
    assert found.count == _fewest_rolls(strips, roll, repeat)
    assert found.proven


@pytest.mark.reference("D19", of="takeoff")
@given(
    strips=st.lists(st.tuples(st.integers(1, 14), st.integers(0, 7)), min_size=1, max_size=6),
    roll=st.integers(14, 40),
)
@example(strips=[(5, 0), (5, 4)], roll=14)  # half a repeat apart, though the match is straight
@settings(max_examples=120)
def test_bound_never_exceeds_the_fewest_rolls(strips: list[tuple[int, int]], roll: int) -> None:
    """Geometry, beside a search of every order: bound ≤ fewest ≤ found ≤ fewest + 1, and every
    strip is there once, in its phase, on the roll and clear of its neighbour."""
    repeat = 8
    asked = [Strip(id=str(i), length=n, phase=p) for i, (n, p) in enumerate(strips)]
    found = cut_rolls(asked, roll_length=roll, repeat=repeat, match="straight")
    fewest = _fewest_rolls(strips, roll, repeat)
    assert found.bound <= fewest <= found.count <= fewest + 1
    placed = [cut for one in found.rolls for cut in one]
    assert sorted(c.strip.id for c in placed) == sorted(s.id for s in asked)
    for one in found.rolls:
        assert one[-1].end <= roll + 1e-9
        for before, after in itertools.pairwise(one):
            assert after.start >= before.end - 1e-9
            shift = (after.start - before.start) - (after.strip.phase - before.strip.phase)
            assert abs(shift / repeat - round(shift / repeat)) < 1e-9


# --- paint -------------------------------------------------------------------


@pytest.mark.reference("D22", of="takeoff")
def test_room_of_10_by_15_by_9_feet_takes_1_186_gallons_a_coat() -> None:
    """Common practice, no named source (values D22): walls 180 + 270 = 450, less a door of
    20 and a window of 15 = 415 ft², at 350 ft²/gal 1.186 gal; ceiling 150 ft² 0.43 gal."""
    walls = (2 * 10 * 9 + 2 * 15 * 9 - 20 - 15) * FOOT**2
    assert walls / FOOT**2 == pytest.approx(415)
    rate = spreading_rate(350)
    net = paint_volume(walls, spreading_rate=rate, coats=1)
    assert net / GALLON == pytest.approx(1.186, abs=0.0005)
    assert volume_text(net, "US") == "1.186 gal"
    ceiling = paint_volume(150 * FOOT**2, spreading_rate=rate, coats=1)
    assert ceiling / GALLON == pytest.approx(0.43, abs=0.005)


@pytest.mark.reference("D24", of="takeoff")
def test_spread_rates_in_both_units() -> None:
    """Common practice, no named source (values D24): 350 ft²/gal is 8.59 m²/L, 400 is 9.82;
    1 ft²/gal is 0.02454 m²/L. Pint beside."""
    assert spreading_rate(350) == pytest.approx(8.59, abs=0.005)
    assert spreading_rate(400) == pytest.approx(9.82, abs=0.005)
    beside = (1 * unit.foot**2 / unit.gallon).to("meter**2/liter").magnitude
    assert spreading_rate(1) == pytest.approx(beside, rel=1e-9)
    assert beside == pytest.approx(0.02454, abs=0.000005)
    # The defaults are the cautious ends of the printed ranges.
    assert value("takeoff.paint.spread") == pytest.approx(spreading_rate(350), abs=0.005)
    assert value("takeoff.paint.spread.primer") == pytest.approx(spreading_rate(200), abs=0.005)


@pytest.mark.reference("G13", of="takeoff")
def test_cans_are_rounded_once_after_the_coats() -> None:
    """Trap G13: 415 ft² at 350 ft²/gal, two coats, is 2.37 gal: 3 cans, not 4."""
    made = paint(
        415 * FOOT**2,
        coats=2,
        spreading_rate=spreading_rate(350),
        waste=0.0,
        sizes=((GALLON, "1 gal"),),
        system="US",
    )
    assert made.net / GALLON == pytest.approx(2.37, abs=0.005)
    assert made.cans.counts[0][0] == 3
    assert 2 * math.ceil(415 / 350) == 4  # what the trap gives


@given(
    need=st.floats(0.1, 60.0),
    prices=st.tuples(st.floats(5, 20), st.floats(20, 60), st.floats(40, 120)),
)
@settings(max_examples=150)
def test_no_set_of_cans_is_cheaper(need: float, prices: tuple[float, float, float]) -> None:
    """A law of buying, beside a search of every count of every can."""
    sizes = ((1.0, "1 L"), (2.5, "2.5 L"), (10.0, "10 L"))
    found = cans(need, sizes=sizes, prices=prices)
    cheapest = min(
        a * prices[0] + b * prices[1] + c * prices[2]
        for b in range(math.ceil(need / 2.5) + 1)
        for c in range(math.ceil(need / 10) + 1)
        for a in [max(0, math.ceil(need - 2.5 * b - 10 * c - 1e-9))]
    )
    assert found.volume >= need - 1e-9
    assert found.price == pytest.approx(cheapest, abs=1e-6)


# --- cloth and ceilings ------------------------------------------------------


@pytest.mark.reference("D26", "G9", of="takeoff")
@pytest.mark.parametrize(
    ("cycles", "use"),
    [
        (9_999, "decorative"),
        (10_000, "light domestic"),
        (15_000, "general domestic"),
        (25_000, "heavy domestic"),
        (30_000, "general contract"),
        (40_000, "severe contract"),
    ],
)
def test_martindale_bands(cycles: float, use: str) -> None:
    """Trade convention (values D26; G9: bands differ by source)."""
    assert abrasion_use(cycles, test="Martindale") == use


@pytest.mark.reference("D28", of="takeoff")
def test_wyzenbeek_is_never_read_as_martindale() -> None:
    """ASTM D4157 usage (values D28): 15 000 heavy residential, 30 000 heavy duty; there is no
    conversion between the two tests."""
    assert abrasion_use(15_000, test="Wyzenbeek") == "heavy residential"
    assert abrasion_use(30_000, test="Wyzenbeek") == "heavy duty"
    assert abrasion_use(15_000, test="Martindale") != abrasion_use(15_000, test="Wyzenbeek")
    for one, other in (("Martindale", "Wyzenbeek"), ("Wyzenbeek", "Martindale")):
        with pytest.raises(InputError, match="do not convert"):
            meets_abrasion(100_000, test=one, at_least=1, asked_in=other)  # type: ignore[arg-type]


@pytest.mark.reference("D29", of="takeoff")
def test_what_is_asked_for_high_traffic_lies_in_the_hardest_bands() -> None:
    """ACT Voluntary Performance Guidelines (values D29), from memory: high traffic 30 000
    Wyzenbeek or 40 000 Martindale, low traffic 15 000 or 20 000."""
    assert abrasion_use(30_000, test="Wyzenbeek") == "heavy duty"
    assert abrasion_use(40_000, test="Martindale") == "severe contract"
    assert abrasion_use(15_000, test="Wyzenbeek") != "heavy duty"
    assert abrasion_use(20_000, test="Martindale") == "general domestic"


@pytest.mark.reference("D30", of="takeoff")
@pytest.mark.parametrize(
    ("grade", "word"),
    [(5, "none"), (4, "slight"), (3, "moderate"), (2, "distinct"), (1, "dense")],
)
def test_pilling_grades(grade: float, word: str) -> None:
    """ISO 12945-2, grades in words (values D30), from memory."""
    cloth = Finish(name="wool", kind="cloth", colours=(Colour(lrv=5.0),), pilling=grade)
    assert f"Pilling {grade:g} of 5, {word}" in seat_notes(cloth)[0]


@pytest.mark.reference("T08", "D31", of="takeoff")
def test_drapery_behind_large_glazing_is_noted() -> None:
    """Common practice, no source (values T08): polyester outlasts natural fibre and washes.
    ISO 105-B02, maker's note, second-hand (values D31): a step of 1 to 8 lasts about twice as
    long as the one below, from 6 h at step 1 to 48 h at step 4."""
    assert 6 * 2 ** (4 - 1) == 48
    cloth = Finish(name="c", kind="cloth", colours=(Colour(lrv=5.0),), light_fastness=4.0)
    sun = window_notes(cloth, shrinkage=0.0)[0]
    assert "4 of 8 (ISO 105-B02)" in sun
    assert "twice as long" in sun
    assert "polyester outlasts natural fibre and washes" in sun


@pytest.mark.reference("T05", of="takeoff")
def test_ceiling_of_416_square_feet_takes_two_workers_two_to_three_days() -> None:
    """Common practice, no source (values T05): 416 ft², two workers, two to three days;
    69 to 104 ft² a worker-day."""
    work = ceiling_work(416 * FOOT**2, building=Building(year=2015), workers=2)
    assert work.days is not None
    assert work.days == pytest.approx((2.0, 3.0), abs=0.002)
    assert lookup("takeoff.ceiling.rate.low").number / FOOT**2 == pytest.approx(69.3, abs=0.05)
    assert lookup("takeoff.ceiling.rate.high").number / FOOT**2 == pytest.approx(104, abs=0.05)


@pytest.mark.reference("D37", of="takeoff")
def test_ceiling_of_unknown_year_has_no_days_before_its_sample() -> None:
    """EPA-derived pages (values D37): sample and written result before any scraping is
    scheduled or quoted; an unknown year counts as old."""
    for building in (Building(), Building(year=1975), Building(year=1984, sampled="no")):
        work = ceiling_work(20.0, building=building)
        assert not work.allowed
        assert work.days is None
        assert "sample" in " ".join(work.why)
    assert ceiling_work(20.0, building=Building(year=1975, sampled="yes")).allowed


def test_yards_and_gallons_agree_with_pint() -> None:
    """Pint beside our own exact constants."""
    assert run_text((10 * unit.yard).to("metre").magnitude, "US") == "10.00 yd"
    assert volume_text((3 * unit.gallon).to("liter").magnitude, "US") == "3.000 gal"
