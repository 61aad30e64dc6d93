"""Words that a person sees in the parts of one's own room stand in the glossary."""

from __future__ import annotations

import argparse
from typing import get_args, get_type_hints

from designkit.analyses.of_fits import Answer
from designkit.cli import COMMANDS
from designkit.model import DeliveryStep
from designkit.plan import carrying
from designkit.plan.box import box
from designkit.plan.tracing import Winner
from designkit.plan.traverse import Rule
from designkit.project.import_columns import Field
from designkit.project.importing import Role
from designkit.reference import table

WORDS = {(row["where"], row["word"]) for row in table("glossary-room")}


def test_rows_are_whole() -> None:
    rows = table("glossary-room")
    for row in rows:
        assert all(row[key] for key in ("word", "meaning", "origin", "where")), row
        assert row["origin"] in ("trade", "standard", "general practice", "ours"), row
    assert len({(row["where"], row["word"]) for row in rows}) == len(rows)


def test_every_state_and_answer_is_there() -> None:
    hints = get_type_hints(DeliveryStep)
    wanted = {("delivery step", word) for word in get_args(hints["kind"])}
    wanted |= {("turn of a stair", word) for word in get_args(hints["turn"])}
    wanted |= {("answer of fits", word) for word in get_args(Answer)}
    wanted |= {("survey", word) for word in get_args(Rule)}
    wanted |= {("answer of a traced plan", word) for word in get_args(Winner)}
    wanted |= {("column of a price list", word) for word in get_args(Field) if word}
    wanted |= {("row of a price list", word) for word in get_args(Role)}
    wanted |= {("region of a bed", one.region) for one in box().values() if one.region}
    assert wanted <= WORDS


def test_every_way_to_carry_is_there() -> None:
    step = DeliveryStep(kind="lift", width=1.0, depth=1.2, height=2.0, door_width=0.8)
    for kind in (step, DeliveryStep(kind="corner", width=0.9, after=0.9, height=2.2)):
        for one in carrying.carries((2.0, 0.8, 0.7), step=kind):
            for word in one.words.split(", "):
                plain = " ".join(part for part in word.split() if not part.endswith("°"))
                assert ("way to carry", plain) in WORDS


def test_every_option_of_the_command_is_there() -> None:
    command = next(one for one in COMMANDS if one.name == "fits")
    parser = argparse.ArgumentParser(add_help=False)
    command.arguments(parser)
    options = {name for action in parser._actions for name in action.option_strings}
    assert {("option of fits", name) for name in options} <= WORDS
    assert ("command", "fits") in WORDS
