"""What a layout says about itself, rule by rule, and that it says it the same way."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from plan_sample import SURE, sample
from shapely import box

from designkit.errors import InputError, LookupFailed
from designkit.model import (
    Brief,
    Chairs,
    Column,
    Finding,
    Fixture,
    Home,
    Known,
    Lamp,
    Layout,
    Opening,
    Person,
    Piece,
    Placement,
    Room,
    Service,
    Wish,
    Zone,
)
from designkit.plan.findings import findings
from designkit.plan.measure import judge, round_up, separation
from designkit.reference import all_rows

CHILD = Brief(people=(Person(role="child", age=3),))


def piece(kind: str, size: tuple[float, float, float], **more: object) -> Piece:
    name = more.pop("name", kind)
    return Piece(name=name, kind=kind, size=size, known=SURE, **more)  # type: ignore[arg-type]


def home(
    pieces: dict[str, Piece],
    at: dict[str, Placement],
    *,
    lamps: dict[str, Lamp] | None = None,
    columns: tuple[Column, ...] = (),
    **more: object,
) -> Home:
    """One room of 6 × 5 m whose dimensions are sure."""
    room = Room(
        name="room",
        outline=((0, 0), (6, 0), (6, 5), (0, 5)),
        height=2.6,
        columns=columns,
        known=SURE,
    )
    layout = Layout(name="A", pieces=at, lamps=lamps or {})
    values = {"name": "h", "rooms": {"room": room}, "pieces": pieces, "layouts": {"a": layout}}
    return Home(**{**values, **more})  # type: ignore[arg-type]


def rows(given: Home, rule: str = "", **more: object) -> list[Finding]:
    found = findings(given, "a", **more)  # type: ignore[arg-type]
    return [row for row in found if row.rule.startswith(rule)]


def only(given: Home, rule: str, **more: object) -> Finding:
    (row,) = rows(given, rule, **more)
    return row


# --- bodies -----------------------------------------------------------------


def test_a_piece_in_the_wall_is_outside_by_how_far_it_reaches() -> None:
    chest = piece("ottoman", (1.0, 0.5, 0.4))
    row = only(home({"o": chest}, {"o": Placement(at=(3.0, 0.21))}), "plan.clear.overlap")
    assert row.what == "Ottoman outside the room"
    assert row.measured == pytest.approx(0.04)
    assert row.verdict == "fails"
    assert row.mend == "Move the ottoman 40 mm into the room.".replace("40 mm", "40\u00a0mm")
    assert not rows(home({"o": chest}, {"o": Placement(at=(3.0, 0.25))}), "plan.clear.overlap")
    far = only(home({"o": chest}, {"o": Placement(at=(9.0, 2.0))}), "plan.clear.overlap")
    assert "outside every room" in far.why
    assert far.measured == pytest.approx(3.5)


def test_a_picture_drawn_on_the_line_of_its_wall_hangs_on_it() -> None:
    picture = piece("picture", (0.9, 0.03, 0.6))
    assert not rows(home({"p": picture}, {"p": Placement(at=(3.0, 5.0))}), "plan.clear.overlap")
    assert rows(home({"p": picture}, {"p": Placement(at=(3.0, 5.1))}), "plan.clear.overlap")


def test_a_corner_reaches_out_of_a_notch() -> None:
    notch = Room(
        name="L", outline=((0, 0), (6, 0), (6, 2), (3, 2), (3, 4), (0, 4)), height=2.6, known=SURE
    )
    given = home(
        {"o": piece("ottoman", (2.0, 1.0, 0.4))},
        {"o": Placement(at=(3.2, 2.3))},
        rooms={"room": notch},
    )
    row = only(given, "plan.clear.overlap")
    # the corner (4.2, 2.8) is 0.8 above the arm of the L
    assert row.measured == pytest.approx(0.8)
    assert row.at == pytest.approx((4.2, 2.8))


PAIRS: list[tuple[str, dict[str, Piece], dict[str, Placement], bool]] = [
    (
        "a rug lies under a sofa",
        {"a": piece("sofa", (2.0, 0.9, 0.8)), "b": piece("rug", (3.0, 2.0, 0.012))},
        {"a": Placement(at=(3, 2)), "b": Placement(at=(3, 2))},
        False,
    ),
    (
        "a chair is pushed under a table",
        {"a": piece("dining table", (1.8, 0.9, 0.74)), "b": piece("stool", (0.4, 0.4, 0.45))},
        {"a": Placement(at=(3, 2)), "b": Placement(at=(3, 1.75))},
        False,
    ),
    (
        "a stool is too high for the table",
        {"a": piece("dining table", (1.8, 0.9, 0.74)), "b": piece("stool", (0.4, 0.4, 0.73))},
        {"a": Placement(at=(3, 2)), "b": Placement(at=(3, 1.75))},
        True,
    ),
    (
        "a lamp stands on a sideboard",
        {"a": piece("sideboard", (1.8, 0.45, 0.6)), "b": piece("table lamp", (0.3, 0.3, 0.5))},
        {"a": Placement(at=(3, 0.225)), "b": Placement(at=(3, 0.225), on="a")},
        False,
    ),
    (
        "a picture hangs above a sofa",
        {"a": piece("sofa", (2.0, 0.9, 0.8)), "b": piece("picture", (0.9, 0.03, 0.6))},
        {"a": Placement(at=(3, 4.5)), "b": Placement(at=(3, 4.985))},
        False,
    ),
    (
        "a picture hangs behind a back that is as high",
        {"a": piece("sofa", (2.0, 0.9, 0.8)), "b": piece("picture", (0.9, 0.03, 0.6))},
        {"a": Placement(at=(3, 4.55)), "b": Placement(at=(3, 4.985), base=0.5)},
        True,
    ),
    (
        "two armchairs run into each other",
        {"a": piece("armchair", (0.8, 0.8, 0.8))},
        {"a": Placement(at=(3, 2)), "b": Placement(at=(3.7, 2), item="a")},
        True,
    ),
    (
        "two armchairs touch",
        {"a": piece("armchair", (0.8, 0.8, 0.8))},
        {"a": Placement(at=(3, 2)), "b": Placement(at=(3.8, 2), item="a")},
        False,
    ),
]


@pytest.mark.parametrize(
    ("pieces", "at", "clash"), [p[1:] for p in PAIRS], ids=[p[0] for p in PAIRS]
)
def test_overlap_is_of_bodies_not_of_outlines(
    pieces: dict[str, Piece], at: dict[str, Placement], clash: bool
) -> None:
    found = rows(home(pieces, at), "plan.clear.overlap")
    assert bool(found) is clash
    assert all(row.verdict == "fails" for row in found)


def test_an_overlap_says_how_far_to_move() -> None:
    chair = piece("armchair", (0.8, 0.8, 0.8))
    row = only(
        home({"a": chair}, {"a": Placement(at=(3, 2)), "b": Placement(at=(3.725, 2), item="a")}),
        "plan.clear.overlap",
    )
    assert row.measured == pytest.approx(0.075)
    assert row.about == ("a", "b")
    assert "80\u00a0mm" in row.mend  # rounded up
    unsure = dataclasses.replace(chair, known=Known(source="guess"))
    doubt = only(
        home({"a": unsure}, {"a": Placement(at=(3, 2)), "b": Placement(at=(3.775, 2), item="a")}),
        "plan.clear.overlap",
    )
    assert doubt.within == pytest.approx(math.hypot(0.05, 0.05))
    assert doubt.verdict == "measure first"


def test_columns_radiators_and_pendants_are_in_the_way_too() -> None:
    given = home(
        {"a": piece("armchair", (0.8, 0.8, 0.8)), "t": piece("dining table", (1.6, 0.8, 0.74))},
        {
            "a": Placement(at=(3, 2)),
            "b": Placement(at=(5.55, 3.0), item="a"),
            "t": Placement(at=(1.5, 4)),
        },
        columns=(Column(at=(3.4, 2.0), size=(0.2, 0.2)),),
        services={
            "rad": Service(room="room", kind="radiator", at=(6, 3), height=0.1, size=(1, 0.1, 0.6))
        },
        fixtures={"f": Fixture(name="pendant", kind="pendant", size=(0.5, 0.5, 0.3))},
        lamps={
            "over": Lamp(fixture="f", at=(1.5, 4.0), over="t"),
            "in": Lamp(fixture="f", at=(3.0, 2.2), base=0.7),
        },
    )
    about = {row.about for row in rows(given, "plan.clear.overlap")}
    assert about == {("a", "in"), ("a", "room.column1"), ("b", "rad")}


def test_a_wardrobe_higher_than_the_room() -> None:
    wardrobe = piece("wardrobe", (1.5, 0.6, 2.65), anchored=True)
    row = only(home({"w": wardrobe}, {"w": Placement(at=(3, 4.7))}), "plan.height.ceiling")
    assert row.measured == pytest.approx(-0.05)
    assert row.verdict == "fails"
    fitted = piece("wardrobe", (1.5, 0.6, 2.6), anchored=True)
    assert not rows(home({"w": fitted}, {"w": Placement(at=(3, 4.7))}), "plan.height.ceiling")


def test_a_lamp_that_reaches_over_the_edge_of_its_top() -> None:
    given = home(
        {"b": piece("side table", (0.4, 0.4, 0.5)), "l": piece("table lamp", (0.3, 0.3, 0.5))},
        {"b": Placement(at=(3, 2)), "l": Placement(at=(3.1, 2), on="b")},
    )
    row = only(given, "plan.clear.overlap")
    assert row.measured == pytest.approx(0.05, abs=1e-6)
    assert row.severity == "inconvenient"


# --- zones ------------------------------------------------------------------


def test_drawers_want_their_floor() -> None:
    pieces = {
        "c": piece("chest of drawers", (1.0, 0.5, 0.6)),
        "s": piece("stool", (0.4, 0.4, 0.45)),
    }
    far = {"c": Placement(at=(3, 4.75), rotation=0), "s": Placement(at=(3, 3.4))}
    assert only(home(pieces, far), "plan.clear.drawers").verdict == "passes"
    near = {"c": Placement(at=(3, 4.75), rotation=0), "s": Placement(at=(3, 3.6))}
    row = only(home(pieces, near), "plan.clear.drawers")
    assert row.measured == pytest.approx(0.7)
    assert row.required == 0.9
    assert row.verdict == "fails"
    assert row.about == ("c", "s")
    assert row.mend == "Move the stool 200\u00a0mm away from the chest of drawers."
    beside = {"c": Placement(at=(3, 4.75)), "s": Placement(at=(3.71, 3.6))}
    assert only(home(pieces, beside), "plan.clear.drawers").verdict == "passes"
    own = only(home(pieces, near, rules={"plan.clear.drawers": 0.65}), "plan.clear.drawers")
    assert own.verdict == "passes"
    assert only(home(pieces, near), "plan.clear.drawers",
                overrides={"plan.clear.drawers": 0.65}).required == 0.65  # fmt: skip


def test_a_rug_and_a_shelf_overhead_leave_a_zone_free_and_a_wall_does_not() -> None:
    pieces = {
        "c": piece("chest of drawers", (1.0, 0.5, 0.6)),
        "r": piece("rug", (2.0, 2.0, 0.012)),
        "h": piece("wall shelf", (1.0, 0.3, 0.04)),
    }
    at = {
        "c": Placement(at=(3, 4.75)),
        "r": Placement(at=(3, 3.5)),
        "h": Placement(at=(3, 4.0), base=2.1),
    }
    assert only(home(pieces, at), "plan.clear.drawers").verdict == "passes"
    wall = only(home(pieces, {"c": Placement(at=(3, 1.0))}), "plan.clear.drawers")
    assert wall.measured == pytest.approx(0.75)
    assert "away from the wall" in wall.mend


def test_the_chair_of_a_desk_belongs_into_its_zone() -> None:
    pieces = {
        "d": piece("desk", (1.4, 0.7, 0.74)),
        "c": piece("desk chair", (0.6, 0.6, 0.9), seat_height=0.46, arm_height=0.6),
        "b": piece("bookcase", (1.0, 0.3, 0.6)),
    }
    at = {
        "d": Placement(at=(3, 4.65)),
        "c": Placement(at=(3, 4.0), rotation=180),
        "b": Placement(at=(3, 3.3), rotation=180),
    }
    row = only(home(pieces, at), "plan.clear.desk")
    assert row.measured == pytest.approx(4.3 - 3.45)
    assert row.about == ("d", "b")


def test_bed_sides() -> None:
    pieces = {
        "b": piece("bed", (1.6, 2.0, 1.0), seat_height=0.5),
        "n": piece("bedside table", (0.45, 0.4, 0.5)),
    }
    at = {
        "b": Placement(at=(1.5, 4.0)),
        "n": Placement(at=(2.55, 4.8)),
    }
    given = home(pieces, at)
    left, right = rows(given, "plan.clear.bed_side")
    assert (left.measured, right.verdict) == (pytest.approx(0.7), "passes")
    assert left.verdict == "passes"
    assert only(given, "plan.clear.bed_main_side").verdict == "passes"
    single = {**pieces, "b": piece("bed", (0.9, 2.0, 1.0))}
    in_corner = home(single, {"b": Placement(at=(0.45, 4.0))})
    assert not rows(in_corner, "plan.clear.bed_side")  # one side is enough
    assert only(in_corner, "plan.clear.bed_main_side").verdict == "passes"
    step_free = only(given, "plan.stepfree.bed_side", rule_set="step-free")
    assert step_free.required == 0.9144


def test_a_written_zone_is_judged_with_its_own_words() -> None:
    zone = Zone(kind="before the keys", side="front", depth=1.0, severity="tight")
    pieces = {"p": piece("console", (1.4, 0.6, 1.2), zones=(zone,))}
    row = next(r for r in rows(home(pieces, {"p": Placement(at=(3, 1.2))})) if "keys" in r.what)
    assert (row.verdict, row.severity, row.rule) == ("fails", "tight", "")
    assert row.measured == pytest.approx(0.9)


# --- services, doors, windows -------------------------------------------------


def test_panel_radiator_and_vent_keep_clear() -> None:
    services = {
        "panel": Service(
            room="room", kind="panel", at=(0, 2), height=1.5, size=(0.4, 0.1, 0.6), clear=(0.8, 1.0)
        ),
        "rad": Service(room="room", kind="radiator", at=(3, 0), height=0.1, size=(1.0, 0.1, 0.6)),
        "vent": Service(room="room", kind="vent", at=(6, 4), height=0.0, size=(0.3, 0.1, 0.02)),
    }
    pieces = {
        "b": piece("ottoman", (1.8, 0.45, 0.6)),
        "r": piece("rug", (1.0, 1.0, 0.012)),
        "s": piece("sofa", (2.0, 0.9, 0.8)),
    }
    at = {
        "b": Placement(at=(1.4, 2.475)),
        "r": Placement(at=(5.5, 4.0)),
        "s": Placement(at=(3.0, 0.6), rotation=180),
    }
    given = home(pieces, at, services=services)
    panel = only(given, "plan.clear.panel")
    assert (panel.verdict, panel.severity) == ("fails", "safety")
    assert panel.measured == pytest.approx(0.4)
    assert "150\u00a0mm sideways" in panel.mend  # from y 2.25 past the edge at 2.4
    assert "electrician" in panel.why
    radiator = only(given, "plan.clear.radiator")
    assert radiator.measured == pytest.approx(0.05)
    assert only(given, "plan.clear.vent").about == ("vent", "r")


def door(**changes: object) -> Opening:
    given = {
        "room": "room", "wall": 0, "offset": 1.0, "width": 1.0, "head": 2.1, "kind": "door",
        "hinge": "left", "swing": "in", "clear_width": 0.8, "to": "stair", "known": SURE,
    }  # fmt: skip
    return Opening(**{**given, **changes})  # type: ignore[arg-type]


def test_a_door_opens_until_it_meets_a_piece() -> None:
    stool = piece("ottoman", (0.4, 0.4, 0.4))
    # hinge at (1.9746, 0); a corner at (1.7746, 0.6) is met where tan(a) = 0.6 / 0.2
    given = home({"s": stool}, {"s": Placement(at=(1.9746, 0.8))}, openings={"door": door()})
    row = only(given, "plan.clear.door_angle")
    assert row.unit == "°"
    assert row.measured == pytest.approx(math.degrees(math.atan2(0.6, 0.2)), abs=0.15)
    assert row.verdict == "fails"
    assert row.about == ("door", "s")
    clear = home({"s": stool}, {"s": Placement(at=(1.5, 1.3))}, openings={"door": door()})
    assert only(clear, "plan.clear.door_angle").measured == 90.0
    rug = home(
        {"s": piece("rug", (2, 2, 0.012))}, {"s": Placement(at=(1.9, 1.0))},
        openings={"door": door()},
    )  # fmt: skip
    assert only(rug, "plan.clear.door_angle").verdict == "passes"


def test_a_door_meets_a_wall_and_another_door() -> None:
    corner = door(offset=5.1, width=0.9, clear_width=0.7, hinge="left")
    notch = Room(
        name="n",
        outline=((0, 0), (6, 0), (6, 0.5), (5.8, 0.5), (5.8, 5), (0, 5)),
        height=2.6,
        known=SURE,
    )
    given = home({}, {}, openings={"door": corner}, rooms={"room": notch})
    row = only(given, "plan.clear.door_angle")
    assert row.verdict == "fails"
    assert row.measured is not None
    # the jamb is at 6 − 0.0254; the pier's corner (5.8, 0.5)
    assert row.measured == pytest.approx(math.degrees(math.atan2(0.5, 0.1746)), abs=0.2)
    two = home({}, {}, openings={"a": door(offset=0.1), "b": door(wall=3, offset=4.0 - 0.1)})
    assert only(two, "plan.clear.overlap").about == ("a", "b")


def test_a_window_leaf_meets_only_what_stands_above_its_sill() -> None:
    window = door(kind="window", leaf="inward", swing="none", sill=0.9, clear_width=None, to="out")
    low, high = piece("ottoman", (0.5, 0.4, 0.85)), piece("ottoman", (0.5, 0.4, 1.0))
    at = {"o": Placement(at=(1.5, 0.3))}
    assert only(home({"o": low}, at, openings={"w": window}), "plan.clear.door_angle"
                ).verdict == "passes"  # fmt: skip
    row = only(home({"o": high}, at, openings={"w": window}), "plan.clear.door_angle")
    assert (row.verdict, row.severity) == ("fails", "inconvenient")


def test_the_way_to_the_balcony() -> None:
    balcony = door(kind="balcony", to="balcony", swing="out")
    plant = piece("plant", (0.5, 0.5, 1.5))
    given = home({"p": plant}, {"p": Placement(at=(1.2, 0.5))}, openings={"b": balcony})
    row = only(given, "plan.clear.door_front_width")
    # clear from 1.0254 to 1.8254; the leaves reach to x = 1.45
    assert row.measured == pytest.approx(1.8254 - 1.45, abs=1e-3)
    assert row.required == pytest.approx(0.8)
    assert row.about == ("b", "p")
    away = home({"p": plant}, {"p": Placement(at=(4, 0.5))}, openings={"b": balcony})
    assert only(away, "plan.clear.door_front_width").verdict == "passes"


def test_glass_hidden_above_the_sill() -> None:
    window = door(
        kind="window", width=2.0, sill=0.8, head=2.3, swing="none", leaf="fixed", clear_width=None
    )
    tall = piece("bookcase", (0.5, 0.3, 2.0), anchored=True)
    at = {"t": Placement(at=(2.0, 0.15), rotation=180)}
    row = only(home({"t": tall}, at, openings={"w": window}), "plan.window.blocked")
    assert row.measured == pytest.approx(0.5 * 1.2 / (2.0 * 1.5))
    assert row.unit == "1"
    assert row.verdict == "fails"
    low = piece("bookcase", (0.5, 0.3, 0.8), anchored=True)
    assert not rows(home({"t": low}, at, openings={"w": window}), "plan.window.blocked")
    away = {"t": Placement(at=(2.0, 1.0), rotation=180)}
    assert not rows(home({"t": tall}, away, openings={"w": window}), "plan.window.blocked")


# --- tables -----------------------------------------------------------------


def dining(**more: object) -> Piece:
    given = {"chairs": Chairs(piece="c", front=2, back=2), "size": (1.6, 0.9, 0.74)}
    values = {**given, **more}
    size = values.pop("size")
    return piece("dining table", size, **values)  # type: ignore[arg-type]


CHAIR = piece("chair", (0.46, 0.5, 0.8), seat_height=0.46)


def test_room_behind_chairs_on_each_side() -> None:
    given = home({"t": dining(), "c": CHAIR}, {"t": Placement(at=(3.0, 1.3))})
    front, back = sorted(rows(given, "plan.table.sit"), key=lambda row: row.measured or 0)
    assert front.measured == pytest.approx(0.85)
    assert front.verdict == "fails"
    assert "on its front side" in front.what
    assert front.mend.startswith("Move the dining table 70\u00a0mm away from the wall")
    assert back.verdict == "passes"
    assert "room to serve behind" in back.why


def test_room_behind_chairs_to_the_next_piece() -> None:
    shelf = piece("bookcase", (1.0, 0.3, 2.0), anchored=True)
    given = home(
        {"t": dining(), "c": CHAIR, "s": shelf},
        {"t": Placement(at=(3.0, 2.5)), "s": Placement(at=(3.4, 4.2))},
    )
    row = next(r for r in rows(given, "plan.table.sit") if "back" in r.what)
    assert row.measured == pytest.approx(4.05 - 2.95)
    assert "to sit and rise, not to pass behind" in row.why


def test_what_hangs_from_the_ceiling_takes_no_floor_and_has_a_short_name() -> None:
    given = home(
        {"t": dining(), "c": CHAIR},
        {"t": Placement(at=(3.0, 2.5))},
        fixtures={"f": Fixture(name="drum, white", kind="pendant", size=(0.6, 0.6, 0.4))},
        lamps={"l": Lamp(fixture="f", at=(3.4, 3.4), base=1.4)},
    )
    assert {row.verdict for row in rows(given, "plan.table.sit")} == {"passes"}
    low = dataclasses.replace(
        given.layouts["a"], lamps={"l": Lamp(fixture="f", at=(3.0, 2.5), base=0.6)}
    )
    clash = only(dataclasses.replace(given, layouts={"a": low}), "plan.clear.overlap")
    assert clash.what == "Dining table and drum overlap"


def test_a_chair_placed_by_hand_is_at_the_table_it_faces() -> None:
    pieces = {"t": dining(chairs=None), "c": CHAIR}
    at = {"t": Placement(at=(3.0, 1.2)), "x": Placement(at=(3.0, 0.6), rotation=180, item="c")}
    assert only(home(pieces, at), "plan.table.sit").about == ("t", "x")
    away = {**at, "x": Placement(at=(3.0, 0.6), rotation=0, item="c")}
    assert not rows(home(pieces, away), "plan.table.sit")


def test_edge_a_place_gives_way_to_the_ends() -> None:
    both = dining(chairs=Chairs(piece="c", front=2, back=2), size=(1.3, 0.9, 0.74))
    given = home({"t": both, "c": CHAIR}, {"t": Placement(at=(3, 2.5))})
    assert [row.measured for row in rows(given, "plan.table.place")] == pytest.approx([0.65, 0.65])
    ends = dining(chairs=Chairs(piece="c", front=2, back=2, left=1, right=1), size=(1.9, 0.9, 0.74))
    given = home({"t": ends, "c": CHAIR}, {"t": Placement(at=(3, 2.5))})
    sides = {row.what.split()[-2]: row.measured for row in rows(given, "plan.table.place")}
    assert sides["front"] == pytest.approx((1.9 - 2 * 0.3683) / 2)
    assert sides["left"] == pytest.approx(0.9)


def test_edge_a_place_round_a_table() -> None:
    top = dining(chairs=Chairs(piece="c", around=5), size=(1.0, 1.0, 0.74), shape="circle")
    row = only(home({"t": top, "c": CHAIR}, {"t": Placement(at=(3, 2.5))}), "plan.table.round")
    assert row.measured == pytest.approx(math.pi / 5)
    assert row.verdict == "fails"
    assert "Seat 4" in row.mend


# --- heights and storage --------------------------------------------------------


def test_table_and_seat_agree() -> None:
    for seat, verdict in ((0.43, "fails"), (0.44, "passes"), (0.47, "passes"), (0.48, "fails")):
        chair = dataclasses.replace(CHAIR, seat_height=seat)
        given = home({"t": dining(), "c": chair}, {"t": Placement(at=(3, 2.5))})
        assert only(given, "plan.height.table_seat").verdict == verdict
    kind_only = dataclasses.replace(CHAIR, seat_height=None)
    given = home({"t": dining(), "c": kind_only}, {"t": Placement(at=(3, 2.5))})
    row = only(given, "plan.height.table_seat")
    assert row.verdict == "measure first"  # nobody has written the seat's height
    assert row.mend.startswith("Measure first: the margin of")


def test_arms_go_under_the_apron() -> None:
    for arm, fails in ((0.55, False), (0.70, True)):
        chair = piece("chair", (0.6, 0.55, 0.85), seat_height=0.46, arm_height=arm)
        given = home({"t": dining(), "c": chair}, {"t": Placement(at=(3, 2.5))})
        assert (only(given, "plan.height.apron").verdict == "fails") is fails


def test_counters_and_high_stools() -> None:
    pieces = {
        "k": piece("counter", (1.8, 0.6, 0.92)),
        "s": piece("high stool", (0.4, 0.4, 0.65)),
    }
    at = {"k": Placement(at=(3, 4)), "s": Placement(at=(3, 3.4), rotation=180)}
    row = only(home(pieces, at), "plan.height.counter_stool")
    assert row.measured == pytest.approx(0.27)
    assert row.verdict == "passes"


def test_sofa_and_low_table() -> None:
    sofa = piece("sofa", (2.0, 0.9, 0.8), seat_height=0.42)
    for gap, verdict, rule in (
        (0.30, "fails", "min"),
        (0.36, "passes", "min"),
        (0.44, "passes", "max"),
        (0.60, "fails", "max"),
    ):
        low = piece("low table", (1.0, 0.6, 0.40))
        at = {"s": Placement(at=(3, 4.5)), "l": Placement(at=(3, 4.05 - gap - 0.3))}
        row = only(home({"s": sofa, "l": low}, at), "plan.clear.sofa_table")
        assert (row.verdict, row.measured) == (verdict, pytest.approx(gap))
        assert row.rule.endswith(rule)
    height = only(home({"s": sofa, "l": low}, at), "plan.height.low_table")
    assert height.measured == pytest.approx(-0.02)
    assert height.verdict == "passes"
    tall = piece("low table", (1.0, 0.6, 0.5))
    assert only(home({"s": sofa, "l": tall}, at), "plan.height.low_table").verdict == "fails"


def test_bedside_and_mattress() -> None:
    for top, verdict in ((0.45, "passes"), (0.55, "passes"), (0.6, "fails")):
        given = home(
            {
                "b": piece("bed", (1.6, 2.0, 1.0), seat_height=0.5),
                "n": piece("bedside table", (0.45, 0.4, top)),
            },
            {"b": Placement(at=(3, 4)), "n": Placement(at=(4.05, 4.8))},
        )
        assert only(given, "plan.height.bedside").verdict == verdict


def test_persons_on_a_sofa() -> None:
    sofa = piece("sofa", (1.8, 0.9, 0.8), seat_count=3, arm_height=0.0)
    given = home({"s": sofa}, {"s": Placement(at=(3, 4))})
    assert only(given, "plan.clear.sofa_person").verdict == "passes"
    four = dataclasses.replace(sofa, seat_count=4)
    row = only(home({"s": four}, {"s": Placement(at=(3, 4))}), "plan.clear.sofa_person")
    assert row.measured == pytest.approx(0.45)
    assert "Count it for 3" in row.mend


def test_tall_storage_is_held_back() -> None:
    def row(children: bool, **more: object) -> Finding:
        chest = piece("bookcase", (1.0, 0.35, 1.8), **more)
        brief = CHILD if children else Brief()
        return only(
            home({"b": chest}, {"b": Placement(at=(3, 4))}, brief=brief), "plan.clear.anti_tip"
        )

    assert (row(True).verdict, row(True).severity) == ("measure first", "safety")
    assert (row(False).verdict, row(False).severity) == ("measure first", "note")
    assert row(True, anchored=False).verdict == "fails"
    assert row(True, anchored=True).verdict == "passes"
    for out in ({"mass": 10.0}, {"mount": "wall"}):
        chest = piece("bookcase", (1.0, 0.35, 1.8), **out)
        given = home({"b": chest}, {"b": Placement(at=(3, 4), base=0.0)})
        assert not rows(given, "plan.clear.anti_tip")


def window_over_a_drop(**changes: object) -> dict[str, Opening]:
    given = {
        "kind": "window", "leaf": "inward", "swing": "none", "sill": 0.5, "clear_width": None,
        "to": "outside", "drop_outside": 5.0,
    }  # fmt: skip
    return {"w": door(**{**given, **changes})}


def test_windows_over_a_drop() -> None:
    bench = piece("bench", (1.2, 0.4, 0.45))
    at = {"b": Placement(at=(1.5, 0.7))}
    given = home({"b": bench}, at, openings=window_over_a_drop(), brief=CHILD)
    sill = only(given, "plan.window.sill")
    assert (sill.verdict, sill.severity) == ("fails", "safety")
    assert "100\u00a0mm at most" in sill.mend
    near = only(given, "plan.window.reach")
    assert (near.verdict, near.severity) == ("fails", "safety")
    assert near.measured == pytest.approx(0.5, abs=1e-3)
    assert near.about == ("b", "w")


@pytest.mark.parametrize(
    ("window", "brief", "y"),
    [
        ({"leaf": "fixed"}, CHILD, 0.7),
        ({"drop_outside": 1.5}, CHILD, 0.7),
        ({"sill": 0.7}, CHILD, 1.0),
        ({}, Brief(people=(Person(role="adult"),)), 0.7),
        ({}, Brief(people=(Person(role="child", age=16),)), 0.7),
    ],
)
def test_windows_that_are_no_danger(window: dict[str, object], brief: Brief, y: float) -> None:
    given = home(
        {"b": piece("bench", (1.2, 0.4, 0.45))},
        {"b": Placement(at=(1.5, y))},
        openings=window_over_a_drop(**window),
        brief=brief,
    )
    assert not rows(given, "plan.window.sill")
    assert not rows(given, "plan.window.reach")


def test_a_drop_that_is_not_known_is_asked_for() -> None:
    given = home(
        {"b": piece("bench", (1.2, 0.4, 0.45))},
        {"b": Placement(at=(1.5, 0.3))},
        openings=window_over_a_drop(drop_outside=None),
        brief=Brief(people=(Person(role="toddler"),)),
    )
    assert {row.verdict for row in rows(given, "plan.window.")} == {"measure first"}
    assert "not known" in only(given, "plan.window.sill").why


def test_climbing_counts_whatever_the_sill() -> None:
    given = home(
        {"s": piece("sofa", (1.6, 0.9, 0.8), seat_height=0.42)},
        {"s": Placement(at=(1.5, 0.5), rotation=180)},
        openings=window_over_a_drop(sill=0.9),
        brief=CHILD,
    )
    assert not rows(given, "plan.window.sill")
    row = only(given, "plan.window.reach")
    assert "the sill is then 480\u00a0mm up" in row.why


# --- step-free ----------------------------------------------------------------


def test_step_free_asks_for_more() -> None:
    given = home({}, {}, openings={"door": door()})
    assert not rows(given, "plan.stepfree")
    found = rows(given, "plan.stepfree", rule_set="step-free")
    assert {row.rule for row in found} == {
        "plan.stepfree.turning",
        "plan.stepfree.door",
        "plan.stepfree.door_pull",
    }
    wish = Brief(wishes={"t": Wish(text="a wheelchair turns", kind="turning", at_least=1.6)})
    turning = only(home({}, {}, brief=wish), "plan.stepfree")
    assert turning.required == 1.6
    assert turning.measured == pytest.approx(5.0, abs=1e-3)


def test_law_is_said_only_where_a_code_is_named() -> None:
    given = home({}, {}, openings={"door": door(clear_width=0.7)}, rule_set="step-free")
    row = rows(given, "plan.stepfree.door")[0]
    assert row.severity == "tight"
    named = dataclasses.replace(given, code="2010 ADA Standards")
    assert rows(named, "plan.stepfree.door")[0].severity == "law here"
    # common practice is nobody's law
    assert only(named, "plan.clear.door_angle").severity == "tight"


# --- the whole ------------------------------------------------------------------


def test_rows_name_rules_that_exist_and_geometry_that_is_finite() -> None:
    for rule_set in ("home", "step-free"):
        for row in findings(sample(), "a", rule_set=rule_set):
            assert row.rule in all_rows()
            assert row.what
            assert row.why
            assert row.measured is not None
            assert math.isfinite(row.measured)
            assert row.at is not None
            assert all(math.isfinite(v) for p in (row.at, *row.area, *row.line) for v in p)
            assert (row.mend == "") == (row.verdict == "passes")
            assert row.verdict == "passes" or row.mend.endswith(".")


def test_the_same_call_gives_the_same_rows_in_the_same_order() -> None:
    one, two = findings(sample(), "a"), findings(sample(), "a")
    assert [dataclasses.astuple(row) for row in one] == [dataclasses.astuple(row) for row in two]
    ranks = ["law here", "safety", "tight", "inconvenient", "note"]
    assert [ranks.index(row.severity) for row in one] == sorted(
        ranks.index(row.severity) for row in one
    )


def test_an_empty_layout_and_an_empty_home() -> None:
    assert findings(home({}, {}), "a") == ()
    assert findings(Home(name="h"), Layout(name="A")) == ()


def test_wrong_names_list_the_right_ones() -> None:
    with pytest.raises(LookupFailed, match=r"layout = b; allowed: a"):
        findings(home({}, {}), "b")
    with pytest.raises(LookupFailed, match="rule set = wheelchair; allowed: home, step-free"):
        findings(home({}, {}), "a", rule_set="wheelchair")
    with pytest.raises(InputError, match="rooms = 0"):
        findings(
            Home(name="h", pieces={"c": CHAIR}),
            Layout(name="A", pieces={"c": Placement(at=(0, 0))}),
        )


def test_sentences_speak_the_projects_units() -> None:
    given = home(
        {"o": piece("ottoman", (1.0, 0.5, 0.4))}, {"o": Placement(at=(3.0, 0.21))}, units="ft"
    )
    assert '2"' in only(given, "plan.clear.overlap").mend  # 40 mm, up to the next half inch


# --- the same answer wherever the home lies --------------------------------------

Move = Callable[[tuple[float, float]], tuple[float, float]]


def moved(given: Home, *, turn: float, shift: tuple[float, float], mirror: bool) -> Home:
    """The same home, mirrored in the y axis, turned and shifted."""
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    sign = -1.0 if mirror else 1.0

    def point(p: tuple[float, float]) -> tuple[float, float]:
        x, y = sign * p[0], p[1]
        return (c * x - s * y + shift[0], s * x + c * y + shift[1])

    def angle(rotation: float) -> float:
        return sign * rotation + turn

    def hand(side: str | None) -> str | None:
        if side is None or not mirror:
            return side
        return "left" if side == "right" else "right"

    layout = given.layouts["a"]
    return dataclasses.replace(
        given,
        rooms={
            id: dataclasses.replace(
                room,
                outline=tuple(point(p) for p in room.outline),
                columns=tuple(
                    dataclasses.replace(col, at=point(col.at), rotation=angle(col.rotation))
                    for col in room.columns
                ),
            )
            for id, room in given.rooms.items()
        },
        openings={
            # a window leaf of which nothing is said hangs on the left
            id: dataclasses.replace(
                o, hinge=hand(o.hinge or ("left" if o.kind == "window" else None))
            )
            for id, o in given.openings.items()
        },
        services={id: dataclasses.replace(v, at=point(v.at)) for id, v in given.services.items()},
        layouts={
            "a": dataclasses.replace(
                layout,
                pieces={
                    id: dataclasses.replace(p, at=point(p.at), rotation=angle(p.rotation))
                    for id, p in layout.pieces.items()
                },
                lamps={
                    id: dataclasses.replace(lamp, at=point(lamp.at) if lamp.at else None)
                    for id, lamp in layout.lamps.items()
                },
            )
        },
    )


def facts(given: Home) -> list[tuple[str, str, str, str, float, float]]:
    """Rows without ids and words that a mirror swaps."""
    out = []
    for row in findings(given, "a", rule_set="step-free"):
        what = row.what.replace("left", "one").replace("right", "one")
        what = what.replace("leaf 1", "leaf").replace("leaf 2", "leaf").replace("leaf 3", "leaf")
        assert row.measured is not None
        assert row.required is not None
        out.append((what, row.rule, row.verdict, row.severity, row.measured, row.within))
    return sorted(out)


@settings(max_examples=40)
@given(
    turn=st.sampled_from([0.0, 30.0, 90.0, 137.0, 180.0, 270.0, 331.5]),
    shift=st.tuples(st.floats(-30, 30), st.floats(-30, 30)),
    mirror=st.booleans(),
    steps=st.lists(
        st.tuples(
            st.sampled_from(["sofa", "armchair", "low", "table", "chest", "books"]),
            st.integers(-20, 20),
            st.integers(-20, 20),
            st.integers(-3, 3),
        ),
        max_size=4,
    ),
)
@example(
    turn=0.0, shift=(0.0, 0.0), mirror=True, steps=[("books", -14, -20, -3), ("books", -20, -11, 0)]
)
@example(
    turn=0.0, shift=(0.0, 0.0), mirror=True, steps=[("books", -13, -12, -3), ("books", -20, 0, 0)]
)
def test_mirror_turn_and_shift_change_no_verdict(
    turn: float,
    shift: tuple[float, float],
    mirror: bool,
    steps: list[tuple[str, int, int, int]],
) -> None:
    start = sample()
    layout = start.layouts["a"]
    pieces = dict(layout.pieces)
    for id, dx, dy, quarter in steps:
        old = pieces[id]
        pieces[id] = dataclasses.replace(
            old,
            at=(old.at[0] + 0.0371 * dx, old.at[1] + 0.0371 * dy),
            rotation=old.rotation + 17.0 * quarter,
        )
    start = dataclasses.replace(start, layouts={"a": dataclasses.replace(layout, pieces=pieces)})
    before, after = facts(start), facts(moved(start, turn=turn, shift=shift, mirror=mirror))
    assert [row[:4] for row in before] == [row[:4] for row in after]
    for one, two in zip(before, after):
        # a disc of 96 corners shows 0.06 % of its radius when it turns
        limit = 0.2 if one[1] == "plan.clear.door_angle" else 1e-3
        assert one[4] == pytest.approx(two[4], abs=limit), one[0]


def reversed_outline(given: Home) -> Home:
    """The same home with each outline written the other way round."""
    openings = {}
    for id, o in given.openings.items():
        outline = given.rooms[o.room].outline
        count = len(outline)
        length = math.dist(outline[o.wall], outline[(o.wall + 1) % count])
        # wall i joins i and i + 1; written backwards it is wall n − 2 − i
        openings[id] = dataclasses.replace(
            o, wall=(count - 2 - o.wall) % count, offset=length - o.offset - o.width
        )
    rooms = {
        id: dataclasses.replace(room, outline=room.outline[::-1])
        for id, room in given.rooms.items()
    }
    return dataclasses.replace(given, rooms=rooms, openings=openings)


def test_either_vertex_order_gives_the_same_findings() -> None:
    for one, two in zip(facts(sample()), facts(reversed_outline(sample()))):
        assert one[:4] == two[:4]
        assert one[4:] == pytest.approx(two[4:], abs=1e-9)


# --- verdicts -------------------------------------------------------------------


def test_separation_of_apart_and_of_nested_shapes() -> None:
    assert separation(box(0, 0, 1, 1), box(2, 0, 3, 1)) == (0.0, (0.0, 0.0))
    depth, way = separation(box(0.2, 0.4, 0.4, 0.6), box(0, 0, 1, 1))
    assert depth == pytest.approx(0.4)
    assert way == (-1.0, 0.0)


@given(st.floats(0, 10))
def test_rounding_up_is_enough_and_at_most_a_step(distance: float) -> None:
    for units, step in (("m", 0.01), ("ft", 0.0127)):
        up = round_up(distance, units=units)
        assert distance - 1e-7 <= up < distance + step


def test_verdicts_need_numbers() -> None:
    with pytest.raises(InputError, match="measured value"):
        judge(float("nan"), required=1.0)
