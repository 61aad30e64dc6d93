"""Share of black: columns, rows of bars and the foot, from the balance of a layout."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest
import shapely

from designkit.analyses.of_scheme import Scheme, scheme, scheme_viewpoints
from designkit.balance import NIGHT, gap
from designkit.errors import InputError, LookupFailed
from designkit.figures import ink
from designkit.figures.balance import (
    Remedy,
    ShareColumn,
    SharePart,
    balance_figure,
    share_answer,
    share_columns,
    share_figure,
    waffle,
)
from designkit.figures.check import faults
from designkit.figures.drawing import Drawing, Hatch, Line, Polygon, Text
from designkit.figures.item_words import finish_places, item_words, swap_words
from designkit.figures.sheet import TitleBlock
from designkit.figures.svg import to_svg
from designkit.model import Home
from designkit.project import read

DATA = Path(__file__).parents[2] / "data"
BLOCK = TitleBlock(project="A flat", title="Share of black", number="D-05")


@pytest.fixture(scope="module", params=("harbour-flat", "parlor-floor"))
def demo(request: pytest.FixtureRequest) -> tuple[Home, list[Scheme]]:
    home = read(DATA / request.param).project.home
    views = list(scheme_viewpoints(home))[:4]
    found = [scheme(home, pairs=False)]
    found += [scheme(home, viewpoint=v, rays=400, pairs=False) for v in views]
    return home, found


def texts(drawing: Drawing) -> list[str]:
    return [item.text for item in drawing.items if isinstance(item, Text)]


def tight(found: Scheme, band: tuple[float, float] = (0.01, 0.05)) -> Scheme:
    """The same scheme under a band that it is above of."""
    closing = gap(found.weights, finishes=found.finishes, band=band, limits=found.balance.limits)
    return dataclasses.replace(found, band=band, gap=closing)


def column(share: float, **more: object) -> ShareColumn:
    classes = dict.fromkeys(("dark", "mid", "light", "warm", "patterned"), (0.2, 0.2, 0.2))
    parts = (
        SharePart(words="table top", share=share * 0.7),
        SharePart(words="o", share=share * 0.3),
    )
    known = {"title": "By view", "under": "from the sofa", "low": share, "high": share}
    known |= {"parts": parts, "classes": classes, "band": (0.1, 0.2)}
    return ShareColumn(share=share, **(known | more))  # type: ignore[arg-type]


# --- words ---


@pytest.mark.parametrize("page", [False, True])
@pytest.mark.parametrize("count", [1, 2, 3, 5])
def test_every_word_can_be_read(demo, page: bool, count: int) -> None:
    home, found = demo
    drawing = balance_figure(found[:count], home=home, block=BLOCK, page=page)
    assert [str(f) for f in faults(drawing)] == []
    assert drawing.title == "Is black still an accent?"


@pytest.mark.parametrize("page", [False, True])
def test_every_word_can_be_read_with_a_remedy(demo, page: bool) -> None:
    home, found = demo
    over = tight(found[0])
    assert over.balance.shares["black"] > 0.05
    assert over.gap.swaps
    drawing = balance_figure([over], home=home, block=BLOCK, page=page)
    assert [str(f) for f in faults(drawing)] == []
    swap = over.gap.swaps[0]
    said = " ".join(texts(drawing)).replace("\u00a0", " ")
    assert f"{100 * swap.share:.1f}" in said
    assert f"with {swap_words(home, swap)}: {100 * swap.share:.1f} %." in drawing.text


@pytest.mark.parametrize("count", [1, 2, 4, 6, 8])
@pytest.mark.parametrize("share", [0.0, 0.004, 0.12, 0.55, 1.0])
def test_hostile_columns_stay_readable(count: int, share: float) -> None:
    words = "an armchair with a name that goes on and on without a place to break it " * 2
    parts = tuple(SharePart(words=words + str(i), share=share / 7) for i in range(7))
    remedies = (Remedy(words="with " + words, share=share / 2),)
    one = column(share, under=words, parts=parts, remedies=remedies, verdict="above the band")
    area = dataclasses.replace(one, title="By area", by_area=True, caption=words)
    columns = [area, *[one] * (count - 1)]
    for page in (False, True):
        drawing = share_figure(columns, definitions=words * 3, block=BLOCK, page=page)
        assert [str(f) for f in faults(drawing)] == []


def test_alternative_text_says_the_figures(demo) -> None:
    home, found = demo
    drawing = balance_figure(found[:2], home=home, page=True)
    for one in found[:2]:
        assert f"black {100 * one.balance.shares['black']:.1f} %" in drawing.text
        assert f"{100 * one.balance.high['black']:.1f} %" in drawing.text
    assert found[0].balance.definitions in drawing.text
    assert share_answer(share_columns(found[:2], home=home)) in drawing.text
    assert "<desc" in to_svg(drawing)


def test_definitions_and_the_word_assumption_are_printed(demo) -> None:
    home, found = demo
    for page in (False, True):
        drawing = balance_figure(found[:1], home=home, block=BLOCK, page=page)
        said = " ".join(texts(drawing)).replace("\u00a0", " ")
        assert found[0].balance.definitions.split(". Window")[0] in said
        assert "band: our assumption" in said
        for word in ("dark", "mid", "light", "warm", "patterned"):
            assert word in texts(drawing)


# --- numbers ---


def test_numbers_are_those_of_the_balance(demo) -> None:
    home, found = demo
    drawing = balance_figure(found[:3], home=home, block=BLOCK)
    said = texts(drawing)
    for one in found[:3]:
        for name in ("black", "dark", "mid", "light", "warm", "patterned"):
            assert f"{100 * one.balance.shares[name]:.1f}\u00a0%" in said
    low, high = found[0].band
    assert f"{100 * low:g}\u00a0%" in said
    assert f"{100 * high:g}\u00a0%" in said


def test_parts_add_up_to_the_share(demo) -> None:
    home, found = demo
    for one, made in zip(found, share_columns(found, home=home), strict=True):
        share = one.balance.shares["black"]
        assert made.share == share
        assert sum(p.share for p in made.parts) == pytest.approx(share, abs=1e-12)
        assert len(made.parts) <= 8


def test_columns_are_on_one_scale(demo) -> None:
    home, found = demo
    drawing = balance_figure(found[:3], home=home, block=BLOCK)
    columns = share_columns(found[:3], home=home)
    bands = [i for i in drawing.items if isinstance(i, Polygon) and i.about == "band"]
    scales = []
    for band, one in zip(bands, (columns[0], columns[1]), strict=True):
        low, high = one.band
        scales.append((band.outline[2][1] - band.outline[1][1]) / (high - low))
    assert scales[0] == pytest.approx(scales[1])
    base = bands[0].outline[0][1] - columns[0].band[0] * scales[0]
    for made in columns:
        first = made.parts[0]
        bars = [
            i
            for i in drawing.items
            if isinstance(i, Polygon) and i.fill == ink.INK and abs(i.outline[0][1] - base) < 1e-6
        ]
        highs = [b.outline[2][1] - b.outline[1][1] for b in bars]
        assert any(h == pytest.approx(first.share * scales[0]) for h in highs)


@pytest.mark.parametrize("share", [0.0, 0.003, 0.098, 0.1, 0.377, 0.95, 1.0])
def test_squares_are_filled_to_the_share(share: float) -> None:
    filled = [i for i in waffle(share, x=3, y=4, side=20) if isinstance(i, Polygon) and i.fill]
    area = sum(shapely.Polygon(i.outline).area for i in filled)
    assert area / 400 == pytest.approx(share, abs=1e-12)
    for item in filled:
        assert shapely.box(3, 4, 23, 24).buffer(1e-9).covers(shapely.Polygon(item.outline))


def test_remedy_stroke_stands_at_its_share() -> None:
    one = column(0.3, remedies=(Remedy(words="with an oak top", share=0.12),))
    drawing = share_figure([one], definitions="", page=True)
    (band,) = [i for i in drawing.items if isinstance(i, Polygon) and i.about == "band"]
    scale = (band.outline[2][1] - band.outline[1][1]) / 0.1
    base = band.outline[0][1] - 0.1 * scale
    stroke = [i for i in drawing.items if isinstance(i, Line) and i.weight == 0.7]
    assert [i.points[0][1] for i in stroke] == [pytest.approx(base + 0.12 * scale)]


def test_nobody_is_told_to_add_black(demo) -> None:
    home, found = demo
    below = tight(found[0], (0.5, 0.6))
    (made,) = share_columns([below], home=home)
    assert made.verdict == "below the band"
    assert made.remedies == ()


def test_no_band_is_drawn_where_none_is_assumed() -> None:
    drawing = share_figure(
        [column(0.3, band=None, verdict="no band assumed")], definitions="", page=True
    )
    assert not any(i.about == "band" for i in drawing.items)
    assert not any("assumption" in t for t in texts(drawing))


def test_what_is_dark_by_its_light_is_hatched() -> None:
    parts = (SharePart(words="bare glass at night", share=0.1, hatched=True),)
    drawing = share_figure([column(0.1, parts=parts)], definitions="", page=True)
    assert any(isinstance(i, Hatch) for i in drawing.items)


def test_a_picture_takes_the_place_of_the_squares() -> None:
    picture = Drawing(
        width=40, height=20, items=(Text(at=(2, 10), text="sketch", size=5.0),), text="a sketch"
    )
    drawing = share_figure([column(0.1), column(0.2, picture=picture)], definitions="", block=BLOCK)
    (said,) = [i for i in drawing.items if isinstance(i, Text) and i.text == "sketch"]
    assert said.size > 3.0
    assert [str(f) for f in faults(drawing)] == []


def test_one_accent_and_no_other_colour(demo) -> None:
    home, found = demo
    drawing = balance_figure(found[:2], home=home, block=BLOCK)
    inks = {v for i in drawing.items for n in ("ink", "fill") if (v := getattr(i, n, ""))}
    assert {v for v in inks if len({v[1:3], v[3:5], v[5:7]}) > 1} == {ink.TIMBER}


# --- names and refusals ---


def test_things_have_plain_names(demo) -> None:
    home, found = demo
    for one in found:
        for rows in one.balance.contributions.values():
            for c in rows:
                words = item_words(home, c.item)
                assert words
                assert "_" not in words
    assert item_words(home, NIGHT) == "bare glass at night"


def test_finishes_say_what_has_them() -> None:
    home = read(DATA / "harbour-flat").project.home
    found = finish_places(home, home.layouts["a"])
    assert found["floor_oak"].startswith("floor")
    assert "walls" in found["wall_white"]
    assert home.pieces["sofa"].name in found[home.pieces["sofa"].finish]


def test_what_cannot_be_drawn_is_refused(demo) -> None:
    home, found = demo
    with pytest.raises(InputError, match="schemes"):
        balance_figure([], home=home, page=True)
    with pytest.raises(InputError, match="columns"):
        share_figure([column(0.1)] * 9, definitions="", page=True)
    with pytest.raises(InputError, match="block"):
        balance_figure(found[:1], home=home)
    with pytest.raises(LookupFailed, match="gloomy"):
        balance_figure(found[:1], home=home, of="gloomy", page=True)


def test_another_class_can_be_shown(demo) -> None:
    home, found = demo
    drawing = balance_figure(found[:1], home=home, of="warm", page=True)
    assert f"{100 * found[0].balance.shares['warm']:.1f}\u00a0%" in texts(drawing)
    assert [str(f) for f in faults(drawing)] == []
