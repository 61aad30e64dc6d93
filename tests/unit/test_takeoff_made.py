"""How a top is made and what a cloth's label says; one fault hides no other line."""

from __future__ import annotations

import datetime
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from designkit import project as files
from designkit.analyses.of_takeoff import drawn_view, subjects
from designkit.analyses.of_takeoff_goods import top_view
from designkit.documents import purchase_orders
from designkit.errors import InputError
from designkit.figures.check import faults
from designkit.figures.sheet import TitleBlock
from designkit.figures.tables import table_sheets
from designkit.model import Colour, Cutout, Finish
from designkit.project import ProjectErrors
from designkit.publish.sheet_set import sheet_set
from designkit.shipped import shipped
from designkit.studies.desk import Desk
from designkit.studies.takeoff_study import TakeOff
from designkit.takeoff.assemble import takeoff
from designkit.takeoff.cloth import seat_notes, window_notes
from designkit.takeoff.tops import top_of

INCH = 0.0254
SEEN = "takeoff.cloth.seen_through"
TOP = "[pieces.sideboard_top]\n"
BLOCK = TitleBlock(project="p", title="t", number="D-603", date="2026-11-25", status="study")


@pytest.fixture
def parlor(tmp_path: Path) -> Path:
    return Path(shutil.copytree(shipped("data") / "parlor-floor", tmp_path / "p"))


@pytest.fixture
def harbour(tmp_path: Path) -> Path:
    return Path(shutil.copytree(shipped("data") / "harbour-flat", tmp_path / "h"))


def written(folder: Path, *changes: tuple[str, str]) -> Path:
    place = folder / "project.toml"
    text = place.read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    place.write_text(text, encoding="utf-8")
    return folder


def test_a_top_of_the_project_is_as_large_as_it_says(parlor: Path) -> None:
    project = files.read(parlor).project
    made = top_view(project, piece="sideboard_top").result
    assert (made.width, made.depth) == pytest.approx((60 * INCH, 17 * INCH))
    assert made.overhang == pytest.approx(INCH / 2)
    assert made.radius == pytest.approx(INCH / 4)
    (hole,) = made.cutouts
    assert hole.depth is None
    assert hole.width == pytest.approx(2 * INCH)
    line = takeoff(project).by_id["top.sideboard_top"]
    assert line.net == pytest.approx(made.net)


def test_the_order_says_how_a_top_is_made(parlor: Path, harbour: Path) -> None:
    order = purchase_orders(files.read(parlor).project)["Stone yard 1"]
    (row,) = order.table.rows
    assert row["size"] == (
        "60 × 17 × ¾ in; ½ in beyond what carries it, all round; corners of ¼ in radius; "
        "cut-out Ø 2 in, its middle 54 in from the left, 13 in from the front"
    )
    project = files.read(harbour).project
    glass = replace(
        project.home.pieces["sideboard_top"],
        overhang=-0.01,
        cutouts=(Cutout(at=(0.8, 0.2), width=0.3, depth=0.1),),
    )
    home = replace(project.home, pieces={**project.home.pieces, "sideboard_top": glass})
    (row,) = purchase_orders(replace(project, home=home))["Glazier 1"].table.rows
    assert row["size"] == (
        "1600 × 450 × 8 mm; 10 mm inside what carries it, all round; corners of 10 mm radius; "
        "cut-out 300 × 100 mm, its middle 800 mm from the left, 200 mm from the front"
    )


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ('radius = "-1 cm"', "sideboard_top.radius = -0.01; allowed: 0 or more"),
        ('radius = "30 cm"', "radius: 0.3 m; allowed: at most half the shorter side, 0.225 m"),
        ('overhang = "23 cm"', "overhang: 0.23 m; allowed: less than half the shorter side"),
        ('cutouts = [{ at = ["1 cm", "20 cm"], width = "6 cm" }]', "cut-out 1: .* to the edge"),
        ('cutouts = [{ at = ["8 cm", "20 cm"], width = "0 m" }]', "width = 0.0; allowed: more"),
        ('cutouts = [{ at = ["8 cm", "20 cm"] }]', "width = nothing"),
    ],
)
def test_a_top_that_cannot_be_made_is_named(harbour: Path, key: str, words: str) -> None:
    written(harbour, (TOP, TOP + key + "\n"), ('radius = "10 mm"\n', ""))
    with pytest.raises(ProjectErrors, match=words) as told:
        files.read(harbour)
    assert len(told.value.problems) == 1
    assert all(problem.line for problem in told.value.problems)


