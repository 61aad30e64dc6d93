"""Opening a project folder: what is read, and what is said when it cannot be."""

from __future__ import annotations

import os
import pickle
from decimal import Decimal
from pathlib import Path

import pytest
from project_texts import COSTS, HOME, swap, write

from designkit import model, project
from designkit.errors import FileFormatError, InputError
from designkit.project import ProjectErrors


def problems_of(folder: Path) -> dict[str, project.Problem]:
    with pytest.raises(ProjectErrors, match=r"problems? in the project") as caught:
        project.read(folder)
    return {
        f"{p.file}:{p.path}" if p.file != "project.toml" else p.path: p
        for p in caught.value.problems
    }


def only(folder: Path, path: str) -> project.Problem:
    found = problems_of(folder)
    assert list(found) == [path]
    return found[path]


def test_a_project_is_read_into_the_classes_of_model(tmp_path: Path) -> None:
    opened = project.read(write(tmp_path))
    home = opened.project.home
    assert home.name == "Flat by the park"
    room = home.rooms["living"]
    assert room.outline == ((0.0, 0.0), (5.2, 0.0), (5.2, 4.1), (0.0, 4.1))
    assert room.height == 2.6
    assert room.known == model.Known(source="measured")
    assert home.openings["window"].sill == 0.9
    assert home.finishes["white"].colours == (model.Colour(lrv=83.0),)
    assert home.finishes["stripe"].colours[0] == model.Colour(share=0.6, hex="#202020")
    assert home.pieces["sofa"].known == model.Known(source="measured", within=0.005)
    assert home.pieces["table"].size == (1.6, 0.9, 0.74)
    assert home.layouts["a"].pieces["sofa"] == model.Placement(at=(2.6, 0.6), rotation=180.0)
    assert home.layouts["a"].lamps["over_table"].over == "table"
    assert home.brief.budget == Decimal(24000)
    assert home.brief.wishes["way"].at_least == 0.9
    assert home.scenarios["less"].changes[0].quantity == Decimal(0)
    assert home.scopes["painting"].lines["walls"].quantity == Decimal("48.36")
    assert home.rules == {"plan.route.main": 0.95}
    assert opened.project.costs[0].likely == Decimal("1200.50")
    assert opened.project.quotes[1].included == "apart"
    assert opened.project.tasks[1].after == ("prepare",)
    assert (opened.upgraded, opened.read_only, opened.problems) == ("", "", ())


def test_the_file_itself_may_be_named_and_tables_left_out(tmp_path: Path) -> None:
    home = swap('changes = [{ line = "sofa_new", quantity = 0, text = "no sofa" }]', "")
    folder = write(tmp_path, home, costs=None, quotes=None, tasks=None)
    opened = project.read(folder / "project.toml")
    assert opened.folder == folder
    assert opened.project.costs == ()


def test_a_project_in_feet_reads_bare_numbers_as_feet(tmp_path: Path) -> None:
    home = """
name = "Parlour"
units = "ft"
rules.plan.route.main = 3
[rooms.parlour]
name = "Parlour"
outline = [[0, 0], [14, 0], [14, "28'-6 1/2\\""], [0, "28 ft 6.5 in"]]
height = "9'-4\\""
"""
    opened = project.read(write(tmp_path, home, costs=None, quotes=None, tasks=None))
    room = opened.project.home.rooms["parlour"]
    # 14 ft and 28 ft 6 1/2 in and 9 ft 4 in at 0.3048 m and 0.0254 m
    assert room.outline[2] == pytest.approx((4.2672, 8.6995), abs=1e-12)
    assert room.height == pytest.approx(2.8448, abs=1e-12)
    assert opened.project.home.rules["plan.route.main"] == pytest.approx(0.9144, abs=1e-12)


