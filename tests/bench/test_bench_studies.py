"""Key press to new picture in each notebook, in Chromium."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

pytestmark = [
    pytest.mark.bench,
    pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning"),
]
CONTROLS = {
    "layout-options": "x",
    "share-of-black": "black",
    "light": "dim",
    "budget-scenarios": "price",
    "take-off": "fullness",
}
WATCH = """() => {
  window.dkTimes = []; window.dkStart = null;
  const root = document.querySelector('.dk-page');
  root.addEventListener('dk-drawn', () => requestAnimationFrame(() => {
    const c = new MessageChannel();
    c.port1.onmessage = () => {
      if (window.dkStart !== null) {
        window.dkTimes.push(performance.now() - window.dkStart); window.dkStart = null;
      }
    };
    c.port2.postMessage(0);
  }));
  document.addEventListener('keydown', () => { window.dkStart = performance.now(); }, true);
}"""


@pytest.mark.parametrize("name", list(CONTROLS))
def test_key_press_to_picture(
    study: Callable[..., Any], report: Callable[..., None], name: str
) -> None:
    opened = study(name, height=1000)  # a laptop's window
    page = opened.page
    page.evaluate("() => document.querySelectorAll('.dk-more').forEach(n => { n.open = true; })")
    if name == "layout-options":
        page.select_option(".dk-page [data-control='piece']", "low_table")
        page.wait_for_timeout(500)
    control = page.locator(f".dk-page [data-control='{CONTROLS[name]}']")
    control.focus()
    page.evaluate(WATCH)
    key = "ArrowLeft"
    for _ in range(60):  # one way to the end, then back: no step is seen twice in a row
        now, low, high = (
            float(control.get_attribute(f"aria-value{end}") or 0) for end in ("now", "min", "max")
        )
        key = "ArrowRight" if now <= low else "ArrowLeft" if now >= high else key
        before = opened.answered()
        page.keyboard.press(key)
        opened.settle(before)
        page.wait_for_timeout(40)
    times = page.evaluate("() => window.dkTimes")
    assert len(times) >= 40
    report(f"{name}: key press to picture", [t / 1000 for t in times], goal="p50 60, p95 120 ms")
