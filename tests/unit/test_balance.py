"""Shares, their ±, bands and swaps, against sums worked out by hand."""

from __future__ import annotations

import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from designkit.balance import Weight, area_weights, band_of, gap, judge, shares
from designkit.errors import InputError, LookupFailed
from designkit.model import Colour, Finish, Home, Layout, Opening, Part, Piece, Placement, Room
from designkit.palette.finishes import FinishValue, Limits, resolve_all
from designkit.scene.surfaces import surfaces


def lab(lightness: float, within: float = 0.0, share: float = 1.0, a: float = 0.0) -> Colour:
    return Colour(lab=(lightness, a, 0.0), within=within, share=share)


FINISHES = {
    "white": Finish(name="white", colours=(lab(93.0),)),
    "lacquer": Finish(name="lacquer", kind="lacquer", sheen="gloss", colours=(lab(17.0),)),
    "wool": Finish(name="black wool", kind="cloth", colours=(lab(20.0),)),
    "linen": Finish(name="linen", kind="cloth", colours=(lab(86.0),)),
    "oak": Finish(name="oak", kind="timber", warm=True, colours=(lab(62.0, a=10.0),)),
    "navy": Finish(name="navy", kind="cloth", colours=(lab(20.0, a=25.0),)),
    "charcoal": Finish(name="charcoal", kind="cloth", colours=(lab(26.0, within=2.0),)),
    "stripe": Finish(
        name="stripe",
        kind="cloth",
        patterned=True,
        colours=(lab(19.0, share=0.3), lab(88.0, share=0.7)),
    ),
}
VALUES = resolve_all(FINISHES)


def weights(**by_finish: float) -> list[Weight]:
    return [Weight(owner=f"the {f}", part="", finish=f, weight=w) for f, w in by_finish.items()]


def test_shares_are_sums() -> None:
    found = shares(weights(white=60, lacquer=10, oak=20, stripe=10), finishes=VALUES)
    assert found.total == 100
    assert found.shares["black"] == pytest.approx(0.13)
    assert found.shares["dark"] == pytest.approx(0.13)
    assert found.shares["mid"] == pytest.approx(0.20)
    assert found.shares["light"] == pytest.approx(0.67)
    assert found.shares["warm"] == pytest.approx(0.20)
    assert found.shares["patterned"] == pytest.approx(0.10)
    assert found.materials["paint"] == pytest.approx(0.60)
    assert found.sheens["gloss"] == pytest.approx(0.10)


def test_a_dark_colour_with_a_hue_is_dark_and_not_black() -> None:
    found = shares(weights(white=90, navy=10), finishes=VALUES)
    assert found.shares["black"] == 0
    assert found.shares["dark"] == pytest.approx(0.1)
    wide = shares(weights(white=90, navy=10), finishes=VALUES, limits=Limits(black_chroma=30.0))
    assert wide.shares["black"] == pytest.approx(0.1)
    assert "C* 30 or less" in wide.definitions


def test_contributions_add_up_and_name_owners() -> None:
    chairs = [
        Weight(owner=f"t.front{n}", item="chair", part="seat", finish="lacquer", weight=2.0)
        for n in (1, 2)
    ]
    found = shares([*weights(white=90, wool=6), *chairs], finishes=VALUES)
    black = found.contributions["black"]
    assert [(c.item, c.owners) for c in black] == [
        ("the wool", ("the wool",)),
        ("chair", ("t.front1", "t.front2")),
    ]
    assert sum(c.share for c in black) == pytest.approx(found.shares["black"])
    assert black[1].finishes == ("lacquer",)
    assert [c.item for c in found.reflecting] == ["chair"]


def test_a_finish_near_the_limit_makes_the_verdict_wait() -> None:
    # Charcoal, L* 26 ± 2, is black or not: 4 % to 14 % black.
    found = shares(weights(white=86, lacquer=4, charcoal=10), finishes=VALUES)
    assert found.shares["black"] == pytest.approx(0.14)
    assert found.low["black"] == pytest.approx(0.04)
    assert found.high["black"] == pytest.approx(0.14)
    assert ("charcoal", "black", pytest.approx(0.10)) in found.undecided
    waits = judge(found, band=(0.05, 0.15))
    assert waits.verdict == "measure first"
    assert waits.mend == "measure charcoal first"
    assert "Black: L* 27 or less" in waits.why
    assert judge(found, band=(0.04, 0.15)).verdict == "passes"
    above = judge(found, band=(0.01, 0.03))
    assert above.verdict == "fails"
    assert "above the band" in above.why
    assert judge(found, band=(0.02, 0.10)).verdict == "measure first"


