"""The best set under the cap: against every set there is, and its words."""

from __future__ import annotations

import itertools
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from designkit.costs.budgeting import budget
from designkit.costs.sets import undominated
from designkit.costs.steering import best_set, frontier, priorities_of
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
    Wish,
)
from designkit.reference import table

D = Decimal


def line(id: str, likely: str, **more: object) -> CostLine:
    return CostLine(id=id, item=f"the {id}", likely=D(likely), category="furniture", **more)


def home(costs: tuple[CostLine, ...], *, cap: str | None = "6000", **money: object) -> Project:
    terms: dict[str, object] = {"contingency": {"furniture": D(0)}, **money}
    return Project(
        home=Home(
            name="a flat",
            money=Money(**terms),
            brief=Brief(budget=None if cap is None else D(cap)),
        ),
        costs=costs,
    )


COSTS = (
    line("sofa", "3000"),
    line("sofa_low", "2000", alternative_of="sofa"),
    line("sofa_high", "4500", alternative_of="sofa"),
    line("rug", "2000"),
    line("rug_low", "1200", alternative_of="rug"),
    line("lamp", "300"),
    line("lamp_high", "700", alternative_of="lamp", more={"choice": "the tall one"}),
    line("table", "900"),
)


# --- the lists of sets ----------------------------------------------------------


OPTIONS = st.lists(
    st.lists(st.tuples(st.integers(-20, 60), st.integers(-4, 6)), min_size=1, max_size=3),
    max_size=5,
)


@given(options=OPTIONS, cap=st.integers(-60, 300))
@settings(max_examples=200)
def test_every_cap_beside_every_set(options: list[list[tuple[int, int]]], cap: int) -> None:
    sets = undominated(options)
    best: tuple[int, int, tuple[int, ...]] | None = None
    for picked in itertools.product(*(range(len(o)) for o in options)):
        cost = sum(o[i][0] for o, i in zip(options, picked, strict=True))
        worth = sum(o[i][1] for o, i in zip(options, picked, strict=True))
        key = (-worth, cost, picked)
        if cost <= cap and (best is None or key < best):
            best = key
    place = sets.at(cap)
    if best is None:
        assert place == -1
    else:
        # Most worth, then least cost, then the earlier option of the first slot that differs.
        assert (-int(sets.worths[place]), int(sets.costs[place]), sets.options(place)) == best


def test_the_list_rises_in_cost_and_worth() -> None:
    sets = undominated([[(i * 7 % 11, i * 5 % 13) for i in range(6)] for _ in range(20)])
    assert (sets.costs[1:] > sets.costs[:-1]).all()
    assert (sets.worths[1:] > sets.worths[:-1]).all()


# --- the best set ------------------------------------------------------------------


def test_as_drawn_stays_where_it_fits_and_better_costs_more() -> None:
    found = best_set(home(COSTS, cap="6200"))
    assert found.fits
    assert found.changes == ()
    assert found.total == D(6200)
    assert found.spare == 0


def test_under_a_lower_cap_the_cheapest_loss_is_taken() -> None:
    # Sofa and rug lose alike; of two sets that are worth the same the cheaper is taken.
    found = best_set(home(COSTS, cap="5500"))
    assert [(c.line, c.to) for c in found.changes] == [("sofa", "sofa_low")]
    assert found.total == D(5200)
    assert found.words == ("the sofa_low, not the sofa: saves 1,000\u00a0€",)
    assert found.answer == "1 of 3 lines changes; 300\u00a0€ to spare."


def test_the_clients_weight_turns_the_choice() -> None:
    found = best_set(home(COSTS, cap="5500"), priorities={"sofa": 3})
    assert [(c.line, c.to) for c in found.changes] == [("rug", "rug_low")]
    assert found.total == D(5400)
    richer = best_set(home(COSTS, cap="5800"), priorities={"sofa": 3})
    assert {c.to for c in richer.changes} == {"rug_low", "lamp_high"}


def test_merits_of_the_client_replace_the_usual_ones() -> None:
    found = best_set(home(COSTS, cap="9000"), merits={"lamp_high": -5, "sofa_high": 1})
    assert found.changes == ()


def test_own_names_and_levels() -> None:
    found = best_set(home(COSTS, cap="20000"))
    assert {c.slot: (c.level, c.name) for c in found.choices} == {
        "sofa": ("higher", "higher"),
        "rug": ("as drawn", "as drawn"),
        "lamp": ("higher", "the tall one"),
    }
    assert found.worth == found.most == 800
    assert found.held == ("table",)


def test_several_cheaper_ones_share_the_way_down() -> None:
    costs = (
        line("sofa", "3000"),
        line("a", "1000", alternative_of="sofa"),
        line("b", "2000", alternative_of="sofa"),
        line("c", "3000", alternative_of="sofa"),
    )
    best = best_set(home(costs, cap="2500"))
    assert best.choices[0].line == "b"
    assert best.choices[0].merit == 1
    # One of the same price is worth the same, and the drawing is kept.
    assert best_set(home(costs, cap="3000")).changes == ()


def test_what_is_ordered_or_paid_is_held() -> None:
    costs = tuple(replace(x, status="ordered") if x.id == "sofa" else x for x in COSTS)
    found = best_set(home(costs, cap="5500"))
    assert "sofa" in found.held
    assert {c.slot for c in found.choices} == {"rug", "lamp"}


def test_a_line_may_be_left_out_only_where_the_client_says_so() -> None:
    with pytest.raises(LookupFailed, match="may_leave_out"):
        best_set(home(COSTS), may_leave_out=["lamps"])
    tight = best_set(home(COSTS, cap="4000"))
    assert not tight.fits
    assert tight.total == D(4400)
    assert "400\u00a0€ over the cap" in tight.answer
    found = best_set(home(COSTS, cap="4000"), may_leave_out=["table"])
    assert found.fits
    assert [(c.line, c.drop) for c in found.changes if c.drop] == [("table", True)]
    assert "without the table: saves 900\u00a0€" in found.words


