"""The brief: what is asked for against a layout, its sheet, and its study page."""

from __future__ import annotations

import math
import shutil
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from test_glossary import labels_of, names_of, plain, unknown

from designkit import project as files
from designkit.analyses.of_asked import (
    activity_wishes,
    asked,
    shelf_of,
    watched_places,
    with_activities,
)
from designkit.analyses.of_layout import layout as analyse_layout
from designkit.errors import DesignkitError, InputError
from designkit.figures.brief_sheet import brief_answer, brief_sheets
from designkit.figures.check import faults
from designkit.figures.drawing import Text
from designkit.figures.sheet import TitleBlock
from designkit.model import Brief, Edit, Home, Layout, Person, Piece, Placement, Project
from designkit.studies.brief_study import ClientBrief, people_of, people_text
from designkit.studies.desk import Desk

DATA = Path(__file__).parents[2] / "data"


@pytest.fixture(params=["harbour-flat", "parlor-floor"])
def desk(request: pytest.FixtureRequest, tmp_path: Path) -> Desk:
    shutil.copytree(DATA / request.param, tmp_path / "p")
    return Desk(tmp_path / "p")


@pytest.fixture
def harbour(tmp_path: Path) -> Desk:
    shutil.copytree(DATA / "harbour-flat", tmp_path / "h")
    return Desk(tmp_path / "h")


def states(study: ClientBrief) -> dict[str, str]:
    study.draw()
    return {line.id: line.state for line in study.lines}


def put(study: ClientBrief, **values: Any) -> dict[str, Any]:
    (changed,) = values
    return study.show(values, changed)


# --- what is asked ------------------------------------------------------------------


def test_shelf_is_width_times_shelves() -> None:
    pieces = {
        "low": Piece(name="sideboard", kind="sideboard", size=(1.6, 0.45, 0.72)),
        "tall": Piece(name="bookcase", kind="bookcase", size=(0.9, 0.3, 2.1)),
        "board": Piece(name="board", kind="wall shelf", size=(1.2, 0.25, 0.04)),
        "sofa": Piece(name="sofa", kind="sofa", size=(2.2, 0.9, 0.8)),
    }
    spots = {id: Placement(at=(k, 0.0)) for k, id in enumerate(pieces)}
    home = Home(name="x", pieces=pieces, layouts={"a": Layout(name="A", pieces=spots)})
    metres, how = shelf_of(home, layout="a")
    # by hand: 0.72 / 0.35 holds 2, 2.1 / 0.35 holds 6, the board is one
    assert metres == pytest.approx(1.6 * 2 + 0.9 * 6 + 1.2)
    assert "bookcase" in how


def test_fields_turn_with_the_layout(harbour: Desk) -> None:
    project = harbour.project
    result = analyse_layout(project, layout="a", quick=True)

    def state(**fields: Any) -> dict[str, str]:
        given = Brief(**fields)
        home = replace(project.home, brief=given)
        lines = asked(replace(project, home=home), layout=result)
        return {line.id: line.state for line in lines}

    assert result.seats == 5  # the demo: a sofa of three and two armchairs
    assert state(seats=5)["seats"] == "met"
    assert state(seats=6)["seats"] == "not met"
    assert state()["seats"] == "not asked"
    assert state(seats_guests=result.seats + result.diners)["seats_guests"] == "met"
    assert state(seats_guests=result.seats + result.diners + 1)["seats_guests"] == "not met"
    assert state(keeps=("sideboard",))["keeps"] == "met"
    gone = Brief(keeps=("sideboard",))
    bare = replace(result, layout=Layout(name="bare"))
    lines = asked(replace(project, home=replace(project.home, brief=gone)), layout=bare)
    assert {line.id: line.state for line in lines}["keeps"] == "not met"
    metres, _ = shelf_of(project.home, layout="a")
    assert state(storage=metres)["storage"] == "met"
    assert state(storage=metres + 0.1)["storage"] == "not met"
    assert state(budget=Decimal(1))["budget"] == "measure first"  # no budget was given
    assert state(date="2027-05-14")["date"] == "measure first"


def test_nothing_is_asked_twice(desk: Desk) -> None:
    lines = asked(desk.project, layout=analyse_layout(desk.project, layout="a", quick=True))
    assert len({line.id for line in lines}) == len(lines)
    wishes = desk.home.brief.wishes
    if any(w.kind == "diners" and w.at_least == desk.home.brief.diners_guests for w in
           wishes.values()):  # fmt: skip
        assert "diners_guests" not in {line.id for line in lines}


