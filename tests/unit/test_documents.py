"""Orders and documents: the life of a line, papers, who may read what, files."""

from __future__ import annotations

import csv
import datetime
import io
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import get_args

import pytest

from designkit import project as folder
from designkit.costs.cash import Days
from designkit.costs.lines import drawn, price
from designkit.costs.quotes import gate, level
from designkit.costs.scenarios import resolve
from designkit.documents import (
    Snag,
    approval_sheet,
    cash,
    cost_sheet,
    due,
    finish_schedule,
    furniture_schedule,
    handover,
    handover_book,
    next_states,
    papers,
    pay_days,
    purchase_order,
    purchase_orders,
    read_xlsx,
    receiving_sheet,
    snag_list,
    state_of,
    step,
    to_csv,
    to_xlsx,
)
from designkit.documents.files import neutral
from designkit.documents.life import STATES, LifeState, open_lines
from designkit.documents.steps import life_sheet, steps_of
from designkit.errors import FileFormatError, InputError, LookupFailed
from designkit.model import CostLine, Project, QuoteLine
from designkit.reference import lookup, table
from designkit.takeoff import scope
from designkit.takeoff.scope import Section, Trade, as_scope, as_table, scope_sheet, scope_sheets
from designkit.takeoff.surfaces import floor_area
from designkit.takeoff.tables import Table

openpyxl = pytest.importorskip("openpyxl")

D = Decimal
DATA = Path(__file__).parents[2] / "data"
DEMOS = ("harbour-flat", "parlor-floor")


@pytest.fixture(scope="module")
def harbour() -> Project:
    """The demo before anything was agreed; what it holds of steps is tested apart."""
    project = folder.read(DATA / "harbour-flat").project
    back = {"ordered": "quoted"}
    return replace(
        project,
        costs=tuple(
            replace(c, more={}, status=back.get(c.status, c.status)) for c in project.costs
        ),
    )


def with_line(project: Project, id: str, **more: object) -> Project:
    """The project with one line changed."""
    assert any(c.id == id for c in project.costs)
    return replace(
        project, costs=tuple(replace(c, **more) if c.id == id else c for c in project.costs)
    )


def line(**more: object) -> CostLine:
    usual: dict[str, object] = {
        "id": "sofa",
        "item": "sofa",
        "category": "furniture",
        "likely": D(1000),
    }
    return CostLine(**{**usual, **more})


# --- the life of a line -----------------------------------------------------------


def walk(one: CostLine, *, to: LifeState, on: str, by: str = "the client") -> CostLine:
    more, status = dict(one.more), one.status
    for edit in step(one, to=to, on=on, by=by):
        column = edit.path.rsplit(".", 1)[1]
        if column == "status":
            status = edit.new
        else:
            more[column] = str(edit.new)
    return replace(one, more=more, status=status)


def test_a_piece_goes_all_the_way() -> None:
    one = line()
    assert state_of(one) == "to choose"
    day = datetime.date(2027, 1, 4)
    for to in STATES[1:9]:
        assert next_states(one)[0] == to or to in next_states(one)
        one = walk(one, to=to, on=day.isoformat())
        day += datetime.timedelta(days=3)
    assert state_of(one) == "in place"
    assert one.status == "ordered"
    assert one.more["agreed_by"] == "the client"
    assert one.more["agreed_on"] == "2027-01-07"
    one = walk(one, to="snagged", on="2027-03-01")
    one = walk(one, to="in place", on="2027-03-09")
    one = walk(one, to="closed", on="2027-04-01")
    assert next_states(one) == ()
    with pytest.raises(InputError, match="the line is closed"):
        step(one, to="snagged", on="2027-05-01")


def test_every_state_is_reached_and_left() -> None:
    reached = {"to choose"}
    for state in STATES:
        onward = next_states(line(more={"state": state}))
        assert onward or state == "closed"
        reached |= set(onward)
    assert reached == set(STATES)


def test_what_is_refused_on_inspection_is_ordered_again() -> None:
    one = line(more={"state": "received and inspected", "received_on": "2027-02-01"})
    again = walk(one, to="ordered", on="2027-02-02")
    assert again.more["ordered_on"] == "2027-02-02"


def test_work_is_done_in_its_place() -> None:
    for state in ("ordered", "acknowledged"):
        onward = next_states(line(kind="work", more={"state": state}))
        assert "in place" in onward
        assert "made" not in onward
        assert "received and inspected" not in onward


