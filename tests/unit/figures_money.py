"""Budgets and quotes that a chart may meet, for the tests of the charts."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from designkit.costs import Budget, budget
from designkit.figures.sheet import TitleBlock
from designkit.model import Brief, CostLine, Home, Money, Project, Scenario, ScenarioChange

D = Decimal
BLOCK = TitleBlock(project="A flat", title="Budget scenarios", number="D-07", sheet=7, sheets=12)
ONE, CAP = D(1), D(20000)
LONG = "a very long name that nobody would write on purpose but that someone will paste in"


def hostile(
    *,
    categories: int = 6,
    scenarios: int = 2,
    factor: Decimal = ONE,
    long: bool = False,
    cap: Decimal | None = CAP,
    negative: bool = False,
    phased: bool = False,
    currency: str = "EUR",
    firm: bool = False,
) -> Budget:
    """A budget of so many categories and scenarios, each changing every line.

    Parameters are what makes it hard to draw: many rows, long words, huge or
    negative sums, payments next year, no cap, no range.
    """
    lines = []
    for i in range(categories):
        name = f"heading {i + 1}" + (f", {LONG}" if long else "")
        amount = D(300 + 137 * ((i * 7) % 11)) * factor
        lines.append(
            CostLine(
                id=f"l{i}",
                item=f"thing {i + 1}" + (f", {LONG}" if long else ""),
                category=name,
                likely=amount,
                low=amount if firm else amount * D("0.8"),
                high=amount if firm else amount * D("1.4"),
                status="quoted",
            )
        )
    if negative:
        lines.append(
            CostLine(
                id="sold",
                item="old pieces sold",
                category="sold",
                kind="sale",
                likely=-D(900) * factor,
                status="quoted",
            )
        )
    named = {}
    for k in range(scenarios - 1):
        named[f"s{k}"] = Scenario(
            name=f"Scenario {k + 1}" + (f", {LONG}" if long else ""),
            note=LONG if long else "",
            changes=tuple(
                ScenarioChange(
                    line=line.id,
                    text=LONG if long else f"thing {i + 1} changed",
                    likely=None if phased and k % 2 else line.likely * D("0.7"),
                    year=2 if phased and k % 2 else None,
                )
                for i, line in enumerate(lines[:categories])
            ),
        )
    home = Home(
        name="A flat",
        money=Money(currency=currency, tax=D("0.2"), fee=D("0.1")),
        brief=Brief(budget=None if cap is None else cap * factor),
        scenarios=named,
    )
    return budget(Project(home=home, costs=tuple(lines)), draws=1000)


def cases() -> dict[str, Budget]:
    """Budgets by what is hard about them."""
    return {
        "one scenario": hostile(scenarios=1),
        "five scenarios": hostile(scenarios=5, categories=12),
        "twenty headings": hostile(categories=20, scenarios=3),
        "forty headings, five phased scenarios": hostile(
            categories=40, scenarios=5, phased=True, negative=True
        ),
        "long names": hostile(long=True, scenarios=3),
        "long names, many": hostile(long=True, categories=20, scenarios=5, phased=True),
        "huge sums": hostile(factor=D(1_000_000), scenarios=4),
        "sums of millions of millions": hostile(factor=D(10**9), scenarios=5, phased=True),
        "tiny sums": hostile(factor=D("0.01"), scenarios=3),
        "taken off": hostile(negative=True, scenarios=3),
        "far over": hostile(cap=D(900)),
        "far under": hostile(cap=D(10**7)),
        "no cap": hostile(cap=None, scenarios=3),
        "next year": hostile(phased=True, scenarios=4),
        "no range": hostile(firm=True, scenarios=2),
        "yen": hostile(currency="JPY", factor=D(100), scenarios=3),
        "dinar": hostile(currency="BHD", factor=D("0.333"), scenarios=3),
        "same outcomes": replace(hostile(scenarios=1), columns=hostile(scenarios=1).columns * 3),
    }
