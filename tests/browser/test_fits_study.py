"""On the spot as a page: a size, a price, a photograph; the answer on a telephone."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

import pytest
from lab_fixtures import Lab, Study
from PIL import Image, ImageDraw

from designkit import project as files

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")


def field(study: Study, id: str, text: str) -> None:
    box = study.page.locator(f".dk-page [data-control='{id}']")
    before = study.answered()
    box.fill(text)
    box.press("Tab")
    study.settle(before)


def picture(path: Path) -> Path:
    """A drawn sofa, as a photograph of 4 megapixels."""
    image = Image.new("RGB", (2400, 1700), (226, 222, 214))
    draw = ImageDraw.Draw(image)
    draw.rectangle((0, 1150, 2400, 1700), fill=(150, 128, 104))
    draw.rounded_rectangle((350, 620, 2050, 1050), 60, fill=(120, 126, 120))
    draw.rounded_rectangle((300, 850, 2100, 1250), 60, fill=(138, 144, 138))
    out = io.BytesIO()
    image.save(out, "JPEG")
    path.write_bytes(out.getvalue())
    return path


@pytest.mark.parametrize("width", [390, 1280])
def test_the_answer_on_the_spot(
    study: Callable[..., Study], lab: Lab, tmp_path: Path, width: int
) -> None:
    folder = lab.folder / "harbour-flat"
    before = {name: (folder / name).read_bytes() for name in ("project.toml", "costs.csv")}
    opened = study("on-the-spot", width=width, height=4200)
    page = opened.page
    error = page.locator(".dk-error")
    opened.shot(f"{width}-start")
    field(opened, "size", "95 x 220 x 80")
    assert "write the unit" in error.inner_text()
    assert page.locator("[data-control='size']").input_value() == "95 x 220 x 80"
    opened.shot(f"{width}-no-unit")
    field(opened, "size", "2.2 m x 95 x 80")
    assert "a unit on each" in error.inner_text()
    field(opened, "size", "80 × 95 × 220 cm")
    assert "say which is the depth" in error.inner_text()
    field(opened, "size", "95 × 220 × 80 cm")
    assert error.inner_text().strip() == ""
    assert opened.text(".dk-answer").startswith("Measure first: the height of its seat")
    opened.shot(f"{width}-measure-first")
    field(opened, "seat", "42 cm")
    assert opened.text(".dk-answer").startswith("Yes:")
    field(opened, "price", "9,900 €")
    assert "one reading" in error.inner_text()
    field(opened, "price", "9900 €")
    assert "over its line" in opened.text(".dk-answer")
    field(opened, "price", "1900")
    field(opened, "held", "tomorrow")
    assert "year-month-day" in error.inner_text()
    field(opened, "held", "2099-12-01")
    page.set_input_files("[data-control='photo']", picture(tmp_path / "sofa.jpg"))
    page.wait_for_function("() => document.querySelector('.dk-paper image') !== null")
    opened.shot(f"{width}-yes")
    wide = page.evaluate("() => document.querySelector('.dk-page').scrollWidth")
    assert wide <= width
    words = page.evaluate(
        "() => Math.min(...[...document.querySelectorAll('.dk-paper svg text')]"
        ".map(n => parseFloat(getComputedStyle(n).fontSize)"
        " * Math.hypot(n.getScreenCTM().a, n.getScreenCTM().b)))"
    )
    assert words > (7 if width == 390 else 9)  # px on the screen
    page.click("[data-action='candidate']")
    page.wait_for_function(
        "() => document.querySelector('.dk-note').innerText.includes('no total has changed')"
    )
    opened.shot(f"{width}-kept")
    kept = files.read(folder).project
    (piece,) = [p for p in kept.home.pieces.values() if p.held_until == "2099-12-01"]
    assert (piece.kind, piece.size, piece.seat_height) == ("sofa", (2.2, 0.95, 0.8), 0.42)
    assert (folder / piece.photo).is_file()
    field(opened, "size", "300 × 120 × 95 cm")
    assert opened.text(".dk-answer").startswith("No:")
    opened.shot(f"{width}-no")
    for name, data in before.items():
        (folder / name).write_bytes(data)
    page.wait_for_function(  # before anything looks at the page again
        "() => document.querySelector('.dk-note').innerText.includes('Another study')"
    )
    assert opened.errors == []
    assert opened.outside == []
