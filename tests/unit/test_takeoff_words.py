"""Words that a person sees stand in the glossary; facts that are used stand in the tables."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path
from typing import get_args

import pytest

import designkit
from designkit.reference import lookup, table
from designkit.schedule.dates import OrderState
from designkit.takeoff import tables
from designkit.takeoff.cloth import AbrasionTest
from designkit.takeoff.drapery import Heading, HemStyle, Way
from designkit.takeoff.floor import Laying
from designkit.takeoff.rolls import Match
from designkit.takeoff.rugs import Use

FOLDER = Path(designkit.__file__).parent
WORDS = {row["word"] for row in table("glossary-takeoff")}


@pytest.mark.parametrize(
    "literal", [Heading, HemStyle, Way, Laying, Match, Use, AbrasionTest, OrderState]
)
def test_every_option_and_state_is_in_the_glossary(literal: object) -> None:
    assert set(get_args(literal)) <= WORDS


def test_every_column_and_audience_is_in_the_glossary() -> None:
    columns = {c for audience in get_args(tables.Audience) for c in tables.columns_of(audience)}
    assert columns | set(get_args(tables.Audience)) <= WORDS


def test_glossary_rows_are_whole() -> None:
    rows = table("glossary-takeoff")
    assert len(WORDS) == len(rows)
    for row in rows:
        assert row["origin"] in {"trade", "standard", "general practice", "ours"}
        assert all(row.values())


def test_every_fact_that_the_code_names_exists() -> None:
    named = set()
    for path in [*(FOLDER / "takeoff").glob("*.py"), *(FOLDER / "schedule").glob("*.py")]:
        text = path.read_text(encoding="utf-8")
        named |= set(re.findall(r'"((?:takeoff|schedule)\.[\w.\-]+)"', text))
    assert len(named) > 30
    for id in named:
        assert lookup(id).source


def test_take_off_starts_without_the_heavy_libraries() -> None:
    code = (
        "import sys; import designkit.takeoff.assemble, designkit.takeoff.upholstery, "
        "designkit.schedule.programme; print([m for m in ('pandas', 'colour', 'matplotlib', "
        "'scipy', 'pydantic', 'ipywidgets') if m in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"
