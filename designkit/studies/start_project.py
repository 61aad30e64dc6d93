"""One project as the start page shows it: plan, brief, budget, or what to mend."""

from __future__ import annotations

import contextlib
import datetime
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from designkit import project as files
from designkit.analyses.of_brief import BriefLine, brief, brief_sentence
from designkit.analyses.of_layout import layout as analyse
from designkit.errors import DesignkitError, FileFormatError
from designkit.figures import ink, marks
from designkit.figures import shell as shells
from designkit.figures.blocks import sentence
from designkit.figures.dimensions import chain
from designkit.figures.drawing import Drawing
from designkit.figures.plan import plan_items
from designkit.figures.sheet import scale_bar, scale_text
from designkit.model import Edit, Home, Layout, Opening, Room
from designkit.project.problems import ProjectErrors
from designkit.units import IMPERIAL, feet_inches, on_sheet, read

__all__ = [
    "Shown",
    "card_picture",
    "card_plan",
    "changed",
    "in_feet",
    "look_at",
    "plan_of",
    "room_card",
    "start_project",
    "words_of",
]

FRONT = (260.0, 112.0)  # paper of the large plan [mm]
FRONT_LONG, LONG = 150.0, 1.4  # its height for a long home, and from which ratio on
BESIDE, ROUND = 58.0, 13.0  # kept free beside, above and below it
CARD = (90.0, 62.0)  # paper of a small one [mm]
# Of pictures for the screen; sheets keep to the drafting scales.
SCALES = (20, 25, 50, 75, 100, 125, 150, 200, 250, 300, 400, 500, 1000)
SCALES_FEET = (24, 32, 48, 64, 96, 128, 192, 384, 768)
# Keys of the starter that hold lengths.
LENGTHS = ("outline", "height", "offset", "width", "head", "sill", "size", "at")


@dataclass(frozen=True, kw_only=True, eq=False)
class Shown:
    """A project folder as it was read, or what is wrong with it."""

    folder: Path
    name: str
    opened: files.Opened | None = None
    problems: tuple[str, ...] = ()
    stamp: tuple[tuple[str, int], ...] = field(default=())

    @property
    def home(self) -> Home | None:
        """The home, where it could be read."""
        return self.opened.project.home if self.opened else None


def _stamp(folder: Path) -> tuple[tuple[str, int], ...]:
    """When the files of a project were last written."""
    found = []
    for name in ("project.toml", "costs.csv", "quotes.csv", "tasks.csv"):
        with contextlib.suppress(OSError):
            found.append((name, (folder / name).stat().st_mtime_ns))
    return tuple(found)


def changed(shown: Shown) -> bool:
    """Whether a file of the project was written since it was looked at.

    Parameters
    ----------
    shown : Shown
        From `look_at`.

    Returns
    -------
    bool
        True as well where it has gone or come back.
    """
    return _stamp(shown.folder) != shown.stamp


def look_at(folder: Path, *, name: str = "") -> Shown:
    """Read a project; what is wrong with it is told, not raised.

    Parameters
    ----------
    folder : Path
        The project.
    name : str
        What it is called where it cannot be read.

    Returns
    -------
    Shown
        With the project, or with its problems.
    """
    stamp = _stamp(folder)
    try:
        opened = files.read(folder)
    except ProjectErrors as errors:
        problems = tuple(str(p) for p in errors.problems)
    except (FileFormatError, OSError) as error:
        problems = (str(error),)
    else:
        return Shown(folder=folder, name=opened.project.home.name, opened=opened, stamp=stamp)
    return Shown(folder=folder, name=name or folder.name, problems=problems, stamp=stamp)


# --- pictures ------------------------------------------------------------------


def _layout(home: Home) -> Layout:
    return home.layouts.get(home.layout) or next(
        iter(home.layouts.values()), Layout(name="no layout yet")
    )


def _scale(home: Home, room: tuple[float, float]) -> float:
    """The largest usual scale at which the walls fit into a room on paper. [mm]"""
    x0, y0, x1, y1 = shells.shell(home, scale=100).bounds
    scales = SCALES_FEET if home.units in IMPERIAL else SCALES
    wide, high = (x1 - x0) * 100, (y1 - y0) * 100
    fits = (s for s in scales if wide / s <= room[0] and high / s <= room[1])
    return next(fits, scales[-1])


