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
from designkit.errors import DesignkitError, InputError, LookupFailed
from designkit.figures.balance import balance_figure
from designkit.figures.drawing import Drawing
from designkit.figures.massing import finishes_view, lit_view
from designkit.figures.meetings import meetings_answer, meetings_figure
from designkit.figures.samples import samples_answer, samples_figure
from designkit.figures.svg import to_svg
from designkit.figures.swaps import swap_rows, swaps_answer, swaps_figure
from designkit.figures.under_lamps import lamps_answer, lamps_figure
from designkit.model import Edit, Layout
from designkit.palette.finishes import Limits
from designkit.palette.spectra import Spectrum, read_spectrum
from designkit.scene.view import Viewpoint
from designkit.studies.black_controls import (
    STANDING,
    black_controls,
    circuits_of,
    dimmed,
    glass_edits,
    place_typed,
    things_of,
    windows_of,
)
from designkit.studies.black_parts import (
    FINE,
    FITS,
    FRONT,
    SHEETS,
    band_row,
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
from designkit.studies.black_working import share_working
from designkit.studies.desk import Desk
from designkit.studies.issuing import issue, paper_of, title_block
from designkit.studies.page import Page
from designkit.studies.study import Study
from designkit.studies.words import brief_items, finding_rows, source_of

__all__ = ["ShareOfBlack", "share_of_black"]

MOVING, RESTING = 2000, 4000  # rays a field: within 0.5 point, within 0.3
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
            "field": "60",
            "stand_x": "",
            "stand_y": "",
            "towards_thing": "",
            "window": "",
            "pane": "",
            "lit": "no",
            "black": Limits.of(home.rules).black_lightness,
        }
        self.place: Viewpoint | None = None  # that was typed
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
        # Limits, finishes and dimmers count the same rays anew; all else may need new ones.
        same = changed in (None, "black", "finish", "pane") or changed.startswith("dim.")
        self.rays = RESTING if same else MOVING
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

    def _viewpoints(self) -> dict[str, Viewpoint]:
        found = scheme_viewpoints(self.desk.project, layout=self.values["layout"])
        return found if self.place is None else {**found, STANDING: self.place}

    def _looked_from(self) -> list[str | Viewpoint]:
        """The places that are chosen, five at most."""
        known = self._viewpoints()
        return [known[v] if v == STANDING else v for v in self.values["views"][:5]]

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
        self._check_place(layout)
        for id in circuits_of(home, layout):
            self.values.setdefault(f"dim.{id}", 100 if home.circuits[id].dimmer else "100")
        windows = windows_of(home)
        if self.values["window"] not in windows:
            self.values["window"] = next(iter(windows), "")
        if windows:
            self.values["pane"] = home.openings[self.values["window"]].glass
        known = self._viewpoints()
        self.values["views"] = [v for v in self.values["views"] if v in known]
        for n, name in enumerate(("one", "two")):
            if self.values["show"] == "lamps" and self.values[name] in CHART:
                continue
            if self.values[name] not in home.finishes:
                self.values[name] = [*home.finishes, "", ""][n] or next(iter(home.finishes), "")

    def _check_place(self, layout: Layout) -> None:
        """The typed place moves with what is looked at, and goes where a piece now stands."""
        things = things_of(self.desk.home, layout)
        if self.values["towards_thing"] not in things:
            self.values["towards_thing"] = next(reversed(things), "")
        if self.place is not None:
            try:
                self.place = place_typed(self.desk.project, self.values)
            except DesignkitError as error:
                self.place, self.note = None, f"Nobody can stand there now: {error}."

    def choose(self, changed: str) -> None:
        """Another finish, drapery drawn, another glass, or another place to stand."""
        home = self.desk.home
        if changed in ("stand_x", "stand_y", "towards_thing"):
            had, self.place = self.place, None
            self.place = place_typed(self.desk.project, self.values)
            if self.place and not had and STANDING not in self.values["views"]:
                self.values["views"] = [STANDING, *self.values["views"]]
        elif changed == "pane":
            self.desk.do(glass_edits(home, self.values), merge=True)
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
                field=self.values["field"],
                night=night,
                limits=limits,
                pairs=False,
                rays=FINE if self.rays == RESTING else self.rays,
            )
            for view in self._looked_from()
        ]
        return found

    def _lit(self, views: list[str | Viewpoint]) -> list[LitScheme]:
        """What is seen dark from the same places; later, where all light is new and it moves."""
        if not views:
            return []
        home = self.desk.home
        layout = home.layouts[self.values["layout"]]
        when: Literal["evening", "day"] = "evening" if self.values["when"] == "night" else "day"
        field = self.values["field"]
        key = (layout, when, tuple(views), field, home.rooms, home.openings)
        if self.rough and key != self._lit_key:
            self.waiting = True
            return []
        found = lit_schemes(
            self.desk.project,
            viewpoints=views,
            layout=self.values["layout"],
            field=field,
            dim=dimmed(home, layout, self.values) if when == "evening" else None,
            when=(when,),
            limits=self._limits(),
            folder=self.desk.folder,
            rays=self.rays,
            rough=self.rough,
        )
        self._lit_key = key
        return found

    def _lit_views(self) -> list[str | Viewpoint]:
        # A figure holds eight columns: the area, the views, and these.
        views = self._looked_from()
        lamps = self.desk.home.layouts[self.values["layout"]].lamps
        if self.values["lit"] != "yes" or not lamps:
            return []
        return views[: min(3, 7 - len(views))]

    def _pictures(self, schemes: list[Scheme]) -> list[Drawing | None]:
        """A small perspective for each view; none where nothing is looked from."""
        views = self._looked_from()
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
            met = dict.fromkeys(t.finish for t in seen.targets if t.finish in way.finishes)
            tones = tuple((id, way.finishes[id].hex) for id in met)
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
        findings = [*area.findings, *shown.get("findings", ())]
        shares = [
            band_row(home, s, what=f"Share of black {name}")
            for name, s in zip(names, schemes, strict=True)
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
                    "rows": [*shares, *finding_rows(findings, home=home)],
                    "none": "",
                },
                "tables": tables() if callable(tables) else tables,
                "working": working() if callable(working) else working,
                "actions": self.actions(),
                "note": note,
            },
        }

    def _of_shares(self, schemes: list[Scheme]) -> dict[str, Any]:
        home = self.desk.home
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

        working = partial(
            share_working,
            self.desk.project,
            schemes,
            lit,
            names=names,
            views=[] if self.rough else self._looked_from(),
            layout=self.values["layout"],
            night=self.values["when"] == "night",
            limits=self._limits(),
        )
        return {"picture": to_svg(drawing), "tables": tables, "working": working}

    def _of_swaps(self, schemes: list[Scheme]) -> dict[str, Any]:
        home, area = self.desk.home, schemes[0]
        layout = home.layouts[self.values["layout"]]
        chosen = dict(zip(self.values["views"], self._looked_from()))
        seats = [v for v in chosen if v == STANDING or v.split(".")[0] in layout.pieces]
        views = [chosen[v] for v in (seats or list(chosen))[:1]]
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
            viewpoints=self._looked_from(),
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
