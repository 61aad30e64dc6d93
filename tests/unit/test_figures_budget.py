"""Budget and chance sheets: readable whatever the budget is, and the result's own numbers."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from figures_money import BLOCK, D, cases, hostile

from designkit.costs import Budget, budget, money_text
from designkit.errors import InputError, LookupFailed
from designkit.figures import ink
from designkit.figures.budget import scenarios
from designkit.figures.chance import chance, enough
from designkit.figures.chart import amount_text, axis_unit, number_text, ticks
from designkit.figures.check import faults
from designkit.figures.drawing import Circle, Drawing, Hatch, Line, Polygon, Text
from designkit.project import read
from designkit.shipped import shipped

CASES = cases()
DEMOS = {"harbour-flat": "A4", "parlor-floor": "Letter"}


@pytest.fixture(scope="module", params=DEMOS)
def demo(request: pytest.FixtureRequest) -> tuple[Budget, str]:
    return budget(read(shipped(f"data/{request.param}")).project), DEMOS[request.param]


def words(drawing: Drawing) -> list[str]:
    return [item.text for item in drawing.items if isinstance(item, Text)]


@pytest.mark.parametrize("figure", [scenarios, chance])
def test_the_demos_can_be_read(demo: tuple[Budget, str], figure) -> None:
    result, paper = demo
    for drawing in (figure(result, block=BLOCK, paper=paper), figure(result, page=True)):
        assert faults(drawing) == []
        assert not [w for w in words(drawing)[:-12] if w.endswith("…")]


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("figure", [scenarios, chance])
def test_a_hostile_budget_can_be_read(figure, name: str) -> None:
    result = CASES[name]
    for drawing in (
        figure(result, block=BLOCK),
        figure(result, block=BLOCK, paper="Letter"),
        figure(result, page=True),
    ):
        assert [str(fault) for fault in faults(drawing)] == []


def test_every_row_total_and_distance_is_the_result(demo: tuple[Budget, str]) -> None:
    result, paper = demo
    text = words(scenarios(result, block=BLOCK, paper=paper))
    joined = " ".join(text)
    code = result.currency
    for column in result.columns:
        assert money_text(column.now, code=code) in text
        assert money_text(column.to_pay, code=code) in text
        assert f"{money_text(abs(column.cap_now), code=code)} " in joined
        for row in column.rows:
            label = amount_text(row.now, code=code)
            if row.later:
                label += f" + {amount_text(row.later, code=code)}"
            assert label in text
        for change in column.changes:
            # Words are broken into lines, never changed.
            assert set(change.split()) <= set(joined.replace(";", " ").split())


def test_bars_are_to_one_scale_and_as_long_as_their_sums() -> None:
    result = hostile(categories=5, scenarios=3)
    drawing = scenarios(result, block=BLOCK)
    grey = [
        max(x for x, _ in item.outline) - min(x for x, _ in item.outline)
        for item in drawing.items
        if isinstance(item, Polygon) and item.fill == ink.GREY_3 and not item.about
    ]
    sums = [float(row.now) for row in result.columns[0].rows]
    rows = grey[: len(sums)]
    scale = rows[0] / sums[0]
    for long, amount in zip(rows, sums, strict=True):
        assert long == pytest.approx(scale * amount, rel=1e-9)


def test_what_is_paid_next_year_is_hatched_and_only_that() -> None:
    def hatches(result: Budget) -> int:
        return sum(isinstance(item, Hatch) for item in scenarios(result, block=BLOCK).items)

    assert hatches(hostile(scenarios=3)) == 0
    phased = hostile(scenarios=3, phased=True)
    later = sum(row.later != 0 for column in phased.columns for row in column.rows)
    bars = sum(bar.years == "both years" and bar.name == "Scenario 2" for bar in phased.bars)
    assert hatches(phased) == later + bars


def test_the_cap_is_the_only_accent() -> None:
    with_cap, without = hostile(), hostile(cap=None)
    for figure in (scenarios, chance):
        accented = [
            item.text
            for item in figure(with_cap, block=BLOCK).items
            if isinstance(item, Text) and item.ink == ink.TIMBER
        ]
        assert accented
        assert all("cap" in text for text in accented)
        assert not any(
            getattr(item, "ink", "") == ink.TIMBER or getattr(item, "fill", "") == ink.TIMBER
            for item in figure(without, block=BLOCK).items
        )


def test_small_rows_are_summed_where_there_are_too_many() -> None:
    result = hostile(categories=60, scenarios=2)
    drawing = scenarios(result, block=BLOCK)
    text = words(drawing)
    other = next(w for w in text if w.startswith("Other, "))
    merged = int(other.split()[1])
    shown = [row for row in result.columns[0].rows if row.name[:1].upper() + row.name[1:] in text]
    assert len(shown) == len(result.categories) - merged
    rest = result.columns[0].now - sum((row.now for row in shown), Decimal(0))
    assert amount_text(rest, code="EUR") in text


def test_dots_are_twenty_a_row_and_filled_as_the_chance_says(demo: tuple[Budget, str]) -> None:
    result, paper = demo
    drawing = chance(result, block=BLOCK, paper=paper)
    for column in result.columns:
        dots = [
            item
            for item in drawing.items
            if isinstance(item, Circle) and item.about == column.id and item.fill != ink.TIMBER
            and item.weight == 0.3
        ]  # fmt: skip
        assert len(dots) == 20
        filled = sum(dot.fill == ink.INK for dot in dots)
        assert filled == column.outcome_now.of_twenty(float(result.cap))


def test_no_dot_stands_across_the_cap() -> None:
    result = hostile(cap=D(6000), scenarios=3)
    drawing = chance(result, block=BLOCK)
    cap = next(
        item.points[0][0]
        for item in drawing.items
        if isinstance(item, Line) and item.ink == ink.TIMBER
    )
    dots = [i for i in drawing.items if isinstance(i, Circle) and i.weight == 0.3]
    assert dots
    for dot in dots:
        assert abs(dot.centre[0] - cap) > dot.radius
        assert (dot.fill == ink.INK) == (dot.centre[0] < cap)


def test_the_curve_passes_where_the_draws_say() -> None:
    result = hostile(scenarios=1)
    drawing = chance(result, block=BLOCK)
    outcome = result.columns[0].outcome_now
    curve = max((i for i in drawing.items if isinstance(i, Line)), key=lambda i: len(i.points))
    low, high = curve.points[0][1], curve.points[-1][1]
    mark = next(
        i for i in drawing.items if isinstance(i, Circle) and i.fill == ink.PAPER and not i.about
    )
    assert (mark.centre[1] - low) / (high - low) == pytest.approx(0.8, abs=0.004)
    near = min(curve.points, key=lambda point: abs(point[0] - mark.centre[0]))
    assert (near[1] - low) / (high - low) == pytest.approx(0.8, abs=0.05)
    assert outcome.chance(outcome.quantile(0.8)) == pytest.approx(0.8, abs=0.01)


@pytest.mark.parametrize(
    "amount", [0.0, 1.0, 12.34, 999.5, 44_582.4, 44_600.0, 1e9 + 1, 0.001234, -1234.5]
)
def test_enough_is_never_less_and_has_three_figures(amount: float) -> None:
    found = float(enough(amount))
    assert found >= amount - 1e-9 * abs(amount)
    if amount:
        assert found - amount <= 10 ** (math.floor(math.log10(abs(amount))) - 2) * (1 + 1e-9)


def test_text_alternatives_say_the_sums(demo: tuple[Budget, str]) -> None:
    result, paper = demo
    for figure in (scenarios, chance):
        drawing = figure(result, block=BLOCK, paper=paper)
        for column in result.columns:
            assert column.name in drawing.text
            assert money_text(column.now, code=result.currency) in drawing.text
    for gate in result.gates:
        assert gate.what in scenarios(result, page=True).text
        assert gate.what.split(":")[0] in " ".join(words(scenarios(result, page=True)))


def test_the_same_result_gives_the_same_drawing(demo: tuple[Budget, str]) -> None:
    result, _ = demo
    assert scenarios(result, page=True) == scenarios(result, page=True)
    assert chance(result, page=True) == chance(result, page=True)


def test_a_sheet_needs_its_foot_and_a_known_paper() -> None:
    result = hostile()
    with pytest.raises(InputError, match="TitleBlock"):
        scenarios(result)
    with pytest.raises(LookupFailed, match="A4"):
        chance(result, block=BLOCK, paper="A44")


def test_ticks_are_round_rising_and_inside() -> None:
    for low, high in ((33.1, 45.2), (0.0, 1.0), (-5.0, 5.0), (0.0012, 0.0019), (1e9, 3.3e9)):
        found, decimals = ticks(low, high)
        assert 2 <= len(found) <= 6
        assert found == sorted(found)
        assert low - 1e-9 <= found[0] < found[-1] <= high * (1 + 1e-9)
        step = found[1] - found[0]
        first = round(step / 10 ** math.floor(math.log10(step) + 1e-9), 6)
        assert first in (1.0, 2.0, 5.0)
        assert [float(f"{t:.{decimals}f}") for t in found] == pytest.approx(found)


def test_numbers_have_a_true_minus_and_no_minus_zero() -> None:
    assert number_text(-1234.5) == "−1,234"
    assert number_text(-0.04) == "0"
    assert axis_unit(9_999, code="USD") == (1.0, "$")
    assert axis_unit(44_000, code="USD") == (1000.0, "thousand $")
