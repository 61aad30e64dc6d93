"""Dates and the network of work against figures from outside designkit."""

from __future__ import annotations

import csv
import datetime
import io
import itertools
from decimal import Decimal

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from designkit.model import Brief, Building, CostLine, Home, Project, Task
from designkit.reference import table, value
from designkit.schedule.calendars import Calendar
from designkit.schedule.dates import latest_orders, order_by
from designkit.schedule.gates import check_order, stage_of
from designkit.schedule.network import Network, chance_by, expected_days, network

# A textbook network of 14 activities, no named source (values E02): three points,
# predecessors, then early start and finish, late start and finish, slack.
# The rows A to F were seen; G to N are worked out from them by the same passes.
NETWORK = """id,a,m,b,after,te,var,ES,EF,LS,LF,slack
A,5,5,7,,5.3333,0.1111,0,5.3333,0,5.3333,0
B,1,2,5,,2.3333,0.4444,0,2.3333,8,10.3333,8
C,5,5,5,A,5,0,5.3333,10.3333,5.3333,10.3333,0
D,4,8,13,A,8.1667,2.25,5.3333,13.5,7.1667,15.3333,1.8333
E,1,10,17,B C,9.6667,7.1111,10.3333,20,10.3333,20,0
F,1,5,7,D,4.6667,1,13.5,18.1667,15.3333,20,1.8333
G,2,6,9,D,5.8333,1.3611,13.5,19.3333,18.5,24.3333,5
H,4,4,6,E F,4.3333,0.1111,20,24.3333,20,24.3333,0
I,2,7,10,G H,6.6667,1.7778,24.3333,31,24.3333,31,0
J,2,4,7,I,4.1667,0.6944,31,35.1667,33.5,37.6667,2.5
K,6,10,13,I,9.8333,1.3611,31,40.8333,31,40.8333,0
L,2,6,6,J,5.3333,0.4444,35.1667,40.5,37.6667,43,2.5
M,2,2,3,K,2.1667,0.0278,40.8333,43,40.8333,43,0
N,7,7,12,L M,7.8333,0.6944,43,50.8333,43,50.8333,0
"""
ROWS = list(csv.DictReader(io.StringIO(NETWORK)))


def solved() -> Network:
    return network(
        [
            Task(
                id=r["id"],
                task=r["id"],
                low=Decimal(r["a"]),
                likely=Decimal(r["m"]),
                high=Decimal(r["b"]),
                after=tuple(r["after"].split()),
            )
            for r in ROWS
        ]
    )


@pytest.mark.reference("E02", of="schedule")
@pytest.mark.parametrize("row", ROWS, ids=lambda r: r["id"])
def test_fourteen_activities_forward_and_backward(row: dict[str, str]) -> None:
    """Textbook network, no named source (values E02)."""
    step = solved().steps[row["id"]]
    found = (
        step.work,
        step.variance,
        step.early_start,
        step.early_finish,
        step.late_start,
        step.late_finish,
        step.slack,
    )
    printed = tuple(float(row[k]) for k in ("te", "var", "ES", "EF", "LS", "LF", "slack"))
    assert found == pytest.approx(printed, abs=1.01e-4)
    assert step.critical == (float(row["slack"]) == 0)


@pytest.mark.reference("E02", of="schedule")
def test_fourteen_activities_length_and_chance() -> None:
    """The same network: chain A-C-E-H-I-K-M-N, 50.83 days, variance 11.194, deviation 3.346,
    chance of 55 days 0.8935."""
    result = solved()
    assert result.critical == tuple("ACEHIKMN")
    assert result.length == pytest.approx(50.83, abs=0.005)
    assert result.variance == pytest.approx(11.194, abs=0.0006)
    assert result.deviation == pytest.approx(3.346, abs=0.0005)
    assert chance_by(result, days=55) == pytest.approx(0.8935, abs=0.0002)


@pytest.mark.reference("E01", of="schedule")
def test_three_points_mean_and_deviation() -> None:
    """PERT (values E01): (a + 4m + b) / 6 and (b − a) / 6, here 80, 100, 150."""
    task = Task(id="t", task="t", low=Decimal(80), likely=Decimal(100), high=Decimal(150))
    mean, variance = expected_days(task)
    assert mean == pytest.approx(105)
    assert variance**0.5 == pytest.approx(11.667, abs=0.0005)


@st.composite
def task_lists(draw: st.DrawFn) -> list[Task]:
    count = draw(st.integers(1, 12))
    tasks = []
    for i in range(count):
        after = draw(st.sets(st.integers(0, i - 1), max_size=3)) if i else set()
        tasks.append(
            Task(
                id=f"t{i}",
                task="work",
                likely=Decimal(draw(st.integers(0, 9))),
                after=tuple(f"t{j}" for j in sorted(after)),
            )
        )
    return draw(st.permutations(tasks))


@pytest.mark.reference("networkx", of="schedule")
@given(tasks=task_lists())
@settings(max_examples=100)
def test_length_and_starts_beside_networkx(tasks: list[Task]) -> None:
    """networkx longest path beside ours, for the whole and up to every task."""
    graph = nx.DiGraph()
    for task in tasks:
        graph.add_edge(("in", task.id), ("out", task.id), weight=float(task.likely))
        for before in task.after:
            graph.add_edge(("out", before), ("in", task.id), weight=0.0)
    result = network(tasks)
    assert result.length == pytest.approx(nx.dag_longest_path_length(graph))
    for id, step in result.steps.items():
        upto = graph.subgraph({*nx.ancestors(graph, ("out", id)), ("out", id)})
        onward = graph.subgraph({*nx.descendants(graph, ("in", id)), ("in", id)})
        assert step.early_finish == pytest.approx(nx.dag_longest_path_length(upto))
        rest = nx.dag_longest_path_length(onward)
        assert step.late_start == pytest.approx(result.length - rest)
    chain = [result.steps[id] for id in result.critical]
    assert sum(s.duration for s in chain) == pytest.approx(result.length)
    for before, after in itertools.pairwise(chain):
        assert before.task.id in after.task.after