def test_without_a_layout_all_is_open() -> None:
    home = Home(name="new", brief=Brief(seats=4, storage=3.0, keeps=(), budget=Decimal(9000)))
    lines = asked(Project(home=home))
    assert {line.state for line in lines} == {"measure first", "not asked"}
    assert [line.state for line in lines] == sorted(
        (line.state for line in lines), key=lambda s: s == "not asked"
    )


def test_activities_become_wishes_and_go_again(harbour: Desk) -> None:
    home = harbour.home
    before = activity_wishes(home)
    assert before["reads"] == {"sofa": "reading_light"}
    assert before["watches"] == {"sofa>harbour_window": "harbour_view"}
    kept = with_activities(home, layout="a", activity="reads", places=["sofa", "armchair"])
    assert kept.wishes["reading_light"] == home.brief.wishes["reading_light"]
    new = kept.wishes["reads_armchair"]
    assert (new.kind, new.end, new.at_least) == ("light", "armchair", 300)
    gone = with_activities(
        replace(home, brief=kept), layout="a", activity="reads", places=["armchair"]
    )
    assert "reading_light" not in gone.wishes
    assert "harbour_view" in gone.wishes
    places = {f"{one.seat}>{one.what}" for one in watched_places(home, layout="a")}
    assert "sofa>harbour_window" in places


