"""Small perspective pictures of a furnished room, as masses in their true finishes or lit."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from designkit.figures.drawing import Drawing, Line, Picture
from designkit.figures.ink import INK
from designkit.figures.pages import png_of
from designkit.palette.colour import xyz_to_rgb
from designkit.palette.finishes import FinishValue

if TYPE_CHECKING:
    from designkit.lighting.seen_picture import LitPicture
    from designkit.scene.view import Picture as View

__all__ = ["finishes_view", "lit_view"]

WIDTH, HEIGHT = 64.0, 40.0  # on paper [mm]
EDGE = 0.55  # share of its tone that a pixel on an edge keeps
STEP = 0.12  # a jump in distance from which two pixels part [1 of the distance]

Bytes = npt.NDArray[np.uint8]


def _edges(
    index: npt.NDArray[np.int64], distance: npt.NDArray[np.float64]
) -> npt.NDArray[np.bool_]:
    """Pixels where one thing ends and another begins; kept, as finishes move none of them."""
    root, at = distance if distance.base is None else distance.base, distance.ctypes.data
    for whose, where, found in _EDGES:
        if whose is root and where == at and found.shape == index.shape:
            return found
    edge = np.zeros(index.shape, dtype=bool)
    for axis in (0, 1):
        differs = np.diff(index, axis=axis) != 0
        far = np.maximum(np.delete(distance, 0, axis=axis), np.delete(distance, -1, axis=axis))
        jump = np.abs(np.diff(distance, axis=axis)) > STEP * np.maximum(far, 0.1)
        edge |= np.insert(differs | jump, 0, False, axis=axis)
    _EDGES.append((root, at, edge))
    del _EDGES[:-12]
    return edge


# The numbers that a view's distances lie in, where they begin, and the edges.
_EDGES: list[tuple[npt.NDArray[np.float64], int, npt.NDArray[np.bool_]]] = []


def _framed(pixels: Bytes, *, title: str, text: str) -> Drawing:
    corners = ((0.0, 0.0), (WIDTH, 0.0), (WIDTH, HEIGHT), (0.0, HEIGHT))
    return Drawing(
        width=WIDTH,
        height=HEIGHT,
        items=(
            Picture(at=(0.0, 0.0), size=(WIDTH, HEIGHT), png=png_of(pixels, level=2), text=text),
            Line(points=corners, weight=0.25, ink=INK, closed=True),
        ),
        title=title,
        text=text,
    )


def _rgb(value: str) -> tuple[int, int, int]:
    text = value.lstrip("#")
    return int(text[0:2], 16), int(text[2:4], 16), int(text[4:6], 16)


def _tone(finish: FinishValue) -> tuple[int, int, int]:
    """The mean tone of a finish as it is seen from afar."""
    if len(finish.colours) == 1:
        return _rgb(finish.colours[0].hex)
    total = sum(c.share for c in finish.colours)
    linear = np.zeros(3)
    for colour in finish.colours:
        linear += colour.share / total * (np.array(_rgb(colour.hex)) / 255.0) ** 2.2
    red, green, blue = (round(float(v)) for v in 255.0 * linear ** (1 / 2.2))
    return red, green, blue


def finishes_view(
    view: View, *, finishes: Mapping[str, FinishValue], night: bool = False
) -> Drawing:
    """A view in perspective with each thing in the flat tone of its finish.

    Parameters
    ----------
    view : designkit.scene.view.Picture
        What is met at each pixel.
    finishes : mapping of str to FinishValue
        From `resolve_all`.
    night : bool
        Bare window glass is black; by day it is left as paper.

    Returns
    -------
    Drawing
        64 × 40 mm, for a column of the share of black.
    """
    tones = np.full((len(view.targets), 3), 236.0)
    known = {id: _tone(finishes[id]) for id in {t.finish for t in view.targets} & set(finishes)}
    for k, target in enumerate(view.targets):
        if target.finish in known:
            tones[k] = known[target.finish]
        if target.kind == "glass":
            tones[k] = 27 if night else 255
    # A dark thing is parted by a lighter line, a light one by a darker.
    dark = tones.mean(axis=1, keepdims=True) < 90
    lines = np.where(dark, tones + 70, tones * EDGE)
    both = np.concatenate([tones, lines]).astype(np.uint8)
    edge = _edges(view.index, view.distance)
    pixels = both[view.index + len(tones) * edge]
    text = f"Perspective {view.viewpoint.name}, each thing in the flat tone of its finish."
    return _framed(pixels, title=f"View {view.viewpoint.name}", text=text)


def lit_view(view: LitPicture) -> Drawing:
    """A view in perspective in the tones that the eye sees once it is lit.

    Parameters
    ----------
    view : LitPicture
        Lightness at each pixel, against one white.

    Returns
    -------
    Drawing
        64 × 40 mm.
    """
    lightness = np.clip(view.lightness, 0.0, 100.0)
    y = np.where(lightness > 8, ((lightness + 16) / 116) ** 3, lightness / 903.3)
    if view.colour is None:
        pixels = 255 * np.where(y > 0.0031308, 1.055 * y ** (1 / 2.4) - 0.055, 12.92 * y)
        tone = pixels
    else:
        pixels = 255 * xyz_to_rgb(y[..., None] * view.colour)
        tone = pixels.mean(axis=2)
    edge = _edges(view.index, view.distance)
    dark = tone < 90
    pixels[edge & ~dark] *= 0.8
    pixels[edge & dark] += 25
    text = f"Perspective {view.viewpoint.name} in the tones that the lamps give."
    if view.glass:
        text += f" Windows: {'; '.join(view.glass)}, in the tone of a white behind the pane."
    return _framed(
        np.clip(pixels, 0, 255).astype(np.uint8),
        title=f"Lit view {view.viewpoint.name}",
        text=text,
    )