def test_only_a_top_has_corners_and_holes(harbour: Path) -> None:
    written(harbour, ("[pieces.sofa]\n", '[pieces.sofa]\nradius = "1 cm"\n'))
    with pytest.raises(ProjectErrors, match="on a glass top or a stone top"):
        files.read(harbour)
    with pytest.raises(InputError, match="glass top or stone top"):
        top_of(files.read(shipped("data") / "harbour-flat").project.home.pieces["sofa"])


def test_the_page_writes_a_top_into_the_project(parlor: Path) -> None:
    desk = Desk(parlor)
    study = TakeOff(desk)
    show = study.show
    show({**study.values, "kind": "glass and stone"}, "kind")
    assert study.values["thing"] == "sideboard_top"
    assert "stuff" not in [c["id"] for c in study.controls()]  # its kind says it
    assert study.values["cutouts"] == "2 in at 54 in, 13 in"
    show({**study.values, "radius": 0.5 * INCH}, "radius")
    show({**study.values, "cutouts": '2" at 54", 13"; 3" × 2" at 20", 8"'}, "cutouts")
    piece = desk.home.pieces["sideboard_top"]
    assert piece.radius == pytest.approx(0.5 * INCH)
    assert len(piece.cutouts) == 2
    with pytest.raises(InputError, match="cut-out 1"):
        show({**study.values, "cutouts": '2" at 1", 13"'}, "cutouts")
    assert desk.home.pieces["sideboard_top"] == piece  # what cannot be made is not written
    assert study.values["cutouts"] == '2" at 1", 13"'  # and stays to be mended
    study.act("keep", {})
    kept = files.read(parlor).project.home.pieces["sideboard_top"]
    assert kept.cutouts == piece.cutouts
    study.act("undo", {})
    show({**study.values, "thing": "dining_table"}, "thing")
    show({**study.values, "overhang": 0.05}, "overhang")
    assert desk.home.pieces["dining_table"].overhang == 0.0  # a top that is only tried


def test_one_thing_that_cannot_be_worked_out_hides_no_other(harbour: Path) -> None:
    """A repeat longer than the drop and a stone top that no slab gives, beside sound lines."""
    sound = takeoff(files.read(harbour).project)
    written(
        harbour,
        ('track = "4.60 m"', 'track = "4.60 m", repeat = "3.5 m"'),
        ('size = ["1.60 m", "0.45 m", "8 mm"]', 'size = ["5 m", "2.5 m", "20 mm"]'),
        ('kind = "glass top"', 'kind = "stone top"'),
    )
    opened = files.read(harbour)
    assert any("sideboard_top.size" in p.path for p in opened.problems)
    result = takeoff(opened.project)
    assert {line.id for line in sound.lines} - {line.id for line in result.lines} == {
        "drapery.harbour",
        "top.sideboard_top",
    }
    assert result.missing[0].startswith("Drapery at the harbour window: repeat = 3.5 m")
    assert "what a slab gives" in result.missing[1]
    drawn = table_sheets(result, block=BLOCK)
    assert not [str(f) for d in drawn for f in faults(d)]
    said = " ".join(d.text for d in drawn).replace("\u00a0", " ")
    assert "2 things are not worked out" in said
    day = datetime.date(2026, 11, 25)
    for name in ("drapery", "glass-and-stone"):
        (entry,) = sheet_set(opened.project, names=[name], today=day)
        assert "Not worked out: " in " ".join(
            getattr(i, "text", "") for i in entry.drawings[0].items
        )
    one = next(s for s in subjects(opened.project) if s.kind == "drapery")
    with pytest.raises(InputError, match="repeat"):
        drawn_view(opened.project, one)


