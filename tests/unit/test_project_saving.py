"""Changes of a project: in memory, on disk, beside other people's changes."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from project_texts import COSTS, HOME, swap, write

from designkit import model, project
from designkit.errors import FileFormatError, InputError
from designkit.model import Edit
from designkit.project import ProjectErrors

MOVE = Edit(path="layouts.a.pieces.sofa.at", old=["260 cm", "60 cm"], new=["3 m", "0.6 m"])


def test_apply_changes_a_copy_and_shares_the_rest(tmp_path: Path) -> None:
    opened = project.read(write(tmp_path))
    changed = project.apply(opened, [MOVE])
    assert changed.home.layouts["a"].pieces["sofa"].at == (3.0, 0.6)
    assert opened.project.home.layouts["a"].pieces["sofa"].at == (2.6, 0.6)
    assert changed.home.rooms["living"] is opened.project.home.rooms["living"]
    assert (opened.folder / "project.toml").read_text("utf-8") == HOME


@pytest.mark.parametrize(
    "edit",
    [
        Edit(path="rooms.living.height", old="260 cm", new="2.7 m"),
        Edit(path="rooms.living.height", old=2.6, new=2.7),
        Edit(path="brief.budget", old=Decimal("24000.00"), new=25000),
        Edit(path="pieces.sofa.known", old={"source": "measured", "within": "0.5 cm"}, new="guess"),
        Edit(path="pieces.sofa.known.within", old=0.005, new="1 cm"),
        Edit(path="rooms.living.known.within", old=None, new="1 cm"),
        Edit(path="finishes.white.colours.0.lrv", old=83.0, new=80),
        Edit(path="rules.plan.route.main", old="950 mm", new="1 m"),
        Edit(path="layouts.a.pieces.table.rotation", old=0.0, new=90),
        Edit(path="layouts.a.pieces.table.rotation", old=None, new=90),
        Edit(path="layouts.a.pieces.table.locked", old=False, new=True),
        Edit(path="costs.sofa_new.likely", old=1200.5, new=Decimal("1300.25")),
        Edit(path="costs.sofa_new.status", old="quoted", new="ordered"),
        Edit(path="costs.sofa_new.quantity", old=None, new=2),
        Edit(path="tasks.paint.after", old=("prepare",), new=None),
        Edit(path="quotes.2.amount", old="120", new=130),
    ],
)
def test_a_change_holds_by_value_whatever_the_spelling(tmp_path: Path, edit: Edit) -> None:
    opened = project.read(write(tmp_path))
    saved = project.save(opened, [edit])
    assert saved.conflicts == ()
    assert saved.project == project.apply(opened, [edit])
    assert saved.project == project.read(opened.folder).project
    assert saved.project != opened.project
    back = project.undo(saved, [edit])
    assert back.conflicts == ()
    assert back.project == opened.project


def test_a_change_from_another_value_is_refused_in_memory(tmp_path: Path) -> None:
    opened = project.read(write(tmp_path))
    with pytest.raises(InputError, match="what the project says now") as caught:
        project.apply(opened, [Edit(path="brief.budget", old=1, new=2)])
    assert "24000" in caught.value.allowed


def test_a_path_that_leads_nowhere_is_refused(tmp_path: Path) -> None:
    opened = project.read(write(tmp_path))
    for path in ("name.first", "rooms.living.outline.9.0", "rooms..a", "costs.a.b.c"):
        with pytest.raises(InputError, match="path of a change"):
            project.apply(opened, [Edit(path=path, old=None, new=1)])
    with pytest.raises(InputError, match="add the row first"):
        project.apply(opened, [Edit(path="costs.none.likely", old=None, new=1)])


def test_a_change_that_breaks_the_project_is_not_saved(tmp_path: Path) -> None:
    opened = project.read(write(tmp_path))
    for edit in (
        Edit(path="openings.window.wall", old=2, new=9),
        Edit(path="rooms.living.hight", old=None, new=1),
        Edit(path="costs.sofa_new.likely", old="1200.50", new="much"),
        Edit(path="csv.decimal", old=None, new=","),
        Edit(path="brief.keeps", old=["table"], new=["chair"]),
    ):
        with pytest.raises(ProjectErrors, match="problem"):
            project.save(opened, [edit])
    assert (opened.folder / "project.toml").read_text("utf-8") == HOME
    assert (opened.folder / "costs.csv").read_text("utf-8") == COSTS


def test_a_save_keeps_comments_rows_and_the_last_version(tmp_path: Path) -> None:
    folder = write(tmp_path)
    opened = project.read(folder)
    project.save(opened, [MOVE, Edit(path="costs.sofa_move.likely", old=90, new="95.5")])
    text = (folder / "project.toml").read_text("utf-8")
    new = 'sofa = { at = ["3 m", "0.6 m"], rotation = 180 } # facing the window'
    assert text == swap('sofa = { at = ["2.6 m", 0.6], rotation = 180 } # facing the window', new)
    assert (folder / "costs.csv").read_text("utf-8") == COSTS.replace(",90,", ",95.5,")
    assert (folder / ".designkit" / "previous" / "project.toml").read_text("utf-8") == HOME
    assert (folder / ".designkit" / "previous" / "costs.csv").read_text("utf-8") == COSTS
    assert not (folder / ".designkit" / "ready.json").exists()


def test_a_save_keeps_encoding_and_line_ends(tmp_path: Path) -> None:
    folder = write(tmp_path)
    (folder / "project.toml").write_bytes(b"\xef\xbb\xbf" + HOME.replace("\n", "\r\n").encode())
    costs = COSTS.replace(",", ";").replace(".50", ",50").replace("Sofa; grey", "Sofa, grey")
    (folder / "costs.csv").write_bytes(costs.replace("\n", "\r\n").encode("utf-16"))
    saved = project.save(
        project.read(folder),
        [MOVE, Edit(path="costs.sofa_new.likely", old=Decimal("1200.5"), new=Decimal("1300.25"))],
    )
    data = (folder / "project.toml").read_bytes()
    assert data.startswith(b"\xef\xbb\xbf# The flat")
    assert data.count(b"\r\n") == data.count(b"\n") == HOME.count("\n")
    text = (folder / "costs.csv").read_bytes().decode("utf-16")
    assert text == costs.replace("1200,50", "1300,25").replace("\n", "\r\n")
    assert saved.project.costs[0].likely == Decimal("1300.25")


def test_rows_come_and_go(tmp_path: Path) -> None:
    folder = write(tmp_path)
    row = {"item": "Rug; wool, grey", "category": "rugs", "likely": Decimal(800), "tint": "grey"}
    edits = [
        Edit(path="costs.rug", old=None, new=row),
        Edit(
            path="costs.sofa_move",
            old={
                "item": "Delivery",
                "piece": "sofa",
                "category": "seating",
                "likely": 90,
                "supplier": "Supplier 1",
            },
            new=None,
        ),
    ]
    saved = project.save(project.read(folder), edits)
    assert [line.id for line in saved.project.costs] == ["sofa_new", "rug"]
    assert saved.project.costs[1].more == {"tint": "grey"}
    assert (folder / "costs.csv").read_text("utf-8").splitlines() == [
        "id,piece,item,category,likely,status,supplier,tint",
        'sofa_new,sofa,"Sofa, grey",seating,1200.50,quoted,Supplier 1,',
        'rug,,"Rug; wool, grey",rugs,800,,,grey',
    ]
    back = project.undo(saved, edits)
    assert {line.id for line in back.project.costs} == {"sofa_new", "sofa_move"}


def test_a_first_row_makes_the_file(tmp_path: Path) -> None:
    folder = write(tmp_path, tasks=None)
    edit = Edit(path="tasks.a", old=None, new={"task": "Measure", "likely": 1})
    saved = project.save(project.read(folder), [edit])
    assert saved.project.tasks[0].task == "Measure"
    assert project.changed_since(saved) == ()


def test_changes_that_still_hold_are_made_on_the_new_file(tmp_path: Path) -> None:
    folder = write(tmp_path)
    opened = project.read(folder)
    (folder / "project.toml").write_text(
        swap("budget = 24000", "budget = 26000 # raised").replace("lrv = 83", "lrv = 81"), "utf-8"
    )
    edits = [
        MOVE,
        Edit(path="brief.budget", old=24000, new=23000),
        Edit(path="finishes.white.lrv", old=83, new=81),
        Edit(path="brief.budget", old=23000, new=22000),
    ]
    saved = project.save(opened, edits)
    assert saved.conflicts == (project.Conflict(path="brief.budget", ours=22000, theirs=26000),)
    assert saved.project.home.layouts["a"].pieces["sofa"].at == (3.0, 0.6)
    assert saved.project.home.brief.budget == 26000
    text = (folder / "project.toml").read_text("utf-8")
    assert "budget = 26000 # raised # with tax" in text
    # the choice is the user's: theirs stands, or ours is saved again from theirs
    again = project.save(saved, [Edit(path="brief.budget", old=26000, new=22000)])
    assert again.conflicts == ()
    assert again.project.home.brief.budget == 22000


def test_a_conflict_over_something_taken_away(tmp_path: Path) -> None:
    folder = write(tmp_path)
    opened = project.read(folder)
    project.save(
        opened,
        [
            Edit(path="layouts.a.pieces.table", old={"at": [4, 3]}, new=None),
            Edit(path="layouts.a.lamps.over_table.over", old="table", new=None),
        ],
    )
    turn = Edit(path="layouts.a.pieces.table.rotation", old=0, new=90)
    at = Edit(path="layouts.a.pieces.table.at", old=[4, 3], new=[4, 2])
    saved = project.save(opened, [at, turn])
    assert [c.path for c in saved.conflicts] == [at.path, turn.path]
    assert saved.conflicts[0] == project.Conflict(path=at.path, ours=[4, 2], theirs=None)


def test_changes_in_a_table_that_changed(tmp_path: Path) -> None:
    folder = write(tmp_path)
    opened = project.read(folder)
    (folder / "costs.csv").write_text(COSTS.replace("1200.50", "1250.00"), "utf-8")
    saved = project.save(
        opened,
        [
            Edit(path="costs.sofa_new.likely", old="1200.50", new=1300),
            Edit(path="costs.sofa_move.likely", old=90, new=100),
        ],
    )
    assert saved.conflicts == (
        project.Conflict(path="costs.sofa_new.likely", ours=1300, theirs="1250.00"),
    )
    assert [line.likely for line in saved.project.costs] == [1250, 100]


def test_a_broken_file_is_not_saved_over(tmp_path: Path) -> None:
    folder = write(tmp_path)
    opened = project.read(folder)
    for broken in ("name = ", swap("lrv = 83", "lrv = 830")):
        (folder / "project.toml").write_text(broken, "utf-8")
        with pytest.raises(FileFormatError, match="allowed"):
            project.save(opened, [MOVE])
        assert (folder / "project.toml").read_text("utf-8") == broken


def test_changes_on_disk_are_noticed_cheaply(tmp_path: Path) -> None:
    folder = write(tmp_path)
    opened = project.read(folder)
    assert project.changed_since(opened) == ()
    os.utime(folder / "project.toml", ns=(1, 1))  # touched, but the same
    assert project.changed_since(opened) == ()
    (folder / "costs.csv").write_text(COSTS + "\n", "utf-8")
    (folder / "tasks.csv").unlink()
    assert project.changed_since(opened) == ("costs.csv", "tasks.csv")


def test_an_older_schema_is_read_and_changed_when_saved(tmp_path: Path) -> None:
    old = swap("schema = 1", "schema = 0").replace("[pieces.", "[furniture.")
    old = old.replace('height = "2600 mm"', 'ceiling_height = "2600 mm" # to the slab')
    old = old.replace('to = "outside"', 'leads_to = "outside"')
    folder = write(tmp_path, old)
    opened = project.read(folder)
    assert opened.project == project.read(write(tmp_path / "..", HOME)).project
    assert "furniture is now pieces" in opened.upgraded
    assert "schema 0" in opened.upgraded
    assert (folder / "project.toml").read_text("utf-8") == old
    saved = project.save(opened, [])
    wanted = HOME.replace('height = "2600 mm"', 'height = "2600 mm" # to the slab')
    assert (folder / "project.toml").read_text("utf-8") == wanted
    assert (folder / ".designkit" / "previous" / "project.toml").read_text("utf-8") == old
    assert (saved.upgraded, project.read(folder).upgraded) == ("", "")


def test_the_changes_between_two_projects_make_one_the_other(tmp_path: Path) -> None:
    opened = project.read(write(tmp_path))
    old = opened.project
    home = old.home
    layout = home.layouts["a"]
    new = replace(
        old,
        home=replace(
            home,
            place="by the park",
            brief=replace(home.brief, budget=Decimal("25000.50"), seats=4),
            rules={},
            rooms={"living": replace(home.rooms["living"], height=2.55, known=model.Known())},
            finishes={
                **home.finishes,
                "white": replace(home.finishes["white"], colours=(model.Colour(lrv=80.0),)),
                "grey": model.Finish(name="Grey", colours=(model.Colour(guess="mid"),)),
            },
            layouts={
                "a": replace(
                    layout,
                    pieces={
                        "table": replace(layout.pieces["table"], rotation=90.0),
                        "side": model.Placement(at=(1.0, 1.0), item="table"),
                    },
                    drapes={},
                ),
                "b": model.Layout(name="B", pieces={"sofa": model.Placement(at=(1.5, 2.0))}),
            },
        ),
        costs=(
            replace(old.costs[0], likely=Decimal(1300), tax=Decimal("0.2")),
            model.CostLine(id="rug", item="Rug", category="rugs", likely=Decimal(800), row=3),
        ),
        tasks=(replace(old.tasks[0], low=Decimal("0.5")), old.tasks[1]),
        quotes=old.quotes[:1],
    )
    edits = project.changes_between(old, new)
    assert project.changes_between(new, new) == ()
    assert without_rows(project.apply(opened, edits)) == without_rows(new)
    saved = project.save(opened, edits)
    assert saved.conflicts == ()
    assert without_rows(saved.project) == without_rows(new)
    back = project.undo(saved, edits)
    assert back.conflicts == ()
    lines = {line.id: replace(line, row=0) for line in back.project.costs}
    assert lines == {line.id: replace(line, row=0) for line in old.costs}
    assert back.project.home == old.home


def without_rows(one: model.Project) -> Any:
    rows = [
        tuple(replace(line, row=0) for line in table)
        for table in (one.costs, one.quotes, one.tasks)
    ]
    return (one.home, *rows)


def test_changes_between_other_units_are_refused(tmp_path: Path) -> None:
    one = project.read(write(tmp_path)).project
    two = replace(one, home=replace(one.home, units="mm"))
    with pytest.raises(InputError, match="units = m and mm"):
        project.changes_between(one, two)


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(
        st.tuples(
            st.sampled_from(["sofa", "table"]),
            st.integers(0, 5200),
            st.integers(0, 4100),
            st.sampled_from([0, 45, 90, 180]),
        ),
        max_size=5,
    )
)
def test_any_moves_can_be_saved_and_taken_back(tmp_path: Path, moves: Any) -> None:
    opened = project.read(write(tmp_path))
    new = opened.project
    for id, x, y, turn in moves:
        layout = new.home.layouts["a"]
        place = replace(layout.pieces[id], at=(x / 1000, y / 1000), rotation=float(turn))
        layout = replace(layout, pieces={**layout.pieces, id: place})
        new = replace(new, home=replace(new.home, layouts={"a": layout}))
    edits = project.changes_between(opened.project, new)
    saved = project.save(opened, edits)
    assert saved.project == new
    assert project.undo(saved, edits).project == opened.project


def test_a_folder_that_cannot_be_written_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened = project.read(write(tmp_path))

    def full(handle: int, data: object) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "write", full)
    with pytest.raises(FileFormatError, match="No space left on device"):
        project.save(opened, [MOVE])
    monkeypatch.undo()
    assert (opened.folder / "project.toml").read_text("utf-8") == HOME
    assert project.save(opened, [MOVE]).conflicts == ()


# The child saves, and dies without a word at its n-th step on the disk.
CHILD = """
import os, sys
from designkit import project
from designkit.model import Edit
opened = project.read(sys.argv[1])
left = int(sys.argv[2])
def mortal(name):
    whole = getattr(os, name)
    def step(*args, **more):
        global left
        left -= 1
        if left == 0:
            if name == "write":
                whole(args[0], bytes(args[1])[: len(args[1]) // 2])
            os._exit(9)
        return whole(*args, **more)
    setattr(os, name, step)
for name in ("open", "write", "fsync", "replace", "unlink", "chmod"):
    mortal(name)
project.save(opened, [
    Edit(path="name", old="Flat by the park", new="New name"),
    Edit(path="costs.sofa_new.likely", old="1200.50", new="1300.50"),
])
print("done")
"""


def killed_at(folder: Path, step: int) -> bool:
    """Whether the save was cut off at this step."""
    done = subprocess.run(
        [sys.executable, "-c", CHILD, str(folder), str(step)], capture_output=True, text=True
    )
    assert done.returncode in (0, 9), done.stderr
    return done.returncode == 9


def check_whole(folder: Path) -> str:
    """Old or new, in both files together."""
    opened = project.read(folder)
    name, price = opened.project.home.name, opened.project.costs[0].likely
    state = {("Flat by the park", Decimal("1200.5")): "old", ("New name", Decimal("1300.5")): "new"}
    assert (name, price) in state
    new_text = HOME.replace('name = "Flat by the park"', 'name = "New name"')
    assert (folder / "project.toml").read_text("utf-8") in (HOME, new_text)
    assert (folder / "costs.csv").read_text("utf-8") in (COSTS, COSTS.replace("1200.50", "1300.50"))
    saved = project.save(opened, [Edit(path="place", old=None, new="town")])
    assert saved.project.home.place == "town"
    return state[name, price]


@pytest.mark.parametrize("step", [1, 9, 17, 24, 25, 27])
def test_a_kill_leaves_old_or_new_whole(tmp_path: Path, step: int) -> None:
    folder = write(tmp_path)
    killed_at(folder, step)
    assert check_whole(folder) in ("old", "new")


@pytest.mark.proof
def test_a_kill_at_any_step_leaves_old_or_new_whole(
    tmp_path: Path, record_property: Callable[[str, object], None]
) -> None:
    states = []
    for step in range(1, 200):
        (tmp_path / str(step)).mkdir()
        folder = write(tmp_path / str(step))
        if not killed_at(folder, step):
            break
        states.append(check_whole(folder))
    assert states == sorted(states, reverse=True)  # old, then from one step on new
    assert set(states) == {"old", "new"}
    record_property("proof", (len(states), "kills"))