@pytest.mark.parametrize(
    ("given", "call", "match"),
    [
        ({}, {"to": "closed", "on": "2027-01-01", "by": "x"}, "one by one"),
        ({}, {"to": "agreed", "on": "2027-01-01"}, "agreed_by"),
        ({}, {"to": "agreed", "on": "1 May", "by": "x"}, "on = "),
        (
            {"more": {"state": "agreed", "agreed_on": "2027-02-01"}},
            {"to": "ordered", "on": "2027-01-01"},
            "agreed_on 2027-02-01",
        ),
        ({"kind": "discount", "likely": D(-1)}, {"to": "agreed", "on": "2027-01-01"}, "kind"),
        (
            {"more": {"state": "orderd"}, "row": 9},
            {"to": "made", "on": "2027-01-01"},
            "row 9, state",
        ),
    ],
)
def test_steps_that_are_not_allowed(
    given: dict[str, object], call: dict[str, str], match: str
) -> None:
    with pytest.raises(InputError, match=match):
        step(line(**given), **call)


def test_steps_are_edits_that_a_project_takes(tmp_path: Path) -> None:
    folder_ = tmp_path / "flat"
    folder_.mkdir()
    for file in (DATA / "harbour-flat").iterdir():
        if file.suffix in (".toml", ".csv"):
            (folder_ / file.name).write_bytes(file.read_bytes())
    opened = folder.read(folder_)
    sofa = next(c for c in opened.project.costs if c.id == "sofa_buy")
    changed = folder.apply(opened, step(sofa, to="agreed", on="2026-12-01", by="the client"))
    sofa = next(c for c in changed.costs if c.id == "sofa_buy")
    assert state_of(sofa) == "agreed"
    assert sofa.more["agreed_by"] == "the client"


def test_what_is_due(harbour: Project) -> None:
    rows = {row.line: row for row in due(harbour, today="2026-11-01")}
    sofa = rows["sofa_buy"]
    # 14 May 2027 less 10 weeks of lead, 1 of transit and 3 in hand is 5 February, a Friday;
    # the client agrees a week before.
    assert sofa.day == datetime.date(2027, 1, 29)
    assert sofa.what == "agree it with the client"
    assert "discount_lighting" not in rows
    assert "sofa_buy_plain" not in rows
    days = [row.day for row in due(harbour, today="2026-11-01") if row.day]
    assert days == sorted(days)
    agreed = with_line(harbour, "sofa_buy", more={"state": "agreed"})
    row = next(r for r in due(agreed, today="2026-11-01") if r.line == "sofa_buy")
    assert (row.what, row.day) == ("order it", datetime.date(2027, 2, 5))
    ordered = with_line(harbour, "sofa_buy", more={"state": "ordered", "ordered_on": "2027-01-04"})
    row = next(r for r in due(ordered, today="2027-01-14") if r.line == "sofa_buy")
    assert (row.day, row.days_left) == (datetime.date(2027, 1, 11), -3)
    made = with_line(
        harbour, "sofa_buy", more={"state": "acknowledged", "ordered_on": "2027-01-04"}
    )
    row = next(r for r in due(made, today="2027-01-14") if r.line == "sofa_buy")
    assert row.day == datetime.date(2027, 3, 15)  # ten weeks on
    closed = with_line(harbour, "sofa_buy", more={"state": "closed"})
    assert all(r.line != "sofa_buy" for r in due(closed, today="2027-01-14"))


def test_due_of_what_is_nearly_done(harbour: Project) -> None:
    for state, column, what, day in (
        ("received and inspected", "received_on", "deliver it", "2027-05-14"),
        ("delivered", "delivered_on", "put it in its place", "2027-05-14"),
        ("in place", "placed_on", "look at it once more and close it", "2027-05-29"),
        ("snagged", "snagged_on", "have the snag mended", "2027-05-15"),
    ):
        changed = with_line(harbour, "sofa_buy", more={"state": state, column: "2027-05-01"})
        row = next(r for r in due(changed, today="2027-05-01") if r.line == "sofa_buy")
        assert row.what == what
        assert row.day is not None
        assert row.day.isoformat() == day


def test_without_an_installation_day_nothing_is_guessed(harbour: Project) -> None:
    home = replace(harbour.home, brief=replace(harbour.home.brief, date=""))
    rows = due(replace(harbour, home=home), today="2026-11-01")
    sofa = next(r for r in rows if r.line == "sofa_buy")
    assert sofa.day is None
    assert sofa.why == "no last day to order is known"


# --- cash -----------------------------------------------------------------------------