def test_all_problems_come_at_once_with_lines_and_what_waits(tmp_path: Path) -> None:
    home = swap('height = "2600 mm"', "height = nan")
    home = swap('floor = "oak"', 'floor = "oac"', home)
    home = swap('kind = "door"', 'kind = "dor"', home)
    home = swap("lrv = 83", "lvr = 83", home)
    home = swap('start = "base"', 'start = "bass"', home)
    home = swap("lumens = 800", 'lumens = "800"', home)
    costs = COSTS.replace("90,guess", "ninety,guess")
    with pytest.raises(ProjectErrors, match="in the project") as caught:
        project.read(write(tmp_path, home, costs=costs))
    found = {p.path: p for p in caught.value.problems}
    assert set(found) == {
        "rooms.living.height",
        "openings.entry.kind",
        "finishes.white.lvr",
        "fixtures.pendant.lumens",
        "scenarios.less.start",
        "sofa_move.likely",
    }
    lines = home.splitlines()
    for path, p in found.items():
        if p.file == "project.toml":
            assert p.line is not None
            assert path.rpartition(".")[2] in lines[p.line - 1]
            assert p.allowed
            assert p.mend
    assert found["openings.entry.kind"].mend == 'write "door"'
    assert found["finishes.white.lvr"].mend == "write lrv"
    assert found["scenarios.less.start"].mend == "write base"
    assert found["sofa_move.likely"].line == 3
    text = str(caught.value)
    assert text.count("\n") == 7
    assert text.splitlines()[0] == "6 problems in the project:"
    assert caught.value.waiting > 0
    assert text.splitlines()[-1] == f"{caught.value.waiting} checks wait for these"


def test_the_errors_can_be_pickled(tmp_path: Path) -> None:
    with pytest.raises(ProjectErrors, match="1 problem") as caught:
        project.read(write(tmp_path, swap("munsell_value = 6", "munsell_value = 60")))
    again = pickle.loads(pickle.dumps(caught.value))
    assert again.problems == caught.value.problems
    assert str(again) == str(caught.value)
    assert isinstance(again, FileFormatError)


@pytest.mark.parametrize(
    ("old", "new", "path", "allowed"),
    [
        ('name = "Flat by the park"', "", "name", "text in quotes"),
        ('layout = "a"', "layout = 3", "layout", "text in quotes"),
        ('units = "m"', 'units = "metres"', "units", "m, cm, mm, ft, in"),
        ("size = [2.2, 0.95, 0.8]", "size = [2.2, 0.95]", "pieces.sofa.size", "a list of 3"),
        ("size = [2.2, 0.95, 0.8]", "size = 2.2", "pieces.sofa.size", "a list of 3"),
        ("wall = 2", "wall = 2.0", "openings.window.wall", "a whole number"),
        ("old = true", "old = 1", "pieces.table.old", "true or false"),
        ("lumens = 800", "lumens = true", "fixtures.pendant.lumens", "a number"),
        ("lumens = 800", "lumens = inf", "fixtures.pendant.lumens", "a finite number"),
        ("budget = 24000", 'budget = "1,200"', "brief.budget", "1200 or 1.200"),
        ("rotation = 180", 'rotation = "half"', "layouts.a.pieces.sofa.rotation", "a number"),
        ('height = "2600 mm"', 'height = "2,600 mm"', "rooms.living.height", "2600 or 2.600"),
        ("[pieces.table]", "[pieces.'the table']", "pieces.the table", "an id of letters"),
        ('name = "Lights"', "", "circuits.c1.name", "text in quotes"),
        ('keeps = ["table"]', 'keeps = "table"', "brief.keeps", "a list"),
    ],
)
def test_each_entry_is_checked_by_itself(
    tmp_path: Path, old: str, new: str, path: str, allowed: str
) -> None:
    found = problems_of(write(tmp_path, swap(old, new)))
    assert allowed in found[path].allowed


