"""Nothing typed is lost: a kernel that dies without a goodbye, on each study with a draft."""

from __future__ import annotations

import asyncio
import itertools
import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from designkit import project as files
from designkit.errors import DesignkitError, FileFormatError, InputError
from designkit.model import Edit
from designkit.project.store import HIDDEN
from designkit.shipped import shipped
from designkit.studies import draft, prices_study
from designkit.studies.brief_study import ClientBrief
from designkit.studies.budget_study import BudgetScenarios
from designkit.studies.desk import Desk
from designkit.studies.draft import FOLDER, DraftFile
from designkit.studies.fits_study import OnTheSpot
from designkit.studies.layouts_study import LayoutOptions
from designkit.studies.page import Page
from designkit.studies.prices_study import PriceList
from designkit.studies.study import Study, path_words, value_words
from designkit.studies.working_plan_study import WorkingPlan

AT = "layouts.a.pieces.plant.at"
LIST = """Item;Qty;Unit price;Amount
Dining chair, ash;6;265,00;1590,00
Bench, oak;1;340,00;340,00
Total net;;;1930,00
Grand total;;;2316,00
"""


@pytest.fixture
def harbour(tmp_path: Path) -> Path:
    return Path(shutil.copytree(shipped("data") / "harbour-flat", tmp_path / "h"))


def draft_of(folder: Path, study: type[Study]) -> Path:
    return folder / HIDDEN / FOLDER / f"{study.draft}.json"


def words(shown: dict[str, Any]) -> dict[str, Any]:
    said = shown["said"]
    return dict(said() if callable(said) else said)


def opened(study: type[Study], folder: Path) -> tuple[Any, dict[str, Any]]:
    page: Any = study(Desk(folder))
    return page, page.show({}, None)


def typed(page: Any, **values: Any) -> dict[str, Any]:
    shown: dict[str, Any] = {}
    for id, value in values.items():
        shown = page.show({**page.values, id: value}, id)
    return shown


def plant(folder: Path) -> Any:
    return files.read(folder).project.home.layouts["a"].pieces["plant"]


def move(desk: Desk, to: list[str]) -> None:
    home = desk.home
    old = [f"{v:.2f} m" for v in home.layouts["a"].pieces["plant"].at]
    desk.do([Edit(path=AT, old=old, new=to)])


# --- the studies ------------------------------------------------------------------------


def test_moved_pieces_come_back_step_by_step(harbour: Path) -> None:
    page, _ = opened(LayoutOptions, harbour)
    was = page.desk.home.layouts["a"]
    typed(page, layout="a", piece="plant", x=6.9)
    typed(page, turn=30.0)
    now = page.desk.home.layouts["a"]
    assert now != was
    again, shown = opened(LayoutOptions, harbour)
    assert again.desk.home.layouts["a"] == now
    note = words(shown)["note"].replace("\xa0", " ")
    assert note.startswith("Brought back from ")
    assert note.endswith(": 2 changes that were not kept.")
    again.act("undo", {})
    again.act("undo", {})
    assert again.desk.home.layouts["a"] == was
    assert not draft_of(harbour, LayoutOptions).exists()


def test_keeping_takes_the_draft_away(harbour: Path) -> None:
    page, _ = opened(LayoutOptions, harbour)
    typed(page, layout="a", piece="plant", x=6.9)
    assert draft_of(harbour, LayoutOptions).is_file()
    page.act("keep", {})
    assert not draft_of(harbour, LayoutOptions).exists()
    _, shown = opened(LayoutOptions, harbour)
    assert "Brought back" not in words(shown)["note"]


def test_a_study_without_page_needs_only_the_name(harbour: Path) -> None:
    """The working plan is no Page: it never calls `show`, and still loses nothing."""

    class Plan(WorkingPlan):
        draft = "working-plan"

    one = Plan(Desk(harbour))
    one.hold("plant", (6.9, 0.6, 0.0))
    one.put_down()
    at = one.home.layouts["a"].pieces["plant"].at
    two = Plan(Desk(harbour))
    assert two.home.layouts["a"].pieces["plant"].at == at
    assert "1 change that was not kept" in two.note
    two.desk.keep()
    assert not draft_of(harbour, Plan).exists()


def test_a_tried_budget_comes_back(harbour: Path) -> None:
    class Budget(BudgetScenarios):
        draft = "budget-scenarios"

    page, _ = opened(Budget, harbour)
    typed(page, cap=41_000)
    again, _ = opened(Budget, harbour)
    assert again.values["cap"] == 41_000
    assert again.desk.home.brief.budget == 41_000


