"""The take-off of a whole layout, and the two schedules with their audiences."""

from __future__ import annotations

import dataclasses
from decimal import Decimal

import pytest

from designkit.errors import InputError, LookupFailed
from designkit.model import (
    Building,
    Chairs,
    Colour,
    CostLine,
    Drape,
    Finish,
    Fixture,
    Home,
    Lamp,
    Layout,
    Opening,
    Piece,
    Placement,
    Project,
    Room,
    Service,
)
from designkit.takeoff.assemble import FloorGoods, PaintGoods, paper_runs, takeoff
from designkit.takeoff.tables import finish_schedule, furniture_schedule, layout_of
from designkit.takeoff.wallcovering import Roll

WHITE = Finish(name="white wall paint", colours=(Colour(lrv=84),), sheen="matt")
HOME = Home(
    name="two rooms",
    layout="a",
    building=Building(year=2015, sampled="no"),
    rooms={
        "living": Room(
            name="living room",
            outline=((0, 0), (5, 0), (5, 4), (0, 4)),
            height=2.6,
            floor="oak",
            ceiling="white",
            wall="white",
            walls={"3": "stripe", "0": "stripe"},
        ),
        "hall": Room(
            name="hall",
            outline=((5, 0), (7, 0), (7, 4), (5, 4)),
            height=2.6,
            floor="oak",
            ceiling="white",
            wall="white",
        ),
    },
    openings={
        "door": Opening(
            room="hall", wall=3, offset=1.0, width=1.0, head=2.0, kind="door", to="living"
        ),
        "window": Opening(
            room="living", wall=2, offset=1.0, width=3.0, sill=0.5, head=2.3, kind="window"
        ),
    },
    services={"outlet": Service(room="living", kind="ceiling outlet", at=(2.5, 2.0))},
    finishes={
        "white": WHITE,
        "stripe": Finish(
            name="grey stripe", kind="paper", colours=(Colour(share=0.5, lrv=80), Colour(lrv=20))
        ),
        "oak": Finish(name="oak boards", kind="timber", colours=(Colour(guess="mid"),)),
        "linen": Finish(name="white linen", kind="cloth", colours=(Colour(lrv=75),)),
    },
    pieces={
        "table": Piece(
            name="dining table from Supplier 12",
            kind="dining table",
            size=(1.8, 0.9, 0.74),
            finish="oak",
            chairs=Chairs(piece="chair", front=3, back=3),
            note="Studio secret: haggle",
        ),
        "chair": Piece(name="dining chair", kind="chair", size=(0.46, 0.52, 0.8)),
    },
    fixtures={"pendant": Fixture(name="pendant", kind="pendant", size=(0.5, 0.5, 0.3))},
    layouts={
        "a": Layout(
            name="a",
            pieces={
                "table": Placement(at=(2.5, 2.0)),
                "spare": Placement(at=(6.0, 2.0), item="chair"),
            },
            lamps={"lamp": Lamp(fixture="pendant", service="outlet")},
            drapes={"window": Drape(opening="window", finish="linen", track=3.6)},
        )
    },
)
COSTS = (
    CostLine(
        id="t",
        piece="table",
        item="table",
        category="furniture",
        supplier="Supplier 12",
        likely=Decimal("987.65"),
        trade_price=Decimal("654.32"),
        client_price=Decimal("987.65"),
        status="quoted",
        lead_time=Decimal(8),
        note="Margin note 33 %",
    ),
    CostLine(
        id="c",
        piece="chair",
        item="chair",
        category="furniture",
        supplier="Supplier 1",
        likely=Decimal(90),
        status="paid",
    ),
)
PROJECT = Project(home=HOME, costs=COSTS)
SECRETS = ("Supplier 12", "Supplier 1", "654.32", "987.65", "Margin", "haggle", "quoted", "guess")


def text_of(table: object) -> str:
    rows = getattr(table, "rows")  # noqa: B009
    columns = getattr(table, "columns")  # noqa: B009
    return " | ".join([*columns, *(str(v) for row in rows for v in row.values())])


