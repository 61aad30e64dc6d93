"""The score: agreement with hand-made pairs, invariance, weights of the project."""

from __future__ import annotations

import dataclasses
import hashlib
import json
import math

import pytest
from layouts_pairs import BLIND, agreement, blind_agreement, part_of
from layouts_sample import LIVING, PIECES, door, home, rect, synthetic, window

from designkit.errors import InputError
from designkit.model import Home, Layout, Placement
from designkit.plan.layouts import TERMS, propose, rate
from designkit.reference import lookup, table, value

# Frozen before its author had seen the score, its terms or its weights.
BLIND_SHA256 = "8f07fca35d15b316ad46ec0afad98aa4f7d39c6626506b844f9bc173f05f11c4"


@pytest.fixture(scope="module")
def rows() -> list[object]:
    return list(agreement())


def test_the_score_agrees_with_the_pairs(rows, record_property) -> None:  # type: ignore[no-untyped-def]
    """At least 95 % of the open pairs and 90 % of those held back.

    These were made by hand by the author of the score, before any weight was
    tuned; those of someone who had not seen it are the second pairs.
    """
    for part, least in (("open", 0.95), ("held back", 0.90)):
        some = [row for row in rows if row.part == part]
        share = sum(row.margin > 0 for row in some) / len(some)
        record_property(part, f"{share:.3f} of n = {len(some)}")
        assert len(some) >= 30
        assert share >= least, [(r.id, r.reason) for r in some if r.margin <= 0]


def test_the_pairs_are_many_and_of_many_shapes(rows) -> None:  # type: ignore[no-untyped-def]
    assert len(rows) >= 90
    assert len({row.id.rsplit("-", 1)[0] for row in rows}) >= 10
    assert len({row.id for row in rows}) == len(rows)
    held = sum(part_of(row.id) == "held back" for row in rows)
    assert 0.2 < held / len(rows) < 0.5


def test_the_second_pairs_are_as_they_were_frozen() -> None:
    """Many shapes and uses, the same pieces on both sides, a rule or the author's judgement."""
    assert hashlib.sha256(BLIND.read_bytes()).hexdigest() == BLIND_SHA256
    data = json.loads(BLIND.read_text(encoding="utf-8"))
    pairs, rooms = data["pairs"], data["rooms"]
    assert len(pairs) >= 90
    assert len({pair["id"] for pair in pairs}) == len(pairs)
    assert len({room["shape"] for room in rooms.values()}) >= 10
    assert {room["use"] for room in rooms.values()} == {"living", "dining", "sleeping", "working"}
    rules = {row["id"] for row in table("plan")} | {"author's judgement"}
    for pair in pairs:
        assert set(pair["better"]) == set(pair["worse"]), pair["id"]
        assert pair["rule"] in rules, pair["id"]
        assert pair["reason"], pair["id"]


def test_the_score_agrees_with_pairs_written_blind(record_property) -> None:  # type: ignore[no-untyped-def]
    """At least 95 % of the open pairs and 90 % of those held back.

    A pair agrees where the better layout has more points, or where it alone
    could be proposed: what takes the floor that drawers need has no points of
    its own, as no proposal does it. Terms were improved from the open pairs
    alone; those held back were then looked at once.
    """
    rows = blind_agreement()
    for part, least in (("open", 0.95), ("held back", 0.90)):
        some = [row for row in rows if row.part == part]
        alone = sum(row.margin > 0 for row in some) / len(some)
        share = sum(row.agrees for row in some) / len(some)
        record_property(f"blind, {part}", f"{share:.3f}, by points {alone:.3f}, n = {len(some)}")
        assert len(some) >= 20
        assert share >= least, [(r.id, r.reason) for r in some if not r.agrees]


def test_every_weight_is_a_rule_with_a_kind() -> None:
    for term in TERMS:
        row = lookup(f"plan.score.{term.id}")
        assert row.kind in ("assumption", "common practice")
        assert row.number >= 0
        assert term.gives
        assert term.costs


def moved(where: Home, how) -> Home:  # type: ignore[no-untyped-def]
    rooms = {
        id: dataclasses.replace(room, outline=tuple(how(p) for p in room.outline))
        for id, room in where.rooms.items()
    }
    return dataclasses.replace(where, rooms=rooms)


def turn(angle: float):  # type: ignore[no-untyped-def]
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return lambda p: (c * p[0] - s * p[1] + 3.1, s * p[0] + c * p[1] - 7.4)


CHANGES = {
    "shifted": lambda p: (p[0] + 11.37, p[1] - 4.21),
    "turned by 90°": turn(90.0),
    "turned by 31°": turn(31.0),
    "mirrored": lambda p: (-p[0], p[1]),
}


@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize("name", ["plain", "bedroom"])
def test_a_room_that_is_moved_turned_or_mirrored_scores_the_same(name: str, change: str) -> None:
    where, space, pieces = synthetic()[name]
    other = moved(where, CHANGES[change])
    if change == "mirrored":
        swap = {"left": "right", "right": "left", None: None}
        openings = {
            id: dataclasses.replace(o, hinge=swap[o.hinge]) for id, o in other.openings.items()
        }
        other = dataclasses.replace(other, openings=openings)
    one = propose(where, pieces=pieces, space=space, count=2, nodes=20_000)
    two = propose(other, pieces=pieces, space=space, count=2, nodes=20_000)
    assert len(one.options) == len(two.options)

    def proven(found):  # type: ignore[no-untyped-def]
        """What the search proves, before the closer look: the numbers in the certificates."""
        return sorted(o.certificate.split("(")[1].split(" points")[0] for o in found.options)

    for a, b in zip(proven(one), proven(two)):
        assert float(a) == pytest.approx(float(b), abs=0.011)


