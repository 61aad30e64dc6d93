"""The deepened budget page in Chromium: each picture, one control each."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from lab_fixtures import Study

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")

MOVED = {
    "chance": "together",
    "best set": "weight",
    "one more step": "step",
    "week by week": "deposit",
    "candidates": "price",
}


def test_each_picture_answers_its_control(study: Callable[..., Study]) -> None:
    opened = study("budget-scenarios")
    page = opened.page
    for picture, control in MOVED.items():
        before = opened.answered()
        page.click(f".dk-page [data-control='picture'] [data-choice='{picture}']")
        opened.settle(before)
        page.evaluate("() => document.querySelectorAll('.dk-more').forEach(n => n.open = true)")
        slider = page.locator(f".dk-page [data-control='{control}']")
        before = opened.answered()
        slider.focus()
        page.keyboard.press("ArrowLeft")
        opened.settle(before)
        page.wait_for_timeout(120)
        assert page.locator(".dk-error").inner_text().strip() == "", picture
        opened.shot(picture.replace(" ", "-"))
    assert opened.errors == []
    assert opened.outside == []
