"""The study "take-off": how much to order, and the drawing that proves it."""

from __future__ import annotations

import dataclasses
import datetime
from collections.abc import Mapping
from typing import Any

from designkit import project as files
from designkit.analyses.of_brief import brief
from designkit.analyses.of_takeoff import KINDS, Subject, View, amounts, subjects
from designkit.analyses.of_takeoff_built import box_view, canvas_view
from designkit.analyses.of_takeoff_cloth import (
    UpholsteryView,
    drapery_view,
    leather_view,
    upholstery_view,
)
from designkit.analyses.of_takeoff_goods import rug_view, top_view
from designkit.analyses.of_takeoff_walls import (
    ceiling_view,
    mural_view,
    paint_view,
    wallcovering_view,
)
from designkit.analyses.pick import layout_id
from designkit.errors import InputError
from designkit.figures.cutting_parts import Proof, compose
from designkit.figures.cutting_views import proof_of
from designkit.figures.svg import to_svg
from designkit.model import Cutout, Drape, Home, Piece
from designkit.reference import all_rows
from designkit.schedule.dates import latest_orders
from designkit.studies.desk import Desk
from designkit.studies.page import Page
from designkit.studies.study import Study
from designkit.studies.takeoff_controls import (
    controls_for,
    cutouts_of,
    cutouts_text,
    faults_of,
    start_values,
    stock_of,
)
from designkit.studies.words import brief_items, source_of
from designkit.studies.writing import block_for, write_sheets
from designkit.takeoff.assemble import opening_name, paper_runs
from designkit.takeoff.covers import TRIES
from designkit.takeoff.drapery import fullness_band
from designkit.takeoff.lines import area_text, length_text, mass_text, run_text, system_of
from designkit.takeoff.tops import Material, material_of, top_of
from designkit.takeoff.upholstery import cut_list
from designkit.units import IMPERIAL

__all__ = ["TakeOff", "take_off"]

_DRAPE = ("heading", "fullness", "d_width", "d_repeat", "hem", "draw", "lining")
_FIELD = {"d_width": "cloth_width", "d_repeat": "repeat"}
_TOP = ("t_thick", "overhang", "radius", "cutouts")
# Orders tried for a cutting plan: at each control, and when asked to search longer.
_QUICK, _LONG = 300, 8000
_NUMBERS = {
    "drapery": "D-604",
    "upholstery": "D-605",
    "wallcovering": "D-606",
    "paint": "D-607",
    "rugs": "D-608",
    "glass and stone": "D-610",
    "ceilings": "D-609",
    "canvas": "D-611",
    "floor boxes": "D-612",
}


