"""The condition sheet: a checklist for each old piece, its answers from the project."""

from __future__ import annotations

import shutil
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from designkit import project as files
from designkit.documents import condition_sheet, conditions_of
from designkit.documents.sets import papers_for
from designkit.errors import InputError
from designkit.project import ProjectErrors
from designkit.shipped import shipped

ASKED = "condition = { frame ="


@pytest.fixture
def harbour(tmp_path: Path) -> Path:
    return Path(shutil.copytree(shipped("data") / "harbour-flat", tmp_path / "h"))


def test_only_old_pieces_are_asked_about_and_open_points_are_not_free(harbour: Path) -> None:
    project = files.read(harbour).project
    found = conditions_of(project)
    assert set(found) == {id for id, piece in project.home.pieces.items() if piece.old}
    chair = {row.point.id: row for row in found["armchair"].rows}
    assert chair["frame"].likely == 0  # looked at and in order
    # 2 to 6 h and 1 to 3 h at 60 an hour, with goods: `costs.condition.*`.
    assert chair["springs"].low >= 2 * 60
    assert chair["springs"].high >= 6 * 60
    assert chair["pests"].low == 0 < chair["pests"].likely < chair["pests"].high
    nothing = {**project.home.pieces}
    nothing["armchair"] = replace(nothing["armchair"], condition={})
    unknown = conditions_of(replace(project, home=replace(project.home, pieces=nothing)))
    assert unknown["armchair"].high > found["armchair"].high
    assert len(unknown["armchair"].ask) == len(found["armchair"].ask) + 5


def test_the_restorer_reads_questions_and_no_sums(harbour: Path) -> None:
    project = files.read(harbour).project
    (paper,) = papers_for(project, audience="trade", names=["condition-sheet"])
    assert {"low", "likely", "high", "why"}.isdisjoint(paper.tables[0].columns)
    assert "€" not in paper.answer
    (paper,) = papers_for(project, audience="studio", names=["condition-sheet"])
    likely = sum((one.likely for one in conditions_of(project).values()), Decimal(0))
    assert f"{likely:,.2f} €".replace(".00", "") in paper.answer.replace("\u00a0", " ")
    assert "condition-sheet" not in [p.name for p in papers_for(project, audience="client")]
    with pytest.raises(InputError, match="audience"):
        condition_sheet(project, audience="client")


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ("condition = { frames =", "condition.frames = 'frames'.*write frame"),
        ("condition = { watts =", "a check point of its kind"),
        ('condition = { veneer = "no", frame =', "ok, repair"),
    ],
)
def test_a_wrong_answer_is_named(harbour: Path, wrong: str, words: str) -> None:
    place = harbour / "project.toml"
    text = place.read_text(encoding="utf-8")
    assert ASKED in text
    place.write_text(text.replace(ASKED, wrong, 1), encoding="utf-8")
    with pytest.raises(ProjectErrors, match=words):
        files.read(harbour)
