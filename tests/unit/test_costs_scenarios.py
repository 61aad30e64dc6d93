"""Scenarios: what they change, in lines and in words, and what is refused."""

from __future__ import annotations

from decimal import Decimal

import pytest

from designkit.costs import chain, choices, resolve
from designkit.errors import InputError, LookupFailed
from designkit.model import CostLine, Scenario, ScenarioChange

D = Decimal


def line(id: str, likely: str = "100", **more: object) -> CostLine:
    return CostLine(id=id, item=f"the {id}", category="furniture", likely=D(likely), **more)


LINES = (
    line("sofa", "3000", low=D(2900), high=D(3300)),
    line("sofa_b", "2400", alternative_of="sofa"),
    line("sofa_c", "2000", alternative_of="sofa"),
    line("chairs", "200", quantity=D(6)),
    line("rug", "900", unit="m²", quantity=D("6.5")),
)


def with_changes(
    *changes: ScenarioChange, start: str = "", **others: Scenario
) -> dict[str, object]:
    scenarios = {"s": Scenario(name="S", start=start, changes=changes), **others}
    return {"scenario": "s", "scenarios": scenarios}


def test_as_drawn_counts_what_is_no_alternative() -> None:
    result = resolve(LINES)
    assert [x.line.id for x in result.counted] == ["sofa", "chairs", "rug"]
    assert result.changes == ()


def test_every_kind_of_change() -> None:
    result = resolve(
        LINES,
        **with_changes(
            ScenarioChange(line="sofa", to="sofa_b"),
            ScenarioChange(line="chairs", quantity=D(4)),
            ScenarioChange(line="chairs", year=2),
            ScenarioChange(line="rug", drop=True, text="bare floor"),
        ),
    )
    assert [(x.slot, x.line.id, x.year) for x in result.counted] == [
        ("sofa", "sofa_b", 1),
        ("chairs", "chairs", 2),
    ]
    assert result.counted[1].line.quantity == 4
    assert [c.words for c in result.changes] == [
        ("the sofa_b, not the sofa",),
        ("the chairs: 4, not 6", "the chairs next year"),
        ("bare floor",),
    ]
    assert [c.line for c in result.changes] == ["sofa_b", "chairs", ""]


def test_a_new_price_takes_its_range_along() -> None:
    result = resolve(LINES, **with_changes(ScenarioChange(line="sofa", likely=D(1500))))
    sofa = result.counted[0].line
    assert (sofa.low, sofa.likely, sofa.high) == (1450, 1500, 1650)
    assert result.changes[0].words == ("the sofa at 1,500\u00a0€, not 3,000\u00a0€",)


def test_a_scenario_starts_from_another() -> None:
    lower = Scenario(name="Lower", changes=(ScenarioChange(line="sofa", to="sofa_b"),))
    result = resolve(
        LINES,
        **with_changes(
            ScenarioChange(line="sofa_b", to="sofa_c"),
            ScenarioChange(line="sofa", to="sofa"),
            ScenarioChange(line="rug", quantity=D(4)),
            start="lower",
            lower=lower,
        ),
    )
    # Swapped twice and back: nothing is changed about the sofa in the end.
    assert [x.line.id for x in result.counted] == ["sofa", "chairs", "rug"]
    assert [c.slot for c in result.changes] == ["rug"]
    assert result.changes[0].words == ("the rug: 4 m², not 6.5",)


def test_choices_start_with_the_line_as_drawn() -> None:
    assert [x.id for x in choices(LINES)["sofa"]] == ["sofa", "sofa_b", "sofa_c"]


def test_a_ring_of_scenarios_is_named() -> None:
    ring = {"a": Scenario(name="A", start="b"), "b": Scenario(name="B", start="a")}
    with pytest.raises(InputError, match="a starts from b starts from a"):
        chain("a", scenarios=ring)
    with pytest.raises(InputError, match="leave the start of a empty"):
        chain("a", scenarios={"a": Scenario(name="A", start="a")})


def test_an_unknown_start_is_named() -> None:
    with pytest.raises(LookupFailed, match=r"scenarios\.a\.start = lowr.*write lower"):
        chain("a", scenarios={"a": Scenario(name="A", start="lowr"), "lower": Scenario(name="L")})


@pytest.mark.parametrize(
    ("change", "error", "match"),
    [
        (ScenarioChange(line="soffa", drop=True), LookupFailed, "nearest: sofa"),
        (ScenarioChange(line="sofa", to="sofa_d"), LookupFailed, "change 1, to"),
        (ScenarioChange(line="sofa", to="rug"), InputError, "alternative_of = sofa"),
        (ScenarioChange(line="sofa_b", quantity=D(2)), InputError, "sofa counts there"),
        (ScenarioChange(line="rug"), InputError, "changes nothing"),
        (ScenarioChange(line="rug", quantity=D(0)), InputError, "drop = true"),
        (ScenarioChange(line="rug", likely=D("NaN")), InputError, "finite"),
        (ScenarioChange(line="rug", year=0), InputError, "next year"),
        (ScenarioChange(line="rug", drop=True, quantity=D(2)), InputError, "one of the two"),
    ],
)
def test_a_change_that_cannot_be_made_is_named(
    change: ScenarioChange, error: type[Exception], match: str
) -> None:
    with pytest.raises(error, match=match):
        resolve(LINES, **with_changes(change))


def test_what_is_left_out_cannot_be_swapped_later() -> None:
    first = Scenario(name="F", changes=(ScenarioChange(line="sofa", drop=True),))
    with pytest.raises(InputError, match="the line is left out there"):
        resolve(LINES, **with_changes(ScenarioChange(line="sofa", to="sofa_b"), start="f", f=first))
