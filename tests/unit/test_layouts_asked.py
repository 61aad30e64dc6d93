"""What a call asks: locked and optional pieces, relations, words, and bad input."""

from __future__ import annotations

import dataclasses
import itertools
import math
import re
import time

import pytest
from layouts_sample import LIVING, PIECES, arc, door, home, rect, synthetic, window

from designkit.errors import InputError, LookupFailed
from designkit.model import Home, Layout, Piece, Placement
from designkit.plan.layouts import Progress, Relation, propose
from designkit.reference import table

ROOM = home(rect(5.0, 4.0), [door(3, 0.4), window(1, 1.0, 2.0, view="garden")])


def test_what_is_locked_stays() -> None:
    placement = Placement(at=(2.5, 0.5), rotation=180.0)
    found = propose(
        ROOM, pieces=["low_table", "armchair"], space="r", locked={"sofa": placement}, count=3
    )
    assert found.options
    for option in found.options:
        p = option.layout.pieces["sofa"]
        assert (p.at, p.rotation) == (placement.at, placement.rotation)
        # The table belongs to the sofa: it stands before it, within the band.
        x, y = option.layout.pieces["low_table"].at
        assert abs(x - 2.5) < 0.6
        assert 0.3 < y - 0.3 - 0.96 < 0.6


def test_locked_by_the_current_layout() -> None:
    layout = Layout(name="now", pieces={"sofa": Placement(at=(2.5, 0.5), rotation=180.0)})
    where = dataclasses.replace(ROOM, layouts={"a": layout}, layout="a")
    found = propose(where, pieces=["low_table"], space="r", locked=["sofa"], count=1)
    assert found.options[0].layout.pieces["sofa"].at == (2.5, 0.5)
    with pytest.raises(LookupFailed, match="locked piece"):
        propose(where, pieces=["low_table"], space="r", locked=["sofla"])


def ahead(p: Placement, at: tuple[float, float]) -> float:
    """Angle between straight ahead and a point [°]."""
    turn = math.radians(p.rotation - 90.0)
    dx, dy = at[0] - p.at[0], at[1] - p.at[1]
    cosine = (dx * math.cos(turn) + dy * math.sin(turn)) / math.hypot(dx, dy)
    return math.degrees(math.acos(max(-1.0, min(1.0, cosine))))


def test_faces() -> None:
    relations = [Relation(piece="sofa", kind="faces", other="o1")]
    found = propose(ROOM, pieces=LIVING, space="r", relations=relations, count=3)
    assert found.options
    for option in found.options:
        assert ahead(option.layout.pieces["sofa"], (5.0, 2.0)) <= 45.0 + 1e-6


def test_faces_another_piece() -> None:
    relations = [Relation(piece="armchair", kind="faces", other="cabinet")]
    found = propose(ROOM, pieces=LIVING, space="r", relations=relations, count=3)
    for option in found.options:
        pieces = option.layout.pieces
        # Moved within 20 cm afterwards, still within the limit.
        assert ahead(pieces["armchair"], pieces["cabinet"].at) <= 45.0 + 1e-6


def test_against_a_wall() -> None:
    relations = [Relation(piece="cabinet", kind="against", other="r wall 2")]
    found = propose(ROOM, pieces=LIVING, space="r", relations=relations, count=3)
    assert found.options
    for option in found.options:
        p = option.layout.pieces["cabinet"]
        assert p.rotation == 0.0
        assert p.at[1] == pytest.approx(4.0 - 0.02 - 0.21)
    with pytest.raises(LookupFailed, match="r wall 0"):
        propose(
            ROOM,
            pieces=LIVING,
            space="r",
            relations=[Relation(piece="cabinet", kind="against", other="r wall 9")],
        )


def test_keeps_out_of_the_floor_before_a_window() -> None:
    relations = [Relation(piece=id, kind="keep out of", other="o1") for id in ("sofa", "armchair")]
    found = propose(ROOM, pieces=LIVING, space="r", relations=relations, count=3)
    assert found.options
    for option in found.options:
        for id in ("sofa", "armchair"):
            x, y = option.layout.pieces[id].at
            w = min(PIECES[id].size[:2]) / 2
            assert not (x + w > 4.0 + 1e-6 and 1.0 - w + 1e-6 < y < 3.0 + w - 1e-6)


