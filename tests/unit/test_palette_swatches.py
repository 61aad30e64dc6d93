"""Swatches from a photograph and by the ladder: readings, ±, and pictures that cannot be read."""

from __future__ import annotations

import io
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from designkit.errors import FileFormatError, InputError
from designkit.model import Finish
from designkit.palette.colour import linear_to_rgb
from designkit.palette.finishes import resolve
from designkit.palette.swatches import ladder, read_photo, read_swatch


def encoded(image: Image.Image, kind: str = "PNG", **more: object) -> bytes:
    file = io.BytesIO()
    image.save(file, kind, **more)  # type: ignore[arg-type]
    return file.getvalue()


def scene(
    swatch: float, card: float, *, light: tuple[float, float, float] = (0.8, 0.8, 0.8)
) -> np.ndarray:
    """Card left, swatch right, under a light of one colour; linear reflectances."""
    linear = np.full((120, 200, 3), 0.3)
    linear[20:100, 15:90] = card
    linear[20:100, 110:185] = swatch
    return np.round(255 * np.clip(linear_to_rgb(linear * np.array(light)), 0, 1)).astype(np.uint8)


CARD, SWATCH = (50.0, 60.0), (148.0, 60.0)


@pytest.mark.parametrize("lrv", [3.0, 12.0, 30.0, 60.0, 80.0])
@pytest.mark.parametrize("light", [(0.8, 0.8, 0.8), (0.9, 0.6, 0.35), (0.4, 0.4, 0.45)])
def test_a_reading_takes_out_exposure_and_the_colour_of_the_light(
    lrv: float, light: tuple[float, float, float]
) -> None:
    photo = read_photo(encoded(Image.fromarray(scene(lrv / 100, 0.85, light=light))))
    found = read_swatch(photo, swatch=SWATCH, card=CARD)
    assert found.lrv == pytest.approx(lrv, rel=0.06)
    assert abs(found.lightness - resolve_lightness(lrv)) < found.within
    assert 0 < found.within < 8
    assert found.warnings == ()
    assert "× " in found.why


def resolve_lightness(lrv: float) -> float:
    from designkit.palette.colour import lrv_to_lightness

    return float(lrv_to_lightness(lrv))


def test_a_grey_card_and_a_card_that_was_measured() -> None:
    photo = read_photo(encoded(Image.fromarray(scene(0.09, 0.18))))
    assert read_swatch(photo, swatch=SWATCH, card=CARD, kind="grey card").lrv == pytest.approx(
        9.0, rel=0.02
    )
    own = read_swatch(photo, swatch=SWATCH, card=CARD, kind="grey card", card_lrv=20.0)
    assert own.lrv == pytest.approx(10.0, rel=0.02)
    finish = Finish(name="x", colours=(own.as_colour(),))
    value = resolve(finish)
    assert value.within == pytest.approx(own.within, abs=0.06)


def test_an_uneven_swatch_has_a_larger_within() -> None:
    plain = scene(0.2, 0.85)
    folded = plain.copy()
    folded[20:100, 110:185:4] = folded[20:100, 110:185:4] // 2
    one = read_swatch(read_photo(encoded(Image.fromarray(plain))), swatch=SWATCH, card=CARD)
    two = read_swatch(read_photo(encoded(Image.fromarray(folded))), swatch=SWATCH, card=CARD)
    assert two.within > one.within + 2
    assert dict(two.parts)["how even the swatch is"] > dict(one.parts)["how even the swatch is"]


def test_a_picture_taken_upright_is_turned() -> None:
    turned = Image.fromarray(np.rot90(scene(0.3, 0.85)).copy())
    exif = Image.Exif()
    exif[0x0112] = 6  # to be turned a quarter clockwise
    photo = read_photo(encoded(turned, "JPEG", exif=exif, quality=95))
    assert photo.size == (200, 120)
    assert photo.rgb.shape[:2] == (120, 200)
    assert read_swatch(photo, swatch=SWATCH, card=CARD).lrv == pytest.approx(30.0, rel=0.08)


def test_a_large_photograph_is_reduced_and_clicks_stay() -> None:
    large = Image.fromarray(scene(0.3, 0.85)).resize((6000, 3600), Image.Resampling.NEAREST)
    photo = read_photo(encoded(large, "JPEG", quality=90))
    assert max(photo.rgb.shape[:2]) <= 3000
    found = read_swatch(
        photo, swatch=(SWATCH[0] * 30, SWATCH[1] * 30), card=(CARD[0] * 30, CARD[1] * 30), radius=60
    )
    assert found.lrv == pytest.approx(30.0, rel=0.05)


