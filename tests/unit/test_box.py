"""Furniture in the box, and sizes read from what people write."""

from __future__ import annotations

from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from designkit.errors import InputError, LookupFailed
from designkit.model import Placement
from designkit.plan.box import box, find_in_box, piece_from_box, piece_from_size, read_size
from designkit.plan.pieces import kinds, parts_of, seat_height_of, seats_of, zones_of
from designkit.plan.place import place
from designkit.reference import table


def test_the_box_is_large_and_whole() -> None:
    assert len(box()) >= 80
    assert {one.piece.kind for one in box().values()} <= set(kinds())
    for row in table("pieces"):
        assert row["source"], row["id"]
        assert row["known"] in ("seen", "second-hand", "memory", "computed", "assumption")
    for one in box().values():
        low, high = one.mass
        assert 0 < low < high, one.id
        assert one.piece.mass == pytest.approx((low + high) / 2)


def test_what_is_sat_on_and_what_is_carried_up_says_its_sizes() -> None:
    seats = {"sofa", "daybed", "armchair", "chair", "desk chair", "stool", "high stool", "bench"}
    as_it_is = {"plant", "floor lamp", "table lamp", "mirror", "divider", "object", "upright piano"}
    for one in box().values():
        piece = one.piece
        assert (piece.packed is None) == (piece.kind in as_it_is), one.id
        if piece.kind in seats:
            assert seat_height_of(piece), one.id
        if piece.kind in ("sofa", "armchair") and "armless" not in one.id:
            assert piece.arm_height or one.id == "seat_module", one.id


@pytest.mark.parametrize("id", list(box()))
def test_every_piece_can_be_drawn(id: str) -> None:
    piece = piece_from_box(id)
    parts = parts_of(piece)
    assert max(part.top for part in parts) <= piece.size[2] + 1e-9
    zones_of(piece)
    seats_of(piece)
    if kinds()[piece.kind].mount != "ceiling":
        placed = place(id, piece, Placement(at=(0, 0)))
        x0, y0, x1, y1 = placed.footprint.bounds
        assert x1 - x0 == pytest.approx(piece.size[0], abs=0.002)
        assert y1 - y0 == pytest.approx(piece.size[1], abs=0.002)


def test_no_name_is_of_a_maker() -> None:
    allowed = {"king", "queen", "super", "twin", "full"}  # names of bed sizes, in the trade
    for one in box().values():
        words = one.piece.name.split()
        capitals = [w for w in words if w[:1].isupper() and w not in ("Ø",)]
        assert not capitals, one.id
        assert "®" not in one.piece.name
    assert any(allowed & set(one.piece.name.split()) for one in box().values())


def test_beds_say_their_region() -> None:
    beds = [one for one in find_in_box(kind="bed") if one.region]
    assert {one.region for one in beds} == {
        "continental Europe", "Britain and Ireland", "North America"
    }  # fmt: skip
    ours = find_in_box(kind="bed", region="North America")
    assert {one.region for one in ours} <= {"North America", ""}
    assert len(ours) >= 4
    # a US queen mattress is 60 × 80 in
    assert "1.524 × 2.032" in box()["bed_us_queen"].note


def test_names_that_are_not_there() -> None:
    with pytest.raises(LookupFailed, match="write 'sofa_three'"):
        piece_from_box("sofa_thre")
    with pytest.raises(LookupFailed, match="region of the box"):
        find_in_box(region="the moon")
    with pytest.raises(LookupFailed, match="kind of the box"):
        find_in_box(kind="sofaa")
    assert piece_from_box("sofa for three", finish="grey").finish == "grey"


