"""Order dates, calendars, the network and its gates: what is refused and what is told."""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest

from designkit.errors import InputError, LookupFailed
from designkit.model import Brief, Building, CostLine, Fixture, Home, Piece, Project, Scope, Task
from designkit.schedule.calendars import Calendar, date_of, weeks_before
from designkit.schedule.dates import latest_orders, lead_class, order_by
from designkit.schedule.gates import check_order, is_about, stage_of, with_gates
from designkit.schedule.network import chance_by, expected_days, network, schedule_back
from designkit.schedule.programme import next_steps, programme

DAY = datetime.date(2026, 10, 15)  # a Thursday


def line(id: str, item: str = "thing", **more: object) -> CostLine:
    facts: dict[str, object] = {"category": "", "likely": Decimal(1), **more}
    return CostLine(id=id, item=item, **facts)  # type: ignore[arg-type]


def task(id: str, words: str = "work", days: int = 1, after: str = "", **more: object) -> Task:
    return Task(
        id=id,
        task=words,
        likely=Decimal(days),
        after=tuple(after.split()),
        **more,  # type: ignore[arg-type]
    )


def project(*costs: CostLine, date: str = "2026-10-15", **home: object) -> Project:
    return Project(
        home=Home(name="h", brief=Brief(date=date), **home),  # type: ignore[arg-type]
        costs=costs,
    )


@pytest.mark.parametrize(
    "text", ["15.10.2026", "2026-10-32", "2026-02-30", "20261015", "2026-W42-4", "", "soon"]
)
def test_dates_are_iso(text: str) -> None:
    with pytest.raises(InputError, match="installation date = "):
        order_by(text, lead=1)


def test_dates_pass_through() -> None:
    assert date_of("day", DAY) is DAY
    assert date_of("day", datetime.datetime(2026, 10, 15, 9)) == DAY
    with pytest.raises(InputError, match="day = 20261015"):
        date_of("day", 20261015)  # type: ignore[arg-type]


def test_weeks_are_not_negative() -> None:
    with pytest.raises(InputError, match="weeks = -1"):
        weeks_before(DAY, [2, -1])
    with pytest.raises(InputError, match="weeks = nan"):
        weeks_before(DAY, [float("nan")])
    with pytest.raises(InputError, match="after year 1"):
        weeks_before(DAY, [1e6])
    assert weeks_before(DAY, [0.5]) == datetime.date(2026, 10, 9)  # 3.5 days count as 4, a Sunday


def test_holidays_push_the_day_back() -> None:
    closed = Calendar(holidays=frozenset({datetime.date(2026, 10, 8), datetime.date(2026, 10, 7)}))
    assert order_by(DAY, lead=1, calendar=closed) == datetime.date(2026, 10, 6)


def test_calendar_needs_a_work_day() -> None:
    with pytest.raises(InputError, match="work days"):
        Calendar(days=frozenset())
    with pytest.raises(InputError, match="work days"):
        Calendar(days=frozenset({7}))
    with pytest.raises(InputError, match="work days"):
        Calendar().step(DAY, 10**7)


def test_states_tell_what_to_do_today() -> None:
    rows = latest_orders(
        project(
            line("late", lead_time=Decimal(20)),
            line("now", lead_time=Decimal(10)),
            line("calm", lead_time=Decimal(1)),
            line("paid", lead_time=Decimal(30), status="paid"),
            line("riddle"),
            line("other", lead_time=Decimal(30), alternative_of="late"),
            line("work", kind="delivery", lead_time=Decimal(30)),
        ),
        today="2026-07-01",
    )
    states = {r.line: r.state for r in rows}
    assert states == {
        "late": "late",
        "now": "order now",
        "calm": "in hand",
        "riddle": "ask the supplier",
        "paid": "ordered",
    }
    assert [r.line for r in rows] == ["late", "now", "calm", "riddle", "paid"]
    late = rows[0]
    assert late.day == datetime.date(2026, 4, 30)
    assert late.days_left == -62
    assert "62 days too late" in " ".join(late.why)
    riddle = rows[3]
    assert riddle.day is None
    assert riddle.lead is None


def test_today_is_an_argument_not_the_clock() -> None:
    it = project(line("a", lead_time=Decimal(4)))
    early = latest_orders(it, today="2020-01-01")[0]
    after = latest_orders(it, today="2030-01-01")[0]
    assert early.day == after.day
    assert (early.state, after.state) == ("in hand", "late")


