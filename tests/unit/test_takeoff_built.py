"""Canvas, floor boxes and cut-outs of tops: sums by hand, bad input, drawings, the page's words."""

from __future__ import annotations

import itertools
import math
import random
from dataclasses import replace

import pytest
from shapely.geometry import Polygon, box

from designkit.analyses.of_takeoff import amounts, drawn_view, subjects
from designkit.analyses.of_takeoff_built import box_view, canvas_view
from designkit.analyses.of_takeoff_goods import top_view
from designkit.errors import InputError, LookupFailed
from designkit.figures.check import faults
from designkit.figures.cutting_views import view_figure
from designkit.figures.drawing import Line, Text
from designkit.figures.sheet import TitleBlock
from designkit.model import Cutout, Project
from designkit.project import read
from designkit.shipped import shipped
from designkit.studies.takeoff_controls import cutouts_of
from designkit.takeoff.canvas import bars_from_stock, canvas
from designkit.takeoff.floor_boxes import Covered, Need, Outlet, cable_run, floor_boxes
from designkit.takeoff.tops import top

DEMOS = {name: read(shipped("data") / name).project for name in ("harbour-flat", "parlor-floor")}
ROOM = box(0, 0, 6, 4)


# --- canvas -----------------------------------------------------------------------


def test_the_wrap_goes_round_both_sides() -> None:
    made = canvas((1.5, 1.0), bar_depth=0.04, turn=0.05, roll=2.1, stock=2.4)
    assert made.cut == pytest.approx((1.68, 1.18))
    # 1.68 across a roll of 2.1: the roll gives 1.18.
    assert made.length == pytest.approx(1.18)
    assert made.run == pytest.approx(1.2)
    assert made.net == pytest.approx(1.5)
    assert made.order == pytest.approx(1.2 * 2.1)
    # 1.5 / 0.9 → one upright brace, 1.0 / 0.9 → one across.
    assert made.braces == (1, 1)
    assert sorted(b.length for b in made.bars) == pytest.approx([0.91, 1.0, 1.41, 1.5])


def test_a_canvas_is_turned_where_that_takes_less_of_the_roll() -> None:
    narrow = canvas((1.5, 1.0), bar_depth=0.04, turn=0.05, roll=1.2)
    assert narrow.turned
    assert narrow.length == pytest.approx(1.68)
    with pytest.raises(InputError, match="width of the roll"):
        canvas((1.5, 1.2), roll=1.2)


def test_mass_is_cloth_and_bars() -> None:
    made = canvas((0.8, 0.6), bar_depth=0.02, turn=0.05)
    cloth = 0.94 * 0.74 * 0.45
    bars = 2 * (0.8 + 0.6) * 0.02 * 0.045 * 420
    assert made.mass == pytest.approx(cloth + bars)
    assert made.fixing == pytest.approx(made.mass / 2 * 4)


def test_no_bar_is_forgotten_and_no_stock_is_overfull() -> None:
    needed = [1.5] * 6 + [1.41] * 3 + [1.0] * 6 + [0.91] * 3
    sticks = bars_from_stock(needed, stock=2.4, saw=0.003)
    assert sorted(itertools.chain(*sticks)) == pytest.approx(sorted(needed))
    for stick in sticks:
        assert sum(stick) + 0.003 * (len(stick) - 1) <= 2.4 + 1e-9
    # Nothing goes beside 1.5 (the least other, 0.91, makes 2.41): 6 + 9 others in pairs at best.
    assert len(sticks) == 12
    with pytest.raises(InputError, match="bar"):
        bars_from_stock([2.5], stock=2.4)


@pytest.mark.parametrize(
    ("size", "given", "words"),
    [
        ((0.0, 1.0), {}, "width of the picture"),
        ((1.0, math.nan), {}, "height of the picture"),
        ((1.0, 1.0), {"count": 0}, "canvases"),
        ((0.08, 0.5), {}, "size of the picture"),
        ((1.0, 1.0), {"bar_depth": 0.0}, "depth of the bars"),
        ((2.6, 1.0), {"roll": 3.0}, "bar"),
    ],
)
def test_a_wrong_canvas_is_named(
    size: tuple[float, float], given: dict[str, float], words: str
) -> None:
    with pytest.raises(InputError, match=words):
        canvas(size, **given)  # type: ignore[arg-type]


