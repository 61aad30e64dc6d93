"""The study "on the spot": does a piece fit that somebody holds for us, and what to measure."""

from __future__ import annotations

import datetime
import io
import re
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from designkit.analyses.of_fits import CANDIDATE, Fits, Stand, fits, keep_edits
from designkit.analyses.of_layout import layout
from designkit.costs.money import money_text
from designkit.errors import DesignkitError, InputError
from designkit.figures.delivery_way import (
    NARROW,
    delivery_way,
    in_column,
    narrow_plan,
    photograph,
)
from designkit.figures.drawing import Drawing
from designkit.figures.svg import to_svg
from designkit.model import Finding, Home, Layout
from designkit.plan.pieces import kinds
from designkit.project.photographs import keep_photograph, read_photograph
from designkit.studies.desk import Desk
from designkit.studies.issuing import FILE_MOST
from designkit.studies.page import Page
from designkit.studies.study import Study
from designkit.studies.words import finding_rows, layout_brief, length_of, source_of
from designkit.units import in_sentence, read_number

__all__ = ["OnTheSpot", "on_the_spot"]

_SEATED = ("sofa", "daybed", "armchair", "chair", "desk chair", "stool", "bench", "ottoman", "bed")
_TYPED = ("size", "price", "seller", "held", "name", "seat", "line")
_SHOWN_PHOTO = 640  # pixels of its longer side on the page