def test_sensitivity_moves_one_limit_at_a_time() -> None:
    found = shares(weights(white=80, lacquer=10, charcoal=10), finishes=VALUES)
    rows = {(s.limit, s.at): s.share for s in found.sensitivity}
    assert rows["black: L* up to", 25.0] == pytest.approx(0.1)
    assert rows["black: L* up to", 29.0] == pytest.approx(0.2)
    assert rows["light: L* over", 75.0] == pytest.approx(0.8)


def test_weight_without_a_finish_is_named_and_kept_out() -> None:
    bare = [Weight(owner="shelf", part="", finish="", weight=20.0)]
    found = shares([*weights(white=70, lacquer=10), *bare], finishes=VALUES)
    assert found.total == 80
    assert found.shares["black"] == pytest.approx(1 / 8)
    assert found.unknown_share == pytest.approx(0.2)
    assert [c.item for c in found.unknown] == ["shelf"]
    waits = judge(found, band=(0.05, 0.15))
    assert waits.verdict == "measure first"
    assert "shelf" in waits.mend


def test_seen_lightness_takes_the_place_of_the_finish() -> None:
    lit = [dataclasses.replace(w, seen=30.0) for w in weights(white=50)]
    found = shares([*lit, *weights(oak=50)], finishes=VALUES, by="lit view")
    assert found.shares["dark"] == pytest.approx(0.5)
    assert found.shares["black"] == 0
    assert "Window glass" not in found.definitions


def test_bare_glass_after_dark_is_black() -> None:
    room = Room(
        name="R",
        outline=((0, 0), (4, 0), (4, 5), (0, 5)),
        height=2.5,
        floor="oak",
        ceiling="white",
        wall="white",
    )
    window = Opening(
        room="r", wall=0, offset=1, width=2, sill=0.0, head=2.1, kind="window", frame="white"
    )
    home = Home(name="h", rooms={"r": room}, openings={"w": window}, finishes=FINISHES)
    seen = surfaces(home, Layout(name="A"))
    glass = 1.88 * 1.98
    by_day = shares(area_weights(seen), finishes=VALUES)
    assert by_day.total == pytest.approx(85 - glass)
    assert by_day.shares["black"] == 0
    assert "Window glass by day" in by_day.definitions
    at_night = shares(area_weights(seen, night=True), finishes=VALUES)
    assert at_night.total == pytest.approx(85)
    assert at_night.shares["black"] == pytest.approx(glass / 85)
    assert at_night.contributions["black"][0].item == "w.glass"
    assert "Bare glass after dark counts as L* 10" in at_night.definitions


def test_a_room_with_one_black_box_by_hand() -> None:
    room = Room(
        name="R",
        outline=((0, 0), (4, 0), (4, 5), (0, 5)),
        height=2.5,
        floor="oak",
        ceiling="white",
        wall="white",
    )
    part = Part(name="body", size=(1.0, 1.0), top=0.8)
    piece = Piece(name="b", kind="ottoman", size=(1, 1, 0.8), finish="lacquer", parts=(part,))
    home = Home(name="h", rooms={"r": room}, pieces={"b": piece}, finishes=FINISHES)
    plan = Layout(name="A", pieces={"b": Placement(at=(2.0, 2.5))})
    found = shares(area_weights(surfaces(home, plan)), finishes=VALUES)
    # 1 m² top and 3.2 m² sides of 19 + 20 + 45 + 4.2 m².
    assert found.total == pytest.approx(88.2)
    assert found.shares["black"] == pytest.approx(4.2 / 88.2)
    assert found.shares["warm"] == pytest.approx(19 / 88.2)
    assert "4.20 of 88.20 m²" in found.why


def test_gap_says_how_much_and_which_swaps() -> None:
    rows = weights(white=76, lacquer=12, wool=8, linen=4)
    found = gap(rows, finishes=VALUES, band=(0.05, 0.15))
    assert found.share == pytest.approx(0.20)
    assert found.weight == pytest.approx(-5.0)
    assert "5.0 m² less" in found.why
    first = found.swaps[0]
    # Eight per cent of wool has to go: the least area that meets the band.
    assert first.inside
    assert first.changes[0].old == "wool"
    assert first.weight == 8
    new = {s.changes[0].new for s in found.swaps if s.changes[0].old == "wool"}
    assert new <= {"linen", "navy", "stripe"}
    for swap in found.swaps:
        after = _swapped(rows, swap.changes)
        assert shares(after, finishes=VALUES).shares["black"] == pytest.approx(swap.share)


def _swapped(rows: list[Weight], changes: tuple[object, ...]) -> list[Weight]:
    for change in changes:
        rows = [
            dataclasses.replace(w, finish=change.new)  # type: ignore[attr-defined]
            if (w.item or w.owner) == change.item  # type: ignore[attr-defined]
            and w.finish == change.old  # type: ignore[attr-defined]
            and (not change.part or w.part == change.part)  # type: ignore[attr-defined]
            else w
            for w in rows
        ]
    return rows


