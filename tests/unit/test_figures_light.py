"""Ceiling plan, isolux lines, layers of light: words can be read, numbers are the result's."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import numpy as np
import pytest
import shapely

from designkit.errors import InputError, LookupFailed
from designkit.figures import marks
from designkit.figures.ceiling import ceiling_plan, light_answer, light_findings
from designkit.figures.ceiling_parts import lamp_groups
from designkit.figures.check import faults
from designkit.figures.drawing import Arc, Circle, Drawing, Hatch, Line, Polygon, Text
from designkit.figures.isolux import LEVELS, SHORTEST, fields, isolux_items, trace
from designkit.figures.light_bars import layer_bars
from designkit.figures.moving import moved
from designkit.figures.sheet import TitleBlock
from designkit.figures.svg import to_svg
from designkit.lighting.quick import LightResult, grid, light
from designkit.lighting.room_light import at_points, light_up
from designkit.model import Fixture, Home, Lamp, Layout, Room, Service
from designkit.project import read
from designkit.reference import table

DATA = Path(__file__).parents[2] / "data"
DEMOS = ("harbour-flat", "parlor-floor")
BLOCK = TitleBlock(project="A flat", title="Reflected ceiling plan", number="L-204")


@pytest.fixture(scope="module", params=DEMOS)
def demo(request: pytest.FixtureRequest) -> tuple[Home, Layout, LightResult]:
    home = read(DATA / request.param).project.home
    layout = home.layouts[home.layout]
    return home, layout, light(home, layout)


@pytest.fixture(scope="module")
def harbour() -> tuple[Home, Layout, LightResult]:
    home = read(DATA / "harbour-flat").project.home
    layout = home.layouts[home.layout]
    return home, layout, light(home, layout)


def texts(drawing: Drawing) -> list[str]:
    return [item.text for item in drawing.items if isinstance(item, Text)]


def isolux_lines(drawing: Drawing) -> list[Line]:
    return [i for i in drawing.items if isinstance(i, Line) and i.about.endswith(" lx")]


# --- words ---


@pytest.mark.parametrize("page", [False, True])
@pytest.mark.parametrize("dimmed", [False, True])
def test_every_word_can_be_read(demo, page: bool, dimmed: bool) -> None:
    home, layout, _ = demo
    found = light(home, layout, dim=0.4)
    drawing = ceiling_plan(home, layout, light=found, block=BLOCK, page=page, dimmed=dimmed)
    assert [str(f) for f in faults(drawing)] == []
    assert drawing.scale
    assert drawing.title


def test_every_layout_of_the_demo_can_be_read(demo) -> None:
    home, _, _ = demo
    for layout in home.layouts.values():
        found = light(home, layout)
        for page in (False, True):
            drawing = ceiling_plan(home, layout, light=found, block=BLOCK, page=page)
            assert [str(f) for f in faults(drawing)] == [], layout.name


def test_layers_can_be_read(demo) -> None:
    _, _, found = demo
    for width in (61.0, 90.0, 170.0, 250.0):
        drawing = layer_bars(found, width=width)
        assert [str(f) for f in faults(drawing)] == []


def test_alternative_text_says_what_the_sheet_says(demo) -> None:
    home, layout, found = demo
    drawing = ceiling_plan(home, layout, light=found, block=BLOCK)
    for row in found.rows:
        assert f"{row.name} {row.full:.0f} lx" in drawing.text
    assert light_answer(found) in drawing.text
    for lamp in found.lamps:
        assert lamp.name in drawing.text
    assert "<title" in to_svg(drawing)


# --- numbers ---


def test_table_shows_the_numbers_of_the_result(demo) -> None:
    home, layout, _ = demo
    found = light(home, layout, dim=0.5)
    drawing = ceiling_plan(home, layout, light=found, block=BLOCK)
    for row in found.rows:
        here = [i.text for i in drawing.items if isinstance(i, Text) and i.about == row.id]
        assert f"{row.full:.0f}" in here
        assert f"{row.dimmed:.0f}" in here
        if row.wanted.low is not None:
            wanted = f"{row.wanted.low:.0f}"
            if row.wanted.high is not None:
                wanted += f"–{row.wanted.high:.0f}"
            assert wanted in here
            assert row.verdict in here
    for lamp in found.lamps:
        here = [i.text for i in drawing.items if isinstance(i, Text) and i.about == lamp.id]
        assert f"{lamp.lumens:.0f}" in here
        assert f"{lamp.kelvin:.0f}" in here
        assert f"{lamp.watts:g}" in here


def test_each_luminaire_carries_the_letter_of_its_row(demo) -> None:
    home, layout, found = demo
    drawing = ceiling_plan(home, layout, light=found, page=True)
    for group in lamp_groups(home, layout, found.lamps):
        for id in group.ids:
            here = [i.text for i in drawing.items if isinstance(i, Text) and i.about == id]
            assert here == [group.letter]


def test_luminaires_of_one_kind_and_height_share_a_letter() -> None:
    home, layout = small_home(lamps=3)
    found = light(home, layout)
    (group,) = lamp_groups(home, layout, found.lamps)
    assert group.letter == "a"
    assert len(group.ids) == 3
    drawing = ceiling_plan(home, layout, light=found, block=BLOCK)
    assert [i.text for i in drawing.items if isinstance(i, Text) and i.about == group.ids[0]][
        :3
    ] == ["a", "a", "bare bulb"]


def test_boxes_say_the_mass_they_carry(demo) -> None:
    home, layout, found = demo
    said = texts(ceiling_plan(home, layout, light=found, page=True))
    imperial = home.units in ("ft", "in")
    for service in home.services.values():
        if service.kind == "ceiling outlet" and service.weight_limit is not None:
            mass = service.weight_limit / 0.45359237 if imperial else service.weight_limit
            assert f"max {mass:.0f}\u00a0{'lb' if imperial else 'kg'}" in said


def test_findings_have_their_number_on_the_plan_and_in_the_words(harbour) -> None:
    home, layout, found = harbour
    drawing = ceiling_plan(home, layout, light=found, block=BLOCK)
    listed = {
        i.about for i in drawing.items if isinstance(i, Text) and i.about.startswith("finding ")
    }
    assert len(listed) >= 1
    for about in listed:
        number = about.removeprefix("finding ")
        circles = [i for i in drawing.items if isinstance(i, Circle) and i.about == about]
        figures = [
            i
            for i in drawing.items
            if isinstance(i, Text) and i.about == about and i.text == number
        ]
        assert len([c for c in circles if c.radius == marks.KEYED / 2]) == 2
        assert len(figures) == 2


def test_worst_seat_stands_for_its_piece(harbour) -> None:
    _, _, found = harbour
    seats = [row for row in found.rows if row.id.startswith("sofa page")]
    worst = min(seats, key=lambda row: row.full)
    about = [f for f in light_findings(found) if f.about == ("sofa",)]
    assert about == [worst.finding]


def test_caution_defers_to_a_licensed_electrician_and_the_local_code(demo) -> None:
    home, layout, found = demo
    said = " ".join(texts(ceiling_plan(home, layout, light=found, block=BLOCK)))
    assert "licensed electrician" in said
    assert "local code decides" in said
    assert "Check dimensions on site" in said


def test_setting_out_gives_the_place_of_each_fixed_luminaire(harbour) -> None:
    home, layout, found = harbour
    said = texts(ceiling_plan(home, layout, light=found, page=True))
    x, y = home.services["living_outlet"].at
    pendant = next(r for r in found.lamps if r.id == "table_pendant")
    for length in (x - pendant.at[0], pendant.at[0], 7.6 - x, y, 6.6 - pendant.at[1]):
        assert f"{length * 1000:.0f}" in said
    assert "track 4600" in said


# --- isolux lines ---


def test_every_isolux_line_carries_its_figure(demo) -> None:
    home, layout, found = demo
    drawing = ceiling_plan(home, layout, light=found, page=True)
    lines = isolux_lines(drawing)
    assert len(lines) >= 6
    figures = [i for i in drawing.items if isinstance(i, Text) and i.about.endswith(" lx")]
    for line in lines:
        points = [*line.points, line.points[0]] if line.closed else line.points
        shape = shapely.LineString(points)
        assert shape.length >= SHORTEST - 1e-6
        own = [t for t in figures if t.about == line.about and shape.distance(middle(t)) < 0.6]
        assert own, line.about
        assert all(t.text == line.about.removesuffix(" lx") for t in own)


def middle(text: Text) -> shapely.Point:
    turn = math.radians(text.rotation)
    x, y = text.at
    return shapely.Point(x - math.sin(turn) * text.size / 2, y + math.cos(turn) * text.size / 2)


def test_isolux_lines_lie_where_the_light_is() -> None:
    """Light worked out anew at points of the drawn lines is what the lines say."""
    home, layout = small_home(lamps=3)
    found = light(home, layout)
    drawing = ceiling_plan(home, layout, light=found, page=True)
    lit = light_up(home, layout)
    symbols = [i for i in drawing.items if isinstance(i, Circle) and i.about == "lamp0"]
    origin = np.array(symbols[0].centre) - np.array(lit.lamps["lamp0"].at) * 20
    lines = isolux_lines(drawing)
    assert len(lines) >= 4
    for line in lines:
        points = (np.array(line.points) - origin) / 20
        at = np.column_stack([points, np.full(len(points), 0.75)])
        lux = at_points(lit, room="r", points=at, plane=0.75).total()
        level = float(line.about.removesuffix(" lx"))
        # Linear interpolation on a grid of 0.1 m.
        assert np.abs(lux - level).max() < 0.02 * level


def test_isolux_lines_of_the_demo_lie_where_the_light_is(harbour) -> None:
    """Most of them: at the edge of a wall's shadow the light makes a step."""
    home, layout, found = harbour
    drawing = ceiling_plan(home, layout, light=found, page=True)
    lit = light_up(home, layout)
    outline = lit.shells["living"].outline.buffer(-0.15)
    origin = origin_of(drawing, home)
    right = []
    for line in isolux_lines(drawing):
        points = (np.array(line.points) - origin) / 20
        points = points[shapely.contains_xy(outline, points)]
        at = np.column_stack([points, np.full(len(points), 0.75)])
        lux = at_points(lit, room="living", points=at, plane=0.75).total()
        level = float(line.about.removesuffix(" lx"))
        right += (np.abs(lux - level) < 0.03 * level).tolist()
    assert len(right) > 200
    assert np.mean(right) > 0.85


