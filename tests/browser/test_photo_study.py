"""From a photograph, and swatches: files and clicks in the page."""

from __future__ import annotations

import io
from collections.abc import Callable

import numpy as np
import pytest
from lab_fixtures import Study
from PIL import Image

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")


def room(light: float = 0.5) -> bytes:
    """A room of our own: wall, floor, a black thing; a fold of light across the wall."""
    high, wide = 600, 900
    linear = np.empty((high, wide, 3))
    fall = np.linspace(1.0, 0.75, wide)[None, :, None]
    linear[:400] = 0.82 * fall[:, :, :]
    linear[400:] = np.array([0.34, 0.22, 0.12])
    linear[250:480, 120:420] = 0.03
    linear[330:520, 600:760] = 0.22
    value = np.clip(linear * light, 0, 1)
    srgb = np.where(value <= 0.0031308, 12.92 * value, 1.055 * value ** (1 / 2.4) - 0.055)
    file = io.BytesIO()
    Image.fromarray(np.round(255 * srgb).astype(np.uint8)).save(file, "JPEG", quality=92)
    return file.getvalue()


def given(opened: Study, name: str, data: bytes) -> None:
    before = opened.text(".dk-note")
    opened.page.set_input_files(
        "[data-control='photo']", files=[{"name": name, "mimeType": "image/jpeg", "buffer": data}]
    )
    opened.page.wait_for_function(
        "t => document.querySelector('.dk-note').innerText !== t"
        " || document.querySelector('.dk-error').innerText !== ''",
        arg=before,
        timeout=20_000,
    )


def click(opened: Study, x: float, y: float) -> None:
    """A click at a share of the paper's width and height."""
    svg = opened.page.locator(".dk-paper svg")
    box = svg.bounding_box()
    assert box is not None
    answer = opened.text(".dk-answer") + opened.text(".dk-point")
    svg.click(position={"x": x * box["width"], "y": y * box["height"]})
    opened.page.wait_for_function(
        "t => document.querySelector('.dk-answer').innerText"
        " + document.querySelector('.dk-point').innerText !== t",
        arg=answer,
        timeout=20_000,
    )


def test_bars_from_a_photograph(study: Callable[..., Study]) -> None:
    opened = study("photograph-values")
    assert "a drawn view of the room" in opened.text(".dk-answer")
    opened.shot("start")
    given(opened, "room.jpg", room())
    opened.shot("exposed-as-it-is")
    assert "No white was clicked" in opened.text(".dk-findings")
    click(opened, 0.05, 0.1)
    assert opened.page.locator("[data-control='white']").input_value() != ""
    opened.shot("white-clicked")
    given(opened, "broken.jpg", room()[:400])
    assert "damaged picture" in opened.text(".dk-error")
    opened.shot("broken-file")
    assert opened.errors == []
    assert opened.outside == []


def test_a_swatch_from_a_photograph(study: Callable[..., Study]) -> None:
    opened = study("swatches")
    opened.shot("ladder")
    before = opened.answered()
    opened.page.click("[data-control='way'] [data-choice='photo']")
    opened.settle(before)
    given(opened, "cutting.jpg", room())
    k = 150.0 / 900 / 250.0
    click(opened, 680 * k, 430 / 600 * 100 / 101)
    click(opened, 60 * k, 120 / 600 * 100 / 101)
    opened.shot("read")
    assert "verdicts" in opened.text(".dk-answer")
    opened.page.click("[data-action='use']")
    opened.page.wait_for_function(
        "() => document.querySelector('.dk-note').innerText.includes('has the value')"
    )
    assert opened.errors == []
    assert opened.outside == []
