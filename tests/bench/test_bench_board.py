"""The working plan: a step until its findings are painted, in Chromium, and Python's part of it."""

from __future__ import annotations

import math
import shutil
import statistics
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
# A step begins at its own event: the key, or the move of the mouse whose place is asked
# about. It ends when the frame that holds its findings has been made. A move that gave
# way to a later one counts until the findings of that one: "every move".
WATCH = """() => {
  window.dkSteps = []; window.dkNull = []; window.dkMoves = [];
  let event = null;
  const asked = new Map(), root = document.querySelector('.dk-board');
  const painted = (then) => requestAnimationFrame(() => {
    const c = new MessageChannel();
    c.port1.onmessage = () => then(performance.now());
    c.port2.postMessage(0);
  });
  root.addEventListener('dk-asked', (e) => {
    const what = e.detail.do;
    if (what === 'move') asked.set(e.detail.n, event ?? performance.now());
    if (what !== 'look') return;
    // A look changes nothing: there and back, and the next frame.
    const start = performance.now(), n = e.detail.n;
    const back = new MutationObserver(() => {
      if (Number(root.dataset.answered) < n) return;
      back.disconnect();
      painted((now) => window.dkNull.push(now - start));
    });
    back.observe(root, { attributeFilter: ['data-answered'] });
  });
  root.addEventListener('dk-drawn', (e) => {
    const start = asked.get(e.detail.n);
    if (e.detail.what !== 'live' || start === undefined) return;
    const gone = [...asked].filter(([n]) => n <= e.detail.n);
    gone.forEach(([n]) => asked.delete(n));
    painted((now) => {
      window.dkSteps.push(now - start);
      gone.forEach(([, t]) => window.dkMoves.push(now - t));
    });
  });
  const take = (e) => { event = e.timeStamp; };
  const begins = ['keydown', 'pointermove', 'pointerrawupdate'];
  begins.forEach((name) => addEventListener(name, take, true));
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


def _watched(study: Callable[..., Any]) -> Any:
    page = study("working-plan", height=1000).page
    page.locator(f".dk-hit[data-thing='{PIECE}']").focus()
    page.wait_for_timeout(1500)
    page.evaluate(WATCH)
    page.wait_for_timeout(12_000)  # it looks at its files once a second
    return page


def _null(page: Any, report: Callable[..., None], what: str) -> float:
    """Page to kernel and back, and a frame, in the same run."""
    times = [t / 1000 for t in page.evaluate("() => window.dkNull")]
    report(f"working plan: there and back and a frame, before {what}", times)
    return statistics.median(times)


def _said(page: Any, report: Callable[..., None], what: str, null: float, *, goal: str) -> None:
    times = [t / 1000 for t in page.evaluate("() => window.dkSteps")]
    multiple = statistics.median(times) / null
    report(f"working plan: {what} to findings painted, {multiple:.1f} × null", times, goal=goal)


def test_keys(study: Callable[..., Any], report: Callable[..., None]) -> None:
    page = _watched(study)
    null = _null(page, report, "keys")
    for i in range(100):
        page.keyboard.press("ArrowLeft" if i % 2 else "ArrowRight")
        page.wait_for_timeout(150)  # a person who presses a key again and again
    page.wait_for_timeout(500)
    assert len(page.evaluate("() => window.dkSteps")) >= 90
    _said(page, report, "key", null, goal=GOAL)


def test_drag(study: Callable[..., Any], report: Callable[..., None]) -> None:
    page = _watched(study)
    null = _null(page, report, "a drag")
    box = page.locator(f".dk-hit[data-thing='{PIECE}']").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    moves = 240
    for i in range(moves):
        page.mouse.move(x + 40 * math.sin(i / 20), y + 15 * math.sin(i / 13))
        page.wait_for_timeout(14)
    page.mouse.up()
    page.wait_for_timeout(500)
    answers = len(page.evaluate("() => window.dkSteps"))
    assert answers >= moves / 8
    _said(page, report, f"drag ({answers} answers to {moves} moves)", null, goal=GOAL)
    every = [t / 1000 for t in page.evaluate("() => window.dkMoves")]
    report("working plan: every move of a drag to findings of it or a later one", every)