def origin_of(drawing: Drawing, home: Home) -> np.ndarray:
    """Paper point of plan (0, 0), from the symbol at the ceiling box."""
    at = next(i for i in drawing.items if isinstance(i, Circle) and i.about == "chandelier").centre
    return np.array(at) - np.array(home.services["living_outlet"].at) * 1000 / 50


def test_light_by_lamp_adds_up_to_the_grid(demo) -> None:
    home, layout, _ = demo
    lit = light_up(home, layout, dim=0.3)
    for field in fields(lit):
        full = grid(home, layout, room=field.room, plane=0.75)
        at = full.inside
        assert np.allclose(field.total()[at], full.lux[at], rtol=1e-12)
        dimmed = grid(home, layout, room=field.room, plane=0.75, dim=0.3)
        shares = {id: lamp.dim for id, lamp in lit.lamps.items()}
        assert np.allclose(field.total(shares)[at], dimmed.lux[at], rtol=1e-12)


def test_dimmed_lines_are_other_lines(harbour) -> None:
    home, layout, _ = harbour
    dimmable = dataclasses.replace(
        home,
        circuits={k: dataclasses.replace(c, dimmer=True) for k, c in home.circuits.items()},
    )
    found = light(dimmable, layout, dim=0.5)
    full = ceiling_plan(dimmable, layout, light=found, page=True)
    dim = ceiling_plan(dimmable, layout, light=found, page=True, dimmed=True)
    assert {line.about for line in isolux_lines(full)} != {line.about for line in isolux_lines(dim)}
    assert "as dimmed" in " ".join(texts(dim))
    assert "full power" in " ".join(texts(full))


