"""A drawing on matplotlib Axes, and to PNG, SVG and PDF files.

Nothing here changes a setting of matplotlib for good, opens a window or
touches pyplot. The same drawing gives the same bytes.
"""

from __future__ import annotations

import contextlib
import functools
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
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
from designkit.whole import write_whole

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["on_axes", "png_bytes", "save", "save_pages"]

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
    """Puts primitives on a renderer of matplotlib in order.

    `place` takes paper millimetres to the renderer's pixels, `k` is points a
    paper millimetre. An artist for each primitive made the same marks in
    twice the time.
    """

    def __init__(self, renderer: Any, figure: Any, place: Any, k: float) -> None:
        from matplotlib.colors import to_rgba
        from matplotlib.path import Path as Outline
        from matplotlib.transforms import Affine2D

        self.Outline, self.Affine = Outline, Affine2D
        self.renderer, self.figure, self.place, self.k = renderer, figure, place, k
        self.rgba = to_rgba
        # Letters as outlines where they become pixels, as words where they stay words.
        self.outlines = hasattr(renderer, "buffer_rgba")

    def patch(
        self,
        path: Any,
        *,
        weight: float,
        ink: str = "",
        fill: str = "",
        dash: tuple[float, ...] = (),
        place: Any = None,
        join: Any = "miter",
    ) -> None:
        gc = self.renderer.new_gc()
        if weight > 0:
            gc.set_linewidth(weight * self.k)
            gc.set_foreground(self.rgba(ink), isRGBA=True)
        else:
            gc.set_linewidth(0)
        if dash:
            gc.set_dashes(0, [v * self.k for v in dash])
        gc.set_snap(False)
        gc.set_capstyle("butt")
        gc.set_joinstyle(join)
        face = self.rgba(fill) if fill else None
        self.renderer.draw_path(gc, path, place or self.place, face)
        gc.restore()

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
        for index, ring in enumerate((item.outline, *item.holes)):
            # matplotlib fills by winding: a hole must run against its outline.
            if item.holes and (_area(ring) > 0) != (index == 0):
                ring = tuple(reversed(ring))
            points += [*ring, ring[0]]
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
        points = lettering.em(item.size) * self.k
        place = self.Affine()
        if item.anchor != "start":
            back = _setting(words, weight, italic).width
            place.translate(-back / 2 if item.anchor == "middle" else -back, 0.0)
        place.scale(self.renderer.points_to_pixels(points)).rotate_deg(item.rotation)
        place.translate(*self.place.transform(item.at))
        if item.halo > 0:
            outline = _setting(words, weight, italic).outline
            self.patch(outline, weight=2 * item.halo, ink=PAPER, place=place, join="round")
        if self.outlines:
            outline = _setting(words, weight, italic).outline
            self.patch(outline, weight=0, fill=item.ink, place=place)
            return
        x, y = place.transform((0.0, 0.0))
        if self.renderer.flipy():
            y = self.renderer.get_canvas_width_height()[1] - y
        gc = self.renderer.new_gc()
        gc.set_foreground(self.rgba(item.ink), isRGBA=True)
        font = _font(weight, italic, points)
        self.renderer.draw_text(gc, x, y, words, font, item.rotation)
        gc.restore()

    def picture(self, item: Picture) -> None:
        from matplotlib.image import BboxImage, imread
        from matplotlib.transforms import Bbox, TransformedBbox

        (x, y), (w, h) = item.at, item.size
        image = BboxImage(
            TransformedBbox(Bbox.from_bounds(x, y, w, h), self.place),
            interpolation="auto",  # averages where the picture has more pixels than the sheet
        )
        image.set_data(imread(io.BytesIO(item.png), format=item.form))
        image.set_figure(self.figure)
        image.draw(self.renderer)


@functools.lru_cache(maxsize=256)
def _font(weight: str, italic: bool, points: float) -> Any:
    from matplotlib.font_manager import FontProperties

    path = str(lettering.font_path(weight=weight, italic=italic))
    return FontProperties(fname=path, size=points)


@dataclass(frozen=True, eq=False)
class _Setting:
    """A line of letters at a size of 1 point."""

    width: float  # with its pairs drawn together [pt]
    outline: Any


_LETTERS: dict[str, Any] = {}  # outline of each letter that was set; a few hundred


@functools.lru_cache(maxsize=4096)
def _setting(words: str, weight: str, italic: bool) -> _Setting:
    from matplotlib.font_manager import get_font
    from matplotlib.path import Path as Outline
    from matplotlib.textpath import text_to_path as setter

    font = get_font(str(lettering.font_path(weight=weight, italic=italic)))
    font.set_size(setter.FONT_SCALE, setter.DPI)
    placed, letters, _ = setter.get_glyphs_with_font(font, words, _LETTERS)
    parts = [letters[name][0] + (x, y) for name, x, y, _ in placed]
    codes = [letters[name][1] for name, *_ in placed]
    return _Setting(
        width=placed[-1][1] / setter.FONT_SCALE
        + lettering.advance(words[-1], size=lettering.CAP, weight=weight, italic=italic),
        outline=Outline(np.concatenate(parts) / setter.FONT_SCALE, np.concatenate(codes)),
    )


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


@functools.cache
def _sheet_class() -> Any:
    from matplotlib.artist import Artist

    class Sheet(Artist):
        """A drawing as one artist: it is painted in proportion to the room of its Axes."""

        def __init__(self, drawing: Drawing) -> None:
            super().__init__()
            self.drawing = drawing
            self.set_zorder(1)

        def draw(self, renderer: Any) -> None:
            place = self.axes.transData
            (x0, _), (x1, _) = place.transform([(0.0, 0.0), (1.0, 0.0)])
            k = (x1 - x0) / renderer.points_to_pixels(1.0)
            with _settings():
                painter = _Painter(renderer, self.get_figure(root=True), place, k)
                for item in self.drawing.items:
                    getattr(painter, type(item).__name__.lower())(item)

    return Sheet


def _sheet(drawing: Drawing) -> Any:
    return _sheet_class()(drawing)


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
    if ax is None:
        ax = _figure(drawing).add_axes((0.0, 0.0, 1.0, 1.0))
        ax.set_aspect("auto")
    else:
        ax.set_aspect("equal")
    ax.set_xlim(0.0, drawing.width)
    ax.set_ylim(0.0, drawing.height)
    ax.set_axis_off()
    ax.add_artist(_sheet(drawing))
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
    return {"Title": title, "Description": text}


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
    from PIL import Image
    from PIL.PngImagePlugin import PngInfo

    figure: Any = on_axes(drawing).figure
    figure.set_dpi(dpi)
    figure.canvas.draw()
    image = Image.fromarray(np.asarray(figure.canvas.buffer_rgba())).convert("RGB")
    colours = image.getcolors(256)  # a sheet in grey is a quarter of the bytes to pack
    if colours and all(r == g == b for _, (r, g, b) in colours):
        image = image.convert("L")
    about, out = PngInfo(), io.BytesIO()
    for name, words in _about(drawing, "png").items():
        about.add_text(name, words)
    # Packed with little effort: larger files, written in a quarter of the time.
    image.save(out, "PNG", pnginfo=about, dpi=(dpi, dpi), compress_level=2)
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
