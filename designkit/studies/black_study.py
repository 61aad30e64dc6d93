"""The study "share of black": is black still an accent, by area, by view and as lit."""

from __future__ import annotations

import dataclasses
import time
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any, Literal

from designkit.analyses.keep import Kept
from designkit.analyses.of_brief import brief, brief_sentence
from designkit.analyses.of_lamps import CHART, under_lamps
from designkit.analyses.of_meetings import beside, scheme_meetings, touch_rows
from designkit.analyses.of_scheme import (
    LitScheme,
    Scheme,
    lit_schemes,
    scheme,
    scheme_picture,
    scheme_viewpoints,
)
from designkit.analyses.swaps import RANKED, swaps_three_ways
from designkit.errors import InputError, LookupFailed
from designkit.figures.balance import balance_figure
from designkit.figures.drawing import Drawing
from designkit.figures.massing import finishes_view, lit_view
from designkit.figures.meetings import meetings_answer, meetings_figure
from designkit.figures.samples import samples_answer, samples_figure
from designkit.figures.svg import to_svg
from designkit.figures.swaps import swap_rows, swaps_answer, swaps_figure
from designkit.figures.under_lamps import lamps_answer, lamps_figure
from designkit.model import Edit
from designkit.palette.finishes import Limits
from designkit.palette.spectra import Spectrum, read_spectrum
from designkit.studies.black_controls import black_controls
from designkit.studies.black_parts import (
    FITS,
    FRONT,
    RAYS,
    SHEETS,
    beside_table,
    edits_of,
    gap_table,
    glass_tables,
    lamp_table,
    lamp_working,
    meeting_table,
    share_table,
    swap_table,
    touch_table,
    undertone_table,
)
from designkit.studies.desk import Desk
from designkit.studies.issuing import issue, paper_of, title_block
from designkit.studies.page import Page
from designkit.studies.study import Study
from designkit.studies.words import brief_items, finding_rows, source_of

__all__ = ["ShareOfBlack", "share_of_black"]

MOVING, RESTING = 1500, 4000  # rays a field: within 0.5 point, within 0.2
_DRAWN: Kept[Drawing] = Kept(16)  # small pictures: a limit that moves changes none of them
REST = 0.4  # a control that has not moved for so long rests [s]


