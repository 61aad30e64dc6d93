"""Pieces in room coordinates: `place()` is the only function that does this."""

from __future__ import annotations

from dataclasses import dataclass

from shapely.geometry import Polygon

from designkit.model import Layout, Piece, Placement, Severity

__all__ = ["Placed", "PlacedPart", "PlacedSeat", "PlacedZone", "place", "place_all"]


@dataclass(frozen=True, kw_only=True, eq=False)
class PlacedPart:
    """A part of a piece in the home's frame, a prism from base to top [m]."""

    name: str
    footprint: Polygon
    base: float
    top: float
    finish: str
    transmits: bool


@dataclass(frozen=True, kw_only=True, eq=False)
class PlacedZone:
    """Floor that the use of a placed piece needs."""

    kind: str
    area: Polygon
    severity: Severity
    rule: str


@dataclass(frozen=True, kw_only=True, eq=False)
class PlacedSeat:
    """A seat in the home's frame: position, facing [° ccw from x], heights [m]."""

    at: tuple[float, float]
    facing: float
    height: float
    eye: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Placed:
    """A piece where it stands. Chairs of a table are Placed things of their own
    with the id "table.front1" and `host` = "table"."""

    id: str
    piece: Piece
    item: str  # piece id
    at: tuple[float, float]
    rotation: float
    footprint: Polygon  # hull of its parts that touch or hang over the floor
    base: float
    top: float
    parts: tuple[PlacedPart, ...]
    zones: tuple[PlacedZone, ...]
    seats: tuple[PlacedSeat, ...]
    host: str = ""


def place(id: str, piece: Piece, placement: Placement, *, base: float | None = None) -> Placed: ...


def place_all(pieces: dict[str, Piece], layout: Layout) -> dict[str, Placed]: ...
