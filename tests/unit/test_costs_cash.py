"""Cash by week and the studio's fee: every cent once."""

from __future__ import annotations

import datetime
from dataclasses import replace
from decimal import Decimal
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from designkit.costs.cash import Days, Payment, PaymentKind, cash_by_week, share_on_order
from designkit.costs.fees import FeeBase, FeeKind, FeeModel, fee_of
from designkit.costs.lines import Counted, price
from designkit.errors import InputError, LookupFailed
from designkit.model import CostKind, CostLine, Money
from designkit.reference import lookup, table

D = Decimal
DAY = datetime.date.fromisoformat
MONEY = Money(tax=D("0.20"))


def line(id: str, likely: str, **more: object) -> CostLine:
    return CostLine(id=id, item=f"the {id}", likely=D(likely), category="furniture", **more)


def test_half_on_order_and_the_rest_on_delivery() -> None:
    priced = price([line("sofa", "1000.01"), line("cloth", "100", kind="fabric")], money=MONEY)
    found = cash_by_week(
        priced,
        days={
            "sofa": Days(order=DAY("2027-01-06"), delivery=DAY("2027-01-25")),
            "cloth": Days(order=DAY("2027-01-08"), delivery=DAY("2027-01-20")),
        },
    )
    # 1000.01 + 200.00 tax; half of 1200.01 is rounded up, the rest is what is left.
    assert [(w.monday.isoformat(), str(w.total)) for w in found.weeks] == [
        ("2027-01-04", "720.01"),
        ("2027-01-11", "0"),
        ("2027-01-18", "0"),
        ("2027-01-25", "600.00"),
    ]
    assert found.weeks[0].on_order == D("720.01")
    assert found.weeks[-1].so_far == found.total == D("1320.01")
    assert found.heaviest is found.weeks[0]
    assert "4\u00a0January\u00a02027" in found.answer


def test_paid_and_ordered_lines_and_lines_without_a_day() -> None:
    lines = [
        line("held", "100", status="paid"),
        line("sofa", "1000", status="ordered"),
        line("rug", "500"),
        line("lamp", "200"),
    ]
    priced = price([*lines[:3], Counted(line=lines[3], slot="lamp", year=2)], money=Money())
    found = cash_by_week(priced, days={"sofa": Days(delivery=DAY("2027-03-01"))})
    assert found.paid == D(600)  # the held piece, and the share on the sofa's order
    assert [p.line for p in found.undated] == ["rug", "rug"]
    assert sum(p.amount for p in found.undated) == D(500)
    assert [p.line for p in found.later] == ["lamp", "lamp"]
    assert found.total == D(1800)
    assert "500.00\u00a0€ has no day yet" in found.answer or "500\u00a0€ has no day" in found.answer


def test_start_puts_what_was_due_before_under_paid() -> None:
    priced = price([line("sofa", "1000")], money=Money())
    days = {"sofa": Days(order=DAY("2027-01-04"), delivery=DAY("2027-02-01"))}
    found = cash_by_week(priced, days=days, start=DAY("2027-01-20"))
    assert found.paid == D(500)
    assert found.weeks[0].monday == DAY("2027-01-18")
    assert found.weeks[-1].so_far == D(1000)


def test_the_studios_bills_stand_apart() -> None:
    bill = Payment(
        line="fee", item="half the fee", supplier="", kind="fee", day=DAY("2027-01-04"), amount=D(9)
    )
    found = cash_by_week([], days={}, fees=[bill])
    assert found.weeks[0].fee == found.total == D(9)
    with pytest.raises(InputError, match="fees, kind"):
        cash_by_week([], days={}, fees=[replace(bill, kind="on order")])


@pytest.mark.parametrize(
    ("written", "share"), [("0.3", "0.3"), ("30 %", "0.3"), ("100%", "1"), ("0", "0"), ("", "0.5")]
)
def test_a_column_says_what_the_supplier_asks(written: str, share: str) -> None:
    assert share_on_order(line("sofa", "1", more={"deposit": written})) == D(share)


@pytest.mark.parametrize("written", ["half", "30", "-10 %", "101 %"])
def test_a_wrong_share_is_named_with_its_row(written: str) -> None:
    with pytest.raises(InputError, match=r"costs\.csv row 7, deposit"):
        share_on_order(line("sofa", "1", more={"deposit": written}, row=7))


def test_bad_days() -> None:
    with pytest.raises(InputError, match="delivery day"):
        Days(order=DAY("2027-02-01"), delivery=DAY("2027-01-01"))
    with pytest.raises(LookupFailed, match="nearest: sofa"):
        cash_by_week(price([line("sofa", "1")], money=Money()), days={"sofaa": Days()})
    with pytest.raises(InputError, match="slip in a year"):
        cash_by_week(
            price([line("sofa", "100")], money=Money()),
            days={"sofa": Days(order=DAY("2027-02-01"), delivery=DAY("2072-02-01"))},
        )


