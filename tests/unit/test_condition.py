"""Old pieces: what nobody has looked at is not free, and candidates stand side by side."""

from __future__ import annotations

from decimal import Decimal
from typing import get_args

import pytest

from designkit.costs.candidates import Candidate, FitVerdict, Place, compare_candidates
from designkit.costs.condition import (
    Answer,
    Form,
    checklist,
    condition,
    old_piece,
    repair_line,
)
from designkit.costs.lines import kind_of_work, price, problems
from designkit.costs.pieces import all_in
from designkit.errors import InputError, LookupFailed
from designkit.model import CostLine, Money
from designkit.reference import lookup, table

D = Decimal


def test_all_in_order_costs_nothing() -> None:
    for form in get_args(Form):
        answers: dict[str, Answer] = {p.id: "ok" for p in checklist(form)}
        found = condition(form, answers=answers)
        assert (found.low, found.likely, found.high) == (0, 0, 0)
        assert found.ask == found.cautions == found.unmendable == ()


def test_what_needs_repair_is_hours_times_rate_and_goods() -> None:
    answers: dict[str, Answer] = {p.id: "ok" for p in checklist("seat")}
    found = condition("seat", answers={**answers, "springs": "repair"}, hourly=D(50))
    # 2 to 6 h at 50, and 30 to 90 of goods.
    assert (found.low, found.likely, found.high) == (D(130), D("260"), D(390))
    row = next(r for r in found.rows if r.point.id == "springs")
    assert "2 to 6 h × 50\u00a0€ + goods" in row.why
    assert "costs.condition.springs.hours.low" in row.rules


def test_what_nobody_has_looked_at_is_not_free() -> None:
    answers: dict[str, Answer] = {p.id: "ok" for p in checklist("case")}
    del answers["veneer"]
    found = condition("case", answers=answers, hourly=D(40))
    # 2 to 10 h: 80 to 400, middle 240, half of it kept aside.
    assert (found.low, found.likely, found.high) == (D(0), D(120), D(400))
    assert len(found.ask) == 1
    assert "1 of 7 still to look at" in found.answer
    own = condition(
        "case",
        answers=answers,
        hourly=D(40),
        overrides={"costs.condition.unknown_share": 1.0},
    )
    assert own.likely == D(240)


def test_unknown_never_counts_more_than_repair_nor_less_than_ok() -> None:
    for form in get_args(Form):
        for point in checklist(form):
            sums = [
                condition(form, answers={point.id: answer}).likely
                for answer in ("ok", "unknown", "repair")
            ]
            assert sums == sorted(sums)


def test_cautions_are_said_until_the_answer_is_ok() -> None:
    found = condition("seat", answers={"pests": "repair"})
    told = " ".join(found.cautions)
    assert "quarantine" in told
    assert "16 CFR 1640" in told
    assert "sample and its written result" in told
    lamp = condition("lamp", answers={})
    assert any("licensed electrician" in c for c in lamp.cautions)
    assert any("CITES" in c for c in lamp.cautions)


def test_old_paint_is_never_an_allowance() -> None:
    for form in ("seat", "case", "table"):
        row = next(
            r
            for r in condition(form, answers={"old paint": "repair"}).rows
            if r.point.id == "old paint"
        )
        assert row.likely == row.high == 0


def test_a_wrong_proportion_is_not_mended() -> None:
    found = condition("seat", answers={"proportions": "repair"})
    assert found.unmendable == ("proportions",)
    assert "no repair mends: proportions" in found.answer


def test_the_repair_as_a_line_of_the_budget() -> None:
    found = condition("seat", answers={"frame": "ok", "joints": "repair"})
    line = repair_line(found, id="armchair_repair", piece="armchair", room="living")
    assert problems([line], money=Money()) == ()
    assert kind_of_work(line) == "vintage repair"
    ticket = CostLine(
        id="buy", piece="armchair", item="armchair", category="old pieces", likely=D(310)
    )
    cost = all_in(price([ticket, line], money=Money()), piece="armchair")
    assert cost.total == D(310) + found.likely
    assert "joints: repair" in line.note


@pytest.mark.parametrize(
    ("call", "error", "match"),
    [
        (lambda: checklist("chair"), LookupFailed, "form"),
        (lambda: condition("seat", answers={"fram": "ok"}), LookupFailed, "nearest: frame"),
        (lambda: condition("seat", answers={"wiring": "ok"}), LookupFailed, "answers for a seat"),
        (lambda: condition("seat", answers={"frame": "good"}), InputError, "answer on frame"),
        (lambda: condition("seat", answers={}, hourly=D(-1)), InputError, "hourly"),
        (lambda: condition("seat", answers={}, code="XXQ"), LookupFailed, "currency"),
        (
            lambda: old_piece(D(-1), found=condition("seat", answers={})),
            InputError,
            "ticket",
        ),
        (
            lambda: old_piece(D(1), found=condition("seat", answers={}), transports=[D("NaN")]),
            InputError,
            "transport",
        ),
    ],
)
def test_bad_input(call: object, error: type[Exception], match: str) -> None:
    with pytest.raises(error, match=match):
        call()