@pytest.mark.reference("numpy busday", of="schedule")
@given(
    day=st.dates(datetime.date(2020, 1, 1), datetime.date(2032, 1, 1)),
    count=st.integers(-300, 300),
    span=st.integers(-900, 900),
    off=st.sets(st.dates(datetime.date(2020, 1, 1), datetime.date(2032, 1, 1)), max_size=12),
)
@settings(max_examples=150)
def test_work_days_beside_numpy(
    day: datetime.date, count: int, span: int, off: set[datetime.date]
) -> None:
    """numpy's business-day functions beside ours."""
    calendar = Calendar(holidays=frozenset(off))
    roll = "backward" if count < 0 else "forward"
    beside = np.busday_offset(day, count, roll=roll, holidays=sorted(off))
    assert calendar.step(day, count) == beside.astype(object)
    end = day + datetime.timedelta(days=span)
    low, high = min(day, end), max(day, end)
    counted = int(np.busday_count(low, high, holidays=sorted(off)))
    assert calendar.between(day, end) == (counted if span >= 0 else -counted)


@pytest.mark.reference("P17", of="schedule")
@pytest.mark.parametrize(
    ("kind", "low", "high"),
    [
        ("upholstery", 6, 12),
        ("drapery", 4, 6),
        ("re-cover", 8, 12),
        ("wallcovering", 1, 6),
        ("rug", 12, 30),
        ("lighting", 4, 12),
    ],
)
def test_usual_lead_times(kind: str, low: float, high: float) -> None:
    """Common practice, no source (values P17; wallcovering, rug and lighting from memory)."""
    assert value(f"schedule.lead.{kind}.low") == low
    assert value(f"schedule.lead.{kind}.high") == high


@pytest.mark.reference("P17", of="schedule")
def test_latest_order_is_lead_transit_and_slack_before_the_day() -> None:
    """Common practice, no source (values P17): lead + transit + 2 to 4 weeks in hand. The days
    are counted with a printed calendar: 15 October 2026 is a Thursday, 15 weeks before it is
    Thursday 2 July."""
    assert order_by("2026-10-15", lead=12, transit=0, slack=3) == datetime.date(2026, 7, 2)
    # 11 October is a Sunday: the last work day before a week earlier is Friday 2 October.
    assert order_by("2026-10-11", lead=1) == datetime.date(2026, 10, 2)
    assert 2 <= value("schedule.slack") <= 4
    sofa = CostLine(id="s", item="sofa made to order", category="furniture", likely=Decimal(1))
    home = Home(name="h", brief=Brief(date="2026-10-15"))
    (row,) = latest_orders(
        Project(home=home, costs=(sofa,)), today="2026-01-01", transit=0, slack=3
    )
    assert row.lead == 12
    assert row.day == datetime.date(2026, 7, 2)
    assert row.quick == datetime.date(2026, 8, 13)  # 6 + 3 weeks before


@pytest.mark.reference("P18", of="schedule")
def test_order_of_work_is_the_trades() -> None:
    """Common practice, from memory (values P18)."""
    printed = [
        "survey",
        "first fix electrics",
        "ceiling",
        "drying",
        "prime and paint",
        "oak floor laid",
        "second fix",
        "final measure for drapery",
        "wallcovering hung",
        "clean",
        "rugs and furniture in",
        "table lamps placed",
        "drapery hung and dressed",
        "pictures hung",
        "touch-up",
        "snag list",
    ]
    tasks = [Task(id=str(i), task=words, likely=Decimal(1)) for i, words in enumerate(printed)]
    assert [stage_of(t) for t in tasks] == list(range(1, 17))
    named = [r["class"] for r in table("work-order") if r["stage"]]
    assert len(named) == 16
    # One after the other as printed: nothing to say. Turned round: every pair is named.
    chain = [
        Task(id=t.id, task=t.task, likely=t.likely, after=(str(i - 1),) if i else ())
        for i, t in enumerate(tasks)
    ]
    new = Building(year=2020)
    assert [f for f in check_order(chain, building=new) if f.verdict == "fails"] == []
    back = [
        Task(id=t.id, task=t.task, likely=t.likely, after=(str(i + 1),) if i < 15 else ())
        for i, t in enumerate(tasks)
    ]
    assert len([f for f in check_order(back, building=new) if f.verdict == "fails"]) == 16 * 15 / 2


@pytest.mark.reference("D36", "D37", of="schedule")
@pytest.mark.parametrize("year", [None, 1950, 1977, 1985])
def test_nothing_old_is_disturbed_before_its_sample(year: int | None) -> None:
    """40 CFR 745 names housing before 1978, textured finishes were used into the mid-1980s
    (values D36, D37): each, and an unknown year, counts as old."""
    tasks = [Task(id="c", task="scrape the textured ceiling", likely=Decimal(3))]
    (found,) = check_order(tasks, building=Building(year=year))
    assert found.verdict == "fails"
    assert found.severity == "safety"
    assert "sample" in found.mend
