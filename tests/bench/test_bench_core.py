"""How long the parts of an answer take, without a browser.

Run with ``-m bench``; nothing is asserted about time. Every figure is printed
as the median in milliseconds and as a multiple of the calibration loop in the
same process, beside what it should be. Results are remembered between calls,
so each call is given something that has changed since the last: a piece 10 mm
further on, a lamp dimmed by one part in a hundred, a price one unit higher.
What is remembered on purpose is measured as that, and says so.
"""

from __future__ import annotations

import gc
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
import shapely

from designkit import analyses, project
from designkit.costs.chance import Item, simulate
from designkit.costs.ranges import Range
from designkit.figures.plan import plan_drawing
from designkit.figures.svg import to_svg
from designkit.lighting.quick import grid
from designkit.model import Edit, Home, Project
from designkit.plan.case import Case, case_of
from designkit.plan.findings import findings_of
from designkit.plan.onplan import floor_of
from designkit.plan.routes import widest
from designkit.plan.sight import Occluder, view_share
from designkit.takeoff.assemble import takeoff

pytestmark = pytest.mark.bench

ROOT = Path(__file__).parents[2]
DEMOS = ("harbour-flat", "parlor-floor")
Report = Callable[..., None]


def times(call: Callable[[int], object], count: int) -> list[float]:
    """Seconds of each call, after one that is not counted."""
    call(0)
    gc.collect()
    out = []
    for i in range(1, count + 1):
        start = time.perf_counter()
        call(i)
        out.append(time.perf_counter() - start)
    return out


def opened(demo: str) -> Project:
    return project.read(ROOT / "data" / demo).project


def first_layout(home: Home) -> str:
    return home.layout or next(iter(home.layouts))


def moved(one: Project, i: int) -> Project:
    """The project with the first piece of its layout `i` steps of 10 mm further on."""
    home, id = one.home, first_layout(one.home)
    plan = home.layouts[id]
    piece = next(iter(plan.pieces))
    x, y = plan.pieces[piece].at
    place = replace(plan.pieces[piece], at=(x + 0.01 * ((i % 9) - 4) + 1e-5 * i, y))
    plan = replace(plan, pieces={**plan.pieces, piece: place})
    return replace(one, home=replace(home, layouts={**home.layouts, id: plan}))


@pytest.mark.parametrize("demo", DEMOS)
def test_layout(report: Report, demo: str) -> None:
    one = opened(demo)
    report(f"{demo}: layout, a piece moved", times(lambda i: analyses.layout(moved(one, i)), 15))
    report(
        f"{demo}: layout, quick, a piece moved",
        times(lambda i: analyses.layout(moved(one, i), quick=True), 30),
    )

    def only_findings(i: int) -> object:
        home = moved(one, i).home
        return findings_of(case_of(home, home.layouts[first_layout(home)]))

    report(f"{demo}: findings, a piece moved", times(only_findings, 30))


def test_route_and_view(report: Report) -> None:
    one = opened("harbour-flat")

    def case(i: int) -> Case:
        home = moved(one, i).home
        return case_of(home, home.layouts[first_layout(home)])

    result = analyses.layout(one)
    named = next(row for row in result.routes if " to " in row.id)
    start, end = named.id.split(" to ")
    cases = [case(i) for i in range(31)]
    space = next(s for s in cases[0].spaces.values() if start in {o.id for o in s.openings})
    floors = [floor_of(c.spaces[space.id], c.placed) for c in cases]
    report("floor prepared for routes", times(lambda i: floor_of(space, cases[i].placed), 30))
    report("widest route", times(lambda i: widest(floors[i], start=start, end=end), 30))

    random = np.random.default_rng(1)
    boxes = []
    for n in range(12):
        x, y, w, h = random.uniform((0, 1, 0.3, 0.4), (4, 3, 1.2, 1.9))
        ring = ((x, y), (x + w, y), (x + w, y + 0.5), (x, y + 0.5))
        boxes.append(Occluder(id=f"b{n}", footprint=shapely.Polygon(ring), base=0.0, top=float(h)))
    report(
        "view of a window past 12 pieces",
        times(
            lambda i: view_share(
                (2.0 + 0.01 * i, 0.3, 1.2),
                jambs=((0.5, 4.0), (3.5, 4.0)),
                sill=0.4,
                head=2.3,
                occluders=boxes,
            ),
            30,
        ),
    )


@pytest.mark.parametrize("demo", DEMOS)
def test_plan_and_svg(report: Report, demo: str) -> None:
    one = opened(demo)
    result = analyses.layout(one)

    def plan(i: int) -> object:
        home = moved(one, i).home
        return plan_drawing(home, home.layouts[first_layout(home)], findings=result.failing)

    report(f"{demo}: plan as a drawing, a piece moved", times(plan, 20))
    drawing = plan_drawing(one.home, one.home.layouts[first_layout(one.home)])
    report(
        f"{demo}: SVG of the plan, {len(drawing.items)} primitives",
        times(lambda _: to_svg(drawing), 20),
    )


