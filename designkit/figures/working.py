"""A furnished plan in layers, so that a page can redraw one piece and not the rest.

The primitives are those of `plan`; each layer is the inside of an SVG in
paper millimetres, painted in the order ground, things, zones, ways, marks,
names, gaps, measures.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry import LineString
from shapely.geometry import Polygon as Shape

from designkit.figures import dimensions, ink, marks
from designkit.figures import shell as shells
from designkit.figures import type as lettering
from designkit.figures.drawing import XY, Circle, Drawing, Line, Polygon, Primitive, Text
from designkit.figures.furnishing import draw_piece, rank
from designkit.figures.measured import Measured, measure_items
from designkit.figures.plan import plan_items
from designkit.figures.planmarks import (
    finding_marks,
    line_of,
    rays_of,
    route_lines,
    sight_lines_of,
    words_of,
    zone_lines,
)
from designkit.figures.sheet import scale_bar
from designkit.figures.svg import to_svg
from designkit.model import Finding, Home, Layout, Point
from designkit.plan.place import Placed
from designkit.units import IMPERIAL

__all__ = ["Layers", "fragment", "layers_of", "place_of"]

AROUND, FAR, FOOT = 24.0, 19.0, 12.0  # room for chains of dimensions and the scale bar [mm]
WIDEST = 240.0  # paper wider than this goes to the next scale, or its words are too small [mm]
SCALES = (50, 100, 200)
ASIDE = 1.5  # from a short dimension to the text beside it [mm]
NEW = (5.5, 5.5)  # where the number of a new finding stands until the plan settles [mm]


def fragment(items: Sequence[Primitive], *, width: float, height: float) -> str:
    """Primitives as the inside of an SVG, without paper and title.

    Parameters
    ----------
    items : sequence of Primitive
        In painting order.
    width, height : float
        Of the paper that they are on. [mm]

    Returns
    -------
    str
        SVG elements; "" where there is nothing.

    Examples
    --------
    >>> fragment([Line(points=((0, 0), (9, 0)), weight=0.5, about="a")], width=9, height=9)
    '<g data-about="a"><path d="M0 9L9 9" stroke="#1b1b1b" stroke-width="0.5"/></g>'
    """
    if not items:
        return ""
    text = to_svg(Drawing(width=width, height=height, items=tuple(items)))
    start = text.index("/>", text.index('<path class="paper"')) + 2
    return text[start : text.rindex("</svg>")]


def place_of(finding: Finding) -> Point | None:
    """Where a finding is on the plan: as it says, else amid its area or its line.

    Parameters
    ----------
    finding : Finding
        From any layer.

    Returns
    -------
    Point or None
        [m]
    """
    if finding.at is not None:
        return finding.at
    points = finding.area or finding.line
    if not points:
        return None
    return (
        sum(p[0] for p in points) / len(points),
        sum(p[1] for p in points) / len(points),
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class Layers:
    """The sheet of one home, ready to draw its layers."""

    home: Home
    base: shells.Shell
    units: str

    def svg(self, items: Sequence[Primitive]) -> str:
        """Primitives as the inside of an SVG of this sheet.

        Parameters
        ----------
        items : sequence of Primitive
            In painting order.

        Returns
        -------
        str
            SVG elements.
        """
        return fragment(items, width=self.base.width, height=self.base.height)

    def ground(self, *, chains: bool) -> str:
        """Shell, words outside it, dimensions of the rooms, scale bar, north.

        Parameters
        ----------
        chains : bool
            Whether dimensions of the rooms are drawn.

        Returns
        -------
        str
            SVG elements.
        """
        imperial = self.units in IMPERIAL
        items = plan_items(
            self.home,
            Layout(name=""),
            base=self.base,
            units=self.units,
            show=("dimensions",) if chains else (),
        )
        x0, _, x1, _ = self.base.bounds
        long = min(52.0, (x1 - x0) * 0.45)
        items += scale_bar(x0 + 1.5, 4.2, self.base.scale, imperial=imperial, length=long)
        items += marks.north((x1 - 6.0, 6.4), self.home.north, diameter=7.0)
        said = "Check dimensions on site."
        start = x0 + long + 12.0
        if start + lettering.advance(said, size=ink.NAME) < x1 - 12.0:  # else north stands there
            items.append(Text(at=(start, 4.6), text=said, size=ink.NAME))
        return self.svg(items)

    def thing(self, placed: Placed, *, differs: bool = False) -> str:
        """One thing as it stands.

        Parameters
        ----------
        placed : Placed
            A piece or a lamp.
        differs : bool, optional
            Whether it stands elsewhere in the layout it is held against.

        Returns
        -------
        str
            SVG elements.
        """
        fill = ink.GREY_4 if differs else ink.PAPER
        return self.svg(
            draw_piece(placed, scale=self.base.scale, origin=self.base.origin, fill=fill)
        )

    def zones(self, placed: Placed) -> str:
        """Floor that the use of a thing needs.

        Parameters
        ----------
        placed : Placed
            A piece or a lamp.

        Returns
        -------
        str
            SVG elements.
        """
        return self.svg(zone_lines(placed, self.base, ink.pens(self.base.scale)))

    def ways(self, routes: Iterable[object], sight: Iterable[object], cone: Shape | None) -> str:
        """Lines of routes, of views, and the floor that a chosen seat sees ahead.

        Parameters
        ----------
        routes : iterable of object
            Lines of the plan layer.
        sight : iterable of object
            Views of the plan layer.
        cone : Shape or None
            The floor that the seat sees; None where no seat is chosen. [m]

        Returns
        -------
        str
            SVG elements.
        """
        return self.svg(self._ways(routes, sight, cone))

    def _ways(
        self, routes: Iterable[object], sight: Iterable[object], cone: Shape | None
    ) -> list[Primitive]:
        pens = ink.pens(self.base.scale)
        items: list[Primitive] = []
        for i, route in enumerate(routes):
            items += route_lines(line_of(route), self.base, pens, main=i == 0)[0]
        for view in sight:
            items += sight_lines_of(rays_of(view), self.base, pens)[0]
        if cone is not None and not cone.is_empty:
            ring = [self.base.paper((x, y)) for x, y in shapely.get_coordinates(cone.exterior)]
            items.append(
                Line(
                    points=tuple(ring[:-1]),
                    closed=True,
                    weight=pens.sight,
                    dash=pens.dash_sight,
                    about="cone of vision",
                )
            )
        return items

    def marks(self, findings: Sequence[Finding], offsets: Mapping[str, XY]) -> str:
        """Hatches, measured lines and numbers of findings, in this order.

        A number stands off its place as it did when the plan was last settled
        (`offsets`, by the subject of the finding), so that it keeps still while
        a piece moves.

        Parameters
        ----------
        findings : sequence of Finding
            In the order of their numbers.
        offsets : mapping of str to XY
            From the place of a finding to its number, by its subject. [mm]

        Returns
        -------
        str
            SVG elements.
        """
        pens = ink.pens(self.base.scale)
        items = finding_marks(findings, self.base, self.units, pens, [])
        over: list[Primitive] = []
        for number, finding in enumerate(findings, start=1):
            spot = place_of(finding)
            if spot is None:
                continue
            x, y = self.base.paper(spot)
            dx, dy = offsets.get(finding.what, NEW)
            at = (x + dx, y + dy)
            colour = ink.INK if finding.verdict == "passes" else ink.ACCENT
            about = f"finding {number}"
            items += marks.leader((x, y), at, gap=marks.KEYED / 2, colour=colour, about=about)
            over += marks.keyed(at, number, colour=colour, about=about)
        return self.svg([*items, *over])

    def settled(
        self,
        layout: Layout,
        placed: dict[str, Placed],
        *,
        findings: Sequence[Finding],
        routes: Sequence[object],
        sight: Sequence[object],
        show: Sequence[str],
    ) -> tuple[str, dict[str, str], dict[str, XY]]:
        """Marks of findings and the names of things, each put where it is read best.

        Parameters
        ----------
        layout : Layout
            As drawn.
        placed : dict of str to Placed
            Its pieces.
        findings : sequence of Finding
            In the order of their numbers.
        routes, sight : sequence
            Lines that names keep off.
        show : sequence of str
            Some of `designkit.figures.plan.SHOW`.

        Returns
        -------
        marks : str
        names : dict of str to str
            By the id of the thing; rooms and services are under "".
        offsets : dict of str to (float, float)
            From the place of a finding to its number, by its subject. [mm]
        """
        items = plan_items(
            self.home,
            layout,
            base=self.base,
            units=self.units,
            show=(*show, "findings", "names"),
            findings=findings,
            routes=routes,
            sight=sight,
            placed=placed,
        )
        found = [i for i in items if i.about.startswith("finding ")]
        outside = {(words.about, words.text) for words in self.base.words}
        names: dict[str, list[Primitive]] = {}
        for item in items:
            if not isinstance(item, Text) or (item.about, item.text) in outside:
                continue
            if item.about in ("dimensions",) or item.about.startswith("finding "):
                continue
            names.setdefault(item.about if item.about in placed else "", []).append(item)
        offsets: dict[str, XY] = {}
        for number, finding in enumerate(findings, start=1):
            spot = place_of(finding)
            circles = [
                i
                for i in found
                if isinstance(i, Circle)
                and i.about == f"finding {number}"
                and abs(i.radius - marks.KEYED / 2) < 1e-9
            ]
            if spot is not None and circles:
                x, y = self.base.paper(spot)
                offsets[finding.what] = (circles[0].centre[0] - x, circles[0].centre[1] - y)
        return self.svg(found), {key: self.svg(texts) for key, texts in names.items()}, offsets

    def gaps(self, lines: Iterable[tuple[tuple[Point, Point], float]]) -> str:
        """Distances to the nearest things as dimensions; touching ones have no room for one.

        Parameters
        ----------
        lines : iterable of ((Point, Point), float)
            Ends of each distance on the plan, and the distance. [m]

        Returns
        -------
        str
            SVG elements.
        """
        pens = ink.pens(self.base.scale)
        items: list[Primitive] = []
        for (a, b), distance in lines:
            p, q = self.base.paper(a), self.base.paper(b)
            if LineString([p, q]).length < 0.8:
                continue
            words = words_of(distance, units=self.units)
            wide = lettering.advance(words, size=ink.NAME)
            if LineString([p, q]).length > wide + 1.6:
                items += dimensions.between(p, q, words, pens=pens, about="distance")
            else:
                items += dimensions.between(p, q, "", pens=pens, about="distance")
                items.append(_beside(p, q, words))
        return self.svg(items)

    def measures(self, measures: Sequence[Measured]) -> str:
        """Measures between chosen things.

        Parameters
        ----------
        measures : sequence of Measured
            As they are now.

        Returns
        -------
        str
            SVG elements.
        """
        pens = ink.pens(self.base.scale)
        return self.svg(measure_items(measures, paper=self.base.paper, pens=pens, units=self.units))

    def elsewhere(self, things: Iterable[Placed]) -> str:
        """Where things stand in another option: dashed outlines.

        Parameters
        ----------
        things : iterable of Placed
            As placed in the other option.

        Returns
        -------
        str
            SVG elements.
        """
        pens = ink.pens(self.base.scale)
        items: list[Primitive] = []
        for thing in sorted(things, key=rank):
            ring = shapely.get_coordinates(thing.footprint.exterior)[:-1]
            items.append(
                Polygon(
                    outline=tuple(self.base.paper((x, y)) for x, y in ring),
                    weight=pens.piece,
                    dash=(2.4, 1.2),
                    about=f"elsewhere {thing.id}",
                )
            )
        return self.svg(items)


def _beside(p: XY, q: XY, words: str) -> Text:
    """The text of a dimension that is shorter than its text: across it, in the gap."""
    x, y = (p[0] + q[0]) / 2, (p[1] + q[1]) / 2
    upright = abs(q[0] - p[0]) > abs(q[1] - p[1])
    return Text(
        at=(x + ink.NAME / 2, y + ASIDE) if upright else (x + ASIDE, y - ink.NAME / 2),
        text=words,
        size=ink.NAME,
        rotation=90.0 if upright else 0.0,
        halo=0.6,
        about="distance",
    )


def layers_of(home: Home, *, units: str = "") -> Layers:
    """The sheet of a home for a page, at the largest scale that a page can show.

    Parameters
    ----------
    home : Home
        Gives the shell.
    units : str
        Unit of the dimensions; the home's own without it.

    Returns
    -------
    Layers
        At 1:50, 1:100 or 1:200.

    Examples
    --------
    >>> from designkit.model import Room
    >>> home = Home(name="h", rooms={"r": Room(
    ...     name="r", outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.6)})
    >>> round(layers_of(home).base.scale)
    50
    """
    for scale in SCALES:
        base = shells.shell(
            home, scale=scale, margins=(AROUND, AROUND + FOOT, FAR, FAR), services=True
        )
        if base.width <= WIDEST:
            break
    return Layers(home=home, base=base, units=units or home.units)
