"""The study "working plan" without a browser: steps, edits, words."""

from __future__ import annotations

import csv
import dataclasses
import json
import math
import re
import shutil
import tomllib
from pathlib import Path
from typing import Any

import pytest

from designkit import project
from designkit.errors import FileFormatError, InputError, LookupFailed
from designkit.model import Edit
from designkit.plan.tape import fixed_ends
from designkit.project.problems import ProjectErrors
from designkit.studies.board import Board
from designkit.studies.desk import Desk
from designkit.studies.words import letters_of
from designkit.studies.working_hand import BEGAN, stand_alike
from designkit.studies.working_plan_study import WorkingPlan
from designkit.studies.working_words import news

ROOT = Path(__file__).parents[2]
DEMOS = sorted((ROOT / "data").iterdir())


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(ROOT / "data" / "harbour-flat", tmp_path / "flat"))


@pytest.fixture
def plan(folder: Path) -> WorkingPlan:
    found = WorkingPlan(Desk(folder))
    found.settle()
    return found


def do(plan: WorkingPlan, what: str, **more: Any) -> list[dict[str, Any]]:
    return list(plan.answer([{"n": plan.done + 1, "do": what, **more}]))


def move(plan: WorkingPlan, id: str, east: float, north: float, turn: float = 0.0) -> Any:
    x, y, was = plan.pose(id)
    return do(plan, "move", id=id, x=x + east, y=y + north, turn=was + turn)


# --- moving ----------------------------------------------------------------------


def test_a_move_answers_with_what_changed_and_not_with_the_sheet(plan: WorkingPlan) -> None:
    first, second = move(plan, "sideboard", 0.30, 0.0)
    assert {*first} == {"live"}
    assert {*second} == {"ways"}
    assert first["live"]["n"] == plan.done
    assert first["live"]["poses"]["sideboard"][0] == pytest.approx(0.545)
    assert {"findings", "marks", "answer", "brief"} <= {*first["live"]}
    assert "<svg" not in json.dumps(first) + json.dumps(second)
    # The whole sheet is some ten times as long.
    assert len(json.dumps(first)) * 4 < len(json.dumps(plan.settle()))
    assert plan.desk.edits == []  # it is held, not put down


def test_put_down_it_is_one_step_to_undo(plan: WorkingPlan) -> None:
    start = plan.pose("sideboard")
    for _ in range(5):
        move(plan, "sideboard", 0.02, 0.01)
    move(plan, "sideboard", 0.0, 0.0, 15.0)
    (shown,) = do(plan, "rest", id="sideboard")
    assert shown["said"]["said"].startswith("old sideboard stands still.")
    assert len(plan.desk.edits) == 1
    assert {edit.path for edit in plan.desk.edits[0]} == {
        "layouts.a.pieces.sideboard.at",
        "layouts.a.pieces.sideboard.rotation",
    }
    there = plan.pose("sideboard")
    assert there == pytest.approx((start[0] + 0.1, start[1] + 0.05, (start[2] + 15) % 360))
    do(plan, "undo")
    assert plan.pose("sideboard") == pytest.approx(start)
    do(plan, "redo")
    assert plan.pose("sideboard") == pytest.approx(there)


def test_steps_are_done_once_and_only_the_last_place_counts(plan: WorkingPlan) -> None:
    x, y, turn = plan.pose("plant")
    steps = [
        {"n": n, "do": "move", "id": "plant", "x": x - 0.01 * n, "y": y, "turn": turn}
        for n in (1, 2, 3)
    ]
    assert len(list(plan.answer(steps))) == 2
    assert plan.pose("plant")[0] == pytest.approx(x - 0.03)
    assert list(plan.answer(steps)) == []


