"""The study "swatches": the value of a finish by the ladder, or from a photograph beside a card."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

from designkit import project as files
from designkit.analyses.of_swatch import Flip, flips, with_colour
from designkit.errors import DesignkitError, InputError
from designkit.figures.drawing import Drawing
from designkit.figures.svg import to_svg
from designkit.figures.swatch_reading import ladder_figure, pixel_at, reading_figure
from designkit.model import Colour, Finish, Known
from designkit.palette.finishes import FinishValue, Limits, resolve
from designkit.palette.swatches import (
    Card,
    Photo,
    SwatchReading,
    ladder,
    read_photo,
    read_swatch,
)
from designkit.studies.desk import Desk
from designkit.studies.issuing import FILE_MOST, issue, paper_of, title_block
from designkit.studies.page import Page
from designkit.studies.photo_study import spot_of
from designkit.studies.study import Study
from designkit.studies.words import source_of
from designkit.units import NBSP

__all__ = ["Swatches", "swatches"]

CARDS: dict[str, Card] = {"paper": "white paper", "card": "grey card"}
RADIUS = 12.0


class Swatches(Study):
    """Which finish, how it is read, and what was read.

    Parameters
    ----------
    desk : Desk
        The project that the study works on.

    Raises
    ------
    InputError
        The project has no finish.
    """

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        if not desk.home.finishes:
            raise InputError(
                "finishes",
                given="none",
                allowed="one finish or more",
                mend="write one under [finishes] in project.toml",
            )
        self.photo: Photo | None = None
        self.reading: SwatchReading | None = None
        self.values = {
            "finish": next(iter(desk.home.finishes)),
            "part": "0",
            "way": "ladder",
            "step": 5.0,
            "card": "paper",
            "next": "swatch",
            "swatch_at": "",
            "card_at": "",
        }
        self._nearest_step()

    def _nearest_step(self) -> None:
        """The ladder stands at the value that the finish has now."""
        home = self.desk.home
        finish = resolve(home.finishes[self.values["finish"]], overrides=home.rules)
        now = finish.colours[self._part].lightness
        self.values["step"] = min(ladder(), key=lambda s: abs(s.lightness - now)).munsell_value

    def check_values(self) -> None:
        """The finish must be there."""
        if self.values["finish"] not in self.desk.home.finishes:
            self.values["finish"] = next(iter(self.desk.home.finishes))
        count = len(self.desk.home.finishes[self.values["finish"]].colours)
        if self._part >= count:
            self.values["part"] = "0"

    @property
    def _part(self) -> int:
        """Which of the finish's colours is read."""
        return int(self.values["part"])

    def choose(self, changed: str) -> None:
        """Another finish starts at its own value."""
        self.check_values()
        if changed in ("finish", "part"):
            self._nearest_step()

    def other(self, action: str, message: Mapping[str, Any]) -> bool:
        """Take in a photograph, a click, or the reading as the finish's value."""
        if action == "file":
            name = str(message.get("name", "photograph"))
            self.photo = read_photo(bytes(message["data"]), name=name)
            self.values.update(way="photo", next="swatch", swatch_at="", card_at="")
            self.note = f"{name}: {self.photo.size[0]} × {self.photo.size[1]} pixels, upright."
        elif action == "point":
            self._point(float(message["x"]), float(message["y"]))
        elif action == "use":
            self._use()
        elif action == "ladder":
            home = self.desk.home
            sheet = ladder_figure(
                ladder(),
                block=title_block(home, title="Value ladder", number="D-308"),
                paper=paper_of(home),
            )
            self.note = issue([sheet], name="value-ladder", folder=self.desk.folder)
        else:
            return False
        return True

    def _point(self, x: float, y: float) -> None:
        if self.photo is None or self.values["way"] != "photo":
            return
        at = pixel_at(self.photo, x=x, y=y)
        if at is None:
            self.note = "That is not on the photograph."
            return
        of = self.values["next"]
        before = self.values[f"{of}_at"]
        self.values[f"{of}_at"] = f"{at[0]:.0f}, {at[1]:.0f}"
        try:
            self._read()
        except InputError:
            self.values[f"{of}_at"] = before
            raise
        self.values["next"] = "card" if of == "swatch" else "swatch"
        self.note = ""

    def _read(self) -> SwatchReading | None:
        """The reading of the two clicks; None until both are there."""
        if self.photo is None or self.values["way"] != "photo":
            return None
        one = spot_of(str(self.values["swatch_at"]), what="swatch")
        two = spot_of(str(self.values["card_at"]), what="card")
        if one is None or two is None:
            return None
        card = CARDS[self.values["card"]]
        return read_swatch(self.photo, swatch=one, card=two, kind=card, radius=RADIUS)

    def _colour(self) -> Colour | None:
        if self.values["way"] == "ladder":
            return Colour(ladder=float(self.values["step"]))
        return None if self.reading is None else self.reading.as_colour()

    def _read_finish(self, colour: Colour) -> Finish:
        """The finish with what was read; by eye it is known no better than that."""
        made = with_colour(
            self.desk.home, finish=self.values["finish"], colour=colour, part=self._part
        )
        photo = self.values["way"] == "photo"
        return dataclasses.replace(made, known=Known(source="measured" if photo else "guess"))

    def _use(self) -> None:
        colour = self._colour()
        if colour is None:
            self.note = "Click the swatch and the card first."
            return
        home, id = self.desk.home, self.values["finish"]
        finish = self._read_finish(colour)
        new = dataclasses.replace(
            self.desk.project,
            home=dataclasses.replace(home, finishes={**home.finishes, id: finish}),
        )
        try:
            self.desk.do(files.changes_between(self.desk.project, new))
        except DesignkitError as error:
            raise InputError(f"finish {id}", given="the reading", allowed=str(error)) from error
        self.note = f"{finish.name} has the value that was read."

    # --- what is shown ---

    def controls(self) -> list[dict[str, Any]]:
        """The finish, the way of reading, and what that way needs."""
        home = self.desk.home
        colours = home.finishes[self.values["finish"]].colours
        controls: list[dict[str, Any]] = [
            {
                "kind": "choose",
                "id": "finish",
                "label": "Finish",
                "choices": [[k, f.name] for k, f in home.finishes.items()],
            },
            *(
                [
                    {
                        "kind": "words",
                        "id": "part",
                        "label": "Which of its colours",
                        "choices": [
                            [str(n), f"{n + 1}, {100 * c.share:.0f}{NBSP}%"]
                            for n, c in enumerate(colours)
                        ],
                    }
                ]
                if len(colours) > 1
                else []
            ),
            {
                "kind": "words",
                "id": "way",
                "label": "Read",
                "choices": [["ladder", "by the value ladder"], ["photo", "from a photograph"]],
            },
        ]
        if self.values["way"] == "ladder":
            controls.append(
                {
                    "kind": "scale",
                    "id": "step",
                    "label": "As light as the grey of Munsell value",
                    "min": 1,
                    "max": 9.5,
                    "step": 0.5,
                    "digits": 1,
                }
            )
            return controls
        return [
            *controls,
            {
                "kind": "file",
                "id": "photo",
                "label": "Photograph of the swatch",
                "accept": ".jpg,.jpeg,.png",
                "hint": "the cutting beside white paper or an 18 % card, in one light",
                "most": FILE_MOST,
            },
            {
                "kind": "words",
                "id": "card",
                "label": "Beside it lies",
                "choices": [["paper", "white paper"], ["card", "an 18 % card"]],
            },
            {
                "kind": "words",
                "id": "next",
                "label": "A click marks",
                "choices": [["swatch", "the swatch"], ["card", "the paper or card"]],
            },
            {
                "kind": "field",
                "id": "swatch_at",
                "label": "Swatch at column, row",
                "hint": "120, 45",
            },
            {"kind": "field", "id": "card_at", "label": "Paper or card at column, row"},
        ]

    def _drawing(self, value: FinishValue | None) -> Drawing:
        if self.values["way"] == "photo" and self.photo is not None:
            marks = [
                (words, at)
                for key, words in (("swatch_at", "swatch"), ("card_at", CARDS[self.values["card"]]))
                if (at := spot_of(str(self.values[key]), what=words)) is not None
            ]
            return reading_figure(
                self.photo,
                marks=marks,
                radius=RADIUS,
                value=value,
                parts=self.reading.parts if self.reading else (),
                name=self.photo.name,
            )
        chosen = float(self.values["step"]) if self.values["way"] == "ladder" else None
        return ladder_figure(ladder(), chosen=chosen, value=value, page=True)

    def draw(self, *, cards: bool = False) -> dict[str, Any]:
        """Everything that the page shows now."""
        home, id = self.desk.home, self.values["finish"]
        self.reading = self._read()
        colour = self._colour()
        value, found = None, ()
        if colour is not None:
            made = self._read_finish(colour)
            value = resolve(made, id=id, limits=Limits.of(home.rules), overrides=home.rules)
            if home.layouts:
                found = flips(home, finish=id, colour=colour, part=self._part)
        photo = self.values["way"] == "photo"
        point = ""
        if photo and self.photo is not None:
            name = "swatch" if self.values["next"] == "swatch" else CARDS[self.values["card"]]
            point = f"Click the {name}."
        return {
            "picture": to_svg(self._drawing(value)),
            "controls": self.controls(),
            "values": dict(self.values),
            "said": {
                "where": home.name,
                "question": "How light is this finish?",
                "answer": self._answer(value, found),
                "point": point,
                "brief": [],
                "findings": {
                    "title": "What the reading decides",
                    "rows": [*_warnings(self.reading), *(_row(f) for f in found)],
                    "none": "Nothing is read yet." if value is None else "",
                },
                "tables": [_table(value, home.finishes[id].name, self._now())] if value else [],
                "working": self._working(),
                "actions": self.actions(
                    {
                        "id": "use",
                        "text": "Use it for the finish",
                        "off": value is None,
                        "main": True,
                    },
                    {"id": "ladder", "text": "Print the ladder"},
                )[:-1],
                "note": self.note,
            },
        }

    def _now(self) -> FinishValue:
        home = self.desk.home
        return resolve(home.finishes[self.values["finish"]], overrides=home.rules)

    def _answer(self, value: FinishValue | None, found: tuple[Flip, ...]) -> str:
        if value is None:
            if self.photo is None:
                return "Choose a photograph of the cutting beside white paper or an 18 % card."
            return "Click the swatch, then the paper or card that lies beside it."
        open_ = [f for f in found if f.flips]
        text = (
            f"{value.name[:1].upper()}{value.name[1:]}: L* {value.lightness:.0f} ± "
            f"{value.within:.1f}, LRV {value.lrv:.0f}; it counts as {value.counts_as}."
        )
        if open_:
            return f"{text} {len(open_)} of {len(found)} verdicts may turn within the ±."
        return f"{text} All verdicts hold over the ±." if found else text

    def _working(self) -> list[list[Any]]:
        rows: list[list[Any]] = []
        if self.reading is not None:
            rows.append(["reading", self.reading.why, source_of("light.swatch.paper")])
            rows += [[words, f"± {part:.1f} L*", "of the ±"] for words, part in self.reading.parts]
        rows += [
            [
                "ladder",
                "Y of Munsell value, ASTM D1535; ± by eye",
                source_of("palette.within.ladder"),
            ],
            [
                "a photograph",
                "card and swatch in one light; the camera's own tone curve is not taken out, "
                "the ± has a share for it",
                source_of("light.swatch.curve"),
            ],
        ]
        return rows


