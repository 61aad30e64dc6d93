"""Covers in the list of quantities: one number with the sheet, the budget beside it."""

from __future__ import annotations

import dataclasses
from decimal import Decimal

import pytest

from designkit.analyses.of_takeoff import drawn_view, subjects
from designkit.model import CostLine, Project
from designkit.project import read
from designkit.shipped import shipped
from designkit.takeoff.assemble import takeoff

HARBOUR = read(shipped("data") / "harbour-flat").project


def test_list_and_sheet_say_one_number() -> None:
    lines = {line.id: line for line in takeoff(HARBOUR).of("upholstery")}
    assert set(lines) == {"upholstery.armchair", "upholstery.dining_chair"}
    for one in subjects(HARBOUR):
        if one.kind == "upholstery" and f"upholstery.{one.id}" in lines:
            view = drawn_view(HARBOUR, one)
            assert view.result.order == lines[f"upholstery.{one.id}"].order
            assert 0 <= lines[f"upholstery.{one.id}"].waste < 0.6


def with_cloth(piece: str, quantity: str, unit: str) -> Project:
    line = CostLine(
        id="cloth",
        piece=piece,
        item="cloth",
        category="furniture",
        kind="fabric",
        quantity=Decimal(quantity),
        unit=unit,
        likely=Decimal(50),
    )
    others = tuple(c for c in HARBOUR.costs if c.kind != "fabric")
    return dataclasses.replace(HARBOUR, costs=(*others, line))


@pytest.mark.parametrize(
    ("quantity", "unit", "words"),
    [
        ("1", "m", "the budget holds 1.00 m: 0.80 m too little by this plan"),
        ("1.8", "m", "the budget holds 1.80 m, 0.00 m more than this plan"),
        ("3", "yd", "the budget holds 2.74 m, 0.94 m more than this plan"),
    ],
)
def test_the_budget_stands_beside_the_plan(quantity: str, unit: str, words: str) -> None:
    (line,) = takeoff(with_cloth("dining_chair", quantity, unit)).of("upholstery")
    assert line.text == "1.80 m of cloth"
    assert words in line.why


def test_cloth_by_the_piece_is_not_compared_and_a_table_has_no_cover() -> None:
    (line,) = takeoff(with_cloth("dining_chair", "6", "piece")).of("upholstery")
    assert not any("the budget holds" in w for w in line.why)
    assert takeoff(with_cloth("low_table", "6", "m")).of("upholstery") == ()
