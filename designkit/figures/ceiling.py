"""Reflected ceiling plan: where the light comes from, and how much of it lands where.

As a sheet it carries the findings, the light found beside the light wanted,
the luminaires, what boxes and circuits carry, and a key; as a page it is the
drawing alone, cropped. Numbers in the tables, in the sentences and on the
drawing come from one `LightResult`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import shapely
from shapely import STRtree

from designkit.errors import InputError, LookupFailed
from designkit.figures import blocks, ink, marks
from designkit.figures import shell as shells
from designkit.figures import type as lettering
from designkit.figures.ceiling_findings import finding_marks
from designkit.figures.ceiling_parts import Parts, ceiling_parts
from designkit.figures.ceiling_words import (
    finding_words,
    light_answer,
    light_findings,
    wanted_words,
    words_column,
)
from designkit.figures.drawing import XY, Drawing, Hatch, Line, Polygon, Primitive, Text
from designkit.figures.isolux import LEVELS, LINE, THICK, THIN, isolux_items
from designkit.figures.light_bars import layer_items
from designkit.figures.sheet import (
    Area,
    TitleBlock,
    drawing_sheet,
    fitting_scale,
    scale_bar,
    scale_text,
)
from designkit.lighting.distribution import Photometry
from designkit.lighting.lumen_method import Reflectances
from designkit.lighting.quick import LightResult
from designkit.model import Finding, Home, Layout
from designkit.units import IMPERIAL, on_sheet, short_length

__all__ = ["SHOW", "ceiling_plan", "light_answer", "light_findings"]

SHOW = ("isolux", "switching", "furniture", "dimensions", "names", "findings")
COLUMN = 146.0
KEY_PITCH = 6.0


def ceiling_plan(
    home: Home,
    layout: Layout,
    *,
    light: LightResult,
    block: TitleBlock | None = None,
    page: bool = False,
    dimmed: bool = False,
    findings: Sequence[Finding] | None = None,
    show: Sequence[str] = SHOW,
    plane: float = 0.75,
    levels: Sequence[float] = LEVELS,
    units: str = "",
    paper: str = "A3",
    scale: int | None = None,
    rooms: Sequence[str] = (),
    answer: str = "",
    reflectances: Reflectances | Mapping[str, Reflectances] | None = None,
    photometry: Mapping[str, Photometry] | None = None,
) -> Drawing:
    """Reflected ceiling plan with isolux lines.

    Parameters
    ----------
    home : Home
        Rooms, openings, services, fixtures.
    layout : Layout
        Pieces, lamps and drapery.
    light : LightResult
        What was found for this layout.
    block : TitleBlock, optional
        What the title block says; needed for a sheet.
    page : bool
        The drawing alone, cropped, for a page.
    dimmed : bool
        Isolux lines with the lamps as dimmed in `light`, not at full power.
    findings : sequence of Finding, optional
        In the order of their numbers; `light_findings` where not given.
    show : sequence of str
        Some of `SHOW`.
    plane : float
        Height of the plane of the isolux lines. [m]
    levels : sequence of float
        Light on the lines. [lx]
    units : str
        Unit of the dimensions; the home's own without it.
    paper : str
        A key of `designkit.figures.sheet.PAPERS`.
    scale : int, optional
        50 for 1:50; the largest from 1:50 (¼ in to the foot) that fits without it.
    rooms : sequence of str
        Ids of the rooms to draw; all without it.
    answer : str
        The sentence under the heading; `light_answer` where not given.
    reflectances : Reflectances or mapping of str to Reflectances, optional
        As they were given for the light.
    photometry : mapping of str to Photometry, optional
        As they were given for the light.

    Returns
    -------
    Drawing
        Sheet or page.

    Raises
    ------
    InputError
        A sheet has no title block, the plan does not fit the paper, or the
        plane is not within the room.
    LookupFailed
        `show` has a word that is not in `SHOW`, or a room is not there.
    """
    for word in show:
        if word not in SHOW:
            raise LookupFailed(
                "show", given=word, allowed=", ".join(SHOW), mend="use some of these"
            )
    for room in rooms:
        if room not in home.rooms:
            raise LookupFailed("room", given=room, allowed=", ".join(home.rooms))
    units = units or home.units
    shown = light_findings(light) if findings is None else tuple(findings)
    if "findings" not in show:
        shown = ()
    made = _Plan(
        home=home,
        layout=layout,
        light=light,
        dimmed=dimmed,
        show=show,
        plane=plane,
        levels=levels,
        units=units,
        rooms=tuple(rooms),
        reflectances=reflectances,
        photometry=photometry,
    )
    if page:
        return made.page(shown, scale=scale or (48 if units in IMPERIAL else 50))
    if block is None:
        raise InputError(
            "title block", given="none", allowed="a TitleBlock", mend="give one, or ask for a page"
        )
    return made.sheet(
        shown, block=block, paper=paper, scale=scale, answer=answer or light_answer(light)
    )


class _Plan:
    """One ceiling plan in the making."""

    def __init__(
        self,
        *,
        home: Home,
        layout: Layout,
        light: LightResult,
        dimmed: bool,
        show: Sequence[str],
        plane: float,
        levels: Sequence[float],
        units: str,
        rooms: tuple[str, ...],
        reflectances: Reflectances | Mapping[str, Reflectances] | None,
        photometry: Mapping[str, Photometry] | None,
    ) -> None:
        self.home, self.layout, self.light = home, layout, light
        self.dimmed, self.show, self.plane, self.levels = dimmed, show, plane, levels
        self.units, self.rooms = units, rooms
        self.reflectances, self.photometry = reflectances, photometry
        self.imperial = units in IMPERIAL
        self.drawn_levels: tuple[str, ...] = ()

    # --- the drawing ---

    def parts(self, base: shells.Shell) -> Parts:
        return ceiling_parts(
            self.home,
            self.layout,
            light=self.light,
            base=base,
            units=self.units,
            chain_at=10.5 if "dimensions" in self.show else None,
            reflectances=self.reflectances,
            photometry=self.photometry,
        )

    def items(self, parts: Parts, findings: Sequence[Finding]) -> list[Primitive]:
        numbers, room = finding_marks(findings, parts)
        items: list[Primitive] = []
        if "furniture" in self.show:
            items += parts.floor
        lines: list[Primitive] = []
        figures: list[Primitive] = []
        if "isolux" in self.show:
            shares = {row.id: row.dim for row in self.light.lamps} if self.dimmed else None
            blocked = STRtree([*parts.blocked, *room])
            for field in parts.fields(self.plane):
                drawn, said = isolux_items(
                    field,
                    scale=parts.base.scale,
                    origin=parts.base.origin,
                    shares=shares,
                    levels=self.levels,
                    blocked=blocked,
                )
                lines += drawn
                figures += said
        self.drawn_levels = tuple(dict.fromkeys(item.about for item in lines))
        items += lines
        items += parts.fabric
        if "switching" in self.show:
            items += [i for i in parts.wiring if isinstance(i, Line)]
        items += figures
        items += parts.symbols
        if "switching" in self.show:
            items += [i for i in parts.wiring if isinstance(i, Text)]
        if "names" in self.show:
            items += parts.names
        items += parts.chains
        return items + numbers

    def caption(self) -> str:
        state = "lamps as dimmed" if self.dimmed else "all lamps at full power"
        words = (
            f"isolux lines in lx, evening, {state}, "
            f"plane {short_length(self.plane, units=self.units)} above floor"
        )
        if self.imperial:
            words += "; 10.8\u00a0lx are 1\u00a0foot-candle"
        return words + ("; furniture drawn faint" if "furniture" in self.show else "")

    def page(self, findings: Sequence[Finding], *, scale: int) -> Drawing:
        around = 24.0 if "dimensions" in self.show else 7.0
        base = shells.shell(
            self.home,
            scale=scale,
            rooms=self.rooms,
            margins=(around, around + 14.0, around, around),
        )
        parts = self.parts(base)
        items = self.items(parts, findings)
        x0, _, x1, _ = base.bounds
        items += scale_bar(
            x0, 4.0, scale, imperial=self.imperial, length=min(52.0, (x1 - x0) * 0.4)
        )
        items += marks.north((x1 - 5.0, 6.4), self.home.north, diameter=7.0)
        words = lettering.shorten(self.caption(), size=ink.NAME, width=x1 - x0 - 12)
        items.append(Text(at=(x0, 12.6), text=words, size=ink.NAME, ink=ink.GREY_2))
        return Drawing(
            width=base.width,
            height=base.height,
            items=tuple(items),
            title=f"Reflected ceiling plan of {self.home.name}, {self.layout.name}",
            text=self.alternative(parts, findings, scale),
            scale=scale,
        )

    def alternative(self, parts: Parts, findings: Sequence[Finding], scale: float) -> str:
        lamps = ", ".join(
            f"{g.letter}: {len(g.ids)} {g.row.name}"
            if len(g.ids) > 1
            else f"{g.letter}: {g.row.name}"
            for g in parts.groups
        )
        found = "; ".join(
            f"{row.name} {row.full:.0f} lx"
            + (f" of {wanted_words(row)} wanted, {row.verdict}" if row.verdict else "")
            for row in self.light.rows
        )
        said = " ".join(
            f"{n}: {f.verdict}: {finding_words(f, units=self.units)}"
            for n, f in enumerate(findings, start=1)
        )
        lines = ", ".join(w.removesuffix(" lx") for w in self.drawn_levels)
        return " ".join(
            t
            for t in (
                f"Reflected ceiling plan of {self.home.name}, layout “{self.layout.name}”, at "
                f"{scale_text(scale, imperial=self.imperial)}.",
                f"Luminaires: {lamps}." if lamps else "There is no luminaire.",
                f"{self.caption().capitalize()}; lines at {lines}." if lines else "",
                f"Light found: {found}." if found else "",
                f"Findings: {said}" if said else "",
            )
            if t
        )

    # --- the sheet ---

    def sheet(
        self,
        findings: Sequence[Finding],
        *,
        block: TitleBlock,
        paper: str,
        scale: int | None,
        answer: str,
    ) -> Drawing:
        blank = drawing_sheet(
            block, paper=paper, scales=(), north=self.home.north, imperial=self.imperial
        )
        area = blank.area
        column = min(COLUMN, 0.4 * area.width)
        left = Area(
            left=area.left,
            bottom=area.bottom,
            right=area.right - column - 10.0,
            top=area.top - 16.0,
        )
        small = shells.shell(self.home, scale=50, rooms=self.rooms, words=False)
        x0, y0, x1, y1 = small.bounds
        wide, high = (x1 - x0) / 20, (y1 - y0) / 20
        probe = self.parts(small)
        entries = self.key_entries(probe, findings)
        tall = high > 1.2 * wide
        cell = 17.0 + max(lettering.advance(words, size=ink.READING) for _, words in entries)
        per_row = 1 if tall else max(1, int(left.width // cell))
        key_high = 9.1 + math.ceil(len(entries) / per_row) * KEY_PITCH - 2.6
        around = 24.0 if "dimensions" in self.show else 8.0
        inner = Area(
            left=left.left + around,
            bottom=left.bottom + (20.5 if around > 20 else 8.0) + (0.0 if tall else key_high),
            right=left.right - around - (62.0 if tall else 0.0),
            top=left.top - (13.0 if "dimensions" in self.show else 5.0),
        )
        if scale is None:
            least = 48 if self.imperial else 50
            scale = fitting_scale(wide, high, into=inner, imperial=self.imperial, least=least)
        elif wide * 1000 / scale > inner.width + 0.01 or high * 1000 / scale > inner.height + 0.01:
            raise InputError(
                "scale",
                given=scale_text(scale, imperial=self.imperial),
                allowed=f"a plan of {wide:.2f} × {high:.2f} m within "
                f"{inner.width:.0f} × {inner.height:.0f} mm",
                mend="take a smaller scale or a larger paper",
            )
        sheet = drawing_sheet(
            block, paper=paper, scales=(scale,), north=self.home.north, imperial=self.imperial
        )
        base = shells.shell(
            self.home,
            scale=scale,
            rooms=self.rooms,
            paper=(sheet.width, sheet.height),
            middle=inner.middle,
        )
        parts = self.parts(base)
        column_items, listed = words_column(
            self.light,
            x=area.right - column,
            area=area,
            width=column,
            groups=parts.groups,
            findings=findings,
            units=self.units,
        )
        items = self.items(parts, listed)
        items += self.heading(left, area, scale, answer)
        if tall:
            x = base.bounds[2] + around + 8.0
            width = left.right - x
            top = left.top - 4.0
            items += self.key(entries, parts, (x, top), 1, width)
            items += self.layers((x, top - key_high - 8.0), width, left.bottom)
        else:
            items += self.key(
                entries, parts, (left.left, left.bottom + key_high - 6.0), per_row, left.width
            )
        items += column_items
        return sheet.drawing(
            items,
            title=f"{block.title}, {self.home.name}",
            text=f"{answer} {self.alternative(parts, listed, scale)}",
            scale=scale,
        )

    def heading(self, left: Area, area: Area, scale: int, answer: str) -> list[Primitive]:
        heights = {
            room.height: None
            for id, room in self.home.rooms.items()
            if room.use not in shells.OUTDOORS and (not self.rooms or id in self.rooms)
        }
        said = " and ".join(short_length(h, units=self.units) for h in heights)
        y = area.top
        scale_words = scale_text(scale, imperial=self.imperial)
        more = lettering.advance(scale_words, size=ink.HEADING)
        words = lettering.shorten(
            f"Ceiling {said} above finished floor, seen as in a mirror",
            size=ink.HEADING,
            width=left.width - more - 4,
            weight="semibold",
        )
        wide = lettering.advance(words, size=ink.HEADING, weight="semibold")
        items: list[Primitive] = [
            Text(at=(left.left, y), text=words, size=ink.HEADING, weight="semibold"),
            Text(at=(left.left + wide + 4, y), text=scale_words, size=ink.HEADING),
            blocks.rule(left.left, y - 2.7, wide + 4 + more),
        ]
        lines, below = blocks.sentence(
            left.left, y - 8.4, left.width, answer, weight="semibold", most=1
        )
        items += lines
        caption = lettering.shorten(self.caption(), size=ink.NAME, width=left.width)
        items.append(Text(at=(left.left, below - 0.2), text=caption, size=ink.NAME, ink=ink.GREY_2))
        return items

    def key_entries(self, parts: Parts, findings: Sequence[Finding]) -> list[tuple[str, str]]:
        entries = []
        for kind in parts.keys:
            words = marks.SYMBOLS[kind][0]
            if kind == "switch" and parts.switch_height is not None:
                words = f"switch, at {on_sheet(parts.switch_height, units=self.units)}"
            entries.append((kind, words))
        if "switching" in self.show and parts.wiring:
            entries.append(("wire", "switched together"))
        if "isolux" in self.show and bool(parts.groups):
            entries.append(("isolux", "isolux lines, light in lx"))
        if any(f.at is not None for f in findings):
            entries.append(("finding", "place of a finding"))
        return entries

    def key(
        self, entries: Sequence[tuple[str, str]], parts: Parts, at: XY, per_row: int, width: float
    ) -> list[Primitive]:
        items, y = blocks.heading(
            at[0],
            at[1],
            width,
            "Key",
            note="in the manner of IEC 60617; this key rules" if width > 90 else "",
        )
        cell = width / per_row
        for index, (kind, words) in enumerate(entries):
            x = at[0] + (index % per_row) * cell
            row = y - (index // per_row) * KEY_PITCH
            items += _sample(kind, (x + 5.5, row + 1.2))
            words = lettering.shorten(words, size=ink.READING, width=cell - 16)
            items.append(Text(at=(x + 13.5, row), text=words, size=ink.READING))
        return items

    def layers(self, at: XY, width: float, bottom: float) -> list[Primitive]:
        """Layers of light, where the plan leaves room for them."""
        if not self.light.layers or width < 60 or at[1] - bottom < 60:
            return []
        head, y = blocks.heading(at[0], at[1], width, "Layers", note="lm after the shade")
        made, _ = layer_items(self.light, x=at[0], y=y, width=width, room=y - bottom)
        return [*head, *made]


def _sample(kind: str, at: XY) -> list[Primitive]:
    """What the key shows; `at` is its middle."""
    x, y = at
    ends = ((x - 5.5, y), (x + 5.5, y))
    if kind == "wire":
        return [Line(points=ends, weight=0.18, dash=ink.DASH_SWITCH)]
    if kind == "isolux":
        return [
            Line(points=((x - 5.5, y + 0.8), (x + 5.5, y + 0.8)), weight=THICK, ink=LINE),
            Line(points=((x - 5.5, y - 0.8), (x + 5.5, y - 0.8)), weight=THIN, ink=LINE),
        ]
    if kind == "finding":
        outline = tuple(
            map(
                tuple,
                shapely.get_coordinates(shapely.Point(at).buffer(2.5, quad_segs=6))[:-1].tolist(),
            )
        )
        style = ink.FINDING
        return [
            Hatch(
                outline=outline,
                angle=style.angle,
                spacing=style.spacing,
                weight=style.weight,
                ink=style.ink,
            ),
            Polygon(outline=outline, weight=style.weight, ink=style.ink),
        ]
    if kind in ("socket", "wall outlet", "wall light", "switch"):
        return marks.symbol(kind, (x - 1.8, y - (1.0 if kind == "switch" else 0.0)), angle=0.0)
    return marks.symbol(kind, at)
