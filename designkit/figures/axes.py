"""A drawing on matplotlib Axes, and to PNG, SVG and PDF files.

Nothing here changes a setting of matplotlib for good, opens a window or
touches pyplot. The same drawing gives the same bytes.
"""

from __future__ import annotations

import contextlib
import io
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from designkit.errors import InputError
from designkit.figures import hatching
from designkit.figures import type as lettering
from designkit.figures.drawing import (
    XY,
    Arc,
    Circle,
    Drawing,
    Hatch,
    Line,
    Picture,
    Polygon,
    Text,
)
from designkit.figures.ink import PAPER
from designkit.figures.svg import to_svg
from designkit.figures.whole import write_whole

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["on_axes", "png_bytes", "save", "save_pages"]

_POINT = 72 / 25.4  # points a millimetre
_SETTINGS: dict[str, Any] = {
    "lines.scale_dashes": False,
    "path.effects": [],
    "path.simplify": False,
    "path.sketch": None,
    "path.snap": False,
    "pdf.compression": 6,
    "pdf.fonttype": 42,
    "pdf.inheritcolor": False,
    "pdf.use14corefonts": False,
    "svg.hashsalt": "designkit",
    "text.antialiased": True,
    "text.hinting": "none",  # hinted letters push right-aligned columns past their rule
    "text.parse_math": False,
    "text.usetex": False,
}


@contextlib.contextmanager
def _settings() -> Iterator[None]:
    import matplotlib

    known: Any = {k: v for k, v in _SETTINGS.items() if k in matplotlib.rcParams}
    with matplotlib.rc_context(known):
        yield


class _Painter:
    """Puts primitives on Axes in order; `k` is points a paper millimetre."""

    def __init__(self, ax: Axes, k: float) -> None:
        from matplotlib.font_manager import FontProperties
        from matplotlib.patches import PathPatch
        from matplotlib.path import Path as Outline
        from matplotlib.patheffects import withStroke
        from matplotlib.transforms import IdentityTransform, TransformedPath

        self.ax, self.k = ax, k
        self.Patch, self.Outline = PathPatch, Outline
        self.halo, self.Font = withStroke, FontProperties
        self.order = 1.0
        # Nothing is clipped; but an artist without a clip path gets one from the
        # Axes, each a transform of its own, which took a tenth of the time.
        self.clip = TransformedPath(Outline.unit_rectangle(), IdentityTransform())
        self.fonts: dict[tuple[str, bool], Any] = {}

    def patch(
        self,
        path: Any,
        *,
        weight: float,
        ink: str,
        fill: str = "",
        dash: tuple[float, ...] = (),
    ) -> None:
        k = self.k
        style: Any = (0, tuple(v * k for v in dash)) if dash else "solid"
        self.order += 0.001
        self.ax.add_artist(
            self.Patch(
                path,
                facecolor=fill or "none",
                edgecolor=ink if weight > 0 else "none",
                linewidth=weight * k,
                linestyle=style,
                capstyle="butt",
                joinstyle="miter",
                zorder=self.order,
                clip_on=False,
                clip_path=self.clip,
            )
        )

    def line(self, item: Line) -> None:
        points = list(item.points)
        codes = [1] + [2] * (len(points) - 1)
        if item.closed:
            points.append(points[0])
            codes.append(79)
        self.patch(self.Outline(points, codes), weight=item.weight, ink=item.ink, dash=item.dash)

    def polygon(self, item: Polygon) -> None:
        points: list[XY] = []
        codes: list[int] = []
        for ring in (item.outline, *item.holes):
            points += [*ring, ring[0]]
            codes += [1] + [2] * (len(ring) - 1) + [79]
        if item.holes:
            # matplotlib fills by winding: a hole must run against its outline.
            points, codes = [], []
            for index, ring in enumerate((item.outline, *item.holes)):
                turned = ring if (_area(ring) > 0) == (index == 0) else tuple(reversed(ring))
                points += [*turned, turned[0]]
                codes += [1] + [2] * (len(ring) - 1) + [79]
        self.patch(
            self.Outline(points, codes),
            weight=item.weight,
            ink=item.ink,
            fill=item.fill,
            dash=item.dash,
        )

    def hatch(self, item: Hatch) -> None:
        lines = hatching.strokes(item)
        if lines:
            points = np.asarray(lines).reshape(-1, 2)
            codes = np.tile(np.array([1, 2], dtype=np.uint8), len(lines))
            self.patch(self.Outline(points, codes), weight=item.weight, ink=item.ink)

    def arc(self, item: Arc) -> None:
        span = item.end - item.start
        span = 360.0 if span >= 360 else span % 360
        unit = self.Outline.arc(item.start, item.start + span)
        points = np.asarray(unit.vertices) * item.radius + np.asarray(item.centre)
        self.patch(
            self.Outline(points, unit.codes), weight=item.weight, ink=item.ink, dash=item.dash
        )

    def circle(self, item: Circle) -> None:
        unit = self.Outline.unit_circle()
        points = np.asarray(unit.vertices) * item.radius + np.asarray(item.centre)
        self.patch(
            self.Outline(points, unit.codes),
            weight=item.weight,
            ink=item.ink,
            fill=item.fill,
            dash=item.dash,
        )

    def text(self, item: Text) -> None:
        weight, italic = lettering.face(item.text, weight=item.weight, italic=item.italic)
        words = lettering.clean(item.text, weight=weight, italic=italic, known=True)
        if not words.strip():
            return
        font = self.fonts.get((weight, italic))
        if font is None:
            font = self.Font(fname=str(lettering.font_path(weight=weight, italic=italic)))
            self.fonts[weight, italic] = font
        font = font.copy()
        font.set_size(lettering.em(item.size) * self.k)
        self.order += 0.001
        artist = self.ax.text(
            *item.at,
            words,
            color=item.ink,
            fontproperties=font,
            ha={"start": "left", "middle": "center", "end": "right"}[item.anchor],
            va="baseline",
            rotation=item.rotation,
            rotation_mode="anchor",
            zorder=self.order,
            clip_on=False,
            clip_path=self.clip,
            parse_math=False,
        )
        if item.halo > 0:
            artist.set_path_effects(
                [self.halo(linewidth=2 * item.halo * self.k, foreground=PAPER, joinstyle="round")]
            )

    def picture(self, item: Picture) -> None:
        from matplotlib.image import imread

        (x, y), (w, h) = item.at, item.size
        self.order += 0.001
        limits = (self.ax.get_xlim(), self.ax.get_ylim())
        self.ax.imshow(
            imread(io.BytesIO(item.png), format=item.form),
            extent=(x, x + w, y, y + h),
            zorder=self.order,
            interpolation="auto",  # averages where the picture has more pixels than the sheet
            clip_on=False,
            aspect="auto",
        )
        # imshow sets the limits of the Axes to the picture.
        self.ax.set_xlim(*limits[0])
        self.ax.set_ylim(*limits[1])


