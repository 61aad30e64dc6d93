"""Ranges and their distributions."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from designkit.costs import (
    Range,
    chance_below,
    firmness_range,
    mean,
    quantile,
    unit_prices,
    variance,
)
from designkit.errors import InputError
from designkit.model import CostLine

THREE = st.tuples(*[st.floats(-1e5, 1e5, allow_subnormal=False)] * 3).map(sorted)


@given(THREE, st.floats(0.001, 0.999), st.sampled_from(["triangular", "beta"]))
def test_quantile_and_chance_undo_each_other(three: list[float], chance: float, shape: str) -> None:
    low, likely, high = three
    if high - low < 1e-3:
        return
    over = Range(low=low, likely=likely, high=high)
    at = quantile(over, chance=chance, shape=shape)
    assert low <= at <= high
    assert chance_below(over, limit=at, shape=shape) == pytest.approx(chance, abs=1e-6)


@given(THREE, st.sampled_from(["triangular", "beta"]))
def test_moments_stay_in_the_range(three: list[float], shape: str) -> None:
    low, likely, high = three
    over = Range(low=low, likely=likely, high=high)
    slack = 1e-9 * max(1.0, abs(low), abs(high))
    assert low - slack <= mean(over, shape=shape) <= high + slack
    # No distribution on [low, high] has a variance above a quarter of the width squared.
    assert -slack <= variance(over, shape=shape) <= (high - low) ** 2 / 4 + slack


def test_a_price_without_doubt_is_itself() -> None:
    over = Range(low=5, likely=5, high=5)
    assert quantile(over, chance=0.3) == 5
    assert variance(over) == 0
    assert chance_below(over, limit=5) == 1
    assert chance_below(over, limit=4.99) == 0


def line(likely: str, **more: object) -> CostLine:
    return CostLine(id="x", item="x", category="c", likely=Decimal(likely), **more)


def test_given_ends_win_over_the_firmness() -> None:
    low, likely, high = unit_prices(line("100", low=Decimal(97), status="guess"))
    assert (low, likely, high) == (97, 100, 140)


def test_a_discount_is_lowest_where_it_is_largest() -> None:
    low, _, high = unit_prices(line("-100", kind="discount", status="guess"))
    assert (low, high) == (-140, -80)


def test_the_projects_own_range_is_used() -> None:
    own = {"costs.range.quoted.high": 0.25}
    assert firmness_range("quoted", overrides=own) == (0, Decimal("0.25"))
    with pytest.raises(InputError, match=r"costs\.range\.quoted"):
        firmness_range("quoted", overrides={"costs.range.quoted.high": -0.1})


def test_refusals() -> None:
    with pytest.raises(InputError, match="low <= likely <= high"):
        Range(low=2, likely=1, high=3)
    with pytest.raises(InputError, match="finite"):
        Range(low=0, likely=float("nan"), high=3)
    with pytest.raises(InputError, match="status"):
        firmness_range("rumour")
    over = Range(low=1, likely=2, high=3)
    with pytest.raises(InputError, match="triangular, beta"):
        mean(over, shape="normal")
    with pytest.raises(InputError, match="0 to 1"):
        quantile(over, chance=1.2)
    with pytest.raises(InputError, match="limit"):
        chance_below(over, limit=float("inf"))
