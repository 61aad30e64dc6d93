"""No proposal is invalid, by a checker that shares no code with the search."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import numpy as np
import pytest
from layouts_checker import wrong
from layouts_sample import LIVING, door, every, home, rect, window
from test_layouts_search import small

from designkit.model import Home, Layout
from designkit.plan.findings import findings
from designkit.plan.layouts import propose
from designkit.plan.layouts.tables import NEVER
from designkit.plan.space import spaces

QUICK = ("plain", "ell", "tee", "bay", "column", "two rooms", "bedroom", "R14", "R16")
EMPTY = {"R15"}  # the kitchen is 2.23 m deep: a round table with chairs does not go in


def whole_space(where: Home, space: str) -> str:
    return next(id for id, s in spaces(where).items() if set(space.split("+")) <= set(s.rooms))


def check(name: str, nodes: int) -> int:
    where, space, pieces = every()[name]
    found = propose(where, pieces=pieces, space=space, nodes=nodes)
    assert bool(found.options) != (name in EMPTY), found.why_none
    for option in found.options:
        bad = wrong(where, option.layout, whole_space(where, space), dict(option.widths))
        assert bad == [], (name, option.layout.name)
        hard = [
            f.what
            for f in findings(where, option.layout)
            if f.verdict == "fails"
            and f.severity in ("safety", "tight", "law here")
            and f.rule not in ("plan.window.sill", "plan.clear.anti_tip_height")
            and not f.rule.startswith("plan.height")
        ]
        assert hard == [], (name, option.layout.name)
    return len(found.options)


@pytest.mark.parametrize("name", QUICK)
def test_every_option_is_valid(name: str) -> None:
    check(name, 150)


@pytest.mark.proof
@pytest.mark.parametrize("name", sorted(every()))
def test_every_option_of_every_room_is_valid(
    name: str, record_property: Callable[[str, object], None]
) -> None:
    count = check(name, 20_000)
    assert count >= (0 if name in EMPTY else 1)
    record_property("proof", (count, "options"))


@pytest.mark.parametrize("step", range(6))
def test_a_room_that_is_just_wide_enough_is_not_called_impossible(step: int) -> None:
    """A bookcase opposite a cabinet, the way between them a few millimetres more than needed.

    The room is a corridor: what stands on one side leaves the way on the other,
    so the width that exists is known without any search.
    """
    depth = 0.42 + 0.02 + 0.9 + 0.001 * step  # cabinet, gap behind it, way, and millimetres
    where = home(
        rect(3.0, depth), [door(3, 0.1, width=0.99), door(1, 0.1, width=0.99, to="kitchen")]
    )
    pieces = ["cabinet"]
    found = propose(where, pieces=pieces, space="r", count=1)
    assert len(found.options) == 1, found.why_none
    assert wrong(where, found.options[0].layout, "r", dict(found.options[0].widths)) == []


def test_a_room_that_is_too_narrow_is_called_impossible() -> None:
    depth = 0.42 + 0.02 + 0.9 - 0.005
    where = home(
        rect(3.0, depth), [door(3, 0.1, width=0.99), door(1, 0.1, width=0.99, to="kitchen")]
    )
    found = propose(where, pieces=["cabinet"], space="r", count=1)
    assert not found.options
    assert "proven" in found.certificate
    assert "0.90 m" in found.why_none


@pytest.mark.parametrize("name", ["plain", "study"])
def test_what_the_checker_calls_valid_the_search_does_not_call_impossible(name: str) -> None:
    """All layouts of a small set by the checker; each valid one is valid for the search."""
    tables, _, exact = small(name, 3, 9, fast=False)
    where, space, _ = every()[name]
    agreed = 0
    for places in itertools.product(*(range(tables.count(i)) for i in range(3))):
        layout = exact.whole(tables, places).layout
        ok = tables.score(places) > NEVER // 2 and exact.whole(tables, places).ok
        if agreed > 60 and ok:
            continue
        if not ok and np.random.default_rng(sum(places)).random() > 0.08:
            continue
        bad = wrong(where, Layout(name="x", pieces=layout.pieces), whole_space(where, space))
        # The checker allows a millimetre: a valid layout of the search is valid there.
        if ok:
            assert bad == []
            agreed += 1
        else:
            assert bad != [], (name, places)
    assert agreed


def test_no_reported_width_is_above_the_exact_one() -> None:
    """By wearing the free floor down with shapely, never too wide."""
    where = home(rect(5.6, 3.6), [door(3, 0.4), door(1, 2.2, to="kitchen"), window(0, 2.0, 1.5)])
    found = propose(where, pieces=[*LIVING, "bookcase"], space="r", count=3, nodes=300)
    assert found.options
    for option in found.options:
        assert option.widths
        assert wrong(where, option.layout, "r", dict(option.widths)) == []