@pytest.mark.parametrize(
    ("old", "new", "path", "given"),
    [
        ('floor = "oak"', 'floor = "pine"', "rooms.living.floor", "pine"),
        ('to = "outside"', 'to = "outsde"', "openings.entry.to", "outsde"),
        ('finish = "stripe"\nknown', 'finish = "strip"\nknown', "pieces.sofa.finish", "strip"),
        ('circuit = "c1"', 'circuit = "c2"', "services.outlet.circuit", "c2"),
        ('keeps = ["table"]', 'keeps = ["chair"]', "brief.keeps.0", "chair"),
        ("table = { at = [4, 3] }", "desk = { at = [4, 3] }", "layouts.a.pieces.desk", "desk"),
        ("at = [4, 3]", 'at = [4, 3], on = "bench"', "layouts.a.pieces.table.on", "bench"),
        ("at = [4, 3]", 'at = [4, 3], room = "hall"', "layouts.a.pieces.table.room", "hall"),
        ('fixture = "pendant"', 'fixture = "spot"', "layouts.a.lamps.over_table.fixture", "spot"),
        ('over = "table"', 'over = "desk"', "layouts.a.lamps.over_table.over", "desk"),
        ('service = "outlet"', 'service = "o"', "layouts.a.lamps.over_table.service", "'o'"),
        ('opening = "window"', 'opening = "door"', "layouts.a.drapes.front.opening", "door"),
        ('layout = "a"', 'layout = "b"', "layout", "b"),
        ('start = "base"', 'start = "none"', "scenarios.less.start", "none"),
        ('line = "sofa_new"', 'line = "sofa_old"', "scenarios.less.changes.0.line", "sofa_old"),
        ('start = "entry"', 'start = "gate"', "brief.wishes.way.start", "gate"),
        ('kind = "dining table"', 'kind = "dining tabel"', "pieces.table.kind", "dining tabel"),
        ("lumens = 800", 'photometry = "x.ies"', "fixtures.pendant.photometry", "x.ies"),
        ('"plan.route.main"', '"plan.route.mian"', "rules.plan.route.mian", "95 cm"),
    ],
)
def test_every_name_leads_somewhere(
    tmp_path: Path, old: str, new: str, path: str, given: str
) -> None:
    found = problems_of(write(tmp_path, swap(old, new)))
    assert given in found[path].given
    assert found[path].mend


def test_names_in_the_tables_lead_somewhere(tmp_path: Path) -> None:
    costs = (
        "id,piece,room,item,category,likely,alternative_of\n"
        "sofa_new,sofas,hall,Sofa,seating,1,none\n"
    )
    quotes = "scope,contractor,line,amount\npaint,Contractor A,walls,1\n"
    tasks = "id,task,likely,after\na,A,1,b\nb,B,1,c d\nc,C,1,a\n"
    found = problems_of(write(tmp_path, costs=costs, quotes=quotes, tasks=tasks))
    assert found["costs.csv:sofa_new.piece"].mend == "write sofa"
    assert found["costs.csv:sofa_new.room"].line == 2
    assert "nothing" not in found["costs.csv:sofa_new.alternative_of"].given
    assert found["quotes.csv:scope"].mend == "write painting"
    assert found["tasks.csv:b.after"].given == "'d'"
    assert found["tasks.csv:a.after"].given == "a after b after c after a"


def test_a_cycle_of_scenarios_is_named(tmp_path: Path) -> None:
    home = swap('name = "As drawn"', 'name = "As drawn"\nstart = "less"')
    problem = only(write(tmp_path, home), "scenarios.base.start")
    assert problem.given == "base starts from less starts from base"


def test_pieces_do_not_stand_on_one_another_in_a_circle(tmp_path: Path) -> None:
    home = swap("at = [4, 3]", 'at = [4, 3], on = "sofa"')
    home = swap("rotation = 180 }", 'rotation = 180, on = "table" }', home)
    problem = only(write(tmp_path, home), "layouts.a.pieces.sofa.on")
    assert problem.given == "sofa on table on sofa"