@given(
    rows=st.lists(
        st.tuples(
            st.decimals(-9999, 9999, places=2),
            st.integers(0, 400),
            st.integers(0, 200),
            st.sampled_from(["guess", "ordered", "paid"]),
            st.decimals(0, 1, places=3),
        ),
        max_size=12,
    ),
    start=st.one_of(st.none(), st.integers(0, 600)),
)
@settings(max_examples=80)
def test_no_cent_is_lost(rows: list[tuple[D, int, int, str, D]], start: int | None) -> None:
    first = DAY("2027-01-01")
    lines, days = [], {}
    for i, (likely, order, wait, status, share) in enumerate(rows):
        lines.append(
            CostLine(
                id=str(i),
                item="it",
                category="all",
                likely=likely,
                kind="purchase" if likely >= 0 else "credit",
                status=status,
                more={"deposit": str(share)},
            )
        )
        if i % 3:
            day = first + datetime.timedelta(days=order)
            days[str(i)] = Days(order=day, delivery=day + datetime.timedelta(days=wait))
    priced = price(lines, money=MONEY)
    begin = None if start is None else first + datetime.timedelta(days=start)
    found = cash_by_week(priced, days=days, start=begin)
    assert found.total == sum((x.gross for x in priced), D(0))
    for one, two in zip(found.weeks, found.weeks[1:], strict=False):
        assert two.monday - one.monday == datetime.timedelta(weeks=1)
        assert two.so_far - one.so_far == two.total


def test_every_kind_of_line_has_its_share() -> None:
    for kind in get_args(CostKind):
        assert 0 <= lookup(f"costs.cash.on_order.{kind}").number <= 1


# --- the fee -----------------------------------------------------------------------


PRICED = price(
    [
        line("sofa", "1000"),
        line("cloth", "200", kind="fabric"),
        line("off", "-100", kind="discount"),
        line("paint", "500", kind="work"),
        line("hours", "300", kind="labour"),
        line("sold", "-400", kind="sale"),
        line("old fee", "99", kind="fee"),
    ],
    money=MONEY,
)


@pytest.mark.parametrize(
    ("on", "base"), [("goods", "1100"), ("works", "800"), ("goods and works", "1900")]
)
def test_what_a_rate_stands_on(on: FeeBase, base: str) -> None:
    part = fee_of(PRICED, models=[FeeModel(kind="rate", amount=D("0.15"), on=on)])[0]
    assert part.base == D(base)
    assert part.net == D(base) * D("0.15")
    assert part.tax == 0
    assert f"15\u00a0% of {int(base):,}" in part.why


def test_parts_add_up_and_have_their_ends() -> None:
    fixed, rate, least = fee_of(
        PRICED,
        models=[
            FeeModel(kind="fixed", amount=D(2500)),
            FeeModel(kind="rate", amount=D("0.5"), at_most=D(600)),
            FeeModel(kind="per hour", amount=D(80), hours=D(2), at_least=D(400)),
        ],
        tax=D("0.20"),
    )
    assert (fixed.net, fixed.tax, fixed.gross) == (D(2500), D(500), D(3000))
    assert rate.net == D(600)
    assert least.net == D(400)
    assert "at least 400" in least.why


def test_a_base_below_nought_counts_as_nought() -> None:
    priced = price([line("off", "-100", kind="discount")], money=MONEY)
    assert fee_of(priced, models=[FeeModel(kind="rate", amount=D("0.1"))])[0].net == 0


@pytest.mark.parametrize(
    "given",
    [
        {"kind": "share", "amount": D(1)},
        {"kind": "rate", "amount": D(15)},
        {"kind": "rate", "amount": D("0.1"), "on": "all"},
        {"kind": "fixed", "amount": D(-1)},
        {"kind": "fixed", "amount": D("NaN")},
        {"kind": "fixed", "amount": D(1), "at_least": D(5), "at_most": D(4)},
    ],
)
def test_bad_fees(given: dict[str, object]) -> None:
    with pytest.raises(InputError, match="fee, "):
        FeeModel(**given)


def test_no_model_and_bad_tax() -> None:
    with pytest.raises(InputError, match="models"):
        fee_of(PRICED, models=[])
    with pytest.raises(InputError, match="tax"):
        fee_of(PRICED, models=[FeeModel(kind="fixed", amount=D(1))], tax=D(20))


def test_words_stand_in_the_glossary() -> None:
    words = {row["word"] for row in table("glossary-orders")}
    for literal in (PaymentKind, FeeKind, FeeBase):
        assert set(get_args(literal)) <= words
