"""What goes with the pieces that were placed: rugs, a screen, lamps, drapery."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
import shapely

from designkit.model import Home, Layout, Placement
from designkit.plan.layouts.asked import Job
from designkit.plan.layouts.ground import Ground
from designkit.plan.layouts.shapes import Poses
from designkit.plan.layouts.things import Thing

__all__ = ["dressed"]


def dressed(
    job: Job, ground: Ground, things: Sequence[Thing], spots: Sequence[Poses], layout: Layout
) -> Layout:
    """Rugs under what is placed, screens on their cabinets, lamps and drapery as they were.

    Parameters
    ----------
    job : Job
        What was asked.
    ground : Ground
        The space.
    things : sequence of Thing
        Pieces that stand.
    spots : sequence of Poses
        One place each.
    layout : Layout
        The pieces alone.

    Returns
    -------
    Layout
        With what goes with them; what finds no place is left out.
    """
    pieces = dict(layout.pieces)
    for id, item in job.rugs.items():
        rug = _rug(job.home, ground, things, spots, item, id)
        if rug is not None:
            pieces[id] = rug
    for id, item in job.on.items():
        host = next((t for t in things if t.role == "screen"), None)
        if job.home.pieces[item].kind == "screen" and host is not None:
            p = pieces[host.id]
            pieces[id] = Placement(at=p.at, rotation=p.rotation, item=item if item != id else "",
                                   on=host.id)  # fmt: skip
        else:
            job.left_out.setdefault(id, "nothing that it stands on is laid out")
    lamps = {}
    drapes = {}
    if job.current is not None:
        drapes = dict(job.current.drapes)
        for id, lamp in job.current.lamps.items():
            if lamp.on in pieces or (lamp.service and not lamp.on):
                over = lamp.over if lamp.over in pieces else ""
                base = lamp.base if over == lamp.over else None
                lamps[id] = dataclasses.replace(lamp, over=over, base=base)
    return Layout(name=layout.name, pieces=pieces, lamps=lamps, drapes=drapes)


def _rug(
    home: Home,
    ground: Ground,
    things: Sequence[Thing],
    spots: Sequence[Poses],
    item: str,
    id: str,
) -> Placement | None:
    """A rug lies before the sofa under the low table, else under the bed or the table."""
    ranked = sorted(
        range(len(things)),
        key=lambda k: (
            ("sofa", "bed", "dining", "desk").index(things[k].role)
            if things[k].role in ("sofa", "bed", "dining", "desk")
            else 9,
            k,
        ),
    )
    k = ranked[0]
    thing, spot = things[k], spots[k]
    c, s = float(spot.cos[0]), float(spot.sin[0])
    x, y = float(spot.x[0]), float(spot.y[0])
    w, d, _ = home.pieces[item].size
    turn = float(spot.turn[0])
    if thing.role == "sofa":
        # Its near edge lies a little under the sofa.
        off = thing.size[1] / 2 + d / 2 - 0.25
        x, y = x + s * off, y - c * off
    elif thing.role == "bed":
        off = thing.size[1] * 0.2
        x, y = x + s * off, y - c * off
    spot_of = _on_floor(ground, x, y, c, s, w, d)
    if spot_of is None:
        return None
    ((hx, hy),) = ground.frame.outward(np.array([spot_of]))
    return Placement(
        at=(round(float(hx), 4), round(float(hy), 4)),
        rotation=round((turn + ground.frame.angle) % 360.0, 4) % 360.0,
        item="" if item == id else item,
    )


def _on_floor(
    ground: Ground, x: float, y: float, c: float, s: float, w: float, d: float
) -> tuple[float, float] | None:
    """The nearest place to which a rug is moved so that it lies on the floor as a whole."""
    floor = ground.open_floor
    steps = sorted(
        ((0.1 * a, 0.1 * b) for a in range(-12, 13) for b in range(-12, 13)),
        key=lambda step: (round(step[0] ** 2 + step[1] ** 2, 6), step),
    )
    half = np.array([(-w / 2, -d / 2), (w / 2, -d / 2), (w / 2, d / 2), (-w / 2, d / 2)])
    turn = np.array([(c, -s), (s, c)])
    for a, b in steps:
        at = np.array([x, y]) + turn @ np.array([a, b])
        if floor.covers(shapely.Polygon(half @ turn.T + at)):
            return (float(at[0]), float(at[1]))
    return None