def test_cash_by_week_of_a_whole_project(harbour: Project) -> None:
    found = cash(harbour, today="2026-11-02")
    gross = sum((x.gross for x in price(drawn(harbour.costs), money=harbour.home.money)), D(0))
    assert found.total == gross
    assert found.undated == ()
    days = pay_days(harbour, today="2026-11-02")
    # Ordered on its last day, 5 February 2027, and ten weeks under way.
    assert days["sofa_buy"].order == datetime.date(2027, 2, 5)
    assert days["sofa_buy"].delivery == datetime.date(2027, 4, 16)
    week = next(w for w in found.weeks if w.monday == datetime.date(2027, 2, 1))
    assert D("2208.00") in {p.amount for p in week.payments if p.line == "sofa_buy"}
    assert found.weeks[0].monday == datetime.date(2026, 11, 2)
    ordered = with_line(harbour, "sofa_buy", more={"ordered_on": "2026-12-01"})
    assert pay_days(ordered, today="2026-11-02")["sofa_buy"].order == datetime.date(2026, 12, 1)


@pytest.mark.parametrize("demo", DEMOS)
def test_cash_of_every_scenario_is_its_sum(demo: str) -> None:
    project = folder.read(DATA / demo).project
    home = project.home
    for scenario in ("", *home.scenarios):
        counted = resolve(project.costs, scenario=scenario, scenarios=home.scenarios).counted
        gross = sum((x.gross for x in price(counted, money=home.money)), D(0))
        found = cash(project, today="2026-11-02", scenario=scenario)
        assert found.total == gross
        later = sum((p.amount for p in found.later), D(0))
        assert later == sum((x.gross for x in price(counted, money=home.money) if x.year > 1), D(0))


def test_days_given_by_hand_replace_the_schedules(harbour: Project) -> None:
    given = {"sofa_buy": Days(order=datetime.date(2026, 11, 4), delivery=None)}
    found = cash(harbour, today="2026-11-02", days=given)
    assert any(p.line == "sofa_buy" for p in found.weeks[0].payments)
    assert [p.line for p in found.undated] == ["sofa_buy"]
    with pytest.raises(LookupFailed, match="sofa_buy"):
        cash(harbour, today="2026-11-02", days={"sofa_by": Days()})


# --- papers ---------------------------------------------------------------------------


def test_approval_prices_are_what_the_client_pays(harbour: Project) -> None:
    sheet = approval_sheet(harbour)
    rows = {row["line"]: row for row in sheet.rows}
    # 3680 with 20 % tax, and 6 chairs of 265.
    assert rows["sofa_buy"]["price with tax"] == D("4416.00")
    assert rows["chair_buy"]["price with tax"] == D("1908.00")
    assert rows["sofa_buy"]["size"] == "2300 × 950 × 780 mm"
    assert "armchair_buy" not in rows  # paid
    with pytest.raises(InputError, match="audience"):
        approval_sheet(harbour, audience="trade")


def test_an_order_is_at_what_the_studio_pays(harbour: Project) -> None:
    order = purchase_order(harbour, supplier="Supplier 4", lines=["table_buy", "chair_buy"])
    assert [row["price each"] for row in order.table.rows] == [D(1590), D(219)]
    assert order.net == D("2904.00")  # 1590 + 6 × 219
    assert order.net == sum(row["amount"] for row in order.table.rows)
    assert {row["needed by"] for row in order.table.rows} == {"2027-05-14"}
    assert order.asks
    cloth = purchase_order(harbour, supplier="Supplier 3", lines=["drape_cloth"])
    assert "flammability" in cloth.cautions[0]


def test_orders_hold_what_is_agreed_and_not_ordered(harbour: Project) -> None:
    assert purchase_orders(harbour) == {}
    project = with_line(harbour, "sofa_buy", more={"state": "agreed"})
    project = with_line(project, "rug_buy", more={"state": "agreed"})
    orders = purchase_orders(project)
    assert [(o.supplier, o.number) for o in orders.values()] == [
        ("Supplier 1", "1"),
        ("Supplier 6", "2"),
    ]
    assert [row["line"] for row in orders["Supplier 1"].table.rows] == ["sofa_buy"]


@pytest.mark.parametrize(
    ("given", "error", "match"),
    [
        ({"supplier": "Supplier 4", "audience": "client"}, InputError, "audience"),
        ({"supplier": "Suplier 4"}, LookupFailed, "write Supplier 4"),
        ({"supplier": "Supplier 4"}, InputError, "agreed"),
        ({"supplier": "Supplier 4", "lines": ["sofa_buy"]}, InputError, "its own supplier"),
        ({"supplier": "Supplier 4", "lines": ["table_by"]}, LookupFailed, "table_buy"),
        ({"supplier": "Supplier 4", "lines": []}, InputError, "lines"),
    ],
)
def test_orders_that_cannot_be_made(
    harbour: Project, given: dict[str, object], error: type[Exception], match: str
) -> None:
    with pytest.raises(error, match=match):
        purchase_order(harbour, **given)