def _area(ring: Sequence[XY]) -> float:
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(ring, [*ring[1:], ring[0]]))


def _figure(drawing: Drawing) -> Figure:
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(
        figsize=(drawing.width / 25.4, drawing.height / 25.4), facecolor=PAPER, edgecolor=PAPER
    )
    FigureCanvasAgg(figure)
    return figure


def on_axes(drawing: Drawing, *, ax: Axes | None = None) -> Axes:
    """A drawing on matplotlib Axes, in paper millimetres.

    Parameters
    ----------
    drawing : Drawing
        What to show.
    ax : matplotlib.axes.Axes, optional
        Axes of a figure of yours: lines and letters are drawn in proportion
        to the room it gives. Without it a new figure of the size of the
        paper, so that it is true to scale.

    Returns
    -------
    matplotlib.axes.Axes
        With the drawing on it; ``ax.figure`` is the figure.

    Examples
    --------
    >>> ax = on_axes(Drawing(width=254, height=127))
    >>> [float(v) for v in ax.figure.get_size_inches()]
    [10.0, 5.0]
    """
    with _settings():
        k = _POINT
        if ax is None:
            ax = _figure(drawing).add_axes((0.0, 0.0, 1.0, 1.0))
            ax.set_aspect("auto")
        else:
            ax.set_aspect("equal")
        ax.set_xlim(0.0, drawing.width)
        ax.set_ylim(0.0, drawing.height)
        ax.set_axis_off()
        if ax.get_aspect() != "auto":
            ax.apply_aspect()
            figure = ax.get_figure(root=True)
            room = ax.get_window_extent().width / (figure.dpi if figure else 72.0)
            k = _POINT * room * 25.4 / drawing.width
        painter = _Painter(ax, k)
        paint = {
            Line: painter.line,
            Arc: painter.arc,
            Circle: painter.circle,
            Polygon: painter.polygon,
            Hatch: painter.hatch,
            Text: painter.text,
            Picture: painter.picture,
        }
        for item in drawing.items:
            paint[type(item)](item)  # type: ignore[operator]
    return ax


