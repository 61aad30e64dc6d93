"""The study "budget scenarios": which one stays under the cap, and how sure that is."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from designkit.analyses.of_brief import brief, brief_sentence
from designkit.analyses.of_budget import candidates_for, lines_with_choices
from designkit.costs.budgeting import Budget, budget
from designkit.costs.cash import Cash
from designkit.costs.comfort import length_words
from designkit.costs.lines import drawn, price
from designkit.costs.money import money_text
from designkit.costs.pieces import all_in
from designkit.costs.quotes import level
from designkit.costs.scenarios import choices
from designkit.costs.steering import BestSet, Frontier, best_set, frontier, priorities_of
from designkit.documents import cash
from designkit.errors import InputError
from designkit.figures.budget import scenarios as scenarios_figure
from designkit.figures.budget_cash import cash_figure
from designkit.figures.budget_places import places_figure
from designkit.figures.budget_steer import best_figure, frontier_figure
from designkit.figures.chance import chance as chance_figure
from designkit.figures.drawing import Drawing
from designkit.figures.quotes import quotes as quotes_figure
from designkit.figures.sheet import TitleBlock
from designkit.figures.svg import to_svg
from designkit.model import CostLine, Edit
from designkit.reference import value
from designkit.studies.budget_pictures import (
    controls_for,
    fee_table,
    pictures_of,
    start_values,
    ways_of,
)
from designkit.studies.desk import Desk
from designkit.studies.page import Page
from designkit.studies.study import Study
from designkit.studies.words import brief_items, finding_rows, source_of
from designkit.studies.writing import block_for, write_sheets
from designkit.units import IMPERIAL

__all__ = ["BudgetScenarios", "budget_scenarios"]


_SHEETS = {
    "best set": ("Best set", "D-404"),
    "one more step": ("What more money buys", "D-405"),
    "week by week": ("Money week by week", "D-406"),
}


class BudgetScenarios(Study):
    """Which scenarios are compared, which line is tried, what it does to the total.

    Parameters
    ----------
    desk : Desk
        The project that the study works on.
    """

    draft = "budget-scenarios"

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
            **start_values(desk.project),
        }
        self.tell: Callable[[str], None] | None = None  # a word while the page waits
        self.check_values()

    @property
    def sheets(self) -> tuple[str, ...]:  # type: ignore[override]
        """Money sheets that the project has the data for."""
        return (
            "budget-scenarios",
            "budget-chance",
            "best-set",
            "one-more-step",
            "week-by-week",
            "candidates",
            "quotes",
        )

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
        self.values["tax_per"] = project.home.money.tax_per
        self.values["fee"] = float(project.home.money.fee)
        if self.values["picture"] not in pictures_of(project):
            self.values["picture"] = "scenarios"
        if self.values["scenario"] not in known:
            self.values["scenario"] = ""
        offers = [c.id for c in lines_with_choices(project)]
        if self.values["weighed"] not in offers:
            self.values["weighed"] = offers[0] if offers else ""
        line = self.values["weighed"]
        self.values["weight"] = priorities_of(project).get(line, 1.0)
        self.values["leave_out"] = "yes" if line in project.home.brief.may_leave_out else "no"

        ways = [c.id for c in choices(project.costs).get(line, ())]
        if self.values["marked"] not in ways:
            self.values["marked"] = ways[0] if ways else ""
        of = next((c for c in project.costs if c.id == self.values["marked"]), None)
        self.values["mark"] = (of.more.get("mark", "") if of else "") or "none"
        self.values["mark_by"] = of.more.get("mark_by", "") if of else ""

    def _give_mark(self) -> None:
        """The client's own mark of a candidate, with who said it."""
        marked = str(self.values["marked"])
        mark, by = str(self.values["mark"]), str(self.values["mark_by"]).strip()
        had = next(c for c in self.desk.project.costs if c.id == marked).more
        new = {"mark": "" if mark == "none" else mark, "mark_by": by}
        self.desk.do(
            [
                Edit(path=f"costs.{marked}.{column}", old=had.get(column) or None, new=text or None)
                for column, text in new.items()
                if had.get(column, "") != text
            ],
            merge=True,
        )

    def choose(self, changed: str) -> None:
        """A price, the cap, a weight, a mark, the terms that were tried."""
        asked, money = self.desk.home.brief, self.desk.home.money
        if changed in ("mark", "mark_by"):
            self._give_mark()
        elif changed == "weight":
            line = self.values["weighed"]
            weight = round(float(self.values["weight"]), 2)
            self._edit(f"brief.priorities.{line}", asked.priorities.get(line), weight)
        elif changed == "leave_out":
            line = self.values["weighed"]
            without = [x for x in asked.may_leave_out if x != line]
            if self.values["leave_out"] == "yes":
                without.append(line)
            self._edit("brief.may_leave_out", list(asked.may_leave_out), without)
        elif changed in ("picture", "weighed") and self.values["picture"] == "candidates":
            self.values["line"] = self.values["weighed"] or self.values["line"]
        elif changed == "tax_per":
            self._edit("money.tax_per", money.tax_per, self.values["tax_per"])
        elif changed == "fee":
            self._edit("money.fee", float(money.fee), round(float(self.values["fee"]), 4))
        elif changed == "price":
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

    def _edit(self, path: str, old: object, new: object) -> None:
        self.desk.do([Edit(path=path, old=old, new=new)], merge=True)

    def controls(self) -> list[dict[str, Any]]:
        """What is looked at, and what changes it."""
        project = self.desk.project
        picture = self.values["picture"]
        cap = self.values["cap"] or float(self._total())
        return [
            {
                "kind": "words",
                "id": "picture",
                "label": "Look at",
                "choices": [[p, p] for p in pictures_of(project)],
            },
            *controls_for(picture, project, self.values, line=self._line(), cap=cap),
        ]

    def _total(self) -> Decimal:
        return sum((c.likely * c.quantity for c in self.desk.project.costs), Decimal(0))

    def _result(self) -> Budget:
        text = str(self.values["seed"]).strip()
        if not text.isdigit():
            raise InputError("seed", given=text, allowed="a whole number", mend="write 7")
        many = self.values["picture"] == "chance" and self.values["draws"] == "100,000"
        return budget(
            self.desk.project,
            scenarios=self.values["columns"],
            together=float(self.values["together"]),
            seed=int(text),
            draws=100_000 if many else None,
            progress=self._progress if many else None,
        )

    def _progress(self, share: float) -> None:
        if self.tell is not None:
            self.tell("" if share >= 1 else f"Drawing 100,000 times: {share * 100:.0f} % …")

    def _best(self) -> BestSet:
        return best_set(self.desk.project)

    def _frontier(self) -> Frontier:
        step = Decimal(str(round(float(self.values["step"]))))
        return frontier(self.desk.project, step=step)

    def _cash(self) -> Cash:
        share = round(float(self.values["deposit"]), 4)
        project = self.desk.project
        rules = {**project.home.rules, "costs.cash.on_order.purchase": share}
        project = replace(project, home=replace(project.home, rules=rules))
        return cash(project, today=datetime.date.today(), scenario=str(self.values["scenario"]))

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
            drawn(self.desk.project.costs),
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

    def _picture(self, result: Budget | None) -> tuple[Drawing, str, str]:
        """The drawing with its question and answer."""
        project, home = self.desk.project, self.desk.home
        which, code = self.values["picture"], home.money.currency
        cap = home.brief.budget
        question = (
            f"Which scenario keeps us under {money_text(cap, code=code)}?"
            if cap is not None
            else "What does each scenario come to?"
        )
        if which == "chance" and result is not None:
            return chance_figure(result, page=True), question, result.chance_answer or result.answer
        if which == "best set":
            best = self._best()
            drawing = best_figure(best, page=True)
            return drawing, drawing.title, best.answer
        if which == "one more step":
            steps = self._frontier()
            drawing = frontier_figure(steps, page=True)
            return drawing, drawing.title, steps.answer
        if which == "week by week":
            weeks = self._cash()
            name = home.scenarios[self.values["scenario"]].name if self.values["scenario"] else ""
            drawing = cash_figure(weeks, name=name, page=True)
            return drawing, drawing.title, weeks.answer
        if which == "candidates":
            line = self.values["weighed"]
            places = candidates_for(project, line=line, today=datetime.date.today())
            drawing = places_figure(places, units=home.units, chosen=line, page=True)
            return drawing, drawing.title, places.answer
        if which == "quotes":
            levelled = level(
                project, scope=self.values["scope"], on=datetime.date.today().isoformat()
            )
            drawing = quotes_figure(levelled, page=True)[0]
            return drawing, drawing.title, levelled.answer
        assert result is not None  # the two pictures that rest on it have it
        return scenarios_figure(result, page=True), question, result.answer

    def draw(self, *, cards: bool = False) -> dict[str, Any]:
        """Everything that the page shows now."""
        # Only two pictures rest on the draws; the others do not wait for them.
        draws = self.values["picture"] in ("scenarios", "chance")
        result = self._result() if draws else None
        drawing, question, answer = self._picture(result)
        return {
            "picture": to_svg(drawing),
            "controls": self.controls(),
            "values": dict(self.values),
            "said": lambda: self._said(result or self._result(), question, answer),
        }

    def act(self, action: str, message: Mapping[str, Any]) -> dict[str, Any] | None:
        """As every study, but a sheet shows what is tried: step, deposit.

        Parameters
        ----------
        action : str
            Id of the button, or "look".
        message : mapping of str to Any
            What the page sent with it.

        Returns
        -------
        dict of str to Any or None
            For the page; None where nothing has changed.
        """
        which = self.values["picture"]
        if action != "export" or which not in _SHEETS:
            return super().act(action, message)
        title, number = _SHEETS[which]
        block = block_for(self.desk, title=title, number=number)
        sheet = self._tried(block)
        self.note = write_sheets(self.desk, [sheet], stem=which.replace(" ", "-"))
        return self.draw(cards=True)

    def _tried(self, block: TitleBlock) -> Drawing:
        home = self.desk.home
        paper = "Letter" if home.units in IMPERIAL else "A4"
        which = self.values["picture"]
        if which == "best set":
            return best_figure(self._best(), block=block, paper=paper)
        if which == "one more step":
            return frontier_figure(self._frontier(), block=block, paper=paper)
        id = self.values["scenario"]
        name = home.scenarios[id].name if id else ""
        return cash_figure(self._cash(), name=name, block=block, paper=paper)

    def _said(self, result: Budget, question: str, answer: str) -> dict[str, Any]:
        home = self.desk.home
        lines = brief(self.desk.project, budget=result, kinds=("budget",))
        working = [[d.name, d.why, "drivers, one thing changed at a time"] for d in result.drivers]
        if self.values["picture"] == "best set":
            working = [
                ["best set", why, source_of("costs.steer.weight.named")] for why in self._best().why
            ]
        if self.values["picture"] == "candidates":
            tall = length_words(value("costs.comfort.adult", home.rules), units=home.units)
            said = f"lengths of a body from its height; {tall} where the brief gives none"
            working = [
                ["comfort", said, source_of("costs.comfort.knee")],
                ["look", "ΔL* to wall and floor, shares by area", source_of("palette.edge.strong")],
            ]
        working += [
            ["draws", result.basis, source_of("costs.chance.together")],
            [
                "range of a price",
                "from how firm it is, unless its row gives low and high",
                source_of("costs.range.guess.high"),
            ],
        ]
        tables = self._tables(result)
        if self.values["picture"] != "quotes":
            ways = ways_of(self.desk.project, self.values, scenario="")
            tables.append(fee_table(ways, code=home.money.currency))
        return {
            "where": home.name,
            "question": question,
            "answer": f"{answer} {brief_sentence(lines)}.",
            "brief": brief_items(lines),
            "findings": {
                "title": "What must come first",
                "rows": finding_rows(result.gates, home=home),
                "none": "No gate is closed.",
            },
            "tables": tables,
            "working": working,
            "actions": self.actions(),
            "note": self.note,
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
    page = Page(study.show, study.act)

    def tell(words: str) -> None:
        page.said = {**page.said, "note": words or study.note}

    study.tell = tell
    return page
