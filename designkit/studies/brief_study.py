"""The study "brief": what is asked for, does the layout give it, and who decides."""

from __future__ import annotations

import contextlib
import datetime
import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from designkit import project as files
from designkit.analyses.of_asked import (
    activity_wishes,
    asked,
    places_for,
    watched_places,
    with_activities,
)
from designkit.analyses.of_brief import BriefLine
from designkit.analyses.of_layout import LayoutResult
from designkit.analyses.of_layout import layout as analyse_layout
from designkit.analyses.of_light import light as analyse_light
from designkit.analyses.of_scheme import balance
from designkit.analyses.view_rows import wish_view
from designkit.costs.budgeting import budget
from designkit.errors import DesignkitError, InputError
from designkit.figures.brief_sheet import brief_answer, brief_sheets
from designkit.figures.drawing import Drawing
from designkit.figures.plan import plan_drawing
from designkit.figures.svg import to_svg
from designkit.model import Brief, Wish
from designkit.plan.case import short_name
from designkit.reference import value
from designkit.schedule.dates import latest_orders
from designkit.studies.brief_fields import count_of, lines_of, people_of, people_text
from designkit.studies.desk import Desk
from designkit.studies.issuing import issue, paper_of, title_block
from designkit.studies.page import Page
from designkit.studies.study import Study
from designkit.studies.words import brief_items, length_of, source_of
from designkit.units import file_text, read_number

__all__ = ["ClientBrief", "brief"]

COUNTS = {
    "seats": "Seats every day",
    "seats_guests": "Seats with guests",
    "diners": "At the table every day",
    "diners_guests": "At the table with guests",
}
_RULES = {
    "storage": "plan.storage.shelf",
    "light": "light.target.page.low",
    "view": "plan.view.ahead",
    "screen": "plan.screen.subtense",
    "route": "plan.route.main",
    "turning": "plan.stepfree.turning",
}


