"""Packing, cut lists and rugs: repeats, faults, joined panels and what is refused."""

from __future__ import annotations

import pytest

from designkit.errors import InputError
from designkit.model import Piece
from designkit.takeoff.packing import Rectangle, pack, shortest_length
from designkit.takeoff.rugs import StockRug, door_clears, rug_size, sewn_rugs
from designkit.takeoff.upholstery import CutPanel, cut_list, upholstery

TOP = CutPanel(letter="a", name="top", across=0.64, along=0.66, count=3, on_repeat=True)
FRONT = CutPanel(letter="b", name="front", across=0.64, along=0.18, count=3, behind="a")


def test_nothing_to_cut_takes_no_cloth() -> None:
    assert pack([], width=1370).length == 0
    assert shortest_length([], width=1370) == 0


def test_pieces_on_the_repeat_begin_on_one_and_sit_on_a_motif() -> None:
    pieces = [
        Rectangle(id=str(i), width=500, length=450, on_repeat=True, centred=True) for i in range(4)
    ]
    plan = pack(pieces, width=1370, repeat_along=320, repeat_across=650)
    for one in plan.laid:
        assert one.y % 320 == 0
        assert (one.x + 250) % 650 == 325
    # Two side by side, the second pair on the second repeat after the first.
    assert plan.length == 640 + 450


def test_no_piece_touches_a_fault() -> None:
    pieces = [Rectangle(id=str(i), width=1300, length=400) for i in range(3)]
    plan = pack(pieces, width=1370, faults=[(500, 520), (100, 90)])
    for one in plan.laid:
        assert one.end <= 500 or one.y >= 520
    assert plan.length == 520 + 800


def test_same_call_gives_the_same_plan() -> None:
    pieces = [Rectangle(id=str(i), width=300 + 37 * i, length=900 - 31 * i) for i in range(12)]
    one, two = pack(pieces, width=1370), pack(pieces, width=1370)
    assert [(a.rectangle.id, a.x, a.y) for a in one.laid] == [
        (b.rectangle.id, b.x, b.y) for b in two.laid
    ]


def test_packing_refuses_what_cannot_be_cut() -> None:
    piece = Rectangle(id="a", width=500, length=500)
    with pytest.raises(InputError, match=r"cloth width = 0 mm"):
        pack([piece], width=0)
    with pytest.raises(InputError, match=r"piece a = 500 mm; allowed: at most the cloth, 400 mm"):
        pack([piece], width=400)
    with pytest.raises(InputError, match="each id once"):
        pack([piece, piece], width=1370)
    with pytest.raises(InputError, match="> 0 mm"):
        pack([Rectangle(id="a", width=0, length=10)], width=1370)
    with pytest.raises(InputError, match="repeat"):
        pack([piece], width=1370, repeat_along=-1)
    with pytest.raises(InputError, match="motif in its middle"):
        pack([Rectangle(id="a", width=900, length=10, centred=True)], width=1000, repeat_across=650)


def test_front_lies_directly_behind_its_top() -> None:
    made = upholstery([TOP, FRONT], cloth_width=1.37, repeat_along=0.32)
    at = {one.id: one for one in made.laid}
    assert set(at) == {"a1", "a2", "a3", "b1", "b2", "b3"}
    for number in "123":
        top, front = at[f"a{number}"], at[f"b{number}"]
        assert front.x == pytest.approx(top.x)
        assert front.y == pytest.approx(top.y + top.length)
        assert top.y / 0.32 == pytest.approx(round(top.y / 0.32))


def test_railroaded_front_lies_beside_its_top() -> None:
    made = upholstery([TOP, FRONT], cloth_width=1.37, railroaded=True)
    at = {one.id: one for one in made.laid}
    assert at["a1"].width == pytest.approx(0.66)
    assert at["b1"].x == pytest.approx(at["a1"].x + 0.66)
    assert at["b1"].y == pytest.approx(at["a1"].y)


def test_order_is_a_sum_of_four_lines() -> None:
    made = upholstery([TOP, FRONT], cloth_width=1.37, repeat_along=0.32, spare_repeats=1)
    assert made.repeats / 0.32 == pytest.approx(round(made.repeats / 0.32))
    assert made.cut <= made.repeats < made.cut + 0.32
    assert made.faults == pytest.approx(made.repeats + 0.32)
    assert made.faults <= made.order < made.faults + 0.1
    assert 0 < made.off_cut < 1
    plain = upholstery([TOP, FRONT], cloth_width=1.37)
    assert plain.cut == plain.repeats == plain.faults


