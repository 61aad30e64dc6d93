"""The share of black as a page: other finishes, what meets what, two samples."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from lab_fixtures import Study

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")


def chosen(opened: Study, control: str, choice: str) -> None:
    before = opened.answered()
    opened.page.click(f"[data-control='{control}'] [data-choice='{choice}']")
    opened.settle(before)


def test_the_scheme_is_worked_on(study: Callable[..., Study]) -> None:
    opened = study("share-of-black")
    page = opened.page
    chosen(opened, "show", "meetings")
    assert "pairs of finishes meet" in opened.text(".dk-answer")
    opened.shot("meets")
    chosen(opened, "show", "samples")
    before = opened.answered()
    page.select_option("[data-control='two']", "rug_ivory")
    opened.settle(before)
    assert "ivory" in opened.text(".dk-answer")
    opened.shot("samples")
    chosen(opened, "show", "lamps")
    before = opened.answered()
    page.select_option("[data-control='one']", "chart: brown")
    opened.settle(before)
    before = opened.answered()
    page.select_option("[data-control='two']", "chart: red")
    opened.settle(before)
    opened.shot("under-lamps")
    chosen(opened, "show", "swaps")
    page.wait_for_selector(".dk-pick", timeout=30_000)  # worked out once the page rests
    opened.shot("other-finishes")
    first = opened.text(".dk-answer")
    page.locator(".dk-pick").first.click()
    page.wait_for_function(
        "t => document.querySelector('.dk-answer').innerText !== t", arg=first, timeout=20_000
    )
    page.click("[data-action='undo']")
    page.wait_for_function(
        "t => document.querySelector('.dk-answer').innerText === t", arg=first, timeout=20_000
    )
    chosen(opened, "show", "shares")
    page.evaluate("() => document.querySelectorAll('.dk-more').forEach(n => { n.open = true; })")
    chosen(opened, "lit", "yes")
    page.wait_for_function(
        "() => document.querySelector('.dk-tables').innerText.includes('lit, ')", timeout=30_000
    )
    opened.shot("as-lit")
    assert opened.errors == []
    assert opened.outside == []


def typed(opened: Study, control: str, text: str) -> None:
    before = opened.answered()
    field = opened.page.locator(
        f"[data-control='{control}'] input, input[data-control='{control}']"
    )
    field.first.fill(text)
    field.first.press("Enter")
    opened.settle(before)


def test_place_field_glass_and_dimmer(study: Callable[..., Study]) -> None:
    opened = study("share-of-black")
    page = opened.page
    page.evaluate("() => document.querySelectorAll('.dk-more').forEach(n => { n.open = true; })")
    typed(opened, "stand_x", "5 m")
    typed(opened, "stand_y", "3 m")
    page.wait_for_function(
        "() => document.querySelector('.dk-tables').innerText.includes('standing')"
    )
    chosen(opened, "field", "band")
    page.wait_for_function(
        "() => document.querySelector('.dk-tables').innerText.includes('40° band')"
    )
    chosen(opened, "lit", "yes")
    page.wait_for_function(
        "() => document.querySelector('.dk-tables').innerText.includes('lit, ')", timeout=30_000
    )
    before = opened.answered()
    page.select_option("[data-control='pane']", "double-bronze-6")
    opened.settle(before)
    page.evaluate("() => document.querySelectorAll('details').forEach(n => { n.open = true; })")
    page.wait_for_function("() => document.body.innerText.includes('tint: brown')", timeout=20_000)
    opened.shot("bronze-glass")
    typed(opened, "stand_x", "500 m")
    page.wait_for_function("() => document.body.innerText.includes('a point inside the rooms')")
    typed(opened, "stand_x", "")
    chosen(opened, "when", "night")
    page.wait_for_selector("[data-control='dim.sockets_1']", timeout=30_000)
    page.evaluate("() => document.querySelectorAll('.dk-more').forEach(n => { n.open = true; })")
    chosen(opened, "dim.sockets_1", "0")
    page.wait_for_function(
        "() => document.querySelector('.dk-tables').innerText.includes('in the evening')",
        timeout=30_000,
    )
    opened.shot("sockets-off")
    assert opened.errors == []
    assert opened.outside == []
