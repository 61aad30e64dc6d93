"""Finishes sheet: true values, boxes for cuttings, what touches what, the value ladder."""

from __future__ import annotations

import dataclasses
import io
from pathlib import Path

import numpy as np
import pytest

from designkit.errors import InputError, LookupFailed
from designkit.figures.axes import png_bytes
from designkit.figures.check import faults
from designkit.figures.drawing import Drawing, Line, Polygon, Text
from designkit.figures.finishes import finishes_answer, finishes_sheets, light_to_dark
from designkit.figures.sheet import TitleBlock
from designkit.model import Colour, Finish, Home
from designkit.palette.contrast import Edge, Meeting, edges
from designkit.palette.finishes import FinishValue, resolve_all
from designkit.project import read
from designkit.scene.neighbours import neighbours

DATA = Path(__file__).parents[2] / "data"
BLOCK = TitleBlock(project="A flat", title="Finishes", number="D-04", sheet=4, sheets=12)
Demo = tuple[Home, dict[str, FinishValue], tuple[Edge, ...], tuple[Drawing, ...]]


@pytest.fixture(scope="module", params=("harbour-flat", "parlor-floor"))
def demo(request: pytest.FixtureRequest) -> Demo:
    home = read(DATA / request.param).project.home
    finishes = resolve_all(home.finishes, overrides=home.rules)
    met = edges(neighbours(home, home.layouts[home.layout]), finishes=finishes)
    return home, finishes, met, finishes_sheets(finishes, edges=met, block=BLOCK)


def texts(drawing: Drawing, about: str | None = None) -> list[str]:
    return [i.text for i in drawing.items if isinstance(i, Text) and about in (None, i.about)]


def swatches(drawing: Drawing) -> list[Polygon]:
    """Patches of the height of a swatch."""
    return [
        i
        for i in drawing.items
        if isinstance(i, Polygon) and abs(i.outline[2][1] - i.outline[1][1] - 34.0) < 1e-6
    ]


def test_every_word_can_be_read(demo: Demo) -> None:
    for drawing in demo[3]:
        assert [str(f) for f in faults(drawing)] == []


def test_every_finish_is_on_a_sheet(demo: Demo) -> None:
    _, finishes, _, sheets = demo
    shown = [id for d in sheets for id in dict.fromkeys(p.about for p in swatches(d))]
    assert tuple(shown) == light_to_dark(finishes)
    values = [finishes[id].lightness for id in shown]
    assert values == sorted(values, reverse=True)
    assert texts(sheets[-1])[
        -1
    ] == f"{3 + len(sheets)} of 12" or f"{3 + len(sheets)} of 12" in texts(sheets[-1])


def test_pixels_are_the_computed_colour(demo: Demo) -> None:
    """Read back from the PNG, in the middle of every patch of every swatch."""
    from PIL import Image

    _, finishes, _, sheets = demo
    dpi = 100
    checked = 0
    for drawing in sheets:
        image = np.asarray(Image.open(io.BytesIO(png_bytes(drawing, dpi=dpi))).convert("RGB"))
        high = image.shape[0]
        for patch in swatches(drawing):
            (x0, y0), (x1, _), (_, y1), _ = patch.outline
            column, row = (x0 + x1) / 2 / 25.4 * dpi, high - (y0 + y1) / 2 / 25.4 * dpi
            got = "#{:02x}{:02x}{:02x}".format(*tuple(image[int(row), int(column)]))
            assert got == patch.fill
            assert got in [c.hex for c in finishes[patch.about].colours]
            checked += 1
    assert checked >= len(finishes)


def test_nothing_lies_on_a_swatch(demo: Demo) -> None:
    for drawing in demo[3]:
        for patch in swatches(drawing):
            (x0, y0), _, (x1, y1), _ = patch.outline
            for item in drawing.items:
                if isinstance(item, Text):
                    x, y = item.at
                    assert not (x0 < x < x1 and y0 < y < y1)


def test_stripes_keep_each_colour_its_share(demo: Demo) -> None:
    _, finishes, _, sheets = demo
    several = [id for id, f in finishes.items() if len(f.colours) > 1]
    assert several
    for id in several:
        areas: dict[str, float] = {}
        for drawing in sheets:
            for patch in swatches(drawing):
                if patch.about == id:
                    wide = patch.outline[1][0] - patch.outline[0][0]
                    areas[patch.fill] = areas.get(patch.fill, 0.0) + wide
        for colour in finishes[id].colours:
            assert areas[colour.hex] / sum(areas.values()) == pytest.approx(colour.share)


def test_boxes_are_60_by_60(demo: Demo) -> None:
    for drawing in demo[3]:
        boxes = [i for i in drawing.items if isinstance(i, Line) and i.dash == (1.8, 1.2)]
        assert len(boxes) == len(dict.fromkeys(p.about for p in swatches(drawing)))
        for box in boxes:
            xs, ys = [p[0] for p in box.points], [p[1] for p in box.points]
            assert max(xs) - min(xs) == pytest.approx(60)
            assert max(ys) - min(ys) == pytest.approx(60)
        assert (drawing.width, drawing.height) == (420.0, 297.0)