def test_no_alternative_at_all() -> None:
    found = best_set(home((line("sofa", "3000"),)))
    assert found.fits
    assert found.choices == ()
    assert found.answer.startswith("No line has an alternative")


def test_scenario_made_of_the_changes_comes_to_the_same_sum() -> None:
    project = home(COSTS, cap="5500", tax=D("0.20"), contingency={"furniture": D("0.1")})
    found = best_set(project, cap=D(6500))
    assert found.fits
    scenario = Scenario(name="Steered", changes=found.changes)
    with_it = replace(project, home=replace(project.home, scenarios={"s": scenario}))
    column = budget(with_it, scenarios=["s"], draws=100, step=D("0.01")).columns[0]
    assert column.exact == found.sheet
    assert found.sheet <= D(6500)


def test_the_sheet_that_rounds_by_heading_stays_under_too() -> None:
    # Three lines of 0.14 with 10 % kept aside: by line 0.01 each, by heading 0.04.
    costs = tuple(
        x
        for i in range(3)
        for x in (line(f"a{i}", "0.14"), line(f"b{i}", "0.10", alternative_of=f"a{i}"))
    )
    project = home(costs, contingency={"furniture": D("0.1")})
    found = best_set(project, cap=D("0.45"))
    assert found.sheet <= D("0.45")
    assert len(found.changes) == 1
    assert best_set(project, cap=D("0.46")).changes == ()


def test_a_scenario_is_the_start_and_next_year_does_not_count() -> None:
    project = home(COSTS, cap="4300")
    scenario = Scenario(name="Wait", changes=(ScenarioChange(line="rug", year=2),))
    project = replace(project, home=replace(project.home, scenarios={"wait": scenario}))
    found = best_set(project, scenario="wait")
    assert "rug" in found.held
    assert found.total == D(4200)
    assert found.changes == ()


def test_priorities_come_from_keeps_and_wishes() -> None:
    costs = (line("a", "1", piece="sofa"), line("b", "1", piece="chest"), line("c", "1"))
    project = home(costs)
    brief = Brief(
        keeps=("chest",),
        wishes={"view": Wish(text="see the sea", kind="view", start="sofa", end="window")},
    )
    project = replace(
        project,
        home=replace(
            project.home,
            brief=brief,
            pieces={"sofa": Piece(name="sofa", kind="sofa", size=(2, 1, 0.8))},
        ),
    )
    assert priorities_of(project) == {"a": 2, "b": 2, "c": 1}


@pytest.mark.parametrize(
    ("given", "error", "match"),
    [
        ({"priorities": {"sofaa": 1}}, LookupFailed, "nearest: sofa"),
        ({"priorities": {"sofa_low": 1}}, LookupFailed, "priorities"),
        ({"priorities": {"sofa": -1}}, InputError, "0 to 100"),
        ({"priorities": {"sofa": float("nan")}}, InputError, "0 to 100"),
        ({"merits": {"sofa": float("inf")}}, InputError, "merit of sofa"),
        ({"merits": {"nothing": 1}}, LookupFailed, "merits"),
        ({"cap": D(0)}, InputError, "cap"),
        ({"cap": D("NaN")}, InputError, "cap"),
        ({"scenario": "none"}, LookupFailed, "scenario"),
    ],
)
def test_bad_input(given: dict[str, object], error: type[Exception], match: str) -> None:
    with pytest.raises(error, match=match):
        best_set(home(COSTS), **given)


def test_no_cap_and_no_lines() -> None:
    with pytest.raises(InputError, match="cap"):
        best_set(home(COSTS, cap=None))
    with pytest.raises(InputError, match=r"costs\.csv"):
        best_set(home(()))


# --- the frontier ------------------------------------------------------------------


def test_each_thousand_says_what_it_buys() -> None:
    found = frontier(home(COSTS, cap="5500"))
    assert [s.cap for s in found.steps] == [
        D(x) for x in ("5000", "5500", "6000", "6500", "7000", "8000", "9000")
    ]
    worths = [s.worth for s in found.steps]
    assert worths == sorted(worths)
    for step in found.steps:
        assert step.total <= step.cap
        # Each step is the best set at its cap.
        assert step.worth == best_set(home(COSTS), cap=step.cap).worth
    assert found.steps[-1].total == D(8100)
    assert found.answer.startswith("One more 1,000\u00a0€ buys: ")
    assert "the sofa, not the sofa_low: costs 1,000\u00a0€" in found.answer


def test_a_step_that_buys_nothing_says_what_is_needed() -> None:
    found = frontier(home(COSTS, cap="6600"), step=D(100))
    assert found.answer == (
        "One more 100\u00a0€ buys nothing yet: the next change needs 1,500\u00a0€."
    )
    assert frontier(home(COSTS, cap="9000")).answer.startswith("More money buys nothing")
    assert frontier(home(COSTS, cap="4000")).answer == (
        "The cheapest set needs 400\u00a0€ more than the cap."
    )
    with pytest.raises(InputError, match="coarser"):
        frontier(home(COSTS), step=D(1))
    with pytest.raises(InputError, match="step"):
        frontier(home(COSTS), step=D(0))


def test_without_a_cap_the_frontier_is_still_told() -> None:
    found = frontier(home(COSTS, cap=None))
    assert found.cap is None
    assert found.answer == found.steps[-1].words


def test_words_stand_in_the_glossary() -> None:
    words = {row["word"] for row in table("glossary-orders")}
    assert {"lower", "as drawn", "same price", "higher", "left out"} <= words
