"""The exact search: stored optima of a general solver, ties, both engines, one answer."""

from __future__ import annotations

import itertools
import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from layouts_sample import LIVING, PIECES, door, home, rect, synthetic, window

from designkit.model import Layout
from designkit.plan.layouts import kernels, propose
from designkit.plan.layouts.asked import Job
from designkit.plan.layouts.flow import Flow
from designkit.plan.layouts.ground import ground_of
from designkit.plan.layouts.leaf import Blame, Exact
from designkit.plan.layouts.proposing import poses_for
from designkit.plan.layouts.search import Clock, Found, Sums, branch, children, solve
from designkit.plan.layouts.tables import NEVER, Tables, tables_of
from designkit.plan.layouts.things import things_of

DATA = Path(__file__).parents[1] / "reference" / "data" / "layout_optima.npz"
ENGINES = [False, pytest.param(True, marks=pytest.mark.skipif(
    not kernels.available(), reason="numba, the extra fast, is not installed"))]  # fmt: skip


class Anywhere(Flow):
    """No way is looked at: the tables alone decide."""

    def __init__(self) -> None:
        self.start = np.zeros((1, 1), np.uint8)
        self.floods = 0

    def child(self, blocked, chosen, i, p):  # type: ignore[no-untyped-def]
        return blocked

    def whole(self, places):  # type: ignore[no-untyped-def]
        return True


def stored() -> dict[str, tuple[int, list[np.ndarray], dict[tuple[int, int], np.ndarray]]]:
    out: dict[str, tuple[int, list[np.ndarray], dict[tuple[int, int], np.ndarray]]] = {}
    with np.load(DATA) as file:
        for name in sorted({key.split("/")[0] for key in file.files}):
            own = [
                file[key] for key in sorted(k for k in file.files if k.startswith(f"{name}/own/"))
            ]
            pair = {
                (int(key.split("/")[2]), int(key.split("/")[3])): file[key]
                for key in file.files
                if key.startswith(f"{name}/pair/")
            }
            out[name] = (int(file[f"{name}/best"][0]), own, pair)
    return out


def bare(own: list[np.ndarray], pair: dict[tuple[int, int], np.ndarray]) -> Tables:
    """Tables of numbers alone; the pieces only count."""
    where, _, _ = synthetic()["plain"]
    ids = {f"p{i}": "armchair" for i in range(len(own))}
    things = things_of(where, pieces=ids, locked={}, rules={})
    return Tables(things=things, poses=(), own=tuple(own), pair=pair, parts=())


@pytest.mark.reference("general solver", of="plan")
@pytest.mark.parametrize("name", sorted(stored()))
def test_the_optimum_is_that_of_a_general_solver(name: str) -> None:
    """Sixteen stored optima by scipy.optimize.milp (HiGHS), which the search does not call.

    Made by tests/reference/layout_optima_make.py.
    """
    best, own, pair = stored()[name]
    tables = bare(own, pair)
    found = branch(Sums(tables), Anywhere(), lambda _: True, nodes=100_000, clock=Clock(None))
    assert found.proven
    assert found.score == best == tables.score(found.places or ())


