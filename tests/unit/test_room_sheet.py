"""The walk as a drawing and the survey sheet: words where they can be read, fields to fill in."""

from __future__ import annotations

import datetime
import itertools
from dataclasses import replace
from pathlib import Path

import pytest

from designkit import project as files
from designkit import shipped
from designkit.analyses.of_walks import walked
from designkit.figures import ink
from designkit.figures.check import faults
from designkit.figures.drawing import Drawing, Line, Polygon, Text
from designkit.figures.room_drawing import walk_drawing
from designkit.figures.sheet import PAPERS, TitleBlock
from designkit.figures.survey_sheet import survey_sheets
from designkit.model import Home, Photo, Walk
from designkit.plan.survey import Survey, survey
from designkit.plan.survey_words import walk_of
from designkit.publish.sheet_set import sheet_set

L_ROOM = (
    "right 4.12 [door 0.9 at 0.35 hinge left] [socket at 2 height 0.3], "
    "up 2.60 [window 1.6 at 0.5 sill 0.9 head 2.2], left 1.50, up 0.80, left 2.62, "
    "down 3.40 [column 0.4 deep 0.2 at 1.5 out 0]"
)
BAY = "right 1, right 0.6 down 0.6, right 1.4, right 0.6 up 0.6, right 1, up 4, left 4.6, down 4"


def walk_of_demo(demo: str, room: str) -> Survey:
    home = files.read(shipped.shipped(f"data/{demo}")).project.home
    walk = walk_of(home, room)
    return survey(walk.walls, units=home.units, height=walk.height, source=walk.source)


WALKS = {
    "L": survey(L_ROOM, height=2.62),
    "error": survey(
        L_ROOM.replace("4.12", "4.15"), height=2.62, diagonals=[(0, 2, 4.8), (0, 4, 4.29)]
    ),
    "bay": survey(BAY),
    "open": survey("right 4.12, up 2.60, left 1.50", strict=False),
    "one wall": survey("right 4.12", strict=False),
    "wrong": survey("right 4.12, up 2.60, left 1.50, up 0.8, left 2.26, down 3.4", strict=False),
    "past": survey("right 4 [door 0.9 at 3.5], up 3, left 4, down 3", strict=False),
    "to measure": survey("right 4.12, up 2.60 plan, left ?, up 0.80 guess, left 2.62, down ?"),
    "small": survey("right 0.9, up 1.2, left 0.9, down 1.2"),
    "large": survey("right 14, up 11, left 14, down 11"),
    "living": walk_of_demo("harbour-flat", "living"),
    "hall": walk_of_demo("harbour-flat", "hall"),
    "parlor": walk_of_demo("parlor-floor", "parlor"),
}


def words(drawing: Drawing) -> list[str]:
    return [item.text.replace("\u00a0", " ") for item in drawing.items if isinstance(item, Text)]


@pytest.mark.parametrize("name", WALKS)
def test_a_walk_can_be_read_at_every_stage(name: str) -> None:
    for openings in (False, True):
        drawing = walk_drawing(WALKS[name], name="living room", openings=openings)
        assert [str(fault) for fault in faults(drawing)] == []
        said = words(drawing)
        for wall in WALKS[name].walls:
            assert str(wall.index + 1) in said
        assert drawing.text.startswith("living room: wall 1 ")


def test_lengths_are_those_of_the_walk_and_to_scale() -> None:
    walk = WALKS["L"]
    drawing = walk_drawing(walk, name="living room")
    said = words(drawing)
    for wall in walk.walls:
        assert f"{wall.length * 1000:.0f}" in said
    assert drawing.scale == 50
    # the dimension of wall 1 is 4.12 m at 1:50, 82.4 mm on paper
    lines = [
        item
        for item in drawing.items
        if isinstance(item, Line) and item.about == "wall 1" and len(item.points) == 2
    ]
    longest = max(abs(line.points[0][0] - line.points[1][0]) for line in lines)
    assert longest == pytest.approx(82.4, abs=0.01)


def test_the_gap_is_drawn_in_the_colour_of_findings() -> None:
    drawing = walk_drawing(WALKS["wrong"])
    gap = [item for item in drawing.items if isinstance(item, Line) and item.ink == ink.ACCENT]
    longest = max(abs(line.points[0][0] - line.points[1][0]) for line in gap)
    assert longest == pytest.approx(360 / 50, abs=0.01)
    assert "360 mm apart" in words(drawing)
    assert "closing error 30 mm" in words(walk_drawing(WALKS["error"]))
    closed = walk_drawing(WALKS["L"])
    assert not any(isinstance(i, Line) and i.ink == ink.ACCENT for i in closed.items)