class ClientBrief(Study):
    """People, places, pieces, money and day; each wish met or not at once.

    Parameters
    ----------
    desk : Desk
        The project that the study works on.
    """

    draft = "brief"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.refused: dict[str, tuple[Any, str]] = {}  # typed and not taken, and why
        home = desk.home
        self.values = {
            "layout": home.layout or next(iter(home.layouts), ""),
            "look": "plan" if home.layouts else "sheet",
        }
        self.lines: tuple[BriefLine, ...] = ()
        self.check_values()

    # --- the fields from the project, and back ------------------------------------

    def check_values(self) -> None:
        """Every field shows what the project says; half-typed text of the same sense stays."""
        home = self.desk.home
        given = home.brief
        now = self.values
        if now["layout"] not in home.layouts:
            now["layout"] = next(iter(home.layouts), "")
        for key in COUNTS:
            number = getattr(given, key)
            now[key] = "" if number is None else str(number)
        route, black, turning = map(self._wish, ("route", "black", "turning"))
        width = route.at_least if route else None
        share = black.at_most if black else None
        circle = turning.at_least if turning else None
        typed: tuple[tuple[str, object, str, Callable[[str], object]], ...] = (
            (
                "people", given.people, people_text(given.people, home.units),
                lambda text: people_of(text, home.units),
            ),
            ("activities", given.activities, "\n".join(given.activities), lines_of),
            ("dislikes", given.dislikes, "\n".join(given.dislikes), lines_of),
            ("storage", given.storage, self._told(given.storage), self._length("storage")),
            (
                "budget", given.budget,
                "" if given.budget is None else f"{given.budget.normalize():f}", self._cap,
            ),
            ("way_width", width, self._told(width), self._length("way_width")),
            ("black", share, "" if share is None else f"{share * 100:g}", self._percent),
            ("turning", circle, self._told(circle), self._length("turning")),
        )  # fmt: skip
        for key, value_, told, parse in typed:
            self._keep_typed(key, value_, told, parse)
        now["keeps"] = list(given.keeps)
        includes = (("tax", given.budget_includes_tax), ("fee", given.budget_includes_fee))
        now["includes"] = [word for word, held in includes if held]
        now["date"] = given.date
        now["decides"] = given.decides
        for activity, places in activity_wishes(home).items():
            shown = {id for id, _ in self._places(activity)}
            now[activity] = [place for place in places if place in shown]
        now["way_from"] = route.start if route else ""
        now["way_to"] = route.end if route else ""
        now |= {id: value for id, (value, _) in self.refused.items()}

    def _told(self, length: float | None) -> str:
        return "" if length is None else file_text(length, units=self.desk.home.units)

    def _keep_typed(self, key: str, now: object, told: str, parse: Callable[[str], object]) -> None:
        """Leave what was typed where it means what the project says."""
        text = str(self.values.setdefault(key, ""))
        try:
            same = parse(text) == now
        except InputError:
            same = False
        if not same:
            self.values[key] = told

    def _wish(self, kind: str) -> Wish | None:
        return next((w for w in self.desk.home.brief.wishes.values() if w.kind == kind), None)

    def _put(self, new: Brief) -> None:
        """Change the brief."""
        desk = self.desk
        home = replace(desk.home, brief=new)
        desk.do(files.changes_between(desk.project, replace(desk.project, home=home)))

    def typed(self) -> dict[str, Any]:
        """What stands in a field and was not taken."""
        held = {id: value for id, (value, _) in self.refused.items()}
        return {"refused": held} if held else {}

    def retype(self, values: Mapping[str, Any]) -> None:
        """Try again what was not taken; it stays in its field where it is still refused."""
        for id, held in dict(values.get("refused", {})).items():
            if id in self.values:
                self.values[id] = held
                with contextlib.suppress(DesignkitError):
                    self.choose(id)

    def choose(self, changed: str) -> None:
        """Take in a field of the brief; what is refused stays in it as typed."""
        try:
            self._take(changed)
        except DesignkitError as problem:
            if isinstance(self.values[changed], str) and changed not in ("way_from", "way_to"):
                self.refused[changed] = (self.values[changed], str(problem))
            raise
        self.refused.pop(changed, None)

    def _take(self, changed: str) -> None:
        home = self.desk.home
        given = home.brief
        text = self.values.get(changed)
        if changed in ("layout", "look"):
            return
        if changed in COUNTS:
            count = count_of(str(text), COUNTS[changed].lower())
            self._put(replace(given, **{changed: count}))  # type: ignore[arg-type]
        elif changed == "people":
            self._put(replace(given, people=people_of(str(text), home.units)))
        elif changed == "activities":
            self._put(replace(given, activities=lines_of(str(text))))
        elif changed == "dislikes":
            self._put(replace(given, dislikes=lines_of(str(text))))
        elif changed == "storage":
            self._put(replace(given, storage=self._length("storage")(str(text))))
        elif changed == "keeps":
            kept = [id for id in given.keeps if id in self.values["keeps"]]
            kept += [id for id in self.values["keeps"] if id not in kept]
            self._put(replace(given, keeps=tuple(kept)))
        elif changed == "budget":
            self._put(replace(given, budget=self._cap(str(text))))
        elif changed == "includes":
            held = self.values["includes"]
            self._put(
                replace(given, budget_includes_tax="tax" in held, budget_includes_fee="fee" in held)
            )
        elif changed == "date":
            self._put(replace(given, date=self._day(str(text))))
        elif changed == "decides":
            self._put(replace(given, decides=str(text).strip()))
        elif changed in ("reads", "works", "watches"):
            layout = self.values["layout"]
            places = self.values[changed]
            self._put(with_activities(home, layout=layout, activity=changed, places=places))  # type: ignore[arg-type]
        elif changed in ("way_from", "way_to", "way_width"):
            self._way(changed)
        elif changed == "black":
            self._limit("black", self._percent(str(text)))
        elif changed == "turning":
            self._limit("turning", self._length("turning")(str(text)))

    def _length(self, key: str) -> Callable[[str], float | None]:
        """How a length of the brief is read; nothing typed is none."""
        what = {"storage": "shelf", "turning": "circle to turn in", "way_width": "width"}[key]

        def length(text: str) -> float | None:
            if not text.strip():
                return None
            metres = length_of(text, home=self.desk.home, what=what)
            if not 0 < metres < 500:
                raise InputError(
                    what, given=text, allowed="more than 0", mend="write as 4.5 m, or leave it"
                )
            return metres

        return length

    def _cap(self, text: str) -> Decimal | None:
        bare = re.sub(r"[^\d.,' \u00a0\u202f-]", "", text).strip()
        if not text.strip():
            return None
        amount = read_number(bare or text, what="cap")
        if amount <= 0:
            raise InputError(
                "cap", given=text, allowed="more than 0", mend="leave it out if unknown"
            )
        return amount

    def _day(self, text: str) -> str:
        day = text.strip()
        if day:
            try:
                datetime.date.fromisoformat(day)
            except ValueError:
                raise InputError(
                    "day", given=text, allowed="a date as 2027-05-14", mend="write year-month-day"
                ) from None
        return day

    def _percent(self, text: str) -> float | None:
        bare = text.replace("%", "").strip()
        if not bare:
            return None
        share = float(read_number(bare, what="black at most")) / 100
        if not 0 <= share <= 1:
            raise InputError(
                "black at most", given=text, allowed="0 to 100 %", mend="write 15, or leave it"
            )
        return share

    def _limit(self, kind: str, limit: float | None) -> None:
        """Put, change or take out the one wish of a kind that holds one number."""
        given = self.desk.home.brief
        wishes = dict(given.wishes)
        id = next((k for k, w in wishes.items() if w.kind == kind), f"{kind}_limit")
        if limit is None:
            wishes.pop(id, None)
        elif kind == "black":
            text = f"black at most {limit * 100:g} % by area"
            wishes[id] = Wish(text=text, kind="black", at_most=limit)
        else:
            said = file_text(limit, units=self.desk.home.units)
            wishes[id] = Wish(text=f"a circle of {said} to turn in", kind="turning", at_least=limit)
        self._put(replace(given, wishes=wishes))

    def _way(self, changed: str) -> None:
        home = self.desk.home
        wishes = dict(home.brief.wishes)
        id = next((k for k, w in wishes.items() if w.kind == "route"), "way")
        start, end = str(self.values["way_from"]), str(self.values["way_to"])
        try:
            width = self._length("way_width")(str(self.values["way_width"]))
        except InputError:
            if changed == "way_width":
                raise
            width = None  # told beside its own field
        if not (start and end):
            if id in wishes and changed != "way_width":
                del wishes[id]
                self._put(replace(home.brief, wishes=wishes))
            elif changed == "way_width" and width is not None:
                raise InputError(
                    "way", given="no ends", allowed="from and to", mend="choose both ends first"
                )
            return
        if start == end:
            raise InputError(
                "way", given="two ends that are the same", allowed="two places",
                mend="choose another end",
            )  # fmt: skip
        least = width or value("plan.route.main", home.rules)
        names = self._ends()
        said = file_text(least, units=home.units)
        text = f"a way {said} wide from the {names.get(start, start)} to the {names.get(end, end)}"
        wishes[id] = Wish(text=text, kind="route", start=start, end=end, at_least=least)
        self._put(replace(home.brief, wishes=wishes))
        if width is not None:
            self.refused.pop("way_width", None)  # it waited for its ends

    # --- what the controls offer ---------------------------------------------------

    def _places(self, activity: str) -> list[tuple[str, str]]:
        home, layout = self.desk.home, self.values["layout"]
        if activity == "watches":
            there = watched_places(home, layout=layout)
            return [(f"{one.seat}>{one.what}", one.words) for one in there]
        return list(places_for(home, layout, activity).items())  # type: ignore[arg-type]

    def _ends(self) -> dict[str, str]:
        home = self.desk.home
        ends = {id: room.name for id, room in home.rooms.items()}
        ends |= {
            id: one.name or id.replace("_", " ")
            for id, one in home.openings.items()
            if one.kind != "window"
        }
        return ends

    def _pieces(self) -> list[list[str]]:
        home = self.desk.home
        stands = {
            spot.item or id
            for layout in home.layouts.values()
            for id, spot in layout.pieces.items()
        }
        return [
            [id, short_name(piece.name)]
            for id, piece in home.pieces.items()
            if id in stands or id in home.brief.keeps
        ]

    def controls(self) -> list[dict[str, Any]]:
        """People, places, pieces, money and day; the rarer limits are folded."""
        home = self.desk.home
        found: list[dict[str, Any]] = []
        if len(home.layouts) > 1:
            found.append(
                {
                    "kind": "words",
                    "id": "layout",
                    "label": "Held against option",
                    "choices": [[k, chr(ord("A") + i)] for i, k in enumerate(home.layouts)],
                }
            )
        if home.layouts:
            found.append(
                {
                    "kind": "words",
                    "id": "look",
                    "label": "Look at",
                    "choices": [["plan", "the plan"], ["sheet", "the sheet to sign"]],
                }
            )
        found.append(
            {
                "kind": "text",
                "id": "people",
                "label": "Who lives here, one a line: who, age, height",
                "rows": max(3, len(home.brief.people) + 1),
                "hint": "adult, 44, 1.78 m\nchild, 6\ncat",
            }
        )
        found += [
            {"kind": "field", "id": id, "label": label, "hint": "4"} for id, label in COUNTS.items()
        ]
        for id, label in (
            ("reads", "Somebody reads at"),
            ("works", "Somebody works at"),
            ("watches", "Somebody watches"),
        ):
            choices = [[place, words] for place, words in self._places(id)]
            if choices:
                found.append({"kind": "checks", "id": id, "label": label, "choices": choices})
        pieces = self._pieces()
        if pieces:
            found.append(
                {"kind": "checks", "id": "keeps", "label": "What stays", "choices": pieces}
            )
        found += [
            {"kind": "field", "id": "storage", "label": "Running metres of shelf", "hint": "4.5 m"},
            {
                "kind": "text",
                "id": "activities",
                "label": "What happens here, one a line",
                "rows": 4,
            },
            {
                "kind": "text",
                "id": "dislikes",
                "label": "What is not wanted, one a line",
                "rows": 4,
            },
            {"kind": "field", "id": "budget", "label": "The cap", "hint": "43000"},
            {
                "kind": "checks",
                "id": "includes",
                "label": "The cap holds",
                "choices": [["tax", "tax"], ["fee", "the studio's fee"]],
            },
            {"kind": "field", "id": "date", "label": "Ready on", "hint": "2027-05-14"},
            {"kind": "field", "id": "decides", "label": "Who decides", "hint": "the client"},
        ]
        ends = [["", "not asked"], *([id, name] for id, name in self._ends().items())]
        if len(ends) > 2:
            found += [
                {"kind": "choose", "id": "way_from", "label": "A way from", "choices": ends},
                {"kind": "choose", "id": "way_to", "label": "to", "choices": ends},
                {"kind": "field", "id": "way_width", "label": "at least wide", "hint": "0.90 m"},
            ]
            for control in found[-3:]:
                control["more"] = True
        found += [
            {
                "kind": "field",
                "id": "black",
                "label": "Black at most, %",
                "hint": "15",
                "more": True,
            },
            {
                "kind": "field",
                "id": "turning",
                "label": "A circle to turn in",
                "hint": "1.50 m",
                "more": True,
            },
        ]
        return found

    # --- what it shows -----------------------------------------------------------

    def _layout(self) -> LayoutResult | None:
        home, id = self.desk.home, self.values["layout"]
        return analyse_layout(home, layout=id, quick=True) if id in home.layouts else None

    def _asked(self, layout: LayoutResult | None) -> tuple[BriefLine, ...]:
        project, home = self.desk.project, self.desk.home
        kinds = {wish.kind for wish in home.brief.wishes.values()}
        lit = black = money = None
        if layout is not None and "light" in kinds and layout.layout.lamps:
            lit = analyse_light(home, layout=layout.id, folder=self.desk.folder)
        if layout is not None and "black" in kinds and home.finishes:
            black = balance(project, layout=layout.id)
        if project.costs and (home.brief.budget is not None or "budget" in kinds):
            money = budget(project)
        dated = bool(home.brief.date and project.costs)
        orders = latest_orders(project, today=datetime.date.today()) if dated else ()
        return asked(project, layout=layout, balance=black, light=lit, budget=money, orders=orders)

    def _picture(self, layout: LayoutResult | None) -> Drawing:
        """The plan with the ways and views that are asked for, or the sheet."""
        home = self.desk.home
        if layout is None or self.values["look"] == "sheet":
            name = layout.layout.name if layout is not None else ""
            return brief_sheets(home, self.lines, layout=name, page=True)[0]
        wishes = home.brief.wishes
        views = [
            row.view
            for wish in wishes.values()
            if wish.kind == "view"
            for row in wish_view(home, layout.views, wish)
        ]
        open_ = [wishes[x.id] for x in self.lines if x.state != "met" and x.id in wishes]
        return plan_drawing(
            home,
            layout.layout,
            show=("routes", "sight", "names"),
            routes=[row.line for row in layout.routes if row.id in wishes and row.line],
            sight=views,
            placed=dict(layout.placed),
            marked=[end for wish in open_ for end in (wish.start, wish.end) if end],
        )

    def draw(self, *, cards: bool = False) -> dict[str, Any]:
        """Everything that the page shows now."""
        home = self.desk.home
        layout = self._layout()
        self.lines = lines = self._asked(layout)
        drawing = self._picture(layout)
        rows = [
            {"n": "", "state": "to mend", "text": f"{why}.", "source": "the field above"}
            for _, why in self.refused.values()
        ]
        rows += [
            {
                "n": "",
                "state": line.state,
                "text": f"{line.text}: {line.measured or line.why}",
                "source": source_of(_RULES.get(line.kind, "")) or "the brief",
            }
            for line in lines
            if line.state in ("not met", "measure first")
        ]
        return {
            "picture": to_svg(drawing),
            "controls": self.controls(),
            "values": dict(self.values),
            "said": {
                "where": home.name,
                "question": "What is asked for, and is it met?",
                "answer": brief_answer(home, lines),
                "brief": brief_items(lines),
                "findings": {
                    "title": "What is still open",
                    "rows": rows,
                    "none": "Everything that was asked for is met.",
                },
                "tables": [],
                "working": [
                    [line.text, line.why, source_of(_RULES.get(line.kind, "")) or "the brief"]
                    for line in lines
                    if line.why
                ],
                "actions": self.actions(),
                "note": self.note,
            },
        }

    def act(self, action: str, message: Mapping[str, Any]) -> dict[str, Any] | None:
        """Export is the sheet to sign; the rest as in every study."""
        if action != "export":
            return super().act(action, message)
        home = self.desk.home
        layout = self._layout()
        sheets = brief_sheets(
            home,
            self._asked(layout),
            block=title_block(home, title="Brief", number="D-101"),
            layout=layout.layout.name if layout is not None else "",
            paper=paper_of(home),
        )
        self.note = issue(sheets, name="brief", folder=self.desk.folder)
        return self.draw(cards=True)


def brief(project: str | None = None) -> Page:
    """The study "brief" on a project.

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
    study = ClientBrief(Desk(project))
    return Page(study.show, study.act)