def test_a_candidate_comes_back_with_its_photograph(harbour: Path) -> None:
    from io import BytesIO

    from PIL import Image

    out = BytesIO()
    Image.new("RGB", (80, 60), (90, 110, 100)).save(out, "JPEG")
    page, _ = opened(OnTheSpot, harbour)
    typed(page, size="200 × 90 × 80 cm", price="1900", held="2026-12-01", seller="Supplier 2")
    page.act("file", {"name": "IMG_1.jpg", "data": out.getvalue()})
    again, shown = opened(OnTheSpot, harbour)
    assert again.values == page.values
    assert (again.photo, again.photo_name) == (page.photo, "IMG_1.jpg")
    assert words(shown)["answer"] == words(page.draw())["answer"]
    again.act("candidate", {})
    assert list((harbour / HIDDEN / FOLDER).iterdir()) == []
    third, _ = opened(OnTheSpot, harbour)
    assert third.values["size"] == ""


def test_a_size_that_cannot_be_read_comes_back_in_its_field(harbour: Path) -> None:
    page, _ = opened(OnTheSpot, harbour)
    with pytest.raises(DesignkitError, match="size"):
        typed(page, size="two by nine")
    again, shown = opened(OnTheSpot, harbour)
    assert shown["values"]["size"] == "two by nine"
    assert "two by nine" in words(shown)["answer"]
    assert words(typed(again, size="200 × 90 × 80 cm"))["answer"] != words(shown)["answer"]


def test_a_pasted_list_comes_back_with_columns_and_answers(harbour: Path) -> None:
    page, _ = opened(PriceList, harbour)
    typed(page, pasted=LIST)
    page.act("pick", {"table": "lines", "row": "2"})
    typed(page, q_total="1930.00", col_1="", supplier="Supplier 7")
    again, shown = opened(PriceList, harbour)
    now = page.draw()
    assert shown["values"] == now["values"]
    assert words(shown)["tables"] == words(now)["tables"]
    assert words(shown)["actions"] == words(now)["actions"]
    assert "Book 1 line" in str(words(shown)["actions"])
    again.act("book", {})
    assert not draft_of(harbour, PriceList).exists()


def test_a_line_more_in_a_pasted_list_keeps_what_was_answered(harbour: Path) -> None:
    page, _ = opened(PriceList, harbour)
    typed(page, pasted=LIST)
    typed(page, q_total="1930.00", col_1="")
    page.act("pick", {"table": "lines", "row": "2"})
    typed(page, pasted=LIST.replace("Total net", "Delivery;1;45,00;45,00\nTotal net"))
    assert (page.answers, page.left_out) == ({"total": "1930.00"}, {2})
    assert [line.item for line in page.found.goods][2:] == ["Delivery"]
    typed(page, pasted="what;price\nLamp;90,00")  # another list
    assert (page.answers, page.left_out) == ({}, set())


def test_a_chosen_file_is_written_once_and_comes_back(harbour: Path) -> None:
    page, _ = opened(PriceList, harbour)
    page.act("file", {"name": "offer.csv", "data": LIST.encode()})
    (copy,) = (harbour / HIDDEN / FOLDER).glob("price-list.file.*")
    assert copy.read_bytes() == LIST.encode()
    before = copy.stat().st_mtime_ns
    typed(page, q_total="1930.00")
    assert copy.stat().st_mtime_ns == before
    assert LIST[:20] not in draft_of(harbour, PriceList).read_text("utf-8")
    again, _ = opened(PriceList, harbour)
    assert again.source == ("offer.csv", LIST.encode())
    assert again.answers == {"total": "1930.00"}
    # pasted over: the copy goes with its use
    typed(again, pasted="Bench;1;340,00")
    assert not copy.exists()