@pytest.mark.parametrize(
    ("old", "new", "path", "given"),
    [
        ("offset = 0.3", "offset = 4.5", "openings.entry.offset", "4.5 m, and 0.9 m wide"),
        ("wall = 2", "wall = 4", "openings.window.wall", "4"),
        ("head = 2.3", "head = 2.7", "openings.window.head", "2.7 m"),
        ("sill = 0.9", "sill = 2.4", "openings.window.sill", "2.4 m"),
        ('hinge = "left"', "", "openings.entry.hinge", "nothing"),
        ("width = 0.9", "width = 0.9\nclear_width = 1", "openings.entry.clear_width", "1 m"),
        ("at = [2.6, 2]", "at = [9, 2]", "services.outlet.at", "9, 2 m"),
        ('wall = "white"', 'walls = { 7 = "white" }', "rooms.living.walls.7", "no such wall"),
        ("rotation = 180 }", "rotation = 180, base = -1 }", "layouts.a.pieces.sofa.base", "-1"),
        ("lrv = 83", "lrv = 830", "finishes.white.lrv", "830"),
        ("lrv = 83", "munsell_value = 9\nladder = 9", "finishes.white", "munsell_value and ladder"),
        ("share = 0.4", "share = 0.5", "finishes.stripe.colours", "shares that add to 1.1"),
        ('hex = "#202020"', 'hex = "202020"', "finishes.stripe.colours.0.hex", "202020"),
        ("track = 2.6", "track = 2600", "layouts.a.drapes.front.track", "2600 m"),
        ('height = "2600 mm"', "height = 260", "rooms.living.height", "260 m"),
        ("at = [4, 3]", "at = [4000, 3]", "layouts.a.pieces.table.at.0", "4000 m"),
        (
            '"1.6 m", "0.9 m", "0.74 m"',
            '"1.6 mm", "0.9 mm", "0.74 mm"',
            "pieces.table.size",
            "0.0016 m, 0.0009 m, 0.00074 m",
        ),
    ],
)
def test_what_cannot_be_drawn_is_told(
    tmp_path: Path, old: str, new: str, path: str, given: str
) -> None:
    found = problems_of(write(tmp_path, swap(old, new)))
    assert given in found[path].given
    assert found[path].allowed


def test_an_outline_that_crosses_itself_names_the_walls(tmp_path: Path) -> None:
    home = swap('["5.2 m", 0],\n    [5.2, "410 cm"],', '[5.2, "410 cm"],\n    ["5.2 m", 0],')
    found = problems_of(write(tmp_path, home))
    assert found["rooms.living.outline"].given == "walls 0 and 2 cross"


def test_millimetres_taken_for_metres_are_asked_back(tmp_path: Path) -> None:
    home = swap(
        '["5.2 m", 0],\n    [5.2, "410 cm"],\n    [0, 4.1]',
        "[5200, 0],\n    [5200, 4100],\n    [0, 4100]",
    )
    found = problems_of(write(tmp_path, home))
    assert found["rooms.living.outline"].given == "5200 m × 4100 m"
    assert 'units = "mm" and the room is 5.2 m × 4.1 m' in found["rooms.living.outline"].mend


def test_openings_do_not_overlap_in_one_wall(tmp_path: Path) -> None:
    home = (
        HOME
        + """
[openings.balcony]
room = "living"
wall = 2
offset = 2.5
width = 0.9
head = 2.2
kind = "balcony"
to = "balcony"
"""
    )
    problem = only(write(tmp_path, home), "openings.balcony.offset")
    assert problem.given == "2.5 m, over window by 0.500 m"


def test_a_window_above_another_is_no_overlap(tmp_path: Path) -> None:
    home = (
        HOME
        + """
[openings.hatch]
room = "living"
wall = 2
offset = 1
width = 0.5
sill = 0.1
head = 0.9
kind = "window"
"""
    )
    assert "hatch" in project.read(write(tmp_path, home)).project.home.openings


def test_rooms_do_not_overlap_but_may_touch(tmp_path: Path) -> None:
    hall = """
[rooms.hall]
name = "Hall"
height = 2.6
outline = [[5.2, 0], [7, 0], [7, 2], [5.2, 2]]
"""
    assert len(project.read(write(tmp_path, HOME + hall)).project.home.rooms) == 2
    moved = HOME + hall.replace("5.2", "5.0")
    problem = only(write(tmp_path, moved), "rooms.hall.outline")
    # 0.2 m of the hall's 2 m reach into the living room
    assert problem.given == "0.40 m² of it lie in living"


def test_a_column_stands_in_its_room(tmp_path: Path) -> None:
    inside = 'known = "measured"\ncolumns = [{ at = [0.1, 2], size = [0.3, 0.3], rotation = 10 }]'
    home = swap('known = "measured"', inside)
    assert project.read(write(tmp_path, home)).project.home.rooms["living"].columns
    problem = only(
        write(tmp_path, home.replace("at = [0.1, 2]", "at = [-1, 2]")), "rooms.living.columns.0.at"
    )
    assert problem.given == "-1, 2 m"