def test_grey_and_transparent_pictures_are_read() -> None:
    grey = Image.fromarray(scene(0.3, 0.85)).convert("L")
    assert read_swatch(read_photo(encoded(grey)), swatch=SWATCH, card=CARD).lrv == pytest.approx(
        30.0, rel=0.05
    )
    clear = Image.new("RGBA", (40, 30), (0, 0, 0, 0))
    assert read_photo(encoded(clear)).rgb.min() == 1.0


def bomb() -> bytes:
    """A PNG that says it has 60,000 × 60,000 pixels."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        body = kind + data
        return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))

    head = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0" * 1000))
        + chunk(b"IEND", b"")
    )


def test_pictures_that_cannot_be_read_are_named(tmp_path: Path) -> None:
    with pytest.raises(FileFormatError, match="million pixels"):
        read_photo(bomb(), name="bomb.png")
    wide = Image.fromarray((np.arange(10_000).reshape(100, 100)).astype(np.uint16))
    with pytest.raises(FileFormatError, match=r"^photograph = 16 bits or more a channel; allowed"):
        read_photo(encoded(wide), name="photograph")
    press = Image.new("CMYK", (60, 40), (0, 0, 0, 80))
    with pytest.raises(FileFormatError, match=r"^press\.jpg = CMYK, a picture for print"):
        read_photo(encoded(press, "JPEG"), name="press.jpg")
    whole = encoded(Image.fromarray(scene(0.3, 0.85)))
    with pytest.raises(FileFormatError, match="a damaged picture"):
        read_photo(whole[: len(whole) // 2], name="half.png")
    with pytest.raises(FileFormatError, match="not a picture that can be read"):
        read_photo(b"plain text", name="note.txt")
    with pytest.raises(FileFormatError, match=r"none\.jpg = No such file"):
        read_photo(tmp_path / "none.jpg")
    big = tmp_path / "big.png"
    with big.open("wb") as file:
        file.truncate(41_000_000)
    with pytest.raises(FileFormatError, match="41 MB; allowed: at most 40 MB"):
        read_photo(big)


def test_clicks_and_cards_that_cannot_be_are_named() -> None:
    photo = read_photo(encoded(Image.fromarray(scene(0.3, 0.85))))
    with pytest.raises(InputError, match="click on the swatch = "):
        read_swatch(photo, swatch=(900.0, 60.0), card=CARD)
    with pytest.raises(InputError, match="clicks = 4 pixels apart"):
        read_swatch(photo, swatch=(54.0, 60.0), card=CARD)
    with pytest.raises(InputError, match="card = black card"):
        read_swatch(photo, swatch=SWATCH, card=CARD, kind="black card")  # type: ignore[arg-type]
    with pytest.raises(InputError, match="LRV of the card = 0"):
        read_swatch(photo, swatch=SWATCH, card=CARD, card_lrv=0.0)
    burnt = read_photo(encoded(Image.fromarray(scene(0.3, 0.85, light=(1.4, 1.4, 1.4)))))
    with pytest.raises(InputError, match="burnt out in 100 % of its spot"):
        read_swatch(burnt, swatch=SWATCH, card=CARD)
    night = read_photo(encoded(Image.fromarray(scene(0.3, 0.85, light=(0.005, 0.005, 0.005)))))
    with pytest.raises(InputError, match="too dark to tell"):
        read_swatch(night, swatch=SWATCH, card=CARD)


def test_a_swatch_lit_better_than_its_card_says_so() -> None:
    photo = read_photo(encoded(Image.fromarray(scene(0.95, 0.6))))
    found = read_swatch(photo, swatch=SWATCH, card=CARD)
    assert found.lrv == 100.0
    assert "over 100" in found.warnings[0]


def test_the_ladder_rises_from_dark_to_light() -> None:
    steps = ladder()
    assert len(steps) == 18
    assert [s.munsell_value for s in steps][::17] == [1.0, 9.5]
    values = [s.lrv for s in steps]
    assert values == sorted(values)
    # ASTM D1535: value 5 has 19.27 %.
    assert next(s.lrv for s in steps if s.munsell_value == 5) == pytest.approx(19.272, abs=5e-4)
    with pytest.raises(InputError, match="step of the ladder = 0"):
        ladder(0)
