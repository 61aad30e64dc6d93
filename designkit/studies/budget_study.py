"""The study "budget scenarios": which one stays under the cap, and how sure that is."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from designkit.analyses.of_brief import brief, brief_sentence
from designkit.costs.budgeting import Budget, budget
from designkit.costs.lines import price
from designkit.costs.money import money_text
from designkit.costs.pieces import all_in
from designkit.costs.quotes import level
from designkit.errors import InputError
from designkit.figures.budget import scenarios as scenarios_figure
from designkit.figures.chance import chance as chance_figure
from designkit.figures.quotes import quotes as quotes_figure
from designkit.figures.svg import to_svg
from designkit.model import CostLine, Edit
from designkit.reference import value
from designkit.studies.desk import Desk
from designkit.studies.page import Page
from designkit.studies.study import Study
from designkit.studies.words import brief_items, finding_rows, source_of

__all__ = ["BudgetScenarios", "budget_scenarios"]


class BudgetScenarios(Study):
    """Which scenarios are compared, which line is tried, what it does to the total.

    Parameters
    ----------
    desk : Desk
        The project that the study works on.
    """

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        if not desk.project.costs:
            raise InputError(
                "costs.csv",
                given="no lines",
                allowed="one cost line or more",
                mend="write what is to be bought into costs.csv",
            )
        columns = ["", *desk.home.scenarios]
        largest = max(desk.project.costs, key=lambda c: c.likely * c.quantity)
        self.values = {
            "picture": "scenarios",
            "columns": columns[:4],
            "line": largest.id,
            "price": 0.0,
            "together": value("costs.chance.together", desk.home.rules),
            "cap": float(desk.home.brief.budget or 0),
            "seed": "7",
        }
        self.check_values()

    @property
    def sheets(self) -> tuple[str, ...]:  # type: ignore[override]
        """Money sheets, and the quotes where there is a scope."""
        return ("budget-scenarios", "budget-chance", *(["quotes"] if self.desk.home.scopes else []))

    def _line(self) -> CostLine:
        return next(c for c in self.desk.project.costs if c.id == self.values["line"])

    def check_values(self) -> None:
        """The line and the scenarios must be there; the field shows the line's price."""
        project = self.desk.project
        ids = [c.id for c in project.costs]
        if self.values["line"] not in ids:
            self.values["line"] = ids[0]
        known = ["", *project.home.scenarios]
        self.values["columns"] = [c for c in self.values["columns"] if c in known] or [""]
        self.values["price"] = float(self._line().likely)
        self.values["cap"] = float(project.home.brief.budget or 0)

    def choose(self, changed: str) -> None:
        """A price or the cap that was tried."""
        if changed == "price":
            line = self._line()
            new = Decimal(str(round(float(self.values["price"]), 2)))
            if (line.low is not None and new < line.low) or (
                line.high is not None and new > line.high
            ):
                raise InputError(
                    line.item,
                    given=str(new),
                    allowed=f"{line.low} to {line.high}, the range its row gives",
                    mend="change low and high in costs.csv first",
                )
            self.desk.do(
                [Edit(path=f"costs.{line.id}.likely", old=str(line.likely), new=str(new))],
                merge=True,
            )
        elif changed == "cap":
            old = self.desk.home.brief.budget
            new_cap = round(float(self.values["cap"]))
            self.desk.do(
                [Edit(path="brief.budget", old=None if old is None else int(old), new=new_cap)],
                merge=True,
            )

    def controls(self) -> list[dict[str, Any]]:
        """The six controls and what is folded."""
        home = self.desk.home
        line = self._line()
        likely = float(line.likely)
        low = float(line.low) if line.low is not None else min(likely * 0.5, likely * 1.5)
        high = float(line.high) if line.high is not None else max(likely * 0.5, likely * 1.5)
        step = 10 ** max(0, len(str(int(abs(likely)))) - 3) if abs(likely) >= 10 else 0.1
        sign = money_text(Decimal(0), code=home.money.currency).replace("\u00a0", " ").split()[-1]
        cap = self.values["cap"] or float(self._total())
        pictures = [["scenarios", "scenarios"], ["chance", "chance"]]
        if home.scopes:
            pictures.append(["quotes", "quotes"])
        return [
            {"kind": "words", "id": "picture", "label": "Look at", "choices": pictures},
            {
                "kind": "checks",
                "id": "columns",
                "label": "Scenarios",
                "choices": [["", "As drawn"], *([k, s.name] for k, s in home.scenarios.items())],
            },
            {
                "kind": "choose",
                "id": "line",
                "label": "Try another price for",
                "choices": [[c.id, c.item] for c in self.desk.project.costs],
            },
            {
                "kind": "scale",
                "id": "price",
                "label": f"Its price per {line.unit}, before tax",
                "min": low,
                "max": high,
                "step": step,
                "unit": line.currency or sign,
                "group": ",",
                "digits": 0 if step >= 1 else 1,
            },
            {
                "kind": "scale",
                "id": "cap",
                "label": "The cap",
                "min": round(cap * 0.6, -3),
                "max": round(cap * 1.4, -3),
                "step": 250,
                "unit": sign,
                "group": ",",
            },
            {
                "kind": "scale",
                "id": "together",
                "label": "Everything runs high together",
                "min": 0,
                "max": 0.9,
                "step": 0.1,
                "digits": 1,
            },
            {
                "kind": "field",
                "id": "seed",
                "label": "Seed of the draws",
                "hint": "7",
                "more": True,
            },
        ]

    def _total(self) -> Decimal:
        return sum((c.likely * c.quantity for c in self.desk.project.costs), Decimal(0))

    def _result(self) -> Budget:
        text = str(self.values["seed"]).strip()
        if not text.isdigit():
            raise InputError("seed", given=text, allowed="a whole number", mend="write 7")
        return budget(
            self.desk.project,
            scenarios=self.values["columns"],
            together=float(self.values["together"]),
            seed=int(text),
        )

    def _tables(self, result: Budget) -> list[dict[str, Any]]:
        home = self.desk.home
        code = home.money.currency
        columns = result.columns
        names = list(dict.fromkeys(row.name for c in columns for row in c.rows))
        rows: list[list[Any]] = []
        for name in names:
            cells: list[Any] = []
            for c in columns:
                row = next((r for r in c.rows if r.name == name), None)
                if row is None:
                    cells.append("–")
                    continue
                text = money_text(row.now, code=code)
                if row.later:
                    text += f" + {money_text(row.later, code=code)} next year"
                words = f", {'; '.join(row.words)}" if row.words else ""
                cells.append([[text], words] if row.changed else text)
            rows.append([name, *cells])
        rows.append(["total", *([[money_text(c.total, code=code)]] for c in columns)])
        rows.append(["against the cap", *(c.words for c in columns)])
        rows.append(["chance", *(c.chance_words for c in columns)])
        for title, pick in (("10th of 100 outcomes", "p10"), ("50th", "p50"), ("80th", "p80")):
            rows.append(
                [
                    title,
                    *(
                        money_text(Decimal(round(getattr(c.outcome, pick), -2)), code=code)
                        for c in columns
                    ),
                ]
            )
        tables = [
            {
                "title": "Scenarios side by side",
                "note": "changed amounts in bold",
                "head": ["", *(c.name for c in columns)],
                "align": ["", *("r" for _ in columns)],
                "rows": rows,
            }
        ]
        priced = price(
            self.desk.project.costs,
            money=home.money,
            old=[k for k, p in home.pieces.items() if p.old],
            overrides=home.rules,
        )
        pieces = dict.fromkeys(x.line.piece for x in priced if x.line.piece)
        body = []
        for piece in pieces:
            whole = all_in(priced, piece=piece, code=code)
            if len(whole.rows) > 1:
                thing = home.pieces.get(piece) or home.fixtures.get(piece)
                body.append(
                    [
                        thing.name if thing else piece,
                        money_text(whole.ticket, code=code),
                        [[money_text(whole.total, code=code)]],
                        "; ".join(
                            f"{r.words} {money_text(r.gross, code=code)}" for r in whole.rows
                        ),
                    ]
                )
        if body:
            tables.append(
                {
                    "title": "The ticket is not the price",
                    "note": "with tax",
                    "head": ["piece", "ticket", "all-in", "what makes it"],
                    "align": ["", "r", "r", ""],
                    "rows": body,
                }
            )
        return tables

    def draw(self, *, cards: bool = False) -> dict[str, Any]:
        """Everything that the page shows now."""
        home = self.desk.home
        result = self._result()
        which = self.values["picture"]
        if which == "quotes" and not home.scopes:
            which = "scenarios"
        if which == "chance":
            drawing = chance_figure(result, page=True)
        elif which == "quotes":
            levelling = level(self.desk.project, scope=next(iter(home.scopes)))
            drawing = quotes_figure(levelling, page=True)[0]
        else:
            drawing = scenarios_figure(result, page=True)
        lines = brief(self.desk.project, budget=result, kinds=("budget",))
        cap = home.brief.budget
        question = (
            f"Which scenario keeps us under {money_text(cap, code=home.money.currency)}?"
            if cap is not None
            else "What does each scenario come to?"
        )
        working = [[d.name, d.why, "drivers, one thing changed at a time"] for d in result.drivers]
        working += [
            ["draws", result.basis, source_of("costs.chance.together")],
            [
                "range of a price",
                "from how firm it is, unless its row gives low and high",
                source_of("costs.range.guess.high"),
            ],
        ]
        return {
            "picture": to_svg(drawing),
            "controls": self.controls(),
            "values": dict(self.values),
            "said": lambda: {
                "where": home.name,
                "question": question,
                "answer": f"{result.answer} {brief_sentence(lines)}.",
                "brief": brief_items(lines),
                "findings": {
                    "title": "What must come first",
                    "rows": finding_rows(result.gates, home=home),
                    "none": "No gate is closed.",
                },
                "tables": self._tables(result),
                "working": working,
                "actions": self.actions(),
                "note": self.note,
            },
        }


def budget_scenarios(project: str | None = None) -> Page:
    """The study "budget scenarios" on a project.

    Parameters
    ----------
    project : path, optional
        A project folder; else the one that `designkit lab` opened, the one
        around the notebook, or a passing copy of the demo.

    Returns
    -------
    Page
        Shown by the notebook as the cell's value.
    """
    study = BudgetScenarios(Desk(project))
    return Page(study.show, study.act)
