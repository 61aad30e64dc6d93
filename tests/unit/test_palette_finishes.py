"""Finishes as values: every way of giving one, its ±, what it counts as, what disagrees."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from designkit.errors import InputError, LookupFailed
from designkit.model import Colour, Finish, Known
from designkit.palette import colour
from designkit.palette.finishes import (
    Limits,
    classify,
    find,
    resolve,
    resolve_all,
    resolve_colour,
)


def paint(**how: object) -> Finish:
    return Finish(name="sample", colours=(Colour(**how),))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("how", "lightness", "within"),
    [
        ({"hex": "#777777"}, 50.0, 5),
        ({"lab": (42.0, 3.0, -4.0)}, 42.0, 2),
        ({"lrv": 100.0}, 100.0, 2),
        ({"lrv": 0.0}, 0.0, 2),
        ({"munsell_value": 5.0}, 51.0, 3),
        ({"ladder": 5.0}, 51.0, 5),
        ({"guess": "black"}, 20.0, 7),
    ],
)
def test_every_way_gives_a_lightness_and_a_tolerance(
    how: dict[str, object], lightness: float, within: float
) -> None:
    found = resolve(paint(**how)).colours[0]
    assert found.lightness == pytest.approx(lightness, abs=0.05)
    assert found.within == within
    assert found.hue_known == ("hex" in how or "lab" in how)


def test_a_measured_finish_is_known_better_but_not_by_eye() -> None:
    assert resolve_colour(Colour(lrv=50.0), source="measured").within == 1
    assert resolve_colour(Colour(hex="#808080"), source="seller").within == 2
    assert resolve_colour(Colour(ladder=5.0), source="measured").within == 5
    assert resolve_colour(Colour(lrv=50.0, within=3.5), source="measured").within == 3.5


def test_the_project_sets_its_own_tolerance() -> None:
    found = resolve(paint(lrv=50.0), overrides={"palette.within.lrv": 4.0})
    assert found.within == 4.0
    assert "± 4 L*" in found.known


@pytest.mark.parametrize(
    ("how", "words"),
    [
        ({}, "no value; allowed: exactly one of hex"),
        ({"hex": "#fff", "munsell_value": 9.0}, "hex, munsell_value; allowed: exactly one"),
        ({"ladder": 5.0, "lrv": 20.0}, "lrv, ladder; allowed: exactly one"),
        ({"hex": "black"}, "hex = black; allowed: #rrggbb or #rgb"),
        ({"hex": "#12345"}, "hex = #12345; allowed"),
        ({"lab": (120.0, 0.0, 0.0)}, r"L\* 0 to 100"),
        ({"lab": (math.nan, 0.0, 0.0)}, r"L\* 0 to 100"),
        ({"lrv": 101.0}, "LRV = 101.0; allowed: 0 to 100"),
        ({"lrv": math.nan}, "LRV = nan; allowed: finite"),
        ({"hex": "#ffffff", "lrv": -3.0}, "LRV = -3.0; allowed: 0 to 100"),
        ({"munsell_value": 11.0}, "Munsell value = 11.0; allowed: 0 to 10"),
        ({"guess": "greyish"}, "guess = greyish; allowed: black, dark, mid, light, white"),
        ({"lrv": 50.0, "within": -1.0}, "within = -1.0; allowed: 0 to 100"),
    ],
)
def test_a_wrong_value_is_named(how: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        resolve(paint(**how), id="wall_white")
    assert "finish wall_white" in str(caught.value)


def test_shares_have_to_make_a_whole() -> None:
    half = Colour(share=0.5, guess="black")
    with pytest.raises(InputError, match=r"0.5 \+ 0.4; allowed: each over 0, together 1"):
        resolve(Finish(name="s", colours=(half, Colour(share=0.4, guess="white"))))
    with pytest.raises(InputError, match="no colour"):
        resolve(Finish(name="s", colours=()))
    # Thirds written with two digits are a whole.
    third = tuple(Colour(share=0.333, guess=g) for g in ("black", "mid", "white"))
    found = resolve(Finish(name="s", colours=third))
    assert sum(c.share for c in found.colours) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize(
    ("lrv", "verdict"), [(18.4, None), (20.3, None), (21.0, "measure first"), (24.0, "fails")]
)
def test_a_reflectance_beside_a_colour_is_checked(lrv: float, verdict: str | None) -> None:
    # L* 50 is LRV 18.42 by the formula of CIE 15.
    found = resolve(paint(lab=(50.0, 0.0, 0.0), lrv=lrv), id="f").findings
    assert [f.verdict for f in found] == ([verdict] if verdict else [])
    if verdict:
        assert found[0].measured == pytest.approx(lrv - 18.42, abs=0.01)
        assert "18.4" in found[0].why
        assert found[0].about == ("f",)


def test_limits_of_the_classes_hold_to_the_edge() -> None:
    marks = classify([27.0, 27.01, 27.0, 34.99, 35.0, 70.0, 70.01], [6.0, 0, 6.01, 0, 0, 0, 0])
    assert marks["black"].tolist() == [True] + [False] * 6
    assert marks["dark"].tolist() == [True] * 4 + [False] * 3
    assert marks["mid"].tolist() == [False] * 4 + [True] * 2 + [False]
    assert marks["light"].tolist() == [False] * 6 + [True]


def test_warm_is_stated_and_never_guessed_from_the_colour() -> None:
    orange = resolve(paint(hex="#b5651d"))
    assert orange.shares["warm"] == 0
    timber = resolve(Finish(name="grey oak", kind="timber", warm=True, colours=(Colour(lrv=30.0),)))
    assert timber.shares["warm"] == 1
    assert timber.counts_as == "mid, warm"


def test_a_stripe_counts_each_colour_and_mixes_by_reflectance() -> None:
    stripe = resolve(
        Finish(
            name="stripe",
            patterned=True,
            colours=(Colour(share=0.25, lrv=4.0), Colour(share=0.75, lrv=80.0)),
        )
    )
    assert stripe.lrv == pytest.approx(0.25 * 4 + 0.75 * 80, abs=1e-9)
    assert stripe.shares["black"] == 0.25
    assert stripe.shares["light"] == 0.75
    assert stripe.counts_as == "25 % black, 75 % light, patterned"


def test_limits_are_in_order() -> None:
    with pytest.raises(InputError, match="black 40, dark 35"):
        Limits(black_lightness=40.0)
    own = Limits.of({"palette.black.lightness": 30.0})
    assert own.black_lightness == 30
    assert "Black: L* 30 or less and C* 6 or less" in own.definitions
    assert "assumption" in own.definitions


def test_a_missing_finish_names_the_nearest() -> None:
    known = resolve_all({"oak": paint(lrv=30.0), "linen": paint(lrv=70.0)})
    with pytest.raises(LookupFailed, match="did you mean linen"):
        find(known, "linnen")


def test_how_it_is_known_is_said_in_words() -> None:
    sheet = Finish(name="w", colours=(Colour(lrv=83.0),), known=Known(source="seller"))
    assert resolve(sheet).known == "from the maker's sheet, as LRV, ± 2 L*"


@given(st.floats(0, 100), st.floats(0, 100))
def test_lightness_and_reflectance_go_there_and_back(lightness: float, lrv: float) -> None:
    assert float(colour.lrv_to_lightness(colour.lightness_to_lrv(lightness))) == pytest.approx(
        lightness, abs=1e-9
    )
    v = float(colour.luminance_to_munsell(lrv / 100))
    assert 100 * float(colour.munsell_to_luminance(v)) == pytest.approx(lrv, abs=1e-7)


@given(st.integers(0, 255), st.integers(0, 255), st.integers(0, 255))
def test_a_screen_colour_survives_the_way_to_lab_and_back(r: int, g: int, b: int) -> None:
    text = f"#{r:02x}{g:02x}{b:02x}"
    assert colour.lab_to_hex(colour.hex_to_lab(text)) == text
    if r == g == b:
        assert float(colour.chroma(colour.hex_to_lab(text))) < 1e-9
        assert colour.grey_hex(float(colour.hex_to_lab(text)[0])) == text


def test_a_sheen_that_is_not_said_is_not_matt() -> None:
    plain = Finish(name="wool", colours=(Colour(lrv=20.0),))
    matt = Finish(name="paint", colours=(Colour(lrv=20.0),), sheen="matt")
    assert (resolve(plain).sheen, resolve(matt).sheen) == ("", "matt")
    # In light both are the same: what is not said is lit as if matt.
    assert resolve(plain).shares == resolve(matt).shares