def test_what_a_dimmer_does_not_change_is_kept(harbour) -> None:
    home, layout, _ = harbour
    first = ceiling_plan(home, layout, light=light(home, layout, dim=0.9), page=True, dimmed=True)
    again = ceiling_plan(home, layout, light=light(home, layout, dim=0.9), page=True, dimmed=True)
    assert to_svg(first) == to_svg(again)
    turned = dataclasses.replace(
        layout, lamps={k: dataclasses.replace(v, dim=0.5) for k, v in layout.lamps.items()}
    )
    other = ceiling_plan(home, turned, light=light(home, turned), page=True)
    walls = [i for i in first.items if isinstance(i, Polygon) and i.about == "walls"]
    assert [i for i in other.items if isinstance(i, Polygon) and i.about == "walls"] == walls


def test_isolux_lines_are_ink_not_colour(demo) -> None:
    home, layout, found = demo
    drawing = ceiling_plan(home, layout, light=found, page=True)
    inks = {i.ink for i in drawing.items if hasattr(i, "ink")}
    coloured = {i for i in inks if len({i[1:3], i[3:5], i[5:7]}) > 1}
    assert coloured == {"#a3341a"}
    assert {line.weight for line in isolux_lines(drawing)} <= {0.13, 0.25}


@pytest.mark.reference("figures.isolux", of="lighting")
def test_tracing_agrees_with_an_independent_library() -> None:
    """Marching squares of scikit-image (`skimage.measure.find_contours`) beside our lines."""
    from skimage.measure import find_contours

    home, layout = small_home(lamps=3)
    at = grid(home, layout, room="r", plane=0.75)
    found = 0
    for level in LEVELS:
        ours = [line for _, line in trace(at.x, at.y, at.lux, levels=[level])]
        theirs = [
            np.column_stack(
                [
                    np.interp(c[:, 1], np.arange(len(at.x)), at.x),
                    np.interp(c[:, 0], np.arange(len(at.y)), at.y),
                ]
            )
            for c in find_contours(at.lux, level)
        ]
        assert len(ours) == len(theirs)
        found += len(ours)
        assert length(ours) == pytest.approx(length(theirs), rel=1e-9)
    assert found >= 4