def test_what_stands_on_a_piece_moves_with_it(folder: Path) -> None:
    desk = Desk(folder)
    layout = desk.home.layouts["a"]
    plant = layout.pieces["plant"]
    on = dataclasses.replace(plant, on="sideboard", at=(0.245, 2.9), item="plant")
    desk.add("layouts", "z", dataclasses.replace(layout, pieces={**layout.pieces, "plant": on}))
    plan = WorkingPlan(desk)
    do(plan, "set", key="layout", value="z")
    x, y, turn = plan.pose("sideboard")
    do(plan, "move", id="sideboard", x=x + 1.0, y=y, turn=turn + 90)
    px, py, pturn = plan.pose("plant")
    # It keeps its place on the top: the offset is turned with the piece.
    dx, dy = 0.245 - x, 2.9 - y
    assert (px, py) == pytest.approx((x + 1.0 - dy, y + dx), abs=1e-6)
    assert pturn == pytest.approx((plant.rotation + 90) % 360)


def test_a_locked_piece_is_not_moved(plan: WorkingPlan) -> None:
    start = plan.pose("sofa")
    do(plan, "lock", id="sofa")
    assert plan.is_locked("sofa")
    assert plan.words()["piece"][1]["text"] == "Unlock"
    answers = plan.answer(
        [{"n": plan.done + 1, "do": "move", "id": "sofa", "x": 1.0, "y": 1.0, "turn": 0.0}]
    )
    assert "sheet" in next(answers)
    with pytest.raises(InputError, match="press Unlock first"):
        next(answers)
    assert plan.pose("sofa") == start
    with pytest.raises(InputError, match="press Unlock first"):
        do(plan, "swap", a="plant", b="sofa")
    do(plan, "undo")
    assert not plan.is_locked("sofa")


def test_two_pieces_change_places_by_their_backs(plan: WorkingPlan) -> None:
    home = plan.home
    a, b = plan.pose("sideboard"), plan.pose("bookcase")
    do(plan, "swap", a="sideboard", b="bookcase")

    def back(id: str) -> tuple[float, float]:
        x, y, turn = plan.pose(id)
        depth = home.pieces[plan.layout.pieces[id].item or id].size[1] / 2
        r = math.radians(turn)
        return x - depth * math.sin(r), y + depth * math.cos(r)

    now = {id: (back(id), plan.pose(id)[2]) for id in ("sideboard", "bookcase")}
    do(plan, "undo")
    assert plan.pose("sideboard") == pytest.approx(a)
    assert now["sideboard"][0] == pytest.approx(back("bookcase"), abs=1e-5)
    assert now["bookcase"][0] == pytest.approx(back("sideboard"), abs=1e-5)
    assert (now["sideboard"][1], now["bookcase"][1]) == (b[2], a[2])
    with pytest.raises(InputError, match="two pieces"):
        do(plan, "swap", a="sofa", b="sofa")


@pytest.mark.parametrize("place", [(math.nan, 1.0), (math.inf, 1.0)])
def test_a_place_that_is_no_number(plan: WorkingPlan, place: tuple[float, float]) -> None:
    with pytest.raises(InputError, match="finite"):
        do(plan, "move", id="sofa", x=place[0], y=place[1], turn=0.0)
    assert plan.held == {}


def test_off_the_plan_is_brought_to_its_edge(plan: WorkingPlan) -> None:
    do(plan, "move", id="plant", x=-50.0, y=50.0, turn=-90.0)
    xs = [x for room in plan.home.rooms.values() for x, _ in room.outline]
    ys = [y for room in plan.home.rooms.values() for _, y in room.outline]
    assert plan.pose("plant") == (min(xs), max(ys), 270.0)
    assert any(
        f.verdict != "passes" and "outside" in f.what.lower() for f in plan.now().result.findings
    )


def test_typed_places(plan: WorkingPlan) -> None:
    do(plan, "place", id="plant", field="along", text="6.5 m")
    assert plan.pose("plant")[0] == pytest.approx(6.5)
    do(plan, "place", id="plant", field="turn", text="30°")
    assert plan.pose("plant")[2] == 30.0
    with pytest.raises(InputError, match="write it as"):
        do(plan, "place", id="plant", field="up", text="up there")
    with pytest.raises(InputError, match="write it as 15"):
        do(plan, "place", id="plant", field="turn", text="a bit")


