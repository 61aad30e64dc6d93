"""Quotes against the written scope, and the gate before an old surface."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from designkit.costs import gate, gates, level, quote_problems, to_frame
from designkit.errors import InputError, LookupFailed
from designkit.model import Building, Home, Project, QuoteLine, Scope, ScopeLine

D = Decimal
SCOPE = Scope(
    name="Ceiling made flat",
    trade="painter",
    unit="m²",
    quantity=D(40),
    disturbs_old_surface=True,
    lines={
        "protect": ScopeLine(text="protection"),
        "skim": ScopeLine(text="skim coat", quantity=D(40), unit="m²"),
        "waste": ScopeLine(text="waste away"),
        "clean": ScopeLine(text="final clean"),
    },
)
SAMPLED = Building(year=1970, sampled="yes")


def quote(contractor: str, line: str, amount: str | None, **more: object) -> QuoteLine:
    value = None if amount is None else D(amount)
    return QuoteLine(scope="ceiling", contractor=contractor, line=line, amount=value, **more)


QUOTES = (
    quote("Contractor A", "protect", "100", valid_until="2026-05-01"),
    quote("Contractor A", "skim", "1000", quantity=D(40), unit="m²", valid_until="2026-04-01"),
    quote("Contractor A", "waste", None, included="no"),
    quote("Contractor B", "protect", "300"),
    quote("Contractor B", "skim", "1500", quantity=D(30), unit="m²"),
    quote("Contractor B", "waste", "200"),
    quote("Contractor B", "clean", None),
    quote("Contractor B", "air test", "90"),
    quote("Contractor C", "ceiling", "2400", valid_until="2026-01-31"),
    quote("Contractor C", "protect", None),
    quote("Contractor C", "skim", None),
    quote("Contractor C", "waste", "250", included="apart"),
    quote("Contractor C", "clean", None, included="unclear"),
)


def project(*quotes: QuoteLine, building: Building = SAMPLED, scope: Scope = SCOPE) -> Project:
    home = Home(name="a flat", building=building, scopes={"ceiling": scope})
    return Project(home=home, quotes=quotes or QUOTES)


def test_quotes_are_brought_to_the_same_work_by_hand() -> None:
    result = level(project(), scope="ceiling", on="2026-04-02")
    a, b, c = result.quotes
    # A: 100 + 1000 + median(200, 250) for the waste; the clean is priced by nobody.
    assert (a.quoted, a.levelled, a.estimated) == (1100, 1325, 225)
    # B: 300 + 1500 × 40/30 + 200 + 0, the air test stays outside.
    assert (b.quoted, b.levelled, b.estimated) == (2090, 2500, 0)
    # C: 2400 for the whole + 250 apart; whether the clean is in it is unclear.
    assert (c.quoted, c.levelled, c.estimated) == (2400, 2650, 0)
    assert [q.complete for q in result.quotes] == [False, True, False]
    assert result.spread_quoted == pytest.approx(2400 / 1100)
    assert b.levelled_per_unit == D("62.50")
    assert a.quoted_per_unit == D("27.50")
    assert result.unpriced == ()
    assert result.gate is None


def test_states_and_words_of_the_cells() -> None:
    a, b, c = level(project(), scope="ceiling").quotes
    assert [x.state for x in a.cells] == ["priced", "priced", "left out", "missing"]
    assert [x.state for x in b.cells] == ["priced", "priced", "priced", "in another line"]
    assert [x.state for x in c.cells] == ["in another line", "in another line", "apart", "unclear"]
    assert a.leaves_out == ("waste away: left out", "final clean: missing")
    assert a.cells[2].estimate
    assert "median of Contractor B 200\u00a0€, Contractor C 250\u00a0€" in a.cells[2].why
    assert b.cells[1].per_unit == D("50.00")
    assert [row.line for row in b.outside] == ["air test"]


def test_each_gap_becomes_a_question() -> None:
    a, b, c = level(project(), scope="ceiling", on="2026-04-02").quotes
    assert a.questions == (
        "You leave out “waste away”; what would it cost with you?",
        "The scope asks for “final clean”; is it in your price, and what is it?",
        "The price held until 1\u00a0April\u00a02026; does it still?",
    )
    assert b.questions == (
        "You count 30 m² of “skim coat”, the scope 40; which is right?",
        "“air test” is not in the scope; does the price hold without it?",
        "Until when does the price hold?",
    )
    assert c.questions[0] == "Is “final clean” in your price or not?"


def test_validity_against_a_day() -> None:
    assert [q.validity for q in level(project(), scope="ceiling", on="2026-01-31").quotes] == [
        "holds",
        "no date",
        "holds",
    ]
    assert next(q.validity for q in level(project(), scope="ceiling").quotes) == "not asked"


def test_said_to_be_in_the_price_of_nothing_is_a_gap() -> None:
    rows = (
        quote("Contractor A", "protect", None),
        quote("Contractor B", "protect", "80"),
        quote("Contractor B", "skim", "900"),
    )
    a, b = level(project(*rows), scope="ceiling").quotes
    assert a.cells[0].estimate
    assert a.levelled == 980
    assert any("in the price of what?" in question for question in a.questions)
    assert b.cells[2].levelled is None


def test_another_unit_is_asked_about_and_not_converted() -> None:
    rows = (quote("Contractor A", "skim", "900", quantity=D(430), unit="ft²"),)
    (a,) = level(project(*rows), scope="ceiling").quotes
    assert a.cells[1].levelled == 900
    assert "You count “skim coat” in ft², the scope in m²; how much is it?" in a.questions


@pytest.mark.parametrize(
    ("building", "blocked"),
    [
        (Building(), True),
        (Building(year=1965, sampled="no"), True),
        (Building(year=1965, sampled="unknown"), True),
        (Building(sampled="yes"), False),
        (Building(year=2015), False),
    ],
)
def test_the_gate_of_old_surfaces(building: Building, blocked: bool) -> None:
    home = Home(name="a flat", building=building, scopes={"ceiling": SCOPE})
    finding = gate(SCOPE, id="ceiling", home=home)
    assert (finding is not None) == blocked
    assert len(gates(home)) == blocked
    assert gate(replace(SCOPE, disturbs_old_surface=False), id="ceiling", home=home) is None


def test_a_closed_gate_is_the_answer() -> None:
    result = level(project(building=Building()), scope="ceiling")
    assert result.gate is not None
    assert result.answer.startswith("None yet: sample taken + written result first")
    assert level(project(), scope="ceiling").answer.startswith("Contractor B, at 2,500")


def test_the_project_may_set_its_own_year() -> None:
    home = Home(
        name="a flat",
        building=Building(year=1990),
        scopes={"ceiling": SCOPE},
        rules={"costs.gate.old_before": 1985},
    )
    assert gate(SCOPE, id="ceiling", home=home) is None


def test_wrong_rows_are_named() -> None:
    rows = (
        quote("Contractor A", "skim", "-5", row=2),
        quote("Contractor A", "skim", "5", row=3),
        replace(quote("Contractor A", "skim", "5", row=4), scope="ceilings"),
        quote("Contractor A", "waste", "5", valid_until="31.12.2026", row=5),
        quote("Contractor A", "clean", "5", quantity=D(0), row=6),
        quote(" ", "protect", "5", included="maybe", row=7),
    )
    found = quote_problems(rows, home=project().home)
    assert [p.what for p in found] == [
        "quotes.csv row 2, amount",
        "quotes.csv row 3, line",
        "quotes.csv row 4, scope",
        "quotes.csv row 5, valid_until",
        "quotes.csv row 6, quantity",
        "quotes.csv row 7, included",
        "quotes.csv row 7, contractor",
    ]
    assert found[2].mend == "write ceiling"
    with pytest.raises(InputError, match=r"quotes.csv row 2, amount.*\(5 more\)"):
        level(project(*rows), scope="ceiling")


def test_refusals() -> None:
    with pytest.raises(LookupFailed, match="write ceiling"):
        level(project(), scope="ceilin")
    with pytest.raises(InputError, match="2026-03-01"):
        level(project(), scope="ceiling", on="tomorrow")
    with pytest.raises(LookupFailed, match="three contractors"):
        level(replace(project(), quotes=()), scope="ceiling")
    with pytest.raises(InputError, match="every quote has to price"):
        level(project(scope=replace(SCOPE, lines={})), scope="ceiling")
    with pytest.raises(InputError, match=r"scopes\.ceiling\.quantity"):
        level(project(scope=replace(SCOPE, quantity=D(0))), scope="ceiling")


def test_as_a_data_frame() -> None:
    frame = to_frame(level(project(), scope="ceiling"))
    assert len(frame) == 12
    assert list(frame["contractor"].unique()) == ["Contractor A", "Contractor B", "Contractor C"]


def test_an_unclear_line_is_said_before_its_price_is_recommended() -> None:
    """The cheapest leaves open whether a line is in its price: it is not simply the answer."""
    scope = Scope(
        name="walls",
        trade="painter",
        lines={
            "prepare": ScopeLine(text="prepare"),
            "paint": ScopeLine(text="two coats"),
        },
    )
    rows = [
        QuoteLine(scope="w", contractor="Contractor A", line="prepare", amount=D(900)),
        QuoteLine(scope="w", contractor="Contractor A", line="paint", amount=D(1000)),
        QuoteLine(
            scope="w", contractor="Contractor B", line="prepare", amount=D(100), included="unclear"
        ),
        QuoteLine(scope="w", contractor="Contractor B", line="paint", amount=D(1000)),
    ]
    home = Home(name="h", building=Building(year=2020), scopes={"w": scope})
    answer = level(Project(home=home, quotes=tuple(rows)), scope="w").answer
    assert answer.startswith("Contractor B")
    assert "ask first whether “prepare” is in that price" in answer
    assert "Contractor A, with every line clear, comes to 1,900" in answer.replace("\u00a0", " ")