def length(lines: list[np.ndarray]) -> float:
    return sum(float(np.hypot(*np.diff(line, axis=0).T).sum()) for line in lines)


def test_a_globe_over_a_floor_makes_circles() -> None:
    """One even source: light depends on the distance alone, so that lines are circles."""
    home, layout = small_home(lamps=1)
    lit = light_up(home, layout)
    (field,) = fields(lit, plane=0.75, step=0.05)
    at = np.array(lit.lamps["lamp0"].at)
    lines = [line for _, line in trace(field.x, field.y, field.total(), levels=LEVELS)]
    closed = [line for line in lines if np.allclose(line[0], line[-1])]
    assert closed
    for line in closed:
        away = np.hypot(*(line - at).T)
        assert np.ptp(away) < 0.01


def test_a_room_without_light_has_no_lines() -> None:
    home, layout = small_home(lamps=0)
    found = light(home, layout)
    drawing = ceiling_plan(home, layout, light=found, block=BLOCK)
    assert isolux_lines(drawing) == []
    assert [str(f) for f in faults(drawing)] == []
    assert "no luminaire" in drawing.text
    (field,) = fields(light_up(home, layout))
    assert isolux_items(field, scale=50, origin=(0, 0)) == ([], [])


# --- hostile ---


LONG = "a chandelier of eighteen arms with a name that nobody would ever write on a drawing " * 3


