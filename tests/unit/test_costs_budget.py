"""The budget: rows that add up, the cap as the brief says, chances, drivers."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from designkit.costs import Budget, budget, to_frame
from designkit.errors import InputError, LookupFailed
from designkit.model import (
    Brief,
    CostLine,
    Home,
    Money,
    Piece,
    Project,
    Scenario,
    ScenarioChange,
)

D = Decimal


def line(id: str, likely: str, category: str, **more: object) -> CostLine:
    return CostLine(id=id, item=f"the {id}", likely=D(likely), category=category, **more)


COSTS = (
    line("sofa", "3000", "furniture", status="quoted", supplier="Supplier 1"),
    line("sofa_b", "2200.20", "furniture", status="catalogue", alternative_of="sofa"),
    line("chairs", "250.10", "furniture", quantity=D(6), status="catalogue"),
    line("armchair", "700", "old pieces", status="paid", piece="old"),
    line("cloth", "68", "old pieces", quantity=D(5), unit="m", kind="fabric", piece="old"),
    line("paint", "1200", "painting", kind="work", status="guess"),
    line("discount", "-150", "furniture", kind="discount", status="quoted"),
    line("sold", "-300", "old pieces", kind="sale", status="guess"),
)
SCENARIOS = {
    "lower": Scenario(
        name="Lower", changes=(ScenarioChange(line="sofa", to="sofa_b", text="sofa in cloth B"),)
    ),
    "phased": Scenario(
        name="Phased", start="lower", changes=(ScenarioChange(line="chairs", year=2),)
    ),
}


def project(
    cap: str | None = "9000", tax: bool = True, fee: bool = True, **money: object
) -> Project:
    brief = Brief(
        budget=None if cap is None else D(cap), budget_includes_tax=tax, budget_includes_fee=fee
    )
    return Project(
        home=Home(
            name="a flat",
            money=Money(**{"tax": D("0.20"), "fee": D("0.10"), **money}),
            brief=brief,
            scenarios=SCENARIOS,
            pieces={
                "old": Piece(name="old chair", kind="armchair", size=(0.8, 0.8, 0.8), old=True)
            },
        ),
        costs=COSTS,
    )


def rows(result: Budget, scenario: str = "") -> dict[str, Decimal]:
    return {row.name.split(",")[0]: row.now for row in result.column(scenario).rows}


def test_the_rows_by_hand() -> None:
    # Net: furniture 3000 + 1500.60 − 150 = 4350.60; old pieces 700 + 340 − 300 = 740;
    # painting 1200. Contingency: 10 % of 4350.60, 20 % of the cloth 340 (old piece),
    # 15 % of 1200; none on what is paid or sold. Fee: 10 % of 6590.60, not on the sale.
    result = budget(project(), step=D("0.01"))
    assert rows(result) == {
        "furniture": D("5220.72"),
        "old pieces": D("888.00"),
        "painting": D("1440.00"),
        "Contingency": D("819.67"),  # (435.06 + 68 + 180) × 1.2
        "Fee": D("790.87"),  # 659.06 × 1.2
    }
    column = result.column("")
    assert column.total == D("9159.26") == column.exact
    assert column.words == "159.26\u00a0€ over the cap"
    assert result.categories[3] == "Contingency, 10–20\u00a0%"


def test_printed_totals_are_sums_of_printed_rows() -> None:
    for column in budget(project()).columns:
        assert column.now == sum(row.now for row in column.rows)
        assert column.later == sum(row.later for row in column.rows)
        assert all(row.now == row.now.to_integral_value() for row in column.rows)
        assert abs(column.total - column.exact) <= D("0.5") * 2 * len(column.rows)


def test_whole_units_give_way_where_they_would_mislead() -> None:
    # Exact 9159.26: whole rows add to 9160, which would be over a cap of 9159.50.
    result = budget(project(cap="9159.50"), scenarios=[""])
    assert result.step == D("0.01")
    assert result.columns[0].cap_now == D("0.24")
    assert budget(project(), scenarios=[""]).step == 1


def test_the_cap_without_tax_and_fee() -> None:
    column = budget(project(tax=False, fee=False), step=D("0.01")).column("")
    assert column.total == D("4350.60") + 740 + 1200 + D("683.06")
    assert {row.name: row.now for row in column.apart} == {
        "Fee": D("659.06"),
        "Tax": D("1258.12") + D("136.61") + D("131.81"),
    }
    # Whatever the cap holds, the client pays the same.
    assert column.to_pay == budget(project(), step=D("0.01")).column("").total


def test_a_fee_line_is_apart_with_the_fee() -> None:
    with_fee = replace(project(fee=False), costs=(*COSTS, line("f", "500", "studio", kind="fee")))
    column = budget(with_fee, step=D("0.01")).column("")
    assert column.apart[0].now == D("600.00") + D("790.87")
    assert "studio" not in [row.name for row in column.rows]


def test_scenarios_say_what_changed() -> None:
    result = budget(project())
    assert [column.name for column in result.columns] == ["As drawn", "Lower", "Phased"]
    lower = {row.name: row for row in result.column("lower").rows}
    assert lower["furniture"].changed
    assert lower["furniture"].words == ("sofa in cloth B",)
    assert not lower["painting"].changed
    assert lower[result.categories[3]].changed
    assert result.column("phased").changes == ("sofa in cloth B", "the chairs next year")
    assert "Lower stays under, with 1 change." in result.answer


def test_next_year_is_a_column_of_its_own() -> None:
    result = budget(project(), step=D("0.01"))
    phased, lower = result.column("phased"), result.column("lower")
    furniture = {row.name: row for row in phased.rows}["furniture"]
    assert furniture.later == D("1800.72")
    # Contingency and fee are rounded once a year: cents apart, no more.
    assert abs(phased.exact - lower.exact) <= D("0.04")
    assert phased.cap_now == D(9000) - phased.now
    assert phased.words == "this year, then 2,160.86\u00a0€ next"  # 1800.72 + 180.07 + 180.07
    assert [bar.years for bar in result.bars if bar.scenario == "phased"] == [
        "this year",
        "both years",
    ]


def test_a_scenario_without_changes_is_the_first_column() -> None:
    home = project().home
    same = replace(home, scenarios={**SCENARIOS, "base": Scenario(name="Base")})
    result = budget(replace(project(), home=same))
    assert [column.name for column in result.columns] == ["Base", "Lower", "Phased"]


def test_the_draws_turn_about_the_priced_sum() -> None:
    result = budget(project(), together=0.0)
    column = result.column("")
    assert column.outcome.priced == pytest.approx(float(column.exact), abs=1e-9)
    # Closed form by hand: each mean less its likely, a third of (down + up) of the
    # triangle, times tax, contingency and fee.
    moves = {
        "sofa": 3000 * 0.10 / 3 * (1.2 * 1.1 + 0.12),
        "chairs": 1500.60 * (0.15 - 0.05) / 3 * (1.2 * 1.1 + 0.12),
        "cloth": 340 * (0.4 - 0.2) / 3 * (1.2 * 1.2 + 0.12),
        "paint": 1200 * (0.4 - 0.2) / 3 * (1.2 * 1.15 + 0.12),
        "discount": -150 * 0.10 / 3 * (1.2 * 1.1 + 0.12),
        "sold": -300 * (0.4 - 0.2) / 3 * 1.2,
    }
    expected = float(column.exact) + sum(moves.values())
    assert column.outcome.closed_mean == pytest.approx(expected, abs=0.01)
    assert column.outcome.mean == pytest.approx(expected, rel=1e-4)


def test_without_its_contingency_the_sum_is_that_much_lower() -> None:
    spent = budget(project(), step=D("0.01")).column("").outcome.priced
    kept = budget(project(), step=D("0.01"), contingency_spent=0).column("").outcome.priced
    assert spent - kept == pytest.approx(819.67, abs=1e-6)


def test_all_paid_is_under_its_own_cap_without_doubt() -> None:
    paid = tuple(replace(x, status="paid", low=None, high=None) for x in COSTS)
    exact = budget(replace(project(cap=None), costs=paid)).columns[0].exact
    result = budget(replace(project(cap=str(exact)), costs=paid), scenarios=[""])
    assert result.columns[0].cap_now == 0
    assert result.columns[0].words == "exactly the cap"
    assert result.columns[0].chance == 1.0
    assert result.columns[0].chance_words == "20 of 20"


def test_prices_with_tax_in_them_are_drawn_with_tax_in_them() -> None:
    result = budget(project(prices_include_tax=True), step=D("0.01"))
    assert rows(result)["painting"] == D("1200.00")
    column = result.column("")
    assert column.outcome.priced == pytest.approx(float(column.exact), abs=1e-9)


def test_drivers_are_the_change_of_the_total_itself() -> None:
    result = budget(project(), step=D("0.01"), most_drivers=20)
    by_name = {(d.name, d.kind): d for d in result.drivers}
    paint = by_name["the paint", "price"]
    assert (paint.low_words, paint.high_words) == ("960\u00a0€", "1,680\u00a0€")
    dear = tuple(replace(x, likely=D(1680), status="paid") if x.id == "paint" else x for x in COSTS)
    # Paid lines carry no contingency: leave it out on both sides.
    more = budget(replace(project(), costs=dear), step=D("0.01"))
    change = rows(more)["painting"] - rows(result)["painting"]
    fee = rows(more)["Fee"] - rows(result)["Fee"]
    assert paint.high_change == change + fee + D("86.40")  # 15 % of 480, with tax
    swap = by_name["the sofa or the sofa_b", "choice"]
    assert swap.high_change == 0
    drop = result.column("lower").exact - result.column("").exact
    assert swap.low_change == pytest.approx(drop, abs=D("0.02"))
    assert by_name["the cloth, per m", "price"].low_words == "54.40\u00a0€"
    swings = [d.swing for d in result.drivers]
    assert swings == sorted(swings, reverse=True)


def test_the_same_call_gives_the_same_answer() -> None:
    one, two = budget(project()), budget(project())
    assert one.records() == two.records()
    assert [c.outcome.p80 for c in one.columns] == [c.outcome.p80 for c in two.columns]


def test_without_a_cap_nothing_is_held_against_it() -> None:
    result = budget(project(cap=None))
    assert result.columns[0].cap_now is None
    assert result.columns[0].chance is None
    assert result.answer.startswith("As drawn comes to")


def test_other_currencies_have_their_own_step() -> None:
    assert budget(project(currency="JPY", cap="900000")).step == 1
    assert budget(project(currency="KWD")).step == 1


def test_as_a_data_frame() -> None:
    frame = to_frame(budget(project()))
    assert set(frame["scenario"]) == {"As drawn", "Lower", "Phased"}
    under = frame[(frame["scenario"] == "Lower") & frame["under the cap"]]
    assert sum(under["this year"]) == budget(project()).column("lower").now


def test_refusals() -> None:
    with pytest.raises(InputError, match="write the first line"):
        budget(replace(project(), costs=()))
    with pytest.raises(LookupFailed, match="write lower"):
        budget(project(), scenarios=["lowr"])
    with pytest.raises(InputError, match=r"brief\.budget"):
        budget(project(cap="-1"))
    with pytest.raises(InputError, match="contingency_spent"):
        budget(project(), contingency_spent=2)
    with pytest.raises(InputError, match="scenario"):
        budget(project()).column("none")
    wrong = Scenario(name="W", changes=(ScenarioChange(line="paint", likely=D(-5)),))
    home = replace(project().home, scenarios={"w": wrong})
    with pytest.raises(InputError, match="likely = -5"):
        budget(replace(project(), home=home))
