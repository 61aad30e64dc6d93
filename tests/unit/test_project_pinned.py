"""Photographs and walks name rooms, walls and files that are there, or say what there is."""

from __future__ import annotations

from pathlib import Path

import pytest
from project_texts import HOME, write

from designkit import project
from designkit.project import Opened, ProjectErrors

PHOTO = '\n[photos.one]\nfile = "window.jpg"\nroom = "{room}"\nwall = {wall}\n'
WALK = '\n[walks.{id}]\nwalls = """{walls}"""\nspread = "pinned"\npinned = {pinned}\n'


def opened(folder: Path, more: str, *, file: bool = True) -> Opened:
    place = write(folder, HOME + more)
    (place / "site").mkdir(exist_ok=True)
    (place / "site" / "door.jpg").write_bytes(b"x")
    if file:
        (place / "site" / "window.jpg").write_bytes(b"x")
    return project.read(place)


def test_a_photograph_of_a_wall_that_is_there(tmp_path: Path) -> None:
    found = opened(tmp_path, PHOTO.format(room="living", wall=3))
    assert found.problems == ()
    assert found.project.home.photos["one"].wall == 3


@pytest.mark.parametrize(
    ("more", "path", "given", "allowed"),
    [
        (PHOTO.format(room="lvng", wall=0), "photos.one.room", "'lvng'", "the id of a room: "),
        (PHOTO.format(room="living", wall=4), "photos.one.wall", "4", "0 to 3, the walls of "),
        (PHOTO.format(room="living", wall=-1), "photos.one.wall", "-1", "0 to 3, the walls of "),
        (PHOTO.format(room="", wall=1), "photos.one.wall", "1", "a wall of a room that is named"),
        ('\n[photos.one]\nfile = "../away.jpg"\n', "photos.one.file", "", ""),
        ('\n[photos.one]\nfile = ""\n', "photos.one.file", "nothing", "a file in the project"),
    ],
)
def test_what_is_not_there_is_told_with_what_there_is(
    tmp_path: Path, more: str, path: str, given: str, allowed: str
) -> None:
    with pytest.raises(ProjectErrors, match="1 problem in the project") as caught:
        opened(tmp_path, more)
    (problem,) = caught.value.problems
    assert problem.path == path
    assert given in str(problem.given)
    assert problem.allowed.startswith(allowed)


def test_a_lost_photograph_does_not_shut_the_project(tmp_path: Path) -> None:
    found = opened(tmp_path, PHOTO.format(room="living", wall=0), file=False)
    (problem,) = found.problems
    assert (problem.path, problem.given) == ("photos.one.file", "'window.jpg'")
    assert problem.allowed == "a file in the project folder; site/ holds door.jpg"


def test_a_room_that_is_being_walked_may_have_photographs(tmp_path: Path) -> None:
    walk = WALK.format(id="study", walls="right 4 [socket at 1]\\nturn 45\\nup 3", pinned=0)
    found = opened(tmp_path, walk + PHOTO.format(room="study", wall=1))
    assert found.problems == ()
    # the walk may still get the wall: it is a remark, and nothing is shut
    found = opened(tmp_path, walk + PHOTO.format(room="study", wall=2))
    (problem,) = found.problems
    assert problem.allowed == "0 to 1, the walls of study"


def test_the_wall_that_takes_the_closing_error_is_there(tmp_path: Path) -> None:
    found = opened(tmp_path, WALK.format(id="study", walls="right 4\\nup 3", pinned=2))
    assert [(p.path, p.given) for p in found.problems] == [("walks.study.pinned", "2")]
    # a bracket that is still open: nobody can count yet
    found = opened(tmp_path, WALK.format(id="study", walls="right 4 [door", pinned=2))
    assert found.problems == ()