def test_a_place_that_is_not_drawn_is_a_remark(tmp_path: Path) -> None:
    opened = project.read(write(tmp_path, swap('to = "outside"', 'to = "bedroom"')))
    assert [p.path for p in opened.problems] == ["openings.entry.to"]


def test_a_syntax_error_comes_alone_with_line_and_column(tmp_path: Path) -> None:
    with pytest.raises(FileFormatError, match=r"project\.toml line 3, column 8") as caught:
        project.read(write(tmp_path, swap('name = "Flat by the park"', "name = Flat")))
    assert type(caught.value) is FileFormatError


def test_a_key_twice_is_a_syntax_error(tmp_path: Path) -> None:
    with pytest.raises(FileFormatError, match=r"project\.toml line 4"):
        project.read(write(tmp_path, swap('units = "m"', 'name = "x"')))


def test_a_folder_without_a_project_is_told(tmp_path: Path) -> None:
    with pytest.raises(FileFormatError, match=r"allowed: a folder with a project\.toml"):
        project.read(tmp_path)


def test_a_byte_order_mark_and_windows_line_ends_are_read(tmp_path: Path) -> None:
    folder = write(tmp_path)
    text = HOME.replace("\n", "\r\n")
    (folder / "project.toml").write_bytes(b"\xef\xbb\xbf" + text.encode())
    assert project.read(folder).project == project.read(write(tmp_path)).project


def test_a_file_in_another_encoding_is_told(tmp_path: Path) -> None:
    folder = write(tmp_path)
    (folder / "project.toml").write_bytes(HOME.replace("park", "pärk").encode("latin-1"))
    with pytest.raises(FileFormatError, match="text in UTF-8 or UTF-16"):
        project.read(folder)


def test_a_newer_schema_opens_to_read(tmp_path: Path) -> None:
    home = swap("schema = 1", "schema = 2")
    home = swap("old = true", 'old = true\nsmell = "none"', home)
    opened = project.read(write(tmp_path, home))
    assert "newer than schema 1" in opened.read_only
    assert [p.path for p in opened.problems] == ["pieces.table.smell"]
    with pytest.raises(InputError, match="can be read and shown, not changed"):
        project.save(opened, [model.Edit(path="place", old=None, new="x")])


@pytest.mark.parametrize("value", ["-1", '"one"', "true"])
def test_a_schema_that_is_none_is_refused(tmp_path: Path, value: str) -> None:
    found = problems_of(write(tmp_path, swap("schema = 1", f"schema = {value}")))
    assert "a whole number" in found["schema"].allowed


def test_paths_stay_inside_the_folder(tmp_path: Path) -> None:
    folder = write(tmp_path)
    (tmp_path / "outside.ies").write_text("x")
    (folder / "photometry").mkdir()
    (folder / "photometry" / "spot.ies").write_text("x")
    assert project.inside(folder, "spot.ies", under="photometry").is_file()
    os.symlink(tmp_path / "outside.ies", folder / "photometry" / "link.ies")
    for name in (
        "../outside.ies",
        "/etc/hosts",
        "photometry/../../outside.ies",
        "a\\b",
        "photometry/link.ies",
    ):
        with pytest.raises(InputError, match="a path inside the project folder"):
            project.inside(folder, name)
    home = swap("lumens = 800", 'photometry = "../outside.ies"')
    problem = only(write(tmp_path, home), "fixtures.pendant.photometry")
    assert "inside the project folder" in problem.allowed


def test_a_native_date_is_read_as_text(tmp_path: Path) -> None:
    home = swap("budget = 24000", "date = 2026-09-01\nbudget = 24000")
    assert project.read(write(tmp_path, home)).project.home.brief.date == "2026-09-01"
    home = swap("budget = 24000", 'date = "1 September"\nbudget = 24000')
    assert "2026-09-01" in only(write(tmp_path, home), "brief.date").allowed


def test_reading_does_not_depend_on_the_order_of_entries(tmp_path: Path) -> None:
    head, *tables = HOME.split("\n[")
    turned = head + "".join(f"\n[{table}\n" for table in reversed(tables))
    assert project.read(write(tmp_path, turned)).project == project.read(write(tmp_path)).project
