"""What the small drawings that explain a rule have in common."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from designkit.figures import dimensions, ink
from designkit.figures.drawing import XY, Drawing, Line, Polygon, Primitive, Text
from designkit.figures.furnishing import draw_piece
from designkit.figures.sheet import scale_bar, scale_text
from designkit.model import Piece, Placement
from designkit.plan.place import place
from designkit.reference import value
from designkit.units import IMPERIAL, on_sheet

__all__ = ["WIDTH", "Stage"]

WIDTH = 200.0  # of the paper [mm]
# A person seen from above, across and front to back [m]: drawn for scale, from memory.
SHOULDERS, CHEST, HEAD = 0.46, 0.26, 0.09
TO_FEET = {20: 24, 25: 24, 40: 48, 50: 48}  # the nearest scale of inches to the foot


@dataclass
class Stage:
    """Paper for one drawing: plan metres in, paper millimetres out.

    Parameters
    ----------
    height : float
        Of the paper. [mm]
    units : str
        Of the dimensions.
    rule : str
        Id of the rule that is asked about; its dimension stands out.
    scale : int
        50 for 1:50; 0 where nothing is to scale.
    origin : (float, float)
        Paper point of (0, 0). [mm]
    """

    height: float
    units: str
    rule: str = ""
    scale: int = 0
    origin: XY = (0.0, 0.0)
    items: list[Primitive] = field(default_factory=list)

    def __post_init__(self) -> None:
        if self.units in IMPERIAL:
            self.scale = TO_FEET.get(self.scale, self.scale)

    @property
    def k(self) -> float:
        """Paper millimetres a metre."""
        return 1000.0 / self.scale

    def at(self, x: float, y: float) -> XY:
        """The paper point of a point in metres.

        Parameters
        ----------
        x, y : float
            The point. [m]

        Returns
        -------
        (float, float)
            On paper. [mm]
        """
        return (self.origin[0] + x * self.k, self.origin[1] + y * self.k)

    def box(
        self, x0: float, y0: float, x1: float, y1: float, *, fill: str = "", weight: float = 0.3
    ) -> None:
        """A rectangle.

        Parameters
        ----------
        x0, y0, x1, y1 : float
            Two opposite corners. [m]
        fill : str, optional
            Its ground; none without it.
        weight : float, optional
            Of its outline. [mm]
        """
        corners = (self.at(x0, y0), self.at(x1, y0), self.at(x1, y1), self.at(x0, y1))
        self.items.append(Polygon(outline=corners, fill=fill, weight=weight))

    def wall(self, x0: float, y0: float, x1: float, y1: float) -> None:
        """A wall that is cut.

        Parameters
        ----------
        x0, y0, x1, y1 : float
            Two opposite corners. [m]
        """
        self.box(x0, y0, x1, y1, fill=ink.CUT_FILL, weight=0.5)

    def line(
        self, *points: XY, weight: float = 0.18, dash: tuple[float, ...] = (), colour: str = ink.INK
    ) -> None:
        r"""A polyline.

        Parameters
        ----------
        \*points : (float, float)
            In order. [m]
        weight : float, optional
            Of the line. [mm]
        dash : tuple of float, optional
            On and off. [mm]
        colour : str, optional
            Ink.
        """
        on_paper = tuple(self.at(*p) for p in points)
        self.items.append(Line(points=on_paper, weight=weight, dash=dash, ink=colour))

    def person(self, x: float, y: float, *, facing: float) -> None:
        """A person from above.

        Parameters
        ----------
        x, y : float
            Middle of the head. [m]
        facing : float
            Counter-clockwise from x. [°]
        """
        turn = math.radians(facing)
        c, s = math.cos(turn), math.sin(turn)

        def ring(across: float, deep: float) -> tuple[XY, ...]:
            angles = (math.tau * i / 40 for i in range(40))
            local = ((deep / 2 * math.cos(a), across / 2 * math.sin(a)) for a in angles)
            return tuple(self.at(x + u * c - v * s, y + u * s + v * c) for u, v in local)

        self.items += [
            Polygon(outline=ring(SHOULDERS, CHEST), fill=ink.PAPER, weight=0.25, ink=ink.GREY_1),
            Polygon(outline=ring(2 * HEAD, 2 * HEAD), fill=ink.GREY_4, weight=0.25, ink=ink.GREY_1),
        ]

    def piece(
        self, kind: str, size: tuple[float, float, float], x: float, y: float, *, turn: float = 0.0
    ) -> None:
        """A piece of furniture from above.

        Parameters
        ----------
        kind : str
            Key of the kinds.
        size : (float, float, float)
            Width, depth, height. [m]
        x, y : float
            Its centre. [m]
        turn : float, optional
            Its front faces down the paper at 0. [°]
        """
        placed = place(
            kind, Piece(name=kind, kind=kind, size=size), Placement(at=(x, y), rotation=turn)
        )
        self.items += draw_piece(placed, scale=self.scale, origin=self.origin)

    def say(self, length: float) -> str:
        """A length as it stands on a drawing.

        Parameters
        ----------
        length : float
            The length. [m]

        Returns
        -------
        str
            In the units of the drawing.
        """
        return on_sheet(length, units=self.units)

    def dim(
        self, a: XY, b: XY, *, rule: str = "", length: float | None = None, shift: float = 0.0
    ) -> None:
        """A dimension; bold where it is the rule that is asked about.

        Parameters
        ----------
        a, b : (float, float)
            What it measures between. [m]
        rule : str, optional
            Id of the rule whose value is written.
        length : float, optional
            What is written where there is no rule; else as drawn. [m]
        shift : float, optional
            Moves the text along the line. [mm]
        """
        told = math.dist(a, b) if length is None else length
        self.items += dimensions.between(
            self.at(*a),
            self.at(*b),
            self.say(value(rule) if rule else told),
            weight="semibold" if rule and rule == self.rule else "regular",
            shift=shift,
            about=rule,
        )

    def words(
        self,
        at: XY,
        text: str,
        *,
        rule: str = "",
        anchor: str = "middle",
        size: float = ink.READING,
        grey: bool = False,
        halo: float = 0.0,
    ) -> None:
        """A line of text; bold where it is the rule that is asked about.

        Parameters
        ----------
        at : (float, float)
            Its anchor on paper. [mm]
        text : str
            The words.
        rule : str, optional
            Id of the rule that they tell.
        anchor : {"start", "middle", "end"}
            Where the anchor is in the line.
        size : float, optional
            Cap height. [mm]
        grey : bool, optional
            Said more quietly.
        halo : float, optional
            Width of the paper-coloured edge. [mm]
        """
        self.items.append(
            Text(
                at=at,
                text=text,
                size=size,
                weight="semibold" if rule and rule == self.rule else "regular",
                ink=ink.GREY_1 if grey else ink.INK,
                anchor="end" if anchor == "end" else "start" if anchor == "start" else "middle",
                halo=halo,
                about=rule,
            )
        )

    def drawing(self, title: str, text: str, *, notes: Sequence[str] = ()) -> Drawing:
        """The finished drawing, with scale bar and notes at its foot.

        Parameters
        ----------
        title : str
            The question.
        text : str
            For who cannot see it.
        notes : sequence of str, optional
            Under the drawing.

        Returns
        -------
        Drawing
            On its paper.
        """
        items = list(self.items)
        left = 6.0
        if self.scale:
            imperial = self.units in IMPERIAL
            items += scale_bar(6.0, 4.6, self.scale, imperial=imperial, length=44.0)
            left = 76.0
            text = f"{text} Drawn at {scale_text(self.scale, imperial=imperial)}."
        for row, note in enumerate(reversed(notes)):
            items.append(Text(at=(left, 4.6 + 4.0 * row), text=note, size=ink.NAME, ink=ink.GREY_2))
        return Drawing(
            width=WIDTH,
            height=self.height,
            items=tuple(items),
            title=title,
            text=text,
            scale=self.scale or None,
        )
