"""The page "learn": where does this number come from?"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping
from typing import Any

from designkit import project as files
from designkit.errors import DesignkitError
from designkit.figures.learning import LESSONS, lesson_drawing, lesson_of
from designkit.figures.svg import to_svg
from designkit.model import Home
from designkit.reference import Row, all_rows
from designkit.studies.desk import project_near
from designkit.studies.page import Page
from designkit.units import IMPERIAL, NBSP, convert, grouped, in_sentence

__all__ = ["Learn", "learn", "value_text"]

SUBJECTS = (
    ("plan", "plan"),
    ("light", "light"),
    ("colour", "colour"),
    ("black", "black"),
    ("cost", "cost"),
    ("take-off", "take-off"),
    ("time", "time"),
    ("all", "all"),
)
OWN = "own"  # subject: what the project that is open has changed
OF = {"lighting": "light", "costs": "cost", "takeoff": "take-off", "schedule": "time"}
HOW = {
    "seen": "seen in the source",
    "second-hand": "quoted by another text",
    "memory": "from memory, not looked up",
    "computed": "worked out here",
    "assumption": "our assumption",
}
KINDS = {
    "standard": "a standard says so",
    "handbook": "a handbook says so",
    "common practice": "common practice",
    "assumption": "an assumption of ours",
    "taught only": "taught, and not judged by",
}
MOST = 40  # rows that are shown at once
# Words that make a number under one a share, said in percent.
SHARES = re.compile(
    r"share|waste|contingency|how far|± of|daylight factor|reflectance of|paint left|estimate class"
)
BLACK = re.compile(r"black|band|dark\b|\.dark|\.light\.lightness|\.view\.|\.night\.|eye\.")
FEET_A_METRE = 1 / 0.3048
SQ_FEET = FEET_A_METRE**2  # in a square metre
FOOTCANDLE = SQ_FEET  # lx: one lumen a square foot


def subject_of(row: Row) -> str:
    """The subject under which a student looks for a rule.

    Parameters
    ----------
    row : Row
        Of the reference tables.

    Returns
    -------
    str
        One of the subjects of the page.
    """
    if row.subject == "palette":
        return "black" if BLACK.search(row.id) else "colour"
    if row.id.startswith("light.swatch"):
        return "colour"
    return OF.get(row.subject, row.subject)


def _plain(number: float, places: int = 4) -> str:
    """A number without the zeros at its end; long ones grouped."""
    text = grouped(round(number, places), places=places)
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return text.replace("-", "−")


def value_text(row: Row, *, units: str = "m") -> str:
    """The value of a rule in the person's own units.

    Parameters
    ----------
    row : Row
        Of the reference tables.
    units : str, optional
        "m" or "ft".

    Returns
    -------
    str
        Number and unit, kept together.

    Examples
    --------
    >>> from designkit.reference import lookup
    >>> value_text(lookup("plan.route.main"), units="ft")
    '2\\'-11 7/16"'
    >>> value_text(lookup("takeoff.floor.waste.straight"))
    '5\\xa0%'
    """
    try:
        number = row.number
    except ValueError:
        return row.value
    feet = units in IMPERIAL
    unit = row.unit
    if unit == "m":
        return in_sentence(number, units=units)
    if unit in ("m²", "m³", "kg"):
        kind = {"m²": "area", "m³": "volume", "kg": "mass"}[unit]
        return in_sentence(number, kind=kind, units=units)
    if unit == "°":
        return f"{_plain(number)}°"
    if unit in ("", "1"):
        if 0 < abs(number) < 1 and SHARES.search(row.name):
            return f"{_plain(number * 100, 1)}{NBSP}%"
        return _plain(number)
    if feet:
        scaled = {
            "lx": (number / FOOTCANDLE, "fc"),
            "m²/L": (
                number * SQ_FEET / (convert(1.0, kind="volume", to="gal") / 1000),
                "sq ft a gallon",
            ),
            "h/m²": (number / SQ_FEET, "h a sq ft"),
            "kg/m²": (
                number * convert(1.0, kind="mass", to="lb") / SQ_FEET,
                "lb a sq ft",
            ),
            "kg/m³": (number * convert(1.0, kind="mass", to="lb") / FEET_A_METRE**3, "lb a cu ft"),
            "m/m": (number * 12, "in a foot"),
        }.get(unit)
        if scaled is not None:
            text = f"{_plain(scaled[0], 3 if scaled[0] < 1 else 1)}{NBSP}{scaled[1]}"
            return f"{text} ({_plain(number)}{NBSP}lx)" if unit == "lx" else text
    if unit == "m/m":
        return f"{_plain(number * 1000)}{NBSP}mm a metre"
    words = {
        "a": "years",
        "d": "days",
        "year": "",
        "currency": "of the project's currency",
        "currency/h": "of the project's currency an hour",
        "arcmin": "minute of arc",
        "h/m²": "h a m²",
        "kg/m²": "kg a m²",
        "kg/m³": "kg a m³",
        "m²/L": "m² a litre",
    }
    word = words.get(unit, unit)
    if unit == "year":
        return f"{number:.0f}"
    return f"{_plain(number)}{NBSP}{word}"


def source_words(row: Row) -> str:
    """The source in words; where there is none, that.

    Parameters
    ----------
    row : Row
        Of the reference tables.

    Returns
    -------
    str
        Without what the kind says already.
    """
    if "no source" in row.source or "no named source" in row.source:
        return "no published source"
    return row.source


def _searched(row: Row) -> str:
    """What is searched by words."""
    parts = (row.id, row.name, row.kind, row.source, row.locator, row.note)
    return " ".join(parts).casefold()


def place_words(row: Row) -> str:
    """Where in its source, or in the list of rules that ships, a rule stands.

    Parameters
    ----------
    row : Row
        Of the reference tables.

    Returns
    -------
    str
        "rule P01" for a row of that list.
    """
    return f"rule {row.locator}" if re.fullmatch(r"[A-Z]\d\d[a-z]?", row.locator) else row.locator


class Learn:
    """Which rules are listed, which one is explained, in which units.

    Parameters
    ----------
    home : Home, optional
        Of the project that is open: its own values stand first.
    note : str, optional
        What to tell the person.
    """

    def __init__(self, home: Home | None = None, *, note: str = "") -> None:
        self.home, self.note = home, note
        known = all_rows()
        rules = home.rules if home is not None else {}
        self.own = {id: float(number) for id, number in rules.items() if id in known}
        self.values: dict[str, Any] = {
            "subject": OWN if self.own else "plan",
            "words": "",
            "units": "ft" if home is not None and home.units in IMPERIAL else "m",
            "lesson": "routes",
        }
        self.rule = next(iter(self.own), "plan.route.main")
        self.values["lesson"] = lesson_of(self.rule)

    # --- what is found -------------------------------------------------------

    def _row(self, id: str) -> Row:
        """A rule with the value that holds in the project."""
        row = all_rows()[id]
        return dataclasses.replace(row, value=f"{self.own[id]:.12g}") if id in self.own else row

    def _shipped(self, id: str) -> str:
        """The value that ships, where the project has its own."""
        return value_text(all_rows()[id], units=self.values["units"])

    def _found(self, subject: str) -> list[Row]:
        words = str(self.values["words"]).casefold().split()
        return [
            self._row(row.id)
            for row in all_rows().values()
            if (subject in ("all", subject_of(row)) or (subject == OWN and row.id in self.own))
            and all(w in _searched(row) for w in words)
        ]

    def choose(self, changed: str) -> None:
        """Take in a control that moved.

        Parameters
        ----------
        changed : str
            Its id.
        """
        if changed == "lesson" and self.values["lesson"]:
            self.rule = LESSONS[self.values["lesson"]].rules[0]
            row = all_rows()[self.rule]
            self.values["subject"] = subject_of(row)
            self.values["words"] = ""
        elif changed in ("subject", "words"):
            rows = self._found(self.values["subject"])
            if rows and self.rule not in {row.id for row in rows}:
                drawn = (row.id for row in rows if lesson_of(row.id))
                self.rule = next(drawn, rows[0].id)
        self.values["lesson"] = lesson_of(self.rule)

    # --- what is shown -------------------------------------------------------

    def controls(self) -> list[dict[str, Any]]:
        """Subject, search, units, drawings."""
        return [
            {
                "kind": "words",
                "id": "subject",
                "label": "Subject",
                "choices": [
                    *([[OWN, "this project's own"]] if self.own else []),
                    *(list(s) for s in SUBJECTS),
                ],
            },
            {
                "kind": "field",
                "id": "words",
                "label": "Search by words",
                "hint": "as table, or sofa",
            },
            {
                "kind": "words",
                "id": "units",
                "label": "Values in",
                "choices": [["m", "metric"], ["ft", "feet and inches"]],
            },
            {
                "kind": "choose",
                "id": "lesson",
                "label": "Drawing",
                "choices": [
                    ["", "none for this rule"],
                    *([id, lesson.name] for id, lesson in LESSONS.items()),
                ],
            },
        ]

    def _answer(self, row: Row) -> list[Any]:
        value = value_text(row, units=self.values["units"])
        source = source_words(row)
        parts = [KINDS[row.kind]]
        if row.kind in ("standard", "handbook", "taught only") or source != "no published source":
            if source.split(",")[0].lower() not in ("assumption of the project", "designkit"):
                parts.append(source)
        else:
            parts.append(source)
        if row.known != "assumption":
            parts.append(HOW[row.known])
        if row.id in self.own:
            parts = [f"this project's own value; it ships as {self._shipped(row.id)}", *parts]
        said = "; ".join(parts)
        return [
            f"{row.name[:1].upper()}{row.name[1:]}: ",
            [value],
            f". {said[:1].upper()}{said[1:]}.",
        ]

    def _table(self, rows: list[Row]) -> dict[str, Any]:
        shown = rows[:MOST]
        if self.rule not in {row.id for row in shown}:
            asked = [row for row in rows if row.id == self.rule]
            shown = [*asked, *shown[: MOST - len(asked)]]
        note = f"{len(rows)} rules" if len(rows) == len(shown) else f"{len(shown)} of {len(rows)}"
        return {
            "id": "rules",
            "title": "Rules",
            "note": f"{note}; choose one to see more",
            "head": ["rule", "value", "kind", "source", "place in it", "how it is known"],
            "align": ["", "r", "", "", "", ""],
            "rows": [
                [
                    row.name,
                    [[value_text(row, units=self.values["units"])]],
                    row.kind,
                    f"this project; {source_words(row)} has {self._shipped(row.id)}"
                    if row.id in self.own
                    else source_words(row),
                    place_words(row),
                    HOW[row.known],
                ]
                for row in shown
            ],
            "pick": [row.id for row in shown],
            "picked": self.rule,
        }

    def draw(self) -> dict[str, Any]:
        """Everything that the page shows now."""
        row = self._row(self.rule)
        rows = self._found(self.values["subject"])
        lesson = lesson_of(self.rule)
        picture = ""
        if lesson:
            drawing = lesson_drawing(lesson, units=self.values["units"], rule=self.rule)
            picture = to_svg(drawing)
        note = f"{self.note} {row.note}".strip()
        if lesson and self.own.keys() & {*LESSONS[lesson].rules}:
            note = f"The drawing has the values that ship. {note}".strip()
        if not rows:
            else_where = len(self._found("all"))
            note = f"No rule holds all these words in {self.values['subject']}. " + (
                f"There are {else_where} under all." if else_where else "Use fewer words."
            )
        working = [
            ["id", self.rule, "as in [rules] of project.toml"],
            ["value", value_text(row, units="m"), "metric"],
            ["", value_text(row, units="ft"), "feet and inches"],
            ["kind", KINDS[row.kind], row.kind],
            ["source", source_words(row), place_words(row)],
            ["how it is known", HOW[row.known], ""],
        ]
        if row.note:
            working.append(["note", row.note, ""])
        return {
            "picture": picture,
            "controls": self.controls(),
            "values": dict(self.values),
            "said": {
                "where": f"{self.home.name if self.home is not None else 'designkit'} · learn",
                "question": LESSONS[lesson].question
                if lesson
                else "Where does this number come from?",
                "answer": self._answer(row),
                "brief": [],
                "findings": None,
                "tables": [self._table(rows)] if rows else [],
                "working": working,
                "actions": [],
                "note": note,
            },
        }

    def show(self, values: Mapping[str, Any], changed: str | None) -> dict[str, Any]:
        """Answer a control; None at the start.

        Parameters
        ----------
        values : mapping of str to Any
            Of all controls.
        changed : str or None
            Id of the control.

        Returns
        -------
        dict of str to Any
            For the page.
        """
        if changed is not None:
            self.values.update(values)
            self.choose(changed)
        return self.draw()

    def act(self, action: str, message: Mapping[str, Any]) -> dict[str, Any] | None:
        """Answer a rule that was picked.

        Parameters
        ----------
        action : str
            "pick".
        message : mapping of str to Any
            With the id of the rule as "row".

        Returns
        -------
        dict of str to Any or None
            For the page; None where nothing has changed.
        """
        id = str(message.get("row", ""))
        if action != "pick" or id not in all_rows():
            return None
        self.rule = id
        self.values["lesson"] = lesson_of(id)
        return self.draw()


def learn(project: str | None = None) -> Page:
    """The page "learn".

    Parameters
    ----------
    project : path, optional
        A project folder; else the one that `designkit lab` opened, or the one
        around the notebook. Its own values stand first. Without one, those
        that ship.

    Returns
    -------
    Page
        Shown by the notebook as the cell's value.
    """
    home, note = None, ""
    try:
        folder = project_near(project)
        home = files.read(folder).project.home if folder is not None else None
    except DesignkitError as error:
        note = f"The project's own values are not shown, as it cannot be read: {error}."
    page = Learn(home, note=note)
    return Page(page.show, page.act)
