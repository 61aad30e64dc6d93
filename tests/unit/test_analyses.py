"""Analyses: the demos' wishes, doors as pinches, routes that the furniture limits."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import pytest
from shapely.geometry import Polygon

from designkit import analyses, project
from designkit.errors import LookupFailed
from designkit.model import Edit, Home, Layout, Opening, Piece, Placement, Room
from designkit.plan.place import place_home

DATA = Path(__file__).parents[2] / "data"


@pytest.fixture(scope="module")
def harbour() -> project.Opened:
    return project.read(DATA / "harbour-flat")


def corridor(*, door: float, cabinet_at: float | None) -> Home:
    """A room 4 × 3 m with a door on the west and the east; a cabinet may narrow it."""
    room = Room(name="room", outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.6)
    ways = {
        "west": Opening(
            room="r", wall=3, offset=1.0, width=1.0, clear_width=door, head=2.1, kind="door",
            to="stair", swing="out", hinge="left",
        ),
        "east": Opening(
            room="r", wall=1, offset=1.0, width=1.0, clear_width=0.95, head=2.1, kind="door",
            to="balcony", swing="out", hinge="left",
        ),
    }  # fmt: skip
    block = Piece(name="cabinet", kind="wardrobe", size=(0.5, 2.0, 2.0), zones=())
    placed = {} if cabinet_at is None else {"block": Placement(at=(2.0, cabinet_at))}
    return Home(
        name="h",
        rooms={"r": room},
        openings=ways,
        pieces={"block": block},
        layouts={"a": Layout(name="a", pieces=placed)},
        layout="a",
    )


def test_a_door_is_one_narrow_place() -> None:
    row = analyses.layout(corridor(door=0.82, cabinet_at=None)).routes[0]
    assert row.route.width == pytest.approx(0.82, abs=1e-9)
    assert row.rule == "plan.route.pinch"
    assert row.finding.verdict != "fails"
    narrow = analyses.layout(corridor(door=0.7, cabinet_at=None)).routes[0]
    assert narrow.finding.verdict == "fails"
    assert "no piece can be moved" in narrow.finding.mend


def test_a_door_does_not_hide_what_the_furniture_narrows() -> None:
    # The cabinet reaches from y = 0.85 to 2.85: below it 0.85 m are left, above it 0.15 m.
    row = analyses.layout(corridor(door=0.82, cabinet_at=1.85)).routes[0]
    assert row.route.width == pytest.approx(0.85, abs=1e-6)
    assert row.rule == "plan.route.main"
    assert "block" in row.route.between
    assert row.finding.verdict == "fails"
    assert "cabinet" in row.finding.mend


def test_brief_of_the_demo(harbour: project.Opened) -> None:
    whole = harbour.project
    lines = analyses.brief(
        whole,
        layout=analyses.layout(whole),
        balance=analyses.balance(whole),
        light=analyses.light(whole, folder=harbour.folder),
        budget=analyses.budget(whole),
        kinds=("turning", "view"),
    )
    states = {line.id: line.state for line in lines}
    assert set(states) >= {"balcony_way", "harbour_view", "six_at_table", "black_accent"}
    assert states["turning"] == "not asked"
    assert "view" not in states  # it was asked, so it is not named again
    assert all(line.why for line in lines if line.state != "not asked")
    assert analyses.brief_sentence(lines).startswith(
        f"{sum(s == 'met' for s in states.values())} of "
    )


def test_moving_a_piece_changes_the_route(harbour: project.Opened) -> None:
    before = analyses.layout(harbour.project).route("balcony_way").route.width
    edit = Edit(
        path="layouts.a.pieces.sideboard.at", old=["0.245 m", "2.30 m"], new=["1.10 m", "0.60 m"]
    )
    moved = project.apply(harbour, [edit])
    after = analyses.layout(moved).route("balcony_way")
    assert after.route.width < before
    assert after.finding.verdict == "fails"


@pytest.mark.parametrize("demo", ["harbour-flat", "parlor-floor"])
def test_quick_and_full_agree(demo: str) -> None:
    home = project.read(DATA / demo).project.home
    for id in home.layouts:
        full, quick = analyses.layout(home, layout=id), analyses.layout(home, layout=id, quick=True)
        assert [r.route.width for r in full.routes] == [r.route.width for r in quick.routes]
        assert [(f.what, f.measured) for f in full.findings] == [
            (f.what, f.measured) for f in quick.findings
        ]


def test_step_free_asks_more(harbour: project.Opened) -> None:
    home = analyses.layout(harbour.project)
    free = analyses.layout(harbour.project, rule_set="step-free")
    assert len(free.findings) > len(home.findings)
    assert free.routes[0].required > home.routes[0].required or "step_free" in free.routes[0].rule


def test_unknown_names_are_named(harbour: project.Opened) -> None:
    with pytest.raises(LookupFailed, match=r"write .a.|allowed: a, b, c"):
        analyses.layout(harbour.project, layout="aa")
    home = harbour.project.home
    wish = dataclasses.replace(home.brief.wishes["balcony_way"], end="balcony_dor")
    wishes = {**home.brief.wishes, "balcony_way": wish}
    changed = dataclasses.replace(home, brief=dataclasses.replace(home.brief, wishes=wishes))
    with pytest.raises(LookupFailed, match="balcony_door"):
        analyses.layout(changed)


def test_scheme_by_view_is_a_share(harbour: project.Opened) -> None:
    points = analyses.scheme_viewpoints(harbour.project)
    assert "sofa" in points
    seen = analyses.scheme(harbour.project, viewpoint="sofa", rays=2000)
    total = sum(seen.balance.shares[k] for k in ("dark", "mid", "light")) + seen.balance.outside
    assert total == pytest.approx(1.0, abs=1e-9)
    with pytest.raises(LookupFailed, match="sofa"):
        analyses.scheme(harbour.project, viewpoint="sofaa")


def test_a_proposal_keeps_the_pieces_and_stands_free(harbour: project.Opened) -> None:
    home = harbour.project.home
    proposed, found = analyses.proposals(home, layout="a", count=1, seconds=6)
    assert found.certificate
    (one,) = proposed
    assert set(one.layout.pieces) == set(home.layouts["a"].pieces)
    for id in ("hall_bench", "hall_mirror", "low_cabinet"):  # what stands in the hall stays
        assert one.layout.pieces[id].at == home.layouts["a"].pieces[id].at
    placed = place_home(home, one.layout)
    room = Polygon(home.rooms["living"].outline)
    solid = {
        id: thing
        for id, thing in placed.items()
        if thing.top > 0.05 and thing.piece.kind != "mirror"
    }
    for id, thing in solid.items():
        if thing.room in ("", "living") and room.intersects(thing.footprint):
            assert thing.footprint.difference(room).area < 1e-4, id
    names = sorted(solid)
    for i, a in enumerate(names):
        for b in names[i + 1 :]:
            if solid[a].host == b or solid[b].host == a or solid[a].on == b or solid[b].on == a:
                continue
            for p in solid[a].parts:
                for q in solid[b].parts:
                    if p.base < q.top - 1e-6 and q.base < p.top - 1e-6:
                        assert p.footprint.intersection(q.footprint).area < 1e-4, (a, b)
    assert one.says.count(".") >= 1


def test_a_screen_is_judged_from_the_seats_before_it(harbour: project.Opened) -> None:
    with_screen = analyses.layout(harbour.project, layout="b")
    assert {row.piece for row in with_screen.screens} >= {"sofa"}
    row = next(r for r in with_screen.screens if r.piece == "sofa")
    # The angle of the picture from the eye, by the cosine rule on the plan.
    seat = with_screen.placed["sofa"].seats[1].at
    (x, y), half = with_screen.placed["screen"].at, 1.23 / 2
    left, right = math.dist(seat, (x - half, y)), math.dist(seat, (x + half, y))
    angle = math.degrees(math.acos((left**2 + right**2 - 1.23**2) / (2 * left * right)))
    assert row.view.angle == pytest.approx(angle, abs=1e-6)
    assert (row.finding.verdict == "fails") == (angle < 30)
    assert analyses.layout(harbour.project, layout="c").screens == ()