def test_an_old_piece_is_the_sum_of_its_parts_whatever_the_ticket() -> None:
    found = condition("seat", answers={p.id: "ok" for p in checklist("seat")})
    added = []
    for ticket in (D(50), D(900)):
        cost = old_piece(
            ticket,
            found=found,
            hours=D(14),
            hourly=D(52),
            fabric=D("5.5"),
            fabric_price=D(68),
            foam=D(90),
            transports=[D("47.50"), D("47.50")],
        )
        assert cost.total == sum(row.amount for row in cost.rows)
        added.append(cost.total - ticket)
    # 728 + 374 + 90 + 95
    assert added == [D(1287), D(1287)]


def test_every_allowance_has_both_ends_in_order() -> None:
    for row in table("condition"):
        base = f"costs.condition.{row['id'].replace(' ', '_')}"
        if not row["repair"]:
            continue
        ends = []
        for end in ("low", "high"):
            total = 0.0
            for what in ("hours", "goods"):
                try:
                    total += lookup(f"{base}.{what}.{end}").number
                except LookupFailed:
                    continue
            ends.append(total)
        assert 0 < ends[0] < ends[1]


# --- candidates ---------------------------------------------------------------------

PLACE = Place(
    name="the wall by the window", width=2.3, depth=1.0, height=0.9, weeks=12, cap=D(3500)
)
NEW = Candidate(id="new", name="sofa 2200", size=(2.2, 0.95, 0.8), all_in=D(3200), weeks=10)
OLD = Candidate(
    id="old",
    name="old sofa",
    size=(2.28, 0.9, 0.82),
    within=0.03,
    all_in=D(2900),
    high=D(3900),
    weeks=14,
    old=True,
    comfort=("firm",),
)
LONG = Candidate(id="long", name="sofa 2400", size=(2.4, 0.95, 0.8), all_in=D(4000), weeks=None)


def test_fit_price_and_time_are_said() -> None:
    found = compare_candidates(PLACE, candidates=[NEW, OLD, LONG])
    new, old, long = found.rows
    assert (new.fit, old.fit, long.fit) == ("fits", "measure first", "does not fit")
    assert new.words == ()
    assert "measure first: width within 30 mm of the place" in old.words
    assert "2 weeks too late" in old.words
    assert "could come to 3,900\u00a0€" in old.words
    assert old.candidate.comfort == ("firm",)
    assert "100 mm too much in width" in long.words
    assert "500\u00a0€ over what is kept for it" in long.words
    assert "ask when it can be there" in long.words
    assert found.answer.startswith("1 of 3 fits the wall by the window")


def test_beaten_only_by_what_is_no_worse_in_anything() -> None:
    rows = compare_candidates(PLACE, candidates=[NEW, OLD, LONG]).rows
    assert rows[0].beaten_by == ()
    assert rows[1].beaten_by == ()  # cheaper than the new one
    assert rows[2].beaten_by == ("new", "old")
    twin = Candidate(id="twin", name="the same", size=NEW.size, all_in=NEW.all_in, weeks=4)
    # Both come early enough: that one is earlier still makes it no better.
    assert compare_candidates(PLACE, candidates=[NEW, twin]).rows[0].beaten_by == ()


def test_seat_height_beside_what_stands_there() -> None:
    place = Place(name="the table's head", width=1, depth=1, seat_height=0.45)
    chair = Candidate(
        id="c", name="chair", size=(0.5, 0.5, 0.8), all_in=D(90), weeks=1, seat_height=0.42
    )
    row = compare_candidates(place, candidates=[chair]).rows[0]
    assert row.words == ("seat 30 mm lower than what it stands beside",)
    assert row.spare[2] is None


def test_none_fits() -> None:
    found = compare_candidates(PLACE, candidates=[LONG])
    assert found.answer.startswith("None of 1 fits")


@pytest.mark.parametrize(
    ("given", "match"),
    [
        ({"size": (0, 1, 1)}, "size"),
        ({"size": (float("nan"), 1, 1)}, "size"),
        ({"all_in": D(-1)}, "price"),
        ({"all_in": D("NaN")}, "price"),
        ({"high": D(1)}, "price"),
        ({"weeks": -1}, "weeks"),
        ({"within": -1}, "within"),
    ],
)
def test_bad_candidates(given: dict[str, object], match: str) -> None:
    usual: dict[str, object] = {"id": "a", "name": "a", "size": (1, 1, 1), "all_in": D(5)}
    with pytest.raises(InputError, match=match):
        compare_candidates(PLACE, candidates=[Candidate(**{**usual, **given})])


def test_no_candidate_and_the_same_twice() -> None:
    with pytest.raises(InputError, match="candidates"):
        compare_candidates(PLACE, candidates=[])
    with pytest.raises(InputError, match="each id once"):
        compare_candidates(PLACE, candidates=[NEW, NEW])
    with pytest.raises(InputError, match="width"):
        compare_candidates(Place(name="x", width=0, depth=1), candidates=[NEW])


def test_words_stand_in_the_glossary() -> None:
    words = {row["word"] for row in table("glossary-orders")}
    for literal in (Form, Answer, FitVerdict):
        assert set(get_args(literal)) <= words
    assert {row["part"] for row in table("condition")} <= words


def test_a_us_project_reads_inches_of_candidates() -> None:
    wide = Candidate(id="a", name="a", size=(2.3762, 0.9, 0.8), all_in=Decimal(100))
    found = compare_candidates(
        Place(name="the wall", width=2.3, depth=1.0), candidates=[wide], units="ft"
    )
    assert found.rows[0].words[0].replace("\u00a0", " ") == '3" too much in width'
    assert found.answer == "None of 1 fits the wall."
