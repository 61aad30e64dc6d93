"""Which sheets a project has, and how each is made from its results.

The client is the audience of every sheet here: suppliers, trade prices,
margin and studio notes are on none of them.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from designkit.analyses.of_brief import brief, brief_sentence
from designkit.analyses.of_budget import candidates_for, lines_with_choices
from designkit.analyses.of_layout import LayoutResult
from designkit.analyses.of_layout import layout as analyse_layout
from designkit.analyses.of_light import light as analyse_light
from designkit.analyses.of_light import photometry_of
from designkit.analyses.of_takeoff import drawn_view, subjects
from designkit.analyses.pick import layout_id
from designkit.costs.budgeting import Budget, budget
from designkit.costs.quotes import level
from designkit.costs.steering import best_set, frontier
from designkit.documents import cash
from designkit.errors import InputError, LookupFailed
from designkit.figures.budget import scenarios
from designkit.figures.budget_cash import cash_figure
from designkit.figures.budget_places import places_figure
from designkit.figures.budget_steer import best_figure, frontier_figure
from designkit.figures.ceiling import ceiling_plan, light_answer
from designkit.figures.chance import chance
from designkit.figures.chart import open_sheet
from designkit.figures.cutting_views import view_figure
from designkit.figures.drawing import Drawing
from designkit.figures.finish_plan import finish_plan_sheet
from designkit.figures.furniture_sheet import furniture_plan_sheet
from designkit.figures.layouts_sheet import Measure, Option, options_sheet
from designkit.figures.quotes import quotes
from designkit.figures.schedule import schedule
from designkit.figures.sheet import TitleBlock
from designkit.figures.tables import table_sheets
from designkit.model import Home, Project
from designkit.publish.scheme_set import SchemeSet
from designkit.publish.survey_set import survey_set
from designkit.reference import value
from designkit.schedule.programme import Programme, programme
from designkit.takeoff.assemble import takeoff
from designkit.takeoff.lines import TakeoffResult
from designkit.takeoff.tables import Table, finish_schedule, furniture_schedule
from designkit.units import IMPERIAL, in_sentence

__all__ = ["NAMES", "Entry", "sheet_set"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Entry:
    """One figure of the set."""

    name: str  # of its files
    title: str
    drawings: tuple[Drawing, ...]  # more than one where it runs over


@dataclass(eq=False)
class _Desk:
    """What the makers share; results are made once."""

    project: Project
    layout: str
    folder: Path | None
    today: datetime.date
    result: LayoutResult | None = None
    money: Budget | None = None

    @property
    def home(self) -> Home:
        return self.project.home

    def block(self, title: str, number: str, sheet: int, of: int) -> TitleBlock:
        return TitleBlock(
            project=self.home.name,
            title=title,
            number=number,
            date=self.today.isoformat(),
            sheet=sheet,
            sheets=of,
            client=self.home.brief.client,
        )

    def of_layout(self) -> LayoutResult:
        if self.result is None:
            self.result = analyse_layout(self.home, layout=self.layout)
        return self.result

    def of_money(self) -> Budget:
        if self.money is None:
            self.money = budget(self.project, scenarios=["", *self.home.scenarios][:5])
        return self.money

    @cached_property
    def scheme(self) -> SchemeSet:
        """The sheets of the scheme, which share their light and views."""
        return SchemeSet(
            project=self.project,
            layout=self.layout,
            folder=self.folder,
            small=self.small,
            large=self.large,
        )

    @property
    def small(self) -> str:
        return "Letter" if self.home.units in IMPERIAL else "A4"

    @property
    def large(self) -> str:
        return "Tabloid" if self.home.units in IMPERIAL else "A3"

    def tables(
        self, rows: Table | TakeoffResult | Programme, block: TitleBlock
    ) -> Sequence[Drawing]:
        """A table on its sheets, in the project's units and with its rooms' names."""
        return table_sheets(
            rows,
            block=block,
            paper=self.small,
            units=self.home.units,
            names={id: room.name for id, room in self.home.rooms.items()},
            currency=self.home.money.currency,
        )


Maker = Callable[[_Desk, Callable[[str], TitleBlock]], Sequence[Drawing]]


def _furniture(desk: _Desk, block: Callable[[str], TitleBlock]) -> Sequence[Drawing]:
    result = desk.of_layout()
    lines = brief(desk.project, layout=result)
    return [
        furniture_plan_sheet(
            desk.home,
            result.layout,
            block=block(f"Furniture plan, {result.layout.name}"),
            findings=result.failing[:8],
            routes=[row.line for row in result.routes if row.line],
            sight=[row.view for row in result.views if _wished(desk.home, row.piece)],
            limits=["plan.route.main", "plan.table.sit"],
            answer=f"{brief_sentence(lines)}.",
            paper=desk.large,
        )
    ]


def _wished(home: Home, piece: str) -> bool:
    starts = [w.start for w in home.brief.wishes.values() if w.kind == "view"]
    return piece in starts or piece.rsplit("_", 1)[0] in starts


def _sentence(home: Home, result: LayoutResult) -> str:
    """What is good about a layout and what is not, in one honest sentence."""
    fails = [f for f in result.findings if f.verdict == "fails"]
    first = result.routes[0] if result.routes else None
    good = ""
    if first is not None and first.floor is not None and first.floor.open:
        width = in_sentence(first.floor.width, units=home.units)
        good = f"{first.name[:1].upper()}{first.name[1:]} is {width} wide"
    if not fails:
        return f"{good or 'It can be walked'}; nothing fails."
    worst = fails[0]
    what = worst.what[:1].lower() + worst.what[1:]
    more = f", and {len(fails) - 1} more" if len(fails) > 1 else ""
    return f"{good + '; ' if good else ''}what fails: {what}{more}."


def _layouts(desk: _Desk, block: Callable[[str], TitleBlock]) -> Sequence[Drawing]:
    home = desk.home
    results = {id: analyse_layout(home, layout=id) for id in list(home.layouts)[:4]}
    wish = next((w for w in home.brief.wishes.values() if w.kind == "route"), None)
    wanted = (wish.at_least if wish else None) or value("plan.route.main", home.rules)
    widths = [
        r.routes[0].floor.width if r.routes and r.routes[0].floor else None
        for r in results.values()
    ]
    views = [
        max((v.view.share for v in r.views if _wished(home, v.piece)), default=None)
        for r in results.values()
    ]
    measures = [
        Measure(
            name="Main route, narrowest place between doors",
            note=f"{in_sentence(wanted, units=home.units)} wanted, "
            + ("the brief" if wish else "common practice"),
            low=0.5,
            high=1.3,
            limit=wanted,
        ),
        Measure(
            name="Largest circle clear of pieces",
            note=f"{in_sentence(value('plan.stepfree.turning'), units=home.units)} "
            "turns a wheelchair",
            low=1.0,
            high=max(3.0, *(round(r.circle + 0.5, 1) for r in results.values())),
            limit=value("plan.stepfree.turning"),
        ),
    ]
    rows = [[w, r.circle] for w, r in zip(widths, results.values(), strict=True)]
    if any(v is not None for v in views):
        view = next(w for w in home.brief.wishes.values() if w.kind == "view")
        name = home.openings[view.end].name or view.end
        measures.insert(
            1,
            Measure(
                name=f"Share of the {name} seen from the {home.pieces[view.start].name}"
                if view.start in home.pieces
                else f"Share of the {name} seen",
                note="more is better",
                low=0.0,
                high=1.0,
                kind="share",
                limit=view.at_least,
            ),
        )
        for row, share in zip(rows, views, strict=True):
            row.insert(1, share)
    options = []
    for row, (_, result) in zip(rows, results.items(), strict=True):
        lines = brief(desk.project, layout=result)
        first = result.routes[0] if result.routes else None
        options.append(
            Option(
                name=result.layout.name,
                layout=result.layout,
                values=tuple(row),
                sentence=_sentence(home, result),
                brief=brief_sentence(lines),
                routes=tuple(r.line for r in result.routes[:1] if r.line),
                sight=tuple(v.view for v in result.views if _wished(home, v.piece)),
                narrow=first.floor.points if first and first.floor else None,
            )
        )
    return [
        options_sheet(
            home,
            options,
            measures=measures,
            block=block(f"{len(options)} layouts on one scale"),
            paper=desk.large,
        )
    ]


def _light(desk: _Desk, block: Callable[[str], TitleBlock]) -> Sequence[Drawing]:
    result = analyse_light(desk.home, layout=desk.layout, folder=desk.folder)
    return [
        ceiling_plan(
            desk.home,
            desk.home.layouts[desk.layout],
            light=result,
            block=block("Ceiling and light"),
            answer=light_answer(result),
            paper=desk.large,
            photometry=photometry_of(desk.home, desk.folder),
        )
    ]


def _of_scheme(name: str) -> Maker:
    """A sheet of the scheme; they share their light and views."""

    def make(desk: _Desk, block: Callable[[str], TitleBlock]) -> Sequence[Drawing]:
        return desk.scheme.sheets(name, block=block)

    return make


def _scenarios(desk: _Desk, block: Callable[[str], TitleBlock]) -> Sequence[Drawing]:
    return [scenarios(desk.of_money(), block=block("Budget scenarios"), paper=desk.small)]


def _chance(desk: _Desk, block: Callable[[str], TitleBlock]) -> Sequence[Drawing]:
    return [chance(desk.of_money(), block=block("Chance to stay under the cap"), paper=desk.small)]


def _best(desk: _Desk, block: Callable[[str], TitleBlock]) -> Sequence[Drawing]:
    return [best_figure(best_set(desk.project), block=block("Best set"), paper=desk.small)]


def _frontier(desk: _Desk, block: Callable[[str], TitleBlock]) -> Sequence[Drawing]:
    steps = frontier(desk.project)
    return [frontier_figure(steps, block=block("What more money buys"), paper=desk.small)]


def _cash(desk: _Desk, block: Callable[[str], TitleBlock]) -> Sequence[Drawing]:
    weeks = cash(desk.project, today=desk.today)
    return [cash_figure(weeks, block=block("Money week by week"), paper=desk.small)]


def _places(desk: _Desk, block: Callable[[str], TitleBlock]) -> Sequence[Drawing]:
    return [
        places_figure(
            candidates_for(desk.project, line=line.id, today=desk.today),
            units=desk.home.units,
            chosen=line.id,
            block=block(f"Candidates, {line.item}"),
            paper=desk.small,
        )
        for line in lines_with_choices(desk.project)
    ]


def _quotes(desk: _Desk, block: Callable[[str], TitleBlock]) -> Sequence[Drawing]:
    found: list[Drawing] = []
    for scope in desk.home.scopes:
        result = level(desk.project, scope=scope, on=desk.today.isoformat())
        found += quotes(result, block=block(f"Quotes, {result.name}"), paper=desk.small)
    return found


def _schedule(desk: _Desk, block: Callable[[str], TitleBlock]) -> Sequence[Drawing]:
    result = programme(desk.project, today=desk.today)
    return [schedule(result, block=block("Schedule back from installation"), paper=desk.small)]


def _orders(desk: _Desk, block: Callable[[str], TitleBlock]) -> Sequence[Drawing]:
    return desk.tables(programme(desk.project, today=desk.today), block("Order by"))


def _furniture_table(desk: _Desk, block: Callable[[str], TitleBlock]) -> Sequence[Drawing]:
    rows = furniture_schedule(desk.project, layout=desk.layout, audience="client")
    return desk.tables(rows, block("Furniture schedule"))


def _finish_plan(desk: _Desk, block: Callable[[str], TitleBlock]) -> Sequence[Drawing]:
    return [finish_plan_sheet(desk.home, block=block("Finish plan"), paper=desk.large)]


def _finish_table(desk: _Desk, block: Callable[[str], TitleBlock]) -> Sequence[Drawing]:
    rows = finish_schedule(desk.project, audience="client")
    return desk.tables(rows, block("Finish schedule"))


def _takeoff(desk: _Desk, block: Callable[[str], TitleBlock]) -> Sequence[Drawing]:
    rows = takeoff(desk.project, desk.layout)
    return desk.tables(rows, block("Quantities to order"))


def _cutting(kind: str, title: str) -> Maker:
    """Each thing of a kind that the project draws, with the drawing that proves it."""

    def make(desk: _Desk, block: Callable[[str], TitleBlock]) -> Sequence[Drawing]:
        found = []
        for one in subjects(desk.project, layout=desk.layout):
            if one.kind == kind and one.drawn:
                foot = block(f"{title}, {one.name}")
                try:
                    view = drawn_view(desk.project, one, layout=desk.layout)
                except InputError as error:
                    # The sheet says what is wrong; the others of the set are made.
                    question = f"How much for the {one.name}?"
                    sheet = open_sheet(
                        foot,
                        question=question,
                        answer=f"Not worked out: {error}.",
                        paper=desk.large,
                        scale="–",
                    )
                    found.append(sheet.drawing((), title=question, text=f"{error}."))
                else:
                    found.append(view_figure(view, block=foot, paper=desk.large))
        return found

    return make


def _has(kind: str) -> Callable[[Project], bool]:
    def has(project: Project) -> bool:
        if not project.home.layouts:
            return False
        return any(one.kind == kind and one.drawn for one in subjects(project))

    return has


def _survey(desk: _Desk, block: Callable[[str], TitleBlock]) -> Sequence[Drawing]:
    return survey_set(desk.home, block=block, paper=desk.large)


def _dressed(project: Project) -> bool:
    return bool(project.home.finishes and project.home.layouts)


def _finished(project: Project) -> bool:
    return bool(project.home.finishes and project.home.rooms)


_SCHEME = ("other-finishes", "what-meets-what", "two-samples", "under-lamps")

# name -> title, drawing number, maker, and what the project must hold for it
_SET: dict[str, tuple[str, str, Maker, Callable[[Project], bool]]] = {
    "survey": ("Survey", "L-101", _survey, lambda p: bool(p.home.walks)),
    "furniture-plan": ("Furniture plan", "L-201", _furniture, lambda p: bool(p.home.layouts)),
    "layout-options": ("Layout options", "L-202", _layouts, lambda p: len(p.home.layouts) > 1),
    "finish-plan": ("Finish plan", "L-203", _finish_plan, _finished),
    "light": (
        "Ceiling and light",
        "L-204",
        _light,
        lambda p: any(layout.lamps for layout in p.home.layouts.values()),
    ),
    "share-of-black": ("Share of black", "D-301", _of_scheme("share-of-black"), _dressed),
    "finishes": ("Finishes", "D-302", _of_scheme("finishes"), _dressed),
    "other-finishes": ("Other finishes", "D-303", _of_scheme("other-finishes"), _dressed),
    "what-meets-what": ("What meets what", "D-304", _of_scheme("what-meets-what"), _dressed),
    "two-samples": ("Sample against sample", "D-305", _of_scheme("two-samples"), _dressed),
    "under-lamps": ("Under lamps", "D-306", _of_scheme("under-lamps"), _dressed),
    "budget-scenarios": ("Budget scenarios", "D-401", _scenarios, lambda p: bool(p.costs)),
    "budget-chance": (
        "Chance to stay under the cap",
        "D-402",
        _chance,
        lambda p: bool(p.costs) and p.home.brief.budget is not None,
    ),
    "best-set": (
        "Best set",
        "D-404",
        _best,
        lambda p: p.home.brief.budget is not None and bool(lines_with_choices(p)),
    ),
    "one-more-step": (
        "What more money buys",
        "D-405",
        _frontier,
        lambda p: p.home.brief.budget is not None and bool(lines_with_choices(p)),
    ),
    "week-by-week": ("Money week by week", "D-406", _cash, lambda p: bool(p.costs)),
    "candidates": ("Candidates", "D-407", _places, lambda p: bool(lines_with_choices(p))),
    "quotes": ("Quotes", "D-403", _quotes, lambda p: bool(p.home.scopes and p.quotes)),
    "schedule": (
        "Schedule back from installation",
        "D-501",
        _schedule,
        lambda p: bool(p.tasks and p.home.brief.date),
    ),
    "orders": (
        "Order by",
        "D-502",
        _orders,
        lambda p: bool(p.tasks and p.costs and p.home.brief.date),
    ),
    "furniture-schedule": (
        "Furniture schedule",
        "D-601",
        _furniture_table,
        lambda p: bool(p.home.layouts),
    ),
    "finish-schedule": ("Finish schedule", "D-602", _finish_table, lambda p: bool(p.home.finishes)),
    "take-off": ("Quantities to order", "D-603", _takeoff, lambda p: bool(p.home.layouts)),
    "drapery": ("Drapery", "D-604", _cutting("drapery", "Take-off"), _has("drapery")),
    "upholstery": ("Upholstery", "D-605", _cutting("upholstery", "Take-off"), _has("upholstery")),
    "wallcovering": (
        "Wallcovering",
        "D-606",
        _cutting("wallcovering", "Take-off"),
        _has("wallcovering"),
    ),
    "paint": ("Paint", "D-607", _cutting("paint", "Take-off"), _has("paint")),
    "rugs": ("Rugs", "D-608", _cutting("rugs", "Take-off"), _has("rugs")),
    "ceilings": ("Textured ceilings", "D-609", _cutting("ceilings", "Take-off"), _has("ceilings")),
    "glass-and-stone": (
        "Glass and stone",
        "D-610",
        _cutting("glass and stone", "Take-off"),
        _has("glass and stone"),
    ),
    "canvas": ("Canvas", "D-611", _cutting("canvas", "Take-off"), _has("canvas")),
    "floor-boxes": (
        "Floor boxes",
        "D-612",
        _cutting("floor boxes", "Take-off"),
        _has("floor boxes"),
    ),
}
NAMES = tuple(_SET)


def sheet_set(
    project: Project,
    *,
    names: Sequence[str] = NAMES,
    layout: str = "",
    folder: Path | None = None,
    today: datetime.date,
) -> list[Entry]:
    """The sheets of a project that it has the data for.

    Parameters
    ----------
    project : Project
        From `designkit.project.read`.
    names : sequence of str
        Some of `NAMES`.
    layout : str
        The layout that the sheets show; "" is the current one.
    folder : Path, optional
        The project folder, for photometric files.
    today : date
        Printed as the sheet's date, and the day that dates are counted from.

    Returns
    -------
    list of Entry
        In the order of the set; a sheet that the project has no data for is
        not there.

    Raises
    ------
    LookupFailed
        A name is not in the set, or there is no such layout.
    """
    for name in names:
        if name not in _SET:
            raise LookupFailed(
                "figure",
                given=name,
                allowed=", ".join(NAMES),
                mend="use one of these",
            )
    id = layout_id(project.home, layout) if project.home.layouts else ""
    desk = _Desk(project=project, layout=id, folder=folder, today=today)
    chosen = [
        name
        for name in NAMES
        if name in names
        and _SET[name][3](project)
        and (name not in _SCHEME or desk.scheme.has(name))
    ]
    found = []
    for sheet, name in enumerate(chosen, start=1):
        title, number, maker, _ = _SET[name]

        def block(words: str, number: str = number, sheet: int = sheet) -> TitleBlock:
            return desk.block(words, number, sheet, len(chosen))

        found.append(Entry(name=name, title=title, drawings=tuple(maker(desk, block))))
    return found
