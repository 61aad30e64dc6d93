"""The study "layout options": where everything goes."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

from designkit.analyses.of_brief import brief, brief_sentence
from designkit.analyses.of_layout import LayoutResult
from designkit.analyses.of_layout import layout as analyse
from designkit.analyses.of_move import Moving, Still, is_same_home, moving, still, with_lines
from designkit.errors import InputError
from designkit.figures.plan import plan_drawing
from designkit.figures.svg import to_svg
from designkit.model import Edit, Home, Layout
from designkit.plan.around import own_group
from designkit.reference import lookup
from designkit.studies.desk import Desk
from designkit.studies.page import Page
from designkit.studies.proposing import propose_on
from designkit.studies.study import Study
from designkit.studies.words import (
    brief_items,
    finding_rows,
    length_control,
    length_of,
    letters_of,
    source_of,
)
from designkit.units import file_text, in_sentence

__all__ = ["LayoutOptions", "layout_options"]

SHOWN = 9  # findings that get a number on the drawing
KINDS = ("route", "view", "seats", "diners", "turning")
SHOW = [
    ("routes", "ways through"),
    ("zones", "use zones"),
    ("sight", "sight lines"),
    ("dimensions", "dimensions"),
]


class LayoutOptions(Study):
    """Which layouts there are, what moves, and what each gives.

    Parameters
    ----------
    desk : Desk
        The project that the study works on.
    """

    sheets = ("furniture-plan", "layout-options")
    cards_on = frozenset({"layout", "rules"})
    draft = "layout-options"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._results: dict[tuple[str, str], tuple[Home, LayoutResult]] = {}
        self._known: tuple[Home, str, Moving] | None = None
        self._still: Still | None = None
        home = desk.home
        if not home.layouts:
            raise InputError(
                "layouts",
                given="none",
                allowed="one layout or more",
                mend="write one under [layouts] in project.toml",
            )
        id = home.layout or next(iter(home.layouts))
        placed = home.layouts[id].pieces
        seats = [
            k for k, p in placed.items() if home.pieces[p.item or k].kind in ("sofa", "bed", "desk")
        ]
        piece = next(iter([*seats, *placed]), "")
        self.values: dict[str, Any] = {
            "layout": id,
            "show": ["routes", "zones", "sight", "dimensions"],
            "piece": piece,
            "rules": home.rule_set,
            **self._where(id, piece),
        }

    # --- what stands where ---------------------------------------------------

    def _where(self, layout: str, piece: str) -> dict[str, Any]:
        home = self.desk.home
        placement = home.layouts[layout].pieces.get(piece)
        if placement is None:
            return {"x": 0.0, "y": 0.0, "turn": 0.0, "at_x": "", "at_y": ""}
        x, y = placement.at
        return {
            "x": round(x, 4),
            "y": round(y, 4),
            "turn": placement.rotation % 360,
            "at_x": file_text(x, units=home.units),
            "at_y": file_text(y, units=home.units),
        }

    def _move(self, changed: str) -> None:
        """Turn a moved control into an edit of the placement."""
        home = self.desk.home
        layout, piece = self.values["layout"], self.values["piece"]
        placement = home.layouts[layout].pieces[piece]
        if placement.locked:
            raise InputError(
                home.pieces[placement.item or piece].name,
                given="locked",
                allowed="pieces that are not locked",
                mend="take `locked = true` out of its line in project.toml",
            )
        path = f"layouts.{layout}.pieces.{piece}"
        x, y = placement.at
        if changed == "turn":
            turn = float(self.values["turn"]) % 360
            old = placement.rotation
            edit = Edit(path=f"{path}.rotation", old=old, new=turn)
        else:
            if changed == "at_x":
                x = length_of(self.values["at_x"], home=home, what="along, from the left")
            elif changed == "at_y":
                y = length_of(self.values["at_y"], home=home, what="up, from below")
            else:
                x, y = float(self.values["x"]), float(self.values["y"])
            say = [file_text(v, units=home.units) for v in placement.at]
            edit = Edit(
                path=f"{path}.at",
                old=say,
                new=[file_text(v, units=home.units) for v in (x, y)],
            )
        self.desk.do([edit], merge=True)

    # --- results -------------------------------------------------------------

    def _now(self) -> LayoutResult:
        """The option on the sheet; what a moved piece cannot change is taken from before."""
        home, rules, id = self.desk.home, self.values["rules"], self.values["layout"]
        layout, before, rest = home.layouts[id], None, None
        if self._known is not None:
            known, old_rules, old = self._known
            if (old_rules, old.result.id) == (rules, id) and is_same_home(home, known):
                before = old.result
                piece = self.values["piece"]
                if layout != before.layout and piece in old.case.placed:
                    group = own_group(old.case, piece) & {*old.case.placed}
                    rest = self._still
                    if rest is None or rest.moved != group or not rest.holds_for(old.case):
                        rest = self._still = still(old, group)
            else:
                self._still = None
        now = moving(home, layout, id=id, before=before, rest=rest, rule_set=rules)
        self._known = (home, rules, now)
        return with_lines(now)

    def _full(self, id: str) -> LayoutResult:
        """All numbers of an option that is not being moved, from memory where it may."""
        home, rules = self.desk.home, self.values["rules"]
        known = self._results.get((id, rules))
        if known is not None:
            old = known[0]
            if old.layouts.get(id) == home.layouts[id] and is_same_home(old, home):
                return known[1]
        result = analyse(home, layout=id, rule_set=rules)
        self._results[id, rules] = (home, result)
        return result

    # --- the page ------------------------------------------------------------

    def controls(self) -> list[dict[str, Any]]:
        """The six controls and what is folded."""
        home = self.desk.home
        layout = home.layouts[self.values["layout"]]
        letters = letters_of(list(home.layouts))
        points = [p for room in home.rooms.values() for p in room.outline]
        low_x, high_x = min(p[0] for p in points), max(p[0] for p in points)
        low_y, high_y = min(p[1] for p in points), max(p[1] for p in points)
        names = []
        for id, placement in layout.pieces.items():
            name = home.pieces[placement.item or id].name
            number = id.rsplit("_", 1)[-1] if placement.item and id != placement.item else ""
            names.append([id, f"{name} {number}".strip() if number.isdigit() else name])
        return [
            {
                "kind": "words",
                "id": "layout",
                "label": "Option",
                "choices": [[id, letters[id]] for id in home.layouts],
            },
            {"kind": "checks", "id": "show", "label": "Show", "choices": [list(c) for c in SHOW]},
            {"kind": "choose", "id": "piece", "label": "Move", "choices": names},
            {
                "kind": "scale",
                "id": "turn",
                "label": "Turn, counter-clockwise",
                "min": 0,
                "max": 345,
                "step": 15,
                "unit": "°",
            },
            length_control("x", "Along, from the left", home=home, low=low_x, high=high_x),
            length_control("y", "Up, from below", home=home, low=low_y, high=high_y),
            {
                "kind": "field",
                "id": "at_x",
                "label": "Along, typed",
                "hint": file_text(1.24, units=home.units),
                "more": True,
            },
            {
                "kind": "field",
                "id": "at_y",
                "label": "Up, typed",
                "hint": file_text(1.24, units=home.units),
                "more": True,
            },
            {
                "kind": "words",
                "id": "rules",
                "label": "Rule set",
                "choices": [["home", "home"], ["step-free", "step-free"]],
                "more": True,
            },
        ]

    def _table(self, current: LayoutResult) -> dict[str, Any]:
        home = self.desk.home
        letters = letters_of(list(home.layouts))
        results = {
            id: current if id == self.values["layout"] else self._full(id) for id in home.layouts
        }
        lines = {id: brief(self.desk.project, layout=r, kinds=KINDS) for id, r in results.items()}
        rows: list[list[Any]] = [
            ["brief", *([brief_sentence(lines[id]).split(" wish")[0] + " met"] for id in results)]
        ]
        first = lines[self.values["layout"]]
        for i, line in enumerate(first):
            cells = []
            for id in results:
                other = lines[id][i]
                cells.append(f"{other.state}{f', {other.measured}' if other.measured else ''}")
            rows.append([line.text, *cells])
        said = home.units
        rows.append(
            [
                "largest circle clear of pieces",
                *(f"Ø {in_sentence(r.circle, units=said)}" for r in results.values()),
            ]
        )
        rows.append(["free floor", *(f"{r.free_share * 100:.0f} %" for r in results.values())])
        rows.append(["seats", *(str(r.seats) for r in results.values())])
        rows.append(["places at the table", *(str(r.diners) for r in results.values())])
        talks = []
        for r in results.values():
            far = max((pair.distance for pair in r.talk), default=None)
            talks.append("–" if far is None else in_sentence(far, units=said))
        rows.append(["farthest talk in the group", *talks])
        angles = []
        for r in results.values():
            best = max((row.view.angle for row in r.screens), default=None)
            angles.append("–" if best is None else f"{best:.0f}° across")
        rows.append(["screen, from the best seat", *angles])
        counts = []
        for r in results.values():
            fails = sum(f.verdict == "fails" for f in r.findings)
            first_ = sum(f.verdict == "measure first" for f in r.findings)
            counts.append(f"{fails} fail, {first_} to measure first")
        rows.append(["findings", *counts])
        return {
            "title": "Options side by side",
            "note": "the same pieces, the same rules",
            "head": ["", *(f"{letters[id]}  {home.layouts[id].name}" for id in results)],
            "rows": rows,
        }

    def _cards(self) -> dict[str, Any]:
        home = self.desk.home
        letters = letters_of(list(home.layouts))
        now = home.layouts[self.values["layout"]]
        cards = []
        for id, layout in home.layouts.items():
            differs = [
                k
                for k, p in layout.pieces.items()
                if k not in now.pieces
                or (p.at, p.rotation) != (now.pieces[k].at, now.pieces[k].rotation)
            ]
            result = self._full(id)
            drawing = plan_drawing(
                home,
                layout,
                scale=100,
                show=("routes",),
                routes=[row.line for row in result.routes[:1] if row.line],
                placed=dict(result.placed),
                marked=differs,
            )
            lines = brief(self.desk.project, layout=result, kinds=())
            first = result.routes[0] if result.routes else None
            cards.append(
                {
                    "id": id,
                    "letter": letters[id],
                    "name": layout.name,
                    "svg": to_svg(drawing, ids=False),
                    "current": id == self.values["layout"],
                    "lines": [
                        brief_sentence(lines),
                        *(
                            [f"{first.name}: {in_sentence(first.route.width, units=home.units)}"]
                            if first
                            else []
                        ),
                        *([layout.note] if layout.note else []),
                    ],
                }
            )
        return {"title": "Options", "rows": cards}

    def _working(self, result: LayoutResult) -> list[list[str]]:
        rows = [
            [f.what, f.why, source_of(f.rule)]
            for f in result.findings
            if f.verdict != "passes" or f.rule.startswith(("plan.route", "plan.view"))
        ]
        rows.append(
            [
                "measure first",
                "the margin is smaller than the ± of the dimensions, root of the sum of squares",
                lookup("plan.known.measured").source,
            ]
        )
        return rows

    def _said(self, result: LayoutResult) -> dict[str, Any]:
        home = self.desk.home
        lines = brief(self.desk.project, layout=result, kinds=KINDS)
        failing = result.failing
        fails = [f for f in failing if f.verdict == "fails"]
        answer = f"{brief_sentence(lines)}."
        if fails:
            answer += f" {len(fails)} {'thing fails' if len(fails) == 1 else 'things fail'}."
        elif failing:
            answer += " Nothing fails; some of it is to be measured first."
        else:
            answer += " Nothing fails."
        return {
            "where": home.name,
            "question": "Where does everything go?",
            "answer": answer,
            "brief": brief_items(lines),
            "findings": {
                "title": "What the plan says",
                "rows": finding_rows(failing, home=home, numbered=failing[:SHOWN]),
                "none": "Nothing that fails, and nothing that has to be measured first.",
            },
            "tables": [self._table(result)],
            "working": self._working(result),
            "actions": self.actions(
                {"id": "option", "text": "Keep as an option", "main": True},
                {
                    "id": "propose",
                    "text": "Propose layouts",
                    "slow": "Searching, about ten seconds.",
                },
            ),
            "note": self.note,
        }

    def draw(self, *, cards: bool = False) -> dict[str, Any]:
        """Everything that the page shows now."""
        home = self.desk.home
        id = self.values["layout"]
        result = self._now()
        show = [*self.values["show"], "findings", "names", "services"]
        drawing = plan_drawing(
            home,
            home.layouts[id],
            show=show,
            findings=result.failing[:SHOWN],
            routes=[row.line for row in result.routes if row.line],
            sight=[row.view for row in result.views],
            placed=dict(result.placed),
        )
        shown: dict[str, Any] = {
            "picture": to_svg(drawing),
            "said": lambda: self._said(result),
            "controls": self.controls(),
            "values": dict(self.values),
        }
        if cards:
            shown["options"] = self._cards()
        return shown

    def choose(self, changed: str) -> None:
        """Move what the control moves."""
        if changed in ("x", "y", "turn", "at_x", "at_y"):
            self._move(changed)

    def check_values(self) -> None:
        """The option and the piece must be there; the fields show where it stands."""
        layouts = self.desk.home.layouts
        if self.values["layout"] not in layouts:
            self.values["layout"] = next(iter(layouts))
        pieces = layouts[self.values["layout"]].pieces
        if self.values["piece"] not in pieces:
            self.values["piece"] = next(iter(pieces), "")
        self.values.update(self._where(self.values["layout"], self.values["piece"]))

    def where(self) -> dict[str, str]:
        """The sheets are about the option that is drawn."""
        return {"layout": self.values["layout"]}

    def other(self, action: str, message: Mapping[str, Any]) -> bool:
        """Open an option, or keep what is drawn as one."""
        if action == "open":
            self.values["layout"] = str(message["option"])
        elif action == "option":
            self._keep_option()
        elif action == "propose":
            self._propose()
        else:
            return False
        return True

    def _propose(self) -> None:
        """Open the best of the layouts that are proposed for the same pieces."""
        ids, self.note = propose_on(self.desk, layout=self.values["layout"])
        if ids:
            self.values["layout"] = ids[0]

    def _keep_option(self) -> None:
        """What is drawn becomes an option of its own; the one it came from stays as it was."""
        desk = self.desk
        came_from = self.values["layout"]
        drawn: Layout = desk.home.layouts[came_from]
        id = desk.free_id("layouts")
        new = dataclasses.replace(drawn, name=f"{drawn.name}, changed", note="")
        desk.forget(f"layouts.{came_from}.")
        desk.add("layouts", id, new)
        self.note = f"Option {id.upper()} is in the project. {desk.keep()}"
        self.values["layout"] = id


def layout_options(project: str | None = None) -> Page:
    """The study "layout options" on a project.

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
    study = LayoutOptions(Desk(project))
    return Page(study.show, study.act)
