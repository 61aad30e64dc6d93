"""Words that nobody thought of: markup, other scripts, words without an end, many pieces."""

from __future__ import annotations

import datetime
import json
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from project_texts import HOME, write

from designkit import project
from designkit.analyses import layout
from designkit.figures.check import faults
from designkit.figures.drawing import Drawing, Text
from designkit.figures.sheet import TitleBlock, drawing_sheet
from designkit.figures.svg import to_svg
from designkit.publish import sheet_set

DAY = datetime.date(2026, 11, 25)
LONG = "Überlangesachbezeichnungswort" * 9
STRANGE = "<script>alert(1)</script> & \"q\" 's' \u202eעברית\u202c שלום 🛋️ é\n new"


@pytest.mark.parametrize(
    ("client", "drawn", "checked"),
    [
        (LONG, "designer", ""),
        ("the client", LONG, LONG),
        (LONG, LONG, LONG),
        ("", "", ""),
        (STRANGE, STRANGE, STRANGE),
    ],
)
@pytest.mark.parametrize("paper", ["A3", "A4", "Letter", "Tabloid"])
def test_no_words_of_a_title_block_stand_on_others(
    client: str, drawn: str, checked: str, paper: str
) -> None:
    block = TitleBlock(
        project=LONG, title=LONG, client=client, drawn=drawn, checked=checked, date="2026-11-25"
    )
    sheet = drawing_sheet(block, paper=paper)
    drawn_sheet = Drawing(width=sheet.width, height=sheet.height, items=sheet.items)
    assert faults(drawn_sheet) == []
    words = [item.text for item in sheet.items if isinstance(item, Text)]
    assert {"drawn by", "checked by", "date", "client", "2026-11-25"} <= set(words)


def named(text: str, new: str) -> str:
    """All names of a project file are one and the same."""
    return re.sub(
        r"(?m)^name = .*$", lambda _: f"name = {json.dumps(new, ensure_ascii=False)}", text
    )


def test_markup_and_other_scripts_in_names_stay_words(tmp_path: Path) -> None:
    opened = project.read(write(tmp_path, named(HOME, STRANGE)))
    names = ["furniture-schedule", "finish-schedule"]
    for entry in sheet_set(opened.project, names=names, folder=opened.folder, today=DAY):
        for drawing in entry.drawings:
            text = to_svg(drawing, embed_font=False)
            marks = {node.tag.rpartition("}")[2] for node in ET.fromstring(text).iter()}
            assert "script" not in marks, entry.name
            assert "&lt;script" in text, entry.name
            assert not re.search("[\u202a-\u202e]", text), entry.name


MANY = """schema = 1
name = "Hall of many"
units = "m"
layout = "a"
[money]
currency = "EUR"
[rooms.big]
name = "big room"
outline = [[0, 0], [20, 0], [20, 12], [0, 12]]
height = 3.0
[openings.door]
room = "big"
wall = 0
offset = 12.0
width = 2.4
head = 2.1
kind = "passage"
to = "stair"
"""


def test_two_hundred_pieces_stay_readable(tmp_path: Path) -> None:
    text, placed = [MANY], ["[layouts.a]", 'name = "all"', "[layouts.a.pieces]"]
    for i in range(200):
        text.append(
            f'[pieces.c{i}]\nname = "chair number {i}"\nkind = "armchair"\nsize = [0.7, 0.7, 0.8]'
        )
        x, y = 1.2 + i % 20 * 0.92, 1.8 + i // 20 * 1.0
        placed.append(f"c{i} = {{ at = [{x:.2f}, {y:.2f}] }}")
    (tmp_path / "project.toml").write_text("\n".join([*text, *placed]) + "\n", "utf-8")
    opened = project.read(tmp_path)
    plan, schedule = sheet_set(
        opened.project, names=["furniture-plan", "furniture-schedule"], today=DAY
    )
    listed = set()
    for drawing in (*plan.drawings, *schedule.drawings):
        assert faults(drawing) == []
    for drawing in schedule.drawings:
        listed |= {item.text for item in drawing.items if isinstance(item, Text)}
    assert {f"Chair number {i}" for i in range(200)} <= listed


def test_rooms_joined_by_narrow_doors_are_drawn_and_no_route_is_made_up(tmp_path: Path) -> None:
    text = [MANY.partition("[rooms.big]")[0]]
    placed = ["[layouts.a]", 'name = "all"', "[layouts.a.pieces]"]
    for i in range(4):
        x = i * 4.1
        text.append(
            f'[rooms.r{i}]\nname = "room {i + 1}"\nheight = 2.6\n'
            f"outline = [[{x}, 0], [{x + 4}, 0], [{x + 4}, 5], [{x}, 5]]\n"
            f'[openings.p{i}]\nroom = "r{i}"\nwall = 1\noffset = 2.0\nwidth = 0.8\nhead = 2.1\n'
            f'kind = "door"\nto = "{f"r{i + 1}" if i < 3 else "stair"}"\nhinge = "left"\n'
            f'swing = "in"\nthickness = 0.1\n'
            f'[pieces.t{i}]\nname = "table {i + 1}"\nkind = "low table"\nsize = [1.2, 0.8, 0.4]'
        )
        placed.append(f"t{i} = {{ at = [{x + 2:.2f}, 1.50] }}")
    (tmp_path / "project.toml").write_text("\n".join([*text, *placed]) + "\n", "utf-8")
    opened = project.read(tmp_path)
    result = layout(opened.project.home)
    # A door is in both of its rooms: a way through one room joins its two doors.
    ends = {frozenset(row.id.split(" to ")) for row in result.routes}
    assert ends == {frozenset({f"p{i}", f"p{i + 1}"}) for i in range(3)}
    (plan,) = sheet_set(opened.project, names=["furniture-plan"], today=DAY)
    for drawing in plan.drawings:
        assert faults(drawing) == []
