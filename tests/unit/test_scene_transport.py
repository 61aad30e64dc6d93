"""Patches, form factors and the exchange of light: laws, traps and bad input."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from designkit.errors import InputError
from designkit.model import (
    Colour,
    Column,
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
from designkit.scene.bounding import labels_of
from designkit.scene.factors import (
    Factors,
    box_factors,
    cosine_rays,
    form_factors,
    parallel_rectangles,
    perpendicular_rectangles,
    ray_factors,
)
from designkit.scene.hits import meet
from designkit.scene.patches import Patches, patches_of
from designkit.scene.rays import cast
from designkit.scene.solids import shell, solids
from designkit.scene.surfaces import surfaces
from designkit.scene.transport import energy_residual, repainted, spread_light, transport
from designkit.scene.view import FIELDS, scene_of, spread

ROOM = Room(
    name="r",
    outline=((0.0, 0.0), (5.0, 0.0), (5.0, 3.0), (3.0, 3.0), (3.0, 4.4), (0.0, 4.4)),
    height=2.6,
    floor="oak",
    ceiling="white",
    wall="white",
)
BOX = dataclasses.replace(ROOM, outline=((0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0)))
FINISHES = {
    "white": Finish(name="white", colours=(Colour(lrv=85.0),)),
    "black": Finish(name="black", kind="lacquer", colours=(Colour(lrv=4.0),)),
    "oak": Finish(name="oak", kind="timber", colours=(Colour(lrv=30.0),)),
}


def block(w: float, d: float, top: float, *, base: float = 0.0, **more: object) -> Piece:
    part = Part(name="body", size=(w, d), base=base, top=top, **more)  # type: ignore[arg-type]
    return Piece(name="b", kind="ottoman", size=(w, d, top), finish="black", parts=(part,))


def home(pieces: dict[str, Piece] | None = None, **more: object) -> Home:
    given: dict[str, object] = {"rooms": {"r": ROOM}, "finishes": FINISHES, **more}
    return Home(name="h", pieces=pieces or {}, **given)  # type: ignore[arg-type]


def cut(home: Home, layout: Layout | None = None, **more: object) -> Patches:
    at = layout or Layout(name="A")
    return patches_of(home, solids(home, at), rooms=shell(home), **more)  # type: ignore[arg-type]


FURNISHED = home(
    {
        "sofa": Piece(
            name="s",
            kind="ottoman",
            size=(2.0, 0.9, 0.8),
            finish="black",
            parts=(
                Part(name="seat", size=(2.0, 0.9), base=0.1, top=0.43),
                Part(name="back", at=(0.0, 0.35), size=(2.0, 0.2), base=0.43, top=0.8),
            ),
        ),
        "table": block(1.4, 0.8, 0.75, base=0.7),
        "chest": block(0.8, 0.5, 1.2),
    }
)
PLAN = Layout(
    name="A",
    pieces={
        "sofa": Placement(at=(1.4, 3.6)),
        "table": Placement(at=(3.4, 1.5), rotation=25.0),
        "chest": Placement(at=(0.6, 1.2), rotation=90.0),
    },
)


def test_patches_are_the_free_faces() -> None:
    patches = cut(home())
    wanted = {"floor": 19.2, "ceiling": 19.2, "wall": 18.8 * 2.6}
    labels = labels_of(home(), (), shell(home()))
    found = dict.fromkeys(wanted, 0.0)
    for p, n, share in zip(patches.mix_patch, patches.mix_label, patches.mix_share, strict=True):
        found[labels[n].kind] += share * patches.area[p]
    assert found == pytest.approx(wanted)


def test_points_inside_furniture_are_dropped() -> None:
    """Trap: with them what the room sends back is some per cent low."""
    patches = cut(FURNISHED, PLAN)
    inside = patches.boxes.inside(patches.points)
    assert not inside.any()
    up = patches.normal[:, 2] > 0.5
    floor = up & (patches.centre[:, 2] < 0.01)
    # The chest stands on the floor, 0.8 × 0.5; the sofa and the table hang over it.
    assert patches.area[floor].sum() == pytest.approx(19.2 - 0.4, abs=0.06)


def test_what_stands_against_the_wall_hides_it() -> None:
    flush = Layout(name="A", pieces={"chest": Placement(at=(0.27, 1.2), rotation=90.0)})
    patches = cut(FURNISHED, flush)
    wall = (patches.normal[:, 0] > 0.5) & (patches.centre[:, 0] < 0.01)
    assert patches.area[wall].sum() == pytest.approx(4.4 * 2.6 - 0.8 * 1.2, abs=0.08)
    back = (patches.normal[:, 0] < -0.5) & (patches.centre[:, 0] < 0.03)
    assert not back.any()  # 2 cm before the wall nobody sees it


def test_openings_and_rugs_share_patches_as_their_surfaces_do() -> None:
    window = Opening(
        room="r", wall=0, offset=1.0, width=2.0, sill=0.5, head=2.2, kind="window", frame="black"
    )
    door = Opening(
        room="r", wall=4, offset=0.4, width=0.9, head=2.0, kind="door", hinge="left", to="stair"
    )
    rug = block(1.7, 1.1, 0.012)
    given = home({"rug": rug}, openings={"w": window, "d": door})
    layout = Layout(name="A", pieces={"rug": Placement(at=(2.2, 1.6), rotation=0.0)})
    patches = cut(given, layout)
    labels = labels_of(given, solids(given, layout), shell(given))
    found: dict[str, float] = {}
    for p, n, share in zip(patches.mix_patch, patches.mix_label, patches.mix_share, strict=True):
        found[labels[n].item] = found.get(labels[n].item, 0.0) + share * patches.area[p]
    wanted: dict[str, float] = {}
    for s in surfaces(given, layout):
        if s.item != "rug" or s.face == "top":
            wanted[s.item] = wanted.get(s.item, 0.0) + s.area
    assert found == pytest.approx(wanted, rel=2e-3)


def test_a_passage_to_a_room_that_is_not_there_takes_all_light() -> None:
    gap = Opening(room="r", wall=0, offset=1.0, width=1.0, head=2.0, kind="passage", to="outside")
    patches = cut(home(openings={"g": gap}))
    beyond = patches.mix_label == 0
    held = (patches.mix_share * patches.area[patches.mix_patch])[beyond].sum()
    assert held == pytest.approx(2.0)


def test_thin_parts_are_left_out_and_said() -> None:
    legs = tuple(
        Part(name=f"leg {n}", at=(x, 0.0), size=(0.05, 0.05), top=0.7)
        for n, x in enumerate((-0.6, 0.6))
    )
    table = dataclasses.replace(
        block(1.4, 0.8, 0.75),
        parts=(Part(name="top", shape="circle", size=(1.4, 1.4), base=0.7, top=0.75), *legs),
    )
    patches = cut(home({"t": table}), Layout(name="A", pieces={"t": Placement(at=(2.0, 2.0))}))
    assert len(patches.boxes.middle) == 1
    assert 4 * patches.boxes.half[0, 0] * patches.boxes.half[0, 1] == pytest.approx(
        np.pi * 0.7**2, rel=2e-3
    )
    said = " ".join(patches.notes)
    assert "bounding parts" in said
    assert "2 thin parts" in said
    assert "1 round or cut parts counted as boxes" in said


def test_patches_are_coarsened_and_said() -> None:
    fine = cut(FURNISHED, PLAN, size=0.2, most=4000)
    few = cut(FURNISHED, PLAN, size=0.2, most=500)
    assert len(fine.area) > 1500
    assert len(few.area) <= 500
    assert few.notes[0].startswith("patches coarsened from 0.20 to ")
    assert few.area.sum() == pytest.approx(fine.area.sum(), rel=0.03)
    with pytest.raises(InputError, match=r"patches = \d+ at .* m; allowed: at most 6"):
        cut(FURNISHED, PLAN, most=6)
    with pytest.raises(InputError, match=r"size of a patch = 0 m; allowed: over 0.02 m"):
        cut(FURNISHED, PLAN, size=0.0)


def test_rays_from_many_places_meet_what_rays_of_one_eye_meet() -> None:
    """Two casters written apart: full parts and bounding parts are the same boxes here."""
    patches = cut(FURNISHED, PLAN)
    scene = scene_of(FURNISHED, PLAN)
    eyes = np.array([(2.3, 2.2, 1.5), (4.2, 0.6, 0.4), (1.4, 2.6, 1.0)])
    ways = np.stack([spread(FIELDS["sphere"], facing=0.0, rays=1500)] * 3)
    met = meet(patches, eyes[:, None, :], ways)
    told = np.concatenate([cast(scene, tuple(e), w).distance for e, w in zip(eyes, ways)])  # type: ignore[arg-type]
    assert np.abs(met.distance - told).max() < 1e-6


def test_light_goes_through_a_passage_and_not_through_its_wall() -> None:
    next_door = dataclasses.replace(BOX, outline=((5.2, 0.0), (8.0, 0.0), (8.0, 3.0), (5.2, 3.0)))
    gap = Opening(room="r", wall=1, offset=1.0, width=1.0, head=2.1, kind="passage", to="s")
    both = home(rooms={"r": ROOM, "s": next_door}, openings={"g": gap})
    patches = cut(both)
    ways = np.array([[(1.0, 0, 0), (1.0, 0.45, 0), (0.9, 0, 0.436), (1.0, -0.1, -0.2)]])
    ways /= np.linalg.norm(ways, axis=2, keepdims=True)
    met = meet(patches, np.array([[[3.0, 1.5, 1.4]]]), ways)
    assert met.distance[0] == pytest.approx(5.0)
    far = patches.centre[met.patch, 0] > 5.3
    assert far.tolist() == [True, False, False, True]
    factors = form_factors(patches)
    left = patches.centre[:, 0] < 5.0
    across = factors.exchange[np.ix_(left, patches.centre[:, 0] > 5.2)].sum()
    # No more light can cross than leaves the opening itself, 2.1 m².
    assert 0.8 < across < 2.1


@pytest.mark.parametrize(
    ("given", "layout"), [(home(), Layout(name="A")), (FURNISHED, PLAN)], ids=["L", "furnished"]
)
def test_form_factors_are_symmetric_and_lose_no_light(given: Home, layout: Layout) -> None:
    patches = cut(given, layout)
    factors = ray_factors(patches, rays=128)
    matrix = factors.matrix
    assert matrix.min() >= 0
    assert np.abs(matrix.sum(axis=1) - 1).max() < 1e-7
    product = patches.area[:, None] * matrix
    assert np.abs(product - product.T).max() < 1e-15
    assert factors.lost < 0.02
    raw = factors.raw_exchange.sum(axis=1)
    assert abs(raw.sum() / patches.area.sum() - 1) < 0.01
    for way in (0, 1, 2):  # nothing on one plane sees that plane
        same = (patches.normal[:, way] > 0.9) & (patches.centre[:, 2] < 1e-2)
        assert matrix[np.ix_(same, same)].sum() == 0


def test_rays_agree_with_the_closed_form_in_an_empty_box() -> None:
    patches = cut(home(rooms={"r": BOX}))
    exact, counted = box_factors(patches), ray_factors(patches, rays=512)
    for i in range(6):
        for j in range(6):
            block_ = np.ix_(patches.face == i, patches.face == j)
            whole = patches.area[patches.face == i].sum()
            a, b = exact.exchange[block_].sum() / whole, counted.exchange[block_].sum() / whole
            assert b == pytest.approx(a, abs=2e-3)
    assert form_factors(patches).how == "closed form between rectangles"


def test_a_room_drawn_either_way_round_has_the_same_factors() -> None:
    turned = dataclasses.replace(BOX, outline=BOX.outline[::-1])
    for room in (BOX, turned):
        patches = cut(home(rooms={"r": room}))
        sums = box_factors(patches).matrix.sum(axis=1)
        assert np.abs(sums - 1).max() < 1e-10


def test_energy_closes_for_any_finish() -> None:
    patches = cut(FURNISHED, PLAN)
    factors = form_factors(patches)
    rng = np.random.default_rng(4)
    first = rng.uniform(0.0, 0.9, len(patches.area))
    direct = rng.uniform(0.0, 100.0, (3, len(patches.area)))
    direct[2] = 0.0
    through = transport(factors, reflectance=first)
    light = spread_light(through, direct=direct)
    assert energy_residual(through, direct=direct, light=light).max() < 1e-6
    assert (light[2] == 0).all()
    other = np.where(rng.uniform(size=len(first)) < 0.3, 0.0, first[::-1])
    later = repainted(through, reflectance=other)
    assert later.resolvent is None
    again = spread_light(later, direct=direct, near=light)
    assert energy_residual(later, direct=direct, light=again).max() < 1e-6
    fresh = spread_light(transport(factors, reflectance=other), direct=direct)
    assert again == pytest.approx(fresh, rel=1e-3, abs=1e-4)
    assert repainted(through, reflectance=first).resolvent is through.resolvent


@pytest.mark.parametrize("share", [0.02, 0.2, 0.6])
def test_few_repainted_patches_go_by_the_inverse_and_give_the_same_light(share: float) -> None:
    """Held against the whole system solved by numpy, black patches among them."""
    random = np.random.default_rng(11)
    count = 60
    area = random.uniform(0.2, 1.0, count)
    flow = random.uniform(0.0, 1.0, (count, count))
    flow = flow + flow.T
    np.fill_diagonal(flow, 0.0)
    for _ in range(400):  # to symmetric exchange whose rows are the areas
        scale = np.sqrt(area / flow.sum(axis=1))
        flow = flow * np.outer(scale, scale)
    rho = random.uniform(0.1, 0.9, count)
    rho[:5] = 0.0
    given = Factors(exchange=flow, area=area, balance=np.ones(count), lost=0.0, how="made up")
    through = transport(given, reflectance=rho)
    other = rho.copy()
    other[: int(share * count)] = random.uniform(0.0, 0.9, int(share * count))
    later = repainted(repainted(through, reflectance=other), reflectance=other)
    assert later.resolvent is None
    assert (later.base is not None) == (share <= 0.25)
    direct = random.uniform(0, 100, (3, count))
    whole = np.eye(count) - flow / area[:, None] * other
    expected = np.linalg.solve(whole, direct.T).T
    assert spread_light(later, direct=direct) == pytest.approx(expected, rel=1e-5)
    if later.base is not None:  # and back again
        back = spread_light(repainted(later, reflectance=rho), direct=direct)
        assert back == pytest.approx(spread_light(through, direct=direct), rel=1e-6)


def test_the_light_between_black_walls_is_the_direct_light() -> None:
    patches = cut(home(rooms={"r": BOX}))
    through = transport(box_factors(patches), reflectance=np.zeros(len(patches.area)))
    direct = np.linspace(0, 50, len(patches.area))
    assert spread_light(through, direct=direct)[0] == pytest.approx(direct, abs=1e-6)


def test_columns_and_drapery_are_boxes_too() -> None:
    window = Opening(room="r", wall=0, offset=1.0, width=2.0, sill=0.5, head=2.2, kind="window")
    room = dataclasses.replace(ROOM, columns=(Column(at=(2.0, 2.5), size=(0.3, 0.4)),))
    cloth = Drape(opening="w", finish="white", track=2.4, state="closed")
    given = home(rooms={"r": room}, openings={"w": window})
    layout = Layout(name="A", drapes={"d": cloth})
    patches = cut(given, layout)
    kinds = [
        labels_of(given, solids(given, layout), shell(given))[n].kind for n in patches.boxes.label
    ]
    assert sorted(set(kinds)) == ["column", "drapery"]
    assert not patches.empty_box


def test_bad_numbers_are_named() -> None:
    patches = cut(home(rooms={"r": BOX}))
    factors = box_factors(patches)
    count = len(patches.area)
    with pytest.raises(InputError, match="allowed: 0 or more, under 1"):
        transport(factors, reflectance=np.full(count, 1.0))
    with pytest.raises(InputError, match="reflectances = "):
        transport(factors, reflectance=np.full(count, np.nan))
    with pytest.raises(InputError, match=f"one for each of {count} patches"):
        transport(factors, reflectance=[0.5])
    through = transport(factors, reflectance=np.full(count, 0.5))
    with pytest.raises(InputError, match="direct light"):
        spread_light(through, direct=np.full(count, -1.0))
    with pytest.raises(InputError, match="distance = 0 m"):
        parallel_rectangles((0, 0, 1, 1), other=(0, 0, 1, 1), distance=0)
    with pytest.raises(InputError, match="y of other = "):
        parallel_rectangles((0, 0, 1, 1), other=(0, 1, 1, 1), distance=1)
    with pytest.raises(InputError, match=r"away = -0\.5"):
        perpendicular_rectangles((-0.5, 0, 1, 1), other=(0, 0, 1, 1))
    with pytest.raises(InputError, match="rays = 0"):
        cosine_rays(0)
    with pytest.raises(InputError, match="room = not an empty box"):
        box_factors(cut(FURNISHED, PLAN))
