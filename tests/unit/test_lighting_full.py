"""Light the full way: energy, shadows, windows, what changes and what is kept."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from designkit.errors import InputError, LookupFailed
from designkit.lighting.emitters import lamp_direct, sky_illuminance, window_direct, windows
from designkit.lighting.full import (
    Exchange,
    by_day,
    exchange,
    illuminance_at,
    in_the_evening,
    moved,
    with_finishes,
)
from designkit.lighting.photometry import parse_photometry
from designkit.lighting.point import Source
from designkit.model import (
    Circuit,
    Colour,
    Drape,
    Finish,
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

FILE = parse_photometry(
    b"IESNA:LM-63-2002\n[TEST] invented\nTILT=NONE\n1 -1 1 7 1 1 2 0 0 0\n1 1 10\n"
    b"0 15 30 45 60 75 90\n0\n400 380 300 180 80 20 0\n",
    name="spot.ies",
)
WINDOW = Opening(
    room="r", wall=0, offset=1.0, width=2.4, sill=0.5, head=2.2, kind="window", frame="white"
)


def fixture(**more: object) -> Fixture:
    given: dict[str, object] = {
        "name": "f",
        "kind": "pendant",
        "size": (0.2, 0.2, 0.2),
        "lumens": 800.0,
    }
    return Fixture(**{**given, **more})  # type: ignore[arg-type]


def flat(**more: object) -> Home:
    board = Part(name="body", size=(1.6, 0.06), top=1.8)
    given: dict[str, object] = {
        "name": "h",
        "rooms": {
            "r": Room(
                name="r",
                outline=((0, 0), (4.6, 0), (4.6, 2.4), (3.0, 2.4), (3.0, 3.6), (0, 3.6)),
                height=2.5,
                floor="oak",
                ceiling="white",
                wall="white",
            )
        },
        "openings": {"w": WINDOW},
        "circuits": {
            "a": Circuit(name="a", volts=230, amps=10, dimmer=True),
            "b": Circuit(name="b", volts=230, amps=10),
        },
        "finishes": {
            "white": Finish(name="white", colours=(Colour(lrv=84.0),)),
            "oak": Finish(name="oak", kind="timber", colours=(Colour(lrv=30.0),)),
            "black": Finish(name="black", kind="paint", colours=(Colour(lrv=4.0),)),
            "cloth": Finish(
                name="cloth", kind="cloth", colours=(Colour(lrv=70.0),), transmittance=0.25
            ),
        },
        "pieces": {
            "board": Piece(
                name="b", kind="ottoman", size=(1.6, 0.06, 1.8), finish="black", parts=(board,)
            ),
            "table": Piece(
                name="t",
                kind="ottoman",
                size=(1.2, 0.7, 0.74),
                finish="oak",
                parts=(Part(name="top", size=(1.2, 0.7), base=0.70, top=0.74),),
            ),
        },
        "fixtures": {
            "globe": fixture(shade="milky"),
            "shade": fixture(shade="white fabric", up_share=0.4),
            "spot": fixture(kind="recessed light", beam=36.0, size=(0.1, 0.1, 0.05)),
            "sconce": fixture(kind="wall light", size=(0.12, 0.12, 0.2)),
            "disc": fixture(kind="ceiling light", size=(0.35, 0.35, 0.1), up_share=0.2),
            "file": fixture(photometry="spot.ies", lumens=None),
            "none": fixture(lumens=None),
        },
    }
    return Home(**{**given, **more})  # type: ignore[arg-type]


def plan(**more: object) -> Layout:
    given: dict[str, object] = {
        "name": "A",
        "pieces": {
            "board": Placement(at=(2.2, 1.5)),
            "table": Placement(at=(1.5, 2.6), rotation=10.0),
        },
        "lamps": {
            "globe": Lamp(fixture="globe", at=(3.6, 1.1), base=1.9, circuit="a"),
            "over": Lamp(fixture="shade", at=(1.5, 2.6), base=1.45, circuit="b"),
            "spot": Lamp(fixture="spot", at=(0.9, 0.8), circuit="a"),
            "sconce": Lamp(fixture="sconce", at=(0.15, 1.8), base=1.5, circuit="a"),
            "disc": Lamp(fixture="disc", at=(3.9, 0.6)),
            "file": Lamp(fixture="file", at=(2.4, 3.0), base=2.2),
        },
    }
    return Layout(**{**given, **more})  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def lit() -> Exchange:
    return exchange(flat(), plan(), photometry={"spot.ies": FILE})


def test_no_light_is_lost(lit: Exchange) -> None:
    """Before it is scaled to within 1 %, after it to 1e-6: near a wall, under a ceiling, a beam."""
    assert [lamp.id for lamp in lit.lamps] == list(plan().lamps)
    assert lit.residual.max() <= 0.01
    for lamp, lux in zip(lit.lamps, lit.direct, strict=True):
        assert lamp.lumens is not None
        assert lux @ lit.patches.area == pytest.approx(0.9 * lamp.lumens, rel=1e-9)
    assert lit.energy < 1e-6


def test_the_whole_energy_closes_before_anything_is_scaled(lit: Exchange) -> None:
    """Rows of the form factors as counted, and direct light as it landed."""
    raw = lit.factors.raw_exchange / lit.patches.area[:, None]
    rho = lit.transport.reflectance
    landed = lit.direct * (1 - lit.residual[:, None])
    light = np.linalg.solve(np.eye(len(rho)) - raw * rho, landed.T).T
    kept = (light * (1 - rho)) @ lit.patches.area
    emitted = lit.direct @ lit.patches.area
    assert np.abs(kept / emitted - 1).max() < 0.02
    assert abs(kept.sum() / emitted.sum() - 1) < 0.01


def test_a_board_casts_a_shadow() -> None:
    floor = np.array([[2.2, 0.9, 0.01], [2.2, 2.0, 0.01]])
    of = exchange(flat(), plan(lamps={"globe": plan().lamps["globe"]}))
    direct, sent = illuminance_at(of, points=floor)
    lamp = of.lamps[0].sources[0]
    away = np.array(lamp.at) - floor[0]
    free = lamp.lumens * 0.9 / (4 * math.pi) * away[2] / np.linalg.norm(away) ** 3
    assert direct[0] == pytest.approx(free, rel=1e-9)
    assert direct[1] == 0
    assert sent.min() > 0


def test_light_reaches_the_room_round_the_corner_only_by_reflection() -> None:
    layout = plan(pieces={}, lamps={"globe": Lamp(fixture="globe", at=(4.3, 0.4), base=1.9)})
    of = exchange(flat(), layout)
    corner = np.array([[2.7, 3.3, 0.7]])
    direct, sent = illuminance_at(of, points=corner)
    assert direct[0] == 0
    assert 0 < sent[0] < in_the_evening(of).lux.max()
    dark = flat(
        openings={},
        finishes={k: Finish(name=k, colours=(Colour(lrv=0.0),)) for k in flat().finishes},
    )
    assert illuminance_at(exchange(dark, layout), points=corner)[1][0] < 1e-6


def test_dimmers_by_circuit(lit: Exchange) -> None:
    full = in_the_evening(lit)
    assert full.shares.tolist() == [1.0] * 6
    half = in_the_evening(lit, dim={"a": 0.5})
    assert dict(zip((lamp.id for lamp in lit.lamps), half.shares.tolist(), strict=True)) == {
        "globe": 0.5,
        "over": 1.0,
        "spot": 0.5,
        "sconce": 0.5,
        "disc": 1.0,
        "file": 1.0,
    }
    assert half.lux == pytest.approx(half.shares @ lit.light)
    stiff = in_the_evening(lit, dim={"b": 0.5})
    assert "over: asked for at 50%, but its circuit has no dimmer" in stiff.notes
    off = in_the_evening(lit, dim=0.0)
    assert off.lux.max() == 0
    with pytest.raises(LookupFailed, match="circuit to dim = c"):
        in_the_evening(lit, dim={"c": 0.5})
    with pytest.raises(InputError, match=r"dim = 1\.5"):
        in_the_evening(lit, dim=1.5)


def test_other_finishes_keep_geometry_and_agree_with_a_fresh_start() -> None:
    lit = exchange(flat(), plan(), photometry={"spot.ies": FILE})
    home = flat()
    darker = dataclasses.replace(
        home, finishes={**home.finishes, "white": dataclasses.replace(home.finishes["black"])}
    )
    later = with_finishes(lit, darker)
    assert later.factors is lit.factors
    assert later.direct is lit.direct
    assert later.energy < 1e-6
    fresh = exchange(darker, plan(), photometry={"spot.ies": FILE}, rays=255)
    assert fresh.factors is not lit.factors
    mean = lit.patches.area / lit.patches.area.sum()
    assert later.light @ mean == pytest.approx(fresh.light @ mean, rel=0.01)
    assert (later.light @ mean).sum() < 0.6 * (lit.light @ mean).sum()
    warm = exchange(darker, plan(), photometry={"spot.ies": FILE})
    assert warm.factors is lit.factors
    assert warm.light == pytest.approx(later.light, rel=2e-3, abs=1e-3)
    room = dataclasses.replace(home.rooms["r"], outline=((0, 0), (4, 0), (4, 3), (0, 3)))
    smaller = flat(rooms={"r": room}, openings={})
    with pytest.raises(InputError, match="use exchange"):
        with_finishes(lit, smaller)
    with pytest.raises(LookupFailed, match="nearest: white"):
        with_finishes(lit, flat(rooms={"r": dataclasses.replace(home.rooms["r"], wall="whitte")}))


def test_a_lamp_that_moves_is_lit_as_if_it_had_hung_there() -> None:
    lit = exchange(flat(), plan(), photometry={"spot.ies": FILE})
    there = moved(lit, lamp="globe", by=(-0.8, 0.3, 0.2))
    lamps = {**plan().lamps, "globe": Lamp(fixture="globe", at=(2.8, 1.4), base=2.1, circuit="a")}
    fresh = exchange(flat(), plan(lamps=lamps), photometry={"spot.ies": FILE})
    assert fresh.factors is lit.factors
    assert there.light == pytest.approx(fresh.light, rel=1e-3, abs=1e-4)
    exact = exchange(flat(), plan(lamps=lamps), photometry={"spot.ies": FILE}, operator=True)
    assert exact.transport.resolvent is not None
    assert there.light == pytest.approx(exact.light, rel=1e-3, abs=1e-4)
    assert lit.light[0].max() != there.light[0].max()
    with pytest.raises(LookupFailed, match="lamp = lamp7"):
        moved(lit, lamp="lamp7", by=(0, 0, 0))
    with pytest.raises(InputError, match=r"lamps\.globe = .*allowed: a place inside the rooms"):
        moved(lit, lamp="globe", by=(3, 0, 0))
    with pytest.raises(InputError, match="step = "):
        moved(lit, lamp="globe", by=(math.nan, 0, 0))


def test_what_cannot_give_light_is_said() -> None:
    lamps = {
        "none": Lamp(fixture="none", at=(1, 1), base=2.0),
        "in": Lamp(fixture="globe", at=(2.2, 1.5), base=0.8),
    }
    of = exchange(flat(), plan(lamps=lamps))
    assert "none: lumens not known, gives no light" in of.notes
    # A lamp inside a bounding part shines through it: the part is taken off for that lamp.
    assert of.residual.max() < 0.02
    bare = flat(rooms={"r": dataclasses.replace(flat().rooms["r"], wall="")})
    assert "r.walls: no finish, reflectance 0.45 taken" in exchange(bare, plan(lamps={})).notes


def test_a_room_without_lamps_is_dark_and_stays_finite() -> None:
    of = exchange(flat(), plan(lamps={}))
    state = in_the_evening(of)
    assert state.lux.max() == 0
    assert np.isfinite(state.luminance).all()
    assert of.energy == 0


# --- by day -----------------------------------------------------------------------


def test_the_light_that_comes_in_is_what_the_sky_puts_on_the_glass(lit: Exchange) -> None:
    parts, notes = windows(lit.patches, labels=lit.labels, finishes=lit.home.finishes)
    found, glow = window_direct(lit.patches, parts=parts, horizontal=10_000.0, ground=0.2)
    glass = (2.4 - 0.12) * (1.7 - 0.12)
    sky, ground = sky_illuminance(10_000.0, ground=0.2)
    assert found.flux == pytest.approx(glass * 0.8 * (sky + ground))
    assert found.lux @ lit.patches.area == pytest.approx(found.flux)
    assert found.residual < 0.03
    assert glow.max() == 0
    assert notes == ()


def test_more_sky_falls_on_the_floor_than_on_the_ceiling(lit: Exchange) -> None:
    state = by_day(lit)
    up = lit.patches.normal[:, 2]
    floor = (up > 0.5) & (lit.patches.centre[:, 2] < 0.1)
    parts, _ = windows(lit.patches, labels=lit.labels, finishes=lit.home.finishes)
    direct, _ = window_direct(lit.patches, parts=parts, horizontal=10_000.0, ground=0.2)
    assert direct.lux[floor].mean() > 2 * direct.lux[up < -0.5].mean()
    assert state.shares.tolist() == [0.0] * 6
    assert by_day(lit, sky=5_000.0).lux == pytest.approx(state.lux / 2)
    both = by_day(lit, dim=1.0)
    assert both.lux == pytest.approx(state.lux + in_the_evening(lit).lux)
    assert any("no sun" in note for note in state.notes)
    with pytest.raises(InputError, match="light outdoors = 0 lx"):
        by_day(lit, sky=0.0)
    with pytest.raises(InputError, match="reflectance of the ground = 1"):
        by_day(lit, ground=1.0)


def test_drawn_cloth_lets_a_quarter_through_and_shines_evenly() -> None:
    bare = plan(pieces={}, lamps={})
    shut = dataclasses.replace(
        bare, drapes={"d": Drape(opening="w", finish="cloth", track=3.2, state="closed")}
    )
    home = flat()
    flux = {}
    for name, layout in (("bare", bare), ("shut", shut)):
        of = exchange(home, layout)
        parts, _ = windows(of.patches, labels=of.labels, finishes=home.finishes)
        found, glow = window_direct(of.patches, parts=parts, horizontal=10_000.0, ground=0.2)
        flux[name] = found.flux
        if name == "shut":
            assert all(p.cloth for p in parts)
            assert glow @ of.patches.area == pytest.approx(found.flux)
            assert found.lux @ of.patches.area == pytest.approx(found.flux)
            kinds = {
                of.labels[n].kind
                for n in of.patches.mix_label[np.isin(of.patches.mix_patch, np.flatnonzero(glow))]
            }
            assert kinds == {"drapery"}
    assert flux["shut"] == pytest.approx(0.25 * flux["bare"])
    solid = flat(
        finishes={
            **home.finishes,
            "cloth": dataclasses.replace(home.finishes["cloth"], transmittance=0.0),
        }
    )
    assert by_day(exchange(solid, shut)).lux.max() == 0


def test_glass_behind_a_wardrobe_gives_no_light() -> None:
    block = Piece(
        name="w",
        kind="ottoman",
        size=(3.0, 0.5, 2.4),
        finish="black",
        parts=(Part(name="body", size=(3.0, 0.5), top=2.4),),
    )
    home = flat(pieces={"wardrobe": block})
    layout = Layout(name="A", pieces={"wardrobe": Placement(at=(2.2, 0.26))})
    state = by_day(exchange(home, layout))
    assert state.lux.max() == 0
    assert any(note.startswith("w: 3.6 m² of glass behind pieces") for note in state.notes)


# --- points -----------------------------------------------------------------------


def test_points_that_cannot_be_are_named(lit: Exchange) -> None:
    with pytest.raises(InputError, match="allowed: points in the open"):
        illuminance_at(lit, points=[(2.2, 1.5, 0.7)])
    with pytest.raises(InputError, match="allowed: points in the open"):
        illuminance_at(lit, points=[(4.0, 3.0, 0.7)])
    with pytest.raises(InputError, match="finite triples"):
        illuminance_at(lit, points=[(math.nan, 1.0, 0.7)])
    with pytest.raises(InputError, match="normal = no direction"):
        illuminance_at(lit, points=[(1.0, 1.0, 0.7)], normal=(0, 0, 0))


def test_light_on_a_point_is_the_light_of_its_patch(lit: Exchange) -> None:
    state = in_the_evening(lit)
    floor = np.flatnonzero((lit.patches.normal[:, 2] > 0.5) & (lit.patches.centre[:, 2] < 0.01))
    some = floor[:: len(floor) // 12]
    direct, sent = illuminance_at(lit, points=lit.patches.centre[some])
    slow = state.lux - state.shares @ lit.direct
    assert sent.mean() == pytest.approx(slow[some].mean(), rel=0.05)
    assert (direct >= 0).all()


def test_a_source_without_lumens_lights_nothing(lit: Exchange) -> None:
    dead = Source(at=(1.0, 1.0, 1.0), lumens=0.0, pattern="even")
    found = lamp_direct(lit.patches, sources=[dead])
    assert found.residual == 0
    assert found.lux.max() == 0