def test_wide_panel_is_matched_along_only_and_says_so() -> None:
    arm = CutPanel(letter="g", name="inside arm", across=0.9, along=0.5, on_repeat=True)
    made = upholstery([arm], cloth_width=1.37, repeat_along=0.32, repeat_across=0.65)
    assert "matched along the roll only" in " ".join(made.why)


def test_panel_wider_than_the_cloth_is_named() -> None:
    back = CutPanel(letter="d", name="outside back", across=2.2, along=0.8)
    with pytest.raises(InputError, match=r"piece d = 2200 mm.*turn the cloth"):
        upholstery([back], cloth_width=1.37)
    assert upholstery([back], cloth_width=1.37, railroaded=True).cut == pytest.approx(2.2)


def test_cut_list_faults_are_named() -> None:
    with pytest.raises(InputError, match="cut list = 0"):
        upholstery([], cloth_width=1.37)
    with pytest.raises(InputError, match="letter of a panel"):
        upholstery([TOP, TOP], cloth_width=1.37)
    with pytest.raises(InputError, match="b continues = z"):
        upholstery(
            [TOP, CutPanel(letter="b", name="f", across=0.6, along=0.2, count=3, behind="z")],
            cloth_width=1.37,
        )
    with pytest.raises(InputError, match="count of a = 0"):
        upholstery([CutPanel(letter="a", name="x", across=1, along=1, count=0)], cloth_width=1.37)
    with pytest.raises(InputError, match="cloth width"):
        upholstery([TOP], cloth_width=0.0)
    with pytest.raises(InputError, match="kind of bed = bed"):
        cut_list(Piece(name="bed", kind="bed", size=(1.6, 2.0, 0.4)))
    with pytest.raises(InputError, match="size of sofa"):
        cut_list(Piece(name="sofa", kind="sofa", size=(0.3, 0.9, 0.8)))
    with pytest.raises(InputError, match="ottoman, height"):
        cut_list(Piece(name="ottoman", kind="ottoman", size=(0.6, 0.6, 0.1)))


def test_cut_list_grows_with_the_seats() -> None:
    sofa = Piece(name="sofa", kind="sofa", size=(2.2, 0.95, 0.8))
    three = {p.letter: p for p in cut_list(sofa)}
    two = {p.letter: p for p in cut_list(sofa, seats=2)}
    assert (three["a"].count, two["a"].count) == (3, 2)
    assert two["a"].across > three["a"].across
    assert three["b"].behind == "a"
    (seat,) = cut_list(Piece(name="chair", kind="dining chair", size=(0.46, 0.52, 0.8)))
    assert seat.name == "slip seat"


def test_rug_that_does_not_fit_says_so() -> None:
    made = rug_size((2.4, 1.2), room=(3.0, 2.6), use="dining")
    assert not made.fits
    assert "too small for both" in made.why[-1]
    with pytest.raises(InputError, match="use = hall"):
        rug_size((1, 1), room=(3, 3), use="hall")  # type: ignore[arg-type]
    with pytest.raises(InputError, match="size of the room"):
        rug_size((1, 1), room=(0, 3))


def test_sewn_rugs_cover_the_size_and_waste_no_panel() -> None:
    stock = [
        StockRug(name="60 × 230", width=0.6, length=2.3),
        StockRug(name="170 × 240", width=1.7, length=2.4),
    ]
    ways = sewn_rugs(3.0, 2.3, stock=stock)
    for way in ways:
        across = sum(p.width for p in way.panels) - 0.02 * way.seams
        assert across == pytest.approx(way.width)
        assert min(way.width, way.length) >= 2.3 - 1e-9
        assert max(way.width, way.length) >= 3.0 - 1e-9
        assert 0 <= way.waste < 1
    assert ways[0].area == min(w.area for w in ways)


def test_sewn_rug_faults_are_named() -> None:
    small = StockRug(name="60 × 90", width=0.6, length=0.9)
    with pytest.raises(InputError, match="size of the rug"):
        sewn_rugs(3.0, 2.3, stock=[small])
    with pytest.raises(InputError, match="stock rugs"):
        sewn_rugs(3.0, 2.3, stock=[])
    with pytest.raises(InputError, match="panels = 9"):
        sewn_rugs(3.0, 2.3, stock=[small], most_panels=9)
    with pytest.raises(InputError, match="width of none"):
        sewn_rugs(3.0, 2.3, stock=[StockRug(name="none", width=0, length=1)])


def test_door_clears_rug_and_pad() -> None:
    assert door_clears(0.020, rug=0.010, pad=0.005) == (True, pytest.approx(0.005))
    assert not door_clears(0.017, rug=0.010, pad=0.005)[0]
    with pytest.raises(InputError, match="thickness, pad"):
        door_clears(0.02, rug=0.01, pad=-0.01)
