"""The study "share of black": is black still an accent, by area and by view."""

from __future__ import annotations

import dataclasses
from typing import Any, Literal

from designkit.analyses.of_brief import brief, brief_sentence
from designkit.analyses.of_scheme import (
    LitScheme,
    Scheme,
    lit_schemes,
    scheme,
    scheme_edges,
    scheme_picture,
    scheme_viewpoints,
)
from designkit.errors import InputError, LookupFailed
from designkit.figures.balance import balance_figure
from designkit.figures.drawing import Drawing
from designkit.figures.item_words import swap_words
from designkit.figures.massing import finishes_view, lit_view
from designkit.figures.svg import to_svg
from designkit.model import Edit
from designkit.palette.finishes import Limits
from designkit.studies.desk import Desk
from designkit.studies.page import Page
from designkit.studies.study import Study
from designkit.studies.words import brief_items, finding_rows, source_of

__all__ = ["ShareOfBlack", "share_of_black"]

WORDS = (("black", "black"), ("dark", "dark"), ("mid", "mid"), ("light", "light"))


class ShareOfBlack(Study):
    """Which option, which piece in which finish, from where it is looked at.

    Parameters
    ----------
    desk : Desk
        The project that the study works on.
    """

    sheets = ("share-of-black", "finishes")

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        home = desk.home
        if not home.layouts:
            raise InputError(
                "layouts",
                given="none",
                allowed="one layout or more",
                mend="write one under [layouts] in project.toml",
            )
        self.values = {
            "layout": home.layout or next(iter(home.layouts)),
            "when": "day",
            "views": [],
            "piece": "",
            "finish": "",
            "drapes": "open",
            "lit": "no",
            "black": Limits.of(home.rules).black_lightness,
        }
        self.check_values()
        seats = [k for k in self._viewpoints() if "door" in k or k == "sofa" or "table" in k]
        self.values["views"] = seats[-3:]

    def _viewpoints(self) -> dict[str, Any]:
        return scheme_viewpoints(self.desk.project, layout=self.values["layout"])

    def check_values(self) -> None:
        """Option, piece and viewpoints must be there; the field shows the piece's finish."""
        home = self.desk.home
        if self.values["layout"] not in home.layouts:
            self.values["layout"] = next(iter(home.layouts))
        layout = home.layouts[self.values["layout"]]
        items = list(dict.fromkeys(p.item or k for k, p in layout.pieces.items()))
        if self.values["piece"] not in items:
            self.values["piece"] = items[0] if items else ""
        piece = home.pieces.get(self.values["piece"])
        self.values["finish"] = piece.finish if piece else ""
        states = {d.state for d in layout.drapes.values()}
        self.values["drapes"] = states.pop() if len(states) == 1 else "open"
        known = self._viewpoints()
        self.values["views"] = [v for v in self.values["views"] if v in known]

    def choose(self, changed: str) -> None:
        """Another finish on a piece, or the drapery drawn."""
        home = self.desk.home
        if changed == "finish":
            new = self.values["finish"]
            if new not in home.finishes:
                raise LookupFailed("finish", given=new, allowed=", ".join(home.finishes))
            piece = self.values["piece"]
            old = home.pieces[piece].finish
            self.desk.do(
                [Edit(path=f"pieces.{piece}.finish", old=old or None, new=new)], merge=True
            )
        elif changed == "drapes":
            path = f"layouts.{self.values['layout']}.drapes"
            drapes = home.layouts[self.values["layout"]].drapes
            self.desk.do(
                [
                    Edit(path=f"{path}.{k}.state", old=d.state, new=self.values["drapes"])
                    for k, d in drapes.items()
                ]
            )

    def controls(self) -> list[dict[str, Any]]:
        """The six controls and what is folded."""
        home = self.desk.home
        layout = home.layouts[self.values["layout"]]
        items = list(dict.fromkeys(p.item or k for k, p in layout.pieces.items()))
        controls: list[dict[str, Any]] = [
            {
                "kind": "words",
                "id": "layout",
                "label": "Option",
                "choices": [[k, chr(ord("A") + i)] for i, k in enumerate(home.layouts)],
            },
            {
                "kind": "checks",
                "id": "views",
                "label": "Look from",
                "choices": [[k, v.name] for k, v in self._viewpoints().items()],
            },
            {
                "kind": "choose",
                "id": "piece",
                "label": "Piece",
                "choices": [[k, home.pieces[k].name] for k in items],
            },
            {
                "kind": "choose",
                "id": "finish",
                "label": "In the finish",
                "choices": [[k, f.name] for k, f in home.finishes.items()],
            },
            {
                "kind": "words",
                "id": "when",
                "label": "When",
                "choices": [["day", "by day"], ["night", "after dark, bare glass is black"]],
            },
        ]
        if layout.drapes:
            controls.append(
                {
                    "kind": "words",
                    "id": "drapes",
                    "label": "Drapery",
                    "choices": [["open", "open"], ["part", "part"], ["closed", "closed"]],
                }
            )
        if layout.lamps:
            controls.append(
                {
                    "kind": "words",
                    "id": "lit",
                    "label": "Also as it is lit, from the same places",
                    "choices": [["no", "no"], ["yes", "yes, a few seconds the first time"]],
                    "more": True,
                }
            )
        controls.append(
            {
                "kind": "scale",
                "id": "black",
                "label": "Black is L* up to (chroma 6 or less)",
                "min": 15,
                "max": 35,
                "step": 1,
                "more": True,
            }
        )
        return controls

    def _schemes(self) -> list[Scheme]:
        night = self.values["when"] == "night"
        limits = Limits.of(
            {**self.desk.home.rules, "palette.black.lightness": float(self.values["black"])}
        )
        id = self.values["layout"]
        found = [scheme(self.desk.project, layout=id, night=night, limits=limits, pairs=False)]
        found += [
            scheme(
                self.desk.project,
                layout=id,
                viewpoint=view,
                night=night,
                limits=limits,
                pairs=False,
                rays=2000,
            )
            for view in self.values["views"][:5]
        ]
        return found

    def _lit(self) -> list[LitScheme]:
        """What is seen dark from the same places once it is lit."""
        # A figure holds eight columns: the area, the views, and these.
        views = self.values["views"][: min(3, 7 - len(self.values["views"][:5]))]
        lamps = self.desk.home.layouts[self.values["layout"]].lamps
        if self.values["lit"] != "yes" or not views or not lamps:
            return []
        time: Literal["evening", "day"] = "evening" if self.values["when"] == "night" else "day"
        return lit_schemes(
            self.desk.project,
            viewpoints=views,
            layout=self.values["layout"],
            when=(time,),
            folder=self.desk.folder,
            rays=2000,
        )

    def _pictures(self, schemes: list[Scheme]) -> list[Drawing | None]:
        """A small perspective for each view; none where nothing is looked from."""
        views = self.values["views"][:5]
        if not views:
            return []
        night = self.values["when"] == "night"
        found: list[Drawing | None] = [None]
        for view, way in zip(views, schemes[1:], strict=True):
            seen = scheme_picture(
                self.desk.project,
                layout=self.values["layout"],
                viewpoint=view,
                columns=240,
                rows=150,
            )
            found.append(finishes_view(seen, finishes=way.finishes, night=night))
        return found

    def draw(self, *, cards: bool = False) -> dict[str, Any]:
        """Everything that the page shows now."""
        home = self.desk.home
        schemes = self._schemes()
        area = schemes[0]
        lit = self._lit()
        pictures = self._pictures(schemes)
        if lit:
            pictures += [lit_view(way.lit.picture(columns=160, rows=100)) for way in lit]
        drawing = balance_figure([*schemes, *lit], home=home, page=True, pictures=pictures)
        lines = brief(self.desk.project, balance=area.balance, kinds=("black",))
        names = ["by area", *(s.viewpoint.name for s in schemes[1:] if s.viewpoint)]
        heads = [*names, *(f"lit, {way.viewpoint.name}" for way in lit)]
        shares_rows: list[list[Any]] = [
            [word, *(f"{s.balance.shares[key] * 100:.1f} %" for s in (*schemes, *lit))]
            for key, word in (*WORDS, ("warm", "warm"), ("patterned", "patterned"))
        ]
        swaps = [
            [
                swap_words(home, swap),
                f"{swap.share * 100:.1f} %",
                "meets the band" if swap.inside else "comes nearer",
            ]
            for s in schemes
            for swap in s.gap.swaps[:4]
        ]
        tables: list[dict[str, Any]] = [
            {
                "title": "Shares",
                "note": "definitions under “How is this worked out?”",
                "head": ["", *heads],
                "align": ["", *("r" for _ in heads)],
                "rows": shares_rows,
            }
        ]
        if swaps:
            tables.append(
                {
                    "title": "What would close the gap",
                    "note": "least change first",
                    "head": ["another finish", "share of black", ""],
                    "align": ["", "r", ""],
                    "rows": swaps,
                }
            )
        tables.append(
            {
                "title": "Finishes that meet",
                "note": "strongest edge first",
                "head": ["", "and", "ΔL*", "ΔLRV", ""],
                "align": ["", "", "r", "r", ""],
                "rows": [
                    [
                        home.finishes[e.meeting.finish_a].name,
                        home.finishes[e.meeting.finish_b].name,
                        " / ".join(f"{v:.0f}" for v in e.contrast.lightness),
                        f"{e.contrast.lrv:.0f}",
                        e.called if e.sure else f"{e.called}, within the ±",
                    ]
                    for e in _first_of_each(scheme_edges(home, layout=self.values["layout"]))
                ],
            }
        )
        findings = [
            *(
                dataclasses.replace(s.finding, what=f"Share of black {name}")
                for name, s in zip(names, schemes, strict=True)
            ),
            *area.findings,
        ]
        working = [
            [name, s.balance.why, source_of(s.finding.rule)]
            for name, s in zip(names, schemes, strict=True)
        ]
        working.append(["definitions", area.balance.definitions, "our assumptions, editable"])
        working += [
            [s.limit, f"black would be {s.share * 100:.1f} %", "sensitivity"]
            for s in area.balance.sensitivity
            if s.of == "black"
        ]
        for way in lit[:1]:
            working += [["seen lightness", way.lit.view.rule, source_of("light.seen.white")]]
            working += [
                [rule.words, f"seen black {rule.black * 100:.1f} %", "sensitivity"]
                for rule in way.lit.view.sensitivity
            ]
        share = area.balance.shares["black"]
        low, high = area.band
        inside = "inside" if low <= share <= high else ("above" if share > high else "below")
        answer = (
            f"By area black is {share * 100:.0f} %, {inside} the band of "
            f"{low * 100:.0f} to {high * 100:.0f} %, a studio's judgement. {brief_sentence(lines)}."
        )
        return {
            "picture": to_svg(drawing),
            "controls": self.controls(),
            "values": dict(self.values),
            "said": lambda: {
                "where": home.name,
                "question": "Is black still an accent?",
                "answer": answer,
                "brief": brief_items(lines),
                "findings": {
                    "title": "What the scheme says",
                    "rows": finding_rows(findings, home=home),
                    "none": "",
                },
                "tables": tables,
                "working": working,
                "actions": self.actions(),
                "note": self.note,
            },
        }

    def where(self) -> dict[str, str]:
        """The sheets are about the option that is drawn."""
        return {"layout": self.values["layout"]}


def _first_of_each(found: Any, count: int = 14) -> list[Any]:
    """Each pair of finishes once, where its edge is strongest."""
    seen: dict[frozenset[str], Any] = {}
    for edge in found:
        key = frozenset((edge.meeting.finish_a, edge.meeting.finish_b))
        if len(key) == 2:
            seen.setdefault(key, edge)
    return list(seen.values())[:count]


def share_of_black(project: str | None = None) -> Page:
    """The study "share of black" on a project.

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
    study = ShareOfBlack(Desk(project))
    return Page(study.show, study.act)