def test_old_walls_are_not_drilled_before_a_sample() -> None:
    harbour = DEMOS["harbour-flat"]
    assert "No drilling yet" in canvas_view(harbour, piece="harbour_canvas").result.cautions[0]
    sampled = replace(harbour.home, building=replace(harbour.home.building, sampled="yes"))
    view = canvas_view(replace(harbour, home=sampled), piece="harbour_canvas")
    assert not any("No drilling yet" in c for c in view.result.cautions)
    assert any("competent person" in c for c in view.result.cautions)
    with pytest.raises(LookupFailed, match="picture"):
        canvas_view(harbour, piece="sofa")


# --- floor boxes ------------------------------------------------------------------


def lamp(id: str, x: float, y: float, up: float = 0.0) -> Need:
    return Need(id=id, name=f"lamp {id}", kind="lamp", at=(x, y), up=up)


SOFA = Covered(name="sofa", shape=box(2.5, 1.5, 3.5, 2.5), box=True)
WEST = Outlet(id="w", name="socket west", at=(0.0, 2.0), height=0.3)


def test_what_the_wall_serves_needs_no_box() -> None:
    made = floor_boxes([lamp("a", 0.2, 1.0)], room=ROOM, outlets=[WEST], furniture=[SOFA])
    assert made.boxes == ()
    assert made.by_wall[0][:2] == ("a", "socket west")
    # The same lamp on a high shelf: 1.8 − 1.2 − 0.3 leaves 0.3 of cord for 1.02.
    high = floor_boxes([lamp("a", 0.2, 1.0, 1.2)], room=ROOM, outlets=[WEST], furniture=[SOFA])
    assert high.by_wall == ()
    assert high.left == ("a",)
    assert "Nothing reaches lamp a" in " ".join(high.cautions)


def test_a_cord_over_open_floor_asks_for_a_box() -> None:
    near = [lamp("a", 1.6, 2.0), lamp("b", 3.0, 1.4)]
    made = floor_boxes(near[1:], room=ROOM, outlets=[WEST], furniture=[SOFA], build_up=0.12)
    (found,) = made.boxes
    assert found.under == "sofa"
    assert found.serves == ("b",)
    x, y = found.at
    # Square to the walls: as far as it is to the left, and up or down to the outlet.
    assert found.run == pytest.approx(x + abs(y - 2.0))
    assert found.cable == pytest.approx(found.run * 1.1 + 0.3 + 2 * 0.3)
    assert made.order == pytest.approx(found.cable)
    assert made.fits
    # 1.6 m of floor lies open between the wall and lamp a, and 0.9 m to the sofa.
    open_ = floor_boxes(near[:1], room=ROOM, outlets=[WEST], furniture=[SOFA])
    assert open_.left == ("a",)


def test_one_box_serves_a_group_and_two_serve_two() -> None:
    table = Covered(name="table", shape=box(4.4, 0.6, 5.2, 1.4), box=True)
    needs = [lamp(str(i), 2.6 + 0.2 * i, 1.4) for i in range(4)]
    one = floor_boxes(needs, room=ROOM, outlets=[WEST], furniture=[SOFA, table])
    assert len(one.boxes) == 1
    assert one.boxes[0].outlets == 4
    five = [*needs, lamp("4", 3.4, 2.6)]  # a box has four outlets at most
    assert len(floor_boxes(five, room=ROOM, outlets=[WEST], furniture=[SOFA]).boxes) == 2
    apart = [*needs[:1], lamp("far", 4.8, 1.5)]
    two = floor_boxes(apart, room=ROOM, outlets=[WEST], furniture=[SOFA, table])
    assert {b.under for b in two.boxes} == {"sofa", "table"}


def test_no_box_under_a_carcass_and_a_rug_is_told() -> None:
    chest = replace(SOFA, name="chest", box=False)
    made = floor_boxes([lamp("b", 3.0, 1.4)], room=ROOM, outlets=[WEST], furniture=[chest])
    assert made.boxes == ()
    assert made.left == ("b",)
    rug = floor_boxes(
        [lamp("b", 3.0, 1.4)], room=ROOM, outlets=[WEST], furniture=[SOFA], rugs=[box(2, 1, 4, 3)]
    )
    assert rug.boxes[0].on_rug
    assert any("under a rug" in c for c in rug.cautions)


def test_a_cable_goes_round_a_pier_and_a_panel_is_no_outlet() -> None:
    pier = Polygon(ROOM.exterior, [box(1.0, 1.0, 2.0, 3.0).exterior.coords])
    length, path = cable_run((3.0, 2.0), (0.0, 2.0), inside=pier)
    assert length == pytest.approx(3.0 + 2 * 1.0)
    assert all(a[0] == b[0] or a[1] == b[1] for a, b in itertools.pairwise(path))
    panel = replace(WEST, plug=False, name="panel")
    made = floor_boxes([lamp("a", 0.1, 2.0)], room=ROOM, outlets=[panel], furniture=[SOFA])
    assert made.by_wall == ()
    alone = floor_boxes([lamp("b", 3.0, 1.4)], room=ROOM, outlets=[], furniture=[SOFA])
    assert alone.boxes[0].source == ""