def test_lines_add_up_by_hand() -> None:
    result = takeoff(PROJECT)
    paint = result.by_id["paint.white"]
    # Living: walls 1 and 2, 4 + 5 m long, less the door and the window; hall: 12 m less the door.
    walls = (4 + 5) * 2.6 - 1.0 * 2.0 - 3.0 * 1.8 + 12 * 2.6 - 1.0 * 2.0
    ceilings = 20.0 + 8.0
    assert sum(s.net for s in paint.shares) == pytest.approx(walls + ceilings)
    assert paint.net == pytest.approx((walls + ceilings) * 2 / 8.59)
    assert paint.order >= paint.net * 1.05 - 1e-9
    assert 0 < paint.waste < 1
    floor = result.by_id["floor.oak"]
    assert floor.net == pytest.approx(28.0)
    assert floor.rooms == ("living", "hall")
    assert result.by_id["drapery.window"].rooms == ("living",)
    assert result.by_id["wallcovering.stripe"].net == pytest.approx((4 + 5) * 2.6)
    assert [line.kind for line in result.lines] == ["paint", "wallcovering", "floor", "drapery"]
    for line in result.lines:
        assert line.why
        assert line.rules
        assert line.order >= line.net - 1e-9


def test_walls_over_the_first_corner_are_one_run() -> None:
    (run,) = paper_runs(HOME, "stripe")
    # from left to right as seen from inside: the outline runs the other way round
    assert [f.wall for f in run.faces] == [0, 3]
    assert not run.closed


def test_room_papered_all_round_is_closed() -> None:
    living = dataclasses.replace(HOME.rooms["living"], wall="stripe", walls={})
    home = dataclasses.replace(HOME, rooms={**HOME.rooms, "living": living})
    (run,) = paper_runs(home, "stripe")
    assert run.closed


def test_what_was_not_given_is_listed_and_labels_replace_it() -> None:
    assert any(text.startswith("white wall paint:") for text in takeoff(PROJECT).assumed)
    given = takeoff(
        PROJECT,
        goods={
            "white": PaintGoods(spreading_rate=12.0, coats=3, primer=True),
            "stripe": Roll(width=0.7, length=10.0, repeat=0.64, match="straight"),
            "oak": FloorGoods(laying="diagonal", pack=2.5),
        },
    )
    assert given.assumed == ()
    assert given.by_id["primer.white"].net > 0
    assert "packs" in given.by_id["floor.oak"].text
    assert "straight match" in " ".join(given.by_id["wallcovering.stripe"].why)


def test_goods_of_the_wrong_kind_or_name_are_refused() -> None:
    with pytest.raises(InputError, match="goods of white = FloorGoods"):
        takeoff(PROJECT, goods={"white": FloorGoods()})
    with pytest.raises(LookupFailed, match="did you mean stripe"):
        takeoff(PROJECT, goods={"strip": PaintGoods()})


def test_unknown_names_are_named() -> None:
    with pytest.raises(LookupFailed, match="layout = b"):
        takeoff(PROJECT, "b")
    with pytest.raises(LookupFailed, match="layout"):
        layout_of(Project(home=Home(name="empty")), "")
    living = dataclasses.replace(HOME.rooms["living"], ceiling="whit")
    lost = dataclasses.replace(HOME, rooms={**HOME.rooms, "living": living})
    with pytest.raises(LookupFailed, match="did you mean white"):
        takeoff(Project(home=lost))
    drape = Drape(opening="windw", finish="linen", track=3.6)
    layout = dataclasses.replace(HOME.layouts["a"], drapes={"w": drape})
    with pytest.raises(LookupFailed, match="opening of drapery w = windw"):
        takeoff(Project(home=dataclasses.replace(HOME, layouts={"a": layout})))


def test_textured_ceiling_waits_for_its_sample() -> None:
    old = dataclasses.replace(
        HOME, building=Building(year=None, ceiling="slab with a textured coat")
    )
    line = takeoff(Project(home=old)).by_id["work.ceiling.living"]
    assert line.text == "not before a sample and its written result"
    sampled = dataclasses.replace(old.building, sampled="yes")
    line = takeoff(Project(home=dataclasses.replace(old, building=sampled))).by_id[
        "work.ceiling.living"
    ]
    assert "days of 2 workers" in line.text


