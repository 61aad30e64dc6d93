"""The study "from a photograph": how much of a picture of a room is dark, mid and light."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from designkit.analyses.of_scheme import scheme, scheme_picture, scheme_viewpoints
from designkit.errors import InputError
from designkit.figures.drawing import Picture
from designkit.figures.massing import finishes_view
from designkit.figures.photo_bars import photo_figure, point_in_photo
from designkit.figures.svg import to_svg
from designkit.palette.finishes import Limits
from designkit.palette.photo_values import LIMITS_OF_A_PHOTO, PhotoValues, photo_values
from designkit.palette.swatches import Photo, read_photo
from designkit.reference import value
from designkit.studies.desk import Desk
from designkit.studies.issuing import FILE_MOST, issue, paper_of, title_block
from designkit.studies.page import Page
from designkit.studies.study import Study
from designkit.studies.words import source_of
from designkit.units import NBSP

__all__ = ["PhotographValues", "photograph_values", "spot_of"]

STAND_IN = "a drawn view of the room, until a photograph is chosen"
SIZE = (640, 400)


def spot_of(text: str, *, what: str) -> tuple[float, float] | None:
    """A typed place in a picture.

    Parameters
    ----------
    text : str
        "column, row" in pixels, or nothing.
    what : str
        For the sentence.

    Returns
    -------
    (float, float) or None
        None where nothing is typed.

    Raises
    ------
    InputError
        It is not two numbers.

    Examples
    --------
    >>> spot_of("120, 45", what="white")
    (120.0, 45.0)
    """
    cells = text.replace(";", ",").replace("×", ",").split(",")
    if not text.strip():
        return None
    try:
        column, row = (float(cell) for cell in cells)
    except ValueError:
        raise InputError(
            what, given=text, allowed="column, row in pixels", mend="as 120, 45, or click it"
        ) from None
    return column, row


class PhotographValues(Study):
    """A photograph, the white in it, and how it is exposed.

    Parameters
    ----------
    desk : Desk
        The project whose limits hold, and whose room stands in at first.
    """

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.photo: Photo | None = None
        self.name = ""
        self.found: PhotoValues | None = None
        self.values = {
            "white": "",
            "paper": value("light.swatch.paper", desk.home.rules),
            "exposure": 0.0,
        }
        self._stand_in()

    def _stand_in(self) -> None:
        """A drawn view, so that the page shows what it does before there is a photograph."""
        home = self.desk.home
        if not home.layouts:
            return
        points = scheme_viewpoints(self.desk.project)
        seats = [id for id in points if id.split(".")[0] in home.pieces]
        if not points:
            return
        seen = scheme_picture(
            self.desk.project,
            viewpoint=(seats or list(points))[0],
            columns=SIZE[0],
            rows=SIZE[1],
        )
        drawing = finishes_view(seen, finishes=scheme(self.desk.project, pairs=False).finishes)
        png = next(item.png for item in drawing.items if isinstance(item, Picture))
        self.photo, self.name = read_photo(png, name="drawn view"), STAND_IN

    def other(self, action: str, message: Mapping[str, Any]) -> bool:
        """Take in a photograph, or a click on its white."""
        if action == "file":
            name = str(message.get("name", "photograph"))
            self.photo = read_photo(bytes(message["data"]), name=name)
            self.name = name
            self.values["white"] = ""
            self.note = f"{name}: {self.photo.size[0]} × {self.photo.size[1]} pixels, upright."
            return True
        if action == "point":
            if self.found is None:
                return True
            at = point_in_photo(self.found, x=float(message["x"]), y=float(message["y"]))
            if at is None:
                self.note = "That is not on the photograph at the left."
                return True
            before = self.values["white"]
            self.values["white"] = f"{at[0]:.0f}, {at[1]:.0f}"
            try:
                self._read()
            except InputError:
                self.values["white"] = before  # the picture stays as it was
                raise
            self.note = ""
            return True
        return False

    def _read(self) -> PhotoValues | None:
        if self.photo is None:
            return None
        return photo_values(
            self.photo,
            white=spot_of(str(self.values["white"]), what="white"),
            white_lrv=float(self.values["paper"]),
            exposure=float(self.values["exposure"]),
            limits=Limits.of(self.desk.home.rules),
        )

    def controls(self) -> list[dict[str, Any]]:
        """A file, the white, and the exposure."""
        return [
            {
                "kind": "file",
                "id": "photo",
                "label": "Photograph of a room",
                "accept": ".jpg,.jpeg,.png",
                "hint": "JPEG or PNG; it stays on this machine",
                "most": FILE_MOST,
            },
            {
                "kind": "field",
                "id": "white",
                "label": "White at column, row",
                "hint": "click it in the picture, or type 120, 45",
            },
            {
                "kind": "scale",
                "id": "exposure",
                "label": "Exposure, stops",
                "min": -2,
                "max": 2,
                "step": 0.25,
                "digits": 2,
            },
            {
                "kind": "scale",
                "id": "paper",
                "label": "LRV of that white",
                "min": 50,
                "max": 95,
                "step": 1,
            },
        ]

    def draw(self, *, cards: bool = False) -> dict[str, Any]:
        """Everything that the page shows now."""
        found = self.found = self._read()
        picture = "" if found is None else to_svg(photo_figure(found, name=self.name, page=True))
        answer = "Choose a photograph of a room." if found is None else found.answer
        if found is not None and self.name == STAND_IN:
            answer = f"This is {STAND_IN}. {answer}"
        return {
            "picture": picture,
            "controls": self.controls(),
            "values": dict(self.values),
            "said": {
                "where": self.desk.home.name,
                "question": "How much of it is dark, mid and light?",
                "answer": answer,
                "point": "" if found is None else "Click something white in the photograph.",
                "brief": [],
                "findings": {
                    "title": "What to know of this picture",
                    "rows": [
                        {"n": "", "state": "measure first", "text": _sentence(words), "source": ""}
                        for words in (found.warnings if found else ())
                    ],
                    "none": "" if found is None else "Nothing is burnt out or blocked up.",
                },
                "tables": [] if found is None else [_table(found)],
                "working": _working(found),
                "actions": [{"id": "export", "text": "Export sheet", "off": found is None}],
                "note": self.note,
            },
        }

    def act(self, action: str, message: Mapping[str, Any]) -> dict[str, Any] | None:
        """Answer a button, a file or a click."""
        if action != "export":
            return super().act(action, message)
        if self.found is not None:
            home = self.desk.home
            drawing = photo_figure(
                self.found,
                name=self.name,
                block=title_block(home, title="From a photograph", number="D-307"),
                paper=paper_of(home),
            )
            self.note = issue([drawing], name="photograph-values", folder=self.desk.folder)
        return self.draw()


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."


def _table(found: PhotoValues) -> dict[str, Any]:
    names = ("black", "dark", "mid", "light")

    def cells(shares: Mapping[str, float]) -> list[str]:
        return [f"{100 * shares[name]:.1f}{NBSP}%" for name in names]

    return {
        "title": "How far the shares move",
        "note": "black is part of dark",
        "head": ["", *names],
        "align": ["", *("r" for _ in names)],
        "rows": [
            ["as it is", *cells(found.shares)],
            *([move.what, *cells(move.shares)] for move in found.moves),
        ],
    }


def _working(found: PhotoValues | None) -> list[list[Any]]:
    rows: list[list[Any]] = [["limits of a photograph", LIMITS_OF_A_PHOTO, "general practice"]]
    if found is None:
        return rows
    count = int(np.prod(found.lightness.shape))
    rows.append(
        ["definitions", found.definitions.replace(LIMITS_OF_A_PHOTO, "").strip(), "editable"]
    )
    rows.append(["pixels", f"{count:,} after averaging in linear light", "IEC 61966-2-1, CIE 15"])
    rows.append(
        [
            "the white",
            f"LRV {found.white_lrv:.0f} ± {value('light.swatch.paper.within'):g}",
            source_of("light.swatch.paper"),
        ]
    )
    return rows


def photograph_values(project: str | None = None) -> Page:
    """The study "from a photograph".

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
    study = PhotographValues(Desk(project))
    return Page(study.show, study.act)
