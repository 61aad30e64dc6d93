"""The command line, as a person meets it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from project_texts import HOME, swap, write

from designkit import cli
from designkit.errors import InputError


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = cli.main(list(words))
    out, err = capsys.readouterr()
    return code, out, err


def test_check_counts_what_a_good_project_holds(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run(capsys, "check", str(write(tmp_path)))
    assert (code, err) == (0, "")
    assert out.splitlines() == [
        "Flat by the park: nothing to mend.",
        "1 room, 2 openings, 1 service, 2 pieces, 1 fixture, 3 finishes, 1 layout, 2 scenarios, "
        "2 cost lines, 2 quote lines, 2 tasks.",
    ]


def test_check_says_all_problems_and_fails(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home = swap("lrv = 83", "lrv = 830", swap('floor = "oak"', 'floor = "oac"'))
    code, out, err = run(capsys, "check", str(write(tmp_path, home)))
    assert (code, err) == (1, "")
    assert out.splitlines()[0] == "2 problems in the project:"
    assert "rooms.living.floor = 'oac'" in out
    assert "to mend: write oak" in out


def test_check_reads_the_photometric_files(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "mine"
    run(capsys, "new", str(folder))
    with open(folder / "project.toml", "a", encoding="utf-8") as file:
        file.write('\n[fixtures.drum]\nname = "Drum"\nkind = "pendant"\n')
        file.write('size = ["0.5 m", "0.5 m", "0.3 m"]\nphotometry = "a.ies"\n')
    lamp = "IESNA:LM-63-2002\nTILT=NONE\n1 900 1 2 1 1 2 0.1 0.1 0\n1 1 9\n0 90\n0\n"
    (folder / "photometry" / "a.ies").write_text(lamp + "10 5\n")
    code, out, _ = run(capsys, "check", str(folder))
    assert (code, out.splitlines()[0]) == (0, "New project: nothing to mend.")
    (folder / "photometry" / "a.ies").write_text(lamp + "10\n")
    code, out, _ = run(capsys, "check", str(folder))
    assert code == 1
    assert out.startswith("1 problem in photometric files:\na.ies line 7, candelas = 1 number")
    assert "to mend: " in out


def test_check_says_remarks_and_upgrades(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home = swap("schema = 1", "schema = 0", swap('to = "outside"', 'to = "bedroom"'))
    code, out, _ = run(capsys, "check", str(write(tmp_path, home)))
    assert code == 0
    assert "written for schema 0" in out
    assert "To look at:\n  project.toml line" in out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("check", "no such folder"), "a folder with a project.toml"),
        (("schema", "rooms.<room>.hight"), "nearest: rooms.<room>.height"),
        (("rules", "zzzz"), "use fewer words"),
        (("new", "x", "--demo", "no such demo"), "demo = no such demo"),
    ],
)
def test_what_cannot_be_done_is_a_sentence(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    words: tuple[str, ...],
    said: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    code, out, err = run(capsys, *words)
    assert (code, out) == (2, "")
    assert said in err
    assert "Traceback" not in err


def test_a_syntax_error_is_a_sentence(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, _, err = run(capsys, "check", str(write(tmp_path, "name = flat\n")))
    assert code == 2
    assert "project.toml line 1, column 8" in err


def test_new_makes_a_project_that_checks(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "deep" / "first"
    code, out, _ = run(capsys, "new", str(folder))
    assert code == 0
    assert str(folder) in out
    assert sorted(p.name for p in folder.iterdir() if p.is_dir()) == [
        "art",
        "inspiration",
        "issued",
        "photometry",
        "plan",
        "quotes",
        "samples",
        "site",
    ]
    code, out, _ = run(capsys, "check", str(folder))
    assert (code, out.splitlines()[0]) == (0, "New project: nothing to mend.")
    code, _, err = run(capsys, "new", str(folder))
    assert code == 2
    assert "a folder that is new or empty" in err


def test_schema_says_every_key(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "schema")
    assert code == 0
    for word in ("rooms.<room>.outline", "layouts.<layout>.pieces.<piece>.at", "costs.likely"):
        assert f"  {word}\n" in out
    _, out, _ = run(capsys, "schema", "openings.<opening>.kind")
    assert "allowed: door, window, balcony, passage; without it: required" in out


def test_rules_are_found_by_words(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "rules", "plan.route.main")
    assert code == 0
    head, first, *_ = out.splitlines()
    assert head.split() == ["id", "name", "value", "kind", "source"]
    assert first.startswith("plan.route.main ")


def test_no_command_says_what_there_is(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys)
    assert code == 0
    for command in cli.COMMANDS:
        assert command.name in out.split()


def test_the_version_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "--version")
    assert code == 0
    assert out.strip()[0].isdigit()


def test_an_error_inside_a_command_is_no_traceback(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from designkit.project import commands

    def refuse(given: object) -> int:
        raise InputError("room", given=1, allowed="2", mend="write 2")

    monkeypatch.setattr(commands, "rules", refuse)
    assert run(capsys, "rules") == (2, "", "room = 1; allowed: 2; to mend: write 2\n")

    def lost(given: object) -> int:
        raise PermissionError(13, "Permission denied", "costs.csv")

    monkeypatch.setattr(commands, "rules", lost)
    code, out, said = run(capsys, "rules")
    assert (code, out) == (2, "")
    assert said.startswith("costs.csv = Permission denied; allowed: files and folders that can be")

    def stop(given: object) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr(commands, "rules", stop)
    assert run(capsys, "rules") == (2, "", "stopped\n")


HEAVY = ("pandas", "colour", "matplotlib", "ipywidgets", "anywidget", "IPython", "tomlkit", "scipy")


def test_check_imports_nothing_heavy(tmp_path: Path) -> None:
    code = (
        "import sys; from designkit.cli import main; "
        f"assert main(['check', {str(write(tmp_path, HOME))!r}]) == 0; "
        f"print([name for name in {HEAVY} if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


def test_importing_designkit_imports_nothing() -> None:
    code = (
        "import sys; before = set(sys.modules); import designkit; "
        "print(sorted(set(sys.modules) - before))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "numpy" not in done.stdout
    assert "pydantic" not in done.stdout
    assert "designkit.model" not in done.stdout


def test_a_reader_that_goes_away_is_no_traceback() -> None:
    done = subprocess.run(
        f"{sys.executable} -m designkit.cli schema | head -1",
        shell=True,
        capture_output=True,
        text=True,
    )
    assert done.stdout == "project.toml\n"
    assert done.stderr == ""
