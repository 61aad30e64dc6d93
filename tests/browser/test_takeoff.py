"""Take-off in JupyterLab in Chromium: each kind shows its proof, a control changes the order."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from lab_fixtures import Study

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")

KINDS = [
    "drapery",
    "upholstery",
    "wallcovering",
    "paint",
    "rugs",
    "glass and stone",
    "canvas",
    "floor boxes",
    "ceilings",
]


def test_each_kind_shows_its_proof(study: Callable[..., Study]) -> None:
    opened = study("take-off")
    page = opened.page
    opened.shot("start")
    seen = set()
    for kind in KINDS[1:]:
        before = opened.answered()
        page.click(f".dk-page [data-control='kind'] [data-choice='{kind}']")
        opened.settle(before)
        page.wait_for_timeout(150)
        assert page.locator(".dk-error").inner_text().strip() == ""
        seen.add(page.locator(".dk-question").inner_text())
        opened.shot(kind.replace(" ", "-"))
    assert len(seen) == len(KINDS) - 1
    assert "A sample and its written result" in page.locator(".dk-answer").inner_text()
    before = opened.answered()
    page.click(".dk-page [data-control='kind'] [data-choice='paint']")
    opened.settle(before)
    answer = page.locator(".dk-answer").inner_text()
    slider = page.locator(".dk-page [data-control='coats']")
    before = opened.answered()
    slider.focus()
    page.keyboard.press("ArrowRight")
    opened.settle(before)
    page.wait_for_timeout(150)
    assert page.locator(".dk-answer").inner_text() != answer
    before = opened.answered()
    page.click(".dk-page [data-control='kind'] [data-choice='glass and stone']")
    opened.settle(before)
    keep = page.locator(".dk-page [data-action='keep']")
    assert keep.is_disabled()  # nothing is changed yet
    before = opened.answered()
    page.locator(".dk-page [data-control='radius']").focus()
    page.keyboard.press("ArrowRight")
    opened.settle(before)
    page.wait_for_timeout(150)
    assert keep.is_enabled()  # a top of the project is written into it
    opened.shot("a-top-changed")
    assert opened.errors == []
    assert opened.outside == []
