"""Stratified draws: the same luck for the same names, one column a change."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from designkit.costs import (
    Item,
    Range,
    chance,
    chance_words,
    mean,
    quantile,
    simulate,
    together_ranks,
    variance,
)
from designkit.errors import InputError


def items(count: int, *, high: float = 150.0) -> list[Item]:
    return [
        Item(slot=f"s{j}", over=Range(low=80, likely=100 + j % 20, high=high), factor=1 + j % 3)
        for j in range(count)
    ]


def test_each_slice_is_drawn_once() -> None:
    chances, _, _ = together_ranks(["a", "b", "c"], draws=500, seed=3, together=0.4)
    for column in chances.T:
        assert sorted(np.floor(column * 500)) == list(range(500))


def test_the_same_seed_is_the_same_answer_and_another_is_not() -> None:
    one, two = simulate(items(8), seed=1), simulate(items(8), seed=1)
    assert np.array_equal(one.totals, two.totals)
    assert not np.array_equal(one.totals, simulate(items(8), seed=2).totals)


def test_one_changed_sum_redraws_one_column(monkeypatch: pytest.MonkeyPatch) -> None:
    drawn: list[Range] = []
    real = chance.triangular_values

    def counting(over: Range, chances: np.ndarray) -> np.ndarray:
        drawn.append(over)
        return real(over, chances)

    monkeypatch.setattr(chance, "triangular_values", counting)
    many = items(30)
    simulate(many, seed=11, together=0.3)
    assert len(drawn) == 30
    drawn.clear()
    other = Range(low=80, likely=90, high=151.5)
    simulate([Item(slot="s0", over=other), *many[1:]], seed=11, together=0.3)
    assert drawn == [other]


def test_two_totals_share_their_luck() -> None:
    slots = [f"s{j}" for j in range(10)]
    both = simulate(items(10), slots=slots, seed=4)
    # The first five alone, and the last five alone: their means add to the whole.
    parts = [
        simulate(items(10)[:5], slots=slots, seed=4),
        simulate(items(10)[5:], slots=slots, seed=4),
    ]
    assert both.mean == pytest.approx(sum(p.mean for p in parts), rel=1e-12)


@settings(max_examples=25)
@given(
    st.integers(1, 40), st.sampled_from(["triangular", "beta"]), st.sampled_from([0.0, 0.3, 0.8])
)
def test_the_mean_keeps_to_the_closed_form(count: int, shape: str, together: float) -> None:
    result = simulate(items(count), draws=2000, shape=shape, together=together)
    expected = sum(i.factor * mean(i.over, shape=shape) for i in items(count))
    assert result.closed_mean == pytest.approx(expected, rel=1e-12)
    assert result.mean == pytest.approx(expected, rel=1e-4)


def test_the_deviation_of_independent_sums_keeps_to_the_closed_form() -> None:
    result = simulate(items(60), draws=10_000)
    expected = math.sqrt(sum(i.factor**2 * variance(i.over) for i in items(60)))
    assert result.closed_deviation == pytest.approx(expected, rel=1e-12)
    assert result.deviation == pytest.approx(expected, rel=0.02)
    assert simulate(items(60), together=0.5).closed_deviation is None


@pytest.mark.parametrize("shape", ["triangular", "beta"])
def test_all_together_the_quantiles_add(shape: str) -> None:
    # A law of sums that rise in step: the quantile of the sum is the sum of quantiles.
    result = simulate(items(6), together=1.0, draws=10_000, shape=shape)
    for p in (0.1, 0.5, 0.8):
        added = sum(i.factor * quantile(i.over, chance=p, shape=shape) for i in items(6))
        assert result.quantile(p) == pytest.approx(added, rel=1e-4)
    assert result.reached == pytest.approx(1.0, abs=1e-6)


def test_together_widens_the_spread() -> None:
    apart, half, whole = (simulate(items(20), together=r).deviation for r in (0.0, 0.5, 1.0))
    assert apart < half < whole


def test_many_small_sums_are_drawn_as_one_with_their_moments() -> None:
    many = items(300)
    whole = simulate(many, together=0.2, draws=4000)
    short = simulate(many, together=0.2, draws=4000, most_columns=40)
    assert short.mean == pytest.approx(whole.closed_mean, rel=1e-4)
    assert short.deviation == pytest.approx(whole.deviation, rel=0.03)


def test_what_has_no_range_is_added() -> None:
    sure = Item(slot="sure", over=Range(low=5, likely=5, high=5), factor=2)
    result = simulate([sure], fixed=7.0)
    assert (result.mean, result.deviation, result.uncertain) == (17.0, 0.0, 0)
    assert result.chance(17.0) == 1.0
    assert result.chance(16.9) == 0.0
    assert chance_words(result, limit=17.0) == "20 of 20"
    assert chance_words(result, limit=16.0) == "0 of 20"


def test_twenty_outcomes_and_their_words_agree() -> None:
    result = simulate(items(10))
    twenty = result.twenty()
    assert len(twenty) == 20
    assert list(twenty) == sorted(twenty)
    assert chance_words(result, limit=twenty[2]) == "3 of 20"
    assert chance_words(result, limit=float(result.totals[-1])) == "more than 19 of 20"
    assert chance_words(result, limit=float(result.totals[0])) == "fewer than 1 of 20"


def test_the_curve_rises_to_one() -> None:
    curve = simulate(items(10)).curve(points=50)
    chances = [c for _, c in curve]
    assert chances == sorted(chances)
    assert chances[-1] == 1.0
    assert len(curve) == 50


def test_refusals() -> None:
    twice = [*items(2), items(1)[0]]
    with pytest.raises(InputError, match="each name once"):
        simulate(twice)
    with pytest.raises(InputError, match="each name once"):
        together_ranks(["a", "a"], draws=500)
    with pytest.raises(InputError, match="draw more often"):
        simulate(items(60), draws=200)
    with pytest.raises(InputError, match="together"):
        simulate(items(2), together=-0.5)
    with pytest.raises(InputError, match="seed"):
        simulate(items(2), seed=-1)
    with pytest.raises(InputError, match="shape"):
        simulate(items(2), shape="normal")
    with pytest.raises(InputError, match="factor of s0"):
        simulate([Item(slot="s0", over=Range(low=1, likely=2, high=3), factor=-1)])
    with pytest.raises(InputError, match="fixed"):
        simulate(items(2), fixed=float("nan"))
    result = simulate(items(2))
    with pytest.raises(InputError, match="limit"):
        result.chance(float("nan"))
    with pytest.raises(InputError, match="0 to 1"):
        result.quantile(2)
    with pytest.raises(InputError, match="points"):
        result.curve(points=1)
