"""Layers of light: general, task and accent, and what is short of them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from designkit.lighting.lumen_method import (
    cavities,
    coefficient_of_utilization,
    lumens_needed,
)
from designkit.lighting.places import Place, Wanted
from designkit.lighting.point import Source, source_zones
from designkit.lighting.room_light import LitHome, at_points, room_mean, utilization_of
from designkit.model import Finding, Verdict
from designkit.reference import value
from designkit.units import short_length

__all__ = [
    "LAYERS",
    "LayerRow",
    "accent_findings",
    "layer_rows",
    "lumens_short",
    "verdict_of",
]

Layer = Literal["general", "task", "accent"]
LAYERS: tuple[Layer, ...] = ("general", "task", "accent")


@dataclass(frozen=True, kw_only=True, eq=False)
class LayerRow:
    """One layer of light in one room."""

    room: str
    name: str  # of the room
    layer: Layer
    lumens: float  # after the shades [lm]
    lux: float  # mean over the room's plane at full power [lx]
    lux_dimmed: float
    watts: float  # [W]
    lamps: tuple[str, ...]


def layer_rows(lit: LitHome, *, planes: Mapping[str, float]) -> tuple[LayerRow, ...]:
    """Each layer of light in each room that has lamps.

    Parameters
    ----------
    lit : LitHome
        The layout.
    planes : mapping of str to float
        Height of the plane by room. [m]

    Returns
    -------
    tuple of LayerRow
        Rooms in the order of the home, layers general, task, accent. The lux of
        a room's layers add up to its mean light.
    """
    rows = []
    for id, shell in lit.shells.items():
        here = [lamp for lamp in lit.lamps.values() if lamp.room == id]
        if not here:
            continue
        for layer in LAYERS:
            of = [lamp for lamp in here if lamp.lamp.layer == layer]
            rows.append(
                LayerRow(
                    room=id,
                    name=shell.room.name,
                    layer=layer,
                    lumens=sum(lamp.lumens or 0.0 for lamp in of),
                    lux=room_mean(
                        lit, room=id, plane=planes[id], shares={lamp.id: 1.0 for lamp in of}
                    ),
                    lux_dimmed=room_mean(
                        lit, room=id, plane=planes[id], shares={lamp.id: lamp.dim for lamp in of}
                    ),
                    watts=sum(lamp.watts for lamp in of),
                    lamps=tuple(lamp.id for lamp in of),
                )
            )
    return tuple(rows)


def verdict_of(found: float, *, wanted: Wanted, within: float, unknown: bool) -> Verdict:
    """Verdict on the light of a place.

    Parameters
    ----------
    found : float
        Light at full power. [lx]
    wanted : Wanted
        What is wanted; with a least value.
    within : float
        ± of the light found. [lx]
    unknown : bool
        Whether a lamp there has no known lumens, so that there is more light
        than was found.

    Returns
    -------
    str
        "passes", "fails" or "measure first".
    """
    assert wanted.low is not None
    if found - within >= wanted.low:
        return "passes"
    if found + within < wanted.low and not unknown:
        return "fails"
    return "measure first"


def lumens_short(lit: LitHome, *, place: Place, found: float, best: float) -> tuple[float, str]:
    """Lumens after the shade that would close a gap, and where they would go.

    Parameters
    ----------
    lit : LitHome
        The layout.
    place : Place
        What is short of light; with a least value.
    found : float
        Light at full power. [lx]
    best : float
        Most light that one lumen of a present lamp brings there; 0 for none. [lx/lm]

    Returns
    -------
    tuple of float and str
        Lumens, and a sentence. [lm]
    """
    assert place.wanted.low is not None
    gap = place.wanted.low - found
    if gap <= 0:
        return 0.0, ""
    shell = lit.shells[place.room]
    if place.points is None:
        here = [lamp for lamp in lit.lamps.values() if lamp.room == place.room and lamp.sources]
        if here:
            lumens = sum(lamp.lumens or 0.0 for lamp in here)
            use = (
                sum(
                    (lamp.lumens or 0.0) * utilization_of(lit, lamp=lamp, plane=place.plane).total
                    for lamp in here
                )
                / lumens
            )
            words = "at the present lamps"
        else:
            use, words = _notional_use(lit, place), "from a luminaire that lights all round"
        need = lumens_needed(gap, utilization=use, loss_factor=lit.loss, area=shell.area)
        return need, f"Add about {_round(need)} lm after the shade {words}."
    # A shade with half of its light below: E = (Φ / 2) / (π d²) straight under it.
    above = value("light.page.lamp", lit.home.rules)
    new = 2 * math.pi * above**2 * gap / lit.loss
    if best > 0 and gap / best <= new:
        need = gap / best
        return need, f"Give the nearest lamp about {_round(need)} lm more after its shade."
    thing = "reading lamp" if place.kind == "page" else "lamp"
    high = short_length(above, units=lit.home.units)
    return new, f"Add a {thing} of about {_round(new)} lm after its shade, {high} above."


def _notional_use(lit: LitHome, place: Place) -> float:
    """Utilization of a bare globe four fifths of the way up from the plane."""
    shell = lit.shells[place.room]
    height = shell.room.height
    centre = place.plane + 0.8 * (height - place.plane)
    source = Source(at=(*place.at, centre), lumens=1000.0, pattern="even")
    found = cavities(
        shell.reflectances,
        perimeter=shell.perimeter,
        area=shell.area,
        ceiling_height=height,
        luminaire_height=centre,
        plane_height=place.plane,
    )
    return coefficient_of_utilization(
        source_zones(source),
        lamp_lumens=1000.0,
        ratio=found.room,
        ceiling=found.ceiling_reflectance,
        wall=found.wall_reflectance,
        floor=found.floor_reflectance,
    ).total


def _round(lumens: float) -> str:
    """Lumens as one buys them: up to the next 50."""
    return f"{50 * math.ceil(lumens / 50):.0f}"


def accent_findings(lit: LitHome) -> tuple[Finding, ...]:
    """Whether each accent stands out from its room.

    Parameters
    ----------
    lit : LitHome
        The layout.

    Returns
    -------
    tuple of Finding
        One an accent lamp that names what it lights.
    """
    found = []
    wanted = value("light.accent.ratio", lit.home.rules)
    for lamp in lit.lamps.values():
        if lamp.lamp.layer != "accent" or not lamp.lamp.over or not lamp.sources:
            continue
        thing = lit.placed[lamp.lamp.over]
        # A wall-hung thing is lit on its face, anything else on its top.
        hung = thing.piece.kind in ("picture", "mirror", "screen")
        front = math.radians(thing.rotation - 90)
        normal = (math.cos(front), math.sin(front), 0.0) if hung else (0.0, 0.0, 1.0)
        height = (thing.base + thing.top) / 2 if hung else thing.top
        point = np.array([[*thing.at, height]])
        point[0, :2] += 0.02 * np.asarray(normal[:2])
        light = at_points(lit, room=lamp.room, points=point, normal=normal, plane=height)
        own = float(light.total({lamp.id: 1.0})[0])
        every = float(light.total()[0])
        ground = every - own
        ratio = every / ground if ground > 0 else math.inf
        enough = ratio >= wanted
        found.append(
            Finding(
                what=f"Accent on {thing.piece.name}",
                measured=None if math.isinf(ratio) else ratio,
                required=wanted,
                unit="1",
                verdict="passes" if enough else "fails",
                severity="note",
                rule="light.accent.ratio",
                why=f"{every:.0f} lx with the accent, {ground:.0f} lx without: "
                + ("no other light" if math.isinf(ratio) else f"{ratio:.1f} to 1")
                + f"; {wanted:g} to 1 is noticed",
                mend="" if enough else "A narrower beam, a nearer lamp, or less general light.",
                about=(lamp.id, thing.id),
                at=thing.at,
            )
        )
    return tuple(found)