def test_an_order_in_two_currencies_is_refused(harbour: Project) -> None:
    project = with_line(
        harbour, "table_buy", currency="GBP", rate=D("1.15"), rate_date="2026-11-01"
    )
    with pytest.raises(InputError, match="GBP and EUR"):
        purchase_order(project, supplier="Supplier 4", lines=["table_buy", "chair_buy"])
    order = purchase_order(project, supplier="Supplier 4", lines=["table_buy"])
    assert order.currency == "GBP"


def test_receiving_sheet_has_goods_on_their_way(harbour: Project) -> None:
    assert [row["line"] for row in receiving_sheet(harbour).rows] == ["armchair_buy"]
    project = with_line(
        harbour,
        "drape_cloth",
        more={"state": "received and inspected", "dye_lot": "B 7", "received": "19"},
    )
    row = next(r for r in receiving_sheet(project).rows if r["line"] == "drape_cloth")
    assert (row["dye lot"], row["received"], row["ordered"]) == ("B 7", "19", D(19))


@pytest.mark.parametrize("demo", DEMOS)
def test_each_line_of_a_demo_went_step_by_step(demo: str) -> None:
    project = folder.read(DATA / demo).project
    seen = set()
    for c in open_lines(project):
        taken = steps_of(c)
        seen.add(state_of(c))
        days = [day for _, day, _ in taken]
        assert days == sorted(days), c.id
        assert all(day <= datetime.date(2026, 11, 25) for day in days), c.id
        if not taken:
            continue
        # The same steps taken one by one are allowed, and end where the line stands.
        now = replace(c, more={}, status="quoted")
        for state, day, who in taken:
            if state == "quoted":
                continue
            for edit in step(now, to=state, on=day, by=who):  # type: ignore[arg-type]
                key = edit.path.rsplit(".", 1)[1]
                if key == "status":
                    now = replace(now, status=edit.new)
                else:
                    now = replace(now, more={**now.more, key: str(edit.new)})
        assert state_of(now) == state_of(c), c.id
        if c.status != "paid":
            assert now.status == c.status or state_of(c) in ("agreed", "quoted"), c.id
    assert seen == set(STATES), set(STATES) - seen


def test_papers_of_the_demo_are_real() -> None:
    project = folder.read(DATA / "harbour-flat").project
    orders = purchase_orders(project)
    # 1590 + 160 + 6 × 219; 3 × 55; one glass top: at trade prices.
    assert {o.supplier: o.net for o in orders.values()} == {
        "Supplier 4": D("3064.00"),
        "Supplier 3": D("165.00"),
        "Glazier 1": D("155.00"),
    }
    assert orders["Supplier 4"].gross == D("3676.80")  # 20 % tax
    agreed = [r for r in approval_sheet(project).rows if r["agreed on"]]
    assert {r["agreed by"] for r in agreed} == {"the client, in writing"}
    assert sum(bool(r["received"]) for r in receiving_sheet(project).rows) == 3
    (snag,) = snag_list(project).rows
    assert snag["trade"] == "Electrician 1"
    rows = {r["line"]: r for r in life_sheet(project).rows}
    assert rows["side_table_buy"]["what came"].startswith("1 of 1; boxes: 1; damage: foot")
    assert "received and inspected 20\u00a0Nov\u00a02026 by the designer" in str(
        rows["side_table_buy"]["steps"]
    )
    with pytest.raises(InputError, match="audience"):
        life_sheet(project, audience="client")


def test_a_pad_is_not_the_size_of_its_rug(harbour: Project) -> None:
    rows = {r["line"]: r for r in approval_sheet(harbour).rows}
    assert rows["rug_buy"]["size"] == "3000 × 2200 × 12 mm"
    assert rows["rug_pad"]["size"] == rows["rug_pad"]["finish"] == ""


def test_snags_by_room(harbour: Project) -> None:
    project = with_line(harbour, "mirror_buy", more={"state": "snagged", "snag": "a scratch"})
    project = with_line(project, "sofa_buy", more={"state": "snagged"})
    rows = snag_list(project).rows
    assert [(row["number"], row["room"]) for row in rows] == [
        (1, "living and dining room"),
        (2, "hall"),
    ]
    assert rows[0]["what"].endswith("not described yet")
    given = snag_list(project, snags=[Snag(room="", what="keys"), Snag(room="hall", what="paint")])
    assert [row["what"] for row in given.rows] == ["paint", "keys"]
    with pytest.raises(LookupFailed, match="write hall"):
        snag_list(project, snags=[Snag(room="hal", what="paint")])
    with pytest.raises(InputError, match="a few words"):
        snag_list(project, snags=[Snag(room="hall", what=" ")])


