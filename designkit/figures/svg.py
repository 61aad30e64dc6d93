"""A drawing as SVG text: the same bytes for the same drawing.

One user unit is one millimetre. Consecutive primitives about one thing stand
in one group with `data-about`, so that a page can find them.
"""

from __future__ import annotations

import base64
import functools
import html
import math
import re
import zlib
from collections.abc import Callable
from typing import Any

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
    Primitive,
    Text,
)
from designkit.figures.ink import PAPER

__all__ = ["font_css", "to_svg"]

font_css = lettering.font_css
_FAMILY = f"'{lettering.FAMILY}','Source Sans 3',sans-serif"
_SPACES = re.compile(" {2,}| $|^ ")


def _n(value: float) -> str:
    # + 0.0 turns −0 into 0, so that equal drawings give equal text.
    return f"{round(value, 3) + 0.0:.7g}"


@functools.lru_cache(maxsize=256)
def _attribute(text: str) -> str:
    return html.escape(lettering.clean(text), quote=True)


@functools.lru_cache(maxsize=4096)
def _words(text: str) -> str:
    # SVG folds spaces together; no-break spaces stay as many as they are.
    text = _SPACES.sub(lambda m: "\u00a0" * len(m.group()), lettering.clean(text))
    return html.escape(text, quote=False)


@functools.lru_cache(maxsize=512)
def _pen(weight: float, ink: str, dash: tuple[float, ...]) -> str:
    if weight <= 0:
        return ""
    dashes = f' stroke-dasharray="{" ".join(map(_n, dash))}"' if dash else ""
    return f' stroke="{_attribute(ink)}" stroke-width="{_n(weight)}"{dashes}'


@functools.lru_cache(maxsize=512)
def _style(size: float, weight: str, italic: bool, ink: str, anchor: str, halo: float) -> str:
    parts = [f' font-size="{_n(lettering.em(size))}" fill="{_attribute(ink)}"']
    if weight != "regular":
        parts.append(f' font-weight="{lettering.CSS_WEIGHT[weight]}"')
    if italic:
        parts.append(' font-style="italic"')
    if anchor != "start":
        parts.append(f' text-anchor="{_attribute(anchor)}"')
    if halo > 0:
        parts.append(
            f' stroke="{PAPER}" stroke-width="{_n(2 * halo)}" stroke-linejoin="round"'
            ' paint-order="stroke"'
        )
    return "".join(parts)


def _ring(points: tuple[XY, ...], height: float) -> str:
    flat = [v for x, y in points for v in (round(x, 3) + 0.0, round(height - y, 3) + 0.0)]
    return ("%.7g %.7g " * len(points)) % tuple(flat)


def _line(item: Line, height: float) -> str:
    if len(item.points) == 2 and not item.closed:
        (x0, y0), (x1, y1) = item.points
        return (
            f'<path d="M{_n(x0)} {_n(height - y0)}L{_n(x1)} {_n(height - y1)}"'
            f"{_pen(item.weight, item.ink, item.dash)}/>"
        )
    end = "Z" if item.closed else ""
    return f'<path d="M{_ring(item.points, height)}{end}"{_pen(item.weight, item.ink, item.dash)}/>'


def _circle(centre: XY, radius: float, height: float, pen: str, fill: str) -> str:
    ground = f' fill="{_attribute(fill)}"' if fill else ""
    x, y = _n(centre[0]), _n(height - centre[1])
    return f'<circle cx="{x}" cy="{y}" r="{_n(radius)}"{ground}{pen}/>'


def _arc(item: Arc, height: float) -> str:
    pen = _pen(item.weight, item.ink, item.dash)
    span = item.end - item.start
    if span >= 360:
        return _circle(item.centre, item.radius, height, pen, "")
    span %= 360
    (x, y), r = item.centre, item.radius
    a0, a1 = math.radians(item.start), math.radians(item.start + span)
    # Counter-clockwise with y up is sweep 0 with y down.
    return (
        f'<path d="M{_n(x + r * math.cos(a0))} {_n(height - y - r * math.sin(a0))}'
        f"A{_n(r)} {_n(r)} 0 {int(span > 180)} 0 "
        f'{_n(x + r * math.cos(a1))} {_n(height - y - r * math.sin(a1))}"{pen}/>'
    )


def _polygon(item: Polygon, height: float) -> str:
    rings = "".join(f"M{_ring(ring, height)}Z" for ring in (item.outline, *item.holes))
    fill = f' fill="{_attribute(item.fill)}"' if item.fill else ""
    rule = ' fill-rule="evenodd"' if item.holes else ""
    return f'<path d="{rings}"{fill}{rule}{_pen(item.weight, item.ink, item.dash)}/>'


