"""Best set, frontier, week by week, candidates: nothing clashes, hostile input included."""

from __future__ import annotations

import datetime
from dataclasses import replace
from decimal import Decimal

import pytest
from figures_money import BLOCK, LONG, ONE

from designkit.analyses.of_budget import candidates_for, fee_ways, lines_with_choices
from designkit.costs.cash import Days, Payment, cash_by_week
from designkit.costs.fees import FeeModel
from designkit.costs.lines import price
from designkit.costs.steering import best_set, frontier
from designkit.documents import cash
from designkit.errors import InputError, LookupFailed
from designkit.figures.budget_cash import cash_figure
from designkit.figures.budget_places import places_figure
from designkit.figures.budget_steer import best_figure, frontier_figure
from designkit.figures.check import faults
from designkit.figures.drawing import Circle, Polygon, Text
from designkit.model import Brief, CostLine, Home, Money, Project
from designkit.project import read
from designkit.shipped import shipped

D = Decimal
DEMOS = {n: read(shipped("data") / n).project for n in ("harbour-flat", "parlor-floor")}


def many(count: int, *, long: bool = False, factor: Decimal = ONE) -> Project:
    tail = f", {LONG}" if long else ""
    lines = []
    for i in range(count):
        likely = D(200 + 137 * ((i * 5) % 11)) * factor
        lines.append(
            CostLine(
                id=f"l{i}", item=f"thing {i}{tail}", category="new", likely=likely, status="quoted"
            )
        )
        for k, share in enumerate(("0.6", "1.5")):
            lines.append(
                CostLine(
                    id=f"l{i}_{k}",
                    item=f"other thing {i}.{k}{tail}",
                    category="new",
                    likely=likely * D(share),
                    alternative_of=f"l{i}",
                    lead_time=D(4 + k) if k else None,
                )
            )
    cap = sum(x.likely for x in lines if not x.alternative_of) * D("0.9")
    home = Home(name="A flat", money=Money(currency="EUR"), brief=Brief(budget=cap.quantize(D(1))))
    return Project(home=home, costs=tuple(lines))


CASES = {
    **DEMOS,
    "twelve": many(12),
    "long": many(6, long=True),
    "huge": many(4, factor=D(10) ** 6),
}


@pytest.mark.parametrize("name", CASES)
def test_best_set_and_frontier_do_not_clash(name: str) -> None:
    p = CASES[name]
    best = best_set(p)
    step = D(1000) if name != "huge" else D(10) ** 8
    steps = frontier(p, step=step)
    for drawing in (
        best_figure(best, page=True),
        best_figure(best, block=BLOCK),
        frontier_figure(steps, page=True),
        frontier_figure(steps, block=BLOCK),
    ):
        assert faults(drawing) == []
        assert drawing.text


def test_each_way_is_drawn_once_and_the_chosen_filled() -> None:
    best = best_set(CASES["twelve"])
    drawing = best_figure(best, page=True)
    rings = [i for i in drawing.items if isinstance(i, Circle)]
    assert len(rings) == 36
    filled = {i.about for i in rings if i.fill != "#ffffff"}
    assert filled == {c.line for c in best.choices}


def test_every_step_that_buys_something_has_its_words() -> None:
    steps = frontier(DEMOS["harbour-flat"])
    texts = " ".join(i.text for i in frontier_figure(steps, page=True).items if isinstance(i, Text))
    for one in steps.steps:
        if one.better:
            assert one.words.split(":")[0] in texts.replace("\u00a0", " ")


@pytest.mark.parametrize("name", DEMOS)
def test_weeks_do_not_clash_and_their_bars_are_the_sums(name: str) -> None:
    weeks = cash(DEMOS[name], today="2026-11-25")
    for drawing in (cash_figure(weeks, page=True), cash_figure(weeks, block=BLOCK)):
        assert faults(drawing) == []
    drawing = cash_figure(weeks, page=True)
    tall: dict[str, float] = {}
    for item in drawing.items:
        if isinstance(item, Polygon) and item.about:
            ys = [y for _, y in item.outline]
            tall[item.about] = tall.get(item.about, 0.0) + max(ys) - min(ys)
    shown = {w.monday.isoformat(): float(w.total) for w in weeks.weeks if w.total}
    assert set(tall) == set(shown)
    heaviest = max(shown, key=lambda k: shown[k])
    for day, total in shown.items():
        assert tall[day] / tall[heaviest] == pytest.approx(total / shown[heaviest], abs=1e-6)


