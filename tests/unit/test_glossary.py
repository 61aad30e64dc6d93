"""Every visible label, command, option, state and column heading stands in a glossary."""

from __future__ import annotations

import argparse
import csv
import datetime
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from designkit import project
from designkit.figures.drawing import Text
from designkit.publish import sheet_set
from designkit.studies.black_study import ShareOfBlack
from designkit.studies.budget_study import BudgetScenarios
from designkit.studies.desk import Desk
from designkit.studies.layouts_study import LayoutOptions
from designkit.studies.light_study import Light

ROOT = Path(__file__).parents[2]
DEMOS = sorted((ROOT / "data").iterdir())
ORIGINS = {"trade", "standard", "general practice", "ours"}


def glossaries() -> Iterator[tuple[Path, int, dict[str, str]]]:
    for path in sorted((ROOT / "designkit" / "reference").glob("glossary*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            for number, row in enumerate(csv.DictReader(file), start=2):
                yield path, number, row


def plain(text: str) -> str:
    return re.sub(r"\s+", " ", text.replace("\u00a0", " ")).strip(" .:,$€").casefold()


WORDS = {plain(row["word"]) for _, _, row in glossaries()}


def test_each_word_has_a_meaning_and_an_origin() -> None:
    for path, number, row in glossaries():
        where = f"{path.name} line {number}"
        assert set(row) == {"word", "meaning", "origin", "where"}, where
        assert row["word"], where
        assert row["meaning"], where
        assert row["origin"] in ORIGINS, (where, row["origin"])


def names_of(value: Any) -> Iterator[str]:
    """Every text that comes from the project itself."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield str(key)
            yield from names_of(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from names_of(inner)
    elif hasattr(value, "__dataclass_fields__"):
        for field in value.__dataclass_fields__:
            yield from names_of(getattr(value, field))


def labels_of(shown: dict[str, Any]) -> Iterator[str]:
    for control in shown["controls"]:
        yield control["label"]
        for _, text in control.get("choices", ()):
            yield text
    said = shown["said"]
    said = said() if callable(said) else said
    yield said["findings"]["title"]
    for row in said["brief"]:
        yield row["state"]
    for row in said["findings"]["rows"]:
        yield row["state"]
    for table in said["tables"]:
        yield table["title"]
        yield from table["head"]
    for action in said["actions"]:
        yield action["text"]


UNITS = (
    "mm|m²|m|ft²|ft|in|sq|lb|kg|lm|lx|W|K|L|qt|gal|yd|rolls?|weeks?|days?|years?|€|\\$|%|×|°|"
    "Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec|January|February|March|April|June|July|"
    "August|September|October|November|December|A1|A2|A3|A4|Letter|Tabloid"
)


def unknown(labels: Iterator[str], data: set[str]) -> list[str]:
    """Labels that are neither in a glossary, nor the project's, nor a number."""
    found = []
    for label in dict.fromkeys(labels):
        text = plain(label)
        bare = label.replace("\u00a0", " ")
        bare = re.sub(rf"(?<!\w)({UNITS})(?!\w)", " ", bare)
        bare = re.sub(r"\s+,", ",", bare)
        bare = plain(re.sub(r"(?<!\w)[-−+±(]?[\d.,½¼¾⅛⅜⅝⅞/'\"]+", " ", bare))
        if not re.search(r"[a-z]{2}", bare) or text in WORDS or bare in WORDS or text in data:
            continue
        if any(part in text for part in data if len(part) > 3):
            continue
        # A wrapped or shortened piece of the project's own words.
        if any(text.rstrip("… ") in part for part in data):
            continue
        found.append(label)
    return found


@pytest.mark.parametrize("study", [LayoutOptions, ShareOfBlack, Light, BudgetScenarios])
@pytest.mark.parametrize("demo", DEMOS, ids=lambda d: d.name)
def test_studies(study: Any, demo: Path) -> None:
    desk = Desk(demo)
    data = {plain(t) for t in names_of(desk.project)}
    assert unknown(labels_of(study(desk).show({}, None)), data) == []


@pytest.mark.parametrize("demo", DEMOS, ids=lambda d: d.name)
def test_sheets(demo: Path) -> None:
    opened = project.read(demo)
    data = {plain(t) for t in names_of(opened.project)}
    texts = (
        item.text
        for entry in sheet_set(
            opened.project, folder=opened.folder, today=datetime.date(2026, 11, 25)
        )
        for drawing in entry.drawings
        for item in drawing.items
        if isinstance(item, Text) and len(item.text.split()) <= 3 and item.text[:1] != "–"
        # A heading or a caption, not a line of a sentence or of a wrapped cell.
        if item.weight == "semibold" or item.size <= 2.0
    )
    missing = unknown(iter(list(texts)), data)
    assert missing == []


def test_command_line() -> None:
    from designkit.cli import parser

    (commands,) = (a for a in parser()._actions if isinstance(a, argparse._SubParsersAction))
    for name, inner in commands.choices.items():
        assert plain(name) in WORDS, name
        for action in inner._actions:
            for option in action.option_strings:
                if option.startswith("--") and option != "--help":
                    assert plain(option) in WORDS or plain(option.strip("-")) in WORDS, option
