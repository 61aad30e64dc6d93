"""Bodies, zones and seats made from kind and size."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from designkit.errors import InputError, LookupFailed
from designkit.model import Chairs, Part, Piece, Placement, Zone
from designkit.plan.pieces import (
    climb_height,
    is_climbable,
    kinds,
    parts_of,
    seat_height_of,
    seats_of,
    zones_of,
)
from designkit.plan.place import place
from designkit.reference import lookup


@pytest.mark.parametrize("kind", sorted(kinds()))
def test_every_kind_has_a_body_of_its_own_size(kind: str) -> None:
    piece = Piece(name=kind, kind=kind, size=kinds()[kind].size, mount="floor")
    thing = place("x", piece, Placement(at=(0.0, 0.0), base=0.0))
    w, d, h = piece.size
    x0, y0, x1, y1 = thing.footprint.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((w, d), abs=1e-9)
    assert (x0 + x1, y0 + y1) == pytest.approx((0.0, 0.0), abs=1e-9)
    assert thing.top == pytest.approx(h)
    assert min(part.base for part in thing.parts) == pytest.approx(0.0)
    assert all(part.top > part.base >= 0.0 for part in thing.parts)


@pytest.mark.parametrize("kind", sorted(kinds()))
def test_parts_of_a_body_do_not_run_into_each_other(kind: str) -> None:
    piece = Piece(
        name=kind, kind=kind, size=kinds()[kind].size, finishes={"border": "black"}, arm_height=None
    )
    thing = place("x", piece, Placement(at=(0.0, 0.0), base=0.0))
    for a, b in itertools.combinations(thing.parts, 2):
        if min(a.top, b.top) - max(a.base, b.base) > 1e-9:
            assert a.footprint.intersection(b.footprint).area < 1e-9, (a.name, b.name)


@given(
    kind=st.sampled_from(sorted(kinds())),
    w=st.floats(0.1, 4.0),
    d=st.floats(0.02, 3.0),
    h=st.floats(0.005, 3.0),
    shape=st.sampled_from(["rectangle", "circle"]),
)
@example(kind="console", w=1.0, d=0.0625, h=1.0, shape="circle")
@example(kind="console", w=1.0, d=1.0, h=0.015625, shape="circle")
@example(kind="console", w=1.0, d=1.0, h=0.03125, shape="circle")
@example(kind="armchair", w=1.0, d=1.0, h=0.4375, shape="rectangle")
@example(kind="chair", w=1.0, d=1.0, h=0.47, shape="rectangle")
@example(kind="bed", w=1.0, d=1.0, h=0.52, shape="rectangle")
@example(kind="floor lamp", w=0.1, d=0.02, h=1.5, shape="circle")
def test_any_size_gives_a_body_within_it(
    kind: str, w: float, d: float, h: float, shape: str
) -> None:
    piece = Piece(name=kind, kind=kind, size=(w, d, h), shape=shape)  # type: ignore[arg-type]
    parts = parts_of(piece)
    assert max(part.top for part in parts) == pytest.approx(h)
    for part in parts:
        assert part.top > part.base >= -1e-12
        wide = part.size if part.shape != "ring" else (part.size[0], part.size[0])
        assert abs(part.at[0]) + wide[0] / 2 <= w / 2 + 1e-9
        assert part.shape == "ring" or abs(part.at[1]) + wide[1] / 2 <= d / 2 + 1e-9


def test_a_sofa_has_seat_back_arms_and_its_finishes() -> None:
    sofa = Piece(
        name="sofa",
        kind="sofa",
        size=(2.2, 0.95, 0.8),
        seat_height=0.43,
        arm_height=0.6,
        finish="grey wool",
        finishes={"legs": "oak"},
    )
    parts = {part.name: part for part in parts_of(sofa)}
    assert set(parts) == {"seat", "back", "arms", "legs"}
    assert parts["seat"].top == 0.43
    assert parts["arms"].top == 0.6
    assert parts["back"].at[1] > 0  # the front is at -y
    assert parts["legs"].finish == "oak"
    assert parts["seat"].finish == "grey wool"


def test_a_sofa_without_arms_seats_over_its_whole_width() -> None:
    sofa = Piece(name="sofa", kind="sofa", size=(1.8, 0.9, 0.8), arm_height=0.0)
    assert "arms" not in {part.name for part in parts_of(sofa)}
    assert [round(seat.at[0], 3) for seat in seats_of(sofa)] == [-0.6, 0.0, 0.6]


def test_knees_fit_under_a_dining_table() -> None:
    table = Piece(name="table", kind="dining table", size=(1.8, 0.9, 0.74))
    parts = parts_of(table)
    assert min(p.base for p in parts if p.base > 0.3) == pytest.approx(0.64)  # rule apron
    legs = [p for p in parts if p.name == "legs"]
    assert len(legs) == 4
    assert all(abs(leg.at[0]) > 0.8 for leg in legs)  # they stand at the corners


def test_a_round_table_stands_on_a_middle_foot() -> None:
    table = Piece(name="table", kind="dining table", size=(1.2, 1.2, 0.74), shape="circle")
    assert {part.shape for part in parts_of(table)} == {"circle"}


def test_a_rug_shows_its_border_only_where_it_has_a_finish() -> None:
    plain = Piece(name="rug", kind="rug", size=(2.0, 3.0, 0.01))
    assert [part.name for part in parts_of(plain)] == ["field"]
    edged = Piece(name="rug", kind="rug", size=(2.0, 3.0, 0.01), finishes={"border": "black"})
    parts = parts_of(edged)
    assert [part.name for part in parts].count("border") == 4
    assert sum(p.size[0] * p.size[1] for p in parts) == pytest.approx(6.0)
    round_rug = Piece(
        name="rug", kind="rug", size=(2.0, 2.0, 0.01), shape="circle", finishes={"border": "b"}
    )
    assert [part.shape for part in parts_of(round_rug)] == ["circle", "ring"]


def test_written_parts_zones_and_seats_are_kept() -> None:
    part = Part(name="slab", size=(1.0, 0.5), top=0.4)
    zone = Zone(kind="before the slab", side="back", depth=0.5)
    piece = Piece(
        name="slab", kind="bench", size=(1.0, 0.5, 0.4), parts=(part,), zones=(zone,), seats=()
    )
    assert [p.name for p in parts_of(piece)] == ["slab"]
    assert zones_of(piece) == (zone,)
    assert seats_of(piece) == ()


def test_zone_depths_are_rules_and_give_way_to_the_project() -> None:
    chest = Piece(name="chest", kind="chest of drawers", size=(1.0, 0.48, 0.85))
    assert [zone.depth for zone in zones_of(chest)] == [0.9]
    own = {"plan.clear.drawers": 1.1}
    assert [zone.depth for zone in zones_of(chest, overrides=own)] == [1.1]
    for kind in kinds():
        for zone in zones_of(Piece(name=kind, kind=kind, size=(1.0, 1.0, 1.0))):
            assert lookup(zone.rule).unit == "m"


def test_heights_of_seats_and_of_climbing() -> None:
    stool = Piece(name="stool", kind="stool", size=(0.4, 0.4, 0.46))
    assert seat_height_of(stool) == 0.46
    bed = Piece(name="bed", kind="bed", size=(1.6, 2.0, 1.1), seat_height=0.55)
    assert climb_height(bed) == 0.55
    assert climb_height(Piece(name="chest", kind="chest of drawers", size=(1, 0.5, 0.85))) == 0.85
    assert seat_height_of(Piece(name="rug", kind="rug", size=(2, 3, 0.01))) is None
    assert is_climbable(bed)
    assert not is_climbable(Piece(name="b", kind="bed", size=(1.6, 2, 1), climbable=False))


def test_an_unknown_kind_names_the_nearest() -> None:
    with pytest.raises(LookupFailed, match="write 'armchair'"):
        parts_of(Piece(name="x", kind="arm chair", size=(1, 1, 1)))


@pytest.mark.parametrize(
    ("size", "message"),
    [
        ((2200.0, 950.0, 800.0), r"width of x = 2200.0; allowed: .*at most 20"),
        ((float("nan"), 1.0, 1.0), "width of x = nan"),
        ((1.0, 0.0, 1.0), "depth of x = 0.0"),
        ((1.0, 1.0, "0.8"), "height of x = 0.8; allowed: a number"),
    ],
)
def test_sizes_that_are_not_metres_are_refused(size: tuple[float, ...], message: str) -> None:
    with pytest.raises(InputError, match=message):
        parts_of(Piece(name="x", kind="sofa", size=size))  # type: ignore[arg-type]


def test_a_seat_higher_than_its_piece_is_refused() -> None:
    with pytest.raises(InputError, match="seat height of x"):
        parts_of(Piece(name="x", kind="chair", size=(0.5, 0.5, 0.8), seat_height=0.9))


@pytest.mark.parametrize(
    ("part", "message"),
    [
        (Part(name="p", size=(1.0, 1.0), base=0.5, top=0.5), "part p of x"),
        (Part(name="p", size=(0.0, 1.0), top=0.5), "size of part p of x"),
        (Part(name="p", shape="ring", size=(0.5, 0.6), top=0.5), "size of part p of x"),
        (Part(name="p", size=(1.0, 1.0), at=(float("inf"), 0.0), top=0.5), "part p of x"),
    ],
)
def test_parts_that_are_no_bodies_are_refused(part: Part, message: str) -> None:
    with pytest.raises(InputError, match=message):
        parts_of(Piece(name="x", kind="bench", size=(1, 1, 1), parts=(part,)))


def test_chairs_in_use_are_zones_of_their_table() -> None:
    table = Piece(
        name="t", kind="dining table", size=(1.8, 0.9, 0.74), chairs=Chairs(piece="c", front=3)
    )
    zones = place("t", table, Placement(at=(0, 0))).zones
    assert [(zone.kind, zone.side, zone.width) for zone in zones] == [
        ("chairs in use", "front", 1.8)
    ]
    assert zones[0].area.bounds == pytest.approx((-0.9, -1.15, 0.9, -0.45))