def test_a_screen_that_is_watched_is_a_wish_as_well(harbour: Desk) -> None:
    """The angle between the lines from the eye to both edges of the screen: trigonometry."""
    study = ClientBrief(harbour)
    put(study, layout="b")
    label = next(c for c in study.controls() if c["id"] == "watches")
    assert ["sofa>screen", "screen from the sofa"] in label["choices"]
    shown = put(study, watches=["sofa>harbour_window", "sofa>screen"])
    wish = harbour.home.brief.wishes["watches_sofa_screen"]
    assert (wish.kind, wish.start, wish.end, wish.at_least) == ("screen", "sofa", "screen", 30)
    assert "sofa>screen" in shown["values"]["watches"]
    line = next(one for one in study.lines if one.id == "watches_sofa_screen")
    result = analyse_layout(harbour.project, layout="b", quick=True)
    found = next(r for r in result.screens if (r.piece, r.screen) == ("sofa", "screen"))
    seats = result.placed["sofa"].seats
    eye = np.array(seats[len(seats) // 2].at)
    spot = harbour.home.layouts["b"].pieces["screen"]
    turn, wide = math.radians(spot.rotation), harbour.home.pieces["screen"].size[0]
    half = np.array([math.cos(turn), math.sin(turn)]) * wide / 2
    one, two = np.array(spot.at) - half - eye, np.array(spot.at) + half - eye
    angle = math.degrees(math.acos(one @ two / np.linalg.norm(one) / np.linalg.norm(two)))
    assert found.view.angle == pytest.approx(angle, abs=0.5)
    assert line.measured == f"{found.view.angle:.0f}° across"
    assert line.state == ("met" if found.view.angle >= 30 else "not met")
    study.act("keep", {})
    kept = files.read(harbour.folder).project.home.brief.wishes["watches_sofa_screen"]
    assert kept == wish
    put(study, layout="a")  # no screen stands there
    state = {one.id: one.state for one in study.lines}
    assert state["watches_sofa_screen"] == "measure first"
    put(study, layout="b")
    put(study, watches=["sofa>harbour_window"])
    assert "watches_sofa_screen" not in harbour.home.brief.wishes


def test_a_seat_that_does_not_face_the_screen_does_not_watch_it(harbour: Desk) -> None:
    home = harbour.home
    spots = dict(home.layouts["b"].pieces)
    spots["screen"] = replace(spots["screen"], rotation=spots["screen"].rotation + 180)
    turned = replace(home.layouts["b"], pieces=spots)
    brief = with_activities(home, layout="b", activity="watches", places=["sofa>screen"])
    home = replace(home, brief=brief, layouts={**home.layouts, "b": turned})
    project = replace(harbour.project, home=home)
    lines = asked(project, layout=analyse_layout(project, layout="b", quick=True))
    line = next(one for one in lines if one.id == "watches_sofa_screen")
    assert (line.state, line.measured) == ("not met", "not faced")


# --- the sheet -----------------------------------------------------------------------


def test_sheet_says_each_wish_and_can_be_signed(desk: Desk) -> None:
    study = ClientBrief(desk)
    study.draw()
    sheets = brief_sheets(
        desk.home, study.lines, block=TitleBlock(project=desk.home.name, title="Brief")
    )
    words = " ".join(i.text for s in sheets for i in s.items if isinstance(i, Text))
    assert all(faults(sheet) == [] for sheet in sheets)
    for line in study.lines:
        assert sum(
            isinstance(i, Text) and i.about == line.id for s in sheets for i in s.items
        ) >= 2, line.id  # fmt: skip
    assert "Asked for, and read" in words
    suppliers = {c.supplier for c in desk.project.costs if c.supplier}
    assert not any(s in words for s in suppliers)


def test_long_briefs_go_on(harbour: Desk) -> None:
    study = ClientBrief(harbour)
    study.draw()
    many = [replace(line, id=f"{line.id}{k}") for k in range(4) for line in study.lines]
    block = TitleBlock(project="Flat", title="Brief")
    sheets = brief_sheets(harbour.home, many, block=block)
    shown = {i.about for s in sheets for i in s.items if isinstance(i, Text) and i.about}
    assert len(sheets) > 1
    assert shown == {line.id for line in many}
    signed = [any("Asked for, and read" in getattr(i, "text", "") for i in s.items) for s in sheets]
    assert signed == [False] * (len(sheets) - 1) + [True]
    assert all(faults(sheet) == [] for sheet in sheets)


def test_a_long_left_column_goes_on_too(harbour: Desk) -> None:
    study = ClientBrief(harbour)
    study.draw()
    given = replace(
        harbour.home.brief,
        activities=tuple(f"thing number {k} that one does here" for k in range(40)),
        dislikes=(" ".join(["no"] * 120),),
    )
    home = replace(harbour.home, brief=given)
    block = TitleBlock(project="Flat", title="Brief")
    sheets = brief_sheets(home, study.lines, block=block)
    words = [i.text for s in sheets for i in s.items if isinstance(i, Text)]
    assert len(sheets) > 1
    assert [w for w in words if w.startswith("thing number")] == list(given.activities)
    assert all(faults(sheet) == [] for sheet in sheets)
    assert sum("Asked for, and read" in w for w in words) == 1
    assert faults(brief_sheets(home, study.lines, page=True)[0]) == []


def test_a_met_way_with_a_narrower_door_says_the_door(harbour: Desk) -> None:
    study = ClientBrief(harbour)
    study.draw()
    (way,) = [line for line in study.lines if line.id == "balcony_way"]
    assert way.state == "met"
    # the front door's clear width in the demo, and the pinch of a main way at home (P01)
    said = way.measured.replace("\u00a0", " ")
    assert said.startswith("860 mm at the front door; a door is held to 800 mm")


def test_who_decides_is_said(harbour: Desk) -> None:
    home = harbour.home
    assert "Who decides: the client, in writing." in brief_answer(home, [])
    nobody = replace(home, brief=replace(home.brief, decides=""))
    assert "Nobody is named who decides." in brief_answer(nobody, [])


# --- the page ------------------------------------------------------------------------


def test_people_are_read_and_written() -> None:
    text = "adult, 44, 1.78 m\nchild, 6\ncat"
    people = people_of(text, "m")
    assert people == (
        Person(role="adult", age=44, height=1.78),
        Person(role="child", age=6),
        Person(role="cat"),
    )
    assert people_of(people_text(people, "m"), "m") == people
    assert people_of("adult, 5' 10\"", "ft")[0].height == pytest.approx(1.778)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("44, adult", "who first"),
        ("adult, 440", "age up to 120|height"),
        ("adult, 9 m", "age up to 120"),
        ("adult, tall", "adult, tall"),
    ],
)
def test_wrong_people_are_told_by_line(text: str, said: str) -> None:
    with pytest.raises(InputError, match=said) as caught:
        people_of(f"cat\n{text}", "m")
    assert "line 2" in str(caught.value)