def plan_of(home: Home) -> Drawing:
    """The current layout, named and to scale, on a paper that is wider than high.

    Parameters
    ----------
    home : Home
        What is drawn.

    Returns
    -------
    Drawing
        With scale bar and north arrow beside the plan.
    """
    layout = _layout(home)
    imperial = home.units in IMPERIAL
    width, height = FRONT
    x0, y0, x1, y1 = shells.shell(home, scale=100).bounds
    if y1 - y0 > LONG * (x1 - x0):
        height = FRONT_LONG
    scale = _scale(home, (width - 2 * BESIDE, height - 2 * ROUND))
    base = shells.shell(home, scale=scale, paper=(width, height), middle=(width / 2, height / 2))
    items = [
        *plan_items(home, layout, base=base, show=("names",)),
        *scale_bar(4.0, 5.0, scale, imperial=imperial, length=BESIDE - 28.0),
        *marks.north((width - 14.0, 8.0), home.north, diameter=8.0),
    ]
    text = f"Plan of {home.name}, {layout.name}"
    return Drawing(
        width=width,
        height=height,
        items=tuple(items),
        title=text,
        text=f"{text}, at {scale_text(scale, imperial=imperial)}.",
        scale=round(scale),
    )


def card_plan(home: Home, *, around: float = 4.0) -> Drawing:
    """The current layout as a small picture, without names and foot.

    Parameters
    ----------
    home : Home
        What is drawn.
    around : float
        Kept free round the walls. [mm]

    Returns
    -------
    Drawing
        Of the size of a card.
    """
    layout = _layout(home)
    scale = _scale(home, (CARD[0] - 2 * around, CARD[1] - 2 * around))
    middle = (CARD[0] / 2, CARD[1] / 2)
    base = shells.shell(home, scale=scale, paper=CARD, middle=middle, words=False)
    items = plan_items(home, layout, base=base, show=(), room_names=False)
    text = f"Small plan of {home.name}, {layout.name}"
    return Drawing(
        width=CARD[0],
        height=CARD[1],
        items=tuple(items),
        title=text,
        text=f"{text}.",
        scale=round(scale),
    )


def room_card() -> Drawing:
    """The picture of "my room": a bare room with its dimensions.

    Returns
    -------
    Drawing
        Of the size of a card.
    """
    outline = ((0.0, 0.0), (5.2, 0.0), (5.2, 3.9), (0.0, 3.9))
    home = Home(
        name="my room",
        rooms={"room": Room(name="", outline=outline, height=2.6)},
        openings={
            "door": Opening(
                room="room",
                wall=3,
                offset=0.4,
                width=0.9,
                head=2.05,
                kind="door",
                hinge="left",
                swing="in",
            ),
            "window": Opening(
                room="room", wall=1, offset=0.9, width=2.1, sill=0.85, head=2.3, kind="window"
            ),
        },
    )
    drawing = card_plan(home, around=14.0)
    wide, high = (side * 1000 / (drawing.scale or 1) for side in outline[2])
    x, y = (CARD[0] - wide) / 2, (CARD[1] - high) / 2
    words = [on_sheet(side) for side in outline[2]]
    return drawing.plus(
        [
            *chain([x, x + wide], words[:1], at=y - 9.0),
            *chain([y, y + high], words[1:], at=x - 9.0, axis="y"),
        ]
    )


def card_picture(shown: Shown | None, *, words: str = "") -> Drawing:
    """The small picture of a project; words where there is no plan.

    Parameters
    ----------
    shown : Shown or None
        From `look_at`; None where the project has gone.
    words : str
        What stands there instead of a plan.

    Returns
    -------
    Drawing
        Of the size of a card.
    """
    if shown is not None and shown.home is not None:
        with contextlib.suppress(DesignkitError):
            return card_plan(shown.home)
    width, height = CARD
    items, _ = sentence(8, height / 2 + 2, width - 16, words, size=3.5, colour=ink.GREY_2, most=4)
    return Drawing(width=width, height=height, items=tuple(items), title=words, text=words)


