"""Drapery in plan: tracks, stacks, states and hems; and the adapters of a space."""

from __future__ import annotations

import math

import pytest
from shapely.geometry import Polygon

from designkit.errors import InputError, LookupFailed
from designkit.model import Drape, Home, Layout, Opening, Piece, Placement, Room
from designkit.plan.drapery import drapery, fullness_band, hem
from designkit.plan.onplan import floor_of, hang, opening_of, seat_of, talk, view_from
from designkit.plan.place import place_all
from designkit.plan.routes import widest
from designkit.plan.sight import Occluder
from designkit.plan.space import spaces

WINDOW = Opening(
    room="living", wall=0, offset=1.0, width=3.0, sill=0.8, head=2.4, kind="window", view="canal"
)
AT = {"opening": WINDOW, "wall": ((0.0, 0.0), (5.0, 0.0)), "inward": (0.0, 1.0), "ceiling": 2.7}


def cloth(**more: object) -> Drape:
    return Drape(**{"opening": "window", "finish": "linen", "track": 4.0, **more})


def test_states_run_from_stacks_to_the_whole_track() -> None:
    found = drapery(cloth(), drawn=0.5, **AT)
    widths = {s: sum(c.end - c.start for c in each) for s, each in found.states.items()}
    assert widths["open"] == pytest.approx(found.stack)
    assert widths["closed"] == pytest.approx(4.0)
    assert widths["part"] == pytest.approx((found.stack + 4.0) / 2)
    left, right = found.states["closed"]
    assert left.footprint.intersection(right.footprint).area == pytest.approx(0, abs=1e-12)
    assert sum(c.hides for c in (left, right)) == pytest.approx(3.0)
    assert found.uncovered_closed == 0.0


def test_short_track_hides_glass_and_says_how_long_it_should_be() -> None:
    found = drapery(cloth(track=3.2), **AT)
    # 0.1 beyond the glass at each end; each stack of a third of 3 m, halved, is 0.5.
    assert found.hidden_open == pytest.approx(2 * (0.5 - 0.1))
    assert found.share_hidden_open == pytest.approx(0.8 / 3)
    longer = drapery(cloth(track=found.track_to_clear), **AT)
    assert longer.hidden_open == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("wall", "inward", "left_x"),
    [
        # Room above the wall: facing it, one looks down and left is at high x.
        (((0.0, 0.0), (5.0, 0.0)), (0.0, 1.0), 4.5),
        (((0.0, 0.0), (5.0, 0.0)), (0.0, -1.0), 0.5),
        (((5.0, 0.0), (0.0, 0.0)), (0.0, 1.0), 4.5),
    ],
)
def test_left_is_left_from_inside(
    wall: tuple[tuple[float, float], tuple[float, float]],
    inward: tuple[float, float],
    left_x: float,
) -> None:
    found = drapery(cloth(draw="left"), opening=WINDOW, wall=wall, inward=inward, ceiling=2.7)
    (curtain,) = found.states["open"]
    assert curtain.side == "left"
    assert found.track[0][0] == pytest.approx(left_x)
    end = found.track[0]
    assert abs(curtain.footprint.centroid.x - end[0]) == pytest.approx(found.stack / 2)
    # It hangs on the room's side of the wall.
    assert curtain.footprint.centroid.y * inward[1] > 0


@pytest.mark.parametrize("kind", ["clear", "kissing", "break", "puddle"])
def test_drop_reaches_from_top_to_hem(kind: str) -> None:
    found = drapery(cloth(hem=kind, top=2.6), **AT)
    base, lies = hem(kind)
    assert found.drop == pytest.approx(2.6 - base + lies)
    assert {c.base for c in found.states["closed"]} == {base}
    assert {c.top for c in found.states["open"]} == {2.6}


def test_fullness_is_the_middle_of_its_band_unless_given() -> None:
    assert drapery(cloth(), **AT).fullness == pytest.approx(2.0)
    given = drapery(cloth(fullness=1.5), **AT)
    assert given.fullness == 1.5
    assert not given.fullness_in_band


@pytest.mark.parametrize(
    ("more", "match"),
    [
        ({"track": 6.0}, "along the wall"),
        ({"track": 0.0}, "track"),
        ({"track": math.nan}, "finite"),
        ({"track": 0.9, "track_offset": 1.0}, "stack"),
        ({"fullness": 0.5}, "fullness"),
        ({"top": 3.0}, "top of the drape"),
    ],
)
def test_drapes_that_cannot_hang_are_refused(more: dict[str, object], match: str) -> None:
    with pytest.raises(InputError, match=match):
        drapery(cloth(**more), **AT)


