"""Each study in JupyterLab in Chromium: move each control, see the answer, keep a picture."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from lab_fixtures import Lab, Study

STUDIES = ["layout-options", "share-of-black", "light", "budget-scenarios"]

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")


def controls(study: Study) -> list[Any]:
    found = study.page.locator(".dk-page [data-control]")
    return [found.nth(i) for i in range(found.count())]


def move(study: Study, control: Any) -> None:
    """Move one control in the way a person does, whatever its kind."""
    kind = control.evaluate("n => n.getAttribute('role') || n.tagName.toLowerCase()")
    if kind == "slider":
        control.focus()
        at, top = control.get_attribute("aria-valuenow"), control.get_attribute("aria-valuemax")
        study.page.keyboard.press("ArrowLeft" if float(at) >= float(top) else "ArrowRight")
    elif kind == "radiogroup":
        words = control.locator("button")
        for i in range(words.count()):
            if words.nth(i).get_attribute("aria-checked") != "true":
                words.nth(i).click()
                return
    elif kind == "group":
        control.locator("input").first.click()
    elif kind == "select":
        values = control.evaluate("n => [...n.options].map(o => o.value)")
        now = control.input_value()
        control.select_option(next((v for v in values if v != now), now))
    elif kind == "input":
        control.fill(control.input_value() or "5")
        control.press("Tab")


@pytest.mark.parametrize("name", STUDIES)
def test_each_control_answers(study: Callable[..., Study], name: str) -> None:
    opened = study(name)
    page = opened.page
    opened.shot("start")
    page.evaluate("() => document.querySelectorAll('.dk-more').forEach(n => { n.open = true; })")
    ids = [c.get_attribute("data-control") for c in controls(opened)]
    assert len(ids) >= 5
    for id in ids:
        control = page.locator(f".dk-page [data-control='{id}']").first
        before = opened.answered()
        move(opened, control)
        page.wait_for_timeout(60)
        if page.evaluate("() => document.activeElement?.dataset?.control") == id and id.startswith(
            ("at_", "seed")
        ):
            continue  # a field that was left as it stood asks nothing
        if not (id.startswith("at_") or id == "seed"):
            opened.settle(before)
        assert page.locator(".dk-error").inner_text().strip() == "", id
        opened.shot(f"after-{id}")
    assert opened.errors == []
    assert opened.outside == []


def test_moving_the_sofa_changes_the_numbers(study: Callable[..., Study]) -> None:
    opened = study("layout-options")
    page = opened.page
    page.select_option(".dk-page [data-control='piece']", "sofa")
    page.wait_for_timeout(300)
    before_view = page.locator(".dk-brief").inner_text()
    slider = page.locator(".dk-page [data-control='turn']")
    for _ in range(8):
        before = opened.answered()
        slider.focus()
        page.keyboard.press("ArrowRight")
        opened.settle(before)
    after = page.locator(".dk-brief").inner_text()
    assert after != before_view
    assert re.search(r"\d+ % of it", after)
    opened.shot("sofa-turned")
    page.click("[data-action='undo']")
    page.wait_for_function(
        "t => document.querySelector('.dk-brief').innerText === t", arg=before_view, timeout=10_000
    )
    assert opened.errors == []


def test_wrong_words_get_a_sentence_beside_the_page(study: Callable[..., Study]) -> None:
    opened = study("layout-options")
    page = opened.page
    page.evaluate("() => document.querySelectorAll('.dk-more').forEach(n => { n.open = true; })")
    field = page.locator(".dk-page [data-control='at_x']")
    before = opened.answered()
    field.fill("somewhere")
    field.press("Tab")
    opened.settle(before)
    assert "to mend" in page.locator(".dk-error").inner_text()
    assert field.get_attribute("aria-invalid") == "true"
    assert page.locator(".dk-error").get_attribute("role") == "alert"
    opened.shot("wrong-words")
    field = page.locator(".dk-page [data-control='at_x']")
    before = opened.answered()
    field.fill("6 m")
    field.press("Tab")
    opened.settle(before)
    assert page.locator(".dk-error").inner_text().strip() == ""
    assert opened.errors == []


def test_two_notebooks_see_each_others_kept_changes(study: Callable[..., Study], lab: Lab) -> None:
    one, two = study("layout-options"), study("share-of-black")
    one.page.bring_to_front()
    one.page.select_option(".dk-page [data-control='piece']", "plant")
    one.page.wait_for_timeout(300)
    before = one.answered()
    one.page.locator(".dk-page [data-control='x']").focus()
    one.page.keyboard.press("ArrowLeft")
    one.settle(before)
    one.page.click("[data-action='keep']")
    one.page.wait_for_function(
        "() => document.querySelector('.dk-note').innerText.includes('kept')", timeout=10_000
    )
    two.page.bring_to_front()
    # The page looks once a second; the promise is two seconds.
    two.page.wait_for_function(
        "() => document.querySelector('.dk-note').innerText.includes('Another study')",
        timeout=6_000,
    )
    two.shot("sees-the-other")
    assert two.errors == []


def test_keyboard_reaches_every_control(study: Callable[..., Study]) -> None:
    opened = study("budget-scenarios")
    page = opened.page
    page.evaluate("() => document.querySelectorAll('.dk-more').forEach(n => { n.open = true; })")
    page.locator(".dk-page [data-control]").first.locator("button").first.focus()
    seen = set()
    for _ in range(100):
        id = page.evaluate(
            "() => document.activeElement?.closest('[data-control]')?.dataset.control ?? "
            "document.activeElement?.dataset?.action ?? ''"
        )
        seen.add(id)
        page.keyboard.press("Tab")
    wanted = {c.get_attribute("data-control") for c in controls(opened)} - {"seed"}
    assert wanted <= seen, wanted - seen
    assert "export" in seen


def test_dark_theme_keeps_the_drawing_on_paper(study: Callable[..., Study]) -> None:
    opened = study("layout-options")
    page = opened.page
    page.evaluate("() => { document.body.dataset.jpThemeLight = 'false'; }")
    paper = page.locator(".dk-paper").first.evaluate("n => getComputedStyle(n).backgroundColor")
    assert paper == "rgb(217, 215, 211)"
    opened.shot("dark")