# --- words -----------------------------------------------------------------------


def _results(shown: Shown) -> Iterator[tuple[str, Any]]:
    """The results that the brief is held against, as far as the project allows."""
    from designkit.analyses.of_light import light
    from designkit.analyses.of_scheme import balance
    from designkit.costs.budgeting import budget

    if shown.opened is None:
        return
    project, folder = shown.opened.project, shown.folder
    home = project.home
    id = home.layout or next(iter(home.layouts), "")
    tries: dict[str, Callable[[], Any]] = {
        "layout": lambda: analyse(home, layout=id),
        "light": lambda: light(home, layout=id, folder=folder),
        "balance": lambda: balance(project, layout=id),
        "budget": lambda: budget(project, draws=1000),
    }
    for name, work in tries.items():
        # What a project does not hold yet is no fault here: its study says what is missing.
        with contextlib.suppress(DesignkitError):
            yield name, work()


def words_of(shown: Shown) -> tuple[str, tuple[BriefLine, ...], str]:
    """What the project says in a sentence, its brief line by line, its budget line.

    Parameters
    ----------
    shown : Shown
        From `look_at`, of a project that could be read.

    Returns
    -------
    (str, tuple of BriefLine, str)
        Sentence, brief, and budget ("" where there are no cost lines).
    """
    from designkit.costs.money import money_text
    from designkit.schedule.dates import OrderBy, latest_orders

    if shown.opened is None:
        return "", (), ""
    project = shown.opened.project
    results = dict(_results(shown))
    orders: tuple[OrderBy, ...] = ()
    with contextlib.suppress(DesignkitError):  # no date in the brief
        orders = latest_orders(project, today=datetime.date.today())
    lines = brief(project, orders=orders, **results)
    asked = [line for line in lines if line.state != "not asked"]
    answer = f"{brief_sentence(lines)}." if asked else "The brief holds no wishes yet."
    money = ""
    if "budget" in results:
        column = results["budget"].columns[0]
        total = money_text(column.total, code=project.home.money.currency)
        money = f"Budget, {column.name.lower()}: {total}"
        money += f", {column.words}." if column.words else "; no cap is set."
    return answer, lines, money


# --- a new project ---------------------------------------------------------------


def _feet(value: object) -> object:
    """A length of the starter, to the nearest inch, as the file holds it."""
    if isinstance(value, list):
        return [_feet(v) for v in value]
    metres = read(value, units="m", what="length")
    return feet_inches(round(metres / 0.0254) * 0.0254, denominator=1, characters=False)


def in_feet(raw: Mapping[str, Any]) -> list[Edit]:
    """The changes that turn the starter in metres into one in feet and inches.

    Parameters
    ----------
    raw : mapping
        Content of its project.toml.

    Returns
    -------
    list of Edit
        Units, currency and each length, to the nearest inch.
    """
    edits = [
        Edit(path="units", old=raw["units"], new="ft"),
        Edit(path="money.currency", old=raw["money"]["currency"], new="USD"),
    ]

    def walk(value: Mapping[str, Any], path: str) -> None:
        for key, inner in value.items():
            here = f"{path}.{key}" if path else key
            if isinstance(inner, Mapping):
                walk(inner, here)
            elif key in LENGTHS:
                edits.append(Edit(path=here, old=inner, new=_feet(inner)))

    walk(raw, "")
    return edits


def start_project(folder: Path, *, feet: bool) -> Path:
    """Make a new project that bears its folder's name.

    Parameters
    ----------
    folder : Path
        New or empty.
    feet : bool
        Whether it is measured in feet and inches.

    Returns
    -------
    Path
        The folder.

    Raises
    ------
    InputError
        There is something in the folder.
    FileFormatError
        The folder cannot be made.
    """
    place = files.new(folder)
    raw = tomllib.loads((place / "project.toml").read_text(encoding="utf-8"))
    words = " ".join(place.name.replace("_", " ").replace("-", " ").split()) or place.name
    edits = [Edit(path="name", old=raw["name"], new=words[:1].upper() + words[1:])]
    if feet:
        edits += in_feet(raw)
    files.save(files.read(place), edits)
    return place