class OnTheSpot(Study):
    """Size, kind and price of a piece; where it stands, how it comes up, what is left.

    Parameters
    ----------
    desk : Desk
        The project that the study works on.
    """

    draft = "on-the-spot"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        home = desk.home
        if not home.layouts:
            raise InputError(
                "layouts",
                given="none",
                allowed="one layout or more",
                mend="draw the room first, and keep a layout",
            )
        self.values = {
            "size": "",
            "kind": "sofa",
            "price": "",
            "seller": "",
            "held": "",
            "name": "",
            "seat": "",
            "line": "",
            "layout": home.layout or next(iter(home.layouts)),
        }
        self.stand = 0
        self.photo: bytes = b""
        self.photo_name = ""
        self.result: Fits | None = None
        self.asked: tuple[Any, ...] = ()
        self.unread: DesignkitError | None = None  # of what was brought back
        self.check_values()

    def check_values(self) -> None:
        """The option and the line must be there."""
        if self.values["layout"] not in self.desk.home.layouts:
            self.values["layout"] = next(iter(self.desk.home.layouts))
        if self.values["line"] not in {line.id for line in self.desk.project.costs}:
            self.values["line"] = ""

    def typed(self) -> dict[str, Any]:
        """The candidate, while it has not been kept."""
        fields = self.typed_in(*_TYPED)
        if not fields and not self.photo:
            return {}
        photo = {"photo": self.photo, "photo_name": self.photo_name} if self.photo else {}
        return {**{id: self.values[id] for id in (*_TYPED, "kind", "layout")}, **photo}

    def retype(self, values: Mapping[str, Any]) -> None:
        """The candidate again; what cannot be read stands in its field and is told."""
        self.values |= {id: str(v) for id, v in values.items() if id in self.values}
        if self.values["kind"] not in kinds():
            self.values["kind"] = "sofa"
        if isinstance(values.get("photo"), bytes):
            self.photo, self.photo_name = values["photo"], str(values.get("photo_name", ""))
        self.check_values()
        try:
            self._day()
            self._answer()
        except DesignkitError as problem:
            self.unread = problem

    def choose(self, changed: str) -> None:
        """Read what was typed; a field that cannot be read is told beside it."""
        self.unread = None
        if changed in ("size", "kind", "layout"):
            self.stand = 0
        if changed == "held":
            self._day()
        self._answer()

    # --- the answer -----------------------------------------------------------------

    def _price(self) -> Decimal | None:
        text = str(self.values["price"]).strip()
        if not text:
            return None
        bare = re.sub(r"[^\d.,' \u00a0\u202f-]", "", text).strip()
        return read_number(bare or text, what="price")

    def _seat(self) -> float | None:
        text = str(self.values["seat"]).strip()
        if not text or self.values["kind"] not in _SEATED:
            return None
        height = length_of(text, home=self.desk.home, what="height of its seat")
        if not 0.1 <= height <= 1.2:
            raise InputError(
                "height of its seat",
                given=text,
                allowed="0.1 to 1.2 m",
                mend="write the unit, as 42 cm",
            )
        return height

    def _day(self) -> str:
        text = str(self.values["held"]).strip()
        if text:
            try:
                datetime.date.fromisoformat(text)
            except ValueError:
                raise InputError(
                    "held until", given=text, allowed="a date as 2026-09-01",
                    mend="write year-month-day",
                ) from None  # fmt: skip
        return text

    def _answer(self) -> Fits | None:
        """The answer, made again only where something that it rests on has changed."""
        values = self.values
        if not str(values["size"]).strip():
            self.result, self.asked = None, ()
            return None
        keys = ("size", "kind", "price", "seat", "line", "layout")
        now = (self.desk.project, *(values[key] for key in keys))
        if now != self.asked or self.result is None:
            self.result, self.asked = None, ()
            self.result = fits(
                self.desk.project,
                size=str(values["size"]),
                kind=values["kind"],
                layout=values["layout"],
                price=self._price(),
                line=values["line"],
                seat_height=self._seat(),
            )
            self.asked = now
        return self.result

    def _home_with(self, result: Fits, stand: Stand) -> Home:
        """The home with the piece in it, as it was looked at."""
        home = self.desk.home
        spots = stand.layout.pieces.values()
        id = CANDIDATE if any(one.item == CANDIDATE for one in spots) else result.replaces
        piece = result.piece
        old = home.layouts[result.layout].pieces.get(result.replaces)
        there = home.pieces.get((old.item or result.replaces) if old else result.replaces)
        if there is not None and there.chairs is not None and piece.chairs is None:
            piece = replace(piece, chairs=there.chairs)
        return replace(home, pieces={**home.pieces, id: piece})

    def _spoiled(self, stand: Stand) -> list[Finding]:
        """What the plan has to show of it, in the order of their numbers."""
        return [*stand.spoils, *(row for row in stand.heights if row.verdict != "passes")][:6]

    # --- what is kept -----------------------------------------------------------------

    def _named(self, result: Fits) -> str:
        size = " × ".join(f"{n * 1000:.0f}" for n in result.piece.size)
        return str(self.values["name"]).strip() or f"{result.piece.kind} {size}"

    def other(self, action: str, message: Mapping[str, Any]) -> bool:
        """Take a photograph, look at another place, keep a candidate, look at one again."""
        if action == "file":
            self.photo_name = str(message.get("name", "photograph"))
            self.photo = read_photograph(message.get("data", b""), name=self.photo_name)
            self.note = f"{self.photo_name} is taken; it is kept with the candidate."
        elif action == "open":
            self.stand = int(message["option"])
        elif action == "candidate":
            self._keep()
        elif action == "pick":
            self._again(str(message.get("row", "")))
        else:
            return False
        return True

    def _keep(self) -> None:
        """Keep the piece as a candidate, with its photograph, at once."""
        result = self._answer()
        if result is None:
            raise InputError(
                "candidate",
                given="no size",
                allowed="width × depth × height",
                mend="write it as on the ticket",
            )
        name, desk = self._named(result), self.desk
        edits = keep_edits(
            desk.project,
            result,
            name=name,
            held_until=self._day(),
            seller=str(self.values["seller"]).strip(),
            price=self._price(),
        )
        if self.photo:
            photo = keep_photograph(desk.folder, self.photo, name=name)
            entry = {**dict(edits[0].new), "photo": photo}  # type: ignore[call-overload]
            edits = (replace(edits[0], new=entry), *edits[1:])
        desk.do(edits)
        kept = desk.keep()
        priced = any(edit.path.startswith("costs.") for edit in edits)
        line = f", and beside the line {result.money.line}" if result.money and priced else ""
        self.note = f"{name} is kept as a candidate{line}; no total has changed; {kept}."
        self.photo, self.photo_name = b"", ""
        self.settled()

    def _again(self, id: str) -> None:
        """Put a kept candidate back into the fields."""
        home = self.desk.home
        piece = home.pieces.get(id)
        if piece is None:
            return
        line = next((c for c in self.desk.project.costs if c.piece == id), None)
        letters = " × ".join(f"{c} {n * 100:g}" for c, n in zip("WDH", piece.size))
        self.values.update(
            size=f"{letters} cm",
            kind=piece.kind,
            price="" if line is None else f"{line.likely.normalize():f}",
            seller=piece.seller,
            held=piece.held_until,
            name=piece.name,
            seat=f"{piece.seat_height * 100:g} cm" if piece.seat_height else "",
            line=line.alternative_of if line is not None else "",
        )
        self.stand = 0
        self.unread = None
        self.settled()

    # --- what it shows -------------------------------------------------------------------

    def controls(self) -> list[dict[str, Any]]:
        """Six to answer, the rest folded."""
        home = self.desk.home
        floor = [k for k, one in kinds().items() if one.mount == "floor"]
        found: list[dict[str, Any]] = [
            {
                "kind": "field",
                "id": "size",
                "label": "Width × depth × height, in any order",
                "hint": "86 x 37 x 31 in" if home.units in ("ft", "in") else "220 × 95 × 80 cm",
            },
            {"kind": "choose", "id": "kind", "label": "As", "choices": [[k, k] for k in floor]},
            {"kind": "field", "id": "price", "label": "Price of one", "hint": "1900"},
            {"kind": "field", "id": "held", "label": "Held until", "hint": "2026-12-01"},
            {
                "kind": "file",
                "id": "photo",
                "label": "Photograph",
                "accept": "image/*",
                "most": FILE_MOST,
            },
        ]
        if self.values["kind"] in _SEATED:
            found.append(
                {
                    "kind": "field",
                    "id": "seat",
                    "label": "Height of its seat, if measured",
                    "hint": "42 cm",
                }
            )
        lines = [
            [line.id, line.item]
            for line in self.desk.project.costs
            if line.kind == "purchase" and not line.alternative_of
        ]
        found += [
            {
                "kind": "field", "id": "seller", "label": "Seller, by role", "hint": "Supplier 2",
                "more": True,
            },
            {
                "kind": "field", "id": "name", "label": "Call it", "hint": "grey sofa, market",
                "more": True,
            },
            {
                "kind": "choose", "id": "line", "label": "Paid from the line", "more": True,
                "choices": [["", "that of what it replaces"], *lines],
            },
        ]  # fmt: skip
        if len(home.layouts) > 1:
            found.append(
                {
                    "kind": "words",
                    "id": "layout",
                    "label": "Option",
                    "choices": [[k, chr(ord("A") + i)] for i, k in enumerate(home.layouts)],
                    "more": True,
                }
            )
        return found

    def _picture(self, result: Fits | None) -> Drawing:
        home = self.desk.home
        column: list[Drawing] = []
        if self.photo:
            from PIL import Image

            small = read_photograph(self.photo, longest=_SHOWN_PHOTO)
            size = Image.open(io.BytesIO(small)).size
            column.append(photograph(small, size=size, words=f"Photograph {self.photo_name}"))
        if result is None:
            column.append(narrow_plan(home, home.layouts[self.values["layout"]]))
        elif result.stands:
            stand = result.stands[self.stand]
            column.append(
                narrow_plan(
                    self._home_with(result, stand),
                    stand.layout,
                    rooms=(stand.room,) if stand.room in home.rooms else (),
                    marked=(stand.placement,),
                    findings=self._spoiled(stand),
                )
            )
        else:
            bare: Layout = home.layouts[result.layout]
            column.append(narrow_plan(home, bare))
        if result is not None and result.delivery is not None:
            column.append(delivery_way(result.delivery, units=home.units, width=NARROW))
        return in_column(column, title="Does it fit?")

    def _brief(self, result: Fits | None) -> list[dict[str, str]]:
        """The wishes, with the piece where it is looked at."""
        home, id = self.desk.home, str(self.values["layout"])
        if result is not None and result.stands:
            stand = result.stands[self.stand]
            layouts = {**home.layouts, id: stand.layout}
            home = replace(self._home_with(result, stand), layouts=layouts)
        project = replace(self.desk.project, home=home)
        return layout_brief(project, layout(home, layout=id, quick=True))

    def _cards(self, result: Fits) -> dict[str, Any]:
        """The places where it could stand, to look at each."""
        cards = []
        for number, stand in enumerate(result.stands):
            drawing = narrow_plan(
                self._home_with(result, stand),
                stand.layout,
                rooms=(stand.room,) if stand.room in self.desk.home.rooms else (),
                marked=(stand.placement,),
            )
            named = f"{number + 1}, {stand.where}"  # two may be on one wall
            cards.append(
                {
                    "id": str(number),
                    "letter": str(number + 1),
                    "name": stand.where,
                    "svg": to_svg(replace(drawing, title=named), ids=False),
                    "current": number == self.stand,
                    "lines": [
                        stand.verdict,
                        *[f"{row.what}" for row in stand.spoils[:2]],
                    ],
                }
            )
        return {"title": "Where it can stand", "rows": cards if len(cards) > 1 else []}

    def _rows(self, result: Fits) -> list[dict[str, Any]]:
        """One row a question: place, heights, way up, price."""
        home = self.desk.home
        rows: list[dict[str, Any]] = []

        def row(state: str, text: Any, source: str) -> None:
            rows.append({"n": "", "state": state, "text": text, "source": source})

        if result.stands:
            stand = result.stands[self.stand]
            would = "stands" if stand.verdict == "passes" else "would stand"
            row(stand.verdict, f"It {would} {stand.where}.", "places, this study")
            shown = self._spoiled(stand)
            rows += finding_rows(shown, home=home, numbered=shown)
            agree = [one for one in stand.heights if one.verdict == "passes"]
            rows += finding_rows(agree, home=home)
            rows += finding_rows(stand.tips, home=home)
        else:
            row("fails", result.sentences[1], "places, this study")
        if result.delivery is not None:
            text = result.delivery.sentence
            if result.delivery.verdict == "fails" and not result.delivery.off:
                text += " With packing, feet and the leaf of the door off it would not either."
            row(result.delivery.verdict, text, "the way up, this project")
        else:
            row("measure first", "No way from the street is written down.", "this project")
        if result.money is not None:
            state = "passes" if result.money.left >= 0 else "fails"
            row(state, result.money.sentence, "costs, this project")
        elif str(self.values["price"]).strip():
            row("measure first", result.sentences[-1], "costs, this project")
        return rows

    def _tables(self, result: Fits | None) -> list[dict[str, Any]]:
        home = self.desk.home
        code = home.money.currency
        tables: list[dict[str, Any]] = []
        if result is not None and result.delivery is not None:
            way = result.delivery
            best = way.best
            tables.append(
                {
                    "title": f"The way up by {best.name}" if best.name else "The way up",
                    "note": "",
                    "head": ["place", "carried", "left", ""],
                    "align": ["", "", "r", ""],
                    "rows": [
                        [
                            p.name,
                            p.carry.words,
                            in_sentence(round(p.clearance, 6), units=home.units),
                            p.verdict,
                        ]
                        for p in best.places
                    ],
                }
            )
            if way.off:
                tables.append(
                    {
                        "title": "What would have to come off",
                        "note": "",
                        "head": ["what", "then left", "at", ""],
                        "align": ["", "r", "", ""],
                        "rows": [
                            [
                                x.what,
                                in_sentence(round(x.clearance, 6), units=home.units),
                                x.at,
                                x.verdict,
                            ]
                            for x in way.off
                        ],
                    }
                )
        if result is not None and result.money is not None:
            cost = result.money.all_in
            tables.append(
                {
                    "title": "All-in price",
                    "note": "with tax",
                    "head": ["what", "amount"],
                    "align": ["", "r"],
                    "rows": [
                        *([r.words, money_text(r.gross, code=code)] for r in cost.rows),
                        ["all-in", [[money_text(cost.total, code=code)]]],
                    ],
                }
            )
        held = self._held()
        if held:
            tables.append(held)
        return tables

    def _held(self) -> dict[str, Any] | None:
        """Candidates that were kept, the first to lapse first."""
        project = self.desk.project
        today = datetime.date.today()
        found = sorted(
            (
                (one.held_until or "9999-12-31", id)
                for id, one in project.home.pieces.items()
                if one.held_until or one.note.startswith("candidate")
            ),
        )
        if not found:
            return None
        rows = []
        for _, id in found:
            piece = project.home.pieces[id]
            line = next((c for c in project.costs if c.piece == id), None)
            until = "not held"
            if piece.held_until:
                days = (datetime.date.fromisoformat(piece.held_until) - today).days
                left = f"{days} {'day' if days == 1 else 'days'} left"
                until = f"{piece.held_until}, {left if days >= 0 else 'lapsed'}"
            price = (
                "" if line is None else money_text(line.likely, code=project.home.money.currency)
            )
            rows.append([piece.name, price, until])
        return {
            "id": "held",
            "title": "Candidates",
            "note": "choose one to look at it again",
            "head": ["piece", "price", "held until"],
            "align": ["", "r", ""],
            "rows": rows,
            "pick": [id for _, id in found],
        }

    def draw(self, *, cards: bool = False) -> dict[str, Any]:
        """Everything that the page shows now."""
        home = self.desk.home
        result = self._answer() if self.unread is None else None
        if result is not None:
            self.stand = min(self.stand, max(0, len(result.stands) - 1))
        answer: Any = "Write its size as it stands on the ticket, and say what it is."
        rows: list[dict[str, Any]] = []
        working: list[list[str]] = []
        note = self.note
        if self.unread is not None:
            answer = f"{self.unread}."
        if result is not None:
            word, mark, rest = result.sentence.partition(":")
            answer = [[word + mark], rest]
            rows = self._rows(result)
            working = [
                ["size", result.read.said, "the three numbers, and what is usual for the kind"],
                [
                    "places",
                    "in place of what it stands in for, and along free walls and floor; the best "
                    "are judged with all ways and views",
                    "this study",
                ],
                [
                    "way up",
                    "each place by itself, the piece as a box; lifting over a banister and turning "
                    "inside a lift are not counted",
                    source_of("plan.delivery.play"),
                ],
            ]
            caution = "Lifting is work for people who know how; nobody stands below on a stair."
            note = f"{self.note} {caution}".strip()
        return {
            "picture": to_svg(self._picture(result)),
            "controls": self.controls(),
            "values": dict(self.values),
            "options": self._cards(result) if result is not None else {"title": "", "rows": []},
            "said": {
                "where": home.name,
                "question": "Does it fit?",
                "answer": answer,
                "brief": self._brief(result),
                "findings": {
                    "title": "What decides",
                    "rows": rows,
                    "none": "Nothing has been asked yet.",
                },
                "tables": self._tables(result),
                "working": working,
                "actions": [
                    {
                        "id": "candidate",
                        "text": "Keep as a candidate",
                        "main": result is not None,
                        "off": result is None,
                    }
                ],
                "note": note,
            },
        }


def on_the_spot(project: str | None = None) -> Page:
    """The study "on the spot" on a project.

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
    study = OnTheSpot(Desk(project))
    return Page(study.show, study.act)
