"""The schedule sheet: the programme's own dates, no order or gate lost, nothing clashes."""

from __future__ import annotations

import datetime
from dataclasses import replace
from decimal import Decimal

import pytest
from figures_money import BLOCK, LONG

from designkit.errors import InputError
from designkit.figures import ink
from designkit.figures.chart import days_text
from designkit.figures.check import faults
from designkit.figures.drawing import Drawing, Line, Polygon, Text
from designkit.figures.schedule import schedule, schedule_answer
from designkit.model import Brief, Building, CostLine, Home, Project, Task
from designkit.project import read
from designkit.schedule.programme import Programme, programme
from designkit.shipped import shipped

D = Decimal


def words(drawing: Drawing) -> list[str]:
    return [item.text for item in drawing.items if isinstance(item, Text)]


def made(
    *,
    tasks: int = 6,
    orders: int = 5,
    long: bool = False,
    date: str = "2027-06-11",
    today: str = "2027-01-15",
    sample: bool = True,
) -> Programme:
    """A programme with a sample, a final measure and orders of many lead times."""
    tail = f", {LONG}" if long else ""
    rows = []
    before: tuple[str, ...] = ()
    if sample:
        rows.append(
            Task(id="s", task=f"ceiling sample, written result{tail}", likely=D(1), lead_weeks=D(2))
        )
        before = ("s",)
    for i in range(tasks):
        id = f"t{i}"
        rows.append(Task(id=id, task=f"work {i + 1}{tail}", likely=D(1 + i % 6), after=before))
        before = (id,) if i % 3 else before
    rows.append(Task(id="m", task="final measure for drapery", likely=D(1), after=before))
    rows.append(Task(id="d", task="drapery made up", likely=D(1), lead_weeks=D(4), after=("m",)))
    costs = tuple(
        CostLine(
            id=f"c{i}",
            item=f"thing {i + 1}{tail}",
            category="furniture",
            kind="purchase",
            likely=D(100),
            lead_time=None if i % 9 == 8 else D(1 + (i * 5) % 23),
            status="quoted",
        )
        for i in range(orders)
    )
    home = Home(name="A flat", brief=Brief(date=date), building=Building(year=1950, sampled="no"))
    return programme(Project(home=home, tasks=tuple(rows), costs=costs), today=today)


CASES = {
    "usual": {},
    "long names": {"long": True},
    "forty tasks, eighty orders": {"tasks": 40, "orders": 80},
    "no orders": {"orders": 0},
    "in a hurry": {"date": "2027-01-22"},
    "today": {"date": "2027-01-15"},
    "past": {"date": "2026-11-20"},
    "in two years": {"date": "2029-01-12"},
    "all": {"tasks": 25, "orders": 40, "long": True, "date": "2027-03-01"},
}


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("paper", ["A4", "Letter", "page"])
def test_a_hostile_programme_can_be_read(name: str, paper: str) -> None:
    result = made(**CASES[name])
    drawing = (
        schedule(result, page=True)
        if paper == "page"
        else schedule(result, block=BLOCK, paper=paper)
    )
    assert [str(fault) for fault in faults(drawing)] == []
    assert drawing.text.startswith(schedule_answer(result))


@pytest.fixture(scope="module", params=["harbour-flat", "parlor-floor"])
def demo(request: pytest.FixtureRequest) -> Programme:
    return programme(read(shipped(f"data/{request.param}")).project, today="2027-01-15")


def test_the_demos_can_be_read_and_say_every_date(demo: Programme) -> None:
    for drawing in (schedule(demo, block=BLOCK), schedule(demo, page=True)):
        assert faults(drawing) == []
        text = " ".join(words(drawing))
        for dated in demo.dated:
            assert dated.step.task.task[1:] in text
        for order in demo.orders:
            if order.day is not None and order.state != "ordered":
                assert days_text(order.day) in text
                assert order.item in drawing.text
            elif order.state == "ask the supplier":
                assert order.item in text


def test_a_gate_is_never_left_out(demo: Programme) -> None:
    for drawing in (schedule(demo, block=BLOCK), schedule(demo, page=True)):
        gates = [w for w in words(drawing) if w.startswith("gate: ")]
        wanted = sum(
            any(w in d.step.task.task for w in ("sample", "final measure")) for d in demo.dated
        )
        assert len(gates) == wanted


def test_bars_stand_at_their_days() -> None:
    result = made(orders=0)
    drawing = schedule(result, block=BLOCK)
    bars = {
        item.about: (min(x for x, _ in item.outline), max(x for x, _ in item.outline))
        for item in drawing.items
        if isinstance(item, Polygon) and item.about
    }
    today = next(i for i in drawing.items if isinstance(i, Line) and i.ink == ink.TIMBER)
    end = next(i for i in drawing.items if isinstance(i, Line) and i.weight == 0.7)
    a, b = today.points[0][0], end.points[0][0]
    days = (result.installation - result.today).days
    for dated in result.dated:
        left, right = bars[dated.step.task.id]
        begins = a + (dated.start - result.today).days / days * (b - a)
        over = dated.finish + datetime.timedelta(days=1)
        ends = a + (over - result.today).days / days * (b - a)
        assert left == pytest.approx(begins, abs=0.3)  # half an outline
        assert right == pytest.approx(max(ends, begins + 0.8), abs=0.3)


def test_black_is_where_a_lost_day_moves_the_day() -> None:
    result = made()
    drawing = schedule(result, block=BLOCK)
    black = {
        i.about for i in drawing.items if isinstance(i, Polygon) and i.about and i.fill == ink.INK
    }
    critical = {d.step.task.id for d in result.dated if d.step.critical}
    assert black == critical - {"s"}  # the sample is ruled: it waits for its result


def test_today_is_the_only_accent() -> None:
    drawing = schedule(made(), block=BLOCK)
    accented = [i.text for i in drawing.items if isinstance(i, Text) and i.ink == ink.TIMBER]
    assert accented == ["Today, 15\u00a0January"]


def test_late_orders_are_said_first() -> None:
    result = made(date="2027-02-26")
    late = [o for o in result.orders if o.state == "late"]
    assert late
    assert schedule_answer(result).startswith("Late")
    assert late[0].item in schedule_answer(result)
    days = -late[0].days_left
    assert any(w.startswith(f"{days}\u00a0days late") for w in words(schedule(result, block=BLOCK)))


def test_without_tasks_only_orders_are_drawn() -> None:
    result = replace(made(), dated=(), network=None)
    text = words(schedule(result, block=BLOCK))
    assert "In the home" not in text
    assert "Ordered, made elsewhere" in text


def test_a_sheet_needs_its_foot() -> None:
    with pytest.raises(InputError, match="TitleBlock"):
        schedule(made())