def small_home(*, lamps: int, name: str = "bare bulb", limit: float | None = 5.0):
    room = Room(name="room", use="living", outline=((0, 0), (5, 0), (5, 4), (0, 4)), height=2.6)
    home = Home(
        name="Flat",
        rooms={"r": room},
        fixtures={
            "bulb": Fixture(
                name=name, kind="pendant", size=(0.2, 0.2, 0.2), lumens=800, watts=8, kelvin=2700
            )
        },
        services={
            "box": Service(
                room="r", kind="ceiling outlet", at=(2.5, 2.0), height=2.6, weight_limit=limit
            )
        },
    )
    step = 4.4 / max(1, lamps - 1)
    layout = Layout(
        name="A",
        lamps={
            f"lamp{i}": Lamp(
                fixture="bulb", at=(0.3 + i * step if lamps > 1 else 2.5, 2.0), base=2.0
            )
            for i in range(lamps)
        },
    )
    return home, layout


def test_long_names_and_many_things_stay_readable(harbour) -> None:
    home, layout, _ = harbour
    home = dataclasses.replace(
        home,
        name=LONG,
        rooms={k: dataclasses.replace(r, name=LONG) for k, r in home.rooms.items()},
        fixtures={k: dataclasses.replace(f, name=LONG) for k, f in home.fixtures.items()},
        pieces={k: dataclasses.replace(p, name=LONG) for k, p in home.pieces.items()},
        circuits={k: dataclasses.replace(c, name=LONG) for k, c in home.circuits.items()},
        services={k: dataclasses.replace(s, name=LONG) for k, s in home.services.items()},
    )
    found = light(home, layout)
    for page in (False, True):
        drawing = ceiling_plan(home, layout, light=found, block=BLOCK, page=page)
        assert [str(f) for f in faults(drawing)] == []
    assert [str(f) for f in faults(layer_bars(found, width=61.0))] == []


@pytest.mark.parametrize("lamps", [2, 12])
def test_many_lamps_stay_readable(lamps: int) -> None:
    home, layout = small_home(lamps=lamps, name=LONG)
    fixtures = {
        f"f{i}": dataclasses.replace(home.fixtures["bulb"], name=f"{i} {LONG}")
        for i in range(lamps)
    }
    home = dataclasses.replace(home, fixtures=fixtures)
    layout = dataclasses.replace(
        layout,
        lamps={
            k: dataclasses.replace(v, fixture=f"f{i}")
            for i, (k, v) in enumerate(layout.lamps.items())
        },
    )
    found = light(home, layout)
    for page in (False, True):
        drawing = ceiling_plan(home, layout, light=found, block=BLOCK, page=page)
        assert [str(f) for f in faults(drawing)] == []


@pytest.mark.parametrize("paper", ["A3", "A2", "Tabloid"])
def test_other_papers(demo, paper: str) -> None:
    home, layout, found = demo
    drawing = ceiling_plan(home, layout, light=found, block=BLOCK, paper=paper)
    assert [str(f) for f in faults(drawing)] == []


def test_markup_in_names_stays_text() -> None:
    home, layout = small_home(lamps=1, name="<script>alert(1)</script>")
    text = to_svg(ceiling_plan(home, layout, light=light(home, layout), block=BLOCK))
    assert "<script" not in text
    assert "&lt;script&gt;" in text


def test_show_leaves_out_what_is_not_asked_for(harbour) -> None:
    home, layout, found = harbour
    drawing = ceiling_plan(home, layout, light=found, page=True, show=())
    assert isolux_lines(drawing) == []
    assert not any(i.about == "dimensions" for i in drawing.items)
    assert not any(isinstance(i, Text) and i.about.startswith("finding") for i in drawing.items)


def test_what_cannot_be_drawn_is_refused(harbour) -> None:
    home, layout, found = harbour
    with pytest.raises(InputError, match="title block"):
        ceiling_plan(home, layout, light=found)
    with pytest.raises(LookupFailed, match="rainbow"):
        ceiling_plan(home, layout, light=found, page=True, show=["rainbow"])
    with pytest.raises(LookupFailed, match="attic"):
        ceiling_plan(home, layout, light=found, page=True, rooms=["attic"])
    with pytest.raises(InputError, match="scale"):
        ceiling_plan(home, layout, light=found, block=BLOCK, scale=10)
    with pytest.raises(InputError, match="plane"):
        ceiling_plan(home, layout, light=found, page=True, plane=9.0)
    with pytest.raises(InputError, match="light on the grid"):
        trace(np.arange(3.0), np.arange(3.0), np.full((3, 3), np.nan))
    with pytest.raises(InputError, match="width"):
        layer_bars(found, width=20)