def test_a_line_that_the_brief_weighs_and_is_gone_is_told_not_refused(harbour: Path) -> None:
    weighed = "priorities = { sofa_buy = 5, sofa_by = 2, rug_sewn = 1 }\n"
    written(harbour, ("[brief]\n", "[brief]\n" + weighed + 'may_leave_out = ["nothing_such"]\n'))
    told = {p.path: p.mend for p in files.read(harbour).problems if "brief." in p.path}
    assert told == {
        "brief.priorities.sofa_by": "write sofa_buy, if it is meant",
        "brief.priorities.rug_sewn": "write rug_buy, if it is meant",
        "brief.may_leave_out.0": "take it out",
    }
    written(harbour, ("sofa_buy = 5", "sofa_buy = 101"))
    with pytest.raises(ProjectErrors, match=r"priorities.sofa_buy = 101.*0 to 100"):
        files.read(harbour)


# --- what the label of a cloth says --------------------------------------------


def cloth(**label: object) -> Finish:
    return replace(Finish(name="wool", kind="cloth", colours=(Colour(lrv=5.0),)), **label)  # type: ignore[arg-type]


def test_a_cloth_says_what_its_label_says_and_asks_for_the_rest() -> None:
    known = seat_notes(cloth(rubs=25_000.0, rub_test="Martindale", pilling=3.0))
    assert known[0].startswith("Stood 25,000 cycles (Martindale): heavy domestic")
    assert "moderate" in known[1]
    assert len(known) == 2
    (asked,) = seat_notes(cloth())
    assert "rub test" in asked
    assert "pilling" in asked


def test_drapery_says_sun_washing_and_privacy() -> None:
    sun, wash, seen = window_notes(cloth(light_fastness=4.0, transmittance=0.6), shrinkage=0.03)
    assert "less than the usual 5" in sun
    assert "3\u00a0%" in wash
    assert "one sees in" in seen
    sun, wash, seen = window_notes(cloth(), shrinkage=0.0)
    assert "ask for its light fastness" in sun
    assert "shrinking" not in wash
    assert "hides the room closed" in seen
    kept = window_notes(cloth(transmittance=0.6), shrinkage=0, rules={SEEN: 0.7})
    assert "hides the room closed" in kept[2]


def test_the_notes_stand_on_the_sheet_and_on_the_page(harbour: Path) -> None:
    day = datetime.date(2026, 11, 25)
    project = files.read(harbour).project
    for name, words in (("drapery", "Privacy: closed it lets"), ("upholstery", "Martindale")):
        (entry,) = sheet_set(project, names=[name], today=day)
        said = " ".join(getattr(i, "text", "") for d in entry.drawings for i in d.items)
        assert words in said.replace("\u00a0", " ")
    study = TakeOff(Desk(harbour))
    shown = study.show({}, None)["said"]
    said = shown() if callable(shown) else shown
    assert any("Sun: light fastness 6" in row["text"] for row in said["findings"]["rows"])


@pytest.mark.parametrize(
    ("label", "words"),
    [
        ("rubs = 20000", "rubs and rub_test together"),
        ('rub_test = "Martindale"', "rubs and rub_test together"),
        ('rubs = -1\nrub_test = "Martindale"', "more than 0"),
        ("pilling = 6", "1 to 5"),
        ("light_fastness = 9", "1 to 8"),
        ('rubs = 20000\nrub_test = "Taber"', "Wyzenbeek"),
    ],
)
def test_a_label_that_cannot_be_is_named(harbour: Path, label: str, words: str) -> None:
    written(harbour, ("[finishes.wool_charcoal]\n", f"[finishes.wool_charcoal]\n{label}\n"))
    with pytest.raises(ProjectErrors, match=words):
        files.read(harbour)
