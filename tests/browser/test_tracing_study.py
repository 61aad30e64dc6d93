"""A builder's plan as a page: clicks give scale and corners, typed fields do the same."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from lab_fixtures import Lab, Study
from PIL import Image, ImageDraw

from designkit import project as files

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")

PER_METRE = 150  # pixels of a metre on the drawn plan
AT = (260, 180)  # upper left inner corner [pixels]
# an L-shaped room, 6.00 × 4.00 m less 2.40 × 1.60 m, in order round it [m, y down]
ROOM = ((0.0, 0.0), (6.0, 0.0), (6.0, 2.4), (3.6, 2.4), (3.6, 4.0), (0.0, 4.0))


def pixel(point: tuple[float, float]) -> tuple[float, float]:
    return AT[0] + point[0] * PER_METRE, AT[1] + point[1] * PER_METRE


def plan(path: Path) -> Path:
    image = Image.new("RGB", (1500, 1000), "white")
    draw = ImageDraw.Draw(image)
    inner = [pixel(p) for p in ROOM]
    draw.polygon(inner, outline="black", width=4)
    for a, b in zip(inner, [*inner[1:], inner[0]]):
        draw.line((*a, *b), fill="black", width=26)
    draw.polygon(inner, fill="white")
    draw.line((260, 110, 1160, 110), fill="black", width=2)
    draw.text((690, 85), "6.00", fill="black")
    draw.text((560, 420), "LIVING 20.2 m2", fill="black")
    image.save(path)
    return path


def click(study: Study, point: tuple[float, float], *, closes: bool = False) -> None:
    """Click a pixel of the sheet on the picture, as large as it is shown."""
    page = study.page
    picture = page.locator(".dk-paper svg image")
    box = picture.bounding_box()
    assert box is not None
    old = page.locator(".dk-paper").inner_html()
    page.mouse.click(
        box["x"] + point[0] / 1500 * box["width"], box["y"] + point[1] / 1000 * box["height"]
    )
    if closes:
        page.wait_for_function(
            "() => document.querySelector('.dk-note').innerText.includes('closed')"
        )
        return
    page.wait_for_function(
        "t => document.querySelector('.dk-paper').innerHTML !== t", arg=old, timeout=10_000
    )
    page.wait_for_timeout(150)  # as long as a hand takes at the least


def field(study: Study, id: str, text: str) -> None:
    box = study.page.locator(f".dk-page [data-control='{id}']")
    before = study.answered()
    box.fill(text)
    box.press("Tab")
    study.settle(before)


def test_a_room_is_traced_by_clicks(study: Callable[..., Study], lab: Lab, tmp_path: Path) -> None:
    folder = lab.folder / "harbour-flat"
    before = (folder / "project.toml").read_bytes()
    opened = study("from-a-plan")
    page = opened.page
    error = page.locator(".dk-error")
    opened.shot("start")
    bad = tmp_path / "no-page.pdf"
    bad.write_bytes(b"%PDF-1.4\nnothing")
    page.set_input_files("[data-control='file']", bad)
    page.wait_for_function(
        "() => document.querySelector('.dk-error').innerText.includes('no PDF that can be read')"
    )
    opened.shot("no-pdf")
    page.set_input_files("[data-control='file']", plan(tmp_path / "ground floor.png"))
    page.wait_for_selector(".dk-paper svg image")
    assert "Click one end of a dimension" in opened.text(".dk-point")
    # Nearer: a click gives the same pixel of the sheet, more finely.
    sheet = page.locator(".dk-paper")
    sheet.focus()
    page.keyboard.press("+")
    page.get_by_role("button", name="Closer").click()
    assert page.locator(".dk-page").get_attribute("data-zoom") == "4"
    page.evaluate("() => document.querySelector('.dk-paper').scrollTo(0, 0)")
    click(opened, pixel((0.0, 0.0)))
    opened.shot("closer")
    text = page.locator("[data-control='scale_points']").input_value()
    # The page counts a sheet of 1500 pixels in 1000.
    there = [float(n) * 1.5 for n in text.split(",")]
    assert there == pytest.approx(pixel((0.0, 0.0)), abs=0.75)
    page.get_by_role("button", name="Whole sheet").click()
    assert page.locator(".dk-page").get_attribute("data-zoom") == "1"
    click(opened, pixel((6.0, 0.0)))
    opened.shot("two-points")
    field(opened, "distance", "six")
    assert "distance of the two points" in error.inner_text()
    field(opened, "distance", "6.00 m")
    assert error.inner_text().strip() == ""
    assert "Click the corners" in opened.text(".dk-point")
    for point in ROOM:
        click(opened, pixel(point))
    opened.shot("corners")
    click(opened, pixel(ROOM[0]), closes=True)
    assert "20.2\u00a0m²" in opened.text(".dk-answer")
    click(opened, pixel((0.0, 0.0)))
    click(opened, pixel((0.0, 4.0)))
    field(opened, "check_distance", "4.00 m")
    assert "agrees within" in opened.text(".dk-findings")
    field(opened, "stated", "22.4 m²")
    assert "Which holds" in opened.text(".dk-findings")
    opened.shot("which-area")
    at = opened.answered()
    page.click("[data-choice='the outline']")
    opened.settle(at)
    field(opened, "name", "studio")
    opened.shot("ready")
    page.click("[data-action='room']")
    page.wait_for_function("() => document.querySelector('.dk-note').innerText.includes('kept')")
    opened.shot("kept")
    room = files.read(folder).project.home.rooms["studio"]
    assert room.known.source == "plan"
    xs, ys = zip(*room.outline)
    assert max(xs) - min(xs) == pytest.approx(6.0, abs=0.03)
    assert max(ys) - min(ys) == pytest.approx(4.0, abs=0.03)
    assert (folder / "plan" / "ground floor.png").is_file()
    (folder / "project.toml").write_bytes(before)
    assert opened.errors == []
    assert opened.outside == []


def test_typed_points_do_the_same(study: Callable[..., Study], tmp_path: Path) -> None:
    opened = study("from-a-plan")
    page = opened.page
    page.set_input_files("[data-control='file']", plan(tmp_path / "typed.png"))
    page.wait_for_selector(".dk-paper svg image")
    page.evaluate("() => document.querySelectorAll('.dk-more').forEach(n => { n.open = true; })")
    k = 1000 / 1500  # the page shows the sheet 1000 pixels wide

    def typed(points: tuple[tuple[float, float], ...], mark: str) -> str:
        return mark.join("{:.0f}, {:.0f}".format(*(n * k for n in pixel(p))) for p in points)

    field(opened, "scale_points", typed(ROOM[:2], "; "))
    field(opened, "distance", "6 m")
    field(opened, "corners", typed(ROOM, "\n"))
    assert "20.2\u00a0m²" in opened.text(".dk-answer")
    field(opened, "corners", "260, 180\n9000, 180")
    assert "the size of the picture" in page.locator(".dk-error").inner_text()
    opened.shot("typed")
    assert opened.errors == []
