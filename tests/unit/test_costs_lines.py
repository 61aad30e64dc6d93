"""Cost lines: pricing, all-in cost, and what is refused with row and column."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from designkit.costs import (
    all_in,
    contingency_rate,
    drawn,
    grouped,
    kind_of_work,
    price,
    problems,
    recover_cost,
    remark_holds_from,
    to_frame,
)
from designkit.errors import InputError, LookupFailed
from designkit.model import CostLine, Money

D = Decimal
TAXED = Money(tax=D("0.20"))


def line(id: str = "x", likely: str = "100", **more: object) -> CostLine:
    values: dict[str, object] = {"item": id, "category": "furniture", "status": "paid", "row": 4}
    return CostLine(id=id, likely=D(likely), **{**values, **more})


CHAIR = (
    line("buy", "310", piece="chair", quantity=D(2)),
    line("in", "95", piece="chair", kind="delivery"),
    line("labour", "52", piece="chair", kind="labour", quantity=D(28), unit="hour"),
    line("fabric", "68", piece="chair", kind="fabric", quantity=D(11), unit="m"),
    line("foam", "180", piece="chair", kind="repair", quantity=D(2)),
    line("out", "95", piece="chair", kind="delivery"),
    line("aside", "150", piece="chair", kind="allowance"),
    line("other", "999", piece="table"),
)


def test_all_in_cost_is_the_sum_of_the_lines_of_the_piece() -> None:
    # By hand: 620 + 95 + 1456 + 748 + 360 + 95 + 150 = 3524, and a fifth more.
    result = all_in(price(CHAIR, money=TAXED), piece="chair")
    assert result.total == D("4228.80")
    assert result.ticket == D("744.00")
    assert result.added == D("3484.80")
    assert result.total == sum(row.gross for row in result.rows)
    assert {row.kind: row.net for row in result.rows}["delivery"] == 190
    assert "re-cover labour 1,747.20\u00a0€" in result.why


def test_a_piece_without_lines_is_named() -> None:
    with pytest.raises(LookupFailed, match="nearest: chair"):
        all_in(price(CHAIR, money=TAXED), piece="chai")


def test_the_alternative_is_not_counted() -> None:
    lines = [line("a"), line("b", alternative_of="a")]
    assert [x.line.id for x in drawn(lines)] == ["a"]


def test_prices_with_tax_in_them_keep_their_gross() -> None:
    money = Money(tax=D("0.20"), prices_include_tax=True)
    (priced,) = price([line(likely="120")], money=money)
    assert (priced.net, priced.tax, priced.gross) == (D("100.00"), D("20.00"), D("120.00"))


def test_an_invoice_is_one_supplier_and_one_rate() -> None:
    lines = [
        line("a", "0.99", supplier="Supplier 1"),
        line("b", "0.99", supplier="Supplier 1"),
        line("c", "0.99", supplier="Supplier 1"),
        line("d", "0.99", supplier="Supplier 2"),
        line("e", "0.99", supplier="Supplier 1", tax=D("0.05")),
    ]
    priced = price(lines, money=Money(tax=D("0.20"), tax_per="invoice"))
    # 3 × 0.99 × 0.2 = 0.594; 0.198; 0.0495
    assert sum(x.tax for x in priced[:3]) == D("0.59")
    assert priced[3].tax == D("0.20")
    assert priced[4].tax == D("0.05")
    assert all(x.net + x.tax == x.gross for x in priced)


PRICES = st.integers(0, 99_999).map(lambda n: str(D(n) / 100))


@given(
    st.lists(st.tuples(PRICES, st.sampled_from("ab")), min_size=1, max_size=15),
    st.sampled_from(["line", "invoice"]),
    st.booleans(),
)
def test_totals_are_sums_of_lines(rows: list[tuple[str, str]], tax_per: str, include: bool) -> None:
    lines = [
        line(f"l{i}", amount, category=name, supplier=name) for i, (amount, name) in enumerate(rows)
    ]
    money = Money(tax=D("0.19"), tax_per=tax_per, prices_include_tax=include)
    priced = price(lines, money=money)
    groups = grouped(priced)
    assert sum(g.gross for g in groups) == sum(x.gross for x in priced)
    assert sum(g.lines for g in groups) == len(rows)
    if include:
        assert sum(x.gross for x in priced) == sum(D(amount) for amount, _ in rows)


def test_groups_by_room_supplier_and_work() -> None:
    lines = [line("a", room="hall"), line("b", room="living"), line("c", room="hall", kind="work")]
    priced = price(lines, money=Money())
    assert [(g.name, g.net) for g in grouped(priced, by="room")] == [("hall", 200), ("living", 100)]
    assert [g.name for g in grouped(priced, by="kind of work")] == ["furnishing", "trades"]
    with pytest.raises(LookupFailed, match="supplier"):
        grouped(priced, by="colour")


def test_another_currency_takes_its_dated_rate() -> None:
    abroad = line(likely="100", currency="USD", rate=D("0.9235"), rate_date="2026-03-01")
    (priced,) = price([replace(abroad, quantity=D(3))], money=Money())
    assert priced.net == D("277.05")


def test_kind_of_work() -> None:
    labour = line(kind="labour", piece="chair")
    assert kind_of_work(labour, old=("chair",)) == "vintage repair"
    assert kind_of_work(labour) == "furnishing"
    assert kind_of_work(line(kind="work")) == "trades"
    assert kind_of_work(line(kind="work", work="opening up")) == "opening up"
    with pytest.raises(LookupFailed, match="opening up"):
        kind_of_work(line(work="opening"))


def test_contingency_of_the_category_goes_before_that_of_the_work() -> None:
    own = {"old ceiling": D("0.25"), "trades": D("0.12")}
    assert contingency_rate("trades", category="old ceiling", own=own) == D("0.25")
    assert contingency_rate("trades", category="painting", own=own) == D("0.12")
    assert contingency_rate("opening up", own=own) == D("0.2")
    assert contingency_rate("furnishing", overrides={"costs.contingency.furnishing": 0.07}) == D(
        "0.07"
    )


def test_no_contingency_on_what_is_paid_sold_or_a_fee() -> None:
    lines = [
        line("a"),
        line("b", status="quoted"),
        line("c", kind="fee", status="guess"),
        line("d", "-5", kind="sale", status="guess"),
    ]
    assert [x.contingency for x in price(lines, money=Money())] == [0, D("0.1"), 0, 0]


@pytest.mark.parametrize(
    ("change", "column", "mend"),
    [
        ({"low": D(120)}, "low", "put the three in order"),
        ({"high": D(80)}, "high", "put the three in order"),
        ({"likely": D(-1), "status": "paid"}, "likely", "take the minus off"),
        ({"kind": "discount"}, "likely", "write it with a minus"),
        ({"quantity": D(0)}, "quantity", "take the line out"),
        ({"quantity": D(-2)}, "quantity", "take the line out"),
        ({"likely": D("NaN")}, "likely", "write the number"),
        ({"tax": D(20)}, "tax", "write 0.20 for 20 %"),
        ({"currency": "USD"}, "rate", "type the rate"),
        ({"currency": "USD", "rate": D(0)}, "rate", "USD"),
        ({"currency": "USD", "rate": D("0.9")}, "rate_date", "type the day"),
        ({"currency": "EURO", "rate": D(1), "rate_date": "2026-01-01"}, "currency", "capitals"),
        ({"kind": "gift"}, "kind", "use one of these"),
        ({"status": "hoped"}, "status", "use one of these"),
        ({"work": "digging"}, "work", "leave it empty"),
        ({"category": " "}, "category", "heading"),
    ],
)
def test_a_wrong_line_is_named_with_row_and_column(
    change: dict[str, object], column: str, mend: str
) -> None:
    found = problems([replace(line(), **change)], money=Money())
    assert found[0].what == f"costs.csv row 4, {column}"
    assert mend in found[0].mend
    with pytest.raises(type(found[0]), match=f"costs.csv row 4, {column}"):
        price([replace(line(), **change)], money=Money())


def test_all_problems_come_at_once_and_the_rest_stays_usable() -> None:
    lines = [
        line("a", low=D(120), row=2),
        line("b", row=3),
        line("b", row=4),
        line("c", alternative_of="bb", row=5),
        line("d", alternative_of="e", row=6),
        line("e", alternative_of="b", row=7),
    ]
    found = problems(lines, money=Money(contingency={"furnitur": D("0.1"), "trades": D(2)}))
    assert [p.what for p in found] == [
        "costs.csv row 2, low",
        "costs.csv row 4, id",
        "costs.csv row 5, alternative_of",
        "costs.csv row 6, alternative_of",
        "money.contingency.furnitur",
        "money.contingency.trades",
    ]
    assert "write furniture" in found[4].mend
    bad = {p.what.split(",")[0] for p in found}
    good = [x for x in lines if f"costs.csv row {x.row}" not in bad]
    assert [x.line.row for x in price(good, money=Money())] == [3, 7]


def test_the_first_problem_says_how_many_more() -> None:
    with pytest.raises(InputError, match=r"\(1 more\)"):
        price([line(low=D(120)), line("y", quantity=D(0))], money=Money())


def test_unknown_project_currency_and_rates() -> None:
    assert problems([], money=Money(currency="EURO"))[0].given == "EURO"
    assert problems([], money=Money(fee=D(10)))[0].what == "money.fee"


def test_a_hundred_thousand_lines() -> None:
    lines = [line(f"l{i}", str(i % 500), category=f"c{i % 9}", row=i + 2) for i in range(100_000)]
    assert problems(lines, money=TAXED) == ()
    priced = price(drawn(lines), money=TAXED)
    assert sum(g.net for g in grouped(priced)) == 200 * sum(range(500))


def test_the_remark_about_the_ticket_holds_only_above_a_price() -> None:
    assert remark_holds_from(D("3484.80"), seat="armchair") == D("6969.60")
    assert remark_holds_from(D(60), seat="drop-in seat") == D("400.00")
    with pytest.raises(InputError, match="added"):
        remark_holds_from(D(-1), seat="armchair")
    with pytest.raises(LookupFailed, match="drop-in seat"):
        remark_holds_from(D(1), seat="throne")


def test_recover_cost_by_hand() -> None:
    cost = recover_cost(
        D(14), hourly=D(52), fabric=D("5.5"), fabric_price=D(68), filling=D(180), transports=D(95)
    )
    assert cost == D("1377.00")
    with pytest.raises(InputError, match="hourly"):
        recover_cost(D(14), hourly=D(-1))


def test_rows_as_a_data_frame() -> None:
    frame = to_frame(price(CHAIR, money=TAXED))
    assert list(frame["id"]) == [x.id for x in CHAIR]
    assert sum(frame["gross"]) == sum(x.gross for x in price(CHAIR, money=TAXED))