def test_imperial_project_buys_in_gallons_and_yards() -> None:
    result = takeoff(Project(home=dataclasses.replace(HOME, units="ft")))
    assert "gal" in result.by_id["paint.white"].text
    assert "yd" in result.by_id["drapery.window"].text
    assert "single rolls" in result.by_id["wallcovering.stripe"].text


def test_same_call_gives_the_same_lines() -> None:
    one, two = takeoff(PROJECT), takeoff(PROJECT)
    assert [(a.id, a.order, a.why) for a in one.lines] == [
        (b.id, b.order, b.why) for b in two.lines
    ]


def test_chairs_lamps_and_drapery_are_counted_by_room() -> None:
    table = furniture_schedule(PROJECT, audience="studio")
    counted = {(r["item"], r["room"]): r["quantity"] for r in table.rows}
    assert counted == {
        ("table", "living room"): 1,
        ("chair", "living room"): 6,
        ("chair", "hall"): 1,
        ("pendant", "living room"): 1,
        ("drapery window", "living room"): 1,
    }


@pytest.mark.parametrize("secret", SECRETS)
def test_client_never_reads_what_is_the_studios(secret: str) -> None:
    for table in (
        furniture_schedule(PROJECT, audience="client"),
        finish_schedule(PROJECT, audience="client"),
    ):
        assert secret.lower() not in text_of(table).lower()


def test_leak_test_would_see_a_leak() -> None:
    shown = text_of(furniture_schedule(PROJECT, audience="studio"))
    assert all(secret in shown for secret in SECRETS if secret != "guess")


def test_trade_reads_suppliers_but_no_prices_and_no_notes() -> None:
    shown = text_of(furniture_schedule(PROJECT, audience="trade"))
    assert "Supplier 12" in shown
    for secret in ("654.32", "987.65", "Margin", "haggle"):
        assert secret not in shown


def test_supplier_in_a_name_is_replaced_in_plain_sight() -> None:
    rows = furniture_schedule(PROJECT, audience="client").rows
    assert rows[0]["what"] == "dining table from (supplier)"
    assert rows[0]["status"] == "proposed"
    assert rows[0]["lead weeks"] == Decimal(8)


def test_finish_schedule_has_every_surface_and_its_lrv() -> None:
    table = finish_schedule(PROJECT, audience="trade")
    by = {(r["room"], r["surface"]): r for r in table.rows}
    assert by["living room", "wall 2"]["LRV"] == 84
    # A striped paper: half 80, half 20 once the shares are made to add to one.
    assert by["living room", "wall 1"]["LRV"] == pytest.approx((0.5 * 80 + 1.0 * 20) / 1.5)
    assert by["living room", "floor"]["LRV"] is None
    assert by["hall", "ceiling"]["area"] == pytest.approx(8.0)
    assert len(table.rows) == 2 * (4 + 2)


def test_surface_without_a_finish_says_so() -> None:
    bare = dataclasses.replace(HOME.rooms["hall"], floor="")
    home = dataclasses.replace(HOME, rooms={"hall": bare}, openings={})
    rows = finish_schedule(Project(home=home), audience="client").rows
    assert rows[0]["finish"] == "not chosen"


def test_audience_and_pieces_are_checked() -> None:
    with pytest.raises(InputError, match="audience = press"):
        furniture_schedule(PROJECT, audience="press")  # type: ignore[arg-type]
    with pytest.raises(InputError, match="audience = "):
        finish_schedule(PROJECT, audience="")  # type: ignore[arg-type]
    layout = Layout(name="a", pieces={"sofa": Placement(at=(1, 1))})
    home = dataclasses.replace(HOME, layouts={"a": layout})
    with pytest.raises(LookupFailed, match="piece of sofa = sofa"):
        furniture_schedule(Project(home=home), audience="client")