def test_every_bound_is_above_every_layout_under_it() -> None:
    """Checked by trying all layouts of a small problem, one by one."""
    rng = np.random.default_rng(5)
    own = [rng.integers(-50, 50, 6) * 1000 for _ in range(4)]
    pair = {(i, j): rng.integers(-80, 80, (6, 6)) * 1000 for i in range(4) for j in range(i + 1, 4)}
    for table in pair.values():
        table[rng.random((6, 6)) < 0.3] = NEVER
    tables = bare(own, pair)
    sums = Sums(tables)
    every = {places: tables.score(places) for places in itertools.product(range(6), repeat=4)}
    good = {p: s for p, s in every.items() if s > NEVER // 2}
    places, bounds = children(sums, 0, sums.own, 0, NEVER)
    for p, bound in zip(places.tolist(), bounds.tolist()):
        assert bound >= max((s for q, s in good.items() if q[0] == p), default=NEVER)
    found = branch(sums, Anywhere(), lambda _: True, nodes=10_000, clock=Clock(None))
    top = max(good.values())
    assert found.score == top
    assert found.places == min(p for p, s in good.items() if s == top)


def test_among_equal_sums_the_lowest_places_win() -> None:
    own = [np.zeros(5, np.int64) for _ in range(3)]
    pair = {(i, j): np.zeros((5, 5), np.int64) for i in range(3) for j in range(i + 1, 3)}
    pair[0, 1][0, 0] = NEVER
    start = Found(places=(4, 4, 4), score=0)
    found = branch(
        Sums(bare(own, pair)), Anywhere(), lambda _: True, start=start, nodes=9999,
        clock=Clock(None),
    )  # fmt: skip
    assert found.places == (0, 1, 0)
    assert found.proven


def test_what_exact_geometry_turns_down_is_learned_and_the_rest_still_found() -> None:
    own = [np.array([3, 2, 1]), np.array([3, 2, 1]), np.array([3, 2, 1])]
    pair = {(i, j): np.zeros((3, 3), np.int64) for i in range(3) for j in range(i + 1, 3)}
    asked: list[tuple[int, ...]] = []

    def leaf(places: tuple[int, ...]) -> bool:
        asked.append(places)
        return not (places[0] == 0 and places[1] == 0)

    def why(places: tuple[int, ...]) -> Blame:
        return Blame(depth=2, one=0, two=1)

    found = branch(Sums(bare(own, pair)), Anywhere(), leaf, why=why, nodes=999, clock=Clock(None))
    assert found.score == 8
    assert found.places in {(0, 1, 0), (1, 0, 0)}
    assert sum(p[:2] == (0, 0) for p in asked) == 1  # never asked again


def small(name: str, pieces: int, few: int, *, fast: bool) -> tuple[Tables, Flow, Exact]:
    where, space, named = synthetic()[name]
    job = Job(where, named[:pieces], space, (), (), ())
    ground = ground_of(where, space=space, free=list(job.pieces))
    things = things_of(where, pieces=job.pieces, locked={}, rules=ground.rules)
    poses, _ = poses_for(things, ground)
    cut = [p.take(np.unique(np.linspace(0, len(p) - 1, few).astype(int))) for p in poses]
    tables = tables_of(things, cut, ground, fast=fast)
    return tables, Flow(tables, ground, fast=fast), Exact(ground)


@pytest.mark.parametrize("name", ["plain", "skewed", "guest and work"])
@pytest.mark.parametrize("fast", ENGINES)
def test_with_ways_the_best_is_that_of_trying_everything(name: str, fast: bool) -> None:
    """All layouts of a small set, best first, each decided by exact geometry alone."""
    tables, flow, exact = small(name, 3, 12, fast=fast)

    def leaf(places: tuple[int, ...]) -> bool:
        return exact.whole(tables, places).ok

    found = solve(
        tables, flow, leaf, nodes=100_000, clock=Clock(None), fast=fast,
        why=lambda places: exact.blame(tables, places),
    )  # fmt: skip
    ranked = sorted(
        (-tables.score(p), p)
        for p in itertools.product(*(range(tables.count(i)) for i in range(3)))
        if tables.score(p) > NEVER // 2
    )
    best = next(((s, p) for s, p in ranked if leaf(p)), None)
    assert found.proven
    assert best is not None
    assert (found.score, found.places) == (-best[0], best[1])


@pytest.mark.skipif(not kernels.available(), reason="numba, the extra fast, is not installed")
@pytest.mark.parametrize("name", ["plain", "bay", "two rooms", "bedroom", "child's window"])
def test_both_engines_give_the_same_layouts_in_the_same_order(name: str) -> None:
    where, space, pieces = synthetic()[name]
    one, two = (
        propose(where, pieces=pieces, space=space, count=3, nodes=250, fast=fast)
        for fast in (False, True)
    )
    assert [o.layout for o in one.options] == [o.layout for o in two.options]
    assert [o.points for o in one.options] == [o.points for o in two.options]
    assert [o.certificate for o in one.options] == [o.certificate for o in two.options]
    assert one.nodes == two.nodes


@pytest.mark.skipif(not kernels.available(), reason="numba, the extra fast, is not installed")
def test_compiled_tables_are_the_same() -> None:
    where, space, pieces = synthetic()["two columns"]
    job = Job(where, pieces, space, (), (), ())
    ground = ground_of(where, space=space, free=list(job.pieces))
    things = things_of(where, pieces=job.pieces, locked={}, rules=ground.rules)
    poses, _ = poses_for(things, ground, most=120)
    one, two = (tables_of(things, poses, ground, fast=fast) for fast in (False, True))
    for key, table in one.pair.items():
        assert np.array_equal(table, two.pair[key])
    a, b = Sums(one), Sums(two, fast=True)
    assert np.array_equal(a.later, b.later)
    assert np.array_equal(a.spare, b.spare)


def told(layout: Layout) -> list[object]:
    return [[id, *p.at, p.rotation] for id, p in layout.pieces.items()]


def test_another_process_gives_the_same_answer() -> None:
    where, space, pieces = synthetic()["plain"]
    here = [
        told(o.layout)
        for o in propose(where, pieces=pieces, space=space, count=2, fast=False).options
    ]
    code = (
        "import sys, json; sys.path.insert(0, sys.argv[1])\n"
        "from layouts_sample import synthetic\n"
        "from test_layouts_search import told\n"
        "from designkit.plan.layouts import propose\n"
        "w, s, p = synthetic()['plain']\n"
        "print(json.dumps([told(o.layout) for o in"
        " propose(w, pieces=p, space=s, count=2, fast=False).options]))"
    )
    out = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", code, str(Path(__file__).parent)],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONHASHSEED": "77"},
    )
    assert json.loads(out.stdout) == here