def test_stands_with() -> None:
    relations = [Relation(piece="plant", kind="with", other="cabinet")]
    found = propose(ROOM, pieces=[*LIVING, "plant"], space="r", relations=relations, count=2)
    assert found.options
    for option in found.options:
        a, b = option.layout.pieces["plant"].at, option.layout.pieces["cabinet"].at
        assert math.dist(a, b) < 1.0 + 0.75 + 0.25 + 0.1


def test_an_optional_piece_is_left_out_where_it_does_not_fit() -> None:
    small = home(rect(3.2, 2.8), [door(3, 0.4), window(1, 0.6, 1.6)])
    pieces = ["small_sofa", "low_table", "wardrobe", "chest", "bookcase"]
    all_in = propose(small, pieces=pieces, space="r", count=1)
    found = propose(
        small, pieces=pieces, space="r", optional=["chest", "bookcase", "wardrobe"], count=1
    )
    assert found.options
    option = found.options[0]
    assert {"small_sofa", "low_table"} <= set(option.layout.pieces)
    if not all_in.options:
        assert option.left_out
        assert "does without" in option.says


def test_equal_pieces_are_numbered_and_told_apart() -> None:
    found = propose(ROOM, pieces=["sofa", "low_table", "armchair", "armchair"], space="r", count=1)
    pieces = found.options[0].layout.pieces
    assert pieces["armchair_1"].item == pieces["armchair_2"].item == "armchair"


def test_a_table_comes_with_its_chairs_and_room_behind_them() -> None:
    found = propose(ROOM, pieces=["table"], space="r", count=1)
    assert found.options
    x, y = found.options[0].layout.pieces["table"].at
    turned = found.options[0].layout.pieces["table"].rotation % 180.0 == 90.0
    across = min(x, 5.0 - x) if turned else min(y, 4.0 - y)
    assert across >= 0.9144 + 0.425 - 1e-6  # 36 in from the edge to a wall


def test_words_say_what_an_option_gives_and_costs() -> None:
    where, space, pieces = synthetic()["two columns"]
    found = propose(where, pieces=pieces, space=space, nodes=2000)
    for option in found.options:
        assert 2 <= len(re.findall(r"[.!?](?:\s|$)", option.says)) <= 4
        assert "It gives:" in option.says
        assert option.layout.note == option.says
        assert option.layout.name
    assert set(found.shown) == {"best", "boldest", "least building work"}
    assert len(set(found.shown.values())) == 3
    assert found.shown["best"] == 0
    points = [o.points for o in found.options]
    assert points == sorted(points, reverse=True)
    assert "terms that are not in the proof" in found.certificate
    for option in found.options:
        told = sum(s.points for s in option.scores)
        assert told == pytest.approx(option.points)
        assert sum(s.points for s in option.scores if s.in_proof) == pytest.approx(
            option.pair_points
        )


def test_progress_stop_and_the_best_so_far() -> None:
    where, space, pieces = synthetic()["ell"]
    said: list[Progress] = []
    found = propose(
        where,
        pieces=pieces,
        space=space,
        nodes=20_000,
        progress=said.append,
        stop=lambda: sum(p.best is not None for p in said) >= 1,
    )
    assert 1 <= len(found.options) < 5
    assert "ended by the reader" in found.certificate
    assert said[0].done == 0.0
    assert all(a.done <= b.done for a, b in itertools.pairwise(said))
    assert any(p.best is not None for p in said)


def test_what_a_callback_raises_is_not_swallowed() -> None:
    def broken(_: Progress) -> None:
        raise KeyError("mine")

    with pytest.raises(KeyError, match="mine"):
        propose(ROOM, pieces=["sofa"], space="r", progress=broken)


