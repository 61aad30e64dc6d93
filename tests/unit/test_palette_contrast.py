"""Edges between finishes: their names, their order, and when a name is not sure."""

from __future__ import annotations

import math

import pytest

from designkit.errors import InputError, LookupFailed
from designkit.model import Colour, Finish
from designkit.palette.contrast import EdgeLimits, Meeting, contrast, edges
from designkit.palette.finishes import FinishValue, resolve_all


def scheme(**lightness: float) -> dict[str, FinishValue]:
    return resolve_all(
        {
            name: Finish(name=name, colours=(Colour(lab=(value, 0.0, 0.0), within=1.0),))
            for name, value in lightness.items()
        }
    )


def test_edges_are_named_by_lightness_and_ranked() -> None:
    values = scheme(wall=93.0, linen=86.0, oak=62.0, lacquer=17.0)
    found = edges(
        [
            Meeting(a="wall", b="drape", finish_a="wall", finish_b="linen"),
            Meeting(a="wall", b="sideboard", finish_a="wall", finish_b="lacquer"),
            Meeting(a="drape", b="floor", finish_a="linen", finish_b="oak"),
        ],
        finishes=values,
    )
    assert [(e.meeting.b, e.called) for e in found] == [
        ("sideboard", "strong edge"),
        ("floor", "soft edge"),
        ("drape", "reads as one"),
    ]
    assert all(e.sure for e in found)
    assert "ΔL* 76" in found[0].why


def test_an_edge_near_its_limit_is_not_sure() -> None:
    values = scheme(a=50.0, b=79.5)
    edge = edges([Meeting(a="a", b="b", finish_a="a", finish_b="b")], finishes=values)[0]
    assert edge.called == "soft edge"
    assert not edge.sure
    assert edge.contrast.within == pytest.approx(math.sqrt(2))


def test_a_finish_beside_itself_is_one_for_sure() -> None:
    values = scheme(a=50.0)
    edge = edges([Meeting(a="x", b="y", finish_a="a", finish_b="a")], finishes=values)[0]
    assert edge.called == "reads as one"
    assert edge.sure


def test_a_difference_needs_both_hues() -> None:
    values = resolve_all(
        {
            "red": Finish(name="red", colours=(Colour(hex="#aa3333"),)),
            "grey": Finish(name="grey", colours=(Colour(lrv=12.0),)),
        }
    )
    found = contrast(values["red"], values["grey"])
    assert found.difference is None
    edge = edges([Meeting(a="x", b="y", finish_a="red", finish_b="grey")], finishes=values)[0]
    assert "ΔE00 unknown" in edge.why


def test_each_colour_of_a_stripe_is_compared() -> None:
    values = resolve_all(
        {
            "stripe": Finish(
                name="s",
                patterned=True,
                colours=(
                    Colour(share=0.3, lab=(19.0, 0, 0)),
                    Colour(share=0.7, lab=(88.0, 0, 0)),
                ),
            ),
            "sofa": Finish(name="c", colours=(Colour(lab=(72.0, 0, 0)),)),
        }
    )
    found = contrast(values["stripe"], values["sofa"])
    assert found.nearest == pytest.approx(16)
    assert found.farthest == pytest.approx(53)
    assert found.difference == max(found.differences or ())


def test_limits_are_arguments() -> None:
    own = EdgeLimits.of({"palette.edge.strong": 20.0})
    values = scheme(a=50.0, b=75.0)
    pair = [Meeting(a="a", b="b", finish_a="a", finish_b="b")]
    assert edges(pair, finishes=values, limits=own)[0].called == "strong edge"
    assert "ΔL* 20 or more" in own.definitions


def test_bad_edges_are_named() -> None:
    values = scheme(a=50.0)
    with pytest.raises(LookupFailed, match="finish = b"):
        edges([Meeting(a="x", b="y", finish_a="a", finish_b="b")], finishes=values)
    with pytest.raises(InputError, match="edge of x and y = nan"):
        edges([Meeting(a="x", b="y", finish_a="a", finish_b="a", length=math.nan)], finishes=values)