def test_each_field_reaches_the_project_and_its_file(harbour: Desk) -> None:
    study = ClientBrief(harbour)
    put(study, seats="6")
    put(study, people="adult, 30, 1.62 m\ndog\n")
    put(study, budget="51 000 €")
    put(study, includes=["fee"])
    put(study, date="2027-06-30")
    put(study, decides="both, together")
    put(study, dislikes="brass\n\nfringes")
    put(study, storage="14 m")
    put(study, keeps=["sideboard"])
    put(study, black="12 %")
    put(study, turning="1.5 m")
    shown = put(study, watches=[])
    assert "harbour_view" not in harbour.home.brief.wishes
    assert shown["values"]["people"] == "adult, 30, 1.62 m\ndog\n"  # as typed
    assert states(study)["seats"] == "not met"
    assert states(study)["storage"] == "not met"
    assert states(study)["turning_limit"] in ("met", "not met")
    study.act("keep", {})
    kept = files.read(harbour.folder).project.home.brief
    assert (kept.seats, kept.budget, kept.date) == (6, Decimal(51000), "2027-06-30")
    assert (kept.budget_includes_tax, kept.budget_includes_fee) == (False, True)
    assert kept.people == (Person(role="adult", age=30, height=1.62), Person(role="dog"))
    assert kept.dislikes == ("brass", "fringes")
    assert kept.keeps == ("sideboard",)
    assert kept.decides == "both, together"
    assert next(w.at_most for w in kept.wishes.values() if w.kind == "black") == 0.12


def test_undo_takes_a_field_back(harbour: Desk) -> None:
    study = ClientBrief(harbour)
    put(study, seats="9")
    assert states(study)["seats"] == "not met"
    shown = study.act("undo", {})
    assert shown is not None
    assert shown["values"]["seats"] == "4"
    assert states(study)["seats"] == "met"


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("seats", "four", "a whole number"),
        ("diners", "-2", "a whole number"),
        ("storage", "-1 m", "more than 0"),
        ("storage", "long", "shelf"),
        ("budget", "lots", "cap"),
        ("budget", "0", "more than 0"),
        ("date", "14/05/2027", "a date as 2027-05-14"),
        ("date", "2027-02-30", "a date"),
        ("black", "140", "0 to 100"),
        ("turning", "1.5 kg", "circle"),
    ],
)
def test_wrong_fields_get_a_sentence_and_change_nothing(
    harbour: Desk, field: str, text: str, said: str
) -> None:
    study = ClientBrief(harbour)
    before = harbour.home
    with pytest.raises(InputError, match=said):
        put(study, **{field: text})
    assert harbour.home == before
    assert not harbour.edits


def test_a_way_needs_two_ends(harbour: Desk) -> None:
    study = ClientBrief(harbour)
    with pytest.raises(InputError, match="two ends that are the same"):
        put(study, way_to="hall")
    put(study, way_width="2.9 m")
    assert states(study)["balcony_way"] == "not met"
    put(study, way_from="")
    assert not any(w.kind == "route" for w in harbour.home.brief.wishes.values())


def test_what_the_project_refuses_is_not_left_on_the_desk(harbour: Desk) -> None:
    harbour.do([Edit(path="brief.seats", old=4, new=7)])
    before = harbour.project
    with pytest.raises(DesignkitError, match="nothing_there"):
        harbour.do([Edit(path="brief.keeps.0", old="sideboard", new="nothing_there")])
    assert len(harbour.edits) == 1
    assert harbour.project == before
    assert harbour.keep().startswith("last kept")


def test_export_writes_the_sheet_to_sign(harbour: Desk) -> None:
    study = ClientBrief(harbour)
    shown = study.act("export", {})
    assert shown is not None
    written = sorted(p.name for p in (harbour.folder / "issued").rglob("*.*") if p.is_file())
    assert written == ["brief.pdf", "brief.png"]
    assert "issued/" in study.note


def test_a_new_project_has_a_brief_too(tmp_path: Path) -> None:
    files.new(tmp_path / "new")
    study = ClientBrief(Desk(tmp_path / "new"))
    shown = study.show({}, None)
    assert "Nobody is named who decides" in shown["said"]["answer"]
    put(study, seats="3")
    assert {line.id for line in study.lines if line.state != "not asked"} >= {"seats"}


@pytest.mark.parametrize("look", ["plan", "sheet"])
def test_every_visible_word_has_a_meaning(desk: Desk, look: str) -> None:
    study = ClientBrief(desk)
    data = {plain(text) for text in names_of(desk.project)}
    assert unknown(labels_of(put(study, look=look)), data) == []
    assert unknown(labels_of(put(study, turning="1.5 m")), data) == []
    sheets = brief_sheets(desk.home, study.lines, page=True)
    heads = (
        item.text.split(":")[0] for item in sheets[0].items
        if isinstance(item, Text) and item.weight == "semibold"
    )  # fmt: skip
    assert unknown(heads, data) == []