def test_numbers_are_those_of_the_finish(demo: Demo) -> None:
    _, finishes, _, sheets = demo
    for drawing in sheets:
        said = texts(drawing)
        for id in dict.fromkeys(p.about for p in swatches(drawing)):
            finish = finishes[id]
            light = " / ".join(f"{c.lightness:.0f}" for c in finish.colours)
            assert f"L* {light}" in said
            whole = " ".join(said).replace("\u00a0", " ")
            for words in (finish.known, finish.counts_as, finish.sheen or "not said"):
                assert words in whole


def test_meetings_show_the_contrast_of_the_edges(demo: Demo) -> None:
    _, _finishes, met, sheets = demo
    shown = 0
    for drawing in sheets:
        small = [
            i
            for i in drawing.items
            if isinstance(i, Polygon) and i.fill and i.outline[2][1] - i.outline[1][1] < 6
        ]
        for n, text in enumerate(drawing.items):
            if not (isinstance(text, Text) and text.weight == "semibold" and text.text.isdigit()):
                continue
            lrv = drawing.items[n + 1 : n + 3]
            apart = next(i for i in lrv if isinstance(i, Text)).text
            row = [p for p in small if abs(p.outline[0][1] - text.at[1]) < 4]
            near = {p.about for p in row if 0 < text.at[0] - p.outline[0][0] < 16}
            pairs = [
                e
                for e in met
                if {e.meeting.finish_a, e.meeting.finish_b} == near
                and f"{e.contrast.farthest:.0f}" == text.text
                and f"{e.contrast.lrv:.0f}" == apart
            ]
            assert pairs, (text.text, apart, near)
            shown += 1
    assert shown >= 10


def test_a_strong_edge_is_underlined_and_a_quiet_one_dotted() -> None:
    finishes = resolve_all(
        {
            "a": Finish(name="white", colours=(Colour(lab=(90.0, 0.0, 0.0)),)),
            "b": Finish(name="grey", colours=(Colour(lab=(75.0, 0.0, 0.0)),)),
            "c": Finish(name="pale", colours=(Colour(lab=(85.0, 0.0, 0.0)),)),
            "d": Finish(name="black", colours=(Colour(lab=(20.0, 0.0, 0.0)),)),
        }
    )
    pairs = [("a", "b"), ("a", "c"), ("a", "d")]
    met = edges([Meeting(a=a, b=b, finish_a=a, finish_b=b) for a, b in pairs], finishes=finishes)
    (drawing,) = finishes_sheets(finishes, edges=met, block=BLOCK)
    under = [i for i in drawing.items if isinstance(i, Line) and i.weight == 0.3]
    assert sorted(bool(i.dash) for i in under) == [False, True]  # 70 apart, 5 apart; not 15
    assert {"70", "15", "5"} <= set(texts(drawing))


def test_ladder_shows_the_limits(demo: Demo) -> None:
    _, finishes, _, sheets = demo
    at = next(iter(finishes.values())).limits
    for drawing in sheets:
        said = texts(drawing)
        assert f"black to {at.black_lightness:g}" in said
        assert f"dark to {at.dark:g}" in said
        assert f"light from {at.light:g}" in said


def test_alternative_text_names_every_finish(demo: Demo) -> None:
    _, finishes, met, sheets = demo
    for drawing in sheets:
        for id in dict.fromkeys(p.about for p in swatches(drawing)):
            assert finishes[id].name in drawing.text
        assert finishes_answer(met, finishes=finishes) in drawing.text


def test_long_names_stay_readable(demo: Demo) -> None:
    home, _, _, _ = demo
    long = "a finish with a name that goes on and on, in two tones, as the maker writes it " * 2
    changed = {
        id: dataclasses.replace(f, name=f"{n} {long}", texture=long)
        for n, (id, f) in enumerate(home.finishes.items())
    }
    finishes = resolve_all(changed)
    met = edges(neighbours(home, home.layouts[home.layout]), finishes=finishes)
    sheets = finishes_sheets(
        finishes,
        edges=met,
        block=BLOCK,
        where=dict.fromkeys(finishes, long),
        textures=dict.fromkeys(finishes, long),
    )
    for drawing in sheets:
        assert [str(f) for f in faults(drawing)] == []


def test_one_finish_of_many_colours() -> None:
    colours = tuple(Colour(share=0.1, lab=(10.0 * i, 0.0, 0.0)) for i in range(10))
    finishes = resolve_all({"x": Finish(name="ten greys", colours=colours)})
    (drawing,) = finishes_sheets(finishes, block=BLOCK)
    assert [str(f) for f in faults(drawing)] == []
    assert "nothing is known of where they meet" in drawing.text


def test_what_cannot_be_drawn_is_refused(demo: Demo) -> None:
    _, finishes, met, _ = demo
    with pytest.raises(InputError, match="finishes"):
        finishes_sheets({}, block=BLOCK)
    with pytest.raises(InputError, match="paper"):
        finishes_sheets(finishes, edges=met, block=BLOCK, paper="A4")
    with pytest.raises(LookupFailed, match="mauve"):
        finishes_sheets(finishes, edges=met, block=BLOCK, ids=["mauve"])