def test_handover_book_says_what_is_missing(harbour: Project) -> None:
    project = with_line(
        harbour,
        "wallcover_paper",
        more={
            "finish": "paper_stripe",
            "dye_lot": "41-B",
            "warranty": "2029-05-01",
            "care": "dust",
        },
    )
    book = handover_book(project, codes={"wall_white": "white 12"})
    things, finishes, kept = book.tables
    paper = next(row for row in kept.rows if "stripe" in str(row["what"]))
    assert paper["kept"] == "1 roll"
    assert paper["dye lot"] == "41-B"
    white = next(row for row in finishes.rows if row["finish"] == "wall_white")
    assert white["code"] == "white 12"
    assert "living and dining room: walls" in str(white["where"])
    assert white["care"]
    assert any(row["warranty until"] == "2029-05-01" for row in things.rows)
    assert any("the maker's code" in text for text in book.missing)
    assert not any("white wall paint" in text for text in book.missing)
    assert any("licensed electrician" in text for text in book.cautions)
    with pytest.raises(LookupFailed, match="write wall_white"):
        handover_book(project, codes={"wall_wite": "x"})


# --- scope of work ---------------------------------------------------------------------


def test_scope_areas_are_those_of_the_rooms(harbour: Project) -> None:
    sheets = scope_sheets(harbour)
    home = harbour.home
    floor = sheets["floor layer"]
    for row in floor.of("work"):
        assert row.quantity == round(floor_area(home.rooms[row.room]), 1)
    painter = sheets["painter"]
    ceilings = [row for row in painter.of("work") if row.text.startswith("ceiling")]
    assert {row.room for row in ceilings} == {"living", "hall"}
    doors = {row.room: row.quantity for row in painter.of("price apart") if "doors" in row.text}
    assert doors == {"living": 2, "hall": 2}


def test_hours_are_areas_times_rates(harbour: Project) -> None:
    sheet = scope_sheet(harbour, trade="paper hanger")
    area = sum(row.quantity or 0.0 for row in sheet.of("work"))
    assert sheet.hours == pytest.approx((area * 0.25, area * 0.5), abs=0.06)
    hours = sheet.of("hours")[0]
    assert (hours.low, hours.high) == sheet.hours


def test_old_surfaces_wait_behind_their_gate(harbour: Project) -> None:
    plasterer = scope_sheet(harbour, trade="plasterer")
    assert plasterer.gate
    assert plasterer.hours is None
    assert "not before sample taken + written result" in plasterer.of("gate")[0].text
    for trade in ("painter", "floor layer", "electrician", "drapery workroom"):
        assert scope_sheet(harbour, trade=trade).gate
    painter = scope_sheet(harbour, trade="painter")
    assert all("without sanding" in row.text for row in painter.of("preparation"))
    as_written = as_scope(plasterer)
    assert gate(as_written, id="x", home=harbour.home) is not None
    building = replace(harbour.home.building, sampled="yes")
    clear = replace(harbour, home=replace(harbour.home, building=building))
    opened = scope_sheet(clear, trade="plasterer")
    assert not opened.gate
    assert opened.hours is not None
    # 47.3 m² by 9.66 to 6.44 m² a worker-day of eight hours.
    area = opened.quantity
    assert opened.hours == pytest.approx((area * 8 / 9.662, area * 8 / 6.441), rel=0.002)


def test_an_electrician_is_asked_about_every_hung_lamp(harbour: Project) -> None:
    sheet = scope_sheet(harbour, trade="electrician")
    assert len(sheet.of("work")) == 2
    assert any("box marked 23 kg" in row.why for row in sheet.of("work"))
    assert any("licensed electrician" in text for text in sheet.cautions)


def test_feet_and_pounds_where_the_project_has_them() -> None:
    parlor = folder.read(DATA / "parlor-floor").project
    sheet = scope_sheet(parlor, trade="painter")
    assert sheet.unit == "ft²"
    assert sheet.of("protection")[0].quantity == pytest.approx(386.8, abs=0.05)
    lamps = scope_sheet(parlor, trade="electrician").of("work")
    assert all(" lb" in row.why for row in lamps)


def test_quotes_are_levelled_to_the_sheet(harbour: Project) -> None:
    scope_ = as_scope(scope_sheet(harbour, trade="paper hanger"))
    quotes = [
        QuoteLine(scope="paper", contractor=who, line=id, amount=amount, quantity=one.quantity)
        for who, amount in (("Contractor A", D(100)), ("Contractor B", D(120)))
        for id, one in scope_.lines.items()
    ]
    home = replace(harbour.home, scopes={"paper": scope_})
    levelled = level(replace(harbour, home=home, quotes=tuple(quotes)), scope="paper")
    assert all(q.complete for q in levelled.quotes)
    assert levelled.spread_levelled == pytest.approx(1.2)


