"""A moved piece is judged as the whole layout is: the fast way gives the same answers."""

from __future__ import annotations

import dataclasses
import math
import random
from pathlib import Path

import pytest

from designkit import project
from designkit.analyses.of_layout import LayoutResult
from designkit.analyses.of_layout import layout as analyse
from designkit.analyses.of_move import Moving, moving, still, with_lines
from designkit.errors import InputError, LookupFailed
from designkit.model import Home, Layout
from designkit.plan.around import own_group

ROOT = Path(__file__).parents[2]
DEMOS = sorted((ROOT / "data").iterdir())


def moved(layout: Layout, id: str, *, east: float, north: float, turn: float = 0.0) -> Layout:
    was = layout.pieces[id]
    new = dataclasses.replace(
        was, at=(was.at[0] + east, was.at[1] + north), rotation=(was.rotation + turn) % 360
    )
    return dataclasses.replace(layout, pieces={**layout.pieces, id: new})


def agree(fast: LayoutResult, slow: LayoutResult, *, why: object) -> None:
    assert [repr(f) for f in fast.findings] == [repr(f) for f in slow.findings], why
    for mine, theirs in zip(fast.routes, slow.routes, strict=True):
        assert mine.route.width == pytest.approx(theirs.route.width, abs=1e-12), why
        assert mine.route.between == theirs.route.between, why
        assert (mine.id, mine.required, mine.rule) == (theirs.id, theirs.required, theirs.rule)
        assert (mine.line is None) == (theirs.line is None), why
        if mine.line is not None and theirs.line is not None:
            assert mine.line.open == theirs.line.open, why
            assert mine.line.length == pytest.approx(theirs.line.length, abs=0.01), why
    assert [(v.piece, v.opening, v.view.share) for v in fast.views] == [
        (v.piece, v.opening, v.view.share) for v in slow.views
    ], why
    assert [dataclasses.astuple(p) for p in fast.talk] == [
        dataclasses.astuple(p) for p in slow.talk
    ], why
    assert (fast.seats, fast.diners) == (slow.seats, slow.diners)
    assert (fast.circle, fast.free_share) == (slow.circle, slow.free_share)


@pytest.mark.parametrize("demo", DEMOS, ids=lambda d: d.name)
@pytest.mark.parametrize("rule_set", ["home", "step-free"])
def test_as_the_whole_layout(demo: Path, rule_set: str) -> None:
    home = project.read(demo).project.home
    rng = random.Random(f"{demo.name} {rule_set}")
    kept = 0
    for id, layout in home.layouts.items():
        for piece in rng.sample(list(layout.pieces), 4):
            now = moving(home, layout, id=id, rule_set=rule_set)
            agree(with_lines(now), analyse(home, layout=id, rule_set=rule_set, quick=True), why=id)
            rest = still(now, own_group(now.case, piece) & {*now.case.placed})
            before = now.result
            for _ in range(4):
                to = moved(
                    layout,
                    piece,
                    east=rng.uniform(-0.6, 0.6),
                    north=rng.uniform(-0.6, 0.6),
                    turn=rng.choice([0, 0, 15, 90, 37]),
                )
                try:
                    slow = analyse(home, layout=to, rule_set=rule_set, quick=True)
                except InputError:
                    continue  # a seat in a wall: see below
                fast = moving(home, to, before=before, rest=rest, rule_set=rule_set)
                kept += len(fast.kept)
                agree(with_lines(fast), slow, why=(id, piece, to.pieces[piece]))
                before = fast.result
    assert kept > 20  # else nothing was remembered, and nothing was checked


def first() -> tuple[Home, Layout, Moving]:
    home = project.read(DEMOS[0]).project.home
    layout = home.layouts["a"]
    return home, layout, moving(home, layout, id="a")


def test_a_route_is_looked_for_anew_where_something_comes_into_its_strip() -> None:
    home, layout, now = first()
    rest = still(now, {"sideboard"})
    assert "balcony_way" in moving(home, layout, rest=rest).kept
    # Across the way from the hall to the balcony; the way goes round it.
    to = moved(layout, "sideboard", east=1.6, north=-1.0)
    there = moving(home, to, rest=rest)
    assert "balcony_way" not in there.kept
    agree(with_lines(there), analyse(home, layout=to, quick=True), why="across the way")


def test_what_was_remembered_is_passed_over_when_something_else_has_moved() -> None:
    home, layout, now = first()
    rest = still(now, {"plant"})
    assert rest.holds_for(now.case)
    other = moving(home, moved(layout, "bookcase", east=-1.5, north=-1.0), rest=rest)
    assert not rest.holds_for(other.case)
    assert other.kept == {}


def test_a_rug_is_in_nobodys_way() -> None:
    home, layout, now = first()
    rest = still(now, {"rug"})
    there = moving(home, moved(layout, "rug", east=-2.5, north=-1.0), rest=rest)
    assert {*there.kept} == {row.id for row in now.result.routes}


def test_a_seat_pushed_into_a_wall_has_no_view_and_is_still_judged() -> None:
    home, layout, now = first()
    to = moved(layout, "sofa", east=0.0, north=0.65)
    with pytest.raises(InputError):
        analyse(home, layout=to, quick=True)
    result = moving(home, to, before=now.result).result
    assert result.views == ()
    assert any(f.verdict == "fails" and "sofa" in f.about for f in result.findings)


def test_what_it_cannot_take() -> None:
    home, layout, now = first()
    with pytest.raises(InputError, match="finite"):
        moving(home, moved(layout, "sofa", east=math.nan, north=0.0), before=now.result)
    with pytest.raises(LookupFailed, match="rule set"):
        moving(home, layout, rule_set="ship")
