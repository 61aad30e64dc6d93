"""How a piece of furniture looks on a plan.

Each kind is drawn once about its own centre from the parts that the plan layer
gives it, and then turned and moved to where it stands. Front is −y.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from designkit.figures import ink
from designkit.figures.drawing import XY, Arc, Circle, Hatch, Line, Polygon, Primitive
from designkit.model import Part, Piece
from designkit.plan.pieces import kind_of, parts_of, seats_of
from designkit.plan.place import Placed

__all__ = ["draw_piece", "rank"]

HEAD_HEIGHT = 1.2  # what is wholly above the cut of the plan is dashed [m]


@dataclass(frozen=True)
class _Pen:
    """Paper millimetres a metre, and the weights of the scale."""

    k: float
    pens: ink.Pens


Items = list[Primitive]


def rank(placed: Placed) -> tuple[int, float]:
    """Painting order of a placed piece: what hides what on a plan.

    Parameters
    ----------
    placed : Placed
        Where it stands.

    Returns
    -------
    tuple of (int, float)
        Rugs first, then chairs (a table top hides what is under it), pieces
        on the floor, what stands on them, what hangs.

    Examples
    --------
    >>> from designkit.model import Placement
    >>> from designkit.plan.place import place
    >>> rug = Piece(name="rug", kind="rug", size=(2.8, 2.0, 0.01))
    >>> rank(place("rug", rug, Placement(at=(0, 0))))
    (0, 0.0)
    """
    form = kind_of(placed.piece).form
    if form == "rug":
        return 0, placed.base
    if placed.base >= HEAD_HEIGHT:
        return 5, placed.base
    if placed.on or placed.piece.mount == "on":
        return 3, placed.base
    if placed.piece.mount == "wall" or placed.base > 0.3:
        return 4, placed.base
    if form in ("chair", "stool"):
        return 1, placed.base
    return 2, placed.base


def draw_piece(placed: Placed, *, scale: float, origin: XY, fill: str = ink.PAPER) -> Items:
    """A placed piece on paper.

    Parameters
    ----------
    placed : Placed
        Where it stands.
    scale : float
        50 for 1:50.
    origin : (float, float)
        Paper point of plan (0, 0). [mm]
    fill : str
        Ground of the piece, to mark what differs between options.

    Returns
    -------
    list of Primitive
        In painting order, each about the placement's id.

    Examples
    --------
    >>> from designkit.model import Placement
    >>> from designkit.plan.place import place
    >>> sofa = Piece(name="sofa", kind="sofa", size=(2.2, 0.95, 0.8))
    >>> items = draw_piece(place("sofa", sofa, Placement(at=(2, 1))), scale=50, origin=(0, 0))
    >>> items[0].about
    'sofa'
    """
    k = 1000.0 / scale
    overhead = placed.base >= HEAD_HEIGHT
    piece = placed.piece
    shapes = _local(
        piece.kind,
        piece.size,
        piece.shape,
        piece.parts,
        "border" in piece.finishes,
        piece.seat_count,
        piece.seat_height,
        piece.arm_height,
        piece.seats,
        scale,
        overhead,
        fill,
    )
    quarter, rest = divmod(placed.rotation % 360.0, 90.0)
    if rest == 0.0:
        c, s = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    else:
        turn = math.radians(placed.rotation)
        c, s = math.cos(turn), math.sin(turn)
    x0, y0 = origin[0] + placed.at[0] * k, origin[1] + placed.at[1] * k
    return [_moved(item, c, s, x0, y0, placed.rotation, placed.id) for item in shapes]


def _moved(
    item: Primitive, c: float, s: float, x0: float, y0: float, turn: float, about: str
) -> Primitive:
    if isinstance(item, Polygon):
        return Polygon(
            outline=tuple([(x0 + x * c - y * s, y0 + x * s + y * c) for x, y in item.outline]),
            holes=tuple(
                tuple([(x0 + x * c - y * s, y0 + x * s + y * c) for x, y in ring])
                for ring in item.holes
            ),
            weight=item.weight,
            ink=item.ink,
            fill=item.fill,
            dash=item.dash,
            about=about,
        )
    if isinstance(item, Line):
        return Line(
            points=tuple([(x0 + x * c - y * s, y0 + x * s + y * c) for x, y in item.points]),
            weight=item.weight,
            ink=item.ink,
            dash=item.dash,
            closed=item.closed,
            about=about,
        )
    if isinstance(item, Circle):
        x, y = item.centre
        return Circle(
            centre=(x0 + x * c - y * s, y0 + x * s + y * c),
            radius=item.radius,
            weight=item.weight,
            ink=item.ink,
            fill=item.fill,
            dash=item.dash,
            about=about,
        )
    if isinstance(item, Hatch):
        return Hatch(
            outline=tuple([(x0 + x * c - y * s, y0 + x * s + y * c) for x, y in item.outline]),
            holes=tuple(
                tuple([(x0 + x * c - y * s, y0 + x * s + y * c) for x, y in ring])
                for ring in item.holes
            ),
            angle=item.angle,
            spacing=item.spacing,
            weight=item.weight,
            ink=item.ink,
            about=about,
        )
    assert isinstance(item, Arc)
    x, y = item.centre
    return Arc(
        centre=(x0 + x * c - y * s, y0 + x * s + y * c),
        radius=item.radius,
        start=item.start + turn,
        end=item.end + turn,
        weight=item.weight,
        ink=item.ink,
        dash=item.dash,
        about=about,
    )


@functools.lru_cache(maxsize=1024)
def _local(
    kind: str,
    size: tuple[float, float, float],
    shape: str,
    parts: tuple[Part, ...] | None,
    border: bool,
    seat_count: int | None,
    seat_height: float | None,
    arm_height: float | None,
    seats: tuple[object, ...] | None,
    scale: float,
    overhead: bool,
    fill: str,
) -> tuple[Primitive, ...]:
    """A piece about its own centre, in paper millimetres."""
    piece = Piece(
        name=kind,
        kind=kind,
        size=size,
        shape="circle" if shape == "circle" else "rectangle",
        parts=parts,
        seat_count=seat_count,
        seat_height=seat_height,
        arm_height=arm_height,
        seats=seats,  # type: ignore[arg-type]
        finishes={"border": ""} if border else {},
    )
    pen = _Pen(1000.0 / scale, ink.pens(scale))
    form = kind_of(piece).form
    if overhead:
        items = _overhead(piece, pen)
    elif parts is not None:
        items = _from_parts(piece, pen)
    else:
        items = _FORMS.get(form, _from_parts)(piece, pen)
    if fill != ink.PAPER:
        items = [_refilled(item, fill) for item in items]
    return tuple(items)


def _refilled(item: Primitive, fill: str) -> Primitive:
    if isinstance(item, Polygon) and item.fill == ink.PAPER:
        return Polygon(
            outline=item.outline,
            holes=item.holes,
            weight=item.weight,
            ink=item.ink,
            fill=fill,
            dash=item.dash,
            about=item.about,
        )
    if isinstance(item, Circle) and item.fill == ink.PAPER:
        return Circle(
            centre=item.centre,
            radius=item.radius,
            weight=item.weight,
            ink=item.ink,
            fill=fill,
            dash=item.dash,
            about=item.about,
        )
    return item


# --- shapes ------------------------------------------------------------------


def _box(x0: float, y0: float, x1: float, y1: float, r: float = 0.0) -> tuple[XY, ...]:
    """A rectangle with rounded corners."""
    r = min(r, (x1 - x0) / 2.01, (y1 - y0) / 2.01)
    if r < 0.05:
        return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    points = []
    for cx, cy, start in (
        (x1 - r, y0 + r, -90),
        (x1 - r, y1 - r, 0),
        (x0 + r, y1 - r, 90),
        (x0 + r, y0 + r, 180),
    ):
        for step in range(4):
            a = math.radians(start + step * 30)
            points.append((cx + r * math.cos(a), cy + r * math.sin(a)))
    return tuple(points)


def _outline(
    points: Sequence[XY], weight: float, fill: str = ink.PAPER, **style: object
) -> Polygon:
    return Polygon(outline=tuple(points), weight=weight, fill=fill, **style)  # type: ignore[arg-type]


def _half(piece: Piece, pen: _Pen) -> XY:
    return piece.size[0] * pen.k / 2, piece.size[1] * pen.k / 2


def _part_box(part: Part, k: float) -> tuple[float, float, float, float]:
    x, y = part.at
    w, d = part.size
    return (x - w / 2) * k, (y - d / 2) * k, (x + w / 2) * k, (y + d / 2) * k


def _line(a: XY, b: XY, weight: float, **style: object) -> Line:
    return Line(points=(a, b), weight=weight, **style)  # type: ignore[arg-type]


# --- forms -------------------------------------------------------------------


def _sofa(piece: Piece, pen: _Pen) -> Items:
    x, y = _half(piece, pen)
    r = 0.06 * pen.k
    by_name: dict[str, list[Part]] = {}
    for part in parts_of(piece):
        by_name.setdefault(part.name, []).append(part)
    items: Items = [_outline(_box(-x, -y, x, y, r), pen.pens.piece)]
    arms = sorted(by_name.get("arms", []), key=lambda p: p.at[0])
    seat = by_name.get("seat", [None])[0]
    if seat is None:
        return items
    sx0, sy0, sx1, sy1 = _part_box(seat, pen.k)
    inset = max(0.02 * pen.k, 0.18)
    back = by_name.get("back")
    for arm in arms:
        x0, y0, x1, y1 = _part_box(arm, pen.k)
        if pen.k >= 12:
            items.append(_outline(_box(x0, y0, x1, y1 if not back else y, r), pen.pens.edge))
    count = max(1, len(seats_of(piece)))
    front = sy0 + inset
    if back:
        _, by0, _, _ = _part_box(back[0], pen.k)
        left = arms[0].at[0] * pen.k + arms[0].size[0] * pen.k / 2 if arms else -x
        # Loose back cushions stand before the back; seat cushions reach under them.
        lean = by0 - 0.3 * (y - by0)
        items.append(_outline(_box(left, by0, -left, y, r * 0.6), pen.pens.edge))
        if pen.k >= 12 and piece.kind == "sofa":
            wide = (sx1 - sx0) / count
            for i in range(count):
                items.append(
                    _outline(
                        _box(sx0 + i * wide, lean, sx0 + (i + 1) * wide, by0 + 0.06 * pen.k, r),
                        pen.pens.seam,
                    )
                )
            sy1 = lean
    wide = (sx1 - sx0) / count
    for i in range(count):
        items.append(
            _outline(_box(sx0 + i * wide, front, sx0 + (i + 1) * wide, sy1, r * 0.8), pen.pens.seam)
        )
    return items


def _armchair(piece: Piece, pen: _Pen) -> Items:
    """Arms and back in one curve round a seat cushion."""
    x, y = _half(piece, pen)
    seat = next((p for p in parts_of(piece) if p.name == "seat"), None)
    items: Items = [_outline(_box(-x, -y, x, y, 0.1 * pen.k), pen.pens.piece)]
    if seat is None:
        return items
    x0, y0, x1, y1 = _part_box(seat, pen.k)
    items.append(_outline(_box(x0, y0 + 0.3, x1, y1, 0.07 * pen.k), pen.pens.edge))
    if pen.k >= 12:
        gap = 0.12 * (y1 - y0)
        items.append(_line((x0 + 0.5, y1 - gap), (x1 - 0.5, y1 - gap), pen.pens.seam))
    return items


def _chair(piece: Piece, pen: _Pen) -> Items:
    x, y = _half(piece, pen)
    parts = parts_of(piece)
    back = [p for p in parts if p.name == "back"]
    depth = max(_part_box(back[0], pen.k)[3] - _part_box(back[0], pen.k)[1], 0.5) if back else 0.0
    items: Items = [
        _outline(_box(-x * 0.94, -y, x * 0.94, y - depth * 0.6, 0.05 * pen.k), pen.pens.piece)
    ]
    for arm in parts:
        if arm.name == "arms" and pen.k >= 12:
            x0, y0, x1, y1 = _part_box(arm, pen.k)
            items.append(_outline(_box(x0, y0, x1, y1, 0.02 * pen.k), pen.pens.edge))
    if back:
        items.append(_outline(_box(-x, y - depth, x, y, 0.03 * pen.k), pen.pens.piece))
    return items


def _stool(piece: Piece, pen: _Pen) -> Items:
    x, y = _half(piece, pen)
    if piece.shape == "circle":
        items: Items = [Circle(centre=(0, 0), radius=x, weight=pen.pens.piece, fill=ink.PAPER)]
        if pen.k >= 12:
            items.append(Circle(centre=(0, 0), radius=x - 0.5, weight=pen.pens.seam))
        return items
    items = [_outline(_box(-x, -y, x, y, 0.05 * pen.k), pen.pens.piece)]
    if pen.k >= 12:
        items.append(
            _outline(_box(-x + 0.6, -y + 0.6, x - 0.6, y - 0.6, 0.04 * pen.k), pen.pens.seam, "")
        )
    return items


def _table(piece: Piece, pen: _Pen) -> Items:
    x, y = _half(piece, pen)
    glass = any(p.transmits for p in parts_of(piece) if p.name == "top")
    if piece.shape == "circle":
        items: Items = [Circle(centre=(0, 0), radius=x, weight=pen.pens.piece, fill=ink.PAPER)]
        if pen.k >= 12:
            items.append(Circle(centre=(0, 0), radius=x - 0.6, weight=pen.pens.hair, ink=ink.HAIR))
    else:
        items = [_outline(_box(-x, -y, x, y, 0.015 * pen.k), pen.pens.piece)]
        if pen.k >= 12 and min(x, y) > 2.4:
            items.append(
                _outline(
                    _box(-x + 0.6, -y + 0.6, x - 0.6, y - 0.6), pen.pens.hair, "", ink=ink.HAIR
                )
            )
    if glass and pen.k >= 12:
        # Two slanting strokes in a corner: glass.
        for shift in (0.0, 0.9):
            items.append(
                _line(
                    (-x * 0.62 + shift, y * 0.28),
                    (-x * 0.62 + 1.6 + shift, y * 0.28 + 1.6),
                    pen.pens.hair,
                )
            )
    return items


def _doors(width: float, k: float) -> int:
    return max(1, round(width / (0.55 * k)))


def _carcass(piece: Piece, pen: _Pen) -> Items:
    x, y = _half(piece, pen)
    if piece.shape == "circle":
        return [Circle(centre=(0, 0), radius=x, weight=pen.pens.piece, fill=ink.PAPER)]
    items: Items = [_outline(_box(-x, -y, x, y), pen.pens.piece)]
    tall = piece.size[2] > HEAD_HEIGHT
    front = max(0.02 * pen.k, 0.5)
    if kind_of(piece).form != "open carcass" and min(x, y) > 1.2 and pen.k >= 12:
        items.append(_line((-x, -y + front), (x, -y + front), pen.pens.seam))
        count = _doors(2 * x, pen.k)
        for i in range(1, count):
            at = -x + 2 * x * i / count
            items.append(_line((at, -y), (at, -y + front), pen.pens.seam))
    if tall:  # cut: it goes up past the plane of the plan
        items.append(_line((-x, -y), (x, y), pen.pens.seam))
        items.append(_line((-x, y), (x, -y), pen.pens.seam))
    return items


def _wardrobe(piece: Piece, pen: _Pen) -> Items:
    x, y = _half(piece, pen)
    items: Items = [_outline(_box(-x, -y, x, y), pen.pens.piece)]
    front = max(0.02 * pen.k, 0.5)
    items.append(_line((-x, -y + front), (x, -y + front), pen.pens.seam))
    count = _doors(2 * x, pen.k)
    for i in range(1, count):
        at = -x + 2 * x * i / count
        items.append(_line((at, -y), (at, -y + front), pen.pens.seam))
    if pen.k >= 12:
        # The rail, and hangers across it.
        items.append(_line((-x + 0.6, 0), (x - 0.6, 0), pen.pens.seam))
        hangers = max(2, int(x / 1.1))
        for i in range(hangers):
            at = -x + 1.4 + (2 * x - 2.8) * i / (hangers - 1)
            tilt = 0.25 if i % 3 else -0.2
            items.append(_line((at - tilt, -0.45 * y), (at + tilt, 0.62 * y), pen.pens.hair))
    return items


def _bed(piece: Piece, pen: _Pen) -> Items:
    x, y = _half(piece, pen)
    head = next((p for p in parts_of(piece) if p.name == "headboard"), None)
    top = y
    items: Items = [_outline(_box(-x, -y, x, y, 0.04 * pen.k), pen.pens.piece)]
    if head is not None:
        x0, y0, x1, y1 = _part_box(head, pen.k)
        items.append(_outline(_box(x0, y0, x1, y1), pen.pens.piece))
        top = y0
    gap = 0.05 * pen.k
    count = 2 if piece.size[0] >= 1.3 else 1
    high = min(0.42 * pen.k, (top + y) * 0.25)
    wide = (2 * x - gap * (count + 1)) / count
    for i in range(count):
        left = -x + gap + i * (wide + gap)
        items.append(
            _outline(
                _box(left, top - gap - high, left + wide, top - gap, 0.1 * pen.k), pen.pens.edge
            )
        )
    fold = top - gap - high - gap
    items.append(_line((-x, fold), (x, fold), pen.pens.seam))
    if pen.k >= 12:
        # The cover, turned back at one corner.
        turn = min(0.28 * x * 2, 0.35 * pen.k)
        items.append(
            _line((-x, fold - 0.22 * pen.k), (x - turn, fold - 0.22 * pen.k), pen.pens.seam)
        )
        items.append(
            Line(
                points=(
                    (x - turn, fold),
                    (x - turn, fold - 0.22 * pen.k),
                    (x, fold - 0.22 * pen.k - turn),
                ),
                weight=pen.pens.seam,
            )
        )
    return items


def _cot(piece: Piece, pen: _Pen) -> Items:
    x, y = _half(piece, pen)
    rail = max(0.03 * pen.k, 0.4)
    items: Items = [
        _outline(_box(-x, -y, x, y), pen.pens.piece),
        _outline(_box(-x + rail, -y + rail, x - rail, y - rail, 0.04 * pen.k), pen.pens.seam),
        _outline(
            _box(-x + 2 * rail, y - rail - 0.26 * pen.k, x - 2 * rail, y - 2 * rail, 0.05 * pen.k),
            pen.pens.seam,
        ),
    ]
    return items


def _rug(piece: Piece, pen: _Pen) -> Items:
    x, y = _half(piece, pen)
    wide = max(min(0.12, piece.size[0] / 8, piece.size[1] / 8) * pen.k, 0.8)
    style = ink.RUG_BORDER
    if piece.shape == "circle":
        ring = tuple(
            (x * math.cos(math.radians(a)), x * math.sin(math.radians(a))) for a in range(0, 360, 5)
        )
        inner = tuple((p * (x - wide) / x, q * (x - wide) / x) for p, q in ring)
        items: Items = [Circle(centre=(0, 0), radius=x, weight=pen.pens.edge, fill=ink.PAPER)]
        if pen.k >= 12:
            items.append(_rug_hatch(ring, inner, style))
        items.append(Circle(centre=(0, 0), radius=x - wide, weight=pen.pens.hair))
        return items
    ring = _box(-x, -y, x, y)
    inner = _box(-x + wide, -y + wide, x - wide, y - wide)
    items = [_outline(ring, pen.pens.edge)]
    if pen.k >= 12:
        items.append(_rug_hatch(ring, inner, style))
    items.append(_outline(inner, pen.pens.hair, ink=ink.GREY_2))
    if pen.k >= 12:
        # Fringe at the two ends: one line of strokes, so that it stays light.
        along_x = x >= y
        far, half = (x, y) if along_x else (y, x)
        count = max(2, int(2 * half / 1.0))
        for end in (-1, 1):
            points: list[XY] = []
            for i in range(count + 1):
                t = -half + 2 * half * i / count
                out = 0.7 if i % 2 else 0.0
                points.append((end * (far + out), t) if along_x else (t, end * (far + out)))
            items.append(Line(points=tuple(points), weight=pen.pens.hair, ink=ink.GREY_2))
    return items


def _rug_hatch(ring: tuple[XY, ...], inner: tuple[XY, ...], style: ink.HatchStyle) -> Hatch:
    return Hatch(
        outline=ring,
        holes=(inner,),
        angle=style.angle,
        spacing=style.spacing,
        weight=style.weight,
        ink=style.ink,
    )


def _plant(piece: Piece, pen: _Pen) -> Items:
    x, y = _half(piece, pen)
    items: Items = [
        Circle(centre=(0, 0), radius=min(x, y) * 0.5, weight=pen.pens.edge, fill=ink.PAPER)
    ]
    leaves = 9
    points: list[XY] = []
    for i in range(leaves * 2):
        reach = 1.0 if i % 2 == 0 else 0.55
        a = 2 * math.pi * i / (leaves * 2) + 0.2
        points.append((x * reach * math.cos(a), y * reach * math.sin(a)))
    items.append(_outline(points, pen.pens.edge, ""))
    for i in range(0, leaves * 2, 2):
        px, py = points[i]
        items.append(_line((px * 0.12, py * 0.12), (px * 0.9, py * 0.9), pen.pens.hair))
    return items


def _screen(piece: Piece, pen: _Pen) -> Items:
    x, y = _half(piece, pen)
    thin = max(min(piece.size[1], 0.06) * pen.k / 2, 0.35)
    items: Items = []
    if piece.size[1] > 0.1:
        items.append(_outline(_box(-x / 2, -y, x / 2, y, 0.4), pen.pens.edge))
    items.append(Polygon(outline=_box(-x, -thin, x, thin), fill=ink.GREY_1, weight=pen.pens.edge))
    return items


def _framed(piece: Piece, pen: _Pen) -> Items:
    x, y = _half(piece, pen)
    y = max(y, 0.35)
    return [Polygon(outline=_box(-x, -y, x, y), fill=ink.GREY_1, weight=pen.pens.edge)]


def _standing_lamp(piece: Piece, pen: _Pen) -> Items:
    r = min(_half(piece, pen))
    d = r / math.sqrt(2)
    return [
        Circle(centre=(0, 0), radius=r, weight=pen.pens.edge, fill=ink.PAPER),
        _line((-d, -d), (d, d), pen.pens.seam),
        _line((-d, d), (d, -d), pen.pens.seam),
    ]


def _block(piece: Piece, pen: _Pen) -> Items:
    x, y = _half(piece, pen)
    if piece.shape == "circle":
        items: Items = [Circle(centre=(0, 0), radius=x, weight=pen.pens.piece, fill=ink.PAPER)]
        if piece.kind == "ottoman" and pen.k >= 12:
            items.append(Circle(centre=(0, 0), radius=x * 0.88, weight=pen.pens.seam))
        return items
    if piece.kind == "ottoman":
        items = [_outline(_box(-x, -y, x, y, 0.07 * pen.k), pen.pens.piece)]
        if pen.k >= 12:
            items.append(
                _outline(
                    _box(-x + 0.7, -y + 0.7, x - 0.7, y - 0.7, 0.06 * pen.k), pen.pens.seam, ""
                )
            )
        return items
    weight = pen.pens.edge if piece.kind == "object" else pen.pens.piece
    return [_outline(_box(-x, -y, x, y), weight)]


def _shade(piece: Piece, pen: _Pen) -> Items:
    return _standing_lamp(piece, pen)


def _overhead(piece: Piece, pen: _Pen) -> Items:
    """What hangs above the cut of the plan: dashed, and it hides nothing."""
    x, y = _half(piece, pen)
    dash = (1.2, 0.8) if pen.k >= 12 else pen.pens.dash_zone
    if kind_of(piece).form == "shade":
        r = max(min(x, y), 1.0)
        d = r / math.sqrt(2)
        return [
            Circle(centre=(0, 0), radius=r, weight=pen.pens.edge, dash=dash),
            _line((-d, -d), (d, d), pen.pens.seam),
            _line((-d, d), (d, -d), pen.pens.seam),
        ]
    if piece.shape == "circle":
        return [Circle(centre=(0, 0), radius=x, weight=pen.pens.edge, dash=dash)]
    return [
        Line(
            points=_box(-x, -max(y, 0.3), x, max(y, 0.3)),
            closed=True,
            weight=pen.pens.edge,
            dash=dash,
        )
    ]


def _from_parts(piece: Piece, pen: _Pen) -> Items:
    """Whatever its author wrote: its parts from the floor up."""
    items: Items = []
    parts = [p for p in parts_of(piece) if p.name != "legs"] or list(parts_of(piece))
    parts.sort(key=lambda p: (p.top, p.base))
    for index, part in enumerate(parts):
        x0, y0, x1, y1 = _part_box(part, pen.k)
        weight = pen.pens.piece if index == 0 or len(parts) < 3 else pen.pens.edge
        fill = "" if part.transmits else ink.PAPER
        centre = (part.at[0] * pen.k, part.at[1] * pen.k)
        if part.shape == "rectangle":
            items.append(_outline(_box(x0, y0, x1, y1), weight, fill))
        elif part.shape == "circle":
            if abs(part.size[0] - part.size[1]) < 1e-9:
                items.append(Circle(centre=centre, radius=(x1 - x0) / 2, weight=weight, fill=fill))
            else:
                items.append(_outline(_ellipse(centre, (x1 - x0) / 2, (y1 - y0) / 2), weight, fill))
        else:
            outer, inner = part.size[0] * pen.k / 2, part.size[1] * pen.k / 2
            items.append(Circle(centre=centre, radius=outer, weight=weight))
            items.append(Circle(centre=centre, radius=inner, weight=weight))
    return items


def _ellipse(centre: XY, a: float, b: float) -> tuple[XY, ...]:
    return tuple(
        (centre[0] + a * math.cos(math.radians(t)), centre[1] + b * math.sin(math.radians(t)))
        for t in range(0, 360, 10)
    )


def _seat(piece: Piece, pen: _Pen) -> Items:
    return _armchair(piece, pen) if piece.kind == "armchair" else _sofa(piece, pen)


def _tall(piece: Piece, pen: _Pen) -> Items:
    return _wardrobe(piece, pen) if piece.kind == "wardrobe" else _carcass(piece, pen)


_FORMS = {
    "bed": _bed,
    "block": _block,
    "carcass": _tall,
    "chair": _chair,
    "cot": _cot,
    "framed": _framed,
    "legged carcass": _carcass,
    "open carcass": _carcass,
    "plant": _plant,
    "rug": _rug,
    "screen": _screen,
    "shade": _shade,
    "sofa": _seat,
    "standing lamp": _standing_lamp,
    "stool": _stool,
    "table": _table,
}
