"""Bars of value from a photograph, and the page on which they stand."""

from __future__ import annotations

import io
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from test_glossary import labels_of, names_of, plain, unknown

from designkit.errors import FileFormatError, InputError
from designkit.figures.check import faults
from designkit.figures.photo_bars import photo_figure, photo_place, point_in_photo
from designkit.figures.sheet import TitleBlock
from designkit.palette.colour import linear_to_rgb
from designkit.palette.photo_values import photo_values
from designkit.palette.swatches import read_photo
from designkit.studies.desk import Desk
from designkit.studies.photo_study import STAND_IN, PhotographValues, spot_of

DATA = Path(__file__).parents[2] / "data"
BLOCK = TitleBlock(project="A flat", title="From a photograph", number="D-307")


def encoded(image: Image.Image, kind: str = "PNG", **more: Any) -> bytes:
    file = io.BytesIO()
    image.save(file, kind, **more)
    return file.getvalue()


def fields(*, light: float = 1.0, high: int = 200, wide: int = 300) -> np.ndarray:
    """A fifth black, two fifths mid, two fifths white paper; linear reflectances."""
    linear = np.empty((high, wide, 3))
    linear[:, : wide // 5] = 0.03
    linear[:, wide // 5 : 3 * wide // 5] = 0.25
    linear[:, 3 * wide // 5 :] = 0.85
    return np.round(255 * linear_to_rgb(np.clip(linear * light, 0, 1))).astype(np.uint8)


@pytest.mark.parametrize("light", [0.35, 0.6, 1.0])
def test_a_click_on_white_takes_out_exposure(light: float) -> None:
    photo = read_photo(encoded(Image.fromarray(fields(light=light))))
    found = photo_values(photo, white=(250, 100))
    assert found.shares["dark"] == pytest.approx(0.2)
    assert found.shares["black"] == pytest.approx(0.2)
    assert found.shares["mid"] == pytest.approx(0.4)
    assert found.shares["light"] == pytest.approx(0.4)
    assert sum(found.histogram) == pytest.approx(1.0)
    for name in ("dark", "mid", "light"):
        assert found.low[name] <= found.shares[name] <= found.high[name]


def test_without_a_click_the_exposure_counts_and_it_says_so() -> None:
    dim = photo_values(read_photo(encoded(Image.fromarray(fields(light=0.3)))))
    assert dim.shares["light"] == 0.0
    assert "no white was clicked" in dim.warnings[0]
    bright = photo_values(read_photo(encoded(Image.fromarray(fields(light=0.3)))), exposure=1.5)
    assert bright.shares["light"] == pytest.approx(0.4)


def test_a_verdict_that_turns_within_its_range_says_so() -> None:
    # Half of it just under the limit of light: a third of a stop lifts it over.
    linear = np.full((100, 200, 3), 0.37)
    linear[:, :80] = 0.03
    pixels = np.round(255 * linear_to_rgb(linear)).astype(np.uint8)
    found = photo_values(read_photo(encoded(Image.fromarray(pixels))))
    assert found.called == "mostly mid"
    assert not found.sure
    assert "Within its ± it may be mostly light" in found.answer
    plain_one = photo_values(read_photo(encoded(Image.new("RGB", (60, 40), (20, 20, 20)))))
    assert plain_one.sure
    assert plain_one.called == "mostly dark"


def test_what_has_no_value_left_is_told() -> None:
    pixels = np.full((100, 100, 3), 120, dtype=np.uint8)
    pixels[:30], pixels[70:] = 255, 0
    found = photo_values(read_photo(encoded(Image.fromarray(pixels))))
    assert found.burnt == pytest.approx(0.3)
    assert found.blocked == pytest.approx(0.3)
    assert len([w for w in found.warnings if "burnt out" in w or "blocked up" in w]) == 2


def test_clicks_and_numbers_that_cannot_be() -> None:
    photo = read_photo(encoded(Image.fromarray(fields())))
    with pytest.raises(InputError, match="inside 300 × 200 pixels"):
        photo_values(photo, white=(400, 10))
    with pytest.raises(InputError, match="something black"):
        photo_values(read_photo(encoded(Image.fromarray(fields(light=0.2)))), white=(20, 50))
    with pytest.raises(InputError, match="burnt out in 100 %"):
        photo_values(read_photo(encoded(Image.fromarray(fields(light=1.4)))), white=(250, 100))
    with pytest.raises(InputError, match="stops"):
        photo_values(photo, exposure=9)
    with pytest.raises(InputError, match="LRV of the white"):
        photo_values(photo, white_lrv=2)
    with pytest.raises(InputError, match="column, row in pixels"):
        spot_of("here", what="white")


def test_a_large_picture_and_a_turned_one() -> None:
    """Exif orientation 6: the camera lay on its side; the share and the click stand upright."""
    image = Image.fromarray(fields(high=1500, wide=2200))
    exif = image.getexif()
    exif[0x0112] = 6
    photo = read_photo(encoded(image.rotate(90, expand=True), "JPEG", quality=95, exif=exif))
    assert photo.size == (2200, 1500)
    found = photo_values(photo, white=(2000, 700))
    assert found.lightness.size <= 62_000
    assert found.shares["dark"] == pytest.approx(0.2, abs=0.01)


@pytest.mark.parametrize("size", [(1, 1), (3000, 2), (2, 900)])
def test_pictures_of_odd_sizes(size: tuple[int, int]) -> None:
    found = photo_values(read_photo(encoded(Image.new("L", size, 128))))
    assert sum(found.shares[k] for k in ("dark", "mid", "light")) == pytest.approx(1.0)
    assert faults(photo_figure(found, page=True)) == []


@pytest.mark.parametrize("turn", [0, 90])
def test_the_figure_can_be_read_and_pointed_at(turn: int) -> None:
    image = Image.fromarray(fields()).rotate(turn, expand=True)
    found = photo_values(read_photo(encoded(image), name="room.png"), white=(10, 10))
    page = photo_figure(found, name="room.png", page=True)
    assert [str(f) for f in faults(page)] == []
    assert [str(f) for f in faults(photo_figure(found, block=BLOCK))] == []
    left, top, wide = photo_place(found)
    assert point_in_photo(found, x=left + 0.01, y=top + 0.01) == pytest.approx((0, 0), abs=0.1)
    across = point_in_photo(found, x=left + wide / 2, y=top + 5)
    assert across is not None
    assert across[0] == pytest.approx(image.width / 2, rel=0.01)
    assert point_in_photo(found, x=left + wide + 1, y=top + 5) is None


@pytest.fixture
def study(tmp_path: Path) -> PhotographValues:
    folder = tmp_path / "flat"
    shutil.copytree(DATA / "harbour-flat", folder)
    return PhotographValues(Desk(folder))


def test_the_page_shows_a_drawn_view_first(study: PhotographValues) -> None:
    shown = study.show({}, None)
    assert shown["said"]["answer"].startswith(f"This is {STAND_IN}.")
    assert shown["picture"].startswith("<svg")
    assert unknown(labels_of(shown), {plain(t) for t in names_of(study.desk.project)}) == []


def test_a_photograph_is_taken_in_and_clicked(study: PhotographValues) -> None:
    study.show({}, None)
    data = encoded(Image.fromarray(fields(light=0.5)), "JPEG", quality=95)
    shown = study.act("file", {"control": "photo", "name": "room.jpg", "data": data})
    assert shown is not None
    assert shown["said"]["note"] == "room.jpg: 300 × 200 pixels, upright."
    assert study.found is not None
    left, top, wide = photo_place(study.found)
    shown = study.act("point", {"x": left + 0.8 * wide, "y": top + 20})
    assert shown is not None
    column, _ = spot_of(shown["values"]["white"], what="white") or (0, 0)
    assert column == pytest.approx(240, abs=1)
    assert study.found.shares["light"] == pytest.approx(0.4, abs=0.01)
    before = study.values["white"]
    dim = encoded(Image.fromarray(fields(light=0.2)))
    study.act("file", {"control": "photo", "name": "dim.png", "data": dim})
    with pytest.raises(InputError, match="something black"):
        study.act("point", {"x": left + 0.05 * wide, "y": top + 20})
    assert study.values["white"] == ""
    assert before != ""
    study.act("point", {"x": 240.0, "y": 1.0})
    assert "not on the photograph" in study.note
    study.act("export", {})
    assert list(study.desk.folder.glob("issued/*/photograph-values.pdf"))


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (encoded(Image.new("CMYK", (30, 30)), "JPEG"), "CMYK"),
        (encoded(Image.new("I;16", (30, 30)), "PNG"), "16 bits"),
        (encoded(Image.new("RGB", (90, 90)), "PNG")[:60], "damaged picture"),
        (b"no picture at all", "not a picture"),
    ],
)
def test_pictures_that_cannot_be_used_are_sentences(
    study: PhotographValues, data: bytes, words: str
) -> None:
    study.show({}, None)
    before = study.photo
    with pytest.raises(FileFormatError, match=words):
        study.act("file", {"control": "photo", "name": "x.png", "data": data})
    assert study.photo is before
