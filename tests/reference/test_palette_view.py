"""Rays and fields of view against closed forms and an independent ray library."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from designkit.model import (
    Column,
    Fixture,
    Home,
    Lamp,
    Layout,
    Opening,
    Part,
    Piece,
    Placement,
    Room,
)
from designkit.scene.rays import cast
from designkit.scene.view import FIELDS, Field, look, scene_of, spread, standing

DATA = Path(__file__).parent / "data"
EYES = ((1.0, 1.0, 1.55), (5.2, 1.1, 1.2), (1.4, 3.1, 1.2), (7.6, 1.2, 1.55))


def room(name: str, outline: tuple[tuple[float, float], ...], height: float = 2.7) -> Room:
    return Room(name=name, outline=outline, height=height, floor="f", ceiling="c", wall="w")


def piece(*parts: Part) -> Piece:
    return Piece(name="p", kind="ottoman", size=(1.0, 1.0, 1.0), finish="x", parts=parts)


def sample() -> tuple[Home, Layout]:
    """An L-shaped room and a lower one behind a passage, with boxes, discs, a ring and glass."""
    legs = tuple(
        Part(name=f"leg {n}", at=(x, y), size=(0.06, 0.06), top=0.71)
        for n, (x, y) in enumerate([(-0.8, -0.4), (0.8, -0.4), (-0.8, 0.4), (0.8, 0.4)])
    )
    pieces = {
        "table": piece(Part(name="top", size=(1.8, 0.95), base=0.71, top=0.75), *legs),
        "round": piece(
            Part(name="top", shape="circle", size=(1.1, 1.1), base=0.70, top=0.74),
            Part(name="stem", shape="circle", size=(0.12, 0.12), top=0.70),
        ),
        "shelf": piece(Part(name="body", size=(0.9, 0.32), top=2.1)),
        "sofa": piece(
            Part(name="seat", size=(2.1, 0.9), base=0.12, top=0.43),
            Part(name="back", at=(0.0, 0.35), size=(2.1, 0.2), base=0.43, top=0.82),
        ),
        "hoop": piece(Part(name="ring", shape="ring", size=(0.9, 0.8), base=1.5, top=1.58)),
        "glass": piece(Part(name="pane", size=(1.2, 0.6), base=0.4, top=0.42, transmits=True)),
        "rug": piece(Part(name="field", shape="circle", size=(2.4, 1.6), top=0.01)),
    }
    home = Home(
        name="sample",
        rooms={
            "a": Room(
                name="A",
                outline=((0, 0), (6, 0), (6, 2.2), (3, 2.2), (3, 4), (0, 4)),
                height=2.7,
                floor="f",
                ceiling="c",
                wall="w",
                columns=(
                    Column(at=(4.2, 1.9), size=(0.3, 0.3), shape="circle"),
                    Column(at=(0.15, 2.0), size=(0.3, 0.5)),
                ),
            ),
            "b": room("B", ((6.2, 0), (9, 0), (9, 2.6), (6.2, 2.6)), 2.4),
        },
        openings={
            "p": Opening(
                room="a",
                wall=1,
                offset=0.6,
                width=1.1,
                head=2.1,
                kind="passage",
                to="b",
                thickness=0.2,
            ),
            "w": Opening(
                room="a", wall=0, offset=1.5, width=2.4, sill=0.7, head=2.2, kind="window", leaves=3
            ),
            "d": Opening(
                room="b",
                wall=2,
                offset=0.4,
                width=0.9,
                head=2.05,
                kind="door",
                hinge="left",
                swing="in",
                to="stair",
            ),
        },
        pieces=pieces,
        fixtures={"f": Fixture(name="f", kind="pendant", size=(0.5, 0.5, 0.3))},
    )
    places = {
        "table": Placement(at=(1.6, 3.2), rotation=12.0),
        "round": Placement(at=(4.6, 1.0)),
        "shelf": Placement(at=(2.8, 2.7), rotation=90.0),
        "sofa": Placement(at=(1.6, 0.8), rotation=200.0),
        "hoop": Placement(at=(3.0, 1.2)),
        "glass": Placement(at=(3.2, 1.2)),
        "rug": Placement(at=(3.0, 1.3), rotation=20.0),
    }
    lamps = {"l": Lamp(fixture="f", at=(1.6, 3.2), base=1.5)}
    return home, Layout(name="A", pieces=places, lamps=lamps)


@pytest.mark.reference("embree", of="palette")
def test_rays_meet_what_an_independent_ray_library_meets() -> None:
    """trimesh 5.2.0 with embreex 4.4.0: first triangle hit, 4 eyes, 400 rays each.

    The mesh was made apart from the ray caster: discs as polygons of 4,096
    corners, walls as cut triangles (data/rays_embree.source.txt).
    """
    home, layout = sample()
    scene = scene_of(home, layout)
    with (DATA / "rays_embree.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 1600
    for eye in EYES:
        mine = [r for r in rows if tuple(float(r[k]) for k in ("x", "y", "z")) == eye]
        assert len(mine) == 400
        hits = cast(scene, eye, [[float(r[k]) for k in ("dx", "dy", "dz")] for r in mine])
        met = [scene.targets[n] for n in hits.target]
        ours = [f"{t.kind}|{t.owner}|{t.part}" for t in met]
        assert ours == [r["target"] for r in mine]
        distance = [float(r["distance"]) for r in mine]
        np.testing.assert_allclose(hits.distance, distance, rtol=2e-5, atol=2e-5)


@pytest.mark.reference("solid-angle", of="palette")
@pytest.mark.parametrize(
    ("wide", "high", "far"), [(2.0, 1.2, 1.5), (1.0, 2.0, 3.0), (3.0, 0.4, 0.8)]
)
def test_the_share_of_a_rectangle_is_its_solid_angle(wide: float, high: float, far: float) -> None:
    """Solid angle of a rectangle from the point before its middle (geometry):

    Ω = 4 arctan( a b / (2 d √(4 d² + a² + b²)) ), as of a share of 4π.
    """
    home = Home(
        name="h",
        rooms={"r": room("R", ((-4.0, 0.0), (4.0, 0.0), (4.0, 8.0), (-4.0, 8.0)), 4.0)},
        pieces={"b": piece(Part(name="face", size=(wide, 0.02), top=high))},
    )
    base = 1.55 - high / 2
    layout = Layout(name="A", pieces={"b": Placement(at=(0.0, 4.0 - far - 0.01), base=base)})
    eye = standing((0.0, 4.0), facing=270.0)
    seen = look(scene_of(home, layout), eye, fields=[FIELDS["sphere"]], rays=64_000)[0]
    share = {t.item: s for t, s in seen.shares}["b"]
    angle = 4 * math.atan(wide * high / (2 * far * math.sqrt(4 * far**2 + wide**2 + high**2)))
    assert share == pytest.approx(angle / (4 * math.pi), abs=2e-4)


@pytest.mark.reference("solid-angle-cap", of="palette")
@pytest.mark.parametrize("half", [10.0, 30.0, 60.0, 90.0])
def test_a_cone_holds_the_solid_angle_of_its_cap(half: float) -> None:
    """Ω = 2π (1 − cos α): the share of sphere rays within the cone (geometry)."""
    way = spread(FIELDS["sphere"], facing=0.0, rays=100_000)
    inside = (way[:, 0] > math.cos(math.radians(half))).mean()
    assert inside == pytest.approx((1 - math.cos(math.radians(half))) / 2, abs=1e-4)
    cone = spread(Field(name="c", kind="cone", half=half), facing=37.0, rays=5000)
    ahead = np.array([math.cos(math.radians(37.0)), math.sin(math.radians(37.0)), 0.0])
    assert (cone @ ahead >= math.cos(math.radians(half)) - 1e-12).all()
    # The mean direction of a cap points ahead with length (1 + cos α) / 2.
    np.testing.assert_allclose(
        cone.mean(axis=0), ahead * (1 + math.cos(math.radians(half))) / 2, rtol=0, atol=2e-3
    )