def test_a_trade_without_work(harbour: Project) -> None:
    layout = replace(harbour.home.layouts["a"], drapes={}, lamps={})
    bare = replace(harbour, home=replace(harbour.home, layouts={"a": layout}))
    assert "electrician" not in scope_sheets(bare)
    with pytest.raises(InputError, match="drapery workroom"):
        scope_sheet(bare, trade="drapery workroom")
    with pytest.raises(InputError, match="trade"):
        scope_sheet(bare, trade="joiner")


# --- who may read what ------------------------------------------------------------------

SECRET = "Zq7secret"


def client_papers(project: Project) -> Iterator[Table]:
    yield approval_sheet(project, audience="client", states=STATES)
    yield receiving_sheet(project, audience="client", states=STATES)
    yield snag_list(project, audience="client")
    yield from handover_book(project, audience="client").tables
    yield furniture_schedule(project, audience="client")
    yield finish_schedule(project, audience="client")
    for sheet in scope_sheets(project).values():
        yield as_table(sheet, home=project.home, audience="client")


def everything_in(tables: list[Table]) -> str:
    """All that a reader of the files could find, unpacked."""
    text = [to_csv(one).decode("utf-8-sig") for one in tables]
    with zipfile.ZipFile(io.BytesIO(to_xlsx(*tables))) as packed:
        text += [entry + packed.read(entry).decode("utf-8") for entry in packed.namelist()]
    return "\n".join(text).casefold()


# Every field of a cost line that no client may read, each with a value to look for.
PRIVATE: dict[str, object] = {
    "supplier": f"{SECRET} & Sons",
    "trade_price": D("8317.46"),
    "low": D("0.463175"),
    "high": D("98317.46"),
    "note": f"margin {SECRET}",
    "category": SECRET,
    "rate_date": SECRET,
    "work": "vintage repair",
    "status": "guess",
}


@pytest.mark.parametrize("field", PRIVATE)
def test_no_private_field_reaches_a_client(harbour: Project, field: str) -> None:
    salted = replace(
        harbour,
        costs=tuple(
            replace(c, **{field: PRIVATE[field]}) if c.kind in ("purchase", "fabric") else c
            for c in harbour.costs
        ),
    )
    seen = everything_in(list(client_papers(salted)))
    for secret in (SECRET, str(PRIVATE[field]).replace("&", "&amp;")):
        assert secret.casefold() not in seen
    studio = everything_in([cost_sheet(salted)])
    assert str(PRIVATE[field]).replace("&", "&amp;").casefold() in studio


def test_own_columns_stay_in_the_studio_unless_they_are_the_clients(harbour: Project) -> None:
    public = {"agreed_by", "agreed_on", "received", "received_on", "inspected_by"}
    public |= {"warranty", "care", "dye_lot", "snag", "snagged_on", "mended_on", "state"}
    private = ("margin", "deposit", "boxes", "damage", "choice", "deliver_to", "mended_by")
    more = {column: f"{SECRET}{i}" for i, column in enumerate(private)}
    salted = replace(
        harbour,
        costs=tuple(replace(c, more={**more, "snag": "a scratch"}) for c in harbour.costs),
    )
    assert SECRET.casefold() not in everything_in(list(client_papers(salted)))
    assert not public & set(private)


def test_suppliers_named_in_free_text_are_replaced(harbour: Project) -> None:
    name = f"{SECRET} 1"
    salted = replace(
        harbour,
        costs=tuple(
            replace(
                c,
                supplier=f"{SECRET} 12" if c.id == "rug_buy" else name,
                item=f"{c.item}, made by {name.lower()}",
                more={
                    "snag": f"call {SECRET} 12",
                    "care": f"ask {name}",
                    "agreed_by": f"the client and {name}",
                    "dye_lot": f"{name} 55",
                    "warranty": f"by {SECRET} 12",
                },
            )
            for c in harbour.costs
        ),
        home=replace(
            harbour.home,
            pieces={
                id: replace(piece, name=f"{piece.name} of {name}", note=SECRET)
                for id, piece in harbour.home.pieces.items()
            },
        ),
    )
    seen = everything_in(list(client_papers(salted)))
    assert SECRET.casefold() not in seen
    assert "(supplier)" in seen


def test_no_client_column_is_a_private_one() -> None:
    private = {
        "supplier",
        "trade price",
        "price each",
        "amount",
        "note",
        "margin",
        "state",
        "trade",
        "client price",
        "boxes",
        "damage",
        "line note",
    }
    for columns in (papers._APPROVAL, papers._RECEIVING, papers._SNAGS, handover._THINGS):
        assert not private & set(columns["client"])
    assert "client" not in papers._ORDER


