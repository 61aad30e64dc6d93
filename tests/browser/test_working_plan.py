"""The working plan in JupyterLab in Chromium: by mouse, by touch, by keys, by its controls."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from accessibility import accessibility_faults
from lab_fixtures import Lab, Study, open_study

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")
NAME = "working-plan"
# What a checker of accessibility asks first: everything that takes focus has a role and a name.
UNNAMED = """() => {
  const root = document.querySelector('.dk-board');
  const by = (id) => document.getElementById(id)?.textContent ?? '';
  const text = (ids) => ids.split(' ').map(by).join('');
  const found = [];
  for (const n of root.querySelectorAll('button, input, select, summary, [tabindex], [role]')) {
    const role = n.getAttribute('role') ?? n.tagName.toLowerCase();
    if (['alert', 'img', 'status'].includes(role)) continue;
    const name = n.getAttribute('aria-label')
      || text(n.getAttribute('aria-labelledby') ?? '') || n.textContent.trim()
      || n.closest('label')?.textContent.trim();
    if (!name) found.push(n.outerHTML.slice(0, 120));
  }
  const ids = [...root.querySelectorAll('[id]')].map((n) => n.id);
  found.push(...ids.filter((id, i) => ids.indexOf(id) !== i).map((id) => `twice: ${id}`));
  for (const n of root.querySelectorAll('[aria-labelledby], [aria-describedby]')) {
    for (const a of ['aria-labelledby', 'aria-describedby']) {
      for (const id of (n.getAttribute(a) ?? '').split(' ').filter(Boolean)) {
        if (!document.getElementById(id)) found.push(`no #${id}`);
      }
    }
  }
  return found;
}"""
POSE = """(id) => {
  const hit = document.querySelector(`.dk-hit[data-thing="${id}"]`);
  const [, x, y, turn] = /translate\\(([-\\d.e]+) ([-\\d.e]+)\\) rotate\\(([-\\d.e]+)\\)/
    .exec(hit.getAttribute('transform')).map(Number);
  return [x, y, turn];
}"""
MM = 20.0  # paper millimetres to the metre at 1:50


def quiet(study: Study) -> None:
    """Wait until everything is answered and every piece is put down."""
    study.page.wait_for_timeout(50)
    study.page.wait_for_function(
        "() => document.querySelector('.dk-board').dataset.waits === '0'", timeout=30_000
    )


def rested(study: Study) -> None:
    study.page.wait_for_timeout(750)  # a piece moved by keys is put down after a while
    quiet(study)


def pose(study: Study, id: str) -> list[float]:
    """Where a piece is drawn: x and y on paper with y down [mm], turn clockwise [°]."""
    found: list[float] = study.page.evaluate(POSE, id)
    return found


def place(study: Study, id: str) -> tuple[float, float]:
    """Middle of a piece on the screen; the sheet is brought there first."""
    return tuple(  # type: ignore[return-value]
        study.page.evaluate(
            """([x, y]) => {
              document.querySelector('.dk-plan').scrollIntoView({ block: 'nearest' });
              const p = new DOMPoint(x, y)
                .matrixTransform(document.querySelector('.dk-plan').getScreenCTM());
              return [p.x, p.y];
            }""",
            pose(study, id)[:2],
        )
    )


def px(study: Study) -> float:
    """Screen pixels to the metre."""
    k: float = study.page.evaluate("() => document.querySelector('.dk-plan').getScreenCTM().a")
    return k * MM


def piece(study: Study, id: str) -> Any:
    return study.page.locator(f".dk-hit[data-thing='{id}']")


def choose(study: Study, id: str) -> None:
    study.page.select_option(".dk-board [data-control='piece']", id)
    quiet(study)


def act(study: Study, id: str) -> None:
    study.page.click(f".dk-board [data-action='{id}']")
    quiet(study)


def word(study: Study, control: str, choice: str) -> None:
    study.page.click(f".dk-board [data-control='{control}'] [data-choice='{choice}']")
    quiet(study)


def drag(study: Study, id: str, east: float, north: float, *, let_go: bool = True) -> None:
    """Drag a piece by metres of the plan."""
    x, y = place(study, id)
    k = px(study)
    mouse = study.page.mouse
    mouse.move(x, y)
    mouse.down()
    for i in range(1, 11):
        mouse.move(x + east * k * i / 10, y - north * k * i / 10)
    if let_go:
        mouse.up()
        quiet(study)


def error(study: Study) -> str:
    return study.text(".dk-error").strip()


@pytest.fixture(scope="module")
def shared(browser: object, lab: Lab) -> Iterator[Study]:
    """One open plan for the tests that keep nothing."""
    found = open_study(browser, lab, NAME, height=3000)
    yield found
    found.page.close()


@pytest.fixture
def opened(shared: Study) -> Iterator[Study]:
    shared.errors.clear()
    assert shared.page.locator("[data-action='undo']").is_disabled()
    yield shared
    while not shared.page.locator("[data-action='undo']").is_disabled():
        act(shared, "undo")


def test_by_keys(opened: Study) -> None:
    page = opened.page
    opened.shot("start")
    assert page.evaluate(UNNAMED) == []
    sheet = page.locator(".dk-sheet")
    assert sheet.get_attribute("role") == "application"
    assert "Arrow keys" in page.locator(f"#{sheet.get_attribute('aria-describedby')}").inner_text()

    # Tab goes from piece to piece in the order one reads a plan.
    hits = page.locator(".dk-hit")
    assert hits.count() >= 13
    hits.first.focus()
    seen = []
    for _ in range(hits.count()):
        seen.append(page.evaluate("() => document.activeElement.dataset.thing"))
        label = page.evaluate("() => document.activeElement.getAttribute('aria-label')")
        assert re.search(r"\d+.× \d+|Ø", label), label
        assert " in the " in label, label
        assert " wall" in label, label
        page.keyboard.press("Tab")
    assert len({*seen}) == hits.count()
    quiet(opened)

    # Arrows, with Shift, with Alt. A wall does not stop it, and the findings say so.
    armchair = piece(opened, "armchair_1")
    armchair.focus()
    quiet(opened)
    assert armchair.get_attribute("aria-pressed") == "true"
    opened.shot("chosen-by-tab")
    x, y, turn = pose(opened, "armchair_1")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowUp")
    assert pose(opened, "armchair_1") == pytest.approx([x - 0.01 * MM, y - 0.01 * MM, turn])
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Shift+ArrowDown")
    assert pose(opened, "armchair_1") == pytest.approx([x + 0.09 * MM, y + 0.09 * MM, turn])
    page.keyboard.press("Alt+ArrowLeft")
    assert pose(opened, "armchair_1")[2] == pytest.approx(turn - 15)
    rested(opened)
    assert "old armchair 1" in page.locator(".dk-spoken").text_content()
    assert page.locator(".dk-spoken").get_attribute("aria-live") == "polite"
    assert page.locator("[data-control='turn']").input_value() == "95"
    assert page.evaluate("() => document.activeElement.dataset.thing") == "armchair_1"
    opened.shot("moved-by-keys")
    page.keyboard.press("Control+z")
    quiet(opened)
    assert pose(opened, "armchair_1") == pytest.approx([x, y, turn], abs=1e-3)
    page.keyboard.press("Control+y")
    quiet(opened)
    assert pose(opened, "armchair_1")[2] == pytest.approx(turn - 15)
    page.keyboard.press("Control+z")
    quiet(opened)

    # Lock it: keys say why they do nothing.
    act(opened, "lock")
    assert "locked" in armchair.get_attribute("aria-label")
    armchair.focus()
    page.keyboard.press("ArrowLeft")
    assert "Press Unlock first" in error(opened)
    assert pose(opened, "armchair_1") == pytest.approx([x, y, turn], abs=1e-3)
    opened.shot("locked")
    act(opened, "lock")
    assert "locked" not in armchair.get_attribute("aria-label")

    # Zoom by keys and by words.
    armchair.focus()
    page.keyboard.press("+")
    assert page.locator(".dk-board").get_attribute("data-zoom") == "1.5"
    word(opened, "zoom", "3")
    opened.shot("zoom-3")
    armchair.focus()
    page.keyboard.press("0")
    assert page.locator(".dk-board").get_attribute("data-zoom") == "1"
    assert opened.errors == []
    assert opened.outside == []


def test_by_mouse(opened: Study) -> None:
    page = opened.page
    # In the same frame: the piece is there before Python can have answered.
    start = pose(opened, "side_table")
    drag(opened, "side_table", -0.8, -0.6, let_go=False)
    here = pose(opened, "side_table")
    assert here[0] < start[0] - 0.7 * MM
    page.mouse.up()
    quiet(opened)
    assert error(opened) == ""
    opened.shot("dragged")
    assert page.locator(".dk-spoken").text_content().startswith("side table")

    # To a wall: the plant is taken near it and stands against it.
    choose(opened, "plant")
    gaps = re.findall(r"([\d\s]+)mm to the wall on the right", opened.text(".dk-line"))
    right = int(re.sub(r"\s", "", gaps[0])) / 1000
    drag(opened, "plant", right - 0.03, 0.0)
    assert "touches the wall on the right" in opened.text(".dk-line")
    page.keyboard.press("Control+z")
    quiet(opened)
    # Held off with Ctrl it stays 30 mm before it; and off by its control.
    page.keyboard.down("Control")
    drag(opened, "plant", right - 0.03, 0.0)
    page.keyboard.up("Control")
    assert re.search(r"\b(29|30|31).mm to the wall on the right", opened.text(".dk-line"))
    page.keyboard.press("Control+z")
    quiet(opened)
    for name in ("walls", "lines"):
        page.click(f"[data-control='snap'] input[value='{name}']")
        quiet(opened)
    drag(opened, "plant", right - 0.03, 0.0)
    assert re.search(r"\b(29|30|31).mm to the wall on the right", opened.text(".dk-line"))
    act(opened, "undo")
    for name in ("walls", "lines"):
        page.click(f"[data-control='snap'] input[value='{name}']")
        quiet(opened)

    # In line with another piece: a line is drawn and said.
    a, b = pose(opened, "low_table"), pose(opened, "side_table")
    drag(opened, "side_table", 0.0, (b[1] - a[1]) / MM + 0.004, let_go=False)
    page.wait_for_timeout(200)
    assert page.locator(".dk-align").count() >= 1
    assert "In line with" in opened.text(".dk-line")
    assert pose(opened, "side_table")[1] == pytest.approx(a[1], abs=1e-3)
    opened.shot("in-line")
    page.keyboard.press("Escape")  # goes back
    quiet(opened)
    page.mouse.up()
    assert pose(opened, "side_table") == pytest.approx(b, abs=1e-3)
    assert page.locator(".dk-align").count() == 0

    # The handle turns it to 15°.
    choose(opened, "armchair_2")
    knob = page.locator(".dk-knob").bounding_box()
    x, y = knob["x"] + knob["width"] / 2, knob["y"] + knob["height"] / 2
    cx, cy = place(opened, "armchair_2")
    page.mouse.move(x, y)
    page.mouse.down()
    for i in range(1, 8):
        page.mouse.move(x + (cx + 60 - x) * i / 7, y + (cy - 61 - y) * i / 7)
    page.mouse.up()
    quiet(opened)
    # From the middle to the upper right the front faces 135° from below.
    assert page.locator("[data-control='turn']").input_value() == "135"
    opened.shot("turned-by-handle")
    assert opened.errors == []


def test_where_it_cannot_stand(opened: Study) -> None:
    page = opened.page
    # Onto another piece, through the wall into the next room, and off the plan.
    start = pose(opened, "armchair_2")
    drag(opened, "armchair_2", -0.8, 1.9)
    assert "Sofa and old armchair overlap" in opened.text(".dk-findings")
    opened.shot("onto-another")
    act(opened, "undo")
    drag(opened, "armchair_2", 0.0, 3.5)
    opened.shot("through-a-wall")
    act(opened, "undo")
    drag(opened, "armchair_2", 6.0, -0.5)
    assert re.search(r"Armchair.*outside|outside", opened.text(".dk-findings"), re.I)
    opened.shot("outside")
    act(opened, "undo")
    assert pose(opened, "armchair_2") == pytest.approx(start, abs=1e-3)
    # A locked piece stays under the mouse.
    choose(opened, "armchair_2")
    act(opened, "lock")
    drag(opened, "armchair_2", -0.5, 0.0)
    assert "Press Unlock first" in error(opened)
    assert pose(opened, "armchair_2") == pytest.approx(start, abs=1e-3)
    act(opened, "lock")
    # Words that are no length.
    field = page.locator("[data-control='along']")
    field.fill("somewhere")
    field.press("Tab")
    quiet(opened)
    assert "to mend" in error(opened)
    assert field.get_attribute("aria-invalid") == "true"
    opened.shot("wrong-words")
    field.fill("6.1 m")
    field.press("Tab")
    quiet(opened)
    assert error(opened) == ""
    assert opened.errors == []


def taped(study: Study) -> list[str]:
    rows = study.page.locator(".dk-tapes li span").all_inner_texts()
    return [row.replace("\u00a0", " ") for row in rows]


def test_tape(opened: Study) -> None:
    page = opened.page
    # By keys alone: M, Tab to a piece, Enter, to the next one, Enter.
    piece(opened, "bookcase").focus()
    quiet(opened)
    page.keyboard.press("m")
    assert "Measure from" in page.locator("[role='status']").inner_text()
    opened.shot("measure-from")
    page.keyboard.press("Enter")
    assert "Measure from the bookcase to" in page.locator("[role='status']").inner_text()
    piece(opened, "dining_table").focus()
    page.keyboard.press("Enter")
    quiet(opened)
    (first,) = taped(opened)
    assert first.startswith("Bookcase to dining table: ")
    assert page.locator("[role='status']").inner_text() == ""
    # It is read out, and drawn: the same figure on the plan.
    assert page.locator(".dk-spoken").text_content().replace("\u00a0", " ") == first
    figure = int(re.sub(r"\D", "", first.split(": ")[1].split("mm")[0]))
    drawn = page.locator(".dk-layer-tapes text")
    assert drawn.text_content().startswith(f"{figure} (")
    # It stays and follows while a piece is pushed.
    piece(opened, "bookcase").focus()
    page.keyboard.press("Shift+ArrowRight")
    quiet(opened)
    assert taped(opened)[0].startswith("Bookcase to dining table: ")
    assert taped(opened)[0] != first
    assert drawn.text_content().startswith(f"{figure + 100} (")
    rested(opened)
    # By the mouse: a piece, and the window; Escape gives up.
    page.click("[data-action='point']")
    before = pose(opened, "low_table")
    page.mouse.click(*place(opened, "low_table"))
    page.keyboard.press("Escape")
    assert page.locator("[role='status']").inner_text() == ""
    # A place on the line of the window, which lies along the lower wall.
    choose(opened, "low_table")
    px_, py_ = pose(opened, "low_table")[:2]
    x_, y_ = (
        float(page.locator(f"[data-control='{key}']").input_value().removesuffix(" m"))
        for key in ("along", "up")
    )
    page.click("[data-action='point']")
    page.mouse.click(*place(opened, "low_table"))
    ground = page.evaluate(
        """([x, y]) => {
          const p = new DOMPoint(x, y)
            .matrixTransform(document.querySelector('.dk-plan').getScreenCTM());
          return [p.x, p.y];
        }""",
        [px_ + (4.0 - x_) * MM, py_ + y_ * MM],
    )
    page.mouse.click(*ground)
    quiet(opened)
    assert taped(opened)[1].startswith("Low table to harbour window: ")
    assert pose(opened, "low_table") == pytest.approx(before)  # pointing moves nothing
    # By the controls: two walls.
    page.select_option("[data-control='tape_a']", "wall:living.5")
    quiet(opened)
    page.select_option("[data-control='tape_b']", "piece:sofa")
    quiet(opened)
    act(opened, "tape")
    assert taped(opened)[2].startswith("Left wall of the living")
    opened.shot("three-measures")
    # What cannot be: one thing twice.
    page.select_option("[data-control='tape_a']", "piece:sofa")
    quiet(opened)
    act(opened, "tape")
    assert "two things" in error(opened)
    opened.shot("one-thing-twice")
    for _ in range(3):
        page.locator(".dk-tapes button").first.click()
        quiet(opened)
    assert taped(opened) == []
    assert page.locator(".dk-layer-tapes").inner_html() == ""
    assert opened.errors == []


def test_axe_finds_nothing(opened: Study) -> None:
    """axe-core (WCAG 2.2 A and AA, and its best practices) in several states of the page."""
    pytest.importorskip("axe_playwright_python")
    page = opened.page
    assert accessibility_faults(page) == []
    act(opened, "turn")
    piece(opened, "plant").focus()
    page.keyboard.press("m")
    page.select_option("[data-control='tape_b']", "point:")
    quiet(opened)
    act(opened, "tape")  # no point is typed: an error stands on the page
    word(opened, "compare", "began")
    page.select_option("[data-control='tape_b']", "wall:hall.0")
    quiet(opened)
    act(opened, "tape")
    page.click(".dk-working summary")
    assert page.locator(".dk-tables h2").count() == 1
    assert accessibility_faults(page) == []
    page.click(".dk-working summary")
    page.locator(".dk-tapes button").first.click()
    word(opened, "compare", "")
    page.locator(".dk-hit").first.focus()
    page.keyboard.press("Escape")


def test_by_touch(study: Callable[..., Study]) -> None:
    opened = study(NAME, height=3000, width=900)
    page = opened.page
    cdp = page.context.new_cdp_session(page)
    cdp.send("Emulation.setTouchEmulationEnabled", {"enabled": True, "maxTouchPoints": 2})

    def touch(kind: str, *points: tuple[float, float]) -> None:
        found = [{"x": x, "y": y, "id": i} for i, (x, y) in enumerate(points)]
        cdp.send("Input.dispatchTouchEvent", {"type": f"touch{kind}", "touchPoints": found})

    start = pose(opened, "low_table")
    x, y = place(opened, "low_table")
    k = px(opened)
    touch("Start", (x, y))
    for i in range(1, 9):
        touch("Move", (x - 0.5 * k * i / 8, y))
    touch("End")
    quiet(opened)
    assert pose(opened, "low_table")[0] == pytest.approx(start[0] - 0.5 * MM, abs=0.15 * MM)
    opened.shot("touched")
    # Two fingers zoom and move no piece.
    before = pose(opened, "low_table")
    x, y = place(opened, "low_table")
    touch("Start", (x - 20, y))
    touch("Start", (x - 20, y), (x + 20, y))
    for i in range(1, 9):
        touch("Move", (x - 20 - 5 * i, y), (x + 20 + 5 * i, y))
    touch("End")
    quiet(opened)
    assert 2.0 < float(page.locator(".dk-board").get_attribute("data-zoom")) <= 4.0
    assert pose(opened, "low_table") == pytest.approx(before, abs=1e-3)
    opened.shot("pinched")
    # What is chosen stays as it is; a finger on the floor moves the sheet.
    box = page.locator(".dk-plan").bounding_box()
    view = page.locator(".dk-plan").get_attribute("viewBox")
    touch("Start", (box["x"] + 5, box["y"] + 200))
    touch("Move", (box["x"] + 60, box["y"] + 240))
    touch("End")
    assert page.locator(".dk-plan").get_attribute("viewBox") != view
    assert opened.errors == []


def test_options(study: Callable[..., Study], lab: Lab) -> None:
    opened = study(NAME, height=3000)
    page = opened.page
    # Two pieces change places, and back.
    choose(opened, "sideboard")
    a, b = pose(opened, "sideboard"), pose(opened, "bookcase")
    page.select_option("[data-control='other']", "bookcase")
    quiet(opened)
    act(opened, "swap")
    assert "have changed places" in page.locator(".dk-spoken").text_content()
    assert pose(opened, "sideboard")[2] == pytest.approx(b[2])
    assert pose(opened, "bookcase")[2] == pytest.approx(a[2])
    opened.shot("swapped")
    act(opened, "undo")
    assert pose(opened, "sideboard") == pytest.approx(a, abs=1e-3)
    act(opened, "redo")
    # Held against itself as it began: grey and dashed, and in numbers.
    word(opened, "compare", "began")
    assert page.locator("[data-about^='elsewhere']").count() >= 2
    assert "What differs" in opened.text(".dk-tables")
    assert "old sideboard" in opened.text(".dk-tables")
    opened.shot("held-against-began")
    word(opened, "compare", "b")
    opened.shot("held-against-b")
    word(opened, "compare", "")
    assert page.locator(".dk-tables h2").count() == 0
    # What is shown or hidden.
    choose(opened, "sofa")
    ways = page.locator(".dk-layer-ways")
    for name in ("routes", "sight"):
        page.click(f"[data-control='show'] input[value='{name}']")
        quiet(opened)
    assert ways.inner_html() == ""
    page.click("[data-control='show'] input[value='cone']")
    quiet(opened)
    assert page.locator("[data-about='cone of vision']").count() == 1
    opened.shot("cone-of-vision")
    page.click("[data-control='show'] input[value='routes']")
    quiet(opened)
    assert page.locator("[data-about='cone of vision']").count() == 1
    # Keep what is drawn as an option: the one it came from stays as it was.
    act(opened, "option")
    assert "Option D is in the project" in opened.text(".dk-note >> nth=1")
    kept = tomllib.loads((lab.folder / "harbour-flat" / "project.toml").read_text("utf-8"))
    assert (
        kept["layouts"]["a"]["pieces"]["sideboard"] != kept["layouts"]["d"]["pieces"]["sideboard"]
    )
    word(opened, "compare", "a")
    opened.shot("kept-as-option")
    assert page.evaluate(UNNAMED) == []
    assert opened.errors == []
    assert opened.outside == []


def test_start_from_a_proposal(study: Callable[..., Study]) -> None:
    opened = study(NAME, height=3000)
    page = opened.page
    options = page.locator("[data-control='layout'] button").count()
    start = pose(opened, "sofa")
    act(opened, "propose")
    page.wait_for_function(
        "n => document.querySelectorAll('[data-control=layout] button').length > n",
        arg=options,
        timeout=30_000,
    )
    assert "Not kept yet" in opened.text(".dk-note >> nth=1")
    moved = [id for id in ("sofa", "dining_table", "low_table") if pose(opened, id) != start]
    assert moved
    opened.shot("proposal")
    before = pose(opened, "low_table")
    drag(opened, "low_table", 0.3, 0.3)
    assert error(opened) == ""
    assert pose(opened, "low_table") != before
    assert "changes are not kept yet" in opened.text(".dk-kept")  # proposals and a move
    opened.shot("proposal-moved")
    assert opened.errors == []


def test_two_notebooks_and_the_file(study: Callable[..., Study], lab: Lab) -> None:
    one, two = study(NAME, height=3000), study("layout-options", height=1500)
    one.page.bring_to_front()
    start = pose(one, "plant")
    piece(one, "plant").focus()
    one.page.keyboard.press("Shift+ArrowLeft")
    rested(one)
    act(one, "keep")
    assert "last kept" in one.text(".dk-note >> nth=1")
    two.page.bring_to_front()
    two.page.wait_for_function(
        "() => document.querySelector('.dk-note').innerText.includes('Another study')",
        timeout=6_000,
    )
    # The other way, while this page has a change of its own that is not kept.
    two.page.select_option(".dk-page [data-control='piece']", "plant")
    two.page.wait_for_timeout(400)
    before = two.answered()
    two.page.locator(".dk-page [data-control='x']").focus()
    two.page.keyboard.press("ArrowLeft")
    two.settle(before)
    two.page.click("[data-action='keep']")
    two.page.wait_for_timeout(500)
    one.page.bring_to_front()
    one.page.wait_for_function(
        "() => [...document.querySelectorAll('.dk-board .dk-note')]"
        ".some((n) => n.innerText.includes('Another study'))",
        timeout=6_000,
    )
    assert pose(one, "plant")[0] == pytest.approx(start[0] - 0.11 * MM, abs=1e-3)
    one.shot("sees-the-other")

    # The file is changed on disk in the same place as an edit here that is not kept.
    file = lab.folder / "harbour-flat" / "project.toml"
    piece(one, "side_table").focus()
    one.page.keyboard.press("Shift+ArrowLeft")
    rested(one)
    text = file.read_text("utf-8")
    section = (
        text.index("[layouts.a.pieces.side_table]")
        if ("[layouts.a.pieces.side_table]" in text)
        else text.index("side_table = ", text.index("[layouts.a.pieces"))
    )
    head, tail = text[:section], text[section:]
    file.write_text(head + re.sub(r"at = \[[^\]]*\]", 'at = ["5.05 m", "1.9 m"]', tail, count=1))
    one.page.wait_for_function(
        "() => [...document.querySelectorAll('.dk-board .dk-note')]"
        ".some((n) => n.innerText.includes('changed the same things'))",
        timeout=6_000,
    )
    choose(one, "side_table")
    assert one.page.locator("[data-control='along']").input_value() == "5.05 m"
    one.shot("changed-on-disk")
    # A file that cannot be read is said, and the plan stays.
    good = file.read_text("utf-8")
    file.write_text(good + "\n[broken\n")
    one.page.wait_for_function(
        "() => document.querySelector('.dk-board .dk-error').innerText.length > 0", timeout=6_000
    )
    one.shot("file-broken")
    assert pose(one, "side_table")
    file.write_text(good)
    one.page.wait_for_timeout(2500)
    assert error(one) == ""
    assert one.errors == []
    assert two.errors == []


def test_kernel_restarted(study: Callable[..., Study], lab: Lab) -> None:
    opened = study(NAME, height=3000)
    page = opened.page
    piece(opened, "hall_bench").focus()
    page.keyboard.press("Shift+ArrowLeft")
    rested(opened)
    act(opened, "keep")
    file = lab.folder / "harbour-flat" / "project.toml"
    written = file.read_text("utf-8")
    piece(opened, "hall_bench").focus()
    page.keyboard.press("Shift+ArrowLeft")
    rested(opened)
    moved = pose(opened, "hall_bench")
    page.wait_for_timeout(500)  # what is not kept is remembered
    page.click('.lm-MenuBar-itemLabel:text-is("Kernel")')
    page.click('.lm-Menu-itemLabel:text-is("Restart Kernel…")')
    page.click('.jp-Dialog-button:has-text("Restart")')
    page.wait_for_timeout(2500)
    piece(opened, "hall_bench").focus()
    page.keyboard.press("ArrowLeft")
    page.wait_for_function(
        "() => document.querySelector('.dk-board .dk-error').innerText.includes('Run All')",
        timeout=15_000,
    )
    opened.shot("kernel-restarted")
    page.click('.lm-MenuBar-itemLabel:text-is("Run")')
    page.click('.lm-Menu-itemLabel:text-is("Run All Cells")')
    page.wait_for_function(
        "() => document.querySelector('.dk-board .dk-error')?.innerText === ''", timeout=60_000
    )
    page.wait_for_timeout(500)
    assert file.read_text("utf-8") == written
    assert pose(opened, "hall_bench") == pytest.approx(moved, abs=1e-3)
    assert opened.text(".dk-note").startswith("1 change is not kept yet.")