def test_time_is_kept_and_said() -> None:
    where, space, pieces = synthetic()["hall of doors"]
    began = time.perf_counter()
    found = propose(where, pieces=pieces, space=space, seconds=0.3, nodes=10**6)
    assert time.perf_counter() - began < 20.0  # a hang would be minutes
    if found.options:
        assert "clock" in found.certificate
    else:
        assert "not proven" in found.certificate


# --- nothing fits ---------------------------------------------------------------


def test_a_piece_larger_than_the_room() -> None:
    huge = Piece(name="huge sofa", kind="sofa", size=(6.5, 1.0, 0.8))
    where = dataclasses.replace(ROOM, pieces={**PIECES, "huge": huge})
    found = propose(where, pieces=["huge", "low_table"], space="r")
    assert not found.options
    assert "huge sofa is 6.50 × 1.00 m" in found.why_none
    assert found.changes[0].startswith("Leave out the huge sofa")


def test_a_bottleneck_is_named_with_changes_that_do() -> None:
    where = home(rect(4.4, 3.0), [door(3, 0.8), door(1, 0.8, to="kitchen"), window(0, 1.5, 1.0)])
    pieces = ["table", "sideboard", "bookcase", "sofa"]
    found = propose(where, pieces=pieces, space="r")
    assert not found.options
    assert found.complete
    assert "stays too narrow" in found.why_none
    dropped = [c for c in found.changes if c.startswith("Leave out")]
    assert dropped
    for change in dropped:
        id = next(i for i in pieces if PIECES[i].name in change)
        assert propose(where, pieces=[p for p in pieces if p != id], space="r", count=1).options
    shrunk = [c for c in found.changes if c.startswith("Take a ")]
    assert shrunk
    for change in shrunk:
        id = next(i for i in pieces if PIECES[i].name in change)
        width = float(re.search(r"of ([\d.]+) m", change)[1])  # type: ignore[index]
        smaller = dataclasses.replace(PIECES[id], size=(width, *PIECES[id].size[1:]))
        other = dataclasses.replace(where, pieces={**PIECES, id: smaller})
        assert propose(other, pieces=pieces, space="r", count=1).options


def test_two_pieces_that_do_not_go_in_together() -> None:
    where = home(rect(2.4, 2.3), [door(3, 0.3), window(1, 0.5, 1.0)])
    found = propose(where, pieces=["narrow_bed", "wardrobe"], space="r")
    assert not found.options
    assert found.why_none
    assert "proven" in found.certificate


def test_a_locked_piece_in_the_way_is_turned_or_let_go() -> None:
    where = home(rect(3.2, 3.0), [door(3, 1.0), door(1, 1.0, to="kitchen")])
    stands = Placement(at=(1.6, 1.5), rotation=90.0)
    found = propose(where, pieces=["low_table"], locked={"sofa": stands}, space="r")
    assert not found.options
    assert found.changes == ("Leave out the low table.", "Turn the sofa by 180°.",
                             "Let the sofa be moved.")  # fmt: skip
    turned = dataclasses.replace(stands, rotation=270.0)
    assert propose(where, pieces=["low_table"], locked={"sofa": turned}, space="r").options
    assert propose(where, pieces=["low_table", "sofa"], space="r").options


def test_a_piece_without_a_place_is_said_in_the_size_that_has_one() -> None:
    where = home(rect(2.6, 2.3), [door(3, 0.3)])
    found = propose(where, pieces=["table", "sideboard"], space="r")
    assert found.why_none.startswith("No place for the dining table")
    (change,) = [c for c in found.changes if c.startswith("Take a dining table")]
    size = tuple(float(n) for n in re.findall(r"\d\.\d\d", change))
    smaller = dataclasses.replace(PIECES["table"], size=(*size, 0.74))
    other = dataclasses.replace(where, pieces={**PIECES, "table": smaller})
    assert propose(other, pieces=["table", "sideboard"], space="r").options


# --- bad input --------------------------------------------------------------------