# --- layers ---


def test_bars_are_as_long_as_their_lumens(harbour) -> None:
    home, layout, _ = harbour
    # With lamps at half their lumens every room is short.
    weak = {
        k: dataclasses.replace(f, lumens=f.lumens and f.lumens / 2, photometry="")
        for k, f in home.fixtures.items()
    }
    found = light(dataclasses.replace(home, fixtures=weak), layout)
    assert found.row("living").short > 0
    drawing = layer_bars(found)
    said = texts(drawing)
    for row in found.layers:
        assert f"{row.lumens:.0f}\u00a0lm" in said
    for room in (r for r in found.rows if r.direct is None):
        total = sum(row.lumens for row in found.layers if row.room == room.id)
        short = f", {room.short:.0f}\u00a0lm short" if room.short > 0 else ""
        assert f"{total:.0f}\u00a0lm{short}" in said
    bars = [i for i in drawing.items if isinstance(i, Polygon) and i.fill and i.about == "living"]
    wide = [b.outline[1][0] - b.outline[0][0] for b in bars]
    lumens = [row.lumens for row in found.layers if row.room == "living"]
    lumens.append(sum(lumens))
    assert np.allclose(np.array(wide) / wide[-1], np.array(lumens) / lumens[-1])
    short = [i for i in drawing.items if isinstance(i, Hatch) and i.about == "living"]
    (gap,) = short
    room = found.row("living")
    long = gap.outline[1][0] - gap.outline[0][0]
    assert long / wide[-1] == pytest.approx(room.short / lumens[-1])


# --- moving ---


def test_moved_moves_every_kind_of_primitive() -> None:
    square = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0))
    items = [
        Line(points=square, weight=0.2, dash=(1.0, 0.5)),
        Polygon(outline=square, holes=(square,), weight=0.1),
        Hatch(outline=square, angle=45, spacing=1.0, weight=0.1),
        Circle(centre=(1.0, 1.0), radius=2.0, weight=0.1),
        Arc(centre=(1.0, 1.0), radius=2.0, start=0, end=90, weight=0.1),
        Text(at=(1.0, 1.0), text="a", size=2.0, halo=0.5),
    ]
    line, polygon, hatch, circle, arc, text = moved(items, dx=10.0, dy=20.0, k=2.0)
    assert line.points[1] == (12.0, 20.0)
    assert line.dash == (2.0, 1.0)
    assert line.weight == 0.4
    assert polygon.holes[0][2] == (12.0, 22.0)
    assert hatch.spacing == 2.0
    assert circle.centre == arc.centre == text.at == (12.0, 22.0)
    assert circle.radius == arc.radius == 4.0
    assert text.size == 4.0
    assert text.halo == 1.0


# --- glossary ---


def test_headings_and_columns_are_in_the_glossary(harbour) -> None:
    rows = table("glossary-lightfigs")
    assert all(r["word"] and r["meaning"] and r["where"] for r in rows)
    assert {r["origin"] for r in rows} <= {"trade", "standard", "general practice", "ours"}
    words = {r["word"] for r in rows}
    home, layout, found = harbour
    drawing = ceiling_plan(home, layout, light=found, block=BLOCK)
    heads = {
        i.text
        for i in drawing.items
        if isinstance(i, Text) and i.size == 3.5 and i.weight == "semibold"
    }
    heads -= {BLOCK.title, next(h for h in heads if h.startswith("Ceiling"))}
    assert {h for h in heads if h not in words} == set()
    for word in ("place", "full", "dimmed", "wanted", "by", "verdict", "kind", "lm", "W", "K"):
        assert word in words
        assert word in texts(drawing)