class ShareOfBlack(Study):
    """Which option, which piece in which finish, from where it is looked at.

    While a control moves the shares are rough; once it rests they are worked
    out finely, and what needs the whole light is worked out then.

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
            "show": "shares",
            "layout": home.layout or next(iter(home.layouts)),
            "when": "day",
            "views": [],
            "piece": "",
            "finish": "",
            "one": "",
            "two": "",
            "towards": "less",
            "glass": "clear-6",
            "drapes": "open",
            "lit": "no",
            "black": Limits.of(home.rules).black_lightness,
        }
        self.spectra: dict[str, Spectrum] = {}  # that were given on the page
        self.rough = self.waiting = False
        self.rays = RESTING
        self.moved_at = 0.0
        self._lit_key: tuple[object, ...] = ()
        self._swaps: tuple[Any, ...] = ()
        self._sheet: Callable[..., Drawing] | None = None  # of what is shown
        self.check_values()
        seats = [k for k in self._viewpoints() if "door" in k or k == "sofa" or "table" in k]
        self.values["views"] = seats[-2:]

    # --- what is asked, and when ---

    def show(self, values: Mapping[str, Any], changed: str | None) -> dict[str, Any]:
        """Answer a control that moved, roughly; None at the start."""
        self.rough, self.moved_at = changed is not None, time.monotonic()
        # Another limit counts the same rays anew; all else may need new ones.
        self.rays = RESTING if changed in (None, "black") else MOVING
        return super().show(values, changed)

    def act(self, action: str, message: Mapping[str, Any]) -> dict[str, Any] | None:
        """Answer a button; a look after a rest works out finely what was rough."""
        rough, self.rough = self.rough, False
        self.rays = RESTING
        if action == "export" and self.values["show"] != "shares":
            self._issue()
            return self.draw()
        if action != "look":
            return super().act(action, message)
        found = super().act(action, message)
        if found is None and rough:
            if time.monotonic() - self.moved_at >= REST:
                return self.draw()
            self.rough = True
        return found

    def _issue(self) -> None:
        """The picture that is shown, as a sheet of its own."""
        self.draw()  # finely
        if self._sheet is None:
            self.note = "There is nothing to draw yet."
            return
        home, (name, title, number) = self.desk.home, SHEETS[self.values["show"]]
        block = title_block(home, title=title, number=number)
        drawing = self._sheet(block=block, paper=paper_of(home))
        self.note = issue([drawing], name=name, folder=self.desk.folder)

    def other(self, action: str, message: Mapping[str, Any]) -> bool:
        """Use a swap from the list, or take in a measured spectrum."""
        if action == "file" and message.get("control") == "spectrum":
            id = self.values["one"]
            found = read_spectrum(message["data"], name=str(message.get("name", "")))
            name = self.desk.home.finishes[id].name if id in self.desk.home.finishes else id
            self.spectra[id] = dataclasses.replace(found, name=name)
            self.note = (
                f"{name} has the spectrum of {message.get('name', 'the file')} on this page; in "
                "samples/ and named on the finish it stays."
            )
            return True
        if action != "pick" or message.get("table") != "swaps":
            return False
        number = str(message.get("row", ""))
        if number.isdigit() and int(number) < len(self._swaps):
            layout = self.values["layout"]
            edits = [
                edit
                for change in self._swaps[int(number)].changes
                for edit in edits_of(self.desk.home, layout, change)
            ]
            self.desk.do(edits)
        return True

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
        for n, name in enumerate(("one", "two")):
            if self.values["show"] == "lamps" and self.values[name] in CHART:
                continue
            if self.values[name] not in home.finishes:
                self.values[name] = [*home.finishes, "", ""][n] or next(iter(home.finishes), "")

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
        """What to show, and what it is about."""
        return black_controls(self.desk.home, values=self.values, viewpoints=self._viewpoints())

    # --- what is worked out ---

    def _limits(self) -> Limits:
        rules = self.desk.home.rules
        return Limits.of({**rules, "palette.black.lightness": float(self.values["black"])})

    def _schemes(self) -> list[Scheme]:
        night = self.values["when"] == "night"
        limits, id = self._limits(), self.values["layout"]
        found = [scheme(self.desk.project, layout=id, night=night, limits=limits, pairs=False)]
        found += [
            scheme(
                self.desk.project,
                layout=id,
                viewpoint=view,
                night=night,
                limits=limits,
                pairs=False,
                rays=self.rays,
            )
            for view in self.values["views"][:5]
        ]
        return found

    def _lit(self, views: list[str]) -> list[LitScheme]:
        """What is seen dark from the same places; later, where all light is new and it moves."""
        if not views:
            return []
        home = self.desk.home
        layout = home.layouts[self.values["layout"]]
        when: Literal["evening", "day"] = "evening" if self.values["when"] == "night" else "day"
        key = (layout, when, tuple(views), home.rooms, home.openings)
        if self.rough and key != self._lit_key:
            self.waiting = True
            return []
        found = lit_schemes(
            self.desk.project,
            viewpoints=views,
            layout=self.values["layout"],
            when=(when,),
            limits=self._limits(),
            folder=self.desk.folder,
            rays=self.rays,
            rough=self.rough,
        )
        self._lit_key = key
        return found

    def _lit_views(self) -> list[str]:
        # A figure holds eight columns: the area, the views, and these.
        views: list[str] = self.values["views"]
        lamps = self.desk.home.layouts[self.values["layout"]].lamps
        if self.values["lit"] != "yes" or not lamps:
            return []
        return views[: min(3, 7 - len(views[:5]))]

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
            tones = tuple((id, f.hex) for id, f in way.finishes.items())
            found.append(
                _DRAWN.get(
                    (seen, tones, night),
                    partial(finishes_view, seen, finishes=way.finishes, night=night),
                )
            )
        return found

    # --- what is shown ---

    def draw(self, *, cards: bool = False) -> dict[str, Any]:
        """Everything that the page shows now."""
        self.waiting, self._sheet = False, None
        schemes = self._schemes()
        shown = {
            "shares": self._of_shares,
            "swaps": self._of_swaps,
            "meetings": self._of_meetings,
            "samples": self._of_samples,
            "lamps": self._of_lamps,
        }[self.values["show"]](schemes)
        home, area = self.desk.home, schemes[0]
        lines = brief(self.desk.project, balance=area.balance, kinds=("black",))
        names = ["by area", *(s.viewpoint.name for s in schemes[1:] if s.viewpoint)]
        findings = [
            *(
                dataclasses.replace(s.finding, what=f"Share of black {name}")
                for name, s in zip(names, schemes, strict=True)
            ),
            *area.findings,
            *shown.get("findings", ()),
        ]
        share, (low, high) = area.balance.shares["black"], area.band
        inside = "inside" if low <= share <= high else ("above" if share > high else "below")
        answer = shown.get("answer") or (
            f"By area black is {share * 100:.0f} %, {inside} the band of "
            f"{low * 100:.0f} to {high * 100:.0f} %, a studio's judgement. {brief_sentence(lines)}."
        )
        note = "As lit is being worked out." if self.waiting else self.note
        tables = shown["tables"]
        working = shown["working"]
        return {
            "picture": shown["picture"],
            "controls": self.controls(),
            "values": dict(self.values),
            "said": lambda: {
                "where": home.name,
                "question": shown.get("question", "Is black still an accent?"),
                "answer": answer,
                "brief": brief_items(lines),
                "findings": {
                    "title": "What the scheme says",
                    "rows": finding_rows(findings, home=home),
                    "none": "",
                },
                "tables": tables() if callable(tables) else tables,
                "working": working() if callable(working) else working,
                "actions": self.actions(),
                "note": note,
            },
        }

    def _of_shares(self, schemes: list[Scheme]) -> dict[str, Any]:
        home, area = self.desk.home, schemes[0]
        lit = self._lit(self._lit_views())
        pictures = self._pictures(schemes)
        for way in lit:
            seen = way.lit.picture(columns=160, rows=100)
            pictures.append(_DRAWN.get((seen,), partial(lit_view, seen)))
        drawing = balance_figure([*schemes, *lit], home=home, page=True, pictures=pictures)
        names = ["by area", *(s.viewpoint.name for s in schemes[1:] if s.viewpoint)]
        heads = [*names, *(f"lit, {way.viewpoint.name}" for way in lit)]
        gap = gap_table(home, schemes)

        def tables() -> list[dict[str, Any]]:
            return [
                share_table([*schemes, *lit], heads),
                *([gap] if gap else []),
                touch_table(touch_rows(s.balance for s in schemes), names),
            ]

        def working() -> list[list[Any]]:
            rows = [
                [name, s.balance.why, source_of(s.finding.rule)]
                for name, s in zip(names, schemes, strict=True)
            ]
            rows.append(["definitions", area.balance.definitions, "our assumptions, editable"])
            rows.append(["rays", RAYS, "measured"])
            rows += [
                [s.limit, f"black would be {s.share * 100:.1f} %", "sensitivity"]
                for s in area.balance.sensitivity
                if s.of == "black"
            ]
            for way in lit[:1]:
                rows += [["seen lightness", way.lit.view.rule, source_of("light.seen.white")]]
                rows += [
                    [rule.words, f"seen black {rule.black * 100:.1f} %", "sensitivity"]
                    for rule in way.lit.view.sensitivity
                ]
            return rows

        return {"picture": to_svg(drawing), "tables": tables, "working": working}

    def _of_swaps(self, schemes: list[Scheme]) -> dict[str, Any]:
        home, area = self.desk.home, schemes[0]
        layout = home.layouts[self.values["layout"]]
        seats = [v for v in self.values["views"] if v.split(".")[0] in layout.pieces]
        views = (seats or self.values["views"])[:1]
        question = "Which other finish moves the share of black most?"
        empty = {"picture": "", "tables": [], "working": [], "question": question}
        if not views:
            self._swaps = ()
            return {**empty, "answer": "Choose a place to look from: a swap is ranked by view too."}
        lit = self._lit(views)
        if not lit:  # the light of another place or hour comes once the control rests
            return {**empty, "answer": "The light is being worked out."}
        less = self.values["towards"] == "less"
        now, found = swaps_three_ways(
            home,
            layout,
            lit=lit[0].lit,
            less=less,
            keep=home.brief.keeps,
            rays=self.rays,
            limits=self._limits(),
            rough=self.rough,
        )
        self._swaps = found
        rows, three = swap_rows(home, found), (now.area, now.view, now.lit)
        where = lit[0].viewpoint.name
        if not rows:
            return {**empty, "answer": swaps_answer(three, rows)}
        bands = (area.band, schemes[1].band, None)
        figure = partial(swaps_figure, three, rows, bands=bands, under=where, note=RANKED)
        self._sheet = figure
        return {
            "picture": to_svg(figure(page=True)),
            "question": question,
            "answer": swaps_answer(three, rows),
            "tables": [
                swap_table(home, self.values["layout"], now=now, found=found, of=where),
                *([gap] if (gap := gap_table(home, schemes)) else []),
            ],
            "working": [
                ["order", RANKED, "our assumptions, editable"],
                ["what may replace what", FITS, "designkit, judgement"],
                ["definitions", lit[0].balance.definitions, "our assumptions, editable"],
                *([s.why, "", ""] for s in found[:8]),
            ],
        }

    def _of_meetings(self, schemes: list[Scheme]) -> dict[str, Any]:
        home = self.desk.home
        met = scheme_meetings(
            home,
            layout=self.values["layout"],
            viewpoints=self.values["views"][:5],
            limits=self._limits(),
        )
        answer = meetings_answer(met.edges, finishes=met.finishes, quarrel=met.quarrel)
        picture = ""
        if any(e.meeting.finish_a != e.meeting.finish_b for e in met.edges):
            self._sheet = partial(
                meetings_figure,
                met.edges,
                finishes=met.finishes,
                quarrel=met.quarrel,
                limits=met.limits,
                answer=answer,
            )
            picture = to_svg(self._sheet(page=True))
        return {
            "picture": picture,
            "question": "What meets what, and how far apart are they?",
            "answer": answer,
            "findings": met.clashes,
            "tables": lambda: [meeting_table(home, met), undertone_table(home, met)],
            "working": [
                ["edges", met.limits.definitions, source_of("palette.contrast.lrv")],
                ["undertones", met.undertone_limits.definitions, "common practice, no source"],
                ["in front", FRONT, "geometry"],
            ],
        }

    def _of_samples(self, schemes: list[Scheme]) -> dict[str, Any]:
        home = self.desk.home
        two = beside(home, one=self.values["one"], two=self.values["two"])
        answer = samples_answer(two.edge, finishes=(two.one, two.two), quarrel=two.quarrel)
        figure = partial(
            samples_figure,
            two.one,
            two.two,
            edge=two.edge,
            undertones=two.undertones,
            quarrel=two.quarrel,
            answer=answer,
        )
        self._sheet = figure
        return {
            "picture": to_svg(figure(page=True)),
            "question": "How do the two look side by side?",
            "answer": answer,
            "tables": [beside_table(two)],
            "working": [
                ["between", two.edge.why, source_of("palette.contrast.lrv")],
                *(
                    [f.name, u.why, "CIE 15"]
                    for f, u in zip((two.one, two.two), two.undertones, strict=True)
                ),
            ],
        }

    def _of_lamps(self, schemes: list[Scheme]) -> dict[str, Any]:
        under = under_lamps(
            self.desk.project,
            one=self.values["one"],
            two=self.values["two"],
            layout=self.values["layout"],
            folder=self.desk.folder,
            more=self.spectra,
            glass=self.values["glass"],
        )
        self._sheet = partial(lamps_figure, under)
        return {
            "picture": to_svg(lamps_figure(under, page=True)),
            "question": "Do the two hold under lamps?",
            "answer": lamps_answer(under),
            "tables": [lamp_table(under), *glass_tables(under)],
            "working": lamp_working(under),
        }

    def where(self) -> dict[str, str]:
        """The sheets are about the option that is drawn."""
        return {"layout": self.values["layout"]}


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
