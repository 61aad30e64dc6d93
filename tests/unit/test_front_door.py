"""The front door: desk, recent projects, start page, and what is put in wrong on purpose."""

from __future__ import annotations

import argparse
import datetime
import json
import os
import signal
import socket
import subprocess
import sys
import webbrowser
from pathlib import Path
from typing import Any

import pytest
from test_glossary import WORDS, plain, unknown

from designkit import cli, project
from designkit.errors import FileFormatError, InputError, LookupFailed
from designkit.shipped import shipped
from designkit.studies import desk as desks
from designkit.studies import lab as labs
from designkit.studies import show as shows
from designkit.studies import start_places as places
from designkit.studies import start_server as servers
from designkit.studies.start_project import (
    card_picture,
    look_at,
    plan_of,
    room_card,
    start_project,
    words_of,
)
from designkit.studies.start_study import Start

UMLAUTS = "Müllers neue Wohnung"


@pytest.fixture(autouse=True)
def at_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A person's own data folder and the folder she types her commands in."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    here = tmp_path / "here"
    here.mkdir()
    monkeypatch.chdir(here)
    monkeypatch.setenv("DESIGNKIT_HERE", str(here))
    monkeypatch.setenv("DESIGNKIT_DESK", str(tmp_path / "data" / "designkit" / "desk"))
    for name in ("DESIGNKIT_PROJECT", "DESIGNKIT_SHOWN"):
        monkeypatch.delenv(name, raising=False)
    return here


def said(shown: dict[str, Any] | None) -> dict[str, Any]:
    assert shown is not None
    words = shown["said"]
    return words() if callable(words) else words


def card(shown: dict[str, Any] | None, id: str) -> dict[str, Any]:
    assert shown is not None
    return next(row for row in shown["options"]["rows"] if row["id"].startswith(id))


# --- data folder, desk, recent projects ------------------------------------------


def test_the_data_folder_honours_the_variable(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert places.data_folder() == tmp_path / "data" / "designkit"
    # The XDG base directory specification: a relative path is to be ignored.
    monkeypatch.setenv("XDG_DATA_HOME", "not/absolute")
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setattr(sys, "platform", "linux")
    assert places.data_folder() == tmp_path / "home" / ".local" / "share" / "designkit"


def test_a_data_folder_that_cannot_be_made_is_a_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("no folder")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "file"))
    with pytest.raises(FileFormatError, match="XDG_DATA_HOME"):
        places.desk_folder()
    assert places.recent() == ()