@pytest.mark.parametrize(
    ("text", "kind", "size"),
    [
        ("220 × 95 × 80 cm", "sofa", (2.2, 0.95, 0.8)),
        ("220x95x80cm", "sofa", (2.2, 0.95, 0.8)),
        ("2.20 m by 0.95 m by 0.80 m", "sofa", (2.2, 0.95, 0.8)),
        ("95 × 220 × 80 cm", "sofa", (2.2, 0.95, 0.8)),
        ("W220 D95 H80 cm", "sofa", (2.2, 0.95, 0.8)),
        ("H80 x W220 x D95 cm", "sofa", (2.2, 0.95, 0.8)),
        ("80h x 220w x 95d cm", "sofa", (2.2, 0.95, 0.8)),
        ("220 wide × 95 deep × 80 high cm", "sofa", (2.2, 0.95, 0.8)),
        ("width 220, depth 95, height 80 cm", "sofa", (2.2, 0.95, 0.8)),
        ("210 x 100 x 60 cm", "wardrobe", (1.0, 0.6, 2.1)),
        ("80 × 200 × 30 cm", "bookcase", (0.8, 0.3, 2.0)),
        ("2.2 m × 95 cm × 80 cm", "sofa", (2.2, 0.95, 0.8)),
        ("Ø 90 × 40 cm", "low table", (0.9, 0.9, 0.4)),
        ("300 × 200 × 1.2 cm", "rug", (3.0, 2.0, 0.012)),
    ],
)
def test_sizes_in_either_order(text: str, kind: str, size: tuple[float, float, float]) -> None:
    assert read_size(text, kind=kind).size == pytest.approx(size)


def test_a_round_size_makes_a_round_piece() -> None:
    piece = piece_from_size("Ø 90 × 40 cm", kind="low table", name="low round table")
    assert piece.shape == "circle"
    assert piece.name == "low round table"
    assert next(part.shape for part in parts_of(piece)) == "circle"


@pytest.mark.parametrize("text", ["220 × 80 × 95 cm", "80 × 95 × 220 cm"])
def test_which_is_the_depth_is_asked_back(text: str) -> None:
    with pytest.raises(InputError, match="say which is the depth, with letters"):
        read_size(text, kind="sofa")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("220 cm × 37 in × 80 cm", "one system of units in one size"),
        ("220 cm × 95 × 80", "a unit on each of the three"),
        ("220 × 95 cm", "width × depth × height with a unit"),
        ("2200 × 950 × 800", "write the unit: 2200 × 950 × 800 mm"),
        ("large", "width × depth × height with a unit"),
        ("", "width × depth × height with a unit"),
        ("W220 W95 H80 cm", "each of W, D and H once"),
        ("22 × 9 × 8 cm", "look at the unit and the kind"),
        ("0 × 95 × 80 cm", "more than 0"),
    ],
)
def test_sizes_that_cannot_be_read(text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        read_size(text, kind="sofa")


def test_an_unknown_kind_names_the_nearest() -> None:
    with pytest.raises(LookupFailed, match="write 'armchair'"):
        read_size("80 × 80 × 80 cm", kind="armchiar")


@given(
    w=st.integers(150, 260), d=st.integers(70, 110), h=st.integers(65, 100),
    order=st.sampled_from(list(permutations("WDH"))),
)  # fmt: skip
def test_letters_decide_in_any_order(w: int, d: int, h: int, order: tuple[str, ...]) -> None:
    by = {"W": w, "D": d, "H": h}
    text = " × ".join(f"{letter}{by[letter]}" for letter in order) + " cm"
    assert read_size(text, kind="sofa").size == pytest.approx((w / 100, d / 100, h / 100))


@given(w=st.integers(150, 260), d=st.integers(70, 110), h=st.integers(65, 100))
def test_without_letters_it_is_right_or_asked(w: int, d: int, h: int) -> None:
    """Written in the usual order it is never read as another size, only asked back."""
    text = f"{w} × {d} × {h} cm"
    asked = ""
    try:
        size = read_size(text, kind="sofa").size
    except InputError as error:
        asked, size = error.mend, (w / 100, d / 100, h / 100)
    assert size == pytest.approx((w / 100, d / 100, h / 100))
    assert not asked or "which is the depth" in asked


def test_the_sentence_says_how_it_was_read() -> None:
    assert read_size("95 × 220 × 80 cm", kind="sofa").said.endswith(
        "written as depth, width, height."
    )
    assert "7'-2\" wide" in read_size("86 × 37 × 31 in", kind="sofa", units="ft").said
