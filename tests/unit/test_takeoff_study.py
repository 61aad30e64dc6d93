"""The study "take-off" without a browser: each control of each kind, both demos, export."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest
from test_glossary import labels_of, names_of, plain, unknown

from designkit import project
from designkit.analyses.of_takeoff import amounts, drawn_view
from designkit.errors import InputError
from designkit.shipped import shipped
from designkit.studies.desk import Desk
from designkit.studies.page import Page
from designkit.studies.takeoff_controls import faults_of, stock_of
from designkit.studies.takeoff_study import TakeOff


@pytest.fixture(params=["harbour-flat", "parlor-floor"])
def folder(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    return Path(shutil.copytree(shipped("data") / request.param, tmp_path / "p"))


@pytest.fixture
def harbour(tmp_path: Path) -> Path:
    return Path(shutil.copytree(shipped("data") / "harbour-flat", tmp_path / "h"))


def other(spec: dict[str, Any], now: Any) -> Any:
    if spec["kind"] == "scale":
        return now - spec["step"] if now + spec["step"] > spec["max"] else now + spec["step"]
    if spec["kind"] in ("words", "choose"):
        return next((c[0] for c in spec["choices"] if c[0] != now), now)
    return now


def turn(page: Page, **values: Any) -> None:
    for id, value in values.items():
        page.values = {**page.values, id: value}
        page.asked += 1


def test_each_control_of_each_kind_answers(folder: Path) -> None:
    study = TakeOff(Desk(folder))
    page = Page(study.show, study.act)
    data = {plain(t) for t in names_of(study.desk.project)}
    for kind, _ in page.controls[0]["choices"]:
        turn(page, kind=kind)
        assert page.said["question"].endswith("?")
        assert page.said["answer"].endswith(".")
        assert page.said["findings"]["rows"], kind
        for spec in list(page.controls)[1:]:
            if spec["id"] not in [c["id"] for c in page.controls]:
                continue  # folded away by what was chosen before
            picture = page.picture
            turn(page, **{spec["id"]: other(spec, page.values[spec["id"]])})
            assert page.said["error"] is None, (kind, spec["id"], page.said["error"])
            assert page.picture.startswith("<svg")
            if spec["kind"] == "words" and len(spec["choices"]) > 1 and spec["id"] != "w_begin":
                # What is chosen is seen, or changes the order; "best" may be what is taken now.
                same = page.picture == picture
                assert not same or page.values[spec["id"]] in ("upright", "up"), spec["id"]
        shown = {"controls": page.controls, "said": page.said}
        assert unknown(labels_of(shown), data) == [], kind


def test_ids_are_on_no_page(folder: Path) -> None:
    study = TakeOff(Desk(folder))
    page = Page(study.show, study.act)
    home = study.desk.home
    ids = [i for i in (*home.openings, *home.pieces, *home.finishes, *home.rooms) if "_" in i]
    for kind, _ in page.controls[0]["choices"]:
        turn(page, kind=kind)
        words = [page.said["question"], page.said["answer"], page.picture]
        words += [row[1] for row in page.said["working"]]
        for id in ids:
            assert not any(f">{id}<" in w or f" {id}" in w for w in words), (kind, id)


def test_us_pages_have_no_kilograms(tmp_path: Path) -> None:
    folder = Path(shutil.copytree(shipped("data") / "parlor-floor", tmp_path / "p"))
    study = TakeOff(Desk(folder))
    page = Page(study.show, study.act)
    for kind in ("drapery", "glass and stone"):
        turn(page, kind=kind)
        said = [page.said["answer"], *(r["text"] for r in page.said["findings"]["rows"])]
        said += [w for _, w, _ in page.said["working"] if "kg/m" not in w]
        assert not any(" kg" in w for w in said), said
        assert any("lb" in w for w in said)


def test_drapery_goes_into_the_project_and_can_be_undone(harbour: Path) -> None:
    study = TakeOff(Desk(harbour))
    page = Page(study.show, study.act)
    turn(page, heading="pinch")
    assert study.desk.home.layouts["a"].drapes["harbour"].heading == "pinch"
    turn(page, fullness=2.5, d_repeat=0.64)
    study.act("keep", {})
    kept = project.read(harbour).project.home.layouts["a"].drapes["harbour"]
    assert (kept.heading, kept.fullness, kept.repeat) == ("pinch", 2.5, 0.64)
    turn(page, lining="lined")
    study.act("undo", {})
    assert not study.desk.home.layouts["a"].drapes["harbour"].lined


def test_paper_match_and_repeat_go_together(harbour: Path) -> None:
    study = TakeOff(Desk(harbour))
    page = Page(study.show, study.act)
    turn(page, kind="wallcovering", thing="room living", w_match="half-drop")
    assert page.values["w_repeat"] > 0
    turn(page, w_repeat=0.0)
    assert page.values["w_match"] == "free"
    one = page.said["answer"]
    turn(page, w_start="3")
    assert page.said["error"] is None
    turn(page, w_length=4.0, w_repeat=1.3)
    assert page.said["answer"] != one


def test_a_strip_longer_than_the_roll_is_said_beside_its_control(tmp_path: Path) -> None:
    folder = Path(shutil.copytree(shipped("data") / "parlor-floor", tmp_path / "p"))
    text = (folder / "project.toml").read_text()
    assert 'height = "10' in text
    (folder / "project.toml").write_text(text.replace('height = "10', 'height = "14', 1))
    study = TakeOff(Desk(folder))
    page = Page(study.show, study.act)
    turn(page, kind="wallcovering", w_length=4.0)
    assert page.said["error"]["control"] == "w_length"
    assert "longer roll" in page.said["error"]["text"]


def test_typed_faults_and_stock_sizes() -> None:
    home = project.read(shipped("data") / "harbour-flat").project.home
    assert faults_of("1.2 m – 1.3 m; 4.1 m – 4 m", home=home) == ((1.2, 1.3), (4.0, 4.1))
    assert faults_of("", home=home) == ()
    with pytest.raises(InputError, match="faults"):
        faults_of("1.2 m", home=home)
    (rug,) = stock_of("1.7 m × 2.4 m", home=home)
    assert (rug.width, rug.length) == (1.7, 2.4)
    with pytest.raises(InputError, match="stock sizes"):
        stock_of("big", home=home)


def test_the_exported_sheet_shows_what_is_tried(harbour: Path) -> None:
    study = TakeOff(Desk(harbour))
    page = Page(study.show, study.act)
    turn(page, kind="paint", coats=4)
    big = page.said["tables"][0]["rows"][-1][1]
    study.act("export", {})
    written = sorted(p.name for p in (harbour / "issued").rglob("*") if p.is_file())
    assert written == ["take-off-paint.pdf", "take-off-paint.png", "take-off-paint.svg"]
    (svg,) = (harbour / "issued").rglob("*.svg")
    text = svg.read_text()
    assert "in 4 coats" in text
    assert big[0][0].split()[0] in text


def test_the_page_and_the_sheet_say_one_order(folder: Path) -> None:
    study = TakeOff(Desk(folder))
    page = Page(study.show, study.act)
    turn(page, kind="upholstery", thing="armchair")
    subject = next(s for s in study.subjects if s.kind == "upholstery" and s.id == "armchair")
    drawn = drawn_view(study.desk.project, subject)
    assert amounts(study.view()).order == amounts(drawn).order


def test_search_longer_never_lengthens_the_plan(harbour: Path) -> None:
    study = TakeOff(Desk(harbour))
    page = Page(study.show, study.act)
    turn(page, kind="upholstery", thing="armchair", u_count=1)
    before = study.view()
    assert any(a["id"] == "longer" for a in page.said["actions"])
    study.act("longer", {})
    after = study.view()
    assert after.result.cut <= before.result.cut
    assert "plan" in study.note