def test_money_without_a_day_is_said_and_not_drawn() -> None:
    p = many(3)
    priced = price(p.costs[:1], money=p.home.money)
    nobody = cash_by_week(priced, days={})
    drawing = cash_figure(nobody, page=True)
    texts = " ".join(i.text for i in drawing.items if isinstance(i, Text))
    assert "has no day yet" in texts
    assert faults(drawing) == []
    day = datetime.date(2027, 1, 4)
    fee = Payment(line="", item="fee", supplier="", kind="fee", day=day, amount=D(500))
    two = cash_by_week(priced, days={"l0": Days(order=day)}, fees=[fee])
    texts = " ".join(i.text for i in cash_figure(two, page=True).items if isinstance(i, Text))
    assert "Hatched: the studio's fee." in texts


@pytest.mark.parametrize("name", ["harbour-flat", "parlor-floor", "long"])
def test_candidates_do_not_clash(name: str) -> None:
    p = CASES[name]
    for line in lines_with_choices(p)[:3]:
        found = candidates_for(p, line=line.id, today="2026-11-25")
        for drawing in (
            places_figure(found, units=p.home.units, chosen=line.id, page=True),
            places_figure(found, units=p.home.units, chosen=line.id, block=BLOCK),
        ):
            assert faults(drawing) == []


def test_a_candidate_holds_all_lines_of_its_piece() -> None:
    p = DEMOS["harbour-flat"]
    found = candidates_for(p, line="sofa_buy", today="2026-11-25")
    # 3680 or 2840 and 240 of delivery, with 20 % tax
    assert [r.candidate.all_in for r in found.rows] == [D("4704.00"), D("3696.00")]
    assert found.rows[0].candidate.id == "sofa_buy"
    with pytest.raises(LookupFailed, match="line"):
        candidates_for(p, line="plant_buy", today="2026-11-25")


def test_fee_models_stand_on_the_same_lines() -> None:
    p = DEMOS["harbour-flat"]
    home = replace(p.home, money=replace(p.home.money, tax=D("0.2")))
    ways = fee_ways(
        replace(p, home=home),
        models=[
            ("rate", FeeModel(kind="rate", amount=D("0.1"))),
            ("goods", FeeModel(kind="rate", amount=D("0.1"), on="goods")),
            ("fixed", FeeModel(kind="fixed", amount=D(3000))),
        ],
    )
    assert ways[1].part.net < ways[0].part.net
    assert ways[2].part.gross == D(3600)
    with pytest.raises(InputError, match="fee"):
        FeeModel(kind="rate", amount=D(15))


def test_candidates_say_comfort_look_and_mark() -> None:
    p = DEMOS["harbour-flat"]
    rows = candidates_for(p, line="sofa_buy", today="2026-11-25").rows
    found = {r.candidate.id: r.candidate for r in rows}
    plain = found["sofa_buy_plain"]
    # 0.29 × 1.70 m − 50 mm is 443 mm; the seat is 560 deep.
    assert plain.comfort[0].startswith("117 mm too deep for all")
    assert plain.look[0].startswith("charcoal wool: dark, L* 31")
    assert any(w.startswith("by area dark") for w in plain.look)
    # As drawn nothing moves.
    assert not any("by area" in w for w in found["sofa_buy"].look)
    assert (plain.mark, plain.mark_by) == (3, "the client, on the phone")
    lamps = candidates_for(p, line="chandelier_buy", today="2026-11-25").rows
    assert all(r.candidate.comfort == () for r in lamps)
    for given, words in (("9", "candidate rug_buy, mark"), ("best", "mark of rug_buy")):
        costs = tuple(
            replace(c, more={**c.more, "mark": given}) if c.id == "rug_buy" else c for c in p.costs
        )
        with pytest.raises(InputError, match=words):
            candidates_for(replace(p, costs=costs), line="rug_buy", today="2026-11-25")
