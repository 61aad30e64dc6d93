"""Layers of light in each room as bars of lumens, with what is short of the light wanted.

A bar is the lumens that leave the shades. What is short is hatched: for a
room, what would bring its mean to the least that is wanted; for a table or a
page, the lumens of the lamp that would do it there. The two are not added:
a lamp for a page also lights its room.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from designkit.errors import InputError
from designkit.figures import blocks, ink
from designkit.figures import type as lettering
from designkit.figures.drawing import Drawing, Hatch, Line, Polygon, Primitive, Text
from designkit.figures.moving import moved
from designkit.lighting.layers import LAYERS
from designkit.lighting.quick import LightResult, LightRow

__all__ = ["layer_bars", "layer_items"]

PITCH = 5.6  # from bar to bar [mm]
BAR = 3.0  # height of a bar [mm]


@dataclass(frozen=True, kw_only=True)
class _Bar:
    name: str
    lumens: float
    short: float
    about: str
    words: str
    strong: bool = False


@dataclass(frozen=True, kw_only=True)
class _Block:
    room: str
    note: str
    bars: tuple[_Bar, ...]


def _lumens(number: float) -> str:
    return f"{number:.0f}\u00a0lm"


def _places(rows: Sequence[LightRow]) -> list[LightRow]:
    """Of the places of one piece the one that is shortest."""
    worst: dict[str, LightRow] = {}
    for row in rows:
        key = row.id.split(" page")[0]
        if row.short > 0 and (key not in worst or row.short > worst[key].short):
            worst[key] = row
    return list(worst.values())


def _blocks(light: LightResult) -> list[_Block]:
    found = []
    for room in light.rows:
        if room.direct is not None:  # a place, not the mean of a room
            continue
        layers = {row.layer: row for row in light.layers if row.room == room.id}
        bars = [
            _Bar(
                name=layer,
                lumens=layers[layer].lumens if layer in layers else 0.0,
                short=0.0,
                about=room.id,
                words=_lumens(layers[layer].lumens) if layer in layers else "none",
            )
            for layer in LAYERS
        ]
        together = sum(bar.lumens for bar in bars)
        words = _lumens(together)
        if room.short > 0:
            words += f", {_lumens(room.short)} short"
        bars.append(
            _Bar(
                name="together",
                lumens=together,
                short=room.short,
                about=room.id,
                words=words,
                strong=True,
            )
        )
        here = [r for r in light.rows if r.room == room.id and r.direct is not None]
        for row in _places(here):
            bars.append(
                _Bar(
                    name=row.name,
                    lumens=0.0,
                    short=row.short,
                    about=row.id,
                    words=f"{_lumens(row.short)} short",
                )
            )
        note = f"mean {room.full:.0f}\u00a0lx"
        if room.wanted.low is not None:
            note += f", {room.wanted.low:.0f}\u00a0lx wanted"
        found.append(_Block(room=room.name, note=note, bars=tuple(bars)))
    return found


def layer_items(
    light: LightResult, *, x: float, y: float, width: float, room: float = math.inf
) -> tuple[list[Primitive], float]:
    """The bars, in a column of a sheet.

    Parameters
    ----------
    light : LightResult
        From `designkit.lighting.quick.light`.
    x, y : float
        Left end of the first heading's baseline. [mm]
    width : float
        Width of the column. [mm]
    room : float
        Height that there is; rooms that do not fit are left out and counted.
        [mm]

    Returns
    -------
    (list of Primitive, float)
        The primitives, and the baseline of what follows. [mm]

    Raises
    ------
    InputError
        The column is narrower than 55 mm.
    """
    if not width >= 55:
        raise InputError("width", given=f"{width:g} mm", allowed="55 mm or more")
    found = _blocks(light)
    names = [bar.name for block in found for bar in block.bars]
    label = min(
        0.45 * width, max((lettering.advance(n, size=ink.NAME) for n in names), default=0) + 2
    )
    words = [
        lettering.advance(bar.words, size=ink.NAME, weight="semibold" if bar.strong else "regular")
        for block in found
        for bar in block.bars
    ]
    most = max((bar.lumens + bar.short for block in found for bar in block.bars), default=0.0)
    # The longest bar and its own words fill the column; a short bar has room to spare.
    k = min(
        (
            (width - label - w - 2.5) / (bar.lumens + bar.short)
            for w, bar in zip(words, (bar for block in found for bar in block.bars), strict=True)
            if bar.lumens + bar.short > 0
        ),
        default=0.0,
    )
    narrow = k * most < 0.35 * width
    if narrow:  # the words stand under their bars then
        k = (width - label) / most if most else 0.0
    pitch = PITCH + (3.4 if narrow else 0.0)
    items: list[Primitive] = []
    top, left_out = y, 0
    for block in found:
        high = 8.0 + pitch * len(block.bars) + 3.0
        if top - y + high > room:
            left_out += 1
            continue
        made, y = _block(block, x, y, width, label, k, pitch, narrow=narrow)
        items += made
    if left_out:
        items.append(
            Text(
                at=(x, y),
                text=f"{left_out} more {'room' if left_out == 1 else 'rooms'} not shown",
                size=ink.CAPTION,
                ink=ink.GREY_2,
            )
        )
        y -= 5.0
    return items, y


def _block(
    block: _Block,
    x: float,
    y: float,
    width: float,
    label: float,
    k: float,
    pitch: float,
    *,
    narrow: bool,
) -> tuple[list[Primitive], float]:
    note = block.note
    wide = lettering.advance(note, size=ink.NAME)
    name = lettering.shorten(
        block.room, size=ink.READING, width=width - wide - 4, weight="semibold"
    )
    items: list[Primitive] = [
        Text(at=(x, y), text=name, size=ink.READING, weight="semibold"),
        Text(at=(x + width, y), text=note, size=ink.NAME, ink=ink.GREY_1, anchor="end"),
        blocks.rule(x, y - 1.9, width, weight=0.13, colour=ink.GREY_4),
    ]
    y -= 7.2
    start = x + label
    first = y
    for bar in block.bars:
        low = y - 0.5
        items.append(
            Text(
                at=(start - 1.6, y),
                text=lettering.shorten(
                    bar.name,
                    size=ink.NAME,
                    width=label - 1.6,
                    weight="semibold" if bar.strong else "regular",
                ),
                size=ink.NAME,
                weight="semibold" if bar.strong else "regular",
                anchor="end",
                about=bar.about,
            )
        )
        end = start + bar.lumens * k
        if bar.lumens > 0:
            items.append(
                Polygon(
                    outline=((start, low), (end, low), (end, low + BAR), (start, low + BAR)),
                    fill=ink.INK if bar.strong else ink.GREY_3,
                    about=bar.about,
                )
            )
        if bar.short > 0:
            far = end + bar.short * k
            ring = ((end, low), (far, low), (far, low + BAR), (end, low + BAR))
            items.append(
                Hatch(
                    outline=ring,
                    angle=ink.FINDING.angle,
                    spacing=ink.FINDING.spacing,
                    weight=ink.FINDING.weight,
                    ink=ink.ACCENT,
                    about=bar.about,
                )
            )
            items.append(Polygon(outline=ring, weight=0.18, ink=ink.ACCENT, about=bar.about))
            end = far
        items.append(
            Text(
                at=(start + 0.8, y - 3.2) if narrow else (end + 1.6, y),
                text=bar.words,
                size=ink.NAME,
                weight="semibold" if bar.strong else "regular",
                about=bar.about,
            )
        )
        y -= pitch
    base = Line(points=((start, first + BAR), (start, y + pitch - 1.0)), weight=0.25)
    return [*items, base], y - 3.0


def layer_bars(light: LightResult, *, width: float = 170.0) -> Drawing:
    """Layers of light in each room, and what is short, as a small chart.

    Parameters
    ----------
    light : LightResult
        From `designkit.lighting.quick.light`.
    width : float
        Of the chart. [mm]

    Returns
    -------
    Drawing
        As high as it needs.

    Raises
    ------
    InputError
        The chart is narrower than 61 mm.
    """
    if not width >= 61:
        raise InputError("width", given=f"{width:g} mm", allowed="61 mm or more")
    items, end = layer_items(light, x=3.0, y=0.0, width=width - 6.0)
    key = "lumens after the shade; hatched: what is short of the light wanted"
    lines, end = blocks.sentence(3.0, end + 0.5, width - 6.0, key, size=ink.NAME, colour=ink.GREY_2)
    height = 6.0 - end
    items = moved([*items, *lines], dy=height - 5.0)
    said = " ".join(
        f"{block.room}: {block.note}; "
        + ", ".join(f"{bar.name} {bar.words}" for bar in block.bars)
        + "."
        for block in _blocks(light)
    )
    return Drawing(
        width=width,
        height=height,
        items=tuple(items),
        title="Layers of light",
        text=f"Layers of light in lumens after the shade. {said}",
    )
