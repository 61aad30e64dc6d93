"""The study "light": is there light where it is needed, and does the wiring carry it."""

from __future__ import annotations

from typing import Any

from designkit.analyses.of_brief import brief, brief_sentence
from designkit.analyses.of_light import light as analyse
from designkit.analyses.of_light import photometry_of
from designkit.errors import InputError
from designkit.figures.ceiling import ceiling_plan, light_answer, light_findings
from designkit.figures.svg import to_svg
from designkit.lighting.quick import LightResult
from designkit.model import Edit
from designkit.studies.desk import Desk
from designkit.studies.page import Page
from designkit.studies.study import Study
from designkit.studies.words import brief_items, finding_rows, source_of
from designkit.units import in_sentence

__all__ = ["Light", "light"]

SHOW = [
    ("isolux", "isolux lines"),
    ("switching", "switching"),
    ("furniture", "furniture"),
    ("dimensions", "dimensions"),
]


class Light(Study):
    """Which lamps burn, how far they are dimmed, who reads.

    Parameters
    ----------
    desk : Desk
        The project that the study works on.
    """

    sheets = ("light",)

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
        ages = [p.age for p in home.brief.people if p.age is not None]
        self.values = {
            "layout": home.layout or next(iter(home.layouts)),
            "show": ["isolux", "furniture", "switching"],
            "dim": 100,
            "age": max(ages, default=40),
            "plane": 0.75,
            "lamp": "",
            "lumens": 0.0,
        }
        self.check_values()

    def check_values(self) -> None:
        """The option and the lamp must be there; the field shows the lamp's lumens."""
        home = self.desk.home
        if self.values["layout"] not in home.layouts:
            self.values["layout"] = next(iter(home.layouts))
        lamps = home.layouts[self.values["layout"]].lamps
        if self.values["lamp"] not in lamps:
            self.values["lamp"] = next(iter(lamps), "")
        lamp = lamps.get(self.values["lamp"])
        fixture = home.fixtures.get(lamp.fixture) if lamp else None
        self.values["lumens"] = float(fixture.lumens or 0) if fixture else 0.0

    def choose(self, changed: str) -> None:
        """Another lamp in the fixture."""
        if changed != "lumens":
            return
        home = self.desk.home
        lamp = home.layouts[self.values["layout"]].lamps[self.values["lamp"]]
        fixture = home.fixtures[lamp.fixture]
        if fixture.lumens is None:
            raise InputError(
                fixture.name,
                given="a photometric file",
                allowed="a fixture whose lamps are stated in lumens",
                mend="change the file, or state lamps and lumens in project.toml",
            )
        self.desk.do(
            [
                Edit(
                    path=f"fixtures.{lamp.fixture}.lumens",
                    old=fixture.lumens,
                    new=int(self.values["lumens"]),
                )
            ],
            merge=True,
        )

    def controls(self) -> list[dict[str, Any]]:
        """The six controls and what is folded."""
        home = self.desk.home
        lamps = home.layouts[self.values["layout"]].lamps
        return [
            {
                "kind": "words",
                "id": "layout",
                "label": "Option",
                "choices": [[k, chr(ord("A") + i)] for i, k in enumerate(home.layouts)],
            },
            {"kind": "checks", "id": "show", "label": "Show", "choices": [list(c) for c in SHOW]},
            {
                "kind": "scale",
                "id": "dim",
                "label": "Dimmers set to",
                "min": 10,
                "max": 100,
                "step": 5,
                "unit": "%",
            },
            {
                "kind": "scale",
                "id": "age",
                "label": "Age of the reader",
                "min": 20,
                "max": 90,
                "step": 1,
                "unit": "years",
            },
            {
                "kind": "choose",
                "id": "lamp",
                "label": "Try another lamp in",
                "choices": [[k, home.fixtures[v.fixture].name] for k, v in lamps.items()],
            },
            {
                "kind": "scale",
                "id": "lumens",
                "label": "Its light, each lamp",
                "min": 100,
                "max": 3000,
                "step": 10,
                "unit": "lm",
                "group": ",",
            },
            {
                "kind": "words",
                "id": "plane",
                "label": "Isolux lines at",
                "choices": [[p, in_sentence(p, units=home.units)] for p in (0.0, 0.45, 0.75)],
                "more": True,
            },
        ]

    def _tables(self, result: LightResult) -> list[dict[str, Any]]:
        found = []
        for row in result.rows:
            low, high = row.wanted.low, row.wanted.high
            wanted = "no target" if low is None else f"{low:.0f} lx"
            if low is not None and high is not None and high > low:
                wanted = f"{low:.0f} to {high:.0f} lx"
            found.append(
                [
                    row.name,
                    [[f"{row.full:.0f} lx"]],
                    f"{row.dimmed:.0f} lx",
                    wanted,
                    row.verdict or "",
                    f"{row.short:,.0f} lm" if row.short > 0 else "",
                ]
            )
        lamps = [
            [
                lamp.name,
                lamp.layer,
                str(lamp.lamps),
                "file" if lamp.lumens is None else f"{lamp.lumens:,.0f} lm",
                f"{lamp.watts:g} W",
                "" if lamp.kelvin is None else f"{lamp.kelvin:g} K",
                "" if lamp.cri is None else f"{lamp.cri:g}",
            ]
            for lamp in result.lamps
        ]
        circuits = [
            [
                row.name,
                f"{row.watts + row.existing:,.0f} W",
                f"{row.limit:,.0f} W",
                row.verdict,
            ]
            for row in result.circuits
        ]
        tables = [
            {
                "title": "Light found",
                "note": "full, and dimmed as set above",
                "head": ["place", "full", "dimmed", "wanted", "", "missing"],
                "align": ["", "r", "r", "r", "", "r"],
                "rows": found,
            },
            {
                "title": "Luminaires",
                "note": "lumens after the shade",
                "head": ["kind", "layer", "lamps", "light", "power", "colour", "CRI"],
                "align": ["", "", "r", "r", "r", "r", "r"],
                "rows": lamps,
            },
        ]
        if circuits:
            tables.append(
                {
                    "title": "Circuits",
                    "note": "a licensed electrician checks and does the work",
                    "head": ["circuit", "load", "continuous load allowed", ""],
                    "align": ["", "r", "r", ""],
                    "rows": circuits,
                }
            )
        return tables

    def draw(self, *, cards: bool = False) -> dict[str, Any]:
        """Everything that the page shows now."""
        home = self.desk.home
        id = self.values["layout"]
        result = analyse(
            home,
            layout=id,
            folder=self.desk.folder,
            dim=float(self.values["dim"]) / 100,
            age=float(self.values["age"]),
        )
        drawing = ceiling_plan(
            home,
            home.layouts[id],
            light=result,
            page=True,
            dimmed=float(self.values["dim"]) < 100,
            show=[*self.values["show"], "names", "findings"],
            plane=float(self.values["plane"]),
            photometry=photometry_of(home, self.desk.folder),
        )
        lines = brief(self.desk.project, light=result, kinds=("light",))
        failing = light_findings(result)
        working = [[row.name, row.why, source_of(row.wanted.rule)] for row in result.rows]
        working += [["method", text, "this study"] for text in result.method]
        return {
            "picture": to_svg(drawing),
            "controls": self.controls(),
            "values": dict(self.values),
            "said": lambda: {
                "where": home.name,
                "question": "Is there light where it is needed?",
                "answer": f"{light_answer(result)} {brief_sentence(lines)}.",
                "brief": brief_items(lines),
                "findings": {
                    "title": "What the light says",
                    "rows": finding_rows(failing, home=home, numbered=failing),
                    "none": "Nothing is short, and nothing has to be measured first.",
                },
                "tables": self._tables(result),
                "working": working,
                "actions": self.actions(),
                "note": " ".join([self.note, *result.cautions]).strip(),
            },
        }

    def where(self) -> dict[str, str]:
        """The sheet is about the option that is drawn."""
        return {"layout": self.values["layout"]}


def light(project: str | None = None) -> Page:
    """The study "light" on a project.

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
    study = Light(Desk(project))
    return Page(study.show, study.act)