def test_ten_thousand_corners_are_repaired_and_said() -> None:
    outline = [(0.0, 0.0), (6.0, 0.0), *arc(3.0, 0.0, 3.0, 0.0, 180.0, 9998)[1:-1]]
    said: list[str] = []
    found = propose(
        home(outline, [door(0, 0.4)]),
        pieces=["sofa", "low_table", "armchair"],
        space="r",
        count=1,
        nodes=300,
        progress=lambda p: said.append(p.text),
    )
    assert found.options
    assert any("corners drawn within 1 mm" in text for text in found.said)
    assert any("corners drawn within 1 mm" in text for text in said[:3])


def test_no_door_and_no_window_are_said() -> None:
    found = propose(home(rect(4, 4), []), pieces=["sofa"], space="r", count=1)
    assert found.options
    assert any(text.startswith("No door is drawn") for text in found.said)
    assert any(text.startswith("No window is drawn") for text in found.said)


def test_a_door_narrower_than_the_way_is_said() -> None:
    doors = [door(3, 0.4, width=0.7), door(1, 0.4, width=0.72, to="kitchen")]
    found = propose(home(rect(5, 4), doors), pieces=["sofa"], space="r", count=1)
    assert found.options
    assert any("asked to be 0.90 m wide and is 0.62 m" in text for text in found.said)
    assert found.options[0].widths["o0 to o1"] == pytest.approx(0.62, abs=1e-6)


def test_a_door_narrower_than_the_least_way_is_said() -> None:
    found = propose(
        home(rect(5, 4), [door(3, 0.4, width=0.6)]), pieces=["sofa"], space="r", count=1
    )
    assert found.options
    assert any("0.52 m clear" in text for text in found.said)


def bow_tie() -> Home:
    return home([(0, 0), (4, 4), (4, 0), (0, 4)], [])


@pytest.mark.parametrize(
    ("where", "given", "error", "match"),
    [
        (ROOM, {"pieces": ["armchair"] * 30}, InputError, "at most 14"),
        (ROOM, {"pieces": []}, InputError, "one piece or more"),
        (ROOM, {"pieces": "sofa"}, InputError, "a list of ids"),
        (ROOM, {"pieces": ["sofla"]}, LookupFailed, "write 'sofa'"),
        (ROOM, {"space": "hall"}, LookupFailed, "space = hall"),
        (ROOM, {"count": 0}, InputError, "count = 0"),
        (ROOM, {"optional": ["chest"]}, LookupFailed, "relation or option"),
        (
            ROOM,
            {"relations": [Relation(piece="sofa", kind="faces", other="nothing")]},
            LookupFailed,
            "what sofa faces",
        ),
        (
            ROOM,
            {"relations": [Relation(piece="sofa", kind="likes", other="o1")]},  # type: ignore[arg-type]
            InputError,
            "keep out of",
        ),
        (home([(0, 0), (4, float("nan")), (4, 4)], []), {}, InputError, "finite"),
        (home(rect(5000, 4000), []), {}, InputError, "millimetres"),
        (home(rect(190, 190), []), {}, InputError, "at most 3750"),
        (bow_tie(), {}, InputError, "no wall crossing"),
    ],
)
def test_bad_input_is_named(where: Home, given: dict, error: type[Exception], match: str) -> None:  # type: ignore[type-arg]
    values = {"pieces": ["sofa"], "space": "r", **given}
    with pytest.raises(error, match=re.escape(match)):
        propose(where, **values)


def test_thirty_places_of_pieces_are_said_to_hang() -> None:
    picture = Piece(name="picture", kind="picture", size=(0.6, 0.03, 0.4))
    where = dataclasses.replace(ROOM, pieces={**PIECES, "picture": picture})
    found = propose(where, pieces=["sofa", "picture"], space="r", count=1)
    assert found.left_out == {"picture": "it hangs; only what stands on the floor is laid out"}


def test_every_word_is_in_the_glossary() -> None:
    from designkit.plan.layouts import TERMS

    words = {row["word"] for row in table("glossary-layouts")}
    assert {term.name for term in TERMS} <= words
    assert {"best", "boldest", "least building work"} <= {w.lower() for w in words}