@pytest.mark.parametrize("demo", DEMOS)
def test_scheme(report: Report, demo: str) -> None:
    one = opened(demo)
    report(
        f"{demo}: scheme by area, a piece moved",
        times(lambda i: analyses.scheme(moved(one, i)), 12),
    )
    seats = list(analyses.scheme_viewpoints(one))
    report(
        f"{demo}: scheme by view from {seats[0]}, a piece moved",
        times(lambda i: analyses.scheme(moved(one, i), viewpoint=seats[0]), 8),
    )
    report(
        f"{demo}: scheme by view, nothing changed",
        times(lambda _: analyses.scheme(one, viewpoint=seats[0]), 12),
    )
    report(
        f"{demo}: lit view by day and in the evening, a piece moved",
        times(lambda i: analyses.lit_schemes(moved(one, i), viewpoints=seats[:1]), 4),
    )


@pytest.mark.parametrize("demo", DEMOS)
def test_light(report: Report, demo: str) -> None:
    one = opened(demo)
    folder = ROOT / "data" / demo
    report(
        f"{demo}: light, a piece moved",
        times(lambda i: analyses.light(moved(one, i), folder=folder), 15),
    )
    report(
        f"{demo}: light, dimmed",
        times(lambda i: analyses.light(one, folder=folder, dim=0.99 - 0.01 * i), 30),
    )
    photometry = analyses.photometry_of(one.home, folder)
    plan = one.home.layouts[first_layout(one.home)]
    room = max(
        (r for r in one.home.rooms if one.home.rooms[r].use not in ("balcony", "terrace")),
        key=lambda r: len(one.home.rooms[r].outline),
    )
    report(
        f"{demo}: grid of 100 mm in {room}",
        times(
            lambda i: grid(
                one.home, plan, room=room, plane=0.75 + 0.001 * i, photometry=photometry
            ),
            10,
        ),
    )


@pytest.mark.parametrize("demo", DEMOS)
def test_budget(report: Report, demo: str) -> None:
    one = opened(demo)
    line = max(
        (c for c in one.costs if c.status not in ("paid", "ordered")),
        key=lambda c: c.likely * c.quantity,
    )

    def changed(i: int) -> object:
        other = replace(line, likely=line.likely + Decimal(i))
        if other.high is not None and other.high < other.likely:
            other = replace(other, high=other.likely)
        return analyses.budget(
            replace(one, costs=tuple(other if c is line else c for c in one.costs))
        )

    report(
        f"{demo}: budget of {len(one.costs)} lines, one changed",
        times(changed, 20),
        goal="control to picture 60 ms",
    )


def test_chance(report: Report) -> None:
    random = np.random.default_rng(3)
    lows = random.uniform(20, 2000, 200)
    items = [
        Item(slot=f"s{n}", over=Range(low=x, likely=1.1 * x, high=1.5 * x))
        for n, x in enumerate(lows.tolist())
    ]
    report(
        "10,000 draws of 200 lines, new luck",
        times(lambda i: simulate(items, draws=10_000, seed=100 + i, together=0.3), 8),
        goal="500 ms",
    )

    def one_line(i: int) -> object:
        over = Range(low=50.0, likely=60.0, high=90.0 + i)
        return simulate([Item(slot="s0", over=over), *items[1:]], draws=10_000, together=0.3)

    report("10,000 draws of 200 lines, one line changed", times(one_line, 15))
    report(
        "100,000 draws of 200 lines, new luck",
        times(lambda i: simulate(items, draws=100_000, seed=200 + i, together=0.3), 2),
        goal="5,000 ms",
    )


@pytest.mark.parametrize("demo", DEMOS)
def test_takeoff(report: Report, demo: str) -> None:
    one = opened(demo)
    report(
        f"{demo}: take-off, a piece moved",
        times(lambda i: takeoff(moved(one, i), first_layout(one.home)), 12),
    )


def test_project_files(report: Report, tmp_path: Path) -> None:
    folder = shutil.copytree(ROOT / "data" / "harbour-flat", tmp_path / "p")
    report("project: read", times(lambda _: project.read(folder), 20))
    start = project.read(folder)

    def edits(of: Project, i: int) -> Sequence[Edit]:
        return project.changes_between(of, moved(of, i))

    report("project: changes between two", times(lambda i: edits(start.project, i), 20))
    steps = [edits(start.project, i) for i in range(21)]
    report("project: apply one change", times(lambda i: project.apply(start, steps[i]), 20))
    now = start
    spent = []
    for i in range(16):
        step = edits(now.project, i % 8)
        began = time.perf_counter()
        now = project.save(now, step)
        spent.append(time.perf_counter() - began)
        assert now.conflicts == ()
    report("project: save one change", spent[1:])


def process(code: str) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)
    return time.perf_counter() - start


def test_commands(report: Report, tmp_path: Path) -> None:
    demo = shutil.copytree(ROOT / "data" / "harbour-flat", tmp_path / "p")
    report("Python alone", [process("pass") for _ in range(9)])
    report(
        "import designkit, with Python",
        [process("import designkit") for _ in range(9)],
        goal="50 ms over Python alone",
    )
    main = "from designkit.cli import main; raise SystemExit(main({!r}))"
    check = main.format(["check", str(demo)])
    report("designkit check", [process(check) for _ in range(9)], goal="600 ms")
    figures = main.format(["figures", str(demo), "--out", str(tmp_path / "out")])
    report("designkit figures", [process(figures) for _ in range(3)], goal="15,000 ms")
    made = [p for p in (tmp_path / "out").rglob("*") if p.is_file()]
    assert {p.suffix for p in made} >= {".png", ".svg", ".pdf"}