def test_wrong_needs_are_named() -> None:
    twice = [lamp("a", 1, 1), lamp("a", 2, 2)]
    with pytest.raises(InputError, match="things to plug in"):
        floor_boxes(twice, room=ROOM, outlets=[WEST], furniture=[SOFA])
    with pytest.raises(InputError, match="cord"):
        floor_boxes([], room=ROOM, outlets=[WEST], furniture=[SOFA], cord=0.0)
    with pytest.raises(InputError, match="build-up"):
        floor_boxes([], room=ROOM, outlets=[WEST], furniture=[SOFA], build_up=-1.0)
    none = floor_boxes([], room=ROOM, outlets=[WEST], furniture=[SOFA])
    assert none.why[-1] == "nothing is plugged in"


def test_both_demos_as_drawn() -> None:
    flat, floor = DEMOS["harbour-flat"], DEMOS["parlor-floor"]
    assert box_view(flat, room="living").result.boxes == ()
    with_seats = box_view(flat, room="living", seats=True).result
    assert len(with_seats.boxes) == 2
    (box_,) = box_view(floor, room="parlor").result.boxes
    assert box_.serves == ("floor_lamp",)
    kinds = {s.kind for s in subjects(floor) if s.drawn}
    assert {"canvas", "floor boxes", "glass and stone"} <= kinds
    assert not any(s.kind == "floor boxes" and s.drawn for s in subjects(flat))
    with pytest.raises(LookupFailed, match="room"):
        box_view(flat, room="attic")


# --- tops -------------------------------------------------------------------------


def test_a_cut_out_takes_area_and_adds_edge() -> None:
    plain = top((2.0, 0.9), material="stone")
    hole = Cutout(at=(0.6, 0.45), width=0.5, depth=0.4)
    ring = Cutout(at=(1.5, 0.45), width=0.06)
    made = top((2.0, 0.9), material="stone", cutouts=[hole, ring])
    assert plain.net - made.net == pytest.approx(0.2 + math.pi * 0.03**2)
    assert made.edge - plain.edge == pytest.approx(1.8 + math.pi * 0.06)
    assert made.order == plain.order  # the slab is bought all the same
    assert made.mass < plain.mass


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ([Cutout(at=(0.26, 0.45), width=0.5, depth=0.4)], "cut-out 1"),
        ([Cutout(at=(1.0, 0.45), width=0.0)], "cut-out 1"),
        ([Cutout(at=(-0.1, 0.45), width=0.1)], "place of cut-out 1"),
        (
            [Cutout(at=(0.6, 0.45), width=0.5), Cutout(at=(1.1, 0.45), width=0.46)],
            "cut-outs 1 and 2",
        ),
    ],
)
def test_a_cut_out_too_near_is_named(given: list[Cutout], words: str) -> None:
    with pytest.raises(InputError, match=words):
        top((2.0, 0.9), material="stone", cutouts=given)


def test_a_hole_near_a_round_edge_is_named() -> None:
    top((0.9, 0.9), material="glass", shape="circle", cutouts=[Cutout(at=(0.45, 0.8), width=0.06)])
    with pytest.raises(InputError, match="cut-out 1"):
        top(
            (0.9, 0.9),
            material="glass",
            shape="circle",
            cutouts=[Cutout(at=(0.1, 0.1), width=0.06)],
        )


def test_a_top_that_reaches_too_far_says_so() -> None:
    thin = top((1.0, 0.6), material="stone", thickness=0.02, overhang=0.16)
    assert any("more than" in c for c in thin.cautions)
    thick = top((1.0, 0.6), material="stone", thickness=0.03, overhang=0.16)
    assert not any("more than 0.2" in c for c in thick.cautions)
    assert top((2.0, 0.3), material="stone", thickness=0.03).most_overhang == pytest.approx(
        0.3 / 3, abs=1e-4
    )


def test_typed_cut_outs() -> None:
    home = DEMOS["harbour-flat"].home
    round_, square = cutouts_of("60 mm at 0.2 m, 0.3 m; 0.5 m × 0.4 m at 1.2 m, 0.3 m", home=home)
    assert (round_.width, round_.depth, round_.at) == (0.06, None, (0.2, 0.3))
    assert (square.width, square.depth) == (0.5, 0.4)
    assert cutouts_of("", home=home) == ()
    with pytest.raises(InputError, match="cut-outs"):
        cutouts_of("60 mm", home=home)


