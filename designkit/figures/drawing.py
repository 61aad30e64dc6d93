"""A drawing as a flat list of primitives in paper millimetres.

Every figure (plan, elevation, chart, sheet) is made as a `Drawing`; the
renderers in `svg` and `axes` and the working plan in the browser take the
same list. x runs right, y runs up, (0, 0) is the lower left corner of the
sheet. `about` is the id of the thing that a primitive shows.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal

__all__ = [
    "Arc",
    "Circle",
    "Drawing",
    "Hatch",
    "Line",
    "Picture",
    "Polygon",
    "Primitive",
    "Text",
]

XY = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class Line:
    """An open or closed polyline."""

    points: tuple[XY, ...]
    weight: float  # mm
    ink: str = "#1b1b1b"
    dash: tuple[float, ...] = ()  # on, off … mm
    closed: bool = False
    about: str = ""


@dataclass(frozen=True, kw_only=True)
class Arc:
    """A circular arc, counter-clockwise from `start` to `end` [°]."""

    centre: XY
    radius: float
    start: float
    end: float
    weight: float
    ink: str = "#1b1b1b"
    dash: tuple[float, ...] = ()
    about: str = ""


@dataclass(frozen=True, kw_only=True)
class Circle:
    """A circle, outlined, filled or both."""

    centre: XY
    radius: float  # [mm]
    weight: float = 0.0  # 0: no outline
    ink: str = "#1b1b1b"
    fill: str = ""  # "": none
    dash: tuple[float, ...] = ()
    about: str = ""


@dataclass(frozen=True, kw_only=True)
class Polygon:
    """A filled or outlined area with holes."""

    outline: tuple[XY, ...]
    holes: tuple[tuple[XY, ...], ...] = ()
    weight: float = 0.0
    ink: str = "#1b1b1b"
    fill: str = ""
    dash: tuple[float, ...] = ()
    about: str = ""


@dataclass(frozen=True, kw_only=True)
class Hatch:
    """Parallel lines clipped to an area: angle [°], spacing and weight [mm]."""

    outline: tuple[XY, ...]
    angle: float
    spacing: float
    weight: float
    ink: str = "#1b1b1b"
    holes: tuple[tuple[XY, ...], ...] = ()
    about: str = ""


@dataclass(frozen=True, kw_only=True)
class Text:
    """One line of text; `size` is the cap height [mm], `at` its baseline anchor."""

    at: XY
    text: str
    size: float
    weight: Literal["regular", "semibold"] = "regular"
    italic: bool = False
    ink: str = "#1b1b1b"
    anchor: Literal["start", "middle", "end"] = "start"
    rotation: float = 0.0  # degrees counter-clockwise
    halo: float = 0.0  # width of the paper-coloured edge [mm]
    about: str = ""


@dataclass(frozen=True, kw_only=True)
class Picture:
    """A raster picture (PNG or JPEG bytes) laid into a rectangle."""

    at: XY  # lower left
    size: XY
    png: bytes
    text: str  # its alternative
    about: str = ""

    @property
    def form(self) -> Literal["png", "jpeg"]:
        """What the bytes are."""
        return "jpeg" if self.png[:2] == b"\xff\xd8" else "png"


Primitive = Line | Arc | Circle | Polygon | Hatch | Text | Picture


@dataclass(frozen=True, kw_only=True)
class Drawing:
    """A sheet or a figure.

    Parameters
    ----------
    width, height : float
        Size of the paper. [mm]
    items : tuple of Primitive
        In painting order.
    title : str
        The question or the name of the figure.
    text : str
        The alternative text: what a person who cannot see it needs to know.
    scale : int or None
        50 for 1:50; None where it is not to scale.
    """

    width: float
    height: float
    items: tuple[Primitive, ...] = field(default=())
    title: str = ""
    text: str = ""
    scale: int | None = None

    def plus(self, items: Iterable[Primitive]) -> Drawing:
        """The same drawing with more on top.

        Parameters
        ----------
        items : iterable of Primitive
            In painting order.

        Returns
        -------
        Drawing
            Of the same size, title and alternative text.
        """
        return Drawing(
            width=self.width,
            height=self.height,
            items=self.items + tuple(items),
            title=self.title,
            text=self.text,
            scale=self.scale,
        )
