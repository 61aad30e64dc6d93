"""Tracing a plan: sheets, scale, right-angle help, stated areas."""

from __future__ import annotations

import io
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from test_importing import pdf

from designkit.errors import FileFormatError, InputError
from designkit.plan.outline import room_polygon
from designkit.plan.tracing import (
    check_area,
    check_scale,
    open_sheet,
    room_from,
    scale_between,
    scale_of_print,
    settle_area,
    trace,
)

CM = scale_between((0, 0), (400, 0), distance="4.00 m")  # 10 mm a pixel
L_ROOM = [(0, 660), (760, 660), (760, 240), (340, 240), (340, 0), (0, 0)]


def test_scale_from_two_points() -> None:
    assert CM.metres == pytest.approx(0.01)
    feet = scale_between((0, 0), (0, 300), distance="10 ft")
    assert feet.metres == pytest.approx(3.048 / 300)
    # two clicks, each ± 1.5 pixels, over 300
    assert feet.within == pytest.approx(math.sqrt(2) * 1.5 / 300)
    for bad, message in [((5, 5), "20 or more"), ((math.nan, 1), "x and y in pixels")]:
        with pytest.raises(InputError, match=message):
            scale_between((0, 0), bad, distance=4)
    with pytest.raises(InputError, match=r"0.05 to 200 m"):
        scale_between((0, 0), (400, 0), distance="4000 m")


def test_a_second_dimension_checks_the_scale() -> None:
    good, _ = check_scale(CM, (0, 0), (0, 301), distance="3.00 m")
    assert good
    bad, sentence = check_scale(CM, (0, 0), (0, 330), distance="3.00 m")
    assert not bad
    assert "stretched" in sentence


def test_right_angle_help() -> None:
    wobbly = [(x + dx, y + dy) for (x, y), (dx, dy) in zip(
        L_ROOM, [(2, -1), (-1, 2), (1, 1), (-2, -1), (2, 1), (-1, 0)])]  # fmt: skip
    room = trace(wobbly, scale=CM)
    assert all(room.snapped)
    for (x, y), (x2, y2) in zip(room.outline, [*room.outline[1:], room.outline[0]]):
        assert x == x2 or y == y2
    assert room.area == pytest.approx(40.08, abs=0.4)
    assert 0 < room.moved < 0.05
    plain = trace(wobbly, scale=CM, square=False)
    assert plain.moved == 0
    assert not any(plain.snapped)


@given(angle=st.floats(-40, 40), x=st.floats(0, 2000), y=st.floats(0, 2000))
def test_a_plan_that_lies_askew_is_levelled(angle: float, x: float, y: float) -> None:
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    turned = [(x + a * c - b * s, y + a * s + b * c) for a, b in L_ROOM]
    room = trace(turned, scale=CM)
    assert room.area == pytest.approx(7.6 * 4.2 + 3.4 * 2.4, abs=0.01)
    assert room.outline[0] == (0.0, 0.0)
    assert {round(n, 2) for p in room.outline for n in p} == {0.0, 3.4, 4.2, 6.6, 7.6} or {
        round(n, 2) for p in room.outline for n in p
    } == {0.0, 2.4, 3.4, 4.2, 6.6, 7.6}


def test_a_slanting_side_is_left() -> None:
    bay = trace([(0, 300), (400, 300), (400, 100), (300, 0), (0, 0)], scale=CM)
    assert bay.snapped == (True, True, False, True, True)
    assert bay.area == pytest.approx(4 * 3 - 0.5)


def test_corners_that_make_no_room() -> None:
    with pytest.raises(InputError, match="3 or more"):
        trace([(0, 0), (400, 0)], scale=CM)
    with pytest.raises(InputError, match="each corner once"):
        trace([(0, 0), (400, 0), (400, 0), (0, 300)], scale=CM)
    with pytest.raises(InputError, match="in the order in which one"):
        trace([(0, 0), (400, 300), (400, 0), (0, 300)], scale=CM, square=False)


def test_which_area_wins_is_asked() -> None:
    room = trace([(0, 300), (400, 300), (400, 0), (0, 0)], scale=CM)
    fine = check_area(room, stated="12.05 m²")
    assert fine.agrees
    assert fine.question == ""
    check = check_area(room, stated="13.23 m²")
    assert not check.agrees
    assert "Which holds" in check.question
    assert check.difference == pytest.approx(1.23 / 13.23)
    assert settle_area(room, check=check, winner="the outline") is room
    scaled = settle_area(room, check=check, winner="the stated area")
    # 13.23 / 12 = 1.1025 = 1.05²
    assert scaled.outline[2] == (pytest.approx(4.2), pytest.approx(3.15))
    assert scaled.scale.metres == pytest.approx(0.0105)
    assert scaled.within > room.within
    with pytest.raises(InputError, match="the stated area or the outline"):
        settle_area(room, check=check, winner="both")  # type: ignore[arg-type]
    assert check_area(room, stated="129.2 sq ft").stated == pytest.approx(129.2 * 0.3048**2)