class TakeOff(Study):
    """Which thing is taken off, and what is tried on it.

    Parameters
    ----------
    desk : Desk
        The project that the study works on.
    """

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.subjects: list[Subject] = []
        self.longer = False  # whether the plan on the page was searched for longer
        self.cutouts: tuple[Cutout, ...] = ()  # of the project, as the field shows them
        self.quick = False  # whether something is tried: a plan is then searched quickly
        self._find()
        first = self.subjects[0]
        self.values = {"kind": first.kind, "thing": first.id, **start_values(desk.home)}
        self._to_thing()
        self.check_values()
        self.note = self.note or (
            "What is tried here stays on this page; heading, fullness, cloth, hem and lining of "
            "drapery, and what is changed on a glass or stone top of the project, go into it with "
            "Keep."
        )

    def _find(self) -> None:
        home = self.desk.home
        if not home.layouts:
            raise InputError(
                "layouts", given="none", allowed="one or more", mend="draw a layout first"
            )
        self.layout = layout_id(home, "")
        self.subjects = list(subjects(self.desk.project, layout=self.layout))
        if not self.subjects:
            raise InputError(
                "rooms", given="none", allowed="one or more", mend="measure a room first"
            )

    def _of_kind(self) -> list[Subject]:
        return [s for s in self.subjects if s.kind == self.values["kind"]]

    def _drape(self) -> Drape:
        return self.desk.home.layouts[self.layout].drapes[self.values["thing"]]

    def _piece(self) -> Piece:
        return self.desk.home.pieces[self.values["thing"]]

    def _own_top(self) -> Material | None:
        """What the chosen top of the project is made of; None where one is only tried."""
        return material_of(self._piece()) if self.values["kind"] == "glass and stone" else None

    # --- what the controls do ----------------------------------------------------

    def check_values(self) -> None:
        """The thing must be there; drapery shows what the project holds."""
        self._find()
        kinds = {s.kind for s in self.subjects}
        if self.values["kind"] not in kinds:
            self.values["kind"] = self.subjects[0].kind
        if self.values["thing"] not in [s.id for s in self._of_kind()]:
            self.values["thing"] = self._of_kind()[0].id
            self._to_thing()
        if self.values["kind"] == "drapery":
            drape, rules = self._drape(), self.desk.home.rules
            low, high = fullness_band(drape.heading, overrides=rules)
            lining = self.values["lining"]
            self.values |= {
                "heading": drape.heading,
                "fullness": (low + high) / 2 if drape.fullness is None else drape.fullness,
                "d_width": drape.cloth_width,
                "d_repeat": drape.repeat,
                "hem": drape.hem,
                "draw": drape.draw,
                "lining": "none" if not drape.lined else ("lined" if lining == "none" else lining),
            }
        elif own := self._own_top():
            self.values |= {
                "stuff": own,
                "t_thick": self._piece().size[2],
                "overhang": self._piece().overhang,
                "radius": self._piece().radius,
            }
            if self.cutouts != self._piece().cutouts:  # what is half typed stays
                self.cutouts = self._piece().cutouts
                self.values["cutouts"] = cutouts_text(self.cutouts, home=self.desk.home)

    def _to_thing(self) -> None:
        """Another thing is chosen: begin with what the project says of it."""
        home, kind, id = self.desk.home, self.values["kind"], self.values["thing"]
        if kind == "upholstery":
            view = leather_view(self.desk.project, piece=id, layout=self.layout)
            finish = home.finishes.get(home.pieces[id].finish)
            self.values["u_count"] = view.count
            self.values["u_seats"] = max(1, view.seats // max(1, view.count))
            leather = finish is not None and finish.kind == "leather"
            self.values["material"] = "leather" if leather else "cloth"
        elif kind == "wallcovering":
            self.values["w_start"] = str(self._walls()[0])
            self.values["m_wall"] = "all"
        elif kind == "rugs":
            width, depth, thick = home.pieces[id].size
            self.values |= {"r_width": width, "r_depth": depth, "r_thick": thick}
        elif kind == "glass and stone":
            tried = start_values(home)
            self.values |= {key: tried[key] for key in ("stuff", *_TOP)}
            self.cutouts = ()
            self.values["t_count"] = top_view(
                self.desk.project, piece=id, layout=self.layout
            ).result.count
            self.check_values()
        elif kind == "canvas":
            made = canvas_view(self.desk.project, piece=id, layout=self.layout).result
            self.values |= {"c_depth": made.bar_depth, "c_count": made.count}

    def _walls(self) -> list[int]:
        what, home = self.values["thing"], self.desk.home
        if what.startswith("room "):
            return list(range(len(home.rooms[what.removeprefix("room ")].outline)))
        return [face.wall for run in paper_runs(home, what) for face in run.faces if face.wall >= 0]

    def _closed(self) -> bool:
        what = self.values["thing"]
        return what.startswith("room ") or any(r.closed for r in paper_runs(self.desk.home, what))

    def choose(self, changed: str) -> None:
        """Take in a control that moved."""
        values = self.values
        self.longer = False
        self.quick = changed not in ("kind", "thing")
        if changed == "kind":
            values["thing"] = self._of_kind()[0].id
            self._to_thing()
        elif changed == "thing":
            self._to_thing()
        elif changed in _DRAPE and values["kind"] == "drapery":
            self._change_drape(changed)
        elif changed in _TOP and self._own_top():
            self._change_top()
        elif changed == "w_match" and values["w_match"] != "free" and not values["w_repeat"]:
            values["w_repeat"] = values["w_width"]  # nothing would have to match
        elif changed == "w_repeat":
            if values["w_repeat"] and values["w_match"] == "free":
                values["w_match"] = "straight"
            elif not values["w_repeat"]:
                values["w_match"] = "free"
        elif changed == "w_width":
            values["w_first"] = min(values["w_first"], values["w_width"])
        elif changed == "stuff":
            thick = all_rows()[f"takeoff.top.thickness.{values['stuff']}"]
            values["t_thick"] = float(thick.value)

    def _change_drape(self, changed: str) -> None:
        """Drapery is drawn in the layout: what changes goes into the project."""
        home, drape = self.desk.home, self._drape()
        new: dict[str, Any] = {_FIELD.get(changed, changed): self.values[changed]}
        if changed == "lining":
            new = {"lined": self.values["lining"] != "none"}
        elif changed == "heading":
            new["fullness"] = None  # each heading has its own
        elif changed in ("fullness", "d_width", "d_repeat"):
            new = {key: round(float(v), 6) for key, v in new.items()}
        layout = home.layouts[self.layout]
        drapes = {**layout.drapes, self.values["thing"]: dataclasses.replace(drape, **new)}
        layouts = {**home.layouts, self.layout: dataclasses.replace(layout, drapes=drapes)}
        self._write(dataclasses.replace(home, layouts=layouts))

    def _change_top(self) -> None:
        """A top of the project: what changes goes into it, if it can be made so."""
        home, piece, v = self.desk.home, self._piece(), self.values
        new = dataclasses.replace(
            piece,
            size=(*piece.size[:2], round(float(v["t_thick"]), 6)),
            overhang=round(float(v["overhang"]), 6),
            radius=round(float(v["radius"]), 6),
            cutouts=cutouts_of(str(v["cutouts"]), home=home),
        )
        top_of(new, system=system_of(home.units), overrides=home.rules)  # says what is wrong
        self.cutouts = new.cutouts
        self._write(dataclasses.replace(home, pieces={**home.pieces, v["thing"]: new}))

    def _write(self, home: Home) -> None:
        project = dataclasses.replace(self.desk.project, home=home)
        self.desk.do(files.changes_between(self.desk.project, project), merge=True)

    # --- what is shown -----------------------------------------------------------

    def view(self) -> View:
        """What is chosen, worked out.

        Returns
        -------
        View
            Of `designkit.analyses.of_takeoff`.
        """
        project, v = self.desk.project, self.values
        id = v["thing"]
        if v["kind"] == "drapery":
            return drapery_view(
                project,
                drape=id,
                layout=self.layout,
                shrinkage=float(v["shrinkage"]),
                way=None if v["way"] == "best" else v["way"],
                rounding=None if v["rounding"] == "best" else v["rounding"],
                interlined=v["lining"] == "lined and interlined",
            )
        if v["kind"] == "upholstery":
            common: dict[str, Any] = {
                "piece": id,
                "layout": self.layout,
                "count": int(v["u_count"]),
                "seats": int(v["u_seats"]),
            }
            if v["material"] == "leather":
                return leather_view(
                    project, usable=float(v["usable"]), hide=float(v["hide"]), **common
                )
            # As drawn with as many tries as the sheets, so that both say one number. A
            # longer search is another one: it may end worse, and then does not count.
            tries = [_QUICK if self.quick else TRIES, *([TRIES, _LONG] if self.longer else [])]
            plans = [self._cut(number, common) for number in tries]
            return min(plans, key=lambda plan: plan.result.cut)
        if v["kind"] == "wallcovering":
            if v["hang"] == "mural":
                return mural_view(
                    project,
                    what=id,
                    wall=None if v["m_wall"] == "all" else int(v["m_wall"]),
                    panel_width=float(v["m_panel"]),
                    bleed=float(v["m_bleed"]),
                )
            return wallcovering_view(
                project,
                what=id,
                width=float(v["w_width"]),
                length=float(v["w_length"]),
                repeat=float(v["w_repeat"]),
                match=v["w_match"],
                start=int(v["w_start"]),
                first=float(v["w_first"]),
                spare=int(v["w_spare"]),
                cautious=v["w_begin"] == "in mid-pattern",
            )
        if v["kind"] == "paint":
            return paint_view(
                project,
                finish=id,
                coats=int(v["coats"]),
                spreading_rate=float(v["rate"]),
                waste=float(v["p_waste"]),
                primer=v["primer"] == "yes",
            )
        if v["kind"] == "rugs":
            sewn = v["made"] == "sewn from stock"
            return rug_view(
                project,
                rug=id,
                layout=self.layout,
                use=v["use"],
                width=float(v["r_width"]),
                depth=float(v["r_depth"]),
                stock=stock_of(str(v["stock"]), home=self.desk.home) if sewn else (),
                thickness=float(v["r_thick"]),
                pad=float(v["r_pad"]),
                door=v["r_door"],
                undercut=float(v["r_undercut"]),
            )
        if v["kind"] == "glass and stone":
            if self._own_top():
                return top_view(project, piece=id, count=int(v["t_count"]))
            return top_view(
                project,
                piece=id,
                material=v["stuff"],
                thickness=float(v["t_thick"]),
                overhang=float(v["overhang"]),
                radius=float(v["radius"]),
                cutouts=cutouts_of(str(v["cutouts"]), home=self.desk.home),
                count=int(v["t_count"]),
            )
        if v["kind"] == "canvas":
            return canvas_view(
                project,
                piece=id,
                layout=self.layout,
                bar_depth=float(v["c_depth"]),
                turn=float(v["c_turn"]),
                roll=float(v["c_roll"]),
                count=int(v["c_count"]),
            )
        if v["kind"] == "floor boxes":
            return box_view(
                project,
                room=id,
                layout=self.layout,
                seats=v["b_seats"] == "yes",
                cord=float(v["b_cord"]),
                build_up=float(v["b_depth"]) if v["b_known"] == "measured" else None,
                lid=str(v["lid"]),
            )
        return ceiling_view(project, workers=int(v["workers"]))

    def _cut(self, tries: int, common: Mapping[str, Any]) -> UpholsteryView:
        v = self.values
        return upholstery_view(
            self.desk.project,
            cloth_width=float(v["u_width"]),
            repeats=(float(v["u_along"]), float(v["u_across"])),
            railroaded=v["u_way"] == "railroaded",
            faults=faults_of(str(v["faults"]), home=self.desk.home),
            own=v["material"] == "own cloth",
            tries=tries,
            **common,
        )

    def controls(self) -> list[dict[str, Any]]:
        """What is taken off, then what changes it."""
        home, kind = self.desk.home, self.values["kind"]
        kinds = [k for k in KINDS if any(s.kind == k for s in self.subjects)]
        lists: dict[str, Any] = {}
        if kind == "wallcovering":
            lists = {"walls": self._walls(), "closed": self._closed()}
        elif kind == "upholstery":
            panels = cut_list(home.pieces[self.values["thing"]], overrides=home.rules)
            lists = {"cushions": any("cushion" in p.name for p in panels)}
        elif kind == "rugs":
            lists = {
                "doors": [
                    [o, opening_name(home, o)]
                    for o, it in home.openings.items()
                    if it.kind in ("door", "balcony")
                ]
            }
        elif kind == "glass and stone":
            lists = {"own": self._own_top()}
        elif kind == "floor boxes":
            lists = {"lids": [f.name for f in home.finishes.values() if f.kind == "metal"]}
        return [
            {
                "kind": "words",
                "id": "kind",
                "label": "Take off",
                "choices": [[k, k] for k in kinds],
            },
            {
                "kind": "choose",
                "id": "thing",
                "label": "Which",
                "choices": [
                    [s.id, s.name if s.drawn else f"{s.name} (tried)"] for s in self._of_kind()
                ],
            },
            *controls_for(kind, home, {**self.values, **lists}),
        ]

    def _tables(self, view: View) -> list[dict[str, Any]]:
        found = amounts(view, rules=self.desk.home.rules)
        work = self.values["kind"] == "ceilings"
        rows: list[list[Any]] = [["net need", *found.need]]
        if not work:
            waste = f"{found.waste * 100:.0f} %"
            rows.append(["waste, of the order", waste, waste])
            rows.append(["to order", [[found.order[0]]], [[found.order[1]]]])
        return [
            {
                "title": "In both systems of units",
                "note": "rounded up to what is sold in each" if not work else "",
                "head": ["", "metric", "US"],
                "align": ["", "r", "r"],
                "rows": rows,
            }
        ]

    def _working(self, view: View) -> list[list[str]]:
        results = [view.result] if hasattr(view, "result") else []
        if hasattr(view, "works"):
            results = [work for _, work in view.works]
        parts: list[Any] = [*results, getattr(view, "needs", None), getattr(view, "own", None)]
        found = []
        seen: set[str] = set()
        for part in parts:
            for why in getattr(part, "why", ()):
                found.append(["", why, ""])
            for rule in getattr(part, "rules", ()):
                row = all_rows().get(rule)
                if row is not None and rule not in seen:
                    seen.add(rule)
                    said = self._said_value(float(row.value), row.unit)
                    found.append([row.name, said, source_of(rule)])
        return found

    def _said_value(self, number: float, unit: str) -> str:
        """A value of the reference tables in the words of the place."""
        system = system_of(self.desk.home.units)
        said = {"m": length_text, "m²": area_text, "kg": mass_text}.get(unit)
        return said(number, system) if said else f"{number:g} {unit}".strip()

    def draw(self, *, cards: bool = False) -> dict[str, Any]:
        """Everything that the page shows now."""
        view = self.view()
        proof = proof_of(view, page=True)
        drawing = compose(proof, page=True)
        controls = self.controls()
        return {
            "picture": to_svg(drawing),
            "controls": controls,
            "values": dict(self.values),
            "said": lambda: self._said(view, proof),
        }

    def _said(self, view: View, proof: Proof) -> dict[str, Any]:
        home = self.desk.home
        orders: Any = ()
        if home.brief.date:
            orders = latest_orders(self.desk.project, today=datetime.date.today())
        lines = brief(self.desk.project, orders=orders, kinds=("date",))
        return {
            "where": f"{home.name}, {home.layouts[self.layout].name}",
            "question": proof.question,
            "answer": proof.answer,
            "brief": brief_items(lines),
            "findings": {
                "title": "Before ordering",
                "rows": [
                    {"n": "", "state": "caution", "text": words, "source": ""}
                    for words in proof.order.cautions
                ],
                "none": "Nothing to watch.",
            },
            "tables": self._tables(view),
            "working": self._working(view),
            "actions": self.actions(*self._search(view)),
            "note": self.note,
        }

    def _search(self, view: View) -> list[dict[str, Any]]:
        """A button where a shorter plan might be found."""
        if not isinstance(view, UpholsteryView) or view.result.plan.proven:
            return []
        return [
            {
                "id": "longer",
                "text": "Search longer",
                "off": self.longer,
                "slow": "Searching for a shorter cutting plan …",
            }
        ]

    def other(self, action: str, message: Mapping[str, Any]) -> bool:
        """Search longer for a cutting plan."""
        if action != "longer":
            return False
        before = self.view()
        self.longer = True
        after = self.view()
        if isinstance(before, UpholsteryView) and isinstance(after, UpholsteryView):
            saved = before.result.cut - after.result.cut
            system = after.system
            self.note = (
                f"The plan is {run_text(saved, system)} shorter now."
                if saved > 1e-6
                else "No shorter plan was found."
            )
        return True

    def act(self, action: str, message: Mapping[str, Any]) -> dict[str, Any] | None:
        """As every study, but the sheet that is exported shows what is tried.

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
        if action != "export":
            return super().act(action, message)
        self.note = self._export()
        return self.draw(cards=True)

    def _export(self) -> str:
        kind = self.values["kind"]
        name = next(s.name for s in self._of_kind() if s.id == self.values["thing"])
        block = block_for(self.desk, title=f"Take-off, {name}", number=_NUMBERS[kind])
        paper = "Tabloid" if self.desk.home.units in IMPERIAL else "A3"
        sheet = compose(proof_of(self.view()), block=block, paper=paper)
        return write_sheets(self.desk, [sheet], stem=f"take-off-{kind.replace(' ', '-')}")


def take_off(project: str | None = None) -> Page:
    """The study "take-off" on a project.

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
    study = TakeOff(Desk(project))
    return Page(study.show, study.act)