def test_notebooks_stay_with_the_project_and_find_it(
    at_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = project.new(at_home / UMLAUTS, demo="harbour-flat")
    desk = places.on_desk(folder)
    book = desk / "light.ipynb"
    assert book.resolve() == folder / "studies" / "light.ipynb"
    changed = json.loads(book.read_text(encoding="utf-8"))
    changed["cells"][0]["source"] = "# what I think of it"
    book.write_text(json.dumps(changed), encoding="utf-8")
    assert places.on_desk(folder) == desk
    assert "what I think" in (folder / "studies" / "light.ipynb").read_text(encoding="utf-8")
    # A kernel runs where its notebook lies.
    monkeypatch.chdir(desk)
    assert desks.find_project()[0] == folder


def test_two_projects_of_one_name_and_one_that_has_gone(at_home: Path) -> None:
    one = project.new(at_home / "a" / "flat")
    two = project.new(at_home / "b" / "flat")
    assert [places.on_desk(one).name, places.on_desk(two).name] == ["flat", "flat-2"]
    assert places.on_desk(one).name == "flat"
    one.rename(at_home / "elsewhere")
    assert not (places.desk_folder() / "flat").is_symlink()


def test_a_project_beside_which_nothing_can_be_written_opens_from_copies(
    at_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = project.new(at_home / "flat", demo="harbour-flat")
    (folder / "studies").write_text("a file where the folder should be")
    desk = places.on_desk(folder)
    assert not desk.is_symlink()
    assert places.on_desk(folder) == desk
    monkeypatch.chdir(desk)
    assert desks.find_project()[0] == folder


def test_a_system_without_links_opens_from_copies(
    at_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(self: Path, target: object, target_is_directory: bool = False) -> None:
        raise OSError(1, "a required privilege is not held")

    monkeypatch.setattr(Path, "symlink_to", refuse)
    folder = project.new(at_home / "flat", demo="harbour-flat")
    desk = places.on_desk(folder)
    assert (desk / "light.ipynb").is_file()
    monkeypatch.chdir(desk)
    assert desks.find_project()[0] == folder


def test_recent_projects_are_kept_in_order_and_dropped(at_home: Path) -> None:
    day = datetime.datetime(2026, 11, 25, 9, 0)
    for n, name in enumerate(("one", "two", "one")):
        places.remember(at_home / name, name.title(), when=day + datetime.timedelta(hours=n))
    rows = places.recent()
    assert [(r.name, r.opened.hour) for r in rows] == [("One", 11), ("Two", 10)]
    assert not rows[0].there
    places.drop(rows[0].folder)
    assert [r.name for r in places.recent()] == ["Two"]


@pytest.mark.parametrize("text", ["", "{", "[1]", '[{"folder": "x"}]', "null"])
def test_a_spoilt_list_is_no_reason_not_to_open(text: str, at_home: Path) -> None:
    (places.data_folder() / "recent.json").write_text(text)
    assert places.recent() == ()
    places.remember(at_home, "again")
    assert [r.name for r in places.recent()] == ["again"]


def test_studies_come_with_their_questions() -> None:
    books = {b.name: b for b in places.studies_of()}
    assert {"light", "layout-options", "share-of-black", "budget-scenarios"} <= set(books)
    assert books["light"].question == "Is there light where it is needed?"
    assert not {"start", "learn"} & set(books)
    assert all(b.title and b.question for b in books.values())


def test_each_study_has_its_place_in_the_order_of_the_work() -> None:
    names = [b.name for b in places.studies_of()]
    assert [n for n in places.ORDER if n in names] == [n for n in names if n in places.ORDER]


# --- the start page ---------------------------------------------------------------


def test_the_first_time(at_home: Path) -> None:
    page = Start()
    shown = page.show({}, None)
    assert [row["id"] for row in shown["options"]["rows"]] == [
        "room",
        "demo:harbour-flat",
        "demo:parlor-floor",
    ]
    assert [link["href"] for link in said(shown)["links"]] == ["learn.ipynb"]
    assert shown["values"] == {"folder": "my-room", "units": "m"}
    assert list(at_home.iterdir()) == []


@pytest.mark.parametrize(("units", "height"), [("m", 2.6), ("ft", 102 * 0.0254)])
def test_my_room_makes_a_project_and_opens_its_page(
    at_home: Path, units: str, height: float
) -> None:
    page = Start()
    page.show({"folder": UMLAUTS, "units": units}, "units")
    shown = page.act("open", {"option": "room"})
    opened = project.read(at_home / UMLAUTS)
    home = opened.project.home
    assert (home.name, home.units) == (UMLAUTS, units)
    assert home.rooms["living"].height == pytest.approx(height, abs=1e-9)
    assert opened.problems == ()
    first, *_ = (link for link in said(shown)["links"] if "#open-" in link["href"])
    assert first["href"].startswith("M%C3%BCllers%20neue%20Wohnung/my-room.ipynb#open-")
    assert (at_home / UMLAUTS / "studies" / "my-room.ipynb").is_file()
    assert [r.name for r in places.recent()] == [UMLAUTS]
    # It goes there once: the next answer only links.
    assert not any("#open-" in link["href"] for link in said(page.draw())["links"])


def test_a_demo_is_copied_each_time(at_home: Path) -> None:
    page = Start()
    for name in ("harbour-flat", "harbour-flat-2"):
        shown = page.act("open", {"option": "demo:harbour-flat"})
        assert (at_home / name / "project.toml").is_file()
        words = said(shown)
        assert len(words["links"]) == len(places.studies_of()) + 1
        # learn stands beside the project: it begins with its own values
        assert words["links"][-1]["href"] == f"{name}/learn.ipynb"
        assert (at_home / name / "studies" / "learn.ipynb").is_file()
        assert "wishes of the brief are met" in words["answer"]
        assert "under the cap" in words["answer"]
        assert {row["state"] for row in words["brief"]} <= {"met", "not met", "measure first"}
        assert shown is not None
        assert "<svg" in shown["picture"]
    assert not (shipped("data/harbour-flat") / "studies").exists()


def test_the_numbers_are_those_of_the_studies(at_home: Path) -> None:
    from designkit.costs.budgeting import budget

    folder = project.new(at_home / "flat", demo="harbour-flat")
    answer, lines, money = words_of(look_at(folder))
    column = budget(project.read(folder).project).columns[0]
    assert column.words in money
    asked = [line for line in lines if line.state != "not asked"]
    met = sum(line.state == "met" for line in asked)
    assert answer.startswith(f"{met} of {len(asked)} wishes")


def test_the_folder_given_is_shown_first(at_home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    project.new(at_home / "one", demo="harbour-flat")
    two = project.new(at_home / "two", demo="parlor-floor")
    places.remember(two, "Two", when=datetime.datetime(2026, 1, 1))
    places.remember(at_home / "one", "One")
    assert Start().shown.folder == at_home / "one"  # type: ignore[union-attr]
    monkeypatch.setenv("DESIGNKIT_SHOWN", str(two))
    page = Start()
    assert page.shown is not None
    assert page.shown.folder == two
    assert page.values["units"] == "ft"
    assert [link["text"] for link in said(page.draw())["links"]][-1] == "Learn"


def test_a_notebook_of_ones_own_is_one_click_away(at_home: Path) -> None:
    folder = project.new(at_home / "flat", demo="harbour-flat")
    (folder / "studies").mkdir()
    (folder / "studies" / "my notes.ipynb").write_text("{}")
    page = Start()
    places.remember(folder, "Flat")
    shown = page.act("open", {"option": f"project:{folder}"})
    assert "flat/my%20notes.ipynb" in [link["href"] for link in said(shown)["links"]]


def test_a_project_that_has_gone_is_said_and_can_be_dropped(at_home: Path) -> None:
    folder = project.new(at_home / "flat", demo="harbour-flat")
    places.remember(folder, "Flat over the harbour")
    folder.rename(at_home / "moved")
    page = Start()
    shown = page.show({}, None)
    words = said(shown)
    assert "is not in" in words["answer"]
    assert "not there any more" in card(shown, "project:")["lines"][0]
    assert [a["id"] for a in words["actions"]] == ["drop"]
    # It comes back by itself where the folder does.
    (at_home / "moved").rename(folder)
    assert said(page.act("look", {}))["findings"] is None
    folder.rename(at_home / "moved")
    assert page.act("look", {}) is not None
    page.act("drop", {})
    assert places.recent() == ()
    assert (at_home / "moved" / "project.toml").is_file()


def test_a_broken_project_says_what_to_mend_and_the_page_keeps_working(at_home: Path) -> None:
    folder = project.new(at_home / "flat", demo="harbour-flat")
    places.remember(folder, "Flat")
    whole = (folder / "project.toml").read_text(encoding="utf-8")
    page = Start()
    for text, found in (
        ("name = flat\n", "line 1, column 8"),
        (whole.replace('height = "2.62 m"', 'hight = "2.62 m"'), "hight"),
    ):
        (folder / "project.toml").write_text(text, encoding="utf-8")
        shown = page.act("look", {})
        words = said(shown)
        assert any(found in row["text"] for row in words["findings"]["rows"])
        assert {row["state"] for row in words["findings"]["rows"]} == {"to mend"}
        assert [link["text"] for link in words["links"]] == ["Learn"]
        assert "Has to be mended." in card(shown, "project:")["lines"]
    (folder / "project.toml").write_text(whole, encoding="utf-8")
    words = said(page.act("look", {}))
    assert words["findings"] is None
    assert len(words["links"]) > 4
    assert page.act("look", {}) is None


@pytest.mark.parametrize(
    ("typed", "match"),
    [
        ("", "write a name, as my-room"),
        ("   ", "write a name, as my-room"),
        ("full", "a folder that is new or empty"),
        ("file/under", "a place where a folder can be made"),
        ("/proc/designkit/room", "a place where a folder can be made"),
    ],
)
def test_wrong_folders_get_a_sentence(at_home: Path, typed: str, match: str) -> None:
    (at_home / "full").mkdir()
    (at_home / "full" / "letter.txt").write_text("dear client")
    (at_home / "file").write_text("a file")
    page = Start()
    page.values["folder"] = typed
    with pytest.raises((InputError, FileFormatError), match=match):
        page.act("open", {"option": "room"})
    assert (at_home / "full" / "letter.txt").read_text() == "dear client"
    assert places.recent() == ()
    page.values["folder"] = "good"
    assert page.act("open", {"option": "room"}) is not None


def test_a_folder_that_is_a_project_already_is_opened(at_home: Path) -> None:
    folder = project.new(at_home / "flat", demo="harbour-flat")
    before = (folder / "project.toml").read_bytes()
    page = Start()
    page.values["folder"] = "flat"
    words = said(page.act("open", {"option": "room"}))
    assert "is a project already" in words["note"]
    assert (folder / "project.toml").read_bytes() == before


def test_where_nothing_can_be_written_home_is_offered(
    at_home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setattr(os, "access", lambda path, mode: str(path) != str(at_home))
    page = Start()
    page.act("open", {"option": "room"})
    assert (tmp_path / "my-room" / "project.toml").is_file()


def test_a_message_that_names_nothing_does_nothing(at_home: Path) -> None:
    page = Start()
    for message in ({}, {"option": "demo:none"}, {"option": "project:/etc"}, {"option": ""}):
        assert page.act("open", message) is None
    assert page.act("drop", {}) is None
    assert list(at_home.iterdir()) == []


def test_without_the_lab_the_page_says_how_to_start_it(
    at_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("DESIGNKIT_DESK")
    words = said(Start().show({}, None))
    assert words["links"] == []
    assert "designkit lab" in words["note"]


@pytest.mark.parametrize("demo", ["harbour-flat", "parlor-floor"])
def test_pictures_can_be_read(at_home: Path, demo: str) -> None:
    from designkit.figures.check import faults

    shown = look_at(shipped(f"data/{demo}"))
    assert shown.home is not None
    large = plan_of(shown.home)
    assert faults(large) == []
    assert large.scale == {"harbour-flat": 100, "parlor-floor": 96}[demo]
    small = card_picture(shown)
    assert (small.width, small.height) == (90.0, 62.0)
    assert faults(room_card()) == []
    gone = card_picture(None, words="The folder is not there any more.")
    assert gone.text == "The folder is not there any more."


def test_every_word_stands_in_the_glossary(at_home: Path) -> None:
    folder = project.new(at_home / "flat", demo="harbour-flat")
    places.remember(folder, "Flat")
    page = Start()
    for spoil in (False, True):
        if spoil:
            (folder / "project.toml").write_text("name = flat\n")
        shown = page.draw() if not spoil else page.act("look", {})
        assert shown is not None
        words = said(shown)
        labels = [shown["options"]["title"]]
        labels += [c["label"] for c in shown["controls"]]
        labels += [t for c in shown["controls"] for _, t in c.get("choices", ())]
        labels += [a["text"] for a in words["actions"]]
        labels += [row["state"] for row in words["brief"]]
        if words["findings"]:
            labels += [words["findings"]["title"], words["findings"]["rows"][0]["state"]]
        assert unknown(iter(labels), set()) == []
    for word in ("Drop from the list", "Start page", "a new project", "Has to be mended"):
        assert plain(word) in WORDS


# --- the commands -----------------------------------------------------------------


class Terminal:
    """Standard input or output of a person, not of a script."""

    def __init__(self, inner: Any) -> None:
        self.inner = inner

    def isatty(self) -> bool:
        return True

    def __getattr__(self, name: str) -> Any:
        return getattr(self.inner, name)


def test_without_a_command_a_person_gets_the_start_page(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[argparse.Namespace] = []
    monkeypatch.setattr(labs, "lab", lambda given: asked.append(given) or 0)
    assert cli.main([]) == 0  # a script gets the list of commands
    assert asked == []
    monkeypatch.setattr(sys, "stdin", Terminal(sys.stdin))
    monkeypatch.setattr(sys, "stdout", Terminal(sys.stdout))
    assert cli.main([]) == 0
    assert (asked[0].folder, asked[0].port, asked[0].no_browser) == ("", 0, False)


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str]:
    code = cli.main(list(words))
    return code, capsys.readouterr().err


def test_wrong_things_on_the_command_line(
    at_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    project.new(at_home / "flat", demo="harbour-flat")
    places.remember(at_home / "flat", "Flat")
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        for words, found in (
            (("lab", "nowhere"), "start `designkit` without a folder"),
            (("lab", "--port", port), f"port = {port}, which is taken"),
            (("show", "light", "flat", "--port", port), "leave --port out, or use"),
            (("show", "lihgt", "flat"), "to mend: use light"),
            (("show", "light", "nowhere"), str(at_home / "flat")),
            (("show", "light"), "designkit new FOLDER"),
            (("lab", "--port", "70000"), "1 to 65535"),
        ):
            code, err = run(capsys, *words)
            assert code == 2
            assert found in err
            assert "Traceback" not in err


def test_without_voila_the_command_to_install_it_is_said(
    at_home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    project.new(at_home / "flat", demo="harbour-flat")
    monkeypatch.setattr(shows.importlib.util, "find_spec", lambda name: None)
    code, err = run(capsys, "show", "light", "flat")
    assert code == 2
    assert "voila = not installed" in err
    assert "-m pip install voila" in err


def test_names_of_studies_are_taken_as_people_write_them() -> None:
    for typed in (
        "share-of-black",
        "share_of_black.ipynb",
        "Share of Black",
        "studies/share-of-black",
    ):
        assert shows.study_named(typed) == "share-of-black"
    with pytest.raises(LookupFailed, match="layout-options"):
        shows.study_named("nothing like it")


@pytest.mark.parametrize("found", [True, False, None])
def test_no_browser_says_the_address(
    found: bool | None, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def open_(url: str) -> bool:
        if found is None:
            raise webbrowser.Error("could not locate runnable browser")
        return found

    monkeypatch.setattr(webbrowser, "open", open_)
    servers.open_page("http://127.0.0.1:1/x", wanted=True)
    out = capsys.readouterr().out
    assert "http://127.0.0.1:1/x" in out
    assert ("No browser was found" in out) is (found is not True)


def test_a_server_that_fails_says_its_last_words(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code = servers.run_server(
        [sys.executable, "-c", "print('no such module'); raise SystemExit(3)"],
        env=servers.environment(),
        alive="http://127.0.0.1:9/",
        ready=lambda: None,
        log=tmp_path / "server.log",
    )
    assert code == 1
    assert "no such module" in capsys.readouterr().err


SERVE = """
import sys, urllib.request
from pathlib import Path
from designkit.studies.start_server import environment, run_server
port, log = sys.argv[1:]
command = [sys.executable, "-m", "http.server", port, "--bind", "127.0.0.1", "--directory", log]
raise SystemExit(run_server(
    command, env=environment(), alive=f"http://127.0.0.1:{port}/",
    ready=lambda: print("up", flush=True), log=Path(log) / "server.log"))
"""


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")
@pytest.mark.parametrize("how", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_however_it_is_ended_the_server_ends_with_it(tmp_path: Path, how: str) -> None:
    """Ctrl-C, ended from outside, the window closed."""
    port = servers.free_port(0, first=18_000)
    with subprocess.Popen(
        [sys.executable, "-c", SERVE, str(port), str(tmp_path)], stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "up\n"
        process.send_signal(getattr(signal, how))
        out, _ = process.communicate(timeout=30)
    assert (process.returncode, out) == (0, "Stopped.\n")
    assert servers.free_port(port, first=18_000) == port


def test_kernels_are_our_own_python_and_import_nothing_beside_a_notebook() -> None:
    env = servers.environment(EXTRA="1")
    spec = json.loads(
        (Path(env["JUPYTER_PATH"].split(os.pathsep)[0]) / "kernels/python3/kernel.json").read_text()
    )
    assert spec["argv"][:3] == ["python", "-P", "-m"]
    assert "--IPKernelApp.ignore_cwd=True" in spec["argv"]
    assert env["EXTRA"] == "1"
    assert len(env["JUPYTER_TOKEN"]) > 20
    assert env["JUPYTER_TOKEN"] != servers.environment()["JUPYTER_TOKEN"]


def test_a_new_project_in_feet_lies_on_whole_inches(at_home: Path) -> None:
    home = project.read(start_project(at_home / "flat", feet=True)).project.home
    assert home.units == "ft"
    assert home.money.currency == "USD"
    sides = [v for point in home.rooms["living"].outline for v in point]
    for length in (*sides, *home.pieces["sofa"].size):
        assert length / 0.0254 == pytest.approx(round(length / 0.0254), abs=1e-9)