def test_a_traced_room_is_known_from_a_plan() -> None:
    room = room_from(trace(L_ROOM, scale=CM), name="living", height=2.6, use="living")
    assert room.known.source == "plan"
    assert room.known.within is not None
    assert room.known.within > 0.02
    assert room.known_of["height"].source == "guess"
    assert room_polygon("living", room).area == pytest.approx(40.08, abs=1e-3)


# --- sheets -----------------------------------------------------------------------


def test_a_picture_as_a_sheet(tmp_path: Path) -> None:
    path = tmp_path / "plan.png"
    Image.new("L", (1200, 800), 255).save(path, dpi=(200, 200))
    sheet = open_sheet(path)
    assert (sheet.size, sheet.form, sheet.page, sheet.pages) == ((1200, 800), "png", None, 1)
    assert Image.open(io.BytesIO(sheet.picture)).size == (1200, 800)
    # 200 dots an inch at 1:50: 50 × 25.4 mm / 200 a pixel
    assert scale_of_print(sheet, ratio=50).metres == pytest.approx(50 * 0.0254 / 200, rel=1e-3)


def test_a_large_picture_is_made_small(tmp_path: Path) -> None:
    path = tmp_path / "plan.jpg"
    tile = Image.effect_noise((520, 390), 90)
    large = Image.new("L", (5200, 3900))
    for x in range(10):
        for y in range(10):
            large.paste(tile, (520 * x, 390 * y))
    large.save(path, quality=90)
    sheet = open_sheet(path)
    assert len(sheet.picture) <= 2_000_000
    assert max(sheet.size) <= 4000
    assert sheet.size[0] / sheet.size[1] == pytest.approx(4 / 3, rel=0.01)


def test_pictures_that_are_refused(tmp_path: Path) -> None:
    bomb = tmp_path / "bomb.png"
    Image.new("1", (15_000, 14_000)).save(bomb)  # 210 million pixels in a few kB
    assert bomb.stat().st_size < 100_000
    with pytest.raises(FileFormatError, match=r"bomb\.png = 210 million pixels"):
        open_sheet(bomb)
    whole = tmp_path / "whole.jpg"
    Image.effect_noise((600, 600), 90).save(whole)
    cut = tmp_path / "cut.jpg"
    cut.write_bytes(whole.read_bytes()[:4000])
    with pytest.raises(FileFormatError, match="a picture that is cut off"):
        open_sheet(cut)
    words = tmp_path / "words.png"
    words.write_text("no picture")
    with pytest.raises(FileFormatError, match="no picture that can be read"):
        open_sheet(words)
    with pytest.raises(FileFormatError, match="no such file"):
        open_sheet(tmp_path / "none.png")


def test_a_page_of_a_pdf(tmp_path: Path) -> None:
    pytest.importorskip("pypdfium2", reason="the extra plans is not installed")
    path = tmp_path / "plan.pdf"
    path.write_bytes(pdf(["living 24.6"], pages=2))
    sheet = open_sheet(path, page=1, dots=144)
    assert (sheet.page, sheet.pages) == (1, 2)
    assert sheet.size == (1190, 1684)  # twice 595 × 842 points
    # at 1:100 a pixel is 100 / 144 in
    assert scale_of_print(sheet, ratio=100).metres == pytest.approx(100 * 0.0254 / 144, rel=1e-3)
    with pytest.raises(FileFormatError, match="0 to 1"):
        open_sheet(path, page=2)
    with pytest.raises(InputError, match="20 to 600 an inch"):
        open_sheet(path, dots=5000)
    empty = tmp_path / "empty.pdf"
    empty.write_bytes(pdf([], pages=0))
    with pytest.raises(FileFormatError, match=r"a PDF with no page|no PDF that can be read"):
        open_sheet(empty)
    huge = tmp_path / "huge.pdf"
    huge.write_bytes(pdf([]).replace(b"[0 0 595 842]", b"[0 0 9000 9000]"))
    with pytest.raises(FileFormatError, match="million pixels"):
        open_sheet(huge, dots=600)
