"""What a project folder may hold, how one starts, and what ships."""

from __future__ import annotations

import dataclasses
import threading
from pathlib import Path

import pytest
from project_texts import write

import designkit
from designkit import model, project, shipped
from designkit.errors import FileFormatError, InputError, LookupFailed
from designkit.model import Edit
from designkit.project import describing
from designkit.project.tables import columns_of


def test_every_key_has_a_meaning_and_no_meaning_is_left_over() -> None:
    rows = project.schema()
    assert [row.key for row in rows if not row.meaning] == []
    classes = {
        name: {f.name for f in dataclasses.fields(getattr(model, name))}
        for name in model.__all__
        if dataclasses.is_dataclass(getattr(model, name))
    }
    for cls, key in describing.meanings():
        assert key in classes[cls], f"{cls}.{key} is no key"


def test_the_description_follows_the_classes() -> None:
    by_key = {row.key: row for row in project.schema()}
    assert by_key["rooms.<room>.height"].default == "required"
    assert by_key["openings.<opening>.thickness"].default == "0.2 m"
    assert by_key["money.currency"].default == "EUR"
    assert by_key["pieces.<piece>.known"].default == "seller"
    assert by_key["layouts.<layout>.pieces.<piece>.at"].allowed.startswith("a list of 2")
    assert by_key["openings.<opening>.kind"].allowed == "door, window, balcony, passage"
    assert [key for key in by_key if key.startswith("costs.")] == [
        f"costs.{column}" for column in columns_of("costs")
    ]


def test_a_key_alone_finds_all_of_that_name() -> None:
    assert {row.key for row in project.schema("sheen")} == {"finishes.<finish>.sheen"}
    assert len(project.schema("height")) > 3
    with pytest.raises(LookupFailed, match="nearest: sheen"):
        project.schema("sheeen")


@pytest.mark.parametrize("demo", shipped.demos())
def test_a_demo_is_copied_and_checks(tmp_path: Path, demo: str) -> None:
    folder = project.new(tmp_path / "mine", demo=demo)
    opened = project.read(folder)
    source = shipped.shipped(f"data/{demo}")
    assert opened.project == project.read(source).project
    assert not (folder / ".designkit").exists()


def test_a_folder_with_something_in_it_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine")
    with pytest.raises(InputError, match="a folder that is new or empty"):
        project.new(tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == ["notes.txt"]
    (tmp_path / "empty").mkdir()
    assert (project.new(tmp_path / "empty") / "project.toml").is_file()
    with pytest.raises(FileFormatError, match="a place where a folder can be made"):
        project.new(tmp_path / "notes.txt" / "below")


def test_what_ships_is_found_by_name_only() -> None:
    assert shipped.shipped("data").is_dir()
    for name in ("data/../pyproject.toml", "pyproject.toml", "/etc", "data/none"):
        with pytest.raises(LookupFailed, match="shipped file"):
            shipped.shipped(name)


def test_what_ships_is_found_in_a_wheel(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = tmp_path / "site" / "designkit"
    (package / "_shipped" / "data" / "flat").mkdir(parents=True)
    (package / "_shipped" / "data" / "flat" / "project.toml").write_text("name = 'x'\n")
    monkeypatch.setattr(shipped, "_PACKAGE", package)
    assert shipped.demos() == ("flat",)
    assert shipped.shipped("data/flat").is_relative_to(package)


def test_the_top_level_is_lazy_and_says_what_it_has() -> None:
    assert designkit.read is project.read
    assert designkit.units.read("260 cm") == 2.6
    assert {"read", "project", "units", "DesignkitError"} <= set(dir(designkit))
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = designkit.nothing
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = project.nothing


def test_savers_at_the_same_time_lose_nothing(tmp_path: Path) -> None:
    opened = project.read(write(tmp_path))
    edits = [
        Edit(path="place", old=None, new="by the park"),
        Edit(path="brief.seats", old=None, new=4),
        Edit(path="brief.diners", old=None, new=6),
        Edit(path="pieces.sofa.note", old=None, new="re-covered"),
        Edit(path="costs.sofa_move.note", old=None, new="two men"),
        Edit(path="layouts.a.note", old=None, new="first"),
    ]
    left: list[object] = []

    def save(edit: Edit) -> None:
        left.extend(project.save(opened, [edit]).conflicts)

    threads = [threading.Thread(target=save, args=(edit,)) for edit in edits]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert left == []
    assert project.read(opened.folder).project == project.apply(opened, edits)