def test_a_document_that_can_no_longer_be_read_is_told(
    harbour: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page, _ = opened(PriceList, harbour)
    typed(page, pasted=LIST, supplier="Supplier 7")

    def no(*_: object, **__: object) -> None:
        raise FileFormatError("pasted text", given="words", allowed="lines of a list")

    monkeypatch.setattr(prices_study, "propose_import", no)
    again, shown = opened(PriceList, harbour)
    assert shown["values"]["pasted"] == LIST
    assert again.found is None
    assert "pasted text = words; allowed: lines of a list." in words(shown)["note"]
    assert draft_of(harbour, PriceList).is_file()


def test_a_field_of_the_brief_that_is_refused_stays_as_typed(harbour: Path) -> None:
    page, _ = opened(ClientBrief, harbour)
    with pytest.raises(InputError, match="seats every day"):
        typed(page, seats="four or five")
    shown = typed(page, decides="the client's sister")  # another field is taken meanwhile
    assert shown["values"]["seats"] == "four or five"
    assert "four or five" in words(shown)["findings"]["rows"][0]["text"]
    again, shown = opened(ClientBrief, harbour)
    assert shown["values"]["seats"] == "four or five"
    assert again.desk.home.brief.decides == "the client's sister"
    assert "1 change that was not kept" in words(shown)["note"]
    typed(again, seats="5")
    assert again.desk.home.brief.seats == 5
    assert again.refused == {}


# --- the project changed meanwhile ------------------------------------------------------------


def test_a_change_that_no_longer_fits_is_told_in_words(harbour: Path) -> None:
    page, _ = opened(LayoutOptions, harbour)
    move(page.desk, ["6.90 m", "0.60 m"])
    typed(page, layout="a", piece="armchair_1", turn=45.0)
    other = Desk(harbour)
    move(other, ["3.00 m", "0.50 m"])
    other.keep()
    again, shown = opened(LayoutOptions, harbour)
    assert again.desk.home.layouts["a"].pieces["plant"].at == (3.0, 0.5)
    assert again.desk.home.layouts["a"].pieces["armchair_1"].rotation == 45.0
    note = words(shown)["note"]
    assert "1 change that was not kept" in note
    assert "Not brought back, as the project no longer takes it: layouts, " in note
    table = words(shown)["tables"][0]
    assert table["title"] == "Typed and not brought back"
    assert [row[1:] for row in table["rows"]] == [["6.90 m, 0.60 m", "3.00 m, 0.50 m"]]
    # it is there at the next reload too, until something is kept
    third, shown = opened(LayoutOptions, harbour)
    assert words(shown)["tables"][0] == table
    third.act("keep", {})
    assert not draft_of(harbour, LayoutOptions).exists()
    assert plant(harbour).at == (3.0, 0.5)


def test_while_it_is_open_the_same_is_said(harbour: Path) -> None:
    page, _ = opened(LayoutOptions, harbour)
    move(page.desk, ["6.90 m", "0.60 m"])
    other = Desk(harbour)
    move(other, ["3.00 m", "0.50 m"])
    other.keep()
    shown = page.act("look", {})
    assert words(shown)["tables"][0]["rows"][0][1:] == ["6.90 m, 0.60 m", "3.00 m, 0.50 m"]
    assert page.desk.home.layouts["a"].pieces["plant"].at == (3.0, 0.5)
    shown = page.act("keep", {})
    assert words(shown)["note"] == "What no longer fitted is let go; the project is as it was."
    assert words(shown)["tables"][0]["title"] != "Typed and not brought back"


def test_a_crash_between_keeping_and_dropping_brings_nothing_back_twice(harbour: Path) -> None:
    page, _ = opened(LayoutOptions, harbour)
    move(page.desk, ["6.90 m", "0.60 m"])
    move(page.desk, ["6.80 m", "0.60 m"])
    held = draft_of(harbour, LayoutOptions).read_bytes()
    page.act("keep", {})
    draft_of(harbour, LayoutOptions).write_bytes(held)
    again, shown = opened(LayoutOptions, harbour)
    assert again.desk.edits == []
    assert "Not brought back" not in words(shown)["note"]
    again.remember()
    assert not draft_of(harbour, LayoutOptions).exists()


# --- the desk -----------------------------------------------------------------------------------


def refused(desk: Desk) -> None:
    desk.do([Edit(path="brief.keeps.0", old="sideboard", new="nothing_there")])


def dragged(desk: Desk) -> None:
    desk.do([Edit(path="brief.seats", old=7, new="many")], merge=True)


@pytest.mark.parametrize("step", [refused, dragged])
def test_a_refused_step_leaves_the_desk_as_it_was(
    harbour: Path, step: Callable[[Desk], None]
) -> None:
    desk = Desk(harbour)
    desk.do([Edit(path="brief.seats", old=4, new=6)])
    desk.do([Edit(path="brief.seats", old=6, new=7)])
    desk.undo()
    desk.redo()
    desk.do([Edit(path="brief.decides", old=desk.home.brief.decides, new="the client")])
    desk.undo()
    before = desk.project, list(desk.edits), list(desk.undone)
    assert before[2]
    with pytest.raises(DesignkitError):
        step(desk)
    assert (desk.project, desk.edits, desk.undone) == before
    assert desk.redo()


def test_changes_are_told_by_the_names_of_things(harbour: Path) -> None:
    home = Desk(harbour).home
    assert path_words(AT, home) == f"layouts, {home.layouts['a'].name}, pieces, plant, at"
    assert path_words("rules.plan.route.main", home) == "rules, plan.route.main"
    assert path_words("costs.sofa_buy.likely", home) == "costs, sofa buy, likely"
    assert value_words({"at": ["1 m", "2 m"], "item": None}) == "at 1 m, 2 m, item nothing"


# --- when it is written ---------------------------------------------------------------------------


def test_nothing_typed_costs_no_write(harbour: Path) -> None:
    page, _ = opened(LayoutOptions, harbour)
    typed(page, layout="b", show=["zones"])
    page.act("look", {})
    page.act("undo", {})
    assert not (harbour / HIDDEN / FOLDER).exists()
    assert page._file.writes == 0
    was = page.desk.home.layouts["a"].pieces["plant"].at
    typed(page, layout="a", piece="plant", x=6.9)
    typed(page, x=was[0])  # back where it was: nothing to bring back
    assert page.desk.edits == []
    assert not draft_of(harbour, LayoutOptions).exists()


def test_a_burst_is_one_write_and_none_waits_for_the_picture(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Key presses of a running notebook: one write soon, then none nearer than 0.3 s, then all.

    The times of the writes are held against each other, not against a clock of
    the test: on a busy machine a burst lasts longer than it was meant to.
    """
    file = DraftFile(tmp_path, "my-room")
    put = [[Edit(path="name", old="a", new="b")]]
    times: list[float] = []
    whole = draft.write_whole

    def written(place: Path, data: bytes, *, forced: bool) -> None:
        times.append(file._last)  # when its writing began
        whole(place, data, forced=forced)

    monkeypatch.setattr(draft, "write_whole", written)

    async def type_on() -> None:
        for n in range(50):
            file.put(put, {"walk": f"right {n}"})
            assert file.writes == 0  # not before the loop has had its turn
        await asyncio.sleep(0.12)
        assert file.writes == 1
        for n in range(50):
            file.put(put, {"walk": f"up {n}"})
            await asyncio.sleep(0.001)
        await asyncio.sleep(0.35)  # whatever waits is due before this is over

    asyncio.run(type_on())
    assert 2 <= file.writes == len(times) <= 2 + (times[-1] - times[0]) / 0.3
    assert all(b - a > 0.299 for a, b in itertools.pairwise(times))
    found = DraftFile(tmp_path, "my-room").read()
    assert found is not None
    assert found.values == {"walk": "up 49"}


def test_what_waits_is_written_when_the_cell_runs_again(tmp_path: Path) -> None:
    async def twice() -> draft.Draft | None:
        DraftFile(tmp_path, "brief")
        one = DraftFile(tmp_path, "brief")
        one.put([], {"refused": {"seats": "some"}})
        assert one.writes == 0
        return DraftFile(tmp_path, "brief").read()

    found = asyncio.run(twice())
    assert found is not None
    assert found.values == {"refused": {"seats": "some"}}


def test_a_folder_that_takes_nothing_is_told_and_the_page_goes_on(
    harbour: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page, _ = opened(PriceList, harbour)

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(draft.os, "fsync", full)
    shown = typed(page, supplier="Supplier 7")
    assert "cannot be written to the project folder (No space left" in words(shown)["note"]
    shown = typed(page, pasted=LIST)
    assert len(words(shown)["tables"][0]["rows"]) == 2
    monkeypatch.undo()
    shown = typed(page, contractor="Contractor A")
    assert "cannot be written" not in words(shown)["note"]
    assert draft_of(harbour, PriceList).is_file()


def test_the_browser_is_told_what_is_on_the_disk(
    harbour: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Until then it holds what was typed itself."""
    study = PriceList(Desk(harbour))
    page = Page(study.show, study.act)
    assert page.draft == f"{harbour} price-list"

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    def ask(question: int, **values: str) -> None:
        page.values = {**page.values, **values}
        page.asked = question
        page._on_message(None, {"action": "look"}, [])

    ask(1, pasted=LIST)
    assert (page.answered, page.safe) == (1, 1)
    monkeypatch.setattr(draft.os, "fsync", full)
    ask(2, supplier="Supplier 7")
    assert (page.answered, page.safe) == (2, 1)
    monkeypatch.undo()
    ask(3, supplier="Supplier 8")
    assert (page.answered, page.safe) == (3, 3)


def test_the_first_version_of_a_draft_is_read_and_replaced(harbour: Path) -> None:
    old = harbour / HIDDEN / "my-room.json"
    old.parent.mkdir(exist_ok=True)
    edit = {"path": "brief.seats", "old": 4, "new": 6}
    old.write_text(
        json.dumps({"written": "1 Nov 2026, 09:30", "edits": [edit], "values": {"part": "walls"}}),
        "utf-8",
    )
    file = DraftFile(harbour, "my-room")
    found = file.read()
    assert found is not None
    assert found.written == "1 Nov 2026, 09:30"
    assert found.steps == ((Edit(path="brief.seats", old=4, new=6),),)
    file.put(found.steps, {"part": "photos"})
    assert not old.exists()
    assert (harbour / HIDDEN / FOLDER / "my-room.json").is_file()
    file.put([], {})
    assert DraftFile(harbour, "my-room").read() is None