def test_words_that_are_not_there_are_refused() -> None:
    with pytest.raises(InputError, match="wave, pinch"):
        fullness_band("smocked")
    with pytest.raises(InputError, match="kissing"):
        hem("floating")
    with pytest.raises(InputError, match="window width"):
        drapery(
            cloth(),
            opening=Opening(room="living", wall=0, offset=1, width=0, head=2, kind="window"),
            wall=AT["wall"],
            inward=(0, 1),
            ceiling=2.7,
        )


# --- the same through a space ----------------------------------------------------


@pytest.fixture
def home() -> Home:
    """A room of 5 by 4 m, door in the west, window in the south."""
    return Home(
        name="test",
        rooms={"living": Room(name="living", outline=((0, 0), (5, 0), (5, 4), (0, 4)), height=2.7)},
        openings={
            "window": WINDOW,
            "door": Opening(
                room="living",
                wall=3,
                offset=1.0,
                width=1.0,
                head=2.1,
                kind="door",
                to="stair",
                swing="out",
                hinge="left",
                clear_width=0.9,
            ),
        },
        pieces={
            "sofa": Piece(name="sofa", kind="sofa", size=(2.0, 0.9, 0.8)),
            "armchair": Piece(name="armchair", kind="armchair", size=(0.8, 0.8, 0.8)),
            "bookcase": Piece(name="bookcase", kind="bookcase", size=(1.0, 0.35, 2.2)),
        },
        layouts={
            "a": Layout(
                name="a",
                pieces={
                    "sofa": Placement(at=(2.5, 3.5), rotation=0),
                    "armchair": Placement(at=(2.5, 1.2), rotation=180),
                    "bookcase": Placement(at=(3.4, 0.6), rotation=90),
                },
            )
        },
    )


def test_a_space_gives_routes_views_talk_and_drapery(home: Home) -> None:
    space = spaces(home)["living"]
    placed = place_all(home.pieces, home.layouts["a"])
    floor = floor_of(space, placed)
    route = widest(floor, start="door", end="bookcase")
    assert route.open
    assert route.width <= 0.9 + 1e-9
    # Sofa and armchair leave (3.5 − 0.45) − (1.2 + 0.4) = 1.45 m, more than the door.
    assert route.between == ("door", "door")

    bare = view_from(space, {"sofa": placed["sofa"]}, piece="sofa", opening="window")
    assert bare.share == 1.0
    past = view_from(space, placed, piece="sofa", opening="window")
    assert past.share < 1.0
    assert "bookcase" in past.hidden_by
    drape = hang(space, cloth(track=3.2))
    stacks = [
        Occluder(id="drape", footprint=c.footprint, base=c.base, top=c.top)
        for c in drape.states["open"]
    ]
    dressed = view_from(
        space, {"sofa": placed["sofa"]}, piece="sofa", opening="window", more=stacks
    )
    # By hand: the cloth hangs from floor to ceiling, so only its shadow along the wall counts.
    x, depth = seat_of(placed, "sofa").at
    hidden = 0.0
    for curtain in drape.states["open"]:
        cast = [
            x + (a - x) * depth / (depth - b) for a, b in curtain.footprint.exterior.coords[:-1]
        ]
        hidden += min(max(cast), 4.0) - max(min(cast), 1.0)
    assert dressed.share == pytest.approx(1 - hidden / 3.0, abs=1e-9)
    assert dressed.hidden_by == {"drape": pytest.approx(hidden / 3.0)}

    pairs = talk(placed, pieces=("sofa", "armchair"))
    assert pairs
    assert {pair.second for pair in pairs} == {"armchair"}
    assert isinstance(drape.states["open"][0].footprint, Polygon)


def test_names_that_the_space_does_not_have(home: Home) -> None:
    space = spaces(home)["living"]
    placed = place_all(home.pieces, home.layouts["a"])
    with pytest.raises(LookupFailed, match="use window"):
        opening_of(space, "windo")
    with pytest.raises(LookupFailed, match="place it first"):
        view_from(space, placed, piece="stool", opening="window")
    with pytest.raises(InputError, match="a piece with seats"):
        view_from(space, placed, piece="bookcase", opening="window")
