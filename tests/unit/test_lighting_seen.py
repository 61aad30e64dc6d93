"""Seen lightness: the rule for the white, windows, lamps, and the balance by lit view."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from designkit.analyses.litview import drawn, lit_balance, lit_balances
from designkit.balance import shares, view_weights
from designkit.errors import InputError, LookupFailed
from designkit.lighting.full import PatchLight, by_day, exchange, in_the_evening
from designkit.lighting.seen import (
    seen_view,
    split_colours,
    view_rays,
)
from designkit.lighting.seen_picture import lit_picture
from designkit.model import (
    Chairs,
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
from designkit.palette.colour import luminance_to_lightness
from designkit.palette.finishes import resolve_all
from designkit.scene.view import FIELDS, look, scene_of, standing

ROOM = Room(
    name="r",
    outline=((0, 0), (5, 0), (5, 4), (0, 4)),
    height=2.6,
    floor="oak",
    ceiling="white",
    wall="white",
)
FINISHES = {
    "white": Finish(name="white", colours=(Colour(lrv=84.0, within=0.0),)),
    "oak": Finish(name="oak", kind="timber", warm=True, colours=(Colour(lrv=30.0, within=0.0),)),
    "black": Finish(name="black", kind="cloth", colours=(Colour(lrv=3.0, within=0.0),)),
    "stripe": Finish(
        name="stripe",
        kind="cloth",
        patterned=True,
        colours=(
            Colour(lrv=3.0, share=0.4, within=0.0),
            Colour(lrv=70.0, share=0.6, within=0.0),
        ),
    ),
    "sheer": Finish(name="sheer", kind="cloth", colours=(Colour(lrv=70.0),), transmittance=0.4),
}
WINDOW = Opening(
    room="r", wall=1, offset=0.8, width=2.4, sill=0.4, head=2.2, kind="window", frame="white"
)
EYE = standing((0.6, 2.0), facing=0.0, eye=1.3)


def block(w: float, d: float, top: float, finish: str, *, base: float = 0.0) -> Piece:
    parts = (Part(name="body", size=(w, d), base=base, top=top),)
    return Piece(name="b", kind="ottoman", size=(w, d, top), finish=finish, parts=parts)


def flat(**more: object) -> Home:
    given: dict[str, object] = {
        "name": "h",
        "rooms": {"r": ROOM},
        "finishes": FINISHES,
        "circuits": {"c": Circuit(name="c", volts=230, amps=10, dimmer=True)},
        "pieces": {
            "sofa": block(0.9, 2.0, 0.8, "black"),
            "stool": block(0.6, 0.6, 0.5, "stripe"),
        },
        "fixtures": {
            "globe": Fixture(
                name="g",
                kind="pendant",
                size=(0.3, 0.3, 0.3),
                lumens=1500.0,
                shade="milky",
                finish="white",
            )
        },
    }
    return Home(**{**given, **more})  # type: ignore[arg-type]


def plan(**more: object) -> Layout:
    given: dict[str, object] = {
        "name": "A",
        "pieces": {
            "sofa": Placement(at=(4.2, 1.2)),
            "stool": Placement(at=(2.6, 3.0)),
        },
        "lamps": {
            "one": Lamp(fixture="globe", at=(2.5, 2.0), base=2.0, circuit="c"),
            "two": Lamp(fixture="globe", at=(3.8, 3.2), base=2.0),
        },
    }
    return Layout(**{**given, **more})  # type: ignore[arg-type]


def even(of: object, lux: float) -> PatchLight:
    """A light that is the same everywhere, so that only finishes differ."""
    count = len(of.patches.area)  # type: ignore[attr-defined]
    return PatchLight(
        when="evening",
        lux=np.full(count, lux),
        glow=np.zeros(count),
        shares=np.zeros(len(of.lamps)),  # type: ignore[attr-defined]
        luminance=np.zeros(count),
        notes=(),
    )


def view_of(home: Home, layout: Layout, state_of, **more: object):  # type: ignore[no-untyped-def]
    of = exchange(home, layout)
    scene = scene_of(home, layout)
    rays = view_rays(of, scene=scene, viewpoint=EYE, field=FIELDS["60"], rays=2000)
    return of, scene, seen_view(of, state=state_of(of), rays=rays, viewpoint=EYE, **more)


@pytest.mark.parametrize("lux", [0.5, 80.0, 20_000.0])
def test_under_even_light_everything_is_seen_as_it_is(lux: float) -> None:
    """Law of the rule: shares by lit view are those by view, at any level."""
    home, layout = flat(), plan()
    _, scene, view = view_of(home, layout, lambda of: even(of, lux))
    values = resolve_all(home.finishes)
    plain = shares(
        view_weights(look(scene, EYE, rays=2000)[0], night=True), finishes=values, by="view"
    )
    found = shares(view.weights, finishes=view.finishes, by="lit view")
    for name in ("black", "dark", "mid", "light", "warm", "patterned"):
        assert found.shares[name] == pytest.approx(plain.shares[name], abs=1e-9), name
    assert view.white == pytest.approx(lux)
    assert view.dark == pytest.approx(plain.shares["dark"])
    assert view.black == pytest.approx(plain.shares["black"])
    for rule in view.sensitivity:
        assert rule.dark == pytest.approx(view.dark)


def test_weights_make_the_whole_view_and_the_words_agree() -> None:
    _, _, view = view_of(flat(openings={"w": WINDOW}), plan(), in_the_evening)
    assert sum(w.weight for w in view.weights) == pytest.approx(1.0)
    found = shares(view.weights, finishes=view.finishes, by="lit view")
    assert found.shares["dark"] == pytest.approx(view.dark, abs=1e-9)
    assert found.shares["black"] == pytest.approx(view.black, abs=0.02)
    assert view.sensitivity[0].words == "white lit as the best lit 2 % of the view"
    whites = [r.white for r in view.sensitivity[:3]]
    assert whites == sorted(whites, reverse=True)
    darks = [r.dark for r in view.sensitivity[:3]]
    assert darks == sorted(darks, reverse=True)
    assert "our assumption" in view.rule


def test_a_dimmer_on_everything_changes_nothing() -> None:
    """The white is part of the view: only ratios count."""
    home, layout = flat(), plan()
    both = Layout(name="A", pieces=layout.pieces, lamps={"one": layout.lamps["one"]})
    full = lit_balance(home, both, viewpoint=EYE, rays=1500)
    low = lit_balance(home, both, viewpoint=EYE, dim={"c": 0.1}, rays=1500)
    for name in ("black", "dark", "mid", "light"):
        assert low.balance.shares[name] == pytest.approx(full.balance.shares[name], abs=1e-9)
    assert low.view.white == pytest.approx(0.1 * full.view.white)


def test_one_lamp_makes_more_of_the_room_dark_than_four() -> None:
    """What was measured: a black-and-white scheme is a lighting question too."""
    home = flat(
        fixtures={
            "spot": Fixture(
                name="s",
                kind="recessed light",
                size=(0.1, 0.1, 0.05),
                lumens=900.0,
                beam=50.0,
                finish="white",
            )
        }
    )
    four = {
        f"s{n}": Lamp(fixture="spot", at=at)
        for n, at in enumerate([(1.2, 1.0), (3.8, 1.0), (1.2, 3.0), (3.8, 3.0)])
    }
    dark = {}
    for name, lamps in (("four", four), ("one", {"s": Lamp(fixture="spot", at=(2.6, 3.0))})):
        found = lit_balance(home, plan(lamps=lamps), viewpoint=EYE, rays=2000)
        dark[name] = found.balance.shares["dark"]
    assert dark["one"] > dark["four"] + 0.03


def test_bare_glass_is_black_after_dark_unless_it_is_draped() -> None:
    home = flat(openings={"w": WINDOW}, pieces={})
    cloth = {"d": Drape(opening="w", finish="sheer", track=3.0, state="open")}
    layout = plan(pieces={}, drapes=cloth)
    night = lit_balance(home, layout, viewpoint=EYE, rays=2000)
    glass = sum(w.weight for w in night.view.weights if w.night)
    assert glass > 0.05
    assert night.balance.shares["black"] == pytest.approx(glass, abs=0.01)
    shut = lit_balance(home, layout, viewpoint=EYE, drapes="closed", rays=2000)
    assert not any(w.night for w in shut.view.weights)
    assert shut.balance.shares["black"] < 0.01
    part = lit_balance(home, layout, viewpoint=EYE, drapes={"d": "part"}, rays=2000)
    between = sum(w.weight for w in part.view.weights if w.night)
    assert 0 < between < glass
    day = lit_balance(home, layout, viewpoint=EYE, when="day", rays=2000)
    assert day.balance.outside == pytest.approx(glass, abs=1e-9)
    assert not any(w.night for w in day.view.weights)


def test_windows_lamps_and_glowing_cloth_set_no_white() -> None:
    home = flat(openings={"w": WINDOW})
    cloth = {"d": Drape(opening="w", finish="sheer", track=3.0, state="closed")}
    layout = plan(drapes=cloth)
    day = lit_balance(home, layout, viewpoint=EYE, when="day", rays=2000)
    cloth_seen = [w.seen for w in day.view.weights if w.kind == "drapery" and w.seen is not None]
    assert max(cloth_seen) == 100.0
    assert day.view.white < day.state.glow.max()
    evening = lit_balance(home, layout, viewpoint=EYE, rays=4000)
    lamps = [w.seen for w in evening.view.weights if w.kind == "lamp" and w.seen is not None]
    assert min(lamps) == 100.0
    # A lamp that is off is a thing like any other.
    off = lit_balance(home, layout, viewpoint=EYE, dim={"c": 0.0}, rays=4000)
    by_lamp = {w.owner: w.seen for w in off.view.weights if w.kind == "lamp"}
    assert by_lamp["one"] is not None
    assert by_lamp["one"] < 100


def test_a_stripe_is_seen_colour_by_colour() -> None:
    values = resolve_all(FINISHES)
    apart = split_colours(values)
    assert [k for k in apart if k.startswith("stripe")] == [
        "stripe",
        "stripe, colour 1",
        "stripe, colour 2",
    ]
    assert apart["stripe, colour 2"].lrv == pytest.approx(70.0)
    _, _, view = view_of(flat(), plan(), lambda of: even(of, 100.0))
    mine = {w.finish: w for w in view.weights if w.item == "stool"}
    assert mine["stripe, colour 1"].weight / mine["stripe, colour 2"].weight == pytest.approx(2 / 3)


def test_thin_parts_take_the_light_beside_them() -> None:
    legs = tuple(
        Part(name="legs", at=(x, y), size=(0.05, 0.05), top=0.7)
        for x in (-0.5, 0.5)
        for y in (-0.3, 0.3)
    )
    table = Piece(
        name="t",
        kind="ottoman",
        size=(1.1, 0.7, 0.75),
        finish="black",
        parts=(Part(name="top", size=(1.1, 0.7), base=0.7, top=0.75), *legs),
    )
    home = flat(pieces={"table": table})
    layout = plan(pieces={"table": Placement(at=(2.4, 1.6))})
    of, _, view = view_of(home, layout, in_the_evening)
    assert any(w.part == "legs" and w.seen is not None for w in view.weights)
    assert len(of.patches.boxes.middle) == 1
    assert "4 thin parts" in " ".join(view.notes)


def test_a_picture_has_the_tones_of_what_it_shows() -> None:
    home, layout = flat(openings={"w": WINDOW}), plan()
    of = exchange(home, layout)
    scene = scene_of(home, layout)
    state = in_the_evening(of)
    shown = lit_picture(
        of, scene=scene, viewpoint=EYE, state=state, columns=64, rows=40, white=60.0
    )
    assert shown.lightness.shape == (40, 64)
    assert np.isfinite(shown.lightness).all()
    assert np.isfinite(shown.luminance).all()
    assert shown.lightness.min() >= 0
    assert shown.lightness.max() <= 100
    kinds = np.array([t.kind for t in shown.targets])[shown.index]
    assert (shown.lightness[kinds == "glass"] == 10.0).all()
    plain = kinds == "wall"
    told = luminance_to_lightness(shown.luminance[plain] * math.pi / 60.0)
    assert shown.lightness[plain] == pytest.approx(np.minimum(told, 100.0))
    day = lit_picture(of, scene=scene, viewpoint=EYE, state=by_day(of), columns=32, rows=20)
    glass = np.array([t.kind for t in day.targets])[day.index] == "glass"
    assert (day.outdoors == glass).all()
    assert (day.lightness[glass] == 100.0).all()
    assert np.isfinite(day.lightness).all()


def test_light_behind_a_piece_is_in_its_shadow() -> None:
    """A pixel of the floor in the shadow of the sofa has no direct light."""
    home, layout = flat(), plan(lamps={"one": Lamp(fixture="globe", at=(4.75, 1.2), base=0.9)})
    of = exchange(home, layout)
    scene = scene_of(home, layout)
    rays = view_rays(of, scene=scene, viewpoint=EYE, field=FIELDS["60"], rays=4000)
    floor = np.array([t.kind == "floor" for t in scene.targets])[rays.target]
    near = floor & (rays.point[:, 0] > 3.3) & (rays.point[:, 0] < 3.7)
    near &= np.abs(rays.point[:, 1] - 1.2) < 0.5
    assert near.sum() > 5
    assert rays.direct[0, near].max() == 0
    assert rays.direct[0, floor & ~near].max() > 0


# --- the entry --------------------------------------------------------------------


def test_several_places_and_fields_in_one_go() -> None:
    sofa = Piece(name="s", kind="sofa", size=(2.0, 0.9, 0.8), finish="black")
    table = Piece(
        name="t",
        kind="dining table",
        size=(1.0, 0.8, 0.74),
        finish="oak",
        chairs=Chairs(piece="chair", front=1),
    )
    chair = Piece(name="c", kind="chair", size=(0.4, 0.45, 0.8), finish="black")
    home = flat(pieces={"sofa": sofa, "table": table, "chair": chair})
    layout = plan(pieces={"sofa": Placement(at=(2.5, 3.4)), "table": Placement(at=(2.6, 1.4))})
    found = lit_balances(
        home, layout, points=("sofa", "table.front1"), fields=("60", "30"), rays=800
    )
    assert list(found) == [
        ("sofa", "60"),
        ("sofa", "30"),
        ("table.front1", "60"),
        ("table.front1", "30"),
    ]
    one = found["sofa", "60"]
    assert one.balance.by == "lit view"
    assert "our assumption" in one.balance.definitions
    assert "best lit tenth" in one.balance.definitions
    assert one.picture(columns=16, rows=10).white == one.view.white
    with pytest.raises(LookupFailed, match="viewpoint = sofo"):
        lit_balance(home, layout, viewpoint="sofo")


def test_drawn_names_what_it_cannot_draw() -> None:
    cloth = {"d": Drape(opening="w", finish="sheer", track=3.0)}
    layout = plan(drapes=cloth)
    assert drawn(layout, "closed").drapes["d"].state == "closed"
    assert drawn(layout, {"d": "part"}).drapes["d"].state == "part"
    with pytest.raises(LookupFailed, match="drapery = e"):
        drawn(layout, {"e": "part"})
    with pytest.raises(InputError, match="allowed: open, part, closed"):
        drawn(layout, "half")  # type: ignore[arg-type]
    with pytest.raises(InputError, match="allowed: open, part, closed"):
        drawn(plan(), "half")  # type: ignore[arg-type]


def test_nothing_lit_and_places_that_cannot_be_are_named() -> None:
    home, layout = flat(), plan()
    with pytest.raises(InputError, match="light of the view = nothing lit; allowed: a lamp"):
        lit_balance(home, plan(lamps={}), viewpoint=EYE)
    with pytest.raises(InputError, match="nothing lit; allowed: a window with glass"):
        lit_balance(home, layout, viewpoint=EYE, when="day")
    with pytest.raises(InputError, match="viewpoint = inside sofa, body"):
        lit_balance(home, layout, viewpoint=standing((4.2, 1.2), facing=0.0, eye=0.5))
    with pytest.raises(InputError, match="when = noon; allowed: evening, day"):
        lit_balance(home, layout, viewpoint=EYE, when="noon")  # type: ignore[arg-type]
    with pytest.raises(LookupFailed, match="field of view = wide"):
        lit_balance(home, layout, viewpoint=EYE, field="wide")
    odd = dataclasses.replace(FINISHES["white"], name="x")
    bad = flat(finishes={"blanc": odd})
    with pytest.raises(LookupFailed, match=r"finish of r\.floor = oak"):
        lit_balance(bad, layout, viewpoint=EYE)
    of = exchange(home, layout)
    scene = scene_of(home, layout)
    rays = view_rays(of, scene=scene, viewpoint=EYE, field=FIELDS["60"], rays=200)
    with pytest.raises(InputError, match="share of the view for the white = 0"):
        seen_view(of, state=in_the_evening(of), rays=rays, viewpoint=EYE, white_share=0.0)
