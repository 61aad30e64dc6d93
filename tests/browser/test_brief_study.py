"""The brief as a page: say who lives here, see at once what is met, print the sheet."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from lab_fixtures import Lab, Study

from designkit import project as files

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")


def field(study: Study, id: str, text: str) -> None:
    box = study.page.locator(f".dk-page [data-control='{id}']")
    before = study.answered()
    box.fill(text)
    box.press("Tab")
    study.settle(before)


def test_a_brief_is_taken_down_and_printed(study: Callable[..., Study], lab: Lab) -> None:
    folder = lab.folder / "harbour-flat"
    before = (folder / "project.toml").read_bytes()
    opened = study("brief")
    page = opened.page
    error = page.locator(".dk-error")
    opened.shot("start")
    assert "Who decides: the client, in writing" in opened.text(".dk-answer")
    assert "met: 4 seats every day" in opened.text(".dk-brief")
    field(opened, "seats", "9")
    assert "not met: 9 seats every day" in opened.text(".dk-brief")
    opened.shot("too-many-seats")
    field(opened, "seats", "nine")
    assert "a whole number" in error.inner_text()
    opened.shot("wrong-number")
    assert page.locator("[data-control='seats']").input_value() == "nine"  # as typed
    field(opened, "seats", "5")
    field(opened, "people", "adult, 44, 1.82 m\nadult, 68\nchild, 6\ntwo cats")
    assert error.inner_text().strip() == ""
    field(opened, "date", "2026-12-01")
    assert "too late" in opened.text(".dk-brief")
    at = opened.answered()
    page.locator("[data-control='works'] input").first.check()
    opened.settle(at)
    assert "to work by" in opened.text(".dk-brief")
    opened.shot("works-and-late")
    page.evaluate("() => document.querySelectorAll('.dk-more').forEach(n => { n.open = true; })")
    field(opened, "turning", "1.50 m")
    assert "a circle of 1.5 m to turn in" in opened.text(".dk-brief")
    opened.shot("all-open")
    at = opened.answered()
    page.locator("[data-choice='sheet']").click()
    opened.settle(at)
    opened.shot("the-sheet")
    page.click("[data-action='export']")
    page.wait_for_function("() => document.querySelector('.dk-note').innerText.includes('issued/')")
    page.click("[data-action='keep']")
    page.wait_for_function("() => document.querySelector('.dk-note').innerText.includes('kept')")
    kept = files.read(folder).project.home.brief
    assert (kept.seats, kept.people[0].height, kept.date) == (5, 1.82, "2026-12-01")
    (folder / "project.toml").write_bytes(before)
    assert opened.errors == []
    assert opened.outside == []


def test_on_a_phone(study: Callable[..., Study]) -> None:
    opened = study("brief", width=390, height=4200)
    opened.shot("phone")
    page = opened.page
    wide = page.evaluate("() => document.querySelector('.dk-page').scrollWidth")
    assert wide <= 390
