"""The studies without a browser: every control, wrong input, undo, two desks on one project."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from designkit import project
from designkit.studies.black_study import ShareOfBlack
from designkit.studies.budget_study import BudgetScenarios
from designkit.studies.desk import Desk, find_project
from designkit.studies.layouts_study import LayoutOptions
from designkit.studies.light_study import Light
from designkit.studies.page import Page
from designkit.studies.study import Study

DATA = Path(__file__).parents[2] / "data"


def words(shown: dict[str, Any] | None) -> dict[str, Any]:
    """What a study says; it may be put together only when it is asked for."""
    assert shown is not None
    said = shown["said"]
    return said() if callable(said) else said


STUDIES = [LayoutOptions, ShareOfBlack, Light, BudgetScenarios]


@pytest.fixture(params=["harbour-flat", "parlor-floor"])
def folder(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    return Path(shutil.copytree(DATA / request.param, tmp_path / "p"))


@pytest.fixture
def harbour(tmp_path: Path) -> Path:
    return Path(shutil.copytree(DATA / "harbour-flat", tmp_path / "h"))


def other_value(spec: dict[str, Any], now: Any) -> Any:
    if spec["kind"] == "scale":
        step = spec["step"]
        return now - step if now + step > spec["max"] else now + step
    if spec["kind"] in ("words", "choose"):
        return next((c[0] for c in spec["choices"] if c[0] != now), now)
    if spec["kind"] == "checks":
        ids = [c[0] for c in spec["choices"]]
        return [i for i in ids if i not in now] or ids
    return now


@pytest.mark.parametrize("study", STUDIES)
def test_each_control_answers(study: Callable[[Desk], Study], folder: Path) -> None:
    desk = study(Desk(folder))
    page = Page(desk.show, desk.act)
    assert "error" not in page.said or page.said["error"] is None
    assert page.picture.startswith("<svg")
    for spec in list(page.controls):
        before = dict(page.values)
        page.values = {**before, spec["id"]: other_value(spec, before[spec["id"]])}
        page.asked += 1
        assert page.answered == page.asked, spec["id"]
        error = page.said.get("error")
        # A price outside its own row's range is refused in words; nothing else is.
        assert error is None or "range its row gives" in error["text"], (spec["id"], error)


@pytest.mark.parametrize("bad", [float("nan"), 1e9, "a lot", None, True])
def test_what_no_control_can_give_is_refused_and_forgotten(bad: object, harbour: Path) -> None:
    study = Light(Desk(harbour))
    page = Page(study.show, study.act)
    before = dict(page.values)
    page.values = {**before, "dim": bad}
    page.asked += 1
    error = page.said["error"]
    assert error["control"] == "dim"
    assert "allowed: 10 to 100; to mend: choose it again" in error["text"]
    assert page.values == before
    page.values = {**before, "dim": 50}
    page.asked += 1
    assert page.said["error"] is None


def test_a_message_that_lacks_its_parts_is_nobodys(harbour: Path) -> None:
    study = Light(Desk(harbour))
    page = Page(study.show, study.act)
    said = dict(page.said)
    for message in (
        {"action": "point", "x": 3.0},
        {"action": "point", "x": float("nan"), "y": 1.0},
        {"action": "pick", "table": "found"},
        {"action": "file", "control": "price", "name": "a.csv"},
    ):
        page._on_message(page, message, None)
    assert page.said == said


@pytest.mark.parametrize("study", STUDIES)
def test_head_says_question_answer_and_brief(study: Callable[[Desk], Study], folder: Path) -> None:
    said = words(study(Desk(folder)).show({}, None))
    assert said["question"].endswith("?")
    assert said["answer"].endswith(".")
    assert {b["state"] for b in said["brief"]} <= {"met", "not met", "measure first", "not asked"}
    assert said["brief"]


def test_move_undo_redo_keep(harbour: Path) -> None:
    study = LayoutOptions(Desk(harbour))
    page = Page(study.show, study.act)
    start = (harbour / "project.toml").read_text()
    page.values = {**page.values, "piece": "plant"}
    page.asked += 1
    x = page.values["x"]
    for _ in range(3):
        page.values = {**page.values, "x": page.values["x"] - 0.01}
        page.asked += 1
    assert len(study.desk.edits) == 1, "a dragged slider is one step"
    assert page.values["x"] == pytest.approx(x - 0.03)
    study.act("undo", {})
    assert study.values["x"] == pytest.approx(x)
    assert (harbour / "project.toml").read_text() == start
    study.act("redo", {})
    study.act("keep", {})
    kept = project.read(harbour).project.home.layouts["a"].pieces["plant"].at
    assert kept[0] == pytest.approx(x - 0.03)
    assert "# A demo of our own invention" in (harbour / "project.toml").read_text()


def test_typed_position_wrong_and_right(harbour: Path) -> None:
    study = LayoutOptions(Desk(harbour))
    page = Page(study.show, study.act)
    page.values = {**page.values, "at_x": "over there"}
    page.asked += 1
    assert page.said["error"]["control"] == "at_x"
    assert "to mend" in page.said["error"]["text"]
    page.values = {**page.values, "at_x": "5900 mm"}
    page.asked += 1
    assert page.said["error"] is None
    assert page.values["x"] == pytest.approx(5.9)


def test_keep_as_an_option_leaves_the_first_as_it_was(harbour: Path) -> None:
    study = LayoutOptions(Desk(harbour))
    before = study.desk.home.layouts["a"]
    values = {**study.values, "piece": "plant"}
    study.show(values, "piece")
    study.show({**study.values, "x": 6.0}, "x")
    shown = study.act("option", {})
    home = project.read(harbour).project.home
    assert home.layouts["a"] == before
    assert home.layouts["d"].pieces["plant"].at[0] == pytest.approx(6.0)
    assert shown is not None
    assert len(shown["options"]["rows"]) == 4


def test_two_desks_see_and_respect_each_other(harbour: Path) -> None:
    one, two = LayoutOptions(Desk(harbour)), ShareOfBlack(Desk(harbour))
    assert two.act("look", {}) is None
    one.show({**one.values, "piece": "plant"}, "piece")
    one.show({**one.values, "x": 6.0}, "x")
    one.act("keep", {})
    shown = two.act("look", {})
    assert "Another study" in words(shown)["note"]
    assert two.desk.home.layouts["a"].pieces["plant"].at[0] == pytest.approx(6.0)
    # Both change the same thing: neither is lost in silence.
    three = LayoutOptions(Desk(harbour))
    three.show({**three.values, "piece": "plant"}, "piece")
    three.show({**three.values, "x": 5.0}, "x")
    one.show({**one.values, "x": 6.5}, "x")
    one.act("keep", {})
    told = three.act("keep", {})
    assert "Not overwritten" in words(told)["note"]
    assert "plant" in words(told)["note"]


def test_a_fault_of_ours_is_a_sentence() -> None:
    def show(values: object, changed: str | None) -> dict[str, Any]:
        if changed:
            raise ZeroDivisionError("x / 0")
        return {"values": {"a": 1}, "picture": "<svg></svg>", "said": {}}

    page = Page(show, lambda action, message: None)
    page.values = {"a": 2}
    page.asked += 1
    assert "our fault" in page.said["error"]["text"]
    assert page.answered == 1


def test_finding_the_project(
    tmp_path: Path, harbour: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("DESIGNKIT_PROJECT", raising=False)
    assert find_project(harbour) == (harbour, "")
    inner = harbour / "studies"
    inner.mkdir()
    monkeypatch.chdir(inner)
    assert find_project()[0] == harbour
    monkeypatch.chdir(tmp_path)
    folder, note = find_project()
    assert (folder / "project.toml").is_file()
    assert "passing copy" in note
    from designkit.errors import InputError

    with pytest.raises(InputError, match="designkit new"):
        find_project(tmp_path)


def test_a_file_that_comes_in_parts_is_put_together() -> None:
    given: list[bytes] = []

    def act(action: str, message: Mapping[str, Any]) -> None:
        if action == "file":
            given.append(message["data"])

    page = Page(lambda values, changed: {"picture": "<svg/>"}, act)

    def send(part: int, parts: int, data: bytes) -> None:
        message = {"action": "file", "control": "f", "name": "a.png", "part": part, "parts": parts}
        page._on_message(page, message, [memoryview(data)])

    send(0, 3, b"ab")
    send(0, 3, b"ab")  # sent anew after a break
    send(1, 3, b"cd")
    assert given == []
    send(2, 3, b"e")
    send(0, 1, b"whole")
    page._on_message(page, {"action": "file", "control": "f", "name": "b"}, [memoryview(b"old")])
    assert given == [b"abcde", b"whole", b"old"]