def test_the_project_sets_weights() -> None:
    where = home(rect(5.0, 4.0), [door(3, 0.4), window(1, 1.0, 2.0, view="garden")])
    heavy = dataclasses.replace(where, rules={"plan.score.view": 60.0})
    one, two = (
        propose(w, pieces=["sofa", "low_table"], space="r", count=1) for w in (where, heavy)
    )
    assert two.options[0].score("view") == pytest.approx(60.0)  # the whole window
    assert {s.weight for s in one.options[0].scores if s.term == "view"} == {10.0}


def test_a_wish_for_a_view_weighs_more() -> None:
    from designkit.model import Brief, Wish

    windows = [
        door(3, 0.4),
        window(1, 1.0, 1.2, view="yard"),
        window(0, 1.6, 1.2, view="garden"),
    ]
    for wished, at in (("o1", (5.0, 1.6)), ("o2", (2.2, 0.0))):
        wish = Wish(text="the sofa sees it", kind="view", start="sofa", end=wished)
        where = home(rect(5.0, 4.0), windows, brief=Brief(wishes={"w": wish}))
        where = dataclasses.replace(where, rules={"plan.score.view": 30.0})
        found = propose(where, pieces=["sofa", "low_table"], space="r", count=1)
        p = found.options[0].layout.pieces["sofa"]
        way = math.radians(p.rotation - 90.0)
        dx, dy = at[0] - p.at[0], at[1] - p.at[1]
        off = math.acos((dx * math.cos(way) + dy * math.sin(way)) / math.hypot(dx, dy))
        assert math.degrees(off) < 60.0


def test_rating_a_plan_made_by_hand() -> None:
    where = home(rect(5.0, 4.0), [door(3, 0.4), window(1, 1.0, 2.0)])
    good = Layout(
        name="good",
        pieces={
            "sofa": Placement(at=(2.5, 0.48), rotation=180.0),
            "low_table": Placement(at=(2.5, 1.64)),
        },
    )
    far = dataclasses.replace(good, pieces={**good.pieces, "low_table": Placement(at=(4.4, 3.5))})
    one, two = (rate(where, layout, space="r") for layout in (good, far))
    assert one.points > two.points
    reach = {s.term: s.points for s in one.scores}["reach"]
    assert reach == pytest.approx(6.0)  # the whole weight: within the band, in line
    with pytest.raises(InputError, match="pieces in the space"):
        rate(where, Layout(name="empty"), space="r")


def test_no_sofa_turns_its_back_to_glass_below_its_back() -> None:
    """A rule of the designer: none of the best options of the sample rooms does."""
    where = home(rect(5.0, 4.0), [door(3, 0.4), window(1, 1.0, 2.0, sill=0.3)])
    found = propose(where, pieces=LIVING, space="r", count=1, nodes=20_000)
    p = found.options[0].layout.pieces["sofa"]
    assert not (p.rotation == 270.0 and p.at[0] > 4.3)
    assert PIECES["sofa"].size[2] > 0.3


@pytest.mark.parametrize(
    ("sill", "fault"), [(0.3, 1.0), (0.77, 1.0), (0.8, 0.0), (0.9, 0.0)], ids=str
)
def test_back_to_a_window_counts_only_where_the_back_stands_above_the_sill(
    sill: float, fault: float
) -> None:
    """The words of the brief; a back of 0.80 m at a window as wide as the sofa is."""
    where = home(rect(5.0, 4.0), [door(3, 0.4), window(1, 0.8, 2.4, sill=sill)])
    assert PIECES["sofa"].size[2] == 0.8
    layout = Layout(name="a", pieces={"sofa": Placement(at=(4.5, 2.0), rotation=270.0)})
    scores = {s.term: s.points for s in rate(where, layout, space="r").scores}
    weight = value("plan.score.back_window")
    assert scores.get("back_window", 0.0) == pytest.approx(-fault * weight)


@pytest.mark.parametrize(
    ("x", "fault"),
    [(1.8, True), (2.6, True), (5.0, False), (0.47, False)],
    ids=["1.3 m behind it", "2.1 m, by the door", "far off", "at the wall"],
)
def test_back_to_the_entrance_counts_only_where_a_route_runs_close_behind(
    x: float, fault: bool
) -> None:
    """The words of the brief; a sofa that turns its back to the door in the wall behind it."""
    where = home(rect(8.0, 4.0), [door(3, 1.5), window(1, 0.8, 2.4)])
    layout = Layout(name="a", pieces={"sofa": Placement(at=(x, 2.0), rotation=90.0)})
    scores = {s.term: s.points for s in rate(where, layout, space="r").scores}
    assert (scores.get("back_entrance", 0.0) < 0.0) == fault


def test_a_window_behind_a_screen_is_glare_as_one_that_it_mirrors_is() -> None:
    """The screen at the window wall, opposite it, and at the wall beside it."""
    where = home(rect(5.0, 4.0), [door(3, 0.4), window(1, 0.8, 2.4, sill=0.4)])
    scores = []
    for at, turn in (((4.75, 2.0), 270.0), ((0.25, 2.0), 90.0), ((1.5, 3.75), 0.0)):
        layout = Layout(name="a", pieces={"cabinet": Placement(at=at, rotation=turn)})
        rated = rate(where, layout, space="r").scores
        scores.append({s.term: s.value for s in rated}["glare"])
    before, opposite, beside = scores
    assert before == pytest.approx(-1.0)  # the whole screen before the glass
    assert opposite < 0 < beside
