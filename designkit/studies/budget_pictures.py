"""What the study "budget scenarios" can look at, and the controls of each picture."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from designkit.analyses.of_budget import FeeWay, fee_ways, lines_with_choices
from designkit.costs.fees import FeeModel
from designkit.costs.money import money_text
from designkit.costs.scenarios import choices
from designkit.model import CostLine, Home, Project
from designkit.reference import value

__all__ = [
    "controls_for",
    "fee_table",
    "pictures_of",
    "sign_of",
    "start_values",
    "ways_of",
]

Control = dict[str, Any]


def sign_of(home: Home) -> str:
    """The sign of the project's currency.

    Parameters
    ----------
    home : Home
        Its money.

    Returns
    -------
    str
        As "€".
    """
    text = money_text(Decimal(0), code=home.money.currency).replace("\u00a0", " ")
    return text.strip("0. ,").strip() or home.money.currency


def pictures_of(project: Project) -> list[str]:
    """The pictures that a project has the data for.

    Parameters
    ----------
    project : Project
        The project.

    Returns
    -------
    list of str
        In the order of the page.
    """
    home = project.home
    found = ["scenarios", "chance"]
    if home.brief.budget is not None:
        found += ["best set", "one more step"]
    found.append("week by week")
    if lines_with_choices(project):
        found.append("candidates")
    if home.scopes and any(q.scope in home.scopes for q in project.quotes):
        found.append("quotes")
    return found


def start_values(project: Project) -> dict[str, Any]:
    """What the further pictures begin with.

    Parameters
    ----------
    project : Project
        The project.

    Returns
    -------
    dict of str to Any
        By control id.
    """
    home = project.home
    offers = lines_with_choices(project)
    scopes = [s for s in home.scopes if any(q.scope == s for q in project.quotes)]
    return {
        "draws": "10,000",
        "step": value("costs.steer.step", home.rules),
        "weighed": offers[0].id if offers else "",
        "weight": 1.0,
        "leave_out": "no",
        "marked": offers[0].id if offers else "",
        "mark": "none",
        "mark_by": "",
        "scenario": "",
        "deposit": value("costs.cash.on_order.purchase", home.rules),
        "scope": scopes[0] if scopes else "",
        "tax_per": home.money.tax_per,
        "fee": float(home.money.fee),
        "fee_fixed": 3000.0,
        "fee_hours": 60,
        "fee_hour": 90.0,
    }


def _price(line: CostLine, sign: str) -> Control:
    likely = float(line.likely)
    low = float(line.low) if line.low is not None else min(likely * 0.5, likely * 1.5)
    high = float(line.high) if line.high is not None else max(likely * 0.5, likely * 1.5)
    step = 10 ** max(0, len(str(int(abs(likely)))) - 3) if abs(likely) >= 10 else 0.1
    return {
        "kind": "scale",
        "id": "price",
        "label": f"Its price per {line.unit}, before tax",
        "min": low,
        "max": high,
        "step": step,
        "unit": line.currency or sign,
        "group": ",",
        "digits": 0 if step >= 1 else 1,
    }


def _scale(id: str, label: str, low: float, high: float, step: float, **more: Any) -> Control:
    return {
        "kind": "scale",
        "id": id,
        "label": label,
        "min": low,
        "max": high,
        "step": step,
        **more,
    }


def _words(id: str, label: str, choices: list[str], **more: Any) -> Control:
    return {
        "kind": "words",
        "id": id,
        "label": label,
        "choices": [[c, c] for c in choices],
        **more,
    }


def _choose(id: str, label: str, choices: list[list[str]], **more: Any) -> Control:
    return {"kind": "choose", "id": id, "label": label, "choices": choices, **more}


def controls_for(
    picture: str, project: Project, values: Mapping[str, Any], *, line: CostLine, cap: float
) -> list[Control]:
    """The controls that change something in a picture, and what is folded.

    Parameters
    ----------
    picture : str
        One of `pictures_of`.
    project : Project
        The project.
    values : mapping of str to Any
        What is chosen now.
    line : CostLine
        Whose price is tried.
    cap : float
        The cap, or what the lines come to. [currency]

    Returns
    -------
    list of dict
        For the page.
    """
    home = project.home
    sign = sign_of(home)
    scenarios = [["", "As drawn"], *([k, s.name] for k, s in home.scenarios.items())]
    offers = lines_with_choices(project)
    the_cap = _scale(
        "cap",
        "The cap",
        round(cap * 0.6, -3),
        round(cap * 1.4, -3),
        250,
        unit=sign,
        group=",",
    )
    tried = [
        _choose("line", "Try another price for", [[c.id, c.item] for c in project.costs]),
        _price(line, sign),
    ]
    together = _scale("together", "Everything runs high together", 0, 0.9, 0.1, digits=1)
    seed: Control = {
        "kind": "field",
        "id": "seed",
        "label": "Seed of the draws",
        "hint": "7",
        "more": True,
    }
    if picture in ("scenarios", "chance"):
        found = [
            {"kind": "checks", "id": "columns", "label": "Scenarios", "choices": scenarios},
            *tried,
            the_cap,
            together,
        ]
        if picture == "chance":
            found.append(_words("draws", "Draws", ["10,000", "100,000"], more=True))
        found.append(seed)
    elif picture in ("best set", "one more step"):
        found = [the_cap]
        if picture == "one more step":
            found.append(_scale("step", "Step", 250, 5000, 250, unit=sign, group=","))
        if offers:
            found += [
                _choose("weighed", "Weigh", [[c.id, c.item] for c in offers]),
                _scale("weight", "How much it matters", 0, 5, 0.5, digits=1),
                _words("leave_out", "The client could do without it", ["no", "yes"]),
            ]
        found += [{**c, "more": True} for c in tried]
    elif picture == "week by week":
        found = [
            _choose("scenario", "Scenario", scenarios),
            _scale("deposit", "Paid with the order", 0, 1, 0.05, unit="%", factor=100),
            *tried,
        ]
    elif picture == "candidates":
        ways = choices(project.costs).get(str(values["weighed"]), ())
        found = [
            _choose("weighed", "Place", [[c.id, c.item] for c in offers]),
            _choose("marked", "Mark of", [[c.id, c.item] for c in ways]),
            _words("mark", "The client's mark", ["none", "1", "2", "3", "4", "5"]),
            {"kind": "field", "id": "mark_by", "label": "Said by", "hint": "the client"},
            *({**c, "more": True} for c in tried),
        ]
    else:
        named = [
            [s, scope.name]
            for s, scope in home.scopes.items()
            if any(q.scope == s for q in project.quotes)
        ]
        found = [_choose("scope", "Scope of work", named)]
    if picture != "quotes":
        found += [
            _words("tax_per", "Tax is rounded per", ["line", "invoice"], more=True),
            _scale("fee", "Studio's fee, a rate", 0, 0.3, 0.01, unit="%", factor=100, more=True),
            _scale("fee_fixed", "Or a fixed fee", 0, 20000, 250, unit=sign, group=",", more=True),
            _scale("fee_hours", "Or hours", 0, 400, 5, more=True),
            _scale("fee_hour", "An hour", 20, 250, 5, unit=sign, more=True),
        ]
    return found


def ways_of(project: Project, values: Mapping[str, Any], *, scenario: str) -> tuple[FeeWay, ...]:
    """The fee as a rate, as a fixed sum and by the hour, on the same lines.

    Parameters
    ----------
    project : Project
        The project.
    values : mapping of str to Any
        What is chosen now.
    scenario : str
        Whose lines.

    Returns
    -------
    tuple of FeeWay
        A rate on everything, on goods, a fixed sum, hours.
    """

    def exact(number: Any) -> Decimal:
        return Decimal(str(round(float(number), 4)))

    rate = exact(values["fee"])
    return fee_ways(
        project,
        scenario=scenario,
        models=[
            ("a rate on goods and works", FeeModel(kind="rate", amount=rate)),
            ("a rate on goods", FeeModel(kind="rate", amount=rate, on="goods")),
            ("a fixed fee", FeeModel(kind="fixed", amount=exact(values["fee_fixed"]))),
            (
                "by the hour",
                FeeModel(
                    kind="per hour",
                    amount=exact(values["fee_hour"]),
                    hours=exact(values["fee_hours"]),
                ),
            ),
        ],
    )


def fee_table(ways: tuple[FeeWay, ...], *, code: str) -> dict[str, Any]:
    """Fee models beside each other, for the page.

    Parameters
    ----------
    ways : tuple of FeeWay
        From `ways_of`.
    code : str
        Currency, ISO 4217.

    Returns
    -------
    dict of str to Any
        A table.
    """
    return {
        "title": "What the studio could ask",
        "note": "the first is what the project says",
        "head": ["way", "before tax", "with tax", "how"],
        "align": ["", "r", "r", ""],
        "rows": [
            [
                way.name,
                money_text(way.part.net, code=code),
                [[money_text(way.part.gross, code=code)]],
                way.part.why,
            ]
            for way in ways
        ],
    }
