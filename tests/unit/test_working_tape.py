"""The tape of the working plan without a browser: chosen, followed, listed, written."""

from __future__ import annotations

import math
import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from designkit.errors import InputError, LookupFailed
from designkit.figures.check import faults
from designkit.figures.drawing import Line, Text
from designkit.figures.measured import Measured, both_units, measured_plan_sheet
from designkit.figures.sheet import TitleBlock
from designkit.project import read
from designkit.studies.desk import Desk
from designkit.studies.working_plan_study import WorkingPlan
from designkit.units import NBSP

ROOT = Path(__file__).parents[2]
BLOCK = TitleBlock(project="Flat", title="Measured plan", number="L-211")


@pytest.fixture
def plan(tmp_path: Path) -> WorkingPlan:
    folder = Path(shutil.copytree(ROOT / "data" / "harbour-flat", tmp_path / "flat"))
    found = WorkingPlan(Desk(folder))
    found.settle()
    return found


def do(plan: WorkingPlan, what: str, **more: Any) -> list[dict[str, Any]]:
    return list(plan.answer([{"n": plan.done + 1, "do": what, **more}]))


def said(shown: dict[str, Any]) -> list[str]:
    return [row["text"].replace(NBSP, " ") for row in shown["taped"]]


def move(plan: WorkingPlan, id: str, east: float) -> dict[str, Any]:
    x, y, turn = plan.pose(id)
    ways: dict[str, Any] = do(plan, "move", id=id, x=x + east, y=y, turn=turn)[-1]["ways"]
    return ways


def test_a_measure_follows_the_piece_and_stays(plan: WorkingPlan) -> None:
    (shown,) = do(plan, "tape", a="piece:sofa", b="piece:dining_table")
    (text,) = said(shown["sheet"])
    before = int(re.sub(r"\D", "", text.split("mm")[0]))
    assert text.startswith("Sofa to dining table: ")
    assert shown["said"]["said"].replace(NBSP, " ") == text
    assert "measured" in shown["sheet"]["tapes"]
    # 100 mm to the right, away from the table.
    ways = move(plan, "sofa", 0.1)
    assert said(ways)[0].startswith(f"Sofa to dining table: {before + 100:,} mm".replace(",", " "))
    assert f">{before + 100} (" in ways["tapes"]
    do(plan, "rest", id="sofa")
    (shown,) = do(plan, "undo")
    assert said(shown["sheet"]) == [text]
    # Asked again it is not there twice; taken away it is gone.
    do(plan, "tape", a="piece:dining_table", b="piece:sofa")
    (shown,) = do(plan, "untape", k=0)
    assert (shown["sheet"]["taped"], shown["sheet"]["tapes"]) == ([], "")
    do(plan, "untape", k=5)


def test_by_the_controls_and_with_a_typed_point(plan: WorkingPlan) -> None:
    controls = {c["id"]: c for c in plan.controls()}
    names = dict(controls["tape_a"]["choices"])
    assert names["opening:front_door"] == "front door"
    assert "wall:hall.0" in names
    assert "at_a" not in controls
    do(plan, "set", key="tape_a", value="wall:hall.1")
    (shown,) = do(plan, "set", key="tape_b", value="point:")
    assert "at_b" in [c["id"] for c in shown["desk"]["controls"]]
    with pytest.raises(InputError, match="two lengths"):
        do(plan, "tape")
    outline = plan.home.rooms["hall"].outline
    right, y = max(p[0] for p in outline), sum(p[1] for p in outline) / len(outline)
    do(plan, "set", key="at_b", value=f"{right - 1.234} m; {y} m")
    (shown,) = do(plan, "tape")
    assert said(shown["sheet"])[-1].startswith("Right wall of the hall to point")
    assert "1 234 mm (4'-0 9/16\")" in said(shown["sheet"])[-1]  # 1.234 m = 48.58 in
    for key, value in (("tape_a", "piece:nobody"), ("tape_b", "")):
        with pytest.raises(LookupFailed, match=r"nobody|tape_b"):
            do(plan, "set", key=key, value=value)
    with pytest.raises(LookupFailed, match="sofa"):
        do(plan, "tape", a="piece:soffa", b="piece:sofa")
    assert len(plan.tapes.ends) == 1


def test_there_are_not_too_many(plan: WorkingPlan) -> None:
    for i in range(12):
        do(plan, "tape", a="piece:sofa", b=f"point:1.{i:02d},1")
    with pytest.raises(InputError, match="take one away"):
        do(plan, "tape", a="piece:sofa", b="point:2,1")
    assert len(plan.tapes.ends) == 12


def test_what_the_option_does_not_have_is_left_out(plan: WorkingPlan) -> None:
    do(plan, "tape", a="piece:sofa", b="wall:living.0")
    do(plan, "tape", a="piece:plant", b="wall:living.0")
    plan.tapes.ends.insert(0, (plan.tapes.ends[0][0], plan.tapes.ends[1][0]))
    other = next(id for id in plan.home.layouts if id != plan.values["layout"])
    (shown,) = do(plan, "set", key="layout", value=other)
    has = [id in plan.home.layouts[other].pieces for id in ("sofa", "plant")]
    keys = [row["k"] for row in shown["sheet"]["taped"]]
    assert keys == [k for k, there in ((0, all(has)), (1, has[0]), (2, has[1])) if there]


def test_written_with_the_sheet_unless_hidden(plan: WorkingPlan) -> None:
    do(plan, "tape", a="piece:sofa", b="piece:bookcase")
    (shown,) = do(plan, "export")
    assert "measured-plan" in shown["said"]["note"]
    assert list(plan.desk.folder.glob("issued/*/measured-plan.pdf"))
    show = [word for word in plan.values["show"] if word != "tapes"]
    (shown,) = do(plan, "set", key="show", value=show)
    assert shown["sheet"]["tapes"] == ""
    assert len(shown["sheet"]["taped"]) == 1
    assert plan.tapes.sheet_of(plan.now().case) == ""


@pytest.mark.parametrize("demo", ["harbour-flat", "parlor-floor"])
def test_the_sheet_is_true_to_scale_and_nothing_clashes(demo: str) -> None:
    home = read(ROOT / "data" / demo).project.home
    layout = next(iter(home.layouts.values()))
    room = next(iter(home.rooms.values()))
    (x0, y0), x1 = room.outline[0], max(p[0] for p in room.outline)
    y = y0 + 1.3
    line = ((x0, y), (x1, y))
    across = Measured(between="left wall to right wall", line=line, distance=x1 - x0)
    short = Measured(between="a to b", line=((x0, y), (x0, y)), distance=0.0, note="they touch")
    wall = Measured(between="c to d", line=((x0, y), (x0, y + 2)), distance=2.0, clear=False)
    drawing = measured_plan_sheet(
        home, layout, measures=[across, short, wall], block=BLOCK, paper="A3"
    )
    assert drawing.scale is not None
    lines = [i for i in drawing.items if isinstance(i, Line) and i.about == "measured"]
    assert math.dist(*lines[0].points) == pytest.approx((x1 - x0) * 1000 / drawing.scale, rel=1e-6)
    assert [line.dash for line in lines if line.dash]
    texts = [i.text for i in drawing.items if isinstance(i, Text)]
    assert texts.count(both_units(x1 - x0, units=home.units)) == 2  # on the plan and in the list
    assert [str(f) for f in faults(drawing)] == []
    with pytest.raises(InputError, match="measure something"):
        measured_plan_sheet(home, layout, measures=[], block=BLOCK)