def test_unknown_words(plan: WorkingPlan) -> None:
    with pytest.raises(LookupFailed, match="sofa"):
        do(plan, "piece", id="sofaa")
    with pytest.raises(LookupFailed, match="rest, place"):
        do(plan, "fly")
    with pytest.raises(LookupFailed, match="show, snap"):
        do(plan, "set", key="colour", value="red")
    with pytest.raises(LookupFailed, match="a, b, c"):
        do(plan, "set", key="layout", value="q")


# --- options ---------------------------------------------------------------------


def test_kept_as_an_option_it_is_held_against_what_it_came_from(
    plan: WorkingPlan, folder: Path
) -> None:
    move(plan, "plant", -0.5, 0.0)
    do(plan, "rest", id="plant")
    (shown,) = do(plan, "option")
    text = tomllib.loads((folder / "project.toml").read_text("utf-8"))
    assert (
        text["layouts"]["a"]["pieces"]["plant"]["at"]
        != (text["layouts"]["d"]["pieces"]["plant"]["at"])
    )
    assert plan.values["layout"] == "d"
    assert plan.values["compare"] == BEGAN
    assert plan.differing() == {"plant"}
    assert "elsewhere plant" in shown["sheet"]["elsewhere"]
    (table,) = shown["said"]["tables"]
    (row,) = (row for row in table["rows"] if row[0].startswith("plant"))
    assert row[3] == "500\u00a0mm"
    assert len({len(r) for r in table["rows"]} | {len(table["head"])}) == 1
    do(plan, "set", key="compare", value="a")
    assert plan.differing() == {"plant"}
    do(plan, "set", key="compare", value="")
    assert plan.settle()["said"]["tables"] == []


def test_a_proposal_is_opened_and_not_kept(plan: WorkingPlan, folder: Path) -> None:
    before = (folder / "project.toml").read_bytes()
    (shown,) = do(plan, "propose")
    assert plan.values["layout"] not in ("a", "b", "c")
    assert "Not kept yet" in shown["said"]["note"]
    assert "pair score" in shown["said"]["note"] or "gap" in shown["said"]["note"]
    assert (folder / "project.toml").read_bytes() == before
    assert not any(f.what.endswith("overlap") for f in plan.now().result.failing)
    for _ in range(len(plan.desk.edits)):
        do(plan, "undo")
    assert plan.values["layout"] in plan.home.layouts


# --- others, and the files ---------------------------------------------------------


def test_what_another_study_keeps_is_taken_in(plan: WorkingPlan, folder: Path) -> None:
    other = Desk(folder)
    at = ["6.90 m", "0.60 m"]
    was = list(
        tomllib.loads((folder / "project.toml").read_text("utf-8"))["layouts"]["a"]["pieces"][
            "plant"
        ]["at"]
    )
    move(plan, "sideboard", 0.3, 0.0)
    do(plan, "rest", id="sideboard")
    other.do([Edit(path="layouts.a.pieces.plant.at", old=was, new=at)])
    other.keep()
    (shown,) = do(plan, "look")
    assert "Another study kept a change" in shown["said"]["note"]
    assert plan.pose("plant")[:2] == pytest.approx((6.9, 0.6))
    assert plan.pose("sideboard")[0] == pytest.approx(0.545)  # its own change stays
    assert do(plan, "look") == []


