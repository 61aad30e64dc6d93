"""Light of a layout the quick way, on an invented L-shaped room with a hall."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from lighting_sample import lit_home, lit_layout

from designkit.errors import InputError, LookupFailed
from designkit.lighting.lumen_method import Reflectances
from designkit.lighting.photometry import parse_photometry
from designkit.lighting.quick import grid, light
from designkit.lighting.room_light import light_up
from designkit.model import Circuit, Lamp, Piece, Placement, Service, Target, Wish

HOME, LAYOUT = lit_home(), lit_layout()


@pytest.fixture(scope="module")
def result():
    return light(HOME, LAYOUT)


def with_lamps(**lamps: Lamp):
    return dataclasses.replace(LAYOUT, lamps={**LAYOUT.lamps, **lamps})


def test_every_place_that_wants_light_has_a_row(result):
    assert [row.id for row in result.rows] == [
        "living",
        "hall",
        "table",
        "sofa page 1",
        "sofa page 2",
        "sofa page 3",
    ]
    with pytest.raises(LookupFailed, match="nearest: hall"):
        result.row("halls")


def test_finding_row_and_verdict_come_from_one_value(result):
    for row in result.rows:
        assert row.finding.measured == row.full
        assert row.finding.verdict == row.verdict
        assert f"= {row.full:.0f} lx" in row.why
        if row.verdict == "passes":
            assert row.full - row.within >= row.wanted.low
        if row.verdict == "fails":
            assert row.full + row.within < row.wanted.low
            assert row.finding.mend


def test_layers_of_a_room_add_up_to_its_light(result):
    for room in ("living", "hall"):
        parts = [layer.lux for layer in result.layers if layer.room == room]
        assert sum(parts) == pytest.approx(result.row(room).full)


def test_the_lumens_that_are_short_close_the_gap(result):
    """Scaling the present lamps by what is said to be short reaches the target."""
    row = result.row("living")
    have = sum(lamp.lumens for lamp in result.lamps if lamp.room == "living")
    assert row.full * (have + row.short) / have == pytest.approx(row.wanted.low)


def test_lamp_table_states_lumens_after_the_shade(result):
    pendant = next(lamp for lamp in result.lamps if lamp.id == "pendant")
    assert (pendant.lumens, pendant.shade, pendant.base) == (900, 0.6, 1.55)


def test_the_eldest_reader_sets_the_page(result):
    assert result.row("sofa page 1").wanted.low == 450
    young = light(HOME, LAYOUT, age=30)
    assert young.row("sofa page 1").wanted.low == 300
    assert young.row("sofa page 1").full == result.row("sofa page 1").full


def test_dimming_is_linear_and_leaves_full_light_alone(result):
    half = light(HOME, LAYOUT, dim={"light": 0.5})
    assert half.row("hall").full == result.row("hall").full
    assert half.row("hall").dimmed == pytest.approx(result.row("hall").full / 2)
    off = light(HOME, LAYOUT, dim=0.0)
    assert all(row.dimmed == 0 for row in off.rows)


def test_a_lamp_that_cannot_be_dimmed_stays_at_full_and_says_so():
    fixtures = {
        **HOME.fixtures,
        "globe": dataclasses.replace(HOME.fixtures["globe"], dimmable=False),
    }
    found = light(lit_home(fixtures=fixtures), LAYOUT, dim={"light": 0.3})
    assert found.row("hall").dimmed == found.row("hall").full
    assert any("cannot be dimmed" in f.why for f in found.findings)
    sockets = light(HOME, LAYOUT, dim={"sockets": 0.3})
    assert any("has no dimmer" in f.why for f in sockets.findings)


def test_walls_stand_in_the_way_and_passages_do_not():
    """The hall lamp reaches the living room through the passage only."""
    alone = dataclasses.replace(LAYOUT, lamps={"hall": LAYOUT.lamps["hall"]})
    found = grid(HOME, alone, room="living", step=0.2)
    assert found.indirect == 0
    lit = found.direct[found.inside] > 0
    assert 0 < lit.sum() < lit.size
    # The passage stands at x = 5.3 to 6.5 on y = 4; the lamp at (5.6, 5.1).
    xx, yy = np.meshgrid(found.x, found.y)
    sees = found.inside & (found.direct > 0)
    assert (yy[sees] < 4).all()
    through = 5.6 + (xx[sees] - 5.6) * (5.1 - 4.0) / (5.1 - yy[sees])
    assert through.min() > 5.3 - 1e-6
    assert through.max() < 6.5 + 1e-6
    closed = grid(lit_home(openings={}), alone, room="living", step=0.2)
    assert closed.direct.max() == 0


def test_the_corner_of_an_l_shades():
    lamps = {"it": Lamp(fixture="pendant", at=(6.5, 0.5), base=2.0)}
    found = grid(HOME, dataclasses.replace(LAYOUT, lamps=lamps), room="living", step=0.1)

    def at(x: float, y: float) -> float:
        return found.direct[np.argmin(abs(found.y - y)), np.argmin(abs(found.x - x))]

    # From (6.5, 0.5) the corner (4, 4) hides what lies right of its line.
    assert at(3.85, 5.95) == 0
    assert at(0.55, 3.05) > 0


def test_grid_is_direct_plus_an_even_part(result):
    found = grid(HOME, LAYOUT, room="living", plane=0.74, step=0.1)
    assert found.lux == pytest.approx(found.direct + found.indirect)
    assert f"+ {found.indirect:.0f} lx from walls and ceiling" in found.label
    assert found.lux.shape == (len(found.y), len(found.x)) == found.inside.shape
    assert np.isfinite(found.lux).all()
    # On the table the grid and the row are the same light.
    xx, yy = np.meshgrid(found.x, found.y)
    on = (abs(xx - 2.0) < 0.9) & (abs(yy - 4.6) < 0.45)
    assert found.lux[on].mean() == pytest.approx(result.row("table").full, rel=0.02)
    # Outside the outline stands the nearest value inside.
    assert not found.inside.all()
    assert set(found.lux[~found.inside]) <= set(found.lux[found.inside])


def test_one_prepared_layout_serves_several_grids():
    lit = light_up(HOME, LAYOUT)
    one = grid(HOME, LAYOUT, room="living", lit=lit)
    assert one.lux == pytest.approx(grid(HOME, LAYOUT, room="living").lux)


def test_a_reading_lamp_farther_from_the_page_lights_it_less(result):
    page = result.row("sofa page 1")
    now = LAYOUT.lamps["reading"].at
    away = (page.at[0] + 2 * (now[0] - page.at[0]), page.at[1] + 2 * (now[1] - page.at[1]))
    assert math.dist(away, page.at) == pytest.approx(2 * math.dist(now, page.at))
    far = with_lamps(reading=dataclasses.replace(LAYOUT.lamps["reading"], at=away))
    assert light(HOME, far).row(page.id).full < page.full


def test_darker_walls_lower_the_light(result):
    dark = light(HOME, LAYOUT, reflectances=Reflectances(ceiling=0.2, wall=0.1, floor=0.1))
    for row in dark.rows:
        assert row.full < result.row(row.id).full
    assert dark.reflectances["hall"] == (Reflectances(ceiling=0.2, wall=0.1, floor=0.1), "given")
    assert result.reflectances["hall"][0].ceiling == pytest.approx(0.85)


def test_finishes_that_are_not_given_are_said_to_be_assumed():
    rooms = {
        "living": dataclasses.replace(HOME.rooms["living"], ceiling=""),
        "hall": HOME.rooms["hall"],
    }
    found = light(lit_home(rooms=rooms), LAYOUT)
    assert "ceiling not given" in found.reflectances["living"][1]


def test_a_file_takes_the_place_of_the_shade():
    data = b"IESNA:LM-63-2002\nTILT=NONE\n1 -1 1 3 1 1 2 0 0 0\n1 1 9\n0 90 180\n0\n50 50 50\n"
    file = parse_photometry(data, name="globe.ies")
    fixtures = {
        **HOME.fixtures,
        "globe": dataclasses.replace(HOME.fixtures["globe"], photometry="globe.ies", watts=0.0),
    }
    home = lit_home(fixtures=fixtures)
    found = light(home, LAYOUT, photometry={"globe.ies": file})
    globe = next(lamp for lamp in found.lamps if lamp.id == "hall")
    assert globe.lumens == pytest.approx(200 * math.pi)
    assert (globe.shade, globe.watts) == (None, 9)
    with pytest.raises(LookupFailed, match="read_photometry"):
        light(home, LAYOUT)


def test_unknown_lumens_are_said_and_never_fail_a_place():
    fixtures = {
        **HOME.fixtures,
        "pendant": dataclasses.replace(HOME.fixtures["pendant"], lumens=None),
    }
    found = light(lit_home(fixtures=fixtures), LAYOUT)
    assert found.row("table").verdict == "measure first"
    assert "without pendant" in found.row("table").why
    assert any(f.what == "Lumens of pendant" for f in found.findings)


def test_own_targets_and_wishes_of_the_brief_go_first():
    brief = dataclasses.replace(
        HOME.brief,
        wishes={"read": Wish(text="read in bed light", kind="light", end="sofa", at_least=40.0)},
    )
    home = lit_home(brief=brief, targets={"t": Target(place="table", lux=50.0, text="candles")})
    found = light(home, LAYOUT)
    assert found.row("table").wanted.source == "candles"
    assert found.row("table").verdict == "passes"
    assert found.row("sofa page 1").wanted.low == 40
    with pytest.raises(LookupFailed, match=r"targets\.t\.place"):
        light(lit_home(targets={"t": Target(place="tables", lux=50.0)}), LAYOUT)


def test_law_only_where_the_project_names_the_code(result):
    loads = [f for f in result.findings if f.rule == "light.circuit.continuous"]
    assert {f.severity for f in loads} == {"safety"}
    named = light(lit_home(code="NEC 2023"), LAYOUT)
    assert {f.severity for f in named.findings if f.rule == "light.circuit.continuous"} == {
        "law here"
    }


def test_cautions_name_the_electrician_and_the_local_code(result):
    text = " ".join(result.cautions)
    assert "licensed electrician" in text
    assert "local code" in text


def test_an_overloaded_circuit_fails():
    circuits = {**HOME.circuits, "light": Circuit(name="light", volts=120, amps=1)}
    found = light(lit_home(circuits=circuits), LAYOUT)
    row = next(r for r in found.circuits if r.id == "light")
    assert row.limit == pytest.approx(96)
    assert row.verdict == "passes"
    heavy = {**circuits, "light": Circuit(name="light", volts=120, amps=1, existing_watts=70)}
    found = light(lit_home(circuits=heavy), LAYOUT)
    assert next(r for r in found.circuits if r.id == "light").verdict == "fails"


def test_a_chandelier_in_an_open_plan_room_needs_its_zone():
    fixtures = {
        **HOME.fixtures,
        "arms": dataclasses.replace(HOME.fixtures["pendant"], kind="chandelier", name="arms"),
    }
    home = lit_home(fixtures=fixtures)
    bare = dataclasses.replace(
        LAYOUT, pieces={}, lamps={"it": Lamp(fixture="arms", service="outlet")}
    )

    def finding(layout):
        return next(
            f for f in light(home, layout).findings if f.rule == "light.chandelier.diameter"
        )

    assert finding(bare).verdict == "measure first"
    assert finding(bare).required is None
    table = {"table": Placement(at=(2.0, 4.6))}
    seated = dataclasses.replace(
        bare, pieces=table, lamps={"it": Lamp(fixture="arms", service="outlet", over="table")}
    )
    # Table 1.8 × 0.9 m with chairs in use 0.7 m round it: (3.2 + 2.3) ÷ 12.
    assert finding(seated).required == pytest.approx((3.2 + 2.3) / 12, rel=0.05)


def test_a_mirror_lights_the_face_that_looks_into_it():
    rooms = {"hall": dataclasses.replace(HOME.rooms["hall"], use="bath")}
    home = lit_home(
        rooms=rooms,
        openings={},
        services={},
        pieces={"mirror": Piece(name="mirror", kind="mirror", size=(0.8, 0.03, 1.2))},
    )
    pieces = {"mirror": Placement(at=(5.6, 5.95), base=1.0)}  # its front looks to −y

    def face(y: float) -> float:
        lamps = {"it": Lamp(fixture="globe", at=(5.6, y), base=1.5)}
        layout = dataclasses.replace(LAYOUT, pieces=pieces, lamps=lamps)
        return light(home, layout).row("mirror").direct

    assert face(5.8) > 0  # between face and mirror
    assert face(4.6) == 0  # behind the head


@pytest.mark.parametrize(
    ("lamp", "error", "match"),
    [
        (Lamp(fixture="nothing", at=(1, 1)), LookupFailed, "nothing"),
        (Lamp(fixture="pendant"), InputError, "at"),
        (Lamp(fixture="pendant", at=(20, 20), base=2.0), InputError, "room"),
        (Lamp(fixture="pendant", at=(1, 1), base=9.0), InputError, "base"),
        (Lamp(fixture="pendant", at=(1, 1), circuit="none"), LookupFailed, "circuit"),
        (Lamp(fixture="pendant", at=(1, 1), dim=2.0), InputError, "dim"),
        (Lamp(fixture="pendant", service="none"), LookupFailed, "none"),
    ],
)
def test_lamps_that_cannot_be(lamp: Lamp, error: type[Exception], match: str):
    with pytest.raises(error, match=match):
        light(HOME, with_lamps(bad=lamp))


@pytest.mark.parametrize(
    ("changes", "error", "match"),
    [
        ({"room": "none"}, LookupFailed, "room"),
        ({"plane": 5.0}, InputError, "plane"),
        ({"step": 0.0}, InputError, "step"),
        ({"step": 1e-5}, InputError, "million"),
        (
            {"reflectances": {"none": Reflectances(ceiling=0.7, wall=0.5, floor=0.2)}},
            LookupFailed,
            "none",
        ),
        ({"dim": {"none": 0.5}}, LookupFailed, "circuit"),
    ],
)
def test_grids_that_cannot_be(changes: dict[str, object], error: type[Exception], match: str):
    with pytest.raises(error, match=match):
        grid(HOME, LAYOUT, **{"room": "living", **changes})  # type: ignore[arg-type]


def test_a_home_without_lamps_is_dark_and_says_what_it_needs():
    found = light(HOME, dataclasses.replace(LAYOUT, lamps={}))
    for row in found.rows:
        assert (row.full, row.verdict) == (0, "fails")
        assert row.short > 0
        assert "Add" in row.finding.mend


def test_a_wall_light_on_the_wall_line_lights_its_room():
    fixtures = {
        **HOME.fixtures,
        "wall": dataclasses.replace(
            HOME.fixtures["globe"], kind="wall light", name="wall light", size=(0.15, 0.12, 0.3)
        ),
    }
    services = {
        **HOME.services,
        "side": Service(room="living", kind="wall outlet", at=(0.0, 3.0), height=1.6),
    }
    home = lit_home(fixtures=fixtures, services=services)
    layout = dataclasses.replace(LAYOUT, lamps={"it": Lamp(fixture="wall", service="side")})
    found = grid(home, layout, room="living", step=0.2)
    assert (found.direct[found.inside] > 0).mean() > 0.9
    assert found.indirect > 0


def test_the_same_call_gives_the_same_answer(result):
    again = light(HOME, LAYOUT)
    assert [(r.id, r.full, r.why) for r in again.rows] == [
        (r.id, r.full, r.why) for r in result.rows
    ]