def test_cloth_must_be_there_before_it_is_made_up() -> None:
    rows = {
        r.line: r
        for r in latest_orders(
            project(
                line("cloth", kind="fabric", piece="seat", lead_time=Decimal(4)),
                line("cover", kind="labour", piece="seat", lead_time=Decimal(9)),
                line("sheer", kind="fabric", category="drapery", room="r", lead_time=Decimal(5)),
                line("sew", kind="labour", category="drapery", room="r", lead_time=Decimal(6)),
                line("far", kind="labour", category="drapery", room="q", lead_time=Decimal(30)),
            ),
            today="2026-01-01",
            transit=0,
            slack=0,
        )
    }
    assert rows["cloth"].making == 9
    assert rows["cloth"].day == datetime.date(2026, 7, 16)  # 13 weeks before
    assert rows["sheer"].day == datetime.date(2026, 7, 30)  # 11 weeks before
    assert "before the work begins: thing, 9 weeks" in " ".join(rows["cloth"].why)


def test_kind_of_making_is_read_from_piece_fixture_and_words() -> None:
    home = Home(
        name="h",
        pieces={
            "old": Piece(name="armchair", kind="armchair", size=(1, 1, 1), old=True),
            "new": Piece(name="seat", kind="sofa", size=(1, 1, 1)),
        },
        fixtures={"lamp": Fixture(name="lamp", kind="pendant", size=(1, 1, 1))},
    )
    assert lead_class(line("a", piece="lamp"), home) == "lighting"
    assert lead_class(line("a", piece="new"), home) == "upholstery"
    assert lead_class(line("a", piece="old"), home) == ""  # found: no lead
    assert lead_class(line("a", piece="old", kind="labour"), home) == "re-cover"
    assert lead_class(line("a", "rug hand-made"), home) == "rug"
    assert lead_class(line("a", "anti-slip pad for the rug"), home) == ""
    assert lead_class(line("a", "something"), home) == ""


def test_brief_needs_a_date() -> None:
    with pytest.raises(InputError, match=r"brief\.date"):
        latest_orders(project(date=""), today="2026-01-01")
    with pytest.raises(InputError, match=r"brief\.date = '1 May'"):
        latest_orders(project(date="1 May"), today="2026-01-01")
    with pytest.raises(InputError, match="today"):
        latest_orders(project(), today="now")


def test_rings_of_tasks_are_spelled_out() -> None:
    with pytest.raises(InputError, match=r"tasks.csv, after = .*(b → c → b|c → b → c)"):
        network([task("a"), task("b", after="a c"), task("c", after="b")])
    with pytest.raises(InputError, match="a → a"):
        network([task("a", after="a")])


def test_faults_in_tasks_are_named() -> None:
    with pytest.raises(InputError, match="tasks = 0"):
        network([])
    with pytest.raises(InputError, match="each id once"):
        network([task("a", row=2), task("a", row=3)])
    with pytest.raises(LookupFailed, match="did you mean paint"):
        network([task("paint"), task("b", after="pant")])
    with pytest.raises(InputError, match="0 ≤ low ≤ likely ≤ high"):
        expected_days(task("a", days=3, low=Decimal(4), row=7))
    with pytest.raises(InputError, match="lead_weeks"):
        network([task("a", lead_weeks=Decimal(-1))])
    with pytest.raises(InputError, match="days = nan"):
        chance_by(network([task("a")]), days=float("nan"))


def test_chance_without_spread_is_yes_or_no() -> None:
    result = network([task("a", days=3)])
    assert chance_by(result, days=3) == 1.0
    assert chance_by(result, days=2.9) == 0.0


def test_waiting_counts_in_work_days_of_the_calendar() -> None:
    six = Calendar(days=frozenset(range(6)))
    tasks = [task("a", lead_weeks=Decimal(2))]
    assert network(tasks).length == 11
    assert network(tasks, calendar=six).length == 13


def test_dates_back_from_the_installation() -> None:
    tasks = [task("a", days=2), task("b", days=3, after="a"), task("c", days=1, after="a")]
    rows = {d.step.task.id: d for d in schedule_back(network(tasks), end=DAY, today="2026-10-08")}
    # Installation Thursday 15: b takes Monday to Wednesday, a Thursday and Friday before.
    assert (rows["b"].start, rows["b"].finish) == (
        datetime.date(2026, 10, 12),
        datetime.date(2026, 10, 14),
    )
    assert (rows["a"].start, rows["a"].finish) == (
        datetime.date(2026, 10, 8),
        datetime.date(2026, 10, 9),
    )
    assert rows["c"].start == rows["c"].finish == datetime.date(2026, 10, 14)
    assert rows["c"].earliest == datetime.date(2026, 10, 12)
    assert not any(d.late for d in rows.values())
    late = schedule_back(network(tasks), end=DAY, today="2026-10-09")
    assert [d.step.task.id for d in late if d.late] == ["a"]


