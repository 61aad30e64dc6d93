"""The page "learn" in JupyterLab in Chromium: choose, search, pick, and look at the drawing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from lab_fixtures import Study

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")


def asked(opened: Study, do: Callable[[], Any]) -> None:
    before = opened.answered()
    do()
    opened.settle(before)


def test_a_student_asks_where_a_number_comes_from(study: Callable[..., Study]) -> None:
    opened = study("learn", height=1500)
    page = opened.page
    assert "900 mm" in opened.text(".dk-answer").replace("\u00a0", " ")
    opened.shot("start")
    for subject in ("light", "colour", "black", "cost", "take-off", "time", "all"):
        asked(opened, page.locator(f"[data-choice='{subject}']").click)
        assert page.locator(".dk-table tbody tr").count() > 8, subject
    asked(opened, page.locator("[data-choice='ft']").click)
    field = page.locator("[data-control='words']")
    field.fill("pendant table")
    asked(opened, lambda: field.press("Tab"))
    assert "2'-6\"" in page.locator(".dk-table").inner_text()
    opened.shot("search")
    page.click("[data-row='light.pendant.high']")
    page.wait_for_function(
        "() => document.querySelector('.dk-answer').innerText.includes(\"3'-0\")"
    )
    bold = page.locator(".dk-paper svg text[font-weight='600']").all_text_contents()
    assert "3'-0\"" in bold
    opened.shot("picked")
    field.fill("zebra")
    asked(opened, lambda: field.press("Tab"))
    assert page.locator(".dk-table").count() == 0
    assert "Use fewer words" in opened.text(".dk-note")
    opened.shot("nothing-found")
    drawings = page.locator("[data-control='lesson'] option").evaluate_all(
        "all => all.map(o => o.value).filter(Boolean)"
    )
    assert len(drawings) >= 8
    for drawing in drawings:
        if page.locator("[data-control='lesson']").input_value() != drawing:
            asked(opened, lambda d=drawing: page.select_option("[data-control='lesson']", d))
        assert page.locator(".dk-paper svg text").count() > 4
        opened.shot(f"drawing-{drawing}")
    assert opened.errors == []
    assert opened.outside == []