def _row(flip: Flip) -> dict[str, str]:
    text = flip.sentence
    return {
        "n": "",
        "state": "measure first" if flip.flips else "passes",
        "text": f"{text[:1].upper()}{text[1:]}.",
        "source": "",
    }


def _warnings(reading: SwatchReading | None) -> list[dict[str, str]]:
    return [
        {
            "n": "",
            "state": "measure first",
            "text": f"{words[:1].upper()}{words[1:]}.",
            "source": "",
        }
        for words in (reading.warnings if reading else ())
    ]


def _table(value: FinishValue, name: str, now: FinishValue) -> dict[str, Any]:
    def cells(of: FinishValue) -> list[str]:
        within = max(c.lrv_within for c in of.colours)
        return [
            f"{of.lightness:.1f} ± {of.within:.1f}",
            f"{of.lrv:.1f} ± {within:.1f}",
            of.known,
            of.counts_as,
        ]

    return {
        "title": "Read, and as it stands",
        "note": name,
        "head": ["", "L*", "LRV", "known", "counts as"],
        "align": ["", "r", "r", "", ""],
        "rows": [["read now", *cells(value)], ["in the project", *cells(now)]],
    }


def swatches(project: str | None = None) -> Page:
    """The study "swatches" on a project.

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
    study = Swatches(Desk(project))
    return Page(study.show, study.act)