def test_gap_pairs_swaps_where_one_is_not_enough() -> None:
    rows = weights(white=60, lacquer=20, wool=20)
    found = gap(rows, finishes=VALUES, band=(0.0, 0.05))
    assert len(found.swaps[0].changes) == 2
    assert found.swaps[0].inside
    assert {c.item for c in found.swaps[0].changes} == {"the lacquer", "the wool"}
    alone = gap(rows, finishes=VALUES, band=(0.0, 0.05), pairs=False)
    assert not alone.swaps[0].inside
    kept = gap(rows, finishes=VALUES, band=(0.0, 0.05), keep=["the wool"])
    assert all(c.item != "the wool" for s in kept.swaps for c in s.changes)


def test_gap_can_change_one_part_of_a_piece() -> None:
    table = [
        Weight(owner="table", part="top", finish="lacquer", weight=6.0),
        Weight(owner="table", part="legs", finish="lacquer", weight=4.0),
    ]
    found = gap([*weights(white=90), *table], finishes=VALUES, band=(0.03, 0.05))
    assert found.swaps[0].inside
    assert found.swaps[0].changes[0].part == "top"
    assert found.swaps[0].share == pytest.approx(0.04)


def test_gap_below_a_band_adds_black() -> None:
    rows = weights(white=90, linen=10)
    found = gap(rows, finishes=VALUES, band=(0.05, 0.15))
    assert found.weight == pytest.approx(5.0)
    assert found.swaps[0].inside
    assert found.swaps[0].changes[0].new in ("wool", "charcoal")


def test_gap_inside_the_band_has_nothing_to_say() -> None:
    found = gap(weights(white=90, wool=10), finishes=VALUES, band=(0.05, 0.15))
    assert found.swaps == ()
    assert "inside the band already" in found.why


def test_walls_are_not_covered_in_cloth_unless_asked() -> None:
    rows = [Weight(owner="r", item="r.walls", part="wall", finish="white", weight=50, kind="wall")]
    rows += weights(oak=50)
    found = gap(rows, finishes=VALUES, band=(0.4, 0.6))
    assert {c.new for s in found.swaps for c in s.changes} <= {"lacquer"}
    asked = gap(
        rows, finishes=VALUES, band=(0.4, 0.6), candidates={"r.walls": ["wool"], "the oak": []}
    )
    assert {c.new for s in asked.swaps for c in s.changes} == {"wool"}


def test_bad_weights_and_bands_are_named() -> None:
    with pytest.raises(InputError, match="weight of the white,  = nan"):
        shares(weights(white=math.nan), finishes=VALUES)
    with pytest.raises(InputError, match="weight of the white,  = -1"):
        shares(weights(white=-1.0), finishes=VALUES)
    with pytest.raises(InputError, match="nothing with a known finish"):
        shares([], finishes=VALUES)
    with pytest.raises(LookupFailed, match=r"finish = whit; .*did you mean white"):
        shares(weights(whit=1.0), finishes=VALUES)
    found = shares(weights(white=1.0), finishes=VALUES)
    with pytest.raises(InputError, match=r"band = \(0.2, 0.1\)"):
        judge(found, band=(0.2, 0.1))
    with pytest.raises(InputError, match="class = grey; allowed: black, dark"):
        judge(found, band=(0.1, 0.2), of="grey")


def test_bands_are_a_judgement_that_a_project_may_change() -> None:
    assert band_of("view") == ((0.10, 0.20), "palette.band.view.high")
    assert band_of("lit view") is None
    own = band_of("area", overrides={"palette.band.area.high": 0.25})
    assert own == ((0.05, 0.25), "palette.band.area.high")


names = st.sampled_from(sorted(FINISHES))


@given(st.lists(st.tuples(names, st.floats(0.01, 100.0)), min_size=1, max_size=12))
def test_dark_mid_and_light_make_the_whole(rows: list[tuple[str, float]]) -> None:
    found = shares(
        [Weight(owner=f"o{n}", part="", finish=f, weight=w) for n, (f, w) in enumerate(rows)],
        finishes=VALUES,
    )
    s = found.shares
    assert s["dark"] + s["mid"] + s["light"] == pytest.approx(1.0)
    assert s["black"] <= s["dark"] + 1e-12
    for name, share in s.items():
        assert found.low[name] - 1e-12 <= share <= found.high[name] + 1e-12
        assert sum(c.share for c in found.contributions[name]) == pytest.approx(share, abs=1e-9)


def test_a_value_keeps_the_limits_it_was_read_with() -> None:
    wide = Limits(black_lightness=34.0)
    values: dict[str, FinishValue] = resolve_all(FINISHES, limits=wide)
    found = gap(weights(white=80, charcoal=20), finishes=values, band=(0.0, 0.1), limits=Limits())
    assert found.share == pytest.approx(0.2)
    assert found.swaps[0].share == pytest.approx(0.0)