def _about(drawing: Drawing, kind: str) -> dict[str, Any]:
    title, text = lettering.clean(drawing.title), lettering.clean(drawing.text)
    if kind == "pdf":
        return {
            "Title": title,
            "Subject": text,
            "Creator": "designkit",
            "Producer": None,
            "CreationDate": None,
            "ModDate": None,
        }
    return {"Title": title, "Description": text, "Software": None}


def png_bytes(drawing: Drawing, *, dpi: float = 200) -> bytes:
    """A drawing as a PNG picture.

    Parameters
    ----------
    drawing : Drawing
        What to show.
    dpi : float
        Dots an inch of paper.

    Returns
    -------
    bytes
        The file; its title and alternative text are inside.

    Raises
    ------
    InputError
        The resolution is not between 20 and 1200.

    Examples
    --------
    >>> png_bytes(Drawing(width=10, height=10), dpi=50)[:4]
    b'\\x89PNG'
    """
    if not 20 <= dpi <= 1200:
        raise InputError("dpi", given=dpi, allowed="20 to 1200", mend="200 prints well")
    with _settings():
        figure = on_axes(drawing).figure
        out = io.BytesIO()
        # Packed with little effort: larger files, written in a quarter of the time.
        figure.savefig(  # type: ignore[union-attr]
            out,
            format="png",
            dpi=dpi,
            metadata=_about(drawing, "png"),
            pil_kwargs={"compress_level": 2},
        )
    return out.getvalue()


def save(drawing: Drawing, path: str | Path, *, dpi: float = 200) -> Path:
    """Write a drawing to a file, true to scale on its paper.

    Parameters
    ----------
    drawing : Drawing
        What to write.
    path : str or pathlib.Path
        Ends in .png, .svg or .pdf.
    dpi : float
        Dots an inch of a PNG.

    Returns
    -------
    pathlib.Path
        The file.

    Raises
    ------
    InputError
        The ending is another, or the resolution is out of reach.
    FileFormatError
        It cannot be written; a file that stood there is as it was.

    Examples
    --------
    >>> import tempfile
    >>> save(Drawing(width=10, height=10), tempfile.mkdtemp() + "/a.svg").name
    'a.svg'
    """
    path = Path(path)
    kind = path.suffix.lower()
    if kind == ".png":
        write_whole(path, png_bytes(drawing, dpi=dpi))
    elif kind == ".svg":
        head = '<?xml version="1.0" encoding="UTF-8"?>\n'
        write_whole(path, (head + to_svg(drawing, embed_font=True)).encode())
    elif kind == ".pdf":
        save_pages([drawing], path)
    else:
        raise InputError(
            "file name", given=path.name, allowed=".png, .svg, .pdf", mend="change its ending"
        )
    return path


def save_pages(drawings: Sequence[Drawing], path: str | Path) -> Path:
    """Write several drawings as the pages of one PDF file.

    Parameters
    ----------
    drawings : sequence of Drawing
        In order; each page has the size of its own paper.
    path : str or pathlib.Path
        Ends in .pdf.

    Returns
    -------
    pathlib.Path
        The file.

    Raises
    ------
    InputError
        There is no drawing, or the ending is another.
    FileFormatError
        It cannot be written; a file that stood there is as it was.

    Examples
    --------
    >>> import tempfile
    >>> sheets = [Drawing(width=20, height=10), Drawing(width=10, height=20)]
    >>> save_pages(sheets, tempfile.mkdtemp() + "/set.pdf").name
    'set.pdf'
    """
    path = Path(path)
    if path.suffix.lower() != ".pdf":
        raise InputError("file name", given=path.name, allowed=".pdf", mend="change its ending")
    if not drawings:
        raise InputError("drawings", given="none", allowed="1 or more", mend="give the sheets")
    from matplotlib.backends.backend_pdf import PdfPages

    out = io.BytesIO()
    with _settings(), PdfPages(out, metadata=_about(drawings[0], "pdf")) as pages:
        for drawing in drawings:
            pages.savefig(on_axes(drawing).figure)
    return write_whole(path, out.getvalue())
