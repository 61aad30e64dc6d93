"""Money: rounding, tax, shares, printing, and what is refused."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from designkit.costs import (
    converted,
    currency,
    gross_of,
    money_text,
    net_of,
    rounded,
    share_out,
    tax_per_invoice,
    tax_per_line,
    to_step,
)
from designkit.errors import InputError, LookupFailed

CENTS = st.integers(-10_000_00, 10_000_00).map(lambda n: Decimal(n) / 100)
RATES = st.integers(0, 100).map(lambda n: Decimal(n) / 100)


@given(st.lists(CENTS, min_size=1, max_size=12), RATES)
def test_shares_add_up_and_none_is_off_by_a_cent(nets: list[Decimal], rate: Decimal) -> None:
    parts = [net * rate for net in nets]
    total = rounded(sum(parts, Decimal(0)))
    shares = share_out(total, parts=parts)
    assert sum(shares) == total
    assert all(abs(share - part) < Decimal("0.01") for share, part in zip(shares, parts))


@given(CENTS, RATES)
def test_net_and_its_tax_make_the_gross(gross: Decimal, rate: Decimal) -> None:
    net = net_of(gross, rate=rate)
    tax = rounded(gross * rate / (1 + rate))
    assert net + tax == gross


@given(st.lists(CENTS, min_size=1, max_size=12), RATES)
def test_tax_per_invoice_is_within_half_a_cent_of_the_truth(
    nets: list[Decimal], rate: Decimal
) -> None:
    total = tax_per_invoice(nets, rate=rate).total
    assert abs(total - sum(nets) * rate) <= Decimal("0.005")


def test_share_out_gives_the_cent_to_the_first_of_equals() -> None:
    assert share_out(Decimal("1.00"), parts=[Decimal(1) / 3] * 3) == (
        Decimal("0.34"),
        Decimal("0.33"),
        Decimal("0.33"),
    )


def test_share_out_refuses_a_total_that_is_not_the_sum() -> None:
    with pytest.raises(InputError, match="the sum of the parts, rounded"):
        share_out(Decimal("2.00"), parts=[Decimal("0.5")] * 2)


@pytest.mark.parametrize(
    ("amount", "code", "text"),
    [
        ("66000", "EUR", "66,000\u00a0€"),
        ("-4180", "EUR", "−4,180\u00a0€"),
        ("1200.5", "EUR", "1,200.50\u00a0€"),
        ("1200.5", "USD", "$1,200.50"),
        ("1200", "GBP", "£1,200"),
        ("1200.5", "JPY", "¥1,201"),
        ("1200.5", "SEK", "1,200.50\u00a0SEK"),
        ("0.0005", "KWD", "0.001\u00a0KWD"),
        ("-0.001", "EUR", "0\u00a0€"),
    ],
)
def test_a_sum_is_printed_in_the_house_style(amount: str, code: str, text: str) -> None:
    assert money_text(Decimal(amount), code=code) == text


def test_minor_units_can_be_forced_or_left_off() -> None:
    assert money_text(Decimal("12"), minor="always") == "12.00\u00a0€"
    assert money_text(Decimal("12.5"), minor="never") == "13\u00a0€"
    assert money_text(Decimal("12"), sign=True) == "+12\u00a0€"


def test_a_step_rounds_halves_away_from_zero() -> None:
    assert to_step(Decimal("12.5"), step=Decimal(1)) == 13
    assert to_step(Decimal("-12.5"), step=Decimal(1)) == -13
    assert to_step(Decimal("1249"), step=Decimal(100)) == 1200


def test_a_conversion_is_rounded_once_to_the_other_minor_unit() -> None:
    assert converted(Decimal("19.99"), rate=Decimal("160.5"), code="JPY") == Decimal("3208")


def test_refusals_say_how_to_mend() -> None:
    with pytest.raises(LookupFailed, match="nearest: EUR"):
        currency("eur")
    with pytest.raises(InputError, match="finite"):
        rounded(Decimal("NaN"))
    with pytest.raises(InputError, match=r"write 0\.20 for 20 %"):
        gross_of(Decimal(1), rate=Decimal("-0.2"))
    with pytest.raises(InputError, match="rate of the day"):
        converted(Decimal(1), rate=Decimal(0))
    with pytest.raises(InputError, match="step"):
        to_step(Decimal(1), step=Decimal(0))
    with pytest.raises(InputError, match="tax"):
        tax_per_line([Decimal(1)], rate=Decimal("Infinity"))
