"""The typeface: measured widths, lines, and words that no file may hold."""

from __future__ import annotations

import base64
import io
import re

import hypothesis.strategies as st
import pytest
from hypothesis import given
from PIL import ImageFont

from designkit.errors import InputError
from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.drawing import Text

WORDS = ["Main route, hall to balcony", "2200 × 950", "Ø 900", "1:50", "½ in = 1 ft", "L* 27"]


@pytest.mark.reference("OpenType advance widths", of="figures")
@pytest.mark.parametrize("weight", ["regular", "semibold"])
@pytest.mark.parametrize("words", WORDS)
def test_widths_agree_with_another_reader_of_the_font(words: str, weight: str) -> None:
    """Pillow's FreeType layout of the same file. It also kerns: never wider than ours by
    more than a hundredth, nor narrower by more than a twelfth (the pair "L*")."""
    size = 1000
    font = ImageFont.truetype(str(lettering.font_path(weight=weight)), size)
    theirs = font.getlength(words) / size  # em
    ours = lettering.advance(words, size=lettering.CAP, weight=weight)
    assert theirs <= ours * 1.01
    assert theirs >= ours * (0.92 if "L*" in words else 0.985)


@pytest.mark.reference("cap height of the typeface", of="figures")
def test_capitals_are_as_high_as_the_size_says() -> None:
    """The ink of an H, drawn by FreeType at 1000 units, is 660 units high,
    within a hundredth."""
    font = ImageFont.truetype(str(lettering.font_path()), 1000)
    _, top, _, bottom = font.getbbox("H", anchor="ls")
    assert bottom - top == pytest.approx(lettering.CAP * 1000, rel=0.01)


def test_a_box_turns_with_its_text() -> None:
    flat = lettering.box(Text(at=(10, 10), text="sofa", size=2.0))
    upright = lettering.box(Text(at=(10, 10), text="sofa", size=2.0, rotation=90))
    width = flat[1][0] - flat[0][0]
    assert upright[1][1] - upright[0][1] == pytest.approx(width)
    assert upright[0][0] > 10 - 0.1


@given(
    st.lists(st.text("abcdefgh", min_size=1, max_size=14), min_size=1, max_size=20),
    st.floats(8, 60),
)
def test_wrapped_lines_hold_every_word_and_fit(words: list[str], width: float) -> None:
    lines = lettering.wrap(" ".join(words), size=2.5, width=width)
    assert "".join(lines).replace(" ", "") == "".join(words)
    assert all(lettering.advance(line, size=2.5) <= width + 1e-9 for line in lines)


def test_a_number_stays_with_its_unit() -> None:
    lines = lettering.wrap("Move the armchair 40 mm away", size=2.5, width=29.0)
    assert not any(re.search(r"\d$", line) for line in lines)
    assert any("40\u00a0mm" in line for line in lines)


def test_a_column_without_width_is_refused() -> None:
    with pytest.raises(InputError, match="width"):
        lettering.wrap("sofa", size=2.5, width=0)


def test_an_unknown_weight_is_refused() -> None:
    with pytest.raises(InputError, match="regular, semibold"):
        lettering.font_path(weight="black")


def test_words_that_turn_round_the_reading_order_are_cleaned() -> None:
    assert lettering.clean("a\u202egnp.exe\x1b[31m") == "agnp.exe[31m"
    assert lettering.clean("sofa 漢", known=True) == "sofa ?"


def test_italic_without_a_sign_is_set_upright() -> None:
    assert lettering.face("ΔL*", italic=True) == ("regular", False)
    assert lettering.face("hall", italic=True) == ("regular", True)


def test_the_font_in_a_page_has_the_signs_of_its_texts() -> None:
    from fontTools.ttLib import TTFont

    texts = [Text(at=(0, 0), text="Ø 900 ± 20", size=2.0, weight="semibold")]
    css = lettering.font_css(texts)
    assert css == lettering.font_css(texts)
    (data,) = re.findall(r"base64,([A-Za-z0-9+/=]+)", css)
    font = TTFont(io.BytesIO(base64.b64decode(data)))
    assert {ord(s) for s in "Ø 900±20"} <= set(font.getBestCmap())
    assert "font-weight:600" in css


@pytest.mark.reference("sRGB grey of a CIE L*", of="figures")
@pytest.mark.parametrize("lightness", [5, 18, 27, 40, 62, 80, 95])
def test_greys_agree_with_scikit_image(lightness: int) -> None:
    """skimage.color.lab2rgb at a* = b* = 0 (D65): the same grey within one step of 255."""
    from skimage.color import lab2rgb

    theirs = lab2rgb([[[float(lightness), 0.0, 0.0]]])[0, 0] * 255
    ours = int(ink.grey_of(lightness)[1:3], 16)
    assert ours == pytest.approx(theirs.mean(), abs=1.0)


@pytest.mark.reference("contrast of #777777", of="figures")
def test_contrast_of_a_known_grey() -> None:
    """W3C WCAG 2.1, contrast ratio: #777777 on white is 4.48:1 (from memory of the
    formula's usual example), just under the 4.5:1 of criterion 1.4.3."""
    contrast = 1.05 / (ink.luminance("#777777") + 0.05)
    assert contrast == pytest.approx(4.48, abs=0.005)


def test_every_grey_for_text_can_be_read_on_white() -> None:
    for grey in (ink.INK, ink.GREY_1, ink.GREY_2, ink.ACCENT, ink.TIMBER):
        assert 1.05 / (ink.luminance(grey) + 0.05) >= 4.5


@pytest.mark.parametrize("wrong", ["red", "#12345", "#gg0000"])
def test_an_ink_that_is_no_colour_is_refused(wrong: str) -> None:
    with pytest.raises(InputError, match="#rrggbb"):
        ink.luminance(wrong)