def test_of_two_changes_of_one_thing_the_kept_one_stays(plan: WorkingPlan, folder: Path) -> None:
    other = Desk(folder)
    was = tomllib.loads((folder / "project.toml").read_text("utf-8"))["layouts"]["a"]["pieces"]
    old = list(was["plant"]["at"])
    move(plan, "plant", -0.4, 0.0)
    do(plan, "rest", id="plant")
    move(plan, "sideboard", 0.3, 0.0)
    do(plan, "rest", id="sideboard")
    other.do([Edit(path="layouts.a.pieces.plant.at", old=old, new=["6.90 m", "0.60 m"])])
    other.keep()
    (shown,) = do(plan, "look")
    assert "Taken back here: layouts.a.pieces.plant.at" in shown["said"]["note"]
    assert plan.pose("plant")[:2] == pytest.approx((6.9, 0.6))
    assert plan.pose("sideboard")[0] == pytest.approx(0.545)
    do(plan, "keep")
    again = WorkingPlan(Desk(folder))
    assert again.pose("plant") == plan.pose("plant")
    assert again.pose("sideboard") == plan.pose("sideboard")


def test_a_broken_file_is_said_and_the_plan_stays(plan: WorkingPlan, folder: Path) -> None:
    file = folder / "project.toml"
    good = file.read_text("utf-8")
    file.write_text(good + "\n[broken\n", encoding="utf-8")
    start = plan.pose("sofa")
    with pytest.raises(FileFormatError, match="close quotes and brackets"):
        do(plan, "look")
    move(plan, "sofa", -0.05, 0.0)
    assert plan.pose("sofa")[0] == pytest.approx(start[0] - 0.05)


def test_an_option_that_is_gone_gives_way(plan: WorkingPlan, folder: Path) -> None:
    do(plan, "set", key="layout", value="c")
    file = folder / "project.toml"
    text = file.read_text("utf-8")
    start = text.index("[layouts.c]")
    after = re.search(r"\n\[(?!layouts\.c)", text[start:])
    assert after is not None
    file.write_text(text[:start] + text[start + after.start() + 1 :], encoding="utf-8")
    project.read(folder)
    do(plan, "look")
    assert plan.values["layout"] == "a"
    assert plan.settle()["sheet"]["things"]


def test_a_project_without_layouts(folder: Path) -> None:
    desk = Desk(folder)
    desk.project = dataclasses.replace(
        desk.project, home=dataclasses.replace(desk.home, layouts={}, layout="")
    )
    with pytest.raises(InputError, match="one layout or more"):
        WorkingPlan(desk)


# --- words ---------------------------------------------------------------------------


@pytest.mark.parametrize("demo", DEMOS, ids=lambda d: d.name)
def test_every_piece_has_a_name_for_those_who_do_not_see_it(demo: Path) -> None:
    plan = WorkingPlan(Desk(demo))
    shown = plan.settle()
    movers = [t for t in shown["sheet"]["things"] if t["can"]]
    assert {t["id"] for t in movers} == {*shown["sheet"]["order"]}
    for thing in movers:
        assert thing["name"] in thing["label"]
        assert " in the " in thing["label"]
        assert " wall" in thing["label"]
        assert thing["svg"]
    feet = plan.home.units == "ft"
    assert ("½ in" in shown["ground"]["keys"]) == feet
    assert (shown["ground"]["step"], shown["ground"]["far"]) == (
        (0.0127, 0.1524) if feet else (0.01, 0.1)
    )


def test_news_are_what_has_changed() -> None:
    before = {"Way": "Way 900 mm, passes", "Gap": "Gap: fails", "Old": "Old: fails"}
    now = {"Way": "Way 905 mm, passes", "Gap": "Gap: passes", "New": "New: fails", "Ok": "passes"}
    assert news(before, now) == [
        "Way 905 mm, passes",
        "Gap: passes",
        "New: fails",
        "Old: no longer a matter",
    ]
    assert news(now, now) == []


def test_letters_and_places() -> None:
    assert letters_of([str(i) for i in range(28)])["25"] == "Z"
    assert letters_of([str(i) for i in range(28)])["27"] == "28"
    home = project.read(DEMOS[0]).project.home
    plant = home.layouts["a"].pieces["plant"]
    assert stand_alike(plant, dataclasses.replace(plant, rotation=plant.rotation + 360))
    assert not stand_alike(plant, dataclasses.replace(plant, at=(plant.at[0] + 0.001, plant.at[1])))