def test_a_supplier_reads_its_own_lines_only(harbour: Project) -> None:
    salted = replace(
        harbour,
        costs=tuple(
            replace(
                c,
                item=f"{c.item}, to go with {SECRET}",
                client_price=D("8317.46"),
                note=f"note {SECRET}",
                supplier=c.supplier if c.supplier == "Supplier 4" else SECRET,
            )
            for c in harbour.costs
        ),
    )
    order = purchase_order(salted, supplier="Supplier 4", lines=["table_buy", "chair_buy"])
    seen = everything_in([order.table])
    assert SECRET.casefold() not in seen
    assert "8317.46" not in seen
    assert "1590" in seen
    for secret in ("client price", "state", "note"):
        assert secret not in order.table.columns
    both = everything_in(
        [
            purchase_order(
                salted, supplier="Supplier 4", lines=["table_buy"], audience="studio"
            ).table
        ]
    )
    assert "8317.46" in both


def test_one_workbook_goes_to_one_audience(harbour: Project) -> None:
    with pytest.raises(InputError, match="one audience"):
        to_xlsx(approval_sheet(harbour), cost_sheet(harbour))


# --- files ---------------------------------------------------------------------------------

WILD = (
    "=1+1",
    "+A1",
    "-2+3",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    "\n=1",
    " =1",
    "＝1+1",
    '=HYPERLINK("x")',
    "-",
    "'=1",
)
TAME = ("oak", "-120.50", "+5", "1,5", "12 %", "a=b", "3-4", "−5", "", "'quoted'", "5%")


@pytest.mark.parametrize("text", WILD[:-1])
def test_what_would_run_is_neutralised(text: str) -> None:
    assert neutral(text) == "'" + text


@pytest.mark.parametrize("text", [*TAME, WILD[-1]])
def test_what_would_not_run_is_left_alone(text: str) -> None:
    assert neutral(text) == text


def wild_table() -> Table:
    rows = [{"text": text, "number": D("-1.50"), "=count": i} for i, text in enumerate(WILD)]
    return Table(
        name="a [wild]: *table?", audience="studio", columns=("text", "number", "=count"), rows=rows
    )


def test_csv_runs_nothing_and_numbers_stay_numbers() -> None:
    data = to_csv(wild_table())
    read = list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")))
    assert read[0] == ["text", "number", "'=count"]
    for (text, number, _), wild in zip(read[1:], WILD, strict=True):
        assert not text.startswith(("=", "+", "-", "@", "\t", "\r", "\n", " ="))
        assert text.removeprefix("'") == wild.removeprefix("'")
        assert number == "-1.50"
    comma = to_csv(wild_table(), delimiter=";", decimal=",").decode("utf-8-sig")
    assert ";-1,50;" in comma
    with pytest.raises(InputError, match="delimiter"):
        to_csv(wild_table(), delimiter=",", decimal=",")


def test_xlsx_holds_text_and_numbers_and_no_formula() -> None:
    """Read by the standard library's XML reader, as ECMA-376 part 1, 18.3.1 writes a sheet."""
    import xml.etree.ElementTree as ET

    with zipfile.ZipFile(io.BytesIO(to_xlsx(wild_table()))) as packed:
        sheet = ET.fromstring(packed.read("xl/worksheets/sheet1.xml"))
    space = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
    assert sheet.find(f".//{space}f") is None
    kinds = {cell.get("r"): cell.get("t") for cell in sheet.iter(f"{space}c")}
    for row in range(2, len(WILD) + 2):
        assert kinds[f"A{row}"] in ("s", "inlineStr")
        assert kinds[f"B{row}"] in (None, "n")


def test_what_goes_out_comes_in_again() -> None:
    back = read_xlsx(to_xlsx(wild_table()))
    assert back.problems == ()
    assert back.columns == ("text", "number", "=count")
    # A carriage return is a line feed in XML (XML 1.0, 2.11).
    assert [r["text"] for r in back.rows] == [w.replace("\r", "\n") for w in WILD]
    assert {r["number"] for r in back.rows} == {D("-1.5")}


def test_two_fresh_processes_write_the_same_bytes() -> None:
    code = (
        "import hashlib, sys\n"
        "from designkit import project\n"
        "from designkit.documents import *\n"
        f"p = project.read({str(DATA / 'harbour-flat')!r}).project\n"
        "t = handover_book(p).tables\n"
        "print(hashlib.sha256(to_xlsx(*t) + to_csv(approval_sheet(p))).hexdigest())\n"
    )
    digests = set()
    for seed in ("1", "2"):
        out = subprocess.run(
            [sys.executable, "-c", code],
            capture_output=True,
            text=True,
            check=True,
            env={"PYTHONHASHSEED": seed, "PATH": ""},
        )
        digests.add(out.stdout)
    assert len(digests) == 1


