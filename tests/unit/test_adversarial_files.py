"""What people do to files by mistake: nothing is lost, and a sentence says how to mend it."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from project_texts import COSTS, HOME, swap
from project_texts import write as write_flat

from designkit import project
from designkit.cli import main
from designkit.errors import FileFormatError
from designkit.figures.axes import png_bytes, save, save_pages
from designkit.figures.drawing import Drawing, Text
from designkit.project import ProjectErrors
from designkit.project.documents import keep_document
from designkit.publish import files
from designkit.publish.files import publish
from designkit.whole import folder_for_files, write_beside, write_whole

SHEET = Drawing(width=60, height=20, items=(Text(at=(5, 5), text="sofa", size=2.0),))


def write(folder: Path, home: str = HOME, **more: str | None) -> Path:
    """A project in a folder that is made first."""
    folder.mkdir(exist_ok=True)
    return write_flat(folder, home, **more)


class Full(io.FileIO):
    """A file on a disk that is full after three bytes."""

    def write(self, data: Any) -> int:
        super().write(bytes(data)[:3])
        raise OSError(28, "No space left on device")


def fill(disk: pytest.MonkeyPatch) -> None:
    usual = Path.open

    def opened(self: Path, mode: str = "r", *args: Any, **more: Any) -> Any:
        return Full(self, mode) if "w" in mode else usual(self, mode, *args, **more)

    disk.setattr(Path, "open", opened)


@pytest.mark.parametrize("ending", ["png", "svg", "pdf"])
def test_a_full_disk_keeps_the_figure_that_stood_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, ending: str
) -> None:
    path = save(SHEET, tmp_path / f"a.{ending}")
    before = path.read_bytes()
    fill(monkeypatch)
    with pytest.raises(FileFormatError, match=rf"writing a\.{ending} = No space left.*to mend"):
        save(SHEET, path)
    monkeypatch.undo()
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


def test_a_disk_that_fills_half_way_leaves_no_part_of_a_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_whole(tmp_path / "costs.csv", b"id,item\n")

    fill(monkeypatch)
    with pytest.raises(FileFormatError, match="as it was"):
        write_whole(path, b"id,item,room\n")
    assert path.read_bytes() == b"id,item\n"
    for name in ("costs.csv", "offer.csv"):  # neither over the old one nor beside it
        with pytest.raises(FileFormatError, match="No space left on device"):
            write_beside(tmp_path, name, b"id,item,room\n")
    assert path.read_bytes() == b"id,item\n"
    assert [p.name for p in tmp_path.iterdir()] == ["costs.csv"]


def test_a_document_beside_a_folder_that_takes_none_is_told(tmp_path: Path) -> None:
    (tmp_path / "quotes").write_text("a letter", encoding="utf-8")
    with pytest.raises(FileFormatError, match="a folder that can be written to"):
        keep_document(tmp_path, "Chair;265,00\nBench;340,00")
    with pytest.raises(FileFormatError, match="a folder that can be written to"):
        write_beside(tmp_path / "gone" / "site", "sofa.jpg", b"a picture")
    assert [p.name for p in tmp_path.iterdir()] == ["quotes"]


def test_a_name_of_the_longest_length_can_be_written(tmp_path: Path) -> None:
    path = tmp_path / f"{'x' * 251}.csv"
    assert write_whole(path, b"id").read_bytes() == b"id"


@pytest.mark.parametrize("place", ["taken", "taken/inside"])
def test_a_file_where_the_folder_should_be_is_told(tmp_path: Path, place: str) -> None:
    (tmp_path / "taken").write_text("a letter", encoding="utf-8")
    with pytest.raises(FileFormatError, match=r"a file has this name.*name another folder"):
        folder_for_files(tmp_path / place)
    assert (tmp_path / "taken").read_text("utf-8") == "a letter"


def test_commands_say_that_a_file_has_the_name(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home = write(tmp_path / "home", costs=COSTS)
    (tmp_path / "taken").write_text("a letter", encoding="utf-8")
    for words in (["figures", str(home)], ["documents", str(home), "--for", "client"]):
        assert main([*words, "--out", str(tmp_path / "taken")]) == 2
        said = capsys.readouterr().err
        assert "a file has this name" in said
        assert "to mend: name another folder" in said
    assert (tmp_path / "taken").read_text("utf-8") == "a letter"


def test_figures_written_into_the_project_leave_its_files_alone(tmp_path: Path) -> None:
    home = write(tmp_path / "home", costs=COSTS)
    made = publish(
        project.read(home).project, out=home, names=["furniture-schedule"], formats=["svg"]
    )
    assert made
    assert all(path.is_file() for path in made)
    assert (home / "project.toml").read_text("utf-8") == HOME
    assert (home / "costs.csv").read_text("utf-8") == COSTS


# A process with one thread, as the command is: the test runner may have more.
BESIDE = """
import os, sys
from pathlib import Path
from designkit.errors import DesignkitError
from designkit.figures.drawing import Drawing, Text
from designkit.publish import files
out = Path(sys.argv[1])
files._processors = lambda: int(sys.argv[2])
work = [
    (Drawing(width=60, height=20, items=(Text(at=(5, 5), text=f"sofa {n}", size=2.0),)),
     out / f"{n}.png") for n in range(8)
]
if sys.argv[3] == "fails":
    (out / "5.png").mkdir()
try:
    with files._beside(work, 100):
        print(sorted(p.name for p in out.glob("?.png")) == [p.name for _, p in work])