def plain(text: str) -> str:
    return re.sub(r"\s+", " ", text.replace("\u00a0", " ")).strip(" .:,").casefold()


@pytest.mark.parametrize("demo", DEMOS, ids=lambda d: d.name)
def test_every_word_stands_in_a_glossary(demo: Path) -> None:
    known = set()
    for path in (ROOT / "designkit" / "reference").glob("glossary*.csv"):
        with path.open(encoding="utf-8", newline="") as file:
            known |= {plain(row["word"]) for row in csv.DictReader(file)}
    plan = WorkingPlan(Desk(demo))
    plan.values["compare"] = next(id for id in plan.home.layouts if id != plan.values["layout"])
    shown = plan.settle()
    desk, said = shown["desk"], shown["said"]
    own = {plain(plan.name(id)) for id in plan.movers()}
    own |= {plain(layout.name) for layout in plan.home.layouts.values()}
    own |= {plain(n.removeprefix("the ")) for n in fixed_ends(plan.now().case).values()}
    words = [desk["swap"]["text"], said["findings"]["title"]]
    words += [b["text"] for c in desk["controls"] for b in c.get("buttons", ())]
    words += [b["text"] for b in [*desk["piece"], *said["actions"]]]
    for control in desk["controls"]:
        words += [control["label"], *(text for _, text in control.get("choices", ()))]
    for table in said["tables"]:
        words += [table["title"], *(h.split("  ")[-1] for h in table["head"])]
    for word in words:
        text = plain(word)
        assert text in known | own or not re.search("[a-z]{2}", text), word


def test_the_page_keeps_alive_when_a_step_fails(folder: Path) -> None:
    board = Board(WorkingPlan(Desk(folder)))
    assert board.sheet["things"]
    step = {"n": 1, "do": "move", "id": "nobody", "x": 1.0, "y": 1.0, "turn": 0.0}
    board._on_message(board, {"n": 1, "steps": [step]}, [])
    assert board.answered == 1
    assert "nobody" in board.said["error"]["text"]
    x, y, turn = board.sheet["things"][0]["pose"]
    id = board.sheet["things"][0]["id"]
    step = {"n": 2, "do": "move", "id": id, "x": x + 0.01, "y": y, "turn": turn}
    board._on_message(board, {"n": 2, "steps": [step]}, [])
    assert board.answered == 2
    assert board.said["error"] is None
    assert board.live["poses"][id][0] == pytest.approx(x + 0.01)


ONE_ROOM = """schema = 1
name = "one room"
units = "m"
layout = "a"
[rooms.r]
name = "room"
height = "2.6 m"
outline = {outline}
[pieces.sofa]
name = "sofa"
kind = "sofa"
size = ["2.1 m", "0.92 m", "0.8 m"]
[layouts.a]
name = "A"
[layouts.a.pieces]
sofa = {{ at = ["2.5 m", "0.5 m"], rotation = 180 }}
"""


def test_what_a_search_cannot_look_at_is_said_on_the_page(tmp_path: Path) -> None:
    square = [[0, 0], [5, 0], [5, 4], [0, 4]]
    (tmp_path / "project.toml").write_text(ONE_ROOM.format(outline=square), encoding="utf-8")
    plan = WorkingPlan(Desk(tmp_path))
    list(plan.answer([{"n": 1, "do": "propose"}]))
    assert "No door is drawn" in plan.note
    assert "No window is drawn" in plan.note
    assert "proven" in plan.note


def test_an_outline_of_ten_thousand_corners_is_refused_by_name(tmp_path: Path) -> None:
    sides = [[i / 2500 * 5, 0.0] for i in range(2500)]
    sides += [[5.0, i / 7500 * 4] for i in range(7500)]
    text = ONE_ROOM.format(outline=[*sides, [5.0, 4.0], [0.0, 4.0]])
    (tmp_path / "project.toml").write_text(text, encoding="utf-8")
    with pytest.raises(ProjectErrors, match=r"rooms\.r\.outline = 10002 points"):
        Desk(tmp_path)
