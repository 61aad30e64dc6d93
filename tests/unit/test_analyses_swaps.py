"""Swaps of finishes ranked by area, view and lit view at once."""

from __future__ import annotations

import dataclasses

import pytest
from test_lighting_seen import EYE, FINISHES, flat, plan

from designkit.analyses.litview import LitBalance, lit_balance
from designkit.analyses.swaps import swaps_three_ways
from designkit.balance import area_weights, shares, view_weights
from designkit.errors import InputError
from designkit.model import Colour, Finish, Home, Layout, Placement
from designkit.palette.finishes import resolve_all
from designkit.scene.surfaces import surfaces
from designkit.scene.view import look, scene_of

MORE = {
    **FINISHES,
    "ivory": Finish(name="ivory", kind="cloth", colours=(Colour(lrv=75.0, within=0.0),)),
}


def sample() -> tuple[Home, Layout, LitBalance]:
    home = flat(finishes=MORE)
    layout = plan(pieces={"sofa": Placement(at=(4.2, 1.2)), "stool": Placement(at=(2.6, 3.0))})
    return home, layout, lit_balance(home, layout, viewpoint=EYE, rays=1000)


def test_the_shares_of_a_swap_are_those_of_the_home_with_that_finish() -> None:
    home, layout, lit = sample()
    now, found = swaps_three_ways(home, layout, lit=lit, rays=1000, pairs=False)
    assert now.lit == pytest.approx(lit.balance.shares["black"], abs=2e-3)
    best = found[0]
    assert len(best.changes) == 1
    assert (best.changes[0].item, best.changes[0].old) == ("sofa", "black")
    new = best.changes[0].new
    sofa = dataclasses.replace(home.pieces["sofa"], finish=new)
    after = dataclasses.replace(home, pieces={**home.pieces, "sofa": sofa})
    values = resolve_all(after.finishes)
    by_area = shares(area_weights(surfaces(after, layout), night=True), finishes=values)
    assert best.after.area == pytest.approx(by_area.shares["black"])
    seen = look(scene_of(after, layout), EYE, rays=1000)[0]
    by_view = shares(view_weights(seen, night=True), finishes=values, by="view")
    assert best.after.view == pytest.approx(by_view.shares["black"])
    lit_after = lit_balance(after, layout, viewpoint=EYE, rays=1000)
    assert best.after.lit == pytest.approx(lit_after.balance.shares["black"], abs=2e-3)
    assert best.moved.mean == pytest.approx(best.after.mean - now.mean)
    assert best.why.startswith(f"sofa: black → {new}: black by area ")


def test_pairs_stand_beside_single_swaps_and_the_largest_move_is_first() -> None:
    home, layout, lit = sample()
    _, found = swaps_three_ways(home, layout, lit=lit, rays=1000)
    sizes = {len(s.changes) for s in found}
    assert sizes == {1, 2}
    moves = [s.moved.mean for s in found]
    assert moves == sorted(moves)
    assert moves[0] < 0
    items = [s.changes[0].item for s in found if len(s.changes) == 1]
    assert len(items) == len(set(items))
    _, kept = swaps_three_ways(home, layout, lit=lit, rays=1000, keep=["sofa"])
    assert all(c.item != "sofa" for s in kept for c in s.changes)


def test_more_of_a_class_too() -> None:
    home, layout, lit = sample()
    now, found = swaps_three_ways(
        home, layout, lit=lit, of="dark", less=False, pairs=False, count=3, rays=1000
    )
    assert 0 < len(found) <= 3
    assert all(s.after.mean > now.mean for s in found)


def test_bad_input_is_named() -> None:
    home, layout, lit = sample()
    with pytest.raises(InputError, match="class = grey"):
        swaps_three_ways(home, layout, lit=lit, of="grey")
    with pytest.raises(InputError, match="count = 0"):
        swaps_three_ways(home, layout, lit=lit, count=0)
