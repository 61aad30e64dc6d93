"""The working plan: a step until its findings are painted, in Chromium, and Python's part of it."""

from __future__ import annotations

import math
import shutil
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from designkit.studies.desk import Desk
from designkit.studies.working_plan_study import WorkingPlan

pytestmark = [
    pytest.mark.bench,
    pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning"),
]
ROOT = Path(__file__).parents[2]
DEMOS = sorted((ROOT / "data").iterdir())
GOAL = "p50 30, p95 60 ms"
PIECE = "armchair_1"
# Painted is when the frame that holds the findings has been made. A key's time begins
# at the key; a drag's at the question for the place whose findings are painted.
WATCH = """() => {
  window.dkTimes = []; window.dkKey = null; window.dkAsked = new Map();
  const root = document.querySelector('.dk-board');
  root.addEventListener('dk-asked', (e) => {
    if (e.detail.do === 'move') window.dkAsked.set(e.detail.n, window.dkKey ?? performance.now());
    window.dkKey = null;
  });
  root.addEventListener('dk-drawn', (e) => {
    if (e.detail.what !== 'live') return;
    const start = window.dkAsked.get(e.detail.n);
    if (start === undefined) return;
    window.dkAsked.delete(e.detail.n);
    requestAnimationFrame(() => {
      const c = new MessageChannel();
      c.port1.onmessage = () => window.dkTimes.push(performance.now() - start);
      c.port2.postMessage(0);
    });
  });
  document.addEventListener('keydown', () => { window.dkKey = performance.now(); }, true);
}"""


@pytest.mark.parametrize("demo", DEMOS, ids=lambda d: d.name)
def test_python_part(demo: Path, report: Callable[..., None], tmp_path: Path) -> None:
    folder = shutil.copytree(demo, tmp_path / demo.name)
    plan = WorkingPlan(Desk(folder))
    plan.settle()
    list(plan.answer([{"n": 1, "do": "piece", "id": PIECE}]))
    x, y, turn = plan.pose(PIECE)
    first, whole = [], []
    for n in range(2, 102):
        at = {"x": x + 0.01 * math.sin(n), "y": y + 0.002 * n, "turn": turn}
        start = time.process_time()
        answers = plan.answer([{"n": n, "do": "move", "id": PIECE, **at}])
        assert "live" in next(answers)
        first.append(time.process_time() - start)
        assert "ways" in next(answers)
        whole.append(time.process_time() - start)
        assert not list(answers)  # makes ready for the next step
    report(f"working plan, {demo.name}: Python, a step to its findings (CPU)", first)
    report(f"working plan, {demo.name}: Python, with the lines of routes (CPU)", whole)


def test_keys(study: Callable[..., Any], report: Callable[..., None]) -> None:
    opened = study("working-plan", height=1000)
    page = opened.page
    page.locator(f".dk-hit[data-thing='{PIECE}']").focus()
    page.wait_for_timeout(1500)
    page.evaluate(WATCH)
    for i in range(100):
        page.keyboard.press("ArrowLeft" if i % 2 else "ArrowRight")
        page.wait_for_timeout(150)  # a person who presses a key again and again
    page.wait_for_timeout(500)
    times = page.evaluate("() => window.dkTimes")
    assert len(times) >= 90
    report("working plan: key to findings painted", [t / 1000 for t in times], goal=GOAL)


def test_drag(study: Callable[..., Any], report: Callable[..., None]) -> None:
    opened = study("working-plan", height=1000)
    page = opened.page
    box = page.locator(f".dk-hit[data-thing='{PIECE}']").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.evaluate(WATCH)
    page.mouse.move(x, y)
    page.mouse.down()
    moves = 240
    for i in range(moves):
        page.mouse.move(x + 40 * math.sin(i / 20), y + 15 * math.sin(i / 13))
        page.wait_for_timeout(14)
    page.mouse.up()
    page.wait_for_timeout(500)
    times = page.evaluate("() => window.dkTimes")
    assert len(times) >= moves / 8
    report(
        f"working plan: drag to findings painted ({len(times)} answers to {moves} moves)",
        [t / 1000 for t in times],
        goal=GOAL,
    )