def test_options_fall_in_what_is_proven_and_truly_differ() -> None:
    where, space, pieces = synthetic()["two columns"]
    found = propose(where, pieces=pieces, space=space, nodes=20_000)
    assert len(found.options) == 5
    assert all(o.proven for o in found.options)
    # Of any two options the sofa or the table stands elsewhere, or looks elsewhere.
    for one, two in itertools.combinations(found.options, 2):
        moved = []
        for id in ("sofa", "table"):
            a, b = one.layout.pieces[id], two.layout.pieces[id]
            apart = float(np.hypot(a.at[0] - b.at[0], a.at[1] - b.at[1]))
            turn = abs((a.rotation - b.rotation + 180) % 360 - 180)
            moved.append(apart > 0.55 or (id == "sofa" and turn > 40))
        assert any(moved)


def test_a_node_cap_is_not_taken_for_the_end() -> None:
    where = home(rect(6.0, 3.8), [door(3, 0.4), door(1, 2.4, to="kitchen"), window(0, 2.0, 2.4)])
    found = propose(where, pieces=[*LIVING, "table"], space="r", nodes=1, count=4, fast=False)
    assert found.options
    assert not all(o.proven for o in found.options)
    assert "No other layout" not in found.certificate
    assert not found.complete
    assert any("Not proven best" in o.certificate for o in found.options)


def test_all_there_are_is_said_to_be_all() -> None:
    where, space, pieces = synthetic()["bedroom ell"]
    found = propose(where, pieces=pieces, space=space, nodes=50_000)
    assert 1 <= len(found.options) < 5
    assert found.complete
    assert "No other layout of this set differs: this is proven." in found.certificate


def test_a_blamed_part_fails_by_itself() -> None:
    tables, _, exact = small("corridor", 4, 16, fast=False)
    seen = 0
    for places in itertools.islice(
        itertools.product(*(range(0, tables.count(i), 5) for i in range(4))), 200
    ):
        if tables.score(places) <= NEVER // 2 or exact.whole(tables, places).ok:
            continue
        blame = exact.blame(tables, places)
        assert 1 <= blame.depth <= 4
        if blame.one >= 0:
            part = {blame.one, blame.two}
            assert exact._fails(tables, places, sorted(part))
            seen += 1
    assert seen or PIECES