def test_gates_are_added_and_move_the_start() -> None:
    tasks = [
        task("strip", "strip old wallpaper", 2),
        task("floor", "oak floor laid", 3, after="strip"),
        task("sew", "drapery made up", 1, lead_weeks=Decimal(5)),
    ]
    old = Building()
    found = check_order(tasks, building=old)
    assert {(f.about, f.verdict) for f in found} == {(("strip",), "fails"), (("sew",), "fails")}
    gated = with_gates(tasks, building=old)
    added = {t.id: t for t in gated if t.more.get("added") == "gate"}
    assert set(added) == {"sample", "final measure"}
    assert added["final measure"].after == ("floor",)
    assert added["sample"].lead_weeks == 2
    assert network(gated).length > network(tasks).length
    again = check_order(gated, building=old)
    assert {f.verdict for f in again} == {"measure first", "passes"}
    assert with_gates(gated, building=old) == gated


def test_sampled_or_new_building_opens_the_gate() -> None:
    tasks = [task("strip", "strip old wallpaper")]
    assert check_order(tasks, building=Building(year=2015)) == ()
    (found,) = check_order(tasks, building=Building(year=1960, sampled="yes"))
    assert found.verdict == "passes"
    assert "licensed removal" in found.mend
    waiting = [task("s", "sample and written result"), task("x", "sanding", after="s")]
    (found,) = check_order(waiting, building=Building(year=1960, sampled="unknown"))
    assert found.verdict == "measure first"


def test_trade_of_a_scope_that_disturbs_counts() -> None:
    scopes = {
        "c": Scope(name="ceiling", trade="plasterer", disturbs_old_surface=True),
    }
    tasks = [
        task("a", "make good", trade="plasterer"),
        task("b", "tidy up", trade="plasterer", more={"disturbs": "no"}),
        task("c", "tidy up", trade="cleaner"),
    ]
    found = check_order(tasks, building=Building(), scopes=scopes)
    assert [f.about for f in found] == [("a",)]


def test_columns_decide_before_words() -> None:
    assert not is_about(task("a", "sand the floor", more={"disturbs": "no"}), "disturb")
    assert is_about(task("a", "make ready", more={"disturbs": "yes"}), "disturb")
    assert stage_of(task("a", "hang the big thing", more={"stage": "pictures"})) == 14
    assert stage_of(task("a", "something")) is None


def test_drapery_hung_before_the_floor_is_told() -> None:
    tasks = [task("h", "drapery hung"), task("f", "floor laid", after="h")]
    (found,) = check_order(tasks, building=Building(year=2020))
    assert found.severity == "inconvenient"
    assert found.about == ("h", "f")


def test_programme_puts_gates_in_before_it_gives_a_day() -> None:
    tasks = (
        task("scrape", "scrape the ceiling", 3),
        task("paint", "prime and paint", 2, after="scrape"),
    )
    it = Project(
        home=Home(name="h", brief=Brief(date="2026-10-15")),
        costs=(line("a", "sofa", lead_time=Decimal(6)),),
        tasks=tasks,
    )
    result = programme(it, today="2026-09-01")
    assert [f.verdict for f in result.findings] == ["fails"]
    assert result.network is not None
    assert set(result.network.steps) == {"sample", "scrape", "paint"}
    starts = {d.step.task.id: d.start for d in result.dated}
    assert starts["sample"] < starts["scrape"] < starts["paint"]
    # 1 September is a Tuesday, 32 work days before; half a day, two weeks and five days of work.
    assert result.days_in_hand == 32 - 16
    assert "Sample taken" in result.why[0]
    assert result.chance == 1.0
    # Thursday 15 October less 6 + 1 + 3 weeks.
    assert next_steps(result, count=1) == ("sofa: order by 2026-08-06",)
    late = programme(it, today="2026-10-09")
    assert late.days_in_hand is not None
    assert late.days_in_hand < 0
    assert "too few" in late.why[-1]
    assert any(d.late for d in late.dated)


def test_programme_without_tasks_still_knows_the_orders() -> None:
    result = programme(project(line("a", lead_time=Decimal(2))), today="2026-01-01")
    assert result.network is None
    assert len(result.orders) == 1
    with pytest.raises(InputError, match="count = 0"):
        next_steps(result, count=0)