@pytest.mark.parametrize("demo", DEMOS)
def test_costs_go_through_a_workbook_unchanged(demo: str, tmp_path: Path) -> None:
    opened = folder.read(DATA / demo)
    back = read_xlsx(to_xlsx(cost_sheet(opened.project)))
    for file in (DATA / demo).iterdir():
        if file.suffix in (".toml", ".csv"):
            (tmp_path / file.name).write_bytes(file.read_bytes())
    (tmp_path / "costs.csv").write_bytes(to_csv(back.as_table()))
    again = folder.read(tmp_path).project.costs
    assert [replace(c, row=0) for c in again] == [replace(c, row=0) for c in opened.project.costs]


def workbook(rows: list[list[object]]) -> bytes:
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_a_sheet_full_of_formulas_is_named_cell_by_cell_and_the_rest_is_loaded() -> None:
    rows: list[list[object]] = [["id", "likely", "", "likely"]]
    rows += [[f"a{i}", f"=B{i}*2", i, 1.1] for i in range(2, 300)]
    back = read_xlsx(workbook(rows))
    assert back.columns == ("id", "likely", "column 3", "likely (4)")
    assert len(back.rows) == 298
    assert back.rows[0]["likely"] == "=B2*2"
    assert back.rows[0]["likely (4)"] == D("1.1")
    assert len(back.problems) == 299
    assert str(back.problems[1]).startswith("the workbook, row 2, likely = a formula, =B2*2")
    # Even then nothing runs when it goes out again.
    assert b",'=B2*2," in to_csv(back.as_table())


def test_days_and_yes_and_no_are_text() -> None:
    day = datetime.datetime(2027, 5, 14)
    back = read_xlsx(workbook([["a", "b", "c"], [day, True, day.replace(hour=9)], [None] * 3]))
    assert back.rows == ({"a": "2027-05-14", "b": "yes", "c": "2027-05-14 09:00:00"},)


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(FileFormatError, match="no workbook"):
        read_xlsx(b"id,likely")
    empty = io.BytesIO()
    with zipfile.ZipFile(empty, "w") as packed:
        packed.writestr("a.txt", "x")
    with pytest.raises(FileFormatError, match="no workbook"):
        read_xlsx(empty.getvalue())
    huge = io.BytesIO()
    with zipfile.ZipFile(huge, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/workbook.xml", b" " * (65 * 1024 * 1024))
    with pytest.raises(FileFormatError, match="65 MB unpacked"):
        read_xlsx(huge.getvalue())
    with pytest.raises(FileFormatError, match="no heading"):
        read_xlsx(workbook([]))
    path = tmp_path / "a.xlsx"
    path.write_bytes(workbook([["id"], ["x"]]))
    with pytest.raises(InputError, match="sheet"):
        read_xlsx(path, sheet="costs")


@pytest.mark.parametrize("cell", [float("nan"), float("inf"), D("NaN"), "x" * 40_000])
def test_cells_that_no_file_may_hold(cell: object) -> None:
    bad = Table(name="t", audience="studio", columns=("a",), rows=({"a": cell},))
    for write in (to_csv, to_xlsx):
        with pytest.raises(InputError, match="t, row 2, a"):
            write(bad)


def test_sheet_names_are_lawful_and_each_once() -> None:
    one = Table(name="x" * 40, audience="studio", columns=("a\x07",), rows=({"a\x07": "b\x00"},))
    book = openpyxl.load_workbook(io.BytesIO(to_xlsx(one, one, one)))
    assert len({name.casefold() for name in book.sheetnames}) == 3
    assert all(len(name) <= 31 for name in book.sheetnames)
    with pytest.raises(InputError, match="tables"):
        to_xlsx()


# --- words ---------------------------------------------------------------------------------


def test_every_word_stands_in_the_glossary() -> None:
    words = {row["word"] for row in table("glossary-orders")}
    seen = set(get_args(LifeState)) | set(get_args(Trade)) | set(get_args(Section))
    for columns in (papers._APPROVAL, papers._ORDER, papers._RECEIVING, papers._SNAGS):
        seen |= {column for some in columns.values() for column in some}
    seen |= {column for some in handover._THINGS.values() for column in some}
    seen |= {*handover._FINISHES, *handover._KEPT, *scope.COLUMNS}
    taken = {row["word"] for row in table("glossary-takeoff")}
    taken |= {row["word"] for row in table("glossary-costs")}
    assert seen - taken <= words
    for row in table("glossary-orders"):
        assert all(row.values())


def test_every_rule_that_is_named_exists(harbour: Project) -> None:
    for sheet in scope_sheets(harbour).values():
        for row in sheet.rows:
            for rule in row.rules:
                assert lookup(rule).source
    for one in due(harbour, today="2026-11-01"):
        for rule in one.rules:
            assert lookup(rule).source