except DesignkitError as error:
    print(error)
print(len([p for p in out.iterdir() if p.name.endswith(".part")]))
"""


def beside(out: Path, processors: int, what: str = "") -> str:
    out.mkdir()
    words = [sys.executable, "-c", BESIDE, str(out), str(processors), what]
    done = subprocess.run(words, capture_output=True, text=True, timeout=60, check=True)
    assert done.stderr == ""
    return done.stdout


def test_two_processes_write_the_same_pictures_as_one(tmp_path: Path) -> None:
    assert beside(tmp_path / "one", 1).split() == ["True", "0"]
    assert beside(tmp_path / "two", 2).split()[-1] == "0"
    for n in range(8):
        same = png_bytes(
            Drawing(width=60, height=20, items=(Text(at=(5, 5), text=f"sofa {n}", size=2.0),)),
            dpi=100,
        )
        assert (tmp_path / "one" / f"{n}.png").read_bytes() == same
        assert (tmp_path / "two" / f"{n}.png").read_bytes() == same


def test_what_the_second_process_could_not_write_is_told_once(tmp_path: Path) -> None:
    said = beside(tmp_path / "two", 2, "fails")
    assert said.count("writing 5.png") == 1
    assert "to mend" in said
    assert (tmp_path / "two" / "4.png").is_file()


def test_a_stop_leaves_no_process_behind(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(files, "_processors", lambda: 2)
    monkeypatch.setattr(files.threading, "active_count", lambda: 1)
    work = [(SHEET, tmp_path / f"{n}.png") for n in range(40)]
    with pytest.raises(KeyboardInterrupt), files._beside(work, 100):
        raise KeyboardInterrupt
    assert files.multiprocessing.active_children() == []


@pytest.mark.parametrize(
    "change",
    [
        lambda text: "\ufeff" + text,
        lambda text: text.replace("\n", "\r\n"),
        lambda text: text.replace(" = ", "\t=\t"),
        lambda text: text + "\n# " + "x" * 10_000_000,
    ],
    ids=["mark of byte order", "line ends", "tabs", "ten megabytes"],
)
def test_forms_of_text_that_editors_write_are_read(tmp_path: Path, change: object) -> None:
    home = write(tmp_path)
    assert callable(change)
    (home / "project.toml").write_bytes(change(HOME).encode())
    assert project.read(home).project.home == project.read(write(tmp_path / "plain")).project.home


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("schema = 1", "schema = 1\nschema = 1", "name each key once"),
        ("schema = 1", "schema = 1\n\x01", "put text in quotes"),
    ],
)
def test_a_broken_file_is_told_with_its_line(tmp_path: Path, old: str, new: str, said: str) -> None:
    with pytest.raises(FileFormatError, match=rf"project.toml line \d+.*{said}"):
        project.read(write(tmp_path, home=swap(old, new)))


def test_a_folder_where_a_file_should_be_is_told(tmp_path: Path) -> None:
    home = write(tmp_path, costs=None)
    (home / "costs.csv").mkdir()
    with pytest.raises(FileFormatError, match=r"costs\.csv = .*to mend"):
        project.read(home)


def test_a_file_or_nothing_instead_of_a_folder_is_told(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "letter").write_text("a letter", encoding="utf-8")
    for place in ("empty", "letter", "Köln Süd ß"):
        with pytest.raises(FileFormatError, match="to mend: give the folder of a project"):
            project.read(tmp_path / place)


def test_a_folder_name_with_spaces_and_umlauts_is_one_like_any(tmp_path: Path) -> None:
    home = write(tmp_path / "Köln Süd ß")
    assert project.read(home).project.home.rooms
    assert save_pages([SHEET], home / "Grundriß 1.pdf").is_file()


# --- days that nobody means ---------------------------------------------------


@pytest.mark.parametrize("day", ["9999-12-31", "0001-01-01", "2026-02-30", "soon"])
def test_a_day_that_cannot_be_counted_from_is_refused(
    tmp_path: Path, day: str, capsys: pytest.CaptureFixture[str]
) -> None:
    home = write(tmp_path)
    assert main(["figures", str(home), "--date", day]) == 2
    said = capsys.readouterr().err
    assert f"--date = {day}" in said
    assert "1900 to 2200" in said
    assert not (home / "issued").exists()


def test_far_days_and_endless_leads_of_cost_lines_are_told_together(tmp_path: Path) -> None:
    costs = (
        "id,item,category,likely,lead_time,ordered_on\n"
        "near,sofa,furniture,100,12,2026-11-25\n"
        "far,sofa,furniture,100,12,9999-11-25\n"
        "slow,sofa,furniture,100,1000000,\n"
    )
    with pytest.raises(ProjectErrors) as caught:
        project.read(write(tmp_path, costs=costs))
    told = [str(problem) for problem in caught.value.problems]
    assert any("far.ordered_on = '9999-11-25'" in one and "1900 to 2200" in one for one in told)
    assert any("slow.lead_time = 1000000" in one and "520 weeks" in one for one in told)
    assert not any("near." in one for one in told)


@pytest.mark.skipif(os.name == "nt", reason="signals of another kind")
def test_ctrl_c_is_a_word_and_no_traceback(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    import designkit.publish.commands as commands

    def stop(*args: object, **more: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(commands, "publish", stop)
    assert main(["figures", str(write(tmp_path))]) == 2
    assert capsys.readouterr().err == "stopped\n"