def test_the_example_shows_what_is_typed() -> None:
    drawing = walk_drawing(survey("right 4.12, up 2.60, left 4.12, down 2.60"), typed=True)
    assert {"right 4.12", "up 2.60", "left 4.12", "down 2.60"} <= set(words(drawing))


# --- the sheet ---------------------------------------------------------------------------


def block() -> TitleBlock:
    return TitleBlock(project="Flat by the harbour", title="Survey", number="L-101")


@pytest.mark.parametrize(("name", "paper"), [*itertools.product(WALKS, ["A3", "A4", "Letter"])])
def test_sheets_can_be_read(name: str, paper: str) -> None:
    photos = [Photo(file="site/a.jpg", room="r", wall=1, note="window wall")]
    sheets = survey_sheets(
        WALKS[name], name="Living room", block=block(), paper=paper, photos=photos
    )
    for sheet in sheets:
        assert (sheet.width, sheet.height) == PAPERS[paper]
        assert [str(fault) for fault in faults(sheet)] == []
        assert sheet.text
    said = [text for sheet in sheets for text in words(sheet)]
    for heading in ("Walls", "Still to measure", "Photographs"):
        assert heading in said
    # each thing that is to be measured stands on it once, whole
    whole = " ".join(said).replace(" ", "").casefold()
    for thing in WALKS[name].to_measure:
        assert thing.replace(" ", "").replace("\u00a0", "").casefold() in whole


def fields(sheets: tuple[Drawing, ...]) -> int:
    """Empty fields to write a figure in."""
    return sum(
        isinstance(item, Polygon)
        and not item.fill
        and len(item.outline) == 4
        and abs(item.outline[0][1] - item.outline[2][1]) == pytest.approx(4.6)
        for sheet in sheets
        for item in sheet.items
    )


def test_what_nobody_measured_is_an_empty_field() -> None:
    # two walls left open, one from the plan, one guessed; the height; a diagonal
    sheets = survey_sheets(WALKS["to measure"], name="Room", block=block())
    assert fields(sheets) == 6
    assert words(sheets[0]).count("to measure") == 4
    whole = survey(
        "right 4 [door 0.9 at 1 hinge left head 2.05 thick 0.1], up 3, left 4, down 3",
        height=2.6,
        diagonals=[(0, 2, 5.0)],
    )
    sheets = survey_sheets(whole, name="Room", block=block())
    assert fields(sheets) == 0
    assert "Nothing: all of it was measured." in words(sheets[0])
    assert "4000 ± 3" in words(sheets[0])


def test_taped_lengths_stand_beside_the_drawn_ones() -> None:
    sheets = survey_sheets(WALKS["error"], name="Room", block=block())
    assert "4150 ± 3" in words(sheets[0])
    assert "drawn 4135" in words(sheets[0])
    assert "drawn 4884: again" in words(sheets[0])


@pytest.mark.parametrize("paper", ["Letter", "Tabloid"])
def test_feet_and_sixteenths_stand_on_the_sheet_whole(paper: str) -> None:
    walk = (
        "right 16'-4 13/16\", up 7'-0\" plan, right 2'-0\" up 2'-0\", up 4'-6\", "
        "left 2'-0\" up 2'-0\", left 16'-4 13/16\", down ?"
    )
    sheets = survey_sheets(
        survey(walk, units="ft", height="8'-6\""), name="Parlour", block=block(), paper=paper
    )
    said = [text for sheet in sheets for text in words(sheet)]
    assert '16\'-4 13/16" ± 1/8"' in [text.replace("\u00a0", " ") for text in said]
    assert "(15'-6\")" in said
    assert [text for text in said if "…" in text] == []


def test_the_set_has_a_survey_sheet_a_room(tmp_path: Path) -> None:
    folder = files.new(tmp_path / "demo", demo="harbour-flat")
    project = files.read(folder).project
    today = datetime.date(2026, 11, 25)
    assert sheet_set(project, names=["survey"], today=today) == []
    home: Home = project.home
    walks = {id: walk_of(home, id) for id in home.rooms}
    with_walks = replace(project, home=walked(replace(home, walks=walks)).home)
    (entry,) = sheet_set(with_walks, names=["survey"], today=today)
    assert entry.title == "Survey"
    titles = [drawing.title for drawing in entry.drawings]
    assert any("living and dining room" in title for title in titles)
    assert any("hall" in title for title in titles)
    broken = {**walks, "hall": Walk(walls="hop")}
    with_broken = replace(project, home=replace(home, walks=broken))
    (entry,) = sheet_set(with_broken, names=["survey"], today=today)
    assert not any("Survey, hall" in drawing.title for drawing in entry.drawings)