def test_a_piece_that_is_a_top_is_taken_as_it_is() -> None:
    view = top_view(DEMOS["parlor-floor"], piece="sideboard_top")
    assert view.result.material == "stone"
    assert view.result.thickness == pytest.approx(0.75 * 0.0254)
    assert view.slab == (3.0, 1.6)


# --- drawings ---------------------------------------------------------------------


def _every(p: Project) -> list[object]:
    views = [drawn_view(p, s) for s in subjects(p) if s.kind in NEW]
    return views


NEW = ("canvas", "floor boxes", "glass and stone")
BLOCK = TitleBlock(project="p", title="t", number="D-611", date="2026-11-25", status="study")


@pytest.mark.parametrize("demo", DEMOS)
def test_each_drawing_is_clear_and_says_its_order(demo: str) -> None:
    p = DEMOS[demo]
    extra = [
        canvas_view(p, piece="harbour_canvas" if demo == "harbour-flat" else "garden_canvas",
                    count=5),
        *(box_view(p, room=r, seats=True, build_up=0.05) for r in p.home.rooms),
        top_view(p, piece="dining_table", material="stone", overhang=0.2, count=3, radius=0.05,
                 cutouts=[Cutout(at=(0.6, 0.5), width=0.5, depth=0.4),
                          Cutout(at=(2.0, 0.9), width=0.06)]),
    ]  # fmt: skip
    for view in (*_every(p), *extra):
        for page in (False, True):
            drawn = view_figure(view, block=BLOCK, paper="A3", page=page)  # type: ignore[arg-type]
            assert faults(drawn) == [], drawn.title
            said = " ".join(i.text for i in drawn.items if isinstance(i, Text))
            said = said.replace("\u00a0", " ")
            order = amounts(view).order[0 if p.home.units == "m" else 1]  # type: ignore[arg-type]
            if not drawn.title.startswith("Which outlets"):
                assert order.split(",")[0].split(" wide")[0] in said
    for view in extra[1:2]:
        drawn = view_figure(view, page=True)
        dashed = [i for i in drawn.items if isinstance(i, Line) and i.dash == (4.0, 1.6)]
        assert len(dashed) == len(view.result.boxes)


def test_words_of_any_top_and_canvas_are_clear() -> None:
    chance = random.Random(4)
    drawn = 0
    for p in DEMOS.values():
        for _ in range(40):
            kind = chance.choice(["glass top", "stone top", "canvas"])
            flat = kind != "canvas"
            size = (
                chance.uniform(0.2, 2.4),
                chance.uniform(0.2, 1.5) if flat else 0.038,
                chance.uniform(0.006, 0.04) if flat else chance.uniform(0.2, 1.8),
            )
            one = replace(p.home.pieces["sofa"], name="a thing", kind=kind, size=size)
            q = replace(p, home=replace(p.home, pieces={"x": one}, layouts={}))
            hole = Cutout(at=(size[0] / 2, size[1] / 2), width=chance.uniform(0.03, size[0] / 2))
            try:
                if flat:
                    view: object = top_view(
                        q,
                        piece="x",
                        overhang=chance.choice([0.0, 0.05, 0.1]),
                        radius=chance.choice([0.0, 0.01, 0.1]),
                        cutouts=[hole] if chance.random() < 0.5 else [],
                        count=chance.randint(1, 12),
                    )
                else:
                    view = canvas_view(q, piece="x", count=chance.randint(1, 12))
            except InputError:
                continue  # too large for a slab or a roll, or the hole too near the edge
            for page in (False, True):
                sheet = view_figure(view, block=BLOCK, paper="A3", page=page)  # type: ignore[arg-type]
                assert faults(sheet) == [], (kind, size)
                drawn += 1
    assert drawn > 60


@pytest.mark.parametrize("demo", DEMOS)
def test_floor_boxes_of_every_layout_are_clear(demo: str) -> None:
    p = DEMOS[demo]
    for layout in p.home.layouts:
        for room in p.home.rooms:
            for cord in (0.8, 1.8, 3.0):
                view = box_view(p, room=room, layout=layout, seats=True, cord=cord)
                for page in (False, True):
                    drawn = view_figure(view, block=BLOCK, paper="A3", page=page)
                    assert faults(drawn) == [], (layout, room, cord)
