"""Rays, fields of view and viewpoints: laws, traps and sentences."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString

from designkit.balance import gap, shares, view_weights
from designkit.errors import InputError, LookupFailed
from designkit.model import (
    Chairs,
    Colour,
    Drape,
    Finish,
    Home,
    Layout,
    Opening,
    Part,
    Piece,
    Placement,
    Room,
)
from designkit.palette.finishes import resolve_all
from designkit.scene.rays import cast
from designkit.scene.solids import solids
from designkit.scene.view import (
    FIELDS,
    Field,
    find_viewpoint,
    look,
    picture,
    scene_of,
    seen_in_front,
    spread,
    standing,
    viewpoints,
)

CUBE = Room(
    name="Cube",
    outline=((0.0, 0.0), (3.0, 0.0), (3.0, 3.0), (0.0, 3.0)),
    height=3.0,
    floor="oak",
    ceiling="white",
    wall="white",
)
FINISHES = {
    "white": Finish(name="white", colours=(Colour(lab=(93, 0, 0), within=0.0),)),
    "black": Finish(name="black", kind="lacquer", colours=(Colour(lab=(17, 0, 0), within=0.0),)),
    "oak": Finish(name="oak", kind="timber", warm=True, colours=(Colour(lab=(62, 6, 9)),)),
}


def block(w: float, d: float, h: float, *, shape: str = "rectangle", **more: object) -> Piece:
    part = Part(name="body", shape=shape, size=(w, d), top=h, **more)  # type: ignore[arg-type]
    return Piece(name="b", kind="ottoman", size=(w, d, h), finish="black", parts=(part,))


def home(pieces: dict[str, Piece] | None = None, **more: object) -> Home:
    given: dict[str, object] = {"rooms": {"r": CUBE}, "finishes": FINISHES, **more}
    return Home(name="h", pieces=pieces or {}, **given)  # type: ignore[arg-type]


def plan(**at: Placement) -> Layout:
    return Layout(name="A", pieces=at)


def by_item(seen: object) -> dict[str, float]:
    found: dict[str, float] = {}
    for target, share in seen.shares:  # type: ignore[attr-defined]
        found[target.item] = found.get(target.item, 0.0) + share
    return found


def test_from_the_middle_of_a_cube_each_face_is_a_sixth() -> None:
    middle = standing((1.5, 1.5), facing=0.0, eye=1.5)
    seen = look(scene_of(home(), plan()), middle, fields=[FIELDS["sphere"]], rays=30_000)[0]
    shares_ = {(t.kind, t.part): s for t, s in seen.shares}
    assert len(shares_) == 6
    for share in shares_.values():
        assert share == pytest.approx(1 / 6, abs=2e-4)


def test_fields_turn_with_the_line_of_sight() -> None:
    scene = scene_of(home(), plan())
    east, north = (
        look(scene, standing((1.5, 1.5), facing=f, eye=1.5), fields=[FIELDS["30"]])[0]
        for f in (0.0, 90.0)
    )
    assert east.shares[0][0].part == "wall 1"
    assert north.shares[0][0].part == "wall 2"
    assert east.shares[0][1] == 1.0  # 30° about the middle stays on the one wall


def test_a_band_keeps_to_its_height_and_side() -> None:
    way = spread(FIELDS["band"], facing=90.0, rays=2000)
    assert np.abs(way[:, 2]).max() <= math.sin(math.radians(20)) + 1e-12
    assert way[:, 1].min() >= -1e-12
    assert np.linalg.norm(way, axis=1) == pytest.approx(1.0)


def test_a_wide_field_and_its_parts_agree() -> None:
    pieces = {"b": block(0.8, 0.5, 1.8)}
    scene = scene_of(home(pieces), plan(b=Placement(at=(2.2, 1.2), rotation=30.0)))
    eye = standing((0.6, 1.5), facing=0.0)
    for count in (4000, 64_000):
        seen = look(scene, eye, fields=[FIELDS["60"]], rays=count)[0]
        assert sum(s for _, s in seen.shares) == pytest.approx(1.0)
        if count == 4000:
            quick = by_item(seen)["b"]
    # Measured: 4,000 rays are within 0.2 point.
    assert quick == pytest.approx(by_item(seen)["b"], abs=0.002)


def _oracle(body: object, eye: np.ndarray, way: np.ndarray) -> float:
    """Distance along a ray to a prism, by cutting its track on plan with shapely."""
    far = eye[:2] + way[:2] * 50
    track = LineString([eye[:2], far])
    cut = track.intersection(body.footprint)  # type: ignore[attr-defined]
    best = math.inf
    for line in shapely.get_parts(cut):
        if line.geom_type != "LineString" or line.length == 0:
            continue
        ends = sorted(math.dist(eye[:2], p) / np.hypot(*way[:2]) for p in line.coords)
        lows = sorted(((body.base - eye[2]) / way[2], (body.top - eye[2]) / way[2]))  # type: ignore[attr-defined]
        enter, leave = max(ends[0], lows[0]), min(ends[-1], lows[1])
        if 0 < enter < leave:
            best = min(best, enter)
    return best


spot = st.tuples(
    st.floats(0.3, 2.7),
    st.floats(1.0, 2.7),
    st.floats(0, 360),
    st.floats(0.1, 0.9),
    st.floats(0, 2),
)
shapes = st.sampled_from(["rectangle", "circle", "ring"])


@settings(max_examples=30)
@given(st.lists(st.tuples(spot, shapes), min_size=1, max_size=5))
@example([((2.076171875, 1.173828125, 0.0, 0.6875, 1.5), "ring")])
@example([((1.5, 1.0625, 52.0, 0.8828125, 0.5), "ring")])
def test_the_nearest_prism_is_the_one_that_plan_and_heights_tell(
    things: list[tuple[tuple[float, ...], str]],
) -> None:
    pieces, places = {}, {}
    for n, ((x, y, turn, size, base), shape) in enumerate(things):
        other = size * 0.6 if shape != "circle" else size * 0.8
        pieces[f"p{n}"] = block(size, other, 0.4, shape=shape)
        places[f"p{n}"] = Placement(at=(x, y), rotation=turn, base=base)
    scene = scene_of(home(pieces), Layout(name="A", pieces=places))
    bodies = solids(home(pieces), Layout(name="A", pieces=places))
    eye = np.array([1.5, 0.2, 1.4])
    way = spread(Field(name="c", kind="cone", half=80.0), facing=90.0, rays=60)
    way = way[np.abs(way[:, 2]) > 1e-6]
    hits = cast(scene, tuple(eye), way)
    # Polygons that draw discs lie within them by 0.06 % of their radius: a ray meets
    # what it meets between a body a little larger and one a little smaller.
    grown, worn = (
        [dataclasses.replace(b, footprint=b.footprint.buffer(by)) for b in bodies]
        for by in (5e-4, -5e-4)
    )
    for ray, target, distance in zip(way, hits.target, hits.distance, strict=True):
        first = [_oracle(b, eye, ray) for b in grown]
        last = [_oracle(b, eye, ray) for b in worn]
        if scene.targets[target].kind == "piece":
            could = {b.owner for b, told in zip(bodies, first) if told <= distance + 1e-6}
            assert scene.targets[target].owner in could or _grazes(bodies, eye, ray)
            assert distance <= min(last) + 1e-6 or _grazes(bodies, eye, ray)
        else:
            assert min(last) >= distance - 1e-6 or _grazes(bodies, eye, ray)


def _grazes(bodies: object, eye: np.ndarray, ray: np.ndarray) -> bool:
    """The track passes within 2 mm of a disc's edge, or of a height's edge."""
    track = LineString([eye[:2], eye[:2] + ray[:2] * 50])
    for body in bodies:  # type: ignore[attr-defined]
        larger, smaller = body.footprint.buffer(2e-3), body.footprint.buffer(-2e-3)
        if track.intersects(larger) != track.intersects(smaller):
            return True
        cut = track.intersection(body.footprint)
        for p in shapely.get_coordinates(cut):
            z = eye[2] + math.dist(eye[:2], p) / np.hypot(*ray[:2]) * ray[2]
            if min(abs(z - body.base), abs(z - body.top)) < 5e-3:
                return True
    return False


def test_through_a_ring_and_against_its_inner_edge() -> None:
    ring = Piece(
        name="p",
        kind="ottoman",
        size=(1, 1, 1),
        finish="black",
        parts=(Part(name="ring", shape="ring", size=(1.0, 0.8), top=0.2),),
    )
    scene = scene_of(home({"p": ring}), plan(p=Placement(at=(1.5, 1.5), base=2.0)))
    up = cast(scene, (1.5, 1.5, 1.0), [(0, 0, 1), (0.45, 0, 1), (0.35, 0, 1.1), (0.9, 0, 1)])
    kinds = [scene.targets[n].kind for n in up.target]
    # Straight up through the hole; onto the ring's underside; through the hole
    # and then against its inner face; past it.
    assert kinds == ["ceiling", "piece", "ceiling", "wall"]
    inner = cast(scene, (1.5, 1.5, 2.1), [(1, 0, 0), (0, -1, 0.05)])
    assert inner.distance[0] == pytest.approx(0.4)
    assert scene.targets[inner.target[1]].kind == "piece"


def test_glass_is_seen_through() -> None:
    pieces = {"g": block(1.0, 0.1, 2.0, transmits=True), "b": block(0.5, 0.5, 1.8)}
    places = plan(g=Placement(at=(1.5, 1.0)), b=Placement(at=(1.5, 2.0)))
    scene = scene_of(home(pieces), places)
    hit = cast(scene, (1.5, 0.3, 1.5), [(0, 1, 0)])
    assert scene.targets[hit.target[0]].owner == "b"


def test_a_passage_opens_the_next_room_and_a_door_closes_it() -> None:
    beyond = dataclasses.replace(
        CUBE, name="Beyond", outline=tuple((x + 3.2, y) for x, y in CUBE.outline), wall="black"
    )
    passage = Opening(
        room="r", wall=1, offset=1.0, width=1.0, head=2.1, kind="passage", to="s", thickness=0.2
    )
    both = home(rooms={"r": CUBE, "s": beyond}, openings={"p": passage})
    eye = standing((0.5, 1.5), facing=0.0)
    ways = [(1, 0, 0), (1, 0.19, 0), (1, 0, 0.213), (1, 0, -0.5)]
    scene = scene_of(both, plan())
    hits = cast(scene, (0.5, 1.5, 1.55), ways)
    met = [(scene.targets[n].owner, scene.targets[n].part) for n in hits.target]
    assert met == [("s", "wall 1"), ("r", "jamb"), ("r", "jamb"), ("s", "floor")]
    assert hits.distance[0] == pytest.approx(5.7)
    alone = scene_of(both, plan(), rooms=["r"])
    hits = cast(alone, (0.5, 1.5, 1.55), ways[:1])
    assert alone.targets[hits.target[0]].kind == "beyond"
    seen = look(alone, eye)[0]
    found = shares(view_weights(seen), finishes=resolve_all(FINISHES), by="view")
    assert found.outside == pytest.approx(by_item(seen)["beyond"])
    door = dataclasses.replace(passage, kind="door", swing="in", hinge="left")
    closed = scene_of(home(rooms={"r": CUBE, "s": beyond}, openings={"p": door}), plan())
    hits = cast(closed, (0.5, 1.5, 1.55), ways[:1])
    assert closed.targets[hits.target[0]].item == "p.leaf"


WINDOW = Opening(
    room="r", wall=1, offset=0.5, width=2.0, sill=0.5, head=2.3, kind="window", frame="white"
)


def test_a_window_by_day_after_dark_and_with_its_drapery_drawn() -> None:
    values = resolve_all(FINISHES)
    eye = standing((0.5, 1.5), facing=0.0)
    bare = home(openings={"w": WINDOW})
    seen = look(scene_of(bare, plan()), eye)[0]
    glass = by_item(seen)["w.glass"]
    by_day = shares(view_weights(seen), finishes=values, by="view")
    assert by_day.outside == pytest.approx(glass)
    assert by_day.shares["black"] == 0
    assert sum(by_day.shares[k] for k in ("dark", "mid", "light")) == pytest.approx(1 - glass)
    assert "of no class" not in by_day.why
    assert "belongs to the view and to no class" in by_day.definitions
    after_dark = shares(view_weights(seen, night=True), finishes=values, by="view")
    assert after_dark.shares["black"] == pytest.approx(glass)
    cloth = Drape(opening="w", finish="white", track=2.4, state="closed")
    drawn = Layout(name="A", drapes={"d": cloth})
    seen = look(scene_of(bare, drawn), eye)[0]
    assert "w.glass" not in by_item(seen)
    hidden = shares(view_weights(seen, night=True), finishes=values, by="view")
    assert hidden.shares["black"] == 0


def test_swaps_close_a_gap_by_view_too() -> None:
    pieces = {"b": block(1.0, 0.5, 1.6)}
    scene = scene_of(home(pieces), plan(b=Placement(at=(2.2, 1.5), rotation=90.0)))
    seen = look(scene, standing((0.6, 1.5), facing=0.0))[0]
    found = gap(view_weights(seen), finishes=resolve_all(FINISHES), band=(0.0, 0.02), by="view")
    assert found.share == pytest.approx(by_item(seen)["b"])
    assert "% of the view would meet it" in found.why
    assert found.swaps[0].changes[0].item == "b"
    assert found.swaps[0].share == 0


def test_viewpoints_are_doors_and_one_seat_of_each_piece() -> None:
    chair = Piece(name="c", kind="chair", size=(0.4, 0.45, 0.8), finish="black")
    table = Piece(
        name="t",
        kind="dining table",
        size=(0.9, 0.8, 0.74),
        finish="oak",
        chairs=Chairs(piece="chair", front=1, back=1),
    )
    door = Opening(
        room="r",
        wall=0,
        offset=0.1,
        width=0.9,
        head=2.1,
        kind="door",
        hinge="left",
        swing="out",
        to="stair",
    )
    rooms = {"r": dataclasses.replace(CUBE, outline=((0, 0), (5, 0), (5, 5), (0, 5)))}
    flat = home({"chair": chair, "table": table}, rooms=rooms, openings={"d": door})
    points = viewpoints(flat, plan(table=Placement(at=(3.0, 3.0))))
    assert list(points) == ["d", "table.front1"]
    assert points["d"].name == "from the door to stair"
    assert points["d"].at == pytest.approx((0.55, 0.3), abs=0.06)
    assert 0 < points["d"].facing < 90  # from the corner to the middle of the room
    # The chair in front of the table, below it on plan, looks up at the table.
    assert points["table.front1"].facing == pytest.approx(90.0)
    assert points["table.front1"].eye == pytest.approx(1.2, abs=0.05)
    assert find_viewpoint(points, "d").about == "d"
    with pytest.raises(LookupFailed, match=r"viewpoint = door; allowed: d, table\.front1"):
        find_viewpoint(points, "door")


def test_a_picture_is_upright_and_the_right_way_round() -> None:
    pieces = {"left": block(0.4, 0.4, 1.2), "right": block(0.4, 0.4, 1.2)}
    places = plan(left=Placement(at=(2.0, 2.2)), right=Placement(at=(2.0, 0.8)))
    scene = scene_of(home(pieces), places)
    seen = picture(scene, standing((0.3, 1.5), facing=0.0), columns=60, rows=40)
    owners = np.array([t.owner for t in seen.targets])[seen.index]
    assert (owners[:, :30] == "left").any()
    assert not (owners[:, 30:] == "left").any()
    assert (owners[:, 30:] == "right").any()
    kinds = np.array([t.kind for t in seen.targets])[seen.index]
    assert (kinds[0, 25:35] == "ceiling").all()
    assert (kinds[-1, 25:35] == "floor").all()
    assert np.isfinite(seen.distance).all()


def test_what_stands_before_a_wall_is_in_front_of_it() -> None:
    scene = scene_of(home({"b": block(0.8, 0.2, 1.2)}), plan(b=Placement(at=(1.5, 1.5))))
    seen = picture(scene, standing((1.5, 0.2), facing=90.0), columns=200, rows=200)
    found = {(m.a, m.b): m for m in seen_in_front(seen)}
    edge = found["b", "r.walls"]
    assert edge.how == "in front"
    assert (edge.finish_a, edge.finish_b) == ("black", "white")
    assert ("r.walls", "b") not in found
    # Seen against the wall behind: its top edge and two upper sides, within a tenth.
    assert edge.length > 0.8


@pytest.mark.parametrize(
    ("at", "eye", "words"),
    [
        ((4.0, 1.0), 1.5, r"viewpoint = \(4.00, 1.00\) m; allowed: a point inside the rooms"),
        ((1.0, 1.0), 3.5, "eye of the viewpoint = 3.5 m; allowed: over 0, under 3 m"),
        ((2.2, 1.5), 1.5, "viewpoint = inside b, body; allowed: a free place"),
    ],
)
def test_a_viewpoint_that_cannot_be(at: tuple[float, float], eye: float, words: str) -> None:
    scene = scene_of(home({"b": block(0.5, 0.5, 1.8)}), plan(b=Placement(at=(2.2, 1.5))))
    with pytest.raises(InputError, match=words):
        look(scene, standing(at, facing=0.0, eye=eye))


def test_bad_numbers_are_named() -> None:
    scene = scene_of(home(), plan())
    eye = standing((1.0, 1.0), facing=0.0)
    with pytest.raises(InputError, match="rays = 0"):
        look(scene, eye, rays=0)
    with pytest.raises(InputError, match="fields = none"):
        look(scene, eye, fields=[])
    with pytest.raises(InputError, match=r"field of view = 200\.0°"):
        spread(Field(name="x", kind="cone", half=200.0), facing=0.0, rays=10)
    with pytest.raises(InputError, match="viewpoint = "):
        standing((math.nan, 0.0), facing=0.0)
    with pytest.raises(InputError, match="direction of no length"):
        cast(scene, (1.0, 1.0, 1.0), [(0.0, 0.0, 0.0)])
    with pytest.raises(InputError, match="n × 3 finite numbers"):
        cast(scene, (1.0, 1.0, 1.0), [(0.0, math.nan, 1.0)])
    with pytest.raises(InputError, match="angle of the picture = 180"):
        picture(scene, eye, width_angle=180)
    with pytest.raises(InputError, match="step = 0"):
        seen_in_front(picture(scene, eye, columns=4, rows=4), step=0)


def test_rays_straight_up_down_and_level_meet_something() -> None:
    scene = scene_of(home({"b": block(0.5, 0.5, 0.8)}), plan(b=Placement(at=(1.5, 1.5))))
    hits = cast(scene, (1.5, 1.5, 1.5), [(0, 0, 1), (0, 0, -1), (1, 0, 0), (0, -1, 0)])
    assert hits.distance.tolist() == pytest.approx([1.5, 0.7, 1.5, 1.5])
    assert [scene.targets[n].kind for n in hits.target] == ["ceiling", "piece", "wall", "wall"]
