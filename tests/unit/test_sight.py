"""Sight: the floor in view, windows past pieces, seats and screens."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box

from designkit.errors import InputError
from designkit.plan.seating import conversation, screen_view
from designkit.plan.sight import Occluder, isovist, view_share

WINDOW = {"jambs": ((0.5, 4.0), (3.5, 4.0)), "sill": 0.9, "head": 2.4}


def test_isovist_is_what_straight_lines_reach() -> None:
    room = Polygon(
        [(0, 0), (7, 0), (7, 3), (4, 3), (4, 5), (0, 5)], [[(2, 2), (2.4, 2), (2.4, 2.4), (2, 2.4)]]
    )
    blocks = [("shelves", affinity.rotate(box(4.6, 1, 5.0, 2), 30)), ("pier", box(1, 3.5, 1.3, 5))]
    eye = (3.3, 1.1)
    seen = isovist(eye, room=room, obstacles=blocks)
    free = room.difference(shapely.union_all([shape for _, shape in blocks]))
    rng = np.random.default_rng(1)
    points = rng.uniform([0, 0], [7, 5], (4000, 2))
    lines = shapely.linestrings([[eye, p] for p in points])
    visible = shapely.covers(free, lines)
    inside = shapely.contains_xy(seen.polygon, points)
    close = shapely.distance(seen.polygon.exterior, shapely.points(points)) < 1e-6
    assert (visible == inside)[~close].all()


def test_isovist_area_by_thin_triangles() -> None:
    room = box(0, 0, 6, 4).difference(box(2.5, 1.5, 3.5, 2.5))
    eye = (1.0, 2.0)
    count = 20000
    angles = (np.arange(count) + 0.5) * 2 * math.pi / count
    far = np.array(eye) + 20 * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    rays = shapely.intersection(shapely.linestrings([[eye, p] for p in far]), room)
    reach = np.array(
        [shapely.get_parts(r)[0].length if r.geom_type != "LineString" else r.length for r in rays]
    )
    by_rays = float((reach**2).sum() / 2 * 2 * math.pi / count)
    seen = isovist(eye, room=room)
    assert seen.area == pytest.approx(by_rays, rel=1e-3)
    # Behind the block: two edges of its shadow are no surface.
    assert seen.occluded == pytest.approx(
        2 * (math.dist(eye, (6, 2 + 0.5 * 5 / 1.5)) - math.dist(eye, (2.5, 2.5))), abs=1e-9
    )


def test_isovist_of_a_plain_room_is_the_room() -> None:
    seen = isovist((2.0, 1.0), room=box(0, 0, 5, 3))
    assert seen.area == pytest.approx(15.0)
    assert seen.perimeter == pytest.approx(16.0)
    assert seen.occluded == pytest.approx(0.0, abs=1e-12)
    assert seen.circularity == pytest.approx(256 / (60 * math.pi))


def hit_by_rays(
    eye: tuple[float, float, float], occluders: list[Occluder], room: Polygon | None = None
) -> float:
    """Share of the window seen, one ray a cell, each tested as a line in space."""
    (ax, ay), (bx, by) = WINDOW["jambs"]
    n, m = 240, 120
    u = (np.arange(n) + 0.5) / n
    v = WINDOW["sill"] + (np.arange(m) + 0.5) / m * (WINDOW["head"] - WINDOW["sill"])
    seen = np.ones((n, m), bool)
    for i, part in enumerate(u):
        x, y = ax + part * (bx - ax), ay + part * (by - ay)
        line = LineString([eye[:2], (x, y)])
        whole = line.length
        if room is not None and not room.buffer(1e-9).covers(line):
            seen[i] = False
        for o in occluders:
            if o.transmits:
                continue
            cut = line.intersection(o.footprint)
            for piece in shapely.get_parts(cut):
                if piece.length < 1e-12:
                    continue
                d = [Point(eye[:2]).distance(Point(c)) / whole for c in piece.coords]
                z0 = eye[2] + (v - eye[2]) * min(d)
                z1 = eye[2] + (v - eye[2]) * max(d)
                below = np.maximum(z0, z1) <= o.base
                above = np.minimum(z0, z1) >= o.top
                seen[i] &= below | above
    return float(seen.mean())


PIECES = [
    Occluder(id="bookcase", footprint=box(0.9, 2.4, 1.7, 2.8), base=0.0, top=2.2),
    Occluder(id="table", footprint=Point(2.2, 1.8).buffer(0.5, 16), base=0.70, top=0.74),
    Occluder(id="lamp", footprint=Point(2.9, 2.5).buffer(0.2, 16), base=1.2, top=1.6),
    Occluder(
        id="corner unit",
        footprint=Polygon([(2.4, 3), (3.4, 3), (3.4, 3.8), (3.1, 3.8), (3.1, 3.3), (2.4, 3.3)]),
        base=0.0,
        top=1.3,
    ),
]


@pytest.mark.parametrize(
    "eye", [(2.0, 0.5, 1.2), (0.3, 0.6, 1.2), (3.8, 0.4, 1.55), (2.2, 1.5, 0.9), (1.2, 2.0, 1.7)]
)
def test_window_past_pieces_agrees_with_rays(eye: tuple[float, float, float]) -> None:
    view = view_share(eye, occluders=PIECES, **WINDOW)
    assert view.share == pytest.approx(hit_by_rays(eye, PIECES), abs=0.006)


def test_round_a_corner_of_the_room_agrees_with_rays() -> None:
    room = Polygon([(0, 0), (6, 0), (6, 2), (3.5, 2), (3.5, 4), (0, 4)])
    for eye in ((5.0, 0.8, 1.2), (4.0, 1.9, 1.2), (1.0, 1.0, 1.2)):
        view = view_share(eye, occluders=PIECES[:2], room=room, **WINDOW)
        assert view.share == pytest.approx(hit_by_rays(eye, PIECES[:2], room), abs=0.006)
    assert view_share((1.0, 1.0, 1.2), room=room, **WINDOW).share == 1.0


def test_low_pieces_and_glass_hide_nothing_and_tall_ones_do() -> None:
    eye = (2.0, 0.5, 1.2)
    low = Occluder(id="low table", footprint=box(1.5, 1.5, 2.5, 2.2), base=0.0, top=0.4)
    tall = Occluder(id="bookcase", footprint=box(0.2, 3.0, 3.8, 3.4), base=0.0, top=2.6)
    glass = Occluder(
        id="screen", footprint=box(0.2, 3.0, 3.8, 3.1), base=0.0, top=2.6, transmits=True
    )
    assert view_share(eye, occluders=[low, glass], **WINDOW).share == 1.0
    hidden = view_share(eye, occluders=[tall], **WINDOW)
    assert hidden.share == 0.0
    assert hidden.angle == 0.0
    assert hidden.hidden_by == {"bookcase": pytest.approx(1.0)}


def test_angle_is_that_of_the_jambs_and_is_cut_at_the_limit() -> None:
    eye = (2.0, 1.0, 1.2)
    bare = view_share(eye, facing=90, **WINDOW)
    assert bare.angle == pytest.approx(2 * math.degrees(math.atan(1.5 / 3)))
    assert bare.off_ahead == pytest.approx(0.0, abs=1e-9)
    # Turned by 50° only what is right of 10° left of the middle counts.
    aside = view_share(eye, facing=40, **WINDOW)
    assert aside.angle == pytest.approx(10 + math.degrees(math.atan(0.5)))
    assert view_share(eye, facing=-90, **WINDOW).angle == 0.0
    assert len(bare.sight_lines) == 2
    ends = sorted(line[1] for line in bare.sight_lines)
    assert ends[0] == pytest.approx((0.5, 4.0))
    assert ends[1] == pytest.approx((3.5, 4.0))


def test_jambs_in_either_order_and_either_side() -> None:
    eye = (1.0, 0.5, 1.2)
    one = view_share(eye, occluders=PIECES, facing=80, **WINDOW)
    back = {**WINDOW, "jambs": WINDOW["jambs"][::-1]}
    other = view_share(eye, occluders=PIECES, facing=80, **back)
    assert one.share == pytest.approx(other.share, abs=1e-12)
    assert one.angle == pytest.approx(other.angle, abs=1e-9)


def test_solid_angle_of_a_rectangle() -> None:
    # Centred rectangle a × b at distance d: 4 atan(ab / 2d√(4d² + a² + b²)), geometry.
    view = view_share((2.0, 1.0, 1.65), **WINDOW)
    a, b, d = 3.0, 1.5, 3.0
    exact = 4 * math.atan(a * b / (2 * d * math.sqrt(4 * d**2 + a**2 + b**2)))
    assert view.solid_angle == pytest.approx(exact, rel=1e-12)
    assert view.share_of_angle == pytest.approx(1.0)


def test_screen_mirrors_the_window_behind_the_seat() -> None:
    # Mirror law in plan: eye (0, 2), window on y = 4 from −1 to 1 fills 2·2/(2 + 4) in the middle.
    view = screen_view(
        (0.0, 2.0),
        centre=(0.0, 0.0),
        normal=90,
        width=1.2,
        height=0.675,
        facing=-90,
        windows=[("behind", ((-1, 4), (1, 4))), ("beside the screen", ((2, 0), (3, 0)))],
    )
    assert view.glare["behind"] == pytest.approx((4 / 6) / 1.2)
    assert view.glare["beside the screen"] == 0.0
    assert view.glare_angle["behind"] == pytest.approx(0.0, abs=1e-9)
    assert view.turn == pytest.approx(0.0, abs=1e-9)
    assert view.off_axis == pytest.approx(0.0)


def test_seats_that_turn_their_backs_do_not_face() -> None:
    pairs = conversation([("sofa", (0, 0), 0), ("armchair", (2, 0), 0), ("chair", (0, 3.5), -90)])
    assert [p.face for p in pairs] == [False, False, False]
    assert pairs[0].turn_second == pytest.approx(180)
    assert pairs[1].band == "far"


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: isovist((9, 9), room=box(0, 0, 5, 3)), "inside the room"),
        (
            lambda: isovist((1, 1), room=box(0, 0, 5, 3), obstacles=[("sofa", box(0, 0, 2, 2))]),
            "it is in sofa",
        ),
        (lambda: isovist((math.nan, 1), room=box(0, 0, 5, 3)), "finite"),
        (
            lambda: view_share((1, 1, 1.2), jambs=((0, 4), (0, 4)), sill=1, head=2),
            "window width",
        ),
        (
            lambda: view_share((1, 1, 1.2), jambs=((0, 4), (1, 4)), sill=2, head=2),
            "window height",
        ),
        (lambda: view_share((2, 4, 1.2), **WINDOW), "own plane"),
        (lambda: view_share((9, 1, 1.2), room=box(0, 0, 5, 4), **WINDOW), "inside the room"),
        (lambda: view_share((1.2, 2.5, 1.2), occluders=PIECES, **WINDOW), "it is in bookcase"),
        (lambda: conversation([("a", (0, 0), 0), ("b", (0, 0), 0)]), "different places"),
        (
            lambda: screen_view((0, -1), centre=(0, 0), normal=90, width=1, height=0.6),
            "before the screen",
        ),
    ],
)
def test_bad_eyes_and_openings_are_refused(call: object, match: str) -> None:
    assert callable(call)
    with pytest.raises(InputError, match=match):
        call()