def _hatch(item: Hatch, height: float) -> str:
    lines = hatching.strokes(item)
    if not lines:
        return ""
    flat = [
        round(v, 3) + 0.0 for x0, y0, x1, y1 in lines for v in (x0, height - y0, x1, height - y1)
    ]
    path = ("M%.7g %.7gL%.7g %.7g" * len(lines)) % tuple(flat)
    return f'<path d="{path}"{_pen(item.weight, item.ink, ())}/>'


def _text(item: Text, height: float) -> str:
    x, y = _n(item.at[0]), _n(height - item.at[1])
    turn = f' transform="rotate({_n(-item.rotation)} {x} {y})"' if item.rotation else ""
    weight, italic = item.weight, item.italic
    if italic:
        weight, italic = lettering.face(item.text, weight=weight, italic=True)  # type: ignore[assignment]
    style = _style(item.size, weight, italic, item.ink, item.anchor, item.halo)
    return f'<text x="{x}" y="{y}"{style}{turn}>{_words(item.text)}</text>'


def _picture(item: Picture, height: float) -> str:
    x, y = item.at
    w, h = item.size
    data = base64.b64encode(item.png).decode("ascii")
    return (
        f'<image x="{_n(x)}" y="{_n(height - y - h)}" width="{_n(w)}" height="{_n(h)}"'
        f' preserveAspectRatio="none" role="img" aria-label="{_attribute(item.text)}"'
        f' href="data:image/{item.form};base64,{data}"/>'
    )


_WRITERS: dict[type, Callable[[Any, float], str]] = {
    Line: _line,
    Polygon: _polygon,
    Text: _text,
    Hatch: _hatch,
    Arc: _arc,
    Circle: lambda item, height: _circle(
        item.centre, item.radius, height, _pen(item.weight, item.ink, item.dash), item.fill
    ),
    Picture: _picture,
}


@functools.lru_cache(maxsize=8192)  # most of a plan stays while a control moves
def _kept(item: Primitive, height: float) -> str:
    return _WRITERS[type(item)](item, height)


def _one(item: Primitive, height: float) -> str:
    return _picture(item, height) if isinstance(item, Picture) else _kept(item, height)


def to_svg(drawing: Drawing, *, embed_font: bool = False, ids: bool = True) -> str:
    """A drawing as SVG text.

    Parameters
    ----------
    drawing : Drawing
        Primitives in paper millimetres.
    embed_font : bool
        Put the signs of the typeface that it uses into the file, so that it
        looks the same where the typeface is not installed.
    ids : bool
        Say which thing a primitive shows, as `data-about`.

    Returns
    -------
    str
        An ``<svg>`` element with ``<title>`` and ``<desc>``; its size is that
        of the paper in millimetres. All text in it is escaped.

    Examples
    --------
    >>> text = to_svg(Drawing(width=20, height=10, title="A < B", items=(
    ...     Line(points=((0, 0), (20, 0)), weight=0.5, about="floor"),)))
    >>> "<title" in text and "A &lt; B" in text and 'data-about="floor"' in text
    True
    """
    height = drawing.height
    key = f"{zlib.crc32(f'{drawing.title}|{drawing.text}'.encode()):08x}"
    size = f"{_n(drawing.width)} {_n(height)}"
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(drawing.width)}mm"'
        f' height="{_n(height)}mm" viewBox="0 0 {size}" role="img"'
        f' aria-labelledby="t{key} d{key}" fill="none" stroke-miterlimit="8"'
        f' font-family="{_FAMILY}">'
        f'<title id="t{key}">{_words(drawing.title)}</title>'
        f'<desc id="d{key}">{_words(drawing.text)}</desc>'
    ]
    if embed_font:
        css = font_css([item for item in drawing.items if isinstance(item, Text)])
        out.append(f"<style>{css}</style>")
    out.append(f'<path class="paper" d="M0 0H{_n(drawing.width)}V{_n(height)}H0Z" fill="{PAPER}"/>')
    about = ""
    for item in drawing.items:
        if ids and item.about != about:
            if about:
                out.append("</g>")
            about = item.about
            if about:
                out.append(f'<g data-about="{_attribute(about)}">')
        out.append(_one(item, height))
    if about:
        out.append("</g>")
    out.append("</svg>\n")
    return "".join(out)
