"""A seat drawn from its sizes, with the letters of its panels.

An oblique view from the front, the right and above: enough to see which panel
goes where. What cannot be seen is listed under it.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.chart import Chart
from designkit.figures.drawing import Polygon
from designkit.model import Piece
from designkit.reference import value
from designkit.takeoff.upholstery import CutPanel

__all__ = ["sketch"]

_RIGHT, _UP = 0.34, 0.26  # of the depth, to the right and up the paper


class _View:
    """Faces in the order they are painted, in the piece's own metres."""

    def __init__(self) -> None:
        self.faces: list[tuple[tuple[tuple[float, float], ...], str]] = []
        self.seen: set[str] = set()

    def face(self, *points: tuple[float, float, float], letter: str = "") -> None:
        flat = tuple((x + _RIGHT * y, z + _UP * y) for x, y, z in points)
        self.faces.append((flat, letter))
        if letter:
            self.seen.add(letter)

    def box(
        self,
        x: tuple[float, float],
        y: tuple[float, float],
        z: tuple[float, float],
        *,
        front: str = "",
        top: str = "",
        right: str = "",
    ) -> None:
        (x0, x1), (y0, y1), (z0, z1) = x, y, z
        self.face((x1, y0, z0), (x1, y1, z0), (x1, y1, z1), (x1, y0, z1), letter=right)
        self.face((x0, y0, z1), (x1, y0, z1), (x1, y1, z1), (x0, y1, z1), letter=top)
        self.face((x0, y0, z0), (x1, y0, z0), (x1, y0, z1), (x0, y0, z1), letter=front)


def _seat(piece: Piece, seats: int) -> _View:
    """A sofa or an armchair with arms, a back and loose seat cushions."""
    view = _View()

    def rule(id: str) -> float:
        return value(f"takeoff.upholstery.{id}")

    width, depth, height = piece.size
    arm, back, leg, cushion = rule("arm"), rule("back"), rule("leg"), rule("cushion")
    seat = piece.seat_height or rule("seat_height")
    arm_top = piece.arm_height or rule("arm_height")
    edges = [arm + (width - 2 * arm) * i / seats for i in range(seats + 1)]
    for x in (arm / 2 - 0.03, width - arm / 2 - 0.03):
        view.box((x, x + 0.06), (0.05, 0.1), (0.0, leg))
    view.box((0.0, width), (depth - back, depth), (leg, height))
    for x0, x1 in itertools.pairwise(edges):
        view.face(
            (x0, depth - back, seat),
            (x1, depth - back, seat),
            (x1, depth - back, height),
            (x0, depth - back, height),
            letter="c",
        )
    for x0, x1 in itertools.pairwise(edges):
        view.face(
            (x0, 0.0, seat),
            (x1, 0.0, seat),
            (x1, depth - back, seat),
            (x0, depth - back, seat),
            letter="a",
        )
        view.face(
            (x0, 0.0, seat - cushion),
            (x1, 0.0, seat - cushion),
            (x1, 0.0, seat),
            (x0, 0.0, seat),
            letter="b",
        )
        view.face(
            (x0, 0.0, leg),
            (x1, 0.0, leg),
            (x1, 0.0, seat - cushion),
            (x0, 0.0, seat - cushion),
            letter="f",
        )
    view.face(
        (arm, 0.0, seat),
        (arm, depth - back, seat),
        (arm, depth - back, arm_top),
        (arm, 0.0, arm_top),
        letter="g",
    )
    view.face(
        (0.0, 0.0, arm_top),
        (arm, 0.0, arm_top),
        (arm, depth - back, arm_top),
        (0.0, depth - back, arm_top),
    )
    view.face(
        (0.0, 0.0, leg), (arm, 0.0, leg), (arm, 0.0, arm_top), (0.0, 0.0, arm_top), letter="i"
    )
    view.box((width - arm, width), (0.0, depth), (leg, arm_top), front="i", right="h")
    return view


def _block(piece: Piece) -> _View:
    view = _View()
    width, depth, height = piece.size
    leg = value("takeoff.upholstery.leg")
    view.box((0.0, width), (0.0, depth), (leg, height), front="b", top="a", right="c")
    return view


def _chair(piece: Piece) -> _View:
    view = _View()
    width, depth, height = piece.size
    seat = piece.seat_height or value("takeoff.upholstery.seat_height")
    for x in (0.02, width - 0.06):
        view.box((x, x + 0.04), (depth - 0.05, depth - 0.01), (0.0, height))
    view.box((0.02, width - 0.02), (depth - 0.05, depth - 0.02), (height - 0.16, height))
    for x in (0.02, width - 0.06):
        view.box((x, x + 0.04), (0.02, 0.06), (0.0, seat - 0.06))
    view.box((0.0, width), (0.0, depth - 0.04), (seat - 0.06, seat), top="a")
    return view


def sketch(
    chart: Chart,
    piece: Piece,
    panels: Sequence[CutPanel],
    x: float,
    y: float,
    width: float,
    *,
    seats: int = 0,
) -> float:
    """Draw a piece with the letters of its panels.

    Parameters
    ----------
    chart : Chart
        What it is drawn on.
    piece : Piece
        A sofa, armchair, ottoman, bench or chair; other kinds are left out.
    panels : sequence of CutPanel
        Its cut list.
    x, y, width : float
        Upper left corner and width of its place. [mm]
    seats : int, optional
        Seat cushions.

    Returns
    -------
    float
        Where it ends. [mm]
    """
    kind = piece.kind.lower()
    if kind in ("sofa", "loveseat", "armchair", "lounge chair"):
        view = _seat(piece, seats or piece.seat_count or 1)
    elif kind in ("ottoman", "pouf", "bench"):
        view = _block(piece)
    elif kind in ("chair", "dining chair"):
        view = _chair(piece)
    else:
        return y
    points = [p for face, _ in view.faces for p in face]
    left, right = min(p[0] for p in points), max(p[0] for p in points)
    low, high = min(p[1] for p in points), max(p[1] for p in points)
    k = min((width - 4.0) / (right - left), 34.0 / (high - low))
    ox = x + (width - (right - left) * k) / 2 - left * k
    top = y - 1.0
    oy = top - (high - low) * k - low * k
    sizes = chart.sizes
    letters = {panel.letter for panel in panels}
    for face, letter in view.faces:
        flat = tuple((ox + px * k, oy + py * k) for px, py in face)
        chart.items.append(Polygon(outline=flat, fill=ink.PAPER, weight=0.2))
        if letter not in letters:
            continue
        cx = sum(p[0] for p in flat) / len(flat)
        cy = sum(p[1] for p in flat) / len(flat)
        wide = max(p[0] for p in flat) - min(p[0] for p in flat)
        tall = max(p[1] for p in flat) - min(p[1] for p in flat)
        size = sizes.small
        if lettering.advance(letter, size=size) < wide - 0.4 and size < tall - 0.2:
            chart.text(cx, cy - size / 2, letter, size, bold=True, anchor="middle", halo=0.4)
    end = top - (high - low) * k - 2.0
    hidden = [f"{p.letter} {p.name}" for p in panels if p.letter not in view.seen]
    if hidden:
        words = f"Not seen here: {', '.join(hidden)}."
        for line in lettering.wrap(words, size=sizes.note, width=width):
            end -= sizes.pitch(sizes.note)
            chart.text(x, end, line, sizes.note, colour=ink.GREY_1)
    return end - 2.0
